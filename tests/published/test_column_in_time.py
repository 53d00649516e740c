"""A column that boils away: balances of mass and heat worked by hand, properties from CoolProp.

Source of the balances: conservation alone; Dalton's law for two vapours over one liquid.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from relieflib.causes.shared.carried_vapor import CarriedVapor
from relieflib.causes.shared.column_in_time import Column, Stage

P, T = 19.8e5 + 101_325, 316.15
LIGHT, HEAVY = "n-Propane", "n-Hexane"
M_LIGHT, M_HEAVY = 44.0956, 86.1754
TRAYS, SUMP, DRUM = 300.0, 900.0, 1000.0


def latent(fluid, pressure=P):
    return PropsSI("H", "P", pressure, "Q", 1, fluid) - PropsSI("H", "P", pressure, "Q", 0, fluid)


def column(**changed):
    good = dict(pressure=P, light=LIGHT, heavy=HEAVY, tray_liquid=TRAYS, sump_liquid=SUMP,
                drum_liquid=DRUM, reflux=1.25, reflux_temperature=T)  # fmt: skip
    return Column(**good | changed)


def spells(stages):
    return [(s.start, s.end, s.light_flow, s.heavy_flow) for s in stages]


def by_hand(heat, reflux, cold):
    """Temperature and hexane flow at which a heat boils the reflux, and hexane with it."""

    def hexane(hot):
        own = PropsSI("P", "T", hot, "Q", 1, HEAVY)
        return reflux * own / (P - own) * M_HEAVY / M_LIGHT

    def left(hot):
        gas = PropsSI("H", "P", P - PropsSI("P", "T", hot, "Q", 1, HEAVY), "T", hot, LIGHT)
        over = PropsSI("H", "T", hot, "Q", 1, HEAVY) - PropsSI("H", "P", P, "Q", 0, HEAVY)
        return reflux * (gas - cold) + hexane(hot) * over - heat

    hot = brentq(left, 340.0, PropsSI("T", "P", P, "Q", 0, HEAVY) - 0.01)
    return hot, hexane(hot)


def test_without_reflux_the_light_liquid_boils_away_then_the_heavy():
    heat = 1.0e6
    run = column(reflux=0.0, drum_liquid=0.0).stages(heat)
    light, heavy = heat / latent(LIGHT), heat / latent(HEAVY)
    dry, end = TRAYS / light, TRAYS / light + SUMP / heavy
    assert spells(run) == [
        pytest.approx(one, rel=1e-4)
        for one in ((0, dry, light, 0), (dry, end, 0, heavy), (end, np.inf, 0, 0))
    ]
    assert [s.stream is None for s in run] == [False, False, True]
    assert run[0].stream.fluid == LIGHT and run[1].stream.fluid == HEAVY
    assert run[2].words == "nothing, boiled dry"


def test_reflux_that_the_heat_cannot_boil_keeps_the_trays_wet():
    # 1.25 kg/s come back, less than that boils: the light liquid lasts as long as it is there
    heat = 1.0 * latent(LIGHT)
    one = column()
    assert one.together(heat) is None and column(reflux=0.0).together(1e6) is None
    run = one.stages(heat)
    end = (TRAYS + 1.25 * DRUM / 1.25) / 1.0  # all that trays and drum hold, at 1 kg/s
    assert run[0].end == pytest.approx(end, rel=1e-3) and run[0].light_flow == pytest.approx(1.0)
    assert run[1].start == run[0].end and run[1].light_flow == 0.0
    assert run[1].heavy_flow == pytest.approx(heat / latent(HEAVY), rel=1e-4)


def test_trays_that_lose_more_than_comes_back_run_dry_and_hexane_goes_with_the_reflux():
    heat = 1.6e6
    sump = 9000.0  # outlasts the drum
    run = column(sump_liquid=sump).stages(heat)
    light = heat / latent(LIGHT)
    dry = TRAYS / (light - 1.25)
    assert run[0].end == pytest.approx(dry, rel=1e-4)
    cold = PropsSI("H", "P", P, "T", T, LIGHT)
    hot, hexane = by_hand(heat, 1.25, cold)
    assert run[1].start == run[0].end and run[1].light_flow == 1.25
    assert run[1].heavy_flow == pytest.approx(hexane, rel=1e-3)
    assert run[1].stream.temperature == pytest.approx(hot, abs=0.02)
    assert run[1].mass_flow == pytest.approx(1.25 + hexane, rel=1e-3)
    end = DRUM / 1.25
    assert run[1].end == pytest.approx(end, rel=1e-3)
    left = sump - hexane * (end - dry)
    heavy = heat / latent(HEAVY)
    assert run[2].heavy_flow == pytest.approx(heavy, rel=1e-4) and left > 0
    assert run[2].end == pytest.approx(end + left / heavy, rel=1e-3)


def test_a_drum_that_is_empty_first_ends_the_wet_trays():
    # 600 kg on the trays, 125 kg in the drum: the drum is empty after 100 s, the trays later
    heat = 1.6e6
    run = column(tray_liquid=600.0, drum_liquid=125.0).stages(heat)
    light = heat / latent(LIGHT)
    assert 600.0 / (light - 1.25) > 100.0
    assert run[0].end == pytest.approx((600.0 + 125.0) / light, rel=1e-4)
    assert [s.light_flow > 0 for s in run] == [True, False, False]


def test_a_sump_that_is_empty_first_leaves_the_reflux_alone():
    heat = 1.6e6
    run = column(sump_liquid=30.0).stages(heat)
    hexane = by_hand(heat, 1.25, PropsSI("H", "P", P, "T", T, LIGHT))[1]
    dry = TRAYS / (heat / latent(LIGHT) - 1.25)
    assert run[1].end == pytest.approx(dry + 30.0 / hexane, rel=1e-3)
    assert spells(run)[2] == pytest.approx((run[1].end, DRUM / 1.25, 1.25, 0.0))
    assert run[2].stream.fluid == LIGHT and run[3].start == DRUM / 1.25


def test_reflux_hotter_than_its_boiling_point_at_relieving_pressure_brings_its_liquid_s_heat():
    low = 11e5 + 101_325  # propane boils at 34 °C there, the drum stands at 43 °C
    heat, one = 2.6e6, column(pressure=low)
    assert PropsSI("T", "P", low, "Q", 0, LIGHT) < T
    mixed = one.together(heat)
    own = PropsSI("P", "T", mixed.temperature, "Q", 1, HEAVY)
    gas = PropsSI("H", "P", low - own, "T", mixed.temperature, LIGHT)
    gas -= PropsSI("H", "T", T, "Q", 0, LIGHT)
    over = PropsSI("H", "T", mixed.temperature, "Q", 1, HEAVY) - PropsSI(
        "H", "P", low, "Q", 0, HEAVY
    )
    carried = own / (low - own) * M_HEAVY / M_LIGHT
    assert mixed.carried == pytest.approx(carried, rel=1e-4)
    assert 1.25 * (gas + carried * over) == pytest.approx(heat, rel=1e-4)


def test_no_heat_boils_nothing():
    run = column().stages(0.0)
    assert run[0].end == np.inf and run[0].mass_flow == 0.0


@pytest.mark.parametrize("light, heavy", [(LIGHT, HEAVY), ("CarbonDioxide", LIGHT)])
def test_the_liquid_that_needs_more_area_governs(light, heavy):
    # area of each watt is 1/(latent heat x flux); flux of a perfect gas goes with sqrt(M/T). Of
    # propane and carbon dioxide the one has the smaller latent heat, the other the smaller h/G
    fluid, heat, _ = column(light=light, heavy=heavy).governing
    share = {f: latent(f) * np.sqrt(PropsSI("M", f) / PropsSI("T", "P", P, "Q", 1, f))
             for f in (light, heavy)}  # fmt: skip
    assert fluid == min(share, key=share.get) == heavy
    assert heat == pytest.approx(latent(heavy), rel=1e-6)


def test_a_spell_s_load():
    run = column(reflux=0.0).stages(1e6)
    load = run[1].load("loss_of_cooling")
    assert load.mass_flow == run[1].heavy_flow and load.stream is run[1].stream
    assert load.cause == "loss_of_cooling" and load.working[-1].value == load.mass_flow
    assert Stage("x", 0.0, 1.0, 2.0, 3.0).mass_flow == 5.0
    assert run[2].load("loss_of_cooling") is None


def test_two_vapours_over_one_liquid_are_averaged_by_mole():
    hot = 450.0
    own = PropsSI("P", "T", hot, "Q", 1, HEAVY)
    y = (P - own) / P
    found = CarriedVapor(LIGHT, HEAVY, P, hot)
    assert found.fraction == pytest.approx(y, rel=1e-6)
    assert found.carried == pytest.approx((1 - y) / y * M_HEAVY / M_LIGHT, rel=1e-4)
    states = (LIGHT, P - own, {"T": hot}), (HEAVY, own, {"Q": 1})
    M, k, Z = np.transpose([
        [1e3 * PropsSI("M", fluid),
         1 / (1 - 8.314462618 / PropsSI("M", fluid) / PropsSI("CP0MASS", "T", hot, "Q", 1, HEAVY))
         if fluid == HEAVY else
         1 / (1 - 8.314462618 / PropsSI("M", fluid) / PropsSI("CP0MASS", "P", p, "T", hot, fluid)),
         PropsSI("Z", "P", p, *next(iter(at.items())), fluid)]
        for fluid, p, at in states
    ])  # fmt: skip
    stream, share = found.stream, np.array([y, 1 - y])
    assert stream.pressure == P and stream.temperature == hot
    for given, both in ((stream.molar_mass, M), (stream.k, k), (stream.Z, Z)):
        assert given == pytest.approx(share @ both, rel=1e-4)
