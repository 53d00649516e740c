"""A plain sketch of one item of a plant: what leads to it, what leaves it, what relieves it."""

from matplotlib.patches import Polygon

from relieflib.report import sketch as d
from relieflib.report.figures import SMALL, TINY, VERMILLION
from relieflib.symbols import shown
from relieflib.texts import figure_text, harmless

MOST = 3  # lines on a side, and devices on top, that are drawn; more are counted
_X, _Y, _WIDE = 84.0, 38.0, 190.0  # middle of the item, width of the drawing
_RISER, _OUT, _FLAG = 104.0, 107.4, 148.0
_PALE = {"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
_ABOVE, _EACH, _FIRST = 12.0, 17.0, 80.0  # of a device over another, and of the first one


def item_sketch(plant, tag, valves=(), fire=False):
    """The sketch of one item.

    Parameters: plant; tag, of an item or of what has cases alone; valves, `safeguard.Valve` that
    protect it; fire, True where a fire is among its causes. Returns `Sketch`. Source: symbols of
    ISO 10628-2 and ISA-5.1.
    """
    item, drawn = plant.items.get(tag), valves[:MOST]
    into, out = _ways(plant, tag)
    alt = _alt(tag, item, valves, into, out, fire)
    s = d.Sketch(_WIDE, _FIRST + _EACH * max(len(drawn), 1) - 4, alt)
    top, half = _equipment(s, item)
    s.label(_X, _Y + 4.0, _text(tag, 12), SMALL, weight="bold", bbox=_PALE)
    if hasattr(item, "mawp_gauge"):
        s.label(_X, _Y - 1.5, shown("mawp_gauge", item.mawp_gauge), TINY, bbox=_PALE)
    for words, at in zip(_few(into), _heights(into)):
        d.pipe(s, (12, at), (_X - half, at))
        s.label(14, at + 3.2, words, TINY, ha="left")
    for words, at in zip(_few(out), _heights(out)):
        d.pipe(s, (_X + half, at), (_WIDE - 14, at))
        s.label(_X + 24, at + 3.2, words, TINY, ha="left")
    if fire:
        _flames(s)
    for i, valve in enumerate(drawn):
        _device(s, valve, top, _FIRST + _EACH * i)
    vents = [one.tag for one in plant.protecting(tag) if one.section == "tank_vents"]
    words = [f"and {len(valves) - MOST} devices more"] if len(valves) > MOST else []
    words += [f"vents {', '.join(vents)}"] if vents else []
    words += ["no relief device is given"] if not valves and not vents else []
    for i, one in enumerate(words):
        s.label(14, s.height - 5 - 5 * i, _text(one, 60), TINY, ha="left")
    return s


def _text(words, longest=34):
    return figure_text(harmless(words, longest))


def _few(ways):
    texts = [_text(words) for words in ways[:MOST]]
    if len(ways) > MOST:
        texts[-1] = f"{texts[-1]}, and {len(ways) - MOST} more"
    return texts


def _heights(ways):
    count = min(len(ways), MOST)
    return [_Y + 11.0 * (0.5 * (count - 1) - i) for i in range(count)]


def _ways(plant, tag):
    """What leads to an item and what leaves it, in words; empty for what the file doesn't say."""
    into, out = [], []
    for section, to, of in (("control_valves", "downstream", "upstream"),
                            ("pumps", "discharge", "suction"), ("streams", "to", "origin"),
                            ("sources", "host", ""), ("ingress", "host", "")):  # fmt: skip
        for one in plant.of(section) if section not in ("streams",) else plant.streams.values():
            name = getattr(one, "tag", "") if section != "streams" else f"{one.service}"
            if getattr(one, to, None) == tag:
                into.append(name)
            if of and getattr(one, of, None) == tag:
                out.append(name)
    return list(dict.fromkeys(into)), list(dict.fromkeys(out))


def _equipment(s, item):
    """Draw the item; returns the height of its top and half its width."""
    section = getattr(item, "section", "equipment")
    level = getattr(item, "normal_level", 0.0)
    if section == "columns":
        d.column(s, _X, _Y, 24, 54, 6, level=_Y - 21)
        return _Y + 27, 12
    if section == "reactors":
        d.reactor(s, _X, _Y, 30, 38, level=_Y - 5)
        return _Y + 19, 15
    if section == "tanks":
        d.tank(s, _X, _Y - 18, 44, 32, level=_Y - 5)
        return _Y + 18.8, 22
    if section == "exchangers":
        d.exchanger(s, _X, _Y, 40, 22)
        return _Y + 11, 20
    if section == "lines":
        d.pipe(s, (_X - 28, _Y - 8), (_X + 28, _Y - 8), arrow=False)
        for x in (_X - 24, _X + 24):
            d.block_valve(s, x, _Y - 8, closed=True)
        return _Y - 8, 28
    if getattr(item, "orientation", "vertical") == "horizontal":
        d.horizontal_vessel(s, _X, _Y, 40, 24, level=_Y - 6 if level else None)
        return _Y + 12, 20
    d.vertical_vessel(s, _X, _Y, 30, 48, level=_Y - 12 if level else None)
    return _Y + 24, 15


def _device(s, valve, top, y):
    """A valve or disk over the item at height y, with its words and where it leads."""
    bend = y - _ABOVE
    d.pipe(s, (_X, top), (_X, bend), (_RISER, bend), (_RISER, y - 3.4), arrow=False, relief=True)
    if valve.kind == "disk":
        d.rupture_disk(s, _RISER, y - 2)
        d.pipe(s, (_RISER, y - 0.5), (_RISER, y + 3), (_FLAG, y + 3), relief=True)
    else:
        d.relief_valve(s, _RISER, y)
        d.pipe(s, (_OUT, y), (_FLAG, y), relief=True)
    level = y + 3 if valve.kind == "disk" else y
    d.flag(s, _FLAG, level, _text(valve.destination or "not given", 12), 30)
    s.label(_RISER - 6, y + 2.5, _text(valve.tag, 20), SMALL, ha="right", weight="bold")
    s.label(_RISER - 6, y - 3.0, _sets(valve), TINY, ha="right")
    s.label(_RISER + 9, y - 4.0, _text(valve.arrangement, 26), TINY, ha="left")


def _sets(valve):
    word = "bursts" if valve.kind == "disk" else "set"
    sets = " / ".join(shown("set_pressure_gauge", p) for p in dict.fromkeys(valve.sets[:2]))
    return f"{word} {sets}"


def _flames(s):
    shape = ((-1.6, 0), (-2.2, 3), (-0.5, 4.5), (0.2, 7.5), (2.0, 4), (1.6, 0))
    for x in (_X - 12, _X - 4, _X + 4, _X + 12):
        s.patch(Polygon([(x + u, 3.5 + v) for u, v in shape]), fill="#F7DCC3", width=d.THIN)
    s.label(_X + 19, 6.5, "fire", TINY, ha="left", color=VERMILLION)


def _alt(tag, item, valves, into, out, fire):
    """The sketch in words."""
    name = harmless(tag)
    service = getattr(item, "service", "") if item is not None else ""
    words = [f"Sketch. {name}" + (f", {harmless(service, 80)}" if service else "")]
    if into:
        words.append(f"to it lead {', '.join(harmless(w, 60) for w in into)}")
    if out:
        words.append(f"from it lead {', '.join(harmless(w, 60) for w in out)}")
    words.append("a fire burns below" if fire else "")
    words += [
        f"{harmless(v.tag)}, {v.arrangement}, {_sets(v)}, relieves it to "
        f"{harmless(v.destination) or 'a place that is not given'}"
        for v in valves
    ] or ["no relief valve or disk is given"]  # fmt: skip
    return "; ".join(filter(None, words)) + "."
