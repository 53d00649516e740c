"""The finder: which slips lead to a stated number, how they rank, and how sure it is."""

import inspect
import itertools
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from relieflib.slips.catalogue import CATALOGUE
from relieflib.slips.slip import COMMON, answer_slips, atmosphere_of

NEAR = 0.005  # share within which a slip must lead to the stated number
ROUNDED = 5e-4  # share: half of the fourth figure, the least rounding of a calculation by hand
SAME = 1e-6  # share within which two slips lead to one number: nothing tells them apart
APART = 3.0  # roundings within which no other slip may fit where one is said to be it
PAIR_SHARE = 0.2  # of the tolerance, for two slips at once
PAIR_GUESS = 0.15  # guard: share within which two slips' product lies, to be worked out at all
BY_CHANCE = 0.1  # expected number of pairs that fit by chance, above which none is named


@dataclass(frozen=True)
class Outcomes:
    """The right number and what each slip makes of it; see `outcomes`."""

    right: float
    singles: tuple  # (slip, number)
    under: Callable  # the number of a group of slips, None where it can't happen


class Found(list):
    """What `find_slips` gives: a list of groups of slips (tuples), the likeliest first.

    off, for each group the share by which its number misses the stated one; same, for each group
    the index of its number, equal for groups that lead to one number, which nothing here tells
    apart; rounding, half of the stated number's last digit, relative; sure, True where the first
    group alone fits within that rounding and no other within three of them.
    """

    def __init__(self, groups=(), off=(), same=(), rounding=0.0, sure=False):
        super().__init__(groups)
        self.off, self.same = tuple(off), tuple(same)
        self.rounding, self.sure = rounding, sure

    @property
    def close(self):
        """The groups that fit within the rounding of the stated number."""
        edge = self.rounding * (1 + 1e-9)
        return [group for group, off in zip(self, self.off) if off <= edge]


def outcomes(compute, inputs, slips=CATALOGUE):
    """The number that each slip leads to, where it can happen and makes sense for the phase.

    Parameters: compute(**inputs), the right way to the number, SI; inputs, dict by names of the
    table of symbols, also ones that compute does not take, for slips alone (an operating
    temperature, say); slips. Returns `Outcomes`. A slip of the result is left out where another
    one leads to the same number. Raises InputError when the right number can't be computed.
    >>> ways = outcomes(lambda Z: 2.0 * Z, {"Z": 0.9})
    >>> ways.singles[0][0].key, ways.singles[0][1]
    ('Z left out', 2.0)
    """
    compute = _taking(compute)
    right, phase, found = _quietly(compute, inputs), _phase(inputs), []
    for slip in sorted(slips, key=lambda s: s.of_result + s.key.startswith("power")):
        if phase and phase not in slip.phases:
            continue
        value = _under(compute, inputs, right, (slip,))
        same = slip.of_result and any(_near(value, v, 1e-9) for _, v in found)
        if value is not None and not same:
            found.append((slip, value))
    return Outcomes(right, tuple(found), lambda group: _under(compute, inputs, right, group))


def find_slips(stated, compute, inputs, slips=CATALOGUE, tolerance=NEAR, name=None, unit=None,
               rounding=ROUNDED, bases=(1.0,)):  # fmt: skip
    """Slips that lead to a stated number, the likeliest first; pairs only when no single one does.

    Parameters: stated [SI], the number to explain; compute, inputs, slips as `outcomes`;
    tolerance, relative; name of the answer in the table, for slips of its unit, and the unit it
    was stated in; rounding, half of its last digit, relative; bases, ratios to the exact number
    that the stated one may carry from printed constants, see `printed.bases`. Returns `Found`, a
    list of tuples of `Slip`: empty where the stated number is right, or where nothing in the
    catalogue explains it; see the package's head for the order. Raises InputError when the right
    number can't be computed.
    >>> area = lambda mass_flow, Kd: mass_flow / (Kd * 2000.0)
    >>> found = find_slips(0.002, area, {"mass_flow": 4.0, "Kd": 0.975})
    >>> found[0][0].words, found.sure
    ('the coefficient of discharge was left out', True)
    """
    ways = outcomes(compute, inputs, (*slips, *(answer_slips(name, unit) if name else ())))
    return matches(stated, ways, tolerance, rounding, bases)


def matches(stated, ways, tolerance=NEAR, rounding=ROUNDED, bases=(1.0,)):
    """The slips among `Outcomes` that lead to a stated number; what `find_slips` gives.

    Parameters: stated [SI]; ways, `Outcomes`; tolerance, rounding, bases as `find_slips`. Returns
    `Found`.
    """
    wide, miss = max(tolerance, rounding), _missing(stated, bases)
    if not np.isfinite(stated) or miss(ways.right) <= wide:
        return Found()
    moved = [(s, v) for s, v in ways.singles if not _near(v, ways.right, 2 * wide)]
    singles = [((slip,), value) for slip, value in moved]
    found = _ranked(singles, miss, wide, rounding)
    if found:
        found.sure = _alone(found, miss, [ways.right, *(v for _, v in ways.singles)])
        return found
    return _pairs(stated, ways, moved, miss, tolerance * PAIR_SHARE, rounding)


def _missing(stated, bases):
    """How far a number is from the stated one, on the nearest basis, as a share."""

    def miss(value):
        if value is None:
            return np.inf
        return min(
            abs(value * b - stated) / max(abs(value * b), abs(stated), 1e-300) for b in bases
        )

    return miss


def _ranked(ways, miss, wide, rounding):
    """Groups that fit: within the rounding, within a hand's rounding, farther; then the commoner.

    Groups that lead to one number stand together, the commoner first.
    """
    near = [(group, value, miss(value)) for group, value in ways if miss(value) <= wide]
    clusters = []
    for group, value, off in near:
        mine = next((c for c in clusters if _near(c[0][1], value, SAME)), None)
        if mine is None:
            clusters.append(mine := [])
        mine.append((group, value, off))
    for cluster in clusters:
        cluster.sort(key=lambda one: _rank(one[0]))
    zones = (rounding * (1 + 1e-9), max(rounding, ROUNDED), np.inf)

    def order(cluster):
        group, _, off = cluster[0]
        return next(n for n, zone in enumerate(zones) if off <= zone), _rank(group), off

    clusters.sort(key=order)
    flat = [(group, off, n) for n, cluster in enumerate(clusters) for group, _, off in cluster]
    groups, offs, same = zip(*flat) if flat else ((), (), ())
    return Found(groups, offs, same, rounding)


def _rank(group):
    return sum(COMMON.index(slip.common) for slip in group)


def _alone(found, miss, values):
    """True where the first group alone fits within the rounding and no other within three."""
    first = {tuple(s.words for s in group) for group, n in zip(found, found.same) if n == 0}
    if len(first) > 1 or found.off[0] > found.rounding * (1 + 1e-9):
        return False
    fit = [value for value in values if miss(value) <= APART * found.rounding]
    return all(_near(value, fit[0], SAME) for value in fit)


def _pairs(stated, ways, moved, miss, near, rounding):
    """Two slips at once, one of them common; near hits of a closely stated number only."""
    if rounding > near:  # a hundred pairs lie close together: a coarse number says nothing
        return Found()
    values = [
        ((a, b), _both(ways, (a, x), (b, y)))
        for (a, x), (b, y) in itertools.combinations(moved, 2)
        if _may_meet(a, b) and _near(x * y, stated * ways.right, PAIR_GUESS)
    ]
    singles = [value for _, value in ways.singles]
    for common in (0, 1):  # both of them common; one of them
        some = [(group, value) for group, value in values if _rank(group) <= common]
        chance = len(some) * max(rounding, near) / PAIR_GUESS
        found = _ranked(some, miss, near, rounding)
        if found and (common == 0 or chance <= BY_CHANCE):
            found.sure = _alone(found, miss, [ways.right, *singles, *(v for _, v in values)])
            return found
    return Found()


def _may_meet(a, b):
    """Two slips that may be made at once: not both of the result or both the whole way."""
    both = "often" in (a.common, b.common) and "seldom" not in (a.common, b.common)
    return both and not (a.of_result and b.of_result) and not (a.instead and b.instead)


def _both(ways, first, second):
    """The number of two slips at once; None where one of them undoes the other either way round."""
    (a, x), (b, y) = first, second
    for group in ((a, b), (b, a)):
        value = ways.under(group)
        if value is not None and not _near(value, x, SAME) and not _near(value, y, SAME):
            return value
    return None


def _near(a, b, tolerance):
    if a is None or b is None:
        return False
    return abs(a - b) <= tolerance * max(abs(a), abs(b), 1e-300)


_MARKS = {"g": ("molar_mass",), "s": ("KSH", "KN", "quality"), "l": ("density", "Kw", "Kv")}
_TWO_PHASE = ("omega", "specific_volume_90", "density_90")


def _phase(inputs):
    """Letter of the phase that the inputs speak of, '' where they speak of none or of several."""
    if any(inputs.get(n) is not None for n in _TWO_PHASE):
        return "t"
    found = [p for p, names in _MARKS.items() if any(inputs.get(n) is not None for n in names)]
    return found[0] if len(found) == 1 else ""


def _taking(function):
    """The function with what it does not take left out."""
    names = inspect.signature(function).parameters
    if any(p.kind is p.VAR_KEYWORD for p in names.values()):
        return function
    return lambda **given: function(**{n: v for n, v in given.items() if n in names})


def _quietly(compute, inputs):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a slip may well lead out of an equation's validity
        return float(compute(**inputs))


def _under(compute, inputs, right, group):
    """The number that a group of slips leads to, or None where one of them can't happen."""
    scale, shift, given, way = 1.0, 0.0, inputs, compute
    for slip in group:
        if slip.of_result:
            scale, shift = scale * (slip.scale or 1.0), shift + slip.shift
        elif slip.instead:
            way = _taking(slip.instead)
        else:
            given = slip.change(given)
            if given is None:
                return None
    try:
        value = right if given is inputs and way is compute else _quietly(way, given)
    except (ValueError, ArithmeticError, TypeError):  # InputError, a root of less than nothing
        return None
    value = scale * (value + shift * atmosphere_of(inputs))
    return value if np.isfinite(value) else None
