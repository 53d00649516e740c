"""What the demo plant sends to its drums: phases behind the valves, sums, and the drain drum."""

import numpy as np
import pytest

from relieflib.demo import knock_out
from relieflib.devices import Device
from relieflib.disposal import destination, drum
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.plant import load_plant
from relieflib.properties import State
from relieflib.sizing import ReliefLoad, size


@pytest.fixture(scope="module")
def plant():
    return load_plant()


def test_an_arrival_adds_up_and_parts_what_flashes(plant):
    gas = ReliefLoad("x", 2.0, Gas(20e5, 300.0, molar_mass=20.0, k=1.3))
    boils = ReliefLoad("x", 3.0, RealFluid("Propane", 20e5, temperature=316.15))
    P = 1.06325e5
    found = knock_out.arrival(plant, "both", {"PSV-104": gas, "PSV-107": boils}, P)
    assert found.vapor_flow + found.liquid_inflow == pytest.approx(5.0)  # mass closes
    # propane of 43 °C at constant enthalpy to 1.063 bara, by CoolProp's lever rule: -41 °C
    h = State("Propane", 20e5, temperature=316.15).enthalpy
    low, high = (State("Propane", P, quality=x).enthalpy for x in (0.0, 1.0))
    x = (h - low) / (high - low)
    assert found.liquid_inflow == pytest.approx(3.0 * (1 - x), rel=1e-6)
    assert found.temperature == pytest.approx(273.15 - 41, abs=0.5)
    # volumes add: ideal gas by hand, propane vapour from its saturated density
    volume = 2.0 * 8314.46 * 300 / (P * 20) + 3.0 * x / State("Propane", P, quality=1.0).density
    assert found.volume_flow == pytest.approx(volume, rel=1e-5)


def test_hot_naphtha_is_no_liquid_in_the_drum(plant):
    # n-hexane of 190 °C carries more heat above 70 °C than it takes to boil it: CoolProp, 1.063 bar
    load = ReliefLoad("x", 4.0, Liquid(20e5, 450.0))
    found = knock_out.arrival(plant, "bottom", {"PSV-106": load}, 1.06325e5)
    hot = State("n-Hexane", 20e5, temperature=463.15).enthalpy
    assert hot > State("n-Hexane", 1.06325e5, quality=1.0).enthalpy
    assert found.liquid_inflow == 0.0 and found.vapor_flow == 4.0
    cool = knock_out.arrival(plant, "cool", {"PSV-100": load}, 1.06325e5)  # V-100, 27 °C
    assert cool.liquid_inflow == 4.0 and cool.vapor_flow == 0.0


def test_the_drum_and_the_places_of_the_file(plant):
    found = drum.of_plant(plant, passes=2)
    assert found.diameter == 2.2 and found.passes == 2 and found.atmosphere == plant.atmosphere
    places = destination.places_of(plant, FH={"takes": ("gas", "liquid")})
    assert places["FH"].has_drum and places["FH"].takes == ("gas", "liquid")
    assert places["CD"].vented and places["ATM"].lowest_temperature is None
    naphtha = Liquid(20e5, 640.0, saturation_pressure=3e4)
    fits = destination.phase_fits(naphtha, places["CD"].takes, places["CD"].lowest_pressure, "CD")
    assert fits.holds


def test_a_plant_without_a_drum_says_so(plant, tmp_path):
    lines = (plant_file := tmp_path / "plant.toml")
    site = "[site]\nname = 'x'\natmosphere = '101.325 kPaa'\nambient_temperature = '25 °C'\n"
    site += "highest_ambient_temperature = '40 °C'\nsolar_flux = '1 kW/m2'\nlatitude = 45\n"
    lines.write_text(site, encoding="utf-8")
    with pytest.raises(InputError, match="the plant's file has none"):
        drum.of_plant(load_plant(plant_file))
    lines.write_text(site + "[disposal.drumm.K]\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"disposal\.drumm"):
        load_plant(plant_file)


def test_the_drain_drum_that_needs_a_valve(plant):
    loads = knock_out.drain_loads(plant)
    boils = loads["drain left open, liquid boils"]
    # by hand: liquid propane through Kv 10, choked at FL2 (P1 - FF Pv); FF Pv from CoolProp
    top, T = plant.absolute(plant["V-105"].mawp_gauge), plant["V-105"].operating_temperature
    state = State("Propane", top, temperature=T)
    FF = 0.96 - 0.28 * np.sqrt(state.saturation_pressure / 42.512e5)
    drop = 0.9**2 * (top - FF * state.saturation_pressure)
    liquid = 10.0 * np.sqrt(drop / 1e5 * 1000 / state.density) * state.density / 3600
    drained = next(s.value for s in boils.working if s.name == "liquid_inflow"
                   or s.name == "valve_inflow")  # fmt: skip
    assert drained == pytest.approx(liquid, rel=0.01)
    # the part that boils at the drum's relieving pressure: lever rule of CoolProp's enthalpies
    P1 = knock_out.drain_relieving(plant)
    low, high = (State("Propane", P1, quality=x).enthalpy for x in (0.0, 1.0))
    part = (state.enthalpy - low) / (high - low)
    assert boils.mass_flow / drained == pytest.approx(part, rel=1e-4)
    # the vent passes less against a full flare header than against a quiet one, less than the load
    header = plant.headers["FH"]
    busy, quiet = (knock_out.vent_flow(plant, boils.stream, plant.absolute(p)) for p in
                   (header.highest_pressure_gauge, header.lowest_pressure_gauge))  # fmt: skip
    assert busy < quiet < boils.mass_flow
    small = knock_out.drain_loads(plant, 2.0)["drain left open, liquid boils"].mass_flow
    assert small == pytest.approx(boils.mass_flow / 5) and small < busy


def test_the_valve_of_the_drain_drum(plant):
    load = knock_out.drain_loads(plant)["drain left open, liquid boils"]
    device = Device("balanced", plant.of("disposal.drain_drums")[0].mawp_gauge)
    back = plant.absolute(plant.headers["FH"].highest_pressure_gauge)
    # at 1.4 barg behind and 3.85 barg before, the nozzle of propane still chokes: 0.57 of P1
    assert back / load.stream.pressure < 0.57
    assert size(load, device, back).letter
