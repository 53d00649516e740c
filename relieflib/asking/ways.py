"""Ways to an answer that several banks share: each is the house's own, and ends in a working."""

from relieflib.devices import KD, Device
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.sizing import ReliefLoad, size
from relieflib.working import Working

STATED = "stated"


def gas_area(mass_flow, pressure, temperature, molar_mass, k, Z, Kd, back_pressure):
    """From a load of gas to the area of a conventional valve; all as `Gas`, `Device`, `size`."""
    gas = Gas(pressure, temperature, molar_mass=molar_mass, k=k, Z=Z)
    return to_area(size(ReliefLoad(STATED, mass_flow, gas), _device(Kd, "gas"), back_pressure))


def liquid_area(mass_flow, pressure, density, Kd, back_pressure):
    """From a load of thin liquid to the area of a conventional valve; all as `Liquid`, `size`."""
    load = ReliefLoad(STATED, mass_flow, Liquid(pressure, density))
    return to_area(size(load, _device(Kd, "liquid"), back_pressure))


def _device(Kd, phase):
    """A conventional valve; the standard's own Kd is not one that a maker gives."""
    return Device() if Kd == KD[phase] else Device(Kd=Kd)


def to_area(sizing):
    """The steps up to the required area; factors of 1 are left out of what a reader must follow."""
    steps = Working()
    for line in sizing.working:
        if line.name in ("Kb", "Kw", "Kc", "Kv", "viscosity"):
            continue
        steps.append(line)
        if line.name == "required_area":
            return steps
    return steps
