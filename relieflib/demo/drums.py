"""Causes of the drums: feed drum, low-pressure separator, gas receiver, propane bullet."""

from dataclasses import replace

from relieflib.causes import (
    control_valve_opens,
    overfilling,
)
from relieflib.demo import high_separator
from relieflib.demo.common import (
    flash_gas,
    of_case,
    of_file,
    pressures,
    shell,
)
from relieflib.working import Working


def feed_drum(plant):
    """Loads of V-100 by cause in words."""
    return of_file(plant, "V-100")


def leaks_back(plant):
    """Loads of V-100 when P-101 stands and its two check valves leak."""
    words = ("reverse flow, liquid", "reverse flow, gas")
    return {name: of_case(plant, "V-100", name) for name in words}


def low_separator(plant):
    """Loads of V-102 by cause in words; V-101 stands at the relieving pressure of PSV-103.

    Liquid, then gas comes through LV-101. Those of a full V-102 stand there where the high levels
    allow that the liquid fills it before the gas comes.
    """
    loads, full = of_file(plant, "V-102"), "gas blow-by, V-102 full"
    if slug(plant, plant["V-101"].high_level, plant["V-102"].high_level) <= 1:
        del loads[full]
        return loads
    return loads | {"control valve opens, V-102 full": full_and_liquid_in(plant)}


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
    boils = plant.fluids["hp_liquid"].saturation_pressure
    if source_pressure is not None:  # more gas may dissolve: it chokes sooner then
        boils = min(boils, source_pressure)
    return of_case(
        plant, "V-102", "control valve opens, liquid", source__pressure=source_pressure,
        source__saturation_pressure=None if source_pressure is None else boils,
        bypass_coefficient=bypass, outflow=outflow,
    )  # fmt: skip


def full_and_liquid_in(plant, source_pressure=None):
    """Liquid and flash gas that leave V-102 once LV-101, wide open, has filled it."""
    came = next(s for s in liquid_in(plant, source_pressure).working if s.name == "liquid_inflow")
    part, density = flashing_part(plant), plant.fluids["column_feed"].density
    load = overfilling.mixed_load(
        (1 - part) * came.value, part * came.value, low_gas(plant), density
    )
    return replace(load, cause="control_valve_opens", working=Working([came, *load.working]))


def fills_up(plant):
    """Load of V-102 when LV-102 is shut and the feed goes on: liquid with the gas it brings."""
    return of_case(plant, "V-102", "overfilling")


def receiver(plant):
    """Loads of V-104 by cause in words."""
    return of_file(plant, "V-104") | high_separator.receiver_fed(plant)


def bullet(plant):
    """Loads of V-105 by cause in words; all but fire are liquid, so the bullet is full.

    The liquid boils in the valve's nozzle: a real fluid, not a liquid that never boils.
    """
    return of_file(plant, "V-105")
