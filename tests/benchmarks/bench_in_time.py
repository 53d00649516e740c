"""How long a run of pressure against time takes, and how it grows with its duration.

Run by hand: `python tests/benchmarks/bench_in_time.py`. Prints medians; never fails a build.
"""

import statistics
import time
from functools import partial

from relieflib import load_plant
from relieflib.demo import against_time
from relieflib.notebook.time_chart import in_time
from relieflib.pressure_in_time import sources
from relieflib.pressure_in_time.contents import IdealGas, LiquidFull
from relieflib.pressure_in_time.course import Case, follow
from relieflib.pressure_in_time.device import Relief
from relieflib.pressure_in_time.pure_fluid import Boiling, RealGas, saturation_of

P_SET, LIMIT = 19e5, 21e5
GAS = IdealGas(5.0, 15e5, 330.0, molar_mass=44.1, k=1.13)
WATER = LiquidFull(1.0, 10e5, 293.15, density=998.6, expansion_coefficient=2.081e-4,
                   liquid_heat_capacity=4182.0, compressibility=4.5785e-10,
                   wall_compliance=2e-10)  # fmt: skip
CASES = {
    "gas, five cycles": (GAS, sources.closed_outlet(0.8), Relief("pop", P_SET, 3.2e-4), 180.0),
    "gas, throttling": (GAS, sources.closed_outlet(0.8), Relief("proportional", P_SET, 3e-4),
                        180.0),
    "real gas, cycling": (RealGas("Propane", 5.0, 10e5, 330.0), sources.closed_outlet(0.8),
                          Relief("pop", 12e5, 6e-4), 100.0),
    "liquid-full": (WATER, sources.hydraulic_expansion(1e5),
                    Relief("proportional", P_SET, 1e-5), 300.0),
    "boiling, cycling": (Boiling("Propane", 20.0, 320.0, 12.0), sources.hydraulic_expansion(1e6),
                         Relief("pop", P_SET, 1e-3), 600.0),
}  # fmt: skip


def median(run, times=15):
    """Wall time of one run [ms]."""
    run()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken)


PANELS = ("control_valve_opens", "exterior_fire_liquid", "hydraulic_expansion", "loss_of_cooling",
          "power_and_air_failure", "reverse_flow", "abnormal_heat_input", "overfilling_with_room",
          "overfilling_full", "volatile_ingress", "tank_breathing")  # fmt: skip


def panels():
    """Redraw of each cause's panel, picture and table, at three sizes of its valve."""
    plant = load_plant()
    for name in PANELS:
        s = getattr(against_time, name)(plant)
        panel = in_time(s.sizing, s.contents, s.source, limit_pressure=s.limit_pressure)
        parts = [f"{x:g}: {_redraw(panel, x):.0f} ms" for x in (0.5, 1.0, 3.9)]
        print(f"{name:>22}: " + ", ".join(parts))


def _redraw(panel, multiple):
    """Median of five redraws at a size of the valve, of the processor's time [ms]."""
    taken = []
    for _ in range(5):
        panel.set(area_multiple=multiple + 0.05)
        start = time.process_time()
        panel.set(area_multiple=multiple)
        taken.append(1e3 * (time.process_time() - start))
    return statistics.median(taken)


def main():
    start = time.perf_counter()
    saturation_of("Propane")
    print(f"curves of propane, once: {time.perf_counter() - start:.1f} s (with loading CoolProp)")
    for name, (contents, source, relief, span) in CASES.items():
        case = Case(contents, source, relief, limit_pressure=LIMIT)
        parts = []
        for multiple in (1, 2, 4):
            course = follow(case, multiple * span, most_cycles=1000)
            took = median(partial(follow, case, multiple * span, most_cycles=1000))
            parts.append(f"{multiple * span:g} s, {course.cycles} openings: {took:.0f} ms")
        print(f"{name:>20}: " + "; ".join(parts))


if __name__ == "__main__":
    main()
    print("redraw of the panels, processor time, by area over the required one:")
    panels()
