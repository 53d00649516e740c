"""The checks of a datasheet's pressures: set, relieving, back and test pressure, regime."""

from relieflib.datasheet.reasons import with_slips
from relieflib.datasheet.recompute import PRESSURE_CLOSE, parts_of_back_pressure
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.devices import back_pressure_limit
from relieflib.errors import InputError
from relieflib.nozzle.gas import critical_ratio
from relieflib.nozzle.steam import CRITICAL_PRESSURE, saturation_temperature
from relieflib.set_pressure import accumulation_limit, cold_differential, highest_set

CODE = "ASME BPVC XIII (VIII-1 UG-134)"
LIMIT = "ASME BPVC XIII (VIII-1 UG-125(c)); API 520-I (2020), 5.4"
HIGHEST_LOSS = 0.03  # of set pressure; API 520-II


def _set_against_mawp(case):
    row, name = case.row, "set pressure against mawp"
    cell, mawp = row.cells.get("set_pressure_gauge"), row.get("mawp_gauge")
    if cell is None or mawp is None:
        return not_given(
            name, "set_pressure_gauge", case, severity=2, reason="needs set pressure and mawp"
        )
    role = row.get("role", "first")
    limit = highest_set(mawp, role)
    good = cell.value <= limit + cell.half
    here, unit = case.in_sheet("set_pressure_gauge", limit)
    words = f"highest set of the {role} valve is {limit / mawp:.0%} of mawp"
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
    limit = accumulation_limit(base, row.get("installation", "single"), case.fire) / base
    here, unit = case.in_sheet("accumulation", limit, "dimensionless")
    here, unit = (100 * here, "%") if unit == "-" and cell is None else (here, unit)
    words = f"{'fire' if case.fire else row.get('installation', 'single') + ' valve'} limit"
    if cell is None:
        return not_given(
            name, "accumulation", case, recomputed=here, unit=unit, reason=words, severity=4
        )
    good = cell.value <= limit + cell.half
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
    good = cell.value <= limit + cell.half
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
    what, limit = back_pressure_limit(case.kind, set_gauge, over)
    if what == "none":
        return Check(
            name,
            "agrees",
            "pilot",
            "no limit",
            reason="only the flow falls",
            severity=2,
            source="API 520-I (2020), 5.3",
        )
    built_up = _built_up(row)
    value = built_up if what == "built-up" else case.back_pressure - row.atmosphere
    shown, unit = case.in_sheet("built_up", limit, _kind(case, "built_up"))
    if value is None:
        return not_given(
            name,
            "built_up",
            case,
            recomputed=shown,
            unit=unit,
            reason="built-up back pressure not given; limit shown",
        )
    half = max(
        (row.cells[n].half for n in ("built_up", "back_pressure") if n in row.cells), default=0.0
    )
    stated, _ = case.in_sheet("built_up", value, _kind(case, "built_up"))
    near = case.in_sheet("built_up", limit + half, _kind(case, "built_up"))[0] - shown
    good = value <= limit + half + 1e-6 * set_gauge
    words = {
        "built-up": "a conventional valve takes built-up back pressure up to its overpressure",
        "total": "a balanced valve takes about half of set, less by its maker's curve",
    }[what]
    return Check(
        name,
        verdict(good),
        stated,
        shown,
        unit,
        near,
        f"{row.get('device_type', 'conventional, not said')}: {words}",
        "API 520-I (2020), 5.3",
        2,
    )


def _kind(case, name):
    cell = case.row.cells.get(name)
    return cell.kind if cell else "pressure difference"


def _built_up(row):
    if row.get("built_up") is not None or row.get("back_pressure") is None:
        return row.get("built_up", 0.0 if parts_of_back_pressure(row) is not None else None)
    outside = row.get("superimposed_gauge", 0.0) + row.get("variable_gauge", 0.0)
    rest = row.get("back_pressure") - row.atmosphere - outside
    return rest if rest > row.cells["back_pressure"].half else 0.0


def _variable(case):
    row, name = case.row, "opening against variable back pressure"
    variable, set_gauge, mawp = (
        row.get(n) for n in ("variable_gauge", "set_pressure_gauge", "mawp_gauge")
    )
    if variable is None or case.kind != "conventional":
        return None
    if set_gauge is None or mawp is None:
        return not_given(
            name, "variable_gauge", case, reason="needs set pressure and mawp", severity=2
        )
    limit = highest_set(mawp, row.get("role", "first"))
    opens, unit = case.in_sheet("set_pressure_gauge", set_gauge + variable)
    good = set_gauge + variable <= limit * (1 + 1e-6)
    words = "a conventional valve opens later by the variable back pressure"
    return Check(
        name,
        verdict(good),
        opens,
        case.in_sheet("set_pressure_gauge", limit)[0],
        unit,
        reason=words if good else words + ", above the highest set: use a balanced or pilot one",
        source="API 520-I (2020), 5.3",
        severity=1,
    )


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
        "API 520-I (2020), clause not seen",
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
    limit, _ = case.in_sheet("operating_pressure_gauge", 0.9 * set_gauge)
    good = cell.value <= 0.9 * set_gauge + cell.half
    words = "" if good else "within 10 % of set the valve may simmer or not close again"
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
        "API 520-I (2020), clause not seen: 10 % is the usual aim",
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
    good = share <= HIGHEST_LOSS + half or case.kind == "pilot"
    words = (
        "a pilot that senses at the vessel may take more"
        if case.kind == "pilot"
        else (
            ""
            if good
            else "more may make the valve chatter; an engineering analysis may justify it"
        )
    )
    return Check(
        "inlet loss",
        verdict(good),
        100 * share,
        3.0,
        "%",
        100 * half,
        words,
        "API 520-II, non-recoverable loss at rated flow up to 3 % of set",
        2,
    )


CHECKS = (
    _set_against_mawp, _accumulation, _overpressure, _relieving_pressure, _regime,
    _total_back_pressure, _back_against_relieving, _back_of_device, _variable, _test_pressure,
    _steam_temperature, _inlet_loss, _operating,
)  # fmt: skip
