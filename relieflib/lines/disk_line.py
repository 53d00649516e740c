"""A rupture disk alone: what flows hangs on the line it stands in, not on the disk.

Two methods (API 520-I (2020), 5.11; ASME BPVC XIII, formerly VIII-1 UG-127(a)(2)):
- coefficient of discharge: Kd 0.62 on the disk's net flow area, `Device("disk")`. It holds where
  the disk blows straight into the air, within 8 diameters of the vessel and with no more than 5 of
  pipe behind it, in pipes as wide as itself (`resistance_needed` lists what stands against it);
- flow resistance, everywhere else: the disk is a fitting of the line, with its certified K, or 2.4
  where there is none; the flow from the vessel to the end of the line counts nine tenths.
A line is a `Line` from the entrance to its end, with one part 'rupture disk'.
"""

import numpy as np

from relieflib import rules
from relieflib.devices import Device
from relieflib.errors import InputError, positive, refuse, result
from relieflib.lines.line import Line, Part, march, runs
from relieflib.lines.line_fluids import fluid_in_line
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

SOURCE = "API 520-I (2020), 5.11; ASME BPVC XIII (VIII-1 UG-127(a)(2)): flow resistance method"
CREDIT = rules.DISK_LINE.value  # of the flow that the line would pass
NEAR, SHORT = 8.0, 5.0  # diameters of pipe before and behind a disk with Kd 0.62
_AT_REST = 1e-4  # guard: share of the flux that stands for the vessel


def line_of(item, outlet_diameter=None):
    """The line of a rupture disk of a plant: entrance, pipe, disk, pipe and long elbows.

    Parameters: item, a rupture disk of a plant whose file gives its line; outlet_diameter [m], that
    of the file by default. Returns `Line`. Raises InputError where the file gives no line.
    Source: the plant's file.
    """
    bore = item.diameter
    names = ("inlet_length", "outlet_diameter", "outlet_length", "outlet_elbows")
    missing = [name for name in names if not hasattr(item, name)]
    if missing:
        raise InputError(f"{item.tag}: the plant's file gives no {', '.join(missing)}")
    tail = item.outlet_diameter if outlet_diameter is None else outlet_diameter
    return Line([
        Part("entrance flush", bore), Part("pipe", bore, length=item.inlet_length),
        Part("rupture disk", bore), Part("pipe", tail, length=item.outlet_length),
        Part("long elbow", tail, count=item.outlet_elbows),
    ])  # fmt: skip


def _disk(line):
    """The disk among the parts, those before it and those behind it."""
    at = [i for i, part in enumerate(line.parts) if part.kind == "rupture disk"]
    if len(at) != 1:
        raise InputError(f"line: must hold one part 'rupture disk', it has {len(at)}")
    return line.parts[at[0]], line.parts[: at[0]], line.parts[at[0] + 1 :]


def resistance_needed(line, opens_to_air):
    """Reasons why Kd 0.62 does not hold for a rupture disk, so that its line must be worked out.

    Parameters: line, a `Line` with a part 'rupture disk'; opens_to_air, True where it ends in the
    open. Returns a tuple of str; empty: `Device("disk")` will do. Raises InputError without one
    disk. Source: API 520-I (2020), 5.11 (limits read in a handbook of valve selection).
    >>> from relieflib.lines.line import Line, Part
    >>> resistance_needed(Line([Part("rupture disk", 0.1), Part("pipe", 0.1, length=0.6)]), True)
    ('5 diameters of pipe or less behind the disk, it has 6',)
    """
    disk, before, behind = _disk(line)
    found = [] if opens_to_air else ["the disk must blow straight into the air"]
    for parts, most, words in ((before, NEAR, "before"), (behind, SHORT, "behind")):
        diameters = sum(float(part.length) for part in parts) / disk.diameter
        if not diameters <= most * (1 + 1e-9):
            found.append(f"{most:g} diameters of pipe or less {words} the disk, "
                         f"it has {diameters:.3g}")  # fmt: skip
    if not line.smallest_diameter >= disk.diameter * (1 - 1e-9):
        found.append("the pipes must be as wide as the disk")
    return tuple(found)


def passed_flow(stream, line, back_pressure, viscosity=None):
    """Flow from a vessel through a line with a rupture disk, before the nine tenths.

    Parameters: stream at rest in the vessel, at relieving conditions; line, a `Line` from the
    entrance to the end; back_pressure [Pa] beyond the end; viscosity [Pa s], None for fully rough
    flow; arrays broadcast. Returns kg/s. Raises InputError as `march`, or for a back pressure not
    below the vessel's. Validity: steady flow; the end at back pressure, or choked above it; gas
    with the Z it has in the vessel. Source: energy and momentum balances, adiabatic (Fanno) for
    gas; API 520-I (2020), 5.11.
    >>> from relieflib.lines.line import Line, Part
    >>> from relieflib.nozzle.gas import Gas
    >>> air = Gas(10e5, 300.0, molar_mass=28.97, k=1.4)
    >>> short = Line([Part("other", 0.1, K=2.6), Part("rupture disk", 0.1)])
    >>> round(passed_flow(air, short, 1e5) / (3.14159265 / 4 * 0.01))
    1169
    """
    P, back = positive(pressure=stream.pressure, back_pressure=back_pressure)
    refuse(back >= P, "back_pressure", back, "must be below the pressure in the vessel")
    options = {"line_Z": stream.Z} if stream.phase == "gas" else {}
    fluid = fluid_in_line(stream, result(back), **options)
    area = np.asarray(line.smallest_share)
    high = area * np.asarray(stream.mass_flux(result(back))) + 0.0 * P
    low = np.zeros_like(high)
    for _ in range(32):
        middle = 0.5 * (low + high)  # guard: the pace of the steps
        small = _needed(line, fluid, middle, back, viscosity) < P
        low, high = np.where(small, middle, low), np.where(small, high, middle)
    return result(np.where(np.isnan(P + back), np.nan, low))


def _needed(line, fluid, flow, back, viscosity):
    """Pressure at rest [Pa] that drives a flow [kg/s] through the line."""
    start = march(line, fluid, flow, back, viscosity)[0]
    G, P = np.asarray(start.mass_flux), np.asarray(start.pressure)
    return np.asarray(fluid.narrow(P, _AT_REST * G, G))


def capacity(stream, line, back_pressure, viscosity=None):
    """Flow that a rupture disk in its line may be credited with: nine tenths of what passes.

    Parameters, errors and validity as `passed_flow`. Returns kg/s. Source: API 520-I (2020), 5.11.
    """
    return result(CREDIT * np.asarray(passed_flow(stream, line, back_pressure, viscosity)))


def device(stream, line, back_pressure, set_pressure_gauge=None, viscosity=None,
           atmosphere=ATMOSPHERE):  # fmt: skip
    """A rupture disk with the coefficient that its line leaves it, for `size`.

    Parameters: set_pressure_gauge, at which it bursts [Pa gauge]; atmosphere [Pa]; the others,
    errors and validity as `passed_flow`. Returns `Device`, whose Kd is 0.9 of the flow in the line
    over that of an ideal nozzle as wide as the disk, so that the area `size` finds at that back
    pressure is the one of a disk and a line with as many velocity heads.
    Source: API 520-I (2020), 5.11.
    """
    Kd = working(stream, line, back_pressure, viscosity)[-1].value
    return Device("disk", set_pressure_gauge, Kd=Kd, atmosphere=atmosphere)


def working(stream, line, back_pressure, viscosity=None):
    """Steps from a line with a rupture disk to its capacity and its coefficient, a `Working`.

    Parameters, errors and validity as `passed_flow`; the velocity heads are of the first bore.
    """
    disk = _disk(line)[0]
    W, G = passed_flow(stream, line, back_pressure, viscosity), stream.mass_flux(back_pressure)
    credited, pieces = result(CREDIT * np.asarray(W)), runs(line, W, viscosity)
    heads = step("velocity_heads", result(pieces[0].heads), source="f L/D and K of all parts of "
                 "the first bore; disk 2.4 where no K is certified")  # fmt: skip
    return Working([
        heads,
        step("pipe_flow", W, source="from rest in the vessel to the end of the line; adiabatic "
             "(Fanno) for gas"),
        step("capacity", credited, f"{CREDIT}*W_pipe", SOURCE, pipe_flow=W),
        step("area", disk.area, "pi/4*D**2", "bore of the disk",
             diameter=disk.diameter),
        step("Kd", result(np.asarray(credited) / disk.area / G), "W_cap/(Ao*G)",
             "what the line leaves of an ideal nozzle", capacity=credited, area=disk.area,
             mass_flux=G),
    ])  # fmt: skip
