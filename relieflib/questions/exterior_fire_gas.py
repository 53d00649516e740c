"""What 13 asks: how hot the gas is, the flow of the formula, its least, and what the wall does."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import exterior_fire_gas as fire
from relieflib.slips import Slip, used_instead
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 13
WARM_UP = (("12", "relieving pressure"), ("12", "level"))


def warms(normal_pressure, normal_temperature, pressure):
    """Temperature of shut-in gas at relieving pressure."""
    T1 = fire.relieving_temperature(normal_pressure, normal_temperature, pressure)
    return Working([step("temperature", T1, "T_n*P1/Pn", fire.SOURCE,
                         normal_temperature=normal_temperature, pressure=pressure,
                         normal_pressure=normal_pressure)])  # fmt: skip


def by_formula(exposed_area, normal_pressure, normal_temperature, pressure, molar_mass, k):
    """Load of a gas-filled vessel, from its state before the fire."""
    steps = warms(normal_pressure, normal_temperature, pressure)
    T1 = steps[-1].value
    return fire.relief_load(exposed_area, pressure, T1, molar_mass, k, working=steps).working


def printed_area(exposed_area, pressure, gas_factor):
    """Area of the printed equation."""
    area = fire.formula_area(exposed_area, pressure, gas_factor)
    return Working([step("required_area", area, "sqrt(PSI)/144*F_u*A_e/sqrt(P1)",
                         fire.SOURCE, gas_factor=gas_factor, exposed_area=exposed_area,
                         pressure=pressure)])  # fmt: skip


GAUGE = Slip(
    "ratio of gauge pressures", "the ratio of the gauge pressures was taken",
    lambda i: i | {"pressure": i["pressure"] - ATMOSPHERE,
                   "normal_pressure": i["normal_pressure"] - ATMOSPHERE}, common="often",
)  # fmt: skip
COLD = Slip(
    "gas still cold", "the gas was left at its normal temperature",
    lambda i: i | {"normal_temperature": i["normal_temperature"] * i["normal_pressure"]
                   / i["pressure"]}, common="often",
)  # fmt: skip
LEAST = used_instead("gas_factor", 0.004, "the standard allows no factor below 0.01")

QUESTIONS = (
    *series(
        "flow",
        "A gas-filled vessel has {exposed_area} of bare carbon steel in the fire. Before it, the "
        "gas (M {molar_mass}, k {k}) stands at {normal_pressure} and {normal_temperature}; it "
        "relieves at {pressure}. Which load does the formula of API 521 give?",
        by_formula,
        {"exposed_area": Varies(50.0, 20.0, 90.0, 1.0), "normal_pressure": 13e5,
         "normal_temperature": 311.15, "pressure": 20e5, "molar_mass": 5.86, "k": 1.34},
        "mass_flow",
        "First how hot the gas is when it relieves. The wall stands at 593 °C, its limit.",
        ("temperature",),
        note="The least F' of 0.01 gives less here, so the equation itself sizes.",
        why="It holds the pressure. It says nothing of the wall.",
        slips=(COLD,),
    ),
    Value(
        "temperature",
        "Gas is shut in at {normal_pressure} and {normal_temperature}. A fire brings it to "
        "{pressure}, its relieving pressure. How hot is it then?",
        warms,
        {"normal_pressure": 13e5, "normal_temperature": 311.15,
         "pressure": Varies(20e5, 15e5, 24e5, 0.25)},
        "temperature",
        "Constant volume: absolute temperature goes with absolute pressure.",
        why="So a vessel at less than normal pressure is hotter when its valve lifts.",
        slips=(GAUGE,),
    ),
    Value(
        "least",
        "{exposed_area} stand in the fire, the relieving pressure is {pressure}. The equation for "
        "F' gives 0.004. Which area does the standard ask for?",
        printed_area,
        {"exposed_area": Varies(40.0, 20.0, 90.0, 1.0), "pressure": 20e5, "gas_factor": 0.01},
        "required_area",
        "Is there a least F'? Then F' A'/sqrt(P1), in in², ft² and psia.",
        why="0.01 is the least; 0.045 where too little is known for an F' of one's own.",
        slips=(LEAST,),
    ),
    Choice(
        "wall",
        "A vessel stands at low pressure; by the formula the gas would be so hot at relieving "
        "pressure that nearly no area is asked for. Is a small valve enough?",
        {
            "Yes: the formula is that of the standard.":
                "It asks for the flow that holds the pressure while the wall is at its limit. Here "
                "the wall is at its limit before the valve lifts.",
            "No: take the least factor, and the vessel is safe.":
                "The least factor sizes the valve. The wall gives way all the same, with the valve "
                "open or shut.",
            "No valve is: the wall gives way first. Depressure, insulate or cool.":
                "A valve holds the pressure, not the wall; a dry wall loses its strength within "
                "minutes.",
        },
        "No valve is: the wall gives way first. Depressure, insulate or cool.",
        hint="What does the wall do meanwhile?",
    ),
    Choice(
        "lower",
        "The receiver V-104 stands at 4 barg in place of 12 when the fire comes. What becomes of "
        "it?",
        {
            "It is safer: less pressure, less stress.":
                "The fire heats the wall as before, and the gas until the pressure is there. The "
                "wall gives way at the same minute, about the seventh.",
            "Its valve stays shut, and the wall gives way at about the same minute.":
                "From 12 barg the valve lifts in two minutes, from 4 barg never. The rupture comes "
                "in the seventh minute either way.",
            "Its valve lifts sooner: low-pressure gas warms faster.":
                "It warms faster, but it has much further to go: from 5 to 17 bara in place of 13 "
                "to 17.",
        },
        "Its valve stays shut, and the wall gives way at about the same minute.",
        hint="What sets the time of the rupture?",
    ),
)  # fmt: skip
