"""By hand: `python tests/benchmarks/bench_study.py`: 200 writers killed, 1000 cases recomputed."""

import os
import random
import signal
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from relieflib.study import Case, add_case, open_study
from relieflib.study.recomputing import done
from relieflib.study.store import add_cases

GAS = {"is": "gas", "pressure": "18 bara", "temperature": "40 °C", "molar_mass": "5.9 kg/kmol",
       "k": 1.3}  # fmt: skip
CASE = Case("V-1", "closed outlet", "closed_outlet", {"inflow": "3600 kg/h", "stream": GAS})


def kills(number, folder, seed=1):
    """Kill writers at any moment; (cases said to be saved, of these lost)."""
    dice, path, said_all, lost = random.Random(seed), Path(folder) / "s.toml", 0, 0
    for kill in range(number):
        reads, writes = os.pipe()
        child = os.fork()
        if child == 0:
            for n in range(10_000):
                add_case(path, replace(CASE, name=f"{kill}-{n}"))
                os.write(writes, b".")
        os.close(writes)
        os.read(reads, 1)
        time.sleep(dice.uniform(0, 0.05))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        said = 1
        while more := os.read(reads, 4096):
            said += len(more)
        os.close(reads)
        names = {case.name for case in open_study(path).cases}
        said_all += said
        lost += sum(f"{kill}-{n}" not in names for n in range(said))
        if len(names) > 100:
            path.unlink()
    return said_all, lost


def recomputed(number, folder):
    """Seconds of a study of so many cases, and of the same one by one from its file."""
    path = Path(folder) / "many.toml"
    add_cases(path, [replace(CASE, name=f"case {n}", who="x",
                             inputs=CASE.inputs | {"inflow": f"{3600 + n} kg/h"})
                     for n in range(number)])  # fmt: skip
    begin = time.perf_counter()
    found = open_study(path).recompute()
    together = time.perf_counter() - begin
    assert len(found.items["V-1"].sizings) == number
    begin = time.perf_counter()
    one = open_study(path)
    opening = time.perf_counter() - begin
    begin = time.perf_counter()
    for case in one.cases:
        done(case, one.plant)
    return together, opening, time.perf_counter() - begin


def main():
    """Run and print."""
    with tempfile.TemporaryDirectory() as folder:
        together, opening, alone = recomputed(1000, folder)
    print(f"1000 cases: file opened {opening:.2f} s, opened and recomputed {together:.2f} s; "
          f"the cases one by one {alone:.2f} s")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        said, lost = kills(200, folder)
    print(f"kills 200, cases saved {said}, lost {lost}")


if __name__ == "__main__":
    main()
