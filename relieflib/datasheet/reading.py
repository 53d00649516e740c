"""A datasheet file read into rows, and its rows checked."""

import difflib
import hashlib
import itertools
import os
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from relieflib.datasheet.columns import (
    COLUMNS,
    MARKS,
    NEEDED,
    Row,
    decimal_marks,
    kind_of,
    read_cell,
    thousands_mark,
    without_mark,
)
from relieflib.datasheet.export import as_html
from relieflib.datasheet.files import Fault, Grid, grids_of, read_grids
from relieflib.datasheet.headings import (
    ANSWERED,
    AS_WRITTEN,
    decide_by_cells,
    mapping_text,
    match,
    plain_words,
)
from relieflib.datasheet.remembered import Memory
from relieflib.datasheet.shapes import OF_CASE, is_note, upright
from relieflib.datasheet.side_by_side import check_all, check_one
from relieflib.errors import InputError, positive
from relieflib.texts import clean, harmless
from relieflib.units import ATMOSPHERE

_LETTERS = re.compile("[A-Za-z°]")
HEADINGS_WITHIN = 10  # first lines of a list in which its headings are looked for
MOST_KEPT = 1000  # cells of a column that are not read twice
MOST_PROBLEMS = 5000  # of a file that are kept in words
MOST_SEARCHED = 100  # rows of a file in which the slips behind what differs are searched for
MOST_FILES = 10_000  # of one run
ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".xls", ".pdf")  # .xls is answered in words


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
        return clean(f"{', '.join(place)}: {self.sentence}")


class Problems(list):
    """Problems of a file: the first are kept, the others counted; `losses` counts them all."""

    losses = more = 0

    def add(self, problem):
        """Keep a problem, or count it where there are many."""
        self.losses += problem.loss
        if len(self) < MOST_PROBLEMS:
            self.append(problem)
        else:
            self.more += 1


@dataclass
class Reading:
    """What a file holds: rows that can be checked, problems in words, and the file's SHA-256.

    headings, what each heading of the file was taken for, as `headings.Match`. Of a file that is
    read row by row (`read_slowly`) rows is a `Rows`, and the problems are whole when it has run.
    """

    file: str
    rows: list = field(default_factory=list)
    problems: Problems = field(default_factory=Problems)
    sha256: str = ""
    headings: list = field(default_factory=list)

    @property
    def mapping(self):
        """What the headings were taken for, as the text of a file to look at and change."""
        return mapping_text(self.headings)

    @property
    def losses(self):
        """Number of values or rows that could not be read."""
        return self.problems.losses

    def said(self):
        """Yield the problems as sentences, at last how many more there are."""
        yield from map(str, self.problems)
        if self.problems.more:
            yield f"{self.file}: and {self.problems.more} more of the kind"


class Rows:
    """The rows of a file, each read when it is asked for; runs once. `len` counts its lines."""

    def __init__(self, parts, lines):
        self._parts, self._lines = parts, lines

    def __len__(self):
        return self._lines

    def __iter__(self):
        parts, self._parts = self._parts, ()
        return itertools.chain.from_iterable(part() for part in parts)


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
        return self.reading.losses

    @property
    def counted(self):
        """How many valves it holds, in words: several cases of one valve are one valve."""
        rows, valves = len(self.results), len(set(self._tags()))
        words = f"{valves} valve" + "s" * (valves != 1)
        return words if rows == valves else f"{words} in {rows} rows"

    @property
    def names(self):
        """The tag of each row, with its cause where several rows have the tag; a list of str."""
        tags = self._tags()
        count, names = Counter(tags), []
        for (row, _), tag in zip(self.results, tags, strict=True):
            cause = row.get("cause") if count[tag] > 1 else None
            names.append(harmless(f"{row.tag}, {cause}" if cause else row.tag, 80))
        return names

    def _tags(self):
        return ["".join(row.tag.casefold().split()) for row, _ in self.results]

    def _repr_html_(self):
        return as_html(self)


def read(path, atmosphere=ATMOSPHERE, mapping=None):
    """Read a datasheet file into SI.

    Parameters: path of a CSV (UTF-8, UTF-16 or Western; comma, semicolon, tab or spaces between
    columns), XLSX (every visible sheet that holds valves) or PDF file with text; a sheet may be a
    list, a list on its side, or a form of one valve; atmosphere [Pa], the site's, between gauge
    and absolute; mapping, answers to headings that were asked, as `headings.read_mapping`. Returns
    `Reading`: every row that holds anything, cells that can't be read left out and named, one
    sentence each, in `problems`. Raises InputError, one sentence, for a file that can't be read
    at all: missing, empty, binary, or without a known heading.
    """
    return _whole(read_slowly(path, atmosphere, mapping))


def read_slowly(path, atmosphere=ATMOSPHERE, mapping=None, name=None):
    """Read a datasheet file row by row, so that a list of any length takes the same memory.

    Parameters: as `read`; name to call the file by, its own by default. Returns `Reading` whose
    rows run once. Raises InputError as `read`.
    """
    file = harmless(name or Path(path).name, 80) or f"'{harmless(path, 80)}'"
    return _read(file, lambda: read_grids(path), atmosphere, mapping)


def read_data(data, name, atmosphere=ATMOSPHERE, mapping=None):
    """Read what a datasheet file holds, handed over as bytes or as pasted text.

    Parameters: data, bytes or str; name to call it by; the rest, returns and errors as `read`.
    >>> found = read_data("Tag No.;Set pressure barg;State\\nA;12,5;gas", "pasted")
    >>> found.rows[0].get("set_pressure_gauge")
    1250000.0
    """
    data = data.encode("utf-8", "replace") if isinstance(data, str) else bytes(data)
    return _whole(_read(harmless(name, 80), lambda: grids_of(data, name), atmosphere, mapping))


def _whole(reading):
    reading.rows = list(reading.rows)
    return reading


def _read(file, grids_from, atmosphere, mapping):
    try:
        grids = [upright(grid, mapping) for grid in grids_from()]
    except InputError as error:
        raise InputError(f"{file}: {error}") from None
    held = [grid for grid in grids if _known(grid.lines.head, mapping) >= 2]
    if len(held) < 2:
        reading = _reading(file, (held or grids)[0], atmosphere, mapping)
    else:
        reading = _together(file, held, atmosphere, mapping)
    for grid in (g for g in grids if g not in held) if held else ():
        words = f"sheet '{harmless(grid.title)}' holds no valves that could be read"
        reading.problems.add(Problem(file, None, "", words, loss=False))
    return reading


def _together(file, grids, atmosphere, mapping):
    """One `Reading` of several sheets; each row and problem names its sheet."""
    parts = [_reading(f"{file}, {harmless(g.title)}", g, atmosphere, mapping) for g in grids]
    heads = {plain_words(one.words): one for part in parts for one in part.headings}
    together = Reading(file, sha256=grids[0].sha256, headings=list(heads.values()))

    def rows_of(part):
        yield from part.rows
        for problem in part.problems:
            together.problems.add(problem)
        together.problems.more += part.problems.more

    together.rows = Rows([partial(rows_of, p) for p in parts], sum(len(p.rows) for p in parts))
    return together


def read_words(words, atmosphere=ATMOSPHERE, mapping=None):
    """Read one valve typed in as lines of 'heading: value'.

    Parameters: words, str, a line for each number: 'set pressure: 12 barg'; headings of the
    template, each value with its unit, empty lines and those that begin with # left out;
    atmosphere [Pa], the site's; mapping, as `read`. Returns `Reading` of one row. Raises InputError
    for a line without a colon, or without a known heading.
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
    grid = Grid([(1, list(headings)), (2, list(values))], european=True, sha256=digest)
    return _whole(_reading("typed in", upright(grid, mapping), atmosphere, mapping))


def _reading(file, grid, atmosphere, mapping=None):
    positive(atmosphere=atmosphere)
    try:
        top, found, columns, problems, lost = _headings(file, grid, mapping)
    except InputError as error:
        raise InputError(f"{file}: {error}") from None
    reading = Reading(file, sha256=grid.sha256, headings=found)
    said = [Problem(file, number, "", words, loss=False) for number, words in grid.remarks]
    said += [Problem(file, number, "", words) for number, words in grid.lost]
    for problem in (*problems, *said):
        reading.problems.add(problem)
    frame = _Frame(grid, top, len(found), columns, lost, atmosphere)
    for index, mark in frame.parts.items():
        if mark:
            words = f"the {MARKS[mark]} parts thousands in this column, as its numbers prove"
            heading = columns[index][0].heading
            reading.problems.add(Problem(file, None, heading, words, loss=False))
    reading.rows = Rows([partial(_rows, reading, frame)], len(grid.lines) - top - 1)
    return reading


class _Frame:
    """What is the same for every row of a list: its columns, decimal marks and usual width."""

    def __init__(self, grid, top, headings, columns, lost, atmosphere):
        self.grid, self.top, self.headings, self.columns = grid, top, headings, columns
        self.lost, self.atmosphere, self.known = lost, atmosphere, {i: {} for i in columns}
        self.each = [(i, column, self.known[i]) for i, (column, _) in columns.items()]
        self.marks, self.parts, self.usual = _marks_and_usual(grid, top, columns)
        self.width = max(len(grid.lines.head[top][1]), max(columns, default=0) + 1)

    def read(self, index, text):
        """One cell as a `columns.Cell`; lists repeat themselves, so the first few are kept."""
        if isinstance(text, Fault):
            raise InputError(text)
        known = self.known[index]
        if text in known:
            return known[text]
        column, unit = self.columns[index]
        cell = read_cell(column, text, unit, self.atmosphere, self.marks[index],
                         self.parts[index])  # fmt: skip
        if len(known) < MOST_KEPT:
            known[text] = cell
        return cell

    def shifted(self, cells):
        """True for more cells than headings."""
        width = self.width
        return len(cells) > width and (any(cells[width:]) or len(cells) != self.usual)


def _rows(reading, frame):
    """Yield the rows of a list; what can't be read goes to the problems."""
    file, problems, some, above = reading.file, reading.problems, False, None
    heads = frame.grid.lines.head[frame.top][1]
    for number, cells in frame.grid.lines.after(frame.top):
        if cells == heads:  # again, on the next page
            continue
        if is_note(cells, frame.headings):
            above, title = None, harmless(next(filter(None, cells)))
            words = f"'{title}' was taken for a note, not for a valve"
            problems.add(Problem(file, number, "", words, loss=False))
            continue
        if frame.shifted(cells):
            words = (
                f"has {len(cells)} cells under {frame.width} headings: a comma inside a number or "
                "a text shifts the columns, put it in quotation marks; the row was left out"
            )
            problems.add(Problem(file, number, "", words))
            continue
        row = Row(file, number, unreadable=dict(frame.lost), atmosphere=frame.atmosphere)
        unread = _read_row(row, frame, cells)
        if above and _case_of_valve_above(row, above):
            unread += _of_valve_above(row, above)
        for problem in unread:
            problems.add(problem)
        if row.cells or unread:
            some, above = True, row if "tag" in row.cells else None
            yield row
    if not some:
        problems.add(Problem(file, None, "", "has headings but no rows below them"))


def _case_of_valve_above(row, above):
    """True for a row of the same tag, or none, with a case, that says nothing new of its valve."""
    tag = row.cells.get("tag", above.cells["tag"]).value
    if tag != above.tag or "tag" in row.unreadable or not (row.get("cause") and row.get("load")):
        return False
    own = {n: c.value for n, c in row.cells.items() if n not in OF_CASE}
    return all(above.get(name) == value for name, value in own.items())


def _of_valve_above(row, above):
    """Give another case of a valve what the row above says of the valve; what is said of that."""
    left = OF_CASE | row.unreadable.keys() | row.cells.keys()
    own = {name: cell for name, cell in above.cells.items() if name not in left}
    named = "has a cause and no tag" if "tag" in own else "has the tag of the row above"
    row.cells = own | row.cells
    words = f"{named}: taken for another case of {harmless(above.tag)}"
    return [Problem(row.file, row.number, "", words, loss=False)] if own else []


def _headings(file, grid, mapping):
    """Index of the heading line, matches, {cell index: (Column, unit)}, problems, lost columns."""
    known = [_known([line], mapping) for line in grid.lines.head[:HEADINGS_WITHIN]]
    if max(known) < 2:
        raise InputError(
            "no two headings are known: the first row names the columns, such as 'tag', "
            "'set pressure [barg]', 'load [kg/h]'; see template.csv"
        )
    top = known.index(max(known))
    heads, below = grid.lines.head[top][1], [cells for _, cells in grid.lines.head[top + 1 :]]
    found = {
        i: decide_by_cells(match(text, mapping), [c[i] for c in below if i < len(c)])
        for i, text in enumerate(heads)
        if text
    }
    columns, problems, lost = {}, [], {}

    def problem(words, sentence, loss=True):
        problems.append(Problem(file, grid.lines.head[top][0], harmless(words), sentence, loss))

    for index, one in _without_twins(found, problem, lost).items():
        fault = one.fault
        if one.column and not fault:
            fault = _unit_missing(one.column, one.unit, grid.lines.after(top), index)
        if one.column and fault:
            lost[one.column.name] = fault
        elif one.column:
            columns[index] = (one.column, one.unit)
        if fault:
            problem(one.words.replace("|", " "), fault)
        elif one.how == ANSWERED:
            unit = "" if one.unit == "-" else f" [{one.unit}]"
            words = f"was taken for '{one.column.heading}{unit}', as answered"
            problem(one.words.replace("|", " "), words, loss=False)
        elif not one.column:
            problem(one.words.replace("|", " "), _unknown(one.words), loss=False)
    named = {one.column.name for one in found.values() if one.column}
    asked = {name for one in found.values() for name in one.may_mean}
    for name in NEEDED:
        if name not in named | asked:
            words = "is missing: checks that need it say 'not given'"
            problems.append(Problem(file, None, COLUMNS[name].heading, words))
    return top, list(found.values()), columns, problems, lost


def _without_twins(found, problem, lost):
    """Of two headings that mean one column, the template's own stands; two others are asked."""
    by_column, kept = {}, dict(found)
    for index, one in found.items():
        if one.column:
            by_column.setdefault(one.column.name, []).append(index)
    for name, places in by_column.items():
        clear = [i for i in places if found[i].how in (AS_WRITTEN, ANSWERED)]
        for i in places if len(places) > 1 else ():
            if clear == [i]:
                continue
            del kept[i]
            if len(clear) == 1:
                problem(found[i].words, f"'{COLUMNS[name].heading}' stands beside it and was used",
                        loss=False)  # fmt: skip
            elif name not in lost:
                problem(found[i].words, "stands twice or more: keep one; none of them was used")
                lost[name] = "stands twice"
    return kept


def _known(lines, mapping=None):
    """Most headings that one of the first lines holds of those the template knows."""
    first = [[match(text, mapping) for text in cells] for _, cells in lines[:HEADINGS_WITHIN]]
    return max((sum(bool(m.column or m.may_mean) for m in found) for found in first), default=0)


def _marks_and_usual(grid, top, columns):
    """Decimal marks and thousands marks of the columns by index, and the usual count of cells.

    The numbers of a column decide for it; where they don't tell the decimal mark, those of all
    columns of numbers do; at last the form of the file: commas between cells leave the point alone.
    '' where nothing tells. A thousands mark is proved by its own column alone.
    """
    proved, parting = {index: set() for index in columns}, {index: set() for index in columns}
    numeric = [index for index, (column, _) in columns.items() if column.numeric]
    counts, lines = Counter(), grid.lines.after(top)
    while batch := [cells for _, cells in itertools.islice(lines, 1000)]:
        counts.update(map(len, batch))
        for i in numeric:
            texts = {cells[i] for cells in batch if i < len(cells) and cells[i]}
            proved[i] |= decimal_marks(texts)
            parting[i].add(thousands_mark(texts))
    everywhere, european = set().union(*proved.values()), grid.european
    usual = min(everywhere) if len(everywhere) == 1 else "" if european or everywhere else "."
    marks = {i: min(own) if len(own) == 1 else "" if own else usual for i, own in proved.items()}
    parts = {i: _parts_of(own - {""}, proved[i]) for i, own in parting.items()}
    return marks, parts, counts.most_common(1)[0][0] if counts else 0


def _parts_of(found, decimal):
    """The one thousands mark of a column that no number of it has for decimal, or ''."""
    return min(found) if len(found) == 1 and not found & decimal else ""


def _unit_missing(column, unit, lines, index):
    """Words where a heading has no unit and no cell below brings its own."""
    if not column.numeric or unit != "-":
        return ""
    try:
        kind_of(column, unit)
    except InputError as error:
        own = any(_LETTERS.search(cells[index]) for _, cells in lines if index < len(cells))
        return "" if own else str(error)
    return ""


def _unknown(text):
    words = plain_words(text.replace("|", " ").partition("[")[0])[:100]
    heads = {plain_words(c.heading): c.heading for c in COLUMNS.values()}
    close = difflib.get_close_matches(words, heads, 1, 0.85)  # a slip of the pen, no other word
    hint = f": did you mean '{heads[close[0]]}'?" if close else ""
    return f"is not a heading of the template and was left out{hint}"


def _read_row(row, frame, cells):
    """Fill a row's cells; returns the problems of those that can't be read."""
    unread, width, found = [], len(cells), row.cells
    for index, column, known in frame.each:
        if index >= width or not (text := cells[index]):
            continue
        cell = known.get(text)
        if cell is not None and not isinstance(text, Fault):
            found[column.name] = cell
            continue
        try:
            cell = _cell_of(row, frame, index, column, text, unread)
        except InputError as error:
            row.unreadable[column.name] = str(error)
            words = str(error) if isinstance(text, Fault) else f"'{harmless(text)}' {_verb(error)}"
            unread.append(Problem(row.file, row.number, column.heading, words))
        else:
            if cell is not None:
                found[column.name] = cell
    return unread


def _cell_of(row, frame, index, column, text, said):
    """A cell as `_Frame.read` gives it; a note's mark behind a number is taken away, and said."""
    try:
        return frame.read(index, text)
    except InputError:
        bare = None if isinstance(text, Fault) or not column.numeric else without_mark(text)
        if bare is None:
            raise
        cell = frame.read(index, bare)
        words = f"'{harmless(text)}' was read as {harmless(bare)}: look at its note"
        said.append(Problem(row.file, row.number, column.heading, words, loss=False))
        return cell


def _verb(error):
    words = str(error)
    return (
        words if words.startswith(("is ", "has ", "must ", "holds ")) else f"can't be used: {words}"
    )


def check_file(
    path: str | Path, atmosphere: float = ATMOSPHERE, progress: Callable | None = None,
    mapping: dict | None = None, plant: object | None = None,
) -> FileCheck:  # fmt: skip
    """Read a datasheet file and check its rows.

    Parameters
    ----------
    path : str or Path
        CSV (UTF-8, UTF-16 or Western; comma, semicolon or tab) or XLSX.
    atmosphere : float, Pa absolute, optional
        The site's.
    progress : callable, optional
        Called with (done, total) after each row.
    mapping : dict, optional
        Answers to headings that were asked, as `headings.read_mapping` gives them.
    plant : Plant, optional
        Whose header the stated back pressures are held against, by the tags of its valves, where
        it knows what is relieved together.

    Returns
    -------
    FileCheck

    Raises
    ------
    InputError
        One sentence, for a file that can't be read at all.

    Notes
    -----
    The slips behind numbers that differ are searched for in the first 100 rows that have such a
    number.
    """
    return _checked(read_slowly(path, atmosphere, mapping), progress, plant)


def check_data(data, name, atmosphere=ATMOSPHERE, mapping=None):
    """Check what a datasheet file holds, handed over as bytes or as pasted text.

    Parameters: as `read_data`. Returns `FileCheck`. Raises InputError as `read`.
    """
    return _checked(read_data(data, name, atmosphere, mapping))


def check_words(words, atmosphere=ATMOSPHERE, mapping=None):
    """Check one valve typed in as lines of 'heading: value'.

    Parameters: as `read_words`. Returns `FileCheck`. Raises InputError as `read_words`.
    """
    return _checked(read_words(words, atmosphere, mapping))


def _checked(reading, progress=None, plant=None):
    checked = FileCheck(reading, list(check_rows(reading, progress, plant)))
    reading.rows = [row for row, _ in checked.results]
    return checked


def check_rows(reading, progress=None, plant=None, processes=1, then=None):
    """Check the rows of a `Reading` one after the other.

    Parameters: reading; progress, called with (done, total) after each row; plant, as
    `check_file`; processes, how many share the work: more than 1 only from a program that may
    start others, as `usual_processes` says; then, a function of (Row, list of `Check`), None for
    none: it is called by the process that has checked the row, to which it must be possible to
    hand it. Yields (Row, list of `Check`, or what `then` makes of it) in the order of the list, the
    same for any number of processes. Slips are searched for as `check_file` says.
    """
    searched, total, memory = 0, len(reading.rows), Memory()
    if processes > 1:
        found = check_all(reading.rows, processes, MOST_SEARCHED, plant, then)
    else:
        found = ((row, None) for row in reading.rows)
    for number, (row, done) in enumerate(found, start=1):
        search = searched < MOST_SEARCHED
        # among the first rows each is searched; of the others a process does not know it
        late = search and number > MOST_SEARCHED and done and done[1] and not done[2]
        if done is None or late:
            done = check_one(row, search, plant, memory, then)
        checks, explained, fault = done
        if fault:
            reading.problems.add(Problem(row.file, row.number, "", fault))
        searched += explained
        yield row, checks
        if progress:
            progress(number, total)


@dataclass
class Found:
    """Files of folders: files, as (Path, name to call it by); unread, words on what was not.

    other, names of files of kinds that are not read.
    """

    files: list = field(default_factory=list)
    unread: list = field(default_factory=list)
    other: list = field(default_factory=list)


def find_files(paths):
    """Datasheet files of folders and the folders in them, by name; a file stands for itself.

    Parameters: paths. Returns `Found`. Raises InputError for a folder without datasheets, and for
    more files than are read at once.
    """
    found = Found()
    for path in map(Path, paths):
        if os.path.isdir(path):  # a name that is too long is no folder, and no error here
            _walk(path, found)
        else:
            found.files.append((path, path.name))
        if len(found.files) > MOST_FILES:
            raise InputError(f"{harmless(path)}: holds more than {MOST_FILES} files: name some")
    return found


def _walk(top, found):
    before = len(found.files)

    def closed(error):
        name = harmless(Path(error.filename or top).name, 80)
        found.unread.append(f"{name}: this folder can't be read")

    for folder, inner, names in os.walk(top, onerror=closed):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        for name in sorted(n for n in names if not n.startswith(("~$", "."))):
            path = Path(folder, name)
            if path.suffix.lower() in ENDINGS:
                found.files.append((path, str(path.relative_to(top))))
            else:
                found.other.append(str(path.relative_to(top)))
    if len(found.files) == before and not found.unread:
        raise InputError(f"{harmless(top, 200)}: holds no CSV or XLSX files")


def check_folder(path):
    """Datasheet files of a folder and the folders in it, by name; a file stands for itself.

    Parameters: path. Returns a list of Path. Raises InputError for a folder without datasheets.
    """
    return [path for path, _ in find_files([path]).files]
