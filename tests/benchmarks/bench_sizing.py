"""Run by hand: `python tests/benchmarks/bench_sizing.py`. Prints ratios, fails nothing.

Sizing a million gas cases in one call against a loop over the general library's scalar function
and against the bare numpy expression; median redraw of a panel; what an import costs.
"""

import statistics
import subprocess
import sys
import time

import fluids.safety_valve
import numpy as np

from relieflib.nozzle.gas import Gas
from relieflib.sizing import ReliefLoad, size

N, LOOP = 1_000_000, 2_000


def seconds(call, times=5):
    """Best of a few runs."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def gas_cases():
    """A million gas cases, choked and not."""
    rng = np.random.default_rng(1)
    P = rng.uniform(3e5, 5e6, N)
    return dict(W=rng.uniform(0.1, 50, N), P=P, T=rng.uniform(250, 600, N), M=rng.uniform(2, 80, N),
                k=rng.uniform(1.05, 1.6, N), Z=rng.uniform(0.82, 1.05, N),
                back=rng.uniform(0.05, 0.95, N) * P)  # fmt: skip


def bare(W, P, T, M, k, Z, back):
    """The same equation as one numpy expression, without checks."""
    m = (k - 1) / k
    r = np.maximum(back / P, (2 / (k + 1)) ** (1 / m))
    psi2 = 2 / m * (r ** (2 / k) - r ** (2 / k + m))
    return W / (0.975 * P * np.sqrt(M / (Z * 8314.462618 * T) * psi2))


def ours(W, P, T, M, k, Z, back):
    """The same through `size`."""
    return size(ReliefLoad("x", W, Gas(P, T, molar_mass=M, k=k, Z=Z)), None, back).required_area


def sizing():
    """Ratios of sizing a million cases."""
    c = gas_cases()
    np.testing.assert_allclose(ours(**c), bare(**c), rtol=1e-9)
    one, plain = seconds(lambda: ours(**c)), seconds(lambda: bare(**c))

    def loop():
        for i in range(LOOP):
            fluids.safety_valve.API520_A_g(c["W"][i], c["T"][i], c["Z"][i], c["M"][i], c["k"][i],
                                           c["P"][i], c["back"][i], 0.975)  # fmt: skip

    scalar = seconds(loop, 3) / LOOP
    print(f"size, {N} gas cases in one call: {one:.3f} s; bare numpy expression {plain:.3f} s; "
          f"ratio {one / plain:.2f}")  # fmt: skip
    print(f"per case {one / N * 1e6:.3f} us; scalar function of fluids {scalar * 1e6:.2f} us; "
          f"{scalar / (one / N):.0f} times faster")  # fmt: skip


def redraw():
    """Median redraw of a panel in the kernel."""
    from relieflib.notebook.panel import Panel, quantity, shown
    from relieflib.report import figures

    def compute(pressure, back_pressure):
        return {
            "stream": Gas(pressure, 350.0, molar_mass=44.1, k=1.13, Z=0.9),
            "back_pressure": back_pressure,
        }

    panel = Panel(
        [quantity("pressure", 20e5, 10e5, 50e5), quantity("back_pressure", 1e5, 0.0, 9e5)],
        compute, figures.build_flux_against_back_pressure,
        figures.update_flux_against_back_pressure,
        lambda r, u: [("flux", shown("mass_flux", r["stream"].mass_flux(r["back_pressure"]), u))],
    )  # fmt: skip
    times = []
    for P in np.linspace(11e5, 49e5, 60):
        start = time.perf_counter()
        panel.set(pressure=float(P))
        times.append(time.perf_counter() - start)
    print(f"panel redraw: median {1e3 * statistics.median(times):.0f} ms")


def imports():
    """What `import relieflib` costs beside numpy alone."""

    def run(code):
        return seconds(lambda: subprocess.run([sys.executable, "-c", code], check=True), 7)

    base = run("import numpy")
    everything = "import relieflib, relieflib.sizing, relieflib.set_pressure"
    for code in ("import numpy, relieflib", everything):
        print(f"{code}: {1e3 * (run(code) - base):.0f} ms more than numpy alone")


if __name__ == "__main__":
    sizing()
    redraw()
    imports()
