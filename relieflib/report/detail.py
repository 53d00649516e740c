"""The P&ID detail of a relief device, drawn from its placement, with the note beside it.

One unit is a millimetre on A4. The way leads upward: the item, the parts of the inlet, the valves
side by side with those in duty first, each valve's riser, the end. What a check faults wears a
number in a square, whose words stand below the drawing. Symbols: ISO 10628-2 and ISA-5.1, drawn
here.
"""

import io
import textwrap
from dataclasses import dataclass, replace

import matplotlib
from matplotlib.patches import Circle, Polygon, Rectangle

from relieflib import pid_note
from relieflib.datasheet.verdict import SEVERITY
from relieflib.errors import InputError
from relieflib.papers.paper import barg, note_of_item
from relieflib.position.isolation import node_of
from relieflib.position.placement import placement
from relieflib.report import sketch as d
from relieflib.report.blocks import Figure, png
from relieflib.report.figures import INK, VERMILLION, Display
from relieflib.symbols import shown
from relieflib.texts import clean, harmless, html_text, number_text

WIDTH, PITCH, APART = 180.0, 15.0, 46.0  # mm: of the page, from part to part, valve to valve
TEXT, NOTE_TEXT, LINE = 7.5, 8.5, 3.7  # points, points, mm a line
LETTERS = 118  # of a line of words below the drawing
MOST_DRAWN = 4  # valves side by side
SHAPES = {"vessel": 13.0, "upright": 29.0, "tank": 13.0, "other": 13.0}  # -> mm below its middle
LEVELS = "Not to scale, nor to level: what drains is said, not drawn."
_VALVE = 4.2
_RISE = 14.0  # from a valve to its riser
# What a placement tells beside its parts: field -> words.
_FACTS = {
    "tapping": "tapped", "source_distance": "from the source",
    "tapping_drop": "loss up to the tapping", "disturbance": "before it",
    "disturbance_diameters": "diameters from it", "inlet_drains_back": "inlet drains back",
    "outlet_drains_away": "outlet drains away", "low_point_drained": "low point drained",
    "enters_header": "enters the header", "height_above_header": "above the header",
    "orientation": "stands", "bonnet_vent": "bonnet", "body_drain": "body drain",
    "weep_hole": "weep hole", "rain_cover": "rain cover", "discharge_height": "end above people",
    "discharge_direction": "blows", "end_fenced": "end fenced off", "winterised": "winterised",
    "traced": "traced", "sensing": "pilot senses", "supported": "outlet supported",
    "test_access": "access for test",
}  # fmt: skip
_UNITS = {"height_above_header": "length", "discharge_height": "length",
          "source_distance": "length", "tapping_drop": "line_drop"}  # fmt: skip
BORED = ("nozzle", "pipe", "reducer")  # parts that are told by their bore


@dataclass(frozen=True)
class Mark:
    """A number on the drawing with its words; places as `Placement.places`."""

    number: int
    words: str
    places: tuple = ()


class Detail:
    """A P&ID detail: figure, alt text and marks; shows itself in a notebook."""

    def __init__(self, drawn, alt, marks, tag):
        self.sketch, self.figure, self.alt, self.marks = drawn, drawn.figure, alt, marks
        self.tag = tag

    def png(self):
        """The picture for paper, PNG bytes."""
        return png(self.figure)

    def svg(self):
        """The picture as SVG, bytes: texts are texts, the alt text is its description."""
        buffer = io.BytesIO()
        with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "relieflib"}):
            self.figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
        head, svg, rest = buffer.getvalue().decode("utf-8").partition("<svg ")
        tag, close, body = rest.partition(">")
        words = f"<title>{html_text(self.tag)}</title><desc>{html_text(self.alt)}</desc>"
        return f'{head}{svg}role="img" {tag}{close}{words}{body}'.encode()

    def block(self):
        """The detail as a `Figure` of a page to file."""
        caption = f"{self.tag}, P&ID detail; numbers mark what a check faults."
        return Figure(self.png, self.alt, caption)

    def _repr_mimebundle_(self, include=None, exclude=None):
        return Display(self.figure, self.alt)._repr_mimebundle_(include, exclude)

    def __repr__(self):
        return self.alt


def detail_of(plant, tag, faults=()):
    """The detail of a device of a plant, with the note it should have.

    Parameters: plant; tag of a device that the plant's file places; faults, checks of its
    placement, of which those that differ are marked. Returns `Detail`. Raises InputError for
    another tag, or one without a placement.
    >>> from relieflib.plant import load_plant
    >>> detail_of(load_plant(), "PSV-104").alt[:44]
    'P&ID detail of PSV-104, which protects V-102'
    """
    placed, item = placement(plant, tag), plant[tag]
    if placed is None:
        raise InputError(f"{tag}: the plant's file does not say where it stands")
    note, kind = None, getattr(item, "kind", "conventional")
    if item.section == "relief_valves":
        note = note_of_item(item, placed)
    kind = {"rupture_disks": "disk", "tank_vents": "vent"}.get(item.section, kind)
    on = {name: node_of(plant, getattr(placed, name)) for name in ("tapped_on", "protects")}
    shape = _shape(plant.items.get(placed.tapped_on) or plant.items.get(placed.protects))
    lines = () if note else _plate(item)
    return draw(replace(placed, **on), note, kind, faults, shape, lines)


def _shape(item):
    """What a device stands on, as it is drawn."""
    section = getattr(item, "section", "")
    if section in ("vessels", "columns", "reactors"):
        return "vessel" if getattr(item, "orientation", "") == "horizontal" else "upright"
    return "tank" if section == "tanks" else "other"


def _plate(item):
    """Lines for a disk or a vent, which a note of valves does not fit."""
    pressure = getattr(item, "burst_pressure_gauge", None)
    lines = [item.tag, f"BURST {barg(pressure)}" if pressure else ""]
    pset = getattr(item, "set_pressure_gauge", None)
    lines.append(f"SET {number_text(pset / 100.0)} mbarg" if pset else "")
    lines.append(f"SIZED FOR {item.sized_for}" if getattr(item, "sized_for", "") else "")
    return [line for line in (*lines, f"TO {item.destination}") if line]


def draw(placed, note=None, kind="conventional", faults=(), shape="vessel", lines=()):
    """The P&ID detail of a relief device.

    Parameters: placed, `position.placement.Placement`; note, a `pid_note.Note` or None; kind of
    device, as `Device`, or 'vent'; faults, checks with name, verdict, reason, severity and places;
    those that differ are marked; shape of what it stands on, of `SHAPES`; lines that stand in the
    note's place. Returns `Detail`. Raises InputError for more valves than fit, or another shape.
    Source: what a P&ID shows of a relief valve: common practice, no source.
    """
    if placed.valves > MOST_DRAWN:
        raise InputError(f"{placed.tag}: {placed.valves} valves: a detail shows {MOST_DRAWN}")
    if shape not in SHAPES:
        raise InputError(f"shape = '{shape}': use one of {', '.join(SHAPES)}")
    differing = [f for f in faults if f.verdict == "differs"]
    marks = tuple(_mark(n, f) for n, f in enumerate(differing, start=1))
    lines = pid_note.note_lines(note) if note else list(lines) or _bare(placed)
    plan = _Plan(placed, _beside(lines, kind), marks, SHAPES[shape])
    s = d.Sketch(WIDTH, plan.height, scale=25.4)
    _item(s, plan, shape)
    _ways(s, plan, kind)
    _end(s, plan)
    _words(s, plan)
    _marks(s, plan)
    return Detail(s, _alt(placed, lines, kind, marks), marks, placed.tag)


def _mark(number, fault):
    words = f"{fault.name}: {fault.reason} ({SEVERITY[fault.severity]})"
    return Mark(number, clean(words), tuple(getattr(fault, "places", ())))


def _bare(placed):
    return [placed.tag, f"TO {placed.destination}"] if placed.destination else [placed.tag]


def _beside(lines, kind):
    """The lines that stand beside the drawing: the note, and what kind of device it is."""
    if kind != "conventional":
        lines = [*lines, _DEVICE[kind]]
    return [part for line in lines for part in textwrap.wrap(harmless(line, 120), 34)]


_DEVICE = {"pilot": "pilot-operated", "balanced": "balanced bellows", "disk": "rupture disk",
           "vent": "tank vent", "conventional": "spring-loaded"}  # fmt: skip


def _facts(placed):
    """What is given beside the parts, in words."""
    found = []
    for name, words in _FACTS.items():
        value = getattr(placed, name)
        if value is not None:
            said = {True: "yes", False: "no"}.get(value) if isinstance(value, bool) else value
            number = isinstance(said, (int, float)) and not isinstance(said, bool)
            said = _number(name, said) if number else said
            found.append(f"{words}: {said}")
    return found


def _number(name, value):
    return shown(_UNITS[name], value) if name in _UNITS else number_text(value)


class _Plan:
    """Where everything stands on the page, from the foot of the drawing up."""

    def __init__(self, placed, beside, marks, deep):
        self.placed, self.beside, self.marks, self.deep = placed, beside, marks, deep
        n = placed.valves
        first = 42.0 if n == 1 else 30.0
        apart = APART if n < 4 else 38.0
        self.columns = [first + apart * i for i in range(n)]
        self.middle = sum(self.columns) / n
        facts = f"As it stands: {'; '.join(_facts(placed)) or 'not given'}. {LEVELS}"
        self.facts = textwrap.wrap(facts, LETTERS)
        self.words = [
            line for mark in marks
            for line in textwrap.wrap(f"{mark.number}  {mark.words}", LETTERS,
                                      subsequent_indent="    ")
        ]  # fmt: skip
        below = LINE * (len(self.facts) + len(self.words) + 2.0) + 2.0
        self.item = below + deep
        self.start = self.item + 10.0
        common = self.start + PITCH * len(placed.inlet)
        room = self.item + 10.0 + 4.2 * len(beside)  # the note stands beside the inlet
        self.split = max(common, room if n > 1 else common) + 4.0
        own = max(map(len, placed.valve_inlets))
        self.valve = self.split + PITCH * own + 7.0
        self.header = self.valve + 14.0 + PITCH * max(map(len, placed.valve_outlets))
        three_way = _three_way(placed.valve_outlets)
        self.joined = self.header + (9.0 if three_way else 0.0)  # room for its words
        self.end = self.joined + PITCH * len(placed.outlet) + 4.0
        self.height = self.end + 17.0
        self.note_left = (self.columns[0] + 50.0) if n == 1 else self.middle + 42.0
        self.note_top = self.split - 6.0 if n > 1 else max(self.valve - 6.0, self.item + 4 +
                                                           4.2 * len(beside))  # fmt: skip

    def at(self, side, valve, index):
        """Middle of a part on the page."""
        if side == "inlet":
            return self.middle, self.start + PITCH * (index + 0.5)
        if side == "outlet":
            return self.out, self.joined + PITCH * (index + 0.5)
        if side == "valve inlet":
            return self.columns[valve], self.split + PITCH * (index + 0.5)
        if side == "valve outlet":
            return self.risers[valve], self.valve + 12.0 + PITCH * (index + 0.5)
        if side == "end":
            return self.out, self.end
        return self.columns[valve or 0], self.valve

    @property
    def risers(self):
        """Left-right place of each valve's riser."""
        return [x + _RISE for x in self.columns]

    @property
    def out(self):
        """Left-right place of what all outlets share."""
        return self.middle + _RISE


# --- parts --------------------------------------------------------------------------------------


def _label(s, x, y, text, size=TEXT, ha="left", va="center", **style):
    return s.label(x, y, clean(text), size, ha, va, parse_math=False, **style)


def _item(s, plan, shape):
    """What the device stands on, with the start of its way."""
    x, y, placed = plan.middle, plan.item, plan.placed
    low = placed.tapping in ("liquid", "low point")
    side = low and shape != "other"  # the nozzle stands in the shell, not on top
    half = {"vessel": 24.0, "upright": 8.5, "tank": 20.0}.get(shape, 17.0)
    at = x + half + 10.0 if side else x
    if shape == "vessel":
        d.horizontal_vessel(s, at, y, 48.0, 17.0, level=y + 1.0)
    elif shape == "upright":
        d.vertical_vessel(s, at, y - 8.0, 17.0, 33.0, level=y - 14.0)
    elif shape == "tank":
        d.tank(s, at, y - 7.9, 40.0, 14.0, level=y + 1.0)
    else:
        s.patch(Rectangle((x - 17.0, y - 5.0), 34.0, 13.0))
    name = placed.tapped_on if placed.tapped_on == placed.protects else (
        f"{placed.tapped_on} for {placed.protects}")  # fmt: skip
    if shape == "upright":
        _label(s, at + 10.5, y - 6.0, harmless(name, 26))
    else:
        _label(s, at, y + 1.5 if shape == "other" else y - 3.2, harmless(name, 26), ha="center")
    if side:
        nozzle = y - (18.0 if shape == "upright" else 2.0)  # below the surface
        s.line([(at - half, nozzle), (x, nozzle), (x, plan.start)])
    else:
        s.line([(x, y + 8.0), (x, plan.start)])


def _ways(s, plan, kind):
    """Pipes and parts from the item to where the outlets have met."""
    placed, n = plan.placed, plan.placed.valves
    s.line([(plan.middle, plan.start), (plan.middle, plan.split)])
    three_in, three_out = (_three_way(ways) for ways in (placed.valve_inlets, placed.valve_outlets))
    if n > 1:
        s.line([(plan.columns[0], plan.split), (plan.columns[-1], plan.split)])
        s.line([(plan.risers[0], plan.header), (plan.risers[-1], plan.header)], **d.RELIEF)
    for v, (x, riser) in enumerate(zip(plan.columns, plan.risers)):
        s.line([(x, plan.split), (x, plan.valve)])
        start = [(x, plan.valve + 2.3)] if kind == "disk" else []
        level = plan.valve + (5.0 if kind == "disk" else 0.0)
        start.append((x, level) if kind == "disk" else (x + _VALVE, level))
        s.line([*start, (riser, level), (riser, plan.header)], **d.RELIEF)
        _device(s, x, plan.valve, kind)
        spare = " (spare)" if v >= placed.duty else ""
        _label(
            s, x - 3.4, plan.valve + 10.5, f"{placed.names[v]}{spare}", ha="right", weight="bold"
        )
        if placed.low_point_drained or placed.body_drain in ("open", "piped"):
            _drain(s, x + 9.0, plan.valve)
    s.line([(plan.out, plan.header), (plan.out, plan.end)], **d.RELIEF)
    for place, part in placed.places:
        shared = three_in if place[0] == "valve inlet" else three_out
        if part.kind == "three-way valve" and shared and place[0].startswith("valve"):
            continue
        _part(s, *plan.at(*place), part)
    for part, x, y in ((three_in, plan.middle, plan.split), (three_out, plan.out, plan.header)):
        if part:
            _three_way_symbol(s, x, y, part, down=y == plan.split)


def _three_way(ways):
    """Both ports of the three-way valve at which two ways begin, or None."""
    firsts = [next((p for p in way if p.kind == "three-way valve"), None) for way in ways]
    same = len(ways) == 2 and None not in firsts and len({p.tag for p in firsts}) == 1
    return firsts if same else None


def _three_way_symbol(s, x, y, firsts, down):
    """Three triangles that meet; a port that stands closed is filled."""
    part, closed = firsts[0], [p.position == "closed" for p in firsts]
    a, b = 3.4, 2.0
    ports = [(-a, b, -a, -b), (a, b, a, -b), (-b, -a, b, -a) if down else (-b, a, b, a)]
    for i, (x1, y1, x2, y2) in enumerate(ports):
        corners = [(x, y), (x + x1, y + y1), (x + x2, y + y2)]
        s.patch(Polygon(corners), fill=INK if i < 2 and closed[i] else "white", width=d.THIN, z=4)
    words = f"{part.tag}\nthree-way" + (f"\ninterlock {part.interlock}" if part.interlock else "")
    _label(s, x + 5.0, y - 6.8 if down else y + 7.2, words)


def _part(s, x, y, part):
    """The symbol of a part on an upright pipe, with its words at the right."""
    closed = part.position == "closed"
    if part.kind in ("block valve", "three-way valve"):
        d.block_valve(s, x, y, upright=True, closed=closed)
    elif part.kind == "control valve":
        d.control_valve(s, x, y, upright=True, closed=closed)
    elif part.kind == "check valve":
        _check_valve(s, x, y, part.passes == "forward")
    elif part.kind == "rupture disk":
        d.rupture_disk(s, x, y)
    else:
        _OTHER.get(part.kind, _pipe)(s, x, y)
    if part.telltale:
        s.line([(x, y + 5.0), (x - 7.0, y + 5.0)], linewidth=d.THIN)
        s.patch(Circle((x - 11.0, y + 5.0), 4.0), width=d.THIN, z=4)
        _label(s, x - 11.0, y + 4.9, "PI", ha="center")
    right = 9.5 if part.kind == "control valve" else 5.0
    _label(s, x + right, y, "\n".join(_said(part)))


def _said(part):
    """Up to four short lines on a part."""
    first = f"{part.tag}" if part.tag else part.kind
    lines = [harmless(first, 18)]
    if part.tag and part.kind != "block valve":
        lines.append(part.kind)
    if part.secured:
        lines.append("not secured" if part.secured == "no" else part.secured)
    if part.interlock:
        lines.append(harmless(part.interlock, 18))
    if part.position == "closed" and not (part.secured or "").endswith(" closed"):
        lines.append("closed")
    if part.kind in BORED and part.inside_diameter is not None:
        lines.append(f"bore {shown('diameter', part.inside_diameter)}")
    if part.kind == "rupture disk" and part.telltale is not None:
        lines.append("telltale" if part.telltale else "no telltale")
    return lines


def _check_valve(s, x, y, forward):
    if forward:
        d.check_valve(s, x, y, upright=True)
    else:
        d._bow_tie(s, x, y, 3.0, True, (INK, "white"))


def _pipe(s, x, y):
    """A nozzle, a pipe: a pair of flanges."""
    for dy in (-0.5, 0.5):
        s.line([(x - 2.2, y + dy), (x + 2.2, y + dy)], z=4, linewidth=d.THIN)


def _reducer(s, x, y):
    corners = [(x - 3.0, y - 2.0), (x + 3.0, y - 2.0), (x + 1.6, y + 2.0), (x - 1.6, y + 2.0)]
    s.patch(Polygon(corners), width=d.THIN, z=4)


def _exchanger(s, x, y):
    s.patch(Rectangle((x - 3.6, y - 3.6), 7.2, 7.2), width=d.THIN, z=4)
    zigzag = [(-3.6, -3.6), (-0.5, 0.4), (0.5, -0.4), (3.6, 3.6)]
    s.line([(x + u, y + v) for u, v in zigzag], z=4.2, linewidth=d.THIN)


def _sieve(s, x, y):
    """A strainer, a demister, an arrester, a packing: a box with a dashed layer."""
    s.patch(Rectangle((x - 3.2, y - 2.8), 6.4, 5.6), width=d.THIN, z=4)
    for dy in (-1.0, 1.0):
        s.line([(x - 3.2, y + dy), (x + 3.2, y + dy)], z=4.2, linewidth=d.THIN,
               linestyle=(0, (2, 1.2)))  # fmt: skip


_OTHER = {"reducer": _reducer, "exchanger": _exchanger, "strainer": _sieve, "demister": _sieve,
          "flame arrester": _sieve, "packing": _sieve}  # fmt: skip


def _device(s, x, y, kind):
    """The relief device itself, its inlet below."""
    if kind == "disk":
        d.rupture_disk(s, x, y)
        return
    d.relief_valve(s, x, y, _VALVE)
    if kind == "pilot":
        s.patch(Rectangle((x - 2.2, y + 6.0), 4.4, 4.4), width=d.THIN, z=5)
        _label(s, x, y + 8.2, "P", ha="center")


def _drain(s, x, y):
    s.line([(x, y), (x, y - 5.5)], linewidth=d.THIN)
    d.block_valve(s, x, y - 3.2, upright=True, size=1.6)
    _label(s, x + 2.4, y - 4.2, "drain")


def _end(s, plan):
    """Where the way ends: a header, an item or the open air."""
    x, y, placed = plan.out, plan.end, plan.placed
    if placed.discharge_direction is None:
        d.pipe(s, (x, y), (x + 12.0, y), relief=True)
        name = f"TO {placed.destination}" if placed.destination else "end not given"
        d.flag(s, x + 12.0, y, harmless(name, 24))
        if words := _into(placed):
            _label(s, x + 12.0, y + 4.2, "\n".join(words), va="bottom")
        return
    away = {"up": (0.0, 6.0), "sideways": (12.0, 0.0), "down": (12.0, 0.0)}
    dx, dy = away[placed.discharge_direction]
    points = [(x, y), (x + dx, y + dy)]
    if placed.discharge_direction == "down":
        points.append((x + dx, y - 6.0))
    d.pipe(s, *points, relief=True)
    _label(
        s, x + dx + 3.0, y + 2.0, f"TO {placed.destination}, open end, {placed.discharge_direction}"
    )


def _into(placed):
    """How an outlet comes to its header, in short lines."""
    enters, h = placed.enters_header, placed.height_above_header
    level = "" if h is None else "below" if h >= 0 else "above"
    drains = {True: "falls to it, no pocket", False: "with a low point"}
    lines = [f"enters {enters}" if enters else "",
             f"header {shown('length', abs(h))} {level} the valve" if level else "",
             drains.get(placed.outlet_drains_away, "")]  # fmt: skip
    return [line for line in lines if line]


# --- words and marks ----------------------------------------------------------------------------


def _words(s, plan):
    """The note beside the valve, the facts and the words of the marks below the drawing."""
    x, y = plan.note_left, plan.note_top
    text = _label(s, x, y, "\n".join(plan.beside), NOTE_TEXT, va="top", linespacing=1.25)
    text.set_bbox({"facecolor": "white", "edgecolor": INK, "linewidth": 0.8, "pad": 3.0})
    at = plan.item - plan.deep
    for lines in (plan.facts, plan.words):
        if lines:
            _label(s, 3.0, at, "\n".join(lines), va="top", linespacing=1.2)
            at -= LINE * (len(lines) + 0.9)


def _marks(s, plan):
    """A numbered square left of what each mark speaks of; of the whole, beside the item."""
    there = {}
    for mark in plan.marks:
        for place in mark.places or (("whole", None, 0),):
            there.setdefault(place, []).append(mark.number)
    for place, numbers in there.items():
        whole = place[0] == "whole"
        x, y = (6.0, plan.item) if whole else plan.at(*place)
        off = 0.0 if whole else -9.0 if place[0] == "valve" else -7.5
        first = 0 if whole else len(numbers) - 1  # they read from left to right
        for i, number in enumerate(numbers):
            _square(s, x + off + 5.4 * (i - first), y, number)


def _square(s, x, y, number):
    s.patch(Rectangle((x - 2.3, y - 2.3), 4.6, 4.6), z=7).set(edgecolor=VERMILLION,
                                                                  linewidth=2.2)  # fmt: skip
    _label(s, x, y - 0.1, str(number), ha="center", weight="bold", zorder=8)


def _alt(placed, lines, kind, marks):
    """Everything that the drawing shows, in words."""
    start = f"P&ID detail of {placed.tag}, which protects {placed.protects}"
    on = "" if placed.tapped_on == placed.protects else f", standing on {placed.tapped_on}"
    duty = f"{placed.duty} in duty" + (f", {placed.spare} spare" if placed.spare else "")
    parts = [f"{start}{on}: {_DEVICE[kind]}, {duty}."]
    parts.append(f"From {placed.tapped_on}: {_listed(placed.inlet)}.")
    for v, name in enumerate(placed.names):
        ways = _listed((*placed.valve_inlets[v], None, *placed.valve_outlets[v]), name)
        parts.append(f"{'Spare' if v >= placed.duty else 'Duty'}: {ways}.")
    parts.append(f"Then {_listed(placed.outlet)}, to {placed.destination or 'an end not given'}.")
    facts = _facts(placed)
    parts += [f"As it stands: {'; '.join(facts) or 'not given'}. {LEVELS}"]
    parts.append(f"Note: {'; '.join(lines)}.")
    parts += [f"Mark {mark.number}: {mark.words}." for mark in marks]
    return clean(" ".join(parts))


def _listed(parts, name=""):
    words = [name if p is None else ", ".join([p.kind, *(w for w in _said(p) if w != p.kind)])
             for p in parts]  # fmt: skip
    return "; ".join(words) or "no part"
