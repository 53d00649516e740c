"""Vapour of one fluid that leaves a boiling liquid and takes that liquid's vapour along."""

from dataclasses import dataclass
from functools import cached_property

from relieflib.errors import positive, refuse, result
from relieflib.nozzle.gas import Gas
from relieflib.properties import State, saturation_pressure


@dataclass(frozen=True)
class CarriedVapor:
    """Vapour over a host liquid: the host fills its own vapour pressure, another fluid the rest.

    fluid, the other one, and host, names that CoolProp knows; pressure of both together [Pa];
    temperature [K], below the host's boiling point and where the fluid is a vapour at its share.
    Raises InputError elsewhere. Validity: ideal mixing; nothing of the fluid stays in the host.
    Source: Dalton's law, CoolProp.
    >>> vapor = CarriedVapor("Water", "n-Hexane", 20e5, 460.0)
    >>> round(vapor.carried, 2), round(vapor.own_state.pressure / 1e5, 2)
    (12.94, 5.4)
    """

    fluid: str
    host: str
    pressure: float
    temperature: float

    def __post_init__(self):
        P, T = positive(pressure=self.pressure), positive(temperature=self.temperature)
        host = saturation_pressure(self.host, result(T))
        refuse(host >= P, "temperature", T, "the host boils by itself at this pressure")

    @cached_property
    def host_state(self):
        """The host's vapour, saturated."""
        pressure = saturation_pressure(self.host, self.temperature)
        return State(self.host, pressure, quality=1.0)

    @cached_property
    def own_state(self):
        """The fluid's vapour at the rest of the pressure."""
        rest = self.pressure - self.host_state.pressure
        return State(self.fluid, rest, temperature=self.temperature)

    @property
    def fraction(self):
        """Mole fraction of the fluid in the vapour."""
        return self.own_state.pressure / self.pressure

    @property
    def carried(self):
        """Host vapour with each kilogram of the fluid [kg/kg]."""
        own, host = self.own_state, self.host_state
        return host.pressure / own.pressure * host.molar_mass / own.molar_mass

    def heat(self, fluid_enthalpy, host_enthalpy):
        """Heat for each kilogram of the fluid, with the host it carries [J/kg].

        fluid_enthalpy as the fluid comes in, host_enthalpy of the host's liquid [J/kg].
        """
        own, host = self.own_state.enthalpy, self.host_state.enthalpy
        return own - fluid_enthalpy + self.carried * (host - host_enthalpy)

    @cached_property
    def stream(self):
        """Both vapours as one `Gas`: k and Z the mole averages of both at their own pressures.

        For propane with n-hexane at 21 bara its flux is within 2 % of CoolProp's mixture (HEOS) as
        long as Z is above 0.8; below, the gas equation passes too much.
        """
        y, own, host = self.fraction, self.own_state, self.host_state
        mean = {n: y * getattr(own, n) + (1.0 - y) * getattr(host, n)
                for n in ("molar_mass", "k", "Z")}  # fmt: skip
        return Gas(self.pressure, self.temperature, **mean)
