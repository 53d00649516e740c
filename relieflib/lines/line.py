"""A line as a table of parts, and the pressure along it at one flow.

The rows run with the flow. A row is a length of pipe or a fitting, each with the inside diameter
it stands in; where the diameter changes from one row to the next, the line narrows or widens there,
abruptly unless the later row is a reducer with the length of its taper.

A part that several valves share carries the flow of all of them. It is followed as the share of its
bore that one valve has: the flux is the same, friction and fittings are those of the whole bore.
Where lines join or part no pressure is won back, and what the turn costs is a tee among the parts.
"""

from dataclasses import KW_ONLY, dataclass, field

import numpy as np

from relieflib.errors import (
    InputError,
    Value,
    finite,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
)
from relieflib.lines import fittings
from relieflib.lines.pipe_flow import friction_factor, rough_pipe_friction
from relieflib.nozzle.liquid import reynolds
from relieflib.units import GRAVITY
from relieflib.valve_questions import kept
from relieflib.working import Working

COMMERCIAL_STEEL = 45.72e-6  # m, 0.0018 in: new commercial steel, Crane TP-410, A-24
WITHIN, OVER, NO_LIMIT = "within limit", "over limit", "no limit"
NOT_KNOWN = "not known"


@dataclass(frozen=True)
class Part:
    """One row of a line: its kind, its inside diameter, and what its kind takes.

    Parameters
    ----------
    kind : str
        A kind of the table of fittings, or 'other' with its K.
    diameter : float or array, m
        Inside.
    length : float or array, m, optional
        Of a pipe, or of a reducer's taper (0, abrupt).
    count : float or array, optional
        Equal fittings one after the other.
    K : float or array, optional
        In place of the table's; 'other' needs it.
    elevation : float or array, m, optional
        Rise along the flow.
    bore : float or array, m, optional
        Of a gate or ball valve; None for full bore.
    nps : str, optional
        Nominal size it came from; see `Part.of`.
    valves : float or array, optional
        Equal valves that relieve through it at once.

    Raises
    ------
    InputError
        For an unknown kind, less than one valve, and for what a kind would ignore.

    Examples
    --------
    >>> Part("pipe", 0.10226, length=1.5).length
    1.5
    """

    kind: str
    diameter: Value
    _: KW_ONLY
    length: Value = 0.0
    count: Value = 1
    K: Value | None = None
    elevation: Value = 0.0
    bore: Value | None = None
    nps: str | None = None
    valves: Value = 1

    def __post_init__(self):
        if self.kind not in fittings.KINDS:
            raise InputError(f"kind = '{self.kind}': use one of {', '.join(fittings.KINDS)}")
        plausible(diameter=positive(diameter=self.diameter))
        not_negative(length=self.length, count=self.count)
        finite(elevation=self.elevation)
        refuse(finite(valves=self.valves) < 1, "valves", self.valves, "must be 1 or more")
        if self.K is not None:
            not_negative(K=self.K)
        if self.bore is not None:
            fittings.fitting_K(self.kind, self.diameter, self.bore)
        self._refuse_ignored()

    def _refuse_ignored(self):
        if self.kind not in ("pipe", "reducer") and np.any(np.asarray(self.length) != 0):
            raise InputError(f"length belongs to a pipe or a reducer: '{self.kind}' ignores it")
        if self.kind in ("pipe", "reducer") and (self.K is not None or np.any(self.count != 1)):
            raise InputError(f"K and count belong to fittings: a {self.kind} ignores them")
        if self.kind == "other" and self.K is None:
            raise InputError("K: needed by a part of kind 'other'")
        if self.K is not None and self.bore is not None:
            raise InputError("K and bore: give one, a K given takes the place of the table's")

    @classmethod
    def of(cls, kind, nps, schedule="40", **more):
        """A part in a pipe of a nominal size and schedule; `more` as the fields."""
        size = fittings.pipe_size(nps, schedule)
        return cls(kind, size.inside_diameter, nps=size.nps, **more)

    @property
    def area(self):
        """Flow area of the pipe [m2]."""
        return result(0.25 * np.pi * finite(diameter=self.diameter) ** 2)

    @property
    def share(self):
        """Flow area that one of the valves has [m2]."""
        return result(np.asarray(self.area) / self.valves)

    @property
    def fitting_K(self):
        """Loss coefficient of all `count` fittings [-]; 0 for pipe and reducer."""
        if self.kind in ("pipe", "reducer"):
            return 0.0
        one = self.K
        if one is None:
            one = fittings.fitting_K(self.kind, self.diameter, self.bore)
        return result(np.asarray(one) * self.count)

    @property
    def words(self):
        """The row in words."""
        times = f"{self.count:g} x " if np.ndim(self.count) == 0 and self.count != 1 else ""
        size = f" NPS {self.nps}" if self.nps else ""
        shared = np.ndim(self.valves) == 0 and self.valves != 1
        return f"{times}{self.kind}{size}" + (f" for {self.valves:g} valves" if shared else "")


@dataclass(frozen=True)
class Line:
    """Parts in the order of flow.

    Parameters
    ----------
    parts : iterable of Part
    roughness : float, m, optional
        Of the pipe wall; new commercial steel by default.

    Raises
    ------
    InputError
        For no part, what is no `Part`, or a negative roughness.

    Examples
    --------
    >>> Line([Part("pipe", 0.10226, length=1.5), Part("pipe", 0.10226, length=2.0)]).length
    3.5
    """

    parts: tuple
    roughness: float = COMMERCIAL_STEEL

    def __post_init__(self):
        object.__setattr__(self, "parts", tuple(self.parts))
        if not self.parts or not all(isinstance(p, Part) for p in self.parts):
            raise InputError("parts: give at least one, each a Part")
        not_negative(roughness=self.roughness)
        for before, after in zip(self.parts, self.parts[1:]):
            tapers = after.kind == "reducer" and np.any(np.asarray(after.length) > 0)
            if tapers and np.any(np.asarray(before.valves) != after.valves):
                raise InputError("valves: a reducer with a taper stands in one line, not where "
                                 "lines join: put a part before it")  # fmt: skip

    @property
    def length(self):
        """Length of pipe and tapers [m]."""
        return result(sum(np.asarray(p.length, dtype=float) for p in self.parts))

    @property
    def elevation(self):
        """Rise from start to end [m]."""
        return result(sum(np.asarray(p.elevation, dtype=float) for p in self.parts))

    @property
    def smallest_diameter(self):
        """Inside diameter of the narrowest part [m]."""
        return result(np.minimum.reduce(np.broadcast_arrays(*(p.diameter for p in self.parts))))

    @property
    def smallest_share(self):
        """Smallest flow area that one valve has along the line [m2]."""
        return result(np.minimum.reduce(np.broadcast_arrays(*(p.share for p in self.parts))))


@dataclass(frozen=True)
class Run:
    """Parts of one diameter with their velocity heads; heads, K and widening are of its own bore.

    widening: loss coefficient of the widening at its end, 0 where none; valves that share it.
    """

    parts: tuple
    diameter: float
    length: float
    K: float
    friction_factor: float
    elevation: float
    widening: float = 0.0
    valves: float = 1

    @property
    def area(self):
        """Flow area that one valve has [m2]."""
        return 0.25 * np.pi * np.asarray(self.diameter, dtype=float) ** 2 / self.valves

    @property
    def heads(self):
        """Velocity heads lost, f L/D and K [-], without a widening at its end."""
        return self.friction_factor * np.asarray(self.length) / self.diameter + self.K


def _same(a, b):
    """One diameter: equal, or NaN in the same places."""
    return a is b or np.array_equal(np.asarray(a, float), np.asarray(b, float), equal_nan=True)


def _groups(parts, cut):
    groups = [[parts[0]]]
    for part in parts[1:]:
        last = groups[-1][-1]
        if not cut and _same(part.diameter, last.diameter) and _same(part.valves, last.valves):
            groups[-1].append(part)
        else:
            groups.append([part])
    return groups


def _friction(line, diameter, mass_flow, viscosity):
    e = line.roughness / np.asarray(diameter, dtype=float)
    if viscosity is None:
        return np.asarray(rough_pipe_friction(e))
    Re = reynolds(np.maximum(mass_flow, 1e-300), 0.25 * np.pi * np.square(diameter), viscosity)
    return np.asarray(friction_factor(Re, e))


def runs(line, mass_flow, viscosity=None, cut=False):
    """The runs of one diameter that a line is made of.

    Parameters: line; mass_flow [kg/s] and viscosity [Pa s] for the friction factor, without a
    viscosity that of fully rough flow; cut, True for a run of each part. Returns a tuple of `Run`
    in the order of flow. Raises InputError for a mass flow negative or a viscosity not above 0.
    Source: Churchill (1977); Crane TP-410 for fittings, narrowings and widenings.
    >>> r = runs(Line([Part.of("entrance flush", "4"), Part.of("pipe", "4", length=2.0)]), 5.0)
    >>> len(r), round(float(r[0].heads), 3)
    (1, 0.818)
    """
    W, found = not_negative(mass_flow=mass_flow), []
    for group in _groups(line.parts, cut):
        D = group[0].diameter
        K = sum(np.asarray(p.fitting_K, dtype=float) for p in group)
        length = sum(np.asarray(p.length, dtype=float) for p in group)
        rise = sum(np.asarray(p.elevation, dtype=float) for p in group)
        f = _friction(line, D, W * np.asarray(group[0].valves), viscosity)
        found.append([tuple(group), D, length, K, f, rise, 0.0, group[0].valves])
    for before, after in zip(found, found[1:]):
        narrowing, widening = _change(before[0][-1], after[0][0])
        after[3], before[6] = after[3] + narrowing, widening
    return tuple(Run(*values) for values in found)


def _change(before, after):
    """Loss coefficients of a narrowing (of the later bore) and of a widening (of the earlier)."""
    taper = after.length if after.kind == "reducer" else 0.0
    D, D_after, n, n_after, taper = np.broadcast_arrays(
        before.diameter, after.diameter, before.valves, after.valves, taper
    )
    joins = n != n_after
    own, next_own = (np.where(joins, d / np.sqrt(m), d) for d, m in ((D, n), (D_after, n_after)))
    # a pair that does not change has neither; minimum and maximum keep NaN
    wide = np.maximum(own, next_own)
    narrow = fittings.contraction_K(own, np.minimum(own, next_own), taper)
    widen = fittings.enlargement_K(own, wide, taper)
    nothing_back = 1.0 - (own / wide) ** 4
    return np.asarray(narrow), np.where(joins, nothing_back, widen)


@dataclass(frozen=True)
class Station:
    """State at one place of a line: distance from its start [m], pressure [Pa], static.

    part, the words of what begins or ends there; mass_flux [kg/(m2 s)] of the bore; choked, True
    where the flow leaves a bore at the speed of sound; valves that share it; velocity [m/s],
    mach [-], temperature [K].
    """

    part: str
    distance: float
    pressure: float
    mass_flux: float
    choked: bool
    fluid: object = field(repr=False)
    valves: float = 1

    @property
    def velocity(self):
        """Velocity [m/s]."""
        return result(self.fluid.velocity(np.asarray(self.pressure), self.mass_flux))

    @property
    def mach(self):
        """Mach number [-]."""
        return result(self.fluid.mach(np.asarray(self.pressure), self.mass_flux))

    @property
    def temperature(self):
        """Static temperature [K]; NaN where it isn't known."""
        return result(self.fluid.static_temperature(np.asarray(self.pressure), self.mass_flux))


def march(line, line_fluid, mass_flow, end_pressure, viscosity=None, cut=False):
    """Static pressure along a line from its end back to its start, choked wherever it must be.

    Parameters: line; line_fluid, `Adiabatic`, `Expanding` or `Incompressible`; mass_flow [kg/s];
    end_pressure beyond the end [Pa]; viscosity [Pa s], None for fully rough flow; cut, True for a
    station at each part. Numbers may be arrays that broadcast. Returns a tuple of `Station` in the
    order of flow: start and end of each run. Raises InputError for values not above 0, or a rise
    in a line of gas or two-phase flow, whose head is not counted.
    Validity: steady flow. Of a widening the momentum balance counts (liquid: its K), for gas always
    as an abrupt one. Source: momentum and energy balances; API 521 (2020), 5.5.
    >>> from relieflib.lines.line_fluids import Adiabatic
    >>> tail = Line([Part("other", 0.15405, K=2.0)])
    >>> round(march(tail, Adiabatic(348.0, 51.0, 1.11), 6.74167, 101325.0)[0].pressure / 1e3, 1)
    181.7
    """
    W, P = positive(mass_flow=mass_flow, end_pressure=end_pressure)
    if line_fluid.kind != "liquid":
        refuse(np.asarray(line.elevation) != 0, "elevation", line.elevation,
               "counts for liquids alone: leave it 0 for gas and two-phase flow")  # fmt: skip
    pieces = runs(line, W, viscosity, cut)
    distance = sum(np.asarray(r.length, dtype=float) for r in pieces)
    stations, after = [], None
    for run in reversed(pieces):
        G = W / run.area
        if after is not None:
            P = _across(line_fluid, P, G, W / after.area, run, after)
        lowest = line_fluid.choke(G)
        choked, P = _is_choked(P, lowest), np.maximum(P, lowest)
        words = ", ".join(p.words for p in run.parts)
        stations.append(Station("end of " + words, result(distance), result(P), result(G),
                                result(choked), line_fluid, run.valves))  # fmt: skip
        P = line_fluid.upstream(P, G, run.heads)
        if line_fluid.kind == "liquid":
            P = P + line_fluid.density * GRAVITY * run.elevation
        distance = distance - np.asarray(run.length, dtype=float)
        stations.append(Station("start of " + words, result(distance), result(P), result(G),
                                result(np.zeros_like(choked)), line_fluid,
                                run.valves))  # fmt: skip
        after = run
    return tuple(reversed(stations))


def _is_choked(P, lowest):
    return (lowest > 0) & (np.asarray(P) <= lowest * (1 + 1e-9))


def _across(fluid, P, G, G_after, run, after):
    """Pressure before a change of bore, from that after it; at least the choke pressure."""
    P, G, G_after, joins = np.broadcast_arrays(
        P, G, G_after, np.asarray(run.valves) != np.asarray(after.valves)
    )
    widens, narrows = (G_after < G) & ~joins, G_after > G
    before = P  # where lines join and it widens: nothing is won back
    if np.any(widens):
        before = np.where(widens, fluid.widen(P, G, G_after, run.widening), before)
    if np.any(narrows):
        before = np.where(narrows, fluid.narrow(P, np.minimum(G, G_after), G_after), before)
    return before


@dataclass(frozen=True)
class LineCheck:
    """Verdict on a line: what is limited against its limit.

    mass_flow [kg/s] the check was made at; value and limit, as the subclass says [Pa]; verdict
    'within limit', 'over limit' or 'no limit', array for arrays; flags, words on what else to look
    at; working, the steps.
    """

    sizing: object = field(repr=False)
    line: Line = field(repr=False)
    mass_flow: float
    value: float
    limit: float
    verdict: str
    flags: tuple
    working: Working = field(repr=False)

    @property
    def passes(self):
        """True where the limit is kept, or there is none."""
        words = np.asarray(self.verdict, dtype=object)
        return result((words == WITHIN) | (words == NO_LIMIT))


def verdict_of(value, limit, known=True):
    """Verdict word of a value against its limit.

    Parameters: value, limit; arrays broadcast; NaN as the limit of a number is no limit; known,
    False where a value above the limit is not known to be wrong. Returns str, or an array of str.
    NaN as the value: 'not known'. Source: none needed.
    >>> verdict_of(3.0, 2.0)
    'over limit'
    """
    value, limit = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in (value, limit)))
    words = np.where(kept(value, limit), WITHIN, OVER if known else NOT_KNOWN)
    words = np.where(np.isnan(limit), NO_LIMIT, words).astype(object)
    words = np.where(np.isnan(value), NOT_KNOWN, words)
    return words.item() if words.ndim == 0 else words


def flag_where(bad, words):
    """Flag in words, with how many of an array it holds for; nothing where for none.

    Parameters: bad, bool or array; words, str. Returns a list of none or one str.
    Source: none needed.
    >>> flag_where([True, False], "too small")
    ['too small (1 of 2)']
    """
    bad = np.asarray(bad, dtype=bool)
    if not bad.any():
        return []
    return [words if bad.ndim == 0 else f"{words} ({int(bad.sum())} of {bad.size})"]
