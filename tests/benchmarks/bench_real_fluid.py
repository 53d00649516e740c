"""Real-fluid nozzle: how fast, and how far from a dense integration. Run by hand.

`python tests/benchmarks/bench_real_fluid.py [STATES]` prints solves a second and the ratio to a
plain loop of scalar property calls in the same run; then, over 200 random valid states of six
fluids, the distance of the flux from a dense integration sqrt(2 int v dP) / v on 2000 points.
"""

import sys
import time
import warnings

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.integrate import cumulative_simpson
from scipy.optimize import minimize_scalar

from relieflib.errors import InputError
from relieflib.nozzle.isentrope import expansion
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import critical_pressure, critical_temperature

FLUIDS = ("Water", "Propane", "CarbonDioxide", "Ammonia", "n-Dodecane", "Methane")
refused = []  # states that are not valid, with the reason given


def scalar_flux(fluid, P, enthalpy, entropy):
    """Density times velocity by two scalar calls; 0 past the end of the equation of state."""
    try:
        h = PropsSI("H", "P", P, "S", entropy, fluid)
        rho = PropsSI("D", "P", P, "S", entropy, fluid)
    except ValueError:
        return 0.0
    return rho * np.sqrt(2.0 * max(enthalpy - h, 0.0))


def plain_loop(fluid, pressure, enthalpy, entropy, points=200):
    """Highest flux on evenly spaced pressures."""
    grid = np.linspace(pressure, 0.02 * pressure, points)[1:]
    return max(scalar_flux(fluid, P, enthalpy, entropy) for P in grid)


def search_loop(fluid, pressure, enthalpy, entropy):
    """Bounded search: the fewest calls a plain loop does with, blind to the kink."""
    found = minimize_scalar(
        lambda P: -scalar_flux(fluid, P, enthalpy, entropy),
        bounds=(0.02 * pressure, pressure), options={"xatol": 1e-4 * pressure},
    )  # fmt: skip
    return -found.fun


def volumes(fluid, entropy, grid):
    """Specific volume at each pressure of a grid, NaN where the equation of state ends."""
    point, out = expansion(fluid), np.full(grid.size, np.nan)
    for i, P in enumerate(grid):
        try:
            out[i] = 1.0 / point(float(P), entropy)[0]
        except InputError:
            break
    return out


def dense(fluid, pressure, entropy, points=2000):
    """Highest flux by integrating v dP: half of the points over all, half about the highest."""
    grid = np.linspace(pressure, 1e-5 * pressure, points // 2)
    flux, work = along(grid, volumes(fluid, entropy, grid), 0.0)
    best = int(np.nanargmax(flux))
    a, b = max(best - 1, 0), min(best + 1, grid.size - 1)
    fine = np.linspace(grid[a], grid[b], points // 2)
    return np.nanmax(along(fine, volumes(fluid, entropy, fine), work[a])[0])


def along(grid, v, start):
    """Flux and work sqrt(2 int v dP) along falling pressures."""
    ok = ~np.isnan(v)
    work = np.full(grid.size, np.nan)
    work[ok] = start + cumulative_simpson(v[ok], x=-grid[ok], initial=0.0)
    return np.sqrt(2.0 * work) / v, work


def random_states(count, seed=1):
    """Valid states of six fluids: subcooled and saturated liquid, two-phase, gas, supercritical."""
    rng, made = np.random.default_rng(seed), []
    refused.clear()
    while len(made) < count:
        fluid = FLUIDS[len(made) % len(FLUIDS)]
        Pc, Tc = critical_pressure(fluid), critical_temperature(fluid)
        P = float(np.exp(rng.uniform(np.log(0.02), np.log(3.0))) * Pc)
        x = rng.uniform(-0.3, 1.3)
        kw = {"temperature": float(rng.uniform(0.6, 1.6) * Tc)}
        if P < 0.98 * Pc and rng.random() < 0.5:
            kw = {"quality": float(np.clip(x, 0.0, 1.0))}
        try:
            stream = RealFluid(fluid, P, **kw)
            made.append((stream, stream.mass_flux()))
        except InputError as error:
            refused.append(f"{fluid} {P:.4g} Pa {kw}: {str(error)[:160]}")
    return made


def speed(count=120):
    states = [(s.fluid, s.pressure, s.state, flux) for s, flux in random_states(count)]
    start = time.perf_counter()
    for fluid, P, s, _ in states:
        RealFluid(fluid, P, enthalpy=s.enthalpy).mass_flux()
    ours = (time.perf_counter() - start) / count
    few = states[:30]
    for name, loop in (("200 points, two scalar calls each", plain_loop),
                       ("bounded search on scalar calls", search_loop)):  # fmt: skip
        start, far = time.perf_counter(), []
        for fluid, P, s, flux in few:
            far.append(abs(loop(fluid, P, s.enthalpy, s.entropy) / flux - 1.0))
        took = (time.perf_counter() - start) / len(few)
        print(f"plain loop, {name}: {took * 1e3:.2f} ms a solve, {took / ours:.0f} times ours; "
              f"highest error {100 * max(far):.2g} %")  # fmt: skip
    print(f"ours: {ours * 1e3:.3f} ms a solve from pressure and enthalpy, {1 / ours:.0f} a second")


def accuracy(count=200):
    rows = {f: [] for f in FLUIDS}
    for stream, flux in random_states(count):
        other = dense(stream.fluid, stream.state.pressure, stream.state.entropy)
        rows[stream.fluid].append(flux / other - 1.0)
        if abs(rows[stream.fluid][-1]) > 5e-4:
            print("  differs:", stream, flux, other)
    print(f"{len(refused)} random states refused, such as", *refused[::12], sep="\n  ")
    print(f"{'fluid':16} states  median |error| %  highest |error| %")
    for fluid, errors in rows.items():
        e = 100 * np.abs(errors)
        print(f"{fluid:16} {len(e):6} {np.median(e):15.5f} {e.max():18.5f}")


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    speed()
    accuracy(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
