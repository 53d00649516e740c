"""What 18 asks: the leak of two check valves, what one is worth, and the suction shut in."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import reverse_flow
from relieflib.nozzle.liquid import Liquid
from relieflib.slips import Slip
from relieflib.working import Working

NOTEBOOK = 18
WARM_UP = (("10", "load"), ("16", "liquid"))


def leak(density, upstream_pressure, pressure, check_valve_diameter):
    """Liquid that leaks back through two check valves."""
    source, stream = Liquid(upstream_pressure, density), Liquid(pressure, density)
    return reverse_flow.leak_load(source, stream, check_valve_diameter).working


def opening(check_valve_diameter):
    """The first step alone."""
    liquids = Liquid(60e5, 700.0), Liquid(12e5, 700.0)
    return Working(reverse_flow.leak_load(*liquids, check_valve_diameter).working[:1])


QUESTIONS = (
    *series(
        "leak",
        "Liquid of {density} leaks from {upstream_pressure} into {pressure} through two check "
        "valves of {check_valve_diameter}, both inspected. The coefficient is that of a sharp "
        "edge, 0.6. What is the load?",
        leak,
        {"density": 700.0, "upstream_pressure": Varies(60e5, 30e5, 90e5, 1.0), "pressure": 12e5,
         "check_valve_diameter": 0.1541},
        "mass_flow",
        "The opening has a tenth of the diameter. Flux sqrt(2 rho dP), times area, times 0.6.",
        ("leak_diameter", "opening_area", "upstream_flux"),
        note="A tenth of the diameter is a hundredth of the area.",
        why="It is a convention for valves in good order: nobody has measured it on yours.",
        slips=(
            Slip("a tenth of the area", "a tenth of the AREA was taken; a tenth of the diameter is "
                 "a hundredth of it", scale=10.0, common="often"),
            Slip("no coefficient", "the 0.6 of the sharp edge was left out", scale=1 / 0.6,
                 common="often"),
        ),
    ),
    Value(
        "opening",
        "Two check valves in series, the larger one of {check_valve_diameter}. Which diameter has "
        "the one opening that stands for the leak?",
        opening,
        {"check_valve_diameter": Varies(0.1541, 0.05, 0.3, 1.0)},
        "leak_diameter",
        "API 521 takes a tenth, of the diameter.",
        why="The larger of the two counts, though it may be the one in order.",
    ),
    Choice(
        "phase",
        "Through the same leak come 4015 kg/h of liquid or, once that has run back, 330 kg/h of "
        "hydrogen-rich gas. V-100 relieves at 5.5 barg. Which one needs more area?",
        {
            "The liquid: twelve times the flow.":
                "In kilograms. At 6.5 bara one square metre passes many times more kilograms of "
                "liquid than of so light a gas.",
            "The gas: 143 mm² against 75.":
                "At low pressure a light gas takes much room. Both must be sized, for you never "
                "know which one lasts.",
            "Neither: a leak needs no relief valve.":
                "It needs a small one where nothing else takes it away; on V-100 it takes an F "
                "out of the K that stands there.",
        },
        "The gas: 143 mm² against 75.",
        hint="Compare volumes at 6.5 bara, not kilograms.",
    ),
    Choice(
        "how many",
        "How many check valves in series does it take to count as a safeguard against reverse "
        "flow?",
        {
            "One, if it is a good one.":
                "A single one may have been stuck open for years, and nobody sees it: a latent "
                "failure. Then the flow is that of its open bore.",
            "Two, inspected, best of different kind.":
                "One may be stuck open unseen; the other still holds, but for a leak. "
                "That leak is the load.",
            "Three: one to fail, one to leak, one to hold.":
                "A third gains nothing more by the standard: what made two of them fail is "
                "likely to have made the third fail too.",
        },
        "Two, inspected, best of different kind.",
        hint="Which failure does nobody see until the day it is needed?",
    ),
    Choice(
        "suction",
        "A stand-by pump: discharge valve open, suction valve shut, two sound check valves behind "
        "it. Does the relief valve of the suction drum protect the pump's suction side?",
        {
            "Yes: it is sized for the leak of two check valves.":
                "So it is; but the shut suction valve stands between the leak and the drum.",
            "No: the shut suction valve cuts it off.":
                "The leak brings the few metres of full line to their limit within seconds. They "
                "need the pressure of the discharge, a locked-open valve, or a small relief valve.",
            "It need not: a leak is too small to matter.":
                "Into a large drum, perhaps. A line of 100 litres full of liquid gives way to "
                "nothing: a third of a litre more takes it to its limit.",
        },
        "No: the shut suction valve cuts it off.",
        hint="What lies between the leak and that valve?",
    ),
)  # fmt: skip
