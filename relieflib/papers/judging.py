"""Which entry differs between the papers of one valve, and which paper is probably right.

What speaks against a paper comes first: a set above MAWP, an area too small for the governing case,
a flange that does not bear its set. Then the papers vote, each kind once; where one stands against
one, neither is believed, and the words say where to look.
"""

from dataclasses import dataclass, field

from relieflib import pid_note
from relieflib.datasheet.checks import AREA_CLOSE, check_row
from relieflib.datasheet.recompute import PRESSURE_CLOSE, recompute
from relieflib.errors import lone
from relieflib.kinds import FACTORS
from relieflib.orifices import Designation, flange_rating, orifice_area, pair_words
from relieflib.papers.paper import ENTRIES, NOTE, SHEET, SUMMARY, barg, mm2
from relieflib.pid_note import CLOSE
from relieflib.rules import NONE as PRACTICE
from relieflib.set_pressure import highest_set
from relieflib.units import ICE_POINT
from relieflib.valve_questions import kept, large_enough

SEVERITY = {"tag": 3, "protected item": 1, "number of valves": 1, "valves in duty": 1, "spares": 2,
            "set pressure": 1, "letter": 1, "sizes": 2, "flange classes": 2, "kind of device": 2,
            "disk under the valve": 2, "governing case": 1, "phase": 1, "load": 1,
            "relieving pressure": 1, "back pressure": 2, "required area": 1, "destination": 2,
            "area of the duty valves": 1}  # fmt: skip
# Where an entry is settled, whatever the papers say. Common practice, no source.
HOME = {
    "tag": "the plate on the valve and the list of tags",
    "protected item": "the drawing, followed from the valve to the equipment",
    "number of valves": "the valves that stand there", "spares": "the valves that stand there",
    "valves in duty": "the block valves in the field: which valves stand open",
    "set pressure": "the plate and the last test of the valve, and the MAWP of what it protects",
    "letter": "the plate of the valve, then the required area",
    "sizes": "the plate of the valve and its flanges",
    "flange classes": "the flanges, and their rating at the relieving temperature",
    "kind of device": "the plate and the maker's drawing of the valve",
    "disk under the valve": "the flanges below the valve",
    "governing case": "the load summary, once its list of causes is whole",
    "phase": "the sizing of the governing case", "load": "the sizing of the governing case",
    "relieving pressure": "set pressure and what the code allows above it",
    "back pressure": "the header, in the event in which it is highest",
    "required area": "the sizing, worked out again",
    "destination": "the line, followed in the field to its end",
}  # fmt: skip
_SHARE = {"required area": AREA_CLOSE, "relieving pressure": PRESSURE_CLOSE,
          "back pressure": AREA_CLOSE, "load": CLOSE}  # fmt: skip
_USUAL = {"gauge pressure": ("bar", "psi", "kPa", "MPa", "kg/cm2"),
          "mass flow": ("kg/h", "kg/s", "t/h", "lb/h"), "area": ("mm2", "cm2", "in2")}  # fmt: skip
_PRESSURE_KINDS = ("pressure", "gauge pressure", "pressure difference")
UNIT_CLOSE = 0.01  # of a ratio, to tell a unit mistaken from a number that differs
_HOLD_RATING = 311.15  # K, 38 °C, where the sheet gives no temperature


@dataclass(frozen=True)
class Entry:
    """One entry of all papers: verdict and severity as `datasheet.Check`.

    said, {paper: words}; missing, kinds of paper that should say it and don't; likely, the papers
    that are probably right, () for none to be believed; why, words for that, and where to look.
    """

    name: str
    verdict: str
    said: dict
    missing: tuple = ()
    likely: tuple = ()
    why: str = ""
    severity: int = 4
    source: str = PRACTICE


@dataclass(frozen=True)
class Found:
    """What the papers of one valve say: entries, and what the sheet's own numbers contradict.

    checks, [(paper, `Check` that differs)] of the datasheet's rows and of the note against itself;
    problems, words on what could not be read or is missing.
    """

    tag: str
    papers: tuple
    entries: tuple
    checks: tuple = ()
    problems: tuple = ()
    unread: tuple = field(default=())

    @property
    def differing(self):
        """Entries that differ, most severe first."""
        return sorted((e for e in self.entries if e.verdict == "differs"), key=lambda e: e.severity)

    @property
    def differs(self):
        """Number of entries and of checks that differ."""
        return len(self.differing) + len(self.checks)


def hold(gathered):
    """Hold the papers of one valve against each other.

    Parameters: gathered, as `paper.of_valve`. Returns `Found`: an `Entry` for each of
    `paper.ENTRIES` that a paper there could say, then 'area of the duty valves'. Validity: papers
    copied from each other agree and may all be wrong. Source: common practice, no source; areas
    API 526; ratings ASME B16.5; set ASME BPVC XIII.
    """
    papers, context = gathered.papers, _Context(gathered)
    kinds = {p.kind for p in papers}
    entries = [
        _entry(name, papers, [k for k in expected if k in kinds], context)
        for name, expected in ENTRIES.items()
        if len([k for k in expected if k in kinds]) > 1 or any(name in p.said for p in papers)
    ]
    unread = [f"{p.name}, {entry}: {words}" for p in papers for entry, words in p.unread.items()]
    return Found(gathered.tag, tuple(papers), (*entries, _area(papers, context)),
                 tuple(_own_checks(papers)), tuple(gathered.problems), tuple(unread))  # fmt: skip


class _Context:
    """What several entries are judged by: MAWP, the area needed, the governing case."""

    def __init__(self, gathered):
        self.papers, self.mawp_gauge = gathered.papers, gathered.mawp_gauge
        self.cases = next((p.cases for p in self.papers if p.cases), ())
        self.rows = [(p, recompute(p.row)) for p in self.papers if p.row is not None]
        needs = [(case.required * p.row.get("valves", 1.0), f"{p.name}, worked out again")
                 for p, case in self.rows if case.required]  # fmt: skip
        if self.cases:
            needs.append((self.cases[0].required_area, f"load summary, {self.cases[0].cause}"))
        if not needs:  # nothing to prove it by: what the sheet says itself
            needs = [(p.said["required area"].value, f"{p.name}, as it says") for p in self.papers
                     if "required area" in p.said]  # fmt: skip
        self.need, self.need_by = max(needs, default=(None, ""))  # the safe side
        self.duty = max((p.said["valves in duty"].value[0] for p in self.papers
                         if "valves in duty" in p.said), default=1)  # fmt: skip


def _entry(name, papers, expected, context):
    said = {p.name: p.said[name].words for p in papers if name in p.said}
    missing = tuple(k for k in expected if not any(p.kind == k and name in p.said for p in papers))
    there = [p for p in papers if name in p.said]
    groups = _groups(name, there)
    level = SEVERITY[name]
    against = _AGAINST.get(name, lambda p, c: "")
    wrong = {p.name: w for p in there if (w := against(p, context))}
    if len(groups) > 1:
        likely, why = _likely(name, groups, wrong, context)
        return Entry(name, "differs", said, missing, likely, why, level)
    if wrong:  # all say the same, and it can't be
        return Entry(name, "differs", said, missing, (), _sentence(wrong, name), level)
    verdict = "agrees" if len(there) > 1 else "not given"
    return Entry(name, verdict, said, missing, severity=level)


def _groups(name, papers):
    """Papers that say the same, the largest group first; of one kind they count once."""
    groups = []
    for paper in papers:
        for group in groups:
            if all(_same(name, paper.said[name], other.said[name]) for other in group):
                group.append(paper)
                break
        else:
            groups.append([paper])
    return sorted(groups, key=lambda group: -len({p.kind for p in group}))


def _same(name, one, other):
    """True where two papers say the same of an entry."""
    a, b = one.value, other.value
    if name == "valves in duty":
        return a[0] <= b[1] and b[0] <= a[1]
    if name == "flange classes":
        return all(x == y for x, y in zip(a, b) if x and y)
    if name == "phase":
        return a == b or {a, b} == {"steam", "gas"}
    if name in _SHARE:
        if one.kind != other.kind:  # a volume flow against a mass flow: not comparable here
            return True
        half = max(one.half, other.half)
        return any(
            _near(x, y, half, _SHARE[name]) for x in (a, *one.also) for y in (b, *other.also)
        )
    return pid_note.same(name, a, b)


def _near(one, other, half, share):
    return abs(one - other) <= (half + share * min(abs(one), abs(other))) * (1 + 1e-9)


# --- which is probably right --------------------------------------------------------------------


def _likely(name, groups, wrong, context):
    """(names of the papers that are probably right, why)."""
    standing = [g for g in groups if not any(p.name in wrong for p in g)]
    parts = [f"{paper}: {words}" for paper, words in wrong.items()]
    parts += filter(None, (_pattern(name, groups, context),))
    votes = [len({p.kind for p in g}) for g in standing]
    likely = ()
    if not standing:
        parts.append("none of these papers can be right")
    elif len(votes) == 1 and wrong:
        likely = tuple(p.name for p in standing[0])
    elif votes[0] > 1 and (len(votes) == 1 or votes[0] > votes[1]):
        likely = tuple(p.name for p in standing[0])
        parts.append(f"{votes[0]} papers against {_count(groups, standing[0])}")
    else:
        parts.append("one against one: neither proves it" if max(votes) == 1 else "papers divided")
    parts.append(f"settled by: {HOME[name]}")
    return likely, "; ".join(parts)


def _count(groups, group):
    return len({p.kind for g in groups if g is not group for p in g})


def _sentence(wrong, name):
    words = "; ".join(f"{paper}: {w}" for paper, w in wrong.items())
    return f"{words}; settled by: {HOME[name]}"


def _pattern(name, groups, context):
    """Words where two numbers differ as mistaken units or rounding make them differ."""
    one, other = groups[0][0].said[name], groups[1][0].said[name]
    if name == "set pressure":
        return _pressures_apart(one, other, context)
    other_case = _of_other_case(name, groups, context)
    if other_case:
        return other_case
    if name in _SHARE and one.kind == other.kind:
        air = next((p.row.atmosphere for p, _ in context.rows), None)
        return unit_slip(one.value, other.value, one.kind, air)
    return ""


def _of_other_case(name, groups, context):
    """Words where a sheet's load or area is that of a case of the summary that does not govern."""
    attribute = {"load": "mass_flow", "required area": "required_area"}.get(name)
    for paper in (p for g in groups for p in g if attribute and p.kind == SHEET):
        said = paper.said[name]
        for case in context.cases[1:]:
            own = getattr(case, attribute)
            if said.kind in ("mass flow", "area") and abs(said.value - own) <= (
                max(said.half, _SHARE[name] * own)
            ):
                return (f"{said.words} is that of '{case.cause}', which does not govern by the "
                        "load summary")  # fmt: skip
    return ""


def _pressures_apart(one, other, context):
    (a, half), (b, other_half) = one.value, other.value
    if len(a) != len(b):
        return "staggered sets on one paper, one set on the other"
    if all(abs(x - y) <= max(half, other_half) for x, y in zip(sorted(a), sorted(b))):
        return "one is the other, rounded: the paper with more digits is nearer"
    air = next((p.row.atmosphere for p, _ in context.rows), None)
    return unit_slip(a[0], b[0], "gauge pressure", air)


def unit_slip(one, other, kind, atmosphere=None):
    """Words where two numbers of one kind differ as a unit mistaken for another makes them.

    Parameters: one and other, in SI; kind of quantity; atmosphere [Pa] or None. Returns str, ''
    where no usual pair of units fits within 1 %. Raises InputError for arrays. Source: NIST
    SP 811, by `kinds`.
    >>> unit_slip(16e5, 16e5 / 14.5038, "gauge pressure")
    'the two stand as 1 bar to 1 psi: one unit was read for the other'
    """
    one, other = lone(one=one), lone(other=other)
    if not one or not other:
        return ""
    low, high = sorted((abs(one), abs(other)))
    pressure = kind in _PRESSURE_KINDS
    if pressure and atmosphere and abs(high - low - atmosphere) <= UNIT_CLOSE * atmosphere:
        return "the two are one atmosphere apart: one was read as gauge, the other as absolute"
    usual = _USUAL.get("gauge pressure" if pressure else kind, ())
    factors = FACTORS["pressure difference" if pressure else kind] if usual else {}
    for large in usual:
        for small in usual:
            ratio = factors[large] / factors[small]
            if ratio > 1.01 and abs(high / low / ratio - 1) <= UNIT_CLOSE:
                return f"the two stand as 1 {large} to 1 {small}: one unit was read for the other"
    return ""


# --- what speaks against a paper ----------------------------------------------------------------


def _set_against(paper, context):
    """The first valve may be set at MAWP at most."""
    sets, half = paper.said["set pressure"].value
    if context.mawp_gauge is None:
        return ""
    half = min(half, CLOSE * min(sets))
    limit = highest_set(context.mawp_gauge)
    if kept(min(sets), limit, half):
        return ""
    return f"{barg(min(sets))} is above MAWP {barg(context.mawp_gauge)}"


def _letter_against(paper, context):
    """The letters of the valves in duty must have the area."""
    if context.need is None:
        return ""
    areas = sorted(orifice_area(letter) for letter in paper.said["letter"].value)
    duty = paper.said["valves in duty"].value[0] if "valves in duty" in paper.said else context.duty
    areas = areas * duty if len(areas) == 1 else areas[:duty]
    if large_enough(context.need, sum(areas)).holds:
        return ""
    return f"{mm2(sum(areas))} in duty is less than the {mm2(context.need)} needed"


def _pair_against(paper, context):
    """Inlet and outlet must be a pair of the letter."""
    if "letter" not in paper.said:
        return ""
    letter = paper.said["letter"].value[0]
    words = {pair_words(str(Designation(a, letter, b))) for a, b in paper.said["sizes"].value}
    return "; ".join(sorted(words - {""})) if len(set(paper.said["letter"].value)) == 1 else ""


def _case_against(paper, context):
    """Another case than the one with the largest area."""
    words = paper.said["governing case"].value
    if paper.kind == SUMMARY or not context.cases:
        return ""
    first = context.cases[0]
    if pid_note.same("governing case", words, first.cause):
        return ""
    known = [c for c in context.cases if pid_note.same("governing case", words, c.cause)]
    if not known:
        return ""  # the summary may lack a cause: no proof against the paper
    share = known[0].required_area / first.required_area if first.required_area else 0.0
    return (f"'{words}' needs {share:.0%} of the area of '{first.cause}', which governs by the "
            "load summary")  # fmt: skip


def _class_against(paper, context):
    """The inlet flange must bear the set pressure."""
    inlet = paper.said["flange classes"].value[0]
    sets = [p.said["set pressure"].value[0] for p in context.papers if "set pressure" in p.said]
    if inlet is None or isinstance(inlet, str) or not sets:  # a PN: its ratings are not held
        return ""
    T = max((p.row.get("temperature") or _HOLD_RATING for p, _ in context.rows),
            default=_HOLD_RATING)  # fmt: skip
    rating, lowest = flange_rating(inlet, T), min(min(s) for s in sets)
    if rating != rating or kept(lowest, rating):
        return ""
    return f"class {inlet} bears {barg(rating)} at {T - ICE_POINT:.0f} °C, in carbon steel"


def _area_against(paper, context):
    """A sheet's required area against what its own inputs give."""
    case = next((case for p, case in context.rows if p is paper), None)
    if case is None or case.required is None:
        return ""
    valves, cell = paper.row.get("valves", 1.0), paper.row.cells["required_area"]
    own = case.required * valves
    if abs(cell.value * valves - own) <= cell.half * valves + AREA_CLOSE * own:
        return ""
    return f"its own inputs give {mm2(own)}"


_AGAINST = {"set pressure": _set_against, "letter": _letter_against, "sizes": _pair_against,
            "governing case": _case_against, "flange classes": _class_against,
            "required area": _area_against}  # fmt: skip


# --- the area, and each paper against itself ----------------------------------------------------


def _area(papers, context):
    """Whatever the papers agree on: have the valves in duty the area that is needed."""
    name, said, small = "area of the duty valves", {}, []
    for paper in papers:
        if "letter" not in paper.said:
            continue
        letters = paper.said["letter"].value
        duty = paper.said.get("valves in duty")
        duty = duty.value[0] if duty else context.duty
        areas = sorted(map(orifice_area, letters))
        total = sum(areas * duty if len(areas) == 1 else areas[:duty])
        said[paper.name] = mm2(total)
        if context.need is not None and not large_enough(context.need, total).holds:
            small.append(paper.name)
    if context.need is None or not said:
        return Entry(name, "not given", said, why="no required area to hold them to", severity=1)
    why = f"needed: {mm2(context.need)} ({context.need_by})"
    if small:
        why += f"; too small by: {', '.join(small)}"
    verdict = "differs" if small else "agrees"
    return Entry(name, verdict, said, why=why, severity=1, source="API 526, table 1")


def _own_checks(papers):
    """What a paper gets wrong by itself: a sheet, a note, where a placement has the valve stand."""
    for paper in papers:
        if paper.row is not None:
            found = check_row(paper.row, search=False)
        elif paper.kind == NOTE:
            found = [pid_note.itself(paper.note)]
        else:
            found = paper.checks
        yield from ((paper.name, check) for check in found if check.verdict == "differs")
