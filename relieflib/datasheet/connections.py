"""The checks of what the valve is and how it is connected: sizes, flanges, springs, lines."""

import re

from relieflib import rules
from relieflib.datasheet import fluids
from relieflib.datasheet.columns import inches
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.lines.outlet import FLANGES
from relieflib.nozzle.steam import CRITICAL_PRESSURE, saturation_temperature
from relieflib.orifices import (
    COLDEST_CARBON_STEEL,
    PAIRS,
    flange_ratings,
    highest_set_of_class,
    orifice_area,
    usual_designation,
)
from relieflib.tables import rows, source
from relieflib.units import ICE_POINT, to_si
from relieflib.valve_questions import bore_enough, kept

SMALL_SHARE, DOUBTFUL_SHARE = rules.SMALL_SHARE.value, rules.DOUBTFUL_SHARE.value


def _sizes(case):
    """(inlet, outlet) of the valve [in]: of the designation, else of the letter's usual one."""
    named = case.row.get("designation")
    if named is None and case.letter:
        named = usual_designation(case.letter)
    return (inches(named.inlet), inches(named.outlet)) if named else (None, None)


def _orifice_area(case):
    name, letter = "orifice area of the letter", case.letter
    column = "orifice_area" if "orifice_area" in case.row.cells else "actual_area"
    area = case.row.get(column)
    if area is None or letter is None:
        return not_given(name, "orifice_area", case, reason="needs orifice area and letter")
    if (case.basis == "certified" or column == "actual_area") and area > orifice_area(letter):
        here, unit = case.in_sheet(column, area, "area")
        return Check(
            name,
            "agrees",
            here,
            case.in_sheet(column, orifice_area(letter), "area")[0],
            unit,
            reason="actual area, larger than the effective one of the letter",
            source="API 526, table 1",
            severity=2,
        )
    return compare(
        case,
        name,
        column,
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
    if isinstance(flange, str):
        words = f"{flange} is a flange of EN 1092: API 526 lists its valves by class"
        return not_given(name, "inlet_class", case, reason=words, severity=3)
    material = body_material(case)
    if material is not None and not material[2]:
        words = "another material than carbon steel: ask the manufacturer"
        return not_given(name, "inlet_class", case, reason=words, severity=3)
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
    if isinstance(flange, str):
        return _by_pn(case, name, column, flange, gauge)
    material = body_material(case)
    if material is not None and not material[2]:
        words = "another material than carbon steel: its own table of ratings holds"
        return not_given(name, column, case, reason=words, severity=3)
    T = _temperature(case)
    tables = flange_ratings(flange, T or 311.15)
    limit = max(tables)
    if limit != limit:
        return not_given(
            name, column, case, reason="temperature is outside carbon steel: another material"
        )
    found = _pressure_limit(case, name, gauge, limit, FLANGES + ("" if T else ", at 38 °C"), words)
    if found.verdict == "agrees" and gauge > min(tables) * (1 + 1e-6):
        by = "US customary" if tables[1] > tables[0] else "metric"
        other, unit = case.in_sheet("set_pressure_gauge", min(tables))
        found = found._replace(reason=f"by the {by} table alone; the other has {other:.4g} {unit}")
    return found


def _by_pn(case, name, column, flange, gauge):
    """A flange of EN 1092 bears at most its PN in bar, cold; what it bears hot is not held here."""
    limit = to_si(float(flange.removeprefix("PN ")), "barg", "gauge pressure")
    found = _pressure_limit(case, name, gauge, limit, "EN 1092-1, from memory: no material and no "
                            "temperature bears more", f"above {flange} itself")  # fmt: skip
    if found.verdict == "differs":
        return found
    words = f"within {flange} when cold; its rating by material and temperature is not held here"
    return not_given(name, column, case, recomputed=found.recomputed, unit=found.unit,
                     reason=words, severity=3)  # fmt: skip


def body_material(case):
    """(name, lowest temperature [K], carbon steel or not) of a row's body, None where not known.

    Parameters: case. Returns tuple or None. Source: `tables/body_materials.csv`.
    """
    text = case.row.get("material")
    if text is None:
        return None
    for name, words, lowest, carbon in rows("body_materials")[1]:
        if re.search(rf"(?i)(?<![a-z0-9])(?:{words})(?![a-z0-9])", text):
            return name, ICE_POINT + float(lowest), carbon == "yes"
    return None


def _behind(case):
    """Temperature behind the valve of a fluid that is named [K]: it expands at rest, or None."""
    T, row = case.row.get("temperature"), case.row
    if case.fluid is None or not case.pressure or not T or case.back_pressure is None:
        return None
    inlet = fluids.gas_state(case.fluid, case.pressure, T)
    if isinstance(inlet, str) or case.back_pressure >= case.pressure:
        return None
    if row.get("phase") == "two-phase" or (row.get("phase") == "gas" and inlet.is_liquid):
        return None
    end = fluids.state(case.fluid, case.back_pressure, None, None, inlet.enthalpy)
    return None if isinstance(end, str) else end.temperature


def _lowest_temperature(case):
    """The coldest that is stated, or that the fluid reaches behind the valve, against the body."""
    name, row = "lowest temperature of the body", case.row
    cells = [row.cells[n] for n in ("lowest_temperature", "temperature") if n in row.cells]
    behind = _behind(case)
    if "lowest_temperature" not in row.cells and behind is None:
        return None
    coldest = min([c.value for c in cells] + [behind] * (behind is not None))
    half = max((c.half for c in cells), default=0.0)
    words = "behind the valve, where it expands" if coldest == behind else ""
    here, unit = case.in_sheet("lowest_temperature", coldest, "temperature")
    material = body_material(case)
    if material is None:
        limit, _ = case.in_sheet("lowest_temperature", COLDEST_CARBON_STEEL, "temperature")
        if not kept(COLDEST_CARBON_STEEL, coldest, half):
            what = "the material is not known here" if "material" in row.cells else "no material"
            words = "; ".join(filter(None, (f"{what}: carbon steel ends there", words)))
            return not_given(name, "material", case, here, limit, unit, words, 2)
        return Check(name, "agrees", here, limit, unit, half, words, CARBON, 2)
    limit, _ = case.in_sheet("lowest_temperature", material[1], "temperature")
    good = bool(kept(material[1], coldest, half))
    words = "; ".join(filter(None, ("" if good else f"{material[0]} may turn brittle", words)))
    return Check(name, verdict(good), here, limit, unit, half, words, source("body_materials"), 2)


CARBON = "ASME B16.5-2009, group 1.1; carbon steel taken, material not said"


def _bellows_temperature(case):
    """A bellows against the coldest that the row states."""
    row, name = case.row, "lowest temperature of the bellows"
    lowest, own = row.cells.get("lowest_temperature"), row.cells.get("bellows_lowest")
    if case.kind != "balanced" or lowest is None:
        return None
    here, unit = case.in_sheet("lowest_temperature", lowest.value)
    if own is None:
        if lowest.value >= ICE_POINT:  # below, moisture of the bonnet freezes in the convolutions
            return None
        words = "moisture in the bonnet may freeze the bellows: state what its maker allows"
        return not_given(name, "bellows_lowest", case, here, unit=unit, reason=words, severity=3)
    good = bool(kept(own.value, lowest.value, own.half + lowest.half))
    words = "" if good else "colder than the bellows stands"
    limit = case.in_sheet("lowest_temperature", own.value)[0]
    return Check(name, verdict(good), here, limit, unit, lowest.half, words,
                 "the maker's own limit", 2)  # fmt: skip


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
    _inlet_line, _outlet_line, _lowest_temperature, _bellows_temperature,
)  # fmt: skip
