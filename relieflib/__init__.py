"""Sizing and checking of pressure safety valves: equations, loads, checks and slips.

SI inside: Pa absolute unless a name ends in `_gauge`, K, kg/s, m2. A teaching and checking aid:
sizing decisions belong to a competent, licensed engineer under the local code.

The names of `__all__` are the front door: what most work needs.

>>> from relieflib import Gas, ReliefLoad, size
>>> gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
>>> size(ReliefLoad("closed_outlet", 24270 / 3600, gas)).designation
'4P6'

Everything else is reached by attribute, and loaded when it is first asked for.

>>> import relieflib
>>> relieflib.causes.closed_outlet.deadhead_pressure(2e5, 100.0, 800.0) > 9e5
True
"""

import importlib
import pkgutil
from typing import TYPE_CHECKING

__version__ = "0.9.0"

if TYPE_CHECKING:  # what editors and type checkers read; a test holds it against _DOOR
    from relieflib.datasheet.reading import check_file as check_file
    from relieflib.devices import Device as Device
    from relieflib.errors import InputError as InputError, ValidityWarning as ValidityWarning
    from relieflib.lines.line import Line as Line, Part as Part
    from relieflib.nozzle.gas import Gas as Gas
    from relieflib.nozzle.liquid import Liquid as Liquid
    from relieflib.nozzle.real_fluid import RealFluid as RealFluid
    from relieflib.nozzle.steam import Steam as Steam
    from relieflib.nozzle.two_phase import TwoPhase as TwoPhase
    from relieflib.orifices import select_letter as select_letter
    from relieflib.plant import load_plant as load_plant
    from relieflib.safeguard.installed import Valve as Valve
    from relieflib.safeguard.judge import cover as cover
    from relieflib.safeguard.table import matrix as matrix
    from relieflib.set_pressure import (
        accumulation_limit as accumulation_limit,
        highest_set as highest_set,
        relieving_pressure as relieving_pressure,
    )
    from relieflib.sizing import (
        ReliefLoad as ReliefLoad,
        Sizing as Sizing,
        rated_flow as rated_flow,
        size as size,
    )
    from relieflib.summary import compare as compare
    from relieflib.units import from_si as from_si, to_si as to_si

# Name at the door -> its module, which loads when the name is first asked for: the import of the
# package alone costs next to nothing.
_DOOR = {
    "Gas": "nozzle.gas",
    "Steam": "nozzle.steam",
    "Liquid": "nozzle.liquid",
    "TwoPhase": "nozzle.two_phase",
    "RealFluid": "nozzle.real_fluid",
    "Device": "devices",
    "ReliefLoad": "sizing",
    "Sizing": "sizing",
    "size": "sizing",
    "rated_flow": "sizing",
    "relieving_pressure": "set_pressure",
    "accumulation_limit": "set_pressure",
    "highest_set": "set_pressure",
    "select_letter": "orifices",
    "Line": "lines.line",
    "Part": "lines.line",
    "compare": "summary",
    "Valve": "safeguard.installed",
    "cover": "safeguard.judge",
    "matrix": "safeguard.table",
    "check_file": "datasheet.reading",
    "load_plant": "plant",
    "to_si": "units",
    "from_si": "units",
    "InputError": "errors",
    "ValidityWarning": "errors",
}
__all__ = ["__version__", *_DOOR]


def lazily(package, path):
    """`__getattr__` and `__dir__` of a package whose modules load when they are first asked for.

    Parameters: package, its name; path, its `__path__`. Returns two functions.
    """
    rooms = {module.name for module in pkgutil.iter_modules(path)} - {"__main__"}

    def load(name):
        if name in rooms:
            return importlib.import_module(f"{package}.{name}")
        raise AttributeError(f"module '{package}' has no attribute '{name}'")

    return load, lambda: sorted(rooms)


_room, _rooms = lazily(__name__, __path__)


def __getattr__(name):
    if name not in _DOOR:
        return _room(name)
    thing = getattr(importlib.import_module(f"{__name__}.{_DOOR[name]}"), name)
    globals()[name] = thing
    return thing


def __dir__():
    return sorted({*globals(), *_DOOR, *_rooms()})
