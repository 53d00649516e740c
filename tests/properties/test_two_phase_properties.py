"""What must hold for any omega inlet: monotony, continuity, arrays, NaN."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib.nozzle import two_phase
from relieflib.nozzle.two_phase import TwoPhase

settings.register_profile("relief", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("relief")

inlets = st.builds(
    lambda P, rho, w, x: TwoPhase(P, rho, omega=w,
                                  saturation_pressure=None if x is None else x * P),
    st.floats(1e5, 2e7), st.floats(1.0, 1000.0), st.floats(0.05, 200.0),
    st.none() | st.floats(0.01, 1.0),
)  # fmt: skip
parts = st.floats(0.0, 1.0)


@given(inlets, parts, parts)
def test_flux_falls_with_back_pressure(stream, a, b):
    low, high = sorted((a, b))
    G = [stream.mass_flux(part * stream.pressure) for part in (low, high)]
    assert 0.0 <= G[1] <= G[0] * (1 + 1e-9)
    assert stream.mass_flux(stream.pressure) == 0.0


@given(inlets, st.floats(1.001, 3.0))
def test_flux_rises_with_pressure(stream, times):
    # of a two-phase inlet and of a liquid at a given temperature alike, against one back pressure
    high = two_phase.mass_flux(
        times * stream.pressure, stream.density, stream.omega, stream.saturation_pressure, 5e4
    )
    assert high > stream.mass_flux(5e4)


@given(inlets)
def test_continuous_at_choking(stream):
    P = stream.critical_ratio() * stream.pressure
    G = stream.mass_flux(0.0)
    assert stream.mass_flux(P) == pytest.approx(G, rel=1e-12)
    assert stream.mass_flux(min(P * (1 + 1e-7), stream.pressure)) == pytest.approx(G, rel=2e-3)
    assert stream.choked(P * (1 - 1e-12)) and not stream.choked(min(P * 1.001, stream.pressure))


@given(st.floats(0.05, 200.0), st.floats(0.02, 1.0))
def test_continuous_in_subcooling(w, eta_s):
    step = 1e-7
    near = [two_phase.mass_flux(1e6, 500.0, w, e * 1e6) for e in (eta_s * (1 - step), eta_s)]
    # slope of the flux against eta_s is at most that of sqrt(1 - eta_s) at the boundary
    assert near[0] == pytest.approx(near[1], rel=step * (200.0 + 2 * w))
    assert near[0] >= near[1] * (1 - 1e-12)  # warmer liquid passes less


@given(st.floats(0.05, 200.0), st.floats(0.02, 1.0))
def test_choking_ratio_stands_at_the_maximum(w, eta_s):
    r_c = two_phase.critical_ratio(w, eta_s)
    assert eta_s * two_phase.critical_ratio(w) <= r_c * (1 + 1e-12) <= eta_s * (1 + 2e-12)
    stream = TwoPhase(1e6, 500.0, omega=w, saturation_pressure=eta_s * 1e6)
    assert stream.mass_flux() >= stream.mass_flux(min(1.02 * r_c, 1.0) * 1e6)


def test_scalar_equals_array_and_nan_passes():
    P = np.array([5e5, np.nan, 2e6, 1e6])
    Ps = np.array([4.9e5, 1e5, np.nan, 2e5])
    w = np.array([0.5, 2.0, 3.0, 8.0])
    together = two_phase.mass_flux(P, 500.0, w, Ps, 1e5)
    ratio = two_phase.critical_ratio(w, Ps / P)
    stream = TwoPhase(P, 500.0, omega=w, saturation_pressure=Ps)
    for i in range(4):
        alone = two_phase.mass_flux(float(P[i]), 500.0, float(w[i]), float(Ps[i]), 1e5)
        assert isinstance(alone, float)
        if i in (1, 2):
            assert np.isnan([alone, together[i], ratio[i]]).all() and not stream.choked(1e4)[i]
        else:
            assert together[i] == alone
            assert ratio[i] == two_phase.critical_ratio(float(w[i]), float(Ps[i] / P[i]))
            assert stream.choked(1e4)[i]
    for call in (
        lambda v: two_phase.omega_from_90(v, 2 * v), lambda v: two_phase.omega_subcooled(v, v / 2),
        lambda v: two_phase.omega_non_flashing(v, 1.3), two_phase.transition_ratio,
        two_phase.explicit_critical_ratio,
        lambda v: two_phase.omega_from_properties(1e6, 450.0, v, 0.01, 0.2, 0.19, 2e6, 4e3),
    ):  # fmt: skip
        values = np.array([0.2, np.nan, 0.9])
        out = call(values)
        assert np.isnan(out[1]) and out[0] == call(0.2) and out[2] == call(0.9)
    for back in (float("nan"), np.array([1e5, np.nan])):
        assert np.isnan(np.atleast_1d(two_phase.mass_flux(1e6, 500.0, 2.0, None, back))[-1])
