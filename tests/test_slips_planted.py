"""Slips planted on sheets that a clerk works out by the published equations: are they named?

Everything of the clerk's stands in `slip_sheets.py`, apart from the package. Measured shares stand
in `tests/benchmarks/bench_slips.py`, which runs the same on more sheets.
"""

import importlib.util
from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from relieflib.datasheet.checks import check_row
from relieflib.datasheet.columns import Cell
from relieflib.slips import CATALOGUE, explain

_spec = importlib.util.spec_from_file_location(
    "slip_sheets", Path(__file__).with_name("slip_sheets.py")
)
lot = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(lot)

SEED, COUNT = 20_261_126, 8
FIRST, NAMED = 0.90, 0.98


@cache
def scored():
    return lot.score(COUNT, SEED)


def total(figures, phase=None):
    marks = scored()[0]
    return sum(
        (c for (p, _, n), c in marks.items() if n == figures and phase in (None, p)), Counter()
    )


def test_enough_is_planted():
    planted = {key for _, key, _ in scored()[0]}
    rare = {"superimposed left out", "variable left out", "in m2"}  # a lot may hold none of these
    assert {*lot.BY_HAND, *lot.OF_RESULT} - planted <= rare | {"US for imperial gallon"}
    assert total(3)["cases"] > 1000


@pytest.mark.parametrize("figures", [3, 4, 5])
def test_a_planted_slip_is_first_and_named(figures):
    # measured: first 94, 98, 99 %; named 99.8 % and more
    all_of_them = total(figures)
    assert all_of_them["first"] >= FIRST * all_of_them["cases"]
    assert all_of_them["named"] >= NAMED * all_of_them["cases"]
    for phase in lot.DRAWN:
        of_phase = total(figures, phase)
        assert of_phase["first"] >= (FIRST if figures > 3 else 0.87) * of_phase["cases"], phase
        assert of_phase["named"] >= NAMED * of_phase["cases"], phase


@pytest.mark.parametrize("figures", [3, 4, 5])
def test_it_is_is_said_of_the_right_one_alone(figures):
    # the planted slip or, once in a thousand, another that comes to the same number
    found = total(figures)
    assert found["wrongly"] <= 1e-3 * found["cases"]
    assert found["it_is"] >= 0.4 * found["cases"], "it is said at all"


@pytest.mark.parametrize("figures", [3, 4, 5])
def test_nothing_is_claimed_of_a_clean_sheet(figures):
    clean = sum((c for (_, n), c in scored()[1].items() if n == figures), Counter())
    assert clean["clean"] == COUNT * len(lot.DRAWN) and clean["claimed"] == 0


def test_a_number_wrong_at_random_is_seldom_said_to_be_a_slip():
    # measured 1 % (see the benchmark); explained in the weaker words: 12 %
    random = sum(scored()[1].values(), Counter())
    assert random["sure"] <= 0.04 * random["random"]
    assert random["explained"] <= 0.22 * random["random"]


def test_the_catalogue_does_what_the_clerk_does():
    # ratio of the slipped area to the right one: printed constants cancel, 14.7 and 460 do not
    seen = Counter()
    for phase in lot.DRAWN:
        for d, right, way in lot.sheets(phase, 4, SEED + 1):
            ways = lot.outcomes_of(d, way)
            of = {slip.key: value / ways.right for slip, value in ways.singles}
            for key, number in lot.planted(d, right).items():
                seen[key] += key in of
                if key in of:
                    assert of[key] == pytest.approx(number / right, rel=1.2e-3), (key, d)
    assert len(seen) > 75 and all(seen[key] for key in seen), seen


def test_the_right_area_is_the_clerk_s():
    for phase in lot.DRAWN:
        for d, right, way in lot.sheets(phase, 4, SEED + 2):
            own = lot.outcomes_of(d, way).right * 1e6 / (lot.IN2 if d["us"] else 1.0)
            # 520 for 519.45 at most, beside 14.7 for 14.696 psi and 460 for 459.67 °R
            assert own == pytest.approx(right, rel=1.5e-3)
            assert min(abs(own * b / right - 1) for b in way[2]) < 8e-4


def test_every_slip_of_the_catalogue_is_planted_here_or_there():
    elsewhere = {  # with pressures, in questions, or with one sheet of its own
        "credit left out", "viscosity ignored", "superimposed added", "multiplier left out",
        "multiplier upside down", "valve taken as conventional", "suction forgotten",
        "suction and atmosphere forgotten", "suction in gauge", "rated for shut-off head",
        "psi read as kPa", "kPa read as psi", "actual for standard volume", "derating left out",
        "per hour for per minute", "per second for per hour", "Kw of absolute pressures",
        "subcooling left out", "site's own atmosphere", "power of ten -2", "power of ten -6",
    }  # fmt: skip
    assert {slip.key for slip in CATALOGUE} == (
        {*lot.BY_HAND, *lot.OF_RESULT, *elsewhere} - {"in in2", "in mm2", "in cm2", "in m2"}
    )


# --- two at once ----------------------------------------------------------------------------------


def test_two_common_slips_at_once():
    # pairs that happen often, both made by the clerk. Measured: named 9 of 10; nearly all others
    # lie so near to a single slip that this is named, which an honest reader would think first
    often = [slip.key for slip in CATALOGUE if slip.common == "often" and slip.key in lot.BY_HAND]
    rng, marks = np.random.default_rng(SEED), Counter()
    for phase in lot.DRAWN:
        for d, right, way in lot.sheets(phase, 6, SEED + 3):
            ways = lot.outcomes_of(d, way)
            able = [key for key in lot.planted(d, right) if key in often]
            for _ in range(3):
                a, b = rng.choice(able, 2, replace=False)
                number = both(d, right, a, b)
                if number is None:
                    continue
                found = lot.found_for(d, way, ways, number, 4)
                keys = [{slip.key for slip in group} for group in found]
                words = explain(found)
                marks.update(
                    cases=1, named={a, b} in keys, single=bool(keys) and len(keys[0]) == 1,
                    wrongly=words.startswith("It is") and {a, b} not in keys,
                )  # fmt: skip
    assert marks["cases"] > 40
    assert marks["named"] + marks["single"] >= 0.93 * marks["cases"], marks
    assert marks["named"] >= 0.7 * marks["cases"] and marks["wrongly"] <= 0.04 * marks["cases"]


def both(d, right, a, b):
    """The clerk's area with two slips, None where one undoes the other."""
    one = {key: lot.area_by_hand(lot.BY_HAND[key][1](d)) for key in (a, b)}
    new = lot.BY_HAND[a][1](d)
    new = new and lot.BY_HAND[b][1](new)
    number = new and lot.area_by_hand(new)
    same = number and any(abs(number / n - 1) < 1e-6 for n in one.values())
    return None if not number or same or abs(number / right - 1) < lot.MOVED else number


# --- through the whole check ----------------------------------------------------------------------


def sheet(d, area, figures=4):
    """The clerk's sheet with its area stated."""
    row, (stated, half) = lot.row_of(d), lot.rounded(area, figures)
    unit, factor = ("in2", lot.IN2 * 1e-6) if d["us"] else ("mm2", 1e-6)
    row.cells["required_area"] = Cell(
        stated * factor, f"{stated:g}", unit, "area", half * stated * factor
    )
    return row


def reason(row):
    return next((c for c in check_row(row) if c.name == "required area"), None)


# what these take stands in no column of a sheet: questions alone give it
NO_COLUMN = {"operating for relieving temperature", "k of the real fluid", "isentropic exponent"}


def test_on_whole_sheets():
    told = Counter()
    for phase in ("gas", "steam", "liquid"):
        for d, right, _ in lot.sheets(phase, 3, SEED + 4):
            clean = reason(sheet(d, right))
            assert clean.verdict == "agrees" and "come" not in clean.reason, clean
            for key, number in list(lot.planted(d, right).items())[::5]:
                if key in NO_COLUMN:
                    continue
                found = reason(sheet(d, number))
                assert found.verdict == "differs"
                told.update(cases=1, named=lot.WORDS[key] in found.reason)
    assert told["cases"] > 60 and told["named"] >= 0.97 * told["cases"], told


def test_a_sheet_s_own_relieving_pressure_is_named():
    # 10 barg and 10 %: 12.013 bara; the sheet says 11.5 bara, and its area follows from that
    rng = np.random.default_rng(SEED)
    d, right, _ = next(lot.sheets("gas", 1, SEED + 5))
    factor = (lot.PSI if d["us"] else 1.0) * 1e3
    wrong = {**d, "P1": d["P1"] * float(rng.uniform(0.88, 0.92))}
    row = sheet(d, lot.area_by_hand(wrong), 5)
    row.cells["relieving_pressure"] = Cell(
        wrong["P1"] * factor, f"{wrong['P1']:.5g}", "Pa", "pressure", 1e-4 * wrong["P1"] * factor
    )
    assert "own relieving pressure" in reason(row).reason
