"""Why a stated number differs: the sheet's own factors, or the slip that leads to it."""

import itertools

import numpy as np

from relieflib.datasheet.factors import recomputed_factors
from relieflib.datasheet.recompute import PRESSURE_CLOSE, flow_in, mass_flow_of, size_inputs
from relieflib.datasheet.verdict import digits
from relieflib.errors import InputError, ValidityNoted
from relieflib.nozzle.steam import NAPIER, high_pressure_factor, superheat_factor
from relieflib.orifices import orifice_area
from relieflib.properties import State
from relieflib.set_pressure import cold_differential
from relieflib.sizing import rated_flow
from relieflib.slips import CATALOGUE, Slip, bases, explain, find_slips, used_instead

CLOSE = 0.003  # share within which a slip must meet the stated number, beside half a printed digit
LOWEST_AIR, HIGHEST_AIR = 55e3, 108e3  # Pa: from 4900 m up to a high-pressure day at the sea
NOT_SEARCHED = "slips were not searched for in this row"


def own_factors(case):
    """Words where factors that the sheet rounds, reads or chooses otherwise make the difference.

    Parameters: case, `Case` with a sizing and a stated area. Returns str, '' where they do not.
    """
    cell = case.row.cells.get("required_area")
    if cell is None or case.required is None or abs(cell.value - case.required) <= cell.half:
        return ""
    ratio, named = _own_ratio(case)
    area = case.required * ratio
    if not named or not _meets(area, case.required, cell.value, cell.half):
        return ""
    here, unit = case.in_sheet("required_area", area)
    return f"with the sheet's own {named} the area is {digits(here)} {unit}"


def _own_ratio(case):
    """How much larger the sheet's own factors make the area, and which they are."""
    ratio, named = 1.0, []
    for name, own in recomputed_factors(case).items():
        stated = case.row.get(name)
        if stated is None or own is None or abs(stated / own - 1) < 1e-4:
            continue
        ratio *= own / stated
        named.append(f"{name} {stated:g} (recomputed {own:.4g})")
    return ratio, ", ".join(named)


def _meets(value, right, stated, half):
    """True where a value leaves next to nothing of the difference between stated and right."""
    return abs(value - stated) <= max(half, 1.5e-3 * stated, 0.3 * abs(stated - right))


def _own_capacity(case, right):
    """As `own_factors`, for the rated capacity of one valve [kg/s]."""
    cell = case.row.cells["rated_capacity"]
    stated, (ratio, named) = mass_flow_of(case, cell), _own_ratio(case)
    own, half = right / ratio, stated * cell.half / cell.value
    if not named or not _meets(own, right, stated, half):
        return ""
    here, unit = case.in_sheet("rated_capacity", flow_in(case, own, cell.kind), cell.kind)
    return f"with the sheet's own {named} the capacity is {digits(here)} {unit}"


def slip_words(case, column="required_area"):
    """A sentence on the slips that lead to a stated number; honest about several or none.

    Parameters: case; column, one of `WAYS`. Returns str. Source: the catalogue in `slips`.
    """
    if not case.search:
        return NOT_SEARCHED
    try:
        return explain(_found(case, column))
    except InputError:  # the check stands without it
        return NOT_SEARCHED


def _found(case, column):
    cell = case.row.cells[column]
    way, name, near = WAYS[column]
    compute, inputs, own = way(case)
    stated = cell.value
    if name == "mass_flow":
        stated, name = mass_flow_of(case, cell), name if cell.kind == "mass flow" else None
    rounding = cell.half / abs(cell.value) if cell.value else 0.0
    slips, printed = (*CATALOGUE, *own), printed_bases(case, column)
    return find_slips(stated, compute, inputs, slips, near, name, cell.unit, rounding, printed)


def printed_bases(case, column):
    """Ratios by which printed constants move a number of a column, the exact one first.

    Parameters: case; column, one of `WAYS`. Returns tuple. Source: `slips.printed`.
    """
    if column not in ("required_area", "rated_capacity") or case.sizing is None:
        return (1.0,)
    subcritical = case.sizing.regime == "subcritical" and case.kind != "balanced"
    ratios = bases(case.row.get("phase"), subcritical)
    return ratios if column == "required_area" else tuple(1.0 / ratio for ratio in ratios)


def with_slips(case, check, column, right=None):
    """A check with the slips behind its number among its reasons, where it differs.

    Parameters: case; check, `Check` of the column; column, one of `WAYS`; right, the rated
    capacity [kg/s], for which the sheet's own factors are tried first. Returns Check.
    """
    if check.verdict != "differs":
        return check
    words = "" if right is None else _own_capacity(case, right)
    return check._replace(reason=f"{check.reason}. {words or slip_words(case, column)}")


def area_of(case):
    """How the slip finder recomputes a row's area: (compute, inputs).

    Parameters: case, `Case` with a sizing. Returns a function of inputs by their names in the
    table of symbols that gives the required area of one valve [m2], and those inputs in SI.
    Factors that the phase and the kind of valve take are numbers among the inputs.
    """
    make, inputs = sizing_of(case)
    if make is None:
        return _steam_area(case), inputs
    return lambda **given: make(**given).required_area, inputs


def sizing_of(case):
    """A row's `Sizing` as a function of inputs by name, and those inputs; see `area_of`.

    Parameters: case, `Case` with a sizing. Returns (function, dict). Steam has no such function,
    since KN and KSH stand among its inputs: None.
    """
    factors = {n: float(v) for n, v in case.sizing.factors.items()}
    phase, balanced = case.flow, case.kind == "balanced"
    inputs = {n: v for n, v in case.inputs.items() if v is not None} | _parts(case) | _beside(case)
    kind = case.row.cells["load"].kind
    if kind != "mass flow":
        inputs[kind.replace(" ", "_")] = case.row.get("load")
    inputs |= {n: factors[n] for n in ("Kd", "Kc") if n in factors}
    if balanced:
        inputs |= {n: factors[n] for n in ("Kb", "Kw") if n in factors}
    inputs["edition"] = case.row.get("edition", 10)
    if phase == "steam":
        own = recomputed_factors(case)
        return None, inputs | {"KN": own["KN"], "KSH": own["KSH"]}
    if phase == "liquid":
        inputs["certified"] = case.row.get("certified", True)
    blank = dict.fromkeys(case.inputs)
    if case.kind == "disk":
        inputs.pop("Kc", None)
        blank["Kc"] = 1.0

    def make(edition, certified=True, **given):
        return size_inputs(blank | given, phase, case.kind, edition, certified)

    return make, inputs


def _steam_area(case):
    """As `area_of` for steam: KN and KSH follow the pressure unless a slip says otherwise."""
    own, edition = recomputed_factors(case), case.row.get("edition", 10)

    def area(pressure, mass_flow, valves, quality, KN, KSH, Kd, Kc, Kb=1.0, temperature=None, **_):
        KN = float(high_pressure_factor(pressure)) if KN == own["KN"] else KN
        if temperature is not None and KSH == own["KSH"]:
            KSH = float(superheat_factor(pressure, temperature, edition))
        flux = NAPIER * pressure * KN * KSH / np.sqrt(quality)
        return mass_flow / valves / (Kd * Kb * Kc * flux)

    return area


def _beside(case):
    """What a row says beside the inputs of its sizing, and slips are made with."""
    row, said = case.row, {}
    said["operating_pressure_gauge"] = row.get("operating_pressure_gauge")
    said["normal_temperature"] = row.get("normal_temperature")
    loss = row.cells.get("inlet_loss")
    if loss and loss.kind == "dimensionless":
        said["inlet_loss"] = loss.value * row.get("set_pressure_gauge", 0.0)
    elif loss:
        said["inlet_loss"] = loss.value
    said["site_atmosphere"] = _sheet_s_atmosphere(case)
    if case.fluid and row.get("phase") == "gas":
        said |= _real_exponents(case)
    return {name: value for name, value in said.items() if value is not None}


def _sheet_s_atmosphere(case):
    """The atmosphere that the sheet's own relieving pressure holds, where it is another [Pa]."""
    cell, set_gauge = case.row.cells.get("relieving_pressure"), case.row.get("set_pressure_gauge")
    if cell is None or case.pressure is None or not set_gauge:
        return None
    own = cell.value - (case.pressure - case.row.atmosphere)
    other = abs(own - case.row.atmosphere) > max(2 * cell.half, PRESSURE_CLOSE * case.pressure)
    return own if other and LOWEST_AIR <= own <= HIGHEST_AIR else None


def _real_exponents(case):
    """cp/cv and the isentropic exponent of the fluid by its name, nothing where it has none."""
    try:
        at = State(case.fluid, case.pressure, case.inputs["temperature"])
        return {"real_k": float(at.heat_capacity_ratio), "n": float(at.n)}
    except InputError:
        return {}


def _parts(case):
    """Parts of the back pressure that the row gives, by their names in the table of symbols."""
    names = {
        "superimposed_gauge": "superimposed_gauge",
        "variable_gauge": "variable_superimposed_gauge", "built_up": "built_up",
    }  # fmt: skip
    return {ours: case.row.get(n) for n, ours in names.items() if case.row.get(n) is not None}


def _area(case):
    """Required area of one valve, and the one slip that is made with it alone."""
    compute, inputs = area_of(case)
    share = case.installed and case.installed / case.required
    words = "the area of the chosen orifice was stated for the required one"
    own = [Slip("area of the orifice", words, scale=share, common="often")] if share else []
    return compute, inputs, [*own, *_own_pressure(case)]


def _own_pressure(case):
    """The slip of a number that follows from the sheet's own relieving pressure, another one."""
    cell = case.row.cells.get("relieving_pressure")
    if cell is None or abs(cell.value - case.pressure) <= PRESSURE_CLOSE * case.pressure:
        return []
    here, unit = case.in_sheet("relieving_pressure", cell.value)
    words = f"the sheet's own relieving pressure, {digits(here)} {unit}, was used"
    return [used_instead("pressure", cell.value, words)]


def _capacity(case):
    """Rated capacity of one valve, and the slips that are made with it alone."""
    make, inputs = sizing_of(case)
    area = case.installed

    steam = make is None and _steam_area(case)

    def capacity(**given):
        if steam:
            return area * given["mass_flow"] / given["valves"] / steam(**given)
        s = make(**given)
        return rated_flow(s.load.stream, s.device, area, s.back_pressure, s.edition)

    load = inputs["mass_flow"] / inputs["valves"]
    with ValidityNoted():  # `recompute` has put them into words
        own = capacity(**inputs)
    other = case.row.get("orifice_area") if case.basis == "effective" else None
    if case.basis == "certified" and case.letter:
        other = orifice_area(case.letter)
    words = {
        "effective": "the actual area was used with an effective coefficient",
        "certified": "the letter's effective area was used with a certified coefficient",
    }
    scales = [
        ("load for capacity", "the load was repeated as the capacity", load / own),
        ("capacity of all valves", "the capacity is that of all valves", inputs["valves"]),
        ("area mixed", words[case.basis], other and other / area),
    ]
    own = [Slip(k, w, scale=x, common="often") for k, w, x in scales if x and x != 1.0]
    return capacity, inputs, [*own, *_own_pressure(case)]


def _relieving(case):
    inputs = _beside(case) | {"pressure": case.pressure, "atmosphere": case.row.atmosphere}
    inputs.pop("site_atmosphere", None)  # it is read off this very number
    inputs |= {n: case.row.get(n) for n in ("mawp_gauge", "set_pressure_gauge")}
    return lambda pressure, **_: pressure, inputs, ()


def _total_back(case):
    inputs = {"atmosphere": case.row.atmosphere} | _parts(case)
    return (
        lambda back_pressure, **_: back_pressure,
        inputs | {"back_pressure": sum(inputs.values())},
        (),
    )


def _test_pressure(case):
    row = case.row
    inputs = {"set_pressure_gauge": row.get("set_pressure_gauge"), "kind": case.kind}
    inputs["atmosphere"] = row.atmosphere
    inputs["superimposed_gauge"] = row.get("superimposed_gauge", 0.0)
    inputs["temperature_multiplier"] = row.get("temperature_multiplier", 1.0)
    return lambda atmosphere, **i: cold_differential(**i), inputs, ()


WAYS = {  # column: (case) -> compute, inputs, own slips; the answer's quantity; how near to it
    "required_area": (_area, "required_area", CLOSE),
    "rated_capacity": (_capacity, "mass_flow", CLOSE),
    "relieving_pressure": (_relieving, "relieving_pressure", PRESSURE_CLOSE),
    "back_pressure": (_total_back, "back_pressure", PRESSURE_CLOSE),
    "cold_differential_gauge": (_test_pressure, "cold_differential_gauge", PRESSURE_CLOSE),
}
# checks whose numbers the finder explains, by their names
SEARCHED = {
    "required area", "rated capacity", "relieving pressure", "total back pressure",
    "cold differential test pressure",
}  # fmt: skip


def explained(checks):
    """True where a number differs behind which slips are searched for.

    Parameters: checks, list of `Check`, what differs first. Returns bool.
    """
    differing = itertools.takewhile(lambda c: c.verdict == "differs", checks)
    return any(c.name in SEARCHED for c in differing)
