"""Water into hot oil, or light hydrocarbon into hot liquid: it boils at once.

Why a valve is often no answer (API 521 (2020), 4.4.6; 5th edition 5.9): one volume of water gives
some 1400 (by that text) to 1700 volumes of steam at atmospheric pressure within moments, the
amount is not known, and the pressure may rise faster than a valve opens (`time_to_limit`). No
relief device is then normally provided; the entry is prevented by design: no water connection, or
double block and bleed; no pockets where water can collect; drains and steam traps; lines kept hot;
draining and slow heating at start-up. Where the inflow is limited, as by a leaking tube, the load
can be worked out, which is what this module does.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from relieflib import exchanger
from relieflib.causes import abnormal_heat_input
from relieflib.causes.shared.carried_vapor import CarriedVapor
from relieflib.errors import InputError, not_negative, one_number, positive, refuse, result
from relieflib.nozzle.gas import Gas
from relieflib.properties import (
    State,
    critical_pressure,
    engine_of,
    saturation_pressure,
    saturation_temperature,
)
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 21
PUBLISHED = {"volatile ingress": ("4.4.6", "5.9")}

SOURCE = "API 521 (2020), 4.4.6"
# fluids of CoolProp that dissolve in water, or take it up; common knowledge, no source
_TAKE_WATER = ("Ammonia", "Methanol", "Ethanol", "Acetone", "DimethylEther", "EthyleneOxide",
               "SulfurDioxide", "HydrogenChloride", "Water", "HeavyWater")  # fmt: skip
_ABOVE, _BELOW = 0.05, 1e-3  # K that a search keeps from the pair's boiling point, the host's


def volume_ratio(liquid_density, vapor_density):
    """Volume of vapour made from one volume of liquid.

    Parameters: liquid_density as it comes in, vapor_density at the host's pressure [kg/m3]; arrays
    broadcast. Returns float or array [-]. Raises InputError if one is not above 0 or the vapour is
    denser. Source: densities; API 521 (2020), 4.4.6 speaks of about 1400 for water at 1 atm.
    >>> round(volume_ratio(997.05, 0.59766))
    1668
    """
    rho_l, rho_v = positive(liquid_density=liquid_density, vapor_density=vapor_density)
    refuse(rho_v > rho_l, "vapor_density", rho_v, "is above that of the liquid")
    return result(rho_l / rho_v)


def boils(relieving_pressure, saturation_pressure, host_saturation_pressure=0.0):
    """True where the liquid that comes in boils in the hot host.

    Parameters: relieving_pressure of the host; saturation_pressure of the liquid at the host's
    temperature; host_saturation_pressure of the host itself, for liquids that do not mix, such as
    water and oil, whose vapour pressures add; 0 for liquids that mix [Pa absolute]; arrays
    broadcast. Returns bool or array; NaN gives True. Raises InputError if a pressure is not above
    0. Validity: two liquids that do not dissolve in each other. Source: Dalton's law.
    >>> boils(20e5, 12.6e5), boils(20e5, 12.6e5, 15.3e5)
    (False, True)
    """
    P, Ps = positive(relieving_pressure=relieving_pressure, saturation_pressure=saturation_pressure)
    return result(~(Ps + not_negative(host_saturation_pressure=host_saturation_pressure) <= P))


def heat_need(liquid_heat_capacity, feed_temperature, boiling_temperature, latent_heat):
    """Heat that warms one kilogram of the liquid to its boiling point and boils it.

    Parameters: liquid_heat_capacity [J/(kg K)]; feed_temperature, boiling_temperature at the
    host's pressure [K]; latent_heat there [J/kg]; arrays broadcast. Returns J/kg. Raises
    InputError if one is not above 0 or the feed is above its boiling point. Validity: no
    superheat of the vapour. Source: heat balance.
    >>> heat_need(4190.0, 313.15, 473.15, 1.94e6)
    2610400.0
    """
    c, T_f, T_b, h_v = positive(
        liquid_heat_capacity=liquid_heat_capacity, feed_temperature=feed_temperature,
        boiling_temperature=boiling_temperature, latent_heat=latent_heat,
    )  # fmt: skip
    refuse(
        T_f > T_b, "feed_temperature", T_f, "is above the boiling point: it flashes as it enters"
    )
    return result(c * (T_b - T_f) + h_v)


def relief_load(inflow, stream, specific_heat_need, heat_rate=None, working=()):
    """Load of a vessel into which a volatile liquid comes at a known rate.

    Parameters: inflow of the liquid [kg/s]; stream, its vapour at relieving pressure;
    specific_heat_need [J/kg] from `heat_need`; heat_rate that the host can give [W], None where
    it can boil all that comes in; working, steps that led to the inflow. Arrays broadcast. Returns
    `ReliefLoad`: what boils, limited by inflow or by heat. Raises InputError for a negative flow
    or a heat need not above 0. Validity: contact as good as the heat rate says; where host
    vapour is carried along, `pair_load`. Source: API 521 (2020), 4.4.6; heat balance.
    >>> from relieflib.nozzle.gas import Gas
    >>> relief_load(0.1, Gas(20e5, 485.0, molar_mass=18.015, k=1.3), 2.6e6,
    ...             heat_rate=1.3e5).mass_flow
    0.05
    """
    W, need = not_negative(inflow=inflow), positive(specific_heat_need=specific_heat_need)
    wanted = result(W * need)
    steps = [step("heat_capacity_rate", wanted, "W_in*h_need", "boils all that comes in",
                  inflow=inflow, specific_heat_need=specific_heat_need)]  # fmt: skip
    if heat_rate is None:
        flow = result(W)
        last = step("mass_flow", flow, "W_in", SOURCE + ": all boils", inflow=inflow)
    else:
        flow = result(np.minimum(W, not_negative(heat_rate=heat_rate) / need))
        last = step("mass_flow", flow, "min(W_in, Q/h_need)", SOURCE, inflow=inflow,
                    heat_rate=heat_rate, specific_heat_need=specific_heat_need)  # fmt: skip
    return ReliefLoad("volatile_ingress", flow, stream, working=Working([*working, *steps, last]))


@dataclass(frozen=True)
class BoilingPair:
    """Two liquids that do not mix and boil together, as steam distillation has it.

    fluid, what comes in, and host; temperature [K]; carried, host vapour with each kilogram of that
    of the fluid [kg/kg]; latent_heat and host_latent_heat there [J/kg]; stream, both vapours as one
    `Gas` at relieving pressure, k and Z the mole averages of both at their own pressures.
    """

    fluid: str
    host: str
    temperature: float
    carried: float
    latent_heat: float
    host_latent_heat: float
    stream: Gas


def boiling_pair(fluid, host, pressure):
    """Where a volatile liquid and a host that do not mix boil together, and into which vapour.

    Parameters: fluid, host, names that CoolProp knows; pressure while relieving [Pa], one number.
    Returns `BoilingPair`: boils below either alone. Raises InputError for an unknown fluid; for two
    that mix, of which neither is water or one takes it up; for a pressure not above 0, or above 99
    % of the lower critical one.
    Validity: two liquids, ideal mixing of their vapours. Source: Dalton's law; CoolProp.
    >>> pair = boiling_pair("Water", "n-Hexane", 101325.0)
    >>> round(pair.temperature - 273.15, 1), round(pair.stream.molar_mass, 1)
    (61.4, 71.9)
    """
    one_number(pressure=pressure)
    P = positive(pressure=pressure)
    pair = fluid, host
    _refuse_if_they_mix(*pair)
    most = 0.99 * min(critical_pressure(f) for f in pair)  # guard: short of the critical point
    refuse(P > most, "pressure", P, "is above what the lighter of both can boil at")
    # with half of the pressure each, together at most all of it; with all of it one, more
    parts = 0.5 * float(P), float(P)  # guard: brackets
    low, high = (min(saturation_temperature(f, p) for f in pair) for p in parts)
    T = brentq(lambda T: sum(saturation_pressure(f, T) for f in pair) - float(P), low, high,
               xtol=1e-9)  # fmt: skip
    own, other = (State(f, saturation_pressure(f, T), quality=1.0) for f in pair)
    y = own.pressure / float(P)

    def mean(name):
        return y * getattr(own, name) + (1.0 - y) * getattr(other, name)

    carried = (1.0 - y) / y * other.molar_mass / own.molar_mass
    vapor = Gas(result(P), T, molar_mass=mean("molar_mass"), k=mean("k"), Z=mean("Z"))
    return BoilingPair(fluid, host, T, carried, own.latent_heat, other.latent_heat, vapor)


def _refuse_if_they_mix(fluid, host):
    names = [engine_of(f).state.fluid_names()[0] for f in (fluid, host)]
    other = [name for name in names if name != "Water"]
    if len(other) != 1 or other[0] in _TAKE_WATER:
        raise InputError(
            f"fluid = '{fluid}', host = '{host}': they mix, so that their vapour pressures do not "
            "add: take the vapour pressure of the mixture (causes.shared.boiling)"
        )


def pair_load(inflow, feed_temperature, pair, heat_rate=None):
    """Load of a liquid that comes into a hot host it does not mix with, the host's vapour included.

    Parameters: inflow [kg/s] and feed_temperature [K] of the liquid; pair, a `BoilingPair`;
    heat_rate that the host can give [W], None where it can boil all that comes in. Returns
    `ReliefLoad` of both vapours, as `relief_load`. Raises InputError as that and `heat_need`.
    Validity: as `boiling_pair`; the host is hot enough and there is enough of it.
    Source: API 521 (2020), 4.4.6; Dalton's law; heat balance.
    >>> load = pair_load(0.1, 313.15, boiling_pair("Water", "n-Hexane", 20e5))
    >>> round(load.mass_flow, 3)
    0.748
    """
    feed_temperature = positive(feed_temperature=feed_temperature)
    T_f, T = feed_temperature, pair.temperature
    mean = State(pair.fluid, pair.stream.pressure, temperature=0.5 * (T_f + T)).heat_capacity
    need = heat_need(mean, T_f, T, pair.latent_heat) + pair.carried * pair.host_latent_heat
    share = result(1.0 + pair.carried)
    both = result(not_negative(inflow=inflow) * share)
    line = step("inflow", both, source="what comes in, and the host vapour that boils with it: "
                f"{pair.carried:.4g} kg with each kilogram (Dalton)")  # fmt: skip
    return relief_load(both, pair.stream, result(need / share), heat_rate, [line])


def host_heat(inflow, feed_temperature, pair, coefficient, surface, hot_temperature):
    """Heat that a host takes up which is heated on while a liquid boils in it, as a `Working`.

    What comes in makes the host boil colder, and a colder host draws more heat from a condensing
    heating side: it settles where both agree, between the pair's boiling point and its own.
    Parameters: inflow [kg/s] and feed_temperature [K] of the fluid; pair, a `BoilingPair`;
    coefficient [W/(m2 K)], surface [m2] and hot_temperature of the heating side [K]; floats.
    Returns Working of two steps, boiling_temperature and heat_rate. Raises InputError for a value
    not above 0. Validity: steady, so the sensible heat of the host is spent; nothing of the fluid
    stays in it; where the heat can't boil all, the rest gathers and the pair's boiling point holds.
    Source: heat balance; Dalton's law.
    >>> pair = boiling_pair("Water", "n-Hexane", 20e5)
    >>> [round(s.value) for s in host_heat(0.1, 313.15, pair, 1000.0, 40.0, 500.0)]
    [473, 1075935]
    """
    one_number(inflow=inflow, feed_temperature=feed_temperature, coefficient=coefficient,
               surface=surface, hot_temperature=hot_temperature)  # fmt: skip
    T = _settles(float(positive(inflow=inflow)), feed_temperature, pair,
                 lambda T: exchanger.duty(coefficient, surface, hot_temperature, T))  # fmt: skip
    heat = exchanger.duty(coefficient, surface, hot_temperature, T)
    return Working([
        step("boiling_temperature", T, source="heat balance of the host, which settles there"),
        step("heat_rate", heat, "U*A_x*max(T_h - T_b, 0)", SOURCE + "; the host boils colder",
             coefficient=coefficient, surface=surface, hot_temperature=hot_temperature,
             boiling_temperature=T),
    ])  # fmt: skip


def heated_load(inflow, feed_temperature, pair, coefficient, surface, hot_temperature, latent_heat,
                stream, remaining_cooling=0.0, fouling_resistance=0.0):  # fmt: skip
    """Load of a host that is heated on while a liquid boils in it, all of it as the host's vapour.

    Parameters: inflow [kg/s] to hot_temperature [K] as `host_heat`, the coefficient [W/(m2 K)] that
    of the surface in service; latent_heat [J/kg] and stream of what all heat left over boils;
    remaining_cooling still taken out [W]; fouling_resistance in the coefficient [m2 K/W], left out
    of it: a clean surface takes more. Returns `ReliefLoad`. Raises InputError as `host_heat` and
    `abnormal_heat_input.relief_load`. Validity: the vapour of both together takes more heat for
    each kilogram, so less of it leaves than this. Source: as `host_heat`; API 521 (2020), 4.4.9.
    >>> from relieflib.nozzle.real_fluid import RealFluid
    >>> pair = boiling_pair("Water", "n-Hexane", 20e5)
    >>> load = heated_load(0.1, 313.15, pair, 1000.0, 40.0, 500.0, 230e3,
    ...                    RealFluid("n-Hexane", 20e5, quality=1.0))
    >>> round(load.mass_flow, 2)  # 1 075 935 W over 230 kJ/kg
    4.68
    """
    U = exchanger.clean_coefficient(coefficient, fouling_resistance)
    clean = step("clean_coefficient", U, "U/(1 - U*r_foul)", "clean surface: API 521 (2020), 4.4.9",
                 coefficient=coefficient, fouling_resistance=fouling_resistance)  # fmt: skip
    heat = host_heat(inflow, feed_temperature, pair, U, surface, hot_temperature)
    load = abnormal_heat_input.relief_load(
        heat[-1].value, latent_heat, stream, remaining_cooling=remaining_cooling,
        working=[clean, *heat],
    )  # fmt: skip
    return replace(load, cause="volatile_ingress")


def _settles(inflow, feed_temperature, pair, duty):
    """Temperature at which what is drawn from the heating side boils just what comes in."""
    P = pair.stream.pressure
    cold = State(pair.fluid, P, temperature=feed_temperature).enthalpy

    def spare(T):
        host = State(pair.host, saturation_pressure(pair.host, T), quality=0.0).enthalpy
        return duty(T) - inflow * CarriedVapor(pair.fluid, pair.host, P, T).heat(cold, host)

    low, high = pair.temperature + _ABOVE, saturation_temperature(pair.host, P) - _BELOW
    if spare(low) <= 0:
        return pair.temperature
    return high if spare(high) >= 0 else brentq(spare, low, high, xtol=1e-6)


def vapor_volume(inflow, liquid_density, vapor_density):
    """Volume that boiling makes each second, less that of the liquid itself.

    Parameters: inflow that boils [kg/s]; liquid_density, vapor_density [kg/m3]; arrays broadcast.
    Returns m3/s. Raises InputError as `volume_ratio`. Source: densities.
    >>> round(vapor_volume(1.0, 1000.0, 10.0), 3)
    0.099
    """
    volume_ratio(liquid_density, vapor_density)
    rho_l, rho_v = positive(liquid_density=liquid_density, vapor_density=vapor_density)
    return result(not_negative(inflow=inflow) * (1.0 / rho_v - 1.0 / rho_l))


def time_to_limit(volume, vapor_volume_flow, pressure, relieving_pressure):
    """Time in which boiling takes a closed vapour space from one pressure to another.

    Parameters: volume of the vapour space [m3]; vapor_volume_flow at relieving pressure [m3/s],
    from `vapor_volume`; pressure at the start and relieving_pressure [Pa absolute]; arrays
    broadcast. Returns s; infinite without vapour. Raises InputError if a volume or pressure is not
    above 0, or the start lies above the end. Validity: constant temperature, ideal gas, nothing
    relieved; hold it against the time a valve needs to open. Source: V (P1 - P)/P1 = q_v t.
    >>> round(time_to_limit(10.0, 2.0, 10e5, 12.5e5), 6)
    1.0
    """
    V, P, P1 = positive(volume=volume, pressure=pressure, relieving_pressure=relieving_pressure)
    refuse(P > P1, "pressure", P, "is above the relieving pressure")
    q = not_negative(vapor_volume_flow=vapor_volume_flow)
    amount = V * (1.0 - P / P1)
    with np.errstate(divide="ignore", invalid="ignore"):
        return result(np.where(q == 0.0, np.inf, amount / q))
