"""The fluid that a row names, or whose composition it states, and its states: found once, kept."""

import re
import warnings
from functools import lru_cache

from relieflib.errors import InputError
from relieflib.properties import State, molar_mass, name_of_fluid, saturation_pressure

_NO_NAME = re.compile(r"(?i)\b(?:pure|gas|vapou?r|liquid|liq|vap|saturated|superheated|dry)\b")
_PHASE_WORDS = re.compile(r"(?i)(?:gas|vapou?r|liquid|steam|two[- ]phase|mixed|[vlg])")
# words of the trade that no other name of CoolProp's holds
_TRADE = {"steam": "Water", "i-butane": "IsoButane", "i-pentane": "Isopentane",
          "hydrogen sulphide": "HydrogenSulfide",
          "sulphur dioxide": "SulfurDioxide"}  # fmt: skip
_PART = re.compile(r"\s*([A-Za-z][\w ,'()-]*?)\s*[:=]?\s*\[?\s*(\d+(?:\.\d+)?|\.\d+)\s*%?\]?\s*")
_PART_FIRST = re.compile(r"\s*(\d+(?:\.\d+)?|\.\d+)\s*%?\s*([A-Za-z][\w '()-]*?)\s*")
# by volume is left open: of a gas it is by mole, of a liquid it is not
BY_MOLE, BY_MASS = r"(?i)\b(?:mol|mole|molar)\b", r"(?i)\b(?:wt|weight|mass)\b"


def fluid_of(row):
    """The fluid of a row as CoolProp writes it, and words where there is none.

    Parameters: row, `datasheet.Row`. Returns (fluid or None, words); words are '' where the row
    names none. A composition rules over a name.
    """
    name, parts = row.get("fluid"), row.get("composition")
    return (None, "") if name is None and parts is None else _fluid_of(name, parts)


@lru_cache(maxsize=4096)
def _fluid_of(name, parts):
    try:
        if parts is not None:
            return _mixture(parts), ""
        if re.search(r"\d\s*%|\[", name):
            return _mixture(name), ""
        if _PHASE_WORDS.fullmatch(name.strip()) and name.strip().casefold() != "steam":
            return None, ""
        return _pure(name), ""
    except InputError as error:
        return None, str(error)


def _pure(name):
    words = " ".join(name.split())
    bare = " ".join(_NO_NAME.sub(" ", words).split())
    for one in (words, bare):
        found = _TRADE.get(one.casefold()) or (one and name_of_fluid(one))
        if found:
            return found
    raise InputError(f"CoolProp has no fluid '{words[:60]}': its properties are not checked here")


def _mixture(text):
    """'propane 60 %, n-butane 40 % mol' as CoolProp writes it."""
    if re.fullmatch(r"[^\[\]%]+\[[\d.]+\](&[^\[\]%]+\[[\d.]+\])+", text.strip()):
        text, basis = text.replace("&", ";").strip(), "mol"
    else:
        by_mole, by_mass = (bool(re.search(b, text)) for b in (BY_MOLE, BY_MASS))
        if by_mole == by_mass:
            raise InputError("the composition does not say whether it is by mole or by mass")
        basis = "mol" if by_mole else "mass"
    plain = re.sub(r"(?i)[-–]?\s*\b(?:mol|mole|molar|wt|weight|mass)\b\.?\s*[-–]?\s*",
                   " ", text)  # fmt: skip
    plain = re.sub(r"(?i)(?<=[\d\s])%|\bfractions?\b", " ", plain)
    names, shares = [], []
    for piece in _pieces(re.sub(r"\(\s*\)", " ", plain)):
        found = _PART.fullmatch(piece) or _PART_FIRST.fullmatch(piece)
        if not found:
            raise InputError(f"the composition can't be read at '{piece.strip()[:40]}'")
        word, share = found.groups() if found.re is _PART else reversed(found.groups())
        names.append(_pure(word))
        shares.append(float(share))
    total = sum(shares)
    if min(abs(total - 100.0), abs(total - 1.0) * 100.0) > 0.6:
        raise InputError(f"the composition adds to {total:g}, neither to 1 nor to 100")
    if basis == "mass":
        shares = [w / molar_mass(n) for n, w in zip(names, shares)]
    total = sum(shares)
    pairs = [(n, x / total) for n, x in zip(names, shares) if x > 0]
    if len(pairs) == 1:
        return pairs[0][0]
    rounded = [(n, round(x, 6)) for n, x in pairs[:-1]]
    rounded.append((pairs[-1][0], round(1.0 - sum(x for _, x in rounded), 6)))
    return "&".join(f"{n}[{x:g}]" for n, x in rounded)


def _pieces(text):
    """The parts of a composition: set apart by a sign, or a number before the next name."""
    for piece in re.split(r"[;,+&\n|]", text):
        named_first = piece.strip()[:1].isalpha()
        yield from filter(str.strip, re.split(r"(?<=\d)\s+(?=[A-Za-z])", piece)
                          if named_first else [piece])  # fmt: skip


@lru_cache(maxsize=4096)
def state(fluid, pressure, temperature=None, quality=None, enthalpy=None):
    """A `State` of a fluid, or words where CoolProp finds none.

    Parameters: as `State`. Returns State or str.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return State(fluid, pressure, temperature, quality, enthalpy)
    except InputError as error:
        return str(error)


@lru_cache(maxsize=4096)
def vapour_pressure(fluid, temperature):
    """Vapour (bubble) pressure of a fluid [Pa], or words where it has none.

    Parameters: fluid; temperature [K]. Returns float or str.
    """
    try:
        return saturation_pressure(fluid, temperature)
    except InputError as error:
        return str(error)


def boiling_range(fluid, pressure):
    """Bubble and dew temperature [K] of a fluid at a pressure, or words where it does not boil.

    Parameters: fluid; pressure [Pa]. Returns (float, float) or str.
    """
    ends = [state(fluid, pressure, quality=x) for x in (0.0, 1.0)]
    words = next((one for one in ends if isinstance(one, str)), None)
    return words or tuple(one.temperature for one in ends)


def gas_state(fluid, pressure, temperature, near=0.5):
    """State of a vapour; within `near` [K] of its dew point the saturated one.

    Parameters: fluid; pressure [Pa]; temperature [K]. Returns State or str.
    """
    edge = boiling_range(fluid, pressure)
    if not isinstance(edge, str) and abs(temperature - edge[1]) <= near:
        return state(fluid, pressure, quality=1.0)
    return state(fluid, pressure, temperature)
