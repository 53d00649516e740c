"""Errors, warnings and the few checks of arrays that all equations share."""

import importlib
import warnings
from contextvars import ContextVar

import numpy as np

from relieflib.kinds import unit_of
from relieflib.texts import number_text

_INF, _BELOW_ZERO = float("inf"), -5e-324  # the float next below 0
Value = float | np.ndarray  # what equations take and give: a number, or an array of them


class InputError(ValueError):
    """An impossible or unusable value, named with its unit and what is allowed."""


class ValidityWarning(UserWarning):
    """A value outside the range for which an equation was published."""


def need(package):
    """A package that a copy may lack, such as 'CoolProp', imported.

    Parameters: package, its name. Returns the module. Raises InputError in words where it is not
    installed.
    """
    try:
        return importlib.import_module(package)
    except ModuleNotFoundError as error:
        if error.name != package.split(".")[0]:
            raise
        raise InputError(f"needs {package}, which this copy lacks") from None


def _said(name, value):
    """Name, value and unit, written as a user would type them."""
    unit = unit_of(name)
    return f"{name} = {number_text(value)}" + ("" if unit == "-" else f" {unit}")


def some(found):
    """True where any of an array is true; at once for the bool of a single number.

    Parameters: found, a bool or an array of bool. Returns bool.
    >>> some(False), some(np.array([False, True]))
    (False, True)
    """
    return bool(found if isinstance(found, bool | np.bool_) else np.any(found))


def refuse(bad, name, value, rule):
    """Raise `InputError` where `bad` is true.

    Parameters: bad, a bool or array of bool; name of the parameter; value, a number or an
    array of the same shape; rule, words for what is allowed. Returns None.
    Raises InputError with the first bad value, its unit and, for arrays, how many and where.
    >>> refuse(False, "pressure", 1e5, "must be above 0 Pa")
    """
    if not some(bad):
        return
    bad, value = np.broadcast_arrays(np.asarray(bad), np.asarray(value))
    first = tuple(int(i) for i in np.argwhere(bad)[0])
    where = ""
    if bad.ndim:
        index = first[0] if len(first) == 1 else first
        where = f" ({int(bad.sum())} of {bad.size} values; first at index {index})"
    raise InputError(f"{_said(name, float(value[first]))}: {rule}{where}")


def warn_outside(bad, name, value, rule, source):
    """Give a `ValidityWarning` where `bad` is true.

    Parameters: bad, a bool or array; name; value; rule, words for the valid range; source. Returns
    None.
    >>> warn_outside(False, "k", 1.4, "1.0 to 2.0", "API 520-I")
    """
    if some(bad):
        bad, value = np.broadcast_arrays(np.asarray(bad), np.asarray(value))
        first = float(value[bad].flat[0]) if bad.ndim else float(value)
        words, noted = f"{_said(name, first)}: outside {rule} ({source})", _noted.get()
        if noted is None:
            warnings.warn(words, ValidityWarning, stacklevel=3)
        else:
            noted.append(words)


_noted = ContextVar("noted", default=None)  # words of the warnings given, where they are collected


class ValidityNoted:
    """Gives the list of the words of all `ValidityWarning` inside, of which none is given.

    For the rows of a long list: `warnings.catch_warnings` takes as long as sizing a valve does.

    >>> with ValidityNoted() as words:
    ...     warn_outside(True, "k", 2.1, "1.0 to 2.0", "API 520-I")
    >>> words
    ['k = 2.1: outside 1.0 to 2.0 (API 520-I)']
    """

    def __enter__(self):
        words = []
        self._before = _noted.set(words)
        return words

    def __exit__(self, *error):
        _noted.reset(self._before)


class Quiet:
    """No warning is given inside; costs next to nothing where none is already.

    >>> with Quiet(), Quiet():
    ...     warn_outside(True, "k", 2.1, "1.0 to 2.0", "API 520-I")
    """

    _all = None

    def __enter__(self):
        first = warnings.filters[0] if warnings.filters else ()
        if first[:3] != ("ignore", None, Warning):
            self._all = warnings.catch_warnings()
            self._all.__enter__()
            warnings.simplefilter("ignore")

    def __exit__(self, *error):
        if self._all is not None:
            self._all.__exit__(*error)


# What a relief device hardly ever meets: lowest, highest, and the slip behind it. Ours, no source.
PLAUSIBLE = {
    "pressure": (1e4, 5e8, "10 kPa to 500 MPa absolute that a relief device sees: kPa or bar taken "
                 "for Pa, gauge for absolute, or swapped with the temperature?"),
    "temperature": (150.0, 2000.0, "150 K to 2000 K: °C taken for K?"),
    "molar_mass": (1.5, 500.0, "1.5 to 500 kg/kmol: kg/mol taken for kg/kmol?"),
    "density": (70.0, 3000.0, "70 to 3000 kg/m3 of a liquid: a relative density, g/cm3 or lb/ft3 "
                "taken for kg/m3?"),
    "mass_flow": (0.0, 5000.0, "0 to 5000 kg/s for one load: kg/h taken for kg/s?"),
    "set_pressure_gauge": (100.0, 5e8, "100 Pa to 500 MPa gauge: bar or psi taken for Pa?"),
    "diameter": (1e-3, 3.0, "1 mm to 3 m inside: mm or inches taken for m? Part.of takes a "
                 "nominal size"),
    "flange_temperature": (73.0, 2000.0, "73 K to 2000 K: °C taken for K?"),
}  # fmt: skip
HOTTEST = 3000.0  # K: nothing relieved is hotter


def plausible(**values):
    """Give a `ValidityWarning` for values beyond those of the trade, with the likely slip.

    Names of `PLAUSIBLE`; arrays; NaN passes. Returns None. Source: our own bounds.
    >>> plausible(temperature=300.0)
    """
    for name, value in values.items():
        low, high, words = PLAUSIBLE[name]
        if isinstance(value, float) and low <= value <= high:
            continue
        array = np.asarray(value, dtype=float)
        if not array.size or (array.min() >= low and array.max() <= high):
            continue
        bad = (array < low) | (array > high)  # element by element, for NaN too
        shown = "temperature" if name == "flange_temperature" else name
        warn_outside(bad, shown, array, words, "our own bounds of plausibility")


def _as_float(name, value):
    try:
        array = np.asarray(value)
        if value is not None and array.dtype.kind not in "USb":
            return array.astype(float, copy=False)
    except (TypeError, ValueError, OverflowError):
        pass
    raise InputError(f"{name} = {_short(value)}: must be a number or an array of numbers")


def _short(value):
    """What was given, as Python writes it, cut where it is long."""
    try:
        said = repr(value)
    except ValueError:  # a whole number of more digits than Python writes
        said = f"a {type(value).__name__} of very many digits"
    return said if len(said) <= 80 else f"{said[:77]}..."


def one_number(**values):
    """Return the named values as floats; an array, NaN and infinity raise InputError.

    For what goes on step by step, such as an integration in time, where NaN would never end.
    >>> one_number(time=60)
    60.0
    """
    out = []
    for name, value in values.items():
        array = _as_float(name, value)
        if array.ndim or not np.isfinite(array):
            raise InputError(f"{name} = {_short(value)}: must be one finite number")
        out.append(float(array))
    return out if len(out) > 1 else out[0]


def lone(**values):
    """Return the one named value as a float, NaN and infinity too; an array raises InputError.

    >>> lone(safety_time=float("inf"))
    inf
    """
    ((name, value),) = values.items()
    array = _as_float(name, value)
    if array.ndim:
        raise InputError(f"{name} = {_short(value)}: must be one number, not an array")
    return float(array)


def _ends(array):
    """Least and largest value, NaN where there is one; of no values, nothing."""
    if not array.ndim:
        return array[()], array[()]
    return (array.min(), array.max()) if array.size else (None, None)


def _checked(values, fits, words):
    """Return float arrays, a float as numpy's own; `fits(low, high)` judges the extremes first."""
    out = []
    for name, value in values.items():
        if isinstance(value, float) and fits(value, value):
            out.append(np.float64(value))
            continue
        array = _as_float(name, value)
        if array.size and not fits(*_ends(array)):
            refuse(~(fits(array, array) | np.isnan(array)), name, array, words)
        out.append(array)
    _same_shape(values, out)
    return out if len(out) > 1 else out[0]


def _floats(values, above):
    """Values that all are floats above a limit and below infinity, as numpy's own; else None.

    So are those of the rows of a long list, which need no look at shapes.
    """
    for value in values.values():
        if not (isinstance(value, float) and above < value < _INF):
            return None
    return [np.float64(v) for v in values.values()] if len(values) > 1 else np.float64(value)


SHORTEST = 1e-3  # s: no course of a vessel is followed for less
MOST_POINTS = 1_000_000  # of a course


def check_points(steps, least=2):
    """Refuse a number of points in a result that is none. Returns None.

    >>> check_points(200)
    """
    if type(steps) is not int or not least <= steps <= MOST_POINTS:
        rule = f"must be a whole number from {least} to {MOST_POINTS}"
        raise InputError(f"steps = {_short(steps)}: {rule}")


def _same_shape(values, arrays):
    """Refuse arrays that do not go together, by their names."""
    shapes = {name: a.shape for name, a in zip(values, arrays) if a.ndim}
    if len(set(shapes.values())) < 2:
        return
    try:
        np.broadcast_shapes(*shapes.values())
    except ValueError:
        said = ", ".join(f"{name} of shape {shape}" for name, shape in shapes.items())
        raise InputError(f"{said}: arrays must be of one shape, or broadcast") from None


def finite(**values):
    """Return the named values as float arrays; infinite ones raise InputError, NaN passes.

    >>> finite(temperature=300)
    array(300.)
    """
    out = _floats(values, -_INF)
    if out is not None:
        return out
    return _checked(values, lambda lo, hi: (lo > -np.inf) & (hi < np.inf), "must be finite")


def positive(**values):
    """Return the named values as float arrays; zero or less raises InputError, NaN passes.

    >>> positive(pressure=[1e5])
    array([100000.])
    """
    out = _floats(values, 0.0)
    if out is not None:
        return out
    return _checked(values, lambda lo, hi: (lo > 0) & (hi < np.inf), "must be finite and above 0")


def not_negative(**values):
    """Return the named values as float arrays; below zero raises InputError, NaN passes.

    >>> not_negative(back_pressure=0)
    array(0.)
    """
    out = _floats(values, _BELOW_ZERO)
    if out is not None:
        return out
    return _checked(
        values, lambda lo, hi: (lo >= 0) & (hi < np.inf), "must be finite and not negative"
    )


def result(value):
    """Float for a scalar, the array otherwise; what every public equation returns.

    >>> result(np.array(2.0))
    2.0
    """
    if isinstance(value, float):
        return float(value)
    value = np.asarray(value)
    return value.item() if value.ndim == 0 else value
