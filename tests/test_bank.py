"""The bank of questions: right by hand, different for neighbours, and what people type is read.

Values are worked by hand here, or printed in API 520-I (2020), example 1 of 5.6 (24 270 kg/h,
670 kPa, 348 K, M 51, k 1.11, Z 0.90: 5.73 in2).
"""

import json
import math
import os
import stat

import pytest

from relieflib.asking import kept, variants
from relieflib.asking.kept import Who
from relieflib.asking.question import Asked, Choice, Value, Worked, asked
from relieflib.asking.reading import NotRead, number_of, read_value
from relieflib.asking.variants import Varies, stride, values, varied
from relieflib.asking.ways import gas_area, liquid_area
from relieflib.questions import asked_in, bank, question, questions_of, warm_up_of
from relieflib.symbols import SYMBOLS
from relieflib.units import from_si
from relieflib.working import Working, step

ALL = [(book, q) for book in bank() for q in questions_of(book)]
CHOICES = [(book, q) for book, q in ALL if isinstance(q, Choice)]
VALUES = [(book, q) for book, q in ALL if isinstance(q, (Value, Worked))]


def ids(pair):
    return f"{pair[0]} {pair[1].key}"


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "my-work"))
    return tmp_path / "my-work"


# ---------------------------------------------------------------- what is asked
def test_keys_are_unique_and_can_be_kept():
    for book in bank():
        keys = [q.key for q in questions_of(book)]
        assert len(keys) == len(set(keys)) and not any("/" in k for k in keys)
        assert not any(k[:2].isdigit() for k in keys), "a key begins like no notebook's number"


@pytest.mark.parametrize("pair", VALUES, ids=ids)
def test_every_step_of_a_way_is_what_a_calculator_gives(pair):
    book, q = pair
    for number in (0, 1, 7):
        one = asked(q, book, Who(number))
        assert set(q.inputs) <= set(SYMBOLS) and "nan" not in one.text
        for line in one.working:
            if line.equation:
                assert line.evaluate() == pytest.approx(line.value, rel=1e-9), line.name
    if isinstance(q, Value):
        assert one.right != 0 and one.right_text and q.hint and q.why
        assert set(q.shows) <= {line.name for line in one.working} - {q.answer}


def test_ways_by_hand():
    area = gas_area(24270 / 3600, 670e3, 348.0, 51.0, 1.11, 0.90, 0.975, 101_325.0)[-1]
    assert area.name == "required_area"
    assert area.value / 0.0254**2 == pytest.approx(5.73, abs=0.005)  # as printed
    water = liquid_area(20.0, 12e5, 998.0, 0.65, 2e5)[-1]
    assert water.value == pytest.approx(20 / (0.65 * math.sqrt(2 * 998.0 * 10e5)), rel=1e-9)


BY_HAND = {  # SI, by hand from the numbers of the question
    ("33", "filling"): lambda i: (i["highest_pressure"] - 12e5) * 10.51 * 12.0 / (
        1.245 * 8314.462618 * 393.15 * i["inflow"]),
    ("33", "stays open"): lambda i: i["rated_flow"] * 3.71325 / 4.01325,
    ("33", "boiling"): lambda i: i["heat_rate"] / 199.71e3 * 0.011006 / 0.013883,
    # kappa_S = kappa_T - T alpha^2/(rho cp), within 0.1 % of CoolProp's 1/(rho c^2), 3.3198e-9
    ("33", "squeezed"): lambda i: 3.0063e-3 * i["heat_rate"] / (502.6 * 2636) / (
        5.3166e-9 - 293.15 * 3.0063e-3**2 / (502.6 * 2636)),
    ("33", "overshoot"): lambda i: 0.05 * i["rise_rate"],
    # lambda T/2 times 0.1 a year; ((1 - b) x)^2/3 + b x/2; x^2/3; half of the time less 1.5 s
    ("53", "one channel"): lambda i: 0.1 / 31_536_000 * i["undetected_rate"] * 15_768_000,
    ("53", "common cause"): lambda i: (0.95 * i["undetected_rate"] * 31_536_000) ** 2 / 3
    + 0.05 * i["undetected_rate"] * 15_768_000,
    ("53", "tested together"): lambda i: (i["undetected_rate"] * 31_536_000) ** 2 / 3,
    ("53", "stroke"): lambda i: i["safety_time"] / 2 - 1.5,
    ("53", "one sensor"): lambda i: 0.1 / 31_536_000 * i["demand_failure"],
    ("00", "absolute"): lambda i: i["pressure_gauge"] + 84e3,
    # ASME BPVC XIII: 10 % of MAWP, above 30 psig; 21 % in a fire; bench: nothing behind the valve
    ("01", "relieving step"): lambda i: 1.1 * i["mawp_gauge"] + 101_325,
    ("01", "overpressure"): lambda i: 12.1e5 - i["set_pressure_gauge"],
    ("01", "bench"): lambda i: 10e5 - i["superimposed_gauge"],
    ("10", "load"): lambda i: i["inflow"] - i["outflow"],
    ("10", "dead head"): lambda i: 4.5e5 + 800 * 9.80665 * i["shutoff_head"],
    ("10", "line"): lambda i: 2.0 * math.sqrt(
        ((i["highest_source_pressure"] / 1e5) ** 2 - 625) / (484 - 400)),
    # API 521: G/P sqrt(R T/M); isentropic: 1 + (k - 1)/2 Ma^2; API 520-I, 5.3: set plus the rise
    ("60", "speed"): lambda i: i["mass_flow"] / (math.pi / 4 * 0.25) / 1.2e5
        * math.sqrt(8314.462618 * 350 / 30),
    ("60", "tip"): lambda i: 101_325 * (1 + 0.1 * i["exit_mach"] ** 2) ** 6,
    ("60", "late"): lambda i: 10e5 + i["back_pressure_gauge"] - 0.1e5,
    # choked nitrogen, C(1.4) = sqrt(1.4) (2/2.4)^3 = 0.684731: A = W sqrt(R T/M)/(C Kd Kc P1)
    ("51", "disk step"): lambda i: i["mass_flow"] * math.sqrt(8314.462618 * 340 / 28) / (
        math.sqrt(1.4) * (2 / 2.4) ** 3 * 0.975 * 0.9 * 15e5),
    ("51", "not a fire"): lambda i: 3.0 * math.sqrt(8314.462618 * 340 / 28) / (
        math.sqrt(1.4) * (2 / 2.4) ** 3 * 0.975 * (1.1 * i["mawp_gauge"] + 101_325)),
    ("30", "liquid"): lambda i: i["mass_flow"] / (0.65 * math.sqrt(2 * 998 * 10e5)),
    # d = sqrt(4 W/(pi P Ma) sqrt(Z R T/(k M)))
    ("62", "diameter"): lambda i: math.sqrt(
        4 * i["mass_flow"] / (math.pi * 101_325 * 0.5)
        * math.sqrt(0.99 * 8314.462618 * 350 / (1.12 * 42))),
    ("62", "under"): lambda i: 0.3 * i["heat_release"] / (4 * math.pi * 54**2) + 1000,
    ("62", "height"): lambda i: math.sqrt(
        0.3 * i["heat_release"] / (4 * math.pi * 3730) - 25**2) - 9,
    ("62", "seal"): lambda i: 1080 * 9.80665 * i["seal_depth"],
    ("62", "cooled"): lambda i: 105e3 * 290 / i["start_temperature"],
    # segment of 1.0 m in 2.4 m: half angle acos(1/6); L = q (D - h)/(U A)
    ("61", "length"): lambda i: i["volume_flow"] * 1.4 / 0.7 / (
        1.44 * (math.pi - math.acos(1 / 6) + math.sqrt(35) / 36)),
    ("61", "minutes"): lambda i: (14.0 - 2.5) * 620.0 / i["liquid_inflow"],
    ("61", "vertical"): lambda i: math.sqrt(i["volume_flow"] / 0.7 / (math.pi / 4)),
    # 1 + (1 - y)/y 28.96/M of flow; axis 5.4 d sqrt(rho_j/rho_a), d sqrt(rho_j) = 2 W/sqrt(pi J)
    ("63", "burns"): lambda i: (1 + 24 * 28.96 / 16) * 5.4 * 2 * i["mass_flow"] / math.sqrt(
        math.pi * 1500 * 1.2),
    ("63", "wind"): lambda i: i["exit_velocity"] / 10,
}  # fmt: skip


@pytest.mark.parametrize("place", BY_HAND)
def test_answers_by_hand(place):
    for number in (0, 3, 11):
        one = asked(question(*place), place[0], Who(number))
        assert one.right == pytest.approx(BY_HAND[place](one.data()), rel=1e-9)
        unit = one.units[0]
        said = from_si(one.right, unit, SYMBOLS[one.question.answer].kind)
        assert one.judge(f"{said:.6g}", unit).verdict == "right"


@pytest.mark.parametrize("pair", CHOICES, ids=ids)
def test_every_option_has_a_reason_of_its_own(pair):
    book, q = pair
    assert len(q.options) >= 3 and len(set(q.options.values())) == len(q.options)
    assert not set(map(str.casefold, q.options)) & {"yes", "no"}, "three options, not yes or no"
    one = asked(q, book)
    assert one.right in one.options
    said = {words: one.judge(words) for words in one.options}
    assert [w for w, f in said.items() if f.verdict == "right"] == [one.right]
    for feedback in said.values():
        assert len(feedback.words.split()) >= 8 and not feedback.words.startswith("Right")
    assert len({tuple(asked(q, book, Who(n)).options) for n in range(12)}) > 1


@pytest.mark.parametrize("book", list(bank()))
def test_warm_up_comes_from_earlier_notebooks(book):
    again = warm_up_of(book, Who(3))
    assert len(again) == (0 if book == "00" else 2)
    for one in again:
        assert one.origin < book
        first = asked(one.question, one.origin, Who(3))
        assert one.name != first.name
        if isinstance(one.question, Value):
            assert one.data() != first.data(), "other numbers than the first time"


# ---------------------------------------------------------------- numbers of participants
def test_neighbours_differ_until_the_steps_run_out():
    for count in range(1, 300):
        n = stride(count)
        assert math.gcd(n, count) == 1
        assert len({n * i % count for i in range(count)}) == count
    for book, q in ALL:
        for name, v in q.inputs.items():
            if not isinstance(v, Varies) or isinstance(q, Worked):
                continue
            count = len(values(v, name))
            got = [asked(q, book, Who(n)).data()[name] for n in range(count)]
            assert len(set(got)) == count >= 15 and v.base not in got
            assert all(v.low * 0.999 <= x <= v.high * 1.001 for x in got)


def test_the_stages_of_a_series_differ_for_everybody():
    for book, q in ALL:
        if isinstance(q, Value) and q.series and q.stage:
            first = question(book, f"{q.key} step")
            for n in range(60):
                a, b = (asked(x, book, Who(n)).data() for x in (first, q))
                assert all(a[k] != b[k] for k, v in q.inputs.items() if isinstance(v, Varies))


def test_a_room_code_changes_the_numbers():
    v = Varies(10e5, 5e5, 15e5, 0.5)
    rooms = [[varied(v, "pressure_gauge", "q", n, room) for n in range(20)] for room in "abcdef"]
    assert len({tuple(r) for r in rooms}) > 3 and all(len(set(r)) == 20 for r in rooms)
    # FIPS 180-4: the digest of 'abc' begins ba7816bf 8f01cfea
    assert variants.lot("abc") == 0xBA7816BF8F01CFEA


# ---------------------------------------------------------------- what people type
@pytest.mark.parametrize("typed, number", [
    ("10000 kg/h", 10000), ("10 000", 10000), ("3056,5", 3056.5), ("1,234.5", 1234.5),
    ("1.234,5", 1234.5), ("1'234'567", 1234567), ("10\N{NO-BREAK SPACE}000,25", 10000.25),
    ("1e3", 1000), ("1.2E-3", 0.0012), ("2 x 10^3", 2000), ("\N{MINUS SIGN}5", -5), ("+7", 7),
    (".5", 0.5), ("0,125", 0.125), ("12.", 12), ("1,234,567", 1234567), (12.5, 12.5), (3, 3),
    ("5 ft2", 5), ("3.056", 3.056),
])  # fmt: skip
def test_a_number_as_people_write_it(typed, number):
    assert number_of(typed)[0] == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize("typed", [
    "abc", "1 2", "12.3.4", "3,056", "1e999", "10 00", [1], (1, "bar"), {}, object(), True,
    1 + 2j, 10**400, float("nan"), float("inf"), "\ud800", "--5", "5 5 bar", "1,23,456",
])  # fmt: skip
def test_what_can_not_be_read_is_said_and_never_kept(typed, own_folder):
    one = asked(question("10", "load"), "10", Who(4))
    said = one.check(typed, "kg/h")
    assert said.verdict == "not read" and len(said.words.split()) >= 5
    said.words.encode()
    assert not own_folder.exists()


def test_units_are_read_and_refused_in_words():
    one = asked(question("10", "load"), "10", Who(4))
    flow = one.right
    assert one.judge(f"{flow * 3600:.1f} kg/h", "lb/h").verdict == "right", "the typed unit counts"
    assert one.judge(f"{flow / 0.45359237 * 3600:.1f}", "lb/h").verdict == "right"
    for unit in ("mm2", "furlong", "bar"):
        assert one.judge("12", unit).verdict == "not read"
    assert "take the sign away" in one.judge("-5 kg/h").words
    with pytest.raises(NotRead):
        read_value("-3", "bara", "pressure")
    gauge = asked(question("00", "absolute"), "00", Who(4))
    reading = gauge.data()["pressure_gauge"] / 1e5
    said = gauge.judge(f"{reading} barg")
    assert said.verdict == "not read" and "bara" in said.words, "the question itself is no answer"


def test_a_temperature_is_judged_in_kelvin():
    # 325.3 °C: 1 % of its kelvin would take 320.0 and 330.9 °C for right
    hot = Value("hot", "How hot?", lambda: Working([step("temperature", 598.45)]), {},
                "temperature", "h", why="w")  # fmt: skip
    verdicts = [Asked(hot, "99").judge(t, "°C").verdict for t in ("325", "326", "320", "330.9")]
    assert verdicts == ["right", "right", "wrong", "wrong"]


# ---------------------------------------------------------------- slips
def planted(place, slip, unit, number=5):
    """What a participant types who makes a slip: worked by hand from the question's numbers."""
    one = asked(question(*place), place[0], Who(number))
    return one.judge(f"{slip(one.data(), one.right):.6g}", unit)


@pytest.mark.parametrize("place, slip, unit, words", [
    (("10", "dead head"), lambda i, r: 800 * 9.80665 * i["shutoff_head"] / 1e5, "bara",
     "suction pressure was forgotten"),
    (("10", "dead head"), lambda i, r: (800 * 9.80665 * i["shutoff_head"] + 101_325) / 1e5, "bara",
     "suction pressure was left out"),
    (("10", "load"), lambda i, r: i["inflow"] * 3600, "kg/h", "not deducted"),
    (("10", "line"), lambda i, r: 7200 * math.sqrt(
        ((i["highest_source_pressure"] / 1e5) ** 2 - 625)
        / ((i["highest_source_pressure"] / 1e5) ** 2 - 400)), "kg/h", "with its normal flow"),
    (("10", "area"), lambda i, r: r * 1e6 * math.sqrt((350 - 273.15) / 350), "mm2", "left in °C"),
    (("10", "area"), lambda i, r: r * 1e6 * 12 / (12 - 1.01325), "mm2", "left in gauge"),
    (("30", "liquid"), lambda i, r: r * 1e6 * 0.65 / 0.975, "mm2", "0.975"),
    (("62", "under"), lambda i, r: (0.3 * i["heat_release"] / (4 * math.pi * 45**2) + 1000) / 1e3,
     "kW/m2", "tip over the foot"),
    (("62", "under"), lambda i, r: r / 1e3 - 1, "kW/m2", "sun was left out"),
    (("62", "height"), lambda i, r: math.sqrt(
        0.3 * i["heat_release"] / (4 * math.pi * 4730) - 25**2) - 9, "m", "sun was left out"),
    (("62", "diameter"), lambda i, r: r * math.sqrt(0.5 / 0.2) * 1e3, "mm", "frequent release"),
    (("33", "filling"), lambda i, r: r * 1.245, "s", "k was left out"),
    (("33", "boiling"), lambda i, r: i["heat_rate"] / 199.71e3 * 3600, "kg/h", "Q/h_v"),
    (("33", "squeezed"), lambda i, r: 3.0063e-3 * i["heat_rate"] / (502.6 * 2636 * 5.3166e-9) / 1e5,
     "bar/s", "kappa_T was taken"),
    (("33", "stays open"), lambda i, r: i["rated_flow"] * 3600 * 0.9, "kg/h", "GAUGE"),
    (("53", "one channel"), lambda i, r: 2 * r * 31_536_000, "1/y", "lambda T was taken"),
    (("53", "common cause"), lambda i, r: (i["undetected_rate"] * 31_536_000) ** 2 / 3, "-",
     "beta was left out"),
    (("53", "tested together"), lambda i, r: 0.75 * r, "-", "averages"),
    (("53", "stroke"), lambda i, r: i["safety_time"] - 1.5, "s", "all of the process"),
    (("53", "one sensor"), lambda i, r: 0.1 * r * 31_536_000, "1/y", "twice"),
    (("33", "overshoot"), lambda i, r: r / 2e5, "bar", "half of the opening time"),
    (("61", "fall"), lambda i, r: r * math.sqrt(1.43 / 1.30), "m/s", "read off the chart"),
    (("61", "length"), lambda i, r: r / 2, "m", "two passes"),
    (("61", "minutes"), lambda i, r: 14.0 * 620.0 / i["liquid_inflow"] / 60, "min", "slops"),
    (("63", "burns"), lambda i, r: r / 5.4 / 0.32, "m", "mean over the jet"),
])  # fmt: skip
def test_the_slip_is_named(place, slip, unit, words):
    said = planted(place, slip, unit)
    assert said.verdict == "wrong" and words in said.words and said.slip


def test_a_right_answer_teaches_too():
    one = asked(question("10", "dead head"), "10", Who(2))
    said = one.judge(f"{one.right / 1e5:.2f}", "bara")
    assert said.verdict == "right" and "ITS highest" in said.words


# ---------------------------------------------------------------- who answers, and what is kept
def test_a_participant_is_said_once(monkeypatch):
    assert kept.who() == Who()
    kept.be(" 7 ", "Blue  Room")
    assert kept.who() == Who(7, "blue room")
    monkeypatch.setenv("RELIEFLIB_PARTICIPANT", "12")
    monkeypatch.setenv("RELIEFLIB_ROOM", "x")
    assert kept.who() == Who(12, "x")
    for wrong in ("Anna", "-1", "1.5", "", "99999", "\ud800", "٣"):
        with pytest.raises(kept.InputError, match="write the number"):
            kept.be(wrong)
    monkeypatch.setattr(kept, "os", type("o", (), {"environ": {"RELIEFLIB_PARTICIPANT": "Anna"}}))
    assert kept.who().participant == 0 and "'Anna'" in kept.who().words


@pytest.mark.parametrize("broken", [b"{", b"[1]", b'{"participant": "x", "room": ""}', b"\xff"])
def test_a_broken_sign_in_is_said(own_folder, broken):
    own_folder.mkdir()
    (own_folder / "participant.json").write_bytes(broken)
    assert kept.who().participant == 0 and kept.who().words


def test_an_answer_keeps_time_tries_slip_and_version(own_folder):
    one = asked(question("10", "load"), "10", Who(7, "blue"))
    before = os.umask(0o022)
    try:
        one.check(f"{one.data()['inflow'] * 3600:.0f}", "kg/h")
        one.check(f"{one.right * 3600:.0f} kg/h")
    finally:
        os.umask(before)
    path = own_folder / "answers.json"
    tries = json.loads(path.read_text("utf-8"))["10/load/7"]
    assert [t["verdict"] for t in tries] == ["wrong", "right"]
    assert tries[0]["slip"] == "credit left out" and tries[0]["room"] == "blue"
    assert all(t["time"][:4].isdigit() and t["version"] for t in tries)
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o644, "an instructor's account can read it"
    assert one.last()["verdict"] == "right"


def test_starting_again_loses_nothing(own_folder):
    person = Who(7)
    first, other = asked_in("10", person)[-1], asked(question("00", "governs"), "00", person)
    for one in (first, other):
        one.check(one.right)
    assert kept.start_again("10", 7) == 1 and kept.start_again("10", 7) == 0
    assert first.last() is None and other.last()["verdict"] == "right"
    tries = kept.kept_answers()[first.name]
    assert [t["verdict"] for t in tries] == ["right", "started again"]
