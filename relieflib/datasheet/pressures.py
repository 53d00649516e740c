"""The checks of a datasheet's pressures: set, relieving, back and test pressure, regime."""

from functools import lru_cache

from relieflib import rules, valve_questions as ask
from relieflib.cause_words import UNCLEAR
from relieflib.datasheet.reasons import with_slips
from relieflib.datasheet.recompute import (
    PRESSURE_CLOSE,
    frame_of,
    parts_of_back_pressure,
    size_inputs,
    vapour_pressure,
)
from relieflib.datasheet.verdict import Check, compare, digits, not_given, verdict
from relieflib.errors import InputError
from relieflib.nozzle.gas import critical_ratio
from relieflib.nozzle.steam import CRITICAL_PRESSURE, saturation_temperature
from relieflib.set_pressure import cold_differential


def _fire(case):
    """Where the words of the cause do not decide: both limits, and that the lower one judges."""
    base = case.row.get("mawp_gauge") or case.row.get("set_pressure_gauge")
    if case.fire is not None or base is None:
        return None
    name = "is it a fire?"
    limits = [base + _accumulates(case, base, fire)[0] for fire in (False, True)]
    if limits[0] == limits[1]:
        return None  # this code makes no difference
    (low, unit), (high, _) = (case.in_sheet("mawp_gauge", p, "gauge pressure") for p in limits)
    words = (f"{UNCLEAR} {digits(high)} {unit} would be allowed in a fire, {digits(low)} {unit} in "
             "any other cause, which judges here: one cause a row, in plain words")  # fmt: skip
    return not_given(name, "cause", case, recomputed=low, unit=unit, reason=words, severity=1)


def _accumulates(case, base, fire):
    return _rise(case.code, base, case.installation, bool(fire))


_rise = lru_cache(4096)(ask.accumulation_of)


def _set_against_mawp(case):
    row, name = case.row, "set pressure against mawp"
    cell, mawp = row.cells.get("set_pressure_gauge"), row.get("mawp_gauge")
    if cell is None or mawp is None:
        return not_given(
            name, "set_pressure_gauge", case, severity=2, reason="needs set pressure and mawp"
        )
    role = row.get("role", "first")
    answer = ask.set_allowed(cell.value, mawp, role, cell.half, case.code)
    fits = ask.role_allowed(role, case.fire)
    limit, good = answer.limit, answer.holds and fits
    if not good and "role" not in row.cells:
        higher = _higher_role(case, cell, mawp)
        if higher is not None:
            return higher
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
        answer.source,
        1,
    )


def _higher_role(case, cell, mawp):
    """A set above MAWP among several valves: right for another role than the first, if it is one.

    'not given' where it fits one of those, None where it fits none or the valve stands alone.
    """
    roles = ["additional"] + ["fire supplement"] * (case.fire is True)
    if case.installation != "multiple":
        return None
    for role in roles:
        answer = ask.set_allowed(cell.value, mawp, role, cell.half, case.code)
        if answer.holds:
            here, unit = case.in_sheet("set_pressure_gauge", answer.limit)
            words = (f"above mawp: right only for the {role} valve beside one that is set at or "
                     f"below mawp, up to {answer.limit / mawp:.0%}; say so in 'role'")  # fmt: skip
            return not_given("set pressure against mawp", "set_pressure_gauge", case,
                             recomputed=here, unit=unit, reason=words, severity=1)  # fmt: skip
    return None


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
    installation = case.installation
    limit, source = _accumulates(case, base, bool(case.fire))
    limit /= base
    here, unit = case.in_sheet("accumulation", limit, "dimensionless")
    here, unit = (100 * here, "%") if unit == "-" and cell is None else (here, unit)
    words = f"{'fire' if case.fire else installation + ' valve'} limit"
    if case.code != "ASME VIII":
        words = f"limit of {case.code}" + (_NO_FIRE if case.fire and case.code == "PED" else "")
    if cell is None:
        return not_given(
            name, "accumulation", case, recomputed=here, unit=unit, reason=words, severity=4
        )
    rise, half = base * (1 + cell.value), base * cell.half
    good = ask.relieving_allowed(rise, base, installation, case.fire, half, case.code).holds
    return Check(
        name,
        verdict(good),
        case.in_sheet("accumulation", cell.value)[0],
        here,
        unit,
        case.half("accumulation"),
        words + ("" if good else " is lower for this cause"),
        source,
        1,
    )


_NO_FIRE = ", also in fire, for which the directive asks a damage limit without a number"


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
        _accumulates(case, row.get("mawp_gauge"), bool(case.fire))[1],
        1,
    )


def _rises_to(case, gauge, half):
    row = case.row
    return ask.relieving_allowed(
        gauge, row.get("mawp_gauge"), case.installation, case.fire, half, case.code
    ).holds


def _certified(case):
    """Only where the overpressure is below the one at which a capacity is known."""
    set_gauge, name = case.row.get("set_pressure_gauge"), "overpressure of the capacity"
    if set_gauge is None or case.pressure is None or case.kind == "disk":
        return None
    gauge = case.pressure - case.row.atmosphere
    answer = ask.capacity_certified(set_gauge, gauge, case.code)
    if answer.holds:
        return None
    words = (f"{gauge / set_gauge - 1:.1%} of set: a capacity is certified at "
             f"{ask.certified_overpressure(set_gauge, case.code) / set_gauge:.1%} and more "
             f"({answer.source})")  # fmt: skip
    return not_given(name, "overpressure_fraction", case, reason=words, severity=2)


def _relieving_pressure(case):
    words = f"from {case.pressure_basis}" if case.pressure_basis else ""
    found = compare(
        case,
        "relieving pressure",
        "relieving_pressure",
        case.pressure,
        PRESSURE_CLOSE,
        source=_rise(case.code, 1e6, "single", False)[1],
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
    if "device_type" in row.unreadable:
        words = "'device type' can't be read"
        return not_given(name, "built_up", case, reason=words, severity=2)
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
    role = row.get("role", "first")
    answer = ask.opens_in_time(case.kind, set_gauge, variable, mawp, role, code=case.code)
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
    rule = rules.PILOT_MARGIN if case.kind == "pilot" else rules.OPERATING_MARGIN
    highest = (1 - rule.value) * set_gauge
    limit, _ = case.in_sheet("operating_pressure_gauge", highest)
    good = bool(ask.kept(cell.value, highest, cell.half))
    near, level = f"within {rule.number} of set the valve may simmer or not close again", 3
    words = "" if good else near
    if cell.value >= set_gauge:
        words, level = "at or above set: the valve would open in normal operation", 2
    if cell.value > (case.row.get("mawp_gauge") or cell.value):
        above = "above mawp: the vessel is overloaded in normal operation"
        good, words, level = False, "; ".join(filter(None, (words, above))), 1
    return Check(
        "operating margin",
        verdict(good),
        stated,
        limit,
        unit,
        0.0,
        words,
        rule.source,
        level,
    )


SENSES = {"vessel": True, "valve": False, None: None}


def loss_of_inlet(case):
    """Inlet loss that a row states, and half its last digit, both of set [-].

    Parameters: case, with an inlet loss and a set pressure. Returns (float, float).
    """
    cell, set_gauge = case.row.cells["inlet_loss"], case.row.get("set_pressure_gauge")
    scale = 1.0 if cell.kind == "dimensionless" else 1.0 / set_gauge
    return cell.value * scale, cell.half * scale


def of_set(case, name):
    """A cell that is stated of set or as a pressure, and half its last digit [Pa].

    Parameters: case, with a set pressure; name of the column. Returns two floats.
    """
    cell, set_gauge = case.row.cells[name], case.row.get("set_pressure_gauge")
    scale = set_gauge if cell.kind == "dimensionless" else 1.0
    return cell.value * scale, cell.half * scale


def _loss_limit(case):
    """Share of set that the inlet line may lose, and its words: of a European valve by blowdown."""
    limit, words = rules.INLET_LOSS.value, f"{rules.INLET_LOSS.number} {rules.INLET_LOSS.of}"
    source = f"API 520-II, non-recoverable loss at rated flow up to {words}"
    if case.code == "PED" and "blowdown" in case.row.cells:
        own = of_set(case, "blowdown")[0] / case.row.get("set_pressure_gauge")
        third = rules.ISO_INLET_SHARE
        return min(limit, third.value * own), f"{source}; {third.source}, {third.number} {third.of}"
    return limit, source


def _inlet_loss(case):
    cell, set_gauge = case.row.cells.get("inlet_loss"), case.row.get("set_pressure_gauge")
    if cell is None or set_gauge is None:
        return not_given(
            "inlet loss", "inlet_loss", case, reason="needs inlet loss and set pressure"
        )
    share, half = loss_of_inlet(case)
    limit, source = _loss_limit(case)
    remote = SENSES[case.row.get("pilot_sensing")] if case.kind == "pilot" else None
    if remote:
        return _loss_takes(case, share, source)
    answer = ask.inlet_holds(case.kind, share, 1.0, limit, remote, half=half)
    words = ""
    if case.kind == "pilot" and remote is None:
        words = "a pilot that senses at the vessel may take more: where it senses is not said"
    elif not answer.holds:
        words = "more may make the valve chatter; an engineering analysis may justify it"
    level = 2
    return Check(
        "inlet loss",
        "not given" if answer.holds is None else verdict(answer.holds),
        100 * share,
        100 * answer.limit,
        "%",
        100 * half,
        words,
        source,
        level,
    )


def _loss_takes(case, share, source):
    """A pilot that senses at the vessel: no limit, but the pressure left must pass the load."""
    name, loss = "inlet loss", share * case.row.get("set_pressure_gauge")
    if case.required is None or case.installed is None:
        words = "senses at the vessel: no limit, but whether the flow still passes is not known"
        return not_given(name, "inlet_loss", case, reason=words, severity=2)
    left = case.inputs | {"pressure": case.pressure - loss}
    needed = size_inputs(left, **frame_of(case)).required_area
    good = ask.large_enough(needed, case.installed).holds
    words = (f"senses at the vessel: no limit; with the pressure left at the valve "
             f"{needed / case.installed:.0%} of the area is used")  # fmt: skip
    return Check(name, verdict(good), 100 * share, "no limit", "%", reason=words, source=source,
                 severity=2 if good else 1)  # fmt: skip


def _bellows(case):
    """The bellows' own limit, whatever share of set the back pressure is."""
    text = case.row.cells["device_type"].text if "device_type" in case.row.cells else ""
    if case.kind != "balanced" or "piston" in text.casefold():
        return None
    cell = case.row.cells.get("bellows_limit_gauge")
    if case.back_pressure is None or (cell is None and case.letter is None):
        return None
    back = case.back_pressure - case.row.atmosphere
    half = max((case.row.cells[n].half for n in ("back_pressure", "built_up")
                if n in case.row.cells), default=0.0)  # fmt: skip
    answer = ask.bellows_holds(case.letter, back, cell and cell.value, half)
    (here, unit), (limit, _) = (
        case.in_sheet("bellows_limit_gauge", p, cell.kind if cell else "gauge pressure")
        for p in (back, answer.limit)
    )
    name = "back pressure against the bellows"
    if answer.holds is None:
        words = (f"above {digits(limit)} {unit} that the standard gives a bellows of "
                 f"{case.letter}: state the maker's own limit")  # fmt: skip
        return not_given(name, "bellows_limit_gauge", case, here, limit, unit, words, 2)
    words = "" if answer.holds else "the bellows may fail: the valve is then a conventional one"
    return Check(name, verdict(answer.holds), here, limit, unit, half, words, answer.source, 2)


def _stays_liquid(case):
    """A liquid hotter than it may be boils on its way, and its equation no longer holds."""
    row, name = case.row, "liquid that boils on its way"
    if row.get("phase") != "liquid" or case.back_pressure is None or case.pressure is None:
        return None
    Ps = vapour_pressure(case)
    if Ps is None:
        words = "vapour pressure not given: taken as a liquid that does not boil"
        return not_given(name, "saturation_pressure", case, reason=words, severity=3)
    (back, unit), (own, _) = (
        case.in_sheet("saturation_pressure", p, "pressure") for p in (case.back_pressure, Ps)
    )
    half = row.cells["saturation_pressure"].half if "saturation_pressure" in row.cells else 0.0
    good = bool(ask.kept(Ps, case.back_pressure, half))
    source = "vapour pressure below the back pressure; API 520-I (2020), Annex C"
    if good:
        return Check(name, "agrees", back, own, unit, half, "", source, 1)
    told = not case.fluid and "saturation_pressure" not in row.cells
    if Ps > case.pressure + half:
        words = "it boils at the inlet already: no liquid stands there"
    elif any(row.get(n) for n in ("omega", "density_90")):
        return Check(name, "agrees", back, own, unit, half,
                     "it boils on its way, and is sized so", source, 1)  # fmt: skip
    else:
        words = "it boils on its way: the equation of a liquid overrates the flow"
    if told:
        return not_given(name, "saturation_pressure", case, back, own, unit,
                         f"if this is water, {words}", 1)  # fmt: skip
    fits = case.required and case.installed
    fits = fits and ask.large_enough(case.required, case.installed).holds
    if fits:
        words += "; what is installed is large enough all the same"
    return Check(name, "differs", back, own, unit, half, words, source, 3 if fits else 1)


CHECKS = (
    _fire, _set_against_mawp, _accumulation, _overpressure, _certified, _relieving_pressure,
    _regime, _total_back_pressure, _back_against_relieving, _back_of_device, _opening,
    _test_pressure, _steam_temperature, _stays_liquid, _inlet_loss, _bellows, _operating,
)  # fmt: skip
