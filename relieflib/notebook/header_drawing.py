"""The tree of a flare header, drawn: valves to the left, the tip to the right.

Each pipe's colour, width and line style tell its Mach number in one event; beside each valve its
back pressure and what its kind takes.
"""

import numpy as np

from relieflib.report.figures import INK
from relieflib.symbols import shown

GREY = "#999999"
# from a Mach number on: colour (Okabe-Ito), width, line style, words
CLASSES = (
    (0.0, "#0072B2", 1.8, "-", "below Ma 0.3"),
    (0.3, "#009E73", 2.4, (0, (6, 2)), "Ma 0.3 to 0.5"),
    (0.5, "#E69F00", 3.0, (0, (3, 1.5, 1, 1.5)), "Ma 0.5 to 0.8"),
    (0.8, "#D55E00", 3.8, (0, (1, 1)), "above Ma 0.8, or choked"),
)
KEY = (
    "Beside a valve: its back pressure, of what its kind takes.\n"
    "\u25b2 holds   \u2716 does not   \u25cf shut   ? not known"
)
_EMPTY = (GREY, 1.0, (0, (1, 3)))


def places(tree):
    """Where each pipe starts and ends in a drawing: {tag: ((x, y), (x, y))}, x against the flow.

    Valves stand one below the other in the order of their pipes; a pipe that others flow into
    lies between them. Parameters: tree, a `header.Tree`.
    """
    depth = {p.tag: len(tree.way(p.tag)) for p in tree.pipes}
    feeds = {p.tag: [q.tag for q in tree.pipes if q.to == p.tag] for p in tree.pipes}
    order, y = [], {}

    def visit(tag):
        for feed in feeds[tag]:
            visit(feed)
        if not feeds[tag]:
            y[tag] = -float(len(order))
            order.append(tag)
        else:
            y[tag] = float(np.mean([y[feed] for feed in feeds[tag]]))

    visit(next(p.tag for p in tree.pipes if p.to is None))
    deepest = max(depth.values())
    start = {t: 0.0 if not feeds[t] else deepest - depth[t] for t in depth}
    return {
        p.tag: ((start[p.tag], y[p.tag]),
                (deepest - depth[p.tag] + 1.0, y[p.to] if p.to else y[p.tag]))
        for p in tree.pipes
    }  # fmt: skip


def mach_class(mach, flow):
    """Index of `CLASSES` of a Mach number; None where nothing flows."""
    if not flow > 0:
        return None
    return max(i for i, row in enumerate(CLASSES) if mach >= row[0])


def build_tree(figure, result, unit_set="SI"):
    """The artists of the drawn tree of a result, which holds a `header.Faced` as 'faced'."""
    tree = result["faced"].network.tree
    axes, at = figure.add_axes((0.01, 0.1, 0.98, 0.81)), places(tree)
    lines, words = {}, {}
    for pipe in tree.pipes:
        (x0, y0), (x1, y1) = at[pipe.tag]
        # flow along, then down or up into what it joins
        lines[pipe.tag] = axes.plot([x0, x1, x1], [y0, y0, y1], solid_capstyle="butt")[0]
        if pipe.vessel:
            axes.plot((x0 + x1) / 2, y0, marker="s", ms=17, mfc="white", mec=INK, zorder=3)
        if pipe.tag not in tree.valves:
            above = y0 + (0.42 if pipe.vessel else 0.3)
            words[pipe.tag] = axes.text((x0 + x1) / 2, above, "", ha="center", va="bottom",
                                        fontsize=7.5, color=INK, linespacing=1.15)  # fmt: skip
    valves = {
        v: axes.text(at[tag][0][0] - 0.14, at[tag][0][1], "", ha="right", va="center", fontsize=8,
                     color=INK)
        for v, tag in tree.valves.items()
    }  # fmt: skip
    marks = {v: axes.plot(*at[tag][0], ls="none", color=INK, ms=7, zorder=4)[0]
             for v, tag in tree.valves.items()}  # fmt: skip
    end = at[next(p.tag for p in tree.pipes if p.to is None)][1]
    axes.plot(*end, marker=(3, 0, 0), ms=11, mfc="white", mec=INK, zorder=4)
    axes.text(end[0] + 0.14, end[1], "air", va="center", fontsize=8)
    axes.set(xlim=(-2.2, end[0] + 0.35), ylim=(-len(tree.valves) + 0.4, 0.9))
    axes.axis("off")
    for _, colour, width, style, label in CLASSES:
        axes.plot([], [], color=colour, lw=width, ls=style, label=label)
    axes.plot([], [], color=GREY, lw=1, ls=_EMPTY[2], label="nothing flows")
    axes.legend(loc="lower right", fontsize=7, frameon=False, handlelength=3.2)
    title = figure.text(0.01, 0.985, "", va="top", fontsize=9.5, color=INK)
    figure.text(0.01, 0.02, KEY, va="bottom", fontsize=7.5, color=INK, linespacing=1.3)
    return {"lines": lines, "words": words, "valves": valves, "marks": marks, "title": title}


def update_tree(artists, result, unit_set="SI"):
    """Move the artists to one event; returns the alt text."""
    faced, event = result["faced"], result["event"]
    net, said = faced.network, []
    e = net.at(event)
    for tag, line in artists["lines"].items():
        kind = mach_class(net.mach[tag][e], net.mass_flow[tag][e])
        colour, width, style = _EMPTY if kind is None else CLASSES[kind][1:4]
        line.set(color=colour, linewidth=width, linestyle=style)
        if tag in artists["words"]:
            text = _pipe_words(net, tag, e, result, unit_set)
            artists["words"][tag].set_text(text)
            said.append(text.replace("\n", ", "))
    for valve, text in artists["valves"].items():
        words, mark = _valve_words(faced, valve, event, unit_set)
        text.set_text(words)
        artists["marks"][valve].set_marker(mark)
        if (valve, event) in faced.facings:
            said.append(words)
    artists["title"].set_text(event)
    return f"Tree of the flare header in the event {event}. " + "; ".join(said) + "."


def _pipe_words(net, tag, e, result, unit_set):
    if not net.mass_flow[tag][e] > 0:
        return tag
    gauge = net.inlet_pressure[tag][e] - result["atmosphere"]
    beyond = net.mach[tag][e] > result["mach_limit"]
    mark = " > limit" if beyond else ""
    speed = "" if net.tree[tag].vessel else f", Ma {net.mach[tag][e]:.2f}"
    return f"{tag}{speed}{mark}\n{shown('pressure_gauge', gauge, unit_set, 3)}"


def _valve_words(faced, valve, event, unit_set):
    """What stands beside a valve, and its marker: a circle shut, a triangle good, an x not."""
    if (valve, event) not in faced.facings:
        return f"{valve}, shut", "o"
    f = faced.facings[valve, event]
    mark = {True: "^", False: "X", None: "$?$"}[f.holds]
    if f.check is None or np.isnan(f.check.limit):
        return valve, mark
    value, limit = (shown("built_up", x, unit_set, 3) for x in (f.check.value, f.check.limit))
    late = ", late" if f.opens is not None and f.opens.holds is False else ""
    return f"{valve} {value} of {limit}{late}", mark
