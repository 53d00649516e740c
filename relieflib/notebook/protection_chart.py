"""The picture of 53: how often after each layer, on a log axis; what a trip takes, what it has."""

import numpy as np

from relieflib.asking.reading import number_of
from relieflib.errors import InputError, positive
from relieflib.kinds import YEAR
from relieflib.notebook.charts import NORMAL, SMALL
from relieflib.report.figures import INK, VERMILLION
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN
from relieflib.texts import harmless
from relieflib.units import to_si

_BARS, _FILL, _NO = 3, "#9BC4E2", "#E5E5E5"
_LOWEST, _HIGHEST = 1e-8, 10.0
_SAID = {COVERS: "in time", FAILS: "too slow", UNKNOWN: "not known"}
_PARTS = (("sensor", "#9BC4E2", ""), ("logic", "#F4C08A", "///"), ("valve", "#A8D8C4", "..."))


def target_of(text):
    """What was typed as the company's target, times a year, in 1/s; None for nothing typed.

    Parameters: text. Returns 1/s. Raises InputError for what is no number above 0.
    >>> target_of(" "), round(target_of("1e-5") * YEAR, 12)
    (None, 1e-05)
    """
    if not text.strip():
        return None
    number, rest, _ = number_of(text)
    if rest not in ("", "1/y", "a year"):
        raise InputError(f"target: '{harmless(rest)}' after the number; times a year, such as 1e-5")
    return to_si(float(positive(target_frequency=number)), "1/y", "frequency")


def build_protection(figure, result, unit_set="SI"):
    """Frequencies above, seconds below.

    Parameters: figure, empty; result with verdict, a `layers.Verdict` of one scenario; response, a
    `Response`; safety_time and time_allowed [s]. Returns the artists.
    """
    top = figure.add_axes((0.24, 0.46, 0.70, 0.44))
    low = figure.add_axes((0.24, 0.13, 0.70, 0.17))
    for ax in (top, low):
        ax.spines[["top", "right", "left"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
        ax.set_yticks([])
    top.set_xscale("log")
    top.set(xlim=(_LOWEST, _HIGHEST), ylim=(_BARS - 0.4, -0.6))
    top.set_xlabel("times a year, after each layer", fontsize=NORMAL)
    low.set(ylim=(1.6, -0.6))
    low.set_xlabel(
        "s from setting: sensor, logic (hatched), valve (dots); dashed: may use", fontsize=NORMAL
    )
    across = top.get_yaxis_transform()
    halo = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
    name = {"ha": "right", "va": "center", "fontsize": SMALL}
    a = {"top": top, "low": low, "bars": [], "names": [], "values": []}
    for i in range(_BARS):
        a["bars"].append(top.barh([i], [1.0], 0.6, left=_LOWEST, edgecolor=INK, lw=0.8)[0])
        a["names"].append(top.text(-0.02, i, "", transform=across, **name))
        a["values"].append(top.text(1.0, i, "", va="center", fontsize=SMALL, bbox=halo))
    a["target"] = top.axvline(1.0, color=VERMILLION, ls="--", lw=1.5)
    a["target words"] = top.text(1.0, -0.62, "", color=VERMILLION, fontsize=SMALL, ha="center",
                                 va="bottom")  # fmt: skip
    a["parts"] = [low.barh([0], [1.0], 0.6, color=color, hatch=hatch, edgecolor=INK, lw=0.8)[0]
                  for _, color, hatch in _PARTS]  # fmt: skip
    a["has"] = low.barh([1], [1.0], 0.6, color=_NO, edgecolor=INK, lw=0.8)[0]
    a["may"] = low.axvline(1.0, color=VERMILLION, ls="--", lw=1.5)
    across = low.get_yaxis_transform()  # beside the bars nothing crosses the words
    a["needs words"] = low.text(-0.02, 0, "", transform=across, **name)
    a["has words"] = low.text(-0.02, 1, "", transform=across, **name)
    update_protection(a, result, unit_set)
    return a


def update_protection(artists, result, unit_set="SI"):
    """Move what `build_protection` made; returns the alt text."""
    found = result["verdict"]
    one = found.scenarios[0]
    rows = [("no layer", one.unprotected, True)]
    rows += [(c.layer.name + ("" if c.counts else ", no credit"), c.frequency, c.counts)
             for c in one.credits]  # fmt: skip
    for i in range(_BARS):
        on = i < len(rows)
        for key in ("bars", "names", "values"):
            artists[key][i].set_visible(on)
        if on:
            _row(artists, i, *rows[i])
    target = found.target_frequency
    for key in ("target", "target words"):
        artists[key].set_visible(target is not None)
    if target is not None:
        artists["target"].set_xdata([target * YEAR] * 2)
        artists["target words"].set(x=target * YEAR, text=f"target {target * YEAR:.1g}")
    said = "; ".join(f"{name} {f * YEAR:.3g} a year" for name, f, _ in rows)
    return f"Frequency after each layer: {said}. {found.words}. {_seconds(artists, result)}"


def _row(artists, i, name, frequency, counts):
    per_year = max(frequency * YEAR, 1.5 * _LOWEST)
    artists["bars"][i].set(width=per_year - _LOWEST, facecolor=_FILL if counts else _NO,
                           hatch="" if counts else "xxx")  # fmt: skip
    artists["names"][i].set_text(name)
    artists["values"][i].set(x=1.2 * per_year, text=f"{frequency * YEAR:.2g}")


def _seconds(artists, result):
    r, has, may = result["response"], result["safety_time"], result["time_allowed"]
    left = 0.0
    for bar, width in zip(artists["parts"], (r.sensor_time, r.logic_time, r.stroke_time)):
        bar.set(x=left, width=width)
        left += width
    shown = has if np.isfinite(has) else 2 * left
    artists["has"].set_width(shown)
    artists["may"].set_xdata([min(may, 2 * shown)] * 2)
    verdict = result["in_time"].verdict
    word = _SAID[verdict]
    artists["needs words"].set_text(f"trip needs {left:.2g} s: {word}")
    given = "no limit met" if np.isinf(has) else "trip has: not known"
    artists["has words"].set_text(f"trip has {has:.2g} s" if np.isfinite(has) else given)
    artists["low"].set_xlim(0, 1.1 * max(left, shown))
    return f"The trip needs {left:.3g} s and may use {may:.3g} s of {has:.3g} s: {word}."


def draw(result, figures):
    """The picture once, as a figure for a page. Parameters: result as there; `report.figures`."""
    figure = figures.new_figure()
    figure.set_size_inches(7.6, 4.2)
    return figures.display(figure, update_protection(build_protection(figure, result), result))
