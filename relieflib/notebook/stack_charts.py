"""Pictures of a flare stack: seen from the side, from above, and the heat along the ground.

A pair of build and update each, as `report.figures`; `result` is a dict with check, a
`disposal.stack.StackCheck`, and what each pair names. Levels of heat are told apart by line style
and word beside colour.
"""

from dataclasses import replace

import numpy as np

from relieflib.disposal import radiation as heat, stack as stacks
from relieflib.report.figures import (
    BLUE,
    GREEN,
    GREY,
    INK,
    NORMAL,
    ORANGE,
    PURPLE,
    SMALL,
    TINY,
    VERMILLION,
    display,
    new_figure,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import number_text, unit_text

LEVELS = heat.LEVELS
_STYLES = ((GREEN, ":"), (BLUE, "--"), (ORANGE, "-."), (VERMILLION, "-"))
_WORDS = ("always", "2 to 3 min", "up to 30 s", "seconds")


def _unit(name, unit_set):
    return unit_text(symbol(name).display_unit(unit_set))


def _show(name, value, unit_set):
    return symbol(name).show(value, unit_set)


def _frame(ax, left, right, low, high):
    """Limits that show all of it with one scale for both directions."""
    box = ax.bbox
    wide, tall = right - left, high - low
    grow = max(tall * box.width / box.height - wide, 0.0) / 2.0
    rise = max(wide * box.height / box.width - tall, 0.0)
    ax.set(xlim=(left - grow, right + grow), ylim=(low, high + rise))


# ---------------------------------------------------------------- side and map


def build_side_and_map(figure, result, unit_set):
    """Stack and flame from the side, and lines of equal heat on the ground; reads check, rings."""
    side, plan = figure.subplots(1, 2, gridspec_kw={"width_ratios": [1, 1.15]})
    figure.subplots_adjust(left=0.075, right=0.985, top=0.9, bottom=0.13, wspace=0.24)
    ground = side.axhline(0.0, color=GREY, linewidth=1.5)
    parts = {
        "stack": side.plot([], [], color=INK, linewidth=4, solid_capstyle="butt")[0],
        "axis": side.plot([], [], color=ORANGE, linewidth=7, alpha=0.55,
                          solid_capstyle="round")[0],
        "center": side.plot([], [], "*", color=VERMILLION, markersize=13)[0],
        "down": side.plot([], [], color=VERMILLION, linestyle="--", linewidth=1.2)[0],
        "hot": side.plot([], [], "v", color=VERMILLION, markersize=9)[0],
        "said": side.text(0, 0, "", fontsize=SMALL, color=INK, ha="left", va="bottom"),
        "foot": plan.plot([], [], "s", color=INK, markersize=7)[0],
        "most": plan.plot([], [], "v", color=VERMILLION, markersize=8)[0],
    }  # fmt: skip
    rings = [plan.plot([], [], color=color, linestyle=style, linewidth=1.8)[0]
             for color, style in _STYLES]  # fmt: skip
    side.set_title("From the side, wind from the left", fontsize=NORMAL)
    plan.set_title("On the ground: square the foot, ▼ most heat", fontsize=NORMAL)
    for ax in (side, plan):
        ax.tick_params(labelsize=SMALL)
        ax.grid(color="#dddddd", linewidth=0.6)
        ax.set_axisbelow(True)
    return {"side": side, "plan": plan, "rings": rings, "ground": ground, **parts}


def update_side_and_map(artists, result, unit_set):
    """Move the artists of `build_side_and_map`; returns the alt text."""
    check = result["check"]
    _move_side(artists, check, unit_set)
    _move_plan(artists, check, result["rings"], unit_set)
    return _said(check, unit_set)


def _move_side(a, check, unit_set):
    def m(value):
        return _show("length", np.asarray(value, dtype=float), unit_set)

    H, flame = check.stack.stack_height, check.flame
    x, z = flame.axis()
    center = flame.center_downwind, H + flame.center_rise
    a["stack"].set_data(m([0, 0]), m([0, H]))
    a["axis"].set_data(m(x), m(H + z))
    a["center"].set_data(m([center[0]]), m([center[1]]))
    a["down"].set_data(m([center[0], center[0]]), m([center[1], 0]))
    a["hot"].set_data(m([check.worst_downwind]), m([0]))
    wide = max(0.6 * H, 1.5 * flame.end_downwind, 20.0)
    _frame(a["side"], *m([-0.25 * wide, wide, -0.06 * H, 1.12 * (H + flame.end_rise)]))
    a["said"].set_position((m(center[0] + 0.05 * wide), m(0.04 * H)))
    a["said"].set_text(
        f"▼ {shown('radiation', check.radiation, unit_set, 3)},\n"
        f"{shown('length', check.worst_downwind, unit_set, 2)} from the foot"
    )
    unit = _unit("length", unit_set)
    a["side"].set_xlabel(f"downwind, {unit}", fontsize=SMALL)
    a["side"].set_ylabel(f"above the ground, {unit}", fontsize=SMALL)


def _move_plan(a, check, rings, unit_set):
    def m(value):
        return _show("length", np.asarray(value, dtype=float), unit_set)

    for line, x, y, level, words in zip(a["rings"], *rings, LEVELS, _WORDS, strict=True):
        line.set_data(m(x), m(y))
        met = np.isfinite(x).any()
        number = number_text(_show("radiation", level.value, unit_set), 3)
        line.set_label(f"{number}: {words}" if met else f"{number}: nowhere")
    a["foot"].set_data(m([0]), m([0]))
    a["most"].set_data(m([check.worst_downwind]), m([0]))
    reach = np.nanmax(np.hypot(*rings)) if np.isfinite(rings[0]).any() else 50.0
    reach = max(float(reach), 30.0)
    _frame(a["plan"], *m([-1.05 * reach, 1.05 * reach, -1.5 * reach, 1.05 * reach]))
    unit = _unit("length", unit_set)
    a["plan"].set_xlabel(f"downwind, {unit}", fontsize=SMALL)
    a["plan"].set_ylabel(f"across the wind, {unit}", fontsize=SMALL)
    a["plan"].legend(fontsize=TINY + 0.5, loc="lower center", ncols=2, handlelength=2.6,
                     framealpha=1.0, borderpad=0.3, columnspacing=1.0,
                     title=_unit("radiation", unit_set), title_fontsize=TINY + 0.5)  # fmt: skip


def _said(check, unit_set):
    most = shown("radiation", check.radiation, unit_set, 3)
    limit = shown("radiation_limit", check.stack.radiation_limit, unit_set, 3)
    where = shown("length", check.worst_downwind, unit_set, 2)
    return (f"A stack of {shown('stack_height', check.stack.stack_height, unit_set, 3)} with its "
            f"flame bent downwind, and lines of equal heat on the ground around the place under "
            f"the flame. Most heat: {most}, {where} downwind of the foot, {check.radiation_verdict}"
            f" of {limit}.")  # fmt: skip


# ---------------------------------------------------------------- along the ground


def along_the_ground(check, unit_set="SI", reach=3.0):
    """Heat along the ground downwind: one point, a line of 50, and measured from the foot.

    Parameters: check, a `StackCheck`; unit_set; reach, in heights of the stack. Returns `Display`.
    """
    gas, stack, flame = check.gas, check.stack, check.flame
    x = np.linspace(-0.5 * stack.stack_height, reach * stack.stack_height, 241)
    wrong = stacks.flames.Flame(0.0, 0.0, 0.0, 0.0)  # all heat at the tip, upright
    curves = [
        ("one point, the flame's centre", flame, 1, VERMILLION, "-"),
        ("a line of 50 points along it", flame, stacks.LINE_POINTS, BLUE, "--"),
        ("slip: all from the tip, over the foot", wrong, 1, GREY, ":"),
    ]
    figure = new_figure((8.6, 3.9))
    ax = figure.subplots()
    figure.subplots_adjust(left=0.09, right=0.98, top=0.96, bottom=0.14)
    for words, source, points, color, style in curves:
        K = heat.field(source, gas.heat_release, gas.radiated_fraction, stack.stack_height, x,
                       points=points, relative_humidity=stack.relative_humidity,
                       solar_flux=stack.solar_flux)  # fmt: skip
        ax.plot(_show("length", x, unit_set), _show("radiation", K, unit_set), color=color,
                linestyle=style, linewidth=1.9, label=words)  # fmt: skip
    limit = _show("radiation_limit", stack.radiation_limit, unit_set)
    ax.axhline(limit, color=PURPLE, linestyle="-.", linewidth=1.3, label="limit")
    ax.axvline(0.0, color=INK, linewidth=2.5)
    ax.text(0.0, 0.02, " foot of the stack", transform=ax.get_xaxis_transform(), fontsize=SMALL)
    ax.set_ylim(0, None)
    ax.set_xlabel(f"downwind of the stack, {_unit('length', unit_set)}", fontsize=NORMAL)
    ax.set_ylabel(f"flame and sun, {_unit('radiation', unit_set)}", fontsize=NORMAL)
    ax.legend(fontsize=SMALL)
    peak = shown("length", flame.center_downwind, unit_set, 2)
    alt = ("Heat along the ground downwind of a flare stack. The curve of one point in the flame's "
           f"centre peaks {peak} downwind of the foot, right under the flame. A line of 50 points "
           "along the flame runs near it. A dotted curve that takes all heat from the tip peaks at "
           "the foot instead.")  # fmt: skip
    return display(figure, alt)


def wind_turns(gas, stack, unit_set="SI"):
    """Most heat at grade, and where, against the speed of the wind.

    Parameters: gas, stack as `stack.check`; unit_set. Returns `Display`.
    """
    winds = np.linspace(2.0, 20.0, 19)
    found = [stacks.check(gas, replace(stack, wind_velocity=float(w))) for w in winds]
    figure = new_figure((8.6, 3.4))
    ax = figure.subplots()
    figure.subplots_adjust(left=0.09, right=0.98, top=0.96, bottom=0.16)
    K = np.array([c.radiation for c in found])
    ax.plot(_show("wind_velocity", winds, unit_set), _show("radiation", K, unit_set), "o-",
            color=VERMILLION, markersize=4, label="most heat at grade")  # fmt: skip
    ax.axhline(_show("radiation_limit", stack.radiation_limit, unit_set), color=PURPLE,
               linestyle="-.", label="limit")  # fmt: skip
    ax.set_ylim(0, None)
    ax.set_xlabel(f"wind at the tip, {_unit('wind_velocity', unit_set)}", fontsize=NORMAL)
    ax.set_ylabel(f"flame and sun, {_unit('radiation', unit_set)}", fontsize=NORMAL)
    ax.legend(fontsize=SMALL)
    low, high = shown("radiation", K[0], unit_set, 3), shown("radiation", K[-1], unit_set, 3)
    return display(figure, f"Most heat at grade against wind: from {low} in a light wind to {high} "
                           "in a storm, since the wind lays the flame over.")  # fmt: skip
