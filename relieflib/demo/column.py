"""Causes of the depropaniser C-101, with its reflux drum V-103 on the same valve.

One heat balance stands behind all causes of heat: reboiler, less condenser, less what the feed
takes to become products, makes vapour. At normal operation nothing is left over (`normal_heat`).
At the relieving pressure of the column the feed has stopped, since V-102 stands lower: what it
took, with the bottoms that went with it, is credited to no cause. Condenser and reflux count only
where the cause leaves them alone. What is left over boils the propane of the trays for a minute or
two (`in_time`), then the naphtha of the sump, which for each watt needs half as much area again:
that is what every cause of heat is sized for (`heat_left`).
"""

from dataclasses import replace
from functools import lru_cache

from relieflib.causes import (
    abnormal_heat_input,
    closed_outlet,
    exterior_fire_liquid as fire_liquid,
    loss_of_cooling,
    power_and_air_failure as power,
    volatile_ingress,
)
from relieflib.causes.shared.carried_vapor import CarriedVapor
from relieflib.causes.shared.column_in_time import Column
from relieflib.demo.common import of_case, pressures, shell
from relieflib.exchanger import clean_coefficient
from relieflib.properties import State, molar_mass, saturation_temperature
from relieflib.working import Working, step

NO_STEAM = ("FV-103 closed", "steam lost")  # what ends the boiling


def cases(plant):
    """Loads of C-101 by cause in words."""
    fire_P = pressures(plant, plant["C-101"])[1]
    too_much = steam_wide_open(plant)
    event = power.effects(plant, power.Event("bus", "B"))
    return {
        "loss of cooling": cooling_lost(plant),
        "power failure, bus B": power.relief_load("PSV-106", event, consequences(plant)),
        "closed outlet, overhead": overhead_shut(plant),
        "abnormal heat input": too_much,
        "control valve opens, FV-103": too_much,
        "exterior fire": of_case(plant, "C-101", "exterior fire"),
        "fire, with V-103": _fire_of_both(plant, fire_P),
        "overfilling": of_case(plant, "C-101", "overfilling"),
        "volatile ingress": water_in(plant),
    }


def normal_heat(plant):
    """Heat flows of C-101 at normal operation [W]: in with the steam, out by two ways.

    Parameters: plant. Returns a dict of reboiler_duty, feed_deficit (what the feed takes to become
    distillate and bottoms) and remaining_cooling (the condenser), as `loss_of_cooling.net_heat`
    takes them: they close. Source: CoolProp, feed as its mixture of propane and n-hexane.
    """
    column, drum, s = plant["C-101"], plant["V-103"], plant.streams
    light, heavy = fluids(plant)
    n = s["10"].propane / molar_mass(light), s["10"].naphtha / molar_mass(heavy)
    x = n[0] / sum(n)
    bottom = plant.absolute(column.bottom_pressure_gauge)
    mixture = f"{light}[{x}]&{heavy}[{1.0 - x}]"
    feed = State(mixture, bottom, temperature=column.feed_temperature)
    bottoms = State(heavy, bottom, quality=0.0)
    distillate = State(light, plant.absolute(drum.operating_pressure_gauge), quality=0.0)
    products = s["15"].mass_flow * bottoms.enthalpy + s["13"].mass_flow * distillate.enthalpy
    return {
        "reboiler_duty": plant["E-103"].duty,
        "feed_deficit": products - s["10"].mass_flow * feed.enthalpy,
        "remaining_cooling": plant["E-102"].duty,
    }


def fluids(plant):
    """Fluids of the trays and of the sump, as CoolProp names them."""
    return plant.fluids["propane"].coolprop, plant.fluids["naphtha"].coolprop


def contents(plant, reflux=True):
    """The liquids of C-101 and V-103 while PSV-106 relieves, as `column_in_time.Column`.

    Parameters: plant; reflux, False where P-102 has stopped. On the trays as if all were propane:
    that lasts longest, so the naphtha comes no later than said. In the sump its normal level and
    what E-103 holds.
    """
    item, drum, reboiler = plant["C-101"], plant["V-103"], plant["E-103"]
    light, heavy = fluids(plant)
    cold = State(light, plant.absolute(drum.operating_pressure_gauge), quality=0.0)
    hot = State(heavy, plant.absolute(item.bottom_pressure_gauge), quality=0.0)
    sump = shell(item).volume_of(item.normal_level) + reboiler.cold_volume
    return Column(
        pressures(plant, item)[0], light, heavy,
        tray_liquid=item.trays * item.tray_holdup * cold.density,
        sump_liquid=sump * hot.density,
        drum_liquid=shell(drum).volume_of(drum.normal_level) * cold.density,
        reflux=plant.streams["12"].mass_flow if reflux else 0.0,
        reflux_temperature=drum.operating_temperature,
    )  # fmt: skip


def in_time(plant, reflux=True):
    """What leaves through PSV-106 after cooling is lost, spell by spell; see `contents`."""
    heat = reboiler_working(plant, pressures(plant, plant["C-101"])[0])[-1].value
    return contents(plant, reflux).stages(heat)


@lru_cache(maxsize=32)
def _governing(pressure, light, heavy):
    """Fluid, latent heat and stream that need most area for each watt, a working step of it."""
    fluid, h, stream = Column(pressure, light, heavy, 0.0, 0.0).governing
    return h, stream, step("latent_heat", h, source=f"{fluid}: of the column's two liquids the one "
                           "that needs more area for each watt")  # fmt: skip


def heat_left(plant):
    """Latent heat [J/kg], stream and working step of what all heat left over is sized for."""
    return _governing(pressures(plant, plant["C-101"])[0], *fluids(plant))


def _reboiler(plant, P1, steam_gauge=None):
    """Coefficient, surface, steam and boiling temperature of E-103 at relieving pressure."""
    item, steam = plant["E-103"], plant.utilities["steam"]
    pressure = steam.highest_pressure_gauge if steam_gauge is None else steam_gauge
    hot = saturation_temperature("Water", plant.absolute(pressure))
    return item.coefficient, item.area, hot, saturation_temperature(fluids(plant)[1], P1)


def reboiler_working(plant, P1, steam_gauge=None):
    """Duty of E-103 at relieving pressure [Pa], clean, which goes with the credit for its pinch."""
    U, *rest = _reboiler(plant, P1, steam_gauge)
    first = _clean(plant)
    return [first, *loss_of_cooling.reboiler_working(first.value, *rest)]


def clean_reboiler(plant):
    """Clean coefficient [W/(m2 K)] and surface [m2] of E-103, its steam at the highest [K]."""
    _, surface, hot, _ = _reboiler(plant, pressures(plant, plant["C-101"])[0])
    return _clean(plant).value, surface, hot


def _clean(plant):
    U, fouling = plant["E-103"].coefficient, plant["E-103"].fouling_resistance
    return step("clean_coefficient", clean_coefficient(U, fouling), "U/(1 - U*r_foul)",
                "clean surface: API 521 (2020), 4.4.9", coefficient=U,
                fouling_resistance=fouling)  # fmt: skip


def cooling_lost(plant, steam_gauge=None, remaining_cooling=0.0):
    """Load when E-102 condenses no more, or no more than some heat flow [W].

    steam_gauge, pressure of the steam header, its highest by default [Pa gauge]. The reflux of the
    first minutes is not counted on: see `in_time`.
    """
    duty = reboiler_working(plant, pressures(plant, plant["C-101"])[0], steam_gauge)
    h, stream, line = heat_left(plant)
    return loss_of_cooling.relief_load(
        duty[-1].value, h, stream, remaining_cooling=remaining_cooling, working=[*duty, line]
    )


def steam_wide_open(plant, remaining_cooling=None):
    """Load of FV-103 wide open on a clean E-103, with the normal duty of E-102 still taken out.

    remaining_cooling [W], the condenser's normal duty by default: it would take more as the vapour
    gets hotter, which nobody need count on.
    """
    P1 = pressures(plant, plant["C-101"])[0]
    steam = abnormal_heat_input.exchanger_heat(
        *_reboiler(plant, P1), fouling_resistance=plant["E-103"].fouling_resistance
    )
    return _too_much(plant, steam, remaining_cooling)


def _too_much(plant, heat, remaining_cooling=None):
    cooling = plant["E-102"].duty if remaining_cooling is None else remaining_cooling
    h, stream, line = heat_left(plant)
    return abnormal_heat_input.relief_load(
        heat[-1].value, h, stream, remaining_cooling=cooling, working=[*heat, line]
    )


def water_in(plant, remaining_cooling=None):
    """Load of the water that runs into the sump: the sump boils colder and draws more heat.

    Parameters as `steam_wide_open`, and the same premise: clean surface, hottest steam (the valve
    opens as the sump cools), normal condensing, all heat left over as naphtha alone. What leaves in
    truth is naphtha with steam, which takes more heat for each kilogram: less of it leaves.
    """
    P1, U = pressures(plant, plant["C-101"])[0], _clean(plant)
    entry = next(i for i in plant.of("ingress") if i.fluid == "water")
    _, surface, hot = clean_reboiler(plant)
    pair = volatile_ingress.boiling_pair("Water", fluids(plant)[1], P1)
    heat = volatile_ingress.host_heat(
        entry.mass_flow, entry.temperature, pair, U.value, surface, hot
    )
    load = _too_much(plant, [U, *heat], remaining_cooling)
    return replace(load, cause="volatile_ingress")


def consequences(plant, steam_gauge=None, remaining_cooling=0.0):
    """What a failure of power or air brings to PSV-106, as `power.Consequence`.

    Water lost: the vapour that no longer condenses. P-102 stopped: no reflux, and condensate
    floods drum and condenser, after which it is all lost; the steam must be on for either. Bottom
    outlet shut: the feed fills the column within half an hour.
    """
    water = cooling_lost(plant, steam_gauge, remaining_cooling)
    flooded = cooling_lost(plant, steam_gauge)
    full = of_case(plant, "C-101", "overfilling")
    return [
        power.Consequence("PSV-106", water, ("cooling_water lost",), NO_STEAM),
        power.Consequence("PSV-106", flooded, ("P-102 stopped",), NO_STEAM),
        power.Consequence("PSV-106", full, ("LV-103 closed",), ("LV-102 closed",)),
    ]


def overhead_shut(plant):
    """All vapour of the reboiler, with the way to the condenser shut."""
    duty = reboiler_working(plant, pressures(plant, plant["C-101"])[0])
    h, stream, latent = heat_left(plant)
    raised = duty[-1].value / h
    line = step("inflow", raised, "Q_reb/h_v", "vapour raised at relieving pressure",
                reboiler_duty=duty[-1].value, latent_heat=h)  # fmt: skip
    return closed_outlet.relief_load(raised, stream, working=[*duty, latent, line])


def _sump_level(item):
    return fire_liquid.column_level(shell(item), item.normal_level, item.trays, item.tray_holdup)


def _fire_of_both(plant, fire_P):
    """Fire at sump and reflux drum, open to each other: naphtha of the one, propane of the other.

    One surface for the heat, shared by area. Both vapours as one stream at its dew point; where
    the cold propane condenses some of the naphtha, less volume leaves.
    """
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
    light, heavy = fluids(plant)
    parts = [fire_liquid.pure_load(fluid, fire_P, heat * area / total)
             for fluid, area in zip((heavy, light), areas)]  # fmt: skip
    return _both(parts, fire_P, (heavy, light), steps)


def _both(parts, pressure, names, steps):
    """Two vapours that leave together as one load."""
    flow = sum(part.mass_flow for part in parts)
    moles = [part.mass_flow / molar_mass(name) for part, name in zip(parts, names)]
    dew = saturation_temperature(names[0], pressure * moles[0] / sum(moles))
    stream = CarriedVapor(names[1], names[0], pressure, dew).stream
    words = " and ".join(f"{p.mass_flow:.4g} kg/s of {n}" for p, n in zip(parts, names))
    line = step("mass_flow", flow, source=f"{words}, each by its own share of the heat")
    return replace(parts[0], mass_flow=flow, stream=stream, working=Working([*steps, line]))
