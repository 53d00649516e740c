"""The let-down of the demo plant: valve alone, trip alone, both."""

from dataclasses import replace

import numpy as np
import pytest

from relieflib import demo
from relieflib.demo import let_down
from relieflib.kinds import YEAR
from relieflib.protection import layers, response
from relieflib.safeguard import COVERS, FAILS, UNKNOWN, Valve, matrix

PLANT = demo.plant()


def test_the_load_is_the_same_with_a_trip():
    before = demo.loads_of(PLANT, "V-104")
    trip = let_down.trip(PLANT)
    table = matrix([Valve.of(PLANT, "PSV-105")], before, [trip])
    for words, load in before.items():
        assert table[words, "XV-101"].load is load
        shut = words == let_down.SHUT  # slower: 3950 of 10 518 kg/h, and so there is time
        assert table[words, "XV-101"].verdict == (UNKNOWN if shut else FAILS), words
    found = table[let_down.CAUSE, "XV-101"]
    assert [r.subject for r in found.why_not if r.verdict == FAILS] == ["time"]
    quick = let_down.trip(PLANT, response.Response(0.3, 0.2, 2.0), PLANT.absolute(12.5e5))
    better = quick.judge(let_down.CAUSE, before[let_down.CAUSE])
    assert better.verdict == UNKNOWN  # neither code nor target is given
    assert {r.subject for r in better.why_not} == {"reliability", "code"}


def test_time_by_the_closed_form():
    # choked valve, gas as warm as before it: dP/dt = k R T W/(M V), by hand; 14 to the limit
    case = let_down.case_in_time(PLANT)
    W = demo.loads_of(PLANT, "V-104")[let_down.CAUSE].mass_flow
    gas, item = PLANT.fluids["hydrogen_rich"], PLANT["V-104"]
    volume = np.pi * (6.0 + 2 * 2.0 / 6) * 1.0**2  # 2:1 heads hold pi D^3/24 each
    T = PLANT["V-101"].operating_temperature
    rate = gas.k * 8314.46 * T * W / (gas.molar_mass * volume)
    by_hand = (case.limit_pressure - PLANT.absolute(14e5)) / rate
    found = let_down.trip(PLANT).safety_times[let_down.CAUSE]
    assert found == pytest.approx(by_hand, rel=0.02)
    assert item.mawp_gauge == 16e5
    # the outlet shut: the same gas, 3950 kg/h of it, so that the time goes with 1/W
    slow = let_down.trip(PLANT).safety_times[let_down.SHUT]
    assert slow == pytest.approx(by_hand * W / (3950 / 3600), rel=0.02)


def test_what_it_shares_by_cause():
    # the loop's own part fails the loop; a hand that shuts the outlet has none of its parts
    loads = demo.loads_of(PLANT, "V-104")
    for sort in ("sensor", "logic", "valve", "operator", "power"):
        trip = let_down.trip(PLANT, shared=(sort,))
        found = {c: trip.judge(c, loads[c]).about("independence") for c in trip.acts_on}
        assert found[let_down.CAUSE].verdict == FAILS, sort
        assert let_down.SHARED[sort] in found[let_down.CAUSE].words
        assert found[let_down.SHUT].verdict == COVERS


QUICK = let_down.trip(PLANT, response.Response(0.3, 0.2, 2.0), PLANT.absolute(12.5e5))


def test_as_drawn_neither_counts():
    # the trip needs 4.5 s of 2.2 s; the lines of PSV-105 take more than they may
    assert let_down.covers(PLANT) == FAILS and let_down.covers(PLANT, mended=True) == COVERS
    for which in ("valve", "trip", "both"):
        found = let_down.scenario(PLANT, which)
        assert found.frequency * YEAR == pytest.approx(0.1) and not any(
            c.counts for c in found.credits
        )


def test_valve_trip_both():
    def left(which, **more):
        given = dict(trip_of=QUICK, valve_chance=0.01, mended=True) | more
        return let_down.scenario(PLANT, which, **given).frequency * YEAR

    p = QUICK.demand_failure  # by hand: products of independent layers
    assert left("valve") == pytest.approx(1e-3) and left("trip") == pytest.approx(0.1 * p)
    assert left("both") == pytest.approx(1e-3 * p)
    for sort in ("sensor", "logic", "valve", "power", "operator"):
        hit = replace(QUICK, parts=let_down.shares((sort,)))
        assert left("trip", trip_of=hit, shared=(sort,)) == pytest.approx(0.1), sort
    plugged = replace(QUICK, parts=let_down.shares(("plug",)))
    assert left("both", trip_of=plugged) == pytest.approx(0.1 * p), "the valve loses its credit"
    assert layers.judge([let_down.scenario(PLANT, "both")], None).verdict == UNKNOWN


def test_the_gate_of_the_code_on_the_let_down():
    gate = let_down.code_gate(PLANT)
    assert gate.verdict == FAILS and gate.unmet[0].subject == "jurisdiction"
    assert any("trip fails" in r.subject for r in gate.unmet)


def test_a_trip_that_meets_the_target_has_not_answered_the_code():
    # by hand 0.1 * 0.00318 a year, below 1e-3; V-104 at 79.2 barg when it fails, limit 18.56
    alone = let_down.scenario(PLANT, "trip", trip_of=QUICK, mended=True)
    found = layers.judge([alone], 1e-3 / YEAR, let_down.code_gate(PLANT))
    assert found.in_number == COVERS and found.verdict == FAILS
    assert layers.judge([alone], 1e-3 / YEAR).verdict == UNKNOWN
    valve = let_down.scenario(PLANT, "valve", valve_chance=0.005, mended=True)
    assert layers.judge([valve], 1e-3 / YEAR, let_down.code_gate(PLANT)).verdict == COVERS
    # what answers for one cause of V-104 answers for no other
    gate = let_down.code_gate(PLANT)
    for cause in (let_down.CAUSE, let_down.SHUT):
        assert "none of its scenarios" not in gate.verdict_on(cause)[1]
    assert "none of its scenarios" in gate.verdict_on("exterior fire")[1]


def test_one_of_two_that_share():
    # by hand: choked through PSV-105 and through PV-101, so that pressure times area stays
    need = demo.cases(PLANT, "V-104")[let_down.CAUSE].required_area
    installed = Valve.of(PLANT, "PSV-105").areas[0]
    by_hand = PLANT.relieving_pressure("V-104") * need / (installed / 2)
    half = let_down.pressure_with(PLANT, 0.5)
    assert half == pytest.approx(by_hand, rel=0.02)
    assert PLANT.gauge(half) > 1.16 * 16e5, "half of the area is far from half as good"
    assert let_down.pressure_with(PLANT, 1.0) == pytest.approx(PLANT.absolute(16e5))
    assert let_down.pressure_with(PLANT, 0.25) > half


def test_header_with_and_without():
    found = let_down.header(PLANT)
    (full, high), (none, idle) = found.values()
    assert full == demo.loads_of(PLANT, "V-104")[let_down.CAUSE].mass_flow and none == 0.0
    assert high > idle >= PLANT.atmosphere
