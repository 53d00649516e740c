"""How sure is a size: against closed forms, SciPy's own distributions and an integral."""

import time

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.orifices import orifice_area
from relieflib.report.figures import new_figure
from relieflib.report.how_sure_figure import build_how_sure, picture, update_how_sure
from relieflib.sizing import ReliefLoad, size
from relieflib.study.how_sure import ONE_BY_ONE, SAMPLES, Range, drawn, how_sure, wilson

# API 520-I (2020), example 1: 24 270 kg/h of M 51 at 670 kPa and 348 K need 3698 mm2, letter P
STATED = {"mass_flow": 24270 / 3600, "temperature": 348.0, "molar_mass": 51.0}
P, Q = orifice_area("P"), orifice_area("Q")


def case(mass_flow, temperature, molar_mass, pressure=670e3, back_pressure=101325.0):
    gas = Gas(pressure, temperature, molar_mass=molar_mass, k=1.11, Z=0.90)
    return size(ReliefLoad("x", mass_flow, gas), Device(), back_pressure)


def one_by_one(mass_flow, temperature, molar_mass):
    if mass_flow > 1e9:  # no array passes here
        raise InputError("mass_flow: too large")
    return case(mass_flow, temperature, molar_mass)


# ------------------------------------------------------------ one at a time
def test_each_input_alone_by_the_closed_form():
    # choked gas: A is as W, as sqrt(T) and as 1/sqrt(M) (API 520-I (2020), 5.6.3)
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(300.0, 400.0),
              "molar_mass": Range(40.0, 60.0)}  # fmt: skip
    found = how_sure(case, STATED, ranges, samples=100)
    bars = {bar.name: bar for bar in found.bars}
    grows = {"mass_flow": 8 / 6, "temperature": (400 / 300) ** 0.5, "molar_mass": (60 / 40) ** 0.5}
    for name, ratio in grows.items():
        assert bars[name].most / bars[name].least == pytest.approx(ratio, rel=1e-12)
    assert found.area * 1e6 == pytest.approx(3698, rel=1e-3)  # the example, as printed
    assert bars["molar_mass"].at_most == 40.0 and bars["temperature"].at_most == 400.0
    # 8/6 is more than sqrt(60/40) = 1.22 and sqrt(400/300) = 1.15; in areas as in ratios
    assert [bar.name for bar in found.bars] == ["mass_flow", "molar_mass", "temperature"]


def test_which_input_moves_the_letter():
    # by hand: P holds up to 4116/3699 = 1.113 times the stated load, 7.50 kg/s
    ranges = {"mass_flow": Range(6.7, 7.45), "temperature": Range(348.0, 348.0 * 1.25)}
    found = how_sure(case, STATED, ranges, samples=100)
    load, hot = (next(b for b in found.bars if b.name == n) for n in ranges)
    assert not load.moves_letter and not load.moves_verdict and load.letters == ("P", "P")
    # sqrt(1.25) = 1.118 > 1.113
    assert hot.moves_letter and hot.moves_verdict and hot.letters == ("P", "Q")
    with_q = how_sure(case, STATED, ranges, area=Q, samples=100)
    assert with_q.held_against == "letter Q"
    assert not any(bar.moves_verdict for bar in with_q.bars)


def test_an_area_largest_inside_its_range_is_met():
    # a parabola: 3e-3 + 1e-3 (1 - (T - 350)^2/100) is largest in the middle, at 350
    class Needs:
        def __init__(self, temperature):
            self.required_area = 3e-3 + 1e-3 * (1 - (temperature - 350) ** 2 / 100)

    found = how_sure(Needs, {"temperature": 341.0}, {"temperature": Range(340, 360)}, samples=64)
    assert found.bars[0].at_most == 350.0 and found.bars[0].most == pytest.approx(4e-3)


# ------------------------------------------------------------ all together
def test_share_of_a_uniform_load_by_hand():
    # P holds up to W = 7.50 kg/s; of 6 to 8 kg/s alike, (8 - 7.50)/2 of the samples lie beyond
    most = STATED["mass_flow"] * P / case(**STATED).required_area
    found = how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)})
    assert found.together.by_arrays and found.together.samples == SAMPLES
    assert found.together.beyond == pytest.approx((8.0 - most) / 2.0, abs=2 / SAMPLES)
    assert found.together.letters["Q"] == found.together.beyond
    low, high = found.together.between
    assert low < (8.0 - most) / 2.0 < high


def test_share_of_two_inputs_by_an_integral():
    # beyond: W sqrt(T) > c; for each T the part of W in 6 to 8 above c/sqrt(T), by quadrature
    c = STATED["mass_flow"] * 348.0**0.5 * P / case(**STATED).required_area
    part = quad(lambda T: np.clip((8.0 - c / T**0.5) / 2.0, 0, 1) / 80.0, 310.0, 390.0)[0]
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(310.0, 390.0)}
    found = how_sure(case, STATED, ranges)
    assert found.together.between[0] < part < found.together.between[1]


def test_shapes_of_a_range_by_scipy():
    part = np.linspace(0.001, 0.999, 37)
    peaked, normal = Range(2.0, 6.0, likely=3.0), Range(2.0, 6.0, mean=3.5, deviation=0.8)
    even = Range(2.0, 6.0)
    assert even.at(part) == pytest.approx(stats.uniform.ppf(part, 2.0, 4.0))
    assert peaked.at(part) == pytest.approx(stats.triang.ppf(part, 0.25, 2.0, 4.0))
    cut = stats.truncnorm((2 - 3.5) / 0.8, (6 - 3.5) / 0.8, 3.5, 0.8)
    assert normal.at(part) == pytest.approx(cut.ppf(part))


def test_samples_are_spread_and_each_input_keeps_its_own():
    # of n samples one lies in each n-th of the range: that is a Latin hypercube
    ranges = {"mass_flow": Range(0.0, 1.0), "k": Range(1.1, 1.6)}
    both, alone = drawn(ranges, 500, 7), drawn({"k": ranges["k"]}, 500, 7)
    assert sorted((both["mass_flow"] * 500).astype(int)) == list(range(500))
    assert np.array_equal(both["k"], alone["k"])
    assert abs(np.corrcoef(both["mass_flow"], both["k"])[0, 1]) < 0.15
    assert not np.array_equal(both["k"], drawn(ranges, 500, 8)["k"])


def test_ends_of_a_share_by_scipy():
    for hits, count in ((0, 50), (3, 40), (500, 1000), (80, 80)):
        ends = stats.binomtest(hits, count).proportion_ci(0.95, "wilson")
        assert wilson(hits / count, count) == pytest.approx((ends.low, ends.high), abs=1e-7)


def test_the_same_seed_says_the_same():
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(310.0, 390.0)}
    first, again, other = (how_sure(case, STATED, ranges, samples=500, seed=s) for s in (3, 3, 4))
    assert np.array_equal(first.together.areas, again.together.areas)
    assert repr(first) == repr(again)
    assert not np.array_equal(first.together.areas, other.together.areas)


def test_more_area_leaves_fewer_beyond():
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(310.0, 390.0)}
    # by hand 3699 mm2 times 6/6.742 sqrt(310/348) to 8/6.742 sqrt(390/348): 3107 to 4646 mm2
    areas = np.linspace(3100e-6, 4650e-6, 9)
    shares = [how_sure(case, STATED, ranges, area=a, samples=400).together.beyond for a in areas]
    assert shares == sorted(shares, reverse=True) and shares[0] == 1.0 and shares[-1] == 0.0


def test_a_case_that_takes_no_arrays_is_worked_out_one_by_one():
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(310.0, 390.0)}
    slow = how_sure(one_by_one, STATED, ranges)
    fast = how_sure(case, STATED, ranges, samples=ONE_BY_ONE)
    assert not slow.together.by_arrays and slow.together.samples == ONE_BY_ONE
    assert slow.together.areas == pytest.approx(fast.together.areas, rel=1e-12)
    assert f"{ONE_BY_ONE} (one by one)" in repr(slow)


def test_a_function_that_mixes_samples_is_found_out():
    def mixes(mass_flow, temperature, molar_mass):  # one temperature for all of an array
        return case(mass_flow, np.mean(temperature), molar_mass)

    ranges = {"temperature": Range(310.0, 390.0)}
    found = how_sure(mixes, STATED, ranges, samples=200)
    assert not found.together.by_arrays
    right = how_sure(case, STATED, ranges, samples=200)
    assert found.together.areas == pytest.approx(right.together.areas, rel=1e-12)


def test_samples_that_cannot_be_sized_count_as_not_held():
    # a back pressure above P1 = 670 kPa lets nothing out; of 600 to 680 kPa alike that is 1/8
    stated = STATED | {"back_pressure": 600e3}
    ranges = {"back_pressure": Range(600e3, 680e3)}
    found = how_sure(case, stated, ranges, area=1.0, samples=400)
    assert found.together.not_sized == 50 and found.together.beyond == 50 / 400
    assert found.together.letters["not sized"] == 50 / 400
    assert found.bars[0].refused and "can't be sized" in found.rows()[-1][1]
    assert any("flow would reverse" in words for words in found.together.refused)
    assert np.isnan(found.together.areas).sum() == 50


def test_a_hundred_thousand_samples_of_a_gas_take_less_than_a_second():
    ranges = {"mass_flow": Range(6.0, 8.0), "temperature": Range(310.0, 390.0),
              "molar_mass": Range(48.0, 54.0)}  # fmt: skip
    start = time.perf_counter()
    found = how_sure(case, STATED, ranges)
    assert found.together.by_arrays and time.perf_counter() - start < 1.0


# ------------------------------------------------------------ what is refused
@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: Range(2.0, 1.0), "must be below high"),
        (lambda: Range(np.nan, 1.0), "low"),
        (lambda: Range(1.0, np.inf), "high"),
        (lambda: Range(1.0, 2.0, likely=3.0), "must lie from 1 to 2"),
        (lambda: Range(1.0, 2.0, likely=1.5, mean=1.5, deviation=0.1), "two shapes"),
        (lambda: Range(1.0, 2.0, mean=1.5), "go together"),
        (lambda: Range(1.0, 2.0, mean=1.5, deviation=0.0), "must be above 0"),
        (lambda: Range(1.0, 2.0, mean=9.0, deviation=0.5), "almost nothing"),
        (lambda: how_sure(case, STATED, {}), "none is invented"),
        (lambda: how_sure(case, STATED, {"Z": Range(0.8, 1.0)}), "no input of this case"),
        (lambda: how_sure(case, STATED, {"mass_flow": (6, 8)}), r"must be a Range"),
        (lambda: how_sure(case, STATED, {"mass_flow": Range(7.0, 8.0)}), "outside its own range"),
        (
            lambda: how_sure(case, STATED | {"mass_flow": np.nan}, {"mass_flow": Range(7.0, 8.0)}),
            "mass_flow",
        ),
        (
            lambda: how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)}, area=np.nan),
            "area",
        ),
        (lambda: how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)}, samples=0), "samples"),
        (lambda: how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)}, seed=-1), "seed"),
        (
            lambda: how_sure(case, STATED | {"mass_flow": 99.0}, {"mass_flow": Range(90.0, 110.0)}),
            "more than one valve",
        ),
    ],
)
def test_refused_in_words(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_what_is_said_stands_with_the_numbers():
    text = repr(how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)}, samples=100))
    for words in ("varies by itself", "not how often the valve fails", "no leave"):
        assert words in text


# ------------------------------------------------------------ the picture
def test_picture_moves_what_it_made():
    few = how_sure(case, STATED, {"mass_flow": Range(6.0, 8.0)}, samples=400)
    ranges = {"mass_flow": Range(6.0, 7.0), "temperature": Range(310.0, 390.0)}
    more = how_sure(case, STATED, ranges, samples=400)
    figure = new_figure()
    artists = build_how_sure(figure, few)
    before = sum(len(ax.get_children()) for ax in figure.axes)
    words = update_how_sure(artists, more, "US")
    assert sum(len(ax.get_children()) for ax in figure.axes) == before
    assert "in²" in words and "temperature" in words and "letter P" in words
    assert picture(few).alt.count("%") >= 1


def test_no_more_bars_than_the_picture_holds():
    names = [f"input_{i}" for i in range(9)]

    class Needs:
        def __init__(self, **given):
            self.required_area = 1e-3 + 1e-4 * sum(given.values())

    found = how_sure(Needs, dict.fromkeys(names, 0.5), dict.fromkeys(names, Range(0.0, 1.0)),
                     samples=64)  # fmt: skip
    with pytest.raises(InputError, match="up to 8 inputs"):
        picture(found)
