"""The naphtha tank T-101 beside its cases, which stand in the plant's file: LV-103 wide open into
it, which is a round trip, and what its two vents pass. Each load as air.
"""

import numpy as np

from relieflib.causes import control_valve_opens, tank_breathing as tb
from relieflib.causes.shared.valve_flow import flash_quality, liquid_flow
from relieflib.demo.common import of_file
from relieflib.devices import Device
from relieflib.geometry import Vessel
from relieflib.properties import State, critical_pressure, latent_heat, molar_mass

NAPHTHA = "n-Hexane"
KD = 0.5  # of a vent with its pallet; common practice, no source
IN = "breathing and vacuum, in"


def shell(plant):
    """The tank as `geometry.Vessel`."""
    item = plant["T-101"]
    return Vessel("vertical", item.diameter, length=item.height, head_type="flat")


def pressures(plant):
    """Tank pressure with the breather, and with the emergency vent, fully open [Pa absolute]."""
    return tuple(tb.open_pressure(plant[tag].set_pressure_gauge, emergency, plant.atmosphere)
                 for tag, emergency in (("PVSV-111", False), ("EV-112", True)))  # fmt: skip


def flash(plant, pressure, temperature, source):
    """Mass fraction of naphtha that flashes into the tank from a source [Pa], and its State there.

    Returns (quality, `State` of the liquid that stays).
    """
    hot, cold = (State(NAPHTHA, source, temperature=temperature),
                 State(NAPHTHA, pressure, quality=0.0))  # fmt: skip
    h_v = latent_heat(NAPHTHA, pressure)
    return flash_quality(hot.enthalpy, cold.enthalpy, h_v), cold


def hot_rundown(plant, feed_flow, temperature, thermal_breathing=0.0):
    """Load of bottoms that run down at a flow [kg/s] and a temperature [K]."""
    P, valve = pressures(plant)[0], plant["LV-103"]
    x, rest = flash(plant, P, temperature, plant.absolute(valve.upstream_pressure_gauge))
    return tb.hot_feed_load(feed_flow, x, molar_mass(NAPHTHA), rest.temperature, P, rest.density,
                            thermal_breathing)  # fmt: skip


def _open_Kv(valve):
    return control_valve_opens.wide_open(valve.largest_trim_Kv, valve.bypass_Kv)


def rundown_wide_open(plant):
    """Flow [kg/s] and temperature [K] of the bottoms with LV-103 wide open, cooling water running.

    More flow leaves E-104 and E-105 hotter, and a hotter liquid chokes earlier in the valve.
    """
    valve, normal = plant["LV-103"], plant.streams["15"].mass_flow
    P, W = plant.absolute(valve.upstream_pressure_gauge), normal
    for _ in range(30):
        T = _cooled(plant, W / normal)
        liquid = State(NAPHTHA, P, temperature=T)
        Ps, Pc = liquid.saturation_pressure, critical_pressure(NAPHTHA)
        W = liquid_flow(_open_Kv(valve), P, pressures(plant)[0], liquid.density, Ps, Pc, valve.FL)
    return W, T


def _cooled(plant, share):
    """Temperature [K] of the bottoms behind E-104 and E-105 at a multiple of their normal flow.

    Effectiveness of counterflow, coefficients as in normal operation.
    """
    T = plant["E-104"].hot_in
    for tag in ("E-104", "E-105"):
        e = plant[tag]
        hot = share * e.duty / (e.hot_in - e.hot_out)
        cold = e.duty / (e.cold_out - e.cold_in)
        least, ratio = min(hot, cold), min(hot, cold) / max(hot, cold)
        left = np.exp(-e.coefficient * e.area / least * (1.0 - ratio))
        T = T - (1.0 - left) / (1.0 - ratio * left) * least / hot * (T - e.cold_in)
    return float(T)


def loads(plant):
    """Loads of T-101 by cause in words, as air."""
    return of_file(plant, "T-101") | round_trip(plant)


def round_trip(plant):
    """The one load of T-101 that is no data: see `rundown_wide_open`."""
    P, item = pressures(plant)[0], plant["T-101"]
    out = tb.relief_load(shell(plant).volume, item.highest_filling, plant.site.latitude, P)
    weather = next(s.value for s in out.working if s.name == "thermal_breathing")
    rundown = hot_rundown(plant, *rundown_wide_open(plant), weather)
    return {"control valve opens, LV-103": rundown}


def seen_by(plant):
    """Device and back pressure [Pa] on which a load out of T-101 is sized: a vent's pallet."""
    return Device("disk", Kd=KD, atmosphere=plant.atmosphere), plant.atmosphere


def vents(plant):
    """The breather and the emergency vent as sized for breathing and for fire, `Vent` each.

    The breather is as large as its worse side, in or out, asks for; both as they blow out.
    """
    all_loads, (P, high) = loads(plant), pressures(plant)
    suction = plant.absolute(plant["T-101"].design_vacuum_gauge)
    sides = [
        tb.select_vent(all_loads[words], behind, KD)
        for words, behind in ((IN, suction), ("breathing and vacuum, out", plant.atmosphere))
    ]
    breather = max(sides, key=lambda vent: vent.area)
    emergency = tb.select_vent(all_loads["exterior fire"], plant.atmosphere, KD)
    return tuple(
        tb.Vent(vent.nominal_size, vent.area, np.nan,
                tb.vent_capacity(vent.area, KD, pressure, plant.atmosphere))
        for vent, pressure in ((breather, P), (emergency, high))
    )  # fmt: skip


def verdicts(plant):
    """What lets each load out of T-101: {cause in words: (air [m3/s], words)}; inflow left out.

    An emergency vent is there for fire. Where it alone keeps the pressure down in an upset, that is
    said, and not called covered: it opens to the roof, wide, without a flame arrester.
    """
    (breather, emergency), found = vents(plant), {}
    for words, load in loads(plant).items():
        if words == IN:
            continue
        air = load.mass_flow / tb.AIR_DENSITY
        if air <= breather.capacity:
            found[words] = air, "breather covers"
        elif words == "exterior fire" and air <= emergency.capacity:
            found[words] = air, "emergency vent covers"
        elif air <= emergency.capacity:
            found[words] = air, "breather does not cover; the fire vent would hold the pressure"
        else:
            found[words] = air, "not covered"
    return found
