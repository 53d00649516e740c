"""What a standard's rounded constants make of an area: its ratio to that of the exact ones.

A sheet that was worked out by the printed equations carries their constants, and its number
differs from the exact one by up to 0.1 % before anything went wrong. The finder meets a stated
number on each of these bases.
"""

from math import sqrt

from relieflib.nozzle.steam import NAPIER
from relieflib.units import GAS_CONSTANT, WATER_60F, to_si

_LB_H, _KG_H = to_si(1.0, "lb/h", "mass flow"), to_si(1.0, "kg/h", "mass flow")
_IN2, _MM2, _FT2 = (to_si(1.0, unit, "area") for unit in ("in2", "mm2", "ft2"))
_PSI, _KPA = (to_si(1.0, unit, "pressure difference") for unit in ("psi", "kPa"))
_GPM, _L_MIN = (to_si(1.0, unit, "volume flow") for unit in ("gpm", "L/min"))
_RANKINE = to_si(1.0, "°R", "temperature difference")
_FT3_LB = to_si(1.0, "ft3/lb", "specific volume")

# the exact constant of each printed form
_GAS_US = sqrt(1.0 / (GAS_CONSTANT * _RANKINE)) * _PSI * _IN2 / _LB_H
_GAS_SI = sqrt(1.0 / GAS_CONSTANT) * _KPA * _MM2 / _KG_H
_LIQUID_US = sqrt(2.0 * _PSI / WATER_60F) * _IN2 / _GPM
_LIQUID_SI = 1.0 / (sqrt(2.0 * _KPA / WATER_60F) * _MM2 / _L_MIN)
_LIQUID_1000 = 1.0 / (sqrt(2.0 * _KPA / 1000.0) * _MM2 / _L_MIN)  # SG of 1000 kg/m3
_STEAM_SI = 1.0 / (NAPIER * _KPA * _MM2 / _KG_H)
_FLUX_US = sqrt(_PSI / _FT3_LB) / (_LB_H * 3600.0 / _FT2)
# phase -> ratio by the US form, by the SI form; constants of API 520-I (2020), 5.6 to 5.8, C.2
PRINTED = {
    "gas": (_GAS_US / 520.0, _GAS_SI / 0.03948),
    "subcritical gas": (sqrt(2.0) * _GAS_US / 735.0, 17.9 * sqrt(2.0) * _GAS_SI),
    "steam": (1.0, 190.5 / _STEAM_SI),
    "liquid": (_LIQUID_US / 38.0, 11.78 / _LIQUID_SI, 11.78 / _LIQUID_1000),
    "two-phase": (_FLUX_US / 68.09, 277.8 * _MM2 / _KG_H),
}


def bases(phase, subcritical=False):
    """Ratios of an area by the printed constants to the exact one, the exact one first.

    Parameters: phase 'gas', 'steam', 'liquid', 'two-phase' or any other; subcritical, for the
    other equation of a gas. Returns tuple. Source: `PRINTED`.
    >>> [round(ratio, 4) for ratio in bases("gas")]
    [1.0, 0.9989, 1.0]
    """
    name = f"subcritical {phase}" if subcritical and phase == "gas" else phase
    return (1.0, *PRINTED.get(name, ()))
