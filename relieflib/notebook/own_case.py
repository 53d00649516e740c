"""A reader's own case on a panel: what the panel shows is worked out from the case that is kept.

A notebook says how the numbers of its controls become the inputs of its cause's function, as the
study writes them; load, area and letter on the panel are those of that case recomputed.
"""

import contextlib
import warnings
from functools import lru_cache

from relieflib.datasheet.fluids import fluid_of
from relieflib.devices import DISK_UPSTREAM
from relieflib.errors import InputError, ValidityWarning
from relieflib.lines.written import tables_of
from relieflib.notebook.areas import area_panel
from relieflib.notebook.controls import choice, quantity, typed
from relieflib.properties import State
from relieflib.set_pressure import relieving_pressure
from relieflib.study.case import Case
from relieflib.study.inputs import written
from relieflib.study.recomputing import device_of, in_lines, load_of, sizing_of
from relieflib.symbols import shown
from relieflib.texts import harmless

KINDS = ("conventional", "pilot", "balanced")
FLUID = "fluid: a name or a composition; empty: M, k, Z"
NO_GAS = ("liquid", "two-phase", "supercritical liquid")
_BESIDE = ("cause", "way", "when", "published", "edition", "why", "lines")  # beside its inputs
PHASES = ("gas", "liquid")
EDITIONS = ("10", "9", "7")
# of `own_fluid_controls`, what stands folded: at its start it is a gas, by the newest edition
OF_LIQUID = {"of a liquid, and the edition": (
    "density", "viscosity", "saturation_pressure", "edition")}  # fmt: skip


def told(name, value, atmosphere):
    """Values in SI as a case writes them: tables and lists gone through, texts as they are.

    Parameters: name of the quantity; value, number, text, list or dict by name; atmosphere [Pa].
    Returns the same shape of texts and numbers. Raises InputError for what can't be written.
    >>> told("inputs", {"mass_flow": 1.0, "stream": {"is": "gas", "k": 1.4}}, 101325.0)
    {'mass_flow': '3600 kg/h', 'stream': {'is': 'gas', 'k': 1.4}}
    """
    if isinstance(value, dict):
        return {key: told(key, one, atmosphere) for key, one in value.items()}
    if isinstance(value, list):
        return [told(name, one, atmosphere) for one in value]
    return written(name, value, atmosphere=atmosphere)


def own_panel(plant, cause, controls, inputs_of, rows=(), also=None, either=(), after=None,
              **more):  # fmt: skip
    """A panel of a reader's own case.

    Parameters: plant, for the site's air; cause, module of `relieflib.causes`; controls, with those
    of `valve_controls`; inputs_of(**values) gives the inputs of the cause's function by name, SI,
    tables as a case has them, and beside them what else a case says (`way`, `when`, `edition`,
    `why`); rows as `area_panel`; also, {words: a function as inputs_of} shown beside it; either,
    words of those which may be the case as well: such a one is kept too where it needs more area;
    after(load, **values), steps added to what the panel shows; more as `area_panel`. The panel's
    `case_of(values)` gives the `Case`, its `beside` those of either. Returns `Panel`.
    """

    def case_of(values, inputs=inputs_of):
        return as_case(plant, cause, inputs(**values), values)

    def loads(**values):
        load = load_of(case_of(values))
        found = {cause.replace("_", " "): after(load, **values) if after else load}
        return found | _beside(also or {}, lambda inputs: load_of(case_of(values, inputs)))

    def valve(**values):
        return device_of(case_of(values), None, None)[0]

    def back(**values):
        return device_of(case_of(values), None, None)[1]

    def edition(**values):
        return case_of(values).edition

    # what is only shown for comparison governs nothing
    more = {"lead": "governs" if also and set(also) <= set(either) else ""} | more
    panel = area_panel(controls, loads, rows, valve, back, edition=edition, **more)
    panel.case_of = case_of
    panel.beside = {words: (lambda values, inputs=also[words]: case_of(values, inputs))
                    for words in either}  # fmt: skip
    return panel


def _beside(also, load):
    """Loads shown beside a case; one that can't be is left out, its notes are not the case's."""
    found = {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ValidityWarning)
        for words, inputs in also.items():
            with contextlib.suppress(InputError):
                found[words] = load(inputs)
    return found


def as_case(plant, cause, inputs, values, item="own", name=""):
    """The `Case` that inputs in SI and the controls of a valve make.

    Parameters: plant; cause, its module; inputs as `own_panel` has them; values of the controls;
    item and name of the case. Returns `Case`. Raises InputError as `Case`.
    """
    air, inputs = plant.atmosphere, dict(inputs)
    beside = {key: inputs.pop(key) for key in _BESIDE if key in inputs}
    beside = {"cause": cause} | beside
    if "lines" in beside:
        beside["lines"] = told("", beside["lines"], air)
    back = plant.absolute(values.get("back_pressure_gauge", 0.0))
    return Case(
        item, name or beside["cause"].replace("_", " "), inputs=told("", inputs, air),
        device=told("", _device(air, **values), air),
        back_pressure=written("back_pressure", back, atmosphere=air), **beside)  # fmt: skip


def _device(
    atmosphere,
    kind="conventional",
    mawp_gauge=None,
    set_pressure_gauge=None,
    Kd=None,
    disk_upstream=False,
    **_,
):
    found = {"kind": kind, "atmosphere": atmosphere}
    if kind == "disk":
        return found | ({} if Kd is None else {"Kd": Kd})
    found |= {"Kc": DISK_UPSTREAM} if disk_upstream else {}
    return found | {"set_pressure_gauge": set_pressure_gauge or mawp_gauge}


def valve_controls(mawp_gauge, back_pressure_gauge, low=1.1e5, high=250e5, kinds=KINDS,
                   most_back=30e5):  # fmt: skip
    """Controls of the valve of a reader's own case: set, back pressure, kind.

    Parameters: mawp_gauge and back_pressure_gauge to start at; low and high of the one, most_back
    of the other [Pa gauge]; kinds, the first one to start at. Returns a list of three controls.
    """
    return [
        quantity("mawp_gauge", mawp_gauge, low, high, label="MAWP, and set pressure"),
        quantity("back_pressure_gauge", back_pressure_gauge, 0.0, most_back),
        choice("kind", list(kinds), label="kind of valve"),
    ]


def own_gas_controls(gas, temperature):
    """Controls of a gas for a reader's own case: by name, by composition, or by M, k and Z.

    Parameters: gas, anything with molar_mass, k and Z, to start at; temperature [K]. Returns a list
    of five controls.
    """
    return [
        typed("fluid", label=FLUID, check=named, examples=("Methane",)),
        quantity("molar_mass", gas.molar_mass, 2.0, 200.0),
        quantity("k", gas.k, 1.02, 1.67),
        quantity("Z", gas.Z, 0.3, 1.5),
        quantity("temperature", temperature, 120.0, 900.0, label="relieving temperature"),
    ]


def own_fluid_controls(gas, temperature, density=700.0):
    """Controls of a fluid for a reader's own case that relieves as gas or as liquid, and edition.

    A liquid by name, or by density, viscosity and vapour pressure. Parameters: gas and temperature
    [K] as `own_gas_controls`; density of a liquid to start at [kg/m3]. Returns a list of ten
    controls, whose values `stream_of` takes.
    """
    return [
        choice("phase", PHASES, label="it relieves as"),
        *own_gas_controls(gas, temperature),
        *own_liquid_controls(density),
        choice("edition", EDITIONS, label="edition of API 520-I"),
    ]


def own_liquid_controls(density):
    """Controls of a liquid for a reader's own case. Parameters: density to start at [kg/m3]."""
    return [
        quantity("density", density, 300.0, 1800.0, label="density of a liquid"),
        quantity("viscosity", 1e-3, 5e-5, 5.0, label="viscosity of a liquid"),
        quantity("saturation_pressure", 0.1e5, 100.0, 50e5, label="its vapour pressure, absolute"),
    ]


def stream_of(plant, phase, fire=False, **values):
    """The relieving fluid as a case writes it, gas or liquid. Parameters: plant; phase; fire;
    values of `own_fluid_controls` with mawp_gauge [Pa gauge]. Returns a table.
    """
    return (gas_of if phase == PHASES[0] else liquid_of)(plant, fire=fire, **values)


def liquid_of(plant, fluid, temperature, density, viscosity, saturation_pressure, mawp_gauge,
              fire=False, **_):  # fmt: skip
    """The relieving liquid as a case writes it: the real fluid where it is named.

    Parameters: plant and values of the controls. Returns a table. Raises InputError where the named
    fluid is no liquid at relieving conditions.
    """
    at = {"pressure": relieving(plant, mawp_gauge, fire)}
    if not named(fluid):
        return {"is": "liquid"} | at | {"density": density, "viscosity": viscosity,
                                        "saturation_pressure": saturation_pressure}  # fmt: skip
    P1 = relieving_pressure(mawp_gauge, fire=fire, atmosphere=plant.atmosphere)
    _still(named(fluid), P1, temperature, ("liquid", "supercritical liquid"))
    return {"is": "real fluid", "fluid": named(fluid)} | at | {"temperature": temperature}


@lru_cache(maxsize=256)
def _still(fluid, pressure, temperature, phases):
    phase = State(fluid, pressure, temperature=temperature).phase
    if phase not in phases:
        raise InputError(
            f"{fluid} at {shown('pressure', pressure)} and {shown('temperature', temperature)} is "
            f"{phase}, no {phases[0]}: set its temperature there, or what it relieves as"
        )


def own_result(case, **more):
    """What a panel shows of a reader's own case: its sizing, and the check of each of its lines.

    Parameters: case, a `Case`; more, kept beside them. Returns a dict with sizing, lines and more;
    the words of the lines go to the panel's notes.
    """
    sizing, lines = in_lines(case, None, load_of(case))
    for check in lines.values():
        for words in check.flags:
            warnings.warn(words, ValidityWarning, stacklevel=2)
    return {"sizing": sizing, "lines": lines} | more


def other_row(case_of, values, unit_set):
    """A row of a table: what the same flow would need in the other phase of `PHASES`.

    Parameters: case_of(values) gives the case; values of the controls; unit_set. Returns (label,
    text): '-' where that can't be.
    """
    other = PHASES[PHASES.index(values["phase"]) - 1]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ValidityWarning)
        try:
            sized = sizing_of(case_of(values | {"phase": other}))
        except InputError as error:
            return f"the same as {other}", f"no {other} there" if "no " in str(error) else "-"
    vapor = getattr(sized.load.stream, "saturation_pressure", None)
    boils = "; flashes: see 31" if vapor is not None and vapor > sized.back_pressure else ""
    area = shown("required_area", sized.required_area, unit_set)
    return f"the same as {other}", f"{area}, {sized.letter or 'no single letter'}{boils}"


def line_rows(line):
    """The rows of a `LineTable`, as the lines of a case take them. Parameters: its value."""
    return tables_of(line.rows)


def boiling_control(fluid, label="what boils, most like: a name"):
    """Control of a pure fluid that boils, by its name.

    Parameters: fluid, its name to start at; label. Returns a control named 'fluid'.
    """
    return typed("fluid", fluid, label, check=pure, examples=("n-Pentane",))


def pure(text):
    """The pure fluid that a reader typed, as `named`. Raises InputError for none or a mixture."""
    found = named(text)
    if not found or "[" in found:
        raise InputError(f"fluid '{harmless(text, 60)}': name one pure fluid, the one most like it")
    return found


def boiling_vapor(plant, fluid, mawp_gauge, fire=False):
    """The vapour of what boils while relieving, and its latent heat, as a case writes them.

    Parameters: plant; fluid, pure; mawp_gauge [Pa gauge]; fire. Returns {stream, latent_heat}.
    """
    at = {"fluid": pure(fluid), "pressure": relieving(plant, mawp_gauge, fire)}
    return {"stream": {"is": "real fluid", **at, "quality": 1.0},
            "latent_heat": {"by": "properties.latent_heat", **at}}  # fmt: skip


@lru_cache(maxsize=256)
def named(text):
    """The fluid that a reader typed, as CoolProp writes it; '' for none.

    Parameters: text, a name ('propane') or a composition ('propane 60, n-butane 40 mol %'). Returns
    str. Raises InputError in words where CoolProp has no such fluid or it can't be read.
    """
    text = text.strip()
    if not text:
        return ""
    many = any(c.isdigit() for c in text.replace("n-", "")) and ("%" in text or "," in text)
    found, said = fluid_of({"composition": text} if many or "[" in text else {"fluid": text})
    if not found:
        raise InputError(f"fluid '{harmless(text, 60)}': {said or 'names no fluid'}")
    return found


def relieving(plant, mawp_gauge, fire=False):
    """The relieving pressure as a case writes it: what the code allows over MAWP.

    Parameters: plant; mawp_gauge [Pa gauge]; fire. Returns a table.
    """
    found = {"by": "set_pressure.relieving_pressure", "mawp_gauge": mawp_gauge,
             "atmosphere": plant.atmosphere}  # fmt: skip
    return found | ({"fire": True} if fire else {})


def gas_of(plant, fluid, molar_mass, k, Z, temperature, mawp_gauge, fire=False, real=True, **_):
    """The relieving gas as a case writes it: the real fluid where it is named, else by M, k and Z.

    Parameters: plant and values of the controls; real, False for a cause that takes k of an ideal
    gas, then the named fluid's own. Returns a table. Raises InputError where the named fluid is no
    gas at relieving conditions.
    """
    at = {"pressure": relieving(plant, mawp_gauge, fire), "temperature": temperature}
    if not named(fluid):
        return {"is": "gas"} | at | {"molar_mass": molar_mass, "k": k, "Z": Z}
    P1 = relieving_pressure(mawp_gauge, fire=fire, atmosphere=plant.atmosphere)
    _still_gas(named(fluid), P1, temperature, ("liquid", "two-phase"))
    return {"is": "real fluid" if real else "gas", "fluid": named(fluid)} | at


def source_of(fluid, molar_mass, k, upstream_Z, upstream_pressure, upstream_temperature, **_):
    """The gas of a source as a case writes it. Parameters: values of the controls. Returns a table.

    Raises InputError where the named fluid is no gas there.
    """
    at = {"pressure": upstream_pressure, "temperature": upstream_temperature}
    if not named(fluid):
        return {"is": "gas"} | at | {"molar_mass": molar_mass, "k": k, "Z": upstream_Z}
    _still_gas(named(fluid), upstream_pressure, upstream_temperature)
    return {"is": "gas", "fluid": named(fluid)} | at


@lru_cache(maxsize=256)
def _still_gas(
    fluid, pressure, temperature, no_gas=("liquid", "two-phase", "supercritical liquid")
):
    phase = State(fluid, pressure, temperature=temperature).phase
    if phase in no_gas:
        raise InputError(
            f"{fluid} at {shown('pressure', pressure)} and {shown('temperature', temperature)} is "
            f"{phase}, no gas: set its temperature there, or take the notebook of what boils"
        )
