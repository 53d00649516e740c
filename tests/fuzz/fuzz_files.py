"""Run by hand: `python tests/fuzz/fuzz_files.py [--rows N] [--seed S] [--saves N]`.

Lists with damaged cells and saves that are killed. Prints rows, tracebacks, good rows lost, kills,
rows and files lost, drafts left, MB. Every tenth valve is good and must be read, whatever stands
around it. The tests run a slice of it.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from relieflib import datasheet, summary

HEAD = ("tag", "set pressure [barg]", "phase", "load [kg/h]", "mawp [barg]", "molar mass [kg/kmol]",
        "k", "relieving temperature [degC]", "letter", "notes")  # fmt: skip
GOOD = ("10", "gas", "1000", "10", "30", "1.3", "50", "J", "")
SIGNS = [
    "",
    "nan",
    "inf",
    "-1",
    "1e999",
    "0",
    "12,5",
    "1.234.567",
    "=1+1",
    "#REF!",
    "\x1b[2J",
    "$",
    '"',
    "'",
    "\u202e",
    "\x00",
    "x" * 600,
    "10 barg",
    "3/4",
    "50J80",
    "½",
    "१२",
    "<b>",
    "  ",
]


def lines(rows, seed):
    """Yield lines of a list, (text, tag of a good row or None)."""
    dice = random.Random(seed)
    for number in range(rows):
        if number % 10 == 0:
            yield ";".join((f"good-{number}", *GOOD)), f"good-{number}"
            continue
        cells = [f"bad-{number}", *GOOD]
        for _ in range(dice.randrange(1, 4)):
            cells[dice.randrange(len(cells))] = dice.choice(SIGNS)
        if dice.random() < 0.05:
            cells += [dice.choice(SIGNS)] * dice.randrange(1, 4)
        yield ";".join(cells), None


def fuzz_rows(rows, seed, folder):
    """Check a damaged list; returns (rows, tracebacks, good rows lost)."""
    path, good = Path(folder) / "list.csv", set()
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        file.write(";".join(HEAD) + "\n")
        for text, tag in lines(rows, seed):
            file.write(text + "\n")
            good |= {tag} if tag else set()
    reading, count, faults = datasheet.read_slowly(path), 0, 0
    for row, checks in datasheet.check_rows(reading):
        count += 1
        faults += any("fault of this program" in check.reason for check in checks)
        whole = len(row.cells) == len(HEAD) - 1 and not row.unreadable
        good -= {row.tag} if whole else set()
    return count, faults, len(good)


CHILD = """
import sys
from relieflib import summary
row = dict.fromkeys(summary.COLUMNS, "1")
for number in range(10_000):
    summary.append_row(sys.argv[1], row | {"protected item": f"{sys.argv[2]}-{number}"})
    print(number, flush=True)
"""


def fuzz_saves(kills, seed, folder):
    """Kill writers of one file at any moment; returns (kills, rows lost, drafts and locks left)."""
    dice, path, lost = random.Random(seed), Path(folder) / "s.csv", 0
    root = str(Path(summary.__file__).parents[1])
    env = os.environ | {"PYTHONPATH": root}
    for kill in range(kills):
        command = [sys.executable, "-c", CHILD, str(path), str(kill)]
        child = subprocess.Popen(command, stdout=subprocess.PIPE, env=env, text=True)
        child.stdout.readline()
        time.sleep(dice.uniform(0, 0.05))
        child.kill()
        said = 1 + len(child.stdout.read().split())  # of these the shell was told
        child.wait()
        items = {row["protected item"] for row in summary.read_summary(path)}
        lost += sum(f"{kill}-{number}" not in items for number in range(said))
        if len(items) > 500:
            path.unlink()
    time.sleep(1.1)  # a draft is taken for left behind after a second
    summary.append_row(path, dict.fromkeys(summary.COLUMNS, "1"))
    return kills, lost, len([p for p in Path(folder).iterdir() if p != path])


def main():
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=20_000)
    parser.add_argument("--saves", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rows = fuzz_rows(options.rows, options.seed, folder)
    with tempfile.TemporaryDirectory() as folder:
        saves = fuzz_saves(options.saves, options.seed, folder)
    print("rows {}, tracebacks {}, good rows lost {}".format(*rows))
    print("kills {}, rows lost {}, drafts left {}".format(*saves))
    if sys.platform == "linux":
        import resource

        print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
