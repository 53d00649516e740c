"""Ideal-gas mass flux through an isentropic nozzle, choked or not, as one continuous function."""

import math
from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib.errors import (
    HOTTEST,
    Value,
    finite,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.units import GAS_CONSTANT
from relieflib.working import Working, step

# C is then 315 (0.0239 in SI), what API 520-I (2020), 5.6.3 gives for a k that is not known: the
# smallest of its table, so up to 13 % more area than k 1.4, choked or not.
UNKNOWN_K = 1.0001
SOURCE = "API 520-I (2020), 5.6; isentropic flow of an ideal gas"


def _checked_k(k):
    k = finite(k=k)
    refuse(k <= 1.0, "k", k, "must be above 1; take the ideal-gas ratio at relieving temperature")
    return k


def critical_ratio(k):
    """Ratio of throat to inlet pressure at which an ideal gas chokes.

    Parameters: k [-], number or array. Returns float or array [-]. Raises InputError if k <= 1.
    Validity: ideal gas with constant k. Source: API 520-I (2020), 5.6.2, equation for Pcf/P1.
    >>> round(critical_ratio(1.4), 6)
    0.528282
    """
    k = _checked_k(k)
    return result((2.0 / (k + 1.0)) ** (k / (k - 1.0)))


def mass_flux(pressure, temperature, *, molar_mass, k, Z=1.0, back_pressure=0.0):
    """Mass flux of an ideal gas through an isentropic nozzle.

    Parameters: pressure, back_pressure, absolute [Pa]; temperature [K]; molar_mass [kg/kmol];
    k, the ideal-gas ratio [-], `UNKNOWN_K` where it is not known; Z at the inlet [-]; arrays
    broadcast. Returns kg/(m2 s); the flux at the critical ratio wherever the back pressure lies
    below it. Raises InputError if a pressure, temperature, molar mass or Z is not above 0, if k <=
    1, or if the back pressure is negative or above the inlet pressure. Validity: ideal gas with Z
    at the inlet; API 520-I puts the limit near Z 0.8 to 1.1 (ValidityWarning outside). Source: API
    520-I (2020), 5.6.3 and 5.6.4: the printed C and F2 forms are this one function.
    >>> round(mass_flux(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90), 1)
    1869.3
    """
    P, T, M, Z = positive(pressure=pressure, temperature=temperature, molar_mass=molar_mass, Z=Z)
    k, back = _checked_k(k), not_negative(back_pressure=back_pressure)
    refuse(back > P, "back_pressure", back, "is above the relieving pressure: flow would reverse")
    warn_outside(
        (Z < 0.8) | (Z > 1.1),
        "Z",
        Z,
        "0.8 to 1.1: use the real-fluid nozzle instead",
        "API 520-I (2020), 5.6.1",
    )
    return result(_flux(P, T, M, k, Z, back))


def _flux(P, T, M, k, Z, back):
    """G = P sqrt(M/(Z R T)) psi(r), with r held at the critical ratio when choked."""
    with np.errstate(divide="ignore"):  # no back pressure: log 0, and the critical ratio rules
        log_r = np.maximum(np.log(back / P), np.log(2.0 / (k + 1.0)) * k / (k - 1.0))
    return P * np.sqrt(M / (Z * GAS_CONSTANT * T) * _psi2(k, log_r, np.exp, np.expm1))


def _psi2(k, log_r, exp, expm1):
    """2/m r^(2/k) (1 - r^m), m = (k - 1)/k, with expm1: exact as r or k goes to 1."""
    m = (k - 1.0) / k
    return -2.0 / m * exp(2.0 / k * log_r) * expm1(m * log_r)


def flux_of_volume(pressure, specific_volume, k, pressure_ratio):
    """Mass flux of an ideal gas of known specific volume, for the inside of an integration.

    Parameters: pressure [Pa], specific_volume [m3/kg], k [-], pressure_ratio, back over inlet
    pressure, above 0 [-]; floats, unchecked. Returns kg/(m2 s). Source: as `mass_flux`.
    >>> round(flux_of_volume(1e5, 1.0, 1.4, 0.1), 3)  # sqrt(1e5 * 1.4 * (2/2.4)**6)
    216.531
    """
    log_r = max(math.log(pressure_ratio), math.log(2.0 / (k + 1.0)) * k / (k - 1.0))
    return math.sqrt(pressure / specific_volume * _psi2(k, log_r, math.exp, math.expm1))


def choked_square(k):
    """Square of the choked flux over that of density and pressure: G^2 = P rho times this.

    Parameters: k [-], number or array, above 1, unchecked. Returns as k [-]. Source: as `mass_flux`
    at the critical ratio.
    >>> round(choked_square(1.4), 4)  # 1.4 * (2/2.4)**6
    0.4689
    """
    return k * (2.0 / (k + 1.0)) ** ((k + 1.0) / (k - 1.0))


def coefficient_C(k, unit_set="SI"):
    """The printed coefficient C of the critical-flow area equation.

    Parameters: k [-], number or array; unit_set 'SI' (kg/h, kPa, K, mm2) or 'US' (lb/h, psia,
    °R, in2). Returns float or array. Raises InputError if k <= 1.
    Source: API 520-I (2020), 5.6.3, rounded constants 0.03948 and 520 as printed.
    >>> round(coefficient_C(1.4, "US"))
    356
    """
    k = _checked_k(k)
    root = np.sqrt(choked_square(k))
    return result((520.0 if unit_set == "US" else 0.03948) * root)


def coefficient_F2(k, pressure_ratio):
    """The printed coefficient F2 of the subcritical area equation.

    Parameters: k [-]; pressure_ratio = back pressure over relieving pressure [-], between the
    critical ratio and 1; arrays broadcast. Returns float or array. Raises InputError outside.
    Source: API 520-I (2020), 5.6.4.
    >>> round(coefficient_F2(1.4, 0.8), 4)
    0.8865
    """
    k, r = _checked_k(k), positive(pressure_ratio=pressure_ratio)
    refuse(r >= 1.0, "pressure_ratio", r, "must be below 1 for flow")
    refuse(
        r < critical_ratio(k) * (1 - 1e-9),
        "pressure_ratio",
        r,
        "is below the critical ratio: the flow is choked, F2 does not apply",
    )
    m = (k - 1.0) / k
    return result(np.sqrt(k / (k - 1.0) * r ** (2.0 / k) * (1.0 - r**m) / (1.0 - r)))


@dataclass(frozen=True)
class Gas:
    """Gas or vapour at relieving conditions.

    Parameters
    ----------
    pressure : float or array, Pa absolute
        At the valve inlet while relieving.
    temperature : float or array, K
        At the valve inlet while relieving.
    molar_mass : float or array, kg/kmol
    k : float or array
        Ideal-gas ratio of heat capacities at relieving temperature, above 1.
    Z : float or array, optional
        Compressibility factor at the inlet; 1 where not given.

    Raises
    ------
    InputError
        For a value not above 0, k not above 1, or above 3000 K (name, value, unit, rule); what is
        not plausible gives a `ValidityWarning` with the likely slip.

    Notes
    -----
    Ideal gas with Z at the inlet: API 520-I (2020), 5.6, near Z 0.8 to 1.1; a `ValidityWarning`
    says where the real-fluid nozzle belongs instead. Fields broadcast.

    Examples
    --------
    >>> gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    >>> round(gas.mass_flux(101_325.0), 1)
    1869.3
    """

    pressure: Value
    temperature: float
    _: KW_ONLY
    molar_mass: Value
    k: float
    Z: Value = 1.0
    phase = "gas"

    def __post_init__(self):
        P, T, M, _ = positive(
            pressure=self.pressure,
            temperature=self.temperature,
            molar_mass=self.molar_mass,
            Z=self.Z,
        )
        refuse(T > HOTTEST, "temperature", T, "no gas relieved is hotter than "
               f"{HOTTEST:g} K: pressure comes first, then temperature; swapped?")  # fmt: skip
        plausible(pressure=P, temperature=T, molar_mass=M)
        _checked_k(self.k)

    @property
    def density(self):
        """Density at the inlet [kg/m3]."""
        P, T, M, Z = finite(
            pressure=self.pressure,
            temperature=self.temperature,
            molar_mass=self.molar_mass,
            Z=self.Z,
        )
        return result(P * M / (Z * GAS_CONSTANT * T))

    def mass_flux(self, back_pressure=0.0):
        """Mass flux [kg/(m2 s)] against a back pressure [Pa]; see `mass_flux`."""
        return mass_flux(
            self.pressure,
            self.temperature,
            molar_mass=self.molar_mass,
            k=self.k,
            Z=self.Z,
            back_pressure=back_pressure,
        )

    def choked(self, back_pressure=0.0):
        """True where the throat is at the critical pressure; NaN inputs give False."""
        limit = critical_ratio(self.k) * finite(pressure=self.pressure)
        return result(finite(back_pressure=back_pressure) <= limit)

    def flux_working(self, back_pressure=0.0):
        """The steps from the state to the mass flux, as a `Working`."""
        r_c = critical_ratio(self.k)
        r = result(np.maximum(np.asarray(back_pressure) / self.pressure, r_c))
        state = dict(
            pressure=self.pressure,
            temperature=self.temperature,
            molar_mass=self.molar_mass,
            k=self.k,
            Z=self.Z,
        )
        return Working([
            step("critical_ratio", r_c, "(2/(k + 1))**(k/(k - 1))", "API 520-I (2020), 5.6.2",
                 k=self.k),
            step("pressure_ratio", r, "max(P2/P1, r_c)", "choked where P2/P1 is below r_c",
                 back_pressure=back_pressure, pressure=self.pressure, critical_ratio=r_c),
            step("mass_flux", self.mass_flux(back_pressure),
                 "P1 * sqrt(M/(Z*R*T1) * 2*k/(k - 1) * (r**(2/k) - r**((k + 1)/k)))", SOURCE,
                 **state, gas_constant=GAS_CONSTANT, pressure_ratio=r),
        ])  # fmt: skip
