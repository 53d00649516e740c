"""Groups of channels that fail on demand: PFD averaged over time, exact and simplified, by votes.

A channel has dangerous failures that only a test finds, and others that its diagnosis finds at
once. Of those that a test finds, a partial stroke may find some early, the proof test not all, an
overhaul the rest. Part of them strikes all channels at once (common cause, beta). 1oo2D is left
out: editions of IEC 61508-6 differ in it.
"""

from dataclasses import KW_ONLY, dataclass
from math import comb

import numpy as np

from relieflib import rules
from relieflib.errors import InputError, not_negative, positive, refuse, result, warn_outside

# votes: how many of how many channels must act
VOTES = {"1oo1": (1, 1), "1oo2": (1, 2), "2oo2": (2, 2), "2oo3": (2, 3), "1oo3": (1, 3)}
IEC = "IEC 61508-6 (2010), annex B.3.2.2"
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
_MOST_TESTS = 5000  # guard: pieces of one overhaul interval
NOT_PROVED = (
    "fault tolerance: how many faults the hardware must bear (IEC 61511-1, 11.4; 61508-2)",
    "systematic capability: specification, software, installation, management of change",
    "that the rates are those of your service: they are a choice until your own records say so",
    "that it acts in time, and on this cause",
    "that the proof test finds what it is said to find",
)


def _part(**values):
    """Fractions from 0 to 1, as float arrays."""
    for name, value in values.items():
        array = not_negative(**{name: value})
        refuse(array > 1, name, array, "must lie between 0 and 1")


@dataclass(frozen=True)
class Channel:
    """One channel: rates of its dangerous failures, and what finds them.

    undetected_rate, detected_rate [1/s]; test_interval [s] of the proof test; repair_time after it,
    restoration_time of what diagnosis finds [s]; test_coverage [-] of the proof test, and
    overhaul_interval [s] after which the rest is found; stroke_coverage [-] of a partial stroke
    each stroke_interval [s]. Numbers or arrays. Raises InputError for impossible values, a coverage
    below 1 without an overhaul, a stroke without its interval, an interval that is not used.
    """

    undetected_rate: object
    test_interval: object
    _: KW_ONLY
    detected_rate: object = 0.0
    repair_time: object = 0.0
    restoration_time: object = 0.0
    test_coverage: object = 1.0
    overhaul_interval: object = None
    stroke_coverage: object = 0.0
    stroke_interval: object = None

    def __post_init__(self):
        for name in ("undetected_rate", "detected_rate", "repair_time", "restoration_time"):
            not_negative(**{name: getattr(self, name)})
        T1 = positive(test_interval=self.test_interval)
        _part(test_coverage=self.test_coverage, stroke_coverage=self.stroke_coverage)
        self._needs("overhaul_interval", np.any(np.asarray(self.test_coverage) < 1))
        self._needs("stroke_interval", np.any(np.asarray(self.stroke_coverage) > 0))
        if self.overhaul_interval is not None:
            T2 = positive(overhaul_interval=self.overhaul_interval)
            refuse(T2 < T1, "overhaul_interval", T2, "must not be below the test interval")
        if self.stroke_interval is not None:
            Ts = positive(stroke_interval=self.stroke_interval)
            refuse(Ts > T1, "stroke_interval", Ts, "must not be above the test interval")

    def _needs(self, name, used):
        if used and getattr(self, name) is None:
            raise InputError(f"{name}: needed, for something is left to be found by it")
        if not used and getattr(self, name) is not None:
            raise InputError(f"{name}: nothing is left that it would find; leave it out")

    @property
    def shares(self):
        """(part of the undetected failures, interval that finds it) of each way of finding."""
        theta, covered = np.asarray(self.stroke_coverage), np.asarray(self.test_coverage)
        ways = [((1 - theta) * covered, self.test_interval)]
        if self.stroke_interval is not None:
            ways.append((theta, self.stroke_interval))
        if self.overhaul_interval is not None:
            ways.append(((1 - theta) * (1 - covered), self.overhaul_interval))
        return ways

    def down_time(self, n):
        """Mean time [s] that an undetected failure lasts until found and repaired, n 2, 3 or 4."""
        return sum(part * (np.asarray(T) / n + self.repair_time) for part, T in self.shares)

    @property
    def hidden(self):
        """Failures expected hidden in it at the end of its intervals [-]."""
        return self.undetected_rate * sum(part * np.asarray(T) for part, T in self.shares)


def _votes(architecture, common_cause, common_cause_detected):
    if architecture not in VOTES:
        raise InputError(f"architecture = {architecture!r}: use one of {', '.join(VOTES)}")
    both = common_cause_detected
    both = common_cause if both is None else both
    _part(common_cause=common_cause, common_cause_detected=both)
    needed, channels = VOTES[architecture]
    if needed == channels and (
        np.any(np.asarray(common_cause) > 0) or np.any(np.asarray(both) > 0)
    ):
        raise InputError(f"common_cause: a {architecture} has no spare channel that it could take; "
                         "leave it out")  # fmt: skip
    return needed, channels, np.asarray(common_cause, float), np.asarray(both, float)


def average(architecture, channel, common_cause=0.0, common_cause_detected=None):
    """PFD averaged over time, simplified form: of a group of like channels, tested together.

    Parameters: architecture, one of `VOTES`; channel, a `Channel`; common_cause [-], of the
    undetected failures; common_cause_detected [-], None: the same. Returns PFD. Raises InputError
    for another architecture, or a common cause where no channel is spare. Validity: failures hidden
    at the end of the intervals below 0.1 of a channel, else `ValidityWarning`; never above 1.
    Source: IEC 61508-6 (2010), annex B.3.2.2; ISA-TR84.00.02 (same without detection and repair).
    >>> year = 8760 * 3600.0
    >>> round(average("1oo2", Channel(2e-6 / 3600, year), 0.05), 8)
    0.00053034
    """
    needed, n, b, bD = _votes(architecture, common_cause, common_cause_detected)
    hidden = np.asarray(channel.hidden)
    top = rules.SMALL_CHANCE
    words = (f"failures hidden up to {top.number} of a channel: rate times interval is too large, "
             "take the exact average")  # fmt: skip
    rate = np.broadcast_to(channel.undetected_rate, hidden.shape)
    warn_outside(hidden > top.value, "undetected_rate", rate, words, top.source)
    lDU, lDD = np.asarray(channel.undetected_rate), np.asarray(channel.detected_rate)
    MTTR = np.asarray(channel.restoration_time)
    one = lDU * channel.down_time(2) + lDD * MTTR
    if needed == n:
        return result(np.minimum(n * one, 1.0))
    return result(np.minimum(_spare(channel, n, n - needed + 1, b, bD), 1.0))


def _spare(channel, n, lost, b, bD):
    """Group with spare channels: `lost` of n failing independently, or all by a common cause."""
    lDU, lDD = np.asarray(channel.undetected_rate), np.asarray(channel.detected_rate)
    MTTR, lD = np.asarray(channel.restoration_time), lDU + lDD
    safe = np.where(lD == 0, 1.0, lD)
    alone = (1 - bD) * lDD + (1 - b) * lDU
    times = [(lDU * channel.down_time(i) + lDD * MTTR) / safe for i in range(2, lost + 2)]
    ways = np.prod(np.arange(n - lost + 1, n + 1))  # n!/(n - lost)!
    return (ways * alone**lost * np.prod(np.broadcast_arrays(*times), axis=0)
            + bD * lDD * MTTR + b * lDU * channel.down_time(2))  # fmt: skip


def exact_average(architecture, channel, common_cause=0.0, common_cause_detected=None):
    """PFD averaged over time, exact: the mean of the group's own unavailability.

    Each channel fails by exponentials; it is renewed at its strokes, tests and overhauls, found as
    far as each finds; the mean runs over the longest interval. What is under repair counts as a
    steady part. Parameters, raises: as `average`. Returns PFD. Validity: any rate; channels tested
    at the same time. Source: definition; quadrature by Gauss and Legendre between renewals.
    >>> year = 8760 * 3600.0
    >>> round(exact_average("1oo1", Channel(2e-6 / 3600, year)), 7)
    0.0087091
    """
    needed, n, b, bD = _votes(architecture, common_cause, common_cause_detected)
    names = ("undetected_rate", "test_interval", "detected_rate", "repair_time",
             "restoration_time", "test_coverage", "overhaul_interval", "stroke_coverage",
             "stroke_interval")  # fmt: skip
    given = [getattr(channel, name) for name in names]
    given = [np.nan if value is None else value for value in given]
    found = np.vectorize(
        lambda b, bD, *values: _exact(needed, n, b, bD, dict(zip(names, values))), otypes=[float]
    )
    return result(found(b, bD, *given))


def _exact(needed, n, b, bD, of):
    T1, T2, Ts = of["test_interval"], of["overhaul_interval"], of["stroke_interval"]
    end, theta, covered = T1 if np.isnan(T2) else T2, of["stroke_coverage"], of["test_coverage"]
    l, lDD = of["undetected_rate"], of["detected_rate"]
    if np.isnan([l, lDD, T1, theta, covered, b, bD]).any():
        return np.nan
    t, weight = _times(T1, end, Ts)
    since_test = t % T1
    since_stroke = since_test if np.isnan(Ts) else since_test % Ts
    grown = l * (theta * since_stroke + (1 - theta) * (covered * since_test + (1 - covered) * t))
    steady, found = l * of["repair_time"], lDD * of["restoration_time"]
    p = 1 - np.exp(-(1 - b) * grown) / ((1 + (1 - b) * steady) * (1 + (1 - bD) * found))
    common = 1 - np.exp(-b * grown) / ((1 + b * steady) * (1 + bD * found))
    lost = sum(comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(n - needed + 1, n + 1))
    return float(np.sum(weight * (1 - (1 - lost) * (1 - common))) / end)


def _times(T1, end, Ts):
    """Nodes and weights of the time between all renewals up to the end [s]."""
    step = T1 if np.isnan(Ts) else Ts
    refuse(end / step > _MOST_TESTS, "test_interval", step, "gives too many tests of one interval")
    tests = np.arange(0.0, end, T1)
    if not np.isnan(Ts):
        tests = np.concatenate([t + np.arange(0.0, T1, Ts) for t in tests])
    edges = np.append(tests[tests < end * (1 - 1e-12)], end)
    half = np.diff(edges) / 2
    t = edges[:-1, None] + half[:, None] * (1 + _NODES)
    return t.ravel(), (half[:, None] * _WEIGHTS).ravel()


def in_series(*demand_failure):
    """PFD of parts that are all needed: sensor, logic and valve of a trip.

    Parameters: demand_failure of each [-]. Returns their sum, 1 at most. Raises InputError outside
    0 to 1. Validity: the sum is a little above the exact 1 - product(1 - PFD), the safe side.
    Source: IEC 61508-6 (2010), annex B.3.2.1.
    >>> round(in_series(2.3e-4, 4.8e-6, 4.4e-3, 8.8e-3), 6)
    0.013435
    """
    for value in demand_failure:
        _part(demand_failure=value)
    return result(np.minimum(sum(np.asarray(v, float) for v in demand_failure), 1.0))


def same_test_factor(safety_layers):
    """How much the mean of a product is above the product of means, layers all tested at once.

    Parameters: safety_layers, number of single channels tested together, 1 or more. Returns
    2^n/(n + 1), 4/3 for two. Raises InputError for none. Source: mean of (rate t)^n over the
    interval; hidden failures few.
    >>> round(same_test_factor(2), 6)
    1.333333
    """
    n = positive(safety_layers=safety_layers)
    return result(2.0**n / (n + 1.0))


def spurious_rate(architecture, safe_rate, restoration_time, common_cause=0.0):
    """How often a group trips without need.

    Parameters: architecture; safe_rate of a channel [1/s]; restoration_time [s] of a channel that
    has failed so; common_cause [-]. Returns 1/s. Raises InputError as `average`. Validity: failures
    few within a restoration time. Source: ISA-TR84.00.02, forms from memory.
    >>> round(spurious_rate("1oo2", 1e-6 / 3600, 24 * 3600.0) * 8760 * 3600, 5)
    0.01752
    """
    if architecture not in VOTES:
        raise InputError(f"architecture = {architecture!r}: use one of {', '.join(VOTES)}")
    needed, n = VOTES[architecture]
    l, MTTR = not_negative(safe_rate=safe_rate), not_negative(restoration_time=restoration_time)
    _part(common_cause=common_cause)
    b = np.asarray(common_cause, float) if n > 1 else np.zeros(())
    alone = (1 - b) * l
    rate = n * alone if needed == 1 else n * (n - 1) * alone**2 * MTTR
    return result(rate + b * l + 0.0 * MTTR)  # NaN stays NaN where a form needs no time


# ------------------------------------------------------------------ bands
def snapped(value):
    """A number that is a power of ten but for rounding, made one; others as they are.

    Parameters: value, above 0. Returns it. Source: 0.1 * 0.1 * 0.1/1e-5 is 100.00000000000001 in a
    computer.
    >>> snapped(0.1 * 0.1 * 0.1 / 1e-5), snapped(101.0)
    (100.0, 101.0)
    """
    x = positive(value=value)
    decade = np.round(np.log10(np.where(np.isnan(x), 1.0, x)))
    ten = np.where(decade >= 0, 10.0 ** np.abs(decade), 1.0 / 10.0 ** np.abs(decade))
    return result(np.where(np.abs(x / ten - 1) < 1e-9, ten, x))


def band(demand_failure):
    """SIL band that a PFD lies in, low demand: 1 to 4, 0 for none. A band is no SIL: `NOT_PROVED`.

    Parameters: demand_failure [-]. Returns n with 10^-(n+1) <= PFD < 10^-n; 4 also below that.
    Raises InputError outside 0 to 1. Validity: demands at most once a year; 4 is not for the
    process sector without a new design. Source: IEC 61508-1 (2010), table 2; IEC 61511-1.
    >>> band(1e-2), band(5e-3), band(0.1)
    (1.0, 2.0, 0.0)
    """
    _part(demand_failure=demand_failure)
    p = np.maximum(np.asarray(demand_failure, float), 1e-9)
    n = np.ceil(-np.log10(np.asarray(snapped(p)))) - 1.0
    return result(np.clip(n, 0.0, 4.0))
