"""Back pressures that a datasheet states, held against those of the plant's own header.

Only where the plant knows the tree of the valve's header and what is relieved together
(`Plant.with_releases`). A sheet has one back pressure and a header one for each event: the highest
of all events in which the valve lifts is what it must not be below.
"""

from relieflib.datasheet.recompute import PRESSURE_CLOSE, parts_of_back_pressure
from relieflib.datasheet.verdict import Check, not_given, verdict
from relieflib.disposal.header import SOURCE


def _facings(case, plant):
    tag = case.row.get("tag")
    if plant is None or tag not in plant.items or not hasattr(plant[tag], "destination"):
        return ()
    return plant.facings(tag)


def _total(case, facings):
    name = "back pressure against the header"
    worst = max(facings, key=lambda f: f.back_pressure)
    own, unit = case.in_sheet("back_pressure", worst.back_pressure, "pressure")
    words = f"{worst.event}, with what its own line builds up"
    given = "back_pressure" in case.row.cells or parts_of_back_pressure(case.row) is not None
    if not given or case.back_pressure is None:
        return not_given(name, "back_pressure", case, recomputed=own, unit=unit, reason=words)
    half = case.row.cells["back_pressure"].half if "back_pressure" in case.row.cells else 0.0
    good = case.back_pressure + half >= worst.back_pressure * (1 - PRESSURE_CLOSE)
    stated = case.in_sheet("back_pressure", case.back_pressure, "pressure")[0]
    words = words if good else f"lower than the header gives: {words}"
    return Check(name, verdict(good), stated, own, unit, 0.0, words, SOURCE, 2)


def _variable(case, facings):
    name = "variable back pressure against the header"
    worst = max(facings, key=lambda f: f.superimposed)
    own = worst.superimposed - worst.lowest
    here, unit = case.in_sheet("variable_gauge", own)
    words = f"{worst.event}: what all others of it make before this valve opens"
    cell = case.row.cells.get("variable_gauge")
    if cell is None:
        return not_given(name, "variable_gauge", case, recomputed=here, unit=unit, reason=words)
    good = cell.value + cell.half >= own * (1 - PRESSURE_CLOSE)
    stated = case.in_sheet("variable_gauge", cell.value)[0]
    words = words if good else f"lower than the header gives: {words}"
    return Check(name, verdict(good), stated, here, unit, 0.0, words, SOURCE, 2)


def checks_of(case, plant):
    """Checks of a row's back pressures against the header of a plant.

    Parameters: case, the row recomputed; plant, a `plant.Plant`, or None. Returns a list of
    `Check`, empty where the valve or its header is not known.
    """
    facings = _facings(case, plant)
    return [check(case, facings) for check in (_total, _variable)] if facings else []
