"""Steam by the Napier equation: saturated, wet or superheated, choked flow."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib import rules
from relieflib.errors import InputError, Value, not_negative, positive, refuse, result, warn_outside
from relieflib.nozzle.gas import critical_ratio
from relieflib.tables import numbers, rows
from relieflib.units import ATMOSPHERE, to_si
from relieflib.working import Working, step

PSI = to_si(1.0, "psi", "pressure difference")
NAPIER = 51.5 * to_si(1.0, "lb/(h in2)", "mass flux") / PSI  # kg/(m2 s) per Pa
SOURCE = "API 520-I (2020), 5.7 (Napier)"
CRITICAL_PRESSURE = 22.064e6  # Pa, IAPWS
# IAPWS-IF97, equation 31 and table 34: saturation temperature of a pressure.
_N = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333,
    14.91510861353, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip


def saturation_temperature(pressure):
    """Temperature at which water boils.

    Parameters: pressure [Pa], number or array, 611.213 Pa to 22.064 MPa. Returns K.
    Raises InputError outside. Source: IAPWS-IF97, equation 31.
    >>> round(saturation_temperature(10e6), 3)
    584.149
    """
    P = positive(pressure=pressure)
    refuse((P < 611.213) | (P > CRITICAL_PRESSURE), "pressure", P, "steam has no saturation there")
    n, b = _N, (P * 1e-6) ** 0.25
    e = b**2 + n[2] * b + n[5]
    f = n[0] * b**2 + n[3] * b + n[6]
    g = n[1] * b**2 + n[4] * b + n[7]
    d = 2.0 * g / (-f - np.sqrt(f**2 - 4.0 * e * g))
    return result(0.5 * (n[9] + d - np.sqrt((n[9] + d) ** 2 - 4.0 * (n[8] + n[9] * d))))


def high_pressure_factor(pressure):
    """Factor KN of the Napier equation above 1500 psia.

    Parameters: pressure [Pa], number or array, up to 3200 psia. Returns float or array [-]; 1 up
    to 1500 psia. Raises InputError above 3200 psia. Between 1500 and 1580 psia the published
    formula gives a little less than 1, so the area steps up by 0.43 % at 1500 psia: kept.
    Source: API 520-I (2020), 5.7.
    >>> round(high_pressure_factor(1774.7 * PSI), 5)
    1.01147
    """
    P = positive(pressure=pressure) / PSI
    refuse(P > 3200.0, "pressure", P * PSI, "KN ends at 3200 psia (22.06 MPa): use the real fluid")
    formula = (0.1906 * P - 1000.0) / (0.2292 * P - 1061.0)
    return result(np.where(P > 1500.0, formula, 1.0 + 0.0 * P))


def superheat_factor(pressure, temperature, edition=10):
    """Factor KSH for superheated steam, interpolated in both directions.

    Parameters: pressure [Pa] at relieving conditions, temperature [K]; arrays broadcast; edition
    10 or 7 of API 520-I: other tables; 9 takes that of 10, as which of them it prints is not known
    here (it may be that of 7). Returns float or array [-]; 1 at and below the first temperature of
    the table, with a ValidityWarning where such steam is superheated: it takes up to 4 % more area
    than 1 says. Raises InputError above the last one (898.15 K; edition 7: 922.04 K), above 22 MPa
    (edition 7: 3000 psig) and for an unknown edition. Source: API 520-I 10th edition (2020), KSH
    table; 7th edition (2000), table 9.
    >>> round(superheat_factor(1e6, 673.15), 3)
    0.825
    """
    from scipy.interpolate import RegularGridInterpolator

    P, T = positive(pressure=pressure, temperature=temperature)
    _check_edition(edition)
    p, t, table = _ksh_table(edition)
    refuse(T > t[-1] * (1 + 1e-9), "temperature", T, f"the KSH table ends at {t[-1]:.2f} K")
    refuse(P > p[-1] * 1.01, "pressure", P, f"the KSH table ends at {p[-1] / 1e6:.2f} MPa")
    dry = T > _saturation_or_top(P) + 0.5  # guard: rounded temperatures
    warn_outside(dry & (T < t[0] * (1 - 1e-9)), "temperature", T, f"the KSH table, which begins at "
                 f"{t[0]:.2f} K: 1 is taken; use RealFluid", "API 520-I, KSH table")  # fmt: skip
    # near saturation the table carries 1 in the cells that are not superheated
    point = np.stack(np.broadcast_arrays(np.clip(P, p[0], p[-1]), np.clip(T, t[0], t[-1])), -1)
    safe = np.where(np.isnan(point), [p[0], t[0]], point)
    factor = RegularGridInterpolator((p, t), table)(safe)
    factor = np.where(T <= t[0], 1.0, factor)
    return result(np.where(np.isnan(P) | np.isnan(T), np.nan, factor).reshape(point.shape[:-1]))


def _saturation_or_top(P):
    """Saturation temperature, within the range of its equation."""
    return np.asarray(saturation_temperature(np.clip(P, 611.213, CRITICAL_PRESSURE)))


def _check_edition(edition):
    if type(edition) is not int or edition not in (7, 9, 10):
        raise InputError(f"edition = {edition!r}: KSH is held for API 520-I editions 7, 9 and 10")


def _ksh_table(edition):
    if edition in (9, 10):
        t = np.array([float(v) for v in rows("ksh_10")[0][1:]])
        table = numbers("ksh_10")
        return table[:, 0], t, table[:, 1:]
    t = to_si([float(v) for v in rows("ksh_7")[0][1:]], "°F", "temperature")
    table = numbers("ksh_7")
    return table[:, 0] * PSI + ATMOSPHERE, t, table[:, 1:]


def mass_flux(pressure, temperature=None, quality=1.0, back_pressure=0.0, edition=10):
    """Mass flux of choked steam through an ideal nozzle.

    Parameters: pressure, back_pressure [Pa]; temperature [K] of superheated steam, None for
    saturated; quality [-], dryness of saturated steam, 0.9 to 1; arrays broadcast; edition of
    API 520-I. Returns kg/(m2 s). Raises InputError for superheat below saturation, quality with
    superheat, quality below 0.9, or a back pressure so high that the flow is not choked.
    Validity: within -3/+1.3 % of equilibrium isentropic flow (IAPWS-95) for dry saturated steam.
    Source: API 520-I (2020), 5.7; wet steam by 1/sqrt(x), ISO 4126-7 (from memory).
    >>> round(mass_flux(10e5), 1)
    1458.8
    """
    _check_edition(edition)
    P, x = positive(pressure=pressure, quality=quality)
    refuse((x < 0.9) | (x > 1.0), "quality", x, "must be 0.9 to 1: wetter steam is two-phase")
    superheated = temperature is not None
    if superheated:
        _check_superheat(P, temperature, x)
    back = _check_choked(P, back_pressure, temperature)
    warn_outside(P < 15.0 * PSI + ATMOSPHERE, "pressure", P, "above 15 psig", SOURCE)
    KSH = superheat_factor(P, temperature, edition) if superheated else 1.0
    return result(NAPIER * P * high_pressure_factor(P) * KSH / np.sqrt(x) + 0.0 * back)


def _check_superheat(P, temperature, x):
    T = positive(temperature=temperature)
    refuse(x < 1.0, "quality", x, "belongs to saturated steam: leave out the temperature")
    low = T < saturation_temperature(P) - 0.5  # guard: rounded temperatures
    refuse(low, "temperature", T, "is below saturation at this pressure: this is not steam")


def choking_k(temperature=None):
    """K of the gas that chokes as steam does.

    Parameters: temperature [K] of superheated steam, None for saturated. Returns float [-].
    Source: `rules.STEAM_K`, `rules.SUPERHEATED_K`.
    >>> choking_k(), choking_k(600.0)
    (1.135, 1.3)
    """
    return (rules.STEAM_K if temperature is None else rules.SUPERHEATED_K).value


def _check_choked(P, back_pressure, temperature):
    back = not_negative(back_pressure=back_pressure)
    limit = critical_ratio(choking_k(temperature))
    refuse(
        back > limit * P,
        "back_pressure",
        back,
        "is above the critical pressure: Napier holds for choked steam; use Gas or RealFluid",
    )
    return back


@dataclass(frozen=True)
class Steam:
    """Steam at relieving conditions.

    Parameters
    ----------
    pressure : float or array, Pa absolute
        At the valve inlet while relieving.
    temperature : float or array, K, optional
        Of superheated steam; saturated where None.
    quality : float or array, optional
        Mass fraction of vapour, 1 for dry steam.
    edition : int, optional
        Edition of API 520-I whose superheat table holds: 7, 9 or 10.

    Raises
    ------
    InputError
        For a state that is no steam, or a pressure beyond the equation (name, value, unit, rule).

    Notes
    -----
    Napier's equation with KN and KSH: API 520-I (2020), 5.7.

    Examples
    --------
    >>> from relieflib.units import to_si
    >>> round(Steam(to_si(1774.7, "psia", "pressure")).mass_flux(101_325.0)) > 0
    True
    """

    pressure: Value
    temperature: Value | None = None
    _: KW_ONLY
    quality: Value = 1.0
    edition: int = 10
    phase = "steam"

    def __post_init__(self):
        mass_flux(self.pressure, self.temperature, self.quality, edition=self.edition)

    @property
    def density(self):
        """Density at the inlet [kg/m3], from the fluid's equation of state."""
        from relieflib.properties import State

        if self.temperature is None:
            return State("Water", pressure=self.pressure, quality=self.quality).density
        return State("Water", pressure=self.pressure, temperature=self.temperature).density

    def mass_flux(self, back_pressure=0.0):
        """Mass flux [kg/(m2 s)] against a back pressure [Pa]; see `mass_flux`."""
        return mass_flux(self.pressure, self.temperature, self.quality, back_pressure, self.edition)

    def choked(self, back_pressure=0.0):
        """True: other steam is refused. NaN inputs give False."""
        return result(np.asarray(back_pressure) <= np.asarray(self.pressure, dtype=float))

    def flux_working(self, back_pressure=0.0):
        """The steps from the state to the mass flux, as a `Working`."""
        KN = high_pressure_factor(self.pressure)
        equation = "(0.1906*P1/PSI - 1000)/(0.2292*P1/PSI - 1061)"
        above = bool(np.any(np.asarray(KN) != 1.0))
        lines = [
            step(
                "KN",
                KN,
                equation if above else "",
                SOURCE + ("" if above else ": 1 up to 1500 psia"),
                **({"pressure": self.pressure} if above else {}),
            )
        ]
        KSH = 1.0
        if self.temperature is not None:
            KSH = superheat_factor(self.pressure, self.temperature, self.edition)
        lines += [
            step("KSH", KSH, source=f"API 520-I, edition {self.edition}, KSH table"
                 + (" (that of the 10th; the 9th not seen)" if self.edition == 9 else "")),
            step("mass_flux", self.mass_flux(back_pressure), f"{NAPIER:.9g}*P1*KN*KSH/sqrt(x)",
                 SOURCE, pressure=self.pressure, KN=KN, KSH=KSH, quality=self.quality),
        ]  # fmt: skip
        return Working(lines)
