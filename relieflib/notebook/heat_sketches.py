"""Small sketches of the equipment of the heat causes, in the parts of `sketch`."""

from matplotlib.patches import Polygon

from relieflib.errors import InputError
from relieflib.report.sketch import (
    Sketch,
    block_valve,
    bubble,
    column,
    control_valve,
    exchanger,
    flag,
    horizontal_vessel,
    pipe,
    pump,
    reactor,
    relief_valve,
    tank,
    vertical_vessel,
)

ALT = {
    "exterior_fire_liquid": (
        "Sketch. Propane bullet V-105, at its highest level, in a pool fire; the flames reach the "
        "wetted part of its shell, and PSV-107 on top leads to the flare."
    ),
    "exterior_fire_gas": (
        "Sketch. Hydrogen receiver V-104, full of gas, stands in a pool fire; no liquid cools its "
        "wall. PSV-105 on top leads to the flare."
    ),
    "loss_of_cooling": (
        "Sketch. Depropaniser C-101 with steam reboiler E-103 below and water-cooled condenser "
        "E-102 above; the cooling water is lost, and vapour leaves through PSV-106 to the flare."
    ),
    "power_and_air_failure": (
        "Sketch. Bus A has failed: cooling-water pumps, feed pump P-101 and air compressor stop. "
        "At once the column's PSV-106 and the feed drum's PSV-100 lift (and, not drawn, PSV-105, "
        "on the warm gas that PV-101 passes on); when the stored air is used up, the separator's "
        "PSV-103 instead. All lead into one flare header."
    ),
    "abnormal_heat_input": (
        "Sketch. Steam valve FV-103 of reboiler E-103 stands wide open; more vapour rises in "
        "depropaniser C-101 than the condenser takes, and PSV-106 leads to the flare."
    ),
    "runaway_reaction": (
        "Sketch. Stirred batch reactor R-101 heats itself; two phases swell to PSV-110 on top, "
        "which leads to the flare."
    ),
    "tank_breathing": (
        "Sketch. Naphtha tank T-101 with a pressure and vacuum vent and an emergency vent on its "
        "roof; filling drives air and vapour out, emptying and cooling draw air in."
    ),
}


def heat_sketch(cause):
    """Sketch of the demo plant's equipment in one cause of heat.

    Parameters: cause, name of its module. Returns `Sketch`. Raises InputError for another cause.
    Source: symbols of ISO 10628-2 and ISA-5.1.
    >>> heat_sketch("tank_breathing").alt[:26]
    'Sketch. Naphtha tank T-101'
    """
    if cause not in ALT:
        raise InputError(f"cause = '{cause}': use one of {', '.join(ALT)}")
    s = Sketch(200, 96, ALT[cause])
    _DRAW[cause](s)
    return s


def _valve(s, x, y, tag, to="flare", end=150):
    pipe(s, (x, y), (x, y + 8), arrow=False, relief=True)
    relief_valve(s, x, y + 11.4)
    pipe(s, (x + 3.4, y + 11.4), (end, y + 11.4), relief=True)
    flag(s, end, y + 11.4, to)
    s.label(x - 4, y + 16, tag, ha="right")


def _flames(s, left, right, y):
    for i in range(int((right - left) / 8)):
        x = left + 8 * i
        shape = [(x, y), (x + 2, y + 8), (x + 4, y + 3), (x + 6, y + 10), (x + 8, y)]
        s.ax.add_patch(Polygon(shape, facecolor="#E69F00", edgecolor="#D55E00", zorder=1))
    s.line([(left - 6, y), (right + 6, y)], linewidth=1.0)


def _fire_liquid(s):
    _flames(s, 48, 120, 12)
    horizontal_vessel(s, 84, 40, 70, 26, level=48)
    s.label(84, 38, "V-105, propane")
    _valve(s, 84, 53, "PSV-107")


def _fire_gas(s):
    _flames(s, 60, 108, 8)
    vertical_vessel(s, 84, 44, 24, 50)
    s.label(84, 44, "V-104\ngas")
    _valve(s, 84, 69, "PSV-105")


def _column(s, steam_open=False, water_lost=False):
    column(s, 60, 42, 16, 62, trays=7, level=20)
    s.label(42, 42, "C-101")
    exchanger(s, 110, 20, 34, 12)
    s.label(110, 8, "E-103, steam" + (": valve wide open" if steam_open else ""))
    pipe(s, (68, 16), (93, 16))
    pipe(s, (110, 26), (110, 34), (68, 34))
    pipe(s, (160, 20), (127, 20))
    control_valve(s, 144, 20)
    exchanger(s, 110, 58, 34, 12)
    pipe(s, (60, 73), (60, 78), (110, 78), (110, 64))
    s.label(130, 48, "E-102, water lost" if water_lost else "E-102, condenser", ha="left")
    if water_lost:
        s.label(110, 58, "×", size=18, color="#D55E00")
    pipe(s, (60, 78), (60, 83), arrow=False, relief=True)
    relief_valve(s, 60, 86)
    pipe(s, (63.4, 86), (150, 86), relief=True)
    flag(s, 150, 86, "flare")
    s.label(56, 90, "PSV-106", ha="right")


def _power(s):
    bubble(s, 14, 50, "bus", "A")
    s.label(14, 40, "failed", color="#D55E00")
    for y, words in ((78, "cooling water stops"), (50, "P-101 stops"), (22, "air stops")):
        s.line([(20, 50), (26, y), (31, y)], linewidth=0.8)
        pump(s, 37, y, 6)
        s.label(46, y, words, ha="left")
    for x, tag, item in ((82, "PSV-106", "C-101"), (114, "PSV-100", "V-100"),
                         (150, "PSV-103", "V-101")):  # fmt: skip
        vertical_vessel(s, x, 34, 14, 26)
        s.label(x, 34, item)
        pipe(s, (x, 47), (x, 58), arrow=False, relief=True)
        relief_valve(s, x, 61.4)
        pipe(s, (x + 3.4, 61.4), (x + 10, 61.4), (x + 10, 82), arrow=False, relief=True)
        s.label(x - 4, 66, tag, ha="right")
    pipe(s, (92, 82), (178, 82), relief=True)
    flag(s, 178, 82, "flare")
    s.label(98, 12, "lift at once")
    s.label(150, 12, "lifts when the air is used up")


def _reactor(s):
    reactor(s, 80, 40, 28, 46, level=50)
    s.label(104, 36, "R-101, heats itself", ha="left")
    pipe(s, (18, 52), (66, 52))
    block_valve(s, 40, 52)
    s.label(36, 59, "charge")
    _valve(s, 90, 62, "PSV-110")


def _tank(s):
    tank(s, 84, 8, 60, 42, level=32)
    s.label(84, 22, "T-101, naphtha")
    pipe(s, (16, 20), (54, 20))
    pipe(s, (114, 20), (156, 20))
    s.label(34, 26, "filling")
    s.label(136, 26, "emptying")
    for x, tag in ((72, "pressure/vacuum vent"), (98, "emergency vent")):
        pipe(s, (x, 53.5), (x, 74), arrow=False, relief=True)
        relief_valve(s, x, 77.4, side=-1 if x < 84 else 1)
        s.label(x + (-6 if x < 84 else 6), 86, tag, ha="right" if x < 84 else "left")


_DRAW = {
    "exterior_fire_liquid": _fire_liquid,
    "exterior_fire_gas": _fire_gas,
    "loss_of_cooling": lambda s: _column(s, water_lost=True),
    "power_and_air_failure": _power,
    "abnormal_heat_input": lambda s: _column(s, steam_open=True),
    "runaway_reaction": _reactor,
    "tank_breathing": _tank,
}
