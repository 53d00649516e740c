"""Pictures of the safeguard matrix, and of one valve against one cause with all its reasons.

`build_...` makes the artists, `update_...` moves them, as in `figures`. A verdict is told by its
word, a sign and a hatch beside the colour.
"""

from textwrap import fill

from matplotlib.patches import Rectangle

from relieflib.errors import InputError
from relieflib.report.figures import (
    GREEN,
    GREY,
    INK,
    NORMAL,
    SMALL,
    TINY,
    VERMILLION,
    _get,
    display,
    new_figure,
)
from relieflib.report.sketch import (
    Sketch,
    block_valve,
    control_valve,
    flag,
    pipe,
    relief_valve,
    vertical_vessel,
)
from relieflib.safeguard import COVERS, FAILS, UNKNOWN

MOST_CAUSES, MOST_COLUMNS, SUBJECTS = 12, 5, 9
# verdict -> edge, face, hatch, sign
LOOKS = {
    COVERS: (GREEN, "#D9F0E8", "", "✓"),
    FAILS: (VERMILLION, "#FBE3D3", "///", "✗"),
    UNKNOWN: (GREY, "#F0F0F0", "..", "?"),
}
_HALO = {"facecolor": "white", "edgecolor": "none", "pad": 1.2, "alpha": 0.92}


def _axes(figure, left, bottom, width, height):
    ax = figure.add_axes((left, bottom, width, height))
    ax.set(xlim=(0, 1), ylim=(1, 0))
    ax.set_axis_off()
    return ax


def _cell(ax, fontsize, align="center"):
    box = ax.add_patch(Rectangle((0, 0), 1, 1, lw=1.2, zorder=2))
    text = ax.text(0, 0, "", ha=align, va="center", fontsize=fontsize, zorder=4, bbox=_HALO)
    return box, text


def _dress(box, verdict, x, y, width, height):
    edge, face, hatch, _ = LOOKS[verdict]
    box.set(x=x, y=y, width=width, height=height, edgecolor=edge, facecolor=face, hatch=hatch)


def build_matrix(figure, result, unit_set="SI"):
    """The safeguard matrix as a picture: causes down, valves and trips across, verdicts in cells.

    Parameters: figure, empty; result with `matrix`, a `safeguard.Matrix` of up to twelve causes and
    five valves and trips; unit_set, which changes nothing here. Returns the artists. Raises
    InputError for more.
    """
    ax = _axes(figure, 0.01, 0.02, 0.98, 0.96)
    a = {
        "ax": ax,
        "heads": [ax.text(0, 0, "", ha="center", va="bottom", fontsize=SMALL)
                  for _ in range(MOST_COLUMNS)],
        "names": [ax.text(0, 0, "", ha="right", va="center", fontsize=SMALL)
                  for _ in range(MOST_CAUSES)],
        "cells": [[_cell(ax, TINY) for _ in range(MOST_COLUMNS)] for _ in range(MOST_CAUSES)],
    }  # fmt: skip
    update_matrix(a, result, unit_set)
    return a


def update_matrix(artists, result, unit_set="SI"):
    """Fill the cells of `build_matrix`; returns the alt text."""
    table = _get(result, "matrix")
    rows, columns = len(table.causes), len(table.columns)
    if rows > MOST_CAUSES or columns > MOST_COLUMNS:
        raise InputError(
            f"matrix: this picture shows {MOST_CAUSES} causes and {MOST_COLUMNS} valves and trips"
        )
    left, top = 0.235, 0.68 / artists["ax"].figure.get_size_inches()[1]
    width, height = (1 - left) / columns, (1 - top) / rows
    for j, head in enumerate(artists["heads"]):
        head.set_visible(j < columns)
        if j < columns:
            one = table.columns[j]
            words = fill(one.tag, 88 // columns) + "\n" + one.arrangement
            head.set(text=words, x=left + (j + 0.5) * width, y=top - 0.015, weight="bold")
    said = []
    for i in range(MOST_CAUSES):
        name, shown = artists["names"][i], i < rows
        name.set_visible(shown)
        if shown:
            name.set(text=fill(table.causes[i], 26), x=left - 0.012, y=top + (i + 0.5) * height)
        for j, (box, text) in enumerate(artists["cells"][i]):
            seen = shown and j < columns
            box.set_visible(seen)
            text.set_visible(seen)
            if seen:
                tag = table.columns[j].tag
                found = table[table.causes[i], tag]
                at = left + j * width + 0.004, top + i * height + 0.006
                _dress(box, found.verdict, *at, width - 0.008, height - 0.012)
                middle = left + (j + 0.5) * width, top + (i + 0.5) * height
                text.set(text=_words(found, 104 // columns), x=middle[0], y=middle[1])
                said.append(f"{table.causes[i]}, {tag}: {found.cell}")
    return "Safeguard matrix. " + "; ".join(said) + "."


def _words(found, wide):
    first, _, against = found.cell.partition(" (")
    verdict, _, share = first.partition(", ")
    head = f"{LOOKS[found.verdict][3]} {verdict}" + (f", {share}" if share else "")
    return head + ("\n" + fill(against.rstrip(")"), wide) if against else "")


def show_matrix(table):
    """The picture of a matrix with its alt text, for the last line of a cell.

    Parameters: table, a `safeguard.Matrix`. Returns `figures.Display`.
    """
    figure = new_figure((9.2, 0.75 + 0.5 * len(table.causes)))
    artists = build_matrix(figure, {"matrix": table})
    return display(figure, update_matrix(artists, {"matrix": table}))


def build_cover(figure, result, unit_set="SI"):
    """One valve or trip against one cause: the verdict, then each thing it rests on, in numbers.

    Parameters: figure, empty; result with `cover`, a `safeguard.Cover`, or a `trips.Cover`;
    unit_set. Returns the artists.
    """
    ax = _axes(figure, 0.01, 0.02, 0.98, 0.96)
    a = {
        "ax": ax,
        "head": _cell(ax, 13.0),
        "rows": [(_cell(ax, SMALL), ax.text(0, 0, "", ha="left", va="center", fontsize=NORMAL),
                  ax.text(0, 0, "", ha="left", va="center", fontsize=SMALL, color=INK))
                 for _ in range(SUBJECTS)],
    }  # fmt: skip
    update_cover(a, result, unit_set)
    return a


def update_cover(artists, result, unit_set="SI"):
    """Fill the rows of `build_cover`; returns the alt text."""
    found = _get(result, "cover")
    box, text = artists["head"]
    _dress(box, found.verdict, 0.0, 0.0, 1.0, 0.13)
    one = found.judged
    words = f"{LOOKS[found.verdict][3]}  {one.tag}, {one.arrangement}: "
    text.set(text=words + found.cell.partition(" (")[0], x=0.5, y=0.065, weight="bold")
    wide = int(min(9.6 * artists["ax"].figure.get_figwidth(), 86))  # letters that fit in a line
    details = [fill(reason.said(unit_set), wide) for reason in found.reasons]
    lines = [max(2, 1 + words.count("\n")) for words in details]  # a long reason gets more room
    one_line = 0.85 / max(12, sum(lines))
    for i, ((box, word), subject, detail) in enumerate(artists["rows"]):
        shown = i < len(found.reasons)
        for artist in (box, word, subject, detail):
            artist.set_visible(shown)
        if shown:
            reason, step = found.reasons[i], lines[i] * one_line
            y = 0.155 + sum(lines[:i]) * one_line
            _dress(box, reason.verdict, 0.155, y, 0.17, step - 0.025)
            middle = y + 0.5 * (step - 0.025)
            word.set(text=f"{LOOKS[reason.verdict][3]} {reason.verdict}", x=0.24, y=middle)
            subject.set(text=reason.subject, x=0.0, y=middle, weight="bold")
            detail.set(text=details[i], x=0.34, y=middle)
    return (
        f"{one.tag}: {found.cell}. "
        + "; ".join(f"{r.subject}: {r.verdict}: {r.said(unit_set)}" for r in found.reasons)
        + "."
    )


def one_valve_sketch():
    """One vessel, one valve, four causes: the sketch of the demo plant's gas receiver.

    Returns `Sketch`. Source: symbols of ISO 10628-2 and ISA-5.1.
    """
    s = Sketch(200, 92, "Sketch. Gas receiver V-104 is fed through control valve PV-101 with a "
               "bypass around it; a block valve shuts its outlet, and a fire may burn below. One "
               "valve, PSV-105, on top of it leads to the flare and stands for all four causes."
               )  # fmt: skip
    vertical_vessel(s, 100, 40, 26, 48)
    s.label(100, 40, "V-104")
    pipe(s, (20, 34), (87, 34))
    control_valve(s, 50, 34)
    s.label(50, 26.5, "1  PV-101 opens")
    pipe(s, (34, 34), (34, 52), (66, 52), (66, 34), arrow=False)
    block_valve(s, 50, 52)
    s.label(50, 58.5, "2  and its bypass")
    pipe(s, (113, 34), (170, 34))
    block_valve(s, 142, 34, closed=True)
    s.label(142, 26.5, "3  outlet closed")
    s.label(100, 7, "4  fire", color=VERMILLION)
    pipe(s, (100, 64), (100, 74), arrow=False, relief=True)
    relief_valve(s, 100, 77.4)
    pipe(s, (103.4, 77.4), (160, 77.4), relief=True)
    flag(s, 160, 77.4, "flare")
    s.label(95, 84, "PSV-105", ha="right")
    return s
