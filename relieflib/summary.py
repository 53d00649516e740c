"""All causes of one protected system: governing case, load summary file."""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from relieflib.cause_words import fire_in
from relieflib.errors import InputError
from relieflib.files import OPEN_ELSEWHERE, locked, write_whole
from relieflib.symbols import symbol
from relieflib.texts import harmless

COLUMNS = {  # heading of the load summary file -> quantity, or None for text
    "protected item": None, "cause": None, "phase": None, "load [kg/h]": "mass_flow",
    "relieving pressure [bara]": "pressure", "back pressure [bara]": "back_pressure",
    "device": None, "set pressure [barg]": "set_pressure_gauge",
    "required area [mm2]": "required_area", "letter": None, "used [%]": "used", "note": None,
    "destination": None, "installed": None, "fire": None, "back pressure of event": None,
}  # fmt: skip
# headings of files written before destination and installed, fire, and the event were added
EARLIER = tuple(COLUMNS)[:12], tuple(COLUMNS)[:14], tuple(COLUMNS)[:15]
LONGEST = 131_072  # characters of a cell: the csv module reads no more
RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")  # a spreadsheet takes these for a formula


@dataclass(frozen=True)
class Comparison:
    """Sizings of one protected system, largest required area first; causes, each in words."""

    sizings: tuple
    causes: tuple

    @property
    def governing(self):
        """The sizing with the largest required area."""
        return self.sizings[0]

    @property
    def governing_cause(self):
        """The cause with the largest required area, in words."""
        return self.causes[0]

    @property
    def areas(self):
        """Cause in words -> required area [m2], largest first."""
        return {c: s.required_area for c, s in zip(self.causes, self.sizings, strict=True)}


def compare(sizings: Mapping | Iterable) -> Comparison:
    """Put the causes of one protected system in the order of the area they need.

    Parameters
    ----------
    sizings : dict of str to Sizing, or iterable of Sizing
        With scalar results; a cause that an iterable holds twice is counted.

    Returns
    -------
    Comparison

    Raises
    ------
    InputError
        Where there is none, or where an area is not a number.

    Notes
    -----
    API 521 (2020), 4.1: the device is sized for the largest area, not the largest flow.
    """
    if not isinstance(sizings, Mapping):
        sizings = _named(sizings)
    if not sizings:
        raise InputError("sizings: give at least one")
    for s in sizings.values():
        _one_number(s)
    causes, ordered = zip(*sorted(sizings.items(), key=lambda item: -item[1].required_area))
    return Comparison(ordered, causes)


def _named(sizings):
    """Sizings by the cause in their load."""
    found = {}
    for s in sizings:
        words, n = s.load.cause.replace("_", " "), 2
        name = words
        while name in found:
            name, n = f"{words} ({n})", n + 1
        found[name] = s
    return found


def _one_number(sizing):
    for name, value in (("required_area", sizing.required_area),
                        ("mass_flow", sizing.load.mass_flow)):  # fmt: skip
        if np.ndim(value) or np.isnan(value):
            raise InputError(f"{name} of {sizing.load.cause}: must be one number")


def summary_row(sizing, protected_item, note="", destination="", installed="", cause=None,
                back_event=""):  # fmt: skip
    """One row of the load summary: heading -> text, in the file's units.

    Parameters: sizing, `Sizing` with scalar results; protected_item, note, destination, installed
    (the valve that stands there, such as '2 x 3L4 + 1 spare'), str; cause in words, None for the
    name in the load; back_event, that in which most pressure stands behind the installed valve, as
    `Plant.worst_event` gives it. Returns dict of str. Raises InputError for a result that is no
    single number.
    """
    _one_number(sizing)
    stream, device = sizing.load.stream, sizing.device
    values = {
        "mass_flow": sizing.load.mass_flow, "pressure": stream.pressure,
        "back_pressure": sizing.back_pressure, "set_pressure_gauge": device.set_pressure_gauge,
        "required_area": sizing.required_area, "used": sizing.used,
    }  # fmt: skip
    words = {
        "protected item": protected_item, "cause": sizing.load.cause if cause is None else cause,
        "phase": stream.phase, "device": device.kind, "letter": sizing.letter or "", "note": note,
        "destination": destination, "installed": installed,
        "fire": "yes" if sizing.load.fire else "no", "back pressure of event": back_event,
    }  # fmt: skip
    row = {}
    for heading, name in COLUMNS.items():
        value = words[heading] if name is None else values[name]
        if name is not None:
            value = "" if value is None or np.isnan(value) else f"{symbol(name).show(value):.6g}"
        row[heading] = guarded(value)
    return row


@dataclass(frozen=True)
class SavedCase:
    """One row of a load summary read back: cause, required_area [m2], mass_flow [kg/s], row."""

    cause: str
    required_area: float
    mass_flow: float
    row: dict

    @property
    def fire(self):
        """True for an exterior fire, as the load said when it was saved; None for not known.

        A row written before loads said so, or by hand, is read by the words of its cause.
        """
        said = self.row.get("fire", "").strip().casefold()
        return {"yes": True, "no": False}.get(said, fire_in(self.row["cause"]))


def saved_cases(rows):
    """Rows of a load summary by protected item, the largest required area first.

    Parameters: rows, as `read_summary` gives. Returns {item: tuple of `SavedCase`}; the first of
    each is the governing case. A cause that an item has twice is counted: 'closed outlet (2)'.
    Raises InputError naming the row where load or area is no number, or item or cause is missing.
    Source: API 521 (2020), 4.1: the largest area governs, not the largest flow.
    """
    found = {}
    for number, row in enumerate(rows, start=2):
        item, cause = row["protected item"].strip(), row["cause"].replace("_", " ").strip()
        if not item or not cause:
            raise InputError(f"load summary, row {number}: protected item or cause is missing")
        cases = found.setdefault(item, [])
        twice = sum(row["cause"] == case.row["cause"] for case in cases)
        cases.append(SavedCase(
            cause + (f" ({twice + 1})" if twice else ""), _number(row, number, "required_area"),
            _number(row, number, "mass_flow"), row))  # fmt: skip
    return {i: tuple(sorted(c, key=lambda case: -case.required_area)) for i, c in found.items()}


def _number(row, number, name):
    heading = next(h for h, n in COLUMNS.items() if n == name)
    try:
        value = float(row[heading])
    except ValueError:
        value = np.nan
    if not 0 <= value < np.inf:
        raise InputError(
            f"load summary, row {number}: {heading} = '{row[heading][:40]}': must be a number, "
            "0 or more"
        )
    return symbol(name).read(value)


def guarded(text):
    """Text that a spreadsheet will not run as a formula: such a cell gets an apostrophe.

    Parameters: text, str. Returns str.
    >>> guarded("=1+1"), guarded("-5.2"), guarded("V-101")
    ("'=1+1", '-5.2', 'V-101')
    """
    # half of a surrogate pair, which a browser can send, is no text that a file can hold
    text = str(text).encode("utf-8", "replace").decode("utf-8")
    if text and (text.lstrip()[:1] in RUNS or text[0] in RUNS):
        try:
            float(text)
        except ValueError:
            return "'" + text
    return text


def append_row(path, row):
    """Add a row to a load summary file; a write that fails half-way leaves the old file.

    Parameters: path of a CSV file, made if missing; row, as `summary_row` gives, its later
    columns may be missing. Returns the number of rows then in the file. A file with the earlier
    headings gets the later ones; columns of a user's own stay, behind ours. Raises InputError when
    the row has other headings, a text longer than a table can be read with, when the file there is
    not a load summary or stays locked by another writer for 5 seconds.
    """
    if set(row) - set(COLUMNS) or set(EARLIER[0]) - set(row):
        raise InputError(f"row: its headings must be {list(COLUMNS)}")
    row = {heading: guarded(row.get(heading, "")) for heading in COLUMNS}
    for heading, text in row.items():
        if len(text) > LONGEST:
            raise InputError(f"{heading}: {len(text)} characters: at most {LONGEST} can be read")
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    with locked(path):
        rows = [*read_summary(path), row] if path.exists() else [row]
        own = [heading for heading in rows[0] if heading not in COLUMNS]
        text = io.StringIO(newline="")
        # with the line end of RFC 4180 a cell that holds a lone \r is quoted too
        writer = csv.DictWriter(text, [*COLUMNS, *own], restval="", lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(rows)
        write_whole(path, text.getvalue().encode("utf-8-sig"))  # spreadsheets look for the mark
    return len(rows)


def read_summary(path):
    """Rows of a load summary file, also of one that a spreadsheet saved again.

    Parameters: path of a CSV file; commas, semicolons or tabs between cells, UTF-8 or Western,
    decimal commas where no comma separates, columns in any order. Returns a list of dicts of str;
    columns that an earlier file lacks are ''; a user's own columns stand behind ours. Raises
    InputError when the file is missing, is no text, lacks one of our headings, has one twice, or a
    row of another length.
    """
    name = harmless(path, 200)
    lines, separator = _lines(path, name)
    head = tuple(cell.strip() for cell in lines[0]) if lines else ()
    while head and not head[-1]:  # empty columns at the end, which a spreadsheet may leave
        head = head[:-1]
    if set(EARLIER[0]) - set(head) or len(set(head)) < len(head):
        raise InputError(f"{name}: is not a load summary; its headings must be {list(COLUMNS)}")
    blank, found = dict.fromkeys(COLUMNS, ""), []
    for number, line in enumerate(lines[1:], start=2):
        if not any(line):  # a blank line, which an editor may leave at the end, is no row
            continue
        if len(line) < len(head) or any(line[len(head) :]):
            raise InputError(f"{name}, row {number}: has {len(line)} cells, not {len(head)}")
        row = blank | dict(zip(head, line, strict=False))
        found.append(_with_points(row) if separator != "," else row)
    return found


def _lines(path, name):
    """Cells of each line of a file, and what separates them."""
    try:
        data = Path(path).read_bytes()
    except FileNotFoundError:
        raise InputError(f"{name}: there is no such file") from None
    except PermissionError:
        raise InputError(f"{name}: {OPEN_ELSEWHERE}") from None
    except OSError as problem:
        words = (problem.strerror or type(problem).__name__).lower()
        raise InputError(f"{name}: can't be read: {words}") from None
    if b"\0" in data.partition(b"\n")[0]:
        raise InputError(f"{name}: can't be read as text")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    separator = max(",;\t", key=text.partition("\n")[0].count)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator)), separator
    except csv.Error as problem:
        raise InputError(f"{name}: can't be read as a table ({problem})") from None


def _with_points(row):
    """The row with decimal points in its numbers: 12,5 is 12.5 where no comma separates cells."""
    numbers = {h: row[h].strip().replace(",", ".", 1) for h, name in COLUMNS.items() if name}
    return row | numbers
