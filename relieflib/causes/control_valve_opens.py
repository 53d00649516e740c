"""A control valve opens wide, by itself or against its spring: more comes in than can leave.

What may be credited and what not:
- one automatic valve fails to its worst position whatever its spring is for; the others stay
  where normal operation has them (API 521 (2020), 4.4.8; 5th edition 5.10);
- the largest trim that the body takes counts, unless changes of trim are controlled (same);
- a bypass that may be open together with the valve is taken open too (same);
- the source stands at the highest pressure it can reach with the valve: two practices, and the
  choice is the plant's. Its highest operating pressure is the one failure alone; the relieving
  pressure of its own valve is the larger load, for a source that the same upset, or an earlier
  one that lasts, holds there. The demo plant takes the second (common practice, no source);
- the downstream side is at relieving pressure (API 521 (2020), 4.4.8);
- normal outflow counts only through outlets that stay open and large enough in the same event;
- a trip or alarm that closes the valve is not credited here (common practice, no source; API 521
  leaves it to a risk study);
- level lost in a high-pressure vessel: liquid comes first, then gas through the same valve
  (API 521 (2020), 4.4.8 on loss of liquid level, from memory). While liquid comes and the level
  downstream rises, it pushes gas out: `filling_load`, where `liquid_load` with a quality counts
  the flash alone. Where the slug fills that vessel, the gas behind it pushes liquid out, until it
  has bubbled up to the valve: seconds, but enough to burst it. Which of the two, the levels at the
  start decide: take the highest that the controls allow.
"""

import numpy as np

from relieflib.causes.shared.valve_flow import (
    displaced_gas,
    displaced_liquid,
    gas_steps,
    liquid_steps,
)
from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 11
PUBLISHED = {
    "control valve opens": ("4.4.8", "5.10"),
    "gas blow-by": ("4.4.8", "5.10"),
    "valve opened by mistake": ("4.4.9", ""),
}

SOURCE = "API 521 (2020), 4.4.8"


def relief_load(valve_inflow, stream, outflow=0.0, other_inflow=0.0, working=()):
    """Load of a vessel into which a control valve opens wide.

    Parameters: valve_inflow through the wide-open valve and its bypass [kg/s]; stream, the fluid
    at relieving conditions; outflow [kg/s] through outlets that stay open in the same event;
    other_inflow [kg/s], the other inlets at their normal flow; working, steps that led to the
    inflow. Arrays broadcast. Returns `ReliefLoad`; no load where the outflow covers the inflow.
    Raises InputError for a negative flow. Source: API 521 (2020), 4.4.8 (5th edition 5.10).
    >>> from relieflib.nozzle.gas import Gas
    >>> load = relief_load(3.0, Gas(18e5, 313.0, molar_mass=6.0, k=1.34), outflow=1.0,
    ...                    other_inflow=0.5)
    >>> load.mass_flow
    2.5
    """
    W_cv, W_out, W_other = not_negative(
        valve_inflow=valve_inflow, outflow=outflow, other_inflow=other_inflow
    )
    flow = result(np.maximum(W_cv + W_other - W_out, 0.0))
    last = step("mass_flow", flow, "max(W_cv + W_oth - W_out, 0)", SOURCE,
                valve_inflow=valve_inflow, other_inflow=other_inflow, outflow=outflow)  # fmt: skip
    return ReliefLoad("control_valve_opens", flow, stream, working=Working([*working, last]))


def wide_open(flow_coefficient, bypass_coefficient=0.0):
    """Flow coefficient of a valve and its bypass, both wide open.

    Parameters: flow_coefficient with the largest trim that fits, bypass_coefficient, both Kv;
    arrays broadcast. Returns Kv. Raises InputError for a negative one. Validity: in parallel
    between the same two pressures, so the coefficients add. Source: API 521 (2020), 4.4.8.
    >>> wide_open(16.0, 10.0)
    26.0
    """
    C, C_by = not_negative(flow_coefficient=flow_coefficient, bypass_coefficient=bypass_coefficient)
    return result(C + C_by)


def _all_open(flow_coefficient, bypass_coefficient, reducers=None):
    if reducers is not None:
        refuse(np.asarray(bypass_coefficient) > 0, "bypass_coefficient", bypass_coefficient,
               "has none of the valve's reducers: leave these out, which counts more")  # fmt: skip
    total = wide_open(flow_coefficient, bypass_coefficient)
    return total, step("total_coefficient", total, "C + C_by", SOURCE + ": bypass taken open too",
                       flow_coefficient=flow_coefficient,
                       bypass_coefficient=bypass_coefficient)  # fmt: skip


def gas_load(source, stream, flow_coefficient, xT, bypass_coefficient=0.0, outflow=0.0,
             other_inflow=0.0, *, reducers=None):  # fmt: skip
    """Load where gas comes through a control valve that opens wide.

    Parameters: source, `Gas` upstream at its highest pressure; stream, the fluid relieved, at
    relieving pressure; flow_coefficient with the largest trim and bypass_coefficient, both Kv; xT
    fully open [-]; outflow, other_inflow [kg/s] as `relief_load`; reducers, `valve_flow.Reducers`
    at the valve, None without, which gives the larger flow. Arrays broadcast. Returns `ReliefLoad`.
    Raises InputError as its parts, or for reducers with a bypass. Validity: the temperature
    downstream is the stream's own; an ideal gas keeps it, a real one cools or warms at constant
    enthalpy. Source: API 521 (2020), 4.4.8; IEC 60534-2-1 (2011).
    >>> from relieflib.nozzle.gas import Gas
    >>> high = Gas(70e5, 313.15, molar_mass=18.0, k=1.28, Z=0.88)
    >>> round(gas_load(high, Gas(8e5, 313.15, molar_mass=18.0, k=1.28), 20.0, 0.7).mass_flow * 3600)
    20919
    """
    total, first = _all_open(flow_coefficient, bypass_coefficient, reducers)
    steps = gas_steps(source, total, stream.pressure, xT, reducers)
    return relief_load(steps[-1].value, stream, outflow, other_inflow, [first, *steps])


def liquid_load(source, stream, flow_coefficient, FL, critical_pressure, quality=None,
                bypass_coefficient=0.0, outflow=0.0, other_inflow=0.0, *,
                reducers=None):  # fmt: skip
    """Load where liquid comes through a control valve that opens wide, flashing or not.

    Parameters: source, `Liquid` upstream at its highest pressure, with its saturation_pressure;
    stream, the fluid relieved, at relieving pressure; flow_coefficient with the largest trim and
    bypass_coefficient, both Kv; FL fully open [-]; critical_pressure [Pa absolute]; quality, mass
    fraction that is vapour at relieving pressure: only the vapour is relieved, as long as the
    vessel still has room for the liquid; outflow, other_inflow [kg/s] as `relief_load`; reducers
    as `gas_load`. Arrays broadcast. Returns `ReliefLoad`.
    Raises InputError as its parts, and where a quality is given for a stream that is no vapour
    or is missing for one. Source: API 521 (2020), 4.4.8; IEC 60534-2-1 (2011); `flash_quality`.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> up = Liquid(680e3, 965.4, saturation_pressure=70.1e3)
    >>> round(liquid_load(up, Liquid(220e3, 965.4), 165.0, 0.9, 22.12e6).mass_flow, 1)
    96.5
    """
    vapor = stream.phase in ("gas", "steam")
    if vapor != (quality is not None):
        raise InputError("quality: give it where the stream is vapour, and only there")
    total, first = _all_open(flow_coefficient, bypass_coefficient, reducers)
    steps = [first, *liquid_steps(source, total, stream.pressure, FL, critical_pressure, reducers)]
    if vapor:
        steps += _vapor_of(steps[-1].value, quality)
    return relief_load(steps[-1].value, stream, outflow, other_inflow, steps)


def _vapor_of(inflow, quality):
    """The step from all that comes in to its vapour."""
    x = not_negative(quality=quality)
    refuse(x > 1.0, "quality", x, "must be from 0 to 1")
    vapor = result(np.asarray(inflow) * x)
    return [step("valve_inflow", vapor, "x*W_in", "vapour alone: the vessel keeps the liquid",
                 quality=quality, inflow=inflow)]  # fmt: skip


def blow_by_load(source, stream, flow_coefficient, xT, gas_density=None, bypass_coefficient=0.0,
                 outflow=0.0, other_inflow=0.0, *, reducers=None):  # fmt: skip
    """Load of a low-pressure system when gas blows through the level valve of a high-pressure one.

    Parameters: source, `Gas` of the high-pressure vessel at its highest pressure; stream, what
    the low-pressure valve relieves, at relieving pressure: the gas, or `Liquid` where the
    low-pressure vessel is full of liquid, which the gas then pushes out volume for volume;
    gas_density [kg/m3] at relieving pressure, for a liquid stream alone; flow_coefficient and
    bypass_coefficient, Kv of the level valve with its largest trim and of its bypass; xT [-];
    outflow, other_inflow [kg/s] as `relief_load`; reducers as `gas_load`. Arrays broadcast. Returns
    `ReliefLoad`. Raises InputError as its parts, or where gas_density is given for gas or missing
    for liquid. Validity: level lost, so gas alone is in the valve; no credit for the low-level
    trip. Source: API 521 (2020), 4.4.8 (loss of liquid level, from memory); IEC 60534-2-1 (2011).
    >>> from relieflib.nozzle.gas import Gas
    >>> high = Gas(70e5, 313.15, molar_mass=18.0, k=1.28, Z=0.88)
    >>> low = Gas(8e5, 313.15, molar_mass=18.0, k=1.28, Z=0.98)
    >>> round(blow_by_load(high, low, 20.0, 0.7).mass_flow / low.density * 3600)
    3707
    """
    filled = stream.phase == "liquid"
    if filled != (gas_density is not None):
        raise InputError("gas_density: give it where the vessel is full of liquid, and only there")
    total, first = _all_open(flow_coefficient, bypass_coefficient, reducers)
    steps = [first, *gas_steps(source, total, stream.pressure, xT, reducers)]
    if filled:
        steps += displacement_steps(steps[-1].value, gas_density, stream.density)
    load = relief_load(steps[-1].value, stream, outflow, other_inflow, steps)
    return ReliefLoad("gas_blow_by", load.mass_flow, stream, working=load.working)


def displacement_steps(gas_inflow, gas_density, liquid_density):
    """The step from gas that comes in to the liquid it pushes out.

    Parameters, errors, validity and source as `displaced_liquid`. Returns `Working`.
    """
    flow = displaced_liquid(gas_inflow, gas_density, liquid_density)
    return Working([
        step("valve_inflow", flow, "W_g*rho_l/rho_g", "gas pushes liquid out, equal volumes",
             gas_inflow=gas_inflow, gas_density=gas_density, liquid_density=liquid_density)
    ])  # fmt: skip


def filling_load(source, stream, flow_coefficient, FL, critical_pressure, quality, liquid_density,
                 bypass_coefficient=0.0, outflow=0.0):  # fmt: skip
    """Gas that a vessel relieves while liquid through a wide-open level valve fills it.

    Parameters: source, `Liquid` upstream at its highest pressure, with its saturation_pressure;
    stream, `Gas` in the vessel at relieving pressure; flow_coefficient with the largest trim and
    bypass_coefficient, both Kv; FL fully open [-]; critical_pressure [Pa absolute]; quality, mass
    fraction that flashes; liquid_density of what stays liquid [kg/m3]; outflow, liquid that still
    leaves [kg/s]. Arrays broadcast. Returns `ReliefLoad`: the flash gas and, volume for volume,
    the gas that the rising liquid pushes out. Raises InputError as its parts or for a stream that
    is no gas. Validity: until the vessel is full, see `overfilling.time_to_fill`.
    Source: API 521 (2020), 4.4.8; IEC 60534-2-1 (2011); `flash_quality`; equal volumes.
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.nozzle.liquid import Liquid
    >>> up = Liquid(680e3, 965.4, saturation_pressure=70.1e3)
    >>> air = Gas(220e3, 300.0, molar_mass=28.97, k=1.4)
    >>> load = filling_load(up, air, 165.0, 0.9, 22.12e6, 0.0, 965.4)
    >>> round(load.mass_flow / air.density * 3600, 1)
    360.0
    """
    if stream.phase != "gas":
        raise InputError("stream: give the gas in the vessel; a full one is an overfilling")
    total, first = _all_open(flow_coefficient, bypass_coefficient)
    liquid = liquid_steps(source, total, stream.pressure, FL, critical_pressure)
    steps = [first, *liquid[:-1], _as_liquid(liquid[-1])]
    steps += filling_steps(steps[-1].value, quality, liquid_density, stream.density, outflow)
    return relief_load(steps[-1].value, stream, working=steps)


def _as_liquid(line):
    """The flow of liquid through the valve under its own name, apart from the load's."""
    return step("liquid_inflow", line.value, line.equation, line.source, **line.inputs)


def filling_steps(liquid_inflow, quality, liquid_density, gas_density, outflow=0.0):
    """The steps from liquid that comes in to the gas that leaves a vessel that fills.

    Parameters, validity and source as `filling_load`; liquid_inflow [kg/s], all that comes
    through the valve; gas_density at relieving pressure [kg/m3]. Returns `Working`.
    """
    x, W, W_out = not_negative(quality=quality, liquid_inflow=liquid_inflow, outflow=outflow)
    refuse(x > 1.0, "quality", x, "must be from 0 to 1")
    stays = result(np.maximum((1.0 - x) * W - W_out, 0.0))
    pushed = displaced_gas(stays, liquid_density, gas_density)
    return Working([
        step("inflow", stays, "max((1 - x)*W_l - W_out, 0)", "liquid that stays in the vessel",
             quality=quality, liquid_inflow=liquid_inflow, outflow=outflow),
        step("gas_inflow", pushed, "W_in*rho_g/rho_l", "gas pushed out, equal volumes",
             inflow=stays, gas_density=gas_density, liquid_density=liquid_density),
        step("valve_inflow", result(x * W + pushed), "x*W_l + W_g", "flash gas and gas pushed out",
             quality=quality, liquid_inflow=liquid_inflow, gas_inflow=pushed),
    ])  # fmt: skip


def time_to_lose_level(hold_up, liquid_density, outflow, inflow=0.0):
    """Time until a vessel's liquid has run out through a valve that is wide open.

    Parameters: hold_up, liquid above the outlet nozzle [m3]; liquid_density [kg/m3]; outflow
    through the valve and inflow that goes on [kg/s]; arrays broadcast. Returns s; infinite where
    the inflow keeps up. Raises InputError for a negative value or a density not above 0.
    Validity: constant flows, which is long by a little, since the head falls.
    Source: mass balance.
    >>> round(time_to_lose_level(2.0, 600.0, 8.0, 4.0))
    300
    """
    V, W_out, W_in = not_negative(hold_up=hold_up, outflow=outflow, inflow=inflow)
    rho, net = positive(liquid_density=liquid_density), W_out - W_in
    with np.errstate(divide="ignore", invalid="ignore"):
        return result(np.where(net <= 0.0, np.inf, V * rho / net))


def filled_fraction(hold_up, free_volume):
    """Liquid slug from the high-pressure vessel over the room left in the low-pressure one.

    Parameters: hold_up, liquid that comes before the gas; free_volume above the liquid in the
    low-pressure vessel [m3], both from the highest levels that may stand there; arrays broadcast.
    Returns float or array [-]; above 1 the vessel is full when the gas arrives, and `blow_by_load`
    takes a liquid stream. Raises InputError for a negative hold-up or no free volume.
    Validity: what still comes into the high-pressure vessel meanwhile leaves the low-pressure one;
    where its outlet is shut, add that feed to the hold-up.
    Source: volume balance; API 521 (2020), 4.4.8 on the displaced liquid (from memory).
    >>> filled_fraction(2.0, 4.0)
    0.5
    """
    V, free = not_negative(hold_up=hold_up), positive(free_volume=free_volume)
    return result(V / free)
