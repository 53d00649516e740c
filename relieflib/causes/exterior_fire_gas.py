"""Exterior fire on a vessel without liquid: gas expands, and the dry wall loses its strength.

The printed equation asks how fast gas must leave to hold the pressure with the wall at a given
temperature. As the gas's relieving temperature T1 = Tn P1/Pn comes near that of the wall, the
equation runs to nothing; the standard's least factor, F' 0.01, then holds, up to a gas as hot as
the wall's limit, where it says nothing at all. `expose` integrates gas, wall and pressure against
time to show which comes first, the lift or the rupture. A valve doesn't protect a dry wall;
depressuring, insulation or water does.
"""

from dataclasses import dataclass, replace

import numpy as np

from relieflib.causes.shared import boiling
from relieflib.errors import (
    SHORTEST,
    InputError,
    check_points,
    finite,
    not_negative,
    one_number,
    positive,
    refuse,
    result,
)
from relieflib.kinds import PSI
from relieflib.nozzle.gas import Gas, coefficient_C, critical_ratio, mass_flux as gas_flux
from relieflib.sizing import ReliefLoad
from relieflib.tables import interpolate, numbers
from relieflib.units import ATMOSPHERE, GAS_CONSTANT, GRAVITY, ICE_POINT
from relieflib.working import Working, step

NOTEBOOK = 13
PUBLISHED = {}

SOURCE = "API 521 (2020), 4.4.13"
CAUSE = "exterior_fire_gas"
WALL_LIMIT = 593.0 + ICE_POINT  # K, 1100 °F, carbon steel
LEAST_FACTOR, USUAL_FACTOR = 0.01, 0.045  # of the printed area equation
NOZZLE_KD = 0.975  # of the valve that the printed area equation has in mind
_HOTTEST = 1473.0  # guard: K, end of the table of strength, where nothing is left
STEFAN_BOLTZMANN = 5.670_374e-8  # W/(m2 K4), CODATA 2018
_PSI_FT2_IN2 = np.sqrt(PSI) * 0.0254**2 / 0.3048**2  # F' in US units to SI


def relieving_temperature(normal_pressure, normal_temperature, relieving_pressure):
    """Temperature of shut-in gas when fire has brought it to relieving pressure.

    Parameters: normal_pressure, relieving_pressure [Pa absolute]; normal_temperature [K]; arrays
    broadcast. Returns K. Raises InputError for a value not above 0. Validity: ideal gas, constant
    volume. Source: API 521 (2020), 4.4.13 (5th edition, 5.15.2.2.2).
    >>> round(relieving_temperature(13.01325e5, 311.15, 20.37e5), 1)
    487.1
    """
    P, T, P1 = positive(normal_pressure=normal_pressure, normal_temperature=normal_temperature,
                        relieving_pressure=relieving_pressure)  # fmt: skip
    return result(T * P1 / P)


def _checked_wall(wall_temperature, temperature):
    T_w, T1 = positive(wall_temperature=wall_temperature, temperature=temperature)
    refuse(T1 >= T_w, "temperature", T1, "the gas must be cooler than the wall's limit: at "
           "relieving pressure the wall is past it, valve or no valve; use depressuring, "
           "insulation or water")  # fmt: skip
    return T_w, T1


def mass_flow(exposed_area, pressure, temperature, molar_mass, wall_temperature=WALL_LIMIT):
    """Flow that holds the pressure of gas heated by a hot wall.

    Parameters: exposed_area [m2]; pressure [Pa] and temperature [K] relieving; molar_mass
    [kg/kmol]; wall_temperature [K], 593 °C by default. Arrays broadcast. Returns kg/s. Raises
    InputError for a gas as hot as the wall: the equation then says nothing. Validity: derived
    with the properties of air, ideal gas, free convection, bare vessel, no heat held in the metal;
    without the least factor, which `relief_load` keeps.
    Source: API 521 (2020), 4.4.13 (5th edition, 5.15.2.2.2): 0.2772 sqrt(M P1) A'
    (Tw - T1)^1.25/T1^1.1506 in kg/h, kPa, m2, K.
    >>> round(mass_flow(50.0, 20.37e5, 487.1, 5.86) * 3600)
    2047
    """
    A, P, M = positive(exposed_area=exposed_area, pressure=pressure, molar_mass=molar_mass)
    T_w, T1 = _checked_wall(wall_temperature, temperature)
    hourly = 0.2772 * np.sqrt(M * P / 1000.0) * A * (T_w - T1) ** 1.25 / T1**1.1506
    return result(hourly / 3600.0)


def least_flow(exposed_area, stream):
    """Flow below which the load may not fall: that of the area with the least factor, F' 0.01.

    Parameters: exposed_area [m2]; stream, the `Gas` at relieving conditions. Arrays broadcast.
    Returns kg/s. Raises InputError for an area not above 0. Validity: a nozzle of Kd 0.975, choked.
    Source: API 521 (2020), 4.4.13 (5th edition, 5.15.2.2.2): F' 0.01 at least (from memory).
    >>> round(least_flow(50.0, Gas(20.37e5, 800.0, molar_mass=5.86, k=1.33)) * 3600)
    912
    """
    area = formula_area(exposed_area, stream.pressure, LEAST_FACTOR)
    return result(np.asarray(area) * NOZZLE_KD * stream.mass_flux(0.0))


def factor(k, temperature, wall_temperature=WALL_LIMIT, Kd=NOZZLE_KD):
    """Factor F' of the printed area equation, in US units.

    Parameters: k [-]; temperature, relieving, and wall_temperature [K]; Kd [-]. Arrays broadcast.
    Returns float or array, 0.01 at least; 0.045 is taken where too little is known
    (`USUAL_FACTOR`). Raises InputError as `mass_flow`. Source: API 521 (2020), 4.4.13 (5th
    edition, 5.15.2.2.2): 0.1406/(C Kd) (Tw - T1)^1.25/T1^0.6506 in degrees Rankine, C in US units.
    >>> round(factor(1.4, 487.1), 4)
    0.0172
    """
    T_w, T1 = _checked_wall(wall_temperature, temperature)
    C, Kd = np.asarray(coefficient_C(k, "US")), positive(Kd=Kd)
    ratio = (1.8 * (T_w - T1)) ** 1.25 / (1.8 * T1) ** 0.6506
    return result(np.maximum(0.1406 / (C * Kd) * ratio, LEAST_FACTOR))


def formula_area(exposed_area, pressure, gas_factor=USUAL_FACTOR):
    """Area of the printed equation, to hold against the area from the flow.

    Parameters: exposed_area [m2]; pressure, relieving [Pa]; gas_factor F' from `factor` [-].
    Arrays broadcast. Returns m2. Raises InputError for a value not above 0.
    Source: API 521 (2020), 4.4.13: A = F' A'/sqrt(P1) in in2, ft2, psia.
    >>> round(formula_area(50.0, 20.37e5, 0.0229) * 1e6)
    463
    """
    A, P, F = positive(exposed_area=exposed_area, pressure=pressure, gas_factor=gas_factor)
    return result(F * A / np.sqrt(P) * _PSI_FT2_IN2)


def relief_load(exposed_area, pressure, temperature, molar_mass, k, Z=1.0,
                wall_temperature=WALL_LIMIT, working=()):  # fmt: skip
    """Load of a gas-filled vessel in a fire.

    Parameters: exposed_area, pressure, temperature, molar_mass, wall_temperature as `mass_flow`;
    k, Z of the gas [-]; working, steps that led to the temperature. Arrays broadcast. Returns
    `ReliefLoad` of `Gas`: the larger of `mass_flow` and `least_flow`. Raises InputError, validity,
    source: as these two.
    >>> round(relief_load(50.0, 20.37e5, 487.1, 5.86, 1.33).mass_flow * 3600)
    2047
    """
    stream = Gas(pressure, temperature, molar_mass=molar_mass, k=k, Z=Z)
    by_wall = mass_flow(exposed_area, pressure, temperature, molar_mass, wall_temperature)
    least = least_flow(exposed_area, stream)
    flow = result(np.maximum(by_wall, least))
    lines = [
        step("wall_flow", by_wall,
             "0.2772/3600*sqrt(M*P1/1000)*A_e*(T_w - T1)**1.25/T1**1.1506", SOURCE,
             molar_mass=molar_mass, pressure=pressure, exposed_area=exposed_area,
             wall_temperature=wall_temperature, temperature=temperature),
        step("least_flow", least, "sqrt(PSI)/144*F_u*A_e/sqrt(P1)*Kd*G",
             SOURCE + ": F' 0.01 at least", gas_factor=LEAST_FACTOR, exposed_area=exposed_area,
             pressure=pressure, Kd=NOZZLE_KD, mass_flux=stream.mass_flux(0.0)),
        step("mass_flow", flow, "max(W_wall, W_least)", SOURCE, wall_flow=by_wall,
             least_flow=least),
    ]  # fmt: skip
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, *lines]), fire=True,
                      dry_wall=True)  # fmt: skip


def supercritical_load(fluid, pressure, heat_rate, start_temperature, end_temperature=WALL_LIMIT,
                       steps=30, working=()):  # fmt: skip
    """Load of a real gas or supercritical fluid that expands under a given heat flow.

    Parameters: fluid, pressure [Pa], heat_rate [W], start_temperature, end_temperature [K], steps
    and working as `boiling.expulsion_load`. Returns `ReliefLoad` of `RealFluid`. Raises
    InputError, source: as it does.
    >>> load = supercritical_load("Nitrogen", 20e5, 1e5, 450.0, 800.0)
    >>> round(load.mass_flow, 4), load.stream.temperature
    (0.2114, 450.0)
    """
    load = boiling.expulsion_load(CAUSE, fluid, pressure, heat_rate, start_temperature,
                                  end_temperature, steps, working)  # fmt: skip
    return replace(load, fire=True, dry_wall=True)


def wall_strength(wall_temperature, strength_20=485e6):
    """Strength of a carbon-steel wall at a temperature, by the EXAMPLE table.

    Parameters: wall_temperature [K]; strength_20, minimum tensile strength at 20 °C [Pa], 485 MPa
    by default (from memory, of a common plate steel). Arrays broadcast. Returns Pa. Raises
    InputError above 1200 °C. Validity: example data, not for design: take the steel's own curve.
    Source: table wall_strength, EN 1993-1-2:2005, table 3.1 (from memory).
    >>> round(wall_strength(873.15) / 1e6)
    228
    """
    T, S = positive(wall_temperature=wall_temperature, strength_20=strength_20)
    table = numbers("wall_strength")
    refuse(T > table[-1, 0] + ICE_POINT, "wall_temperature", T, "the table ends at 1200 °C")
    return result(S * interpolate(T - ICE_POINT, table[:, 0], table[:, 1]))


@dataclass(frozen=True)
class Fire:
    """What the fire gives to a dry wall, by radiation and convection.

    temperature of the flame [K], emissivity of the flame, absorptivity and wall_emissivity of
    the wall [-], convection [W/(m2 K)] with flame gas at the same temperature. The defaults give
    some 100 kW/m2 to a cold wall. Source: form of API 521 (2020), Annex A, equation A.1, and
    ranges of its table (from memory).
    """

    temperature: float = 1100.0 + ICE_POINT
    emissivity: float = 0.6
    absorptivity: float = 0.75
    wall_emissivity: float = 0.75
    convection: float = 20.0

    def __post_init__(self):
        positive(temperature=self.temperature)
        for name in ("emissivity", "absorptivity", "wall_emissivity", "convection"):
            not_negative(**{name: getattr(self, name)})

    def flux(self, wall_temperature):
        """Heat flux [W/m2] into a wall at a temperature [K]."""
        T = wall_temperature
        radiation = (self.absorptivity * self.emissivity * self.temperature**4
                     - self.wall_emissivity * T**4)  # fmt: skip
        return STEFAN_BOLTZMANN * radiation + self.convection * (self.temperature - T)


@dataclass(frozen=True)
class FreeConvection:
    """Heat transfer from the wall to the gas inside: turbulent free convection.

    conductivity [W/(m K)], viscosity [Pa s], prandtl [-] of the gas at a mean film temperature;
    multiple of the correlation [-], to try more or less than it says. Validity: no radiation:
    hydrogen and nitrogen take up none, hydrocarbons, steam and CO2 some, which adds to it.
    Source: Nu = 0.13 (Gr Pr)^(1/3), density at the film temperature, McAdams, turbulent, upright
    walls and horizontal cylinders alike (from memory).
    """

    conductivity: float
    viscosity: float
    prandtl: float = 0.7
    multiple: float = 1.0

    def coefficient(self, wall_temperature, temperature, density):
        """Coefficient [W/(m2 K)] from wall and gas temperature [K] and gas density [kg/m3]."""
        film = 0.5 * (wall_temperature + temperature)
        rise = np.maximum(wall_temperature - temperature, 0.0) / film
        thin = density * temperature / film
        cube = GRAVITY * rise * thin**2 * self.prandtl / self.viscosity**2
        return 0.13 * self.multiple * self.conductivity * cube ** (1.0 / 3.0)


@dataclass(frozen=True)
class FireCase:
    """A gas-filled vessel in a fire: what `expose` integrates.

    volume [m3], exposed_area [m2], diameter and wall_thickness [m], pressure [Pa] and temperature
    [K] at the start, molar_mass [kg/kmol], k [-]; valve: set_pressure and full_pressure, at which
    it is open [Pa absolute], valve_area, Kd times area [m2], 0 without a valve; inside, a
    `FreeConvection` or a coefficient [W/(m2 K)]; `Fire`; wall_density, wall_heat_capacity,
    strength_20. Raises InputError for a value not above 0 or full pressure not above set. Validity:
    ideal gas of constant k, one wall and one gas temperature, lift straight from set to full
    pressure.
    """

    volume: float
    exposed_area: float
    diameter: float
    wall_thickness: float
    pressure: float
    temperature: float
    molar_mass: float
    k: float
    set_pressure: float
    full_pressure: float
    valve_area: float
    inside: object
    fire: Fire = Fire()
    wall_density: float = 7850.0
    wall_heat_capacity: float = 480.0
    strength_20: float = 485e6
    atmosphere: float = ATMOSPHERE

    def __post_init__(self):
        rest = {"valve_area", "inside", "fire"}
        values = {n: v for n, v in vars(self).items() if n not in rest}
        one_number(**values, valve_area=self.valve_area)
        positive(**values)
        if not isinstance(self.inside, FreeConvection):
            positive(coefficient=one_number(coefficient=self.inside))
        critical_ratio(self.k)
        not_negative(valve_area=self.valve_area)
        if not self.full_pressure > self.set_pressure > self.atmosphere:
            raise InputError("full_pressure must be above set_pressure, and that above atmosphere")

    @property
    def gas_constant(self):
        """Gas constant of the gas [J/(kg K)]."""
        return GAS_CONSTANT / self.molar_mass

    @property
    def cv(self):
        """Heat capacity of the gas at constant volume [J/(kg K)]."""
        return self.gas_constant / (self.k - 1.0)

    @property
    def mass(self):
        """Mass of gas at the start [kg]."""
        return self.pressure * self.volume / (self.gas_constant * self.temperature)

    @property
    def wall_capacity(self):
        """Heat capacity of the wall in the fire [J/K]."""
        return self.exposed_area * self.wall_thickness * self.wall_density * self.wall_heat_capacity

    def stress(self, pressure):
        """Hoop stress of the shell at a pressure [Pa absolute]: p D/(2 t) [Pa]."""
        return (pressure - self.atmosphere) * self.diameter / (2.0 * self.wall_thickness)

    def valve_flow(self, pressure, temperature):
        """Flow through the valve [kg/s], choked to the atmosphere."""
        lift = (pressure - self.set_pressure) / (self.full_pressure - self.set_pressure)
        if lift <= 0 or self.valve_area == 0:
            return 0.0
        back = min(self.atmosphere, pressure)
        flux = gas_flux(
            pressure, temperature, molar_mass=self.molar_mass, k=self.k, back_pressure=back
        )
        return min(lift, 1.0) * self.valve_area * flux

    def coefficient(self, wall_temperature, temperature, density):
        """Coefficient from the wall to the gas [W/(m2 K)]."""
        if isinstance(self.inside, FreeConvection):
            return self.inside.coefficient(wall_temperature, temperature, density)
        return self.inside

    def inside_heat(self, wall_temperature, temperature, density):
        """Heat flow from the wall into the gas [W]."""
        h = self.coefficient(wall_temperature, temperature, density)
        return h * self.exposed_area * (wall_temperature - temperature)


@dataclass(frozen=True)
class Exposure:
    """Result of `expose`, arrays over time [s]; SI.

    rupture_time and lift_time [s], NaN where there is none; fire_heat, vented_heat up to each
    time [J]; balance, what energy is not accounted for, as a fraction of the heat of the fire.
    """

    time: np.ndarray
    pressure: np.ndarray
    temperature: np.ndarray
    wall_temperature: np.ndarray
    mass: np.ndarray
    mass_flow: np.ndarray
    stress: np.ndarray
    strength: np.ndarray
    fire_heat: np.ndarray
    vented_heat: np.ndarray
    balance: float
    rupture_time: float
    lift_time: float


def expose(case, time=3600.0, steps=200):
    """Gas, wall and pressure of a gas-filled vessel in a fire, against time.

    Parameters: case, a `FireCase`; time, how long [s]; steps, points in the result. Returns
    `Exposure`; it ends where the wall gives way. Raises InputError for a time not above 0, or a
    failed integration. Validity: as `FireCase`. Source: energy and mass balance of wall and gas;
    strength by `wall_strength`; thin-shell hoop stress.
    >>> case = FireCase(20.0, 50.0, 2.0, 0.014, 13e5, 311.0, 5.86, 1.338, 17e5, 20.37e5, 4e-4,
    ...                 FreeConvection(0.25, 1.7e-5, 0.44))
    >>> run = expose(case)
    >>> bool(run.lift_time < run.rupture_time), abs(run.balance) < 1e-6
    (True, True)
    """
    from scipy.integrate import solve_ivp

    end = one_number(time=time)
    refuse(end < SHORTEST, "time", end, f"must be {SHORTEST} s or more")
    check_points(steps)
    R, V, cv, wall = case.gas_constant, case.volume, case.cv, case.wall_capacity

    def rates(_, state):
        m, T, T_w = state[:3]
        W = case.valve_flow(m * R * T / V, T)
        into_wall = case.fire.flux(T_w) * case.exposed_area
        into_gas = case.inside_heat(T_w, T, m / V)
        return [-W, (into_gas - W * R * T) / (m * cv), (into_wall - into_gas) / wall, into_wall,
                W * case.k * cv * T]  # fmt: skip

    def gives_way(_, state):
        m, T, T_w = state[:3]
        return wall_strength(min(T_w, _HOTTEST), case.strength_20) - case.stress(m * R * T / V)

    def lifts(_, state):
        return state[0] * R * state[1] / V - case.set_pressure

    gives_way.terminal = True
    start = [case.mass, case.temperature, case.temperature, 0.0, 0.0]
    scale = [
        case.mass,
        case.temperature,
        case.temperature,
        *[case.mass * cv * case.temperature] * 2,
    ]
    found = solve_ivp(rates, (0.0, end), start, method="LSODA", rtol=1e-8,
                      atol=1e-9 * np.array(scale), events=(gives_way, lifts),
                      dense_output=True)  # fmt: skip
    if not found.success:
        raise InputError(f"case: the integration failed: {found.message}")
    return _exposure(case, found, steps)


def _exposure(case, found, steps):
    t = np.linspace(0.0, found.t[-1], steps)
    m, T, T_w, heat, vented = found.sol(t)
    P = m * case.gas_constant * T / case.volume
    held = (case.cv * (m[-1] * T[-1] - case.mass * case.temperature)
            + case.wall_capacity * (T_w[-1] - case.temperature))  # fmt: skip
    first = [float(e[0]) if len(e) else np.nan for e in found.t_events]
    return Exposure(
        t, P, T, T_w, m, np.array([case.valve_flow(*x) for x in zip(P, T)]), case.stress(P),
        wall_strength(finite(wall_temperature=np.minimum(T_w, _HOTTEST)), case.strength_20), heat,
        vented, float((heat[-1] - held - vented[-1]) / heat[-1]), *first,
    )  # fmt: skip
