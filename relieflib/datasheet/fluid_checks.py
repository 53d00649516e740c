"""The checks of a row whose fluid is named, or its composition stated, at the sheet's own state.

A fluid that CoolProp does not know costs no verdict: it is said in words.
"""

from relieflib.datasheet import fluids
from relieflib.datasheet.factors import IDEAL_Z
from relieflib.datasheet.recompute import frame_of, size_inputs, vapour_pressure
from relieflib.datasheet.verdict import Check, compare, not_given, verdict
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import SOURCE, critical_pressure, molar_mass
from relieflib.sizing import ReliefLoad, size
from relieflib.valve_questions import large_enough

# shares within which a sheet's rounded or tabulated property is the fluid's: our choice
MASS_CLOSE, K_CLOSE, Z_CLOSE, DENSITY_CLOSE, BOILING_CLOSE = 0.005, 0.02, 0.02, 0.02, 0.02
AREA_CLOSE = 0.01  # of the installed area: what these properties leave open
NEAR_BOILING = 2.0  # K: a rounded boiling temperature


def _named(case):
    """Only where a name or a composition leads to no fluid."""
    if not case.fluid_trouble:
        return None
    column = "composition" if "composition" in case.row.cells else "fluid"
    return not_given("fluid", column, case, reason=case.fluid_trouble, severity=4)


def _molar_mass(case):
    if case.fluid is None or "molar_mass" not in case.row.cells:
        return None
    words = f"than the molar mass of {case.fluid}"
    return compare(case, "molar mass of the fluid", "molar_mass", molar_mass(case.fluid),
                   MASS_CLOSE, SOURCE, (3, f"more {words}"), (3, f"less {words}"))  # fmt: skip


def gas_of(case):
    """State of a row's named gas at its own pressure and temperature, words, or None.

    Parameters: case. Returns `State`, str where CoolProp finds none, None where not asked.
    """
    T = case.row.get("temperature")
    if case.fluid is None or case.row.get("phase") != "gas" or not T or not case.pressure:
        return None
    near = max(case.row.cells["temperature"].half, 0.5)
    return fluids.gas_state(case.fluid, case.pressure, T, near)


def _of_gas(case, name, column, get, close, words=lambda state, value: ""):
    """A property of a gas, stated against the fluid's."""
    found, cell = gas_of(case), case.row.cells.get(column)
    if found is None or cell is None:
        return None
    if isinstance(found, str):
        return not_given(name, column, case, reason=found, severity=4)
    if found.is_liquid:
        return None  # the phase is wrong, and says so
    more = words(found, cell.value)
    return compare(case, name, column, get(found), close, f"{SOURCE}, at the sheet's own state",
                   (3, f"more than {case.fluid} has there{more}"),
                   (3, f"less than {case.fluid} has there{more}"))  # fmt: skip


def _k(case):
    def of_real_fluid(found, value):
        near = abs(value / found.heat_capacity_ratio - 1.0) <= K_CLOSE
        return ": cp/cv of the real fluid, not the ideal-gas ratio" if near else ""

    return _of_gas(case, "k of the fluid", "k", lambda s: s.k, K_CLOSE, of_real_fluid)


def _Z(case):
    return _of_gas(case, "z of the fluid", "Z", lambda s: s.Z, Z_CLOSE)


def _density(case):
    row, T = case.row, case.row.get("temperature")
    if case.fluid is None or row.get("phase") != "liquid" or "density" not in row.cells or not T:
        return None
    found = fluids.state(case.fluid, case.pressure, T) if case.pressure else case.trouble
    if isinstance(found, str) or not found.is_liquid:
        words = found if isinstance(found, str) else f"{case.fluid} is no liquid there"
        return not_given("density of the fluid", "density", case, reason=words, severity=2)
    return compare(case, "density of the fluid", "density", found.density, DENSITY_CLOSE,
                   f"{SOURCE}, at the sheet's own state", (3, f"more than {case.fluid} has there"),
                   (3, f"less than {case.fluid} has there"))  # fmt: skip


def _vapour_pressure(case):
    cell, T = case.row.cells.get("saturation_pressure"), case.row.get("temperature")
    if case.fluid is None or cell is None or not T:
        return None
    found, name = fluids.vapour_pressure(case.fluid, T), "vapour pressure of the fluid"
    if isinstance(found, str):
        return not_given(name, "saturation_pressure", case, reason=found, severity=3)
    hides = vapour_pressure(case) <= (case.back_pressure or 0.0) < found
    low = "less than the fluid has" + (": it boils on its way" if hides else "")
    return compare(case, name, "saturation_pressure", found, BOILING_CLOSE, SOURCE,
                   (3, "more than the fluid has"), (1 if hides else 3, low))  # fmt: skip


def _phase(case):
    """Is it the phase that the sheet sizes for, at its own pressure and temperature."""
    row, T, name = case.row, case.row.get("temperature"), "phase of the fluid"
    if case.fluid is None or not T or not case.pressure or row.get("phase") not in PHASES:
        return None
    if row.get("phase") == "gas" and case.fire:
        return None  # the boiling temperature is held against it, see below
    edge, half = fluids.boiling_range(case.fluid, case.pressure), row.cells["temperature"].half
    near = max(half, 0.5)
    if isinstance(edge, str):
        return not_given(name, "phase", case, reason=edge, severity=4)
    low, high = edge
    own = "liquid" if T < low - near else "gas" if T > high + near else "two-phase"
    good = own == row.get("phase") or (own == "two-phase" and high - low <= 2.0 * near)
    shown, unit = case.in_sheet("temperature", low if row.get("phase") == "gas" else high)
    words = f"at its own pressure {case.fluid} boils at {shown:.5g} {unit}: here it is {own}"
    return Check(name, verdict(good), row.get("phase"), own, reason="" if good else words,
                 source=SOURCE, severity=1 if own == "two-phase" else 2)  # fmt: skip


PHASES = ("gas", "liquid")


def _fire_temperature(case):
    """A fire boils the liquid: its vapour leaves at the boiling temperature of P1."""
    row, name = case.row, "temperature of the fire case"
    if not case.fire or case.fluid is None or row.get("phase") != "gas" or not case.pressure:
        return None
    if case.pressure >= critical_pressure(case.fluid):
        words = ("above the critical pressure: nothing boils, and no latent heat makes the load; "
                 "it takes the fluid's expansion step by step")  # fmt: skip
        return not_given(name, "temperature", case, reason=words, severity=2)
    edge, cell = fluids.boiling_range(case.fluid, case.pressure), row.cells.get("temperature")
    if isinstance(edge, str):
        return not_given(name, "temperature", case, reason=edge, severity=4)
    (low, high), source = edge, f"{SOURCE}; API 521 (2020), 4.4.13: boiling liquid"
    own, unit = case.in_sheet("temperature", low)
    if cell is None:
        return not_given(name, "temperature", case, recomputed=own, unit=unit, severity=3,
                         reason="the liquid boils there at relieving pressure")  # fmt: skip
    near, stated = NEAR_BOILING + cell.half, case.in_sheet("temperature", cell.value)[0]
    if cell.value > high + near:
        words = ("hotter than the liquid boils at relieving pressure: right only where the fire "
                 "heats a vessel of gas alone")  # fmt: skip
        return not_given(name, "temperature", case, stated, own, unit, words, 3)
    good = cell.value >= low - near
    words = "colder than the fluid boils at relieving pressure: no vapour is there yet"
    return Check(name, verdict(good), stated, own, unit, near, "" if good else words, source, 3)


def _area(case):
    """The area once more, with what the fluid itself has for M, k and Z."""
    found, name = gas_of(case), "area with the fluid's own properties"
    if found is None or case.sizing is None or case.installed is None or isinstance(found, str):
        return None
    if found.is_liquid or found.quality < 1.0:
        boils = fluids.boiling_range(case.fluid, case.pressure)
        found = fluids.state(case.fluid, case.pressure, quality=1.0)
        if isinstance(boils, str) or isinstance(found, str):
            return None
    needed, words = _needed(case, found)
    good = large_enough(needed, case.installed, AREA_CLOSE * case.installed).holds
    have, unit = case.in_sheet("required_area", case.installed, "area")
    return Check(name, verdict(good), have, case.in_sheet("required_area", needed, "area")[0], unit,
                 case.in_sheet("required_area", AREA_CLOSE * case.installed, "area")[0], words
                 + ("" if good else ": the valve is too small"), SOURCE, 1)  # fmt: skip


def _needed(case, found):
    """(required area [m2], words) with the fluid's own properties; real beyond an ideal gas."""
    own = {"temperature": found.temperature, "molar_mass": found.molar_mass, "k": found.k,
           "Z": found.Z}  # fmt: skip
    if IDEAL_Z[0] <= found.Z <= IDEAL_Z[1] or case.kind == "balanced":
        words = f"M {found.molar_mass:.5g}, k {found.k:.4g}, Z {found.Z:.3g} of {case.fluid}"
        return size_inputs(case.inputs | own, **frame_of(case)).required_area, words
    flow = case.inputs["mass_flow"] / case.inputs["valves"]
    load = ReliefLoad("datasheet", flow, _real(case.fluid, case.pressure, found.temperature,
                                               found.quality))  # fmt: skip
    area = size(load, case.sizing.device, case.back_pressure).required_area
    return area, f"Z {found.Z:.3g}: nozzle of the real fluid, {case.fluid}"


def _real(fluid, pressure, temperature, quality):
    second = {"quality": 1.0} if quality == 1.0 else {"temperature": temperature}
    return RealFluid(fluid, pressure, **second)


CHECKS = (
    _named, _molar_mass, _k, _Z, _density, _vapour_pressure, _phase, _fire_temperature, _area,
)  # fmt: skip
