"""Fluid states at relieving conditions from reference equations of state (CoolProp, HEOS).

The only file that imports CoolProp, and only inside functions: the import takes seconds. A fluid
is a name that CoolProp knows ('Propane') or a mixture by mole fractions that add to 1
('Propane[0.6]&n-Butane[0.4]'). Specific values are per kg; quality is the mass fraction of vapour.
"""

import atexit
import difflib
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from relieflib.errors import InputError, finite, need, one_number, positive, refuse, result
from relieflib.fluid_flash import (
    MIXTURE_LIMIT,
    check_inlet,
    check_range,
    composition,
    flash_mixture,
    why_none,
)
from relieflib.units import ATMOSPHERE, GAS_CONSTANT

SOURCE = "reference equation of state by CoolProp (HEOS)"
LATENT_LIMIT = 0.95  # of critical pressure; see `latent_heat`
PHASES = (
    "liquid", "supercritical", "supercritical gas", "supercritical liquid", "critical point",
    "gas", "two-phase",
)  # fmt: skip
_PAIRS = {"temperature": "PT_INPUTS", "quality": "PQ_INPUTS", "enthalpy": "HmassP_INPUTS",
          "entropy": "PSmass_INPUTS"}  # fmt: skip


class Engine:
    """One fluid: its CoolProp state, limits and constants; made once and kept."""

    def __init__(self, fluid):
        CoolProp = need("CoolProp")
        self.CP, self.fluid = CoolProp, fluid
        names, fractions = composition(fluid)
        known = set(CoolProp.CoolProp.FluidsList())
        try:
            self.state = CoolProp.AbstractState("HEOS", "&".join(names))
        except ValueError as error:
            near = [difflib.get_close_matches(n, known, 3) for n in names if n not in known]
            close = ", ".join(sum(near, []))
            hint = f"; names like it: {close}" if close else f" ({str(error)[:120]})"
            raise InputError(f"fluid '{fluid}' is not known to CoolProp{hint}") from None
        state, self.pure = self.state, len(names) == 1
        if not self.pure:
            state.set_mole_fractions(fractions)
        self.M = state.molar_mass() * 1e3
        self.masses = [CoolProp.CoolProp.PropsSI("M", n) * 1e3 for n in names]
        self.Tmin, self.Tmax, self.pmax = state.Tmin(), state.Tmax(), state.pmax()
        self.melts = self.pure and state.has_melting_line()
        self.Tc, self.Pc = self._critical()
        self.Pt = state.p_triple() if self.pure else 1.0  # guard: mixtures have none

    def _critical(self):
        """Critical temperature and pressure; of a mixture with several, the stable one."""
        try:
            return self.state.T_critical(), self.state.p_critical()
        except ValueError as error:
            stable = [c for c in self.state.all_critical_points() if c.stable]
            if len(stable) != 1:
                raise InputError(
                    f"fluid '{self.fluid}': no one critical point found ({str(error)[:120]})"
                ) from None
            return stable[0].T, stable[0].p

    def update(self, kind, pressure, value):
        """Bring the CoolProp state to a pressure and a second value."""
        if self.pure and abs(pressure / self.Pc - 1) < 1e-7:
            pressure = self.Pc * (1 + 1e-7)  # CoolProp's searches fail right at the critical one
        pair = getattr(self.CP, _PAIRS[kind])
        a, b = (value, pressure) if kind == "enthalpy" else (pressure, value)
        try:
            if self.pure or kind == "temperature":
                self.state.update(pair, a, b)
            else:
                flash_mixture(self, kind, pressure, value)
        except ValueError as error:
            raise InputError(
                f"{kind} = {value:.6g} at {pressure:.6g} Pa: {self.fluid} found no solution, "
                f"{why_none(self, kind, pressure, value)} ({str(error)[:120]})"
            ) from None

    def mass_quality(self):
        """Mass fraction of vapour of the current state; NaN in a single phase."""
        if self.state.phase() != self.CP.iphase_twophase:
            return np.nan
        q = min(max(self.state.Q(), 0.0), 1.0)  # rounding leaves -1e-15 on the bubble line
        if self.pure:
            return q
        y = self.state.mole_fractions_vapor()
        return q * float(np.dot(y, self.masses)) / self.M

    def boiling(self, temperature):
        """Vapour (bubble) pressure at a temperature."""
        if np.isnan(temperature):
            return np.nan
        try:
            self.state.update(self.CP.QT_INPUTS, 0.0, temperature)
        except ValueError as error:
            raise InputError(
                f"temperature = {temperature:.6g} K: no saturation found for {self.fluid} "
                f"({str(error)[:120]})"
            ) from None
        return self.state.p()

    def saturated(self, quality, density, temperature, get):
        """`get(CoolProp state)` of saturated liquid (quality 0) or vapour (1), by itself."""
        self.state.specify_phase(self.CP.iphase_gas if quality else self.CP.iphase_liquid)
        try:
            self.state.update(self.CP.DmassT_INPUTS, density, temperature)
            return get(self.state)
        finally:
            self.state.unspecify_phase()


@lru_cache(maxsize=64)
def engine_of(fluid):
    """The `Engine` of a fluid, made once: its CoolProp state, limits and constants.

    Parameters: fluid, name or mixture. Returns Engine. Raises InputError for an unknown fluid.
    Source: reference equation of state by CoolProp (HEOS).
    >>> round(engine_of("Water").Tmin, 2)
    273.16
    """
    return Engine(fluid)


atexit.register(engine_of.cache_clear)  # CoolProp complains of states that outlive it


@lru_cache(maxsize=1)
def _names():
    """CoolProp's name of every fluid by its other names, small and without signs."""
    CoolProp = need("CoolProp")
    found = {}
    for name in CoolProp.CoolProp.FluidsList():
        try:
            others = CoolProp.CoolProp.get_aliases(name)
        except ValueError:
            others = []
        for words in (name, *others):
            found.setdefault(_squeezed(words), name)
    return found


def _squeezed(words):
    return "".join(c for c in words.casefold() if c.isalnum())


def name_of_fluid(words):
    """CoolProp's name of a fluid in words of the trade.

    Parameters: words, str, such as 'carbon dioxide' or 'n-butane'. Returns str, None where CoolProp
    has no such pure fluid. Source: CoolProp's names and other names.
    >>> name_of_fluid("carbon dioxide"), name_of_fluid("N-BUTANE"), name_of_fluid("naphtha")
    ('CarbonDioxide', 'n-Butane', None)
    """
    return _names().get(_squeezed(words))


def cubic_state(fluids, mole_fractions, pressure, temperature, phase=None):
    """CoolProp's Peng-Robinson state of a mixture, for what `phase_split` parts.

    Parameters: fluids, names; mole_fractions; pressure [Pa], temperature [K], floats; phase 'gas'
    or 'liquid' to take its root, untried for stability. Returns the CoolProp state. Raises
    InputError for an unknown fluid, or where CoolProp finds nothing. Source: Peng-Robinson,
    interaction coefficients zero.
    >>> state = cubic_state(("Methane", "Propane"), (0.5, 0.5), 10e5, 300.0)
    >>> round(state.rhomass(), 1)
    13.1
    """
    CoolProp = need("CoolProp")

    if phase not in (None, "gas", "liquid"):
        raise InputError(f"phase = {phase!r}: use 'gas', 'liquid' or None")
    try:
        state = CoolProp.AbstractState("PR", "&".join(fluids))
        state.set_mole_fractions(list(mole_fractions))
        if phase is not None:
            roots = {"gas": CoolProp.iphase_gas, "liquid": CoolProp.iphase_liquid}
            state.specify_phase(roots[phase])
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
    except ValueError as error:
        raise InputError(
            f"mixture {', '.join(fluids)} at {pressure:.6g} Pa, {temperature:.6g} K: Peng-Robinson "
            f"finds nothing ({str(error)[:120]})"
        ) from None
    return state


def critical_pressure(fluid):
    """Critical pressure of a fluid.

    Parameters: fluid, name or mixture. Returns float [Pa]. Raises InputError for an unknown fluid.
    Source: reference equation of state by CoolProp (HEOS).
    >>> round(critical_pressure("Propane") / 1e5, 2)
    42.51
    """
    return engine_of(fluid).Pc


def critical_temperature(fluid):
    """Critical temperature of a fluid.

    Parameters: fluid, name or mixture. Returns float [K]. Raises InputError for an unknown fluid.
    Source: reference equation of state by CoolProp (HEOS).
    >>> round(critical_temperature("Propane"), 2)
    369.89
    """
    return engine_of(fluid).Tc


def molar_mass(fluid):
    """Molar mass of a fluid.

    Parameters: fluid, name or mixture. Returns float [kg/kmol]. Raises InputError for an unknown
    fluid. Source: reference equation of state by CoolProp (HEOS).
    >>> round(molar_mass("Propane[0.6]&n-Butane[0.4]"), 3)
    49.706
    """
    return engine_of(fluid).M


def saturation_temperature(fluid, pressure):
    """Temperature at which a fluid begins to boil (bubble point of a mixture).

    Parameters: fluid; pressure [Pa], number or array, from the triple to the critical pressure (to
    90 % of it for a mixture). Returns K. Raises InputError outside.
    Source: reference equation of state by CoolProp (HEOS).
    >>> round(saturation_temperature("Water", 10e5), 2)
    453.03
    """
    return State(fluid, pressure, quality=0.0).temperature


def saturation_pressure(fluid, temperature):
    """Pressure at which a fluid begins to boil (bubble point of a mixture).

    Parameters: fluid; temperature [K], number or array, from the triple to the critical
    temperature. Returns Pa. Raises InputError outside.
    Source: reference equation of state by CoolProp (HEOS).
    >>> round(saturation_pressure("Water", 453.03) / 1e5, 2)
    10.0
    """
    engine, T = engine_of(fluid), positive(temperature=temperature)
    refuse(T > engine.Tc, "temperature", T, f"is above the critical one, {engine.Tc:.6g} K: "
           "the fluid has no vapour pressure there")  # fmt: skip
    refuse(T < engine.Tmin, "temperature", T, f"is below the lowest of the equation of state, "
           f"{engine.Tmin:.6g} K")  # fmt: skip

    return result(np.array([engine.boiling(t) for t in T.flat]).reshape(T.shape))


def surface_tension(fluid, temperature):
    """Surface tension of a pure liquid against its vapour.

    Parameters: fluid, pure; temperature [K], float, between triple and critical. Returns N/m.
    Raises InputError for a mixture or a temperature outside. Source: correlations that come with
    CoolProp.
    >>> round(surface_tension("Water", 298.15), 4)
    0.0721
    """
    saturation_pressure(fluid, one_number(temperature=temperature))  # refuses one outside
    engine = engine_of(fluid)
    if not engine.pure:
        raise InputError(f"fluid '{fluid}': surface tension is known for pure fluids alone")
    engine.boiling(float(temperature))
    return float(engine.state.surface_tension())


def normal_boiling(fluid, atmosphere=ATMOSPHERE):
    """Temperature at which a fluid boils under an atmosphere.

    Parameters: fluid; atmosphere [Pa]. Returns K. Raises InputError where the fluid has no liquid
    at that pressure (carbon dioxide). Source: reference equation of state by CoolProp (HEOS).
    >>> round(normal_boiling("Propane"), 2)
    231.04
    """
    return saturation_temperature(fluid, atmosphere)


def latent_heat(fluid, pressure):
    """Heat that turns saturated liquid into saturated vapour at constant pressure.

    Parameters: fluid; pressure [Pa], number or array. Returns J/kg; of a mixture, from its bubble
    to its dew point, all of it. Raises InputError above 95 % of the critical pressure (90 % for a
    mixture): latent heat falls to nothing there, as (1 - T/Tc)^0.38, so that 1 % more in pressure
    takes 7 % off it at 95 % and 38 % at 99 %, and a load divided by it has no meaning. Take
    `State.expulsion_heat` of the fluid at relieving pressure instead, step by step in temperature.
    Source: reference equation of state by CoolProp (HEOS); the limit is our choice.
    >>> round(latent_heat("Water", 10e5) / 1e3, 1)
    2014.6
    """
    engine, P = engine_of(fluid), positive(pressure=pressure)
    limit = LATENT_LIMIT if engine.pure else MIXTURE_LIMIT
    refuse(P > limit * engine.Pc, "pressure", P, f"is above {limit:.0%} of the critical pressure "
           f"({engine.Pc:.6g} Pa): latent heat has no meaning near or above it; take the heat that "
           "drives a kg out at constant pressure, State.expulsion_heat")  # fmt: skip
    return result(np.asarray(State(fluid, P, quality=1.0).enthalpy)
                  - State(fluid, P, quality=0.0).enthalpy)  # fmt: skip


@dataclass(frozen=True, eq=False)
class State:
    """A fluid at a pressure [Pa] and one of temperature [K], quality [-], enthalpy, entropy.

    Fields may be arrays that broadcast; enthalpy [J/kg] and entropy [J/(kg K)] count from
    CoolProp's own zero. All five are filled in; quality is NaN in a single phase. NaN gives NaN.
    Raises InputError unless just one second value is given; for a quality outside 0 to 1, a state
    outside the equation of state (too hot, too high, below the triple point, solid), pressure and
    temperature on the saturation line, and where CoolProp finds nothing. Source: CoolProp (HEOS).
    >>> s = State("Propane", 10e5, quality=0.0)
    >>> round(s.temperature, 2), round(s.density, 1), s.phase
    (300.09, 489.3, 'two-phase')
    """

    fluid: str
    pressure: float
    temperature: float | None = None
    quality: float | None = None
    enthalpy: float | None = None
    entropy: float | None = None

    def __post_init__(self):
        engine = engine_of(self.fluid)
        given = {n: getattr(self, n) for n in _PAIRS if getattr(self, n) is not None}
        if len(given) != 1:
            raise InputError(
                "give the pressure and one of temperature, quality, enthalpy, entropy; given: "
                + (", ".join(given) or "none")
            )
        kind, value = next(iter(given.items()))
        P, value = np.broadcast_arrays(positive(pressure=self.pressure), finite(**given))
        check_inlet(engine, kind, P, value)
        rows = [self._flash(engine, kind, p, v) for p, v in zip(P.flat, value.flat)]
        columns = np.array([r[:5] for r in rows], dtype=float).reshape(-1, 5).T
        names = ("temperature", "quality", "enthalpy", "entropy", "density")
        for name, column in zip(names, columns):
            object.__setattr__(self, name, result(column.reshape(P.shape)))
        object.__setattr__(self, "pressure", result(P))
        object.__setattr__(self, "_second", (kind, value))
        words = np.array([r[5] for r in rows], dtype=object).reshape(P.shape)
        object.__setattr__(self, "phase", words.item() if P.ndim == 0 else words)

    @staticmethod
    def _flash(engine, kind, pressure, value):
        if np.isnan(pressure) or np.isnan(value):
            return (np.nan,) * 5 + ("unknown",)
        state = engine.state
        engine.update(kind, float(pressure), float(value))
        T = state.T()
        check_range(engine, T)
        quality = engine.mass_quality()
        return (T, quality, state.hmass(), state.smass(), state.rhomass(), PHASES[state.phase()])

    def _each(self, get, single_phase=False):
        """`get(CoolProp state)` at every element; NaN between the phases when of a single phase."""
        engine, (kind, values) = engine_of(self.fluid), self._second
        P, x, T, rho = (np.asarray(v) for v in (self.pressure, self.quality, self.temperature,
                                                self.density))  # fmt: skip
        out = np.full(P.shape, np.nan)
        for i in np.ndindex(P.shape):
            if np.isnan(T[i]) or (single_phase and 0.0 < x[i] < 1.0):
                continue
            try:
                if single_phase and not np.isnan(x[i]):
                    out[i] = engine.saturated(x[i], rho[i], T[i], get)
                else:
                    engine.update(kind, float(P[i]), float(values[i]))
                    out[i] = get(engine.state)
            except ValueError as error:
                raise InputError(
                    f"fluid '{self.fluid}': CoolProp does not give this property here "
                    f"({str(error)[:120]})"
                ) from None
        return result(out)

    @property
    def molar_mass(self):
        """Molar mass [kg/kmol]."""
        return engine_of(self.fluid).M

    @property
    def specific_volume(self):
        """Specific volume [m3/kg]."""
        return result(1.0 / np.asarray(self.density))

    @property
    def Z(self):
        """Compressibility factor P M/(rho R T) [-]."""
        T, rho = np.asarray(self.temperature), np.asarray(self.density)
        return result(self.pressure * self.molar_mass / (rho * GAS_CONSTANT * T))

    @cached_property
    def k(self):
        """Ideal-gas ratio of heat capacities at this temperature, cp0/(cp0 - R/M) [-].

        What the gas equation takes; the ratio cp/cv of the real fluid is no isentropic exponent.
        """
        cp0 = np.asarray(self._each(lambda s: s.cp0mass()))
        return result(cp0 / (cp0 - GAS_CONSTANT / self.molar_mass))

    @cached_property
    def n(self):
        """Isentropic exponent of the real fluid, rho c^2/P [-]; NaN between phases."""
        return self._each(lambda s: s.rhomass() * s.speed_sound() ** 2 / s.p(), single_phase=True)

    @cached_property
    def sound_speed(self):
        """Speed of sound [m/s]; NaN between the phases."""
        return self._each(lambda s: s.speed_sound(), single_phase=True)

    @cached_property
    def heat_capacity(self):
        """Heat capacity at constant pressure [J/(kg K)]; NaN between the phases."""
        return self._each(lambda s: s.cpmass(), single_phase=True)

    @cached_property
    def heat_capacity_ratio(self):
        """Ratio cp/cv of the real fluid [-]; NaN between phases. Not for the gas equation: `k`."""
        return self._each(lambda s: s.cpmass() / s.cvmass(), single_phase=True)

    @cached_property
    def expansion_coefficient(self):
        """Coefficient of cubic thermal expansion [1/K]; NaN between the phases."""
        return self._each(lambda s: s.isobaric_expansion_coefficient(), single_phase=True)

    @cached_property
    def compressibility(self):
        """Isothermal compressibility [1/Pa]; NaN between the phases."""
        return self._each(lambda s: s.isothermal_compressibility(), single_phase=True)

    @property
    def expulsion_heat(self):
        """Heat that drives one kg out of a full vessel at constant pressure, cp/alpha [J/kg].

        v (dh/dv)_P. What stands in for the latent heat where there is none: near and above the
        critical point, and in liquid that only expands. NaN between the phases.
        """
        return result(np.asarray(self.heat_capacity) / self.expansion_coefficient)

    @cached_property
    def viscosity(self):
        """Dynamic viscosity [Pa s]; NaN between phases; InputError for a fluid without a model."""
        return self._each(lambda s: s.viscosity(), single_phase=True)

    @property
    def latent_heat(self):
        """Latent heat at this pressure [J/kg]; see `latent_heat`."""
        return latent_heat(self.fluid, self.pressure)

    @cached_property
    def liquid(self):
        """Saturated liquid at this pressure, a `State`."""
        return State(self.fluid, self.pressure, quality=0.0)

    @cached_property
    def vapor(self):
        """Saturated vapour at this pressure, a `State`."""
        return State(self.fluid, self.pressure, quality=1.0)

    @property
    def saturation_temperature(self):
        """Boiling (bubble) temperature at this pressure [K]; InputError above the critical."""
        return saturation_temperature(self.fluid, self.pressure)

    @property
    def saturation_pressure(self):
        """Vapour (bubble) pressure at this temperature [Pa]; InputError above the critical."""
        return saturation_pressure(self.fluid, self.temperature)

    @property
    def is_liquid(self):
        """True for liquid short of boiling: below the critical temperature, no vapour."""
        words = np.asarray(self.phase)
        return result(np.isin(words.astype(str), ("liquid", "supercritical liquid")))
