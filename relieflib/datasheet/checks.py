"""The checks of one datasheet row: what it states beside what is recomputed, most serious first.

Tolerance of a stated number: half of its last printed digit, at most 0.5 % of it, and beside it a
share for what the sheet's other rounded numbers make of it: 1 % of an area or a capacity, 0.2 % of
a pressure, 0.1 % of a factor; factors read from a chart carry the chart's reading error (0.01 to
0.02). Limits (set against MAWP) have the half digit alone, area against the load has none.
"""

from functools import lru_cache, partial

from relieflib.datasheet.code_checks import CHECKS as CODE_CHECKS, where_disk_leads
from relieflib.datasheet.connections import CHECKS as FIT_CHECKS
from relieflib.datasheet.factors import CHECKS as FACTOR_CHECKS
from relieflib.datasheet.fluid_checks import CHECKS as FLUID_CHECKS
from relieflib.datasheet.header_checks import checks_of
from relieflib.datasheet.line_checks import CHECKS as LINE_CHECKS
from relieflib.datasheet.pairs import certified_area, of_pair
from relieflib.datasheet.pressures import CHECKS as PRESSURE_CHECKS
from relieflib.datasheet.reasons import own_factors, slip_words, with_slips
from relieflib.datasheet.recompute import Case, flow_in, mass_flow_of, recompute
from relieflib.datasheet.remembered import asked
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.errors import InputError, Quiet
from relieflib.orifices import LETTERS, orifice_area
from relieflib.sizing import AREA_SOURCE
from relieflib.valve_questions import large_enough

__all__ = ["Case", "Check", "check_row"]
AREA_CLOSE = 0.01


def check_row(row, search=True, plant=None, memory=None):
    """All checks that apply to a row, what differs first, by consequence.

    Parameters: row, `datasheet.Row`; search, False leaves out the search for the slip behind an
    area that differs, which takes longest; plant, whose header the stated back pressures are held
    against where it knows it; memory, `remembered.Memory` of the list that the row is in, None for
    a row by itself. Returns a list of `Check`: verdict 'agrees', 'differs' or 'not given';
    severity 1 not protected, 2 may not work as meant, 3 a number to correct, 4 to note.
    Never raises: what can't be worked out is said in the reason.
    """
    with Quiet():  # `recompute` has put them into words
        kept = memory.of(row) if memory else None
        case = recompute(row, kept)
        case.search = search
        found = kept.all_found(MADE, case) if kept else asked(MADE, case)
        of_header = checks_of(case, plant)
        found += [_ranked(case, c, len(MADE) + n) for n, c in enumerate(of_header)]
    found.sort()
    return [check for _, _, check in found]


def _made(place, check, case):
    """What a check finds, ranked, None where it does not apply; its InputError in words."""
    try:
        found = check(case)
    except InputError as error:
        name = check.__name__.strip("_").replace("check_", "").replace("_", " ")
        found = not_given(name, "", case, reason=str(error))
    return None if found is None else _ranked(case, found, place)


def _ranked(case, check, place):
    """A check of a case behind what it is sorted by; place is its own."""
    check = where_disk_leads(case, check)
    return _ORDER[check.verdict] + check.severity, place, check


_ORDER = {"differs": 0, "not given": 10, "agrees": 20}


def _source(case):
    return AREA_SOURCE.get(case.flow, "API 520-I (2020)")


def _assumed(case, words):
    said = case.said
    return "; ".join([w.rstrip(".") if said else w for w in (words, *said) if w])


# --- is the valve big enough? ---------------------------------------------------------------


def _protects(case):
    name, installed, required = "area against the load", case.installed, case.required
    if required is None or installed is None:
        what = case.trouble or "neither letter nor orifice area given"
        return not_given(name, "orifice_area", case, reason=what, severity=1)
    share = required / installed
    good = large_enough(required, installed).holds
    have, unit = case.in_sheet("required_area", installed, "area")
    need, _ = case.in_sheet("required_area", required, "area")
    words = f"{share:.0%} of the area is used"
    if not good:
        words = f"the valve is too small: it has {1 / share:.1%} of the area that the load needs"
    return Check(
        name,
        verdict(good),
        have,
        need,
        unit,
        0.0,
        _assumed(case, words),
        _source(case) + "; API 526",
        1,
    )


def _required_area(case):
    words, below = own_factors(case), (1, "too small for the load")
    if case.required and case.installed and large_enough(case.required, case.installed).holds:
        below = 3, "too small for the load, though what is installed is large enough"
    found = compare(
        case, "required area", "required_area", case.required, AREA_CLOSE,
        source=_source(case), above=(3, "larger than needed"),
        below=below, trouble=_assumed(case, case.trouble),
        agrees=_assumed(case, words),
    )  # fmt: skip
    if found.verdict != "differs":
        return found
    certified = certified_area(case)
    if certified:
        return found._replace(verdict="agrees", reason=_assumed(case, certified))
    return found._replace(reason=_assumed(case, f"{found.reason}. {words or slip_words(case)}"))


def _letter(case):
    stated, area = case.letter, case.required
    if stated is None or area is None:
        own = case.sizing.letter if case.sizing else None
        return not_given(
            "letter",
            "letter",
            case,
            recomputed=own or "",
            severity=2,
            reason=case.trouble if stated else "no letter given",
        )
    own = case.sizing.letter or "larger than T"
    enough = large_enough(area, orifice_area(stated)).holds
    if case.basis == "certified":
        return Check(
            "letter",
            "agrees",
            stated,
            own,
            reason="the area is certified: the letter is "
            "a name only, see the area against the load",
            source="API 526",
            severity=4,
        )
    words = "" if own == stated else "a larger one than needed" if enough else "too small a letter"
    if own == "larger than T":
        words = "one valve is not enough"
    return Check(
        "letter",
        verdict(enough),
        stated,
        own,
        reason=words,
        source="API 526, table 1: next letter up",
        severity=1,
    )


def _letter_for_stated(case):
    name, cell, letter = (
        "letter for the stated area",
        case.row.cells.get("required_area"),
        case.letter,
    )
    if cell is None or letter is None or case.basis == "certified":
        return not_given(name, "letter", case, severity=4, reason="needs required area and letter")
    if certified_area(case):
        words = "the stated area goes with the certified coefficient: hold the actual area to it"
        return not_given(name, "letter", case, reason=words, severity=4)
    good = large_enough(cell.value, orifice_area(letter), cell.half).holds
    words, level = "the sheet's own required area is larger than its letter", 1
    valves = case.row.get("valves", 1.0)
    each = valves > 1 and large_enough(cell.value / valves, orifice_area(letter), cell.half).holds
    if case.required and large_enough(case.required, orifice_area(letter)).holds:
        words, level = words + ", which is large enough for the load", 3
    if each:
        words = f"{words}: looks like that of all {valves:g} valves, it is asked of one"
        level = level if case.required else 3
    return Check(
        name,
        verdict(good),
        letter,
        _letter_that_holds(cell.value, cell.half),
        reason="" if good else words,
        source="API 526, table 1",
        severity=level,
    )


@lru_cache(4096)
def _letter_that_holds(area, half):
    fits = (n for n, a in LETTERS.items() if large_enough(area, a, half).holds)
    return next(fits, "larger than T")


def _capacity_against_load(case):
    row, name = case.row, "rated capacity against load"
    capacity, load = row.cells.get("rated_capacity"), row.cells.get("load")
    try:
        if not (capacity and load):
            raise InputError("needs load and rated capacity")
        if load.value == 0:
            raise InputError("load is 0")
        each, total = mass_flow_of(case, capacity), mass_flow_of(case, load)
    except InputError as error:
        return not_given(name, "rated_capacity", case, reason=str(error))
    valves = row.get("valves", 1.0)
    half = (capacity.half / capacity.value) * each * valves
    good = large_enough(total, each * valves, half).holds
    need, unit = case.in_sheet(
        "rated_capacity", flow_in(case, total / valves, capacity.kind), capacity.kind
    )
    words = f"{each * valves / total:.0%} of the load passes" + (
        f" by {valves:g} valves" * (valves > 1)
    )
    return Check(
        name,
        verdict(good),
        case.in_sheet("rated_capacity", capacity.value)[0],
        need,
        unit,
        case.half("rated_capacity"),
        words,
        "the load must pass at the relieving pressure",
        1,
    )


def _rated_capacity(case):
    if case.sizing is None or case.installed is None:
        reason = case.trouble or "neither letter nor orifice area given"
        return not_given("rated capacity", "rated_capacity", case, reason=reason)
    if case.basis == "certified" and not (case.row.get("orifice_area") or case.actual_area):
        return not_given(
            "rated capacity",
            "rated_capacity",
            case,
            severity=3,
            reason="a certified coefficient needs the actual orifice area",
        )
    cell = case.row.cells.get("rated_capacity", case.row.cells["load"])
    own = value = None
    try:
        own = case.sizing.flow_through(case.installed)
        value, trouble = flow_in(case, own, cell.kind), ""
    except InputError as error:
        trouble = str(error)
    found = compare(
        case,
        "rated capacity",
        "rated_capacity",
        value,
        AREA_CLOSE,
        kind=cell.kind,
        trouble=trouble,
        source=_source(case) + ", solved for the flow",
        above=(1, "more than the area passes at these conditions"),
        below=(3, "less than the area passes: on the safe side"),
    )
    if own is None:
        return found
    certified = case.row.get("capacity_basis") == "certified"
    if "rated_capacity" in case.row.cells and (certified or found.verdict == "differs"):
        found = of_pair(case, found, own)
    return with_slips(case, found, "rated_capacity", own)


CHECKS = (
    _protects, _required_area, _letter, _letter_for_stated, _capacity_against_load, _rated_capacity,
    *PRESSURE_CHECKS, *FACTOR_CHECKS, *FIT_CHECKS, *FLUID_CHECKS, *CODE_CHECKS, *LINE_CHECKS,
)  # fmt: skip
MADE = [partial(_made, place, check) for place, check in enumerate(CHECKS)]
