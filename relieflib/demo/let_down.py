"""The let-down of the demo plant worked whole: PV-101 fails open into V-104; valve, trip, or both.

Invented, and said to be: the trip XV-101 closes in front of PV-101 on high pressure of V-104, by
its own transmitter, logic and valve. Its rates, like all of them, are examples to overwrite. The
wall of V-104 may see its relieving pressure: that is the limit of the time that the trip has.
"""

from dataclasses import replace
from functools import lru_cache

from scipy.optimize import brentq

from relieflib import rules, safeguard
from relieflib.demo.common import high_gas, of_case, rich_gas, shell
from relieflib.errors import InputError
from relieflib.kinds import YEAR
from relieflib.position.reasons import reason_of
from relieflib.pressure_in_time import contents, course, sources
from relieflib.protection import examples, gates, groups, layers, opening, response, trips
from relieflib.protection.gates import Parts
from relieflib.protection.groups import Channel
from relieflib.sizing import rated_flow

CAUSE, BYPASS = "control valve opens", "control valve and bypass open"
SHUT = "closed outlet"
VALVE, TRIP, HEADER_PIPE = "PSV-105", "XV-101", "MH-1"
HOUR = 3600.0
SHARED = {"sensor": "PT-104", "logic": "control system", "valve": "PV-101",
          "operator": "board operator", "plug": "nozzle of V-104", "power": "instrument air",
          }  # fmt: skip
# what each rests on as drawn
LOOP = Parts.only(sensor=("PT-104",), logic=("control system",), valve=("PV-101",))
OUTLET = Parts.only(operator=("field operator",), valve=("outlet valve of V-104",))
RELIEF = Parts.only(valve=(VALVE,), plug=("nozzle of V-104",))
OWN = Parts.only(
    sensor=("PZT-104",), logic=("trip logic",), valve=(TRIP,), plug=("tap of PZT-104",)
)


@lru_cache(maxsize=4)
def load_of(plant):
    """Load of the let-down on PSV-105, that of the ladder of V-104; `ReliefLoad`."""
    return of_case(plant, "V-104", CAUSE)


def case_in_time(plant, bypass=False):
    """V-104 with its outlet shut and PV-101 wide open, no device: a `course.Case`.

    Parameters: plant; bypass, True with the bypass of PV-101 open too. The gas behind the valve is
    as warm as before it.
    """
    item, valve, source = plant["V-104"], plant["PV-101"], high_gas(plant)
    limit, start = (
        plant.relieving_pressure("V-104"),
        plant.absolute(item.operating_pressure_gauge),
    )
    gas, body = rich_gas(plant, limit), shell(item)
    vessel = contents.IdealGas(body.volume_of(body.top), start, item.operating_temperature,
                               molar_mass=gas.molar_mass, k=gas.k, Z=gas.Z)  # fmt: skip
    Kv = valve.largest_trim_Kv + (valve.bypass_Kv if bypass else 0.0)
    came = sources.control_valve_opens(source, Kv, valve.xT, (start, source.pressure))
    return course.Case(vessel, came, limit_pressure=limit)


def shut_in_time(plant):
    """V-104 with its outlet shut and PV-101 at work, no device: a `course.Case`.

    Parameters: plant. Its load is that of the closed outlet in the ladder of V-104, as warm as
    behind PV-101 wide open.
    """
    wide, load = case_in_time(plant), of_case(plant, "V-104", SHUT)
    came = sources.closed_outlet(load.mass_flow, wide.source.temperature)
    return replace(wide, source=came)


def pressure_with(plant, part, bypass=False):
    """Pressure at which V-104 settles with only part of the area of PSV-105 at work [Pa absolute].

    Parameters: plant; part of its effective area, as where one of two valves that share stays shut;
    bypass as `case_in_time`. Never below its set pressure. Raises InputError for no part.
    """
    if not 0 < part <= 1:
        raise InputError(f"part = {part!r}: above 0, 1 at most")
    case, source = case_in_time(plant, bypass), high_gas(plant)
    valve, back = safeguard.Valve.of(plant, VALVE), plant.header_pressures(VALVE)[1]
    gas = rich_gas(plant, case.limit_pressure)

    def left(P):
        now = contents.Now(P, gas.temperature, 1.0, 0.0, 1.0, 0.0)
        device = valve.device(valve.sets[0])
        passed = rated_flow(replace(gas, pressure=P), device, part * valve.areas[0], back)
        return case.source.gas(now) - passed

    low = plant.absolute(valve.sets[0])
    return low if left(low * 1.001) <= 0 else brentq(left, low * 1.001, source.pressure * 0.999)


def trip_pfd(test_interval=YEAR, common_cause=0.05, votes="2oo3", exact=True,
             valve_rate=7e-7 / HOUR):  # fmt: skip
    """PFD of the trip: transmitters by votes, logic, one valve; rates are examples of ours.

    Parameters: test_interval of all [s]; common_cause of the transmitters [-]; votes; exact, False
    for the simplified form; valve_rate, undetected failures of XV-101 [1/s]. Returns {part: PFD},
    'all' among them.
    """
    form = groups.exact_average if exact else groups.average
    b = common_cause if groups.VOTES[votes][0] < groups.VOTES[votes][1] else 0.0
    found = {
        "sensors": form(votes, Channel(3e-7 / HOUR, test_interval), b),
        "logic": form("1oo1", Channel(1e-8 / HOUR, test_interval)),
        "valve": form("1oo1", Channel(valve_rate, test_interval)),
    }
    return found | {"all": groups.in_series(*found.values())}


def valve_pfd(test_interval=5 * YEAR, kind="spring", service="mild"):
    """PFD of PSV-105, averaged over its interval [s]: default curve, an example to overwrite."""
    return opening.mean_stays_shut(test_interval, opening.characteristic_life(kind, service))


def trip(plant, closes=None, trip_pressure=None, shared=(), demand_failure=None, wanted=None,
         code=None, time_share=rules.RESPONSE_SHARE.value):  # fmt: skip
    """The trip of the let-down as `protection.trips.Trip`.

    Parameters: plant; closes, a `Response`, None for 1 s, 0.5 s and a stroke of 3 s; trip_pressure
    [Pa absolute], None for 14 barg; shared, sorts of `SHARED` that it shares with the control loop;
    demand_failure, wanted, PFD [-]; code, a `Gate`; time_share [-] that it may use. It acts on
    `CAUSE` and on `SHUT`, whose flow all comes through XV-101; with the bypass open it does not
    stop all of the flow, and so does not act on that cause.
    """
    P = plant.absolute(14e5) if trip_pressure is None else trip_pressure
    cases = {CAUSE: case_in_time(plant), SHUT: shut_in_time(plant)}
    times = {c: course.process_safety_time(case, trip_pressure=P) for c, case in cases.items()}
    return trips.Trip(
        TRIP, "V-104", acts_on=tuple(cases), parts=shares(shared),
        response=closes or response.Response(1.0, 0.5, 3.0), safety_times=times,
        causes={CAUSE: cause_parts(shared), SHUT: OUTLET},
        demand_failure=trip_pfd()["all"] if demand_failure is None else demand_failure,
        wanted={} if wanted is None else dict.fromkeys(cases, wanted), code=code,
        time_share=time_share,
    )  # fmt: skip


def shares(sorts):
    """Parts of the trip with a tick for each sort that it shares with the loop; `Parts`."""
    for sort in sorts:
        if sort not in SHARED:
            raise InputError(f"sort '{sort}': {', '.join(SHARED)}")
    return replace(OWN, **{s: (*(getattr(OWN, s)), SHARED[s]) for s in sorts})


def cause_parts(sorts=()):
    """Parts of the control loop that is the cause, those it shares among them; `Parts`."""
    # a plug in the nozzle is what trip and valve share, not the loop
    more = {s: (SHARED[s],) for s in sorts if SHARED[s] not in getattr(LOOP, s) and s != "plug"}
    return replace(LOOP, **{s: (*getattr(LOOP, s), *tags) for s, tags in more.items()})


def scenario(plant, which, trip_of=None, initiating_frequency=None, shared=(), valve_chance=None,
             mended=False):  # fmt: skip
    """The let-down as a `layers.Scenario`: which is 'valve', 'trip' or 'both'.

    Parameters: plant; which; trip_of, a `Trip`, None for that of `trip`; initiating_frequency
    [1/s], None for the example of a control loop; shared as `trip`; valve_chance, PFD of PSV-105
    [-]; mended as `covers`. The valve counts only where `safeguard.cover` finds that it covers
    this cause, the trip only where it acts on it, in time.
    """
    if which not in ("valve", "trip", "both"):
        raise InputError(f"which = {which!r}: valve, trip or both")
    f = initiating_frequency
    f = examples.all_of("event")["control loop failure"].chosen / YEAR if f is None else f
    one = trip(plant, shared=shared) if trip_of is None else trip_of
    chance = valve_pfd() if valve_chance is None else valve_chance
    stops = trips.beside(one, CAUSE, load_of(plant))
    acts = layers.Layer(f"trip {TRIP}", one.demand_failure, layers.TRIP, one.parts, verdict=stops)
    opens = layers.Layer(
        f"valve {VALVE}", chance, layers.VALVE, RELIEF, verdict=covers(plant, mended)
    )
    taken = {"valve": (opens,), "trip": (acts,), "both": (acts, opens)}[which]
    return layers.Scenario(f"PV-101 fails open, {which}", f, cause_parts(shared), taken,
                           cause=CAUSE)  # fmt: skip


@lru_cache(maxsize=8)
def covers(plant, mended=False):
    """Verdict on PSV-105 against the let-down, from the safeguard's own judge.

    Parameters: plant; mended, True as if its inlet and outlet lines had been made wide enough, in
    words; as drawn both take more than they may.
    """
    wide = dict(inlet="widened", outlet="widened") if mended else {}
    valve = safeguard.Valve.of(plant, VALVE, position=reason_of(plant, VALVE), **wide)
    return safeguard.cover(valve, load_of(plant)).verdict


def code_gate(plant, answers=(), highest_gauge=None):
    """Gate 1 for V-104 without PSV-105: the trip fails, and V-104 sees what V-101 has.

    Parameters: plant; answers, {condition: True, False or None}; highest_gauge with the trip at
    work [Pa gauge], None for not known. The trip that fails is a credible scenario as long as
    nobody has shown that it is not. Two causes of V-104 alone: the code asks for all credible ones.
    """
    item = plant["V-104"]
    top = plant.gauge(high_gas(plant).pressure)
    tops = {}
    for cause in (CAUSE, SHUT):
        tops |= {f"{cause}, trip works": highest_gauge, f"{cause}, trip fails": top}
    return gates.system_design(item.mawp_gauge, tops, answers=answers)


def header(plant):
    """What the let-down does to the flare header, with the trip failed and with it at work.

    Parameters: plant. Returns {words: (flow of PSV-105 [kg/s], pressure before the main header [Pa
    absolute])}. The header stays sized for the first.
    """
    net, event = plant.faced("FH").network, f"V-104: {CAUSE}"
    load = load_of(plant).mass_flow
    idle = plant.absolute(plant.headers["FH"].lowest_pressure_gauge)
    there = float(net.inlet_pressure[HEADER_PIPE][net.at(event)])
    return {"trip fails, or there is none": (load, there), "trip works": (0.0, idle)}
