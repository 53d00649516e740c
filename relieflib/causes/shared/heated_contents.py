"""A vessel's contents, a mixture with gas dissolved in it, heated until the valve relieves, and on.

Nothing boils at one temperature here: gas leaves, the liquid swells, and above the critical
pressure of the mixture one dense fluid is left. One balance holds through all of it: at constant
pressure and volume, heat Q makes the contents grow by Q (dV/dH)_P, and as much of the phase at the
top leaves. Of a pure fluid that is Q/h_v, less what the vapour needs to fill the room of the liquid
it came from: Q/h_v (1 - rho_v/rho_l).
"""

from collections import namedtuple

import numpy as np

from relieflib.errors import InputError, one_number, positive
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.phase_split import Split
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

SOURCE = "Peng-Robinson by CoolProp; energy and volume balance of the vessel"
LARGEST = "API 521 (2020), 4.4.13: the largest area governs, not the largest flow"
_RISE, _FINE = 10.0, 1.0  # K a step; the fine one where a phase vanishes, and the load jumps
_EMPTY = 0.98  # guard: what one step may drive out at most

Point = namedtuple("Point", "temperature expulsion_heat leaving")


def filled(mixture, volume, liquid_volume):
    """Contents of a vessel that holds a mixture's liquid up to a level, and its vapour above.

    Parameters: mixture, a `phase_split.Split` in two phases; volume of the vessel, liquid_volume
    [m3]. Returns `Split` whose masses are kg. Raises InputError for a single phase or more liquid
    than volume. Source: densities of the two phases.
    >>> half = filled(Split(("Propane", "n-Hexane"), (1.0, 1.0), 3e5, 313.15), 2.0, 1.0)
    >>> round(half.volume, 6)
    2.0
    """
    V, V_l = float(positive(volume=volume)), float(positive(liquid_volume=liquid_volume))
    if V_l > V or not mixture.vapor_mass * mixture.liquid_mass > 0:
        raise InputError("liquid_volume: must fit into the vessel, beside some vapour")
    liquid, vapor = mixture.part("liquid"), mixture.part("vapor")
    masses = np.array(liquid.masses) * (V_l / liquid.volume)
    masses += np.array(vapor.masses) * ((V - V_l) / vapor.volume)
    return Split(mixture.fluids, tuple(masses), mixture.pressure, mixture.temperature)


def path(contents, pressure, volume, end_temperature):
    """What leaves a vessel that is heated at its relieving pressure, from its first gas on.

    Parameters: contents, `Split` with masses in kg; pressure at which it relieves [Pa]; volume of
    the vessel [m3]; end_temperature [K]. Returns a list of `Point`: temperature [K], heat that
    drives out a kilogram [J/kg], and the phase at the top as `Split`. Raises InputError where the
    contents don't reach the pressure below the end. Source: see the module.
    >>> propane = filled(Split(("Propane", "n-Butane"), (0.99, 0.01), 13.8e5, 313.7), 2.0, 1.0)
    >>> round(path(propane, 20e5, 2.0, 340.0)[0].expulsion_heat / 1e3)
    298
    """
    one_number(pressure=pressure, volume=volume)
    from scipy.optimize import brentq

    def swollen(T):
        return contents.at(pressure, T).volume - volume

    start, end = contents.temperature, float(positive(end_temperature=end_temperature))
    if not swollen(start) < 0 < swollen(end):
        raise InputError(f"end_temperature = {end:.6g} K: the contents don't fill the vessel at "
                         "relieving pressure between where they start and there")  # fmt: skip
    here = contents.at(pressure, brentq(swollen, start, end, xtol=1e-6))
    points = []
    while here.temperature < end:
        points.append(_point(here))
        after = _heated(here, volume, _RISE)
        here = after if _both(after) == _both(here) else _heated(here, volume, _FINE)
    return points


def _both(split):
    """True where both phases are there."""
    return split.vapor_mass > 0 < split.liquid_mass


def _top(split):
    return split.part("vapor") if _both(split) else split


def _point(here):
    warmer = here.at(here.pressure, here.temperature + 0.2)
    per_heat = (warmer.volume - here.volume) / (warmer.enthalpy - here.enthalpy)
    top = _top(here)
    return Point(here.temperature, top.volume / sum(top.masses) / per_heat, top)


def _heated(here, volume, rise):
    """The contents a step [K] warmer, without what no longer fits."""
    warm = here.at(here.pressure, here.temperature + rise)
    top = _top(warm)
    gone = min((warm.volume - volume) / top.volume, _EMPTY)
    left = np.array(warm.masses) - gone * np.array(top.masses)
    return Split(here.fluids, tuple(np.maximum(left, 0.0)), here.pressure, warm.temperature)


def stream(leaving):
    """What leaves as a stream that stays in equilibrium while it expands in the nozzle.

    Parameters: leaving, a `phase_split.Split` in one phase or two. Returns `TwoPhase` from a flash
    at constant entropy to 90 % of the pressure. Raises InputError as its parts. Validity: a dense
    or a wet fluid; for a gas the same as `Gas` within some per cent. Source: API 520-I (2020),
    Annex C.2.2; Peng-Robinson.
    >>> wet = Split(("Propane", "n-Hexane"), (1.0, 1.0), 3e5, 313.15)
    >>> round(stream(wet).mass_flux(), -1)
    1080.0
    """
    mass = sum(leaving.masses)
    low = leaving.expanded(0.9 * leaving.pressure)
    return TwoPhase.from_90(leaving.pressure, leaving.volume / mass, low.volume / mass)


def vapor_stream(mixture, pressure=None):
    """The vapour of a mixture as `Gas`, at the mixture's temperature.

    Parameters: mixture, a `phase_split.Split`; pressure of the stream [Pa absolute], that of the
    mixture unless given; at another one it counts as ideal, Z 1. Returns `Gas`. Raises InputError
    as `Gas`. Source: Peng-Robinson by CoolProp.
    >>> wet = Split(("Propane", "n-Hexane"), (1.0, 1.0), 3e5, 313.15)
    >>> vapor_stream(wet).Z < vapor_stream(wet, 2e5).Z
    True
    """
    vapor, own = mixture.vapor, pressure is None or pressure == mixture.pressure
    P = mixture.pressure if pressure is None else pressure
    return Gas(P, mixture.temperature, molar_mass=vapor.molar_mass, k=vapor.k,
               Z=vapor.Z if own else 1.0)  # fmt: skip


def _rough_area(point):
    """Area for each watt but for a factor: flux goes as sqrt(P rho), or nearly."""
    density = sum(point.leaving.masses) / point.leaving.volume
    return 1.0 / (point.expulsion_heat * np.sqrt(density))


def relief_load(cause, points, heat_rate, working=()):
    """Load of heated contents: the point of their path that needs the largest area.

    Parameters: cause; points, as `path` gives them; heat_rate [W]; working, steps that led to it.
    Returns `ReliefLoad` of `TwoPhase`. Raises InputError as its parts. Source: see the module; API
    521 (2020), 4.4.13: the largest area, not the largest flow.
    >>> pair = filled(Split(("Propane", "n-Hexane"), (1.0, 1.0), 3e5, 313.15), 2.0, 1.0)
    >>> load = relief_load("exterior_fire_liquid", path(pair, 12e5, 2.0, 400.0), 1e5)
    >>> round(load.mass_flow, 2)
    0.15
    """
    Q = float(positive(heat_rate=heat_rate))
    near = sorted(points, key=_rough_area)[-3:]  # a nozzle's flash takes time: three are enough
    found = [(stream(p.leaving), p) for p in near]
    best, point = max(found, key=lambda x: 1.0 / (x[1].expulsion_heat * x[0].mass_flux(0.0)))
    heat = float(point.expulsion_heat)
    lines = [
        step("temperature", point.temperature, source=LARGEST),
        step("expulsion_heat", heat, source=SOURCE),
        step("mass_flow", Q / heat, "Q/h_e", "energy balance", heat_rate=Q, expulsion_heat=heat),
    ]
    return ReliefLoad(cause, Q / heat, best, working=Working([*working, *lines]))
