"""Mixtures by Peng-Robinson against CoolProp's reference equations, where those work."""

import numpy as np
import pytest
from CoolProp import AbstractState, CoolProp as CP

from relieflib.causes.shared import heated_contents
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.phase_split import Split, mixed
from relieflib.properties import State

NAMES = ("Hydrogen", "Methane", "Propane", "n-Hexane")
M = np.array([CP.PropsSI("M", n) * 1e3 for n in NAMES])
OFF_GAS, HEXANE = (1100.0, 700.0, 3000.0, 2400.0), (0.0, 0.0, 0.0, 12_000.0)
BOTH = tuple(np.add(OFF_GAS, HEXANE))
P = 61.01325e5


def reference(masses, pressure, temperature):
    """CoolProp's multi-fluid mixture (Helmholtz energy) at a state, with moles of the masses."""
    state, moles = AbstractState("HEOS", "&".join(NAMES)), np.array(masses) / M
    x = np.maximum(moles / moles.sum(), 1e-12)
    state.set_mole_fractions(list(x / x.sum()))
    state.update(CP.PT_INPUTS, pressure, temperature)
    return state, moles.sum()


@pytest.mark.parametrize(
    "masses, temperature, share, kilogram",
    # shares: what cubic equations are said to keep for light with heavy paraffins (from memory)
    [(BOTH, 313.15, 0.02, 0.01), (OFF_GAS, 313.15, 0.02, 0.01), (BOTH, 357.0, 0.06, 0.05)],
)
def test_vapour_of_a_separator(masses, temperature, share, kilogram):
    state, moles = reference(masses, P, temperature)
    y = np.array(state.mole_fractions_vapor())
    ours = Split(NAMES, masses, P, temperature)
    assert ours.vapor_mass == pytest.approx(moles * state.Q() * (y @ M), rel=share)
    assert ours.vapor.molar_mass == pytest.approx(y @ M, rel=kilogram)
    np.testing.assert_allclose(ours.vapor_masses + ours.liquid_masses, masses, rtol=1e-9)
    assert ours.part("vapor").volume + ours.part("liquid").volume == pytest.approx(ours.volume)


def test_temperature_of_mixing():
    from scipy.optimize import brentq

    hot, cold = (OFF_GAS, 65.0e5, 393.15), (HEXANE, 68.1e5, 310.15)
    enthalpies = []
    for masses, pressure, T in (hot, cold):
        state, moles = reference(masses, pressure, T)
        enthalpies.append(moles * state.hmolar())

    def miss(T):
        state, moles = reference(BOTH, P, T)
        return moles * state.hmolar() - sum(enthalpies)

    found = mixed([Split(NAMES, *hot), Split(NAMES, *cold)], P)
    assert found.temperature == pytest.approx(brentq(miss, 330.0, 380.0), abs=0.5)
    ends = sum(Split(NAMES, *feed).enthalpy for feed in (hot, cold))
    assert found.enthalpy == pytest.approx(ends, rel=1e-6)


def test_one_phase():
    hot = Split(NAMES, OFF_GAS, 65e5, 393.15)  # the reference equation finds gas there too
    assert hot.liquid_mass == 0.0
    state, _ = reference(OFF_GAS, 65e5, 393.15)
    assert state.phase() == CP.iphase_gas
    assert sum(OFF_GAS) / hot.volume == pytest.approx(state.rhomass(), rel=0.03)
    cold = Split(NAMES, HEXANE, 60e5, 313.15)
    assert cold.vapor_mass == 0.0
    rho = CP.PropsSI("D", "P", 60e5, "T", 313.15, "n-Hexane")
    assert 12_000 / cold.volume == pytest.approx(rho, rel=0.02)


def nearly_pure(mass):
    """Propane with a trace of butane, in a vessel of 1 m3."""
    return Split(("Propane", "n-Butane"), (0.999 * mass, 0.001 * mass), 10e5, 300.0)


def test_boiling_propane_is_its_latent_heat():
    # of a pure fluid: h_v/(1 - rho_v/rho_l), what fills the room of the liquid stays; CoolProp
    P1, at = 20e5, {}
    for q in (0, 1):
        at[q] = [CP.PropsSI(name, "P", P1, "Q", q, "Propane") for name in "HD"]
    expected = (at[1][0] - at[0][0]) / (1 - at[1][1] / at[0][1])
    points = heated_contents.path(nearly_pure(220.0), P1, 1.0, 345.0)
    assert points[0].expulsion_heat == pytest.approx(expected, rel=0.03)
    T = CP.PropsSI("T", "P", P1, "Q", 0, "Propane")
    assert points[0].temperature == pytest.approx(T, abs=1.0)


def test_above_the_critical_pressure_it_is_the_heat_that_drives_a_kilogram_out():
    # reference: c_P/alpha of CoolProp's propane, at the same temperatures;
    # nearer to 390 K, where the heat capacity peaks, a cubic equation rounds the peak off
    points = heated_contents.path(nearly_pure(300.0), 60e5, 1.0, 450.0)
    clear = [p for p in points if p.temperature > 400.0]
    T = np.array([p.temperature for p in clear])
    heats = State("Propane", 60e5, temperature=T).expulsion_heat
    np.testing.assert_allclose([p.expulsion_heat for p in clear], heats, rtol=0.05)
    assert len(clear) >= 5
    # one phase, and what no longer fits has gone: the rest fills the vessel at each step
    assert [p.leaving.volume for p in points] == pytest.approx([1.0] * len(points), rel=1e-6)


def test_a_dry_gas_flows_as_a_gas():
    # the omega line from 90 % of the pressure against the gas equation, API 520-I 5.6
    gas = Split(NAMES, (1080.0, 640.0, 1000.0, 100.0), 60e5, 330.0)
    v = gas.vapor
    flux = Gas(60e5, 330.0, molar_mass=v.molar_mass, k=v.k, Z=v.Z).mass_flux(1e5)
    assert gas.liquid_mass == 0.0
    assert heated_contents.stream(gas).mass_flux(1e5) == pytest.approx(flux, rel=0.03)


def test_what_cannot_be():
    calls = [
        lambda: Split(NAMES, (1.0, 0.0), 1e5, 300.0),
        lambda: Split(NAMES, (0.0, 0.0, 0.0, 0.0), 1e5, 300.0),
        lambda: Split(NAMES, OFF_GAS, -1e5, 300.0),
        lambda: Split(("Propane", "no such"), (1.0, 1.0), 1e5, 300.0).vapor_mass,
        lambda: heated_contents.filled(Split(NAMES, HEXANE, 60e5, 300.0), 1.0, 0.5),
        lambda: heated_contents.path(nearly_pure(220.0), 60e5, 1.0, 330.0),
    ]
    for call in calls:
        with pytest.raises(InputError):
            call()
