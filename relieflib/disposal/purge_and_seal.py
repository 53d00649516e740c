"""What keeps air out of a flare and its header: purge gas, seals at the tip, a liquid seal.

Air comes in at the tip where too little flows, and is sucked in where a hot header cools and its
gas shrinks. A liquid seal holds it back, and its depth stands against every valve at all times.
"""

from dataclasses import dataclass

import numpy as np

from relieflib import rules, tables
from relieflib.disposal.flame import checked_gases
from relieflib.disposal.stack import item_of
from relieflib.errors import (
    InputError,
    not_negative,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.lines.outlet import seal_pressure
from relieflib.set_pressure import cold_differential
from relieflib.texts import with_unit
from relieflib.units import ATMOSPHERE, GAS_CONSTANT, GRAVITY, to_si

HUSA = "API 521, purge text after Husa: 190.8 D^3.46 ln(20.9/O2)/y sum(C^0.65 K), Nm3/h and m"
HYDROSTATICS = "hydrostatics"
AIR_OXYGEN = 0.209
SEALS = {"none": None, "velocity": rules.PURGE_VELOCITY_SEAL, "labyrinth": rules.PURGE_LABYRINTH}
NO_ANSWER = ("no answer: a purge gas as heavy as air or heavier lets air sink in whatever flows; "
             "purge with a lighter gas or nitrogen, or fit a seal at the tip")  # fmt: skip


# ---- purge


def buoyancy(gases):
    """Sum of C^0.65 K over the gases of a purge, Husa's measure of how much lighter than air it is.

    Parameters: gases, {gas: mole fraction} with gases of `tables/purge_gases.csv`, adding up to
    1. Returns float [-], below 0 for a heavy gas. Raises InputError for another gas or sum. Source:
    API 521, purge text after Husa; coefficients from memory.
    >>> buoyancy({"methane": 1.0})
    2.328
    """
    known = {row[0]: row for row in tables.rows("purge_gases")[1]}
    checked_gases(gases, known)
    return sum(y**0.65 * float(known[gas][2]) for gas, y in gases.items())


def purge_flow(tip_diameter, gases, oxygen_fraction=rules.PURGE_OXYGEN.value,
               purge_depth=rules.PURGE_DEPTH.value):  # fmt: skip
    """Purge gas that an open stack asks for, so that air does not come down it.

    Parameters: tip_diameter [m]; gases as `buoyancy`; oxygen_fraction allowed at purge_depth
    below the tip [-] [m]; arrays broadcast. Returns kmol/s; NaN, with a ValidityWarning, where the
    equation has no answer: a gas as heavy as air or heavier. Raises InputError for values not above
    0 or oxygen not below that of air. Validity: open pipe without a seal, no gas that condenses,
    6 % oxygen suits hydrocarbons (hydrogen burns with less: ask for less); wind counts only in
    nitrogen's own row. Source: API 521, purge text after Husa; constant from memory, it gives the
    short form 31.25 D^3.46 K.
    >>> q = purge_flow(0.6096, {"methane": 1.0})
    >>> round(q / to_si(1.0, "Nm3/h", "standard volume flow"), 2)
    13.12
    """
    d, O2, y = positive(
        tip_diameter=tip_diameter, oxygen_fraction=oxygen_fraction, purge_depth=purge_depth
    )
    refuse(O2 >= AIR_OXYGEN, "oxygen_fraction", O2, "must be below that of air, 0.209")
    light = buoyancy(gases)
    warn_outside(light <= 0, "buoyancy", light, "above 0: a gas lighter than air", HUSA)
    light = light if light > 0 else np.nan
    normal = 190.8 * d**3.46 / y * np.log(AIR_OXYGEN / O2) * light
    return result(normal * to_si(1.0, "Nm3/h", "standard volume flow"))


def sweep_flow(tip_diameter, purge_velocity, temperature=288.15, atmosphere=ATMOSPHERE):
    """Purge gas that moves up a bore with a velocity.

    Parameters: tip_diameter [m]; purge_velocity [m/s]; temperature [K]; atmosphere [Pa]; arrays
    broadcast. Returns kmol/s. Raises InputError for values not above 0. Source: ideal gas.
    >>> round(sweep_flow(0.6096, 0.012) * 8314.46 * 288.15 / 101325 * 3600, 2)
    12.61
    """
    d, u, T, P = positive(tip_diameter=tip_diameter, purge_velocity=purge_velocity,
                          temperature=temperature, atmosphere=atmosphere)  # fmt: skip
    return result(np.pi / 4.0 * d**2 * u * P / (GAS_CONSTANT * T))


@dataclass(frozen=True)
class Purge:
    """Purge of a tip: flow [kmol/s] and velocity in its bore at 15 °C [m/s], NaN without an answer;
    answered, False then; says, where the number comes from, or why there is none.
    """

    flow: float
    velocity: float
    answered: bool
    says: str


def purge(tip_diameter, gases, seal="none", oxygen_fraction=rules.PURGE_OXYGEN.value,
          purge_depth=rules.PURGE_DEPTH.value, atmosphere=ATMOSPHERE):  # fmt: skip
    """Purge that a tip asks for, with or without a seal in it, or why there is no answer.

    Parameters: as `purge_flow`; seal 'none', 'velocity' or 'labyrinth'; atmosphere [Pa]; one case.
    Returns `Purge`. Raises InputError as `purge_flow`, or for another seal. Validity: the seals'
    usual velocities, their makers' rule; a labyrinth turns the gas over and needs its drain open.
    Source: API 521, purge text (`rules.PURGE_VELOCITY_SEAL`, `rules.PURGE_LABYRINTH`).
    >>> purge(0.254, {"propane": 1.0}).answered, purge(0.254, {"propane": 1.0}, "velocity").answered
    (False, True)
    """
    if seal not in SEALS:
        raise InputError(f"seal '{seal}': use one of {', '.join(SEALS)}")
    one = sweep_flow(tip_diameter, 1.0, atmosphere=atmosphere)
    if seal != "none":
        u = SEALS[seal].value
        buoyancy(gases)  # the gases must be known
        return Purge(u * one, u, True, str(SEALS[seal]))
    if buoyancy(gases) <= 0:
        return Purge(np.nan, np.nan, False, NO_ANSWER)
    flow = purge_flow(tip_diameter, gases, oxygen_fraction, purge_depth)
    return Purge(flow, flow / one, True, HUSA)


# ---- a hot header that cools


def cooled_pressure(pressure, start_temperature, end_temperature, condensing_fraction=0.0):
    """Pressure of a closed header once its gas has cooled.

    Parameters: pressure at the start [Pa]; start_temperature, end_temperature [K];
    condensing_fraction, moles that turn liquid [-]; arrays broadcast. Returns Pa. Raises InputError
    for values not above 0, a warmer end, or a fraction outside 0 to below 1. Validity: ideal gas,
    nothing flows in; where vapour over its liquid is left, `tank_breathing.sealed_pressure`.
    Source: ideal gas.
    >>> round(cooled_pressure(101325.0, 423.15, 293.15))
    70196
    """
    P, T0, T1 = positive(
        pressure=pressure, start_temperature=start_temperature, end_temperature=end_temperature
    )
    y = not_negative(condensing_fraction=condensing_fraction)
    refuse(y >= 1.0, "condensing_fraction", y, "must be below 1")
    refuse(T1 > T0, "end_temperature", T1, "is warmer than the start")
    return result(P * (1.0 - y) * T1 / T0)


def makeup_flow(volume, pressure, temperature, cooling_rate):
    """Gas to let in so that a cooling header keeps its pressure, nothing condensing.

    Parameters: volume [m3]; pressure [Pa]; temperature of the gas [K], now; cooling_rate, how fast
    it falls [K/s]; arrays broadcast. Returns kmol/s. Raises InputError for values not above 0, a
    negative rate. Validity: the gas let in is as warm as what is there: colder gas, more of it.
    Source: ideal gas: n = P V/(R T), so dn/dt = P V/(R T^2) dT/dt.
    >>> round(makeup_flow(20.0, 101325.0, 423.15, 0.1) * 3600 * 22.414, 1)
    11.0
    """
    V, P, T = positive(volume=volume, pressure=pressure, temperature=temperature)
    return result(P * V / (GAS_CONSTANT * T**2) * not_negative(cooling_rate=cooling_rate))


# ---- liquid seal


@dataclass(frozen=True)
class Seal:
    """A liquid seal: seal_depth of liquid over the end of the dip leg [m]; seal_density [kg/m3];
    seal_inlet_diameter of the leg [m]; leg_length above the liquid [m].
    """

    seal_depth: float
    seal_density: float
    seal_inlet_diameter: float
    leg_length: float = rules.SEAL_LEG.value

    def __post_init__(self):
        positive(**vars(self))

    @property
    def pressure(self):
        """Pressure that opens it, above that behind it [Pa]."""
        return self.seal_depth * self.seal_density * GRAVITY

    @property
    def holds(self):
        """Vacuum before it that it still holds, as the leg fills [Pa below the atmosphere]."""
        return self.leg_length * self.seal_density * GRAVITY

    @property
    def leg_volume(self):
        """Liquid that a vacuum draws into the leg, which the drum must be able to give [m3]."""
        return float(np.pi / 4.0 * self.seal_inlet_diameter**2 * self.leg_length)

    @property
    def drum_diameter(self):
        """Least inside diameter of a vertical drum around the leg [m]."""
        return seal_drum_diameter(self.seal_inlet_diameter)


def of_plant(plant, header="FH"):
    """The liquid seal of a plant's flare header.

    Parameters: plant; header, its tag. Returns `Seal`. Raises InputError where the header has no
    stack in the file, or that no depth, density or inlet. Source: the plant's file.
    """
    item = item_of(plant, header, "seal_depth", "seal_density", "seal_inlet_diameter")
    leg = getattr(item, "leg_length", rules.SEAL_LEG.value)
    return Seal(item.seal_depth, item.seal_density, item.seal_inlet_diameter, leg)


def depth_for(pressure_drop, seal_density):
    """Depth of liquid that opens at a pressure difference.

    Parameters: pressure_drop [Pa]; seal_density [kg/m3]; arrays broadcast. Returns m. Raises
    InputError for values not above 0. Source: hydrostatics; API 521 prints 102 p/rho, kPa.
    >>> round(depth_for(14e3, 1000.0), 4)
    1.4276
    """
    p, rho = positive(pressure_drop=pressure_drop, seal_density=seal_density)
    return result(p / (rho * GRAVITY))


def seal_drum_diameter(seal_inlet_diameter):
    """Least inside diameter of a vertical seal drum: room around the leg for the gas to come up.

    Parameters: seal_inlet_diameter, of the leg [m], number or array. Returns m. Raises InputError
    for a value not above 0. Source: API 521, liquid seals (`rules.SEAL_AREA`): 3 inlet areas free
    around the leg, its wall not counted.
    >>> seal_drum_diameter(0.5)
    1.0
    """
    d = positive(seal_inlet_diameter=seal_inlet_diameter)
    return result(d * np.sqrt(1.0 + rules.SEAL_AREA.value))


def leg_rise(header_pressure, seal_density, atmosphere=ATMOSPHERE):
    """Height to which a header below the atmosphere's pressure lifts the liquid in the dip leg.

    Parameters: header_pressure [Pa]; seal_density [kg/m3]; atmosphere [Pa]; arrays broadcast.
    Returns m, 0 where there is no vacuum; beyond the leg's length the liquid is gone into the
    header and air follows. Raises InputError for values not above 0. Source: hydrostatics.
    >>> round(leg_rise(80e3, 1000.0, 101325.0), 2)
    2.17
    """
    P, rho, out = positive(
        header_pressure=header_pressure, seal_density=seal_density, atmosphere=atmosphere
    )
    return result(np.maximum(out - P, 0.0) / (rho * GRAVITY))


HOLDS, SUCKED = "the seal holds", "air is sucked in through the seal"


def vacuum_verdict(header_pressure, seal, atmosphere=ATMOSPHERE):
    """Does the liquid seal hold a header that has cooled, in words.

    Parameters: header_pressure [Pa]; seal, `Seal`; atmosphere [Pa]; one case. Returns str; what the
    header's own pipes bear of a vacuum is another question. Raises InputError as `leg_rise`, for
    NaN too. Source: hydrostatics.
    """
    rise = float(np.asarray(leg_rise(header_pressure, seal.seal_density, atmosphere)))
    refuse(np.isnan(rise), "header_pressure", rise, "must be a number")
    return HOLDS if rise <= seal.leg_length else SUCKED


@dataclass(frozen=True)
class SealOnValve:
    """What the seal does to one valve.

    tag, device; seal_gauge, pressure of the seal [Pa gauge], there from the first moment; fraction
    of set; opens_gauge, where the valve opens if its spring was set without it; test_gauge, test
    pressure on the bench that takes it into account; over_mawp, True where the first is above what
    the code allows of this equipment's first valve; says, in words.
    """

    tag: str
    kind: str
    set_gauge: float
    seal_gauge: float
    fraction: float
    opens_gauge: float
    test_gauge: float
    over_mawp: bool
    says: str


def on_valves(plant, header="FH"):
    """What the liquid seal of a header does to every relief valve behind it.

    Parameters: plant; header, its tag. Returns a list of `SealOnValve`, in the file's order. Raises
    InputError as `of_plant`, or where the seal alone reaches a set pressure. Validity: the seal's
    own pressure; that of purge and of others that lift stands on top of it. Source: hydrostatics;
    API 521, constant superimposed back pressure; `set_pressure.cold_differential`.
    """
    seal = of_plant(plant, header)
    behind = [v for v in plant.of("relief_valves") if v.destination == header]
    return [_on_valve(plant, valve, seal) for valve in behind]


def _on_valve(plant, valve, seal):
    p = plant.gauge(seal_pressure(plant.atmosphere, seal.seal_depth, seal.seal_density))
    test = cold_differential(valve.set_pressure_gauge, p, valve.kind)
    opens = 2.0 * valve.set_pressure_gauge - test  # what the spring lacks comes on top
    limit = rules.FIRST_SET.value * plant.mawp_gauge(valve.protects)
    over = bool(opens > limit * (1 + 1e-9))
    says = f"{valve.kind}: back pressure does not move where it opens"
    if opens > valve.set_pressure_gauge:
        says = (f"conventional: opens at {with_unit(opens / 1e5, 'barg')} unless its spring is "
                f"tested at {with_unit(test / 1e5, 'barg')}")  # fmt: skip
        says += ", above MAWP" if over else ""
    return SealOnValve(valve.tag, valve.kind, valve.set_pressure_gauge, p,
                       p / valve.set_pressure_gauge, opens, test, over, says)  # fmt: skip
