"""Causes of the gas cooler E-101."""

from relieflib.causes import tube_rupture
from relieflib.demo.common import of_file
from relieflib.properties import State
from relieflib.study import recomputing

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
    return recomputing.seen_by(plant, "PSE-102", load)


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
    return of_file(plant, "E-101")
