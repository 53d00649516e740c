"""What 23 asks: air in and out, a vessel that cools shut, and which vent answers to what."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import tank_breathing as tb
from relieflib.slips import used_instead
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 23
WARM_UP = (("20", "time"), ("12", "insulation"))
STEAM, COLD = 373.15, 293.15


def air_in(volume, emptying, latitude, atmosphere):
    """Air that a tank draws in, by rain and by its pump."""
    return tb.vacuum_load(volume, emptying, latitude, atmosphere).working[:2]


def shut_in(start_temperature, end_temperature):
    """Pressure in a vessel that was steamed out, shut, and has cooled."""
    P = tb.sealed_pressure("Water", 0.0, start_temperature, end_temperature)
    return Working([step("pressure", P, source="vapour pressure of water",
                         start_temperature=start_temperature,
                         end_temperature=end_temperature)])  # fmt: skip


STILL_HOT = used_instead(
    "end_temperature", STEAM, "the steam was taken as if it did not cool", "seldom"
)

QUESTIONS = (
    *series(
        "air in",
        "A tank of {volume} stands at a latitude of {latitude} and is stored warm; {emptying} are "
        "pumped out of it. How much air must come in, told at 0 °C and 1 atm?",
        air_in,
        {"volume": Varies(1000.0, 200.0, 4000.0, 50.0), "emptying": 100 / 3600, "latitude": 30.0,
         "atmosphere": ATMOSPHERE},
        "breathing",
        "Below 42° and stored warm the rain draws in 6.5 V^0.7 m³/h. The pump comes on top.",
        ("thermal_breathing",),
        note="Both at once: nobody stops the pump because it rains.",
        why="At the same size, warming pushes out far less: that is why inbreathing rules.",
        slips=(used_instead("emptying", 1e-9, "what is pumped out was forgotten"),),
    ),
    Choice(
        "in or out",
        "Which is usually the larger flow of normal breathing, and why?",
        {
            "Out: the sun is strong, and filling pumps are large.":
                "The sun warms the vapour over hours. A summer rain cools a hot roof in "
                "minutes, and draws air in.",
            "In: cooling is faster than warming.":
                "A summer rain on a hot roof, while the pump empties the tank. And the "
                "tank bears less vacuum than pressure.",
            "Both alike: what goes in must come out.":
                "Over a day, yes. But the vent must pass the largest flow, and rain cools "
                "faster than sun warms.",
        },
        "In: cooling is faster than warming.",
        hint="Think of a thunderstorm on a hot afternoon.",
    ),
    Value(
        "shut in",
        "A vessel is steamed out at {start_temperature}, shut, and cools to {end_temperature}. "
        "Which absolute pressure is inside?",
        shut_in,
        {"start_temperature": STEAM, "end_temperature": Varies(COLD, 278.15, 318.15, 2.0)},
        "pressure",
        "The steam condenses. What is left is the vapour pressure of cold water.",
        why="Nearly nothing: such a vessel is built for full vacuum.",
        tolerance=0.03,
        slips=(STILL_HOT,),
        units=("bara", "kPaa", "psia"),
    ),
    Choice(
        "blanket",
        "A tank is kept under nitrogen, whose regulator lets in what the pump takes out. May the "
        "vacuum vent be smaller for that?",
        {
            "It may: the regulator does the work.":
                "The day it sticks shut, the pump goes on. Then it is air that must come in, "
                "through the vacuum vent.",
            "It may not: the regulator may be stuck shut.":
                "And stuck open it is one more load on the pressure side.",
            "No vacuum vent is needed: there is never any air inside.":
                "A tank bears a few millibars of vacuum. Better some air inside than a tank "
                "sucked flat.",
        },
        "It may not: the regulator may be stuck shut.",
        hint="The vent is sized for the day on which something fails.",
    ),
    Choice(
        "fire vent",
        "A cooler without water sends hot naphtha to a tank. The breather is too small, the "
        "emergency vent for fire is wide enough to hold the pressure. Is the tank protected?",
        {
            "It is: the pressure stays below design.":
                "So it does. But tonnes of heavy vapour leave at the roof, without a flame "
                "arrester, and run down the shell.",
            "It is not: the vapour would leave at the roof, without a flame arrester.":
                "The upset must be stopped before it reaches the tank, by trips that are "
                "independent of the controls.",
            "It is, once the emergency vent is set as low as the breather.":
                "Then it opens earlier, and the vapour runs down the shell all the "
                "same. Its setting is not what is wrong.",
        },
        "It is not: the vapour would leave at the roof, without a flame arrester.",
        hint="Where does it go?",
    ),
)  # fmt: skip
