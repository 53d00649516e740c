"""What 60 asks: speed in a header, the tip, who opens late, which flow, which event, which gas."""

import math

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.lines.pipe_flow import ISOTHERMAL, mach_number
from relieflib.slips import Slip, used_instead
from relieflib.units import ATMOSPHERE, GAS_CONSTANT
from relieflib.valve_questions import opening_pressure
from relieflib.working import Working, step

NOTEBOOK = 60
WARM_UP = (("10", "larger"), ("30", "built-up"))
AIR, _BORE = ATMOSPHERE, math.pi / 4  # Pa, -


def speed(mass_flow, diameter, end_pressure, temperature, molar_mass, Z):
    """Isothermal Mach number at the end of a header."""
    G = mass_flow / (_BORE * diameter**2)
    Ma = mach_number(G, end_pressure, temperature, molar_mass, Z)
    return Working([
        step("pipe_flux", G, "4*W/(pi*D**2)", "flow over the area of the bore",
             mass_flow=mass_flow, diameter=diameter),
        step("exit_mach", Ma, "G_p/P_e*sqrt(Z*R*T1/M)", ISOTHERMAL + ": without k", pipe_flux=G,
             end_pressure=end_pressure, temperature=temperature, molar_mass=molar_mass, Z=Z,
             gas_constant=GAS_CONSTANT),
    ])  # fmt: skip


def behind_tip(end_pressure, exit_mach, k):
    """Pressure of gas at rest behind a tip that it leaves at a Mach number."""
    P = end_pressure * (1 + (k - 1) / 2 * exit_mach**2) ** (k / (k - 1))
    return Working([step("header_pressure", P, "P_e*(1 + (k - 1)/2*Ma_x**2)**(k/(k - 1))",
                         "flow without loss", end_pressure=end_pressure, exit_mach=exit_mach,
                         k=k)])  # fmt: skip


def opens_at(set_pressure_gauge, superimposed_gauge, back_pressure_gauge):
    """Where a conventional valve opens against what others make in its header."""
    p = opening_pressure("conventional", set_pressure_gauge,
                         back_pressure_gauge - superimposed_gauge)  # fmt: skip
    return Working([step("opening_gauge", p, "pset + p2 - psup", "API 520-I (2020), 5.3",
                         set_pressure_gauge=set_pressure_gauge,
                         superimposed_gauge=superimposed_gauge,
                         back_pressure_gauge=back_pressure_gauge)])  # fmt: skip


GAUGE = Slip(
    "end pressure as gauge",
    "the pressure at the end was taken as gauge: the gas is then far too thin",
    lambda i: i | {"end_pressure": i["end_pressure"] - AIR},
)
RADIUS = Slip(
    "radius for diameter",
    "the area was taken as pi D², with the diameter for the radius",
    lambda i: i | {"diameter": 2.0 * i["diameter"]},
)

QUESTIONS = (
    *series(
        "speed",
        "In one event {mass_flow} of gas flow through a header of {diameter} inside: M "
        "{molar_mass}, Z {Z}, {temperature}. At its end stand {end_pressure}. Which isothermal "
        "Mach number is reached there?",
        speed,
        {
            "mass_flow": Varies(20.0, 8.0, 30.0, 2000), "diameter": 0.5, "end_pressure": 1.2e5,
            "temperature": 350.0, "molar_mass": 30.0, "Z": 1.0,
        },
        "exit_mach",
        "Flow over area first; then G/P times the root of Z R T/M.",
        ("pipe_flux",),
        note="The Mach number of API 521 for pipes has no k in it: it chokes at 1 all the same.",
        why="At one pressure and bore the speed goes with W times the root of T/M, not with W.",
        slips=(GAUGE, RADIUS),
    ),
    Value(
        "tip",
        "At its peak a flare tip is left at a Mach number of {exit_mach}, by a gas of k {k}, into "
        "air of {end_pressure}. Which pressure stands behind it where the gas is at rest, all "
        "friction left out?",
        behind_tip,
        {"end_pressure": AIR, "exit_mach": Varies(0.5, 0.32, 0.7, 0.02), "k": 1.2},
        "header_pressure",
        "The velocity head is lost beyond the end; before it, it has to be there as pressure.",
        why="That part belongs to the back pressure of every valve, before a metre of pipe.",
        tolerance=0.005,
        slips=(
            used_instead("exit_mach", 1e-6, "the march was begun at the pressure of the air, as "
                         "if the gas had left the tip at rest", "often"),
        ),
    ),
    Value(
        "late",
        "A conventional valve is set at {set_pressure_gauge}, with {superimposed_gauge} of seal "
        "and purge in its header. In one event others have raised the header to "
        "{back_pressure_gauge} before it is asked for. At which pressure does it open?",
        opens_at,
        {"set_pressure_gauge": 10e5, "superimposed_gauge": 0.1e5,
         "back_pressure_gauge": Varies(0.9e5, 0.4e5, 1.6e5, 0.05)},
        "opening_gauge",
        "The spring was set against the constant part alone.",
        why="Its own flow is not in it: that comes after it has opened, as built-up pressure.",
        tolerance=0.002,
        slips=(
            used_instead("superimposed_gauge", 0.0, "the constant part was counted twice: the "
                         "spring was set against it", "often"),
        ),
    ),
    Choice(
        "which flow",
        "Three valves relieve in one event. Each is larger than its load and passes, once open, "
        "more than is required of it. With which flows is the shared header worked out?",
        {
            "With the rated flow of all three: a valve that is open passes that much.":
                "It does, until the vessel's pressure falls and it closes. What leaves the vessels "
                "for long is what is required; only the valve's OWN pipe must bear the rated flow.",
            "With the required loads of this event; with the rated flow only in each valve's own "
            "pipe.":
                "So the header is not paid for three times over, and no valve chatters on its own "
                "tail pipe (API 521, 5th edition 7.3.1).",
            "With the largest load that each valve has in any event, added up.":
                "Those never come together. One event brings one set of loads.",
        },
        "With the required loads of this event; with the rated flow only in each valve's own "
        "pipe.",
        hint="What does the vessel give off for an hour, and what does the valve pass in the "
             "first seconds?",
    ),
    Choice(
        "governs",
        "Event X sends 20 kg/s of M 44 at 320 K through a pipe, event Y 15 kg/s of M 18 at 450 K. "
        "Which one governs the pipe?",
        {
            "X: it brings a third more kilograms.":
                "Its gas is heavy and cool, and so takes little room: W times the root of T/M is "
                "54, against 75.",
            "Y: its gas is light and hot, and takes more room.":
                "W times the root of T/M is 75 against 54. In a pipe of 0.4 m at 1.2 bara it "
                "reaches Ma 0.45, X only 0.33.",
            "X in the header, Y in the flare tip.":
                "Each pipe may have an event of its own, but for these two the same ratio holds "
                "in both.",
        },
        "Y: its gas is light and hot, and takes more room.",
        hint="Pressure is lost with velocity. What makes a kilogram large?",
    ),
    Choice(
        "mix",
        "6 kg/s of M 44 from one valve and 2.5 kg/s of M 20 from another join in a header. Which "
        "molar mass has what flows on?",
        {
            "44: that valve sends most.":
                "The light gas is three tenths of the joined flow by mass and nearly half of it by "
                "volume. The header would be found too good.",
            "36.9: the mean by mass.":
                "Kilograms add up, but so do moles: 8.5 kg/s hold 0.261 kmol/s.",
            "32.5: mass over moles.":
                "6/44 and 2.5/20 make 0.261 kmol/s; 8.5 kg/s over that. Heat is shared out by "
                "moles too, times cp.",
        },
        "32.5: mass over moles.",
        hint="How many kmol/s does each one bring?",
    ),
    Choice(
        "alone",
        "PSV-105 lifts alone in one event, and its own load raises the header to 0.7 barg. A "
        "colleague moves its opening pressure by those 0.7 bar. What do you say?",
        {
            "Right: the header stands at 0.7 barg.":
                "It does, once the valve is open. Before that nobody has raised it.",
            "Wrong: before it opens, nothing of it is there. It counts as built-up.":
                "What others make shifts the opening. What a valve makes itself, in its tail pipe "
                "and in the header, comes after it has opened.",
            "Right for a balanced valve, wrong for a conventional one.":
                "It is the other way round with what OTHERS make: a bellows does not feel it, "
                "a spring alone does.",
        },
        "Wrong: before it opens, nothing of it is there. It counts as built-up.",
        hint="Write down what happens second by second.",
    ),
)  # fmt: skip
