"""The checks of what the valve is and how it is connected: sizes, flanges, springs, lines."""

from relieflib import rules
from relieflib.datasheet.columns import inches
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.lines.outlet import FLANGES
from relieflib.nozzle.steam import CRITICAL_PRESSURE, saturation_temperature
from relieflib.orifices import (
    PAIRS,
    flange_rating,
    highest_set_of_class,
    orifice_area,
    usual_designation,
)
from relieflib.valve_questions import bore_enough

SMALL_SHARE, DOUBTFUL_SHARE = rules.SMALL_SHARE.value, rules.DOUBTFUL_SHARE.value


def _sizes(case):
    """(inlet, outlet) of the valve [in]: of the designation, else of the letter's usual one."""
    named = case.row.get("designation")
    if named is None and case.letter:
        named = usual_designation(case.letter)
    return (inches(named.inlet), inches(named.outlet)) if named else (None, None)


def _orifice_area(case):
    name, area, letter = "orifice area of the letter", case.row.get("orifice_area"), case.letter
    if area is None or letter is None:
        return not_given(name, "orifice_area", case, reason="needs orifice area and letter")
    if case.basis == "certified" and area > orifice_area(letter):
        here, unit = case.in_sheet("orifice_area", area)
        return Check(
            name,
            "agrees",
            here,
            case.in_sheet("orifice_area", orifice_area(letter))[0],
            unit,
            reason="actual area, larger than the effective one of the letter",
            source="API 526, table 1",
            severity=2,
        )
    return compare(
        case,
        name,
        "orifice_area",
        orifice_area(letter),
        2e-3,
        "API 526, table 1",
        (3, "larger than the letter's effective area: is it the actual one?"),
        (2, "smaller than the letter's effective area"),
    )


def _pair(case):
    named = case.row.get("designation")
    if named is None:
        return not_given(
            "sizes standard for the letter", "designation", case, reason="no designation"
        )
    pairs = ", ".join(f"{i} x {o}" for i, o in PAIRS[named.letter])
    return Check(
        "sizes standard for the letter",
        verdict(named.standard),
        f"{named.inlet} x {named.outlet}",
        pairs,
        reason="" if named.standard else f"not a pair of the letter {named.letter}",
        source="API 526 (as tabulated in Zappe, table 5-1)",
        severity=3,
    )


def _designation(case):
    named, letter = case.row.get("designation"), case.row.get("letter")
    if named is None or letter is None:
        return not_given(
            "letter of the designation", "designation", case, reason="needs letter and designation"
        )
    return Check(
        "letter of the designation",
        verdict(named.letter == letter),
        named.letter,
        letter,
        reason="" if named.letter == letter else "letter and designation disagree",
        source="a designation reads inlet, letter, outlet (common practice, no source)",
        severity=2,
    )


def _oversize(case):
    name = "oversize"
    if case.required is None or case.installed is None:
        return not_given(
            name, "letter", case, reason=case.trouble or "no letter or area", severity=3
        )
    share, smallest = case.required / case.installed, case.letter == "D"
    good = share >= SMALL_SHARE or smallest
    words = f"{share:.0%} of the installed area is used"
    if smallest and share < SMALL_SHARE:
        words += "; D is the smallest letter"
    elif share < DOUBTFUL_SHARE:
        words += (
            f"; below about {100 * SMALL_SHARE:g} to {100 * DOUBTFUL_SHARE:g} % a valve tends to "
            "chatter: fewer, smaller or staggered valves"
        )
    return Check(
        name,
        verdict(good),
        f"{share:.1%}",
        f"{rules.SMALL_SHARE.number} or more",
        reason=words,
        source=rules.SMALL_SHARE.source,
        severity=3,
    )


def _class_of_letter(case):
    row, name = case.row, "set pressure against the inlet class"
    set_gauge, flange = row.get("set_pressure_gauge"), row.get("inlet_class")
    if set_gauge is None or flange is None or case.letter is None:
        return not_given(
            name, "inlet_class", case, reason="needs set pressure, letter and inlet flange class"
        )
    limit, source = (
        highest_set_of_class(case.letter, flange),
        "API 526 tables at 38 °C, from memory",
    )
    if limit is None:
        return Check(
            name,
            "differs",
            str(flange),
            f"no {case.letter} valve of this class",
            reason="the standard has no such valve: ask the manufacturer",
            source=source,
            severity=3,
        )
    if limit != limit:
        words = f"the limit of {case.letter} in this class is not known here: ask the manufacturer"
        return not_given(name, "inlet_class", case, reason=words)
    return _pressure_limit(
        case, name, set_gauge, limit, source, "class too low for the set pressure"
    )


def _pressure_limit(case, name, value, limit, source, words, level=2):
    stated, unit = case.in_sheet("set_pressure_gauge", value)
    good = value <= limit * (1 + 1e-6)
    return Check(
        name,
        verdict(good),
        stated,
        case.in_sheet("set_pressure_gauge", limit)[0],
        unit,
        reason="" if good else words,
        source=source,
        severity=level,
    )


def _temperature(case):
    """Relieving temperature [K], saturation for steam without one, None where unknown."""
    T = case.row.get("temperature")
    if (
        T is None
        and case.row.get("phase") == "steam"
        and (case.pressure or 1e99) < CRITICAL_PRESSURE
    ):
        return saturation_temperature(case.pressure)
    return T


def _rating(case, name, column, gauge, words):
    flange = case.row.get(column)
    if flange is None or gauge is None:
        return not_given(name, column, case, reason="needs flange class and pressure")
    T = _temperature(case)
    limit = flange_rating(flange, T or 311.15)
    if limit != limit:
        return not_given(
            name, column, case, reason="temperature is outside carbon steel: another material"
        )
    return _pressure_limit(case, name, gauge, limit, FLANGES + ("" if T else ", at 38 °C"), words)


def _inlet_rating(case):
    gauge = case.pressure and case.row.get("set_pressure_gauge")
    return _rating(
        case,
        "inlet flange rating at temperature",
        "inlet_class",
        gauge,
        "the flange is not rated for the set pressure when hot",
    )


def _outlet_rating(case):
    gauge = None if case.back_pressure is None else case.back_pressure - case.row.atmosphere
    return _rating(
        case,
        "outlet flange rating",
        "outlet_class",
        gauge,
        "back pressure above the rating of the outlet",
    )


def _line(case, name, column, index, words):
    stated, own = case.row.get(column), _sizes(case)[index]
    if stated is None or own is None:
        return not_given(name, column, case, reason="needs line size and designation or letter")
    good = bool(bore_enough(stated, own))
    return Check(
        name,
        verdict(good),
        stated,
        own,
        "in",
        reason="" if good else words,
        source="API 520-II; ASME BPVC XIII (VIII-1 UG-135(b))",
        severity=2,
    )


def _inlet_line(case):
    return _line(case, "inlet line size", "inlet_size", 0, "smaller than the valve's inlet")


def _outlet_line(case):
    return _line(case, "outlet line size", "outlet_size", 1, "smaller than the valve's outlet")


CHECKS = (
    _orifice_area, _pair, _designation, _oversize, _class_of_letter, _inlet_rating, _outlet_rating,
    _inlet_line, _outlet_line,
)  # fmt: skip
