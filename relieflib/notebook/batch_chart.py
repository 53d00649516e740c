"""Chart of a batch that runs away, a pair of build and update as in `figures`."""

import numpy as np

from relieflib.report.figures import (
    BLUE,
    GREY,
    INK,
    NORMAL,
    SMALL,
    VERMILLION,
    _get,
    spread,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import unit_text

_BATCH_LEVELS = (("relief set", "--"), ("highest allowed", ":"), ("MAWP", "-."))


def build_batch(figure, result, unit_set="SI"):
    """A batch that runs away, closed and with its vent open: pressure above, temperature below.

    Parameters: figure, empty; result with closed and vented, two `Runaway`; opens, when the vent
    does [s]; set_pressure, highest_pressure and mawp [Pa absolute]; window, how long before and
    after it is shown [s]. Returns the artists.
    """
    axes = [figure.add_axes((0.09, y, 0.72, 0.36)) for y in (0.56, 0.12)]
    artists = {"axes": axes, "words": figure.text(0.09, 0.955, "", fontsize=NORMAL, weight="bold")}
    for name, color, line in (("closed", VERMILLION, "--"), ("vented", BLUE, "-")):
        artists[name] = [ax.plot([], [], color=color, ls=line, lw=2)[0] for ax in axes]
        artists[name + " end"] = [
            ax.plot([], [], color=color, marker="X", ms=9, ls="none", zorder=5)[0] for ax in axes
        ]
    figure.legend([artists["closed"][0], artists["vented"][0]], ["vent shut", "vent open"],
                  loc="center left", bbox_to_anchor=(0.815, 0.30), frameon=False,
                  fontsize=SMALL)  # fmt: skip
    across = axes[0].get_yaxis_transform()
    artists["levels"] = [
        (axes[0].axhline(0, color=INK, ls=line, lw=1.1),
         axes[0].text(1.015, 0, "", va="center", fontsize=SMALL, transform=across))
        for _, line in _BATCH_LEVELS
    ]  # fmt: skip
    artists["over"] = axes[0].axhspan(0, 1, facecolor="none", edgecolor="#C8C8C8", hatch="//", lw=0,
                                      zorder=0)  # fmt: skip
    for ax in axes:
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
        ax.axvline(0, color=GREY, lw=0.8)
    axes[1].set_xlabel("time after relief set pressure is reached, min", fontsize=NORMAL)
    update_batch(artists, result, unit_set)
    return artists


def update_batch(artists, result, unit_set="SI"):
    """Move the curves of `build_batch`; returns the alt text."""
    a, P, T = artists, symbol("pressure"), symbol("temperature")
    opens, (before, after) = _get(result, "opens"), _get(result, "window")
    levels = [_get(result, n) for n in ("set_pressure", "highest_pressure", "mawp")]
    runs = {name: _get(result, name) for name in ("closed", "vented")}
    for name, run in runs.items():
        minutes = (run.time - opens) / 60.0
        ended = run.ended != "time" and run.time[-1] - opens < after
        for q, y, at in zip((P, T), (run.pressure, run.temperature), (0, 1)):
            a[name][at].set_data(minutes, q.show(y, unit_set))
            end = ([minutes[-1]], [q.show(y[-1], unit_set)]) if ended else ([], [])
            a[name + " end"][at].set_data(*end)
    seen = [_within(run, opens, before, after) for run in runs.values()]
    top = P.show(1.12 * max(*levels, *(run.pressure[i].max() for run, i in seen)), unit_set)
    low, high = (f(f(run.temperature[i]) for run, i in seen) for f in (min, max))
    spare = 0.08 * (high - low)
    a["axes"][0].set(ylim=(0, top))
    a["axes"][1].set(ylim=[T.show(t, unit_set) for t in (low - spare, high + spare)])
    for ax, q, words in zip(a["axes"], (P, T), ("pressure", "temperature")):
        ax.set(xlim=(-before / 60.0, after / 60.0))
        ax.set_ylabel(f"{words}, {unit_text(q.display_unit(unit_set))}", fontsize=NORMAL)
    _batch_levels(a, [P.show(v, unit_set) for v in levels], top)
    return _batch_words(a, result, unit_set)


def _within(run, opens, before, after):
    """A run with the mask of its points on show."""
    return run, (run.time >= opens - before) & (run.time <= opens + after)


def _batch_levels(artists, shown, top):
    places = spread(np.array(shown), 0.09 * top, 0.0, top)
    for (line, text), (name, _), value, y in zip(artists["levels"], _BATCH_LEVELS, shown, places):
        line.set_ydata([value] * 2)
        text.set(text=f"{name} {value:.3g}", y=y)
    artists["over"].set(y=shown[1], height=top - shown[1])


def _batch_words(artists, result, unit_set):
    """Verdict over the chart, told in words; returns the alt text."""
    vented, closed = _get(result, "vented"), _get(result, "closed")
    allowed = _get(result, "highest_pressure")
    cut = "above " if vented.ended in ("liquid-full", "near critical") else ""
    peak = cut + shown("pressure", vented.peak, unit_set)
    holds = "holds" if vented.peak <= allowed else "does not hold"
    shut = {"liquid-full": "is full of liquid", "near critical": "nears the critical point",
            "time": "reacts to its end", "empty of liquid": "boils dry"}[closed.ended]  # fmt: skip
    minutes = (closed.time[-1] - _get(result, "opens")) / 60.0
    words = f"vent {holds}: peak {peak}; shut, the vessel {shut} {minutes:.3g} min after set"
    artists["words"].set_text(words)
    limit = shown("pressure", allowed, unit_set)
    return f"Pressure and temperature of a batch against time. Allowed {limit}: {words}."
