"""Causes of the batch reactor R-101.

Rests on judgement, and says so: a batch is no hotter than where its calorimetry begins when cooling
or mixing is lost; it is charged as fast as it is emptied; caustic counts as water.
"""

from relieflib.causes import closed_outlet, overfilling, volatile_ingress
from relieflib.demo import events
from relieflib.demo.common import pool_fire, pressures
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.properties import State
from relieflib.working import step

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
    item = plant["R-101"]
    return {
        "runaway reaction": events.runaway(plant, hottest_start(plant)),
        "exterior fire": pool_fire(plant, item, "n-Hexane", item.normal_level),
        "volatile ingress, caustic": _caustic_boils(plant),
        "overfilling": _filled(plant),
        "closed outlet, dosing": _outlet_shut(plant),
    }


def hottest_start(plant):
    """Hottest batch when cooling or mixing is lost: where the calorimetry begins [K]."""
    return plant["R-101"].test_temperatures[0]


def _filled(plant):
    """Charge and caustic go on into a full reactor."""
    item, P1 = plant["R-101"], pressures(plant, plant["R-101"])[0]
    cold = State("n-Hexane", P1, temperature=item.operating_temperature)
    charge, dosing = plant.streams["3"].maximum_mass_flow, item.dosing_mass_flow
    sum_of = step("inflow", charge + dosing, source="charge and caustic, both at their most")
    return overfilling.relief_load(sum_of.value, Liquid(P1, cold.density), working=[sum_of])


def _outlet_shut(plant):
    """The vent is shut: caustic pushes nitrogen out, volume for volume."""
    item, P1 = plant["R-101"], pressures(plant, plant["R-101"])[0]
    gas = Gas(P1, item.operating_temperature, molar_mass=28.013, k=1.4)
    water = State("Water", P1, temperature=item.operating_temperature)
    pushed = item.dosing_mass_flow / water.density * gas.density
    line = step("inflow", pushed, source="nitrogen pushed out by caustic, density of water taken")
    return closed_outlet.relief_load(pushed, gas, working=[line])


def _caustic_boils(plant):
    """Caustic into a batch so hot that both boil together at relieving pressure.

    Oil and water do not mix: their vapour pressures add, and water carries oil along.
    """
    item = plant["R-101"]
    pair = volatile_ingress.boiling_pair("Water", "n-Hexane", pressures(plant, item)[0])
    return volatile_ingress.pair_load(item.dosing_mass_flow, item.operating_temperature, pair)
