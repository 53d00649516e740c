"""Arithmetic of layers: how often a scenario comes to its end, against the company's own target.

A layer counts when it shares nothing with the cause nor with a layer already counted, is dependable
and, where it is a valve, a trip or an alarm, has been found to cover this very cause. What is not
known counts for nothing. The target has no default: without it there is no verdict. A frequency is
no leave to do without a relief device: where none counts, the gate of the code is asked as well.
"""

from dataclasses import KW_ONLY, dataclass, field

import numpy as np

from relieflib import rules
from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.kinds import YEAR
from relieflib.protection.gates import NOT_BY_A_VALVE, Gate, Parts, independent
from relieflib.protection.groups import band, same_test_factor, snapped
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN, VERDICTS, WORST_FIRST
from relieflib.texts import clean

VALVE, TRIP, CONTROL, ALARM, OTHER = "relief valve", "trip", "control", "alarm", "other"
SORTS_OF_LAYER = (VALVE, TRIP, CONTROL, ALARM, OTHER)
METHOD = "CCPS, LOPA (2001), ch. 6; IEC 61511-3 (2016), annex F, from memory"
_MOST = {CONTROL: rules.CONTROL_AT_LEAST, ALARM: rules.ALARM_AT_LEAST}
NO_TARGET = "no verdict: the company's own target is not given"


def _chance(name, value):
    array = not_negative(**{name: value})
    refuse(array > 1, name, array, "must lie between 0 and 1")
    return array


def frequency_left(initiating_frequency, *demand_failure):
    """How often a cause passes everything that counts against it.

    Parameters: initiating_frequency [1/s]; demand_failure, PFD of each layer and each fraction of
    enabling conditions and modifiers [-]. Returns 1/s. Raises InputError for impossible values.
    Validity: independent of one another. Source: CCPS, LOPA (2001).
    >>> round(frequency_left(0.1, 0.005, 0.01) * 1e6, 9)
    5.0
    """
    f = not_negative(initiating_frequency=initiating_frequency)
    for value in demand_failure:
        f = f * _chance("demand_failure", value)
    return result(f)


def reduction_wanted(frequency, target_frequency):
    """By how much a frequency has to fall to its target; decades snapped.

    Parameters: frequency, target_frequency [1/s], both in the same unit. Returns frequency over
    target. Raises InputError for 0 or less. Source: CCPS, LOPA (2001).
    >>> reduction_wanted(0.1 * 0.1 * 0.1, 1e-5)
    100.0
    """
    f, target = positive(frequency=frequency), positive(target_frequency=target_frequency)
    return result(snapped(f / target))


@dataclass(frozen=True)
class Layer:
    """One layer: name, demand_failure (PFD), sort of `SORTS_OF_LAYER`, parts it rests on.

    verdict, of a valve, a trip or an alarm whether it covers THIS cause (`safeguard.cover`,
    `trips.beside`, `response.operator_in_time`): without it the layer counts for nothing;
    tested_with, a name that layers share which are tested at the same instant. Raises InputError
    for impossible values.
    """

    name: str
    demand_failure: float
    sort: str
    parts: Parts = field(default_factory=Parts)
    _: KW_ONLY
    verdict: str | None = None
    tested_with: str = ""

    def __post_init__(self):
        p = _chance("demand_failure", self.demand_failure)
        if p.ndim:
            raise InputError(f"demand_failure of {self.name}: must be one number")
        if self.sort not in SORTS_OF_LAYER:
            raise InputError(f"sort = {self.sort!r}: use one of {', '.join(SORTS_OF_LAYER)}")
        if self.verdict not in (None, *VERDICTS):
            raise InputError(f"verdict = {self.verdict!r}: use one of {', '.join(VERDICTS)}")
        if not isinstance(self.parts, Parts):
            raise InputError(f"parts of {self.name}: must be Parts")


@dataclass(frozen=True)
class Credit:
    """What one layer counts for: layer, factor [-], 1 for nothing, why not or how, and what is
    left after it [1/s].
    """

    layer: Layer
    factor: float
    why: str
    frequency: float

    @property
    def counts(self):
        """True where it takes something off."""
        return self.factor < 1.0

    def __str__(self):
        return clean(f"{self.layer.name}: {'counts' if self.counts else 'no credit'}: {self.why}")


@dataclass(frozen=True)
class Scenario:
    """One cause on its way to one consequence.

    name; initiating_frequency [1/s]; parts that the CAUSE rests on; layers in the order in which
    they act; enabling and modifiers, {words: fraction}; consequence, words; cause, words by which
    the gate of the code knows it, '' for the name. Raises InputError.
    """

    name: str
    initiating_frequency: float
    parts: Parts
    layers: tuple = ()
    _: KW_ONLY
    enabling: dict = field(default_factory=dict)
    modifiers: dict = field(default_factory=dict)
    consequence: str = "loss of containment"
    cause: str = ""

    def __post_init__(self):
        f = not_negative(initiating_frequency=self.initiating_frequency)
        if f.ndim:
            raise InputError(f"initiating_frequency of {self.name}: must be one number")
        names = [layer.name for layer in self.layers]
        if len(set(names)) < len(names):
            raise InputError(f"layers of {self.name}: a name stands twice")
        if not isinstance(self.parts, Parts):
            raise InputError(f"parts of {self.name}: must be Parts")
        for words, value in (self.enabling | self.modifiers).items():
            _chance("enabling", value)
            if np.ndim(value):
                raise InputError(f"{words}: must be one number")

    @property
    def unprotected(self):
        """How often with no layer at all [1/s], enabling conditions and modifiers in it."""
        return frequency_left(self.initiating_frequency, *self.enabling.values(),
                              *self.modifiers.values())  # fmt: skip

    @property
    def credits(self):
        """`Credit` of each layer in order."""
        left, done, counted = self.unprotected, [], []
        for layer in self.layers:
            why_not = _against(layer, self.parts, counted)
            factor, why = (1.0, why_not) if why_not else _factor(layer, counted)
            left *= factor
            if factor < 1.0:
                counted.append(layer)
            done.append(Credit(layer, factor, why, left))
        return tuple(done)

    @property
    def frequency(self):
        """How often in the end [1/s]."""
        credits = self.credits
        return credits[-1].frequency if credits else self.unprotected

    @property
    def doubts(self):
        """Words on the premises: a demand that is no longer rare, a trip that is too good."""
        least = rules.TRIP_AT_LEAST
        trips = [c for c in self.credits if c.counts and c.layer.sort == TRIP]
        words = tuple(f"PFD of {c.layer.name} below {least.number}: better than one trip is "
                      "believed to be"
                      for c in trips if c.factor < least.value * (1 - 1e-9))  # fmt: skip
        if self.initiating_frequency > rules.LOW_DEMAND.value / YEAR * (1 + 1e-9):
            words += (
                "the cause comes more than once a year: PFD of the low-demand mode does "
                "not hold, and a layer cannot do better than its own rate of failure",
            )
        return words

    @property
    def device_counts(self):
        """True where a relief valve is among what counts."""
        return any(c.counts and c.layer.sort == VALVE for c in self.credits)


def _against(layer, cause, counted):
    """Why a layer counts for nothing; '' where it counts."""
    p = layer.demand_failure
    if np.isnan(p):
        return "its PFD is not known"
    if p > rules.LAYER_AT_MOST.value * (1 + 1e-9):
        return f"PFD above {rules.LAYER_AT_MOST.number}: not dependable enough to be a layer"
    if p == 0:
        return "a PFD of 0 is none: nothing never fails"
    if layer.sort in (VALVE, TRIP, ALARM) and layer.verdict != COVERS:
        return f"{layer.verdict or UNKNOWN} for this cause"
    for parts, words in [(cause, "the cause"), *((c.parts, c.name) for c in counted)]:
        reason = independent(layer.parts, parts, words)
        if reason.verdict != COVERS:
            return reason.words
    if layer.sort == CONTROL and any(c.sort == CONTROL for c in counted):
        return "the control system has been counted already"
    return ""


def _factor(layer, counted):
    """PFD that is used, and how it was changed."""
    p, why = layer.demand_failure, f"PFD {layer.demand_failure:.3g}"
    if layer.sort in _MOST and p < _MOST[layer.sort].value:
        p = _MOST[layer.sort].value
        what = "a control system" if layer.sort == CONTROL else "an alarm with its operator"
        why = f"PFD {p:g}, the most that {what} counts for"
    same = sum(bool(layer.tested_with) and c.tested_with == layer.tested_with for c in counted)
    if same:
        more = same_test_factor(same + 1) / same_test_factor(same)
        p, why = min(p * more, 1.0), f"{why}, times {more:.3g}: tested together with another"
    return p, why


@dataclass(frozen=True)
class Verdict:
    """Scenarios of one consequence, added up, against a target [1/s]; None for not given.

    code, the `Gate` of what stands in place of a relief device, None for not asked.
    """

    scenarios: tuple
    target_frequency: float | None
    code: Gate | None = None

    @property
    def frequency(self):
        """How often the consequence comes, all scenarios together [1/s]."""
        return float(sum(s.frequency for s in self.scenarios))

    @property
    def reduction(self):
        """Frequency over target, still wanted; NaN without a target, 1 or less is enough."""
        if self.target_frequency is None or self.frequency == 0:
            return np.nan
        return reduction_wanted(self.frequency, self.target_frequency)

    @property
    def without_device(self):
        """Names of the scenarios in which no relief valve counts."""
        return tuple(s.name for s in self.scenarios if not s.device_counts)

    @property
    def by_code(self):
        """Verdict and words of the gate of the code; 'covers' where a valve counts everywhere."""
        names = ", ".join(self.without_device)
        if not names:
            return COVERS, ""
        if self.code is None:
            return UNKNOWN, (f"no relief device counts for {names}: what the code asks in place of "
                             "one is not answered")  # fmt: skip
        asked = [self.code.verdict_on(s.cause or s.name) for s in self.scenarios
                 if not s.device_counts]  # fmt: skip
        verdict, words = min(asked, key=lambda found: WORST_FIRST.index(found[0]))
        return verdict, f"no relief device counts for {names}; {words}"

    @property
    def in_number(self):
        """Verdict on the frequency alone: 'not known' with no target or a doubtful premise."""
        if self.target_frequency is None or np.isnan(self.reduction):
            return UNKNOWN
        if self.reduction > 1.0:
            return FAILS
        return UNKNOWN if any(s.doubts for s in self.scenarios) else COVERS

    @property
    def verdict(self):
        """The worse of frequency and code; without a target always 'not known'."""
        if self.target_frequency is None:
            return UNKNOWN
        return min(self.in_number, self.by_code[0], key=WORST_FIRST.index)

    @property
    def number_words(self):
        """Frequency, target and verdict in words, without what the code asks."""
        f = f"{self.frequency * YEAR:.3g} a year"
        if self.target_frequency is None:
            return f"{f}; {NO_TARGET}"
        words = f"{f} against a target of {self.target_frequency * YEAR:.3g} a year: {self.verdict}"
        if self.in_number == FAILS:
            wanted = 1.0 / self.reduction
            n = int(band(wanted))
            words += f"; a further layer of PFD {wanted:.3g} or less is wanted"
            words += f", in the band of SIL {n}" if n else ""
        return "; ".join([words, *(d for s in self.scenarios for d in s.doubts)])

    @property
    def words(self):
        """The verdict in words."""
        return clean("; ".join(filter(None, (self.number_words, self.by_code[1]))))

    @property
    def not_protected(self):
        """What stands with every verdict: against what no valve protects."""
        return NOT_BY_A_VALVE

    def __str__(self):
        lines = [self.words]
        for s in self.scenarios:
            lines += [f"  {s.name}: {s.frequency * YEAR:.3g} a year"]
            lines += [f"    {credit}" for credit in s.credits]
        lines += ["no valve protects against:", *(f"  {w}" for w in self.not_protected)]
        return clean("\n".join(lines))


def judge(scenarios, target_frequency, code=None):
    """Scenarios of one consequence against the company's target.

    Parameters: scenarios, a list of `Scenario`; target_frequency [1/s], typed in by the company;
    None: no verdict; code, the `Gate` of what would stand in place of a relief device: asked of
    each scenario, by its cause, in which no relief valve counts. Returns `Verdict`. Raises
    InputError for no scenario, a name that stands twice, several consequences, a target not above
    0, a code that is no gate. Source: CCPS, LOPA (2001); IEC 61511-3 (2016), annex F, from memory.
    >>> from relieflib.protection.gates import Parts
    >>> one = Scenario("loop fails", 0.1, Parts.only(logic=("DCS",)))
    >>> judge([one], None).verdict
    'not known'
    """
    scenarios = tuple(scenarios)
    names = [s.name for s in scenarios]
    if not scenarios or len(set(names)) < len(names):
        raise InputError("scenarios: give at least one, each with its own name")
    ends = sorted({s.consequence for s in scenarios})
    if len(ends) > 1:
        raise InputError(f"scenarios end in {' and '.join(ends)}: add up those of one consequence")
    if target_frequency is not None:
        target = positive(target_frequency=target_frequency)
        refuse(np.isnan(target), "target_frequency", target, "must be a number, or None")
        target_frequency = float(target)
    if code is not None and not isinstance(code, Gate):
        raise InputError(f"code = {code!r}: must be a Gate, or None for not asked")
    return Verdict(scenarios, target_frequency, code)
