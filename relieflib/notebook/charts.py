"""Small charts of single notebooks, in pairs of build and update as in `figures`."""

from relieflib.notebook.figures import BLUE, GREY, INK, NORMAL, SMALL, VERMILLION, _get, _shown
from relieflib.symbols import symbol


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
    words = [ax.text(0, 0.5, "", ha="center", va="center", fontsize=NORMAL) for _ in bars]
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
    texts = [f"atmosphere\n{_shown('atmosphere', atmosphere, unit_set)}",
             f"gauge\n{_shown('pressure_gauge', gauge, unit_set)}"]  # fmt: skip
    absolute = _shown("pressure", atmosphere + gauge, unit_set)
    for text, words, x in zip(artists["words"], texts, (low / 2, (low + high) / 2)):
        text.set(text=words, x=x)
        text.set_visible(x > 0.045 * high and (high - low) > 0.08 * high or words is texts[0])
    artists["words"][2].set_text(f"absolute = atmosphere + gauge = {absolute}")
    parts = _shown("atmosphere", atmosphere, unit_set), _shown("pressure_gauge", gauge, unit_set)
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
    show, unit = symbol("area").show, symbol("area").display_unit(unit_set)
    most, said = max(way.area for way in ways), []
    for i, row in enumerate(artists["rows"]):
        for artist in row:
            artist.set_visible(i < len(ways))
        if i < len(ways):
            bar, name, size = row
            bar.set_width(show(ways[i].area, unit_set))
            name.set_text(str(ways[i]).replace(", spare", "\nspare"))
            size.set_text(f"{_shown('area', ways[i].area, unit_set)}, {ways[i].excess:+.0%}")
            size.set_color(INK if ways[i].excess < 0.5 else GREY)
            said.append(f"{ways[i]}, {ways[i].excess:+.0%}")
    artists["line"].set_xdata([show(area, unit_set)] * 2)
    artists["needed"].set_x(show(area, unit_set))
    artists["ax"].set(xlim=(0, 1.05 * show(most, unit_set)))
    artists["ax"].set_xlabel(f"area that lifts together, {unit}", fontsize=NORMAL)
    return f"Required {_shown('area', area, unit_set)}; ways to install it: {'; '.join(said)}."
