"""A pure real fluid in a vessel: gas by its equation of state, or liquid boiling under its vapour.

The curves of a fluid are made once and kept: saturation over temperature as a spline, and the
choked flux of gas on a net of pressures and temperatures. Between, a run costs no flash.
"""

from bisect import bisect_right
from dataclasses import KW_ONLY, dataclass
from functools import cached_property, lru_cache
from math import exp, log

import numpy as np

from relieflib.errors import InputError, positive, refuse
from relieflib.nozzle.gas import choked_square, flux_of_volume
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.two_phase import homogeneous_flux
from relieflib.pressure_in_time.contents import Now, Wall, numbers
from relieflib.properties import (
    LATENT_LIMIT,
    State,
    engine_of,
    saturation_pressure,
    saturation_temperature,
)

VENTING = ("vapor", "homogeneous")
_POINTS, _FLUXES = 300, 20  # of the saturation curve, of the choked flux along it
_EDGE = 1e-6  # part of the mass at which a phase has gone


class Saturation:
    """Saturated liquid and vapour of a pure fluid over temperature; `of` keeps one a fluid.

    From where its vapour pressure is 12 kPa (or it freezes) to 95 % of its critical pressure.
    """

    def __init__(self, fluid):
        from scipy.interpolate import CubicSpline

        engine = engine_of(fluid)
        if not engine.pure:
            raise InputError(f"fluid '{fluid}': one pure fluid, as a mixture boils over a range")
        self.top = saturation_temperature(fluid, LATENT_LIMIT * engine.Pc)
        freezing = engine.Tmin + 1e-3  # guard: clear of freezing
        lowest = max(saturation_pressure(fluid, freezing), 1.2e4)
        self.low = max(saturation_temperature(fluid, lowest), freezing)
        T = np.linspace(self.low, self.top, _POINTS)
        P = saturation_pressure(fluid, T)
        liquid, vapor = State(fluid, P, quality=0.0), State(fluid, P, quality=1.0)
        rows = [np.log(P), liquid.specific_volume, np.log(vapor.specific_volume),
                liquid.enthalpy, vapor.enthalpy]  # fmt: skip
        self._T, self._step = T.tolist(), float(T[1] - T[0])
        spline = CubicSpline(T, np.array(rows).T)
        self._pieces = spline.c.transpose(1, 2, 0).tolist()  # interval, quantity, power
        coarse = np.linspace(0, _POINTS - 1, _FLUXES).astype(int)
        flux = np.asarray(RealFluid(fluid, P[coarse], quality=1.0).mass_flux(0.0))
        square = flux**2 * vapor.specific_volume[coarse] / P[coarse]
        own = CubicSpline(T[coarse], [_exponent(x) for x in square])
        self._exponents = own(T).tolist()

    def at(self, T):
        """P, v_l, v_v, h_l, h_v at T [K], and their derivatives by T."""
        T = min(max(T, self.low), self.top)  # guard: a trial step of the integrator
        i = min(int((T - self.low) / self._step), _POINTS - 2)
        d = T - self._T[i]
        (lnP, slope_P), (v_l, d_l), (ln_v, slope_v), (h_l, dh_l), (h_v, dh_v) = [
            (((a * d + b) * d + c) * d + e, (3.0 * a * d + 2.0 * b) * d + c)
            for a, b, c, e in self._pieces[i]
        ]
        P, v_v = exp(lnP), exp(ln_v)
        return (P, v_l, v_v, h_l, h_v), (P * slope_P, d_l, v_v * slope_v, dh_l, dh_v)

    def exponent(self, T):
        """Exponent of the gas whose choked flux is that of the saturated vapour at T [K] [-]."""
        place = min(max((T - self.low) / self._step, 0.0), _POINTS - 1.001)
        i = int(place)
        return self._exponents[i] + (place - i) * (self._exponents[i + 1] - self._exponents[i])


@lru_cache(maxsize=16)
def saturation_of(fluid):
    """The `Saturation` of a pure fluid, made once.

    Parameters: fluid, a name. Returns `Saturation`. Raises InputError for a mixture.
    Source: reference equation of state by CoolProp (HEOS).
    >>> (P, v_l, v_v, h_l, h_v), _ = saturation_of("Propane").at(330.412)
    >>> round(P / 1e5, 3), round((h_v - h_l) / 1e3, 2)  # 20 bara, 266.65 kJ/kg by CoolProp
    (20.0, 266.65)
    """
    return Saturation(fluid)


def _exponent(square):
    """Exponent n with n (2/(n + 1))^((n + 1)/(n - 1)) equal to a square, above 1."""
    from scipy.optimize import brentq

    low, high = 1.0001, 20.0  # guard: wide enough for every gas
    if choked_square(low) >= square:
        return low
    return brentq(lambda n: choked_square(n) - square, low, high, xtol=1e-12)


@dataclass(frozen=True)
class Boiling:
    """Liquid and vapour of one pure fluid at saturation: volume [m3], temperature at the start [K].

    liquid_volume [m3]; venting 'vapor', or 'homogeneous' where the level swells up to the valve.
    Raises InputError for a mixture, a start above 95 % of the critical pressure or below 12 kPa of
    vapour pressure, or more liquid than volume. Validity: one temperature for liquid, vapour and
    all the heat: in a fire the real pressure rises FASTER, since the liquid at the wall is hotter
    (stratified). Steady, it passes W = Q (v_v - v_l)/(v_v h_v), less than Q/h_v, for the vapour
    must also fill the room of the liquid it came from. Source: balances of mass, volume, energy.
    >>> tank = Boiling("Propane", 10.0, 293.15, 5.0)
    >>> round(tank.mass)
    2591
    """

    fluid: str
    volume: float
    temperature: float
    liquid_volume: float
    _: KW_ONLY
    venting: str = "vapor"
    phase = "boiling"

    def __post_init__(self):
        numbers(self, "volume", "temperature", "liquid_volume")
        if self.venting not in VENTING:
            raise InputError(f"venting '{self.venting}': use {' or '.join(VENTING)}")
        curve = self.curve
        refuse(not curve.low <= self.temperature < curve.top, "temperature", self.temperature,
               f"must be from {curve.low:.5g} to below {curve.top:.5g} K, where {self.fluid} boils "
               "at 12 kPa and at 95 % of its critical pressure")  # fmt: skip
        refuse(self.liquid_volume >= self.volume, "liquid_volume", self.liquid_volume,
               "must leave room for vapour")  # fmt: skip

    @cached_property
    def curve(self):
        """The saturation curve of the fluid."""
        return saturation_of(self.fluid)

    @property
    def mass(self):
        """Mass of liquid and vapour at the start [kg]."""
        (_, v_l, v_v, *_), _ = self.curve.at(self.temperature)
        return self.liquid_volume / v_l + (self.volume - self.liquid_volume) / v_v

    @property
    def start(self):
        """First state: mass and temperature."""
        return [self.mass, self.temperature]

    @property
    def pressure(self):
        """Vapour pressure at the start [Pa]."""
        return self.curve.at(self.temperature)[0][0]

    def _quality(self, s):
        (_, v_l, v_v, *_), _ = self.curve.at(s[1])
        return (self.volume / s[0] - v_l) / (v_v - v_l)

    def look(self, s):
        """What the vessel is like in a state, a `Now`."""
        (P, v_l, v_v, h_l, h_v), _ = self.curve.at(s[1])
        v = self.volume / s[0]
        x = (v - v_l) / (v_v - v_l)
        liquid = (1.0 - x) * v_l / v
        if self.venting == "vapor":
            return Now(P, s[1], s[0], liquid, v_v, h_v)
        return Now(P, s[1], s[0], liquid, v, h_l + x * (h_v - h_l))

    def enthalpy_of(self, source):
        """Enthalpy of what a source brings [J/kg], as CoolProp counts it; None: the vapour's."""
        if source.enthalpy is not None or source.temperature is None:
            return source.enthalpy
        P = self.curve.at(self.temperature)[0][0]
        return State(self.fluid, P, temperature=source.temperature).enthalpy

    def flux(self, now, pressure, behind):
        """Mass flux of an ideal nozzle [kg/(m2 s)] with a pressure at its inlet."""
        if pressure <= behind:
            return 0.0
        if self.venting == "vapor":
            v = now.volume * now.pressure / pressure
            return flux_of_volume(pressure, v, self.curve.exponent(now.temperature),
                                  behind / pressure)  # fmt: skip
        return homogeneous_flux(pressure, now.volume, self._omega(now), behind / pressure)

    def _omega(self, now):
        (P, v_l, v_v, h_l, h_v), (*_, dh_l, _) = self.curve.at(now.temperature)
        change = (v_v - v_l) / (h_v - h_l)
        x = (now.volume - v_l) / (v_v - v_l)
        return (x * v_v / now.volume * (1.0 - 2.0 * P * change)
                + dh_l * now.temperature * P / now.volume * change**2)  # fmt: skip

    def rates(self, s, now, flow):
        """Rates of the state, and the power that came in and went out [W]."""
        m = s[0]
        (P, v_l, v_v, h_l, h_v), (dP, d_l, d_v, dh_l, dh_v) = self.curve.at(s[1])
        v, gap = self.volume / m, v_v - v_l
        x, lift = (v - v_l) / gap, h_v - h_l - P * gap
        d_gap = d_v - d_l
        d_x = (-d_l - x * d_gap) / gap
        u = h_l - P * v_l + x * lift
        du_l = dh_l - dP * v_l - P * d_l
        d_lift = dh_v - dh_l - dP * gap - P * d_gap
        by_T = du_l + d_x * lift + x * d_lift
        dm = flow.inflow - flow.outflow
        came, out = flow.inflow * flow.enthalpy + flow.heat, flow.outflow * now.enthalpy
        dT = (came - out - u * dm + lift / gap * v * dm) / (m * by_T)
        return [dm, dT], came, out

    def energy(self, s):
        """Internal energy of liquid and vapour [J]."""
        (P, v_l, v_v, h_l, h_v), _ = self.curve.at(s[1])
        x, gap = self._quality(s), v_v - v_l
        return s[0] * (h_l - P * v_l + x * (h_v - h_l - P * gap))

    def ends(self):
        """What ends a run: full of liquid, boiled dry, near the critical point, too cold."""
        curve = self.curve
        return [
            # by mass, not by quality, which has a pole where a long step would empty the vessel
            ("full of liquid", lambda s: (1.0 - _EDGE) * self.volume / curve.at(s[1])[0][1] - s[0]),
            ("boiled dry", lambda s: s[0] - (1.0 + _EDGE) * self.volume / curve.at(s[1])[0][2]),
            ("near critical", lambda s: curve.top - 1e-3 - s[1]),
            ("too cold for the curve", lambda s: s[1] - curve.low - 1e-3),
        ]  # fmt: skip


class GasNet:
    """Choked flux of a real gas on a net of pressures and temperatures, as a gas's exponent.

    Where the net meets liquid, the nearest gas along the temperature stands in; a run ends there.
    """

    def __init__(self, fluid, highest_pressure, lowest, highest):
        P, T = np.geomspace(2e4, highest_pressure, 12), np.linspace(lowest, highest, 14)
        square = np.full((P.size, T.size), np.nan)
        engine = engine_of(fluid)
        for i, p in enumerate(P):
            dew = engine.Tc if p >= engine.Pc else saturation_temperature(fluid, p)
            warm = T > dew + 0.2  # guard: clear of the dew point
            if warm.any():
                stream = RealFluid(fluid, p, temperature=T[warm])
                square[i, warm] = np.asarray(stream.mass_flux(0.0)) ** 2 / (p * stream.density)
                square[i, ~warm] = square[i, warm][0]
        known = ~np.isnan(square).any(axis=1)
        square = square[known]
        from scipy.interpolate import RectBivariateSpline

        exponents = np.vectorize(_exponent)(square)
        self._spline = RectBivariateSpline(np.log(P[known]), T, exponents)

    def exponent(self, pressure, temperature):
        """Exponent [-] at a pressure [Pa] and a temperature [K]."""
        return float(self._spline(log(pressure), temperature, grid=False))


@lru_cache(maxsize=16)
def gas_net_of(fluid, highest_pressure, lowest, highest):
    """The `GasNet` of a fluid over a range, made once.

    Parameters: fluid; highest_pressure [Pa]; lowest and highest temperature, K. Returns `GasNet`.
    Raises InputError outside the equation of state. Source: reference equation of state by
    CoolProp (HEOS); choked flux as `RealFluid`.
    """
    return GasNet(fluid, highest_pressure, lowest, highest)


@dataclass(frozen=True)
class RealGas:
    """A vessel full of one real gas: volume [m3], pressure [Pa] and temperature [K] at the start.

    isothermal and wall as `IdealGas`. Raises InputError for a mixture, what is no gas there, or a
    wall beside isothermal. Validity: the run ends where it begins to condense, which an equation
    of ideal gas does not see. Source: equation of state and nozzle by CoolProp (HEOS).
    >>> round(RealGas("Nitrogen", 0.089207, 150e5, 290.0).mass, 2)
    15.27
    """

    fluid: str
    volume: float
    pressure: float
    temperature: float
    _: KW_ONLY
    isothermal: bool = False
    wall: Wall | None = None
    highest_pressure: float | None = None
    phase = "gas"

    def __post_init__(self):
        numbers(self, "volume", "pressure", "temperature")
        state = State(self.fluid, self.pressure, temperature=self.temperature)
        if state.is_liquid or not engine_of(self.fluid).pure:
            raise InputError(f"fluid '{self.fluid}': {state.phase} there; a pure gas is needed")
        if self.isothermal and self.wall is not None:
            raise InputError("wall: isothermal means that it holds the temperature; give one")

    @property
    def _engine(self):  # not kept: CoolProp complains of states that outlive it
        return engine_of(self.fluid)

    @cached_property
    def _net(self):
        e, T = self._engine, self.temperature
        top = max(2.0 * self.pressure, positive(highest_pressure=self.highest_pressure or 1e5))
        low, high = max(0.4 * T, 1.02 * e.Tmin), min(2.0 * T, 0.98 * e.Tmax)
        return gas_net_of(self.fluid, float(top), low, high)

    @cached_property
    def _dew(self):
        """Temperatures and densities of the saturated vapour, up to the critical point."""
        e = self._engine
        T = np.linspace(1.02 * e.Tmin, 0.999 * e.Tc, 100)
        P = saturation_pressure(self.fluid, T)
        return T.tolist(), np.asarray(State(self.fluid, P, quality=1.0).density).tolist()

    def _point(self, rho, T):
        """P, u, cv and T (dP/dT)_rho of the gas."""
        CP = self._engine.CP

        def read(state):
            slope = state.first_partial_deriv(CP.iP, CP.iT, CP.iDmass)
            return state.p(), state.umass(), state.cvmass(), T * slope

        return self._engine.saturated(1.0, rho, T, read)

    @property
    def mass(self):
        """Mass at the start [kg]."""
        state = State(self.fluid, self.pressure, temperature=self.temperature)
        return state.density * self.volume

    @property
    def start(self):
        """First state: mass, temperature, and that of the wall."""
        return [self.mass, self.temperature, *[self.temperature] * (self.wall is not None)]

    def look(self, s):
        """What the vessel is like in a state, a `Now`."""
        P, u, _, _ = self._point(s[0] / self.volume, s[1])
        v = self.volume / s[0]
        return Now(P, s[1], s[0], 0.0, v, u + P * v)

    def enthalpy_of(self, source):
        """Enthalpy of what a source brings [J/kg], as CoolProp counts it; None: the vessel's."""
        if source.enthalpy is not None or source.temperature is None:
            return source.enthalpy
        return State(self.fluid, self.pressure, temperature=source.temperature).enthalpy

    def flux(self, now, pressure, behind):
        """Mass flux of an ideal nozzle [kg/(m2 s)] with a pressure at its inlet."""
        if pressure <= behind:
            return 0.0
        v = now.volume * now.pressure / pressure
        n = self._net.exponent(now.pressure, now.temperature)
        return flux_of_volume(pressure, v, n, behind / pressure)

    def rates(self, s, now, flow):
        """Rates of the state, and the power that came in and went out [W]."""
        m, T, v = s[0], s[1], self.volume / s[0]
        P, u, cv, heat_P = self._point(1.0 / v, T)
        by_v = heat_P - P  # (du/dv)_T
        dm = flow.inflow - flow.outflow
        came, out = flow.inflow * flow.enthalpy + flow.heat, flow.outflow * now.enthalpy
        if self.isothermal:
            return [dm, 0.0], (u - by_v * v) * dm + out, out
        given = self.wall.heat(s[2], T) if self.wall else 0.0
        cools = [-given / self.wall.capacity] if self.wall else []
        dT = (came + given - out - u * dm + by_v * v * dm) / (m * cv)
        return [dm, dT, *cools], came, out

    def energy(self, s):
        """Internal energy of the gas, and heat of its wall [J]."""
        wall = self.wall.capacity * s[2] if self.wall else 0.0
        return s[0] * self._point(s[0] / self.volume, s[1])[1] + wall

    def _short_of_dew(self, s):
        T, rho = self._dew
        if s[1] >= T[-1]:
            return 1.0
        i = min(max(bisect_right(T, s[1]), 1), len(T) - 1)
        part = (s[1] - T[i - 1]) / (T[i] - T[i - 1])
        return 1.0 - s[0] / self.volume / (rho[i - 1] + part * (rho[i] - rho[i - 1]))

    def ends(self):
        """What ends a run: the gas condenses, or leaves its equation of state."""
        e = self._engine
        return [
            ("it begins to condense", self._short_of_dew),
            ("as cold as its equation of state goes", lambda s: s[1] - 1.02 * e.Tmin),
            ("as hot as its equation of state goes", lambda s: 0.98 * e.Tmax - s[1]),
        ]
