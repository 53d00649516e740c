"""The batch reactor R-101 beside its cases, which stand in the plant's file.

Rests on judgement, and says so: a batch is no hotter than where its calorimetry begins when cooling
or mixing is lost; it is charged as fast as it is emptied; caustic counts as water.
"""


def hottest_start(plant):
    """Hottest batch when cooling or mixing is lost: where the calorimetry begins [K]."""
    return plant["R-101"].test_temperatures[0]
