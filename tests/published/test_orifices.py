"""Letters, areas and sizes against API 526 as printed."""

import fluids
import numpy as np
import pytest

from relieflib import orifices as o
from relieflib.errors import InputError
from relieflib.units import from_si, to_si

# API 526, table 1, in2; mm2 as commonly printed. Read.
IN2 = dict(zip("DEFGHJKLMNPQRT", [0.110, 0.196, 0.307, 0.503, 0.785, 1.287, 1.838, 2.853, 3.60,
                                  4.34, 6.38, 11.05, 16.0, 26.0]))  # fmt: skip
MM2 = dict(zip("DEFGHJKLMNPQRT", [71, 126, 198, 325, 506, 830, 1186, 1841, 2323, 2800, 4116, 7129,
                                  10323, 16774]))  # fmt: skip


def test_letters():
    assert list(o.LETTERS) == list(IN2)
    for letter, area in IN2.items():
        assert from_si(o.orifice_area(letter), "in2", "area") == pytest.approx(area, rel=1e-9)
        assert o.orifice_area(letter) * 1e6 == pytest.approx(MM2[letter], abs=0.51)


def test_selection_rounds_up():
    # API 526: the next letter up; rows at, just above and beyond each area
    areas = to_si(np.array([0.11, 0.1101, 5.73, 6.38, 6.3801, 26.0, 26.01]), "in2", "area")
    assert o.select_letter(areas).tolist() == ["D", "E", "P", "P", "Q", "T", None]
    assert [o.select_letter(a) for a in areas] == ["D", "E", "P", "P", "Q", "T", None]
    assert o.select_letter(float("nan")) is None and np.isnan(o.next_area(float("nan")))


# Zappe, Valve Selection Handbook, table 5-1: outlet area over orifice area, for sch. 40 pipe.
ZAPPE = [
    ("D", "1", "2", 30.55), ("D", "1-1/2", "2-1/2", 43.55), ("E", "1", "2", 17.14),
    ("E", "1-1/2", "2-1/2", 24.44), ("F", "1-1/2", "2", 10.94), ("F", "1-1/2", "2-1/2", 15.6),
    ("G", "1-1/2", "2-1/2", 9.52), ("G", "2", "3", 14.71), ("H", "1-1/2", "3", 9.43),
    ("H", "2", "3", 9.43), ("J", "2", "3", 5.75), ("J", "2-1/2", "4", 9.91), ("J", "3", "4", 9.91),
    ("K", "3", "4", 6.94), ("K", "3", "6", 15.73), ("L", "3", "4", 4.47), ("L", "4", "6", 10.14),
    ("M", "4", "6", 8.03), ("N", "4", "6", 6.66), ("P", "4", "6", 4.53), ("Q", "6", "8", 4.52),
    ("R", "6", "8", 3.12), ("R", "6", "10", 4.93), ("T", "8", "10", 3.03),
]  # fmt: skip


@pytest.mark.parametrize("letter, inlet, outlet, ratio", ZAPPE)
def test_pairs(letter, inlet, outlet, ratio):
    assert (inlet, outlet) in o.PAIRS[letter]
    size = {"2-1/2": 2.5}.get(outlet) or float(outlet)
    bore = fluids.nearest_pipe(NPS=size, schedule="40")[1]
    assert np.pi / 4 * bore**2 / o.orifice_area(letter) == pytest.approx(ratio, rel=0.012)


def test_designation_reads_inlet_letter_outlet():
    # common practice, no source (API 526 lists the same order)
    d = o.parse_designation("3L4")
    assert (d.inlet, d.letter, d.outlet, d.standard) == ("3", "L", "4", True)
    assert d.area == pytest.approx(to_si(2.853, "in2", "area"))
    assert str(o.parse_designation("1-1/2 x G x 2.5")) == "1-1/2 G 2-1/2"
    for letter in o.LETTERS:
        usual = o.usual_designation(letter)
        assert usual.standard and o.parse_designation(str(usual)) == usual
    assert not o.parse_designation("4L4").standard


def test_arrangements():
    # API 520-I C.2.2.2: 38.03 in2 is above T; T + R = 42 in2 is enough, T + Q = 37.05 in2 is not
    found = o.arrangements(to_si(38.03, "in2", "area"), valves=2)
    assert [a.duty for a in found] == [("R", "T"), ("T", "T")]
    assert found[0].excess == pytest.approx(42 / 38.03 - 1)
    assert all(a.area >= to_si(38.03, "in2", "area") for a in found)
    spare = o.arrangements(to_si(5.73, "in2", "area"), spare=True)
    assert spare[0].duty == ("P",) and spare[0].spare == ("P",)
    assert [len(a.duty) for a in spare] == [1, 2, 2]
    with pytest.raises(InputError, match="8 valves"):
        o.arrangements(1.0)


def test_staggered_sets():
    # ASME BPVC VIII-1 UG-134(a): first at MAWP, the others up to 105 %
    assert o.staggered_sets(1e6, 3) == pytest.approx((1.0e6, 1.025e6, 1.05e6))
    assert o.staggered_sets(1e6, 1) == (1e6,)


def test_flange_class_ceiling():
    # ASME B16.5 group 1.1 at 38 C: class 150 carries 285 psig, class 300 740 (read); the letter's
    # own ceilings are from memory and say so
    for letter in "DEFGHJKLMN":
        assert from_si(o.highest_set_of_class(letter, 150), "psig", "gauge pressure") == (
            pytest.approx(285))  # fmt: skip
    assert o.highest_set_of_class("T", 900) is None
    # M, N and P in class 900: not seen, so not known rather than "no such valve"
    assert all(np.isnan(o.highest_set_of_class(letter, 900)) for letter in "MNP")
    limits = [o.highest_set_of_class("P", c) for c in (150, 300, 600)]
    assert limits == sorted(limits)


@pytest.mark.parametrize("call", [
    lambda: o.orifice_area("S"), lambda: o.parse_designation("L"),
    lambda: o.parse_designation("3S4"), lambda: o.parse_designation("1.3L4"),
    lambda: o.parse_designation(""), lambda: o.parse_designation("<b>3L4</b>"),
    lambda: o.select_letter(0.0), lambda: o.highest_set_of_class("P", 400),
    lambda: o.staggered_sets(1e6, 0),
])  # fmt: skip
def test_impossible_values(call):
    with pytest.raises(InputError):
        call()
