"""Two gates before any arithmetic: what the code asks, and what two layers share.

Neither opens by itself: the first lists what is unmet or not known, jurisdiction first, the second
takes the credit from whatever shares a part. What was not given is not known, and counts as unmet.
"""

import re
from dataclasses import KW_ONLY, dataclass, fields

import numpy as np

from relieflib import rules
from relieflib.errors import InputError, finite, lone, one_number, positive
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN, Reason

SORTS = ("sensor", "valve", "logic", "operator", "plug", "power")
DESIGN = "ASME BPVC XIII (2021), Part 13, formerly VIII-1 UG-140, from memory"
# what protection by system design asks of its user; jurisdiction first
CONDITIONS = {
    "jurisdiction": "the jurisdiction accepts an instrumented system in place of a device",
    "user": "the user has decided so, in writing, and bears the responsibility",
    "service": "the vessel is not solely in air, water or steam service, or a release of it would "
               "be worse",
    "team": "a team of several trades has gone through ALL overpressure scenarios, and filed it",
    "apparent": "each scenario is readily apparent, so that somebody acts",
    "wrc 498": "WRC Bulletin 498 has been considered",
    "marked": "vessel and data report say that it is protected so",
}  # fmt: skip
SELF_LIMITING = {
    "jurisdiction": "the jurisdiction accepts a vessel without a device on these grounds",
    "documented": "the analysis is filed: highest source pressure at coincident temperature",
}
# what no relief valve protects against; stands with every verdict
NOT_BY_A_VALVE = (
    "a fire on a wall that no liquid wets: a bare rail tank car of LPG with a working valve burst "
    "after 24.5 minutes, a coated one after 94 (US FRA reports RAX 201 and 202, abstracts)",
    "local overheating, a hot spot on one wall",
    "a runaway faster than the valve; deflagration and detonation",
    "static head of liquid above it where what lies upstream fills",
    "vacuum",
    "cold of blow-down or flash: brittle steel",
    "hydraulic hammer, liquid surge",
    "corrosion, fatigue, creep",
    "reverse flow into what stands upstream",
    "plugging, freezing or polymer at its own inlet",
    "what its own discharge does: liquid, poison, fire",
    "back pressure that the same event makes for all valves of a header",
    "chatter of its own",
    "a phase it was not sized for",
    "a block valve that is shut",
)


@dataclass(frozen=True)
class Gate:
    """Findings of the gate of the code: reasons, each with verdict and words; what they come to.

    scenarios, the words of those that were asked, () where the gate asks none.
    """

    name: str
    findings: tuple
    scenarios: tuple = ()

    @property
    def unmet(self):
        """Findings that do not hold or are not known, in their order."""
        return tuple(r for r in self.findings if r.verdict != COVERS)

    @property
    def verdict(self):
        """The worst verdict of the findings; not known without any."""
        found = {r.verdict for r in self.findings} or {UNKNOWN}
        return next(v for v in (FAILS, UNKNOWN, COVERS) if v in found)

    def verdict_on(self, cause):
        """The verdict for one cause, and words: not known where no scenario names the cause."""
        unmet = ", ".join(r.subject for r in self.unmet)
        words = self.words + (f": {unmet}" if unmet else "")
        named = re.compile(rf"(?<!\w){re.escape(cause.strip())}(?!\w)", re.IGNORECASE)
        if self.scenarios and not (cause.strip() and any(map(named.search, self.scenarios))):
            words += f"; none of its scenarios names {cause!r}"
            return (FAILS if self.verdict == FAILS else UNKNOWN), words
        return self.verdict, words

    @property
    def words(self):
        """What it comes to; never more than that this list found nothing against it."""
        if self.unmet:
            return f"{self.name}: {len(self.unmet)} of {len(self.findings)} unmet or not known"
        return (f"{self.name}: nothing in this list stands against it; to decide is for the user, "
                "a licensed engineer and the jurisdiction")  # fmt: skip

    def __str__(self):
        return "\n".join([self.words, *(f"  {r}" for r in self.unmet)])


def _answers(conditions, answers):
    try:
        answers = dict(answers)
    except (TypeError, ValueError):
        raise InputError(f"answers = {answers!r}: a dict of conditions") from None
    for name, value in answers.items():
        if name not in conditions:
            raise InputError(f"condition '{name}': {', '.join(conditions)}")
        if value not in (True, False, None) or value in (0, 1) and not isinstance(value, bool):
            raise InputError(f"{name} = {value!r}: True, False, or None for not known")
    verdicts = {True: COVERS, False: FAILS, None: UNKNOWN}
    return [
        Reason(name, verdicts[answers.get(name)], (words,), DESIGN)
        for name, words in conditions.items()
    ]


def self_limiting(mawp_gauge, highest_gauge, answers=()):
    """Gate 1: the source cannot pass MAWP, so that nothing has to limit it.

    Parameters: mawp_gauge at coincident temperature [Pa gauge]; highest_gauge that the source can
    reach [Pa gauge], None for not known; answers, {name of `SELF_LIMITING`: True, False or None}.
    Returns `Gate`. Raises InputError for impossible values. Source: ASME BPVC XIII Part 13,
    formerly VIII-1 UG-140(a), from memory.
    >>> self_limiting(16e5, 72e5).verdict
    'does not cover'
    """
    mawp, found = _mawp(mawp_gauge), _answers(SELF_LIMITING, answers)
    found.insert(1, _below("source", highest_gauge, mawp, "MAWP", "highest of the source"))
    return Gate("self-limiting source", tuple(found))


def system_design(
    mawp_gauge, scenarios, test_pressure_gauge=None, scenario_stress_ratio=None, answers=()
):
    """Gate 1: protection by system design, its conditions one by one.

    Parameters: mawp_gauge [Pa gauge]; scenarios, {words: highest pressure of each credible scenario
    [Pa gauge], None for not known}; test_pressure_gauge [Pa gauge], None for not known;
    scenario_stress_ratio, allowable stress at the scenario's temperature over that at design [-],
    None for not known (1 is then put in, and the gate stays shut); answers, {name of `CONDITIONS`:
    True, False or None}. Returns `Gate`. Raises InputError for no scenario, or impossible values.
    Source: ASME BPVC XIII Part 13, formerly VIII-1 UG-140(b), from memory; 116 % of MAWP times the
    ratio of stresses, and no more than the test pressure.
    >>> gate = system_design(16e5, {"PV-101 fails open, trip fails": 60e5})
    >>> gate.verdict, gate.unmet[0].subject
    ('does not cover', 'jurisdiction')
    """
    mawp, found = _mawp(mawp_gauge), _answers(CONDITIONS, answers)
    if not scenarios:
        raise InputError("scenarios: give every credible one; an empty list protects nothing")
    ratio = _known(scenario_stress_ratio=scenario_stress_ratio)
    test = _known(test_pressure_gauge=test_pressure_gauge)
    limit = rules.SYSTEM_DESIGN.value * mawp * (1.0 if ratio is None else ratio)
    limit = limit if test is None else min(limit, test)
    what = f"{rules.SYSTEM_DESIGN.number} of MAWP times the ratio of stresses, or the test pressure"
    found += [_below(words, top, limit, what) for words, top in scenarios.items()]
    for name, value in (("test pressure", test), ("stress ratio", ratio)):
        if value is None:
            found.append(Reason(name, UNKNOWN, ("not given, and part of the limit",), DESIGN))
    return Gate("protection by system design", tuple(found), tuple(scenarios))


def _mawp(mawp_gauge):
    return float(positive(mawp_gauge=one_number(mawp_gauge=mawp_gauge)))


def _known(**given):
    """One value above 0, None where it is not given or NaN."""
    (value,) = given.values()
    if value is None or np.isnan(float(positive(**given))):
        return None
    return float(value)


def _below(subject, top, limit, what, whose="reaches"):
    if top is None or np.isnan(top := lone(highest_gauge=top)):
        return Reason(subject, UNKNOWN, ("highest pressure not known",), DESIGN)
    finite(highest_gauge=top)
    words = (f"{whose} ", ("pressure_gauge", top), ", limit ", ("pressure_gauge", limit),
             f" ({what})")  # fmt: skip
    return Reason(subject, COVERS if top <= limit else FAILS, words, DESIGN)


# ------------------------------------------------------------------ gate 2
@dataclass(frozen=True)
class Parts:
    """What a layer, or the cause itself, rests on: tags of each sort, () for none, None not said.

    sensor, valve, logic, operator, plug (what may block both), power (and air, where loss of it
    makes the layer fail): tuples of str. Raises InputError for a bare str.
    """

    _: KW_ONLY
    sensor: tuple | None = None
    valve: tuple | None = None
    logic: tuple | None = None
    operator: tuple | None = None
    plug: tuple | None = None
    power: tuple | None = None

    def __post_init__(self):
        for sort in SORTS:
            value = getattr(self, sort)
            whole = isinstance(value, tuple) and all(isinstance(v, str) and v for v in value)
            if not (value is None or whole):
                raise InputError(f"{sort} = {value!r}: a tuple of tags, () for none")

    @classmethod
    def only(cls, **parts):
        """Parts of which every sort that is not named is none."""
        names = {f.name for f in fields(cls)} - {"_"}
        if set(parts) - names:
            raise InputError(f"sort '{(set(parts) - names).pop()}': {', '.join(SORTS)}")
        return cls(**dict.fromkeys(SORTS, ()) | parts)


def ticks(first, second):
    """Gate 2: a tick for each sort of part, shared or not.

    Parameters: first, second, `Parts`. Returns {sort: tags that both rest on, a tuple; None where
    one of them does not say}. Raises InputError for something else. Source: CCPS, LOPA (2001), ch.
    6; IEC 61511-1 (2016), 9.3, from memory.
    >>> ticks(Parts.only(sensor=("PT-1",)), Parts.only(sensor=("PT-1", "PT-2")))["sensor"]
    ('PT-1',)
    """
    for one in (first, second):
        if not isinstance(one, Parts):
            raise InputError(f"parts = {one!r}: must be Parts")
    found = {}
    for sort in SORTS:
        a, b = getattr(first, sort), getattr(second, sort)
        # nothing of a sort on one side is shared with nobody, whatever the other does not say
        known = () in (a, b) or None not in (a, b)
        found[sort] = tuple(tag for tag in a or () if tag in (b or ())) if known else None
    return found


def independent(first, second, words="the cause"):
    """Gate 2 as a `Reason`: independent, shares a part, or not known.

    Parameters: first, second as `ticks`; words, what the second is called. Returns
    `safeguard.judge.Reason`. Raises InputError, source: as `ticks`.
    >>> independent(Parts.only(valve=("PV-1",)), Parts.only(valve=("PV-1",))).words
    'shares valve PV-1 with the cause'
    """
    found = ticks(first, second)
    shared = [f"{sort} {', '.join(tags)}" for sort, tags in found.items() if tags]
    unsaid = [sort for sort, tags in found.items() if tags is None]
    source = "CCPS, LOPA (2001), ch. 6, from memory"
    if shared:
        said = f"shares {' and '.join(shared)} with {words}"
        return Reason("independence", FAILS, (said,), source)
    if unsaid:
        said = f"not said whether it shares {', '.join(unsaid)} with {words}"
        return Reason("independence", UNKNOWN, (said,), source)
    return Reason("independence", COVERS, (f"shares nothing with {words}",), source)
