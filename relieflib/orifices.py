"""Standard orifices: letters, areas, inlet x outlet sizes, selection and arrangement."""

import itertools
import math
import re
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache

import numpy as np

from relieflib.errors import (
    InputError,
    Value,
    finite,
    one_number,
    plausible,
    positive,
    refuse,
    result,
)
from relieflib.set_pressure import highest_set
from relieflib.tables import interpolate, numbers, rows
from relieflib.units import ICE_POINT, to_si

_HEAD, _ORIFICES = rows("orifices")
LETTERS = {row[0]: to_si(float(row[1]), "in2", "area") for row in _ORIFICES}  # letter -> m2
PAIRS = {}  # letter -> list of (inlet, outlet) in NPS, the smallest first
for _letter, _inlet, _outlet in rows("inlet_outlet")[1]:
    PAIRS.setdefault(_letter, []).append((_inlet, _outlet))
CLASSES = tuple(int(name.split()[1]) for name in _HEAD[2:])
COLDEST_CARBON_STEEL = ICE_POINT - 29.0  # K, ASME B16.5 and B31.3 without impact test
LARGEST = "T"
MOST_VALVES = 8  # guard: more stand for another way of protection
_NAMES = np.array(list(LETTERS), dtype=object)
_AREAS = np.array(list(LETTERS.values()))
# an area that is a letter's own, but for the last bit, is that letter's
_UP_TO, _CHOICE = _AREAS * (1 + 1e-9), np.append(_NAMES, None)
_ENDS, _OWN = _UP_TO.tolist(), [*LETTERS.values(), LETTERS[LARGEST]]
_SIZE = r"(\d+(?:[-\s]\d+/\d+|/\d+|\.\d+)?)"
_PATTERN = re.compile(rf"\s*{_SIZE}\s*([A-Z])\s*{_SIZE}\s*")


@dataclass(frozen=True)
class Designation:
    """Inlet size, orifice letter, outlet size: '3L4' is NPS 3 inlet, letter L, NPS 4 outlet."""

    inlet: str
    letter: str
    outlet: str

    def __str__(self):
        compact = "-" not in self.inlet + self.outlet
        return (
            f"{self.inlet}{self.letter}{self.outlet}"
            if compact
            else (f"{self.inlet} {self.letter} {self.outlet}")
        )

    @property
    def area(self):
        """Effective orifice area [m2]."""
        return LETTERS[self.letter]

    @property
    def standard(self):
        """True when the pair of sizes is one of the letter's."""
        return (self.inlet, self.outlet) in PAIRS[self.letter]


def orifice_area(letter):
    """Effective area of an orifice letter.

    Parameters: letter, str, D to T. Returns m2. Raises InputError for another letter.
    Source: API 526, table 1.
    >>> round(orifice_area("P") * 1e6, 1)
    4116.1
    """
    if letter not in LETTERS:
        raise InputError(f"letter = '{letter}': use one of {', '.join(LETTERS)}")
    return LETTERS[letter]


def select_letter(required_area: Value) -> str | np.ndarray | None:
    """Smallest orifice letter whose area is not below the required one.

    Parameters
    ----------
    required_area : float or array, m2

    Returns
    -------
    str, or object array of str
        None where T is too small (more than one valve) and where the area is NaN.

    Raises
    ------
    InputError
        For an area not above 0.

    Notes
    -----
    API 526, table 1: round up, never down.

    Examples
    --------
    >>> select_letter(3698e-6), select_letter(1.0)
    ('P', None)
    """
    return _CHOICE[_index(positive(required_area=required_area))]


def next_area(required_area):
    """Area of the smallest letter that is not below the required one; T where none is.

    Parameters: required_area [m2], number or array. Returns m2; NaN gives NaN.
    Raises InputError if an area is not above 0. Source: API 526, table 1.
    >>> round(next_area(3698e-6) * 1e6, 1)
    4116.1
    """
    area = positive(required_area=required_area)
    if isinstance(area, float):
        return _OWN[_index(area)]
    index = np.minimum(_index(area), len(_AREAS) - 1)
    return result(np.where(np.isnan(area), np.nan, _AREAS[index]))


def _index(area):
    """Which letter is the smallest that suffices; one beyond the last for none and for NaN."""
    if isinstance(area, float):  # a positive number
        return bisect_left(_ENDS, area)
    return np.searchsorted(_UP_TO, area)


def parse_designation(designation):
    """Read a designation such as '3L4', '1-1/2 G 2-1/2' or '1.5G2.5'.

    Parameters: designation, str. Returns `Designation`. Raises InputError if it does not read as
    inlet size, letter, outlet size, or the letter is unknown. A pair that is not standard for
    the letter is read all the same: ask `.standard`. Source: common practice; API 526.
    >>> parse_designation("1.5 g 2.5")
    Designation(inlet='1-1/2', letter='G', outlet='2-1/2')
    """
    match = _PATTERN.fullmatch(str(designation).upper().replace("X", " "))
    if not match:
        raise InputError(
            f"designation = '{designation}': write inlet size, orifice letter, outlet size: 3L4"
        )
    inlet, letter, outlet = match.groups()
    orifice_area(letter)
    return Designation(_size(inlet), letter, _size(outlet))


def pair_words(designation):
    """Words on a designation whose sizes are no pair of its letter, '' where they are.

    Parameters: designation, str. Returns str. Raises InputError as `parse_designation`.
    Source: API 526, pairs of sizes.
    >>> pair_words("4P6"), pair_words("6P8")
    ('', '6P8 is no pair of sizes of the letter P, which has 4P6: a letter misread?')
    """
    named = parse_designation(designation)
    if named.standard:
        return ""
    pairs = ", ".join(str(Designation(a, named.letter, b)) for a, b in PAIRS[named.letter])
    return (f"{named} is no pair of sizes of the letter {named.letter}, which has {pairs}: "
            "a letter misread?")  # fmt: skip


def _size(text):
    whole, _, part = text.strip().replace(" ", "-").partition(".")
    if not part:
        return whole
    fraction = {"25": "1/4", "5": "1/2", "50": "1/2", "75": "3/4"}.get(part)
    if fraction is None:
        raise InputError(f"size '{text}' is not a pipe size")
    return fraction if whole == "0" else f"{whole}-{fraction}"


def usual_designation(letter):
    """The smallest standard inlet x outlet pair of a letter.

    Parameters: letter, str. Returns `Designation`. Raises InputError for an unknown letter.
    Source: API 526 (pairs as tabulated in Zappe, Valve Selection Handbook, table 5-1).
    >>> str(usual_designation("P"))
    '4P6'
    """
    orifice_area(letter)
    inlet, outlet = PAIRS[letter][0]
    return Designation(inlet, letter, outlet)


def highest_set_of_class(letter, flange_class):
    """Highest set pressure of a carbon-steel valve of a letter and inlet flange class at 38 °C.

    Parameters: letter, str; flange_class 150, 300, 600, 900, 1500 or 2500. Returns Pa gauge; None
    where the standard has no such valve; NaN where it is not known here (M, N and P in class 900).
    Raises InputError for another letter or class.
    Validity: conventional valve, class 150 outlet, from memory: check with API 526 before use.
    Source: API 526 tables, from memory.
    >>> round(highest_set_of_class("L", 600) / 6894.757)
    1000
    """
    orifice_area(letter)
    if np.ndim(flange_class) or flange_class not in CLASSES:
        raise InputError(f"flange_class = {flange_class!r}: use one of {CLASSES}")
    row = next(r for r in _ORIFICES if r[0] == letter)
    cell = row[2 + CLASSES.index(flange_class)]
    return to_si(float(cell), "psig", "gauge pressure") if cell else None


def flange_ratings(flange_class, temperature):
    """Working pressure of a carbon-steel flange by both tables of the standard.

    Parameters: flange_class, 150 to 2500; temperature [K], number or array. Returns (by the metric
    table, by the US customary one) [Pa gauge]; NaN above 538 °C, 1000 °F, and below -29 °C. Raises
    InputError for another class. Source: ASME B16.5-2009, group 1.1: table 2-1.1 [bar, °C], and
    F2-1.1 [psi, °F] from memory; linear between rows. At their rows the two agree within rounding;
    between 500 and 538 °C the metric rows lie far apart and give up to 10 % more.
    >>> [round(p / 1e5, 2) for p in flange_ratings(150, 300.0)]
    [19.6, 19.65]
    """
    if np.ndim(flange_class) or flange_class not in CLASSES:
        raise InputError(f"flange_class = {flange_class!r}: use one of {CLASSES}")
    T, column = finite(temperature=temperature), 1 + CLASSES.index(flange_class)
    plausible(flange_temperature=T)
    found = []
    for name, degree, pressure in (("flange_ratings", "°C", "barg"),
                                   ("flange_ratings_us", "°F", "psig")):  # fmt: skip
        rows_at, ratings = _flange_column(name, degree, pressure, column)
        rating = interpolate(T, rows_at, ratings)
        outside = (T < COLDEST_CARBON_STEEL) | (T > rows_at[-1])
        found.append(result(np.where(outside, np.nan, rating)))
    return tuple(found)


@cache
def _flange_column(name, degree, pressure, column):
    """Temperatures [K] and ratings [Pa gauge] of one class in a table."""
    table = numbers(name)
    ratings = to_si(table[:, column], pressure, "gauge pressure")
    return to_si(table[:, 0], degree, "temperature"), ratings


def flange_rating(flange_class, temperature):
    """Working pressure of a carbon-steel flange: the larger of the standard's two tables.

    Parameters, errors and source as `flange_ratings`: each table may be used on its own (from
    memory), so a flange that either allows is rated. Returns Pa gauge; NaN above 538 °C and below
    -29 °C.
    >>> round(flange_rating(150, 300.0) / 6894.757)
    285
    """
    return result(np.fmax(*flange_ratings(flange_class, temperature)))


@dataclass(frozen=True)
class Arrangement:
    """Valves that lift together (letters), spares behind interlocked block valves, waste.

    excess: installed duty area over required area, less 1. spare: letters of spare valves.
    """

    duty: tuple
    spare: tuple
    area: float
    excess: float

    def __str__(self):
        text = " + ".join(f"{n} x {letter}" for letter, n in _counted(self.duty))
        return text + (f", spare {' + '.join(self.spare)}" if self.spare else "")


def _counted(letters):
    return [(letter, len(list(group))) for letter, group in itertools.groupby(letters)]


def arrangements(required_area, valves=None, spare=False):
    """Ways to install a required area: the letters, and the capacity that each way wastes.

    Parameters: required_area [m2], a number; valves, how many lift together, None for the fewest
    that can and one more; spare, True adds one valve of the largest duty letter. Returns a list
    of `Arrangement`, fewest valves first, then least excess: with n valves, those of one letter
    and the best mix of two. Raises InputError if the area is not above 0, needs over 8 valves,
    or more than `valves`.
    Source: API 526 areas; a spare is as large as the largest duty valve (common practice).
    >>> [str(a) for a in arrangements(38.03 * 6.4516e-4)][:2]
    ['1 x R + 1 x T', '2 x T']
    """
    area = one_number(required_area=required_area)
    positive(required_area=area)
    if valves is not None and (type(valves) is not int or not 1 <= valves <= MOST_VALVES):
        raise InputError(f"valves = {valves!r}: must be a whole number from 1 to {MOST_VALVES}")
    fewest = max(1, math.ceil(area / _AREAS[-1] - 1e-9))
    refuse(
        fewest > MOST_VALVES,
        "required_area",
        area,
        "needs more than 8 valves of the largest letter",
    )  # guard
    found = []
    for n in (fewest, fewest + 1) if valves is None else (valves,):
        found += _of_count(area, n, spare)
    if not found:
        raise InputError(f"valves = {valves}: too small for this area even with the largest letter")
    return found


def _of_count(area, n, spare):
    mixes = [(letter,) * n for letter in LETTERS]
    for small, large in itertools.combinations(LETTERS, 2):
        mixes += [(small,) * i + (large,) * (n - i) for i in range(1, n)]
    fits = []
    for letters in mixes:
        total = sum(LETTERS[letter] for letter in letters)
        if total >= area * (1 - 1e-9):
            extra = (letters[-1],) if spare else ()
            fits.append(Arrangement(letters, extra, total, total / area - 1.0))
    fits.sort(key=lambda a: a.excess)
    same = [a for a in fits if len(set(a.duty)) == 1][:1]
    return sorted({*fits[:1], *same}, key=lambda a: a.excess)


def staggered_sets(mawp_gauge, valves):
    """Set pressures of valves that lift one after the other, evenly up to 105 % of MAWP.

    Parameters: mawp_gauge [Pa gauge]; valves, int, 1 or more. Returns a tuple of Pa gauge; the
    first at MAWP. Raises InputError for a MAWP not above 0 or no valve.
    Source: ASME BPVC XIII (formerly VIII-1 UG-134(a)): one at or below MAWP, others up to 105 %.
    >>> [round(p) for p in staggered_sets(1e6, 2)]
    [1000000, 1050000]
    """
    if type(valves) is not int or not 1 <= valves <= MOST_VALVES:
        raise InputError(f"valves = {valves!r}: must be a whole number, 1 to {MOST_VALVES}")
    first, last = highest_set(mawp_gauge), highest_set(mawp_gauge, "additional")
    steps = max(valves - 1, 1)
    return tuple(first + (last - first) * i / steps for i in range(valves))
