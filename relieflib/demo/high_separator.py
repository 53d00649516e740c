"""Causes of the high-pressure separator V-101, and what its failures send on to V-104.

Rests on judgement, and says so: the off-gas compressor outside gives 7900 kg/h at most, at any
pressure up to 85 barg, until its maker shows less; P-101 gives what its curve leaves at the
pressure of V-101; PV-101 follows the pressure while it has air, which counts against V-104, but
for V-101 itself it is credited no more than its normal flow (API 521 (2020), 4.2).
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from relieflib.causes import (
    closed_outlet,
    control_valve_opens,
    exterior_fire_liquid as fire_liquid,
    overfilling,
    power_and_air_failure as power,
)
from relieflib.causes.shared import heated_contents
from relieflib.demo.common import dead_headed, pressures, rich_gas, shell
from relieflib.nozzle.gas import Gas
from relieflib.phase_split import SOURCE, Split, mixed
from relieflib.plant import COMPONENTS
from relieflib.working import step

FLUIDS = ("Hydrogen", "Methane", "Propane", "n-Hexane")  # as `plant.COMPONENTS`
NO_ABSORBENT = ("FV-101 closed", "P-101 stopped")
_HOTTEST = 533.15  # K, where a fire's contents are followed to: the largest area comes long before


def parted(plant, tag, pressure, temperature, flow=None):
    """A stream of the plant as `phase_split.Split`, at another flow if one is given [kg/s]."""
    stream = plant.streams[tag]
    share = 1.0 if flow is None else flow / stream.mass_flow
    masses = tuple(share * getattr(stream, name) for name in COMPONENTS)
    return Split(FLUIDS, masses, pressure, temperature)


def off_gas_flow(plant, off_gas=None):
    """Off-gas that comes in [kg/s]: the most that its compressor gives, unless one says less."""
    return plant.streams["1"].maximum_mass_flow if off_gas is None else off_gas


def absorbent_flow(plant, pressure):
    """Absorbent that P-101 still brings at a pressure of V-101 [kg/s], its normal flow at most."""
    pump = plant["P-101"]
    fed = dead_headed(plant, pump, pump.suction_pressure_gauge, pressure)
    return min(fed.mass_flow, plant.streams["4"].mass_flow)


def contents(plant, pressure, *, off_gas=None, absorbent=None, cooled=True):
    """What stands in V-101 at a pressure [Pa], flow by flow, parted into gas and liquid.

    Parameters: plant; pressure; off_gas [kg/s]; absorbent [kg/s], 0 without P-101 or FV-101, None
    for what the pump gives at its normal suction, the least and so the most gas; cooled, True
    while E-101 has water. Returns `Split`, flows in kg/s.
    """
    cooler, flow = plant["E-101"], off_gas_flow(plant, off_gas)
    T = plant["V-101"].operating_temperature if cooled else cooler.hot_in
    gas = parted(plant, "1", pressure, T, flow)
    if absorbent == 0:
        return gas
    absorbent = absorbent_flow(plant, pressure) if absorbent is None else absorbent
    oil = parted(plant, "4", pressure, plant.streams["4"].temperature, absorbent)
    if not cooled:
        return mixed([gas, oil], pressure)
    return Split(FLUIDS, tuple(np.add(gas.masses, oil.masses)), pressure, T)


def gas_of(plant, found, pressure):
    """The vapour of what stands in V-101 as `Gas` at a pressure [Pa]; it keeps its temperature.

    Off-gas of which nothing condenses has the properties of the plant's file.
    """
    vapor = found.vapor if found.liquid_mass > 0 else plant.fluids["off_gas"]
    Z = vapor.Z if pressure == found.pressure else 1.0
    return Gas(pressure, found.temperature, molar_mass=vapor.molar_mass, k=vapor.k, Z=Z)


def _vapor_step(found):
    return step("inflow", found.vapor_mass, source=f"vapour of off-gas and absorbent: {SOURCE}")


def gas_outlet_shut(plant, off_gas=None, **state):
    """Load of PSV-103 with PV-101 shut: the gas of V-101, all of it.

    state: absorbent, cooled as `contents`. Normal but for that, the gas is that of the plant's
    file; the flash agrees to 2 %.
    """
    P1, flow = pressures(plant, plant["V-101"])[0], off_gas_flow(plant, off_gas)
    if state.get("absorbent") is None and state.get("cooled", True):
        rich = plant.fluids["hydrogen_rich"]
        most = plant.streams["6"].maximum_mass_flow
        return closed_outlet.relief_load(min(most, flow), rich_gas(plant, P1, rich.Z))
    found = contents(plant, P1, off_gas=off_gas, **state)
    return closed_outlet.relief_load(
        found.vapor_mass, gas_of(plant, found, P1), working=[_vapor_step(found)]
    )


def more_gas(plant, off_gas=None, **state):
    """Load of PSV-103 where more stays gas and PV-101 stands as it does normally.

    Credited: the normal flow through PV-101, no more, though it would open to help.
    """
    P1 = pressures(plant, plant["V-101"])[0]
    found = contents(plant, P1, off_gas=off_gas, **state)
    through = plant["PV-101"].normal_mass_flow
    return closed_outlet.relief_load(
        found.vapor_mass, gas_of(plant, found, P1), through, [_vapor_step(found)]
    )


def passed_on(plant, off_gas=None, **state):
    """Loads of PSV-105 and PSV-103 where more stays gas and PV-101 opens to let it pass.

    V-104 exports no more than it normally does. Returns both loads; that of PSV-103 is what PV-101
    wide open can't pass at the relieving pressure of V-101.
    """
    high, low = (pressures(plant, plant[tag])[0] for tag in ("V-101", "V-104"))
    normal = plant.absolute(plant["V-101"].operating_pressure_gauge)
    valve, export = plant["PV-101"], plant.streams["7"].maximum_mass_flow
    found = contents(plant, normal, off_gas=off_gas, **state)
    source, onward = (
        gas_of(plant, found.at(high, found.temperature), high),
        gas_of(plant, found, low),
    )
    wide = control_valve_opens.gas_load(source, onward, valve.rated_Kv, valve.xT).mass_flow
    line, passed = _vapor_step(found), min(found.vapor_mass, wide)
    rest = closed_outlet.relief_load(found.vapor_mass - passed, source, working=[line])
    return closed_outlet.relief_load(passed, onward, export, [line]), rest


def filled_by_liquid(plant, off_gas=None):
    """Load of PSV-103 with LV-101 shut: absorbent and what condenses; PV-101 takes the gas.

    The liquid is saturated with gas, so that it flashes in the nozzle.
    """
    P1 = pressures(plant, plant["V-101"])[0]
    found = contents(plant, P1, off_gas=off_gas, absorbent=dead_pump(plant).mass_flow)
    liquid = found.part("liquid")
    line = step("inflow", found.liquid_mass, source=f"absorbent and condensate: {SOURCE}")
    return overfilling.relief_load(
        found.liquid_mass, heated_contents.stream(liquid), working=[line]
    )


def all_outlets_shut(plant, off_gas=None):
    """Load of PSV-103 with PV-101, LV-101 and FV-101 shut: V-101 fills, then gas and condensate
    leave together as they come in.
    """
    P1 = pressures(plant, plant["V-101"])[0]
    found = contents(plant, P1, off_gas=off_gas, absorbent=0)
    return closed_outlet.relief_load(sum(found.masses), heated_contents.stream(found))


def dead_pump(plant):
    """Load of PSV-101: P-101 against FV-101 shut, suction at its highest."""
    pump, P1 = plant["P-101"], pressures(plant, plant["V-101"])[0]
    return dead_headed(plant, pump, pump.highest_suction_pressure_gauge, P1)


@lru_cache(maxsize=8)
def _fire_path(masses, P0, T0, P1, volume, liquid_volume):
    held = heated_contents.filled(Split(FLUIDS, masses, P0, T0), volume, liquid_volume)
    return heated_contents.path(held, P1, volume, _HOTTEST)


def in_fire(plant):
    """Load of a pool fire on V-101: gas first, then a dense fluid that no longer boils.

    The liquid swells while it is heated, so the shell counts as wetted as high as the fire reaches.
    """
    item, drum = plant["V-101"], shell(plant["V-101"])
    volume, P1 = drum.volume_of(drum.top), pressures(plant, item)[1]
    P0, T0 = plant.absolute(item.operating_pressure_gauge), item.operating_temperature
    both = np.add(parted(plant, "6", P0, T0).masses, parted(plant, "8", P0, T0).masses)
    liquid = drum.volume_of(item.normal_level)
    points = _fire_path(tuple(both), P0, T0, P1, volume, liquid)
    steps = fire_liquid.heat_working(drum, drum.top, item.elevation)
    load = heated_contents.relief_load(fire_liquid.CAUSE, points, steps[-1].value, steps)
    return replace(load, fire=True)


def separator(plant):
    """Loads of V-101 by cause in words; failures of power and air come from `events`."""
    return {
        "closed outlet, gas": gas_outlet_shut(plant),
        "loss of absorbent": more_gas(plant, absorbent=0),
        "loss of cooling": more_gas(plant, cooled=False),
        "overfilling": filled_by_liquid(plant),
        "exterior fire": in_fire(plant),
    }


def receiver_fed(plant):
    """Loads of V-104 from what happens in V-101, by cause in words."""
    return {
        "loss of absorbent": passed_on(plant, absorbent=0)[0],
        "loss of cooling": passed_on(plant, cooled=False)[0],
    }


def consequences(plant, off_gas=None):
    """What a failure of power or air brings to PSV-103, PSV-105 and PSV-101."""
    rule, shut = power.Consequence, ("PV-101 closed",)
    hot, dry = ("cooling_water lost",), dict(absorbent=0)
    found = [
        rule("PSV-103", gas_outlet_shut(plant, off_gas), shut, NO_ABSORBENT),
        rule("PSV-103", gas_outlet_shut(plant, off_gas, cooled=False), (*shut, *hot), NO_ABSORBENT),
        rule("PSV-103", filled_by_liquid(plant, off_gas), ("LV-101 closed",), NO_ABSORBENT),
        rule("PSV-103", all_outlets_shut(plant, off_gas),
             (*shut, "FV-101 closed", "LV-101 closed"), hot),
        rule("PSV-101", dead_pump(plant), ("FV-101 closed",), ("P-101 stopped",)),
        *_passed(passed_on(plant, off_gas, cooled=False), hot, (*NO_ABSORBENT, *shut)),
    ]  # fmt: skip
    for gone in NO_ABSORBENT:
        dry_hot = dict(dry, cooled=False)
        found += [
            rule("PSV-103", gas_outlet_shut(plant, off_gas, **dry), (*shut, gone)),
            rule("PSV-103", gas_outlet_shut(plant, off_gas, **dry_hot), (*shut, gone, *hot)),
            *_passed(passed_on(plant, off_gas, **dry), (gone,), (*hot, *shut)),
            *_passed(passed_on(plant, off_gas, **dry_hot), (gone, *hot), shut),
        ]
    return found


def _passed(loads, when, unless):
    pairs = zip(("PSV-105", "PSV-103"), loads)
    return [power.Consequence(tag, x, when, unless) for tag, x in pairs if x.mass_flow > 0]
