"""Causes of the batch reactor R-101.

Rests on judgement, and says so: a batch is no hotter than where its calorimetry begins when cooling
or mixing is lost; it is charged as fast as it is emptied; caustic counts as water.
"""

from relieflib.demo import events
from relieflib.demo.common import of_file


def loads(plant):
    """Loads of R-101 by cause in words."""
    away = {"runaway reaction": events.runaway(plant, hottest_start(plant))}
    return away | of_file(plant, "R-101")


def hottest_start(plant):
    """Hottest batch when cooling or mixing is lost: where the calorimetry begins [K]."""
    return plant["R-101"].test_temperatures[0]
