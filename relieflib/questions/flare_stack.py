"""What 62 asks: the tip, the heat on the ground, the height, the purge, the seal, the vacuum."""

import numpy as np

from relieflib import rules
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.disposal import purge_and_seal, radiation, stack
from relieflib.lines import pipe_flow
from relieflib.slips import Slip, used_instead
from relieflib.units import ATMOSPHERE as AIR, GAS_CONSTANT, GRAVITY, ICE_POINT
from relieflib.working import Working, step

NOTEBOOK = 62
WARM_UP = (("30", "built-up"), ("10", "credit"))


def diameter(mass_flow, mach, temperature, molar_mass, k, Z, atmosphere):
    """Area and diameter of a tip in which a gas has a Mach number."""
    one = pipe_flow.mach_number(1.0, atmosphere, temperature, molar_mass, Z, k)
    area = mass_flow / mach * one
    found = float(np.sqrt(4.0 * area / np.pi))
    return Working([
        step("exit_area", area, "W/(Patm*Ma)*sqrt(Z*R*T1/(k*M))", stack.TIP, mass_flow=mass_flow,
             atmosphere=atmosphere, mach=mach, Z=Z, gas_constant=GAS_CONSTANT,
             temperature=temperature, k=k, molar_mass=molar_mass),
        step("tip_diameter", found, "sqrt(4*A_ex/pi)", "circle", exit_area=area),
    ])  # fmt: skip


def under(heat_release, radiated_fraction, stack_height, center_rise, solar_flux):
    """Heat flux right under a flame, with the sun."""
    down = stack_height + center_rise
    K = radiation.radiation(heat_release, radiated_fraction, down)
    return Working([
        step("under_flame", down, "H_st + z_c", stack.GEOMETRY, stack_height=stack_height,
             center_rise=center_rise),
        step("radiation", K, "F_rad*Q_f/(4*pi*D_u**2)", radiation.POINT,
             radiated_fraction=radiated_fraction, heat_release=heat_release, under_flame=down),
        step("exposure", K + solar_flux, "K_r + q_s", "both meet the same skin", radiation=K,
             solar_flux=solar_flux),
    ])  # fmt: skip


def height(radiation_limit, heat_release, radiated_fraction, center_downwind, center_rise, distance,
           solar_flux):  # fmt: skip
    """Height of a tip so that flame and sun keep a limit from a distance on."""
    D = radiation.radiation_distance(radiation_limit, heat_release, radiated_fraction,
                                     solar_flux=solar_flux)  # fmt: skip
    H = radiation.needed_height(D, center_downwind, center_rise, distance)
    return Working([
        step("radiation_distance", D, "sqrt(F_rad*Q_f/(4*pi*(K_lim - q_s)))",
             radiation.POINT, radiated_fraction=radiated_fraction, heat_release=heat_release,
             radiation_limit=radiation_limit, solar_flux=solar_flux),
        step("needed_height", H, "sqrt(D_r**2 - (r_d - x_c)**2) - z_c", stack.GEOMETRY,
             radiation_distance=D, distance=distance, center_downwind=center_downwind,
             center_rise=center_rise),
    ])  # fmt: skip


def seal(seal_depth, seal_density):
    """Back pressure that a liquid seal puts behind every valve."""
    p = purge_and_seal.Seal(seal_depth, seal_density, 1.0).pressure
    return Working([
        step("superimposed_gauge", p, "rho_s*g*z_s", purge_and_seal.HYDROSTATICS,
             seal_density=seal_density, gravity=GRAVITY, seal_depth=seal_depth),
    ])  # fmt: skip


def cooled(pressure, start_temperature, end_temperature):
    """Pressure of a closed header once it is cold."""
    P = purge_and_seal.cooled_pressure(pressure, start_temperature, end_temperature)
    return Working([
        step("header_pressure", P, "P1*T_e/T_0", "ideal gas", pressure=pressure,
             start_temperature=start_temperature, end_temperature=end_temperature),
    ])  # fmt: skip


def _foot(i):
    return i | {name: 0.0 for name in ("center_downwind", "center_rise") if name in i}


FOOT = Slip(
    "measured from the foot",
    "the distance was measured from the tip over the foot, not from the flame that the wind bends",
    _foot,
)
NO_SUN = used_instead("solar_flux", 0.0, "the sun was left out", "often")
ALL_RADIATED = used_instead("radiated_fraction", 1.0, "all heat was taken as radiated", "sometimes")
CELSIUS = Slip(
    "temperatures in °C",
    "the temperatures were left in °C: a ratio needs absolute ones",
    lambda i: i | {n: i[n] - ICE_POINT for n in ("start_temperature", "end_temperature")},
)

QUESTIONS = (
    *series(
        "diameter",
        "One event sends {mass_flow} of gas to a plain flare tip: M {molar_mass}, k {k}, Z {Z}, "
        "{temperature}. Which diameter gives Mach {mach} in air of {atmosphere}?",
        diameter,
        {
            "mass_flow": Varies(8.0, 4.0, 16.0, 500), "mach": 0.5, "temperature": 350.0,
            "molar_mass": 42.0, "k": 1.12, "Z": 0.99, "atmosphere": AIR,
        },
        "tip_diameter",
        "First the area in which the gas has that Mach number; then the circle.",
        ("exit_area",),
        note="k stands under the root here. The isothermal equation of a header leaves it out; "
             "that would make this tip 3 % wider.",
        why="0.5 is for the rare, largest release. What burns often and smokeless wants 0.2.",
        slips=(
            used_instead("mach", 0.2, "the limit of the frequent release was taken, 0.2", "often"),
            used_instead("k", 1.0, "k was left out, as in the equation of a header", "often"),
        ),
    ),
    *series(
        "under",
        "A flame of {heat_release} radiates {radiated_fraction} of it. The tip stands "
        "{stack_height} above the ground, the flame's centre {center_rise} above the tip. The sun "
        "adds {solar_flux}; the air takes nothing up. Which heat flux is met right under the "
        "flame?",
        under,
        {
            "heat_release": Varies(400e6, 250e6, 700e6, 25),
            "radiated_fraction": rules.RADIATED.value,
            "stack_height": 45.0, "center_rise": 9.0, "solar_flux": 1000.0,
        },
        "exposure",
        "Distance from the FLAME to the ground; the heat spreads over a sphere; then the sun.",
        ("under_flame",),
        note="Nobody stands nearer to the flame than right under it, and the wind chooses where "
             "that is.",
        why="Foot of the stack or under the flame: they differ, and the wind turns it all around.",
        slips=(FOOT, NO_SUN, ALL_RADIATED),
    ),
    Value(
        "height",
        "People may be {distance} from a flare stack and further. The limit there is "
        "{radiation_limit} with the sun's {solar_flux}. The flame releases {heat_release} and "
        "radiates {radiated_fraction} of it; its centre stands {center_downwind} downwind of the "
        "tip and {center_rise} above it. How high must the tip be, when the air takes nothing up?",
        height,
        {
            "radiation_limit": 4730.0, "heat_release": Varies(400e6, 300e6, 600e6, 10),
            "radiated_fraction": rules.RADIATED.value, "center_downwind": 15.0, "center_rise": 9.0,
            "distance": 40.0, "solar_flux": 1000.0,
        },
        "needed_height",
        "How far from the flame is the limit met? Then Pythagoras, with the flame 15 m nearer.",
        why="The wind blows the flame TOWARDS the people: that is the case that counts.",
        slips=(FOOT, NO_SUN, ALL_RADIATED),
    ),
    Value(
        "seal",
        "The end of a flare header dips {seal_depth} into a liquid of {seal_density}. Which "
        "constant back pressure does every valve on that header feel, with nothing relieved?",
        seal,
        {"seal_depth": Varies(0.5, 0.4, 1.5, 0.05), "seal_density": 1080.0},
        "superimposed_gauge",
        "A column of liquid: rho g h.",
        why="It is there from the first moment: superimposed, constant, and in the test pressure "
            "of every conventional valve.",
        slips=(used_instead("seal_density", 1000.0, "the density of water was taken", "often"),),
    ),
    Value(
        "cooled",
        "After a release the header is full of gas at {pressure} and {start_temperature}. It is "
        "closed in and cools to {end_temperature}; nothing condenses. Which pressure is left?",
        cooled,
        {"pressure": 105e3, "start_temperature": Varies(430.0, 380.0, 500.0, 5.0),
         "end_temperature": 290.0},
        "header_pressure",
        "Same gas, same volume: pressure goes with the absolute temperature.",
        why="Below the atmosphere air is sucked in, through the tip or through the seal.",
        slips=(CELSIUS,),
    ),
    Choice(
        "where",
        "Wind blows from the west. Where on the ground is the heat of the flare strongest?",
        {
            "At the foot of the stack: nothing is nearer to the tip.":
                "Nothing is nearer to the tip, but the heat comes from the flame, and the flame is "
                "not at the tip: the wind bends it.",
            "East of the foot, about under the middle of the flame.":
                "Since the wind may come from anywhere, it is a ring around the stack.",
            "West of the foot: there the flame is seen from its side.":
                "The one-point model knows no sides, and to the west the flame is further away.",
        },
        "East of the foot, about under the middle of the flame.",
        hint="Where is the flame when the wind blows?",
    ),
    Choice(
        "flows",
        "Three valves lift in one event. Their required loads are 3, 2 and 4 kg/s, their rated "
        "flows 5, 3 and 6 kg/s. Which flow do you take for the tip?",
        {
            "9 kg/s: what must be relieved in this event.":
                "Over the minutes no more comes out than goes in: the shared part carries "
                "the required loads of one event (API 521, disposal loads).",
            "14 kg/s: what the valves pass when open.":
                "That counts in each valve's own outlet line, while it is open. No vessel feeds "
                "its valve at the rated flow for long.",
            "4 kg/s: the largest of them.":
                "They lift together. Adding up is what an event is about.",
        },
        "9 kg/s: what must be relieved in this event.",
        hint="Own line: rated flow. Shared parts: what the event asks for.",
    ),
    Choice(
        "purge",
        "Propane is to purge a flare stack without a seal in its tip. The equation gives a "
        "negative flow. What does that mean?",
        {
            "No purge is needed.":
                "The other way round: propane is heavier than air, so it slides out and air sinks "
                "in beside it, whatever flows slowly.",
            "The equation has no answer for a gas heavier than air.":
                "Purge with something lighter, such as nitrogen or fuel gas, or put a seal "
                "into the tip.",
            "Take the number without its sign.":
                "It measures how buoyant the gas is. Without its sign it measures nothing.",
        },
        "The equation has no answer for a gas heavier than air.",
        hint="What holds air out of an open pipe: a gas that wants to rise.",
    ),
    Choice(
        "level",
        "A walkway is used for minutes a day, and people in working clothes can leave it at once. "
        "Design radiation there is 5.5 kW/m², sun included. What does the usual table say?",
        {
            "Fine: below 6.31 people may stay for some minutes.":
                "6.31 is for urgent work of up to 30 s. Two to three minutes need 4.73.",
            "Urgent work up to 30 s, with a way out: nothing for two minutes of work.":
                "Between 4.73 and 6.31 lie some ten seconds until bare skin hurts, so "
                "clothes and a way out are part of the limit.",
            "Nobody at all above 1.58.":
                "1.58 is the level for people who are there at all times.",
        },
        "Urgent work up to 30 s, with a way out: nothing for two minutes of work.",
        hint="Four levels: 1.58, 4.73, 6.31, 9.46 kW/m².",
    ),
)  # fmt: skip
