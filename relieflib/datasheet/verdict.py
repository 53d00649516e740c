"""A check's verdict, and how a stated number is held against a recomputed one."""

from typing import NamedTuple

from relieflib.texts import number_text

VERDICTS = ("agrees", "differs", "not given")
SEVERITY = {1: "not protected", 2: "may not work as meant", 3: "a number to correct", 4: "to note"}


class Check(NamedTuple):
    """One check: stated and recomputed in the sheet's unit, tolerance in the same unit.

    verdict 'agrees', 'differs' or 'not given'; stated and recomputed number, text or None;
    severity 1 to 4, see `SEVERITY`: what it would mean if it differs; places on a drawing that it
    speaks of, as `position.placement.Placement.places` names them, also ('valve', None, 0) for the
    valve itself and ('end', None, 0) where its way ends.
    """

    name: str
    verdict: str
    stated: object = None
    recomputed: object = None
    unit: str = "-"
    tolerance: float = 0.0
    reason: str = ""
    source: str = ""
    severity: int = 4
    places: tuple = ()


def verdict(good):
    """'agrees' or 'differs'.

    Parameters: good, bool. Returns str.
    >>> verdict(False)
    'differs'
    """
    return "agrees" if good else "differs"


def digits(value):
    """A number as a sheet would print it, text as it is, '' for None.

    Parameters: value. Returns str.
    >>> digits(5.72796), digits(3698.7), digits(106000.4), digits("P"), digits(None)
    ('5.728', '3698.7', '106000', 'P', '')
    """
    large = not isinstance(value, str | None) and abs(value) >= 1000
    return number_text(value, 5 if large else 4, whole=True)


def not_given(name, column, case, stated=None, recomputed=None, unit="-", reason="", severity=4):
    """A `Check` with the verdict 'not given'; a cell that could not be read says so.

    Parameters: as `Check`; column, the sheet's; case. Returns Check.
    """
    if column in case.row.unreadable:
        reason = "; ".join(filter(None, ("the cell can't be read", reason)))
    elif stated is None and column in case.row.cells:
        stated, unit = _stated(case, column)
    return Check(name, "not given", stated, recomputed, unit, 0.0, reason, "", severity)


def _stated(case, column):
    cell = case.row.cells[column]
    if cell.kind == "text":
        return str(cell.value), "-"
    return case.in_sheet(column, cell.value)


def compare(
    case,
    name,
    column,
    own,
    close,
    source,
    above,
    below,
    chart=0.0,
    kind=None,
    trouble="",
    agrees="",
):
    """Hold a column's number against a recomputed one.

    Parameters: case; name of the check; column; own, the recomputed value [SI] or None; close, a
    share of it beside half of the last printed digit; above and below, (severity, reason) where
    the stated number is too high or too low; chart, reading error of a chart in the same unit.
    Returns Check.
    """
    cell = case.row.cells.get(column)
    if own is None or own != own:
        level = min(above[0], below[0]) if cell else 4
        return not_given(name, column, case, reason=trouble, severity=level)
    here, unit = case.in_sheet(column, own, kind)
    if cell is None:
        return not_given(name, column, case, recomputed=here, unit=unit, reason=trouble or agrees)
    half, off = cell.half, cell.value - own
    tolerance = (half if half > chart else chart) + close * abs(own)
    stated, _ = case.in_sheet(column, cell.value, cell.kind)
    shown = abs(case.in_sheet(column, own + tolerance, kind)[0] - here)
    level, words = above if off > 0 else below
    good = abs(off) <= tolerance
    reason = agrees if good else (f"{off / own:+.1%}: " if own else "") + words
    return Check(name, verdict(good), stated, here, unit, shown, reason, source, level)
