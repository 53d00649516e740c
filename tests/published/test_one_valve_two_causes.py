"""A valve sized for one cause does not cover another by itself."""

from relieflib.causes import hydraulic_expansion as he
from relieflib.devices import Device
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.properties import State
from relieflib.set_pressure import relieving_pressure
from relieflib.sizing import ReliefLoad, size


def test_a_thermal_valve_covers_nothing_else():
    # common practice, no source, with API equations on both sides: half-full propane drum, 38.2 m2
    # wetted; 21 % fire against the sun on 20 m2: hundreds of times the area
    P1 = relieving_pressure(17.25e5)
    thermal = size(he.relief_load(1040.0 * 20, Liquid(P1, 500.0), 0.00288, 2700.0), Device())
    fire_P = relieving_pressure(17.25e5, fire=True)
    latent = State("Propane", fire_P, quality=1.0).latent_heat
    fire_gas = Gas(fire_P, 334.8, molar_mass=44.1, k=1.13, Z=0.8)
    fire = size(ReliefLoad("fire", 43_200 * 38.191**0.82 / latent, fire_gas), Device())
    assert fire.required_area > 300 * thermal.required_area
