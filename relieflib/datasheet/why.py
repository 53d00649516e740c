"""Why a stated area differs: the sheet's own factors, or the slip that leads to its number."""

import numpy as np

from relieflib.datasheet.factors import recomputed_factors
from relieflib.datasheet.recompute import size_inputs
from relieflib.datasheet.verdict import digits
from relieflib.nozzle.steam import NAPIER
from relieflib.slips import explain, find_slips

CLOSE = 0.003  # share within which a slip must meet the stated area, beside half a printed digit


def own_factors(case):
    """Words where factors that the sheet rounds, reads or chooses otherwise make the difference.

    Parameters: case, `Case` with a sizing and a stated area. Returns str, '' where they do not.
    """
    cell = case.row.cells.get("required_area")
    if cell is None or case.required is None or abs(cell.value - case.required) <= cell.half:
        return ""
    ratio, named = 1.0, []
    for name, own in recomputed_factors(case).items():
        stated = case.row.get(name)
        if stated is None or own is None or abs(stated / own - 1) < 1e-4:
            continue
        ratio *= own / stated
        named.append(f"{name} {stated:g} (recomputed {own:.4g})")
    area = case.required * ratio
    off = abs(cell.value - case.required)
    if not named or abs(area - cell.value) > max(cell.half, 1.5e-3 * cell.value, 0.3 * off):
        return ""
    here, unit = case.in_sheet("required_area", area)
    return f"with the sheet's own {', '.join(named)} the area is {digits(here)} {unit}"


def slip_words(case):
    """A sentence on the slips that lead to the stated area; honest about several or none.

    Parameters: case. Returns str. Source: the catalogue in `slips`.
    """
    cell = case.row.cells["required_area"]
    near = max(CLOSE, cell.half / cell.value)
    compute, inputs = area_of(case)
    found = find_slips(cell.value, compute, inputs, tolerance=near, name="required_area")
    if found and len(found[0]) > 1:
        return "No single common slip leads to this number; two together may. " + explain(found)
    return explain(found)


def area_of(case):
    """How the slip finder recomputes a row's area: (compute, inputs).

    Parameters: case, `Case` with a sizing. Returns a function of inputs by their names in the
    table of symbols that gives the required area of one valve [m2], and those inputs in SI.
    Factors that the phase and the kind of valve take are numbers among the inputs.
    """
    factors = {n: float(v) for n, v in case.sizing.factors.items()}
    phase, balanced = case.row.get("phase"), case.kind == "balanced"
    inputs = {n: v for n, v in case.inputs.items() if v is not None}
    inputs |= {n: factors[n] for n in ("Kd", "Kc") if n in factors}
    if balanced:
        inputs |= {n: factors[n] for n in ("Kb", "Kw") if n in factors}
    if phase == "steam":
        own = recomputed_factors(case)
        inputs |= {"KN": own["KN"], "KSH": own["KSH"]}
        inputs.pop("temperature", None)
        return _steam_area, inputs
    frame = dict(
        phase=phase, kind=case.kind, edition=case.row.get("edition", 10),
        certified=case.row.get("certified", True),
    )  # fmt: skip
    blank = dict.fromkeys(case.inputs)
    if case.kind == "disk":
        inputs.pop("Kc", None)
        blank["Kc"] = 1.0
    return lambda **given: size_inputs(blank | given, **frame).required_area, inputs


def _steam_area(pressure, mass_flow, valves, quality, KN, KSH, Kd, Kc, Kb=1.0, **_):
    flux = NAPIER * pressure * KN * KSH / np.sqrt(quality)
    return mass_flow / valves / (Kd * Kb * Kc * flux)
