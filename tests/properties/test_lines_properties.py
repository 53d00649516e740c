"""What must hold for any line: monotony, continuity, limits, arrays, NaN, round trips."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from relieflib.devices import Device
from relieflib.lines import inlet, outlet, pipe_flow as pf, reaction
from relieflib.lines.line import Line, Part, march
from relieflib.lines.line_fluids import (
    Adiabatic,
    Expanding,
    Incompressible,
    discharge_flux,
    upstream_pressure,
)
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.sizing import ReliefLoad, size

settings.register_profile("relief", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("relief")

ks, heads = st.floats(1.02, 1.7), st.floats(0.0, 300.0)
gases = st.builds(
    Adiabatic, st.floats(200.0, 900.0), st.floats(2.0, 120.0), ks, st.floats(0.7, 1.1)
)
isothermal = st.builds(Expanding.isothermal, st.floats(200.0, 900.0), st.floats(2.0, 120.0))
two_phase = st.builds(Expanding.homogeneous, st.floats(3e6, 2e7), st.floats(5.0, 900.0),
                      st.floats(0.05, 60.0))  # fmt: skip
liquids = st.builds(Incompressible, st.floats(400.0, 1500.0))
fluids = gases | isothermal | two_phase | liquids
fluxes, ends = st.floats(1.0, 3000.0), st.floats(5e4, 2e6)


@given(st.floats(0.02, 1.0), ks)
def test_fanno_round_trip(Ma, k):
    assert pf.fanno_mach(pf.fanno_heads(Ma, k), k) == pytest.approx(Ma, rel=1e-6)


@given(st.floats(1.0, 1e9), st.floats(0.0, 0.19))
def test_friction_is_continuous_and_falls(Re, e):
    f = pf.friction_factor(Re, e)
    assert pf.friction_factor(Re * (1 + 1e-7), e) == pytest.approx(f, rel=5e-6)
    assert pf.friction_factor(Re, min(e * 1.01 + 1e-6, 0.2)) >= f * (1 - 1e-12)
    if not 1500 < Re < 6000:  # rises once, where laminar flow breaks up
        assert pf.friction_factor(Re * 1.01, e) <= f * (1 + 1e-12)


@given(fluids, fluxes, ends, st.floats(1e-6, 300.0), st.floats(0.0, 50.0))
def test_pressure_rises_upstream(fluid, G, end, N, more):
    P = upstream_pressure(fluid, G, end, N)
    assert P >= max(end, float(fluid.choke(G)))
    assert upstream_pressure(fluid, G, end, N + more) >= P * (1 - 1e-9)
    assert upstream_pressure(fluid, G * 1.01, end, N) >= P * (1 - 1e-9)
    assert upstream_pressure(fluid, G, end * 1.01, N) >= P * (1 - 1e-9)


@given(fluids, fluxes, ends)
def test_no_heads_no_loss(fluid, G, end):
    P = max(end, float(fluid.choke(G)))
    assert upstream_pressure(fluid, G, end, 0.0) == P
    tiny = upstream_pressure(fluid, G, end, 1e-10)
    assert tiny == pytest.approx(P, rel=1e-4)


@given(fluids, fluxes, ends, st.floats(1e-3, 100.0), st.floats(1e-3, 100.0))
def test_two_pipes_are_one(fluid, G, end, N1, N2):
    both = upstream_pressure(fluid, G, end, N1 + N2)
    later = upstream_pressure(fluid, G, end, N2)
    assert upstream_pressure(fluid, G, later, N1) == pytest.approx(both, rel=1e-7)


@given(gases | isothermal | two_phase, fluxes, st.floats(1e-3, 100.0))
def test_continuous_where_it_chokes(fluid, G, N):
    choke = float(fluid.choke(G))
    at, below = (upstream_pressure(fluid, G, choke * x, N) for x in (1.0, 0.5))
    assert at == below
    assert upstream_pressure(fluid, G, choke * (1 + 1e-7), N) == pytest.approx(at, rel=1e-6)


@given(gases, st.floats(0.0, 100.0), st.floats(0.0, 0.98), st.floats(2e5, 1e7))
def test_vessel_through_pipe_and_back(gas, N, ratio, P0):
    G = discharge_flux(P0, gas.temperature, gas.molar_mass, gas.k, N, gas.Z, ratio * P0)
    start = upstream_pressure(gas, G, max(ratio * P0, 1.0), N)
    assert gas.total(start, G) == pytest.approx(P0, rel=1e-7)
    more = discharge_flux(P0, gas.temperature, gas.molar_mass, gas.k, N + 0.5, gas.Z, ratio * P0)
    assert more < G


@given(st.floats(1e5, 1e6), st.floats(10.0, 400.0), st.floats(0.1, 50.0))
def test_omega_of_one_is_isothermal_gas(end, G, N):
    gas = Expanding.isothermal(320.0, 29.0)
    same = Expanding.homogeneous(5e7, 5e7 / gas.b, 1.0)
    near = Expanding.homogeneous(5e7, 5e7 / gas.b, 1.0 + 1e-9)
    P = upstream_pressure(gas, G, end, N)
    assert upstream_pressure(same, G, end, N) == pytest.approx(P, rel=1e-10)
    assert upstream_pressure(near, G, end, N) == pytest.approx(P, rel=1e-6)


@given(st.floats(1e5, 1e6), st.floats(10.0, 3000.0), st.floats(0.1, 50.0))
def test_omega_of_nothing_is_a_liquid(end, G, N):
    stiff = Expanding.homogeneous(5e7, 800.0, 1e-9)
    P = upstream_pressure(Incompressible(800.0), G, end, N)
    assert upstream_pressure(stiff, G, end, N) == pytest.approx(P, rel=1e-5)


@given(st.floats(1e5, 5e5), st.floats(1.0, 30.0), st.floats(0.1, 5.0))
def test_slow_gas_is_incompressible(end, G, N):
    gas = Adiabatic(300.0, 29.0, 1.4)
    rho = G / float(gas.velocity(end, G))
    drop = upstream_pressure(gas, G, end, N) - end
    assert drop == pytest.approx(N * G**2 / (2 * rho), rel=0.02 + 2 * drop / end)


@given(fluids, st.floats(0.1, 60.0), ends)
def test_scalar_equals_array(fluid, W, end):
    def line(D1, D2):
        return Line([Part("pipe", D1, length=2.0), Part("elbow", D1), Part("pipe", D2, length=5.0)])

    D1, D2 = np.array([0.1, 0.2, 0.15, np.nan]), np.array([0.2, 0.1, 0.15, 0.2])
    many = march(line(D1, D2), fluid, W, end)[0].pressure
    assert np.isnan(many[3])
    for i in range(3):
        one = march(line(D1[i].item(), D2[i].item()), fluid, W, end)[0].pressure
        assert isinstance(one, float) and many[i] == pytest.approx(one, rel=1e-11)


FOUR = [
    Adiabatic(300.0, 29.0, 1.4), Expanding.isothermal(300.0, 29.0),
    Expanding.homogeneous(9e5, 60.0, 3.0), Incompressible(800.0),
]  # fmt: skip


@pytest.mark.parametrize("fluid", FOUR)
def test_nan_goes_through(fluid):
    for values in ((np.nan, 1e5, 2.0), (300.0, np.nan, 2.0), (300.0, 1e5, np.nan)):
        assert np.isnan(upstream_pressure(fluid, *values))
    assert np.isnan(discharge_flux(np.nan, 300.0, 29.0, 1.4, 1.0))
    for values in ((1e6, 300.0, 29.0, 1.4, np.nan), (1e6, 300.0, 29.0, 1.4, 1.0, 1.0, np.nan)):
        assert np.isnan(discharge_flux(*values))


def valves():
    return ReliefLoad("x", np.array([2.0, 4.0, np.nan, 7.0]),
                      stream=Gas(np.array([6.7e5, 7e5, 7e5, 8e5]), 340.0, molar_mass=40.0,
                                 k=1.2))  # fmt: skip


@pytest.mark.parametrize("kind", ["conventional", "balanced", "pilot"])
def test_checks_of_arrays(kind):
    device, load = Device(kind, 517e3), valves()
    into = Line([Part("entrance flush", 0.10226), Part("pipe", 0.10226, length=0.5)])
    out = Line([Part("pipe", 0.15408, length=6.0), Part("pipe", 0.2027, length=9.0)])
    sizing = size(load, device)
    many = inlet.check(sizing, into), outlet.check(sizing, out), outlet.solve(load, device, out)
    for i in (0, 1, 3):
        stream = Gas(load.stream.pressure[i].item(), 340.0, molar_mass=40.0, k=1.2)
        one = ReliefLoad("x", load.mass_flow[i].item(), stream)
        single = size(one, device)
        alone = (inlet.check(single, into), outlet.check(single, out),
                 outlet.solve(one, device, out))  # fmt: skip
        for a, b in zip(many, alone):
            assert a.value[i] == pytest.approx(b.value, rel=1e-10)
            assert a.verdict[i] == b.verdict and a.passes[i] == b.passes
        assert many[2].capacity[i] == pytest.approx(alone[2].capacity, rel=1e-9)
        assert many[2].sizing.letter[i] == alone[2].sizing.letter
        assert many[0].valve_pressure[i] == pytest.approx(alone[0].valve_pressure, rel=1e-12)
    assert all(np.isnan(a.value[2]) and not a.passes[2] for a in many)
    assert many[0].verdict[2] == "not known"


@given(st.floats(0.5, 9.0), st.floats(0.05, 0.4), st.floats(0.0, 30.0), st.floats(1.0, 3.0))
def test_solving_closes_the_loop(W, D, K, header):
    load, pilot = (
        ReliefLoad("x", W, Gas(7e5, 340.0, molar_mass=40.0, k=1.2)),
        Device("pilot", 517e3),
    )
    line = Line([Part("other", D, K=K)])
    found = outlet.solve(load, pilot, line, header_pressure=header * 1e5 + 2e3)
    assert found.outlet_pressure == pytest.approx(found.sizing.back_pressure, rel=1e-7)
    assert found.outlet_pressure >= header * 1e5
    wider = outlet.solve(
        load, pilot, Line([Part("other", D * 1.1, K=K)]), header_pressure=header * 1e5 + 2e3
    )
    if wider.sizing.letter == found.sizing.letter:
        assert wider.outlet_pressure <= found.outlet_pressure * (1 + 1e-9)


@given(st.floats(1.0, 60.0), st.floats(0.5, 8.0))
def test_liquid_solved(W, K):
    load, device = (
        ReliefLoad("x", W, Liquid(11e5, 800.0, viscosity=1e-3)),
        Device("conventional", 9e5),
    )
    found = outlet.solve(load, device, Line([Part("other", 0.2, K=K)]))
    G = found.mass_flow / (np.pi / 4 * 0.04)
    assert found.outlet_pressure == pytest.approx(101_325.0 + K * G**2 / 1600.0, rel=1e-9)
    assert found.sizing.back_pressure == pytest.approx(found.outlet_pressure, rel=1e-7)


@given(st.floats(0.05, 3.0), st.floats(0.1, 0.4), st.floats(1.01, 2.0))
def test_inlet_loss_goes_with_K_and_flow(K, D, times):
    load, device = (
        ReliefLoad("x", 5.0, Gas(7e5, 340.0, molar_mass=40.0, k=1.2)),
        Device("conventional", 517e3),
    )
    sizing = size(load, device)
    one, more = (inlet.check(sizing, Line([Part("other", D, K=k)])) for k in (K, times * K))
    assert more.plain_loss == pytest.approx(times * one.plain_loss, rel=1e-12)
    wide = inlet.check(sizing, Line([Part("other", 2 * D, K=K)]))
    assert wide.plain_loss == pytest.approx(one.plain_loss / 16.0, rel=1e-12)
    assert one.largest_K == pytest.approx(more.largest_K, rel=1e-12)
    assert one.expanded_loss > one.plain_loss or np.isnan(one.expanded_loss)
    assert more.value > one.value > wide.value or not one.expanded_loss < np.inf
    at_limit = inlet.check(sizing, Line([Part("other", D, K=one.largest_K)]))
    assert at_limit.value == pytest.approx(at_limit.limit, rel=1e-8) or D < 0.12


# ---------------------------------------------------------------- parts that several valves share
def shared(valves, junction=0.25):
    """A nozzle and a stretch of pipe for several valves, then the branch of one of them."""
    return [Part("entrance flush", junction, valves=valves),
            Part("pipe", junction, length=1.5, valves=valves),
            Part("tee branch", 0.1541), Part("pipe", 0.1541, length=2.0)]  # fmt: skip


@given(fluids, st.floats(0.1, 30.0), ends, st.integers(1, 6), st.floats(1e-5, 1e-3))
def test_a_line_shared_all_along_is_that_of_the_sum(fluid, W, end, n, mu):
    def line(valves):
        return Line([Part("pipe", 0.2, length=3.0, valves=valves), Part("elbow", 0.2,
                                                                        valves=valves),
                     Part("reducer", 0.3, length=0.2, valves=valves),
                     Part("pipe", 0.3, length=9.0, valves=valves)])  # fmt: skip

    ours, sum_of_all = (march(line(m), fluid, w, end, mu) for m, w in ((n, W), (1, n * W)))
    for a, b in zip(ours, sum_of_all):
        assert a.pressure == pytest.approx(b.pressure, rel=1e-9)
        assert a.mass_flux == pytest.approx(b.mass_flux, rel=1e-12) and a.choked == b.choked


@given(liquids, st.floats(1.0, 60.0), st.integers(2, 6), st.floats(0.05, 0.6), st.floats(0.05, 0.6))
def test_where_liquid_lines_join_no_pressure_is_won_back(fluid, W, n, own, header):
    """Bernoulli by hand, the loss of an abrupt narrowing 0.5(1 - A2/A1) of the later bore."""
    line = Line([Part("other", own, K=0.0), Part("other", header, K=0.0, valves=n)])
    before, after = march(line, fluid, W, 3e5)[1:3]
    A, A_after = np.pi / 4 * own**2, np.pi / 4 * header**2 / n
    G, G_after = W / A, W / A_after
    drop = 0.0
    if A_after < A:
        loss = 0.5 * (1.0 - A_after / A) * G_after**2
        drop = (G_after**2 - G**2 + loss) / (2.0 * fluid.density)
    assert before.pressure - 3e5 == pytest.approx(drop, rel=1e-9, abs=1e-6 * 3e5)
    assert after.pressure - 3e5 <= drop + 1e-3


@given(fluids, st.floats(0.5, 20.0), ends, st.floats(0.05, 0.3))
def test_more_valves_never_less_pressure(fluid, W, end, D):
    line = [
        Part("pipe", 0.1541, length=2.0),
        Part("tee branch", D, valves=1),
        Part("pipe", D, length=12.0),
    ]
    found = []
    for n in (1, 2, 3, 5):
        rest = [Part("tee branch", D, valves=n), Part("pipe", D, length=12.0, valves=n)]
        found.append(march(Line([line[0], *rest]), fluid, W, end)[0].pressure)
    assert all(a <= b * (1 + 1e-9) for a, b in zip(found[1:], found[2:]))
    # one more valve: the widening of a line of its own may win back a little, a tee never does
    assert found[0] <= found[1] * (1 + 1e-9)


@given(fluids, st.floats(0.5, 20.0), ends, st.integers(1, 4))
def test_no_jump_where_a_line_begins_to_be_shared(fluid, W, end, n):
    def start(valves):
        rest = [Part("pipe", 0.2, length=12.0, valves=valves)]
        return march(Line([Part("pipe", 0.2, length=2.0, valves=n), *rest]), fluid, W, end)[
            0
        ].pressure

    assert start(n * (1 + 1e-8)) == pytest.approx(start(n), rel=1e-5)


def test_shared_parts_of_arrays():
    n = np.array([1.0, 2.0, 4.0])
    sizing = size(
        ReliefLoad("x", 5.0, Gas(7e5, 340.0, molar_mass=40.0, k=1.2)),
        Device("conventional", 517e3),
    )
    many = inlet.check(sizing, Line(shared(n)))
    out = Line([Part("pipe", 0.2027, length=3.0), Part("tee branch", 0.3, valves=n)])
    back = outlet.check(sizing, out)
    for i, valves in enumerate(n.tolist()):
        one = inlet.check(sizing, Line(shared(valves)))
        assert many.value[i] == pytest.approx(one.value, rel=1e-11)
        assert many.largest_K == pytest.approx(one.largest_K, rel=1e-12)
        alone = outlet.check(sizing, Line([out.parts[0], Part("tee branch", 0.3, valves=valves)]))
        assert back.value[i] == pytest.approx(alone.value, rel=1e-11)
        assert reaction.of_outlet(back).force[i] == pytest.approx(reaction.of_outlet(alone).force)
    assert np.all(np.diff(many.value) > 0) and np.all(np.diff(back.value) > 0)
