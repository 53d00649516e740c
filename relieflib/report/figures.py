"""Figures of the workbooks: a `build_...` makes the artists, its `update_...` moves them.

A pair fits a panel: `build(figure, result, unit_set)` returns the artists, `update(artists,
result, unit_set)` moves them and adds none. `result` is a dict or an object; each pair says which
names it reads. Pass and fail, governing or not, are told by shape and word beside colour.
"""

import base64
import io
from dataclasses import dataclass
from textwrap import fill

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from relieflib import orifices, set_pressure
from relieflib.errors import InputError
from relieflib.symbols import shown, symbol
from relieflib.texts import figure_text, unit_text

# Okabe and Ito, Color Universal Design (2008)
INK, BLUE, VERMILLION, GREEN = "#000000", "#0072B2", "#D55E00", "#009E73"
ORANGE, SKY, PURPLE, GREY = "#E69F00", "#56B4E9", "#CC79A7", "#666666"
DPI, SIZE = 96, (8.6, 4.6)
NORMAL, SMALL, TINY = 10.0, 8.5, 7.5  # points
_HALO = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}


@dataclass(frozen=True)
class Display:
    """A figure that a notebook shows as PNG with its alt text; elsewhere it prints the alt text.

    Raises InputError when the alt text is empty.
    """

    figure: Figure
    alt: str

    def __post_init__(self):
        if not self.alt.strip():
            raise InputError("alt: a figure needs words for those who can't see it")

    def png(self):
        """The picture as PNG bytes, without a date, so that two runs are equal."""
        buffer = io.BytesIO()
        self.figure.savefig(buffer, format="png", dpi=DPI, metadata={"Software": None})
        return buffer.getvalue()

    def __repr__(self):
        return self.alt

    def _repr_mimebundle_(self, include=None, exclude=None):
        picture = base64.b64encode(self.png()).decode("ascii")
        data = {"image/png": picture, "text/plain": self.alt}
        return data, {"image/png": {"alt": self.alt}}


def new_figure(size=SIZE):
    """An empty figure without pyplot.

    Parameters: size, width and height in inches. Returns a matplotlib Figure.
    """
    figure = Figure(figsize=size, dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def display(figure, alt):
    """A figure with its alt text, for the last line of a notebook cell.

    Parameters: figure, matplotlib Figure; alt, str. Returns `Display`.
    Raises InputError when the alt text is empty.
    >>> display(new_figure(), "An empty page.")
    An empty page.
    """
    return Display(figure, alt)


def _get(result, name, default=None):
    value = result.get(name) if isinstance(result, dict) else getattr(result, name, None)
    if value is None and default is None:
        raise InputError(f"{name}: this figure needs it in the result")
    return default if value is None else value


def spread(values, gap, low, high):
    """Places for labels: as near to the values as can be, at least `gap` apart, in low to high.

    Parameters: values, 1-D array; gap, low, high in the same unit. Returns an array in the order
    of the values. Raises InputError when they can't fit. Source: least squares under the order
    (pool adjacent violators).
    >>> spread([1.0, 1.0, 5.0], 1.0, 0.0, 10.0)
    array([0.5, 1.5, 5. ])
    """
    values = np.asarray(values, dtype=float)
    room = high - (len(values) - 1) * gap
    if room < low:
        raise InputError(
            f"{len(values)} labels {gap:g} apart don't fit between {low:g} and {high:g}"
        )
    order = np.argsort(values, kind="stable")
    pools = []
    for i, v in enumerate(values[order]):
        pools.append([v - i * gap, 1])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (m1, n1), (m2, n2) = pools[-2:]
            pools[-2:] = [[(m1 * n1 + m2 * n2) / (n1 + n2), n1 + n2]]
    level = np.clip(np.concatenate([np.full(n, m) for m, n in pools]), low, room)
    places = np.empty(len(values))
    places[order] = level + gap * np.arange(len(values))
    return places


# ---------------------------------------------------------------- pressure levels
MOST_SETS = 4
_VESSEL = (
    ("operating", GREY, "s"), ("MAWP", INK, "D"), ("accumulated, one valve", BLUE, "o"),
    ("accumulated, several valves", GREEN, "^"), ("accumulated, fire", VERMILLION, "v"),
)  # fmt: skip


def pressure_level_rows(result):
    """Levels of a protected vessel and its valves, as (side, words, gauge pressure [Pa]).

    Parameters: result with mawp_gauge, operating_pressure_gauge, set_pressure_gauge (one or a
    list of up to four), installation and fire of the case shown, blowdown. Returns a list: the
    vessel's levels from operating to fire, then the valves'. Raises InputError as `set_pressure`.
    Source: ASME BPVC XIII (VIII-1 UG-125(c)); API 520-I (2020), 5.4.
    """
    mawp = _get(result, "mawp_gauge")
    sets = np.atleast_1d(_get(result, "set_pressure_gauge")).tolist()
    if len(sets) > MOST_SETS:
        raise InputError(f"set_pressure_gauge: this figure shows up to {MOST_SETS} valves")
    cases = (("single", False), ("multiple", False), ("single", True))
    limits = [set_pressure.accumulation_limit(mawp, *case) for case in cases]
    values = [_get(result, "operating_pressure_gauge"), mawp, *(mawp + x for x in limits)]
    rows = [("vessel", name, v) for (name, _, _), v in zip(_VESSEL, values)]
    words = (
        ["set pressure"] if len(sets) == 1 else [f"set, valve {i + 1}" for i in range(len(sets))]
    )
    rows += [("valve", word, v) for word, v in zip(words, sets)]
    fire = bool(_get(result, "fire", False))
    installation = _get(result, "installation", "single" if len(sets) == 1 else "multiple")
    limit = set_pressure.accumulation_limit(mawp, installation, fire)
    reseat = set_pressure.reseat_pressure(min(sets), _get(result, "blowdown", 0.07))
    return rows + [("valve", "relieving", mawp + limit), ("valve", "reseat", reseat)]


def build_pressure_levels(figure, result, unit_set="SI"):
    """Chart of pressure levels: the vessel's on the left of the scale, the valves' on the right.

    Parameters: figure, empty matplotlib Figure; result as `pressure_level_rows`; unit_set.
    Returns the artists. Raises InputError as `pressure_level_rows`.
    """
    ax = figure.add_axes((0.02, 0.04, 0.96, 0.86))
    ax.set_axis_off()
    ax.set(xlim=(-1.3, 1), ylim=(0, 1))  # the words of the vessel are the longer ones
    ax.text(-0.3, 1.06, "vessel", ha="center", fontsize=NORMAL, weight="bold", color=GREY)
    ax.text(0.3, 1.06, "relief valve", ha="center", fontsize=NORMAL, weight="bold", color=GREY)
    ax.text(0, 1.055, "% of MAWP", ha="center", fontsize=SMALL, color=GREY)
    ax.plot([-0.05, -0.05], [0, 1], color=GREY, lw=1)
    ax.plot([0.05, 0.05], [0, 1], color=GREY, lw=1)
    a = {"ax": ax, "ticks": [], "rows": {"vessel": [], "valve": []}}
    for _ in range(25):
        a["ticks"].append(ax.text(0, 0, "", ha="center", va="center", fontsize=SMALL, color=GREY))
    styles = [(c, m) for _, c, m in _VESSEL]
    valve = [(INK, "D")] * MOST_SETS + [(PURPLE, "P"), (ORANGE, "X")]
    for side, kinds, sign in (("vessel", styles, -1), ("valve", valve, 1)):
        for color, marker in kinds:
            lead = ax.plot([], [], color=color, lw=1.2)[0]
            dot = ax.plot([], [], color=color, marker=marker, ms=6, ls="none")[0]
            text = ax.text(sign * 0.30, 0, "", ha="left" if sign > 0 else "right", va="center",
                           fontsize=SMALL)  # fmt: skip
            a["rows"][side].append((lead, dot, text))
    update_pressure_levels(a, result, unit_set)
    return a


def update_pressure_levels(artists, result, unit_set="SI"):
    """Move the levels of `build_pressure_levels`; returns the alt text."""
    rows = pressure_level_rows(result)
    mawp = _get(result, "mawp_gauge")
    percent = np.array([100.0 * v / mawp for _, _, v in rows])
    low, high = percent.min() - 3.0, percent.max() + 3.0

    def place(p):
        return (p - low) / (high - low)

    _move_ticks(artists["ticks"], low, high, place)
    said = []
    for side, sign in (("vessel", -1), ("valve", 1)):
        part = [(w, v, p) for (s, w, v), p in zip(rows, percent) if s == side]
        pool = artists["rows"][side]
        at = place(np.array([p for _, _, p in part]))
        used = pool if side == "vessel" else [*pool[: len(part) - 2], *pool[-2:]]
        for row in pool:
            for artist in row:
                artist.set_visible(row in used)
        for (word, v, p), y, label_y, row in zip(part, at, spread(at, 0.085, 0, 1), used):
            lead, dot, text = row
            value = shown("pressure_gauge", v, unit_set)
            words = f"{word}   {value}   {p:.4g} %"
            lead.set_data([sign * 0.05, sign * 0.12, sign * 0.25, sign * 0.285],
                          [y, y, label_y, label_y])  # fmt: skip
            dot.set_data([sign * 0.05], [y])
            text.set(text=words, y=label_y)
            said.append(" ".join(words.split()))
    return "Pressure levels, gauge, and percent of MAWP: " + "; ".join(said) + "."


def _move_ticks(texts, low, high, place):
    step = next(s for s in (5, 10, 20, 50, 100, 200, 500, 1000, 1e9) if (high - low) / s <= 16)
    ticks = np.arange(np.ceil(low / step) * step, high, step)
    for i, text in enumerate(texts):
        text.set_visible(i < len(ticks))
        if i < len(ticks):
            text.set(text=f"{ticks[i]:g}", y=place(ticks[i]))


# ---------------------------------------------------------------- flux against back pressure
def choking_pressure(stream):
    """Highest back pressure at which the flux is still the choked one; 0 for one that never chokes.

    Parameters: stream with `pressure` and `mass_flux(back_pressure)`. Returns Pa.
    Source: definition of choking, found on the curve itself.
    """
    low, high = 0.0, stream.pressure
    most = np.max(stream.mass_flux(np.linspace(low, high, 41)))
    for _ in range(4):
        grid = np.linspace(low, high, 41)
        choked = stream.mass_flux(grid) >= most * (1 - 1e-9)
        i = int(np.flatnonzero(choked)[-1])
        low, high = grid[i], grid[min(i + 1, 40)]
    return 0.0 if low < 1e-3 * stream.pressure else float(low)


def build_flux_against_back_pressure(figure, result, unit_set="SI"):
    """Curve of mass flux against back pressure, with the choking point and the working point.

    Parameters: figure, empty; result with stream and back_pressure [Pa]; unit_set. Returns the
    artists. Raises InputError when the back pressure is above the relieving pressure.
    """
    ax = figure.add_axes((0.11, 0.14, 0.85, 0.80))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    note = {"fontsize": SMALL, "bbox": _HALO, "va": "center", "zorder": 7}
    a = {
        "ax": ax,
        "curve": ax.plot([], [], color=BLUE, lw=2)[0],
        "plateau": ax.plot([], [], color=GREY, lw=1, ls=(0, (4, 3)))[0],
        "choke": ax.plot([], [], color=INK, marker="D", ms=7, mfc="white", ls="none", zorder=5)[0],
        "choke words": ax.text(0, 0, "", **note),
        "work": ax.plot([], [], color=VERMILLION, marker="o", ms=9, ls="none", zorder=6)[0],
        "work words": ax.text(0, 0, "", **note),
    }
    update_flux_against_back_pressure(a, result, unit_set)
    return a


def update_flux_against_back_pressure(artists, result, unit_set="SI"):
    """Move the curve and points of `build_flux_against_back_pressure`; returns the alt text."""
    a, stream, back = artists, _get(result, "stream"), _get(result, "back_pressure")
    x, y = (lambda v: symbol("back_pressure").show(v, unit_set),
            lambda v: symbol("mass_flux").show(v, unit_set))  # fmt: skip
    choke, P1 = choking_pressure(stream), stream.pressure
    grid = choke + (P1 - choke) * (1 - np.linspace(1, 0, 161) ** 2)
    grid = np.concatenate([[0.0], grid])
    flux, G = stream.mass_flux(grid), stream.mass_flux(back)
    a["curve"].set_data(x(grid), y(flux))
    a["work"].set_data([x(back)], [y(G)])
    a["choke"].set_data([x(choke)], [y(flux[1])])
    a["plateau"].set_data([x(choke)] * 2, [0, y(flux[1])])
    top, right = 1.35 * y(flux.max()), x(P1)
    a["ax"].set(xlim=(0, 1.02 * right), ylim=(0, top))
    for kind, name, axis in (("back_pressure", "back pressure P2", "x"),
                             ("mass_flux", "mass flux of an ideal nozzle G", "y")):  # fmt: skip
        words = f"{name}, {unit_text(symbol(kind).display_unit(unit_set))}"
        getattr(a["ax"], f"set_{axis}label")(words, fontsize=NORMAL)
    state = "choked" if choke and back <= choke else "not choked"
    words = f"here: {state}, G = {shown('mass_flux', G, unit_set)}"
    left = x(back) < 0.5 * right
    a["work words"].set(text=words, ha="left" if left else "right",
                        x=x(back) + (0.015 if left else -0.015) * right,
                        y=max(y(G) - 0.08 * top, 0.05 * top))  # fmt: skip
    for name in ("choke", "choke words", "plateau"):
        a[name].set_visible(choke > 0)
    said = f"chokes at P2 = {shown('back_pressure', choke, unit_set)}, {choke / P1:.3g} P1"
    left = x(choke) < 0.6 * right
    a["choke words"].set(text=said, x=x(choke), y=y(flux[1]) + 0.09 * top,
                         ha="left" if left else "right")  # fmt: skip
    return (f"Mass flux against back pressure, from 0 to P1 = {shown('pressure', P1, unit_set)}. "
            + (f"The flow {said}. " if choke else "The flow never chokes. ")
            + f"At P2 = {shown('back_pressure', back, unit_set)} it is {words[6:]}.")  # fmt: skip


# ---------------------------------------------------------------- area ladder
MOST_CAUSES = 12


def margins(figure, left, right):
    """Left edge and width of axes whose margins hold the same words in a narrow figure.

    Parameters: figure; left and right, parts of a figure 7.2 inches wide. Returns (float, float),
    parts of this one; a wider one keeps the parts.
    >>> [round(x, 3) for x in margins(Figure(figsize=(3.6, 3.0)), 0.1, 0.2)]
    [0.2, 0.4]
    """
    wider = max(1.0, 7.2 / float(figure.get_figwidth()))
    return left * wider, 1.0 - (left + right) * wider


def build_area_ladder(figure, result, unit_set="SI"):
    """Required area of every cause on a log axis, the orifice letters as rungs.

    Parameters: figure, empty; result with `areas`, a dict from the name of a cause to its
    required area [m2], None for a cause that needs none, and `lead`, the word said of the largest,
    "governs" by default; unit_set. Returns the artists.
    Raises InputError for no cause, more than twelve, or an area not above 0.
    Source of the rungs: API 526, table 1.
    """
    left, wide = margins(figure, 0.25, 0.27)
    ax = figure.add_axes((left, 0.15, wide, 0.72))
    ax.set_xscale("log")
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.set_yticks([])
    ax.tick_params(labelsize=SMALL)
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:,g}".replace(",", " "))
    a = {"ax": ax, "rungs": [], "letters": [], "rows": []}
    blended = ax.get_xaxis_transform()
    for i, letter in enumerate(orifices.LETTERS):
        a["rungs"].append(ax.plot([], [], color=SKY, lw=1.0, transform=blended, zorder=1)[0])
        a["letters"].append(ax.text(0.1, 1.015 + 0.05 * (i % 2), letter, ha="center", va="bottom",
                                    fontsize=SMALL, transform=blended, color=BLUE))  # fmt: skip
    across = ax.get_yaxis_transform()
    for _ in range(MOST_CAUSES):
        stem = ax.plot(
            [], [], color=GREY, lw=0.8, ls=(0, (1, 2)), transform=ax.transData, zorder=2
        )[0]
        dot = ax.plot([], [], ls="none", zorder=5)[0]
        name = ax.text(-0.02, 0, "", ha="right", va="center", fontsize=SMALL, transform=across)
        size = ax.text(1.03, 0, "", ha="left", va="center", fontsize=SMALL, transform=across)
        a["rows"].append((stem, dot, name, size))
    update_area_ladder(a, result, unit_set)
    return a


def _ladder_rows(result):
    areas = _get(result, "areas")
    if not 1 <= len(areas) <= MOST_CAUSES:
        raise InputError(f"areas: give 1 to {MOST_CAUSES} causes, not {len(areas)}")
    known = {name: a for name, a in areas.items() if a is not None and not np.isnan(a)}
    letters = {name: orifices.select_letter(a) for name, a in known.items()}
    order = sorted(areas, key=lambda name: -known.get(name, -1.0))
    return [(name, known.get(name), letters.get(name)) for name in order]


def update_area_ladder(artists, result, unit_set="SI"):
    """Move the causes and rungs of `build_area_ladder`; returns the alt text."""
    a, rows, show = artists, _ladder_rows(result), symbol("area").show
    known = [area for _, area, _ in rows if area is not None]
    rungs = list(orifices.LETTERS.values())
    low, high = 0.5 * min([*known, rungs[0]]), 2.0 * max([*known, rungs[-1]])
    a["ax"].set(xlim=(show(low, unit_set), show(high, unit_set)), ylim=(len(rows) - 0.4, -0.6))
    unit = symbol("area").display_unit(unit_set)
    a["ax"].set_xlabel(f"required area, {unit_text(unit)}; lines: area of each orifice letter",
                       fontsize=NORMAL)  # fmt: skip
    for rung, letter, area in zip(a["rungs"], a["letters"], rungs):
        x = show(area, unit_set)
        rung.set_data([x, x], [0, 1])
        letter.set_x(x)
    said, lead = [], _get(result, "lead", "governs")
    for i, row in enumerate(a["rows"]):
        for artist in row:
            artist.set_visible(i < len(rows))
        if i < len(rows):
            said.append(_move_row(row, lead * (not i), *rows[i], i, show(low, unit_set), unit_set))
    return "Required area of every cause against the orifice letters: " + "; ".join(said) + "."


def _move_row(row, lead, name, area, letter, i, left, unit_set):
    (stem, dot, words, size), show = row, symbol("area").show
    if area is None:
        text, x = "needs none", np.nan
    else:
        choice = f"letter {letter}" if letter else "more than one valve"
        text, x = f"{shown('area', area, unit_set)}, {choice}", show(area, unit_set)
    governs = bool(lead) and area is not None
    stem.set_data([left, x], [i, i])
    dot.set_data([x], [i])
    dot.set(marker="D" if governs else "o", markersize=10 if governs else 7, markeredgewidth=1.5,
            markeredgecolor=VERMILLION if governs else INK,
            markerfacecolor=VERMILLION if governs else "white")  # fmt: skip
    weight = "bold" if governs else "normal"
    # the margins hold some two dozen letters a line
    said = fill(f"{lead}: {name}" if governs else name, 26)
    words.set(text=figure_text(said), y=i, weight=weight)
    size.set(text=text.replace(", more", ",\nmore"), y=i, weight=weight)
    return f"{name} {text}" + (f", {lead}" if governs else "")


def ladder(sized):
    """The area ladder of some sizings, as a picture with its alt text.

    Parameters: sized, {cause in words: `Sizing`}. Returns `Display`.
    """
    areas = {words: s.required_area or None for words, s in sized.items()}
    picture = new_figure()
    artists = build_area_ladder(picture, {"areas": areas})
    return display(picture, update_area_ladder(artists, {"areas": areas}))
