"""The flare stack: how fast the gas leaves its tip, how loud, and how hot it is on the ground.

A tip too narrow, or a stack too low, is a verdict, not an error. `of_plant` reads a plant's own.
"""

from dataclasses import dataclass, field as kept

import numpy as np

from relieflib import rules
from relieflib.disposal import flame as flames, plant_tree, radiation as heat
from relieflib.errors import (
    InputError,
    check_points,
    finite,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.lines import pipe_flow, reaction
from relieflib.lines.line import OVER, flag_where, verdict_of
from relieflib.lines.line_fluids import Adiabatic
from relieflib.units import ATMOSPHERE, GAS_CONSTANT
from relieflib.working import Working, step

TIP = "API 521, diameter of a flare tip: 3.23e-5 with kg/h, kPa, m; k counts"
GEOMETRY = "API 521, annex C, geometry"
LINE_POINTS = 50  # sources along the flame, to hold the single point against
NOISE_FROM = reaction.NOISE_RATIOS[0]
_TAKEN = 293.15, ATMOSPHERE  # 40 CFR 60.18(f): volumes at 20 °C and 1 atm


# ---- the tip


def tip_mach(mass_flow, tip_diameter, temperature, molar_mass, k, Z=1.0, atmosphere=ATMOSPHERE):
    """Mach number in a flare tip at the atmosphere's pressure.

    Parameters: mass_flow [kg/s]; tip_diameter [m]; temperature of the gas [K]; molar_mass
    [kg/kmol]; k, Z [-]; atmosphere [Pa]; arrays broadcast. Returns float or array [-], above 1
    where the tip chokes instead. Raises InputError for values not above 0, k not above 1. Validity:
    with the temperature of the gas at rest it is a little high (1.3 % at 0.5 and k 1.2), the safe
    side. Source: API 521, diameter of a flare tip; unlike its equation of a header, this has k.
    >>> round(tip_mach(12.6, 0.456744, 422.0, 46.1, 1.1, atmosphere=101.3e3), 3)
    0.2
    """
    d, k = positive(tip_diameter=tip_diameter), _checked_k(k)
    flux = result(positive(mass_flow=mass_flow) / (np.pi / 4.0 * d**2))
    return pipe_flow.mach_number(flux, atmosphere, temperature, molar_mass, Z, k)


def _checked_k(k):
    k = finite(k=k)
    refuse(k <= 1.0, "k", k, "must be above 1")
    return k


def diameter_for(mass_flow, mach, temperature, molar_mass, k, Z=1.0, atmosphere=ATMOSPHERE):
    """Tip diameter at which the gas leaves with a Mach number; undoes `tip_mach`.

    Parameters: as `tip_mach`, with mach, above 0 up to 1. Returns m. Raises InputError outside.
    Source: as `tip_mach`.
    >>> round(diameter_for(12.6, 0.2, 422.0, 46.1, 1.1), 2)
    0.46
    """
    Ma = positive(mach=mach)
    refuse(Ma > 1.0, "mach", Ma, "a plain tip chokes at 1")
    one = tip_mach(mass_flow, 1.0, temperature, molar_mass, k, Z, atmosphere)
    return result(np.sqrt(one / Ma))


def tip_pressure(mass_flow, tip_diameter, temperature, molar_mass, k, Z=1.0, atmosphere=ATMOSPHERE):
    """Pressure at rest just below the tip, where the march of the header begins.

    Parameters: as `tip_mach`, with the temperature at rest. Returns Pa; at Mach 0.5 some 16 % above
    the atmosphere, choked as much as the flow asks for. Raises InputError as `tip_mach`. Validity:
    a plain open pipe, ideal gas, no loss in the tip itself; seals and flame rings come on top, by
    their makers. Source: isentropic flow, any text on gas dynamics.
    >>> P = tip_pressure(12.6, 0.28, 422.0, 46.1, 1.2)
    >>> round(P / 101325, 3)
    1.161
    """
    W, d, T, M, Z, P = positive(
        mass_flow=mass_flow, tip_diameter=tip_diameter, temperature=temperature,
        molar_mass=molar_mass, Z=Z, atmosphere=atmosphere,
    )  # fmt: skip
    k, G = _checked_k(k), W / (np.pi / 4.0 * d**2)
    a = 0.5 * (k - 1.0)
    q = (G / P) ** 2 * Z * GAS_CONSTANT * T / (k * M)
    square = np.minimum((np.sqrt(1.0 + 4.0 * a * q) - 1.0) / (2.0 * a), 1.0)
    # choked: the static pressure rises until the flow passes at Mach 1
    static = np.maximum(P, P * np.sqrt(q / (1.0 + a)))
    return result(static * (1.0 + a * square) ** (k / (k - 1.0)))


CALM = "slow enough for frequent and smokeless burning"
RARE = "for rare and short releases"
FAST = "faster than the trade takes a plain tip: the flame may lift off and go out"
SONIC = "chokes: a sonic tip, a design of its own, and the flame equations do not hold"


def velocity_class(mach, mach_limit=rules.TIP_PEAK.value):
    """What a Mach number at the tip is good for, in words.

    Parameters: mach, mach_limit of the largest release [-], one number each. Returns str. Raises
    InputError for values not above 0 or NaN. Validity: very slow gas is no good either: it burns
    back into the tip and the wind licks the flame down its side; no number of a code for that.
    Source: API 521 (`rules.TIP_NORMAL`, `rules.TIP_PEAK`).
    >>> velocity_class(0.35)
    'for rare and short releases'
    """
    Ma, limit = (float(v) for v in positive(mach=mach, mach_limit=mach_limit))
    refuse(np.isnan(Ma) or np.isnan(limit), "mach", Ma, "must be a number")
    if Ma >= 1.0:
        return SONIC
    if Ma > limit * (1 + 1e-9):
        return FAST
    return CALM if rules.TIP_NORMAL.value >= Ma else RARE


def largest_velocity(heating_value, molar_mass, assist="none"):
    """Highest velocity that US rule 40 CFR 60.18 allows at a flare tip.

    Parameters: heating_value, net [J/kg]; molar_mass [kg/kmol]; assist 'none', 'steam' or 'air';
    arrays broadcast. Returns m/s, for the volume flow at 20 °C and 1 atm (`standard_velocity`); 0
    for a gas too poor to be flared. Raises InputError for values not above 0 or another assist.
    Validity: US rule for continuous and frequent flaring, not for emergencies; its way for rich
    hydrogen (c)(3)(i) is left out. Source: 40 CFR 60.18(c)(3) to (5), (f): 18.3 and 122 m/s, 37.3
    MJ/m3; log10 w = (HT + 28.8)/31.7; air: w = 8.706 + 0.7084 HT; from 7.45, assisted 11.2 MJ/m3.
    >>> round(largest_velocity(37.3e6 * 24.0547 / 46.1, 46.1, "air"), 2)
    35.13
    """
    q, M = positive(heating_value=heating_value, molar_mass=molar_mass)
    if assist not in ("none", "steam", "air"):
        raise InputError(f"assist '{assist}': use one of none, steam, air")
    T, P = _TAKEN
    HT = q * M * P / (GAS_CONSTANT * T) / 1e6  # MJ/m3
    slow, fast = rules.TIP_SLOW.value, rules.TIP_FAST.value
    if assist == "air":
        w = np.minimum(8.706 + 0.7084 * HT, fast)
    else:
        rich = np.minimum((HT + 28.8) / 31.7, np.log10(fast))
        w = np.maximum(10.0**rich, slow)
    return result(np.where(HT < (7.45 if assist == "none" else 11.2), 0.0, w))


def standard_velocity(mass_flow, tip_diameter, molar_mass):
    """Velocity at the tip as 40 CFR 60.18 counts it: volume at 20 °C and 1 atm.

    Parameters: mass_flow [kg/s]; tip_diameter [m]; molar_mass [kg/kmol]; arrays broadcast. Returns
    m/s. Raises InputError for values not above 0. Source: 40 CFR 60.18(f)(4).
    >>> round(standard_velocity(1.0, 0.5, 44.1), 2)
    2.78
    """
    T, P = _TAKEN
    return flames.exit_velocity(mass_flow, tip_diameter, T, molar_mass, atmosphere=P)


# ---- noise


def flame_sound_level(heat_release, acoustic_efficiency, distance):
    """Sound pressure level of a flame's roar at a distance.

    Parameters: heat_release [W]; acoustic_efficiency, sound over heat [-]; distance [m]; arrays
    broadcast. Returns dB. Raises InputError for values not above 0. Validity: an order of magnitude
    only: the efficiency is about 1e-8 for a calm flame and up to 1e-6 for a rough one, ten times
    more where steam or a combustion resonance drives it (from memory, texts on combustion noise);
    outside 1e-9 to 1e-5 ValidityWarning. Spreads as a sphere; no ground, no wind.
    Source: acoustics: Lp = 10 log10(eta Q/(4 pi r^2)/1e-12 W/m2).
    >>> round(flame_sound_level(630e6, 1e-7, 100.0))
    87
    """
    Q, eta, r = positive(
        heat_release=heat_release, acoustic_efficiency=acoustic_efficiency, distance=distance
    )
    warn_outside((eta < 1e-9) | (eta > 1e-5), "acoustic_efficiency", eta, "1e-9 to 1e-5",
                 "our own bounds")  # fmt: skip
    return result(10.0 * np.log10(eta * Q / (4.0 * np.pi * r**2) / 1e-12))


def tip_sound_level(gas, tip_pressure, distance=reaction.NOISE_DISTANCE, atmosphere=ATMOSPHERE):
    """Sound pressure level of the jet from a tip; NaN where the noise figure has no answer.

    Parameters: gas, `FlaredGas`; tip_pressure, at rest below the tip [Pa]; distance [m]; atmosphere
    [Pa]; one case. Returns dB, NaN below a pressure ratio of 1.5, where a plain tip nearly always
    is: the roar of the flame rules there (`flame_sound_level`). Source, errors and
    validity: as `lines.reaction.sound_level`.
    """
    ratio = float(positive(tip_pressure=tip_pressure) / positive(atmosphere=atmosphere))
    if not ratio >= NOISE_FROM:
        return np.nan
    return reaction.sound_level(gas.mass_flow, ratio, gas.k, gas.temperature, gas.molar_mass,
                                distance)  # fmt: skip


# ---- the whole


@dataclass(frozen=True)
class Stack:
    """A flare stack and its site.

    tip_diameter, stack_height of the tip above grade [m]; wind_velocity of the design [m/s];
    mach_limit [-]; radiation_limit anywhere at grade [W/m2], from flame and sun; relative_humidity
    [-], None: the air takes nothing up; solar_flux [W/m2], 0 where it is agreed not to count;
    air_temperature [K]; atmosphere [Pa].
    """

    tip_diameter: float
    stack_height: float
    wind_velocity: float
    mach_limit: float = rules.TIP_PEAK.value
    radiation_limit: float = rules.RADIATION_SHORT.value
    relative_humidity: float | None = None
    solar_flux: float = 0.0
    air_temperature: float = 288.15
    atmosphere: float = ATMOSPHERE

    def __post_init__(self):
        positive(
            tip_diameter=self.tip_diameter, stack_height=self.stack_height,
            wind_velocity=self.wind_velocity, radiation_limit=self.radiation_limit,
            air_temperature=self.air_temperature, atmosphere=self.atmosphere,
        )  # fmt: skip
        limit = positive(mach_limit=self.mach_limit)
        refuse(limit > 1.0, "mach_limit", limit, "a plain tip chokes at 1")


def of_plant(plant, header="FH"):
    """The flare stack of a plant's file, with its site's air and sun.

    Parameters: plant; header, its tag. Returns `Stack`; limits that the file leaves out are the
    usual ones, a humidity that it leaves out takes nothing up. Raises InputError where the header
    has no stack in the file, or that no wind. Source: the plant's file.
    """
    item, site = item_of(plant, header, "wind_velocity"), plant.site
    optional = ("mach_limit", "radiation_limit", "relative_humidity")
    given = {name: getattr(item, name) for name in optional if hasattr(item, name)}
    return Stack(item.tip_diameter, item.height, item.wind_velocity, **given,
                 solar_flux=site.solar_flux, air_temperature=site.ambient_temperature,
                 atmosphere=plant.atmosphere)  # fmt: skip


def item_of(plant, header, *names):
    """The stack of a header in a plant's file, which must give these keys.

    Parameters: plant; header, its tag; names of keys. Returns the item. Raises InputError for what
    is missing. Source: the plant's file.
    """
    item = plant_tree.stack_of(plant, header)
    if item is None:
        raise InputError(f"header {header}: the plant's file gives it no stack")
    missing = [name for name in names if not hasattr(item, name)]
    if missing:
        raise InputError(f"{item.tag}: {', '.join(missing)} is missing")
    return item


def at_tip(mass_flow, fluid, radiated_fraction=rules.RADIATED.value):
    """What comes to the tip from a header, as the gas of a flame.

    Parameters: mass_flow [kg/s]; fluid there, `Adiabatic` as `header.Network.fluid` gives it, at
    rest; radiated_fraction [-]. Returns `FlaredGas`, with heating value and flammable limit of a
    gas `flame.like` it. Raises InputError for another fluid: what still holds liquid has no answer
    here, the drum must take it out first. Validity: hydrogen and paraffins.
    Source: `flame.like`.
    """
    if not isinstance(fluid, Adiabatic):
        raise InputError("what comes to the tip holds liquid or is none: no answer here; liquid "
                         "must stay in the knock-out drum")  # fmt: skip
    _, q, limit = flames.mixture(flames.like(fluid.molar_mass))
    return flames.FlaredGas(mass_flow, fluid.temperature, fluid.molar_mass, fluid.k, q, limit,
                            radiated_fraction, fluid.Z)  # fmt: skip


@dataclass(frozen=True)
class StackCheck:
    """What a stack does with one release.

    mach, with its class in words and verdict; tip_pressure at rest below the tip [Pa];
    exit_velocity [m/s]; flame; radiation, highest at grade, sun included [W/m2],
    and worst_downwind where it is met [m]; radiation_verdict; needed_height [m] that keeps the
    limit everywhere at grade; kept_free [m], radius to be kept clear of people as it stands.
    """

    gas: flames.FlaredGas = kept(repr=False)
    stack: Stack = kept(repr=False)
    mach: float
    velocity_class: str
    mach_verdict: str
    tip_pressure: float
    exit_velocity: float
    flame: flames.Flame = kept(repr=False)
    radiation: float
    worst_downwind: float
    radiation_verdict: str
    needed_height: float
    kept_free: float
    flags: tuple
    working: Working = kept(repr=False)

    @property
    def verdict(self):
        """The worse of the two verdicts, tip and radiation."""
        both = (self.mach_verdict, self.radiation_verdict)
        return OVER if OVER in both else both[0]


def check(gas, stack, flame=None):
    """Is the tip wide enough and the stack high enough for a release.

    Parameters: gas, `FlaredGas`, one case: the required loads of ONE event together; stack,
    `Stack`; flame, `Flame` read off a chart, None: bent by the design wind from equations. Returns
    `StackCheck`. The highest radiation is the larger of that of one point and of a line of 50.
    Raises InputError for anything else or for arrays. Validity: as `flame.bent_shape` and
    `radiation.radiation`; a burning liquid and a choked tip are outside. Source: API 521, annex C.
    >>> gas = flames.FlaredGas(12.6, 422.0, 46.1, 1.1, 50e6, 0.021, 0.3)
    >>> found = check(gas, Stack(0.46, 33.7, 8.9), flames.by_chart(52.0, 0.85, 0.35))
    >>> found.mach_verdict, found.radiation_verdict
    ('within limit', 'over limit')
    """
    _checked(gas, stack, flame)
    d, atmosphere = stack.tip_diameter, stack.atmosphere
    state = (gas.temperature, gas.molar_mass, gas.k, gas.Z, atmosphere)
    mach = tip_mach(gas.mass_flow, d, *state)
    if flame is None:
        flame = flames.bent(gas, d, stack.wind_velocity, stack.air_temperature, atmosphere)
    K, worst = _worst(gas, stack, flame, stack.stack_height)
    D = heat.radiation_distance(stack.radiation_limit, gas.heat_release, gas.radiated_fraction,
                                stack.relative_humidity, stack.solar_flux)  # fmt: skip
    return StackCheck(
        gas, stack, mach, velocity_class(mach, stack.mach_limit),
        verdict_of(mach, stack.mach_limit), tip_pressure(gas.mass_flow, d, *state),
        flames.exit_velocity(gas.mass_flow, d, gas.temperature, gas.molar_mass, gas.Z, atmosphere),
        flame, K, worst, verdict_of(K, stack.radiation_limit), _height(gas, stack, flame, D),
        _radius(gas, stack, flame, K, worst, D), tuple(_flags(stack, flame, mach, K, D)),
        _steps(gas, stack, flame, mach, D),
    )  # fmt: skip


def _checked(gas, stack, flame):
    for name, value, kind in (("gas", gas, flames.FlaredGas), ("stack", stack, Stack)):
        if not isinstance(value, kind):
            raise InputError(f"{name} = {value!r}: must be a {kind.__name__}")
        arrays = [key for key, v in vars(value).items() if v is not None and np.ndim(v)]
        if arrays:
            raise InputError(f"{arrays[0]}: one case at a time, no array")
        unknown = [key for key, v in vars(value).items() if v is not None and np.isnan(v)]
        if unknown:
            raise InputError(f"{unknown[0]} = nan: must be a number")
    if flame is not None and not isinstance(flame, flames.Flame):
        raise InputError(f"flame = {flame!r}: must be a Flame")


def _felt(gas, stack, height, points):
    """Arguments of the radiation of this release at grade, but for the flame."""
    return dict(heat_release=gas.heat_release, radiated_fraction=gas.radiated_fraction,
                stack_height=height, points=points, relative_humidity=stack.relative_humidity,
                solar_flux=stack.solar_flux)  # fmt: skip


def _worst(gas, stack, flame, height):
    """Highest radiation at grade and where, the larger of one point and a line of them."""
    return max(heat.worst_at_grade(flame, **_felt(gas, stack, height, points))
               for points in (1, LINE_POINTS))  # fmt: skip


_CLOSE = 1e-5  # m, and added on the safe side


def _height(gas, stack, flame, D):
    """Least height with the limit kept everywhere at grade; D, from the flame, is enough."""
    from scipy.optimize import brentq

    def too_much(height):
        return _worst(gas, stack, flame, height)[0] - stack.radiation_limit

    low = 1e-3 * D
    if too_much(low) <= 0.0:
        return 0.0
    return float(brentq(too_much, low, 1.001 * D, xtol=_CLOSE) + 2.0 * _CLOSE)


def _radius(gas, stack, flame, K, worst, D):
    """Distance from the foot beyond which the limit is kept, whatever the wind's direction."""
    from scipy.optimize import brentq

    if stack.radiation_limit >= K:
        return 0.0

    def too_much(x):
        return felt(gas, stack, flame, x) - stack.radiation_limit

    far = max(worst, flame.end_downwind, flame.center_downwind) + 1.001 * D
    return float(brentq(too_much, worst, far, xtol=_CLOSE) + 2.0 * _CLOSE)


def felt(gas, stack, flame, downwind, crosswind=0.0, receiver_elevation=0.0):
    """Heat flux of flame and sun at places, the larger of one point and a line of 50.

    Parameters: gas, `FlaredGas`; stack, `Stack`; flame, `Flame`; downwind, crosswind,
    receiver_elevation [m], arrays broadcast. Returns W/m2. Source, errors and validity: as
    `radiation.field`.
    """
    more = dict(downwind=downwind, crosswind=crosswind, receiver_elevation=receiver_elevation)
    both = [heat.field(flame, **_felt(gas, stack, stack.stack_height, points), **more)
            for points in (1, LINE_POINTS)]  # fmt: skip
    return result(np.maximum(*both))


def rings(gas, stack, flame, radiation, count=37):
    """Lines on the ground on which a heat flux is just met, for a map.

    Parameters: gas, stack, flame as `felt`; radiation, 1-D [W/m2]; count of points of half a line.
    Returns (downwind, crosswind), arrays of one row for each heat flux [m], NaN where it is met
    nowhere. Source, errors and validity: as `felt`.
    """
    check_points(count)
    K, middle = _worst(gas, stack, flame, stack.stack_height)
    level = positive(radiation=radiation)[:, None]
    turn = np.linspace(0.0, np.pi, count)[None, :]  # the other half is its mirror
    far = np.sqrt(gas.heat_release / np.maximum(level - stack.solar_flux, 1.0)) + middle
    low, high = np.zeros(level.shape) * turn, far + 0.0 * turn
    for _ in range(16):
        r = 0.5 * (low + high)
        inside = felt(gas, stack, flame, middle + r * np.cos(turn), r * np.sin(turn)) > level
        low, high = np.where(inside, r, low), np.where(inside, high, r)
    r = np.where(level < K, high, np.nan)
    x, y = middle + r * np.cos(turn), r * np.sin(turn)
    return np.hstack([x, x[:, ::-1]]), np.hstack([y, -y[:, ::-1]])


def _flags(stack, flame, mach, K, D):
    near = stack.stack_height + flame.center_rise < heat.NEAR * flame.chord
    away = D < heat.AIR_RANGE[0] or D > heat.AIR_RANGE[1]
    humid = stack.relative_humidity is not None
    return [
        *flag_where(mach > stack.mach_limit, f"tip at Mach {mach:.2f}: "
                    + velocity_class(mach, stack.mach_limit)),
        *flag_where(K > stack.radiation_limit, "more heat at grade than allowed: raise the stack "
                    "or keep people out; level met there: " + heat.permitted(K)),
        *flag_where(near, "grade is nearer than 1.5 flame lengths: one point and a line of them "
                    "differ by up to 10 %; the larger is taken"),
        *flag_where(humid and away, "the limit lies outside the 30 m to 150 m for which the air's "
                    "share was measured"),
        *flag_where(flame.source == flames.BENT, "flame from equations: the chart of the standard "
                    "lays the same flame farther over; type its values where the edge matters"),
        "liquid that reaches the tip burns and rains down: outside all this; see the drum",
    ]  # fmt: skip


def _steps(gas, stack, flame, mach, D):
    Q, F, K_lim = gas.heat_release, gas.radiated_fraction, stack.radiation_limit
    down = stack.stack_height + flame.center_rise
    tau = 1.0
    if stack.relative_humidity is not None:
        tau = float(np.minimum(0.79 * (30.5 / (stack.relative_humidity * down)) ** 0.0625, 1.0))
    absorbed = step("transmissivity", tau, source="the air takes nothing up")
    if stack.relative_humidity is not None:
        absorbed = step("transmissivity", tau, "min(0.79*(30.5/(x_RH*D_u))**0.0625, 1)",
                        heat.AIR_ABSORBS, relative_humidity=stack.relative_humidity,
                        under_flame=down)  # fmt: skip
    K = heat.radiation(Q, F, down, stack.relative_humidity)
    return Working([
        step("mach", mach, "W/(Patm*pi/4*d_tip**2)*sqrt(Z*R*T1/(k*M))", TIP,
             mass_flow=gas.mass_flow, atmosphere=stack.atmosphere, tip_diameter=stack.tip_diameter,
             Z=gas.Z, gas_constant=GAS_CONSTANT, temperature=gas.temperature, k=gas.k,
             molar_mass=gas.molar_mass),
        step("heat_release", Q, "W*h_fuel", "heat balance", mass_flow=gas.mass_flow,
             heating_value=gas.heating_value),
        step("center_downwind", flame.center_downwind, source=flame.source),
        step("center_rise", flame.center_rise, source=flame.source),
        step("under_flame", down, "H_st + z_c", GEOMETRY, stack_height=stack.stack_height,
             center_rise=flame.center_rise),
        absorbed,
        step("radiation", K, "tau*F_rad*Q_f/(4*pi*D_u**2)", heat.POINT,
             transmissivity=tau, radiated_fraction=F, heat_release=Q, under_flame=down),
        step("radiation_distance", D, source=f"where flame and sun make {K_lim / 1e3:.3g} kW/m2"),
        step("needed_height", heat.needed_height(D, flame.center_downwind, flame.center_rise),
             "max(D_r - z_c, 0)", GEOMETRY + ", one point", radiation_distance=D,
             center_rise=flame.center_rise),
    ])  # fmt: skip
