"""The drums beside their cases, which stand in the plant's file: what fills V-102, and how far."""

from relieflib.causes import control_valve_opens
from relieflib.demo.common import flash_gas, of_case, pressures, shell

_WIDE_OPEN = "shared.LV-101 wide open in liquid.source"


def slug(plant, high_level, low_level):
    """Liquid of V-101 over the room in V-102, by their levels at the start [m].

    Above 1 V-102 is full of liquid when the gas arrives.
    """
    high, low = shell(plant["V-101"]), shell(plant["V-102"])
    room = low.volume - low.volume_of(low_level)
    return control_valve_opens.filled_fraction(high.volume_of(high_level), room)


def low_gas(plant):
    """The flash gas of V-102 at its relieving pressure."""
    return flash_gas(plant, pressures(plant, plant["V-102"])[0], Z=plant.fluids["lp_gas"].Z)


def flashing_part(plant):
    """Part of the mass of stream 8 that is gas after LV-101, as in normal operation.

    At relieving pressure a little less flashes, so this errs to the safe side.
    """
    return plant.streams["9"].mass_flow / plant.streams["8"].mass_flow


def liquid_in(plant, source_pressure=None, bypass=0.0, outflow=0.0):
    """Gas that leaves V-102 while LV-101, wide open in liquid, fills it.

    source_pressure of V-101, the relieving pressure of PSV-103 by default [Pa absolute]; bypass,
    Kv of what is open around LV-101; outflow, liquid that still leaves through LV-102 [kg/s].
    """
    changed = _source(plant, source_pressure, "source")
    changed |= {"bypass_coefficient": bypass, "outflow": outflow}
    return of_case(plant, "V-102", "control valve opens, liquid", changed)


def full_and_liquid_in(plant, source_pressure=None):
    """Liquid and flash gas that leave V-102 once LV-101, wide open, has filled it."""
    changed = _source(plant, source_pressure, _WIDE_OPEN)
    return of_case(plant, "V-102", "control valve opens, V-102 full", changed)


def _source(plant, pressure, where):
    """V-101 at another pressure; more gas may dissolve there: it chokes sooner then."""
    boils = plant.fluids["hp_liquid"].saturation_pressure
    boils = None if pressure is None else min(boils, pressure)
    return {f"{where}.pressure": pressure, f"{where}.saturation_pressure": boils}


def fills_up(plant):
    """Load of V-102 when LV-102 is shut and the feed goes on: liquid with the gas it brings."""
    return of_case(plant, "V-102", "overfilling")
