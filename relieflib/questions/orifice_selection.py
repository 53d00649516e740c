"""What 32 asks: letter, fraction used, number of valves, and what goes with an effective area."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.orifices import next_area
from relieflib.set_pressure import relieving_pressure
from relieflib.units import ATMOSPHERE as AIR
from relieflib.working import Working, step

NOTEBOOK = 32
WARM_UP = (("30", "built-up"), ("30", "liquid"))
TABLE = "API 526, table 1"
SIZES = {"K": 1185.8, "L": 1840.6, "M": 2322.6, "N": 2800.0, "P": 4116.1}  # mm2, as in 32's table


def used(mass_flow, mass_flux, Kd):
    """From a load to the part of the chosen letter that it uses."""
    area = mass_flow / (Kd * mass_flux)
    letter = float(next_area(area))
    return Working([
        step("required_area", area, "W/(Kd*G)", "definition of G", mass_flow=mass_flow, Kd=Kd,
             mass_flux=mass_flux),
        step("area", letter, source=TABLE),
        step("used", area / letter, "A/Ao", TABLE, required_area=area, area=letter),
    ])  # fmt: skip


def two_valves(mawp_gauge, accumulation, atmosphere):
    """Relieving pressure of a vessel with more than one valve."""
    P1 = float(relieving_pressure(mawp_gauge, installation="multiple", atmosphere=atmosphere))
    equation, source = "(1 + a)*MAWP + Patm", "ASME BPVC XIII, formerly VIII-1 UG-125"
    return Working([step("relieving_pressure", P1, equation, source, mawp_gauge=mawp_gauge,
                         accumulation=accumulation, atmosphere=atmosphere)])  # fmt: skip


def letter_of(required_area):
    """The words of the option that is the letter of an area."""
    return next(words for words, size in SIZES.items() if required_area * 1e6 <= size)


def of_T(required_area):
    """The words of the option that says how many of letter T it takes."""
    return next(w for w, n in (("Two.", 2), ("Three.", 3), ("Four.", 4))
                if required_area <= n * 16774.2e-6)  # fmt: skip


QUESTIONS = (
    *series(
        "used",
        "{mass_flow} must leave; an ideal nozzle passes {mass_flux}, Kd is {Kd}. You take the "
        "smallest letter that is enough. How far is it used?",
        used,
        {"mass_flow": Varies(4.0, 2.0, 9.0, 360), "mass_flux": 2500.0, "Kd": 0.975},
        "used",
        "Area first, A = W/(Kd G). Then the first letter that is not smaller. Then A over Ao.",
        ("required_area", "area"),
        note="4 kg/s over 0.975 times 2500 are 1641 mm². K has 1186: too small. L has 1841.",
        why="What is not used is not lost: the valve passes it, and its lines must bear it.",
    ),
    Choice(
        "letter",
        "{required_area} are required. Which letter do you take?",
        {
            "K": "K has 1185.8 mm². Take the first letter that is not below {required_area}.",
            "L": "L has 1840.6 mm². Take the first letter that is not below {required_area}.",
            "M": "M has 2322.6 mm². Take the first letter that is not below {required_area}.",
            "N": "N has 2800.0 mm². Take the first letter that is not below {required_area}.",
            "P": "P has 4116.1 mm². Take the first letter that is not below {required_area}.",
        },
        letter_of,
        {"required_area": Varies(1900e-6, 1250e-6, 4000e-6, 50)},
        "Round up to the next letter; the nearest one may be too small.",
    ),
    Choice(
        "how many",
        "How many valves of letter T, 16 774 mm² each, does {required_area} take?",
        {
            "One: T is the largest letter there is.":
                "There is none larger, and one has 16 774 mm². More than that takes more valves.",
            "Two.": "Two have 33 548 mm²: enough up to there, and not one mm² above.",
            "Three.": "Three have 50 323 mm². Fewer would do for anything up to 33 548 mm².",
            "Four.": "Four have 67 097 mm². Fewer would do for anything up to 50 323 mm².",
        },
        of_T,
        {"required_area": Varies(24.5e-3, 17e-3, 60e-3, 500)},
        "Divide by the area of T, and round up.",
    ),
    Value(
        "two valves",
        "A vessel with a MAWP of {mawp_gauge} gets two valves that lift together. The code allows "
        "{accumulation} accumulation; the site has {atmosphere}. At which absolute pressure are "
        "both sized?",
        two_valves,
        {"mawp_gauge": Varies(10e5, 8e5, 20e5, 0.5), "accumulation": 0.16, "atmosphere": AIR},
        "relieving_pressure",
        "MAWP and its share in gauge first; the atmosphere is added last.",
        why="One valve alone would have had 10 %: so several need a little less area in all.",
        units=("bara", "psia", "kPaa"),
    ),
    Choice(
        "pair",
        "A maker states for one valve: letter P, actual area 4550 mm², certified coefficient 0.86. "
        "Somebody works out its capacity with 4550 mm² and 0.975. What do you say?",
        {
            "Fine: 0.975 is the coefficient of gas in API 520-I.":
                "It belongs to the effective 4116 mm². With the larger actual area it promises "
                "13 % more than the maker has certified.",
            "Not so: actual area goes with certified coefficient, effective with effective.":
                "4550 times 0.86 is 3913 mm², 4116 times 0.975 is 4013: each pair hangs "
                "together, and a mixed one does not.",
            "Take 4116 mm² and 0.86: smaller numbers are always safe.":
                "Safe it is, but a mixed pair all the same: it finds a sound valve too small, "
                "and the next one is dear and may chatter.",
        },
        "Not so: actual area goes with certified coefficient, effective with effective.",
        hint="Two pairs: one from the standard, one from the maker.",
    ),
    Choice(
        "too large",
        "1000 mm² are required. K (1186 mm²) would do. The store has a T (16 774 mm²) for nothing. "
        "What happens if it is installed?",
        {
            "Nothing bad: the larger a valve, the safer.":
                "It would be used to 6 %. It opens, empties the line, shuts, and opens again, "
                "many times a second, until its seat is gone.",
            "It chatters, and the lines must carry seventeen times the flow.":
                "Used to 6 %. What comes in can't hold it open; and inlet loss, back pressure "
                "and header go with its rated flow.",
            "It opens only as far as the load needs.":
                "That is what a modulating pilot does. A spring-loaded valve for gas pops open "
                "and passes what it can.",
        },
        "It chatters, and the lines must carry seventeen times the flow.",
        hint="Which flow does a valve pass once it is open?",
    ),
    Choice(
        "spare",
        "3698 mm² are required. Two valves of letter P stand on the vessel; interlocked block "
        "valves let just one of them be open at a time. Which area lifts?",
        {
            "8232 mm²: both valves.":
                "The interlock keeps one of them shut off. A spare adds nothing to the lift.",
            "4116 mm²: one of them.":
                "The other one may be in the workshop. That is what it is there for.",
            "3698 mm²: as much as is required.":
                "A valve that pops passes what its own area lets through, not what you need.",
        },
        "4116 mm²: one of them.",
        hint="What does the interlock allow?",
    ),
)  # fmt: skip
