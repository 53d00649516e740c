"""What 61 asks: how fast a droplet falls, how long a drum, what passes buy, how long it lasts."""

import numpy as np

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.disposal import drum
from relieflib.slips import Slip
from relieflib.units import GRAVITY
from relieflib.working import Working, step

NOTEBOOK = 61
WARM_UP = (("10", "larger"), ("10", "load"))
_GAS = {"liquid_density": 560.0, "vapor_density": 3.2, "vapor_viscosity": 1.1e-5}


def fall(droplet_diameter, liquid_density, vapor_density, vapor_viscosity, drag_coefficient=None):
    """Velocity at which a droplet falls; a drag coefficient given takes the equation's place."""
    fluid = dict(liquid_density=liquid_density, vapor_density=vapor_density)
    U = drum.settling_velocity(droplet_diameter, vapor_viscosity=vapor_viscosity, **fluid)
    Re = U * droplet_diameter * vapor_density / vapor_viscosity
    C = drum.drag_coefficient(Re) if drag_coefficient is None else drag_coefficient
    equation = "sqrt(4*g*d_d*(rho_l - rho_v)/(3*rho_v*C_D))"
    gap = liquid_density - vapor_density
    U = float(np.sqrt(4.0 * GRAVITY * droplet_diameter * gap / (3.0 * vapor_density * C)))
    return Working([
        step("droplet_reynolds", Re, source="solved with the next two", **fluid),
        step("drag_coefficient", C, "24/Re_d*(1 + 0.1806*Re_d**0.6459) + 0.4251/(1 + 6880.95/Re_d)"
             if drag_coefficient is None else "", drum.DRAG, droplet_reynolds=Re),
        step("settling_velocity", U, equation, "weight against drag", gravity=GRAVITY,
             droplet_diameter=droplet_diameter, drag_coefficient=C, **fluid),
    ])  # fmt: skip


def length(volume_flow, diameter, level, settling_velocity, passes=1.0):
    """Length that a horizontal drum needs; slips leave its passes at other than one."""
    area = 0.25 * np.pi * diameter**2 - drum._segment(level / diameter) * diameter**2
    theta, u = (diameter - level) / settling_velocity, volume_flow / area
    needed = float(u * theta / passes)
    return Working([
        step("vapor_area", float(area), source="circle less the liquid's segment"),
        step("dropout_time", theta, "(D - h_L)/U_c", drum.SOURCE, diameter=diameter, level=level,
             settling_velocity=settling_velocity),
        step("vapor_velocity", float(u), "q/A_v", drum.SOURCE, volume_flow=volume_flow,
             vapor_area=float(area)),
        step("length_needed", needed, "u_v*theta_d/N_p", drum.SOURCE, vapor_velocity=float(u),
             dropout_time=theta, passes=passes),
    ])  # fmt: skip


def lasts(volume, slops, liquid_inflow, liquid_density):
    """Time until the liquid has taken a volume, slops and all."""
    t = (volume - slops) * liquid_density / liquid_inflow
    return Working([step("time", t, "(V - V_s)*rho_l/W_l", "volume over flow", volume=volume,
                         slops=slops, liquid_density=liquid_density,
                         liquid_inflow=liquid_inflow)])  # fmt: skip


def rising(volume_flow, settling_velocity):
    """Diameter of a vertical drum."""
    D = drum.least_vertical_diameter(volume_flow, settling_velocity)
    return Working([step("diameter", D, "sqrt(4*q/(pi*U_c))", drum.SOURCE,
                         volume_flow=volume_flow, settling_velocity=settling_velocity)]
                   )  # fmt: skip


CHART = Slip("drag read off the chart", "C was read off the chart of the standard, which lies low",
             lambda i: i | {"drag_coefficient": _chart(**i)}, common="often")  # fmt: skip
STOKES = Slip(
    "Stokes", "the law for creeping flow, C = 24/Re, was used far beyond Re 1",
    lambda i: i | {"drag_coefficient": _stokes(**i)}, common="often",
)  # fmt: skip
HALVED = Slip("two passes halve it", "the length was divided by two passes: each has half of it",
              lambda i: i | {"passes": 2.0})  # fmt: skip
DRY = Slip("no liquid", "the drum was taken as empty", lambda i: i | {"level": 0.0}, common="often")
EMPTY = Slip("no slops", "the slops that were there before were forgotten",
             lambda i: i | {"slops": 0.0}, common="often")  # fmt: skip


def _chart(**droplet):
    """The chart's C where the standard prints its reading: 1.30 for 1.43."""
    return 1.30 / 1.43 * fall(**droplet)[1].value


def _stokes(droplet_diameter, liquid_density, vapor_density, vapor_viscosity):
    U = GRAVITY * droplet_diameter**2 * (liquid_density - vapor_density) / (18 * vapor_viscosity)
    return 24.0 * vapor_viscosity / (U * droplet_diameter * vapor_density)


QUESTIONS = (
    *series(
        "fall",
        "A droplet of {droplet_diameter}, {liquid_density}, falls through gas of {vapor_density} "
        "and {vapor_viscosity}. How fast?",
        fall,
        {"droplet_diameter": Varies(300e-6, 250e-6, 600e-6, 10.0), **_GAS},
        "settling_velocity",
        "Weight against drag; C follows from Re, and Re from the velocity: guess, and go round.",
        ("droplet_reynolds", "drag_coefficient"),
        note="Re is about 60: neither creeping flow (C = 24/Re) nor the flat part of the curve.",
        why="A chart read with the eye costs a few per cent, the wrong law a factor.",
        tolerance=0.02,
        slips=(CHART, STOKES),
    ),
    Value(
        "length",
        "{volume_flow} of gas cross a horizontal drum {diameter} wide in which liquid stands "
        "{level} high. Droplets fall at {settling_velocity}. How long must it be?",
        length,
        {"volume_flow": Varies(6.0, 4.0, 9.0, 100.0), "diameter": 2.4, "level": 1.0,
         "settling_velocity": 0.7},
        "length_needed",
        "Time of the fall through the vapour space, times the velocity along it. The section is "
        "the circle less the segment of the liquid.",
        why="The liquid takes the gas's section and shortens the fall: both count.",
        slips=(DRY, HALVED),
    ),
    Choice(
        "passes",
        "The drum is too short by a third. A colleague would let the gas in at both ends and out "
        "in the middle. What does that buy?",
        {
            "Half the length: each half of the gas has its own way.":
                "Each half also has only half of the drum. Velocity and way are both halved, the "
                "time is what it was.",
            "No length at all; but half the speed over the liquid.":
                "L = q theta / A, however many passes. It helps against droplets torn off "
                "the surface, and the nozzles come smaller.",
            "A quarter less, since the gas spreads better.":
                "Spreading well is what the equation already assumes.",
        },
        "No length at all; but half the speed over the liquid.",
        hint="Write down velocity and length of way for one half.",
    ),
    Choice(
        "governs",
        "Two events: 24 t/h of naphtha vapour at 84 °C, and 17 t/h of a gas rich in hydrogen at "
        "40 °C. For which one must the drum be longer?",
        {
            "The naphtha: more kilograms.":
                "A drum sees volume. 24 t/h of it are some 3 to 5 m³/s.",
            "The hydrogen-rich gas: several times the volume.":
                "Though its droplets also fall faster, since there is little gas to hold "
                "them. Run every event: what counts is q over the velocity of the fall.",
            "The same: droplets don't care.":
                "Both the flow and the fall hang on the density of the gas.",
        },
        "The hydrogen-rich gas: several times the volume.",
        hint="Volume flow is mass flow over density.",
    ),
    Value(
        "minutes",
        "A drum holds {volume} below its inlet. {slops} of slops are in it when an event begins "
        "that brings {liquid_inflow} of liquid of {liquid_density}. After how long does the "
        "liquid reach the inlet?",
        lasts,
        {"volume": 14.0, "slops": 2.5, "liquid_density": 620.0,
         "liquid_inflow": Varies(15_000 / 3600, 9_000 / 3600, 25_000 / 3600, 500.0)},
        "time",
        "What room is left, over the volume flow.",
        why="Nobody promises that an event begins with an empty drum. The pump is not counted: "
            "it may be what failed.",
        slips=(EMPTY,),
    ),
    Value(
        "vertical",
        "The same kind of gas, {volume_flow}, in a vertical drum: droplets fall at "
        "{settling_velocity}. How wide must it be at least?",
        rising,
        {"volume_flow": Varies(4.0, 2.0, 8.0, 100.0), "settling_velocity": 0.7},
        "diameter",
        "The gas may rise as fast as the droplets fall, no faster.",
        why="Its liquid does not take the gas's section: that is what height is for.",
    ),
    Choice(
        "cold",
        "A full propane bullet relieves liquid of 43 °C into the flare header. The drum's metal is "
        "made for -29 °C. Does it matter?",
        {
            "No: 43 °C is warm.":
                "That is before the valve. At the pressure of the header it boils at -41 °C.",
            "Yes: half of it boils and the rest arrives at -41 °C.":
                "The phase and the temperature that count are those behind the valve.",
            "Only if the event lasts for hours.":
                "Thin metal under boiling liquid follows it within minutes.",
        },
        "Yes: half of it boils and the rest arrives at -41 °C.",
        hint="What is propane at 1 bar?",
    ),
)  # fmt: skip
