"""A datasheet file as rows of text: encodings, separators and spreadsheets, without surprises."""

import csv
import datetime
import hashlib
import io
import logging
import re
import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from relieflib.errors import InputError, need

BIGGEST = 50_000_000  # bytes of one file
MOST_COLUMNS = 300
MOST_PAGES = 100  # of a PDF
LEGEND = "columns"  # the sheet of our own template that explains the others
SPREADSHEETS = (".xlsx", ".xlsm")
_SIGNATURES = {
    b"\xd0\xcf\x11\xe0": "is an old spreadsheet or document: save it as XLSX or CSV",
    b"\x89PNG": "is a picture", b"\xff\xd8\xff": "is a picture", b"\x1f\x8b": "is compressed",
}  # fmt: skip


@dataclass
class Grid:
    """Rows of a file: (row number as a spreadsheet shows it, texts), and remarks on reading.

    european, True where nothing in the form of the file says that a point is decimal: semicolons
    or tabs between cells, or texts of a spreadsheet; sha256 of the file as it was read; title of
    its sheet.
    """

    lines: list
    remarks: list = field(default_factory=list)
    european: bool = False
    sha256: str = ""
    title: str = ""


class Fault(str):
    """Stands in a grid for a cell that can't be read; its text says why."""


def read_grids(path):
    """Rows of a CSV, XLSX or PDF file; comment lines and empty lines left out, numbering kept.

    Parameters: path. Returns a list of `Grid`, one for each visible sheet of a workbook. Raises
    InputError, one sentence, for a file that is missing, empty, too big, or none of these.
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
    return grids_of(data, path.name)


def grids_of(data, name):
    """Rows of what a file holds.

    Parameters: data, bytes; name of the file, whose ending tells a spreadsheet. Returns and raises
    as `read_grids`.
    """
    if not data.strip(b"\x00\xff\xfe\xef\xbb\xbf \r\n\t"):
        raise InputError("is empty")
    for start, words in _SIGNATURES.items():
        if data.startswith(start):
            raise InputError(f"{words}; only CSV, XLSX and PDF are read")
    if data.startswith(b"PK"):
        grids = _spreadsheet(data)
    elif data.startswith(b"%PDF"):
        grids = [_pdf(data)]
    elif Path(name).suffix.lower() in SPREADSHEETS:
        raise InputError("is named as a spreadsheet but is none: save it as XLSX again")
    else:
        grids = [_separated(_decode(data))]
    for grid in grids:
        grid.sha256 = hashlib.sha256(data).hexdigest()
    return grids


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
    return _clean("\n".join(_decode_line(line) for line in data.split(b"\n")))


def _decode_line(line):
    """A line by itself: one byte of another code page costs its own line, never the file."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace")


def _clean(text):
    """The text, refused where even its first line, which names the columns, is none.

    A control character further down costs its own cell, never the file.
    """
    head = next((s for s in re.split(r"[\r\n]", text[:4000]) if s.strip()), "")
    bad = sum(c not in "\t\f\x1a" and (ord(c) < 32 or c == "\ufffd") for c in head)
    if bad > max(2, len(head) // 50):
        raise InputError("is not a text file; only CSV, XLSX and PDF are read")
    return text.replace("\x00", "\ufffd")


def _separated(text):
    lines = re.split(r"\r\n|\r|\n", text)
    first = next((s for s in lines if s.strip() and not _comment(s)), "")
    spaced = len(_spans(first))
    if "\t" not in first and spaced > 2 and spaced > len(_split(first, _separator(first))):
        return _aligned(lines)
    named = re.fullmatch(r'"?sep=(.)"?', first.strip())
    separator = named.group(1) if named else _separator(first)
    grid = Grid([])
    for number, cells in _records(lines, separator, grid):
        if any(cells) and not (named and cells[0].strip('"').startswith("sep=")):
            grid.lines.append((number, cells))
    if not grid.lines:
        raise InputError("has no rows, only comments")
    grid.european = separator in ";\t"
    return grid


def _aligned(lines):
    """Columns set apart by spaces, as pasted out of a page: cells go to the heading above them."""
    spans = [(n, _spans(s)) for n, s in enumerate(lines, 1) if s.strip() and not _comment(s)]
    widest = max((found for _, found in spans), key=len)
    grid = Grid([], european=True)
    for number, found in spans:
        if len(widest) < 3 or len(found) < 2:
            grid.lines.append((number, [text for _, _, text in found]))
            continue
        grid.lines.append((number, _under(widest, found)))
    return grid


def _under(heads, found):
    """Texts of a line, each under its heading: by their order where there are as many."""
    if len(found) == len(heads):
        return [text for _, _, text in found]
    cells = [""] * len(heads)
    for start, end, text in found:
        at = max(range(len(heads)), key=lambda i: _overlap(heads[i], start, end))
        at += bool(cells[at]) and at + 1 < len(heads) and not cells[at + 1]
        cells[at] = f"{cells[at]} {text}".strip()
    return cells


def _spans(line):
    return [(m.start(), m.end(), m.group()) for m in re.finditer(r"\S+(?: \S+)*", line)]


def _overlap(head, start, end):
    """Shared characters of a cell and a heading; negative, their distance, where none is shared."""
    return min(head[1], end) - max(head[0], start)


def _pdf(data):
    """Lines of the text layer of a PDF, its columns set apart by spaces."""
    pypdf = need("pypdf")
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what matters is said in our words
    try:
        reader = pypdf.PdfReader(io.BytesIO(data))
        pages = [page.extract_text(extraction_mode="layout") for page in reader.pages[:MOST_PAGES]]
    except Exception as error:  # a damaged file fails in many ways inside the library
        raise InputError(f"can't be read as a PDF ({type(error).__name__})") from None
    lines = "\n".join(pages).split("\n")
    if not any(line.strip() for line in lines):
        raise InputError("is a PDF without text, a picture of a page: type its numbers in")
    grid = _aligned(lines)
    grid.remarks.append((None, "was read from the text of a PDF: look at what was taken for what"))
    if len(reader.pages) > MOST_PAGES:
        grid.remarks.append((None, f"has {len(reader.pages)} pages: {MOST_PAGES} were read"))
    return grid


def _comment(line):
    """True for '# words' and a bare '#'; '#1' is a number and '#;tag' a heading."""
    return bool(re.match(r'["\s]*#(?:\s*[^\W\d]|[\s",;]*$|\s*[-=#*])', line))


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


def _spreadsheet(data):
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(part.file_size for part in archive.infolist()) > 10 * BIGGEST:
                raise InputError("is a spreadsheet too big to read: split it")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features of the file that hold no data
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=False, keep_links=False)
            stored = _Stored(data)
        visible = [s for s in book.worksheets if s.sheet_state == "visible" and s.title != LEGEND]
        grids = [_sheet_rows(s, stored) for s in visible or book.worksheets[:1]]
    except InputError:
        raise
    except Exception as error:  # a damaged file fails in many ways inside the library
        kind = type(error).__name__
        raise InputError(
            f"can't be read as a spreadsheet ({kind}): save it as XLSX again"
        ) from None
    filled = [grid for grid in grids if grid.lines]
    if not filled:
        raise InputError("has no rows, only comments or nothing")
    return filled


class _Stored:
    """Values that a workbook stores for its formulas; read again only where there is one."""

    def __init__(self, data):
        self.data, self.book = data, None

    def __call__(self, cell):
        """Value stored for a formula, None where the workbook was never worked out."""
        import openpyxl

        if self.book is None:
            self.book = openpyxl.load_workbook(io.BytesIO(self.data), data_only=True)
        return self.book[cell.parent.title].cell(cell.row, cell.column).value


def _sheet_rows(sheet, stored):
    grid, empty = Grid([], european=True, title=str(sheet.title)), 0
    width = min(sheet.max_column or 1, MOST_COLUMNS)
    for number, row in enumerate(sheet.iter_rows(max_col=width), start=1):
        cells = [_cell_text(cell, stored) for cell in row]
        while cells and not cells[-1]:
            cells.pop()
        empty = 0 if cells else empty + 1
        if empty > 2000:
            break
        if cells and not _comment(next(c for c in cells if c)):
            grid.lines.append((number, cells))
    _fill_down(sheet, grid)
    _unmerge(sheet, grid)
    return grid


def _fill_down(sheet, grid):
    """A value merged down over rows of the list counts for each of them."""
    places = {number: cells for number, cells in grid.lines}
    for m in sheet.merged_cells.ranges:
        if m.max_row == m.min_row or m.min_col > MOST_COLUMNS or m.min_row not in places:
            continue
        column, top = m.min_col - 1, places[m.min_row]
        value = top[column] if column < len(top) else ""
        below = [n for n in places if m.min_row < n <= m.max_row] if value else ()
        for number in below:
            cells = places[number]
            cells += [""] * (column + 1 - len(cells))
            cells[column] = value
        if below:
            words = f"'{value[:40]}' is merged down: taken for rows {m.min_row} to {max(below)}"
            grid.remarks.append((m.min_row, words))


def _percent(number_format):
    """How a number format shows per cent: 'worked' multiplies by 100, 'written' is only a sign."""
    if "%" in re.sub(r'"[^"]*"|\\.', "", number_format):
        return "worked"
    return "written" if re.search(r'"[^"]*%[^"]*"|\\%', number_format) else ""


def _cell_text(cell, stored):
    value, type_ = cell.value, cell.data_type
    if type_ == "f":
        value = stored(cell)
        if value is None:
            return Fault("is a formula without a stored value: put its value there")
        type_ = "e" if str(value).startswith("#") else ""
    if value is None:
        return ""
    if type_ == "e":
        return Fault(f"is an error of the spreadsheet ({value}): put a value there")
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return Fault("is a date or time: format the cell as text, 1-1/2 easily turns into one")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        shows = _percent(str(cell.number_format))
        # as the sheet shows it, not the last bits of the sum behind it
        text = f"{value * (100 if shows == 'worked' else 1):.12g}"
        return f"{text} %" if shows else text
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
