"""A relief valve that does not open on demand: by service and interval, and of two that share."""

import numpy as np
from scipy.special import gamma, gammainc

from relieflib import tables
from relieflib.errors import InputError, finite, not_negative, positive, refuse, result
from relieflib.protection.groups import Channel, average
from relieflib.units import to_si

SHAPE = 1.8  # API RP 581, from memory
SERVICES = ("mild", "moderate", "severe")
KINDS = ("spring", "pilot")
NO_OPENING = ("by 'does not open' a bench means not open at 1.5 times set; a valve that opens late "
              "or not whole is not in it")  # fmt: skip
SHARING = {"one": "1oo1", "two, each for all of it": "1oo2", "two that share": "2oo2"}


def characteristic_life(kind, service):
    """Time since test after which 63 % of such valves would not open.

    Parameters: kind 'spring' or 'pilot'; service 'mild', 'moderate' or 'severe'. Returns s. Raises
    InputError for others. Validity: default curves before any adjustment for environment,
    overpressure and findings at inspection; examples to overwrite by your own bench records.
    Source: API RP 581, 3rd ed. (2016), pressure relief devices, from memory.
    >>> round(characteristic_life("spring", "mild") / (8760 * 3600), 1)
    50.5
    """
    for k, s, years in tables.rows("valve_opening")[1]:
        if (k, s) == (kind, service):
            return to_si(float(years), "y", "interval")
    raise InputError(f"kind = {kind!r}, service = {service!r}: {', '.join(KINDS)}; "
                     f"{', '.join(SERVICES)}")  # fmt: skip


def stays_shut(time_since_test, characteristic_life, weibull_shape=SHAPE):
    """Probability that a relief valve does not open, so long after its test.

    Parameters: time_since_test [s]; characteristic_life [s]; weibull_shape [-]. Returns 0 to 1.
    Raises InputError for impossible values. Source: Weibull; API RP 581, 3rd ed. (2016), from
    memory.
    >>> round(stays_shut(5.0, 50.5), 5)
    0.01545
    """
    t = not_negative(time_since_test=time_since_test)
    eta = positive(characteristic_life=characteristic_life)
    return result(-np.expm1(-((t / eta) ** positive(weibull_shape=weibull_shape))))


def mean_stays_shut(test_interval, characteristic_life, weibull_shape=SHAPE):
    """The same, averaged over an interval: what a demand at any time meets.

    Parameters: test_interval [s]; characteristic_life [s]; weibull_shape [-]. Returns PFD. Raises
    InputError for impossible values. Validity: as new after each test. Source: integral of
    `stays_shut` in closed form, by the incomplete gamma function.
    >>> round(mean_stays_shut(5.0, 50.5), 6)
    0.005534
    """
    x = positive(test_interval=test_interval) / positive(characteristic_life=characteristic_life)
    a = 1.0 / positive(weibull_shape=weibull_shape)
    return result(1.0 - a * gamma(a) * gammainc(a, x ** (1.0 / a)) / x)


def with_initial_failure(initial_failure, failure_rate, test_interval):
    """PFD of a valve of which some cannot open from the day they are mounted.

    Parameters: initial_failure [-]; failure_rate [1/s]; test_interval [s]. Returns PFD. Raises
    InputError for impossible values. Validity: constant rate. Source: average over the interval;
    that there are such valves: Gross and Bukowski, ASME PVP 2011 to 2013 (abstracts).
    >>> round(with_initial_failure(0.01, 1e-7 / 3600, 5 * 8760 * 3600.0), 6)
    0.012165
    """
    first = not_negative(initial_failure=initial_failure)
    refuse(first > 1, "initial_failure", first, "must lie between 0 and 1")
    x = not_negative(failure_rate=failure_rate) * positive(test_interval=test_interval)
    small = np.where(x == 0, 1.0, x)
    mean = np.where(x < 1e-5, x / 2, 1.0 + np.expm1(-x) / small)
    return result(first + (1 - first) * mean)


def of_valves(arrangement, failure_rate, test_interval, common_cause=0.0):
    """PFD of one relief valve, of two of which each is enough, or of two that must share.

    Parameters: arrangement, one of `SHARING`; failure_rate of a valve [1/s]; test_interval [s];
    common_cause [-], of two that are each enough. Returns PFD for the full flow: of two that share,
    one alone still passes its own part. Raises InputError for another arrangement. Source: as
    `groups.average`: 1oo1, 1oo2, 2oo2.
    >>> years = 4 * 8760 * 3600.0
    >>> round(of_valves("two that share", 1e-6 / 3600, years), 5)
    0.03504
    """
    if arrangement not in SHARING:
        raise InputError(f"arrangement = {arrangement!r}: use one of {', '.join(SHARING)}")
    found = average(SHARING[arrangement], Channel(failure_rate, test_interval), common_cause)
    return result(found + 0.0 * finite(common_cause=common_cause))  # NaN stays NaN
