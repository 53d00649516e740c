"""Vapour that a heat flow drives out: an ideal mixture step by step, and beyond the critical point.

The mixture is ideal: Raoult's law with the vapour pressures and saturated enthalpies of the pure
fluids (CoolProp), mixed by mole fraction; no heat of mixing. It holds for liquids of like kind
(paraffins with paraffins) well below the mixture's critical point. Above 97 % of its own critical
temperature a light fluid is carried on as a liquid that could be: ln Ps straight over 1/T, latent
heat and heat capacity of the liquid held (common practice, no source). The error is small when
little of it is left: take a full equation of state for a light fluid that stays.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from relieflib.errors import (
    InputError,
    check_points,
    finite,
    one_number,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.nozzle.gas import Gas, choked_square
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State, engine_of, saturation_pressure
from relieflib.sizing import ReliefLoad
from relieflib.units import GAS_CONSTANT
from relieflib.working import Working, step

RAOULT = "ideal mixture: Raoult's law with CoolProp's pure fluids"
LARGEST = "API 521 (2020), 4.4.13: the largest area governs, not the largest flow"
_CLOSE = 0.97  # of critical temperature: where a saturation curve ends and is carried on
_CLEAR = 0.02  # K: keeps a temperature clear of boiling, where it tells no phase
_NEAR = 0.9  # of the mean critical pressure: where an ideal mixture is no longer one


@dataclass(frozen=True)
class Mixture:
    """An ideal liquid mixture: fluids, names that CoolProp knows; mole_fractions that add to 1.

    Raises InputError for another sum, a count that differs or an unknown fluid. Source: Raoult's
    law.
    >>> lpg = Mixture(("Propane", "n-Butane"), (0.6, 0.4))
    >>> round(lpg.bubble_temperature(20e5), 2)
    346.36
    """

    fluids: tuple
    mole_fractions: tuple

    def __post_init__(self):
        x = np.asarray(finite(mole_fractions=self.mole_fractions))
        if len(self.fluids) != x.size or not len(self.fluids):
            raise InputError(f"mole_fractions: give one for each of {len(self.fluids)} fluids")
        refuse(x <= 0, "mole_fractions", x, "must be above 0")
        if abs(x.sum() - 1.0) > 1e-6:
            raise InputError(f"mole_fractions: must add to 1, not {x.sum():.6g}")
        _ = self._engines

    @cached_property
    def _engines(self):
        return [engine_of(name) for name in self.fluids]

    @cached_property
    def molar_masses(self):
        """Molar masses of the fluids [kg/kmol]."""
        return np.array([e.M for e in self._engines])

    @cached_property
    def _ranges(self):
        """Lowest temperature of the curves, and the end of each."""
        ends = np.array([_CLOSE * e.Tc for e in self._engines])
        coldest = max(e.Tmin for e in self._engines)
        low = max(1.05 * coldest, 0.45 * min(ends))  # guard: colder is rare
        refuse(low >= min(ends), "temperature", low, "one fluid freezes where another is critical")
        return low, ends

    @property
    def limit(self):
        """Temperature [K] up to which it can be boiled: 97 % of the highest critical one."""
        return max(self._ranges[1])

    @cached_property
    def _curves(self):
        """Of each fluid a spline over temperature: ln Ps, molar enthalpies of liquid and vapour."""
        from scipy.interpolate import CubicSpline

        low, ends = self._ranges
        curves = []
        for name, M, end in zip(self.fluids, self.molar_masses, ends):
            T = np.linspace(low, end, 60)
            Ps = saturation_pressure(name, T)
            liquid, vapor = State(name, Ps, quality=0.0), State(name, Ps, quality=1.0)
            curves.append(CubicSpline(T, np.array(
                [np.log(Ps), liquid.enthalpy * M, vapor.enthalpy * M]).T))  # fmt: skip
        return curves

    def at(self, temperature):
        """Vapour pressures [Pa], molar enthalpies [J/kmol] of liquid and vapour at one temperature.

        temperature [K]; each an array over the fluids.
        """
        rows = []
        for curve, end in zip(self._curves, self._ranges[1]):
            values = curve(min(temperature, end))
            if temperature > end:
                slope, rise = curve.derivative()(end), temperature - end
                warm = slope[1] * rise
                values = values + np.array([slope[0] * end * rise / temperature, warm, warm])
            rows.append(values)
        log_P, liquid, vapor = np.array(rows).T
        return np.exp(log_P), liquid, vapor

    def bubble_temperature(self, pressure, mole_fractions=None):
        """Temperature [K] at which the liquid begins to boil at one pressure [Pa].

        mole_fractions of the liquid, by default the mixture's own. Raises InputError where it
        boils above 97 % of the highest critical temperature.
        """
        from scipy.optimize import brentq

        x = np.asarray(self.mole_fractions if mole_fractions is None else mole_fractions)

        def miss(T):
            return np.log(x @ self.at(T)[0] / pressure)

        low, high = self._ranges[0], self.limit
        if not miss(low) < 0 < miss(high):
            raise InputError(
                f"pressure = {pressure:.6g} Pa: the mixture boils outside {low:.4g} to {high:.4g} K"
                ", 97 % of the highest critical temperature: take the heat that drives it out, "
                "boiling.expulsion"
            )
        return brentq(miss, low, high, xtol=1e-9)

    def vapor_fractions(self, pressure, mole_fractions=None):
        """Mole fractions of the vapour at the bubble point."""
        x = np.asarray(self.mole_fractions if mole_fractions is None else mole_fractions)
        return x * self.at(self.bubble_temperature(pressure, x))[0] / pressure

    def gas_k(self, temperature, mole_fractions):
        """Ideal-gas ratio of heat capacities of a vapour at one temperature [K]."""
        T, low = float(temperature), 1e3  # guard: any pressure, k is of the ideal gas
        k = np.array([State(f, low, temperature=T).k for f in self.fluids])
        cp_over_R = float(np.asarray(mole_fractions) @ (k / (k - 1.0)))
        return cp_over_R / (cp_over_R - 1.0)

    def gas_Z(self, pressure, temperature, mole_fractions):
        """Compressibility factor of a vapour, Peng-Robinson with no binary interaction.

        Source: Peng and Robinson (1976), constants 0.45724, 0.07780; van der Waals mixing.
        """
        y = np.asarray(mole_fractions)
        Tc, Pc = (np.array([getattr(e, n) for e in self._engines]) for n in ("Tc", "Pc"))
        acentric = np.array([e.state.acentric_factor() for e in self._engines])
        kappa = 0.37464 + 1.54226 * acentric - 0.26992 * acentric**2
        root_alpha = 1.0 + kappa * (1.0 - np.sqrt(temperature / Tc))
        root_A = np.sqrt(0.45724 * pressure / Pc) * Tc / temperature * root_alpha
        A, B = float(y @ root_A) ** 2, float(y @ (0.07780 * pressure / Pc * Tc / temperature))
        roots = np.roots([1.0, B - 1.0, A - 2.0 * B - 3.0 * B**2, B**3 + B**2 - A * B])
        return float(max(roots[np.abs(roots.imag) < 1e-9].real))


@dataclass(frozen=True)
class BoilOff:
    """Vapour made at constant pressure step by step; arrays over the steps.

    vaporized, mass fraction gone by the end of each step [-]; temperature at its end [K];
    step_heat, heat per kg of vapour made [J/kg], warming of what stays included; molar_mass, k, Z
    of its vapour; total_heat for each kg of the first liquid up to there [J/kg].
    """

    pressure: float
    vaporized: np.ndarray
    temperature: np.ndarray
    step_heat: np.ndarray
    molar_mass: np.ndarray
    k: np.ndarray
    Z: np.ndarray
    total_heat: np.ndarray

    def gas(self, i):
        """The vapour of a step as a `Gas`."""
        names = ("temperature", "molar_mass", "k", "Z")
        T, M, k, Z = (float(getattr(self, name)[i]) for name in names)
        return Gas(self.pressure, T, molar_mass=M, k=k, Z=Z)

    @property
    def area_per_heat(self):
        """Area of an ideal choked nozzle for each watt [m2/W], over the steps."""
        volume = self.Z * GAS_CONSTANT * self.temperature / (self.molar_mass * self.pressure)
        flux = np.sqrt(self.pressure / volume * choked_square(self.k))
        return 1.0 / (self.step_heat * flux)

    @property
    def governing(self):
        """Index of the step that needs the largest area."""
        return int(np.argmax(self.area_per_heat))


def boil_off(mixture, pressure, steps=20, last=0.95):
    """Boil a mixture away at constant pressure, in steps of equal moles.

    Parameters: mixture, `Mixture`; pressure [Pa], float; steps, how many; last, the fraction of
    the moles that is gone at the end. Returns `BoilOff`; it ends sooner where what is left would
    boil above 97 % of the highest critical temperature. Raises InputError as
    `Mixture.bubble_temperature`, or for no step. Validity: ideal mixture, ValidityWarning above 90
    % of the mole-fraction mean of the critical pressures; vapour leaves as it is made (Rayleigh).
    Source: mass and energy balance of an open vessel; API 521 (2020), 4.4.13, asks for steps.
    >>> b = boil_off(Mixture(("Propane", "n-Butane"), (0.6, 0.4)), 20e5, steps=10)
    >>> [round(b.temperature[i]) for i in (0, -1)], [round(b.step_heat[i] / 1e3) for i in (0, -1)]
    ([347, 385], [273, 263])
    """
    one_number(pressure=pressure, last=last)
    check_points(steps, 1)
    P = result(positive(pressure=pressure))
    refuse(not 0 < last < 1, "last", last, "must lie between 0 and 1")
    n0, M = np.asarray(mixture.mole_fractions, dtype=float), mixture.molar_masses
    warn_outside(P > _NEAR * n0 @ [e.Pc for e in mixture._engines], "pressure", P,
                 "90 % of the mean critical pressure: no ideal mixture", RAOULT)  # fmt: skip
    gone = np.linspace(0.0, last, steps + 1)
    moles, out, T = _rayleigh(mixture, P, n0, gone)
    held = np.array([n @ mixture.at(t)[1] for n, t in zip(moles, T)])
    made = n0 - moles
    part = np.diff(made, axis=0)
    y, mass = part / part.sum(axis=1, keepdims=True), part @ M
    total = (held - held[0] + out) / (n0 @ M)
    return BoilOff(
        P, (made @ M)[1:] / (n0 @ M), T[1:], np.diff(total) * (n0 @ M) / mass, y @ M,
        np.array([mixture.gas_k(t, f) for t, f in zip(T[1:], y)]),
        np.array([mixture.gas_Z(P, t, f) for t, f in zip(T[1:], y)]), total[1:],
    )  # fmt: skip


def _rayleigh(mixture, P, n0, gone):
    """Moles left, enthalpy carried out and temperature at each fraction of the moles gone."""
    from scipy.integrate import solve_ivp

    top = mixture.limit

    def rates(_, state):
        x = state[:-1] / state[:-1].sum()
        T = _bubble_or_limit(mixture, P, x, top)
        Ps, _, vapor = mixture.at(T)
        y = x * Ps / (x @ Ps)
        return np.append(-y, y @ vapor)

    def too_hot(_, state):
        x = state[:-1] / state[:-1].sum()
        return x @ mixture.at(top)[0] / P - 1.0 - 1e-6

    too_hot.terminal = True
    mixture.bubble_temperature(P)
    found = solve_ivp(rates, (0.0, gone[-1]), np.append(n0, 0.0), t_eval=gone, events=too_hot,
                      rtol=1e-7, atol=1e-10)  # fmt: skip
    states = found.y.T
    if len(states) < 2:
        raise InputError("steps: too coarse, the mixture reaches its critical range in the first")
    T = [mixture.bubble_temperature(P, s[:-1] / s[:-1].sum()) for s in states]
    return states[:, :-1], states[:, -1], np.array(T)


def _bubble_or_limit(mixture, P, x, top):
    """Bubble temperature, held at the limit for trial steps of the integrator beyond it."""
    return top if x @ mixture.at(top)[0] <= P else mixture.bubble_temperature(P, x)


def mixture_load(cause, mixture, pressure, heat_rate, steps=20, last=0.95, working=()):
    """Load of a boiling mixture: that of the step whose vapour needs the largest area.

    Parameters: cause; mixture, pressure [Pa], steps and last as `boil_off`; heat_rate [W], float;
    working, steps that led to the heat. Returns `ReliefLoad` of `Gas`. Raises InputError as
    `boil_off`. Source: API 521 (2020), 4.4.13.
    >>> load = mixture_load("exterior_fire_liquid", Mixture(("Propane", "n-Butane"), (0.6, 0.4)),
    ...                     20e5, 1e6)
    >>> round(load.mass_flow, 2), round(load.stream.temperature)
    (3.94, 385)
    """
    Q = result(positive(heat_rate=heat_rate))
    found = boil_off(mixture, pressure, steps, last)
    i = found.governing
    heat = float(found.step_heat[i])
    lines = [
        step("vaporized", float(found.vaporized[i]), source=LARGEST),
        step("step_heat", heat, source=f"{RAOULT}; heat balance of the step"),
        step("mass_flow", Q / heat, "Q/h_s", "heat balance", heat_rate=Q, step_heat=heat),
    ]
    return ReliefLoad(cause, Q / heat, found.gas(i), working=Working([*working, *lines]))


def heated_temperature(fluid, pressure, density):
    """Temperature at which a fluid of given density, shut in and heated, reaches a pressure.

    Parameters: fluid; pressure [Pa]; density [kg/m3], mass over volume of the vessel; floats.
    Returns K; the boiling point of a pure fluid that is still liquid and vapour there. Raises
    InputError where no temperature of the equation of state gives it.
    Source: reference equation of state by CoolProp (HEOS); constant volume.
    >>> round(heated_temperature("Propane", 60e5, 300.0), 1)
    382.6
    """
    one_number(pressure=pressure, density=density)
    from scipy.optimize import brentq

    engine, (P, rho) = engine_of(fluid), positive(pressure=pressure, density=density)
    if engine.pure and P < 0.999 * engine.Pc:  # guard: clear of the critical point
        liquid, vapor = (State(fluid, float(P), quality=q) for q in (0.0, 1.0))
        if vapor.density <= rho <= liquid.density:
            return liquid.temperature

    def miss(T):
        engine.update("temperature", float(P), T)
        return engine.state.rhomass() - float(rho)

    low, high = engine.Tmin * 1.05, engine.Tmax * 0.999  # guard: clear of freezing
    if not miss(low) > 0 > miss(high):
        raise InputError(
            f"density = {float(rho):.6g} kg/m3: {fluid} has no such state at this pressure"
        )
    return brentq(miss, low, high, xtol=1e-8)


def expulsion(fluid, pressure, start_temperature, end_temperature, steps=30):
    """Heat that drives one kilogram out of a vessel at constant pressure, over its temperature.

    Parameters: fluid; pressure [Pa], above the critical one or of a fluid in a single phase;
    start_temperature, end_temperature [K]; steps, how many points. Returns (stream, heat): a
    `RealFluid` of arrays, and J/kg. Raises InputError as `State`, or for an end below the start.
    Validity: vessel at one temperature, emptying through the valve at constant pressure; the wall
    takes no heat. Source: dm/dt = -Q/(v (dh/dv)_P), energy balance of an open vessel of constant
    volume and pressure.
    >>> stream, heat = expulsion("Propane", 60e5, 384.0, 450.0, steps=3)
    >>> [round(h / 1e3) for h in heat]
    [246, 311, 488]
    """
    one_number(pressure=pressure, start_temperature=start_temperature,
               end_temperature=end_temperature)  # fmt: skip
    check_points(steps)
    T0, T1 = positive(start_temperature=start_temperature, end_temperature=end_temperature)
    refuse(T1 <= T0, "end_temperature", T1, "must be above the start")
    stream = RealFluid(fluid, pressure, temperature=np.linspace(float(T0), float(T1), steps))
    return stream, np.asarray(stream.state.expulsion_heat)


def expulsion_load(cause, fluid, pressure, heat_rate, start_temperature, end_temperature,
                   steps=30, working=()):  # fmt: skip
    """Load of a fluid near or above its critical point: the temperature of the largest area.

    Parameters: cause; fluid, pressure [Pa], start_temperature, end_temperature [K], steps as
    `expulsion`; heat_rate [W], float; working, steps that led to it. Returns `ReliefLoad` of
    `RealFluid`. Raises InputError as `expulsion`. Validity: constant heat flow; flux into vacuum
    chooses the temperature. Source: as `expulsion`; API 521 (2020), 4.4.13 and 4.4.14 ask for a
    heat balance there and give no equation.
    >>> load = expulsion_load("exterior_fire_gas", "Propane", 60e5, 1e6, 384.0, 450.0)
    >>> round(load.mass_flow, 2), round(load.stream.temperature)
    (4.79, 397)
    """
    Q = result(positive(heat_rate=heat_rate))
    P = result(positive(pressure=pressure))
    streams, heats = expulsion(fluid, P, start_temperature, end_temperature, steps)
    T = _largest_area(fluid, P, streams, heats)
    stream = RealFluid(fluid, P, temperature=T)
    heat = float(stream.state.expulsion_heat)
    c, v = stream.state.heat_capacity, stream.state.expansion_coefficient
    lines = [
        step("temperature", T, source=LARGEST),
        step("expulsion_heat", heat, "c_P/alpha", "v (dh/dv)_P", heat_capacity=c,
             expansion_coefficient=v),
        step("mass_flow", Q / heat, "Q/h_e", "energy balance", heat_rate=Q, expulsion_heat=heat),
    ]  # fmt: skip
    return ReliefLoad(cause, Q / heat, stream, working=Working([*working, *lines]))


def near_critical_load(cause, fluid, pressure, heat_rate, density, end_temperature, steps=30,
                       working=()):  # fmt: skip
    """Load of a vessel near or above the critical pressure: its stage of the largest area.

    Parameters: cause; fluid, pure; pressure [Pa], heat_rate [W]; density, mass over volume of the
    vessel [kg/m3]; end_temperature [K]; floats; steps for each stage; working, steps that led to
    the heat. Returns `ReliefLoad` of `RealFluid`. Raises InputError as `expulsion`. Below the
    critical pressure three stages follow each other: liquid that expands, where the vessel is
    full of it; boiling, where a kg that leaves takes v h_v/(v_v - v_l), the same v (dh/dv)_P as in
    one phase, finite up to the critical point where h_v falls to nothing; vapour that expands.
    Validity: boiling begins with saturated liquid in the nozzle, since liquid and vapour differ
    so little that a level swells to it; vapour alone takes less. Source: as `expulsion`.
    >>> load = near_critical_load("x", "Propane", 41e5, 1e6, 220.0, 450.0)
    >>> round(load.mass_flow, 2), load.stream.quality
    (10.67, 0.0)
    """
    check_points(steps)
    one_number(pressure=pressure, heat_rate=heat_rate, density=density,
               end_temperature=end_temperature)  # fmt: skip
    P, rho = (result(v) for v in positive(pressure=pressure, density=density))
    at = dict(steps=steps, working=working)
    if P >= engine_of(fluid).Pc:
        start = heated_temperature(fluid, P, rho)
        return expulsion_load(cause, fluid, P, heat_rate, start, end_temperature, **at)
    liquid, vapor = State(fluid, P, quality=0.0), State(fluid, P, quality=1.0)
    boils, stages = liquid.temperature, []
    refuse(end_temperature <= boils, "end_temperature", end_temperature,
           f"is not above boiling at this pressure, {boils:.6g} K")  # fmt: skip
    if rho > liquid.density:
        start = min(heated_temperature(fluid, P, rho), boils - 2 * _CLEAR)
        stages.append(expulsion_load(cause, fluid, P, heat_rate, start, boils - _CLEAR, **at))
    if rho > vapor.density:
        stages.append(_boiling_load(cause, liquid, vapor, heat_rate, steps, working))
        start = boils + _CLEAR
    else:
        start = max(heated_temperature(fluid, P, rho), boils + _CLEAR)
    stages.append(expulsion_load(cause, fluid, P, heat_rate, start, end_temperature, **at))
    return max(stages, key=lambda load: load.mass_flow / load.stream.mass_flux(0.0))


def _boiling_load(cause, liquid, vapor, heat_rate, steps, working):
    """Load while the vessel boils: the mixture, from saturated liquid on, of the largest area."""
    Q, x = result(positive(heat_rate=heat_rate)), np.linspace(0.0, 1.0, steps)
    change = vapor.specific_volume - liquid.specific_volume
    h_v, v = vapor.enthalpy - liquid.enthalpy, liquid.specific_volume + x * change
    flux = np.asarray(RealFluid(liquid.fluid, liquid.pressure, quality=x).mass_flux(0.0))
    i = int(np.argmin(v * flux))
    heat = float(v[i] * h_v / change)
    lines = [
        step("quality", float(x[i]), source=LARGEST),
        step("expulsion_heat", heat, "v0*h_v/v_vl0", "v (dh/dv)_P, saturated",
             specific_volume=float(v[i]), latent_heat=h_v, specific_volume_change=change),
        step("mass_flow", Q / heat, "Q/h_e", "energy balance", heat_rate=Q, expulsion_heat=heat),
    ]  # fmt: skip
    stream = RealFluid(liquid.fluid, liquid.pressure, quality=float(x[i]))
    return ReliefLoad(cause, Q / heat, stream, working=Working([*working, *lines]))


def _largest_area(fluid, P, streams, heats):
    """Temperature of the largest area for each watt: the best point, then around it."""
    from scipy.optimize import minimize_scalar

    T = np.asarray(streams.state.temperature)
    i = int(np.argmin(heats * np.asarray(streams.mass_flux(0.0))))

    def heat_times_flux(t):
        stream = RealFluid(fluid, P, temperature=float(t))
        return np.log(stream.state.expulsion_heat * stream.mass_flux(0.0))

    around = (T[max(i - 1, 0)], T[min(i + 1, len(T) - 1)])
    found = minimize_scalar(heat_times_flux, bounds=around, options={"xatol": 1e-3})
    better = found.fun < heat_times_flux(T[i])
    return float(found.x if better else T[i])
