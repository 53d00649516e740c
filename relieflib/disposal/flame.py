"""What burns at the tip, and the flame: its heat, its length, and where the wind puts it.

A flame is told by its axis: from the tip, x downwind and z upwards, to its end; and by the point on
it from which all its heat is taken to come. Three shapes: bent by the wind from equations, from
numbers read off a chart, and upright in still air.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from relieflib import tables
from relieflib.errors import (
    InputError,
    finite,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.units import ATMOSPHERE, GAS_CONSTANT, to_si

AIR = 28.96  # kg/kmol
LENGTH = "API 521, chart of flame length against heat released, as a straight line on its log axes"
BENT = "Brzustowski, Prog. Energy Combust. Sci. 2 (1976) 129; basis of API 521, annex C"
LENGTH_RANGE = (1e7, 1e10)  # W, decades of the chart, from memory
_BTU_H, _FT = to_si(1.0, "Btu/h", "power"), to_si(1.0, "ft", "length")
_FINE = 400  # places along the axis, to cut it into equal lengths


@dataclass(frozen=True)
class FlaredGas:
    """Gas that comes to the tip.

    mass_flow [kg/s], required load of ONE event; temperature in the tip [K]; molar_mass [kg/kmol];
    k, Z [-]; heating_value, net [J/kg]; lower_flammable_limit, mole fraction in air;
    radiated_fraction of its heat [-]. Arrays broadcast where a function says so.
    """

    mass_flow: float
    temperature: float
    molar_mass: float
    k: float
    heating_value: float
    lower_flammable_limit: float
    radiated_fraction: float
    Z: float = 1.0

    def __post_init__(self):
        W, T, M, _, q = positive(
            mass_flow=self.mass_flow, temperature=self.temperature, molar_mass=self.molar_mass,
            Z=self.Z, heating_value=self.heating_value)  # fmt: skip
        plausible(mass_flow=W, temperature=T, molar_mass=M)
        k = finite(k=self.k)
        refuse(k <= 1.0, "k", k, "must be above 1")
        for name in ("lower_flammable_limit", "radiated_fraction"):
            _share(name, getattr(self, name))
        warn_outside(q > 1.3e8, "heating_value", q, "0 to 130 MJ/kg, above hydrogen's: kJ/kg or "
                     "MJ/kmol taken for J/kg?", "our own bounds of plausibility")  # fmt: skip

    @property
    def heat_release(self):
        """Heat of the flame [W], all of the gas burnt."""
        return heat_release(self.mass_flow, self.heating_value)


def _share(name, value):
    array = positive(**{name: value})
    refuse(array >= 1.0, name, array, "is a fraction of 1: give 0.3 for 30 %")
    return array


def mixture(gases):
    """Molar mass, net heating value and lower flammable limit of a mixture of flare gases.

    Parameters: gases, {gas: mole fraction} with gases of `tables/flare_gases.csv`, adding up to
    1. Returns (kg/kmol, J/kg, mole fraction); NaN as the limit of what does not burn. Raises
    InputError for another gas, a negative fraction or another sum. Validity: gas heating values at
    25 °C; limits in air at 25 °C, by Le Chatelier's rule, roughly right with inerts below half.
    Source: the table's first line; Le Chatelier's mixing rule.
    >>> M, q, limit = mixture({"hydrogen": 0.5, "propane": 0.5})
    >>> round(M, 3), round(q / 1e6, 2), round(limit, 4)
    (23.056, 49.55, 0.0275)
    """
    known = {row[0]: row for row in tables.rows("flare_gases")[1]}
    checked_gases(gases, known)
    M = sum(y * float(known[gas][1]) for gas, y in gases.items())
    heat = sum(y * float(known[gas][1]) * float(known[gas][2]) for gas, y in gases.items())
    burns = sum(y / (float(known[gas][3]) / 100) for gas, y in gases.items() if known[gas][3])
    return M, 1e6 * heat / M, 1.0 / burns if burns else np.nan


def like(molar_mass):
    """A mixture of two flare gases with a molar mass, where no analysis is at hand.

    Parameters: molar_mass [kg/kmol], one number. Returns {gas: mole fraction}: hydrogen and propane
    up to propane's, propane and n-hexane above. Raises InputError below hydrogen's or above
    n-hexane's by more than 1 %. Validity: off-gases of hydrogen and paraffins, whose heat it meets
    within some 2 %; methane alone it overrates by 5 %. Anything else: give the analysis.
    Source: our own; molar masses add up.
    >>> [round(y, 3) for y in like(10.51).values()]
    [0.798, 0.202]
    """
    M = float(positive(molar_mass=molar_mass))
    refuse(np.isnan(M), "molar_mass", M, "must be a number")
    known = {row[0]: float(row[1]) for row in tables.rows("flare_gases")[1]}
    light, heavy = ("hydrogen", "propane") if known["propane"] >= M else ("propane", "n-hexane")
    refuse((known[light] > M) or (M > 1.01 * known[heavy]), "molar_mass", M,
           "is none of hydrogen and paraffins up to hexane: give the analysis")  # fmt: skip
    share = min((M - known[light]) / (known[heavy] - known[light]), 1.0)
    return {light: 1.0 - share, heavy: share}


def checked_gases(gases, known):
    """Refuse mole fractions of unknown gases, below 0 or that do not add up to 1.

    Parameters: gases, {gas: mole fraction}; known, names of gases. Returns None. Raises
    InputError. Source: none needed.
    """
    for gas, y in gases.items():
        if gas not in known:
            raise InputError(f"gas '{gas}': use one of {', '.join(known)}")
        not_negative(**{f"mole fraction of {gas}": y})
    total = sum(gases.values())
    refuse(not abs(total - 1.0) <= 1e-6, "mole fractions", total, "must add up to 1")


def heat_release(mass_flow, heating_value):
    """Heat of a flame that burns all of its gas.

    Parameters: mass_flow [kg/s]; heating_value, net [J/kg]; arrays broadcast. Returns W. Raises
    InputError for values not above 0. Source: heat balance.
    >>> heat_release(12.6, 50e6)
    630000000.0
    """
    W, q = positive(mass_flow=mass_flow, heating_value=heating_value)
    return result(W * q)


def flame_length(heat_release):
    """Length of the flame of a pipe tip.

    Parameters: heat_release [W], number or array. Returns m. Raises InputError for a value not
    above 0. Validity: hydrocarbons from a simple tip, 10 MW to 10 GW; beyond, ValidityWarning; two
    readers of the chart differ by 3 %. Source: 0.00604 Q^0.4776 (ft, Btu/h), from memory, a line
    through the chart of flame lengths of API 521, annex C.
    >>> round(flame_length(630e6), 1)
    52.7
    """
    Q, (low, high) = positive(heat_release=heat_release), LENGTH_RANGE
    warn_outside((Q < low) | (Q > high), "heat_release", Q, "the chart's 10 MW to 10 GW", LENGTH)
    return result(0.00604 * _FT * (Q / _BTU_H) ** 0.4776)


def exit_velocity(mass_flow, tip_diameter, temperature, molar_mass, Z=1.0, atmosphere=ATMOSPHERE):
    """Velocity of the gas in the tip, at the atmosphere's pressure.

    Parameters: mass_flow [kg/s]; tip_diameter [m]; temperature in the tip [K]; molar_mass
    [kg/kmol]; Z [-]; atmosphere [Pa]; arrays broadcast. Returns m/s. Raises InputError for values
    not above 0. Validity: not choked. Source: ideal gas; API 521, annex C.
    >>> round(exit_velocity(12.6, 0.46, 422.0, 46.1), 1)
    57.0
    """
    W, d, T, M, Z, P = positive(
        mass_flow=mass_flow, tip_diameter=tip_diameter, temperature=temperature,
        molar_mass=molar_mass, Z=Z, atmosphere=atmosphere,
    )  # fmt: skip
    return result(W * Z * GAS_CONSTANT * T / (M * P * np.pi / 4.0 * d**2))


@dataclass(frozen=True)
class Flame:
    """Axis of a flame from the tip to its end, and the point its heat is taken to come from.

    end_downwind, end_rise; center_downwind, center_rise: from the tip [m]; power, shape of the
    axis: rise ~ downwind^power, 1 a straight chord; source, words.
    """

    end_downwind: float
    end_rise: float
    center_downwind: float
    center_rise: float
    power: float = 1.0
    source: str = ""

    @property
    def chord(self):
        """Straight distance from the tip to the flame's end [m]."""
        return float(np.hypot(self.end_downwind, self.end_rise))

    def axis(self, count=_FINE):
        """Points (downwind, rise) [m] along the axis, tip first; for a picture."""
        s = np.linspace(0.0, 1.0, count)
        if self.power == 1.0:
            return self.end_downwind * s, self.end_rise * s
        s = s**3  # close together where the axis is steep
        return self.end_downwind * s, self.end_rise * s**self.power

    def points(self, count=1):
        """Middle points of `count` equal lengths of the axis; for 1, the flame's centre."""
        if count == 1:
            return np.array([self.center_downwind]), np.array([self.center_rise])
        return _cut(self, count)


@lru_cache(maxsize=64)
def _cut(flame, count):
    x, z = flame.axis()
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(z)))])
    middle = (np.arange(count) + 0.5) / count * along[-1]
    return np.interp(middle, along, x), np.interp(middle, along, z)


def upright(flame_length):
    """A flame in still air: straight up, its heat from half its length.

    Parameters: flame_length [m]. Returns `Flame`. Raises InputError for a value not above 0.
    Source: none needed.
    >>> upright(50.0).center_rise
    25.0
    """
    length = result(positive(flame_length=flame_length))
    return Flame(0.0, length, 0.0, length / 2.0, source="still air: upright")


def by_chart(flame_length, downwind_share, rise_share):
    """A flame bent by the wind, from two numbers read off a chart; its heat from half of each.

    Parameters: flame_length [m]; downwind_share, reach downwind over length; rise_share, rise over
    length [-]. Returns `Flame`. Raises InputError for a length not above 0 or a share outside 0 to
    1. Validity: the chart's. Source: API 521, annex C, chart of the distortion of a flame by wind;
    its curves are not copied here: read it and type what it says.
    >>> round(by_chart(52.0, 0.85, 0.35).center_downwind, 1)
    22.1
    """
    L = positive(flame_length=flame_length)
    x, z = not_negative(downwind_share=downwind_share, rise_share=rise_share)
    refuse(np.maximum(x, z) > 1.0, "share", np.maximum(x, z),
           "neither reach nor rise is longer than the flame")  # fmt: skip
    x, z = result(x * L), result(z * L)
    return Flame(x, z, x / 2.0, z / 2.0, source="API 521, annex C: chart values as typed")


def bent_shape(exit_velocity, wind_velocity, tip_diameter, molar_mass, temperature,
               lower_flammable_limit, air_temperature=288.15):  # fmt: skip
    """End and centre of a flame bent by the wind, from the tip, without a chart.

    Parameters: exit_velocity of the gas, wind_velocity [m/s]; tip_diameter [m]; molar_mass
    [kg/kmol]; temperature of the gas in the tip [K]; lower_flammable_limit [-]; air_temperature
    [K]; arrays broadcast. Returns (end downwind, end rise, centre downwind, centre rise) [m]; the
    centre stands at half the reach. Raises InputError for values not above 0: in still air nothing
    bends, take `upright`. Validity: a jet into a cross-wind; in the source the length jumps by 7 %
    where the concentration parameter passes 0.5, and so does this.
    Source: Brzustowski, Prog. Energy Combust. Sci. 2 (1976) 129, equations from memory; basis of
    API 521, annex C.
    >>> [round(float(x), 2) for x in bent_shape(57.584, 8.9408, 0.4572, 46.1, 422.2, 0.021, 288.9)]
    [25.42, 11.38, 12.71, 9.38]
    """
    u, w, d, M, T, T_a = positive(
        exit_velocity=exit_velocity, wind_velocity=wind_velocity, tip_diameter=tip_diameter,
        molar_mass=molar_mass, temperature=temperature, air_temperature=air_temperature,
    )  # fmt: skip
    C = _share("lower_flammable_limit", lower_flammable_limit) * u / w * M / AIR
    S = np.where(C <= 0.5, 2.04 * C**-1.03, 2.51 * C**-0.625)
    unit = d * u / w * np.sqrt(M / AIR * T_a / T)  # the jet's own length
    X = _reach(S)
    return tuple(result(unit * part) for part in (X, _rise(X), X / 2.0, _rise(X / 2.0)))


RISE_POWER = 0.28


def _rise(X):
    return 2.05 * X**RISE_POWER


def _reach(S):
    """Reach X of an axis of length S: S - 1.65, or 1.04 X^2 + 2.05 X^0.28 = S for a short one."""
    X = np.maximum(S - 1.65, 0.0)
    short = S <= 2.35
    if not np.any(short):
        return X
    low, high = np.zeros_like(S), np.where(short, S, 1.0)
    for _ in range(80):  # halving: the left side rises with X
        middle = 0.5 * (low + high)
        above = 1.04 * middle**2 + _rise(middle) > S
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.where(short, 0.5 * (low + high), X) + 0.0 * S  # NaN stays


def bent(gas, tip_diameter, wind_velocity, air_temperature=288.15, atmosphere=ATMOSPHERE):
    """Flame of a gas bent by the wind, from equations.

    Parameters: gas, `FlaredGas`; tip_diameter [m]; wind_velocity [m/s]; air_temperature [K];
    atmosphere [Pa]; one case. Returns `Flame`. Errors, validity and source as `bent_shape`.
    >>> gas = FlaredGas(12.6, 422.0, 46.1, 1.1, 50e6, 0.021, 0.3)
    >>> round(bent(gas, 0.46, 8.9).center_downwind, 1)
    12.8
    """
    u = exit_velocity(gas.mass_flow, tip_diameter, gas.temperature, gas.molar_mass, gas.Z,
                      atmosphere)  # fmt: skip
    shape = bent_shape(u, wind_velocity, tip_diameter, gas.molar_mass, gas.temperature,
                       gas.lower_flammable_limit, air_temperature)  # fmt: skip
    return Flame(*shape, power=RISE_POWER, source=BENT)
