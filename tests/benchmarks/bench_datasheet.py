"""Run by hand: `python tests/benchmarks/bench_datasheet.py [ROWS]`. Prints, fails nothing.

How long rows of a datasheet take to check, 10 000 of them by default, each with a load of its own:
by this process, also where every number of a row is its own, which leaves least to remember; then
from a shell, where several share them; seconds by the clock, of processors, and the most memory of
one process. On a busy machine the seconds of a processor count, the least of several runs.
"""

import csv
import io
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from relieflib import datasheet

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


def alone(path, words):
    """Check a list by this process and print how long it takes."""
    start, used = time.perf_counter(), time.process_time()
    count = sum(1 for _ in datasheet.check_rows(datasheet.read_slowly(path)))
    print(f"{count} rows {words} by one process: {time.perf_counter() - start:.1f} s by the clock, "
          f"{time.process_time() - used:.1f} s of a processor")  # fmt: skip


def main():
    """Check two lists, the first of them twice."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as folder:
        path, other = Path(folder) / "long.csv", Path(folder) / "other.csv"
        path.write_text(long_list(rows), "utf-8")
        other.write_text(other_numbers(long_list(rows)), "utf-8")
        alone(path, "of other loads")
        alone(other, "of other numbers")
        start, before = time.perf_counter(), os.times()
        command = [sys.executable, "-m", "relieflib", "check", str(path)]
        subprocess.run(command, stdout=subprocess.DEVNULL)
        after, clock = os.times(), time.perf_counter() - start
    used = sum(after[2:4]) - sum(before[2:4])
    print(
        f"{rows} rows from a shell: {clock:.1f} s by the clock, {used:.1f} s of processors{most()}"
    )


def most():
    """The most memory of one process that was started, where the system tells."""
    try:
        import resource
    except ModuleNotFoundError:
        return ""
    kilobytes = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return f", {kilobytes / 1024:.0f} MB at most in one process"


if __name__ == "__main__":
    main()
