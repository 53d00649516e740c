"""What 00 asks: the two things without which every other notebook goes wrong."""

from relieflib.asking.question import Choice, Value
from relieflib.asking.variants import Varies
from relieflib.units import absolute
from relieflib.working import Working, step

NOTEBOOK = 0


def to_absolute(pressure_gauge, atmosphere):
    """Gauge to absolute at a site."""
    return Working([
        step("pressure", absolute(pressure_gauge, atmosphere), "p + Patm", "definition",
             pressure_gauge=pressure_gauge, atmosphere=atmosphere),
    ])  # fmt: skip


QUESTIONS = (
    Value(
        "absolute",
        "On a plateau the air stands at {atmosphere}. A gauge shows {pressure_gauge}. "
        "What is the absolute pressure?",
        to_absolute,
        {"pressure_gauge": Varies(5e5, 2e5, 12e5, 0.5), "atmosphere": 84e3},
        "pressure",
        "A gauge begins to count at the air around it.",
        why="A nozzle knows no other pressure than the absolute one.",
        units=("bara", "psia", "kPaa"),
        tolerance=0.003,
    ),
    Choice(
        "governs",
        "A vessel has three causes: closed outlet, 3950 kg/h of gas, needs 140 mm²; overfilling, "
        "11 245 kg/h of liquid, needs 63 mm²; exterior fire, 2473 kg/h, needs 34 mm². "
        "Which one sizes the valve?",
        {
            "Overfilling: it brings the largest flow.":
                "A kilogram of liquid needs far less area than one of gas. Flow alone does not "
                "tell how large the hole must be.",
            "The closed outlet: it needs the largest area.":
                "You buy an area; the cause that needs most of it governs.",
            "Exterior fire: the vessel may then rise to 21 % above its MAWP.":
                "The higher limit helps: more pressure drives more through the same hole. It is "
                "one reason why fire often needs little.",
        },
        "The closed outlet: it needs the largest area.",
        hint="What do you order from the maker: kilograms, or a hole?",
    ),
    Choice(
        "designation",
        "The nameplate of a valve says 3L4. What is the L?",
        {
            "The size of the inlet flange.":
                "That is the 3: an inlet of NPS 3.",
            "The size of the orifice, by a letter.":
                "Letter L is 1841 mm² in API 526, whatever the flanges are.",
            "The flange class, from its pressure.":
                "The class, such as 150 or 300, stands apart from the designation.",
        },
        "The size of the orifice, by a letter.",
        hint="Two of the three signs are flanges.",
    ),
)  # fmt: skip
