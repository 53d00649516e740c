"""Does an installed valve cover a cause, by how much, and why not.

A valve covers a cause when all of eight things hold: its area is large enough, it is certified for
the phase, set and relieving pressure are allowed for that cause, it opens in time against what
stands in its header, it stands where nothing cuts it off, inlet line and outlet line keep their
limits at rated flow, and what leaves may go where it is led. In a fire on gas there is a ninth,
which no valve can answer for: the wall, that no liquid cools. What was not given is not known, and
a safeguard that is not known is none. What is limited, and by how much, is asked of
`valve_questions`.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from relieflib import rules, valve_questions as ask
from relieflib.devices import KD
from relieflib.disposal.destination import phase_fits
from relieflib.disposal.finding import PRACTICE, Said, about
from relieflib.errors import InputError
from relieflib.lines import disk_line, inlet as inlet_line, outlet as outlet_line
from relieflib.lines.line import NO_LIMIT, NOT_KNOWN, OVER, WITHIN, Line
from relieflib.safeguard.installed import Valve
from relieflib.sizing import ReliefLoad, rated_flow, size
from relieflib.texts import clean, percent
from relieflib.working import Working, step

COVERS, FAILS, UNKNOWN = "covers", "does not cover", "not known"
VERDICTS = (COVERS, FAILS, UNKNOWN)
DRY_SOURCE = "API 521 (2020), 4.4.13: vessel that holds gas"
DRY_WALL = ("no liquid cools the wall, which may give way whatever the valve passes: depressure, "
            "insulate or cool it",)  # fmt: skip
WORST_FIRST = (FAILS, UNKNOWN, COVERS)
CERTIFIED = "ASME BPVC XIII (formerly VIII-1 UG-131); API 520-I (2020), 5.8, 5.9, Annex C"
CODE = "ASME BPVC XIII (formerly VIII-1 UG-125(c), UG-134); API 520-I (2020), 5.4"
BACK = "API 520-I (2020), 5.3; ASME BPVC XIII (formerly VIII-1 UG-134)"
# what a verdict on a line says of the safeguard
FROM_LINE = {WITHIN: COVERS, NO_LIMIT: COVERS, OVER: FAILS, NOT_KNOWN: UNKNOWN}


@dataclass(frozen=True)
class Reason(Said):
    """One thing that a cover rests on: subject, verdict of `VERDICTS`, pieces, its source."""

    subject: str
    verdict: str
    pieces: tuple
    source: str = PRACTICE


class Reasoned:
    """What rests on several `reasons`, each a `Reason`: which of them stand against it."""

    @property
    def why_not(self):
        """Reasons that do not hold or are not known, the failing ones first."""
        bad = [r for r in self.reasons if r.verdict != COVERS]
        return tuple(sorted(bad, key=lambda r: WORST_FIRST.index(r.verdict)))

    def about(self, subject):
        """The `Reason` of one subject; InputError for another."""
        return about(self.reasons, subject)


@dataclass(frozen=True)
class Cover(Reasoned):
    """Judgement on a valve against one cause, with its reasons.

    installed_area of all that lift together, required_area at the same conditions [m2]; capacity,
    what they pass together [kg/s], all NaN where the valve can't be sized; sizing, of the first.
    """

    valve: Valve
    load: ReliefLoad = field(repr=False)
    reasons: tuple
    required_area: float
    capacity: float
    sizing: object = field(default=None, repr=False)

    @property
    def judged(self):
        """What the judgement is on."""
        return self.valve

    @property
    def verdict(self):
        """The worst verdict of the reasons."""
        return next(v for v in WORST_FIRST if any(r.verdict == v for r in self.reasons))

    @property
    def installed_area(self):
        """Area of all valves that lift together [m2]."""
        return float(sum(self.valve.areas))

    @property
    def covered(self):
        """Installed over required area [-]; infinite where the cause needs none."""
        return self.installed_area / self.required_area if self.required_area else np.inf

    @property
    def short(self):
        """Flow that the valves don't pass [kg/s], 0 where they pass it all."""
        return float(np.maximum(self.load.mass_flow - self.capacity, 0.0))

    @property
    def cell(self):
        """Verdict, installed over required area and what stands against it, in one line."""
        share = "" if np.isnan(self.covered) else f", {_share(self.covered)}"
        against = [r.subject for r in self.why_not if r.verdict == self.verdict]
        return self.verdict + share + (f" ({', '.join(against)})" if against else "")

    @cached_property
    def working(self):
        """Steps of load and area, then installed area, the part covered and the flow short."""
        if self.sizing is None:
            return Working(self.load.working)
        areas, W, A = self.valve.areas, self.load.mass_flow, self.required_area
        same = dict(valves=len(areas), area=areas[0]) if len(set(areas)) == 1 else {}
        steps = [
            step("installed_area", self.installed_area, "N*Ao" if same else "",
                 f"{self.valve.tag}: {self.valve.arrangement}, spares not counted", **same),
            step("installed_flow", self.capacity, source="rated flow of those that lift together"),
            step("flow_short", self.short, "max(W - W_inst, 0)", "0 where the load is covered",
                 mass_flow=W, installed_flow=self.capacity),
        ]  # fmt: skip
        if A:
            steps.insert(1, step("covered", self.covered, "A_inst/A", "installed over required",
                                 installed_area=self.installed_area, required_area=A))  # fmt: skip
        return Working([*self.sizing.working, *steps])

    def __str__(self):
        lines = [f"{self.valve.tag}: {self.cell}", *(f"  {r}" for r in self.reasons)]
        return clean("\n".join(lines))


def _share(part):
    if np.isinf(part):
        return "no area needed"
    return f"area {percent(part)}" if part < 10 else f"area {part:.0f} times"


def phase_of(stream):
    """Phase in which a stream meets the valve, as certification sees it; steam is gas.

    Parameters: stream. Returns 'gas', 'liquid' or 'two-phase'. What it is behind the valve:
    `line_fluids.behind_valve`. Source: API 520-I (2020), 5.6 to 5.9, Annex C.
    >>> from relieflib.nozzle.steam import Steam
    >>> phase_of(Steam(11e5))
    'gas'
    """
    if stream.phase == "real fluid":
        return stream.inlet_kind
    return "gas" if stream.phase == "steam" else stream.phase


def cover(valve: Valve, load: ReliefLoad) -> Cover:
    """Does an installed valve cover a cause, by how much, and why not.

    Parameters
    ----------
    valve : Valve
    load : ReliefLoad
        Of scalars, at the relieving pressure of that cause.

    Returns
    -------
    Cover

    Raises
    ------
    InputError
        For a load that is no single number.

    Notes
    -----
    Valves that lift together each have inlet and outlet lines alike; a part carries the flow of
    several only where it says so. A liquid met by a valve that is not certified for it is counted
    with Kd 0.62 and Kp, but as certified where it may boil in the nozzle, for which there are no
    such factors. API 520-I (2020), 5.3 to 5.9; ASME BPVC XIII; destination: common practice.

    Examples
    --------
    >>> from relieflib.nozzle.gas import Gas
    >>> load = ReliefLoad("closed_outlet", 4.7, Gas(12.1e5, 320.0, molar_mass=29.0, k=1.4))
    >>> found = cover(Valve("PSV-1", set_pressure_gauge=10e5, designation="3L4"), load)
    >>> found.verdict, round(found.covered, 3), found.about("area").verdict
    ('not known', 1.044, 'covers')
    """
    _check_load(load)
    valve, phase = valve.against(load), phase_of(load.stream)
    reasons = [
        _phase_reason(valve, phase, load),
        _pressure_reason(valve, load),
        opening(valve),
    ]
    if load.dry_wall:
        reasons.append(Reason("wall", UNKNOWN, DRY_WALL, DRY_SOURCE))
    reasons.append(_position_reason(valve))
    where = _destination_reason(valve, load.stream)
    gauge = load.stream.pressure - valve.atmosphere
    if gauge <= max(valve.sets):
        return Cover(valve, load, (_shut(valve, gauge), *reasons, where), np.nan, 0.0)
    try:
        found = _sized(valve, load, phase)
    except InputError as problem:
        area = Reason("area", UNKNOWN, (f"can't be sized: {problem}",), "as the equation refused")
        return Cover(valve, load, (area, *reasons, where), np.nan, np.nan)
    flows = [_rated(s, a) for (s, _, _), a in zip(found, valve.areas)]
    required = found[0][0].required_area
    if np.isnan(required) or np.isnan(sum(flows)):
        raise InputError(f"load of {load.cause}: a value of its stream is not a number")
    area = _area_reason(valve, load, required, float(sum(flows)))
    lines = _inlet_reason(valve, found), _outlet_reason(valve, load, found)
    reasons = (area, *reasons, *lines, where)
    return Cover(valve, load, reasons, required, float(sum(flows)), found[0][0])


def _check_load(load):
    if not isinstance(load, ReliefLoad):
        raise InputError(f"load = {load!r}: must be a ReliefLoad")
    for name, value in (("mass_flow", load.mass_flow), ("pressure", load.stream.pressure)):
        if np.ndim(value) or np.isnan(value):
            raise InputError(f"{name} of {load.cause}: must be one number")


def _sized(valve, load, phase):
    """Sizing of each valve that lifts, at the back pressure of its line, and the line's check.

    Lines are judged at the flow of a certified valve: an uncertified one may pass as much.
    """
    known = valve.certified_for is None or phase in valve.certified_for
    certified = known or phase != "liquid" or valve.kind == "disk"
    back, done = valve.highest_back_pressure, {}
    if valve.disk_line is not None:  # the line decides, against its header
        device = disk_line.device(load.stream, valve.disk_line, back, valve.sets[0],
                                  atmosphere=valve.atmosphere)  # fmt: skip
        return [(size(load, device, back),) * 2 + (None,)] * valve.count
    for name, pset in dict.fromkeys(zip(valve.names, valve.sets)):
        device, out = valve.device(pset), None
        if _checks_line(valve, "outlet"):
            out = outlet_line.solve(
                load,
                device,
                valve.outlet,
                header_pressure=back,
                designation=name,
                superimposed_gauge=valve.superimposed_gauge,
                variable_superimposed_gauge=valve.opening_variable_gauge,
            )
        full = size(load, device, back) if out is None else out.sizing
        counted = full if certified else size(load, valve.device(pset, False), full.back_pressure)
        done[name, pset] = counted, full, out
    return [done[key] for key in zip(valve.names, valve.sets)]


def _checks_line(valve, side):
    return isinstance(getattr(valve, side), Line) and not (
        valve.kind == "disk" or None in valve.names
    )


def _rated(sizing, area):
    return rated_flow(sizing.load.stream, sizing.device, area, sizing.back_pressure, sizing.edition)


def _area_reason(valve, load, required, flow):
    W, installed = load.mass_flow, sum(valve.areas)
    words = (f"{valve.arrangement}: ", ("area", installed), " installed, ", ("area", required),
             " required; can pass ", ("mass_flow", flow), ", load ", ("mass_flow", W))  # fmt: skip
    if ask.large_enough(W, flow).holds:
        return Reason("area", COVERS, words, "API 520-I (2020), 5.6 to 5.9; API 526")
    short = ", ", ("mass_flow", W - flow), f" ({percent((W - flow) / W)}) short"
    return Reason("area", FAILS, words + short, "API 520-I (2020), 5.6 to 5.9; API 526")


def _shut(valve, gauge):
    words = "relieves at ", ("pressure_gauge", gauge), ", not above the set pressure: stays shut"
    return Reason("area", FAILS, words, "API 520-I (2020), definitions")


def _phase_reason(valve, phase, load):
    kinds = valve.certified_for
    if kinds is None:
        words = f"meets {phase}; for which phase it is certified is not given"
    elif phase in kinds:
        return Reason("phase", COVERS, (f"certified for {' and '.join(kinds)}",), CERTIFIED)
    elif phase == "two-phase":
        words = (
            "meets two-phase flow, for which no capacity is certified: ask the maker for its trim"
        )
    elif phase == "liquid" and load.stream.phase == "real fluid":
        words = (f"trimmed for {' and '.join(kinds)}, meets liquid that may boil in its nozzle: no "
                 "certified capacity, counted as if there were one: ask the maker")  # fmt: skip
    elif phase == "liquid" and valve.kind != "disk":
        over = (load.stream.pressure - valve.atmosphere) / max(valve.sets) - 1.0
        words = (f"trimmed for {' and '.join(kinds)}, meets liquid: no certified capacity, counted "
                 f"with Kd {KD['liquid, not certified']:g} and Kp of {percent(over)} "
                 f"overpressure, full lift at {rules.LIQUID_FULL_LIFT.number}")  # fmt: skip
    else:
        words = f"certified for {' and '.join(kinds)}, meets {phase}: ask the maker"
    return Reason("phase", UNKNOWN, (words,), CERTIFIED)


def _pressure_reason(valve, load):
    mawp, gauge = valve.mawp_gauge, load.stream.pressure - valve.atmosphere
    if mawp is None:
        return Reason("pressure", UNKNOWN, ("MAWP of what it protects is not given",), CODE)
    for pset, role in zip(sorted(valve.sets), valve.roles):
        if not ask.set_allowed(pset, mawp, role).holds:
            share = f" is {percent(pset / mawp, 4)} of MAWP, too high for the {role} valve"
            words = "set ", ("set_pressure_gauge", pset), share
            return Reason("pressure", FAILS, words, CODE)
    if not ask.role_allowed(valve.role, load.fire):
        return Reason("pressure", FAILS, ("a supplementary valve for fire alone",), CODE)
    installation = ask.installation_of(valve.count, valve.role)
    allowed = ask.relieving_allowed(gauge, mawp, installation, load.fire)
    words = (f"relieves {percent(gauge / mawp - 1)} above MAWP, "
             f"{percent(allowed.limit / mawp - 1)} allowed")  # fmt: skip
    if not allowed.holds:
        return Reason("pressure", FAILS, (words + " for this cause",), CODE)
    pset = max(valve.sets)
    words += f"; overpressure {percent(gauge / pset - 1)} of set"
    if not ask.capacity_certified(pset, gauge).holds:
        words += f": capacity is certified at {rules.CERTIFIED.number} and more"
        return Reason("pressure", UNKNOWN, (words,), CODE)
    return Reason("pressure", COVERS, (words,), CODE)


def opening(valve):
    """Does every valve open in time against the variable part of what stands in its header.

    Parameters: valve, a `safeguard.Valve`. Returns the `Reason`. Source: API 520-I (2020), 5.3.
    >>> print(opening(Valve("PSV-1", set_pressure_gauge=16e5, designation="3L4", mawp_gauge=16e5,
    ...                     back_pressure=106325.0, header_pressure=241325.0)).verdict)
    does not cover
    """
    variable, felt = valve.opening_variable_gauge, valve.kind in ask.FEELS_BACK_PRESSURE
    if felt and valve.back_pressure is None and valve.header_pressure is None:
        return Reason("opening", UNKNOWN, ("what stands at its outlet before is not given",), BACK)
    found = [
        ask.opens_in_time(valve.kind, pset, variable, valve.mawp_gauge, role)
        for pset, role in zip(sorted(valve.sets), valve.roles)
    ]
    worst = max(found, key=lambda answer: answer.value - answer.limit)
    if worst.holds is None:
        return Reason("opening", UNKNOWN, ("MAWP of what it protects is not given",), BACK)
    words = "opens at ", ("set_pressure_gauge", worst.value)
    if felt and variable > 0:
        words += " against ", ("built_up", variable), " of variable back pressure"
    words += ", highest set ", ("set_pressure_gauge", worst.limit)
    if not worst.holds and felt and variable > 0:
        words += (": a balanced or pilot valve would open at set; or state the header of this "
                  "cause alone",)  # fmt: skip
    return Reason("opening", COVERS if worst.holds else FAILS, words, BACK)


def _line_given(valve, side):
    """What can be said of a line without a check, or None where it can be checked."""
    line, subject = getattr(valve, side), f"{side} line"
    if valve.disk_line is not None:
        return Reason(subject, COVERS, ("counted in what the disk passes",), disk_line.SOURCE)
    if line is None:
        return Reason(subject, UNKNOWN, ("the line is not given",))
    if isinstance(line, str):
        return Reason(subject, COVERS, (f"taken as within its limit: {line}",), "as stated")
    if not _checks_line(valve, side):
        return Reason(subject, UNKNOWN, ("the check of a line takes a valve's designation",))
    return None


def _inlet_reason(valve, found):
    given = _line_given(valve, "inlet")
    if given:
        return given
    checks = [
        inlet_line.check(full, valve.inlet, designation=name, remote_sensing=valve.remote_sensing)
        for (_, full, _), name in zip(found, valve.names)
    ]
    c = max(checks, key=lambda check: check.loss_fraction)
    share = c.limit / c.sizing.device.set_pressure_gauge
    limit = "no limit" if np.isnan(share) else f"{percent(share)} allowed"
    words = (f"loses {percent(c.loss_fraction)} of set at rated flow, {limit}",)
    if c.blocked:
        words = ("can't pass the rated flow",)
    return Reason("inlet line", FROM_LINE[c.verdict], _with_flags(words, c),
                  inlet_line.SOURCE)  # fmt: skip


def _outlet_reason(valve, load, found):
    given, header = _line_given(valve, "outlet"), _header_reason(valve, load)
    if given:
        return header if header and header.verdict == FAILS else given
    c = max((out for _, _, out in found), key=lambda check: check.value / check.limit)
    words = f"{c.limit_kind} back pressure ", ("built_up", c.value), " at rated flow, "
    words += ("no limit",) if np.isnan(c.limit) else (("built_up", c.limit), " allowed")
    return Reason("outlet line", FROM_LINE[c.verdict], _with_flags(words, c),
                  outlet_line.SOURCE)  # fmt: skip


def _header_reason(valve, load):
    """What the header alone does to a valve, whatever its line adds; None for a disk."""
    if valve.kind == "disk":
        return None
    variable, gauge = valve.variable_gauge, load.stream.pressure - valve.atmosphere
    total = valve.superimposed_gauge + variable
    found = [
        ask.back_pressure_holds(valve.kind, pset, gauge - pset, variable, total)
        for pset in valve.sets
    ]
    worst = next((answer for answer in found if not answer.holds), found[0])
    words = ("the header alone brings ", ("built_up", worst.value), ", ",
             ("built_up", worst.limit), " allowed")  # fmt: skip
    return Reason("outlet line", COVERS if worst.holds else FAILS, words, outlet_line.SOURCE)


def _with_flags(words, check):
    return (*words, *(f"; {flag}" for flag in check.flags))


def _destination_reason(valve, stream):
    """May what has passed the valve go where it is led: its phase there, flashed if it flashes."""
    to = valve.destination or "destination not given"
    found = phase_fits(stream, valve.takes, _lowest_pressure(valve), to)
    verdict = {True: COVERS, False: FAILS, None: UNKNOWN}[found.holds]
    return Reason("destination", verdict, found.pieces, found.source)


def _position_reason(valve):
    """Where it stands, as found on the drawing or as somebody answers for it."""
    if valve.position is None:
        return Reason("position", UNKNOWN, ("where it stands is not given",))
    if isinstance(valve.position, str):
        words = f"taken as standing right: {valve.position}"
        return Reason("position", COVERS, (words,), "as stated")
    return valve.position


def _lowest_pressure(valve):
    """Lowest pressure behind the valve [Pa absolute]: there it flashes most."""
    known = [p for p in (valve.back_pressure, valve.header_pressure) if p is not None]
    return min(known, default=valve.atmosphere)
