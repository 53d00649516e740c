"""What 22 asks: from a test to the vent of a tempered batch, families, what a test hides."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import runaway_reaction as rr
from relieflib.slips import Slip, used_instead
from relieflib.working import Working, step

NOTEBOOK = 22
WARM_UP = (("20", "mixture"), ("14", "boils"))
BALANCE = "heat balance of the batch"


def heat(liquid_heat_capacity, test_rate, phi_factor):
    """Heat of reaction of each kilogram, from a test, one step."""
    q = liquid_heat_capacity * rr.phi_corrected(test_rate, phi_factor)
    return step("reaction_heat", q, "c_p*phi*r_t", BALANCE, phi_factor=phi_factor,
                liquid_heat_capacity=liquid_heat_capacity, test_rate=test_rate)  # fmt: skip


def from_test(batch_mass, liquid_heat_capacity, test_rate, phi_factor, latent_heat):
    """Load if vapour alone left."""
    q = heat(liquid_heat_capacity, test_rate, phi_factor)
    load = rr.vapor_load(batch_mass, q.value, latent_heat, None)
    return Working([q, *load.working])


def two_phases(batch_mass, reactor_volume, liquid_heat_capacity, test_rate, phi_factor,
               latent_heat, specific_volume_change, mass_flux, Kd):  # fmt: skip
    """From a test to the area for two phases, without overpressure."""
    q = heat(liquid_heat_capacity, test_rate, phi_factor)
    made = batch_mass * q.value * specific_volume_change / latent_heat
    W = batch_mass / reactor_volume * made
    return Working([
        q,
        step("mass_flow", W, "m_0**2*q_r*v_vl0/(V_r*h_v)", rr.SOURCE, batch_mass=batch_mass,
             reaction_heat=q.value, specific_volume_change=specific_volume_change,
             reactor_volume=reactor_volume, latent_heat=latent_heat),
        step("required_area", W / (Kd * mass_flux), "W/(Kd*G)", "definition of G", mass_flow=W,
             Kd=Kd, mass_flux=mass_flux),
    ])  # fmt: skip


NO_PHI = used_instead("phi_factor", 1.0, "the phi factor of the test was left out")
ALL_VAPOR = Slip(
    "vapour alone", "vapour alone was let out: m q/h",
    lambda i: i | {"reactor_volume": i["batch_mass"] * i["specific_volume_change"]},
    common="often",
)  # fmt: skip
MASS = Varies(5000.0, 2000.0, 9000.0, 100.0)
TEST = {"liquid_heat_capacity": 2500.0, "test_rate": 0.02}

QUESTIONS = (
    *series(
        "two phases",
        "{batch_mass} of {liquid_heat_capacity} in {reactor_volume}. A calorimeter with phi "
        "{phi_factor} shows {test_rate} at set pressure. Latent heat {latent_heat}, vapour less "
        "liquid {specific_volume_change}. Two phases leave, without overpressure, with a flux of "
        "{mass_flux}; Kd is {Kd}. Which area is required?",
        two_phases,
        {"batch_mass": MASS, "reactor_volume": 10.0, **TEST, "phi_factor": 1.25,
         "latent_heat": 300e3, "specific_volume_change": 0.08, "mass_flux": 3600.0, "Kd": 0.85},
        "required_area",
        "Heat of the real batch first: c phi r. What boils must find room: W = m² q v/(V h). "
        "Then A = W/(Kd G).",
        ("reaction_heat", "mass_flow"),
        note="Twice the batch takes four times the area: more heat, and more of it in each litre.",
        why="A kilogram of mixture takes little vapour with it, so many kilograms must go.",
        slips=(NO_PHI, ALL_VAPOR),
    ),
    Value(
        "vapour alone",
        "A calorimeter with phi {phi_factor} shows {test_rate} at set pressure. The batch is "
        "{batch_mass} of {liquid_heat_capacity}, latent heat {latent_heat}. Which load would it "
        "be, if vapour alone left?",
        from_test,
        {"batch_mass": MASS, **TEST, "phi_factor": 1.25, "latent_heat": 300e3},
        "mass_flow",
        "First the rate of the real batch: it is phi times that of the test. Then m c r / h.",
        why="R-101 would so get an area a third of what it needs, or less: it vents two phases.",
        slips=(NO_PHI,),
    ),
    Choice(
        "family",
        "A closed test is cooled back to its start, and the cell shows 6 bar more than before. The "
        "solvent boils well below the peak. Which family is it?",
        {
            "Tempered: the solvent boils, and boiling cools.":
                "It does, but what boiled condenses again when cooled. Six bar stayed: that is "
                "gas.",
            "Gassy: the pressure that stays is gas.":
                "It is. But the solvent boils below the peak, and its vapour comes as well.",
            "Hybrid: gas stayed, and the solvent boils.":
                "Both must be vented: the gas, and the vapour that boils. This is one for a "
                "specialist.",
        },
        "Hybrid: gas stayed, and the solvent boils.",
        hint="What can't condense? And what else is there at the peak?",
    ),
    Choice(
        "set lower",
        "The set pressure of a tempered batch's vent is lowered, the highest pressure allowed "
        "stays. What does the vent area do?",
        {
            "It grows: at a lower pressure less flows.":
                "Less flows, but far more is won: a cooler batch is slower by three to five "
                "times in twenty degrees, and may warm further.",
            "It falls: the batch is slower, and may warm further.":
                "The rate at set is lower, and the overpressure larger. That is why a "
                "reactor's vent is set low on purpose.",
            "It stays: the highest pressure decides.":
                "The highest pressure is where it must turn round. The rate at which it gets "
                "there is decided where the vent opens.",
        },
        "It falls: the batch is slower, and may warm further.",
        hint="Rate at set, and overpressure: where does each of them go?",
    ),
    Choice(
        "which phase",
        "The screening finds that the swelled liquid takes up 90 % of the vessel. The batch foams "
        "a little. Which phase do you size for?",
        {
            "Vapour: the liquid does not reach the vent.":
                "The screening takes a clean liquid for granted. Foam climbs to the vent "
                "at any level.",
            "Two-phase: the screening holds for clean liquid alone.":
                "It can confirm two phases. To size for vapour alone it is never enough.",
            "Nine tenths vapour, one tenth liquid, as the screening says.":
                "It says how full the vessel is, not what leaves. Foam carries liquid out from "
                "any level.",
        },
        "Two-phase: the screening holds for clean liquid alone.",
        hint="What does the screening take for granted?",
    ),
    Choice(
        "fire valve",
        "A reactor's valve was sized for fire, letter K. The runaway needs letter Q. A trip stops "
        "the feed at high temperature. Is K enough?",
        {
            "It is: the trip stops the runaway.":
                "A batch that has its charge needs no more feed to run away. And a trip is "
                "counted in a study of its own, not in the size.",
            "It is, with two of them.":
                "Two K have 2372 mm², Q has 7129. A runaway is no matter of a letter "
                "more.",
            "It is not: the area is several times too small.":
                "Cap the charge and its temperature, set lower, take a disk or more valves, or a "
                "stronger vessel.",
        },
        "It is not: the area is several times too small.",
        hint="What feeds the runaway?",
    ),
)  # fmt: skip
