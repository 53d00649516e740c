"""A liquid that is blocked in and heated: it expands, or it boils.

What may be left out, for piping alone: see `reasons_to_omit`. What counts as heat: the largest
normal duty for the cold side of an exchanger; the sun on bare pipe (790 to 1040 W/m2 on projected
area, API 521 (2020), 4.4.12 and its fire clause, from memory); tracing, steaming out, and ambient
heat on a cold line. Fire is not considered for piping alone (API 521 5th edition, 5.14.4.1).
The customary smallest valve, NPS 3/4 x NPS 1 (DN 20 x DN 25), passes far more than is needed
(same, 5.14): the letter is then set by custom, not by the load. Long large lines and lines at or
near the boiling point need the calculation.
"""

import numpy as np

from relieflib import tables
from relieflib.errors import InputError, finite, not_negative, one_number, positive, refuse, result
from relieflib.nozzle.liquid import Liquid
from relieflib.properties import State
from relieflib.sizing import ReliefLoad
from relieflib.units import WATER_60F, to_si
from relieflib.working import Working, step

NOTEBOOK = 14
PUBLISHED = {"hydraulic expansion": ("4.4.12", "5.14")}

SOURCE = "API 521 (2020), 4.4.12"
FIFTH = "API 521 5th edition (2007), 5.14"
CUSTOMARY_SMALLEST = "3/4 x 1"  # NPS of inlet and outlet; API 521 5th edition, 5.14
SOLAR_MAXIMUM = 343.15  # K: 60 to 70 °C, API 521 5th edition, 5.14.4.1


def relief_load(heat_rate, stream, expansion_coefficient, liquid_heat_capacity):
    """Load of a blocked-in liquid that expands as it is heated and does not boil.

    Parameters: heat_rate into the liquid [W]; stream, `Liquid` at relieving pressure and the
    temperature where it expands most, or TwoPhase or RealFluid for a liquid that flashes in the
    valve; expansion_coefficient [1/K] at that temperature;
    liquid_heat_capacity [J/(kg K)]. Arrays broadcast. Returns `ReliefLoad`; no load where the
    coefficient is not above 0, as for water below 4 °C. Raises InputError for a stream that is no
    liquid, a negative heat flow or a heat capacity not above 0. Validity: no compressibility and
    a rigid wall, both of which make the flow smaller; check `relieves_vapor` first.
    Source: API 521 (2020), 4.4.12 (5th edition, equation 1: q = alpha phi/(1000 d c)).
    >>> from relieflib.nozzle.liquid import Liquid
    >>> load = relief_load(293071.0, Liquid(12e5, 1000.0), 1.8e-4, 4184.0)
    >>> round(load.mass_flow * 3600, 1)
    45.4
    """
    if stream.phase != "liquid" and not np.all(getattr(stream, "liquid_inlet", False)):
        raise InputError("stream: liquid expands; for vapour use `vapor_load`")
    Q, alpha = (
        not_negative(heat_rate=heat_rate),
        finite(expansion_coefficient=expansion_coefficient),
    )
    c = positive(liquid_heat_capacity=liquid_heat_capacity)
    flow = result(np.maximum(alpha, 0.0) * Q / c)
    volume = result(np.asarray(flow) / stream.density)
    return ReliefLoad("hydraulic_expansion", flow, stream, working=Working([
        step("mass_flow", flow, "max(alpha, 0)*Q/c_p", SOURCE, heat_rate=heat_rate,
             expansion_coefficient=expansion_coefficient,
             liquid_heat_capacity=liquid_heat_capacity),
        step("volume_flow", volume, "W/rho", "for comparison with a vendor's figure",
             mass_flow=flow, density=stream.density),
    ]))  # fmt: skip


def fluid_load(heat_rate, fluid, relieving_pressure, temperature):
    """Load of a blocked-in pure liquid by its name, which does not boil.

    Parameters: heat_rate into it [W]; fluid that CoolProp knows; relieving_pressure [Pa absolute];
    temperature where it expands most [K]; floats. Returns `ReliefLoad` of `Liquid`, with its vapour
    pressure. Raises InputError for a fluid that is no liquid there: it boils first, see
    `vapor_load`. Validity: as `relief_load`. Source: as `relief_load`; properties by CoolProp.
    >>> load = fluid_load(250e3, "Water", 18.5e5, 363.15)
    >>> round(load.mass_flow * 3600), round(load.stream.density)
    (149, 966)
    """
    one_number(relieving_pressure=relieving_pressure, temperature=temperature)
    state = State(fluid, relieving_pressure, temperature=temperature)
    if state.phase != "liquid":
        where = f"{relieving_pressure / 1e5:.4g} bara and {temperature:.4g} K"
        raise InputError(f"{fluid}: {state.phase} at {where}: it boils before the valve relieves, "
                         "take `vapor_load`")  # fmt: skip
    stream = Liquid(relieving_pressure, state.density, viscosity=state.viscosity,
                    saturation_pressure=state.saturation_pressure)  # fmt: skip
    return relief_load(heat_rate, stream, state.expansion_coefficient, state.heat_capacity)


def vapor_load(heat_rate, stream, latent_heat):
    """Load of a blocked-in liquid that boils before the valve opens, or at its set pressure.

    Parameters: heat_rate [W]; stream, vapour or two-phase at relieving pressure; latent_heat there
    [J/kg]. Arrays broadcast. Returns `ReliefLoad`. Raises InputError for a liquid stream, a
    negative heat flow or latent heat not above 0. Source: API 521 (2020), 4.4.12; heat balance.
    >>> from relieflib.nozzle.gas import Gas
    >>> vapor_load(5e4, Gas(12e5, 308.0, molar_mass=44.1, k=1.13), 3.2e5).mass_flow
    0.15625
    """
    if stream.phase == "liquid":
        raise InputError("stream: a liquid does not take up latent heat; use `relief_load`")
    flow = result(not_negative(heat_rate=heat_rate) / positive(latent_heat=latent_heat))
    return ReliefLoad("hydraulic_expansion", flow, stream, working=Working([
        step("mass_flow", flow, "Q/h_v", SOURCE + ": it boils", heat_rate=heat_rate,
             latent_heat=latent_heat)
    ]))  # fmt: skip


def relieves_vapor(saturation_pressure, set_pressure):
    """True where a heated liquid boils before the valve opens, so that vapour leaves.

    Parameters: saturation_pressure at the highest temperature that the heat can bring it to,
    set_pressure [Pa absolute]: boiling liquid holds the vapour pressure and goes no higher while
    the valve opens at set. Arrays broadcast. Returns bool or array; NaN gives True. Raises
    InputError if one is not above 0. Validity: a line that is full of liquid when it is shut in.
    Source: API 521 (2020), 4.4.12; vapour pressure.
    >>> relieves_vapor(25e5, 19e5)
    True
    """
    Ps, P = positive(saturation_pressure=saturation_pressure, set_pressure=set_pressure)
    return result(~(Ps < P))


def solar_heat(solar_flux, diameter, length, absorptivity=1.0):
    """Heat that the sun brings to a bare pipe or drum.

    Parameters: solar_flux on projected area [W/m2]; outside diameter and length [m]; absorptivity
    of the surface [-], above 0 and up to 1; arrays broadcast. Returns W. Raises InputError
    outside. Validity: no loss to the air, so an upper bound. Source: projected area D L; the flux
    790 to 1040 W/m2 of API 521 (2020), from memory.
    >>> solar_heat(1040.0, 0.5, 40.0)
    20800.0
    """
    flux, D, L, part = positive(
        solar_flux=solar_flux, diameter=diameter, length=length, absorptivity=absorptivity
    )
    refuse(part > 1.0, "absorptivity", part, "must be above 0 and up to 1")
    return result(part * flux * D * L)


def api_gravity(density):
    """Gravity of an oil in degrees API.

    Parameters: density at 15.6 °C [kg/m3], number or array. Returns float or array [°API]. Raises
    InputError if it is not above 0. Source: definition, 141.5/d - 131.5, d against water at 60 °F.
    >>> round(api_gravity(999.016), 6)
    10.0
    """
    return result(141.5 / (positive(density=density) / WATER_60F) - 131.5)


def coefficient_by_gravity(api_gravity):
    """Typical coefficient of cubic expansion of a hydrocarbon liquid, by its gravity.

    Parameters: api_gravity [°API], number or array, 3 and above. Returns 1/K. Raises InputError
    below 3. Validity: typical values at 15.6 °C; the steps of the table are kept. Source: API 521
    (2020), 4.4.12, table of typical values (5th edition table 2), printed per °F; read and from
    memory. Water has its own row, `coefficient_of_water`.
    >>> round(coefficient_by_gravity(60.0), 5)
    0.00108
    """
    d = finite(api_gravity=api_gravity)
    table = tables.numbers("expansion_coefficients")
    refuse(d < table[0, 0], "api_gravity", d, f"the table begins at {table[0, 0]:g} °API")
    row = np.clip(np.searchsorted(table[:, 0], d, side="right") - 1, 0, len(table) - 1)
    per_F = np.where(np.isnan(d), np.nan, table[row, 1])
    return to_si(per_F, "1/°F", "expansion coefficient")


def coefficient_of_water():
    """Typical coefficient of cubic expansion of water, 1/K.

    Returns float. Validity: near 20 °C alone: it is negative below 4 °C and 5.2e-4 at 60 °C, so
    take fluid data. Source: API 521 (2020), 4.4.12, as `coefficient_by_gravity`: 0.0001 per °F.
    >>> round(coefficient_of_water(), 6)
    0.00018
    """
    return to_si(0.0001, "1/°F", "expansion coefficient")


def coefficient_of_fluid(liquid_density, density, temperature_rise):
    """Mean coefficient of cubic expansion from two densities at one pressure.

    Parameters: liquid_density at the lower temperature, density at the higher one [kg/m3];
    temperature_rise between them [K]; arrays broadcast. Returns 1/K; negative where it shrinks.
    Raises InputError if one is not above 0. Validity: a small rise. Source: API 521 5th edition
    (2007), 5.14.4: (rho1^2 - rho2^2)/(2 dT rho1 rho2), from memory.
    >>> round(coefficient_of_fluid(500.0, 498.5, 1.0), 6)
    0.003005
    """
    rho_1, rho_2, dT = positive(
        liquid_density=liquid_density, density=density, temperature_rise=temperature_rise
    )
    return result((rho_1**2 - rho_2**2) / (2.0 * dT * rho_1 * rho_2))


def compressibility_of_fluid(liquid_density, density, pressure_rise):
    """Mean isothermal compressibility from two densities at one temperature.

    Parameters: liquid_density at the lower pressure, density at the higher one [kg/m3];
    pressure_rise between them [Pa]; arrays broadcast. Returns 1/Pa. Raises InputError if one is
    not above 0 or the density falls. Validity: a small rise. Source: API 521 5th edition (2007),
    5.14.4: (v1 - v2)/((p2 - p1) v1).
    >>> round(compressibility_of_fluid(998.0, 998.46, 1e6) * 1e10, 2)
    4.61
    """
    rho_1, rho_2, dp = positive(
        liquid_density=liquid_density, density=density, pressure_rise=pressure_rise
    )
    refuse(rho_2 < rho_1, "density", rho_2, "must not fall as pressure rises")
    return result((1.0 - rho_1 / rho_2) / dp)


def metal_of_pipe(metal):
    """Linear expansion [1/K] and modulus of elasticity [Pa] of a pipe metal.

    Parameters: metal, a name of the table pipe_metals. Returns (float, float). Raises InputError
    for another name. Validity: near ambient temperature. Source: `tables.source("pipe_metals")`,
    as `pressure_rise_of` needs them.
    >>> metal_of_pipe("carbon steel")
    (1.21e-05, 207000000000.0)
    """
    known = {row[0]: (float(row[1]), float(row[2])) for row in tables.rows("pipe_metals")[1]}
    if metal not in known:
        raise InputError(f"metal '{metal}': use one of {', '.join(known)}")
    return known[metal]


def pressure_rise_of(temperature_rise, expansion_coefficient, compressibility, diameter,
                     wall_thickness, linear_expansion, youngs_modulus, poisson_ratio=0.3,
                     leak_flow=0.0, time=0.0, volume=1.0):  # fmt: skip
    """Rise of pressure of a liquid blocked in an elastic pipe that warms with it.

    Parameters: temperature_rise [K] (1 gives the rise per kelvin); expansion_coefficient [1/K] and
    compressibility [1/Pa] of the liquid; inside diameter and wall_thickness [m]; linear_expansion
    [1/K], youngs_modulus [Pa] and poisson_ratio [-] of the metal; leak_flow past the closed valves
    [m3/s] for a time [s] out of a volume [m3]; arrays broadcast. Returns Pa; 0 where the liquid
    leaks away or shrinks faster than it expands. Raises InputError outside the physical range.
    Validity: thin wall with closed ends, no gas, constant coefficients; liquid does not boil.
    Source: API 521 5th edition (2007), 5.14.4, equation 3: dT (alpha - 3 alpha_m) - q t/V over
    beta + d/(2 E w) (2.5 - 2 nu).
    >>> steel = dict(linear_expansion=1.21e-5, youngs_modulus=207e9)
    >>> round(pressure_rise_of(1.0, 2.07e-4, 4.59e-10, 0.1023, 6.02e-3, **steel))
    317884
    """
    dT, alpha, D, w, E = _pipe(temperature_rise, expansion_coefficient, diameter, wall_thickness,
                               youngs_modulus)  # fmt: skip
    beta, V = positive(compressibility=compressibility, volume=volume)
    alpha_m, q, t = not_negative(linear_expansion=linear_expansion, leak_flow=leak_flow, time=time)
    more = dT * (alpha - 3.0 * alpha_m) - q * t / V
    give = beta + wall_compliance(D, w, E, poisson_ratio)
    return result(np.maximum(more / give, 0.0))


def wall_compliance(diameter, wall_thickness, youngs_modulus, poisson_ratio=0.3):
    """Part by which the volume of an elastic pipe grows with each pascal inside.

    Parameters: inside diameter and wall_thickness [m]; youngs_modulus [Pa] and poisson_ratio [-]
    of the metal; arrays broadcast. Returns 1/Pa. Raises InputError if one is not above 0, or a
    ratio above 0.5. Validity: thin wall with closed ends. Source: API 521 5th edition (2007),
    5.14.4, equation 3: d/(2 E w) (2.5 - 2 nu).
    >>> round(wall_compliance(0.1023, 6.02e-3, 207e9) * 1e10, 3)
    0.78
    """
    D, w, E = positive(
        diameter=diameter, wall_thickness=wall_thickness, youngs_modulus=youngs_modulus
    )
    nu = not_negative(poisson_ratio=poisson_ratio)
    refuse(nu > 0.5, "poisson_ratio", nu, "must be from 0 to 0.5")
    return result(D / (2.0 * E * w) * (2.5 - 2.0 * nu))


def _pipe(temperature_rise, expansion_coefficient, diameter, wall_thickness, youngs_modulus):
    D, w, E = positive(
        diameter=diameter, wall_thickness=wall_thickness, youngs_modulus=youngs_modulus
    )
    dT = not_negative(temperature_rise=temperature_rise)
    return dT, finite(expansion_coefficient=expansion_coefficient), D, w, E


def reasons_to_omit(vapor_pocket=False, drained=False, temperature=None, pressure_gauge=None,
                    pressure_rise=None, design_pressure_gauge=None,
                    solar_temperature=SOLAR_MAXIMUM):  # fmt: skip
    """Reasons why a blocked-in length of piping needs no thermal relief valve.

    Parameters: vapor_pocket, True where a gas that neither condenses nor dissolves always stays;
    drained, True for a line in continuous use that is drained after it is blocked in, under a
    well supervised procedure; temperature of the liquid in operation [K], held against
    solar_temperature, the most the sun brings it to [K], with no other heat source;
    pressure_gauge at blocking in, design_pressure_gauge [Pa gauge] and pressure_rise [Pa]. Each
    may be left out. Returns tuple of str; empty: a valve is needed.
    Raises InputError where only one or two of the pressures are given. Validity: piping without
    vessels or exchangers; a small pocket can vanish by compression and solution. Source: API 521
    5th edition (2007), 5.14.4.1 a) to d); (2020), 4.4.12.
    >>> reasons_to_omit(temperature=360.0)
    ('hotter in operation than the sun can make it',)
    """
    found, hottest = [], one_number(solar_temperature=solar_temperature)
    if vapor_pocket:
        found.append("always holds a pocket of gas")
    if drained:
        found.append("in continuous use, drained after blocking in")
    if (
        temperature is not None
        and one_number(temperature=positive(temperature=temperature)) > hottest
    ):
        found.append("hotter in operation than the sun can make it")
    given = [pressure_gauge, pressure_rise, design_pressure_gauge]
    if any(g is None for g in given):
        if any(g is not None for g in given):
            raise InputError("pressure_gauge, pressure_rise, design_pressure_gauge: give all three")
    elif pressure_gauge + pressure_rise <= design_pressure_gauge:
        found.append("calculated rise stays within the rating")
    return tuple(found)
