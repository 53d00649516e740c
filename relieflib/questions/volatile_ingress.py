"""What 21 asks: how much vapour, what limits it, the heat that it lets in, and what to do."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import abnormal_heat_input, loss_of_cooling, volatile_ingress
from relieflib.slips import used_instead
from relieflib.working import Working, step

NOTEBOOK = 21
WARM_UP = (("19", "load"), ("20", "gas"))


def load(coefficient, surface, hot_temperature, boiling_temperature, remaining_cooling,
         latent_heat):  # fmt: skip
    """The reboiler on a sump that boils colder, less what still condenses."""
    duty = loss_of_cooling.reboiler_working(
        coefficient, surface, hot_temperature, boiling_temperature
    )
    return abnormal_heat_input.relief_load(
        duty[-1].value, latent_heat, None, remaining_cooling, working=duty
    ).working


def volumes(liquid_density, vapor_density):
    """Volumes of vapour from one of liquid."""
    ratio = volatile_ingress.volume_ratio(liquid_density, vapor_density)
    return Working([step("volume_ratio", ratio, "rho_l/rho_v", "densities",
                         liquid_density=liquid_density, vapor_density=vapor_density)])  # fmt: skip


def limited(inflow, specific_heat_need, heat_rate):
    """What boils: all that comes, or what the heat is enough for."""
    return volatile_ingress.relief_load(inflow, None, specific_heat_need, heat_rate).working


QUESTIONS = (
    *series(
        "load",
        "Water runs into the sump of a column. Clean coefficient {coefficient}, surface {surface}, "
        "steam of {hot_temperature}. Dry, the sump boils at 209.1 °C; with the water in it, at "
        "{boiling_temperature}. The condenser still takes {remaining_cooling}. What is left over "
        "boils naphtha of {latent_heat}. What is the load?",
        load,
        {
            "coefficient": Varies(1100.0, 800.0, 1400.0, 20.0), "surface": 43.0,
            "hot_temperature": 505.15, "boiling_temperature": 475.15, "remaining_cooling": 500e3,
            "latent_heat": 161.5e3,
        },
        "mass_flow",
        "U A dT with the colder boiling point, less the condenser, over latent heat.",
        ("reboiler_duty",),
        note="30 K in place of 23: the water does not bring the heat, it lets it in.",
        why="So 400 kg/h of water ask for as much area as tonnes of naphtha.",
        slips=(
            used_instead("boiling_temperature", 482.25,
                         "that is where the sump boils without water: it has become colder"),
            used_instead("remaining_cooling", 0.0, "the cooling that still works was left out"),
        ),
    ),
    Value(
        "volumes",
        "Water of {liquid_density} becomes steam of {vapor_density}. How many volumes of steam "
        "from one of water?",
        volumes,
        {"liquid_density": 997.0, "vapor_density": Varies(0.6, 0.4, 2.0, 0.1)},
        "volume_ratio",
        "Density over density.",
        why="At 20 bara it is some 95: there the rise is slower, and still a matter of seconds.",
    ),
    Value(
        "limited",
        "{inflow} of water come in, each kilogram takes {specific_heat_need} to boil it, and the "
        "host gives {heat_rate}. What is the load of steam?",
        limited,
        {"inflow": 0.5, "specific_heat_need": 2.6e6, "heat_rate": Varies(800e3, 200e3, 1200e3, 20)},
        "mass_flow",
        "Inflow or heat, the smaller.",
        why="The rest gathers: it boils as soon as more heat reaches it.",
        slips=(
            used_instead("heat_rate", 1e9, "that is all that comes in; the heat does not boil "
                         "all of it"),
        ),
    ),
    Choice(
        "design out",
        "Water may collect in a dead leg of the line to a hot column. What is the answer?",
        {
            "A relief valve for the steam that a full line would make.":
                "Nobody knows how fast it boils: fifteen litres take 5 m³ of vapour space to the "
                "limit, in a second or in minutes. A valve may not even be open by then.",
            "Design it out: no pocket, no connection, drains, warmed lines.":
                "Amount and rate are unknown, so no load can be worked out. API 521 "
                "names none.",
            "An operating instruction to open the line slowly.":
                "It helps, and nobody should rely on it alone: the one time it is forgotten is "
                "the day on which the pocket is full.",
        },
        "Design it out: no pocket, no connection, drains, warmed lines.",
        hint="How fast is it, and how much is it?",
    ),
    Choice(
        "what sizes",
        "A hose station gives at most 400 kg/h of water into the sump of C-101, whose reboiler "
        "goes on. Which area does PSV-106 need for it?",
        {
            "37 mm², for 400 kg/h of steam.":
                "Steam never leaves alone: each kilogram takes 6.4 kg of naphtha with it. And that "
                "is only the beginning.",
            "146 mm², for 2961 kg/h of steam and naphtha.":
                "So much leaves the sump while its own heat lasts, a minute or two. Then the "
                "colder sump draws more heat from the steam.",
            "800 mm², for the naphtha that the reboiler's heat boils.":
                "The sump boils colder, at 204 °C, so the reboiler gives 1340 kW in place of "
                "1079. What the condenser leaves of it goes through the valve.",
        },
        "800 mm², for the naphtha that the reboiler's heat boils.",
        hint="What pinched the reboiler before the water came?",
    ),
    Choice(
        "mixing",
        "Water of 190 °C has a vapour pressure of 12.6 bara, naphtha 15.4. The column relieves at "
        "20.8 bara. Does water that runs into the naphtha boil?",
        {
            "No: 12.6 is less than 20.8.":
                "Alone it would not. But the naphtha evaporates beside it, as if the water were "
                "not there.",
            "Yes: the two do not mix, so their pressures add to 28.":
                "That is more than 20.8; the two boil together at 175 °C. Propane and naphtha "
                "mix, and their pressures do not add.",
            "Yes, as every volatile liquid does in a hot one, mixed or not.":
                "One that dissolves boils by the mixture's own vapour pressure, which lies "
                "between those of the two.",
        },
        "Yes: the two do not mix, so their pressures add to 28.",
        hint="Do water and oil dissolve in each other?",
    ),
)  # fmt: skip
