"""Reaction force of a discharging valve, how much a sudden opening adds to it, and its noise.

Open discharge: the jet leaves the line, and the valve and its pipe are pushed the other way by
momentum and by what the pressure in the open end is above the atmosphere. Closed discharge: in
steady flow the pushes at the two ends of each leg cancel, but for a moment, while the flow starts,
each leg takes the push of one end.
"""

from dataclasses import dataclass

import numpy as np

from relieflib.errors import finite, positive, refuse, result, warn_outside
from relieflib.lines.fittings import noise_figure
from relieflib.units import ATMOSPHERE, GAS_CONSTANT
from relieflib.working import Working, step

SOURCE = "API 520-II (2020), 7.7: reaction force"
DYNAMIC = "ASME B31.1, nonmandatory appendix II"
NOISE = "API 521 (2020), noise of relief to the atmosphere"
LEAST_FACTOR = 1.1  # lower end of the chart of B31.1 appendix II, from memory
NOISE_DISTANCE = 30.0  # m, distance the noise figure holds for
NOISE_RATIOS = (1.5, 10.0)  # pressure ratios that the figure draws


@dataclass(frozen=True)
class ReactionForce:
    """Force of an open discharge against the jet [N]: steady, and with the dynamic load factor."""

    force: float
    design_force: float
    working: Working


def jet_force(mass_flow, exit_velocity, exit_area, exit_pressure_gauge=0.0):
    """Steady reaction force of a jet into the open, of any fluid.

    Parameters: mass_flow [kg/s]; exit_velocity [m/s]; exit_area [m2]; exit_pressure_gauge, static
    in the open end [Pa gauge], above 0 only where the flow chokes there; arrays broadcast. Returns
    N, against the jet. Raises InputError for values not above 0 or a pressure below the atmosphere.
    Source: momentum balance; API 520-II (2020), 7.7 (gas, two-phase), ASME B31.1 appendix II.
    >>> jet_force(10.0, 300.0, 0.02, 50e3)
    4000.0
    """
    W, u, A = positive(mass_flow=mass_flow, exit_velocity=exit_velocity, exit_area=exit_area)
    p = finite(exit_pressure_gauge=exit_pressure_gauge)
    refuse(p < 0, "exit_pressure_gauge", p, "an open end is at least at the atmosphere's pressure")
    return result(W * u + A * p)


def gas_force(mass_flow, k, temperature, molar_mass, exit_area, atmosphere=ATMOSPHERE):
    """Steady reaction force of a gas that leaves the open end choked, from its state at rest.

    Parameters: mass_flow [kg/s]; k [-]; temperature at the valve inlet [K]; molar_mass [kg/kmol];
    exit_area [m2]; atmosphere [Pa]; arrays broadcast. Returns N. Raises InputError for values not
    above 0, k not above 1, or a flow that does not choke in that area: take `jet_force`.
    Source: API 520-II (2020), 7.7: 129 W sqrt(k T/((k+1) M)) + 0.1 A p; 129 is sqrt(2 R) rounded,
    128.95, and p the choke pressure of the open end.
    >>> round(gas_force(7.5, 1.11, 348.0, 51.0, 0.005), 1)
    2976.6
    """
    W, T, M, A = positive(
        mass_flow=mass_flow, temperature=temperature, molar_mass=molar_mass, exit_area=exit_area
    )
    k = finite(k=k)
    refuse(k <= 1.0, "k", k, "must be above 1; take the ideal-gas ratio")
    # at Ma 1: velocity sqrt(2 k R T0/((k+1) M)), pressure G sqrt(2 R T0/(k (k+1) M))
    pressure = W / A * np.sqrt(2.0 * GAS_CONSTANT * T / (k * (k + 1.0) * M))
    atmosphere = positive(atmosphere=atmosphere)
    refuse(pressure < atmosphere, "mass_flow", W, "does not choke in this area: take `jet_force`")
    momentum = W * np.sqrt(2.0 * GAS_CONSTANT * k * T / ((k + 1.0) * M))
    return result(momentum + A * (pressure - atmosphere))


def of_outlet(check, dynamic_load_factor=2.0):
    """Reaction force at the open end of a checked outlet line.

    Parameters: check, an `OutletCheck` of a line that ends in the open; dynamic_load_factor [-],
    2 unless the opening is known to be slow: see `load_factor`. Returns `ReactionForce`. Raises
    InputError for a header above the atmosphere (no jet: see `leg_forces`), or a factor outside 1
    to 2. Source: momentum balance; API 520-II (2020), 7.7; factor ASME B31.1 appendix II.
    """
    DLF, atmosphere = _checked_factor(dynamic_load_factor), check.sizing.device.atmosphere
    refuse(np.asarray(check.header_pressure) > atmosphere * (1 + 1e-9), "header_pressure",
           check.header_pressure, "a closed system has no jet: see leg_forces")  # fmt: skip
    end = check.exit
    A, p = check.line.parts[-1].area, result(np.maximum(np.asarray(end.pressure) - atmosphere, 0.0))
    flow, sign, shared = check.mass_flow, "W_rated", {}
    if np.any(np.asarray(end.valves) != 1):
        flow, sign, shared = (
            result(flow * np.asarray(end.valves)),
            "N*W_rated",
            {"valves": end.valves},
        )
    force = jet_force(flow, end.velocity, A, p)
    design = result(DLF * np.asarray(force))
    return ReactionForce(force, design, Working([
        step("exit_velocity", end.velocity, source="state at the open end, outlet check"),
        step("exit_area", A, "pi/4*D**2", "bore of the open end",
             diameter=check.line.parts[-1].diameter),
        step("exit_pressure_gauge", p, "max(P_x - Patm, 0)", "above 0 where it chokes",
             exit_pressure=end.pressure, atmosphere=atmosphere),
        step("reaction_force", force, f"{sign}*w_x + A_ex*p_x", SOURCE, rated_flow=check.mass_flow,
             exit_velocity=end.velocity, exit_area=A, exit_pressure_gauge=p, **shared),
        step("design_force", design, "DLF*F_r", DYNAMIC, dynamic_load_factor=result(DLF),
             reaction_force=force),
    ]))  # fmt: skip


def _checked_factor(dynamic_load_factor):
    DLF = positive(dynamic_load_factor=dynamic_load_factor)
    refuse((DLF < 1.0) | (DLF > 2.0), "dynamic_load_factor", DLF, "must be 1 to 2")
    return DLF


def leg_forces(check, dynamic_load_factor=2.0):
    """Pushes on the legs of a closed outlet line while the flow starts, one at each station.

    Parameters: check, an `OutletCheck`; dynamic_load_factor [-]. Returns a tuple of (words of the
    station, N): momentum and pressure above the atmosphere there, times the factor; an upper bound.
    In steady flow the two ends of a leg cancel but for friction. Raises InputError for a factor
    outside 1 to 2. Source: momentum balance of a bend; API 520-II (2020), 7.7, closed discharge: no
    equation there, only that the forces are transient and to be analysed.
    """
    DLF, atmosphere = _checked_factor(dynamic_load_factor), check.sizing.device.atmosphere
    out = []
    for s in check.profile:
        W = check.mass_flow * np.asarray(s.valves)
        push = W * np.asarray(s.velocity) + W / s.mass_flux * (s.pressure - atmosphere)
        out.append((s.part, result(DLF * push)))
    return tuple(out)


def pipe_second_moment(outside_diameter, diameter):
    """Second moment of area of a pipe's section.

    Parameters: outside_diameter, inside diameter [m]; arrays broadcast. Returns m4. Raises
    InputError unless the outside one is the larger. Source: strength of materials.
    >>> round(pipe_second_moment(0.1143, 0.10226) * 1e8, 1)
    301.1
    """
    outer, inner = positive(outside_diameter=outside_diameter, diameter=diameter)
    refuse(inner >= outer, "diameter", inner, "must be below the outside diameter")
    return result(np.pi / 64.0 * (outer**4 - inner**4))


def natural_period(mass, arm, youngs_modulus, second_moment):
    """Natural period of a valve on its inlet pipe, a cantilever with the mass at its end.

    Parameters: mass of valve, flanges and fittings [kg]; arm, from the run pipe to the centre of
    the outlet pipe [m]; youngs_modulus [Pa]; second_moment of the inlet pipe [m4]; arrays
    broadcast. Returns s. Raises InputError for values not above 0.
    Source: beam theory; ASME B31.1 appendix II prints it as 0.1846 sqrt(W h^3/(E I)), lb and in.
    >>> round(natural_period(200.0, 0.6, 200e9, 3.01e-6), 4)
    0.0307
    """
    m, h, E, I_p = positive(
        mass=mass, arm=arm, youngs_modulus=youngs_modulus, second_moment=second_moment
    )
    return result(2.0 * np.pi * np.sqrt(m * h**3 / (3.0 * E * I_p)))


def load_factor(opening_time, period):
    """Dynamic load factor of a force that rises evenly while the valve opens, then stays.

    Parameters: opening_time of the valve, natural period of its mounting [s]; arrays broadcast.
    Returns float or array [-], 1.1 to 2. Raises InputError for values not above 0. Validity: one
    mode, no damping. Source: Biggs, Introduction to Structural Dynamics (1964), 2.3, which the
    chart of ASME B31.1 appendix II draws; its least value, 1.1, from memory.
    >>> round(load_factor(0.04, 0.0307), 3)
    1.199
    """
    t, T = positive(opening_time=opening_time, period=period)
    x = np.pi * t / T
    return result(np.maximum(1.0 + np.abs(np.sin(x)) / x, LEAST_FACTOR))


def sound_level(mass_flow, pressure_ratio_out, k, temperature, molar_mass, distance=NOISE_DISTANCE):
    """Sound pressure level of a gas jet into the open, at a distance from its end.

    Parameters: mass_flow [kg/s]; pressure_ratio_out, absolute pressure upstream of the valve or
    restriction over that around the end [-]; k [-]; temperature of the gas [K]; molar_mass
    [kg/kmol]; distance [m]; arrays broadcast. Returns dB. Raises InputError for values not above 0
    or a ratio below 1.5. Validity: ratio 1.5 to 10 (above: ValidityWarning, the line goes on);
    open field, no silencer, hearing not weighted; +-3 dB (common practice, no source).
    Source: API 521 (2020): L30 = L + 10 log10(W c^2/2), then 20 log10(r/30) less.
    >>> round(sound_level(14.6, 3.3, 1.4, 311.0, 29.0))
    114
    """
    W, r = positive(mass_flow=mass_flow, distance=distance)
    L30 = noise_ordinate(pressure_ratio_out) + 10.0 * np.log10(
        0.5 * W * np.square(_gas_sound_speed(k, temperature, molar_mass))
    )
    return result(L30 - 20.0 * np.log10(r / NOISE_DISTANCE))


def _gas_sound_speed(k, temperature, molar_mass):
    k, T, M = positive(k=k, temperature=temperature, molar_mass=molar_mass)
    return np.sqrt(k * GAS_CONSTANT * T / M)


def noise_ordinate(pressure_ratio_out):
    """Ordinate of the noise figure: level at 30 m less 10 log10 of half W c^2.

    Parameters: pressure_ratio_out [-], 1.5 or more, number or array. Returns float or array [dB].
    Raises InputError below 1.5; ValidityWarning above 10. Source: as `fittings.noise_figure`.
    >>> round(noise_ordinate(3.3), 1)
    54.1
    """
    ratio, (low, high) = positive(pressure_ratio_out=pressure_ratio_out), NOISE_RATIOS
    refuse(ratio < low, "pressure_ratio_out", ratio, "the figure begins at 1.5")
    warn_outside(ratio > high, "pressure_ratio_out", ratio, "the figure: up to 10", NOISE)
    return noise_figure(ratio)


def sound_working(
    mass_flow, pressure_ratio_out, k, temperature, molar_mass, distance=NOISE_DISTANCE
):
    """Steps of `sound_level`, as a `Working`.

    Parameters, errors and source as `sound_level`.
    """
    c = result(_gas_sound_speed(k, temperature, molar_mass))
    L, figure = noise_ordinate(pressure_ratio_out), NOISE + "; figure as fluids fits it"
    at_30 = sound_level(mass_flow, pressure_ratio_out, k, temperature, molar_mass)
    return Working([
        step("sound_speed", c, "sqrt(k*R*T1/M)", "ideal gas", k=k, gas_constant=GAS_CONSTANT,
             temperature=temperature, molar_mass=molar_mass),
        step("noise_ordinate", L, source=figure),
        step("sound_level_30", at_30, "L_fig + 10*ln(0.5*W*c_s**2)/ln(10)", NOISE,
             noise_ordinate=L, mass_flow=mass_flow, sound_speed=c),
        step("sound_level", sound_level(mass_flow, pressure_ratio_out, k, temperature, molar_mass,
                                        distance), "L_30 - 20*ln(r_d/30)/ln(10)", NOISE,
             sound_level_30=at_30, distance=distance),
    ])  # fmt: skip
