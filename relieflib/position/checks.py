"""What a placement says beside what it should: some thirty checks of where a relief device stands.

Each has a name, a verdict ('agrees', 'differs', 'not given'), a reason, a source and a severity by
consequence, as the checks of a datasheet have; `places` says which parts of the way it speaks of.
A check that does not apply is left out: an open end has no header to enter.
"""

from dataclasses import dataclass

import numpy as np

from relieflib import rules, valve_questions as ask
from relieflib.datasheet.verdict import Check, verdict
from relieflib.errors import InputError
from relieflib.lines.inlet import flange_bore
from relieflib.position import isolation
from relieflib.position.isolation import CODE, isolate, network_of
from relieflib.position.placement import HAND, MOVES, PLUGS, STICKS, placement
from relieflib.position.shared_set import SOURCE as SET_SOURCE, shared_items
from relieflib.rules import NONE as PRACTICE
from relieflib.symbols import shown
from relieflib.texts import number_text

API = "API 520-II (2020), from memory"
UPRIGHT = "API 520-II (2020); formerly VIII-1 appendix M: from memory"
UG135 = "ASME BPVC XIII, Part 12 (formerly VIII-1 UG-135), from memory"
DISK = "ASME BPVC XIII (formerly VIII-1 UG-127(a)(3)), from memory"
TAPPED = "API 520-II (2020); formerly VIII-1 UG-135: from memory"
ISO_9 = "ISO 4126-9, from memory; API 520-II (2020), from memory"
# Parts whose bore the whole flow passes; of a demister or a packing it is no single number.
BORES = ("nozzle", "pipe", "reducer", "rupture disk", "block valve", "three-way valve",
         "control valve", "check valve")  # fmt: skip
STRAIGHT = {
    "elbow": rules.STRAIGHT_ELBOW, "two elbows": rules.STRAIGHT_ELBOWS,
    "two planes": rules.STRAIGHT_PLANES, "control valve": rules.STRAIGHT_CONTROL,
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """What the checks of one device look at: its placement, its item, its plant, what isolates."""

    placement: object
    device: object
    plant: object
    network: object
    isolation: object

    @property
    def kind(self):
        """Kind of the device as `Device`: 'disk' of a rupture disk, 'vent' of a tank's."""
        other = {"rupture_disks": "disk", "tank_vents": "vent"}
        return other.get(self.device.section) or self.device.kind

    @property
    def open_end(self):
        """Does it end in the air: its header is no tree and stands at no pressure."""
        header = self.plant.headers.get(self.placement.destination)
        return header is not None and header.highest_pressure_gauge == 0.0

    def where(self, *whats, sides=("inlet", "valve inlet")):
        """Places of the parts with something that may happen to them, on some sides."""
        return tuple(place for place, part in self.placement.places
                     if place[0] in sides and part.what_happens in whats)  # fmt: skip

    def of_kind(self, kind, sides=("inlet", "valve inlet")):
        """Places of the parts of a kind, on some sides."""
        return tuple(place for place, part in self.placement.places
                     if place[0] in sides and part.kind == kind)  # fmt: skip


CAN_STILL_BE_CLOSED = "; it can still be closed, and "
VALVE, TIP = (("valve", None, 0),), (("end", None, 0),)
FENCED = "it ends inside a fence that keeps people away from what it throws"
OUT = ("valve outlet", "outlet")


def _made(name, good, severity, reason, source, places=(), agrees=""):
    """A check from a yes, a no, or None for not given."""
    if good is None:
        return Check(name, "not given", source=source, severity=severity, places=places)
    return Check(name, verdict(good), reason=agrees if good else reason, source=source,
                    severity=severity, places=() if good else places)  # fmt: skip


# --- what may close, stick or plug --------------------------------------------------------------


def _block(case, sides, name):
    found = {"by anybody": [], "alone": [], "not given": []}
    alone, words = {c.place for c in case.isolation.at(case.placement.tag)}, []
    for place in case.where(HAND, sides=sides):
        part = case.placement.at(place)
        if part.position == "closed":
            continue  # the next checks ask what that leaves, and how a spare comes in
        if part.secured in isolation.HELD:
            words.append(f"{part.tag or part.kind} is {part.secured}")
        elif how := _loose(part, place in alone):
            found[how].append(place)
    loose = (*found["by anybody"], *found["alone"])
    if loose:
        said = {
            "by anybody": "can be closed by anybody, and nothing shows it",
            "alone": "has a key or a linkage, and no other valve opens before it shuts",
        }
        reason = "; ".join(
            f"{_tags(case, found[how])} {w}" for how, w in said.items() if found[how]
        )
        return _made(name, False, 1, reason, CODE, loose)
    if found["not given"]:
        return _made(name, None, 1, "", CODE, tuple(found["not given"]))
    held = f"{CAN_STILL_BE_CLOSED}{isolation.ASKS}" if words else ""
    agrees = ", ".join(words) + held if words else "nothing there can be closed alone"
    return _made(name, True, 1, "", CODE, agrees=agrees)


def _loose(part, alone):
    """How an open part that no lock holds may be closed: by anybody, alone, not given, or ''."""
    if part.secured == "no" or (part.secured == "interlocked" and not part.group):
        return "by anybody"
    if part.secured is None and not part.group:
        return "not given"
    return "alone" if alone else ""


def _tags(case, places):
    return ", ".join(case.placement.at(x).tag or "a block valve" for x in places)


def _inlet_block(case):
    return _block(case, ("inlet", "valve inlet"), "nothing closes the inlet")


def _outlet_block(case):
    return _block(case, OUT, "nothing closes the outlet")


def _absent(name, what, severity, words, source, sides=("inlet", "valve inlet", *OUT)):
    def check(case):
        places = case.where(what, sides=sides)
        tags = ", ".join(str(case.placement.at(p)) for p in places)
        return _made(name, not places, severity, f"{tags}: {words}", source, places)

    check.__name__ = name
    return check


def _exchanger(case):
    places = case.of_kind("exchanger")
    return _made("no exchanger before it", not places, 2,
                 "it stands behind an exchanger: its loss counts in the inlet, and it may foul",
                 API, places)  # fmt: skip


def _open_as_drawn(case):
    """Does the way of each valve in duty lead from its item to an end, as all parts stand now."""
    p = case.placement
    there = case.isolation.in_service.get(p.tapped_on, ())
    none = [name for name in p.names[: p.duty] if name not in there]
    shut = [place for place, part in p.places if part.position == "closed"]
    shut += [("valve", None, p.names.index(name)) for name in none] if not shut else []
    said = [w.removeprefix(f"{p.tag}: ") for w in case.isolation.wrong if w.startswith(p.tag)]
    why = "; ".join(said) or "something on it stands closed, or against the flow"
    return _made("its way is open as drawn", not none, 1,
                 f"no open way leads through {', '.join(none)}: {why}", CODE,
                 tuple(shut))  # fmt: skip


def _none_of(cuts):
    """True where there are no cuts, None where it is not given how any of them is kept open."""
    return False if any(not c.unsaid for c in cuts) else None if cuts else True


def _single_cut(case):
    loose = [c for c in case.isolation.loose if c.owner == case.placement.tag]
    items = ", ".join(dict.fromkeys(c.item for c in loose))
    names = ", ".join(dict.fromkeys(c.name for c in loose))
    return _made("no single part cuts it off", _none_of(loose), 1,
                 f"{names}: closed or plugged alone leaves {items} without enough valves", CODE,
                 tuple(dict.fromkeys(c.place for c in loose)))  # fmt: skip


def _others_open(case):
    """Items that only an open way protects: is that way free of what may close.

    None where it protects its own item alone.
    """
    mine = {t for t in case.placement.names}
    items = [i for i, tags in case.isolation.in_service.items() if mine & set(tags)]
    owners = {c.tag for c in case.network.connections}
    loose = [c for c in case.isolation.loose if c.item in items and c.owner in owners]
    if len(items) < 2:
        return None
    words = "; ".join(f"{c.name} shuts {c.item} off from it" for c in loose)
    return _made(
        "open way from all it protects",
        _none_of(loose),
        1,
        words,
        "API 521, equipment protected by one device, from memory; VIII-1 UG-133(c)",
    )


def _spare(case):
    good, words = isolation.exchange(case.placement, case.open_end)
    if good is None:
        return None
    return _made("the spare comes in first", good, 1, words, CODE,
                 case.where(HAND, sides=("valve inlet", "valve outlet")), agrees=words)  # fmt: skip


def _spare_shut(case):
    p = case.placement
    if not p.spare:
        return None
    there = case.isolation.in_service.get(p.tapped_on, ())
    lifts = [name for name in p.names[p.duty :] if name in there]
    return _made("the spare is blocked in", not lifts, 2,
                 f"{', '.join(lifts)} lifts with the others: what flows then is more than inlet, "
                 "outlet and header were held to", PRACTICE,
                 tuple(("valve", None, p.names.index(name)) for name in lifts))  # fmt: skip


def _spare_in(case):
    if not case.placement.spare:
        return None
    cuts = isolation.cuts_with_spare(case.placement)
    words = "; ".join(dict.fromkeys(f"{state}: {c.words}" for state, c in cuts))
    places = tuple(dict.fromkeys(c.place for _, c in cuts))
    good = _none_of([c for _, c in cuts])
    return _made("nothing cuts it off with the spare in", good, 1, words, CODE, places)


# --- the way in ---------------------------------------------------------------------------------


def _right_item(case):
    p = case.placement
    there = case.isolation.in_service.get(p.protects, ())
    good = p.tapped_on == p.protects or bool(set(p.names) & set(there))
    return _made("stands on what it protects", good, 1,
                 f"it stands on {p.tapped_on}, and no open way leads there from {p.protects}",
                 UG135, (("inlet", None, 0),))  # fmt: skip


def _tapping(case):
    t, liquid = case.placement.tapping, case.placement.liquid_case
    good, level, words = None, 1, ""
    if t == "low point":
        good, level = False, 2 if liquid else 1
        words = "a low point gathers dirt and water, which plug it, and liquid before any gas"
    elif t is not None and liquid is not None:
        good = liquid or t != "liquid"
        words = "tapped into liquid, sized for gas: it passes far less gas volume than it must"
        if liquid and t == "vapour space":
            good, level = False, 2
            words = "there for liquid, and stands in the vapour space above it"
    return _made("tapped for what it is sized for", good, level, words, TAPPED,
                 (("inlet", None, 0),))  # fmt: skip


def _shared_set(case):
    name = "set for all it protects"
    if case.kind == "vent":
        return None
    pset = _set_of(case)
    found = shared_items(case.plant, case.network, case.placement.tag)
    if len(found) == 1 and _section(case, found[0].item) == "pumps":
        return None  # its casing is no question of where the valve stands
    bad = [s for s in found if not ask.kept(pset, s.highest_set)]
    if bad:
        words = "; ".join(f"{s.item} takes a set of {_gauge(s.highest_set)} at most" for s in bad)
        return _made(name, False, 1, f"set {_gauge(pset)}: {words}, for head and drop between",
                     SET_SOURCE, VALVE)  # fmt: skip
    if any(np.isnan(s.highest_set) for s in found):
        return _made(name, None, 1, "", SET_SOURCE)
    return _made(name, True, 1, "", SET_SOURCE,
                 agrees=f"{len(found)} items, the weakest takes "
                 f"{_gauge(min(s.highest_set for s in found))}")  # fmt: skip


def _section(case, item):
    """Section of the plant's file that an item of the network stands in."""
    there = case.plant.items.get(item.partition(" ")[0])
    return getattr(there, "section", "")


def _set_of(case):
    name = "burst_pressure_gauge" if case.kind == "disk" else "set_pressure_gauge"
    return getattr(case.device, name)


def _gauge(value):
    return shown("set_pressure_gauge", value)


def _bores(case, sides, own, name):
    """Is each part's bore as wide as the valve's own; parts shared by several, by their area."""
    parts = [(place, part) for place, part in case.placement.places
             if place[0] in sides and part.kind in BORES]  # fmt: skip
    known = [(place, part) for place, part in parts if part.inside_diameter is not None]
    if own is None or not known:
        return _made(name, None, 2, "", UG135)
    bad = []
    for place, part in known:
        n = case.placement.duty if place[1] is None else 1
        if not ask.bore_enough(part.inside_diameter**2, n * own**2):
            bad.append((place, part))
    if not bad and len(known) < len(parts):
        return _made(name, None, 2, "", UG135)
    words = ", ".join(f"{part.tag or part.kind} {shown('diameter', part.inside_diameter)}"
                      for _, part in bad)  # fmt: skip
    return _made(name, not bad, 2, f"{words}: narrower than the valve needs", UG135,
                 tuple(place for place, _ in bad))  # fmt: skip


def _inlet_bore(case):
    if case.kind == "vent":
        return None
    return _bores(
        case, ("inlet", "valve inlet"), _own_bore(case, "inlet"), "inlet as wide as the valve"
    )


def _own_bore(case, side):
    """Bore of the valve itself [m]: as the file gives it, else of the flange of its designation."""
    if case.kind == "disk":
        return case.device.diameter
    given = getattr(case.device, f"{side}_diameter", None)
    name = getattr(case.device, "designation", None)
    return flange_bore(name, side) if given is None and name else given


def _outlet_bore(case):
    if case.kind == "vent" or not (case.placement.outlet or any(case.placement.valve_outlets)):
        return None
    return _bores(case, OUT, _own_bore(case, "outlet"), "outlet as wide as the valve")


def _drop(case):
    p, name = case.placement, "near the source"
    if case.kind == "vent":
        return None
    far = "" if p.source_distance is None else f" over {shown('length', p.source_distance)}"
    if p.tapping_drop is None:
        return _made(name, None, 2, "", API)
    kind = "pilot" if case.kind == "pilot" else "conventional"
    sensing = {"at the vessel": True, "at the valve": False}.get(p.sensing)
    good = ask.inlet_holds(kind, p.tapping_drop, _set_of(case), remote_sensing=sensing).holds
    words = f"{p.tapping_drop / _set_of(case):.1%} of set is lost{far} before its tapping"
    return _made(name, good, 2, words, rules.INLET_LOSS.source, (("inlet", None, 0),),
                 f"{words}, a part of what its inlet may lose")  # fmt: skip


def _straight(case):
    p = case.placement
    name = "far from what disturbs the flow"
    if p.disturbance is None:  # a vessel's own nozzle asks for no straight pipe, a line does
        line = _section(case, p.tapped_on) in ("lines", "pumps")
        return _made(name, None, 2, "", API) if line else None
    rule = STRAIGHT[p.disturbance]
    d = p.disturbance_diameters
    good = None if d is None else d >= rule.value
    words = f"{number_text(d or 0.0)} diameters after {p.disturbance}, {rule.number} asked for"
    return _made(name, good, 2, words, rule.source,
                 (("inlet", None, 0),))  # fmt: skip


def _telltale(case):
    places = case.of_kind("rupture disk", ("inlet", "valve inlet", *OUT))
    if not places:
        return None
    tells = [case.placement.at(p).telltale for p in places]
    good = False if False in tells else None if None in tells else True
    bad = tuple(p for p, tells_it in zip(places, tells) if tells_it is False)
    return _made("telltale between disk and valve", good, 1,
                 "a pinhole or a leaking seat fills the space between disk and valve, and what is "
                 "behind it opens far too high", DISK, bad)  # fmt: skip


def _sensing(case):
    if case.kind != "pilot":
        return None
    s = case.placement.sensing
    drop = case.placement.tapping_drop
    good = None if s is None else s == "at the vessel" or drop == 0.0
    near = "" if s == "at the vessel" else "at the valve: the loss of its inlet counts in full"
    return _made("pilot senses at the vessel", good, 2,
                 "the pilot feels the loss of the inlet line, and the valve may chatter",
                 API, VALVE, near)  # fmt: skip


# --- the way out --------------------------------------------------------------------------------


def _drains_away(case):
    good = case.placement.outlet_drains_away
    if case.kind == "vent" or (case.open_end and good is False):
        return None  # a stack rises from its foot: whether that is drained is the next question
    return _made("outlet drains away, no pocket", good, 2,
                 "liquid stands in a low point of the outlet: it adds back pressure, freezes or "
                 "corrodes, and is thrown as a slug", ISO_9, (("outlet", None, 0),))  # fmt: skip


def _low_point(case):
    if case.placement.outlet_drains_away is not False:
        return None
    return _made("low point of the outlet drained", case.placement.low_point_drained, 2,
                 "nothing lets the liquid out of the low point", ISO_9,
                 (("outlet", None, 0),))  # fmt: skip


def _enters(case):
    if case.open_end:
        return None
    e = case.placement.enters_header
    side = "from the side: above the liquid that may run in it" if e == "from the side" else ""
    return _made("enters its header from above", None if e is None else e != "from below", 2,
                 "liquid of the header runs back to the valve", PRACTICE, TIP, side)  # fmt: skip


def _above_header(case):
    if case.open_end:
        return None
    h = case.placement.height_above_header
    return _made(
        "stands above its header",
        None if h is None else h >= 0,
        2,
        "the valve stands below its header, which drains towards it",
        PRACTICE,
        VALVE,
    )


def _weep_hole(case):
    p = case.placement
    if not case.open_end or p.discharge_direction not in (None, "up"):
        return None
    good = p.weep_hole
    if case.kind == "vent":  # its cover keeps the rain out; a jet needs its stack free
        good = p.rain_cover if p.rain_cover is not None else good
    return _made("weep hole of the open stack", good, 2, "rain stands on the valve", API,
                 TIP)  # fmt: skip


def _cover(case):
    """A fixed cover over the jet of a valve: it turns it down, and holds it back."""
    p = case.placement
    if not case.open_end or case.kind == "vent" or not p.rain_cover:
        return None
    return _made("nothing stands before the jet", False, 2,
                 "its rain cover turns the jet down and adds to the back pressure", PRACTICE,
                 TIP)  # fmt: skip


def _direction(case):
    if not case.open_end:
        return None
    d, liquid = case.placement.discharge_direction, case.placement.liquid_case
    if case.placement.end_fenced:
        return _made("open end points where nobody is", True, 1, "", PRACTICE, agrees=FENCED)
    words = f"it blows {d}"
    if d is None or liquid is None:
        good = None
    elif liquid:
        good = d == "down"
        words += ": liquid comes down on what stands there"
    else:
        good = d == "up" or (d == "down" and case.kind == "vent")
    return _made("open end points where nobody is", good, 1, words,
                 "API 521 (2020), atmospheric discharge, from memory", TIP)  # fmt: skip


def _height(case):
    if not case.open_end or case.placement.liquid_case:
        return None
    h, rule = case.placement.discharge_height, rules.OPEN_END_ABOVE
    if case.placement.end_fenced:
        return _made("open end above people", True, 1, "", PRACTICE, agrees=FENCED)
    good = None if h is None else h >= rule.value
    words = f"{shown('discharge_height', h or 0.0)} above the next place for people"
    return _made("open end above people", good, 1, f"{words}, {rule.number} asked for",
                 rule.source, TIP)  # fmt: skip


# --- the valve itself ---------------------------------------------------------------------------


def _bonnet(case):
    vent = case.placement.bonnet_vent
    if case.kind not in ("conventional", "balanced"):
        return None
    if vent is None:
        return _made("bonnet vented as its kind asks", None, 1, "", API, VALVE)
    if case.kind == "balanced":
        good = vent in ("open", "to a safe place")
        words = "a balanced valve whose bonnet is plugged feels the back pressure once it leaks"
    else:
        good = vent != "open" or case.open_end
        words = "a conventional bonnet that is open lets the header's gas out beside the valve"
    return _made("bonnet vented as its kind asks", good, 1, words, API, VALVE)


def _winter(case):
    stands, good = case.placement.water_may_stand, case.placement.winterised
    if stands is not True:
        return None if stands is False else _made("kept from freezing", None, 2, "", PRACTICE)
    return _made("kept from freezing", good, 2, "water stands there and nothing keeps it from "
                 "freezing", PRACTICE, VALVE)  # fmt: skip


def _traced(case):
    solid, good = case.placement.may_solidify, case.placement.traced
    if solid is not True:
        return None if solid is False else _made("kept from setting solid", None, 1, "", PRACTICE)
    return _made("kept from setting solid", good, 1, "what may set solid or crystallise is not "
                 "traced: the inlet plugs", PRACTICE, (("inlet", None, 0),))  # fmt: skip


def _yes(name, key, severity, words, source, places, kinds=()):
    """A check of one yes or no of the placement; left out for kinds of device."""

    def check(case):
        if case.kind in kinds:
            return None
        return _made(name, getattr(case.placement, key), severity, words, source, places)

    check.__name__ = name
    return check


def _upright(case):
    if case.kind == "disk":
        return None
    o = case.placement.orientation
    return _made("stands upright", None if o is None else o == "upright", 2,
                 "on its side the moving parts drag, and dirt stays in it", UPRIGHT,
                 VALVE)  # fmt: skip


def _body_drain(case):
    drain = case.placement.body_drain
    if case.kind in ("disk", "vent"):
        return None
    low = case.placement.outlet_drains_away is False
    good = None if drain is None else not (low and drain == "plugged")
    return _made("valve body drained", good, 3, "the body is lower than its outlet, and its drain "
                 "is plugged", UG135, VALVE)  # fmt: skip


CHECKS = (
    _inlet_block, _outlet_block, _open_as_drawn, _single_cut, _others_open, _spare, _spare_shut,
    _spare_in,
    _absent("nothing plugs the way", PLUGS, 1, "may plug, between what it protects and the end",
            UG135),
    _absent("no check valve in the way", STICKS, 1, "may stick shut, or stand against the flow",
            PRACTICE),
    _absent("no control valve in the way", MOVES, 1, "closes by itself, and just when it must not",
            UG135),
    _exchanger, _right_item, _tapping, _shared_set, _inlet_bore, _drop, _straight, _telltale,
    _sensing,
    _yes("inlet drains back", "inlet_drains_back", 2, "liquid or dirt gathers before the valve, "
         "plugs it or corrodes it", ISO_9, (("inlet", None, 0),)),
    _outlet_bore, _drains_away, _low_point, _enters, _above_header, _weep_hole,
    _cover, _direction,
    _height, _upright, _bonnet, _body_drain, _winter, _traced,
    _yes("outlet held against its reaction", "supported", 2, "the valve's body carries the outlet "
         "and the force of its jet", ISO_9, (("outlet", None, 0),), ("vent",)),
    _yes("reached for test and repair", "test_access", 3, "it can't be reached, so it is not "
         "tested", PRACTICE, VALVE),
)  # fmt: skip
_ORDER = {"differs": 0, "not given": 1, "agrees": 2}


def case_of(plant, tag, network=None, found=None):
    """What the checks of one device look at.

    Parameters: plant; tag of a relief device that the file places; network and found, its
    `Network` and `Isolation`, None to make them. Returns `Case`. Raises InputError where the file
    gives no placement, or one that can't be used. Source: the plant's file.
    """
    own = placement(plant, tag)
    if own is None:
        raise InputError(f"{tag}: where it stands is not given")
    network = network_of(plant) if network is None else network
    mapped = next(p for p in network.placements if p.tag == tag)
    return Case(mapped, plant[tag], plant, network, isolate(network) if found is None else found)


def check(case):
    """All checks that apply to one device, what differs first, by consequence.

    Parameters: case, a `Case`. Returns a list of `Check`. Source: as each says.
    >>> from relieflib.plant import load_plant
    >>> found = check(case_of(load_plant(), "PSV-107"))
    >>> [c.name for c in found if c.verdict == "differs"]
    ['tapped for what it is sized for']
    """
    found = (one(case) for one in CHECKS)
    return sorted((c for c in found if c), key=lambda c: (_ORDER[c.verdict], c.severity))


def check_all(plant):
    """Checks of every device that a plant's file places: {tag: list of `Check`}.

    Parameters: plant. Returns dict; a placement that can't be used is left out, and stands in the
    `wrong` of `isolation.network_of`. Source: as `check`.
    """
    network = network_of(plant)
    found = isolate(network)
    return {p.tag: check(case_of(plant, p.tag, network, found)) for p in network.placements}
