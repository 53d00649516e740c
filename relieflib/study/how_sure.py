"""How sure is a size: which input moves the area, the letter or the verdict, alone and together.

An input varies only where its range is stated; nothing here knows a range of its own. Alone: each
such input goes through its range while all others stay. Together: samples are drawn, each input by
itself, spread evenly over its range (a Latin hypercube), and the case is sized for each of them.

A sample that can't be sized counts as one that the letter does not hold. `CLAIMS` says what such a
share is, and what it is not.
"""

import warnings
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY, dataclass, field, replace
from time import perf_counter

import numpy as np
from scipy.special import ndtr, ndtri

from relieflib.errors import InputError, ValidityWarning, finite, one_number, positive
from relieflib.orifices import LETTERS, orifice_area, select_letter
from relieflib.study.inputs import Inputs
from relieflib.study.recomputing import device_of, in_lines, load_of
from relieflib.symbols import SYMBOLS, shown
from relieflib.texts import number_text
from relieflib.valve_questions import kept, large_enough

SAMPLES = 100_000  # of a case whose functions take arrays
ONE_BY_ONE = 400  # of a case that is worked out sample by sample
SLOW = 0.05  # s for 100 samples: then a case goes one by one, though it takes arrays
MOST_SAMPLES = 10_000_000
POINTS = 9  # of a range, when its input varies alone: an area may be largest inside it
_TRIES = 600  # times that a refused stretch of samples is cut in two, before that is given up
_SAME = 1e-6  # share: arrays and single numbers give one answer
NO_LETTER, NOT_SIZED = "more than one valve", "not sized"
CLAIMS = (
    "The ranges and the shapes in them are stated by whoever made the case; an input without one "
    "stays as it is.",
    "Each input varies by itself. Inputs that rise and fall together (a temperature and its k) can "
    "make the share larger or smaller than it says.",
    "The share counts samples of this case. It is not how often the valve fails, and it knows "
    "nothing of another cause, of a wrong premise or of the equation's own error.",
    "A small share is no leave to take a smaller letter: the code sizes for the largest load that "
    "is credible.",
)


@dataclass(frozen=True)
class Range:
    """Where an input may lie: low and high, SI, and how likely what between them is.

    Every value alike unless told: likely, the most likely one (rising and falling in straight
    lines); or mean and deviation of a normal shape, cut at low and high. Raises InputError for
    a range that is none. Source: the shapes' own definitions.
    """

    low: float
    high: float
    _: KW_ONLY
    likely: float | None = None
    mean: float | None = None
    deviation: float | None = None

    def __post_init__(self):
        low, high = one_number(low=self.low, high=self.high)
        if not low < high:
            raise InputError(f"low = {low:g}: must be below high = {high:g}")
        if self.likely is not None and self.mean is not None:
            raise InputError("likely and mean are two shapes: state one of them")
        if (self.mean is None) != (self.deviation is None):
            raise InputError("mean and deviation go together: state both")
        if self.likely is not None and not low <= one_number(likely=self.likely) <= high:
            raise InputError(f"likely = {self.likely:g}: must lie from {low:g} to {high:g}")
        if self.mean is not None:
            one_number(mean=self.mean)
            if not one_number(deviation=self.deviation) > 0:
                raise InputError(f"deviation = {self.deviation:g}: must be above 0")
            if not _inside(self)[1] - _inside(self)[0] > 1e-6:
                raise InputError(
                    f"mean = {self.mean:g}: almost nothing of that normal shape lies from {low:g} "
                    f"to {high:g}"
                )

    @property
    def shape(self):
        """The shape in words."""
        if self.likely is not None:
            return "most likely in one place"
        return "every value alike" if self.mean is None else "normal, cut at its ends"

    def at(self, part):
        """The value below which a part of the samples lies; part from 0 to 1, number or array."""
        u, width = np.asarray(part, dtype=float), self.high - self.low
        if self.likely is not None:
            peak = (self.likely - self.low) / width
            rising = np.sqrt(u * peak)
            found = np.where(u < peak, rising, 1.0 - np.sqrt((1.0 - u) * (1.0 - peak)))
        elif self.mean is not None:
            first, last = _inside(self)
            z = ndtri(first + u * (last - first))
            return np.clip(self.mean + self.deviation * z, self.low, self.high)
        else:
            found = u
        return self.low + width * found


def _inside(stated):
    """Parts of the whole normal shape below low and below high."""
    low, high = ((end - stated.mean) / stated.deviation for end in (stated.low, stated.high))
    return ndtr(low), ndtr(high)


@dataclass(frozen=True)
class Bar:
    """One input through its range, all others as they stand.

    low, high, ends of the range; least, most, required areas [m2] met; at_least, at_most, where;
    letters, that of the least and of the most; moves_letter; moves_verdict, does the area that
    stands hold in one part of the range and not in another;
    refused, words of what part of the range can't be.
    """

    name: str
    low: float
    high: float
    least: float
    most: float
    at_least: float
    at_most: float
    letters: tuple
    moves_letter: bool
    moves_verdict: bool
    refused: tuple = ()


@dataclass(frozen=True)
class Together:
    """All inputs with a range at once.

    samples and seed; by_arrays, False where each sample was worked out by itself; areas [m2], NaN
    for a sample that can't be sized; beyond, the part of the samples that the area does not hold,
    those not sized among them, and between, the two ends within which 95 % of such counts would
    find it; not_sized, how many; refused, {words: how many}; letters, {letter: part}.
    """

    samples: int
    seed: int
    by_arrays: bool
    areas: np.ndarray = field(repr=False)
    beyond: float
    between: tuple
    not_sized: int
    refused: dict
    letters: dict


@dataclass(frozen=True)
class HowSure:
    """What `how_sure` finds; prints it.

    area, required at the inputs as stated [m2]; letter, its own; stands, the area [m2] against
    which all is held, and held_against, what that is in words; holds; bars, a `Bar` for each
    input with a range, the one that moves the area most first; together, a `Together`; ranges;
    notes, words on validity that some sample met; claims, what is said and what is not.
    """

    area: float
    letter: str | None
    stands: float
    held_against: str
    bars: tuple
    together: Together
    ranges: dict
    notes: tuple
    claims: tuple = CLAIMS

    @property
    def holds(self):
        """Does the area that stands hold at the inputs as stated."""
        return large_enough(self.area, self.stands).holds

    def rows(self, unit_set="SI"):
        """Rows (label, text) for a table."""
        t = self.together
        found = [
            ("required area, as stated", shown("required_area", self.area, unit_set)),
            (f"held against {self.held_against}", shown("area", self.stands, unit_set)),
            ("samples beyond it", _percent(t.beyond)),
            ("that share, 95 %", " to ".join(_percent(end) for end in t.between)),
            ("samples", f"{t.samples} ({'arrays' if t.by_arrays else 'one by one'}), "
                        f"seed {t.seed}"),
        ]  # fmt: skip
        if t.not_sized:
            found.append(("of them can't be sized", str(t.not_sized)))
        return found + [(label(bar.name), bar_words(bar, unit_set)) for bar in self.bars]

    def __repr__(self):
        rows = self.rows()
        wide = max(len(name) for name, _ in rows)
        lines = [f"{name:<{wide}}  {text}" for name, text in rows]
        lines += [f"refused in {n} samples: {words}" for words, n in self.together.refused.items()]
        lines += [f"{label(bar.name)}: {words}" for bar in self.bars for words in bar.refused]
        return "\n".join([*lines, *(f"note: {words}" for words in self.notes), *self.claims])


def label(name):
    """An input in words: its meaning in the table of symbols, or its name.

    Parameters: name, str. Returns str. Source: the table of symbols.
    >>> label("mass_flow"), label("upper_valve_travel")
    ('mass flow to be relieved', 'upper valve travel')
    """
    name = _plain(name)
    return SYMBOLS[name].meaning if name in SYMBOLS else name.replace("_", " ")


def _plain(name):
    """The quantity of an input that stands inside tables: 'stream.temperature' is a temperature."""
    return name.rpartition(".")[2]


def value_text(name, value, unit_set="SI"):
    """A value of an input as text, in the units of a set where the table of symbols knows it.

    Parameters: name, str; value in SI; unit_set. Returns str. Source: the table of symbols.
    >>> value_text("mass_flow", 2.5), value_text("upper_valve_travel", 0.5)
    ('9000 kg/h', '0.5')
    """
    name = _plain(name)
    return shown(name, value, unit_set) if name in SYMBOLS else number_text(value, 4)


def bar_words(bar, unit_set="SI"):
    """What a bar says, on one line.

    Parameters: bar, a `Bar`; unit_set. Returns str. Source: as `how_sure`.
    """
    ends = " to ".join(shown("required_area", a, unit_set) for a in (bar.least, bar.most))
    low, high = (letter or NO_LETTER for letter in bar.letters)
    found = f"{low}" if low == high else f"{low} to {high}"
    moved = "; moves the verdict" if bar.moves_verdict else ""
    part = "; a part of its range can't be sized" if bar.refused else ""
    return f"{ends}, {found}{moved}{part}"


def _percent(part):
    """A share as text that never rounds a few samples to none, nor nearly all to all.

    >>> _percent(0.0), _percent(1e-5), _percent(0.1234), _percent(0.99999)
    ('0 %', '0.001 %', '12.3 %', '99.999 %')
    """
    if part in (0.0, 1.0):
        return f"{100 * part:.0f} %"
    near = min(part, 1.0 - part)
    digits = int(np.clip(1 - np.floor(np.log10(100 * near)), 1, 6)) if near < 0.01 else 1
    return f"{100 * part:.{digits}f}".rstrip("0").rstrip(".") + " %"


def how_sure(
    sizing_of: Callable, inputs: Mapping, ranges: Mapping, area: float | None = None,
    samples: int | None = None, seed: int = 1,
) -> HowSure:  # fmt: skip
    """Which input moves a size, and how many samples of all of them need more than the letter.

    Parameters: sizing_of(**inputs) gives the `Sizing`, or what else has a required_area; inputs,
    {name: value} [SI], texts and choices among them; ranges, {name: `Range`}; area that stands
    [m2], that of the letter of the inputs as stated unless given; samples, 100 000 where
    sizing_of takes arrays in no time, else 400, unless given; seed, the same one draws the same.
    Returns `HowSure`. Raises InputError for no range, one of an unknown input or of one that is no
    number, a stated value outside its own range, what can't be sized as stated, or no letter to
    hold against. Validity: as that of sizing_of; inputs vary each by itself. Source: Latin
    hypercube (McKay, Beckman, Conover 1979); ends of a share by Wilson (1927), careful for such
    samples.
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> def case(mass_flow, temperature):
    ...     gas = Gas(670e3, temperature, molar_mass=51.0, k=1.11, Z=0.90)
    ...     return size(ReliefLoad("x", mass_flow, gas))
    >>> found = how_sure(case, {"mass_flow": 6.74, "temperature": 348.0},
    ...                  {"mass_flow": Range(6.0, 8.0), "temperature": Range(340.0, 360.0)})
    >>> found.bars[0].name, found.bars[0].letters, round(found.together.beyond, 2)
    ('mass_flow', ('P', 'Q'), 0.26)
    """
    inputs, ranges = dict(inputs), dict(ranges)
    _check(inputs, ranges)
    check_seed(seed)
    count = check_samples(samples)
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        asked = _Asked(sizing_of, inputs)
        stated = one_number(required_area=sizing_of(**inputs).required_area)
        letter, stands, against = _held_against(stated, area)
        bars = [_bar(asked, name, ranges[name], stated, stands) for name in ranges]
        together = _together(asked, ranges, stands, count, seed)
    bars.sort(key=lambda bar: bar.least - bar.most)
    return HowSure(stated, letter, stands, against, tuple(bars), together, ranges, _notes(caught))


TOGETHER = " and "  # between inputs that move as one
SET = "device.set_pressure_gauge"
SET_MOVES = (
    "A set pressure within its tolerance moves the area only where Kb, Kw or Kp hangs on it; the "
    "pressure at which the valve must carry the load follows from MAWP. Whether it opens in time "
    "is asked beside this."
)
NO_RANGE = (
    "MAWP stands on the nameplate: it is a limit, no measured value, and has no range. What "
    "another one would do is seen by typing it in the file"
)
_SHAPES = ("low", "high", "likely", "mean", "deviation")


def of_case(case, plant=None, area=None, samples=None, seed=1):
    """How sure the size of a case is, by the ranges that it states.

    Parameters: case, a `Case` with `ranges`: {input: [low, high] or {low, high, likely, or mean
    and deviation}}, written as inputs are; an input inside a table is dotted
    ('stream.temperature'), several that move as one are joined by ' and '; 'back_pressure' and
    'device.set_pressure_gauge' are what it is sized on, the one of a set with its tolerance; plant,
    where it looks up; area, samples and seed as `how_sure`. Returns `HowSure`.
    Raises InputError as it, and in words for a range that can't be read. Source: as `how_sure`.
    >>> from relieflib.study.case import Case
    >>> gas = {"is": "gas", "pressure": "18 bara", "temperature": "40 °C", "k": 1.3,
    ...        "molar_mass": "5.9 kg/kmol"}
    >>> case = Case("V-1", "closed outlet", "closed_outlet", {"inflow": "3600 kg/h", "stream": gas},
    ...             ranges={"inflow": {"low": "3000 kg/h", "high": "4000 kg/h"}})
    >>> of_case(case).bars[0].letters
    ('H', 'J')
    """
    stated = _stated(case, plant)
    asked = [n for name in case.ranges for n in name.split(TOGETHER)]
    if any(_plain(n).startswith("mawp") for n in asked):
        raise InputError(f"ranges: {NO_RANGE}")
    unknown = [n for n in asked if n not in stated]
    if unknown:
        raise InputError(f"ranges: '{unknown[0]}' is no number among the inputs of this case: "
                         + ", ".join(stated))  # fmt: skip

    ranges = ranges_of(case, plant)
    inputs = {name: stated[name.split(TOGETHER)[0]] for name in ranges}

    def sizing(**given):
        changed = {one: v for name, v in given.items() for one in name.split(TOGETHER)}
        own = {key: changed.pop(key) for key in ("back_pressure", SET) if key in changed}
        load = load_of(case, plant, changed)
        return in_lines(case, plant, load, own.get("back_pressure"), own.get(SET))[0]

    found = how_sure(sizing, inputs, ranges, area, samples, seed)
    return replace(found, claims=(*found.claims, SET_MOVES)) if SET in asked else found


def _stated(case, plant):
    """Every number of a case's inputs by its dotted name [SI], and what it is sized on."""
    reader = Inputs(plant)
    reader.all_of(case.inputs)
    found = {name: value for name, (_, value) in reader.read.items()
             if isinstance(value, int | float) and not isinstance(value, bool)}  # fmt: skip
    device, found["back_pressure"] = device_of(case, plant, load_of(case, plant))
    if device.set_pressure_gauge is not None:
        found[SET] = device.set_pressure_gauge
    return found


def ranges_of(case, plant=None):
    """The ranges that a case states.

    Parameters: case; plant. Returns {input: `Range`}. Raises InputError naming the input for one
    that can't be read. Source: the case.
    """
    reader, found = Inputs(plant), {}
    for name, written in case.ranges.items():
        key = _plain(name)
        if isinstance(written, list) and len(written) == 2:
            written = dict(zip(_SHAPES, written))
        try:
            unknown = set(written) - set(_SHAPES) if isinstance(written, dict) else {"it"}
            if unknown or not {"low", "high"} <= set(written):
                raise InputError(
                    "write { low = ..., high = ... }, and likely, or mean and deviation"
                )
            read = {n: reader.value(key, v, (key,)) for n, v in written.items() if n != "deviation"}
            if "deviation" in written:
                read["deviation"] = _width(reader, key, written["deviation"])
            found[name] = Range(**read)
        except InputError as error:
            raise InputError(f"ranges: {name}: {error}") from None
    return found


def _width(reader, key, written):
    """A deviation: of a temperature or a pressure it is a difference."""
    kinds = {"temperature": "temperature_rise", "pressure": "inlet_loss"}
    kinds["gauge pressure"] = kinds["pressure"]
    name = kinds.get(SYMBOLS[key].kind, key) if key in SYMBOLS else key
    return reader.value(name, written, (name,))


def _check(inputs, ranges):
    if not ranges:
        raise InputError("ranges: none is stated, and none is invented: give one at least")
    for name, stated in ranges.items():
        if name not in inputs:
            raise InputError(f"ranges: '{name}' is no input of this case: {', '.join(inputs)}")
        if not isinstance(stated, Range):
            raise InputError(f"ranges: {name} = {stated!r}: must be a Range(low, high)")
        value = one_number(**{_plain(name): inputs[name]})
        if not stated.low <= value <= stated.high:
            raise InputError(
                f"{name} = {value_text(name, value)}: lies outside its own range, "
                f"{value_text(name, stated.low)} to {value_text(name, stated.high)}"
            )


def check_seed(seed):
    """Refuse a seed that is no whole number from 0 up. Returns None.

    Parameters: seed. Raises InputError. Source: ours.
    """
    if type(seed) is not int or seed < 0:
        raise InputError(f"seed = {seed!r}: must be a whole number, 0 or more")


def check_samples(samples):
    """The number of samples asked for, None for those that fit the case.

    Parameters: samples. Returns int or None. Raises InputError for one that can't be. Source: ours.
    """
    if samples is None or (type(samples) is int and 1 <= samples <= MOST_SAMPLES):
        return samples
    raise InputError(f"samples = {samples!r}: must be a whole number from 1 to {MOST_SAMPLES}")


def _held_against(stated, area):
    """Letter of the case as stated, the area to hold against, and what that is in words."""
    letter = select_letter(max(stated, np.finfo(float).tiny))
    if area is not None:
        area = one_number(area=positive(area=area))
        named = [n for n, of_letter in LETTERS.items() if abs(of_letter / area - 1.0) < 1e-9]
        return letter, area, f"letter {named[0]}" if named else "the area that stands"
    if letter is None:
        raise InputError(
            f"required_area = {shown('required_area', stated)}: needs more than one valve: give "
            "the area that stands"
        )
    return letter, orifice_area(letter), f"letter {letter}"


def _notes(caught):
    """Words on validity, each quantity and rule once; other warnings go on their way."""
    notes = {}
    for w in caught:
        if issubclass(w.category, ValidityWarning):
            said = str(w.message)
            notes.setdefault(said.partition(" = ")[0] + said.partition(": ")[2], said)
        else:
            warnings.warn_explicit(w.message, w.category, w.filename, w.lineno)
    return tuple(notes.values())


class _Asked:
    """A case asked many times, by arrays where its functions take them, else one by one."""

    def __init__(self, sizing_of, inputs):
        self.sizing_of, self.inputs = sizing_of, inputs

    def one(self, given, refused):
        """Required area of one set of inputs; NaN and its words counted where it can't be."""
        try:
            found = self.sizing_of(**self.inputs | given).required_area
            area = float(finite(required_area=found))
        except InputError as error:
            words = str(error)
            refused[words] = refused.get(words, 0) + 1
            return np.nan
        if np.isnan(area):
            refused["gives no number"] = refused.get("gives no number", 0) + 1
        return area

    def each(self, columns, refused):
        """Required areas, sample by sample."""
        rows = zip(*(column.tolist() for column in columns.values()), strict=True)
        return np.array([self.one(dict(zip(columns, row, strict=True)), refused) for row in rows])

    def arrays(self, columns, refused):
        """Required areas by arrays; None where this case does not take them."""
        size, tries = len(next(iter(columns.values()))), [_TRIES]
        few = np.unique(np.linspace(0, size - 1, 3).astype(int))
        if not self._agree(columns, few, self._at_once({n: c[few] for n, c in columns.items()})):
            return None
        if self._slow({n: c[:100] for n, c in columns.items()}):
            return None
        counted = {}
        areas = self._stretch(columns, counted, tries)
        if tries[0] <= 0:
            return None
        edges = [np.nanargmin(areas), np.nanargmax(areas)] if not np.isnan(areas).all() else []
        held = np.unique([*np.linspace(0, size - 1, 8).astype(int), *edges])
        if not self._agree(columns, held, areas[held]):
            return None
        refused.update(counted)
        return areas

    def _slow(self, columns):
        """Does a state of a real fluid, or the like, go through its arrays one by one."""
        start = perf_counter()
        self._at_once(columns)
        return perf_counter() - start > SLOW

    def _at_once(self, columns):
        """Required areas of arrays of inputs; None where the functions refuse or mix them."""
        try:
            found = np.asarray(self.sizing_of(**self.inputs | columns).required_area, dtype=float)
            return np.array(np.broadcast_to(found, next(iter(columns.values())).shape))
        except Exception:  # whatever a function made for single numbers says of an array
            return None

    def _agree(self, columns, places, areas):
        """Do single numbers give what arrays gave, at some places; refused ones count as alike."""
        alone = self.each({n: c[places] for n, c in columns.items()}, {})
        if areas is None:  # one of the few may be refused by right: the stretch finds out which
            return bool(np.isnan(alone).any())
        return np.allclose(alone, areas, rtol=_SAME, atol=0.0, equal_nan=True)

    def _stretch(self, columns, refused, tries):
        """Required areas of a stretch of samples; where it is refused, of its two halves."""
        size = len(next(iter(columns.values())))
        if size == 1:
            return self.each(columns, refused)
        tries[0] -= 1
        areas = self._at_once(columns) if tries[0] > 0 else np.full(size, np.nan)
        if areas is not None and not (np.isnan(areas).any() and tries[0] > 0):
            return areas
        halves = ({n: c[: size // 2] for n, c in columns.items()},
                  {n: c[size // 2 :] for n, c in columns.items()})  # fmt: skip
        return np.concatenate([self._stretch(half, refused, tries) for half in halves])


def _bar(asked, name, stated_range, stated, stands):
    """One input through its range."""
    points = np.unique([*np.linspace(stated_range.low, stated_range.high, POINTS),
                        asked.inputs[name]])  # fmt: skip
    refused = {}
    areas = asked.each({name: points}, refused)
    good = areas[~np.isnan(areas)]
    low, high = int(np.nanargmin(areas)), int(np.nanargmax(areas))
    letters = tuple(select_letter(max(areas[i], np.finfo(float).tiny)) for i in (low, high))
    own = select_letter(max(stated, np.finfo(float).tiny))
    held = kept(good, stands)
    return Bar(
        name, stated_range.low, stated_range.high, float(areas[low]), float(areas[high]),
        float(points[low]), float(points[high]), letters, set(letters) != {own},
        bool(held.any() and not held.all()), tuple(refused),
    )  # fmt: skip


def _together(asked, ranges, stands, count, seed):
    """All inputs with a range at once."""
    refused, size = {}, count or SAMPLES
    areas = asked.arrays(drawn(ranges, size, seed), refused)
    by_arrays = areas is not None
    if not by_arrays:
        size, refused = count or ONE_BY_ONE, {}
        areas = asked.each(drawn(ranges, size, seed), refused)
    held = kept(areas, stands)
    beyond = float(np.count_nonzero(~held)) / size
    return Together(size, seed, by_arrays, areas, beyond, wilson(beyond, size),
                    int(np.isnan(areas).sum()), refused, _letters(areas))  # fmt: skip


def _letters(areas):
    """{letter: part of the samples that need it}, the smallest letter first."""
    sized = areas[~np.isnan(areas)]
    needed = select_letter(np.maximum(sized, np.finfo(float).tiny))
    found = Counter(needed.tolist())  # each letter of an array of words asked anew is slow
    counted = {name or NO_LETTER: found[name] for name in (*LETTERS, None)}
    counted[NOT_SIZED] = len(areas) - len(sized)
    return {name: n / len(areas) for name, n in counted.items() if n}


def drawn(ranges, samples, seed=1):
    """Samples of inputs: each input's own, spread evenly over its range, in an order of its own.

    Parameters: ranges, {name: `Range`}; samples, how many; seed. Returns {name: array} [SI]; what
    an input draws depends on no other one. Raises InputError as `how_sure`. Source: Latin hypercube
    (McKay, Beckman, Conover, Technometrics 21, 1979).
    >>> sorted(int(x) for x in drawn({"mass_flow": Range(2.0, 6.0)}, 4)["mass_flow"])
    [2, 3, 4, 5]
    """
    check_seed(seed)
    found = {}
    for name, stated in ranges.items():
        hand = np.random.default_rng([seed, *name.encode()])
        part = (hand.permutation(samples) + hand.random(samples)) / samples
        found[name] = np.asarray(stated.at(part))
    return found


def wilson(part, count):
    """Two ends that hold the true share in 95 % of such counts.

    Parameters: part, the share found; count of samples. Returns (low, high). Validity: samples
    drawn one by one; samples spread evenly lie nearer. Source: Wilson, J. Am. Stat. Assoc. 22
    (1927) 209.
    >>> [round(end, 4) for end in wilson(0.0, 1000)]
    [0.0, 0.0038]
    """
    z = 1.959_964  # of the normal distribution, 2.5 % beyond on each side
    middle = (part + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * np.sqrt(part * (1 - part) / count + z * z / (4 * count**2))
    return max(0.0, float(middle - half)), min(1.0, float(middle + half))
