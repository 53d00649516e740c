"""What 70 asks: whole problems from all that came before, with other numbers for everybody.

The tasks: which case governs, which valve, whether it covers another cause, what is wrong with a
sheet. A sheet's fault differs by participant too; one in five has none.
"""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import gas_area, liquid_area
from relieflib.orifices import LETTERS, orifice_area, select_letter
from relieflib.set_pressure import relieving_pressure
from relieflib.slips import another_way
from relieflib.units import ATMOSPHERE as AIR, ICE_POINT
from relieflib.valve_questions import large_enough
from relieflib.working import Working, step

NOTEBOOK = 70
WARM_UP = (("01", "relieving step"), ("50", "short"))
CODE = "ASME BPVC XIII; API 520-I (2020), 5.4"
_VAPOUR = {"temperature": 346.0, "molar_mass": 58.1, "k": 1.08, "Z": 0.82, "atmosphere": AIR}
_FLUX = ("critical_ratio", "pressure_ratio", "mass_flux")
DRUM = (
    "A drum holds a boiling liquid. MAWP and set {mawp_gauge}, one valve, Kd 0.975, into open air "
    "of {atmosphere}. Two causes: its outlet is shut while {inflow} of vapour come in and nothing "
    "leaves; or a fire puts {heat_rate} into the liquid, which takes {latent_heat} to boil. Take "
    "the vapour alike in both: {temperature}, M {molar_mass}, k {k}, Z {Z}. "
)


def gas_needs(mass_flow, pressure, temperature, molar_mass, k, Z, atmosphere, Kd=0.975):
    """Required area of gas into open air, m2."""
    return gas_area(mass_flow, pressure, temperature, molar_mass, k, Z, Kd, atmosphere)[-1].value


def both_areas(mawp_gauge, inflow, heat_rate, latent_heat, temperature, molar_mass, k, Z,
               atmosphere):  # fmt: skip
    """Areas of the shut outlet and of the fire, each at its own relieving pressure."""
    vapour = temperature, molar_mass, k, Z, atmosphere
    P = [relieving_pressure(mawp_gauge, fire=f, atmosphere=atmosphere) for f in (False, True)]
    boiled = heat_rate / latent_heat
    areas = [gas_needs(W, p, *vapour) for W, p in zip((inflow, boiled), P)]
    return {"vapor_flow": boiled, "first_area": areas[0], "second_area": areas[1],
            "required_area": max(areas)}  # fmt: skip


def governing_area(mawp_gauge, inflow, heat_rate, latent_heat, temperature, molar_mass, k, Z,
                   atmosphere):  # fmt: skip
    """The area to buy: the larger one of the two causes."""
    found = both_areas(mawp_gauge, inflow, heat_rate, latent_heat, temperature, molar_mass, k, Z,
                       atmosphere)  # fmt: skip
    lines = Working([step("vapor_flow", found["vapor_flow"], "Q/h_v", "heat of boiling",
                          heat_rate=heat_rate, latent_heat=latent_heat)])  # fmt: skip
    for name, fire, W in (("first_area", False, inflow), ("second_area", True, None)):
        P = relieving_pressure(mawp_gauge, fire=fire, atmosphere=atmosphere)
        W = found["vapor_flow"] if fire else W
        share = 1.21 if fire else 1.1
        area = gas_area(W, P, temperature, molar_mass, k, Z, 0.975, atmosphere)
        flux = [line for line in area if line.name in _FLUX]
        lines += [
            step("pressure", P, f"{share}*MAWP + Patm", CODE, mawp_gauge=mawp_gauge,
                 atmosphere=atmosphere),
            *flux,
            step(name, found[name], "W/(Kd*G)", "API 520-I (2020), 5.6: Kb = Kc = 1", mass_flow=W,
                 Kd=0.975, mass_flux=flux[-1].value),
        ]  # fmt: skip
    areas = {name: found[name] for name in ("first_area", "second_area")}
    return lines + Working([step("required_area", found["required_area"], "max(A_1, A_2)",
                                 "the larger one governs", **areas)])  # fmt: skip


def which_governs(first_area, second_area, **_):
    """Words of the cause that needs more."""
    return OUTLET if first_area >= second_area else FIRE


OUTLET, FIRE = "The shut outlet: it needs more area.", "The fire: it needs more area."
COVERED, SHORT = "As to size, yes: the K has the area.", "No: the K is too small for it."
NOT_THAT = "It does not: the pump needs several times what a D has."
_LETTERS = ("H", "J", "K", "L", "M")


def fits(mass_flow, pressure, temperature, molar_mass, k, Z, atmosphere):
    """What a load needs, and the first letter that has it."""
    area = gas_needs(mass_flow, pressure, temperature, molar_mass, k, Z, atmosphere)
    return {"required_area": area, "letter": select_letter(area)}


def second_cause(mass_flow, pressure, temperature, molar_mass, k, Z, atmosphere):
    """A cause found later against a K that stands there."""
    area = gas_needs(mass_flow, pressure, temperature, molar_mass, k, Z, atmosphere)
    return {"required_area": area, "area": orifice_area("K")}


def thermal_valve(volume_flow, density, set_pressure_gauge, atmosphere):
    """A pump against a shut outlet, and the small valve that is there for warm liquid."""
    P1 = 1.1 * set_pressure_gauge + atmosphere
    area = liquid_area(volume_flow * density, P1, density, 0.65, atmosphere)[-1].value
    return {"required_area": area, "area": orifice_area("D"),
            "area_multiple": area / orifice_area("D")}  # fmt: skip


FAULTS = (
    "Nothing: the area follows from what is stated.",
    "Gauge pressure was used where absolute belongs.",
    "The pressure of a fire was used: 21 % above MAWP.",
    "The temperature was used in °C.",
    "The flow was taken for lb/h.",
)


def gas_sheet(mass_flow, mawp_gauge, temperature, molar_mass, k, Z, atmosphere):
    """A sheet of a gas with one fault, or none; the flow decides which."""
    fault = _fault(mass_flow * 3600 / 500)
    P1 = relieving_pressure(mawp_gauge, fire=fault == FAULTS[2], atmosphere=atmosphere)
    W, T = mass_flow, temperature
    if fault == FAULTS[1]:
        P1 -= atmosphere
    elif fault == FAULTS[3]:
        T -= ICE_POINT
    elif fault == FAULTS[4]:
        W *= 0.453_592_37
    return {"required_area": gas_needs(W, P1, T, molar_mass, k, Z, atmosphere),
            "pressure": relieving_pressure(mawp_gauge, atmosphere=atmosphere),
            "fault": fault}  # fmt: skip


def _fault(place, faults=FAULTS):
    return faults[round(place) % len(faults)]


LIQUID_FAULTS = (
    "Nothing: the area follows from what is stated.",
    "The back pressure was left out: all of P1 - Patm drives.",
    "Kd of a gas was used, 0.975.",
    "The set pressure was used: no overpressure.",
    "Kd of a valve without capacity certification was used, 0.62.",
)


def liquid_sheet(mass_flow, mawp_gauge, density, back_pressure_gauge, atmosphere):
    """A sheet of a liquid with one fault, or none; the flow decides which."""
    fault = _fault(mass_flow * 3600 / 5000, LIQUID_FAULTS)
    P1 = relieving_pressure(mawp_gauge, atmosphere=atmosphere)
    P2, Kd = atmosphere + back_pressure_gauge, 0.65
    if fault == LIQUID_FAULTS[1]:
        P2 = atmosphere
    elif fault == LIQUID_FAULTS[2]:
        Kd = 0.975
    elif fault == LIQUID_FAULTS[3]:
        P1 = mawp_gauge + atmosphere
    elif fault == LIQUID_FAULTS[4]:
        Kd = 0.62
    return {"required_area": liquid_area(mass_flow, P1, density, Kd, P2)[-1].value,
            "pressure": relieving_pressure(mawp_gauge, atmosphere=atmosphere),
            "fault": fault}  # fmt: skip


_SHEET = (
    "A data sheet, not for fire: MAWP and set {mawp_gauge}, one conventional valve, P1 {pressure}, "
)

QUESTIONS = (
    *series(
        "drum",
        DRUM + "Which area must the valve have?",
        governing_area,
        {"mawp_gauge": Varies(7e5, 5e5, 13e5, 0.5), "inflow": 5.0, "heat_rate": 1.65e6,
         "latent_heat": 310e3} | _VAPOUR,
        "required_area",
        "Two loads, two relieving pressures, two areas. Buy the larger one.",
        ("vapor_flow", "critical_ratio"),
        note="The fire brings more kilograms and may still need less: its vapour leaves at 21 % "
             "above MAWP, denser and driven harder.",
        why="Each cause at its own relieving pressure; then the larger area.",
        slips=(
            another_way(lambda **i: sum(both_areas(**i)[n] for n in ("first_area", "second_area")),
                        "the two areas were added; the causes don't come together"),
            another_way(lambda **i: min(both_areas(**i)[n] for n in ("first_area", "second_area")),
                        "that is the smaller one of the two"),
            another_way(lambda mawp_gauge, heat_rate, latent_heat, inflow, atmosphere, **v:
                        gas_needs(heat_rate / latent_heat,
                                  relieving_pressure(mawp_gauge, atmosphere=atmosphere),
                                  atmosphere=atmosphere, **v),
                        "the fire was taken at 10 % above MAWP; it has 21 %"),
        ),
    ),
    Choice(
        "drum governs",
        DRUM + "Which cause sizes the valve?",
        {
            OUTLET:
                "The shut outlet lets {inflow} go at 10 % above MAWP and needs {first_area}; the "
                "fire needs {second_area}. The larger area is bought.",
            FIRE:
                "The fire boils {vapor_flow}, relieved at 21 % above MAWP: {second_area}. The "
                "shut outlet needs {first_area}. The larger area is bought.",
            "Both together: a valve must do for the worst of all.":
                "They are two events. A fire that shuts the outlet as well is another case, to be "
                "named and argued for, and no sum made to be safe.",
        },
        which_governs,
        {"mawp_gauge": 7e5, "inflow": 5.0, "latent_heat": 310e3,
         "heat_rate": Varies(1.7e6, 1.4e6, 2.0e6, 20)} | _VAPOUR,
        hint="The same vapour in both: compare flow over absolute relieving pressure.",
        more=both_areas,
    ),
    Choice(
        "letter",
        "A gas case brings {mass_flow} at {pressure} and {temperature} (M {molar_mass}, k {k}, "
        "Z {Z}), Kd 0.975, into open air. Which letter is the first that carries it?",
        {
            letter: f"{letter} passes what needs up to {round(LETTERS[letter] * 1e6)} mm², and "
                    "this case needs {required_area}. The first letter with at least that is the "
                    "one: " + words
            for letter, words in (
                ("H", "what it lacks, no overpressure gives back."),
                ("J", "look at one letter less and one more before you write it."),
                ("K", "a letter more than needed chatters sooner."),
                ("L", "the letter decides the flanges, and those the lines."),
                ("M", "twice the area is not twice as safe."),
            )
        },
        lambda letter, **_: letter,
        {"mass_flow": Varies(3.5, 0.9, 5.8, 200), "pressure": 12e5, "temperature": 330.0,
         "molar_mass": 28.0, "k": 1.4, "Z": 1.0, "atmosphere": AIR},
        hint="Area first; then the list of letters from below.",
        more=fits,
    ),
    Choice(
        "another cause",
        "A K stands on a vessel, sized for its shut outlet, into open air. Now somebody finds that "
        "a control valve may open wide: {mass_flow} of gas at {pressure} and {temperature} "
        "(M {molar_mass}, k {k}, Z {Z}), Kd 0.975. Is this cause covered, as to size?",
        {
            COVERED:
                "Needed are {required_area}, there are {area}. Size is the first question of "
                "several: lines, back pressure and destination are asked for each cause anew.",
            SHORT:
                "Needed are {required_area}, there are {area}. Whatever the first case was, a "
                "cause is covered by area at its own relieving conditions.",
            "Yes: the valve opens at its set pressure, whatever the cause.":
                "It opens, and then passes what its area passes. Needed are {required_area}, there "
                "are {area}; an open valve that is too small lets the pressure rise.",
        },
        lambda required_area, area, **_: (
            COVERED
            if large_enough(required_area, area).holds
            else SHORT
        ),
        {"mass_flow": Varies(3.0, 2.0, 4.0, 50), "pressure": 14e5, "temperature": 310.0,
         "molar_mass": 18.0, "k": 1.28, "Z": 0.97, "atmosphere": AIR},
        hint="What does the new cause need at its own state? Then compare with 1186 mm².",
        more=second_cause,
    ),
    Choice(
        "thermal valve",
        "A line behind a pump has a D valve, set {set_pressure_gauge}, for warm liquid between "
        "closed valves. The pump can bring {volume_flow} ({density}) against it. Does the D valve "
        "safeguard the shut outlet as well?",
        {
            "It does: it is set where the line needs it.":
                "At that set it opens, and passes what {area} pass. The pump needs "
                "{required_area}, {area_multiple} times as much.",
            NOT_THAT:
                "A D has {area}, the pump needs {required_area}. Warm liquid needs a few drops "
                "let out; a pump brings its whole flow.",
            "It does, if the line is short: little liquid is in it.":
                "What is in the line does not matter: the pump goes on bringing more. It needs "
                "{required_area}, and a D has {area}.",
        },
        NOT_THAT,
        {"volume_flow": Varies(60 / 3600, 20 / 3600, 120 / 3600, 1), "density": 800.0,
         "set_pressure_gauge": 25e5, "atmosphere": AIR},
        hint="How much must get out per second in either event?",
        more=thermal_valve,
    ),
    Choice(
        "gas sheet",
        _SHEET + "{mass_flow} of gas at {temperature} (M {molar_mass}, k {k}, Z {Z}), Kd 0.975, "
        "into open air of {atmosphere}. Required area stated: {required_area}. What was done?",
        {
            FAULTS[0]: "Work it out from what is stated: load over Kd and the flux at P1 "
                       "{pressure} absolute, kelvin, kg. If that is {required_area}, all is well.",
            FAULTS[1]: "Gauge for absolute makes a gas's area larger by P1 over P1 less one "
                       "atmosphere: a few per cent, more the lower the set.",
            FAULTS[2]: "At 21 % above MAWP the area comes out a tenth too small; in a cause that "
                       "is no fire that tenth is missing.",
            FAULTS[3]: "Degrees Celsius under the root make the area too small: here two thirds.",
            FAULTS[4]: "A flow in lb/h taken for kg/h is 2.2 times as large; the other way round "
                       "the area comes out at 0.45 of what is right.",
        },
        lambda fault, **_: fault,
        {"mass_flow": Varies(5.0, 2.5, 12.5, 500), "mawp_gauge": 10e5, "temperature": 480.0,
         "molar_mass": 22.0, "k": 1.25, "Z": 0.95, "atmosphere": AIR},
        hint="Work out the right area; then stated over right: 1, 1.09, 0.92, 0.66 or 0.45?",
        more=gas_sheet,
    ),
    Choice(
        "liquid sheet",
        _SHEET + "{mass_flow} of thin liquid of {density}, back pressure {back_pressure_gauge}, "
        "Kd 0.65, a valve certified for liquid. Required area stated: {required_area}. What was "
        "done?",
        {
            LIQUID_FAULTS[0]: "Work it out: load over Kd and the root of 2 density times P1 less "
                              "back pressure, both absolute. If that is {required_area}, all is "
                              "well.",
            LIQUID_FAULTS[1]: "Without the back pressure more pressure drives than there is: the "
                              "area comes out too small.",
            LIQUID_FAULTS[2]: "0.975 is for gas and vapour; for a liquid it gives two thirds of "
                              "the right area.",
            LIQUID_FAULTS[3]: "Without the tenth above MAWP less pressure drives: the area comes "
                              "out a little too large.",
            LIQUID_FAULTS[4]: "0.62 instead of 0.65 makes the area 5 % too large; it belongs to a "
                              "valve without a certificate for liquid.",
        },
        lambda fault, **_: fault,
        {"mass_flow": Varies(20.0, 15.0, 60.0, 5000), "mawp_gauge": 12e5, "density": 700.0,
         "back_pressure_gauge": 2.5e5, "atmosphere": AIR},
        hint="Work out the right area; then stated over right: 1, 0.90, 0.67, 1.06 or 1.05?",
        more=liquid_sheet,
    ),
    Value(
        "passed",
        "The K of a vessel turns out to be all that is there: {area}. How much of this gas does it "
        "pass at {pressure} and {temperature} (M {molar_mass}, k {k}, Z {Z}), Kd 0.975, into open "
        "air of {atmosphere}?",
        lambda area, pressure, **i: passed(area, pressure, **i),
        {"area": 1185.8e-6, "pressure": Varies(15e5, 8e5, 30e5, 0.5), "temperature": 350.0,
         "molar_mass": 20.0, "k": 1.25, "Z": 0.95, "atmosphere": AIR},
        "rated_flow",
        "The other way round: area times Kd times the flux.",
        why="That is what the header must carry, and what a trip would have to leave.",
    ),
)  # fmt: skip


def passed(area, pressure, temperature, molar_mass, k, Z, atmosphere):
    """What an area passes of a gas into open air."""
    found = gas_area(1.0, pressure, temperature, molar_mass, k, Z, 0.975, atmosphere)
    flux = [line for line in found if line.name in _FLUX]
    return Working([
        *flux,
        step("rated_flow", area * 0.975 * flux[-1].value, "Ao*Kd*G", "API 520-I (2020), 5.6",
             area=area, Kd=0.975, mass_flux=flux[-1].value),
    ])  # fmt: skip
