"""Flare header: the network solve against a scalar march of every pipe and event, in one run.

Prints seconds and their ratio, and how the time grows with valves and with events. By hand.
"""

from time import perf_counter

import numpy as np

from relieflib.disposal import header
from relieflib.lines.line import Line, Part
from relieflib.lines.line_fluids import Adiabatic, upstream_pressure


def tree_of(valves):
    """Ten valves to a sub-header, sub-headers one after the other along the main header."""
    pipe = header.Pipe
    pipes, ends = [pipe("M0", None, Line([Part("other", 0.9, K=5.0)]))], {}
    last = (valves + 9) // 10
    for i in range(1, last + 1):
        if i < last:  # two at least join everywhere, so that no bore changes without a branch
            pipes.append(pipe(f"M{i}", f"M{i - 1}", Line([Part("other", 0.9, K=1.0)])))
        into = f"M{min(i, last - 1)}"
        pipes.append(pipe(f"S{i}", into, Line([Part("other", 0.4, K=4.0)])))
        for j in range(min(10, valves - 10 * (i - 1))):
            tag = f"V{i}-{j}"
            pipes.append(pipe(tag, f"S{i}", Line([Part("other", 0.15, K=5.0)])))
            ends[tag] = tag
    return header.Tree(pipes, ends, 1.05e5)


def events_of(tree, number, lift=0.3):
    rng, found = np.random.default_rng(1), {}
    for e in range(number):
        lifting = [v for v in tree.valves if rng.random() < lift] or [next(iter(tree.valves))]
        found[f"event {e}"] = {
            v: header.Release(
                rng.uniform(0.2, 2.0),
                Adiabatic(rng.uniform(280, 450), rng.uniform(16, 58), rng.uniform(1.08, 1.35)),
            )
            for v in lifting
        }
    return found


def scalar(tree, events):
    """The same march, one pipe and one event at a time."""
    found = {}
    order = sorted(tree.pipes, key=lambda p: len(tree.way(p.tag)))
    for event, lift in events.items():
        P = {}
        for p in order:
            into = [r for v, r in lift.items() if v in tree.users[p.tag]]
            P[p.tag] = tree.end_pressure if p.to is None else P[p.to]
            if into:
                W, gas = header.mixed([r.mass_flow for r in into], [r.fluid for r in into])
                part = p.line.parts[0]
                P[p.tag] = upstream_pressure(gas, W / part.area, P[p.tag], part.fitting_K)
        found[event] = P
    return found


def timed(function, *args, repeat=3):
    best = np.inf
    for _ in range(repeat):
        start = perf_counter()
        out = function(*args)
        best = min(best, perf_counter() - start)
    return best, out


if __name__ == "__main__":
    tree = tree_of(100)
    events = events_of(tree, 50)
    fast, net = timed(header.solve, tree, events)
    slow, one = timed(scalar, tree, events, repeat=1)
    worst = max(
        abs(net.inlet_pressure[tag][e] / one[event][tag] - 1.0)
        for e, event in enumerate(net.events)
        for tag in net.inlet_pressure
    )
    print(f"100 valves x 50 events: {fast:.3f} s, scalar march {slow:.2f} s: {slow / fast:.0f} "
          f"times; largest difference {worst:.1e}")  # fmt: skip
    shut, _ = timed(lambda: net.__class__.superimposed.func(net), repeat=1)
    print(f"with each valve shut in its turn (superimposed): {shut:.2f} s more")
    for valves, number in ((25, 50), (50, 50), (200, 50), (100, 25), (100, 100), (100, 200)):
        tree = tree_of(valves)
        seconds, _ = timed(header.solve, tree, events_of(tree, number))
        print(f"{valves:4} valves x {number:4} events: {seconds:.3f} s, {seconds / fast:.2f} "
              "times the first")  # fmt: skip
