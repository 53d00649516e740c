"""The report of a study: what governs, what changed, what is missing, then item by item.

`study_report(found).save("study.pdf")` writes it. A teaching and checking aid: decisions belong to
licensed practice and local code.
"""

import hashlib
from functools import partial

from relieflib import credible
from relieflib.errors import InputError
from relieflib.kinds import DISPLAY
from relieflib.plant import KIND
from relieflib.report import how_sure_figure
from relieflib.report.blocks import (
    Columns,
    Contents,
    Figure,
    Heading,
    Paragraph,
    Table,
    closing,
    equations,
    opening,
    png,
    report_date,
    si,
)
from relieflib.report.document import Report
from relieflib.report.figures import (
    MOST_CAUSES,
    build_area_ladder,
    new_figure,
    update_area_ladder,
)
from relieflib.report.item_sketch import item_sketch
from relieflib.report.page import Document, causes_table, safeguard_blocks
from relieflib.report.place_page import (
    NOT_GIVEN,
    not_placed,
    place_blocks,
    standing,
    ways_blocks,
)
from relieflib.study import open_study
from relieflib.study.case import ONLY_RESULT, published_in
from relieflib.study.case_lines import in_words
from relieflib.study.how_sure import label, of_case
from relieflib.symbols import SYMBOLS, shown
from relieflib.texts import harmless, number_text, with_unit
from relieflib.units import absolute, from_si

MOST_CHANGES, MOST_QUESTIONS, MOST_FAULTS = 1000, 400, 400  # that are listed; more are counted
STALE, AS_FILED, NEW = "no longer as filed", "as filed", "not filed"
_LINES = ("opening", "inlet line", "outlet line")


def study_report(found, date=None, prepared_by="", project="", unit_set="SI"):
    """The report of a study recomputed.

    Parameters: found, `study.results.Results`; date as `report_date`; prepared_by and project, in
    place of what the study says; unit_set. Returns `Report`. Raises InputError for a date that is
    none, an unknown unit set. Source: API 521 (2020), 4.1: the largest area governs; as each
    module asked.
    """
    study, head, date = found.study, found.study.head, report_date(date)
    by = harmless(prepared_by or head.get("prepared_by", ""), 200)
    project = harmless(project or head.get("project", ""), 200)
    filed_as = Document(*(head.get(key, "") for key in ("number", "revision", "checked_by",
                                                        "checked_on")))  # fmt: skip
    ladder, sources, placed = _Ladder(unit_set), set(), standing(found.plant)
    blocks = [*opening(_facts(found, filed_as, by, project), date), *_verdict(found)]
    blocks += [Contents(), *_summary(found, unit_set), *_changes(found), *_missing(found)]
    for item in found.items.values():
        blocks += _item(found, item, ladder, sources, placed, unit_set)
    blocks += [*ways_blocks(found.plant), *_headers(found, unit_set)]
    blocks += closing(sources, by, date, harmless(head.get("checked_by", ""), 200),
                      harmless(head.get("checked_on", ""), 40))  # fmt: skip
    name = harmless(head.get("title", "") or study.path.stem, 120)
    about = ", ".join(filter(None, (filed_as.foot, harmless(study.path.name, 60))))
    return Report(f"Relief study: {name}", tuple(blocks), date, about, by, project)


def _facts(found, filed_as, by, project):
    study, site = found.study, found.plant.site
    filed = "nothing filed yet" if found.filed is None else _filed_words(found.filed.head)
    return [
        *filed_as.facts(), ("project", project), ("prepared by", by),
        ("date of the study", harmless(study.head.get("date", ""), 40)),
        ("file", f"{harmless(study.path.name, 120)}\n{_state_of(study)}"),
        ("site", f"{harmless(site.name, 120)}, atmosphere {si(site.atmosphere, 'pressure')}"),
        ("last filed", filed),
    ]  # fmt: skip


def _state_of(study):
    """The file's sum, or that it is no longer the one that was computed."""
    try:
        now = open_study(study.path)
    except InputError:
        return "can't be read any more: computed from what it said before"
    if (now.head, now.cases, now.considered) != (study.head, study.cases, study.considered):
        return "has been changed since: computed from what it said before"
    return f"SHA-256 {hashlib.sha256(study.path.read_bytes()).hexdigest()}"


def _filed_words(head):
    parts = (f"revision {head['revision']}" if head.get("revision") else "", head.get("date"),
             head.get("who"), f"relieflib {head.get('version', '')}")  # fmt: skip
    return harmless(", ".join(str(p) for p in parts if p), 200)


def _verdict(found):
    """What stands against the study as a whole, in a box."""
    if found.covered and not found.stale:
        words = ("Of every item one valve covers every case that is given; no cause of the "
                 "published list is left open, and nothing is at fault.")  # fmt: skip
        return [Paragraph(words, "Covered.", boxed=True)]
    bad = [f"{harmless(tag)}: {item.verdict}" for tag, item in found.items.items()
           if item.verdict != "covers"]  # fmt: skip
    lines = ["; ".join(bad)] if bad else []
    counted = ((len(found.faults), "could not be read or computed"),
               (len(found.stale), STALE), (len(found.missing), "questions open"))  # fmt: skip
    lines += ["; ".join(f"{n} {words}" for n, words in counted if n)]
    return [Paragraph("\n".join(filter(None, lines)), "Not settled.", boxed=True)]


# --- the study as a whole -------------------------------------------------------------------


def _summary(found, unit_set):
    rows = []
    for tag, item in found.items.items():
        installed = "\n".join(found.installed(tag)) or "none"
        s = item.comparison.governing if item.sizings else None
        numbers = ("", "", "")
        if s is not None:
            numbers = (shown("mass_flow", s.load.mass_flow, unit_set),
                       shown("required_area", s.required_area, unit_set),
                       s.letter or "more than one valve")  # fmt: skip
        governs = harmless(item.governing, 200) or ("no area" if item.done else "no case")
        rows.append((harmless(tag), governs, *numbers, installed, _verdict_of(found, item)))
    columns = ("item", "governing case", "load", "required area", "letter", "installed", "verdict")
    return [Heading("Summary"),
            Table(columns, tuple(rows), (11, 26, 13, 13, 9, 17, 14), (0,), (2, 3))]  # fmt: skip


def _verdict_of(found, item):
    """An item's verdict, with the valves whose place nobody has given."""
    bare = ", ".join(harmless(tag, 40) for tag in not_placed(found.plant, item.valves))
    return f"{item.verdict}\n{NOT_GIVEN}: {bare}" if bare else item.verdict


def _changes(found):
    if found.filed is None:
        words = "Nothing is filed yet, so what changes from here on can't be said."
        return [Heading("What changed"), Paragraph(words)]
    since = f"since the filing of {_filed_words(found.filed.head)}"
    blocks = [Heading("What changed"), Paragraph(f"{since}.", "Changed")]
    if not found.changes:
        return [*blocks, Paragraph("Nothing: no case, no input, no area and no verdict.")]
    rows = [
        (harmless(c.item), harmless(c.case, 200), harmless(c.what, 80),
         harmless(c.before, 200) or "not there", harmless(c.now, 200) or "not there",
         "\n".join(filter(None, (harmless(c.why, 250), STALE if c.stale else ""))))
        for c in found.changes[:MOST_CHANGES]
    ]  # fmt: skip
    columns = ("item", "case", "what", "filed", "now", "why")
    blocks.append(Table(columns, tuple(rows), (10, 20, 17, 17, 17, 19), (0, 1)))
    if len(found.changes) > MOST_CHANGES:
        blocks.append(Paragraph(f"Listed: {MOST_CHANGES} of {len(found.changes)} changes."))
    if found.stale:
        words = ("What is filed stays as it was until somebody checks the change and files the "
                 "study anew.")  # fmt: skip
        blocks.append(Paragraph(words, "Nothing is renewed by itself."))
    return blocks


def _missing(found):
    blocks = []
    for heading, texts, most, none in (
        ("Not read or not computed", found.faults, MOST_FAULTS, ""),
        ("What is missing", found.missing, MOST_QUESTIONS, "The study leaves no question open."),
    ):
        if texts:
            rows = tuple((str(i), harmless(t, 380)) for i, t in enumerate(texts[:most], start=1))
            blocks += [Heading(heading), Table(("no.", "what"), rows, (6, 94))]
            if len(texts) > most:
                blocks.append(Paragraph(f"Listed: {most} of {len(texts)}."))
        elif none:
            blocks += [Heading(heading), Paragraph(none)]
    return blocks


# --- one item -------------------------------------------------------------------------------


def _item(found, item, ladder, sources, placed, unit_set):
    tag, service = harmless(item.tag), harmless(getattr(item.item, "service", ""), 80)
    fire = any(s.load.fire for s in item.sizings.values())
    # drawn when it is written, so that no picture waits in memory
    sketch = item_sketch(found.plant, item.tag, item.valves, fire).alt
    draw = partial(_sketch_png, found.plant, item.tag, item.valves, fire)
    blocks = [Heading(f"{tag}: {service}" if service else tag, new_page=True)]
    said = _said(found, item, unit_set)
    blocks += [Paragraph(said, f"{item.verdict.capitalize()}.", boxed=True)]
    blocks += [Figure(draw, sketch, f"{tag} and what relieves it; not to scale.")]
    blocks += [*_as_given(item, found.plant, unit_set), *_considered(item)]
    blocks += [*_loads(found, item, ladder, unit_set), *_valves(found, item, unit_set)]
    if item.matrix is not None:
        blocks += [*safeguard_blocks(item.matrix, unit_set, 3), *_lines(item, unit_set)]
    blocks += [*place_blocks(found.plant, item.tag, placed), *_notes(found, item)]
    for words in item.sizings:
        blocks += _case(found, item, words, sources, unit_set)
    return blocks + _not_computed(item)


def _sketch_png(plant, tag, valves, fire):
    return png(item_sketch(plant, tag, valves, fire).figure)


def _said(found, item, unit_set):
    """Governing case, and what keeps the item from being covered."""
    words = []
    if item.sizings:
        s = item.comparison.governing
        area, letter = shown("required_area", s.required_area, unit_set), s.letter
        words.append(f"{harmless(item.governing, 200)} governs: {area}, "
                     f"letter {letter or 'none, more than one valve'}.")  # fmt: skip
    if item.matrix is not None and item.matrix.uncovered:
        left = ", ".join(harmless(w, 80) for w in item.matrix.uncovered)
        words.append(f"No valve covers, or it is not known: {left}.")
    bad = [d.case.name for d in item.done if not d.good]
    if bad:
        words.append(f"Without an area: {', '.join(harmless(w, 80) for w in bad)}.")
    if item.unread:
        words.append(f"Can't be read: {', '.join(harmless(w, 80) for w in item.unread)}.")
    if item.open_causes:
        words.append(f"Left open: {', '.join(item.open_causes)}.")
    if bare := not_placed(found.plant, item.valves):
        names = ", ".join(harmless(tag, 40) for tag in bare)
        words.append(f"{NOT_GIVEN.capitalize()}: {names}, so no cover is known.")
    if not item.valves:
        words.append("No relief valve or rupture disk stands in the file.")
    return " ".join([*words, *(harmless(w, 300) for w in item.words)])


def _pairs(rows, caption, words):
    """Pairs (words, text), two in a line."""
    half = -(-len(rows) // 2)
    right = [*rows[half:], ("", "")][:half]
    lines = tuple((*a, *b) for a, b in zip(rows[:half], right, strict=True))
    return Table((words, "value") * 2, lines, (27, 23) * 2, (0, 2), (), caption)


def _as_given(item, plant, unit_set):
    if item.item is None:
        return [Paragraph("It stands in no section of the file: its MAWP is not known.")]
    rows = [
        (label(key).removesuffix(" gauge"), _value_text(key, value, plant, unit_set))
        for key, value in vars(item.item).items()
        if key not in ("tag", "section")
    ]
    return [_pairs(rows, "As the file gives it", "item")]


def _value_text(key, value, plant, unit_set):
    """A value of an item of the plant as text."""
    if isinstance(value, list | tuple):
        return ", ".join(_value_text(key, one, plant, unit_set) for one in value)
    if isinstance(value, str):
        return harmless(value, 200)
    if key in SYMBOLS:
        return shown(key, value, unit_set, 5, plant.atmosphere)
    kind = KIND.get(key, "number")
    if kind in ("number", "text", "dimensionless"):
        return number_text(value, 6)
    unit = DISPLAY[kind][0 if unit_set == "SI" else 1]
    return with_unit(from_si(value, unit, kind, plant.atmosphere), unit, 5)


def _considered(item):
    """Every cause of the published list: judgement, why, and which case stands for it."""
    rows, silent, given, why_given = [], [], {}, {}
    for d in item.done:
        given.setdefault(d.case.published_cause, []).append(d.case.name)
        why_given.setdefault(d.case.published_cause, d.case.why)
    for words in item.sizings:
        if item.case_of(words) is None:
            given.setdefault(published_in(words), []).append(words)
    for cause in dict.fromkeys([r["cause"] for r in credible.published_causes()] + list(given)):
        said, cases = item.considered.get(cause), given.get(cause, [])
        if said is None and not cases:
            silent.append(cause)
            continue
        judged, _, why = str(said).partition(": ") if said else (
            "case given", "", why_given.get(cause, "")
        )  # fmt: skip
        named = "\n".join(harmless(w, 90) for w in cases)
        open_one = "open: no load is given" if cause in item.open_causes else ""
        rows.append((cause or "not known", judged, harmless(why, 350), named or open_one))
    columns = ("cause", "judgement", "why, or why not", "cases")
    blocks = [Heading("Causes considered", 3),
              Table(columns, tuple(rows), (22, 15, 38, 25), (0,))] if rows else []  # fmt: skip
    return blocks + ([Paragraph(f"{', '.join(silent)}.", "Not judged:")] if silent else [])


def _filed_of(found, item):
    """{case in words: what was filed of it}; None where nothing was filed."""
    if found.filed is None:
        return None
    stale = set(found.stale)
    return {
        words: STALE if (item.tag, words) in stale
        else AS_FILED if (item.tag, words) in found.filed.cases else NEW
        for words in item.sizings
    }  # fmt: skip


def _loads(found, item, ladder, unit_set):
    if not item.sizings:
        return []
    return [
        Heading("Loads and required areas", 3),
        causes_table(item.comparison, unit_set, _filed_of(found, item)),
        ladder.figure(item),
    ]


class _Ladder:
    """The area ladder of one item after another, drawn when it is written, by one figure."""

    def __init__(self, unit_set):
        self.unit_set, self._made = unit_set, None

    def figure(self, item):
        """`Figure` of the ladder of an item."""
        areas = {w: s.required_area for w, s in item.sizings.items() if s.required_area > 0.0}
        first = dict(sorted(areas.items(), key=lambda pair: -pair[1])[:MOST_CAUSES])
        if not first:
            return Paragraph("No case of it needs an area.")
        caption = "Required area of each cause; the lines are the orifice letters."
        if len(first) < len(areas):
            caption += f" Drawn: the {len(first)} largest of {len(areas)}."
        result = {"areas": first}
        return Figure(partial(self._png, result), self._update(result), caption)

    def _update(self, result):
        if self._made is None:
            figure = new_figure()
            self._made = figure, build_area_ladder(figure, result, self.unit_set)
        return update_area_ladder(self._made[1], result, self.unit_set)

    def _png(self, result):
        self._update(result)
        return png(self._made[0])


def _valves(found, item, unit_set):
    if not item.valves:
        return []
    rows = []
    for v in item.valves:
        sets = "\n".join(shown("set_pressure_gauge", p, unit_set) for p in dict.fromkeys(v.sets))
        low, high = (shown("back_pressure", p, unit_set) for p in
                     found.plant.header_pressures(v.tag))  # fmt: skip
        worst = harmless(found.plant.worst_event(v.tag), 120)
        rows.append(
            (
                harmless(v.tag),
                v.kind,
                v.arrangement,
                sets,
                ", ".join(v.certified_for or ("not given",)),
                harmless(v.destination) or "not given",
                f"{low}\n{high}",
                worst or "as typed",
            )
        )
    columns = ("device", "kind", "installed", "set", "certified for", "leads to",
               "back pressure,\nlowest, highest", "worst event")  # fmt: skip
    return [Heading("What is installed", 3),
            Table(columns, tuple(rows), (11, 12, 13, 10, 11, 9, 15, 19), (0,))]  # fmt: skip


def _lines(item, unit_set):
    """Opening, inlet and outlet line of each valve against each cause, what holds among them."""
    rows = []
    for (cause, tag), found in item.matrix.covers.items():
        there = {r.subject: r for r in found.reasons}
        cells = [f"{there[s].verdict}\n{there[s].said(unit_set)}" if s in there else "not asked"
                 for s in _LINES]  # fmt: skip
        rows.append((harmless(cause, 120), tag, *cells))
    columns = ("cause", "valve", *_LINES)
    return [
        Heading("Opening and lines", 3),
        Table(columns, tuple(rows), (19, 11, 24, 22, 24), (0, 1)),
    ]


def _notes(found, item):
    """The note beside each valve on the P&ID, and where its file says another case."""
    if not item.notes:
        return []
    blocks = [Heading("Note for the P&ID", 3)]
    for tag, words in item.notes.items():
        blocks.append(Paragraph(words, boxed=True))
        said = getattr(found.plant[tag], "sized_for", "")
        if said and said != item.governing:
            words = f"the file says it was sized for {harmless(said, 80)}"
            blocks.append(Paragraph(f"{words}; {harmless(item.governing, 120)} governs.", "Mind:"))
    return blocks


# --- one case -------------------------------------------------------------------------------


def _case(found, item, words, sources, unit_set):
    """Where a load comes from: who, why, inputs, how sure, and the working to the area."""
    sizing, case = item.sizings[words], item.case_of(words)
    done = next((d for d in item.done if d.case is case), None) if case else None
    sources |= {step.source for step in sizing.working}
    blocks = [Heading(f"Case: {harmless(words, 200)}", 3)]
    if case is None:
        blocks.append(
            Paragraph(
                "An event of power, air or a utility brings it, or a program: its "
                "inputs are those of the file.",
                "No case of its own.",
            )
        )
    else:
        blocks += [*_stale(found, case), _judgement(case), *_inputs(done)]
    blocks += [Paragraph(harmless(w, 600), "Mind:") for w in (done.warned if done else ())]
    blocks += _own_lines(done, unit_set) if done else []
    blocks += _sure(found, item, case, unit_set) if case and case.ranges else []
    atmosphere = found.plant.atmosphere
    steps = [sizing.working, *(c.working for c in (done.lines.values() if done else ()))]
    return [*blocks, *(Columns((equations(w, unit_set, atmosphere),), 1) for w in steps)]


def _own_lines(done, unit_set):
    """The lines that a case gives for the valve it is sized on."""

    def say(name, value):
        return shown(name, value, unit_set)

    return [Paragraph(f"{harmless(in_words(side, check, say), 600)}.", "Its own lines.")
            for side, check in done.lines.items()]  # fmt: skip


def _stale(found, case):
    mine = [c for c in found.changes if (c.item, c.case) == (case.item, case.name) and c.stale]
    if not mine:
        return []
    words = "; ".join(f"{harmless(c.what, 80)}: {harmless(c.before, 80) or 'not there'} -> "
                      f"{harmless(c.now, 80) or 'not there'}" for c in mine)  # fmt: skip
    return [Paragraph(f"{words}.", f"{STALE.capitalize()}.", boxed=True)]


def _judgement(case):
    by = ", ".join(filter(None, (harmless(case.who, 80), harmless(case.date, 40),
                                 f"relieflib {harmless(case.version, 20)}" if case.version
                                 else "")))  # fmt: skip
    parts = (
        (harmless(case.why, 400), ""),
        (harmless(case.note, 300), "note: "), (harmless(case.source, 300), "source: "),
        (harmless(case.valve, 60), "sized on "), (f"edition {case.edition} of API 520-I", ""),
        (by, "by "),
    )  # fmt: skip
    return Paragraph("; ".join(f"{before}{text}" for text, before in parts if text) + ".", "Why.")


def _inputs(done):
    """Every input: as written, and as read where the file says it elsewhere."""
    rows = []
    for dotted, value in done.inputs.items():
        written = _written(done.case, dotted)
        where, _, last = dotted.rpartition(".")
        name = label(last) + (f" ({where.replace('.', ', ')})" if where else "")
        rows.append((harmless(name, 120), harmless(written, 120), harmless(value, 120)))
    columns = ("input", "as written", "as read")
    return [Table(columns, tuple(rows), (42, 32, 26), (0,), (), "Inputs")] if rows else []


def _written(case, dotted):
    """What a case says of an input, '' where a part of the file or the valve says it."""
    if dotted.startswith("lines."):
        return ""  # as read is as written
    raw = {"inputs": case.inputs, "device": case.device}
    raw = raw["device"] if dotted.startswith("device.") else raw["inputs"]
    for key in dotted.removeprefix("device.").split("."):
        if isinstance(raw, list) and key.isdecimal() and int(key) < len(raw):
            raw = raw[int(key)]
        else:
            raw = raw.get(key, "") if isinstance(raw, dict) else ""
    return "" if isinstance(raw, dict | list) else str(raw)


def _sure(found, item, case, unit_set):
    """How sure the case is, by the ranges that it states."""
    valve = next((v for v in item.valves if v.tag == case.valve or len(item.valves) == 1), None)
    area = sum(valve.areas) if valve else None
    try:
        sure = of_case(case, found.plant, area)
    except InputError as error:
        return [Paragraph(harmless(error, 400), "How sure: not said.")]
    rows = tuple((harmless(a, 120), harmless(b, 300)) for a, b in sure.rows(unit_set))
    blocks = [Table(("how sure", "found"), rows, (34, 66), (0,))]
    if len(sure.bars) <= how_sure_figure.MOST_BARS:
        drawn = how_sure_figure.picture(sure, unit_set)
        blocks.append(Figure(png(drawn.figure), drawn.alt, "Bars: one input through its range. "
                             "Below: all inputs at once."))  # fmt: skip
    return [*blocks, Paragraph(" ".join(sure.claims), "What that says.")]


def _not_computed(item):
    """Cases without an area, each with its words."""
    rows = [
        (harmless(d.case.name, 120),
         ONLY_RESULT if d.case.only_result else "not computed",
         harmless(", ".join(f"{k} {v}" for k, v in d.case.result.items()) or d.words, 390))
        for d in item.done if not d.good and d.case.name not in item.sizings
    ]  # fmt: skip
    if not rows:
        return []
    columns = ("case", "state", "what is known")
    return [Heading("Cases without an area of today", 3), Table(columns, tuple(rows), (27, 20, 53))]


# --- headers --------------------------------------------------------------------------------


def _headers(found, unit_set):
    """Pressures behind every valve: by event where the tree is known, as typed where not."""
    used = {}
    for item in found.items.values():
        for valve in item.valves:
            used.setdefault(valve.destination, []).append(valve.tag)
    if not used:
        return []
    blocks = [Heading("Headers", new_page=True)]
    solved = found.headers
    for name, tags in used.items():
        header = found.plant.headers.get(name)
        service = harmless(getattr(header, "service", ""), 120)
        blocks.append(Heading(f"{harmless(name)}: {service}", 3))
        if name in solved:
            blocks += _by_event(found, solved[name], unit_set)
        else:
            low, high = (
                absolute(getattr(header, f"{end}_pressure_gauge"), found.plant.atmosphere)
                for end in ("lowest", "highest")
            )
            words = (f"{shown('back_pressure', low, unit_set)} to "
                     f"{shown('back_pressure', high, unit_set)}, as typed in the file, for "
                     f"{', '.join(harmless(t) for t in tags)}.")  # fmt: skip
            blocks.append(Paragraph(words))
    return blocks


def _by_event(found, faced, unit_set):
    rows = []
    for valve in dict.fromkeys(v for v, _ in faced.facings):
        worst = max(faced.of(valve), key=lambda f: f.back_pressure)
        bad = list(dict.fromkeys(w for f in faced.of(valve) for w in f.against))
        pressures = (worst.lowest, worst.superimposed, worst.header_pressure)
        rows.append((harmless(valve), harmless(worst.event, 150),
                     *(shown("back_pressure", p, unit_set) for p in pressures),
                     "; ".join(bad) or "nothing"))  # fmt: skip
    columns = ("device", "worst event", "nothing relieved", "before it opens", "while it relieves",
               "against it, in any event")  # fmt: skip
    blocks = [Table(columns, tuple(rows), (12, 30, 13, 13, 13, 19), (0,), (2, 3, 4))]
    lifts = {}
    for (valve, event), facing in faced.facings.items():
        flow = shown("mass_flow", facing.load.mass_flow, unit_set)
        lifts.setdefault(event, []).append(f"{valve} {flow}")
    together = tuple((harmless(e, 150), harmless("; ".join(v), 390)) for e, v in lifts.items()
                     if len(v) > 1)  # fmt: skip
    if together:
        blocks.append(Table(("event", "lift together"), together, (35, 65)))
    return blocks
