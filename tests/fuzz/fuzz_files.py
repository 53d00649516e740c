"""Run by hand: `python tests/fuzz/fuzz_files.py [--rows N] [--seed S] [--saves N] [--studies N]`.

Lists with damaged cells, and saves that are killed: of the load summary, and of a study's cases.
Prints rows, tracebacks, good rows lost, kills, rows and cases lost, drafts left, MB. Every tenth
valve is good and must be read, whatever stands around it. The tests run a slice of it.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from relieflib import datasheet, study, summary

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


SAVES_ROWS = """
import sys
from relieflib import summary
row = dict.fromkeys(summary.COLUMNS, "1")
for number in range(int(sys.argv[3])):
    summary.append_row(sys.argv[1], row | {"protected item": f"{sys.argv[2]}-{number}"})
    print(number, flush=True)
"""
SAVES_CASES = """
import sys
from relieflib.study import Case, add_case
gas = dict([("is", "gas"), ("pressure", "18 bara"), ("temperature", "40 °C"), ("k", 1.3),
            ("molar_mass", "29 kg/kmol")])
for number in range(int(sys.argv[3])):
    inputs = {"inflow": f"{3600 + number} kg/h", "stream": gas}
    add_case(sys.argv[1], Case(f"V-{sys.argv[2]}-{number}", "outlet shut", "closed_outlet", inputs))
    print(number, flush=True)
"""


def rows_of(path):
    """The protected items that a load summary holds."""
    return {row["protected item"] for row in summary.read_summary(path)}


def cases_of(path):
    """The items that a study's file holds, each with its case whole."""
    whole = [c for c in study.open_study(path).cases if set(c.inputs) == {"inflow", "stream"}]
    return {case.item.removeprefix("V-") for case in whole}


def fuzz_saves(kills, seed, folder, child=SAVES_ROWS, there=rows_of):
    """Kill writers of one file at any moment; returns (kills, lost, drafts and locks left)."""
    dice, path, lost = random.Random(seed), Path(folder) / "saved", 0
    env = os.environ | {"PYTHONPATH": str(Path(summary.__file__).parents[1])}
    for kill in range(kills):
        command = [sys.executable, "-c", child, str(path), str(kill), "10000"]
        writer = subprocess.Popen(command, stdout=subprocess.PIPE, env=env, text=True)
        assert writer.stdout.readline(), "the writer has not begun"
        time.sleep(dice.uniform(0, 0.05))
        writer.kill()
        said = 1 + len(writer.stdout.read().split())  # of these the shell was told
        writer.wait()
        found = there(path)
        lost += sum(f"{kill}-{number}" not in found for number in range(said))
        if len(found) > 500:
            path.unlink()
    time.sleep(1.1)  # a draft is taken for left behind after a second
    command = [sys.executable, "-c", child, str(path), "last", "1"]
    subprocess.run(command, env=env, check=True, stdout=subprocess.DEVNULL)
    return kills, lost, len([p for p in Path(folder).iterdir() if p != path])


def main():
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=20_000)
    parser.add_argument("--saves", type=int, default=20)
    parser.add_argument("--studies", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rows = fuzz_rows(options.rows, options.seed, folder)
    with tempfile.TemporaryDirectory() as folder:
        saves = fuzz_saves(options.saves, options.seed, folder)
    with tempfile.TemporaryDirectory() as folder:
        cases = fuzz_saves(options.studies, options.seed, folder, SAVES_CASES, cases_of)
    print("rows {}, tracebacks {}, good rows lost {}".format(*rows))
    print("load summary: kills {}, rows lost {}, drafts left {}".format(*saves))
    print("study: kills {}, cases lost {}, drafts left {}".format(*cases))
    if sys.platform == "linux":
        import resource

        print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
