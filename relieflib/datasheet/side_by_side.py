"""The rows of a long list checked by several processes, in the order of the list."""

import itertools
import os
import sys
from collections import deque

from relieflib.datasheet.checks import check_row
from relieflib.datasheet.reasons import explained
from relieflib.datasheet.remembered import Memory
from relieflib.datasheet.verdict import Check
from relieflib.errors import Quiet

LONG_LIST = 1500  # rows from which on starting more processes pays
MOST_PROCESSES = 8
BLOCK, AHEAD = 100, 3  # rows handed over at once; blocks under way for each process
SEARCHED_BLOCK = 10  # rows that are searched for slips: each takes as long as ten others

_own = None  # plant, memory and what to do with checks of the process, the same for every block


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


def check_one(row, search, plant=None, memory=None, then=None):
    """The checks of a row; a fault of ours costs its row, never the others.

    Parameters: as `checks.check_row`; then, a function of (row, checks), or None. Returns what
    `then` makes of the list of Check, or the list; True where slips are behind one of its numbers;
    '' or words of the fault.
    """
    try:
        checks, words = check_row(row, search=search, plant=plant, memory=memory), ""
    except Exception as error:
        words = f"was not checked, by a fault of this program ({type(error).__name__})"
        checks = [Check("all checks", "not given", reason=f"the row {words}", severity=1)]
    return then(row, checks) if then else checks, explained(checks), words


def check_all(rows, processes, searched, plant=None, then=None):
    """Check rows by several processes.

    Parameters: rows, iterable of Row; processes, int; searched, how many of the first rows are
    searched for slips; plant and then as `check_one`. Returns an iterator of (Row, what `check_one`
    returns), in order. Where a process is ended from outside, this one checks what is left.
    """
    from concurrent.futures import ProcessPoolExecutor

    blocks, under_way = _blocks(iter(rows), searched), deque()
    with ProcessPoolExecutor(processes, initializer=_begin, initargs=(plant, then)) as pool:
        try:
            for block, search in blocks:
                under_way.append((block, search, _handed_over(pool, block, search)))
                if len(under_way) >= AHEAD * processes:
                    yield from _come_back(*under_way.popleft(), plant, then)
            while under_way:
                yield from _come_back(*under_way.popleft(), plant, then)
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _blocks(rows, searched):
    """Rows in blocks, each with True for those to be searched, which come first and take longer."""
    for begin in range(0, searched, SEARCHED_BLOCK):
        most = min(SEARCHED_BLOCK, searched - begin)
        if block := list(itertools.islice(rows, most)):
            yield block, True
    while block := list(itertools.islice(rows, BLOCK)):
        yield block, False


def _begin(plant, then):
    global _own
    _own = plant, Memory(), then


def _handed_over(pool, block, search):
    from concurrent.futures.process import BrokenProcessPool

    try:
        return pool.submit(_check_block, block, search)
    except BrokenProcessPool:
        return None


def _check_block(block, search):
    """What a process does. What rows share is one object, and travels once for them all."""
    with Quiet():  # once for them all
        return [check_one(row, search, *_own) for row in block]


def _come_back(block, search, future, plant, then):
    from concurrent.futures.process import BrokenProcessPool

    try:
        found = future.result() if future else None
    except BrokenProcessPool:
        found = None
    if found is None:
        found = (check_one(row, search, plant, None, then) for row in block)
    yield from zip(block, found)
