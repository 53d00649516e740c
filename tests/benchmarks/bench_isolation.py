"""Isolation of a plant of 500 items and 2000 relief valves: seconds, by how items hang together.

`python tests/benchmarks/bench_isolation.py`: prints, fails no build. Asked for: under 1 s.
"""

import time

from relieflib.position.isolation import Network, isolate
from relieflib.position.placement import Connection, Part, Placement

ITEMS, VALVES = 500, 4


def lock(tag):
    return Part("block valve", tag, secured="locked open")


def station(item, k):
    """A valve of one item; the first of each item has a spare on an interlock."""
    tag = f"{item}-{k}"
    keyed = {}
    if k == 0:
        key = dict(secured="interlocked", interlock=tag)
        ways = ((Part("block valve", f"A{tag}", **key),),
                (Part("block valve", f"B{tag}", position="closed", **key),))  # fmt: skip
        keyed = dict(spare=1, valve_inlets=ways)
    return Placement(tag, item, inlet=(Part("nozzle"), lock(f"I{tag}")), outlet=(lock(f"O{tag}"),),
                     destination="end", **keyed)  # fmt: skip


def plant(together):
    """A plant whose items hang together by open ways in rows of so many."""
    items = tuple(f"V-{i}" for i in range(ITEMS))
    placed = tuple(station(item, k) for item in items for k in range(VALVES))
    pairs = [(i, items[i], items[i + 1]) for i in range(ITEMS - 1) if (i + 1) % together]
    joined = tuple(Connection(f"c{i}", a, b, parts=(Part("block valve", f"C{i}"),))
                   for i, a, b in pairs)  # fmt: skip
    return Network(items, placed, joined)


if __name__ == "__main__":
    isolate(Network(("V-1",), ()))  # the graph library loads
    for together in (1, 2, 5, 10, 25, 50):
        network = plant(together)
        start, cpu = time.perf_counter(), time.process_time()
        found = isolate(network)
        wall, cpu = time.perf_counter() - start, time.process_time() - cpu
        print(f"{ITEMS} items in rows of {together:3}, {len(network.placements)} valves, "
              f"{len(found.cuts)} cuts: {wall:.2f} s, of this process {cpu:.2f} s")  # fmt: skip
