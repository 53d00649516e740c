"""A trip against a cause, as the safeguard matrix asks; and trips that fail on one header.

A trip that covers changes how often the load comes. The load, the valve and the header stay as
they are.
"""

from dataclasses import KW_ONLY, dataclass, field
from itertools import product
from math import comb

import numpy as np

from relieflib import rules
from relieflib.errors import InputError, not_negative, one_number, refuse, result
from relieflib.protection.gates import Gate, Parts, independent
from relieflib.protection.response import Response, in_time
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN, WORST_FIRST, Reason, Reasoned
from relieflib.sizing import ReliefLoad
from relieflib.texts import clean

LOAD_STAYS = "the load stays as it is: a trip changes how often, not how much"
MOST_TRIPS = 16  # guard: every way in which they can fail is counted


@dataclass(frozen=True)
class Trip:
    """A trip as the safeguard matrix sees it: what is known of it, per cause in words.

    tag, protects; acts_on, causes that it stops; parts it rests on; response, a `Response`;
    safety_times, {cause: s}; causes, {cause: `Parts` of what brings it about}; demand_failure, its
    PFD; wanted, {cause: PFD that the company's target asks for}; code, the `Gate` of what it would
    stand in place of, whose scenarios name the causes; time_share [-] of the process safety time
    that it may use. What is not given is not known. Raises InputError for impossible values.
    """

    tag: str
    protects: str = ""
    _: KW_ONLY
    acts_on: tuple = ()
    parts: Parts = field(default_factory=Parts)
    response: Response | None = None
    safety_times: dict = field(default_factory=dict)
    causes: dict = field(default_factory=dict)
    demand_failure: float | None = None
    wanted: dict = field(default_factory=dict)
    code: Gate | None = None
    time_share: float = rules.RESPONSE_SHARE.value

    def __post_init__(self):
        if isinstance(self.acts_on, str):
            raise InputError("acts_on: a tuple of causes")
        for value in (self.demand_failure, *self.wanted.values()):
            if value is not None:
                p = not_negative(demand_failure=value)
                refuse(p > 1, "demand_failure", p, "must lie between 0 and 1")

    def judge(self, cause, load):
        """`Cover` of a cause in words, with the load that it leaves as it is."""
        return judge(self, cause, load)

    @property
    def arrangement(self):
        """What stands under its tag."""
        return "trip"


@dataclass(frozen=True)
class Cover(Reasoned):
    """Judgement on a trip against one cause: trip, load untouched, reasons, verdict in words."""

    trip: Trip
    load: ReliefLoad = field(repr=False)
    reasons: tuple
    note: str = LOAD_STAYS

    @property
    def judged(self):
        """What the judgement is on."""
        return self.trip

    @property
    def verdict(self):
        """The worst verdict of the reasons."""
        return next(v for v in WORST_FIRST if any(r.verdict == v for r in self.reasons))

    @property
    def cell(self):
        """Verdict and what stands against it, in one line."""
        against = [r.subject for r in self.why_not if r.verdict == self.verdict]
        tail = f" ({', '.join(against)})" if against else ", load as before"
        return self.verdict + tail

    def __str__(self):
        lines = [f"{self.trip.tag}: {self.cell}", *(f"  {r}" for r in self.reasons)]
        return clean("\n".join([*lines, f"  {self.note}"]))


def judge(trip, cause, load):
    """Does a trip cover a cause: acts on it, in time, independent, dependable, and by the code.

    Parameters: trip, a `Trip`; cause in words; load, `ReliefLoad` of it, handed on untouched.
    Returns `Cover`. Raises InputError for something else. Source: CCPS, LOPA (2001), ch. 6;
    IEC 61511-1 (2016), from memory.
    >>> from relieflib.nozzle.gas import Gas
    >>> load = ReliefLoad("control_valve_opens", 4.7, Gas(12.1e5, 320.0, molar_mass=29.0, k=1.4))
    >>> judge(Trip("PZT-1"), "control valve opens", load).cell
    'does not cover (action)'
    """
    if not isinstance(trip, Trip):
        raise InputError(f"trip = {trip!r}: must be a Trip")
    if not isinstance(load, ReliefLoad):
        raise InputError(f"load = {load!r}: must be a ReliefLoad")
    if cause not in trip.acts_on:
        acts = ", ".join(trip.acts_on) or "nothing given"
        reason = Reason("action", FAILS, (f"does not act on it; it acts on {acts}",))
        return Cover(trip, load, (reason,))
    reasons = (
        Reason("action", COVERS, ("stops what brings the cause about",)),
        in_time(trip.response, trip.safety_times.get(cause), trip.time_share),
        independent(trip.parts, trip.causes.get(cause, Parts())),
        _dependable(trip.demand_failure, trip.wanted.get(cause)),
        _by_code(trip.code, cause),
    )
    return Cover(trip, load, reasons)


def beside(trip, cause, load):
    """Verdict on a trip as a layer beside a valve: acts on the cause, in time, shares nothing.

    Neither its PFD nor the code is asked: the first is in the arithmetic, the second is for a trip
    in place of a device. Parameters: trip, cause and load as `judge`. Returns the verdict. Raises
    InputError, source: as `judge`.
    """
    found = judge(trip, cause, load).reasons
    asked = [r.verdict for r in found if r.subject in ("action", "time", "independence")]
    return next(v for v in WORST_FIRST if v in asked)


def _dependable(p, wanted):
    if p is None or wanted is None or np.isnan([p, wanted]).any():
        words = "its PFD, or the PFD that the company's target asks for, is not given"
        return Reason("reliability", UNKNOWN, (words,))
    words = f"PFD {p:.3g}, wanted {wanted:.3g} or less"
    most, least = rules.LAYER_AT_MOST, rules.TRIP_AT_LEAST
    if p > most.value * (1 + 1e-9):
        words += f"; above {most.number} it is not dependable enough to be a layer"
        return Reason("reliability", FAILS, (words,), most.source)
    if p < least.value * (1 - 1e-9):
        words += f"; below {least.number} one trip is not believed to be"
        verdict = UNKNOWN if p <= wanted else FAILS
        return Reason("reliability", verdict, (words,), least.source)
    return Reason("reliability", COVERS if p <= wanted * (1 + 1e-9) else FAILS, (words,))


def _by_code(gate, cause):
    if gate is None:
        words = "what code and jurisdiction ask of a trip in place of a device is not answered"
        return Reason("code", UNKNOWN, (words,))
    verdict, words = gate.verdict_on(cause)
    return Reason("code", verdict, (words,), "ASME BPVC XIII Part 13, from memory")


# ------------------------------------------------------------------ several on one header
def failing_together(trips, demand_failure, common_cause=0.0):
    """Probability that 0, 1, ... all of so many like trips fail at one demand.

    Parameters: trips, their number, 1 to 16; demand_failure of each [-]; common_cause, part of it
    that strikes all at once [-]. Returns an array of trips + 1. Raises InputError for impossible
    values. Validity: like trips; otherwise `header_load`. Source: binomial, with a common cause.
    >>> [round(float(p), 4) for p in failing_together(2, 0.1)]
    [0.81, 0.18, 0.01]
    """
    n = _whole("trips", trips)
    p = one_number(demand_failure=demand_failure)
    p, b = _parts(p, one_number(common_cause=common_cause))
    common = b * p
    alone = 1.0 if common == 1 else (p - common) / (1 - common)  # so that each still fails with p
    found = np.array([comb(n, k) * alone**k * (1 - alone) ** (n - k) for k in range(n + 1)])
    found = found * (1 - common)
    found[n] += common
    return found


def _whole(name, value):
    if type(value) is not int or not 1 <= value <= MOST_TRIPS:
        raise InputError(f"{name} = {value!r}: a whole number, 1 to {MOST_TRIPS}")
    return value


def _parts(demand_failure, common_cause):
    p, b = not_negative(demand_failure=demand_failure), not_negative(common_cause=common_cause)
    refuse(p > 1, "demand_failure", p, "must lie between 0 and 1")
    refuse(b > 1, "common_cause", b, "must lie between 0 and 1")
    return p, b


def header_load(mass_flow, demand_failure, common_cause=0.0):
    """What comes down a header, with which probability, when each load has a trip of its own.

    Parameters: mass_flow, {valve: load [kg/s]} of one event; demand_failure, {valve: PFD of the
    trip that would keep it shut}, a valve without one left out; common_cause [-], part of the
    lowest PFD that strikes all at once. Returns a list of (kg/s, probability, valves that lift),
    the largest first: that is the load for which header and valves stay sized. Raises InputError
    for no valve, a trip of a valve that has no load, a PFD of 0, more than 16. Source: every way
    they can fail.
    >>> [(w, round(p, 4)) for w, p, _ in header_load({"A": 3.0, "B": 1.0}, {"A": 0.1})]
    [(4.0, 0.1), (1.0, 0.9)]
    """
    _whole("number of loads", len(mass_flow))
    refuse(0.0 in demand_failure.values(), "demand_failure", 0.0, "is none: nothing never fails")
    if set(demand_failure) - set(mass_flow):
        raise InputError("demand_failure: a trip of a valve that has no load in this event")
    for value in mass_flow.values():
        refuse(not np.isfinite(not_negative(mass_flow=value)), "mass_flow", value, "must be finite")
    p = {v: float(_parts(x, common_cause)[0]) for v, x in demand_failure.items()}
    common = float(common_cause) * min(p.values(), default=0.0)
    alone = {v: (x - common) / (1 - common) if common < 1 else 1.0 for v, x in p.items()}
    found = {}
    for fails in product((True, False), repeat=len(alone)):
        chance = np.prod([alone[v] if f else 1 - alone[v] for v, f in zip(alone, fails)])
        chance = (1 - common) * chance + (common if all(fails) else 0.0)
        lifts = tuple(v for v in mass_flow if v not in alone or fails[list(alone).index(v)])
        found[lifts] = found.get(lifts, 0.0) + float(chance)
    rows = [(float(sum(mass_flow[v] for v in lift)), p, lift) for lift, p in found.items()]
    return sorted(rows, key=lambda row: (-row[0], row[2]))


def exceeded(mass_flow, demand_failure, most, common_cause=0.0):
    """Probability that more than so much comes down the header.

    Parameters: mass_flow, demand_failure, common_cause as `header_load`; most, a load in kg/s.
    Returns it. Raises InputError as that. Source: as that.
    >>> round(exceeded({"A": 3.0, "B": 1.0}, {"A": 0.1, "B": 0.1}, 2.0), 4)
    0.1
    """
    rows = header_load(mass_flow, demand_failure, common_cause)
    limit = float(not_negative(mass_flow=most))
    return result(sum(p for load, p, _ in rows if load > limit) + 0.0 * limit)  # NaN stays NaN
