"""The kinds of question: a worked example, a value, a choice; and each as asked of one person.

A bank module says what is asked; nothing in it knows of participants, pages or files.

>>> from relieflib.working import Working, step
>>> def way(inflow, outflow):
...     return Working([step("mass_flow", inflow - outflow, "W_in - W_out", inflow=inflow,
...                          outflow=outflow)])
>>> q = Value("load", "{inflow} come in, {outflow} still leave. What is the load?", way,
...           {"inflow": 3.0, "outflow": Varies(0.5, 0.25, 1.0, 100)}, "mass_flow", "Less.")
>>> one = Asked(q, "10", participant=3)
>>> one.judge(one.data()["inflow"] * 3600, "kg/h").verdict
'wrong'
"""

import warnings
from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass, field
from decimal import Decimal
from functools import cached_property

from relieflib.asking.kept import Who, keep_attempt, last_answer
from relieflib.asking.reading import NotRead, read_value, unit_list
from relieflib.asking.variants import Varies, lot, varied
from relieflib.errors import InputError, ValidityWarning
from relieflib.slips import CATALOGUE, explain, find_slips
from relieflib.symbols import UNIT_SETS, shown, symbol
from relieflib.texts import harmless
from relieflib.units import ATMOSPHERE
from relieflib.working import Working

NEAR, NEAR_KELVIN = 0.01, 1.0  # relative; of a temperature a difference in kelvin
_RELIEVING = ("pressure", "relieving_pressure")
_ATMOSPHERE = {
    "gauge taken as absolute", "absolute raised again", "gauge stated", "atmosphere twice",
    "absolute stated", "set read as absolute",
}  # fmt: skip


@dataclass(frozen=True)
class Worked:
    """An example done before the reader's eyes: nothing is asked.

    key; text with the inputs' names in braces; way(**inputs), the `Working`; inputs; note, what to
    see in it.
    """

    key: str
    text: str
    way: Callable
    inputs: dict
    note: str = ""


@dataclass(frozen=True)
class Value:
    """A question whose answer is a number with a unit.

    key, unique in its bank and never changed, since answers are kept under it; text with the
    inputs' names in braces; way(**inputs), the `Working` that ends in the answer, by relieflib;
    inputs, name -> SI value or `Varies`, all of them names of the table of symbols; answer, the
    quantity's name; hint; why, a sentence to carry away once it is right; shows, names of the
    steps whose results are given; tolerance, relative, of a temperature in kelvin; slips of this
    question alone; units, those that the answer may be in, where not all do; stage, 1 for the last
    question of a series.
    """

    key: str
    text: str
    way: Callable
    inputs: dict
    answer: str
    hint: str
    _: KW_ONLY
    why: str = ""
    shows: tuple = ()
    tolerance: float | None = None
    slips: tuple = field(default=())
    units: tuple = ()
    stage: int = 0
    series: str = ""


@dataclass(frozen=True)
class Choice:
    """A question with a few options, each with a reason of its own.

    key; text; options, {words: reason}, of which the wrong ones are what people really think;
    right, the words of the right one, or a function of the inputs that gives them; inputs; hint;
    more, a function of the inputs that gives further numbers {name: SI value} to text, options,
    reasons and `right`.
    """

    key: str
    text: str
    options: dict
    right: object
    inputs: dict = field(default_factory=dict)
    hint: str = ""
    more: Callable | None = None


def series(key, text, way, inputs, answer, hint, shows, *, note="", why="", **more):
    """One task three times, with less and less help: worked, with steps given, whole.

    Parameters as `Value`; shows, names of the steps that the second one gives; note, what to see
    in the worked one. Returns three questions with numbers that differ.
    """
    more = more | {"series": key}
    return (
        Worked(f"{key} worked", text, way, inputs, note),
        Value(f"{key} step", text, way, inputs, answer, hint, why=why, shows=shows, **more),
        Value(key, text, way, inputs, answer, hint, why=why, stage=1, **more),
    )


@dataclass(frozen=True)
class Feedback:
    """What a check says: `verdict`, the words, and the key of the slip it points to."""

    verdict: str  # not attempted, not read, right, wrong
    words: str
    slip: str = ""

    def __repr__(self):
        sign = {"right": "✓ right", "wrong": "✗ not yet", "not read": "? not read"}
        return f"{sign.get(self.verdict, '… not attempted')}: {self.words}"


@dataclass(frozen=True)
class Asked:
    """A question as one participant of one room meets it in one notebook.

    question; book, number of the notebook; participant; room; origin, the notebook that it comes
    from where it is met again in a later one.
    """

    question: object
    book: str
    participant: int = 0
    room: str = ""
    origin: str = ""

    @property
    def name(self):
        """What its answers are kept under."""
        key = f"{self.origin} {self.question.key}" if self.origin else self.question.key
        return f"{self.book}/{key}/{self.participant}"

    def data(self):
        """The inputs in SI for this participant."""
        q = self.question
        if isinstance(q, Worked):
            return {n: v.base if isinstance(v, Varies) else v for n, v in q.inputs.items()}
        key = f"{self.book} {self.origin} {getattr(q, 'series', '') or q.key}"
        stage = getattr(q, "stage", 0)
        given = {
            n: varied(v, n, key, self.participant, self.room, stage) if isinstance(v, Varies) else v
            for n, v in q.inputs.items()
        }
        more = getattr(q, "more", None)
        return given | (more(**given) if more else {})

    @property
    def text(self):
        """The question with this participant's numbers."""
        return self.question.text.format(**self._shown())

    def _shown(self):
        words, data = {}, self.data()
        for name, value in data.items():
            try:
                words[name] = shown(name, value, "SI", 5, data.get("atmosphere", ATMOSPHERE))
            except (InputError, TypeError):
                words[name] = str(value)
        return words

    @cached_property
    def working(self):
        """The way to the answer with this participant's numbers, a `Working`."""
        return Working(self._way(**self.data()))

    def _way(self, **inputs):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ValidityWarning)
            return self.question.way(**inputs)

    @property
    def given(self):
        """The steps of the working that the question shows."""
        return Working([s for s in self.working if s.name in self.question.shows])

    @property
    def options(self):
        """The words of the options, in this participant's order."""
        words = [w.format(**self._shown()) for w in self.question.options]
        order = sorted(self.question.options, key=lambda w: lot(self.name, self.room, w))
        return [words[list(self.question.options).index(w)] for w in order]

    @property
    def right(self):
        """The right answer: in SI, or the words of an option."""
        q = self.question
        if isinstance(q, Choice):
            words = q.right(**self.data()) if callable(q.right) else q.right
            if words not in q.options:
                raise InputError(f"{q.key}: '{words}' is none of its options")
            return words.format(**self._shown())
        return _last(self.working, q.answer)

    @property
    def right_text(self):
        """The right answer as a key prints it."""
        q = self.question
        if isinstance(q, Choice):
            return self.right
        air = self.data().get("atmosphere", ATMOSPHERE)
        both = (shown(q.answer, self.right, s, 4, air) for s in UNIT_SETS)
        return " = ".join(dict.fromkeys(both))

    @property
    def units(self):
        """The units that the answer may be in."""
        return self.question.units or unit_list(self.question.answer)

    def judge(self, attempt, unit=""):
        """Judge an attempt; returns `Feedback`, never raises for what a reader may give."""
        if attempt is None or (isinstance(attempt, str) and not attempt.strip()):
            return Feedback("not attempted", "nothing given yet.")
        if isinstance(self.question, Choice):
            return self._judge_choice(attempt)
        try:
            if not isinstance(unit, str | None):
                raise NotRead("give the unit as a text, such as kg/h")
            air = self.data().get("atmosphere", ATMOSPHERE)
            read = read_value(attempt, unit or self.units[0], self.question.answer, air)
            if read[2] not in self.units:
                raise NotRead(f"give it in {' or '.join(self.units)}")
        except NotRead as problem:
            return Feedback("not read", f"{problem}. Nothing is counted against you.")
        stated, words, unit, digits = read
        if abs(stated - self.right) <= self._near(stated):
            why = f" {self.question.why.format(**self._shown())}" if self.question.why else ""
            return Feedback("right", f"{words}; to four figures {self.right_text}.{why}")
        said, slip = self._diagnosis(stated, unit, digits)
        return Feedback("wrong", f"{words}: {said}", slip)

    def _judge_choice(self, attempt):
        reasons = {
            w.format(**self._shown()): r.format(**self._shown())
            for w, r in self.question.options.items()
        }
        if not isinstance(attempt, str) or attempt not in reasons:
            return Feedback("not read", "that is none of the options. Nothing is counted.")
        right = attempt == self.right
        return Feedback("right" if right else "wrong", reasons[attempt], "" if right else attempt)

    def _near(self, stated):
        q = self.question
        if symbol(q.answer).kind == "temperature":
            return NEAR_KELVIN if q.tolerance is None else q.tolerance
        share = NEAR if q.tolerance is None else q.tolerance
        return share * abs(self.right) + 1e-12 * abs(stated)

    def _diagnosis(self, stated, unit, digits):
        """Words on a wrong number, and the key of the slip they name."""
        found = self._slips(stated, unit, digits)
        air = self._off_by_one_atmosphere(stated)
        if air and all(group[0].key in _ATMOSPHERE for group in found.close or found):
            return f"it is off by one atmosphere: {air}.", "one atmosphere"
        size = "too large" if stated > self.right else "too small"
        key = " + ".join(slip.key for slip in found[0]) if found else ""
        return f"it is {size}. {explain(found)}", key

    def _slips(self, stated, unit, digits):
        """What the slip finder says; the answer itself is the relieving pressure of a MAWP."""
        q, inputs = self.question, self.data()

        def compute(**changed):
            return _last(self._way(**changed), q.answer)

        if q.answer in _RELIEVING and "mawp_gauge" in inputs and "pressure" not in inputs:
            inputs = inputs | {"pressure": self.right}
            compute = lambda pressure, **_: pressure  # noqa: E731
        near = min(self._near(stated) / max(abs(self.right), 1e-300), 0.005)
        return find_slips(
            stated, compute, inputs, (*CATALOGUE, *q.slips), near, q.answer, unit, _rounding(digits)
        )

    def _off_by_one_atmosphere(self, stated):
        """Words where a pressure is off by the site's atmosphere, '' elsewhere."""
        if symbol(self.question.answer).kind not in ("pressure", "gauge pressure"):
            return ""
        atmosphere = self.data().get("atmosphere", ATMOSPHERE)
        near = min(self._near(stated), 0.2 * atmosphere)
        for sign, words in ((-1, "gauge was given for absolute"), (1, "absolute for gauge")):
            if abs(stated - self.right - sign * atmosphere) <= near:
                return words
        return ""

    def check(self, attempt, unit=""):
        """`judge`, and keep what is right or wrong; says so where the folder can't be written."""
        said = self.judge(attempt, unit)
        if said.verdict not in ("right", "wrong"):
            return said
        try:
            keep_attempt(self.name, harmless(attempt, 200), said.verdict, said.slip, self.room,
                         unit)  # fmt: skip
        except OSError as error:  # a full disk, a read-only folder: the verdict still counts
            more = f"{said.words} (Not kept: {error.strerror or error}.)"
            return Feedback(said.verdict, more, said.slip)
        return said

    def last(self):
        """The last attempt kept, or None; none before one started again."""
        kept = last_answer(self.name)
        return None if not kept or kept["verdict"] == "started again" else kept


def asked(question, book, person=Who(), origin=""):  # noqa: B008
    """A question as a person meets it in a notebook. Returns `Asked`."""
    return Asked(question, book, person.participant, person.room, origin)


def _last(working, name):
    """Value of the last step of that name. Raises InputError where the way has none."""
    for line in reversed(working):
        if line.name == name:
            return float(line.value)
    raise InputError(f"the way ends without {name}")


def _rounding(digits):
    """Half of the last digit as the reader wrote it, relative; at most 0.5 %."""
    try:
        half = 0.5 * 10.0 ** Decimal(digits).as_tuple().exponent
        return min(half / abs(float(digits)), 0.005)
    except ArithmeticError:  # 0
        return 0.0
