"""Friction in a pipe, and the velocity heads of pipe in which a gas comes to choke.

Lengths are told as velocity heads, N = f L/D + sum of K, with the Darcy friction factor.
"""

import numpy as np

from relieflib.errors import finite, not_negative, positive, refuse, result
from relieflib.units import GAS_CONSTANT

FRICTION = "Churchill (1977)"
FANNO = "adiabatic pipe flow of an ideal gas (Fanno)"
ISOTHERMAL = "API 521 (2020), 5.5, isothermal flow"


# ---- friction


def friction_factor(pipe_reynolds, relative_roughness):
    """Darcy friction factor from laminar to fully rough flow, in one continuous equation.

    Parameters: pipe_reynolds [-], relative_roughness, roughness over inside diameter [-]; arrays
    broadcast. Returns float or array [-]. Raises InputError for a Reynolds number not above 0 or a
    roughness outside 0 to 0.2. Validity: within about 3 % of Colebrook's equation above Re 10 000;
    between Re 2000 and 4000 no equation can be trusted.
    Source: Churchill, Chem. Eng. 84 (1977) no. 24, p. 91.
    >>> round(friction_factor(1e5, 1e-3), 5), round(friction_factor(100.0, 1e-3), 3)
    (0.02234, 0.64)
    """
    Re = positive(pipe_reynolds=pipe_reynolds)
    return result(_churchill(1.0 / Re, _checked_roughness(relative_roughness)))


def rough_pipe_friction(relative_roughness):
    """Darcy friction factor of fully rough flow, where viscosity no longer counts.

    Parameters: relative_roughness [-], above 0 up to 0.2, number or array. Returns float or array.
    Raises InputError outside. Source: Churchill (1977) at an infinite Reynolds number.
    >>> round(rough_pipe_friction(45e-6 / 0.10226), 4)
    0.0162
    """
    e = _checked_roughness(relative_roughness)
    refuse(e == 0, "relative_roughness", e, "a smooth pipe has no fully rough flow: give viscosity")
    return result(_churchill(0.0, e))


def _checked_roughness(relative_roughness):
    e = not_negative(relative_roughness=relative_roughness)
    refuse(e > 0.2, "relative_roughness", e, "must be 0 to 0.2")
    return e


def _churchill(inverse_re, e):
    laminar = 8.0 * inverse_re
    with np.errstate(over="ignore"):  # a trial flow near none: laminar alone is left, 64/Re
        A = (-2.457 * np.log((7.0 * inverse_re) ** 0.9 + 0.27 * e)) ** 16
        B = (37_530.0 * inverse_re) ** 16
        both = (laminar**12 + (A + B) ** -1.5) ** (1.0 / 12.0)
    return 8.0 * np.where(laminar > 1e20, laminar, both)


# ---- velocity heads up to choking; s = 1/Ma^2 - 1 keeps its digits where Ma is near 1


def _checked_mach(mach, k, highest=1.0):
    Ma, k = positive(mach=mach), finite(k=k)
    refuse(k <= 1.0, "k", k, "must be above 1")
    refuse(Ma > highest * (1 + 1e-12), "mach", Ma, "is above that at which the pipe chokes")
    return Ma, k


def _fanno(s, k):
    return s / k - (k + 1.0) / (2.0 * k) * np.log1p(2.0 * s / (k + 1.0))


def _fanno_inverse(heads, k):
    """S of a number of velocity heads; Newton on a convex function, from above the root."""
    s = k * heads + np.sqrt(k * (k + 1.0) * heads)  # guard: where the steps begin
    for _ in range(60):
        slope = 2.0 * s / (k * (2.0 * s + k + 1.0))  # guard: the pace of the steps
        change = (_fanno(s, k) - heads) / np.where(s > 0, slope, 1.0)  # guard: as above
        s = s - change
        if not np.any(np.abs(change) > 1e-14 * s):
            break
    return np.maximum(s, 0.0)


def fanno_heads(mach, k):
    """Velocity heads of pipe from a Mach number to choking, adiabatic.

    Parameters: mach, above 0 up to 1; k, the ideal-gas ratio [-]; arrays broadcast. Returns float
    or array [-]: Darcy f L/D. Raises InputError outside. Source: adiabatic pipe flow of an ideal
    gas (Fanno), any text on gas dynamics.
    >>> round(fanno_heads(0.2, 1.4), 4)
    14.5333
    """
    Ma, k = _checked_mach(mach, k)
    return result(_fanno(np.maximum(1.0 / Ma**2 - 1.0, 0.0), k))


def fanno_mach(velocity_heads, k):
    """Mach number at the inlet of a pipe that chokes at its end, adiabatic; undoes `fanno_heads`.

    Parameters: velocity_heads, f L/D and K [-], 0 or more; k [-]; arrays broadcast. Returns float
    or array [-]. Raises InputError outside. Source: as `fanno_heads`.
    >>> round(fanno_mach(14.5333, 1.4), 4)
    0.2
    """
    N, k = not_negative(velocity_heads=velocity_heads), _checked_mach(1.0, k)[1]
    return result(1.0 / np.sqrt(1.0 + _fanno_inverse(*np.broadcast_arrays(N, k))))


def isothermal_heads(mach, k):
    """Velocity heads of pipe from a Mach number to choking, isothermal: that is at 1/sqrt(k).

    Parameters: mach, above 0 up to 1/sqrt(k); k [-]; arrays broadcast. Returns float or array [-].
    Raises InputError outside. Source: isothermal pipe flow; API 521 (2020), 5.5.
    >>> round(isothermal_heads(0.3, 1.4), 5)
    4.86503
    """
    Ma, k = _checked_mach(mach, k, 1.0 / np.sqrt(np.maximum(finite(k=k), 1e-9)))
    x = k * Ma**2
    return result((1.0 - x) / x + np.log(x))


def mach_number(mass_flux, pressure, temperature, molar_mass, Z=1.0, k=1.0):
    """Mach number of a gas in a pipe from its static state.

    Parameters: mass_flux in the pipe [kg/(m2 s)]; pressure [Pa], static; temperature [K], static;
    molar_mass [kg/kmol]; Z, k [-]; arrays broadcast. Returns float or array [-]. The default
    k of 1 gives the isothermal Mach number of API 521, which chokes at 1. Raises InputError for
    values not above 0. Source: API 521 (2020), 5.5 (3.23e-5 with kg/h, kPa, m) and its flare
    diameter (with k).
    >>> round(mach_number(20 / 0.19635, 1.2e5, 350.0, 30.0), 4)
    0.2644
    """
    G, P, T, M, Z, k = positive(
        mass_flux=mass_flux, pressure=pressure, temperature=temperature, molar_mass=molar_mass, Z=Z,
        k=k)  # fmt: skip
    return result(G / P * np.sqrt(Z * GAS_CONSTANT * T / (k * M)))
