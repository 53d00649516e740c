"""The let-down of the demo plant: valve alone, trip alone, both."""

import numpy as np
import pytest

from relieflib import demo
from relieflib.demo import let_down
from relieflib.kinds import YEAR
from relieflib.protection import layers, response
from relieflib.safeguard import COVERS, FAILS, UNKNOWN, Valve, matrix

PLANT = demo.plant()


def test_the_load_is_the_same_with_a_trip():
    before = demo.drums.receiver(PLANT)
    trip = let_down.trip(PLANT)
    table = matrix([Valve.of(PLANT, "PSV-105")], before, [trip])
    for words, load in before.items():
        assert table[words, "XV-101"].load is load
        expected = UNKNOWN if words == let_down.CAUSE else FAILS  # code and target not given
        assert table[words, "XV-101"].verdict == expected, words


def test_time_by_the_closed_form():
    # choked valve, gas as warm as before it: dP/dt = k R T W/(M V), by hand; 14 to the limit
    case = let_down.case_in_time(PLANT)
    W = demo.drums.receiver(PLANT)[let_down.CAUSE].mass_flow
    gas, item = PLANT.fluids["hydrogen_rich"], PLANT["V-104"]
    volume = np.pi * (6.0 + 2 * 2.0 / 6) * 1.0**2  # 2:1 heads hold pi D^3/24 each
    T = PLANT["V-101"].operating_temperature
    rate = gas.k * 8314.46 * T * W / (gas.molar_mass * volume)
    by_hand = (case.limit_pressure - PLANT.absolute(14e5)) / rate
    found = let_down.trip(PLANT).safety_times[let_down.CAUSE]
    assert found == pytest.approx(by_hand, rel=0.02)
    assert item.mawp_gauge == 16e5


def test_valve_trip_both():
    found = {which: let_down.scenario(PLANT, which) for which in ("valve", "trip", "both")}
    f = {which: s.frequency * YEAR for which, s in found.items()}
    assert let_down.covers(PLANT) in (COVERS, FAILS, UNKNOWN)
    one, p = 0.1, let_down.trip(PLANT).demand_failure
    assert f["trip"] in (pytest.approx(one * p), pytest.approx(one))
    assert f["both"] <= min(f["valve"], f["trip"]) * (1 + 1e-12)
    slow = let_down.trip(PLANT, closes=response.Response(1.0, 0.5, 60.0))
    assert let_down.scenario(PLANT, "trip", slow).frequency * YEAR == pytest.approx(one)
    for sort in ("sensor", "logic", "valve", "power", "operator"):
        hit = let_down.scenario(PLANT, "trip", shared=(sort,))
        assert hit.frequency * YEAR == pytest.approx(one), f"a shared {sort} takes the credit"
    plug = let_down.scenario(PLANT, "both", shared=("plug",))
    assert plug.frequency > found["both"].frequency or found["both"].frequency == f["trip"] / YEAR
    assert layers.judge(list(found.values())[:1], None).verdict == UNKNOWN


def test_the_gate_of_the_code_on_the_let_down():
    gate = let_down.code_gate(PLANT)
    assert gate.verdict == FAILS and gate.unmet[0].subject == "jurisdiction"
    assert any("trip fails" in r.subject for r in gate.unmet)


def test_one_of_two_that_share():
    # choked through PSV-105 and through PV-101: flow goes with pressure, so half of the area
    # settles at twice the absolute pressure of the whole, where neither unchokes nor stays shut
    case = let_down.case_in_time(PLANT)
    W = demo.drums.receiver(PLANT)[let_down.CAUSE].mass_flow
    third = let_down.pressure_with(PLANT, 1 / 3)
    quarter = let_down.pressure_with(PLANT, 1 / 4)
    assert W > 0 and quarter > third > PLANT.absolute(16e5)
    if quarter < 0.4 * PLANT.relieving_pressure("V-101"):
        assert quarter / third == pytest.approx(4 / 3, rel=0.02)
    assert let_down.pressure_with(PLANT, 1.0) <= case.limit_pressure


def test_header_with_and_without():
    found = let_down.header(PLANT)
    (full, high), (none, idle) = found.values()
    assert full == demo.drums.receiver(PLANT)[let_down.CAUSE].mass_flow and none == 0.0
    assert high > idle >= PLANT.atmosphere
