"""Liquid that boils on its way: balanced valves, what leaves behind the valve, lines, datasheets.

References: CoolProp called by itself, the closed forms of API 520-I worked by hand, and the charts
of API 520-I as digitised in the general library fluids.
"""

import CoolProp.CoolProp as cp
import numpy as np
import pytest

from relieflib import datasheet, safeguard
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.lines import outlet
from relieflib.lines.line import Line, Part
from relieflib.lines.line_fluids import behind_valve, fluid_in_line
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.steam import Steam
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.safeguard import Valve, cover
from relieflib.sizing import ReliefLoad, rated_flow, size
from relieflib.units import ATMOSPHERE

BALANCED, BACK = Device("balanced", 10e5), 4e5 + ATMOSPHERE
P1 = 11e5 + ATMOSPHERE
DRAIN = 0.5e5 + ATMOSPHERE
PROPANE = RealFluid("Propane", 20e5, temperature=316.15)


# ------------------------------------------------------------ balanced valve, liquid at the inlet
def test_balanced_valve_on_cold_water_is_the_liquid_equation():
    # API 520-I (2020), 5.8: A = W/(Kd Kw sqrt(2 rho (P1 - P2))), Kd 0.65; Kw at 40 % of set from
    # the chart as digitised in fluids; rho from CoolProp
    import fluids.safety_valve as fs

    rho, Kw = cp.PropsSI("D", "P", P1, "T", 300.0, "Water"), np.interp(40.0, fs.Kw_x, fs.Kw_y)
    by_hand = 10.0 / (0.65 * Kw * np.sqrt(2 * rho * 7e5))
    assert by_hand * 1e6 == pytest.approx(536.2, rel=1e-2)
    for stream in (Liquid(P1, rho), RealFluid("Water", P1, temperature=300.0),
                   TwoPhase.subcooled(P1, 3.5e3, rho, 0.1 * rho)):  # fmt: skip
        found = size(ReliefLoad("x", 10.0, stream), BALANCED, BACK)
        assert found.required_area == pytest.approx(by_hand, rel=6e-3)
        assert found.factors["Kw"] == pytest.approx(Kw, abs=5e-3) and "Kb" not in found.factors
        assert rated_flow(stream, BALANCED, found.required_area, BACK) == pytest.approx(10.0)


def test_choked_in_the_nozzle_the_lift_still_pays_for_the_back_pressure():
    # vapour pressure 8 bara, back 5 bara: chokes at Ps (high subcooling), there
    # G = sqrt(2 rho (P1 - Ps)), API 520-I Annex C.2.3; the bellows feels the back pressure
    stream = TwoPhase.subcooled(P1, 8e5, 600.0, 300.0)
    found = size(ReliefLoad("x", 10.0, stream), BALANCED, BACK)
    assert found.mass_flux == pytest.approx(np.sqrt(2 * 600.0 * (P1 - 8e5)), rel=1e-9)
    assert found.factors["Kw"] == pytest.approx(0.768, abs=0.01)
    with pytest.raises(InputError, match="Kw"):
        size(ReliefLoad("x", 10.0, stream), Device("balanced", 10e5, Kb=0.9), BACK)


def test_back_pressure_drives_a_two_phase_flow_that_does_not_choke():
    # a little air in water: omega 0.05/1.4, critical ratio far below the back pressure; the flux is
    # then near sqrt(2 rho (P1 - P2)) of the liquid, not the flux into vacuum
    stream = TwoPhase.non_flashing(P1, 950.0, 0.05, 1.4)
    found = size(ReliefLoad("x", 10.0, stream), BALANCED, BACK)
    assert found.mass_flux == pytest.approx(np.sqrt(2 * 950.0 * (P1 - BACK)), rel=0.05)
    assert found.mass_flux < 0.93 * stream.mass_flux(0.0)  # 38 080 into vacuum: 8 % too much
    # gas: API 520-I (2020), 5.6: the critical equation with Kb, whatever the back pressure
    gas = Gas(P1, 320.0, molar_mass=29.0, k=1.4)
    assert size(ReliefLoad("x", 1.0, gas), BALANCED, BACK).mass_flux == gas.mass_flux(0.0)


# ------------------------------------------------------------ what leaves behind the valve
def test_propane_to_a_drain_against_coolprop():
    # 43 °C, 20 bara to 0.5 barg: 47 % vapour by mass, 99.3 % by volume, -33 °C
    h = cp.PropsSI("H", "P", 20e5, "T", 316.15, "Propane")
    x, T, rho = (cp.PropsSI(n, "P", DRAIN, "H", h, "Propane") for n in "QTD")
    found = behind_valve(PROPANE, DRAIN)
    assert found.phase == "two-phase"
    assert found.quality == pytest.approx(x, rel=1e-6) == pytest.approx(0.47, abs=0.005)
    assert found.temperature == pytest.approx(T, rel=1e-6) == pytest.approx(240.5, abs=0.1)
    void = x * rho / cp.PropsSI("D", "P", DRAIN, "Q", 1, "Propane")
    assert found.void_fraction == pytest.approx(void, rel=1e-6) == pytest.approx(0.993, abs=5e-4)


def test_behind_each_kind_of_stream():
    assert behind_valve(RealFluid("Water", P1, temperature=300.0), DRAIN).phase == "liquid"
    assert behind_valve(RealFluid("Propane", 10e5, quality=1.0), DRAIN).phase == "gas"
    assert behind_valve(Steam(11e5), DRAIN).phase == "gas"
    assert behind_valve(Gas(P1, 320.0, molar_mass=29.0, k=1.4), DRAIN).temperature == 320.0
    assert behind_valve(Liquid(P1, 800.0), DRAIN).phase == "not known"
    assert behind_valve(Liquid(P1, 800.0, saturation_pressure=1e5), DRAIN).phase == "liquid"
    assert behind_valve(Liquid(P1, 800.0, saturation_pressure=3e5), DRAIN).phase == "two-phase"
    assert behind_valve(TwoPhase.subcooled(P1, 3e5, 600.0, 300.0), DRAIN).phase == "two-phase"
    assert behind_valve(TwoPhase.subcooled(P1, 1e5, 600.0, 300.0), DRAIN).phase == "liquid"
    assert behind_valve(TwoPhase.from_90(P1, 0.02, 0.024), DRAIN).phase == "two-phase"


def drained(stream, takes=("liquid",)):
    v = Valve("PSV-1", set_pressure_gauge=stream.pressure / 1.1 - ATMOSPHERE, designation="4P6",
              mawp_gauge=stream.pressure, certified_for=safeguard.PHASES, destination="drain",
              takes=takes, inlet="seen", outlet="seen", header_pressure=DRAIN,
              back_pressure=DRAIN)  # fmt: skip
    return cover(v, ReliefLoad("overfilling", 0.5, stream)).about("destination")


def test_a_closed_drain_does_not_take_liquid_that_flashes():
    reason = drained(PROPANE)
    assert reason.verdict == safeguard.FAILS
    for words in ("46.6 % vapour by mass", "99.3 % by volume", "-32.6", "1.513"):
        assert words in reason.words
    assert drained(PROPANE, ("gas", "liquid")).verdict == safeguard.COVERS
    assert drained(RealFluid("Water", P1, temperature=300.0)).verdict == safeguard.COVERS
    assert drained(Liquid(P1, 990.0, saturation_pressure=3e3)).verdict == safeguard.COVERS


def test_a_liquid_of_unknown_vapour_pressure_is_not_known_to_stay_liquid():
    reason = drained(Liquid(P1, 990.0))
    assert reason.verdict == safeguard.UNKNOWN and "vapour pressure" in reason.words
    assert drained(Liquid(P1, 990.0), ("gas", "liquid")).verdict == safeguard.COVERS
    assert drained(Liquid(P1, 990.0), ("gas",)).verdict == safeguard.FAILS
    # carbon dioxide: solid below 5.18 bara, its triple point
    assert drained(RealFluid("CarbonDioxide", 40e5, temperature=270.0)).verdict == safeguard.UNKNOWN


# ------------------------------------------------------------ in the outlet line
def test_a_liquid_that_boils_in_the_line_is_no_liquid_there():
    # as RealFluid the flashing water builds up many times the back pressure of the liquid
    line = Line([Part.of("pipe", "6", length=20.0)])
    device = Device("conventional", 12e5)
    hot = RealFluid("Water", 14.2e5, temperature=453.15)
    load = ReliefLoad("x", 30e3 / 3600, hot)
    flashing = outlet.solve(load, device, line).built_up
    plain = ReliefLoad("x", 30e3 / 3600, Liquid(14.2e5, hot.density))
    found = outlet.solve(plain, device, line)
    assert flashing > 5 * found.built_up
    assert outlet.BOILS in found.flags
    Ps = cp.PropsSI("P", "T", 453.15, "Q", 0, "Water")
    with pytest.raises(InputError, match="boils in the line"):
        fluid_in_line(Liquid(14.2e5, hot.density, saturation_pressure=Ps), ATMOSPHERE)
    cold = Liquid(14.2e5, 998.0, saturation_pressure=2.3e3)
    assert outlet.BOILS not in outlet.solve(ReliefLoad("x", 8.0, cold), device, line).flags


# ------------------------------------------------------------ in a datasheet
SHEET = "tag,mawp [barg],set pressure [barg],relieving pressure [bara],phase,temperature [°C],"


def checked(tmp_path, density, temperature, vapor_pressure=""):
    path = tmp_path / "sheet.csv"
    path.write_text(
        SHEET.replace("temperature", "relieving temperature")
        + "density [kg/m3],vapour pressure [bara],load [kg/h],total back pressure [bara],letter\n"
        f"a,12,12,14.2,liquid,{temperature},{density},{vapor_pressure},30000,1.013,J\n",
        encoding="utf-8")  # fmt: skip
    row = datasheet.read(path).rows[0]
    return {c.name: c for c in datasheet.check_row(row)}["area against the load"]


def test_hot_water_is_not_sized_as_a_liquid(tmp_path):
    # water of 180 °C (CoolProp: 10.03 bara, 887 kg/m3): 264.9 mm2 by the liquid equation; the
    # equilibrium nozzle needs some 470
    rho = cp.PropsSI("D", "T", 453.15, "P", 14.2e5, "Water")
    flashing = size(ReliefLoad("x", 30e3 / 3600, RealFluid("Water", 14.2e5, temperature=453.15)))
    plain = size(ReliefLoad("x", 30e3 / 3600, Liquid(14.2e5, rho)))
    assert plain.required_area * 1e6 == pytest.approx(264.9, abs=1.0)
    assert flashing.required_area * 1e6 == pytest.approx(470.0, abs=2.0)
    hot = checked(tmp_path, round(rho, 1), 180)
    assert hot.verdict == "not given" and "boils" in hot.reason
    # no water by its density: its vapour pressure decides, and without one it is said
    oil = checked(tmp_path, 700, 180)
    assert oil.verdict == "agrees" and "vapour pressure not given" in oil.reason
    assert checked(tmp_path, 700, 180, 3.0).verdict == "not given"
    cold = checked(tmp_path, 700, 180, 0.9)
    assert cold.verdict == "agrees" and "vapour" not in cold.reason
    assert checked(tmp_path, 958.0, 99).verdict == "agrees"
