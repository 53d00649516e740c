"""Small tables that equations need, each with its source in the first line, and their reader."""

import csv
from functools import cache
from pathlib import Path

import numpy as np

_HERE = Path(__file__).parent


@cache
def rows(name):
    """Heading and rows of a table as tuples of str.

    Parameters: name, str, file name without '.csv'. Returns (heading, rows).
    >>> rows("kw_balanced")[0][1]
    'Kw'
    """
    with (_HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.reader(line for line in file if not line.startswith("#")))
    return tuple(lines[0]), tuple(tuple(line) for line in lines[1:])


@cache
def numbers(name):
    """Rows of an all-number table as a float array; the heading is left out.

    Parameters: name, str. Returns 2-D array.
    >>> numbers("kw_balanced")[0]
    array([0., 1.])
    """
    return np.array([[float(cell) for cell in line] for line in rows(name)[1]])


@cache
def source(name):
    """The source line of a table.

    Parameters: name, str. Returns str.
    >>> source("kp_liquid")[:24]
    'Overpressure factor Kp o'
    """
    with (_HERE / f"{name}.csv").open(encoding="utf-8") as file:
        return file.readline().lstrip("# ").strip()


def interpolate(x, xs, ys):
    """Linear interpolation that lets NaN through and holds the end values.

    Parameters: x, number or array; xs, ys, 1-D arrays, xs rising. Returns an array like x.
    >>> interpolate(np.array([0.5, np.nan]), [0, 1], [0, 2])
    array([ 1., nan])
    """
    x = np.asarray(x, dtype=float)
    return np.where(np.isnan(x), np.nan, np.interp(x, xs, ys))
