"""Back pressures that a datasheet states, held against those of the plant's own header.

Only where the plant knows the tree of the valve's header and what is relieved together
(`Plant.with_releases`). A sheet has one back pressure and a header one for each event: the highest
of all events in which the valve lifts is what it must not be below. Where the plant says that
events are missing, a stated pressure that is high enough is not known to agree.
"""

from relieflib.datasheet.recompute import PRESSURE_CLOSE, parts_of_back_pressure, recompute
from relieflib.datasheet.verdict import Check, not_given, verdict
from relieflib.disposal.header import SOURCE
from relieflib.errors import InputError
from relieflib.sizing import ReliefLoad
from relieflib.texts import harmless


def with_loads_of(plant, rows):
    """A plant whose valves relieve what a list states of them, together as the plant's file says.

    Parameters: plant, a `plant.Plant`; rows, of a list. Returns a `Plant` with its releases: every
    load of a valve alone; the devices of each fire zone with their loads of a fire; each of the
    file's `events` with the largest loads of other causes. Its `lacks` says what is not known.
    """
    found, unknown = {}, []
    for row in rows:
        tag, case = row.get("tag"), None
        if hasattr(plant.items.get(tag), "destination"):
            case = recompute(row)
            found.setdefault(tag, [])
        if case is not None and case.sizing is not None:
            load = ReliefLoad(f"row {row.number}", case.inputs["mass_flow"],
                              case.sizing.load.stream, fire=case.fire is not False)  # fmt: skip
            found[tag].append((load, case.fire))
        elif case is not None:
            unknown.append(tag)
    releases = {f"{tag} alone, {load.cause}": {tag: load}
                for tag, loads in found.items() for load, _ in loads}  # fmt: skip
    together = dict(_together(plant))
    for event, (tags, fire) in together.items():
        lift = {t: _largest(found.get(t, ()), fire) for t in tags}
        unknown += [t for t, load in lift.items() if load is None]
        releases[event] = {t: load for t, load in lift.items() if load is not None}
    releases = {event: lift for event, lift in releases.items() if lift}
    return plant.with_releases(releases, _lacking(plant, sorted(set(unknown))))


def _together(plant):
    """(event, (devices that lift, of a fire or not)) of a plant's fire zones and events."""
    for zone in plant.fire_zones.values():
        devices = [d.tag for item in zone.items for d in plant.protecting(item)]
        yield f"fire in zone {zone.tag}", (devices, True)
    for event in plant.events.values():
        yield event.tag, (event.lift, False)


def _largest(loads, fire):
    """The largest load of a fire, or of another cause; one that may be either counts as both."""
    fits = [load for load, own in loads if own is None or own is fire]
    return max(fits, key=lambda load: load.mass_flow, default=None)


def _lacking(plant, tags):
    words = []
    if not plant.events:
        words.append("the plant's file names no events: which valves lift together when power, air "
                     "or cooling fails is not known")  # fmt: skip
    if tags:
        more = f" and {len(tags) - 5} more" if len(tags) > 5 else ""
        names = ", ".join(harmless(tag) for tag in tags[:5])
        words.append(f"no load that a fire zone or event needs could be read of {names}{more}")
    return "; ".join(words)


def need_tree(plant):
    """Refuse a plant none of whose headers can be computed. Raises InputError."""
    stacks = {stack.header for stack in plant.of("disposal.stacks")}
    if not any(getattr(i, "destination", None) in stacks for i in plant.items.values()):
        raise InputError(
            "no relief device leads to a header with a stack: give disposal.pipes and a "
            "disposal.stacks of the header, or no back pressure can be worked out"
        )


def _facings(case, plant):
    tag = case.row.get("tag")
    if plant is None or tag not in plant.items or not hasattr(plant[tag], "destination"):
        return ()
    return plant.facings(tag)


def _unsure(check, plant):
    """A check that agrees, 'not given' where events are missing that may ask for more."""
    if check.verdict != "agrees" or not plant.lacks:
        return check
    words = f"high enough for {check.reason}; not known for others: {plant.lacks}"
    return check._replace(verdict="not given", reason=words, source="")


def _total(case, facings):
    name = "back pressure against the header"
    worst = max(facings, key=lambda f: f.back_pressure)
    own, unit = case.in_sheet("back_pressure", worst.back_pressure, "pressure")
    words = f"{worst.event}, with what its own line builds up"
    given = "back_pressure" in case.row.cells or parts_of_back_pressure(case.row) is not None
    if not given or case.back_pressure is None:
        return not_given(name, "back_pressure", case, recomputed=own, unit=unit, reason=words)
    half = case.row.cells["back_pressure"].half if "back_pressure" in case.row.cells else 0.0
    good = case.back_pressure + half >= worst.back_pressure * (1 - PRESSURE_CLOSE)
    stated = case.in_sheet("back_pressure", case.back_pressure, "pressure")[0]
    words = words if good else f"lower than the header gives: {words}"
    return Check(name, verdict(good), stated, own, unit, 0.0, words, SOURCE, 2)


def _variable(case, facings):
    name = "variable back pressure against the header"
    worst = max(facings, key=lambda f: f.superimposed)
    own = worst.superimposed - worst.lowest
    here, unit = case.in_sheet("variable_gauge", own)
    words = f"{worst.event}: what all others of it make before this valve opens"
    cell = case.row.cells.get("variable_gauge")
    if cell is None:
        return not_given(name, "variable_gauge", case, recomputed=here, unit=unit, reason=words)
    good = cell.value + cell.half >= own * (1 - PRESSURE_CLOSE)
    stated = case.in_sheet("variable_gauge", cell.value)[0]
    words = words if good else f"lower than the header gives: {words}"
    return Check(name, verdict(good), stated, here, unit, 0.0, words, SOURCE, 2)


def checks_of(case, plant):
    """Checks of a row's back pressures against the header of a plant.

    Parameters: case, the row recomputed; plant, a `plant.Plant`, or None. Returns a list of
    `Check`, empty where the valve or its header is not known.
    """
    facings = _facings(case, plant)
    if not facings:
        return []
    return [_unsure(check(case, facings), plant) for check in (_total, _variable)]
