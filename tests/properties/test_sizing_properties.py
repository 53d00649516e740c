"""What must hold for any valid input: proportion, monotony, continuity, arrays, NaN, inverses."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib import set_pressure as sp
from relieflib.devices import Device, balanced_Kb, balanced_Kw
from relieflib.nozzle import gas, liquid, steam
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.steam import Steam
from relieflib.orifices import LETTERS, next_area, select_letter
from relieflib.sizing import ReliefLoad, rated_flow, size

settings.register_profile("relief", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("relief")

pressures = st.floats(2e5, 2e7)
flows = st.floats(1e-3, 500.0)
gases = st.builds(
    Gas, pressures, st.floats(200.0, 900.0), molar_mass=st.floats(2.0, 150.0),
    k=st.floats(1.01, 1.8), Z=st.floats(0.8, 1.1),
)  # fmt: skip
liquids = st.builds(
    Liquid, pressures, st.floats(400.0, 1500.0), viscosity=st.none() | st.floats(1e-4, 1.0)
)  # fmt: skip
steams = st.builds(Steam, st.floats(3e5, 9.9e6))


@pytest.mark.filterwarnings("ignore::relieflib.errors.ValidityWarning")  # creeping flow, Re < 10
@given(flows, gases | steams | liquids, st.floats(1.01, 50.0))
def test_area_goes_with_load(W, stream, times):
    one, more = (size(ReliefLoad("x", w, stream), Device(), 1e5) for w in (W, times * W))
    if getattr(stream, "viscosity", None) is None:
        assert more.required_area == pytest.approx(times * one.required_area, rel=1e-12)
    else:
        assert more.required_area > one.required_area * (1 - 1e-12) or more.area != one.area


@given(gases, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_flux_falls_with_back_pressure(stream, r1, r2):
    low, high = sorted((r1, r2))
    G = [stream.mass_flux(r * stream.pressure) for r in (low, high)]
    assert G[1] <= G[0] * (1 + 1e-12)
    assert stream.mass_flux(stream.pressure) == 0.0


@given(gases, st.floats(1.001, 3.0))
def test_flux_rises_with_pressure(stream, times):
    high = gas.mass_flux(times * stream.pressure, stream.temperature,
                         molar_mass=stream.molar_mass, k=stream.k,
                         Z=stream.Z, back_pressure=1e5)  # fmt: skip
    assert high > stream.mass_flux(1e5)


@given(gases)
def test_continuous_at_the_critical_ratio(stream):
    back = gas.critical_ratio(stream.k) * stream.pressure
    at, above = stream.mass_flux(back), stream.mass_flux(back * (1 + 1e-6))
    assert stream.mass_flux(0.0) == pytest.approx(at, rel=1e-14)
    assert above == pytest.approx(at, rel=1e-9)  # and flat there: it is a maximum


@pytest.mark.filterwarnings("ignore::relieflib.errors.ValidityWarning")  # creeping flow, Re < 10
@given(gases | liquids, st.sampled_from(list(LETTERS)))
def test_rated_flow_and_size_are_inverses(stream, letter):
    area = LETTERS[letter]
    W = rated_flow(stream, Device(), area, 1e5)
    sizing = size(ReliefLoad("x", W, stream), Device(), 1e5)
    assert sizing.required_area == pytest.approx(area, rel=1e-7)
    assert sizing.letter in (letter, None) or sizing.used == pytest.approx(1.0, abs=0.7)


@given(st.floats(1e-6, 0.02))
def test_letter_is_the_smallest_that_is_enough(area):
    letter, above = select_letter(area), next_area(area)
    smaller = [a for a in LETTERS.values() if a < above]
    assert letter is None or (LETTERS[letter] >= area * (1 - 1e-9) and LETTERS[letter] == above)
    assert letter is None or all(a < area for a in smaller)


def test_scalar_equals_array_and_nan_passes():
    P = np.array([5e5, np.nan, 2e6])
    back = np.array([1e5, 1e5, 1.8e6])
    calls = {
        "gas": (lambda p, b: gas.mass_flux(p, 350.0, molar_mass=40.0, k=1.2, Z=0.9,
                                           back_pressure=b), P),
        "steam": (lambda p, b: steam.mass_flux(p, back_pressure=b * 0.4), P),
        "superheat": (lambda p, b: steam.superheat_factor(p, 600.0), P),
        "high pressure": (lambda p, b: steam.high_pressure_factor(p * 6), P),
        "saturation": (lambda p, b: steam.saturation_temperature(p), P),
        "liquid": (lambda p, b: liquid.mass_flux(p, 800.0, b), P),
        "viscosity": (lambda p, b: liquid.viscosity_factor(p / 1e3), P),
        "limit": (lambda p, b: sp.accumulation_limit(p), P),
        "tolerance": (lambda p, b: sp.set_tolerance(p)[1], P),
        "Kb": (lambda p, b: balanced_Kb(p / 5e6, 0.1), P),
        "Kw": (lambda p, b: balanced_Kw(p / 5e6), P),
        "area": (lambda p, b: size(ReliefLoad("x", 1.0, Gas(p, 350.0, molar_mass=40.0, k=1.2)),
                                   Device(),
                                   b).required_area, P),
        "viscous area": (lambda p, b: size(ReliefLoad("x", 9.0, Liquid(p, 800.0, viscosity=0.1)),
                                           Device(),
                                           b).required_area, P),
    }  # fmt: skip
    for name, (call, values) in calls.items():
        together = call(values, back)
        for i, (p, b) in enumerate(zip(values, back)):
            alone = call(float(p), float(b))
            assert isinstance(alone, float), name
            assert together[i] == alone or (np.isnan(together[i]) and np.isnan(alone)), name
        assert np.isnan(together[1]) and not np.isnan(together[[0, 2]]).any(), name


@pytest.mark.parametrize("name", ["pressure", "temperature", "molar_mass", "k", "Z",
                                  "back_pressure"])  # fmt: skip
def test_nan_in_any_gas_input(name):
    values = dict(pressure=5e5, temperature=300.0, molar_mass=29.0, k=1.4, Z=1.0, back_pressure=1e5)
    assert np.isnan(gas.mass_flux(**values | {name: float("nan")}))


def test_nan_load_gives_no_letter():
    sizing = size(ReliefLoad("x", float("nan"), Gas(5e5, 300.0, molar_mass=29.0, k=1.4)))
    assert np.isnan(sizing.required_area) and sizing.letter is None and sizing.designation is None


def test_editions_differ_without_a_jump():
    # Kv and KSH of one edition are continuous in their arguments
    Re = np.geomspace(20, 1e6, 4000)
    for edition in (7, 10):
        assert np.abs(np.diff(liquid.viscosity_factor(Re, edition))).max() < 4e-3
    T = np.linspace(520.0, 890.0, 4000)
    for edition in (7, 10):
        assert np.abs(np.diff(steam.superheat_factor(2e6, T, edition))).max() < 4e-4


@given(st.floats(1e5, 1e7), st.sampled_from(["single", "multiple"]))
def test_limits_rise_with_mawp(mawp, installation):
    a = [sp.accumulation_limit(m, installation) for m in (mawp, 1.01 * mawp)]
    assert a[1] >= a[0]
    assert sp.accumulation_limit(mawp, "multiple") > sp.accumulation_limit(mawp, "single")
