"""Nonsense given to every public function of the physics: refused in words, or NaN; never a number.

What a function is called with in its own example, or where it has none what other functions are
called with under the same name, is changed one argument at a time.
"""

import dataclasses
import doctest
import importlib
import inspect
import math
import signal
import sys
import warnings
from functools import cache

import numpy as np
import pytest

from relieflib.causes.exterior_fire_gas import FireCase, expose
from relieflib.causes.loss_of_cooling import blanketed_duty
from relieflib.causes.shared.valve_flow import critical_pressure_factor
from relieflib.causes.tank_breathing import emergency_credit, emergency_heat
from relieflib.devices import Device
from relieflib.errors import InputError, ValidityWarning
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.steam import Steam
from relieflib.orifices import arrangements
from relieflib.sizing import ReliefLoad, size
from relieflib.symbols import SYMBOLS

from .test_symbols import FREE, PHYSICS

ROOMS = [name for name in PHYSICS if name not in FREE]
LIMIT = 3.0  # s of processor time for one call
STEAM = ReliefLoad("x", 10.0, Steam(20e5, 700.0))


def choked_gas_through_balanced(back_pressure):
    load = ReliefLoad("x", 10.0, Gas(12e5, 313.0, molar_mass=18.0, k=1.28))
    return size(load, Device("balanced", 10e5, Kb=0.9), back_pressure).required_area


def fire_case(**changed):
    good = dict(volume=20.0, exposed_area=50.0, diameter=2.0, wall_thickness=0.014, pressure=13e5,
                temperature=311.0, molar_mass=5.86, k=1.338, set_pressure=17e5,
                full_pressure=20.37e5, valve_area=4e-4, inside=20.0)  # fmt: skip
    return FireCase(**good | changed)


MAY_BE_NEGATIVE = {
    "gauge pressure", "pressure difference", "dimensionless", "angle", "level", "specific energy",
    "expansion coefficient",
}  # fmt: skip
PLACES = ("elevation", "center_", "enthalpy", "downwind", "crosswind")  # below, or upwind, of zero
SOLVED = "takes only what other functions have solved, and reads it: no number is given to it"
UNANSWERED = ("not known", "not answerable")
KEEPS = {  # answers that stay plain numbers with NaN in, and why that is right
    ("lines.line.runs", "mass_flow"): "without a viscosity the friction is that of full "
    "turbulence whatever the flow; the flow itself stays NaN in all that follows",
    ("disposal.header.releases_of", "pressure"): "it is asked whether a liquid boils, no more",
    ("lines.line_fluids.fluid_in_line", "pressure"): "the pressure says whether the fluid may be "
    "taken as a liquid; it stays NaN in all that follows",
}  # fmt: skip
INSIDE = "for the inside of an integration: plain floats, which its caller has checked"
NOT_ASKED = {
    "nozzle.gas.flux_of_volume": INSIDE, "nozzle.gas.choked_square": INSIDE,
    "nozzle.two_phase.homogeneous_flux": INSIDE, "nozzle.two_phase.printed_fit": INSIDE,
    "disposal.header.working": SOLVED, "disposal.header.with_kind": SOLVED,
    "disposal.header.face": SOLVED, "disposal.header.bringing": SOLVED,
    "lines.line_steps.friction_steps": SOLVED,
    "lines.line_steps.pressure_steps": SOLVED,
    "lines.disk_line.line_of": "reads an item of a plant's file, which plant.py has checked",
    "fluid_flash.flash_mixture": "after check_inlet alone, which is asked here",
    "causes.power_and_air_failure.loads_by_event": "puts loads together by words",
    "pressure_in_time.sources.power_and_air_failure": "chooses a source by words",
    "disposal.release.highest_at_grade": "over a jet that `jet_of`, asked here, has made",
    "lines.reaction.sound_working": SOLVED,
    "lines.written.tables_of": "writes rows of a table whose every change was checked",
    **dict.fromkeys(("papers.judging.hold", "papers.paper.of_valve", "papers.words.as_text",
                     "papers.words.likely_words", "papers.words.missing", "pid_note.duty_area"),
                    "over papers that were read, which is asked here and in test_papers.py"),
    **dict.fromkeys(("position.isolation.mended", "position.reasons.reason_from",
                     "position.shared_set.mawp_of"),
                    "over placements that were read, which is asked here"),
}  # fmt: skip


def things(what):
    for room in ROOMS:
        module = importlib.import_module(room)
        for name, thing in vars(module).items():
            own = getattr(thing, "__module__", None) == room and not name.startswith("_")
            if own and what(thing):
                yield f"{room.removeprefix('relieflib.')}.{name}", thing


FUNCTIONS = dict(things(inspect.isfunction))


# ------------------------------------------------------------- what each is called with when well
class Seen(BaseException):
    """The function was called: its example need not go on."""


class Recorder:
    """Arguments of the first call of each function, seen while examples run."""

    def __init__(self):
        self.calls = {}
        self.codes = {inspect.unwrap(f).__code__: name for name, f in FUNCTIONS.items()}
        self.wanted = None

    def __call__(self, frame, event, _):
        name = self.codes.get(frame.f_code) if event == "call" else None
        if name is None or (name in self.calls and name != self.wanted):
            return
        if name not in self.calls:
            self.calls[name] = arguments(FUNCTIONS[name], frame.f_locals)
        if name == self.wanted:
            raise Seen

    def example(self, name, function):
        """Run the example of a function up to its own call."""
        tests = doctest.DocTestFinder(recurse=False).find(function, name)
        self.wanted = name
        for test in tests:
            module = sys.modules[function.__module__]
            space = vars(module) | {"__name__": module.__name__}
            sys.setprofile(self)
            try:
                for example in test.examples:
                    exec(compile(example.source, "<example>", "single"), space)
            except Seen:
                break
            finally:
                sys.setprofile(None)


def arguments(function, found):
    out = {}
    for name, one in inspect.signature(function).parameters.items():
        if one.kind is one.VAR_KEYWORD:
            out |= found[name]
        elif one.kind is not one.VAR_POSITIONAL:
            out[name] = found[name]
    return out


def by_hand():
    """{function: good arguments} where neither an example nor a name tells them."""
    from relieflib.causes import tank_breathing
    from relieflib.causes.closed_outlet import PumpCurve
    from relieflib.causes.shared.reactor import Batch
    from relieflib.devices import Device
    from relieflib.disposal import drum, flame, purge_and_seal, release, stack
    from relieflib.disposal.destination import Place
    from relieflib.disposal.finding import Finding
    from relieflib.disposal.hazards import Hazards
    from relieflib.geometry import Vessel
    from relieflib.lines import inlet, outlet
    from relieflib.lines.line import Line, Part
    from relieflib.lines.line_fluids import Adiabatic
    from relieflib.nozzle.liquid import Liquid
    from relieflib.plant import load_plant
    from relieflib.pressure_in_time import sources
    from relieflib.sizing import ReliefLoad, size

    gas = Gas(20e5, 330.0, molar_mass=44.1, k=1.1)
    liquid = Liquid(20e5, 700.0, saturation_pressure=2e5)
    flare = Place("FH", "flare", takes=("gas",), lowest_pressure=106325.0)
    known = Hazards(flammable=True, toxic=False, flammable_limit=0.021)
    jet = release.jet_of(3.0, gas, 0.0779)
    flared = flame.FlaredGas(12.6, 422.0, 46.1, 1.1, 50e6, 0.021, 0.3)
    shape = flame.by_chart(52.0, 0.85, 0.35)
    tip = stack.Stack(0.46, 33.7, 8.9)
    sizing = size(ReliefLoad("x", 2.0, gas), Device(set_pressure_gauge=17e5))
    line = Line([Part("other", 0.15405, K=2.0)])
    disk = Line([Part("other", 0.1, K=2.6), Part("rupture disk", 0.1)])
    out, into = outlet.check(sizing, line), inlet.check(sizing, line)
    batch = Batch(8000.0, 15.7, "n-Hexane", 2800.0, 380.0, 170.0, 1e8, 11000.0, 5e5, 5.5e5)
    plant, pressures = load_plant(), (5e5, 20e5)
    arrival = drum.Arrival("x", 21.3, 3.9, vapor_density=2.9, liquid_density=496.6,
                           vapor_viscosity=1e-5)  # fmt: skip
    place = dict(downwind=30.0, crosswind=5.0, receiver_elevation=1.0)
    heat = dict(flame=shape, heat_release=630e6, radiated_fraction=0.3, stack_height=33.7)
    at = dict(jet=jet, hazards=known, wind_velocity=5.0)
    return {
        "causes.reverse_flow.bore_load": dict(source=gas, stream=gas, check_valve_diameter=0.1),
        "causes.shared.reactor.integrated_area": dict(batch=batch, highest_pressure=6e5,
                                                      time=3000.0),
        "causes.shared.valve_flow.liquid_steps": dict(
            source=liquid, flow_coefficient=50.0, downstream_pressure=5e5, FL=0.9,
            critical_pressure=40e5),
        "causes.shared.valve_flow.gas_steps": dict(
            source=gas, flow_coefficient=50.0, downstream_pressure=5e5, xT=0.7),
        "causes.shared.valve_flow.opening_steps": dict(
            source=gas, downstream_pressure=5e5, opening_area=1e-3, orifice_coefficient=0.7),
        "disposal.drum.check": dict(drum=drum.of_plant(plant), arrivals=[arrival],
                                    header_pressure=1.1e5),
        "disposal.finding.about": dict(findings=[Finding("a", True, ())], subject="a"),
        "disposal.flame.checked_gases": dict(gases={"Methane": 1.0}, known=["Methane"]),
        "disposal.header.releases_of": dict(loads={"x": {"a": sizing.load}}, pressure=1.2e5),
        "disposal.destination.route": dict(stream=gas, hazards=known, place=flare),
        "disposal.destination.compare": dict(stream=gas, hazards=known, places=[flare]),
        "disposal.plant_tree.mounted": dict(plant=plant, name="FH"),
        "disposal.plant_tree.faced": dict(plant=plant, name="FH", loads={}),
        "pressure_in_time.sources.tank_breathing": dict(load=tank_breathing.air_load(1.0, 1.02e5)),
        "pressure_in_time.sources.exterior_fire_liquid": dict(
            vessel=Vessel("vertical", 2.0, length=5.0, head_type="flat"), elevation=1.0,
            environment_factor=1.0,
            piping_allowance=0.1),
        "pressure_in_time.sources.loss_of_cooling": dict(
            fluid="Propane", coefficient=600.0, surface=86.0, hot_temperature=400.0,
            pressures=pressures),
        "disposal.purge_and_seal.vacuum_verdict": dict(
            header_pressure=0.9e5, seal=purge_and_seal.of_plant(plant), atmosphere=101325.0),
        "disposal.radiation.field": heat | place | dict(points=1, relative_humidity=0.3),
        "disposal.radiation.worst_at_grade": heat | dict(points=1, solar_flux=800.0),
        "disposal.release.jet_of": dict(mass_flow=3.0, gas=gas, exit_diameter=0.0779,
                                        atmosphere=101325.0, air_temperature=293.15),
        "disposal.release.gates": at | dict(gas_viscosity=1e-5),
        "disposal.release.cloud": dict(jet=jet, exit_height=20.0, wind_velocity=5.0,
                                       volume_fraction=0.021),
        "disposal.release.check": at | dict(exit_height=20.0, gas_viscosity=1e-5),
        "disposal.stack.tip_sound_level": dict(gas=flared, tip_pressure=3e5, distance=30.0,
                                               atmosphere=101325.0),
        "disposal.stack.at_tip": dict(
            mass_flow=3.0, fluid=Adiabatic(300.0, 44.1, 1.1),
                                    radiated_fraction=0.3),
        "disposal.stack.felt": dict(gas=flared, stack=tip, flame=shape) | place,
        "disposal.stack.rings": dict(gas=flared, stack=tip, flame=shape,
                                     radiation=np.array([6310.0]), count=37),
        "disposal.stack.item_of": dict(plant=plant, header="FH"),
        "lines.disk_line.capacity": dict(stream=gas, line=disk, back_pressure=1.1e5),
        "lines.disk_line.device": dict(stream=gas, line=disk, back_pressure=1.1e5,
                                       set_pressure_gauge=17e5, atmosphere=101325.0),
        "lines.disk_line.working": dict(stream=gas, line=disk, back_pressure=1.1e5),
        "lines.inlet.engineering_analysis": dict(check=into, blowdown=0.07, opening_time=0.02,
                                                 sound_speed=250.0, blowdown_margin=0.02),
        "lines.reaction.of_outlet": dict(check=out, dynamic_load_factor=2.0),
        "lines.reaction.leg_forces": dict(check=out, dynamic_load_factor=2.0),
        "pressure_in_time.sources.pump": dict(
            curve=PumpCurve(120.0, 100.0, 0.010), suction_pressure=2e5, density=800.0,
            pressures=(9.3e5, 11e5), elevation=1.0),
        "pressure_in_time.sources.liquid_through_valve": dict(
            source=liquid, flow_coefficient=50.0, FL=0.9, critical_pressure=40e5,
            pressures=(5e5, 15e5)),
        "pressure_in_time.sources.pushed_by": dict(
            source=sources.closed_outlet(2.0, 300.0), molar_mass=20.0, temperature=300.0, Z=0.9),
        "pressure_in_time.sources.reverse_flow": dict(
            load=lambda P: ReliefLoad("x", 2.0 + 0.0 * P, None), pressures=pressures,
            density=10.0, temperature=300.0),
        "pressure_in_time.sources.volatile_ingress": dict(
            load=lambda P: ReliefLoad("x", 2.0, None), pressures=pressures, temperature=400.0),
        "pressure_in_time.sources.abnormal_heat_input": dict(
            fluid="Propane", power_at=lambda T: 1e6 + 0.0 * T, pressures=pressures,
            remaining_cooling=1e5),
    }  # fmt: skip


@cache
def well_called():
    """{function: good arguments}: of its example, by hand, or what others take by the same names.

    A function that fits none of the three is not in it.
    """
    recorder = Recorder()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name, function in FUNCTIONS.items():
            if name not in recorder.calls:
                recorder.example(name, function)
        calls = recorder.calls | by_hand()
    for name in [one for one in FUNCTIONS if one not in calls]:
        given = from_others(FUNCTIONS[name], recorder.calls)
        if given is not None and call(name, given)[0] == "gave":
            calls[name] = given
    return {name: given for name, given in calls.items() if name not in NOT_ASKED}


def from_others(function, calls):
    """Arguments of a function by the names under which others take theirs, or None."""
    pool = {k: v for given in calls.values() for k, v in given.items() if v is not None}
    given = {}
    for name, one in inspect.signature(function).parameters.items():
        if one.kind in (one.VAR_KEYWORD, one.VAR_POSITIONAL) or one.default is not one.empty:
            continue
        if name not in pool:
            return None
        given[name] = pool[name]
    return given


# --------------------------------------------------------------------------------- the nonsense
class TooLong(BaseException):
    """A call took more than `LIMIT`."""


def _stop(*_):
    raise TooLong


def is_number(value):
    return isinstance(value, (int, float, np.number)) and not isinstance(value, bool)


def nonsense(name, value):
    """What is put in the place of a good value: {words: value}."""
    if isinstance(value, np.ndarray) and value.dtype.kind == "f":
        bad = {"NaN": np.full(value.shape, np.nan), "inf": np.full(value.shape, np.inf)}
        return bad | {"text": "5", "huge": 10**400, "none of it": np.array([])}
    if not is_number(value):
        return {"text": "nonsense", "number": math.nan}
    bad = {"NaN": math.nan, "inf": math.inf, "text": "5", "None": None, "huge": 10**400,
           "large": 1e300, "zero": 0.0, "minus": -abs(float(value)) or -1.0,
           "minus inf": -math.inf, "shape": np.full((2, 2), float(value))}  # fmt: skip
    if type(value) is int:
        bad["half"] = value + 0.5
    return bad


def numbers_in(value, depth=4):
    """Every number in a result, those of its fields and steps too."""
    if depth < 0 or value is None or isinstance(value, (str, bytes, bool, np.bool_)):
        return
    if is_number(value):
        yield float(value)
    elif isinstance(value, np.ndarray):
        if value.dtype.kind in "fiu":
            yield from (float(one) for one in value.flat)
        elif value.dtype.kind == "O":
            yield from numbers_in(list(value.flat), depth)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from numbers_in(getattr(value, field.name), depth - 1)
    elif isinstance(value, dict):
        yield from numbers_in(list(value.values()), depth)
    elif isinstance(value, (list, tuple)):
        for one in value[:200]:
            yield from numbers_in(one, depth - 1)


def call(name, given):
    """What a function answers: ('refused' or 'gave', what)."""
    function = FUNCTIONS[name]
    before = signal.signal(signal.SIGPROF, _stop)
    signal.setitimer(signal.ITIMER_PROF, LIMIT)
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            warnings.simplefilter("error", ValidityWarning)
            return "gave", function(**given)
    except TooLong:
        return "fault", f"no answer in {LIMIT} s"
    except (InputError, ValidityWarning) as error:
        return "refused", error
    except Exception as error:
        return "raised", error
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def fault(name, argument, words, value, given):
    """Why an answer to nonsense is wrong, '' where it is right."""
    kind, answer = call(name, given | {argument: value})
    if kind == "fault":
        return answer
    if kind == "raised":
        if isinstance(answer, OverflowError) and "too large to convert" in str(answer):
            return ""  # Python's words, as good as a TypeError's
        plain = isinstance(answer, TypeError) and words in ("text", "None", "huge", "number")
        duck = isinstance(answer, AttributeError) and not is_number(given[argument])
        if plain or duck or (isinstance(answer, TypeError) and words == "shape"):
            return ""
        return f"{type(answer).__name__}: {answer}"
    if kind == "refused":
        return ""
    return wrong_number(name, argument, words, answer, given)


def wrong_number(name, argument, words, answer, given):
    if (name, argument) in KEEPS or any(one in str(answer) for one in UNANSWERED):
        return ""
    found = list(numbers_in(answer))
    if words in ("NaN", "inf", "minus inf", "huge", "text") and is_number(given[argument]):
        if found and all(math.isfinite(n) for n in found):
            return f"gave {str(answer)[:60]!r}"
    kind = SYMBOLS[argument].kind if argument in SYMBOLS else "none"
    if (
        words == "minus"
        and kind not in MAY_BE_NEGATIVE | {"none"}
        and found
        and not any(part in argument for part in PLACES)
    ):
        if all(math.isfinite(n) for n in found):
            return f"gave {str(answer)[:60]!r}"
    return ""


def every_call(calls):
    for name, given in calls.items():
        for argument, value in given.items():
            if argument == "working":  # steps of a function that was asked itself
                continue
            for words, bad in nonsense(argument, value).items():
                yield name, argument, words, bad, given


def test_every_public_function_is_asked():
    unreached = set(FUNCTIONS) - set(well_called()) - set(NOT_ASKED)
    assert not unreached, f"give good arguments by hand, or a reason: {sorted(unreached)}"
    assert set(NOT_ASKED) <= set(FUNCTIONS), "a reason for a function that is no more"


def test_what_is_given_when_well_is_answered():
    # else a function that refuses everything would pass below
    bad = {name: answer for name, given in by_hand().items()
           for kind, answer in [call(name, given)] if kind != "gave"}  # fmt: skip
    assert not bad


@pytest.mark.parametrize("room", sorted({name.rpartition(".")[0] for name in FUNCTIONS}))
def test_nonsense_is_refused_in_words_or_stays_nan(room):
    wrong = []
    for name, argument, words, bad, given in every_call(well_called()):
        if name.rpartition(".")[0] == room:
            said = fault(name, argument, words, bad, given)
            if said:
                wrong.append(f"{name}({argument} = {words}): {said}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("ask", [
    lambda: size(STEAM, Device(), math.nan).required_area,
    lambda: emergency_heat(50.0, math.nan),
    lambda: emergency_credit("drainage", math.nan),
    lambda: choked_gas_through_balanced(math.nan),
])  # fmt: skip
def test_nan_is_never_a_plausible_number(ask):
    assert math.isnan(ask())


@pytest.mark.parametrize("ask, words", [
    (lambda: Device(atmosphere=-1e5), "atmosphere"), (lambda: Device(atmosphere=0.0), "atmosphere"),
    (lambda: size(STEAM, edition=math.nan), "edition"), (lambda: size(STEAM, edition="10"), "edit"),
    (lambda: size(STEAM, edition=[10]), "edition"), (lambda: size(STEAM, edition=10.0), "edition"),
    (lambda: arrangements(0.01, 2.5), "whole number"), (lambda: arrangements(0.01, 10**9), "whole"),
    (lambda: blanketed_duty("Propane", 15e5, 0.1, 600.0, 86.0, -306.0), "cooling_temperature"),
    (lambda: critical_pressure_factor(1e9, 3e5), "FF"),
    (lambda: expose(fire_case(), time=math.nan), "time"),
    (lambda: expose(fire_case(), time=1e-300), "time"),
    (lambda: expose(fire_case(), steps=10**9), "steps"),
    (lambda: fire_case(molar_mass=math.nan), "molar_mass"),
    (lambda: fire_case(k=math.inf), "k = inf"),
])  # fmt: skip
def test_the_impossible_is_named(ask, words):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ValidityWarning)
        with pytest.raises(InputError, match=words):
            ask()
