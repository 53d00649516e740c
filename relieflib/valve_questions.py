"""Each question about a relief valve, answered once: large enough, opens in time, lines, pressures.

Whoever judges a valve asks here: the datasheet check, the safeguard matrix, the P&ID note, the
verdicts on lines and the demo plant. Each puts the answer in its own words, none can differ in it.
The limits are those of `rules`.
"""

from dataclasses import dataclass

import numpy as np

from relieflib import rules
from relieflib.devices import back_pressure_limit
from relieflib.set_pressure import LIMIT_SOURCE, SET_SOURCE, accumulation_limit, highest_set

CLOSE = 1e-9  # share of a limit: the last bits of a sum
ROUNDED = 1e-3  # share: an overpressure worked out from rounded pressures
# a spring valve that is not balanced, and a disk alone, open by the difference to their outlet
FEELS_BACK_PRESSURE = ("conventional", "disk")


@dataclass(frozen=True)
class Answer:
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
    if type(value) is type(limit) is float:  # as below, for the many rows of a long list
        within = limit != limit or value <= limit + half + CLOSE * abs(limit)
        return value == value and bool(within)
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


def set_allowed(set_pressure_gauge, mawp_gauge, role="first", half=0.0):
    """May a valve be set so high.

    Parameters: set_pressure_gauge, mawp_gauge [Pa gauge], role as `highest_set`; half as `kept`.
    Returns `Answer`. Raises InputError as it does. Source: as it.
    >>> set_allowed(10.6e5, 10e5, "additional").holds
    False
    """
    limit = highest_set(mawp_gauge, role)
    return Answer(set_pressure_gauge, limit, "set pressure", SET_SOURCE, half)


def role_allowed(role, fire):
    """May a valve of a role answer for a cause; a fire supplement answers for fire alone.

    Parameters: role as `highest_set`; fire, True, False, or None where it is not known. Returns
    bool. Source: ASME BPVC XIII (formerly VIII-1 UG-125(c)(2), UG-134(b)).
    >>> [role_allowed("fire supplement", fire) for fire in (True, False, None)]
    [True, False, False]
    """
    return role != "fire supplement" or fire is True


def relieving_allowed(relieving_pressure_gauge, mawp_gauge, installation="single", fire=False,
                      half=0.0):  # fmt: skip
    """May the vessel rise so high while its valves relieve.

    Parameters: relieving_pressure_gauge, mawp_gauge [Pa gauge]; installation as
    `accumulation_limit`; fire, True, False, or None where it is not known: the stricter limit then
    judges; half as `kept`. Returns `Answer`. Raises InputError as it does. Source: as it.
    >>> [relieving_allowed(12e5, 10e5, fire=fire).holds for fire in (True, False, None)]
    [True, False, False]
    """
    limit = mawp_gauge + accumulation_limit(mawp_gauge, installation, bool(fire))
    return Answer(relieving_pressure_gauge, limit, "relieving pressure", LIMIT_SOURCE, half)


def capacity_certified(set_pressure_gauge, relieving_pressure_gauge):
    """Is the overpressure one at which the capacity of a valve is known.

    Parameters: set_pressure_gauge, relieving_pressure_gauge [Pa gauge]. Returns `Answer`, never
    False: below that overpressure nothing is known. Source: ASME BPVC XIII, from memory.
    >>> capacity_certified(10e5, 11e5).holds, capacity_certified(10e5, 10.8e5).holds
    (True, None)
    """
    full = max(rules.CERTIFIED.value * set_pressure_gauge, rules.CERTIFIED_FLOOR.value)
    over = relieving_pressure_gauge - set_pressure_gauge
    source = rules.CERTIFIED.source
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
                  half=0.0):  # fmt: skip
    """Does a valve open before the vessel is above what a set pressure may be.

    Parameters: as `opening_pressure`; mawp_gauge [Pa gauge], None where not given; role as
    `highest_set`; half as `kept`. Returns `Answer`; not known without MAWP. Raises InputError as
    `highest_set`. Validity: the variable part stands there when the valve has to open; where no
    other valve relieves into the header then, state the header of that cause.
    Source: API 520-I (2020), 5.3; ASME BPVC XIII (formerly VIII-1 UG-134).
    >>> opens_in_time("conventional", 16e5, 1.35e5, 16e5).holds
    False
    """
    opens = opening_pressure(kind, set_pressure_gauge, variable_superimposed_gauge)
    limit = np.nan if mawp_gauge is None else highest_set(mawp_gauge, role)
    value = np.nan if mawp_gauge is None else opens
    return Answer(value, limit, "opening pressure", f"API 520-I (2020), 5.3; {SET_SOURCE}", half)


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
