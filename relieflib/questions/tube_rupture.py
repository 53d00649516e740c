"""What 15 asks: the flow of a broken tube, the screen, the safe bound, and the disk in its line."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import tube_rupture as tr
from relieflib.nozzle.liquid import Liquid
from relieflib.slips import Slip, used_instead
from relieflib.units import to_si
from relieflib.working import Working, step

NOTEBOOK = 15
WARM_UP = (("14", "cooler"), ("14", "nothing else"))


def through_both(density, upstream_pressure, downstream_pressure, tube_inside_diameter,
                 openings, orifice_coefficient):  # fmt: skip
    """Liquid that leaves both ends of a broken tube."""
    up, down = Liquid(upstream_pressure, density), Liquid(downstream_pressure, density)
    return tr.relief_load(up, down, tube_inside_diameter, orifice_coefficient, openings).working


def pushed_out(gas_inflow, gas_density, liquid_density):
    """Liquid that gas pushes out of a full shell."""
    flow = gas_inflow * liquid_density / gas_density
    return Working([step("liquid_inflow", flow, "W_g*rho_l/rho_g", "equal volumes",
                         gas_inflow=gas_inflow, gas_density=gas_density,
                         liquid_density=liquid_density)])  # fmt: skip


def screen(high_pressure_gauge, mawp_gauge):
    """Is relief needed?"""
    return NEEDED if tr.relief_needed(high_pressure_gauge, mawp_gauge) else NOT_NEEDED


NEEDED = "Needed: the high side can bring more than the low side was tested at."
NOT_NEEDED = "Not needed: the low side was tested at more than the high side can bring."
ONE_END = used_instead("openings", 1, "one opening was counted: gas leaves stub and long end")
FULL_NOZZLE = used_instead("orifice_coefficient", 1.0, "the orifice coefficient was left out")

QUESTIONS = (
    *series(
        "tube",
        "A tube of {tube_inside_diameter} inside breaks clean. Liquid of {density} that does not "
        "flash flows from {upstream_pressure} into {downstream_pressure}; the orifice coefficient "
        "is {orifice_coefficient}. What flow comes through?",
        through_both,
        {"density": 800.0, "upstream_pressure": Varies(60e5, 30e5, 120e5, 1.0),
         "downstream_pressure": 11e5, "tube_inside_diameter": 0.01483, "openings": 2,
         "orifice_coefficient": 0.7},
        "mass_flow",
        "Two bores; G = sqrt(2 rho dP); then Co A G.",
        ("opening_area", "upstream_flux"),
        note="Both ends of the tube count: the stub at the tubesheet and the long end.",
        why="A tube no thicker than a thumb brings tens of tonnes an hour.",
        slips=(ONE_END, FULL_NOZZLE),
    ),
    Choice(
        "screen",
        "High side {high_pressure_gauge}; low side MAWP {mawp_gauge}, with all that is connected "
        "to it, tested at 1.3 times MAWP. Is relief for a broken tube needed?",
        {
            NEEDED: "1.3 times {mawp_gauge} is 16.1 barg; the high side has {high_pressure_gauge}. "
                    "Above the test, relief is needed.",
            NOT_NEEDED: "1.3 times {mawp_gauge} is 16.1 barg; the high side has "
                        "{high_pressure_gauge}. Below the test, the wall has already held it.",
            "Needed whenever the high side is above the low side's MAWP.":
                "A wall that has held its hydrotest in the shop is not taken as overpressured "
                "below it: the line is 16.1 barg, not {mawp_gauge}.",
        },
        screen,
        {"high_pressure_gauge": Varies(to_si(300.0, "psi", "pressure difference"), 12e5, 30e5, 1.0),
         "mawp_gauge": to_si(180.0, "psi", "pressure difference")},
        hint="Hold the high side against 1.3 times the low side's MAWP.",
    ),
    Value(
        "pushed",
        "{gas_inflow} of gas come through a broken tube into a shell full of water, "
        "{liquid_density}. At relieving pressure the gas has {gas_density}. How much water must "
        "leave at first?",
        pushed_out,
        {"gas_inflow": Varies(8000 / 3600, 3000 / 3600, 15000 / 3600, 100),
         "gas_density": 3.15, "liquid_density": 993.0},
        "liquid_inflow",
        "Volume for volume.",
        why="For each tonne of gas more than three hundred tonnes of water; the valve for the gas "
            "alone would be far too small.",
        slips=(
            Slip("gas alone", "the flow of the gas was taken for that of the water",
                 lambda i: i | {"liquid_density": i["gas_density"]}, common="often"),
        ),
    ),
    Choice(
        "bound",
        "Boiling water leaves a short break. At equilibrium 15.7 t/h come through, with no "
        "flashing 59.2. The truth lies between. Which flow sizes the low-pressure side's relief?",
        {
            "Equilibrium: boiling water boils as its pressure falls.":
                "In a short break it has no time to. Equilibrium would understate what comes, and "
                "with it the load.",
            "No flashing: the larger flow, since it is the load.":
                "A load must not be understated. For the relief valve's own nozzle it is the other "
                "way round: the smaller flux is safe.",
            "The mean of both: the truth lies between.":
                "Nobody knows where between. The load takes the bound that can't be exceeded.",
        },
        "No flashing: the larger flow, since it is the load.",
        hint="Is this flow a load or a capacity?",
    ),
    Choice(
        "disk",
        "A disk of 4766 mm² leads through 30 m of 3 in pipe to the flare. With Kd 0.62 it would "
        "need 2879 mm². A colleague calls it large enough. What do you say?",
        {
            "Agreed: 2879 is less than 4766.":
                "Kd 0.62 holds for a disk straight into the air, with 5 diameters of pipe behind "
                "it at most. This one has 385.",
            "Work out the whole line, with the disk as a fitting, and count nine tenths.":
                "The line passes 95 % of the gas: it does not cover it. A 4 in pipe behind the "
                "disk does.",
            "Take half of it: disks are less sure than valves.":
                "No rule says so. What the line costs can be worked out, and a certified K does "
                "better than a guess.",
        },
        "Work out the whole line, with the disk as a fitting, and count nine tenths.",
        hint="For which line does 0.62 hold?",
    ),
    Choice(
        "steady",
        "Gas at 72 barg meets a shell full of water. The disk is large enough for the steady flow "
        "of gas and of water. Is the shell safe?",
        {
            "Yes: both steady flows are covered.":
                "The shock comes within milliseconds, before any flow is steady and perhaps before "
                "the disk has burst.",
            "Yes, if the disk bursts at the MAWP of the shell.":
                "At which pressure it bursts is one thing; how long the pressure wave takes to get "
                "there, and what it does on the way, is another.",
            "Not shown: gas into liquid needs a dynamic study.":
                "So does a difference of 70 bar (API 521, 4.4.14).",
        },
        "Not shown: gas into liquid needs a dynamic study.",
        hint="How fast does the shell see the pressure?",
    ),
)  # fmt: skip
