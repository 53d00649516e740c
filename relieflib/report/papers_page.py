"""The page to file on papers held together: which entry differs, which is likely right."""

from textwrap import wrap

from relieflib.datasheet.verdict import SEVERITY
from relieflib.errors import InputError
from relieflib.papers.words import COPIES, likely_words, missing
from relieflib.report.blocks import (
    LONGEST_CELL,
    MOST_LINES,
    Contents,
    Heading,
    Paragraph,
    Table,
    closing,
    opening,
    report_date,
    sheet_text,
)
from relieflib.report.document import Report
from relieflib.texts import harmless

FEW = 3  # valves up to which a page needs no list of contents


def papers_report(found, date=None, prepared_by="", project="", document=None, files=(), more=()):
    """Report on the papers of one valve or several: what differs, most severe first.

    Parameters: found, a list of `papers.Found`; date, None for today, a datetime.date or
    '2026-03-31'; prepared_by and project, str; document, `page.Document`; files, pairs of words and
    text for the head of the page; more, blocks to stand after each valve, by its tag: {tag: list}.
    Returns `Report`. Raises InputError for none, or a date that is none.
    """
    if not found:
        raise InputError("found: no valve was held against its papers")
    date, more = report_date(date), dict(more)
    facts = [*(document.facts() if document else ()), *files, ("project", harmless(project, 200)),
             ("prepared by", harmless(prepared_by, 200))]  # fmt: skip
    blocks = [*opening(facts, date), *([Contents()] if len(found) > FEW else []), *_summary(found)]
    for one in found:
        blocks += [*_valve(one), *more.get(one.tag, ())]
    sources = {e.source for one in found for e in one.entries}
    sources |= {c.source for one in found for _, c in one.checks}
    signed = (document.checked_by, document.checked_on) if document else ("", "")
    blocks += closing(
        sources, harmless(prepared_by, 200), date, *(harmless(s, 200) for s in signed)
    )
    tags = ", ".join(harmless(one.tag) for one in found[:3]) + (", ..." if len(found) > 3 else "")
    about = ", ".join(filter(None, (document.foot if document else "", tags)))
    return Report("Papers of relief valves held against each other", tuple(blocks), date, about,
                  harmless(prepared_by, 200), harmless(project, 200))  # fmt: skip


def _summary(found):
    rows = []
    for one in found:
        worst = min((e.severity for e in one.differing), default=None)
        words = "nothing differs" if worst is None else f"differs: {len(one.differing)}"
        rows.append((harmless(one.tag), ", ".join(p.name for p in one.papers), words,
                     SEVERITY[worst] if worst else "",
                     ", ".join(e.name for e in one.differing)))  # fmt: skip
    columns = ("valve", "papers", "verdict", "consequence", "entries that differ")
    return [Heading("Summary"), Table(columns, tuple(rows), (14, 28, 14, 16, 28)),
            Paragraph(COPIES)]  # fmt: skip


def _reasons(entry):
    """Rows of one entry that differs: as many as its reasons need, so that none is cut."""
    lines = [line for part in entry.why.split("; ") for line in wrap(part, LONGEST_CELL - 1)]
    cells = [[]]
    for line in lines:
        if len("\n".join([*cells[-1], line])) >= LONGEST_CELL or len(cells[-1]) == MOST_LINES:
            cells.append([])
        cells[-1].append(line)
    first = (entry.name, SEVERITY[entry.severity], likely_words(entry))
    return [(*(("", "", "") if n else first), "\n".join(cell)) for n, cell in enumerate(cells)]


def _valve(one):
    """What one valve's papers say, what differs first."""
    blocks = [Heading(harmless(one.tag), new_page=True)]
    names = [p.name for p in one.papers]
    wide = (18, *(70 / len(names),) * len(names), 12)
    order = {"differs": 0, "not given": 2, "agrees": 1}
    entries = sorted(one.entries, key=lambda e: (order[e.verdict], e.severity))
    rows = tuple((e.name, *(e.said.get(n, "") for n in names), e.verdict) for e in entries)
    blocks.append(Table(("entry", *names, "verdict"), rows, wide))
    reasons = tuple(row for e in one.differing for row in _reasons(e))
    if reasons:
        columns = ("entry", "consequence", "probably right", "why, and where to look")
        blocks += [Heading("What differs", 3), Table(columns, reasons, (17, 15, 23, 45))]
    if one.checks:
        rows = tuple((paper, c.name, sheet_text(c.stated, c.unit), sheet_text(c.recomputed, c.unit),
                      f"{c.verdict}\n{SEVERITY[c.severity]}", c.reason)
                     for paper, c in one.checks)  # fmt: skip
        columns = ("paper", "check", "stated", "recomputed", "verdict", "reason")
        blocks += [Heading("A paper by itself", 3), Table(columns, rows, (17, 18, 12, 12, 14, 27))]
    rows = tuple((kind, ", ".join(entries)) for kind, entries in missing(one))
    if rows:
        blocks += [Heading("What is missing", 3),
                   Table(("paper", "does not say"), rows, (22, 78))]  # fmt: skip
    left = (*one.problems, *one.unread)
    return blocks + ([Paragraph("; ".join(left) + ".", "Not held.", boxed=True)] if left else [])
