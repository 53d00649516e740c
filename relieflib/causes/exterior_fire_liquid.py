"""Exterior fire on a vessel with liquid: heat through the wetted wall boils what is inside.

What may be counted: fire zone and height from the surface that can hold a pool (a platform counts
as one); drainage and fire fighting only where both are adequate; insulation only where its jacket
and the insulation stand some 904 °C for the time of the fire and the jet of a fire hose; water
spray and depressuring not at all (factor 1). Accumulation in fire is 21 % (ASME BPVC XIII).
Source of these rules: API 521 (2020), 4.4.13 (5th edition 5.15.2 and 5.15.5, read and from memory).
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from relieflib import rules
from relieflib.causes.shared import boiling, heated_contents
from relieflib.causes.shared.carried_vapor import CarriedVapor
from relieflib.errors import InputError, finite, not_negative, one_number, positive, refuse, result
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.phase_split import Split
from relieflib.properties import (
    LATENT_LIMIT,
    critical_pressure,
    latent_heat,
    molar_mass,
    saturation_temperature,
)
from relieflib.sizing import ReliefLoad
from relieflib.tables import numbers, rows
from relieflib.units import ICE_POINT
from relieflib.working import Working, step

NOTEBOOK = 12
PUBLISHED = {"exterior fire": ("4.4.13", "5.15")}

SOURCE = "API 521 (2020), 4.4.13"
CAUSE = "exterior_fire_liquid"
FIRE_HEIGHT = rules.FIRE_HEIGHT.value  # m above the surface that holds the pool
HOTTEST = 533.15  # K, where heated contents are followed to: the largest area comes long before
DRAINED, NOT_DRAINED = 43_200.0, 70_900.0  # W for the first m2


def fire_level(vessel, level, elevation, fire_height=FIRE_HEIGHT):
    """Level up to which a pool fire heats liquid.

    Parameters: vessel, a `geometry.Vessel`; level of the liquid [m]; elevation of the vessel's
    zero level above the surface that holds the pool [m]; fire_height [m], 7.6 by default, 9.14 for
    tanks. Arrays broadcast. Returns m; the vessel's bottom where it stands above the fire. A
    sphere counts up to its equator at least. Raises InputError for a level outside the vessel.
    Source: API 521 (2020), 4.4.13 (7.6 m or 25 ft; equator of spheres); API 2000 7th, 9.14 m.
    >>> from relieflib.geometry import Vessel
    >>> fire_level(Vessel("vertical", 2.0, length=12.0, head_type="2:1 ellipsoidal"), 9.0, 2.0)
    5.6
    """
    level, z = finite(level=level), finite(elevation=elevation)
    vessel.wetted_area(level)  # refuses a level outside the vessel
    limit = positive(fire_height=fire_height) - z
    if vessel.orientation == "spherical":
        limit = np.maximum(limit, np.asarray(vessel.diameter) / 2.0)
    return result(np.maximum(np.minimum(level, limit), vessel.bottom))


def column_level(vessel, normal_level, trays, tray_holdup):
    """Level in a column's bottom once the liquid of its trays has drained down.

    Parameters: vessel, vertical; normal_level [m]; trays, how many; tray_holdup, liquid on one
    tray [m3]; arrays broadcast. Returns m. Raises InputError where the column can't hold it.
    Validity: trays that drain when the vapour stops; packing: its hold-up likewise.
    Source: API 521 (2020), 4.4.13, table of wetted areas: normal bottom level and the hold-up of
    all trays (from memory).
    >>> from relieflib.geometry import Vessel
    >>> round(column_level(Vessel("vertical", 0.9, length=19.0, head_type="2:1 ellipsoidal"),
    ...                    1.5, 30, 0.02), 3)
    2.443
    """
    N, V = not_negative(trays=trays, tray_holdup=tray_holdup)
    return vessel.level_of(result(np.asarray(vessel.volume_of(normal_level)) + N * V))


def wetted_area(vessel, level, elevation, piping_allowance=0.0, fire_height=FIRE_HEIGHT):
    """Wetted surface of a vessel in a pool fire, with an allowance for piping.

    Parameters: vessel, level, elevation, fire_height as `fire_level`; piping_allowance, surface of
    liquid-filled piping as a fraction of the vessel's [-]. Arrays broadcast. Returns m2; 0 for a
    vessel that stands above the fire. Raises InputError as `fire_level`. Which level: all of a
    liquid-full vessel; normal level of a drum; a column's bottom with the hold-up of its trays
    (`column_level`); the highest inventory of storage. Source: API 521 (2020), 4.4.13; for piping
    10 % or the real surface: common practice, no source.
    >>> from relieflib.geometry import Vessel
    >>> round(wetted_area(Vessel("horizontal", 2.6, length=12.0, head_type="2:1 ellipsoidal"),
    ...                   1.3, 1.5), 2)
    56.34
    """
    reached = fire_level(vessel, level, elevation, fire_height)
    x_p = not_negative(piping_allowance=piping_allowance)
    return result(np.asarray(vessel.wetted_area(reached)) * (1.0 + x_p))


def protection_factor(protection):
    """Environment factor of a vessel without counted insulation.

    Parameters: protection, 'bare', 'water spray', 'depressuring', 'earth covered' or 'below
    grade'. Returns float [-]. Raises InputError for another word.
    Source: API 521 (2020), 4.4.13, table of environment factors (5th edition, table 6, read).
    >>> protection_factor("water spray"), protection_factor("earth covered")
    (1.0, 0.03)
    """
    known = {name: float(value) for name, value in rows("protection_factor")[1]}
    if protection not in known:
        raise InputError(f"protection '{protection}': use one of {', '.join(known)}")
    return known[protection]


def conductance_factor(conductance):
    """Environment factor of an insulated vessel by the printed table, between its rows linear.

    Parameters: conductance of the insulation in the fire [W/(m2 K)], number or array. Returns
    float or array [-]. Raises InputError outside the table, 1.87 to 22.71. Validity: insulation
    that stays (see the module). Source: API 521 (2020), 4.4.13 (5th edition, table 6, read).
    >>> conductance_factor(11.36)
    0.15
    """
    U, table = positive(conductance=conductance), numbers("environment_factor")
    refuse((U < table[0, 0]) | (U > table[-1, 0]), "conductance", U,
           f"the table holds {table[0, 0]} to {table[-1, 0]} W/(m2 K)")  # fmt: skip
    return result(np.where(np.isnan(U), np.nan, np.interp(U, table[:, 0], table[:, 1])))


def insulation_factor(conductivity, insulation_thickness, vessel_temperature):
    """Environment factor of an insulated vessel by the conduction equation.

    Parameters: conductivity at the mean temperature in the fire [W/(m K)]; insulation_thickness
    [m]; vessel_temperature [K]; arrays broadcast. Returns float or array [-], 1 at most. Raises
    InputError for a vessel at 904 °C or above. Validity: as `conductance_factor`.
    Source: API 521 (2020), 4.4.13 (5th edition, equations 12 and 13): F = k (904 - Tf)/(66 570 t).
    >>> round(insulation_factor(0.05, 0.05, 306.15), 4)
    0.0131
    """
    k, t, T = positive(conductivity=conductivity, insulation_thickness=insulation_thickness,
                       vessel_temperature=vessel_temperature)  # fmt: skip
    refuse(T >= 904.0 + ICE_POINT, "vessel_temperature", T, "must be below 904 °C")
    return result(np.minimum(k * (904.0 + ICE_POINT - T) / (66_570.0 * t), 1.0))


def absorbed_heat(wetted_area, environment_factor=1.0, adequate_drainage=True):
    """Heat that liquid takes up through the wetted wall in an open pool fire.

    Parameters: wetted_area [m2]; environment_factor [-], 0 to 1; adequate_drainage True only with
    drainage AND prompt fire fighting. Arrays broadcast. Returns W. Raises InputError for a
    negative area or a factor above 1. Validity: open pool fire of liquid hydrocarbon; not jet
    fires, nor vessels closed in by walls. Source: API 521 (2020), 4.4.13: 43.2 F A^0.82 kW, 70.9
    without (21 000 and 34 500 Btu/h in US units).
    >>> round(absorbed_heat(38.191) / 1e3, 1), round(absorbed_heat(1.0, adequate_drainage=False))
    (856.4, 70900)
    """
    A, F = not_negative(wetted_area=wetted_area, environment_factor=environment_factor)
    refuse(F > 1.0, "environment_factor", F, "must be 1 at most")
    return result((DRAINED if adequate_drainage else NOT_DRAINED) * F * A**0.82)


def heat_working(vessel, level, elevation, piping_allowance=0.0, environment_factor=1.0,
                 adequate_drainage=True, fire_height=FIRE_HEIGHT):  # fmt: skip
    """Steps from level to absorbed heat, as a `Working`; the last one is the heat.

    Parameters: as `wetted_area` and `absorbed_heat`. Returns Working. Raises InputError as they do.
    Source: as they say.
    >>> from relieflib.geometry import Vessel
    >>> w = heat_working(Vessel("horizontal", 2.6, length=12.0, head_type="2:1 ellipsoidal"),
    ...                  1.3, 1.5)
    >>> w[-1].name, round(w[-1].value)
    ('heat_rate', 1177964)
    """
    reached = fire_level(vessel, level, elevation, fire_height)
    area = wetted_area(vessel, level, elevation, piping_allowance, fire_height)
    heat = absorbed_heat(area, environment_factor, adequate_drainage)
    constant = DRAINED if adequate_drainage else NOT_DRAINED
    return Working([
        step("fire_level", reached,
             source=f"{SOURCE}: level, held below the fire height of {fire_height:g} m"),
        step("wetted_area", area, source="geometry of shell and heads, with piping"),
        step("fire_constant", constant, source=SOURCE + (
            ": adequate drainage and fire fighting" if adequate_drainage else ": without")),
        step("heat_rate", heat, "C_f*F*A_w**0.82", SOURCE, fire_constant=constant,
             environment_factor=environment_factor, wetted_area=area),
    ])  # fmt: skip


def relief_load(heat_rate, latent_heat, stream, working=()):
    """Load of a fire that boils a liquid of one boiling point.

    Parameters: heat_rate [W]; latent_heat at RELIEVING pressure [J/kg]; stream, the vapour at
    relieving conditions; working, steps that led to the heat. Arrays broadcast. Returns
    `ReliefLoad`. Raises InputError for a negative heat or a latent heat not above 0. Validity:
    vapour leaves alone; a liquid-full vessel first passes expanding liquid (hydraulic expansion,
    small) and foaming or reacting contents two phases. Source: API 521 (2020), 4.4.13.
    >>> from relieflib.nozzle.gas import Gas
    >>> round(relief_load(856.4e3, 254.6e3, Gas(21.9e5, 335.0, molar_mass=44.1,
    ...                                         k=1.12)).mass_flow * 3600)
    12109
    """
    Q, h = not_negative(heat_rate=heat_rate), positive(latent_heat=latent_heat)
    flow = result(Q / h)
    line = step("mass_flow", flow, "Q/h_v", SOURCE, heat_rate=heat_rate, latent_heat=latent_heat)
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]), fire=True)


def pure_load(fluid, relieving_pressure, heat_rate, working=()):
    """Load of a fire on a pure fluid, with its latent heat and saturated vapour from CoolProp.

    Parameters: fluid; relieving_pressure [Pa], number or array; heat_rate [W]; working. Returns
    `ReliefLoad` of `RealFluid`. Raises InputError above 95 % of the critical pressure: take
    `near_critical_load` there. Source: API 521 (2020), 4.4.13; latent heat at relieving
    pressure.
    >>> round(pure_load("Propane", 21.886e5, 856.4e3).mass_flow * 3600)
    12108
    """
    h = latent_heat(fluid, relieving_pressure)
    line = step("latent_heat", h, source="reference equation of state (CoolProp), saturated")
    stream = RealFluid(fluid, relieving_pressure, quality=result(np.ones(np.shape(h))))
    return relief_load(heat_rate, h, stream, [*working, line])


def mixture_load(mixture, relieving_pressure, heat_rate, steps=20, last=0.95, working=()):
    """Load of a fire on a mixture: the step of boiling that needs the largest area.

    Parameters: mixture, a `boiling.Mixture`; relieving_pressure [Pa], heat_rate [W], floats;
    steps, last and working as `boiling.mixture_load`. Returns `ReliefLoad` of `Gas`. Raises
    InputError as it does. Source: API 521 (2020), 4.4.13: the largest area, not the largest flow.
    >>> lpg = boiling.Mixture(("Propane", "n-Butane"), (0.6, 0.4))
    >>> round(mixture_load(lpg, 20e5, 1e6).mass_flow, 2)
    3.94
    """
    one_number(relieving_pressure=relieving_pressure)
    load = boiling.mixture_load(CAUSE, mixture, relieving_pressure, heat_rate, steps, last, working)
    return replace(load, fire=True)


def near_critical_load(fluid, relieving_pressure, heat_rate, density, end_temperature, steps=30,
                       working=()):  # fmt: skip
    """Load of a fire on a fluid near or above its critical pressure, where latent heat fails.

    Parameters: fluid, pure; relieving_pressure [Pa], above 95 % of critical; heat_rate [W];
    density, mass over volume of the vessel [kg/m3]; end_temperature [K], what the wall stands;
    floats; steps and working as `boiling.near_critical_load`. Returns `ReliefLoad` of `RealFluid`
    in the state of the largest area. Raises InputError below 95 % of the critical pressure,
    where `pure_load` holds: the required areas meet there (hydrocarbons within some 6 %, water
    11 %), the flows do not, since this one leaves as liquid and that one as vapour. Validity: as
    `boiling.expulsion`. A floor of 115 kJ/kg on latent heat was older practice: API 521, Annex A of
    old editions (from memory). Source: as `boiling.near_critical_load`; API 521 (2020), 4.4.13.
    >>> load = near_critical_load("Propane", 46e5, 1e6, 400.0, 500.0)
    >>> round(load.mass_flow, 1), round(load.stream.temperature, 1)
    (6.8, 375.0)
    """
    one_number(relieving_pressure=relieving_pressure)
    P = positive(relieving_pressure=relieving_pressure)
    limit = LATENT_LIMIT * critical_pressure(fluid)
    refuse(P <= limit, "relieving_pressure", P, f"the fluid still boils up to {limit:.6g} Pa: "
           "take its latent heat, pure_load")  # fmt: skip
    load = boiling.near_critical_load(CAUSE, fluid, P, heat_rate, density, end_temperature, steps,
                                      working)  # fmt: skip
    return replace(load, fire=True, dry_wall=True)  # nothing boils that would cool the wall


def zone_heat(wetted_areas, environment_factors=1.0, adequate_drainage=True, connected=False):
    """Heat taken up by all vessels of one fire zone together.

    Parameters: wetted_areas [m2] and environment_factors [-], one for each vessel;
    adequate_drainage; connected True for vessels open to each other that share one valve and are
    taken as one surface. Returns W, float. Raises InputError as `absorbed_heat`, or for differing
    factors on connected vessels. Several vessels with a valve each: each heat with its own area,
    and the disposal system takes their sum; the exponent below 1 makes that more than one surface
    of the same size. A zone is some 230 to 460 m2 of ground. Source: API 521 (2020), 4.4.13 and
    5.3 (from memory); one surface for connected vessels: common practice, no source.
    >>> round(zone_heat([38.0, 20.0])), round(zone_heat([38.0, 20.0], connected=True))
    (1356797, 1206409)
    """
    A = np.atleast_1d(not_negative(wetted_areas=wetted_areas))
    A, F = not_negative(wetted_areas=A, environment_factors=environment_factors)
    if A.ndim > 1 or F.ndim > 1:
        raise InputError("wetted_areas, environment_factors: give one list, a value a vessel")
    A, F = np.broadcast_arrays(A, F)
    if not connected:
        return float(np.sum(absorbed_heat(A, F, adequate_drainage)))
    refuse(F != F[0], "environment_factors", F, "must be the same for connected vessels")
    return float(absorbed_heat(A.sum(), F[0], adequate_drainage))


def connected_load(fluids, wetted_areas, relieving_pressure):
    """Load of a fire on two vessels open to each other, each with a boiling liquid of its own.

    Parameters: fluids, two names that CoolProp knows; wetted_areas of the two [m2];
    relieving_pressure [Pa]. Returns `ReliefLoad`: both vapours as one stream at its dew point, each
    by its share of the heat. Raises InputError as `zone_heat` and `pure_load`. Validity: ideal
    mixing; where a colder vapour condenses some of the other, less volume leaves. Source: API 521
    (2020), 4.4.13; one surface for both: as `zone_heat`.
    >>> load = connected_load(("n-Hexane", "Propane"), (8.0, 8.0), 22.8e5)
    >>> round(load.mass_flow, 1)
    2.3
    """
    P = one_number(relieving_pressure=relieving_pressure)
    areas = np.atleast_1d(not_negative(wetted_areas=wetted_areas))
    if len(fluids) != 2 or len(areas) != 2:
        raise InputError("fluids, wetted_areas: give two")
    total, heat = float(areas.sum()), zone_heat(areas, connected=True)
    parts = [pure_load(f, P, heat * float(a) / total) for f, a in zip(fluids, areas, strict=True)]
    flow = sum(part.mass_flow for part in parts)
    moles = [part.mass_flow / molar_mass(name) for part, name in zip(parts, fluids, strict=True)]
    dew = saturation_temperature(fluids[0], P * moles[0] / sum(moles))
    stream = CarriedVapor(fluids[1], fluids[0], P, dew).stream
    words = " and ".join(f"{p.mass_flow:.4g} kg/s of {n}" for p, n in zip(parts, fluids))
    lines = [
        step("wetted_area", total, source="both vessels, geometry of shells and heads"),
        step("heat_rate", heat, f"{DRAINED:g}*A_w**0.82", SOURCE, wetted_area=total),
        step("mass_flow", flow, source=f"{words}, each by its own share of the heat"),
    ]
    return ReliefLoad(CAUSE, flow, stream, working=Working(lines), fire=True)


def dissolved_load(mixture, vessel, level, relieving_pressure, heat_rate,
                   end_temperature=HOTTEST, working=()):  # fmt: skip
    """Load of a fire on a liquid with gas dissolved in it: gas first, then what swells and boils.

    Parameters: mixture, a `phase_split.Split` in two phases as the vessel holds it in operation;
    vessel, a `geometry.Vessel`; level of its liquid [m]; relieving_pressure [Pa]; heat_rate [W];
    end_temperature up to which it is followed [K]; working. Returns `ReliefLoad` of `TwoPhase`.
    Raises InputError as `shared.heated_contents`. Validity: as that module; the liquid swells while
    it is heated, so take the shell as wetted up to its top. Source: `shared.heated_contents`; API
    521 (2020), 4.4.13: the largest area, not the largest flow.
    >>> from relieflib.geometry import Vessel
    >>> from relieflib.phase_split import Split
    >>> held = Split(("Propane", "n-Hexane"), (1.0, 1.0), 3e5, 313.15)
    >>> drum = Vessel("vertical", 1.0, length=2.0, head_type="2:1 ellipsoidal")
    >>> round(dissolved_load(held, drum, 1.0, 12e5, 1e5, 400.0).mass_flow, 2)
    0.15
    """
    P = one_number(relieving_pressure=relieving_pressure)
    points = _fire_path(tuple(mixture.fluids), tuple(mixture.masses), mixture.pressure,
                        mixture.temperature, P, vessel.volume_of(vessel.top),
                        vessel.volume_of(level), float(end_temperature))  # fmt: skip
    load = heated_contents.relief_load(CAUSE, points, heat_rate, working)
    return replace(load, fire=True)


@lru_cache(maxsize=8)
def _fire_path(fluids, masses, pressure, temperature, relieving_pressure, volume, liquid_volume,
               end_temperature):  # fmt: skip
    held = heated_contents.filled(
        Split(fluids, masses, pressure, temperature), volume, liquid_volume
    )
    return heated_contents.path(held, relieving_pressure, volume, end_temperature)


def time_to_relief(mass, liquid_heat_capacity, start_temperature, end_temperature, heat_rate,
                   metal_mass=0.0, metal_heat_capacity=480.0):  # fmt: skip
    """Time in which a fire brings contents and wall to the relieving temperature.

    Parameters: mass [kg] and liquid_heat_capacity [J/(kg K)] of the contents; start_temperature,
    end_temperature [K], the boiling point at relieving pressure; heat_rate [W]; metal_mass [kg],
    metal_heat_capacity [J/(kg K)], 480 for carbon steel. Arrays broadcast. Returns s. Raises
    InputError for a value not above 0 or an end below the start. Validity: constant heat; stirred.
    Source: heat balance; 480 J/(kg K): handbook value, from memory.
    >>> round(time_to_relief(10000.0, 2600.0, 298.15, 423.15, 856.4e3) / 60, 2)
    63.25
    """
    m, c, T0, T1, Q, c_w = positive(
        mass=mass, liquid_heat_capacity=liquid_heat_capacity, start_temperature=start_temperature,
        end_temperature=end_temperature, heat_rate=heat_rate,
        metal_heat_capacity=metal_heat_capacity,
    )  # fmt: skip
    refuse(T1 < T0, "end_temperature", T1, "is below the start")
    return result((m * c + not_negative(metal_mass=metal_mass) * c_w) * (T1 - T0) / Q)
