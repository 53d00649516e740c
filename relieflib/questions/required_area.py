"""What 30 asks: choked or not, gas and liquid, gauge or absolute, and what a factor is for."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import gas_area, liquid_area
from relieflib.units import ATMOSPHERE

NOTEBOOK = 30
WARM_UP = (("10", "dead head"), ("10", "credit"))
GAS = {
    "mass_flow": Varies(4.0, 2.0, 9.0, 360), "pressure": 15e5, "temperature": 340.0,
    "molar_mass": 40.0, "k": 1.25, "Z": 0.92, "Kd": 0.975,
}  # fmt: skip
OF_GAS = (
    "{mass_flow} of gas: M {molar_mass}, k {k}, Z {Z}, relieving at {pressure} and {temperature}. "
    "Kd is {Kd}. "
)

QUESTIONS = (
    Value(
        "choked",
        OF_GAS + "The outlet goes to air of {back_pressure}. Which area is required?",
        gas_area,
        GAS | {"back_pressure": ATMOSPHERE},
        "required_area",
        "Is P2/P1 below r_c? Then the flow is choked, and G is the largest there is.",
        why="Below r_c the back pressure could be anything: the area would be the same.",
    ),
    *series(
        "subcritical",
        OF_GAS + "A constant {back_pressure} stands behind a valve set for it. "
        "Which area is required?",
        gas_area,
        GAS | {"back_pressure": Varies(11e5, 9e5, 13e5, 0.25)},
        "required_area",
        "P2/P1 is above r_c: the ratio in the equation of G is then P2/P1 itself.",
        ("critical_ratio", "pressure_ratio", "mass_flux"),
        note="P2/P1 lies above r_c, so the flow is subcritical: here every bar of back pressure "
             "costs area.",
        why="The choked equation would have given too small a valve, without a word of warning.",
    ),
    Value(
        "liquid",
        "{mass_flow} of water, {density}, from {pressure} to {back_pressure}. Kd is {Kd}, the "
        "water is thin, the valve conventional. Which area is required?",
        liquid_area,
        {"mass_flow": Varies(20.0, 5.0, 60.0, 1800), "density": 998.0, "pressure": 12e5,
         "back_pressure": 2e5, "Kd": 0.65},
        "required_area",
        "A liquid never chokes: G = sqrt(2 rho (P1 - P2)), with all of the difference.",
        why="Kd is 0.65 here, not 0.975: the effective Kd belongs to the phase.",
    ),
    Choice(
        "gauge",
        "A gauge reads the relieving pressure of a gas, and somebody puts its reading into the "
        "equation, where the absolute pressure belongs. What comes out?",
        {
            "Too small an area: on the unsafe side.":
                "The other way round: a smaller pressure drives less through the hole, so the "
                "area comes out larger.",
            "Too large an area, most of all at low pressure.":
                "At 5 barg by a fifth, at 50 barg by 2 %. Safe, but dear; and too large a "
                "valve chatters.",
            "The same: the atmosphere cancels out.":
                "It cancels in a difference, as of a liquid. The flux of a choked gas goes with "
                "the absolute pressure itself.",
        },
        "Too large an area, most of all at low pressure.",
        hint="In choked flow G is proportional to P1.",
    ),
    Choice(
        "built-up",
        "A conventional valve is set at 10 barg. Its own flow builds up 4 bar behind it. The "
        "nozzle stays choked, and the sizing says the same letter as to air. Is the valve fine?",
        {
            "Yes: choked flow does not feel the back pressure.":
                "The nozzle does not; the disc of the valve does. The back pressure pushes it "
                "shut while it flows.",
            "Yes, once the spring is set 4 bar lower.":
                "A spring can be set for what is constant. This pressure comes with the flow and "
                "goes with it: at rest nothing stands behind the valve.",
            "No: 4 bar is more than the 1 bar of overpressure that it may bear.":
                "At 10 % overpressure a conventional valve bears a built-up back pressure "
                "of a tenth of set; above, it chatters. Take a balanced one or a larger outlet.",
        },
        "No: 4 bar is more than the 1 bar of overpressure that it may bear.",
        hint="Two things feel a back pressure: the nozzle, and the disc that must stay open.",
    ),
    Choice(
        "two factors",
        "A gas flows through a balanced valve with 40 % back pressure, choked. Which part of the "
        "sizing carries the back pressure?",
        {
            "G: the flux falls.":
                "API 520-I keeps the choked flux for a balanced valve, whatever stands behind it. "
                "Lowering G as well would count it twice.",
            "Kb: the bellows valve lifts less.":
                "Kb comes from the maker's curve, or from the typical one of API 520-I.",
            "Kd: the coefficient of discharge falls.":
                "Kd says how a real nozzle differs from the ideal one, and stays.",
        },
        "Kb: the bellows valve lifts less.",
        hint="Which letter stands for back pressure?",
    ),
)  # fmt: skip
