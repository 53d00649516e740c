"""A vessel fills up: liquid leaves through a valve meant for vapour, and its head loads the bottom.

What may be credited:
- the load is the largest liquid feed at relieving pressure, less what still leaves; liquid, not
  vapour (API 521 (2020), 4.4.7);
- gas that comes with the feed, or flashes from it, has nowhere else to go: it leaves with the
  liquid, and a few per cent of gas by mass are half of the volume (mass and volume balance). Take
  the most gas that may come, well mixed: liquid alone is the unsafe side;
- time from an independent alarm until the vessel is full may be credited to the operator where it
  is long enough: 10 to 30 minutes is the range commonly accepted, by the plant (API 521 5th
  edition (2007), 4.2.6, read in a review of it), and the risk of failing to act must be addressed
  (its addendum of 2008);
- the bottom sees the pressure at the valve plus the liquid column, so it may reach its limit
  before the valve is fully open. MAWP is that at the TOP of the vessel: a fabricator who deducted
  the head of the full vessel for the bottom has given it that head on top of MAWP (ASME BPVC
  VIII-1 UG-98(a), (b), as 46 CFR 54.10-5 prints it; now also BPVC XIII). Ask which liquid, to
  which height; where nothing was deducted, lower the set pressure or raise the bottom's MAWP;
- the disposal line sees liquid: column, surge and weight (common practice, no source).
"""

import numpy as np

from relieflib.errors import InputError, finite, not_negative, positive, refuse, result
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.set_pressure import accumulation_limit
from relieflib.sizing import ReliefLoad
from relieflib.units import ATMOSPHERE, GRAVITY
from relieflib.working import Working, step

NOTEBOOK = 20
PUBLISHED = {"overfilling": ("4.4.7", "")}

SOURCE = "API 521 (2020), 4.4.7"
MAWP_AT_TOP = "ASME BPVC VIII-1 UG-98(a), (b)"


def relief_load(inflow, stream, outflow=0.0, working=()):
    """Load of a vessel that has filled up: liquid at the valve.

    Parameters: inflow, the largest sum of liquid feeds at relieving pressure [kg/s]; stream, what
    reaches the valve at relieving pressure, liquid or two-phase; outflow [kg/s] through outlets
    that stay open; working, steps that led to the inflow. Arrays broadcast. Returns `ReliefLoad`.
    Raises InputError for a vapour stream or a negative flow.
    Source: API 521 (2020), 4.4.7; mass balance.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> relief_load(8.0, Liquid(12e5, 620.0), outflow=3.0).mass_flow
    5.0
    """
    if stream.phase in ("gas", "steam"):
        raise InputError("stream: a full vessel relieves liquid or two-phase, not vapour")
    W_in, W_out = not_negative(inflow=inflow, outflow=outflow)
    flow = result(np.maximum(W_in - W_out, 0.0))
    last = step("mass_flow", flow, "max(W_in - W_out, 0)", SOURCE, inflow=inflow,
                outflow=outflow)  # fmt: skip
    return ReliefLoad("overfilling", flow, stream, working=Working([*working, last]))


def mixed_load(inflow, gas_inflow, stream, liquid_density, outflow=0.0):
    """Load of a full vessel whose feed brings gas along: liquid and gas leave well mixed.

    Parameters: inflow of liquid and gas_inflow, the most that come at relieving pressure [kg/s];
    stream, `Gas` at relieving pressure; liquid_density [kg/m3]; outflow, liquid that still leaves
    [kg/s]. Arrays broadcast. Returns `ReliefLoad` of a `TwoPhase` that does not flash further.
    Raises InputError for a stream that is no gas, or no gas coming in: `relief_load` then.
    Validity: one velocity for both; gas that still comes out of the liquid in the nozzle adds to
    the area and is left out, so count it in gas_inflow where the liquid is full of it.
    Source: API 521 (2020), 4.4.7; API 520-I (2020), Annex C.2; mass and volume balance.
    >>> from relieflib.nozzle.gas import Gas
    >>> load = mixed_load(4.5, 0.05, Gas(10e5, 300.0, molar_mass=24.94, k=1.3), 600.0)
    >>> round(load.mass_flow, 3), round(load.stream.density, 1)
    (4.55, 364.0)
    """
    if stream.phase != "gas":
        raise InputError("stream: give the gas that comes along, as Gas at relieving pressure")
    W_l, W_out = not_negative(inflow=inflow, outflow=outflow)
    W_g, rho_l = positive(gas_inflow=gas_inflow, liquid_density=liquid_density)
    left = np.maximum(W_l - W_out, 0.0)
    gas, liquid = W_g / np.asarray(stream.density), left / rho_l
    part, flow = result(gas / (gas + liquid)), result(left + W_g)
    density = result((left + W_g) / (gas + liquid))
    mixture = TwoPhase.non_flashing(stream.pressure, density, part, stream.k)
    given = dict(inflow=inflow, outflow=outflow, gas_inflow=gas_inflow)
    at = dict(gas_density=stream.density, liquid_density=liquid_density)
    return ReliefLoad("overfilling", flow, mixture, working=Working([
        step("mass_flow", flow, "max(W_in - W_out, 0) + W_g", SOURCE, **given),
        step("void_fraction", part, "W_g/rho_g/(W_g/rho_g + max(W_in - W_out, 0)/rho_l)",
             "volumes of what comes in", **given, **at),
        step("density", density, "rho_g*alpha_0 + rho_l*(1 - alpha_0)", "of the mixture",
             void_fraction=part, **at),
    ]))  # fmt: skip


def bottom_pressure(relieving_pressure, density, elevation):
    """Pressure at the bottom of a vessel that relieves liquid at its top.

    Parameters: relieving_pressure at the valve [Pa absolute]; density [kg/m3]; elevation of the
    valve above the bottom [m]; arrays broadcast. Returns Pa absolute. Raises InputError if the
    pressure or density is not above 0 or the elevation is negative. Source: rho g z.
    >>> round(bottom_pressure(10e5, 700.0, 20.0) - 10e5)
    137293
    """
    P, rho = positive(relieving_pressure=relieving_pressure, density=density)
    return result(P + rho * GRAVITY * not_negative(elevation=elevation))


def bottom_steps(relieving_pressure, density, elevation):
    """The steps from relieving pressure to the pressure at the bottom.

    Parameters, errors and source as `bottom_pressure`. Returns `Working`.
    """
    P_bot = bottom_pressure(relieving_pressure, density, elevation)
    head = result(np.asarray(density) * GRAVITY * np.asarray(elevation))
    return Working([
        step("static_head", head, "rho*g*z", "liquid column", density=density, gravity=GRAVITY,
             elevation=elevation),
        step("bottom_pressure", P_bot, "P1 + dp_stat", SOURCE,
             relieving_pressure=relieving_pressure, static_head=head),
    ])  # fmt: skip


def bottom_limit(mawp_gauge, deducted_head=0.0, installation="single", atmosphere=ATMOSPHERE):
    """Pressure that the bottom of a vessel may reach while its valves relieve.

    Parameters: mawp_gauge, at the top of the vessel [Pa gauge]; deducted_head, the liquid head
    that the fabricator counted at the bottom on top of it [Pa], 0 where none or not known;
    installation as `set_pressure.accumulation_limit`; atmosphere [Pa]; arrays broadcast. Returns
    Pa absolute. Raises InputError for a negative head. Validity: vessels of ASME VIII-1, no fire.
    Source: ASME BPVC VIII-1 UG-98(a), (b); accumulation of BPVC XIII.
    >>> round(bottom_limit(10e5, 0.5e5))
    1251325
    """
    p, patm = positive(mawp_gauge=mawp_gauge, atmosphere=atmosphere)
    head = not_negative(deducted_head=deducted_head)
    return result(p + accumulation_limit(mawp_gauge, installation) + head + patm)


def highest_set_pressure(mawp_gauge, density, elevation, accumulation=0.1,
                         overpressure_fraction=0.1, deducted_head=0.0):  # fmt: skip
    """Highest set pressure of a full vessel: its bottom within MAWP at set, within accumulation.

    Parameters: mawp_gauge, at the top of the vessel [Pa gauge]; density [kg/m3]; elevation of the
    valve above the bottom [m]; accumulation allowed, overpressure_fraction of the valve [-];
    deducted_head [Pa] as `bottom_limit`; arrays broadcast. Returns Pa gauge, the smallest of both
    limits and MAWP itself. Raises InputError where the column alone goes beyond one.
    Source: ASME XIII, set and accumulation; ASME BPVC VIII-1 UG-98; rho g z.
    >>> round(highest_set_pressure(10e5, 700.0, 20.0))
    862707
    >>> round(highest_set_pressure(10e5, 700.0, 20.0, deducted_head=1.2e5))
    982707
    """
    p, rho = positive(mawp_gauge=mawp_gauge, density=density)
    z, a, x, more = not_negative(elevation=elevation, accumulation=accumulation,
                                 overpressure_fraction=overpressure_fraction,
                                 deducted_head=deducted_head)  # fmt: skip
    head = rho * GRAVITY * z - more  # what the bottom was not made for
    allowed = (1.0 + a) * p - head
    refuse(allowed <= 0, "elevation", z, "the liquid column alone is above the limit")
    at_set = p - head
    refuse(at_set <= 0, "elevation", z, "the liquid column alone is above MAWP")
    return result(np.minimum(np.minimum(allowed / (1.0 + x), at_set), p))


def time_to_fill(free_volume, volume_flow, volume_outflow=0.0):
    """Time until a vessel is full, counted from the level alarm or any other level.

    Parameters: free_volume above that level [m3]; volume_flow that comes in, volume_outflow that
    still leaves [m3/s]; arrays broadcast. Returns s; infinite where the outflow keeps up. Raises
    InputError for a negative value. Validity: constant flows. Source: volume balance.
    >>> time_to_fill(3.0, 0.006, 0.001)
    600.0
    """
    V, q, q_out = not_negative(
        free_volume=free_volume, volume_flow=volume_flow, volume_outflow=volume_outflow
    )
    net = q - q_out
    with np.errstate(divide="ignore", invalid="ignore"):
        return result(np.where(net <= 0.0, np.inf, V / net))


def lift_back_pressure(downstream_pressure, density, elevation):
    """Back pressure of a disposal line that stands full of liquid and rises.

    Parameters: downstream_pressure at the end of the line [Pa absolute]; density [kg/m3];
    elevation of the highest point above the valve outlet [m], negative where the line falls;
    arrays broadcast. Returns Pa absolute, at least the downstream pressure. Raises InputError if
    pressure or density is not above 0. Validity: no friction. Source: rho g z; a line from a
    valve that can relieve liquid should drain away from it (API 521 (2020), 5.5, from memory).
    >>> round(lift_back_pressure(1.2e5, 620.0, 8.0))
    168641
    """
    P2, rho = positive(downstream_pressure=downstream_pressure, density=density)
    return result(P2 + rho * GRAVITY * np.maximum(finite(elevation=elevation), 0.0))


def flooded_velocity(mass_flow, density, diameter):
    """Velocity of liquid that fills a disposal line.

    Parameters: mass_flow [kg/s]; density [kg/m3]; inside diameter [m]; arrays broadcast. Returns
    m/s. Raises InputError if density or diameter is not above 0, or the flow is negative.
    Source: continuity.
    >>> round(flooded_velocity(5.0, 620.0, 0.0779), 3)
    1.692
    """
    rho, D = positive(density=density, diameter=diameter)
    return result(not_negative(mass_flow=mass_flow) / (rho * np.pi / 4.0 * D**2))


def flooded_mass(density, diameter, length):
    """Mass of liquid that a flooded disposal line adds to its supports.

    Parameters: density [kg/m3]; inside diameter and length of the line [m]; arrays broadcast.
    Returns kg. Raises InputError if one is not above 0. Source: volume of a cylinder.
    >>> round(flooded_mass(620.0, 0.3048, 250.0))
    11310
    """
    rho, D, L = positive(density=density, diameter=diameter, length=length)
    return result(rho * np.pi / 4.0 * D**2 * L)
