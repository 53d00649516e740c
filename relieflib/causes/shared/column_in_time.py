"""A column that is heated and no longer cooled, minute by minute: which liquid boils away when.

Its heat balance at relieving pressure gives a heat flow, not yet a load: the load hangs on the
liquid that the heat finds. First that of the wet trays, the light one; once it is gone, as it soon
is without reflux, the heavy one of the sump, whose latent heat is often smaller; last nothing.
Source: API 521 (2020), 4.4.3: latent heat of what boils at relieving conditions; the steps are a
heat and mass balance of ours.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

from relieflib.causes.shared.carried_vapor import CarriedVapor
from relieflib.errors import InputError, not_negative, positive
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State, latent_heat, saturation_pressure, saturation_temperature
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

_COLDEST = 1.0  # K above the light fluid's boiling point where the search for a mixture begins
_NEAR = 1e-3  # K below the heavy fluid's boiling point where it ends
_TRACE = 1e-9  # of the sump, what rounding leaves


@dataclass(frozen=True)
class Stage:
    """One spell of the column: start and end [s], flows of both vapours [kg/s], and their stream.

    words say what leaves; stream is None where nothing does.
    """

    words: str
    start: float
    end: float
    light_flow: float
    heavy_flow: float
    stream: object = None

    @property
    def mass_flow(self):
        """All that leaves [kg/s]."""
        return self.light_flow + self.heavy_flow

    def load(self, cause, working=()):
        """The spell's flow as a `ReliefLoad`; None where nothing leaves."""
        if self.stream is None:
            return None
        line = step("mass_flow", self.mass_flow, source=f"{self.words}: heat and mass balance")
        return ReliefLoad(cause, self.mass_flow, self.stream, working=Working([*working, line]))


class Governing(NamedTuple):
    """Of a column's two liquids the one that needs more area for each watt.

    fluid; latent_heat [J/kg] and stream, its vapour, at relieving pressure.
    """

    fluid: str
    latent_heat: float
    stream: object

    @property
    def source(self):
        """Words for a step of a working."""
        return (
            f"{self.fluid}: of the column's two liquids the one that needs more area for each watt"
        )


@lru_cache(maxsize=64)
def _governing(pressure, fluids):
    streams = [RealFluid(fluid, pressure, quality=1.0) for fluid in fluids]
    found = zip(fluids, (latent_heat(fluid, pressure) for fluid in fluids), streams)
    return Governing(*min(found, key=lambda one: one[1] * one[2].mass_flux(0.0)))


@dataclass(frozen=True)
class Column:
    """Liquids of a column at relieving pressure, and the reflux that still runs.

    pressure [Pa]; light, heavy: fluids of the trays and of the sump that CoolProp knows;
    tray_liquid, drum_liquid and sump_liquid: light on the trays, light in the reflux drum, heavy
    in sump and reboiler [kg]; reflux [kg/s] from the drum at reflux_temperature [K], 0 where it has
    stopped. Raises InputError for a negative or infinite value. Validity: feed and products have
    stopped; steel and liquids are at their boiling points, so that each vapour comes as soon as it
    can; on the wet trays the reflux counts as boiling hot.
    """

    pressure: float
    light: str
    heavy: str
    tray_liquid: float
    sump_liquid: float
    drum_liquid: float = 0.0
    reflux: float = 0.0
    reflux_temperature: float | None = None

    def __post_init__(self):
        names = ("tray_liquid", "sump_liquid", "drum_liquid", "reflux")
        not_negative(**{name: getattr(self, name) for name in names})
        positive(pressure=self.pressure)
        if self.reflux and self.reflux_temperature is None:
            raise InputError("reflux: give its temperature too")

    @cached_property
    def latent_heats(self):
        """Latent heats of light and heavy liquid at relieving pressure [J/kg]."""
        return tuple(latent_heat(fluid, self.pressure) for fluid in (self.light, self.heavy))

    @cached_property
    def streams(self):
        """Vapours of light and heavy liquid, each alone, at relieving pressure."""
        fluids = self.light, self.heavy
        return tuple(RealFluid(fluid, self.pressure, quality=1.0) for fluid in fluids)

    @property
    def governing(self):
        """The liquid that needs more area for each watt, as `Governing`."""
        return _governing(self.pressure, (self.light, self.heavy))

    @property
    def _reflux_liquid(self):
        """The reflux as the liquid it is in the drum, also where it boils at relieving pressure."""
        own = saturation_pressure(self.light, self.reflux_temperature)
        if own >= self.pressure:
            return State(self.light, own, quality=0.0)
        return State(self.light, self.pressure, temperature=self.reflux_temperature)

    def together(self, heat):
        """Reflux that meets the vapour of the sump on dry trays: `CarriedVapor` of a heat [W].

        All the reflux boils, the heavy vapour that it does not condense goes with it. None without
        reflux, or where the heat cannot boil it, so that the trays stay wet.
        """
        from scipy.optimize import brentq

        if not self.reflux:
            return None
        cold = self._reflux_liquid.enthalpy
        sump = State(self.heavy, self.pressure, quality=0.0)

        def vapor(T):
            return CarriedVapor(self.light, self.heavy, self.pressure, T)

        def miss(T):
            return self.reflux * vapor(T).heat(cold, sump.enthalpy) - heat

        low = saturation_temperature(self.light, self.pressure) + _COLDEST
        high = sump.temperature - _NEAR
        return vapor(brentq(miss, low, high, xtol=1e-6)) if miss(low) < 0 else None

    def stages(self, heat):
        """What leaves, spell by spell, with a heat flow [W] left to make vapour. Returns a list."""
        light, heavy = (heat / h for h in self.latent_heats)
        vapor = self.together(heat)
        end = self._trays_dry(light, vapor is None)
        stages = [Stage(f"{self.light}, trays wet", 0.0, end, light, 0.0, self.streams[0])]
        left = self.sump_liquid
        if end < self._drum_empty:
            stages.append(self._mixed(vapor, end))
            left -= stages[-1].heavy_flow * (stages[-1].end - end)
        end = stages[-1].end
        if end < float("inf") and left > _TRACE * self.sump_liquid:
            words, until = f"{self.heavy} of the sump", end + left / heavy
            stages.append(Stage(words, end, until, 0.0, heavy, self.streams[1]))
        elif end < self._drum_empty:
            stages.append(self._reflux_alone(end))
        return [*stages, Stage("nothing, boiled dry", stages[-1].end, float("inf"), 0.0, 0.0)]

    @property
    def _drum_empty(self):
        return self.drum_liquid / self.reflux if self.reflux else 0.0

    def _trays_dry(self, flow, stay_wet):
        """When the trays are dry; with reflux they last longer, at most until the drum is empty."""
        if flow <= 0:
            return float("inf")
        drum, gain = self._drum_empty, self.reflux - flow
        if gain < 0 and not stay_wet and self.tray_liquid / -gain <= drum:
            return self.tray_liquid / -gain
        return (self.tray_liquid + self.reflux * drum) / flow

    def _mixed(self, vapor, start):
        heavy = self.reflux * vapor.carried
        end = min(self._drum_empty, start + self.sump_liquid / heavy)
        words = f"{self.light} of the reflux and {self.heavy}"
        return Stage(words, start, end, self.reflux, heavy, vapor.stream)

    def _reflux_alone(self, start):
        words = f"{self.light} of the reflux, in the reboiler"
        return Stage(words, start, self._drum_empty, self.reflux, 0.0, self.streams[0])
