"""Nonsense given to every public function of the physics: refused in words, or NaN; never a number.

What a function is called with in its own example, or where it has none what other functions are
called with under the same name, is changed one argument at a time. A run of the suite takes a
sample, another one for another `RELIEFLIB_NONSENSE` (a whole number); `all` takes every call.
"""

import dataclasses
import doctest
import importlib
import inspect
import math
import os
import signal
import sys
import warnings

import numpy as np

from relieflib.errors import InputError, ValidityWarning
from relieflib.symbols import SYMBOLS

from .test_symbols import FREE, PHYSICS

ROOMS = [name for name in PHYSICS if name not in FREE]
SEED = os.environ.get("RELIEFLIB_NONSENSE", "0")
SHARE = 1 if SEED == "all" else 8  # one call of so many
LIMIT = 3.0  # s of processor time for one call
MAY_BE_NEGATIVE = {
    "gauge pressure", "pressure difference", "dimensionless", "angle", "level", "energy per mass",
    "expansion coefficient",
}  # fmt: skip
PLACES = ("elevation", "center_", "enthalpy", "downwind", "crosswind")  # below, or upwind, of zero
INSIDE = "for the inside of an integration: plain floats, which its caller has checked"
NOT_ASKED = {
    "nozzle.gas.flux_of_volume": INSIDE, "nozzle.gas.choked_square": INSIDE,
    "nozzle.two_phase.homogeneous_flux": INSIDE, "nozzle.two_phase.printed_fit": INSIDE,
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


def well_called():
    """{function: good arguments}: of its example, then of what others take by the same names."""
    recorder = Recorder()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name, function in FUNCTIONS.items():
            if name not in recorder.calls:
                recorder.example(name, function)
    return recorder.calls


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
        plain = isinstance(answer, TypeError) and words in ("text", "None", "huge", "number")
        duck = isinstance(answer, AttributeError) and not is_number(given[argument])
        if plain or duck or (isinstance(answer, TypeError) and words == "shape"):
            return ""
        return f"{type(answer).__name__}: {answer}"
    if kind == "refused":
        return ""
    return wrong_number(argument, words, answer, given)


def wrong_number(argument, words, answer, given):
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
            for words, bad in nonsense(argument, value).items():
                yield name, argument, words, bad, given
