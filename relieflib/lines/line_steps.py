"""Steps of a working along a line: friction, and the pressure of each bore from end to start."""

import numpy as np

from relieflib.errors import result
from relieflib.lines.pipe_flow import FANNO, FRICTION, ISOTHERMAL
from relieflib.nozzle.liquid import reynolds
from relieflib.units import GAS_CONSTANT, GRAVITY
from relieflib.working import step

ROUGH_F = "8/(2.457*ln(1/(0.27*e_D)))**2"
PIPE_FLUX, SHARED_FLUX = "4*{}/(pi*D**2)", "4*N*{}/(pi*D**2)"
CHURCHILL = ("8*((8/Re_p)**12 + ((2.457*ln(1/((7/Re_p)**0.9 + 0.27*e_D)))**16 + (37530/Re_p)**16)"
             "**-1.5)**(1/12)")  # fmt: skip
TWO_PHASE = "homogeneous flow, v = a + b/P (omega method)"
MOMENTUM = "balances of momentum and energy at the change of bore"
FANNO_HEADS = ("(1/Ma_s**2 - 1/Ma_x**2)/k + (k + 1)/(2*k)*ln(Ma_s**2*(2 + (k - 1)*Ma_x**2)"
               "/(Ma_x**2*(2 + (k - 1)*Ma_s**2)))")  # fmt: skip
GAS_HEADS = "(P_st**2 - P_x**2)/(G_p**2*b_v) - 2*ln(P_st/P_x)"
TWO_PHASE_HEADS = ("2/G_p**2*((P_st - P_x)/a_v - b_v/a_v**2*ln((a_v*P_st + b_v)/(a_v*P_x + b_v)))"
                   " - 2*ln((a_v + b_v/P_x)/(a_v + b_v/P_st))")  # fmt: skip


def _flux_step(run, flux, source, sign="W_rated", **flow):
    """Step of the mass flux in a run, in one that valves share of the flow of all.

    Parameters: run, a `Run`; flux [kg/(m2 s)]; source, words; sign of the flow in the expression,
    and the flow [kg/s] by its name. Returns `Step`. Source: definition.
    """
    if np.all(np.asarray(run.valves) == 1):
        return step(
            "pipe_flux", flux, PIPE_FLUX.format(sign), source, diameter=run.diameter, **flow
        )
    words = source + ": that of all valves that share it"
    return step("pipe_flux", flux, SHARED_FLUX.format(sign), words, diameter=run.diameter,
                valves=run.valves, **flow)  # fmt: skip


def friction_steps(line, run, mass_flow, viscosity):
    """Steps of the friction factor of one run, none where it has no length.

    Parameters: line; run, a `Run` of it; mass_flow [kg/s]; viscosity [Pa s], None for fully rough
    flow. Returns a list of `Step`. Source: Churchill (1977).
    """
    if np.all(np.asarray(run.length) == 0):
        return []
    e = result(np.asarray(line.roughness) / run.diameter)
    lines = [step("relative_roughness", e, "e_w/D", "wall of the pipe", roughness=line.roughness,
                  diameter=run.diameter)]  # fmt: skip
    if viscosity is None:
        return [*lines, step("friction_factor", result(run.friction_factor), ROUGH_F,
                             FRICTION + ", fully rough flow", relative_roughness=e)]  # fmt: skip
    all_of_it = np.asarray(mass_flow) * run.valves
    Re = reynolds(all_of_it, 0.25 * np.pi * np.square(run.diameter), viscosity)
    shared = {} if np.all(np.asarray(run.valves) == 1) else dict(valves=run.valves)
    return [
        *lines,
        step("pipe_reynolds", Re, f"4*{'N*' if shared else ''}W/(pi*D*mu)", "definition",
             mass_flow=mass_flow, diameter=run.diameter, viscosity=viscosity, **shared),
        step("friction_factor", result(run.friction_factor), CHURCHILL, FRICTION,
             pipe_reynolds=Re, relative_roughness=e),
    ]  # fmt: skip


def pressure_steps(sizing, line, place, mass_flow, pieces, stations):
    """Steps of the pressure in each bore of an outlet line, from the end back to the valve.

    Parameters: sizing; line; place; mass_flow [kg/s]; pieces, its runs; stations, of
    `line.march`. Returns a list of `Step`. Source: as `outlet.check`.
    """
    steps, fluid = [], place.fluid
    for number, run in reversed(list(enumerate(pieces))):
        start, end = stations[2 * number], stations[2 * number + 1]
        G, heads = start.mass_flux, result(run.heads + 0.0 * np.asarray(start.mass_flux))
        steps.append(_flux_step(run, G, "rated flow over the area of the bore", "W_rated",
                               rated_flow=mass_flow))  # fmt: skip
        steps += friction_steps(line, run, mass_flow, place.viscosity)
        steps.append(step("velocity_heads", heads, "f*L/D + K", "Crane TP-410 (2009)",
                          friction_factor=run.friction_factor, length=run.length,
                          diameter=run.diameter, K=run.K))  # fmt: skip
        last = number == len(pieces) - 1
        beyond = place.header if last else end.pressure
        steps.append(
            step(
                "end_pressure",
                result(beyond),
                source="beyond the end of the line" if last else MOMENTUM,
            )
        )
        steps += _OF_KIND[fluid.kind](fluid, run, G, heads, result(beyond), start, end)
    return steps


def _gas(fluid, run, G, heads, beyond, start, end):
    state = dict(line_Z=fluid.Z, stagnation_temperature=fluid.temperature, k=fluid.k,
                 molar_mass=fluid.molar_mass, gas_constant=GAS_CONSTANT, pipe_flux=G)  # fmt: skip
    q = result((np.asarray(end.pressure) / (np.asarray(G) * fluid.c)) ** 2)
    choke = result(fluid.choke(np.asarray(G)))
    return [
        step("choke_pressure", choke, "G_p*sqrt(2*Z_l*R*T_st/(k*(k + 1)*M))", FANNO + ", Ma 1",
             **state),
        step("exit_pressure", end.pressure, "max(P_e, P_ch)", "choked where P_ch is the higher",
             end_pressure=beyond, choke_pressure=choke),
        step("mach_parameter", q, "P_x**2*k*M/(G_p**2*Z_l*R*T_st)", FANNO,
             exit_pressure=end.pressure, **state),
        step("exit_mach", end.mach, "min(sqrt(2/(q_M + sqrt(q_M**2 + 2*(k - 1)*q_M))), 1)", FANNO,
             mach_parameter=q, k=fluid.k),
        step("start_mach", start.mach, source=FANNO + ", found by trial: the next line is met"),
        step("velocity_heads", heads, FANNO_HEADS, FANNO, start_mach=start.mach,
             exit_mach=end.mach, k=fluid.k),
        step("start_pressure", start.pressure,
             "G_p/Ma_s*sqrt(Z_l*R*T_st/(k*M*(1 + (k - 1)/2*Ma_s**2)))", FANNO,
             start_mach=start.mach, **state),
    ]  # fmt: skip


def _expanding(fluid, run, G, heads, beyond, start, end):
    source = ISOTHERMAL if np.all(np.asarray(fluid.a) == 0) else TWO_PHASE
    choke = result(fluid.choke(np.asarray(G)))
    highest = np.isfinite(fluid.top).all() and np.any(choke >= np.asarray(fluid.top))
    steps = [
        step("choke_pressure", choke, "" if highest else "G_p*sqrt(b_v)", source,
             **({} if highest else dict(pipe_flux=G, volume_b=fluid.b))),
        step("exit_pressure", end.pressure, "max(P_e, P_ch)", "choked where P_ch is the higher",
             end_pressure=beyond, choke_pressure=choke),
        step("start_pressure", start.pressure,
             source=source + ", found by trial: the next line is met"),
    ]  # fmt: skip
    values = dict(start_pressure=start.pressure, exit_pressure=end.pressure, pipe_flux=G,
                  volume_b=fluid.b)  # fmt: skip
    if source == ISOTHERMAL:
        return [*steps, step("velocity_heads", heads, GAS_HEADS, source, **values)]
    if np.all(np.asarray(start.pressure) <= fluid.top) and np.all(np.abs(fluid.a) > 0):
        steps.append(step("velocity_heads", heads, TWO_PHASE_HEADS, source, **values,
                          volume_a=fluid.a))  # fmt: skip
    return steps


def _liquid(fluid, run, G, heads, beyond, start, end):
    return [
        step("exit_pressure", end.pressure, "P_e", "a liquid does not choke", end_pressure=beyond),
        step("start_pressure", start.pressure, "P_x + N_v*G_p**2/(2*rho_L) + rho_L*g*z",
             "Bernoulli with losses", exit_pressure=end.pressure, velocity_heads=heads,
             pipe_flux=G, line_density=fluid.density, gravity=GRAVITY, elevation=run.elevation),
    ]  # fmt: skip


_OF_KIND = {"adiabatic": _gas, "expanding": _expanding, "liquid": _liquid}
