"""A relief device against time: pop valve, proportional valve, pilot, disk."""

from dataclasses import KW_ONLY, dataclass
from math import sqrt

from relieflib import rules
from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.units import ATMOSPHERE

KINDS = ("pop", "proportional", "pilot", "modulating pilot", "disk")
FULL_LIFT = rules.CERTIFIED.value  # of set, gauge: where a proportional valve is fully open
PILOT_LIFT = 0.05  # of set, gauge: a modulating pilot; common practice, no source
CHATTER = "chatter: no steady state"


@dataclass(frozen=True)
class Relief:
    """A relief device, as the vessel's pressure sees it.

    kind: 'pop' opens whole at set and shuts whole at reseat; 'proportional' lifts with the
    pressure above set; 'pilot' pops and senses in the VESSEL, so that the inlet line does not shut
    it; 'modulating pilot' lifts in proportion and senses there; 'disk' bursts and stays open.
    set_pressure [Pa absolute]; valve_area, all factors times area [m2] (`effective_area`);
    blowdown [-] of set gauge, for the kinds that pop; loss_fraction, non-recoverable loss of the
    inlet line at rated flow over set gauge [-]; opening_time [s], 0 for at once; full_lift [-],
    overpressure of a proportional one at full lift; back_pressure, atmosphere [Pa absolute]; tag.
    Raises InputError for another kind, a value outside, or one that the kind ignores. Validity:
    the loss grows with the square of the lift and counts at full lift as at rated flow, on the
    safe side; no inertia of the disk and no pressure waves: `sprung_disk` teaches the one,
    `lines.inlet` screens the other. Source: API 520-II (2020), 7.3; hysteresis by definition.
    >>> valve = Relief("pop", 19.01325e5, 3e-4, blowdown=0.07, loss_fraction=0.03)
    >>> round(valve.reseat_in_vessel / 1e5, 3)
    18.293
    """

    kind: str
    set_pressure: float
    valve_area: float
    _: KW_ONLY
    blowdown: float = rules.BLOWDOWN.value
    loss_fraction: float = 0.0
    opening_time: float = 0.0
    full_lift: float | None = None
    back_pressure: float | None = None
    atmosphere: float = ATMOSPHERE
    tag: str = ""

    def __post_init__(self):
        if self.kind not in KINDS:
            raise InputError(f"kind '{self.kind}': use one of {', '.join(KINDS)}")
        positive(set_pressure=self.set_pressure, atmosphere=self.atmosphere)
        not_negative(valve_area=self.valve_area, loss_fraction=self.loss_fraction,
                     opening_time=self.opening_time)  # fmt: skip
        refuse(self.set_pressure <= self.atmosphere, "set_pressure", self.set_pressure,
               "must be above the atmosphere")  # fmt: skip
        bd = positive(blowdown=self.blowdown)
        refuse(bd >= 1.0, "blowdown", bd, "must be below 1")
        if self.full_lift is not None:
            positive(full_lift=self.full_lift)
            if self.pops or self.kind == "disk":
                raise InputError(f"full_lift belongs to a proportional device: a {self.kind} "
                                 "opens whole")  # fmt: skip
        if self.kind == "disk" and self.loss_fraction:
            raise InputError("loss_fraction: a disk does not shut; its line lessens the valve_area")
        back = self.behind
        positive(back_pressure=back)
        refuse(back >= self.reseat_pressure, "back_pressure", back, "must be below the reseat")
        for name in (
            "set_pressure",
            "valve_area",
            "blowdown",
            "loss_fraction",
            "opening_time",
            "atmosphere",
            "behind",
        ):
            if getattr(self, name) != getattr(self, name):
                raise InputError(f"{name}: is NaN; a run in time needs a number")

    @classmethod
    def of_sizing(cls, sizing, set_pressure, multiple=1.0, kind=None, **more):
        """The device of a `Sizing` with a multiple of the area it needs.

        set_pressure [Pa absolute]; kind by default what the sizing's device does: a conventional
        or balanced valve pops, a pilot pops and senses in the vessel, a disk bursts; more, fields
        as blowdown, loss_fraction, opening_time. Raises InputError as the class.
        """
        own = {"pilot": "pilot", "disk": "disk"}.get(sizing.device.kind, "pop")
        given = dict(back_pressure=sizing.back_pressure, atmosphere=sizing.device.atmosphere)
        return cls(kind or own, set_pressure, multiple * effective_area(sizing), **given | more)

    @property
    def pops(self):
        """True where it opens whole at set and shuts whole at reseat."""
        return self.kind in ("pop", "pilot")

    @property
    def behind(self):
        """Back pressure [Pa absolute], the atmosphere where not given."""
        return self.atmosphere if self.back_pressure is None else self.back_pressure

    @property
    def set_gauge(self):
        """Set pressure above the atmosphere [Pa]."""
        return self.set_pressure - self.atmosphere

    @property
    def reseat_pressure(self):
        """Pressure AT THE VALVE at which it shuts [Pa absolute]; set for the rest."""
        shut = self.blowdown if self.pops else 0.0
        return self.atmosphere + self.set_gauge * (1.0 - shut)

    @property
    def loss(self):
        """Loss of the inlet line at full lift [Pa]."""
        return self.loss_fraction * self.set_gauge

    @property
    def reseat_in_vessel(self):
        """Pressure in the VESSEL at which it shuts [Pa absolute]: higher by the inlet loss."""
        felt = 0.0 if self.kind == "pilot" else self.loss
        return self.reseat_pressure + felt

    @property
    def chatters(self):
        """True where the line takes the whole blowdown: it shuts as soon as it flows."""
        return self.pops and self.reseat_in_vessel >= self.set_pressure * (1.0 - 1e-12)

    def at_inlet(self, pressure, lift):
        """Pressure at the valve's inlet [Pa] with the vessel at a pressure; never below back."""
        return max(pressure - self.loss * lift * lift, self.behind)

    def felt(self, pressure, lift):
        """Pressure that moves it [Pa]: at its inlet, of a pilot that of the vessel."""
        return pressure if "pilot" in self.kind else pressure - self.loss * lift * lift

    @property
    def full_range(self):
        """Pressure above set at which a proportional device is fully open [Pa]."""
        own = PILOT_LIFT if "pilot" in self.kind else FULL_LIFT
        return (own if self.full_lift is None else self.full_lift) * self.set_gauge

    def wanted_lift(self, pressure):
        """Lift [-] of a proportional device at a vessel's pressure, its inlet loss counted."""
        above, span = pressure - self.set_pressure, self.full_range
        if above <= 0.0:
            return 0.0
        dp = 0.0 if "pilot" in self.kind else self.loss
        if dp == 0.0:
            return min(above / span, 1.0)
        return min((sqrt(span * span + 4.0 * dp * above) - span) / (2.0 * dp), 1.0)


def effective_area(sizing, area=None):
    """All factors times area of a sizing's device: what a nozzle without loss would have.

    Parameters: sizing, a `Sizing`; area [m2], by default the required one; arrays broadcast.
    Returns m2. Raises InputError for an area not above 0. Source: area = W/(Kd Kb Kc G),
    API 520-I (2020), 5.6.
    >>> from relieflib import Gas, ReliefLoad, size
    >>> s = size(ReliefLoad("closed_outlet", 2.0, Gas(12e5, 313.0, molar_mass=18.0, k=1.28)))
    >>> round(effective_area(s) * s.mass_flux, 9)
    2.0
    """
    A = positive(area=sizing.required_area if area is None else area)
    total = 1.0
    for value in sizing.factors.values():
        total = total * value
    return result(A * total)
