"""Run by hand: `python tests/benchmarks/bench_datasheet.py`. Prints, fails nothing.

How long 10,000 rows of a datasheet take to check.
"""

import tempfile
import time
from pathlib import Path

from relieflib import datasheet

DATA = Path(__file__).parents[2] / "data" / "datasheets"

if __name__ == "__main__":
    lines = (DATA / "published-examples.csv").read_text("utf-8").splitlines()
    head, *rows = [line for line in lines if not line.startswith("#")]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        path.write_text("\n".join([head, *(rows * 2500)]), "utf-8")
        start = time.perf_counter()
        result = datasheet.check_file(path)
    print(f"{len(result.results)} rows checked in {time.perf_counter() - start:.1f} s")
