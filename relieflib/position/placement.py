"""Where a relief device stands, as data: what lies between it, what it protects, and its end.

A placement is what a drawing shows beside the sizing: the parts of the way in their order, how each
is secured, where the way begins and ends, and how the valve stands. Nothing is taken for granted:
what the file does not give is None, and a check then says 'not given'.

In a plant's file: `[placements.PSV-1]`, whose parts are tables in a list; `[connections.NAME]`, an
open way from an item to another one that has the device; `[unprotected.P-1]`, an item that needs
none, with the reason.
"""

from dataclasses import KW_ONLY, dataclass, field, fields

from relieflib.errors import InputError, not_negative, one_number, positive
from relieflib.texts import clean

# Kinds of part -> what may happen to it, '' for nothing: it is a hole in a pipe.
HAND, MOVES, STICKS, PLUGS = "closed by hand", "moves by itself", "sticks shut", "plugs"
KINDS = {
    "nozzle": "", "pipe": "", "reducer": "", "rupture disk": "", "exchanger": "",
    "block valve": HAND, "three-way valve": HAND, "control valve": MOVES, "check valve": STICKS,
    "strainer": PLUGS, "demister": PLUGS, "flame arrester": PLUGS, "packing": PLUGS,
}  # fmt: skip
# How a part that can be closed is kept open; 'no' is said, None is not given.
SECURED = ("no", "locked open", "car sealed open", "interlocked")
POSITIONS = ("open", "closed")
DIRECTIONS = ("forward", "backward")
# What words a placement takes, by field.
WORDS = {
    "tapping": ("top", "vapour space", "liquid", "low point"),
    "enters_header": ("from above", "from the side", "from below"),
    "orientation": ("upright", "on its side"),
    "bonnet_vent": ("open", "plugged", "to a safe place", "closed bonnet"),
    "body_drain": ("open", "piped", "plugged"),
    "sensing": ("at the valve", "at the vessel"),
    "discharge_direction": ("up", "sideways", "down"),
    "disturbance": ("elbow", "two elbows", "two planes", "control valve"),
}
MOST_PARTS = 40
MOST_VALVES = 16


@dataclass(frozen=True)
class Part:
    """One part of a way, in its order: its kind of `KINDS`, and what is known of it.

    tag, '' for none; secured, how it is kept open, of `SECURED`, None for not given; position, how
    it stands in normal operation, of `POSITIONS`; interlock, name that it shares with others: they
    open for one valve before they close for another, those of one valve together (a three-way valve
    by its tag, or by its interlock where it is linked to another); inside_diameter, its narrowest
    bore [m]; telltale of a rupture disk under a valve: something shows pressure between them;
    passes, of a check valve: 'forward' lets flow along the way, as it is listed.
    >>> Part("block valve", "HV-1", secured="locked open").what_happens
    'closed by hand'
    """

    kind: str
    tag: str = ""
    _: KW_ONLY
    secured: str | None = None
    position: str = "open"
    interlock: str = ""
    inside_diameter: float | None = None
    telltale: bool | None = None
    passes: str = "forward"
    service: str = ""

    def __post_init__(self):
        name = f"part {self.tag}".strip()
        if self.kind not in KINDS:
            raise InputError(f"{name}: kind '{self.kind}' is not known; use {', '.join(KINDS)}")
        for key, allowed in (("secured", SECURED), ("position", POSITIONS), ("passes", DIRECTIONS)):
            _one_of(name, key, getattr(self, key), allowed)
        if self.inside_diameter is not None:
            one_number(inside_diameter=positive(inside_diameter=self.inside_diameter))
        if self.position == "closed" and not self.closable:
            raise InputError(f"{name}: a {self.kind} can't stand closed")
        if self.kind == "three-way valve" and not self.tag:
            raise InputError(f"{name}: a three-way valve needs its tag, by which its ports belong "
                             "together")  # fmt: skip

    @property
    def what_happens(self):
        """How it may cut the way off, '' where it can't."""
        return KINDS[self.kind]

    @property
    def closable(self):
        """Can somebody shut it, or does it shut itself."""
        return self.what_happens in (HAND, MOVES)

    @property
    def group(self):
        """What it opens and closes with: its interlock, or itself if three-way; '' for none."""
        return self.interlock or (self.tag if self.kind == "three-way valve" else "")

    def __str__(self):
        closed = ", normally closed" if self.position == "closed" else ""
        secured = f", {self.secured}" if self.secured not in (None, "no") else ""
        return clean(f"{self.kind} {self.tag}".strip() + secured + closed)


@dataclass(frozen=True)
class Placement:
    """Where a relief device stands, with its spare: the way in, the valves, the way out.

    Parameters
    ----------
    tag, protects : str
        The device, and the item it is there for.
    tapped_on : str, optional
        Item or line the way begins at; what it protects where ''.
    duty, spare : int
        Valves that lift together, and valves beside them that are blocked in.
    inlet, outlet : tuple of Part
        What all its valves share, along the flow: from the item on, and to the end.
    valve_inlets, valve_outlets : tuple of tuple of Part
        What each valve has for itself, one tuple a valve, those in duty first; () for nothing.
    destination : str
        Header, or another item that it leads to.
    tapping, ... : str, optional
        Words of `WORDS`; None for not given.
    liquid_case : bool, optional
        It is there for liquid alone; None where not said.
    tapping_drop : float, Pa, optional
        Pressure lost while relieving from where the pressure is made to the tapping.
    disturbance, disturbance_diameters : str and float, optional
        What last turns or throttles the flow in the process line it stands on, and how many
        diameters before it; only where it stands on such a line.
    inlet_drains_back, outlet_drains_away : bool, optional
        Without a low point on the way: back to the item, and down to the end.
    low_point_drained : bool, optional
        Of an outlet that has a low point: is it drained, and the drain kept free.
    height_above_header, discharge_height : float, m, optional
        Valve outlet above the header it joins; open end above the highest place for people nearby.
    end_fenced : bool, optional
        The open end lies inside a fence that keeps people out of the reach of its jet.
    weep_hole, rain_cover, winterised, traced, test_access, supported : bool, optional
    water_may_stand, may_solidify : bool, optional
        What the climate and the fluid ask for.

    Raises
    ------
    InputError
        With the tag, for words that are not known and numbers that can't be.

    Examples
    --------
    >>> one = Placement("PSV-1", "V-1", inlet=(Part("block valve", "HV-1", secured="no"),))
    >>> one.names, one.tapped_on
    (('PSV-1',), 'V-1')
    """

    tag: str
    protects: str
    _: KW_ONLY
    tapped_on: str = ""
    duty: int = 1
    spare: int = 0
    inlet: tuple = ()
    outlet: tuple = ()
    valve_inlets: tuple = ()
    valve_outlets: tuple = ()
    destination: str = ""
    tapping: str | None = None
    liquid_case: bool | None = None
    tapping_drop: float | None = None
    disturbance: str | None = None
    disturbance_diameters: float | None = None
    inlet_drains_back: bool | None = None
    outlet_drains_away: bool | None = None
    low_point_drained: bool | None = None
    enters_header: str | None = None
    height_above_header: float | None = None
    orientation: str | None = None
    bonnet_vent: str | None = None
    body_drain: str | None = None
    weep_hole: bool | None = None
    rain_cover: bool | None = None
    discharge_height: float | None = None
    discharge_direction: str | None = None
    end_fenced: bool | None = None
    water_may_stand: bool | None = None
    winterised: bool | None = None
    may_solidify: bool | None = None
    traced: bool | None = None
    sensing: str | None = None
    supported: bool | None = None
    test_access: bool | None = None
    service: str = field(default="", repr=False)

    def __post_init__(self):
        if not self.tapped_on:
            object.__setattr__(self, "tapped_on", self.protects)
        if type(self.duty) is not int or type(self.spare) is not int:
            raise InputError(f"{self.tag}: duty and spare must be whole numbers")
        if self.duty < 1 or self.spare < 0 or self.valves > MOST_VALVES:
            raise InputError(f"{self.tag}: {self.duty} duty and {self.spare} spare: 1 in duty at "
                             f"least, {MOST_VALVES} in all at most")  # fmt: skip
        for side in ("valve_inlets", "valve_outlets"):
            given = getattr(self, side)
            if not given:
                object.__setattr__(self, side, ((),) * self.valves)
            elif len(given) != self.valves:
                raise InputError(f"{self.tag}: {side} for {len(given)} valves, there are "
                                 f"{self.valves}")  # fmt: skip
        if len(list(self.parts)) > MOST_PARTS * self.valves:
            raise InputError(f"{self.tag}: more than {MOST_PARTS} parts a valve")
        for key, allowed in WORDS.items():
            _one_of(self.tag, key, getattr(self, key), allowed)
        for key in ("tapping_drop", "disturbance_diameters", "discharge_height"):
            if getattr(self, key) is not None:
                one_number(**{key: not_negative(**{key: getattr(self, key)})})
        if self.height_above_header is not None:
            one_number(height_above_header=self.height_above_header)

    @property
    def valves(self):
        """Valves in all, spares among them."""
        return self.duty + self.spare

    @property
    def names(self):
        """Tag of each valve, those in duty first: the tag alone, or with A, B, ..."""
        letters = "ABCDEFGHIJKLMNOP"[: self.valves] if self.valves > 1 else ("",)
        return tuple(f"{self.tag}{letter}" for letter in letters)

    @property
    def places(self):
        """Every part with its place: ((side, number of the valve or None, index), `Part`).

        side: 'inlet', 'valve inlet', 'valve outlet', 'outlet'; a place names a part on a drawing.
        """
        found = [(("inlet", None, i), part) for i, part in enumerate(self.inlet)]
        for side, ways in (
            ("valve inlet", self.valve_inlets),
            ("valve outlet", self.valve_outlets),
        ):
            found += [
                ((side, v, i), part) for v, way in enumerate(ways) for i, part in enumerate(way)
            ]
        return found + [(("outlet", None, i), part) for i, part in enumerate(self.outlet)]

    @property
    def parts(self):
        """Every `Part` on the way, all valves' own among them."""
        return (part for _, part in self.places)

    def at(self, place):
        """The `Part` at a place of `places`."""
        return dict(self.places)[place]


@dataclass(frozen=True)
class Connection:
    """An open way between two items, so that a device on one protects the other.

    start, end: tags, of an exchanger with its side: 'E-1 hot'. parts along the way; line_drop, lost
    between them while relieving [Pa]; static_head, of liquid from the end down to the start [Pa],
    below 0 where the start stands higher.
    """

    tag: str
    start: str
    end: str
    _: KW_ONLY
    parts: tuple = ()
    line_drop: float | None = None
    static_head: float | None = None
    service: str = field(default="", repr=False)

    def __post_init__(self):
        if self.start == self.end:
            raise InputError(f"connection {self.tag}: leads from {self.start} to itself")
        if self.line_drop is not None:
            one_number(line_drop=not_negative(line_drop=self.line_drop))
        if self.static_head is not None:
            one_number(static_head=self.static_head)


def _one_of(name, key, value, allowed):
    if value is not None and value not in allowed:
        raise InputError(f"{name}: {key} = '{value}': use one of {', '.join(allowed)}")


def _part(values):
    """A `Part` from a table of the file."""
    known = {f.name for f in fields(Part)}
    unknown = set(values) - known
    if unknown or "kind" not in values:
        word = f"key '{min(unknown)}' is not known" if unknown else "has no kind"
        raise InputError(f"part {values.get('tag', '')}: {word}".replace(" :", ":"))
    return Part(**values)


def _parts(values):
    if not isinstance(values, list) or not all(isinstance(one, dict) for one in values):
        raise InputError("parts of a way: must be a list of tables")
    return tuple(_part(one) for one in values)


def _ways(values):
    if not isinstance(values, list):
        raise InputError("ways of its valves: must be a list with a list of tables a valve")
    return tuple(map(_parts, values))


_READ = {"inlet": _parts, "outlet": _parts, "parts": _parts, "valve_inlets": _ways,
         "valve_outlets": _ways}  # fmt: skip


def _given(item, *leave):
    """Fields of an item of a plant's file, its parts read."""
    values = {k: v for k, v in vars(item).items() if k not in ("tag", "section", *leave)}
    if "in_duty" in values:
        values["duty"] = values.pop("in_duty")
    return {k: _READ[k](v) if k in _READ else v for k, v in values.items()}


def placement(plant, tag):
    """Where a relief device of a plant stands.

    Parameters: plant, a `plant.Plant`; tag of a relief valve, rupture disk or tank vent. Returns
    `Placement`, None where the file gives none. Raises InputError for another tag, and for a part
    or a word that is not known. Source: the plant's file.
    >>> from relieflib.plant import load_plant
    >>> placement(load_plant(), "PSV-105").names
    ('PSV-105A', 'PSV-105B')
    """
    device, item = plant[tag], plant.placements.get(tag)
    if not hasattr(device, "destination"):
        raise InputError(f"tag '{tag}': is no relief device")
    if item is None:
        return None
    try:
        return Placement(tag, device.protects, destination=device.destination, **_given(item))
    except InputError as problem:
        words = str(problem)
        raise InputError(words if words.startswith(tag) else f"{tag}: {words}") from None


def placements(plant):
    """Where every relief device of a plant stands, and what of it can't be used.

    Parameters: plant. Returns ({tag: `Placement`}, list of words, each with its tag): what is wrong
    with one placement leaves the others. Source: the plant's file.
    """
    found, wrong = {}, []
    for tag in plant.placements:
        try:
            found[tag] = placement(plant, tag)
        except InputError as problem:
            wrong.append(str(problem))
    return found, wrong


def connections(plant):
    """Every open way between items of a plant, and what of it can't be used.

    Parameters: plant. Returns (list of `Connection`, list of words). Source: the plant's file.
    """
    found, wrong = [], []
    for name, item in plant.connections.items():
        start, end = (_side(getattr(item, k), getattr(item, s, ""))
                      for k, s in (("origin", "from_side"), ("to", "to_side")))  # fmt: skip
        try:
            given = _given(item, "origin", "to", "from_side", "to_side")
            found.append(Connection(name, start, end, **given))
        except InputError as problem:
            wrong.append(f"connection {name}: {problem}")
    return found, wrong


def _side(tag, side):
    return f"{tag} {side}".strip()


def like(device, **more):
    """A `Placement` of a plant's device that the file does not place; `more` gives its fields.

    Parameters: device, an item. Returns `Placement`. Source: the plant's file.
    >>> from relieflib.plant import load_plant
    >>> like(load_plant()["PSV-105"], spare=1).valves
    2
    """
    return Placement(device.tag, device.protects, destination=device.destination, **more)
