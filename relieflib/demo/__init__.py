"""Causes of the demo plant's equipment side by side, each sized as its own notebook does.

The cases stand in the plant's file; `cases` sizes them as `loads_of` adds the failures of power and
air, `unsized` says of the rest why not; together they are the credible causes of
`relieflib.credible`, no more and no less. `events` holds those failures: the rungs of their causes
are taken from it, so that ladder, matrix and header hold the same loads. `single_releases` are the
loads of all ladders, valve by valve.
"""

from functools import lru_cache

from relieflib.demo import column, drums, events, exchanger, tank
from relieflib.demo.common import cases_in, of_file
from relieflib.errors import InputError
from relieflib.plant import load_plant
from relieflib.sizing import size
from relieflib.study import open_study
from relieflib.study.case import published_in
from relieflib.study.events import releases as together
from relieflib.study.recomputing import device_of as sized_on, seen_by

__all__ = ["column", "drums", "events", "exchanger", "tank"]  # beside what stands below
ITEMS = ("V-100", "V-101", "V-102", "V-104", "V-105", "C-101", "E-101", "R-101")
TANKS = ("T-101",)  # relieved by tank vents, as air


def cases(plant, tag):
    """Causes of one item, sized on the device it has.

    Parameters: plant, the demo `plant.Plant`; tag, one of `ITEMS` or `TANKS`. Returns {cause in
    words: `Sizing`}. Raises InputError for another tag. Source: as each cause's module.
    """
    return {
        words: size(load, *_device_and_back(plant, tag, words, load))
        for words, load in loads_of(plant, tag).items()
    }


def loads_of(plant, tag):
    """Loads of one item by cause in words: its own, and the worst event of power and of air.

    Parameters and errors as `cases`. Returns {cause in words: `ReliefLoad`}.
    """
    own = of_file(plant, _known(tag)) | (tank.round_trip(plant) if tag in TANKS else {})
    valves = {item.tag for item in plant.protecting(tag)}
    there = {stands_for(plant, tag, words) for words in own}
    rungs = events.rungs(plant, valves)
    return own | {words: x for words, x in rungs.items() if published_in(words) not in there}


def _case(plant, tag, words):
    return next((c for c in cases_in(plant) if (c.item, c.name) == (tag, words)), None)


def stands_for(plant, tag, words):
    """Cause of the published list that a rung of an item stands for: its case, or an event's words.

    Parameters: plant; tag; words of the rung. Returns str.
    """
    case = _case(plant, tag, words)
    return published_in(words) if case is None else case.published_cause


def _device_and_back(plant, tag, words, load):
    """As the case says; what no case says, on the valve against what this load finds behind it."""
    case = _case(plant, tag, words)
    if case is not None:
        return sized_on(case, plant, load)
    if tag in TANKS:
        return tank.seen_by(plant)
    return seen_by(plant, plant.protecting(tag)[0].tag, load)


def single_releases(plant, header="FH"):
    """Every load that one cause sends into a header through one valve.

    Parameters: plant; header, its tag. Returns {(item, cause in words): (valve, `ReliefLoad`)}.
    """
    found = {}
    for tag in ITEMS:
        for device in plant.protecting(tag):
            if device.destination == header:
                loads = loads_of(plant, tag).items()
                found |= {(tag, words): (device.tag, load) for words, load in loads}
    return found


def plant(path=None):
    """The demo plant with what is relieved together, so that its header is computed by event.

    Parameters: path as `plant.load_plant`. Returns a `Plant`; the events are worked out when they
    are first asked for.
    """
    found = load_plant(path)
    return found.with_releases(lambda: releases(found))


def study(path=None):
    """The demo plant as a study recomputed, with what its file does not hold as cases.

    Parameters: path as `plant.load_plant`. Returns `study.results.Results`.
    """
    opened = open_study(path)
    more = tank.round_trip(opened.plant)
    built = {words: size(load, *tank.seen_by(opened.plant)) for words, load in more.items()}
    return opened.recompute(built={TANKS[0]: built})


@lru_cache(maxsize=4)
def releases(plant):
    """Everything that is relieved together on the demo plant, event by event.

    Each failure of power and air (`events`), each cause of one item alone, and each fire zone of
    the plant's file, whose items all relieve: the worst fire load of each, and once more for every
    lesser one. Parameters: plant. Returns {event in words: {valve: `ReliefLoad`}}.
    """
    own = {tag: of_file(plant, tag) for tag in (*ITEMS, "P-101")}
    return together(plant, own, events.all_loads(plant), lambda *case: stands_for(plant, *case))


def unsized(tag):
    """Credible causes of one item that no area is given for, each with the reason, as the demo
    plant's file gives them.

    Parameters: tag, one of `ITEMS` or `TANKS`. Returns {cause of the published list: reason}.
    Raises InputError for another tag. Source: our judgement on an invented plant.
    >>> list(unsized("V-105"))
    ['accumulation of non-condensables', 'breathing and vacuum']
    """
    said = _demo_file().study["considered"].get(_known(tag), {})
    return {cause: words.partition(": ")[2] for cause, words in said.items()}


@lru_cache(maxsize=1)
def _demo_file():
    return load_plant()


def _known(tag):
    if tag not in (*ITEMS, *TANKS):
        raise InputError(f"tag '{tag}': use one of {', '.join((*ITEMS, *TANKS))}")
    return tag
