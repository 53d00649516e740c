"""Heat of a flame where people stand: how much, how far, how high the stack must be, for how long.

The heat is taken to leave one point of the flame, evenly in all directions; a line of points shows
how good that is. Measured from the FLAME, which the wind bends: the most is met under the flame,
not at the foot of the stack. On a surface that faces the flame. The sun adds to it.
"""

import numpy as np

from relieflib import rules, tables
from relieflib.errors import (
    MOST_POINTS,
    InputError,
    finite,
    not_negative,
    one_number,
    positive,
    refuse,
    result,
    warn_outside,
)

POINT = "API 521, annex C: K = tau F Q/(4 pi D^2), after Hajek and Ludwig"
AIR_ABSORBS = "API 521, annex C: tau = 0.79 (100/r)^(1/16) (30.5/D)^(1/16), r in per cent"
AIR_RANGE = (30.0, 150.0)  # m
DRIEST = 10.0 / 100.0  # relative humidity
NEAR = 1.5  # flame lengths, nearer than which one point misjudges


def _share(name, value):
    array = positive(**{name: value})
    refuse(array > 1.0, name, array, "is a fraction of 1: give 0.5 for 50 %")
    return array


def transmissivity(relative_humidity, distance):
    """Part of a flame's radiation that humid air lets through.

    Parameters: relative_humidity, 0.1 to 1 [-]; distance [m]; arrays broadcast. Returns float or
    array, at most 1. Raises InputError for values not above 0, or a humidity above 1. Validity:
    luminous hydrocarbon flames; 30 m to 150 m and 10 % or more: beyond, ValidityWarning.
    Source: API 521, annex C.
    >>> round(transmissivity(0.5, 48.9), 3)
    0.801
    """
    r, D, (low, high) = *_air(relative_humidity, distance), AIR_RANGE
    warn_outside((D < low) | (D > high), "distance", D, "30 m to 150 m", AIR_ABSORBS)
    warn_outside(r < DRIEST, "relative_humidity", r, "0.1 to 1", AIR_ABSORBS)
    return result(_tau(r, D))


def _air(relative_humidity, distance):
    return _share("relative_humidity", relative_humidity), positive(distance=distance)


def _tau(r, D):
    return np.minimum(0.79 * (30.5 / (r * D)) ** 0.0625, 1.0)


def radiation(heat_release, radiated_fraction, distance, relative_humidity=None):
    """Heat flux of a flame at a distance from its centre, on a surface that faces it, without sun.

    Parameters: heat_release [W]; radiated_fraction [-]; distance from the flame's centre [m];
    relative_humidity [-], None: the air takes nothing up (the safe side); arrays broadcast. Returns
    W/m2. Raises InputError for values not above 0, or fractions above 1. Validity: beyond about 1.5
    flame lengths; the transmissivity's own range is not warned of here. Source: API 521, annex C.
    >>> round(radiation(630e6, 0.3, 48.86) / 1e3, 2)
    6.3
    """
    Q, F = _source(heat_release, radiated_fraction)
    D = positive(distance=distance)
    tau = 1.0 if relative_humidity is None else _tau(*_air(relative_humidity, D))
    return result(tau * F * Q / (4.0 * np.pi * D**2))


def _source(heat_release, radiated_fraction):
    return positive(heat_release=heat_release), _share("radiated_fraction", radiated_fraction)


def radiation_distance(radiation_limit, heat_release, radiated_fraction, relative_humidity=None,
                       solar_flux=0.0):  # fmt: skip
    """Distance from the flame's centre at which flame and sun together meet a limit.

    Parameters: radiation_limit [W/m2]; heat_release [W]; radiated_fraction [-]; relative_humidity
    [-] or None; solar_flux [W/m2], 0 where the sun is agreed not to count; arrays broadcast.
    Returns m. Raises InputError as `radiation`, or where the sun alone reaches the limit.
    Source: API 521, annex C; transmissivity hangs on the distance, so D^(2 + 1/16) is solved for.
    >>> round(radiation_distance(6300.0, 630e6, 0.3), 2)
    48.86
    """
    K = _left_of(radiation_limit, solar_flux)
    Q, F = _source(heat_release, radiated_fraction)
    clear = np.sqrt(F * Q / (4.0 * np.pi * K))
    if relative_humidity is None:
        return result(clear)
    r = _share("relative_humidity", relative_humidity)
    humid = (0.79 * (30.5 / r) ** 0.0625 * clear**2) ** (16.0 / 33.0)
    return result(np.minimum(humid, clear))  # clear where tau would pass 1


def _left_of(radiation_limit, solar_flux):
    K, sun = positive(radiation_limit=radiation_limit), not_negative(solar_flux=solar_flux)
    K, sun = np.broadcast_arrays(K, sun)
    refuse(sun >= K, "solar_flux", sun, "reaches the limit without any flame")
    return K - sun


def needed_height(radiation_distance, center_downwind, center_rise, distance=None,
                  receiver_elevation=0.0):  # fmt: skip
    """Least height of the tip so that nobody comes nearer to the flame's centre than a distance.

    Parameters: radiation_distance from the flame's centre [m]; center_downwind, center_rise from
    the tip [m]; distance from the foot of the stack, downwind, at which people begin to be [m],
    None: anywhere at grade, right under the flame too; receiver_elevation [m]; arrays broadcast.
    Returns m above grade, 0 where any height will do. Raises InputError for a radiation_distance
    not above 0. Validity: people who may stand nearer than under the flame meet more than the limit
    with a `distance` beyond it: keep them out. Source: API 521, annex C, geometry.
    >>> round(needed_height(48.86, 22.1, 9.1, 45.7), 1), round(needed_height(48.86, 22.1, 9.1), 1)
    (33.7, 39.8)
    """
    D = positive(radiation_distance=radiation_distance)
    x, z, up = finite(center_downwind=center_downwind, center_rise=center_rise,
                      receiver_elevation=receiver_elevation)  # fmt: skip
    aside = 0.0 if distance is None else np.maximum(not_negative(distance=distance) - x, 0.0)
    down = np.sqrt(np.maximum(D**2 - aside**2, 0.0))
    return result(np.where(aside < D, np.maximum(down - z + up, 0.0), 0.0) + 0.0 * (down - z))


def kept_free(radiation_distance, center_downwind, center_rise, stack_height,
              receiver_elevation=0.0):  # fmt: skip
    """Radius around the stack inside which a limit may be passed, whatever the wind's direction.

    Parameters: radiation_distance [m]; center_downwind, center_rise from the tip [m]; stack_height
    [m]; receiver_elevation [m]; arrays broadcast. Returns m; 0 where the limit is met nowhere at
    that elevation. Raises InputError for distances not above 0. Source: API 521, annex C, geometry.
    >>> round(kept_free(48.86, 22.1, 9.1, 33.7), 1)
    45.7
    """
    D, H = positive(radiation_distance=radiation_distance, stack_height=stack_height)
    x, z, up = finite(center_downwind=center_downwind, center_rise=center_rise,
                      receiver_elevation=receiver_elevation)  # fmt: skip
    above = H + z - up
    reach = x + np.sqrt(np.maximum(D**2 - above**2, 0.0))
    return result(np.where(D < np.abs(above), 0.0, reach) + 0.0 * reach)


def field(flame, heat_release, radiated_fraction, stack_height, downwind, crosswind=0.0,
          receiver_elevation=0.0, points=1, relative_humidity=None, solar_flux=0.0):  # fmt: skip
    """Heat flux of flame and sun at places on the ground or on platforms.

    Parameters: flame, `Flame`; heat_release [W]; radiated_fraction [-]; stack_height [m]; downwind,
    crosswind from the stack [m]; receiver_elevation above grade [m]; points, 1 for the published
    point model, more for a line of equal sources along the flame; relative_humidity [-] or None;
    solar_flux [W/m2]; downwind, crosswind and receiver_elevation broadcast. Returns W/m2, on a
    surface that faces each source. Raises InputError as `radiation`, for points that are no whole
    number above 0, or for a place at a source itself. Source: API 521, annex C; the line: our own
    sum of its point equation.
    """
    if type(points) is not int or not 1 <= points <= MOST_POINTS:
        raise InputError(f"points = {points!r}: must be a whole number, 1 or more")
    H, sun = positive(stack_height=stack_height), not_negative(solar_flux=solar_flux)
    x, y, z = np.broadcast_arrays(*finite(
        downwind=downwind, crosswind=crosswind, receiver_elevation=receiver_elevation))  # fmt: skip
    x_s, z_s = (part.reshape(-1, *[1] * x.ndim) for part in flame.points(points))
    D = np.sqrt((x - x_s) ** 2 + y**2 + (z - H - z_s) ** 2)
    each = np.asarray(radiation(heat_release, radiated_fraction, D, relative_humidity))
    return result(each.mean(axis=0) + sun)


def worst_at_grade(flame, heat_release, radiated_fraction, stack_height, points=1,
                   relative_humidity=None, solar_flux=0.0, receiver_elevation=0.0):  # fmt: skip
    """Highest heat flux at one elevation and where it is met, downwind of the stack.

    Parameters: as `field`. Returns (W/m2, m downwind). Errors and source as `field`; with one point
    it stands right under the flame's centre, with more it is searched for.
    """
    if np.ndim(points):
        raise InputError(f"points = {points!r}: must be a whole number, 1 or more")
    one_number(heat_release=heat_release, radiated_fraction=radiated_fraction,
               stack_height=stack_height, solar_flux=solar_flux,
               receiver_elevation=receiver_elevation)  # fmt: skip
    more = dict(points=points, relative_humidity=relative_humidity, solar_flux=solar_flux,
                receiver_elevation=receiver_elevation)  # fmt: skip
    low, high = 0.0, max(flame.end_downwind, flame.center_downwind)
    if points == 1:
        low = high = flame.center_downwind
    for _ in range(1 if points == 1 else 2):  # the second pass looks 25 times closer
        x = np.linspace(low, high, 51)
        K = field(flame, heat_release, radiated_fraction, stack_height, x, **more)
        best, step = int(np.argmax(K)), x[1] - x[0]
        low, high = max(x[best] - step, 0.0), x[best] + step
    return float(K[best]), float(x[best])


# ---- people


def burn_time(radiation):
    """Time until bare skin hurts.

    Parameters: radiation, flame and sun [W/m2], number or array. Returns s. Raises InputError for a
    value not above 0. Validity: 1.74 to 19.9 kW/m2; beyond, ValidityWarning, and the time goes on
    as radiation^(-4/3), which the table keeps to within 10 %. Source: API 521, table of pain
    thresholds, from memory; between its rows a straight line of the logarithms.
    >>> round(burn_time(4730.0), 1), round(burn_time(6310.0), 1)
    (16.0, 10.4)
    """
    K = positive(radiation=radiation)
    levels, times = tables.numbers("pain_times").T
    levels = 1e3 * levels
    out = (K < levels[0]) | (K > levels[-1])
    warn_outside(out, "radiation", K, "the table's 1.74 kW/m2 to 19.9 kW/m2",
                 "API 521, table of pain thresholds")  # fmt: skip
    inside = np.exp(tables.interpolate(np.log(K), np.log(levels), np.log(times)))
    beyond = (np.clip(K, levels[0], levels[-1]) / K) ** (4.0 / 3.0)
    return result(inside * beyond)


LEVELS = (rules.RADIATION_ALWAYS, rules.RADIATION_MINUTES, rules.RADIATION_SHORT,
          rules.RADIATION_SECONDS)  # fmt: skip
TOO_MUCH = "more than any level allows: nobody, not even for seconds"


def permitted(radiation):
    """Who may be where a heat flux is met, and for how long, in words.

    Parameters: radiation, flame and sun [W/m2], one number. Returns str. Raises InputError for a
    value not above 0 or NaN. Validity: people in working clothes who can get away.
    Source: `rules`, RADIATION_*.
    >>> permitted(5000.0)
    'radiation, urgent work up to 30 s without a shield'
    """
    K = float(positive(radiation=radiation))
    refuse(np.isnan(K), "radiation", K, "must be a number")
    fits = [rule.name for rule in LEVELS if K <= rule.value * (1 + 1e-9)]
    return fits[0] if fits else TOO_MUCH
