"""The rows of a long list checked by several processes, in the order of the list."""

import itertools
import os
import sys
from collections import deque

from relieflib.datasheet.checks import check_row
from relieflib.datasheet.remembered import Memory
from relieflib.datasheet.verdict import Check

LONG_LIST = 1500  # rows from which on starting more processes pays
MOST_PROCESSES = 8
BLOCK, AHEAD = 100, 3  # rows handed over at once; blocks under way for each process

_plant = _memory = None  # of the process that checks, the same for every block


def usual_processes(rows):
    """How many processes check a list: one where it is short or where there can be no more.

    Parameters: rows, their number. Returns int.
    >>> usual_processes(10)
    1
    """
    if rows < LONG_LIST or sys.platform in ("emscripten", "wasi"):
        return 1
    mine = getattr(os, "sched_getaffinity", None)
    return min(len(mine(0)) if mine else os.cpu_count() or 1, MOST_PROCESSES)


def check_one(row, search, plant=None, memory=None):
    """The checks of a row; a fault of ours costs its row, never the others.

    Parameters: as `checks.check_row`. Returns (list of Check, '' or words of the fault).
    """
    try:
        return check_row(row, search=search, plant=plant, memory=memory), ""
    except Exception as error:
        words = f"was not checked, by a fault of this program ({type(error).__name__})"
        return [Check("all checks", "not given", reason=f"the row {words}", severity=1)], words


def check_all(rows, plant, processes):
    """Check rows by several processes, without the search for slips.

    Parameters: rows, iterable of Row; plant or None; processes, int. Returns an iterator of (Row,
    list of Check, words of a fault), in order. Where a process is ended from outside, this one
    checks what is left.
    """
    from concurrent.futures import ProcessPoolExecutor

    rows, under_way = iter(rows), deque()
    with ProcessPoolExecutor(processes, initializer=_begin, initargs=(plant,)) as pool:
        try:
            while block := list(itertools.islice(rows, BLOCK)):
                under_way.append((block, _handed_over(pool, block)))
                if len(under_way) >= AHEAD * processes:
                    yield from _come_back(*under_way.popleft(), plant)
            while under_way:
                yield from _come_back(*under_way.popleft(), plant)
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _begin(plant):
    global _plant, _memory
    _plant, _memory = plant, Memory()


def _handed_over(pool, block):
    from concurrent.futures.process import BrokenProcessPool

    try:
        return pool.submit(_check_block, block)
    except BrokenProcessPool:
        return None


def _check_block(block):
    """What a process does: plain tuples, which travel four times as fast."""
    found = (check_one(row, False, _plant, _memory) for row in block)
    return [([tuple(c) for c in checks], fault) for checks, fault in found]


def _come_back(block, future, plant):
    from concurrent.futures.process import BrokenProcessPool

    try:
        found = future.result() if future else None
    except BrokenProcessPool:
        found = None
    if found is None:
        found = (check_one(row, False, plant) for row in block)
    for row, (checks, fault) in zip(block, found):
        yield row, [Check._make(c) for c in checks], fault
