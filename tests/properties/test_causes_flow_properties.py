"""Causes of flow: what must hold for any valid input."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib.causes import (
    control_valve_opens as cvo,
    hydraulic_expansion as he,
    overfilling as of,
    reverse_flow as rf,
    tube_rupture as tr,
    volatile_ingress as vo,
)
from relieflib.causes.shared import valve_flow as vf
from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.steam import Steam
from relieflib.nozzle.two_phase import TwoPhase

relief = settings(deadline=None, max_examples=40, derandomize=True)
pressures, fractions = st.floats(2e5, 1.5e7), st.floats(0.01, 0.999)
Kv, FL, xT, k = st.floats(0.1, 500), st.floats(0.4, 1), st.floats(0.15, 1), st.floats(1.08, 1.65)
HIGH, LOW = (
    Gas(70e5, 313.15, molar_mass=18.0, k=1.28, Z=0.88),
    Gas(8e5, 313.15, molar_mass=18.0, k=1.28, Z=0.98),
)
OIL, WET = Liquid(60e5, 700.0, saturation_pressure=5e5), Liquid(8e5, 700.0)
SEVERAL = Gas(
    np.array([70e5, 20e5, 7e5]), 313.15, molar_mass=18.0, k=1.28, Z=0.88
)  # choked, not, out of reach
LOADS = {
    "gas": cvo.gas_load(HIGH, LOW, 20.0, 0.7, 5.0, 0.5, 0.25),
    "liquid": cvo.liquid_load(OIL, WET, 20.0, 0.9, 30e5, None, 5.0, 0.5, 0.25),
    "flashing": cvo.liquid_load(OIL, LOW, 20.0, 0.9, 30e5, 0.2),
    "choked liquid": cvo.liquid_load(OIL, Liquid(2e5, 700.0), 20.0, 0.5, 30e5),
    "blow-by": cvo.blow_by_load(HIGH, LOW, 20.0, 0.7, None, 5.0, 0.5, 0.25),
    "pushed": cvo.blow_by_load(HIGH, WET, 20.0, 0.7, LOW.density),
    "arrays": cvo.gas_load(SEVERAL, LOW, 20.0, 0.7),
    "expansion": he.relief_load(1e5, WET, 1e-3, 2500.0),
    "boiling": he.vapor_load(1e5, LOW, 3e5),
    "tube liquid": tr.relief_load(OIL, WET, 0.015, outflow=1.0),
    "tube gas": tr.relief_load(HIGH, LOW, 0.015),
    "tube subcritical": tr.relief_load(Gas(9e5, 300.0, molar_mass=29.0, k=1.4), LOW, 0.015),
    "tube pushed": tr.relief_load(HIGH, WET, 0.015, gas_density=LOW.density),
    "tube steam": tr.relief_load(Steam(28e5), Steam(8e5), 0.015),
    "tube two-phase": tr.relief_load(TwoPhase.from_90(28e5, 0.01, 0.012), LOW, 0.015),
    "tube real": tr.relief_load(RealFluid("Propane", 28e5, quality=0.0), LOW, 0.015),
    "tube arrays": tr.relief_load(SEVERAL, LOW, 0.015),
    "two checks": rf.leak_load(OIL, WET, 0.15, outflow=0.5),
    "two checks, gas": rf.leak_load(HIGH, LOW, 0.15),
    "bore": rf.bore_load(HIGH, LOW, 0.15),
    "one check": rf.open_load(HIGH, LOW, 20.0, xT=0.7),
    "one check, liquid": rf.open_load(OIL, WET, 20.0, FL=1.0, critical_pressure=30e5),
    "full": of.relief_load(8.0, WET, 3.0, of.bottom_steps(8e5, 700.0, 20.0)),
    "water": vo.relief_load(0.1, LOW, 2.6e6, 1.3e5),
    "water, all": vo.relief_load(0.1, LOW, 2.6e6),
}


@pytest.mark.parametrize("name", LOADS)
def test_each_step_can_be_followed(name):
    load = LOADS[name]
    assert load.working[-1].name == "mass_flow" or name in ("expansion",)
    for index in range(np.size(load.mass_flow)):
        for line in (s.at(index) for s in load.working):
            if line.equation:
                assert line.evaluate() == pytest.approx(line.value, rel=1e-7, abs=1e-12), line.name
    assert np.all(np.asarray(load.mass_flow) >= 0)


def test_arrays_equal_scalars():
    for i, P in enumerate(SEVERAL.pressure):
        one = Gas(P, 313.15, molar_mass=18.0, k=1.28, Z=0.88)
        for make in (
            lambda s: cvo.gas_load(s, LOW, 20.0, 0.7),
            lambda s: tr.relief_load(s, LOW, 0.015),
        ):
            assert make(SEVERAL).mass_flow[i] == make(one).mass_flow
    assert LOADS["arrays"].mass_flow[2] == LOADS["tube arrays"].mass_flow[2] == 0.0


@relief
@given(Kv, pressures, fractions, fractions, k, xT)
def test_gas_flow(C, P, r, s, kk, x):
    def flow(r, C=C):
        return vf.gas_flow(C, P, r * P, 320.0, 20.0, kk, x, 0.9)

    assert flow(min(r, s)) >= flow(max(r, s)) * (1 - 1e-12)  # less back pressure, no less flow
    assert flow(r, 3 * C) == pytest.approx(3 * flow(r))
    limit = 1 - vf.choked_drop_ratio(kk, x)
    if limit > 1e-6:
        assert flow(limit * (1 + 1e-9)) == pytest.approx(flow(limit * 0.5), rel=1e-6)  # continuous
        assert vf.gas_regime(P, limit * 0.99 * P, kk, x) == "choked"
        assert vf.gas_regime(P, min(limit * 1.01, 0.9999) * P, kk, x) == "not choked"
    rho = P * 20.0 / (0.9 * 8314.462618 * 320.0)
    small = vf.liquid_flow(C, P, P * (1 - 1e-7), rho, 1.0, 1e5, 1.0)
    assert flow(1 - 1e-7) == pytest.approx(small, rel=1e-5)  # small drop: gas is a liquid


@relief
@given(Kv, pressures, fractions, fractions, fractions, FL)
def test_liquid_flow(C, P, r, s, vapor, fl):
    Ps = vapor * P

    def flow(r, C=C):
        return vf.liquid_flow(C, P, r * P, 700.0, Ps, 2e7, fl)

    assert flow(min(r, s)) >= flow(max(r, s)) * (1 - 1e-12)
    assert flow(r, 3 * C) == pytest.approx(3 * flow(r))
    limit = 1 - vf.choked_drop(P, Ps, 2e7, fl) / P
    assert flow(limit * (1 + 1e-9)) == pytest.approx(flow(limit * 0.5), rel=1e-6)
    words = vf.liquid_regime(P, limit * 0.99 * P, Ps, 2e7, fl)
    assert words.startswith("choked") and ("flashing" in words) == (limit * 0.99 < vapor)
    high = vf.liquid_flow(C, P, 0.01 * P, 700.0, Ps * 0.5, 2e7, fl)
    assert high >= flow(0.01) * (1 - 1e-12)  # less vapour pressure, no less flow


@relief
@given(pressures, pressures, st.floats(0.005, 0.05))
def test_tube_and_check_loads(P, P2, d):
    source, stream = Gas(P, 320.0, molar_mass=20.0, k=1.3), Gas(P2, 320.0, molar_mass=20.0, k=1.3)
    load = tr.relief_load(source, stream, d)
    assert load.mass_flow == pytest.approx(
        2 * tr.relief_load(source, stream, d, openings=1).mass_flow
    )
    assert (load.mass_flow == 0.0) == (P <= P2)
    more = tr.relief_load(Gas(1.2 * P, 320.0, molar_mass=20.0, k=1.3), stream, d)
    assert more.mass_flow >= load.mass_flow
    leak, bore = rf.leak_load(source, stream, d), rf.bore_load(source, stream, d)
    assert leak.mass_flow == pytest.approx(0.006 * bore.mass_flow)  # 1 % of the area, and 0.6


@relief
@given(st.floats(1.0, 50.0), st.floats(2e-4, 3e-3), st.floats(10, 200), st.floats(0, 1e-4))
def test_pressure_rise(dT, alpha, ratio, leak):
    def rise(dT=dT, alpha=alpha, ratio=ratio, leak=leak):
        return he.pressure_rise_of(dT, alpha, 8e-10, 0.01 * ratio, 0.01, 1.21e-5, 207e9,
                                   leak_flow=leak, time=1.0, volume=1.0)  # fmt: skip

    assert 0 <= rise() <= dT * alpha / 8e-10  # never above the rigid pipe
    assert rise(ratio=1.1 * ratio) <= rise() <= rise(leak=0.0)
    assert rise(2 * dT, leak=0.0) == pytest.approx(2 * rise(leak=0.0))
    assert rise(alpha=1.1 * alpha) >= rise()


@relief
@given(st.floats(0.01, 10), st.floats(0.0, 1e7), st.floats(1e5, 3e6))
def test_ingress_is_limited_by_flow_or_heat(W, Q, need):
    flow = vo.relief_load(W, LOW, need, Q).mass_flow
    assert flow <= W and flow * need <= Q * (1 + 1e-12) or flow == pytest.approx(W)


def test_nan_passes():
    nan = float("nan")
    assert np.isnan(vf.gas_flow(20.0, nan, 8e5, 313.0, 18.0, 1.28, 0.7))
    assert np.isnan(vf.gas_flow(20.0, 70e5, nan, 313.0, 18.0, 1.28, 0.7))
    assert np.isnan(vf.liquid_flow(20.0, 70e5, nan, 700.0, 5e5, 30e5, 0.9))
    assert np.isnan(vf.liquid_flow(20.0, 70e5, 8e5, 700.0, nan, 30e5, 0.9))
    assert vf.gas_regime(nan, 8e5, 1.28, 0.7) == vf.liquid_regime(nan, 1e5, 2e4, 2e7, 0.9) == ""
    assert np.isnan(cvo.relief_load(nan, LOW).mass_flow)
    assert np.isnan(cvo.time_to_lose_level(nan, 600.0, 8.0))
    assert np.isnan(of.time_to_fill(3.0, nan)) and np.isnan(vo.time_to_limit(nan, 1.0, 1e5, 2e5))
    assert np.isnan(tr.relief_load(Gas(nan, 320.0, molar_mass=20.0, k=1.3), LOW, 0.015).mass_flow)
    assert np.isnan(he.pressure_rise_of(nan, 1e-3, 8e-10, 0.1, 0.01, 1.2e-5, 2e11))
    # where a number is missing, the careful answer
    assert tr.relief_needed(nan, 1e5) and he.relieves_vapor(nan, 1e5) and vo.boils(nan, 1e5)


@pytest.mark.parametrize(
    "call, match",
    [
        (lambda: vf.gas_flow(20.0, 70e5, 8e5, 313.0, 18.0, 1.0, 0.7), "k = 1"),
        (lambda: vf.gas_flow(20.0, 70e5, 8e5, 313.0, 18.0, 1.3, 1.005), "xT = 1.005"),
        (lambda: vf.gas_flow(-1.0, 70e5, 8e5, 313.0, 18.0, 1.3, 0.7), "flow_coefficient = -1"),
        (lambda: vf.liquid_flow(20.0, 7e5, 1e5, 700.0, 8e5, 30e5, 0.9), "it boils"),
        (lambda: vf.liquid_flow(20.0, 7e5, 1e5, 700.0, 5e5, 30e5, 1.005), "FL = 1.005"),
        (lambda: cvo.liquid_load(Liquid(7e5, 700.0), WET, 9.0, 0.9, 30e5), "saturation_pressure"),
        (lambda: cvo.liquid_load(OIL, WET, 9.0, 0.9, 30e5, quality=0.1), "quality"),
        (lambda: cvo.liquid_load(OIL, LOW, 9.0, 0.9, 30e5), "quality"),
        (lambda: cvo.liquid_load(OIL, LOW, 9.0, 0.9, 30e5, quality=1.005), "from 0 to 1"),
        (lambda: cvo.blow_by_load(HIGH, WET, 9.0, 0.7), "gas_density"),
        (lambda: cvo.blow_by_load(HIGH, LOW, 9.0, 0.7, gas_density=5.0), "gas_density"),
        (lambda: cvo.relief_load(np.array([1.0, -1.0]), LOW), "first at index 1"),
        (lambda: tr.relief_load(HIGH, WET, 0.015), "gas_density"),
        (lambda: tr.relief_load(HIGH, LOW, 0.015, gas_density=5.0), "gas_density"),
        (
            lambda: tr.relief_load(HIGH, LOW, 0.015, orifice_coefficient=1.005),
            "orifice_coefficient",
        ),
        (lambda: tr.corrected_hydrotest(1e5, 0.995), "test_ratio"),
        (lambda: tr.corrected_hydrotest(1e5, 1.3, 1.005), "stress_ratio"),
        (lambda: tr.carried_away(1.0, 4e5, 9e5, 5e5), "normal_pressure"),
        (lambda: he.vapor_load(1e5, WET, 3e5), "relief_load"),
        (lambda: he.solar_heat(1040.0, 0.1, 9.0, 1.005), "absorptivity"),
        (lambda: he.compressibility_of_fluid(500.0, 499.0, 1e5), "must not fall"),
        (lambda: vo.heat_need(4200.0, 400.0, 373.0, 2e6), "flashes"),
        (lambda: vo.volume_ratio(1.0, 2.0), "vapor_density"),
        (lambda: vo.time_to_limit(1.0, 1.0, 3e5, 2e5), "above the relieving"),
    ],
)
def test_refusals(call, match):
    with pytest.raises(InputError, match=match):
        call()


def test_flash_quality_is_held():
    x = vf.flash_quality(np.array([1e5, 5e5, 9e6]), 2e5, 2e6)
    assert x.tolist() == [0.0, 0.15, 1.0]


def test_ends_of_the_ranges_are_allowed():
    # a limit is refused only beyond its end
    with pytest.warns(ValidityWarning, match=r"k = 1\.001"):
        assert vf.choked_drop_ratio(1.001, 1.0) == pytest.approx(1.001 / 1.4)
    assert tr.corrected_hydrotest(1e5, 1.0, 1.0) == 1e5
    assert vf.choked_drop(7e5, 7e5, 30e5, 1.0) > 0
    assert he.solar_heat(1000.0, 1.0, 1.0, 1.0) == 1000.0
    assert cvo.liquid_load(OIL, LOW, 9.0, 0.9, 30e5, quality=1.0).mass_flow > 0
