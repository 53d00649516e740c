"""A reader's own case: on the panel, in the study, and read back from it."""

import ipywidgets
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from relieflib import load_plant
from relieflib.errors import InputError
from relieflib.notebook import (
    OwnNumbers,
    gas_of,
    line_rows,
    other_row,
    own_gas_controls,
    own_panel,
    quantity,
    source_of,
    stream_of,
    valve_controls,
)
from relieflib.notebook.line_table import LineTable, Row
from relieflib.notebook.own_case import as_case, named, pure, relieving
from relieflib.nozzle.gas import Gas
from relieflib.study.case_lines import read
from relieflib.study.how_sure import of_case, ranges_of
from relieflib.study.recomputing import sizing_of
from relieflib.study.store import cases_of, read_text
from relieflib.summary import read_summary

pytest.importorskip("tomlkit")
PLANT = load_plant()
START = Gas(80e5, 313.15, molar_mass=5.86, k=1.338, Z=1.0)


def inputs(inflow, outflow, **more):
    return {"inflow": inflow, "stream": gas_of(PLANT, **more), "outflow": outflow}


@pytest.fixture
def own(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "my-work"))  # not there yet
    controls = [
        *own_gas_controls(START, 313.15),
        quantity("inflow", 2.0, 0.01, 60.0),
        quantity("outflow", 0.0, 0.0, 60.0),
        *valve_controls(16e5, 0.5e5),
    ]
    rows = ("fluid", "kind", "pressure")
    return OwnNumbers(own_panel(PLANT, "closed_outlet", controls, inputs, rows), "one valve")


def kept(own):
    found, faults = cases_of(read_text(own.path)[1])
    assert not faults
    return found


def test_what_is_kept_is_the_case_and_gives_the_area_on_show(own):
    for given in ({}, {"fluid": "Propane", "temperature": 360.0}, {"kind": "balanced"}):
        own.panel.set(**given)
        own.save("V-1", note="guess", who="A. Reader")
        case, on_show = kept(own)[-1], own.panel.result["sizing"].required_area
        assert sizing_of(case).required_area == pytest.approx(on_show, rel=1e-12)
        assert (case.cause, case.who, case.note) == ("closed_outlet", "A. Reader", "guess")
        assert case.date and case.version
    assert [case.name for case in kept(own)] == [
        "closed outlet", "closed outlet (2)", "closed outlet (3)"]  # fmt: skip
    assert len(read_summary(own.path.parent / "load-summary.csv")) == 3


def test_the_reader_s_own_fluid_is_sized_and_not_the_demo_plant_s(own):
    # choked ideal gas: A is as sqrt(T Z/M)/f(k); propane's M 44.1 in place of 5.86 needs far less.
    # By CoolProp's M, cp0 and Z at 360 K, 110 % of 16 barg (ISO 4126: the same equation)
    own.panel.set(fluid="propane", temperature=360.0)
    P, T = 17.6e5 + 101325.0, 360.0
    M = 1e3 * PropsSI("M", "Propane")
    cp0 = PropsSI("CP0MOLAR", "P", P, "T", T, "Propane")
    Z, k = PropsSI("Z", "P", P, "T", T, "Propane"), cp0 / (cp0 - 8.314463)
    flux = P * np.sqrt(M / (Z * 8314.463 * T) * k * (2 / (k + 1)) ** ((k + 1) / (k - 1)))
    found = own.panel.result["sizing"]
    # the real fluid's isentrope stands a few per cent beside the ideal one at Z 0.8
    assert found.required_area == pytest.approx(2.0 / (0.975 * flux), rel=0.05)
    assert dict(own.panel.rows)["fluid"] == "n-Propane, real fluid"
    assert 'fluid = "n-Propane"' not in own.panel.words


def test_site_and_device_stand_in_the_case_itself(own):
    own.save("V-1")
    case = kept(own)[-1]
    pressure = case.inputs["stream"]["pressure"]
    assert pressure["mawp_gauge"] == "16 barg" and pressure["atmosphere"] == "1.01325 bara"
    assert case.device["set_pressure_gauge"] == "16 barg"
    assert case.back_pressure == "1.51325 bara"


@pytest.mark.parametrize(
    "typed, fluid",
    [
        ("", ""),
        ("propane", "n-Propane"),
        ("carbon dioxide", "CarbonDioxide"),
        ("propane 60, n-butane 40 mol %", "n-Propane[0.6]&n-Butane[0.4]"),
        ("Propane[0.6]&n-Butane[0.4]", "n-Propane[0.6]&n-Butane[0.4]"),
    ],
)
def test_a_fluid_by_name_or_composition(typed, fluid):
    assert named(typed) == fluid


@pytest.mark.parametrize(
    "typed, words",
    [
        ("unobtainium", "no fluid 'unobtainium'"),
        ("propane 60, n-butane 40 %", "by mole or by mass"),
        ("propane 60, n-butane 60 mol %", "neither to 1 nor to 100"),
    ],
)
def test_a_fluid_that_is_none(own, typed, words):
    before = own.panel.values
    with pytest.raises(InputError, match=words):
        own.panel.set(fluid=typed)
    assert own.panel.values == before
    own.panel.controls["fluid"].line.value = typed
    assert words in own.panel.words
    with pytest.raises(InputError, match="out of date"):
        own.save("V-1")
    assert not own.path.exists()


def test_a_named_fluid_that_is_no_gas_there_is_refused(own):
    with pytest.raises(InputError, match="is liquid, no gas"):
        own.panel.set(fluid="propane", temperature=300.0)  # boils at 325 K under 18.6 bara
    at = {"molar_mass": 44.1, "k": 1.1, "upstream_Z": 0.9}
    with pytest.raises(InputError, match="no gas"):
        source_of("propane", upstream_pressure=30e5, upstream_temperature=300.0, **at)
    with pytest.raises(InputError, match="one pure fluid"):
        pure("propane 60, n-butane 40 mol %")


def test_saving_needs_an_item_and_says_what_it_did(own):
    own.button.click()
    assert "name what is protected" in own.said.value and not own.path.exists()
    own.item.value, own.by.value = "V-7", "A. Reader"
    own.button.click()
    assert "Saved: &#x27;closed outlet&#x27; of V-7" in own.said.value
    assert "Kept fixed here: one valve" in repr(own)
    assert OwnNumbers.who == "A. Reader"
    OwnNumbers.who = ""


def test_a_summary_that_cannot_take_its_row_loses_no_case(own):
    own.path.parent.mkdir()
    (own.path.parent / "load-summary.csv").write_text("not,ours\n1,2\n", encoding="utf-8")
    assert "no row of the load summary" in own.save("V-1")
    assert len(kept(own)) == 1


def test_words_that_stand_in_the_file_stay(own):
    own.path.parent.mkdir()
    own.path.write_text("# mine\n[site]\natmosphere = '0.9 bara'  # measured\n", encoding="utf-8")
    own.save("V-1")
    text = own.path.read_text(encoding="utf-8")
    assert text.startswith("# mine\n[site]\natmosphere = '0.9 bara'  # measured\n")


def test_a_panel_without_a_case_has_no_form():
    with pytest.raises(InputError, match="no case_of"):
        OwnNumbers(ipywidgets.HTML())


def test_a_disk_keeps_its_coefficient():
    table = {"inflow": 1.0, "stream": {"is": "gas", "pressure": relieving(PLANT, 16e5),
             "temperature": 300.0, "molar_mass": 28.0, "k": 1.4}}  # fmt: skip
    case = as_case(PLANT, "closed_outlet", table, {"kind": "disk", "Kd": 0.5, "mawp_gauge": 16e5})
    whole = as_case(PLANT, "closed_outlet", table, {"kind": "disk", "mawp_gauge": 16e5})
    assert case.device == {"kind": "disk", "atmosphere": "1.01325 bara", "Kd": 0.5}
    # by hand: 0.62 of a disk alone (API 520-I (2020), 5.11) over 0.5
    ratio = sizing_of(case).required_area / sizing_of(whole).required_area
    assert ratio == pytest.approx(0.62 / 0.5)


# ------------------------------------------------------------ ranges
def test_ranges_are_stated_on_the_form_and_kept(own):
    ranges = own.ranges
    ranges.which.value, ranges.low.value, ranges.high.value = "inflow", "6480", "8640"
    ranges.add.click()
    assert "6480 to 8640 kg/h" in ranges.said.value
    ranges.state("back_pressure_gauge", 0.0, 1e5)
    own.save("V-1")
    case = kept(own)[-1]
    assert case.ranges["inflow"] == {"low": "6480 kg/h", "high": "8640 kg/h"}
    found = of_case(case, samples=400)
    # A is as W: by hand 1.8/2 and 2.4/2 of the area as stated
    bar = next(b for b in found.bars if b.name == "inflow")
    assert bar.least / found.area == pytest.approx(0.9)
    assert bar.most / found.area == pytest.approx(1.2)
    # choked by far: the back pressure moves nothing
    flat = next(b for b in found.bars if b.name == "back_pressure")
    assert flat.least == pytest.approx(flat.most)
    ranges.ask.click()
    assert ranges.picture.value[:4] == b"\x89PNG" and "samples beyond" in ranges.found.value
    ranges.clear.click()
    assert "every input counts as known" in ranges.said.value
    own.save("V-1")
    assert kept(own)[-1].ranges == {}


NO_RANGE = [
    ("1,5", "9", "decimal point"),
    ("", "9", "empty"),
    ("9000", "8000", "below high"),
    ("8000", "9000", "outside its range"),
]


@pytest.mark.parametrize("low, high, words", NO_RANGE)
def test_a_range_that_is_none_is_not_taken(own, low, high, words):
    own.ranges.which.value, own.ranges.low.value, own.ranges.high.value = "inflow", low, high
    own.ranges.add.click()
    assert words in own.ranges.said.value and not own.ranges.stated


def test_a_range_that_no_longer_holds_its_value_is_said_when_saving(own):
    own.ranges.state("inflow", 1.8, 2.4)
    own.panel.set(inflow=3.0)
    with pytest.raises(InputError, match="lies outside its range"):
        own.save("V-1")
    assert not own.path.exists()


def test_nothing_is_worked_out_without_a_range(own):
    own.ranges.ask.click()
    assert "none is stated, and none is invented" in own.ranges.said.value


def ranged(**ranges):
    table = {"inflow": 1.0, "stream": {"is": "gas", "pressure": 18e5, "temperature": 300.0,
             "molar_mass": 28.0, "k": 1.4}}  # fmt: skip
    case = as_case(PLANT, "closed_outlet", table, {"mawp_gauge": 16e5})
    return type(case)(**{**vars(case), "ranges": ranges})


def test_inputs_that_move_as_one():
    low_high = {"low": "25 °C", "high": "35 °C"}
    found = of_case(ranged(**{"stream.temperature": low_high}), samples=64)
    # A is as sqrt(T)
    assert found.bars[0].most / found.bars[0].least == pytest.approx((308.15 / 298.15) ** 0.5)
    normal = low_high | {"mean": "27 °C", "deviation": "3 K"}
    read = ranges_of(ranged(**{"stream.temperature": normal}))["stream.temperature"]
    assert read.mean == pytest.approx(300.15) and read.deviation == pytest.approx(3.0)


@pytest.mark.parametrize(
    "ranges, words",
    [
        ({"inflow": "3 kg/h"}, "inflow: write"),
        ({"inflow": {"low": "3 kg/h"}}, "inflow: write"),
        ({"inflow": {"low": 3.0, "high": "9 kg/h"}}, "with its unit"),
        ({"stream.colour": {"low": "1 kg/h", "high": "2 kg/h"}}, "no number among the inputs"),
        ({"inflow": {"low": "3000 kg/h", "high": "4000 kg/s", "most": 1}}, "inflow: write"),
    ],
)
def test_ranges_of_a_file_that_cannot_be_read(ranges, words):
    with pytest.raises(InputError, match=words):
        of_case(ranged(**ranges))


def test_what_needs_more_beside_the_case_is_kept_too(own):
    # without the credit for what still leaves, the same gas needs more: area goes with the flow
    def whole(inflow, outflow, **more):
        return inputs(inflow, 0.0, **more)

    rows = ("kind", "pressure")
    controls = [
        *own_gas_controls(START, 313.15), quantity("inflow", 2.0, 0.01, 60.0),
        quantity("outflow", 0.5, 0.0, 60.0), *valve_controls(16e5, 0.5e5),
    ]  # fmt: skip
    panel = own_panel(PLANT, "closed_outlet", controls, inputs, rows, also={"whole": whole},
                      either=["whole"])  # fmt: skip
    said = OwnNumbers(panel).save("V-2", "outlet shut")
    assert "'outlet shut, whole' needs more area" in said
    both = {case.name: sizing_of(case).required_area for case in kept(own) if case.item == "V-2"}
    assert both["outlet shut, whole"] / both["outlet shut"] == pytest.approx(2.0 / 1.5, rel=1e-9)
    panel.set(outflow=0.0)
    assert "needs more" not in OwnNumbers(panel).save("V-3", "as much")


# ------------------------------------------------------------ liquids, and lines
def of_fluid(**given):
    at = {"molar_mass": 44.1, "k": 1.1, "Z": 0.85, "temperature": 300.0, "fluid": "",
          "density": 800.0, "viscosity": 1e-3, "saturation_pressure": 1e4,
          "mawp_gauge": 16e5}  # fmt: skip
    return stream_of(PLANT, **at | given)


def case_of(values):
    inputs = {"mass_flow": 10.0, "stream": of_fluid(**values)}
    return as_case(PLANT, "stated", inputs, {"mawp_gauge": 16e5, "back_pressure_gauge": 0.0})


def test_a_liquid_by_its_numbers_is_sized_as_one():
    # API 520-I, 5.8: A = W/(Kd Kv sqrt(2 rho dp)), Kd 0.65; Kv of so thin a liquid above 0.999
    found = sizing_of(case_of({"phase": "liquid"}))
    by_hand = 10.0 / (0.65 * np.sqrt(2 * 800.0 * 17.6e5))
    assert found.required_area == pytest.approx(by_hand, rel=1e-3)
    assert found.load.stream.saturation_pressure == 1e4
    row = other_row(case_of, {"phase": "gas"}, "SI")
    assert row[0] == "the same as liquid" and row[1].startswith(f"{found.required_area * 1e6:.4g}")


def test_a_liquid_by_name_is_the_real_one_and_no_gas_passes_for_it():
    found = sizing_of(case_of({"phase": "liquid", "fluid": "propane"})).load.stream
    assert found.phase == "real fluid" and found.inlet_kind == "liquid"
    assert found.density == pytest.approx(PropsSI("D", "P", 17.6e5 + 101325.0, "T", 300.0,
                                                  "Propane"))  # fmt: skip
    with pytest.raises(InputError, match="is gas, no liquid"):
        of_fluid(phase="liquid", fluid="propane", temperature=360.0)
    both = {"phase": "gas", "fluid": "propane", "temperature": 360.0}
    assert other_row(case_of, both, "SI")[1] == "no liquid there"
    boils = {"phase": "gas", "saturation_pressure": 5e5}
    assert "flashes" in other_row(case_of, boils, "SI")[1]


def test_the_rows_of_a_line_become_data_and_the_same_line_again():
    rows = [
        Row("entrance flush", "3"), Row("pipe", "3", "80", length=1.2),
        Row("gate valve", "3", bore=0.07), Row("long elbow", "3", count=2),
        Row("other", "3", K=0.4), Row("pipe", "4", length=2.0, valves=2),
    ]  # fmt: skip
    table = LineTable("line", rows)
    stream = of_fluid(phase="gas")
    inputs = {"mass_flow": 2.0, "stream": stream, "lines": {"inlet": line_rows(table.value)}}
    case = as_case(PLANT, "stated", inputs, {"mawp_gauge": 16e5})
    assert case.lines["inlet"][1] == {
        "kind": "pipe", "nps": "3", "schedule": "80", "length": "1.2 m"}  # fmt: skip
    assert read(case.lines, PLANT.atmosphere)["inlet"].parts == table.value.parts


def test_only_what_may_be_the_case_governs(own):
    # a way that is shown for comparison is no cause of the reader's vessel
    def whole(inflow, outflow, **more):
        return inputs(inflow, 0.0, **more)

    controls = [*own_gas_controls(START, 313.15), quantity("inflow", 2.0, 0.01, 60.0),
                quantity("outflow", 0.5, 0.0, 60.0), *valve_controls(16e5, 0.5e5)]  # fmt: skip
    also = {"whole": whole}
    shown_only = own_panel(PLANT, "closed_outlet", controls, inputs, also=also)
    assert "governs" not in shown_only.alt + own.panel.alt
    either = own_panel(PLANT, "closed_outlet", controls, inputs, also=also, either=["whole"])
    assert "governs" in either.alt.partition("whole")[2]
