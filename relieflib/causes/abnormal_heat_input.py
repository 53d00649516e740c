"""Abnormal heat input: clean surface, fuel valve wide open, or a hotter utility.

The load is all vapour made at relieving conditions, with gas from overheating, less what normally
condenses or leaves and still does. The heat is the largest the equipment can give: the surface
clean as on its first day, the fuel valve wide open, the utility at the set pressure of its own
valves. A design duty is no limit unless something physical holds it. The boiling point at
relieving pressure may pinch the exchanger. Heat that the feed takes up in normal operation counts
only if the feed still comes at relieving pressure. Source: API 521 (2020), 4.4.9 (5th edition
5.11, read and from memory).
"""

import numpy as np

from relieflib import exchanger
from relieflib.errors import not_negative, positive, refuse, result
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 19
PUBLISHED = {"abnormal heat input": ("", "5.11")}

SOURCE = "API 521 (2020), 4.4.9"
CAUSE = "abnormal_heat_input"


def exchanger_heat(coefficient, surface, hot_temperature, boiling_temperature,
                   fouling_resistance=0.0):  # fmt: skip
    """Largest heat of an exchanger with a condensing heating side, as a `Working`.

    Parameters: coefficient, the design one, fouled [W/(m2 K)]; surface [m2]; hot_temperature,
    saturation at the utility's highest pressure, boiling_temperature at relieving pressure [K];
    fouling_resistance that the design counts on [m2 K/W]. Arrays broadcast. Returns Working, the
    heat last; 0 where it pinches out. Raises InputError as `exchanger.clean_coefficient` and
    `exchanger.duty`. Source: API 521 (2020), 4.4.9; resistances in series.
    >>> exchanger_heat(900.0, 43.0, 505.0, 490.0, 0.0001)[-1].value > 900.0 * 43.0 * 15.0
    True
    """
    clean = exchanger.clean_coefficient(coefficient, fouling_resistance)
    heat = exchanger.duty(clean, surface, hot_temperature, boiling_temperature)
    return Working([
        step("clean_coefficient", clean, "U/(1 - U*r_foul)", SOURCE + ": clean surface",
             coefficient=coefficient, fouling_resistance=fouling_resistance),
        step("heat_rate", heat, "U_cl*A_x*max(T_h - T_b, 0)", SOURCE + "; pinch",
             clean_coefficient=clean, surface=surface, hot_temperature=hot_temperature,
             boiling_temperature=boiling_temperature),
    ])  # fmt: skip


def cooling_medium_heat(coefficient, surface, hot_temperature, boiling_temperature,
                        heat_capacity_flow, fouling_resistance=0.0):  # fmt: skip
    """Largest heat of an exchanger whose heating side cools down, such as hot oil.

    Parameters: as `exchanger_heat`, with hot_temperature at the inlet [K]; heat_capacity_flow of
    the hot side with its valve wide open [W/K]. Arrays broadcast. Returns Working, the heat last.
    Raises InputError as `exchanger_heat`. Source: as `exchanger.duty`.
    >>> round(cooling_medium_heat(500.0, 40.0, 550.0, 450.0, 2e4)[-1].value)
    1264241
    """
    clean = exchanger.clean_coefficient(coefficient, fouling_resistance)
    heat = exchanger.duty(clean, surface, hot_temperature, boiling_temperature, heat_capacity_flow)
    return Working([
        step("clean_coefficient", clean, "U/(1 - U*r_foul)", SOURCE + ": clean surface",
             coefficient=coefficient, fouling_resistance=fouling_resistance),
        step("heat_rate", heat, "C_h*(1 - exp(-U_cl*A_x/C_h))*max(T_h - T_b, 0)",
             SOURCE + "; effectiveness against a boiling side",
             heat_capacity_flow=heat_capacity_flow, clean_coefficient=clean, surface=surface,
             hot_temperature=hot_temperature, boiling_temperature=boiling_temperature),
    ])  # fmt: skip


def fired_heat(fuel_flow, heating_value, efficiency, normal_absorption=0.0):
    """Heat of a heater with its fuel valve wide open that goes into vapour, as a `Working`.

    Parameters: fuel_flow through the open valve with its largest trim [kg/s]; heating_value, lower
    [J/kg]; efficiency, part that reaches the fluid [-], 1 at most; normal_absorption, heat taken up
    without boiling [W]. Arrays broadcast. Returns Working, the heat last, 0 at least. Raises
    InputError for an efficiency above 1. Validity: air enough to burn it; the burners may limit
    it. Source: API 521 (2020), 4.4.9; heat balance.
    >>> round(fired_heat(0.1, 50e6, 0.85, 1e6)[-1].value)
    3250000
    """
    W, h, eta = positive(fuel_flow=fuel_flow, heating_value=heating_value, efficiency=efficiency)
    refuse(eta > 1.0, "efficiency", eta, "must be 1 at most")
    Q = np.maximum(W * h * eta - not_negative(normal_absorption=normal_absorption), 0.0)
    return Working([step("heat_rate", result(Q), "max(W_fuel*h_fuel*eta_f - Q_abs, 0)", SOURCE,
                         fuel_flow=fuel_flow, heating_value=heating_value, efficiency=efficiency,
                         normal_absorption=normal_absorption)])  # fmt: skip


def relief_load(heat_rate, latent_heat, stream, remaining_cooling=0.0, noncondensable_flow=0.0,
                outflow=0.0, working=()):  # fmt: skip
    """Load of too much heat: vapour made, with gas of overheating, less what still leaves.

    Parameters: heat_rate, the largest at relieving conditions [W]; latent_heat there [J/kg];
    stream, the vapour; remaining_cooling, what a condenser that works still takes [W];
    noncondensable_flow [kg/s] made by overheating; outflow [kg/s] through outlets that stay open;
    working. Arrays broadcast. Returns `ReliefLoad`, no load where cooling and outflow cover it.
    Raises InputError for a negative flow. Source: API 521 (2020), 4.4.9.
    >>> from relieflib.nozzle.gas import Gas
    >>> load = relief_load(2e6, 3e5, Gas(20e5, 330.0, molar_mass=44.1, k=1.1),
    ...                    remaining_cooling=5e5,
    ...                    noncondensable_flow=0.2, outflow=1.0)
    >>> round(load.mass_flow, 3)
    4.2
    """
    given = dict(heat_rate=heat_rate, remaining_cooling=remaining_cooling,
                 noncondensable_flow=noncondensable_flow, outflow=outflow)  # fmt: skip
    Q, Q_rem, W_nc, W_out = not_negative(**given)
    h = positive(latent_heat=latent_heat)
    flow = result(np.maximum(np.maximum(Q - Q_rem, 0.0) / h + W_nc - W_out, 0.0))
    line = step("mass_flow", flow, "max(max(Q - Q_rem, 0)/h_v + W_nc - W_out, 0)", SOURCE,
                latent_heat=latent_heat, **given)  # fmt: skip
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]))
