"""Omega method against printed examples, closed forms, quadrature and reference equations."""

import iapws
import numpy as np
import pytest
from scipy.integrate import quad

from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle import liquid, two_phase
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.properties import State, critical_pressure, saturation_pressure
from relieflib.units import from_si, to_si

# omega, exact eta_c, G/sqrt(P0 rho), and the printed explicit fit. Computed outside the project
# from Leung's equation eta^2 + (w^2 - 2w)(1 - eta)^2 + 2w^2 ln eta + 2w^2 (1 - eta) = 0.
TABLE = np.array([
    [0.1, 0.314284, 0.993852, 0.314305], [0.3, 0.447922, 0.817789, 0.447787],
    [0.5, 0.515219, 0.72863, 0.515114], [0.8, 0.577445, 0.645603, 0.57742],
    [1, 0.606531, 0.606531, 0.606552], [1.2, 0.629887, 0.575006, 0.629945],
    [1.482, 0.656327, 0.539133, 0.656423], [2, 0.692504, 0.489674, 0.69264],
    [3, 0.738323, 0.426271, 0.738475], [5, 0.79006, 0.353326, 0.790169],
    [8.515, 0.836215, 0.286567, 0.836226], [10, 0.848569, 0.268341, 0.848546],
    [20, 0.893774, 0.199854, 0.893642], [50, 0.935796, 0.132342, 0.935709],
    [100, 0.957029, 0.0957029, 0.957152],
])  # fmt: skip


def test_critical_ratio_and_flux():
    w, eta, G, fit = TABLE.T
    assert np.abs(two_phase.critical_ratio(w) - eta).max() < 1e-6
    assert np.abs(two_phase.mass_flux(1.0, 1.0, w) - G).max() < 5.1e-7  # half of the last digit
    assert np.abs(two_phase.explicit_critical_ratio(w) - fit).max() < 6e-7
    # the fit is a check only: its authors' claim, to three decimals
    assert np.abs(two_phase.explicit_critical_ratio(w) - two_phase.critical_ratio(w)).max() < 3e-4


def test_omega_of_one_is_isothermal_ideal_gas():
    assert two_phase.critical_ratio(1.0) == pytest.approx(np.exp(-0.5), rel=1e-14)
    r = np.array([0.7, 0.9])  # G = P sqrt(2 ln(1/r)) r / sqrt(P v): closed form
    G = two_phase.mass_flux(1e6, 10.0, 1.0, back_pressure=r * 1e6)
    assert pytest.approx(r * np.sqrt(2e7 * np.log(1 / r)), rel=1e-13) == G


@pytest.mark.parametrize("w", [0.05, 0.7, 1.0, 5.0, 60.0])
@pytest.mark.parametrize("eta_s", [0.2, 0.8, 0.97, 1.0])
def test_flux_by_integration_of_the_fluid_model(w, eta_s):
    # G = sqrt(2 int v dP)/v with v = v0 (w (Ps/P - 1) + 1) below Ps, v0 above: no shared code
    def v(p):
        return w * (eta_s / p - 1.0) + 1.0 if p < eta_s else 1.0

    def flux(p):
        points = [eta_s] if p < eta_s < 1 else None
        return np.sqrt(2 * quad(v, p, 1.0, points=points, epsabs=0, epsrel=1e-11)[0]) / v(p)

    r = np.unique(np.r_[np.linspace(0.02, 0.999, 300), eta_s * 0.999999])
    P, rho = 8e5, 300.0
    scale = np.sqrt(P * rho)
    G = np.array([flux(p) for p in r])
    best = two_phase.mass_flux(P, rho, w, eta_s * P) / scale
    assert best >= G.max() * (1 - 1e-9) and best == pytest.approx(G.max(), rel=2e-4)
    r_c = two_phase.critical_ratio(w, eta_s)
    for back in (0.5 * (r_c + 1.0), 0.02 + 0.98 * r_c):
        got = two_phase.mass_flux(P, rho, w, eta_s * P, back * P) / scale
        assert got == pytest.approx(flux(back), rel=1e-9)


def test_published_pieces_meet():
    # At Ps = eta_st P1 the low-subcooling equation has the root eta_s: shown in the module, held
    # here through the printed forms, written again.
    w = np.array([0.3, 1.0, 4.77, 40.0])
    eta_st = 2 * w / (1 + 2 * w)
    assert two_phase.transition_ratio(w) == pytest.approx(eta_st, rel=1e-15)
    residual = ((w + 1 / w - 2) / (2 * eta_st) * eta_st**2 - 2 * (w - 1) * eta_st
                + w * eta_st * np.log(1.0) + 1.5 * w * eta_st - 1)  # fmt: skip
    assert np.abs(residual).max() < 1e-12
    for side in (1 - 1e-7, 1 + 1e-7):
        ratio = two_phase.critical_ratio(w, eta_st * side)
        # the slope of the ratio is steep above, so its root goes with the step, not its square
        assert ratio == pytest.approx(eta_st, rel=5e-5)
        G = two_phase.mass_flux(1e6, 500.0, w, side * eta_st * 1e6)
        assert pytest.approx(np.sqrt(2 * 500.0 * 1e6 * (1 - eta_st)), rel=1e-5) == G
    assert two_phase.critical_ratio(w, 1.0) == pytest.approx(two_phase.critical_ratio(w), rel=1e-15)
    near = two_phase.mass_flux(1e6, 500.0, w, 1e6 * (1 - 1e-9))
    assert near == pytest.approx(two_phase.mass_flux(1e6, 500.0, w), rel=1e-7)


def test_printed_example_of_a_flashing_inlet():
    # API 520-I Annex C.2.2.2 (9th and 10th ed.), 7th ed. D.2.1.2; read. US printed numbers.
    v0, v9 = (to_si(v, "ft3/lb", "specific volume") for v in (0.3116, 0.3629))
    P, back = to_si(80.7, "psia", "pressure"), to_si(29.7, "psia", "pressure")
    stream = TwoPhase.from_90(P, v0, v9)
    assert stream.omega == pytest.approx(1.482, abs=5e-4)
    assert stream.choked(back) and not stream.liquid_inlet
    # it reads eta_c 0.66 off the chart (true 0.656): within the chart's half digit, and its
    # P_c and G follow from that reading
    r_c = stream.critical_ratio()
    assert r_c == pytest.approx(0.66, abs=0.005)
    assert from_si(0.66 * P, "psia", "pressure") == pytest.approx(53.26, abs=0.005)
    # its US constant 68.09 is sqrt(144 x 32.174) = 68.066 rounded up
    G = from_si(stream.mass_flux(back), "lb/(s ft2)", "mass flux") * 68.09 / np.sqrt(144 * 32.174)
    assert G * 0.66 / r_c == pytest.approx(594.1, abs=0.3)
    # metric column, 0.66 again: 2900 kg/(s m2); area 37.8 in2 with Kd 0.85
    assert stream.mass_flux(back) * 0.66 / r_c == pytest.approx(2900, abs=5)
    A = 477430 / 3600 / (0.85 * G * 0.66 / r_c) * 144
    assert pytest.approx(37.8, abs=0.05) == A
    assert G == pytest.approx(590.805, abs=5e-3)  # exact eta_c, worked out outside


def test_printed_example_of_a_subcooled_liquid():
    # API 520-I Annex C.2.3 (9th and 10th ed.), 7th ed. D.2.3.2; propane; read.
    P, Ps = to_si(300.7, "psia", "pressure"), to_si(107.6, "psia", "pressure")
    rho = to_si(31.92, "lb/ft3", "density")
    stream = TwoPhase.subcooled(P, Ps, rho, to_si(16.4, "lb/ft3", "density"))
    assert two_phase.transition_ratio(stream.omega) == pytest.approx(0.9445, abs=5e-4)
    assert stream.saturation_ratio == pytest.approx(107.6 / 300.7, rel=1e-12)
    assert stream.critical_ratio() == stream.saturation_ratio and stream.liquid_inlet
    G = stream.mass_flux(to_si(24.7, "psia", "pressure"))
    # 100 gpm, Kd 0.65: 0.208 in2; 7560.47 lb/(s ft2) worked out outside from its equation
    # with its constant 96.3, which is sqrt(2 x 144 x 32.174) = 96.260 rounded up
    US = from_si(G, "lb/(s ft2)", "mass flux") * 96.3 / np.sqrt(288 * 32.174)
    assert pytest.approx(7560.47, abs=0.05) == US
    W = to_si(100.0, "gpm", "volume flow") * rho
    assert from_si(W / (0.65 * G), "in2", "area") == pytest.approx(0.208, abs=5e-4)
    # metric column: omega_s 8.515 with 511.3 and 262.7 kg/m3; 134.5 mm2
    metric = TwoPhase.subcooled(2073.3e3, 741.9e3, 511.3, 262.7)
    assert metric.omega == pytest.approx(8.515, abs=0.003)
    W = to_si(378.5, "L/min", "volume flow") * 511.3
    assert 1e6 * W / (0.65 * metric.mass_flux(170.3e3)) == pytest.approx(134.5, abs=0.3)


def test_non_flashing_gas_and_liquid():
    # alpha/k 0.8/1.4: worked out outside from Leung's equation
    stream = TwoPhase.non_flashing(1e6, 200.0, 0.8, 1.4)
    assert stream.omega == pytest.approx(0.571429, abs=5e-7)
    assert stream.critical_ratio() == pytest.approx(0.532955, abs=1e-6)
    assert stream.mass_flux() / np.sqrt(1e6 * 200) == pytest.approx(0.705033, abs=1e-6)
    # all gas: v = 1/k (P1/P - 1) + 1 is tangent to P v^k = const at the inlet, and exact as k goes
    # to 1; at k 1.4 it gives 2.8 % too little
    P, rho, k = 1e6, 10.0, np.array([1.001, 1.01, 1.4])
    G = TwoPhase.non_flashing(P, rho, 1.0, k).mass_flux()
    exact = np.sqrt(k * P * rho * (2 / (k + 1)) ** ((k + 1) / (k - 1)))
    assert np.all(np.abs(G / exact - 1) < [1e-4, 1e-3, 0.03])
    assert two_phase.omega_non_flashing(0.5, 1.005) == pytest.approx(0.5 / 1.005)


# CoolProp 8.0.0, worked out outside the project: fluid, P, x, omega by 90 % isentropic flash, G.
SATURATED = [
    ("Propane", 10e5, 0.0, 6.89706, 6897.52), ("Propane", 20e5, 0.0, 4.44869, 10879.0),
    ("Water", 10e5, 0.05, 2.42686, 4417.76), ("Water", 10e5, 1.0, 0.871095, 1430.47),
    ("Ammonia", 12e5, 0.1, 1.88508, 4938.19), ("Propane", 10e5, 0.2, 1.88487, 4791.31),
    ("n-Butane", 5e5, 0.0, 12.8501, 3978.49), ("Ethylene", 20e5, 0.0, 3.36559, 12083.3),
    ("R134a", 10e5, 0.0, 7.41121, 10273.3), ("Water", 5e5, 0.0, 26.9305, 3749.01),
]  # fmt: skip


@pytest.mark.parametrize("fluid, P, x, omega, G", SATURATED)
def test_omega_of_a_fluid(fluid, P, x, omega, G):
    stream = TwoPhase.of_fluid(fluid, P, quality=x)
    assert stream.omega == pytest.approx(omega, rel=6e-6)
    assert stream.mass_flux() == pytest.approx(G, rel=6e-6)


def test_subcritical_flux_of_a_fluid():
    # propane saturated at 10 bar against 9 bar: worked out outside
    G = TwoPhase.of_fluid("Propane", 10e5, quality=0.0).mass_flux(9e5)
    assert pytest.approx(6554.57, abs=0.01) == G


@pytest.mark.filterwarnings("ignore:pressure")
@pytest.mark.parametrize("P, T, omega, G", [
    (20.733e5, 288.706, 8.27505, 36843.2), (20e5, 325.435, 4.76845, 13350.0),
    (20e5, 329.204, 4.52419, 11139.2),
])  # fmt: skip
def test_subcooled_propane(P, T, omega, G):
    # Worked out outside with the saturated density over rho_9; ours, as the standard, divides the
    # inlet's density by the same rho_9.
    stream = TwoPhase.of_fluid("Propane", P, temperature=T)
    rho9 = stream.density / (1 + stream.omega / 9)
    rho_s = State("Propane", stream.saturation_pressure, quality=0.0).density
    assert 9 * (rho_s / rho9 - 1) == pytest.approx(omega, rel=1e-4)
    w = 9 * (rho_s / rho9 - 1)
    other = two_phase.mass_flux(P, stream.density, w, stream.saturation_pressure)
    assert other == pytest.approx(G, rel=1e-4)  # T given to 1 mK moves Ps by 3e-5
    assert stream.mass_flux() == pytest.approx(G, rel=1.5e-3)


def properties_of(fluid, P, x, sat):
    s = State(fluid, P, quality=x)
    change = sat["v_v"] - sat["v_l"]
    return dict(temperature=s.temperature, quality=x, specific_volume=s.specific_volume,
                vapor_specific_volume=sat["v_v"], specific_volume_change=change,
                latent_heat=sat["h"], liquid_heat_capacity=sat["c"])  # fmt: skip


@pytest.mark.parametrize("fluid, P, x, omega", [
    ("Water", 10e5, 0.0, 16.2855), ("Propane", 10e5, 0.0, 7.08172),
    ("Propane", 20e5, 0.0, 4.91081), ("Ammonia", 12e5, 0.1, 1.91989),
])  # fmt: skip
def test_omega_from_properties(fluid, P, x, omega):
    # worked out outside: API 7th ed. D.2.1, saturated c_p from CoolProp; 2 to 10 % from the
    # 90 % form, so equality between the two is not expected
    s = State(fluid, P, quality=0.0)
    sat = dict(v_l=s.specific_volume, v_v=s.vapor.specific_volume, h=s.latent_heat,
               c=s.heat_capacity)  # fmt: skip
    values = properties_of(fluid, P, x, sat)
    stream = TwoPhase.from_properties(P, **values)
    assert stream.omega == pytest.approx(omega, rel=2e-5)
    other = TwoPhase.of_fluid(fluid, P, quality=x).omega
    assert 0.9 < other / stream.omega < 1.03


def test_omega_from_properties_of_IF97():
    # water at 10 bar from another equation of state, iapws.IAPWS97, row's value 16.2855
    low, high = iapws.IAPWS97(P=1.0, x=0), iapws.IAPWS97(P=1.0, x=1)
    got = two_phase.omega_from_properties(
        1e6, low.T, 0.0, low.v, high.v, high.v - low.v, (high.h - low.h) * 1e3, low.Liquid.cp * 1e3
    )
    assert got == pytest.approx(16.2855, rel=1e-3)


def test_subcooled_from_properties_uses_saturation_pressure():
    s = State("Propane", 7e5, quality=0.0)
    values = dict(temperature=s.temperature, vapor_specific_volume=s.vapor.specific_volume,
                  specific_volume_change=s.vapor.specific_volume - s.specific_volume,
                  latent_heat=s.latent_heat, liquid_heat_capacity=s.heat_capacity)  # fmt: skip
    stream = TwoPhase.from_properties(15e5, s.specific_volume, 7e5, **values)
    again = two_phase.omega_from_properties(7e5, quality=0.0, specific_volume=s.specific_volume,
                                            **values)  # fmt: skip
    assert stream.omega == again and stream.saturation_pressure == 7e5
    whole = TwoPhase.from_properties(7e5, s.specific_volume, quality=0.0, **values)
    for line in (*stream.origin, *whole.origin):  # the equation in print gives it too
        assert line.evaluate() == pytest.approx(again, rel=1e-7)
    with pytest.raises(InputError, match="subcooled liquid has 0"):
        TwoPhase.from_properties(15e5, s.specific_volume, 7e5, quality=0.0, **values)


def test_cold_liquid_is_incompressible():
    # far below boiling the flux is the liquid's, down to the saturation pressure
    G = two_phase.mass_flux(10e5, 998.0, 20.0, 2.3e3, 3e5)
    assert pytest.approx(liquid.mass_flux(10e5, 998.0, 3e5), rel=1e-14) == G


STREAMS = {
    "saturated": TwoPhase.from_90(556.4e3, 0.01945, 0.02265),
    "high": TwoPhase.subcooled(2073.3e3, 741.9e3, 511.3, 262.7),
    "low": TwoPhase.subcooled(20e5, 19.5e5, 437.0, 290.0),
    "frozen": TwoPhase.non_flashing(1e6, 200.0, 0.8, 1.4),
    "given": TwoPhase(1e6, 200.0, omega=2.0),
    "arrays": TwoPhase(np.array([1e6, 2e6]), 200.0, omega=2.0, saturation_pressure=np.array([2e5,
                                                                                             19e5])),
    "properties": TwoPhase.from_properties(
        10e5, 0.0011272, temperature=453.03, quality=0.01, vapor_specific_volume=0.19436,
        specific_volume_change=0.193233, latent_heat=2.0146e6, liquid_heat_capacity=4405.0),
    "subcooled properties": TwoPhase.from_properties(
        15e5, 0.0011272, 10e5, temperature=453.03, vapor_specific_volume=0.19436,
        specific_volume_change=0.193233, latent_heat=2.0146e6, liquid_heat_capacity=4405.0),
}  # fmt: skip


@pytest.mark.parametrize("name", STREAMS)
@pytest.mark.parametrize("part", [0.0, 0.6, 0.97, 0.99])
def test_working_gives_its_values(name, part):
    stream = STREAMS[name]
    working = stream.flux_working(part * stream.pressure)
    for line in working:
        for index in range(2 if name == "arrays" else 1):
            at = line.at(index)
            if at.equation:
                assert at.evaluate() == pytest.approx(at.value, rel=1e-9), at
    assert working[-1].name == "mass_flux"
    if name in ("saturated", "frozen", "given", "properties"):
        assert not any("eta_s" in line.equation for line in working)


@pytest.mark.parametrize("call, words", [
    (lambda: two_phase.mass_flux(1e6, 500.0, 0.0), "omega"),
    (lambda: two_phase.mass_flux(1e6, 500.0, 2.0, 1.001e6), "boils"),
    (lambda: two_phase.mass_flux(1e6, 500.0, 2.0, None, 1.1e6), "flow would reverse"),
    (lambda: two_phase.omega_from_90(0.02, 0.02), "nothing expands"),
    (lambda: two_phase.omega_subcooled(500.0, 500.0), "nothing flashes"),
    (lambda: two_phase.omega_non_flashing(1.005, 1.4), "not above 1"),
    (lambda: two_phase.omega_non_flashing(0.5, 1.0), "must be above 1"),
    (lambda: two_phase.critical_ratio(2.0, 1.005), "must not be above 1"),
    (lambda: two_phase.omega_from_properties(1e6, 453.0, 1.005, 0.1, 0.2, 0.19, 2e6, 4e3),
     "mass fraction"),
    (lambda: TwoPhase(1e6, 200.0, omega=2.0, saturation_pressure=np.array([2e5,
                                                                           1e6])).liquid_inlet,
                                                                               "Kd differ"),
    (lambda: TwoPhase.of_fluid("Propane", 10e5, temperature=350.0), "no liquid"),
])  # fmt: skip
def test_impossible_values(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_saturated_is_no_subcooled_inlet():
    assert not TwoPhase(1e6, 200.0, omega=2.0, saturation_pressure=1e6).liquid_inlet
    assert TwoPhase(1e6, 200.0, omega=2.0, saturation_pressure=np.array([2e5, np.nan])).liquid_inlet


def test_warns_above_half_the_critical_pressure():
    Pc = critical_pressure("Propane")
    with pytest.warns(ValidityWarning, match="half of the critical"):
        TwoPhase.of_fluid("Propane", 0.503 * Pc, quality=0.0)
    stream = TwoPhase.of_fluid("Propane", 0.498 * Pc, quality=0.0)
    assert stream.mass_flux() > 0
    T = State("Propane", 10e5, quality=0.0).temperature
    assert saturation_pressure("Propane", T) == pytest.approx(10e5, rel=1e-9)


def test_a_given_omega_is_the_first_step():
    stream = TwoPhase(5e5, 30.0, omega=1.5)
    first = stream.flux_working(1e5)[0]
    assert (first.name, first.value, first.source) == ("omega", 1.5, "given")
