"""Every public signature and docstring against the one table of symbols."""

import importlib
import inspect
import pkgutil
import re

import pytest

import relieflib
from relieflib.symbols import CHOICES, SYMBOLS, latex_of, symbol
from relieflib.units import SI_UNIT

SHELL = tuple(f"relieflib.{room}" for room in ("notebook", "report", "demo", "__main__"))
PHYSICS = [
    name for _, name, _ in pkgutil.walk_packages(relieflib.__path__, "relieflib.")
    if not name.startswith(SHELL)
]  # fmt: skip
# the door and the tools: their parameters are values of any quantity, texts and files
FREE = {
    "relieflib.errors", "relieflib.units", "relieflib.symbols", "relieflib.working",
    "relieflib.tables", "relieflib.slips", "relieflib.summary", "relieflib.plant",
    "relieflib.credible", "relieflib.cause_words", "relieflib.valve_questions",
    *(name for name in PHYSICS if "datasheet" in name),
}  # fmt: skip


def public_functions():
    for name in PHYSICS:
        module = importlib.import_module(name)
        for key, thing in vars(module).items():
            if key.startswith("_") or getattr(thing, "__module__", None) != name:
                continue
            if inspect.isfunction(thing):
                yield pytest.param(name, thing, id=f"{name}.{key}")


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_signature_and_docstring(module, function):
    text = inspect.getdoc(function)
    assert text and text.splitlines()[0].rstrip().endswith("."), "one line of what it does"
    parameters = list(inspect.signature(function).parameters)
    if module not in FREE:
        for name in parameters:
            assert name in SYMBOLS or name in CHOICES, f"{name} is not in symbols.py"
            assert re.search(rf"\b{name}\b|as `", text), f"{name} is not in the docstring"
    assert "Returns" in text or "returns" in text.lower() or "as " in text or "Raise" in text
    if module not in FREE:
        assert "Source" in text or "as `" in text, "say the source"


def test_table_is_sound():
    assert len(SYMBOLS) > 80
    for name, row in SYMBOLS.items():
        assert row.kind in SI_UNIT, name
        assert re.fullmatch(r"[A-Za-z]\w*", row.symbol), name
        assert name.endswith("_gauge") == (row.kind == "gauge pressure"), name
        assert latex_of(row.symbol) and row.meaning, name
        for unit_set in ("SI", "US"):
            value = 0.37 if row.kind == "dimensionless" else 354.0
            assert row.read(row.show(value, unit_set), unit_set) == pytest.approx(value)


def test_unknown_name():
    with pytest.raises(ValueError, match="not in the table"):
        symbol("pressure_of_life")
