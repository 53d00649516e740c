"""One question about a valve, a drum, a release or a destination, and what was found."""

from dataclasses import dataclass
from textwrap import fill

import numpy as np

from relieflib.errors import InputError
from relieflib.rules import NONE as PRACTICE
from relieflib.symbols import shown
from relieflib.valve_questions import kept

HOLDS, FAILS, UNKNOWN = "holds", "does not hold", "not known"


class Said:
    """What has a subject, a verdict and `pieces`: str or (name of a quantity, value in SI)."""

    def said(self, unit_set="SI"):
        """The words, with the numbers in the units of a set."""
        parts = (p if isinstance(p, str) else shown(*p, unit_set, space="\N{NO-BREAK SPACE}")
                 for p in self.pieces)  # fmt: skip
        return "".join(parts)

    @property
    def words(self):
        """The words in the SI set."""
        return self.said()

    def __str__(self):
        return f"{self.subject}: {self.verdict}: {self.words}"


@dataclass(frozen=True)
class Finding(Said):
    """One question: subject, holds (True, False, or None for not known), pieces, source.

    >>> print(Finding("phase", False, ("liquid into a header for gas",), "our example"))
    phase: does not hold: liquid into a header for gas
    """

    subject: str
    holds: bool | None
    pieces: tuple
    source: str = PRACTICE

    @property
    def verdict(self):
        """'holds', 'does not hold' or 'not known'."""
        return {True: HOLDS, False: FAILS, None: UNKNOWN}[self.holds]


def found(subject, value, limit, pieces, source=PRACTICE):
    """A `Finding` of a value against its highest limit; NaN as either is not known.

    Parameters: subject; value, limit, numbers in one unit; pieces, source as `Finding`. Returns
    `Finding`.
    >>> found("level", 1.0, float("nan"), ("no inlet given",)).verdict
    'not known'
    """
    if np.ndim(value) or np.ndim(limit):
        raise InputError(f"{subject}: one value against one limit")
    value, limit = float(value), float(limit)
    known = value == value and limit == limit
    return Finding(subject, bool(kept(value, limit)) if known else None, tuple(pieces), source)


def wrapped(finding, indent="", width=100):
    """A finding as lines of so many characters, the later ones indented.

    Parameters: finding; indent, before each line; width. Returns str. Source: none needed.
    >>> print(wrapped(Finding("phase", False, ("liquid",)), "  "))
      phase: does not hold: liquid
    """
    if type(width) is not int or width < 10:
        raise InputError(f"width = {width!r}: must be a whole number of characters, 10 or more")
    return fill(str(finding), width, initial_indent=indent, subsequent_indent=f"{indent}    ")


def worst(findings):
    """Verdict of several findings together: one that fails decides, then one that is not known.

    Parameters: findings, `Finding`s. Returns str. Source: none needed.
    >>> worst([Finding("a", True, ()), Finding("b", None, ())])
    'not known'
    """
    answers = {f.holds for f in findings}
    return FAILS if False in answers else UNKNOWN if None in answers else HOLDS


def about(findings, subject):
    """The finding on one subject.

    Parameters: findings; subject, str. Returns `Finding`. Raises InputError for another subject.
    Source: none needed.
    """
    for finding in findings:
        if finding.subject == subject:
            return finding
    raise InputError(f"subject '{subject}': {', '.join(f.subject for f in findings)}")
