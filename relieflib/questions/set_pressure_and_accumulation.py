"""What 01 asks: relieving pressure, overpressure, test pressure, and which limit is whose."""

from relieflib import set_pressure as sp
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 1
WARM_UP = (("00", "absolute"), ("00", "designation"))


def relieving(mawp_gauge, atmosphere):
    """From MAWP to the relieving pressure: one valve at MAWP, no fire."""
    steps = sp.working(mawp_gauge, mawp_gauge, atmosphere=atmosphere)
    return Working([s for s in steps if s.name in ("accumulation_limit", "relieving_pressure")])


def over_set(mawp_gauge, set_pressure_gauge, atmosphere):
    """What the valve sees above its set pressure in a fire."""
    return sp.working(mawp_gauge, set_pressure_gauge, fire=True, atmosphere=atmosphere)[2:]


def on_the_bench(set_pressure_gauge, superimposed_gauge):
    """Cold differential test pressure of a conventional valve that is not hot."""
    test = sp.cold_differential(set_pressure_gauge, superimposed_gauge)
    return Working([
        step("cold_differential_gauge", test, "pset - psup", "API 520-I (2020), definitions",
             set_pressure_gauge=set_pressure_gauge, superimposed_gauge=superimposed_gauge),
    ])  # fmt: skip


QUESTIONS = (
    *series(
        "relieving",
        "A vessel has MAWP {mawp_gauge} and one valve, no fire. The air stands at {atmosphere}. "
        "What is the relieving pressure, absolute?",
        relieving,
        {"mawp_gauge": Varies(12e5, 8e5, 30e5, 0.5), "atmosphere": ATMOSPHERE},
        "relieving_pressure",
        "MAWP, what the code allows above it, one atmosphere.",
        ("accumulation_limit",),
        note="The set pressure is not asked for: the relieving pressure belongs to the vessel.",
        why="Every area of a gas is proportional to it, so half a per cent here is half a per "
            "cent there.",
        units=("bara", "psia", "kPaa"),
        tolerance=0.003,
    ),
    Value(
        "overpressure",
        "MAWP {mawp_gauge}, valve set at {set_pressure_gauge}, one valve, exterior fire. How far "
        "above its set pressure does the valve stand while it relieves?",
        over_set,
        {"mawp_gauge": 10e5, "set_pressure_gauge": Varies(9e5, 7e5, 10e5, 0.1),
         "atmosphere": ATMOSPHERE},
        "overpressure",
        "The limit depends on MAWP, the overpressure on set.",
        why="Set lower, it sees more overpressure, and has lift to spare.",
        units=("bar", "psi", "kPa"),
    ),
    Value(
        "bench",
        "A conventional valve is set at {set_pressure_gauge} and stands against a constant "
        "{superimposed_gauge}. At which pressure must it open on the test bench?",
        on_the_bench,
        {"set_pressure_gauge": 10e5, "superimposed_gauge": Varies(2e5, 1e5, 4e5, 0.1)},
        "cold_differential_gauge",
        "On the bench nothing pushes from behind.",
        why="In place the constant pressure helps the spring by just what the bench lacks.",
        units=("barg", "psig", "kPag"),
    ),
    Choice(
        "set at 18",
        "V-102 has MAWP 21 barg. The valve's set pressure is lowered from 21 to 18 barg. "
        "What happens to the relieving pressure that you size with?",
        {
            "It may stay at 23.1 barg; the limit is the vessel's.":
                "The code limits the vessel. 1.1 times set is a usual and cautious choice, "
                "and then the area grows.",
            "It falls to 19.8 barg: 10 % above set is the law.":
                "10 % above SET is where a valve's certified lift is reached, and a usual basis. "
                "The law's 10 % are of MAWP.",
            "It rises, since the valve opens earlier.":
                "It opens earlier and so sees more overpressure; how far the vessel may go does "
                "not depend on that.",
        },
        "It may stay at 23.1 barg; the limit is the vessel's.",
        hint="To whom does accumulation belong?",
    ),
)  # fmt: skip
