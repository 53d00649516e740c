"""A slice of the fuzzers for every run of the tests."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import fuzz_files
import fuzz_shapes


@pytest.mark.parametrize("seed", [1, 2])
def test_damaged_lists_lose_no_good_row(tmp_path, seed):
    rows, faults, lost = fuzz_files.fuzz_rows(1500, seed, tmp_path)
    assert rows > 1200 and faults == 0 and lost == 0


@pytest.mark.skipif(sys.platform == "win32", reason="kills as POSIX has them")
def test_killed_saves_lose_nothing_and_leave_nothing(tmp_path):
    assert fuzz_files.fuzz_saves(3, 1, tmp_path) == (3, 0, 0)


@pytest.mark.skipif(sys.platform == "win32", reason="kills as POSIX has them")
def test_killed_saves_of_a_study_lose_no_case(tmp_path):
    child, there = fuzz_files.SAVES_CASES, fuzz_files.cases_of
    assert fuzz_files.fuzz_saves(2, 1, tmp_path, child, there) == (2, 0, 0)


@pytest.mark.parametrize("make", fuzz_shapes.SHAPES, ids=lambda make: make.__name__)
def test_damaged_sheets_of_every_shape_lose_no_good_valve(make):
    for seed in ("a", "b", "c"):
        counts, words = fuzz_shapes.fuzz(make, seed)
        assert counts[0] >= 1 and counts[1:] == (0, 0, 0), words
