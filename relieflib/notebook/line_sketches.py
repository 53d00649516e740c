"""Sketches of a relief valve with its lines, in the parts of `sketch`."""

from relieflib.errors import InputError
from relieflib.report.figures import TINY
from relieflib.report.sketch import (
    Sketch,
    block_valve,
    flag,
    flare,
    pipe,
    relief_valve,
    rupture_disk,
    vertical_vessel,
)


def line_sketch(side):
    """Sketch of PSV-105 of the demo plant with its inlet or its outlet line.

    Parameters: side, 'inlet' or 'outlet'. Returns `Sketch`. Raises InputError for another.
    Source: symbols of ISO 10628-2 and ISA-5.1.
    >>> line_sketch("inlet").alt[:20]
    'Sketch. Vessel V-104'
    """
    if side not in ("inlet", "outlet"):
        raise InputError(f"side = '{side}': use 'inlet' or 'outlet'")
    return _inlet() if side == "inlet" else _outlet()


def _inlet():
    s = Sketch(200, 104, "Sketch. Vessel V-104; on its top the inlet line of PSV-105 begins at a "
               "nozzle with a flush entrance, goes up and round an elbow to the valve. Beside it "
               "the parts that a line may hold besides: a block valve, locked open, and a rupture "
               "disk.")  # fmt: skip
    vertical_vessel(s, 44, 32, 30, 46, level=None)
    s.label(44, 32, "V-104")
    pipe(s, (44, 55), (44, 74), (84, 74), (84, 81), arrow=False)
    relief_valve(s, 84, 84.4)
    s.label(94, 91, "PSV-105", ha="left")
    pipe(s, (87.4, 84.4), (118, 84.4), relief=True)
    s.label(41, 58.5, "entrance", ha="right")
    s.label(41, 67, "pipe, 1.2 m", ha="right")
    s.label(41, 77, "elbow", ha="right")
    s.label(62, 69, "$P_1$ less the loss here", ha="left", size=TINY)
    s.line([(84, 79.5), (84, 73)], linewidth=0.6)
    pipe(s, (150, 26), (150, 78), arrow=False)
    block_valve(s, 150, 42, upright=True)
    rupture_disk(s, 150, 60)
    s.label(156, 42, "block valve:\nfull bore,\nlocked open", ha="left")
    s.label(156, 61, "rupture disk:\nits K and Kc", ha="left")
    s.label(150, 17, "what else a line may hold")
    return s


def _outlet():
    s = Sketch(200, 92, "Sketch. PSV-105 blows into its outlet line. Above, the line ends in the "
               "open: the jet pushes the valve back. Below, it runs to the flare header, whose "
               "pressure stands at the outlet before the valve opens.")  # fmt: skip
    for y, words in ((66, "open discharge"), (22, "closed discharge")):
        pipe(s, (24, y - 16), (24, y - 3.4), arrow=False)
        relief_valve(s, 24, y)
        s.label(10, y - 13, "inlet", size=TINY)
        s.label(20, y + 7, "PSV-105", ha="right")
        s.label(52, y + 6, words, ha="left")
    pipe(s, (27.4, 66), (44, 66), (110, 66), (110, 82), relief=True)
    s.label(114, 80, "jet", ha="left")
    s.label(114, 68, "reaction force on the bend,\nnoise at a distance", ha="left")
    pipe(s, (27.4, 22), (120, 22), relief=True)
    flag(s, 120, 22, "flare header")
    flare(s, 186, 10, 40)
    pipe(s, (154, 22), (184.6, 22), relief=True, arrow=False)
    s.label(74, 14, "built-up: comes with the flow", size=TINY)
    s.label(137, 13, "superimposed: stands\nthere before", size=TINY)
    return s
