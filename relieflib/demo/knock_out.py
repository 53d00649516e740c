"""What the demo plant sends to its knock-out drum, and what may blow through its drain drum.

Every stream is taken as it is BEHIND its valve, at the lowest pressure of the header: there it
flashes most, and its gas takes the most room. A mixture of which the parts are not known counts in
full both as gas and as liquid. What nobody can hold (liquid pushed out by gas blown into a full
V-102, 742 t/h) is not among the events: the levels must keep it from happening.
"""

import numpy as np

from relieflib import demo, set_pressure
from relieflib.causes import control_valve_opens, exterior_fire_liquid as fire
from relieflib.demo import events
from relieflib.disposal.drum import Arrival
from relieflib.geometry import Vessel
from relieflib.lines.line import Line, Part, runs
from relieflib.lines.line_fluids import behind_valve, discharge_flux
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import (
    State,
    critical_pressure,
    latent_heat,
    saturation_temperature,
    surface_tension,
)
from relieflib.units import GAS_CONSTANT

VISCOSITY = 1.2e-5  # Pa s of every gas: on the high side, droplets fall a little slower
_GLOBE = {"xT": 0.72, "FL": 0.90}  # typical of a globe valve wide open, no source
# what no drum can hold, tonnes of liquid pushed out by gas: the levels must keep it from happening
NOT_HELD = ("V-102: gas blow-by, V-102 full", "E-101: tube rupture, water pushed out")


def arrivals(plant, header="FH"):
    """Every event of `demo.releases` as the drum of a header sees it.

    Parameters: plant; header, its tag. Returns a list of `Arrival`, those of `NOT_HELD` left out.
    """
    found = []
    for event, lift in demo.releases(plant).items():
        ours = {tag: load for tag, load in lift.items() if plant[tag].destination == header}
        if ours and event not in NOT_HELD:
            found.append(arrival(plant, event, ours, header=header))
    return found


def arrival(plant, name, loads, pressure=None, header="FH"):
    """Loads of one event as one `Arrival`: gas and liquid behind their valves, added up.

    Parameters: plant; name in words; loads, {valve: `ReliefLoad`}; pressure in the drum, the
    lowest of its header by default [Pa]. Returns `Arrival`. Liquid and droplets as n-hexane,
    propane alone where all liquid is propane.
    """
    low = plant.absolute(plant.headers[header].lowest_pressure_gauge)
    P = low if pressure is None else pressure
    parts = [_parts(plant, tag, load, P) for tag, load in loads.items()]
    gas, liquid = (float(sum(p[i] for p in parts)) for i in (0, 1))
    volume = sum(p[0] / p[2] for p in parts)
    propane = liquid > 0 and all(p[4] == "Propane" for p in parts if p[1] > 0)
    fluid, T = ("Propane", min(p[3] for p in parts)) if propane else ("n-Hexane", 313.15)
    wet = State(fluid, P, quality=0.0) if propane else State(fluid, P, temperature=T)
    batch = plant["R-101"].batch_mass if list(loads) == ["PSV-110"] else None
    return Arrival(
        name, gas, liquid, vapor_density=gas / volume if gas else 1.0,
        liquid_density=wet.density, vapor_viscosity=VISCOSITY, liquid_mass=batch,
        temperature=float(min(p[3] for p in parts)), liquid_viscosity=wet.viscosity,
        surface_tension=surface_tension(fluid, T),
    )  # fmt: skip


def _parts(plant, tag, load, P):
    """Gas and liquid [kg/s], density of the gas [kg/m3], temperature [K] and fluid of one load."""
    W, s = load.mass_flow, load.stream
    if s.phase == "gas":
        return W, 0.0, P * s.molar_mass / (GAS_CONSTANT * s.temperature), s.temperature, ""
    if s.phase == "liquid":
        s = _as_real(plant[plant[tag].protects], s)
    if s.phase == "real fluid":
        return _real(W, s, P)
    T = saturation_temperature("n-Hexane", P)
    if events._is_liquid(s):  # liquid with the gas that it brought along: stream 9
        gas, T = plant.streams["9"].maximum_mass_flow, plant["V-102"].operating_temperature
        light = plant.fluids["lp_gas"].molar_mass
        return gas, W - gas, P * light / (GAS_CONSTANT * T), T, "n-Hexane"
    return W, W, State("n-Hexane", P, quality=1.0).density, T, "n-Hexane"


def _as_real(item, stream):
    """A liquid at the temperature of its item, as n-hexane: hot naphtha boils behind the valve."""
    T = getattr(item, "bottom_temperature", getattr(item, "operating_temperature", 313.15))
    return RealFluid("n-Hexane", stream.pressure, temperature=T)


def _real(W, stream, P):
    b = behind_valve(stream, P)
    x, fluid = b.quality, stream.fluid
    if x == 0.0:
        return 0.0, W, 1.0, b.temperature, fluid
    at = {"temperature": b.temperature} if x == 1.0 else {"quality": 1.0}
    return x * W, (1.0 - x) * W, State(fluid, P, **at).density, b.temperature, fluid


# ---- the drain drum


def drain_relieving(plant, fire_case=False):
    """Relieving pressure of the drain drum [Pa absolute]; fire_case, with 21 %."""
    item = plant.of("disposal.drain_drums")[0]
    return set_pressure.relieving_pressure(
        item.mawp_gauge, fire=fire_case, atmosphere=plant.atmosphere
    )


def drain_loads(plant, flow_coefficient=None):
    """What overpressures the drain drum, by cause in words: a drain left open, and a fire.

    Parameters: plant; flow_coefficient of the drain valve [Kv], that of the file by default.
    Returns {words: `ReliefLoad`}. The source stands at its MAWP; liquid first, which boils in the
    drum: only its vapour leaves; then its gas.
    """
    item, P1 = plant.of("disposal.drain_drums")[0], drain_relieving(plant)
    source = plant[item.drain_source]
    Kv = item.drain_Kv if flow_coefficient is None else flow_coefficient
    fluid = plant.fluids[source.fluid].coolprop
    top, T = plant.absolute(source.mawp_gauge), source.operating_temperature
    liquid = State(fluid, top, temperature=T)
    x = behind_valve(RealFluid(fluid, top, temperature=T), P1).quality
    gas = _gas_of(State(fluid, P1, quality=1.0), P1)
    up = Liquid(top, liquid.density, saturation_pressure=liquid.saturation_pressure)
    above = _gas_of(State(fluid, top, quality=1.0), top)
    return {
        "drain left open, liquid boils": control_valve_opens.liquid_load(
            up, gas, Kv, _GLOBE["FL"], critical_pressure(fluid), x),
        "drain left open, gas after it": control_valve_opens.gas_load(above, gas, Kv, _GLOBE["xT"]),
        "exterior fire": _fire(plant, item),
    }  # fmt: skip


def _gas_of(state, P):
    return Gas(P, state.temperature, molar_mass=state.molar_mass, k=state.k, Z=state.Z)


def _fire(plant, item):
    shell = Vessel(item.orientation, item.diameter, length=item.length, head_type=item.head_type)
    steps = fire.heat_working(shell, item.normal_level, item.elevation)
    P1, fluid = drain_relieving(plant, True), plant.fluids[item.fluid].coolprop
    state = State(fluid, P1, quality=1.0)
    return fire.relief_load(steps[-1].value, latent_heat(fluid, P1), _gas_of(state, P1), steps)


def vent_line(plant):
    """The vent of the drain drum as a `Line`: entrance, pipe, long elbows, exit into the header."""
    item = plant.of("disposal.drain_drums")[0]
    bore = item.vent_diameter
    return Line([Part("entrance flush", bore), Part("pipe", bore, length=item.vent_length),
                 Part("long elbow", bore, count=item.vent_elbows)])  # fmt: skip


def vent_flow(plant, gas, back_pressure):
    """Flow that the open vent passes from the drum [kg/s]; gas at relieving pressure, a `Gas`.

    Parameters: plant; gas; back_pressure in the flare header [Pa absolute].
    """
    line = vent_line(plant)
    heads = sum(float(np.asarray(run.heads)) for run in runs(line, 1.0))
    flux = discharge_flux(
        gas.pressure, gas.temperature, gas.molar_mass, gas.k, heads, gas.Z, back_pressure
    )
    return flux * line.parts[0].area
