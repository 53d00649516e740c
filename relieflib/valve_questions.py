"""Each question about a relief valve, answered once: large enough, opens in time, lines, pressures.

Whoever judges a valve asks here: the datasheet check, the safeguard matrix, the P&ID note, the
verdicts on lines and the demo plant. Each puts the answer in its own words, none can differ in it.
The limits are those of `rules`.
"""

from typing import NamedTuple

import numpy as np

from relieflib import rules
from relieflib.devices import back_pressure_limit
from relieflib.errors import InputError
from relieflib.set_pressure import (
    LIMIT_SOURCE,
    SET_SOURCE,
    accumulation_limit,
    european_limit,
    highest_set,
    set_tolerance,
)
from relieflib.tables import rows
from relieflib.units import to_si

CLOSE = 1e-9  # share of a limit: the last bits of a sum
ROUNDED = 1e-3  # share: an overpressure worked out from rounded pressures
# a spring valve that is not balanced, and a disk alone, open by the difference to their outlet
FEELS_BACK_PRESSURE = ("conventional", "disk")
CODES = ("ASME VIII", "ASME I", "PED")  # vessels; boilers; Europe, with valves of ISO 4126


class Answer(NamedTuple):
    """What one question found: value against its highest limit [SI], NaN limit for none.

    what, words for the value; source; known, False where the limit itself depends on what was not
    said: then a value above it is not known to be wrong.
    """

    value: float
    limit: float
    what: str
    source: str
    half: float = 0.0
    known: bool = True

    @property
    def holds(self):
        """True or False; None for not known."""
        if self.value != self.value:  # no number
            return None
        good = bool(kept(self.value, self.limit, self.half))
        return good if good or self.known else None


def kept(value, limit, half=0.0):
    """Is a value within its highest limit; the only comparison that verdicts rest on.

    Parameters: value and limit, numbers or arrays, NaN limit for none; half, of the last printed
    digit of a stated value. Returns bool or array; NaN as the value is not kept.
    >>> bool(kept(3.0, 3.0)), bool(kept(3.1, 3.0)), bool(kept(3.1, 3.0, 0.1))
    (True, False, True)
    """
    if isinstance(value, float) and isinstance(limit, float):  # as below, for a long list
        within = limit != limit or value <= limit + half + CLOSE * abs(limit)
        return bool(value == value and within)
    value, limit = np.asarray(value, dtype=float), np.asarray(limit, dtype=float)
    within = value <= limit + half + CLOSE * np.abs(limit)
    return np.where(np.isnan(value), False, np.isnan(limit) | within)


def large_enough(needed, available, half=0.0):
    """Do the valves that lift have the area, or the flow, that is needed.

    Parameters: needed and available, both areas [m2] or both flows [kg/s]; half as `kept`. Returns
    `Answer`. Source: API 526; areas and flows of valves add up.
    >>> large_enough(3699e-6, 4116e-6).holds
    True
    """
    return Answer(needed, available, "needed", "API 526, table 1", half)


def _of_code(code):
    if code not in CODES:
        raise InputError(f"code = '{code}': use one of {', '.join(CODES)}")
    return code


def highest_set_of(code, mawp_gauge, role="first"):
    """Highest set pressure by a code.

    Parameters: code, one of `CODES`; mawp_gauge [Pa gauge], number or array; role as `highest_set`.
    Returns (Pa gauge, source). Raises InputError as it, and for another code. Validity: only ASME
    VIII knows a supplement for fire; elsewhere it is an additional valve. Source: as `highest_set`;
    ASME BPVC I, PG-67.3; EN 764-7, from memory.
    >>> round(highest_set_of("ASME I", 10e5, "additional")[0])
    1030000
    """
    if _of_code(code) == "ASME VIII" or role == "first":
        return highest_set(mawp_gauge, role), SET_SOURCE if code == "ASME VIII" else _SET[
            code
        ].source
    highest_set(mawp_gauge, role)  # refuses what is no role
    return _SET[code].value * mawp_gauge, _SET[code].source


_SET = {"ASME I": rules.BOILER_SET, "PED": rules.EUROPEAN_SET}


def set_allowed(set_pressure_gauge, mawp_gauge, role="first", half=0.0, code="ASME VIII"):
    """May a valve be set so high.

    Parameters: set_pressure_gauge, mawp_gauge [Pa gauge], role as `highest_set`; half as `kept`;
    code as `highest_set_of`. Returns `Answer`. Raises InputError as they do. Source: as they.
    >>> set_allowed(10.6e5, 10e5, "additional").holds
    False
    """
    limit, source = highest_set_of(code, mawp_gauge, role)
    return Answer(set_pressure_gauge, limit, "set pressure", source, half)


def set_exact(set_pressure_gauge, tolerance, half=0.0, code="ASME VIII"):
    """Is the tolerance on set no wider than the code allows.

    Parameters: set_pressure_gauge [Pa gauge]; tolerance [Pa], the wider side; half as `kept`; code,
    one of `CODES`. Returns `Answer`. Raises InputError as `set_tolerance`. Validity: not the valve
    for fire alone of UG-125(c)(3). Source: as `set_tolerance`; ASME BPVC I, PG-72.2; ISO 4126-1.
    >>> set_exact(10e5, 0.3e5).holds, set_exact(2e5, 0.1e5, code="PED").holds
    (True, True)
    """
    pset = np.asarray(set_pressure_gauge, dtype=float)
    limit, source = set_tolerance(set_pressure_gauge)[1], rules.SET_TOLERANCE.source
    if _of_code(code) == "PED":
        limit = np.maximum(rules.ISO_TOLERANCE.value * pset, rules.ISO_TOLERANCE_FLOOR.value)
        source = rules.ISO_TOLERANCE.source
    elif code == "ASME I":
        limit = np.select(
            [pset <= rules.BOILER_MIDDLE.value, pset <= rules.BOILER_HIGH.value],
            [limit, rules.BOILER_FIXED.value], rules.BOILER_FINE.value * pset,
        )  # fmt: skip
        source = rules.BOILER_TOLERANCE.source
    return Answer(tolerance, limit + 0.0, "set tolerance", source, half)


def role_allowed(role, fire):
    """May a valve of a role answer for a cause; a fire supplement answers for fire alone.

    Parameters: role as `highest_set`; fire, True, False, or None where it is not known. Returns
    bool. Source: ASME BPVC XIII (formerly VIII-1 UG-125(c)(2), UG-134(b)).
    >>> [role_allowed("fire supplement", fire) for fire in (True, False, None)]
    [True, False, False]
    """
    return role != "fire supplement" or fire is True


def accumulation_of(code, mawp_gauge, installation="single", fire=False):
    """Pressure above MAWP that a code allows while its valves relieve.

    Parameters: code, one of `CODES`; mawp_gauge [Pa gauge]; installation, fire as
    `accumulation_limit`. Returns (Pa, source). Raises InputError as it, and for another code.
    Validity: a boiler and European equipment have one limit, with several valves and in fire too;
    the directive asks for a damage limit in fire and gives no number, so its 10 % judges. Source:
    as `accumulation_limit` and `european_limit`; ASME BPVC I, PG-67.2, from memory.
    >>> [round(accumulation_of(code, 10e5, fire=True)[0] / 1e5, 2) for code in CODES]
    [2.1, 0.6, 1.0]
    """
    if _of_code(code) == "ASME VIII":
        return accumulation_limit(mawp_gauge, installation, fire), LIMIT_SOURCE
    if code == "PED":
        return european_limit(mawp_gauge) - mawp_gauge, rules.EUROPEAN.source
    return rules.BOILER.value * mawp_gauge, rules.BOILER.source


def installation_of(valves=1, role="first"):
    """Do several valves protect the vessel, so that the limit of several holds.

    Parameters: valves, number that lift together; role as `highest_set`: an additional valve is
    never alone. Returns 'single' or 'multiple'. Source: ASME BPVC XIII (formerly UG-125(c)(1)).
    >>> installation_of(2), installation_of(1, "additional"), installation_of()
    ('multiple', 'multiple', 'single')
    """
    return "multiple" if valves > 1 or role == "additional" else "single"


def relieving_allowed(relieving_pressure_gauge, mawp_gauge, installation="single", fire=False,
                      half=0.0, code="ASME VIII"):  # fmt: skip
    """May the vessel rise so high while its valves relieve.

    Parameters: relieving_pressure_gauge, mawp_gauge [Pa gauge]; installation as
    `accumulation_limit`; fire, True, False, or None where it is not known: the stricter limit then
    judges; half as `kept`; code as `accumulation_of`. Returns `Answer`. Raises InputError as they
    do. Source: as they.
    >>> [relieving_allowed(12e5, 10e5, fire=fire).holds for fire in (True, False, None)]
    [True, False, False]
    """
    above, source = accumulation_of(code, mawp_gauge, installation, bool(fire))
    return Answer(relieving_pressure_gauge, mawp_gauge + above, "relieving pressure", source, half)


_CERTIFIED = {
    "ASME VIII": (rules.CERTIFIED, rules.CERTIFIED_FLOOR),
    "ASME I": (rules.BOILER_CERTIFIED, rules.BOILER_CERTIFIED_FLOOR),
    "PED": (rules.ISO_OVERPRESSURE, rules.ISO_OVERPRESSURE_FLOOR),
}  # fmt: skip


def certified_overpressure(set_pressure_gauge, code="ASME VIII"):
    """Overpressure at which a valve's capacity is certified, at most.

    Parameters: set_pressure_gauge [Pa gauge], number or array; code, one of `CODES`. Returns Pa.
    Raises InputError for another code. Source: ASME BPVC XIII, from memory; ASME BPVC I, PG-69; ISO
    4126-1, where the maker may state less.
    >>> round(certified_overpressure(10e5)), round(certified_overpressure(10e5, "ASME I"))
    (100000, 30000)
    """
    share, floor = _CERTIFIED[_of_code(code)]
    return np.maximum(share.value * np.asarray(set_pressure_gauge, dtype=float), floor.value) + 0.0


def capacity_certified(set_pressure_gauge, relieving_pressure_gauge, code="ASME VIII"):
    """Is the overpressure one at which the capacity of a valve is known.

    Parameters: set_pressure_gauge, relieving_pressure_gauge [Pa gauge]; code as
    `certified_overpressure`. Returns `Answer`, never False: below that overpressure nothing is
    known. Raises InputError and source as it.
    >>> capacity_certified(10e5, 11e5).holds, capacity_certified(10e5, 10.8e5).holds
    (True, None)
    """
    full = certified_overpressure(set_pressure_gauge, code)
    over = relieving_pressure_gauge - set_pressure_gauge
    source = _CERTIFIED[code][0].source
    return Answer(full * (1 - ROUNDED), over, "overpressure certified", source, known=False)


def opening_pressure(kind, set_pressure_gauge, variable_superimposed_gauge):
    """Pressure at which a valve opens when all variable back pressure stands at its outlet.

    Parameters: kind as `Device`; set_pressure_gauge, variable_superimposed_gauge [Pa gauge], the
    part above the constant one, against which a spring is set. Returns Pa gauge.
    Source: API 520-I (2020), 5.3.
    >>> opening_pressure("conventional", 16e5, 1.35e5), opening_pressure("pilot", 16e5, 1.35e5)
    (1735000.0, 1600000.0)
    """
    felt = kind in FEELS_BACK_PRESSURE
    return set_pressure_gauge + (variable_superimposed_gauge if felt else 0.0)


def opens_in_time(kind, set_pressure_gauge, variable_superimposed_gauge, mawp_gauge, role="first",
                  half=0.0, code="ASME VIII"):  # fmt: skip
    """Does a valve open before the vessel is above what a set pressure may be.

    Parameters: as `opening_pressure`; mawp_gauge [Pa gauge], None where not given; role as
    `highest_set`; half as `kept`; code as `highest_set_of`. Returns `Answer`; not known without
    MAWP. Raises InputError as `highest_set_of`. Validity: the variable part stands there when the
    valve has to open; where no other valve relieves into the header then, state the header of that
    cause.
    Source: API 520-I (2020), 5.3; ASME BPVC XIII (formerly VIII-1 UG-134).
    >>> opens_in_time("conventional", 16e5, 1.35e5, 16e5).holds
    False
    """
    opens = opening_pressure(kind, set_pressure_gauge, variable_superimposed_gauge)
    limit, source = np.nan, SET_SOURCE
    if mawp_gauge is not None:
        limit, source = highest_set_of(code, mawp_gauge, role)
    value = np.nan if mawp_gauge is None else opens
    return Answer(value, limit, "opening pressure", f"API 520-I (2020), 5.3; {source}", half)


def inlet_holds(kind, inlet_loss, set_pressure_gauge, loss_limit=rules.INLET_LOSS.value,
                remote_sensing=None, half=0.0):  # fmt: skip
    """Is the pressure lost in the inlet line small enough.

    Parameters: kind as `Device`; inlet_loss [Pa], set_pressure_gauge [Pa gauge]; loss_limit, of set
    [-]; remote_sensing of a pilot: True no limit, False as any valve, None not said: then a loss
    above the limit is not known to be wrong; half as `kept`. Returns `Answer`.
    Source: API 520-II (2020), 7.3.
    >>> [inlet_holds(kind, 0.5e5, 10e5).holds for kind in ("balanced", "pilot")]
    [False, None]
    """
    limit = np.nan if remote_sensing else loss_limit * set_pressure_gauge
    known = kind != "pilot" or remote_sensing is not None
    return Answer(inlet_loss, limit, "inlet loss", rules.INLET_LOSS.source, half, known)


def back_pressure_holds(kind, set_pressure_gauge, overpressure, built_up, total_back, half=0.0):
    """Does a kind of valve keep its lift against the back pressure while it relieves.

    Parameters: kind 'conventional', 'balanced' or 'pilot'; set_pressure_gauge [Pa gauge];
    overpressure [Pa]; built_up [Pa] with the variable superimposed part, which no spring is set
    against; total_back [Pa gauge], None where a built-up one is enough; half as `kept`. Returns
    `Answer`. Raises InputError as `back_pressure_limit`. Source: API 520-I (2020), 5.3.
    >>> back_pressure_holds("conventional", 10e5, 1e5, 1.2e5, 1.3e5).holds
    False
    >>> back_pressure_holds("balanced", 10e5, 1e5, 1.2e5, 1.3e5).holds
    True
    """
    what, limit = back_pressure_limit(kind, set_pressure_gauge, overpressure)
    value = total_back if what == "total" else built_up
    value = np.nan if value is None else value
    source = rules.BALANCED_BACK.source if what == "total" else "API 520-I (2020), 5.3"
    return Answer(value, limit, what, source, half)


def bellows_holds(letter, back_gauge, limit_gauge=None, half=0.0):
    """Does the bellows itself stand the back pressure, whatever share of set that is.

    Parameters: letter; back_gauge, total back pressure [Pa gauge]; limit_gauge that the maker
    states, None for the smallest one of the standard's tables for the letter, above which it is not
    known to be wrong; half as `kept`. Returns `Answer`. Source: API 526, as a trade journal prints
    it (Valve World, December 2024).
    >>> bellows_holds("J", 20e5).holds, bellows_holds("J", 20e5, 18e5).holds
    (None, False)
    """
    source = "API 526, bellows limits (Valve World, December 2024)"
    if limit_gauge is not None:
        return Answer(back_gauge, limit_gauge, "bellows", "the maker's own limit", half)
    limits = {row[0]: float(row[1]) for row in rows("bellows_limits")[1]}
    return Answer(back_gauge, to_si(limits[letter], "psig", "gauge pressure"), "bellows", source,
                  half, known=False)  # fmt: skip


def blowdown_allowed(set_pressure_gauge, blowdown, liquid=False, half=0.0, code="ASME VIII"):
    """Is the blowdown no wider than the code allows.

    Parameters: set_pressure_gauge [Pa gauge]; blowdown [Pa]; liquid, True for incompressible fluid;
    half as `kept`; code, one of `CODES`. Returns `Answer`; ASME VIII has no limit for the user:
    NaN. Validity: boilers by the edition of 2001, later ones leave it to the maker's test. Source:
    ASME BPVC I (2001), PG-72.1; ISO 4126-1.
    >>> [blowdown_allowed(10e5, 1e5, code=code).holds for code in CODES]
    [True, False, True]
    """
    pset, limit, source = np.asarray(set_pressure_gauge, dtype=float), np.nan, ""
    if _of_code(code) == "ASME I":
        wide = np.maximum(rules.BOILER_BLOWDOWN_FIXED.value, rules.BOILER_BLOWDOWN.value * pset)
        limit = np.minimum(rules.BOILER_BLOWDOWN_LOW.value * pset, wide)
        limit = np.maximum(rules.BOILER_BLOWDOWN_FLOOR.value, limit)
        source = rules.BOILER_BLOWDOWN.source
    elif code == "PED":
        share, floor = _ISO_BLOWDOWN[bool(liquid)]
        limit, source = np.maximum(share.value * pset, floor.value), share.source
    return Answer(blowdown, limit, "blowdown", source, half)


_ISO_BLOWDOWN = {
    False: (rules.ISO_BLOWDOWN_GAS, rules.ISO_BLOWDOWN_GAS_FLOOR),
    True: (rules.ISO_BLOWDOWN_LIQUID, rules.ISO_BLOWDOWN_LIQUID_FLOOR),
}


def closes_again(set_pressure_gauge, blowdown, operating_pressure_gauge, half=0.0):
    """Does a valve close above the operating pressure, so that it closes at all.

    Parameters: set_pressure_gauge, operating_pressure_gauge [Pa gauge]; blowdown [Pa]; half as
    `kept`. Returns `Answer`. Source: definition of blowdown.
    >>> closes_again(10e5, 0.7e5, 9.5e5).holds
    False
    """
    limit = set_pressure_gauge - blowdown
    return Answer(operating_pressure_gauge, limit, "operating pressure", "definition", half)


def blowdown_covers(set_pressure_gauge, blowdown, inlet_loss, half=0.0):
    """Does the blowdown exceed the inlet loss by the margin that keeps a valve from chattering.

    Parameters: set_pressure_gauge [Pa gauge]; blowdown, inlet_loss [Pa]; half as `kept`. Returns
    `Answer`. Source: API 520-II (2020), 7.3.6, from memory; the margin is common practice.
    >>> blowdown_covers(10e5, 0.4e5, 0.25e5).holds, blowdown_covers(10e5, 0.7e5, 0.25e5).holds
    (False, True)
    """
    limit = blowdown - rules.BLOWDOWN_MARGIN.value * set_pressure_gauge
    source = f"{rules.API_520_2}, 7.3.6, from memory; margin: {rules.NONE}"
    return Answer(inlet_loss, limit, "inlet loss", source, half)


def burst_range(marked_gauge, low_gauge=None, high_gauge=None):
    """Lowest and highest pressure at which a disk may burst.

    Parameters: marked_gauge, low_gauge, high_gauge [Pa gauge]; those that are stated rule, the rest
    is the marked burst pressure with the code's tolerance; None where nothing tells. Returns (low,
    high) [Pa gauge]. Source: ASME BPVC XIII (formerly VIII-1 UG-127(a)).
    >>> [round(p / 1e5, 2) for p in burst_range(10e5)], burst_range(None)
    ([9.5, 10.5], (None, None))
    """
    tolerance = 0.0
    if marked_gauge is not None:
        small = marked_gauge <= rules.LOW_BURST.value * (1 + CLOSE)
        share = rules.BURST_TOLERANCE.value * marked_gauge
        tolerance = rules.LOW_BURST_TOLERANCE.value if small else share
    low = low_gauge if low_gauge is not None or marked_gauge is None else marked_gauge - tolerance
    high = (
        high_gauge if high_gauge is not None or marked_gauge is None else marked_gauge + tolerance
    )
    return low, high


def bore_enough(bore, inlet_bore):
    """Is a part of an inlet line as wide as the valve's inlet.

    Parameters: bore, inlet_bore, both diameters [m] or both areas [m2]; arrays broadcast. Returns
    bool or array; True where the valve's is not known. Source: ASME BPVC XIII, formerly UG-135.
    >>> bool(bore_enough(0.0779, 0.0972))
    False
    """
    return kept(rules.LINE_BORE.value * np.asarray(inlet_bore, dtype=float), bore) | np.isnan(
        inlet_bore
    )
