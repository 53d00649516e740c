"""Run by hand: `python tests/benchmarks/bench_integrations.py`. Prints, fails nothing.

How long the integrations behind the panels of the heat causes take; the aim is 300 ms.
"""

import time
from dataclasses import replace

from relieflib.causes import exterior_fire_gas as fire
from relieflib.causes.shared import boiling, reactor

CASE = fire.FireCase(20.0, 50.0, 2.0, 0.014, 13e5, 311.0, 5.86, 1.338, 17e5, 20.37e5, 4e-4,
                     inside=fire.FreeConvection(0.15, 1.5e-5))  # fmt: skip
BATCH = reactor.Batch(8000.0, 15.7, "n-Hexane", 2800.0, 370.0, 170.0, 4.6e8, 11350.0, 5e5, 5.5e5,
                      0.01)  # fmt: skip
LPG = boiling.Mixture(("Propane", "n-Butane"), (0.6, 0.4))
RUNS = {
    "gas-filled vessel in a fire": lambda: fire.expose(CASE),
    "batch that runs away": lambda: reactor.run_away(BATCH, 4e4),
    "batch, shut": lambda: reactor.run_away(replace(BATCH, vent_area=0.0), 30 * 86_400.0, 4000),
    "vent area of a batch": lambda: reactor.integrated_area(BATCH, 6e5, 4e4),
    "mixture boiled off": lambda: boiling.boil_off(LPG, 10e5),
}

if __name__ == "__main__":
    for name, run in RUNS.items():
        run()
        start = time.perf_counter()
        run()
        print(f"{name}: {1e3 * (time.perf_counter() - start):.0f} ms")
