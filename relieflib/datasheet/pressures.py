"""The checks of a datasheet's pressures: set, relieving, back and test pressure, regime."""

from relieflib import rules, valve_questions as ask
from relieflib.cause_words import UNCLEAR
from relieflib.datasheet.reasons import with_slips
from relieflib.datasheet.recompute import PRESSURE_CLOSE, parts_of_back_pressure
from relieflib.datasheet.verdict import Check, compare, digits, not_given, verdict
from relieflib.errors import InputError
from relieflib.nozzle.gas import critical_ratio
from relieflib.nozzle.steam import CRITICAL_PRESSURE, saturation_temperature
from relieflib.set_pressure import accumulation_limit, cold_differential

CODE = "ASME BPVC XIII (VIII-1 UG-134)"
LIMIT = "ASME BPVC XIII (VIII-1 UG-125(c)); API 520-I (2020), 5.4"


def _fire(case):
    """Where the words of the cause do not decide: both limits, and that the lower one judges."""
    base = case.row.get("mawp_gauge") or case.row.get("set_pressure_gauge")
    if case.fire is not None or base is None:
        return None
    installation, name = case.row.get("installation", "single"), "is it a fire?"
    limits = [base + accumulation_limit(base, installation, fire) for fire in (False, True)]
    (low, unit), (high, _) = (case.in_sheet("mawp_gauge", p, "gauge pressure") for p in limits)
    words = (f"{UNCLEAR} {digits(high)} {unit} would be allowed in a fire, {digits(low)} {unit} in "
             "any other cause, which judges here: one cause a row, in plain words")  # fmt: skip
    return not_given(name, "cause", case, recomputed=low, unit=unit, reason=words, severity=1)


def _set_against_mawp(case):
    row, name = case.row, "set pressure against mawp"
    cell, mawp = row.cells.get("set_pressure_gauge"), row.get("mawp_gauge")
    if cell is None or mawp is None:
        return not_given(
            name, "set_pressure_gauge", case, severity=2, reason="needs set pressure and mawp"
        )
    role = row.get("role", "first")
    answer = ask.set_allowed(cell.value, mawp, role, cell.half)
    fits = ask.role_allowed(role, case.fire)
    limit, good = answer.limit, answer.holds and fits
    here, unit = case.in_sheet("set_pressure_gauge", limit)
    words = f"highest set of the {role} valve is {limit / mawp:.0%} of mawp"
    if not fits:
        words = "a supplementary valve serves in fire alone"
    if not good and "role" not in row.cells:
        words += "; for an additional valve say so in 'role'"
    return Check(
        name,
        verdict(good),
        case.in_sheet("set_pressure_gauge", cell.value)[0],
        here,
        unit,
        case.half("set_pressure_gauge"),
        words,
        CODE,
        1,
    )


def _accumulation(case):
    row, name = case.row, "accumulation allowed"
    base, cell = (
        row.get("mawp_gauge") or row.get("set_pressure_gauge"),
        row.cells.get("accumulation"),
    )
    if base is None:
        return not_given(
            name, "accumulation", case, reason="needs mawp or set pressure", severity=2
        )
    installation = row.get("installation", "single")
    limit = accumulation_limit(base, installation, bool(case.fire)) / base
    here, unit = case.in_sheet("accumulation", limit, "dimensionless")
    here, unit = (100 * here, "%") if unit == "-" and cell is None else (here, unit)
    words = f"{'fire' if case.fire else installation + ' valve'} limit"
    if cell is None:
        return not_given(
            name, "accumulation", case, recomputed=here, unit=unit, reason=words, severity=4
        )
    rise, half = base * (1 + cell.value), base * cell.half
    good = ask.relieving_allowed(rise, base, installation, case.fire, half).holds
    return Check(
        name,
        verdict(good),
        case.in_sheet("accumulation", cell.value)[0],
        here,
        unit,
        case.half("accumulation"),
        words + ("" if good else " is lower for this cause"),
        LIMIT,
        1,
    )


def _overpressure(case):
    row, name = case.row, "overpressure against mawp"
    set_gauge, cell = row.get("set_pressure_gauge"), row.cells.get("overpressure_fraction")
    if set_gauge is None or cell is None or case.highest_gauge is None:
        return not_given(
            name,
            "overpressure_fraction",
            case,
            severity=4,
            reason="needs overpressure, set pressure and mawp",
        )
    limit = case.highest_gauge / set_gauge - 1
    here, unit = case.in_sheet("overpressure_fraction", limit)
    good = _rises_to(case, set_gauge * (1 + cell.value), set_gauge * cell.half)
    return Check(
        name,
        verdict(good),
        case.in_sheet("overpressure_fraction", cell.value)[0],
        here,
        unit,
        case.half("overpressure_fraction"),
        "" if good else "the vessel would rise above what the code allows",
        LIMIT,
        1,
    )


def _rises_to(case, gauge, half):
    row = case.row
    installation = row.get("installation", "single")
    return ask.relieving_allowed(gauge, row.get("mawp_gauge"), installation, case.fire, half).holds


def _certified(case):
    """Only where the overpressure is below the one at which a capacity is known."""
    set_gauge, name = case.row.get("set_pressure_gauge"), "overpressure of the capacity"
    if set_gauge is None or case.pressure is None or case.kind == "disk":
        return None
    gauge = case.pressure - case.row.atmosphere
    if ask.capacity_certified(set_gauge, gauge).holds:
        return None
    words = (f"{gauge / set_gauge - 1:.1%} of set: a capacity is certified at "
             f"{rules.CERTIFIED.number} or {rules.CERTIFIED_FLOOR.number} and more")  # fmt: skip
    return not_given(name, "overpressure_fraction", case, reason=words, severity=2)


def _relieving_pressure(case):
    words = f"from {case.pressure_basis}" if case.pressure_basis else ""
    found = compare(
        case,
        "relieving pressure",
        "relieving_pressure",
        case.pressure,
        PRESSURE_CLOSE,
        source=LIMIT,
        trouble=case.trouble,
        agrees=words,
        above=(2, f"higher than {case.pressure_basis} gives: the flow is overrated"),
        below=(3, f"lower than {case.pressure_basis} gives: on the safe side"),
    )
    return with_slips(case, found, "relieving_pressure")


def _regime(case):
    row, name = case.row, "flow regime"
    if row.get("phase") != "gas":
        return None
    implied = "subcritical" if row.get("F2") else "choked" if row.get("C") else None
    stated, source = row.get("regime", implied), "API 520-I (2020), 5.6.2"
    if None in (case.pressure, case.back_pressure, row.get("k")):
        return not_given(name, "regime", case, reason=case.trouble, severity=2)
    ratio, limit = case.back_pressure / case.pressure, critical_ratio(row.get("k"))
    own = "choked" if ratio <= limit else "subcritical"
    words = f"back pressure is {ratio:.3f} of the relieving pressure, chokes below {limit:.3f}"
    if stated is None:
        return not_given(name, "regime", case, recomputed=own, reason=words, severity=4)
    return Check(name, verdict(stated == own), stated, own, reason=words, source=source, severity=2)


def _total_back_pressure(case):
    parts = parts_of_back_pressure(case.row)
    own = None if parts is None else parts + case.row.atmosphere
    found = compare(
        case,
        "total back pressure",
        "back_pressure",
        own,
        PRESSURE_CLOSE,
        source="sum of its parts",
        trouble="needs its parts to add up",
        above=(3, "more than its parts together"),
        below=(2, "less than its parts together"),
    )
    return with_slips(case, found, "back_pressure")


def _back_against_relieving(case):
    name = "back pressure against relieving pressure"
    if case.pressure is None or case.back_pressure is None:
        return not_given(name, "back_pressure", case, reason=case.trouble, severity=2)
    back, unit = case.in_sheet("back_pressure", case.back_pressure)
    good = case.back_pressure < case.pressure
    return Check(
        name,
        verdict(good),
        back,
        case.in_sheet("back_pressure", case.pressure)[0],
        unit,
        reason="" if good else "no flow against it, or a flow back",
        source="must be below",
        severity=1,
    )


def _back_of_device(case):
    name, row = "back pressure of this kind of valve", case.row
    set_gauge = row.get("set_pressure_gauge")
    if None in (set_gauge, case.pressure, case.back_pressure) or case.kind == "disk":
        return not_given(name, "built_up", case, reason=case.trouble or "needs set pressure")
    over = case.pressure - row.atmosphere - set_gauge
    if over < 0:
        return not_given(
            name, "built_up", case, reason="relieving pressure is below set", severity=2
        )
    built_up, unit_kind = _built_up(row), _kind(case, "built_up")
    half = max(
        (row.cells[n].half for n in ("built_up", "back_pressure") if n in row.cells), default=0.0
    )
    answer = ask.back_pressure_holds(
        case.kind, set_gauge, over, built_up, case.back_pressure - row.atmosphere, half
    )
    if answer.what == "none":
        return Check(
            name,
            "agrees",
            "pilot",
            "no limit",
            reason="only the flow falls",
            severity=2,
            source=answer.source,
        )
    shown, unit = case.in_sheet("built_up", answer.limit, unit_kind)
    if answer.holds is None:
        return not_given(
            name,
            "built_up",
            case,
            recomputed=shown,
            unit=unit,
            reason="built-up back pressure not given; limit shown",
        )
    return Check(
        name,
        verdict(answer.holds),
        case.in_sheet("built_up", answer.value, unit_kind)[0],
        shown,
        unit,
        case.in_sheet("built_up", answer.limit + half, unit_kind)[0] - shown,
        f"{row.get('device_type', 'conventional, not said')}: {_BACK_WORDS[answer.what]}",
        answer.source,
        2,
    )


_BACK_WORDS = {
    "built-up": "a conventional valve takes built-up and variable back pressure up to its "
                "overpressure",
    "total": "a balanced valve takes about half of set, less by its maker's curve",
}  # fmt: skip


def _kind(case, name):
    cell = case.row.cells.get(name)
    return cell.kind if cell else "pressure difference"


def _built_up(row):
    """Back pressure that no spring is set against, built-up and variable [Pa]; None: not given."""
    variable, total = row.get("variable_gauge") or 0.0, row.get("back_pressure")
    if row.get("built_up") is not None:
        return row.get("built_up") + variable
    if total is None:
        return None if parts_of_back_pressure(row) is None else variable
    rest = total - row.atmosphere - row.get("superimposed_gauge", 0.0)
    return rest if rest > row.cells["back_pressure"].half else 0.0


def _opening(case):
    row, name = case.row, "opening against variable back pressure"
    variable, set_gauge, mawp = (
        row.get(n) for n in ("variable_gauge", "set_pressure_gauge", "mawp_gauge")
    )
    if case.kind not in ask.FEELS_BACK_PRESSURE:
        return None
    if variable is None and parts_of_back_pressure(row) is not None:
        return None  # the parts that are not given count as none
    if None in (variable, set_gauge, mawp):
        words = "needs variable superimposed back pressure, set pressure and mawp"
        level = 4 if variable is None else 2
        return not_given(name, "variable_gauge", case, reason=words, severity=level)
    answer = ask.opens_in_time(case.kind, set_gauge, variable, mawp, row.get("role", "first"))
    opens, unit = case.in_sheet("set_pressure_gauge", answer.value)
    words = f"a {case.kind} valve opens later by the variable back pressure"
    words = words.replace("disk valve", "disk")
    return Check(
        name,
        verdict(answer.holds),
        opens,
        case.in_sheet("set_pressure_gauge", answer.limit)[0],
        unit,
        reason=words + ("" if answer.holds else
                        ", above the highest set: use a balanced or pilot one"),
        source="API 520-I (2020), 5.3",
        severity=1,
    )  # fmt: skip


def _test_pressure(case):
    row, name = case.row, "cold differential test pressure"
    set_gauge = row.get("set_pressure_gauge")
    if set_gauge is None or case.kind == "disk":
        return not_given(name, "cold_differential_gauge", case, reason="needs set pressure")
    superimposed = row.get("superimposed_gauge", 0.0)
    try:
        own = cold_differential(
            set_gauge, superimposed, case.kind, row.get("temperature_multiplier", 1.0)
        )
    except InputError as error:
        return not_given(name, "cold_differential_gauge", case, reason=str(error), severity=2)
    hot = ""
    if row.get("temperature", 0.0) > 400.0 and row.get("temperature_multiplier") is None:
        hot = "; a hot valve takes its manufacturer's multiplier, a few per cent up: give it"
    words = "set less the constant superimposed back pressure" + hot
    found = compare(
        case,
        name,
        "cold_differential_gauge",
        own,
        2e-3,
        "API 520-I (2020), 5.2",
        (2, "it would open too late; " + words),
        (3, "it would open too early; " + words),
        agrees=words,
    )
    return with_slips(case, found, "cold_differential_gauge")


def _steam_temperature(case):
    row, name = case.row, "steam temperature against saturation"
    if row.get("phase") != "steam" or case.pressure is None:
        return None
    if case.pressure > CRITICAL_PRESSURE:
        return not_given(name, "temperature", case, reason="above the critical pressure of water")
    own, unit = case.in_sheet("temperature", saturation_temperature(case.pressure))
    cell = row.cells.get("temperature")
    if cell is None:
        return not_given(
            name, "temperature", case, recomputed=own, unit=unit, reason="taken as saturated"
        )
    below = cell.value < saturation_temperature(case.pressure) - 0.5 - cell.half
    words = "water at this pressure is liquid there" if below else "superheated or saturated"
    return Check(
        name,
        verdict(not below),
        case.in_sheet("temperature", cell.value)[0],
        own,
        unit,
        0.5,
        words,
        "IAPWS-IF97, equation 31",
        1,
    )


def _operating(case):
    cell, set_gauge = (
        case.row.cells.get("operating_pressure_gauge"),
        case.row.get("set_pressure_gauge"),
    )
    if cell is None or set_gauge is None:
        return not_given(
            "operating margin",
            "operating_pressure_gauge",
            case,
            reason="needs operating and set pressure",
        )
    stated, unit = case.in_sheet("operating_pressure_gauge", cell.value)
    highest = (1 - rules.OPERATING_MARGIN.value) * set_gauge
    limit, _ = case.in_sheet("operating_pressure_gauge", highest)
    good = bool(ask.kept(cell.value, highest, cell.half))
    near = f"within {rules.OPERATING_MARGIN.number} of set"
    words = "" if good else f"{near} the valve may simmer or not close again"
    if cell.value >= set_gauge:
        words = "at or above set: the valve would open in normal operation"
    return Check(
        "operating margin",
        verdict(good),
        stated,
        limit,
        unit,
        0.0,
        words,
        rules.OPERATING_MARGIN.source,
        3,
    )


def _inlet_loss(case):
    cell, set_gauge = case.row.cells.get("inlet_loss"), case.row.get("set_pressure_gauge")
    if cell is None or set_gauge is None:
        return not_given(
            "inlet loss", "inlet_loss", case, reason="needs inlet loss and set pressure"
        )
    share = cell.value if cell.kind == "dimensionless" else cell.value / set_gauge
    half = cell.half if cell.kind == "dimensionless" else cell.half / set_gauge
    answer = ask.inlet_holds(case.kind, share, 1.0, half=half)
    words = ""
    if case.kind == "pilot":
        words = "a pilot that senses at the vessel may take more: where it senses is not said"
    elif not answer.holds:
        words = "more may make the valve chatter; an engineering analysis may justify it"
    return Check(
        "inlet loss",
        "not given" if answer.holds is None else verdict(answer.holds),
        100 * share,
        100 * answer.limit,
        "%",
        100 * half,
        words,
        "API 520-II, non-recoverable loss at rated flow up to "
        f"{rules.INLET_LOSS.number} {rules.INLET_LOSS.of}",
        2,
    )


CHECKS = (
    _fire, _set_against_mawp, _accumulation, _overpressure, _certified, _relieving_pressure,
    _regime, _total_back_pressure, _back_against_relieving, _back_of_device, _opening,
    _test_pressure, _steam_temperature, _inlet_loss, _operating,
)  # fmt: skip
