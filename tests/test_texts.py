"""Numbers and units as text: one way, held against the decimal itself and what print looks like."""

import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

import relieflib
from relieflib.kinds import DISPLAY, FACTORS
from relieflib.symbols import shown
from relieflib.texts import harmless, number_text, unit_text, with_unit
from relieflib.units import unit_name


@given(st.floats(min_value=1e-4, max_value=9e9), st.integers(2, 9), st.booleans())
def test_a_number_keeps_its_figures_and_shows_no_power_of_ten(value, figures, whole):
    text = number_text(value, figures, whole)
    assert re.fullmatch(r"\d+(\.\d*[1-9])?", text)
    # by the meaning of significant figures: at most half of the last one is lost
    half = Decimal(5).scaleb(Decimal(value).adjusted() - figures)
    assert abs(Decimal(text) - Decimal(value)) <= half * Decimal("1.0000001")
    if whole:
        assert abs(Decimal(text) - Decimal(value)) <= Decimal("0.5000001")


@pytest.mark.parametrize("value, text", [
    (None, ""), ("P", "P"), ("", ""), (float("nan"), "nan"), (0.0, "0"), (-12345678.0, "-12345700"),
    (3e-7, "3e-07"), (2e12, "2e+12"), (7, "7"), (np.float64(0.5), "0.5"),
    (np.array([1.0, 2.0]), "[2 values]"),
])  # fmt: skip
def test_what_is_no_plain_number(value, text):
    assert number_text(value) == text


@pytest.mark.parametrize("unit, text", [
    ("m2", "m²"), ("mm2", "mm²"), ("in2", "in²"), ("ft3/lb", "ft³/lb"), ("kg/(m2 s)", "kg/(m² s)"),
    ("m2 K/W", "m² K/W"), ("in4", "in⁴"), ("kg/cm2g", "kg/cm²g"), ("inH2O", "inH2O"),
    ("W/m^1.64", "W/m^1.64"), ("-", ""), ("barg", "barg"),
])  # fmt: skip
def test_powers_are_raised(unit, text):
    # as SI units are printed (SI brochure, 9th edition, 5.2)
    assert unit_text(unit) == text


def test_every_unit_is_read_back_as_it_is_printed():
    units = {u for group in FACTORS.values() for u in group} | {
        u for d in DISPLAY.values() for u in d
    }
    for unit in units - {"-"}:
        assert unit_name(unit_text(unit)) == unit


def test_number_and_unit():
    assert with_unit(None, "m2") == "" and with_unit(0.975, "-") == "0.975"
    assert shown("required_area", None) == "" and shown("Kd", 0.975) == "0.975"
    # by hand: 300 kg/s are 1 080 000 kg/h
    assert shown("mass_flow", 300.0, space="\N{NO-BREAK SPACE}") == "1080000\N{NO-BREAK SPACE}kg/h"
    assert shown("pressure", 1e5, atmosphere=84e3) == "1 bara"


def test_foreign_text_is_made_harmless():
    assert harmless("a\nb\x1b[2J") == "a?b?[2J" and harmless("x" * 41) == "x" * 40 + "..."


def test_powers_are_raised_in_one_place_alone():
    # whoever else writes one by code would be a second place
    base = Path(relieflib.__file__).parent
    code = {p.relative_to(base).as_posix(): p.read_text("utf-8") for p in base.rglob("*.py")}
    places = {
        name for name, text in code.items() if re.search(r"replace\(.*[²³]|sub\(.*[²³]", text)
    }
    assert not places
