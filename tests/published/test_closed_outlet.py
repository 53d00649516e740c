"""Closed outlet against hand calculations and API 521 rules."""

import numpy as np
import pytest

from relieflib.causes import closed_outlet as co
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.units import to_si

GAS = Gas(12e5, 313.0, molar_mass=18.0, k=1.28)


def test_mass_balance():
    # API 521 4.4.2 (5th ed. 5.5): inflow at relieving pressure less what still leaves
    load = co.relief_load(12_000 / 3600, GAS, outflow=2_000 / 3600)
    assert load.mass_flow * 3600 == pytest.approx(10_000)
    assert co.relief_load(1.0, GAS, outflow=2.0).mass_flow == 0.0


def test_deadhead():
    # dP = rho g H: 3.5 barg suction, 120 m, SG 0.8 gives 9.414 bar and 12.914 barg, above a
    # 12 barg design (arithmetic with g 9.80665)
    suction = to_si(3.5, "barg", "pressure")
    dead = co.deadhead_pressure(suction, 120.0, 800.0)
    assert (dead - suction) / 1e5 == pytest.approx(9.414, abs=5e-4)
    assert (dead - 101_325) / 1e5 == pytest.approx(12.914, abs=5e-4)


def test_pump_curve():
    # a parabola through its own points, and back again
    curve = co.PumpCurve(120.0, 100.0, 0.010)
    assert curve.head(np.array([0.0, 0.010, 0.005])).tolist() == [120.0, 100.0, 115.0]
    q = np.linspace(0.0, 0.012, 7)
    np.testing.assert_allclose(curve.volume_flow(curve.head(q)), q, atol=1e-12)
    assert curve.volume_flow(121.0) == 0.0


def test_pump_load():
    # by hand: (12e5 - 4.5e5)/(800*9.80665) = 95.598 m; q = 0.01 sqrt((120-95.598)/20) m3/s
    load = co.pump_load(co.PumpCurve(120.0, 100.0, 0.010), 4.5e5, 12e5, 800.0)
    assert load.mass_flow == pytest.approx(800 * 0.01 * np.sqrt((120 - 95.598) / 20), rel=1e-4)
    # the valve 10 m up takes 10 m of head away
    high = co.pump_load(co.PumpCurve(120.0, 100.0, 0.010), 4.5e5, 12e5, 800.0, elevation=10.0)
    assert high.mass_flow == pytest.approx(800 * 0.01 * np.sqrt((120 - 105.598) / 20), rel=1e-4)
    # no load where the pump can't reach relieving pressure
    assert co.pump_load(co.PumpCurve(90.0, 80.0, 0.010), 4.5e5, 12e5, 800.0).mass_flow == 0.0


def test_source_through_a_resistance():
    # limits of a square-law resistance: normal flow at normal pressure, none at the source's own
    args = (3.0, 20e5, 10e5)
    assert co.inflow_at_relieving(*args, 10e5) == pytest.approx(3.0)
    assert co.inflow_at_relieving(*args, 20e5) == 0.0 == co.inflow_at_relieving(*args, 25e5)
    # liquid by hand: sqrt((20 - 16)/(20 - 10)); gas: sqrt((400 - 256)/(400 - 100))
    assert co.inflow_at_relieving(*args, 16e5, compressible=False) == pytest.approx(3 * 0.4**0.5)
    assert co.inflow_at_relieving(*args, 16e5) == pytest.approx(3 * 0.48**0.5)


@pytest.mark.parametrize("call", [
    lambda: co.relief_load(-1.0, GAS), lambda: co.relief_load(1.0, GAS, outflow=-1.0),
    lambda: co.PumpCurve(100.0, 100.0, 0.01), lambda: co.deadhead_pressure(0.0, 1.0, 1.0),
    lambda: co.inflow_at_relieving(1.0, 9e5, 10e5, 11e5),
    lambda: co.pump_load(co.PumpCurve(2.0, 1.0, 1.0), 1e5, 1e5, -800.0),
])  # fmt: skip
def test_impossible_values(call):
    with pytest.raises(InputError):
        call()
