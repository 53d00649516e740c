"""The catalogue of common slips, and the finder that recognises one by the number it leads to."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from relieflib.errors import InputError
from relieflib.symbols import SYMBOLS
from relieflib.units import ATMOSPHERE, FACTORS, WATER_60F, to_si

PAIR_SHARE = 0.2  # of the tolerance, for two slips at once
AIR = 28.9647  # kg/kmol, dry air (ISO 6976)
LB = to_si(1.0, "lb", "mass")


@dataclass(frozen=True)
class Slip:
    """One way to go wrong: words for it, and what it does to the inputs or to the result.

    change(inputs) returns the inputs as the slip has them, or None where it can't happen; a slip
    of the result has `scale` instead, a factor on the stated number.
    """

    key: str
    words: str
    change: Callable | None = None
    scale: float | None = None


def _replace(name, function, *needs):
    def change(inputs):
        if any(inputs.get(key) is None for key in (name, *needs)):
            return None
        value = function(inputs[name], inputs)
        return None if value is None or value == inputs[name] else {**inputs, name: value}

    return change


def _above_zero(value):
    return value if value > 0 else None


def _atmosphere(inputs):
    return inputs.get("atmosphere", ATMOSPHERE)


def _accumulated(fraction):
    return lambda P, i: i["mawp_gauge"] * (1 + fraction) + _atmosphere(i)


_F = 9 / 5
_SLIPS = [
    ("gauge taken as absolute", "the relieving pressure was left in gauge",
     "pressure", lambda P, i: _above_zero(P - _atmosphere(i))),
    ("absolute raised again", "the atmosphere was added twice to the relieving pressure",
     "pressure", lambda P, i: P + _atmosphere(i)),
    ("set for relieving pressure", "set pressure was used, without the overpressure",
     "pressure", lambda P, i: i["set_pressure_gauge"] + _atmosphere(i), "set_pressure_gauge"),
    ("10 % accumulation", "10 % accumulation was used (one valve, no fire)",
     "pressure", _accumulated(0.10), "mawp_gauge"),
    ("16 % accumulation", "16 % accumulation was used (several valves, no fire)",
     "pressure", _accumulated(0.16), "mawp_gauge"),
    ("21 % accumulation", "21 % accumulation was used (fire)",
     "pressure", _accumulated(0.21), "mawp_gauge"),
    ("back pressure in gauge", "the back pressure was left in gauge",
     "back_pressure", lambda P, i: max(P - _atmosphere(i), 0.0)),
    ("back pressure ignored", "the back pressure was ignored: the critical equation was used",
     "back_pressure", lambda P, i: 0.0),
    ("°C not made absolute", "the temperature was left in °C",
     "temperature", lambda T, i: _above_zero(T - 273.15)),
    ("°F not made absolute", "the temperature was left in °F",
     "temperature", lambda T, i: _above_zero(T - 459.67 / _F)),
    ("°F read as °C", "a temperature in °F was read as °C",
     "temperature", lambda T, i: _above_zero(T * _F - 459.67 + 273.15)),
    ("°C read as °F", "a temperature in °C was read as °F",
     "temperature", lambda T, i: _above_zero((T - 273.15 + 459.67) / _F)),
    ("Z left out", "the compressibility factor was left out", "Z", lambda Z, i: 1.0),
    ("SG for molar mass", "specific gravity (air = 1) was used for the molar mass",
     "molar_mass", lambda M, i: M / AIR),
    ("air for the gas", "the molar mass of air was used", "molar_mass", lambda M, i: AIR),
    ("k of air", "k = 1.4 was used, the ratio of air", "k", lambda k, i: 1.4),
    ("kg/h for lb/h", "a flow in lb/h was read as kg/h", "mass_flow", lambda W, i: W / LB),
    ("lb/h for kg/h", "a flow in kg/h was read as lb/h", "mass_flow", lambda W, i: W * LB),
    ("normal for standard volume", "a standard volume (15 °C) was taken as normal (0 °C)",
     "mass_flow", lambda W, i: W * 288.15 / 273.15),
    ("standard for normal volume", "a normal volume (0 °C) was taken as standard (15 °C)",
     "mass_flow", lambda W, i: W * 273.15 / 288.15),
    ("credit left out", "the flow that still leaves was not taken off",
     "outflow", lambda W, i: 0.0),
    ("load per valve not divided", "the whole load was put on one valve",
     "mass_flow", lambda W, i: W * i["valves"], "valves"),
    ("Kd left out", "the coefficient of discharge was left out", "Kd", lambda K, i: 1.0),
    ("Kd of liquid", "the coefficient of discharge of liquid, 0.65, was used",
     "Kd", lambda K, i: 0.65),
    ("Kd of gas", "the coefficient of discharge of gas, 0.975, was used",
     "Kd", lambda K, i: 0.975),
    ("certified Kd with effective area", "a certified coefficient (0.9 Kd) met an effective area",
     "Kd", lambda K, i: 0.9 * K),
    ("Kb left out", "the back-pressure factor Kb was left out", "Kb", lambda K, i: 1.0),
    ("Kw left out", "the back-pressure factor Kw was left out", "Kw", lambda K, i: 1.0),
    ("Kc left out", "the factor of the rupture disk upstream was left out",
     "Kc", lambda K, i: 1.0),
    ("viscosity ignored", "the viscosity was ignored", "Kv", lambda K, i: 1.0),
    ("viscosity left out", "the viscosity was ignored", "viscosity", lambda mu, i: mu * 1e-6),
    ("KSH left out", "the superheat factor was left out", "KSH", lambda K, i: 1.0),
    ("KN left out", "the high-pressure factor was left out", "KN", lambda K, i: 1.0),
    ("water for the liquid", "the density of water was used",
     "density", lambda rho, i: WATER_60F),
]  # fmt: skip
_POWERS = [
    Slip(f"power of ten {n:+d}", f"the number is 10^{n} times the right one", None, 10.0**n)
    for n in (1, -1, 2, -2, 3, -3, 6, -6)
]
CATALOGUE = (
    *(Slip(key, words, _replace(name, f, *needs)) for key, words, name, f, *needs in _SLIPS),
    *_POWERS,
)


def unit_slips(name):
    """Slips of the answer's unit: the right number, stated in another unit of its kind.

    Parameters: name of the answer in the table of symbols. Returns a list of `Slip`.
    >>> [s.key for s in unit_slips("required_area")][:2]
    ['in mm2', 'in cm2']
    """
    kind = SYMBOLS[name].kind if name in SYMBOLS else "dimensionless"
    units = FACTORS.get("pressure difference" if "pressure" in kind else kind, {})
    found = []
    for unit, factor in units.items():
        if factor != 1.0:
            found.append(Slip(f"in {unit}", f"the number is right in {unit}", None, 1.0 / factor))
    return found


def find_slips(stated, compute, inputs, slips=CATALOGUE, tolerance=0.005, name=None):
    """Slips that lead to a stated number, the nearest first; pairs only when no single one does.

    Parameters: stated [SI], the number to explain; compute(**inputs), the right way to it, SI;
    inputs, dict by names of the table of symbols; slips; tolerance, relative; name of the answer
    in the table, for slips of its unit. Returns a list of tuples of `Slip`: empty where the
    stated number is right, or where nothing in the catalogue explains it.
    Raises InputError when the right number can't be computed.
    >>> area = lambda mass_flow, Kd: mass_flow / (Kd * 2000.0)
    >>> found = find_slips(0.002, area, {"mass_flow": 4.0, "Kd": 0.975})
    >>> found[0][0].words
    'the coefficient of discharge was left out'
    """
    right = float(compute(**inputs))
    if not np.isfinite(stated) or _near(stated, right, tolerance):
        return []
    candidates = [*slips, *(unit_slips(name) if name else [])]
    singles = _found(stated, right, compute, inputs, [(s,) for s in candidates], tolerance)
    if singles:
        return singles
    pairs = [p for p in itertools.combinations(candidates, 2) if any(slip.change for slip in p)]
    # a thousand pairs lie close together: only a near hit says something
    return _found(stated, right, compute, inputs, pairs, tolerance * PAIR_SHARE)


def _near(a, b, tolerance):
    return abs(a - b) <= tolerance * max(abs(a), abs(b), 1e-300)


def _found(stated, right, compute, inputs, groups, tolerance):
    found = []
    for group in groups:
        value = _under(compute, inputs, group)
        if value is None or _near(value, right, 2 * tolerance):
            continue
        if _near(value, stated, tolerance):
            found.append((abs(value / stated - 1.0) if stated else 0.0, len(found), group))
    return [group for _, _, group in sorted(found, key=lambda f: f[:2])]


def _under(compute, inputs, group):
    """The number that a group of slips leads to, or None where one of them can't happen."""
    scale, changed = 1.0, dict(inputs)
    for slip in group:
        if slip.change is None:
            scale *= slip.scale
        else:
            changed = slip.change(changed)
            if changed is None:
                return None
    try:
        value = scale * float(compute(**changed))
    except (InputError, ZeroDivisionError, OverflowError):
        return None
    return value if np.isfinite(value) else None


def explain(found):
    """A sentence on what `find_slips` found, honest about several or none.

    Parameters: found, list of tuples of `Slip`. Returns str.
    >>> explain([])
    'No common slip leads to this number.'
    """
    if not found:
        return "No common slip leads to this number."
    ways = [" and ".join(slip.words for slip in group) for group in found[:3]]
    if len(ways) == 1:
        return f"It is what comes out if {ways[0]}."
    more = "" if len(found) <= 3 else f" ({len(found) - 3} more fit)"
    return f"Several slips lead to this number: {'; or '.join(ways)}{more}."
