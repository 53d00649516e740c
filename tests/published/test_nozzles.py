"""Gas, steam and liquid nozzles against printed tables, closed forms and general libraries."""

import fluids
import fluids.safety_valve
import iapws
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle import gas, liquid, steam
from relieflib.units import GAS_CONSTANT, from_si, to_si

# API 520-I, table of C over k (US), printed as integers; read.
C_TABLE = {
    1.0001: 315, 1.01: 317, 1.02: 318, 1.04: 320, 1.06: 322, 1.08: 325, 1.10: 327, 1.11: 328,
    1.15: 332, 1.20: 337, 1.25: 342, 1.30: 347, 1.35: 352, 1.40: 356, 1.45: 360, 1.50: 365,
    1.55: 369, 1.60: 373, 1.65: 376, 1.70: 380, 1.80: 387, 1.90: 394, 2.00: 400,
}  # fmt: skip


def test_coefficient_C_table():
    k = np.array(list(C_TABLE))
    assert np.abs(gas.coefficient_C(k, "US") - list(C_TABLE.values())).max() <= 0.5
    # US 356.06 at k 1.4 is 520 sqrt(...): the constant to its last digit, by the closed form
    root = np.sqrt(1.4 * (2 / 2.4) ** (2.4 / 0.4))
    assert gas.coefficient_C(1.4, "US") == pytest.approx(520 * root, rel=1e-12)
    # SI 0.03948, as fluids prints it for k 1.35 (fluids.safety_valve.API520_C)
    assert gas.coefficient_C(1.35) == pytest.approx(fluids.safety_valve.API520_C(1.35), rel=1e-9)


def test_critical_ratio():
    # Zappe, Valve Selection Handbook, p. 260 prints 0.60 (k 1.01), 0.59 (1.08), 0.50 (1.60).
    ratio = gas.critical_ratio(np.array([1.01, 1.08, 1.60]))
    assert np.abs(ratio - [0.60, 0.59, 0.50]).max() <= 0.005
    # NACA 1135 prints p*/p0 = 0.5283 for k 1.4
    assert gas.critical_ratio(1.4) == pytest.approx(0.5283, abs=5e-5)


def test_subcritical_constant():
    # Ludwig, Applied Process Design vol. 1, 3rd ed., table 7-11: 735 F2 sqrt(1 - r), printed.
    printed = {
        1.1: [158.7, 216.3, 282.0, 314.8, 326.4], 1.4: [159.9, 219.6, 291.4, 331.7, 351.8],
        1.8: [160.9, 222.4, 299.3, 346.2, 374.1],
    }  # fmt: skip
    r = np.array([0.95, 0.90, 0.80, 0.70, 0.60])
    for k, row in printed.items():
        assert np.abs(735 * gas.coefficient_F2(k, r) * np.sqrt(1 - r) - row).max() <= 0.06


def test_printed_forms_are_one_function():
    # API 520-I 5.6.3 and 5.6.4 in SI: W = C A P1 sqrt(M/TZ) and W = 17.9^-1 ... with constants
    # of four figures, so equal to the exact function within their rounding (0.03948: 1e-4).
    P, T, M, k, Z = 670e3, 348.0, 51.0, 1.11, 0.90
    G = gas.coefficient_C(k) * (P / 1e3) * np.sqrt(M / (T * Z)) * 1e6 / 3600
    assert gas.mass_flux(P, T, molar_mass=M, k=k, Z=Z) == pytest.approx(G, rel=3e-4)
    # A = 17.9 W/F2 sqrt(TZ/(M P1 (P1 - P2))), 10th edition; mm2, kg/h, kPa
    r = 0.8
    F2 = gas.coefficient_F2(k, r)
    kPa = P / 1e3
    G = F2 / 17.9 * np.sqrt(M * kPa * (kPa - r * kPa) / (T * Z)) * 1e6 / 3600
    assert gas.mass_flux(P, T, molar_mass=M, k=k, Z=Z, back_pressure=r * P) == pytest.approx(
        G, rel=2e-3
    )


@pytest.mark.parametrize("k", [1.001, 1.11, 1.4, 1.667])
@pytest.mark.parametrize("r", [0.2, 0.6, 0.8, 0.99])
def test_flux_by_integration_of_the_isentrope(k, r):
    # G = rho_t sqrt(2 int v dP) along P v^k = const, held at the highest flux: no shared code
    P, T, M, Z = 1e6, 350.0, 29.0, 0.95
    v0 = Z * GAS_CONSTANT * T / (M * P)

    def flux(x):
        area = quad(lambda p: v0 * (P / p) ** (1 / k), x * P, P, epsabs=0, epsrel=1e-12)[0]
        return np.sqrt(2 * area) / (v0 * x ** (-1 / k))

    xs = np.linspace(r, 0.9999, 400)
    best = max(flux(r), max(flux(x) for x in xs)) if r < 0.65 else flux(r)
    assert gas.mass_flux(P, T, molar_mass=M, k=k, Z=Z, back_pressure=r * P) == pytest.approx(
        best, rel=2e-6
    )


def test_against_fluids():
    # fluids.safety_valve.API520_A_g rounds its constants to four figures
    for back in (0.1e6, 0.5e6, 0.8e6):
        A = fluids.safety_valve.API520_A_g(m=10.0, T=348.0, Z=0.9, MW=51.0, k=1.11, P1=1e6,
                                           P2=back, Kd=1.0)  # fmt: skip
        flux = gas.mass_flux(1e6, 348.0, molar_mass=51.0, k=1.11, Z=0.9, back_pressure=back)
        assert flux == pytest.approx(10.0 / A, rel=2e-3)


def test_iso_4126_gas():
    # ISO 4126-7, C = 3.948 sqrt(k (2/(k+1))^((k+1)/(k-1))), and qm = p0 C A Kdr sqrt(M/(Z T));
    # from memory. Air, 1000 mm2, Kdr 0.7, 12.0132 bara, 293.15 K.
    C = 3.948 * np.sqrt(1.4 * (2 / 2.4) ** 6)
    assert C == pytest.approx(2.70332, abs=5e-6)
    qm = 12.0132 * C * 1000 * 0.7 * np.sqrt(28.97 / 293.15)
    ours = 0.7 * 1e-3 * gas.mass_flux(12.0132e5, 293.15, molar_mass=28.97, k=1.4) * 3600
    assert ours == pytest.approx(qm, rel=2e-4)  # 3.948 is rounded to four figures


def test_iso_4126_liquid():
    # ISO 4126-7: qm = 1.61 Kdr Kv A sqrt((p0 - pb)/v), from memory; 1.61 has three figures
    # (exact 1.6100): water 998 kg/m3, 11 barg to atmosphere, 1000 mm2, Kdr 0.65
    qm = 1.61 * 0.65 * 1000 * np.sqrt(11 * 998)
    ours = 0.65 * 1e-3 * liquid.mass_flux(12.01325e5, 998.0, 1.01325e5) * 3600
    assert ours == pytest.approx(qm, rel=1e-3)


def test_napier():
    # Napier: W = 51.5 A P, lb/h, in2, psia (API 520-I 5.7); 190.5 in SI (kg/h, kPa, mm2)
    A_in2, P_psia = 1.0, 300.0
    G = steam.mass_flux(to_si(P_psia, "psia", "pressure"))
    W = from_si(G * to_si(A_in2, "in2", "area"), "lb/h", "mass flow")
    assert W == pytest.approx(51.5 * P_psia, rel=1e-9)
    assert G == pytest.approx(
        to_si(P_psia, "psia", "pressure") / 1e3 / 190.5 * 1e6 / 3600, rel=6e-4
    )


def test_high_pressure_factor():
    # API 520-I 5.7 and Zappe p. 264: KN = (0.1906 P - 1000)/(0.2292 P - 1061), psia; the SI form
    # printed beside it, (0.02764 P - 1000)/(0.03324 P - 1061) in kPa, and fluids' API520_N
    psia = np.array([1600.0, 1774.7, 2500.0, 3100.0])
    P = to_si(psia, "psia", "pressure")
    si = (0.02764 * P / 1e3 - 1000) / (0.03324 * P / 1e3 - 1061)
    np.testing.assert_allclose(steam.high_pressure_factor(P), si, rtol=1e-3)
    assert steam.high_pressure_factor(10.5e6) == pytest.approx(
        fluids.safety_valve.API520_N(10.5e6), abs=2e-4
    )
    hand = (0.1906 * 1774.7 - 1000) / (0.2292 * 1774.7 - 1061)
    assert steam.high_pressure_factor(P)[1] == pytest.approx(hand, rel=1e-12)
    assert hand == pytest.approx(1.01, abs=0.005)  # printed in example 4
    # the published formula starts below 1 at 1500 psia (a step of 0.43 %), and crosses at 1580
    step = steam.high_pressure_factor(to_si(np.array([1500.0, 1500.001]), "psia", "pressure"))
    assert step[0] == 1.0 and 1 - step[1] == pytest.approx(0.0043, abs=5e-5)
    assert steam.high_pressure_factor(to_si(1580.31, "psia", "pressure")) == pytest.approx(
        1, abs=1e-5
    )


def test_steam_saturation():
    # IAPWS-IF97 (2007 revision), table 36: printed test values of the backward equation, and the
    # general library iapws along the whole line
    T = steam.saturation_temperature(np.array([0.1e6, 1e6, 10e6]))
    np.testing.assert_allclose(T, [372.755919, 453.035632, 584.149488], atol=5e-7)
    for P in (1e3, 2e5, 5e6, 22e6):
        assert steam.saturation_temperature(P) == pytest.approx(
            iapws.iapws97._TSat_P(P / 1e6), abs=1e-6
        )


def test_limits_of_steam():
    # IAPWS: triple point 611.657 Pa, IF97 from 611.213 Pa; critical point 22.064 MPa, 647.096 K
    assert steam.saturation_temperature(22.064e6) == pytest.approx(647.096, abs=1e-3)
    assert steam.saturation_temperature(612.0) == pytest.approx(273.16, abs=0.01)
    for P in (611.0, 22.07e6):
        with pytest.raises(InputError, match="no saturation"):
            steam.saturation_temperature(P)
    # dry saturated steam chokes at 0.577, superheated at 0.546 (k 1.135 and 1.3, closed form)
    for T, chokes, not_choked in [(None, 0.577, 0.578), (600.0, 0.545, 0.547)]:
        assert steam.mass_flux(10e5, T, back_pressure=chokes * 10e5) > 0
        with pytest.raises(InputError, match="choked"):
            steam.mass_flux(10e5, T, back_pressure=not_choked * 10e5)


def _isentropic_flux(P, T=None, x=None):
    """Choked equilibrium flux by IAPWS-IF97: max over the throat of rho sqrt(2 (h0 - h))."""
    one = iapws.IAPWS97(P=P / 1e6, T=T) if T else iapws.IAPWS97(P=P / 1e6, x=x)
    best = 0.0
    for r in np.linspace(0.50, 0.62, 49):
        throat = iapws.IAPWS97(P=r * P / 1e6, s=one.s)
        best = max(best, throat.rho * np.sqrt(2e3 * (one.h - throat.h)))
    return best


@pytest.mark.parametrize("bara, celsius", [(5, 300), (10, 250), (10, 400), (20, 350), (50, 400),
                                           (100, 500)])  # fmt: skip
def test_superheat_against_isentropic_flow(bara, celsius):
    # KSH of the 10th edition is isentropic flux over Napier: IF97, no shared code; the table
    # carries three figures and is interpolated
    P, T = bara * 1e5, celsius + 273.15
    ours = steam.mass_flux(P, T)
    assert ours == pytest.approx(_isentropic_flux(P, T), rel=4e-3)


@pytest.mark.parametrize("bara, low, high", [(5, 0, 0.013), (10, -0.03, 0), (50, -0.03, 0),
                                             (150, 0, 0.013)])  # fmt: skip
def test_saturated_steam_against_isentropic_flow(bara, low, high):
    # Napier with KN against equilibrium flow by IF97: the docstring's -3/+1.3 %
    ratio = _isentropic_flux(bara * 1e5, x=1.0) / steam.mass_flux(bara * 1e5) - 1
    assert low - 1e-3 <= ratio <= high + 1e-3


def test_wet_steam_against_isentropic_flow():
    # 1/sqrt(x) (ISO 4126-7, from memory) against equilibrium flow by IF97 at x 0.95
    ratio = _isentropic_flux(10e5, x=0.95) / steam.mass_flux(10e5, quality=0.95)
    dry = _isentropic_flux(10e5, x=1.0) / steam.mass_flux(10e5)
    assert ratio / dry == pytest.approx(1.0, abs=0.006)


def test_superheat_tables():
    # 7th edition (2000), table 9: 600 F at 300 psig prints 0.85 (read through fluids' table), and
    # the general library's own spline agrees between the nodes
    P, T = to_si(300, "psig", "pressure"), to_si(600, "°F", "temperature")
    assert steam.superheat_factor(P, T, edition=7) == pytest.approx(
        fluids.safety_valve.API520_SH(T, P, "7E"), abs=1e-6
    )
    for P, T in [(1.066325e6, 866.15), (4e6, 700.0), (9.1e6, 810.0)]:
        for edition, name in [(7, "7E"), (10, "10E")]:
            assert steam.superheat_factor(P, T, edition) == pytest.approx(
                fluids.safety_valve.API520_SH(T, P, name), abs=2e-4
            )
    # fluids' docstring: 0.72018 at 593 C, 1066.325 kPa (7th edition)
    assert steam.superheat_factor(1066.325e3, 593 + 273.15, 7) == pytest.approx(0.72018, abs=5e-6)
    hot = steam.Steam(1066.325e3, 593 + 273.15, edition=7)
    KSH = {s.name: s.value for s in hot.flux_working()}["KSH"]
    assert KSH == pytest.approx(0.72018, abs=5e-6)


def test_viscosity_factor():
    # API 520-I example 5: Re 4525 prints Kv 0.964 (7th and 9th ed.); fluids for the 10th
    assert liquid.viscosity_factor(4525.0, 7) == pytest.approx(0.964, abs=5e-4)
    for Re in (60.0, 400.0, 4525.0, 1e5):
        for edition, name in [(7, "7E"), (10, "10E")]:
            assert liquid.viscosity_factor(Re, edition) == pytest.approx(
                fluids.safety_valve.API520_Kv(Re, name), rel=1e-9
            )
    # the chart ends at 1, which the equation of the 7th edition would pass
    assert liquid.viscosity_factor(1e7, 7) == 1.0


@pytest.mark.filterwarnings("ignore:reynolds")  # below the chart
@pytest.mark.parametrize("edition, name, most", [(7, "7E", 110.0), (10, "10E", 0.1)])
def test_viscosity_factor_of_the_flow_that_passes(edition, name, most):
    # Kv = f(Re Kv) with the published f, found by bisection from above
    def off(K, thin):
        return K - fluids.safety_valve.API520_Kv(thin * K, name)

    for thin in np.geomspace(most, 1e7, 40):
        Kv = brentq(off, 1.1, 0.3 if edition == 7 else 1e-5, args=(thin,), xtol=1e-13)
        assert liquid.viscosity_factor_of_thin(thin, edition) == pytest.approx(Kv, rel=1e-9)


def test_the_older_equation_has_no_flow_of_what_is_too_viscous():
    # K - f(Re K) is then below 0 for every K, so that no flow meets its own Kv
    K = np.geomspace(1e-3, 1.2, 400)
    for thin, some in ((106.0, False), (109.0, True)):
        f = np.array([fluids.safety_valve.API520_Kv(thin * k, "7E") for k in K])
        assert np.any(f >= K) == some
    with pytest.raises(InputError, match="nothing so viscous flows"):
        liquid.viscosity_factor_of_thin(106.0, 7)
    assert liquid.viscosity_factor_of_thin(np.array([109.0, np.nan]), 7)[0] > 0.25


def test_reynolds():
    # API 520-I 5.8: Re = 18 800 q G/(mu sqrt(A)), L/min, cP, mm2; 18 800 has three figures and
    # water at 1000 kg/m3; and the library's definition on the diameter
    W, A, mu = 102.1, 4116e-6, 0.388
    q_G = W / 1000 * 60e3  # L/min times specific gravity
    assert liquid.reynolds(W, A, mu) == pytest.approx(
        18_800 * q_G / (mu * 1e3 * np.sqrt(A * 1e6)), rel=3e-3
    )
    D = np.sqrt(4 * A / np.pi)
    assert liquid.reynolds(W, A, mu) == pytest.approx(
        fluids.Reynolds(V=W / 900.0 / A, D=D, rho=900.0, mu=mu), rel=1e-12
    )


@pytest.mark.parametrize("call, words", [
    (lambda: gas.mass_flux(0.0, 300, molar_mass=29, k=1.4), "pressure = 0 Pa"),
    (lambda: gas.mass_flux(1e5, 300, molar_mass=29, k=1.0), "k = 1"),
    (lambda: gas.mass_flux(1e5, 300, molar_mass=29, k=1.4, Z=0.0), "Z = 0"),
    (lambda: gas.mass_flux(1e5, 300, molar_mass=29, k=1.4, Z=1.0, back_pressure=1.1e5),
     "back_pressure = 110000 Pa"),
    (lambda: gas.mass_flux(1e5, 300, molar_mass="air", k=1.4), "molar_mass"),
    (lambda: gas.mass_flux([1e5, -1.0, -2.0], 300, molar_mass=29, k=1.4),
     "2 of 3 values; first at index 1"),
    (lambda: gas.coefficient_F2(1.4, 0.4), "choked"),
    (lambda: steam.mass_flux(10e5, 400.0), "below saturation"),
    (lambda: steam.mass_flux(10e5, 600.0, quality=0.95), "leave out the temperature"),
    (lambda: steam.mass_flux(10e5, quality=0.8), "two-phase"),
    (lambda: steam.mass_flux(10e5, back_pressure=6e5), "choked"),
    (lambda: steam.mass_flux(22.1e6), "3200 psia"),
    (lambda: steam.superheat_factor(1e6, 950.0), "ends at"),
    (lambda: steam.superheat_factor(1e6, 500.0, 8), "edition"),
    (lambda: liquid.mass_flux(1e5, 1000, 2e5), "above the relieving pressure"),
    (lambda: liquid.viscosity_factor(100.0, 8), "edition"),
    (lambda: liquid.Liquid(1e6, 500.0, saturation_pressure=1.1e6), "boils"),
])  # fmt: skip
def test_impossible_values(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_outside_validity():
    with pytest.warns(ValidityWarning, match="real-fluid"):
        gas.mass_flux(1e5, 300, molar_mass=29, k=1.4, Z=0.6)
    with pytest.warns(ValidityWarning, match="flashes"):
        liquid.Liquid(1e6, 500.0, saturation_pressure=5e5).mass_flux(1e5)
    with pytest.warns(ValidityWarning, match="Re above 10"):
        liquid.viscosity_factor(5.0)
    with pytest.warns(ValidityWarning, match="15 psig"):
        steam.mass_flux(1.5e5)


def test_steam_that_a_valve_passes_is_choked():
    # Napier's equation knows no other; a back pressure above the inlet is none
    assert steam.Steam(10e5).choked(1e5) is True
    assert steam.Steam(10e5).choked(np.array([5e5, 11e5, np.nan])).tolist() == [True, False, False]
