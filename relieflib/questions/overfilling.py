"""What 20 asks: gas that leaves with the liquid, the bottom, the time, and what a drain gets."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import overfilling
from relieflib.nozzle.gas import Gas
from relieflib.slips import Slip, used_instead
from relieflib.units import GAS_CONSTANT
from relieflib.working import Working, step

NOTEBOOK = 20
WARM_UP = (("16", "balance"), ("10", "dead head"))


def mixture(inflow, gas_inflow, gas_density, liquid_density):
    """Gas and liquid that leave a full vessel well mixed; any gas of that density will do."""
    P, T = 24e5, 316.15
    gas = Gas(P, T, molar_mass=gas_density * GAS_CONSTANT * T / P, k=1.3, Z=1.0)
    return overfilling.mixed_load(inflow, gas_inflow, gas, liquid_density).working


def bottom(density, relieving_pressure, elevation):
    """Pressure at the bottom under its liquid."""
    return overfilling.bottom_steps(relieving_pressure, density, elevation)


def filling(volume, volume_flow):
    """Time until full, nothing leaving."""
    time = overfilling.time_to_fill(volume, volume_flow)
    return Working([step("time", time, "V/q", "volume balance", volume=volume,
                         volume_flow=volume_flow)])  # fmt: skip


def vapor_part(enthalpy, liquid_enthalpy, latent_heat):
    """What a valve makes of a liquid: throttling keeps the enthalpy."""
    part = (enthalpy - liquid_enthalpy) / latent_heat
    return Working([step("quality", part, "(h - h_l)/h_v", "throttling keeps the enthalpy",
                         enthalpy=enthalpy, liquid_enthalpy=liquid_enthalpy,
                         latent_heat=latent_heat)])  # fmt: skip


QUESTIONS = (
    *series(
        "mixture",
        "A vessel is full; its feed goes on: {inflow} of liquid of {liquid_density}, and "
        "{gas_inflow} of gas, which at relieving pressure has {gas_density}. Nothing else leaves. "
        "Which density has the mixture at the valve?",
        mixture,
        {"inflow": 5.0, "gas_inflow": Varies(0.06, 0.02, 0.2, 10.0), "gas_density": 10.0,
         "liquid_density": 620.0},
        "density",
        "How many cubic metres of each come in an hour? Mass of both over volume of both.",
        ("mass_flow", "void_fraction"),
        note="A little over 1 % of the mass is gas, and 43 % of the volume. That is what the "
             "valve must pass.",
        why="Sized as liquid alone the valve would be far too small.",
        slips=(
            used_instead("gas_inflow", 1e-9, "the gas was left out: that is the liquid alone"),
        ),
    ),
    Choice(
        "gas",
        "The feed of a full drum is liquid, with 1.2 % of gas by mass. What does the gas do to "
        "the required area, at the pressure of V-102?",
        {
            "About 1 % more: area goes with the load.":
                "The load does grow by 1 %. But the gas takes 42 % of the volume, and the flux "
                "of the mixture is far below that of the liquid.",
            "Some two thirds more.":
                "On V-102 238 mm² in place of 142: an F would have been called enough, and a G is "
                "needed.",
            "Less: gas goes through a nozzle more easily than liquid.":
                "It goes faster, but a kilogram of it takes sixty times the room here, and a "
                "nozzle has room to sell, not kilograms.",
        },
        "Some two thirds more.",
        hint="Look at the volumes, not at the kilograms.",
    ),
    Value(
        "bottom",
        "A valve relieves liquid of {density} at {relieving_pressure}, {elevation} above the "
        "bottom. What is the absolute pressure at the bottom?",
        bottom,
        {"density": 700.0, "relieving_pressure": 10e5, "elevation": Varies(20.0, 5.0, 40.0, 1.0)},
        "bottom_pressure",
        "rho g z comes on top of what stands at the valve.",
        why="In a drum of 3 m nobody notices; in a column of 30 m it decides the set pressure.",
        tolerance=0.003,
        slips=(used_instead("elevation", 0.0, "the liquid column was left out"),),
    ),
    Choice(
        "nameplate",
        "V-102 has a MAWP of 21 barg, and PSV-104 is set at 21.00. Full of liquid, the bottom "
        "stands 0.18 bar higher than the valve. What do you do?",
        {
            "Nothing: MAWP holds at the top, so the bottom is no concern.":
                "It holds at the top; but the strength of a part includes the head on it, and the "
                "bottom may not have been made for that head.",
            "Report a fault: the set must come down to 20.82 barg.":
                "So it must if nothing was deducted. If the fabricator deducted the full shell, "
                "20.90 would do. Which one holds is not yet known.",
            "Ask the fabricator which liquid was deducted, up to which height.":
                "Only his calculation says what the bottom was made for on top of MAWP. Then "
                "the set stays or comes down.",
        },
        "Ask the fabricator which liquid was deducted, up to which height.",
        hint="Whose calculation put 21 barg on the nameplate?",
    ),
    Value(
        "time",
        "{volume} of room above the alarm, {volume_flow} coming in, nothing leaving. How long "
        "until the vessel is full?",
        filling,
        {"volume": 3.0, "volume_flow": Varies(20 / 3600, 5 / 3600, 60 / 3600, 1.0)},
        "time",
        "Volume over flow.",
        why="An operator counts only with ten to thirty minutes, and an alarm of its own.",
    ),
    Value(
        "vapour",
        "A full bullet relieves liquid propane of 20 bara with {enthalpy} into a closed drain. At "
        "the drain's 1.5 bara the boiling liquid has {liquid_enthalpy}, and its latent heat is "
        "{latent_heat}. What part of the mass is vapour in the drain?",
        vapor_part,
        {"enthalpy": Varies(315.5e3, 280e3, 336e3, 2.0), "liquid_enthalpy": 121.5e3,
         "latent_heat": 415.6e3},
        "quality",
        "A valve keeps the enthalpy: h before = h_l + x h_v after.",
        why="By volume that is 99 %, at -33 °C.",
        tolerance=0.015,
        slips=(
            Slip("the liquid part", "that is the part that stays liquid", common="often",
                 change=lambda i: i | {
                     "enthalpy": i["liquid_enthalpy"] + i["latent_heat"]
                     - (i["enthalpy"] - i["liquid_enthalpy"])}),
        ),
    ),
    Choice(
        "drain",
        "May that propane, 43 °C before the valve, go to the closed drain, which is made for "
        "liquid?",
        {
            "Yes: it is liquid at the valve's inlet.":
                "At the inlet, at 20 bara. At the drain's 1.5 bara nearly half of its mass has "
                "boiled.",
            "Yes: more than half of the mass stays liquid.":
                "By mass. By volume 99 % is vapour, and it is the volume that a drain line must "
                "carry.",
            "No: by volume 99 % is vapour in the drain, and it is at -33 °C.":
                "It belongs to a system for gas and liquid with a knock-out drum, of a steel for "
                "the cold. Only what stays liquid at the drain's pressure goes to a drain.",
        },
        "No: by volume 99 % is vapour in the drain, and it is at -33 °C.",
        hint="Half of the mass is which part of the volume, and how cold?",
    ),
)  # fmt: skip
