"""What the items of the demo plant share: pressures, shells, gases, pumps and pool fires."""

import warnings
from dataclasses import replace

from relieflib.causes import closed_outlet, exterior_fire_liquid as fire_liquid
from relieflib.errors import ValidityWarning
from relieflib.geometry import Vessel
from relieflib.nozzle.gas import Gas
from relieflib.study.inputs import AS_WRITTEN
from relieflib.study.recomputing import load_of
from relieflib.study.store import cases_of
from relieflib.working import Working


def of_file(plant, tag):
    """Loads of an item by cause in words: the cases of the plant's file."""
    return {case.name: of_case(plant, tag, case.name) for case in _cases(plant, tag)}


def of_case(plant, tag, name, **changed):
    """Load of one case of the plant's file.

    changed, inputs in SI that take the place of the file's, '__' for the dot of an inner one.
    """
    case = next(case for case in _cases(plant, tag) if case.name == name)
    new = {key.replace("__", "."): value for key, value in changed.items() if value is not None}
    with warnings.catch_warnings():  # dissolved gas; a parabola far beyond a pump's rated flow
        warnings.simplefilter("ignore", ValidityWarning)
        load = load_of(case, plant, new)
    told = [line for line in load.working if not line.source.endswith(AS_WRITTEN)]
    return replace(load, working=Working(told))


def _cases(plant, tag):
    return [case for case in cases_of(plant.study)[0] if case.item == tag]


def pressures(plant, item):
    """Relieving pressures of an item without and with fire [Pa absolute]."""
    return tuple(plant.relieving_pressure(item.tag, fire=fire) for fire in (False, True))


def shell(item):
    """Shell of an item as `geometry.Vessel`."""
    return Vessel(item.orientation, item.diameter, length=item.length, head_type=item.head_type)


def rich_gas(plant, pressure, Z=1.0):
    """Hydrogen-rich gas at the temperature of V-101 and a pressure [Pa]."""
    gas, T = plant.fluids["hydrogen_rich"], plant["V-101"].operating_temperature
    return Gas(pressure, T, molar_mass=gas.molar_mass, k=gas.k, Z=Z)


def high_gas(plant):
    """The gas of V-101 at its own relieving pressure, as a source."""
    top = pressures(plant, plant["V-101"])[0]
    return rich_gas(plant, top, plant.fluids["hydrogen_rich"].Z)


def flash_gas(plant, pressure, temperature=None, Z=1.0):
    """Flash gas of V-102 at a pressure [Pa] and temperature [K], its own by default."""
    gas = plant.fluids["lp_gas"]
    T = plant["V-102"].operating_temperature if temperature is None else temperature
    return Gas(pressure, T, molar_mass=gas.molar_mass, k=gas.k, Z=Z)


def pool_fire(plant, item, fluid, level):
    """Load of a pool fire on an item that holds liquid up to a level [m]."""
    steps = fire_liquid.heat_working(shell(item), level, item.elevation)
    return fire_liquid.pure_load(fluid, pressures(plant, item)[1], steps[-1].value, steps)


def dead_headed(plant, pump, suction_gauge, relieving_pressure):
    """Load of a pump with a curve against a closed outlet at a relieving pressure [Pa]."""
    curve = closed_outlet.PumpCurve(pump.shutoff_head, pump.rated_head, pump.rated_volume_flow)
    suction = plant.absolute(suction_gauge)
    with warnings.catch_warnings():  # a parabola gives more than a pump far beyond rated flow
        warnings.simplefilter("ignore", ValidityWarning)
        return closed_outlet.pump_load(curve, suction, relieving_pressure, pump.density)
