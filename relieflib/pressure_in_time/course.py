"""Follow a vessel's pressure from the start of a cause: events located, never a fixed step.

Set, reseat, full lift, burst, a vessel that fills: each is found on the integrator's own
polynomial, the run stops there and goes on from it (scipy's solve_ivp). A valve whose inlet line
takes its whole blowdown has no steady state; the run says so and ends, where drawing would give
thousands of strokes that no model without inertia and waves can claim.
"""

from dataclasses import KW_ONLY, dataclass, replace
from math import inf, isnan, nan

import numpy as np

from relieflib.errors import SHORTEST, InputError, check_points, one_number, positive, refuse
from relieflib.pressure_in_time.contents import Flow
from relieflib.pressure_in_time.device import CHATTER, Relief
from relieflib.pressure_in_time.sources import Source

MOST_CYCLES = 40  # guard: after these it is told as cycling on
_STEADY = 1e-3  # part of the pressure that may still move in the last tenth of a run
_DECAYED = 0.02  # part of all that it moved: a slow rise that goes on is not steady
_AT_REST = 10.0  # guard: room below the limit, over what still moved in the last tenth
_PEAKS = 3  # guard: how many of the highest pieces are searched for the peak
_ROUNDING = 3.0  # times rtol, of a limit: a device that settles AT it, as right as can be, passes
_EXACT = 2e-9  # the same without a device, where nothing settles there
_FAST = 1.0  # s: strokes that come faster are told as such
# what the device may be doing, and its lift where that stands still
_STILL = {"shut": 0.0, "open": 1.0, "burst": 1.0, "none": 0.0}
# a stroke and a shut vessel are short or smooth; flow against a device may be stiff
_METHODS = dict.fromkeys(("shut", "opening", "closing"), "DOP853")
CYCLING = "cycling on"
SET, LIMIT, AT_LIMIT = "set", "limit", "at the limit"


@dataclass(frozen=True)
class Case:
    """What `follow` follows: contents, source of the cause, relief device, limit.

    contents, of `contents` or `pure_fluid`; source, a `Source`; relief, a `Relief`, or None without
    one; limit_pressure, what the vessel may reach [Pa absolute] (`plant.relieving_pressure`);
    set_pressure [Pa absolute] to be timed where there is no device, of a device its own. Raises
    InputError for a limit below the start, or one that is no number.
    """

    contents: object
    source: Source
    relief: Relief | None = None
    _: KW_ONLY
    limit_pressure: float
    set_pressure: float | None = None

    def __post_init__(self):
        if self.set_pressure is not None:
            positive(set_pressure=one_number(set_pressure=self.set_pressure))
        top = positive(limit_pressure=one_number(limit_pressure=self.limit_pressure))
        refuse(top <= self.contents.pressure, "limit_pressure", top, "must be above the start, "
               f"{self.contents.pressure:.6g} Pa")  # fmt: skip
        if self.relief is not None and self.set_pressure is not None:
            raise InputError("set_pressure: the device has its own; give it without one")

    @property
    def timed_set(self):
        """Set pressure that is timed [Pa absolute], None without any."""
        return self.set_pressure if self.relief is None else self.relief.set_pressure


@dataclass(frozen=True)
class Course:
    """Result of `follow`: arrays over time [s], and what they come to; SI.

    pressure, temperature, mass, lift [-], mass_flow out, inflow of gas, liquid_inflow [m3/s],
    heat_rate, liquid (part of the volume) as arrays. time_to_set, time_to_limit [s], infinite where
    not reached; peak [Pa] and peak_time; steady_pressure [Pa], NaN where there is none; cycles, how
    often it opened; period of the last cycle [s], NaN without one; mass_lost [kg];
    mass_balance, energy_balance, what is not accounted for, as a fraction of what was there and
    came; ended, why the run ended; verdict, the whole of it in words.
    """

    time: np.ndarray
    pressure: np.ndarray
    temperature: np.ndarray
    mass: np.ndarray
    lift: np.ndarray
    mass_flow: np.ndarray
    inflow: np.ndarray
    liquid_inflow: np.ndarray
    heat_rate: np.ndarray
    liquid: np.ndarray
    _: KW_ONLY
    time_to_set: float
    time_to_limit: float
    peak: float
    peak_time: float
    steady_pressure: float
    cycles: int
    period: float
    mass_lost: float
    mass_balance: float
    energy_balance: float
    ended: str
    verdict: str

    @property
    def cycles_per_minute(self):
        """How often it opens in a minute, by the last cycle; NaN without a whole one."""
        return 60.0 / self.period


class _Run:
    """A run: the state is that of the contents, the lift, and four sums of mass and energy."""

    def __init__(self, case, rtol):
        self.rounding = _EXACT if case.relief is None else _ROUNDING * rtol
        self.case, self.contents, self.relief = case, case.contents, case.relief
        self.source, self.n = case.source, len(case.contents.start)
        self.brought = self.contents.enthalpy_of(case.source)
        self.mode, self.after_switch = self._first_mode(), False

    def _first_mode(self):
        relief = self.relief
        if relief is None or relief.valve_area == 0:
            return "none"
        if relief.kind == "disk" or relief.pops:
            return "shut"
        return "lagging" if relief.opening_time else "shut"

    def lift(self, z, pressure):
        """Lift [-] in a state."""
        if self.mode in _STILL:
            return _STILL[self.mode]
        if self.mode == "throttling":
            return self.relief.wanted_lift(pressure)
        return min(max(z[self.n], 0.0), 1.0)

    def point(self, t, z):
        """State of the contents and what flows: (now, flow, lift)."""
        now = self.contents.look(z[: self.n])
        y = self.lift(z, now.pressure)
        out = 0.0
        if y > 0.0:
            r = self.relief
            out = y * r.valve_area * self.contents.flux(now, r.at_inlet(now.pressure, y), r.behind)
        gas, liquid, heat = self.source.at(now, self.after_switch)
        h = now.enthalpy if self.brought is None else self.brought
        return now, Flow(gas, h, liquid, heat, out), y

    def rates(self, t, z):
        """Right-hand side."""
        z = z.tolist()
        now, flow, y = self.point(t, z)
        ds, came, out = self.contents.rates(z[: self.n], now, flow)
        moved = flow.inflow
        if self.contents.phase == "liquid":
            moved += flow.liquid_inflow / now.volume
        return [*ds, self._stroke(now, y), moved, flow.outflow, came, out]

    def _stroke(self, now, y):
        if self.mode == "opening":
            return 1.0 / self.relief.opening_time
        if self.mode == "closing":
            return -1.0 / self.relief.opening_time
        if self.mode == "lagging":
            return (self.relief.wanted_lift(now.pressure) - y) / self.relief.opening_time
        return 0.0

    # ---- events
    def _pressure(self, z):
        return self.contents.look(z[: self.n]).pressure

    def turns(self):
        """Events that change what the device does: (next mode, direction, function of z)."""
        r, felt = self.relief, self._pressure
        if self.mode == "shut":
            return [(self._opens(), 1, lambda z: felt(z) - r.set_pressure)]

        def above(z, limit):
            return r.felt(felt(z), self.lift(z, felt(z))) - limit

        def reseats(z):
            return above(z, r.reseat_pressure)

        if self.mode == "open":
            return [(self._shuts(), -1, reseats)]
        if self.mode == "opening":
            whole = [("burst" if r.kind == "disk" else "open", 1, lambda z: z[self.n] - 1.0)]
            return whole + ([("closing", -1, reseats)] if r.pops else [])
        if self.mode == "closing":
            again = ("opening", 1, lambda z: above(z, r.set_pressure))
            return [("shut", -1, lambda z: z[self.n]), again]
        return []

    def _opens(self):
        if self.relief.opening_time and (self.relief.pops or self.relief.kind == "disk"):
            return "opening"
        if self.relief.kind == "disk":
            return "burst"
        return "open" if self.relief.pops else "throttling"

    def _shuts(self):
        return "closing" if self.relief.opening_time else "shut"

    def marks(self):
        """Pressures whose first crossing upwards is timed: name and function of z."""
        found = [(LIMIT, self.case.limit_pressure * (1.0 + self.rounding))]
        if self.case.timed_set is not None:
            found.append((SET, self.case.timed_set))
        return [(name, lambda z, p=p: self._pressure(z) - p) for name, p in found]


def _event(function, direction, terminal):
    def event(t, z):
        return function(z.tolist())

    event.direction, event.terminal = direction, terminal
    return event


def follow(case, time, steps=300, most_cycles=MOST_CYCLES, rtol=1e-8, stop_at_limit=False):
    """The pressure of a vessel against time, from the start of a cause.

    Parameters: case, a `Case`; time, how long [s]; steps, points in the result, shared out over its
    pieces; most_cycles after which it is told as cycling on; rtol of the integrator; stop_at_limit
    True to end there. Returns `Course`. Raises InputError for a time not above 0 or a failed
    integration. Validity: as the contents, the source and the device say; a uniform vessel. Source:
    balances of mass and energy.
    >>> from relieflib.pressure_in_time.contents import IdealGas
    >>> from relieflib.pressure_in_time.sources import closed_outlet
    >>> gas = IdealGas(12.0, 10e5, 393.15, molar_mass=10.51, k=1.245, isothermal=True)
    >>> course = follow(Case(gas, closed_outlet(2.0, 393.15), limit_pressure=19e5), 60.0)
    >>> round(course.time_to_limit, 3)  # by hand: 9e5 / (8314.46 * 393.15 * 2/(10.51 * 12))
    17.362
    """
    end, rtol = one_number(time=positive(time=time), rtol=positive(rtol=rtol))
    refuse(end < SHORTEST, "time", end, f"must be {SHORTEST} s or more")
    check_points(steps)
    check_points(most_cycles, 1)
    run, pieces, firsts, opened = _Run(case, rtol), [], {}, []
    z = [*case.contents.start, 0.0, 0.0, 0.0, 0.0, 0.0]
    atol, t, ended = _tolerances(case, z, rtol), 0.0, "time"
    run.mode = _started(run, z, firsts, opened)
    while t < end and ended == "time":
        if run.relief is not None and run.relief.chatters and run.mode not in ("shut", "none"):
            ended = CHATTER
            break
        found, ended, following = _piece(run, t, z, end, rtol, atol, firsts, stop_at_limit)
        pieces.append((run.mode, run.after_switch, found))
        t, z = float(found.t[-1]), found.y[:, -1].tolist()
        z[run.n] = min(max(z[run.n], 0.0), 1.0)
        if following == "switch":
            run.after_switch = True
        elif following is not None:
            if following in ("open", "opening", "burst", "throttling") and run.mode == "shut":
                opened.append(t)
            run.mode = following
            z[run.n] = _STILL.get(following, z[run.n])
        if len(opened) > most_cycles:
            ended = CYCLING
    if run.mode == "lagging" and SET in firsts:
        opened.append(firsts[SET])
    return _course(run, pieces, z, t, firsts, opened, ended, steps, end)


def _started(run, z, firsts, opened):
    """What the device does at the start, where the vessel may stand above set already."""
    for name, over in run.marks():
        if over(z) >= 0:
            firsts[name] = 0.0
    if run.mode == "shut" and firsts.get(SET) == 0.0:
        opened.append(0.0)
        mode = run._opens()
        z[run.n] = _STILL.get(mode, 0.0)
        return mode
    return run.mode


def _tolerances(case, z, rtol):
    size = [max(abs(x), 1e-12) for x in case.contents.start]
    energy = abs(case.contents.energy(case.contents.start))
    mass = case.contents.look(case.contents.start).mass
    energy = max(energy, mass * 1e3)  # guard: an energy whose zero happens to be there
    return 1e-2 * rtol * np.array([*size, 1.0, mass, mass, energy, energy])


def _piece(run, t, z, end, rtol, atol, firsts, stop_at_limit):
    """Integrate up to the next event: the solution, why the run ends, what the device does next."""
    turns, ends = run.turns(), run.contents.ends()
    if stop_at_limit:
        ends = [*ends, (AT_LIMIT, lambda s: run.case.limit_pressure - run._pressure(s))]
    marks = [(n, f) for n, f in run.marks() if n not in firsts]
    events = [_event(f, way, True) for _, way, f in turns]
    events += [_event(lambda z, f=f: f(z[: run.n]), -1, True) for _, f in ends]
    events += [_event(f, 1, False) for _, f in marks]
    switch = run.source.switch_time
    until = switch if switch is not None and not run.after_switch and switch < end else end
    found = _integrated(run, (t, until), z, rtol, atol, events)
    if not found.success:
        raise InputError(f"case: the integration failed: {found.message}")
    hits = [float(e[0]) if len(e) else None for e in found.t_events]
    for (name, _), hit in zip(marks, hits[len(turns) + len(ends) :]):
        if hit is not None:
            firsts.setdefault(name, hit)
    for (mode, _, _), hit in zip(turns, hits):
        if hit is not None:
            if run.mode == "shut":
                firsts.setdefault(SET, hit)
            return found, "time", mode
    for (words, _), hit in zip(ends, hits[len(turns) :]):
        if hit is not None:
            if words == AT_LIMIT:
                firsts.setdefault(LIMIT, hit)
            return found, words, None
    return found, "time", "switch" if until < end else None


def _integrated(run, span, z, rtol, atol, events):
    """The solution of a piece, by a second method where the first one loses sight of an event."""
    from scipy.integrate import solve_ivp

    own = _METHODS.get(run.mode, "LSODA")
    given = dict(rtol=rtol, atol=atol, events=events, dense_output=True)
    try:
        return solve_ivp(run.rates, span, np.array(z), method=own, **given)
    except ValueError as error:  # a root seen at the end of a step and not on its polynomial
        if "different signs" not in str(error):
            raise
        other = "Radau" if own == "LSODA" else "LSODA"
        return solve_ivp(run.rates, span, np.array(z), method=other, **given)


def _course(run, pieces, z, t, firsts, opened, ended, steps, end):
    times, states, modes = _sampled(pieces, z, t, steps)
    rows = []
    for moment, state, (mode, switched) in zip(times, states, modes):
        run.mode, run.after_switch = mode, switched
        now, flow, y = run.point(moment, state)
        rows.append((now.pressure, now.temperature, now.mass, y, flow.outflow, flow.inflow,
                     flow.liquid_inflow, flow.heat, now.liquid))  # fmt: skip
    arrays = [np.array(times), *np.array(rows).T]
    if np.isnan(arrays).any():
        raise InputError("source: it brings NaN, which no run in time can follow")
    peak, peak_time = _peak(run, pieces, arrays)
    mass_balance, energy_balance = _balances(run, z)
    late = _late(run, pieces, t)
    steady = _steady(arrays, late, modes, ended, opened)
    period = opened[-1] - opened[-2] if len(opened) > 1 else nan
    found = dict(
        time_to_set=firsts.get(SET, inf), time_to_limit=firsts.get(LIMIT, inf), peak=peak,
        peak_time=peak_time, steady_pressure=steady, cycles=len(opened), period=period,
        mass_lost=z[run.n + 2], mass_balance=mass_balance, energy_balance=energy_balance,
        ended=ended,
    )  # fmt: skip
    rising = np.isnan(steady) and len(opened) < 2 and late.size > 1 and late[-1] > late[0]
    words = _verdict(run.case, found | {"rising": bool(rising)}, end if ended == "time" else t)
    return Course(*arrays, **found, verdict=words)


def _sampled(pieces, z, t, steps):
    """Times, states and modes: each piece at its ends and between, in its share of the points."""
    if not pieces:
        return [t], [z], [("shut", False)]
    whole = max(t, 1e-300)
    times, states, modes = [], [], []
    for mode, switched, found in pieces:
        a, b = found.t[0], found.t[-1]
        n = max(int(round(steps * (b - a) / whole)), 3 if len(pieces) > 20 else 8)
        moments = np.linspace(a, b, n)
        if mode in ("open", "burst", "opening", "throttling") and b > a:  # what comes first is fast
            moments = np.unique(np.concatenate([moments, found.t[:8]]))
        times += moments.tolist()
        states += found.sol(moments).T.tolist()
        modes += [(mode, switched)] * len(moments)
    return times, states, modes


def _peak(run, pieces, arrays):
    """Highest pressure and its moment, between the integrator's steps too."""
    if not pieces:
        return float(arrays[1][0]), float(arrays[0][0])
    tops = []
    for piece in pieces:
        P = [run._pressure(z) for z in piece[2].y.T.tolist()]
        i = int(np.argmax(P))
        tops.append((P[i], i, piece[2]))
    tops.sort(key=lambda top: -top[0])
    return max(_refined(run, *top) for top in tops[:_PEAKS])


def _refined(run, P, i, found):
    """Pressure and moment of a piece's highest point, found around its highest step."""
    from scipy.optimize import minimize_scalar

    t = found.t
    low, high = t[max(i - 1, 0)], t[min(i + 1, len(t) - 1)]
    if high <= low:
        return P, float(t[i])
    best = minimize_scalar(lambda t: -run._pressure(found.sol(t).tolist()), bounds=(low, high),
                           method="bounded", options={"xatol": 1e-6 * (high - low)})  # fmt: skip
    return max((P, float(t[i])), (-float(best.fun), float(best.x)))


def _balances(run, z):
    """Mass and energy that are not accounted for, as fractions of what was there and came."""
    contents, start = run.contents, run.contents.start
    came, left, power_in, power_out = z[run.n + 1 : run.n + 5]
    first, last = contents.look(start).mass, contents.look(z[: run.n]).mass
    mass = (last - first - came + left) / (first + came)
    change = contents.energy(z[: run.n]) - contents.energy(start)
    scale = max(abs(power_in), abs(power_out), abs(change), 1e-12)
    return mass, (change - power_in + power_out) / scale


def _late(run, pieces, t):
    """Pressures in the last tenth of a run, however few points its result has."""
    found = []
    for *switches, piece in pieces:
        run.mode, run.after_switch = switches
        begins = max(float(piece.t[0]), t - t / 10.0)
        if begins < piece.t[-1]:
            moments = np.linspace(begins, float(piece.t[-1]), 6)
            found += [run._pressure(z) for z in piece.sol(moments).T.tolist()]
    return np.array(found)


def _steady(arrays, late, modes, ended, opened):
    """Pressure that it has settled at; NaN where it still moves or cycles."""
    t, P = arrays[0], arrays[1]
    still = ("open", "throttling", "lagging", "none", "burst")
    if ended != "time" or (opened and modes[-1][0] not in still):
        return nan
    if late.size == 0 or opened and 10 * opened[-1] > 9 * t[-1]:
        return nan
    moved = np.ptp(late)  # against the pressure, and against what moved in the whole run
    if moved > _STEADY * P[-1] or moved > _DECAYED * np.ptp(P):
        return nan
    return float(P[-1])


def _verdict(case, found, end):
    """The run in words."""
    words = [_reached(case, found, end)]
    if found["ended"] == CHATTER:
        words.append(f"{CHATTER}: the inlet line takes the whole blowdown, so that the valve shuts "
                     "as soon as it flows")  # fmt: skip
    elif found["cycles"] and not isnan(found["steady_pressure"]):
        words.append("the device stays open" if case.relief.pops or case.relief.kind == "disk"
                     else "the device holds")  # fmt: skip
    elif found["cycles"] > 1:
        fast = found["period"] < _FAST
        words.append(f"it opens and shuts, {60.0 / found['period']:.3g} times a minute"
                     + (": faster than once a second, which wears it out and which this model "
                        "without inertia and waves cannot draw" if fast else ""))  # fmt: skip
    if found["time_to_limit"] < inf:
        words.append("the LIMIT is passed")
    elif found["cycles"] and found["ended"] in ("time", CYCLING):
        words.append("the limit is held in this run"
                     + (", but the pressure still rises" if found["rising"] else ""))  # fmt: skip
    elif found["cycles"] and found["ended"] != CHATTER:
        words.append("the limit is not passed up to there")
    if found["ended"] not in ("time", CHATTER, CYCLING):
        words.append(f"the run ends: {found['ended']}")
    return "; ".join(words)


def _reached(case, found, end):
    if case.timed_set is None:
        return "no set pressure to reach"
    if found["time_to_set"] < inf:
        return f"set is reached after {found['time_to_set']:.4g} s"
    how = "never reached" if not isnan(found["steady_pressure"]) else "not reached"
    return f"set is {how} in {end:.4g} s"


def process_safety_time(case, trip_pressure=None, longest=86_400.0):
    """Time that a trip has: from its pressure to the limit, with no relief device at work.

    Parameters: case, a `Case`, whose device is left out; trip_pressure at which the trip acts [Pa
    absolute], None to count from the start of the cause; longest time that is followed [s]. Returns
    s. Infinite ONLY where the pressure has come to rest below the limit; where the run ends before
    the limit, by its contents (full of liquid, boiled dry, near critical) or by longest, the time
    up to there: it is at least that, and what follows is not known. NaN where the trip's pressure
    is not reached by then. Raises InputError for a trip pressure below the start or not below the
    limit. A trip whose valve should stay shut takes the device's set as the limit:
    `replace(case, limit_pressure=case.relief.set_pressure)`. Validity: as `follow`; how much of it
    a trip may use (half is a usual rule) is for who judges the trip.
    Source: definition; IEC 61511-1 (from memory).
    >>> from relieflib.pressure_in_time.contents import IdealGas
    >>> from relieflib.pressure_in_time.sources import closed_outlet
    >>> gas = IdealGas(12.0, 10e5, 393.15, molar_mass=10.51, k=1.245)
    >>> case = Case(gas, closed_outlet(2.0, 393.15), limit_pressure=21e5)
    >>> round(process_safety_time(case, trip_pressure=12e5), 3)  # 9 bar at 0.64537 bar/s
    13.946
    """
    bare = replace(case, relief=None, set_pressure=trip_pressure)
    if trip_pressure is not None:
        P = one_number(trip_pressure=positive(trip_pressure=trip_pressure))
        refuse(P < case.contents.pressure, "trip_pressure", P, "is below the start")
        refuse(P >= case.limit_pressure, "trip_pressure", P, "must be below the limit")
    course = follow(bare, longest, stop_at_limit=True)
    late = course.pressure[10 * course.time >= 9 * course.time[-1]]
    left = case.limit_pressure - course.pressure[-1]
    if not isnan(course.steady_pressure) and left > _AT_REST * np.ptp(late):
        return inf
    begins = 0.0 if trip_pressure is None else course.time_to_set
    ends = min(course.time_to_limit, float(course.time[-1]))
    return ends - begins if begins < inf else nan
