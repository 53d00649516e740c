"""What 10 asks: the load of a closed outlet, the dead head, the credit, and the first area."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import gas_area
from relieflib.causes import closed_outlet
from relieflib.slips import Slip
from relieflib.units import ATMOSPHERE as AIR, GRAVITY
from relieflib.working import Working, step

NOTEBOOK = 10
WARM_UP = (("00", "absolute"), ("00", "governs"))


def load(inflow, outflow):
    """What comes in less what still leaves; the gas does not matter to it."""
    flow = max(inflow - outflow, 0.0)
    return Working([step("mass_flow", flow, "max(W_in - W_out, 0)", closed_outlet.SOURCE,
                         inflow=inflow, outflow=outflow)])  # fmt: skip


def dead_head(suction_pressure, shutoff_head, density):
    """Pressure of a pump against a closed outlet."""
    reached = closed_outlet.deadhead_pressure(suction_pressure, shutoff_head, density)
    return Working([step("pressure", reached, "Psuc + rho*g*H0", "rho g H",
                         suction_pressure=suction_pressure, density=density, gravity=GRAVITY,
                         shutoff_head=shutoff_head)])  # fmt: skip


def through_line(**at):
    """What a fixed resistance lets through in the event."""
    flow = closed_outlet.inflow_at_relieving(**at)
    equation = "W_n*sqrt((Psrc_max**2 - P1**2)/(Psrc**2 - Pn**2))"
    return Working([step("inflow", flow, equation, closed_outlet.PRACTICE, **at)])


NORMAL_PRESSURE = Slip(
    "source at its normal pressure",
    "the source was left at its normal pressure",
    lambda i: i | {"highest_source_pressure": i["source_pressure"]},
)
PAIRED = Slip(
    "highest pressure with normal flow",
    "the source's highest pressure was taken with its normal flow",
    lambda i: i | {"source_pressure": i["highest_source_pressure"]},
)

QUESTIONS = (
    *series(
        "area",
        "{mass_flow} of gas must leave: M {molar_mass}, k {k}, Z {Z}, relieving at {pressure} "
        "and {temperature}. Kd is {Kd}, the outlet goes to air of {back_pressure}. "
        "Which area is required?",
        gas_area,
        {
            "mass_flow": Varies(5.0, 2.0, 9.0, 500), "pressure": 12e5, "temperature": 350.0,
            "molar_mass": 30.0, "k": 1.2, "Z": 0.95, "Kd": 0.975, "back_pressure": AIR,
        },
        "required_area",
        "Is the flow choked? Then G, with absolute pressure and absolute temperature; then "
        "A = W/(Kd G).",
        ("critical_ratio", "pressure_ratio", "mass_flux"),
        note="The back pressure is far below r_c times P1, so the flow is choked and the back "
             "pressure does not matter to the nozzle.",
        why="Twice the flow takes twice the area: G does not know how much must leave.",
    ),
    Value(
        "load",
        "{inflow} of gas come in at relieving pressure. A second outlet demonstrably stays open "
        "in this event and takes {outflow}. What is the load of the valve?",
        load,
        {"inflow": 12000 / 3600, "outflow": Varies(2000 / 3600, 500 / 3600, 5000 / 3600, 100)},
        "mass_flow",
        "What comes in, less what surely still leaves.",
        why="Without proof that it stays open in this very event, nothing is deducted.",
    ),
    Choice(
        "credit",
        "The gas outlet of a vessel is shut by mistake. Its pressure controller would now open a "
        "second control valve to flare, which stands half open on a normal day. A colleague "
        "deducts all that this valve can pass fully open. What do you say?",
        {
            "Agreed: the controller is there for just that.":
                "It may be in manual, its signal wrong, its trim stuck. A favourable response of "
                "an instrument gets no credit (API 521, 4.2).",
            "Deduct at most what it passes where it stands, and that only if this event leaves it "
            "alone.":
                "It need not move to pass that much. What it would pass by opening further "
                "is a favourable response, and counts for nothing.",
            "Deduct the full flow where the loop is tested each year.":
                "A test lowers how often it fails. The relief valve is sized for the day on which "
                "it does.",
        },
        "Deduct at most what it passes where it stands, and that only if this event leaves it "
        "alone.",
        hint="The valve is sized for the day on which every helpful movement stays away.",
    ),
    Value(
        "dead head",
        "The suction of a pump stands at {suction_pressure} at most. Its head at no flow is "
        "{shutoff_head}, the density {density}. Which absolute pressure does it reach against a "
        "closed outlet?",
        dead_head,
        {"suction_pressure": 4.5e5, "shutoff_head": Varies(120.0, 80.0, 200.0, 5.0),
         "density": 800.0},
        "pressure",
        "A pump adds rho g H to whatever stands at its suction.",
        why="So the suction is taken at ITS highest, not as on a normal day.",
    ),
    Value(
        "line",
        "On a normal day {normal_flow} of gas flow from a source at {source_pressure} through a "
        "line into a vessel at {normal_pressure}. In the event the source stands at "
        "{highest_source_pressure} and the vessel relieves at {relieving_pressure}. What would "
        "the line let through?",
        through_line,
        {
            "normal_flow": 2.0, "normal_pressure": 20e5, "relieving_pressure": 25e5,
            "source_pressure": 22e5, "highest_source_pressure": Varies(28e5, 26e5, 33e5, 0.25),
        },
        "inflow",
        "Difference of the squared pressures, once for the normal day, once for the event.",
        why="Now ask whether the machine can give that much: the smaller of the two comes in.",
        slips=(PAIRED, NORMAL_PRESSURE),
    ),
    Choice(
        "larger",
        "V-101 with the liquid outlet shut takes 11 245 kg/h of liquid through its valve; with "
        "the gas outlet shut, 3950 kg/h of gas. Both at 88 bar. Which one needs more area?",
        {
            "The liquid: nearly three times the flow.":
                "Flow is only half of it. One square metre passes many times more of a liquid in "
                "kilograms, since it is so much denser.",
            "The gas: a kilogram of it takes far more room.":
                "It takes 140 mm² against 63 mm². That is why causes are compared by area.",
            "The same: both stand under the same pressure.":
                "The same pressure drives both, but G also grows with the root of the density.",
        },
        "The gas: a kilogram of it takes far more room.",
        hint="Compare what one square metre passes: G.",
    ),
)  # fmt: skip
