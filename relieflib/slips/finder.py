"""The finder: which slips lead to a stated number, how they rank, and how sure it is."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from relieflib.errors import Quiet
from relieflib.slips.catalogue import CATALOGUE
from relieflib.slips.slip import COMMON, answer_slips, atmosphere_of

NEAR = 0.005  # share within which a slip must lead to the stated number
ROUNDED = 5e-4  # share: half of the fourth figure, the least rounding of a calculation by hand
SAME = 1e-6  # share within which two slips lead to one number: nothing tells them apart
RARER = 1 / 3  # weight of what sometimes happens beside what often does, and so on
APART = 3.0  # roundings within which no other slip may fit where one is said to be it
BY_HAND = 1e-3  # share, at least: 14.7 psi, 460 °R, 38 and other factors that a hand rounds
PAIR_SHARE = 0.2  # of the tolerance, and of the chance, for two slips at once
AROUND = 0.15  # share around the stated number in which others are counted, and pairs worked out
GUESSED = 0.02  # share: how near a pair of which one is rarer must be guessed to be worked out
BY_CHANCE = 0.1  # expected number of fits by chance, above which nothing is said for sure


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
    group alone fits within that rounding, no other number within three of them, and chance would
    seldom bring one so near.
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
        if value is not None and not (slip.of_result and _among(value, found)):
            found.append((slip, value))
    return Outcomes(right, tuple(found), cache(lambda group: _under(compute, inputs, right, group)))


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
    wide, miss = max(tolerance, rounding + ROUNDED), _missing(stated, bases)
    if not np.isfinite(stated) or miss(ways.right) <= wide:
        return Found()
    values = np.array([value for _, value in ways.singles])
    off, moved = miss(values), _apart(values, ways.right, 2 * wide)
    fit = [((s,), v, o) for (s, v), o, far in zip(ways.singles, off, moved) if far and o <= wide]
    found = _ranked(fit, rounding)
    if found:
        found.sure = _alone(found, miss, np.append(values, ways.right), stated)
        return found
    singles = [single for single, far in zip(ways.singles, moved) if far]
    return _pairs(stated, ways, singles, miss, tolerance * PAIR_SHARE, rounding)


def _missing(stated, bases):
    """How far numbers are from the stated one, on the nearest basis, as a share."""
    bases = np.asarray(bases)

    def miss(values):
        on = np.multiply.outer(bases, np.asarray(values, dtype=float))
        size = np.maximum(np.maximum(np.abs(on), abs(stated)), 1e-300)  # guard: 0 over 0
        return np.min(np.abs(on - stated) / size, axis=0)

    return miss


def _apart(values, value, tolerance):
    return np.abs(values - value) > tolerance * np.maximum(np.abs(values), abs(value))


def _ranked(fit, rounding):
    """Groups that fit: within the rounding, within a hand's rounding, farther; then the commoner.

    Groups that lead to one number stand together, the commoner first. fit, (group, value, off).
    """
    clusters = []
    for group, value, off in fit:
        mine = next((c for c in clusters if _near(c[0][1], value, SAME)), None)
        if mine is None:
            clusters.append(mine := [])
        mine.append((group, value, off))
    for cluster in clusters:
        cluster.sort(key=lambda one: _rank(one[0]))
    zones = (rounding * (1 + 1e-9), rounding + ROUNDED, np.inf)

    def order(cluster):
        off = cluster[0][2]
        weight = sum(RARER ** _rank(group) for group, *_ in cluster)  # any of them may be it
        return next(n for n, zone in enumerate(zones) if off <= zone), -weight, off

    clusters.sort(key=order)
    flat = [(group, off, n) for n, cluster in enumerate(clusters) for group, _, off in cluster]
    groups, offs, same = zip(*flat) if flat else ((), (), ())
    return Found(groups, offs, same, rounding)


def _rank(group):
    return sum(COMMON.index(slip.common) for slip in group)


def _alone(found, miss, values, stated, chance=BY_CHANCE):
    """True where the first group alone fits within the rounding, no other number within three.

    And where chance would seldom bring one so near: a coarse number among many says nothing.
    """
    first = {tuple(s.words for s in group) for group, n in zip(found, found.same) if n == 0}
    if len(first) > 1 or found.off[0] > found.rounding * (1 + 1e-9):
        return False
    fit = values[miss(values) <= max(APART * found.rounding, BY_HAND)]
    if np.any(_apart(fit, fit[0], SAME)):
        return False
    around = np.sum(~_apart(values, stated, AROUND))
    return bool(_by_chance(around, found.rounding) <= chance)


def _by_chance(around, rounding):
    """Expected number of fits by chance, of numbers that lie around the stated one."""
    return around * rounding / AROUND


def _pairs(stated, ways, singles, miss, near, rounding):
    """Two slips at once, one of them common; near hits of a closely stated number only."""
    if rounding > near:  # a hundred pairs lie close together: a coarse number says nothing
        return Found()
    guessed = _guesses(stated, ways, singles)
    values = [value for _, value in ways.singles]
    for rank in (0, 1):  # both of them common; one of them
        tried = [pair for pair in guessed if _rank((pair[0][0], pair[1][0])) <= rank]
        if rank and _by_chance(len(tried), near) > BY_CHANCE:
            return Found()
        fit = [one for one in _worked_out(ways, tried, miss, rank) if one[2] <= near]
        found = _ranked(fit, rounding)
        if found:
            pairs = [value for _, value, _ in _worked_out(ways, guessed, miss, 1)]
            far = [g for a, b, g in guessed if _rank((a[0], b[0])) and miss(g) > GUESSED]
            others = np.array([ways.right, *values, *pairs, *far])
            found.sure = _alone(found, miss, others, stated, PAIR_SHARE * BY_CHANCE)
            return found
    return Found()


def _guesses(stated, ways, singles):
    """(slip and number, slip and number, the number both would lead to if each only scaled it)."""
    some = [(slip, value) for slip, value in singles if slip.common != "seldom"]
    values = np.array([value for _, value in some])
    guess = np.multiply.outer(values, values) / (ways.right or np.inf)
    around = np.triu(~_apart(guess, stated, AROUND), 1)
    return [(some[i], some[j], guess[i, j]) for i, j in zip(*np.nonzero(around))
            if _may_meet(some[i][0], some[j][0])]  # fmt: skip


def _worked_out(ways, guessed, miss, rank):
    """(slips, their number, its miss) of pairs; of one common slip only where the guess is near."""
    found = []
    for first, second, guess in guessed:
        slips = first[0], second[0]
        if rank >= _rank(slips) and (_rank(slips) == 0 or miss(guess) <= GUESSED):
            value = _both(ways, first, second)
            if value is not None:
                found.append((slips, value, float(miss(value))))
    return found


def _may_meet(a, b):
    """Two slips that may be made at once: one that happens often, not both of the same sort."""
    alike = (a.of_result and b.of_result) or (a.instead and b.instead)
    return "often" in (a.common, b.common) and not alike


def _both(ways, first, second):
    """The number of two slips at once; None where one of them undoes the other either way round."""
    (a, x), (b, y) = first, second
    for group in ((a, b), (b, a)):
        value = ways.under(group)
        if value is not None and not _near(value, x, SAME) and not _near(value, y, SAME):
            return value
    return None


def _among(value, found):
    """True where another slip leads to the same number; asked some hundred times for each row."""
    size = abs(value)
    return any(abs(value - v) <= 1e-9 * max(size, abs(v), 1e-300) for _, v in found)


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
    with Quiet():  # a slip may well lead out of an equation's validity
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
