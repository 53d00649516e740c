"""Flow through what opens or breaks: control valve, plain opening; and what it displaces.

Control valves by IEC 60534-2-1 in the mass form W = C sqrt(rho dp), turbulent flow. Reducers at the
valve (`Reducers`) take some of it away: without them Fp is 1, which gives the larger flow. The flow
coefficient is a Kv; a Cv is converted at the door. The constants that the standard prints are this
one constant, rounded to two or three figures: N1 1, N6 31.6, N8 110 with Kv, bar, m3/h and kg/h; N1
0.865, N6 27.3, N8 94.8 with Cv.
"""

import re
from dataclasses import dataclass

import numpy as np

from relieflib.errors import (
    InputError,
    finite,
    not_negative,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.symbols import SYMBOLS
from relieflib.units import GAS_CONSTANT
from relieflib.working import Step, Working, step

SOURCE = "IEC 60534-2-1 (2011)"
WATER = 999.1  # kg/m3, water at 15 °C, to which a Kv refers (IEC 60534-2-1, rho0)
N2, N5 = 1.60e-3, 1.80e-3  # with Kv and mm; IEC 60534-2-1, table of constants
AIR_K = 1.4  # ratio of heat capacities of air, with which xT is measured
_PER_KV = np.sqrt(WATER / 1e5) / 3600.0  # m2: W = C _PER_KV sqrt(rho dp) in SI
_MASS_FORM = f"sqrt({WATER}/1e5)/3600"
_UPSTREAM = {
    "pressure": "upstream_pressure", "back_pressure": "downstream_pressure",
    "temperature": "upstream_temperature", "density": "upstream_density",
    "mass_flux": "upstream_flux",
}  # fmt: skip


def critical_pressure_factor(saturation_pressure, critical_pressure):
    """Liquid critical pressure ratio factor FF: pressure in the vena contracta over Ps at choking.

    Parameters: saturation_pressure at inlet temperature, critical_pressure [Pa absolute]; arrays
    broadcast. Returns float or array [-]. Raises InputError if one is not above 0. Validity: one
    component, vapour pressure up to the critical one (ValidityWarning above: gas dissolved in a
    liquid). Source: IEC 60534-2-1 (2011), equation for FF.
    >>> round(critical_pressure_factor(70.1e3, 22.12e6), 4)
    0.9442
    """
    Ps, Pc = positive(saturation_pressure=saturation_pressure, critical_pressure=critical_pressure)
    warn_outside(Ps > Pc, "saturation_pressure", Ps, "up to the critical pressure", SOURCE)
    FF = 0.96 - 0.28 * np.sqrt(Ps / Pc)
    refuse(FF <= 0, "saturation_pressure", Ps, "is so far above the critical one that FF is none")
    return result(FF)


def choked_drop(upstream_pressure, saturation_pressure, critical_pressure, FL):
    """Pressure drop above which liquid flow through a valve no longer grows.

    Parameters: upstream_pressure, saturation_pressure, critical_pressure [Pa absolute]; FL,
    recovery factor of the valve fully open [-], above 0 and up to 1; arrays broadcast. Returns Pa.
    Raises InputError outside, or where the liquid boils upstream. Validity as
    `critical_pressure_factor`. Source: IEC 60534-2-1 (2011): FL^2 (P1 - FF Ps).
    >>> round(choked_drop(680e3, 70.1e3, 22.12e6, 0.6))
    220971
    """
    P = positive(upstream_pressure=upstream_pressure)
    FL, Ps = _factor(FL=FL), positive(saturation_pressure=saturation_pressure)
    refuse(Ps > P, "saturation_pressure", Ps, "is above the upstream pressure: it boils")
    return result(FL**2 * (P - critical_pressure_factor(Ps, critical_pressure) * Ps))


def _factor(**values):
    """A factor of a valve as float array, above 0 and up to 1."""
    array = positive(**values)
    name = next(iter(values))
    refuse(array > 1.0, name, array, "must be above 0 and up to 1")
    return array


def liquid_flow(flow_coefficient, upstream_pressure, downstream_pressure, density,
                saturation_pressure, critical_pressure, FL):  # fmt: skip
    """Mass flow of liquid through a valve of a given coefficient, choked or not.

    Parameters: flow_coefficient, Kv; upstream_pressure, downstream_pressure, saturation_pressure,
    critical_pressure [Pa absolute]; density upstream [kg/m3]; FL [-]; arrays broadcast. Returns
    kg/s; 0 where the source does not stand above the downstream pressure. Raises InputError as
    `choked_drop`, or for a negative coefficient. Validity: turbulent, liquid upstream; a liquid
    that flashes downstream is held by FF. Source: IEC 60534-2-1 (2011), incompressible flow.
    >>> round(liquid_flow(165.0, 680e3, 220e3, 965.4, 70.1e3, 22.12e6, 0.9) / 965.4 * 3600, 1)
    360.0
    """
    C, rho = not_negative(flow_coefficient=flow_coefficient), positive(density=density)
    P, P2 = positive(upstream_pressure=upstream_pressure, downstream_pressure=downstream_pressure)
    most = np.asarray(choked_drop(P, saturation_pressure, critical_pressure, FL))
    drop = np.maximum(np.minimum(P - P2, most), 0.0)
    return result(C * _PER_KV * np.sqrt(rho * drop))


def liquid_regime(upstream_pressure, downstream_pressure, saturation_pressure, critical_pressure,
                  FL):  # fmt: skip
    """Words for the flow of liquid through a valve: choked or not, flashing or not.

    Parameters, errors and source as `choked_drop`; downstream_pressure [Pa absolute]. Returns
    'not choked', 'choked', 'flashing' or 'choked and flashing'; array for arrays; '' for NaN.
    Flashing: downstream pressure below vapour pressure, so vapour stays; choked without flashing
    is cavitation.
    >>> liquid_regime(680e3, 220e3, 70.1e3, 22.12e6, 0.6)
    'choked'
    """
    P, P2, Ps = finite(upstream_pressure=upstream_pressure, downstream_pressure=downstream_pressure,
                       saturation_pressure=saturation_pressure)  # fmt: skip
    most = np.asarray(choked_drop(P, Ps, critical_pressure, FL))
    choked, flashing = P - P2 >= most, P2 < Ps
    words = np.select(
        [np.isnan(P - P2 - most), choked & flashing, choked, flashing],
        ["", "choked and flashing", "choked", "flashing"], "not choked",
    )  # fmt: skip
    return result(words)


def choked_drop_ratio(k, xT):
    """Ratio of pressure drop to upstream pressure at which gas chokes in a valve.

    Parameters: k, ideal-gas ratio of heat capacities [-]; xT of the valve fully open [-], above 0
    and up to 1; arrays broadcast. Returns float or array [-]; at 1 and above it never chokes.
    Raises InputError outside or if k <= 1. Validity: k from 1.08 to 1.65 (ValidityWarning).
    Source: IEC 60534-2-1 (2011): x = xT k/1.4.
    >>> round(choked_drop_ratio(1.28, 0.7), 2)
    0.64
    """
    k, xT = finite(k=k), _factor(xT=xT)
    refuse(k <= 1.0, "k", k, "must be above 1")
    warn_outside((k < 1.08) | (k > 1.65), "k", k, "1.08 to 1.65", SOURCE)
    return result(xT * k / AIR_K)


def gas_flow(flow_coefficient, upstream_pressure, downstream_pressure, upstream_temperature,
             molar_mass, k, xT, Z=1.0):  # fmt: skip
    """Mass flow of gas through a valve of a given coefficient, choked or not.

    Parameters: flow_coefficient, Kv; upstream_pressure, downstream_pressure [Pa absolute];
    upstream_temperature [K]; molar_mass [kg/kmol]; k, xT [-]; Z upstream [-]; arrays broadcast.
    Returns kg/s; 0 where the source does not stand above the downstream pressure. Raises
    InputError as `choked_drop_ratio` or if a value is not above 0. Validity: turbulent, no
    reducers. Source: IEC 60534-2-1 (2011), compressible flow: Y = 1 - x/(3 Fgamma xT).
    >>> round(gas_flow(20.0, 70e5, 8e5, 313.15, 18.0, 1.28, 0.7, 0.88) * 3600)
    20919
    """
    C, P2 = not_negative(flow_coefficient=flow_coefficient, downstream_pressure=downstream_pressure)
    P, T, M, Z = positive(
        upstream_pressure=upstream_pressure, upstream_temperature=upstream_temperature,
        molar_mass=molar_mass, Z=Z,
    )  # fmt: skip
    limit = np.asarray(choked_drop_ratio(k, xT))
    x = np.minimum(np.maximum(1.0 - P2 / P, 0.0), limit)
    rho = P * M / (Z * GAS_CONSTANT * T)
    return result(C * _PER_KV * (1.0 - x / (3.0 * limit)) * np.sqrt(x * P * rho))


def gas_regime(upstream_pressure, downstream_pressure, k, xT):
    """Words for the flow of gas through a valve: 'choked' or 'not choked'.

    Parameters, errors and source as `choked_drop_ratio`; upstream_pressure, downstream_pressure
    [Pa absolute]. Returns str or array of str; '' for NaN.
    >>> gas_regime(70e5, 8e5, 1.28, 0.7)
    'choked'
    """
    P, P2 = positive(upstream_pressure=upstream_pressure, downstream_pressure=downstream_pressure)
    x, limit = 1.0 - P2 / P, np.asarray(choked_drop_ratio(k, xT))
    words = np.select([np.isnan(x - limit), x >= limit], ["", "choked"], "not choked")
    return result(words)


@dataclass(frozen=True)
class Reducers:
    """Pipe wider than the valve, on short concentric reducers: inside diameters [m].

    valve_diameter, of the body; upstream_diameter and downstream_diameter, of the pipes, each at
    least the valve's. Raises InputError for a pipe narrower than its valve. Source: IEC 60534-2-1
    (2011), piping geometry factor; the printed constants N2 1.60e-3, N5 1.80e-3 with Kv and mm.
    >>> r = Reducers(0.050, 0.080, 0.100)
    >>> round(r.Fp(72.6), 4), round(r.xTP(72.6, 0.60), 4), round(r.FLP(72.6, 0.85), 4)
    (0.8617, 0.6262, 0.7201)
    """

    valve_diameter: float
    upstream_diameter: float
    downstream_diameter: float

    def __post_init__(self):
        d, D1, D2 = positive(valve_diameter=self.valve_diameter,
                             upstream_diameter=self.upstream_diameter,
                             downstream_diameter=self.downstream_diameter)  # fmt: skip
        for name, D in (("upstream_diameter", D1), ("downstream_diameter", D2)):
            refuse(D < d * (1 - 1e-9), name, D, "must not be below the valve's")

    @property
    def inlet_loss(self):
        """Loss and velocity-head coefficients of the inlet reducer together [-]."""
        b = np.asarray(self.valve_diameter) / self.upstream_diameter
        return result(0.5 * (1.0 - b**2) ** 2 + 1.0 - b**4)

    @property
    def total_loss(self):
        """Sum over both reducers [-]: 0.5 and 1 times (1 - (d/D)^2)^2, and the velocity heads."""
        b = np.asarray(self.valve_diameter) / self.downstream_diameter
        return result(self.inlet_loss + (1.0 - b**2) ** 2 - (1.0 - b**4))

    def _square(self, flow_coefficient):
        C = not_negative(flow_coefficient=flow_coefficient)
        return (C / (1e3 * np.asarray(self.valve_diameter)) ** 2) ** 2

    def Fp(self, flow_coefficient):
        """Piping geometry factor [-] for a Kv."""
        return result(1.0 / np.sqrt(1.0 + self.total_loss / N2 * self._square(flow_coefficient)))

    def xTP(self, flow_coefficient, xT):
        """Pressure-drop ratio factor of valve with reducers [-]."""
        Fp, xT = np.asarray(self.Fp(flow_coefficient)), _factor(xT=xT)
        more = xT * self.inlet_loss / N5 * self._square(flow_coefficient)
        return result(xT / Fp**2 / (1.0 + more))

    def FLP(self, flow_coefficient, FL):
        """Recovery factor of valve with reducers, Fp included [-]."""
        FL = _factor(FL=FL)
        more = FL**2 * self.inlet_loss / N2 * self._square(flow_coefficient)
        return result(FL / np.sqrt(1.0 + more))

    def steps(self, flow_coefficient, **factor):
        """The steps of Fp and of xTP or FLP; give xT or FL by its name."""
        C, d = flow_coefficient, self.valve_diameter
        square, Fp = "(C/(1000*d_v)**2)**2", self.Fp(flow_coefficient)
        at = dict(flow_coefficient=C, valve_diameter=d)
        first = [
            step("reducers_loss", self.total_loss, source=SOURCE + ", both reducers"),
            step("inlet_reducer_loss", self.inlet_loss, source=SOURCE + ", the inlet one"),
            step("Fp", Fp, f"1/sqrt(1 + zeta/{N2}*{square})", SOURCE,
                 reducers_loss=self.total_loss, **at),
        ]  # fmt: skip
        at |= dict(inlet_reducer_loss=self.inlet_loss, **factor)
        if "xT" in factor:
            return [*first, step("xTP", self.xTP(C, factor["xT"]),
                                 f"xT/Fp**2/(1 + xT*zeta_i/{N5}*{square})", SOURCE, Fp=Fp,
                                 **at)]  # fmt: skip
        return [*first, step("FLP", self.FLP(C, factor["FL"]),
                             f"FL/sqrt(1 + FL**2*zeta_i/{N2}*{square})", SOURCE,
                             **at)]  # fmt: skip


def liquid_steps(source, flow_coefficient, downstream_pressure, FL, critical_pressure,
                 reducers=None):  # fmt: skip
    """Steps from a liquid upstream to its flow through a valve; the last one is the flow.

    Parameters: source, `Liquid` with a saturation_pressure; reducers, `Reducers` or None; the
    rest, errors, validity and source as `liquid_flow`. Returns `Working`. Raises InputError where
    the vapour pressure is missing.
    """
    Ps = source.saturation_pressure
    if Ps is None:
        raise InputError(
            "source: give the liquid's saturation_pressure; whether it chokes rests on it"
        )
    FF = critical_pressure_factor(Ps, critical_pressure)
    if reducers is not None:
        return _liquid_reduced(source, flow_coefficient, downstream_pressure, FL, FF, reducers)
    most = choked_drop(source.pressure, Ps, critical_pressure, FL)
    drop = np.asarray(source.pressure, dtype=float) - downstream_pressure
    drop = result(np.maximum(np.minimum(drop, most), 0.0))
    flow = liquid_flow(flow_coefficient, source.pressure, downstream_pressure, source.density, Ps,
                       critical_pressure, FL)  # fmt: skip
    return Working([
        step("FF", FF, "0.96 - 0.28*sqrt(Ps/Pc)", SOURCE, saturation_pressure=Ps,
             critical_pressure=critical_pressure),
        step("choked_drop", most, "FL**2*(Pup - FF*Ps)", SOURCE, FL=FL, FF=FF,
             upstream_pressure=source.pressure, saturation_pressure=Ps),
        step("pressure_drop", drop, "max(min(Pup - Pdown, dp_ch), 0)", "the smaller drop counts",
             upstream_pressure=source.pressure, downstream_pressure=downstream_pressure,
             choked_drop=most),
        step("valve_inflow", flow, f"C*{_MASS_FORM}*sqrt(rho_up*dp_v)", SOURCE + ", mass form",
             flow_coefficient=flow_coefficient, upstream_density=source.density,
             pressure_drop=drop),
    ])  # fmt: skip


def _liquid_reduced(source, C, downstream_pressure, FL, FF, reducers):
    P, Ps, rho = source.pressure, source.saturation_pressure, source.density
    Fp, FLP = np.asarray(reducers.Fp(C)), np.asarray(reducers.FLP(C, FL))
    most = result((FLP / Fp) ** 2 * (np.asarray(P) - np.asarray(FF) * Ps))
    drop = result(np.maximum(np.minimum(np.asarray(P) - downstream_pressure, most), 0.0))
    flow = result(Fp * C * _PER_KV * np.sqrt(np.asarray(rho) * drop))
    return Working([
        step("FF", FF, source=SOURCE + ": 0.96 - 0.28 sqrt(Ps/Pc)"),
        *reducers.steps(C, FL=FL),
        step("choked_drop", most, "(FLP/Fp)**2*(Pup - FF*Ps)", SOURCE, FLP=result(FLP),
             Fp=result(Fp), FF=FF, upstream_pressure=P, saturation_pressure=Ps),
        step("pressure_drop", drop, "max(min(Pup - Pdown, dp_ch), 0)", "the smaller drop counts",
             upstream_pressure=P, downstream_pressure=downstream_pressure, choked_drop=most),
        step("valve_inflow", flow, f"Fp*C*{_MASS_FORM}*sqrt(rho_up*dp_v)", SOURCE + ", mass form",
             Fp=result(Fp), flow_coefficient=C, upstream_density=rho, pressure_drop=drop),
    ])  # fmt: skip


def gas_steps(source, flow_coefficient, downstream_pressure, xT, reducers=None):
    """Steps from a gas upstream to its flow through a valve; the last one is the flow.

    Parameters: source, `Gas` upstream; reducers, `Reducers` or None; the rest, errors, validity
    and source as `gas_flow`. Returns `Working`.
    """
    P, k = source.pressure, source.k
    if reducers is not None:
        return _gas_reduced(source, flow_coefficient, downstream_pressure, xT, reducers)
    limit = choked_drop_ratio(k, xT)
    x = result(np.minimum(np.maximum(1.0 - downstream_pressure / np.asarray(P), 0.0), limit))
    Y = result(1.0 - np.asarray(x) / (3.0 * np.asarray(limit)))
    flow = gas_flow(flow_coefficient, P, downstream_pressure, source.temperature,
                    source.molar_mass, k, xT, source.Z)  # fmt: skip
    return Working([
        step("choked_drop_ratio", limit, f"xT*k/{AIR_K}", SOURCE, xT=xT, k=k),
        step("pressure_drop_ratio", x, "min(max(1 - Pdown/Pup, 0), x_ch)",
             "choked where 1 - Pdown/Pup is above x_ch", upstream_pressure=P,
             downstream_pressure=downstream_pressure, choked_drop_ratio=limit),
        step("expansion_factor", Y, "1 - x_dp/(3*x_ch)", SOURCE, pressure_drop_ratio=x,
             choked_drop_ratio=limit),
        step("upstream_density", source.density, "Pup*M/(Z*R*Tup)", "gas law with Z",
             upstream_pressure=P, molar_mass=source.molar_mass, Z=source.Z,
             gas_constant=GAS_CONSTANT, upstream_temperature=source.temperature),
        step("valve_inflow", flow, f"C*{_MASS_FORM}*Y*sqrt(x_dp*Pup*rho_up)",
             SOURCE + ", mass form", flow_coefficient=flow_coefficient, expansion_factor=Y,
             pressure_drop_ratio=x, upstream_pressure=P, upstream_density=source.density),
    ])  # fmt: skip


def _gas_reduced(source, C, downstream_pressure, xT, reducers):
    P, k, Fp = source.pressure, source.k, np.asarray(reducers.Fp(C))
    choked_drop_ratio(k, xT)  # refuses and warns as without reducers
    xTP = reducers.xTP(C, xT)
    limit = result(np.asarray(xTP) * k / AIR_K)
    x = result(np.minimum(np.maximum(1.0 - downstream_pressure / np.asarray(P), 0.0), limit))
    Y = result(1.0 - np.asarray(x) / (3.0 * np.asarray(limit)))
    flow = result(Fp * C * _PER_KV * Y * np.sqrt(np.asarray(x) * P * np.asarray(source.density)))
    return Working([
        *reducers.steps(C, xT=xT),
        step("choked_drop_ratio", limit, f"xTP*k/{AIR_K}", SOURCE, xTP=xTP, k=k),
        step("pressure_drop_ratio", x, "min(max(1 - Pdown/Pup, 0), x_ch)",
             "choked where 1 - Pdown/Pup is above x_ch", upstream_pressure=P,
             downstream_pressure=downstream_pressure, choked_drop_ratio=limit),
        step("expansion_factor", Y, "1 - x_dp/(3*x_ch)", SOURCE, pressure_drop_ratio=x,
             choked_drop_ratio=limit),
        step("upstream_density", source.density, "Pup*M/(Z*R*Tup)", "gas law with Z",
             upstream_pressure=P, molar_mass=source.molar_mass, Z=source.Z,
             gas_constant=GAS_CONSTANT, upstream_temperature=source.temperature),
        step("valve_inflow", flow, f"Fp*C*{_MASS_FORM}*Y*sqrt(x_dp*Pup*rho_up)",
             SOURCE + ", mass form", Fp=result(Fp), flow_coefficient=C, expansion_factor=Y,
             pressure_drop_ratio=x, upstream_pressure=P, upstream_density=source.density),
    ])  # fmt: skip


def opening_steps(source, downstream_pressure, opening_area, orifice_coefficient):
    """Steps from a source to its flow through a plain opening; the last one is the flow.

    Parameters: source, any stream, at its highest pressure; downstream_pressure [Pa absolute];
    opening_area [m2]; orifice_coefficient [-], above 0 and up to 1; arrays broadcast. Returns
    `Working`; no flow where the source does not stand above the downstream pressure.
    Raises InputError outside or as the stream does. Validity: that of the stream's mass flux.
    Source: W = Co A G with the flux of an ideal nozzle; the coefficient is common practice.
    """
    A, Co = positive(opening_area=opening_area), _factor(orifice_coefficient=orifice_coefficient)
    P2 = result(np.minimum(positive(downstream_pressure=downstream_pressure), source.pressure))
    steps = upstream(source.flux_working(P2))
    flux = source.mass_flux(P2)
    flow = result(Co * A * np.asarray(flux))
    last = step("valve_inflow", flow, "Co*A_op*G_up", "area times flux", upstream_flux=flux,
                opening_area=opening_area, orifice_coefficient=orifice_coefficient)  # fmt: skip
    return Working([*steps, last])


def upstream(working):
    """The steps of a stream's flux with the symbols of the upstream side, P1 as Pup and so on.

    Parameters: working, as a stream's `flux_working` gives. Returns `Working`.
    Source: names alone, so that the valve's own P1, P2 and G stay apart.
    """
    renamed = []
    for line in working:
        equation = line.equation
        for old, new in _UPSTREAM.items():
            old, new = SYMBOLS[old].symbol, SYMBOLS[new].symbol
            equation = re.sub(rf"\b{old}\b", new, equation)
        inputs = {_UPSTREAM.get(name, name): value for name, value in line.inputs.items()}
        name = _UPSTREAM.get(line.name, line.name)
        renamed.append(Step(name, line.value, equation, inputs, line.source))
    return Working(renamed)


def displaced_liquid(gas_inflow, gas_density, liquid_density):
    """Mass flow of liquid that gas pushes out of a vessel or side that is full of liquid.

    Parameters: gas_inflow [kg/s]; gas_density at relieving pressure and its temperature there,
    liquid_density [kg/m3]; arrays broadcast. Returns kg/s. Raises InputError if a density is not
    above 0 or the flow is negative. Validity: until gas reaches the valve; gas neither condenses
    nor dissolves. Source: equal volumes; API 521 (2020), 4.4.14 for tubes (from memory).
    >>> round(displaced_liquid(1.0, 10.0, 600.0), 1)
    60.0
    """
    W = not_negative(gas_inflow=gas_inflow)
    rho_g, rho_l = positive(gas_density=gas_density, liquid_density=liquid_density)
    return result(W * rho_l / rho_g)


def displaced_gas(liquid_inflow, liquid_density, gas_density):
    """Mass flow of gas that rising liquid pushes out of a vessel.

    Parameters: liquid_inflow that stays in the vessel [kg/s]; liquid_density, gas_density at
    relieving pressure [kg/m3]; arrays broadcast. Returns kg/s. Raises InputError if a density is
    not above 0 or the flow is negative. Validity: until the vessel is full.
    Source: equal volumes.
    >>> round(displaced_gas(60.0, 600.0, 10.0), 3)
    1.0
    """
    W = not_negative(liquid_inflow=liquid_inflow)
    rho_l, rho_g = positive(liquid_density=liquid_density, gas_density=gas_density)
    return result(W * rho_g / rho_l)


def flash_quality(enthalpy, liquid_enthalpy, latent_heat):
    """Mass fraction of vapour after a liquid is throttled to a lower pressure.

    Parameters: enthalpy upstream, liquid_enthalpy of saturated liquid and latent_heat at the lower
    pressure [J/kg]; arrays broadcast. Returns float or array [-], held between 0 and 1. Raises
    InputError if the latent heat is not above 0. Validity: no heat or shaft work, one component.
    Source: first law, h = h_l + x h_v.
    >>> round(flash_quality(1087.4e3, 781.0e3, 1999.7e3), 3)
    0.153
    """
    h, h_l = finite(enthalpy=enthalpy, liquid_enthalpy=liquid_enthalpy)
    return result(np.clip((h - h_l) / positive(latent_heat=latent_heat), 0.0, 1.0))
