"""Breathing of atmospheric and low-pressure tanks: liquid moved, weather, fire; and vacuum.

Flows are of air at 0 °C and 1 atm, in m3/s here (the standard prints them in m3/h; its US tables
print scfh at 60 °F and 14.7 psia, see `air_flow`). In- and outbreathing add movement of liquid and
weather, which come together in the worst case. What the process sends in by a failure comes on top:
a feed that arrives hot and flashes, gas behind a level valve that lost its liquid, a blanket
regulator wide open, light ends with the product; often they are many times normal breathing. A tank
built for a few millibars inside stands less outside: a thin shell buckles long before it is
overstressed (`collapse_pressure`), so a stuck vacuum vent, a plastic sheet over a vent or steam
that condenses behind a closed vent folds a tank inwards. Source: API 2000 7th edition (2014),
ISO 28300, NFPA 30 (read in part, and from memory).
"""

from dataclasses import dataclass, replace

import numpy as np

from relieflib import rules
from relieflib.causes.shared.valve_flow import gas_steps
from relieflib.errors import InputError, finite, not_negative, one_number, positive, refuse, result
from relieflib.nozzle.gas import Gas, mass_flux as gas_flux
from relieflib.properties import saturation_pressure
from relieflib.sizing import ReliefLoad
from relieflib.tables import numbers, rows
from relieflib.units import ATMOSPHERE, GAS_CONSTANT, ICE_POINT
from relieflib.working import Working, step

NOTEBOOK = 23
PUBLISHED = {"breathing and vacuum": ("", "")}

SOURCE = "API 2000 7th edition (2014), 3.3"
CAUSE = "tank_breathing"
FIRE_HEIGHT = rules.TANK_FIRE_HEIGHT.value  # m above grade
AIR_MASS, AIR_K = 28.96, 1.4
VAPOR_TO_AIR = 906.6  # m3/h of air at 0 °C for 1 kg/s of a vapour of T/M = 1; equation 14
AIR_DENSITY = ATMOSPHERE * AIR_MASS / (GAS_CONSTANT * ICE_POINT)  # kg/m3 at 0 °C, 1 atm


def _latitude_row(latitude):
    lat, table = np.abs(finite(latitude=latitude)), numbers("tank_latitude")
    refuse(lat > 90.0, "latitude", lat, "must be 90 degrees at most")
    row = (lat >= table[1, 0]).astype(int) + (lat > table[2, 0])
    return np.where(np.isnan(lat)[..., None], np.nan, table[row])


def latitude_factor(latitude):
    """Factor Y of outbreathing by warming.

    Parameters: latitude in degrees, north or south; number or array. Returns float or array [-].
    Raises InputError above 90. Source: API 2000 7th edition, 3.3.2.3, table of Y (from memory).
    >>> latitude_factor(30.0), latitude_factor(-45.0), latitude_factor(60.0)
    (0.32, 0.25, 0.2)
    """
    return result(_latitude_row(latitude)[..., 1])


def cooling_factor(latitude, stored_warm):
    """Factor C of inbreathing by cooling.

    Parameters: latitude in degrees; stored_warm True for a vapour pressure above that of hexane,
    or not known, or storage at 25 °C and more. Returns float or array [-]. Raises InputError as
    `latitude_factor`. Source: API 2000 7th edition, 3.3.2.3, table of C (from memory).
    >>> cooling_factor(45.0, False), cooling_factor(45.0, True)
    (3.0, 5.0)
    """
    return result(_latitude_row(latitude)[..., 3 if stored_warm else 2])


def insulation_factor(insulation_thickness, conductivity, inside_coefficient=4.0,
                      insulated_area=1.0, tank_area=1.0):  # fmt: skip
    """Reduction of thermal breathing by insulation of all or part of a tank.

    Parameters: insulation_thickness [m], conductivity [W/(m K)], inside_coefficient, 4 by default
    [W/(m2 K)]; insulated_area and tank_area, of shell and roof [m2], equal by default. Arrays
    broadcast. Returns float or array [-]. Raises InputError for a value not above 0 or more
    insulation than tank. Source: API 2000 7th edition, 3.3.2.3.4: 1/(1 + h l/lambda), in part by
    area.
    >>> [round(insulation_factor(0.1, 0.05, 4.0, a, 100.0), 4) for a in (100.0, 50.0)]
    [0.1111, 0.5556]
    """
    t, lam, h, A_i, A = positive(
        insulation_thickness=insulation_thickness, conductivity=conductivity,
        inside_coefficient=inside_coefficient, insulated_area=insulated_area, tank_area=tank_area,
    )  # fmt: skip
    refuse(A_i > A, "insulated_area", A_i, "is more than the tank's")
    return result(A_i / A / (1.0 + h * t / lam) + (1.0 - A_i / A))


def open_pressure(set_pressure_gauge, emergency=False, atmosphere=ATMOSPHERE):
    """Pressure in a tank whose vent stands fully open.

    Parameters: set_pressure_gauge of the vent [Pa gauge]; emergency, True for an emergency vent;
    atmosphere [Pa]. Arrays broadcast. Returns Pa absolute. Raises InputError for a pressure not
    above 0. Source: `rules.BREATHER_OPEN`, `rules.EMERGENCY_OPEN`.
    >>> open_pressure(1800.0) > open_pressure(1800.0, emergency=True) > 103_125.0
    True
    """
    share = (rules.EMERGENCY_OPEN if emergency else rules.BREATHER_OPEN).value
    air, pset = positive(atmosphere=atmosphere, set_pressure_gauge=set_pressure_gauge)
    return result(air + share * pset)


def air_load(breathing, pressure, working=()):
    """Load of a vent as air at 0 °C, in which vents are rated.

    Parameters: breathing, air at 0 °C and 1 atm [m3/s]; pressure at the inlet of the vent [Pa
    absolute]: tank pressure for outflow, the atmosphere for inflow; working. Arrays broadcast.
    Returns `ReliefLoad` of `Gas`. Raises InputError for a negative flow. Source: API 2000 7th
    edition: flows are stated as air.
    >>> round(air_load(1.0, 1.02e5).mass_flow, 4)
    1.2921
    """
    q = not_negative(breathing=breathing)
    flow = result(q * AIR_DENSITY)
    line = step("mass_flow", flow, "q_air*Patm*M/(R*T1)", "air at 0 °C and 1 atm",
                breathing=breathing, atmosphere=ATMOSPHERE, molar_mass=AIR_MASS,
                gas_constant=GAS_CONSTANT, temperature=ICE_POINT)  # fmt: skip
    stream = Gas(pressure, ICE_POINT, molar_mass=AIR_MASS, k=AIR_K)
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]))


def relief_load(volume, filling, latitude, pressure, volatile=True, insulation_factor=1.0):
    """Load of normal outbreathing: liquid comes in while the tank warms.

    Parameters: volume of the tank [m3]; filling, largest flow of liquid in [m3/s]; latitude;
    pressure in the tank [Pa absolute]; volatile True above 5 kPa of vapour pressure: liquid then
    drives out twice its volume; insulation_factor [-], 1 without insulation. Arrays broadcast.
    Returns `ReliefLoad` of air. Raises InputError for a volume not above 0. Validity: no flashing
    feed (`hot_feed_load`), no gas with it (`gas_load`), no steam-out. Source: API 2000 7th edition,
    3.3.2.2 and 3.3.2.3: Y V^0.9 R in m3/h.
    >>> load = relief_load(1000.0, 100 / 3600, 30.0, 1.03e5, volatile=False)
    >>> round(load.mass_flow / AIR_DENSITY * 3600, 2)
    260.38
    """
    V, q_in = positive(volume=volume), not_negative(filling=filling)
    R = positive(insulation_factor=insulation_factor)
    Y, twice = latitude_factor(latitude), 2.0 if volatile else 1.0
    thermal, liquid = result(Y * V**0.9 * R / 3600.0), result(twice * q_in)
    both = result(np.asarray(thermal) + liquid)
    lines = [
        step("thermal_breathing", thermal, "Y_lat*V**0.9*R_i/3600", SOURCE + ".2.3: warming",
             latitude_factor=Y, volume=volume, insulation_factor=insulation_factor),
        step("liquid_breathing", liquid, "x_vol*q_in", SOURCE + ".2.2: twice above 5 kPa",
             volatility_factor=twice, filling=filling),
        step("breathing", both, "q_liq + q_th", SOURCE, liquid_breathing=liquid,
             thermal_breathing=thermal),
    ]  # fmt: skip
    return air_load(both, pressure, lines)


def vacuum_load(volume, emptying, latitude, atmosphere=ATMOSPHERE, stored_warm=True,
                insulation_factor=1.0):  # fmt: skip
    """Load of normal inbreathing: liquid goes out while the tank cools, as in a summer rain.

    Parameters: volume of the tank [m3]; emptying, largest flow of liquid out [m3/s], gravity flow
    included; latitude; atmosphere [Pa]; stored_warm as `cooling_factor`; insulation_factor [-].
    Arrays broadcast. Returns `ReliefLoad` of air from the atmosphere. Raises InputError for a
    volume not above 0. Source: API 2000 7th edition, 3.3.2.2 and 3.3.2.3: C V^0.7 R in m3/h.
    >>> round(vacuum_load(1000.0, 100 / 3600, 30.0).mass_flow / AIR_DENSITY * 3600, 1)
    918.3
    """
    V, q_out = positive(volume=volume), not_negative(emptying=emptying)
    R, C = positive(insulation_factor=insulation_factor), cooling_factor(latitude, stored_warm)
    thermal = result(C * V**0.7 * R / 3600.0)
    both = result(np.asarray(thermal) + q_out)
    lines = [
        step("thermal_breathing", thermal, "C_lat*V**0.7*R_i/3600", SOURCE + ".2.3: cooling",
             cooling_factor=C, volume=volume, insulation_factor=insulation_factor),
        step("breathing", both, "q_em + q_th", SOURCE, emptying=emptying,
             thermal_breathing=thermal),
    ]  # fmt: skip
    return air_load(both, atmosphere, lines)


def air_flow(load):
    """Air that a load stands for, as moles, in which both unit sets tell it.

    Parameters: load, `ReliefLoad` of air from this module. Returns kmol/s, a standard volume flow:
    the same air is Nm3/h at 0 °C and scfh at 60 °F and 14.696 psia, 37.33 scfh a Nm3/h. Makers' air
    curves in scfh are taken at 60 °F: an opening passes 36.31 scfh of such air for a Nm3/h of air
    at 0 °C, so a load told by the same air asks 2.8 % more of it, on the safe side.
    Source: definition of the mole; API 2000 7th edition prints both, its 5th edition 0.94 Nm3/h
    where US tables have 5.6 scfh a bbl/h (from memory).
    >>> from relieflib.units import from_si
    >>> one = air_flow(air_load(1.0 / 3600, 1.02e5))
    >>> round(from_si(one, "scfh", "standard volume flow"), 2)
    37.33
    """
    return result(np.asarray(load.mass_flow) / AIR_MASS)


def vapor_load(vapor_flow, molar_mass, venting_temperature, pressure, other_breathing=0.0,
               working=()):  # fmt: skip
    """Load of a vent that passes a vapour or gas, as the air that asks for the same opening.

    Parameters: vapor_flow [kg/s], molar_mass [kg/kmol], venting_temperature [K] of the vapour;
    pressure in the tank [Pa absolute]; other_breathing, air to be vented in the same event, such as
    of liquid moved and weather [m3/s at 0 °C and 1 atm]; working, steps that led to the vapour.
    Arrays broadcast. Returns `ReliefLoad` of air. Raises InputError for a negative flow or a value
    not above 0. Validity: nothing condenses on cold walls or liquid, which is not credited. Source:
    API 2000 7th edition, equation 14: 906.6 W sqrt(T/M) in m3/h.
    >>> load = vapor_load(1.65, 86.18, 341.9, 1.03e5)
    >>> round(load.mass_flow / AIR_DENSITY * 3600)
    2980
    """
    W, q_oth = not_negative(vapor_flow=vapor_flow, other_breathing=other_breathing)
    M, T = positive(molar_mass=molar_mass, venting_temperature=venting_temperature)
    q = result(VAPOR_TO_AIR / 3600.0 * W * np.sqrt(T / M))
    both = result(np.asarray(q) + q_oth)
    lines = [
        step("vapor_breathing", q, f"{VAPOR_TO_AIR}/3600*W_v*sqrt(T_vent/M)",
             SOURCE + ".3.3, equation 14: vapour as air", vapor_flow=vapor_flow,
             venting_temperature=venting_temperature, molar_mass=molar_mass),
        step("breathing", both, "q_vap + q_oth", "at the same time", vapor_breathing=q,
             other_breathing=other_breathing),
    ]  # fmt: skip
    return air_load(both, pressure, [*working, *lines])


def hot_feed_load(feed_flow, quality, molar_mass, venting_temperature, pressure, liquid_density,
                  thermal_breathing=0.0):  # fmt: skip
    """Load of a tank whose feed arrives hotter than it boils there, and flashes.

    Parameters: feed_flow [kg/s]; quality, mass fraction that flashes at tank pressure [-], see
    `flash_quality`; molar_mass [kg/kmol], venting_temperature [K] of the vapour; pressure in the
    tank [Pa absolute]; liquid_density of the rest [kg/m3]; thermal_breathing, air driven out by
    warming [m3/s at 0 °C and 1 atm]. Arrays broadcast. Returns `ReliefLoad` of air. Raises
    InputError for a negative flow, a quality outside 0 to 1 or a value not above 0. Validity: as
    `vapor_load`; the liquid counts once, since its vapour is counted already.
    Source: API 2000 7th edition, 3.3.2 (flashing feed on top of breathing; no equation there) and
    equation 14.
    >>> load = hot_feed_load(13_940 / 3600, 0.427, 86.18, 341.9, 1.03e5, 613.0)
    >>> round(load.mass_flow / AIR_DENSITY * 3600)
    2999
    """
    W, x, q_th = not_negative(
        feed_flow=feed_flow, quality=quality, thermal_breathing=thermal_breathing
    )
    refuse(x > 1.0, "quality", x, "must be from 0 to 1")
    rho = positive(liquid_density=liquid_density)
    vapor, liquid = result(x * W), result((1.0 - x) * W / rho)
    moved = result(np.asarray(liquid) + q_th)
    lines = [
        step("vapor_flow", vapor, "x*W_f", "what flashes", quality=quality, feed_flow=feed_flow),
        step("liquid_breathing", liquid, "(1 - x)*W_f/rho_l", "the rest fills the tank",
             quality=quality, feed_flow=feed_flow, liquid_density=liquid_density),
        step("other_breathing", moved, "q_liq + q_th", SOURCE + ".2", liquid_breathing=liquid,
             thermal_breathing=thermal_breathing),
    ]  # fmt: skip
    return vapor_load(vapor, molar_mass, venting_temperature, pressure, moved, lines)


def gas_load(source, flow_coefficient, xT, pressure, thermal_breathing=0.0):
    """Load of a tank into which gas blows through a valve wide open.

    Parameters: source, `Gas` upstream at its highest pressure; flow_coefficient, Kv with the
    largest trim and any bypass; xT fully open [-]; pressure in the tank [Pa absolute];
    thermal_breathing as `hot_feed_load`. Arrays broadcast. Returns `ReliefLoad` of air. Raises
    InputError as its parts. Validity: a level valve that lost its liquid, or a blanket regulator
    stuck open; the gas keeps its temperature, nothing condenses. Source: IEC 60534-2-1 (2011); API
    2000 7th edition, on equipment failure (no equation there), and equation 14.
    >>> nitrogen = Gas(8.0e5, 298.15, molar_mass=28.013, k=1.4)
    >>> round(gas_load(nitrogen, 1.0, 0.72, 1.02e5).mass_flow / AIR_DENSITY * 3600)
    125
    """
    pressure = positive(pressure=pressure)
    steps = gas_steps(source, flow_coefficient, pressure, xT)
    flow = steps[-1].value
    lines = [*steps, step("vapor_flow", flow, "W_cv", "all of it leaves by the vent",
                          valve_inflow=flow)]  # fmt: skip
    M, T = source.molar_mass, source.temperature
    return vapor_load(flow, M, T, pressure, thermal_breathing, lines)


def fire_area(vessel, elevation=0.0):
    """Wetted area of a tank in a fire, whatever its level.

    Parameters: vessel, a `geometry.Vessel`; elevation of its zero level above grade [m]. Returns
    m2. Vertical: shell up to 9.14 m, without roof, and without the bottom on the ground;
    horizontal: 75 % of all its surface or the part below 9.14 m, the larger; sphere: 55 % or that
    part. Raises InputError for arrays. Source: API 2000 7th edition, 3.3.3.3; NFPA 30, 22.7.3.2
    (read and from memory).
    >>> from relieflib.geometry import Vessel
    >>> round(fire_area(Vessel("vertical", 8.0, length=10.0, head_type="flat")), 1)
    229.7
    """
    z = float(finite(elevation=elevation))
    reach = FIRE_HEIGHT - z
    if vessel.orientation == "vertical":
        return float(np.pi * vessel.diameter * np.clip(reach, 0.0, vessel.length))
    low = vessel.wetted_area(float(np.clip(reach, 0.0, vessel.top)))
    share = 0.75 if vessel.orientation == "horizontal" else 0.55
    return float(max(share * vessel.area, low))


def emergency_heat(wetted_area, design_pressure_gauge):
    """Heat that a tank takes up in a fire.

    Parameters: wetted_area [m2]; design_pressure_gauge [Pa], which decides above 260 m2. Arrays
    broadcast. Returns W. Raises InputError for a value not above 0. Source: API 2000 7th edition,
    3.3.3.3.2, table of heat input: 63 150 A; 224 200 A^0.566 above 18.6 m2; 630 400 A^0.338 above
    93 m2; above 260 m2 4 129 700 up to 7 kPa and 43 200 A^0.82 beyond (from memory).
    >>> [round(emergency_heat(a, 2500.0) / 1e3) for a in (10.0, 50.0, 200.0, 300.0)]
    [632, 2052, 3779, 4130]
    """
    A = positive(wetted_area=wetted_area)
    design = positive(design_pressure_gauge=design_pressure_gauge)
    large = np.where(design > 7_000.0, 43_200.0 * A**0.82, 4_129_700.0)
    middle = np.where(A < 93.0, 224_200.0 * A**0.566, 630_400.0 * A**0.338)
    return result(
        np.where(A < 18.6, 63_150.0 * A, np.where(A < 260.0, middle, large)) + 0.0 * A * design
    )


def emergency_credit(credit, wetted_area):
    """Factor by which drainage, spray and insulation reduce emergency venting; one only.

    Parameters: credit, 'none', 'drainage', 'water spray and drainage', 'insulation' or
    'insulation, water spray and drainage'; wetted_area [m2]. Returns float [-]. Raises InputError
    for another word, or for drainage alone up to 18.6 m2. Validity: insulation of 4 Btu/(h ft2 F)
    at most, which stays in the fire. Source: NFPA 30 (2021), 22.7.3 (read); API 2000 takes the
    environment factors of API 521, and no credit for spray.
    >>> emergency_credit("drainage", 100.0)
    0.5
    """
    known = {name: float(value) for name, value in rows("emergency_credit")[1]}
    if credit not in known:
        raise InputError(f"credit '{credit}': use one of {'; '.join(known)}")
    A = positive(wetted_area=wetted_area)
    if credit == "drainage":
        refuse(A <= 18.6, "wetted_area", A, "drainage alone counts above 18.6 m2 only")
    return result(known[credit] + 0.0 * A)


def emergency_load(wetted_area, design_pressure_gauge, latent_heat, molar_mass,
                   venting_temperature, pressure, environment_factor=1.0):  # fmt: skip
    """Load of a tank in a fire, as air.

    Parameters: wetted_area [m2], design_pressure_gauge [Pa] as `emergency_heat`; latent_heat
    [J/kg], molar_mass [kg/kmol] and venting_temperature [K] of the vapour; pressure in the tank
    [Pa absolute]; environment_factor or credit [-]. Arrays broadcast. Returns `ReliefLoad` of air.
    Raises InputError for a value not above 0 or a factor above 1. Validity: stable liquid; a weak
    roof seam or enough normal vents may stand in for an emergency vent. Source: API 2000 7th
    edition, 3.3.3.3, equation 14: 906.6 Q F/L sqrt(T/M) in m3/h.
    >>> load = emergency_load(229.7, 2500.0, 335e3, 86.18, 342.0, 1.03e5)
    >>> round(load.mass_flow / AIR_DENSITY * 3600)
    21349
    """
    A, L, M, T, F = positive(
        wetted_area=wetted_area, latent_heat=latent_heat, molar_mass=molar_mass,
        venting_temperature=venting_temperature, environment_factor=environment_factor,
    )  # fmt: skip
    refuse(F > 1.0, "environment_factor", F, "must be 1 at most")
    Q = emergency_heat(A, design_pressure_gauge)
    q = result(VAPOR_TO_AIR / 3600.0 * Q * F / L * np.sqrt(T / M))
    lines = [
        step("heat_rate", Q, source=SOURCE + ".3.3.2: table of heat input by wetted area"),
        step("breathing", q, f"{VAPOR_TO_AIR}/3600*Q*F/h_v*sqrt(T_vent/M)",
             SOURCE + ".3.3, equation 14", heat_rate=Q,
             environment_factor=environment_factor, latent_heat=latent_heat,
             venting_temperature=venting_temperature, molar_mass=molar_mass),
    ]  # fmt: skip
    return replace(air_load(q, pressure, lines), fire=True)


@dataclass(frozen=True)
class Vent:
    """A standard vent size: nominal_size [mm], area [m2], required_area [m2], capacity of air.

    capacity and used in m3/s at 0 °C and 1 atm, and as a fraction.
    """

    nominal_size: int
    area: float
    required_area: float
    capacity: float

    @property
    def used(self):
        """Required over chosen area [-]."""
        return self.required_area / self.area


def vent_capacity(vent_area, discharge_coefficient, pressure, back_pressure):
    """Air that an open vent passes, at 0 °C and 1 atm.

    Parameters: vent_area [m2]; discharge_coefficient [-], up to 1; pressure before and
    back_pressure behind the vent [Pa absolute]. Arrays broadcast. Returns m3/s. Raises InputError
    as the gas nozzle. Validity: fully open: a pallet needs its overpressure first, and the
    maker's capacity curve then rules. Source: isentropic flow of air, API 2000 7th edition, 3.5.
    >>> round(vent_capacity(0.0082, 0.5, 1.03825e5, 1.01325e5) * 3600)
    917
    """
    A, K = positive(vent_area=vent_area, discharge_coefficient=discharge_coefficient)
    refuse(K > 1.0, "discharge_coefficient", K, "must be 1 at most")
    G = gas_flux(pressure, ICE_POINT, molar_mass=AIR_MASS, k=AIR_K, back_pressure=back_pressure)
    return result(A * K * np.asarray(G) / AIR_DENSITY)


def select_vent(load, back_pressure, discharge_coefficient=0.5):
    """Smallest standard vent that passes a load of air.

    Parameters: load, `ReliefLoad` of air; back_pressure behind the vent [Pa absolute]: the
    atmosphere for outflow, tank pressure at design vacuum for inflow; discharge_coefficient, 0.5
    by default for a pressure/vacuum vent with its pallet (common practice, no source). Returns
    `Vent`. Raises InputError where the largest size is too small: take several. Source: as
    `vent_capacity`.
    >>> load = relief_load(500.0, 25 / 3600, 45.0, 101325 + 2500.0)
    >>> vent = select_vent(load, 101325.0)
    >>> vent.nominal_size, round(vent.used, 2)
    (50, 0.48)
    """
    one_number(back_pressure=back_pressure, discharge_coefficient=discharge_coefficient)
    stream = load.stream
    one = vent_capacity(1.0, discharge_coefficient, stream.pressure, back_pressure)
    need = load.mass_flow / AIR_DENSITY / one
    for size, inside in numbers("vent_sizes"):
        area = np.pi / 4.0 * (inside * 1e-3) ** 2
        if area >= need:
            return Vent(int(size), float(area), float(need), float(area * one))
    raise InputError(f"mass_flow = {load.mass_flow:.6g} kg/s: needs {need:.4g} m2, more than the "
                     "largest vent: take several")  # fmt: skip


def check_settings(design_pressure_gauge, set_pressure_gauge, overpressure_fraction,
                   emergency_set_gauge=None, emergency_overpressure=0.0):  # fmt: skip
    """Hold the settings of a tank's vents against its design pressure and each other.

    Parameters: design_pressure_gauge; set_pressure_gauge of the pressure vent and its
    overpressure_fraction to be fully open [-]; emergency_set_gauge of the emergency vent, None
    without one, and its emergency_overpressure [-]. Pressures [Pa gauge], all positive; for vacuum
    give all as depths below atmosphere. Returns the pressures at full opening, a tuple. Raises
    InputError where one is above design, or the emergency vent opens before the other is full
    open. Source: API 2000 7th edition, 3.6: tank pressure at full flow not above design; order of
    opening: common practice, no source.
    >>> check_settings(2500.0, 1800.0, 0.2, 2250.0, 0.1)
    (2160.0, 2475.0)
    """
    one_number(design_pressure_gauge=design_pressure_gauge, set_pressure_gauge=set_pressure_gauge,
               overpressure_fraction=overpressure_fraction)  # fmt: skip
    design, p = positive(design_pressure_gauge=design_pressure_gauge,
                         set_pressure_gauge=set_pressure_gauge)  # fmt: skip
    full = p * (1.0 + not_negative(overpressure_fraction=overpressure_fraction))
    refuse(full > design * (1 + 1e-9), "set_pressure_gauge", p,
           f"full open at {full:.6g} Pa, above design, {design:.6g} Pa")  # fmt: skip
    if emergency_set_gauge is None:
        return (float(full),)
    p_e = positive(emergency_set_gauge=emergency_set_gauge)
    top = p_e * (1.0 + not_negative(emergency_overpressure=emergency_overpressure))
    refuse(p_e < full, "emergency_set_gauge", p_e,
           f"opens before the pressure vent is full open, {full:.6g} Pa")  # fmt: skip
    refuse(top > design * (1 + 1e-9), "emergency_set_gauge", p_e,
           f"full open at {top:.6g} Pa, above design, {design:.6g} Pa")  # fmt: skip
    return float(full), float(top)


def collapse_pressure(diameter, shell_length, wall_thickness, youngs_modulus=207e9,
                      poisson_ratio=0.3):  # fmt: skip
    """Outside pressure at which a thin cylindrical shell buckles.

    Parameters: diameter [m]; shell_length between stiffeners [m]; wall_thickness [m];
    youngs_modulus [Pa] and poisson_ratio [-], carbon steel by default. Arrays broadcast. Returns
    Pa. Raises InputError for a value not above 0. Validity: a round, new shell of one thickness,
    simply held at its ends; a real tank with dents and corrosion gives way far below: no design
    value. Source: Windenburg and Trilling (1934), equation of the US Experimental Model Basin
    (from memory).
    >>> round(collapse_pressure(8.0, 10.0, 0.005))
    4239
    """
    D, L, t, E, nu = positive(diameter=diameter, shell_length=shell_length,
                              wall_thickness=wall_thickness, youngs_modulus=youngs_modulus,
                              poisson_ratio=poisson_ratio)  # fmt: skip
    refuse(nu >= 0.5, "poisson_ratio", nu, "must be below 0.5")
    free = L / D - 0.45 * np.sqrt(t / D)
    refuse(free <= 0, "shell_length", L, "is too short for this equation")
    return result(2.42 * E * (t / D) ** 2.5 / ((1.0 - nu**2) ** 0.75 * free))


def sealed_pressure(fluid, inert_pressure, start_temperature, end_temperature):
    """Pressure in a closed vessel full of vapour and gas once it has cooled down.

    Parameters: fluid that condenses; inert_pressure, partial pressure of the gas when hot [Pa];
    start_temperature, end_temperature [K]; arrays broadcast. Returns Pa absolute. Raises
    InputError as `saturation_pressure`. Validity: ideal gas, liquid there at the end and small in
    volume. Source: Dalton's law; why a vessel steamed out and shut is built for full vacuum.
    >>> round(sealed_pressure("Water", 0.0, 373.15, 298.15))
    3170
    """
    P_in, T0, T1 = not_negative(inert_pressure=inert_pressure), *positive(
        start_temperature=start_temperature, end_temperature=end_temperature)  # fmt: skip
    return result(P_in * T1 / T0 + np.asarray(saturation_pressure(fluid, end_temperature)))
