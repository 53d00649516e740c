"""Failures of power and air in the demo plant: which relief valves lift together, and how much.

Rests on judgement, and says so: the off-gas compressor outside runs on; air that is stored lasts
for a while; an operator stops what takes longer than half an hour (V-103 full with LV-104 shut).
"""

from functools import lru_cache

from relieflib import safeguard, sizing
from relieflib.causes import (
    closed_outlet,
    control_valve_opens,
    overfilling,
    power_and_air_failure as power,
    runaway_reaction,
)
from relieflib.causes.shared import reactor
from relieflib.demo import column, drums
from relieflib.demo.common import dead_headed, pressures, rich_gas
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.properties import State
from relieflib.valve_questions import large_enough

STORED = ", air still stored"
_DAYS = 30 * 86_400.0  # as long as a batch is followed
_LEUNG = 1.3  # highest over set pressure, absolute: well within Leung's equation, 1.5


def consequences(plant, steam_gauge=None, remaining_cooling=0.0, off_gas=None,
                 batch_temperature=None, lasts=4 * 3600.0):  # fmt: skip
    """Every relief load that a failure of power or air brings, as `power.Consequence`.

    Parameters: plant; steam_gauge, highest pressure of the steam header [Pa gauge];
    remaining_cooling of E-102 without its water [W]; off_gas that the compressor still brings
    into V-101 at relieving pressure [kg/s]; batch_temperature of R-101 when its cooling stops
    [K]; lasts, how long the failure goes on [s]. None: as the plant's file. Returns a list.
    """
    return [
        *column.consequences(plant, steam_gauge, remaining_cooling),
        *_high_separator(plant, off_gas),
        *_low_pressure(plant),
        *_reactor(plant, batch_temperature, lasts),
    ]


def _high_separator(plant, off_gas):
    """PSV-103: gas outlet shut, with absorbent or without, cooled or not; or full of liquid.

    While PV-101 can still move, warm off-gas that nothing absorbs passes on through it, wide open,
    into V-104, which exports no more than it normally does: PSV-105 takes what is left.
    """
    P1, cooler = pressures(plant, plant["V-101"])[0], plant["E-101"]
    gas, fluid = plant.streams["6"].maximum_mass_flow, plant.fluids["off_gas"]
    off_gas = plant.streams["1"].maximum_mass_flow if off_gas is None else off_gas

    def shut(flow, stream):
        return closed_outlet.relief_load(flow, stream)

    def uncondensed(T):
        return shut(off_gas, Gas(P1, T, molar_mass=fluid.molar_mass, k=fluid.k, Z=fluid.Z))

    low, export = pressures(plant, plant["V-104"])[0], plant.streams["7"].maximum_mass_flow
    warm, onward, valve = (
        Gas(P1, cooler.hot_in, molar_mass=fluid.molar_mass, k=fluid.k, Z=fluid.Z),
        Gas(low, cooler.hot_in, molar_mass=fluid.molar_mass, k=fluid.k),
        plant["PV-101"],
    )
    wide = control_valve_opens.gas_load(warm, onward, valve.rated_Kv, valve.xT).mass_flow
    passed = min(off_gas, wide)
    warm_and_whole = ("P-101 stopped", "cooling_water lost")

    absorbed = rich_gas(plant, P1, plant.fluids["hydrogen_rich"].Z)
    pump = plant["P-101"]
    fed = dead_headed(plant, pump, pump.highest_suction_pressure_gauge, P1)
    full = overfilling.relief_load(fed.mass_flow, fed.stream, working=fed.working)
    rule, no_absorbent = power.Consequence, ("FV-101 closed", "P-101 stopped")
    return [
        rule("PSV-103", shut(min(gas, off_gas), absorbed), ("PV-101 closed",), no_absorbent),
        rule("PSV-103", uncondensed(cooler.hot_out), ("PV-101 closed", "FV-101 closed")),
        rule("PSV-103", uncondensed(cooler.hot_in), ("PV-101 closed", "cooling_water lost")),
        rule("PSV-103", shut(off_gas - passed, warm), warm_and_whole, ("PV-101 closed",)),
        rule(
            "PSV-105",
            closed_outlet.relief_load(passed, onward, export),
            warm_and_whole,
            ("PV-101 closed",),
        ),
        rule("PSV-103", full, ("LV-101 closed",), no_absorbent),
        rule("PSV-101", fed, ("FV-101 closed",), ("P-101 stopped",)),
    ]


def _low_pressure(plant):
    """PSV-104: V-102 fills behind LV-102; PSV-100: P-101 stands and 60 barg leak back."""
    rule = power.Consequence
    back = drums.leaks_back(plant).values()
    return [
        rule("PSV-104", drums.fills_up(plant), ("LV-102 closed",), ("LV-101 closed",)),
        *(rule("PSV-100", load, ("P-101 stopped",), ("FV-101 closed",)) for load in back),
    ]


def _reactor(plant, batch_temperature, lasts):
    """PSV-110, where the batch would run away before the failure ends."""
    item = plant["R-101"]
    T = item.operating_temperature if batch_temperature is None else batch_temperature
    if time_to_runaway(plant, T) > lasts:
        return []
    load = runaway(plant, T)
    rule = power.Consequence
    return [rule("PSV-110", load, (w,)) for w in ("R-101 agitator stopped", "cooling_water lost")]


def _batch(plant, temperature):
    item, valve = plant["R-101"], plant["PSV-110"]
    frequency, activation = runaway_reaction.fit_arrhenius(
        item.test_temperatures, item.test_rates, item.adiabatic_rise, item.test_temperatures[0]
    )
    opens = plant.absolute(valve.set_pressure_gauge)
    top = min(pressures(plant, item)[0], _LEUNG * opens)
    return reactor.Batch(
        item.batch_mass, item.volume, "n-Hexane", item.heat_capacity, temperature,
        item.adiabatic_rise, frequency, activation, opens, top,
    )  # fmt: skip


@lru_cache(maxsize=256)
def _lift_time(batch):
    run = reactor.run_away(batch, _DAYS, 3000)
    opens = run.pressure >= batch.set_pressure
    return float(run.time[opens.argmax()]) if opens.any() else float("inf")


def time_to_runaway(plant, temperature):
    """Time from the loss of cooling and mixing of R-101 until PSV-110 opens [s].

    Parameters: plant; temperature of the batch then [K]. Validity: adiabatic, as `reactor`.
    """
    return _lift_time(_batch(plant, temperature))


@lru_cache(maxsize=64)
def _runaway_load(batch):
    P, c, rise = batch.set_pressure, batch.liquid_heat_capacity, batch.adiabatic_rise
    liquid, vapor = State("n-Hexane", P, quality=0.0), State("n-Hexane", P, quality=1.0)
    hot = State("n-Hexane", batch.full_pressure, quality=0.0).temperature
    ends = liquid.temperature, hot
    rates = [rise * batch.rate(T, (T - batch.temperature) / rise) for T in ends]
    v, gap = batch.volume / batch.mass, vapor.specific_volume - liquid.specific_volume
    stream = TwoPhase.from_properties(
        P, v, temperature=liquid.temperature, quality=(v - liquid.specific_volume) / gap,
        vapor_specific_volume=vapor.specific_volume, specific_volume_change=gap,
        latent_heat=vapor.latent_heat, liquid_heat_capacity=c,
    )  # fmt: skip
    heat = runaway_reaction.reaction_heat(c, *rates)
    return runaway_reaction.relief_load(batch.mass, batch.volume, heat, vapor.latent_heat, gap, c,
                                        stream, hot - liquid.temperature)  # fmt: skip


def runaway(plant, temperature):
    """Load of R-101 that runs away adiabatically from a temperature [K]: two phases.

    Highest pressure that of its MAWP, held to 1.3 times set pressure, well within Leung's equation.
    """
    return _runaway_load(_batch(plant, temperature))


def failures(plant):
    """Words of what fails in every event, air stored and air used up told apart.

    Parameters: plant. Returns {event: frozenset of words as `power.effects`}. The loss of air as a
    utility is the plant-wide event, and stands there once.
    """
    air = power.effects(plant, power.Event("air plant-wide"))
    found = {}
    for event in power.events(plant):
        lost = power.effects(plant, event)
        if event.target == "instrument_air":
            continue
        if event.kind in ("bus", "site") and air <= lost:
            found[f"{event}{STORED}"] = lost - air
        found[str(event)] = lost
    return found


def loads_of(plant, rules, header="FH"):
    """Loads of the valves that lift into one header, event by event.

    Parameters: plant; rules, list of `power.Consequence`; header, its tag. Returns {event:
    {valve: `ReliefLoad`}}; an event in which none lifts has an empty dict.
    """
    valves = [v for v in dict.fromkeys(c.valve for c in rules) if plant[v].destination == header]
    table = {}
    for event, lost in failures(plant).items():
        found = {v: power.relief_load(v, lost, rules) for v in sorted(valves)}
        table[event] = {v: load for v, load in found.items() if load and load.mass_flow > 0}
    return table


def flows(loads, liquid=False):
    """Mass flows of `loads_of` [kg/s]: what goes down the header, or the liquid for its drum.

    Parameters: loads; liquid True for liquid alone, False for all else. Returns {event: {valve:
    kg/s}} without the events in which there is none.
    """
    kept = {
        event: {v: x.mass_flow for v, x in found.items() if (x.stream.phase == "liquid") == liquid}
        for event, found in loads.items()
    }
    return {event: found for event, found in kept.items() if found}


def sized(plant, loads):
    """Loads of one event on their relief valves, each against the header with it alone open.

    Parameters: plant; loads, {valve: `ReliefLoad`}. Returns {valve: `Sizing`}.
    """
    found = {}
    for tag, load in loads.items():
        back, _ = plant.header_pressures(tag)
        found[tag] = sizing.size(load, plant.device(tag), back)
    return found


def verdict(plant, tag, required_area):
    """Words on an installed valve against the area it needs [m2], and on whether it opens in time.

    A failure lifts several valves together, so the header may stand at its highest pressure.
    """
    v = safeguard.Valve.of(plant, tag)
    wrong = []
    if not large_enough(required_area, min(v.areas)).holds:
        wrong.append("too small")
    opens = safeguard.opening(v)
    if opens.verdict == safeguard.FAILS:
        wrong.append("opens too late against the header")
    elif opens.verdict == safeguard.UNKNOWN:
        wrong.append("not known if it opens in time")
    return f"installed {v.designation}" + (": " if wrong else "") + ", ".join(wrong)
