"""Failures of power and air in the demo plant: which relief valves lift together, and how much.

Rests on judgement, and says so: the off-gas compressor outside runs on; air that is stored lasts
for a while; an operator stops what takes longer than half an hour (V-103 full with LV-104 shut).
"""

from functools import lru_cache

from relieflib import safeguard, sizing
from relieflib.causes import power_and_air_failure as power, runaway_reaction
from relieflib.causes.shared import reactor
from relieflib.demo.common import cases_in, of_case, pressures
from relieflib.study import events as together
from relieflib.valve_questions import large_enough

_DAYS = 30 * 86_400.0  # as long as a batch is followed
STORED, cause_of, failures = together.STORED, together.cause_of, together.failures


def consequences(plant, steam_gauge=None, remaining_cooling=None, off_gas=None,
                 batch_temperature=None, lasts=4 * 3600.0):  # fmt: skip
    """Every relief load that a failure of power or air brings, as `power.Consequence`.

    Those of the plant's file, with what a reader changes of it; and R-101, where its batch would
    run away before the failure ends. Parameters: plant; steam_gauge, highest pressure of the steam
    header [Pa gauge]; remaining_cooling of E-102 without its water [W]; off_gas that the compressor
    still brings into V-101 at relieving pressure [kg/s]; batch_temperature of R-101 when its
    cooling stops [K]; lasts, how long the failure goes on [s]. None: as the plant's file. Returns a
    list.
    """
    other = plant.with_values(
        {("utilities", "steam", "highest_pressure_gauge"): steam_gauge,
         ("streams", "1", "maximum_mass_flow"): off_gas}
    )  # fmt: skip
    found = []
    for case in (case for case in cases_in(other) if case.when):
        changed = {}
        if (case.item, case.name) == ("C-101", "loss of cooling"):
            changed = {"remaining_cooling": remaining_cooling}
        load = of_case(other, case.item, case.name, changed)
        if load.mass_flow == 0.0:  # PV-101 passes all that comes
            continue
        valve = case.valve or other.protecting(case.item)[0].tag
        found += together.consequences(valve, load, case)
    return found + _reactor(plant, batch_temperature, lasts)


def _reactor(plant, batch_temperature, lasts):
    """PSV-110, where the batch would run away before the failure ends."""
    item = plant["R-101"]
    T = item.operating_temperature if batch_temperature is None else batch_temperature
    if time_to_runaway(plant, T) > lasts:
        return []
    load = of_case(plant, "R-101", "runaway reaction", {"start_temperature": T})
    rule = power.Consequence
    return [rule("PSV-110", load, (w,)) for w in ("R-101 agitator stopped", "cooling_water lost")]


def _batch(plant, temperature):
    item, valve = plant["R-101"], plant["PSV-110"]
    frequency, activation = runaway_reaction.fit_arrhenius(
        item.test_temperatures, item.test_rates, item.adiabatic_rise, item.test_temperatures[0]
    )
    opens = plant.absolute(valve.set_pressure_gauge)
    top = min(pressures(plant, item)[0], runaway_reaction.HIGHEST_OVER_SET * opens)
    return reactor.Batch(
        item.batch_mass, item.volume, "n-Hexane", item.heat_capacity, temperature,
        item.adiabatic_rise, frequency, activation, opens, top, atmosphere=plant.atmosphere,
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


def loads_of(plant, rules, header="FH"):
    """Loads of the valves that lift into one header, event by event, as `study.events.loads_of`."""
    return together.loads_of(plant, rules, header)


@lru_cache(maxsize=4)
def all_loads(plant):
    """Loads of every event of power and air by valve, those of all headers together.

    Parameters: plant. Returns {event: {valve: `ReliefLoad`}}.
    """
    return together.loads_of(plant, consequences(plant))


def rungs(plant, valves):
    """Rungs of a ladder that failures of power and air bring: of each cause the largest area.

    Parameters: plant; valves, tags of what protects the item. Returns {cause and event in words:
    `ReliefLoad`}.
    """
    return together.rungs(all_loads(plant), valves)


def flows(loads, liquid=False):
    """Mass flows of `loads_of` [kg/s]: what goes down the header, or the liquid for its drum.

    Parameters: loads; liquid True for liquid alone, False for all else. Returns {event: {valve:
    kg/s}} without the events in which there is none.
    """
    kept = {
        event: {v: x.mass_flow for v, x in found.items() if _is_liquid(x.stream) == liquid}
        for event, found in loads.items()
    }
    return {event: found for event, found in kept.items() if found}


def _is_liquid(stream):
    """True for liquid, also with gas that it brought along: all of it is counted for the drum."""
    given = (line.inputs for line in getattr(stream, "origin", ()))
    return stream.phase == "liquid" or any("void_fraction" in inputs for inputs in given)


def sized(plant, loads):
    """Loads of one event on their relief valves, each against the header as the event makes it.

    Parameters: plant; loads, {valve: `ReliefLoad`}. Returns {valve: `Sizing`}.
    """
    found = {}
    for tag, load in loads.items():
        found[tag] = sizing.size(load, plant.device(tag), plant.back_pressure(tag, load))
    return found


def verdict(plant, tag, required_area, load=None):
    """Words on an installed valve against the area it needs [m2], and on whether it opens in time.

    A failure lifts several valves together, so the header may stand at its highest pressure: with a
    load, that of the events that bring it, where the plant knows its events.
    """
    v = safeguard.Valve.of(plant, tag)
    v = v if load is None else v.against(load)
    wrong = []
    if not large_enough(required_area, min(v.areas)).holds:
        wrong.append("too small")
    opens = safeguard.opening(v)
    if opens.verdict == safeguard.FAILS:
        wrong.append("opens too late against the header")
    elif opens.verdict == safeguard.UNKNOWN:
        wrong.append("not known if it opens in time")
    return f"installed {v.designation}" + (": " if wrong else "") + ", ".join(wrong)
