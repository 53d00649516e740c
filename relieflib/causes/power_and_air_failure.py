"""Failure of electric power or instrument air: what stops together, and which valves lift together.

Power fails at one motor, one bus or the whole site; air at one valve or plant-wide, and every
valve then goes to its spring position. A valve that stays in place drifts: both positions count. A
spring position is no safeguard against the valve's own failure the other way. A spare counts only
if it runs already, or is proved to start in time. What the disposal system must take is the
largest sum of ONE event, not the sum of each valve's worst. Source: API 521 (2020), 4.4.8 for air
and 5.3 (5th edition 5.10, 5.18; read and from memory).
"""

import warnings
from dataclasses import dataclass, field, replace

from relieflib.errors import InputError, ValidityWarning, not_negative
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 17
PUBLISHED = {"power failure": ("", "5.18"), "instrument-air failure": ("4.4.8", "5.10")}

SOURCE = "API 521 5th edition (2007), 5.10 and 5.18; 7th (2020), 4.4.8 for air"
CAUSE = "power_and_air_failure"
EVENTS = ("motor", "bus", "site", "air at one valve", "air plant-wide", "utility")
_ELECTRIC = "steam"  # what runs on this 'bus' needs no power


@dataclass(frozen=True)
class Event:
    """One failure: kind of `EVENTS`, and its target (tag, bus or utility; none for the widest).

    Raises InputError for another kind, or a target that is missing or of no use.
    """

    kind: str
    target: str | None = None

    def __post_init__(self):
        if self.kind not in EVENTS:
            raise InputError(f"event '{self.kind}': use one of {', '.join(EVENTS)}")
        if (self.target is None) != (self.kind in ("site", "air plant-wide")):
            raise InputError(f"event '{self.kind}': a target belongs to motor, bus, valve, utility")

    def __str__(self):
        return f"{self.kind} {self.target or ''}".strip().replace("_", " ")


@dataclass(frozen=True)
class Consequence:
    """A relief load that arises when all words of `when` have failed and none of `unless`.

    valve, tag of the relief valve; load, `ReliefLoad` of the cause; when, unless, words as
    `effects` gives them, such as 'P-102 stopped' or 'FV-103 closed'.
    """

    valve: str
    load: ReliefLoad
    when: tuple
    unless: tuple = field(default=())

    def holds(self, lost):
        """True where these failures bring the load; lost, a set of words."""
        return set(self.when) <= set(lost) and not set(self.unless) & set(lost)


def events(plant):
    """Every single failure of power and air that a plant's list of items brings.

    Parameters: plant, a `plant.Plant`. Returns list of `Event`: each motor, each bus, the site,
    air at each control valve, air plant-wide, each utility. Source: API 521 5th ed., 5.10, 5.18.
    >>> from relieflib.plant import load_plant
    >>> [str(e) for e in events(load_plant()) if e.kind in ("bus", "site")]
    ['bus A', 'bus B', 'site']
    """
    motors = [Event("motor", p.tag) for p in plant.of("pumps")]
    buses = [Event("bus", b) for b in sorted(_buses(plant))]
    valves = [Event("air at one valve", v.tag) for v in plant.of("control_valves")]
    utilities = [Event("utility", u.tag) for u in plant.of("utilities")]
    return [*motors, *buses, Event("site"), *valves, Event("air plant-wide"), *utilities]


def _buses(plant):
    named = [getattr(i, "bus", None) for i in (*plant.items.values(), *plant.utilities.values())]
    named += [getattr(i, "agitator_bus", None) for i in plant.items.values()]
    return {bus for bus in named if bus is not None and bus != _ELECTRIC}


def effects(plant, event):
    """What fails in one event: motors, agitators, utilities, and where control valves go.

    Parameters: plant; event. Returns a frozenset of words: 'P-102 stopped', 'R-101 agitator
    stopped', 'cooling_water lost', 'TV-102 open'. A valve that fails in place gives both 'open' and
    'closed'. Raises InputError for a target that the plant doesn't have. Validity: air stored in
    the receiver used up. Source: API 521 5th edition, 5.10 and 5.18.
    >>> from relieflib.plant import load_plant
    >>> sorted(effects(load_plant(), Event("bus", "B")))
    ['P-102 stopped', 'R-101 agitator stopped']
    """
    dead = _dead_buses(plant, event)
    words = set()
    for item in plant.items.values():
        if getattr(item, "bus", None) in dead or (event.kind, event.target) == ("motor", item.tag):
            words.add(f"{item.tag} stopped")
        if getattr(item, "agitator_bus", None) in dead:
            words.add(f"{item.tag} agitator stopped")
    gone = {u.tag for u in plant.utilities.values() if getattr(u, "bus", None) in dead}
    gone |= {event.target} if event.kind == "utility" else set()
    gone |= {"instrument_air"} if event.kind == "air plant-wide" else set()
    words |= {f"{name} lost" for name in gone}
    for valve in plant.of("control_valves"):
        here = event.kind == "air at one valve" and event.target == valve.tag
        if here or "instrument_air" in gone:
            words |= _spring(valve)
    if not words:
        raise InputError(f"event '{event}': the plant has no such target")
    return frozenset(words)


def _dead_buses(plant, event):
    if event.kind == "site":
        return _buses(plant)
    return {event.target} if event.kind == "bus" else set()


def _spring(valve):
    if valve.fails in ("open", "closed"):
        return {f"{valve.tag} {valve.fails}"}
    return {f"{valve.tag} open", f"{valve.tag} closed"}


def relief_load(valve, lost, consequences):
    """Load of one relief valve in one event: the consequence that needs the largest area.

    Parameters: valve, tag; lost, words as `effects` gives them; consequences, list of
    `Consequence`. Returns `ReliefLoad`, None where the valve doesn't lift. Validity: loads of one
    valve in one event do not add; where they do, give their sum as a consequence.
    Source: API 521 5th edition, 5.10 and 5.18: the cause that follows from the failure.
    >>> from relieflib.nozzle.gas import Gas
    >>> c = Consequence("PSV-1", ReliefLoad("x", 2.0, Gas(20e5, 330.0, molar_mass=44.1, k=1.1)),
    ...                 ("A lost",))
    >>> relief_load("PSV-1", {"A lost"}, [c]).mass_flow, relief_load("PSV-1", {"B lost"}, [c])
    (2.0, None)
    """
    found = [c.load for c in consequences if c.valve == valve and c.holds(lost)]
    if not found:
        return None
    load = max(found, key=rough_area)
    line = step("mass_flow", load.mass_flow, "W_ev", f"{SOURCE}: as {load.cause.replace('_', ' ')}",
                event_load=load.mass_flow)  # fmt: skip
    return replace(load, cause=CAUSE, working=Working([*load.working, line]))


def rough_area(load):
    """Area that a load needs but for the factors of its device, to compare loads of one valve.

    Parameters: load, `ReliefLoad`. Returns m2: its flow over the mass flux into a vacuum; a liquid
    counts there as one that does not flash. Source: area = W/(Kd Kb Kc G).
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ValidityWarning)
        return load.mass_flow / load.stream.mass_flux(0.0)


def loads_by_event(failures, consequences):
    """Which valves lift together, and what each passes, in every event.

    Parameters: failures, {event in words: words of what fails, as `effects`}; consequences, list of
    `Consequence`. Returns {event: {valve: `ReliefLoad`}}; an event in which none lifts has an empty
    dict. Raises InputError for a consequence whose words no event gives. Source: as `effects`.
    """
    said = set().union(*failures.values())
    for c in consequences:
        unknown = {*c.when, *c.unless} - said
        if unknown:
            raise InputError(f"consequence of {c.valve}: '{min(unknown)}' never fails here")
    valves, table = sorted({c.valve for c in consequences}), {}
    for event, lost in failures.items():
        found = {v: relief_load(v, lost, consequences) for v in valves}
        table[event] = {v: load for v, load in found.items() if load and load.mass_flow > 0}
    return table


@dataclass(frozen=True)
class DisposalLoad:
    """Load on a disposal system: flow of each event, the governing event, sum of valves' maxima."""

    by_event: dict
    governing: str
    mass_flow: float
    sum_of_maxima: float

    @property
    def working(self):
        """The governing sum as a `Working`."""
        return Working(
            [
                step(
                    "event_load",
                    self.mass_flow,
                    source=f"API 521 (2020), 5.3: largest sum of one event, {self.governing}",
                )
            ]
        )


def disposal_load(loads):
    """Load on a disposal system: the largest sum of one event over all valves.

    Parameters: loads, {event: {valve: kg/s}}. Returns `DisposalLoad`, with the sum of each valve's
    own maximum beside it for comparison. Raises InputError for no event or a negative flow.
    Source: API 521 (2020), 5.3: simultaneous releases of one event.
    >>> d = disposal_load({"power": {"A": 40.0, "B": 45.0}, "fire": {"A": 50.0}})
    >>> d.governing, d.mass_flow, d.sum_of_maxima
    ('power', 85.0, 95.0)
    """
    if not loads:
        raise InputError("loads: give at least one event")
    for flows in loads.values():
        not_negative(mass_flow=list(flows.values()))
    sums = {event: float(sum(flows.values())) for event, flows in loads.items()}
    worst = {}
    for flows in loads.values():
        for valve, flow in flows.items():
            worst[valve] = max(worst.get(valve, 0.0), flow)
    governing = max(sums, key=sums.get)
    return DisposalLoad(sums, governing, sums[governing], float(sum(worst.values())))
