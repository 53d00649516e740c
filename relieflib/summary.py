"""All causes of one protected system: governing case, load summary file."""

import csv
import io
import os
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from relieflib.errors import InputError
from relieflib.symbols import symbol

COLUMNS = {  # heading of the load summary file -> quantity, or None for text
    "protected item": None, "cause": None, "phase": None, "load [kg/h]": "mass_flow",
    "relieving pressure [bara]": "pressure", "back pressure [bara]": "back_pressure",
    "device": None, "set pressure [barg]": "set_pressure_gauge",
    "required area [mm2]": "required_area", "letter": None, "used [%]": "used", "note": None,
}  # fmt: skip


RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")  # a spreadsheet takes these for a formula


@dataclass(frozen=True)
class Comparison:
    """Sizings of one protected system, largest required area first."""

    sizings: tuple

    @property
    def governing(self):
        """The sizing with the largest required area."""
        return self.sizings[0]

    @property
    def areas(self):
        """Cause in words -> required area [m2], largest first."""
        return {s.load.cause.replace("_", " "): s.required_area for s in self.sizings}


def compare(sizings):
    """Put the causes of one protected system in the order of the area they need.

    Parameters: sizings, iterable of `Sizing` with scalar results. Returns `Comparison`.
    Raises InputError when there is none, or when an area is not a number.
    Source: API 521 (2020), 4.1: the device is sized for the largest area, not the largest flow.
    """
    sizings = list(sizings)
    if not sizings:
        raise InputError("sizings: give at least one")
    for s in sizings:
        if np.ndim(s.required_area) or np.isnan(s.required_area):
            raise InputError(f"required_area of {s.load.cause}: must be one number")
    return Comparison(tuple(sorted(sizings, key=lambda s: -s.required_area)))


def summary_row(sizing, protected_item, note=""):
    """One row of the load summary: heading -> text, in the file's units.

    Parameters: sizing, `Sizing` with scalar results; protected_item and note, str.
    Returns dict of str.
    """
    stream, device = sizing.load.stream, sizing.device
    values = {
        "mass_flow": sizing.load.mass_flow, "pressure": stream.pressure,
        "back_pressure": sizing.back_pressure, "set_pressure_gauge": device.set_pressure_gauge,
        "required_area": sizing.required_area, "used": sizing.used,
    }  # fmt: skip
    words = {"protected item": protected_item, "cause": sizing.load.cause, "phase": stream.phase,
             "device": device.kind, "letter": sizing.letter or "", "note": note}  # fmt: skip
    row = {}
    for heading, name in COLUMNS.items():
        value = words[heading] if name is None else values[name]
        if name is not None:
            value = "" if value is None else f"{symbol(name).show(value):.6g}"
        row[heading] = guarded(value)
    return row


def guarded(text):
    """Text that a spreadsheet will not run as a formula: such a cell gets an apostrophe.

    Parameters: text, str. Returns str.
    >>> guarded("=1+1"), guarded("-5.2"), guarded("V-101")
    ("'=1+1", '-5.2', 'V-101')
    """
    text = str(text)
    if text.lstrip(" ")[:1] in RUNS or text[:1] in RUNS:
        try:
            float(text)
        except ValueError:
            return "'" + text
    return text


def append_row(path, row):
    """Add a row to a load summary file; a write that fails half-way leaves the old file.

    Parameters: path of a CSV file, made if missing; row, as `summary_row` gives. Returns the
    number of rows then in the file. Raises InputError when the file there is not a load summary
    or stays locked by another writer for 5 seconds.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    with _locked(path):
        rows = [*read_summary(path), row] if path.exists() else [row]
        text = io.StringIO()
        writer = csv.DictWriter(text, fieldnames=list(COLUMNS), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        write_whole(path, text.getvalue())
    return len(rows)


def read_summary(path):
    """Rows of a load summary file.

    Parameters: path of a CSV file. Returns a list of dicts of str. Raises InputError when the
    file is missing, is no text, has other headings or a row of another length.
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file") from None
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(f"{path}: can't be read as text ({type(problem).__name__})") from None
    lines = list(csv.reader(io.StringIO(text)))
    if not lines or lines[0] != list(COLUMNS):
        raise InputError(f"{path}: is not a load summary; its headings must be {list(COLUMNS)}")
    for number, line in enumerate(lines[1:], start=2):
        if len(line) != len(COLUMNS):
            raise InputError(f"{path}, row {number}: has {len(line)} cells, not {len(COLUMNS)}")
    return [dict(zip(COLUMNS, line, strict=True)) for line in lines[1:]]


def write_whole(path, text):
    """Write a text file so that it is there whole or not at all.

    Parameters: path; text, str. Returns None. Raises OSError; the old file then still stands.
    """
    path = Path(path)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=path.name, suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


@contextmanager
def _locked(path, seconds=5.0):
    lock, end = path.with_name(path.name + ".lock"), time.monotonic() + seconds
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
            break
        except FileExistsError:
            if time.monotonic() > end:
                raise InputError(f"{path}: is locked by another writer ({lock.name})") from None
            time.sleep(0.05)
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)
