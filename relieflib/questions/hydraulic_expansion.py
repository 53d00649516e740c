"""What 14 asks: the sun on a blocked-in line, a cooler, and when the equation does not hold."""

import math

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import hydraulic_expansion as he
from relieflib.nozzle.liquid import Liquid
from relieflib.slips import Slip
from relieflib.working import Working, step

NOTEBOOK = 14
WARM_UP = (("12", "relieving pressure"), ("11", "fail-closed"))
OF_LIQUID = Liquid(20e5, 800.0)  # what leaves; the load does not ask


def expands(heat_rate, expansion_coefficient, liquid_heat_capacity):
    """The load of a liquid that heat makes grow."""
    load = he.relief_load(heat_rate, OF_LIQUID, expansion_coefficient, liquid_heat_capacity)
    return Working([s for s in load.working if s.name == "mass_flow"])


def in_the_sun(solar_flux, diameter, length, expansion_coefficient, liquid_heat_capacity):
    """The load of a line that lies in the sun."""
    heat = he.solar_heat(solar_flux, diameter, length)
    first = step("heat_rate", heat, "q_s*D*L", "projected area", solar_flux=solar_flux,
                 diameter=diameter, length=length)  # fmt: skip
    return Working([first, *expands(heat, expansion_coefficient, liquid_heat_capacity)])


ALL_ROUND = Slip(
    "all round", "the sun was taken on the whole circumference",
    lambda i: i | {"diameter": i["diameter"] * math.pi}, common="often",
)  # fmt: skip

QUESTIONS = (
    *series(
        "sun",
        "A line of {diameter} outside and {length} long is full of oil, shut in and in the sun of "
        "{solar_flux}. The oil expands by {expansion_coefficient} and takes "
        "{liquid_heat_capacity}. What is the load of its thermal valve?",
        in_the_sun,
        {"diameter": 0.3, "length": Varies(100.0, 40.0, 300.0, 10.0), "solar_flux": 1040.0,
         "expansion_coefficient": 1.1e-3, "liquid_heat_capacity": 2100.0},
        "mass_flow",
        "Heat first: flux times the shadow of the pipe, D L. Then alpha Q over c.",
        ("heat_rate",),
        note="The sun sees the shadow that the pipe casts, and no more.",
        why="A few dozen kilograms an hour: any valve will do, but one there must be.",
        slips=(ALL_ROUND,),
    ),
    Value(
        "cooler",
        "The water side of a cooler is blocked in while the hot side still gives {heat_rate}. "
        "Coefficient {expansion_coefficient}, heat capacity {liquid_heat_capacity}. What is the "
        "load?",
        expands,
        {"heat_rate": Varies(300e3, 100e3, 900e3, 10.0), "expansion_coefficient": 1.8e-4,
         "liquid_heat_capacity": 4184.0},
        "mass_flow",
        "alpha Q over c.",
        why="Take the largest normal duty for Q, not the clean-surface maximum.",
    ),
    Choice(
        "hot oil",
        "A line carries oil at 90 °C. It can be blocked in, and nothing but the sun heats it: no "
        "tracing, no steaming out. Does it need a thermal valve?",
        {
            "Yes: every line that can be blocked in needs one.":
                "It needs one where it can get warmer. This line only cools down once it is shut "
                "in, and its liquid shrinks.",
            "Yes: hot oil expands more than cold oil.":
                "It would, if something warmed it further. The sun brings a line to 60 or 70 °C, "
                "and this one is hotter than that.",
            "No: the sun can't make it hotter than it is.":
                "It brings a line to 60 or 70 °C at most. Tracing or steaming out would change the "
                "answer.",
        },
        "No: the sun can't make it hotter than it is.",
        hint="How hot can the sun make a line?",
    ),
    Choice(
        "bubble",
        "Propane behind a control valve stands at 43 °C and 13.2 barg; at 43 °C it boils at 13.7 "
        "barg. Both ends are then shut. Is that length full of liquid?",
        {
            "Yes: propane in a liquid line is liquid.":
                "It is below the pressure at which it boils, so a part of it has become vapour.",
            "No: it is two-phase, and the bubble gives way first.":
                "It follows its vapour pressure until the last bubble is gone; only then does it "
                "expand like a liquid.",
            "No: all of it has boiled.":
                "Boiling takes heat, and the propane brought only what it had: some 1 % by mass, "
                "15 % by volume.",
        },
        "No: it is two-phase, and the bubble gives way first.",
        hint="Which pressure is higher?",
    ),
    Choice(
        "boils",
        "A blocked-in liquid can reach 60 °C, where its vapour pressure is 28 bara. Its valve is "
        "set at 27 bara and relieves at 29.6. Which load counts?",
        {
            "The expansion of a liquid: 28 is below 29.6.":
                "The valve opens at set, not at relieving pressure. The liquid boils at 28 bara, "
                "and holds that pressure by itself.",
            "Vapour: it boils above set, so heat over latent heat.":
                "The vapour pressure is held against set. What leaves is vapour, and it needs "
                "a different equation.",
            "None: 1 bar above set is within the tolerance.":
                "The valve is open then, and something must leave as long as the sun shines.",
        },
        "Vapour: it boils above set, so heat over latent heat.",
        hint="At which pressure does the valve begin to open?",
    ),
    Choice(
        "nothing else",
        "A drum has a D on it for the sun. A colleague counts it for the drum's other causes as "
        "well. What do you say?",
        {
            "Fine for small causes: a D is a D.":
                "Check each one: on the propane bullet even the smallest other cause needs an F. "
                "Expansion needs hundreds of times less than the fire.",
            "It covers the sun alone; the others need a valve of their own size.":
                "A thermal valve is the smallest that one can buy. It protects against nothing "
                "else.",
            "Fine: a valve opens at its set pressure, whatever the cause.":
                "It opens, and passes what its orifice can. The pressure rises on where more comes "
                "in than that.",
        },
        "It covers the sun alone; the others need a valve of their own size.",
        hint="What sizes a valve: that it opens, or what it passes?",
    ),
)  # fmt: skip
