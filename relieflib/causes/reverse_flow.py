"""A pump or compressor stops and its check valve does not hold: high pressure comes back.

What may be credited:
- one check valve: none as a safeguard. Its failure stays hidden (latent), so it is taken stuck
  open: reverse flow by its forward flow coefficient, or without any resistance of its own where
  that is unknown (API 521 5th edition (2007), 4.3.4.2; (2020), 4.4.9.3);
- two or more in series: the smallest has failed, the others leak; the leak is taken as ONE
  opening of a tenth of the largest valve's nominal flow diameter (API 521 6th edition (2014) and
  later, 4.4.9.3.3), as long as they are of different kind, inspected and tested (common practice);
- more than two in series gain nothing (API 521, 4.4.9.3, from memory);
- gas may follow the liquid once the liquid has run back: check both (common practice, no source);
- the source stands at its highest pressure, the suction side at relieving pressure;
- what else stands in the line, such as a control valve taken wide open with its largest trim,
  may be counted as a resistance in series as long as it can't be bypassed; the stopped pump is
  not, since it runs backwards (common practice, no source);
- a suction side that can be shut in (a stand-by pump with its discharge open) has no drum behind
  it: the smallest leak brings it to the source's pressure, within seconds. It takes a valve of its
  own, or the rating of the discharge up to and with its block valve (common practice, no source).
"""

import numpy as np

from relieflib.causes.shared.valve_flow import gas_steps, liquid_steps, opening_steps
from relieflib.errors import InputError, not_negative, positive, result
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 18
PUBLISHED = {"reverse flow": ("4.4.9.3", "")}

SOURCE = "API 521 (2020), 4.4.9.3"
LEAK_PART = 0.1  # of the diameter, so 1 % of the area; API 521 (2014), 4.4.9.3.3


def leak_diameter(check_valve_diameter):
    """Diameter of the one opening that stands for the leak of check valves in series.

    Parameters: check_valve_diameter, nominal flow diameter of the largest [m], number or array.
    Returns m. Raises InputError if it is not above 0. Validity: two or more, inspected; the
    smallest has failed. Source: API 521 6th edition (2014), 4.4.9.3.3; (2020) same.
    >>> round(leak_diameter(0.1541), 5)
    0.01541
    """
    return result(LEAK_PART * positive(check_valve_diameter=check_valve_diameter))


def leak_load(source, stream, check_valve_diameter, orifice_coefficient=0.6, outflow=0.0):
    """Load where two or more check valves in series leak.

    Parameters: source, the fluid that comes back, a stream at its highest pressure; stream, the
    fluid relieved, at relieving pressure; check_valve_diameter, nominal flow diameter of the
    largest [m]; orifice_coefficient, 0.6 [-]; outflow [kg/s] that still leaves. Arrays broadcast.
    Returns `ReliefLoad`. Raises InputError as its parts. Validity as `leak_diameter`; a liquid
    that flashes is a TwoPhase or RealFluid source. Source: API 521 (2020), 4.4.9.3.3; the
    coefficient of a sharp edge is common practice, no source.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> load = leak_load(Liquid(60e5, 700.0), Liquid(12e5, 700.0), 0.1541)
    >>> round(load.mass_flow * 3600)
    33024
    """
    d = leak_diameter(check_valve_diameter)
    first = step("leak_diameter", d, f"{LEAK_PART}*D_cv", "API 521 (2020), 4.4.9.3.3",
                 check_valve_diameter=check_valve_diameter)  # fmt: skip
    return _through(
        source, stream, d, "d_l", "leak_diameter", orifice_coefficient, outflow, [first]
    )


def bore_load(source, stream, check_valve_diameter, orifice_coefficient=1.0, outflow=0.0):
    """Load where one check valve is stuck open and its flow coefficient is unknown.

    Parameters, errors and validity as `leak_load`, check_valve_diameter being the bore of the
    valve or line [m]; orifice_coefficient 1, so that the valve takes no credit at all: a sharp
    orifice of 0.6 may pass less than a good valve. Returns `ReliefLoad`.
    Source: API 521 5th edition (2007), 4.3.4.2; the bore as one opening is common practice.
    """
    d = check_valve_diameter
    return _through(source, stream, d, "D_cv", "check_valve_diameter", orifice_coefficient, outflow)


def _through(source, stream, diameter, symbol, name, orifice_coefficient, outflow, first=()):
    """The load through one round opening."""
    area = result(np.pi / 4.0 * np.asarray(positive(**{name: diameter})) ** 2)
    line = step("opening_area", area, f"pi/4*{symbol}**2", "circle", **{name: diameter})
    steps = opening_steps(source, stream.pressure, area, orifice_coefficient)
    return relief_load(steps[-1].value, stream, outflow, [*first, line, *steps])


def relief_load(valve_inflow, stream, outflow=0.0, working=()):
    """Load of a suction side into which fluid comes back.

    Parameters: valve_inflow, the reverse flow [kg/s]; stream, the fluid relieved, at relieving
    pressure; outflow [kg/s] that still leaves in the same event; working, steps that led to the
    flow. Arrays broadcast. Returns `ReliefLoad`. Raises InputError for a negative flow.
    Source: API 521 (2020), 4.4.9.3; mass balance.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> relief_load(9.0, Liquid(12e5, 700.0), outflow=1.0).mass_flow
    8.0
    """
    W, W_out = not_negative(valve_inflow=valve_inflow, outflow=outflow)
    flow = result(np.maximum(W - W_out, 0.0))
    last = step("mass_flow", flow, "max(W_cv - W_out, 0)", SOURCE, valve_inflow=valve_inflow,
                outflow=outflow)  # fmt: skip
    return ReliefLoad("reverse_flow", flow, stream, working=Working([*working, last]))


def series_coefficient(flow_coefficients):
    """Flow coefficient of several valves in series, for liquid that does not choke.

    Parameters: flow_coefficients, Kv of each, 1-D. Returns Kv. Raises InputError if one is not
    above 0. Validity: turbulent liquid; gas expands from one to the next, and the last may choke.
    Source: pressure drops add: 1/C^2 = sum of 1/C_i^2.
    >>> round(series_coefficient([40.0, 30.0]), 6)
    24.0
    """
    C = np.atleast_1d(positive(flow_coefficients=flow_coefficients))
    return result(np.sum(C**-2.0) ** -0.5)


def time_to_pressure(volume, compressibility, normal_pressure, relieving_pressure, volume_flow):
    """Time in which a leak brings a side that is shut in and full of liquid to a pressure.

    Parameters: volume shut in [m3]; compressibility of its liquid [1/Pa]; normal_pressure at the
    start, relieving_pressure at the end [Pa absolute]; volume_flow of the leak [m3/s]; arrays
    broadcast. Returns s; 0 where the pressure is reached at the start. Raises InputError if a
    value is not above 0. Validity: constant leak, rigid pipe, which is short: pipe that stretches
    and a gas pocket take longer. Source: definition of compressibility.
    >>> round(time_to_pressure(0.1, 1e-9, 1e5, 21e5, 1e-3), 6)
    0.2
    """
    V, beta, q = positive(volume=volume, compressibility=compressibility, volume_flow=volume_flow)
    start, end = positive(normal_pressure=normal_pressure, relieving_pressure=relieving_pressure)
    return result(V * beta * np.maximum(end - start, 0.0) / q)


def open_load(source, stream, flow_coefficient, xT=None, FL=None, critical_pressure=None,
              outflow=0.0):  # fmt: skip
    """Load where one check valve is stuck open, by its forward flow coefficient.

    Parameters: source, `Gas` or `Liquid` at its highest pressure; stream, the fluid relieved, at
    relieving pressure; flow_coefficient forward, Kv; xT [-] for gas alone; FL [-] and
    critical_pressure [Pa absolute] for liquid alone; outflow [kg/s] that still leaves. Arrays
    broadcast. Returns `ReliefLoad`. Raises InputError as its parts, and where the factors of the
    other phase are given. Validity: reverse flow as forward flow; xT and FL of check valves are
    seldom published. Source: API 521 5th edition (2007), 4.3.4.2; IEC 60534-2-1 (2011).
    >>> from relieflib.nozzle.liquid import Liquid
    >>> up = Liquid(60e5, 700.0, saturation_pressure=2e5)
    >>> round(open_load(up, Liquid(12e5, 700.0), 42.0, FL=1.0, critical_pressure=30e5).mass_flow, 1)
    67.6
    """
    liquid = [FL, critical_pressure]
    if source.phase == "gas" and xT is not None and all(v is None for v in liquid):
        steps = gas_steps(source, flow_coefficient, stream.pressure, xT)
    elif source.phase == "liquid" and xT is None and all(v is not None for v in liquid):
        steps = liquid_steps(source, flow_coefficient, stream.pressure, FL, critical_pressure)
    else:
        raise InputError(
            "xT, FL, critical_pressure: give xT for gas; FL, critical_pressure for liquid"
        )
    return relief_load(steps[-1].value, stream, outflow, steps)
