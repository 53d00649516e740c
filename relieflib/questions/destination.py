"""What 63 asks: the phase behind the valve, who may take it, how far a jet burns."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.disposal import release
from relieflib.lines.line_fluids import behind_valve
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.properties import State
from relieflib.rules import JET_WIND
from relieflib.slips import Slip, used_instead
from relieflib.working import Working, step

NOTEBOOK = 63
WARM_UP = (("61", "governs"), ("00", "absolute"))


def flashed(temperature, pressure, back_pressure):
    """Part of liquid propane that is vapour behind the valve."""
    before = RealFluid("Propane", pressure, temperature=temperature)
    x = behind_valve(before, back_pressure).quality
    low = State("Propane", back_pressure, quality=0.0)
    return Working([
        step("enthalpy", before.state.enthalpy, source="CoolProp, before the valve"),
        step("liquid_enthalpy", low.enthalpy, source="CoolProp, boiling behind it"),
        step("latent_heat", low.latent_heat, source="CoolProp, at that pressure"),
        step("quality", x, "(h - h_l)/h_v", "throttling keeps the enthalpy",
             enthalpy=before.state.enthalpy, liquid_enthalpy=low.enthalpy,
             latent_heat=low.latent_heat),
    ])  # fmt: skip


def burns(mass_flow, jet_momentum, flammable_limit, molar_mass, air_density, on_axis=True):
    """Distance along a jet to its flammable limit on the axis; slips take the mean."""
    Y = release.mass_fraction(flammable_limit, molar_mass)
    far = release.dilution_length(mass_flow, jet_momentum, Y, air_density, on_axis)
    factor = "2*5.4" if on_axis else "2/0.32"
    return Working([
        step("mass_fraction", Y, "y_L*M/(y_L*M + (1 - y_L)*28.96)", "its definition",
             flammable_limit=flammable_limit, molar_mass=molar_mass),
        step("dilution_length", far, f"{factor}*W/(Y_L*sqrt(pi*J*rho_a))",
             release.ON_AXIS, mass_flow=mass_flow, mass_fraction=Y, jet_momentum=jet_momentum,
             air_density=air_density),
    ])  # fmt: skip


def strongest_wind(exit_velocity):
    """Wind up to which the rule of the jet holds."""
    wind = exit_velocity / JET_WIND.value
    return Working([step("wind_velocity", wind, "w_x/10", JET_WIND.source,
                         exit_velocity=exit_velocity)])  # fmt: skip


MEAN = Slip("mean over the jet", "the mean over the jet was taken: its axis stays richer",
            lambda i: i | {"on_axis": False}, common="often")  # fmt: skip
NO_DENSITY = Slip(
    "the gas as heavy as air", "the density of the gas was left out",
    lambda i: i | {"molar_mass": release.AIR}, common="often",
)  # fmt: skip

QUESTIONS = (
    *series(
        "flash",
        "Liquid propane of {temperature} and {pressure} passes a valve into a system at "
        "{back_pressure}. What part of its mass is vapour there?",
        flashed,
        {"temperature": Varies(316.15, 303.15, 323.15, 1.0), "pressure": 20e5,
         "back_pressure": 1.5e5},
        "quality",
        "Throttling keeps the enthalpy: h before = h_l + x h_v after.",
        ("enthalpy", "liquid_enthalpy", "latent_heat"),
        note="By volume nearly all of it is vapour, and it arrives at the boiling point of that "
             "pressure.",
        why="Before the valve it was a liquid. A drain made for liquid gets a vapour, and a cold "
            "one.",
        tolerance=0.03,
        slips=(used_instead("temperature", 293.15, "the temperature was taken as 20 °C"),),
    ),
    Choice(
        "where",
        "So where does that propane go: half of it vapour, -33 °C?",
        {
            "To the closed drain: it comes as a liquid.":
                "It leaves the vessel as a liquid. What arrives is 99 % vapour by volume.",
            "To the flare header, which takes gas.":
                "Half of the mass is liquid. Without a knock-out drum it reaches the flame.",
            "To a header for gas and liquid with a knock-out drum, of metal for the cold.":
                "The phase behind the valve decides, and the temperature decides the metal.",
            "Into the air, high up.":
                "Liquid in the jet rains down, and its vapour is heavy and cold.",
        },
        "To a header for gas and liquid with a knock-out drum, of metal for the cold.",
        hint="Phase, hazard, temperature: all three behind the valve.",
    ),
    Value(
        "burns",
        "{mass_flow} of gas, M {molar_mass}, leave an open end as a jet with a momentum of "
        "{jet_momentum}. Its lower flammable limit is {flammable_limit} (mole fraction), the air "
        "has {air_density}. How far along its axis is it flammable?",
        burns,
        {"mass_flow": Varies(3.0, 1.5, 6.0, 200.0), "jet_momentum": 1500.0,
         "flammable_limit": 0.04, "molar_mass": 16.0, "air_density": 1.2},
        "dilution_length",
        "Mass fraction at the limit first. Then 6.09 W over Y sqrt(J rho) on the axis.",
        why="About 120 diameters is the mean over the jet, and for a gas as heavy as air.",
        slips=(MEAN, NO_DENSITY),
    ),
    Value(
        "wind",
        "A jet leaves at {exit_velocity}. Up to which wind may the rule of the self-diluting jet "
        "be used?",
        strongest_wind,
        {"exit_velocity": Varies(120.0, 60.0, 300.0, 5.0)},
        "wind_velocity",
        "The jet must be ten times as fast.",
        why="And at least 30 m/s of itself, and turbulent enough for its density.",
    ),
    Choice(
        "slow",
        "A vent lets out hydrocarbon vapour, M 86, at 8 m/s. How far is it flammable?",
        {
            "About 120 diameters, by the rule.":
                "The rule lives from momentum. At 8 m/s the gas is heavy and slow: it sinks.",
            "By a Gaussian plume from the height of the vent.":
                "That plume neither sinks nor starts as pure gas. It would look harmless.",
            "Not answerable with these equations.":
                "So it is. It needs a model for heavy gas, or a closed system.",
        },
        "Not answerable with these equations.",
        hint="Which gate fails first?",
    ),
    Choice(
        "unknown",
        "Nobody has found out whether the gas is toxic. What does that say of a release into the "
        "air?",
        {
            "It may go: nothing speaks against it.":
                "Not known is not the same as no: it may well be.",
            "It may not be counted as safe until it is known.":
                "What was not given is not known, and a way that is not known is none.",
            "It may go if the exit is high enough.":
                "Height thins it; how thin it must be is just what is not known.",
        },
        "It may not be counted as safe until it is known.",
    ),
    Choice(
        "drain drum",
        "A closed drain drum has a vent, always open, into the flare header. Does it need a relief "
        "valve of its own?",
        {
            "Never: an open vent cannot be shut.":
                "It can be too small: for a drain left open, and against a full flare header.",
            "Only in a fire.":
                "Fire is one case. A drain left open brings liquid that boils, then gas.",
            "Where the vent does not pass the largest load, with the header at its highest.":
                "Only then. Compare the flows at the drum's relieving pressure.",
        },
        "Where the vent does not pass the largest load, with the header at its highest.",
        hint="What stands in the header when everybody else relieves?",
    ),
)  # fmt: skip
