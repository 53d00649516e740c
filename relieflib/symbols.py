"""The one table of quantities: name, symbol, meaning, kind, display units in the SI and US sets.

The rows stand in `tables/symbols.txt`. The name is what a parameter is called in every function.
The symbol is what an equation in a working writes; its LaTeX follows from it. The SI unit follows
from the kind (`units.SI_UNIT`). Pressures are absolute unless the name ends in `_gauge`.
"""

import re
from dataclasses import dataclass
from pathlib import Path

from relieflib.errors import InputError
from relieflib.units import SI_UNIT, from_si, to_si

UNIT_SETS = ("SI", "US")
_DISPLAY = {  # kind -> unit shown in the SI set, in the US set
    "pressure": ("bara", "psia"),
    "gauge pressure": ("barg", "psig"),
    "pressure difference": ("bar", "psi"),
    "temperature": ("°C", "°F"),
    "temperature difference": ("K", "°F"),
    "mass flow": ("kg/h", "lb/h"),
    "volume flow": ("m3/h", "gpm"),
    "standard volume flow": ("Nm3/h", "scfh"),
    "area": ("mm2", "in2"),
    "length": ("m", "ft"),
    "volume": ("m3", "ft3"),
    "density": ("kg/m3", "lb/ft3"),
    "specific volume": ("m3/kg", "ft3/lb"),
    "viscosity": ("cP", "cP"),
    "kinematic viscosity": ("cSt", "cSt"),
    "power": ("kW", "Btu/h"),
    "heat flux": ("kW/m2", "Btu/(h ft2)"),
    "specific energy": ("kJ/kg", "Btu/lb"),
    "heat capacity": ("kJ/(kg K)", "Btu/(lb °F)"),
    "heat transfer coefficient": ("W/(m2 K)", "Btu/(h ft2 °F)"),
    "thermal conductivity": ("W/(m K)", "Btu/(h ft °F)"),
    "molar mass": ("kg/kmol", "lb/lbmol"),
    "mass flux": ("kg/(m2 s)", "lb/(s ft2)"),
    "velocity": ("m/s", "ft/s"),
    "expansion coefficient": ("1/K", "1/°F"),
    "flow coefficient": ("Kv", "Cv"),
    "mass": ("kg", "lb"),
    "time": ("min", "min"),
    "force": ("N", "lbf"),
    "dimensionless": ("-", "-"),
}
_GREEK = "alpha beta gamma delta eta theta lambda mu nu rho sigma tau phi omega Delta Phi".split()


@dataclass(frozen=True)
class Symbol:
    """One quantity of the table."""

    name: str
    symbol: str
    meaning: str
    kind: str

    @property
    def unit(self):
        """SI unit."""
        return SI_UNIT[self.kind]

    @property
    def latex(self):
        """LaTeX of the symbol."""
        return latex_of(self.symbol)

    def display_unit(self, unit_set="SI"):
        """Unit in which a set shows this quantity; small lengths stay in mm and in."""
        if unit_set not in UNIT_SETS:
            raise InputError(f"unit set '{unit_set}': use one of {', '.join(UNIT_SETS)}")
        if self.name in _SMALL_LENGTHS:
            return ("mm", "in")[UNIT_SETS.index(unit_set)]
        if self.name in _LARGE_AREAS:
            return ("m2", "ft2")[UNIT_SETS.index(unit_set)]
        if self.name in _AIR_FLOWS:
            return ("m3/h", "ft3/h")[UNIT_SETS.index(unit_set)]
        if self.name in _LARGE_AREAS:
            return ("m2", "ft2")[UNIT_SETS.index(unit_set)]
        if self.name in _PERCENT:
            return "%"
        return _DISPLAY[self.kind][UNIT_SETS.index(unit_set)]

    def show(self, value, unit_set="SI", atmosphere=101_325.0):
        """Value in the display unit of a set, from SI; the site's atmosphere for gauge units."""
        return from_si(value, self.display_unit(unit_set), self.kind, atmosphere)

    def read(self, value, unit_set="SI", atmosphere=101_325.0):
        """SI value of a number typed in the display unit of a set; the inverse of `show`."""
        return to_si(value, self.display_unit(unit_set), self.kind, atmosphere)


def latex_of(symbol):
    """LaTeX of an equation symbol: `P1` gives P_{1}, `rho_l` gives \\rho_{l}.

    Parameters: symbol, str. Returns str.
    >>> latex_of("Kd"), latex_of("rho_l"), latex_of("P1")
    ('K_{d}', '\\\\rho_{l}', 'P_{1}')
    """
    if len(symbol) > 3 and symbol.isupper():  # MAWP, CDTP: words of the trade, no subscript
        return rf"\mathrm{{{symbol}}}"
    head, _, tail = symbol.partition("_")
    if not tail and head not in _GREEK:
        match = re.fullmatch(r"([A-Za-z])(\w+)", head)
        head, tail = (match.group(1), match.group(2)) if match else (head, "")
    head = "\\" + head if head in _GREEK else head
    return f"{head}_{{{tail.replace('_', ',')}}}" if tail else head


_ROWS = (Path(__file__).parent / "tables" / "symbols.txt").read_text(encoding="utf-8")
SYMBOLS = {}
for _row in _ROWS.strip().splitlines()[1:]:
    _name, _symbol, _meaning, _kind = (part.strip() for part in _row.split("|"))
    SYMBOLS[_name] = Symbol(_name, _symbol, _meaning, _kind)
_SMALL_LENGTHS = {
    "diameter", "tube_inside_diameter", "check_valve_diameter", "leak_diameter", "wall_thickness",
}  # fmt: skip
_LARGE_AREAS = {
    "wetted_area", "wetted_areas", "exposed_area", "surface", "insulated_area", "tank_area",
}  # fmt: skip
_AIR_FLOWS = {"liquid_breathing", "thermal_breathing", "breathing"}
_LARGE_AREAS = {
    "wetted_area",
    "exposed_area",
    "surface",
    "insulated_area",
    "tank_area",
    "wetted_areas",
}
_PERCENT = {
    "accumulation", "overpressure_fraction", "back_pressure_fraction", "blowdown", "used",
}  # fmt: skip

# Parameters that are not quantities: what each may hold.
CHOICES = {
    "edition": "edition of API 520-I: 7, 9 or 10",
    "stream": "Gas, Steam, Liquid, TwoPhase or RealFluid at relieving conditions",
    "device": "a `devices.Device`",
    "load": "a `ReliefLoad`",
    "atmosphere": "the site's",
    "cause": "name of an overpressure cause, as its module",
    "installation": "'single' or 'multiple' valves that together carry the load",
    "fire": "True for exterior fire",
    "fire_only": "True for a valve that serves fire alone",
    "kind": "'conventional', 'balanced', 'pilot' or 'disk'",
    "role": "'first', 'additional' or 'fire supplement'",
    "letter": "orifice letter, D to T",
    "working": "steps that led to a number",
    "spare": "True adds a spare valve",
    "compressible": "True for gas, False for liquid",
    "curve": "a `PumpCurve`",
    "pair": "a `BoilingPair`",
    "host": "liquid that something volatile comes into, a fluid that CoolProp knows",
    "flange_class": "150, 300, 600, 900, 1500 or 2500",
    "designation": "inlet size, orifice letter, outlet size, such as '3L4'",
    "source": "Gas, Steam, Liquid, TwoPhase or RealFluid upstream, at its highest pressure",
    "metal": "a metal of the table pipe_metals",
    "vapor_pocket": "True where a pocket of gas that can't condense or dissolve always stays",
    "drained": "True where the line is drained after it is blocked in, under a procedure",
    "liquid_filled": "True where the low-pressure side is full of liquid",
    "unit_set": "'SI' or 'US'",
    "engine": "the `properties.Engine` of a fluid",
    "value": "second value of a state beside its pressure, of the kind named",
    "fluid": "a name CoolProp knows, or a mixture such as 'Propane[0.6]&n-Butane[0.4]'",
    "fluids": "names that CoolProp knows",
    "contents": "a `phase_split.Split` of a vessel's contents",
    "leaving": "a `phase_split.Split` of what leaves",
    "points": "a list of `heated_contents.Point`",
    "feeds": "a list of `phase_split.Split`",
    "phase": "a word for a phase",
    "vessel": "a `geometry.Vessel`",
    "mixture": "a `boiling.Mixture`",
    "steps": "how many steps",
    "last": "fraction of the moles that is gone at the end",
    "protection": "a word of the table protection_factor",
    "adequate_drainage": "True with adequate drainage and prompt fire fighting",
    "connected": "True for vessels open to each other that share a valve",
    "plant": "a `plant.Plant`",
    "event": "a `power_and_air_failure.Event`",
    "loads": "relief loads by valve or by cause",
    "louvres_shut": "True where the louvres of an air cooler shut",
    "batch": "a `runaway_reaction.Batch`",
    "volatile": "True for a liquid of vapour pressure above 5 kPa, or stored above 40 °C",
    "stored_warm": "True for a vapour pressure above that of hexane, or stored at 25 °C and more",
    "case": "an `exterior_fire_gas.FireCase`",
    "consequences": "list of `power_and_air_failure.Consequence`",
    "credit": "a word of the table emergency_credit",
    "lost": "set of words for what has failed",
    "valve": "a relief valve: its tag, or a `safeguard.Valve`",
    "nps": "nominal pipe size such as '4' or '1-1/2'",
    "schedule": "schedule of a pipe, such as '40', '10S' or 'XS'",
    "line": "a `lines.line.Line`",
    "run": "a `lines.line.Run`",
    "cut": "True for a run of each part",
    "flow": "'adiabatic' or 'isothermal' for gas in a line",
    "sizing": "a `sizing.Sizing`",
    "check": "an `InletCheck` or `OutletCheck`",
    "side": "'inlet' or 'outlet'",
    "modulating": "True for a valve that opens only as far as the load needs",
    "remote_sensing": "True for a pilot that senses the pressure of the vessel",
    "limit": "what a value is held against, of its own unit",
    "bad": "bool or array of bool",
    "words": "what is said where it holds",
    "line_fluid": "`Adiabatic`, `Expanding` or `Incompressible`",
    "place": "what `outlet` knows of the line's end",
    "pieces": "the runs of a line",
    "stations": "the stations along a line",
    "inlet": "a `lines.line.Line` from the vessel to the valve",
    "outlet": "a `lines.line.Line` from the valve to its end",
}


def symbol(name):
    """The `Symbol` of a quantity.

    Parameters: name, str. Returns Symbol. Raises InputError for an unknown name.
    >>> symbol("mass_flow").display_unit("US")
    'lb/h'
    """
    if name not in SYMBOLS:
        raise InputError(f"quantity '{name}' is not in the table of symbols")
    return SYMBOLS[name]
