"""Planted slips are recognised: each slip done by hand here, on datasheet rows drawn by lot.

A row is sized as the datasheet check sizes it; the slip is planted in its inputs by the rules
typed below, apart from the catalogue; the number is rounded as a sheet would state it. The rules
are the definitions themselves (units of NIST SP 811; dry air 28.9647 kg/kmol, ISO 6976; API 520-I
(2020), 5.3 to 5.11 for the factors; ASME XIII, UG-125(c) for 10, 16, 21 %).
"""

import warnings
from collections import Counter, defaultdict
from functools import cache

import numpy as np
import pytest

from relieflib.datasheet.columns import Cell, Row
from relieflib.datasheet.reasons import CLOSE, WAYS, area_of
from relieflib.datasheet.recompute import recompute
from relieflib.devices import balanced_Kb, balanced_Kw
from relieflib.errors import InputError
from relieflib.nozzle.steam import saturation_temperature
from relieflib.orifices import orifice_area
from relieflib.slips import (
    CATALOGUE,
    COMMON,
    Slip,
    answer_slips,
    explain,
    find_slips,
    matches,
    outcomes,
    unit_slips,
    used_instead,
)

CASES = 200
FOUND, FIRST = 0.95, 0.85
MOVED = 0.012  # an area differs on a sheet from 1 % on, beside half a digit
SEED = 20_261_125
ATM = 101_325.0


# --- rows drawn by lot ------------------------------------------------------------------------


def _row(**values):
    kinds = {"built_up": "pressure difference", "load": "mass flow"}
    cells = {}
    for name, value in values.items():
        if value is None:
            continue
        kind = kinds.get(name, "text" if isinstance(value, (str, bool)) else "dimensionless")
        if name == "load" and isinstance(value, tuple):
            value, kind = value
        cells[name] = Cell(value, str(value), kind=kind)
    return Row("lot", 1, cells, atmosphere=values["atmosphere"])


def _vessel(rng):
    """Set, MAWP, cause, atmosphere, valves, device and back pressure."""
    mawp = float(np.exp(rng.uniform(np.log(2e5), np.log(120e5))))
    valves = float(rng.choice([1, 1, 2, 3, 4]))
    atmosphere = float(rng.choice([ATM, rng.uniform(75e3, 103e3)]))
    kind = str(rng.choice(["conventional", "balanced"]))
    back = float(rng.uniform(*((0.2, 0.5) if kind == "balanced" else (0.4, 0.95)))) * mawp
    back *= float(rng.choice([0.0, 1.0, 1.0]))
    parts = rng.dirichlet([1.0, 1.0, 1.0]) * back
    certified = bool(rng.random() < 0.2)
    return dict(
        mawp_gauge=mawp, set_pressure_gauge=mawp * float(rng.choice([1.0, 1.0, 0.9, 0.95])),
        installation="multiple" if valves > 1 else "single", valves=valves,
        cause=str(rng.choice(["closed outlet", "closed outlet", "fire"])),
        device_type=kind, atmosphere=atmosphere, disk_upstream=bool(rng.random() < 0.3),
        superimposed_gauge=parts[0], variable_gauge=parts[1], built_up=parts[2],
        basis="certified" if certified else None,
        letter=(letter := str(rng.choice(list("FGHJKLMNP")))),
        orifice_area=orifice_area(letter) * float(rng.uniform(1.05, 1.3)) if certified else None,
        temperature_multiplier=float(rng.uniform(1.005, 1.06)),
    )  # fmt: skip


def _gas(rng, vessel):
    vessel |= dict(
        phase="gas", temperature=float(rng.uniform(260.0, 700.0)), k=float(rng.uniform(1.05, 1.66)),
        molar_mass=float(rng.uniform(4.0, 120.0)), Z=float(rng.uniform(0.8, 1.1)),
        load=float(np.exp(rng.uniform(np.log(0.3), np.log(30.0)))),
    )  # fmt: skip
    if vessel["basis"]:
        vessel["Kd"] = float(rng.uniform(0.80, 0.88))
    return vessel


def _steam(rng, vessel):
    vessel["mawp_gauge"] *= 1.0 if rng.random() < 0.5 else 12.0
    vessel["mawp_gauge"] = min(vessel["mawp_gauge"], 170e5)
    vessel["set_pressure_gauge"] = vessel["mawp_gauge"]
    share = float(rng.uniform(0.0, 0.45))
    vessel |= dict(
        superimposed_gauge=0.0, variable_gauge=0.0, built_up=share * vessel["mawp_gauge"],
        phase="steam", load=float(np.exp(rng.uniform(np.log(0.3), np.log(30.0)))),
    )  # fmt: skip
    wet = rng.random()
    if wet < 0.4:
        vessel["quality"] = float(rng.uniform(0.9, 0.97))
    elif wet < 0.8:
        boils = saturation_temperature(1.22 * vessel["mawp_gauge"] + ATM)
        vessel["temperature"] = float(min(boils + rng.uniform(20.0, 250.0), 890.0))
    if vessel["basis"]:
        vessel["Kd"] = float(rng.uniform(0.80, 0.88))
    return vessel


def _liquid(rng, vessel):
    density = float(rng.uniform(450.0, 1300.0))
    mass = float(np.exp(rng.uniform(np.log(1.0), np.log(80.0))))
    volume = rng.random() < 0.5
    vessel |= dict(
        phase="liquid", density=density,
        viscosity=float(np.exp(rng.uniform(np.log(0.02), np.log(2.0)))) if rng.random() < 0.55
        else None,
        load=(mass / density, "volume flow") if volume else mass,
    )  # fmt: skip
    if vessel["basis"]:
        vessel["Kd"] = float(rng.uniform(0.58, 0.72))
    return vessel


FLUIDS = (_gas, _steam, _liquid, _gas)


def cases(count, seed=SEED):
    """Rows drawn by lot that can be sized, as `Case`; the same on every machine."""
    rng, made = np.random.default_rng(seed), 0
    for turn in range(20 * count):
        if made == count:
            return
        case = recompute(_row(**FLUIDS[turn % len(FLUIDS)](rng, _vessel(rng))))
        if case.sizing is not None:
            made += 1
            yield case


# --- slips planted by hand --------------------------------------------------------------------


def put(**rules):
    """Inputs with the named ones replaced; None where a rule gives None."""

    def plant(i):
        new = {name: rule(i) for name, rule in rules.items()}
        return None if None in new.values() else {**i, **new}

    return plant


def _pressure(rule):
    return put(pressure=rule)


def _accumulated(share):
    return _pressure(lambda i: i["mawp_gauge"] * share + i["atmosphere"])


def _own_share(i):
    return (i["pressure"] - i["atmosphere"]) / i["mawp_gauge"]


def _without(part):
    def plant(i):
        new = {**i, part: 0.0}
        if "back_pressure" in i:
            new["back_pressure"] = i["back_pressure"] - i[part]
        return new

    return plant


def _loads(factor, volume):
    """The load in another unit, of volume or of mass."""

    def plant(i):
        if ("volume_flow" in i) is not volume:
            return None
        return {**i, "mass_flow": i["mass_flow"] * factor}

    return plant


def _read(i, factor, share, over):
    if share > 0.5 or over < 0.095:  # the curves end there
        return None
    return balanced_Kb(share, over) if factor == "Kb" else balanced_Kw(share)


def _over(i):
    return (i["pressure"] - i["atmosphere"]) / i["set_pressure_gauge"] - 1.0


def _at_absolute(factor):
    return put(**{factor: lambda i: _read(i, factor, i["back_pressure"] / i["pressure"], _over(i))})


def _water(i):
    load = 999.016 / i["density"] if "volume_flow" in i else 1.0
    return {**i, "density": 999.016, "mass_flow": i["mass_flow"] * load}


G, S, L = "gas", "steam", "liquid"
ANY = (G, S, L)
# key: phases in which it is planted, the rule, what the row must have
BY_HAND = {
    "gauge taken as absolute": (ANY, _pressure(lambda i: i["pressure"] - i["atmosphere"]), None),
    "absolute raised again": (ANY, _pressure(lambda i: i["pressure"] + i["atmosphere"]), None),
    "set for relieving pressure":
        (ANY, _pressure(lambda i: i["set_pressure_gauge"] + i["atmosphere"]), None),
    "10 % accumulation": (ANY, _accumulated(1.10), None),
    "16 % accumulation": (ANY, _accumulated(1.16), None),
    "21 % accumulation": (ANY, _accumulated(1.21), None),
    "accumulation on absolute":
        (ANY, _pressure(lambda i: _own_share(i) * (i["mawp_gauge"] + i["atmosphere"])), None),
    "accumulation on set":
        (ANY, _pressure(lambda i: _own_share(i) * i["set_pressure_gauge"] + i["atmosphere"]), None),
    "sea level": (ANY, put(
        pressure=lambda i: i["pressure"] - i["atmosphere"] + 101_325.0,
        back_pressure=lambda i: i["back_pressure"] - i["atmosphere"] + 101_325.0), None),
    "back pressure in gauge":
        ((G, L), put(back_pressure=lambda i: max(i["back_pressure"] - i["atmosphere"], 0)), None),
    "back pressure left out": ((G, L), put(back_pressure=lambda i: i["atmosphere"]), None),
    "back pressure ignored": ((G,), put(back_pressure=lambda i: 0.0), None),
    "built-up left out": ((G, L), _without("built_up"), None),
    "superimposed left out": ((G, L), _without("superimposed_gauge"), None),
    "variable left out": ((G, L), _without("variable_superimposed_gauge"), None),
    "°C not made absolute": ((G,), put(temperature=lambda i: max(0, i["temperature"] - 273.15)
                                       or None), None),
    "°F not made absolute": ((G,), put(
        temperature=lambda i: max(0, (1.8 * i["temperature"] - 459.67) / 1.8) or None), None),
    "°F read as °C": ((G,), put(
        temperature=lambda i: max(0, 1.8 * i["temperature"] - 459.67 + 273.15) or None), None),
    "°C read as °F": ((G,), put(
        temperature=lambda i: (i["temperature"] - 273.15 + 459.67) / 1.8), None),
    "Z left out": ((G,), put(Z=lambda i: 1.0), None),
    "SG for molar mass": ((G,), put(molar_mass=lambda i: i["molar_mass"] / 28.9647), None),
    "air for the gas": ((G,), put(molar_mass=lambda i: 28.9647), None),
    "k of air": ((G,), put(k=lambda i: 1.4), None),
    "k unknown": ((G,), put(k=lambda i: 1.0001), None),
    "kg/h for lb/h": (ANY, _loads(1 / 0.45359237, False), None),
    "lb/h for kg/h": (ANY, _loads(0.45359237, False), None),
    "m3/h for gpm": ((L,), _loads(1 / (3.785411784e-3 * 60), True), None),
    "gpm for m3/h": ((L,), _loads(3.785411784e-3 * 60, True), None),
    "normal for standard volume": ((G,), put(mass_flow=lambda i: i["mass_flow"] * 288.15 / 273.15),
                                   None),
    "standard for normal volume": ((G,), put(mass_flow=lambda i: i["mass_flow"] * 273.15 / 288.15),
                                   None),
    "load per valve not divided":
        (ANY, put(mass_flow=lambda i: i["mass_flow"] * i["valves"]), None),
    "load divided twice": (ANY, put(mass_flow=lambda i: i["mass_flow"] / i["valves"]), None),
    "Kd left out": (ANY, put(Kd=lambda i: 1.0), None),
    "Kd of liquid": ((G, S), put(Kd=lambda i: 0.65), None),
    "Kd of gas": (ANY, put(Kd=lambda i: 0.975), None),
    "certified Kd with effective area": (ANY, put(Kd=lambda i: 0.9 * i["Kd"]), None),
    "Kb left out": ((G, S), put(Kb=lambda i: 1.0), "Kb"),
    "Kb of absolute pressures": ((G, S), _at_absolute("Kb"), "Kb"),
    "Kb of the 10 % curve": ((G, S), put(Kb=lambda i: _read(
        i, "Kb", (i["back_pressure"] - i["atmosphere"]) / i["set_pressure_gauge"], 0.10)), "Kb"),
    "Kw left out": ((L,), put(Kw=lambda i: 1.0), "Kw"),
    "Kw of absolute pressures": ((L,), _at_absolute("Kw"), "Kw"),
    "Kc left out": (ANY, put(Kc=lambda i: 1.0), None),
    "Kc without a disk": (ANY, put(Kc=lambda i: 0.9 if i["Kc"] == 1 else None), None),
    "viscosity left out": ((L,), lambda i: {n: v for n, v in i.items() if n != "viscosity"},
                           "viscosity"),
    "cSt for cP": ((L,), put(viscosity=lambda i: i["viscosity"] / i["density"] * 1000.0),
                   "viscosity"),
    "KSH left out": ((S,), put(KSH=lambda i: 1.0), None),
    "KN left out": ((S,), put(KN=lambda i: 1.0), None),
    "quality left out": ((S,), put(quality=lambda i: 1.0), None),
    "water for the liquid": ((L,), _water, None),
    "SG for density": ((L,), put(density=lambda i: i["density"] / 999.016), None),
}  # fmt: skip
OF_RESULT = {  # what the stated number is over the right one, stated in mm2
    **{f"power of ten {n:+d}": float(f"1e{n}") for n in (1, -1, 2, -2, 3, -3, 6, -6)},
    "in m2": 1e-6, "in cm2": 1e-2, "in in2": 1 / 645.16, "in ft2": 1 / 92_903.04,
}  # fmt: skip
# made with a pressure or in a question, not with an area: planted further below
ELSEWHERE = {
    "credit left out", "viscosity ignored", "superimposed added", "multiplier left out",
    "valve taken as conventional",
}  # fmt: skip


def rounded(value, figures):
    """A number as a sheet would state it, and half of its last digit, relative."""
    text = f"{value:.{figures - 1}e}"
    half = 0.5 * 10.0 ** (int(text.partition("e")[2]) - figures + 1)
    return float(text), half / abs(float(text))


def quietly(compute, inputs):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Re below 10, a Z out of range: not the matter here
        return float(compute(**inputs))


def planted(case, wanted):
    """(compute, inputs, {key: the number of the slip done by hand}) of the wanted slips."""
    compute, inputs = area_of(case)
    phase, numbers = case.row.get("phase"), {}
    for key, (phases, rule, needs) in BY_HAND.items():
        if key not in wanted or phase not in phases or (needs and needs not in inputs):
            continue
        changed = rule(inputs)
        try:
            if changed is not None:
                numbers[key] = quietly(compute, changed)
        except InputError:  # it can't happen in this case
            continue
    right = quietly(compute, inputs)
    of_result = {key: right * x for key, x in OF_RESULT.items() if key in wanted}
    return (
        compute,
        inputs,
        {key: n for key, n in (numbers | of_result).items() if abs(n / right - 1) > MOVED},
    )


def said(number, found, of):
    """(among the answers, first): twins that give the same number are one answer."""
    same = [abs(of[g[0].key] / number - 1) < 1e-9 for g in found if len(g) == 1]
    assert not found or len(same) in (0, len(found)), "singles only, or pairs only"
    return any(same), bool(same) and same[0]


@cache
def shares():
    """{(key, figures): Counter of cases, found, first}; and the largest error of a number."""
    counts, worst = defaultdict(Counter), defaultdict(float)
    wanted = {*BY_HAND, *OF_RESULT}
    for case in cases(5000):
        compute, inputs, numbers = planted(case, wanted)
        if not numbers:
            continue
        ways = outcomes(compute, inputs, (*CATALOGUE, *unit_slips("required_area", "mm2")))
        of = {slip.key: value for slip, value in ways.singles}
        for key, number in numbers.items():
            if key in of:
                worst[key] = max(worst[key], abs(of[key] / number - 1))
            for figures in (4, 3):
                mm2, half = rounded(number * 1e6, figures)
                among, first = said(number, matches(mm2 / 1e6, ways, CLOSE, half), of)
                counts[key, figures].update(cases=1, found=int(among), first=int(first))
            if counts[key, 4]["cases"] == CASES:
                wanted.discard(key)
        if not wanted:
            break
    return dict(counts), dict(worst)


KEYS = (*BY_HAND, *OF_RESULT)


def share(key, figures, what):
    counted = shares()[0][key, figures]
    return counted[what] / counted["cases"]


@pytest.mark.parametrize("key", KEYS)
def test_a_planted_slip_is_named(key):
    assert shares()[0][key, 4]["cases"] == CASES, "enough cases in which it can happen"
    assert share(key, 4, "found") >= FOUND
    assert share(key, 4, "first") >= FIRST


def test_at_three_figures_it_is_still_named():
    # half a digit is up to 0.5 % there: others fit too, and the commoner one comes first; measured
    # 100 % among the answers, first 82 % at worst (accumulation added to set), 96 % on the whole
    assert min(share(key, 3, "found") for key in KEYS) >= FOUND
    assert min(share(key, 3, "first") for key in KEYS) >= 0.75
    assert np.mean([share(key, 3, "first") for key in KEYS]) >= 0.92


@pytest.mark.parametrize("key", BY_HAND)
def test_the_catalogue_does_what_the_hand_does(key):
    assert shares()[1][key] < 1e-9


def test_every_slip_of_the_catalogue_is_planted():
    assert {slip.key for slip in CATALOGUE} == (
        {*BY_HAND, *OF_RESULT, *ELSEWHERE} - {"in m2", "in cm2", "in in2", "in ft2"}
    )
    assert len(CATALOGUE) >= 25 and {slip.common for slip in CATALOGUE} == set(COMMON)
    assert all(set(slip.phases) <= set("gsl") and slip.phases for slip in CATALOGUE)


# --- nothing is claimed without reason --------------------------------------------------------


@cache
def lot():
    """(right area, outcomes) of rows drawn by lot."""
    found = []
    for case in cases(240, seed=7):
        compute, inputs = area_of(case)
        found.append(outcomes(compute, inputs, (*CATALOGUE, *unit_slips("required_area", "mm2"))))
    return found


@pytest.mark.parametrize("figures", [3, 4])
@pytest.mark.parametrize("near", [0.01, CLOSE])
def test_nothing_is_claimed_of_a_clean_number(figures, near):
    for ways in lot():
        mm2, half = rounded(ways.right * 1e6, figures)
        assert matches(mm2 / 1e6, ways, near, half) == []


@pytest.mark.parametrize("figures, singles, pairs", [(3, 0.07, 0.01), (4, 0.07, 0.03)])
def test_a_number_wrong_at_random_is_seldom_explained(figures, singles, pairs):
    # 0.3 to 3 times the right one: measured 4 to 5 % explained by one slip; by two, 2 % at four
    # figures and 0.2 % at three, where pairs are tried only if half a digit is small
    rng, claims, count = np.random.default_rng(SEED), Counter(), 0
    for ways in lot():
        for factor in np.exp(rng.uniform(np.log(0.3), np.log(3.0), 5)):
            mm2, half = rounded(ways.right * factor * 1e6, figures)
            found, count = matches(mm2 / 1e6, ways, CLOSE, half), count + 1
            claims[len(found[0]) if found else 0] += 1
            text = explain(found)
            assert ("No common slip" in text) == (not found)
            assert ("two slips together may" in text) == bool(found and len(found[0]) == 2)
            assert text.count(". ") <= 1 and text.endswith(".") and len(text) < 480
    assert claims[1] / count <= singles and claims[2] / count <= pairs


def test_two_common_slips_at_once_are_named_as_such():
    # measured: 9 of 10 pairs; nearly all others come so near to a single slip that it is named
    rng, counted = np.random.default_rng(SEED), Counter()
    for ways in lot():
        often = [s for s, v in ways.singles if s.common == "often" and s.change]
        a, b = (often[n] for n in rng.permutation(len(often))[:2])
        number = ways.under((a, b))
        if number is None or abs(number / ways.right - 1) < MOVED:
            continue
        mm2, half = rounded(number * 1e6, 4)
        found = matches(mm2 / 1e6, ways, CLOSE, half)
        named = bool(found) and abs(ways.under(found[0]) / number - 1) < 1e-9
        counted.update(cases=1, named=int(named), single=bool(found) and len(found[0]) == 1)
    assert counted["cases"] > 150
    assert counted["named"] + counted["single"] >= 0.95 * counted["cases"]
    assert counted["named"] >= 0.75 * counted["cases"]


def test_rounded_factors_of_a_sheet_are_allowed_for():
    # a sheet's own C, Kv or atmosphere of 14.7 psi move its number by 0.1 to 0.2 %: the slip is
    # still among the answers; measured 100 %, first 97 %
    rng, counted = np.random.default_rng(SEED), Counter()
    for case in cases(240, seed=13):
        compute, inputs, numbers = planted(case, KEYS)
        ways = outcomes(compute, inputs, (*CATALOGUE, *unit_slips("required_area", "mm2")))
        of = {slip.key: value for slip, value in ways.singles}
        for number in numbers.values():
            mm2, half = rounded(number * 1e6 * (1 + rng.uniform(-2e-3, 2e-3)), 4)
            among, first = said(number, matches(mm2 / 1e6, ways, CLOSE, half), of)
            counted.update(cases=1, found=int(among), first=int(first))
    assert counted["found"] >= 0.99 * counted["cases"]
    assert counted["first"] >= 0.90 * counted["cases"]


# --- how near is near -------------------------------------------------------------------------


def near_to(factor, **options):
    """Keys found for a number beside the one with Z left out (1 for 0.8)."""
    found = find_slips(factor, lambda Z: Z, {"Z": 0.8}, **options)
    return [tuple(slip.key for slip in group) for group in found]


@pytest.mark.parametrize(
    "options, limit",
    [({}, 0.005), ({"tolerance": 0.002}, 0.002), ({"rounding": 0.004, "tolerance": 0.001}, 0.004)],
)
def test_the_tolerance_is_a_share_of_the_number(options, limit):
    for inside, outside in ((1 - 0.998 * limit, 1 - 1.002 * limit),
                            (1 / (1 - 0.998 * limit), 1 / (1 - 1.002 * limit))):  # fmt: skip
        assert near_to(inside, **options) == [("Z left out",)]
        assert near_to(outside, **options) == []


def test_a_slip_that_hardly_moves_the_number_is_none():
    def found(Z):
        return find_slips(1.0, lambda Z: Z, {"Z": Z}, tolerance=0.005)

    # a share of the larger: within twice the tolerance of the right number there is nothing to say
    assert not found(1 - 0.0099) and found(1 - 0.0101)


def test_within_the_rounding_comes_before_common():
    # C = 315 (seldomer) within half a digit of the fourth figure, Z left out (often) farther off
    ways = outcomes(lambda k, Z: Z * k, {"k": 1.25, "Z": 0.8}, CATALOGUE)
    values = {slip.key: value for slip, value in ways.singles}
    assert values["Z left out"] == 1.25 and values["k unknown"] == 0.8 * 1.0001
    options = [Slip("a", "a", scale=2.0, common="often"), Slip("b", "b", scale=2.004)]
    for share, first in ((4.98e-4, "b"), (5.02e-4, "a")):
        found = find_slips(2.004 * (1 - share), lambda x: x, {"x": 1.0}, options)
        assert [group[0].key for group in found][0] == first and len(found) == 2
    assert [g[0].key for g in find_slips(2.002, lambda x: x, {"x": 1.0}, options,
                                         rounding=0.004)] == ["a", "b"]  # fmt: skip


def test_pairs_must_be_nearer_than_one():
    names = {"a": 0.8, "b": 0.6}
    slips = [used_instead("a", 1.0, "a"), used_instead("b", 1.0, "b")]

    def found(stated, **options):
        return find_slips(stated, lambda a, b: a * b, names, slips, **options)

    assert [len(g) for g in found(1.0)] == [2]
    assert found(1 - 0.00099) and not found(1 - 0.00101)  # a fifth of 0.5 %
    assert found(1.0, tolerance=0.01, rounding=0.00199)
    assert not found(1.0, tolerance=0.01, rounding=0.00201)  # too coarsely stated to say so
    assert "two slips together may: a and b" in explain(found(1.0))
    rare = [used_instead("a", 1.0, "a"), used_instead("b", 1.0, "b", "sometimes")]
    assert not find_slips(1.0, lambda a, b: a * b, names, rare)


def test_how_many_more_fit_is_said():
    slips = [Slip(word, word, scale=2.0 + n / 1e4) for n, word in enumerate("abcde")]
    found = find_slips(2.0, lambda x: x, {"x": 1.0}, slips)
    assert explain(found) == "Several slips lead to this number: a; or b; or c (2 more fit)."
    assert explain(found[:3]) == "Several slips lead to this number: a; or b; or c."
    assert explain(found[:1]) == "It is what comes out if a."


def test_slips_made_in_a_question_by_hand():
    def only(compute, **inputs):
        return {slip.key: value for slip, value in outcomes(compute, inputs).singles}

    assert only(lambda Kv: 2.0 / Kv, Kv=0.8)["viscosity ignored"] == 2.0
    assert only(lambda outflow: 5.0 - outflow, outflow=2.0)["credit left out"] == 5.0


def test_one_entry_for_one_number():
    def keys(stated, unit):
        found = find_slips(stated, lambda area: area, {"area": 1.0}, name="area", unit=unit)
        return [group[0].key for group in found]

    assert keys(100.0, "mm2") == ["power of ten +2"]
    assert keys(0.01, "mm2") == ["in cm2"] and keys(100.0, "cm2") == ["in mm2"]
    assert keys(6.4516, "in2") == ["in cm2"] and keys(1e6, None) == ["in mm2"]


def test_phase_decides_what_is_tried():
    def keys(**inputs):
        return {slip.key for slip, _ in outcomes(lambda **i: sum(i.values()), inputs).singles}

    both = {"Kd": 0.7, "mass_flow": 3.0}
    assert "normal for standard volume" in keys(molar_mass=30.0, **both)
    assert "normal for standard volume" not in keys(density=800.0, **both)
    assert "Kd of liquid" in keys(KSH=0.9, **both)
    assert "normal for standard volume" in keys(**both), "no phase said: all are tried"
    assert "normal for standard volume" in keys(molar_mass=30.0, density=800.0, **both)


# --- the other numbers of a sheet -------------------------------------------------------------


def _pressures_by_hand(case):
    """{(column, key): the number as the slip has it [Pa]}."""
    row, P, atm = case.row, case.pressure, case.row.atmosphere
    mawp, own_set = row.get("mawp_gauge"), row.get("set_pressure_gauge")
    sup, var, built = (row.get(n) for n in ("superimposed_gauge", "variable_gauge", "built_up"))
    back, share = sup + var + built + atm, (P - atm) / mawp
    mult, felt = row.get("temperature_multiplier"), case.kind == "conventional"
    bench = (own_set - felt * sup) * mult
    numbers = {
        "relieving_pressure": {
            "right": P, "gauge taken as absolute": P - atm, "absolute raised again": P + atm,
            "set for relieving pressure": own_set + atm, "10 % accumulation": 1.1 * mawp + atm,
            "16 % accumulation": 1.16 * mawp + atm, "21 % accumulation": 1.21 * mawp + atm,
            "accumulation on absolute": share * (mawp + atm), "sea level": P - atm + 101_325.0,
            "accumulation on set": share * own_set + atm, "in psi": P / 6894.757 * 1e5,
        },
        "back_pressure": {
            "right": back, "built-up left out": back - built, "superimposed left out": back - sup,
            "variable left out": back - var, "gauge stated": back - atm,
            "atmosphere twice": back + atm,
        },
        "cold_differential_gauge": {
            "right": bench, "superimposed left out": own_set * mult if felt else bench,
            "superimposed added": (own_set + sup) * mult if felt else bench,
            "multiplier left out": bench / mult, "absolute stated": bench + atm,
            "valve taken as conventional": (own_set - sup) * mult,
        },
    }  # fmt: skip
    return {(c, k): v for c, of in numbers.items() for k, v in of.items() if v > 0}


def _capacities_by_hand(case):
    """The same for the rated capacity [kg/s]: it goes with the inverse of the required area."""
    compute, inputs, areas = planted(case, {
        "gauge taken as absolute", "°C not made absolute", "Z left out", "Kd of liquid",
        "Kb left out", "Kc left out", "KSH left out", "water for the liquid",
    })  # fmt: skip
    if inputs.get("viscosity") or "volume_flow" in inputs:
        return {}
    each = inputs["mass_flow"] / inputs["valves"]
    right = case.installed * each / quietly(compute, inputs)
    numbers = {key: case.installed * each / value for key, value in areas.items()}
    numbers |= {"right": right, "load for capacity": each,
                "capacity of all valves": right * inputs["valves"]}  # fmt: skip
    if case.basis == "certified":
        numbers["area mixed"] = right * orifice_area(case.letter) / case.installed
    return {("rated_capacity", key): value for key, value in numbers.items()}


@cache
def other_shares():
    """{(column, key): Counter of cases, found, first} at four figures."""
    counts = defaultdict(Counter)
    for case in cases(360, seed=17):
        numbers = _pressures_by_hand(case) | _capacities_by_hand(case)
        for column in WAYS:
            right = numbers.get((column, "right"))
            if right is None:
                continue
            way, name, near = WAYS[column]
            unit = "kg/s" if column == "rated_capacity" else "bara"
            unit = "barg" if column.endswith("_gauge") else unit
            compute, inputs, own = way(case)
            ways = outcomes(compute, inputs, (*CATALOGUE, *own, *answer_slips(name, unit)))
            assert ways.right == pytest.approx(right, rel=1e-9), column
            for (where, key), number in numbers.items():
                if where != column or abs(number / right - 1) < MOVED:
                    continue
                stated, half = rounded(number, 4)
                keys = [slip.key for group in matches(stated, ways, near, half) for slip in group]
                counts[where, key].update(cases=1, found=key in keys, first=keys[:1] == [key])
    return dict(counts)


def test_slips_of_the_other_numbers_are_named():
    counts = other_shares()
    assert {column for column, _ in counts} == set(WAYS) - {"required_area"} and len(counts) >= 30
    for key, counted in counts.items():
        assert counted["cases"] >= 14, key
        assert counted["found"] >= FOUND * counted["cases"], (key, counted)
        assert counted["first"] >= FIRST * counted["cases"], (key, counted)
