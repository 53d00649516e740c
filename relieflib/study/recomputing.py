"""One case computed: from what is written to a load, and to the area that its device needs."""

import warnings
from dataclasses import dataclass, field, replace

from relieflib.devices import Device
from relieflib.errors import InputError, ValidityWarning
from relieflib.lines import disk_line
from relieflib.sizing import ReliefLoad, Sizing, size
from relieflib.study import case_lines
from relieflib.study.case import Case, signature_of
from relieflib.study.case_lines import part_words
from relieflib.study.inputs import Inputs, written
from relieflib.toml_lines import key_at
from relieflib.working import Working


def load_of(case, plant=None, changed=None, where="case"):
    """The load of a case.

    Parameters: case, a `Case` with inputs; plant, where it looks up what it refers to, None for
    sea level and nothing else; changed, {dotted input: value in SI, or array} in place of what is
    written, such as {"stream.temperature": 320.0}; where, words before a message. Returns
    `ReliefLoad`. Raises InputError as the cause's function, and for an input that can't be read.
    Source: as the cause's module.
    >>> gas = {"is": "gas", "pressure": "18 bara", "temperature": "40 °C", "k": 1.3,
    ...        "molar_mass": "5.9 kg/kmol"}
    >>> case = Case("V-1", "closed outlet", "closed_outlet", {"inflow": "3600 kg/h", "stream": gas})
    >>> load_of(case).mass_flow
    1.0
    """
    return _load(case, Inputs(plant, changed, where))


def _load(case, reader):
    where = reader.where
    if case.only_result:
        raise InputError(f"{where}: its inputs were not kept, so it can't be recomputed")
    function = case.function
    given = reader.all_of(case.inputs)
    takes = signature_of(function).parameters
    for name in set(reader.changed) - reader.used:  # what the case leaves as the function has it
        if name in takes:
            given[name] = reader.changed[name]
            reader.used.add(name)
    unused = set(reader.changed) - reader.used
    if unused:
        raise InputError(f"{where}: has no input '{min(unused)}'")
    takes_working = "working" in takes
    if reader.steps and takes_working and "working" not in given:
        given["working"] = tuple(reader.steps)
    load = function(**given)
    if not isinstance(load, ReliefLoad):
        raise InputError(f"{where}: {case.way} gives no load")
    if reader.steps and not takes_working:
        load = replace(load, working=Working([*reader.steps, *load.working]))
    return load


def device_of(case, plant, load):
    """The device on which a case is sized, and the back pressure behind it.

    Parameters: case; plant; load, its `ReliefLoad`. Returns (`Device`, Pa absolute): what the case
    says, or its valve's, or that of the one valve which protects its item, as `seen_by`. Raises
    InputError for a valve that is not there. Source: `sizing.size`.
    """
    reader = Inputs(plant)
    plant = reader.plant
    tag = case.valve or ("" if case.device else _only_valve(plant, case.item))
    if tag:
        device, back = seen_by(plant, tag, load)
    else:
        given = reader.all_of(case.device, ("device",))
        device = Device(**{"atmosphere": plant.atmosphere} | given)
        back = plant.atmosphere
    if case.back_pressure:
        back = reader.value("back_pressure", case.back_pressure, ("back_pressure",))
    return device, back


def _only_valve(plant, item):
    valves = [i.tag for i in plant.protecting(item) if i.section != "tank_vents"]
    return valves[0] if len(valves) == 1 else ""


def seen_by(plant, tag, load):
    """A relief valve or rupture disk as a load meets it: `Device` and back pressure [Pa absolute].

    Parameters: plant; tag; load, `ReliefLoad`. Returns (`Device`, float). Raises InputError for a
    tag that is neither. Source: `Plant.back_pressure`; `lines.disk_line`.
    """
    item, back = plant[tag], plant.back_pressure(tag, load)
    if item.section == "rupture_disks" and hasattr(item, "outlet_length"):
        line, burst = disk_line.line_of(item), item.burst_pressure_gauge
        made = disk_line.device(load.stream, line, back, burst, atmosphere=plant.atmosphere)
        return made, back
    return plant.device(tag), back


def sizing_of(case, plant=None, changed=None, where="case"):
    """The sizing of a case. Parameters, errors and source as `load_of`. Returns `Sizing`."""
    load = load_of(case, plant, changed, where)
    return in_lines(case, plant, load)[0]


def in_lines(case, plant, load, back_pressure=None, set_pressure_gauge=None):
    """A case whose load is known, sized on its device, and between its lines where it gives them.

    Parameters: case; plant; load, its `ReliefLoad`; back_pressure [Pa absolute] and
    set_pressure_gauge [Pa gauge] in place of the case's own. Returns (`Sizing`, {side:
    `LineCheck`}). Raises InputError as `device_of` and `case_lines.sized`. Source: the same.
    """
    device, back = device_of(case, plant, load)
    back = back if back_pressure is None else back_pressure
    if set_pressure_gauge is not None:
        device = replace(device, set_pressure_gauge=set_pressure_gauge)
    if not case.lines:
        return size(load, device, back, case.edition), {}
    lines = case_lines.read(case.lines, device.atmosphere)
    return case_lines.sized(load, device, back, case.edition, lines)


@dataclass(frozen=True)
class Done:
    """One case recomputed: load and sizing, or the words why not.

    case; load, `ReliefLoad` or None; sizing, `Sizing` or None; words, '' where all went well;
    warned, what the equations say of their validity; line, of the file; inputs, {dotted name: text}
    of every input as it was read, with what stands elsewhere in the file, device and back pressure;
    where, file, item and case in words; lines, {side: `LineCheck`} of those that the case gives.
    """

    case: Case
    load: ReliefLoad | None = field(default=None, repr=False)
    sizing: Sizing | None = field(default=None, repr=False)
    words: str = ""
    warned: tuple = ()
    line: int | None = None
    inputs: dict = field(default_factory=dict, repr=False)
    where: str = field(default="", repr=False)
    lines: dict = field(default_factory=dict, repr=False)

    @property
    def good(self):
        """True where it has an area."""
        return self.sizing is not None


def done(case, plant=None, file="study", lines=None):
    """A case recomputed, whatever happens: its fault becomes its words.

    Parameters: case; plant; file, its name; lines, {keys: line} of the file. Returns `Done`.
    Source: as `load_of`.
    """
    return sized(loaded(case, plant, file, lines), plant, lines)


def loaded(case, plant=None, file="study", lines=None):
    """The load of a case, whatever happens; parameters, returns and source as `done`."""
    reader = Inputs(plant, None, f"{file}, {case.item}, {case.name}")
    load, words, warned = _whatever(lambda: _load(case, reader), case, reader.where, lines)
    line = (lines or {}).get(("cases", case.item, case.name))
    return Done(case, load, None, words, warned, line, _as_read(reader), reader.where)


def sized(found, plant=None, lines=None):
    """A case whose load is known with its area, against what its plant knows to stand behind it.

    Parameters: found, `Done` as `loaded` gives; plant; lines as `done`. Returns `Done`. Source:
    `sizing.size`.
    """
    case, load = found.case, found.load
    if load is None:
        return found
    made, words, warned = _whatever(lambda: in_lines(case, plant, load), case, found.where, lines)
    sizing, checks = made or (None, {})
    inputs = found.inputs | (_as_sized(sizing, checks) if sizing else {}) | part_words(case.lines)
    warned = tuple(dict.fromkeys((*found.warned, *warned)))
    return replace(found, sizing=sizing, words=words, warned=warned, inputs=inputs, lines=checks)


def _whatever(act, case, where, lines):
    """What a function gives, or None; its fault in words; what the equations say of validity."""
    found, words = None, ""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", ValidityWarning)
        try:
            found = act()
        except InputError as error:
            words = str(error)
        except Exception as error:  # one bad case never hides the good ones
            words = f"{type(error).__name__}: {error}"
    return found, words and _placed(words, case, where, lines or {}), _said(caught)


def _placed(words, case, where, lines):
    """A fault with the case before it and the line of the file behind it."""
    words = words if words.startswith(where) else f"{where}: {words}"
    at = _line_of(words.removeprefix(f"{where}: "), case, lines)
    at = at or lines.get(("cases", case.item, case.name))
    return words if at is None else f"{words} (line {at})"


def _line_of(words, case, lines):
    """Line of the input, or of what is shared, that words on a case begin with; None for none."""
    key = key_at(words, case.inputs)
    if key:
        return lines.get(("cases", case.item, case.name, "inputs", key))
    rest = words.removeprefix("shared.")
    names = {keys[1]: keys for keys in lines if keys[0] == "shared" and len(keys) > 1}
    shared = key_at(rest, names) if rest != words else ""
    inside = rest.removeprefix(f"{shared}.").split(" ")[0].split(".")[0]
    return lines.get(("shared", shared, inside)) or lines.get(("shared", shared))


def _as_read(reader):
    """Inputs as text, those that can be written."""
    air = reader.plant.atmosphere
    return {dotted: str(written(name, value, atmosphere=air))
            for dotted, (name, value) in reader.read.items()
            if isinstance(value, str | int | float)}  # fmt: skip


def _as_sized(sizing, lines):
    """Device and back pressure, beyond an outlet line where there is one; of a solved header's
    pressure no more digits than any machine finds.
    """
    device, back = sizing.device, sizing.back_pressure
    back = float(f"{lines['outlet'].header_pressure if 'outlet' in lines else back:.7g}")
    found = {"device.kind": device.kind, "back_pressure": written("back_pressure", back)}
    if device.set_pressure_gauge is not None:
        found["device.set_pressure_gauge"] = written(
            "set_pressure_gauge", device.set_pressure_gauge, atmosphere=device.atmosphere
        )
    return found


def _said(caught):
    return tuple(dict.fromkeys(str(w.message) for w in caught if w.category is ValidityWarning))
