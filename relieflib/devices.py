"""Relief devices and their factors: conventional, balanced and pilot valves, rupture disks."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib import rules
from relieflib.errors import (
    InputError,
    Value,
    finite,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.tables import interpolate, numbers
from relieflib.units import ATMOSPHERE, to_si
from relieflib.working import step

KINDS = ("conventional", "balanced", "pilot", "disk")
DISK_UPSTREAM = rules.DISK_UPSTREAM.value  # Kc of a disk under a valve, not certified together
# Coefficients of discharge for sizing on effective areas; API 520-I (2020), 5.6 to 5.9, Annex C.
KD = {
    "gas": 0.975, "steam": 0.975, "real fluid": 0.975, "two-phase": 0.85, "liquid": 0.65,
    "subcooled": 0.65, "liquid, not certified": 0.62, "disk": 0.62,
}  # fmt: skip
KD_SOURCE = {
    "gas": "API 520-I (2020), 5.6", "steam": "API 520-I (2020), 5.7",
    "liquid": "API 520-I (2020), 5.8", "real fluid": "API 520-I (2020), Annex B",
    "two-phase": "API 520-I (2020), Annex C.2.2", "subcooled": "API 520-I (2020), Annex C.2.3",
}  # fmt: skip
CURVES = "API 520-I (2020), 5.3"
CHART_LOWEST_SET = to_si(50.0, "psig", "gauge pressure")


def balanced_Kb(back_pressure_fraction, overpressure_fraction):
    """Back-pressure factor of a balanced valve in gas or vapour, from the typical curves.

    Parameters: back_pressure_fraction, gauge back pressure over set [-], up to 0.5;
    overpressure_fraction, over set [-], 0.10 (0.095 when rounded) or more, the curve of 21 %
    holding above it; arrays
    broadcast. Returns float or array [-]; linear between the curves of 10, 16 and 21 %.
    Raises InputError outside: ask the manufacturer and give `Kb`. Validity: set above 50 psig,
    critical flow, curve read +-0.01. Source: API 520-I (2020), 5.3.
    >>> round(balanced_Kb(0.40, 0.10), 3), balanced_Kb(0.30, 0.21)
    (0.869, 1.0)
    """
    x, over = finite(
        back_pressure_fraction=back_pressure_fraction, overpressure_fraction=overpressure_fraction
    )
    _check_curve(x)
    # rounded pressures of a 10 % case come out a little below it
    low = over < 0.095  # guard
    refuse(low, "overpressure_fraction", over, "the curves begin at 10 %")
    table, x, over = numbers("kb_balanced"), *np.broadcast_arrays(100.0 * x, 100.0 * over)
    k10, k16, k21 = (interpolate(x, table[:, 0], table[:, i]) for i in (1, 2, 3))
    low = k10 + (k16 - k10) * np.clip((over - 10.0) / 6.0, 0.0, 1.0)
    return result(low + (k21 - k16) * np.clip((over - 16.0) / 5.0, 0.0, 1.0))


def balanced_Kw(back_pressure_fraction):
    """Back-pressure factor of a balanced valve in liquid, from the typical curve.

    Parameters: back_pressure_fraction, gauge back pressure over set [-], up to 0.5, number or
    array. Returns float or array [-]. Raises InputError above 0.5. Validity: curve read +-0.01.
    Source: API 520-I (2020), 5.3.
    >>> round(balanced_Kw(0.20), 3)
    0.972
    """
    x = finite(back_pressure_fraction=back_pressure_fraction)
    _check_curve(x)
    table = numbers("kw_balanced")
    return result(interpolate(100.0 * x, table[:, 0], table[:, 1]))


def _check_curve(x):
    refuse(x < -1e-9, "back_pressure_fraction", x, "must not be negative")
    refuse(x > 0.5 + 1e-9, "back_pressure_fraction", x,
           "the curves end at 0.5 of set: ask the manufacturer and give the factor")  # fmt: skip


def uncertified_Kp(overpressure_fraction):
    """Overpressure factor of a liquid valve without certified capacity.

    Parameters: overpressure_fraction, over set [-], 0.10 to 0.50, number or array. Returns float
    or array [-]. Raises InputError outside. Validity: chart from memory, +-0.02.
    Source: API 520-I (2020), 5.9.
    >>> uncertified_Kp(0.25)
    1.0
    """
    over = finite(overpressure_fraction=overpressure_fraction)
    bad = (over < 0.10 - 1e-6) | (over > 0.50 + 1e-6)
    refuse(bad, "overpressure_fraction", over, "the Kp chart runs from 10 % to 50 %")
    table = numbers("kp_liquid")
    return result(interpolate(100.0 * over, table[:, 0], table[:, 1]))


def back_pressure_limit(kind, set_pressure_gauge, overpressure):
    """Highest back pressure a kind of valve takes without losing its lift.

    Parameters: kind 'conventional', 'balanced' or 'pilot'; set_pressure_gauge [Pa gauge];
    overpressure allowed [Pa]; arrays broadcast. Returns (what it limits, limit [Pa gauge]):
    built-up back pressure up to the overpressure for a conventional valve, total up to half of
    set for a balanced one, none (NaN) for a pilot valve, whose flow alone falls.
    Raises InputError for another kind. Source: API 520-I (2020), 5.3; half of set is typical.
    >>> back_pressure_limit("conventional", 1e6, 1e5)
    ('built-up', 100000.0)
    """
    set_gauge = positive(set_pressure_gauge=set_pressure_gauge)
    over = not_negative(overpressure=overpressure)
    if kind == "conventional":
        return "built-up", result(over + 0.0 * set_gauge)
    if kind == "balanced":
        return "total", result(rules.BALANCED_BACK.value * set_gauge + 0.0 * over)
    if kind == "pilot":
        return "none", result(np.nan * set_gauge * over)
    raise InputError(f"kind = '{kind}': use 'conventional', 'balanced' or 'pilot'")


@dataclass(frozen=True)
class Device:
    """A relief device as sizing sees it.

    Parameters
    ----------
    kind : {'conventional', 'balanced', 'pilot', 'disk'}, optional
        'disk' is a rupture disk alone.
    set_pressure_gauge : float or array, Pa gauge, optional
        Needed by the curves of balanced valves and by Kp.
    Kd, Kb, Kw : float or array, optional
        Coefficient of discharge and back-pressure factors, None for the standard's value.
    Kc : float or array, optional
        0.9 with an uncertified disk upstream.
    certified : bool, optional
        False for a liquid valve without certified capacity.
    atmosphere : float, Pa absolute, optional
        The site's.

    Raises
    ------
    InputError
        For an unknown kind, a factor outside 0 to 1, or a factor that the kind ignores.

    Notes
    -----
    API 520-I (2020), 5.3, 5.6 to 5.11.

    Examples
    --------
    >>> Device("conventional", 517e3).discharge_coefficient("gas")
    0.975
    """

    kind: str = "conventional"
    set_pressure_gauge: Value | None = None
    _: KW_ONLY
    Kd: Value | None = None
    Kb: Value | None = None
    Kw: Value | None = None
    Kc: Value = 1.0
    certified: bool = True
    atmosphere: Value = ATMOSPHERE

    def __post_init__(self):
        if self.kind not in KINDS:
            raise InputError(f"kind = '{self.kind}': use one of {', '.join(KINDS)}")
        if self.set_pressure_gauge is not None:
            pset = positive(set_pressure_gauge=self.set_pressure_gauge)
            plausible(set_pressure_gauge=pset)
        positive(atmosphere=self.atmosphere)
        for name in ("Kd", "Kb", "Kw", "Kc"):
            value = getattr(self, name)
            if value is not None:
                value = positive(**{name: value})
                refuse(value > 1.0, name, value, "must be above 0 and not above 1")
        if self.kind != "balanced" and (self.Kb is not None or self.Kw is not None):
            raise InputError(
                f"Kb and Kw belong to a balanced valve: a {self.kind} one ignores them"
            )
        if self.kind == "disk" and self.Kc != 1.0:
            raise InputError("Kc belongs to a valve with a disk upstream, not to a disk alone")

    def discharge_coefficient(self, phase):
        """Kd [-] given, or the standard's for a phase."""
        if self.Kd is not None:
            return self.Kd
        if self.kind == "disk":
            return KD["disk"]
        if phase == "liquid" and not self.certified:
            return KD["liquid, not certified"]
        return KD[phase]

    def back_pressure_factors(self, phase, pressure, back_pressure):
        """Kb and Kw [-] for a phase at a relieving and a back pressure [Pa].

        Liquid takes Kw, also one short of boiling at the inlet (phase 'subcooled'), whether it
        boils in the nozzle or not: of both factors it is the smaller one.
        """
        if self.kind != "balanced":
            return 1.0, 1.0
        if phase in ("liquid", "subcooled"):
            if self.Kb is not None:
                raise InputError("Kb is for gas and vapour: a liquid takes Kw")
            return 1.0, self._curve_Kw(back_pressure) if self.Kw is None else self.Kw
        if self.Kw is not None:
            raise InputError("Kw is for liquid: gas, vapour and two-phase take Kb")
        return self._curve_Kb(pressure, back_pressure) if self.Kb is None else self.Kb, 1.0

    def factor_sources(self, phase):
        """Where Kd, Kb, Kw, Kc and Kp of a phase come from, words by their names."""
        given = "given by the maker"
        curve = f"{CURVES}, typical curve of balanced valves, read at these"
        none = f"1: no such factor for a {self.kind} device"
        if self.kind == "balanced":
            own = {n: given if getattr(self, n) is not None else curve for n in ("Kb", "Kw")}
        else:
            own = dict.fromkeys(("Kb", "Kw"), none)
        disk = "given: disk upstream, certified with the valve"
        if np.all(np.asarray(self.Kc) == 1.0):
            disk = "1: no rupture disk upstream"
        elif np.all(np.asarray(self.Kc) == DISK_UPSTREAM):
            disk = "API 520-I (2020), 5.11: disk upstream, combination not certified"
        return {
            "Kd": given if self.Kd is not None else self._effective(phase), **own,
            "Kc": disk,
            "Kp": "API 520-I (2020), 5.9, chart, read at this overpressure",
        }  # fmt: skip

    def _effective(self, phase):
        if self.kind == "disk":
            return "API 520-I (2020), 5.11: rupture disk by itself, discharging through little pipe"
        if phase == "liquid" and not self.certified:
            return "API 520-I (2020), 5.9: effective, liquid capacity not certified"
        return f"{KD_SOURCE[phase]}: effective, with the area of API 526"

    def curve_steps(self, phase, pressure, back_pressure):
        """Where the curve of a balanced valve is read: steps, none where no curve is."""
        name = "Kw" if phase in ("liquid", "subcooled") else "Kb"
        if self.kind != "balanced" or getattr(self, name) is not None:
            return []
        x = result(self._back_fraction(back_pressure))
        at = step("back_pressure_fraction", x, "max(P2 - Patm, 0)/pset", CURVES,
                  back_pressure=back_pressure, atmosphere=self.atmosphere,
                  set_pressure_gauge=self.set_pressure_gauge)  # fmt: skip
        return [at] if name == "Kw" else [at, self.overpressure_step(pressure)]

    def overpressure_step(self, pressure):
        """The step of the overpressure over set."""
        return step("overpressure_fraction", self.overpressure_fraction(pressure),
                    "(P1 - Patm)/pset - 1", "definition", pressure=pressure,
                    atmosphere=self.atmosphere,
                    set_pressure_gauge=self.set_pressure_gauge)  # fmt: skip

    def overpressure_fraction(self, pressure):
        """Overpressure over set [-] at a relieving pressure [Pa]; InputError without a set."""
        gauge = finite(pressure=pressure) - self.atmosphere
        return result(gauge / self._set() - 1.0)

    def _set(self):
        if self.set_pressure_gauge is None:
            raise InputError("set_pressure_gauge: needed here, give it to the Device")
        return np.asarray(self.set_pressure_gauge, dtype=float)

    def _back_fraction(self, back_pressure):
        gauge = not_negative(back_pressure=back_pressure) - self.atmosphere
        return np.maximum(gauge, 0.0) / self._set()

    def _curve_Kb(self, pressure, back_pressure):
        low = self._set() < CHART_LOWEST_SET * (1 - 1e-9)
        warn_outside(low, "set_pressure_gauge", self._set(),
                     "the Kb curves: set above 50 psig", "API 520-I (2020), 5.3")  # fmt: skip
        return balanced_Kb(self._back_fraction(back_pressure), self.overpressure_fraction(pressure))

    def _curve_Kw(self, back_pressure):
        return balanced_Kw(self._back_fraction(back_pressure))
