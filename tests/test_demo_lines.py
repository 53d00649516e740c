"""The blocked-in line of the demo plant: liquid where it stands, and what the sun does to it."""

import pytest
from CoolProp.CoolProp import PropsSI

from relieflib.causes import hydraulic_expansion as he
from relieflib.causes.shared import boiling
from relieflib.plant import demo_plant_path, load_plant


def plant_at(atmosphere, folder):
    text = demo_plant_path().read_text(encoding="utf-8")
    path = folder / "plant.toml"
    path.write_text(text.replace("101.325 kPaa", f"{atmosphere / 1e3:g} kPaa"), encoding="utf-8")
    return load_plant(path)


@pytest.mark.parametrize("atmosphere", [101_325.0, 84_000.0])
def test_the_line_is_full_of_liquid_when_it_is_shut_in(atmosphere, tmp_path):
    # plain calls of CoolProp: 43 °C, vapour pressure 14.667 bara, below 19.0 barg on both sites;
    # behind LV-104, at 13.2 barg, the same propane boils
    plant = plant_at(atmosphere, tmp_path)
    line, valve = plant["L-105"], plant["PSV-108"]
    Ps = PropsSI("P", "T", 43 + 273.15, "Q", 0, "Propane")
    assert Ps == pytest.approx(14.667e5, rel=1e-4)
    P = plant.absolute(line.operating_pressure_gauge)
    assert P == 19e5 + atmosphere and Ps < P
    assert Ps > plant.absolute(plant["LV-104"].downstream_pressure_gauge)
    assert plant[line.downstream].upstream_pressure_gauge == line.operating_pressure_gauge
    # shut in at constant density it reaches set at 44.6 to 44.7 °C, and at the hottest the sun
    # makes it, 60 °C, the vapour pressure of 21.17 bara is still below set: liquid leaves
    density = PropsSI("D", "T", 43 + 273.15, "P", P, "Propane")
    T = boiling.heated_temperature("Propane", plant.absolute(valve.set_pressure_gauge), density)
    assert PropsSI("P", "T", T, "D", density, "Propane") == pytest.approx(26e5 + atmosphere)
    assert 44.5 < T - 273.15 < 44.8
    # behind LV-104 it is two-phase, and at set pressure all but a bubble or none: some 72 °C
    low = plant.absolute(plant["LV-104"].downstream_pressure_gauge)
    h = PropsSI("H", "T", 43 + 273.15, "P", P, "Propane")
    density = PropsSI("D", "H", h, "P", low, "Propane")
    T = boiling.heated_temperature("Propane", plant.absolute(valve.set_pressure_gauge), density)
    assert PropsSI("P", "T", T, "D", density, "Propane") == pytest.approx(
        26e5 + atmosphere, rel=1e-6
    )
    assert 71.5 < T - 273.15 < 72.5
    hottest = PropsSI("P", "T", 60 + 273.15, "Q", 0, "Propane")
    assert hottest == pytest.approx(21.17e5, rel=1e-3)
    assert not he.relieves_vapor(hottest, plant.absolute(valve.set_pressure_gauge))


def test_vapour_pressure_is_held_against_set_and_not_against_relieving_pressure():
    # propane at 60 °C, 21.17 bara, under a valve set at 19.5 barg (20.51 bara): at set it boils,
    # though relieving pressure, 22.46 bara, lies above the vapour pressure
    hottest = PropsSI("P", "T", 60 + 273.15, "Q", 0, "Propane")
    opens, relieves = 19.5e5 + 101_325, 1.1 * 19.5e5 + 101_325
    assert opens < hottest < relieves and he.relieves_vapor(hottest, opens)
