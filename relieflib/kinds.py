"""Kinds of quantity with their units, and which quantity is of which kind: data alone.

A new unit is one entry of `FACTORS`; a new kind is one entry there and one of `DISPLAY`; a new
quantity is one row of `tables/symbols.txt`. Factors: exact by definition (NIST SP 811) unless a
comment says otherwise. The module imports nothing of ours, so that an error
message can name a unit.
"""

from pathlib import Path

ATMOSPHERE = 101_325.0  # Pa, standard atmosphere
ICE_POINT = 273.15  # K: 0 °C
GRAVITY = 9.806_65  # m/s2, standard
GAS_CONSTANT = 8_314.462_618  # J/(kmol K), CODATA 2018
WATER_60F = 999.016  # kg/m3, basis of liquid specific gravity 60 F/60 F (ASTM D1250 basis)
YEAR = 8_760 * 3_600.0  # s, as the trade counts: 365 days

_LB, _FT, _IN = 0.453_592_37, 0.3048, 0.0254
PSI = 6_894.757_293_168
_BTU = 1_055.055_852_62  # International Table
_GAL, _BBL = 3.785_411_784e-3, 0.158_987_294_928
_KGF_CM2, _MMH2O, _INH2O, _MMHG = 98_066.5, 9.806_65, 249.088_91, 133.322_387
_NORMAL = ATMOSPHERE / (GAS_CONSTANT * ICE_POINT)  # kmol/m3 at 0 C, 101.325 kPa
_STANDARD_15C = ATMOSPHERE / (GAS_CONSTANT * 288.15)  # kmol/m3 at 15 C, 101.325 kPa
_SCF = _FT**3 * (14.696 * PSI) / (GAS_CONSTANT * 288.705_555_6)  # kmol at 60 F, 14.696 psia

PRESSURES = {
    "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "mbar": 100.0, "psi": PSI, "atm": ATMOSPHERE,
    "kg/cm2": _KGF_CM2, "mmH2O": _MMH2O, "inH2O": _INH2O, "mmHg": _MMHG,
}  # fmt: skip

# kind -> {unit: factor to SI}; the first unit of each kind is the SI one.
FACTORS = {
    "pressure difference": PRESSURES,
    "temperature difference": {"K": 1.0, "°C": 1.0, "°F": 5 / 9, "°R": 5 / 9},
    "mass flow": {
        "kg/s": 1.0, "kg/h": 1 / 3600, "kg/min": 1 / 60, "t/h": 1 / 3.6, "g/s": 1e-3,
        "lb/h": _LB / 3600, "lb/s": _LB, "lb/min": _LB / 60,
    },
    "volume flow": {
        "m3/s": 1.0, "m3/h": 1 / 3600, "L/min": 1e-3 / 60, "L/h": 1e-3 / 3600, "L/s": 1e-3,
        "gpm": _GAL / 60, "ft3/h": _FT**3 / 3600, "ft3/min": _FT**3 / 60, "bbl/d": _BBL / 86400,
    },
    "standard volume flow": {
        "kmol/s": 1.0, "kmol/h": 1 / 3600, "lbmol/h": _LB / 3600, "Nm3/h": _NORMAL / 3600,
        "Sm3/h": _STANDARD_15C / 3600, "scfh": _SCF / 3600, "scfm": _SCF / 60,
        "MMscfd": 1e6 * _SCF / 86400,
    },
    "area": {"m2": 1.0, "mm2": 1e-6, "cm2": 1e-4, "in2": _IN**2, "ft2": _FT**2},
    "length": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "in": _IN, "ft": _FT, "µm": 1e-6},
    "volume": {"m3": 1.0, "L": 1e-3, "ft3": _FT**3, "gal": _GAL, "bbl": _BBL},
    "density": {"kg/m3": 1.0, "lb/ft3": _LB / _FT**3, "g/cm3": 1e3, "SG": WATER_60F},
    "specific volume": {"m3/kg": 1.0, "ft3/lb": _FT**3 / _LB},
    "viscosity": {"Pa s": 1.0, "cP": 1e-3, "mPa s": 1e-3, "lb/(ft s)": _LB / _FT},
    "kinematic viscosity": {"m2/s": 1.0, "cSt": 1e-6, "mm2/s": 1e-6, "ft2/s": _FT**2},
    "power": {
        "W": 1.0, "kW": 1e3, "MW": 1e6, "Btu/h": _BTU / 3600, "MMBtu/h": 1e6 * _BTU / 3600,
        "kcal/h": 4186.8 / 3600, "GJ/h": 1e9 / 3600,
    },
    "heat flux": {"W/m2": 1.0, "kW/m2": 1e3, "Btu/(h ft2)": _BTU / 3600 / _FT**2},
    "specific energy": {
        "J/kg": 1.0, "kJ/kg": 1e3, "Btu/lb": _BTU / _LB, "kcal/kg": 4186.8,
    },
    "heat capacity": {
        "J/(kg K)": 1.0, "kJ/(kg K)": 1e3, "Btu/(lb °F)": 4186.8, "kcal/(kg K)": 4186.8,
    },
    "heat transfer coefficient": {"W/(m2 K)": 1.0, "Btu/(h ft2 °F)": _BTU / 3600 / _FT**2 * 1.8},
    "thermal conductivity": {
        "W/(m K)": 1.0, "Btu/(h ft °F)": _BTU / 3600 / _FT * 1.8,
        "Btu in/(h ft2 °F)": _BTU / 3600 / _FT**2 * _IN * 1.8,
    },
    "molar mass": {"kg/kmol": 1.0, "g/mol": 1.0, "lb/lbmol": 1.0},
    "mass flux": {"kg/(m2 s)": 1.0, "kg/(h mm2)": 1e6 / 3600, "lb/(s ft2)": _LB / _FT**2,
                  "lb/(h in2)": _LB / 3600 / _IN**2},
    "velocity": {"m/s": 1.0, "ft/s": _FT},
    "expansion coefficient": {"1/K": 1.0, "1/°C": 1.0, "1/°F": 1.8},
    "flow coefficient": {"Kv": 1.0, "Cv": 0.865},  # IEC 60534-1: Kv/Cv = 0.865
    "mass": {"kg": 1.0, "t": 1e3, "lb": _LB},
    "temperature rate": {
        "K/s": 1.0, "K/min": 1 / 60, "K/h": 1 / 3600, "°C/min": 1 / 60, "°F/min": 5 / 9 / 60,
    },
    "pressure rate": {
        "Pa/s": 1.0, "bar/s": 1e5, "psi/s": PSI, "bar/min": 1e5 / 60, "psi/min": PSI / 60,
    },
    "specific power": {"W/kg": 1.0, "kW/kg": 1e3, "Btu/(h lb)": _BTU / 3600 / _LB},
    "heat capacity flow": {"W/K": 1.0, "kW/K": 1e3, "Btu/(h °F)": _BTU / 3600 * 1.8},
    "thermal resistance": {
        "m2 K/W": 1.0, "h ft2 °F/Btu": 3600 * _FT**2 / (_BTU * 1.8),
    },
    "compressibility": {"1/Pa": 1.0, "1/bar": 1e-5, "1/psi": 1 / PSI},
    "molar heat capacity": {"J/(kmol K)": 1.0, "kJ/(kmol K)": 1e3, "Btu/(lbmol °F)": 4186.8},
    "acceleration": {"m/s2": 1.0, "ft/s2": _FT},
    "second moment": {"m4": 1.0, "cm4": 1e-8, "mm4": 1e-12, "in4": _IN**4},
    "fire constant": {"W/m^1.64": 1.0, "Btu/(h ft^1.64)": _BTU / 3600 / _FT**1.64},
    "surface tension": {"N/m": 1.0, "mN/m": 1e-3, "lbf/ft": _LB * 9.806_65 / _FT},
    "angle": {"°": 1.0},
    "API gravity": {"°API": 1.0},
    "level": {"dB": 1.0},
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0},
    "interval": {"s": 1.0, "h": 3600.0, "d": 86400.0, "y": YEAR},
    "failure rate": {"1/s": 1.0, "1/h": 1 / 3600, "1/y": 1 / YEAR},
    "frequency": {"1/s": 1.0, "1/h": 1 / 3600, "1/y": 1 / YEAR},
    "force": {"N": 1.0, "kN": 1e3, "lbf": 4.448_221_615_260_5},
    "dimensionless": {"-": 1.0, "%": 0.01},
}  # fmt: skip
TEMPERATURES = {"K": (1.0, 0.0), "°C": (1.0, ICE_POINT), "°F": (5 / 9, 459.67), "°R": (5 / 9, 0.0)}
GAUGE = {u + "g": f for u, f in PRESSURES.items()}
ABSOLUTE = {u + "a": f for u, f in PRESSURES.items()}
SI_UNIT = {kind: next(iter(units)) for kind, units in FACTORS.items()}
SI_UNIT |= {"pressure": "Pa", "gauge pressure": "Pa", "temperature": "K"}

DISPLAY = {  # kind -> unit shown in the SI set, in the US set
    "pressure": ("bara", "psia"), "gauge pressure": ("barg", "psig"),
    "pressure difference": ("bar", "psi"), "temperature": ("°C", "°F"),
    "temperature difference": ("K", "°F"), "mass flow": ("kg/h", "lb/h"),
    "volume flow": ("m3/h", "gpm"), "standard volume flow": ("Nm3/h", "scfh"),
    "area": ("mm2", "in2"), "length": ("m", "ft"), "volume": ("m3", "ft3"),
    "density": ("kg/m3", "lb/ft3"), "specific volume": ("m3/kg", "ft3/lb"),
    "viscosity": ("cP", "cP"), "kinematic viscosity": ("cSt", "cSt"), "power": ("kW", "Btu/h"),
    "heat flux": ("kW/m2", "Btu/(h ft2)"), "specific energy": ("kJ/kg", "Btu/lb"),
    "heat capacity": ("kJ/(kg K)", "Btu/(lb °F)"),
    "heat transfer coefficient": ("W/(m2 K)", "Btu/(h ft2 °F)"),
    "thermal conductivity": ("W/(m K)", "Btu/(h ft °F)"), "molar mass": ("kg/kmol", "lb/lbmol"),
    "mass flux": ("kg/(m2 s)", "lb/(s ft2)"), "velocity": ("m/s", "ft/s"),
    "expansion coefficient": ("1/K", "1/°F"), "flow coefficient": ("Kv", "Cv"),
    "mass": ("kg", "lb"), "temperature rate": ("K/min", "°F/min"),
    "pressure rate": ("bar/min", "psi/min"), "specific power": ("W/kg", "Btu/(h lb)"),
    "heat capacity flow": ("kW/K", "Btu/(h °F)"),
    "thermal resistance": ("m2 K/W", "h ft2 °F/Btu"), "compressibility": ("1/bar", "1/psi"),
    "molar heat capacity": ("kJ/(kmol K)", "Btu/(lbmol °F)"), "acceleration": ("m/s2", "ft/s2"),
    "second moment": ("cm4", "in4"), "fire constant": ("W/m^1.64", "Btu/(h ft^1.64)"),
    "surface tension": ("mN/m", "lbf/ft"), "angle": ("°", "°"), "API gravity": ("°API", "°API"),
    "level": ("dB", "dB"),
    "interval": ("y", "y"), "failure rate": ("1/h", "1/h"), "frequency": ("1/y", "1/y"),
    "time": ("min", "min"), "force": ("N", "lbf"), "dimensionless": ("-", "-"),
}  # fmt: skip
DISPLAY_OF = {  # quantities that show another unit than their kind
    "heat_release": ("MW", "MMBtu/h"),
    "burn_time": ("s", "s"),
    **dict.fromkeys(
        "diameter outlet_diameter exit_diameter tip_diameter tube_inside_diameter "
        "check_valve_diameter leak_diameter wall_thickness".split(),
        ("mm", "in"),
    ),
    "droplet_diameter": ("µm", "µm"),
    "dropout_time": ("s", "s"),
    **dict.fromkeys(
        "sensor_time logic_time stroke_time margin_time response_time".split(), ("s", "s")
    ),
    **dict.fromkeys("repair_time restoration_time".split(), ("h", "h")),
    **dict.fromkeys(
        "wetted_area wetted_areas exposed_area surface insulated_area tank_area vapor_area".split(),
        ("m2", "ft2"),
    ),
    **dict.fromkeys(
        "liquid_breathing thermal_breathing breathing vapor_breathing other_breathing".split(),
        ("m3/h", "ft3/h"),
    ),
    **dict.fromkeys(
        "accumulation overpressure_fraction back_pressure_fraction blowdown used "
        "flow_spread".split(),
        ("%", "%"),
    ),
    **dict.fromkeys("opening_time safety_time time_shown".split(), ("s", "s")),
    "rise_rate": ("bar/s", "psi/s"),
}
_ROWS = (Path(__file__).parent / "tables" / "symbols.txt").read_text(encoding="utf-8")
# name -> (symbol, meaning, kind)
QUANTITIES = {
    name: tuple(rest)
    for name, *rest in ([p.strip() for p in row.split("|")] for row in _ROWS.splitlines()[1:])
}


def unit_of(name):
    """SI unit of a quantity; '-' for one that has none or is not in the table.

    Parameters: name, str. Returns str.
    >>> unit_of("fouling_resistance"), unit_of("Kd")
    ('m2 K/W', '-')
    """
    return SI_UNIT[QUANTITIES[name][2]] if name in QUANTITIES else "-"
