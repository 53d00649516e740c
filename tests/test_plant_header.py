"""The header of a plant: read from its file, checked, solved by event, asked by each verdict."""

from dataclasses import replace

import numpy as np
import pytest

from relieflib import demo, safeguard, summary
from relieflib.datasheet import Row, check_row, read_words
from relieflib.disposal import plant_tree
from relieflib.errors import InputError
from relieflib.lines.line import march
from relieflib.lines.line_fluids import fluid_in_line
from relieflib.plant import demo_plant_path, load_plant
from relieflib.sizing import ReliefLoad

TEXT = demo_plant_path().read_text(encoding="utf-8")
BAR = 1e5


def plant_of(tmp_path, *changes):
    text = TEXT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    path = tmp_path / "plant.toml"
    path.write_text(text, encoding="utf-8")
    return load_plant(path)


@pytest.fixture(scope="module")
def plant():
    return demo.plant()


@pytest.fixture(scope="module")
def faced(plant):
    return plant.faced("FH")


# ---------------------------------------------------------------- reading
def test_the_tree_of_the_demo_plant():
    """The way of each valve to the tip, as drawn in the file (invented)."""
    plant = load_plant()
    tree = plant_tree.tree(plant, "FH")
    assert tree.way("PSV-105") == ("PSV-105", "SH-2", "MH-1", "KD-1", "FS-1")
    assert tree.own("PSV-105") == ("PSV-105",) and tree.joins("PSV-105") == "SH-2"
    assert set(tree.valves) == {d.tag for d in plant_tree.devices(plant, "FH")}
    assert set(tree.lowest.values()) == {plant.header_pressures("PSV-105")[0]}
    assert plant_tree.tree(plant, "CD") is None and plant_tree.tree(plant, "ATM") is None
    tip = tree["FS-1"].line
    assert tip.parts[-1].diameter == 0.2545 and tip.length == pytest.approx(40.0)


def test_drum_and_stack_are_read_in_si():
    """By hand from the file: 20 min, 0.4 mm, 25 m3/h, -29 °C, 9 m/s, 3.5 barg."""
    plant = load_plant()
    drum, stack = plant["KD-1"], plant["FS-1"]
    assert (drum.holdup_time, drum.droplet_diameter) == pytest.approx((1200.0, 4e-4))
    assert (drum.pump_out, drum.slops, drum.vapour_passes) == pytest.approx((25 / 3600, 1.5, 1))
    assert drum.lowest_metal_temperature == pytest.approx(244.15)
    assert (stack.wind_velocity, stack.height, stack.tip_diameter) == pytest.approx((9, 40, 0.2545))
    assert stack.design_pressure_gauge == pytest.approx(3.5e5) and stack.header == "FH"
    assert [s.tag for s in plant.of("disposal.stacks")] == ["FS-1"]


MAIN = 'service = "main header, from the unit to the knock-out drum"\nto = "KD-1"'
SUB = 'service = "sub-header of feed drum and batch reactor"\nto = "MH-1"'


@pytest.mark.parametrize("old, new, words", [
    (MAIN, MAIN.replace("KD-1", "SH-1"), "loop: "),
    (MAIN, MAIN.replace("KD-1", "V-101"), "flows into 'V-101', which is not there"),
    (MAIN, MAIN.replace("KD-1", "MH-9"), "to = 'MH-9' is not in the file"),
    ('joins = "SH-2"', 'joins = "SH-9"', "has no way out: it joins 'SH-9'"),
    ('joins = "SH-2"\n', "", "has no way out: it joins no pipe"),
    (SUB + '\ninside_diameter = "202.7 mm"', SUB + '\ninside_diameter = "102.3 mm"',
     "SH-1 is narrower than PSV-110, which flows into it"),
    ('header = "FH"', 'header = "XX"', "header = 'XX' is not in the file"),
    ('seal_depth = "0.51 m"', 'seal_depth = "1.5 m"', "its seal holds 0.147 barg"),
    ('seal_density = "1000 kg/m3"\n', "", "seal_depth needs seal_density"),
    ('items = ["C-101"]', 'items = ["C-999"]', "'C-999' is not in the file"),
    ("[disposal.drums.KD-1]", "[disposal.tanks.KD-1]", "section 'disposal.tanks' is not known"),
    ('tip_length = "3.0 m"\n', "", "tip_length is missing"),
])  # fmt: skip
def test_a_tree_that_is_none_is_said_on_reading(tmp_path, old, new, words):
    with pytest.raises(InputError, match=words) as said:
        plant_of(tmp_path, (old, new))
    assert "plant.toml" in str(said.value)


def test_two_stacks_of_one_header(tmp_path):
    stack = TEXT[
        TEXT.index("[disposal.stacks.FS-1]") : TEXT.index(
            "\n[", TEXT.index("[disposal.stacks.FS-1]")
        )
    ]
    second = stack.replace("FS-1", "FS-2")
    with pytest.raises(InputError, match="FS-1 and FS-2 are both its stack"):
        plant_of(tmp_path, (stack, stack + "\n" + second))


def test_a_plant_without_a_tree_keeps_its_typed_pressures(tmp_path):
    """By hand from the file: 0.05 and 1.4 barg."""
    a, b = (
        TEXT.index("# The way from the valves to the flare"),
        TEXT.index("\n[", TEXT.index("[disposal.stacks.FS-1]")),
    )
    bare = plant_of(tmp_path, (TEXT[a:b], ""))
    bare = bare.with_releases({})
    assert bare.faced("FH") is None and bare.facings("PSV-105") == ()
    assert bare.worst_event("PSV-105") == ""
    low, high = bare.header_pressures("PSV-105")
    assert (bare.gauge(low), bare.gauge(high)) == pytest.approx((0.05e5, 1.4e5))
    with pytest.raises(InputError, match="event 'bus A' is not known"):
        bare.header_pressures("PSV-105", "bus A")
    with pytest.raises(InputError, match="no stack, so there is no tree"):
        plant_tree.faced(bare, "CD", {})


# ---------------------------------------------------------------- the demo plant, event by event
def test_releases_are_those_of_the_failures_and_of_each_cause(plant):
    """One function: the events of power and air, every cause alone, every fire zone."""
    events, everything = demo.events, demo.releases(plant)
    rules = events.consequences(plant)
    for event, found in events.loads_of(plant, rules).items():
        ours = {v: x.mass_flow for v, x in everything.get(event, {}).items()
                if plant[v].destination == "FH"}  # fmt: skip
        assert ours == {v: x.mass_flow for v, x in found.items()}, event
    assert set(everything["fire in zone north"]) == {"PSV-100", "PSV-110"}
    assert set(everything["fire in zone middle"]) == {"PSV-103", "PSV-104", "PSV-105"}
    alone = everything["V-104: control valve opens"]
    assert list(alone) == ["PSV-105"]


def test_the_typed_pressure_is_not_below_what_is_computed(plant):
    """Notebooks that know no event take 1.4 barg: on the safe side of the tree."""
    for item in plant_tree.devices(plant, "FH"):
        low, high = plant.header_pressures(item.tag)
        typed = plant.headers["FH"].highest_pressure_gauge
        assert plant.gauge(low) == pytest.approx(0.05e5) and low < high
        assert plant.gauge(high) <= typed
    assert plant.gauge(plant.header_pressures("PSV-105")[1]) > 0.9 * typed  # and not far above it


def test_a_valve_alone_in_its_event_sees_its_own_load_in_the_header(plant, faced):
    """From the drum back to the sub-header, pipe by pipe; and nobody else stands before it."""
    event = "V-104: control valve opens"
    net, load = faced.network, demo.releases(plant)[event]["PSV-105"]
    P = net.inlet_pressure["KD-1"][net.at(event)]
    for tag in ("MH-1", "SH-2"):
        P = march(net.tree[tag].line, fluid_in_line(load.stream, P), load.mass_flow, P)[0].pressure
    assert plant.header_pressures("PSV-105", event)[1] == pytest.approx(P, rel=1e-9)
    seen = faced.facings["PSV-105", event]
    assert seen.superimposed == pytest.approx(plant.header_pressures("PSV-105")[0], rel=1e-12)
    assert seen.opens.holds and "opens too late" not in seen.against


def test_others_of_the_event_delay_a_conventional_valve(plant, faced):
    """Bus A with air stored: the column's 24 t/h stand behind the others before they open."""
    event = "bus A, air still stored"
    for tag in ("PSV-100", "PSV-103", "PSV-105"):
        seen = faced.facings[tag, event]
        rise = seen.superimposed - seen.lowest
        assert rise > 0.2e5 and "opens too late" in seen.against
        assert seen.opens.value == pytest.approx(plant[tag].set_pressure_gauge + rise)
    assert "opens too late" not in faced.facings["PSV-106", event].against  # balanced


def test_each_pipe_has_its_own_governing_event(faced):
    """By W sqrt(ZT/M), by hand from the releases; the largest mass flow is another event."""
    net = faced.network
    for tag in ("SH-1", "SH-2", "SH-3", "MH-1", "FS-1"):
        load = {}
        for i, (event, found) in enumerate(net.releases.items()):
            users = [r for v, r in found.items() if v in net.tree.users[tag]]
            if not users:
                continue
            if all(r.dry for r in users):
                W = sum(r.mass_flow for r in users)
                moles = sum(r.mass_flow / r.fluid.molar_mass for r in users)
                c = [r.fluid.k / (r.fluid.k - 1) * r.mass_flow / r.fluid.molar_mass for r in users]
                T = sum(x * r.fluid.temperature for x, r in zip(c, users)) / sum(c)
                Z = sum(r.fluid.Z * r.mass_flow / r.fluid.molar_mass for r in users) / moles
                load[event] = W * np.sqrt(Z * 8314.462618 * T / (W / moles))
                assert net.load[tag][i] == pytest.approx(load[event], rel=1e-9)
            else:
                load[event] = net.load[tag][i]
        assert net.governing(tag) == max(load, key=load.get)
    assert net.governing("MH-1") != net.heaviest("MH-1")


def test_flow_asked_for_isothermal_is_within_a_few_per_cent(plant, faced):
    """Below Ma 0.3 the two differ little: DI-01, 0.1 %; here the header alone is compared."""
    other = plant.faced("FH", "isothermal").network
    for tag in ("MH-1", "SH-1", "SH-2", "SH-3"):
        assert other.inlet_pressure[tag] == pytest.approx(
            faced.network.inlet_pressure[tag], rel=0.02
        )


# ---------------------------------------------------------------- verdicts
def test_cover_asks_the_event_of_its_load(plant, faced):
    valve = safeguard.Valve.of(plant, "PSV-105")
    loads = demo.loads_of(plant, "V-104")
    quiet, busy = loads["control valve opens"], loads["power failure, bus A, air still stored"]
    assert safeguard.opening(valve.against(quiet)).verdict == safeguard.COVERS
    assert safeguard.opening(valve.against(busy)).verdict == safeguard.FAILS
    assert safeguard.cover(valve, quiet).about("opening").verdict == safeguard.COVERS
    assert safeguard.cover(valve, busy).about("opening").verdict == safeguard.FAILS
    seen = faced.facings["PSV-105", "bus A, air still stored"]
    against = valve.against(busy)
    assert against.header_pressure >= seen.header_pressure
    assert against.others_pressure >= seen.superimposed


def test_a_load_of_no_known_event_is_judged_against_the_worst_of_all(plant):
    valve = safeguard.Valve.of(plant, "PSV-105")
    load = demo.loads_of(plant, "V-104")["control valve opens"]
    other = ReliefLoad(load.cause, 1.01 * load.mass_flow, load.stream)
    assert valve.against(other) is valve
    assert valve.header_pressure == plant.header_pressures("PSV-105")[1]
    assert safeguard.cover(valve, other).about("opening").verdict == safeguard.FAILS
    quiet = replace(valve, header_pressure=None, events=())
    assert safeguard.cover(quiet, other).about("opening").verdict == safeguard.COVERS


def test_a_load_of_several_events_is_judged_against_the_worst_of_them(plant, faced):
    """PSV-106 sends the same 24 t/h alone and on bus A: the header of bus A counts."""
    load = demo.loads_of(plant, "C-101")["loss of cooling"]
    against = safeguard.Valve.of(plant, "PSV-106").against(load)
    same = [f for f in faced.of("PSV-106") if f.load.mass_flow == load.mass_flow]
    assert {"motor P-102", "bus A, air still stored"} <= {f.event for f in same}
    assert against.header_pressure == max(f.header_pressure for f in same)


def test_a_fire_on_the_high_pressure_separator_is_one():
    """21 % of MAWP is allowed in it: its load is found there (ASME BPVC XIII)."""
    plant = load_plant()
    load = demo.loads_of(plant, "V-101")["exterior fire"]
    assert load.fire and load.stream.pressure == plant.relieving_pressure("V-101", fire=True)


# ---------------------------------------------------------------- datasheet and summary
SHEET = """tag: {tag}
set pressure: 16 barg
mawp: 16 barg
device type: conventional
phase: gas
load: 10518 kg/h
molar mass: 5.86
k: 1.338
Z: 1
temperature: 40 C
letter: L
variable superimposed back pressure: {variable} bar
built-up back pressure: {built} bar
superimposed back pressure: 0.05 barg
"""


def sheet_checks(plant, tag="PSV-105", variable="0.1", built="0.5"):
    row = read_words(SHEET.format(tag=tag, variable=variable, built=built)).rows[0]
    return {c.name: c for c in check_row(row, search=False, plant=plant)}


def test_a_sheet_is_held_against_the_header(plant, faced):
    found = sheet_checks(plant)
    total = found["back pressure against the header"]
    variable = found["variable back pressure against the header"]
    assert total.verdict == variable.verdict == "differs"
    most = max(f.back_pressure for f in faced.of("PSV-105"))
    assert total.recomputed == pytest.approx(most / BAR, rel=1e-9) and total.unit == "bara"
    assert faced.worst("PSV-105") in total.reason
    rise = max(f.superimposed - f.lowest for f in faced.of("PSV-105")) / BAR
    assert variable.recomputed == pytest.approx(rise, rel=1e-9)
    enough = sheet_checks(plant, variable="1.2", built="8.0")
    assert enough["back pressure against the header"].verdict == "agrees"
    assert enough["variable back pressure against the header"].verdict == "agrees"


def test_a_sheet_of_no_known_valve_or_header_has_no_such_check(plant):
    names = {"back pressure against the header", "variable back pressure against the header"}
    assert not names & set(sheet_checks(None)) and not names & set(sheet_checks(plant, "PSV-900"))
    assert not names & set(sheet_checks(load_plant()))  # nobody said what is released together
    assert not names & set(sheet_checks(plant, "V-101"))
    assert isinstance(read_words(SHEET.format(tag="x", variable="0", built="0")).rows[0], Row)


def test_the_summary_names_the_event_of_the_back_pressure(plant, faced):
    case = demo.cases(plant, "V-104")["control valve opens"]
    row = summary.summary_row(case, "V-104", back_event=plant.worst_event("PSV-105"))
    assert row["back pressure of event"] == faced.worst("PSV-105")
    assert plant.worst_event("PSV-109") == ""  # into the open: no tree
    assert summary.summary_row(case, "V-104")["back pressure of event"] == ""
