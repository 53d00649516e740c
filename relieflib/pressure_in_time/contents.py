"""What a vessel holds: ideal gas, gas over rising liquid, a liquid without any gas.

Each is a balance of mass and energy of an open vessel: `start` gives the first state, `look` its
pressure and what would leave, `rates` its change. Volumes are rigid but for a liquid-full vessel,
whose wall gives. A wall may store heat (`Wall`), which keeps a blow-down from getting as cold as
the gas alone would.
"""

from collections import namedtuple
from dataclasses import KW_ONLY, dataclass
from functools import cached_property
from math import exp, sqrt

from relieflib.errors import InputError, finite, not_negative, positive, refuse
from relieflib.nozzle.gas import critical_ratio, flux_of_volume
from relieflib.units import GAS_CONSTANT

# of the vessel: pressure, temperature, mass, part of its volume that is liquid; and of what would
# leave: specific volume, enthalpy
Now = namedtuple("Now", "pressure temperature mass liquid volume enthalpy")
Flow = namedtuple("Flow", "inflow enthalpy liquid_inflow heat outflow")
FULL = 1.0 - 1e-9  # guard: of the volume, where a vessel counts as full of liquid


def numbers(thing, *names):
    """Refuse fields of a thing that are not one number each, above 0.

    Parameters: thing, a dataclass; names of its fields. Returns None. Raises InputError. Source:
    as `errors.positive`.
    """
    for name in names:
        value = getattr(thing, name)
        if value != value:
            raise InputError(f"{name}: is NaN; a run in time needs a number")
        positive(**{name: value})


@dataclass(frozen=True)
class Wall:
    """Steel that gives its heat to the gas: surface [m2], mass [kg], heat_capacity [J/(kg K)].

    coefficient [W/(m2 K)] between wall and gas, constant; one temperature, which begins at the
    gas's. Raises InputError for a value not above 0. Source: heat balance; 480 J/(kg K) of carbon
    steel: handbook value, from memory.
    """

    surface: float
    mass: float
    coefficient: float
    heat_capacity: float = 480.0

    def __post_init__(self):
        numbers(self, "surface", "mass", "coefficient", "heat_capacity")

    def heat(self, wall_temperature, temperature):
        """Heat flow into the gas [W]."""
        return self.coefficient * self.surface * (wall_temperature - temperature)

    @property
    def capacity(self):
        """Heat capacity of all of it [J/K]."""
        return self.mass * self.heat_capacity


@dataclass(frozen=True)
class IdealGas:
    """A vessel full of gas: volume [m3], pressure [Pa] and temperature [K] at the start.

    molar_mass [kg/kmol], k [-], Z held [-]; isothermal True where the wall holds the temperature
    (the slowest bound of a pressure rise, the warmest of a blow-down); wall, a `Wall` or None.
    Raises InputError for a value not above 0, or a wall beside isothermal. Validity: constant k and
    Z; uniform. Source: balances of mass and energy; nozzle of API 520-I (2020), 5.6.
    >>> gas = IdealGas(12.0, 10e5, 393.15, molar_mass=10.51, k=1.245)
    >>> round(gas.mass, 3)
    38.583
    """

    volume: float
    pressure: float
    temperature: float
    _: KW_ONLY
    molar_mass: float
    k: float
    Z: float = 1.0
    isothermal: bool = False
    wall: Wall | None = None
    phase = "gas"

    def __post_init__(self):
        numbers(self, "volume", "pressure", "temperature", "molar_mass", "k", "Z")
        critical_ratio(self.k)
        if self.isothermal and self.wall is not None:
            raise InputError("wall: isothermal means that it holds the temperature; give one")

    @cached_property
    def R(self):
        """Z R/M [J/(kg K)]."""
        return self.Z * GAS_CONSTANT / self.molar_mass

    @cached_property
    def cv(self):
        """Heat capacity at constant volume [J/(kg K)]."""
        return self.R / (self.k - 1.0)

    @property
    def mass(self):
        """Mass at the start [kg]."""
        return self.pressure * self.volume / (self.R * self.temperature)

    @property
    def start(self):
        """First state: mass, temperature, and that of the wall."""
        return [self.mass, self.temperature, *[self.temperature] * (self.wall is not None)]

    def look(self, s):
        """What the vessel is like in a state, a `Now`."""
        m, T = s[0], s[1]
        P = m * self.R * T / self.volume
        return Now(P, T, m, 0.0, self.volume / m, self.k * self.cv * T)

    def rise_rate(self, inflow, temperature=None, heat_rate=0.0):
        """Rate of pressure rise [Pa/s] with nothing leaving: inflow [kg/s] at a temperature [K].

        The vessel's own temperature where not given; heat_rate [W]. The first moment of a run.
        """
        now = self.look(self.start)
        T = self.temperature if temperature is None else temperature
        flow = Flow(inflow, self.k * self.cv * T, 0.0, heat_rate, 0.0)
        dm, dT, *_ = self.rates(self.start, now, flow)[0]
        return now.pressure * (dm / now.mass + dT / now.temperature)

    def enthalpy_of(self, source):
        """Enthalpy of what a source brings [J/kg]; None: as the vessel's own."""
        T = source.temperature
        return None if T is None else self.k * self.cv * T

    def flux(self, now, pressure, behind):
        """Mass flux of an ideal nozzle [kg/(m2 s)] with a pressure at its inlet."""
        if pressure <= behind or now.volume <= 0.0:  # guard: a trial step beyond empty
            return 0.0
        v = now.volume * now.pressure / pressure
        return flux_of_volume(pressure, v, self.k, behind / pressure)

    def rates(self, s, now, flow):
        """Rates of the state, and the power that came in and went out [W]."""
        m, T, cv = s[0], s[1], self.cv
        dm = flow.inflow - flow.outflow
        out = flow.outflow * now.enthalpy
        came = flow.inflow * flow.enthalpy + flow.heat
        if self.isothermal:
            return [dm, 0.0], cv * T * dm + out, out
        given = self.wall.heat(s[2], T) if self.wall else 0.0
        cools = [-given / self.wall.capacity] if self.wall else []
        dT = (came + given - out - cv * T * dm) / (m * cv)
        return [dm, dT, *cools], came, out

    def energy(self, s):
        """Energy of the contents and of their wall [J]."""
        wall = self.wall.capacity * s[2] if self.wall else 0.0
        return s[0] * self.cv * s[1] + wall

    def ends(self):
        """What ends a run, as (words, function of the state that falls to 0)."""
        lowest = 0.02 * self.temperature  # guard: an ideal gas without end
        return [("as cold as an ideal gas gets", lambda s: s[1] - lowest)]


@dataclass(frozen=True)
class GasOverLiquid:
    """Gas above a liquid that rises and pushes it out: as `IdealGas`, and liquid_volume [m3].

    Raises InputError for more liquid than volume. Validity: as `IdealGas`; nothing evaporates,
    condenses or dissolves; the liquid does not yield. The run ends where the vessel is full:
    liquid is then at the valve, see `LiquidFull`. Source: balances; equal volumes.
    """

    volume: float
    pressure: float
    temperature: float
    liquid_volume: float
    _: KW_ONLY
    molar_mass: float
    k: float
    Z: float = 1.0
    isothermal: bool = False
    phase = "gas over liquid"

    def __post_init__(self):
        not_negative(liquid_volume=self.liquid_volume)
        refuse(self.liquid_volume >= self.volume, "liquid_volume", self.liquid_volume,
               "must leave room for gas")  # fmt: skip
        _ = self.gas

    @cached_property
    def gas(self):
        """The gas at the start, an `IdealGas` in what room there is."""
        return IdealGas(self.volume - self.liquid_volume, self.pressure, self.temperature,
                        molar_mass=self.molar_mass, k=self.k, Z=self.Z)  # fmt: skip

    @property
    def start(self):
        """First state: mass and temperature of the gas, volume of the liquid."""
        return [*self.gas.start, self.liquid_volume]

    def look(self, s):
        """What the vessel is like in a state, a `Now`; mass that of the gas."""
        m, T, gas = s[0], s[1], self.gas
        room = max(self.volume - s[2], 1e-12 * self.volume)  # guard: a trial step beyond full
        return Now(m * gas.R * T / room, T, m, s[2] / self.volume, room / m, gas.k * gas.cv * T)

    def enthalpy_of(self, source):
        """As `IdealGas.enthalpy_of`."""
        return self.gas.enthalpy_of(source)

    def flux(self, now, pressure, behind):
        """As `IdealGas.flux`."""
        return self.gas.flux(now, pressure, behind)

    def rates(self, s, now, flow):
        """Rates of the state, and the power that came in and went out [W]."""
        dm, cv = flow.inflow - flow.outflow, self.gas.cv
        out = flow.outflow * now.enthalpy
        came = flow.inflow * flow.enthalpy + flow.heat + now.pressure * flow.liquid_inflow
        if self.isothermal:
            return [dm, 0.0, flow.liquid_inflow], cv * s[1] * dm + out, out
        dT = (came - out - cv * s[1] * dm) / (s[0] * cv)
        return [dm, dT, flow.liquid_inflow], came, out

    def energy(self, s):
        """Energy of the gas [J]."""
        return s[0] * self.gas.cv * s[1]

    def ends(self):
        """What ends a run: full of liquid."""
        return [("full of liquid", lambda s: FULL * self.volume - s[2])]


@dataclass(frozen=True)
class LiquidFull:
    """A vessel or pipe full of liquid, whose wall gives: volume [m3], pressure, temperature.

    density, expansion_coefficient, liquid_heat_capacity, compressibility (isothermal) at the start;
    wall_compliance [1/Pa] from `hydraulic_expansion.wall_compliance`, 0 for a rigid wall;
    linear_expansion of a wall that warms with the liquid [1/K], 0 for one that does not;
    fluxes, (pressures, mass fluxes at the start temperature), for a liquid that flashes in the
    valve. Raises InputError for a value not above 0. Validity: constant expansion and
    compressibility, the heat capacity follows from them as thermodynamics asks; what comes in is as
    warm as the vessel; no gas at all: the smallest pocket takes the first shock. The stiffness is
    1/(kappa_S + wall), kappa_S = kappa_T - T alpha^2/(rho cp), NOT kappa_T, wherever heat goes with
    cp. Source: balances; v = v0 exp(alpha dT - kappa dP).
    >>> water = LiquidFull(1.0, 10e5, 293.15, density=998.6, expansion_coefficient=2.081e-4,
    ...                    liquid_heat_capacity=4182.0, compressibility=4.5785e-10)
    >>> round(water.adiabatic_compressibility / water.compressibility, 4)
    0.9934
    """

    volume: float
    pressure: float
    temperature: float
    _: KW_ONLY
    density: float
    expansion_coefficient: float
    liquid_heat_capacity: float
    compressibility: float
    wall_compliance: float = 0.0
    linear_expansion: float = 0.0
    fluxes: tuple | None = None
    phase = "liquid"

    def __post_init__(self):
        numbers(self, "volume", "pressure", "temperature", "density", "liquid_heat_capacity",
                "compressibility")  # fmt: skip
        finite(expansion_coefficient=self.expansion_coefficient)
        not_negative(wall_compliance=self.wall_compliance, linear_expansion=self.linear_expansion)
        refuse(self.adiabatic_compressibility <= 0, "compressibility", self.compressibility,
               "is too small beside expansion and heat capacity: no such liquid")  # fmt: skip

    @classmethod
    def of_fluid(cls, fluid, volume, pressure, temperature, back_pressure=None, **wall):
        """The liquid of a fluid that CoolProp knows; back_pressure where it flashes in the valve.

        wall: wall_compliance, linear_expansion. Raises InputError for what is no liquid there.
        """
        from relieflib.properties import State

        state = State(fluid, pressure, temperature=temperature)
        if not state.is_liquid:
            raise InputError(f"fluid '{fluid}': {state.phase} at this pressure and temperature, "
                             "not liquid: a boiling vessel?")  # fmt: skip
        fluxes = None if back_pressure is None else _flashing(fluid, pressure, temperature,
                                                              back_pressure)  # fmt: skip
        return cls(volume, pressure, temperature, density=state.density,
                   expansion_coefficient=state.expansion_coefficient,
                   liquid_heat_capacity=state.heat_capacity,
                   compressibility=state.compressibility, fluxes=fluxes, **wall)  # fmt: skip

    @property
    def adiabatic_compressibility(self):
        """kappa_S at the start [1/Pa]."""
        return self._kappa_S(self.temperature, 1.0 / self.density, self.liquid_heat_capacity)

    def _kappa_S(self, T, v, cp):
        return self.compressibility - self.expansion_coefficient**2 * T * v / cp

    @property
    def start(self):
        """First state: pressure, temperature, and mass."""
        return [self.pressure, self.temperature, self.density * self.volume]

    def _point(self, P, T):
        """Specific volume, heat capacity and enthalpy of the liquid."""
        a, b, v0 = self.expansion_coefficient, self.compressibility, 1.0 / self.density
        warm = v0 * exp(a * (T - self.temperature))
        v = warm * exp(-b * (P - self.pressure))
        squeezed = (warm - v) / b
        cp = self.liquid_heat_capacity - a * a * T * squeezed
        h = self.liquid_heat_capacity * (T - self.temperature) + (1.0 - a * T) * squeezed
        return v, cp, h + self.pressure * v0

    def room(self, P, T):
        """Volume of the vessel [m3] with its wall stretched and warm."""
        give = self.wall_compliance * (P - self.pressure)
        return self.volume * exp(give + 3.0 * self.linear_expansion * (T - self.temperature))

    def look(self, s):
        """What the vessel is like in a state, a `Now`."""
        v, _, h = self._point(s[0], s[1])
        return Now(s[0], s[1], self.room(s[0], s[1]) / v, 1.0, v, h)

    def rise_rate(self, heat_rate, liquid_inflow=0.0):
        """Rate of pressure rise [Pa/s] with nothing leaving: heat [W], liquid in [m3/s].

        The first moment of a run.
        """
        flow = Flow(0.0, 0.0, liquid_inflow, heat_rate, 0.0)
        return self.rates(self.start, self.look(self.start), flow)[0][0]

    def enthalpy_of(self, source):
        """What comes in is as warm as the vessel: None."""
        return None

    def flux(self, now, pressure, behind):
        """Mass flux of an ideal nozzle [kg/(m2 s)] with a pressure at its inlet."""
        if pressure <= behind:
            return 0.0
        if self.fluxes is not None:
            from bisect import bisect_right

            Ps, Gs = self.fluxes
            i = min(max(bisect_right(Ps, pressure), 1), len(Ps) - 1)
            return Gs[i - 1] + (Gs[i] - Gs[i - 1]) * (pressure - Ps[i - 1]) / (Ps[i] - Ps[i - 1])
        return sqrt(2.0 * (pressure - behind) / now.volume)

    def rates(self, s, now, flow):
        """Rates of the state, and the power that came in and went out [W]."""
        P, T = s[0], s[1]
        v, cp, h = self._point(P, T)
        V, a, a_w = now.mass * v, self.expansion_coefficient, 3.0 * self.linear_expansion
        W_in = flow.inflow + flow.liquid_inflow / v
        net = (W_in - flow.outflow) * v / V
        give = self.compressibility + self.wall_compliance - (a - a_w) * a * T * v / cp
        dP = ((a - a_w) * flow.heat * v / (V * cp) + net) / give
        dT = flow.heat / (now.mass * cp) + a * T * v / cp * dP
        growth = V * (self.wall_compliance * dP + a_w * dT)
        return [dP, dT, W_in - flow.outflow], W_in * h + flow.heat, flow.outflow * h + P * growth

    def energy(self, s):
        """Internal energy of the liquid [J]."""
        now = self.look(s)
        return now.mass * (now.enthalpy - s[0] * now.volume)

    def ends(self):
        """What ends a run: a liquid that has lost all its pressure."""
        return [("no pressure left", lambda s: s[0] - 1e3)]  # guard: below, no liquid holds


def _flashing(fluid, pressure, temperature, back_pressure):
    """Pressures and mass fluxes of a liquid of one temperature that flashes in the valve."""
    import numpy as np

    from relieflib.nozzle.real_fluid import RealFluid
    from relieflib.properties import saturation_pressure

    low = max(saturation_pressure(fluid, temperature), back_pressure) * 1.001  # guard: liquid
    P = np.geomspace(low, max(4.0 * pressure, 4.0 * low), 30)
    return tuple(P), tuple(RealFluid(fluid, P, temperature=temperature).mass_flux(back_pressure))
