"""The isentrope of a real fluid: fast states along it and where it crosses the dome."""

from functools import lru_cache

import numpy as np

from relieflib.errors import InputError, finite, not_negative, one_number, refuse, warn_outside
from relieflib.fluid_flash import MIXTURE_LIMIT
from relieflib.properties import engine_of


def expansion(fluid):
    """A fast function of (pressure, entropy) for one fluid, for the nozzle.

    Parameters: fluid. Returns a function of two floats, Pa and J/(kg K), that gives the tuple
    density [kg/m3], enthalpy [J/kg], temperature [K], quality [-] at equilibrium; it raises
    InputError below the lowest temperature of the equation of state and without a solution.
    Source: reference equation of state by CoolProp (HEOS).
    >>> rho, h, T, x = expansion("Water")(5e5, 5000.0)
    >>> round(rho, 3), round(T, 2), round(x, 4)
    (4.208, 424.98, 0.633)
    """
    engine = engine_of(fluid)
    pure, state, pair, lowest = (
        engine.pure,
        engine.state,
        engine.CP.PSmass_INPUTS,
        engine.Tmin * (1 - 1e-6),
    )

    def point(pressure, entropy):
        try:
            if pure:
                state.update(pair, pressure, entropy)
            else:
                engine.update("entropy", pressure, entropy)
        except ValueError:
            engine.update("entropy", pressure, entropy)  # raises with words
        T = state.T()
        refuse(T < lowest, "temperature", T, "of the expanding fluid is below the lowest of the "
               f"equation of state, {engine.Tmin:.6g} K: solid may form")  # fmt: skip
        return state.rhomass(), state.hmass(), T, engine.mass_quality()

    return point


@lru_cache(maxsize=64)
def _saturation_entropies(fluid):
    """Pressures from the triple point to near the critical one, entropies of liquid and vapour."""
    engine = engine_of(fluid)
    low, top = engine.Pt * (1 + 1e-6), engine.Pc
    if not engine.pure:
        low, top = max(1e3, 1e-3 * top), MIXTURE_LIMIT * top
    # guard: where to look for crossings, closer near the critical point
    P = np.r_[np.geomspace(low, 0.9 * top, 60), top * (1 - np.geomspace(0.09, 1e-6, 25))]
    rows = []
    for p in P:
        try:
            row = [p]
            for q in (0.0, 1.0):
                engine.update("quality", p, q)
                row.append(engine.state.smass())
            rows.append(row)
        except InputError:
            continue
    return np.array(rows).reshape(-1, 3).T


def phase_changes(fluid, entropy, pressure, back_pressure=0.0):
    """Pressures at which an isentrope crosses the bubble or dew line, highest first.

    Parameters: fluid; entropy [J/(kg K)]; pressure and back_pressure, the ends [Pa], left out
    themselves; floats. Returns a list of Pa. Raises InputError for an unknown fluid. Source:
    reference equation of state by CoolProp (HEOS); roots of s_l(P) = s and s_v(P) = s.
    >>> [round(P / 1e5, 3) for P in phase_changes("Propane", 1400.0, 40e5)]
    [15.169]
    """
    one_number(entropy=entropy, pressure=pressure)
    not_negative(back_pressure=one_number(back_pressure=back_pressure))
    from scipy.optimize import brentq

    engine, found = engine_of(fluid), []
    P, *curves = _saturation_entropies(fluid)
    for q, s in enumerate(curves):

        def miss(p, q=float(q)):
            engine.update("quality", p, q)
            return engine.state.smass() - entropy

        for i in np.nonzero((s[:-1] - entropy) * (s[1:] - entropy) < 0)[0]:
            if P[i] < pressure and P[i + 1] > back_pressure:
                found.append(brentq(miss, P[i], P[i + 1], rtol=1e-13))
    inside = (back_pressure * (1 + 1e-9), pressure * (1 - 1e-9))
    return sorted((p for p in found if inside[0] < p < inside[1]), reverse=True)


def check_mixture(fluid, pressure, temperature):
    """Warn where a mixture is so near its critical point that its phases aren't dependable.

    Parameters: fluid; pressure [Pa]; temperature [K]; numbers or arrays. Returns None; gives a
    ValidityWarning above 90 % of the critical pressure and below 1.1 of the critical temperature.
    Raises InputError for an unknown fluid. Source: our choice, from CoolProp's convergence.
    >>> check_mixture("Propane", 40e5, 380.0)
    """
    engine = engine_of(fluid)
    if not engine.pure:
        P, T = finite(pressure=pressure, temperature=temperature)
        warn_outside((P > MIXTURE_LIMIT * engine.Pc) & (T < 1.1 * engine.Tc), "pressure", P,
                     f"90 % of the mixture's critical pressure ({engine.Pc:.6g} Pa)",
                     "the phases of a mixture aren't dependable nearer")  # fmt: skip
