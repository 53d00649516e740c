"""Level swell: does a boiling or gassing liquid rise to the vent? A screening, by drift flux.

Bubbles made all through a liquid leave it only as fast as they rise, so the liquid swells. Where
the swelled liquid fills the vessel, two phases leave. The answer needs a clean liquid, an upright
vessel of one cross-section, and bubbles made all through it: any trace of foaming, a viscosity
above some 100 mPa s, or no knowledge of either, and it is two phases whatever is found here.
"""

import numpy as np

from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.units import GRAVITY

SOURCE = "DIERS: Fisher and others, Emergency Relief System Design (1992), from memory"
REGIMES = {"bubbly": (1.18, 1.2), "churn": (1.53, 1.5)}  # constant of the rise, C0 of drift flux


def _regime(swell_regime):
    if swell_regime not in REGIMES:
        raise InputError(f"swell_regime '{swell_regime}': use {' or '.join(REGIMES)}")
    return REGIMES[swell_regime]


def rise_velocity(surface_tension, liquid_density, vapor_density, swell_regime="bubbly"):
    """Velocity with which bubbles rise in a standing liquid.

    Parameters: surface_tension [N/m]; liquid_density, vapor_density [kg/m3]; swell_regime,
    'bubbly' (small bubbles: viscous or slightly dirty, swells more) or 'churn' (large ones: clean
    and thin). Arrays broadcast. Returns m/s. Raises InputError for a value not above 0 or a vapour
    denser than the liquid. Validity: as the module. Source: Harmathy (1960), Wallis: c (sigma g
    (rho_l - rho_v))^(1/4)/sqrt(rho_l) with c 1.53 for churn, DIERS 1.18 for bubbly (from memory).
    >>> round(rise_velocity(0.0728, 998.2, 1.2, "churn"), 3)
    0.25
    """
    s, rho_l, rho_v = positive(surface_tension=surface_tension, liquid_density=liquid_density,
                               vapor_density=vapor_density)  # fmt: skip
    refuse(rho_v >= rho_l, "vapor_density", rho_v, "must be below that of the liquid")
    constant, _ = _regime(swell_regime)
    return result(constant * (s * GRAVITY * (rho_l - rho_v)) ** 0.25 / np.sqrt(rho_l))


def swell_void(velocity_ratio, swell_regime="bubbly"):
    """Mean fraction of bubbles in a liquid that boils all through.

    Parameters: velocity_ratio, superficial velocity of what leaves the surface over
    `rise_velocity` [-]; swell_regime as there. Arrays broadcast. Returns float or array [-], below
    1/C0. Raises InputError for a negative ratio. Validity: as the module. Source: DIERS (from
    memory): churn psi/(2 + 1.5 psi); bubbly psi = a (1 - a)^2/((1 - a^3)(1 - 1.2 a)).
    >>> round(swell_void(0.5, "churn"), 4), round(swell_void(0.5, "bubbly"), 4)
    (0.1818, 0.6507)
    """
    psi = not_negative(velocity_ratio=velocity_ratio)
    _, C0 = _regime(swell_regime)
    if swell_regime == "churn":
        return result(psi / (2.0 + C0 * psi))
    low, high = np.zeros(psi.shape), np.full(psi.shape, 1.0 / C0)
    for _ in range(60):  # bisection: the right side grows from 0 without bound
        a = 0.5 * (low + high)
        more = a * (1.0 - a) ** 2 < psi * (1.0 - a**3) * (1.0 - C0 * a)
        low, high = np.where(more, a, low), np.where(more, high, a)
    return result(np.where(np.isnan(psi), np.nan, 0.5 * (low + high)))


def swelled_fraction(volume_flow, cross_section, liquid_fraction, rise_velocity,
                     swell_regime="bubbly"):  # fmt: skip
    """Part of a vessel that its swelled liquid takes up; from 1 on two phases leave.

    Parameters: volume_flow of vapour or gas that leaves the surface [m3/s]; cross_section of the
    vessel [m2]; liquid_fraction, volume of the liquid at rest over that of the vessel [-], above 0
    and below 1; rise_velocity [m/s] and swell_regime as `rise_velocity`. Arrays broadcast. Returns
    float or array [-]. Raises InputError outside. Validity: as the module; once a large vent is
    open more vapour leaves than the reaction makes: screen with the larger of the two.
    Source: as `swell_void`; liquid over (1 - its mean void).
    >>> round(swelled_fraction(0.17, 3.8, 0.8, 0.16, "churn"), 2)
    0.9
    """
    q, fill = not_negative(volume_flow=volume_flow), positive(liquid_fraction=liquid_fraction)
    A, U = positive(cross_section=cross_section, rise_velocity=rise_velocity)
    refuse(fill >= 1.0, "liquid_fraction", fill, "must be below 1: the vessel would be full")
    return result(fill / (1.0 - np.asarray(swell_void(result(q / (A * U)), swell_regime))))
