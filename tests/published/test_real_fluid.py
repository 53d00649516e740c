"""Real-fluid nozzle and fluid states against IF97, quadrature, closed forms and outside values."""

import CoolProp
import iapws
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from relieflib import properties as pr
from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle import gas, liquid, real_fluid, steam
from relieflib.nozzle.isentrope import check_mixture, expansion, phase_changes
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State
from relieflib.units import GAS_CONSTANT

MIX = "Propane[0.6]&n-Butane[0.4]"

# Worked out outside the project with CoolProp 8.0.0 on a dense grid and by sqrt(2 int v dP): not
# independent of the equations of state, but of our search. Fluid, bar, T or None, x or None, G,
# throat over inlet pressure, throat quality or None in one phase.
OUTSIDE = [
    ("Propane", 10, None, 0.0, 6861.78, 0.825734, 0.0564326),
    ("Propane", 20, None, 0.0, 10814.7, 0.785781, 0.111726),
    ("Water", 10, None, 0.05, 4370.33, 0.727277, 0.0753832),
    ("Water", 10, None, 1.0, 1443.97, 0.576624, 0.961369),
    ("Ammonia", 12, None, 0.1, 4902.05, 0.693862, 0.138417),
    ("Propane", 10, None, 0.2, 4776.38, 0.688803, 0.279627),
    ("n-Butane", 5, None, 0.0, 3965.01, 0.872421, 0.0386192),
    ("Ethylene", 20, None, 0.0, 11998.9, 0.758603, 0.0775466),
    ("R134a", 10, None, 0.0, 10209.2, 0.83335, 0.0557884),
    ("Water", 5, None, 0.0, 3747.05, 0.915887, 0.00663705),
    ("Propane", 20.733, 288.706, None, 36963.7, 0.349937, 0.0),
    ("Propane", 20, 325.435, None, 13645.0, 0.895273, 0.0),
    ("Propane", 20, 329.204, None, 11106.6, 0.798579, 0.0923652),
    ("Propane", 40, 380.0, None, 11090.4, 0.631243, None),
    ("Propane", 40, None, 1.0, 12452.2, 0.660816, 0.830133),
    ("CarbonDioxide", 80, 320.0, None, 28036.3, 0.641974, 0.985338),
    ("Ethylene", 60, 300.0, None, 17802.9, 0.654791, 0.992435),
    ("n-Butane", 30, 430.0, None, 8408.61, 0.635479, None),
    ("Methane", 200, 300.0, None, 41868.5, 0.490418, None),
    ("Propane", 10, 350.0, None, 2544.34, 0.590725, None),
    ("Ammonia", 20, 350.0, None, 3418.15, 0.550744, None),
    ("Water", 40, None, 0.0, 17978.0, 32.93 / 40, None),
]  # fmt: skip


@pytest.mark.parametrize("fluid, bar, T, x, G, ratio, quality", OUTSIDE)
def test_flux_worked_out_outside(fluid, bar, T, x, G, ratio, quality):
    t = real_fluid.throat(fluid, bar * 1e5, temperature=T, quality=x)
    # temperatures given to 1 mK move the flux of barely subcooled liquid by 2e-5
    assert t.mass_flux == pytest.approx(G, rel=3e-5) and t.choked
    assert t.pressure / (bar * 1e5) == pytest.approx(ratio, rel=2e-4)  # flat there: 1e-4 is 1e-8
    if quality is not None:
        assert t.quality == pytest.approx(quality, abs=3e-5)
    assert t.mass_flux == real_fluid.mass_flux(fluid, bar * 1e5, 0.3e5, T, x)


# temperature, Z, ideal k, cp/cv, isentropic exponent at the inlet; worked out outside.
STATES = [
    ("Propane", 40, 380.0, 0.596432, 1.10221, 1.77677, 0.841439),
    ("CarbonDioxide", 80, 320.0, 0.570608, 1.27895, 3.0704, 1.40044),
    ("Ethylene", 60, 300.0, 0.52359, 1.23951, 3.39383, 1.33061),
    ("n-Butane", 30, 430.0, 0.657906, 1.06708, 1.37749, 0.776609),
    ("Methane", 200, 300.0, 0.828417, 1.30275, 1.90965, 2.13875),
    ("Propane", 10, 350.0, 0.89698, 1.11035, 1.17029, 1.03987),
    ("Ammonia", 20, 350.0, 0.876312, 1.28909, 1.46326, 1.26286),
]  # fmt: skip


@pytest.mark.parametrize("fluid, bar, T, Z, k, ratio, n", STATES)
def test_inlet_properties_worked_out_outside(fluid, bar, T, Z, k, ratio, n):
    s = State(fluid, bar * 1e5, T)
    assert [s.Z, s.k, s.heat_capacity_ratio, s.n] == pytest.approx([Z, k, ratio, n], rel=1e-5)
    # the misuse: cp/cv of the real state is no exponent of the gas equation
    G = RealFluid(fluid, bar * 1e5, temperature=T).mass_flux()
    G_k, G_n = (gas._flux(bar * 1e5, T, s.molar_mass, e, s.Z, 0.0) for e in (s.k, s.n))
    G_ratio = gas._flux(bar * 1e5, T, s.molar_mass, s.heat_capacity_ratio, s.Z, 0.0)
    assert abs(G_n / G - 1) < 0.053 and abs(G_ratio / G - 1) > 0.8 * abs(G_n / G - 1) - 0.05
    assert G_ratio > G_k


def test_saturated_vapour_has_properties_of_its_own_phase():
    # propane at 40 bar, saturated vapour, worked out outside
    s = State("Propane", 40e5, quality=1.0)
    assert [s.Z, s.k, s.heat_capacity_ratio, s.n] == pytest.approx(
        [0.41331, 1.1057, 7.89997, 0.772097], rel=1e-5)  # fmt: skip
    assert np.isnan(State("Propane", 40e5, quality=0.5).n)


def if97_flux(pressure, entropy, enthalpy):
    """Highest flux along an isentrope of IAPWS-IF97: other equations, other search."""

    def loss(p):
        s = iapws.IAPWS97(P=p / 1e6, s=entropy / 1e3)
        return -s.rho * np.sqrt(2 * max(enthalpy - s.h * 1e3, 0.0))

    return -minimize_scalar(loss, bounds=(0.4 * pressure, pressure), method="bounded",
                            options={"xatol": 1e-3 * pressure}).fun  # fmt: skip


@pytest.mark.parametrize("bar, T, x", [
    (10, None, 0.05), (10, None, 1.0), (40, None, 0.0), (20, 623.15, None), (60, 540.0, None),
])  # fmt: skip
def test_water_against_IF97(bar, T, x):
    P = bar * 1e5
    inlet = iapws.IAPWS97(P=bar / 10, **({"x": x} if T is None else {"T": T}))
    G = if97_flux(P, inlet.s * 1e3, inlet.h * 1e3)
    # The two formulations differ: 1e-4 in volume, 2e-4 in vapour pressure, whose slope is the flux
    # of boiling liquid (5e-4 found at 40 bar, below 1e-4 in the others)
    assert real_fluid.mass_flux("Water", P, temperature=T, quality=x) == pytest.approx(G, rel=1e-3)


def test_states_of_water_against_IF97():
    for P, T in ((1e6, 500.0), (5e6, 400.0), (10e6, 700.0)):
        ours, other = State("Water", P, T), iapws.IAPWS97(P=P / 1e6, T=T)
        assert ours.density == pytest.approx(other.rho, rel=5e-4)
        assert ours.heat_capacity == pytest.approx(other.cp * 1e3, rel=2e-3)
        assert ours.sound_speed == pytest.approx(other.w, rel=2e-3)
        assert ours.viscosity == pytest.approx(other.mu, rel=5e-3)
        assert ours.expansion_coefficient == pytest.approx(other.alfav, rel=5e-3)
        assert ours.compressibility == pytest.approx(other.xkappa / 1e6, rel=5e-3)
        assert ours.heat_capacity_ratio == pytest.approx(other.cp / other.cv, rel=3e-3)
    low, high = iapws.IAPWS97(P=1.0, x=0), iapws.IAPWS97(P=1.0, x=1)
    assert pr.latent_heat("Water", 1e6) == pytest.approx((high.h - low.h) * 1e3, rel=1e-4)
    # vapour pressures of IF97 and IAPWS-95 agree to 0.02 %, 8 mK here
    assert pr.saturation_temperature("Water", 1e6) == pytest.approx(low.T, abs=0.01)
    assert State("Water", 1e6, 500.0).saturation_temperature == pytest.approx(low.T, abs=0.01)
    assert pr.saturation_pressure("Water", low.T) == pytest.approx(1e6, rel=2.5e-4)
    assert State("Water", 3e6, low.T).saturation_pressure == pytest.approx(1e6, rel=2.5e-4)
    s = State("Water", 1e6, quality=0.3)
    assert s.liquid.density == pytest.approx(low.rho, rel=1e-4)
    assert s.vapor.density == pytest.approx(high.rho, rel=1e-4)
    assert s.latent_heat == pytest.approx(s.vapor.enthalpy - s.liquid.enthalpy, rel=1e-12)


def test_constants():
    # NIST Chemistry WebBook and IAPWS, from memory to the digits given
    assert pr.critical_pressure("Water") == pytest.approx(22.064e6, rel=1e-6)
    assert pr.critical_temperature("Water") == pytest.approx(647.096, abs=1e-3)
    assert pr.critical_pressure("Propane") == pytest.approx(4.25e6, abs=0.01e6)
    assert pr.normal_boiling("Propane") == pytest.approx(231.05, abs=0.1)
    assert pr.normal_boiling("Water", 101_325.0) == pytest.approx(373.124, abs=1e-3)
    assert pr.molar_mass("CarbonDioxide") == pytest.approx(44.0098, abs=1e-3)
    assert pr.molar_mass(MIX) == pytest.approx(0.6 * 44.0956 + 0.4 * 58.1222, abs=1e-3)


@pytest.mark.parametrize("fluid, P, kind", [
    ("Propane", 20e5, {"quality": 0.0}), ("Propane", 20.733e5, {"temperature": 288.706}),
    ("CarbonDioxide", 80e5, {"temperature": 320.0}), ("n-Dodecane", 10e5, {"quality": 1.0}),
    (MIX, 12e5, {"quality": 0.3}),
])  # fmt: skip
def test_flux_by_integration_of_volume(fluid, P, kind):
    # G = rho_t sqrt(2 int v dP): velocity without any enthalpy
    stream = RealFluid(fluid, P, **kind)
    t, point, s = stream.throat(), expansion(fluid), stream.state.entropy
    kinks = [p for p in phase_changes(fluid, s, P) if p > t.pressure * (1 + 1e-9)]
    work = quad(lambda p: 1 / point(p, s)[0], t.pressure, P, points=kinks or None, epsrel=1e-8,
                limit=60)[0]  # fmt: skip
    assert point(t.pressure, s)[0] * np.sqrt(2 * work) == pytest.approx(
        t.mass_flux,
        rel=1e-5 if "&" in fluid else 1e-6,  # phase equilibrium found to about 1e-6
    )
    assert t.temperature == pytest.approx(point(t.pressure, s)[2], rel=1e-12)


def test_steam_by_table_and_napier():
    # CoolProp flux over Napier's: effective superheat factors, worked out outside, and those of
    # API 520-I 10th edition's table: 0.3 %
    bar = np.array([5.0, 10.0, 10.0, 20.0, 50.0, 100.0])
    T = np.array([300, 250, 400, 350, 400, 500]) + 273.15
    flux = [653.29, 1384.46, 1202.71, 2531.59, 6183.77, 11591.0]
    G = real_fluid.mass_flux("Water", bar * 1e5, temperature=T)
    assert pytest.approx(flux, rel=1e-5) == G
    assert pytest.approx(steam.mass_flux(bar * 1e5, T), rel=3.1e-3) == G
    bar = np.array([5.0, 10.0, 20.0, 50.0, 100.0, 150.0, 200.0])
    G = real_fluid.mass_flux("Water", bar * 1e5, quality=1.0)
    flux = [735.575, 1443.97, 2845.82, 7078.83, 14508.2, 22823.9, 33349.2]
    assert pytest.approx(flux, rel=1e-5) == G
    ratio = G / steam.mass_flux(bar * 1e5)
    assert ratio.min() > 0.97 and ratio.max() < 1.0135


def test_ideal_gas_limit():
    # argon, heat capacities constant: flux and its critical ratio meet the gas function as 1/P
    error = []
    for P in (1e5, 1e4, 1e3):
        t = real_fluid.throat("Argon", P, temperature=300.0)
        G = gas.mass_flux(P, 300.0, molar_mass=pr.molar_mass("Argon"), k=5 / 3)
        error.append(abs(t.mass_flux / G - 1))
        back = real_fluid.mass_flux("Argon", P, 0.8 * P, 300.0)
        assert back == pytest.approx(
            gas.mass_flux(
                P, 300.0, molar_mass=pr.molar_mass("Argon"), k=5 / 3, Z=1.0, back_pressure=0.8 * P
            ),
            rel=1e-3,
        )
    assert error[2] < 1e-5 and error[0] > 5 * error[1] > 20 * error[2]
    assert t.pressure / P == pytest.approx(gas.critical_ratio(5 / 3), rel=3e-4)
    s = State("Argon", 1e3, 300.0)
    assert [s.k, s.n, s.Z] == pytest.approx([5 / 3, 5 / 3, 1.0], rel=2e-5)
    assert s.density == pytest.approx(1e3 * s.molar_mass / (GAS_CONSTANT * 300.0), rel=2e-5)
    assert s.specific_volume * s.density == pytest.approx(1.0, rel=1e-14)
    # heat that drives one kg out, cp T for an ideal gas
    s = State("Argon", 100.0, 300.0)
    assert s.expulsion_heat == pytest.approx(s.heat_capacity * 300.0, rel=1e-5)


def test_incompressible_limit():
    # water at 20 C: rho_t sqrt(2 dP/rho_mean), compressed by beta dP
    P, back = 10e5, 3e5
    s = State("Water", P, 293.15)
    G = real_fluid.mass_flux("Water", P, back, 293.15)
    assert pytest.approx(liquid.mass_flux(P, s.density, back), rel=3e-4) == G
    rho_t = s.density * (1 - s.compressibility * (P - back))
    exact = liquid.mass_flux(P, s.density, back) * (rho_t / s.density) ** 0.75
    assert pytest.approx(exact, rel=1e-5) == G
    assert RealFluid("Water", P, temperature=293.15).throat(back).choked is False


def test_flashing_water_of_a_broken_tube():
    # TR-05, 40 bar saturated against 11 bar; worked out outside: equilibrium 17978 at 32.93 bar,
    # equilibrium rate model 22105, no flashing 68048 kg/(m2 s)
    t = real_fluid.throat("Water", 40e5, 11e5, quality=0.0)
    assert t.mass_flux == pytest.approx(17978, abs=0.5)
    assert t.pressure == pytest.approx(32.93e5, abs=0.005e5)
    assert real_fluid.equilibrium_rate_flux("Water", 40e5) == pytest.approx(22105, abs=0.5)
    none = real_fluid.short_nozzle_flux("Water", 40e5, 11e5, 0.0)
    assert none == pytest.approx(68048, abs=0.5)
    low = State("Water", 40e5, quality=0.0)
    assert none == pytest.approx(liquid.mass_flux(40e5, low.density, 11e5), rel=1e-12)
    flash = State("Water", 11e5, enthalpy=low.enthalpy)
    assert flash.quality == pytest.approx(0.1533, abs=5e-5)
    # Clapeyron: h_v/(v_vl T) is the slope of the vapour pressure, so G = dP/dT sqrt(T/c_p)
    up, down = (pr.saturation_pressure("Water", low.temperature + d) for d in (0.01, -0.01))
    slope = (up - down) / 0.02
    ERM = slope * np.sqrt(low.temperature / low.heat_capacity)
    assert real_fluid.equilibrium_rate_flux("Water", 40e5) == pytest.approx(ERM, rel=1e-5)
    # at 0.1 m N is 1 + (G_e/G_l)^2: the published form ends a little below the rate model
    N = 1 + (22105 / 68048) ** 2
    got = real_fluid.short_nozzle_flux("Water", 40e5, 11e5, 0.1)
    assert got == pytest.approx(22105 / np.sqrt(N), rel=1e-4)


def test_heat_that_drives_out_a_kilogram():
    # v (dh/dv)_P by finite difference, supercritical propane and liquid water
    for fluid, P, T in (("Propane", 50e5, 390.0), ("Water", 10e5, 350.0)):
        a, b = State(fluid, P, T - 0.01), State(fluid, P, T + 0.01)
        v = 0.5 * (a.specific_volume + b.specific_volume)
        slope = (b.enthalpy - a.enthalpy) / (b.specific_volume - a.specific_volume)
        assert State(fluid, P, T).expulsion_heat == pytest.approx(v * slope, rel=1e-5)


def test_phase_changes_are_on_the_saturation_line():
    (bubble,) = phase_changes("Propane", 1400.0, 40e5)
    assert State("Propane", bubble, quality=0.0).entropy == pytest.approx(1400.0, rel=1e-9)
    # n-dodecane is a drying fluid: its isentrope leaves the dome, and saturated vapour superheats
    s = State("n-Dodecane", 10e5, quality=0.9).entropy
    dew, *_ = phase_changes("n-Dodecane", s, 10e5)
    expected = brentq(lambda p: State("n-Dodecane", p, quality=1.0).entropy - s, 1e4, 9e5)
    assert dew == pytest.approx(expected, rel=1e-7)
    assert phase_changes("n-Dodecane", s, 10e5, 1.01 * dew) == []


def test_mixtures():
    # a mixture lies between its components
    G = [real_fluid.mass_flux(f, 10e5, temperature=400.0) for f in ("Propane", MIX, "n-Butane")]
    assert G[0] < G[1] < G[2]
    bubble, dew = (State(MIX, 10e5, quality=q) for q in (0.0, 1.0))
    assert bubble.temperature < dew.temperature
    middle = State(MIX, 10e5, quality=0.4)
    assert middle.quality == pytest.approx(0.4, abs=1e-9)  # by mass, not by mole
    phases = CoolProp.AbstractState("HEOS", "Propane&n-Butane")
    phases.set_mole_fractions([0.6, 0.4])
    phases.update(CoolProp.PT_INPUTS, 10e5, middle.temperature)
    low, high = phases.saturated_liquid_keyed_output, phases.saturated_vapor_keyed_output
    ends = [get(CoolProp.iHmass) for get in (low, high)]
    lever = (middle.enthalpy - ends[0]) / (ends[1] - ends[0])
    assert lever == pytest.approx(0.4, abs=1e-6)  # lever rule on the enthalpies of the two phases
    back = State(MIX, 10e5, enthalpy=middle.enthalpy)
    assert [back.temperature, back.quality, back.density] == pytest.approx(
        [middle.temperature, 0.4, middle.density], rel=1e-6
    )
    again = State(MIX, 10e5, entropy=middle.entropy)
    assert again.temperature == pytest.approx(middle.temperature, rel=1e-7)
    t = real_fluid.throat(MIX, 10e5, quality=0.0)
    P = np.linspace(0.5, 1.0, 40) * 10e5
    flux = RealFluid(MIX, 10e5, quality=0.0).flux_along(P)
    assert flux.max() <= t.mass_flux * (1 + 1e-9) and flux.max() > 0.998 * t.mass_flux
    for T, warns in ((1.095, True), (1.105, False)):
        Tc, Pc = pr.critical_temperature(MIX), pr.critical_pressure(MIX)
        for ratio, over in ((0.905, True), (0.895, False)):
            if warns and over:
                with pytest.warns(ValidityWarning, match="dependable"):
                    check_mixture(MIX, ratio * Pc, T * Tc)
            else:
                check_mixture(MIX, ratio * Pc, T * Tc)


@pytest.mark.parametrize("call, words", [
    (lambda: State("Prpane", 1e5, 300.0), "names like it: .*Propane"),
    (lambda: State("", 1e5, 300.0), "must be a name"),
    (lambda: State("Propane[0.6]&n-Butane[0.3]", 1e5, 300.0), "add to 1: 0.9"),
    (lambda: State("Propane&n-Butane", 1e5, 300.0), "write a mixture as"),
    (lambda: State("Water", 1e6, 2001.0), "above the highest .* 2000 K"),
    (lambda: State("Water", 1.1e9, 500.0), "above the highest .* 1e\\+09 Pa"),
    (lambda: State("Water", 1e6, 270.0), "below the lowest"),
    (lambda: State("CarbonDioxide", 50e6, 220.0), "solid"),
    (lambda: State("Water", 1e6, 453.028), "give the quality"),
    (lambda: State("Water", 1e6, quality=1.005), "0 to 1"),
    (lambda: State("Water", 1e6, quality=-0.001), "0 to 1"),
    (lambda: State("Water", 23e6, quality=0.5), "critical pressure"),
    (lambda: State("CarbonDioxide", 4e5, quality=0.5), "triple point"),
    (lambda: State("Water", 1e6), "given: none"),
    (lambda: State("Water", 1e6, 300.0, 0.5), "given: temperature, quality"),
    (lambda: State("Water", 1e6, enthalpy=9e6), "above the highest"),
    (lambda: State("Water", 1e6, enthalpy=-5e5), "below the lowest"),
    (lambda: State("Water", -1.0, 300.0), "pressure"),
    (lambda: pr.saturation_pressure("Water", 650.0), "above the critical"),
    (lambda: pr.saturation_pressure("Water", 270.0), "below the lowest"),
    (lambda: pr.normal_boiling("CarbonDioxide"), "triple point"),
    (lambda: pr.latent_heat("Propane", 0.953 * pr.critical_pressure("Propane")), "expulsion_heat"),
    (lambda: pr.latent_heat(MIX, 0.903 * pr.critical_pressure(MIX)), "expulsion_heat"),
    (lambda: State(MIX, 0.903 * pr.critical_pressure(MIX), quality=0.5), "90%"),
    (lambda: State("Neon", 1e5, 350.0).viscosity, "CoolProp does not give"),
    (lambda: real_fluid.mass_flux("Water", 1e6, 1.1e6, 500.0), "flow would reverse"),
    (lambda: real_fluid.mass_flux("CarbonDioxide", 7e5, quality=0.1), "before it chokes"),
    (lambda: real_fluid.short_nozzle_flux("Water", 40e5, 11e5, 0.1005), "above 0.1 m"),
    (lambda: real_fluid.short_nozzle_flux("Water", 40e5, 40e5, 0.05), "below the relieving"),
    (lambda: RealFluid("Water", 1e6, quality=[0.5, 1.0]).inlet_kind, "Kd differ"),
    (lambda: RealFluid("Water", 1e6, temperature=500.0).flux_along(2e6), "above the relieving"),
])  # fmt: skip
def test_impossible_states_name_the_limit(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_just_inside_the_limits():
    assert pr.latent_heat("Propane", 0.947 * pr.critical_pressure("Propane")) > 0
    assert State(MIX, 0.897 * pr.critical_pressure(MIX), quality=0.0).density > 0
    # carbon dioxide can't be followed to its throat here, but can to a back pressure above the end
    assert real_fluid.mass_flux("CarbonDioxide", 7e5, 6e5, quality=0.1) > 0


def test_inlet_kind():
    kinds = {
        "gas": [dict(temperature=500.0), dict(quality=1.0)],
        "two-phase": [dict(quality=0.0), dict(quality=0.5)], "liquid": [dict(temperature=300.0)],
    }  # fmt: skip
    for kind, inlets in kinds.items():
        for inlet in inlets:
            stream = RealFluid("Water", 1e6, **inlet)
            assert stream.inlet_kind == kind and stream.liquid_inlet == (kind == "liquid")
    assert RealFluid("Water", 30e6, temperature=700.0).inlet_kind == "gas"
    assert RealFluid("Water", 30e6, temperature=600.0).inlet_kind == "liquid"
    assert RealFluid("Water", 1e6, quality=[0.5, np.nan]).inlet_kind == "two-phase"


@pytest.mark.parametrize("stream, back", [
    (RealFluid("Propane", 40e5, temperature=380.0), 1e5), (RealFluid("Propane", 20e5,
                                                                     quality=0.0), 19e5),
    (RealFluid("Water", 1e6, quality=np.array([0.1, 0.9])), 1e5), (RealFluid(MIX, 1e6,
                                                                             temperature=400.0),
                                                                                 1e5),
])  # fmt: skip
def test_working_gives_its_values(stream, back):
    working = stream.flux_working(back)
    at = [line.at(1) for line in working]
    assert at[-1].evaluate() == pytest.approx(at[-1].value, rel=1e-10)
    assert np.all(working[-1].value == stream.mass_flux(back)) and stream.density is not None
