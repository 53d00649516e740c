"""Causes of the gas cooler E-101."""

from relieflib.causes import hydraulic_expansion, tube_rupture
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.properties import State

UNSIZED = {"E-101": {
    "valve opened by mistake": "water side shut in while the gas side runs: hydraulic expansion",
    "exterior fire": "0.9 m3 of water open to its return, gas open to V-101; shut in it would "
    "boil, with far less to relieve than tube rupture",
    "loss of cooling or reflux": "hot gas goes on to V-101: looked at there",
    "accumulation of non-condensables": "its gas does not condense for the most part: as above",
    "power failure": "cooling-water pumps stop: hot gas to V-101, looked at there",
    "abnormal heat input": "clean surface cools better; the gas source holds its temperature",
    "volatile ingress": "water left in the tubes at start-up: drained by procedure; V-101 behind",
    "internal explosion or surge": "water hammer: slow valves, no relief valve is fast enough",
    "breathing and vacuum": "no steam in its shell: water side stands full",
}}  # fmt: skip


def cooler(plant):
    """Loads of E-101 by cause in words."""
    item, off_gas = plant["E-101"], plant.fluids["off_gas"]
    P1 = plant.relieving_pressure("E-101")
    source = Gas(plant.absolute(item.hot_mawp_gauge), item.hot_out, molar_mass=off_gas.molar_mass,
                 k=off_gas.k,
                 Z=off_gas.Z)  # fmt: skip
    gas = Gas(P1, item.hot_out, molar_mass=off_gas.molar_mass, k=off_gas.k)
    warm = State("Water", P1, temperature=item.cold_out)
    water, bore = Liquid(P1, warm.density), item.tube_inside_diameter
    return {
        "tube rupture, gas": tube_rupture.relief_load(source, gas, bore),
        "tube rupture, water pushed out": tube_rupture.relief_load(
            source, water, bore, gas_density=gas.density
        ),
        "hydraulic expansion": hydraulic_expansion.relief_load(
            item.duty, water, warm.expansion_coefficient, warm.heat_capacity
        ),
    }
