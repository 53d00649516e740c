"""Which causes to consider for which equipment: a matrix that its owner edits.

The file is a table: first column the cause, one column for each kind of equipment, a row 'tags'
with the items of each kind, and in each cell 'credible: reason' or 'not credible: reason'. Every
cause of the published list must have a row, so that none is forgotten; others may be added.
"""

import csv
import importlib
import pkgutil
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from relieflib import causes
from relieflib.errors import InputError
from relieflib.plant import demo_plant_path
from relieflib.texts import clean

NOT_COMPUTED = (("internal explosion or surge", "", "5.12"),)  # a valve is no answer to these
AFTER = 22  # they stand after the notebook of this number
_FIELDS = ("cause", "clause 2020", "clause 2007", "module", "notebook")
VERDICTS = {"credible": True, "not credible": False, "credible, no load": True}


@dataclass(frozen=True)
class Verdict:
    """Judgement on one cause for one kind of equipment: credible or not, and why.

    no_load, True where it is credible and asks for no load of its own, for the reason given.
    """

    cause: str
    equipment: str
    credible: bool
    reason: str
    no_load: bool = False

    def __str__(self):
        words = "credible" if self.credible else "not credible"
        return clean(f"{words}{', no load' if self.no_load else ''}: {self.reason}")


@dataclass(frozen=True)
class Matrix:
    """Causes, kinds of equipment, tags of each kind and the verdicts by (cause, equipment)."""

    causes: tuple
    equipment: tuple
    tags: dict
    verdicts: dict

    def kind_of(self, name):
        """The kind of equipment of a tag, or the kind itself; InputError for another name."""
        for kind in self.equipment:
            if name == kind or name in self.tags[kind]:
                return kind
        raise InputError(f"'{name}': no such tag or equipment; kinds: {', '.join(self.equipment)}")

    def of(self, name):
        """Verdicts on every cause for a tag or a kind of equipment, in the order of the file."""
        kind = self.kind_of(name)
        return [self.verdicts[cause, kind] for cause in self.causes]

    def credible_for(self, name):
        """Causes that are credible for a tag or a kind of equipment."""
        return [v.cause for v in self.of(name) if v.credible]

    def rows(self):
        """The matrix as a list of dicts: 'cause', then kind of equipment -> 'yes' or 'no'."""
        return [
            {"cause": cause}
            | {
                kind: "yes" if self.verdicts[cause, kind].credible else "no"
                for kind in self.equipment
            }
            for cause in self.causes
        ]


@cache
def published_causes():
    """The published list of causes.

    Each module of `causes` says in `PUBLISHED` which causes of the list it computes, with the
    clauses, and in `NOTEBOOK` the number of its notebook. Returns a list of dicts of str with
    cause, clause 2020, clause 2007, module, notebook; '' where there is none. Source: API 521, 4.4
    in the 6th (2014) and 7th (2020) edition, clause 5 in the 5th (2007); clause numbers read where
    a check value names them, the rest from memory, left empty where unknown.
    >>> published_causes()[0]["notebook"]
    '10-closed-outlet'
    """
    found = []
    for info in pkgutil.iter_modules(causes.__path__):
        if info.ispkg:
            continue
        module = importlib.import_module(f"{causes.__name__}.{info.name}")
        book = f"{module.NOTEBOOK}-{info.name.replace('_', '-')}"
        for cause, clauses in module.PUBLISHED.items():
            row = (cause, *clauses, info.name, book)
            found.append((module.NOTEBOOK, dict(zip(_FIELDS, row, strict=True))))
    found += [(AFTER, dict(zip(_FIELDS, (*row, "", "")))) for row in NOT_COMPUTED]
    return [row for _, row in sorted(found, key=lambda pair: pair[0])]


def load_matrix(path=None):
    """The matrix of credible causes in a file, by default that of the demo plant.

    Parameters: path of a CSV file, None for `credible_causes.csv` beside the demo plant. Returns
    `Matrix`. Raises InputError naming the row for a missing or repeated cause, a cell without a
    verdict or a reason, or a tag that stands under two kinds.
    >>> load_matrix().credible_for("L-105")
    ['hydraulic expansion', 'internal explosion or surge']
    """
    path = demo_plant_path().with_name("credible_causes.csv") if path is None else Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(f"{path.name}: can't be read ({type(problem).__name__})") from None
    lines = [row for row in csv.reader(_without_comments(text)) if any(row)]
    kinds, tags, body = _head(lines, path.name)
    verdicts, causes = {}, []
    for row in body:
        cause = row[0].strip()
        if cause in causes:
            raise InputError(f"{path.name}, row '{cause}': stands there twice")
        causes.append(cause)
        for kind, cell in zip(kinds, row[1:], strict=True):
            verdicts[cause, kind] = read_verdict(cause, kind, cell, path.name)
    missing = [c["cause"] for c in published_causes() if c["cause"] not in causes]
    if missing:
        raise InputError(f"{path.name}: no row for {', '.join(missing)}")
    return Matrix(tuple(causes), kinds, tags, verdicts)


def _without_comments(text):
    return [line for line in text.splitlines() if not line.lstrip('"').startswith("#")]


def _head(lines, file):
    """Kinds of equipment, their tags and the rows of causes."""
    if len(lines) < 2 or lines[0][0].strip() != "cause" or lines[1][0].strip() != "tags":
        raise InputError(f"{file}: first row 'cause' and the kinds of equipment, then row 'tags'")
    kinds = tuple(kind.strip() for kind in lines[0][1:])
    if not kinds or "" in kinds or len(set(kinds)) < len(kinds):
        raise InputError(f"{file}: each column needs a kind of equipment of its own")
    for row in lines:
        if len(row) != len(kinds) + 1:
            raise InputError(f"{file}, row '{row[0]}': has {len(row)} cells, not {len(kinds) + 1}")
    tags = {kind: tuple(cell.split()) for kind, cell in zip(kinds, lines[1][1:], strict=True)}
    every = [tag for group in tags.values() for tag in group]
    twice = sorted({tag for tag in every if every.count(tag) > 1})
    if twice:
        raise InputError(f"{file}: tag '{twice[0]}' stands under two kinds of equipment")
    return kinds, tags, lines[2:]


def read_verdict(cause, kind, cell, file):
    """A judgement as written, as `Verdict`.

    'credible: reason', 'not credible: reason', or 'credible, no load: reason' for what asks for no
    load of its own. Parameters: cause and kind of equipment, or tag, that it is of; cell, the
    words; file, for a message. Returns `Verdict`. Raises InputError for words without a verdict or
    a reason.
    """
    word, colon, reason = cell.partition(":")
    word, reason = word.strip().casefold(), reason.strip()
    if word not in VERDICTS or not colon or not reason:
        raise InputError(
            f"{file}, row '{cause}', column '{kind}': write 'credible: reason' or "
            f"'not credible: reason', not '{cell.strip()[:60]}'"
        )
    return Verdict(cause, kind, VERDICTS[word], reason, word.endswith("no load"))
