"""The catalogue of common slips: what each does to the inputs of a sizing or to its result.

Words, how common each one is and in which phases it makes sense stand in `tables/slips.csv`
(common practice, no source); what it does stands here.
"""

from math import sqrt

from relieflib import rules
from relieflib.devices import DISK_UPSTREAM, KD, balanced_Kb, balanced_Kw, uncertified_Kp
from relieflib.errors import InputError
from relieflib.nozzle.gas import UNKNOWN_K, critical_ratio
from relieflib.nozzle.steam import superheat_factor
from relieflib.set_pressure import set_tolerance
from relieflib.slips.slip import Slip, atmosphere_of, changed
from relieflib.tables import rows
from relieflib.units import ATMOSPHERE, ICE_POINT, WATER_60F, to_si

AIR = 28.9647  # kg/kmol, dry air (ISO 6976)
LB = to_si(1.0, "lb", "mass")
GPM = to_si(1.0, "gpm", "volume flow") / to_si(1.0, "m3/h", "volume flow")
IMPERIAL = 4.54609 / 3.785411784  # imperial over US gallon, NIST SP 811
PSI = to_si(1.0, "psi", "pressure difference") / to_si(1.0, "kPa", "pressure difference")
KGF = to_si(1.0, "kg/cm2", "pressure difference") / to_si(1.0, "bar", "pressure difference")
ZERO_C, FIFTEEN_C = ICE_POINT, ICE_POINT + 15.0  # K, of a normal and of a standard volume
NORMAL_SHARE = ZERO_C / FIFTEEN_C  # amount in a volume at 15 °C over the one at 0 °C
FLOWS = ("mass_flow", "volume_flow", "standard_volume_flow")
NINE = 9.0  # of omega by the 90 % point; some take 10


# --- pressures ------------------------------------------------------------------------------------


def _above_zero(value):
    return value if value > 0 else None


def _base(i):
    """What overpressure counts from: MAWP, or set where no MAWP is given."""
    return i.get("mawp_gauge") or i.get("set_pressure_gauge")


def _raised(share, base=_base):
    """The relieving pressure made of a gauge pressure of the sheet, times a share."""

    def pressure(P, i):
        gauge = base(i)
        return None if gauge is None else _above_zero(share * gauge + atmosphere_of(i))

    return "pressure", pressure


def _given(name):
    return lambda i: i.get(name)


def _own_share(P, i):
    """Relieving pressure over MAWP or set, both gauge: one plus the case's own accumulation."""
    return (P - atmosphere_of(i)) / _base(i)


def _on(base):
    """The case's own accumulation, taken on another pressure: base(inputs) gives it gauge."""

    def pressure(P, i):
        return None if not _base(i) else _above_zero(base(P, i) + atmosphere_of(i))

    return "pressure", pressure


def _times(factor):
    """A gauge pressure read in another unit."""
    return "pressure", lambda P, i: (P - atmosphere_of(i)) * factor + atmosphere_of(i)


def _moved(by, *needs):
    """Pressure and back pressure moved by as much: by(inputs), None where it can't happen."""

    def change(inputs):
        if any(inputs.get(name) is None for name in needs):
            return None
        off, names = by(inputs), [n for n in _BACK if inputs.get(n) is not None]
        if not off or not names or (inputs.get("pressure") or 1.0 - off) + off <= 0:
            return None
        return {**inputs, **{n: max(inputs[n] + off, 0.0) for n in names}}

    return change


def _subcritical(i):
    """True where the back pressure of a gas matters: not choked, and not all of it in Kb."""
    choking = i.get("k") and critical_ratio(i["k"])
    return bool(choking) and i.get("Kb") is None and i["back_pressure"] > choking * i["pressure"]


def _left_out(part):
    """A part of the back pressure left out of it."""

    def change(inputs):
        value, back = inputs.get(part), inputs.get("back_pressure")
        if not value or (back is not None and back < value):
            return None
        return {**inputs, part: 0.0} | ({} if back is None else {"back_pressure": back - value})

    return change


# --- flows ----------------------------------------------------------------------------------------


def _load(factor):
    """The load, however given, times a factor or function of the inputs."""

    def change(inputs):
        names = [n for n in FLOWS if inputs.get(n) is not None]
        share = factor(inputs) if callable(factor) else factor
        if not names or share in (None, 1.0):
            return None
        return {**inputs, **{n: inputs[n] * share for n in names}}

    return change


def _flow(factor, volume=None):
    """As `_load`, for a load given by mass, or by the volume named."""

    def change(inputs):
        given = [n for n in FLOWS[1:] if inputs.get(n) is not None]
        return _load(factor)(inputs) if given == [volume] * bool(volume) else None

    return change


def _expanded(reference, inverse=False):
    """Density at the inlet over that of the same gas at a reference temperature, 101.325 kPa."""

    def share(i):
        if any(i.get(n) is None for n in ("pressure", "temperature")):
            return None
        ratio = i["pressure"] / ATMOSPHERE * reference / (i["temperature"] * (i.get("Z") or 1.0))
        return 1.0 / ratio if inverse else ratio

    return share


def _of_density(density):
    """Another density, for the load too where that is a volume: density(inputs)."""

    def change(inputs):
        rho, volume = inputs.get("density"), inputs.get("volume_flow") is not None
        new = rho and density(inputs)
        if not new or new == rho:
            return None
        mass = inputs.get("mass_flow") if volume else None
        load = {} if mass is None else {"mass_flow": mass * new / rho}
        return {**inputs, "density": new, **load}

    return change


# --- factors --------------------------------------------------------------------------------------


def _read(curve, share, *over):
    """A factor of a balanced valve's curve; None where the curve ends."""
    try:
        return curve(share, *over)
    except InputError:
        return None


def _over(i):
    return (i["pressure"] - atmosphere_of(i)) / i["set_pressure_gauge"] - 1


def _of_set(i):
    return (i["back_pressure"] - atmosphere_of(i)) / i["set_pressure_gauge"]


def _not_derated(K, i):
    """A certified coefficient without its 0.9; the standard's own coefficients carry none."""
    own = any(abs(K - value) < 1e-9 for value in KD.values())
    return None if own or K > rules.CERTIFIED_KD.value else K / rules.CERTIFIED_KD.value


def _certified(wrong):
    """A liquid valve taken for one with certified capacity, or for one without."""

    def change(inputs):
        if inputs.get("certified") is not (not wrong):
            return None
        Kd = KD["liquid" if wrong else "liquid, not certified"]
        return {**inputs, "certified": wrong} | ({"Kd": Kd} if "Kd" in inputs else {})

    return change


def _without_Kp(inputs):
    """An uncertified liquid valve without its overpressure factor: that much less area."""
    if inputs.get("certified") is not False or not inputs.get("set_pressure_gauge"):
        return None
    less = _load(lambda i: _read(uncertified_Kp, _over(i)))(inputs)
    if less is None or inputs.get("viscosity") is None:
        return less
    share = less["mass_flow"] / inputs["mass_flow"]  # Re, and Kv by it, stay those of the flow
    return {**less, "viscosity": inputs["viscosity"] * share}


def _unchoked(Kd, i):
    """Kd that gives a choked gas the flux of the subcritical equation."""
    k, r = i["k"], i["back_pressure"] / i["pressure"]
    choking = critical_ratio(k)
    if not 0 < r < choking:
        return None
    return Kd * sqrt(_head(k, r) / _head(k, choking))


def _head(k, r):
    return r ** (2 / k) - r ** ((k + 1) / k)


def _other_KSH(KSH, i):
    return _read(superheat_factor, i["pressure"], i["temperature"], _other_edition(i["edition"], i))


def _other_edition(edition, i):
    return 10 if edition == 7 else 7


def _omega(factor):
    """Omega times a factor, given itself or as the volume or density at the 90 % point."""

    def change(inputs):
        i = {name: value for name, value in inputs.items() if value is not None}
        if "omega" in i:
            return {**inputs, "omega": i["omega"] * factor}
        if {"specific_volume", "specific_volume_90"} <= set(i):
            v0, v9 = i["specific_volume"], i["specific_volume_90"]
            return {**inputs, "specific_volume_90": v0 + (v9 - v0) * factor}
        rho, rho9 = i.get("liquid_density", i.get("density")), i.get("density_90")
        if rho is None or rho9 is None:
            return None
        return {**inputs, "density_90": rho / (1 + (rho / rho9 - 1) * factor)}

    return change


_F = 9 / 5
_BACK = ("pressure", "back_pressure")
_MAWP, _SET = _given("mawp_gauge"), _given("set_pressure_gauge")
_CHANGES = {  # key: what changes, how, what else that needs; or one function of all inputs
    "gauge taken as absolute": ("pressure", lambda P, i: _above_zero(P - atmosphere_of(i))),
    "absolute raised again": ("pressure", lambda P, i: P + atmosphere_of(i)),
    "both pressures in gauge": _moved(
        lambda i: -atmosphere_of(i) if _subcritical(i) else None, *_BACK),
    "set for relieving pressure": _raised(1.0, _SET),
    "mawp for relieving pressure": _raised(1.0, _MAWP),
    "operating for relieving pressure": _raised(1.0, _given("operating_pressure_gauge")),
    "10 % accumulation": _raised(1 + rules.SINGLE.value),
    "16 % accumulation": _raised(1 + rules.MULTIPLE.value),
    "21 % accumulation": _raised(1 + rules.FIRE.value),
    "accumulation on absolute": _on(lambda P, i: _own_share(P, i) * (_base(i) + atmosphere_of(i))
                                    - atmosphere_of(i)),
    "accumulation on set": (
        "pressure", lambda P, i: _own_share(P, i) * i["set_pressure_gauge"] + atmosphere_of(i),
        "mawp_gauge", "set_pressure_gauge"),
    "set read as absolute": _on(lambda P, i: _own_share(P, i) * (_base(i) - atmosphere_of(i))),
    "absolute read as set": _on(lambda P, i: _own_share(P, i) * (_base(i) + atmosphere_of(i))),
    "sea level": _moved(lambda i: ATMOSPHERE - atmosphere_of(i)),
    "site's own atmosphere": _moved(
        lambda i: i["site_atmosphere"] - atmosphere_of(i), "site_atmosphere"),
    "inlet loss deducted": ("pressure", lambda P, i: P - i["inlet_loss"], "inlet_loss"),
    "inlet limit deducted": (
        "pressure", lambda P, i: P - rules.INLET_LOSS.value * i["set_pressure_gauge"],
        "set_pressure_gauge"),
    "set tolerance deducted": (
        "pressure", lambda P, i: P - set_tolerance(i["set_pressure_gauge"])[0],
        "set_pressure_gauge"),
    "kg/cm2 read as bar": _times(1 / KGF),
    "bar read as kg/cm2": _times(KGF),
    "psi read as kPa": _times(1 / PSI),
    "kPa read as psi": _times(PSI),
    "back pressure in gauge": ("back_pressure", lambda P, i: max(P - atmosphere_of(i), 0.0)),
    "back pressure left out": ("back_pressure", lambda P, i: atmosphere_of(i)),
    "back pressure ignored": ("back_pressure", lambda P, i: 0.0),
    "built-up left out": _left_out("built_up"),
    "superimposed left out": _left_out("superimposed_gauge"),
    "variable left out": _left_out("variable_superimposed_gauge"),
    "suction forgotten": ("suction_pressure", lambda P, i: atmosphere_of(i)),
    "suction and atmosphere forgotten": ("suction_pressure", lambda P, i: 1e-6),  # guard: none
    "suction in gauge": ("suction_pressure", lambda P, i: _above_zero(P - atmosphere_of(i))),
    "rated for shut-off head": ("shutoff_head", lambda H, i: i["rated_head"], "rated_head"),
    "°C not made absolute": ("temperature", lambda T, i: _above_zero(T - ZERO_C)),
    "°F not made absolute": ("temperature", lambda T, i: _above_zero(T - 459.67 / _F)),
    "°F read as °C": ("temperature", lambda T, i: _above_zero(T * _F - 459.67 + ZERO_C)),
    "°C read as °F": ("temperature", lambda T, i: _above_zero((T - ZERO_C + 459.67) / _F)),
    "K read as °R": ("temperature", lambda T, i: T / _F),
    "°R read as K": ("temperature", lambda T, i: T * _F),
    "operating for relieving temperature": (
        "temperature", lambda T, i: i["normal_temperature"], "normal_temperature"),
    "standard for relieving temperature": ("temperature", lambda T, i: FIFTEEN_C),
    "Z left out": ("Z", lambda Z, i: 1.0),
    "Z upside down": ("Z", lambda Z, i: 1.0 / Z),
    "SG for molar mass": ("molar_mass", lambda M, i: M / AIR),
    "air for the gas": ("molar_mass", lambda M, i: AIR),
    "k of air": ("k", lambda k, i: 1.4),
    "k unknown": ("k", lambda k, i: UNKNOWN_K),
    "k of the real fluid": ("k", lambda k, i: i["real_k"], "real_k"),
    "isentropic exponent": ("k", lambda k, i: i["n"], "n"),
    "subcritical though choked": ("Kd", _unchoked, "k", *_BACK),
    "kg/h for lb/h": _flow(1 / LB),
    "lb/h for kg/h": _flow(LB),
    "m3/h for gpm": _flow(1 / GPM, "volume_flow"),
    "gpm for m3/h": _flow(GPM, "volume_flow"),
    "imperial for US gallon": _flow(IMPERIAL, "volume_flow"),
    "US for imperial gallon": _flow(1 / IMPERIAL, "volume_flow"),
    "normal for standard volume": _load(1 / NORMAL_SHARE),
    "standard for normal volume": _load(NORMAL_SHARE),
    "actual for normal volume": _flow(_expanded(ZERO_C), "standard_volume_flow"),
    "actual for standard volume": _flow(_expanded(FIFTEEN_C), "standard_volume_flow"),
    "normal for actual volume": _flow(_expanded(ZERO_C, inverse=True), "volume_flow"),
    "kmol read as kg": _flow(
        lambda i: i.get("molar_mass") and 1.0 / i["molar_mass"], "standard_volume_flow"),
    "per minute for per hour": _load(60.0),
    "per hour for per minute": _load(1 / 60.0),
    "per second for per hour": _load(3600.0),
    "per hour for per second": _load(1 / 3600.0),
    "credit left out": ("outflow", lambda W, i: 0.0),
    "load per valve not divided": _load(_given("valves")),
    "load divided twice": _load(lambda i: i.get("valves") and 1.0 / i["valves"]),
    "spare counted": ("valves", lambda n, i: n + 1),
    "one valve left out": ("valves", lambda n, i: _above_zero(n - 1)),
    "margin of 10 % on the load": _load(1 + 10 / 100),
    "margin of 20 % on the load": _load(1 + 20 / 100),
    "margin of 25 % on the load": _load(1 + 25 / 100),
    "Kd left out": ("Kd", lambda K, i: 1.0),
    "Kd of liquid": ("Kd", lambda K, i: KD["liquid"]),
    "Kd of gas": ("Kd", lambda K, i: KD["gas"]),
    "Kd of two-phase": ("Kd", lambda K, i: KD["two-phase"]),
    "Kd of a disk": ("Kd", lambda K, i: KD["disk"]),
    "certified Kd with effective area": ("Kd", lambda K, i: rules.CERTIFIED_KD.value * K),
    "derating left out": ("Kd", _not_derated),
    "uncertified for certified": _certified(False),
    "certified for uncertified": _certified(True),
    "Kp left out": _without_Kp,
    "Kb left out": ("Kb", lambda K, i: 1.0),
    "Kb of absolute pressures": (
        "Kb", lambda K, i: _read(balanced_Kb, i["back_pressure"] / i["pressure"], _over(i)),
        "set_pressure_gauge", *_BACK),
    "Kb of the 10 % curve": (
        "Kb", lambda K, i: _read(balanced_Kb, _of_set(i), rules.SINGLE.value),
        "set_pressure_gauge", *_BACK),
    "Kw left out": ("Kw", lambda K, i: 1.0),
    "Kw of absolute pressures": (
        "Kw", lambda K, i: _read(balanced_Kw, i["back_pressure"] / i["pressure"]), *_BACK),
    "Kc left out": ("Kc", lambda K, i: 1.0),
    "Kc without a disk": ("Kc", lambda K, i: DISK_UPSTREAM if K == 1.0 else None),
    "viscosity ignored": ("Kv", lambda K, i: 1.0),
    "viscosity left out": ("viscosity", lambda mu, i: mu * 1e-12),  # guard: Kv is 1
    "cSt for cP": ("viscosity", lambda mu, i: mu * 1000.0 / i["density"], "density"),
    "Kv of another edition": ("edition", _other_edition, "viscosity"),
    "KSH left out": ("KSH", lambda K, i: 1.0),
    "KSH of another edition": ("KSH", _other_KSH, "edition", "pressure", "temperature"),
    "KN left out": ("KN", lambda K, i: 1.0),
    "quality left out": ("quality", lambda x, i: 1.0),
    "water for the liquid": _of_density(lambda i: WATER_60F),
    "SG for density": _of_density(lambda i: i["density"] / WATER_60F),
    "taken as a liquid": _omega(1e-6),  # guard: nothing expands
    "nine left out of omega": _omega(1 / NINE),
    "ten for nine": _omega(10 / NINE),
    "subcooling left out": ("saturation_pressure", lambda Ps, i: i["pressure"], "pressure"),
    "superimposed added": (
        "set_pressure_gauge", lambda p, i: p + 2 * i["superimposed_gauge"], "superimposed_gauge"),
    "multiplier left out": ("temperature_multiplier", lambda m, i: 1.0),
    "multiplier upside down": ("temperature_multiplier", lambda m, i: 1.0 / m),
    "valve taken as conventional": (
        "kind", lambda kind, i: "conventional" if kind in ("balanced", "pilot") else None),
}  # fmt: skip


def _change(how):
    return changed(*how) if isinstance(how, tuple) else how


_POWERS = [
    Slip(f"power of ten {n:+d}", f"the decimal point slipped: 10^{n} times the right number",
         scale=10.0**n)
    for n in (1, -1, 2, -2, 3, -3, 6, -6)
]  # fmt: skip
CATALOGUE = (
    *(
        Slip(key, words, _change(_CHANGES[key]), common=common, phases=phases)
        for key, common, phases, words in rows("slips")[1]
    ),
    *_POWERS,
)
