"""Pictures of a knock-out drum, to scale, and of a jet into the air with its flammable cloud.

A pair fits a panel: `build(figure, result, unit_set)`, `update(artists, result, unit_set)`.
"""

import numpy as np
from matplotlib.patches import Circle, Rectangle

from relieflib.report.figures import BLUE, GREEN, GREY, INK, ORANGE, SKY, SMALL, VERMILLION
from relieflib.symbols import shown, symbol

LIQUID, SLOPS = "#DCEBF5", "#A9CDE8"


# ---- the drum


def build_drum(figure, result, unit_set):
    """Section and side view of a horizontal drum. result: check, separation, level, slops_level."""
    across, along = figure.subplots(1, 2, width_ratios=(1, 2.1))
    figure.subplots_adjust(left=0.02, right=0.985, bottom=0.08, top=0.87, wspace=0.06)
    artists = {"figure": figure, "across": across, "along": along}
    for name, ax in (("across", across), ("along", along)):
        ax.set_aspect("equal")
        ax.set_axis_off()
        for part, colour, z in (("liquid", LIQUID, 1), ("slops", SLOPS, 2)):
            artists[f"{name} {part}"] = ax.fill([0, 0, 0], [0, 0, 0], color=colour, zorder=z)[0]
        artists[f"{name} inlet"] = ax.plot([], [], color=GREY, ls=":", lw=1.2, zorder=4)[0]
    artists["round"] = across.add_patch(Circle((0, 0), 1, fill=False, ec=INK, lw=1.5, zorder=3))
    artists["shell"] = along.add_patch(Rectangle((0, 0), 1, 1, fill=False, ec=INK, lw=1.5))
    artists["fall"] = along.plot([], [], color=BLUE, lw=1.8, zorder=5)[0]
    artists["second"] = along.plot([], [], color=BLUE, lw=1.8, ls="--", zorder=5)[0]
    artists["ends"] = along.plot([], [], marker="o", ls="", color=BLUE, zorder=6)[0]
    artists["misses"] = along.plot([], [], marker="X", ms=9, ls="", color=VERMILLION, zorder=6)[0]
    for name, ax in (("space", across), ("held", across), ("said", along)):
        artists[name] = ax.text(0, 0, "", fontsize=SMALL, ha="center", va="center", zorder=7)
    artists["space"].set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 1.0})
    artists["titles"] = (across.set_title("", fontsize=SMALL), along.set_title("", fontsize=SMALL))
    return artists


def update_drum(artists, result, unit_set):
    """Move the drum's walls, liquid and the droplet's path; returns words for the picture."""
    drum, s = result["drum"], result["separation"]
    D, L, level = drum.diameter, drum.length, min(result["level"], drum.diameter)
    _section(artists, D, level, result["slops_level"], drum.inlet_height)
    _side(artists, D, L, level, result["slops_level"], drum.inlet_height)
    _droplet(artists, drum, s, level)
    space = "no vapour space" if not s.vapor_height else (
        f"gas {shown('vapor_height', s.vapor_height, unit_set, 3)} high")  # fmt: skip
    artists["space"].set_position((0, (D + level) / 2))
    artists["space"].set_text(space if D - level > 0.12 * D else "")
    artists["held"].set_position((0, level / 2))
    artists["held"].set_text(
        shown("volume", result["held"], unit_set, 3) if level > 0.15 * D else ""
    )
    word = "falls out" if s.falls_out else "goes on to the flare"
    need = "no length will do" if np.isinf(s.used) else (
        f"needs {shown('length_needed', s.length_needed, unit_set, 3)} of "
        f"{shown('length', L, unit_set, 3)}")  # fmt: skip
    artists["said"].set_position((L / 2, -0.13 * D))
    artists["said"].set_text(f"droplet of {shown('droplet_diameter', drum.droplet_diameter)}: "
                             f"{need}, {word}")  # fmt: skip
    artists["titles"][0].set_text("section, to scale")
    enters = "gas enters at both ends" if drum.passes == 2 else "gas enters at the left"
    artists["titles"][1].set_text(f"from the side, to scale; {enters}")
    return (f"Section and side view of a drum {shown('diameter', D, unit_set)} wide: liquid stands "
            f"{shown('level', level, unit_set, 3)} high; a droplet {need} and {word}.")  # fmt: skip


def _section(artists, D, level, slops_level, inlet):
    R = D / 2
    artists["round"].set(center=(0, R), radius=R)
    for part, top in (("liquid", level), ("slops", min(slops_level, level))):
        half = np.arccos(np.clip(1.0 - top / R, -1.0, 1.0))
        angle = np.linspace(-half, half, 121)
        artists[f"across {part}"].set_xy(np.c_[R * np.sin(angle), R - R * np.cos(angle)])
    _inlet(artists["across inlet"], inlet, -0.6 * D, 0.6 * D)
    artists["across"].set(xlim=(-0.62 * D, 0.62 * D), ylim=(-0.25 * D, 1.08 * D))


def _side(artists, D, L, level, slops_level, inlet):
    artists["shell"].set(width=L, height=D)
    for part, top in (("liquid", level), ("slops", min(slops_level, level))):
        artists[f"along {part}"].set_xy([(0, 0), (L, 0), (L, top), (0, top)])
    _inlet(artists["along inlet"], inlet, -0.03 * L, 1.03 * L)
    artists["along"].set(xlim=(-0.05 * L, 1.05 * L), ylim=(-0.25 * D, 1.08 * D))


def _inlet(artist, height, start, end):
    artist.set_data(([], []) if height is None else ([start, end], [height, height]))


def _droplet(artists, drum, s, level):
    """Straight paths: from the top of each inlet, down to the liquid or out at the far end."""
    D, L, N = drum.diameter, drum.length, drum.passes
    for name in ("fall", "second", "ends", "misses"):
        artists[name].set_data([], [])
    if np.isinf(s.used) or not s.vapor_height:
        return
    reach = min(s.length_needed, L) / N
    down = D - s.vapor_height * min(L / s.length_needed, 1.0) if s.length_needed else level
    ends = [(reach, down)]
    artists["fall"].set_data([0, reach], [D, down])
    if N == 2:
        artists["second"].set_data([L, L - reach], [D, down])
        ends.append((L - reach, down))
    artists["ends" if s.falls_out else "misses"].set_data(*zip(*ends))


# ---- filling against time


def build_filling(figure, result, unit_set):
    """Level against time. result: rows (name, minutes, levels, limit or None), diameter."""
    ax = figure.subplots()
    figure.subplots_adjust(left=0.09, right=0.97, bottom=0.13, top=0.93)
    styles = zip((BLUE, VERMILLION, GREEN, ORANGE, SKY, INK), ("-", "--", "-.", ":", "-", "--"))
    artists = {"ax": ax, "lines": []}
    for (name, *_), (colour, style) in zip(result["rows"], styles):
        artists["lines"].append(ax.plot([], [], color=colour, ls=style, lw=1.8, label=name)[0])
    artists["marks"] = ax.plot([], [], marker="D", ls="", color=INK, zorder=5,
                               label="droplets no longer fall out")[0]  # fmt: skip
    ax.legend(fontsize=SMALL, loc="lower right")
    ax.grid(alpha=0.3)
    return artists


def update_filling(artists, result, unit_set):
    """Move the curves; returns words for the picture."""
    ax, unit = artists["ax"], symbol("level").display_unit(unit_set)
    scale, marks = symbol("level").show(1.0, unit_set), []
    for line, (_, minutes, levels, limit) in zip(artists["lines"], result["rows"]):
        line.set_data(minutes, np.asarray(levels) * scale)
        if limit is not None:
            marks.append((limit[0], limit[1] * scale))
    artists["marks"].set_data(*zip(*marks)) if marks else artists["marks"].set_data([], [])
    D = result["diameter"] * scale
    ax.set(xlim=(0, max(r[1][-1] for r in result["rows"])), ylim=(0, 1.03 * D),
           xlabel="time since the event began [min]",
           ylabel=f"level in the drum [{unit}]")  # fmt: skip
    said = "; ".join(f"{r[0]}: {r[2][-1] * scale:.2f} {unit} at the end" for r in result["rows"])
    return f"Level in the drum against time, top of the drum at {D:.3g} {unit}. {said}."


# ---- a jet into the air


def build_cloud(figure, result, unit_set):
    """Jet and cloud from the side. result: check, exit_height, platforms."""
    ax = figure.subplots()
    figure.subplots_adjust(left=0.09, right=0.75, bottom=0.13, top=0.93)
    artists = {"ax": ax, "clouds": [], "axes": []}
    looks = (
        (GREEN, "calm", "--"),
        (BLUE, "half of the wind", "-."),
        (VERMILLION, "full wind", "-"),
    )
    for colour, words, style in looks:
        artists["clouds"].append(ax.fill([0, 0, 0], [0, 0, 0], fc=colour, alpha=0.25, ec=colour,
                                         ls=style, lw=1.3, label=words)[0])  # fmt: skip
    artists["stub"] = ax.plot([], [], color=INK, lw=3)[0]
    artists["platforms"] = ax.plot([], [], marker="s", ms=8, ls="", color=INK, label="platform")[0]
    artists["near"] = ax.plot([], [], marker="X", ms=11, ls="", color=VERMILLION,
                              label="platform in the cloud")[0]  # fmt: skip
    ax.axhline(0.0, color=GREY, lw=1.5)
    ax.set_aspect("equal")
    ax.grid(alpha=0.3)
    ax.legend(fontsize=SMALL, loc="upper left", bbox_to_anchor=(1.01, 1.0), borderaxespad=0.0)
    return artists


def update_cloud(artists, result, unit_set):
    """Move clouds and platforms; returns words for the picture."""
    check, h = result["check"], result["exit_height"]
    scale, unit = symbol("distance").show(1.0, unit_set), symbol("distance").display_unit(unit_set)
    clouds = check.clouds
    shown_clouds = [clouds[0], clouds[len(clouds) // 2], clouds[-1]] if clouds else []
    for artist in artists["clouds"]:
        artist.set_xy([(0, h * scale)] * 3)
    for artist, one in zip(artists["clouds"], shown_clouds):
        artist.set_xy(_outline(one) * scale)
    artists["stub"].set_data([0, 0], [0, h * scale])
    inside = [p for p in result["platforms"] if any(c.clearance(*p) <= 0 for c in clouds)]
    out = [p for p in result["platforms"] if p not in inside]
    for name, points in (("platforms", out), ("near", inside)):
        data = np.array(points, dtype=float).reshape(-1, 2) * scale
        artists[name].set_data(data[:, 0], data[:, 1])
    tops = [(c.heights + c.radii).max() for c in clouds] + [h, *(p[1] for p in result["platforms"])]
    ends = [(c.distances + c.radii).max() for c in clouds] + [p[0] for p in result["platforms"]]
    top, end = 1.08 * max(tops) * scale, 1.25 * max(ends, default=h) * scale
    artists["ax"].set(xlim=(-0.25 * max(end, top), max(end, 0.9 * top)), ylim=(-0.02 * top, top),
                      xlabel=f"downwind [{unit}]", ylabel=f"above grade [{unit}]")  # fmt: skip
    return (f"Jet from {h * scale:.3g} {unit} above grade: {check.verdict}. Flammable to half of "
            f"the limit for {check.half_length * scale:.3g} {unit} along it; {len(inside)} of "
            f"{len(result['platforms'])} platforms in it.")  # fmt: skip


def _outline(cloud):
    """Both edges of a cloud as one closed polygon."""
    x, z, r = cloud.distances, cloud.heights, cloud.radii
    angle = np.arctan2(np.gradient(z), np.gradient(x))
    off = np.c_[-np.sin(angle), np.cos(angle)] * r[:, None]
    points = np.c_[x, z]
    return np.vstack([points + off, (points - off)[::-1]])
