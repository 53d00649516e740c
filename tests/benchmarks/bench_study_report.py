"""Report of a study of 20 items with 6 causes each: seconds and memory, against one of 5 items.

`python tests/benchmarks/bench_study_report.py`: an invented study of gas drums, each with a shut
outlet, a control valve, a fire, overfilling, hydraulic expansion and blow-by; every second one
states a range. Prints, never fails a build.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

from relieflib.report.study_page import study_report
from relieflib.study import open_study

HEAD = """[study]
number = "B-1"
revision = "0"
title = "bench"
releases = "complete"
[site]
name = "bench (invented)"
atmosphere = "95 kPaa"
[fluids.water]
coolprop = "Water"
[headers.ATM]
service = "atmosphere"
takes = ["gas", "liquid", "two-phase"]
lowest_pressure_gauge = "0 barg"
highest_pressure_gauge = "0 barg"
"""
ITEM = """[vessels.V-{n}]
service = "drum {n}"
fluid = "water"
orientation = "horizontal"
head_type = "2:1 ellipsoidal"
diameter = "1.2 m"
length = "3.0 m"
elevation = "3.0 m"
normal_level = "0.3 m"
high_level = "0.5 m"
mawp_gauge = "10 barg"
operating_pressure_gauge = "8 barg"
operating_temperature = "175 °C"
[relief_valves.PSV-{n}]
protects = "V-{n}"
sized_for = "control valve opens"
certified_for = ["gas", "liquid"]
destination = "ATM"
kind = "conventional"
designation = "3L4"
set_pressure_gauge = "10 barg"
elevation = "5.0 m"
inlet_diameter = "102.26 mm"
inlet_length = "0.5 m"
inlet_elbows = 0
outlet_diameter = "154.08 mm"
outlet_length = "4.0 m"
outlet_elbows = 1
[cases.V-{n}."closed outlet"]
cause = "closed_outlet"
[cases.V-{n}."closed outlet".inputs]
inflow = "{flow} kg/h"
stream = {{ is = "steam", pressure = "relieving_pressure of V-{n}" }}
[cases.V-{n}."control valve opens"]
cause = "control_valve_opens"
way = "gas_load"
[cases.V-{n}."control valve opens".inputs]
source = {{ is = "gas", pressure = "31.95 bara", temperature = "240 °C", molar_mass = "18.015 kg/kmol", k = 1.3, Z = 0.853 }}
stream = {{ is = "steam", pressure = "relieving_pressure of V-{n}", temperature = "215 °C" }}
flow_coefficient = "{Kv} Kv"
xT = 0.72
{ranges}
[cases.V-{n}."exterior fire"]
cause = "exterior_fire_liquid"
way = "pure_load"
[cases.V-{n}."exterior fire".inputs]
fluid = "water"
relieving_pressure = "fire_pressure of V-{n}"
heat_rate = {{ by = "exterior_fire_liquid.heat_working", vessel = {{ is = "vessel", of = "V-{n}" }}, level = "high_level of V-{n}", elevation = "elevation of V-{n}" }}
[cases.V-{n}."overfilling"]
cause = "overfilling"
[cases.V-{n}."overfilling".inputs]
inflow = "{flow} kg/h"
stream = {{ is = "liquid", pressure = "relieving_pressure of V-{n}", density = "983 kg/m3" }}
[cases.V-{n}."hydraulic expansion"]
cause = "hydraulic_expansion"
[cases.V-{n}."hydraulic expansion".inputs]
heat_rate = "250 kW"
stream = {{ is = "liquid", pressure = "relieving_pressure of V-{n}", density = "965 kg/m3" }}
expansion_coefficient = "0.0007 1/K"
liquid_heat_capacity = "4.2 kJ/(kg K)"
[cases.V-{n}."gas blow-by"]
cause = "control_valve_opens"
way = "blow_by_load"
published = "gas blow-by"
[cases.V-{n}."gas blow-by".inputs]
source = {{ is = "gas", pressure = "25 bara", temperature = "230 °C", molar_mass = "18.015 kg/kmol", k = 1.3, Z = 0.88 }}
stream = {{ is = "steam", pressure = "relieving_pressure of V-{n}" }}
flow_coefficient = "{Kv} Kv"
xT = 0.72
"""  # noqa: E501
RANGE = """[cases.V-{n}."control valve opens".ranges]
flow_coefficient = ["{low} Kv", "{high} Kv"]
"""


def written(path, items):
    """A study of so many items."""
    parts = [HEAD]
    for n in range(1, items + 1):
        Kv = round(5 + 0.3 * n, 1)
        ranges = RANGE.format(n=n, low=Kv - 1, high=Kv + 1) if n % 2 else ""
        parts.append(ITEM.format(n=n, flow=2000 + 50 * n, Kv=Kv, ranges=ranges))
    path.write_text("".join(parts), encoding="utf-8")
    return path


def run(items, folder):
    """Seconds of each stage and the highest memory so far [MB]."""
    clock, found = [time.perf_counter()], None
    used = time.process_time()
    study = open_study(written(Path(folder) / f"{items}.toml", items))
    assert not study.faults, study.faults[:3]
    found = study.recompute()
    assert not found.faults, found.faults[:3]
    clock.append(time.perf_counter())
    report = study_report(found, "2026-11-26")
    clock.append(time.perf_counter())
    for ending in (".html", ".pdf"):
        path = report.save(Path(folder) / f"{items}{ending}", overwrite=True)
        clock.append(time.perf_counter())
    stages = [b - a for a, b in zip(clock, clock[1:])]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    words = "recompute, blocks, HTML, PDF [s]: " + ", ".join(f"{s:.1f}" for s in stages)
    print(f"{items} items, {len(found.done)} cases: {words}; together {sum(stages):.1f} s, "
          f"processor {time.process_time() - used:.1f} s, memory {memory:.0f} MB, "
          f"PDF {path.stat().st_size / 1e6:.1f} MB")  # fmt: skip


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        for items in map(int, sys.argv[1:] or (5, 20)):
            run(items, folder)
