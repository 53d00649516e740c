"""Run by hand: `python tests/benchmarks/bench_datasheet.py [ROWS]`. Prints, fails nothing.

How long rows of a datasheet take to check, 10 000 of them by default, each with a load of its own:
by one process and by several, also where every number of a row is its own, which leaves least to
remember; then from a shell, where several share them and Python begins anew; seconds by the clock,
of processors, and the most memory of one process, the least of three runs. A second run from a
shell finds Python's compiled files, unless PYTHONDONTWRITEBYTECODE forbids them.
"""

import csv
import io
import os
import random
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from relieflib import datasheet

RUNS = 3
DATA = Path(__file__).parents[2] / "data" / "datasheets"


def long_list(rows):
    """Text of a list: the worked examples again and again, with other loads."""
    lines = (DATA / "published-examples.csv").read_text("utf-8").splitlines()
    head, *examples = csv.reader(line for line in lines if not line.startswith("#"))
    tag, load = head.index("tag"), next(i for i, h in enumerate(head) if h.startswith("load"))
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow(head)
    for number in range(rows):
        cells = list(examples[number % len(examples)])
        value, blank, unit = cells[load].partition(" ")
        cells[load] = f"{float(value) * (0.9 + number % 977 / 10_000):.5g}{blank}{unit}"
        cells[tag] = f"PSV-{number}"
        write.writerow(cells)
    return out.getvalue()


def other_numbers(text):
    """The list with every number of a row moved by a share of the row's own, but for factors."""
    dice, (head, *rows) = random.Random(1), csv.reader(text.splitlines())
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow(head)
    for row in rows:
        share = dice.uniform(0.8, 1.2)
        write.writerow([_moved(h, cell, share) for h, cell in zip(head, row)])
    return out.getvalue()


def _moved(heading, cell, share):
    try:
        number = float(cell)
    except ValueError:
        return cell
    fixed = heading in ("edition", "Kd") or number in (0.0, 1.0)
    return cell if fixed else f"{number * share:.4g}"


def checked(path, processes):
    """Check a list; how many rows it has."""
    return sum(1 for _ in datasheet.check_rows(datasheet.read_slowly(path), processes=processes))


def shell(path):
    """Check a list from a shell, its text thrown away."""
    command = [sys.executable, "-m", "relieflib", "check", str(path)]
    return subprocess.run(command, stdout=subprocess.DEVNULL).returncode


def least(run):
    """(seconds by the clock, of processors) of the fastest of three runs."""
    found = []
    for _ in range(RUNS):
        start, before = time.perf_counter(), os.times()
        run()
        after = os.times()
        found.append((time.perf_counter() - start, sum(after[:4]) - sum(before[:4])))
    return min(found)


def main():
    """Check two lists in three ways."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as folder:
        path, other = Path(folder) / "long.csv", Path(folder) / "other.csv"
        path.write_text(long_list(rows), "utf-8")
        other.write_text(other_numbers(long_list(rows)), "utf-8")
        several = datasheet.usual_processes(rows)
        for words, run in {
            "of other loads by one process": partial(checked, path, 1),
            f"of other loads by {several}": partial(checked, path, several),
            "of other loads from a shell": partial(shell, path),
            "of other numbers by one process": partial(checked, other, 1),
            f"of other numbers by {several}": partial(checked, other, several),
        }.items():
            clock, used = least(run)
            print(f"{rows} rows {words}: {clock:.1f} s by the clock, {used:.1f} s of processors")
    print(f"most memory of one process{most()}")


def most():
    """The most memory of one process that was started, where the system tells."""
    try:
        import resource
    except ModuleNotFoundError:
        return " is not known here"
    kilobytes = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return f": {kilobytes / 1024:.0f} MB"


if __name__ == "__main__":
    main()
