"""Causes of the gas cooler E-101."""

from relieflib.causes import hydraulic_expansion, tube_rupture
from relieflib.lines import disk_line
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


def seen_by(plant, load):
    """PSE-102 with what its line leaves it for a load, and its back pressure [Pa].

    The disk leads to the flare, so its line is worked out, against the header at its highest.
    """
    back = plant.header_pressures("PSE-102")[1]
    burst, line = plant["PSE-102"].burst_pressure_gauge, disk_line.line_of(plant["PSE-102"])
    device = disk_line.device(load.stream, line, back, burst,
                              atmosphere=plant.atmosphere)  # fmt: skip
    return device, back


def open_return(plant):
    """Water that the return of E-101, open, carries away at relieving pressure [kg/s]."""
    item, water = plant["E-101"], plant.utilities["cooling_water"]
    normal = plant.absolute(item.cold_pressure_gauge)
    heat = State("Water", normal, temperature=item.cold_out).enthalpy - State(
        "Water", normal, temperature=item.cold_in).enthalpy  # fmt: skip
    return tube_rupture.carried_away(
        item.duty / heat, normal, plant.relieving_pressure("E-101"),
        plant.absolute(water.return_pressure_gauge))  # fmt: skip


def cooler(plant):
    """Loads of E-101 by cause in words.

    Gas alone asks for the same area wherever the tube breaks. Water is pushed out by the volume of
    the gas, which is largest at the hot end.
    """
    item, off_gas = plant["E-101"], plant.fluids["off_gas"]
    P1, high = plant.relieving_pressure("E-101"), plant.absolute(item.hot_mawp_gauge)
    of = dict(molar_mass=off_gas.molar_mass, k=off_gas.k)
    (cold, gas), (hot, light) = (
        (Gas(high, T, Z=off_gas.Z, **of), Gas(P1, T, **of)) for T in (item.hot_out, item.hot_in)
    )
    warm = State("Water", P1, temperature=item.cold_out)
    water, bore = Liquid(P1, warm.density), item.tube_inside_diameter
    return {
        "tube rupture, gas": tube_rupture.relief_load(cold, gas, bore),
        "tube rupture, water pushed out": tube_rupture.relief_load(
            hot, water, bore, gas_density=light.density
        ),
        "hydraulic expansion": hydraulic_expansion.relief_load(
            item.duty, water, warm.expansion_coefficient, warm.heat_capacity
        ),
    }
