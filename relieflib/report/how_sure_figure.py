"""Bars of each input against the rungs, and under them the samples of all inputs together."""

from textwrap import fill

import numpy as np

from relieflib import orifices
from relieflib.errors import InputError
from relieflib.report.figures import (
    BLUE,
    GREEN,
    INK,
    NORMAL,
    SKY,
    SMALL,
    VERMILLION,
    display,
    new_figure,
)
from relieflib.study.how_sure import bar_words, label, value_text
from relieflib.symbols import shown, symbol
from relieflib.texts import figure_text, unit_text

MOST_BARS, _STEPS = 8, 60
_PALE, _BEYOND = "#9BC4E2", "#F4B183"
_HALO = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}


def build_how_sure(figure, result, unit_set="SI"):
    """Bars above, samples below, on one axis of area.

    Parameters: figure, empty; result, a `HowSure` or a dict that holds it as `how_sure`; unit_set.
    Returns the artists. Raises InputError for more than eight bars. Source of the rungs: API 526,
    table 1.
    """
    top = figure.add_axes((0.27, 0.40, 0.69, 0.49))
    low = figure.add_axes((0.27, 0.14, 0.69, 0.17), sharex=top)
    for ax in (top, low):
        ax.spines[["top", "right", "left"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
        ax.set_yticks([])
    top.tick_params(labelbottom=False)
    across, up = top.get_yaxis_transform(), top.get_xaxis_transform()
    small = {"fontsize": SMALL, "va": "center", "zorder": 6}
    a = {"top": top, "low": low, "bars": [], "rungs": [], "steps": []}
    for _ in range(MOST_BARS):
        bar = top.barh([0], [1.0], 0.5, color=_PALE, edgecolor=INK, lw=0.8, zorder=3)[0]
        over = top.barh([0], [1.0], 0.5, color=_BEYOND, edgecolor=INK, lw=0.8, hatch="///",
                        zorder=4)[0]  # fmt: skip
        ends = [top.text(0, 0, "", ha=side, bbox=_HALO, **small) for side in ("right", "left")]
        name = top.text(-0.02, 0, "", ha="right", transform=across, **small)
        a["bars"].append((bar, over, name, *ends))
    for _ in orifices.LETTERS:
        a["rungs"].append((
            top.plot([], [], color=SKY, lw=1.0, transform=up, zorder=1)[0],
            top.text(0, 1.02, "", ha="center", va="bottom", fontsize=SMALL, color=BLUE,
                     transform=up)))  # fmt: skip
    a["stated"] = [ax.axvline(1.0, color=GREEN, lw=1.5, ls=":", zorder=5) for ax in (top, low)]
    a["stands"] = [ax.axvline(1.0, color=VERMILLION, lw=1.8, ls="--", zorder=5)
                   for ax in (top, low)]  # fmt: skip
    a["steps"] = [low.bar([0], [1.0], 1.0, align="edge", color=_PALE, edgecolor=INK, lw=0.3)[0]
                  for _ in range(_STEPS)]  # fmt: skip
    low.text(-0.02, 0.4, "all together", ha="right", transform=low.transAxes, **small)
    a["share"] = low.text(0.99, 1.02, "", ha="right", va="bottom", fontsize=NORMAL,
                          transform=low.transAxes)  # fmt: skip
    update_how_sure(a, result, unit_set)
    return a


def update_how_sure(artists, result, unit_set="SI"):
    """Move what `build_how_sure` made; returns the alt text."""
    a, found = artists, result["how_sure"] if isinstance(result, dict) else result
    if len(found.bars) > MOST_BARS:
        raise InputError(f"ranges: this picture shows up to {MOST_BARS} inputs")

    def show(area):
        return float(symbol("area").show(area, unit_set))

    _ends(a, found, show)
    _rungs(a, found, show)
    for line in a["stated"]:
        line.set_xdata([show(found.area)] * 2)
    for line in a["stands"]:
        line.set_xdata([show(found.stands)] * 2)
    for place, row in enumerate(a["bars"]):
        for artist in row:
            artist.set_visible(place < len(found.bars))
        if place < len(found.bars):
            _move_bar(row, found.bars[place], place, found, show, unit_set)
    a["top"].set_ylim(max(len(found.bars), 2) - 0.4, -0.6)
    _samples(a, found, show)
    unit = unit_text(symbol("area").display_unit(unit_set))
    a["low"].set_xlabel(
        f"required area, {unit}; dots: as stated; dashes: {found.held_against}", fontsize=NORMAL
    )
    share = dict(found.rows(unit_set))["samples beyond it"]
    a["share"].set_text(f"{share} of {found.together.samples} samples beyond {found.held_against}")
    bars = "; ".join(f"{label(bar.name)} {bar_words(bar, unit_set)}" for bar in found.bars)
    stated = shown("required_area", found.area, unit_set)
    return (f"Required area as stated {stated}, held against {found.held_against}. Each input "
            f"alone: {bars}. All together: {a['share'].get_text()}.")  # fmt: skip


def _ends(a, found, show):
    """Ends of the axis: all bars, nearly all samples, and what stands; room for the words."""
    sized = found.together.areas[~np.isnan(found.together.areas)]
    parts = np.quantile(sized, (0.001, 0.999)) if len(sized) else ()
    met = [found.area, found.stands, *parts, *(x for b in found.bars for x in (b.least, b.most))]
    low, high = show(min(met)), show(max(met))
    room = max(high - low, 0.02 * high)
    a["top"].set_xlim(low - 0.22 * room, high + 0.22 * room)


def _rungs(a, found, show):
    """The letters in view; that which stands is the dashed line, and has its letter too."""
    low, high = a["top"].get_xlim()
    for (rung, name), (letter, area) in zip(a["rungs"], orifices.LETTERS.items(), strict=True):
        x = show(area)
        for artist in (rung, name):
            artist.set_visible(low < x < high)
        rung.set_data([x, x], [0, 1])
        name.set(text=letter, x=x)


def _move_bar(row, bar, place, found, show, unit_set):
    """One input: its bar, hatched beyond what stands, and its value at both ends."""
    whole, over, name, *texts = row
    least, most, stands = show(bar.least), show(bar.most), show(found.stands)
    whole.set(x=least, width=max(most - least, 0.0), y=place - 0.25)
    over.set(x=max(least, stands), width=max(most - max(least, stands), 0.0), y=place - 0.25)
    over.set_visible(most > stands)
    words = fill(label(bar.name), 26)
    words = words if words.count("\n") < 2 else fill(bar.name.replace("_", " "), 26)
    name.set(text=figure_text(words), y=place, weight="bold" if bar.moves_verdict else "normal")
    low, high = name.axes.get_xlim()
    room = 0.008 * (high - low)
    ends = ((bar.at_least, least - room), (bar.at_most, most + room))
    for text, (value, x) in zip(texts, ends, strict=True):
        text.set(text=value_text(bar.name, value, unit_set), x=x, y=place)


def _samples(a, found, show):
    """How the samples lie, those beyond what stands hatched."""
    sized = found.together.areas[~np.isnan(found.together.areas)]
    edges = np.linspace(*a["top"].get_xlim(), _STEPS + 1)
    many, _ = np.histogram(sized * show(1.0), edges)
    most = max(many.max(), 1)
    for step, x, width, n in zip(a["steps"], edges, np.diff(edges), many, strict=False):
        beyond = x + 0.5 * width > show(found.stands)
        step.set(x=x, width=width, height=n / most, facecolor=_BEYOND if beyond else _PALE,
                 hatch="///" if beyond else "")  # fmt: skip
    a["low"].set_ylim(0, 1.05)


def picture(found, unit_set="SI", size=(8.6, 4.6)):
    """The figure with its alt text, for a cell or a page.

    Parameters: found, a `HowSure`; unit_set; size in inches. Returns `Display`.
    """
    figure = new_figure(size)
    artists = build_how_sure(figure, found, unit_set)
    return display(figure, update_how_sure(artists, found, unit_set))
