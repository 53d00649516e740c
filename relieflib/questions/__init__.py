"""The bank: what each notebook asks, one module a notebook, named as the notebook's subject.

A module holds NOTEBOOK, the number; QUESTIONS, a tuple in the order of asking; WARM_UP, two pairs
(notebook, key) met again at the start. Nothing here is secret, and nothing here is shown.
"""

import importlib
import pkgutil
from functools import cache

from relieflib.asking.question import Worked, asked
from relieflib.errors import InputError


@cache
def bank():
    """{number of a notebook, two digits: its module}, in order."""
    names = (module.name for module in pkgutil.iter_modules(__path__))
    modules = [importlib.import_module(f"{__name__}.{name}") for name in names]
    return {f"{m.NOTEBOOK:02d}": m for m in sorted(modules, key=lambda m: m.NOTEBOOK)}


def questions_of(book):
    """The questions of a notebook. Raises InputError where it has none."""
    if book not in bank():
        raise InputError(f"notebook '{book}' asks nothing; these do: {', '.join(bank())}")
    return bank()[book].QUESTIONS


def question(book, key):
    """One question. Raises InputError for a key that its notebook does not have."""
    for one in questions_of(book):
        if one.key == key:
            return one
    raise InputError(f"{book}: no question '{key}'")


def asked_in(book, person):
    """All that a notebook asks a person, the warm-up first. Returns a list of `Asked`."""
    return [*warm_up_of(book, person), *(asked(q, book, person) for q in questions_of(book)
                                         if not isinstance(q, Worked))]  # fmt: skip


def warm_up_of(book, person):
    """The two questions of earlier notebooks that a notebook begins with, as `Asked`."""
    questions_of(book)
    pairs = getattr(bank()[book], "WARM_UP", ())
    return [asked(question(*pair), book, person, origin=pair[0]) for pair in pairs]
