"""Release of gas into the open: does the jet dilute itself, how far is it flammable, what is near.

A fast jet drags in so much air that it is below its flammable limit after a hundred diameters or
so, whatever the wind does. That rests on its momentum: below the limits of `gates` the question is
'not answerable here', and so it is for a heavy gas that would turn back while still flammable.
Liquid, poison and gas near its autoignition temperature never go this way. Only a jet straight up.
"""

from dataclasses import dataclass, field

import numpy as np

from relieflib import rules
from relieflib.disposal.finding import FAILS, PRACTICE, Finding, about, found, worst, wrapped
from relieflib.errors import (
    InputError,
    not_negative,
    one_number,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.lines.line_fluids import Adiabatic
from relieflib.lines.reaction import jet_force
from relieflib.units import ATMOSPHERE, GAS_CONSTANT, GRAVITY
from relieflib.working import Working, step

NOT_HERE = "not answerable here"
AIR = 28.96  # kg/kmol
ENTRAINED = 0.32  # Ricou and Spalding
API_ENTRAINED = 0.264  # API 521, without density
AXIS = 5.4  # decay on the axis
SPREAD = 57.0  # exp(-57 (r/s)^2): profile of concentration
RISE = 1.85  # heavy jet, straight up
PATH = (2.05, 0.28)  # bent jet
JET = "Ricou and Spalding, J. Fluid Mech. 11 (1961) 21"
ON_AXIS = "Becker, Hottel and Williams, J. Fluid Mech. 30 (1967) 285, from memory"
PROFILE = "Chen and Rodi, Turbulent Buoyant Jets (1980), from memory"
TURNS = "Turner, J. Fluid Mech. 26 (1966) 779, from memory"
BENT = "Pratte and Baines, J. Hydraul. Div. ASCE 93 (1967) HY6, 53"
PLUME = "Turner, Workbook of Atmospheric Dispersion Estimates (1970)"
SPREADS = "Briggs (1973), open country, from memory"
# stability -> sigma_y at 1 m, sigma_z at 1 m, its bend by 1/m, and power of that
_BRIGGS = {
    "A": (0.22, 0.20, 0.0, 0.0), "B": (0.16, 0.12, 0.0, 0.0), "C": (0.11, 0.08, 2e-4, -0.5),
    "D": (0.08, 0.06, 1.5e-3, -0.5), "E": (0.06, 0.03, 3e-4, -1.0), "F": (0.04, 0.016, 3e-4, -1.0),
}  # fmt: skip
_WINDS = np.linspace(0.1, 1.0, 10)  # guard: shares of the wind that are tried
_STEPS = 400  # guard: points along a jet


def mass_fraction(volume_fraction, molar_mass):
    """Mass fraction of a gas in air at a mole fraction, such as its flammable limit.

    Parameters: volume_fraction of the gas [-], above 0 to 1; molar_mass of the gas [kg/kmol];
    arrays broadcast. Returns float or array [-]. Raises InputError outside. Source: its definition,
    air of 28.96 kg/kmol; one over it is the jet's flow over what left the pipe.
    >>> round(1 / mass_fraction(0.021, 44.1), 2)
    31.61
    """
    y, M = positive(volume_fraction=volume_fraction, molar_mass=molar_mass)
    refuse(y > 1.0, "volume_fraction", y, "must be a fraction of 1: per cent taken for it?")
    return result(y * M / (y * M + (1.0 - y) * AIR))


def diameters_to_limit(mass_fraction):
    """Length over diameter to a mean mixture by the standard's rule, which knows no density.

    Parameters: mass_fraction of the gas in that mixture [-], number or array. Returns float or
    array [-]. Raises InputError for values not above 0. Validity: gas about as heavy as air; for
    others `dilution_length`: methane comes 39 % shorter, hexane 42 % longer.
    Source: API 521 (2020), atmospheric discharge: W/W0 = 0.264 y/d, from memory.
    >>> round(diameters_to_limit(mass_fraction(0.021, 44.1)))
    120
    """
    return result(1.0 / (API_ENTRAINED * positive(mass_fraction=mass_fraction)))


def dilution_length(mass_flow, jet_momentum, mass_fraction, air_density, on_axis=True):
    """Distance along a jet in still air at which it is diluted to a mixture.

    Parameters: mass_flow of the gas [kg/s]; jet_momentum [N]; mass_fraction of the gas in the
    mixture [-]; air_density [kg/m3]; on_axis, the richest place, or False for the mean over the
    jet, as the standard's rule means it, 42 % shorter. Arrays broadcast. Returns m. Raises
    InputError for values not above 0. Validity: jet driven by its momentum, far from the exit; wind
    mixes faster. Source: Ricou and Spalding (1961), dW/dy = 0.284 sqrt(J rho_a); axis: Becker,
    Hottel and Williams (1967), 5.4 diameters, from memory.
    >>> round(dilution_length(1.0, 300.0, mass_fraction(0.021, 44.1), 1.2, on_axis=False), 2)
    5.88
    """
    W, J, Y, rho = positive(mass_flow=mass_flow, jet_momentum=jet_momentum,
                            mass_fraction=mass_fraction, air_density=air_density)  # fmt: skip
    size = W / np.sqrt(J * rho)  # sqrt(pi)/2 of the diameter at the density of the air
    factor = 2.0 * AXIS / np.sqrt(np.pi) if on_axis else 2.0 / (ENTRAINED * np.sqrt(np.pi))
    return result(factor * size / Y)


def jet_rise(mass_flow, jet_momentum, gas_density, air_density):
    """Height at which a jet straight up of a gas heavier than air turns back, in still air.

    Parameters: mass_flow [kg/s]; jet_momentum [N]; gas_density, air_density, both at the
    atmosphere's pressure [kg/m3]; arrays broadcast. Returns m, infinite for a gas not heavier than
    air. Raises InputError for values not above 0. Source: Turner (1966), 1.85 M^(3/4)/F^(1/2),
    from memory, with M = J/rho_a and F = g W (1/rho_a - 1/rho).
    >>> round(jet_rise(1.0, 300.0, 1.8, 1.2), 1), jet_rise(1.0, 300.0, 0.7, 1.2)
    (70.5, inf)
    """
    W, J, rho, air = positive(mass_flow=mass_flow, jet_momentum=jet_momentum,
                              gas_density=gas_density, air_density=air_density)  # fmt: skip
    push = GRAVITY * W * (1.0 / air - 1.0 / rho)
    with np.errstate(divide="ignore", invalid="ignore"):
        height = np.where(push > 0, RISE * (J / air) ** 0.75 / np.sqrt(push), np.inf)
    return result(np.where(np.isnan(push + J), np.nan, height))


# ---- the jet at the open end


@dataclass(frozen=True)
class Jet:
    """Gas as it leaves an open end straight up.

    mass_flow [kg/s]; exit_diameter [m]; exit_velocity [m/s], exit_pressure [Pa], exit_temperature
    [K] in the bore; gas_temperature at rest [K]; choked; jet_momentum, with what the pressure
    adds [N]; exit_density and gas_density at the atmosphere's pressure, of the gas as it leaves
    and at rest [kg/m3];
    equivalent_diameter, expanded [m]; air_density [kg/m3]; molar_mass [kg/kmol].
    """

    mass_flow: float
    exit_diameter: float
    exit_velocity: float
    exit_pressure: float
    exit_temperature: float
    gas_temperature: float
    choked: bool
    jet_momentum: float
    exit_density: float
    gas_density: float
    equivalent_diameter: float
    air_density: float
    molar_mass: float
    working: Working = field(repr=False, default=None)

    def reynolds(self, gas_viscosity):
        """Reynolds number at the open end [-]; gas_viscosity [Pa s]."""
        mu = positive(gas_viscosity=gas_viscosity)
        return result(4.0 * self.mass_flow / (np.pi * self.exit_diameter * mu))

    def length_to(self, volume_fraction, on_axis=True):
        """Distance to a mole fraction of the gas in air [m]."""
        Y = mass_fraction(volume_fraction, self.molar_mass)
        return dilution_length(self.mass_flow, self.jet_momentum, Y, self.air_density, on_axis)

    @property
    def rise(self):
        """Height at which it turns back in still air [m], infinite for a light gas."""
        return jet_rise(self.mass_flow, self.jet_momentum, self.gas_density, self.air_density)


def jet_of(mass_flow, gas, exit_diameter, atmosphere=ATMOSPHERE, air_temperature=293.15):
    """A gas as it leaves an open end.

    Parameters: mass_flow, the RATED flow of the valve [kg/s]; gas, a `Gas`: its temperature at
    rest behind the valve, molar_mass and k; exit_diameter, inside [m]; atmosphere [Pa];
    air_temperature [K]; arrays broadcast. Returns `Jet`. Raises InputError for another stream, or
    values not above 0. Validity: ideal gas, adiabatic from the valve on; choked where it must be.
    Source: Fanno line of `line_fluids.Adiabatic`; momentum as `reaction.jet_force`.
    """
    if gas.phase != "gas":
        raise InputError(f"gas: a {gas.phase} stream makes no jet of this kind; see gates")
    W, D, P, T = positive(mass_flow=mass_flow, exit_diameter=exit_diameter,
                          atmosphere=atmosphere, air_temperature=air_temperature)  # fmt: skip
    fluid = Adiabatic(gas.temperature, gas.molar_mass, gas.k)
    area = 0.25 * np.pi * D**2
    G = W / area
    lowest = fluid.choke(G)
    exit_pressure = np.maximum(P, lowest)
    u, T_x = fluid.velocity(exit_pressure, G), fluid.static_temperature(exit_pressure, G)
    J = np.asarray(jet_force(W, u, area, exit_pressure - P))
    per_kelvin = P * np.asarray(gas.molar_mass) / GAS_CONSTANT
    leaving, rest = per_kelvin / T_x, per_kelvin / np.asarray(gas.temperature)
    wide = 2.0 * W / np.sqrt(np.pi * leaving * J)
    air = P * AIR / (GAS_CONSTANT * T)
    T_rest = np.asarray(gas.temperature, dtype=float)
    values = [result(x) for x in (u, exit_pressure, T_x, T_rest, lowest > P, J, leaving, rest, wide,
                                  air)]  # fmt: skip
    return Jet(mass_flow, exit_diameter, *values, gas.molar_mass,
               _jet_steps(mass_flow, exit_diameter, atmosphere, values))  # fmt: skip


def _jet_steps(W, D, atmosphere, values):
    u, P_x, _, _, _, J, rho_x, _, wide, _ = values
    if any(np.ndim(x) for x in (W, D, u)):
        return None
    area = 0.25 * np.pi * D**2
    return Working([
        step("exit_area", area, "pi/4*D**2", diameter=D),
        step("exit_velocity", u, source="adiabatic flow of an ideal gas; sonic where it chokes"),
        step("exit_pressure_gauge", P_x - atmosphere, "P_x - Patm", "above 0 where it chokes",
             exit_pressure=P_x, atmosphere=atmosphere),
        step("jet_momentum", J, "W*w_x + A_ex*p_x", "momentum balance", mass_flow=W,
             exit_velocity=u, exit_area=area, exit_pressure_gauge=P_x - atmosphere),
        step("equivalent_diameter", wide, "2*W/sqrt(pi*rho_x*J)",
             "same flow and momentum at the atmosphere's pressure", mass_flow=W,
             exit_density=rho_x, jet_momentum=J),
    ])  # fmt: skip


# ---- may the rule be used


def gates(jet, hazards, wind_velocity, gas_viscosity=None, phase="gas"):
    """May the rule of the self-diluting jet be used for a release.

    Parameters: jet, of scalars; hazards, `Hazards`; wind_velocity, the highest [m/s]; gas_viscosity
    at the exit [Pa s], None where not known; phase behind the valve, as `behind_valve`. Returns a
    tuple of `Finding`, the momentum of the jet first, then what forbids any release.
    Source: API 521 (2020), atmospheric discharge, from memory; heavy gas: Turner (1966).
    """
    one_number(wind_velocity=wind_velocity)
    wind = not_negative(wind_velocity=wind_velocity).item()
    return (_fast(jet), _against_wind(jet, wind), _turbulent(jet, gas_viscosity),
            _stays_up(jet, hazards), _no_liquid(phase), _no_poison(hazards),
            _cool(jet, hazards))  # fmt: skip


MOMENTUM = ("exit velocity", "wind", "Reynolds number", "heavy gas")
FORBIDS = ("liquid", "poison", "autoignition")


def _fast(jet):
    rule = rules.JET_SPEED
    words = ("leaves at ", ("exit_velocity", jet.exit_velocity), f", at least {rule.number}")
    return found("exit velocity", -jet.exit_velocity, -rule.value, words, rule.source)


def _against_wind(jet, wind):
    rule = rules.JET_WIND
    words = ("leaves at ", ("exit_velocity", jet.exit_velocity), f", at least {rule.number} times "
             "the wind, ", ("wind_velocity", wind))  # fmt: skip
    return found("wind", rule.value * wind, jet.exit_velocity, words, rule.source)


def _turbulent(jet, gas_viscosity):
    rule, subject = rules.JET_REYNOLDS, "Reynolds number"
    if gas_viscosity is None:
        return Finding(subject, None, ("viscosity of the gas is not given",), rule.source)
    least = rule.value * jet.exit_density / jet.air_density
    Re = jet.reynolds(gas_viscosity)
    words = (("jet_reynolds", Re), " at the exit, at least ", ("jet_reynolds", least))
    return found(subject, least, Re, words, rule.source)


def _stays_up(jet, hazards):
    """A gas heavier than air must be thin before it turns back."""
    subject = "heavy gas"
    if jet.gas_density <= jet.air_density:
        return Finding(subject, True, ("lighter than air",), TURNS)
    if hazards.flammable is False:
        return Finding(subject, True, ("heavier than air, but it doesn't burn",), TURNS)
    if hazards.flammable_limit is None:
        return Finding(subject, None, ("its flammable limit is not given",), TURNS)
    thin = jet.length_to(rules.HALF_LIMIT.value * hazards.flammable_limit)
    words = ("thin after ", ("dilution_length", thin), ", would turn back at ",
             ("jet_rise", jet.rise))  # fmt: skip
    return found(subject, thin, jet.rise, words, TURNS)


def _no_liquid(phase):
    words = (f"{phase} behind the valve",)
    holds = True if phase == "gas" else None if phase == "not known" else False
    return Finding("liquid", holds, words, "API 521 (2020), atmospheric discharge, from memory")


def _no_poison(hazards):
    known = {True: "toxic", False: "not toxic", None: "whether it is toxic is not known"}
    holds = None if hazards.toxic is None else not hazards.toxic
    return Finding("poison", holds, (known[hazards.toxic],), PRACTICE)


def _cool(jet, hazards):
    rule, T = rules.IGNITION_MARGIN, hazards.autoignition_temperature
    if hazards.flammable is False:
        return Finding("autoignition", True, ("doesn't burn",), rule.source)
    if T is None or hazards.flammable is None:
        return Finding("autoignition", None, ("autoignition temperature not given",), rule.source)
    words = (("temperature", jet.gas_temperature), " at rest, ignites by itself at ",
             ("temperature", T), f", {rule.number} kept")  # fmt: skip
    return found("autoignition", jet.gas_temperature, T - rule.value, words, rule.source)


# ---- where the flammable cloud is


@dataclass(frozen=True)
class Cloud:
    """Flammable cloud of a jet bent by one wind: points of its axis and its radius there [m].

    distances downwind and heights above grade of the axis, lengths along it, radii of the mixture
    at the limit; all arrays.
    """

    wind_velocity: float
    distances: np.ndarray
    heights: np.ndarray
    lengths: np.ndarray
    radii: np.ndarray

    @property
    def lowest(self):
        """Lowest point above grade [m]."""
        return float(np.min(self.heights - self.radii))

    def clearance(self, distance, height):
        """Distance of a point downwind at a height above grade from the cloud's edge [m]."""
        gap = np.hypot(self.distances - distance, self.heights - height) - self.radii
        return float(np.min(gap))


def cloud(jet, exit_height, wind_velocity, volume_fraction):
    """Where the gas of a jet straight up is richer than a mole fraction.

    Parameters: jet, of scalars; exit_height [m]; wind_velocity [m/s]; volume_fraction [-]. Returns
    `Cloud`. Raises InputError for values that can't be. The wind bends the jet, z = 2.05 x^0.28 by
    jet diameters times velocity ratio, but is not let thin it: longer and wider than it is.
    Source: Pratte and Baines (1967), as Brzustowski (1976) gives it; axis and profile: Becker
    (1967), Chen and Rodi (1980), from memory.
    """
    one_number(volume_fraction=volume_fraction, wind_velocity=wind_velocity)
    h, u = not_negative(exit_height=exit_height, wind_velocity=wind_velocity)
    Y = mass_fraction(volume_fraction, jet.molar_mass)
    longest = jet.length_to(volume_fraction)
    along = np.linspace(0.0, longest, _STEPS)
    with np.errstate(divide="ignore"):
        richest = np.minimum(longest * Y / along, 1.0)
    radii = along * np.sqrt(np.log(np.maximum(richest / Y, 1.0)) / SPREAD)
    x, z = _path(jet, float(u), along)
    return Cloud(float(u), x, float(h) + z, along, radii + 0.5 * jet.equivalent_diameter)


def _path(jet, wind, along):
    """Distance downwind and height above the exit at lengths along a jet bent by the wind."""
    if wind == 0.0:
        return 0.0 * along, along
    scale = np.sqrt(4.0 * jet.jet_momentum / (np.pi * jet.air_density)) / wind
    factor, power = PATH
    # points by height: x from z; then by length along the path
    z = np.linspace(0.0, along[-1], 20 * _STEPS)
    x = scale * (z / (factor * scale)) ** (1.0 / power)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(z)))])
    return np.interp(along, s, x), np.interp(along, s, z)


# ---- the plume further off


def plume_spread(distance, stability="D"):
    """Spread of a plume across the wind and upwards, over open country.

    Parameters: distance downwind [m], number or array; stability, 'A' (very unstable) to 'F'
    (stable). Returns (sigma_y, sigma_z) [m]. Raises InputError for another letter, or a distance
    not above 0. Validity: 100 m to 10 km (outside: ValidityWarning), ten minutes' mean; within
    20 % of Turner's curves. Source: Briggs (1973), from memory.
    >>> [round(s, 1) for s in plume_spread(1000.0, "D")]
    [76.3, 37.9]
    """
    x = positive(distance=distance)
    if stability not in _BRIGGS:
        raise InputError(f"stability '{stability}': use one of {', '.join(_BRIGGS)}")
    warn_outside((x < 100.0) | (x > 1e4), "distance", x, "100 m to 10 km", SPREADS)
    across, up, bend, power = _BRIGGS[stability]
    return result(across * x / np.sqrt(1.0 + 1e-4 * x)), result(up * x * (1.0 + bend * x) ** power)


def plume_concentration(mass_flow, wind_velocity, sigma_y, sigma_z, effective_height=0.0):
    """Mass of gas in the air at grade under the axis of a plume.

    Parameters: mass_flow [kg/s]; wind_velocity [m/s]; sigma_y, sigma_z [m]; effective_height of the
    axis above grade [m]; arrays broadcast. Returns kg/m3. Raises InputError for values that can't
    be. Validity: gas about as heavy as air, flat ground, which reflects it all. Source: Gaussian
    plume, Turner, Workbook of Atmospheric Dispersion Estimates (1970).
    >>> round(plume_concentration(3e-3, 7.0, 76.0, 32.0) * 1e6, 4)
    0.0561
    """
    W, u, sy, sz = positive(mass_flow=mass_flow, wind_velocity=wind_velocity, sigma_y=sigma_y,
                            sigma_z=sigma_z)  # fmt: skip
    H = not_negative(effective_height=effective_height)
    return result(W / (np.pi * u * sy * sz) * np.exp(-0.5 * (H / sz) ** 2))


def highest_at_grade(mass_flow, wind_velocity, effective_height, stability="D"):
    """Highest mass of gas in the air at grade, and how far downwind.

    Parameters: mass_flow [kg/s]; wind_velocity [m/s]; effective_height [m]; stability as
    `plume_spread`; floats. Returns (kg/m3, m), searched from 100 m to 10 km. Raises InputError as
    `plume_concentration`. Source: as it.
    """
    one_number(mass_flow=mass_flow, wind_velocity=wind_velocity, effective_height=effective_height)
    x = np.geomspace(100.0, 1e4, 2001)
    c = plume_concentration(mass_flow, wind_velocity, *plume_spread(x, stability), effective_height)
    i = int(np.argmax(c))
    return float(c[i]), float(x[i])


# ---- the whole answer


@dataclass(frozen=True)
class ReleaseCheck:
    """A release into the open: verdict, findings, jet and its clouds.

    verdict 'holds', 'does not hold', 'not known', or 'not answerable here'; flammable_length to the
    limit and half_length to half of it, on the axis [m], NaN where it doesn't burn or the limit is
    not known; clouds at half of the limit, one a wind.
    """

    jet: Jet
    findings: tuple
    verdict: str
    flammable_length: float
    half_length: float
    clouds: tuple

    def about(self, subject):
        """The `Finding` on one subject; InputError for another."""
        return about(self.findings, subject)

    def __str__(self):
        return "\n".join([f"release: {self.verdict}", *(wrapped(f, "  ") for f in self.findings)])


def check(jet, hazards, wind_velocity, exit_height, platforms=(), gas_viscosity=None, phase="gas"):
    """May a release go straight up into the air at this place.

    Parameters: jet; hazards, gas_viscosity and phase as `gates`; wind_velocity, the highest [m/s];
    exit_height above grade [m]; platforms, (distance seen from above, height above grade) of each
    place where people or flames may be [m]. Returns `ReleaseCheck`. Raises InputError for values
    that can't be. A jet too slow, too laminar or too heavy is 'not answerable here'; what forbids
    is said all the same. Winds from calm to the highest are tried. Not looked at: radiation if it
    lights, noise (`reaction.sound_level`), which local rules permit.
    Source: API 521 (2020), atmospheric discharge; half of the flammable limit: common practice.
    """
    asked = gates(jet, hazards, wind_velocity, gas_viscosity, phase)
    limit = hazards.flammable_limit
    if hazards.flammable is False:  # nothing to dilute: no jet is needed
        rest = tuple(f for f in asked if f.subject in FORBIDS)
        return ReleaseCheck(jet, rest, _verdict(rest), np.nan, np.nan, ())
    if limit is None:
        unknown = Finding("cloud", None, ("its flammable limit is not given",))
        return ReleaseCheck(jet, (*asked, unknown), _verdict((*asked, unknown)),
                            np.nan, np.nan, ())  # fmt: skip
    half = rules.HALF_LIMIT.value * limit
    clouds = tuple(cloud(jet, exit_height, w, half) for w in wind_velocity * np.r_[0.0, _WINDS])
    findings = (*asked, _grade(clouds), *(_platform(clouds, *p) for p in platforms),
                _plume(jet, hazards, exit_height, clouds))  # fmt: skip
    return ReleaseCheck(jet, findings, _verdict(findings), jet.length_to(limit),
                        jet.length_to(half), clouds)  # fmt: skip


def _verdict(findings):
    """Forbidden first; then whether the rule holds at all; then what it says."""
    parted = {name: [f for f in findings if (f.subject in MOMENTUM) == name] for name in
              (True, False)}  # fmt: skip
    if any(f.holds is False for f in parted[False] if f.subject in FORBIDS):
        return FAILS
    if any(f.holds is not True for f in parted[True]):
        return NOT_HERE
    return worst(parted[False])


def _grade(clouds):
    lowest = min(c.lowest for c in clouds)
    words = ("flammable cloud comes down to ", ("elevation", lowest), " above grade")
    return found("grade", -lowest, 0.0, words, f"{BENT}; {PROFILE}")


def _platform(clouds, distance, height):
    gap, wind = min((c.clearance(distance, height), c.wind_velocity) for c in clouds)
    words = (("clearance", gap), " from the flammable cloud, nearest in a wind of ",
             ("wind_velocity", wind))  # fmt: skip
    return found(f"platform {distance:g} m off, {height:g} m up", -gap, 0.0, words,
                 f"{BENT}; {PROFILE}")  # fmt: skip


def _plume(jet, hazards, exit_height, clouds):
    """Richest air at grade far off, in the weather that brings most, from the height of the jet."""
    Y = mass_fraction(rules.HALF_LIMIT.value * hazards.flammable_limit, jet.molar_mass)
    limit = Y * jet.air_density  # kg/m3, thin mixture
    low = max(exit_height, min(c.heights[-1] for c in clouds))
    found_at = [(*highest_at_grade(jet.mass_flow, u, low, letter), u, letter)
                for letter, u in WEATHERS]  # fmt: skip
    most, x, u, letter = max(found_at)
    words = ("at most ", ("volume_fraction", _volume_fraction(most / jet.air_density, jet)),
             " of the air at grade, ", ("distance", x), f" off (stability {letter}, ",
             ("wind_velocity", u), ")")  # fmt: skip
    return found("plume at grade", most, limit, words, f"{PLUME}; {SPREADS}")


WEATHERS = (("D", 5.0), ("F", 1.5))  # usual pair, common practice, no source


def _volume_fraction(Y, jet):
    return Y / jet.molar_mass / (Y / jet.molar_mass + (1.0 - Y) / AIR)
