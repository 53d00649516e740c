"""Charts of inlet and outlet lines, in pairs of build and update as in `figures`."""

from dataclasses import replace
from textwrap import fill

import numpy as np

from relieflib.lines.line import NO_LIMIT, OVER, march
from relieflib.report.figures import (
    BLUE,
    GREY,
    INK,
    NORMAL,
    SMALL,
    TINY,
    VERMILLION,
    _get,
    margins,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import unit_text

PIECES = 8  # of a pipe, as its pressure is drawn
_BOX = {"facecolor": "white", "edgecolor": "none", "pad": 1.5}


def _axes(figure, bottom, height):
    left, wide = margins(figure, 0.11, 0.03)
    ax = figure.add_axes((left, bottom, wide, height))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    return ax


def _barred(ax):
    """A hatched rectangle over the full width for what the limit forbids; moved by `_bar`."""
    return ax.axhspan(0, 1, facecolor="#FBE9DF", edgecolor="#EDBE9F", hatch="///", lw=0, zorder=0)


def _bar(span, low, high):
    span.set(y=low, height=high - low)


def build_inlet_profile(figure, result, unit_set="SI"):
    """Pressure along an inlet line at the flow it is checked at, with its limit.

    Parameters: figure, empty; result with check, an `InletCheck` of scalars. Returns the artists.
    """
    ax = _axes(figure, 0.22, 0.68)
    artists = {
        "ax": ax, "barred": _barred(ax),
        "limit": ax.axhline(0, color=VERMILLION, ls="--", lw=1.5),
        "limit words": ax.text(0, 0, "", color=VERMILLION, fontsize=SMALL, va="bottom", ha="left",
                               bbox=_BOX),
        "static": ax.plot([], [], color=GREY, ls=":", marker=".", lw=1.2,
                          label="static pressure: the velocity head comes back, it is not counted"
                          )[0],
        "curve": ax.plot([], [], color=BLUE, marker="o", ms=5, lw=2,
                         label="what is left when losses are taken off")[0],
        "end": ax.plot([], [], color=VERMILLION, marker="X", ms=12, ls="none", zorder=6)[0],
        "words": figure.text(ax.get_position().x0, 0.935, "", fontsize=NORMAL, weight="bold"),
    }  # fmt: skip
    ax.legend(fontsize=TINY, frameon=False, loc="upper right")
    update_inlet_profile(artists, result, unit_set)
    return artists


def update_inlet_profile(artists, result, unit_set="SI"):
    """Move the curve of `build_inlet_profile`; returns the alt text."""
    check, a = _get(result, "check"), artists
    P1, atmosphere = check.sizing.load.stream.pressure, check.sizing.device.atmosphere
    words, losses = zip(*check.profile)
    left = np.maximum(P1 - np.array([0.0, *losses]), atmosphere)  # below it nothing flows out
    show = lambda P: symbol("pressure_gauge").show(np.asarray(P) - atmosphere, unit_set)  # noqa: E731
    x, rho = np.arange(len(left)), check.sizing.load.stream.density
    bores = np.array([p.area for p in check.line.parts])
    head = (check.mass_flow / np.array([bores[0], *bores])) ** 2 / (2.0 * rho)
    a["curve"].set_data(x, show(left))
    static = np.maximum(left - head, min(atmosphere, left.min()))
    a["static"].set_data(x[1:], show(static)[1:])
    a["limit"].set_visible(free := check.verdict != NO_LIMIT)
    a["barred"].set_visible(free)
    a["limit words"].set_visible(free)
    allowed = show(P1 - check.limit) if free else show(left[-1])
    low = min(float(show(static).min()), float(allowed), float(show(left[-1])))
    top = float(show(P1))
    low -= 0.25 * (top - low)
    _bar(a["barred"], low, float(allowed))
    a["limit"].set_ydata([allowed] * 2)
    limit = check.limit / check.sizing.device.set_pressure_gauge if free else 0.0
    a["limit words"].set(text=f" limit: {limit:.0%} of set below the vessel", y=allowed)
    a["end"].set_data([x[-1]], [show(left[-1])])
    a["end"].set_marker("X" if check.verdict == OVER else "o")
    a["end"].set_color(VERMILLION if check.verdict == OVER else BLUE)
    a["ax"].set(xlim=(-0.05, len(words) + 0.05), ylim=(low, top + 0.06 * (top - low)))
    a["ax"].set_xticks(x[1:] - 0.5, [fill(w, 12 if len(words) < 8 else 8) for w in words],
                       fontsize=TINY)  # fmt: skip
    unit = unit_text(symbol("pressure_gauge").display_unit(unit_set))
    a["ax"].set_ylabel(f"gauge pressure, {unit}", fontsize=NORMAL)
    text = f"{check.verdict}: {check.loss_fraction:.2%} of set is lost"
    if check.blocked:
        text = f"{check.verdict}: the line can't pass the rated flow"
    a["words"].set_text(text)
    return (
        f"Pressure along an inlet line of {len(words)} parts, from "
        f"{shown('pressure_gauge', P1 - atmosphere, unit_set)} in the vessel. {text}."
    )


def build_outlet_profile(figure, result, unit_set="SI"):
    """Static pressure along an outlet line at rated flow, with the valve's limit.

    Parameters: figure, empty; result with check, an `OutletCheck` of scalars. Returns the artists.
    """
    ax = _axes(figure, 0.15, 0.75)
    artists = {
        "ax": ax, "barred": _barred(ax),
        "limit": ax.axhline(0, color=VERMILLION, ls="--", lw=1.5),
        # clear of 'beyond the end', also where the two lines meet
        "limit words": ax.text(0.32, 0, "", color=VERMILLION, fontsize=SMALL, va="bottom",
                               ha="left", transform=ax.get_yaxis_transform(), bbox=_BOX),
        "header": ax.axhline(0, color=GREY, ls="-.", lw=1.2),
        "header words": ax.text(0.06, 0, "", color=GREY, fontsize=SMALL, va="top", ha="left",
                                transform=ax.get_yaxis_transform()),
        "curve": ax.plot([], [], color=BLUE, lw=2)[0],
        "flange": ax.plot([], [], color=BLUE, marker="o", ms=10, ls="none", zorder=6)[0],
        "choked": ax.plot([], [], color=INK, marker="D", ms=8, ls="none", mfc="none", zorder=6,
                          label="chokes here")[0],
        "words": figure.text(ax.get_position().x0, 0.935, "", fontsize=NORMAL, weight="bold"),
    }  # fmt: skip
    ax.set_ylabel("", fontsize=NORMAL)
    update_outlet_profile(artists, result, unit_set)
    return artists


def _bends(check):
    """Stations of an outlet check with each pipe in pieces: pressure does not fall evenly along."""
    parts = []
    for part in check.line.parts:
        n = PIECES if part.kind == "pipe" else 1
        part = replace(part, length=part.length / n, elevation=part.elevation / n)
        parts += [part] * n
    line, place = replace(check.line, parts=tuple(parts)), check.place
    return march(line, place.fluid, check.mass_flow, place.header, place.viscosity, cut=True)


def update_outlet_profile(artists, result, unit_set="SI"):
    """Move the curve of `build_outlet_profile`; returns the alt text."""
    check, a = _get(result, "check"), artists
    atmosphere, pset = check.sizing.device.atmosphere, check.sizing.device.set_pressure_gauge
    show, long = symbol("pressure_gauge").show, symbol("length")
    stations = _bends(check)
    where = np.array([s.distance for s in stations])
    P = np.array([s.pressure for s in stations]) - atmosphere
    x = long.show(where, unit_set)
    over, free = check.verdict == OVER, check.verdict != NO_LIMIT
    at = check.outlet_pressure - atmosphere
    # from the flange, which may choke above the line's own start, into the line
    a["curve"].set_data([0.0, *x], show(np.array([at, *P]), unit_set))
    a["flange"].set_data([0.0], [show(at, unit_set)])
    a["flange"].set_marker("X" if over else "o")
    a["flange"].set_color(VERMILLION if over else BLUE)
    stops = [s.choked for s in stations]
    a["choked"].set_data(x[stops], show(P[stops], unit_set))
    allowed = at - check.value + check.limit if free else at
    top = 1.18 * max(float(at), float(allowed), 1.0)
    _bar(a["barred"], show(allowed, unit_set), show(top, unit_set))
    for name in ("barred", "limit", "limit words"):
        a[name].set_visible(free)
    a["limit"].set_ydata([show(allowed, unit_set)] * 2)
    a["limit words"].set(text=f"limit at the valve ({check.limit_kind})", y=show(allowed, unit_set))
    header = check.header_pressure - atmosphere
    a["header"].set_ydata([show(header, unit_set)] * 2)
    a["header words"].set(text="beyond the end", y=show(header - 0.01 * top, unit_set))
    reach = max(float(x[-1]), 1e-3)
    a["ax"].set(xlim=(-0.02 * reach, 1.02 * reach), ylim=(-0.02 * show(top, unit_set),
                                                          show(top, unit_set)))  # fmt: skip
    unit = unit_text(symbol("pressure_gauge").display_unit(unit_set))
    a["ax"].set_ylabel(f"gauge pressure, {unit}", fontsize=NORMAL)
    unit = unit_text(long.display_unit(unit_set))
    a["ax"].set_xlabel(f"distance from the valve, {unit}", fontsize=NORMAL)
    text = f"{check.verdict}: {check.limit_kind if free else 'built-up'} back pressure " \
        f"{(check.value if free else check.built_up) / pset:.1%} of set"  # fmt: skip
    text += ", the flow chokes (diamond)" if any(stops) else ""
    a["words"].set_text(text)
    return (
        f"Static pressure along an outlet line at rated flow, from "
        f"{shown('pressure_gauge', at, unit_set)} at the valve to the end. {text}."
    )


_STYLES = {
    # widest first: where curves lie on one another, the ones below show beside the one above
    "conventional": (BLUE, "o", 7.0), "balanced": (VERMILLION, "s", 4.0), "pilot": (INK, "^", 1.5),
}  # fmt: skip


def build_kinds(figure, result, unit_set="SI"):
    """Flow that three kinds of one valve can be credited with, against header pressure.

    Parameters: figure, empty; result with headers [Pa gauge], 1-D; curves, {kind: (capacity [kg/s],
    within, bool)}, 1-D each; load [kg/s]; header_gauge [Pa gauge]. Returns the artists.
    """
    ax = _axes(figure, 0.15, 0.75)
    left = ax.get_position().x0
    artists = {"ax": ax, "words": figure.text(left, 0.935, "", fontsize=NORMAL, weight="bold")}
    for kind, (color, marker, wide) in _STYLES.items():
        artists[kind] = (
            ax.plot([], [], color=color, lw=wide, marker=marker, ms=wide + 5, markevery=4,
                    label=kind)[0],
            ax.plot([], [], color=color, lw=1.3, ls=":", marker=marker, ms=4, markevery=3,
                    mfc="none")[0],
            ax.plot([], [], color=color, marker="X", ms=11, ls="none", zorder=6)[0],
        )  # fmt: skip
    artists["load"] = ax.axhline(0, color=GREY, ls="--", lw=1.4, label="load")
    artists["here"] = ax.axvline(0, color=GREY, ls="-.", lw=1.2, label="header now")
    ax.plot([], [], color=INK, marker="X", ls="none", label="limit; dotted beyond: own estimate")
    ax.legend(fontsize=SMALL, frameon=False, loc="upper right", ncols=3)
    update_kinds(artists, result, unit_set)
    return artists


def update_kinds(artists, result, unit_set="SI"):
    """Move the curves of `build_kinds`; returns the alt text."""
    a, flow, gauge = artists, symbol("rated_flow"), symbol("pressure_gauge")
    headers, load = _get(result, "headers"), _get(result, "load")
    x, said, most = gauge.show(headers, unit_set), [], flow.show(load, unit_set)
    for kind, (capacity, within) in _get(result, "curves").items():
        solid, dotted, cross = a[kind]
        y = flow.show(capacity, unit_set)
        most = max(most, float(np.nanmax(y)))
        solid.set_data(x, np.where(within, y, np.nan))
        beyond = ~within
        beyond[:-1] |= ~within[1:]  # joined to the last point within
        dotted.set_data(x, np.where(beyond, y, np.nan))
        last = np.flatnonzero(within)[-1:] if not within.all() else np.array([], dtype=int)
        cross.set_data(x[last], y[last])
        said.append(f"{kind} {_limit_words(headers, within, unit_set)}")
    a["load"].set_ydata([flow.show(load, unit_set)] * 2)
    a["here"].set_xdata([gauge.show(_get(result, "header_gauge"), unit_set)] * 2)
    a["ax"].set(xlim=(0, x[-1]), ylim=(0, 1.35 * most))
    unit = unit_text(gauge.display_unit(unit_set))
    a["ax"].set_xlabel(f"header pressure while relieving, {unit}", fontsize=NORMAL)
    unit = unit_text(flow.display_unit(unit_set))
    a["ax"].set_ylabel(f"flow credited, {unit}", fontsize=NORMAL)
    a["words"].set_text("Highest header pressure within the limit")
    text = "; ".join(said)
    a["words"].set_text(f"Within the limit: {text}")
    return (
        f"Flow credited against header pressure for three kinds of valve. Within the limit: {text}."
    )


def _limit_words(headers, within, unit_set):
    if within.all():
        return "all along"
    if not within.any():
        return "nowhere"
    last = headers[np.flatnonzero(within)[-1]]
    return f"to {shown('pressure_gauge', last, unit_set, 3)}"
