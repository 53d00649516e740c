"""What 31 asks: omega and the area it leads to, the flux of a boiling liquid, and which k."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import STATED, to_area
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.two_phase import TwoPhase, omega_from_90
from relieflib.sizing import ReliefLoad, size
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 31
WARM_UP = (("30", "two factors"), ("30", "liquid"))
SOURCE = "API 520-I (2020), Annex C.2.2"


def flashing(mass_flow, pressure, specific_volume, specific_volume_90, back_pressure):
    """From a flash to 90 % to the area of a conventional valve."""
    mixture = TwoPhase.from_90(pressure, specific_volume, specific_volume_90)
    return to_area(size(ReliefLoad(STATED, mass_flow, mixture), back_pressure=back_pressure))


def omega(specific_volume, specific_volume_90):
    """Omega of a flash to 90 %."""
    found = omega_from_90(specific_volume, specific_volume_90)
    return Working([step("omega", found, "9*(v9/v0 - 1)", SOURCE, specific_volume=specific_volume,
                         specific_volume_90=specific_volume_90)])  # fmt: skip


def propane(pressure, atmosphere):
    """Flux of saturated liquid propane at equilibrium."""
    flux = RealFluid("Propane", pressure, quality=0.0).mass_flux(atmosphere)
    return Working([step("mass_flux", flux, source="API 520-I (2020), Annex B: the highest density "
                         "times velocity along the isentrope", pressure=pressure)])  # fmt: skip


QUESTIONS = (
    *series(
        "flashing",
        "{mass_flow} of a boiling mixture relieve at {pressure}. It takes {specific_volume} at the "
        "inlet and {specific_volume_90} after a flash to 90 % of that pressure; {back_pressure} "
        "stand behind a conventional valve. Which area is required?",
        flashing,
        {"mass_flow": 10.0, "pressure": 8e5, "specific_volume": 0.02,
         "specific_volume_90": Varies(0.023, 0.0222, 0.0262, 0.0001), "back_pressure": 1.5e5},
        "required_area",
        "Omega from the two volumes; the critical ratio from omega; the flux; then "
        "A = W/(Kd G), with the Kd of a two-phase inlet, 0.85.",
        ("omega", "critical_ratio"),
        note="The throat stands at r_c times the inlet pressure, far above what is behind: choked.",
        why="A larger omega is a mixture that boils more on its way, and passes less.",
    ),
    Value(
        "omega",
        "A mixture's volume grows from {specific_volume} to {specific_volume_90} by a flash to "
        "90 % of its pressure. What is omega?",
        omega,
        {"specific_volume": 0.020, "specific_volume_90": Varies(0.023, 0.021, 0.028, 0.0001)},
        "omega",
        "Nine times the growth, as a fraction of the volume at the inlet.",
        why="At 90 % the pressure has fallen by a ninth of what is left: hence the nine.",
    ),
    Choice(
        "which k",
        "Near the critical point a gas has an ideal k of 1.10 and a cp/cv of 1.78. Which one "
        "belongs in the gas equation of the standard?",
        {
            "The ideal one, with Z beside it.":
                "C was derived with it. Near the critical point even so the area is some 9 % "
                "too small: use a real-fluid nozzle.",
            "The real one: it is the gas as it is.":
                "The equation was not derived for it. At 40 bara and 380 K it makes the "
                "area of propane 23 % too small.",
            "The larger of the two, to be safe.":
                "A larger k makes C larger and the area smaller. That is the unsafe side.",
        },
        "The ideal one, with Z beside it.",
        hint="What was C derived with?",
    ),
    Value(
        "propane",
        "Saturated liquid propane stands at {pressure} before a nozzle that leads to "
        "{atmosphere}. What is the equilibrium mass flux? (A table of the fluid, or the panel, "
        "will help.)",
        propane,
        {"pressure": Varies(10e5, 6e5, 20e5, 0.5), "atmosphere": ATMOSPHERE},
        "mass_flux",
        "In the panel: propane, your pressure, the inlet slider at 0, and read off 'direct'.",
        why="As a liquid that does not boil it would be three to four times as much.",
    ),
    Choice(
        "nearly liquid",
        "A liquid stands half a kelvin below boiling. A colleague sizes its valve with the liquid "
        "equation, since nothing boils at the inlet. What comes out?",
        {
            "The right area: at the inlet it is all liquid.":
                "At the inlet, yes. A little way into the nozzle the pressure has fallen, and it "
                "boils there.",
            "Too small an area, by a factor of three to four.":
                "It boils on its way, and the vapour chokes the flow. Propane at 20 bara: "
                "10 925 against 40 666 kg/(m² s).",
            "Too large an area: some of it leaves as vapour, which is lighter.":
                "Lighter means that a kilogram takes more room. Less passes, so the area must be "
                "larger.",
        },
        "Too small an area, by a factor of three to four.",
        hint="What does the pressure do on the way through the nozzle?",
    ),
    Choice(
        "short nozzle",
        "A short nozzle passes more of a flashing liquid than equilibrium says. Where is it unsafe "
        "to reckon with equilibrium?",
        {
            "For the area of the valve.":
                "There it is safe: the valve passes more than you count on.",
            "For the flow that comes in through a broken tube.":
                "There the flow is the load. More comes in than you reckon, so use the larger "
                "estimate.",
            "In neither place: equilibrium is the standard's own way.":
                "It is, for the area of a valve. A flow that makes the load must not come out "
                "too small.",
        },
        "For the flow that comes in through a broken tube.",
        hint="In one case the flow protects, in the other it threatens.",
    ),
)  # fmt: skip
