"""Causes of the gas cooler E-101."""

from relieflib.causes import tube_rupture
from relieflib.demo.common import of_file
from relieflib.properties import State
from relieflib.study import recomputing


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
