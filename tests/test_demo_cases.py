"""The demo plant's causes side by side: every credible one is there, ladders can be read."""

import numpy as np
import pytest

from relieflib import credible, demo, orifices, sizing
from relieflib.causes import power_and_air_failure as power, tube_rupture
from relieflib.demo import common, events
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.notebook import charts
from relieflib.nozzle.gas import Gas
from relieflib.plant import load_plant
from relieflib.properties import State
from relieflib.report import figures
from relieflib.units import absolute

PLANT = load_plant()
LONG = {
    "one check valve stuck open, no resistance, gas": 14.27e-3,
    "emergency vent in a fire, coefficient of discharge 0.5": 0.1938,
    "limited by heat or inflow": 36e-6,
}


def apart(figure):
    """No two rungs' names, and no two of their sizes, overlap."""
    for axis in figure.axes:
        for side in ("left", "right"):
            boxes = [
                t.get_window_extent()
                for t in axis.texts
                if t.get_visible() and t.get_ha() == side and t.get_text()
            ]
            for i, one in enumerate(boxes):
                assert not any(one.overlaps(other) for other in boxes[i + 1 :]), i


@pytest.mark.parametrize("tag", demo.ITEMS)
def test_ladders_of_the_plant(tag, inside):
    sized = demo.cases(PLANT, tag)
    assert len(sized) >= 3 and all(s.required_area > 0 for s in sized.values())
    shown = figures.ladder(sized)
    inside(shown.figure)
    apart(shown.figure)
    assert all(cause in shown.alt for cause in sized)


@pytest.mark.parametrize("tag", demo.ITEMS)
def test_every_credible_cause_is_sized_or_says_why_not(tag):
    # held against the list of causes, which its owner edits apart from this code
    sized = {demo.published(words) for words in demo.cases(PLANT, tag)}
    unsized = demo.unsized(tag)
    assert not sized & set(unsized)
    assert sized | set(unsized) == set(credible.load_matrix().credible_for(tag))
    assert all(len(reason.split()) >= 6 for reason in unsized.values())


def test_long_names_stay_on_the_page(inside):
    for unit_set in ("SI", "US"):
        figure = figures.new_figure()
        figures.build_area_ladder(figure, {"areas": LONG}, unit_set)
        inside(figure)


# what the notebooks say of the plant: bypasses opened by hand beside the valves they go round
NOT_COVERED = {"control valve and bypass open", "valve opened by mistake, bypass too"}


def test_installed_valves_against_their_causes():
    for tag in ("V-100", "V-102", "V-104", "V-105", "C-101"):
        valve = PLANT.protecting(tag)[0]
        installed = orifices.parse_designation(valve.designation).area
        for cause, s in demo.cases(PLANT, tag).items():
            covered = s.required_area <= installed
            assert covered == (cause not in NOT_COVERED), (tag, cause)


def test_power_failure_of_the_column_is_its_loss_of_reflux():
    # by the plant's file: bus B stops P-102 alone; bus A takes the air, so FV-103 shuts the steam
    sized = demo.cases(PLANT, "C-101")
    bus_b, cooling = sized["power failure, bus B"].load, sized["loss of cooling"].load
    assert bus_b.mass_flow == pytest.approx(cooling.mass_flow, rel=1e-12)
    assert bus_b.cause == "power_and_air_failure"
    rules = demo.column.consequences(PLANT)
    lost = power.effects(PLANT, power.Event("bus", "A"))
    assert power.relief_load("PSV-106", lost, rules) is None


def recomputed(step):
    if step.equation:
        assert step.evaluate() == pytest.approx(step.value, rel=1e-9), step.name
    return bool(step.equation)


def test_every_step_of_the_cases_can_be_recomputed():
    # the equation of a working, with its inputs, gives its value: what a checker's calculator does
    count = 0
    for tag in demo.ITEMS:
        for s in demo.cases(PLANT, tag).values():
            for step in s.load.working:
                count += recomputed(step)
    for c in events.consequences(PLANT, lasts=1e9):
        for step in c.load.working:
            count += recomputed(step)
    assert count > 80


def test_another_tag():
    for ask in (lambda tag: demo.cases(PLANT, tag), demo.unsized):
        with pytest.raises(InputError, match="use one of"):
            ask("V-999")


# ------------------------------------------------------------ failures of power and air
# By hand from the plant's file. Bus A: P-101, cooling water, air; bus B: P-102, agitator. While air
# is stored no control valve moves. P-101 stands: PSV-100 by leaking check valves, until FV-101
# shuts. Water or reflux lost: PSV-106, until FV-103 shuts the steam. PV-101 shut: PSV-103; while it
# is not, all the off-gas, warm and with no absorbent, passes it into V-104: PSV-105, and PSV-103
# for the rest. LV-103 shut alone: the feed fills the column, PSV-106.
LIFT = {
    "motor P-101": {"PSV-100"}, "motor P-102": {"PSV-106"}, "bus B": {"PSV-106"},
    "bus A, air still stored": {"PSV-100", "PSV-103", "PSV-105", "PSV-106"}, "bus A": {"PSV-103"},
    "site, air still stored": {"PSV-100", "PSV-103", "PSV-105", "PSV-106"}, "site": {"PSV-103"},
    "air at one valve LV-103": {"PSV-106"},
    "air at one valve PV-101": {"PSV-103"}, "air at one valve LV-101": {"PSV-103"},
    "air at one valve LV-102": {"PSV-104"}, "air plant-wide": {"PSV-103"},
    "utility cooling water": {"PSV-106"},
}  # fmt: skip


def test_which_valves_lift_in_which_event():
    loads = events.loads_of(PLANT, events.consequences(PLANT))
    assert {event: set(found) for event, found in loads.items() if found} == LIFT
    drain = events.loads_of(PLANT, events.consequences(PLANT), "CD")
    assert {e: set(found) for e, found in drain.items() if found} == {
        "air at one valve FV-101": {"PSV-101"}, "air plant-wide": {"PSV-101"}}  # fmt: skip
    hot = events.loads_of(PLANT, events.consequences(PLANT, batch_temperature=373.15))
    with_batch = {e for e, found in hot.items() if "PSV-110" in found}
    assert with_batch == {e for e in LIFT if e.startswith(("bus", "site", "utility"))}


def test_header_takes_the_largest_sum_of_one_event():
    loads = events.loads_of(PLANT, events.consequences(PLANT))
    vapor, liquid = events.flows(loads), events.flows(loads, liquid=True)
    assert set(liquid) == {f"air at one valve LV-10{n}" for n in (1, 2, 3)}
    d = power.disposal_load(vapor)
    both = loads["bus A, air still stored"]
    assert d.mass_flow == pytest.approx(sum(load.mass_flow for load in both.values()))
    assert d.governing == "bus A, air still stored" and d.sum_of_maxima > 1.35 * d.mass_flow
    # mass balance of the first moment: what comes in, less what V-104 normally exports
    rest = both["PSV-103"].mass_flow + both["PSV-105"].mass_flow
    assert rest == pytest.approx((7900 - 3950) / 3600)  # streams 1 and 7 of the file


def test_gas_load_of_the_separator_follows_what_still_comes_in():
    # mass balance: absorbent and outlet gone, all that comes in as gas leaves through PSV-103
    for flow in (0.8, 1.6):
        loads = events.loads_of(PLANT, events.consequences(PLANT, off_gas=flow))
        assert loads["bus A"]["PSV-103"].mass_flow == pytest.approx(flow)
    with_absorbent = events.loads_of(PLANT, events.consequences(PLANT))["air at one valve PV-101"]
    assert with_absorbent["PSV-103"].mass_flow == pytest.approx(3950 / 3600)  # stream 6 of the file


@pytest.mark.parametrize("celsius", [45.0, 60.0, 80.0])
def test_time_to_runaway(celsius):
    # Townsend and Tou, Thermochim. Acta 37 (1980) 1 (from memory): adiabatic time to maximum rate
    # T^2/(E/R dT/dt), without consumption, which makes it longer, by a tenth or so at a rise of
    # 170 K
    item, T = PLANT["R-101"], celsius + 273.15
    left = 1 - (np.array(item.test_temperatures) - item.test_temperatures[0]) / item.adiabatic_rise
    slope, ln_rate = np.polyfit(
        1 / np.array(item.test_temperatures), np.log(np.array(item.test_rates) / left), 1
    )
    closed_form = T**2 / (-slope * np.exp(ln_rate + slope / T))
    assert 1.0 < events.time_to_runaway(PLANT, T) / closed_form < 1.2


def test_picture_of_the_events(inside):
    for temperature in (None, 373.15):
        rules = events.consequences(PLANT, batch_temperature=temperature)
        loads = events.loads_of(PLANT, rules)
        vapor = events.flows(loads)
        result = {
            "by_event": vapor, "liquid": events.flows(loads, liquid=True), "event": "bus B",
            "disposal": power.disposal_load(vapor), "valves": ["PSV-100", "PSV-103", "PSV-104",
                                                               "PSV-106", "PSV-110"],
        }  # fmt: skip
        for unit_set in ("SI", "US"):
            figure = figures.new_figure()
            alt = charts.update_events(charts.build_events(figure, result, unit_set), result)
            inside(figure)
            apart(figure)
            assert "governs" in alt and all(event in alt for event in vapor)
    crowd = {str(i): {"PSV-100": 1.0} for i in range(charts.MOST_EVENTS)}
    with pytest.raises(InputError, match="events"):
        charts.update_events(charts.build_events(figures.new_figure(), result),
                             result | {"by_event": crowd})  # fmt: skip


def test_steam_of_one_tube_is_as_the_list_says():
    # the case has no area on the ladder, but its words give numbers: steam through both ends alone
    item, P1 = PLANT["E-103"], common.pressures(PLANT, PLANT["C-101"])[0]
    up = State("Water", absolute(item.hot_mawp_gauge), quality=1.0)
    down = State("Water", P1, enthalpy=up.enthalpy)
    source = Gas(up.pressure, up.temperature, molar_mass=up.molar_mass, k=up.k, Z=up.Z)
    steam = Gas(P1, down.temperature, molar_mass=down.molar_mass, k=down.k, Z=down.Z)
    load = tube_rupture.relief_load(source, steam, item.tube_inside_diameter)
    s = sizing.size(load, Device("conventional", PLANT["PSV-106"].set_pressure_gauge))
    words = demo.unsized("C-101")["tube rupture"]
    assert f"some {round(load.mass_flow * 3600, -2):.0f} kg/h" in words
    assert f"{10 * round(s.required_area * 1e5)} mm2" in words
    assert s.letter < PLANT["PSV-106"].designation[1]
