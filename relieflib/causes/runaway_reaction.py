"""Runaway reaction: heat made faster the hotter it gets; vent areas, and a batch against time.

Three families (DIERS): TEMPERED: the batch boils at relieving pressure and boiling takes the heat
away; GASSY: permanent gas is made and nothing cools, so it is sized at the peak rate of gas;
HYBRID: both. API 521 (5th edition, 5.13) gives no load equation and points to DIERS (from memory);
the equations here are Leung's and those of HSE CRR 136/1998, from memory. Foaming and swell carry
liquid into the vent: two phases are assumed unless shown otherwise (`level_swell` screens a clean
liquid). Only adiabatic calorimetry of
the real batch, with a low phi factor, gives the rates; decompositions, two liquid phases, solids
and highly viscous contents are for a specialist. The batch in time is in `reactor`.
"""

import numpy as np

from relieflib.errors import (
    InputError,
    not_negative,
    one_number,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.properties import State
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 22
PUBLISHED = {"runaway reaction": ("", "5.13")}

SOURCE = "Leung, AIChE J. 32 (1986) 1622"
HYBRID_SOURCE = "HSE CRR 136/1998; DIERS"
CAUSE = "runaway_reaction"
HIGHEST_OVER_SET = 1.3  # absolute: well within Leung's equation, which holds up to 1.5


def _check_contents(batch_mass, reactor_volume, stream):
    """Refuse a batch denser than what leaves, warn of one thinner: homogeneous means equal."""
    whole, flowing = np.asarray(batch_mass / reactor_volume), np.asarray(stream.density)
    refuse(whole > 1.01 * flowing, "batch_mass", batch_mass,
           f"is {np.max(whole):.6g} kg for each m3 of the reactor, and the stream has "
           f"{np.min(flowing):.6g} kg/m3: it does not fit, or the stream is not what the reactor "
           "holds")  # fmt: skip
    warn_outside(whole < 0.99 * flowing, "batch_mass", batch_mass, "that of a reactor full of the "
                 "stream: a denser stream has too high a flux", HYBRID_SOURCE)  # fmt: skip


def phi_corrected(test_rate, phi_factor):
    """Rate of the real batch from a test whose cell took part of the heat.

    Parameters: test_rate of temperature rise [K/s]; phi_factor, heat capacity of sample and cell
    over the sample's [-], 1 or more. Arrays broadcast. Returns K/s. Raises InputError for a phi
    factor below 1. Validity: at the same temperature and conversion; a high phi factor also
    hides the higher temperatures a batch reaches. Source: HSE CRR 136/1998, heat balance.
    >>> phi_corrected(0.02, 1.05)
    0.021
    """
    r, phi = not_negative(test_rate=test_rate), positive(phi_factor=phi_factor)
    refuse(phi < 1.0, "phi_factor", phi, "can't be below 1")
    return result(r * phi)


def reaction_heat(liquid_heat_capacity, set_rate, peak_rate):
    """Mean heat of reaction between set and highest pressure, for each kilogram of batch.

    Parameters: liquid_heat_capacity [J/(kg K)]; set_rate and peak_rate of temperature rise at set
    and at highest pressure, of the adiabatic batch [K/s]. Arrays broadcast. Returns W/kg. Raises
    InputError for a value not above 0. Source: Leung (1986): q = c/2 (dT/dt_s + dT/dt_m).
    >>> round(reaction_heat(2470.0, 0.493, 0.662), 1)
    1426.4
    """
    c, low, high = positive(liquid_heat_capacity=liquid_heat_capacity, set_rate=set_rate,
                            peak_rate=peak_rate)  # fmt: skip
    return result(0.5 * c * (low + high))


def relief_load(batch_mass, reactor_volume, reaction_heat, latent_heat, specific_volume_change,
                liquid_heat_capacity, stream, temperature_rise=0.0, working=()):  # fmt: skip
    """Load of a tempered runaway that vents two phases; the flow falls as overpressure is allowed.

    Parameters: batch_mass [kg]; reactor_volume [m3]; reaction_heat [W/kg]; latent_heat [J/kg] and
    specific_volume_change, vapour less liquid [m3/kg], at set pressure; liquid_heat_capacity
    [J/(kg K)]; temperature_rise between set and highest pressure [K], 0 without overpressure;
    stream, the two-phase contents; working. Arrays broadcast. Returns `ReliefLoad`. Raises
    InputError for a value not above 0 or a batch that does not fit. Validity: homogeneous
    contents and vent flow, constant properties and flux, vent fully open at set, overpressure up to
    50 % of absolute set pressure (Coker, Fortran Programs for Chemical Process Design (1995), table
    5-6A; 10 to 30 % is the range of Fauske's shorter form).
    Source: Leung (1986): m0 q/(sqrt(V h/(m0 v)) + sqrt(c dT))^2; the area is this over the flux.
    >>> from relieflib.nozzle.two_phase import TwoPhase
    >>> load = relief_load(9500.0, 13.16, 1426.4, 310.6e3, 0.084142, 2470.0,
    ...                    TwoPhase(4.5e5, 722.0, omega=15.0), temperature_rise=10.2)
    >>> round(load.mass_flow / 3043.2, 3)
    0.084
    """
    given = dict(batch_mass=batch_mass, reactor_volume=reactor_volume, reaction_heat=reaction_heat,
                 latent_heat=latent_heat, specific_volume_change=specific_volume_change,
                 liquid_heat_capacity=liquid_heat_capacity)  # fmt: skip
    m, V, q, h, v, c = positive(**given)
    _check_contents(m, V, stream)
    dT = not_negative(temperature_rise=temperature_rise)
    flow = result(m * q / (np.sqrt(V * h / (m * v)) + np.sqrt(c * dT)) ** 2)
    line = step("mass_flow", flow, "m_0*q_r/(sqrt(V_r*h_v/(m_0*v_vl0)) + sqrt(c_p*dT_rise))**2",
                SOURCE, temperature_rise=temperature_rise, **given)  # fmt: skip
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]))


def calorimetry_load(batch_mass, reactor_volume, fluid, liquid_heat_capacity, adiabatic_rise,
                     test_temperatures, test_rates, set_pressure, relieving_pressure,
                     start_temperature=None):  # fmt: skip
    """Load of a tempered batch straight from its calorimetry: two phases, adiabatic.

    Parameters: batch_mass [kg]; reactor_volume [m3]; fluid that boils and tempers, pure;
    liquid_heat_capacity [J/(kg K)]; adiabatic_rise [K], test_temperatures [K] and test_rates [K/s]
    of one adiabatic run, corrected to the batch alone; set_pressure of the device and
    relieving_pressure allowed [Pa absolute], held to 1.3 times the set one, well within Leung's
    equation; start_temperature of the batch [K], where the run began unless given. Returns
    `ReliefLoad`. Raises InputError as `fit_arrhenius` and `relief_load`. Validity: as
    `relief_load`; the reaction is first order. Source: as `relief_load`.
    >>> T, r = [353.15, 393.15, 433.15], [0.0009, 0.01683, 0.1817]
    >>> load = calorimetry_load(8000.0, 15.7, "n-Hexane", 2800.0, 170.0, T, r, 5.01e5, 7.6e5)
    >>> load.stream.phase, round(load.stream.pressure)
    ('two-phase', 501000)
    """
    given = dict(batch_mass=batch_mass, reactor_volume=reactor_volume, set_pressure=set_pressure,
                 liquid_heat_capacity=liquid_heat_capacity, adiabatic_rise=adiabatic_rise,
                 relieving_pressure=relieving_pressure)  # fmt: skip
    m, V, P, c, rise, top = (float(one_number(**{k: positive(**{k: v})})) for k, v in given.items())
    began = test_temperatures[0] if start_temperature is None else start_temperature
    frequency, activation = fit_arrhenius(test_temperatures, test_rates, rise, test_temperatures[0])
    refuse(top < P, "relieving_pressure", top, "is below the set pressure")
    liquid, vapor = State(fluid, P, quality=0.0), State(fluid, P, quality=1.0)
    hot = State(fluid, min(top, HIGHEST_OVER_SET * P), quality=0.0).temperature
    rates = [
        (rise + began - T) * frequency * np.exp(-activation / T) for T in (liquid.temperature, hot)
    ]
    gap = vapor.specific_volume - liquid.specific_volume
    stream = TwoPhase.from_properties(
        P, V / m, temperature=liquid.temperature,
        quality=(V / m - liquid.specific_volume) / gap,
        vapor_specific_volume=vapor.specific_volume, specific_volume_change=gap,
        latent_heat=vapor.latent_heat, liquid_heat_capacity=c,
    )  # fmt: skip
    heat = reaction_heat(c, *rates)
    return relief_load(m, V, heat, vapor.latent_heat, gap, c, stream, hot - liquid.temperature)


def vapor_load(batch_mass, reaction_heat, latent_heat, stream, working=()):
    """Load of a tempered runaway that vents vapour alone: all heat boils liquid.

    Parameters: batch_mass [kg]; reaction_heat at set pressure [W/kg]; latent_heat [J/kg]; stream,
    the vapour; working. Arrays broadcast. Returns `ReliefLoad`. Raises InputError for a value not
    above 0. Validity: no swell up to the vent, which must be shown (level low, no foam).
    Source: heat balance; HSE CRR 136/1998.
    >>> from relieflib.nozzle.gas import Gas
    >>> round(vapor_load(9500.0, 1426.4, 310.6e3, Gas(4.5e5, 482.5, molar_mass=104.15,
    ...                                               k=1.06)).mass_flow, 2)
    43.63
    """
    given = dict(batch_mass=batch_mass, reaction_heat=reaction_heat, latent_heat=latent_heat)
    m, q, h = positive(**given)
    line = step("mass_flow", result(m * q / h), "m_0*q_r/h_v", HYBRID_SOURCE, **given)
    return ReliefLoad(CAUSE, result(m * q / h), stream, working=Working([*working, line]))


def gas_volume_flow(batch_mass, test_mass, test_volume, pressure_rate, test_temperature, pressure,
                    temperature):  # fmt: skip
    """Peak volume flow of permanent gas at relieving conditions, from a closed calorimeter.

    Parameters: batch_mass and test_mass [kg]; test_volume of gas in the calorimeter [m3], its
    temperature test_temperature [K] and peak pressure_rate [Pa/s]; pressure [Pa] and temperature
    [K] relieving. Arrays broadcast. Returns m3/s. Raises InputError for a value not above 0.
    Validity: ideal gas, vapour pressure steady at the peak. Source: HSE CRR 136/1998.
    >>> round(gas_volume_flow(5000.0, 0.05, 3e-3, 2e3, 300.0, 5e5, 450.0), 2)
    1.8
    """
    m, m_t, V, r, T_t, P, T = positive(
        batch_mass=batch_mass, test_mass=test_mass, test_volume=test_volume,
        pressure_rate=pressure_rate, test_temperature=test_temperature, pressure=pressure,
        temperature=temperature,
    )  # fmt: skip
    return result(m / m_t * V * r / P * T / T_t)


def hybrid_load(batch_mass, reactor_volume, gas_volume_flow, reaction_heat, latent_heat,
                vapor_specific_volume, stream, working=()):  # fmt: skip
    """Load of a hybrid runaway that vents two phases: gas and vapour push the contents out.

    Parameters: batch_mass [kg], reactor_volume [m3]; gas_volume_flow, peak [m3/s]; reaction_heat
    at the peak [W/kg]; latent_heat [J/kg]; vapor_specific_volume [m3/kg]; stream; working. Arrays
    broadcast. Returns `ReliefLoad`. Raises InputError for a value not above 0 or a batch that does
    not fit. Validity: whole batch still in the vessel at the peak, homogeneous: on the safe side;
    so is the flux of a stream that flashes as if no gas kept part of the pressure.
    Source: HSE CRR 136/1998: (m0/V) (q_gas + m0 q v/h).
    >>> from relieflib.nozzle.two_phase import TwoPhase
    >>> stream = TwoPhase(4.5e5, 500.0, omega=15.0)
    >>> round(hybrid_load(5000.0, 10.0, 1.8, 500.0, 3e5, 0.09, stream).mass_flow)
    1275
    """
    given = dict(batch_mass=batch_mass, reactor_volume=reactor_volume,
                 gas_volume_flow=gas_volume_flow, reaction_heat=reaction_heat,
                 latent_heat=latent_heat, vapor_specific_volume=vapor_specific_volume)  # fmt: skip
    m, V, q_gas, q, h, v = positive(**given)
    _check_contents(m, V, stream)
    flow = result(m / V * (q_gas + m * q * v / h))
    line = step("mass_flow", flow, "m_0/V_r*(q_gas + m_0*q_r*v_v0/h_v)", HYBRID_SOURCE, **given)
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]))


def gassy_stream(batch_mass, reactor_volume, pressure, liquid_density, k):
    """Contents of a reactor that makes permanent gas: liquid that does not flash, with gas.

    Parameters: batch_mass [kg]; reactor_volume [m3]; pressure, relieving [Pa]; liquid_density
    [kg/m3]; k of the gas [-]. Arrays broadcast. Returns `TwoPhase`, non-flashing. Raises
    InputError for a batch that fills the reactor with liquid. Validity: homogeneous; vapour
    pressure of the liquid small against the pressure; mass of the gas left out.
    Source: void fraction 1 - m/(V rho_l); flux as `TwoPhase.non_flashing`.
    >>> round(gassy_stream(5000.0, 10.0, 4.5e5, 750.0, 1.3).omega, 4)
    0.2564
    """
    m, V, rho = positive(batch_mass=batch_mass, reactor_volume=reactor_volume,
                         liquid_density=liquid_density)  # fmt: skip
    void = 1.0 - m / (V * rho)
    refuse(void <= 0, "batch_mass", m, "fills the reactor with liquid: no room for gas")
    return TwoPhase.non_flashing(pressure, result(m / V), result(void), k)


def gassy_load(batch_mass, reactor_volume, gas_volume_flow, stream, working=()):
    """Load of a gassy runaway that vents two phases, at the peak rate of gas.

    Parameters: batch_mass [kg], reactor_volume [m3]; gas_volume_flow, peak [m3/s]; stream, gas
    with liquid that does not flash, as `gassy_stream`; working. Arrays broadcast. Returns
    `ReliefLoad`. Raises InputError for a value not above 0 or a batch that does not fit. Validity:
    whole batch still in the vessel at the peak, homogeneous: on the safe side; a liquid whose
    vapour pressure is small at the peak, else `hybrid_load`.
    Source: HSE CRR 136/1998: (m0/V) q_gas.
    >>> gassy_load(5000.0, 10.0, 1.8, gassy_stream(5000.0, 10.0, 4.5e5, 750.0, 1.3)).mass_flow
    900.0
    """
    given = dict(batch_mass=batch_mass, reactor_volume=reactor_volume,
                 gas_volume_flow=gas_volume_flow)  # fmt: skip
    m, V, q_gas = positive(**given)
    _check_contents(m, V, stream)
    line = step("mass_flow", result(m / V * q_gas), "m_0/V_r*q_gas", HYBRID_SOURCE, **given)
    return ReliefLoad(CAUSE, result(m / V * q_gas), stream, working=Working([*working, line]))


def fit_arrhenius(test_temperatures, test_rates, adiabatic_rise, start_temperature,
                  reaction_order=1.0, phi_factor=1.0):  # fmt: skip
    """Rate constant of an adiabatic run: frequency factor and activation temperature.

    Parameters: test_temperatures [K] and test_rates [K/s], arrays of one run; adiabatic_rise of
    the batch [K]; start_temperature of the run [K]; reaction_order [-]; phi_factor of the test
    [-]. Returns (frequency [1/s], activation temperature E/R [K]), NaN where a value is. Raises
    InputError for a phi factor below 1, fewer than two points, not one rate a temperature, equal
    temperatures alone, one at or above the end of the run, or a rate constant that falls with
    temperature. Validity: one reaction, k (1 - X)^n, X in proportion to the rise. Source:
    Arrhenius's law, least squares of ln k on 1/T.
    >>> B, E = fit_arrhenius([353.15, 433.15], [0.0009, 0.1817], 170.0, 353.15)
    >>> round(E)
    11365
    """
    T, r = positive(test_temperatures=test_temperatures, test_rates=test_rates)
    rise, T0, n, phi = positive(adiabatic_rise=adiabatic_rise, start_temperature=start_temperature,
                                reaction_order=reaction_order, phi_factor=phi_factor)  # fmt: skip
    if any(np.ndim(one) for one in (rise, T0, n, phi)):
        raise InputError("one run has one adiabatic_rise, start_temperature, reaction_order and "
                         "phi_factor: give numbers")  # fmt: skip
    refuse(phi < 1.0, "phi_factor", phi, "can't be below 1")
    refuse(np.size(T) < 2, "test_temperatures", T, "give two points at least")
    if np.shape(T) != np.shape(r) or np.ndim(T) != 1:
        raise InputError(f"test_rates: {np.size(r)} for {np.size(T)} test_temperatures; give pairs")
    if np.isnan(np.sum(T) + np.sum(r) + rise + T0 + n + phi):
        return np.nan, np.nan
    refuse(np.ptp(T) == 0, "test_temperatures", T, "are all one: no slope to be found")
    left = 1.0 - (T - T0) * phi / rise
    refuse((left <= 0) | (left > 1 + 1e-9), "test_temperatures", T,
           "must lie between start and end of the run")  # fmt: skip
    inverse, ln_k = 1.0 / T, np.log(r * phi / rise / left**n)
    slope, ln_B = np.polyfit(inverse, ln_k, 1)  # guard: a straight line
    if slope >= 0:
        raise InputError("test_rates: the rate constant must grow with temperature")
    return float(np.exp(ln_B)), float(-slope)
