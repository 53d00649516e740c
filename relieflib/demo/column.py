"""Causes of the depropaniser C-101, with its reflux drum V-103 on the same valve."""

from relieflib.causes import (
    abnormal_heat_input,
    closed_outlet,
    control_valve_opens,
    exterior_fire_liquid as fire_liquid,
    loss_of_cooling,
    overfilling,
    power_and_air_failure as power,
    volatile_ingress,
)
from relieflib.demo.common import flash_gas, pool_fire, pressures, shell
from relieflib.exchanger import clean_coefficient
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import latent_heat, saturation_temperature
from relieflib.working import step

UNSIZED = {"C-101": {
    "tube rupture": "steam of up to 28 barg from one tube of E-103, some 3500 kg/h: alone it needs "
    "320 mm2, within the K; what naphtha it boils at once is for a dynamic study",
    "accumulation of non-condensables": "gas blankets E-102: the duty counts as lost, so the load "
    "is that of loss of cooling",
    "internal explosion or surge": "steam hammer is over before a valve opens: drained steam "
    "lines, slow valves",
    "breathing and vacuum": "asks for a vacuum rating or a breaker, not for a pressure relief area",
}}  # fmt: skip
NO_STEAM = ("FV-103 closed", "steam lost")  # what ends the boiling


def cases(plant):
    """Loads of C-101 by cause in words."""
    P1, fire_P = pressures(plant, plant["C-101"])
    h, vapor = latent_heat("Propane", P1), RealFluid("Propane", P1, quality=1.0)
    steam = abnormal_heat_input.exchanger_heat(
        *_reboiler(plant, P1), fouling_resistance=plant["E-103"].fouling_resistance
    )
    too_much = abnormal_heat_input.relief_load(
        steam[-1].value, h, vapor, remaining_cooling=plant["E-102"].duty, working=steam
    )
    event = power.effects(plant, power.Event("bus", "B"))
    return {
        "loss of cooling": cooling_lost(plant),
        "power failure, bus B": power.relief_load("PSV-106", event, consequences(plant)),
        "closed outlet, overhead": _overhead_shut(plant, h, vapor),
        "abnormal heat input": too_much,
        "control valve opens, FV-103": too_much,
        "gas blow-by, LV-102": _blow_by(plant, P1, plant["LV-102"].largest_trim_Kv),
        "valve opened by mistake, bypass of LV-102": _blow_by(
            plant, P1, plant["LV-102"].rated_Kv, plant["LV-102"].bypass_Kv
        ),
        "exterior fire": _sump_fire(plant),
        "fire, with V-103": _fire_of_both(plant, fire_P),
        "overfilling": _filled(plant, P1),
        "volatile ingress": _water(plant, P1),
    }


def _reboiler(plant, P1, steam_gauge=None):
    """Coefficient, surface, steam and boiling temperature of E-103 at relieving pressure."""
    item, steam = plant["E-103"], plant.utilities["steam"]
    pressure = steam.highest_pressure_gauge if steam_gauge is None else steam_gauge
    hot = saturation_temperature("Water", plant.absolute(pressure))
    return item.coefficient, item.area, hot, saturation_temperature("n-Hexane", P1)


def reboiler_working(plant, P1, steam_gauge=None):
    """Duty of E-103 at relieving pressure [Pa], clean, which goes with the credit for its pinch."""
    U, *rest = _reboiler(plant, P1, steam_gauge)
    fouling = plant["E-103"].fouling_resistance
    clean = clean_coefficient(U, fouling)
    first = step("clean_coefficient", clean, "U/(1 - U*r_foul)", "clean surface: API 521 (2020), "
                 "4.4.9", coefficient=U, fouling_resistance=fouling)  # fmt: skip
    return [first, *loss_of_cooling.reboiler_working(clean, *rest)]


def cooling_lost(plant, steam_gauge=None, remaining_cooling=0.0):
    """Load when E-102 condenses no more, or no more than some heat flow [W].

    steam_gauge, pressure of the steam header, its highest by default [Pa gauge].
    """
    P1 = pressures(plant, plant["C-101"])[0]
    duty = reboiler_working(plant, P1, steam_gauge)
    return loss_of_cooling.relief_load(
        duty[-1].value, latent_heat("Propane", P1), RealFluid("Propane", P1, quality=1.0),
        remaining_cooling=remaining_cooling, working=duty,
    )  # fmt: skip


def consequences(plant, steam_gauge=None, remaining_cooling=0.0):
    """What a failure of power or air brings to PSV-106, as `power.Consequence`.

    Water lost: the vapour that no longer condenses. P-102 stopped: no reflux, and condensate
    floods drum and condenser, after which it is all lost; the steam must be on for either. Bottom
    outlet shut: the feed fills the column within half an hour.
    """
    water = cooling_lost(plant, steam_gauge, remaining_cooling)
    flooded = cooling_lost(plant, steam_gauge)
    full = _filled(plant, pressures(plant, plant["C-101"])[0])
    return [
        power.Consequence("PSV-106", water, ("cooling_water lost",), NO_STEAM),
        power.Consequence("PSV-106", flooded, ("P-102 stopped",), NO_STEAM),
        power.Consequence("PSV-106", full, ("LV-103 closed",), ("LV-102 closed",)),
    ]


def _overhead_shut(plant, h, vapor):
    """All vapour of the reboiler, with the way to the condenser shut."""
    duty = reboiler_working(plant, vapor.pressure)
    raised = duty[-1].value / h
    line = step("inflow", raised, "Q_reb/h_v", "vapour raised at relieving pressure",
                reboiler_duty=duty[-1].value, latent_heat=h)  # fmt: skip
    return closed_outlet.relief_load(raised, vapor, working=[*duty, line])


def _blow_by(plant, P1, coefficient, bypass=0.0):
    """Gas of V-102 through LV-102 once its level is lost, at the temperature of the wet top tray.

    The source stands at its own relieving pressure: at its normal 17 barg nothing would flow.
    """
    valve, top = plant["LV-102"], saturation_temperature("Propane", P1)
    source = flash_gas(plant, pressures(plant, plant["V-102"])[0], Z=plant.fluids["lp_gas"].Z)
    return control_valve_opens.blow_by_load(
        source, flash_gas(plant, P1, top), coefficient, valve.xT, bypass_coefficient=bypass
    )


def _sump_level(item):
    return fire_liquid.column_level(shell(item), item.normal_level, item.trays, item.tray_holdup)


def _sump_fire(plant):
    """Fire at the sump, with the liquid of the trays drained into it."""
    item = plant["C-101"]
    return pool_fire(plant, item, "n-Hexane", _sump_level(item))


def _fire_of_both(plant, fire_P):
    """Fire at sump and reflux drum, open to each other: one surface, and propane leaves the top."""
    item, drum = plant["C-101"], plant["V-103"]
    areas = [
        fire_liquid.wetted_area(shell(item), _sump_level(item), item.elevation),
        fire_liquid.wetted_area(shell(drum), drum.normal_level, drum.elevation),
    ]
    total = sum(areas)
    heat = fire_liquid.zone_heat(areas, connected=True)
    steps = [
        step("wetted_area", total, source="C-101 and V-103, geometry of shells and heads"),
        step("heat_rate", heat, f"{fire_liquid.DRAINED:g}*A_w**0.82", fire_liquid.SOURCE,
             wetted_area=total),
    ]  # fmt: skip
    return fire_liquid.pure_load("Propane", fire_P, heat, steps)


def _filled(plant, P1):
    """Bottom outlet shut: the feed, cold because E-104 has no hot side left, fills the column."""
    fluid = plant.fluids["column_feed"]
    stream = Liquid(P1, fluid.density, viscosity=fluid.viscosity)
    return overfilling.relief_load(plant.streams["10"].maximum_mass_flow, stream)


def _water(plant, P1):
    """Load of the water that runs into the column's bottom, with the naphtha it boils with."""
    entry = next(i for i in plant.of("ingress") if i.fluid == "water")
    pair = volatile_ingress.boiling_pair("Water", "n-Hexane", P1)
    return volatile_ingress.pair_load(entry.mass_flow, entry.temperature, pair)
