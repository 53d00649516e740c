"""Loss of an inlet line: at one density, of a gas that expands, and the steps of both."""

import numpy as np

from relieflib.errors import result
from relieflib.lines.line_fluids import Adiabatic
from relieflib.lines.line_steps import FANNO_HEADS, _flux_step, friction_steps
from relieflib.lines.pipe_flow import FANNO, _fanno, _fanno_inverse
from relieflib.units import GAS_CONSTANT
from relieflib.working import step

SOURCE = "API 520-II (2020), 7.3: inlet pressure loss"
EXPANDED = ("dp_exb + (P1 - dp_exb)*(1 - Ma_s/Ma_x*((2 + (k - 1)*Ma_x**2)"
            "/(2 + (k - 1)*Ma_s**2))**((k + 1)/(2*(k - 1))))")  # fmt: skip


def _loss_steps(pieces, line, W, rho, mu, modulating):
    """Steps of each run and the loss of all [Pa]."""
    flow, sign = ("mass_flow", "W") if modulating else ("rated_flow", "W_rated")
    steps, loss = [step("density", result(rho), source="state at relieving conditions")], 0.0
    steps.insert(0, step(flow, W, source="load" if modulating else "rated flow of the valve"))
    for run in pieces:
        G, K = np.asarray(W) / run.area, run.K + run.widening
        heads = run.heads + run.widening
        here = heads * G**2 / (2.0 * rho)
        steps.append(
            _flux_step(run, result(G), "flow over the area of the bore", sign, **{flow: W})
        )
        steps += friction_steps(line, run, W, mu)
        steps.append(step("velocity_heads", result(heads), "f*L/D + K", "Crane TP-410 (2009)",
                          friction_factor=run.friction_factor, length=run.length,
                          diameter=run.diameter, K=result(K)))  # fmt: skip
        steps.append(step("inlet_loss", result(loss + here), "dp_bef + N_v*G_p**2/(2*rho)", SOURCE,
                          loss_before=result(loss + 0.0 * here), velocity_heads=result(heads),
                          pipe_flux=result(G), density=result(rho)))  # fmt: skip
        loss = loss + here
    return steps, loss


def _as_gas(stream):
    """Ideal gas of the stream's pressure, density and k, whose losses are those of it; else None.

    k of steam as its choking: 1.135 saturated, 1.3 superheated (API 520-I, Napier's limit).
    """
    if stream.phase == "gas":
        return Adiabatic(stream.temperature, stream.molar_mass, stream.k, stream.Z)
    if stream.phase == "steam":
        if np.any(np.asarray(stream.quality) < 1.0):
            return None
        k = 1.135 if stream.temperature is None else 1.3
    elif stream.phase == "real fluid" and stream.inlet_kind == "gas":
        k = stream.state.k
    else:
        return None
    # of temperature and molar mass only R T/M = P/rho counts
    return Adiabatic(stream.pressure / np.asarray(stream.density) / GAS_CONSTANT, 1.0, k)


def _expansion(stream, pieces, W, plain):
    """Stagnation pressure a gas loses as it expands along the line [Pa], NaN for others; steps."""
    gas, loss, steps = _as_gas(stream), 0.0 * plain, []
    if gas is None:
        return np.nan * plain, steps
    k, P1 = np.asarray(gas.k, dtype=float), np.asarray(stream.pressure, dtype=float)
    for run in pieces:
        G, heads, before = np.asarray(W) / run.area, run.heads + run.widening, loss
        y_start = gas.of_total(P1 - before, G)
        left = _fanno(y_start - 1.0, k) - heads
        left = np.where(left >= 0.0, left, np.nan)  # NaN: the line chokes, it can't pass this flow
        y_end = 1.0 + _fanno_inverse(*np.broadcast_arrays(left, k))
        loss = P1 - gas.total(gas.pressure_at(y_end, G), G) + 0.0 * plain
        machs = dict(start_mach=result(y_start**-0.5), exit_mach=result(y_end**-0.5))
        steps += [
            *(step(n, v, source=FANNO + ", found by trial") for n, v in machs.items()),
            step("velocity_heads", result(heads + 0.0 * y_end), FANNO_HEADS, FANNO, **machs,
                 k=gas.k),
            step("expanded_loss", result(loss), EXPANDED, FANNO + ", stagnation pressure",
                 expanded_before=result(before), pressure=stream.pressure, k=gas.k, **machs),
        ]  # fmt: skip
    return loss, steps if np.all(np.isfinite(loss)) else []


def _counted(stream, back_pressure, plain, expanded):
    """Loss that counts: the larger; all that drives the flow where a gas can't pass the line."""
    chokes = np.isnan(expanded) & ~np.isnan(plain) & (_as_gas(stream) is not None)
    all_of_it = stream.pressure - np.asarray(back_pressure, dtype=float) + 0.0 * plain
    return np.fmax(plain, np.where(chokes, all_of_it, expanded))


def _largest_steps(stream, rho, limit, G):
    """Loss coefficient of one bore that loses just the limit [-], and its steps."""
    gas, limit, P1 = _as_gas(stream), np.asarray(limit), np.asarray(stream.pressure, dtype=float)
    plain = 2.0 * rho * limit / np.square(G)
    if gas is None:
        return result(plain), [
            step("largest_K", result(plain), "2*rho*dp_lim/G_p**2", "the loss solved for K, in the "
                 "last bore", density=result(rho), inlet_limit=result(limit), pipe_flux=G)
        ]  # fmt: skip
    y_start, y_end = gas.of_total(P1, G), gas.of_total(P1 - limit, G)
    y_end = np.where(np.isnan(y_end) & ~np.isnan(y_start), 1.0, y_end)  # it chokes before
    k = np.asarray(gas.k, dtype=float)
    K = result(_fanno(y_start - 1.0, k) - _fanno(y_end - 1.0, k) + 0.0 * limit)
    if not np.all(np.isfinite(K)):
        return K, []  # the bore can't pass the flow at all
    machs = dict(start_mach=result(y_start**-0.5), exit_mach=result(y_end**-0.5))
    words = FANNO + ", from the pressure in the vessel to that less the limit, in the last bore"
    return K, [step("largest_K", K, FANNO_HEADS, words, **machs, k=gas.k)]


def _limit_steps(loss, plain, expanded, pset, x, static, valve, stream):
    """Steps from the losses to the fraction of set and the pressure that is left."""
    steps, counted, sign = [], dict(inlet_loss=result(loss)), "dp_in"
    if np.all(np.isfinite(expanded)):
        counted, sign = dict(counted_loss=result(loss)), "dp_c"
        steps.append(step("counted_loss", result(loss), "max(dp_in, dp_exp)",
                          "a gas loses more as it expands: the larger counts",
                          inlet_loss=result(plain), expanded_loss=result(expanded)))  # fmt: skip
    elif np.any(loss > plain):
        steps.append(step("inlet_loss", result(loss), source="the line chokes: it can't pass this "
                          "flow, and all of the pressure counts as lost"))  # fmt: skip
    return [
        *steps,
        step("loss_fraction", result(loss / pset), f"{sign}/pset", SOURCE + ", of gauge set",
             set_pressure_gauge=result(pset), **counted),
        step("valve_pressure", result(valve), f"P1 - {sign} - dp_stat",
             "at the valve's inlet while it relieves", pressure=stream.pressure,
             static_head=result(static), **counted),
    ]  # fmt: skip
