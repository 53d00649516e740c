"""Where may it go: flare, closed drain, process or the air, by what it is BEHIND the valve.

Liquid that boils on the way is no liquid when it arrives, and it arrives cold. So phase and
temperature are those after throttling, at the lowest pressure of the place: there it flashes most.
Whether a phase may go where it is led is asked here by the judge of installed valves too.
"""

from dataclasses import KW_ONLY, dataclass, field

import numpy as np

from relieflib.disposal import release as to_air
from relieflib.disposal.finding import FAILS, HOLDS, Finding, about, worst, wrapped
from relieflib.disposal.hazards import Hazards
from relieflib.errors import InputError, positive
from relieflib.lines.line_fluids import behind_valve
from relieflib.texts import clean, percent
from relieflib.units import ICE_POINT
from relieflib.valve_questions import kept

KINDS = ("flare", "closed drain", "process", "atmosphere")
PHASES = ("gas", "liquid", "two-phase")
SELECTION = "API 521 (2020), selection of disposal, from memory; common practice"


@dataclass(frozen=True)
class Place:
    """A place that may take what is relieved; None for what is not known.

    name; kind of `KINDS`; takes, phases of `PHASES` it is made for; lowest_pressure that stands
    there [Pa absolute]; lowest_temperature and highest_temperature it is made for [K]; has_drum, a
    knock-out drum before the flare; vented, a drain with a vapour space and an open vent;
    protected, process equipment with relief of its own for this flow; wet, water may stand there;
    holds, names of what else flows there. Raises InputError for another word.
    >>> Place("FH", "flare", takes=("gas",), lowest_pressure=106325.0).vented is None
    True
    """

    name: str
    kind: str
    _: KW_ONLY
    takes: tuple | None = None
    lowest_pressure: float = to_air.ATMOSPHERE
    lowest_temperature: float | None = None
    highest_temperature: float | None = None
    has_drum: bool | None = None
    vented: bool | None = None
    protected: bool | None = None
    wet: bool | None = None
    holds: tuple = ()

    def __post_init__(self):
        if self.kind not in KINDS:
            raise InputError(f"kind = '{self.kind}': use one of {', '.join(KINDS)}")
        wrong = set(self.takes or ()) - set(PHASES)
        if wrong:
            raise InputError(f"takes = {self.takes!r}: use {', '.join(PHASES)}")
        positive(lowest_pressure=self.lowest_pressure)


@dataclass(frozen=True)
class Route:
    """One stream into one place: verdict and findings."""

    place: Place
    findings: tuple
    release: object = field(default=None, repr=False)

    @property
    def verdict(self):
        """'holds', 'does not hold', 'not known'; 'not answerable here' as the release says."""
        verdict = worst(self.findings)
        if verdict != FAILS and self.release and self.release.verdict == to_air.NOT_HERE:
            return to_air.NOT_HERE
        return verdict

    @property
    def why_not(self):
        """Findings that fail, then those that are not known."""
        bad = [f for f in self.findings if f.holds is not True]
        return tuple(sorted(bad, key=lambda f: f.holds is None))

    def about(self, subject):
        """The `Finding` on one subject; InputError for another."""
        return about(self.findings, subject)

    def __str__(self):
        lines = [f"{self.place.name} ({self.place.kind}): {self.verdict}"]
        return clean("\n".join([*lines, *(wrapped(f, "  ") for f in self.findings)]))


# ---- the phase, asked by everybody


def phase_fits(stream, takes, pressure, name):
    """May what has passed a valve go to a place, by its phase there: flashed if it flashes.

    Parameters: stream before the valve; takes, phases that the place is made for, None where not
    known; pressure, the lowest there [Pa]; name of the place. Returns `Finding` on 'phase'.
    A liquid whose vapour pressure is not given may boil: into a place for liquid alone that is not
    known. Source: throttling at constant enthalpy; gas to flare or atmosphere, liquid to a closed
    low-pressure system: common practice, no source.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> phase_fits(Liquid(20e5, 700.0, saturation_pressure=2e5), ("liquid",), 1.5e5, "CD").holds
    False
    """
    if takes is None:
        return Finding("phase", None, (f"{name}: what it is meant to take is not given",))
    try:
        behind = behind_valve(stream, pressure)
    except InputError as problem:
        words = (f"into {name}: its state there can't be worked out: {problem}",)
        return Finding("phase", None, words)
    both = {"gas", "liquid"} <= set(takes) or "two-phase" in takes
    if behind.phase == "not known" and "liquid" in takes and not both:
        words = (f"liquid into {name}, which takes {' and '.join(takes)}: whether it boils on the "
                 "way is not known, give its vapour pressure")  # fmt: skip
        return Finding("phase", None, (words,))
    phase = "liquid" if behind.phase == "not known" else behind.phase
    words = (*_flashed(behind, phase), f" into {name}, which takes {' and '.join(takes)}")
    if phase in takes or (phase in ("two-phase", "liquid") and both):
        return Finding("phase", True, words)
    words += (": gas to flare or atmosphere, liquid to a closed low-pressure system",)
    return Finding("phase", False, words)


def _flashed(behind, phase):
    """Words for a phase behind the valve, with what of it is vapour and how cold it is."""
    if phase != "two-phase":
        return (phase,)
    words = ("two-phase",)
    if not np.isnan(behind.quality):
        words += (f" ({percent(behind.quality)} vapour by mass",)
        if not np.isnan(behind.void_fraction):
            words += (f", {percent(behind.void_fraction)} by volume",)
        words += (", ", ("temperature", behind.temperature), ")")
    return (*words, " behind the valve, at ", ("pressure", behind.pressure), ",")


# ---- one place


def route(stream, hazards, place, *, temperature=None, release=None):
    """May a stream that passes a valve be led to a place.

    Parameters: stream before the valve; hazards, `Hazards`; place, `Place`; temperature behind the
    valve [K] where the stream doesn't know it; release, `release.ReleaseCheck` of the open end,
    for the atmosphere. Returns `Route`. Raises InputError for a temperature that can't be.
    What was not given is not known, and a way that is not known is none. Source: API 521 (2020),
    selection of disposal, from memory; common practice.
    """
    if not isinstance(hazards, Hazards):
        raise InputError(f"hazards = {hazards!r}: must be Hazards")
    phase, T = _behind(stream, place, temperature)
    findings = [
        phase_fits(stream, place.takes, place.lowest_pressure, place.name),
        *_OF_KIND[place.kind](place, hazards, phase, release),
        *_common(place, hazards, T),
    ]
    return Route(place, tuple(findings), release if place.kind == "atmosphere" else None)


def compare(stream, hazards, places, *, temperature=None, releases=None):
    """A stream into every place.

    Parameters: as `route`; places, list of `Place`; releases, {name of a place: `ReleaseCheck`}.
    Returns {name: `Route`}. Raises InputError as `route`. Source: as `route`.
    """
    given = releases or {}
    return {p.name: route(stream, hazards, p, temperature=temperature, release=given.get(p.name))
            for p in places}  # fmt: skip


def _behind(stream, place, temperature):
    """Phase and temperature behind the valve; NaN for a temperature that nobody knows."""
    try:
        behind = behind_valve(stream, place.lowest_pressure)
    except InputError:
        return "not known", np.nan
    T = behind.temperature
    if temperature is not None and np.isnan(T):
        T = positive(temperature=temperature).item()
    return behind.phase, T


def _yes(subject, value, yes, no, unknown, source=SELECTION):
    words = {True: yes, False: no, None: unknown}[value]
    return Finding(subject, value, (words,), source)


def _flare(place, hazards, phase, release):
    if phase == "gas":
        return [Finding("knock-out drum", True, ("dry gas leaves",), SELECTION)]
    return [_yes("knock-out drum", place.has_drum, "a drum takes the liquid out before the flare",
                 "liquid in a flare without a knock-out drum: burning rain",
                 "liquid comes, and whether there is a knock-out drum is not known")]  # fmt: skip


def _drain(place, hazards, phase, release):
    return [_yes("vent", place.vented, "vapour space with an open vent",
                 "a drain without vapour space and vent is a closed vessel being filled",
                 "whether the drain drum has a vapour space and an open vent is not known")
            ]  # fmt: skip


def _process(place, hazards, phase, release):
    return [_yes("relief behind", place.protected, "has relief of its own for this flow",
                 "nothing there relieves this flow: the overpressure is only moved",
                 "whether what takes it has relief of its own for this flow is not known")
            ]  # fmt: skip


def _atmosphere(place, hazards, phase, release):
    """Poison and liquid never; steam, air and inert gas to a safe place; the rest by its jet."""
    poison = {True: "toxic", False: "not toxic", None: "whether it is toxic is not known"}
    safe = None if hazards.toxic is None else not hazards.toxic
    first = Finding("poison", safe, (poison[hazards.toxic],), SELECTION)
    if phase in ("liquid", "two-phase"):
        return [first, Finding("jet", False, (f"{phase}: rains down",), SELECTION)]
    if hazards.flammable is False:
        words = ("doesn't burn: a safe place, away from people, is enough",)
        return [first, Finding("jet", True, words, SELECTION)]
    if release is None:
        return [first, Finding("jet", None, ("the release was not checked",), SELECTION)]
    holds = {HOLDS: True, FAILS: False}.get(release.verdict)
    against = [f for f in release.findings if f.holds is not True]
    why = f" ({', '.join(f.subject for f in against)})" if against else ""
    return [first, Finding("jet", holds, (f"{release.verdict}{why}",), "as the release")]


_OF_KIND = {"flare": _flare, "closed drain": _drain, "process": _process,
            "atmosphere": _atmosphere}  # fmt: skip


def _common(place, hazards, T):
    """What holds for every closed place: temperature, solids, water that freezes, bad company."""
    if place.kind == "atmosphere":
        return []
    return [_temperature(place, T), _solid(hazards), _ice(place, hazards, T),
            _company(place, hazards)]  # fmt: skip


def _temperature(place, T):
    low, high = place.lowest_temperature, place.highest_temperature
    if np.isnan(T):
        return Finding("temperature", None, ("temperature behind the valve is not known",))
    words = ("arrives at ", ("temperature", T))
    if low is not None and not kept(low, T):
        return Finding("temperature", False, (*words, ", made for ", ("temperature", low),
                                              " at the lowest"))  # fmt: skip
    if high is not None and not kept(T, high):
        return Finding("temperature", False, (*words, ", made for ", ("temperature", high),
                                              " at the highest"))  # fmt: skip
    if low is None:
        return Finding("temperature", None, (*words, ", what the metal is made for is not given"))
    return Finding("temperature", True, (*words, ", made for ", ("temperature", low)))


def _solid(hazards):
    holds = None if hazards.sets_solid is None else not hazards.sets_solid
    return _yes("solids", holds, "stays fluid",
                "sets solid: a quench or catch tank, and a header of its own",
                "whether it polymerises, freezes or brings solids is not known")  # fmt: skip


def _ice(place, hazards, T):
    """Water and cold in one header: ice, and with light gas hydrate."""
    water = {hazards.wet, place.wet}
    if True not in water:
        holds = None if None in water and not kept(ICE_POINT, T) else True
        words = "no water" if None not in water else "whether water is there is not known"
        return Finding("ice", holds, ("warm enough" if kept(ICE_POINT, T) else words,), SELECTION)
    if np.isnan(T):
        return Finding("ice", None, ("water, and the temperature is not known",), SELECTION)
    holds = bool(kept(ICE_POINT, T))
    words = ("water, and ", ("temperature", T), "" if holds else ": wet and cold streams part")
    return Finding("ice", holds, words, SELECTION)


def _company(place, hazards):
    met = sorted(set(hazards.not_with) & set(place.holds))
    if met:
        words = (f"must not meet {', '.join(met)}: a header of its own",)
        return Finding("company", False, words, SELECTION)
    if hazards.not_with and not place.holds:
        return Finding("company", None, ("what else flows there is not given",), SELECTION)
    return Finding("company", True, ("nothing known that it must not meet",), SELECTION)


# ---- from a plant


def places_of(plant, **more):
    """The places of a plant: its headers, with the drums that its file describes.

    Parameters: plant; more, {tag: fields of `Place`} in place of the file's. Returns {tag:
    `Place`}. Raises InputError for a header whose service names no flare, drain or atmosphere.
    Source: the plant's file; a knock-out drum and an open vent count where the file has them.
    >>> from relieflib.plant import load_plant
    >>> {tag: place.kind for tag, place in places_of(load_plant()).items()}
    {'FH': 'flare', 'CD': 'closed drain', 'ATM': 'atmosphere'}
    """
    return {tag: _place(plant, tag, header, more.get(tag, {}))
            for tag, header in plant.headers.items()}  # fmt: skip


def _place(plant, tag, header, more):
    kind = next((word for word in ("flare", "drain", "atmosphere") if word in header.service), None)
    if kind is None:
        raise InputError(f"headers {tag}: service names no flare, drain or atmosphere")
    takes = getattr(header, "takes", None)
    fields = dict(takes=takes and tuple(takes),
                  lowest_pressure=plant.absolute(header.lowest_pressure_gauge))  # fmt: skip
    drum = _drum_of(plant, tag, kind)
    if drum is not None:
        fields["lowest_temperature"] = getattr(drum, "lowest_metal_temperature", None)
        fields["highest_temperature"] = getattr(drum, "highest_temperature", None)
        fields["has_drum" if kind == "flare" else "vented"] = True
    return Place(tag, {"drain": "closed drain"}.get(kind, kind), **fields | more)


def _drum_of(plant, tag, kind):
    """The drum that a header leads to, or None: a flare's stands on the way to its stack."""
    if kind == "drain":
        return next((d for d in plant.of("disposal.drain_drums") if d.header == tag), None)
    stacks = [s.tag for s in plant.of("disposal.stacks") if s.header == tag]
    return next((d for d in plant.of("disposal.drums") if d.to in stacks), None)
