"""What must hold for any valve, tube and check valve: monotony, limits, arrays, NaN."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from relieflib import valve_flow as vf
from relieflib.causes import control_valve_opens as cvo
from relieflib.causes import hydraulic_expansion as he
from relieflib.causes import overfilling, reverse_flow, volatile_ingress
from relieflib.causes import tube_rupture as tr
from relieflib.devices import Device
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.sizing import size

sources = st.builds(
    Gas, st.floats(20e5, 90e5), st.floats(250.0, 450.0), st.floats(2.0, 80.0),
    st.floats(1.1, 1.6), st.floats(0.85, 1.05),
)  # fmt: skip


@given(sources, st.floats(0.1, 80.0), st.floats(0.3, 0.9), st.floats(1.01, 5.0))
def test_flow_goes_with_coefficient_and_falls_with_back_pressure(up, Kv, xT, times):
    args = up.temperature, up.molar_mass, up.k, xT, up.Z
    P2 = np.linspace(0.05, 0.999, 30) * up.pressure
    flow = vf.gas_flow(Kv, up.pressure, P2, *args)
    assert np.all(np.diff(flow) <= 1e-9 * flow[0])
    assert vf.gas_flow(times * Kv, up.pressure, 1e5, *args) == pytest.approx(times * flow[0])


@given(st.floats(6e5, 90e5), st.floats(0.1, 1.0), st.floats(0.4, 1.0))
def test_liquid_flow_is_held_where_it_chokes(P, part, FL):
    P2 = np.linspace(0.02, 0.99, 25) * P
    flow = vf.liquid_flow(10.0, P, P2, 800.0, part * 5e5, 40e5, FL)
    assert np.all(np.diff(flow) <= 1e-9 * flow[0])
    most = vf.choked_drop(P, part * 5e5, 40e5, FL)
    at = vf.liquid_flow(10.0, P, max(P - most, 1.0), 800.0, part * 5e5, 40e5, FL)
    assert flow.max() <= at * (1 + 1e-9)


def test_scalar_equals_array_and_nan_passes():
    x = np.array([0.5, np.nan, 2.0])
    calls = {
        "gas": lambda v: vf.gas_flow(10 * v, 70e5, 8e5, 313.0, 18.0, 1.28, 0.7),
        "liquid": lambda v: vf.liquid_flow(10.0, 20e5 * v, 2e5, 900.0, 5e4, 220e5, 0.9),
        "factor": lambda v: vf.critical_pressure_factor(1e4 * v, 220e5),
        "level": lambda v: cvo.time_to_lose_level(v, 600.0, 8.0, 4.0),
        "gravity": lambda v: he.coefficient_by_gravity(30 * v),
        "rise": lambda v: he.pressure_rise_of(v, 2e-4, 4.6e-10, 0.1, 6e-3, 1.2e-5, 2.07e11),
        "hydrotest": lambda v: tr.corrected_hydrotest(10e5 * v),
        "break": lambda v: tr.break_area(0.015 * v),
        "leak": lambda v: reverse_flow.leak_diameter(0.1 * v),
        "bottom": lambda v: overfilling.bottom_pressure(10e5 * v, 700.0, 20.0),
        "fill": lambda v: overfilling.time_to_fill(v, 0.01),
        "ratio": lambda v: volatile_ingress.volume_ratio(900.0, v),
        "volume": lambda v: volatile_ingress.vapor_volume(v, 900.0, 2.0),
    }
    for name, call in calls.items():
        together = call(x)
        for i, v in enumerate(x):
            alone = call(float(v))
            assert isinstance(alone, float), name
            assert together[i] == pytest.approx(alone, rel=1e-14, nan_ok=True), name
        assert np.isnan(together[1]) and not np.isnan(together[[0, 2]]).any(), name


STREAM, LIQUID = Gas(12e5, 313.0, 18.0, 1.28), Liquid(12e5, 620.0)
UP = Gas(70e5, 313.0, 18.0, 1.28, 0.9)
WET = Liquid(60e5, 700.0, saturation_pressure=2e5)
LOADS = {
    "gas valve": cvo.gas_load(UP, STREAM, 16.0, 0.7, 10.0, outflow=0.2),
    "liquid valve": cvo.liquid_load(WET, LIQUID, 10.0, 0.9, 30e5),
    "flashing valve": cvo.liquid_load(WET, STREAM, 10.0, 0.9, 30e5, quality=0.2),
    "blow-by": cvo.blow_by_load(UP, LIQUID, 10.0, 0.7, gas_density=8.0),
    "expansion": he.relief_load(1e5, LIQUID, 1e-3, 2200.0),
    "boiling line": he.vapor_load(1e5, STREAM, 3e5),
    "tube, gas": tr.relief_load(UP, STREAM, 0.015),
    "tube, pushed": tr.relief_load(UP, LIQUID, 0.015, gas_density=8.0, outflow=1.0),
    "leak": reverse_flow.leak_load(WET, LIQUID, 0.15),
    "bore": reverse_flow.bore_load(UP, STREAM, 0.15),
    "stuck": reverse_flow.open_load(UP, STREAM, 40.0, xT=0.7),
    "full": overfilling.relief_load(5.0, LIQUID, outflow=1.0),
    "water": volatile_ingress.relief_load(0.1, STREAM, 2.6e6, heat_rate=1e5),
}


@pytest.mark.filterwarnings("ignore::relieflib.errors.ValidityWarning")  # the leak flashes
@pytest.mark.parametrize("name", LOADS)
def test_every_step_can_be_followed(name):
    working = size(LOADS[name], Device()).working
    assert len(working) >= 4
    for line in working:
        if line.equation:
            assert line.evaluate() == pytest.approx(line.value, rel=1e-7), line
