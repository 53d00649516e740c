"""Where relief devices stand: placements read, checks, isolation, arrangement, the judge's reason.

What a drawing must show, and what may stand in a way, are facts of the trade: common practice, no
source, unless a line says otherwise. Numbers are worked by hand here.
"""

from copy import copy
from dataclasses import replace

import pytest

from relieflib import orifices, rules, safeguard
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.plant import demo_plant_path, load_plant
from relieflib.position import arrangement, checks, isolation, reasons, shared_set
from relieflib.position.isolation import Network, isolate, network_of
from relieflib.position.placement import Connection, Part, Placement, placement, placements
from relieflib.report.place_page import ways_blocks
from relieflib.sizing import ReliefLoad
from relieflib.study.results import recompute
from relieflib.study.study import open_study

PLANT = load_plant()
NETWORK = network_of(PLANT)
FOUND = isolate(NETWORK)
BAR, MM2 = 1e5, 1e-6


def differing(tag, network=NETWORK, **changes):
    """Names of the checks that differ, the placement changed."""
    case = checks.case_of(PLANT, tag, network, FOUND)
    case = replace(case, placement=replace(case.placement, **changes))
    return {c.name for c in checks.check(case) if c.verdict == "differs"}


# ---------------------------------------------------------------- the demo plant and its six faults
def test_every_relief_device_of_the_demo_plant_is_placed():
    devices = [i.tag for s in ("relief_valves", "rupture_disks", "tank_vents") for i in PLANT.of(s)]
    found, wrong = placements(PLANT)
    assert set(found) == set(devices) and not wrong and not FOUND.wrong and not FOUND.short


def test_the_six_planted_faults_and_no_others():
    """What was drawn wrong, by reading the file: six placements, each with its own fault."""
    planted = {
        "PSV-100": {"nothing closes the inlet", "no single part cuts it off"},
        "PSV-103": {"nothing plugs the way", "no single part cuts it off",
                    "set for all it protects"},
        "PSV-106": {"open way from all it protects"},
        "PSV-107": {"tapped for what it is sized for"},
        "PSV-110": {"outlet drains away, no pocket", "low point of the outlet drained",
                    "valve body drained"},
    }  # fmt: skip
    found = {tag: {c.name for c in all_of_it if c.verdict == "differs"}
             for tag, all_of_it in checks.check_all(PLANT).items()}  # fmt: skip
    assert {tag: names for tag, names in found.items() if names} == planted


def test_every_way_to_lose_protection_by_one_part_of_the_demo_plant():
    """Read off the file by hand: each block valve, demister and connection without another way."""
    loose = {(c.item, c.name) for c in FOUND.loose}
    assert loose == {("V-100", "HV-1001"), ("V-101", "DM-101"), ("E-101 hot", "DM-101"),
                     ("V-103", "HV-1063")}  # fmt: skip
    held = {(c.item, c.name) for c in FOUND.held}
    assert held == {("V-100", "HV-1002"), ("V-102", "HV-1041"), ("V-102", "HV-1042"),
                    ("V-104", "HV-1052"), ("V-105", "HV-1071"), ("V-105", "HV-1072"),
                    ("L-105", "HV-1082"), ("V-101", "HV-1031"), ("V-101", "HV-1032"),
                    ("E-101 hot", "HV-1031"), ("E-101 hot", "HV-1032")}  # fmt: skip


def test_one_change_mends_each_way_and_makes_no_other():
    for cut in FOUND.loose:
        after = isolate(isolation.mended(NETWORK, cut))
        assert not [c for c in after.loose if (c.item, c.name) == (cut.item, cut.name)]
        assert {(c.item, c.name) for c in after.cuts} <= {(c.item, c.name) for c in FOUND.cuts}
        assert cut.mend and cut.words.startswith(cut.name)


def test_a_valve_closed_by_the_panel_is_what_the_map_says():
    for name in isolation.closable(NETWORK):
        after = isolation.left_with(NETWORK, name)
        lost = {i for i, left in after.items() if len(left) < len(FOUND.in_service[i])}
        assert lost == {c.item for c in FOUND.cuts if c.name == name}, name


# ---------------------------------------------------------------- isolation, small cases by hand
def valve(tag="PSV-1", item="V-1", **more):
    return Placement(tag, item, destination="end", **more)


def hand(tag, **more):
    return Part("block valve", tag, **more)


def cuts(*placed, items=("V-1",), **more):
    return {(c.item, c.name, c.left, c.needed)
            for c in isolate(Network(items, placed, **more)).cuts}  # fmt: skip


def test_two_in_duty_each_behind_its_own_block_valve():
    """Either closed leaves one of two: too little, though something is left."""
    two = valve(duty=2, valve_inlets=((hand("A"),), (hand("B"),)))
    assert cuts(two) == {("V-1", "A", 1, 2), ("V-1", "B", 1, 2)}
    # of two where one is enough, neither is a cut
    assert cuts(two, needs={"V-1": 1}) == set()


@pytest.mark.parametrize("key, left", [("K", None), ("", 0)])
def test_a_spare_behind_an_interlock_opens_before_the_other_closes(key, left):
    one = valve(spare=1, valve_inlets=(
        (hand("A", interlock=key),), (hand("B", interlock=key, position="closed"),)))  # fmt: skip
    assert cuts(one) == (set() if left is None else {("V-1", "A", left, 1)})
    assert isolation.exchange(one, open_end=True)[0] is bool(key)
    # on a header the other valve would blow out of the outlet that is taken apart
    assert isolation.exchange(one)[0] is False
    shut = replace(one, valve_outlets=((hand("C", secured="locked open"),),) * 2)
    assert isolation.exchange(shut)[0] is bool(key)


def keyed(*, out_b=(), in_b=(), **more):
    """A in duty, B blocked in, their inlet valves on one key, outlets locked open."""
    lock = hand("OA", secured="locked open"), hand("OB", secured="locked open")
    key = dict(secured="interlocked", interlock="K")
    return valve(spare=1, valve_inlets=((hand("IA", **key),),
                                        (hand("IB", position="closed", **key), *in_b)),
                 valve_outlets=((lock[0],), (*out_b, lock[1])), **more)  # fmt: skip


@pytest.mark.parametrize("more, names", [
    ({}, set()),
    ({"out_b": (hand("X", secured="no"),)}, {"X"}),  # shut by anybody once B is the valve
    ({"out_b": (hand("X"),)}, {"X"}),  # not given is not held
    ({"in_b": (Part("strainer", "S"),)}, {"S"}),
    ({"inlet": (hand("H", secured="no"),)}, set()),  # cuts it off as drawn already
])  # fmt: skip
def test_what_would_cut_off_the_spare_is_found_while_the_other_valve_is_in(more, names):
    one = keyed(**more)
    assert {c.name for _, c in isolation.cuts_with_spare(one)} == names
    assert all(state == "with PSV-1B in for PSV-1A"
               for state, _ in isolation.cuts_with_spare(one))  # fmt: skip
    turned = isolation.with_spare(one, 0, 1)
    assert isolate(Network(("V-1",), (turned,))).in_service == {"V-1": ("PSV-1B",)}
    assert isolation.with_spare(turned, 1, 0) == one


def test_a_lock_goes_on_again_the_other_way():
    lock = dict(position="closed", secured="locked closed")
    one = valve(spare=1, valve_inlets=((hand("A", secured="car sealed open"),),
                                       (hand("B", **lock),)))  # fmt: skip
    a, b = (way[0] for way in isolation.with_spare(one, 0, 1).valve_inlets)
    assert (a.secured, a.position) == ("car sealed closed", "closed")
    assert (b.secured, b.position) == ("locked open", "open")
    assert isolation.exchange(one, open_end=True) == (
        True, "PSV-1B opens before PSV-1A is shut, by the procedure of its lock alone")  # fmt: skip


def test_an_interlock_at_the_inlet_does_not_open_a_shut_outlet():
    ins = (hand("A", interlock="K"),), (hand("B", interlock="K", position="closed"),)
    one = valve(spare=1, valve_inlets=ins, valve_outlets=((), (hand("C", position="closed"),)))
    assert cuts(one) == {("V-1", "A", 0, 1)} and isolation.exchange(one)[0] is False


def test_three_way_valves_need_one_linkage():
    def one(*links):
        ways = [[Part("three-way valve", tag, interlock=link, position=p)]
                for tag, link in zip("XY", links) for p in ("open", "closed")]  # fmt: skip
        return valve(spare=1, valve_inlets=tuple(map(tuple, ways[:2])),
                     valve_outlets=tuple(map(tuple, ways[2:])))  # fmt: skip

    assert cuts(one("L", "L")) == set() and len(cuts(one("", ""))) == 2


def test_a_check_valve_passes_one_way_alone():
    lead = (Part("check valve", "NRV-1"),)
    one, items = valve(item="V-2"), ("V-1", "V-2")
    there = Connection("c", "V-1", "V-2", parts=lead)
    back = Connection("c", "V-2", "V-1", parts=lead)
    assert cuts(one, items=items, connections=(there,)) == {("V-1", "NRV-1", 0, 1)}
    found = isolate(Network(items, (one,), (back,)))
    assert found.short == ("V-1: nothing protects it",)


def test_the_same_tag_in_two_ways_closes_both_and_is_said():
    a, b = (valve(t, i, inlet=(hand("HV-1"),)) for t, i in (("P-1", "V-1"), ("P-2", "V-2")))
    found = isolate(Network(("V-1", "V-2"), (a, b)))
    assert {(c.item, c.left) for c in found.cuts} == {("V-1", 0), ("V-2", 0)}
    assert "HV-1" in found.wrong[0]


def test_a_part_that_is_passed_before_and_behind_a_valve_counts_once():
    """V-2 reaches A, and B by the same HV-C; B blows into V-2, whose way out is HV-C once more."""
    a, b = valve("A"), Placement("B", "V-1", destination="V-2")
    way = Connection("c", "V-2", "V-1", parts=(hand("HV-C"),))
    found = isolate(Network(("V-1", "V-2"), (a, b), (way,)))
    assert found.in_service == {"V-1": ("A", "B"), "V-2": ("A", "B")}
    assert {(c.item, c.name, c.left) for c in found.cuts} == {("V-1", "HV-C", 1),
                                                             ("V-2", "HV-C", 0)}  # fmt: skip


@pytest.mark.parametrize("network, words", [
    (Network(("V-1", "V-2"), (valve(),)), "V-2: nothing protects it"),
    (Network(("V-1",), (valve(), valve("PSV-9", "V-9"))), "PSV-9 protects nothing: 'V-9'"),
    (Network(("V-1", "V-2"), (Placement("A", "V-1", destination="V-2"),
                              Placement("B", "V-2", destination="V-1"))), "a loop"),
    (Network(("V-1",), (Placement("A", "V-1", destination="nowhere"),)), "A leads nowhere"),
    (Network(("V-1",), (valve(),), (Connection("c", "V-1", "V-8"),)), "connection c: 'V-8'"),
    (Network(("V-1",), (valve(inlet=(hand("H", position="closed"),)),)), "nothing protects it as"),
    (Network(("V-1",), (valve(inlet=(hand("H"), hand("H"))),)), "part H: stands 2 times"),
    (Network(("V-1",), (valve(), valve())), "PSV-1: is placed 2 times"),
])  # fmt: skip
def test_what_is_wrong_is_said_and_the_rest_is_found(network, words):
    more = valve("PSV-X", "X", inlet=(hand("HX"),))
    whole = replace(network, items=(*network.items, "X"), placements=(*network.placements, more))
    found = isolate(whole)
    assert any(words in said for said in (*found.wrong, *found.short))
    assert [c.name for c in found.cuts if c.item == "X"] == ["HX"]


# ---------------------------------------------------------------- reading
def test_a_bad_part_costs_its_own_placement_alone(tmp_path):
    text = demo_plant_path().read_text(encoding="utf-8")
    path = tmp_path / "mine.toml"
    path.write_text(text.replace('{ kind = "demister", tag = "DM-101" }', '{ kind = "magnet" }'),
                    encoding="utf-8")  # fmt: skip
    found = isolate(network_of(load_plant(path)))
    assert any("PSV-103" in w and "'magnet' is not known" in w for w in found.wrong)
    assert ("V-100", "HV-1001") in {(c.item, c.name) for c in found.cuts}
    assert any(w.startswith("V-101: nothing protects it") for w in found.short)
    reason = reasons.reason_of(load_plant(path), "PSV-103")
    assert reason.verdict == safeguard.UNKNOWN and "magnet" in reason.words


@pytest.mark.parametrize("old, new, words", [
    ('secured = "no", inside_diameter = "77.92 mm"', 'secured = "rope"', "secured = 'rope'"),
    ('tapping = "liquid"\nliquid_case = false', 'tapping = "side"\nliquid_case = false', "tapping"),
    ("in_duty = 1", "in_duty = 0", "1 in duty at least"),
])  # fmt: skip
def test_words_that_are_not_known_are_refused_with_the_tag(tmp_path, old, new, words):
    text, path = demo_plant_path().read_text(encoding="utf-8"), tmp_path / "mine.toml"
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    _, wrong = placements(load_plant(path))
    assert len(wrong) == 1 and wrong[0].startswith("PSV-") and words in wrong[0]


@pytest.mark.parametrize("old, new, words", [
    ("test_access = true", 'test_access = "yes"', "must be true or false"),
    ("in_duty = 1", "in_duty = 1.5", "must be a whole number"),
    ('inlet = [{ kind = "nozzle"', 'inlet = ["nozzle", { kind = "nozzle"', "list of tables"),
    ('tag = "HV-1001"', 'label = "HV-1001"', "key 'label' is not known"),
    ('tapping_drop = "0 bar"', "tapping_drop = 0", "write it as text"),
])  # fmt: skip
def test_the_file_s_own_slips_are_refused_in_words(tmp_path, old, new, words):
    text, path = demo_plant_path().read_text(encoding="utf-8"), tmp_path / "mine.toml"
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError, match=words):
        load_plant(path)


@pytest.mark.parametrize("make", [
    lambda: Part("hose"), lambda: Part("nozzle", position="closed"),
    lambda: Part("three-way valve"), lambda: hand("H", secured="locked open", position="closed"),
    lambda: hand("H", secured="car sealed closed"),
    lambda: isolation.with_spare(keyed(), 0, 0), lambda: isolation.with_spare(keyed(), 0, 2),
    lambda: Part("pipe", inside_diameter=-1.0), lambda: Part("pipe", inside_diameter=float("nan")),
    lambda: valve(duty=0), lambda: valve(duty=True), lambda: valve(spare=-1),
    lambda: valve(valve_inlets=((), ())), lambda: valve(orientation="askew"),
    lambda: valve(height_above_header=float("inf")), lambda: valve(discharge_height=-1.0),
    lambda: Connection("c", "V-1", "V-1"), lambda: placement(PLANT, "V-101"),
    lambda: checks.case_of(PLANT, "NO-1"), lambda: isolation.left_with(NETWORK, "HV-0"),
])  # fmt: skip
def test_what_can_not_be_is_refused(make):
    with pytest.raises(InputError):
        make()


SMALL = """
[site]
name = "small"
atmosphere = "1.01325 bara"
[headers.FH]
service = "flare"
lowest_pressure_gauge = "0 barg"
highest_pressure_gauge = "0.5 barg"
[equipment.V-1]
mawp_gauge = "16 barg"
[equipment.V-2]
mawp_gauge = "16 barg"
[relief_valves.PSV-1]
protects = "V-1"
kind = "conventional"
designation = "3L4"
set_pressure_gauge = "16 barg"
destination = "FH"
sized_for = "gas"
[placements.PSV-1]
inlet = [{ kind = "block valve", tag = "HV-1", secured = "no" }]
"""
VALVE_OF_THE_SAME_TAG = """[relief_valves.V-2]
protects = "V-2"
kind = "conventional"
designation = "3L4"
set_pressure_gauge = "16 barg"
destination = "FH"
sized_for = "gas"
[placements.V-2]
inlet = []
"""


def small(tmp_path, more="", **changes):
    text = SMALL + more
    for old, new in changes.items():
        text = text.replace(old, new)
    path = tmp_path / "small.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_what_a_file_calls_equipment_has_a_way_like_any_vessel(tmp_path):
    found = isolate(network_of(load_plant(small(tmp_path))))
    assert [(c.item, c.name) for c in found.cuts] == [("V-1", "HV-1")]
    assert found.short == ("V-2: nothing protects it",) and not found.wrong


@pytest.mark.parametrize("more, words", [
    ("[placements.PSV-7]\ninlet = []\n", "'PSV-7'"),
    ("[placements.V-2]\ninlet = []\n", "'V-2': is no relief device"),
    ('[unprotected.V-7]\nreason = "x"\n', "unprotected V-7: is no item"),
    ('[connections.c]\nfrom = "V-1"\nto = "V-1"\n', "connection c: leads from V-1 to itself"),
    ('tapped_on = "V-8"\n', "PSV-1 protects nothing: 'V-8' is no item"),
])  # fmt: skip
def test_a_slip_of_the_file_is_said_with_its_tag_and_the_rest_is_found(tmp_path, more, words):
    found = isolate(network_of(load_plant(small(tmp_path, more))))
    assert any(words in said for said in found.wrong)
    assert any(said.startswith("V-2: nothing protects it") for said in found.short)


def test_a_valve_with_the_tag_of_an_item_is_left_out_in_words_and_the_rest_is_judged(tmp_path):
    path = small(tmp_path, VALVE_OF_THE_SAME_TAG + '[study]\ntitle = "t"\n')
    found = recompute(open_study(path))
    assert any("tag 'V-2' is used twice" in words for words in found.faults)
    said = " ".join([*found.faults, *(w for item in found.items.values() for w in item.words)])
    assert "attribute" not in said and "V-1" in found.items


def test_the_page_of_a_study_lists_every_way_to_lose_protection_and_what_mends_it(tmp_path):
    (table,) = (b for b in ways_blocks(PLANT) if hasattr(b, "rows"))
    assert {(row[0], row[1].split()[0]) for row in table.rows} == {
        (c.item, c.name) for c in FOUND.cuts
    }
    assert all(row[3] for row in table.rows)
    said = [b.text for b in ways_blocks(load_plant(small(tmp_path))) if hasattr(b, "boxed")]
    assert said == ["V-2: nothing protects it."]


# ---------------------------------------------------------------- one check at a time
@pytest.mark.parametrize("tag, changes, name", [
    ("PSV-104", {"inlet": (hand("H", secured="no"),)}, "nothing closes the inlet"),
    ("PSV-104", {"outlet": (hand("H", secured="no"),)}, "nothing closes the outlet"),
    ("PSV-104", {"inlet": (Part("strainer", "S"),)}, "nothing plugs the way"),
    ("PSV-104", {"inlet": (Part("check valve", "N"),)}, "no check valve in the way"),
    ("PSV-104", {"inlet": (Part("control valve", "C"),)}, "no control valve in the way"),
    ("PSV-104", {"inlet": (Part("exchanger", "E"),)}, "no exchanger before it"),
    ("PSV-104", {"tapping": "low point"}, "tapped for what it is sized for"),
    ("PSV-104", {"inlet_drains_back": False}, "inlet drains back"),
    ("PSV-104", {"inlet": (Part("nozzle", inside_diameter=0.05),)}, "inlet as wide as the valve"),
    ("PSV-104", {"outlet": (Part("pipe", inside_diameter=0.05),)}, "outlet as wide as the valve"),
    # 3 % of 21 barg is 0.63 bar
    ("PSV-104", {"tapping_drop": 0.64 * BAR}, "near the source"),
    ("PSV-104", {"disturbance": "elbow", "disturbance_diameters": 9.0},
     "far from what disturbs the flow"),
    ("PSV-104", {"disturbance": "control valve", "disturbance_diameters": 24.0},
     "far from what disturbs the flow"),
    ("PSV-104", {"inlet": (Part("rupture disk", "D", telltale=False),)},
     "telltale between disk and valve"),
    ("PSV-104", {"outlet_drains_away": False}, "outlet drains away, no pocket"),
    ("PSV-104", {"enters_header": "from below"}, "enters its header from above"),
    ("PSV-104", {"height_above_header": -0.1}, "stands above its header"),
    ("PSV-104", {"orientation": "on its side"}, "stands upright"),
    ("PSV-104", {"bonnet_vent": "plugged"}, "bonnet vented as its kind asks"),  # balanced
    ("PSV-105", {"bonnet_vent": "open"}, "bonnet vented as its kind asks"),  # conventional
    ("PSV-104", {"water_may_stand": True, "winterised": False}, "kept from freezing"),
    ("PSV-104", {"may_solidify": True, "traced": False}, "kept from setting solid"),
    ("PSV-104", {"supported": False}, "outlet held against its reaction"),
    ("PSV-104", {"test_access": False}, "reached for test and repair"),
    ("PSV-109", {"discharge_direction": "sideways"}, "open end points where nobody is"),
    ("PSV-109", {"discharge_direction": "up", "weep_hole": False}, "weep hole of the open stack"),
    ("PSV-109", {"outlet_drains_away": False, "low_point_drained": False},
     "low point of the outlet drained"),
    ("PVSV-111", {"discharge_height": 2.9}, "open end above people"),
    ("PSV-105", {"valve_inlets": ((), ())}, "the spare comes in first"),
    ("PSV-105", {"valve_outlets": ((), ())}, "the spare comes in first"),
    ("PSV-105", {"valve_outlets": ((hand("C", secured="locked open"),),
                                   (hand("D", secured="no"),))},
     "nothing cuts it off with the spare in"),
    ("PSV-104", {"tapping": "vapour space", "liquid_case": True},
     "tapped for what it is sized for"),
    ("PSV-104", {"outlet": (Part("rupture disk", "D", telltale=False),)},
     "telltale between disk and valve"),
    ("PSV-109", {"discharge_direction": "up"}, "open end points where nobody is"),  # liquid, up
    ("PSV-109", {"rain_cover": True}, "nothing stands before the jet"),
])  # fmt: skip
def test_each_check_sees_its_own_fault(tag, changes, name):
    assert name in differing(tag, **changes)
    assert name not in differing(tag)


def closed(tag, secured="locked closed", **more):
    return hand(tag, position="closed", secured=secured, **more)


@pytest.mark.parametrize("changes", [
    {"inlet": (closed("H"),)}, {"outlet": (closed("H", "no"),)},
    {"inlet": (closed("H", "interlocked", interlock="K"),)},
    {"outlet": (Part("check valve", "N", passes="backward"),)},
    {"duty": 2, "valve_inlets": ((closed("H"),), ()), "valve_outlets": ((), ())},
    {"destination": "V-102"}, {"destination": "nowhere"}, {"tapped_on": "V-9"},
])  # fmt: skip
def test_a_valve_whose_way_is_not_open_as_drawn_covers_nothing(changes):
    """Nothing stands open between the item and an end: no protection, whatever secures it."""
    placed = tuple(replace(p, **changes) if p.tag == "PSV-104" else p for p in NETWORK.placements)
    network = replace(NETWORK, placements=placed)
    found = checks.check(checks.case_of(PLANT, "PSV-104", network, isolate(network)))
    assert "its way is open as drawn" in {c.name for c in found if c.verdict == "differs"}
    assert reasons.reason_from(found).verdict == safeguard.FAILS


def test_a_key_that_opens_no_other_valve_holds_nothing():
    lone = (hand("H", secured="interlocked", interlock="K"),)
    placed = tuple(replace(p, inlet=lone) if p.tag == "PSV-104" else p for p in NETWORK.placements)
    network = replace(NETWORK, placements=placed)
    found = checks.check(checks.case_of(PLANT, "PSV-104", network, isolate(network)))
    words = {c.name: c.reason for c in found if c.verdict == "differs"}
    assert "no other valve opens" in words["nothing closes the inlet"]


@pytest.mark.parametrize("tag, changes, name", [
    ("PSV-104", {"inlet": (Part("nozzle", inside_diameter=0.1), hand("H", secured="locked open"))},
     "inlet as wide as the valve"),  # the valve's own bore is not given
    ("PSV-105", {"valve_outlets": ((hand("C", secured="locked open"),), (hand("D"),))},
     "nothing cuts it off with the spare in"),
    ("PSV-101", {"disturbance": None}, "far from what disturbs the flow"),  # it stands on a line
    ("PSV-104", {"source_distance": 30.0, "tapping_drop": None}, "near the source"),
    ("PSV-104", {"inlet": (Part("rupture disk", "D"),)}, "telltale between disk and valve"),
])  # fmt: skip
def test_what_is_half_given_is_not_given(tag, changes, name):
    case = checks.case_of(PLANT, tag, NETWORK, FOUND)
    found = checks.check(replace(case, placement=replace(case.placement, **changes)))
    assert {c.name: c.verdict for c in found}[name] == "not given"
    assert reasons.reason_from(found).verdict != safeguard.COVERS


def test_a_block_valve_of_which_nothing_is_said_makes_it_not_known():
    placed = tuple(replace(p, inlet=(hand("H", inside_diameter=0.3),)) if p.tag == "PSV-104" else p
                   for p in NETWORK.placements)  # fmt: skip
    network = replace(NETWORK, placements=placed)
    found = checks.check(checks.case_of(PLANT, "PSV-104", network, isolate(network)))
    open_ = {c.name for c in found if c.verdict == "not given"}
    assert open_ == {"nothing closes the inlet", "no single part cuts it off"}
    assert reasons.reason_from(found).verdict == safeguard.UNKNOWN


def test_one_disk_without_telltale_is_enough_to_differ():
    disks = Part("rupture disk", "D", telltale=False), Part("rupture disk", "E")
    assert "telltale between disk and valve" in differing("PSV-104", inlet=disks)


def test_a_pilot_that_senses_at_the_valve_feels_what_is_lost_before_it():
    """4 % of 21 barg is 0.84 bar: above 3 %, and no remote line takes it away."""
    case = checks.case_of(PLANT, "PSV-104", NETWORK, FOUND)
    pilot = replace(case, device=copy(case.device))
    pilot.device.kind = "pilot"
    for sensing, verdict in (("at the valve", "differs"), ("at the vessel", "agrees"),
                             (None, "not given")):  # fmt: skip
        placed = replace(case.placement, tapping_drop=0.84 * BAR, sensing=sensing)
        found = {c.name: c.verdict for c in checks.check(replace(pilot, placement=placed))}
        assert found["near the source"] == verdict, sensing


def test_the_foot_of_a_stack_is_a_low_point_that_a_drain_mends():
    foot = dict(outlet_drains_away=False, low_point_drained=True, body_drain="piped")
    drained = differing("PSV-109", **foot)
    assert drained == differing("PSV-109")


def test_a_fence_stands_for_height_and_direction():
    low = dict(discharge_direction="sideways", discharge_height=1.0, liquid_case=False)
    names = {"open end points where nobody is", "open end above people"}
    assert names <= set(differing("PSV-109", **low))
    assert not names & set(differing("PSV-109", end_fenced=True, **low))


def test_what_is_not_given_is_said_and_never_agrees():
    bare = Placement("PSV-104", "V-102", destination="FH")
    case = replace(checks.case_of(PLANT, "PSV-104", NETWORK, FOUND), placement=bare)
    found = {c.name: c.verdict for c in checks.check(case)}
    for name in ("tapped for what it is sized for", "inlet drains back", "stands upright",
                 "outlet drains away, no pocket", "bonnet vented as its kind asks",
                 "enters its header from above", "kept from freezing"):  # fmt: skip
        assert found[name] == "not given", name


def test_there_are_some_thirty_checks_each_with_source_and_severity():
    names = {}
    for all_of_it in checks.check_all(PLANT).values():
        for c in all_of_it:
            assert c.source and c.severity in (1, 2, 3, 4) and c.verdict
            names[c.name] = c
    assert len(checks.CHECKS) >= 30 and len(names) >= 27


def test_straight_lengths_are_those_of_the_rules():
    # API 520-II, from memory: 10 after an elbow, 15 after two in a plane, 20 not in a plane, 25
    # after a control valve: at the length agrees, a diameter less differs
    for words, n in (("elbow", 10), ("two elbows", 15), ("two planes", 20), ("control valve", 25)):
        name, kind = "far from what disturbs the flow", {"disturbance": words}
        assert name not in differing("PSV-104", disturbance_diameters=float(n), **kind)
        assert name in differing("PSV-104", disturbance_diameters=n - 1.0, **kind)


# ---------------------------------------------------------------- one valve for several items
@pytest.mark.parametrize("mawp, head, drop, fire, by_hand", [
    (72.0, 0.0, 3.7, False, (79.2 - 3.7) / 1.1),  # the drop rules: 68.64
    (18.0, 0.5, 0.0, False, 17.5),  # the head at set: 17.5, against (19.8 - 0.5)/1.1 = 17.545
    (18.0, 0.5, 0.3, False, (19.8 - 0.8) / 1.1),  # 17.27
    (18.0, -0.3, 0.0, False, (19.8 + 0.3) / 1.1),  # it stands higher: 18.27, against 18.3
    (10.0, 0.0, 1.0, True, (12.1 - 1.0) / 1.21),  # in fire 21 %
    (1.5, 0.0, 0.1, False, 1.5 - 0.1),  # 3 psi above and below: the floors cancel
])  # fmt: skip
def test_highest_set_by_hand(mawp, head, drop, fire, by_hand):
    found = shared_set.highest_set(mawp * BAR, head * BAR, drop * BAR, fire)
    assert found / BAR == pytest.approx(by_hand, rel=1e-9)


def test_the_weakest_of_all_items_rules():
    found = {s.item: s.highest_set / BAR
             for s in shared_set.shared_items(PLANT, NETWORK, "PSV-106")}  # fmt: skip
    # E-105 hot, 18 barg, stands 0.3 - 0.3 = 0 bar above the column's bottom: 18
    assert [found[i] for i in ("C-101", "V-103", "E-105 hot")] == pytest.approx([18.0] * 3)
    assert found["E-104 cold"] == pytest.approx(22.0 - 0.7)  # head at set
    assert min(found.values()) == pytest.approx(18.0) and len(found) == 7


def test_of_two_ways_beside_each_other_the_worse_one_is_taken():
    """3.7 bar the first, 4.8 bar the second, written the other way round: (79.2 - 4.8)/1.1."""
    more = Connection("d", "V-101", "E-101 hot", line_drop=4.8 * BAR, static_head=0.0)
    for ways in ((*NETWORK.connections, more), (more, *NETWORK.connections)):
        found = shared_set.shared_items(PLANT, replace(NETWORK, connections=ways), "PSV-103")
        assert found[1].highest_set / BAR == pytest.approx((79.2 - 4.8) / 1.1)
    unknown = (*NETWORK.connections, replace(more, line_drop=None))
    found = shared_set.shared_items(PLANT, replace(NETWORK, connections=unknown), "PSV-103")
    assert found[1].highest_set != found[1].highest_set  # not known


def test_nothing_left_and_not_known():
    with pytest.raises(InputError, match="nothing of the MAWP is left"):
        shared_set.highest_set(5e5, line_drop=6e5)
    nan = float("nan")
    assert shared_set.highest_set(nan) != shared_set.highest_set(nan)
    assert shared_set.highest_set(5e5, nan) != shared_set.highest_set(5e5, nan)


# ---------------------------------------------------------------- arrangement, by hand
def test_arrangement_by_hand():
    """API 526 areas [in2]: D 0.110, G 0.503, J 1.287, K 1.838, L 2.853."""
    inch = 0.0254**2
    areas = {"big": 2.8 * inch, "small": 0.09 * inch}
    found = {(str(c.arrangement), c.staggered): c for c in arrangement.choices(areas, 16 * BAR, 2)}
    one = found["1 x L", False]
    assert one.wasted == pytest.approx(2.853 / 2.8 - 1) and one.chatters == ("small",)
    assert one.shares["small"] == pytest.approx(0.09 / 2.853)
    two = found["1 x D + 1 x L", True]
    assert two.sets == pytest.approx((16 * BAR, 16.8 * BAR))  # MAWP and 105 % of it
    assert two.shares["small"] == pytest.approx(0.09 / 0.110) and not two.chatters
    assert found["1 x D + 1 x L", False].chatters == ("small",)  # together they open together
    assert two.wasted == pytest.approx((0.110 + 2.853) / 2.8 - 1)


def test_a_spare_is_bought_and_never_counted():
    areas = {"big": 1800 * MM2}
    bare = arrangement.choices(areas, 16 * BAR, 1)[0]
    with_spare = arrangement.choices(areas, 16 * BAR, 1, spare=True)[0]
    assert with_spare.wasted == bare.wasted and with_spare.shares == bare.shares
    assert with_spare.bought == pytest.approx(2 * orifices.orifice_area("L") / (1800 * MM2))
    assert (bare.isolation, with_spare.isolation) == (arrangement.BARE, arrangement.THREE_WAY)
    assert arrangement.isolation_for(2, 1) == arrangement.INTERLOCK


def test_chatter_begins_below_a_quarter_of_what_opens():
    edge = rules.SMALL_SHARE.value * orifices.orifice_area("L")
    for small, chatters in ((edge * 1.001, ()), (edge * 0.999, ("small",))):
        one = arrangement.choices({"big": 1840 * MM2, "small": small}, 16 * BAR, 1)[0]
        assert one.chatters == chatters


def test_a_small_valve_is_found_that_answers_the_small_event():
    """1500 and 60 mm2, areas of API 526: the best mix, G + K, uses 60/324.5 of G, below 25 %.

    D (70.97) takes 85 %, with K (1185.8) it is too small, with L (1840.6) the least that is enough.
    """
    found = arrangement.choices({"big": 1500 * MM2, "small": 60 * MM2}, 16 * BAR, 2)
    quiet = [c for c in found if not c.chatters]
    assert [str(c.arrangement) for c in quiet] == ["1 x D + 1 x L"] and quiet[0].staggered
    assert quiet[0].shares["small"] == pytest.approx(60 / 70.97, rel=1e-3)


def test_the_events_of_a_whole_summary_by_hand():
    """V-104's summary, rounded [mm2]: H 506.5 alone takes 179 to 506 (35 % and more), H and K
    (1185.8) together 598 (35 %), H and two K 1592 (55 %) and 2587 (90 %): none below 25 %.
    """
    areas = {"a": 2587, "b": 1592, "c": 598, "d": 475, "e": 344, "f": 279, "g": 179}
    found = arrangement.choices({k: v * MM2 for k, v in areas.items()}, 16 * BAR, 3)
    (quiet,) = [c for c in found if not c.chatters]
    assert str(quiet.arrangement) == "1 x H + 2 x K" and quiet.staggered
    for event, opened in (("a", 2878.1), ("b", 1692.3), ("c", 1692.3), ("d", 506.5), ("g", 506.5)):
        assert quiet.shares[event] == pytest.approx(areas[event] / opened, rel=1e-3)
    assert quiet.wasted == pytest.approx(2878.1 / 2587 - 1, abs=1e-3)


def test_one_after_the_other_opens_as_many_as_are_needed():
    assert arrangement.opened_area(1.0, (1.0, 2.0), True) == 1.0
    assert arrangement.opened_area(1.1, (1.0, 2.0), True) == 3.0
    assert arrangement.opened_area(9.0, (1.0, 2.0), True) == 3.0


@pytest.mark.parametrize("run, every, spare, by_hand", [
    (5.0, 2.0, False, 2),  # after 2 and 4 years
    (4.0, 2.0, False, 1),  # the second falls into the stop
    (4.0, 5.0, False, 0), (5.0, 2.0, True, 0),
])  # fmt: skip
def test_stops_by_hand(run, every, spare, by_hand):
    assert arrangement.stops(run, every, spare) == by_hand


def test_why_a_spare():
    assert not arrangement.spare_wanted(4.0, 4.0)[0] and arrangement.spare_wanted(4.0, 3.0)[0]
    assert arrangement.spare_wanted(4.0, 4.0, "fouling")[0]
    assert arrangement.spare_wanted(4.0, 4.0, critical=True)[0]
    with pytest.raises(InputError):
        arrangement.spare_wanted(4.0, 4.0, "dusty")


# ---------------------------------------------------------------- the judge
LOAD = ReliefLoad("closed_outlet", 1.0, Gas(17.6e5 + 101_325.0, 320.0, molar_mass=29.0, k=1.4))
GOOD = dict(set_pressure_gauge=16e5, designation="3L4", mawp_gauge=16e5, certified_for=("gas",),
            inlet="looked at", outlet="looked at", back_pressure=101_325.0,
            header_pressure=101_325.0, takes=("gas",), destination="FH")  # fmt: skip


def judged(position=None):
    return safeguard.cover(safeguard.Valve("PSV-1", position=position, **GOOD), LOAD)


def test_a_place_that_nobody_gives_is_not_known():
    found = judged()
    assert found.verdict == safeguard.UNKNOWN
    assert [r.subject for r in found.why_not] == ["position"]
    assert "not given" in found.about("position").words


def test_a_place_that_somebody_answers_for():
    found = judged("walked down by A. Reader")
    assert found.verdict == safeguard.COVERS and "A. Reader" in found.about("position").words
    with pytest.raises(InputError, match="position"):
        judged("")


@pytest.mark.parametrize("tag, verdict", [
    ("PSV-100", safeguard.FAILS), ("PSV-103", safeguard.FAILS), ("PSV-107", safeguard.FAILS),
    ("PSV-106", safeguard.FAILS), ("PSV-110", safeguard.UNKNOWN), ("PSV-105", safeguard.COVERS),
    ("PSV-104", safeguard.COVERS), ("PSV-109", safeguard.COVERS),
])  # fmt: skip
def test_a_known_fault_takes_the_cover_away(tag, verdict):
    reason = reasons.reason_of(PLANT, tag, NETWORK, FOUND)
    assert reason.verdict == verdict and judged(reason).verdict == verdict


def test_a_lock_is_credited_in_words():
    words = reasons.reason_of(PLANT, "PSV-104", NETWORK, FOUND).words
    assert "HV-1041 is locked open" in words and "HV-1042 is locked open" in words
    assert words.count("can still be closed") == 1
