"""Common slips, and the finder that recognises one by the number it leads to.

How the finder ranks: a slip fits at all when the number it leads to is within `tolerance` of the
stated one. Those within the stated number's rounding come first; in each of the two classes the
commoner slip comes before the rarer one, then the nearer one. Two slips at once are tried only
when no single one fits, and only slips that happen often. How common a slip is (often, sometimes,
seldom), and in which phases it makes sense, stands in `tables/slips.csv`: common practice, no
source.
"""

import itertools
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from relieflib.slips.catalogue import CATALOGUE, COMMON, SHIFTS, Slip, _atmosphere, _replace
from relieflib.symbols import SYMBOLS
from relieflib.units import FACTORS

__all__ = [
    "CATALOGUE", "COMMON", "Outcomes", "Slip", "answer_slips", "explain", "find_slips", "matches",
    "outcomes", "unit_slips", "used_instead",
]  # fmt: skip

NEAR = 0.005  # share within which a slip must lead to the stated number
ROUNDED = 5e-4  # share: half of the fourth figure, the least rounding of a calculation by hand
PAIR_SHARE = 0.2  # of the tolerance, for two slips at once
PAIR_GUESS = 0.15  # guard: share within which two slips' product lies, to be worked out at all


def used_instead(name, value, words, common="often"):
    """A slip for one question or sheet: a known wrong value of an input, such as a real fluid's k.

    Parameters: name of the input; value in SI; words; common, one of `COMMON`. Returns `Slip`.
    >>> used_instead("k", 1.6, "cp/cv of the real fluid was used").change({"k": 1.2})
    {'k': 1.6}
    """
    return Slip(f"{name} {value:g}", words, _replace(name, lambda *_: value), common=common)


def unit_slips(name, unit=None):
    """Slips of the answer's unit: the right number, stated in another unit of its kind.

    Parameters: name of the answer in the table of symbols; unit in which it was stated, SI when
    left out. Returns a list of `Slip`.
    >>> [s.key for s in unit_slips("required_area")][:2]
    ['in mm2', 'in cm2']
    >>> [round(s.scale, 4) for s in unit_slips("required_area", "in2") if s.key == "in cm2"]
    [6.4516]
    """
    kind = SYMBOLS[name].kind if name in SYMBOLS else "dimensionless"
    units = FACTORS.get("pressure difference" if "pressure" in kind else kind, {})
    plain = unit[:-1] if unit and kind in ("pressure", "gauge pressure") else unit
    stated = units.get(plain, 1.0)
    return [
        Slip(f"in {other}", f"the number is in {other}", scale=stated / factor, common="often")
        for other, factor in units.items()
        if factor != stated
    ]


def answer_slips(name, unit=None):
    """Slips of the answer itself: its unit, and an atmosphere too many or too few.

    Parameters as `unit_slips`. Returns a list of `Slip`.
    >>> [s.key for s in answer_slips("set_pressure_gauge") if s.shift]
    ['absolute stated']
    """
    kind = SYMBOLS[name].kind if name in SYMBOLS else ""
    return [*unit_slips(name, unit), *SHIFTS.get(kind, ())]


@dataclass(frozen=True)
class Outcomes:
    """The right number and what each slip makes of it; see `outcomes`."""

    right: float
    singles: tuple  # (slip, number)
    under: Callable  # the number of a group of slips, None where it can't happen


def outcomes(compute, inputs, slips=CATALOGUE):
    """The number that each slip leads to, where it can happen and makes sense for the phase.

    Parameters: compute(**inputs), the right way to the number, SI; inputs, dict by names of the
    table of symbols; slips. Returns `Outcomes`. A slip of the result is left out where another
    one leads to the same number. Raises InputError when the right number can't be computed.
    >>> ways = outcomes(lambda Z: 2.0 * Z, {"Z": 0.9})
    >>> ways.singles[0][0].key, ways.singles[0][1]
    ('Z left out', 2.0)
    """
    right, phase, found = _quietly(compute, inputs), _phase(inputs), []
    for slip in sorted(slips, key=lambda s: (s.change is None) + s.key.startswith("power")):
        if phase and phase not in slip.phases:
            continue
        value = _under(compute, inputs, right, (slip,))
        same = slip.change is None and any(_near(value, v, 1e-9) for _, v in found)
        if value is not None and not same:
            found.append((slip, value))
    return Outcomes(right, tuple(found), lambda group: _under(compute, inputs, right, group))


def find_slips(stated, compute, inputs, slips=CATALOGUE, tolerance=NEAR, name=None, unit=None,
               rounding=ROUNDED):  # fmt: skip
    """Slips that lead to a stated number, the likeliest first; pairs only when no single one does.

    Parameters: stated [SI], the number to explain; compute, inputs, slips as `outcomes`;
    tolerance, relative; name of the answer in the table, for slips of its unit, and the unit it
    was stated in; rounding, half of its last digit, relative. Returns a list of tuples of `Slip`:
    empty where the stated number is right, or where nothing in the catalogue explains it; see
    this module's head for the order. Raises InputError when the right number can't be computed.
    >>> area = lambda mass_flow, Kd: mass_flow / (Kd * 2000.0)
    >>> found = find_slips(0.002, area, {"mass_flow": 4.0, "Kd": 0.975})
    >>> found[0][0].words
    'the coefficient of discharge was left out'
    """
    ways = outcomes(compute, inputs, (*slips, *(answer_slips(name, unit) if name else ())))
    return matches(stated, ways, tolerance, rounding)


def matches(stated, ways, tolerance=NEAR, rounding=ROUNDED):
    """The slips among `Outcomes` that lead to a stated number; what `find_slips` gives.

    Parameters: stated [SI]; ways, `Outcomes`; tolerance and rounding, relative. Returns a list of
    tuples of `Slip`.
    """
    wide = max(tolerance, rounding)
    if not np.isfinite(stated) or _near(stated, ways.right, wide):
        return []
    moved = [(s, v) for s, v in ways.singles if not _near(v, ways.right, 2 * wide)]
    singles = [((slip,), value) for slip, value in moved]
    return _ranked(stated, singles, wide, max(rounding, ROUNDED)) or _pairs(
        stated, ways, moved, tolerance * PAIR_SHARE, rounding
    )


def _ranked(stated, ways, wide, exact):
    found = []
    for group, value in ways:
        if value is None or not _near(value, stated, wide):
            continue
        far = not _near(value, stated, exact)
        rank = sum(COMMON.index(slip.common) for slip in group)
        found.append((far, rank, abs(value - stated), len(found), group))
    return [group for *_, group in sorted(found, key=lambda f: f[:4])]


def _pairs(stated, ways, moved, near, rounding):
    """Two slips at once, both common; near hits of a closely stated number only."""
    if rounding > near:  # a hundred pairs lie close together: a coarse number says nothing
        return []
    found = []
    for (a, x), (b, y) in itertools.combinations(moved, 2):
        if a.common == b.common == "often" and (a.change or b.change) and _near(
            x * y, stated * ways.right, PAIR_GUESS
        ):  # fmt: skip
            found.append(((a, b), ways.under((a, b))))
    return _ranked(stated, found, near, near)


def _near(a, b, tolerance):
    if a is None or b is None:
        return False
    return abs(a - b) <= tolerance * max(abs(a), abs(b), 1e-300)


_MARKS = {"g": ("molar_mass",), "s": ("KSH", "KN", "quality"), "l": ("density", "Kw", "Kv")}


def _phase(inputs):
    """Letter of the phase that the inputs speak of, '' where they speak of none or of several."""
    found = [p for p, names in _MARKS.items() if any(inputs.get(n) is not None for n in names)]
    return found[0] if len(found) == 1 else ""


def _quietly(compute, inputs):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a slip may well lead out of an equation's validity
        return float(compute(**inputs))


def _under(compute, inputs, right, group):
    """The number that a group of slips leads to, or None where one of them can't happen."""
    scale, shift, changed = 1.0, 0.0, inputs
    for slip in group:
        if slip.change is None:
            scale, shift = scale * (slip.scale or 1.0), shift + slip.shift
            continue
        changed = slip.change(changed)
        if changed is None:
            return None
    try:
        value = right if changed is inputs else _quietly(compute, changed)
    except (ValueError, ArithmeticError, TypeError):  # InputError, a root of less than nothing
        return None
    value = scale * (value + shift * _atmosphere(inputs))
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
    more = "" if len(found) <= 3 else f" ({len(found) - 3} more fit)"
    if len(found[0]) > 1:
        ways = "; or ".join(ways)
        return f"No single common slip leads to this number; two slips together may: {ways}{more}."
    if len(ways) == 1:
        return f"It is what comes out if {ways[0]}."
    return f"Several slips lead to this number: {'; or '.join(ways)}{more}."
