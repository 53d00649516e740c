"""Two pairs of one valve: effective Kd and area that select it, certified K and area that it has.

A sheet may state its required area by the one and its capacity by the other: ordinary practice, not
a fault. The certified pair passes more than the effective one, of gas a few per cent, of liquid by
a certified trim up to about a third; never less (API 526 asks for it).
"""

from dataclasses import replace

from relieflib import rules
from relieflib.datasheet.recompute import flow_in, mass_flow_of
from relieflib.datasheet.verdict import digits, not_given
from relieflib.orifices import orifice_area
from relieflib.sizing import rated_flow
from relieflib.valve_questions import certified_overpressure, kept

CLOSE = 0.01  # share: factors and areas that are rounded
LEAST_K = 0.5  # guard: no certified coefficient of a valve lies below
SOURCE = "API 520-I (2020), 5.2; API 526; ASME BPVC XIII (formerly VIII-1 UG-131(e))"


def certified_flow(case):
    """Flow of one valve by its certified coefficient and actual area [kg/s], None without them.

    Parameters: case. Returns float or None. Source: as the equation of the phase, K A for Kd A.
    """
    K = case.row.get("Kd_certified")
    if K is None and case.basis == "certified":
        K = case.row.get("Kd")
    if K is None or case.actual_area is None or case.sizing is None:
        return None
    return K * case.actual_area * flow_per_area(case)


def flow_per_area(case):
    """Flow over Kd and area [kg/(m2 s)] at the row's conditions.

    Parameters: case, with a sizing. Returns float. Source: the equation of the phase.
    """
    s = case.sizing
    area = case.installed or case.actual_area or s.area
    return s.flow_through(area) / (area * float(s.factors["Kd"]))


def _near(value, other):
    return abs(value - other) <= CLOSE * other


def _surplus(case):
    rule = rules.LIQUID_SURPLUS if case.flow == "liquid" else rules.CERTIFIED_SURPLUS
    return rule.value


def implied_K(case):
    """Certified coefficient that the stated capacity has with the actual area, None without one.

    Parameters: case, with a sizing. Returns float or None: only where the capacity is that of a
    pair that may be certified, no coefficient above its limit and no flow below the effective one.
    """
    cell = case.row.cells.get("rated_capacity")
    if cell is None or case.actual_area is None or case.letter is None or case.sizing is None:
        return None
    K = mass_flow_of(case, cell) / (case.actual_area * flow_per_area(case))
    least = case.standard_Kd * orifice_area(case.letter) / case.actual_area
    above = not kept(K, rules.CERTIFIED_KD.value * (1 + CLOSE))
    return None if above or K < max(LEAST_K, least * (1 - CLOSE)) else K


def of_pair(case, check, own):
    """A rated capacity that differs from its area's, where it belongs to the other pair.

    Parameters: case; check of the rated capacity; own, flow recomputed [kg/s]. Returns a `Check`:
    'agrees' where the pair is recognised, 'not given' where its basis is not said, else as it was.
    """
    stated = mass_flow_of(case, case.row.cells["rated_capacity"])
    said, certified, letter = case.row.get("capacity_basis"), certified_flow(case), case.letter
    if said == "effective":
        return check
    if certified is not None and case.basis == "effective":
        same = _near(stated, certified)
        words = "by the certified coefficient and the actual area; the area is an effective one"
        return _agrees(check, words) if same else _against(case, check, certified, stated)
    if case.basis == "certified" and letter and said is None:
        effective = case.standard_Kd * orifice_area(letter) * flow_per_area(case)
        words = "by the letter's effective area and coefficient; the area goes with a certified one"
        return _agrees(check, words) if _near(stated, effective) else check
    if case.basis == "certified" or case.kind == "disk":
        return check
    K = implied_K(case)
    if K is not None:
        return _agrees(check, f"by the actual area it is that of a certified K of {K:.3f}")
    return _by_ratio(case, check, own, stated)


def _agrees(check, words):
    return check._replace(verdict="agrees", reason=words, source=SOURCE)


def _against(case, check, certified, stated):
    """The stated capacity against that of the certified pair, which the sheet states too."""
    cell = case.row.cells["rated_capacity"]
    shown, _ = case.in_sheet("rated_capacity", flow_in(case, certified, cell.kind), cell.kind)
    more = stated > certified
    words = f"{stated / certified - 1:+.1%} of what the certified coefficient and area pass"
    return check._replace(verdict="differs", recomputed=shown, severity=1 if more else 3,
                   reason=words)  # fmt: skip


def _by_ratio(case, check, own, stated):
    """Neither K nor actual area is given: a little more than the effective pair may be certified.

    A stamped capacity holds at its certified overpressure, whatever the sheet sizes at.
    """
    most, stamp = 1.0 + _surplus(case), _stamped(case, own)
    at_stamp = stamp is not None and not _near(stamp, own)
    for base, words in ((own, ""), (stamp, " at the overpressure it is stamped for")):
        if base is None or (words and not at_stamp):
            continue
        if words and _near(stated, base):
            return _agrees(check, f"the effective one{words}")
        if base < stated <= most * base:
            reason = (f"{stated / base - 1:+.1%} of what the effective coefficient and area "
                      f"pass{words}: basis not said; right for a certified coefficient with the "
                      "actual area, state both")  # fmt: skip
            return not_given(check.name, "rated_capacity", case, recomputed=check.recomputed,
                             unit=check.unit, reason=reason, severity=2)  # fmt: skip
    return check


def _stamped(case, own):
    """Effective flow at set and the certified overpressure [kg/s], of a stream of gas or steam."""
    pset, s = case.row.get("set_pressure_gauge"), case.sizing
    if pset is None or case.flow not in ("gas", "steam"):
        return None
    stamp = pset + certified_overpressure(pset, case.code) + case.row.atmosphere
    if not s.back_pressure < stamp < case.pressure:
        return None
    try:
        stream = replace(s.load.stream, pressure=stamp)
        return rated_flow(stream, s.device, case.installed, s.back_pressure, s.edition)
    except ValueError:
        return None


def certified_area(case):
    """Words where a required area was worked out with the certified coefficient, '' where not.

    Parameters: case, with a sizing. Returns str.
    """
    cell, K = case.row.cells.get("required_area"), case.row.get("Kd_certified")
    if cell is None or K is None or case.required is None or case.basis == "certified":
        return ""
    own = case.required * case.standard_Kd / K
    if abs(cell.value - own) > cell.half + CLOSE * own:
        return ""
    words = f"by the certified coefficient {digits(K)}"
    return words if kept(own, case.actual_area or float("inf")) else words + ": hold the area to it"
