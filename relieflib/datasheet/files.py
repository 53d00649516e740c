"""A datasheet file as rows of text: encodings, separators and spreadsheets, without surprises."""

import collections
import csv
import datetime
import hashlib
import io
import itertools
import logging
import pickle
import re
import stat
import tempfile
import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from relieflib.errors import InputError, need
from relieflib.texts import harmless

BIGGEST = 200_000_000  # bytes of one file of text, which is read line by line
BIGGEST_WHOLE = 50_000_000  # bytes of a spreadsheet or a PDF
MOST_UNPACKED = 200_000_000  # bytes of a spreadsheet, unpacked
MOST_TEXTS = 50_000_000  # bytes of the table of texts of a spreadsheet, unpacked
MOST_ROWS = 1_048_576  # of one list: as many as a spreadsheet has
MOST_COLUMNS = 300
MOST_MERGED = 10_000  # merged ranges of one sheet
MOST_SHEETS = 100  # of a workbook
MOST_SPACED = 20_000  # lines of a text whose columns are set apart by spaces
MOST_PAGES = 100  # of a PDF
TITLE = 3  # columns that a title with commas may seem to have; headings are more
TOLD_BY = 10  # first lines by which it is told how columns are set apart
IN_MEMORY = 2000  # lines of a list; the others wait on the disk
LEGEND = "columns"  # the sheet of our own template that explains the others
SPREADSHEETS = (".xlsx", ".xlsm")
_SIGNATURES = {
    b"\xd0\xcf\x11\xe0": "is an old spreadsheet or document: save it as XLSX or CSV",
    b"\x89PNG": "is a picture", b"\xff\xd8\xff": "is a picture", b"\x1f\x8b": "is compressed",
}  # fmt: skip


class Lines:
    """Rows of a file, (number, cells): the first in memory, the rest on the disk until asked for.

    Parameters: lines to begin with. Iterates and counts as a list does; `head` holds the first.
    >>> lines = Lines((i, ["a"]) for i in range(5000))
    >>> len(lines), len(lines.head), sum(number for number, _ in lines)
    (5000, 2000, 12497500)
    """

    def __init__(self, lines=()):
        self.head, self._batch, self._places, self._file = [], [], [], None
        for line in lines:
            self.append(line)

    def append(self, line):
        """Add a row at the end."""
        if len(self.head) < IN_MEMORY:
            self.head.append(line)
            return
        self._batch.append(line)
        if len(self._batch) == IN_MEMORY:
            self._file = self._file or tempfile.TemporaryFile()  # goes with us
            self._places.append(self._file.seek(0, io.SEEK_END))
            pickle.dump(self._batch, self._file, pickle.HIGHEST_PROTOCOL)
            self._batch = []

    def __len__(self):
        return len(self.head) + len(self._places) * IN_MEMORY + len(self._batch)

    def __iter__(self):
        return self.after(-1)

    def after(self, index):
        """The rows below one of the first."""
        yield from self.head[index + 1 :]
        for place in self._places:
            self._file.seek(place)
            yield from pickle.load(self._file)
        yield from self._batch


@dataclass
class Grid:
    """Rows of a file: (row number as a spreadsheet shows it, texts), and remarks on reading.

    european, True where nothing in the form of the file says that a point is decimal: semicolons
    or tabs between cells, or texts of a spreadsheet; sha256 of the file as it was read; title of
    its sheet; lost, remarks on what could not be read.
    """

    lines: Lines
    remarks: list = field(default_factory=list)
    european: bool = False
    sha256: str = ""
    title: str = ""
    lost: list = field(default_factory=list)

    def __post_init__(self):
        if not isinstance(self.lines, Lines):
            self.lines = Lines(self.lines)

    def add(self, number, cells):
        """Add a row; InputError where a list has more than can be read, words for its columns."""
        if len(self.lines) >= MOST_ROWS:
            raise InputError(f"holds more than {MOST_ROWS} rows: split it")
        if len(cells) > MOST_COLUMNS:
            self.beyond(number, any(cells[MOST_COLUMNS:]))
        self.lines.append((number, cells[:MOST_COLUMNS]))

    def beyond(self, number, filled):
        """Say once that there are columns that are not read."""
        if filled and not any("columns" in words for _, words in self.lost):
            words = f"has more than {MOST_COLUMNS} columns: those beyond are not read"
            self.lost.append((number, words))


class Fault(str):
    """Stands in a grid for a cell that can't be read; its text says why."""


def read_grids(path):
    """Rows of a CSV, XLSX or PDF file; comment lines and empty lines left out, numbering kept.

    Parameters: path. Returns a list of `Grid`, one for each visible sheet of a workbook. Raises
    InputError, one sentence, for a file that is missing, empty, too big, or none of these.
    """
    path = Path(path)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            kind = "a folder" if path.is_dir() else "a pipe or a device"
            raise InputError(f"can't be opened: it is {kind}, no file")
        with path.open("rb") as file:
            return _grids(file, path.stat().st_size, path.name)
    except PermissionError:
        words = "can't be opened: another program holds it, or you may not read it"
        raise InputError(words) from None
    except OSError as error:
        raise InputError(
            f"can't be opened: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    except InputError:
        raise
    except ValueError:
        raise InputError("can't be opened: the name is not a file's name") from None


def grids_of(data, name):
    """Rows of what a file holds.

    Parameters: data, bytes; name of the file, whose ending tells a spreadsheet. Returns and raises
    as `read_grids`.
    """
    return _grids(io.BytesIO(data), len(data), name)


def _grids(file, size, name):
    _refuse_big(size, BIGGEST)
    start = _first_bytes(file)
    for mark, words in _SIGNATURES.items():
        if start.startswith(mark):
            raise InputError(f"{words}; only CSV, XLSX and PDF are read")
    if start.startswith((b"PK", b"%PDF")):
        _refuse_big(size, BIGGEST_WHOLE)
        grids = _spreadsheet(file) if start.startswith(b"PK") else [_pdf(file)]
    elif Path(name).suffix.lower() in SPREADSHEETS:
        raise InputError("is named as a spreadsheet but is none: save it as XLSX again")
    else:
        grids = [_separated(_text_lines(file, start))]
    file.seek(0)
    digest = hashlib.file_digest(file, "sha256").hexdigest()
    for grid in grids:
        grid.sha256 = digest
    return grids


def _refuse_big(size, most):
    if size > most:
        raise InputError(f"is larger than {most // 1_000_000} MB: split it")


def _first_bytes(file):
    """The first bytes of a file that holds something; the file then stands at its start."""
    start = part = file.read(4000)
    while part and not part.strip(b"\x00\xff\xfe\xef\xbb\xbf \r\n\t"):
        part = file.read(1_000_000)
    if not part:
        raise InputError("is empty")
    file.seek(0)
    return start


def _encoding(start):
    """'utf-16...' by its mark or its zeros, else '' for UTF-8 or the Western code page."""
    if start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    head = start[:2000]
    if head.count(0) > len(head) // 4:  # Western text in UTF-16 without its mark
        odd = head[1::2].count(0) > head[::2].count(0)
        return "utf-16-le" if odd else "utf-16-be"
    return ""


def _text_lines(file, start):
    """Yield the lines of a file of text, whatever ends them, refused where the first is none."""
    encoding = _encoding(start)
    # Latin-1 gives every byte back: a line is then decoded by itself
    text = io.TextIOWrapper(file, encoding or "latin-1", errors="replace")
    try:
        asked = True
        for line in text:
            line = line.rstrip("\n")
            line = line if encoding else _decode_line(line.encode("latin-1"))
            if asked and line.strip():
                asked = _refuse_binary(line)
            yield line.replace("\x00", "\ufffd") if "\x00" in line else line
    finally:
        text.detach()


def _decode_line(line):
    """A line by itself: one byte of another code page costs its own line, never the file."""
    try:
        return line.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace").removeprefix("\xef\xbb\xbf")


def _refuse_binary(line):
    """Refuse a file whose first line, which names the columns, is no text.

    A control character further down costs its own cell, never the file.
    """
    head = line[:4000]
    bad = sum(c not in "\t\f\x1a" and (ord(c) < 32 or c == "\ufffd") for c in head)
    if bad > max(2, len(head) // 50):
        raise InputError("is not a text file; only CSV, XLSX and PDF are read")
    return False


def _separated(lines):
    """Lines of text as a grid: by their separator, or by spaces where columns stand so."""
    before, some = [], []
    for line in lines:
        before.append(line)
        some += [line] if line.strip() and not _comment(line) else []
        if len(some) == TOLD_BY:
            break
    lines, first = itertools.chain(before, lines), some[0] if some else ""
    named = re.fullmatch(r'"?sep=(.)"?', first.strip())
    if not named and _by_colons(some):
        return _labelled(lines)
    telling = first if named else _telling(some)
    spaced = _columns_by_spaces(telling)
    if not named and spaced > 2 and spaced > len(_split(telling, _separator(telling))):
        return _aligned(lines)
    separator = named.group(1) if named else _separator(telling)
    grid = Grid([])
    for number, cells in _records(lines, separator, grid):
        if separator == "|":
            cells = _between_strokes(cells)
        if any(cells) and not (named and cells[0].strip('"').startswith("sep=")):
            grid.add(number, cells)
    if not len(grid.lines):
        raise InputError("has no rows, only comments")
    grid.european = separator in ";\t|"
    return grid


def _between_strokes(cells):
    """The cells of a line '| a | b |', none of a line of dashes between headings and rows."""
    inner = cells[1:] if not cells[0] else cells
    inner = inner[:-1] if inner and not inner[-1] else inner
    return [] if all(re.fullmatch(r":?-{2,}:?", cell) for cell in inner if cell) else inner


_LABEL = re.compile(r"\s*([^\W\d][^:;\t]{0,80}?)\s*:(?:\s+(.*\S))?\s*")


def _by_colons(some):
    """True where most of the first lines are 'label: value', as pasted out of a form, no list."""
    found = [_LABEL.fullmatch(line) for line in some]
    marks = [_bare(line).count(_separator(line)) for line in some]
    listed = [count for count in marks if count > TITLE - 1]  # as many in two lines: a table
    return (sum(bool(one and one[2]) for one in found) >= max(3, len(some) / 2)
            and len(set(listed)) == len(listed))  # fmt: skip


def _labelled(lines):
    """Labels and values of a form of text, set apart by colons; wide spaces part two of them."""
    grid = Grid([], european=True)
    for number, line in enumerate(lines, 1):
        if not line.strip() or _comment(line):
            continue
        cells = []
        for _, _, text in _spans(line):
            one = _LABEL.fullmatch(text)
            cells += [f"{one[1]}:", one[2] or ""] if one else [text]
        grid.add(number, _without_gaps(cells))
    return grid


def _without_gaps(cells):
    """The cells with an empty one between a label and its value taken away."""
    return [c for c, after in zip(cells, [*cells[1:], ":"]) if c or after.endswith(":")]


def _telling(some):
    """The line that tells how columns are set apart: the first, or one of far more columns.

    A title above the headings has few. Parameters: some, the first lines. Returns str.
    """
    if not some:
        return ""
    counts = [max(_columns_by_spaces(s), _bare(s).count(_separator(s)) + 1) for s in some]
    if counts[0] > TITLE or 2 * counts[0] >= max(counts):
        return some[0]
    return next(s for s, count in zip(some, counts, strict=True) if 2 * count > max(counts))


def _columns_by_spaces(line):
    return len(_spans(line)) if "\t" not in line and len(line) < 100_000 else 0


def _aligned(lines):
    """Columns set apart by spaces, as pasted out of a page: cells go to the heading above them."""
    lines = list(itertools.islice(lines, MOST_SPACED + 1))
    if len(lines) > MOST_SPACED:
        words = f"sets its columns apart by spaces: up to {MOST_SPACED} lines are read so"
        raise InputError(f"{words}, save it with semicolons or split it")
    spans = [(n, _spans(s)) for n, s in enumerate(lines, 1) if s.strip() and not _comment(s)]
    widest = max((found for _, found in spans), key=len)
    grid = Grid([], european=True)
    for number, found in spans:
        if len(widest) < 3 or len(found) < 2:
            grid.add(number, [text for _, _, text in found])
            continue
        grid.add(number, _under(widest, found))
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


def _pdf(file):
    """Lines of the text layer of a PDF, its columns set apart by spaces."""
    pypdf = need("pypdf")
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what matters is said in our words
    try:
        reader = pypdf.PdfReader(file)
        pages = [page.extract_text(extraction_mode="layout") for page in reader.pages[:MOST_PAGES]]
    except Exception as error:  # a damaged file fails in many ways inside the library
        raise InputError(f"can't be read as a PDF ({type(error).__name__})") from None
    lines = "\n".join(pages).split("\n")
    if not any(line.strip() for line in lines):
        raise InputError("is a PDF without text, a picture of a page: type its numbers in")
    some = [line for line in lines if line.strip()][:TOLD_BY]
    grid = _labelled(lines) if _by_colons(some) else _aligned(lines)
    grid.remarks.append((None, "was read from the text of a PDF: look at what was taken for what"))
    if len(reader.pages) > MOST_PAGES:
        grid.lost.append((None, f"has {len(reader.pages)} pages: {MOST_PAGES} were read"))
    return grid


def _comment(line):
    """True for '# words' and a bare '#'; '#1' is a number and '#;tag' a heading."""
    return "#" in line and bool(_COMMENT.match(line))


_COMMENT = re.compile(r'["\s]*#(?:\s*[^\W\d]|[\s",;]*$|\s*[-=#*])')


def _bare(line):
    """A line without quoted texts, brackets and decimal commas, whose signs separate nothing."""
    return re.sub(r'"[^"]*"|\[[^\]]*\]|\d,\d', "", line)


def _separator(heading):
    return max(",;\t|", key=_bare(heading).count)


def _records(lines, separator, grid):
    """Yield (number, cells); a stray quote costs its own line, never the lines below it."""
    lines, ahead, number, width = iter(lines), collections.deque(), 0, None
    while ahead or (line := next(lines, None)) is not None:
        number += 1
        line, used = ahead.popleft() if ahead else line, 1
        if not line.strip() or _comment(line):
            continue
        if line.count('"') % 2:
            ahead.extend(itertools.islice(lines, MOST_JOINED - 1 - len(ahead)))
            joined, used = _joined(line, ahead, separator, width)
            if used == 0:
                words = "has a quotation mark without its partner: it was taken away"
                grid.remarks.append((number, words))
            line, used = (joined, used) if used else (line.replace('"', ""), 1)
        cells = _split(line, separator)
        if width is None and len(cells) > 2:  # a title tells nothing of the list below it
            width = len(cells)
        yield number, [cell.strip() for cell in cells]
        for _ in range(used - 1):
            ahead.popleft()


MOST_JOINED = 30  # lines of one cell with line breaks


def _joined(text, ahead, separator, width):
    """The lines of a cell with line breaks, if together they make one full row; else 0 lines."""
    inside = separator in text  # a line that is a row by itself goes on no cell but the first
    for used, line in enumerate(ahead, start=2):
        if inside and width and line.count(separator) >= width - 1:
            return text, 0
        text += " " + line
        if text.count('"') % 2 == 0:
            full = width is None or len(_split(text, separator)) == width
            return text, used if full else 0
    return text, 0


def _split(line, separator):
    if '"' not in line:
        return line.split(separator)
    old = csv.field_size_limit()
    longer = len(line) >= old and csv.field_size_limit(len(line) + 10)
    try:
        return next(csv.reader((line,), delimiter=separator), [])
    except csv.Error:
        return line.replace('"', "").split(separator)
    finally:
        if longer:
            csv.field_size_limit(old)


def _spreadsheet(file):
    import openpyxl

    try:
        with zipfile.ZipFile(file) as archive, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features of the file that hold no data
            _refuse_bomb(archive)
            # row by row: a merged range or a far cell then costs nothing by its size
            book = openpyxl.load_workbook(file, read_only=True, keep_links=False)
            visible = [
                s for s in book.worksheets if s.sheet_state == "visible" and s.title != LEGEND
            ]
            sheets = visible or book.worksheets[:1]
            if len(sheets) > MOST_SHEETS:
                raise InputError(f"holds more than {MOST_SHEETS} sheets: split it")
            grids = [_sheet_rows(s, _Stored(file, s.title), archive) for s in sheets]
    except InputError:
        raise
    except Exception as error:  # a damaged file fails in many ways inside the library
        kind = type(error).__name__
        raise InputError(
            f"can't be read as a spreadsheet ({kind}): save it as XLSX again"
        ) from None
    filled = [grid for grid in grids if len(grid.lines)]
    if not filled:
        raise InputError("has no rows, only comments or nothing")
    return filled


def _refuse_bomb(archive):
    parts = archive.infolist()
    texts = sum(p.file_size for p in parts if p.filename.casefold().endswith("sharedstrings.xml"))
    if texts > MOST_TEXTS or sum(p.file_size for p in parts) > MOST_UNPACKED:
        raise InputError("is a spreadsheet too big to read: split it")


class _Stored:
    """Values that a sheet stores for its formulas; read again only where there is one."""

    def __init__(self, file, title):
        self.file, self.title, self.rows, self.at, self.row = file, title, None, 0, ()

    def __call__(self, number, index):
        """Value stored for a formula, None where the workbook was never worked out."""
        import openpyxl

        if self.rows is None:
            book = openpyxl.load_workbook(self.file, read_only=True, data_only=True)
            sheet = book[self.title]
            sheet.reset_dimensions()
            self.rows = sheet.iter_rows(values_only=True)
        while self.at < number:
            self.row, self.at = next(self.rows, ()), self.at + 1
        return self.row[index] if index < len(self.row) else None


def _sheet_rows(sheet, stored, archive):
    grid = Grid([], european=True, title=str(sheet.title))
    merged, far = _ranges(archive, sheet._worksheet_path)
    grid.beyond(far, far)
    sheet.reset_dimensions()  # a file may say less than it holds
    down = _MergedDown(merged, grid)
    for number, row in enumerate(sheet.iter_rows(), start=1):  # as wide as it is filled
        if number > MOST_ROWS:
            raise InputError(f"holds rows beyond {MOST_ROWS}: no spreadsheet has them")
        row = row[:MOST_COLUMNS]
        cells = [_cell_text(cell, number, i, stored) for i, cell in enumerate(row)]
        while cells and not cells[-1]:
            cells.pop()
        if cells and not _comment(next(c for c in cells if c)):
            grid.add(number, down.fill(number, cells))
    down.say()
    _unmerge(merged, grid)
    return grid


_RANGE = re.compile(
    rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})"'
)
_FAR = re.compile(rb' r="(?:K[O-Z]|[L-Z][A-Z]|[A-Z]{3})(\d{1,7})"[^>/]*>\s*<')  # KN is column 300
_TAG = 10_000  # characters of a tag, at most


def _ranges(archive, name):
    """Merged ranges of a sheet by their top row: {row: [(first column, last row, last column)]}.

    Beside them the first row with a filled cell beyond the last column that is read, or 0.
    """
    from openpyxl.utils import column_index_from_string as column

    found, count, far, rest = {}, 0, 0, b""
    with archive.open(name.lstrip("/")) as part:
        while chunk := part.read(1_000_000):
            text = rest + chunk
            for left, top, right, bottom in _RANGE.findall(text):
                ends = column(left.decode()), int(bottom), column(right.decode())
                count += 1
                found.setdefault(int(top), set()).add(ends)
            far = far or next((int(m[1]) for m in _FAR.finditer(text)), 0)
            if count > MOST_MERGED:
                raise InputError(f"holds more than {MOST_MERGED} merged ranges: take them apart")
            cut = text.rfind(b"<", 0, max(text.rfind(b"<"), 0))  # two tags: the next may end ours
            rest = text[max(cut, len(text) - _TAG) :]
    return found, far


class _MergedDown:
    """Values merged down over rows of a list: each counts for every row."""

    def __init__(self, merged, grid):
        self.merged, self.grid, self.live = merged, grid, {}

    def fill(self, number, cells):
        """The cells of a row with what is merged into them."""
        for column, (last, value, first, _) in list(self.live.items()):
            if number > last:
                self._said(column)
                continue
            cells += [""] * (column + 1 - len(cells))
            cells[column] = value
            self.live[column] = last, value, first, number
        for left, bottom, _ in sorted(self.merged.get(number, ())):
            value = cells[left - 1] if left <= len(cells) else ""
            if bottom > number and value:
                self.live[left - 1] = bottom, value, number, number
        return cells

    def say(self):
        """Remark on what is still open."""
        for column in list(self.live):
            self._said(column)

    def _said(self, column):
        _, value, first, last = self.live.pop(column)
        if last > first:
            words = f"'{harmless(value)}' is merged down: taken for rows {first} to {last}"
            self.grid.remarks.append((first, words))


def _percent(number_format):
    """How a number format shows per cent: 'worked' multiplies by 100, 'written' is only a sign."""
    if "%" in re.sub(r'"[^"]*"|\\.', "", number_format):
        return "worked"
    return "written" if re.search(r'"[^"]*%[^"]*"|\\%', number_format) else ""


def _cell_text(cell, row, index, stored):
    value, type_ = cell.value, cell.data_type
    if type_ == "f":
        value = stored(row, index)
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


def _unmerge(merged, grid):
    """Headings merged across columns, with a second line of headings below, become one line."""
    head = grid.lines.head
    at = next((i for i, (_, cells) in enumerate(head[:TOLD_BY]) if not _is_title(cells)), 0)
    if len(head) < at + 2:
        return
    (top, upper), (second, lower) = head[at : at + 2]
    across = [(left, min(right, MOST_COLUMNS)) for left, _, right in merged.get(top, ())]
    if second != top + 1 or not any(right > left for left, right in across):
        return
    width = max(len(upper), len(lower), *(right for _, right in across))
    upper, lower = ([*cells, *[""] * (width - len(cells))] for cells in (upper, lower))
    for left, right in across:
        upper[left - 1 : right] = [upper[left - 1]] * (right - left + 1) if left <= right else []
    both = [f"{low}|{up}" if low and up else low or up for up, low in zip(upper, lower)]
    head[at : at + 2] = [(second, both)]


def _is_title(cells):
    """True for one text alone at the left, however broad it is merged: no heading of columns."""
    return len([c for c in cells if c]) == 1 and bool(cells[0])
