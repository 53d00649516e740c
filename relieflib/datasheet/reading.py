"""A datasheet file read into rows, and its rows checked."""

import difflib
import hashlib
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from relieflib.datasheet.checks import check_row
from relieflib.datasheet.columns import (
    COLUMNS,
    NEEDED,
    Row,
    kind_of,
    read_cell,
    read_heading,
)
from relieflib.datasheet.export import as_html
from relieflib.datasheet.files import Fault, Grid, read_grid
from relieflib.datasheet.reasons import SEARCHED
from relieflib.errors import InputError, positive
from relieflib.texts import harmless
from relieflib.units import ATMOSPHERE

_LETTERS = re.compile("[A-Za-z°]")
MOST_SEARCHED = 100  # rows of a file in which the slips behind what differs are searched for
_PATTERNS = ("*.csv", "*.tsv", "*.xlsx", "*.xlsm")


@dataclass(frozen=True)
class Problem:
    """Something that could not be read: file, row as a spreadsheet numbers it, column, sentence.

    loss is True where a value or a row is lost by it, False for a remark.
    """

    file: str
    row: int | None
    column: str
    sentence: str
    loss: bool = True

    def __str__(self):
        place = [self.file]
        place += [f"row {self.row}"] if self.row else []
        place += [f"column '{self.column}'"] if self.column else []
        return f"{', '.join(place)}: {self.sentence}"


@dataclass
class Reading:
    """What a file holds: rows that can be checked, problems in words, and the file's SHA-256."""

    file: str
    rows: list = field(default_factory=list)
    problems: list = field(default_factory=list)
    sha256: str = ""


@dataclass
class FileCheck:
    """The checks of a file: `Reading`, and a list of (Row, list of `Check`) in the file's order."""

    reading: Reading
    results: list = field(default_factory=list)

    @property
    def differs(self):
        """Number of checks that differ."""
        return sum(c.verdict == "differs" for _, checks in self.results for c in checks)

    @property
    def losses(self):
        """Number of values or rows that could not be read."""
        return sum(p.loss for p in self.reading.problems)

    def _repr_html_(self):
        return as_html(self)


def read(path, atmosphere=ATMOSPHERE):
    """Read a datasheet file into SI.

    Parameters: path of a CSV (UTF-8, UTF-16 or Western; comma, semicolon or tab) or XLSX file
    (first visible sheet); atmosphere [Pa], the site's, between gauge and absolute. Returns
    `Reading`: every row that holds anything, cells that can't be read left out and named, one
    sentence each, in `problems`. Raises InputError, one sentence, for a file that can't be read
    at all: missing, empty, binary, or without a known heading.
    """
    file = harmless(Path(path).name, 80) or f"'{harmless(path, 80)}'"
    try:
        grid = read_grid(path)
    except InputError as error:
        raise InputError(f"{file}: {error}") from None
    return _reading(file, grid, atmosphere)


def read_words(words, atmosphere=ATMOSPHERE):
    """Read one valve typed in as lines of 'heading: value'.

    Parameters: words, str, a line for each number: 'set pressure: 12 barg'; headings of the
    template, each value with its unit, empty lines and those that begin with # left out;
    atmosphere [Pa], the site's. Returns `Reading` of one row. Raises InputError for a line without
    a colon, or without a known heading.
    >>> read_words("tag: PSV-1\\nset pressure: 75 psig").rows[0].tag
    'PSV-1'
    """
    cells = []
    for number, line in enumerate(str(words).splitlines(), start=1):
        heading, colon, value = line.strip().partition(":")
        if not heading or heading.startswith("#"):
            continue
        if not colon:
            raise InputError(f"line {number}, '{harmless(line)}': write 'set pressure: 12 barg'")
        cells.append((heading.strip(), value.strip()))
    headings, values = zip(*cells) if cells else ((), ())
    digest = hashlib.sha256(str(words).encode("utf-8", "replace")).hexdigest()
    grid = Grid([(1, list(headings)), (2, list(values))], sha256=digest)
    return _reading("typed in", grid, atmosphere)


def _reading(file, grid, atmosphere):
    positive(atmosphere=atmosphere)
    try:
        top, columns, problems, lost = _headings(file, grid)
    except InputError as error:
        raise InputError(f"{file}: {error}") from None
    reading = Reading(file, problems=problems, sha256=grid.sha256)
    problems += [Problem(file, number, "", words, loss=False) for number, words in grid.remarks]
    width = max(len(grid.lines[top][1]), max(columns, default=0) + 1)
    usual = Counter(len(cells) for _, cells in grid.lines[top + 1 :]).most_common(1)
    usual = usual[0][0] if usual else 0
    for number, cells in grid.lines[top + 1 :]:
        row = Row(file, number, unreadable=dict(lost), atmosphere=atmosphere)
        if any(cells[width:]) or (len(cells) > width and len(cells) != usual):
            words = (
                f"has {len(cells)} cells under {width} headings: a comma inside a number or a text "
                "shifts the columns, put it in quotation marks; the row was left out"
            )
            problems.append(Problem(file, number, "", words))
            continue
        unread = _read_row(row, columns, cells, grid.comma)
        problems += unread
        if row.cells or unread:
            reading.rows.append(row)
    if not reading.rows:
        problems.append(Problem(file, None, "", "has headings but no rows below them"))
    return reading


def _headings(file, grid):
    """Index of the heading line, {cell index: (Column, unit)}, problems, lost columns with why."""
    known = [sum(bool(_match(text)[0]) for text in cells) for _, cells in grid.lines[:10]]
    if max(known) < 2:
        raise InputError(
            "no two headings are known: the first row names the columns, such as 'tag', "
            "'set pressure [barg]', 'load [kg/h]'; see template.csv"
        )
    top = known.index(max(known))
    number, cells = grid.lines[top]
    columns, problems, lost, seen = {}, [], {}, set()

    def problem(heading, words, loss=True):
        problems.append(Problem(file, number, heading, words, loss))

    for index, text in enumerate(cells):
        column, unit, fault = _match(text)
        if column is None:
            if text:
                problem(harmless(text.replace("|", " ")), _unknown(text), loss=False)
            continue
        if column.name in seen:
            problem(column.heading, "stands twice or more: keep one; none of them was used")
            lost[column.name] = "stands twice"
            continue
        seen.add(column.name)
        fault = fault or _unit_missing(
            column, unit, [line[1] for line in grid.lines[top + 1 :]], index
        )
        if fault:
            problem(column.heading, fault)
            lost[column.name] = fault
        columns[index] = (column, unit)
    for name in NEEDED:
        if name not in seen:
            problem(COLUMNS[name].heading, "is missing: checks that need it say 'not given'")
    columns = {i: pair for i, pair in columns.items() if pair[0].name not in lost}
    return top, columns, problems, lost


def _unit_missing(column, unit, lines, index):
    """Words where a heading has no unit and no cell below brings its own."""
    if not column.numeric or unit != "-":
        return ""
    try:
        kind_of(column, unit)
    except InputError as error:
        own = any(_LETTERS.search(cells[index]) for cells in lines if index < len(cells))
        return "" if own else str(error)
    return ""


def _match(text):
    """(Column or None, unit, fault) of a heading; of two merged lines the reading that is known."""
    low, bar, up = text.partition("|")
    head, bracket, unit = low.partition("[")
    below = f"{head.strip()} {up} {bracket}{unit}"
    for words in (low, below, f"{up} {low}") if bar else (text,):
        try:
            column, unit = read_heading(words)
        except InputError as error:
            column = read_heading(words.partition("[")[0].partition("(")[0])[0]
            return column, "-", str(error)
        if column:
            return column, unit, ""
    return None, "-", ""


def _unknown(text):
    words = text.replace("|", " ").partition("[")[0].strip().casefold()[:100]
    close = difflib.get_close_matches(words, [c.heading for c in COLUMNS.values()], 1, 0.6)
    hint = f": did you mean '{close[0]}'?" if close else ""
    return f"is not a heading of the template and was left out{hint}"


def _read_row(row, columns, cells, comma):
    """Fill a row's cells; returns the problems of those that can't be read."""
    unread = []
    for index, (column, unit) in columns.items():
        text = cells[index] if index < len(cells) else ""
        if not text:
            continue
        try:
            if isinstance(text, Fault):
                raise InputError(text)
            cell = read_cell(column, text, unit, row.atmosphere, comma)
        except InputError as error:
            row.unreadable[column.name] = str(error)
            words = str(error) if isinstance(text, Fault) else f"'{harmless(text)}' {_verb(error)}"
            unread.append(Problem(row.file, row.number, column.heading, words))
        else:
            if cell is not None:
                row.cells[column.name] = cell
    return unread


def _verb(error):
    words = str(error)
    return (
        words if words.startswith(("is ", "has ", "must ", "holds ")) else f"can't be used: {words}"
    )


def check_file(path, atmosphere=ATMOSPHERE, progress=None):
    """Read a datasheet file and check its rows.

    Parameters: path; atmosphere [Pa], the site's; progress(done, total), called after each row.
    Returns `FileCheck`. Raises InputError as `read`. The slips behind numbers that differ are
    searched for in the first 100 rows that have such a number.
    """
    return _checked(read(path, atmosphere), progress)


def check_words(words, atmosphere=ATMOSPHERE):
    """Check one valve typed in as lines of 'heading: value'.

    Parameters: as `read_words`. Returns `FileCheck`. Raises InputError as `read_words`.
    """
    return _checked(read_words(words, atmosphere))


def _checked(reading, progress=None):
    checked, searched = FileCheck(reading), 0
    for number, row in enumerate(checked.reading.rows, start=1):
        checks = check_row(row, search=searched < MOST_SEARCHED)
        searched += any(c.name in SEARCHED and c.verdict == "differs" for c in checks)
        checked.results.append((row, checks))
        if progress:
            progress(number, len(checked.reading.rows))
    return checked


def check_folder(path):
    """Datasheet files of a folder, by name; a file stands for itself.

    Parameters: path. Returns a list of Path. Raises InputError for a folder without datasheets.
    """
    path = Path(path)
    if not path.is_dir():
        return [path]
    found = sorted(
        {f for p in _PATTERNS for f in path.glob(p) if not f.name.startswith(("~$", "."))}
    )
    if not found:
        raise InputError(f"{harmless(path)}: holds no CSV or XLSX files")
    return found
