"""Chart of a column that boils away, a pair of build and update as in `figures`."""

import numpy as np

from relieflib.report.figures import (
    BLUE,
    INK,
    NORMAL,
    ORANGE,
    SMALL,
    VERMILLION,
    _get,
    display,
    new_figure,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import unit_text

LONGEST = 15.0  # min on show
_LEFT, _WIDTH = (0.115, 0.60), 0.385


def build_column(figure, result, unit_set="SI"):
    """Two courses of one failure side by side: flows by fluid above, area needed below.

    Parameters: figure, empty; result with runs, {title: [(`Stage`, required_area [m2])]} of two
    courses, fluids (light, heavy) in words, installed, area [m2]. Returns the artists.
    """
    artists = {"runs": [_course(figure, left) for left in _LEFT]}
    first = artists["runs"][0]
    first["flow"].legend([first["light"], first["heavy"]], _get(result, "fluids"), fontsize=SMALL,
                         loc="upper right", ncol=2, frameon=False)  # fmt: skip
    artists["words"] = figure.text(0.115, 0.955, "", fontsize=NORMAL, weight="bold")
    update_column(artists, result, unit_set)
    return artists


def _course(figure, left):
    flow, area = (figure.add_axes((left, y, _WIDTH, h)) for y, h in ((0.54, 0.30), (0.12, 0.34)))
    stack = {"fill": True, "lw": 0.8, "edgecolor": INK}
    light = flow.stairs([0], [0, 1], facecolor="#9BC4E2", hatch="//", **stack)
    heavy = flow.stairs([0], [0, 1], facecolor=ORANGE, **stack)
    needed = area.stairs([0], [0, 1], color=BLUE, lw=2.2)
    line = area.axhline(0, color=VERMILLION, ls="--", lw=1.6)
    installed = area.text(0.98, 0, "", color=VERMILLION, fontsize=SMALL, ha="right", va="bottom",
                          transform=area.get_yaxis_transform())  # fmt: skip
    title = flow.set_title("", fontsize=NORMAL, loc="left")
    for ax in (flow, area):
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
        ax.set(xlim=(0, LONGEST), xticks=np.arange(0.0, LONGEST + 1.0, 3.0))
    flow.tick_params(labelbottom=False)
    area.set_xlabel("min after PSV opens", fontsize=SMALL)
    return {"flow": flow, "area": area, "light": light, "heavy": heavy, "needed": needed,
            "line": line, "installed": installed, "title": title}  # fmt: skip


def update_column(artists, result, unit_set="SI"):
    """Move the steps of `build_column`; returns the alt text."""
    W, A = symbol("mass_flow"), symbol("required_area")
    runs, installed = _get(result, "runs"), _get(result, "installed")
    every = [pair for run in runs.values() for pair in run]
    # room for the legend above the bars
    top = 1.4 * max(W.show(stage.mass_flow, unit_set) for stage, _ in every) or 1.0
    high = 1.25 * max(A.show(area, unit_set) for area in (installed, *(a for _, a in every)))
    for one, (title, run) in zip(artists["runs"], runs.items()):
        edges, light, heavy, areas = _steps(run, W, A, unit_set)
        one["light"].set_data(light, edges, np.zeros_like(light))
        one["heavy"].set_data(light + heavy, edges, light)
        one["needed"].set_data(areas, edges)
        level = A.show(installed, unit_set)
        one["line"].set_ydata([level] * 2)
        one["installed"].set(y=level, text="installed")
        one["title"].set_text(title)
        one["flow"].set_ylim(0, top)
        one["area"].set_ylim(0, high)
    first = artists["runs"][0]
    first["flow"].set_ylabel(unit_text(W.display_unit(unit_set)), fontsize=NORMAL)
    first["area"].set_ylabel(f"area, {unit_text(A.display_unit(unit_set))}", fontsize=NORMAL)
    return _words(artists, result, unit_set)


def _steps(run, W, A, unit_set):
    """Edges in minutes, flows and areas as shown; what comes after the picture has no length."""
    ends = [min(stage.end / 60.0, LONGEST) for stage, _ in run]
    edges = np.array([0.0, *ends])
    flows = [[W.show(getattr(s, name), unit_set) for s, _ in run]
             for name in ("light_flow", "heavy_flow")]  # fmt: skip
    areas = np.array([A.show(area, unit_set) for _, area in run])
    return edges, *(np.array(f) for f in flows), areas


def _words(artists, result, unit_set):
    runs, installed = _get(result, "runs"), _get(result, "installed")
    largest = max((area, title, stage.words) for title, run in runs.items() for stage, area in run)
    verdict = "above the" if largest[0] > installed else "within the"
    area = shown("required_area", largest[0], unit_set)
    fit = f"{verdict} {shown('required_area', installed, unit_set)} installed"
    what = largest[2] if largest[0] else "nothing boils"
    artists["words"].set_text(f"largest: {area}, {what}; {fit}")
    spells = "; ".join(_told(title, run, unit_set) for title, run in runs.items())
    return f"A column that boils away after its cooling is lost. {spells}. Largest {area}, {fit}."


def _told(title, run, unit_set):
    spells = [f"{stage.words} from {stage.start / 60.0:.1f} min "
              f"{shown('mass_flow', stage.mass_flow, unit_set)}, "
              f"{shown('required_area', area, unit_set)}"
              for stage, area in run if stage.mass_flow]  # fmt: skip
    end = run[-1][0].start / 60.0
    return f"{title}: {', then '.join(spells) or 'nothing leaves'}, dry at {end:.1f} min"


def picture(result, unit_set="SI"):
    """The chart of `build_column` as a `figures.Display`, for the last line of a cell."""
    figure = new_figure()
    return display(figure, update_column(build_column(figure, result, unit_set), result, unit_set))
