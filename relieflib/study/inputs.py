"""What the inputs of a case say, as the values and objects that its cause's function takes.

An input is written as

- a quantity, text: "16 Kv", "17.6 barg", "40 °C"; a ratio, a number alone: 0.72;
- what the file says elsewhere, text: "KEY of TAG" ("largest_trim_Kv of PV-101"), with the section
  before the tag where it stands in two ("mass_flow of streams.9"); "relieving_pressure of TAG" and
  "fire_pressure of TAG" are 110 % and 121 % of MAWP as `Plant.relieving_pressure`; a gauge pressure
  becomes an absolute one where that is asked for;
- an object, a table with `is`: { is = "gas", pressure = ..., temperature = ..., molar_mass = ...,
  k = ..., Z = ... }. Of a fluid of the file: { is = "gas", fluid = "rich", pressure = ...,
  temperature = ... }. Of an item: { is = "vessel", of = "V-101" }. What there is: `FORMS`;
- what a function of the package gives, a table with `by`:
  { by = "exterior_fire_liquid.heat_working", vessel = { is = "vessel", of = "V-101" },
  level = "normal_level of V-101", elevation = "5 m" }.
  Its steps go into the working of the load. What there is: `functions`;
- a sum and the like, a table of one key: { sum = [..., ...] }, also `difference`, `product`,
  `ratio`, `least`, `most`;
- what several cases share, of this item or of another: { shared = "off-gas, cooled" }, written once
  in the file as [shared."off-gas, cooled"], a table as any here.

A mixture of a stream of the file, at another flow, pressure and temperature:
{ is = "mixture", of = "streams.1", mass_flow = ..., pressure = ..., temperature = ... }.
`take = "density"` in a table with `is`, `by` or `shared` takes that one part of what it gives: an
attribute, a number that counts the parts of what gives several, from 0, or a step of its working.

What can't be said: a round trip, in which an input hangs on the load that it leads to (more flow
leaves a cooler hotter, and hotter liquid makes less flow). Work it out apart and type its result.
"""

import importlib
import inspect
import re
from dataclasses import fields, is_dataclass
from functools import cache, reduce
from types import SimpleNamespace

import numpy as np

from relieflib.causes.closed_outlet import PumpCurve, SourceCurve
from relieflib.causes.exterior_fire_gas import Fire
from relieflib.causes.shared.column_in_time import Column
from relieflib.errors import InputError
from relieflib.geometry import Vessel
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.steam import Steam
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.phase_split import Split
from relieflib.plant import COMPONENT_FLUIDS, COMPONENTS, KIND, SECTIONS, Plant, read_value
from relieflib.properties import State
from relieflib.sizing import ReliefLoad
from relieflib.study.case import causes_known, signature_of
from relieflib.symbols import SYMBOLS, symbol
from relieflib.texts import harmless, number_text
from relieflib.units import ATMOSPHERE, to_si
from relieflib.working import Step, Working, step

FORMS = {
    "gas": Gas, "steam": Steam, "liquid": Liquid, "two-phase": TwoPhase, "real fluid": RealFluid,
    "state": State, "mixture": Split, "vessel": Vessel, "pump curve": PumpCurve,
    "source curve": SourceCurve, "fire": Fire, "column": Column,
}  # fmt: skip
MODULES = ("exchanger", "properties", "geometry", "nozzle.two_phase", "set_pressure", "phase_split",
           "causes.shared.heated_contents", "causes.shared.valve_flow")  # fmt: skip
ARITHMETIC = {
    "sum": sum, "least": min, "most": max,
    "difference": lambda values: reduce(lambda a, b: a - b, values),
    "product": lambda values: reduce(lambda a, b: a * b, values),
    "ratio": lambda values: reduce(lambda a, b: a / b, values),
}  # fmt: skip
AS_WRITTEN = ", as the case says"  # ends the source of a step that no equation of a cause gave
DEEPEST = 12  # tables inside tables
_WAYS = ("is", "by", "shared")
_OF = re.compile(r"\s*([A-Za-z_]\w*) of (\S.*?)\s*")
_FLUIDS = ("fluid", "fluids", "host", "mixture", "light", "heavy")
_PRESSURES = {"relieving_pressure": False, "fire_pressure": True}  # -> fire or not


def bare(atmosphere=ATMOSPHERE):
    """A plant of which the site's air alone is known.

    Parameters: atmosphere [Pa]. Returns `Plant`. Source: definition.
    """
    site = SimpleNamespace(name="", atmosphere=atmosphere)
    return Plant(site, {name: {} for name in SECTIONS})


@cache
def functions():
    """Names that `by` knows: 'module.function' of the causes and of `MODULES`.

    Returns {name: function}. Source: the package itself.
    """
    names = [f"causes.{name}" for name in causes_known()] + list(MODULES)
    found = {}
    for name in names:
        module = importlib.import_module(f"relieflib.{name}")
        for key, thing in vars(module).items():
            if inspect.isfunction(thing) and thing.__module__ == module.__name__ and key[0] != "_":
                found[f"{name.rpartition('.')[2]}.{key}"] = thing
    return found


class Inputs:
    """Reads the inputs of one case.

    steps, the working of what it worked out on the way; read, {dotted name: (quantity, value)} of
    what was written or stands elsewhere in the file.

    plant, where 'KEY of TAG' is looked up; changed, {dotted name: value in SI or array} that take
    the place of what is written; where, words before a message.
    """

    def __init__(self, plant=None, changed=None, where="case"):
        self.plant = bare() if plant is None else plant
        self.changed, self.where = dict(changed or {}), where
        self.steps, self.used, self.read, self.shared = [], set(), {}, {}
        self.asked = []  # keys of [shared] that are being worked out

    def all_of(self, inputs, inside=()):
        """Values by name of a table of inputs."""
        return {key: self.value(key, raw, (*inside, key)) for key, raw in inputs.items()}

    def value(self, name, raw, path):
        """The value or object that is written for one input."""
        name = "mass_flow" if name == "masses" else name
        found = self._value(name, raw, path)
        if not isinstance(raw, dict | list):
            self.read[".".join(path)] = name, found
        return found

    def _value(self, name, raw, path):
        dotted = ".".join(path)
        if dotted in self.changed:
            self.used.add(dotted)
            return self.changed[dotted]
        if len(path) > DEEPEST:
            raise InputError(f"{self._at(path)}: more than {DEEPEST} tables inside each other")
        if isinstance(raw, bool):
            return raw
        if isinstance(raw, dict):
            return self._table(name, raw, path)
        if isinstance(raw, list):
            values = [self.value(name, one, (*path, str(i))) for i, one in enumerate(raw)]
            return values if any(isinstance(v, str) for v in values) else tuple(values)
        if isinstance(raw, str) and (match := _OF.fullmatch(raw)):
            return self._elsewhere(name, *match.groups(), path)
        return self._written(name, raw, path)

    def _at(self, path):
        return f"{self.where}: {'.'.join(path)}"

    def _written(self, name, raw, path):
        kind = KIND.get(name)
        if kind is None or (kind == "text" and isinstance(raw, str)):
            if isinstance(raw, str | int | float):
                return self._fluid(raw) if name in _FLUIDS else raw
            raise InputError(f"{self._at(path)} = {raw!r}: not understood"[:300])
        if kind not in ("number", "dimensionless") and isinstance(raw, int | float):
            unit = symbol(name).display_unit() if name in SYMBOLS else "its unit"
            words = f"{raw!r}: write it with its unit: '{raw} {unit}'"
            raise InputError(f"{self._at(path)} = {words}")
        key = path[-1] if path[-1] in KIND else name
        where = self._at(path[:-1]) if len(path) > 1 else self.where
        return read_value(key, raw, where, self.plant.atmosphere)

    def _fluid(self, raw):
        """The name that the properties know of a fluid of the file."""
        row = self.plant.fluids.get(raw)
        return getattr(row, "coolprop", raw)

    # ------------------------------------------------------------ what the file says elsewhere
    def _elsewhere(self, name, key, tag, path):
        if KIND.get(name) == "text" and key not in KIND:
            return f"{key} of {tag}"
        try:
            if key in _PRESSURES:
                found = self.plant.relieving_pressure(tag, fire=_PRESSURES[key])
                return self._as(name, "pressure", found)
            item = self._item(tag)
            if not hasattr(item, key) or key in ("tag", "section"):
                keys = [k for k in vars(item) if k not in ("tag", "section")]
                raise InputError(f"{tag} has no {key}; it has {', '.join(keys)}")
            return self._as(name, KIND[key], getattr(item, key))
        except InputError as error:
            raise InputError(f"{self._at(path)} = '{key} of {tag}': {error}") from None

    def _item(self, tag):
        plant = self.plant
        if tag == "site":
            return plant.site
        section, dot, rest = tag.partition(".")
        if dot and isinstance(getattr(plant, section, None), dict):
            if rest in getattr(plant, section):
                return getattr(plant, section)[rest]
        if tag in plant.items:
            return plant[tag]
        own = ("streams", "utilities", "fluids", "headers", "sources", "pipe_classes")
        there = [s for s in own if tag in getattr(plant, s)]
        if len(there) != 1:
            hint = f"stands in {' and '.join(there)}: write {there[0]}.{tag}" if there else ""
            raise InputError(f"'{harmless(tag, 40)}' {hint or 'is not in the file'}")
        return getattr(plant, there[0])[tag]

    def _as(self, name, kind, value):
        """A value of one kind as the input's: gauge and absolute, and the same kind else."""
        wanted = KIND.get(name, kind)
        alike = {"number": "dimensionless", "interval": "time"}
        wanted, kind = alike.get(wanted, wanted), alike.get(kind, kind)
        if kind == wanted or name in ("ratio", "product"):
            return value
        if (kind, wanted) == ("gauge pressure", "pressure"):
            return self.plant.absolute(value)
        if (kind, wanted) == ("pressure", "gauge pressure"):
            return self.plant.gauge(value)
        raise InputError(f"is a {kind}, {name} a {wanted}")

    # ------------------------------------------------------------ tables
    def _table(self, name, raw, path):
        takes = {key for key in (*_WAYS, *ARITHMETIC) if key in raw}
        if len(takes) != 1:
            raise InputError(f"{self._at(path)}: a table with one of {', '.join(_WAYS)}, "
                             f"{', '.join(ARITHMETIC)}")  # fmt: skip
        how = takes.pop()
        if how in ARITHMETIC:
            return self._sum(how, name, raw, path)
        try:
            made = self._made(how, name, raw, path)
            return (self._part if "take" in raw else self._whole)(name, made, raw)
        except InputError as error:
            said = str(error)
            raise InputError(said if said.startswith(self.where) else f"{self._at(path)}: {said}"
                             ) from None  # fmt: skip

    def _made(self, how, name, raw, path):
        """What a table makes, before a part of it is taken."""
        rest = {k: v for k, v in raw.items() if k not in (how, "take")}
        if how == "shared":
            return self._shared(name, raw[how], rest)
        return (self._object if how == "is" else self._worked_out)(raw[how], rest, path)

    def _shared(self, name, key, rest):
        """What stands under [shared] in the file, worked out once for each kind of quantity."""
        there = self.plant.study.get("shared", {})
        if rest or not isinstance(key, str) or key not in there or key in self.asked:
            words = ("stands alone in its table, but for take" if rest else "needs itself"
                     if key in self.asked else "is not under [shared]")  # fmt: skip
            raise InputError(f"shared = '{harmless(key, 60)}': {words}")
        raw, kind = there[key], KIND.get(name)
        if not isinstance(raw, dict):
            raise InputError(f"shared = '{harmless(key, 60)}': must be a table")
        if (key, kind) not in self.shared:
            self.asked.append(key)
            how = next((w for w in _WAYS if w in raw), "") if isinstance(raw, dict) else ""
            whole = how and "take" not in raw  # a case may take another part of it
            make = self._made if whole else self.value
            given = (how, name, raw) if whole else (name, raw)
            self.shared[key, kind] = make(*given, ("shared", key))
            self.asked.pop()
        return self.shared[key, kind]

    def _sum(self, how, name, raw, path):
        if set(raw) != {how} or not isinstance(raw[how], list) or not raw[how]:
            raise InputError(f"{self._at(path)}: {how} = [..., ...] stands alone in its table")
        free = how if how in ("ratio", "product") else name  # its parts are of any kind
        values = [self.value(free, v, (*path, how, str(i))) for i, v in enumerate(raw[how])]
        found = ARITHMETIC[how](values)
        if name in SYMBOLS:
            words = f"{how} of {', '.join(str(v) for v in raw[how] if not isinstance(v, dict))}"
            self.steps.append(step(name, found, source=f"{words}{AS_WRITTEN}"))
        return found

    def _object(self, what, rest, path):
        if what not in FORMS:
            raise InputError(f"is = '{harmless(what, 40)}': use one of {', '.join(FORMS)}")
        form = FORMS[what]
        own = {}
        if "of" in rest and form is Split:
            own = self._of_stream(rest.pop("of"), rest.pop("mass_flow", None), path)
        elif "of" in rest:
            own = self._of_item(form, rest.pop("of"), path)
        fluid = rest.get("fluid") if form in (Gas, Liquid) else None
        if fluid is not None:
            rest = {k: v for k, v in rest.items() if k != "fluid"}
        given = own | self.all_of(rest, path)
        if fluid is not None:
            more = self._instead(self._fluid_fields(form, fluid, given), path)
            self.read |= {".".join((*path, k)): (k, v) for k, v in more.items() if k not in given}
            given = more | given
        _check_fields(form, what, given)
        return form(**given)

    def _instead(self, found, path):
        """Fields of a fluid, those that are changed in their place."""
        dotted = {key: ".".join((*path, key)) for key in found}
        self.used |= {d for d in dotted.values() if d in self.changed}
        return {key: self.changed.get(d, found[key]) for key, d in dotted.items()}

    def _of_stream(self, tag, flow, path):
        """Fluids and masses of a stream of the file, at its own flow or at another one."""
        stream = self._item(tag)
        masses = [getattr(stream, name, None) for name in COMPONENTS]
        if None in masses:
            raise InputError(f"of = '{harmless(tag, 40)}': has no {' and '.join(COMPONENTS)}")
        if flow is not None:
            share = self.value("mass_flow", flow, (*path, "mass_flow")) / sum(masses)
            masses = [share * mass for mass in masses]
        return {"fluids": list(COMPONENT_FLUIDS), "masses": masses}

    def _of_item(self, form, tag, path):
        """Fields of a vessel or a curve from the item of a tag."""
        item = self._item(tag)
        extra = {"length": getattr(item, "height", None), "head_type": "flat",
                 "orientation": "vertical"} if item.section == "tanks" else {}  # fmt: skip
        found = {}
        for f in fields(form):
            value = getattr(item, f.name, extra.get(f.name))
            if value is not None:
                found[f.name] = value
                self.read[".".join((*path, f.name))] = f.name, value
        return found

    def _fluid_fields(self, form, fluid, given):
        """molar_mass, k and Z, or density and the rest, of a fluid of the file or of CoolProp."""
        row = self.plant.fluids.get(fluid)
        known = {f.name: getattr(row, f.name) for f in fields(form) if hasattr(row, f.name)}
        if known and not hasattr(row, "coolprop"):
            return known
        state = {k: given[k] for k in ("pressure", "temperature") if k in given}
        if form is Liquid and "density" in {**known, **given} and "temperature" not in given:
            return known  # the name alone would give no more than a viscosity
        if len(state) < 2:
            raise InputError(f"fluid = '{fluid}': give pressure and temperature")
        try:
            state = State(getattr(row, "coolprop", fluid), state["pressure"],
                          temperature=state["temperature"])  # fmt: skip
        except InputError as error:
            if row is not None or "not known to CoolProp" not in str(error):
                raise
            raise InputError(f"fluid = '{harmless(fluid, 60)}': neither under [fluids] of the file "
                             "(or not read there) nor known to CoolProp") from None  # fmt: skip
        if form is Gas:
            return dict(molar_mass=state.molar_mass, k=state.k, Z=state.Z)
        given.pop("temperature")
        return dict(density=state.density, viscosity=state.viscosity) | known

    def _worked_out(self, by, rest, path):
        known = functions()
        if by not in known:
            alike = [n for n in known if n.partition(".")[0] == str(by).partition(".")[0]]
            raise InputError(f"by = '{harmless(by, 60)}': no such function"
                             + (f"; there are {', '.join(alike)}" if alike else ""))  # fmt: skip
        given = self.all_of(rest, path)
        _check_arguments(known[by], by, given)
        return known[by](**given)

    def _tell(self, steps):
        """Add steps to the working, those that it has not yet."""
        self.steps += [s for s in steps if not any(s is told for told in self.steps)]

    def _whole(self, name, found, raw):
        """What a table gives: of a load its flow, or its stream; of a working its last value."""
        if isinstance(found, ReliefLoad):
            self._tell(s for s in found.working if s.name != "mass_flow")
            return found.stream if name == "stream" else found.mass_flow
        if _is_working(found):
            self._tell(found)
            return found[-1].value
        if name in SYMBOLS and np.ndim(found) == 0 and isinstance(found, int | float):
            if "by" in raw:
                self.steps.append(step(name, found, source=f"{raw['by']}{AS_WRITTEN}"))
        return found

    def _part(self, name, made, raw):
        """One part of what was made, a step of the working where it is a quantity."""
        steps = getattr(made, "working", made)
        if _is_working(steps) and raw["take"] in (names := [s.name for s in steps]):
            upto = names.index(raw["take"]) + 1
            self._tell(steps[:upto])
            return steps[upto - 1].value
        for one in str(raw["take"]).split("."):
            whole = made
            if one.isdecimal() and isinstance(made, tuple) and int(one) < len(made):
                made = made[int(one)]
                continue
            public = one.isidentifier() and one[0] != "_"
            made = getattr(made, one, None) if public else None
            if made is None or inspect.ismethod(made):
                words = f"take = '{harmless(raw['take'], 40)}': is no part of it"
                raise InputError(words)
        if name in SYMBOLS and isinstance(made, int | float):
            what = next(raw[way] for way in _WAYS if way in raw)
            said = getattr(whole, "source", None) or f"{raw['take']} of the {what}{AS_WRITTEN}"
            self.steps.append(step(name, made, source=said))
        return made


def _is_working(found):
    return isinstance(found, Working) or (
        isinstance(found, list | tuple) and len(found) > 0 and isinstance(found[-1], Step)
    )


def _check_fields(form, what, given):
    takes = {f.name for f in fields(form)} if is_dataclass(form) else set(given)
    unknown = sorted(set(given) - takes)
    if unknown:
        raise InputError(f"{what} has no '{harmless(unknown[0], 40)}'; it has {', '.join(takes)}")
    try:
        signature_of(form).bind(**given)
    except TypeError as error:
        raise InputError(f"{what}: {error}") from None


def _check_arguments(function, by, given):
    try:
        signature_of(function).bind(**given)
    except TypeError as error:
        raise InputError(f"{by}: {error}") from None


# ------------------------------------------------------------ the other way: values as text
def written(name, value, unit_set="SI", atmosphere=ATMOSPHERE):
    """A value in SI as an input is written: text with its unit, which reads back as the same.

    Parameters: name of the quantity; value in SI, or an object of `FORMS`; unit_set; atmosphere
    [Pa]. Returns str, float or dict. Raises InputError for what can't be written.
    Source: definition.
    >>> written("pressure", 1861325.0), written("k", 1.4)
    ('18.61325 bara', 1.4)
    """
    for what, form in FORMS.items():
        if type(value) is form:
            parts = {f.name: getattr(value, f.name) for f in fields(form)}
            kept = {k: v for k, v in parts.items() if v is not None and v != () and k != "origin"}
            return {"is": what} | {k: written(k, v, unit_set, atmosphere) for k, v in kept.items()}
    if isinstance(value, str | bool):
        return value
    if isinstance(value, list | tuple | np.ndarray):
        return [written(name, one, unit_set, atmosphere) for one in value]
    if np.ndim(value) or not isinstance(value, int | float | np.number) or not np.isfinite(value):
        raise InputError(f"{name} = {value!r}: can't be written as an input"[:300])
    value = value.item() if isinstance(value, np.number) else value
    if name not in SYMBOLS or KIND[name] in ("dimensionless", "number"):
        return value
    row = symbol(name)
    unit = row.display_unit(unit_set)
    shown = row.show(value, unit_set, atmosphere)
    return f"{_shortest(shown, lambda x: to_si(x, unit, row.kind, atmosphere), value)} {unit}"


def _shortest(shown, back, value):
    """The fewest digits that read back as the value, to the last digits of a float."""
    for digits in range(4, 17):
        text = number_text(shown, digits)
        if abs(back(float(text)) - value) <= 1e-14 * abs(value):
            return text
    return repr(float(shown))
