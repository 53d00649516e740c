"""What stands round a flash: a fluid's composition, limits with words for them, mixtures.

`engine` is the `properties.Engine` of the fluid.
"""

import re

import numpy as np

from relieflib.errors import InputError, finite, positive, refuse

MIXTURE_LIMIT = 0.90  # of critical pressure; mixture saturation isn't dependable above


def composition(fluid):
    """Names and mole fractions of a fluid's text.

    Parameters: fluid, a name or a mixture. Returns (list of str, list of float). Raises InputError
    for another form, for fractions not above 0 or that don't add to 1. Source: CoolProp's spelling.
    >>> composition("Propane[0.6]&n-Butane[0.4]")
    (['Propane', 'n-Butane'], [0.6, 0.4])
    """
    if not isinstance(fluid, str) or not fluid.strip():
        raise InputError(f"fluid = {fluid!r}: must be a name such as 'Propane'")
    if "&" not in fluid and "[" not in fluid:
        return [fluid], [1.0]
    names, fractions = [], []
    for part in fluid.split("&"):
        match = re.fullmatch(r"\s*([^\[\]]+)\[([\d.eE+-]+)\]\s*", part)
        if not match:
            raise InputError(f"fluid '{fluid}': write a mixture as 'Propane[0.6]&n-Butane[0.4]'")
        names.append(match.group(1).strip())
        fractions.append(float(match.group(2)))
    if min(fractions) <= 0 or abs(sum(fractions) - 1.0) > 1e-6:
        raise InputError(
            f"fluid '{fluid}': mole fractions must be above 0 and add to 1: {sum(fractions):.6g}"
        )
    return names, fractions


def flash_mixture(engine, kind, pressure, value):
    """Bring a mixture to a pressure and an enthalpy, entropy or quality, by way of its dome.

    Parameters: engine; kind 'enthalpy', 'entropy' or 'quality' (by mass); pressure [Pa]; value;
    floats. Returns None. Between bubble and dew point the vapour fraction is found by trial, which
    holds where CoolProp's own flash fails; elsewhere CoolProp searches one phase. ValueError where
    it finds nothing. Source: CoolProp (HEOS).
    """
    from scipy.optimize import brentq

    state, CP = engine.state, engine.CP
    get = {"enthalpy": state.hmass, "entropy": state.smass, "quality": engine.mass_quality}[kind]

    def miss(fraction):
        state.update(CP.PQ_INPUTS, pressure, fraction)
        return get() - value

    phase = None
    if pressure < MIXTURE_LIMIT * engine.Pc:
        liquid, vapor = miss(0.0), miss(1.0)
        if liquid <= 0.0 <= vapor:
            miss(brentq(miss, 0.0, 1.0, xtol=1e-13))
            return
        phase = CP.iphase_liquid if liquid > 0.0 else CP.iphase_gas
    pair = CP.HmassP_INPUTS if kind == "enthalpy" else CP.PSmass_INPUTS
    a, b = (value, pressure) if kind == "enthalpy" else (pressure, value)
    if phase is not None:
        state.specify_phase(phase)
    try:
        state.update(pair, a, b)
    finally:
        state.unspecify_phase()


def why_none(engine, kind, pressure, value):
    """Words for the limit that an enthalpy or entropy without a solution lies beyond, if one.

    Parameters: engine; kind 'enthalpy', 'entropy' or another; pressure [Pa]; value. Returns str.
    Source: the range of the equation of state.
    """
    if kind in ("enthalpy", "entropy"):
        get = engine.state.hmass if kind == "enthalpy" else engine.state.smass
        ends = ((engine.Tmax, np.greater, "above the highest"),
                (engine.Tmin, np.less, "below the lowest"))  # fmt: skip
        for T, beyond, words in ends:
            try:
                engine.state.update(engine.CP.PT_INPUTS, pressure, T)
            except ValueError:
                continue
            if beyond(value, get()):
                return f"{words} temperature of its equation of state, {T:.6g} K"
    return "the equation of state does not converge there"


def check_range(engine, temperature):
    """Refuse a temperature outside the equation of state.

    Parameters: engine; temperature [K], number or array. Returns None. Raises InputError.
    Source: the range of the equation of state.
    """
    T = positive(temperature=temperature)
    refuse(T > engine.Tmax * (1 + 1e-9), "temperature", T,
           f"is above the highest of the equation of state, {engine.Tmax:.6g} K")  # fmt: skip
    refuse(T < engine.Tmin * (1 - 1e-6), "temperature", T, "is below the lowest of the equation "
           f"of state, {engine.Tmin:.6g} K: solid forms there")  # fmt: skip


def check_inlet(engine, kind, pressure, value):
    """Refuse what can be told to be impossible before CoolProp is asked.

    Parameters: engine; kind 'temperature', 'quality', 'enthalpy' or 'entropy'; pressure [Pa];
    value; arrays. Returns None. Raises InputError. Source: the range of the equation of state.
    """
    pressure, value = finite(pressure=pressure, value=value)
    refuse(pressure > engine.pmax, "pressure", pressure, "is above the highest of the equation of "
           f"state, {engine.pmax:.6g} Pa")  # fmt: skip
    if kind == "temperature":
        _check_temperature(engine, pressure, value)
    if kind == "quality":
        _check_quality(engine, pressure, value)


def _check_temperature(engine, P, T):
    check_range(engine, T)
    for p, t in zip(P.flat, T.flat):
        if np.isnan(p + t):
            continue
        if engine.melts:
            _check_melting(engine, p, t)
        if engine.pure and t < engine.Tc:
            Ps = engine.boiling(t)
            refuse(abs(p / Ps - 1.0) < 1e-4, "temperature", t, f"is at the boiling point of "
                   f"{p:.6g} Pa to 0.01 % in pressure: liquid, vapour or both; give the "
                   "quality instead")  # fmt: skip


def _check_melting(engine, pressure, temperature):
    try:
        melting = engine.state.melting_line(engine.CP.iT, engine.CP.iP, float(pressure))
    except ValueError:
        return  # outside the melting line's own range
    refuse(temperature < melting * (1 - 1e-6), "temperature", temperature,
           f"is below melting at this pressure, {melting:.6g} K: the fluid is solid")  # fmt: skip


def _check_quality(engine, P, x):
    refuse((x < 0) | (x > 1), "quality", x, "must be 0 to 1, a mass fraction of vapour")
    refuse(P < engine.Pt, "pressure", P, f"is below the triple point, {engine.Pt:.6g} Pa: "
           "no liquid exists there")  # fmt: skip
    limit, words = engine.Pc, "the critical pressure"
    if not engine.pure:
        limit, words = MIXTURE_LIMIT * engine.Pc, f"{MIXTURE_LIMIT:.0%} of the critical pressure"
    refuse(P >= limit, "pressure", P, f"is not below {words}, {limit:.6g} Pa: no boiling "
           "can be worked out there; give the temperature")  # fmt: skip
