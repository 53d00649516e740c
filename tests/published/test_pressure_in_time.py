"""Pressure against time: closed forms, a textbook, CoolProp, every cause's own load."""

import pkgutil
from dataclasses import replace
from math import log, sqrt

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad

from relieflib import causes, exchanger
from relieflib.causes import (
    abnormal_heat_input as ah,
    closed_outlet as co,
    control_valve_opens as cv,
    exterior_fire_gas as fg,
    exterior_fire_liquid as fl,
    hydraulic_expansion as he,
    loss_of_cooling as lc,
    overfilling as of,
    power_and_air_failure as pf,
    reverse_flow as rf,
    runaway_reaction as rr,
    tank_breathing as tb,
    tube_rupture as tr,
    volatile_ingress as vi,
)
from relieflib.causes.shared.valve_flow import displaced_gas, displaced_liquid
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.geometry import Vessel
from relieflib.lines import inlet
from relieflib.lines.line import Line, Part
from relieflib.nozzle.gas import Gas, mass_flux
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.pressure_in_time import sources
from relieflib.pressure_in_time.contents import GasOverLiquid, IdealGas, LiquidFull, Now, Wall
from relieflib.pressure_in_time.course import Case, follow, process_safety_time
from relieflib.pressure_in_time.device import CHATTER, Relief, effective_area
from relieflib.pressure_in_time.pure_fluid import Boiling, RealGas, saturation_of
from relieflib.pressure_in_time.sprung_disk import SprungDisk
from relieflib.sizing import ReliefLoad, size
from relieflib.units import GAS_CONSTANT

PATM = 101_325.0
NOTHING = sources.closed_outlet(0.0)
ROUND = np.pi / 4.0


# ------------------------------------------------------------ gas: filling, blow-down, cycling
def test_filling_of_a_closed_gas_vessel():
    # PL-50, DY-11: dP/dt = (k or 1) R T_in W/(M V), computed by hand; 9 bar from trip to limit
    gas = IdealGas(12.0, 10e5, 393.15, molar_mass=10.51, k=1.245)
    rise = GAS_CONSTANT * 393.15 * 2.0 / (10.51 * 12.0)
    source = sources.closed_outlet(2.0, 393.15)
    for k, contents in ((1.245, gas), (1.0, replace(gas, isothermal=True))):
        found = process_safety_time(Case(contents, source, limit_pressure=19e5))
        assert found == pytest.approx(9e5 / (k * rise), rel=1e-6)
    assert 9e5 / rise == pytest.approx(17.362, abs=1e-3)  # PL-50 as printed
    assert 9e5 / (1.245 * rise) == pytest.approx(13.946, abs=1e-3)


def test_the_temperature_of_the_entering_gas_counts_whatever_the_vessel_holds():
    # DY-11: energy balance; a vessel twice as hot at the same pressure fills no faster
    source = sources.closed_outlet(2.0, 393.15)
    for T in (200.0, 786.3):
        gas = IdealGas(12.0, 10e5, T, molar_mass=10.51, k=1.245)
        assert process_safety_time(Case(gas, source, limit_pressure=19e5)) == pytest.approx(
            13.946, abs=1e-3
        )


@pytest.mark.parametrize("isothermal, times, ends", [
    (True, (129.178, 258.356, 429.119), (300.0, 300.0, 300.0)),
    (False, (96.9928, 204.082, 362.94), (246.101, 201.885, 155.384)),
])  # fmt: skip
def test_choked_blow_down_of_a_gas_vessel(isothermal, times, ends):
    # DY-01: closed forms, tau ln(P0/P) and tau 2/(k - 1) [(P0/P)^((k - 1)/2k) - 1], by hand here
    k, M, V, A, T0 = 1.4, 28.964, 10.0, 0.85 * ROUND * 0.02**2, 300.0
    f = sqrt(k) * (2.0 / (k + 1.0)) ** ((k + 1.0) / (2.0 * (k - 1.0)))
    tau = V / (A * f * sqrt(GAS_CONSTANT * T0 / M))
    assert tau == pytest.approx(186.364, abs=5e-4)
    gas = IdealGas(V, 20e5, T0, molar_mass=M, k=k, isothermal=isothermal)
    case = Case(gas, NOTHING, Relief("disk", 19e5, A), limit_pressure=21e5)
    for P, printed, T in zip((10e5, 5e5, 2e5), times, ends):
        t = tau * log(20e5 / P) if isothermal else (
            tau * 2.0 / (k - 1.0) * ((20e5 / P) ** ((k - 1.0) / (2.0 * k)) - 1.0))  # fmt: skip
        assert t == pytest.approx(printed, abs=1e-3)
        course = follow(case, t, steps=20)
        assert course.pressure[-1] == pytest.approx(P, rel=1e-6)
        assert course.temperature[-1] == pytest.approx(T, abs=6e-4)


CYCLING = IdealGas(5.0, 15e5, 330.0, molar_mass=44.1, k=1.13, isothermal=True)
P_SET = 18e5 + PATM
POP = Relief("pop", P_SET, 315.9e-6, blowdown=0.07)
CAP = 315.9e-6 * mass_flux(P_SET, 330.0, molar_mass=44.1, k=1.13)


def cycle(inflow, relief=POP, time=400.0, contents=CYCLING):
    source = sources.closed_outlet(inflow, 330.0)
    return follow(Case(contents, source, relief, limit_pressure=1.1 * 18e5 + PATM), time)


@pytest.mark.parametrize("ratio, printed", [(0.25, 35.757), (0.5, 27.471), (0.75, 39.634)])
def test_period_of_a_pop_valve_that_cycles(ratio, printed):
    # DY-20: closed form by quadrature of dP/dt = (R T/(M V)) (W_in - y W_cap(P)), capacity goes
    # with pressure as the flow is choked
    assert CAP == pytest.approx(1.52804, abs=5e-6)
    slope = GAS_CONSTANT * 330.0 / (44.1 * 5.0)
    low, W = PATM + 0.93 * 18e5, ratio * CAP
    shut = (P_SET - low) / (slope * W)
    opened = quad(lambda P: 1.0 / (slope * (CAP * P / P_SET - W)), low, P_SET)[0]
    assert shut + opened == pytest.approx(printed, abs=6e-4)
    course = cycle(W)
    assert course.period == pytest.approx(shut + opened, rel=1e-6)
    assert course.time_to_set == pytest.approx((P_SET - 15e5) / (slope * W), rel=1e-7)
    assert np.isnan(course.steady_pressure) and course.cycles > 5
    assert course.cycles_per_minute == pytest.approx(60.0 / (shut + opened), rel=1e-6)


def test_a_valve_between_its_capacity_at_reseat_and_at_set_never_closes():
    # DY-20: W_cap(reseat)/W_cap(set) = P_reseat/P_set, choked: 0.93373
    stays = (PATM + 0.93 * 18e5) / P_SET
    assert stays == pytest.approx(0.93373, abs=5e-6)
    assert cycle(1.002 * stays * CAP, time=4000.0).cycles == 1
    assert cycle(0.998 * stays * CAP, time=4000.0).cycles > 1
    held = cycle(0.97 * CAP, time=2000.0)
    assert held.steady_pressure == pytest.approx(0.97 * P_SET, rel=1e-4)  # W = W_cap(P), choked
    assert "stays open" in held.verdict


def test_an_undersized_valve_settles_where_its_capacity_meets_the_inflow():
    # closed form: choked, isothermal: P = P_set W_in/W_cap(set), reached as exp(-t/tau)
    course = cycle(1.3 * CAP, time=2000.0)
    assert course.steady_pressure == pytest.approx(1.3 * P_SET, rel=1e-6)
    assert course.time_to_limit < np.inf and "LIMIT is passed" in course.verdict
    tau = 44.1 * 5.0 / (GAS_CONSTANT * 330.0) * P_SET / CAP
    limit = 1.1 * 18e5 + PATM
    by_hand = tau * log(0.3 * P_SET / (1.3 * P_SET - limit))
    assert course.time_to_limit - course.time_to_set == pytest.approx(by_hand, rel=1e-6)


def test_the_shortest_period_is_near_half_of_the_capacity():
    # DY-21: dP/(slope W_cap) (1/r + 1/(1 - r)) has its least at r = 0.5: 27.415 s, exact 27.471
    slope = GAS_CONSTANT * 330.0 / (44.1 * 5.0)
    middle = CAP * (1.0 + (PATM + 0.93 * 18e5) / P_SET) / 2.0
    linear = 0.07 * 18e5 / (slope * middle) * 4.0
    assert linear == pytest.approx(27.415, abs=6e-4)
    periods = {r: cycle(r * CAP).period for r in (0.35, 0.5, 0.65)}
    assert min(periods, key=periods.get) == 0.5
    assert periods[0.5] == pytest.approx(linear, rel=0.01)


# ------------------------------------------------------------ the device
@pytest.mark.parametrize("percent, shuts_at", [(3, 0.96), (5, 0.98), (7, 1.00), (10, 1.03)])
def test_where_a_valve_with_a_lossy_inlet_line_shuts(percent, shuts_at):
    # DY-26: it feels the vessel less the loss and shuts at (100 - blowdown + loss) % of set
    relief = replace(POP, loss_fraction=percent / 100.0)
    assert relief.reseat_in_vessel == pytest.approx(PATM + shuts_at * 18e5, rel=1e-12)
    course = cycle(0.5 * CAP, relief)
    if percent >= 7:
        assert course.ended == CHATTER and course.cycles == 1 and CHATTER in course.verdict
    else:
        shut = np.flatnonzero((course.lift[:-1] == 1.0) & (course.lift[1:] == 0.0))
        assert course.pressure[shut[0]] == pytest.approx(PATM + shuts_at * 18e5, rel=1e-7)


@pytest.mark.parametrize("t_open, reach", [(0.025, 3.314), (0.050, 6.629)])
def test_how_long_a_line_the_wave_of_a_stroke_reaches(t_open, reach):
    # DY-27: sqrt(k R T/M) = 265.15 m/s; reflection back before the valve has moved up to c t/2, by
    # hand; beyond it the whole G c = 0.8501 bar dips at the valve of a 3 in line (77.9 mm) at its
    # capacity at set. Criterion of Frommann and Friedel (1998), from memory
    G, c = CAP / (ROUND * 0.0779**2), sqrt(1.13 * GAS_CONSTANT * 330.0 / 44.1)
    assert c == pytest.approx(265.15, abs=5e-3) and c * t_open / 2 == pytest.approx(reach, rel=2e-4)
    stream = Gas(P_SET, 330.0, molar_mass=44.1, k=1.13)
    sizing = size(ReliefLoad("closed_outlet", CAP, stream), Device(set_pressure_gauge=18e5))
    dips = {}
    for part in (0.5, 1.0, 2.0):
        line = Line([Part("pipe", 0.0779, length=part * c * t_open / 2.0)])
        found = inlet.check(sizing, line, viscosity=1e-5, modulating=True)  # its load, CAP
        dips[part] = inlet.engineering_analysis(found, 0.07, t_open).wave
    assert dips[1.0] == pytest.approx(0.8501e5, rel=1e-3) and dips[1.0] == pytest.approx(G * c)
    assert dips[2.0] == pytest.approx(dips[1.0])
    assert dips[1.0] == pytest.approx(2.0 * dips[0.5], rel=1e-6)


def test_a_pilot_that_senses_in_the_vessel_is_not_shut_by_its_line():
    # common practice, no source: remote sensing; the line still costs capacity
    assert cycle(0.5 * CAP, replace(POP, kind="pilot", loss_fraction=0.10)).ended != CHATTER
    plain, lossy = (cycle(1.2 * CAP, replace(POP, kind="modulating pilot", loss_fraction=x), 2000.0)
                    for x in (0.0, 0.10))  # fmt: skip
    # by hand: choked capacity goes with the pressure at the valve, which is lower by the loss
    assert lossy.steady_pressure - plain.steady_pressure == pytest.approx(0.10 * 18e5, rel=1e-4)


def test_overshoot_while_a_valve_opens():
    # DY-24: at most (dP/dt) t_open, 0.09507 bar/s and 50 ms: 0.004754 bar; a linear ramp of lift
    # peaks where its capacity meets the inflow, y* = W_in/W_cap: rise t_open y*/2 by hand
    slope = GAS_CONSTANT * 330.0 / (44.1 * 5.0)
    course = cycle(0.5 * CAP, replace(POP, opening_time=0.05))
    bound = slope * 0.5 * CAP * 0.05
    assert bound == pytest.approx(0.004754e5, rel=2e-4)
    assert course.peak - P_SET == pytest.approx(bound * 0.5 / 2.0, rel=2e-3)
    assert 0 < course.peak - P_SET < bound


def test_a_proportional_valve_stands_where_its_lift_passes_the_inflow():
    # by hand: lift (P - set)/(0.1 set gauge), choked: P (P - P_set) = W/W_cap P_set 0.1 p_set
    W = 0.4 * CAP
    course = cycle(W, Relief("proportional", P_SET, 315.9e-6), 2000.0)
    P = 0.5 * (P_SET + sqrt(P_SET**2 + 4.0 * 0.4 * P_SET * 0.1 * 18e5))
    assert course.steady_pressure == pytest.approx(P, rel=1e-7)
    assert course.mass_flow[-1] == pytest.approx(W, rel=1e-6) and course.cycles == 1
    slow = cycle(W, Relief("proportional", P_SET, 315.9e-6, opening_time=1.0), 2000.0)
    assert slow.steady_pressure == pytest.approx(P, rel=1e-7)
    soon = course.time_to_set + 1.0
    assert np.interp(soon, slow.time, slow.lift) < np.interp(soon, course.time, course.lift)


def test_a_disk_stays_open_and_a_vessel_without_a_device_goes_on_rising():
    burst = cycle(0.0, replace(POP, kind="disk"), contents=replace(CYCLING, pressure=19.5e5))
    assert burst.cycles == 1 and np.all(burst.lift[1:] == 1.0)
    late = cycle(0.0, replace(POP, kind="disk"), 4e4, replace(CYCLING, pressure=19.5e5))
    assert late.pressure[-1] == pytest.approx(PATM, rel=1e-3)
    none = cycle(CAP, None)
    assert np.all(np.diff(none.pressure) > 0) and none.mass_lost == 0.0


def test_a_vessel_that_never_reaches_set_says_so():
    # an inflow that its source cannot bring above 18 bara: SourceCurve without flow there
    curve = co.SourceCurve((10e5, 18e5), (1.0, 0.0))
    source = sources.closed_outlet(curve.mass_flow, 330.0, pressures=(15e5, 18e5))
    case = Case(CYCLING, source, POP, limit_pressure=20.8e5)
    course = follow(case, 20_000.0)
    assert course.time_to_set == np.inf and course.time_to_limit == np.inf
    assert "never reached" in course.verdict and course.cycles == 0
    assert course.steady_pressure == pytest.approx(18e5, rel=1e-4)
    assert process_safety_time(case, longest=20_000.0) == np.inf
    short = follow(Case(CYCLING, sources.closed_outlet(0.1, 330.0), POP, limit_pressure=21e5), 10.0)
    assert "not reached in 10 s" in short.verdict


def test_a_run_that_ends_early_gives_no_time_without_end():
    # a source that no vessel resists: the run ends, and a trip has at least the time up to there
    piston = GasOverLiquid(10.0, 5e5, 300.0, 9.0, molar_mass=28.0, k=1.3, isothermal=True)
    filled = Case(piston, sources.overfilling(10.0, 1000.0), limit_pressure=1e18)
    assert process_safety_time(filled) == pytest.approx(1.0 / 0.01, rel=1e-5)  # room over flow
    assert np.isnan(process_safety_time(filled, trip_pressure=9e17)), "full before the trip's set"
    # by hand, isothermal: 4.6e-6 of 5 bar a second; after a day it still rises
    slow = IdealGas(1000.0, 5e5, 300.0, molar_mass=28.0, k=1.3)
    drips = Case(slow, sources.closed_outlet(1e-4, 300.0), limit_pressure=10e5)
    assert process_safety_time(drips) == 86_400.0
    assert "not reached in" in follow(replace(drips, set_pressure=9e5), 86_400.0, steps=2).verdict
    short = follow(replace(filled, set_pressure=9e17), 1e4)
    assert "in 100 s" in short.verdict and "full of liquid" in short.verdict
    # nearly at rest, but what still moves may cover the hair that is left to the limit
    curve = co.SourceCurve((10e5, 18e5), (1.0, 0.0))
    source = sources.closed_outlet(curve.mass_flow, 330.0, pressures=(15e5, 18e5))
    hair = Case(CYCLING, source, limit_pressure=18.0001e5)
    assert process_safety_time(hair, longest=500.0) == 500.0


# ------------------------------------------------------------ real gas
@pytest.mark.parametrize("isothermal, rows", [
    (False, [(100.0, 3.828, 256.8), (75.0, 6.938, 235.8), (50.0, 11.87, 209.1),
             (30.0, 18.98, 179.4), (15.0, 30.1, 145.6)]),
    (True, [(100.0, 6.062, 290.0), (75.0, 10.6, 290.0), (50.0, 17.16, 290.0),
            (30.0, 25.54, 290.0), (15.0, 36.97, 290.0)]),
])  # fmt: skip
def test_bounds_of_the_blow_down_of_nitrogen_from_150_bar(isothermal, rows):
    # DY-04: computed by a Helmholtz equation of state, choked flux along the isentrope; 1 %.
    # Measured series of this vessel exist (Haque, Richardson, Saville and Chamberlain, J. Loss
    # Prev. Process Ind. 3 (1990) 4), in figures alone: no number of them could be read
    gas = RealGas("Nitrogen", 0.089207, 150e5, 290.0, isothermal=isothermal)
    A = 0.85 * ROUND * 0.00635**2
    course = follow(Case(gas, NOTHING, Relief("disk", 149e5, A), limit_pressure=160e5), 40.0, 4000)
    for bar, t, T in rows:
        assert np.interp(-bar * 1e5, -course.pressure, course.time) == pytest.approx(t, rel=0.01)
        at = np.interp(-bar * 1e5, -course.pressure, course.temperature)
        assert at == pytest.approx(T, abs=0.6)


def test_what_a_wall_does_to_the_cold_of_a_blow_down():
    # DY-04: a real vessel lies between both bounds; DY-03: 77.355 K isentropic to 1 atm (CoolProp),
    # 78 K printed by Haque et al. (1990), 69.55 K of an ideal gas
    A = 0.85 * ROUND * 0.00635**2
    relief = Relief("disk", 149e5, A)
    gas = RealGas("Nitrogen", 0.089207, 150e5, 290.0)
    cold, warm, walled = (
        follow(Case(c, NOTHING, relief, limit_pressure=160e5), 30.0, 600)
        for c in (gas, replace(gas, isothermal=True), replace(gas, wall=Wall(1.3, 60.0, 100.0)))
    )
    for P in (100e5, 50e5, 30e5):
        t = [np.interp(-P, -c.pressure, c.time) for c in (cold, walled, warm)]
        T = [np.interp(-P, -c.pressure, c.temperature) for c in (cold, walled, warm)]
        assert t == sorted(t) and T == sorted(T)
    entropy = PropsSI("S", "P", 150e5, "T", 290.0, "Nitrogen")
    for P, T in zip(cold.pressure[::60], cold.temperature[::60]):  # stays on one isentrope
        assert PropsSI("S", "P", P, "T", T, "Nitrogen") == pytest.approx(entropy, abs=0.5)
    assert PropsSI("T", "P", PATM, "S", entropy, "Nitrogen") == pytest.approx(77.355, abs=1e-3)
    assert 290.0 * (PATM / 150e5) ** (0.4 / 1.4) == pytest.approx(69.55, abs=0.01)


def test_a_gas_that_begins_to_condense_ends_the_run():
    # DY-03: the isentrope of this nitrogen ends at quality 0.9294: it meets the dew line
    gas = RealGas("Nitrogen", 0.089207, 150e5, 290.0)
    relief = Relief("disk", 149e5, 0.85 * ROUND * 0.00635**2)
    course = follow(Case(gas, NOTHING, relief, limit_pressure=160e5), 300.0)
    assert course.ended == "it begins to condense" and "condense" in course.verdict
    dew = PropsSI("T", "P", course.pressure[-1], "Q", 1, "Nitrogen")
    assert course.temperature[-1] == pytest.approx(dew, abs=0.05)


def test_filling_an_evacuated_vessel():
    # DY-10: Cengel and Boles, charging a rigid tank: u2 = h of the line; steam 456.1 °C as printed
    # from older tables (from memory), 456.45 °C by CoolProp; air 417.87 K real, k T = 420 K ideal
    line = PropsSI("H", "P", 1e6, "T", 573.15, "Water")
    hot = PropsSI("T", "P", 1e6, "U", line, "Water")
    assert hot - 273.15 == pytest.approx(456.45, abs=5e-3)
    for fluid, T_in, end in (("Water", 573.15, hot), ("Air", 300.0, 417.87)):
        low = 2_000.0 if fluid == "Water" else 1_000.0
        h = PropsSI("H", "P", 1e6, "T", T_in, fluid)
        start = RealGas(fluid, 1.0, low, T_in)
        source = sources.Source("closed_outlet", gas=lambda now: 0.01, enthalpy=h)
        course = follow(Case(start, source, limit_pressure=1e6), 1e4)
        at = np.interp(1e6, course.pressure, course.temperature)
        assert at == pytest.approx(end, abs=1.0 if fluid == "Water" else 0.5)
    ideal = IdealGas(1.0, 100.0, 300.0, molar_mass=28.964, k=1.4)
    course = follow(Case(ideal, sources.closed_outlet(0.01, 300.0), limit_pressure=1e6), 1e3)
    assert np.interp(1e6, course.pressure, course.temperature) == pytest.approx(420.0, abs=0.1)


# ------------------------------------------------------------ boiling
@pytest.mark.parametrize("bar, exact, ratio", [
    (5.0, 2.6295, 0.97931), (10.0, 2.8761, 0.95569), (15.0, 3.1072, 0.92764),
    (20.0, 3.3507, 0.89348), (30.0, 3.9698, 0.7928), (38.0, 4.8674, 0.62628),
])  # fmt: skip
def test_a_boiling_vessel_ends_at_its_volume_balance_and_not_at_heat_over_latent_heat(
    bar, exact, ratio
):
    # DY-13: 1 MW into propane: W = Q (vg - vl)/(vg hfg), Leung's form; CoolProp recomputed here
    P = bar * 1e5
    vl, vg = (1.0 / PropsSI("D", "P", P, "Q", q, "Propane") for q in (0, 1))
    hfg = PropsSI("H", "P", P, "Q", 1, "Propane") - PropsSI("H", "P", P, "Q", 0, "Propane")
    by_hand = 1e6 * (vg - vl) / (vg * hfg)
    assert by_hand == pytest.approx(exact, rel=1e-4) and 1 - vl / vg == pytest.approx(ratio, 1e-4)
    tank = Boiling("Propane", 20.0, PropsSI("T", "P", 0.97 * P, "Q", 0, "Propane"), 12.0)
    flux = RealFluid("Propane", P, quality=1.0).mass_flux(0.0)
    span = 0.04 * P
    relief = Relief("proportional", 0.98 * P, by_hand / flux, full_lift=span / (0.98 * P - PATM))
    course = follow(Case(tank, sources.hydraulic_expansion(1e6), relief, limit_pressure=1.03 * P),
                    400.0)  # fmt: skip
    late = course.mass_flow[-1]
    settled = course.steady_pressure
    vl, vg = (1.0 / PropsSI("D", "P", settled, "Q", q, "Propane") for q in (0, 1))
    hfg = (PropsSI("H", "P", settled, "Q", 1, "Propane")
           - PropsSI("H", "P", settled, "Q", 0, "Propane"))  # fmt: skip
    assert late == pytest.approx(1e6 * (vg - vl) / (vg * hfg), rel=1e-4)
    assert abs(course.energy_balance) < 1e-6


def test_filled_so_far_that_it_is_liquid_full_before_set():
    # DY-15: propane from 8.36 bara, set 20 bara: level of 0.86284 (CoolProp densities, by hand)
    level = 0.86284
    T = PropsSI("T", "P", 8.36e5, "Q", 0, "Propane")
    rho_l, rho_v = (PropsSI("D", "P", 8.36e5, "Q", q, "Propane") for q in (0, 1))
    full = PropsSI("D", "P", 20e5, "Q", 0, "Propane")
    assert (full - rho_v) / (rho_l - rho_v) == pytest.approx(level, abs=1e-5)
    relief = Relief("pop", 20e5, 1e-3)
    for above, word in ((1e-3, "full of liquid"), (-1e-3, "time")):
        tank = Boiling("Propane", 1.0, T, level + above)
        case = Case(tank, sources.hydraulic_expansion(1e4), relief, limit_pressure=24e5)
        course = follow(case, 3e4)
        reached = course.time_to_set < np.inf
        assert reached == (above < 0) and (course.ended == word or above < 0)


def test_the_saturation_curve_is_coolprops():
    curve = saturation_of("Propane")
    for T in (250.013, 300.0, 341.7, 362.0):
        (P, vl, vv, hl, hv), slopes = curve.at(T)
        zero = curve.at(270.0)[0][3] - PropsSI("H", "T", 270.0, "Q", 0, "Propane")
        for got, name, q in ((P, "P", 0), (1 / vl, "D", 0), (1 / vv, "D", 1)):
            assert got == pytest.approx(PropsSI(name, "T", T, "Q", q, "Propane"), rel=1e-7)
        for got, q in ((hl, 0), (hv, 1)):
            own = PropsSI("H", "T", T, "Q", q, "Propane") + zero
            assert got == pytest.approx(own, abs=1.0)
        step = 1e-3
        up, down = (PropsSI("P", "T", T + d, "Q", 0, "Propane") for d in (step, -step))
        assert slopes[0] == pytest.approx((up - down) / (2 * step), rel=1e-6)


def test_an_isochoric_boiling_vessel_follows_the_equation_of_state():
    # heated shut: the same mass and volume at the energy that came in, by CoolProp's own flash
    tank = Boiling("Propane", 2.0, 290.0, 1.2)
    course = follow(Case(tank, sources.hydraulic_expansion(5e4), limit_pressure=40e5), 1500.0)
    rho, m = tank.mass / 2.0, tank.mass
    u0 = PropsSI("U", "T", 290.0, "D", rho, "Propane")
    for i in (50, 150, 299):
        u = u0 + 5e4 * course.time[i] / m
        assert course.pressure[i] == pytest.approx(PropsSI("P", "U", u, "D", rho, "Propane"),
                                                   rel=1e-5)  # fmt: skip
    assert abs(course.energy_balance) < 1e-6


# ------------------------------------------------------------ liquid-full
DY_16 = [
    ("Water", 293.15, 10e5, 4.5458, 0.001096, 0.1792),
    ("Water", 323.15, 10e5, 10.385, 0.0026112, 0.39422),
    ("n-Hexane", 293.15, 10e5, 8.4925, 0.0073968, 2.1688),
    ("Propane", 293.15, 20e5, 5.6546, 0.0068252, 4.1051),
]


@pytest.mark.parametrize("fluid, T, P, per_K, per_s, kg_h", DY_16)
def test_a_liquid_blocked_in_and_heated(fluid, T, P, per_K, per_s, kg_h):
    # DY-16, DY-17: slopes of a rigid vessel by the equation of state (CoolProp), at constant volume
    full = LiquidFull.of_fluid(fluid, 1.0, P, T)
    course = follow(Case(full, sources.hydraulic_expansion(1e3), limit_pressure=2 * P), 1.0)
    dP, dT = np.ptp(course.pressure), np.ptp(course.temperature)
    assert dP / dT / 1e5 == pytest.approx(per_K, rel=1e-3)
    assert dP / 1e5 == pytest.approx(per_s, rel=1e-3)
    rho = PropsSI("D", "T", T, "P", P, fluid)  # isochoric, by CoolProp's flash at energy and volume
    u = PropsSI("U", "T", T, "P", P, fluid) + 1e3 / rho
    assert dP == pytest.approx(PropsSI("P", "U", u, "D", rho, fluid) - P, rel=2e-3)
    # at constant pressure the valve passes alpha Q/cp: the printed load of API 521
    load = he.relief_load(1e3, Liquid(P, rho), full.expansion_coefficient,
                          full.liquid_heat_capacity)  # fmt: skip
    assert load.mass_flow * 3600 == pytest.approx(kg_h, rel=1e-3)
    area = load.mass_flow / sqrt(2 * rho * (P - PATM))
    relief = Relief("proportional", P * 1.0001, area, full_lift=0.01)
    settled = follow(Case(full, sources.hydraulic_expansion(1e3), relief, limit_pressure=2 * P),
                     1500.0)  # fmt: skip
    assert settled.mass_flow[-1] == pytest.approx(load.mass_flow, rel=0.02)


def test_kappa_T_in_place_of_kappa_S_is_the_slip_of_DY_17():
    # DY-17: cp goes with kappa_S = 1/(rho c^2); with kappa_T it is wrong by cp/cv: 60 % of propane
    for fluid, P, kappa_S, ratio in (("Water", 10e5, 4.5481e-10, 1.0067),
                                     ("n-Hexane", 10e5, 1.2334e-9, 1.2939),
                                     ("Propane", 20e5, 3.3198e-9, 1.6015)):  # fmt: skip
        full = LiquidFull.of_fluid(fluid, 1.0, P, 293.15)
        assert full.adiabatic_compressibility == pytest.approx(kappa_S, rel=1e-3)
        assert full.compressibility / full.adiabatic_compressibility == pytest.approx(ratio, 1e-3)


def test_the_wall_gives_way_a_little():
    # DY-16: water at 20 °C, D/t 50: 2.49 instead of 4.55 bar/K, when the steel warms with it
    # (kappa + (5/4 - nu) D/(t E), alpha - 3 alpha_w); E 200 GPa, nu 0.3, 1.2e-5/K: assumed here
    wall = he.wall_compliance(0.5, 0.01, 200e9)
    assert wall == pytest.approx(0.95 * 50 / 200e9, rel=1e-12)
    full = LiquidFull.of_fluid("Water", 1.0, 10e5, 293.15, wall_compliance=wall,
                               linear_expansion=1.2e-5)  # fmt: skip
    course = follow(Case(full, sources.hydraulic_expansion(1e3), limit_pressure=30e5), 60.0)
    per_K = np.ptp(course.pressure) / np.ptp(course.temperature)
    rise = he.pressure_rise_of(1.0, full.expansion_coefficient, full.compressibility, 0.5, 0.01,
                               linear_expansion=1.2e-5, youngs_modulus=200e9)  # fmt: skip
    assert per_K == pytest.approx(rise, rel=1e-3) and per_K / 1e5 == pytest.approx(2.49, rel=0.01)


def test_a_slow_valve_on_a_liquid_full_vessel_overshoots_by_what_its_opening_lets_in():
    # by hand: dP/dt = q/(V (kappa_S + wall)); a ramp of lift that passes q at full lift leaves
    # P_set + rate t_open/2, less what the outflow of higher pressure takes (small here)
    full = LiquidFull(1.0, 10e5, 293.15, density=1000.0, expansion_coefficient=0.0,
                      liquid_heat_capacity=4182.0, compressibility=4.5785e-10)  # fmt: skip
    q, t_open = 1e-4, 0.05
    area = q * 1000.0 / sqrt(2 * 1000.0 * (20e5 - PATM))
    relief = Relief("pop", 20e5, area, opening_time=t_open)
    source = sources.overfilling(q * 1000.0, 1000.0)
    course = follow(Case(full, source, relief, limit_pressure=30e5), 5.3, most_cycles=3)
    rate = q / (1.0 * 4.5785e-10)
    assert course.peak - 20e5 == pytest.approx(rate * t_open / 2.0, rel=0.05)
    assert rate * t_open / 2.0 > 2_000.0 * 1.0  # Pa


# ------------------------------------------------------------ gas over rising liquid
def test_gas_over_rising_liquid_is_a_piston():
    # closed forms: P V^k = const of the gas shut in; isothermal: P V = const
    source = sources.overfilling(10.0, 1000.0)  # 0.01 m3/s
    for isothermal, n in ((False, 1.3), (True, 1.0)):
        vessel = GasOverLiquid(10.0, 5e5, 300.0, 4.0, molar_mass=28.0, k=1.3, isothermal=isothermal)
        course = follow(Case(vessel, source, limit_pressure=30e5), 400.0)
        assert course.pressure[-1] == pytest.approx(5e5 * (6.0 / 2.0) ** n, rel=1e-6)
        assert course.liquid[-1] == pytest.approx(0.8)
        by_hand = 6.0 * (1.0 - (5e5 / 30e5) ** (1.0 / n)) / 0.01
        last = follow(Case(vessel, source, limit_pressure=30e5), 599.0)
        assert last.time_to_limit == pytest.approx(by_hand, rel=1e-6)
    full = follow(Case(vessel, source, limit_pressure=30e5), 700.0)
    assert full.ended == "full of liquid" and full.time[-1] == pytest.approx(600.0, rel=1e-6)


def test_gas_over_rising_liquid_relieves_its_own_volume():
    # filling_load: W = q rho_g, volume for volume
    vessel = GasOverLiquid(10.0, 9.9e5, 300.0, 4.0, molar_mass=28.0, k=1.3)
    area = 2.0 * displaced_gas(10.0, 1000.0, 11.2) / mass_flux(10e5, 300.0, molar_mass=28.0, k=1.3)
    relief = Relief("modulating pilot", 10e5, area, full_lift=0.01)
    source = sources.overfilling(10.0, 1000.0)
    course = follow(Case(vessel, source, relief, limit_pressure=11e5), 300.0)
    rho_g = course.pressure[-1] * 28.0 / (GAS_CONSTANT * course.temperature[-1])
    assert course.mass_flow[-1] == pytest.approx(displaced_gas(10.0, 1000.0, rho_g), rel=1e-4)


# ------------------------------------------------------------ every cause, at relieving pressure
P1, LOW, HIGH = 12e5, 4e5, 15e5
ENDS = (LOW, P1, HIGH)
HIGH_GAS = Gas(70e5, 313.15, molar_mass=18.0, k=1.28, Z=0.9)
GAS = Gas(P1, 313.15, molar_mass=18.0, k=1.28)
HOT = Liquid(40e5, 600.0, saturation_pressure=3e5)
DRUM = Vessel("horizontal", 2.6, length=12.0, head_type="2:1 ellipsoidal")


def now(pressure=P1, temperature=330.0, liquid=0.5):
    return Now(pressure, temperature, 1000.0, liquid, 0.1, 1e5)


def of_gas(source, **at):
    return source.at(now(**at))[0]


def of_liquid(source, **at):
    return source.at(now(**at))[1]


def of_heat(source, **at):
    return source.at(now(**at))[2]


def _closed_outlet():
    curve = co.SourceCurve((LOW, 10e5, HIGH), (4.0, 3.0, 1.0))
    yield of_gas(sources.closed_outlet(3.0, outflow=1.0)), co.relief_load(3.0, GAS, 1.0).mass_flow
    own = co.relief_load(curve.mass_flow(P1), GAS, 0.5).mass_flow
    yield of_gas(sources.closed_outlet(curve.mass_flow, None, 0.5, ENDS)), own
    line = dict(source_pressure=12e5, highest_source_pressure=HIGH)
    own = co.inflow_at_relieving(3.0, 10e5, P1, **line)
    source = sources.closed_outlet(lambda P: co.inflow_at_relieving(3.0, 10e5, P, **line),
                                   pressures=ENDS)  # fmt: skip
    yield of_gas(source), co.relief_load(own, GAS).mass_flow
    pump = co.PumpCurve(120.0, 100.0, 0.01)
    P = (11.8e5, P1, 13.9e5)  # its curve is stated up to 1.2 times rated flow
    own = co.pump_load(pump, 4.5e5, P1, 800.0).mass_flow / 800.0
    yield of_liquid(sources.pump(pump, 4.5e5, 800.0, P)), own


def _control_valve_opens():
    own = cv.gas_load(HIGH_GAS, GAS, 20.0, 0.7, other_inflow=0.1).mass_flow
    yield of_gas(sources.control_valve_opens(HIGH_GAS, 20.0, 0.7, ENDS, other_inflow=0.1)), own
    own = cv.blow_by_load(HIGH_GAS, GAS, 20.0, 0.7).mass_flow
    blow_by = sources.gas_blow_by(HIGH_GAS, 20.0, 0.7, ENDS)
    yield of_gas(blow_by), own
    rho_g = 9.0
    T = P1 * 18.0 / (GAS_CONSTANT * rho_g)
    own = cv.blow_by_load(HIGH_GAS, Liquid(P1, 620.0), 20.0, 0.7, rho_g).mass_flow / 620.0
    yield of_liquid(sources.pushed_by(blow_by, 18.0, T)), own
    own = cv.liquid_load(HOT, Liquid(P1, 600.0), 16.0, 0.9, 32e5).mass_flow / 600.0
    yield of_liquid(sources.liquid_through_valve(HOT, 16.0, 0.9, 32e5, ENDS)), own


def _exterior_fire_liquid():
    source = sources.exterior_fire_liquid(DRUM, 1.5)
    level = 1.3  # half full, one of the net's points or between them
    heat = fl.absorbed_heat(fl.wetted_area(DRUM, level, 1.5))
    part = DRUM.volume_of(level) / DRUM.volume
    yield of_heat(source, liquid=part), heat


def _exterior_fire_gas():
    P, T = 20.37e5, 487.1
    load = fg.relief_load(50.0, P, T, 5.86, 1.33)
    cp = 1.33 / 0.33 * GAS_CONSTANT / 5.86
    source = sources.exterior_fire_gas(50.0, P, 5.86, 1.33)
    yield of_heat(source, pressure=P, temperature=T) / (cp * T), load.mass_flow


def _hydraulic_expansion():
    load = he.relief_load(2e4, Liquid(P1, 500.0), 3e-3, 2700.0)
    yield of_heat(sources.hydraulic_expansion(2e4)) * 3e-3 / 2700.0, load.mass_flow


def _tube_rupture():
    own = tr.relief_load(HIGH_GAS, GAS, 14.83e-3).mass_flow
    broken = sources.tube_rupture(HIGH_GAS, 14.83e-3, ENDS)
    yield of_gas(broken), own
    T = P1 * 18.0 / (GAS_CONSTANT * 9.0)
    own = tr.relief_load(HIGH_GAS, Liquid(P1, 990.0), 14.83e-3, gas_density=9.0).mass_flow
    yield of_liquid(sources.pushed_by(broken, 18.0, T)) * 990.0, own
    water = Liquid(60e5, 990.0)
    own = tr.relief_load(water, Liquid(P1, 990.0), 14.83e-3).mass_flow
    yield of_liquid(sources.tube_rupture(water, 14.83e-3, ENDS)) * 990.0, own


def _loss_of_cooling():
    T = PropsSI("T", "P", P1, "Q", 0, "Propane")
    duty = lc.reboiler_working(900.0, 43.0, 330.0, T)[-1].value
    own = lc.relief_load(duty, 3e5, GAS, remaining_cooling=1e4).mass_flow
    source = sources.loss_of_cooling("Propane", 900.0, 43.0, 330.0, ENDS, remaining_cooling=1e4)
    yield of_heat(source) / 3e5, own


def _abnormal_heat_input():
    T = PropsSI("T", "P", P1, "Q", 0, "Propane")
    heat = ah.exchanger_heat(900.0, 43.0, 330.0, T, 1e-4)[-1].value
    own = ah.relief_load(heat, 3e5, GAS, remaining_cooling=1e4).mass_flow
    source = sources.abnormal_heat_input(
        "Propane", lambda T: ah.exchanger_heat(900.0, 43.0, 330.0, T, 1e-4)[-1].value, ENDS, 1e4
    )
    yield of_heat(source) / 3e5, own
    assert exchanger.duty(900.0, 43.0, 330.0, T) < heat  # clean surface


def _power_and_air_failure():
    load = co.relief_load(3.0, GAS)
    small = replace(load, cause="control_valve_opens", mass_flow=1.0)
    lost = {"cooling_water lost"}
    found = [pf.Consequence("PSV-1", x, ("cooling_water lost",)) for x in (small, load)]
    own = pf.relief_load("PSV-1", lost, found)
    table = {"closed_outlet": sources.closed_outlet(3.0)}
    source = sources.power_and_air_failure("PSV-1", lost, found, table)
    assert source.cause == own.cause
    yield of_gas(source), own.mass_flow


def _reverse_flow():
    back = Liquid(60e5, 700.0)
    own = rf.leak_load(back, Liquid(P1, 700.0), 0.1541).mass_flow
    source = sources.reverse_flow(lambda P: rf.leak_load(back, Liquid(P, 700.0), 0.1541), ENDS, 700)
    yield of_liquid(source) * 700.0, own
    own = rf.bore_load(HIGH_GAS, GAS, 0.02).mass_flow

    def load(P):
        return rf.bore_load(HIGH_GAS, Gas(P, 313.15, molar_mass=18.0, k=1.28), 0.02)

    yield of_gas(sources.reverse_flow(load, ENDS)), own


def _overfilling():
    own = of.relief_load(8.0, Liquid(P1, 620.0), 3.0).mass_flow
    yield of_liquid(sources.overfilling(8.0, 620.0, 3.0)) * 620.0, own


def _volatile_ingress():
    def load(P):
        return vi.pair_load(0.1, 313.15, vi.boiling_pair("Water", "n-Hexane", P), 5e4)

    yield of_gas(sources.volatile_ingress(load, ENDS)), load(P1).mass_flow


def _runaway_reaction():
    own = rr.vapor_load(9500.0, 1426.4, 310.6e3, GAS).mass_flow
    yield of_heat(sources.runaway_reaction(9500.0, 1426.4)) / 310.6e3, own


def _tank_breathing():
    load = tb.relief_load(1000.0, 100 / 3600, 30.0, 1.03e5)
    yield of_gas(sources.tank_breathing(load)), load.mass_flow


CAUSES = sorted(m.name for m in pkgutil.iter_modules(causes.__path__) if m.name != "shared")


@pytest.mark.parametrize("cause", CAUSES)
def test_at_relieving_pressure_each_cause_brings_the_load_of_its_module(cause):
    # the load of each module is held against published values in its own tests
    for brought, load in globals()[f"_{cause}"]():
        within = 2e-3 if cause == "exterior_fire_liquid" else 1e-6
        assert brought == pytest.approx(load, rel=within) and load > 0


def test_the_outflow_of_a_run_ends_at_the_load_of_its_cause():
    gas = IdealGas(12.0, 8e5, 313.15, molar_mass=18.0, k=1.28)
    source = sources.control_valve_opens(HIGH_GAS, 20.0, 0.7, ENDS)
    load = cv.gas_load(HIGH_GAS, GAS, 20.0, 0.7)
    sizing = size(load)
    relief = Relief("proportional", 11e5, effective_area(sizing), full_lift=1e5 / (11e5 - PATM))
    course = follow(Case(gas, source, relief, limit_pressure=13e5), 600.0)
    assert course.mass_flow[-1] == pytest.approx(load.mass_flow, rel=1e-5)
    assert course.steady_pressure == pytest.approx(P1, rel=1e-4)  # the size that just holds it


def test_gas_pushes_liquid_out_volume_for_volume():
    # displaced_liquid: equal volumes; into a stiff vessel full of water
    full = LiquidFull(2.0, 11e5, 300.0, density=990.0, expansion_coefficient=2e-4,
                      liquid_heat_capacity=4180.0, compressibility=4.5e-10)  # fmt: skip
    source = sources.pushed_by(sources.closed_outlet(0.02), 18.0, 300.0)
    relief = Relief("modulating pilot", P1, 1.2e-4, full_lift=0.05)
    course = follow(Case(full, source, relief, limit_pressure=14e5), 20.0)
    rho_g = course.pressure[-1] * 18.0 / (GAS_CONSTANT * 300.0)
    assert course.mass_flow[-1] == pytest.approx(displaced_liquid(0.02, rho_g, 990.0), rel=2e-3)


def test_liquid_first_then_gas():
    # a level that is lost after 30 s: by hand the piston, then the filling of what is left
    source = sources.Source("gas_blow_by", gas=lambda now: 0.5, liquid=lambda now: 0.1,
                            switch_time=30.0)  # fmt: skip
    vessel = GasOverLiquid(10.0, 5e5, 300.0, 2.0, molar_mass=28.0, k=1.3, isothermal=True)
    course = follow(Case(vessel, source, limit_pressure=30e5), 40.0)
    P30 = 5e5 * 8.0 / 5.0
    by_hand = P30 + GAS_CONSTANT * 300.0 / 28.0 * 0.5 * 10.0 / 5.0
    assert np.interp(30.0, course.time, course.pressure) == pytest.approx(P30, rel=1e-6)
    assert course.pressure[-1] == pytest.approx(by_hand, rel=1e-6)


# ------------------------------------------------------------ the sprung disk
def test_where_the_sprung_disk_begins_to_swing():
    # DY-28: Hopf by Routh and Hurwitz, (kappa + s)(1 + kappa s) = s + beta sqrt(y3), computed;
    # equations and parameter values from memory (Licsko, Champneys, Hos, 2009)
    disk = SprungDisk()
    lift, pressure = disk.standing(disk.critical_flow)
    assert disk.critical_flow == pytest.approx(8.49112, abs=5e-6)
    assert (lift, pressure) == (pytest.approx(2.41031, abs=5e-6), pytest.approx(12.4103, abs=5e-5))
    assert disk.critical_frequency == pytest.approx(3.09071, abs=5e-6)
    s = 20.0 * lift / (2.0 * sqrt(pressure))
    jacobian = [[0.0, 1.0, 0.0], [-1.0, -1.25, 1.0], [-20.0 * sqrt(pressure), 0.0, -s]]
    eigen = np.linalg.eigvals(np.array(jacobian))  # a pair crosses the axis there
    pair = eigen[np.abs(eigen.imag) > 1e-6]
    assert pair.real == pytest.approx([0.0, 0.0], abs=1e-9)
    assert abs(pair.imag[0]) == pytest.approx(disk.critical_frequency, rel=1e-9)


def test_above_the_critical_flow_the_disk_stands_still():
    t, lift, *_, strikes = SprungDisk().run(9.0, 300.0)
    assert lift[-1] == pytest.approx(2.5414, abs=5e-4) and strikes == 0  # DY-28


def test_below_the_critical_flow_the_disk_swings_without_end():
    # DY-28: free oscillation between 0.668 and 6.010, 1 %
    t, lift, *_, strikes = SprungDisk().run(8.0, 400.0, steps=8000)
    late = lift[t > 350.0]
    assert (late.min(), late.max()) == (pytest.approx(0.668, rel=0.01),
                                        pytest.approx(6.010, rel=0.01))  # fmt: skip
    assert strikes == 0


def test_at_a_smaller_flow_the_disk_strikes_its_seat():
    # DY-28 gives lifts up to 8.02 at q = 7; the motion there never repeats and its highest lift
    # depends on the stretch looked at, 8.06 in the first 50 by the plain integration below
    disk = SprungDisk()
    t, lift, *_, strikes = disk.run(7.0, 50.0, steps=8000)
    y = np.array([1.04 * disk.standing(7.0)[0], 0.0, disk.standing(7.0)[1]])

    def rates(y):
        return np.array([y[1], -1.25 * y[1] - y[0] - 10.0 + y[2], 20.0 * (7.0 - y[0] * sqrt(y[2]))])

    def stepped(y, h):  # Runge and Kutta
        a = rates(y)
        b = rates(y + h / 2 * a)
        c = rates(y + h / 2 * b)
        return y + h / 6 * (a + 2 * b + 2 * c + rates(y + h * c))

    top, struck, h = 0.0, 0, 4e-3
    for _ in range(int(50.0 / h)):
        after = stepped(y, h)
        if after[0] < 0:  # halve the step down to the impact, strike, then go on with the rest
            low, high = 0.0, h
            for _ in range(40):
                middle = 0.5 * (low + high)
                low, high = (low, middle) if stepped(y, middle)[0] < 0 else (middle, high)
            hit = stepped(y, low)
            after = stepped(np.array([0.0, -0.8 * hit[1], hit[2]]), h - low)
            struck += 1
        y, top = after, max(top, after[0])
    assert lift.min() == pytest.approx(0.0, abs=1e-9) and strikes > 0
    assert strikes == struck and lift.max() == pytest.approx(top, rel=0.01)


# ------------------------------------------------------------ fires at full scale
def test_a_uniform_boiling_tank_in_a_fire_is_slower_than_a_real_one():
    """DY-29, DY-30: published fire tests, compared in kind alone.

    Rail tank car RAX 201 (127 m3, LPG, bare, JP-4 pool fire) burst 24.5 min after ignition with its
    valve working; RAX 202, coated, after 94 min (FRA reports, abstracts read). No series of
    pressure, level or wall temperature was at hand, so no number of ours can be held against them:
    the wall of the vapour space fails, and this model has no such wall. What can be held: its valve
    opens long before that, and holds the pressure, which is just what did not save the car.
    """
    car = Vessel("horizontal", 3.0, length=17.0, head_type="2:1 ellipsoidal")
    assert car.volume == pytest.approx(127.0, rel=0.03)
    tank = Boiling("Propane", car.volume, 294.0, 0.84 * car.volume)
    relief = Relief("pop", 19.3e5 + PATM, 8e-3, blowdown=0.10)  # sizes assumed, ours
    source = sources.exterior_fire_liquid(car, 1.0, adequate_drainage=False)
    case = Case(tank, source, relief, limit_pressure=1.21 * 19.3e5 + PATM)
    course = follow(case, 24.5 * 60.0)
    assert course.time_to_set < 24.5 * 60.0 and course.time_to_limit == np.inf


@pytest.mark.parametrize("area, drained, poor", [
    (10.0, 28.54, 46.84), (50.0, 21.36, 35.06), (200.0, 16.65, 27.32),
])  # fmt: skip
def test_the_flux_of_a_fire_that_a_run_counts(area, drained, poor):
    # DY-32: 43.2 and 70.9 kW times A^0.82, over A, by hand; tests that engulf a tank give about
    # 100 kW/m2 (HSE, fire engulfment of LPG tanks): the code's mean over a large wall is a fifth
    for good, printed in ((True, drained), (False, poor)):
        flux = fl.absorbed_heat(area, adequate_drainage=good) / area
        assert flux / 1e3 == pytest.approx(printed, abs=5.1e-3)


def test_bad_input_is_said_in_words():
    gas = CYCLING
    for bad in (
        lambda: Relief("spring", 10e5, 1e-3),
        lambda: Relief("pop", 1e5, 1e-3),
        lambda: Relief("pop", 10e5, -1e-3),
        lambda: Relief("disk", 10e5, 1e-3, loss_fraction=0.03),
        lambda: Relief("pop", 10e5, 1e-3, full_lift=0.1),
        lambda: Relief("pop", float("nan"), 1e-3),
        lambda: Case(gas, NOTHING, limit_pressure=10e5),
        lambda: Case(gas, NOTHING, POP, limit_pressure=20e5, set_pressure=19e5),
        lambda: follow(Case(gas, NOTHING, limit_pressure=20e5), 0.0),
        lambda: Case(gas, NOTHING, limit_pressure=float("nan")),
        lambda: Case(gas, NOTHING, limit_pressure=20e5, set_pressure=float("nan")),
        lambda: follow(Case(gas, sources.Source("closed_outlet", gas=lambda now: float("nan")),
                            limit_pressure=20e5), 10.0),
        lambda: IdealGas(5.0, 15e5, float("nan"), molar_mass=18.0, k=1.3),
        lambda: IdealGas(5.0, 15e5, 300.0, molar_mass=18.0, k=1.3, isothermal=True,
                         wall=Wall(1.0, 1.0, 1.0)),
        lambda: GasOverLiquid(5.0, 15e5, 300.0, 5.0, molar_mass=18.0, k=1.3),
        lambda: Boiling("Propane", 5.0, 369.0, 2.0),
        lambda: Boiling("Propane[0.5]&n-Butane[0.5]", 5.0, 300.0, 2.0),
        lambda: LiquidFull.of_fluid("Propane", 1.0, 1e5, 300.0),
        lambda: RealGas("Propane", 1.0, 20e5, 300.0),
        lambda: sources.closed_outlet(lambda P: P),
        lambda: sources.gas_blow_by(HIGH_GAS, 20.0, 0.7, ENDS, switch_time=10.0),
        lambda: sources.pushed_by(sources.overfilling(1.0, 700.0), 18.0, 300.0),
        lambda: sources.tank_breathing(ReliefLoad("closed_outlet", 1.0, GAS)),
        lambda: sources.over_pressure(lambda P: P, (2e5, 1e5)),
        lambda: process_safety_time(Case(gas, NOTHING, limit_pressure=20e5), trip_pressure=1e5),
        lambda: SprungDisk(rebound=1.0),
        lambda: SprungDisk(damping=100.0).critical_flow,
    ):  # fmt: skip
        with pytest.raises(InputError):
            bad()
