"""What is relieved together in a plant: failures of power and air, single causes, fire zones.

An event gives every valve one load: `power_and_air_failure`. Rests on judgement, and says so: air
that is stored lasts for a while, so that a failure of power comes once with it and once without.
"""

import itertools

from relieflib.causes import power_and_air_failure as power
from relieflib.errors import InputError

STORED = ", air still stored"
FAILURES = ("power failure", "instrument-air failure")


def failures(plant):
    """Words of what fails in every event, air stored and air used up told apart.

    Parameters: plant. Returns {event: frozenset of words as `power_and_air_failure.effects`}. The
    loss of air as a utility is the plant-wide event, and stands there once; an event that stops
    nothing of this plant is left out. Source: API 521 5th edition, 5.10 and 5.18.
    """
    air, found = power.effects(plant, power.Event("air plant-wide")), {}
    for event in power.events(plant):
        lost = _effects(plant, event)
        if event.target == "instrument_air" or not lost:
            continue
        if event.kind in ("bus", "site") and air <= lost:
            found[f"{event}{STORED}"] = lost - air
        found[str(event)] = lost
    return found


def _effects(plant, event):
    try:
        return power.effects(plant, event)
    except InputError:
        return frozenset()


def cause_of(event):
    """Cause of the published list that an event's words, as of `failures`, stand for.

    Parameters: event in words. Returns str. Source: API 521, 4.4.
    >>> cause_of("bus A, air still stored"), cause_of("air plant-wide")
    ('power failure', 'instrument-air failure')
    """
    if event.startswith("utility"):
        return "loss of cooling or reflux"
    return "instrument-air failure" if event.startswith("air") else "power failure"


def consequences(valve, load, case):
    """What failures bring a case, as `power_and_air_failure.Consequence`, one a choice of words.

    Parameters: valve, tag; load, `ReliefLoad`; case, whose when may say 'P-1 stopped or FV-1
    closed'. Returns a list. Source: the case.
    """
    choices = itertools.product(*(words.split(" or ") for words in case.when))
    return [power.Consequence(valve, load, when, case.unless) for when in choices]


def brought(plant, case):
    """Causes of the published list whose failures bring a case; empty for one that stands alone.

    Parameters: plant; case. Returns set of str. Source: as `cause_of`.
    """
    rules = consequences("", None, case) if case.when else []
    return {cause_of(event) for event, lost in failures(plant).items()
            if any(rule.holds(lost) for rule in rules)}  # fmt: skip


def loads_of(plant, rules, header=None):
    """Loads of the valves that lift into one header, event by event.

    Parameters: plant; rules, list of `power_and_air_failure.Consequence`; header, its tag, None for
    all. Returns {event: {valve: `ReliefLoad`}}; an event in which none lifts has an empty dict.
    Raises InputError as `power_and_air_failure.loads_by_event`. Source: the same.
    """
    ours = [c for c in rules if header in (None, plant[c.valve].destination)]
    return power.loads_by_event(failures(plant), ours)


def rungs(event_loads, valves):
    """Rungs of a ladder that failures of power and air bring: of each cause the largest area.

    Parameters: event_loads, as `loads_of` gives; valves, tags of what protects the item. Returns
    {cause and event in words: `ReliefLoad`}. Source: API 521 (2020), 4.1.
    """
    worst = {}
    for event, found in event_loads.items():
        for load in (found[v] for v in valves if v in found):
            cause, area = cause_of(event), power.rough_area(load)
            if area > worst.get(cause, (0.0,))[0]:
                worst[cause] = area, f"{cause}, {event}", load
    return {words: load for _, words, load in worst.values()}


def releases(plant, own, event_loads, published):
    """Everything that is relieved together, event by event.

    Each failure of power and air, each cause of one item alone, each event that the plant's file
    names, and each of its fire zones, whose items all relieve: the worst fire load of each, and
    once more for every lesser one.
    Parameters: plant; own, {item: {cause in words: `ReliefLoad`}}; event_loads, as `loads_of`
    gives; published, a function of (item, words) that gives the cause of the published list.
    Returns {event in words: {valve: `ReliefLoad`}}. Source: API 521 (2020), 4.4.13 for fire zones.
    """
    found, fires = dict(event_loads), {}
    for tag, loads in own.items():
        for words, load in loads.items():
            if load.fire:
                fires.setdefault(tag, {})[words] = load
            elif published(tag, words) not in FAILURES:  # they are events of power and air
                for device in _lifting(plant, tag):
                    found[f"{tag}: {words}"] = {device.tag: load}
    for zone in plant.fire_zones.values():
        found |= _fires(plant, zone, {tag: fires[tag] for tag in zone.items if tag in fires})
    found |= _named(plant, own)
    return {event: lift for event, lift in found.items() if lift}


def _named(plant, own):
    """Events that the file itself names: each device with the load that needs most area."""
    worst = {}
    for tag, loads in own.items():
        for device in _lifting(plant, tag) if loads else ():
            worst[device.tag] = max(loads.values(), key=power.rough_area)
    return {
        event.tag: {tag: worst[tag] for tag in event.lift if tag in worst}
        for event in plant.events.values()
    }


def _lifting(plant, tag):
    """Relief valves and disks of an item: a tank's vents lead into no header."""
    return [device for device in plant.protecting(tag) if device.section != "tank_vents"]


def _fires(plant, zone, fires):
    """Events of one fire zone: all worst loads together, and each lesser one in its turn."""
    worst = {tag: max(of, key=lambda words: of[words].mass_flow) for tag, of in fires.items()}
    picks = [("", worst)] + [
        (f", {tag}: {words}", worst | {tag: words})
        for tag, of in fires.items() for words in of if words != worst[tag]
    ]  # fmt: skip
    return {
        f"fire in zone {zone.tag}{more}": {
            device.tag: fires[tag][words]
            for tag, words in pick.items() for device in _lifting(plant, tag)
        }
        for more, pick in picks
    }  # fmt: skip
