"""Share of fields that the reader gets right on invented vendor sheets, and seconds for each.

Run by hand: `python tests/benchmarks/bench_reading.py`. Prints a line a sheet; never fails.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import vendor_sheets

from relieflib import datasheet


def main():
    """Read every sheet that is not held by the tests alone."""
    total = [0, 0, 0]
    for name, write, truth, held in vendor_sheets.sheets():
        if held:
            continue
        with tempfile.TemporaryDirectory() as folder:
            path = write(Path(folder))
            start = time.perf_counter()
            found = vendor_sheets.score(datasheet.read(path), truth)
            seconds = time.perf_counter() - start
        total = [a + b for a, b in zip(total, found)]
        print(f"{name:28} right {found[0]:3}, wrong {found[1]}, asked or missing {found[2]:2}"
              f"  {seconds:.2f} s")  # fmt: skip
    print(f"share of fields read right: {total[0] / sum(total):.1%}, wrong: {total[1]}")


if __name__ == "__main__":
    main()
