"""A datasheet file as rows of text: encodings, separators and spreadsheets, without surprises."""

import csv
import datetime
import hashlib
import io
import re
import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from relieflib.errors import InputError

BIGGEST = 50_000_000  # bytes of one file
MOST_COLUMNS = 300
LEGEND = "columns"  # the sheet of our own template that explains the others
SPREADSHEETS = (".xlsx", ".xlsm")
_SIGNATURES = {
    b"%PDF": "is a PDF: copy its table into the template",
    b"\xd0\xcf\x11\xe0": "is an old spreadsheet or document: save it as XLSX or CSV",
    b"\x89PNG": "is a picture", b"\xff\xd8\xff": "is a picture", b"\x1f\x8b": "is compressed",
}  # fmt: skip


@dataclass
class Grid:
    """Rows of a file: (row number as a spreadsheet shows it, texts), and remarks on reading.

    comma, True where numbers have decimal commas; sha256 of the file as it was read.
    """

    lines: list
    remarks: list = field(default_factory=list)
    comma: bool = False
    sha256: str = ""


class Fault(str):
    """Stands in a grid for a cell that can't be read; its text says why."""


def read_grid(path):
    """Rows of a CSV or XLSX file; comment lines and empty lines left out, numbering kept.

    Parameters: path. Returns `Grid`. Raises InputError, one sentence, for a file that is missing,
    empty, too big, or neither text nor a spreadsheet.
    """
    path = Path(path)
    try:
        if path.stat().st_size > BIGGEST:
            raise InputError(f"is larger than {BIGGEST // 1_000_000} MB: split it")
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            f"can't be opened: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    except ValueError:
        raise InputError("can't be opened: the name is not a file's name") from None
    if not data.strip(b"\x00\xff\xfe\xef\xbb\xbf \r\n\t"):
        raise InputError("is empty")
    for start, words in _SIGNATURES.items():
        if data.startswith(start):
            raise InputError(f"{words}; only CSV and XLSX are read")
    if data.startswith(b"PK"):
        grid = _spreadsheet(data)
    elif path.suffix.lower() in SPREADSHEETS:
        raise InputError("is named as a spreadsheet but is none: save it as XLSX again")
    else:
        grid = _separated(_decode(data))
    grid.sha256 = hashlib.sha256(data).hexdigest()
    return grid


def _decode(data):
    """Text of the bytes: UTF-8, UTF-16, else the Western code page."""
    for mark, name in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if data.startswith(mark):
            return _clean(data.decode(name, errors="replace"))
    head = data[:2000]
    if head.count(0) > len(head) // 4:  # Western text in UTF-16 without its mark
        odd = head[1::2].count(0) > head[::2].count(0)
        return _clean(data.decode("utf-16-le" if odd else "utf-16-be", errors="replace"))
    try:
        return _clean(data.decode("utf-8"))
    except UnicodeDecodeError:
        return _clean(data.decode("cp1252", errors="replace"))


def _clean(text):
    """The text, refused where even its first line, which names the columns, is none.

    A control character further down costs its own cell, never the file.
    """
    head = next((s for s in re.split(r"[\r\n]", text[:4000]) if s.strip()), "")
    bad = sum(c not in "\t\f\x1a" and (ord(c) < 32 or c == "\ufffd") for c in head)
    if bad > max(2, len(head) // 50):
        raise InputError("is not a text file; only CSV and XLSX are read")
    return text.replace("\x00", "\ufffd")


def _separated(text):
    lines = re.split(r"\r\n|\r|\n", text)
    first = next((s for s in lines if s.strip() and not _comment(s)), "")
    named = re.fullmatch(r'"?sep=(.)"?', first.strip())
    separator = named.group(1) if named else _separator(first)
    grid = Grid([])
    for number, cells in _records(lines, separator, grid):
        if any(cells) and not (named and cells[0].strip('"').startswith("sep=")):
            grid.lines.append((number, cells))
    if not grid.lines:
        raise InputError("has no rows, only comments")
    if separator in ";\t":
        grid.comma = _decimal_comma(grid)
    return grid


def _comment(line):
    return line.lstrip().lstrip('"').startswith("#")


def _separator(heading):
    bare = re.sub(r'"[^"]*"|\[[^\]]*\]', "", heading)
    return max(",;\t", key=bare.count)


def _records(lines, separator, grid):
    """Yield (number, cells); a stray quote costs its own line, never the lines below it."""
    index, number, width = 0, 0, None
    while index < len(lines):
        number += 1
        line, used = lines[index], 1
        if not line.strip() or _comment(line):
            index += 1
            continue
        if line.count('"') % 2:
            line, used = _joined(lines, index, separator, width)
            if used == 0:
                grid.remarks.append(
                    (number, "has a quotation mark without its partner: it was taken away")
                )
                line, used = line.replace('"', ""), 1
        cells = _split(line, separator)
        if width is None:
            width = len(cells)
        yield number, [cell.strip() for cell in cells[:MOST_COLUMNS]]
        index += used


def _joined(lines, index, separator, width):
    """The lines of a cell with line breaks, if together they make one full row; else 0 lines."""
    text = lines[index]
    for used in range(2, min(30, len(lines) - index) + 1):
        text += " " + lines[index + used - 1]
        if text.count('"') % 2 == 0:
            full = width is None or len(_split(text, separator)) == width
            return (text, used) if full else (lines[index], 0)
    return lines[index], 0


def _split(line, separator):
    if '"' not in line:
        return line.split(separator)
    old = csv.field_size_limit(max(len(line), 1) + 10)
    try:
        return next(csv.reader(io.StringIO(line), delimiter=separator), [])
    except csv.Error:
        return line.replace('"', "").split(separator)
    finally:
        csv.field_size_limit(old)


_COMMA = re.compile(r"[+-]?\d+,(\d+)(?:[eE][+-]?\d+)?(?:\s*[^\d\s,].*)?")
_POINT = re.compile(r"[+-]?\d+\.\d+(?:[eE][+-]?\d+)?(?:\s*[^\d\s.].*)?")


def _decimal_comma(grid):
    """True where a comma in a number can only be decimal: no decimal points in the file, and not
    every comma followed by the three digits of a thousands separator.
    """
    clear = False
    for _, cells in grid.lines[1:]:
        for cell in cells:
            if _POINT.fullmatch(cell):
                return False
            match = "," in cell and _COMMA.fullmatch(cell)
            clear = clear or bool(match and (len(match.group(1)) != 3 or cell.startswith("0,")))
    return clear


def _spreadsheet(data):
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(part.file_size for part in archive.infolist()) > 10 * BIGGEST:
                raise InputError("is a spreadsheet too big to read: split it")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features of the file that hold no data
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=False, keep_links=False)
        sheet = next(s for s in book.worksheets if s.sheet_state == "visible")
        grid = _sheet_rows(sheet)
    except InputError:
        raise
    except Exception as error:  # a damaged file fails in many ways inside the library
        kind = type(error).__name__
        raise InputError(
            f"can't be read as a spreadsheet ({kind}): save it as XLSX again"
        ) from None
    if {s.title for s in book.worksheets} - {sheet.title, LEGEND}:
        title = str(sheet.title)
        grid.remarks.append((None, f"has {len(book.worksheets)} sheets: only '{title}' was read"))
    if not grid.lines:
        raise InputError("has no rows, only comments or nothing")
    return grid


def _sheet_rows(sheet):
    grid, empty = Grid([]), 0
    width = min(sheet.max_column or 1, MOST_COLUMNS)
    for number, row in enumerate(sheet.iter_rows(max_col=width), start=1):
        cells = [_cell_text(cell) for cell in row]
        while cells and not cells[-1]:
            cells.pop()
        empty = 0 if cells else empty + 1
        if empty > 2000:
            break
        if cells and not next(c for c in cells if c).startswith("#"):
            grid.lines.append((number, cells))
    _unmerge(sheet, grid)
    return grid


def _cell_text(cell):
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return Fault("is a formula and is not worked out: put its value there")
    if cell.data_type == "e":
        return Fault(f"is an error of the spreadsheet ({value}): put a value there")
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return Fault("is a date or time: format the cell as text, 1-1/2 easily turns into one")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{value:.12g}"  # as the sheet shows it, not the last bits of the sum behind it
        if "%" in str(cell.number_format):
            return f"{value * 100:.12g} %"
        return text
    if isinstance(value, int) and "%" in str(cell.number_format):
        return f"{value * 100} %"
    return str(value).strip()


def _unmerge(sheet, grid):
    """Headings merged across columns, with a second line of headings below, become one line."""
    if len(grid.lines) < 2:
        return
    (top, upper), (second, lower) = grid.lines[0], grid.lines[1]
    merged = [m for m in sheet.merged_cells.ranges if m.min_row == top]
    if not any(m.max_col > m.min_col for m in merged):
        return
    width = max(len(upper), len(lower), *(m.max_col for m in merged))
    upper, lower = ([*cells, *[""] * (width - len(cells))] for cells in (upper, lower))
    for m in merged:
        for column in range(m.min_col - 1, m.max_col):
            upper[column] = upper[m.min_col - 1]
    both = [f"{low}|{up}" if low and up else low or up for up, low in zip(upper, lower)]
    grid.lines[:2] = [(second, both)]
