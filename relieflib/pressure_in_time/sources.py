"""What each cause of overpressure brings, as a function of the vessel's pressure.

One function a cause, named as its module: it asks that module for its load over a net of pressures
and reads between (`Table`), so that the load in time IS the load that sizes the valve, at relieving
pressure and on the way there. Gas comes in with its own temperature, liquid by volume, heat as
heat. What a cause's module leaves out, such as a trip, is left out here.
"""

from bisect import bisect_right
from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib import exchanger
from relieflib.causes import (
    abnormal_heat_input as heat_input,
    closed_outlet as outlet,
    control_valve_opens as control,
    exterior_fire_gas as dry_fire,
    exterior_fire_liquid as fire,
    loss_of_cooling as cooling,
    overfilling as filling,
    power_and_air_failure as failure,
    tank_breathing as breathing,
    tube_rupture as rupture,
)
from relieflib.errors import InputError, not_negative, one_number, positive
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.properties import saturation_temperature
from relieflib.units import GAS_CONSTANT

POINTS = 401  # of a table over pressure
_WALL_MARGIN = 1.0  # guard: K below the wall's limit where the fire equation ends


class Table:
    """A function of one quantity read off a net, straight between its points, held at its ends."""

    def __init__(self, points, values):
        self.x = np.asarray(points, dtype=float).tolist()
        self.y = (np.asarray(values, dtype=float) + 0.0 * np.asarray(self.x)).tolist()
        if any(v != v for v in self.y):
            raise InputError("source: a load of NaN; look at the inputs of the cause")

    def __call__(self, x):
        """Value at x, a float."""
        xs, ys = self.x, self.y
        if x <= xs[0]:
            return ys[0]
        if x >= xs[-1]:
            return ys[-1]
        i = bisect_right(xs, x)
        return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])


def over_pressure(load, pressures):
    """A `Table` of a cause's flow over the vessel's pressure.

    Parameters: load, function of an array of pressures [Pa absolute] that gives the flow of each;
    pressures, (lowest, highest) of the vessel, or those and the relieving pressure, which becomes a
    point of the net. Returns `Table`. Raises InputError for pressures that do not rise, or as the
    load does. Source: as the load's module.
    >>> over_pressure(lambda P: 3.0 - 1e-6 * P, (1e5, 2e6))(1e6)
    2.0
    """
    ends = np.asarray(positive(pressures=pressures), dtype=float)
    if ends.ndim != 1 or ends.size < 2 or np.any(np.diff(ends) <= 0):
        raise InputError("pressures: give (lowest, highest), rising, of what the vessel may see")
    P = np.unique(np.concatenate([np.linspace(ends[0], ends[-1], POINTS), ends]))
    return Table(P, load(P))


def _constant(value):
    value = one_number(value=value)
    return lambda now: value


@dataclass(frozen=True)
class Source:
    """What a cause brings: each a function of the vessel, a `contents.Now`, or None.

    cause, the name of its module; gas, mass flow of gas or vapour [kg/s], and temperature [K] of
    it, None where it is as warm as the vessel, or enthalpy [J/kg] as CoolProp counts it; liquid,
    volume flow of liquid [m3/s]; heat [W]. switch_time [s], where liquid comes first and gas alone
    after it (a level that is lost, a tube that was full), None where all come together.
    """

    cause: str
    _: KW_ONLY
    gas: object = None
    liquid: object = None
    heat: object = None
    temperature: float | None = None
    enthalpy: float | None = None
    switch_time: float | None = None

    def __post_init__(self):
        for name in ("temperature", "switch_time"):
            if getattr(self, name) is not None:
                positive(**{name: getattr(self, name)})

    def at(self, now, switched=False):
        """Gas [kg/s], liquid [m3/s] and heat [W] with the vessel as it is now."""
        gas, liquid, heat = self.gas, self.liquid, self.heat
        if self.switch_time is not None:
            gas, liquid = (gas, None) if switched else (None, liquid)
        return tuple(brings(now) if brings else 0.0 for brings in (gas, liquid, heat))


def _of_pressure(load, pressures):
    """A function of the vessel from a load over pressure."""
    table = over_pressure(load, pressures)
    return lambda now: table(now.pressure)


# ------------------------------------------------------------------ flow that comes in
def closed_outlet(inflow, temperature=None, outflow=0.0, pressures=None):
    """Source of a closed outlet: what flows in, less what still leaves.

    Parameters: inflow [kg/s], a number, or a function of an array of pressures [Pa absolute] such
    as `SourceCurve.mass_flow` or `inflow_at_relieving`; temperature of it [K], None: as the vessel;
    outflow [kg/s]; pressures as `over_pressure`, for a function. Returns `Source` of gas. Raises
    InputError as `closed_outlet.relief_load`. Source: as that; API 521 (2020), 4.4.2.
    >>> closed_outlet(3.0, outflow=1.0).at(None)
    (2.0, 0.0, 0.0)
    """

    def load(flow):
        return outlet.relief_load(flow, None, outflow).mass_flow

    if not callable(inflow):
        return Source("closed_outlet", gas=_constant(load(inflow)), temperature=temperature)
    if pressures is None:
        raise InputError("pressures: give (lowest, highest) for an inflow that follows them")
    gas = _of_pressure(lambda P: load(inflow(P)), pressures)
    return Source("closed_outlet", gas=gas, temperature=temperature)


def pump(curve, suction_pressure, density, pressures, elevation=0.0):
    """Source of a pump whose discharge is closed: liquid by its curve.

    Parameters: curve, a `PumpCurve`; suction_pressure [Pa absolute]; density [kg/m3]; pressures as
    `over_pressure`; elevation [m]. Returns `Source` of liquid. Raises InputError as
    `closed_outlet.pump_load`. Source: as that.
    """
    one_number(suction_pressure=suction_pressure, density=density, elevation=elevation)

    def load(P):
        return outlet.pump_load(curve, suction_pressure, P, density, elevation).mass_flow / density

    return Source("closed_outlet", liquid=_of_pressure(load, pressures))


def control_valve_opens(source, flow_coefficient, xT, pressures, temperature=None, **more):
    """Source of a control valve that opens wide in gas service.

    Parameters: source, `Gas` upstream at its highest pressure; flow_coefficient, Kv; xT [-];
    pressures as `over_pressure`; temperature [K] of the gas behind the valve, None: that of the
    source; more as `control_valve_opens.gas_load`. Returns `Source` of gas. Raises InputError,
    source: as that; API 521 (2020), 4.4.8.
    >>> from relieflib.pressure_in_time.contents import Now
    >>> high = Gas(70e5, 313.15, molar_mass=18.0, k=1.28, Z=0.88)
    >>> came = control_valve_opens(high, 20.0, 0.7, (5e5, 8e5, 69e5))
    >>> round(came.gas(Now(8e5, 313.15, 1.0, 0.0, 1.0, 0.0)) * 3600)
    20919
    """
    one_number(flow_coefficient=flow_coefficient, xT=xT)

    def load(P):
        return control.gas_load(source, _like(source, P), flow_coefficient, xT, **more).mass_flow

    T = source.temperature if temperature is None else temperature
    return Source("control_valve_opens", gas=_of_pressure(load, pressures), temperature=T)


def _like(source, pressures):
    """The source's gas at the pressures of the vessel."""
    return Gas(pressures, source.temperature, molar_mass=source.molar_mass, k=source.k)


def gas_blow_by(source, flow_coefficient, xT, pressures, switch_time=None, liquid_inflow=None,
                temperature=None, **more):  # fmt: skip
    """Source of gas that blows through a level valve, liquid first where there is some.

    Parameters: source, `Gas` of the high-pressure vessel; flow_coefficient, Kv of the level valve;
    xT [-]; pressures as `over_pressure`; switch_time [s], until when liquid comes
    (`control_valve_opens.time_to_lose_level`), with liquid_inflow, its volume flow [m3/s], or a
    function of an array of pressures; temperature as `control_valve_opens`; more as
    `control_valve_opens.blow_by_load`. Returns `Source`, of gas into gas; into a vessel full of
    liquid the gas pushes out its own volume, see `pushed_by`. Raises InputError as those, or for
    one of switch_time and liquid_inflow alone. Source: as those; API 521 (2020), 4.4.8.
    """
    one_number(flow_coefficient=flow_coefficient, xT=xT)
    if (switch_time is None) != (liquid_inflow is None):
        raise InputError("switch_time, liquid_inflow: give both, for liquid that comes first")

    def load(P):
        low = _like(source, P)
        return control.blow_by_load(source, low, flow_coefficient, xT, **more).mass_flow

    liquid = None
    if liquid_inflow is not None:
        liquid = _flow_of(liquid_inflow, pressures)
    T = source.temperature if temperature is None else temperature
    return Source("gas_blow_by", gas=_of_pressure(load, pressures), liquid=liquid, temperature=T,
                  switch_time=switch_time)  # fmt: skip


def _flow_of(value, pressures):
    """A number, or a function of pressures, as a function of the vessel."""
    if callable(value):
        return _of_pressure(value, pressures)
    return _constant(not_negative(liquid_inflow=value))


def liquid_through_valve(source, flow_coefficient, FL, critical_pressure, pressures, **more):
    """Source of liquid through a control valve that opens wide, none of which flashes.

    Parameters: source, `Liquid` upstream with its saturation_pressure; flow_coefficient, Kv; FL
    [-]; critical_pressure [Pa]; pressures as `over_pressure`; more as
    `control_valve_opens.liquid_load`. Returns `Source` of liquid. Raises InputError, source: as
    that; IEC 60534-2-1 (2011).
    """
    one_number(flow_coefficient=flow_coefficient, FL=FL, critical_pressure=critical_pressure)

    def load(P):
        stream = Liquid(P, source.density)
        found = control.liquid_load(source, stream, flow_coefficient, FL, critical_pressure, **more)
        return found.mass_flow / source.density

    return Source("control_valve_opens", liquid=_of_pressure(load, pressures))


def tube_rupture(source, tube_inside_diameter, pressures, temperature=None, **more):
    """Source of a broken tube: gas, or liquid that does not flash.

    Parameters: source, the high-pressure fluid, `Gas` or `Liquid`; tube_inside_diameter [m];
    pressures as `over_pressure`; temperature [K] of gas that came in, None: that of the source;
    more as `tube_rupture.relief_load`. Returns `Source`; into a side full of liquid take
    `pushed_by` of it. Raises InputError as that, or for another phase: make its load a function of
    pressure with `Source`. Source: as that; API 521 (2020), 4.4.14.
    """
    one_number(tube_inside_diameter=tube_inside_diameter)
    if source.phase == "liquid":

        def volume(P):
            stream = Liquid(P, source.density)
            found = rupture.relief_load(source, stream, tube_inside_diameter, **more)
            return found.mass_flow / source.density

        return Source("tube_rupture", liquid=_of_pressure(volume, pressures))
    if source.phase != "gas":
        raise InputError("source: give a Gas or a Liquid; a flashing one as a Source of your own")

    def load(P):
        return rupture.relief_load(source, _like(source, P), tube_inside_diameter, **more).mass_flow

    T = source.temperature if temperature is None else temperature
    return Source("tube_rupture", gas=_of_pressure(load, pressures), temperature=T)


def pushed_by(source, molar_mass, temperature, Z=1.0):
    """Gas of a source as the volume it takes in a vessel full of liquid.

    Parameters: source, a `Source` of gas; molar_mass [kg/kmol]; temperature [K] and Z [-] of the
    gas in the vessel. Returns `Source` of liquid: volume for volume. Raises InputError for a source
    without gas. Validity: the gas neither condenses nor dissolves, and has not reached the valve.
    Source: equal volumes, as `valve_flow.displaced_liquid`.
    """
    if source.gas is None:
        raise InputError("source: has no gas that could push liquid out")
    M, T, Z = (float(v) for v in positive(molar_mass=molar_mass, temperature=temperature, Z=Z))
    per_kg = Z * GAS_CONSTANT * T / M
    return Source(source.cause, liquid=lambda now: source.gas(now) * per_kg / now.pressure)


def reverse_flow(load, pressures, density=None, temperature=None):
    """Source of what comes back through a check valve.

    Parameters: load, function of an array of pressures that gives the `ReliefLoad` of
    `reverse_flow.open_load`, `leak_load` or `bore_load`; pressures as `over_pressure`; density of a
    liquid [kg/m3], None for gas; temperature of gas [K], None: as the vessel. Returns `Source`.
    Raises InputError, source: as those; API 521 (2020), 4.4.9.3.
    """

    def flow(P):
        return load(P).mass_flow

    if density is None:
        gas = _of_pressure(flow, pressures)
        return Source("reverse_flow", gas=gas, temperature=temperature)
    rho = float(positive(density=density))
    return Source("reverse_flow", liquid=_of_pressure(lambda P: flow(P) / rho, pressures))


def overfilling(inflow, density, outflow=0.0, pressures=None):
    """Source of a liquid feed that goes on: first it pushes gas out, then it fills the vessel.

    Parameters: inflow [kg/s], a number or a function of an array of pressures; density [kg/m3];
    outflow [kg/s]; pressures as `over_pressure`, for a function. Returns `Source` of liquid, for
    `contents.GasOverLiquid` and then `LiquidFull`. Raises InputError, source: as
    `overfilling.relief_load`; API 521 (2020), 4.4.7.
    >>> overfilling(8.0, 500.0, outflow=3.0).at(None)
    (0.0, 0.01, 0.0)
    """
    rho = float(positive(density=density))

    def load(flow, P):
        return filling.relief_load(flow, Liquid(P, rho), outflow).mass_flow / rho

    if not callable(inflow):
        return Source("overfilling", liquid=_constant(load(inflow, 1e6)))
    if pressures is None:
        raise InputError("pressures: give (lowest, highest) for an inflow that follows them")
    return Source("overfilling", liquid=_of_pressure(lambda P: load(inflow(P), P), pressures))


def volatile_ingress(load, pressures, temperature=None):
    """Source of a volatile liquid that boils in a hot host: its vapour, at a known rate.

    Parameters: load, function of ONE pressure [Pa] that gives the `ReliefLoad` of
    `volatile_ingress.relief_load` or `pair_load`; pressures as `over_pressure`; temperature of the
    vapour [K], None: as the vessel. Returns `Source` of gas. Raises InputError as those. Validity:
    30 pressures, straight between. Source: as those; API 521 (2020), 4.4.6.
    """
    if np.size(pressures) < 2:
        raise InputError(f"pressures = {pressures!r}: give the lowest and the highest")
    ends = np.asarray(positive(pressures=pressures), dtype=float)
    P = np.unique(np.concatenate([np.linspace(ends[0], ends[-1], 30), ends]))
    table = Table(P, [float(load(float(p)).mass_flow) for p in P])
    return Source("volatile_ingress", gas=lambda now: table(now.pressure), temperature=temperature)


def tank_breathing(load):
    """Source of a tank that breathes out: the air of its load, at 0 °C as vents are rated.

    Parameters: load, a `ReliefLoad` of air of `tank_breathing`. Returns `Source` of gas, for a
    vapour space of air at 0 °C. Raises InputError for a load of another module. Source: as that;
    API 2000 7th edition.
    """
    if load.cause != breathing.CAUSE:
        raise InputError("load: give the air of `tank_breathing`")
    return Source(breathing.CAUSE, gas=_constant(load.mass_flow), temperature=breathing.ICE_POINT)


def power_and_air_failure(valve, lost, consequences, sources):
    """Source of what governs one valve when power or air fails: that of the cause that follows.

    Parameters: valve, tag; lost and consequences as `power_and_air_failure.relief_load`; sources,
    {name of a cause: its `Source`}. Returns `Source`. Raises InputError where the valve does not
    lift or the cause has no source. Source: API 521 5th edition, 5.10 and 5.18: the cause that
    follows from the failure.
    """
    load = failure.relief_load(valve, lost, consequences)
    if load is None:
        raise InputError(f"valve {valve}: does not lift in this event")
    flow = load.mass_flow
    causes = [c.load.cause for c in consequences
              if c.valve == valve and c.holds(lost) and c.load.mass_flow == flow]  # fmt: skip
    own = next((sources[c] for c in causes if c in sources), None)
    if own is None:
        raise InputError(f"sources: none for {' or '.join(causes)}")
    return Source(failure.CAUSE, gas=own.gas, liquid=own.liquid, heat=own.heat,
                  temperature=own.temperature, enthalpy=own.enthalpy,
                  switch_time=own.switch_time)  # fmt: skip


# ------------------------------------------------------------------ heat that comes in
def exterior_fire_liquid(vessel, elevation, environment_factor=1.0, adequate_drainage=True,
                         piping_allowance=0.0):  # fmt: skip
    """Source of a pool fire on a vessel with liquid: heat through the wall that is still wet.

    Parameters: vessel, a `geometry.Vessel`; elevation [m]; environment_factor [-];
    adequate_drainage; piping_allowance [-]; all as `exterior_fire_liquid`. Returns `Source` of
    heat, falling with the level. Raises InputError as those. Source: API 521 (2020), 4.4.13.
    """
    one_number(elevation=elevation, environment_factor=environment_factor,
               piping_allowance=piping_allowance)  # fmt: skip
    levels = np.linspace(vessel.bottom, vessel.top, 60)
    area = fire.wetted_area(vessel, levels, elevation, piping_allowance)
    heat = fire.absorbed_heat(area, environment_factor, adequate_drainage)
    table = Table(np.asarray(vessel.volume_of(levels)) / vessel.volume, heat)
    return Source(fire.CAUSE, heat=lambda now: table(now.liquid))


def exterior_fire_gas(exposed_area, pressure, molar_mass, k, Z=1.0,
                      wall_temperature=dry_fire.WALL_LIMIT, coldest=250.0):  # fmt: skip
    """Source of a fire on a vessel full of gas: the heat behind the printed equation's flow.

    Parameters: exposed_area [m2]; pressure, relieving [Pa]; molar_mass [kg/kmol], k, Z [-];
    wall_temperature [K]; coldest, temperature of the gas where the table begins. Returns `Source`
    of heat, W cp T of a flow that goes with the root of pressure. Raises InputError, validity: as
    `exterior_fire_gas.relief_load`, which keeps the wall at its limit from the start;
    `exterior_fire_gas.expose` warms it. Source: API 521 (2020), 4.4.13.
    """
    one_number(exposed_area=exposed_area, pressure=pressure, molar_mass=molar_mass, k=k, Z=Z,
               wall_temperature=wall_temperature, coldest=coldest)  # fmt: skip
    T = np.linspace(coldest, wall_temperature - _WALL_MARGIN, POINTS)
    load = dry_fire.relief_load(exposed_area, pressure, T, molar_mass, k, Z, wall_temperature)
    cp = k / (k - 1.0) * Z * GAS_CONSTANT / molar_mass
    table, reference = Table(T, load.mass_flow * cp * T), float(pressure)
    return Source(
        dry_fire.CAUSE, heat=lambda now: table(now.temperature) * (now.pressure / reference) ** 0.5
    )


def hydraulic_expansion(heat_rate):
    """Source of heat into a liquid that is blocked in, as `hydraulic_expansion.relief_load`.

    Parameters: heat_rate [W], a number. Returns `Source` of heat, for `contents.LiquidFull`. Raises
    InputError for a negative one. Source: API 521 (2020), 4.4.12.
    >>> hydraulic_expansion(2e4).at(None)
    (0.0, 0.0, 20000.0)
    """
    return Source("hydraulic_expansion", heat=_constant(not_negative(heat_rate=heat_rate)))


def loss_of_cooling(fluid, coefficient, surface, hot_temperature, pressures, **more):
    """Source of a reboiler that goes on: its duty falls as the boiling point rises.

    Parameters: fluid that boils; coefficient [W/(m2 K)], surface [m2] and hot_temperature [K] as
    `loss_of_cooling.reboiler_working`; pressures as `over_pressure`; more as
    `loss_of_cooling.net_heat`. Returns `Source` of heat. Raises InputError, source: as those; API
    521 (2020), 4.4.3.
    """
    one_number(coefficient=coefficient, surface=surface, hot_temperature=hot_temperature)

    def load(P):
        T = saturation_temperature(fluid, P)
        duty = exchanger.duty(coefficient, surface, hot_temperature, T)
        return cooling.net_heat(duty, **more)

    return Source(cooling.CAUSE, heat=_of_pressure(load, pressures))


def abnormal_heat_input(fluid, power_at, pressures, remaining_cooling=0.0):
    """Source of too much heat into a boiling fluid.

    Parameters: fluid that boils; power_at, function of its boiling temperatures, K, that gives W,
    such as `lambda T: exchanger_heat(U, A, T_hot, T)[-1].value`; pressures as `over_pressure`;
    remaining_cooling [W]. Returns `Source` of heat. Raises InputError, source: as
    `abnormal_heat_input`; API 521 (2020), 4.4.9.
    """
    one_number(remaining_cooling=remaining_cooling)
    kept = not_negative(remaining_cooling=remaining_cooling)

    def load(P):
        T = np.asarray(saturation_temperature(fluid, P))
        return np.maximum(np.asarray(power_at(T)) - kept, 0.0)

    return Source(heat_input.CAUSE, heat=_of_pressure(load, pressures))


def runaway_reaction(batch_mass, reaction_heat):
    """Source of a runaway at the mean heat of reaction that Leung's equation takes.

    Parameters: batch_mass [kg]; reaction_heat [W/kg], between set and highest pressure. Returns
    `Source` of heat. Raises InputError for one not above 0. Validity: as
    `runaway_reaction.relief_load`; the batch that grows hotter and faster is followed by
    `causes.shared.reactor.run_away`, which rules. Source: Leung (1986).
    >>> runaway_reaction(9500.0, 1000.0).at(None)
    (0.0, 0.0, 9500000.0)
    """
    m, q = positive(batch_mass=batch_mass, reaction_heat=reaction_heat)
    return Source("runaway_reaction", heat=_constant(m * q))
