"""What must hold for any input: proportion, monotony, limits, arrays, NaN, workings; and speed."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib import exchanger
from relieflib.causes import (
    abnormal_heat_input as ah,
    exterior_fire_gas as fg,
    exterior_fire_liquid as fl,
    loss_of_cooling as lc,
    power_and_air_failure as pf,
    runaway_reaction as rr,
    tank_breathing as tb,
)
from relieflib.causes.shared import boiling, reactor
from relieflib.errors import InputError
from relieflib.geometry import HEADS, Vessel
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.sizing import size

settings.register_profile("relief", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("relief")

GAS, TWO = Gas(20e5, 330.0, molar_mass=44.1, k=1.1), TwoPhase(4.5e5, 722.0, omega=15.0)
LPG = boiling.Mixture(("Propane", "n-Butane"), (0.6, 0.4))
shares = st.floats(0.0, 1.0)
vessels = st.builds(Vessel, st.sampled_from(["horizontal", "vertical"]), st.floats(0.3, 8.0),
                    length=st.floats(0.5, 20.0), head_type=st.sampled_from(HEADS))  # fmt: skip


@given(vessels, shares, shares)
def test_more_level_wets_more(vessel, a, b):
    low, high = (vessel.bottom + x * (vessel.top - vessel.bottom) for x in sorted((a, b)))
    assert vessel.wetted_area(low) <= vessel.wetted_area(high) * (1 + 1e-9)
    assert vessel.volume_of(low) <= vessel.volume_of(high) * (1 + 1e-9) + 1e-12
    assert vessel.volume_of(vessel.level_of(vessel.volume_of(high))) == pytest.approx(
        vessel.volume_of(high), rel=1e-6, abs=1e-9 * vessel.volume)  # fmt: skip


@given(st.builds(Vessel, st.just("horizontal"), st.floats(0.3, 8.0), length=st.floats(0.5, 20.0),
                 head_type=st.sampled_from(HEADS)), shares)  # fmt: skip
def test_halves_of_a_drum_mirror(vessel, x):
    # what is wet at one level is dry at the mirrored one
    low = x * vessel.diameter
    both = vessel.wetted_area(low) + vessel.wetted_area(vessel.diameter - low)
    assert both == pytest.approx(vessel.area, rel=1e-9)


@given(st.floats(0.1, 1e3), st.floats(0.1, 1e3), shares)
def test_fire_heat(a, b, F):
    low, high = sorted((a, b))
    assert fl.absorbed_heat(low, F) <= fl.absorbed_heat(high, F) * (1 + 1e-12)
    assert fl.absorbed_heat(a, F) <= fl.absorbed_heat(a, F, adequate_drainage=False)
    assert fl.zone_heat([a, b]) > fl.zone_heat([a, b], connected=True)


@given(st.floats(300.0, 860.0), st.floats(300.0, 860.0))
def test_gas_fire_falls_to_nothing_at_the_wall(T1, T2):
    low, high = sorted((T1, T2))
    W = [fg.mass_flow(10.0, 20e5, T, 20.0) for T in (low, high)]
    assert W[0] >= W[1] * (1 - 1e-12)
    with pytest.raises(InputError, match="wall gives way"):
        fg.mass_flow(10.0, 20e5, fg.WALL_LIMIT, 20.0)


@given(st.floats(0.0, 60.0), st.floats(1e4, 1e9))
def test_tempered_load_falls_with_overpressure(rise, q):
    args = (9500.0, 13.16, q / 1e6, 310.6e3, 0.0841, 2470.0, TWO)
    assert rr.relief_load(*args, rise).mass_flow <= rr.relief_load(*args).mass_flow * (1 + 1e-12)


@given(st.floats(280.0, 600.0), st.floats(280.0, 600.0), st.floats(10.0, 1e6))
def test_exchanger_limits(hot, boil, C):
    steam = exchanger.duty(500.0, 10.0, hot, boil)
    cooling = exchanger.duty(500.0, 10.0, hot, boil, C)
    assert 0 <= cooling <= steam * (1 + 1e-12)
    assert cooling <= C * max(hot - boil, 0.0) * (1 + 1e-12)
    assert exchanger.duty(500.0, 10.0, hot, boil, 1e12) == pytest.approx(steam, rel=1e-6)


@given(st.floats(1.0, 1e4), st.floats(1.0, 1e4))
def test_tank_heat_rises_with_area(a, b):
    low, high = (tb.emergency_heat(x, 10e3) for x in sorted((a, b)))
    assert low <= high * 1.002  # the printed pieces meet to 0.2 %


def test_pieces_of_tank_heat_meet():
    # printed equations, rounded: neighbours agree to 0.2 %
    for A in (18.6, 93.0, 260.0):
        low, high = tb.emergency_heat(A * (1 - 1e-9), 5e3), tb.emergency_heat(A, 5e3)
        assert low == pytest.approx(high, rel=2e-3)


def test_insulated_vessel_heats_with_time():
    run = fg.expose(fg.FireCase(20.0, 50.0, 2.0, 0.014, 13e5, 311.0, 5.86, 1.338, 17e5, 20.37e5,
                                4e-4))  # fmt: skip
    assert np.all(np.diff(run.wall_temperature) > 0) and np.all(np.diff(run.fire_heat) > 0)
    assert np.all(np.diff(run.mass) <= 1e-9) and run.vented_heat[-1] > 0


def test_vent_lowers_the_peak():
    # the closed batch isn't among them: it is liquid-full, and its run over, at 8.8 bar
    batch = reactor.Batch(
        8000.0, 15.7, "n-Hexane", 2800.0, 370.0, 170.0, 4.6e8, 11350.0, 5e5, 5.5e5
    )
    peaks = [reactor.run_away(replace(batch, vent_area=a), 4e4).pressure.max()
             for a in (0.001, 0.003, 0.01)]  # fmt: skip
    assert np.all(np.diff(peaks) < 0)


WORKINGS = {
    "fire": size(fl.pure_load("Propane", 21.9e5, 8e5, fl.heat_working(
        Vessel("horizontal", 2.5, length=8.0, head_type="flat"), 1.2, 1.0, 0.1, 0.3, False))),
    "mixture": fl.mixture_load(LPG, 10e5, 1e6, 5), "near": fl.near_critical_load(
        "Propane", 46e5, 1e6, 400.0, 420.0, 10),
    "gas": size(fg.relief_load(50.0, 20e5, 450.0, 44.0, 1.3)),
    "gas real": fg.supercritical_load("Nitrogen", 20e5, 1e5, 450.0, 800.0, 5),
    "reboiler": lc.relief_load(1e6, 3e5, GAS, 1e5, 2e5, 1e5, 1e5, lc.reboiler_working(
        900.0, 43.0, 497.0, 487.0)),
    "no heat": lc.relief_load(1e6, 3e5, GAS, remaining_cooling=2e6),
    "condenser": lc.condenser_load(3.0, GAS, 1.0), "lost": lc.lost_duty_load(1e6, 3e5, GAS),
    "abnormal": ah.relief_load(2e6, 3e5, GAS, 5e5, 0.2, 1.0, ah.exchanger_heat(
        500.0, 40.0, 470.0, 450.0, 4e-4)),
    "hot oil": ah.relief_load(2e6, 3e5, GAS, working=ah.cooling_medium_heat(
        500.0, 40.0, 550.0, 450.0, 2e4)),
    "fired": ah.relief_load(2e6, 3e5, GAS, working=ah.fired_heat(0.1, 5e7, 0.8, 1e6)),
    "power": pf.relief_load("A", {"x lost"}, [pf.Consequence(
        "A", lc.condenser_load(3.0, GAS, 1.0), ("x lost",))]),
    "tempered": size(rr.relief_load(9500.0, 13.16, 1426.4, 3.1e5, 0.084, 2470.0, TWO, 10.2)),
    "vapor": rr.vapor_load(9500.0, 1426.4, 3.1e5, GAS),
    "gassy": rr.gassy_load(9500.0, 13.16, 1.8, TWO),
    "hybrid": rr.hybrid_load(9500.0, 13.16, 1.8, 500.0, 3e5, 0.09, TWO),
    "tank out": tb.relief_load(1000.0, 0.01, 45.0, 1.03e5),
    "tank in": tb.vacuum_load(1000.0, 0.01, 45.0),
    "tank fire": tb.emergency_load(200.0, 2500.0, 335e3, 86.18, 342.0, 1.03e5, 0.5),
}  # fmt: skip


@pytest.mark.parametrize("name", WORKINGS)
def test_each_equation_gives_its_value(name):
    load = WORKINGS[name]
    found = getattr(load, "load", load)
    assert found.working[-1].name == "mass_flow" and found.working[-1].value == found.mass_flow
    for line in load.working:
        assert line.source, line
        if line.equation:
            assert line.evaluate() == pytest.approx(line.value, rel=1e-9), line


ARRAYS = [
    lambda x: fl.absorbed_heat(x), lambda x: fl.insulation_factor(0.05, 0.01 * x, 400.0),
    lambda x: fl.conductance_factor(5.0 + x), lambda x: fl.relief_load(x, 3e5, GAS).mass_flow,
    lambda x: fl.pure_load("Propane", x * 1e6, 1e6).mass_flow,
    lambda x: fl.time_to_relief(x, 2e3, 300.0, 400.0, 1e6),
    lambda x: fg.mass_flow(x, 2e6, 450.0, 40.0),
    lambda x: fg.factor(1.2, 400.0 + x), lambda x: fg.formula_area(x, 20e5),
    lambda x: fg.wall_strength(500.0 + 50 * x), lambda x: fg.relieving_temperature(x, 300.0, 5.0),
    lambda x: exchanger.duty(x, 10.0, 500.0, 450.0), lambda x: exchanger.clean_coefficient(x, 0.01),
    lambda x: lc.net_heat(x), lambda x: lc.condenser_load(x, GAS).mass_flow,
    lambda x: lc.lost_duty_load(x, 3e5, GAS).mass_flow, lambda x: lc.time_to_flood(x, 0.1),
    lambda x: lc.air_cooler_duty(x),
    lambda x: lc.blanketed_duty("Propane", x * 1e6, 0.1, 500.0, 9.0, 290.0),
    lambda x: ah.relief_load(x * 1e6, 3e5, GAS).mass_flow, lambda x: rr.reaction_heat(2e3, x, 1.0),
    lambda x: rr.relief_load(x * 1e3, 10.0, 500.0, 3e5, 0.09, 2e3, TWO).mass_flow,
    lambda x: rr.gas_volume_flow(x, 1.0, 1.0, 1.0, 300.0, 1e5, 400.0),
    lambda x: tb.latitude_factor(20 * x), lambda x: tb.cooling_factor(20 * x, True),
    lambda x: tb.insulation_factor(x, 0.05), lambda x: tb.emergency_heat(40 * x, 5e3),
    lambda x: tb.relief_load(x, 0.1, 30.0, 1.02e5).mass_flow,
    lambda x: tb.vent_capacity(x, 0.5, 1.03e5, 1e5),
    lambda x: tb.collapse_pressure(8.0, 10.0, 1e-3 * x),
    lambda x: tb.vacuum_load(x, 0.1, 30.0).mass_flow,
    lambda x: tb.sealed_pressure("Water", x, 373.0, 300.0),
]  # fmt: skip


@pytest.mark.parametrize("call", ARRAYS)
def test_arrays_equal_scalars_and_nan_passes(call):
    values = np.array([1.0, np.nan, 2.5])
    many = call(values)
    assert many.shape == (3,) and np.isnan(many[1])
    assert many[0] == call(1.0) and many[2] == call(2.5) and isinstance(call(1.0), float)


NO = [
    lambda: fl.fire_level(Vessel("vertical", 1.0, length=2.0, head_type="flat"), 3.0, 0.0),
    lambda: fl.conductance_factor(1.8), lambda: fl.conductance_factor(23.0),
    lambda: fl.protection_factor("paint"), lambda: fl.absorbed_heat(1.0, 1.01),
    lambda: fl.insulation_factor(0.05, 0.1, 1178.0), lambda: fl.relief_load(1.0, 0.0, GAS),
    lambda: fl.pure_load("Propane", 41e5, 1e6),
    lambda: fl.near_critical_load("Propane", 40e5, 1.0, 400.0, 500.0),
    lambda: fl.zone_heat([1.0, 2.0], [1.0, 0.3], connected=True),
    lambda: fl.time_to_relief(1.0, 1.0, 400.0, 300.0, 1.0),
    lambda: boiling.Mixture(("Propane", "n-Butane"), (0.6, 0.5)),
    lambda: boiling.Mixture(("Propane",), (0.5, 0.5)),
    lambda: boiling.Mixture(("Propane", "n-Butane"), (1.0, 0.0)),
    lambda: LPG.bubble_temperature(200e5),
    lambda: boiling.boil_off(LPG, 10e5, 0), lambda: boiling.boil_off(LPG, 10e5, last=1.0),
    lambda: boiling.heated_temperature("Propane", 60e5, 900.0),
    lambda: boiling.expulsion("Propane", 60e5, 400.0, 390.0),
    lambda: boiling.Mixture(("Methane", "n-Decane"), (0.5, 0.5)).limit,
    lambda: fg.wall_strength(1474.0),
    lambda: fg.FireCase(1, 1, 1, 0.01, 1e5, 300, 20, 1.0, 2e5, 3e5, 0),
    lambda: fg.FireCase(1, 1, 1, 0.01, 1e5, 300, 20, 1.3, 3e5, 3e5, 0),
    lambda: exchanger.clean_coefficient(500.0, 0.002), lambda: lc.air_cooler_duty(1.0, False, 1.01),
    lambda: lc.blanketed_duty("Propane", 15e5, 1.0, 1.0, 1.0, 300.0),
    lambda: ah.fired_heat(1.0, 1.0, 1.01),
    lambda: rr.phi_corrected(1.0, 0.99), lambda: rr.fit_arrhenius([350.0], [1.0], 100.0, 350.0),
    lambda: rr.fit_arrhenius([350.0, 451.0], [1.0, 2.0], 100.0, 350.0),
    lambda: reactor.Batch(8000.0, 10.0, "n-Hexane", 2800.0, 370.0, 170.0, 1.0, 1e4, 5e5, 6e5),
    lambda: reactor.Batch(80.0, 10.0, "n-Hexane", 2800.0, 370.0, 170.0, 1.0, 1e4, 5e5, 5e5),
    lambda: reactor.Batch(800.0, 10.0, "n-Hexane", 2800.0, 370.0, 170.0, 1.0, 1e4, 5e5, 6e5,
                          0.0, "foam"),
    lambda: tb.insulation_factor(0.1, 0.05, 4.0, 11.0, 10.0),
    lambda: tb.vent_capacity(1.0, 1.01, 1.1e5, 1e5),
    lambda: tb.emergency_load(10.0, 5e3, 3e5, 80.0, 340.0, 1.02e5, 1.01),
]  # fmt: skip


@pytest.mark.parametrize("call", NO)
def test_impossible_values(call):
    with pytest.raises(InputError):
        call()
