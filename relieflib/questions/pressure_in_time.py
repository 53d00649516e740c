"""What 33 asks: how fast a vessel fills, boils and squeezes, and why a valve opens and shuts."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.pressure_in_time.contents import IdealGas, LiquidFull
from relieflib.slips import Slip
from relieflib.units import ATMOSPHERE, GAS_CONSTANT
from relieflib.working import Working, step

NOTEBOOK = 33
WARM_UP = (("10", "load"), ("30", "gauge"))
BALANCE = "balance of mass and energy"


def time_to_limit(inflow, temperature, molar_mass, k, volume, trip_pressure, highest_pressure):
    """Time that a trip has while gas fills a closed vessel; the last step is that of a run."""
    gas = IdealGas(volume, trip_pressure, temperature, molar_mass=molar_mass, k=k)
    rate = gas.rise_rate(inflow, temperature)
    return Working([
        step("rise_rate", rate, "k*R*T1*W_in/(M*V)", BALANCE + ": gas of its own temperature",
             k=k, gas_constant=GAS_CONSTANT, temperature=temperature, inflow=inflow,
             molar_mass=molar_mass, volume=volume),
        step("safety_time", (highest_pressure - trip_pressure) / rate, "(P_max - P_trip)/r_v",
             "the rate stays",
             highest_pressure=highest_pressure, trip_pressure=trip_pressure, rise_rate=rate),
    ])  # fmt: skip


def boiling_flow(heat_rate, latent_heat, specific_volume_change, vapor_specific_volume):
    """Flow of a boiling vessel at constant pressure, volume balance included."""
    given = dict(heat_rate=heat_rate, latent_heat=latent_heat,
                 specific_volume_change=specific_volume_change,
                 vapor_specific_volume=vapor_specific_volume)  # fmt: skip
    flow = heat_rate * specific_volume_change / (vapor_specific_volume * latent_heat)
    return Working([step("mass_flow", flow, "Q*v_vl0/(v_v0*h_v)", BALANCE + " and volume",
                         **given)])  # fmt: skip


def squeeze(heat_rate, volume, density, expansion_coefficient, liquid_heat_capacity,
            compressibility, temperature):  # fmt: skip
    """Rate of pressure rise of a liquid blocked in and heated, in a rigid vessel."""
    a, cp, rho = expansion_coefficient, liquid_heat_capacity, density
    full = LiquidFull(volume, 10e5, temperature, density=rho, expansion_coefficient=a,
                      liquid_heat_capacity=cp, compressibility=compressibility)  # fmt: skip
    kappa, rate = full.adiabatic_compressibility, full.rise_rate(heat_rate)
    return Working([
        step("adiabatic_compressibility", kappa, "beta - T1*alpha**2/(rho*c_p)", "thermodynamics",
             compressibility=compressibility, temperature=temperature, density=rho,
             expansion_coefficient=a, liquid_heat_capacity=cp),
        step("rise_rate", rate, "alpha*Q/(rho*c_p*V*kappa_S)", BALANCE, heat_rate=heat_rate,
             volume=volume, density=rho, expansion_coefficient=a, liquid_heat_capacity=cp,
             adiabatic_compressibility=kappa),
    ])  # fmt: skip


def stays_open(rated_flow, set_pressure_gauge, blowdown, atmosphere):
    """Smallest inflow at which a pop valve in choked gas never shuts."""
    low = set_pressure_gauge * (1.0 - blowdown) + atmosphere
    high = set_pressure_gauge + atmosphere
    return Working([
        step("inflow", rated_flow * low / high,
             "W_rated*(pset*(1 - bd) + Patm)/(pset + Patm)", "choked: flow goes with pressure",
             rated_flow=rated_flow, set_pressure_gauge=set_pressure_gauge, blowdown=blowdown,
             atmosphere=atmosphere),
    ])  # fmt: skip


def overshoot(rise_rate, opening_time):
    """Most that the pressure can overshoot while a valve opens."""
    return Working([step("overpressure", rise_rate * opening_time, "r_v*t_o",
                         "rate times opening time: nothing is let out before",
                         rise_rate=rise_rate, opening_time=opening_time)])  # fmt: skip


def _adiabatic(inputs):
    """kappa_T that gives the rate which kappa_T in place of kappa_S would."""
    a, rho, cp = (inputs[n] for n in ("expansion_coefficient", "density", "liquid_heat_capacity"))
    more = inputs["temperature"] * a**2 / (rho * cp)
    return inputs | {"compressibility": inputs["compressibility"] + more}


SLIPS_OF_FILLING = (
    Slip("k left out", "k was left out: the gas that comes in also heats what is there",
         lambda i: i | {"k": 1.0 + 1e-9}),
    Slip("time from zero pressure", "the pressure was counted from nothing, not from the trip",
         lambda i: i | {"trip_pressure": 1.0}),
)  # fmt: skip

QUESTIONS = (
    *series(
        "filling",
        "{inflow} of gas (M {molar_mass}, k {k}) at {temperature} flow into a closed vessel of "
        "{volume}. A trip acts at {trip_pressure}, the vessel may see {highest_pressure}, both "
        "absolute. How long is it from one to the other, with the gas losing no heat?",
        time_to_limit,
        {"inflow": Varies(2.0, 1.0, 4.0, 360), "temperature": 393.15, "molar_mass": 10.51,
         "k": 1.245, "volume": 12.0, "trip_pressure": 12e5,
         "highest_pressure": Varies(21e5, 17e5, 25e5, 0.5)},
        "safety_time",
        "First the rate k R T W/(M V), T of the gas that ENTERS. Then the pressures over it.",
        ("rise_rate",),
        note="No vessel temperature stands in it: each kilogram brings its own enthalpy along.",
        why="A usual rule lets a trip use half of it: sensor, logic and valve together.",
        slips=SLIPS_OF_FILLING,
    ),
    Choice(
        "half flow",
        "A pop valve on a gas vessel opens and shuts. Its capacity at set is twice the inflow. "
        "Somebody puts in a valve of twice that area. What happens to a cycle?",
        {
            "It is as long as before: the vessel sets it.":
                "The time shut is the vessel's and the inflow's. The time open is not.",
            "It is longer: a larger valve closes more softly.":
                "Nothing here is soft: it opens whole and shuts whole. Count both times.",
            "It is shorter: the valve empties the band faster, the filling takes as long.":
                "Time shut is dP over what comes in, and stays. Time open is dP over "
                "capacity less inflow, and falls to a third.",
        },
        "It is shorter: the valve empties the band faster, the filling takes as long.",
        hint="Time shut: the band over the inflow. Time open: the band over what is left of the "
             "capacity.",
    ),
    Value(
        "stays open",
        "A pop valve passes {rated_flow} of gas at its set pressure, {set_pressure_gauge}. It "
        "reseats {blowdown} (of set) below. The flow is choked, the air stands at {atmosphere}. "
        "At which inflow does it open once and never shut again?",
        stays_open,
        {"rated_flow": Varies(0.5, 0.2, 1.0, 36), "set_pressure_gauge": 3e5, "blowdown": 0.10,
         "atmosphere": ATMOSPHERE},
        "inflow",
        "What does it pass at reseat? Choked flow goes with the ABSOLUTE pressure.",
        why="Between the two capacities it stays open. That is right, and no fault of the valve.",
        tolerance=0.005,
        slips=(
            Slip("gauge ratio", "the ratio of GAUGE pressures was taken",
                 lambda i: i | {"atmosphere": 1e-6}),
        ),
    ),
    Choice(
        "lossy line",
        "Blowdown is 7 % of set. The inlet line loses 8 % of set at rated flow. What does the "
        "valve do when the vessel comes to set?",
        {
            "It opens and holds, a little short of capacity.":
                "It feels the vessel less the loss. The moment it flows, it feels 92 % of set, and "
                "its reseat is 93 %.",
            "It shuts as soon as it flows, opens again, and so on: it chatters.":
                "No steady state is there, and no area cures it: shorten or widen the line, "
                "or let a pilot sense in the vessel.",
            "It opens later, at 108 % of set.":
                "Without flow there is no loss: it opens at set.",
        },
        "It shuts as soon as it flows, opens again, and so on: it chatters.",
        hint="Where does it shut, as a pressure in the vessel? 100 - 7 + 8.",
    ),
    Value(
        "boiling",
        "{heat_rate} boil propane at 30 bara in a vessel: latent heat {latent_heat}, specific "
        "volume of the vapour {vapor_specific_volume}, of vapour less liquid "
        "{specific_volume_change}. Which flow holds the pressure, if vapour alone leaves?",
        boiling_flow,
        {"heat_rate": Varies(1.0e6, 0.4e6, 3.0e6, 100), "latent_heat": 199.71e3,
         "specific_volume_change": 0.011006, "vapor_specific_volume": 0.013883},
        "mass_flow",
        "The vapour must also fill the room of the liquid it came from: that part does not leave.",
        why="Q/h_v says 26 % more here. API 521 sizes with Q/h_v and is on the safe side; a run in "
            "time that ends there has lost its volume balance.",
        slips=(
            Slip("heat over latent heat", "it is Q/h_v: the room of the liquid was left out",
                 lambda i: i | {"specific_volume_change": i["vapor_specific_volume"]}, "often"),
        ),
    ),
    Value(
        "squeezed",
        "{heat_rate} warm {volume} of liquid propane that is blocked in: {density}, expansion "
        "{expansion_coefficient}, heat capacity {liquid_heat_capacity}, isothermal "
        "compressibility {compressibility}, {temperature}. How fast does the pressure rise in a "
        "rigid vessel?",
        squeeze,
        {"heat_rate": Varies(1e3, 2e3, 9e3, 0.5), "volume": 1.0, "density": 502.6,
         "expansion_coefficient": 3.0063e-3, "liquid_heat_capacity": 2636.0,
         "compressibility": 5.3166e-9, "temperature": 293.15},
        "rise_rate",
        "cp goes with kappa_S = kappa_T - T alpha^2/(rho cp). Then alpha Q/(rho cp V kappa_S).",
        why="With kappa_T it would rise 1.6 times too slowly. For water the two hardly differ.",
        slips=(
            Slip("kappa_T for kappa_S",
                 "kappa_T was taken beside cp: the heat that squeezing makes was left out",
                 _adiabatic, "often"),
        ),
    ),
    Value(
        "overshoot",
        "A vessel full of liquid rises by {rise_rate}. Its valve opens in {opening_time}. By "
        "how much can the pressure pass set at the very most?",
        overshoot,
        {"rise_rate": Varies(2e5, 1e5, 9e5, 0.5), "opening_time": 0.05},
        "overpressure",
        "Take it that nothing leaves before it is open.",
        why="For a gas vessel this is nothing. For a liquid-full one, or a broken tube, it may be "
            "all the accumulation there is.",
        slips=(
            Slip("half of the opening time",
                 "half of the opening time was counted: what a straight stroke leaves that is just "
                 "large enough, not the bound",
                 lambda i: i | {"opening_time": i["opening_time"] / 2.0}),
        ),
    ),
    Choice(
        "uniform",
        "A tank of propane stands in a pool fire. A run with ONE temperature for all of the "
        "liquid says that set is reached after 20 minutes and that the valve holds the limit. "
        "What do you read off it?",
        {
            "The tank is safe as long as the valve works.":
                "A valve holds the pressure. The dry wall above the liquid gets hot and loses its "
                "strength under that pressure: a bare rail tank car burst after 24.5 minutes with "
                "its valve at work.",
            "There are 20 minutes in hand for the fire brigade.":
                "The liquid at the wall is hotter than the mean, so the pressure of a real tank "
                "rises sooner. And what fails first is the wall.",
            "The order of the flow; neither the time nor the wall.":
                "The pressure rises sooner than this, and the wall is not in it at all. "
                "Cool the wall, take the fire away, or empty the vessel.",
        },
        "The order of the flow; neither the time nor the wall.",
        hint="What does a uniform vessel not have? A warm layer on top, and a wall.",
    ),
)  # fmt: skip
