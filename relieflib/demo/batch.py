"""Causes of the batch reactor R-101.

Rests on judgement, and says so: a batch is no hotter than where its calorimetry begins when cooling
or mixing is lost; it is charged as fast as it is emptied; caustic counts as water.
"""

from relieflib.demo import events
from relieflib.demo.common import of_file

_SAME = "starts the runaway and adds nothing of its own: sized as runaway reaction"
_CAUSTIC = "its liquid is that of overfilling; its heat of neutralising is in no test of this plant"
UNSIZED = {"R-101": {
    "control valve opens": _CAUSTIC,
    "valve opened by mistake": _CAUSTIC,
    "loss of cooling or reflux": _SAME,
    "power failure": _SAME,
    "internal explosion or surge": "air is kept out by inerting; no relief valve is fast enough",
    "breathing and vacuum": "asks for a vacuum rating or a breaker, not for a pressure relief area",
}}  # fmt: skip


def loads(plant):
    """Loads of R-101 by cause in words."""
    away = {"runaway reaction": events.runaway(plant, hottest_start(plant))}
    return away | of_file(plant, "R-101")


def hottest_start(plant):
    """Hottest batch when cooling or mixing is lost: where the calorimetry begins [K]."""
    return plant["R-101"].test_temperatures[0]
