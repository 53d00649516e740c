"""What 41 asks: what may build up, where a line chokes, which kind holds, the push of a jet."""

import math

from relieflib import set_pressure as sp
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.lines.pipe_flow import mach_number
from relieflib.lines.reaction import jet_force
from relieflib.slips import another_way
from relieflib.units import ATMOSPHERE, GAS_CONSTANT
from relieflib.working import Working, step

NOTEBOOK = 41
WARM_UP = (("30", "built-up"), ("10", "line"))
_BORE = math.pi / 4
FANNO = "adiabatic pipe flow of an ideal gas (Fanno), Ma 1"


def may_build_up(set_pressure_gauge, atmosphere):
    """What a conventional valve at its vessel's MAWP bears: as much as its overpressure."""
    steps = sp.working(set_pressure_gauge, set_pressure_gauge, atmosphere=atmosphere)
    over = steps[-1].value
    steps = [s for s in steps if s.name in ("relieving_pressure", "accumulation_limit")]
    return Working([
        *steps,
        step("overpressure", over, "P1 - Patm - pset", "API 520-I (2020), definitions",
             relieving_pressure=steps[-1].value, atmosphere=atmosphere,
             set_pressure_gauge=set_pressure_gauge),
        step("built_up", over, "dp_over", "API 520-I (2020), 5.3: no more than the overpressure",
             overpressure=over),
    ])  # fmt: skip


def chokes_at(rated_flow, diameter, temperature, molar_mass, k):
    """Pressure at which an ideal gas leaves a bore at the speed of sound."""
    G = rated_flow / (_BORE * diameter**2)
    P = mach_number(G, 1.0, 2 * temperature / (k + 1), molar_mass, 1.0, k)
    return Working([
        step("pipe_flux", G, "4*W_rated/(pi*D**2)", "rated flow over the area of the bore",
             rated_flow=rated_flow, diameter=diameter),
        step("choke_pressure", P, "G_p*sqrt(2*R*T1/(k*(k + 1)*M))", FANNO, pipe_flux=G,
             gas_constant=GAS_CONSTANT, temperature=temperature, k=k, molar_mass=molar_mass),
    ])  # fmt: skip


def pushes(rated_flow, exit_velocity):
    """Steady force of a jet that is not choked: its momentum alone."""
    force = jet_force(rated_flow, exit_velocity, 1.0)
    return Working([step("reaction_force", force, "W_rated*w_x", "momentum balance",
                         rated_flow=rated_flow, exit_velocity=exit_velocity)])  # fmt: skip


QUESTIONS = (
    Value(
        "may build up",
        "A conventional valve is set at {set_pressure_gauge}, the MAWP of its vessel. It is the "
        "only one, and there is no fire. The air stands at {atmosphere}. How much may its own flow "
        "build up behind it?",
        may_build_up,
        {"set_pressure_gauge": Varies(16e5, 5e5, 40e5, 0.5), "atmosphere": ATMOSPHERE},
        "built_up",
        "As much as its overpressure.",
        why="It is counted from the gauge set pressure; what others put behind it meanwhile comes "
            "out of the same allowance.",
        slips=(
            another_way(lambda set_pressure_gauge, atmosphere: 0.5 * set_pressure_gauge,
                        "half of set is what a balanced valve bears, all back pressure together"),
            another_way(lambda set_pressure_gauge, atmosphere: 0.1 * (set_pressure_gauge
                                                                      + atmosphere),
                        "a tenth of the ABSOLUTE set pressure was taken"),
            another_way(lambda set_pressure_gauge, atmosphere: 0.21 * set_pressure_gauge,
                        "21 % is what a fire allows"),
        ),
    ),
    *series(
        "chokes at",
        "{rated_flow} of an ideal gas, M {molar_mass}, k {k}, {temperature} where it is at rest, "
        "leave a bore of {diameter} choked. At which pressure?",
        chokes_at,
        {
            "rated_flow": Varies(3.38, 1.5, 6.0, 100), "molar_mass": 5.86, "k": 1.338,
            "temperature": 313.15, "diameter": 0.10226,
        },
        "choke_pressure",
        "The flow over the area of the bore, times a speed: sqrt(2 R T/(k (k + 1) M)). The "
        "temperature is that of the gas at rest.",
        ("pipe_flux",),
        note="The end of the line stands at 2.19 bara, whatever less stands beyond it. The march "
             "back to the valve begins there.",
        why="If less than that stands in the header, it is not felt; if more, the flow is not "
            "choked.",
        slips=(
            another_way(lambda rated_flow, diameter, temperature, molar_mass, k: rated_flow
                        / (_BORE * diameter**2) * (GAS_CONSTANT * temperature
                                                   / (k * molar_mass)) ** 0.5,
                        "the temperature at rest was taken for that at the end, where the gas is "
                        "colder"),
            another_way(lambda rated_flow, diameter, temperature, molar_mass, k: rated_flow
                        / (_BORE * diameter**2) * (GAS_CONSTANT * temperature / molar_mass) ** 0.5,
                        "that is the isothermal choke of API 521, higher by a quarter here; asked "
                        "is the adiabatic one"),
        ),
    ),
    Choice(
        "which kind",
        "Set pressure 16 barg. Others raise the header to 3 barg while the valve relieves; its own "
        "flow builds up 10 % of set. Which kind of valve keeps its limit?",
        {
            "Conventional: its own flow builds up no more than 10 % of set.":
                "What comes and goes in the header counts with what it builds up: 3 barg are 19 % "
                "of set, and 29 % stand against a limit of 10.",
            "Balanced: all together it has 29 % of set behind it.":
                "Its limit is on the total, about half of set. What the bellows still costs is in "
                "Kb.",
            "Neither: 29 % is too much for any spring.":
                "For a bare spring it is. The bellows of a balanced valve keeps the back pressure "
                "off the disc, up to about half of set.",
        },
        "Balanced: all together it has 29 % of set behind it.",
        hint="What does each limit: a part of the back pressure, or all of it?",
    ),
    Value(
        "push",
        "The open end of a line passes {rated_flow} at {exit_velocity}, not choked. What is the "
        "steady force on it?",
        pushes,
        {"rated_flow": Varies(3.38, 1.0, 9.0, 100), "exit_velocity": 400.0},
        "reaction_force",
        "Momentum alone: at an end that is not choked nothing stands above the air.",
        why="A sudden opening doubles it, unless the mounting is stiff. A choked end adds its "
            "pressure times its area.",
        slips=(
            another_way(lambda rated_flow, exit_velocity: 0.5 * rated_flow * exit_velocity,
                        "half of it: that would be the energy's half, which momentum does not "
                        "have"),
            another_way(lambda rated_flow, exit_velocity: 2.0 * rated_flow * exit_velocity,
                        "that is the force to design for after a sudden opening; asked is the "
                        "steady one"),
        ),
    ),
    Choice(
        "flow of the line",
        "A cause brings 10 500 kg/h. The letter above passes 12 160 kg/h. With which flow is the "
        "outlet line of this one valve worked out?",
        {
            "10 500 kg/h: no more comes in.":
                "No more comes in for long. But a valve that pops opens fully and passes what its "
                "orifice can, and it must not be shut by its own line in that moment.",
            "12 160 kg/h: an open valve passes what it can.":
                "That is its rated flow. Where several valves share a header, the shared part "
                "carries the loads of the event.",
            "The mean of both, since it opens and shuts.":
                "A valve that opens and shuts passes all or nothing. The line has to bear the "
                "moment in which it passes all.",
        },
        "12 160 kg/h: an open valve passes what it can.",
        hint="What does a valve do in the first second after it pops?",
    ),
    Choice(
        "stops helping",
        "A 3L4 blows into NPS 8, and 7.1 % of set build up. In NPS 10 it is 7.1 % again. Why does "
        "the bigger pipe not help?",
        {
            "The friction in the elbows is what is left.":
                "Elbows of a wider pipe lose less too, since the gas is slower in them. Something "
                "that did not become wider holds it up.",
            "The flow chokes in the valve's own outlet flange, NPS 4.":
                "There it leaves at the speed of sound, and what lies beyond is no longer felt. "
                "No line undoes that.",
            "The header stands at 7.1 % of set.":
                "It stands at 0.05 barg, 0.3 % of set. What the header has is felt only where it "
                "is higher than what the choke leaves.",
        },
        "The flow chokes in the valve's own outlet flange, NPS 4.",
        hint="Which bore on the way did not become larger?",
    ),
)  # fmt: skip
