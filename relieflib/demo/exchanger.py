"""The gas cooler E-101 beside its cases: what its open return carries away."""

from relieflib.causes import tube_rupture
from relieflib.properties import State


def open_return(plant):
    """Water that the return of E-101, open, carries away at relieving pressure [kg/s]."""
    item, water = plant["E-101"], plant.utilities["cooling_water"]
    normal = plant.absolute(item.cold_pressure_gauge)
    heat = State("Water", normal, temperature=item.cold_out).enthalpy - State(
        "Water", normal, temperature=item.cold_in).enthalpy  # fmt: skip
    return tube_rupture.carried_away(
        item.duty / heat, normal, plant.relieving_pressure("E-101"),
        plant.absolute(water.return_pressure_gauge))  # fmt: skip
