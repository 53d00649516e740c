"""Pressure against time: what is conserved, what a finer integration changes, which way it goes."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib.geometry import Vessel
from relieflib.pressure_in_time import sources
from relieflib.pressure_in_time.contents import GasOverLiquid, IdealGas, LiquidFull, Wall
from relieflib.pressure_in_time.course import Case, follow, process_safety_time
from relieflib.pressure_in_time.device import KINDS, Relief
from relieflib.pressure_in_time.pure_fluid import Boiling, RealGas

PATM = 101_325.0
P_SET = 18e5 + PATM
LIMIT = 1.1 * 18e5 + PATM
GAS = IdealGas(5.0, 15e5, 330.0, molar_mass=44.1, k=1.13)
POP = Relief("pop", P_SET, 3e-4)
WATER = LiquidFull(1.0, 10e5, 293.15, density=998.6, expansion_coefficient=2.081e-4,
                   liquid_heat_capacity=4182.0, compressibility=4.5785e-10,
                   wall_compliance=2e-10, linear_expansion=1.2e-5)  # fmt: skip
FEED = sources.closed_outlet(0.8, 330.0)

CASES = {
    "gas, cycling": (GAS, FEED, POP, 300.0),
    "gas, wall": (replace(GAS, wall=Wall(15.0, 3000.0, 20.0)), FEED, POP, 300.0),
    "gas, isothermal": (replace(GAS, isothermal=True), FEED, POP, 300.0),
    "gas, proportional": (GAS, FEED, Relief("proportional", P_SET, 4e-4), 300.0),
    "gas, disk": (GAS, FEED, Relief("disk", P_SET, 4e-4), 300.0),
    "gas, slow": (GAS, FEED, replace(POP, opening_time=0.5, loss_fraction=0.02), 200.0),
    "real gas": (RealGas("Propane", 5.0, 10e5, 330.0), sources.closed_outlet(0.8, 330.0),
                 Relief("pop", 12e5, 3e-4), 200.0),
    "gas over liquid": (
        GasOverLiquid(10.0, 12e5, 300.0, 4.0, molar_mass=28.0, k=1.3),
        sources.overfilling(20.0, 1000.0), POP, 280.0),
    "boiling": (Boiling("Propane", 20.0, 320.0, 12.0), sources.hydraulic_expansion(1e6),
                POP, 600.0),
    "boiling, swelled": (Boiling("Propane", 20.0, 320.0, 12.0, venting="homogeneous"),
                         sources.hydraulic_expansion(1e6), POP, 600.0),
    "liquid-full": (WATER, sources.hydraulic_expansion(1e5),
                    Relief("proportional", P_SET, 1e-5), 900.0),
    "liquid-full, cycling": (WATER, sources.hydraulic_expansion(1e5),
                             Relief("pop", P_SET, 1e-6), 700.0),
}  # fmt: skip


def run(name, **more):
    contents, source, relief, time = CASES[name]
    return follow(Case(contents, source, relief, limit_pressure=LIMIT), time, **more)


@pytest.mark.parametrize("name", CASES)
def test_mass_and_energy_are_conserved(name):
    course = run(name)
    assert course.time_to_set < np.inf and course.mass_lost > 0
    assert abs(course.mass_balance) < 1e-6 and abs(course.energy_balance) < 1e-6


@pytest.mark.parametrize("name", CASES)
def test_a_finer_integration_changes_nothing(name):
    coarse, fine = run(name), run(name, rtol=1e-10)
    assert (coarse.cycles, coarse.ended) == (fine.cycles, fine.ended)
    assert coarse.time_to_set == pytest.approx(fine.time_to_set, rel=1e-6)
    assert coarse.peak == pytest.approx(fine.peak, rel=1e-6)
    assert coarse.mass_lost == pytest.approx(fine.mass_lost, rel=1e-5)
    assert coarse.pressure[-1] == pytest.approx(fine.pressure[-1], rel=1e-4)


def test_the_mass_of_a_course_is_what_is_left():
    for name in CASES:
        course = run(name)
        if name == "gas over liquid":
            continue  # its mass is that of the gas alone
        came = np.trapezoid(course.inflow, course.time)
        assert course.mass[-1] == pytest.approx(course.mass[0] + came - course.mass_lost, rel=1e-3)


@given(ratio=st.floats(0.3, 3.0))
@settings(max_examples=12, deadline=None)
def test_a_larger_valve_never_gives_a_higher_peak(ratio):
    def peak(share):
        relief = replace(POP, valve_area=share * 1e-4)
        return follow(Case(GAS, FEED, relief, limit_pressure=LIMIT), 200.0, steps=20).peak

    assert peak(ratio * 1.2) <= peak(ratio) * (1 + 1e-6)


@given(inflow=st.floats(0.2, 3.0))
@settings(max_examples=12, deadline=None)
def test_more_inflow_leaves_less_time(inflow):
    def left(W):
        return process_safety_time(Case(GAS, sources.closed_outlet(W, 330.0), limit_pressure=LIMIT))

    assert left(1.1 * inflow) < left(inflow)
    # with the gas at one temperature, time goes as one over the flow
    assert left(2.0 * inflow) == pytest.approx(left(inflow) / 2.0, rel=1e-6)


def test_a_higher_level_leaves_less_time_to_a_piston_and_more_to_a_fire():
    def piston(level):
        vessel = GasOverLiquid(10.0, 5e5, 300.0, level, molar_mass=28.0, k=1.3)
        return follow(Case(vessel, sources.overfilling(10.0, 1000.0), limit_pressure=LIMIT),
                      900.0, stop_at_limit=True).time_to_limit  # fmt: skip

    assert piston(2.0) > piston(4.0) > piston(6.0)
    drum = Vessel("horizontal", 2.0, length=5.0, head_type="2:1 ellipsoidal")
    fire = sources.exterior_fire_liquid(drum, 1.0)

    def boiling(part):
        tank = Boiling("Propane", drum.volume, 300.0, part * drum.volume)
        return follow(Case(tank, fire, limit_pressure=LIMIT), 9e3, stop_at_limit=True).time_to_limit

    assert boiling(0.3) < boiling(0.5) < boiling(0.7)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_device_stays_shut_below_set(kind):
    relief = Relief(kind, P_SET, 3e-4)
    course = follow(Case(GAS, FEED, relief, limit_pressure=LIMIT), 200.0)
    before = course.time < course.time_to_set
    assert np.all(course.mass_flow[before] == 0.0) and course.mass_flow.max() > 0.0
    assert np.all((course.lift >= 0.0) & (course.lift <= 1.0))


def test_the_trip_has_the_time_from_its_pressure_to_the_limit():
    case = Case(GAS, FEED, POP, limit_pressure=LIMIT)
    whole = process_safety_time(case)
    later = process_safety_time(case, trip_pressure=17e5)
    before = process_safety_time(replace(case, limit_pressure=17e5))
    assert whole == pytest.approx(before + later, rel=1e-7)


def test_an_opening_time_that_vanishes_is_a_valve_that_pops():
    at_once = run("gas, cycling")
    contents, source, relief, time = CASES["gas, cycling"]
    case = Case(contents, source, replace(relief, opening_time=1e-4), limit_pressure=LIMIT)
    ramp = follow(case, time)
    assert ramp.period == pytest.approx(at_once.period, rel=1e-3)
    assert ramp.mass_lost == pytest.approx(at_once.mass_lost, rel=1e-2)


def test_cycling_on_is_told_and_ends():
    contents, source, relief, _ = CASES["gas, cycling"]
    course = follow(Case(contents, source, relief, limit_pressure=LIMIT), 1e6, most_cycles=5)
    assert course.ended == "cycling on" and course.cycles == 6 and course.time[-1] < 1e4
    stiff = follow(Case(WATER, sources.overfilling(0.5, 998.6), Relief("pop", P_SET, 2e-5),
                        limit_pressure=LIMIT), 60.0)  # fmt: skip
    assert stiff.period < 1.0 and "faster than once a second" in stiff.verdict


def test_a_run_that_ended_early_never_says_that_the_limit_is_held():
    chatters = replace(POP, loss_fraction=0.10)
    said = follow(Case(GAS, FEED, chatters, limit_pressure=LIMIT), 300.0).verdict
    assert "chatter" in said and "held" not in said
    tank = Boiling("Propane", 20.0, 320.0, 18.5)
    fed = sources.Source("closed_outlet", gas=lambda now: 1.0, enthalpy=2.7e5, heat=lambda now: 1e5)
    course = follow(Case(tank, fed, Relief("pop", 17e5, 1e-5), limit_pressure=40e5), 2e4)
    assert course.ended == "full of liquid" and "held" not in course.verdict
    rises = follow(Case(GAS, FEED, replace(POP, valve_area=1.4e-4), limit_pressure=30e5), 60.0)
    assert "still rises" in rises.verdict
