"""The catalogue of common slips: what each does to the inputs of a sizing or to its result.

Words, how common each one is and in which phases it makes sense stand in `tables/slips.csv`
(common practice, no source); what it does stands here.
"""

from collections.abc import Callable
from dataclasses import dataclass

from relieflib import rules
from relieflib.devices import DISK_UPSTREAM, KD, balanced_Kb, balanced_Kw
from relieflib.errors import InputError
from relieflib.tables import rows
from relieflib.units import ATMOSPHERE, WATER_60F, to_si

AIR = 28.9647  # kg/kmol, dry air (ISO 6976)
LB = to_si(1.0, "lb", "mass")
GPM = to_si(1.0, "gpm", "volume flow") / to_si(1.0, "m3/h", "volume flow")
NORMAL_SHARE = 273.15 / 288.15  # amount in a volume at 15 °C over the one at 0 °C
COMMON = ("often", "sometimes", "seldom")


@dataclass(frozen=True)
class Slip:
    """One way to go wrong: words for it, and what it does to the inputs or to the result.

    change(inputs) returns the inputs as the slip has them, or None where it can't happen; a slip
    of the result has `scale`, a factor on the stated number, or `shift`, atmospheres added to it.
    common, one of `COMMON`; phases, letters of gas, steam and liquid where it makes sense.
    """

    key: str
    words: str
    change: Callable | None = None
    scale: float | None = None
    shift: float = 0.0
    common: str = "sometimes"
    phases: str = "gsl"


def _replace(name, function, *needs):
    def change(inputs):
        if any(inputs.get(key) is None for key in (name, *needs)):
            return None
        value = function(inputs[name], inputs)
        return None if value is None or value == inputs[name] else {**inputs, name: value}

    return change


def _above_zero(value):
    return value if value > 0 else None


def _atmosphere(inputs):
    return inputs.get("atmosphere") or ATMOSPHERE


def _raised(gauge, fraction=0.0):
    """The relieving pressure made of a gauge pressure of the sheet."""
    return "pressure", lambda P, i: i[gauge] * (1 + fraction) + _atmosphere(i), gauge


def _share(P, i):
    """Relieving pressure over MAWP, both gauge: one plus the case's own accumulation."""
    return (P - _atmosphere(i)) / i["mawp_gauge"]


def _left_out(part):
    """A part of the back pressure left out of it."""

    def change(inputs):
        value, back = inputs.get(part), inputs.get("back_pressure")
        if not value or (back is not None and back < value):
            return None
        return {**inputs, part: 0.0} | ({} if back is None else {"back_pressure": back - value})

    return change


def _sea_level(inputs):
    """Gauge pressures made absolute with the standard atmosphere."""
    off = ATMOSPHERE - _atmosphere(inputs)
    names = [n for n in ("pressure", "back_pressure") if inputs.get(n) is not None]
    return {**inputs, **{n: inputs[n] + off for n in names}} if off and names else None


def _flow(factor, volume):
    """A flow read in another unit: of volume, or of mass where no volume is given."""

    def change(inputs):
        given = inputs.get("volume_flow") is not None
        names = [n for n in ("mass_flow", "volume_flow") if inputs.get(n) is not None]
        if given != volume or not names:
            return None
        return {**inputs, **{n: inputs[n] * factor for n in names}}

    return change


def _water(inputs):
    """The density of water, for the load too where that is a volume."""
    rho, volume = inputs.get("density"), inputs.get("volume_flow") is not None
    if rho is None or rho == WATER_60F:
        return None
    mass = inputs.get("mass_flow") if volume else None
    load = {} if mass is None else {"mass_flow": mass * WATER_60F / rho}
    return {**inputs, "density": WATER_60F, **load}


def _read(curve, share, *over):
    """A factor of a balanced valve's curve; None where the curve ends."""
    try:
        return curve(share, *over)
    except InputError:
        return None


def _over(i):
    return (i["pressure"] - _atmosphere(i)) / i["set_pressure_gauge"] - 1


def _of_set(i):
    return (i["back_pressure"] - _atmosphere(i)) / i["set_pressure_gauge"]


_F = 9 / 5
_GAUGES, _BACK = ("mawp_gauge", "set_pressure_gauge"), ("pressure", "back_pressure")
_CHANGES = {  # key: what changes, how, what else that needs; or one function of all inputs
    "gauge taken as absolute": ("pressure", lambda P, i: _above_zero(P - _atmosphere(i))),
    "absolute raised again": ("pressure", lambda P, i: P + _atmosphere(i)),
    "set for relieving pressure": _raised("set_pressure_gauge"),
    "10 % accumulation": _raised("mawp_gauge", rules.SINGLE.value),
    "16 % accumulation": _raised("mawp_gauge", rules.MULTIPLE.value),
    "21 % accumulation": _raised("mawp_gauge", rules.FIRE.value),
    "accumulation on absolute": (
        "pressure", lambda P, i: _share(P, i) * (i["mawp_gauge"] + _atmosphere(i)), "mawp_gauge"),
    "accumulation on set": (
        "pressure", lambda P, i: _share(P, i) * i["set_pressure_gauge"] + _atmosphere(i), *_GAUGES),
    "sea level": _sea_level,
    "back pressure in gauge": ("back_pressure", lambda P, i: max(P - _atmosphere(i), 0.0)),
    "back pressure left out": ("back_pressure", lambda P, i: _atmosphere(i)),
    "back pressure ignored": ("back_pressure", lambda P, i: 0.0),
    "built-up left out": _left_out("built_up"),
    "superimposed left out": _left_out("superimposed_gauge"),
    "variable left out": _left_out("variable_superimposed_gauge"),
    "°C not made absolute": ("temperature", lambda T, i: _above_zero(T - 273.15)),
    "°F not made absolute": ("temperature", lambda T, i: _above_zero(T - 459.67 / _F)),
    "°F read as °C": ("temperature", lambda T, i: _above_zero(T * _F - 459.67 + 273.15)),
    "°C read as °F": ("temperature", lambda T, i: _above_zero((T - 273.15 + 459.67) / _F)),
    "Z left out": ("Z", lambda Z, i: 1.0),
    "SG for molar mass": ("molar_mass", lambda M, i: M / AIR),
    "air for the gas": ("molar_mass", lambda M, i: AIR),
    "k of air": ("k", lambda k, i: 1.4),
    "k unknown": ("k", lambda k, i: 1.0001),
    "kg/h for lb/h": _flow(1 / LB, False),
    "lb/h for kg/h": _flow(LB, False),
    "m3/h for gpm": _flow(1 / GPM, True),
    "gpm for m3/h": _flow(GPM, True),
    "normal for standard volume": ("mass_flow", lambda W, i: W / NORMAL_SHARE),
    "standard for normal volume": ("mass_flow", lambda W, i: W * NORMAL_SHARE),
    "credit left out": ("outflow", lambda W, i: 0.0),
    "suction left out": ("suction_pressure", lambda P, i: _atmosphere(i)),
    "load per valve not divided": ("mass_flow", lambda W, i: W * i["valves"], "valves"),
    "load divided twice": ("mass_flow", lambda W, i: W / i["valves"], "valves"),
    "Kd left out": ("Kd", lambda K, i: 1.0),
    "Kd of liquid": ("Kd", lambda K, i: KD["liquid"]),
    "Kd of gas": ("Kd", lambda K, i: KD["gas"]),
    "certified Kd with effective area": ("Kd", lambda K, i: 0.9 * K),
    "Kb left out": ("Kb", lambda K, i: 1.0),
    "Kb of absolute pressures": (
        "Kb", lambda K, i: _read(balanced_Kb, i["back_pressure"] / i["pressure"], _over(i)),
        "set_pressure_gauge", *_BACK),
    "Kb of the 10 % curve": (
        "Kb", lambda K, i: _read(balanced_Kb, _of_set(i), 0.10), "set_pressure_gauge", *_BACK),
    "Kw left out": ("Kw", lambda K, i: 1.0),
    "Kw of absolute pressures": (
        "Kw", lambda K, i: _read(balanced_Kw, i["back_pressure"] / i["pressure"]), *_BACK),
    "Kc left out": ("Kc", lambda K, i: 1.0),
    "Kc without a disk": ("Kc", lambda K, i: DISK_UPSTREAM if K == 1.0 else None),
    "viscosity ignored": ("Kv", lambda K, i: 1.0),
    "viscosity left out": ("viscosity", lambda mu, i: mu * 1e-12),  # guard: Kv is 1
    "cSt for cP": ("viscosity", lambda mu, i: mu * 1000.0 / i["density"], "density"),
    "KSH left out": ("KSH", lambda K, i: 1.0),
    "KN left out": ("KN", lambda K, i: 1.0),
    "quality left out": ("quality", lambda x, i: 1.0),
    "water for the liquid": _water,
    "SG for density": ("density", lambda rho, i: rho / WATER_60F),
    "superimposed added": (
        "set_pressure_gauge", lambda p, i: p + 2 * i["superimposed_gauge"], "superimposed_gauge"),
    "multiplier left out": ("temperature_multiplier", lambda m, i: 1.0),
    "valve taken as conventional": (
        "kind", lambda kind, i: "conventional" if kind in ("balanced", "pilot") else None),
}  # fmt: skip


def _change(how):
    return _replace(*how) if isinstance(how, tuple) else how


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
SHIFTS = {
    "pressure": (Slip("gauge stated", "the number was left in gauge", shift=-1.0, common="often"),
                 Slip("atmosphere twice", "the atmosphere was added twice", shift=1.0)),
    "gauge pressure": (
        Slip("absolute stated", "the number is absolute", shift=1.0, common="often"),),
}  # fmt: skip
