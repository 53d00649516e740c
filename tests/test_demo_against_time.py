"""The demo plant's vessels against time: loads at relieving pressure, times by hand."""

from functools import cache

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from relieflib import load_plant
from relieflib.demo import against_time
from relieflib.pressure_in_time.contents import Now
from relieflib.pressure_in_time.course import Case, follow

PLANT, R = load_plant(), 8314.46  # J/(kmol K)
GASES = ("control_valve_opens", "power_and_air_failure", "reverse_flow", "tank_breathing")
HEATS = ("exterior_fire_liquid", "loss_of_cooling", "abnormal_heat_input", "volatile_ingress")
OTHERS = ("hydraulic_expansion", "overfilling_with_room", "overfilling_full")


@cache
def setting(name):
    return getattr(against_time, name)(PLANT)


@cache
def bare(name):
    """Without a device, up to the limit."""
    s = setting(name)
    at = s.sizing.device.atmosphere + s.sizing.device.set_pressure_gauge
    case = Case(s.contents, s.source, limit_pressure=s.limit_pressure, set_pressure=at)
    return follow(case, 86_400.0, 60, stop_at_limit=True), at


def at_limit(s):
    held = s.contents.look(s.contents.start)
    now = Now(s.limit_pressure, held.temperature, held.mass, held.liquid, held.volume, 0.0)
    return s.source.at(now, switched=True)


@pytest.mark.parametrize("name", GASES)
def test_gas_at_relieving_pressure_is_the_load(name):
    # the loads are held against published values where their modules are
    assert at_limit(setting(name))[0] == pytest.approx(setting(name).sizing.load.mass_flow)


@pytest.mark.parametrize("name", HEATS)
def test_heat_at_relieving_pressure_is_the_load(name):
    s = setting(name)
    P, fluid = s.limit_pressure, s.contents.fluid
    latent = PropsSI("H", "P", P, "Q", 1, fluid) - PropsSI("H", "P", P, "Q", 0, fluid)
    assert at_limit(s)[2] / latent == pytest.approx(s.sizing.load.mass_flow, rel=1e-3)


def test_liquid_at_relieving_pressure_is_the_load():
    full, room = setting("overfilling_full"), setting("overfilling_with_room")
    inflow = PLANT.streams["10"].maximum_mass_flow
    for s in (full, room):
        assert at_limit(s)[1] * 616.0 == pytest.approx(inflow)  # density of the plant's file
    gas = PLANT.streams["9"].maximum_mass_flow  # both together are the mixture that is sized
    assert at_limit(room)[0] + inflow == pytest.approx(room.sizing.load.mass_flow)
    assert gas == at_limit(room)[0]


@pytest.mark.parametrize("name", ("power_and_air_failure", "tank_breathing"))
def test_gas_of_a_constant_flow_by_hand(name):
    # dP/dt = k Z R T_in W/(M V), whatever the vessel holds
    s, (found, at) = setting(name), bare(name)
    held, W = s.contents, s.sizing.load.mass_flow
    T_in = s.source.temperature
    rate = held.k * held.Z * R * T_in * W / (held.molar_mass * held.volume)
    assert found.time_to_set == pytest.approx((at - held.pressure) / rate, rel=1e-4)
    assert found.time_to_limit == pytest.approx((s.limit_pressure - held.pressure) / rate, rel=1e-4)


def test_volumes_by_hand():
    # cylinder and 2:1 heads of pi D^3/24 each; the tank flat: 8 m wide, 4 of its 10 m above liquid
    drum = setting("power_and_air_failure").contents.volume
    assert drum == pytest.approx(np.pi * (6.0 + 4.0 / 6.0), rel=1e-6)
    assert setting("tank_breathing").contents.volume == pytest.approx(np.pi * 16.0 * 4.0)


@pytest.mark.parametrize("name", HEATS)
def test_a_shut_boiling_vessel_by_its_equation_of_state(name):
    # nothing leaves: what the contents took up over what heats them, least and most; by CoolProp
    s, (found, at) = setting(name), bare(name)
    held = s.contents
    rho = held.mass / held.volume
    u = [PropsSI("U", "D", rho, "P", P, held.fluid) for P in (held.pressure, at)]
    took = held.mass * (u[1] - u[0])
    heats = [s.source.heat(Now(P, 0.0, 0.0, x, 0.0, 0.0)) for P in (held.pressure, at)
             for x in (found.liquid.min(), found.liquid.max())]  # fmt: skip
    assert took / max(heats) * 0.999 <= found.time_to_set <= took / min(heats) * 1.001


def test_a_full_vessel_by_the_compressibility_of_coolprop():
    # overfilled: dP = dV/(V kappa_S); blocked in: dP/dt = alpha Q/(rho cp)/(V (kappa_S + wall))
    s, (found, at) = setting("overfilling_full"), bare("overfilling_full")
    T, P = s.contents.temperature, s.contents.pressure
    rho, c = (PropsSI(n, "P", P, "T", T, "n-Hexane") for n in ("D", "A"))
    q = PLANT.streams["10"].maximum_mass_flow / 616.0
    # density of the feed is not that of hexane: 4 % of the difference of kappa_T and kappa_S
    by_hand = (at - P) * s.contents.volume / (rho * c * c) / q
    assert found.time_to_set == pytest.approx(by_hand, rel=0.03)
    s, (found, at) = setting("hydraulic_expansion"), bare("hydraulic_expansion")
    T, P = s.contents.temperature, 0.5 * (s.contents.pressure + at)
    alpha, rho, cp, c = (PropsSI(n, "P", P, "T", T, "Propane") for n in
                         ("isobaric_expansion_coefficient", "D", "C", "A"))  # fmt: skip
    line, sun = PLANT["L-105"], s.source.heat(None)
    # thin-walled ring: dV/V = 2 times dD/D = dP D/(t E), mean diameter; ends free
    wall = (line.outside_diameter - line.inside_diameter) / 2.0
    give = 1.0 / (rho * c * c) + (line.inside_diameter + wall) / (wall * 207e9)
    rate = alpha * sun / (rho * cp) / (s.contents.volume * give)
    assert found.time_to_set == pytest.approx((at - s.contents.pressure) / rate, rel=0.02)


def test_liquid_runs_back_first_then_gas():
    # API 521 leak through a tenth of the bore: C 0.6, sqrt(2 rho dP); the slug over it, by hand
    s, (found, _) = setting("reverse_flow"), bare("reverse_flow")
    top, start = PLANT.relieving_pressure("V-101"), s.contents.pressure
    q = 0.6 * np.pi / 4 * 0.004925**2 * np.sqrt(2 * (top - start) / 646.0)
    slug = np.pi * 0.6**2 * 1.2 + np.pi * 1.2**3 / 24  # 1.2 m wide, 1.2 m and a 2:1 head
    assert s.source.switch_time == pytest.approx(slug / q, rel=1e-3)
    # up to then the gas is a piston's: P V^k
    pressed = (1.0 - slug / (s.contents.volume - s.contents.liquid_volume)) ** -s.contents.k
    there = np.interp(s.source.switch_time, found.time, found.pressure)
    assert there == pytest.approx(start * pressed, rel=0.02)


def test_a_valve_as_large_as_it_must_be_keeps_the_limit():
    from relieflib.pressure_in_time.device import Relief

    for name in (*HEATS, "hydraulic_expansion", "reverse_flow", "tank_breathing"):
        s, (found, at) = setting(name), bare(name)
        span = 4.0 * found.time_to_limit
        for part, held in ((1.0, True), (0.3, False)):
            valve = Relief.of_sizing(s.sizing, at, part, "pop")
            case = Case(s.contents, s.source, valve, limit_pressure=s.limit_pressure)
            run = follow(case, span, most_cycles=12)
            assert (run.time_to_limit == np.inf) is held, (name, part)


def test_hot_gas_into_a_colder_vessel_asks_for_a_little_more():
    # what leaves cold has less room than what comes in hot: by T_in/T of the mass, sqrt of it in
    # area; at most the root of 393 over the 311 K that the vessel begins at
    from relieflib.pressure_in_time.device import Relief

    s, (_, at) = setting("power_and_air_failure"), bare("power_and_air_failure")
    over = {}
    for part in (1.0, (393.15 / 311.15) ** 0.5):
        valve = Relief.of_sizing(s.sizing, at, part, "proportional")
        case = Case(s.contents, s.source, valve, limit_pressure=s.limit_pressure)
        over[part] = follow(case, 300.0).peak / s.limit_pressure
    assert 1.0 < over.pop(1.0) < 1.05 and next(iter(over.values())) < 1.0
