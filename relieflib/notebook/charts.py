"""Small charts of single notebooks, in pairs of build and update as in `figures`."""

import numpy as np
from matplotlib.patches import Patch

from relieflib.errors import InputError
from relieflib.report.figures import (
    BLUE,
    GREY,
    INK,
    NORMAL,
    SMALL,
    VERMILLION,
    _get,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import unit_text
from relieflib.units import to_si


def build_gauge_and_absolute(figure, result, unit_set="SI"):
    """Absolute pressure as the atmosphere with the gauge pressure on top.

    Parameters: figure, empty; result with pressure_gauge and atmosphere [Pa]. Returns the artists.
    """
    ax = figure.add_axes((0.03, 0.34, 0.94, 0.40))
    ax.set(ylim=(0, 1), yticks=[])
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    bars = ax.barh([0.5, 0.5], [1, 1], left=[0, 1], height=0.6, edgecolor=INK)
    bars[0].set(facecolor="#E5E5E5", hatch="//")
    bars[1].set(facecolor="#9BC4E2")
    box = {"facecolor": "white", "edgecolor": "none", "pad": 2.0, "alpha": 0.85}
    words = [ax.text(0, 0.5, "", ha="center", va="center", fontsize=NORMAL, bbox=b)
             for b in (box, None)]  # fmt: skip
    words.append(figure.text(0.03, 0.86, "", fontsize=NORMAL, weight="bold"))
    artists = {"ax": ax, "bars": bars, "words": words}
    update_gauge_and_absolute(artists, result, unit_set)
    return artists


def update_gauge_and_absolute(artists, result, unit_set="SI"):
    """Move the bars of `build_gauge_and_absolute`; returns the alt text."""
    gauge, atmosphere = _get(result, "pressure_gauge"), _get(result, "atmosphere")
    show = symbol("pressure").show
    low, high = show(atmosphere, unit_set), show(atmosphere + gauge, unit_set)
    for bar, left, right in zip(artists["bars"], (0, low), (low, high)):
        bar.set(x=left, width=right - left)
    artists["ax"].set(xlim=(0, 1.02 * high))
    unit = symbol("pressure").display_unit(unit_set)
    artists["ax"].set_xlabel(f"absolute pressure, {unit}", fontsize=NORMAL)
    texts = [f"atmosphere\n{shown('atmosphere', atmosphere, unit_set)}",
             f"gauge\n{shown('pressure_gauge', gauge, unit_set)}"]  # fmt: skip
    absolute = shown("pressure", atmosphere + gauge, unit_set)
    for text, words, x in zip(artists["words"], texts, (low / 2, (low + high) / 2)):
        text.set(text=words, x=x)
        text.set_visible(x > 0.045 * high and (high - low) > 0.08 * high or words is texts[0])
    artists["words"][2].set_text(f"absolute = atmosphere + gauge = {absolute}")
    parts = shown("atmosphere", atmosphere, unit_set), shown("pressure_gauge", gauge, unit_set)
    return f"A bar of absolute pressure: atmosphere {parts[0]} plus gauge {parts[1]} is {absolute}."


MOST_WAYS = 6


def build_arrangements(figure, result, unit_set="SI"):
    """Installed area of each way to arrange valves, the required area as a line.

    Parameters: figure, empty; result with required_area [m2] and ways, a list of up to six
    `Arrangement`. Returns the artists.
    """
    ax = figure.add_axes((0.24, 0.16, 0.50, 0.76))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    ax.set(yticks=[], ylim=(MOST_WAYS - 0.4, -0.6))
    artists = {"ax": ax, "rows": []}
    across = ax.get_yaxis_transform()
    for i in range(MOST_WAYS):
        bar = ax.barh([i], [1], height=0.55, facecolor="#C6DDED", edgecolor=BLUE)[0]
        name = ax.text(-0.02, i, "", ha="right", va="center", fontsize=SMALL, transform=across)
        size = ax.text(1.03, i, "", ha="left", va="center", fontsize=SMALL, transform=across)
        artists["rows"].append((bar, name, size))
    artists["line"] = ax.axvline(0, color=VERMILLION, lw=2, ls="--")
    artists["needed"] = ax.text(0, 1.01, "required", ha="center", va="bottom", fontsize=SMALL,
                                color=VERMILLION, transform=ax.get_xaxis_transform())  # fmt: skip
    update_arrangements(artists, result, unit_set)
    return artists


def update_arrangements(artists, result, unit_set="SI"):
    """Move the bars of `build_arrangements`; returns the alt text."""
    area, ways = _get(result, "required_area"), _get(result, "ways")[:MOST_WAYS]
    show, unit = symbol("area").show, unit_text(symbol("area").display_unit(unit_set))
    most, said = max(way.area for way in ways), []
    for i, row in enumerate(artists["rows"]):
        for artist in row:
            artist.set_visible(i < len(ways))
        if i < len(ways):
            bar, name, size = row
            bar.set_width(show(ways[i].area, unit_set))
            name.set_text(str(ways[i]).replace(", spare", "\nspare"))
            size.set_text(f"{shown('area', ways[i].area, unit_set)}, {ways[i].excess:+.0%}")
            size.set_color(INK if ways[i].excess < 0.5 else GREY)
            said.append(f"{ways[i]}, {ways[i].excess:+.0%}")
    artists["line"].set_xdata([show(area, unit_set)] * 2)
    artists["needed"].set_x(show(area, unit_set))
    artists["ax"].set(xlim=(0, 1.05 * show(most, unit_set)), ylim=(len(ways) - 0.4, -0.6))
    artists["ax"].set_xlabel(f"area that lifts together, {unit}", fontsize=NORMAL)
    return f"Required {shown('area', area, unit_set)}; ways to install it: {'; '.join(said)}."


POINTS = 70


def build_isentrope(figure, result, unit_set="SI"):
    """Mass flux along the isentrope against throat pressure, its highest value marked.

    Parameters: figure, empty; result with stream, a `RealFluid` of scalars, its throat and
    back_pressure [Pa]. Returns the artists.
    """
    ax = figure.add_axes((0.11, 0.15, 0.85, 0.78))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    artists = {
        "ax": ax,
        "curve": ax.plot([], [], color=BLUE, lw=2)[0],
        "throat": ax.plot([], [], color=VERMILLION, marker="D", ms=9, ls="none", zorder=5)[0],
        "back": ax.axvline(0, color=GREY, ls="--", lw=1.2),
        "words": ax.text(0, 0, "", fontsize=SMALL, va="bottom", ha="center"),
        "back words": ax.text(0, 0.02, " back pressure", fontsize=SMALL, color=GREY,
                              transform=ax.get_xaxis_transform()),
    }  # fmt: skip
    update_isentrope(artists, result, unit_set)
    return artists


def update_isentrope(artists, result, unit_set="SI"):
    """Move the curve of `build_isentrope`; returns the alt text."""
    stream, throat, back = (_get(result, n) for n in ("stream", "throat", "back_pressure"))
    P1 = stream.state.pressure
    grid, flux = _along(stream, throat.pressure, P1)
    low = grid[0]
    a, P, G = artists, symbol("pressure"), symbol("mass_flux")
    a["curve"].set_data(P.show(grid, unit_set), G.show(flux, unit_set))
    here = P.show(throat.pressure, unit_set), G.show(throat.mass_flux, unit_set)
    a["throat"].set_data([here[0]], [here[1]])
    a["back"].set_xdata([P.show(back, unit_set)] * 2)
    a["back words"].set_x(P.show(back, unit_set))
    a["ax"].set(xlim=(P.show(low, unit_set), P.show(P1, unit_set)),
                ylim=(0, 1.25 * G.show(flux.max(), unit_set)))  # fmt: skip
    a["back"].set_visible(back >= low)
    a["back words"].set_visible(back >= low)
    a["ax"].set_xlabel(
        f"pressure in the throat, {unit_text(P.display_unit(unit_set))}", fontsize=NORMAL
    )
    a["ax"].set_ylabel(
        f"density times velocity, {unit_text(G.display_unit(unit_set))}", fontsize=NORMAL
    )
    state = "chokes" if throat.choked else "back pressure rules"
    text = f"{state}: {shown('throat_pressure', throat.pressure, unit_set)}"
    span = a["ax"].get_xlim()
    side = "left" if here[0] < span[0] + 0.3 * (span[1] - span[0]) else "right"
    side = side if here[0] < span[0] + 0.7 * (span[1] - span[0]) else "right"
    a["words"].set(text=text, x=here[0], y=1.05 * here[1], ha=side)
    flux = shown("mass_flux", throat.mass_flux, unit_set)
    return f"Flux along the isentrope against throat pressure. It {text}, {flux}."


def _along(stream, throat_pressure, P1):
    """Pressures and fluxes from below the throat up; from the throat where it would be solid."""
    for low in (0.7 * throat_pressure, throat_pressure):
        # the flux rises like a square root from the inlet: points lie close together there
        points = P1 - (P1 - low) * np.linspace(0.0, 1.0, POINTS) ** 2
        grid = np.unique(np.append(points, throat_pressure))
        try:
            return grid, stream.flux_along(grid)
        except InputError:
            if low == throat_pressure:
                raise


def lines(figure, x, curves, x_words, y_words):
    """A plain chart of a few curves, told apart by marker and line beside colour.

    Parameters: figure, empty; x, 1-D array; curves, {words: 1-D array}; words of the axes.
    Returns the figure.
    """
    ax = figure.add_axes((0.11, 0.15, 0.85, 0.78))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    styles = [(BLUE, "-", ""), (VERMILLION, "--", "o"), (INK, ":", "s"), (GREY, "-.", "^")]
    for (words, y), (color, line, marker) in zip(curves.items(), styles):
        ax.plot(x, y, color=color, ls=line, marker=marker, ms=5, lw=1.8, label=words)
    ax.set_xlabel(x_words, fontsize=NORMAL)
    ax.set_ylabel(y_words, fontsize=NORMAL)
    ax.legend(fontsize=SMALL, frameon=False)
    return figure


def error_map(figure, reduced_temperature, reduced_pressure, error):
    """Map of an error in percent over reduced temperature and pressure; each cell says its number.

    Parameters: figure, empty; reduced_temperature (columns), reduced_pressure (rows), 1-D;
    error [%], 2-D, NaN where there is no gas. Returns the figure.
    """
    ax = figure.add_axes((0.10, 0.15, 0.86, 0.75))
    most = float(np.nanmax(np.abs(error), initial=5.0))
    ax.imshow(error, cmap="PuOr", vmin=-most, vmax=most, aspect="auto", origin="lower")
    for i, j in np.ndindex(error.shape):
        if not np.isnan(error[i, j]):
            dark = abs(error[i, j]) > 0.65 * most
            words = f"{error[i, j]:+.0f}".replace("-0", "0")
            ink = "white" if dark else INK
            ax.text(j, i, words, ha="center", va="center", fontsize=SMALL, color=ink)
    ax.set_xticks(range(len(reduced_temperature)), [f"{v:.2f}" for v in reduced_temperature])
    ax.set_yticks(range(len(reduced_pressure)), [f"{v:.2f}" for v in reduced_pressure])
    ax.tick_params(labelsize=SMALL)
    ax.set_xlabel("temperature over critical temperature", fontsize=NORMAL)
    ax.set_ylabel("pressure over critical pressure", fontsize=NORMAL)
    ax.set_title("error of the area in %; minus: too small", fontsize=NORMAL)
    return figure


def build_exposure(figure, result, unit_set="SI"):
    """Gas-filled vessel in a fire against time: pressure, temperatures, stress against strength.

    Parameters: figure, empty; result with run, an `Exposure`, and set_pressure [Pa]; unit_set.
    Returns the artists.
    """
    top, low = (figure.add_axes((0.09, y, 0.38, 0.36)) for y in (0.56, 0.12))
    wall = figure.add_axes((0.575, 0.12, 0.41, 0.80))
    for ax in (top, low, wall):
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
    artists = {
        "axes": (top, low, wall),
        "pressure": top.plot([], [], color=BLUE, lw=2)[0],
        "set": top.axhline(0, color=GREY, ls="--", lw=1.2),
        "set words": top.text(0.99, 0, "set pressure", color=GREY, fontsize=SMALL, va="top",
                              ha="right", transform=top.get_yaxis_transform()),
        "wall": low.plot([], [], color=VERMILLION, lw=2, label="wall")[0],
        "gas": low.plot([], [], color=BLUE, lw=2, ls="--", label="gas")[0],
        "strength": wall.plot([], [], color=VERMILLION, lw=2, label="strength of the wall")[0],
        "stress": wall.plot([], [], color=INK, lw=2, ls="--", label="stress in the wall")[0],
        "end": wall.plot([], [], color=INK, marker="X", ms=11, ls="none", zorder=6,
                         clip_on=False)[0],
        "end words": wall.text(0, 0, "wall gives way", fontsize=SMALL, ha="right", va="top"),
        "words": figure.text(0.09, 0.965, "", fontsize=NORMAL, weight="bold"),
    }  # fmt: skip
    low.legend(fontsize=SMALL, frameon=False, loc="upper left")
    wall.legend(fontsize=SMALL, frameon=False, loc="center left", bbox_to_anchor=(0.0, 0.70))
    for ax in (low, wall):
        ax.set_xlabel("time, min", fontsize=NORMAL)
    update_exposure(artists, result, unit_set)
    return artists


def update_exposure(artists, result, unit_set="SI"):
    """Move the curves of `build_exposure`; returns the alt text."""
    run, a = _get(result, "run"), artists
    minutes, P, T = run.time / 60.0, symbol("pressure"), symbol("temperature")
    set_shown = P.show(_get(result, "set_pressure"), unit_set)
    a["set"].set_ydata([set_shown] * 2)
    a["set words"].set_y(set_shown)
    shown = {
        "pressure": P.show(run.pressure, unit_set),
        "wall": T.show(run.wall_temperature, unit_set),
        "gas": T.show(run.temperature, unit_set),
        "strength": run.strength / _STRESS[unit_set][0],
        "stress": run.stress / _STRESS[unit_set][0],
    }
    for name, values in shown.items():
        a[name].set_data(minutes, values)
    tops = (max(shown["pressure"].max(), set_shown), shown["wall"].max(), shown["strength"].max())
    words = (
        f"pressure, {unit_text(P.display_unit(unit_set))}",
        f"temperature, {T.display_unit(unit_set)}",
        f"stress, {_STRESS[unit_set][1]}",
    )
    for ax, most, label in zip(a["axes"], tops, words):
        ax.set(xlim=(0, minutes[-1]), ylim=(0, 1.15 * most))
        ax.set_ylabel(label, fontsize=NORMAL)
    return _exposure_words(a, run, shown["stress"][-1])


_KSI = to_si(1000.0, "psi", "pressure difference")
_STRESS = {"SI": (1e6, "MPa"), "US": (_KSI, "ksi")}


def _exposure_words(artists, run, stress):
    """Verdict over the picture and its cross; returns the alt text."""
    gone = not np.isnan(run.rupture_time)
    lift = "never lifts" if np.isnan(run.lift_time) else f"lifts at {run.lift_time / 60:.1f} min"
    end = f"wall gives way at {run.rupture_time / 60:.1f} min" if gone else "wall holds"
    artists["words"].set_text(f"valve {lift}, {end}")
    for name in ("end", "end words"):
        artists[name].set_visible(gone)
    last = run.time[-1] / 60.0
    artists["end"].set_data([last], [stress])
    artists["end words"].set_position((0.97 * last, 0.72 * stress))
    return (f"Pressure, temperatures and stress against strength of a gas-filled vessel in a fire: "
            f"valve {lift}, {end}.")  # fmt: skip


MOST_EVENTS = 16
_FILLS = [("#9BC4E2", ""), ("#F4C08A", "///"), ("#A8D8C4", "..."), ("#E3B8CF", "xxx"),
          ("#E5E5E5", "---"), ("#FFFFFF", "+++")]  # fmt: skip
_NO_EVENT = "worst of every valve: no event"


def build_events(figure, result, unit_set="SI"):
    """Load on a header event by event, stacked by valve, above the sum of each valve's worst.

    Parameters: figure, empty; result with valves, up to six tags; by_event and liquid, {event:
    {valve: kg/s}}, liquid apart since it loads the drum and not the header; disposal, a
    `DisposalLoad` of by_event; event, the one picked. Returns the artists. Raises InputError for
    more than fifteen events.
    """
    valves = _get(result, "valves")
    narrow = figure.get_figwidth() < 8.0  # inches: a picture with numbers beside it
    ax = figure.add_axes((0.34, 0.12, 0.48, 0.74) if narrow else (0.27, 0.12, 0.56, 0.76))
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:,g}".replace(",", " "))
    ax.set_yticks([])
    ax.locator_params(axis="x", nbins=5 if narrow else 9)
    across = ax.get_yaxis_transform()
    name = {"ha": "right", "va": "center", "fontsize": SMALL, "transform": across}
    total = {"ha": "left", "va": "center", "fontsize": SMALL}
    halo = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
    artists = {"ax": ax, "bars": [], "names": [], "totals": []}
    for i in range(MOST_EVENTS):
        bars = [ax.barh([i], [0.0], 0.66, edgecolor=INK, lw=0.8)[0] for _ in valves]
        artists["bars"].append(bars)
        artists["names"].append(ax.text(-0.01, i, "", **name))
        artists["totals"].append(ax.text(0, i, "", bbox=halo, **total))
    artists["line"] = ax.axvline(0, color=VERMILLION, lw=1.5, ls="--", zorder=0)
    _events_legend(figure, valves, columns=4 if narrow else 7)
    update_events(artists, result, unit_set)
    return artists


def _events_legend(figure, valves, columns):
    keys = [Patch(facecolor=f, hatch=h, edgecolor=INK) for _, (f, h) in zip(valves, _FILLS)]
    keys.append(Patch(facecolor="white", edgecolor=INK, linestyle=(0, (2, 2))))
    figure.legend(keys, [*valves, "dashed: liquid, to the drum"], loc="upper center", ncol=columns,
                  frameon=False, fontsize=SMALL, bbox_to_anchor=(0.52, 1.0))  # fmt: skip


def _event_rows(result):
    """Rows (name, {valve: kg/s}, {valve: kg/s of liquid}), largest first, the false sum last."""
    vapor, liquid = _get(result, "by_event"), _get(result, "liquid")
    both = list(dict.fromkeys([*vapor, *liquid]))
    if len(both) >= MOST_EVENTS:
        raise InputError(f"by_event: up to {MOST_EVENTS - 1} events, not {len(both)}")
    rows = [(e, vapor.get(e, {}), liquid.get(e, {})) for e in both]
    rows.sort(key=lambda row: (-sum(row[1].values()), -sum(row[2].values())))
    worst = {v: max(found.get(v, 0.0) for found in vapor.values()) for v in _get(result, "valves")}
    return [*rows, (_NO_EVENT, worst, {})]


def update_events(artists, result, unit_set="SI"):
    """Move the bars of `build_events`; returns the alt text."""
    rows, disposal, picked = _event_rows(result), _get(result, "disposal"), _get(result, "event")
    show, ends = symbol("mass_flow").show, []
    for i, bars in enumerate(artists["bars"]):
        name, total = artists["names"][i], artists["totals"][i]
        for artist in (*bars, name, total):
            artist.set_visible(i < len(rows))
        if i < len(rows):
            event = rows[i][0]
            ends.append(_stack(bars, rows[i], _get(result, "valves"), unit_set))
            total.set_text(_total_words(rows[i], unit_set))
            mark = "governs: " if event == disposal.governing else ""
            bold = mark or event == picked
            name.set(text=("▸ " if event == picked else "") + mark + event,
                     weight="bold" if bold else "normal",
                     color=GREY if event == _NO_EVENT else INK)  # fmt: skip
    line = show(disposal.mass_flow, unit_set)
    for total, end in zip(artists["totals"], ends):  # a label the line would cut stands beyond it
        cut = end <= line < end + 0.26 * max(ends)
        total.set_x((line if cut else end) + 0.02 * max(ends))
    artists["line"].set_xdata([line] * 2)
    artists["ax"].set(xlim=(0, 1.02 * max(ends)), ylim=(len(rows) - 0.4, -0.6))
    unit = unit_text(symbol("mass_flow").display_unit(unit_set))
    artists["ax"].set_xlabel(f"load on the header in one event, {unit}", fontsize=NORMAL)
    said = "; ".join(f"{row[0]} {_total_words(row, unit_set)}" for row in rows)
    return f"Load on the header by event, stacked by valve. {disposal.governing} governs. {said}."


def _stack(bars, row, valves, unit_set):
    """Place the bars of one row side by side; returns where they end."""
    event, vapor, liquid = row
    left = 0.0
    for bar, valve, (color, hatch) in zip(bars, valves, _FILLS):
        dry, wet = vapor.get(valve, 0.0), liquid.get(valve, 0.0)
        width = symbol("mass_flow").show(dry + wet, unit_set)
        bar.set(x=left, width=width, hatch=hatch, facecolor="white" if wet else color,
                linestyle=(0, (2, 2)) if wet else "-", visible=width > 0,
                alpha=0.45 if event == _NO_EVENT else None)  # fmt: skip
        left += width
    return left


def _total_words(row, unit_set):
    dry, wet = (sum(part.values()) for part in row[1:])
    parts = [shown("mass_flow", dry, unit_set)] if dry else []
    parts += [f"{shown('mass_flow', wet, unit_set)} liquid"] if wet else []
    return " + ".join(parts)
