"""Liquid that does not flash: mass flux, Reynolds number and viscosity factor."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib.errors import (
    InputError,
    Value,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
    some,
    warn_outside,
)
from relieflib.working import Working, step

SOURCE = "API 520-I (2020), 5.8"
_OLDER = 0.9935, 2.878, 342.75  # of 1/Kv in editions 7 and 9, with Re^-0.5 and Re^-1.5


def mass_flux(pressure, density, back_pressure):
    """Mass flux of an incompressible liquid through an ideal nozzle.

    Parameters: pressure, back_pressure, absolute [Pa]; density [kg/m3]; arrays broadcast.
    Returns kg/(m2 s). Raises InputError if pressure or density is not above 0, or the back
    pressure is negative or above the inlet pressure. Validity: no flashing down to the back
    pressure. Source: API 520-I (2020), 5.8: its constant 38 (US) or 11.78 (SI) is sqrt(2).
    >>> round(mass_flux(12e5, 1000.0, 2e5), 1)
    44721.4
    """
    P, density = positive(pressure=pressure, density=density)
    back = not_negative(back_pressure=back_pressure)
    refuse(back > P, "back_pressure", back, "is above the relieving pressure: flow would reverse")
    return result(np.sqrt(2.0 * density * (P - back)))


def reynolds(mass_flow, area, viscosity):
    """Reynolds number in the orifice, on the diameter of a circle of its area.

    Parameters: mass_flow [kg/s], area [m2], viscosity [Pa s]; arrays broadcast. Returns float or
    array [-]. Raises InputError if one is not above 0.
    Source: API 520-I (2020), 5.8, Re = 18 800 q G/(mu sqrt(A)) in L/min, cP, mm2; the definition
    4 W/(pi D mu). Its form for Saybolt seconds (12 700) gives 2 % less.
    >>> round(reynolds(102.1, 4116e-6, 0.388))
    4628
    """
    W, A, mu = positive(mass_flow=mass_flow, area=area, viscosity=viscosity)
    return result(2.0 * W / (mu * np.sqrt(np.pi * A)))


def viscosity_factor(reynolds, edition=10):
    """Factor Kv for viscous liquid.

    Parameters: reynolds [-], number or array; edition of API 520-I: 10, or 7 and 9, which print
    another equation. Returns float or array [-]. Raises InputError if Re is not above 0.
    Validity: chart from Re 10 up to 100 000; below Re 10 a ValidityWarning; never above 1, which
    the older equation would pass by 0.6 %.
    Source: API 520-I 10th edition (2020), 5.8: (1 + 170/Re)^-0.5; 7th (2000) and 9th: 3.8 / 5.8.
    >>> round(viscosity_factor(4525.0), 4), round(viscosity_factor(4525.0, edition=9), 4)
    (0.9817, 0.9639)
    """
    _check_edition(edition)
    Re = positive(reynolds=reynolds)
    warn_outside(Re < 10.0, "reynolds", Re, "Re above 10", SOURCE)
    if edition == 10:
        return result((1.0 + 170.0 / Re) ** -0.5)
    one, root, cube = _OLDER
    return result(np.minimum(1.0 / (one + root / Re**0.5 + cube / Re**1.5), 1.0))


def _check_edition(edition):
    if type(edition) is not int or edition not in (7, 9, 10):
        raise InputError(f"edition = {edition!r}: Kv is held for API 520-I editions 7, 9 and 10")


def viscosity_factor_of_thin(reynolds, edition=10):
    """Factor Kv of the flow that passes, by the Reynolds number that it would have at Kv 1.

    Parameters: reynolds [-] of the flow without the factor, number or array; edition as
    `viscosity_factor`. Returns Kv at Re Kv, float or array [-]. Raises InputError as it, also where
    the older equation has no such flow (Re below 107.7). Source: as `viscosity_factor`; in the 10th
    edition a quadratic in Kv, in those before a cubic in its square root.
    >>> Kv = viscosity_factor_of_thin(1000.0)
    >>> round(Kv, 6), round(viscosity_factor(1000.0 * Kv), 6)
    (0.918606, 0.918606)
    """
    _check_edition(edition)
    thin = positive(reynolds=reynolds)
    if edition == 10:
        c = 170.0 / thin
        return viscosity_factor(thin * 2.0 / (c + np.hypot(c, 2.0)))
    return viscosity_factor(thin * _largest_root(thin) ** 2, edition)


def _largest_root(thin):
    """Square root of the older Kv: the largest root of a cubic, by Newton's steps from above."""
    one, root, cube = _OLDER
    b, c, s = result(root / thin**0.5), result(cube / thin**1.5), result(1.01 + 0.0 * thin)
    for _ in range(100):  # some five; more where two roots nearly meet
        slope = (3.0 * one * s + 2.0 * b) * s - 1.0
        none = (slope <= 0.0) | (s <= 0.0)
        words = "by the older equation for Kv nothing so viscous flows: take edition 10"
        refuse(none, "reynolds", thin, words)
        step = (((one * s + b) * s - 1.0) * s + c) / slope
        s = s - step
        if not some(abs(step) > 1e-14):  # NaN stays NaN
            break
    return s


@dataclass(frozen=True)
class Liquid:
    """Liquid at relieving conditions that does not boil on its way out.

    Parameters
    ----------
    pressure : float or array, Pa absolute
        At the valve inlet while relieving.
    density : float or array, kg/m3
    viscosity : float or array, Pa s, optional
        Dynamic; without it the viscosity factor Kv is left out.
    saturation_pressure : float or array, Pa absolute, optional
        Held against the back pressure: a liquid that flashes on its way gives a `ValidityWarning`,
        since this equation then overrates the valve.

    Raises
    ------
    InputError
        For a value not above 0, or a saturation pressure above the relieving pressure.

    Notes
    -----
    API 520-I (2020), 5.8: incompressible flow. Fields broadcast.

    Examples
    --------
    >>> round(Liquid(11e5, 998.0).mass_flux(1e5))
    44677
    """

    pressure: Value
    density: float
    _: KW_ONLY
    viscosity: Value | None = None
    saturation_pressure: Value | None = None
    phase = "liquid"

    def __post_init__(self):
        P, density = positive(pressure=self.pressure, density=self.density)
        plausible(pressure=P, density=density)
        if self.viscosity is not None:
            positive(viscosity=self.viscosity)
        if self.saturation_pressure is not None:
            Ps = positive(saturation_pressure=self.saturation_pressure)
            refuse(Ps > P, "saturation_pressure", Ps, "is above the relieving pressure: it boils")

    def mass_flux(self, back_pressure):
        """Mass flux [kg/(m2 s)] against a back pressure [Pa]; see `mass_flux`."""
        if self.saturation_pressure is not None:
            Ps = np.asarray(self.saturation_pressure, dtype=float)
            warn_outside(
                Ps > back_pressure,
                "saturation_pressure",
                Ps,
                "below the back pressure: the liquid flashes; use TwoPhase or RealFluid",
                "API 520-I (2020), Annex C",
            )
        return mass_flux(self.pressure, self.density, back_pressure)

    def choked(self, back_pressure):
        """False: an incompressible liquid does not choke."""
        return result(np.zeros(np.shape(back_pressure), dtype=bool))

    def flux_working(self, back_pressure):
        """The step from the state to the mass flux, as a `Working`."""
        return Working([step(
            "mass_flux", self.mass_flux(back_pressure), "sqrt(2*rho*(P1 - P2))", SOURCE,
            pressure=self.pressure, back_pressure=back_pressure, density=self.density,
        )])  # fmt: skip
