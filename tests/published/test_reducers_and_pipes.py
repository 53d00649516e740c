"""Control valve between reducers, gas in a pipe between two pressures, and k that is not known."""

import fluids
import fluids.control_valve as general
import numpy as np
import pytest

from relieflib.causes import control_valve_opens as cvo
from relieflib.causes.shared.valve_flow import Reducers, gas_steps, liquid_steps
from relieflib.errors import InputError
from relieflib.lines.line_fluids import (
    Adiabatic,
    Expanding,
    Incompressible,
    flux_between,
    upstream_pressure,
)
from relieflib.nozzle.gas import UNKNOWN_K, Gas, coefficient_C
from relieflib.nozzle.liquid import Liquid
from relieflib.units import GAS_CONSTANT

# IEC 60534-2-1, example 3: carbon dioxide, 433 K, 680 to 310 kPa, 3800 m3/h at 0 °C, an eccentric
# plug of 50 mm between 80 and 100 mm, xT 0.60, FL 0.85. As the library fluids carries it, with Kv
# 72.587; the printed number itself was not at hand.
CO2 = Gas(680e3, 433.0, molar_mass=44.01, k=1.30, Z=0.988)
EXAMPLE_3 = Reducers(0.050, 0.080, 0.100)
KV, XT, FL = 72.5866454539105, 0.60, 0.85


def test_factors_of_example_3_by_hand():
    # zeta by fluids' own loss function, N2 and N5 as printed
    square, both = (KV / 50.0**2) ** 2, general.loss_coefficient_piping(50.0, 80.0, 100.0)
    inlet = general.loss_coefficient_piping(50.0, 80.0)
    Fp = (1.0 + both / 1.60e-3 * square) ** -0.5
    assert EXAMPLE_3.Fp(KV) == pytest.approx(Fp, rel=1e-9)
    xTP = XT / Fp**2 / (1.0 + XT * inlet / 1.80e-3 * square)
    assert EXAMPLE_3.xTP(KV, XT) == pytest.approx(xTP, rel=1e-9)
    FLP = FL / np.sqrt(1.0 + FL**2 * inlet / 1.60e-3 * square)
    assert EXAMPLE_3.FLP(KV, FL) == pytest.approx(FLP, rel=1e-9)


def test_flow_of_example_3():
    # 38/36 m3/s at 0 °C and 101 325 Pa, 22.414 m3/kmol. fluids stops its trial within 1 % of the
    # coefficient and keeps xT in Y where the standard has xTP: 2 % together
    steps = gas_steps(CO2, KV, 310e3, XT, EXAMPLE_3)
    assert steps[-1].value == pytest.approx(38 / 36 * 44.01 / 22.414, rel=0.02)
    # reducers take some of the flow: without them the load is larger, the careful side
    assert steps[-1].value < 0.9 * gas_steps(CO2, KV, 310e3, XT)[-1].value
    for line in steps:
        assert not line.equation or line.evaluate() == pytest.approx(line.value, rel=1e-9)


def test_liquid_between_reducers_against_fluids():
    # example 1's water (IEC 60534-2-1), here between 150 mm pipes: not choked, and choked
    water = Liquid(680e3, 965.4, saturation_pressure=70.1e3)
    for P2, recovery in ((220e3, 0.9), (220e3, 0.6)):
        Kv = general.size_control_valve_l(
            rho=965.4, Psat=70.1e3, Pc=22.12e6, mu=3.1472e-4, P1=680e3, P2=P2, Q=0.1, D1=0.15,
            D2=0.15, d=0.1, FL=recovery, Fd=0.46,
        )  # fmt: skip
        steps = liquid_steps(water, Kv, P2, recovery, 22.12e6, Reducers(0.1, 0.15, 0.15))
        assert steps[-1].value / 965.4 == pytest.approx(0.1, rel=0.01)
        for line in steps:
            assert not line.equation or line.evaluate() == pytest.approx(line.value, rel=1e-9)


def test_reducers_in_a_load_and_what_they_refuse():
    low = Gas(310e3, 433.0, molar_mass=44.01, k=1.30)
    load = cvo.gas_load(CO2, low, KV, XT, reducers=EXAMPLE_3)
    assert load.mass_flow == gas_steps(CO2, KV, 310e3, XT, EXAMPLE_3)[-1].value
    none = cvo.gas_load(CO2, low, KV, XT, reducers=Reducers(0.05, 0.05, 0.05)).mass_flow
    assert none == pytest.approx(cvo.gas_load(CO2, low, KV, XT).mass_flow, rel=1e-12)
    with pytest.raises(InputError, match="bypass"):
        cvo.gas_load(CO2, low, KV, XT, 10.0, reducers=EXAMPLE_3)
    with pytest.raises(InputError, match="upstream_diameter"):
        Reducers(0.1, 0.08, 0.1)


# ------------------------------------------------------------ gas in a pipe
def test_isothermal_flow_between_two_pressures_against_fluids():
    # fluids.isothermal_gas: the same balance, written by another hand
    T, M, D, L, fd = 350.0, 30.0, 0.1, 40.0, 0.02
    for P2 in (9e5, 6e5, 4e5):
        W = fluids.isothermal_gas(rho=10e5 * M / (GAS_CONSTANT * T), fd=fd, P1=10e5,
                                  P2=P2, L=L, D=D)  # fmt: skip
        G = flux_between(Expanding.isothermal(T, M), 10e5, P2, fd * L / D)
        assert G * 0.25 * np.pi * D**2 == pytest.approx(W, rel=1e-3)


def test_adiabatic_choked_flow_against_the_tables_of_fanno_flow():
    # k 1.4, Ma 0.2: f L/D 14.533, P/P* 5.4554, T0/T 1.008 (any text on gas dynamics)
    T0, M = 300.0, 28.97
    speed = np.sqrt(1.4 * GAS_CONSTANT / M * T0 / 1.008)
    G = 0.2 * speed * 5.4554e5 * M / (GAS_CONSTANT * T0 / 1.008)
    for P2 in (1e5, 0.5e5):  # at P* and below it: choked
        found = flux_between(Adiabatic(T0, M, 1.4), 5.4554e5, P2, 14.533)
        assert found == pytest.approx(G, rel=1e-4)


def test_flux_between_undoes_upstream_pressure_and_keeps_nan():
    for fluid in (Adiabatic(350.0, 30.0, 1.2), Expanding.isothermal(350.0, 30.0),
                  Expanding.homogeneous(8e5, 60.0, 2.0), Incompressible(700.0)):  # fmt: skip
        G, down = np.array([50.0, 200.0, 700.0]), 1.5e5
        up = upstream_pressure(fluid, G, down, 6.0)
        assert np.allclose(flux_between(fluid, up, down, 6.0), G, rtol=1e-7)
        assert np.isnan(flux_between(fluid, np.nan, down, 6.0))
        assert flux_between(fluid, 2e5, 2e5, 6.0) == 0.0
    with pytest.raises(InputError, match="above the upstream"):
        flux_between(Incompressible(700.0), 1e5, 2e5, 6.0)


# ------------------------------------------------------------ k not known
def test_unknown_k_is_the_printed_315():
    # API 520-I (2020), 5.6.3: C 315 (US) where k can't be determined, the first of its table
    assert coefficient_C(UNKNOWN_K, "US") == pytest.approx(315, abs=0.5)
    assert coefficient_C(UNKNOWN_K) == pytest.approx(0.0239, abs=5e-5)
    # and it is the careful side, choked or not
    for back in (1e5, 8e5, 11e5):
        fluxes = [Gas(12e5, 320.0, molar_mass=29.0, k=k).mass_flux(back)
                  for k in (UNKNOWN_K, 1.1, 1.3, 1.67)]  # fmt: skip
        assert fluxes == sorted(fluxes)
