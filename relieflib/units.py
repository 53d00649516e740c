"""SI inside, everything else at the door.

A unit belongs to a kind of quantity. Gauge and absolute pressure are different kinds that
share units: converting between them takes the site's atmosphere. Plain `bar`, `psi`, `kPa`
are pressure differences only; for a pressure the reader must say gauge or absolute.
The units themselves stand in `kinds`.
"""

import re
from dataclasses import dataclass

from relieflib.errors import InputError, Value, finite, refuse, result, some
from relieflib.kinds import (
    ABSOLUTE,
    ATMOSPHERE,
    FACTORS,
    GAS_CONSTANT,
    GAUGE,
    GRAVITY,
    ICE_POINT,
    PRESSURES,
    SI_UNIT,
    TEMPERATURES,
    WATER_60F,
)

__all__ = ["ATMOSPHERE", "FACTORS", "GAS_CONSTANT", "GRAVITY", "ICE_POINT", "PRESSURES", "SI_UNIT",
           "WATER_60F", "Heading", "absolute", "from_si", "kinematic_to_saybolt", "mass_flow",
           "parse_heading", "saybolt_to_kinematic", "to_si", "unit_name", "units_of"]  # fmt: skip

_ALIASES = {
    "C": "°C", "degC": "°C", "F": "°F", "degF": "°F", "R": "°R", "degR": "°R", "degK": "K",
    "deg.C": "°C", "deg.F": "°F", "Celsius": "°C", "degCelsius": "°C", "Fahrenheit": "°F",
    "Kelvin": "K", "kgh": "kg/h", "kg/hr": "kg/h", "kgs/h": "kg/h", "kgs/hr": "kg/h",
    "t/hr": "t/h", "mt/h": "t/h", "mt/hr": "t/h", "lb/hr": "lb/h", "lbs/h": "lb/h",
    "lbs/hr": "lb/h", "pph": "lb/h", "l/min": "L/min", "lpm": "L/min", "lph": "L/h", "l/hr": "L/h",
    "USgpm": "gpm", "m3/hr": "m3/h", "Nm3/hr": "Nm3/h", "Sm3/hr": "Sm3/h", "sqin": "in2",
    "sq.in": "in2", "sq.in.": "in2", "sqinch": "in2", "sq.inch": "in2", "sqmm": "mm2",
    "sq.mm": "mm2", "Pas": "Pa s", "Pa.s": "Pa s", "mPas": "mPa s", "mPa.s": "mPa s",
    "centipoise": "cP", "centistokes": "cSt", "SUS": "SSU", "lb/cu.ft": "lb/ft3",
    "lb/cuft": "lb/ft3", "lbs/ft3": "lb/ft3", "kg/l": "g/cm3", "kg/dm3": "g/cm3",
    "t/m3": "g/cm3", "kgf/cm2g": "kg/cm2g", "kgf/cm2a": "kg/cm2a", "kgf/cm2": "kg/cm2",
    "lbf/in2g": "psig", "lbf/in2a": "psia", "lbf/in2": "psi", "mmwcg": "mmH2Og",
    "mmwc": "mmH2O", "inwcg": "inH2Og", "inwc": "inH2O", "percent": "%", "": "-", "none": "-",
    "barü": "barg", "bar(ü)": "barg",  # German: Überdruck
}  # fmt: skip
_TONS = "tonnes or short tons an hour: write t/h or lb/h"
# what the trade means by it is not one thing
_DOUBTFUL = dict.fromkeys(("tph", "ton/h", "tons/h", "ton/hr"), _TONS) | {
    "cfm": "actual or standard: write ft3/min or scfm",
    "ata": "technical atmospheres absolute: write kg/cm2a",
}


@dataclass(frozen=True)
class Heading:
    """A column heading: the words before the brackets and the unit inside them."""

    text: str
    unit: str


_TYPED = str.maketrans({"²": "2", "³": "3", "⁴": "4", "^": "", "·": " "})


def _squeeze(unit):
    unit = unit.strip().translate(_TYPED)
    unit = re.sub(r"\(([ag])\)$", r"\1", unit)
    unit = re.sub(r"\s+(?:(a)bs(?:olute)?|(g)auge|([ag]))$", r"\1\2\3", unit)
    return unit.replace(" ", "").replace("º", "°")


def _known():
    names = set(GAUGE) | set(ABSOLUTE) | set(TEMPERATURES) | {"SSU"}
    for units in FACTORS.values():
        names |= set(units)
    return names


_BY_EXACT = {_squeeze(name): name for name in _known()} | {
    _squeeze(a): name for a, name in _ALIASES.items()
}
_BY_LOWER = {}
for _key, _name in _BY_EXACT.items():
    _BY_LOWER.setdefault(_key.lower(), set()).add(_name)


def unit_name(text):
    """Our spelling of a unit written in any usual way.

    Parameters: text, str. Returns str. Raises InputError for an unknown or ambiguous unit.
    >>> unit_name("bar (g)"), unit_name("IN²"), unit_name("degF")
    ('barg', 'in2', '°F')
    >>> unit_name("TPH")
    Traceback (most recent call last):
    relieflib.errors.InputError: unit 'TPH' may be tonnes or short tons an hour: write t/h or lb/h
    """
    key = _squeeze(str(text))
    if key in _BY_EXACT:
        return _BY_EXACT[key]
    found = _BY_LOWER.get(key.lower(), set())
    if len(found) == 1:
        return next(iter(found))
    if found:
        raise InputError(f"unit '{text}' could be {' or '.join(sorted(found))}: mind the capitals")
    if key.lower() in _DOUBTFUL:
        raise InputError(f"unit '{text}' may be {_DOUBTFUL[key.lower()]}")
    raise InputError(f"unit '{text}' is not known")


def units_of(kind):
    """Names of the units of one kind of quantity, SI first.

    Parameters: kind, str. Returns tuple of str. Raises InputError for an unknown kind.
    >>> units_of("molar mass")
    ('kg/kmol', 'g/mol', 'lb/lbmol')
    """
    if kind == "temperature":
        return tuple(TEMPERATURES)
    if kind in ("pressure", "gauge pressure"):
        return ("Pa", *ABSOLUTE, *GAUGE)
    if kind == "kinematic viscosity":
        return (*FACTORS[kind], "SSU")
    if kind not in FACTORS:
        raise InputError(f"kind of quantity '{kind}' is not known")
    return tuple(FACTORS[kind])


def _linear(unit, kind, atmosphere):
    """Factor and offset so that SI = factor * (value + offset_in_unit) for a unit of a kind."""
    if kind == "temperature" and unit in TEMPERATURES:
        return TEMPERATURES[unit]
    if kind in ("pressure", "gauge pressure"):
        if unit == "Pa":
            return 1.0, 0.0
        if unit in GAUGE:
            return GAUGE[unit], (atmosphere / GAUGE[unit] if kind == "pressure" else 0.0)
        if unit in ABSOLUTE:
            factor = ABSOLUTE[unit]
            return factor, (-atmosphere / factor if kind == "gauge pressure" else 0.0)
        if unit in PRESSURES:
            raise InputError(f"unit '{unit}': say gauge or absolute, '{unit}g' or '{unit}a'")
    elif unit in FACTORS.get(kind, ()):
        return FACTORS[kind][unit], 0.0
    usable = ", ".join(units_of(kind))
    raise InputError(f"unit '{unit}' does not measure {kind}; usable: {usable}")


def _number(text):
    """A number written as text, as people type it, as a number; all else as it is."""
    try:
        return float(text) if isinstance(text, str) else text
    except ValueError:
        return text


def to_si(value: Value, unit: str, kind: str, atmosphere: Value = ATMOSPHERE) -> Value:
    """Value in SI of a quantity given in another unit.

    Parameters
    ----------
    value : float or array
    unit : str
        In any usual spelling.
    kind : str
        Kind of quantity, a key of `SI_UNIT`.
    atmosphere : float, Pa absolute, optional
        The site's, used only between gauge and absolute.

    Returns
    -------
    float or array, in `SI_UNIT[kind]`

    Raises
    ------
    InputError
        For an unknown unit or one of another kind, or below absolute zero.

    Notes
    -----
    Factors of NIST SP 811; Saybolt seconds by `saybolt_to_kinematic`.

    Examples
    --------
    >>> round(to_si(75, "psig", "pressure"), 0), to_si(75, "psig", "gauge pressure") // 1
    (618432.0, 517106.0)
    >>> round(to_si(75, "psig", "pressure", atmosphere=84e3), 0)
    601107.0
    """
    unit = unit_name(unit)
    if kind == "kinematic viscosity" and unit == "SSU":
        return saybolt_to_kinematic(value)
    factor, offset = _linear(unit, kind, atmosphere)
    value = finite(value=_number(value))
    si = factor * (value + offset) if offset else factor * value
    if kind in ("temperature", "pressure"):
        refuse(si < 0, kind, si, "is below absolute zero")
    return result(si)


def from_si(value: Value, unit: str, kind: str, atmosphere: Value = ATMOSPHERE) -> Value:
    """Value in a unit of a quantity held in SI: the inverse of `to_si`.

    Parameters
    ----------
    value : float or array
    unit, kind, atmosphere
        As `to_si`.

    Returns
    -------
    float or array, in the unit

    Examples
    --------
    >>> round(from_si(348.0, "°F", "temperature"), 2)
    166.73
    """
    unit = unit_name(unit)
    if kind == "kinematic viscosity" and unit == "SSU":
        return kinematic_to_saybolt(value)
    factor, offset = _linear(unit, kind, atmosphere)
    value = finite(value=value) / factor
    return result(value - offset if offset else value)


def kinematic_to_saybolt(kinematic_viscosity):
    """Saybolt Universal seconds at 100 °F of a kinematic viscosity.

    Parameters: kinematic_viscosity [m2/s], number or array, above 1.8e-6. Returns float or array
    [SSU]. Raises InputError below 1.8 cSt, where the Saybolt tube measures nothing.
    Source: ASTM D2161, equation for the Universal viscosity at 100 °F, as in the general library
    chemicals.
    >>> round(kinematic_to_saybolt(431.7e-6))
    2000
    """
    cst = finite(kinematic_viscosity=kinematic_viscosity) * 1e6
    low_end = 1.8 * (1 - 1e-9)  # 1.8e-6 times 1e6 is a hair below 1.8
    refuse(cst < low_end, "kinematic_viscosity", cst * 1e-6, "Saybolt seconds begin at 1.8e-6 m2/s")
    return result(_saybolt(cst)[0])


def _saybolt(cst):
    """Saybolt seconds of a kinematic viscosity [cSt], and how they rise with it."""
    low = (3930.2 + cst * (262.7 + cst * (23.97 + 1.646 * cst))) * 1e-5
    rise = (262.7 + cst * (2.0 * 23.97 + 3.0 * 1.646 * cst)) * 1e-5
    term = (1.0 + 0.03264 * cst) / low
    return 4.6324 * cst + term, 4.6324 + (0.03264 - term * rise) / low


def saybolt_to_kinematic(seconds):
    """Kinematic viscosity of a reading in Saybolt Universal seconds at 100 °F.

    Parameters: seconds [SSU], number or array, 32 or more. Returns float or array [m2/s].
    Raises InputError below 32 SSU. Source: ASTM D2161, solved by Newton's steps.
    >>> round(saybolt_to_kinematic(2000) * 1e6, 1)
    431.7
    """
    ssu = finite(seconds=seconds)
    refuse(ssu < 32.0, "seconds", ssu, "Saybolt seconds begin at 32")
    cst = result(ssu / 4.6324)
    for _ in range(50):  # the seconds rise ever faster with cst: each step from above stays above
        seconds, rise = _saybolt(cst)
        step = (seconds - ssu) / rise
        cst = cst - step
        if not some(abs(step) > 1e-12 * cst):  # NaN stays NaN
            break
    return result(cst * 1e-6)


def mass_flow(standard_volume_flow, molar_mass):
    """Mass flow of a gas whose standard volume flow is known as moles.

    Parameters: standard_volume_flow [kmol/s], from `to_si(..., 'standard volume flow')`;
    molar_mass [kg/kmol]; arrays broadcast. Returns kg/s. Raises InputError for infinite values.
    Source: definition of the mole.
    >>> round(mass_flow(to_si(1000, "Nm3/h", "standard volume flow"), 28.97) * 3600, 1)
    1292.5
    """
    moles, molar_mass = finite(standard_volume_flow=standard_volume_flow, molar_mass=molar_mass)
    return result(moles * molar_mass)


def absolute(pressure_gauge, atmosphere=ATMOSPHERE):
    """Absolute pressure of a gauge pressure at the site's atmosphere.

    Parameters: pressure_gauge [Pa], atmosphere [Pa]; arrays broadcast. Returns Pa.
    Raises InputError when the result is negative. Source: definition.
    >>> absolute(5e5)
    601325.0
    """
    gauge, atmosphere = finite(pressure_gauge=pressure_gauge, atmosphere=atmosphere)
    refuse(atmosphere <= 0, "atmosphere", atmosphere, "must be above 0 Pa")
    refuse(gauge + atmosphere < 0, "pressure_gauge", gauge, "is below absolute zero")
    return result(gauge + atmosphere)


def parse_heading(heading):
    """Split a column heading into its words and its unit.

    Parameters: heading, str such as 'set pressure [psig]'. Returns `Heading`; without brackets
    the unit is '-'. Raises InputError for an unknown unit.
    >>> parse_heading("Set pressure  [psig]")
    Heading(text='set pressure', unit='psig')
    """
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[([^\]]*)\])?\s*", str(heading), re.S)
    words, unit = match.group(1), match.group(2)
    return Heading(" ".join(words.split()).casefold(), unit_name(unit if unit else "-"))
