"""Errors, warnings and the few checks of arrays that all equations share."""

import importlib
import warnings

import numpy as np


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


def _unit(name):
    from relieflib.symbols import SYMBOLS

    return SYMBOLS[name].unit if name in SYMBOLS else "-"


def refuse(bad, name, value, rule):
    """Raise `InputError` where `bad` is true.

    Parameters: bad, a bool or array of bool; name of the parameter; value, a number or an
    array of the same shape; rule, words for what is allowed. Returns None.
    Raises InputError with the first bad value, its unit and, for arrays, how many and where.
    >>> refuse(False, "pressure", 1e5, "must be above 0 Pa")
    """
    if not np.any(bad):
        return
    bad, value = np.broadcast_arrays(np.asarray(bad), np.asarray(value))
    unit = _unit(name)
    first = tuple(int(i) for i in np.argwhere(bad)[0])
    shown = f"{float(value[first]):.6g}" + ("" if unit == "-" else f" {unit}")
    where = ""
    if bad.ndim:
        index = first[0] if len(first) == 1 else first
        where = f" ({int(bad.sum())} of {bad.size} values; first at index {index})"
    raise InputError(f"{name} = {shown}: {rule}{where}")


def warn_outside(bad, name, value, rule, source):
    """Give a `ValidityWarning` where `bad` is true.

    Parameters: bad, a bool or array; name; value; rule, words for the valid range; source. Returns
    None.
    >>> warn_outside(False, "k", 1.4, "1.0 to 2.0", "API 520-I")
    """
    if np.any(bad):
        bad, value = np.broadcast_arrays(np.asarray(bad), np.asarray(value))
        first = float(value[bad].flat[0]) if bad.ndim else float(value)
        unit = _unit(name)
        shown = f"{first:.6g}" + ("" if unit == "-" else f" {unit}")
        warnings.warn(f"{name} = {shown}: outside {rule} ({source})", ValidityWarning, stacklevel=3)


def _as_float(name, value):
    try:
        return np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputError(f"{name} = {value!r}: must be a number or an array of numbers") from None


def _checked(values, fits, words):
    """Return float arrays; `fits(low, high)` judges the extremes, element by element if need be."""
    out = []
    for name, value in values.items():
        array = _as_float(name, value)
        if array.size and not fits(array.min(), array.max()):
            refuse(~(fits(array, array) | np.isnan(array)), name, array, words)
        out.append(array)
    return out if len(out) > 1 else out[0]


def finite(**values):
    """Return the named values as float arrays; infinite ones raise InputError, NaN passes.

    >>> finite(temperature=300)
    array(300.)
    """
    return _checked(values, lambda lo, hi: (lo > -np.inf) & (hi < np.inf), "must be finite")


def positive(**values):
    """Return the named values as float arrays; zero or less raises InputError, NaN passes.

    >>> positive(pressure=1e5)
    array(100000.)
    """
    return _checked(values, lambda lo, hi: (lo > 0) & (hi < np.inf), "must be finite and above 0")


def not_negative(**values):
    """Return the named values as float arrays; below zero raises InputError, NaN passes.

    >>> not_negative(back_pressure=0)
    array(0.)
    """
    return _checked(
        values, lambda lo, hi: (lo >= 0) & (hi < np.inf), "must be finite and not negative"
    )


def result(value):
    """Float for a scalar, the array otherwise; what every public equation returns.

    >>> result(np.array(2.0))
    2.0
    """
    value = np.asarray(value)
    return value.item() if value.ndim == 0 else value
