"""What 19 asks: the largest heat, what still takes it away, and a balance that closes first."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import abnormal_heat_input as heating
from relieflib.exchanger import clean_coefficient
from relieflib.slips import another_way, used_instead
from relieflib.working import Working, step

NOTEBOOK = 19
WARM_UP = (("16", "load"), ("16", "feed"))


def load(coefficient, fouling_resistance, surface, hot_temperature, boiling_temperature,
         remaining_cooling, latent_heat):  # fmt: skip
    """From a clean exchanger to the load that the condenser leaves over."""
    heat = heating.exchanger_heat(coefficient, surface, hot_temperature, boiling_temperature,
                                  fouling_resistance)  # fmt: skip
    return heating.relief_load(
        heat[-1].value, latent_heat, None, remaining_cooling, working=heat
    ).working


def clean(coefficient, fouling_resistance):
    """Coefficient of the clean surface."""
    found = clean_coefficient(coefficient, fouling_resistance)
    return Working([step("clean_coefficient", found, "U/(1 - U*r_foul)", heating.SOURCE,
                         coefficient=coefficient,
                         fouling_resistance=fouling_resistance)])  # fmt: skip


def closed_balance(reboiler_duty, feed_deficit):
    """What the condenser takes where nothing is left over."""
    return Working([step("remaining_cooling", reboiler_duty - feed_deficit, "Q_reb - Q_def",
                         "heat balance", reboiler_duty=reboiler_duty,
                         feed_deficit=feed_deficit)])  # fmt: skip


QUESTIONS = (
    *series(
        "load",
        "The steam valve of a reboiler sticks open. Design coefficient {coefficient}, which counts "
        "on a fouling of {fouling_resistance}; surface {surface}; steam of {hot_temperature}; at "
        "relieving pressure the bottom boils at {boiling_temperature} and takes {latent_heat}. The "
        "condenser works on: {remaining_cooling}. What is the load?",
        load,
        {
            "coefficient": Varies(900.0, 700.0, 1300.0, 20.0), "fouling_resistance": 0.0002,
            "surface": 50.0, "hot_temperature": 503.15, "boiling_temperature": 478.15,
            "remaining_cooling": 400e3, "latent_heat": 170e3,
        },
        "mass_flow",
        "Clean coefficient, then U A dT, then less what still takes heat away, over latent heat.",
        ("clean_coefficient", "heat_rate"),
        note="The clean surface gives a fifth more than the design counted on, and all of that "
             "goes through the valve: the condenser takes its 400 kW either way.",
        why="If the condenser fails in the same event, its credit is gone.",
        slips=(
            used_instead("fouling_resistance", 0.0, "the fouled coefficient was used; clean it "
                         "gives more"),
            used_instead("remaining_cooling", 0.0, "the cooling that still works was left out",
                         "often"),
        ),
    ),
    Value(
        "clean",
        "A design has {coefficient}, and counts on a fouling of {fouling_resistance}. What is the "
        "coefficient of the clean surface?",
        clean,
        {"coefficient": Varies(900.0, 400.0, 1500.0, 50.0), "fouling_resistance": 0.0002},
        "clean_coefficient",
        "Resistances in series: 1/U of the clean one is 1/U less the fouling.",
        why="The dearer the design's margin for dirt, the more it gives on its first day.",
        tolerance=0.005,
        slips=(
            another_way(lambda coefficient, fouling_resistance:
                        1 / (1 / coefficient + fouling_resistance),
                        "the fouling was added once more; it must be taken away"),
        ),
    ),
    Value(
        "balance",
        "A column in normal operation: the reboiler gives {reboiler_duty}, the feed takes "
        "{feed_deficit} to become its products. What does the condenser take, if the balance "
        "closes?",
        closed_balance,
        {"reboiler_duty": Varies(2.4e6, 2e6, 4e6, 50.0), "feed_deficit": 1.5e6},
        "remaining_cooling",
        "Nothing is left over: what comes in must leave.",
        why="Close the balance before anything fails; one that does not close says nothing after.",
        slips=(
            used_instead("feed_deficit", 0.0, "the heat that the feed takes up was forgotten"),
        ),
    ),
    Value(
        "heater",
        "The fuel valve of a fired heater stands wide open: {fuel_flow} of gas of {heating_value}, "
        "of which {efficiency} reaches the fluid. Normally the fluid takes up {normal_absorption} "
        "without boiling. Which heat boils it?",
        heating.fired_heat,
        {"fuel_flow": Varies(0.10, 0.06, 0.20, 9.0), "heating_value": 48e6, "efficiency": 0.85,
         "normal_absorption": 1.5e6},
        "heat_rate",
        "Fuel times heating value times efficiency, less what is taken up anyway.",
        why="Burners or air may limit it, but only if that is shown.",
        slips=(
            used_instead("efficiency", 1.0, "all of the fuel's heat was counted"),
            used_instead("normal_absorption", 0.0, "what is taken up without boiling was left in"),
        ),
    ),
    Choice(
        "surface",
        "For the largest heat of an exchanger, which surface do you take?",
        {
            "Fouled, as on the data sheet: that is what it was designed for.":
                "The design counts on dirt so that it is large enough on its worst day. On its "
                "best day it gives a fifth more.",
            "Clean: without the fouling that the design counts on.":
                "It was clean after the last shutdown, and may be on the day of the failure.",
            "Half-way between the two, as it is most of the time.":
                "A relief valve is not sized for most of the time, but for the worst day that "
                "is credible.",
        },
        "Clean: without the fouling that the design counts on.",
        hint="Which of them gives most?",
    ),
    Choice(
        "condenser",
        "The steam valve of a column sticks open. The cooling water runs on. What of the condenser "
        "may be credited?",
        {
            "Nothing: in every relief case all cooling counts as lost.":
                "Only what the failure itself takes away is lost. A stuck steam valve does not "
                "stop the cooling water; a power failure does, and is a cause of its own.",
            "Its normal duty.":
                "This failure leaves it alone, and so much it has shown that it can do.",
            "What it can take at relieving pressure, about twice the normal duty.":
                "So it might with hotter vapour. With a dirty surface or warm water nobody "
                "guarantees it, and it stays as a margin.",
        },
        "Its normal duty.",
        hint="What does this failure touch, and what has surely been proved?",
    ),
)  # fmt: skip
