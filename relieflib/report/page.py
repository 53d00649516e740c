"""The page to file: a datasheet check or the sizing of one protected system as a `Report`.

`Report.save("check.html")` or `.save("check.pdf")` writes it, whole or not at all; the HTML needs
no network. A teaching and checking aid: decisions belong to licensed practice and local code.
"""

import re
from collections import Counter
from dataclasses import dataclass

from relieflib.datasheet import telling
from relieflib.datasheet.changes import changes
from relieflib.datasheet.columns import COLUMNS
from relieflib.datasheet.reading import Problem
from relieflib.datasheet.recompute import recompute
from relieflib.datasheet.verdict import SEVERITY, Check
from relieflib.errors import InputError
from relieflib.report.blocks import (
    Columns,
    Contents,
    Equations,
    Figure,
    Heading,
    LetterStrip,
    Paragraph,
    Signatures,
    Table,
    closing,
    equations,
    numbered,
    opening,
    png,
    referred,
    report_date,
    sheet_text,
    si,
)
from relieflib.report.document import Report
from relieflib.symbols import symbol
from relieflib.texts import harmless, number_text, unit_text
from relieflib.units import ATMOSPHERE, PRESSURES

__all__ = ["Columns", "Contents", "Equations", "Figure", "Heading", "Paragraph", "Report",
           "Signatures", "Table", "causes_table", "datasheet_report", "safeguard_blocks",
           "sizing_report"]  # fmt: skip
PAGES = ("differing", "all", "none")
FEW = 12  # valves up to which each gets its page, unless said otherwise
MOST_CHANGES = 1000  # since an earlier revision that are listed
MOST_LISTED = 200  # differences in the summary; beyond it only the most severe


@dataclass(frozen=True)
class Document:
    """What a page is filed as: number, revision, who checked it and when ('2026-03-31')."""

    number: str = ""
    revision: str = ""
    checked_by: str = ""
    checked_on: str = ""

    def facts(self):
        """Lines for the head of the page."""
        words = ("document number", "revision", "checked by")
        by = ", ".join(filter(None, (self.checked_by, self.checked_on)))
        return [(w, harmless(t, 200)) for w, t in zip(words, (self.number, self.revision, by))]

    @property
    def foot(self):
        """Words for the foot of every page, '' where nothing is given."""
        parts = [self.number, self.revision and f"revision {self.revision}"]
        return harmless(", ".join(filter(None, parts)), 60)


def datasheet_report(checked, date=None, prepared_by="", project="", pages=None, unread=(),
                     document=None, earlier=None):  # fmt: skip
    """Report on checked datasheets: verdicts, most severe first, then each valve with its working.

    Parameters: checked, a `FileCheck` or a list of them; date, None for today, a datetime.date or
    '2026-03-31'; prepared_by and project, str; pages, which valves get a page of their own: 'all',
    'differing' (something differs or can't be read), 'none', or None for all of up to 12 valves
    and the differing ones of more; unread, sentences on files that could not be read at all;
    document, `Document`; earlier, a `FileCheck` of an earlier revision of the one list that is
    checked, for what changed since.
    Returns `Report`. Raises InputError for nothing checked, a date that is none, another word for
    pages, or an earlier revision beside several lists.
    """
    checked = list(checked) if isinstance(checked, (list, tuple)) else [checked]
    if not any(c and c.results for c in checked):
        raise InputError("checked: no row was read, so there is nothing to report")
    if earlier and len(checked) != 1:
        raise InputError("earlier: a revision stands against one list, not several")
    date, document = report_date(date), document or Document()
    if document.checked_on:
        report_date(document.checked_on)
    rows = [
        (_label(c, row, name, checked), row, checks)
        for c in checked for name, (row, checks) in zip(c.names, c.results, strict=True)
    ]  # fmt: skip
    full = _with_page(rows, pages)
    names = ", ".join(c.reading.file for c in checked[:3]) + (", ..." if len(checked) > 3 else "")
    site = si(rows[0][1].atmosphere if rows else ATMOSPHERE, "pressure")
    facts = [("project", harmless(project, 200)), ("prepared by", harmless(prepared_by, 200)),
             ("site atmosphere", site)]  # fmt: skip
    facts = [*document.facts(), *_file_facts(checked, earlier), *facts]
    blocks = [*opening(facts, date)]
    blocks += [_unread(unread)] if unread else []
    blocks += [Contents()] if len(full) > FEW or len(checked) > 1 else []
    blocks += _changes(checked[0], earlier) if earlier else []
    blocks += _summary(checked, rows) + [Heading("All valves"), _list_of_valves(rows, full)]
    strip, cases = LetterStrip(), [recompute(row) for _, row, _ in full]
    sources = {c.source for _, _, checks in rows for c in checks if telling(c)}
    sources |= {step.source for case in cases if case.sizing for step in case.sizing.working}
    numbers = numbered(sources)
    for (label, row, checks), case in zip(full, cases, strict=True):
        blocks += _valve(label, row, checks, strip, case, numbers)
    blocks += [*_problems(checked), *closing(
        sources, harmless(prepared_by, 200), date, harmless(document.checked_by, 200),
        document.checked_on)]  # fmt: skip
    names = ", ".join(filter(None, (document.foot, names)))
    return Report(
        "Relief valve datasheet check", tuple(blocks), date, names,
        harmless(prepared_by, 200), harmless(project, 200),
    )  # fmt: skip


def _changes(new, earlier):
    """What changed since an earlier revision of the same list."""
    found = changes(new.results, earlier.results)
    heading = Heading("What changed since the earlier revision")
    if not found:
        words = (
            "No valve, no number and no verdict changed; notes outside the list are not compared."
        )
        return [heading, Paragraph(words)]
    listed = found[:MOST_CHANGES]
    columns = ("valve", "what", "before", "now")
    blocks = [heading, Table(columns, tuple(map(tuple, listed)), (20, 30, 25, 25), (0,))]
    if len(found) > len(listed):
        words = f"Listed here: the first {len(listed)} of {len(found)} changes."
        blocks.insert(1, Paragraph(words))
    return blocks


def _file_facts(checked, earlier=None):
    facts = []
    for i, c in enumerate(checked, start=1):
        words = "file checked" if len(checked) == 1 else f"file {i}"
        facts.append((words, f"{c.reading.file}\nSHA-256 {c.reading.sha256}"))
    if earlier:
        facts.append(
            ("earlier revision", f"{earlier.reading.file}\nSHA-256 {earlier.reading.sha256}")
        )
    return facts


def _unread(sentences):
    words = "; ".join(harmless(s, 200) for s in sentences[:20])
    words += f"; and {len(sentences) - 20} more" if len(sentences) > 20 else ""
    return Paragraph(f"{words}.", f"Not in this report, {len(sentences)} unreadable:", boxed=True)


def _label(checked, row, tag, all_checked):
    name = tag if tag == f"row {row.number}" else f"{tag} (row {row.number})"
    return name if len(all_checked) == 1 else f"{name}, {checked.reading.file}"


def _differing(checks):
    return [c for c in checks if c.verdict == "differs"]


def _with_page(rows, pages):
    """The (label, row, checks) that get a page of their own."""
    if pages is None:
        pages = "all" if len(rows) <= FEW else "differing"
    if pages not in PAGES:
        raise InputError(f"pages = {pages!r}: use one of {', '.join(PAGES)}")
    wanted = {"all": lambda row, checks: True, "none": lambda row, checks: False,
              "differing": lambda row, checks: row.unreadable or _differing(checks)}  # fmt: skip
    return [r for r in rows if wanted[pages](r[1], r[2])]


# --- the summary ----------------------------------------------------------------------------


def _summary(checked, rows):
    """Counts by consequence, 'not protected' first, and what differs."""
    found = [(label, c) for label, _, checks in rows for c in _differing(checks)]
    found.sort(key=lambda pair: pair[1].severity)
    counts = Counter(c.verdict for _, _, checks in rows for c in checks)
    losses = sum(c.losses for c in checked)
    valves = " and ".join(c.counted for c in checked[:3]) + " and more" * (len(checked) > 3)
    words = (f"{valves}: {counts['differs']} checks differ, {counts['agrees']} agree, "
             f"{counts['not given']} were not made because a number is not given. ")  # fmt: skip
    words += (f"{losses} values or rows could not be read, see Problems in reading." if losses
              else "Every value and row could be read.")  # fmt: skip
    valve, lines = {label: (row.file, row.tag.casefold()) for label, row, _ in rows}, []
    for level, name in SEVERITY.items():
        here = [valve[label] for label, c in found if c.severity == level]
        lines.append((name, str(len(here)), str(len(set(here)))))
    columns = ("consequence of what differs", "checks", "valves")
    blocks = [Heading("Summary"), Paragraph(words),
              Table(columns, tuple(lines), (60, 20, 20), (0,), (1, 2))]  # fmt: skip
    return blocks + _what_differs(found)


def _what_differs(found):
    if not found:
        return [Paragraph("Nothing that is given differs from what was recomputed.")]
    listed = found
    if len(found) > MOST_LISTED:
        listed = [pair for pair in found if pair[1].severity == 1][:MOST_LISTED]
    rows = [
        (SEVERITY[c.severity], label, _trade(c.name), sheet_text(_text(c.stated), c.unit),
         sheet_text(c.recomputed, c.unit), _trade(c.reason))
        for label, c in listed
    ]  # fmt: skip
    columns = ("consequence", "valve", "check", "stated", "recomputed", "reason")
    blocks = [Heading("What differs, most severe first", 3),
              Table(columns, tuple(rows), (13, 17, 17, 11, 12, 30), (1,), (3, 4))]  # fmt: skip
    if len(listed) < len(found):
        words = (f"Listed here: {len(listed)} of {len(found)} differences, those that leave a "
                 "vessel not protected first; all are in the list of valves and on their "
                 "pages.")  # fmt: skip
        blocks.insert(1, Paragraph(words))
    return blocks


def _text(value):
    return harmless(value) if isinstance(value, str) else value


_NONE = Check("", "not given")  # of a row that could not be checked


def _list_of_valves(rows, full):
    """One line a valve."""
    lines, with_page = [], {id(row) for _, row, _ in full}
    for label, row, checks in rows:
        named, differ = {c.name: c for c in checks}, _differing(checks)
        area, letter = (named.get(n, _NONE) for n in ("required area", "letter"))
        words = "nothing differs"
        if differ:
            worst = SEVERITY[min(c.severity for c in differ)]
            words = f"differs: {len(differ)}\n{worst}"
        elif area.recomputed is None:
            words = "area not recomputed"
        lines.append((label, harmless(row.get("protected_item", "")),
                      sheet_text(_text(area.stated), area.unit),
                      sheet_text(area.recomputed, area.unit), _text(letter.stated) or "",
                      _text(letter.recomputed) or "", words,
                      "own page" if id(row) in with_page else "none"))  # fmt: skip
    columns = ("valve", "protected item", "area stated", "area recomputed", "letter stated",
               "letter recomputed", "verdict", "details")  # fmt: skip
    return Table(columns, tuple(lines), (18, 13, 12, 13, 9, 12, 14, 9), (0,), (2, 3))


def _problems(checked):
    found = [p for c in checked for p in c.reading.problems]
    found += [
        Problem(c.reading.file, None, "", f"and {c.reading.problems.more} more of the kind")
        for c in checked
        if c.reading.problems.more
    ]
    if not found:
        return []
    rows = tuple(
        (p.file, str(p.row or ""), harmless(p.column), harmless(p.sentence, 300),
         "value or row lost" if p.loss else "remark")
        for p in found
    )  # fmt: skip
    columns = ("file", "row", "column", "what", "effect")
    return [Heading("Problems in reading", new_page=True),
            Table(columns, rows, (17, 6, 17, 45, 15), (0,), (1,))]  # fmt: skip


# --- one valve ------------------------------------------------------------------------------


def _valve(label, row, checks, strip, case, numbers):
    """The page of one valve: what differs on top, all else in two columns of small print."""
    unit_set = _unit_set(row)
    small = _recomputed(case)
    if case.required:
        small.append(strip.figure(label, case, unit_set))
    small += _the_others(checks, numbers)
    if case.required:
        steps = equations(case.sizing.working, unit_set, row.atmosphere).steps
        steps = tuple(s | {"source": referred(s["source"], numbers)} for s in steps)
        words = "Working in SI, absolute unless called gauge"
        small += [Heading(words, 3), *_one_valve(row), Equations(steps)]
    given = Columns((_inputs(row),), 1)
    top = [Heading(label, new_page=True), _what_differs_here(checks, numbers), given]
    return [*top, Columns(tuple(small))]


def _one_valve(row):
    valves = row.get("valves") or 1.0
    words = f"The load is shared by {valves:g} valves: W is one valve's."
    return [Paragraph(words)] if valves > 1 else []


def _unit_set(row):
    """'US' for a sheet in psi, else 'SI'."""
    return "US" if any("psi" in c.unit for c in row.cells.values()) else "SI"


def _inputs(row):
    """What the sheet states, in its words; three inputs a line."""
    said = []
    for name, column in COLUMNS.items():
        if name in row.cells:
            said.append((_heading(column), _as_stated(row.cells[name])))
        elif name in row.unreadable:
            said.append((_heading(column), "can't be read"))
    down = -(-len(said) // 3)
    said += [("", "")] * (3 * down - len(said))
    lines = tuple((*a, *b, *c) for a, b, c in zip(*(said[i * down :][:down] for i in range(3))))
    return Table(("given", "") * 3, lines, (21.3, 12) * 3, (0, 2, 4))


def _heading(column):
    """Heading as the trade writes it: Kd, MAWP."""
    alike = column.name.casefold() == column.heading.casefold()
    return column.name if alike else _trade(column.heading)


def _trade(words):
    return re.sub(r"\bmawp\b", "MAWP", words)


def _as_stated(cell):
    own = not cell.text.rstrip()[-1:].isdigit() or cell.unit == "-"  # it brings its own unit
    if cell.kind == "text" or own:
        return harmless(cell.text, 200)
    return f"{harmless(cell.text)} {unit_text(cell.unit)}"


def _recomputed(case):
    """What sizing makes of the inputs, in the sheet's units and in SI."""
    rows, under = [], []

    def add(words, name, value, note=""):
        if value is not None:
            own = si(value, symbol(name).kind)
            rows.append((words, sheet_text(*case.in_sheet(name, value)), own))
            under.append(note)

    s = case.sizing
    add("relieving pressure", "pressure", case.pressure, _trade(case.pressure_basis))
    add("back pressure", "back_pressure", case.back_pressure)
    if s:
        add("load of one valve", "mass_flow", s.load.mass_flow)
        add("required area of one valve", "required_area", s.required_area)
        add("installed area of one valve", "area", case.installed, f"{case.basis} area")
        letter = "none" if case.kind == "disk" else s.letter or "larger than T"
        rows.append(("smallest sufficient letter", letter, s.designation or ""))
        under.append("")
    notes = [Paragraph(case.trouble, "The area was not recomputed.")] if case.trouble else []
    assumed = harmless("; ".join(case.assumed), 390)
    notes += [Paragraph(assumed + ".", "Assumed.")] if assumed else []
    columns = ("quantity", "sheet's unit", "in SI")
    done = Table(columns, tuple(rows), (43, 25, 32), (0,), (1, 2), "Recomputed", tuple(under))
    return [done, *notes] if rows else notes


_DIFFERENCE = {p + end: p for p in PRESSURES for end in "ga"}  # a tolerance is no gauge pressure


def _what_differs_here(checks, numbers):
    """What differs on this sheet, with reason and source, or that nothing does."""
    rows = []
    for c in _differing(checks):
        why = f"{_trade(harmless(c.reason, 370))} {referred(c.source, numbers)}".strip()
        rows.append((SEVERITY[c.severity], _trade(c.name), *_numbers(c), why))
    if not rows:
        return Paragraph("Nothing that is given differs from what was recomputed.")
    columns = ("consequence", "what differs", "stated", "recomputed", "tolerance",
               "reason and source")  # fmt: skip
    return Table(columns, tuple(rows), (14, 16, 10.5, 12.5, 10.5, 36.5), (1,), (2, 3, 4))


def _numbers(check):
    """Stated, recomputed and tolerance as texts."""
    unit = _DIFFERENCE.get(check.unit, check.unit)
    text = sheet_text(f"± {number_text(check.tolerance, 2)}", unit) if check.tolerance else ""
    stated, own = (sheet_text(v, check.unit) for v in (_text(check.stated), check.recomputed))
    return stated, own, text


def _the_others(checks, numbers):
    """What agrees and what is not given, in few lines; documents by their number."""
    blocks, heads = [], {"not given": "Not given, and it may matter", "agrees": "Agrees"}
    for verdict, caption in heads.items():
        some = [c for c in checks if c.verdict == verdict and telling(c)]
        rows, under = zip(*(_in_few_words(c, numbers) for c in some)) if some else ((), ())
        if rows:
            columns = ("check", "stated", "recomputed", "source")
            blocks.append(Table(columns, rows, (44, 19, 22, 15), (0,), (1, 2, 3), caption, under))
    left = [c.name for c in checks if not telling(c)]
    if left:
        blocks.append(Paragraph(_trade(f"{', '.join(left)}."), "Not given, and no finding:"))
    return blocks


def _in_few_words(check, numbers):
    """The row of a check with the number of its source, and the line under it."""
    stated, own, tolerance = _numbers(check)
    source = referred(check.source, numbers)
    long = "" if source.startswith("[") else source
    why = "; ".join(filter(None, (_trade(harmless(check.reason, 390)), long)))
    name = _trade(check.name)
    if tolerance and why:
        why = f"{tolerance}; {why}"
    elif tolerance:
        name = f"{name}, {tolerance}"
    return (name, stated, own, "" if long else source), why


# --- all causes of one protected system -----------------------------------------------------


def sizing_report(comparison, protected_item, date=None, prepared_by="", project="",
                  unit_set="SI", more=()):  # fmt: skip
    """Report on all causes of one protected system: governing case, areas, workings.

    Parameters: comparison, `summary.Comparison` of scalar sizings; protected_item, prepared_by
    and project, str; date as `report_date`; unit_set; more, blocks to stand after the ladder, such
    as a `Table` of safeguards. Returns `Report`; the site's atmosphere is that of the governing
    case's device. Raises InputError for an unknown unit set or a date that is none.
    Source: API 521 (2020), 4.1: the largest area governs.
    """
    from relieflib.report import figures

    date, item = report_date(date), harmless(protected_item, 80)
    first = comparison.governing
    cause, atmosphere = comparison.governing_cause, first.device.atmosphere
    drawn = figures.new_figure()
    result = {"areas": comparison.areas}
    artists = figures.build_area_ladder(drawn, result, unit_set)
    alt = figures.update_area_ladder(artists, result, unit_set)
    facts = [("protected item", item), ("project", project), ("prepared by", prepared_by),
             ("site atmosphere", si(atmosphere, "pressure"))]  # fmt: skip
    blocks = [
        *opening(facts, date), Heading("Governing case"),
        Paragraph(f"needs the largest area, {_show('required_area', first.required_area, unit_set)}"
                  f": letter {first.letter or 'none, more than one valve'}"
                  f"{f', {first.designation}' if first.designation else ''}.", cause.capitalize()),
        causes_table(comparison, unit_set),
        Figure(png(drawn), alt, "Required area of each cause; the lines are the orifice letters."),
        *more,
    ]  # fmt: skip
    sources = []
    for name, s in zip(comparison.causes, comparison.sizings, strict=True):
        blocks += [Heading(f"Working: {name}", new_page=True),
                   equations(s.working, unit_set, atmosphere)]  # fmt: skip
        sources += [step.source for step in s.working]
    blocks += closing(sources, prepared_by, date)
    title = f"Relief loads and required areas: {item}"
    return Report(title, tuple(blocks), date, item, prepared_by, project)


def safeguard_blocks(matrix, unit_set="SI", level=2):
    """The safeguard matrix as blocks for `sizing_report`: verdicts, then what stands against each.

    Parameters: matrix, a `safeguard.Matrix`; unit_set; level of its heading. Returns a list of
    blocks.
    """
    left = ", ".join(matrix.uncovered) or "none"
    across = matrix.columns
    wide = (28, *(72 / len(across),) * len(across))
    heads = ("cause", *(f"{one.tag}\n{one.arrangement}" for one in across))
    cells = [(c, *(matrix[c, one.tag].cell for one in across)) for c in matrix.causes]
    against = [
        (cause, tag, r.subject, r.verdict, f"{r.said(unit_set)}\n{r.source}")
        for (cause, tag), found in matrix.covers.items()
        for r in found.why_not
    ]
    blocks = [Heading("Safeguard matrix", level), Table(heads, tuple(cells), wide),
              Paragraph(f"{left}.", "Not covered by any valve, or not known:")]  # fmt: skip
    if against:
        columns = ("cause", "valve, trip", "what", "verdict", "why, and source")
        blocks += [Heading("What stands against it", 3),
                   Table(columns, tuple(against), (20, 16, 12, 14, 38), (0, 1))]  # fmt: skip
    return blocks


def _show(name, value, unit_set):
    unit = symbol(name).display_unit(unit_set)
    shown = None if value is None else symbol(name).show(value, unit_set)
    return sheet_text(shown, unit)


def causes_table(comparison, unit_set="SI", filed=None):
    """One line a cause, the largest required area first.

    Parameters: comparison, `summary.Comparison`; unit_set; filed, {cause: words} for a last column
    on what was filed of it. Returns `Table`.
    """
    rows = []
    for name, s in zip(comparison.causes, comparison.sizings, strict=True):
        stream = s.load.stream
        values = {"mass_flow": s.load.mass_flow, "pressure": stream.pressure,
                  "back_pressure": s.back_pressure, "required_area": s.required_area}  # fmt: skip
        last = () if filed is None else (filed.get(name, ""),)
        rows.append((name, stream.phase,
                     *(_show(n, v, unit_set) for n, v in values.items()),
                     s.letter or "none", f"{s.used:.0%}" if s.used == s.used else "",
                     *last))  # fmt: skip
    columns = ["cause", "phase", "load", "relieving pressure", "back pressure", "required area",
               "letter", "used"]  # fmt: skip
    widths = [22, 10, 14, 14, 13, 14, 7, 6]
    if filed is not None:
        columns, widths = [*columns, "filed"], [*widths, 11]
    return Table(tuple(columns), tuple(rows), tuple(widths), (0,), (2, 3, 4, 5, 7))
