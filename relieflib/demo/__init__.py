"""Causes of the demo plant's equipment side by side, each sized as its own notebook does.

`cases` sizes what an area can be given for, `unsized` says of the rest why not; together they are
the credible causes of `relieflib.credible`, no more and no less. `events` holds the failures of
power and air: the rungs of those causes are taken from it, so that ladder, matrix and header hold
the same loads. `single_releases` are the loads of all ladders, valve by valve.
"""

from functools import lru_cache

from relieflib.demo import batch, column, drums, events, exchanger, high_separator, tank
from relieflib.errors import InputError
from relieflib.plant import load_plant
from relieflib.sizing import size
from relieflib.study import open_study
from relieflib.study.events import releases as together
from relieflib.study.recomputing import seen_by

ITEMS = {
    "V-100": drums.feed_drum, "V-101": high_separator.separator, "V-102": drums.low_separator,
    "V-104": drums.receiver, "V-105": drums.bullet, "C-101": column.cases,
    "E-101": exchanger.cooler, "R-101": batch.loads,
}  # fmt: skip
TANKS = {"T-101": tank.loads}  # relieved by tank vents, as air
# Words of a case -> cause of the published list, where they don't begin with it.
_PUBLISHED = {
    "fire": "exterior fire", "loss of cooling": "loss of cooling or reflux",
    "control valve and bypass open": "valve opened by mistake",
    "liquid-full in the sun": "overfilling",
}  # fmt: skip


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
    own = (ITEMS | TANKS)[_known(tag)](plant)
    valves = {item.tag for item in plant.protecting(tag)}
    there = {published(words) for words in own}
    rungs = events.rungs(plant, valves)
    return own | {words: x for words, x in rungs.items() if published(words) not in there}


def _device_and_back(plant, tag, words, load):
    """What protects an item, against what stands behind it with this load; vents apart."""
    if tag in TANKS:
        return tank.seen_by(plant, words)
    if tag == "E-101":
        return exchanger.seen_by(plant, load)
    valve = next(v for v in plant.of("relief_valves") if v.protects == tag)
    return seen_by(plant, valve.tag, load)


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
    opened, behind = open_study(path), plant(path)
    built = {}
    for tag in (*ITEMS, *TANKS):
        there = {case.name for case in opened.cases_for(tag)}
        own = cases(behind, tag).items()
        built[tag] = {words: sizing for words, sizing in own if words not in there}
    return opened.recompute(built=built, lifted=events.all_loads(behind))


@lru_cache(maxsize=4)
def releases(plant):
    """Everything that is relieved together on the demo plant, event by event.

    Each failure of power and air (`events`), each cause of one item alone, and each fire zone of
    the plant's file, whose items all relieve: the worst fire load of each, and once more for every
    lesser one. Parameters: plant. Returns {event in words: {valve: `ReliefLoad`}}.
    """
    own = {tag: loads(plant) for tag, loads in ITEMS.items()}
    return together(plant, own, events.all_loads(plant), lambda tag, words: published(words))


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


def published(words):
    """Cause of the published list that the words of a case stand for.

    >>> published("fire, high level"), published("closed outlet, P-102")
    ('exterior fire', 'closed outlet')
    """
    head = words.split(",")[0]
    return _PUBLISHED.get(head, head)


def _known(tag):
    if tag not in ITEMS | TANKS:
        raise InputError(f"tag '{tag}': use one of {', '.join(ITEMS | TANKS)}")
    return tag
