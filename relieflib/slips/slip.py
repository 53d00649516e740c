"""One slip, and the ways to make one of your own: a wrong input, a wrong way, another unit."""

from collections.abc import Callable
from dataclasses import dataclass

from relieflib.symbols import SYMBOLS
from relieflib.units import ATMOSPHERE, FACTORS

COMMON = ("often", "sometimes", "seldom")


@dataclass(frozen=True)
class Slip:
    """One way to go wrong: words for it, and what it does to the inputs, the way or the result.

    change(inputs) returns the inputs as the slip has them, or None where it can't happen;
    instead(**inputs) is another way to the number, taken for the right one; a slip of the result
    has `scale`, a factor on the stated number, or `shift`, atmospheres added to it. common, one of
    `COMMON`; phases, letters of gas, steam, liquid and two-phase where it makes sense.
    """

    key: str
    words: str
    change: Callable | None = None
    scale: float | None = None
    shift: float = 0.0
    common: str = "sometimes"
    phases: str = "gslt"
    instead: Callable | None = None

    @property
    def of_result(self):
        """True where it is made with the answer itself: its unit, its decimal point."""
        return self.change is None and self.instead is None


def atmosphere_of(inputs):
    """The atmosphere among the inputs [Pa], the standard one where none is given.

    Parameters: inputs, dict. Returns float.
    """
    return inputs.get("atmosphere") or ATMOSPHERE


def changed(name, function, *needs):
    """What a slip does to one input: a function of the inputs, as `Slip.change` takes it.

    Parameters: name of the input; function(value, inputs), its value as the slip has it, None
    where it can't happen; needs, names of other inputs that must be given. Returns function.
    >>> changed("Z", lambda Z, i: 1.0)({"Z": 0.9}), changed("Z", lambda Z, i: 1.0)({})
    ({'Z': 1.0}, None)
    """

    def change(inputs):
        if any(inputs.get(key) is None for key in (name, *needs)):
            return None
        value = function(inputs[name], inputs)
        return None if value is None or value == inputs[name] else {**inputs, name: value}

    return change


def used_instead(name, value, words, common="often"):
    """A slip for one question or sheet: a known wrong value of an input, such as a real fluid's k.

    Parameters: name of the input; value in SI, or a function of the inputs that gives it (None
    where it can't happen), for a question whose numbers differ by participant; words; common, one
    of `COMMON`. Returns `Slip`.
    >>> used_instead("k", 1.6, "cp/cv of the real fluid was used").change({"k": 1.2})
    {'k': 1.6}
    >>> rated = used_instead("mass_flow", lambda i: i["rated_flow"], "the rated flow was used")
    >>> rated.key, rated.change({"mass_flow": 2.0, "rated_flow": 2.6})["mass_flow"]
    ('mass_flow instead: the rated flow was used', 2.6)
    """
    if callable(value):
        key = f"{name} instead: {words}"
        return Slip(key, words, changed(name, lambda _, i: value(i)), common=common)
    return Slip(f"{name} {value:g}", words, changed(name, lambda *_: value), common=common)


def another_way(instead, words, key=None, common="often"):
    """A slip for one question: a whole other way to the number, where no one input is wrong.

    Parameters: instead(**inputs), the number in SI as the slip has it, None where it can't happen;
    words; key, the words when left out; common, one of `COMMON`. Returns `Slip`.
    >>> half = another_way(lambda rate, time: 0.5 * rate * time, "half of the time was forgotten")
    >>> half.instead(rate=3.0, time=4.0)
    6.0
    """
    return Slip(key or words, words, instead=instead, common=common)


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


SHIFTS = {
    "pressure": (Slip("gauge stated", "the number was left in gauge", shift=-1.0, common="often"),
                 Slip("atmosphere twice", "the atmosphere was added twice", shift=1.0)),
    "gauge pressure": (
        Slip("absolute stated", "the number is absolute", shift=1.0, common="often"),),
}  # fmt: skip


def answer_slips(name, unit=None):
    """Slips of the answer itself: its unit, and an atmosphere too many or too few.

    Parameters as `unit_slips`. Returns a list of `Slip`.
    >>> [s.key for s in answer_slips("set_pressure_gauge") if s.shift]
    ['absolute stated']
    """
    kind = SYMBOLS[name].kind if name in SYMBOLS else ""
    return [*unit_slips(name, unit), *SHIFTS.get(kind, ())]
