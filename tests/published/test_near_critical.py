"""Load of a heated vessel from 95 % of the critical pressure on, against the vessel's own balance.

The reference integrates a vessel of constant volume and pressure with CoolProp alone: mass V/v,
energy V u/v; a little of it leaves at its own enthalpy, the rest fills the volume again.
"""

import CoolProp.CoolProp as cp
import pytest

from relieflib.causes import exterior_fire_liquid as fire
from relieflib.causes.shared import boiling
from relieflib.errors import InputError
from relieflib.sizing import size

PC = cp.PropsSI("Pcrit", "Propane")
HEAT, END = 1e6, 450.0


def balance(fluid, P, second, value, leaves=None):
    """Heat for each kg that leaves [J/kg]: two states of one vessel, a thousandth in volume apart.

    leaves, the quality of what leaves; None for the vessel's own mixture.
    """

    def of(name, rho):
        return cp.PropsSI(name, "P", P, "D", rho, fluid)

    rho = cp.PropsSI("D", "P", P, second, value, fluid)
    before, after = rho * (1 - 1e-4), rho * (1 - 3e-4)
    gone = before - after
    stored = after * of("U", after) - before * of("U", before)
    carried = of("H", 0.5 * (before + after))
    if leaves is not None:
        carried = cp.PropsSI("H", "P", P, "Q", leaves, fluid)
    return (stored + gone * carried) / gone


@pytest.mark.parametrize("pressure", [40.6e5, 41.5e5, 42.4e5])
def test_boiling_near_the_critical_point_against_the_balance_of_a_vessel(pressure):
    # the range in which nothing worked: 95 to 100 % of propane's 42.51 bara
    load = fire.near_critical_load("Propane", pressure, HEAT, 220.0, END)
    heat = balance("Propane", pressure, "Q", 1e-3)
    assert load.stream.inlet_kind == "two-phase"
    assert HEAT / load.mass_flow == pytest.approx(heat, rel=5e-3)
    # vapour alone takes h_v v_v/(v_v - v_l), all of it, so that less leaves
    assert HEAT / balance("Propane", pressure, "Q", 0.5, leaves=1.0) < load.mass_flow


@pytest.mark.parametrize("fluid, density", [("Propane", 400.0), ("Propane", 220.0),
                                            ("Propane", 66.0), ("CarbonDioxide", 420.0),
                                            ("Ethylene", 193.0)])  # fmt: skip
def test_no_step_at_the_critical_pressure(fluid, density):
    # of the nozzle's ideal area; the coefficient of discharge steps with the name of the phase
    Pc, areas = cp.PropsSI("Pcrit", fluid), []
    for share in (0.99999, 1.00001):
        load = fire.near_critical_load(fluid, share * Pc, HEAT, density, 1.2 * cp.PropsSI(
            "Tcrit", fluid))  # fmt: skip
        areas.append(load.mass_flow / load.stream.mass_flux(0.0))
    assert areas[0] == pytest.approx(areas[1], rel=0.03)


@pytest.mark.parametrize("fluid", ["Propane", "CarbonDioxide", "Ethylene", "n-Butane"])
def test_required_area_meets_that_of_latent_heat_at_95_percent(fluid):
    P, T = 0.95 * cp.PropsSI("Pcrit", fluid), 1.2 * cp.PropsSI("Tcrit", fluid)
    below = size(fire.pure_load(fluid, P * (1 - 1e-9), HEAT)).required_area
    above = size(fire.near_critical_load(fluid, P * (1 + 1e-9), HEAT, cp.PropsSI(
        "rhocrit", fluid), T)).required_area  # fmt: skip
    assert above == pytest.approx(below, rel=0.06)


def test_light_filling_boils_no_more_and_a_full_vessel_expands_first():
    # at 41 bara propane's vapour has some 152 kg/m3: less filling than that is dry by then
    dry = fire.near_critical_load("Propane", 41e5, HEAT, 100.0, 500.0)
    assert dry.stream.inlet_kind == "gas" and dry.stream.temperature > cp.PropsSI(
        "T", "P", 41e5, "Q", 1, "Propane")  # fmt: skip
    heat = balance("Propane", 41e5, "T", dry.stream.temperature)
    assert HEAT / dry.mass_flow == pytest.approx(heat, rel=5e-3)
    full = fire.near_critical_load("Propane", 41e5, HEAT, 450.0, END)
    assert full.mass_flow >= fire.near_critical_load("Propane", 41e5, HEAT, 220.0, END).mass_flow
    for line in full.working:
        assert not line.equation or line.evaluate() == pytest.approx(line.value, rel=1e-6)


def test_refuses_what_has_another_way():
    with pytest.raises(InputError, match="pure_load"):
        fire.near_critical_load("Propane", 0.94 * PC, HEAT, 220.0, END)
    with pytest.raises(InputError, match="not above boiling"):
        boiling.near_critical_load("x", "Propane", 0.97 * PC, HEAT, 220.0, 300.0)
