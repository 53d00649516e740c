"""The demo plant's vessels against time: for each cause what is held, what comes, up to where.

One function a cause, named as its module, for the picture in its notebook. Each says its premise:
what is in the vessel minute by minute, and what a vessel of one pressure and one temperature hides.
A fire on gas, with its wall, is `causes.exterior_fire_gas.expose`; a batch that runs away
`causes.shared.reactor.run_away`; neither is done again here. Nor is a broken tube into a shell full
of water: its pressure rises faster than sound crosses the shell, which then has no one pressure.
"""

from dataclasses import dataclass, replace

import numpy as np

from relieflib import demo, sizing
from relieflib.causes import (
    abnormal_heat_input as heat_input,
    hydraulic_expansion as expansion,
    overfilling as filling,
    reverse_flow as back,
    tank_breathing as breathing,
    volatile_ingress as ingress,
)
from relieflib.demo import column, drums, events, let_down, tank
from relieflib.demo.common import high_gas, rich_gas, shell
from relieflib.devices import Device
from relieflib.nozzle.liquid import Liquid
from relieflib.pressure_in_time import sources
from relieflib.pressure_in_time.contents import GasOverLiquid, IdealGas, LiquidFull
from relieflib.pressure_in_time.pure_fluid import Boiling
from relieflib.pressure_in_time.sources import Source, Table
from relieflib.properties import State

STEEL = 207e9  # Pa, modulus of carbon steel: handbook value
SUN_WARMS = 20.0  # K above the air, as 14 takes it
_POINTS = 30  # of a heat that is dear to work out


@dataclass(frozen=True)
class Setting:
    """What a picture against time needs: sizing, contents, source, limit_pressure [Pa absolute]."""

    sizing: object
    contents: object
    source: Source
    limit_pressure: float

    def __iter__(self):
        return iter((self.sizing, self.contents, self.source, self.limit_pressure))


# ------------------------------------------------------------------ gas that comes in
def control_valve_opens(plant):
    """V-104 with its outlet shut, PV-101 and its bypass wide open: gas into gas."""
    case = let_down.case_in_time(plant, bypass=True)
    sized = demo.cases(plant, "V-104")[let_down.BYPASS]
    return Setting(sized, case.contents, case.source, case.limit_pressure)


def power_and_air_failure(plant):
    """V-104 on bus A, air still stored: PV-101 passes on what no absorbent takes up.

    V-104 exports no more than it normally does. All of its gas as if it were that which comes; what
    PV-101 passes is that of the load from the start. The gas comes hot into a colder vessel.
    """
    words, item = "power failure, bus A, air still stored", plant["V-104"]
    sized, lost = demo.cases(plant, "V-104")[words], events.failures(plant)[f"bus A{events.STORED}"]
    gas, body, limit = sized.load.stream, shell(item), plant.relieving_pressure("V-104")
    held = IdealGas(body.volume, plant.absolute(item.operating_pressure_gauge),
                    item.operating_temperature, molar_mass=gas.molar_mass, k=gas.k,
                    Z=gas.Z)  # fmt: skip
    passed = sources.closed_outlet(sized.load.mass_flow, gas.temperature)
    fed = sources.power_and_air_failure(
        let_down.VALVE,
        lost,
        events.consequences(plant),
        {sized.load.cause: passed, "closed_outlet": passed},
    )
    return Setting(sized, held, fed, limit)


def reverse_flow(plant):
    """V-100 behind two check valves that leak: liquid of V-101 first, then its gas.

    Its outlet shut, at its normal level. All gas as if it were that of V-101: what is there at the
    start counts by its volume. The liquid that runs back is what V-101 holds at its normal level.
    """
    item, high, limit = plant["V-100"], plant["V-101"], plant.relieving_pressure("V-100")
    start, room = plant.absolute(item.operating_pressure_gauge), shell(item)
    source, density = high_gas(plant), plant["P-101"].density
    bore, ends = plant["NRV-101A"].inside_diameter, (start, limit, source.pressure)
    wet = sources.reverse_flow(lambda P: back.leak_load(
        Liquid(source.pressure, density), Liquid(P, density), bore), ends, density)  # fmt: skip
    dry = sources.reverse_flow(lambda P: back.leak_load(source, rich_gas(plant, P), bore), ends,
                               temperature=source.temperature)  # fmt: skip
    held = GasOverLiquid(room.volume, start, item.operating_temperature,
                         room.volume_of(item.normal_level), molar_mass=source.molar_mass,
                         k=source.k)  # fmt: skip
    leak = wet.liquid(held.look(held.start))
    slug = shell(high).volume_of(high.normal_level)
    both = Source("reverse_flow", gas=dry.gas, liquid=wet.liquid, temperature=dry.temperature,
                  switch_time=slug / leak)  # fmt: skip
    return Setting(demo.cases(plant, "V-100")["reverse flow, gas"], held, both, limit)


def tank_breathing(plant, words="breathing and vacuum, out"):
    """T-101 at its normal level, air above the naphtha, its vent set as PVSV-111.

    All as air at 0 °C, as vents are rated; the limit is its design pressure, without any
    accumulation. words, a load of T-101 that goes out.
    """
    item, body = plant["T-101"], tank.shell(plant)
    load, (_, back_pressure) = tank.loads(plant)[words], tank.seen_by(plant)
    vent = plant["PVSV-111"].set_pressure_gauge
    device = Device("disk", vent, Kd=tank.KD, atmosphere=plant.atmosphere)
    held = IdealGas(body.volume - body.volume_of(item.normal_level), plant.atmosphere,
                    breathing.ICE_POINT, molar_mass=breathing.AIR_MASS,
                    k=breathing.AIR_K)  # fmt: skip
    sized = sizing.size(load, device, back_pressure)
    limit = plant.absolute(item.design_pressure_gauge)
    return Setting(sized, held, sources.tank_breathing(load), limit)


# ------------------------------------------------------------------ liquid that comes in
def overfilling_with_room(plant):
    """V-102 from its high-level alarm, both outlets shut: gas over a rising liquid.

    The gas that comes with the feed stays gas; nothing evaporates or dissolves. The device is that
    for the mixture, which comes once the drum is full: see `overfilling_full`.
    """
    item, drum = plant["V-102"], shell(plant["V-102"])
    limit, gas = plant.relieving_pressure("V-102"), drums.low_gas(plant)
    held = GasOverLiquid(drum.volume, plant.absolute(item.operating_pressure_gauge),
                         item.operating_temperature, drum.volume_of(item.high_level),
                         molar_mass=gas.molar_mass, k=gas.k, Z=gas.Z)  # fmt: skip
    liquid, vapor = (plant.streams[n].maximum_mass_flow for n in ("10", "9"))
    fed = sources.overfilling(liquid, plant.fluids["column_feed"].density)
    both = Source("overfilling", gas=lambda now: vapor, liquid=fed.liquid)
    return Setting(demo.cases(plant, "V-102")["overfilling"], held, both, limit)


def overfilling_full(plant):
    """V-102 full of liquid, the feed going on: liquid alone, its shell taken as rigid.

    Bubbles of the gas that comes along would make it softer, and so slower. Expansion and
    compressibility of n-hexane, density of the feed, which brings its mass: squeezed in the drum it
    takes the room of the liquid there.
    """
    item, drum = plant["V-102"], shell(plant["V-102"])
    start, fluid = plant.absolute(item.operating_pressure_gauge), plant.fluids["column_feed"]
    like = State("n-Hexane", start, temperature=item.operating_temperature)
    held = LiquidFull(drum.volume, start, item.operating_temperature, density=fluid.density,
                      expansion_coefficient=like.expansion_coefficient,
                      liquid_heat_capacity=like.heat_capacity,
                      compressibility=like.compressibility)  # fmt: skip
    limit, inflow = plant.relieving_pressure("V-102"), plant.streams["10"].maximum_mass_flow
    load = filling.relief_load(inflow, Liquid(limit, fluid.density, viscosity=fluid.viscosity))
    sized = sizing.size(load, plant.device("PSV-104"), plant.header_pressures("PSV-104")[1])
    fed = sources.overfilling(inflow, fluid.density)
    squeezed = replace(fed, liquid=lambda now: fed.liquid(now) * fluid.density * now.volume)
    return Setting(sized, held, squeezed, limit)


# ------------------------------------------------------------------ heat that comes in
def hydraulic_expansion(plant):
    """L-105 shut in at both ends and full of propane, in the sun; its wall gives a little.

    No bubble at all: the smallest one takes the first of the rise. Area and flow both by the
    equation of a liquid that does not flash in the valve.
    """
    item, back_pressure = plant["L-105"], plant.header_pressures("PSV-108")[1]
    bore, wall = item.inside_diameter, (item.outside_diameter - item.inside_diameter) / 2
    held = LiquidFull.of_fluid(
        "Propane", float(np.pi / 4 * bore**2 * item.length),
        plant.absolute(item.operating_pressure_gauge), item.operating_temperature,
        wall_compliance=expansion.wall_compliance(bore, wall, STEEL),
    )  # fmt: skip
    sun = expansion.solar_heat(plant.site.solar_flux, item.outside_diameter, item.length)
    limit = plant.relieving_pressure("L-105")
    hottest = plant.site.highest_ambient_temperature + SUN_WARMS
    state = State("Propane", limit, temperature=hottest)
    load = expansion.relief_load(sun, Liquid(limit, state.density), state.expansion_coefficient,
                                 state.heat_capacity)  # fmt: skip
    sized = sizing.size(load, plant.device("PSV-108"), back_pressure)
    return Setting(sized, held, sources.hydraulic_expansion(sun), limit)


def exterior_fire_liquid(plant):
    """V-105 in a pool fire, filled to its highest level: propane that boils.

    One temperature for all of the liquid. In a fire the liquid at the wall is hotter, so that the
    pressure rises sooner; and the wall above the liquid is not looked at.
    """
    item, drum = plant["V-105"], shell(plant["V-105"])
    held = Boiling("Propane", drum.volume, item.operating_temperature,
                   drum.volume_of(item.high_level))  # fmt: skip
    fire = sources.exterior_fire_liquid(drum, item.elevation)
    sized = demo.cases(plant, "V-105")["fire, high level"]
    return Setting(sized, held, fire, plant.relieving_pressure("V-105", fire=True))


def _sump(plant):
    """Contents of C-101 that boil: naphtha of sump and reboiler, at the bottom's temperature.

    The propane of the trays, which boils first and condenses what rises, is left out: the load is
    that of the naphtha alone. So is V-103, whose room would make the rise slower.
    """
    item, body, more = plant["C-101"], shell(plant["C-101"]), plant["E-103"].cold_volume
    return Boiling(column.fluids(plant)[1], body.volume + more, item.bottom_temperature,
                   body.volume_of(item.normal_level) + more)  # fmt: skip


def _ends(held, limit):
    """Pressures over which heat is tabulated, the limit among them [Pa]."""
    return 0.95 * held.pressure, limit, 1.3 * limit


def loss_of_cooling(plant):
    """C-101 without its condenser, the steam on: all of the reboiler's heat, as its pinch allows.

    The feed is taken as stopped from the start, which it is only above the pressure of V-102.
    """
    held, limit = _sump(plant), plant.relieving_pressure("C-101")
    clean, surface, hot = column.clean_reboiler(plant)
    heat = sources.loss_of_cooling(held.fluid, clean, surface, hot, _ends(held, limit))
    return Setting(demo.cases(plant, "C-101")["loss of cooling"], held, heat, limit)


def abnormal_heat_input(plant):
    """C-101 with FV-103 wide open and its condenser at its normal duty; else as there."""
    held, limit = _sump(plant), plant.relieving_pressure("C-101")
    clean, surface, hot = column.clean_reboiler(plant)
    heat = sources.abnormal_heat_input(
        held.fluid, lambda T: heat_input.exchanger_heat(clean, surface, hot, T)[-1].value,
        _ends(held, limit), plant["E-102"].duty)  # fmt: skip
    return Setting(demo.cases(plant, "C-101")["abnormal heat input"], held, heat, limit)


def volatile_ingress(plant):
    """C-101 with water in its sump, which draws more from the steam; else as too much heat.

    A known inflow. The steam that a slug makes is on no picture.
    """
    held, limit = _sump(plant), plant.relieving_pressure("C-101")
    clean, surface, hot = column.clean_reboiler(plant)
    entry = next(i for i in plant.of("ingress") if i.fluid == "water")

    def left(P):
        pair = ingress.boiling_pair("Water", held.fluid, P)
        given = ingress.host_heat(entry.mass_flow, entry.temperature, pair, clean, surface, hot)
        return max(given[-1].value - plant["E-102"].duty, 0.0)

    P = np.unique([*np.linspace(0.95 * held.pressure, 1.2 * limit, _POINTS), limit])
    table = Table(P, [left(p) for p in P])
    heat = Source("volatile_ingress", heat=lambda now: table(now.pressure))
    return Setting(demo.cases(plant, "C-101")["volatile ingress"], held, heat, limit)
