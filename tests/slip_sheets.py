"""Sheets drawn by lot and worked out by a clerk: the published equations, typed here.

The clerk has nothing of the package: areas by the printed equations of API 520-I (2020) in their
own units, C from its formula, 520 and 0.03948, 735 and 17.9, 51.5 and 190.5, 38 and 11.78, Re with
2800 and 18 800, 68.09 and 277.8, orifice areas of API 526; 14.7 or 14.696 psi, 460 or 459.67 °R.
Each slip is made with the clerk's own numbers. Curves (KSH, Kb, Kp) are the digitised points of
the tables, interpolated here. Used by the test of the planted slips and by its benchmark.
"""

import csv
from collections import Counter, defaultdict
from functools import cache
from pathlib import Path

import numpy as np

from relieflib.datasheet.columns import Cell, Row
from relieflib.datasheet.reasons import CLOSE, area_of, printed_bases
from relieflib.datasheet.recompute import recompute
from relieflib.devices import Device
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.sizing import ReliefLoad, size
from relieflib.slips import CATALOGUE, answer_slips, bases, explain, matches, outcomes

TABLES = Path(__file__).parents[1] / "relieflib/tables"
MOVED = 0.012  # an area differs on a sheet from 1 % on, beside half a digit
PSI, LB, IN2 = 6.894757, 0.45359237, 645.16  # kPa, kg, mm2
LETTERS = dict(zip("DEFGHJKLMNPQRT", (
    0.110, 0.196, 0.307, 0.503, 0.785, 1.287, 1.838, 2.853, 3.60, 4.34, 6.38, 11.05, 16.0, 26.0,
)))  # fmt: skip  # in2, API 526


@cache
def _points(name):
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        head, *lines = csv.reader(line for line in file if not line.startswith("#"))
    return head[1:], np.array([[float(cell) for cell in line] for line in lines])


def _across(name, x, y):
    """A value between the points of a table: x along its lines, y along its heading."""
    head, table = _points(name)
    across = [float(v) for v in head]
    at_y = [np.interp(y, across, line[1:]) for line in table]
    return float(np.interp(x, table[:, 0], at_y))


# --- the clerk ------------------------------------------------------------------------------------


def area_by_hand(d):
    """Required area of one valve, mm2 or in2, of the clerk's numbers."""
    return EQUATION[d["phase"]](d) if d["P1"] > d["P2"] else None


def _gas(d):
    P1, P2, k, us = d["P1"], d["P2"], d["k"], d["us"]
    root = np.sqrt(d["T"] * d["Z"] / d["M"])
    critical = P1 * (2 / (k + 1)) ** (k / (k - 1))
    if d["kind"] == "balanced" or (P2 <= critical and not d.get("always subcritical")) or d.get(
        "always critical"
    ):  # fmt: skip
        C = (520 if us else 0.03948) * np.sqrt(k * (2 / (k + 1)) ** ((k + 1) / (k - 1)))
        return d["W"] / (C * d["Kd"] * P1 * d["Kb"] * d["Kc"]) * root
    r = P2 / P1
    F2 = np.sqrt(k / (k - 1) * r ** (2 / k) * (1 - r ** ((k - 1) / k)) / (1 - r))
    front = 1 / 735 if us else 17.9
    return front * d["W"] / (F2 * d["Kd"] * d["Kc"]) * root / np.sqrt(P1 * (P1 - P2))


def _steam(d):
    P1, us = d["P1"], d["us"]
    a, b, c, e = (0.1906, 1000, 0.2292, 1061) if us else (0.02764, 1000, 0.03324, 1061)
    KN = (a * P1 - b) / (c * P1 - e) if P1 > (1500 if us else 10_339) and "KN" not in d else 1.0
    KSH = 1.0
    if d["T"] is not None and "KSH" not in d:
        pascal, kelvin = P1 * (PSI if us else 1) * 1e3, d["T"] / (1.8 if us else 1)
        if not 478.15 < kelvin < 898.15:  # the table ends
            return None
        if d["edition"] == 7:
            KSH = _across("ksh_7", pascal / 6894.757 - 14.696, 1.8 * kelvin - 459.67)
        else:
            KSH = _across("ksh_10", pascal, kelvin)
    front = 1 / 51.5 if us else 190.5
    return front * d["W"] * np.sqrt(d["x"]) / (P1 * d["Kd"] * d["Kb"] * d["Kc"] * KN * KSH)


def _liquid(d):
    us, drop = d["us"], d["P1"] - d["P2"]
    if not d["certified"]:
        drop = 1.25 * d["set"] - (d["P2"] - d["atm"])
    if drop <= 0:
        return None
    K = d["Kd"] * d["Kw"] * d["Kc"] * d["Kp"]
    front = 1 / 38 if us else 11.78
    area = front * d["Q"] / K * np.sqrt(d["G"] / drop)
    if d["mu"] is None:
        return area
    for letter in LETTERS.values():  # the next letter up while the trial one is too small
        trial = letter if us else letter * IN2
        Re = d["Q"] * (2800 if us else 18_800) * d["G"] / (d["mu"] * np.sqrt(trial))
        Kv = (1 + 170 / Re) ** -0.5
        if d["edition"] == 7:
            Kv = 1 / (0.9935 + 2.878 / Re**0.5 + 342.75 / Re**1.5)
        if trial >= area and area / Kv <= trial * (1 + 1e-9):
            return area / Kv
    return None


def _two_phase(d):
    P1, P2, us = d["P1"], d["P2"], d["us"]
    w = d["nine"] * (d["v9"] / d["v0"] - 1)
    low, high = 1e-6, 1.0  # eta_c by bisection of the implicit equation of C.2.2
    for _ in range(60):
        n = (low + high) / 2
        f = n**2 + (w**2 - 2 * w) * (1 - n) ** 2 + 2 * w**2 * np.log(n) + 2 * w**2 * (1 - n)
        low, high = (n, high) if f < 0 else (low, n)
    r = max(low, P2 / P1)
    drop = -2 * (w * np.log(r) + (w - 1) * (1 - r))
    flux = (68.09 if us else np.sqrt(1000)) * np.sqrt(drop * P1 / d["v0"]) / (w * (1 / r - 1) + 1)
    if d.get("as liquid"):
        flux = (68.09 if us else np.sqrt(1000)) * np.sqrt(2 * (P1 - P2) / d["v0"])
    return (0.04 if us else 277.8) * d["W"] / (d["Kd"] * d["Kb"] * d["Kc"] * flux)


EQUATION = {"gas": _gas, "steam": _steam, "liquid": _liquid, "two-phase": _two_phase}


# --- sheets drawn by lot --------------------------------------------------------------------------


def _vessel(rng):
    """The clerk's numbers of the vessel and its valve, in psi or kPa."""
    us = bool(rng.random() < 0.5)
    unit = PSI if us else 1.0
    share = float(rng.choice([1.10, 1.10, 1.16, 1.21]))
    atm = (14.7 if rng.random() < 0.5 else 14.696) if us else 101.325
    if rng.random() < 0.3:
        atm = round(float(rng.uniform(78, 97)) / unit, 2)
    mawp = round(float(np.exp(rng.uniform(np.log(260), np.log(9000)))) / unit)
    own = round(mawp * float(rng.choice([1.0, 1.0, 0.95, 0.9])))
    kind = "balanced" if rng.random() < 0.3 else "conventional"
    d = dict(
        us=us, share=share, atm=atm, mawp=mawp, set=mawp if kind == "balanced" else own, kind=kind,
        n=int(rng.choice([2, 3, 4])) if share == 1.16 else 1, fire=share == 1.21, zero=273.15,
        Kd=0.975, Kb=1.0, Kw=1.0, Kc=0.9 if rng.random() < 0.25 else 1.0, Kp=1.0, edition=10,
        certified=True, T=None,
    )  # fmt: skip
    if us:
        d["zero"] = float(rng.choice([460.0, 459.67]))
    parts = rng.dirichlet([1, 1, 1]) * float(rng.choice([0.0, 1.0])) * d["set"]
    parts *= float(rng.uniform(0.3, 0.48) if kind == "balanced" else rng.uniform(0.05, 0.85))
    d |= dict(zip(("superimposed", "variable", "built_up"), (float(f"{p:.4g}") for p in parts)))
    d["P1"] = mawp * share + atm
    d["P2"] = d["superimposed"] + d["variable"] + d["built_up"] + atm
    d["loss"] = float(rng.uniform(0.015, 0.06)) * d["set"]
    d["operating"] = round(d["set"] * float(rng.uniform(0.7, 0.92)), 1)
    return d


def _curve(d, name):
    share = 100 * (d["P2"] - d["atm"]) / d["set"]
    if name == "kw_balanced":
        table = _points(name)[1]
        return float(np.interp(share, table[:, 0], table[:, 1]))
    table = _points(name)[1]
    return float(np.interp(share, table[:, 0], table[:, {1.10: 1, 1.16: 2, 1.21: 3}[d["share"]]]))


def _temperature(rng, d, low, high):
    """A temperature as the sheet states it, °C or °F, and as the clerk makes it absolute."""
    kelvin = float(rng.uniform(low, high))
    d["t"] = round(1.8 * kelvin - 459.67 if d["us"] else kelvin - 273.15, 1)
    d["T"] = d["t"] + d["zero"]
    far = kelvin * float(rng.uniform(0.75, 0.93))
    d["t operating"] = round(1.8 * far - 459.67 if d["us"] else far - 273.15, 1)


def _mass(rng, d):
    each = float(np.exp(rng.uniform(np.log(0.3), np.log(25.0)))) * 3600
    d["load"] = float(f"{each * d['n'] / (LB if d['us'] else 1):.4g}")
    d["W"], d["of"] = d["load"] / d["n"], "mass flow"


def _a_gas(rng, d):
    _temperature(rng, d, 262.0, 640.0)
    d |= dict(
        phase="gas",
        M=round(float(rng.uniform(4, 110)), 2),
        k=round(float(rng.uniform(1.05, 1.6)), 3),
        Z=round(float(rng.uniform(0.8, 1.08)), 3),
    )
    _mass(rng, d)
    d["k real"] = round(d["k"] * float(rng.uniform(1.08, 1.5)), 3)
    d["n real"] = round(d["k"] * float(rng.uniform(0.75, 0.93)), 3)
    d["Kb"] = _curve(d, "kb_balanced") if d["kind"] == "balanced" else 1.0
    if rng.random() < 0.35:  # a load in Nm3/h or actual m3/h
        d["of"] = str(rng.choice(["standard volume flow", "volume flow"]))
        kg_h = d["load"] * (LB if d["us"] else 1)
        kelvin = d["T"] / (1.8 if d["us"] else 1)
        bar = d["P1"] * (PSI if d["us"] else 1) / 100
        d["actual over normal"] = bar / 1.01325 * 273.15 / kelvin / d["Z"]
        d["kmol/s"] = kg_h / 3600 / d["M"]
        d["m3/s"] = d["kmol/s"] * 8.314462618 * kelvin * d["Z"] / (bar * 100)
    return d


def _boils(kilopascal):
    """Saturation temperature of steam [K], to some kelvin: Antoine (from memory), for the lot."""
    return 3816.44 / (18.3036 - np.log(kilopascal * 7.50062)) + 46.13


def _a_steam(rng, d):
    unit = PSI if d["us"] else 1.0
    if rng.random() < 0.4:
        d["mawp"] = d["set"] = round(float(rng.uniform(8500, 15_500)) / unit)
    d["set"] = d["mawp"]
    d["superimposed"] = d["variable"] = 0.0
    d["built_up"] = float(f"{d['set'] * rng.uniform(0.0, 0.4):.4g}")
    d["P1"], d["P2"] = d["mawp"] * d["share"] + d["atm"], d["built_up"] + d["atm"]
    d["Kb"] = _curve(d, "kb_balanced") if d["kind"] == "balanced" else 1.0
    d |= dict(phase="steam", x=1.0)
    wet = rng.random()
    if wet < 0.25:
        d["x"] = round(float(rng.uniform(0.90, 0.97)), 3)
    elif wet < 0.85:
        low = max(_boils(d["P1"] * unit) + 25, 485.0)
        _temperature(rng, d, low, min(low + 220, 880.0))
        d["t operating"] = None
    _mass(rng, d)
    return d


def _a_liquid(rng, d):
    us = d["us"]
    d |= dict(
        phase="liquid",
        Kd=0.65,
        G=round(float(rng.uniform(0.5, 1.25)), 3),
        mu=None,
        certified=bool(rng.random() < 0.7),
    )
    if not d["certified"]:
        d |= dict(kind="conventional", set=d["mawp"], Kd=0.62)
        table = _points("kp_liquid")[1]
        d["Kp"] = float(np.interp(100 * (d["share"] - 1), table[:, 0], table[:, 1]))
    if rng.random() < 0.45:
        d["mu"] = round(float(np.exp(rng.uniform(np.log(30), np.log(2000)))), 1)
    d["Kw"] = _curve(d, "kw_balanced") if d["kind"] == "balanced" else 1.0
    d["of"] = str(rng.choice(["mass flow", "volume flow"]))
    gpm = float(np.exp(rng.uniform(np.log(10), np.log(1500))))
    each = gpm if us else gpm * 3.785411784
    d["Q"] = float(f"{each:.4g}")
    water = 999.016 if us else 1000.0
    d["kg/m3"] = d["G"] * water
    d["m3/s"] = d["Q"] * d["n"] * (3.785411784 if us else 1) / 60_000
    return d


def _a_two_phase(rng, d):
    d |= dict(phase="two-phase", Kd=0.85, nine=9.0)
    v0 = float(np.exp(rng.uniform(np.log(0.002), np.log(0.03))))  # m3/kg
    v9 = v0 * (1 + float(np.exp(rng.uniform(np.log(0.4), np.log(20)))) / 9)
    per = 0.3048**3 / LB if d["us"] else 1.0
    d["v0"], d["v9"] = float(f"{v0 / per:.4g}"), float(f"{v9 / per:.4g}")
    d["per"] = per
    d["Kb"] = _curve(d, "kb_balanced") if d["kind"] == "balanced" else 1.0
    _mass(rng, d)
    return d


DRAWN = {"gas": _a_gas, "steam": _a_steam, "liquid": _a_liquid, "two-phase": _a_two_phase}


def row_of(d):
    """The clerk's sheet as a row of a datasheet, in SI."""
    kilo, us = (PSI if d["us"] else 1.0) * 1e3, d["us"]
    kelvin = None if d["T"] is None else (d["t"] + 459.67) / 1.8 if us else d["t"] + 273.15
    values = dict(
        mawp_gauge=d["mawp"] * kilo, set_pressure_gauge=d["set"] * kilo,
        operating_pressure_gauge=d["operating"] * kilo,
        installation="multiple" if d["n"] > 1 else "single", valves=float(d["n"]),
        cause="fire" if d["fire"] else "closed outlet", device_type=d["kind"],
        disk_upstream=d["Kc"] < 1, superimposed_gauge=d["superimposed"] * kilo,
        variable_gauge=d["variable"] * kilo, built_up=d["built_up"] * kilo, phase=d["phase"],
        temperature=kelvin, molar_mass=d.get("M"), k=d.get("k"), Z=d.get("Z"),
        density=d.get("kg/m3"), certified=d["certified"], inlet_loss=d["loss"] * kilo,
        viscosity=None if d.get("mu") is None else d["mu"] * 1e-3,
        quality=d.get("x") if d["T"] is None else None,
    )  # fmt: skip
    load = {"standard volume flow": d.get("kmol/s"), "volume flow": d.get("m3/s")}.get(d.get("of"))
    if d["phase"] == "liquid" and d["of"] == "mass flow":
        load = d["m3/s"] * d["kg/m3"]
    elif load is None:
        load = d["load"] * (LB if us else 1) / 3600
    kinds = dict(built_up="pressure difference", inlet_loss="pressure difference", load=d["of"])
    cells = {
        name: Cell(value, str(value), kind=kinds.get(name, "dimensionless"))
        for name, value in (values | {"load": load}).items() if value is not None
    }  # fmt: skip
    return Row("lot", 1, cells, atmosphere=d["atm"] * kilo)


def way_of(d):
    """(compute, inputs, bases) of the package for the clerk's sheet; None where it can't size."""
    extra = {name: d[key] for name, key in (("real_k", "k real"), ("n", "n real")) if key in d}
    if d.get("t operating") is not None:
        t = d["t operating"]
        extra["normal_temperature"] = (t + 459.67) / 1.8 if d["us"] else t + 273.15
    if d["phase"] == "two-phase":
        return *_two_phase_way(d), bases("two-phase")
    case = recompute(row_of(d))
    if case.sizing is None:
        return None
    compute, inputs = area_of(case)
    return compute, inputs | extra, printed_bases(case, "required_area")


def _two_phase_way(d):
    kilo = (PSI if d["us"] else 1.0) * 1e3
    names = dict(pressure="P1", back_pressure="P2", atmosphere="atm", mawp_gauge="mawp",
                 set_pressure_gauge="set", superimposed_gauge="superimposed", built_up="built_up",
                 variable_superimposed_gauge="variable", inlet_loss="loss",
                 operating_pressure_gauge="operating")  # fmt: skip
    inputs = {name: d[key] * kilo for name, key in names.items()}
    inputs |= dict(
        valves=float(d["n"]),
        mass_flow=d["load"] * (LB if d["us"] else 1) / 3600,
        Kd=d["Kd"],
        Kc=d["Kc"],
        specific_volume=d["v0"] * d["per"],
        specific_volume_90=d["v9"] * d["per"],
    )
    if d["kind"] == "balanced":
        inputs["Kb"] = d["Kb"]

    def compute(pressure, back_pressure, set_pressure_gauge, valves, mass_flow, Kd, Kc,
                specific_volume, specific_volume_90, Kb=None):  # fmt: skip
        stream = TwoPhase.from_90(pressure, specific_volume, specific_volume_90)
        device = Device(d["kind"], set_pressure_gauge, Kd=Kd, Kb=Kb, Kc=Kc)
        return size(ReliefLoad("lot", mass_flow / valves, stream), device, back_pressure
                    ).required_area  # fmt: skip

    return compute, inputs


def sheets(phase, count, seed):
    """Sheets of a phase that can be sized, with the package's way to their area."""
    rng, made = np.random.default_rng(seed), 0
    while made < count:
        d = DRAWN[phase](rng, _vessel(rng))
        right = area_by_hand(d)
        way = way_of(d) if right and d["P2"] < 0.93 * d["P1"] else None
        if way:
            made += 1
            yield d, right, way


# --- slips made by the clerk ----------------------------------------------------------------------


def put(**rules):
    """The clerk's numbers with the named ones replaced; None where a rule gives None."""

    def slip(d):
        new = {name.replace("_", " ") if name not in d else name: rule(d)
               for name, rule in rules.items()}  # fmt: skip
        return None if any(v is None for v in new.values()) else {**d, **new}

    return slip


def times(factor):
    """The load of one valve times a factor, number or function of the clerk's numbers."""

    def slip(d):
        x = factor(d) if callable(factor) else factor
        return (
            None if x is None else {**d, "Q" if "Q" in d else "W": d["Q" if "Q" in d else "W"] * x}
        )

    return slip


def of_mass(factor):
    return times(lambda d: factor if d["of"] == "mass flow" else None)


def of_volume(factor):
    return times(lambda d: factor if d["of"] == "volume flow" and "Q" in d else None)


def _made_absolute(share):
    return put(P1=lambda d: share(d) + d["atm"] if share(d) else None)


def _kPa(d, value):
    return value / PSI if d["us"] else value


def _Kb_at(d, share, column):
    if d["kind"] != "balanced" or share > 0.5:
        return None
    table = _points("kb_balanced")[1]
    return float(np.interp(100 * share, table[:, 0], table[:, column]))


_COLUMN = {1.10: 1, 1.16: 2, 1.21: 3}
_SEA = put(
    P1=lambda d: d["P1"] - d["atm"] + _kPa(d, 101.325),
    P2=lambda d: d["P2"] - d["atm"] + _kPa(d, 101.325),
)


def _chokes(d):
    return d["kind"] == "balanced" or d["P2"] / d["P1"] <= (2 / (d["k"] + 1)) ** (
        d["k"] / (d["k"] - 1)
    )


G, S, L, T = "gas", "steam", "liquid", "two-phase"
ALL = (G, S, L, T)


def _as_T(d, celsius):
    return 1.8 * (celsius + 273.15) if d["us"] else celsius + 273.15


BY_HAND = {  # key of the catalogue: phases in which it is planted, what the clerk does
    "gauge taken as absolute": (ALL, put(P1=lambda d: d["P1"] - d["atm"])),
    "absolute raised again": (ALL, put(P1=lambda d: d["P1"] + d["atm"])),
    # where the flow is choked the back pressure does nothing: then it is the one above
    "both pressures in gauge": (
        (G,),
        put(
            P1=lambda d: None if _chokes(d) else d["P1"] - d["atm"],
            P2=lambda d: d["P2"] - d["atm"],
        ),
    ),
    "set for relieving pressure": (ALL, _made_absolute(lambda d: d["set"])),
    "mawp for relieving pressure": (ALL, _made_absolute(lambda d: d["mawp"])),
    "operating for relieving pressure": (ALL, _made_absolute(lambda d: d["operating"])),
    "10 % accumulation": (ALL, _made_absolute(lambda d: 1.10 * d["mawp"])),
    "16 % accumulation": (ALL, _made_absolute(lambda d: 1.16 * d["mawp"])),
    "21 % accumulation": (ALL, _made_absolute(lambda d: 1.21 * d["mawp"])),
    "accumulation on absolute": (ALL, put(P1=lambda d: d["share"] * (d["mawp"] + d["atm"]))),
    "accumulation on set": (ALL, _made_absolute(lambda d: d["share"] * d["set"])),
    "set read as absolute": (ALL, _made_absolute(lambda d: d["share"] * (d["mawp"] - d["atm"]))),
    "absolute read as set": (ALL, _made_absolute(lambda d: d["share"] * (d["mawp"] + d["atm"]))),
    "sea level": (ALL, _SEA),
    "inlet loss deducted": (ALL, put(P1=lambda d: d["P1"] - d["loss"])),
    "inlet limit deducted": (ALL, put(P1=lambda d: d["P1"] - 0.03 * d["set"])),
    "set tolerance deducted": (ALL, put(P1=lambda d: d["P1"] - (
        0.03 * d["set"] if _psi(d) > 70 else _kPa(d, 2 * PSI)))),
    "kg/cm2 read as bar": (ALL, _made_absolute(lambda d: d["share"] * d["mawp"] / 0.980665)),
    "bar read as kg/cm2": (ALL, _made_absolute(lambda d: d["share"] * d["mawp"] * 0.980665)),
    "back pressure in gauge": ((G, L, T), put(P2=lambda d: d["P2"] - d["atm"])),
    "back pressure left out": ((G, L, T), put(P2=lambda d: d["atm"])),
    "built-up left out": ((G, L, T), put(P2=lambda d: d["P2"] - d["built_up"])),
    "superimposed left out": ((G, L, T), put(P2=lambda d: d["P2"] - d["superimposed"])),
    "variable left out": ((G, L, T), put(P2=lambda d: d["P2"] - d["variable"])),
    "back pressure ignored": ((G,), put(always_critical=lambda d: True)),
    "subcritical though choked": ((G,), put(always_subcritical=lambda d: d["kind"] != "balanced"
                                            or None)),
    "°C not made absolute": ((G,), put(T=lambda d: None if d["us"] or d["t"] <= 0 else d["t"])),
    "°F not made absolute": ((G,), put(T=lambda d: d["t"] if d["us"] and d["t"] > 0 else None)),
    "°F read as °C": ((G, S), put(T=lambda d: d["T"] and _as_T(
        d, d["t"] if d["us"] else 1.8 * d["t"] + 32))),
    "°C read as °F": ((G,), put(T=lambda d: d["T"] and _as_T(
        d, ((d["t"] if not d["us"] else (d["t"] - 32) / 1.8) - 32) / 1.8))),
    "K read as °R": ((G,), put(T=lambda d: d["T"] / 1.8)),
    "°R read as K": ((G,), put(T=lambda d: d["T"] * 1.8)),
    "operating for relieving temperature": ((G,), put(T=lambda d: d["t operating"] + d["zero"])),
    "standard for relieving temperature": ((G,), put(T=lambda d: _as_T(d, 15.0))),
    "Z left out": ((G,), put(Z=lambda d: 1.0)),
    "Z upside down": ((G,), put(Z=lambda d: 1 / d["Z"])),
    "SG for molar mass": ((G,), put(M=lambda d: d["M"] / 28.96)),
    "air for the gas": ((G,), put(M=lambda d: 28.96)),
    "k of air": ((G,), put(k=lambda d: 1.4)),
    "k unknown": ((G,), put(k=lambda d: 1.0001)),
    "k of the real fluid": ((G,), put(k=lambda d: d["k real"])),
    "isentropic exponent": ((G,), put(k=lambda d: d["n real"] if d["n real"] > 1.01 else None)),
    "kg/h for lb/h": (ALL, of_mass(2.20462)),
    "lb/h for kg/h": (ALL, of_mass(0.453592)),
    "m3/h for gpm": ((L,), of_volume(4.402868)),
    "gpm for m3/h": ((L,), of_volume(0.2271247)),
    "imperial for US gallon": ((L,), of_volume(1.20095)),
    "US for imperial gallon": ((L,), of_volume(0.832674)),
    "normal for standard volume": ((G,), times(288.15 / 273.15)),
    "standard for normal volume": ((G,), times(273.15 / 288.15)),
    "actual for normal volume": ((G,), times(lambda d: d["of"] == "standard volume flow" and d[
        "actual over normal"] or None)),
    "normal for actual volume": ((G,), times(lambda d: d["of"] == "volume flow" and 1 / d[
        "actual over normal"] or None)),
    "kmol read as kg": ((G,), times(lambda d: 1 / d["M"] if d["of"].startswith("st") else None)),
    "per minute for per hour": (ALL, times(60.0)),
    "per hour for per second": (ALL, times(1 / 3600)),
    "load per valve not divided": (ALL, times(lambda d: d["n"])),
    "load divided twice": (ALL, times(lambda d: 1 / d["n"])),
    "spare counted": (ALL, times(lambda d: d["n"] / (d["n"] + 1))),
    "one valve left out": (ALL, times(lambda d: d["n"] / (d["n"] - 1) if d["n"] > 1 else None)),
    "margin of 10 % on the load": (ALL, times(1.10)),
    "margin of 20 % on the load": (ALL, times(1.20)),
    "margin of 25 % on the load": (ALL, times(1.25)),
    "Kd left out": (ALL, put(Kd=lambda d: 1.0)),
    "Kd of liquid": ((G, S, T), put(Kd=lambda d: 0.65)),
    "Kd of gas": ((L, T), put(Kd=lambda d: 0.975)),
    "Kd of two-phase": ((G, S, L), put(Kd=lambda d: 0.85)),
    "Kd of a disk": (ALL, put(Kd=lambda d: 0.62)),
    "certified Kd with effective area": (ALL, put(Kd=lambda d: 0.9 * d["Kd"])),
    "uncertified for certified": ((L,), lambda d: None if not d["certified"] or d["set"] != d[
        "mawp"] else {**d, "certified": False, "Kd": 0.62, "Kp": _Kp(d)}),
    "certified for uncertified": ((L,), lambda d: None if d["certified"] else {
        **d, "certified": True, "Kd": 0.65, "Kp": 1.0}),
    "Kp left out": ((L,), put(Kp=lambda d: None if d["certified"] else 1.0)),
    "Kb left out": ((G, S, T), put(Kb=lambda d: 1.0)),
    "Kb of absolute pressures": ((G, S), put(Kb=lambda d: _Kb_at(
        d, d["P2"] / d["P1"], _COLUMN[d["share"]]))),
    "Kb of the 10 % curve": ((G, S), put(Kb=lambda d: _Kb_at(
        d, (d["P2"] - d["atm"]) / d["set"], 1))),
    "Kw left out": ((L,), put(Kw=lambda d: 1.0)),
    "Kc left out": (ALL, put(Kc=lambda d: 1.0)),
    "Kc without a disk": (ALL, put(Kc=lambda d: 0.9 if d["Kc"] == 1 else None)),
    "viscosity left out": ((L,), lambda d: {**d, "mu": None}),
    "cSt for cP": ((L,), put(mu=lambda d: d["mu"] and d["mu"] / d["G"])),
    "Kv of another edition": ((L,), put(edition=lambda d: 7)),
    "KSH left out": ((S,), put(KSH=lambda d: 1.0)),
    "KSH of another edition": ((S,), put(edition=lambda d: 7)),
    "KN left out": ((S,), put(KN=lambda d: 1.0)),
    "quality left out": ((S,), put(x=lambda d: 1.0)),
    "SG for density": ((L,), lambda d: {**d, "G": d["G"] / 999.016, "Q": d["Q"] * (
        1 if d["of"] == "volume flow" else 999.016)}),
    "water for the liquid": ((L,), lambda d: {
        **d, "Q": d["Q"] * (1 if d["of"] == "volume flow" else d["G"]), "G": 1.0}),
    "taken as a liquid": ((T,), put(as_liquid=lambda d: True)),
    "nine left out of omega": ((T,), put(nine=lambda d: 1.0)),
    "ten for nine": ((T,), put(nine=lambda d: 10.0)),
}  # fmt: skip
OF_RESULT = {  # what the stated number is over the right one, by the unit of the sheet
    # of mm2 a hundredth is in cm2 and a millionth in m2: one number, told as the unit
    **{f"power of ten {n:+d}": (float(f"1e{n}"),) * 2 for n in (1, -1, 2, 3, -3, 6)},
    "in in2": (1 / 645.16, None), "in mm2": (None, 645.16), "in cm2": (1e-2, 6.4516),
    "in m2": (1e-6, None),
}  # fmt: skip


def _psi(d):
    return d["set"] if d["us"] else d["set"] / PSI


def _Kp(d):
    table = _points("kp_liquid")[1]
    return float(np.interp(100 * (d["share"] - 1), table[:, 0], table[:, 1]))


def planted(d, right):
    """{key: number} of the slips that the clerk can make with a sheet and that move its area."""
    numbers = {}
    for key, (phases, slip) in BY_HAND.items():
        new = slip(d) if d["phase"] in phases else None
        numbers[key] = area_by_hand(new) if new else None
    for key, factors in OF_RESULT.items():
        factor = factors[d["us"]]
        numbers[key] = right * factor if factor else None
    return {key: n for key, n in numbers.items() if n and abs(n / right - 1) > MOVED}


# --- the score ------------------------------------------------------------------------------------

WORDS = {slip.key: slip.words for slip in CATALOGUE}
WORDS |= {slip.key: slip.words for unit in ("mm2", "in2")
          for slip in answer_slips("required_area", unit)}  # fmt: skip


def rounded(value, figures):
    """A number as a sheet would state it, and half of its last digit, relative."""
    text = f"{value:.{figures - 1}e}"
    half = 0.5 * 10.0 ** (int(text.partition("e")[2]) - figures + 1)
    return float(text), half / abs(float(text))


def outcomes_of(d, way):
    """The finder's numbers for a sheet."""
    compute, inputs, _ = way
    unit = "in2" if d["us"] else "mm2"
    return outcomes(compute, inputs, (*CATALOGUE, *answer_slips("required_area", unit)))


def found_for(d, way, ways, number, figures):
    """What the finder says of a number of the clerk's, stated with so many figures."""
    stated, half = rounded(number, figures)
    return matches(stated * (IN2 if d["us"] else 1) * 1e-6, ways, CLOSE, half, way[2])


def judged(key, found):
    """(first, first by itself, named, said to be it, another said to be it) for a planted slip."""
    text, words = explain(found), WORDS[key]
    top = [group[0].words for group, n in zip(found, found.same) if n == 0 and len(group) == 1]
    it_is = text.startswith("It is")
    return Counter(
        cases=1, first=words in top, alone=words in top and len(set(top)) == 1,
        named=words in text, it_is=it_is and words in text, wrongly=it_is and words not in text,
    )  # fmt: skip


def score(count, seed, figures=(3, 4, 5)):
    """{(phase, key, figures): Counter}, and {(phase, figures): Counter} of numbers without a slip.

    Those are the clean one and, apart, numbers wrong at random, 0.3 to 3 times the right one.
    """
    marks, none = defaultdict(Counter), defaultdict(Counter)
    for phase in DRAWN:
        rng = np.random.default_rng(seed)
        for d, right, way in sheets(phase, count, seed):
            ways = outcomes_of(d, way)
            wrong = right * np.exp(rng.uniform(np.log(0.3), np.log(3.0), 2))
            for n in figures:
                clean = found_for(d, way, ways, right, n)
                none[phase, n].update(clean=1, claimed=bool(clean))
                for number in wrong:
                    found = found_for(d, way, ways, number, n)
                    pair = bool(found) and len(found[0]) > 1
                    none[phase, n].update(
                        random=1, explained=bool(found), pair=pair, sure=found.sure
                    )
                for key, number in planted(d, right).items():
                    marks[phase, key, n].update(judged(key, found_for(d, way, ways, number, n)))
    return marks, none
