"""Questions: right, wrong and untouched answers; kept answers; participants; slips by number.

Slips are held against the slip done by hand in the test, with API 520-I (2020), example 1 of
clause 5.6 (hydrocarbon vapour: 24 270 kg/h, 670 kPa, 348 K, M 51, k 1.11, Z 0.90; prints
3698 mm2 = 5.73 in2 from rounded coefficients, 3699.0 mm2 unrounded).
"""

import hashlib
import json
import os
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest

from relieflib.asking import kept
from relieflib.errors import InputError
from relieflib.notebook import questions
from relieflib.notebook.questions import Question, Varies, answer_key, kept_answers, varied
from relieflib.nozzle import gas
from relieflib.slips import CATALOGUE, explain, find_slips, unit_slips, used_instead
from relieflib.symbols import SYMBOLS

ATM = 101_325.0
EXAMPLE = {
    "mass_flow": 24270 / 3600, "pressure": 670e3, "temperature": 348.0, "molar_mass": 51.0,
    "k": 1.11, "Z": 0.90, "Kd": 0.975, "set_pressure_gauge": 517e3,
}  # fmt: skip


def area(mass_flow, pressure, temperature, molar_mass, k, Z, Kd, set_pressure_gauge=None):
    return mass_flow / (Kd * gas.mass_flux(pressure, temperature, molar_mass=molar_mass, k=k, Z=Z))


def question(**change):
    parts = {
        "key": "1", "text": "Which area at {temperature}, {mass_flow}?", "compute": area,
        "inputs": EXAMPLE, "answer": "required_area", "hint": "Choked?", "solution": "W/(Kd G).",
        "book": "test",
    } | change  # fmt: skip
    return Question(**parts)


def elsewhere(code):
    """What a code prints in another Python, with another seed of its hashes."""
    env = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2]), "PYTHONHASHSEED": "77"}
    command = [sys.executable, "-c", code]
    return subprocess.run(command, capture_output=True, text=True, env=env, check=True).stdout


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "my-work"))
    return tmp_path / "my-work"


# ---------------------------------------------------------------- verdicts
@pytest.mark.parametrize("attempt", [None, "", (None, None)])
def test_untouched_is_not_wrong(attempt, own_folder):
    said = question().check(attempt)
    assert said.verdict == "not attempted" and repr(said).startswith("… not attempted")
    assert not own_folder.exists(), "nothing is kept of an untouched question"


@pytest.mark.parametrize("attempt", [
    (3698, "mm2"), (3698, "mm²"), ("3698", "mm2"), (5.73, "in2"), (36.98e-4, "m2"), (36.98, "cm2"),
])  # fmt: skip
def test_right_in_any_unit(attempt):  # 3698 mm2 = 5.73 in2 as printed in API 520-I
    assert question().check(attempt).verdict == "right"


@pytest.mark.parametrize("attempt, words", [
    (3698, "value with its unit"), ((3698, "kg/h"), "does not measure area"),
    ((3698, "mn2"), "not known"), (("abc", "mm2"), "must be a number"),
    ((float("nan"), "mm2"), "not one number"), ((float("inf"), "mm2"), "must be finite"),
    (([3698, 2], "mm2"), "not one number"), ((1869.3, "kg/(m2 s)"), "does not measure area"),
    ((3698, "mm2", 1), "value with its unit"), (object(), "value with its unit"),
])  # fmt: skip
def test_what_can_not_be_read_is_wrong_with_words(attempt, words):
    said = question().check(attempt)
    assert said.verdict == "wrong" and words in said.words


@pytest.mark.parametrize("attempt, verdict", [
    ("P", "right"), (" p ", "right"), ("Q", "wrong"), (7, "wrong"), (None, "not attempted"),
])  # fmt: skip
def test_a_word_is_an_answer(attempt, verdict):
    assert question(compute=lambda **i: "P", answer=None).check(attempt).verdict == verdict


@pytest.mark.parametrize("attempt, verdict", [
    ("yes", "right"), (True, "right"), (False, "wrong"), ("no", "wrong")])  # fmt: skip
def test_yes_and_no(attempt, verdict):
    assert question(compute=lambda **i: "yes", answer=None).check(attempt).verdict == verdict


def test_tolerance_is_the_question_s():
    q = question(tolerance=0.001)
    assert q.check((3698.98 * 1.0009, "mm2")).verdict == "right"
    assert q.check((3698.98 * 1.0030, "mm2")).verdict == "wrong"


def test_texts_show_data_hint_and_solution():
    q = question()
    assert repr(q.ask()) == "Question 1. Which area at 74.85 °C, 24270 kg/h?"
    assert "Choked?" in q.show_hint()
    assert "3699 mm² = 5.733 in²" in q.show_solution()


@pytest.mark.parametrize("stated, words", [
    (11.0, "gauge was given for absolute"), (13.0265, "absolute for gauge"),
    (11.35, "too small"), (12.6, "too large"),
])  # fmt: skip
def test_gauge_and_absolute_are_told_apart(stated, words):
    # MAWP 10 barg, one valve: P1 = 1.1 * 10 + 1.01325 = 12.01325 bara, by hand
    q = question(compute=lambda mawp_gauge: 1.1 * mawp_gauge + ATM, inputs={"mawp_gauge": 10e5},
                 answer="pressure")  # fmt: skip
    assert q.check((12.01, "bara")).verdict == q.check((11.0, "barg")).verdict == "right"
    assert words in q.check((stated, "bara")).words


def test_one_atmosphere_is_not_seen_in_a_large_pressure():
    q = question(compute=lambda mawp_gauge: 1.1 * mawp_gauge + ATM, inputs={"mawp_gauge": 80e5},
                 answer="pressure")  # fmt: skip
    assert "atmosphere" not in q.check((89.01325 - 1.5, "bara")).words


# ---------------------------------------------------------------- kept answers
def test_answers_outlive_a_kernel_and_none_is_overwritten(own_folder):
    q = question()
    q.check((1.0, "mm2"))
    q.check((3698, "mm2"))
    q.check((3698, "mm2"))
    code = (
        "from relieflib.asking.kept import kept_answers, last_answer\n"
        "print(len(kept_answers()['test/1/0']), last_answer('test/1/0')['verdict'])"
    )
    assert elsewhere(code).split() == ["2", "right"]
    assert "last time you gave (3698, 'mm2'), which was right" in q.check(None).words
    assert question(participant=5).check(None).words.startswith("replace None")
    assert [p.name for p in own_folder.iterdir()] == ["answers.json"]


@pytest.mark.parametrize("broken", [b"{", b"[1]", b'{"a": 3}', b"\xff\xfe\x00", b""])
def test_a_broken_file_is_set_aside(own_folder, broken):
    own_folder.mkdir()
    for number in range(2):
        (own_folder / "answers.json").write_bytes(broken)
        question().check((3698 + number, "mm2"))
        assert list(kept_answers()) == ["test/1/0"]
    aside = sorted(own_folder.glob("answers.broken*"))
    assert len(aside) == 2 and all(p.read_bytes() == broken for p in aside)


def test_a_folder_that_can_not_be_written_costs_no_verdict(own_folder, monkeypatch):
    def full(path, text):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(kept, "write_whole", full)
    said = question().check((3698, "mm2"))
    assert said.verdict == "right" and "No space left" in said.words
    own_folder.rmdir()
    own_folder.write_text("a file where the folder should be")
    assert question().check((3698, "mm2")).verdict == "right"
    assert question().check(None).verdict == "not attempted"


# ---------------------------------------------------------------- participants
def test_participants_get_the_same_data_on_every_machine():
    v = Varies(10e5, 5e5, 15e5, 0.5)
    here = [varied(v, "set_pressure_gauge", "q", n) for n in range(40)]
    assert here[0] == 10e5 and len(set(here)) > 12
    assert all(5e5 - 1 <= x <= 15e5 + 1 and abs(x / 5e4 - round(x / 5e4)) < 1e-9 for x in here)
    # FIPS 180-4, SHA-256 example: the digest of 'abc' begins ba7816bf 8f01cfea
    assert hashlib.sha256(b"abc").hexdigest().startswith("ba7816bf8f01cfea")
    # the digest of 'q|set_pressure_gauge|7' begins 35b88a6f, as coreutils' sha256sum printed it:
    # 0x35b88a6f / 2^32 = 0.20985 of the way from 5 to 15 barg is 7.098, so 7.0 at steps of 0.5
    assert hashlib.sha256(b"q|set_pressure_gauge|7").hexdigest().startswith("35b88a6f")
    assert here[7] == pytest.approx(7.0e5)
    code = (
        "import json\nfrom relieflib.notebook.questions import *\n"
        "v = Varies(10e5, 5e5, 15e5, 0.5)\n"
        "print(json.dumps([varied(v, 'set_pressure_gauge', 'q', n) for n in range(40)]))"
    )
    assert json.loads(elsewhere(code)) == here


def test_questions_and_quantities_differ_within_a_participant():
    v = Varies(300.0, 280.0, 400.0, 0.1)
    parts = {varied(v, name, key, 3) for name in ("temperature", "upstream_temperature")
             for key in ("1", "2", "3")}  # fmt: skip
    assert len(parts) == 6


def test_answer_key_holds_what_check_calls_right():
    inputs = EXAMPLE | {"temperature": Varies(348.0, 320.0, 400.0, 1.0)}
    qs = [question(inputs=inputs), question(key="2", compute=lambda **i: "P", answer=None)]
    key = answer_key(qs, range(4))
    assert list(key.columns) == ["1", "2"] and list(key.index) == [0, 1, 2, 3]
    for n in range(4):
        value, unit = key.loc[n, "1"].split(" = ")[0].split(" ")
        assert question(inputs=inputs, participant=n).check((value, unit)).verdict == "right"
    assert key["1"].nunique() == 4 and set(key["2"]) == {"P"}


# ---------------------------------------------------------------- slips
BY_HAND = {  # the slip done by hand on the example, as factors on the right area
    "gauge taken as absolute": 670 / (670 - 101.325),
    "absolute raised again": 670 / (670 + 101.325),
    "set for relieving pressure": 670 / (517 + 101.325),
    "°C not made absolute": np.sqrt((348 - 273.15) / 348),
    "Z left out": np.sqrt(1 / 0.90),
    "SG for molar mass": np.sqrt(28.9647),
    "air for the gas": np.sqrt(51 / 28.9647),
    "kg/h for lb/h": 1 / 0.45359237,
    "Kd left out": 0.975,
    "Kd of liquid": 0.975 / 0.65,
    "normal for standard volume": 288.15 / 273.15,
    "power of ten +3": 1000.0,
    "in in2": 1 / 0.0254**2,
    "in mm2": 1e6,
}


@pytest.mark.parametrize("key", BY_HAND)
def test_a_slip_is_found_by_its_number(key):
    right = area(**EXAMPLE)
    assert right / 0.0254**2 == pytest.approx(5.73, abs=0.005)  # as printed
    stated = float(f"{right * BY_HAND[key]:.4g}")
    found = find_slips(stated, area, EXAMPLE, name="required_area")
    assert key in [group[0].key for group in found if len(group) == 1], explain(found)
    assert found == sorted(found, key=len), "singles first"


# a value for every name that the catalogue touches, far enough from what a slip makes of it
ALL = EXAMPLE | {
    "mawp_gauge": 517e3 / 1.05, "back_pressure": 250e3, "outflow": 1.7, "valves": 3.0, "Kb": 0.83,
    "Kw": 0.77, "Kc": 0.9, "Kv": 0.88, "KSH": 0.86, "KN": 1.09, "viscosity": 0.4, "density": 720.0,
    "atmosphere": 91e3, "quality": 0.93, "superimposed_gauge": 51e3, "built_up": 43e3,
    "variable_superimposed_gauge": 37e3, "temperature_multiplier": 1.03, "volume_flow": 0.011,
    "suction_pressure": 447e3,
}  # fmt: skip
# these need another value, or a word, among the inputs; a load by volume is none by mass
APART = {
    "Kd of gas": {"Kd": 0.65}, "Kc without a disk": {"Kc": 1.0},
    "kg/h for lb/h": {"volume_flow": None}, "lb/h for kg/h": {"volume_flow": None},
}  # fmt: skip


def every(**x):
    """A product in which each input leaves its own mark."""
    return float(np.prod([abs(v) ** (0.31 + 0.047 * i) if v else 1.0
                          for i, (_, v) in enumerate(sorted(x.items()))]))  # fmt: skip


@pytest.mark.parametrize(
    "slip", [s for s in CATALOGUE if s.key != "valve taken as conventional"], ids=lambda s: s.key
)
def test_every_slip_of_the_catalogue_is_found(slip):
    inputs = ALL | APART.get(slip.key, {})
    if slip.scale:
        stated = slip.scale * every(**inputs)
    else:
        changed = slip.change(inputs)
        assert changed is not None and set(changed) == set(inputs), slip.key
        assert [n for n in inputs if changed[n] != inputs[n]] != []
        stated = every(**changed)
    found = find_slips(stated, every, inputs, tolerance=1e-4)
    assert slip.key in [group[0].key for group in found if len(group) == 1]


def test_a_liquid_s_Kd():
    def liquid(Kd):
        return 10.0 / (Kd * 31_000.0)

    found = find_slips(10.0 / (0.975 * 31_000.0), liquid, {"Kd": 0.65})
    assert [group[0].key for group in found] == ["Kd of gas"]


def test_catalogue_is_sound():
    keys = [slip.key for slip in CATALOGUE]
    assert len(keys) == len(set(keys)) and len(keys) >= 20
    assert len({slip.words for slip in CATALOGUE}) == len(keys) - 1  # viscosity, two ways
    assert all(slip.change({}) is None for slip in CATALOGUE if slip.change)
    assert set(ALL) <= set(SYMBOLS)


def test_nothing_is_claimed_of_a_right_number_or_of_none():
    right = area(**EXAMPLE)
    assert find_slips(right * 1.004, area, EXAMPLE) == []
    assert find_slips(float("nan"), area, EXAMPLE) == []
    assert find_slips(right * 1.137, area, EXAMPLE, slips=CATALOGUE[:1]) == []
    assert explain([]) == "No common slip leads to this number."
    with pytest.raises(InputError):
        find_slips(1.0, area, EXAMPLE | {"pressure": -1.0})


def test_pairs_only_when_no_single_slip_fits():
    wrong = area(**EXAMPLE | {"Z": 1.0, "pressure": 670e3 - ATM})
    found = find_slips(float(f"{wrong:.5g}"), area, EXAMPLE)
    assert {slip.key for slip in found[0]} == {"Z left out", "gauge taken as absolute"}
    assert all(len(group) == 2 for group in found) and " and " in explain(found)
    single = area(**EXAMPLE | {"Z": 1.0})
    assert all(len(group) == 1 for group in find_slips(single, area, EXAMPLE))


def test_chance_numbers_are_seldom_explained():
    right, rng = area(**EXAMPLE), np.random.default_rng(20_240_229)
    hits = 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for factor in np.exp(rng.uniform(np.log(0.3), np.log(3.0), 60)):
            hits += bool(find_slips(float(f"{right * factor:.4g}"), area, EXAMPLE,
                                    name="required_area"))  # fmt: skip
    assert hits <= 15, f"{hits} of 60 numbers drawn by lot were 'explained'"


def test_unit_slips_are_of_the_answer_s_kind():
    assert {"in lb/h", "in kg/h"} <= {s.key for s in unit_slips("mass_flow")}
    assert unit_slips("Kd") == [s for s in unit_slips("Kd") if s.key == "in %"]


# ---------------------------------------------------------------- wrong answers are diagnosed
def relieving(**change):
    # MAWP 20 barg, set 18 barg, one valve: 1.1 * 20 + 1.01325 = 23.01325 bara, by hand
    return question(compute=lambda mawp_gauge, set_pressure_gauge: 1.1 * mawp_gauge + ATM,
                    inputs={"mawp_gauge": 20e5, "set_pressure_gauge": 18e5}, answer="pressure",
                    **change)  # fmt: skip


@pytest.mark.parametrize("attempt, words", [
    ((25.21, "bara"), "21 % accumulation"), ((24.21, "bara"), "16 % accumulation"),
    ((23.2, "barg"), "16 % accumulation"), ((365.7, "psia"), "21 % accumulation"),
    ((19.01, "bara"), "set pressure was used"), ((20.81, "bara"), "instead of mawp"),
    ((22.0, "bara"), "gauge was given for absolute"), ((2.301, "bara"), "in MPa"),
    ((0.2301, "bara"), "decimal point"),
    ((23.01, "psia"), "in bar"), ((20.3, "bara"), "No common slip"),
])  # fmt: skip
def test_a_wrong_relieving_pressure_is_diagnosed(attempt, words):
    said = relieving().check(attempt)
    assert said.verdict == "wrong" and words in said.words, said.words
    assert relieving().check((23.01, "bara")).verdict == "right"
    assert relieving().check(None).verdict == "not attempted"


@pytest.mark.parametrize("attempt, words", [
    ((3699, "in2"), "in mm2"), ((36.99, "mm2"), "in cm2"), ((5.733, "cm2"), "in in2"),
    ((3607, "mm2"), "coefficient of discharge was left out"), ((4358, "mm2"), "left in gauge"),
    ((8155, "mm2"), "lb/h was read as kg/h"), ((36.2, "in2"), "No common slip"),
])  # fmt: skip
def test_a_wrong_area_is_diagnosed(attempt, words):
    said = question().check(attempt)  # 3699 mm2 as printed; factors as in BY_HAND
    assert said.verdict == "wrong" and words in said.words, said.words


def test_ten_per_cent_of_ten_bar_is_not_one_atmosphere():
    # MAWP 10 barg: without the accumulation 11.013 bara, in gauge 11.0: two decimals tell
    q = question(compute=lambda mawp_gauge, set_pressure_gauge: 1.1 * mawp_gauge + ATM,
                 inputs={"mawp_gauge": 10e5, "set_pressure_gauge": 10e5},
                 answer="pressure")  # fmt: skip
    assert "set pressure was used" in q.check((11.013, "bara")).words
    assert q.check((11.0, "barg")).verdict == "right"
    both = q.check((11.0, "bara")).words
    assert "Several" in both and "set pressure was used" in both and "left in gauge" in both


def test_a_question_s_own_slip_is_known():
    q = question(extra_slips=(used_instead("k", 1.62, "cp/cv of the real fluid was used for k"),))
    wrong = area(**EXAMPLE | {"k": 1.62})
    assert "real fluid" in q.check((round(wrong * 1e6), "mm2")).words
    assert "real fluid" not in question().check((round(wrong * 1e6), "mm2")).words


@pytest.mark.parametrize("value", [True, "1_234", " 12 ", "1e-400", -3, 0, np.float64(7.1), "0.0"])
def test_no_number_stops_a_check(value):
    assert question().check((value, "mm2")).verdict == "wrong"


def test_how_coarsely_a_number_is_written():
    assert questions._rounding("3698") == pytest.approx(0.5 / 3698)
    assert questions._rounding(12.5) == pytest.approx(0.05 / 12.5)
    assert questions._rounding("11") == 0.005 and questions._rounding(0) == 0.0


def test_inputs_that_are_no_numbers_do_no_harm():
    def total(parts, outflow):
        return float(np.sum(parts)) - outflow

    q = question(compute=total, inputs={"parts": np.array([2.0, 3.0]), "outflow": 1.0},
                 answer="mass_flow", text="?")  # fmt: skip
    assert "not deducted" in q.check((5.0, "kg/s")).words
    assert q.check((4.0, "kg/s")).verdict == "right"


def test_two_kernels_lose_no_answer(tmp_path):
    code = (
        "import sys; from relieflib.asking.kept import keep_answer\n"
        "for i in range(15):\n"
        "    keep_answer(f'b/{sys.argv[1]}/{i}', {'attempt': str(i), 'verdict': 'wrong'})"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", code, name],
                         env=os.environ | {"RELIEFLIB_MY_WORK": str(tmp_path)})
        for name in "ab"
    ]  # fmt: skip
    assert [p.wait(60) for p in both] == [0, 0]
    assert len(json.loads((tmp_path / "answers.json").read_text("utf-8"))) == 30
