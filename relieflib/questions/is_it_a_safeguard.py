"""What 52 asks: how much of the area is there, how many valves, at which pressure, and where to."""

import math

from relieflib import set_pressure as sp
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import gas_area
from relieflib.slips import another_way
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 52
WARM_UP = (("50", "short"), ("02", "latent"))


def part_there(installed_area, **load):
    """From a load of gas to the part of its required area that is installed."""
    sized = gas_area(**load)
    needed = sized[-1].value
    last = step("covered", installed_area / needed, "A_inst/A", "installed over required",
                installed_area=installed_area, required_area=needed)  # fmt: skip
    return Working([*sized, last])


def how_many(area, required_area):
    """Area of as few valves of one letter as will do."""
    valves = float(math.ceil(required_area / area))
    return Working([
        step("valves", valves, source="the next whole number above A/Ao"),
        step("installed_area", valves * area, "N*Ao", "all that lift together", valves=valves,
             area=area),
    ])  # fmt: skip


def load_at(mawp_gauge, atmosphere):
    """The highest pressure at which a load without fire may be found: one valve, set at MAWP."""
    steps = sp.working(mawp_gauge, mawp_gauge, atmosphere=atmosphere)
    return Working([s for s in steps if s.name in ("accumulation_limit", "relieving_pressure")])


QUESTIONS = (
    *series(
        "covered",
        "A valve on gas has {installed_area}. Somebody finds a cause that brings {mass_flow}: "
        "M {molar_mass}, k {k}, Z {Z}, relieving at {pressure} and {temperature}. Kd is {Kd}, "
        "{back_pressure} stand behind the valve. Which part of the required area is installed?",
        part_there,
        {
            "installed_area": 1840.6e-6, "mass_flow": Varies(4.75, 2.0, 9.0, 100),
            "pressure": 18.6e5, "temperature": 313.15, "molar_mass": 5.86, "k": 1.34, "Z": 1.0,
            "Kd": 0.975, "back_pressure": 1.5e5,
        },
        "covered",
        "First the area that this cause requires, from load and flux. Then installed over "
        "required.",
        ("mass_flux", "required_area"),
        note="71 % is below 1, so this cause is not covered. That the valve is large enough for "
             "another cause does not matter.",
        why="Below 1 the cause is not covered. Above 1 the area is there, and six other things "
            "still have to hold.",
        slips=(
            another_way(lambda installed_area, **load: gas_area(**load)[-1].value / installed_area,
                        "required was divided by installed; above 1 that would look like cover"),
        ),
    ),
    Value(
        "how many",
        "A cause needs {required_area}. Valves of letter L have {area} each. As few of them as "
        "will do are to lift together, with a spare beside them. Which area counts as installed?",
        how_many,
        {"area": 1840.6e-6, "required_area": Varies(4000e-6, 2000e-6, 9000e-6, 50)},
        "installed_area",
        "How many valves? Round up, and leave the spare out.",
        why="A spare comes on top of that number, and is never counted in it.",
        tolerance=0.003,
        slips=(
            another_way(lambda area, required_area: (math.ceil(required_area / area) + 1) * area,
                        "the spare was counted in; it does not lift"),
            another_way(lambda area, required_area: math.floor(required_area / area) * area,
                        "it was rounded down; so many valves fall short"),
            another_way(lambda area, required_area: required_area,
                        "that is what is required; valves come in whole numbers"),
        ),
    ),
    Value(
        "found at",
        "A vessel has MAWP {mawp_gauge} and one valve. Its outlet is blocked. At which absolute "
        "pressure may the load be found, at most? The air stands at {atmosphere}.",
        load_at,
        {"mawp_gauge": Varies(16e5, 5e5, 40e5, 0.5), "atmosphere": ATMOSPHERE},
        "relieving_pressure",
        "21 % is for fire. What may one valve without a fire? Then to absolute.",
        why="A load found at 21 % for a cause that is no fire makes the valve look larger than it "
            "is.",
        units=("bara", "psia", "kPaa"),
        tolerance=0.003,
    ),
    Choice(
        "liquid to the air",
        "A valve on a vessel full of liquid blows to the open air. Its area is ample. Is it a "
        "safeguard?",
        {
            "It is: the pressure can't rise beyond what the code allows.":
                "The vessel would be safe, and the people below it would not. What comes out "
                "belongs to the question.",
            "Not as it stands: liquid belongs in a closed system at low pressure.":
                "Area is the first of seven things. The destination is one of them, and a pool "
                "of liquid in the open may burn or poison.",
            "It is, if the liquid boils off at once in the open.":
                "Then it is a cloud of vapour and droplets, and the valve meets two phases "
                "besides. Who has shown where the cloud goes?",
        },
        "Not as it stands: liquid belongs in a closed system at low pressure.",
        hint="Where does liquid belong?",
    ),
    Choice(
        "relief valve on it",
        "A hazard study asks what stops a full liquid vessel from bursting when its feed pump runs "
        "into it with the outlet shut. Somebody says: there is a relief valve on it. The valve "
        "was bought for thermal expansion. What do you write down?",
        {
            "Safeguard: relief valve, set at MAWP.":
                "The set pressure says when it opens, not how much it passes. Thermal expansion "
                "needs about a hundredth of the area that a pump needs.",
            "None from it, until somebody shows that it covers this cause.":
                "On V-105 the valve that is 26 times too large for the sun passes a quarter of "
                "what the pump brings. A valve counts for what it was shown to cover.",
            "Half a safeguard: it will take at least some of the flow.":
                "What it does not take raises the pressure just the same, only a little later. "
                "A vessel does not burst by halves.",
        },
        "None from it, until somebody shows that it covers this cause.",
        hint="What was it sized for, and how much does that need?",
    ),
    Choice(
        "not known",
        "The file of an old valve gives letter and set pressure. Nothing is said of its inlet "
        "line. All else holds. What is the answer?",
        {
            "Covers: nothing speaks against it.":
                "Nothing speaks for it either. A line that loses more than 3 % of set makes the "
                "valve chatter, and nobody has looked.",
            "Not known, until somebody has looked at the line.":
                "What you do not give can't be judged. A safeguard that is not known counts as "
                "none, and the way out is a walk to the valve.",
            "Does not cover: what is not proved has failed.":
                "It counts as none for now. But to write down a failure that nobody found sends "
                "people to mend the wrong thing.",
        },
        "Not known, until somebody has looked at the line.",
        hint="There are three verdicts.",
    ),
    Choice(
        "own transmitter",
        "A pressure loop fails: its transmitter reads too low, so that its valve stands wide open. "
        "A trip on the same vessel shuts a valve of its own within 2 s, and may take 5 s. It reads "
        "the same transmitter. Does it cover this cause?",
        {
            "It does: its valve is its own, and it is more than fast enough.":
                "It never hears of it. The transmitter that fooled the loop fools the trip.",
            "It does, if its logic is apart from the control system.":
                "Logic of its own does not help: what it is told is wrong.",
            "It does not: it shares what failed.":
                "A shared part takes the credit against every cause that begins in that part. "
                "Against an outlet that is shut by hand the same trip may count.",
            "Not known, until its PFD is worked out.":
                "No PFD mends it. Here the demand and the failure are one event.",
        },
        "It does not: it shares what failed.",
        hint="Go through it minute by minute: what does the trip read?",
    ),
)  # fmt: skip
