"""Pictures of 42: the way of a device from its item to its end, all ways of a plant, what closes.

Along a way each part has its symbol. What a check faults, or what alone leaves an item without its
valves, carries a number in a ring and the words below or beside: never a colour alone.
"""

from textwrap import wrap

from matplotlib.patches import Circle, Polygon, Rectangle

from relieflib.notebook import sketch as d
from relieflib.position.placement import PLUGS
from relieflib.report.figures import INK, SMALL, TINY, VERMILLION
from relieflib.report.sketch import control_valve
from relieflib.symbols import shown

BLUE = "#0072B2"
_STEP, _APART = 17.0, 14.0


def _symbol(s, part, x, y):
    """One part of a way, its tag above, how it is secured below."""
    closed = part.position == "closed"
    if part.kind in ("block valve", "three-way valve"):
        d.block_valve(s, x, y, closed=closed, size=2.6)
        if part.kind == "three-way valve":
            s.patch(Polygon([(x, y), (x - 1.6, y - 3.2), (x + 1.6, y - 3.2)]), width=0.8, z=4)
    elif part.kind == "control valve":
        control_valve(s, x, y, size=2.2)
    elif part.kind == "check valve":
        d.check_valve(s, x, y, size=2.6)
    elif part.kind == "rupture disk":
        _disk(s, x, y)
    elif part.what_happens == PLUGS:
        s.patch(Rectangle((x - 3, y - 3), 6, 6), width=0.9, z=4)
        for u in (-1.5, 0.0, 1.5):
            s.line([(x + u, y - 3), (x + u, y + 3)], z=4.2, linewidth=0.7, linestyle="--")
    elif part.kind == "exchanger":
        s.patch(Circle((x, y), 3.2), width=0.9, z=4)
    else:
        return
    s.label(x, y + 4.4, part.tag, TINY, va="bottom")


def _disk(s, x, y):
    """Rupture disk across a way that runs to the right, bulging that way."""
    for u in (-1.2, 1.2):
        s.line([(x + u, y - 3), (x + u, y + 3)], z=4)
    s.line([(x - 1.2, y - 2.6), (x + 0.4, y - 1.2), (x + 0.9, y), (x + 0.4, y + 1.2),
            (x - 1.2, y + 2.6)], z=4, linewidth=0.9)  # fmt: skip


def _shut_words(part):
    if part.position == "closed":
        return "closed"
    short = {"locked open": "LO", "car sealed open": "CSO", "interlocked": "key", "no": "no lock"}
    return short.get(part.secured, "")


def _mark(s, x, y, number):
    s.patch(Circle((x, y), 2.5), width=1.1, z=5).set_edgecolor(VERMILLION)
    s.label(x, y - 0.1, str(number), TINY, color=VERMILLION, weight="bold")


def _shown(way):
    """Parts of a way that have a symbol, with their place in it."""
    return [(i, part) for i, part in enumerate(way) if part.kind not in ("nozzle", "pipe",
                                                                         "reducer")]  # fmt: skip


def _row(s, p, x, y, marks, disk=False, width=4):
    """One way of a placement: item, parts, valve, parts, end. Returns where each place stands."""
    at = {("inlet", None, 0): (x, y)}
    item = p.tapped_on if p.tapped_on == p.protects else f"{p.tapped_on} ({p.protects})"
    s.patch(Rectangle((x - 12, y - 4), 24, 8), width=1.1)
    s.label(x, y, item, TINY, weight="bold")
    rows = (
        [y] if p.valves == 1 else [y + _APART * (0.5 * (p.valves - 1) - v) for v in range(p.valves)]
    )
    x += 12
    for v, here in enumerate(rows):
        at |= _branch(s, p, v, x, y, here, width, disk)
    taken = {}
    for number, places in marks.items():
        for place in [q for q in places if q in at][:1]:
            u, w = at[place]
            part = dict(p.places).get(place)  # None for the valve itself, or the end
            clear = 9.6 if part and len(_shut_words(part)) > 3 else 7.5
            _mark(s, u + clear + 5.6 * taken.get(place, 0), w - 5.6, number)
            taken[place] = taken.get(place, 0) + 1
    return at


def _branch(s, p, v, x, y, here, width, disk):
    """The way of one valve, from its item's edge to the end."""
    at, valve, end = {}, x + (width + 0.7) * _STEP, x + 2 * (width + 0.7) * _STEP
    style = {"linewidth": 1.1} if v < p.duty else {"linewidth": 1.0, "linestyle": (0, (4, 2))}
    split, join = x + 1.7 * _STEP, end - 1.7 * _STEP
    shared = [(x, y), (split, y)], [(join, y), (end, y)]
    for points in ([(split, y), (split, here), (join, here), (join, y)], *(() if v else shared)):
        s.line(points, **(style if len(points) > 2 else {"linewidth": 1.1}))
    for side, own, start, way in (("inlet", None, x, p.inlet),
                                  ("valve inlet", v, split, p.valve_inlets[v]),
                                  ("valve outlet", v, valve, p.valve_outlets[v]),
                                  ("outlet", None, join - 0.4 * _STEP, p.outlet)):  # fmt: skip
        level = y if own is None and p.valves > 1 else here
        if own is None and v:
            continue
        if side == "outlet" and p.valves == 1:
            start = valve
        for k, (i, part) in enumerate(_shown(way)):
            u = start + (k + 1) * 0.9 * _STEP
            _symbol(s, part, u, level)
            s.label(u, level - 3.6, _shut_words(part), TINY - 0.5, va="top", color="#444444")
            at[side, own, i] = (u, level)
    if disk:
        _disk(s, valve, here)
    else:
        d.relief_valve(s, valve, here, size=2.3)
    s.label(valve, here - 3.0, p.names[v], TINY, va="top", weight="bold")
    if not v:
        d.flag(s, end, y, p.destination, width=15, size=TINY)
        at["end", None, 0] = (end + 7, y)
        at["outlet", None, 0] = at.get(("outlet", None, 0), (end - 0.8 * _STEP, y))
    above = (valve - 10.3, here + 13.4)  # marks of the valve itself stand over it
    return at | ({("valve", None, 0): above} if not v else {})


def way_sketch(case, checks=()):
    """The way of one device with what its checks fault, numbered, and the words below.

    Parameters: case, a `position.checks.Case`; checks, its list of `Check`, none to mark none.
    Returns `Sketch`. Source: symbols of ISO 10628-2 and ISA-5.1; the layout is ours.
    """
    bad, placement = [c for c in checks if c.verdict == "differs"], case.placement
    high = 24 + _APART * (placement.valves - 1)
    s = d.Sketch(216, high + 7 * max(len(bad), bool(checks)) + 3, "", scale=26.0)
    base = 7 * max(len(bad), bool(checks)) + 3
    marks = {i + 1: c.places for i, c in enumerate(bad)}
    _row(s, placement, 18, base + 0.5 * high, marks, case.kind == "disk")
    lines = [f"{i + 1}  {c.name}: {_cut(c.reason)}" for i, c in enumerate(bad)]
    for i, text in enumerate(lines or checks and ["No check differs."]):
        s.label(4, base - 3 - 7 * i, text, SMALL, ha="left")
    parts = ", ".join(str(part) for part in placement.parts)
    s.alt = (
        f"Way of {placement.tag} from {placement.tapped_on} to {placement.destination}: {parts}. "
        + (". ".join(lines))
    )
    return s


PLACE = (7.2, 3.6)  # inches, of the picture of a panel
_WIDE, _HIGH = 216, 108


class _Onto(d.Sketch):
    """A sketch that is drawn onto axes that are there."""

    def __init__(self, ax, width, height):
        self.ax, self.width, self.height, self.texts = ax, width, height, []
        ax.set(xlim=(0, width), ylim=(0, height), aspect="equal")
        ax.set_axis_off()


def build_place(figure, result, unit_set="SI"):
    """The way of one valve with what its checks fault below, for a panel.

    Parameters: figure, empty; result with case, checks and most, how many are written below.
    Returns the artists.
    """
    letters = int(figure.get_figwidth() * 72 / (0.56 * SMALL))  # that a line has room for
    artists = {"ax": figure.add_axes((0, 0, 1, 1)), "letters": letters}
    update_place(artists, result, unit_set)
    return artists


def update_place(artists, result, unit_set="SI"):
    """Draw the way anew; returns the alt text."""
    case, bad = result["case"], [c for c in result["checks"] if c.verdict == "differs"]
    artists["ax"].clear()
    s = _Onto(artists["ax"], _WIDE, _HIGH)
    told = bad[: result["most"]]
    marks = {i + 1: c.places for i, c in enumerate(told)}
    _row(s, case.placement, 18, _HIGH - 20, marks)
    lines = [f"{i + 1}  {c.name}: {_cut(c.reason, 90)}" for i, c in enumerate(told)]
    if len(bad) > len(told):
        lines.append(f"and {len(bad) - len(told)} more")
    y = _HIGH - 46
    for text in lines or ["No check differs."]:
        for line in wrap(text, artists["letters"], subsequent_indent="    "):
            s.label(4, y, line, SMALL, ha="left")
            y -= 6.5
        y -= 1.5
    parts = ", ".join(str(part) for part in case.placement.parts)
    start, end = case.placement.tapped_on, case.placement.destination
    return f"Way of {case.placement.tag} from {start} to {end}: {parts}. " + ". ".join(lines)


def _cut(text, longest=120):
    return text if len(text) <= longest else text[: text.rfind(" ", 0, longest)] + " ..."


def isolation_map(plant, network, found=None):
    """Every way of a plant, with each part that alone leaves an item without its valves.

    A ring with a number: nothing holds it open. LO, CSO: held by a lock or a seal, and still able
    to close. Parameters: plant; network, its `isolation.Network`; found, its `Isolation`,
    None to mark none. Returns `Sketch`. Source: as `way_sketch`.
    """
    cuts = found.loose if found else ()
    loose = list(dict.fromkeys((c.owner, c.place, c.name) for c in cuts))
    number = {key: i + 1 for i, key in enumerate(loose)}
    heights = [15 + _APART * (p.valves - 1) for p in network.placements]
    ways = [c for c in network.connections if any(part.what_happens for part in c.parts)]
    s = d.Sketch(216, sum(heights) + 15 * len(ways) + 18, "", scale=26.0)
    y = s.height - 6
    for p, high in zip(network.placements, heights):
        marks = {n: (place,) for (owner, place, _), n in number.items() if owner == p.tag}
        _row(s, p, 18, y - 0.5 * high, marks, plant[p.tag].section == "rupture_disks")
        y -= high
    for c in ways:
        _between(s, c, y - 8, {place[2]: n for (o, place, _), n in number.items() if o == c.tag})
        y -= 15
    words = "; ".join(f"{n} {name}" for (_, _, name), n in number.items())
    said = f"Nothing holds open or clean: {words}. " if found else ""
    s.label(4, 4, f"{said}LO, CSO: held by lock or seal. key: interlock.", SMALL, ha="left")
    s.alt = f"Ways of {len(network.placements)} relief devices from their items to their ends. "
    if found:
        s.alt += (f"{len(number)} parts that nothing holds open or clean leave an item without "
                  f"valves: {'; '.join(c.words for c in cuts)}.")  # fmt: skip
    return s


def _between(s, connection, y, marks):
    """An open way between two items, in a row of its own."""
    for x, name in ((18, connection.start), (114, connection.end)):
        s.patch(Rectangle((x - 12, y - 4), 24, 8), width=1.1)
        s.label(x, y, name, TINY, weight="bold")
    s.line([(30, y), (102, y)])
    for i, part in _shown(connection.parts):
        x = 48 + i * _STEP
        _symbol(s, part, x, y)
        s.label(x, y - 3.6, _shut_words(part), TINY - 0.5, va="top", color="#444444")
        if i in marks:
            _mark(s, x + 7.5, y - 5.6, marks[i])
    s.label(130, y, "open way, no device of its own", TINY, ha="left")


# --- what stays protected -----------------------------------------------------------------------


def build_left(figure, result, unit_set="SI"):
    """One row an item: how many of its valves are left with one part closed.

    Parameters: figure, empty; result with before and after, {item: tags of valves}, sets, {tag of a
    valve: set pressure [Pa gauge]}, and unprotected items. Returns the artists.
    """
    ax = figure.add_axes((0.17, 0.09, 0.80, 0.84))
    items = list(result["before"])
    ax.set(xlim=(-0.2, 6.0), ylim=(len(items) - 0.4, -0.8))
    ax.axis("off")
    a = {"marks": [], "words": [], "items": items}
    for i, item in enumerate(items):
        ax.text(-0.15, i, item, ha="right", va="center", fontsize=8.5, color=INK)
        ax.axhline(i + 0.5, color="#E5E5E5", lw=0.6)
        a["marks"].append(ax.plot([0.05], [i], ls="none", ms=8)[0])
        a["words"].append(ax.text(0.25, i, "", va="center", fontsize=8.5, color=INK))
    a["title"] = figure.text(0.02, 0.985, "", va="top", fontsize=10, color=INK)
    update_left(a, result, unit_set)
    return a


def update_left(artists, result, unit_set="SI"):
    """Move what `build_left` made; returns the alt text."""
    said = []
    for i, item in enumerate(artists["items"]):
        before, after = result["before"][item], result["after"][item]
        lost = len(after) < len(before)
        if item in result["unprotected"]:
            mark, color, words = "s", "#999999", "needs none, the file says why"
        elif lost:
            mark, color = "X", VERMILLION
            words = "no valve left" if not after else f"left: {_with_sets(after, result, unit_set)}"
            said.append(f"{item}: {words}")
        elif not after:
            mark, color, words = "X", VERMILLION, "nothing protects it as drawn"
        else:
            mark, color, words = "^", BLUE, _with_sets(after, result, unit_set)
        artists["marks"][i].set(marker=mark, color=color)
        artists["words"][i].set(text=words, weight="bold" if lost else "normal")
    title = f"Closed or plugged: {result['closed']}"
    artists["title"].set_text(title)
    return f"{title}. " + ("; ".join(said) or "every item keeps its valves") + "."


def _with_sets(tags, result, unit_set):
    sets = result["sets"]
    return ", ".join(f"{t} at {shown('set_pressure_gauge', sets[t], unit_set)}" for t in tags)


def sets_of(plant, network):
    """Set or burst pressure of every valve of a network [Pa gauge]: {tag with its letter: value}.

    Parameters: plant; network, its `isolation.Network`. Returns dict. Source: the plant's file.
    """
    found = {}
    for p in network.placements:
        item = plant[p.tag]
        name = "burst_pressure_gauge" if item.section == "rupture_disks" else "set_pressure_gauge"
        found |= dict.fromkeys(p.names, getattr(item, name))
    return found


def build_choice(figure, result, unit_set="SI"):
    """Area of each valve on duty, stacked, beside what the largest and the smallest event need.

    Parameters: figure, empty; result with areas of the valves on duty and of a spare, largest and
    smallest [m2], opened by the smallest. Returns the artists.
    """
    ax = figure.add_axes((0.12, 0.14, 0.84, 0.78))
    ax.spines[["top", "right"]].set_visible(False)
    ax.set_xticks(
        [0, 1, 2], ["all on duty", "what the smallest\nevent opens", "spare, not counted"]
    )
    ax.set_ylabel("area, mm²")
    ax.set_xlim(-0.6, 2.6)
    a = {"ax": ax, "bars": [], "letters": []}
    for x in (0, 1, 2):
        for _ in range(3):
            bar = ax.bar([x], [1.0], 0.5, edgecolor=INK, lw=0.9, color="#BFD9EC")[0]
            if x == 2:
                bar.set(hatch="//", facecolor="white")
            a["bars"].append(bar)
            a["letters"].append(ax.text(x, 0, "", ha="center", va="center", fontsize=9, color=INK))
    a["largest"] = ax.axhline(1.0, color=VERMILLION, ls="--", lw=1.5)
    a["smallest"] = ax.axhline(1.0, color=BLUE, ls=":", lw=1.8)
    box = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
    for name, color in (("largest", VERMILLION), ("smallest", BLUE)):
        a[f"{name} words"] = ax.annotate(
            "", (2.6, 0), xytext=(0, 3), textcoords="offset points", ha="right", va="bottom",
            fontsize=8.5, color=color, bbox=box,
        )  # fmt: skip
    update_choice(a, result, unit_set)
    return a


def update_choice(artists, result, unit_set="SI"):
    """Move what `build_choice` made; returns the alt text."""
    choice, letters = result["choice"], result["choice"].arrangement.duty
    stacks = (letters, letters[: result["opened"]], choice.arrangement.spare)
    for k, stack in enumerate(stacks):
        floor = 0.0
        for i in range(3):
            bar, text = artists["bars"][3 * k + i], artists["letters"][3 * k + i]
            on = i < len(stack)
            bar.set_visible(on)
            text.set_visible(on)
            if on:
                area = result["area_of"](stack[i]) * 1e6
                bar.set(y=floor, height=area)
                text.set(y=floor + 0.5 * area, text=stack[i])
                floor += area
    for name in ("largest", "smallest"):
        value = result[name] * 1e6
        artists[name].set_ydata([value, value])
        words = artists[f"{name} words"]
        words.xy = (2.6, value)
        words.set_text(f"{name} event {value:.0f} mm²")
    artists["ax"].set_ylim(0, 1.12e6 * max(choice.arrangement.area, result["largest"]))
    share = f"{result['share']:.0%}"
    area = f"{choice.arrangement.area * 1e6:.0f} mm2"
    names = " + ".join(letters)
    return (f"Valves on duty {names}, {area}, for the largest event; the smallest uses {share} of "
            "what it opens.")  # fmt: skip
