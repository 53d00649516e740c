"""Set pressure, accumulation, relieving pressure: what the code allows and what the valve sees."""

import numpy as np

from relieflib import rules
from relieflib.errors import (
    InputError,
    Value,
    finite,
    not_negative,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.units import ATMOSPHERE, GRAVITY, to_si
from relieflib.working import Working, step

PSI = to_si(1.0, "psi", "pressure difference")
LIMITS = {  # fraction of MAWP, and floor [Pa]
    "single": (rules.SINGLE.value, rules.SINGLE_FLOOR.value),
    "multiple": (rules.MULTIPLE.value, rules.MULTIPLE_FLOOR.value),
    "fire": (rules.FIRE.value, 0.0),
}
HIGHEST_SET = {
    "first": rules.FIRST_SET.value, "additional": rules.ADDITIONAL_SET.value,
    "fire supplement": rules.FIRE_SET.value,
}  # fmt: skip
LIMIT_SOURCE, SET_SOURCE = rules.SINGLE.source, rules.FIRST_SET.source


def _choice(name, value, allowed):
    if value not in allowed:
        raise InputError(f"{name} = '{value}': use one of {', '.join(map(repr, allowed))}")
    return allowed[value]


def accumulation_limit(
    mawp_gauge: Value, installation: str = "single", fire: bool = False
) -> Value:
    """Pressure allowed above MAWP while the valves relieve.

    Parameters
    ----------
    mawp_gauge : float or array, Pa gauge
    installation : {'single', 'multiple'}, optional
        Valves that together carry the load.
    fire : bool, optional
        True for exterior fire, one valve or several.

    Returns
    -------
    float or array, Pa
        A pressure difference.

    Raises
    ------
    InputError
        For a MAWP not above 0 or another installation.

    Notes
    -----
    ASME BPVC XIII (formerly VIII-1 UG-125(c)); API 520-I (2020), 5.4: 10 % or 3 psi, 16 % or 4 psi,
    whichever is greater; 21 % in fire, without a floor. API takes the flat 3 and 4 psi for any MAWP
    of 15 to 30 psig (from memory): with several valves it is the stricter one from 25 to 30 psig,
    at 28 psig 32.0 against the 32.48 psig given here. For vessels of ASME VIII-1 above 15 psig;
    other codes differ (PED 2014/68/EU: 10 %, see `european_limit`).

    Examples
    --------
    >>> round(accumulation_limit(1e6, "multiple"), 3)
    160000.0
    """
    mawp = positive(mawp_gauge=mawp_gauge)
    _choice("installation", installation, {"single": 1, "multiple": 1})
    warn_outside(
        mawp < 15.0 * PSI * (1 - 1e-9),
        "mawp_gauge",
        mawp,
        "the code, which begins above 15 psig: kPa or bar taken for Pa, or a tank of API 2000?",
        "ASME BPVC VIII-1, U-1",
    )
    fraction, floor = LIMITS["fire" if fire else installation]
    return result(np.maximum(fraction * mawp, floor))


def highest_set(mawp_gauge: Value, role: str = "first") -> Value:
    """Highest set pressure that the code allows for a valve.

    Parameters
    ----------
    mawp_gauge : float or array, Pa gauge
    role : {'first', 'additional', 'fire supplement'}, optional
        First (or only) valve, a further one of a multiple installation, or an extra one for the
        hazard of fire alone.

    Returns
    -------
    float or array, Pa gauge

    Raises
    ------
    InputError
        For an unknown role or a MAWP not above 0.

    Notes
    -----
    ASME BPVC XIII (formerly VIII-1 UG-134(a), (b)).

    Examples
    --------
    >>> round(highest_set(1e6, "additional"))
    1050000
    """
    mawp = positive(mawp_gauge=mawp_gauge)
    return result(_choice("role", role, HIGHEST_SET) * mawp)


def check_set(set_pressure_gauge, mawp_gauge, role="first"):
    """Raise InputError if a set pressure is above what the code allows for its role.

    Parameters: as `highest_set`, set_pressure_gauge [Pa gauge]; arrays broadcast. Returns None.
    Source: ASME BPVC XIII (formerly VIII-1 UG-134(a), (b)).
    >>> check_set(9e5, 1e6)
    """
    set_gauge, limit = positive(
        set_pressure_gauge=set_pressure_gauge, mawp_gauge=highest_set(mawp_gauge, role)
    )
    words = f"is above {HIGHEST_SET[role]:.0%} of MAWP, the highest set of the {role} valve"
    refuse(set_gauge > limit * (1 + 1e-9), "set_pressure_gauge", set_gauge, words)


def relieving_pressure(
    mawp_gauge: Value, set_pressure_gauge: Value | None = None, installation: str = "single",
    fire: bool = False, role: str = "first", atmosphere: Value = ATMOSPHERE,
) -> Value:  # fmt: skip
    """Pressure at which the valve must carry the load: MAWP, accumulation and atmosphere.

    Parameters
    ----------
    mawp_gauge : float or array, Pa gauge
    set_pressure_gauge : float or array, Pa gauge, optional
        Only held against `role`, since the limit hangs on MAWP.
    installation, fire
        As `accumulation_limit`.
    role : str, optional
        As `highest_set`.
    atmosphere : float, Pa absolute, optional
        The site's.

    Returns
    -------
    float or array, Pa absolute

    Raises
    ------
    InputError
        For a set pressure above what its role allows.

    Notes
    -----
    API 520-I (2020), 5.4, relieving-pressure tables. Inlet loss is left out: it is limited apart.

    Examples
    --------
    >>> round(relieving_pressure(to_si(100, "psig", "gauge pressure")) / 6894.757, 1)
    124.7
    """
    limit = accumulation_limit(mawp_gauge, installation, fire)
    if role == "fire supplement" and not fire:
        raise InputError("role = 'fire supplement': such a valve is for fire alone, give fire=True")
    if set_pressure_gauge is not None:
        check_set(set_pressure_gauge, mawp_gauge, role)
    return result(mawp_gauge + limit + positive(atmosphere=atmosphere))


def relieving_pressure_from_set(set_pressure_gauge, mawp_gauge, installation="single", fire=False,
                                atmosphere=ATMOSPHERE):  # fmt: skip
    """Absolute relieving pressure on the basis of set, usual for a valve set well below MAWP.

    Parameters: set_pressure_gauge, mawp_gauge [Pa gauge]; installation, fire, atmosphere as
    `relieving_pressure`. Arrays broadcast. Returns Pa absolute: set and the overpressure that the
    accumulation is of set (10, 16 or 21 %, or the floor), never above what the code allows over
    MAWP. The code itself allows `relieving_pressure`, above it; a valve is bought, and its
    capacity stamped, at 10 % over set, so this is the usual basis and asks the larger area.
    Raises InputError for a set above MAWP. Source: API 520-I (2020), 5.4; common practice.
    >>> round(relieving_pressure_from_set(8e5, 10e5)), round(relieving_pressure(10e5, 8e5))
    (981325, 1201325)
    """
    check_set(set_pressure_gauge, mawp_gauge)
    own = set_pressure_gauge + np.asarray(
        accumulation_limit(set_pressure_gauge, installation, fire)
    )
    most = relieving_pressure(mawp_gauge, None, installation, fire, atmosphere=atmosphere)
    return result(np.minimum(own + positive(atmosphere=atmosphere), most))


def overpressure(relieving_pressure, set_pressure_gauge, atmosphere=ATMOSPHERE):
    """Pressure above set while relieving.

    Parameters: relieving_pressure [Pa absolute]; set_pressure_gauge [Pa gauge]; atmosphere [Pa];
    arrays broadcast. Returns Pa, a pressure difference. Raises InputError if the relieving
    pressure is below set: a valve below its set pressure passes nothing.
    Source: API 520-I (2020), definitions.
    >>> round(overpressure(1.2e6, 1e6), 1)
    98675.0
    """
    P1, set_gauge, atmosphere = positive(
        relieving_pressure=relieving_pressure, set_pressure_gauge=set_pressure_gauge,
        atmosphere=atmosphere,
    )  # fmt: skip
    over = P1 - atmosphere - set_gauge
    refuse(over < -1e-9 * P1, "relieving_pressure", P1, "is below set: the valve stays shut")
    return result(np.maximum(over, 0.0))


def set_tolerance(set_pressure_gauge, fire_only=False):
    """Tolerance of the opening pressure, minus and plus.

    Parameters: set_pressure_gauge [Pa gauge], number or array; fire_only, bool: a valve for fire
    alone on a vessel that stores liquefied gas at ambient temperature (UG-125(c)(3)), not any valve
    sized for a fire. Returns (minus, plus) [Pa]. Raises InputError if the set pressure is not above
    0. Source: ASME BPVC XIII (formerly VIII-1 UG-134(d)): 2 psi up to 70 psi, 3 % above; -0/+10 %
    on liquefied-gas storage (from memory).
    >>> [round(v / PSI, 2) for v in set_tolerance(200 * PSI)]
    [6.0, 6.0]
    """
    set_gauge = positive(set_pressure_gauge=set_pressure_gauge)
    if fire_only:
        return result(0.0 * set_gauge), result(rules.FIRE_TOLERANCE.value * set_gauge)
    low = set_gauge <= rules.LOW_SET.value * (1 + 1e-9)
    both = np.where(low, rules.LOW_TOLERANCE.value, rules.SET_TOLERANCE.value * set_gauge)
    both = result(both + 0.0 * set_gauge)
    return both, both


def cold_differential(set_pressure_gauge, superimposed_gauge=0.0, kind="conventional",
                      temperature_multiplier=1.0):  # fmt: skip
    """Cold differential test pressure: where the valve must open on the test bench.

    Parameters: set_pressure_gauge, superimposed_gauge (constant superimposed back pressure)
    [Pa gauge]; kind 'conventional', 'balanced' or 'pilot': only a conventional valve's opening
    moves with back pressure; temperature_multiplier [-], the manufacturer's, for a hot spring.
    Arrays broadcast. Returns Pa gauge. Raises InputError if the back pressure reaches set.
    Source: API 520-I (2020), on cold differential test pressure (clause not seen), and example 2
    (75 psig, 55 psig constant: 20 psig).
    >>> round(cold_differential(75 * PSI, 55 * PSI) / PSI, 3)
    20.0
    """
    set_gauge, multiplier = positive(
        set_pressure_gauge=set_pressure_gauge, temperature_multiplier=temperature_multiplier
    )
    superimposed = not_negative(superimposed_gauge=superimposed_gauge)
    felt = _choice("kind", kind, {"conventional": 1.0, "balanced": 0.0, "pilot": 0.0})
    refuse(superimposed >= set_gauge, "superimposed_gauge", superimposed,
           "reaches the set pressure: the valve could not open into it")  # fmt: skip
    return result((set_gauge - felt * superimposed) * multiplier)


def reseat_pressure(set_pressure_gauge, blowdown=rules.BLOWDOWN.value):
    """Pressure at which the valve closes again.

    Parameters: set_pressure_gauge [Pa gauge]; blowdown, fraction of set [-], 7 % by default.
    Arrays broadcast. Returns Pa gauge. Raises InputError for a blowdown outside 0 to 1.
    Source: API 520-I (2020), definitions; 7 % is a usual figure (common practice, no source).
    >>> round(reseat_pressure(10e5))
    930000
    """
    set_gauge = positive(set_pressure_gauge=set_pressure_gauge)
    blowdown = not_negative(blowdown=blowdown)
    refuse(blowdown >= 1, "blowdown", blowdown, "must be a fraction below 1")
    return result(set_gauge * (1.0 - blowdown))


def operating_margin(set_pressure_gauge, operating_pressure_gauge,
                     blowdown=rules.BLOWDOWN.value):  # fmt: skip
    """Distance from the highest operating pressure to set, and whether the valve can reseat.

    Parameters: set_pressure_gauge, operating_pressure_gauge [Pa gauge]; blowdown [-]; arrays
    broadcast. Returns (margin [Pa], margin as a fraction of set [-], True where the valve closes
    above the operating pressure). Raises InputError if operating is not below set.
    Source: definition; 10 % of set is the usual aim (API 520-I (2020), clause not seen).
    >>> margin, fraction, closes = operating_margin(10e5, 9e5)
    >>> round(margin), round(fraction, 3), closes
    (100000, 0.1, True)
    """
    set_gauge, operating = positive(
        set_pressure_gauge=set_pressure_gauge, operating_pressure_gauge=operating_pressure_gauge
    )
    refuse(operating >= set_gauge, "operating_pressure_gauge", operating, "must be below set")
    margin = set_gauge - operating
    closes = reseat_pressure(set_gauge, blowdown) > operating
    if np.any(np.isnan(reseat_pressure(set_gauge, blowdown))):
        raise InputError(
            "set_pressure_gauge, blowdown: not a number, whether it closes is not known"
        )
    return result(margin), result(margin / set_gauge), result(np.asarray(closes))


def limit_at_valve(design_pressure_gauge, elevation, valve_elevation, density):
    """Highest pressure at the valve that keeps every part of the protected system within design.

    Parameters: design_pressure_gauge [Pa gauge] and elevation [m] of each part (1-D arrays of one
    length), valve_elevation [m], density of the liquid between [kg/m3], 0 for gas. Returns Pa
    gauge: the smallest of each part's design pressure less the liquid head the part stands under
    (a part above the valve gains). The set pressure may not be above it, and it takes the place
    of MAWP where the inlet side is designed for less than the vessel.
    Raises InputError when nothing is left. Validity: static, no flow.
    Source: hydrostatics; API 520-I (2020), 5.4: the set pressure follows the weakest part.
    >>> round(limit_at_valve([10e5, 9e5], [0.0, 12.0], 10.0, 1000.0))
    901934
    """
    design = np.atleast_1d(positive(design_pressure_gauge=design_pressure_gauge))
    level = np.atleast_1d(finite(elevation=elevation))
    valve, density = finite(valve_elevation=valve_elevation), not_negative(density=density)
    at_valve = design - density * GRAVITY * (valve - level)
    refuse(at_valve <= 0, "design_pressure_gauge", design, "is eaten up by the liquid head")
    return result(at_valve.min())


def prorated_capacity(relieving_pressure_gauge, set_pressure_gauge):
    """Capacity at a relieving pressure as a multiple of the capacity stamped at 1.10 set.

    Parameters: relieving_pressure_gauge, set_pressure_gauge [Pa gauge]; arrays broadcast.
    Returns float or array [-]. Raises InputError below 1.10 set. Validity: gas, steam, choked.
    Source: ASME BPVC XIII (formerly VIII-1 UG-133(g)), with its 14.7 psi atmosphere.
    >>> round(prorated_capacity(121 * PSI, 100 * PSI), 5)
    1.08821
    """
    p, set_gauge = positive(
        relieving_pressure_gauge=relieving_pressure_gauge, set_pressure_gauge=set_pressure_gauge
    )
    stamped = (1.0 + rules.CERTIFIED.value) * set_gauge
    refuse(p < stamped * (1 - 1e-9), "relieving_pressure_gauge", p, "is below 1.10 set")
    return result((p + 14.7 * PSI) / (stamped + 14.7 * PSI))


def european_limit(design_pressure_gauge):
    """Highest momentary pressure in European pressure equipment: 10 % above PS.

    Parameters: design_pressure_gauge, PS [Pa gauge], number or array. Returns Pa gauge.
    Raises InputError if PS is not above 0. Source: 2014/68/EU, Annex I, 7.3 (from memory).
    >>> round(european_limit(10e5))
    1100000
    """
    return result(
        (1.0 + rules.EUROPEAN.value) * positive(design_pressure_gauge=design_pressure_gauge)
    )


def working(mawp_gauge, set_pressure_gauge, installation="single", fire=False, role="first",
            atmosphere=ATMOSPHERE):  # fmt: skip
    """The steps from MAWP to relieving pressure and overpressure, as a `Working`.

    Parameters and errors as `relieving_pressure`.
    """
    P1 = relieving_pressure(mawp_gauge, set_pressure_gauge, installation, fire, role, atmosphere)
    limit = accumulation_limit(mawp_gauge, installation, fire)
    fraction, floor = LIMITS["fire" if fire else installation]
    allowed = f"max({fraction}*MAWP, {floor / PSI:.4g}*PSI)" if floor else f"{fraction}*MAWP"
    source = "ASME BPVC XIII (VIII-1 UG-125(c)); API 520-I (2020), 5.4"
    return Working([
        step("mawp_gauge", mawp_gauge, source="given"),
        step("set_pressure_gauge", set_pressure_gauge, source="given"),
        step("accumulation_limit", limit, allowed, source,
             mawp_gauge=mawp_gauge),
        step("accumulated_pressure_gauge", mawp_gauge + limit, "MAWP + dp_acc", source,
             mawp_gauge=mawp_gauge, accumulation_limit=limit),
        step("relieving_pressure", P1, "MAWP + dp_acc + Patm", "API 520-I (2020), 5.4",
             mawp_gauge=mawp_gauge, accumulation_limit=limit, atmosphere=atmosphere),
        step("overpressure", overpressure(P1, set_pressure_gauge, atmosphere),
             "P1 - Patm - pset", "API 520-I (2020), definitions", relieving_pressure=P1,
             atmosphere=atmosphere, set_pressure_gauge=set_pressure_gauge),
    ])  # fmt: skip
