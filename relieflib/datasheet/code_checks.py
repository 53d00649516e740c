"""The checks of a row's code and of how its valve opens and closes, and of the disk beneath it."""

from relieflib import rules, valve_questions as ask
from relieflib.datasheet.pairs import certified_flow
from relieflib.datasheet.pressures import loss_of_inlet, of_set
from relieflib.datasheet.recompute import mass_flow_of
from relieflib.datasheet.verdict import Check, digits, not_given, verdict
from relieflib.lines.disk_line import NEAR, SHORT


def _code(case):
    """Whose limits have judged: to note where it is not said."""
    if "code" in case.row.cells:
        return None
    words = "not said: the limits of ASME VIII judge; boilers and European equipment have others"
    return not_given("design code", "code", case, recomputed=case.code, reason=words)


def _set_of(case):
    return case.row.get("set_pressure_gauge")


def _pressure_check(case, name, column, answer, words, severity):
    """A `Check` of an `Answer` about a difference of pressure, shown as the sheet's column is."""
    cell = case.row.cells[column]
    scale = 1.0 / _set_of(case) if cell.kind == "dimensionless" else 1.0
    limit, unit = case.in_sheet(column, float(answer.limit) * scale)
    return Check(name, verdict(answer.holds), case.in_sheet(column, float(answer.value) * scale)[0],
                 limit, unit, case.half(column), "" if answer.holds else words, answer.source,
                 severity)  # fmt: skip


def _tolerance(case):
    if "set_tolerance" not in case.row.cells or not _set_of(case):
        return None
    value, half = of_set(case, "set_tolerance")
    answer = ask.set_exact(_set_of(case), value, half, case.code)
    words = f"wider than {case.code} allows"
    return _pressure_check(case, "set tolerance", "set_tolerance", answer, words, 2)


def _blowdown(case):
    if "blowdown" not in case.row.cells or not _set_of(case):
        return None
    value, half = of_set(case, "blowdown")
    liquid = case.row.get("phase") == "liquid"
    answer = ask.blowdown_allowed(_set_of(case), value, liquid, half, case.code)
    if answer.limit != answer.limit:
        return None  # this code has none
    words = f"wider than {case.code} allows"
    return _pressure_check(case, "blowdown allowed", "blowdown", answer, words, 3)


def _closes(case):
    operating = case.row.cells.get("operating_pressure_gauge")
    if "blowdown" not in case.row.cells or operating is None or not _set_of(case):
        return None
    value, half = of_set(case, "blowdown")
    answer = ask.closes_again(_set_of(case), value, operating.value, half + operating.half)
    (stated, unit), (limit, _) = (
        case.in_sheet("operating_pressure_gauge", p) for p in (answer.value, answer.limit)
    )
    words = "" if answer.holds else "it closes below the operating pressure: it would stay open"
    return Check("closing against operating pressure", verdict(answer.holds), stated, limit, unit,
                 case.half("operating_pressure_gauge"), words, answer.source, 2)  # fmt: skip


def _covers_loss(case):
    row = case.row
    if "blowdown" not in row.cells or "inlet_loss" not in row.cells or not _set_of(case):
        return None
    if case.kind == "pilot" and row.get("pilot_sensing") != "valve":
        return None  # what it senses is not behind the loss, or where it senses is not said
    (down, half), (loss, half_loss) = of_set(case, "blowdown"), loss_of_inlet(case)
    pset = _set_of(case)
    answer = ask.blowdown_covers(pset, down, loss * pset, half + half_loss * pset)
    words = "the loss takes the blowdown: the valve closes and opens in turn"
    return _pressure_check(case, "blowdown against inlet loss", "inlet_loss", answer, words, 2)


# ---- capacity that a code counts


def _certified_capacity(case):
    """What the code counts is the certified capacity, whatever the effective area says."""
    row, name = case.row, "certified capacity against load"
    own = certified_flow(case)
    if own is None or row.get("basis") == "certified":
        return None
    need = mass_flow_of(case, row.cells["load"]) / row.get("valves", 1.0)
    good = ask.large_enough(need, own).holds
    words = f"{own / need:.0%} of the load passes by the certified coefficient and actual area"
    return Check(name, verdict(good), digits(own * 3600.0), digits(need * 3600.0), "kg/h",
                 reason=words, source=rules.CERTIFIED_KD.source, severity=1)  # fmt: skip


def _basis_of_code(case):
    """ISO and the boiler code count certified coefficients alone; the effective ones select."""
    if case.code == "ASME VIII" or case.row.get("phase") is None or case.kind == "disk":
        return None
    if case.basis == "certified" or case.row.get("Kd_certified"):
        return None
    if case.row.get("capacity_basis") == "certified":
        return None
    words = (f"{case.code} counts the certified (derated) coefficient with the actual area; what "
             "is recomputed here with the effective ones selects a letter")  # fmt: skip
    return not_given("coefficient by the code", "Kd_certified", case, reason=words, severity=2)


# ---- a rupture disk


def _burst(case):
    """(lowest, highest) burst of the row's disk [Pa gauge], (None, None) without one."""
    row = case.row
    return ask.burst_range(*(row.get(n) for n in BURSTS))


BURSTS = ("burst_pressure_gauge", "burst_low_gauge", "burst_high_gauge")


def _shown(case, pressure):
    name = next(n for n in BURSTS if n in case.row.cells)
    return case.in_sheet(name, pressure)


def _behind_disk(case):
    """Where a disk alone leads: its coefficient holds only straight into the air."""
    if case.kind != "disk":
        return None
    name, said = "what follows the disk", case.row.get("disk_discharge")
    if said is None:
        return not_given(name, "disk_discharge", case, recomputed="open air", severity=1,
                         reason=f"{_ONLY_AIR}; say 'open air' or 'pipe'")  # fmt: skip
    words = _ONLY_AIR if said == "open air" else f"the flow is overrated: {_ONLY_AIR}"
    return Check(name, verdict(said == "open air"), said, "open air", reason=words,
                 source="API 520-I (2020), 5.11; ASME BPVC XIII (VIII-1 UG-127(a)(2))",
                 severity=1)  # fmt: skip


_ONLY_AIR = (
    f"0.62 holds only straight into the air, within {NEAR:g} diameters of the vessel and with at "
    f"most {SHORT:g} of pipe behind the disk, all as wide as itself; in a longer line the flow is "
    "that of the line, by flow resistance"
)
ON_COEFFICIENT = ("area against the load", "required area", "rated capacity",
                  "rated capacity against load", "Kd")  # fmt: skip


def where_disk_leads(case, check):
    """A check that rests on a disk's coefficient: no 'agrees' where that is not known to hold.

    Parameters: case; check, `Check`. Returns `Check`, as it was for anything but a disk alone.
    """
    known = case.kind != "disk" or case.row.get("disk_discharge") == "open air"
    if known or check.verdict != "agrees" or check.name not in ON_COEFFICIENT:
        return check
    words = "; ".join(filter(None, ("not known before what follows the disk is", check.reason)))
    return check._replace(verdict="not given", reason=words, severity=1)


def _burst_against_mawp(case):
    marked, mawp = case.row.cells.get("burst_pressure_gauge"), case.row.get("mawp_gauge")
    if marked is None or mawp is None:
        return None
    role = case.row.get("role", "first")
    answer = ask.set_allowed(marked.value, mawp, role, marked.half, case.code)
    stated, unit = _shown(case, marked.value)
    words = "" if answer.holds else "the disk bursts later than a valve may be set"
    return Check("burst pressure against mawp", verdict(answer.holds), stated,
                 _shown(case, answer.limit)[0], unit, case.half("burst_pressure_gauge"), words,
                 answer.source, 1)  # fmt: skip


def _burst_against_set(case):
    (low, high), pset = _burst(case), _set_of(case)
    if case.kind == "disk" or not pset or (low is None and high is None):
        return None
    limits = rules.BURST_UNDER_SET.value * pset, rules.BURST_OVER_SET.value * pset
    late = high is not None and not ask.kept(high, limits[1])
    early = low is not None and not ask.kept(limits[0], low)
    (a, unit), (b, _) = (_shown(case, p) if p else ("", "") for p in (low, high))
    unit = unit or _shown(case, pset)[1]
    ends = " to ".join(digits(_shown(case, p)[0]) for p in limits)
    words = ("the disk may burst above what the valve is set at: the pair opens late" if late else
             "the disk may burst before the valve is near its set: it is lost, and the space "
             "between is then under pressure" if early else "")  # fmt: skip
    return Check("burst range against set", verdict(not late and not early),
                 " to ".join(filter(None, (digits(a or None), digits(b or None)))), ends, unit,
                 reason=words, source=rules.BURST_OVER_SET.source,
                 severity=2 if late else 3)  # fmt: skip


def _operating_against_burst(case):
    low, cell = _burst(case)[0], case.row.cells.get("operating_pressure_gauge")
    if low is None or cell is None:
        return None
    highest = rules.BURST_OPERATING.value * low
    good = bool(ask.kept(cell.value, highest, cell.half))
    stated, unit = case.in_sheet("operating_pressure_gauge", cell.value)
    words = "" if good else f"above {rules.BURST_OPERATING.number} of the lowest burst: it tires"
    return Check("operating pressure against burst", verdict(good), stated,
                 case.in_sheet("operating_pressure_gauge", highest)[0], unit, 0.0, words,
                 rules.BURST_OPERATING.source + "; its maker's operating ratio rules",
                 2 if cell.value >= low else 3)  # fmt: skip


CHECKS = (
    _code, _tolerance, _blowdown, _closes, _covers_loss, _certified_capacity, _basis_of_code,
    _behind_disk, _burst_against_mawp, _burst_against_set, _operating_against_burst,
)  # fmt: skip
