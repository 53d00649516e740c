"""The checks of the inlet and outlet line, where a row states their length and size.

Bores are those of schedule 40. Without the loss coefficients of the fittings the pipe alone counts:
what it loses is then the least, which can be too much but never enough.
"""

from relieflib.datasheet.columns import inches
from relieflib.datasheet.pressures import SENSES, loss_of_inlet
from relieflib.datasheet.verdict import Check, digits, not_given
from relieflib.lines import inlet as inlet_line, outlet as outlet_line
from relieflib.lines.fittings import pipe_size
from relieflib.lines.line import NOT_KNOWN, OVER, Line, Part
from relieflib.orifices import usual_designation
from relieflib.texts import percent

LOSS_CLOSE = 0.2  # share by which a stated loss may be below: fittings and schedules differ
LEAST = "of the pipe alone, its fittings are not given: at least this"


def _line_of(case, side):
    """(line, whether all of it is known) of a side, None where length or size is missing."""
    row = case.row
    length, K, nps = (row.get(f"{side}_{n}") for n in ("length", "K", "size"))
    if length is None or case.sizing is None or case.kind == "disk":
        return None, False
    if nps is None:
        named = row.get("designation") or (case.letter and usual_designation(case.letter))
        nps = named and inches(getattr(named, side))
    if nps is None:
        return None, False
    bore = pipe_size(f"{nps:g}").inside_diameter
    parts = [Part("pipe", bore, length=length, nps=f"{nps:g}")] if length > 0 else []
    if K is not None or not parts:
        parts.insert(0, Part("other", bore, K=K or 0.0))
    return Line(parts), K is not None


def _name(case):
    named = case.row.get("designation")
    return str(named) if named else case.letter and str(usual_designation(case.letter))


def _inlet(case):
    line, whole = _line_of(case, "inlet")
    if line is None or not case.row.get("set_pressure_gauge"):
        return None
    remote = SENSES[case.row.get("pilot_sensing")] if case.kind == "pilot" else False
    check = inlet_line.check(case.sizing, line, designation=_name(case), remote_sensing=remote)
    share, name = float(check.loss_fraction), "loss of the inlet line"
    limit = 100.0 * float(check.limit) / case.row.get("set_pressure_gauge")
    words = [f"rated flow of {_name(case)}, schedule 40"] + [LEAST] * (not whole)
    hidden = ""
    if "inlet_loss" in case.row.cells:
        stated, half = loss_of_inlet(case)
        if stated + half < share * (1.0 - LOSS_CLOSE):
            hidden = f"the stated loss, {percent(stated)}, is less than the line makes"
    words += [hidden] if hidden else []
    wrong = check.verdict == OVER or bool(hidden)
    known = whole and check.verdict != NOT_KNOWN
    verdict = "differs" if wrong else "agrees" if known else "not given"
    shown = "no limit" if limit != limit else limit
    level = 2 if check.verdict == OVER or not hidden else 3
    return Check(name, verdict, 100.0 * share, shown, "%", reason="; ".join(words),
                 source=inlet_line.SOURCE, severity=level)  # fmt: skip


def _outlet(case):
    line, whole = _line_of(case, "outlet")
    row = case.row
    if line is None or not row.get("set_pressure_gauge"):
        return None
    check = outlet_line.check(
        case.sizing, line, designation=_name(case),
        superimposed_gauge=row.get("superimposed_gauge", 0.0),
        variable_superimposed_gauge=row.get("variable_gauge", 0.0),
    )  # fmt: skip
    name, built = "back pressure of the outlet line", float(check.built_up)
    built -= row.get("variable_gauge", 0.0)
    own, unit = case.in_sheet("built_up", float(check.value), "pressure difference")
    words = [f"{check.limit_kind} at the rated flow of {_name(case)}, schedule 40"]
    words += [LEAST] * (not whole)
    hidden, cell = "", row.cells.get("built_up")
    if cell is not None and cell.value + cell.half < built * (1.0 - LOSS_CLOSE):
        stated, line_makes = (case.in_sheet("built_up", p)[0] for p in (cell.value, built))
        hidden = (f"the stated built-up back pressure, {digits(stated)} {unit}, is less than the "
                  f"line makes, {digits(line_makes)}")  # fmt: skip
    words += [hidden] if hidden else []
    wrong = check.verdict == OVER or bool(hidden)
    verdict = "differs" if wrong else "agrees" if whole else "not given"
    limit = float(check.limit)
    shown = "no limit"
    if limit == limit:
        shown = case.in_sheet("built_up", limit, "pressure difference")[0]
    return Check(name, verdict, own, shown, unit, reason="; ".join(words),
                 source="API 520-I (2020), 5.3; API 521 (2020), 5.5",
                 severity=2 if check.verdict == OVER else 3)  # fmt: skip


def _inlet_line(case):
    return _said(case, "loss of the inlet line", "inlet_length", _inlet)


def _outlet_line(case):
    return _said(case, "back pressure of the outlet line", "outlet_length", _outlet)


def _said(case, name, column, check):
    """The check, or 'not given' where a length stands there and something else is missing."""
    if column not in case.row.cells:
        return None
    found = check(case)
    words = case.trouble or "needs the line's size, set pressure and a letter or designation"
    return found or not_given(name, column, case, reason=words, severity=3)


CHECKS = _inlet_line, _outlet_line
