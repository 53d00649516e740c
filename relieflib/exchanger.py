"""Heat that an exchanger gives at relieving conditions: pinch, clean surface, limits."""

import numpy as np

from relieflib.errors import not_negative, positive, refuse, result


def duty(coefficient, surface, hot_temperature, boiling_temperature, heat_capacity_flow=None):
    """Heat flow into a liquid that boils at relieving pressure; 0 where it pinches out.

    Parameters: coefficient, overall [W/(m2 K)]; surface [m2]; hot_temperature, that of a condensing
    vapour, or at the inlet of a liquid or gas that cools down [K]; boiling_temperature at relieving
    pressure [K]; heat_capacity_flow of a hot stream that cools down [W/K], None for one that
    condenses. Arrays broadcast. Returns W; 0 where the boiling point has risen to the hot
    temperature. Raises InputError for a value not above 0. Validity: constant coefficient, liquid
    boiling over the whole surface. Source: heat balance, Q = UA dT, and 1 - exp(-NTU) of the
    inlet difference for a hot stream that cools.
    >>> duty(900.0, 43.0, 499.0, 489.0)
    387000.0
    """
    U, A, T_h, T_b = positive(
        coefficient=coefficient, surface=surface, hot_temperature=hot_temperature,
        boiling_temperature=boiling_temperature,
    )  # fmt: skip
    lead = np.where(T_h <= T_b, 0.0, T_h - T_b)
    if heat_capacity_flow is None:
        return result(U * A * lead)
    C = positive(heat_capacity_flow=heat_capacity_flow)
    return result(-C * np.expm1(-U * A / C) * lead)


def clean_coefficient(coefficient, fouling_resistance):
    """Overall coefficient of the clean surface, from the design one with fouling.

    Parameters: coefficient, the design one [W/(m2 K)]; fouling_resistance, of both sides together
    [m2 K/W]; arrays broadcast. Returns W/(m2 K). Raises InputError unless the fouling is less than
    the whole resistance. Source: resistances in series; API 521 (2020), 4.4.9, asks for the
    clean surface (from memory).
    >>> clean_coefficient(500.0, 0.0004)
    625.0
    """
    U, resistance = positive(coefficient=coefficient), not_negative(
        fouling_resistance=fouling_resistance)  # fmt: skip
    refuse(resistance * U >= 1.0, "fouling_resistance", resistance,
           "must be less than the whole resistance 1/U")  # fmt: skip
    return result(U / (1.0 - U * resistance))
