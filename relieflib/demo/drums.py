"""Causes of the drums: feed drum, low-pressure separator, gas receiver, propane bullet."""

import warnings
from dataclasses import replace

from relieflib import rules
from relieflib.causes import (
    closed_outlet,
    control_valve_opens,
    exterior_fire_gas as fire_gas,
    hydraulic_expansion,
    overfilling,
    reverse_flow,
)
from relieflib.demo.common import (
    dead_headed,
    flash_gas,
    high_gas,
    pool_fire,
    pressures,
    rich_gas,
    shell,
)
from relieflib.errors import ValidityWarning
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State, critical_pressure, saturation_pressure

_VACUUM = "asks for a vacuum rating or a breaker, not for a pressure relief area"
UNSIZED = {
    "V-100": {
        "valve opened by mistake": "no drain or vent to higher pressure is on the plant's list: "
        "hold it against the P&ID before it is struck off",
        "breathing and vacuum": _VACUUM,
    },
    "V-102": {},
    "V-104": {},
    "V-105": {
        "accumulation of non-condensables": "a little hydrogen dissolved in the product raises the "
        "pressure over weeks: seen, and vented by hand; far below fire",
        "breathing and vacuum": _VACUUM,
    },
}


def feed_drum(plant):
    """Loads of V-100 by cause in words."""
    item, nitrogen = plant["V-100"], plant["PV-100"]
    P1, _ = pressures(plant, item)
    source = Gas(
        plant.absolute(plant.utilities["nitrogen"].highest_pressure_gauge),
        298.15,
        molar_mass=28.013,
        k=1.4,
    )
    return {
        **leaks_back(plant),
        "control valve opens, nitrogen": control_valve_opens.gas_load(
            source, Gas(P1, 298.15, molar_mass=28.013, k=1.4), nitrogen.largest_trim_Kv,
                nitrogen.xT,
            nitrogen.bypass_Kv,
        ),
        "exterior fire": pool_fire(plant, item, "n-Hexane", item.normal_level),
    }  # fmt: skip


def leaks_back(plant):
    """Loads of V-100 when P-101 stands and its two check valves leak."""
    check, P1 = plant["NRV-101A"], pressures(plant, plant["V-100"])[0]
    top, density = pressures(plant, plant["V-101"])[0], plant["P-101"].density
    leak, bore = reverse_flow.leak_load, check.inside_diameter
    return {
        "reverse flow, liquid": leak(Liquid(top, density), Liquid(P1, density), bore),
        "reverse flow, gas": leak(high_gas(plant), rich_gas(plant, P1), bore),
    }


def low_separator(plant):
    """Loads of V-102 by cause in words."""
    item, valve = plant["V-102"], plant["LV-101"]
    P1, _ = pressures(plant, item)
    gas, blow_by = rich_gas(plant, P1), control_valve_opens.blow_by_load
    args = high_gas(plant), gas, valve.largest_trim_Kv, valve.xT
    return {
        "gas blow-by": blow_by(*args),
        "valve opened by mistake, bypass too": blow_by(*args, bypass_coefficient=valve.bypass_Kv),
        "control valve opens, liquid flashes": _wide_open_liquid(plant, P1),
        "closed outlet": closed_outlet.relief_load(
            plant.streams["9"].maximum_mass_flow, flash_gas(plant, P1)
        ),
        "overfilling": fills_up(plant),
        "exterior fire": pool_fire(plant, item, "n-Hexane", item.normal_level),
    }


def _wide_open_liquid(plant, P1):
    """Vapour of the liquid that LV-101 passes wide open, as much of it as flashes normally."""
    valve, fluid = plant["LV-101"], plant.fluids["hp_liquid"]
    part = plant.streams["9"].mass_flow / plant.streams["8"].mass_flow
    top = pressures(plant, plant["V-101"])[0]
    source = Liquid(top, fluid.density, saturation_pressure=fluid.saturation_pressure)
    with warnings.catch_warnings():  # dissolved gas: its vapour pressure is above critical
        warnings.simplefilter("ignore", ValidityWarning)
        return control_valve_opens.liquid_load(
            source, flash_gas(plant, P1), valve.largest_trim_Kv, valve.FL,
            fluid.critical_pressure, part,
        )  # fmt: skip


def fills_up(plant):
    """Load of V-102 when LV-102 is shut and the feed goes on: liquid."""
    fluid, P1 = plant.fluids["column_feed"], pressures(plant, plant["V-102"])[0]
    stream = Liquid(P1, fluid.density, viscosity=fluid.viscosity)
    return overfilling.relief_load(plant.streams["8"].maximum_mass_flow, stream)


def receiver(plant):
    """Loads of V-104 by cause in words."""
    item, valve = plant["V-104"], plant["PV-101"]
    P1, fire_P = pressures(plant, item)
    low, source = rich_gas(plant, P1), high_gas(plant)
    T = item.operating_temperature * fire_P / plant.absolute(item.operating_pressure_gauge)
    drum = shell(item)
    exposed = drum.wetted_area(min(drum.top, rules.FIRE_HEIGHT.value - item.elevation))
    opens = control_valve_opens.gas_load
    return {
        "control valve opens": opens(source, low, valve.largest_trim_Kv, valve.xT),
        "control valve and bypass open": opens(
            source, low, valve.largest_trim_Kv, valve.xT, valve.bypass_Kv
        ),
        "closed outlet": closed_outlet.relief_load(plant.streams["7"].maximum_mass_flow, low),
        "exterior fire": fire_gas.relief_load(exposed, fire_P, T, low.molar_mass, low.k),
    }


def bullet(plant):
    """Loads of V-105 by cause in words; all but fire are liquid, so the bullet is full.

    The liquid boils in the valve's nozzle: a real fluid, not a liquid that never boils.
    """
    item, pump, tanker = plant["V-105"], plant["P-102"], plant.sources["tanker"]
    P1, _ = pressures(plant, item)
    hot, product = plant.site.highest_ambient_temperature, plant["V-103"].operating_temperature
    state = State("Propane", P1, temperature=hot)
    sun = hydraulic_expansion.solar_heat(plant.site.solar_flux, item.diameter, item.length)
    fed = _boils(dead_headed(plant, pump, pump.highest_suction_pressure_gauge, P1), product)
    return {
        "fire, normal level": pool_fire(plant, item, "Propane", item.normal_level),
        "fire, high level": pool_fire(plant, item, "Propane", item.high_level),
        "closed outlet, P-102": fed,
        "control valve opens, LV-104": _product_valve_open(plant, P1),
        "valve opened by mistake, tanker": _boils(
            dead_headed(plant, tanker, tanker.suction_pressure_gauge, P1), hot
        ),
        "overfilling": overfilling.relief_load(fed.mass_flow, fed.stream, working=fed.working),
        "liquid-full in the sun": hydraulic_expansion.relief_load(
            sun,
            RealFluid("Propane", P1, temperature=hot),
            state.expansion_coefficient,
            state.heat_capacity,
        ),
    }


def _boils(load, temperature):
    """A load of propane as what it is: liquid at a temperature [K] that boils in the nozzle."""
    return replace(load, stream=RealFluid("Propane", load.stream.pressure, temperature=temperature))


def _product_valve_open(plant, P1):
    """LV-104 and its bypass wide open, P-102 at its shutoff head: more than the pump can give."""
    valve, pump = plant["LV-104"], plant["P-102"]
    dead = closed_outlet.deadhead_pressure(
        plant.absolute(pump.highest_suction_pressure_gauge), pump.shutoff_head, pump.density
    )
    vapor_pressure = saturation_pressure("Propane", plant["V-103"].operating_temperature)
    source = Liquid(dead, pump.density, saturation_pressure=vapor_pressure)
    load = control_valve_opens.liquid_load(
        source, Liquid(P1, pump.density), valve.largest_trim_Kv, valve.FL,
        critical_pressure("Propane"), bypass_coefficient=valve.bypass_Kv,
    )  # fmt: skip
    return _boils(load, plant["V-103"].operating_temperature)
