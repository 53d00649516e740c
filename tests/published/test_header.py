"""The flare header: values of tables and of an independent march, limits, balances, errors.

FH and DI name rows of the project's list of check values. Those of the networks were computed once
outside this package by two marches of their own (Fanno and isothermal segments, agreeing to 1e-7
Pa); what is 'from memory' says so. A third march stands here: it integrates the balances of
momentum and energy along each pipe and shares no line with the package.
"""

import numpy as np
import pytest
from fluids.compressible import isothermal_gas
from hypothesis import given, settings, strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from relieflib.devices import Device
from relieflib.disposal import header
from relieflib.disposal.header import Mounted, Pipe, Release, Tree, driving, mixed, solve
from relieflib.errors import InputError
from relieflib.lines import outlet
from relieflib.lines.line import Line, Part
from relieflib.lines.line_fluids import Adiabatic, Expanding, Incompressible
from relieflib.lines.pipe_flow import fanno_heads, mach_number
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.sizing import ReliefLoad, rated_flow, size

R = 8314.462618
BAR = 1e5


def heads(tag, to, diameter, N, **more):
    return Pipe(tag, to, Line([Part("other", diameter, K=N)]), **more)


def one(gas, W=20.0, D=0.5, N=9.0, end=1.2e5, flow="adiabatic"):
    tree = Tree([heads("H", None, D, N)], {"PSV-1": "H"}, end)
    return solve(tree, {"e": {"PSV-1": Release(W, gas)}}, flow)


# ---------------------------------------------------------------- one pipe
@pytest.mark.parametrize(
    "k, P1, Ma_static",
    [(1.1, 1.54738, 0.251667), (1.2, 1.54666, 0.240638), (1.3, 1.54606, 0.230944)],
)
def test_adiabatic_header(k, P1, Ma_static):
    """DI-01: 20 kg/s of M 30, T0 350 K, 0.5 m, 9 velocity heads, 1.2 bara beyond; computed."""
    net = one(Adiabatic(350.0, 30.0, k))
    assert net.valve_pressure("PSV-1")[0] / BAR == pytest.approx(P1, abs=5e-6)
    assert net.mach["H"][0] == pytest.approx(Ma_static, abs=5e-7)


def test_isothermal_header():
    """FH-01 (API 521, from memory): P1 1.5482 bara, Ma2 0.2644 without k; DI-01: 1.54825."""
    net = one(Adiabatic(350.0, 30.0, 1.2), flow="isothermal")
    assert net.valve_pressure("PSV-1")[0] / BAR == pytest.approx(1.5482, rel=1e-3)
    assert net.valve_pressure("PSV-1")[0] / BAR == pytest.approx(1.54825, abs=5e-6)
    assert net.mach["H"][0] == pytest.approx(0.2644, abs=5e-5)
    # the printed equation of API 521 solved for f L/d, by hand: 9 again
    P1, P2, Ma = net.valve_pressure("PSV-1")[0], 1.2e5, net.mach["H"][0]
    back = (P1 / P2) ** 2 * (1 - (P2 / P1) ** 2) / Ma**2 - np.log((P1 / P2) ** 2)
    assert back == pytest.approx(9.0, rel=1e-9)


def test_isothermal_header_against_the_library():
    """fluids.isothermal_gas, another equation of the same flow: it gives the flow back."""
    f, L, D = 0.015, 300.0, 0.5
    P1 = float(one(Adiabatic(350.0, 30.0, 1.2), flow="isothermal").valve_pressure("PSV-1")[0])
    rho = P1 * 30.0 / (R * 350.0)  # the library takes it at the start
    W = isothermal_gas(rho=rho, fd=f, P1=P1, P2=1.2e5, L=L, D=D)
    assert W == pytest.approx(20.0, rel=1e-6)


def test_mach_number_constants():
    """FH-03 (API 521, from memory): 3.23e-5 with kg/h, kPa, m; 1.702e-5 with lb/h, psia, ft, R."""
    D, P = 0.5, 1.2e5
    W, T, M, k = 20.0, 350.0, 30.0, 1.2
    own = mach_number(W / (np.pi / 4 * D**2), P, T, M, k=k)
    si = 3.23e-5 * (W * 3600) / (P / 1e3 * D**2) * np.sqrt(T / (k * M))
    us = 1.702e-5 * (W * 3600 / 0.45359237) / (P / 6894.757 * (D / 0.3048) ** 2)
    us *= np.sqrt(1.8 * T / (k * M))
    assert own == pytest.approx(si, rel=2e-3) and own == pytest.approx(us, rel=2e-3)


def test_fanno_length_to_choke():
    """FH-04, gas tables at k 1.4 (from memory), and a pipe of that length chokes at its end."""
    for Ma, N in ((0.2, 14.533), (0.3, 5.2993), (0.5, 1.0691)):
        assert fanno_heads(Ma, 1.4) == pytest.approx(N, rel=1e-4)
    air = Adiabatic(300.0, 28.97, 1.4)
    net = one(air, W=40.0, D=0.3, N=5.2993, end=1e3)
    assert net.choked["H"][0] and net.mach["H"][0] == pytest.approx(1.0, rel=1e-12)
    # so Ma at the start is 0.3, and with it the static pressure, by hand from mass and energy
    T = 300.0 / (1 + 0.2 * 0.3**2)
    P = 40.0 / (np.pi / 4 * 0.09) / 0.3 * np.sqrt(R * T / (1.4 * 28.97))
    assert net.valve_pressure("PSV-1")[0] == pytest.approx(P, rel=1e-4)


def test_the_largest_mass_flow_need_not_govern():
    """DI-04: 20 kg/s of M 44 at 320 K against 15 kg/s of M 18 at 450 K; computed."""
    assert driving([20.0, 15.0], [44.0, 18.0], [320.0, 450.0]) == pytest.approx(
        [53.936, 75.0], abs=5e-4
    )
    tree = Tree([heads("H", None, 0.4, 1.0)], {"V": "H"}, 1.2e5)
    gases = {"X": (20.0, Adiabatic(320.0, 44.0, 1.1)), "Y": (15.0, Adiabatic(450.0, 18.0, 1.3))}
    events = {e: {"V": Release(W, gas)} for e, (W, gas) in gases.items()}
    net = solve(tree, events, "isothermal")
    assert net.mach["H"] == pytest.approx([0.32614, 0.45351], abs=5e-6)
    assert net.governing("H") == "Y" and net.heaviest("H") == "X"
    assert net.inlet_pressure["H"][1] > net.inlet_pressure["H"][0]


# ---------------------------------------------------------------- three valves
GASES = {
    "PSV-1": (6.0, 44.0, 330.0, 1.1),
    "PSV-2": (2.5, 20.0, 320.0, 1.25),
    "PSV-3": (10.0, 30.0, 400.0, 1.15),
}
PIPES = {
    "H": (None, 0.5, 5.0), "S": ("H", 0.4, 6.0),
    "t1": ("S", 0.2, 4.0), "t2": ("S", 0.15, 5.0), "t3": ("H", 0.25, 4.0),
}  # fmt: skip
ENDS = {"PSV-1": "t1", "PSV-2": "t2", "PSV-3": "t3"}


def network(pipes=PIPES, end=1.15e5):
    return Tree([heads(tag, to, D, N) for tag, (to, D, N) in pipes.items()], ENDS, end)


def released(*valves, flow=1.0):
    return {
        v: Release(flow * W, Adiabatic(T, M, k)) for v, (W, M, T, k) in GASES.items() if v in valves
    }


EVENTS = {
    "all": released(*GASES),
    "PSV-3": released("PSV-3"),
    "1 and 2": released("PSV-1", "PSV-2"),
}
DI_03 = {  # P_B, P_A, Ma of header and sub-header at their end, P at each flange, Ma of tail pipes
    "adiabatic": (1.33487, 1.4198, 0.239209, 0.137129, (1.73554, 1.86409, 1.98933),
                  (0.319463, 0.322961, 0.46996)),
    "isothermal": (1.33559, 1.42058, 0.256559, 0.146447, (1.73768, 1.86965, 1.99877),
                   (0.335724, 0.363227, 0.507859)),
}  # fmt: skip


@pytest.mark.parametrize("flow", header.FLOWS)
def test_three_valves(flow):
    """DI-03a: marched twice outside this package; junction with one static pressure; computed."""
    net = solve(network(), EVENTS, flow)
    P_B, P_A, Ma_H, Ma_S, flanges, tails = DI_03[flow]
    assert net.inlet_pressure["H"][0] / BAR == pytest.approx(P_B, abs=5e-6)
    assert net.inlet_pressure["S"][0] / BAR == pytest.approx(P_A, abs=5e-6)
    assert net.mach["H"][0] == pytest.approx(Ma_H, abs=5e-7)
    assert net.mach["S"][0] == pytest.approx(Ma_S, abs=5e-7)
    for valve, P, Ma in zip(GASES, flanges, tails):
        assert net.valve_pressure(valve)[0] / BAR == pytest.approx(P, abs=5e-6)
        assert net.mach[ENDS[valve]][0] == pytest.approx(Ma, abs=5e-7)
    mix = net.fluid("H", "all")
    assert net.mass_flow["H"][0] == pytest.approx(18.5)
    assert (mix.molar_mass, mix.temperature, mix.k) == pytest.approx(
        (31.1083, 366.884, 1.14555), rel=3e-6
    )


@pytest.mark.parametrize("flow, P_B, Ma, P, tail", [
    ("adiabatic", 1.21206, 0.137405, 1.92241, 0.516699),
    ("isothermal", 1.21215, 0.147455, 1.93375, 0.559579),
])  # fmt: skip
def test_one_of_the_three(flow, P_B, Ma, P, tail):
    """DI-03c: PSV-3 alone in the same network; computed."""
    net = solve(network(), EVENTS, flow)
    assert net.inlet_pressure["H"][1] / BAR == pytest.approx(P_B, abs=5e-6)
    assert net.mach["H"][1] == pytest.approx(Ma, abs=5e-7)
    assert net.valve_pressure("PSV-3")[1] / BAR == pytest.approx(P, abs=5e-6)
    assert net.mach["t3"][1] == pytest.approx(tail, abs=5e-7)
    # nothing flows in the pipes of the others: they stand at the pressure of their junction
    assert net.valve_pressure("PSV-1")[1] == net.inlet_pressure["H"][1]


def marched(P_end, G, N, M, T0, k, flow):
    """Static pressure before N velocity heads, by integrating the momentum balance back along them.

    dP + G^2 dv + G^2 v/2 dN = 0, with v from the energy balance (adiabatic) or at T0.
    """
    cp = k / (k - 1) * R / M

    def volume(P):
        if flow == "isothermal":
            return R * T0 / (M * P)
        # cp T + (G v)^2/2 = cp T0 and v = R T/(M P)
        a = 0.5 * G**2 * (R / (M * P)) ** 2
        T = (-cp + np.sqrt(cp**2 + 4 * a * cp * T0)) / (2 * a)
        return R * T / (M * P)

    def slope(_, y):
        P, d = y[0], 1e-6 * y[0]
        dv = (volume(P + d) - volume(P - d)) / (2 * d)
        return [0.5 * G**2 * volume(P) / (1 + G**2 * dv)]  # backwards: N grows against the flow

    if flow == "isothermal":
        choke = G * np.sqrt(R * T0 / M)
    else:
        choke = brentq(
            lambda P: G**2 * volume(P) - k * P, 1.0, 1e8, xtol=1e-9
        )  # where G v is the speed of sound
    start = max(P_end, choke * (1 + 1e-7))  # the slope is infinite where it chokes
    return solve_ivp(slope, (0, N), [start], rtol=1e-10, atol=1e-4, method="LSODA").y[0, -1]


def by_hand(pipes, lifts, flow, end):
    """The whole tree: flows and states by moles and heat, then each pipe integrated."""
    way = {}
    for v, tag in ENDS.items():
        way[v] = [tag]
        while pipes[way[v][-1]][0]:
            way[v].append(pipes[way[v][-1]][0])
    P = {}
    for tag in sorted(pipes, key=lambda t: min(w[::-1].index(t) for w in way.values() if t in w)):
        to, D, N = pipes[tag]
        own = [GASES[v] for v in lifts if tag in way[v]]
        P[tag] = end if to is None else P[to]
        if own:
            W = sum(g[0] for g in own)
            n = sum(g[0] / g[1] for g in own)
            heat = sum(g[0] / g[1] * g[3] / (g[3] - 1) for g in own)  # moles times cp/R
            T = sum(g[0] / g[1] * g[3] / (g[3] - 1) * g[2] for g in own) / heat
            k = (heat / n) / (heat / n - 1)
            P[tag] = marched(P[tag], W / (np.pi / 4 * D**2), N, W / n, T, k, flow)
    return P


@pytest.mark.parametrize("flow", header.FLOWS)
@pytest.mark.parametrize("lifts", [tuple(GASES), ("PSV-3",), ("PSV-1", "PSV-2")])
def test_network_against_an_integration(flow, lifts):
    net = solve(network(), {"e": released(*lifts)}, flow)
    for tag, P in by_hand(PIPES, lifts, flow, 1.15e5).items():
        assert net.inlet_pressure[tag][0] == pytest.approx(P, rel=1e-6), tag


@pytest.mark.parametrize("flow", header.FLOWS)
def test_network_that_chokes_against_an_integration(flow):
    """Tail pipes so narrow that all three choke at their end."""
    narrow = PIPES | {"t1": ("S", 0.08, 4.0), "t2": ("S", 0.06, 5.0), "t3": ("H", 0.11, 4.0)}
    net = solve(network(narrow), {"e": released(*GASES)}, flow)
    assert all(net.choked[tag][0] for tag in ENDS.values()) and not net.choked["H"][0]
    for tag, P in by_hand(narrow, tuple(GASES), flow, 1.15e5).items():
        assert net.inlet_pressure[tag][0] == pytest.approx(P, rel=2e-6), tag


# ---------------------------------------------------------------- balances
@pytest.mark.parametrize("event", EVENTS)
def test_mass_moles_and_heat_at_every_junction(event):
    """What flows into a junction leaves it: sums by hand, to 1e-9."""
    net = solve(network(), EVENTS)
    for tag, feeds in (("S", ("t1", "t2")), ("H", ("S", "t3"))):
        sums = np.zeros(3)
        for f in feeds:
            gas, W = net.fluid(f, event), net.mass_flow[f][net.at(event)]
            if gas is not None:
                moles = W / gas.molar_mass
                sums += W, moles, moles * gas.k / (gas.k - 1) * gas.temperature
        gas, W = net.fluid(tag, event), net.mass_flow[tag][net.at(event)]
        if gas is None:
            assert not sums.any() and W == 0
            continue
        moles = W / gas.molar_mass
        out = W, moles, moles * gas.k / (gas.k - 1) * gas.temperature
        assert sums == pytest.approx(out, rel=1e-9)


def test_mix_by_hand():
    """1 kmol/s of k 1.4 at 300 K and 1 kmol/s of k 1.2 at 400 K: cp/R 3.5 and 6."""
    W, gas = mixed([28.0, 44.0], [Adiabatic(300.0, 28.0, 1.4), Adiabatic(400.0, 44.0, 1.2)])
    assert W == 72.0 and gas.molar_mass == pytest.approx(36.0, rel=1e-12)
    assert gas.temperature == pytest.approx((3.5 * 300 + 6 * 400) / 9.5, rel=1e-12)
    assert gas.k == pytest.approx(4.75 / 3.75, rel=1e-12)


# ---------------------------------------------------------------- limits
def test_one_valve_alone_is_its_outlet_line():
    """A tree without a branch gives what `lines.outlet` gives for all its pipes in one line."""
    tail, lateral, main = (
        [Part("pipe", D, length=L), Part("long elbow", D, count=2)]
        for D, L in ((0.10226, 12.0), (0.15405, 20.0), (0.20272, 60.0))
    )
    tree = Tree(
        [
            Pipe("main", None, Line(main)),
            Pipe("tail", "lateral", Line(tail)),
            Pipe("lateral", "main", Line(lateral)),
        ],
        {"V": "tail"},
        1.1e5,
    )
    load = ReliefLoad("x", 3.0, Gas(12e5, 330.0, molar_mass=30.0, k=1.25))
    sizing = size(load, Device("conventional", 10e5), 1.1e5)
    for flow in header.FLOWS:
        check = outlet.check(sizing, Line(tail + lateral + main), header_pressure=1.1e5, flow=flow,
                             designation="3L4")  # fmt: skip
        release = Release(3.0, Adiabatic(330.0, 30.0, 1.25), check.mass_flow)
        net = solve(tree, {"e": {"V": release}}, flow)
        assert tree.own("V") == ("tail", "lateral", "main") and tree.joins("V") is None
        start = check.stations[0].pressure
        assert net.valve_pressure("V")[0] == pytest.approx(start, rel=1e-12)
        faced = header.face(tree, {"V": Mounted(Device("conventional", 10e5), "3L4", 10e5)},
                            {"e": {"V": load}}, 101325.0, flow)  # fmt: skip
        found = faced.facings["V", "e"].check
        assert found.outlet_pressure == pytest.approx(check.outlet_pressure, rel=1e-9)


def test_header_of_no_length_has_the_pressure_of_its_tip():
    tree = Tree([heads("H", None, 0.5, 0.0)], {"A": "H", "B": "H"}, 1.2e5)
    gas = Adiabatic(350.0, 30.0, 1.2)
    net = solve(tree, {"e": {"A": Release(3.0, gas), "B": Release(4.0, gas)}})
    assert net.valve_pressure("A")[0] == net.valve_pressure("B")[0] == 1.2e5


def test_no_flow_leaves_the_lowest_pressure():
    """A seal of 0.51 m of water stands there whatever flows: 0.51 x 1000 x 9.80665 Pa."""
    rise = 0.51 * 1000 * 9.80665
    tree = Tree([heads("H", None, 0.5, 9.0, rise=rise)], {"A": "H", "B": "H"}, 101325.0)
    gas = Adiabatic(350.0, 30.0, 1.2)
    net = solve(tree, {"none": {"A": Release(0.0, gas)}, "B": {"B": Release(20.0, gas)}})
    assert net.valve_pressure("A")[0] == pytest.approx(101325.0 + rise, rel=1e-12)
    assert tree.lowest == pytest.approx({"A": 101325.0 + rise, "B": 101325.0 + rise})
    assert net.mach["H"][0] == 0 and net.governing("H") == "B"
    bare = Tree([heads("H", None, 0.5, 9.0)], {"A": "H", "B": "H"}, 101325.0)
    flowing = solve(bare, {"B": {"B": Release(20.0, gas)}}).valve_pressure("B")[0]
    assert net.valve_pressure("A")[1] == pytest.approx(flowing + rise, rel=1e-12)


def test_a_tip_at_mach_a_half_costs_its_velocity_head():
    """DI-32: stagnation over static less 1 is 0.159693 at k 1.2, Ma 0.5 (isentropic, computed)."""
    gas, D, P = Adiabatic(350.0, 30.0, 1.2), 0.3, 101325.0
    T = 350.0 / (1 + 0.1 * 0.25)
    W = 0.5 * P * np.sqrt(1.2 * 30.0 / (R * T)) * np.pi / 4 * D**2
    assert gas.total(P, W / (np.pi / 4 * D**2)) / P - 1 == pytest.approx(0.159693, abs=5e-7)
    pipes = [Pipe("drum", "tip", Line([Part("other", 10 * D, K=0.0)]), vessel=True)]
    tree = Tree([*pipes, heads("tip", None, D, 0.0)], {"V": "drum"}, P)
    net = solve(tree, {"e": {"V": Release(W, gas)}})
    assert net.mach["tip"][0] == pytest.approx(0.5, rel=1e-9)
    # sharp entrance, 0.5 (1 - beta^2) heads (Crane TP-410, A-27), then the velocity head
    G, K = W / (np.pi / 4 * D**2), 0.5 * (1 - 0.01)
    start = marched(P, G, K, 30.0, 350.0, 1.2, "adiabatic")
    assert net.inlet_pressure["tip"][0] == pytest.approx(start, rel=1e-7)
    T = brentq(lambda T: T + 0.1 * (G * R * T / (30.0 * start)) ** 2 * 30.0 / (1.2 * R) - 350.0,
               200.0, 350.0)  # fmt: skip
    at_rest = start * (350.0 / T) ** 6
    assert net.valve_pressure("V")[0] == pytest.approx(at_rest, rel=1e-4)
    assert at_rest / P - 1 > 0.159693


def test_where_a_bore_changes_without_a_branch_momentum_counts():
    """Drum, riser and tip are one reach: the drum feels the velocity head of the riser."""
    pipes = [heads("drum", "riser", 2.2, 0.0, vessel=True), heads("riser", None, 0.3, 5.0)]
    tree, gas = Tree(pipes, {"V": "drum"}, 1.1e5), Adiabatic(350.0, 30.0, 1.2)
    assert tree.reaches == (("drum", "riser"),)
    net = solve(tree, {"e": {"V": Release(8.0, gas)}})
    gained = net.inlet_pressure["drum"][0] - net.inlet_pressure["riser"][0]
    # by hand: half rho v^2 at the riser's start; its entrance costs 0.5 (1 - beta^2) heads more
    G = 8.0 / (np.pi / 4 * 0.09)
    rho = net.inlet_pressure["riser"][0] * 30.0 / (R * 350.0)
    assert gained == pytest.approx(0.5 * G**2 / rho, rel=0.02)
    N = 5.0 + 0.5 * (1 - (0.3 / 2.2) ** 2)
    start = marched(1.1e5, G, N, 30.0, 350.0, 1.2, "adiabatic")
    assert net.inlet_pressure["riser"][0] == pytest.approx(start, rel=1e-7)


# ---------------------------------------------------------------- which flow, and who lifts first
def test_own_pipe_takes_the_rated_flow_and_shared_pipes_the_required_load():
    """DI-07 (API 521, 5th edition 7.3.1, read restated): rated in the tail pipe alone."""
    events = {"e": {v: Release(r.mass_flow, r.fluid, 1.5 * r.mass_flow)
                    for v, r in EVENTS["all"].items()}}  # fmt: skip
    net, required = solve(network(), events), solve(network(), EVENTS)
    for tag in ("H", "S"):
        assert net.inlet_pressure[tag][0] == required.inlet_pressure[tag][0]
        assert net.mass_flow[tag][0] == required.mass_flow[tag][0]
    for v, tag in ENDS.items():
        assert net.mass_flow[tag][0] == pytest.approx(1.5 * GASES[v][0])
        assert net.valve_pressure(v)[0] > required.valve_pressure(v)[0]


@pytest.mark.parametrize("flow", header.FLOWS)
def test_superimposed_is_the_march_without_the_valve(flow):
    net = solve(network(), EVENTS, flow)
    for event, lifts in EVENTS.items():
        for valve in lifts:
            others = {v: r for v, r in lifts.items() if v != valve}
            found = net.superimposed[valve][event]
            if others:
                alone = solve(network(), {"e": others}, flow)
                assert found == pytest.approx(alone.header_pressure(valve)[0], rel=1e-12)
            else:
                assert found == pytest.approx(1.15e5, rel=1e-12)


def test_others_delay_a_conventional_valve_alone():
    """API 520-I (2020), 5.3: a conventional valve opens later by what others make, by hand."""
    load = {v: ReliefLoad("x", W, Gas(12e5, T, molar_mass=M, k=k))
            for v, (W, M, T, k) in GASES.items()}  # fmt: skip
    for kind, late in (("conventional", 1), ("balanced", 0), ("pilot", 0)):
        mounted = dict.fromkeys(GASES, Mounted(Device(kind, 10e5), "6R8", 10e5))
        faced = header.face(network(), mounted, {"e": load}, 101325.0)
        seen = faced.facings["PSV-1", "e"]
        rise = faced.network.superimposed["PSV-1"]["e"] - 1.15e5
        assert rise > 0 and seen.opens.value == pytest.approx(10e5 + late * rise, rel=1e-12)
        assert seen.opens.holds is (kind != "conventional")
        assert ("opens too late" in seen.against) is (kind == "conventional")


def test_rated_flow_and_back_pressure_agree_with_each_other():
    """A balanced valve loses flow to the back pressure it makes: both hold at once."""
    loads = {v: ReliefLoad("x", W, Gas(6e5, T, molar_mass=M, k=k))
             for v, (W, M, T, k) in GASES.items()}  # fmt: skip
    device = Device("balanced", 4.5e5)
    mounted = dict.fromkeys(GASES, Mounted(device, "6R8", 5e5))
    wide = PIPES | {"t1": ("S", 0.2, 4.0), "t2": ("S", 0.2, 5.0)}
    faced = header.face(network(wide), mounted, {"e": loads}, 101325.0)
    for valve in GASES:
        f = faced.facings[valve, "e"]
        area = 10322.6e-6  # R, API 526
        stream = loads[valve].stream
        assert f.back_pressure > f.header_pressure > 1.15e5
        again = rated_flow(stream, device, area, f.back_pressure)
        assert f.rated_flow == pytest.approx(again, rel=1e-4)
        assert f.rated_flow < rated_flow(stream, device, area, 101325.0)
        found = faced.network.valve_pressure(valve)[0]
        assert found <= f.back_pressure * (1 + 1e-9)  # the flange may choke above it


# ---------------------------------------------------------------- two phases
def test_volumes_of_gas_and_two_phase_flow_add():
    """By mass, v = a + b/P of each; marched against an integration of the momentum balance."""
    gas, wet = Adiabatic(320.0, 20.0, 1.25), Expanding(0.0015, 2000.0)
    pipes = {"H": (None, 0.3, 6.0), "a": ("H", 0.15, 3.0), "b": ("H", 0.15, 3.0)}
    tree = Tree(
        [heads(t, to, D, N) for t, (to, D, N) in pipes.items()], {"A": "a", "B": "b"}, 1.2e5
    )
    net = solve(tree, {"e": {"A": Release(2.0, gas), "B": Release(6.0, wet)}})
    mix = net.fluid("H", "e")
    a, b = 0.75 * 0.0015, 0.25 * R * 320.0 / 20.0 + 0.75 * 2000.0
    assert (mix.a, mix.b) == pytest.approx((a, b), rel=1e-12)
    G = 8.0 / (np.pi / 4 * 0.09)
    run = solve_ivp(lambda _, y: [0.5 * G**2 * (a + b / y[0]) / (1 - G**2 * b / y[0] ** 2)],
                    (0, 6.0), [1.2e5], rtol=1e-10, atol=1e-4)  # fmt: skip
    assert net.inlet_pressure["H"][0] == pytest.approx(run.y[0, -1], rel=1e-7)
    assert net.load["H"][0] == pytest.approx(8.0 * np.sqrt(b), rel=1e-12)
    assert isinstance(net.fluid("a", "e"), Adiabatic)  # gas alone in its own pipe


def test_liquid_is_for_the_drum_and_is_said():
    """Common practice, no source: liquid goes to the drum, not into the pressure of the header."""
    loads = {
        "gas": {"A": ReliefLoad("x", 2.0, Gas(12e5, 320.0, molar_mass=20.0, k=1.25))},
        "both": {"A": ReliefLoad("x", 2.0, Gas(12e5, 320.0, molar_mass=20.0, k=1.25)),
                 "B": ReliefLoad("y", 9.0, Liquid(12e5, 800.0))},
        "liquid": {"B": ReliefLoad("y", 9.0, Liquid(12e5, 800.0))},
        "boils": {"B": ReliefLoad("y", 9.0, Liquid(12e5, 500.0, saturation_pressure=9e5))},
        "foam": {"B": ReliefLoad("y", 9.0, TwoPhase.from_properties(
        12e5, 0.005, temperature=320.0, quality=0.1, vapor_specific_volume=0.04,
        specific_volume_change=0.038, latent_heat=3e5, liquid_heat_capacity=2500.0))},
    }  # fmt: skip
    gas, liquid = header.releases_of(loads, 1.06e5)
    assert set(gas) == {"gas", "both", "foam"} and set(liquid) == {"both", "liquid", "boils"}
    assert liquid["liquid"]["B"] == "stays liquid" and "boils" in liquid["boils"]["B"]
    assert gas["both"] == gas["gas"]


# ---------------------------------------------------------------- properties
bores = st.floats(0.1, 0.6)


@settings(max_examples=25, deadline=None)
@given(D=st.lists(bores, min_size=5, max_size=5), which=st.sampled_from(list(PIPES)),
       wider=st.floats(1.01, 1.6), flow=st.sampled_from(header.FLOWS))  # fmt: skip
def test_a_wider_pipe_never_raises_a_pressure(D, which, wider, flow):
    """Every diameter: no valve stands higher, and those beyond it lower."""
    tails = dict(zip(("t1", "t2", "t3"), (0.5 * d for d in D[:3])))
    S = max(tails["t1"], tails["t2"], D[3])
    bore = tails | {"S": S, "H": max(S, tails["t3"], D[4]) * 1.7}

    def pressures(scale):
        bores = {t: d * (scale if t == which else 1.0) for t, d in bore.items()}
        pipes = []
        for tag, (to, _, N) in PIPES.items():
            line = Line([Part("pipe", bores[tag], length=10.0 * N), Part("other", bores[tag], K=N)])
            pipes.append(Pipe(tag, None if to is None else to, line))
        try:
            return solve(Tree(pipes, ENDS, 1.15e5), EVENTS, flow)
        except InputError:  # the branch is now wider than what it flows into
            return None

    before, after = pressures(1.0), pressures(wider)
    if after is None:
        return
    for valve in GASES:
        drop = before.valve_pressure(valve) - after.valve_pressure(valve)
        assert np.all(drop >= -1e-9 * before.valve_pressure(valve))
        way = before.tree.way(ENDS[valve])
        if which in way:  # unless a bore that chokes stands between
            free = ~np.any([before.choked[t] for t in way], axis=0)
            assert np.all(drop[free & (before.mass_flow[which] > 0)] > 0)


@pytest.mark.parametrize("flow", header.FLOWS)
def test_one_event_at_a_time_is_all_at_once(flow):
    net = solve(network(), EVENTS, flow)
    for i, (event, lifts) in enumerate(EVENTS.items()):
        alone = solve(network(), {event: lifts}, flow)
        for name in ("inlet_pressure", "outlet_pressure", "mach", "momentum", "mass_flow", "load"):
            for tag in PIPES:
                one, many = getattr(alone, name)[tag][0], getattr(net, name)[tag][i]
                assert one == pytest.approx(many, rel=1e-12), (name, tag)


def test_limits_are_inputs():
    """DI-06: Mach and momentum limits are the owner's; the worst first, none without a limit."""
    net = solve(network(), EVENTS)
    assert not net.over(np.nan) and not net.over({}, np.nan)
    fast = net.over({"t3": 0.5, "H": 0.3})
    assert [row[:3] for row in fast] == [("t3", "PSV-3", "mach")]
    assert fast[0][3] == pytest.approx(0.516699, abs=5e-7)  # DI-03c
    G, rows = 10.0 / (np.pi / 4 * 0.25**2), net.over(np.nan, 1e4)
    most = max(row[3] for row in rows if row[0] == "t3")
    # rho v^2 = G v at the end of t3, static T from Ma 0.5167, by hand
    T = 400.0 / (1 + 0.075 * 0.516699**2)
    assert most == pytest.approx(G * 0.516699 * np.sqrt(1.15 * R * T / 30.0), rel=1e-5)


def test_a_pipe_above_its_design_pressure_is_said():
    pipes = [heads(t, to, D, N, rating_gauge=0.3e5 if t == "H" else 0.4e5 if t == "S" else np.nan)
             for t, (to, D, N) in PIPES.items()]  # fmt: skip
    net = solve(Tree(pipes, ENDS, 1.15e5), EVENTS)
    found = net.over_rating(101325.0)
    assert [row[:2] for row in found] == [("H", "all"), ("S", "all")]
    # DI-03a: 1.33487 and 1.4198 bara, less the air, by hand
    assert [row[2] for row in found] == pytest.approx([0.32162e5, 0.406550e5], abs=1.0)


def test_steps_of_a_pipe_are_what_a_calculator_gives():
    net = solve(network(), EVENTS, "isothermal")
    steps = {line.name: line for line in header.working(net, "H", "all")}
    for line in steps.values():
        if line.equation:
            assert line.evaluate() == pytest.approx(line.value, rel=1e-9), line.name
    assert steps["exit_mach"].value == pytest.approx(0.256559, abs=5e-7)  # DI-03a
    assert steps["start_pressure"].value / BAR == pytest.approx(1.33559, abs=5e-6)
    assert steps["velocity_heads"].value == 5.0 and steps["event_load"].value == 18.5
    with pytest.raises(InputError, match="one bore"):
        header.working(net, "t3", "1 and 2")


def test_one_change_at_a_time():
    """A tree in another bore, a valve of another kind; the old ones stay as they are."""
    tree = network()
    wider = tree.with_bore("H", 0.6)
    assert wider["H"].line.parts[0].diameter == 0.6 and tree["H"].line.parts[0].diameter == 0.5
    N = 5.0 * (0.5 / 0.6) ** 4  # at low speed the pressure drop goes with 1/D^4, by hand
    a, b = (solve(t, EVENTS).inlet_pressure["H"][1] - 1.15e5 for t in (tree, wider))
    assert b / a == pytest.approx(N / 5.0, rel=0.05)
    valve = Mounted(Device("conventional", 10e5), "3L4", 10e5)
    assert header.with_kind(valve, "balanced").device.kind == "balanced"
    assert valve.device.kind == "conventional"


# ---------------------------------------------------------------- errors in words
@pytest.mark.parametrize("pipes, valves, words", [
    ({"A": ("B", 0.3, 1), "B": ("A", 0.3, 1)}, {"V": "A"}, "loop: A -> B -> A"),
    ({"A": ("B", 0.3, 1)}, {"V": "A"}, "flows into 'B', which is not there"),
    ({"A": (None, 0.3, 1)}, {"V": "B"}, "V has no way out"),
    ({"A": (None, 0.3, 1), "B": (None, 0.3, 1)}, {"V": "A"}, "must have one end, it has 2"),
    ({"A": (None, 0.2, 1), "B": ("A", 0.3, 1)}, {"V": "B"}, "A is narrower than B"),
])  # fmt: skip
def test_a_tree_that_is_none(pipes, valves, words):
    made = [heads(tag, to, D, N) for tag, (to, D, N) in pipes.items()]
    with pytest.raises(InputError, match=words):
        Tree(made, valves, 1e5)


def test_what_else_is_refused():
    gas, tree = Adiabatic(350.0, 30.0, 1.2), network()
    with pytest.raises(InputError, match="stands twice"):
        Tree([heads("A", None, 0.3, 1), heads("A", None, 0.3, 1)], {}, 1e5)
    for bad, words in (
        (lambda: Release(np.nan, gas), "must be one number"),
        (lambda: Release(-1.0, gas), "not negative"),
        (lambda: Release(1.0, Incompressible(800.0)), "Adiabatic or Expanding"),
        (lambda: solve(tree, {}), "at least one"),
        (lambda: solve(tree, {"e": {"PSV-9": Release(1.0, gas)}}), "PSV-9 is not in the tree"),
        (lambda: solve(tree, EVENTS, "warm"), "use 'adiabatic'"),
        (lambda: solve(tree, EVENTS).at("fire"), "event 'fire'"),
        (lambda: tree["X"], "pipe 'X'"),
        (lambda: Pipe("A", None, "line"), "must be a Line"),
        (lambda: mixed([0.0], [gas]), "nothing flows"),
    ):
        with pytest.raises(InputError, match=words):
            bad()


def test_a_load_found_at_set_pressure_is_not_judged():
    """Without overpressure there is no back pressure that a conventional valve could be held to."""
    load = ReliefLoad("x", 2.0, Gas(10e5 + 101325.0, 320.0, molar_mass=20.0, k=1.25))
    mounted = dict.fromkeys(GASES, Mounted(Device("conventional", 10e5), "3L4", 10e5))
    seen = header.face(network(), mounted, {"e": {"PSV-1": load}}, 101325.0).facings["PSV-1", "e"]
    assert seen.holds is None and "at set pressure" in seen.against[0]
