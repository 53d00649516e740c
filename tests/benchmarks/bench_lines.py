"""Line checks: how many a second in one vectorised call, and against a scalar loop. Run by hand.

`python tests/benchmarks/bench_lines.py [CHECKS]` checks inlet and outlet lines of CHECKS (10 000)
valves in one call each, solves sizing and back pressure together for as many, does a part of them
one by one, prints the ratio and the highest difference between the two, and fails above 2 s.
"""

import sys
import time

import numpy as np

from relieflib.devices import Device
from relieflib.lines import check as check_both, outlet
from relieflib.lines.line import Line, Part
from relieflib.nozzle.gas import Gas
from relieflib.sizing import ReliefLoad, size


def case(rng, count):
    """Loads, inlet and outlet dimensions of random valves."""
    return dict(
        W=rng.uniform(0.5, 8.0, count), P=rng.uniform(6e5, 9e5, count),
        T=rng.uniform(280.0, 420.0, count), M=rng.uniform(16.0, 60.0, count),
        D_in=rng.choice([0.0779, 0.10226, 0.15408], count),
        D_out=rng.choice([0.15408, 0.20274, 0.25451], count),
        L_in=rng.uniform(0.5, 4.0, count), L_out=rng.uniform(3.0, 40.0, count),
    )  # fmt: skip


def lines(c):
    """Inlet and outlet line of a case; the outlet widens."""
    into = Line([Part("entrance flush", c["D_in"]), Part("pipe", c["D_in"], length=c["L_in"]),
                 Part("long elbow", c["D_in"])])  # fmt: skip
    out = Line([Part("pipe", c["D_out"], length=1.0), Part("elbow", c["D_out"], count=2),
                Part("pipe", c["D_out"] * 1.3, length=c["L_out"])])  # fmt: skip
    return into, out


def load(c):
    return ReliefLoad(
        "closed_outlet", c["W"], Gas(c["P"], c["T"], molar_mass=c["M"], k=1.25, Z=0.95)
    )


DEVICE = Device("balanced", 450e3)


def check(c):
    sizing, (into, out) = size(load(c), DEVICE), lines(c)
    pair = check_both(sizing, into, out, viscosity=1.1e-5)
    return pair.inlet.value, pair.outlet.outlet_pressure, pair.capacity


def solve(c):
    return (outlet.solve(load(c), DEVICE, lines(c)[1], viscosity=1.1e-5).outlet_pressure,)


def one_by_one(function, c, part):
    start = time.perf_counter()
    rows = [function({n: v[i].item() for n, v in c.items()}) for i in range(part)]
    return (time.perf_counter() - start) / part, np.array(rows, dtype=float).T


def main(count):
    c, slow = case(np.random.default_rng(1), count), False
    for name, function, part in (("inlet and outlet checks", check, 150), ("solved", solve, 40)):
        function({n: v[:10] for n, v in c.items()})  # imports and tables are read once
        start = time.perf_counter()
        got = function(c)
        took = time.perf_counter() - start
        each, rows = one_by_one(function, c, part)
        far = max(
            np.nanmax(np.abs(np.asarray(g)[:part] - r) / np.where(r == 0, 1.0, r))
            for g, r in zip(got, rows)
        )
        print(f"{name}: {count} in one call {took:.2f} s; a scalar loop {each * 1e3:.2f} ms each, "
              f"{each * count / took:.0f} times as long; highest difference {far:.1e}")  # fmt: skip
        slow |= name != "solved" and took > 2.0
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000))
