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
    # limits of a square-law resistance: nothing new, the normal flow; no drop left, none
    args = dict(source_pressure=12e5, highest_source_pressure=20e5)
    same = dict(source_pressure=20e5, highest_source_pressure=20e5)
    assert co.inflow_at_relieving(3.0, 10e5, 10e5, **same) == pytest.approx(3.0)
    for P1 in (20e5, 25e5):
        assert co.inflow_at_relieving(3.0, 10e5, P1, **args) == 0.0
    # liquid by hand: sqrt((20 - 16)/(12 - 10)); gas: sqrt((400 - 256)/(144 - 100))
    liquid = co.inflow_at_relieving(3.0, 10e5, 16e5, compressible=False, **args)
    assert liquid == pytest.approx(3 * 2**0.5)
    assert co.inflow_at_relieving(3.0, 10e5, 16e5, **args) == pytest.approx(3 * (144 / 44) ** 0.5)


def test_normal_and_highest_pressure_of_a_source_are_two_things():
    # by hand, off-gas of the demo plant: 7200 kg/h go from 64 to 60 barg; a source at 85 barg still
    # drives 1.383 times that into 79.2 barg: sqrt((86.013^2 - 80.213^2)/(65.013^2 - 61.013^2)),
    # 9957 kg/h, 10 925 on its 7900. Pairing 85 barg with the normal flow would say half
    bar = np.array([60.0, 64.0, 79.2, 85.0]) + 1.01325
    times = np.sqrt((bar[3] ** 2 - bar[2] ** 2) / (bar[1] ** 2 - bar[0] ** 2))
    assert times == pytest.approx(1.383, abs=5e-4)
    normal, source, P1, highest = bar * 1e5
    for flow, right in ((7200, 9957), (7900, 10_925)):
        W = co.inflow_at_relieving(flow, normal, P1, source_pressure=source,
                                   highest_source_pressure=highest)  # fmt: skip
        assert right == pytest.approx(W, abs=2.0) and W == pytest.approx(flow * times)


def test_source_by_points_that_its_maker_states():
    # by hand, straight between the points
    curve = co.SourceCurve((60e5, 70e5, 85e5), (2.0, 1.5, 0.0))
    assert curve.mass_flow([60e5, 65e5, 77.5e5, 85e5, 90e5]) == pytest.approx(
        [2.0, 1.75, 0.75, 0.0, 0.0]
    )
    held = co.SourceCurve((60e5, 80e5), (2.0, 2.0))  # displacement: the flow does not fall
    assert held.mass_flow(79e5) == 2.0
    for ask in (lambda: held.mass_flow(81e5), lambda: curve.mass_flow(59e5)):
        with pytest.raises(InputError, match="point of the curve"):
            ask()


@pytest.mark.parametrize("call", [
    lambda: co.relief_load(-1.0, GAS), lambda: co.relief_load(1.0, GAS, outflow=-1.0),
    lambda: co.PumpCurve(100.0, 100.0, 0.01), lambda: co.deadhead_pressure(0.0, 1.0, 1.0),
    lambda: co.inflow_at_relieving(1.0, 10e5, 11e5, source_pressure=9e5,
                                   highest_source_pressure=12e5),
    lambda: co.inflow_at_relieving(1.0, 10e5, 11e5, source_pressure=12e5,
                                   highest_source_pressure=11e5),
    lambda: co.SourceCurve((1e5,), (1.0,)), lambda: co.SourceCurve((1e5, 2e5), (1.0,)),
    lambda: co.SourceCurve((2e5, 1e5), (1.0, 0.5)), lambda: co.SourceCurve((1e5, 2e5), (1.0, 2.0)),
    lambda: co.pump_load(co.PumpCurve(2.0, 1.0, 1.0), 1e5, 1e5, -800.0),
])  # fmt: skip
def test_impossible_values(call):
    with pytest.raises(InputError):
        call()
