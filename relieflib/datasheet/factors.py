"""The checks of a datasheet's factors: Kd to KSH, C and F2, the basis of area and coefficient."""

from relieflib import rules
from relieflib.datasheet.pairs import implied_K
from relieflib.datasheet.recompute import density_of
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.errors import InputError, ValidityNoted
from relieflib.nozzle.gas import coefficient_C, coefficient_F2, critical_ratio
from relieflib.nozzle.steam import high_pressure_factor, superheat_factor
from relieflib.orifices import orifice_area
from relieflib.sizing import AREA_SOURCE, KV_SOURCE
from relieflib.valve_questions import large_enough

IDEAL_Z = 0.8, 1.1  # range of Z in which the ideal-gas equation holds
FACTOR_CLOSE = 1e-3  # share of a factor, beside half of its last printed digit


def _source(case):
    return AREA_SOURCE.get(case.flow, "API 520-I (2020)")


def recomputed_factors(case):
    """Factors by name as recomputed, None where they do not apply.

    Parameters: case. Returns dict.
    """
    if case.sizing is None:
        return {}
    own = {n: float(v) for n, v in case.sizing.factors.items()} | case.found(_of_conditions)
    if case.kind == "disk":
        own["Kc"] = None
    return own


def _of_conditions(case):
    """Factors that the load does not enter."""
    with ValidityNoted():  # `recompute` has put them into words
        return {"C": _C(case), "F2": _F2(case), "KN": _KN(case), "KSH": _KSH(case)}


def _Kd(case):
    row = case.row
    if row.get("phase") is None:
        return not_given("Kd", "Kd", case, reason="needs the phase", severity=3)
    if case.basis == "certified" and row.get("Kd"):
        limit = rules.CERTIFIED_KD.value
        good = row.get("Kd") <= limit + row.cells["Kd"].half
        return Check(
            "Kd",
            verdict(good),
            row.get("Kd"),
            limit,
            "-",
            row.cells["Kd"].half,
            f"a certified coefficient is {limit:g} times the one measured: never above {limit:g}",
            "ASME BPVC XIII, certification of capacity (VIII-1 UG-131(e))",
            1,
        )
    return compare(
        case,
        "Kd",
        "Kd",
        case.standard_Kd,
        FACTOR_CLOSE,
        source=_source(case),
        above=(1, "above the effective coefficient: the flow is overrated"),
        below=(3, "below the effective coefficient: larger area"),
    )


def _factor(case, name, own, source, chart=0.0, missing="", close=FACTOR_CLOSE):
    """One factor that multiplies the flow: too high overrates it."""
    if own is None:
        return None
    matters = abs(own - 1.0) > 0.005
    if case.row.get(name) is None:
        words = missing if matters else ""
        return not_given(
            name,
            name,
            case,
            recomputed=own,
            unit="-",
            severity=2 if matters else 4,
            reason=words or ("read from a chart" if chart else ""),
        )
    return compare(
        case,
        name,
        name,
        own,
        close,
        source=source,
        chart=chart,
        above=(1 if matters else 3, "too high: the flow is overrated"),
        below=(3, "too low: on the safe side"),
    )


def _of_sizing(case, name):
    return case.factors[name]


def _Kb(case):
    if case.row.get("phase") not in ("gas", "steam") and _of_sizing(case, "Kb") is None:
        return None
    words = "a balanced valve against this back pressure needs it; left out, the area is too small"
    return _factor(
        case,
        "Kb",
        _of_sizing(case, "Kb"),
        "API 520-I (2020), 5.3, typical curve; the manufacturer's own takes precedence",
        0.01 * (case.kind == "balanced"),
        words,
    )


def _Kw(case):
    if case.row.get("phase") != "liquid" and _of_sizing(case, "Kw") is None:
        return None
    words = "a balanced valve against this back pressure needs it; left out, the area is too small"
    return _factor(
        case,
        "Kw",
        _of_sizing(case, "Kw"),
        "API 520-I (2020), 5.3, typical curve; the manufacturer's own takes precedence",
        0.01 * (case.kind == "balanced"),
        words,
    )


def _Kc(case):
    own = _of_sizing(case, "Kc")
    if case.kind == "disk":
        return None
    if case.row.get("Kc") is not None and case.row.get("disk_upstream") is None and own != 1.0:
        return not_given(
            "Kc",
            "disk_upstream",
            case,
            stated=case.row.get("Kc"),
            severity=4,
            reason="Kc given but not whether a disk is upstream",
        )
    return _factor(
        case,
        "Kc",
        own,
        f"API 520-I (2020), 5.11: {rules.DISK_UPSTREAM.number} unless the combination is certified",
        missing=f"a disk stands upstream: {rules.DISK_UPSTREAM.number} unless the combination is "
        "certified",
    )


def _Kv(case):
    if case.flow != "liquid":
        return None
    return _factor(
        case,
        "Kv",
        _of_sizing(case, "Kv"),
        KV_SOURCE[case.row.get("edition", 10)],
        missing="this viscosity needs it; left out, the area is too small",
        close=2e-3,
    )


def _Kp(case):
    return _factor(
        case,
        "Kp",
        _of_sizing(case, "Kp"),
        "API 520-I (2020), 5.9, chart from memory",
        0.02,
        "capacity is not certified: Kp is needed",
    )


def _KN(case):
    if not case.sized or case.row.get("phase") != "steam":
        return None
    return float(high_pressure_factor(case.pressure))


def _KSH(case):
    if not case.sized or case.row.get("phase") != "steam":
        return None
    T = case.steam_temperature
    return (
        1.0 if T is None else float(superheat_factor(case.pressure, T, case.row.get("edition", 10)))
    )


def _check_KN(case):
    return _factor(
        case,
        "KN",
        _KN(case),
        "API 520-I (2020), 5.7",
        missing="above 1500 psia the Napier equation takes it",
    )


def _check_KSH(case):
    return _factor(
        case,
        "KSH",
        _KSH(case),
        "API 520-I (2020), KSH table",
        missing="superheated steam needs it; left out, the area is too small",
        close=5e-3,
    )


def _C(case):
    k, stated = case.row.get("k"), case.row.get("C")
    if case.row.get("phase") != "gas" or k is None or _F2(case) is not None:
        return None
    return coefficient_C(k, "US" if stated is None or stated > 1 else "SI")


def _F2(case):
    row = case.row
    if (
        row.get("phase") != "gas"
        or row.get("k") is None
        or None in (case.pressure, case.back_pressure)
    ):
        return None
    ratio = case.back_pressure / case.pressure
    if ratio >= 1 or ratio <= critical_ratio(row.get("k")) or case.kind == "balanced":
        return None
    return coefficient_F2(row.get("k"), ratio)


def _check_C(case):
    own = None if case.row.get("C") is None else _C(case)
    return None if own is None else _factor(case, "C", own, "API 520-I (2020), 5.6.3")


def _check_F2(case):
    own, words = None if case.row.get("F2") is None else _F2(case), "API 520-I (2020), 5.6.4"
    return None if own is None else _factor(case, "F2", own, f"{words}, read from a chart", 0.01)


def _basis(case):
    """Effective areas go with effective coefficients, actual areas with certified ones."""
    row, name = case.row, "coefficient and area basis"
    Kd, area, letter = row.get("Kd"), row.get("orifice_area") or case.actual_area, case.letter
    if Kd is None or row.get("phase") is None or (area is None and letter is None):
        return not_given(name, "basis", case, reason="needs Kd and an area or a letter", severity=3)
    source = "API 520-I (2020), 5.2, effective area and coefficient; ASME BPVC XIII (UG-131(e))"
    effective = "effective" if case.effective_Kd(Kd) else "certified"
    own = letter and case.actual_area
    of_area = "certified" if own else "effective" if letter else effective
    words, level = f"{effective} Kd, {of_area} area", 4
    if effective == "effective" and own and _two_pairs(case):
        words = "effective Kd selects the letter; the actual area goes with the certified one"
        return Check(name, "agrees", "both", "both", reason=words, source=source, severity=4)
    if effective != of_area:
        words, level = words + ": the two belong to different systems", 3
        if effective == "certified":
            words += ", use the actual area with it"
        elif area and area > orifice_area(letter):
            words += ", the flow is overrated where they are multiplied"
            level = 1 if _hides_small(case, letter) else 3
        derated = rules.CERTIFIED_KD.value
        if abs(Kd - derated * case.standard_Kd) <= row.cells["Kd"].half + 1e-9:
            words += f"; {Kd:g} is {derated:g} times the effective {case.standard_Kd:g}"
    said = row.get("basis")
    good = effective == of_area and said in (None, effective)
    if said and said != effective and effective == of_area:
        words, level = f"said to be {said}, but Kd and area are {effective}", 3
    return Check(
        name, verdict(good), said or effective, of_area, reason=words, source=source, severity=level
    )


def _two_pairs(case):
    """True where the actual area has a certified coefficient, stated or in the capacity."""
    try:
        return bool(case.row.get("Kd_certified") or implied_K(case))
    except InputError:
        return False


def _hides_small(case, letter):
    """True where the effective area is too small for the load, so that the actual one hides it."""
    needed = case.required or case.row.get("required_area")
    return not needed or not large_enough(needed, orifice_area(letter)).holds


def _density_of_gas(case):
    if case.row.get("phase") != "gas" or case.row.get("density") is None:
        return None
    own = density_of(case) if case.sized else None
    return compare(
        case,
        "gas density",
        "density",
        own,
        0.02,
        source="P M/(Z R T)",
        trouble=case.trouble,
        above=(3, "more than P M/(Z R T) at relieving conditions"),
        below=(3, "less than P M/(Z R T) at relieving conditions"),
    )


def _Z_range(case):
    Z = case.row.get("Z")
    if case.row.get("phase") != "gas" or Z is None:
        return None
    good = IDEAL_Z[0] <= Z <= IDEAL_Z[1]
    return Check(
        "range of Z",
        verdict(good),
        Z,
        "0.8 to 1.1",
        reason=""
        if good
        else "outside, the ideal-gas equation misleads: use the real-fluid nozzle",
        source="API 520-I (2020), 5.6.1",
        severity=3,
    )


def _k_range(case):
    k = case.row.get("k")
    if case.row.get("phase") != "gas" or k is None:
        return None
    good = k <= 5 / 3 + 0.005
    return Check(
        "range of k",
        verdict(good),
        k,
        "at most 1.67",
        reason="" if good else "no ideal gas has more than 5/3: looks like cp/cv of the real fluid",
        source="kinetic theory of an ideal gas; API 520-I (2020), 5.6",
        severity=3,
    )


CHECKS = (
    _Kd, _Kb, _Kw, _Kc, _Kv, _Kp, _check_KN, _check_KSH, _check_C, _check_F2,
    _basis, _density_of_gas, _Z_range, _k_range,
)  # fmt: skip
