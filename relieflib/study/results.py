"""What follows from the cases of a study: loads, ladders, matrices, events, notes, changes."""

import warnings
from dataclasses import dataclass, field
from functools import cached_property

from relieflib import credible, pid_note, safeguard, summary
from relieflib.errors import InputError, ValidityWarning
from relieflib.position.reasons import reason_of
from relieflib.safeguard import COVERS, FAILS, UNKNOWN
from relieflib.sizing import size
from relieflib.study import events, filed
from relieflib.study.case import published_in
from relieflib.study.recomputing import Done, loaded, seen_by, sized
from relieflib.texts import harmless

DEVICES = ("relief_valves", "rupture_disks")


@dataclass(frozen=True)
class ItemResults:
    """What follows for one item.

    tag; item, of the plant, None where the file has none; done, tuple of `Done`, good ones and
    others; sizings, {cause in words: `Sizing`}: its own cases and the worst event of power and of
    air; valves, tuple of `safeguard.Valve`; considered, {cause: `credible.Verdict`}; words, what
    went wrong beyond single cases; unread, names of its cases that could not be read.
    """

    tag: str
    item: object = field(repr=False)
    done: tuple = field(repr=False)
    sizings: dict = field(repr=False)
    valves: tuple = field(default=(), repr=False)
    considered: dict = field(default_factory=dict, repr=False)
    words: tuple = ()
    unread: tuple = ()

    @property
    def loads(self):
        """{cause in words: `ReliefLoad`} of what has an area."""
        return {words: s.load for words, s in self.sizings.items()}

    @cached_property
    def comparison(self):
        """The ladder, as `summary.Comparison`; None without an area."""
        return summary.compare(self.sizings) if self.sizings else None

    @property
    def governing(self):
        """The governing case in words; '' without one."""
        return self.comparison.governing_cause if self.sizings else ""

    @cached_property
    def matrix(self):
        """The safeguard matrix, None without a valve or a load; its covers hold the lines."""
        if not self.valves or not self.sizings:
            return None
        with warnings.catch_warnings():  # `Done.warned` has put them into words
            warnings.simplefilter("ignore", ValidityWarning)
            return safeguard.matrix(self.valves, self.loads)

    @cached_property
    def open_causes(self):
        """Causes of the published list that are credible, or not judged, and have no load."""
        there = {d.case.published_cause for d in self.done} | {
            published_in(words) for words in self.sizings if self.case_of(words) is None
        }
        listed = [row["cause"] for row in credible.published_causes()]
        said = self.considered
        return tuple(c for c in listed if c not in there and (c not in said or (
            said[c].credible and not said[c].no_load)))  # fmt: skip

    @property
    def verdict(self):
        """Of `safeguard.VERDICTS`: 'covers' only where one valve covers every load, every case
        could be computed, and no cause of the published list is left open.
        """
        if self.matrix is None:
            return UNKNOWN if self.done or self._lacks else COVERS
        worst = {best.verdict for best in self.matrix.best.values()}
        if FAILS not in worst and (self._lacks or not all(d.good for d in self.done)):
            return UNKNOWN
        return FAILS if FAILS in worst else UNKNOWN if UNKNOWN in worst else COVERS

    @property
    def _lacks(self):
        """Something of the item that nobody could read, or has not said."""
        return bool(self.words or self.open_causes or self.unread)

    @cached_property
    def notes(self):
        """Tag of a valve -> its note for the P&ID, or words why there is none."""
        found = {}
        for valve in self.valves if self.sizings else ():
            try:
                found[valve.tag] = pid_note.write_note(valve, self.governing)
            except InputError as error:
                found[valve.tag] = f"no note: {error}"
        return found

    def case_of(self, words):
        """The case behind a rung of the ladder; None for an event's."""
        return next((d.case for d in self.done if d.case.name == words), None)


@dataclass(frozen=True)
class Results:
    """A study recomputed.

    study; plant, knowing what is relieved together; items, {tag: `ItemResults`}; events, {event of
    power and air: {valve: `ReliefLoad`}}; faults, what could not be read or computed, in words;
    missing, questions in words; changes, tuple of `filed.Change` since the last filed revision;
    filed, that, or None.
    """

    study: object = field(repr=False)
    plant: object = field(repr=False)
    items: dict
    events: dict = field(repr=False)
    faults: tuple = ()
    missing: tuple = field(default=(), repr=False)
    filed: object = field(default=None, repr=False)

    @property
    def done(self):
        """Every case as `Done`, in the file's order by item."""
        return tuple(d for item in self.items.values() for d in item.done)

    @cached_property
    def changes(self):
        """What changed since the last filed revision, and why; empty where none was filed."""
        return () if self.filed is None else filed.changes(self)

    @property
    def stale(self):
        """(item, name) of filed cases whose results are no longer those of today's file."""
        return tuple(dict.fromkeys((c.item, c.case) for c in self.changes if c.stale))

    def installed(self, tag):
        """What stands on an item, in words: valves, disks, and vents, which nobody judges."""
        vents = (i.tag for i in self.plant.protecting(tag) if i.section == "tank_vents")
        return (*(f"{v.tag}: {v.arrangement}" for v in self.items[tag].valves),
                *(f"{vent}: a vent, not judged" for vent in vents))  # fmt: skip

    @property
    def headers(self):
        """{header: `disposal.header.Faced`} of those whose pressures are computed by event."""
        found = {}
        for name in self.plant.headers:
            try:
                faced = self.plant.faced(name)
            except InputError:
                continue
            found |= {name: faced} if faced is not None else {}
        return found

    @property
    def covered(self):
        """True where there are items, every one is covered, and nothing is at fault."""
        covers = [i.verdict == COVERS for i in self.items.values()]
        return not self.faults and bool(covers) and all(covers)


NOT_WHOLE = (
    "What lifts together? releases is said to be complete, but something could not be read or "
    "computed: until then the highest pressure typed for each header counts"
)
COMPLETE = "complete"  # what [study] releases says where every event of a header is in the file


def recompute(study, item=None, progress=None, built=None, lifted=None):
    """A study's cases computed, one by one, and what follows from them.

    A header's pressure is computed event by event only where somebody says that no event is
    missing: `releases = "complete"` in the file, of which nothing is at fault, or `lifted`; else
    its typed highest one counts.
    Parameters: study; item, a tag, for that one alone; progress, a function of (done, of how many);
    built, {tag: {words: `Sizing`}}, and lifted, {event: {valve: `ReliefLoad`}}, of a program that
    knows more than the file: lifted then holds all events of power and air. Returns `Results`.
    Raises InputError for a tag that the
    study has not. Source: as the modules asked.
    """
    if item is not None and item not in study.items:
        raise InputError(f"item '{harmless(item, 40)}': not in {study.path.name}; it has "
                         f"{', '.join(study.items)}")  # fmt: skip
    plant, all_done, built = study.plant, {}, dict(built or {})
    for number, case in enumerate(study.cases, start=1):
        made_of = loaded(case, plant, study.path.name, study.lines)
        all_done.setdefault(case.item, []).append(made_of)
        if progress:
            progress(number, len(study.cases))
    own = {tag: _own(all_done.get(tag, ())) | {w: s.load for w, s in built.get(tag, {}).items()}
           for tag in study.items}  # fmt: skip
    faults, made = [], lifted is not None
    if lifted is None:
        lifted, faults = _events(plant, all_done, study.path.name)
    # a case or a valve that could not be read may lift all the same
    whole = not (study.faults or faults or any(d.words for f in all_done.values() for d in f))
    said = study.head.get("releases") == COMPLETE
    if made or (said and whole):
        plant = plant.with_releases(lambda: _releases(study.plant, own, lifted, all_done))
    tags = study.items if item is None else [item]
    with_area = {tag: [sized(d, plant, study.lines) for d in all_done.get(tag, ())] for tag in tags}
    found = {
        tag: _item(tag, plant, study, with_area[tag], built.get(tag, {}), lifted) for tag in tags
    }
    faults += [d.words for tag in tags for d in with_area[tag] if d.words]
    faults += [words for one in found.values() for words in one.words]
    missing = [*([] if made or whole or not said else [NOT_WHOLE]), *study.missing()]
    return Results(study, plant, found, lifted, (*study.faults, *faults), tuple(missing),
                   study.filed)  # fmt: skip


def _own(found):
    """Loads of the cases that stand by themselves, not those which only an event brings."""
    return {d.case.name: d.load for d in found if d.load is not None and d.case.on_ladder}


def _valve_of(plant, case):
    if case.valve:
        return case.valve
    valves = [i.tag for i in plant.protecting(case.item) if i.section in DEVICES]
    return valves[0] if len(valves) == 1 else ""


def _events(plant, all_done, file):
    """Loads by event of power and air, and words of what names a failure that never happens."""
    said, rules, faults = None, [], []
    for d in (d for found in all_done.values() for d in found):
        case = d.case
        if not case.when or d.load is None:
            continue
        said = set().union(*events.failures(plant).values()) if said is None else said
        valve = _valve_of(plant, case)
        brought = events.consequences(valve, d.load, case)
        unknown = {w for rule in brought for w in (*rule.when, *rule.unless)} - said
        if unknown or not valve:
            words = f"'{min(unknown)}' never fails here" if unknown else "name the valve it lifts"
            faults.append(f"{file}, {case.item}, {case.name}: {words}")
            continue
        rules += brought
    return (events.loads_of(plant, rules) if rules else {}), faults


def _releases(plant, own, lifted, all_done):
    published = {(d.case.item, d.case.name): d.case.published_cause
                 for found in all_done.values() for d in found}  # fmt: skip

    def listed(tag, words):
        return published.get((tag, words)) or published_in(words)

    return events.releases(plant, own, lifted, listed)


def _place_unread(study, devices):
    """What the file says of the place of some devices and could not be read, in words."""
    found = [f"where {d} stands" for d in devices if ("placements", d) in
             {keys[:2] for keys in study.wrong}]  # fmt: skip
    ways = any(keys[:1] == ("connections",) for keys in study.wrong)
    return (*found, *(["a way that stays open"] if ways and devices else []))


def _spare(plant, device):
    """Valves blocked in beside a device, where its placement alone says so."""
    placed = plant.placements.get(device)
    said = hasattr(placed, "spare") and not hasattr(plant[device], "spare")
    return {"spare": placed.spare} if said else {}


def _item(tag, plant, study, found, built, lifted):
    """Results of one item; what goes wrong with a valve costs no other."""
    sizings = {d.case.name: d.sizing for d in found if d.good and d.case.on_ladder}
    devices = [i.tag for i in plant.protecting(tag) if i.section in DEVICES]
    valves, words = [], []
    for device in devices:
        try:
            place = reason_of(plant, device)
            valves.append(
                safeguard.Valve.of(plant, device, position=place, **_spare(plant, device))
            )
        except InputError as error:
            words.append(f"{study.path.name}, {device}: {error}")
    there = {d.case.published_cause for d in found if d.case.on_ladder}
    there |= {published_in(words) for words in built}
    more = {w: x for w, x in events.rungs(lifted, devices).items()
            if events.cause_of(w.partition(", ")[2]) not in there}  # fmt: skip
    sizings |= built
    for name, load in more.items():
        try:
            device, back = seen_by(plant, devices[0], load) if devices else (None, None)
            sizings[name] = size(load, device, back)
        except (InputError, IndexError) as error:
            words.append(f"{study.path.name}, {tag}, {name}: {error}")
    item = plant.items.get(tag)
    considered = study.considered.get(tag, {})
    unread = tuple(name for of, name in study.unread if of == tag) + _place_unread(study, devices)
    return ItemResults(tag, item, tuple(found), sizings, tuple(valves), considered, tuple(words),
                       unread)  # fmt: skip


__all__ = ["Done", "ItemResults", "Results", "recompute"]
