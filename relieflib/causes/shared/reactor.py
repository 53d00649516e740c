"""A batch that runs away, against time: closed, or with the vent open.

One lumped mass of liquid in equilibrium with its vapour: pressure is the vapour pressure of the
solvent (CoolProp), liquid energy c T with a constant heat capacity, the reaction k (1 - X)^n.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import exp, floor, log

import numpy as np

from relieflib.errors import (
    SHORTEST,
    InputError,
    check_points,
    not_negative,
    one_number,
    positive,
    refuse,
    result,
)
from relieflib.nozzle.gas import flux_of_volume
from relieflib.nozzle.two_phase import homogeneous_flux
from relieflib.properties import State, engine_of, saturation_pressure, saturation_temperature
from relieflib.units import ATMOSPHERE

VENTING = ("vapor", "homogeneous")
_TOP = 0.95  # of critical temperature: where the run ends


@lru_cache(maxsize=16)
def _saturation(fluid, low):
    """Spline over temperature: ln P, latent heat, v_l, ln v_v and k of the saturated fluid."""
    from scipy.interpolate import CubicSpline

    T = np.linspace(low, _TOP * engine_of(fluid).Tc, 80)
    P = saturation_pressure(fluid, T)
    liquid, vapor = State(fluid, P, quality=0.0), State(fluid, P, quality=1.0)
    rows = [np.log(P), vapor.enthalpy - liquid.enthalpy, liquid.specific_volume,
            np.log(vapor.specific_volume), vapor.k]  # fmt: skip
    curve = CubicSpline(T, np.array(rows).T)
    return curve, curve.derivative(), T[-1]


@dataclass(frozen=True)
class Batch:
    """A batch in a closed reactor: what `run_away` integrates.

    mass [kg], volume of the reactor [m3], pure fluid that boils (CoolProp), liquid_heat_capacity
    [J/(kg K)], temperature at the start [K], adiabatic_rise [K], frequency [1/s] and
    activation_temperature [K], order; vent_area, Kd times area [m2], 0 for a closed vessel, open
    from set_pressure and fully at full_pressure [Pa absolute]; venting 'vapor' or 'homogeneous';
    atmosphere, absolute pressure behind the vent [Pa]. Raises InputError for a value not above 0, a
    mixture, a start near the critical point, or a batch that fills the vessel. Validity: no pad
    gas, no cooling; omega method or ideal gas for the vent; with vapour alone and another order
    than 1, no account of the batch growing stronger as it boils down.
    """

    mass: float
    volume: float
    fluid: str
    liquid_heat_capacity: float
    temperature: float
    adiabatic_rise: float
    frequency: float
    activation_temperature: float
    set_pressure: float
    full_pressure: float
    vent_area: float = 0.0
    venting: str = "homogeneous"
    order: float = 1.0
    atmosphere: float = ATMOSPHERE

    def __post_init__(self):
        self._check_numbers()
        if self.venting not in VENTING:
            raise InputError(f"venting '{self.venting}': use {' or '.join(VENTING)}")
        engine = engine_of(self.fluid)
        if not engine.pure:
            raise InputError(
                f"fluid '{self.fluid}': one pure fluid, as a mixture boils over a range"
            )
        hottest = _TOP * engine.Tc - 1.0  # guard: clear of the curves' end
        refuse(self.temperature >= hottest, "temperature", self.temperature,
               f"must be more than 1 K below {_TOP:.0%} of the critical one")  # fmt: skip
        x = self.quality(self.temperature, self.volume / self.mass)
        if not 0 < x < 1:
            raise InputError(f"mass = {self.mass:.6g} kg: "
                             + ("the liquid fills the vessel" if x <= 0 else "all of it is vapour")
                             + f" of {self.volume:.6g} m3")  # fmt: skip

    def _check_numbers(self):
        words = ("mass", "volume", "temperature", "liquid_heat_capacity", "order", "adiabatic_rise",
                 "frequency", "activation_temperature", "set_pressure", "full_pressure",
                 "atmosphere")  # fmt: skip
        values = {name: getattr(self, name) for name in words}
        positive(**values)
        not_negative(vent_area=self.vent_area)
        for name, value in (values | {"vent_area": self.vent_area}).items():
            if np.ndim(value) or np.isnan(value):
                raise InputError(f"{name} = {value!r}: must be one number")
        refuse(self.full_pressure <= self.set_pressure, "full_pressure", self.full_pressure,
               "must be above set_pressure")  # fmt: skip

    @cached_property
    def _curves(self):
        coldest = self.temperature
        if saturation_pressure(self.fluid, coldest) > self.set_pressure:  # the vent starts open
            coldest = saturation_temperature(self.fluid, self.set_pressure)
        low = 10.0 * floor(coldest / 10.0) - 10.0  # guard: room to cool; tens, to be kept
        return _saturation(self.fluid, max(low, engine_of(self.fluid).Tmin + 1e-3))

    def saturated(self, T):
        """Pressure, latent heat, v_l, v_v, k of the saturated fluid at T [K]."""
        ln_P, h, v_l, ln_v, k = self._curves[0](T)
        return exp(ln_P), h, v_l, exp(ln_v), k

    def quality(self, T, v):
        """Mass fraction of vapour at T [K] and mean specific volume v [m3/kg]."""
        _, _, v_l, v_v, _ = self.saturated(T)
        return (v - v_l) / (v_v - v_l)

    def energy(self, T, v):
        """Internal energy of liquid and vapour [J/kg], from liquid at 0 K."""
        P, h, v_l, v_v, _ = self.saturated(T)
        return self.liquid_heat_capacity * T + (v - v_l) / (v_v - v_l) * (h - P * (v_v - v_l))

    def slopes(self, T, v):
        """Derivatives of `energy` by temperature and by specific volume."""
        P, h, v_l, v_v, _ = self.saturated(T)
        d_ln_P, d_h, d_l, d_ln_v, _ = self._curves[1](T)
        gap, d_gap = v_v - v_l, v_v * d_ln_v - d_l
        x, u = (v - v_l) / gap, h - P * gap
        d_x, d_u = (-d_l - x * d_gap) / gap, d_h - P * d_ln_P * gap - P * d_gap
        return self.liquid_heat_capacity + d_x * u + x * d_u, u / gap

    def rate(self, T, X):
        """Rate of conversion [1/s]."""
        return (
            self.frequency * exp(-self.activation_temperature / T) * max(1.0 - X, 0.0) ** self.order
        )

    def vent(self, T, v):
        """Flow through the vent [kg/s] and what a kilogram carries above the contents' energy."""
        P, h, v_l, v_v, k = self.saturated(T)
        lift = min((P - self.set_pressure) / (self.full_pressure - self.set_pressure), 1.0)
        x = (v - v_l) / (v_v - v_l)
        if self.venting == "vapor":
            extra = h + P * v_l - x * (h - P * (v_v - v_l))
        else:
            extra = P * v
        if lift <= 0 or self.vent_area == 0:
            return 0.0, extra
        r = min(self.atmosphere / P, 1.0)  # guard: set below the atmosphere
        if self.venting == "vapor":
            flux = flux_of_volume(P, v_v, k, r)
        else:
            change = (v_v - v_l) / h
            w = (x * v_v / v * (1.0 - 2.0 * P * change)
                 + self.liquid_heat_capacity * T * P / v * change**2)  # fmt: skip
            flux = homogeneous_flux(P, v, w, r)
        return lift * self.vent_area * flux, extra


@dataclass(frozen=True)
class Runaway:
    """Result of `run_away`, arrays over time [s]; SI.

    conversion [-]; mass left [kg]; mass_flow out [kg/s]; ended, why the run stopped: 'time',
    'liquid-full', 'empty of liquid' or 'near critical'; balance, energy not accounted for as a
    fraction of the heat of reaction; peak, highest pressure of the whole run, between the points
    too.
    """

    time: np.ndarray
    temperature: np.ndarray
    pressure: np.ndarray
    conversion: np.ndarray
    mass: np.ndarray
    mass_flow: np.ndarray
    ended: str
    balance: float
    peak: float


def run_away(batch, time, steps=300, since=0.0):
    """Temperature, pressure and conversion of a batch against time.

    Parameters: batch, a `Batch`; time, how long [s]; steps, points in the result, from the time
    since [s]. Returns `Runaway`; it ends early where the vessel is full of liquid, empty of it, or
    near its critical point. Raises InputError for a time not above 0, a run that ends before since,
    or a failed integration. Validity: as `Batch`;
    reactant leaves with what a homogeneous vent carries out, and stays when vapour leaves.
    Source: mass and energy balance of an open vessel of constant volume; vent flow by API 520-I
    (2020), Annex C, omega method, or ideal gas.
    >>> batch = Batch(8000.0, 15.7, "n-Hexane", 2800.0, 380.0, 170.0, 1e8, 11000.0, 5e5, 5.5e5)
    >>> closed = run_away(batch, 36000.0)
    >>> closed.ended, abs(closed.balance) < 1e-6
    ('liquid-full', True)
    """
    from scipy.integrate import solve_ivp

    end, since = one_number(time=time, since=not_negative(since=since))
    refuse(end < SHORTEST, "time", end, f"must be {SHORTEST} s or more")
    check_points(steps)
    b, heat = batch, batch.liquid_heat_capacity * batch.adiabatic_rise

    def rates(_, state):
        m, T, X = state[:3]
        T = min(T, b._curves[2])  # guard: a trial step of the integrator
        v = b.volume / m
        W, extra = b.vent(T, v)
        r = b.rate(T, X)
        made = heat * r * (b.mass if b.venting == "vapor" else m)
        by_T, by_v = b.slopes(T, v)
        dT = (made - W * extra - by_v * v * W) / (m * by_T)
        return [-W, dT, r, made, W * (b.energy(T, v) + extra)]

    parts = (b.mass, b.temperature, 1.0, b.mass * heat, b.mass * heat)  # guard: sizes alone
    scale = np.array(parts)
    found = solve_ivp(rates, (0.0, end), [b.mass, b.temperature, 0.0, 0.0, 0.0], method="LSODA",
                      rtol=1e-8, atol=1e-10 * scale, dense_output=True,
                      events=_ends(b))  # fmt: skip
    if not found.success:
        raise InputError(f"batch: the integration failed: {found.message}")
    if since >= found.t[-1]:
        raise InputError(f"since = {since:.6g} s: the run ends at {found.t[-1]:.6g} s")
    return _runaway(b, found, np.linspace(since, found.t[-1], steps))


def _ends(b):
    """Events that end a run: liquid-full, empty of liquid, near critical."""

    def full(_, state):
        return b.quality(state[1], b.volume / state[0]) - 1e-6

    def empty(_, state):
        return b.quality(state[1], b.volume / state[0]) - 0.9

    def critical(_, state):
        return state[1] - b._curves[2] + 0.5  # guard: clear of the spline's end

    for event in (full, empty, critical):
        event.terminal = True
    return full, empty, critical


def _peak_temperature(found):
    """Hottest moment: of the integrator's steps, then finer around the hottest of them."""
    i = int(np.argmax(found.y[1]))
    near = found.t[max(i - 1, 0)], found.t[min(i + 1, len(found.t) - 1)]
    return float(found.sol(np.linspace(*near, 50))[1].max())


def _runaway(b, found, t):
    m, T, X, made, out = found.sol(t)
    P = np.exp(b._curves[0](T)[:, 0])
    flow = np.zeros_like(t)
    if b.vent_area > 0:
        flow = np.array([b.vent(x, b.volume / y)[0] for x, y in zip(T, m)])
    words = ("liquid-full", "empty of liquid", "near critical")
    ended = next((w for w, e in zip(words, found.t_events) if len(e)), "time")
    start = b.mass * b.energy(b.temperature, b.volume / b.mass)
    change = m[-1] * b.energy(T[-1], b.volume / m[-1]) - start
    balance = float((made[-1] - out[-1] - change) / made[-1])
    peak = exp(b._curves[0](_peak_temperature(found))[0])
    return Runaway(t, T, P, X, m, flow, ended, balance, peak)


def integrated_area(batch, highest_pressure, time):
    """Vent area, with Kd, that holds a batch to a highest pressure, by integration in time.

    Parameters: batch; highest_pressure [Pa absolute]; time, how long each run goes on [s]. Returns
    m2, float. Raises InputError where even the largest area tried does not hold it. Source: as
    `run_away`; root of the peak pressure in the area.
    """
    from scipy.optimize import brentq

    limit = one_number(highest_pressure=positive(highest_pressure=highest_pressure))

    def miss(log_area):
        run = run_away(replace(batch, vent_area=exp(log_area)), time, 2)
        return log(run.peak / limit)

    low, high = log(1e-5 * batch.volume), log(1e-1 * batch.volume)  # guard: wide enough
    if miss(low) < 0:
        raise InputError("highest_pressure: the batch never comes to it in this time")
    if miss(high) > 0:
        raise InputError("highest_pressure: no vent of this vessel's size holds the batch to it")
    return result(exp(brentq(miss, low, high, xtol=1e-4)))
