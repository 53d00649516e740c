"""Causes of the demo plant's equipment side by side, each sized as its own notebook does."""

from relieflib import set_pressure as sp
from relieflib.causes import (
    abnormal_heat_input,
    closed_outlet,
    control_valve_opens,
    hydraulic_expansion,
    loss_of_cooling,
    reverse_flow,
    tube_rupture,
    volatile_ingress,
)
from relieflib.causes import exterior_fire_gas as fire_gas
from relieflib.causes import exterior_fire_liquid as fire_liquid
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.geometry import Vessel
from relieflib.notebook import figures
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State, latent_heat, saturation_temperature
from relieflib.sizing import size
from relieflib.units import absolute


def cases(plant, tag):
    """Causes of one item, sized on the device it has.

    Parameters: plant, the demo `plant.Plant`; tag, one of `ITEMS`. Returns {cause in words:
    `Sizing`}. Raises InputError for another tag. Source: as each cause's module.
    """
    if tag not in ITEMS:
        raise InputError(f"tag '{tag}': use one of {', '.join(ITEMS)}")
    loads = ITEMS[tag](plant)
    valve = next((v for v in plant.of("relief_valves") if v.protects == tag), None)
    device = Device(valve.kind, valve.set_pressure_gauge) if valve else Device("disk")
    back = absolute(plant.headers["FH"].lowest_pressure_gauge)
    return {words: size(load, device, back) for words, load in loads.items()}


def ladder(sized):
    """The area ladder of some sizings, as a picture with its alt text.

    Parameters: sized, {cause in words: `Sizing`}. Returns `figures.Display`.
    """
    areas = {words: s.required_area or None for words, s in sized.items()}
    picture = figures.new_figure()
    artists = figures.build_area_ladder(picture, {"areas": areas})
    return figures.display(picture, figures.update_area_ladder(artists, {"areas": areas}))


def _shell(item):
    return Vessel(item.orientation, item.diameter, item.length, item.head_type)


def _pressures(item):
    """Relieving pressures without and with fire."""
    return sp.relieving_pressure(item.mawp_gauge), sp.relieving_pressure(item.mawp_gauge, fire=True)


def _rich_gas(plant, pressure, Z=1.0):
    gas, T = plant.fluids["hydrogen_rich"], plant["V-101"].operating_temperature
    return Gas(pressure, T, gas.molar_mass, gas.k, Z)


def _high_gas(plant):
    """The gas of V-101 at its own relieving pressure, as a source."""
    top = sp.relieving_pressure(plant["V-101"].mawp_gauge)
    return _rich_gas(plant, top, plant.fluids["hydrogen_rich"].Z)


def _receiver(plant):
    item, valve = plant["V-104"], plant["PV-101"]
    P1, fire_P = _pressures(item)
    low, source = _rich_gas(plant, P1), _high_gas(plant)
    T = item.operating_temperature * fire_P / absolute(item.operating_pressure_gauge)
    shell = _shell(item)
    exposed = shell.wetted_area(min(shell.top, 7.6 - item.elevation))
    opens = control_valve_opens.gas_load
    return {
        "control valve opens": opens(source, low, valve.largest_trim_Kv, valve.xT),
        "with its bypass": opens(source, low, valve.largest_trim_Kv, valve.xT, valve.bypass_Kv),
        "closed outlet": closed_outlet.relief_load(plant.streams["7"].maximum_mass_flow, low),
        "exterior fire": fire_gas.relief_load(exposed, fire_P, T, low.molar_mass, low.k),
    }


def _pool_fire(item, fluid, level):
    """Load of a pool fire on an item that holds liquid up to a level."""
    steps = fire_liquid.heat_working(_shell(item), level, item.elevation)
    return fire_liquid.pure_load(fluid, _pressures(item)[1], steps[-1].value, steps)


def _bullet(plant):
    item, pump = plant["V-105"], plant["P-102"]
    P1, _ = _pressures(item)
    curve = closed_outlet.PumpCurve(pump.shutoff_head, pump.rated_head, pump.rated_volume_flow)
    suction = absolute(pump.highest_suction_pressure_gauge)
    state = State("Propane", P1, temperature=plant.site.highest_ambient_temperature)
    sun = hydraulic_expansion.solar_heat(plant.site.solar_flux, item.diameter, item.length)
    return {
        "fire, normal level": _pool_fire(item, "Propane", item.normal_level),
        "fire, high level": _pool_fire(item, "Propane", item.high_level),
        "closed outlet, P-102": closed_outlet.pump_load(curve, suction, P1, pump.density),
        "liquid-full in the sun": hydraulic_expansion.relief_load(
            sun, Liquid(P1, state.density), state.expansion_coefficient, state.heat_capacity
        ),
    }


def _column(plant):
    item, reboiler, steam = plant["C-101"], plant["E-103"], plant.utilities["steam"]
    P1, _ = _pressures(item)
    h, vapor = latent_heat("Propane", P1), RealFluid("Propane", P1, quality=1.0)
    hot = saturation_temperature("Water", absolute(steam.highest_pressure_gauge))
    boiling = saturation_temperature("n-Hexane", P1)
    args = reboiler.coefficient, reboiler.area, hot, boiling
    duty = loss_of_cooling.reboiler_working(*args)
    clean = abnormal_heat_input.exchanger_heat(*args, fouling_resistance=0.0002)
    level = fire_liquid.column_level(_shell(item), item.normal_level, item.trays, item.tray_holdup)
    return {
        "loss of cooling": loss_of_cooling.relief_load(duty[-1].value, h, vapor, working=duty),
        "abnormal heat input": abnormal_heat_input.relief_load(
            clean[-1].value, h, vapor, remaining_cooling=plant["E-102"].duty, working=clean
        ),
        "exterior fire": _pool_fire(item, "n-Hexane", level),
        "volatile ingress": _water(plant, P1),
    }


def _water(plant, P1):
    """Load of the water that runs into the column's bottom."""
    entry = next(i for i in plant.of("ingress") if i.fluid == "water")
    boiling, vapor = saturation_temperature("Water", P1), State("Water", P1, quality=1.0)
    mean = State("Water", P1, 0.5 * (entry.temperature + boiling)).heat_capacity
    need = volatile_ingress.heat_need(mean, entry.temperature, boiling, vapor.latent_heat)
    stream = Gas(P1, boiling, vapor.molar_mass, vapor.k, vapor.Z)
    return volatile_ingress.relief_load(entry.mass_flow, stream, need)


def _feed_drum(plant):
    item, check, nitrogen = plant["V-100"], plant["NRV-101A"], plant["PV-100"]
    P1, _ = _pressures(item)
    top = sp.relieving_pressure(plant["V-101"].mawp_gauge)
    density, low = plant["P-101"].density, _rich_gas(plant, P1)
    source = Gas(absolute(plant.utilities["nitrogen"].highest_pressure_gauge), 298.15, 28.013, 1.4)
    return {
        "reverse flow, liquid": reverse_flow.leak_load(
            Liquid(top, density), Liquid(P1, density), check.inside_diameter
        ),
        "reverse flow, gas": reverse_flow.leak_load(_high_gas(plant), low, check.inside_diameter),
        "control valve opens, nitrogen": control_valve_opens.gas_load(
            source, Gas(P1, 298.15, 28.013, 1.4), nitrogen.largest_trim_Kv, nitrogen.xT,
            nitrogen.bypass_Kv,
        ),
        "exterior fire": _pool_fire(item, "n-Hexane", item.normal_level),
    }  # fmt: skip


def _cooler(plant):
    item, off_gas = plant["E-101"], plant.fluids["off_gas"]
    P1 = sp.relieving_pressure(item.cold_mawp_gauge)
    source = Gas(absolute(item.hot_mawp_gauge), item.hot_out, off_gas.molar_mass, off_gas.k,
                 off_gas.Z)  # fmt: skip
    gas = Gas(P1, item.hot_out, off_gas.molar_mass, off_gas.k)
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


ITEMS = {
    "V-100": _feed_drum, "V-104": _receiver, "V-105": _bullet, "C-101": _column, "E-101": _cooler,
}  # fmt: skip
