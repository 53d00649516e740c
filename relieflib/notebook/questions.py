"""Questions with check, hint and solution; numbers that differ by participant; an answer key.

q = Question("1", "What area does ... need at {pressure}?", compute, inputs,
             answer="required_area", hint="...", solution="...")
q.ask()              # the text with this participant's numbers
attempt = None       # (value, "mm2") once the reader has tried
q.check(attempt)     # not attempted / right / wrong and the most likely slip
"""

import hashlib
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from relieflib.asking.kept import keep_answer, kept_answers, last_answer, my_work
from relieflib.errors import InputError, ValidityWarning
from relieflib.slips import CATALOGUE, explain, find_slips
from relieflib.symbols import UNIT_SETS, shown, symbol
from relieflib.units import ATMOSPHERE, to_si, unit_name

__all__ = ["Question", "Varies", "answer_key", "ask", "kept_answers", "my_work", "varied"]


@dataclass(frozen=True)
class Varies:
    """A number that differs by participant: low to high in SI, rounded in the display unit.

    The rounding takes the step, in the display unit of the SI set. Participant 0 has `base`.
    """

    base: float
    low: float
    high: float
    step: float = 1.0


def varied(varies, name, key, participant):
    """The SI value of a `Varies` for a participant: the same on every machine.

    Parameters: varies; name, quantity; key of the question; participant, int, 0 for the base.
    Returns float. Source: SHA-256 of key, name and participant, so no library's random numbers.
    >>> v = Varies(10e5, 5e5, 15e5, 0.5)
    >>> varied(v, "set_pressure_gauge", "q", 0), round(varied(v, "set_pressure_gauge", "q", 7))
    (1000000.0, 700000)
    """
    if participant == 0:
        return varies.base
    digest = hashlib.sha256(f"{key}|{name}|{participant}".encode()).digest()
    part = int.from_bytes(digest[:8], "big") / 2**64
    row = symbol(name)
    shown = row.show(varies.low) + part * (row.show(varies.high) - row.show(varies.low))
    return row.read(round(shown / varies.step) * varies.step)


class Feedback:
    """What a check says: `verdict` 'not attempted', 'right' or 'wrong', and the words."""

    def __init__(self, verdict, words):
        self.verdict, self.words = verdict, words

    def __repr__(self):
        sign = {"right": "✓ right", "wrong": "✗ not yet", "not attempted": "… not attempted"}
        return f"{sign[self.verdict]}: {self.words}"


@dataclass(frozen=True)
class Question:
    """A question whose answer is a number of a quantity, or a word (a letter, yes or no).

    key, unique in its notebook; text with the inputs' names in braces; compute(**inputs) gives
    the answer in SI (or the word); inputs, name -> SI value, `Varies` or any other thing; answer,
    the quantity's name, or None for a word; hint and solution, text; tolerance, relative;
    extra_slips, `Slip` of this question alone, see `slips.used_instead`.
    """

    key: str
    text: str
    compute: Callable
    inputs: dict
    answer: str | None
    hint: str
    solution: str
    tolerance: float = 0.01
    participant: int = 0
    book: str = ""
    extra_slips: tuple = field(default=())

    def data(self, participant=None):
        """The inputs in SI for a participant."""
        number = self.participant if participant is None else participant
        return {
            name: varied(v, name, self.book + self.key, number) if isinstance(v, Varies) else v
            for name, v in self.inputs.items()
        }

    def right(self, participant=None):
        """The right answer in SI, or the word."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ValidityWarning)
            return self.compute(**self.data(participant))

    def _shown(self, unit_set="SI"):
        words = {}
        for name, value in self.data().items():
            try:
                words[name] = shown(name, value, unit_set, 5)
            except (InputError, TypeError):
                words[name] = str(value)
        return words

    def ask(self):
        """The text with this participant's numbers."""
        return _Text(f"Question {self.key}. " + self.text.format(**self._shown()))

    def show_hint(self):
        """The hint."""
        return _Text(f"Hint {self.key}. {self.hint}")

    def show_solution(self):
        """The way to the answer, and the answer with this participant's numbers."""
        return _Text(f"Solution {self.key}. {self.solution} Answer: {self._answer_text()}.")

    def _answer_text(self, participant=None):
        right = self.right(participant)
        if self.answer is None:
            return str(right)
        return " = ".join(dict.fromkeys(shown(self.answer, right, s) for s in UNIT_SETS))

    def check(self, attempt):
        """Judge an attempt: None, a word, or (value, unit); returns `Feedback`, never raises."""
        if attempt is None or attempt == (None, None) or attempt == "":
            kept = last_answer(self._name())
            return Feedback("not attempted", _not_attempted(kept, self.answer))
        feedback = self._judge(attempt)
        try:
            keep_answer(self._name(), {"attempt": str(attempt), "verdict": feedback.verdict})
        except OSError as error:  # a full disk, a read-only folder: the verdict still counts
            feedback.words += f" (Not kept: {error.strerror or error}.)"
        return feedback

    def _name(self):
        return f"{self.book}/{self.key}/{self.participant}"

    def _judge(self, attempt):
        right = self.right()
        if self.answer is None:
            attempt = {True: "yes", False: "no"}[attempt] if isinstance(attempt, bool) else attempt
            same = str(attempt).strip().casefold() == str(right).casefold()
            return Feedback("right", f"{right}.") if same else Feedback(
                "wrong", f"'{attempt}' is not it. Try show_hint().")  # fmt: skip
        try:
            stated = self._read(attempt)
        except InputError as error:
            return Feedback("wrong", f"this can't be read: {error}.")
        if abs(stated - right) <= self.tolerance * abs(right) + 1e-12 * abs(stated):
            return Feedback("right", f"{self._answer_text()}.")
        return Feedback("wrong", self._diagnosis(attempt, stated, right))

    def _read(self, attempt):
        if not isinstance(attempt, tuple) or len(attempt) != 2:
            unit = symbol(self.answer).display_unit()
            raise InputError(f"write the value with its unit: (12.3, '{unit}')")
        value, unit = attempt
        atmosphere = self.data().get("atmosphere", ATMOSPHERE)
        stated = to_si(value, unit, symbol(self.answer).kind, atmosphere)
        if np.ndim(stated) or not np.isfinite(stated):
            raise InputError(f"{value!r} is not one number")
        return stated

    def _diagnosis(self, attempt, stated, right):
        found = self._slips(attempt, stated, right)
        atmosphere = self._off_by_one_atmosphere(stated, right)
        if atmosphere and (not found or (len(found) == 1 and found[0][0].key in _ATMOSPHERE)):
            return f"It is off by one atmosphere: {atmosphere}."
        size = "too large" if stated > right else "too small"
        return f"the number is {size}. {explain(found)}"

    def _slips(self, attempt, stated, right):
        """What the slip finder says; the answer itself is the relieving pressure of a MAWP."""
        compute, inputs, (value, unit) = self.compute, self.data(), attempt
        if self.answer in _RELIEVING and "mawp_gauge" in inputs and "pressure" not in inputs:
            compute, inputs = lambda pressure, **_: pressure, inputs | {"pressure": right}
        return find_slips(
            stated, compute, inputs, (*CATALOGUE, *self.extra_slips), min(self.tolerance, 0.005),
            self.answer, unit_name(unit), _rounding(value),
        )  # fmt: skip

    def _off_by_one_atmosphere(self, stated, right):
        """Words where a pressure is off by the site's atmosphere, '' elsewhere."""
        kind = symbol(self.answer).kind
        if kind not in ("pressure", "gauge pressure"):
            return ""
        atmosphere = self.data().get("atmosphere", ATMOSPHERE)
        near = min(self.tolerance * abs(right), 0.2 * atmosphere)
        for sign, words in ((-1, "gauge was given for absolute"), (1, "absolute for gauge")):
            if abs(stated - right - sign * atmosphere) <= near:
                return words
        return ""


_RELIEVING = ("pressure", "relieving_pressure")
_ATMOSPHERE = {
    "gauge taken as absolute", "absolute raised again", "gauge stated", "atmosphere twice",
    "absolute stated",
}  # fmt: skip


def _rounding(value):
    """Half of the last digit as the reader wrote it, relative; at most 0.5 %."""
    try:
        half = 0.5 * 10.0 ** Decimal(str(value).strip()).as_tuple().exponent
        return min(half / abs(float(value)), 0.005)
    except ArithmeticError:  # 0, or no number as people write it
        return 0.0


def _not_attempted(kept, answer):
    if kept:
        return f"last time you gave {kept['attempt']}, which was {kept['verdict']}."
    example = (
        "your value with its unit, such as (12.3, 'mm2')" if answer else "your answer in quotes"
    )
    return f"replace None by {example}, and run the cell."


class _Text(str):
    def __repr__(self):
        return str(self)


def ask(*questions):
    """The texts of several questions, one after the other.

    Parameters: questions, `Question`. Returns text that shows itself.
    """
    return _Text("\n".join(q.ask() for q in questions))


def answer_key(questions, participants):
    """Table of right answers for an instructor: a row a participant, a column a question.

    Parameters: questions, list of `Question`; participants, iterable of int. Returns DataFrame.
    """
    import pandas as pd

    rows = {n: {q.key: q._answer_text(n) for q in questions} for n in participants}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("participant")
