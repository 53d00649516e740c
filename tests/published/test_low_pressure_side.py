"""Vessels that liquid or high pressure comes into, at sea level and on a plateau.

Every expected number is worked in the test from the plant's own file (by hand, as its comments
say), with general libraries or by direct integration; none is taken from the functions tested.
"""

import fluids.control_valve as general
import numpy as np
import pytest

from relieflib import demo
from relieflib.causes import control_valve_opens as cvo, overfilling as of, reverse_flow as rf
from relieflib.demo import drums, events
from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.plant import demo_plant_path, load_plant
from relieflib.properties import State

BAR, HOUR, R, G0 = 1e5, 3600.0, 8314.462618, 9.80665
SITES = {"101.325 kPaa": 1.01325, "84 kPaa": 0.84}  # as the file says it, and in bar


@pytest.fixture(scope="module", params=SITES)
def site(request, tmp_path_factory):
    """A copy of the demo plant at another site, with the air's pressure in bar."""
    text = demo_plant_path().read_text(encoding="utf-8")
    path = tmp_path_factory.mktemp("site") / "plant.toml"
    path.write_text(text.replace("101.325 kPaa", request.param), encoding="utf-8")
    return load_plant(path), SITES[request.param]


# ---------------------------------------------------------------- overfilling
def gas_density(air):
    """Flash gas of V-102 at 1.1 x 21 barg, 43 °C, M 10.74, Z 0.997, from the plant's file."""
    return (23.1 + air) * BAR * 10.74 / (0.997 * R * 316.15)


def test_full_separator_relieves_gas_and_liquid(site):
    # streams 10 and 9 at their most: 17 000 kg/h liquid of 616 kg/m3, 200 kg/h gas
    plant, air = site
    load = drums.fills_up(plant)
    gas, liquid = 200 / gas_density(air), 17_000 / 616.0
    assert load.mass_flow * HOUR == pytest.approx(17_200)
    assert load.stream.omega == pytest.approx(gas / (gas + liquid) / 1.288, rel=1e-6)
    assert load.stream.density == pytest.approx(17_200 / (gas + liquid), rel=1e-6)
    assert {s.name: s.value for s in load.working}["void_fraction"] == pytest.approx(
        {1.01325: 0.423, 0.84: 0.425}[air], abs=5e-4
    )


def choked_flux(P, gas_volume, liquid_volume, n):
    """Greatest flux of gas (P v^n constant) carried with liquid, by direct integration."""
    p = np.linspace(P, 0.1 * P, 40_001)
    v = gas_volume * (P / p) ** (1 / n) + liquid_volume
    work = np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * (p[:-1] - p[1:]))])
    return (np.sqrt(2 * work) / v).max()


def test_area_of_the_full_separator(site):
    # between gas that expands alone (k 1.288) and gas that the liquid keeps warm (isothermal);
    # balanced valve, API 520-I (2020), 5.3: Kd 0.85, no loss by 0.05 barg of 21 barg
    plant, air = site
    x = 200 / 17_200
    volumes = x / gas_density(air), (1 - x) / 616.0
    low, high = (
        17_200 / HOUR / 0.85 / choked_flux((23.1 + air) * BAR, *volumes, n) for n in (1.288, 1.0)
    )
    found = demo.cases(plant, "V-102")["overfilling"]
    assert low < found.required_area < high < 1.09 * low
    assert found.letter == "G"  # API 526: 0.503 in2 = 324.5 mm2; F has 198.1 mm2
    assert 198.1e-6 < low and high < 324.5e-6
    # liquid alone, Kd 0.65, would have said F: the unsafe side
    alone = 17_200 / HOUR / 0.65 / np.sqrt(2 * 616.0 * (23.1 - 0.05) * BAR)
    assert alone < 198.1e-6


def test_mixed_load_limits():
    gas = Gas(10e5, 300.0, molar_mass=24.94, k=1.3)
    rho = 10e5 * 24.94 / (R * 300.0)
    # little gas: almost the liquid's own density; much gas: almost the gas's
    assert of.mixed_load(4.5, 1e-9, gas, 600.0).stream.density == pytest.approx(600.0, rel=1e-5)
    assert of.mixed_load(1e-9, 4.5, gas, 600.0).stream.density == pytest.approx(rho, rel=1e-5)
    # what leaves below is liquid: all of it gone, gas alone is left, void 1 and omega 1/k
    rest = of.mixed_load(4.5, 0.05, gas, 600.0, outflow=9.0)
    assert rest.mass_flow == pytest.approx(0.05) and rest.stream.omega == pytest.approx(1 / 1.3)
    for line in of.mixed_load(4.5, 0.05, gas, 600.0, outflow=1.0).working:
        assert line.evaluate() == pytest.approx(line.value, rel=1e-9)
    with pytest.raises(InputError, match="gas_inflow"):
        of.mixed_load(4.5, 0.0, gas, 600.0)
    with pytest.raises(InputError, match="comes along"):
        of.mixed_load(4.5, 0.1, Liquid(10e5, 600.0), 600.0)


def test_bottom_of_a_full_vessel(site):
    # V-102: valve 3.0 m above the bottom, 616 kg/m3: 0.18123 bar; MAWP 21 barg, so 23.1 barg while
    # it relieves. Nothing deducted: 0.181 bar above; the head of the full shell (1.4 m, 0.0846
    # bar) deducted: still the 1.6 m of riser, 0.0967 bar
    plant, air = site
    P1 = plant.relieving_pressure("V-102")
    bottom = of.bottom_pressure(P1, 616.0, 3.0)
    assert bottom / BAR == pytest.approx(23.1 + air + 0.18123, abs=5e-5)
    for deducted, above in ((0.0, 0.18123), (616.0 * G0 * 1.4, 0.09665)):
        limit = of.bottom_limit(21e5, deducted, atmosphere=plant.atmosphere)
        assert (bottom - limit) / BAR == pytest.approx(above, abs=5e-5)
        top = of.highest_set_pressure(21e5, 616.0, 3.0, deducted_head=deducted)
        assert top / BAR == pytest.approx(21 - above, abs=5e-5)
    # never above MAWP, which holds at the top whatever the bottom could take
    assert of.highest_set_pressure(21e5, 616.0, 3.0, deducted_head=9e5) == 21e5
    # 3 psi where 10 % is less (ASME BPVC XIII): MAWP 20 psig, 23 psig allowed
    assert of.bottom_limit(20 * 6894.757, atmosphere=1e5) == pytest.approx(1e5 + 23 * 6894.757)


def test_drain_is_no_place_for_propane():
    # steam tables' way: h after = h before. Propane at 43 °C, 20 bara to 1.5 bara (0.5 barg):
    # independent values by the same first law from saturated enthalpies of the lower pressure
    before = State("Propane", 20e5, temperature=316.15)
    down = State("Propane", 1.51325e5, enthalpy=before.enthalpy)
    h_l, h_v = (State("Propane", 1.51325e5, quality=q).enthalpy for q in (0.0, 1.0))
    assert down.quality == pytest.approx((before.enthalpy - h_l) / (h_v - h_l), abs=1e-6)
    # Perry's/ASHRAE-type rounding, from memory: cp 2.6 kJ/(kg K) x 76 K over 415 kJ/kg, 0.47
    assert down.quality == pytest.approx(2.6 * 76 / 415, abs=0.02)
    assert down.temperature - 273.15 == pytest.approx(-33.0, abs=0.5)


# ---------------------------------------------------------------- level lost
def test_slug_against_room():
    # by hand: V-101 1.2 m vertical, bottom head pi D^3/24 = 0.2262 m3; V-102 1.4 m x 4.2 m with two
    # such heads, 6.4654 + 2 x 0.3592 m3; level 1.1 m leaves a segment of 0.24191 m2 x 4.2 m and
    # half a spherical cap, pi h^2 (3R - h)/6 with h 0.3 m, 0.08482 m3
    plant = load_plant()
    slug = {"normal_level": np.pi * 0.36 * 1.2 + 0.2262, "high_level": np.pi * 0.36 * 2.0 + 0.2262}
    room = {"normal_level": 7.1838 / 2, "high_level": 0.24191 * 4.2 + 0.08482}
    for a, b, ratio in (
        ("normal_level", "normal_level", 0.44),
        ("high_level", "normal_level", 0.69),
        ("normal_level", "high_level", 1.44),
        ("high_level", "high_level", 2.26),
    ):
        found = drums.slug(plant, getattr(plant["V-101"], a), getattr(plant["V-102"], b))
        assert found == pytest.approx(slug[a] / room[b], rel=2e-4)
        assert found == pytest.approx(ratio, abs=5e-3)


def test_levels_that_keep_the_slug_small(tmp_path):
    # 2.488 m3 of V-101 at its high level fit above 0.87 m of V-102: an alarm at 0.85 m rules the
    # full drum out, one at 0.90 m does not
    text = demo_plant_path().read_text(encoding="utf-8")
    for alarm, full in (("0.85 m", False), ("0.90 m", True)):
        path = tmp_path / "plant.toml"
        changed = text.replace('high_level = "1.1 m"', f'high_level = "{alarm}"')
        assert changed != text
        path.write_text(changed, encoding="utf-8")
        plant = load_plant(path)
        high, low = (plant[tag].high_level for tag in ("V-101", "V-102"))
        assert (drums.slug(plant, high, low) > 1.0) == full


def choked_liquid(top):
    """m3/s through Kv 10, FL 0.85, 607 kg/m3, 61.0 bara, Pc 31.9 bara, by fluids."""
    most = general.control_valve_choke_P_l(min(61e5, top), 31.9e5, 0.85, P1=top)
    return 10.0 * np.sqrt((top - most) / BAR * 999.1 / 607.0) / HOUR


def test_level_valve_wide_open_in_liquid(site):
    # liquid chokes: 73.4 m3/h at 79.2 barg, 55.7 at 60 barg; it pushes out its own volume of gas
    plant, air = site
    flash = 165.0 / 15_605.0
    for top_gauge, by_hand in ((79.2, 73.4), (60.0, 55.7)):
        top = (top_gauge + air) * BAR
        q = choked_liquid(top)
        if air > 1:
            assert q * HOUR == pytest.approx(by_hand, abs=0.06)
        W = 607.0 * q
        with pytest.warns(ValidityWarning, match="critical"):
            source = Liquid(top, 607.0, saturation_pressure=min(61e5, top))
            load = cvo.filling_load(source, drums.low_gas(plant), 10.0, 0.85, 31.9e5, flash, 616.0)
        pushed = (1 - flash) * W / 616.0 * gas_density(air)
        assert load.mass_flow == pytest.approx(flash * W + pushed, rel=1e-5)
        assert drums.liquid_in(plant, top).mass_flow == pytest.approx(load.mass_flow, rel=1e-12)
        # LV-102 still passes its 15 440 kg/h: so much less is pushed out
        rest = drums.liquid_in(plant, top, outflow=15_440 / HOUR)
        less = 15_440 / HOUR / 616.0 * gas_density(air)
        assert load.mass_flow - rest.mass_flow == pytest.approx(less, rel=1e-6)
        full = drums.full_and_liquid_in(plant, top)
        assert full.mass_flow == pytest.approx(W, rel=1e-5)


def test_gas_pushes_a_full_separator_out(site):
    # choked gas by the printed constant, W = N8 C P1 Y sqrt(x M/(T Z)), N8 110 (0.5 %), x 0.669,
    # Y 2/3; then volume for volume, rich gas of M 5.86 at 313.15 K against 616 kg/m3
    plant, air = site
    cases = demo.cases(plant, "V-102")
    W = 110 * 10 * (79.2 + air) * 2 / 3 * np.sqrt(0.669 * 5.86 / (313.15 * 1.024))
    assert cases["gas blow-by"].load.mass_flow * HOUR == pytest.approx(W, rel=6e-3)
    rho = (23.1 + air) * BAR * 5.86 / (R * 313.15)
    pushed = cases["gas blow-by, V-102 full"]
    ratio = pushed.load.mass_flow / cases["gas blow-by"].load.mass_flow
    assert ratio == pytest.approx(616.0 / rho, rel=1e-6)
    # some 742 t/h; T of API 526, 26 in2, would hold it, the installed J of 1.287 in2 does not
    assert pushed.load.mass_flow * HOUR == pytest.approx(742e3, rel=1e-2)
    assert 1.287 * 0.0254**2 < pushed.required_area < 26 * 0.0254**2


def test_events_count_a_full_separator_for_the_drum():
    plant = load_plant()
    loads = events.loads_of(plant, events.consequences(plant))
    one = "air at one valve LV-102"
    assert events.flows(loads, liquid=True)[one]["PSV-104"] == pytest.approx(17_200 / HOUR)
    assert one not in events.flows(loads)


# ---------------------------------------------------------------- reverse flow
def test_leaks_of_the_feed_pump(site):
    # one opening of a tenth of 49.25 mm, C 0.6, 646 kg/m3 from 79.2 barg to 5.5 barg: the air of
    # the site cancels out of a liquid's flow
    plant, _ = site
    load = demo.loads_of(plant, "V-100")["reverse flow, liquid"]
    by_hand = 0.6 * np.pi / 4 * 0.004925**2 * np.sqrt(2 * 646.0 * 73.7e5)
    assert load.mass_flow == pytest.approx(by_hand, rel=1e-9)


def test_valves_in_series():
    # 1/C^2 adds: 3-4-5 triangle, 40 and 30 give 24; two alike give C/sqrt(2); one alone itself
    assert rf.series_coefficient([40.0, 30.0]) == pytest.approx(24.0)
    assert rf.series_coefficient([10.0, 10.0]) == pytest.approx(10 / np.sqrt(2))
    assert rf.series_coefficient([7.0]) == rf.series_coefficient(7.0) == pytest.approx(7.0)
    # the same flow through both, drop by drop: Kv by definition, m3/h of water at 1 bar
    up, q = Liquid(60e5, 999.1, saturation_pressure=2e3), 24 * np.sqrt(9.0) / HOUR
    load = rf.open_load(up, Liquid(51e5, 999.1), rf.series_coefficient([40.0, 30.0]), FL=1.0,
                        critical_pressure=22.12e6)  # fmt: skip
    assert load.mass_flow == pytest.approx(q * 999.1)
    drops = [(q * HOUR / C) ** 2 for C in (40.0, 30.0)]
    assert sum(drops) == pytest.approx(9.0)
    with pytest.raises(InputError, match="flow_coefficients"):
        rf.series_coefficient([10.0, 0.0])


def test_nan_and_arrays_pass():
    gas, nan = Gas(10e5, 300.0, molar_mass=24.94, k=1.3), float("nan")
    several = of.mixed_load(np.array([4.5, nan, 3.0]), 0.05, gas, 600.0)
    for i, W in ((0, 4.5), (2, 3.0)):
        one = of.mixed_load(W, 0.05, gas, 600.0)
        assert several.mass_flow[i] == one.mass_flow
        assert several.stream.omega[i] == one.stream.omega
    assert np.isnan(several.mass_flow[1]) and np.isnan(several.stream.mass_flux(1e5)[1])
    steps = cvo.filling_steps(np.array([12.0, nan]), 0.01, 600.0, 10.0)
    assert steps[-1].value[0] == pytest.approx(0.12 + 11.88 / 60) and np.isnan(steps[-1].value[1])
    assert np.isnan(of.bottom_limit(nan)) and np.isnan(of.highest_set_pressure(nan, 600.0, 3.0))
    assert np.isnan(rf.series_coefficient([10.0, nan]))
    with pytest.raises(InputError, match="from 0 to 1"):
        cvo.filling_steps(12.0, 1.01, 600.0, 10.0)
    with pytest.raises(InputError, match="an overfilling"):
        cvo.filling_load(Liquid(20e5, 600.0), Liquid(10e5, 600.0), 10.0, 0.9, 30e5, 0.0, 600.0)


def test_time_to_fill_a_shut_in_suction():
    # definition of compressibility: 0.1 m3 x 1e-9 1/Pa x 20 bar = 0.2 L at 1 L/s
    assert rf.time_to_pressure(0.1, 1e-9, 1e5, 21e5, 1e-3) == pytest.approx(0.2)
    assert rf.time_to_pressure(0.1, 1e-9, 21e5, 1e5, 1e-3) == 0.0
    assert np.isnan(rf.time_to_pressure(0.1, 1e-9, 1e5, np.nan, 1e-3))
