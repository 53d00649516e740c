"""Every public signature and docstring against the one table of symbols."""

import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import relieflib
from relieflib.kinds import DISPLAY, DISPLAY_OF
from relieflib.symbols import SYMBOLS, latex_of, symbol
from relieflib.units import SI_UNIT

SHELL = tuple(f"relieflib.{room}" for room in (
    "notebook", "report", "demo", "asking", "questions", "marking", "the_set", "book", "workshop",
    "__main__"))  # fmt: skip
PHYSICS = [
    name for _, name, _ in pkgutil.walk_packages(relieflib.__path__, "relieflib.")
    if not name.startswith(SHELL)
]  # fmt: skip
# the door and the tools: their parameters are values of any quantity, texts and files
FREE = {
    "relieflib.errors", "relieflib.kinds", "relieflib.units", "relieflib.symbols",
    "relieflib.texts", "relieflib.files", "relieflib.expressions", "relieflib.working",
    "relieflib.tables", "relieflib.summary", "relieflib.plant", "relieflib.toml_lines",
    "relieflib.credible", "relieflib.cause_words", "relieflib.valve_questions",
    "relieflib.browser_site", "relieflib.wheels",
    *(name for name in PHYSICS if "datasheet" in name or "slips" in name or "study" in name),
}  # fmt: skip


def public_functions():
    for name in PHYSICS:
        module = importlib.import_module(name)
        for key, thing in vars(module).items():
            if key.startswith("_") or getattr(thing, "__module__", None) != name:
                continue
            if inspect.isfunction(thing):
                yield pytest.param(name, thing, id=f"{name}.{key}")


MEASURED = re.compile(
    "pressure|temperature|_flow|flow_|area|density|length|diameter|volume|velocity|viscosity|coefficient|"
    "capacity|duty|heat|mass|fraction|ratio|factor|elevation|height|level|time|rate"
)


def quantities_of(docstring):
    """Words that a docstring gives a unit to: level and k of 'level [m], kind; k [-]'."""
    said = re.search(r"Parameters:(.*?)(?:Returns|$)", docstring, re.S)
    return set(re.findall(r"(\w+)\s+\[", said.group(1) if said else ""))


def test_a_unit_makes_a_quantity():
    found = quantities_of("Parameters: level [m], kind, words; c [-]. Returns m2.")
    assert found == {"level", "c"}


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_signature_and_docstring(module, function):
    text = inspect.getdoc(function)
    assert text and text.splitlines()[0].rstrip().endswith("."), "one line of what it does"
    parameters = list(inspect.signature(function).parameters)
    if module not in FREE:
        with_units = quantities_of(text)
        for name in parameters:
            plain = name not in with_units and not MEASURED.search(name)
            assert plain or name in SYMBOLS, f"{name} is not in symbols.txt"
            assert re.search(rf"\b{name}\b|as `", text), f"{name} is not in the docstring"
    assert "Returns" in text or "returns" in text.lower() or "as " in text or "Raise" in text
    if module not in FREE:
        assert re.search("Source|as `|Notes\n", text), "say the source"


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


UNIT = r"(?<!['’])\b(Pa|K|W|J|N|m|kg|s|dB|Btu|degrees?|bar|psi|mm|ft|°\w*)(?![\w'.-])"


def test_a_meaning_names_no_unit():
    # a unit in words is one that no switch of the unit set can change; a state it may name
    states = r"\d+ °[CF]|\d+ m\b|\d+ atm"
    for name, row in SYMBOLS.items():
        assert not re.search(UNIT, re.sub(states, "", row.meaning)), f"{name}: {row.meaning}"


def test_no_kind_shows_an_SI_unit_in_the_US_set_but_where_the_trade_does():
    same = {kind for kind, (si, us) in DISPLAY.items() if si == us}
    assert same == {"viscosity", "kinematic viscosity", "time", "dimensionless", "angle", "level",
                    "API gravity", "interval", "failure rate", "frequency"}  # fmt: skip
    assert set(DISPLAY) == set(SI_UNIT) and set(DISPLAY_OF) <= set(SYMBOLS)


@pytest.mark.parametrize("name, value, us, digit", [
    ("gravity", 9.80665, 32.174, 5e-4),  # NIST SP 811, B.8
    ("gas_constant", 8314.462618, 1.98588, 5e-6),  # Btu/(lbmol °R); CODATA 2018 over NIST's Btu
    ("fire_constant", 43_200.0, 21_000.0, 5.0),  # API 521 (2020), 4.4.13.2.4.2, both printed
    ("fouling_resistance", 0.000176, 0.001, 5e-6),  # TEMA, table of design fouling resistances
    ("peak_rate", 1.0, 108.0, 1e-9),  # by hand: 1 K/s = 1.8 °F/s = 108 °F/min
    ("pressure_rate", 1e5, 60 * 14.503774, 1e-4),  # by hand: 1 bar/s; NIST SP 811: 14.503 774 psi
    ("second_moment", 3.01e-6, 7.23, 0.01),  # pipe of NPS 4 schedule 40, from memory: 7.23 in4
])  # fmt: skip
def test_quantities_once_filed_as_plain_numbers_change_with_the_unit_set(name, value, us, digit):
    assert symbol(name).show(value, "US") == pytest.approx(us, abs=digit)


def test_unknown_name():
    with pytest.raises(ValueError, match="not in the table"):
        symbol("pressure_of_life")


def test_no_name_stands_twice():
    rows = (
        (Path(relieflib.__file__).parent / "tables/symbols.txt")
        .read_text(encoding="utf-8")
        .splitlines()
    )
    names = [row.split("|")[0].strip() for row in rows if "|" in row and row[0] != "#"]
    assert len(names) == len(set(names)), {n for n in names if names.count(n) > 1}
