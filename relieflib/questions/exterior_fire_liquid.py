"""What 12 asks: heat and load of a pool fire, its accumulation, the level, what is credited."""

from relieflib import rules
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import exterior_fire_liquid as fire
from relieflib.nozzle.gas import Gas
from relieflib.set_pressure import relieving_pressure
from relieflib.slips import Slip, used_instead
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 12
WARM_UP = (("10", "dead head"), ("10", "larger"))
VAPOR = Gas(20e5, 330.0, molar_mass=44.1, k=1.12)  # what boils off; the load does not ask


def heat(wetted_area, fire_constant, environment_factor=1.0):
    """Heat of an open pool fire, by its constant."""
    Q = fire.absorbed_heat(wetted_area, environment_factor, fire_constant == fire.DRAINED)
    return Working([step("heat_rate", Q, "C_f*F*A_w**0.82", fire.SOURCE,
                         fire_constant=fire_constant, environment_factor=environment_factor,
                         wetted_area=wetted_area)])  # fmt: skip


def boiled(wetted_area, fire_constant, latent_heat):
    """From wetted area to the load."""
    steps = heat(wetted_area, fire_constant)
    return fire.relief_load(steps[-1].value, latent_heat, VAPOR, steps).working


def in_a_fire(mawp_gauge, atmosphere):
    """Relieving pressure in a fire."""
    P1 = relieving_pressure(mawp_gauge, fire=True, atmosphere=atmosphere)
    return Working([step("pressure", P1, "MAWP*(1 + a) + Patm", "ASME BPVC XIII",
                         mawp_gauge=mawp_gauge, accumulation=rules.FIRE.value,
                         atmosphere=atmosphere)])  # fmt: skip


NO_POWER = Slip(
    "power left out", "the power 0.82 was left out",
    lambda i: i | {"wetted_area": i["wetted_area"] ** (1 / 0.82)}, common="often",
)  # fmt: skip
NOT_DRAINED = used_instead(
    "fire_constant", fire.NOT_DRAINED,
    "70.9 was used, the constant without drainage and fire fighting",
)  # fmt: skip
DRAINED = used_instead(
    "fire_constant", fire.DRAINED,
    "43.2 was used, the constant with both drainage and fire fighting",
)  # fmt: skip

QUESTIONS = (
    *series(
        "load",
        "A pool fire heats a bare vessel; drainage and fire fighting are adequate. Liquid touches "
        "{wetted_area} of wall. At relieving pressure its latent heat is {latent_heat}. What is "
        "the load?",
        boiled,
        {"wetted_area": Varies(38.2, 10.0, 120.0, 1.0), "fire_constant": fire.DRAINED,
         "latent_heat": 254.6e3},
        "mass_flow",
        "Heat first: 43.2 kW and the power 0.82. Then heat over latent heat.",
        ("heat_rate",),
        note="Twice the wetted area does not take up twice the heat: the power is 0.82.",
        why="The valve lets out as much vapour as the fire makes.",
        slips=(NO_POWER, NOT_DRAINED),
    ),
    Value(
        "heat",
        "The same fire, a bare vessel with {wetted_area} wetted, but nobody answers for drainage "
        "and fire fighting. What heat does it take up?",
        heat,
        {"wetted_area": Varies(60.0, 10.0, 120.0, 1.0), "fire_constant": fire.NOT_DRAINED},
        "heat_rate",
        "70.9 in place of 43.2, and the power 0.82.",
        why="Both must be adequate to count; without them it is 64 % more.",
        slips=(DRAINED, NO_POWER),
    ),
    Value(
        "relieving pressure",
        "A vessel of MAWP {mawp_gauge} with one valve is in a fire, at a site of {atmosphere}. At "
        "which absolute pressure are load and area worked out?",
        in_a_fire,
        {"mawp_gauge": Varies(17.25e5, 8e5, 30e5, 0.25), "atmosphere": ATMOSPHERE},
        "pressure",
        "Not 10 %: in a fire the code lets the vessel rise further. Then gauge to absolute.",
        why="21 % above MAWP holds for fire alone; 10 % for one valve in any other cause.",
        units=("bara", "psia", "kPaa"),
    ),
    Choice(
        "level",
        "A storage bullet stands at 1.3 m on a normal day; its high level is 2.1 m. Which level "
        "counts for the fire?",
        {
            "1.3 m: a fire is one event, a high level another.":
                "That holds for a process drum. In storage a high level is no second failure: "
                "somebody fills it, and then it stands there for days.",
            "2.1 m: somebody may have filled it just before.":
                "It takes K in place of J for the demo plant's bullet.",
            "2.6 m, full to the top: the worst there is.":
                "Full is not a level that the controls allow. It would take an L; what comes first "
                "then is expanding liquid, and perhaps two phases.",
        },
        "2.1 m: somebody may have filled it just before.",
        hint="What is the vessel for?",
    ),
    Choice(
        "insulation",
        "A drum has 50 mm of calcium silicate block for 927 °C under a jacket of steel. A "
        "colleague takes 0.072 W/(m K) from the data sheet and finds F 0.018. What do you say?",
        {
            "Agreed: the data sheet is the maker's own.":
                "It is, for 38 °C. In the fire the block stands at 480 °C on average, and conducts "
                "nearly twice as well: F 0.030, and 1.7 times the load.",
            "Too small: the conductivity at the mean temperature in the fire counts.":
                "Some 0.12 W/(m K) at 480 °C gives F 0.030; take the maker's curve.",
            "Too large: water spray would bring it lower still.":
                "Spray counts for nothing in the equation, since it may fail; and the factor is "
                "too small, not too large.",
        },
        "Too small: the conductivity at the mean temperature in the fire counts.",
        hint="At which temperature is the block, while it is needed?",
    ),
    Choice(
        "critical",
        "A vessel relieves propane at 41 bara, where the latent heat is some 84 kJ/kg; propane's "
        "critical pressure is 42.5 bara. What do you do with Q/h?",
        {
            "Use it: the small latent heat gives a large, safe load.":
                "It gives a number that runs off to infinity at 42.5 bara and says nothing about "
                "the area. Nothing boils there any more.",
            "Use the latent heat at normal pressure: it is well known.":
                "At relieving pressure it is several times smaller. The load would come out far "
                "too small.",
            "Follow the fluid as it warms and expands; the step with the largest area counts.":
                "Each step along the isobar has its own flow and its own area.",
        },
        "Follow the fluid as it warms and expands; the step with the largest area counts.",
        hint="What drives the fluid out, where nothing boils?",
    ),
)  # fmt: skip
