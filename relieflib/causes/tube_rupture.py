"""A tube of an exchanger breaks: the high-pressure fluid enters the low-pressure side.

What counts and what may be credited (API 521 (2020), 4.4.14; 5th edition 5.19):
- one tube breaks clean at the tubesheet: fluid comes out of two openings, each the tube's bore;
- no relief is needed where the low-pressure side, with all that hangs on it up- and downstream,
  stays below its corrected hydrotest pressure (`relief_needed`);
- high-pressure fluid at its highest pressure, low-pressure side at relieving pressure;
- low-pressure lines count as a way out only where they stay open and can take it (`carried_away`);
- flashing may be credited: liquid taken as not flashing overstates the rate;
- the fluid that comes in may vaporise the liquid it meets, or flash at once: the stream relieved
  is then vapour or two-phase;
- the tube may break at either end: gas alone asks for the same area, liquid is pushed out faster by
  the hotter gas, which takes more room;
- a rupture disk that leads to a flare counts with its line, not with Kd 0.62 (`lines.disk_line`);
- steady flow is not enough where gas enters a liquid-full side, or the pressures lie far apart
  (`dynamic_needed`): the liquid must first be set moving, and a spring valve may open too late,
  so a rupture disk is customary (same; the disk by common practice);
- the friction of the long end of the tube is not credited (common practice, no source).
"""

import numpy as np

from relieflib.causes.shared.valve_flow import displaced_liquid, opening_steps
from relieflib.errors import InputError, finite, not_negative, positive, refuse, result
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 15
PUBLISHED = {"tube rupture": ("4.4.14", "5.19")}

SOURCE = "API 521 (2020), 4.4.14"
HYDROTEST = 1.3  # ASME VIII-1 UG-99(b) since 1999: 10/13; 1.5 before: 2/3
DYNAMIC_DIFFERENCE = 70e5  # Pa (1000 psi): API 521 5th edition (2007), 5.19; from memory


def corrected_hydrotest(mawp_gauge, test_ratio=HYDROTEST, stress_ratio=1.0):
    """Pressure that the low-pressure side has been shown to hold, at its design temperature.

    Parameters: mawp_gauge [Pa gauge]; test_ratio, hydrotest over MAWP [-], 1.3 (ASME VIII-1 since
    1999), 1.5 before; stress_ratio, allowable stress at design over that at test temperature [-],
    1 where the shop test was already raised for it; arrays broadcast. Returns Pa gauge.
    Raises InputError if one is not above 0, the test ratio is below 1 or the stress ratio above 1.
    Validity: the weakest part of the low-pressure side, exchanger or piping.
    Source: API 521 (2020), 4.2 and 4.4.14 (5th edition 3.21, 4.3.2).
    >>> round(corrected_hydrotest(10e5))
    1300000
    """
    p, ratio, stress = positive(
        mawp_gauge=mawp_gauge, test_ratio=test_ratio, stress_ratio=stress_ratio
    )
    refuse(ratio < 1.0, "test_ratio", ratio, "must be 1 or above")
    refuse(stress > 1.0, "stress_ratio", stress, "must be above 0 and up to 1")
    return result(p * ratio * stress)


def relief_needed(high_pressure_gauge, mawp_gauge, test_ratio=HYDROTEST, stress_ratio=1.0):
    """True where a broken tube can take the low-pressure side above its corrected hydrotest.

    Parameters: high_pressure_gauge, the highest pressure of the high-pressure side (its MAWP in a
    screen); the rest, errors, validity and source as `corrected_hydrotest`; arrays broadcast.
    Returns bool or array; NaN gives True. With a ratio of 1.3 the limit is 10/13 of the high
    pressure, with 1.5 it is 2/3.
    >>> relief_needed(300.0, 180.0), relief_needed(300.0, 231.0)
    (True, False)
    """
    high = finite(high_pressure_gauge=high_pressure_gauge)
    test = np.asarray(corrected_hydrotest(mawp_gauge, test_ratio, stress_ratio))
    return result(~(high <= test))


def break_area(tube_inside_diameter, openings=2):
    """Area through which fluid leaves a tube that broke clean.

    Parameters: tube_inside_diameter [m], number or array; openings [-]: 2 for a clean break, stub
    and long end. Returns m2. Raises InputError if one is not above 0. Validity: one tube.
    Source: API 521 (2020), 4.4.14: twice the cross-section of one tube.
    >>> round(break_area(14.83e-3) * 1e6, 2)
    345.46
    """
    d, n = positive(tube_inside_diameter=tube_inside_diameter, openings=openings)
    return result(n * np.pi / 4.0 * d**2)


def relief_load(source, stream, tube_inside_diameter, orifice_coefficient=0.7, openings=2,
                gas_density=None, outflow=0.0):  # fmt: skip
    """Load of the low-pressure side of an exchanger when one tube breaks, steady flow.

    Parameters: source, the high-pressure fluid at its highest pressure: Gas, Liquid that does not
    flash, or TwoPhase or RealFluid for a liquid that does; stream, what the low-pressure device
    relieves, at relieving pressure: that fluid, or `Liquid` of the low-pressure side that gas or
    vapour pushes out; gas_density [kg/m3] of the incoming fluid at relieving pressure, for pushed
    liquid alone; tube_inside_diameter [m]; orifice_coefficient, 0.7 [-]; openings [-]; outflow
    [kg/s] that open low-pressure lines carry away. Arrays broadcast. Returns `ReliefLoad`.
    Raises InputError as its parts, or where pushed liquid has no gas_density or a stream that is
    no liquid has one. Validity: steady; see `dynamic_needed`.
    Source: API 521 (2020), 4.4.14; Crane TP-410 for the orifice; the coefficient is common
    practice, no source.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> load = relief_load(Liquid(60e5, 800.0), Liquid(11e5, 800.0), 14.83e-3)
    >>> round(load.mass_flow, 3)
    21.412
    """
    pushed = stream.phase == "liquid" and source.phase != "liquid"
    if pushed != (gas_density is not None):
        raise InputError("gas_density: give it where gas pushes liquid out, and only there")
    area = break_area(tube_inside_diameter, openings)
    first = step("opening_area", area, "N_op*pi/4*d_t**2", SOURCE + ": both ends",
                 openings=openings, tube_inside_diameter=tube_inside_diameter)  # fmt: skip
    steps = [first, *opening_steps(source, stream.pressure, area, orifice_coefficient)]
    inflow = steps[-1].value
    if pushed:
        inflow = displaced_liquid(inflow, gas_density, stream.density)
        steps.append(step("valve_inflow", inflow, "W_g*rho_l/rho_g", "equal volumes",
                          gas_inflow=steps[-1].value, gas_density=gas_density,
                          liquid_density=stream.density))  # fmt: skip
    flow = result(np.maximum(inflow - not_negative(outflow=outflow), 0.0))
    steps.append(step("mass_flow", flow, "max(W_cv - W_out, 0)", SOURCE, valve_inflow=inflow,
                      outflow=outflow))  # fmt: skip
    return ReliefLoad("tube_rupture", flow, stream, working=Working(steps))


def carried_away(normal_flow, normal_pressure, relieving_pressure, downstream_pressure):
    """Liquid that open lines of the low-pressure side carry away at relieving pressure.

    Parameters: normal_flow [kg/s]; normal_pressure of the low-pressure side, relieving_pressure
    and downstream_pressure, which stays [Pa absolute]; arrays broadcast. Returns kg/s. Raises
    InputError where the normal or relieving pressure is not above the downstream one.
    Validity: liquid, turbulent, line and its valves as in normal operation, nothing that closes.
    Source: square-law resistance; the credit is API 521 (2020), 4.4.14.
    >>> round(carried_away(10.0, 5e5, 9e5, 4e5), 3)
    22.361
    """
    W = not_negative(normal_flow=normal_flow)
    Pn, P1, P2 = positive(
        normal_pressure=normal_pressure, relieving_pressure=relieving_pressure,
        downstream_pressure=downstream_pressure,
    )  # fmt: skip
    refuse(Pn <= P2, "normal_pressure", Pn, "must be above the downstream pressure")
    refuse(P1 <= P2, "relieving_pressure", P1, "must be above the downstream pressure")
    return result(W * np.sqrt((P1 - P2) / (Pn - P2)))


def dynamic_needed(upstream_pressure, downstream_pressure, liquid_filled, source):
    """Reasons why a steady calculation of a broken tube is not enough.

    Parameters: upstream_pressure and downstream_pressure, of the high- and the low-pressure side
    [Pa absolute], numbers; liquid_filled, True where the low-pressure side is full of liquid;
    source, the high-pressure fluid as a stream. Returns tuple of str; empty: steady will do.
    Raises InputError if a pressure is not above 0. Validity: a screen; whoever sizes decides.
    Source: API 521 (2020), 4.4.14 (5th edition 5.19: 7000 kPa, about 1000 psi), from memory.
    >>> dynamic_needed(60e5, 9e5, False, None)
    ()
    """
    P, P2 = positive(upstream_pressure=upstream_pressure, downstream_pressure=downstream_pressure)
    if np.ndim(P) or np.ndim(P2):
        raise InputError("upstream_pressure, downstream_pressure: give one number each")
    found = []
    if not P - P2 < DYNAMIC_DIFFERENCE:
        found.append("pressures lie 70 bar or more apart")
    if liquid_filled and source.phase != "liquid":
        found.append("gas or flashing liquid enters a side full of liquid")
    return tuple(found)
