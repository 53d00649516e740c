"""What the items of the demo plant share: pressures, shells, gases, pumps and pool fires."""

import warnings
from dataclasses import replace
from functools import lru_cache

from relieflib.errors import ValidityWarning
from relieflib.geometry import Vessel
from relieflib.nozzle.gas import Gas
from relieflib.study.inputs import AS_WRITTEN
from relieflib.study.recomputing import load_of
from relieflib.study.store import cases_of
from relieflib.working import Working


def of_file(plant, tag):
    """Loads of an item by cause in words: cases of the plant's file that stand by themselves."""
    named = [case.name for case in cases_in(plant) if case.item == tag and case.on_ladder]
    return {name: of_case(plant, tag, name) for name in named}


def of_case(plant, tag, name, changed=None):
    """Load of one case of the plant's file.

    changed, {dotted input: value in SI} in place of the file's; None among them for as it stands.
    """
    case = next(case for case in cases_in(plant) if (case.item, case.name) == (tag, name))
    new = {key: value for key, value in (changed or {}).items() if value is not None}
    with warnings.catch_warnings():  # dissolved gas; a parabola far beyond a pump's rated flow
        warnings.simplefilter("ignore", ValidityWarning)
        load = load_of(case, plant, new)
    told = [line for line in load.working if not line.source.endswith(AS_WRITTEN)]
    return replace(load, working=Working(told))


@lru_cache(maxsize=8)
def cases_in(plant):
    """Cases of the plant's file."""
    return cases_of(plant.study)[0]


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
