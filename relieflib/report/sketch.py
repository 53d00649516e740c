"""Flow sketches drawn with matplotlib, in the symbols of ISO 10628-2 and ISA-5.1.

A `Sketch` holds one Axes in drawing units (1 unit is about 1 mm on A4), y upward. Each part is a
short function that draws itself around a point; text sizes are in points.
"""

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Ellipse, FancyBboxPatch, Polygon, Rectangle

from relieflib.report.figures import DPI, INK, SMALL, TINY, VERMILLION, Display

LINE, THIN = 1.3, 0.9
RELIEF = {"color": VERMILLION, "linestyle": (0, (5, 1.5)), "linewidth": 1.2}


class Sketch:
    """A drawing of `width` by `height` units, `scale` of them to an inch, with its alt text."""

    def __init__(self, width, height, alt="", scale=34.0):
        self.width, self.height, self.alt, self.scale = width, height, alt, scale
        self.figure = Figure(figsize=(width / scale, height / scale), dpi=DPI, facecolor="white")
        FigureCanvasAgg(self.figure)
        self.ax = self.figure.add_axes((0, 0, 1, 1))
        self.ax.set(xlim=(0, width), ylim=(0, height), aspect="equal")
        self.ax.set_axis_off()
        self.texts = []

    def patch(self, patch, fill="white", width=LINE, z=3):
        """Add a patch with the outline of equipment."""
        patch.set(facecolor=fill, edgecolor=INK, linewidth=width, zorder=z)
        self.ax.add_patch(patch)
        return patch

    def line(self, points, z=2, **style):
        """Draw straight pieces through `points`, as a pipe unless `style` says otherwise."""
        style = {"color": INK, "linewidth": LINE, "solid_capstyle": "butt"} | style
        x, y = zip(*points)
        return self.ax.plot(x, y, zorder=z, **style)[0]

    def label(self, x, y, text, size=SMALL, ha="center", va="center", **style):
        """Write text; it is kept in `texts`, so that a test can look for overlaps."""
        style = {"color": INK, "linespacing": 1.1, "zorder": 6} | style
        self.texts.append(self.ax.text(x, y, text, fontsize=size, ha=ha, va=va, **style))
        return self.texts[-1]

    def show(self):
        """The sketch as an object that a notebook shows with its alt text.

        Raises InputError when there is no alt text.
        """
        return Display(self.figure, self.alt)

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.show()._repr_mimebundle_(include, exclude)


def pipe(s, *points, arrow=True, relief=False):
    """Pipe through `points`, with an arrowhead at its end; `relief` draws a relief line."""
    style = RELIEF if relief else {}
    s.line(points, **style)
    if arrow:
        (x0, y0), (x1, y1) = points[-2:]
        s.ax.annotate(
            "", (x1, y1), (x1 - 0.01 * (x1 - x0), y1 - 0.01 * (y1 - y0)), zorder=4,
            arrowprops={"arrowstyle": "-|>,head_length=0.42,head_width=0.17", "shrinkA": 0,
                        "shrinkB": 0, "color": style.get("color", INK), "lw": 0.6},
        )  # fmt: skip


def vertical_vessel(s, x, y, width, height, level=None):
    """Vertical vessel, centre (x, y), dished heads; `level` draws a liquid surface at that y."""
    return _vessel(s, x, y, width, height, 0.5 * width, level)


def horizontal_vessel(s, x, y, width, height, level=None):
    """Horizontal vessel, centre (x, y), dished heads; `level` draws a liquid surface at that y."""
    return _vessel(s, x, y, width, height, 0.5 * height, level)


def _vessel(s, x, y, width, height, rounding, level):
    outline = FancyBboxPatch(
        (x - width / 2, y - height / 2), width, height,
        boxstyle=f"round,pad=0,rounding_size={0.98 * rounding}", mutation_aspect=1,
    )  # fmt: skip
    s.patch(outline)
    if level is not None:
        liquid = Rectangle((x - width / 2, y - height / 2), width, level - (y - height / 2))
        liquid.set(facecolor="#DCEBF5", edgecolor="none", zorder=3.1)
        s.ax.add_patch(liquid)
        liquid.set_clip_path(outline)
        s.ax.add_patch(edge := Rectangle((x - width / 2, level), width, 0.01))
        edge.set(edgecolor=INK, linewidth=0.7, linestyle=(0, (3, 2)), zorder=3.2)
        edge.set_clip_path(outline)
        over = FancyBboxPatch(
            (x - width / 2, y - height / 2), width, height,
            boxstyle=f"round,pad=0,rounding_size={0.98 * rounding}", mutation_aspect=1,
        )  # fmt: skip
        s.patch(over, fill="none", z=3.3)
    return outline


def column(s, x, y, width, height, trays=8, level=None):
    """Column with trays, centre (x, y)."""
    vertical_vessel(s, x, y, width, height, level)
    low, high = y - 0.36 * height, y + 0.40 * height
    for i in range(trays):
        at = low + (high - low) * i / (trays - 1)
        s.line([(x - width / 2, at), (x + width / 2, at)], z=3.4, linewidth=0.7, linestyle="--")


def exchanger(s, x, y, width=28, height=11):
    """Shell-and-tube exchanger, centre (x, y): tube side at its ends, shell above and below."""
    horizontal_vessel(s, x, y, width, height)
    for side in (-1, 1):
        sheet = x + side * 0.32 * width
        s.line([(sheet, y - height / 2), (sheet, y + height / 2)], z=3.4, linewidth=THIN)
    for dy in (-0.2, 0.0, 0.2):
        s.line([(x - 0.32 * width, y + dy * height), (x + 0.32 * width, y + dy * height)], z=3.4,
               linewidth=0.7)  # fmt: skip


def pump(s, x, y, radius=5.0):
    """Centrifugal pump, centre (x, y): suction left, discharge right."""
    s.patch(Circle((x, y), radius))
    points = [(x, y + radius), (x + radius, y), (x, y - radius)]
    s.patch(Polygon(points, closed=False, fill=False), fill="none", width=THIN, z=3.4)


def _bow_tie(s, x, y, size, upright, fills=("white", "white")):
    a, b = size, 0.6 * size
    for side, fill in zip((-1, 1), fills):
        corners = [(0, 0), (side * a, b), (side * a, -b)]
        corners = [(v, u) if upright else (u, v) for u, v in corners]
        s.patch(Polygon([(x + u, y + v) for u, v in corners]), fill=fill, width=THIN, z=4)


def block_valve(s, x, y, upright=False, closed=False, size=3.0):
    """Block valve on a pipe; `upright` on a vertical one; filled black when closed."""
    _bow_tie(s, x, y, size, upright, (INK, INK) if closed else ("white", "white"))


def control_valve(s, x, y, upright=False, closed=False, size=3.4):
    """Control valve with a diaphragm actuator, above the pipe or right of an upright one."""
    stem, top = 1.5 * size, 0.75 * size
    if upright:
        s.line([(x, y), (x + stem, y)], linewidth=THIN)
        dome = Rectangle((x + stem, y - top), 0.75 * size, 2 * top)
    else:
        s.line([(x, y), (x, y + stem)], linewidth=THIN)
        dome = Rectangle((x - top, y + stem), 2 * top, 0.75 * size)
    boxed = FancyBboxPatch(dome.get_xy(), dome.get_width(), dome.get_height(),
                           boxstyle=f"round,pad=0,rounding_size={0.3 * size}")  # fmt: skip
    s.patch(boxed, width=THIN, z=4)
    _bow_tie(s, x, y, size, upright, (INK, INK) if closed else ("white", "white"))


def check_valve(s, x, y, upright=False, size=3.0):
    """Check valve: flow leaves towards the filled side (right, or up when upright)."""
    _bow_tie(s, x, y, size, upright, ("white", INK))


def relief_valve(s, x, y, size=3.4, side=1):
    """Spring-loaded angle relief valve: inlet below (x, y), outlet right, or left with side -1."""
    a, b = size, 0.6 * size
    s.patch(Polygon([(x, y), (x - b, y - a), (x + b, y - a)]), width=THIN, z=4)
    s.patch(Polygon([(x, y), (x + side * a, y + b), (x + side * a, y - b)]), width=THIN, z=4)
    zigzag = [(0, 0), (0, 0.5), (-0.5, 0.7), (0.5, 1.0), (-0.5, 1.3), (0.5, 1.6), (0, 1.8),
              (0, 2.0)]  # fmt: skip
    s.line([(x + u * a, y + v * a) for u, v in zigzag], z=4, linewidth=THIN)


def rupture_disk(s, x, y, size=3.0):
    """Rupture disk in a vertical pipe, bulging towards the outlet above."""
    for dy in (-0.45, 0.75):
        s.line([(x - size, y + dy * size), (x + size, y + dy * size)], z=4, linewidth=LINE)
    arc = Ellipse((x, y - 0.45 * size), 1.7 * size, 2.0 * size)
    s.patch(arc, width=THIN, z=4)
    clip = Rectangle((x - size, y - 0.45 * size), 2 * size, 2 * size, transform=s.ax.transData)
    arc.set_clip_path(clip)


def flare(s, x, y, height=20):
    """Flare stack standing at (x, y), its flame on top."""
    s.patch(Rectangle((x - 1.2, y), 2.4, height))
    s.line([(x - 4, y), (x + 4, y)])
    flame = [(-1.6, 0), (-2.4, 3), (-0.6, 5), (0.2, 8.5), (2.2, 4.5), (1.6, 0)]
    points = [(x + u, y + height + v) for u, v in flame]
    s.patch(Polygon(points), fill="#F7DCC3", width=THIN)


def tank(s, x, y, width, height, level=None):
    """Atmospheric tank with a cone roof, standing on (x, y)."""
    s.patch(Rectangle((x - width / 2, y), width, height))
    roof = [(x - width / 2, y + height), (x, y + 1.15 * height), (x + width / 2, y + height)]
    s.patch(Polygon(roof))
    if level is not None:
        liquid = Rectangle((x - width / 2 + 0.4, y + 0.4), width - 0.8, level - y)
        liquid.set(facecolor="#DCEBF5", edgecolor="none", zorder=3.1)
        s.ax.add_patch(liquid)
        s.line([(x - width / 2, level), (x + width / 2, level)], z=3.2, linewidth=0.7,
               linestyle=(0, (3, 2)))  # fmt: skip


def reactor(s, x, y, width, height, level=None):
    """Stirred reactor with a jacket, centre (x, y), its motor on top."""
    jacket = [(-0.62, 0.15), (-0.62, -0.42), (-0.35, -0.57), (0.35, -0.57), (0.62, -0.42),
              (0.62, 0.15)]  # fmt: skip
    s.line([(x + u * width, y + v * height) for u, v in jacket], linewidth=THIN)
    vertical_vessel(s, x, y, width, height, level)
    top, blade = y + height / 2, y - 0.22 * height
    s.line([(x, top + 4), (x, blade)], z=3.6, linewidth=THIN)
    for side in (-1, 1):
        s.patch(Ellipse((x + side * 0.16 * width, blade), 0.32 * width, 0.1 * height), width=THIN,
                fill=INK, z=3.6)  # fmt: skip
    s.patch(Circle((x, top + 7), 3.4), z=4)
    s.label(x, top + 7, "M", TINY)


def bubble(s, x, y, function, number, radius=5.2):
    """Instrument bubble of ISA-5.1: function letters above the loop number."""
    s.patch(Circle((x, y), radius), width=THIN, z=4)
    s.label(x, y + 0.1, f"{function}\n{number}", TINY)


def signal(s, *points):
    """Signal line from an instrument to its valve."""
    s.line(points, linewidth=0.8, linestyle=(0, (2, 1.6)), color="#555555")


def flag(s, x, y, text, width=None, into=False, size=TINY):
    """Off-drawing connector: its left end at (x, y), pointing right; `into` has the flow enter."""
    width = 2.05 * len(text) + 6 if width is None else width
    h = 3.1
    points = [(x, y - h), (x + width - h, y - h), (x + width, y), (x + width - h, y + h),
              (x, y + h)]  # fmt: skip
    s.patch(Polygon(points), fill="#F4F4F4" if not into else "white", width=THIN, z=4)
    s.label(x + (width - h) / 2, y, text, size)
    return x + width


def stream_number(s, x, y, number):
    """Diamond with the number of a stream, on its pipe."""
    r = 4.3
    s.patch(Polygon([(x - r, y), (x, y + r), (x + r, y), (x, y - r)]), width=0.8, z=4.5)
    s.label(x, y - 0.2, str(number), TINY - 0.5)
