"""Is a trip fast enough: sensor, logic and valve against part of the process safety time."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib import rules
from relieflib.errors import lone, not_negative, positive, refuse, result
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN, Reason
from relieflib.units import to_si


@dataclass(frozen=True)
class Response:
    """What a trip takes: sensor_time, logic_time, stroke_time of its valve, margin_time [s]."""

    sensor_time: float
    logic_time: float
    stroke_time: float
    _: KW_ONLY
    margin_time: float = 0.0

    def __post_init__(self):
        for name in ("sensor_time", "logic_time", "stroke_time", "margin_time"):
            not_negative(**{name: getattr(self, name)})

    @property
    def time(self):
        """All of it together [s]."""
        return result(np.asarray(self.sensor_time, float) + self.logic_time + self.stroke_time
                      + self.margin_time)  # fmt: skip


def stroke_of(diameter):
    """First estimate of the stroke of a trip's valve.

    Parameters: diameter of the valve [m]. Returns s. Raises InputError for none. Validity: a guess
    until the valve's own stroke has been timed. Source: common practice, 1 s an inch.
    >>> round(stroke_of(0.1016), 6)
    4.0
    """
    return result(
        rules.STROKE_PER_INCH.value * positive(diameter=diameter) / to_si(1.0, "in", "length")
    )


def time_allowed(safety_time, time_share=rules.RESPONSE_SHARE.value):
    """Time that a trip may take.

    Parameters: safety_time [s], infinite where the limit is never reached; time_share [-] of it
    that is used. Returns s. Raises InputError for a negative time, a share not above 0 or above 1.
    Source: common practice, half.
    >>> round(time_allowed(13.946), 3)
    6.973
    """
    if np.ndim(safety_time) == 0:
        safety_time = lone(safety_time=safety_time)
    t, share = np.asarray(safety_time, float), positive(time_share=time_share)
    refuse(t < 0, "safety_time", t, "must not be negative")
    refuse(share > 1, "time_share", share, "must not be above 1")
    return result(share * t)


def in_time(response, safety_time, time_share=rules.RESPONSE_SHARE.value):
    """Does a trip act in time: a `Reason` with verdict and words.

    Parameters: response, a `Response`, or None for not given; safety_time [s], None or NaN for not
    known; time_share [-] of it that a trip may use: above the usual half the words say so, at 1,
    where nothing is kept, it is not known. Returns `safeguard.judge.Reason`. Raises InputError as
    `time_allowed`. Source: common practice, half.
    >>> in_time(Response(1.0, 0.5, 4.0), 13.946).verdict, in_time(None, 13.946).verdict
    ('covers', 'not known')
    """
    safety_time = np.nan if safety_time is None else lone(safety_time=safety_time)
    if response is None or np.isnan([response.time, safety_time]).any():
        return Reason("time", UNKNOWN, ("response or process safety time is not known",))
    allowed, needed = time_allowed(safety_time, time_share), response.time
    if needed == 0:
        return Reason("time", UNKNOWN, ("no trip acts in no time: its response is not given",))
    if np.isinf(safety_time):
        words = "the pressure comes to rest below the limit, by the run in time"
        return Reason("time", COVERS, (words,))
    words = (f"needs {needed:.3g} s, may take {allowed:.3g} s: {time_share:.3g} of the "
             f"{safety_time:.3g} s from its setting to the limit")  # fmt: skip
    if time_share > rules.RESPONSE_SHARE.value:
        words += f", where {rules.RESPONSE_SHARE.value:g} is usual"
    if needed > allowed:
        return Reason("time", FAILS, (words,), rules.NONE)
    if time_share == 1:
        return Reason("time", UNKNOWN, (words + "; nothing is kept for what was not thought of",))
    return Reason("time", COVERS, (words,), rules.NONE)


def operator_in_time(safety_time):
    """Has somebody the time to act on an alarm: a `Reason` with verdict and words.

    Parameters: safety_time [s] from the alarm's setting to the limit, or to what acts next; None or
    NaN for not known. Returns `safeguard.judge.Reason`. Raises InputError for a negative time.
    Validity: an action that is written down and trained; far below an hour nobody is sure to act.
    Source: CCPS, LOPA (2001), table 6.5, from memory: no credit below 10 minutes.
    >>> operator_in_time(600.0).verdict, operator_in_time(13.946).verdict
    ('covers', 'does not cover')
    """
    rule = rules.OPERATOR_TIME
    t = np.nan if safety_time is None else lone(safety_time=safety_time)
    if np.isnan(t):
        return Reason("time", UNKNOWN, ("time to act is not known",))
    refuse(t < 0, "safety_time", t, "must not be negative")
    words = f"{t / 60:.3g} min to act, {rule.number} at least"
    return Reason("time", COVERS if t >= rule.value else FAILS, (words,), rule.source)
