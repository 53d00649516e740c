"""What is installed: a relief valve, or several that lift together, with what is known of them."""

from dataclasses import KW_ONLY, dataclass, field, replace

import numpy as np

from relieflib import orifices
from relieflib.devices import Device
from relieflib.disposal.header import bringing
from relieflib.disposal.plant_tree import outlet_line
from relieflib.errors import InputError, positive
from relieflib.lines import disk_line
from relieflib.lines.line import Line, Part
from relieflib.lines.written import line_given
from relieflib.set_pressure import highest_set
from relieflib.units import ATMOSPHERE

PHASES = ("gas", "liquid", "two-phase")
_LIQUID_SERVICE = ("liquid", "hydraulic expansion", "overfilling")


@dataclass(frozen=True)
class Valve:
    """An installed relief valve, or several that lift together, with what is known of it.

    Parameters
    ----------
    tag, protects : str
        Its tag, and that of what it protects.
    kind : str, optional
        As `Device`.
    set_pressure_gauge : float or tuple, Pa gauge
        One for all, or one a valve.
    designation : str or tuple, optional
        Such as '3L4', one for all or one a valve.
    area, letter : float, m2, and str, optional
        In place of a designation.
    count, spare : int, optional
        Valves that lift together; valves blocked in beside them, which never count.
    mawp_gauge : float, Pa gauge, optional
        Of what is protected.
    role : str, optional
        Of the first valve, as `highest_set`.
    certified_for : tuple of str, optional
        Phases of `PHASES`.
    destination : str, optional
    takes : tuple of str, optional
        Phases that the destination is meant for.
    inlet, outlet : Line or str, optional
        Lines of each valve, or words that say who found them within their limit.
    back_pressure : float, Pa absolute, optional
        At the outlet before the valve opens, against which a spring is set; the atmosphere where
        None.
    header_pressure : float, Pa absolute, optional
        Highest beyond the outlet line while it relieves: what it is above the first is the variable
        part.
    others_pressure : float, Pa absolute, optional
        Highest that others make there before it opens; `header_pressure` where None.
    events : tuple of disposal.header.Facing, optional
        What the header does in each event in which it lifts: see `against`.
    remote_sensing : bool, optional
        Of a pilot: senses at the vessel; None for not said.
    Kd, Kc, atmosphere
        As `Device`.
    disk_line : Line, optional
        Whole line of a rupture disk alone, which then decides what it passes.
    position : safeguard.Reason or str, optional
        Where it stands, as `position.reasons.reason_of` finds it on the drawing, or words that say
        who found nothing there that cuts it off; None for not given.

    Raises
    ------
    InputError
        For a value that can't be, or two that say the same thing.

    Examples
    --------
    >>> Valve("PSV-1", "V-1", set_pressure_gauge=10e5, designation="3L4", count=2).arrangement
    '2 x 3L4'
    """

    tag: str
    protects: str = ""
    _: KW_ONLY
    kind: str = "conventional"
    set_pressure_gauge: float | tuple = 0.0
    designation: str | tuple | None = None
    area: float | None = None
    letter: str | None = None
    count: int = 1
    spare: int = 0
    mawp_gauge: float | None = None
    role: str = "first"
    certified_for: tuple | None = None
    destination: str = ""
    takes: tuple | None = None
    inlet: Line | str | None = None
    outlet: Line | str | None = None
    back_pressure: float | None = None
    header_pressure: float | None = None
    others_pressure: float | None = None
    events: tuple = field(default=(), repr=False)
    remote_sensing: bool | None = None
    Kd: float | None = None
    Kc: float = 1.0
    atmosphere: float = ATMOSPHERE
    disk_line: Line | None = None
    position: object = field(default=None, repr=False)

    def __post_init__(self):
        if type(self.count) is not int or not 1 <= self.count <= orifices.MOST_VALVES:
            raise InputError(f"count = {self.count!r}: 1 to {orifices.MOST_VALVES} valves")
        if type(self.spare) is not int or self.spare < 0:
            raise InputError(f"spare = {self.spare!r}: must be a whole number, 0 or more")
        if (self.designation is None) == (self.area is None):
            raise InputError(f"{self.tag}: give either a designation or an area")
        if self.designation is not None and self.letter is not None:
            raise InputError(f"{self.tag}: the designation holds the letter; give it once")
        if self.mawp_gauge is not None:
            _one("mawp_gauge", self.mawp_gauge)
            highest_set(self.mawp_gauge, self.role)
        for name in ("certified_for", "takes"):
            _phases(name, getattr(self, name))
        for a, pset in zip(self.areas, self.sets, strict=True):
            _one("area", a)
            self.device(_one("set_pressure_gauge", pset))
        for name in ("inlet", "outlet"):
            line = getattr(self, name)
            if not (line is None or isinstance(line, Line) or (isinstance(line, str) and line)):
                raise InputError(f"{name}: a Line, words that say who checked it, or None")
        if self.position == "":
            raise InputError("position: a Reason, words that say who looked at it, or None")

    @classmethod
    def of(cls, plant, tag, **more):
        """The relief valve or rupture disk of a plant by its tag; `more` takes the place of fields.

        Lines from the file: its parts, or entrance, pipe, long elbows. A valve counts as certified
        for the phase it was bought for, which the words of `sized_for` tell. The header stands at
        its lowest pressure before, at its highest while it relieves: of the worst event, and of
        each event where the plant knows them. Raises InputError for another tag.
        """
        item = plant[tag]
        if item.section not in ("relief_valves", "rupture_disks"):
            raise InputError(f"tag '{tag}': is no relief valve or rupture disk")
        header, air = plant.headers[item.destination], plant.site.atmosphere
        low, high = plant.header_pressures(tag)
        liquid = any(words in item.sized_for for words in _LIQUID_SERVICE)
        certified = tuple(getattr(item, "certified_for", ("liquid" if liquid else "gas",)))
        takes = getattr(header, "takes", None)
        fields = dict(
            protects=item.protects, mawp_gauge=_mawp(plant[item.protects]),
            certified_for=certified, destination=item.destination,
            takes=takes and tuple(takes), atmosphere=air,
            back_pressure=low, header_pressure=high, events=plant.facings(tag),
            count=int(getattr(item, "count", 1)), spare=int(getattr(item, "spare", 0)),
        )  # fmt: skip
        if item.section == "rupture_disks":
            bore = 0.25 * np.pi * item.diameter**2
            fields |= dict(kind="disk", set_pressure_gauge=item.burst_pressure_gauge, area=bore)
            if hasattr(item, "outlet_length"):
                fields["disk_line"] = disk_line.line_of(item)
        else:
            fields |= dict(kind=item.kind, set_pressure_gauge=item.set_pressure_gauge,
                           designation=item.designation, inlet=_inlet(item),
                           outlet=_outlet(item))  # fmt: skip
        return cls(tag, **fields | more)

    @property
    def names(self):
        """Designation of each valve that lifts; None where only an area is given."""
        many = isinstance(self.designation, tuple)
        names = self.designation if many else (self.designation,) * self.count
        if len(names) != self.count:
            raise InputError(f"{self.tag}: {len(names)} designations for {self.count} valves")
        return names

    @property
    def areas(self):
        """Area of each valve that lifts [m2]."""
        return tuple(
            self.area if name is None else orifices.parse_designation(name).area
            for name in self.names
        )

    @property
    def sets(self):
        """Set pressure of each valve that lifts [Pa gauge]."""
        many = isinstance(self.set_pressure_gauge, tuple)
        sets = self.set_pressure_gauge if many else (self.set_pressure_gauge,) * self.count
        if len(sets) != self.count:
            raise InputError(f"{self.tag}: {len(sets)} set pressures for {self.count} valves")
        return sets

    @property
    def roles(self):
        """Role of each valve that lifts, by rising set pressure, as `highest_set`."""
        return (self.role, *("additional",) * (self.count - 1))

    @property
    def superimposed_gauge(self):
        """Constant superimposed back pressure [Pa gauge]; a vacuum counts as none."""
        back = self.atmosphere if self.back_pressure is None else self.back_pressure
        return max(back - self.atmosphere, 0.0)

    @property
    def variable_gauge(self):
        """Variable superimposed back pressure above the constant one [Pa]."""
        if self.header_pressure is None:
            return 0.0
        return max(self.header_pressure - self.atmosphere - self.superimposed_gauge, 0.0)

    @property
    def opening_variable_gauge(self):
        """Variable superimposed back pressure that others make before it opens [Pa]."""
        if self.others_pressure is None:
            return self.variable_gauge
        return max(self.others_pressure - self.atmosphere - self.superimposed_gauge, 0.0)

    def against(self, load):
        """The valve against what its header does in the events that bring this very load.

        Of several such events the highest pressures count. The valve itself, against the worst of
        all events, where none is known to bring it. Parameters: load, `ReliefLoad`.
        """
        same = bringing(self.events, load)
        if not same:
            return self
        return replace(self, header_pressure=max(f.header_pressure for f in same),
                       others_pressure=max(f.superimposed for f in same), events=())  # fmt: skip

    @property
    def highest_back_pressure(self):
        """All superimposed back pressure while the valve relieves [Pa absolute]."""
        return self.atmosphere + self.superimposed_gauge + self.variable_gauge

    @property
    def arrangement(self):
        """Number and sizes in words: '2 x 3L4 + 1 spare'."""
        names = [str(n or self.letter or f"{self.area * 1e6:.0f} mm²") for n in self.names]
        parts = [f"{names.count(name)} x {name}" for name in dict.fromkeys(names)]
        return " + ".join(parts) + (f" + {self.spare} spare" if self.spare else "")

    def device(self, set_pressure_gauge, certified=True):
        """The `Device` that sizing sees, at one set pressure [Pa gauge]."""
        return Device(self.kind, set_pressure_gauge, Kd=self.Kd, Kc=self.Kc, certified=certified,
                      atmosphere=self.atmosphere)  # fmt: skip

    def arranged(self, arrangement, staggered=False):
        """The valve in another `orifices.Arrangement`, in the usual sizes; its lines not known.

        staggered: set pressures from MAWP up to 105 %, the smallest valve first; needs mawp_gauge.
        """
        n, pset = len(arrangement.duty), min(self.sets)
        if staggered:
            if self.mawp_gauge is None:
                raise InputError("mawp_gauge: needed for staggered set pressures")
            pset = orifices.staggered_sets(self.mawp_gauge, n)
        names = tuple(str(orifices.usual_designation(letter)) for letter in arrangement.duty)
        return replace(self, tag=f"{self.tag}: {arrangement}", designation=names, area=None,
                       letter=None, set_pressure_gauge=pset, count=n,
                       spare=len(arrangement.spare), inlet=None, outlet=None)  # fmt: skip


def _one(name, value):
    if np.ndim(value) or not np.isfinite(positive(**{name: value})):
        raise InputError(f"{name} = {value!r}: must be one number")
    return value


def _phases(name, value):
    if value is None:
        return
    if isinstance(value, str) or not value or set(value) - set(PHASES):
        raise InputError(f"{name} = {value!r}: a tuple of {', '.join(PHASES)}")


def _mawp(item):
    for name in ("mawp_gauge", "design_pressure_gauge", "cold_mawp_gauge"):
        if hasattr(item, name):
            return getattr(item, name)
    return None


def _given(item, side):
    """True where the plant's file gives all of a line of a valve."""
    short = all(hasattr(item, f"{side}_{name}") for name in ("diameter", "length", "elbows"))
    return short or hasattr(item, side)


def _outlet(item):
    return outlet_line(item) if _given(item, "outlet") else None


def _inlet(item):
    parts = line_given(item, "inlet")
    if parts is not None:
        return parts
    if not _given(item, "inlet"):
        return None
    parts = [Part("entrance flush", item.inlet_diameter)]
    parts.append(Part("pipe", item.inlet_diameter, length=item.inlet_length))
    elbows = [Part("long elbow", item.inlet_diameter, count=item.inlet_elbows)]
    return Line(parts + (elbows if item.inlet_elbows else []))
