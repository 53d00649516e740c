"""The check table of a datasheet as rows, text, HTML, CSV and XLSX; text from files made safe."""

import codecs
import csv
import io
import itertools
import textwrap
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

from relieflib.datasheet.verdict import SEVERITY, VERDICTS, digits
from relieflib.errors import InputError
from relieflib.files import whole
from relieflib.summary import guarded
from relieflib.texts import CAUTION, clean, harmless, html_text

HEADINGS = (
    "file",
    "row",
    "tag",
    "check",
    "verdict",
    "stated",
    "recomputed",
    "unit",
    "tolerance",
    "consequence",
    "reason",
    "source",
)
MOST_LINES = 1_048_000  # of a spreadsheet, which has 1 048 576
_CAUTION = CAUTION.replace("**", "")
_INDENT = {"initial_indent": 13 * " ", "subsequent_indent": 13 * " "}
_MARK = {"differs": "#b30000", "agrees": "#00543d", "not given": "#555555"}


def as_table(results, only=None):
    """Checks as a list of dicts of str, one a check; in a row what differs comes first.

    Parameters: results, a `FileCheck` or a list of (Row, list of Check); only, a verdict, a
    tuple of verdicts or a function of a `Check` that says what to keep. Returns a list of dicts
    with the keys `HEADINGS`.
    """
    keep = _keep(only)
    return [_record(row, c) for row, checks in _results(results) for c in checks if keep(c)]


def _keep(only):
    """A function of a `Check` that says what to keep."""
    wanted = (only,) if isinstance(only, str) else only
    return wanted if callable(wanted) else lambda c: wanted is None or c.verdict in wanted


def telling(check):
    """True for what is given, and for what is not given but matters here.

    Parameters: check. Returns bool.
    """
    return check.verdict != "not given" or check.severity <= 2


def _results(results):
    return getattr(results, "results", results)


def _record(row, check):
    return dict(zip(HEADINGS, _of_row(row))) | _shown(check)


def _of_row(row):
    """The texts before those of its checks."""
    return row.file, str(row.number), harmless(row.tag)


def _shown(check):
    """The texts of a check, whatever row it is of."""
    consequence = SEVERITY[check.severity] if check.verdict == "differs" else ""
    return {
        "check": check.name,
        "verdict": check.verdict,
        "stated": harmless(digits(check.stated)),
        "recomputed": digits(check.recomputed),
        "unit": "" if check.unit == "-" else check.unit,
        "tolerance": f"{check.tolerance:.2g}" if check.tolerance else "",
        "consequence": consequence,
        "reason": harmless(check.reason, 600),
        "source": check.source,
    }


def as_text(results, only=None, width=110):
    """The check table as plain text for a terminal.

    Parameters: results and only as `as_table`; width in characters, for reasons. Returns str.
    """
    keep = _keep(only)
    lines = [_row_lines(row, checks, keep, width)[0] for row, checks in _results(results)]
    return clean("\n\n".join(lines))


def told(row, checks, only=None):
    """A row of a long list for a terminal: its text, and how many of its checks differ.

    Parameters: row, `Row`; checks, list of `Check`; only as `as_table`. Returns (str, int).
    """
    lines, differing = _row_lines(row, checks, _keep(only), 110)
    return clean(lines), differing


def _row_lines(row, checks, keep, width):
    """Text of a row as `as_text` has it, and how many checks differ."""
    found = [check.verdict for check in checks]
    count = ", ".join([f"{found.count(v)} {v}" for v in VERDICTS])
    lines = [f"{harmless(row.tag)} (row {row.number}): {count}"]
    lines += [_told(check, width) for check in checks if keep(check)]
    return "\n".join(lines), found.count("differs")


@lru_cache(5000)  # most checks of a long list say the same in many rows
def _told(check, width):
    """Lines of one check for a terminal."""
    r = _shown(check)
    numbers = f"stated {r['stated'] or '-'}, recomputed {r['recomputed'] or '-'}"
    numbers = f"{numbers} {r['unit']}".rstrip()
    mark = f"  [{r['consequence']}]" if r["consequence"] else ""
    line = f"  {r['verdict']:<9}  {r['check']}: {numbers}{mark}"
    reason = _wrapped(r["reason"], max(width, 60) - 13)
    return f"{line}\n{reason}" if reason else line


@lru_cache(5000)
def _wrapped(reason, width):
    return "\n".join(textwrap.wrap(reason, width, **_INDENT))


def as_html(results, only=None):
    """The check table as HTML; every text escaped, verdicts in words beside their colour.

    Parameters: results and only as `as_table`. Returns str.
    """
    columns = [h for h in HEADINGS if h != "file"]
    head = "".join(f"<th style='text-align:left'>{h}</th>" for h in columns)
    body = []
    for record in as_table(results, only):
        cells = []
        for h in columns:
            style = (
                f" style='color:{_MARK[record[h]]};font-weight:bold'"
                if h == "verdict"
                else (" style='text-align:left'")
            )
            cells.append(f"<td{style}>{html_text(record[h])}</td>")
        body.append(f"<tr>{''.join(cells)}</tr>")
    reading = getattr(results, "reading", None)
    notes = "".join(f"<li>{html_text(p)}</li>" for p in (reading.said() if reading else ()))
    notes = f"<ul>{notes}</ul>" if notes else ""
    return (
        f"{notes}<table><thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"
        f"<p><small>{_CAUTION}</small></p>"
    )


def export_csv(results, path, overwrite=False, only=None):
    """Write the check table as CSV (UTF-8 with mark); whole or not at all.

    Parameters: results and only as `as_table`; path; overwrite, True to replace a file. Returns
    Path. Raises InputError for an existing file or a folder that can't be written to.
    """
    with export_slowly(path, overwrite, ".csv") as add:
        for row, checks in _results(results):
            add(row, checks, only)
    return Path(path)


def export_xlsx(results, path, overwrite=False, only=None):
    """Write the check table as XLSX, numbers as numbers, nothing as a formula.

    Parameters, Returns and Raises as `export_csv`; InputError also for more checks than a sheet
    has rows.
    """
    with export_slowly(path, overwrite, ".xlsx") as add:
        for row, checks in _results(results):
            add(row, checks, only)
    return Path(path)


@contextmanager
def export_slowly(path, overwrite=False, suffix=None):
    """Write the check table row by row, so that a list of any length takes the same memory.

    Parameters: path, ends in .csv or .xlsx unless suffix says which; overwrite as `export_csv`.
    Gives a function of (row, checks, only as `as_table`); the file is there, whole, at the end.
    Raises InputError as `export_csv` and `export_xlsx`.
    """
    write = _csv_table if (suffix or Path(path).suffix.lower()) == ".csv" else _xlsx_table
    with whole(path, overwrite) as file, write(file) as lines:

        def add(row, checks, only=None):
            lines(_of_row(row), filter(_keep(only), checks))

        yield add


@contextmanager
def _csv_table(file):
    file.write(codecs.BOM_UTF8)  # the codec that writes it itself is slow
    text = io.TextIOWrapper(file, "utf-8", newline="")
    writer = csv.writer(text)
    writer.writerow(HEADINGS)

    def lines(before, checks):
        before = [guarded(text) for text in before]
        writer.writerows([*before, *_guarded(check)] for check in checks)

    yield lines
    text.detach()


@lru_cache(5000)
def _guarded(check):
    return [guarded(text) for text in _shown(check).values()]


@contextmanager
def _xlsx_table(file):
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    book = openpyxl.Workbook(write_only=True)
    sheet, count = book.create_sheet("checks"), itertools.count(2)
    sheet.freeze_panes = "A2"
    for letter, width in zip("ABCDEFGHIJKL", (20, 6, 14, 32, 10, 12, 14, 9, 10, 22, 70, 50)):
        sheet.column_dimensions[letter].width = width
    heads = [WriteOnlyCell(sheet, h) for h in HEADINGS]
    for cell in heads:
        cell.font = Font(bold=True)
    sheet.append(heads)
    last = 1

    def lines(before, checks):
        nonlocal last
        before = list(map(_value, HEADINGS, before))
        for check in checks:
            last = next(count)
            if last > MOST_LINES:
                raise InputError(f"export: a spreadsheet holds up to {MOST_LINES} checks: use .csv")
            sheet.append([*before, *_values(check)])

    yield lines
    sheet.auto_filter.ref = f"A1:L{last}"
    sheet.append([])
    sheet.append([_CAUTION])
    book.save(file)


@lru_cache(5000)
def _values(check):
    return [_value(heading, text) for heading, text in _shown(check).items()]


def _value(heading, text):
    if heading in ("row", "stated", "recomputed", "tolerance"):
        try:
            number = float(text)
            return number if abs(number) < 1e300 else guarded(text)
        except ValueError:
            pass
    return guarded(text)
