"""One case as data: which cause, of what, with every input as it was written.

In the file a case is a table, named by the tag of what is protected and by words of its own:

    [cases.V-104."control valve opens, with bypass"]
    cause = "control_valve_opens"       # a module of relieflib.causes
    way = "gas_load"                    # its function; relief_load where left out
    valve = "PSV-105"                   # installed in this file; or `device`, where none is yet
    who = "A. Reader"
    date = "2026-11-26"
    version = "0.6.0"
    [cases.V-104."control valve opens, with bypass".inputs]
    source = { is = "gas", fluid = "rich", pressure = "relieving_pressure of V-101", ... }
    flow_coefficient = "16 Kv"          # a number, a space, a unit
    xT = 0.72                           # a ratio: a number alone
    bypass_coefficient = "bypass_Kv of PV-101"      # what the file says elsewhere

How an input may be written: `inputs`. What stands before and behind the valve of a case that is
sized on a device of its own, `[cases.V-104."...".lines]`: `case_lines`. An installed valve's lines
stand in its own table, `[relief_valves.PSV-105]`: diameter, length and elbows of each, or its
`inlet` and `outlet` as parts, which `relieflib.lines.written` tells.
"""

import importlib
import inspect
import pkgutil
from dataclasses import asdict, dataclass, field, fields
from functools import cache

from relieflib import causes
from relieflib.cause_words import fire_in
from relieflib.credible import published_causes
from relieflib.errors import InputError
from relieflib.texts import harmless

EDITIONS = (10, 9, 7)  # of API 520-I, as `sizing.size`
LONGEST = 200  # characters of a name
RESULT = {"required_area": "area", "mass_flow": "mass flow", "letter": "text", "phase": "text"}
ONLY_RESULT = "result only, inputs not kept"


@dataclass(frozen=True)
class Case:
    """One case of overpressure of one item, as written.

    Parameters
    ----------
    item, name : str
        Tag of what is protected, and the case in words, such as 'fire, high level'.
    cause : str
        Module of `relieflib.causes`; '' only for a case of which the result alone was kept.
    inputs : dict
        Of the cause's function: texts with a unit, numbers without one, tables.
    way : str
        Function of that module which gives the load.
    valve : str
        Tag of an installed valve of the file, which then says device and back pressure; or
    device : dict
        kind, set_pressure_gauge, Kd, Kc and the like, as `Device`, written as inputs are.
    lines : dict
        Inlet and outlet of that device, as `case_lines`.
    back_pressure : str
        With its unit; by default what stands behind its valve (`Plant.back_pressure`), or air.
    edition : int
        Of API 520-I.
    ranges : dict
        Input (dotted inside a table, such as 'stream.temperature') -> what `how_sure` reads.
    when, unless : tuple of str
        Failures of power and air that bring it, and that prevent it, as
        `power_and_air_failure.Consequence`: it is then lifted by event. 'P-101 stopped or FV-101
        closed' among when: either of them brings it.
    alone : bool
        With when: True where it can also happen by itself, and so stands on the ladder too.
    result : dict
        required_area, mass_flow, letter, phase of a case whose inputs were not kept.
    published : str
        Cause of the published list that it stands for, where the words of its name before the
        first comma, or else the module, don't say it: see `published_cause`.
    why, note, source : str
        Judgement behind it; remark; where the numbers come from.
    who, date, version : str
        Who wrote it, when, with which version of the package.
    """

    item: str
    name: str
    cause: str = ""
    inputs: dict = field(default_factory=dict)
    way: str = "relief_load"
    valve: str = ""
    device: dict = field(default_factory=dict)
    lines: dict = field(default_factory=dict)
    back_pressure: str = ""
    edition: int = 10
    ranges: dict = field(default_factory=dict)
    when: tuple = ()
    unless: tuple = ()
    alone: bool = False
    result: dict = field(default_factory=dict)
    published: str = ""
    why: str = ""
    note: str = ""
    source: str = ""
    who: str = ""
    date: str = ""
    version: str = ""

    def __post_init__(self):
        for key in ("item", "name"):
            text = getattr(self, key)
            if not isinstance(text, str) or not text.strip() or len(text) > LONGEST:
                raise InputError(f"{key}: words, {LONGEST} characters at most")
        if self.edition not in EDITIONS:
            raise InputError(f"edition = {self.edition!r}: editions 7, 9 and 10")
        if self.valve and self.device:
            raise InputError("valve, device: give the tag of a valve or a device, not both")
        if self.alone and not self.when:
            raise InputError("alone: belongs to when, without which every case stands by itself")
        if self.valve and self.lines:
            raise InputError(f"lines: those of {self.valve} stand in its own table, relief_valves")
        if not self.inputs and not self.result:
            raise InputError("inputs: the case has none")
        if self.inputs:
            _check_names(self.function, self.inputs)

    @property
    def function(self):
        """The function that gives the load; InputError for a cause or way that is not there."""
        return function_of(self.cause, self.way)

    @property
    def on_ladder(self):
        """True where it stands by itself, not only where a failure brings it."""
        return self.alone or not self.when

    @property
    def only_result(self):
        """True where the inputs were not kept: it is shown, never recomputed."""
        return not self.inputs

    @property
    def published_cause(self):
        """Cause of the published list that it stands for; '' where that is not known."""
        if self.published:
            return self.published
        module = _module(self.cause) if self.cause else None
        listed = list(module.PUBLISHED) if module else []
        said = published_in(self.name)
        if self.cause.startswith("exterior_fire"):
            return "exterior fire"
        return said if said in listed or not listed else listed[0]

    def table(self):
        """What stands in the file: keys in order, nothing that says what is understood."""
        plain = {f.name: f.default for f in fields(self) if f.name not in ("item", "name")}
        found = asdict(self)
        kept = {k: found[k] for k in plain if found[k] not in ({}, (), "") and found[k] != plain[k]}
        order = [k for k in kept if not isinstance(kept[k], dict)]
        order += [k for k in kept if isinstance(kept[k], dict)]
        return {k: list(v) if isinstance(v := kept[k], tuple) else v for k in order}


def published_in(words):
    """Cause of the published list that the words of a rung or a case stand for.

    Parameters: words, str. Returns the cause, or the words before the first comma where none fits.
    Source: API 521, 4.4.
    >>> published_in("power failure, bus A"), published_in("fire, high level")
    ('power failure', 'exterior fire')
    """
    head = words.split(",")[0].strip()
    listed = [row["cause"] for row in published_causes()]
    if head in listed or not head:
        return head
    if fire_in(head):
        return "exterior fire"
    return next((cause for cause in listed if cause.startswith(head)), head)


_TEXTS = ("cause way valve back_pressure published why note source who date version").split()
_TABLES = ("inputs", "device", "lines", "ranges", "result")
_LISTS = ("when", "unless")


def case_of(item, name, values):
    """The `Case` of a table of the file.

    Parameters: item and name, its two keys; values, the table. Returns `Case`. Raises InputError
    naming the key for what is not known, missing or of another shape. Source: the file.
    """
    if not isinstance(values, dict):
        raise InputError("must be a table of keys and values")
    known = {f.name for f in fields(Case)} - {"item", "name"}
    unknown = [key for key in values if key not in known]
    if unknown:
        raise InputError(f"key '{harmless(unknown[0], 60)}' is not known here: {', '.join(known)}")
    for key, value in values.items():
        kind = str if key in _TEXTS else dict if key in _TABLES else list
        kind = {"edition": int, "alone": bool}.get(key, kind)
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            words = {str: "text", dict: "a table", list: "a list of texts", int: "a whole number",
                     bool: "true or false"}  # fmt: skip
            raise InputError(f"{key} = {value!r}: must be {words[kind]}"[:300])
    return Case(item, name, **{k: tuple(v) if k in _LISTS else v for k, v in values.items()})


def causes_known():
    """Names of the modules of `relieflib.causes`, in the order of their notebooks.

    Returns a list. Source: the package itself.
    """
    return sorted(_names(), key=lambda name: _module(name).NOTEBOOK)


@cache
def _names():
    return frozenset(m.name for m in pkgutil.iter_modules(causes.__path__) if not m.ispkg)


STATED = "stated"  # the one cause that is no notebook's: `study.stated`


def _module(name):
    room = "relieflib.study" if name == STATED else causes.__name__
    return importlib.import_module(f"{room}.{name}")


def function_of(cause, way="relief_load"):
    """The function of a cause's module that gives a load.

    Parameters: cause, the module's name; way, the function's. Returns the function. Raises
    InputError for one that is not there. Source: the package itself.
    >>> function_of("closed_outlet").__name__
    'relief_load'
    """
    if cause not in {*_names(), STATED}:
        listed = ", ".join([*causes_known(), STATED])
        raise InputError(f"cause = '{harmless(cause, 60)}': use one of {listed}")
    module = _module(cause)
    found = getattr(module, way, None) if way.isidentifier() and way[0] != "_" else None
    if not inspect.isfunction(found) or found.__module__ != module.__name__ or "load" not in way:
        ways = [n for n, f in vars(module).items() if n.endswith("_load") and n[0] != "_"
                and inspect.isfunction(f) and f.__module__ == module.__name__]  # fmt: skip
        raise InputError(f"way = '{harmless(way, 60)}': {cause} has {', '.join(ways)}")
    return found


@cache
def signature_of(function):
    """The signature of a function or class, looked up once. Parameters: function. Returns it."""
    return inspect.signature(function)


def _check_names(function, inputs):
    """Refuse an input that the function does not take, and one that it needs and has not."""
    takes = signature_of(function).parameters
    unknown = [name for name in inputs if name not in takes]
    if unknown:
        raise InputError(f"inputs: {function.__name__} of this cause has no "
                         f"'{harmless(unknown[0], 60)}'; it takes {', '.join(takes)}")  # fmt: skip
    missing = [n for n, p in takes.items() if p.default is p.empty and n not in inputs]
    if missing:
        raise InputError(f"inputs: {', '.join(missing)} is missing")
