"""What people type, read: `10000 kg/h`, `10 000`, `3056,5`; or words on why it can't be."""

import math
import re

from relieflib.errors import InputError
from relieflib.symbols import symbol
from relieflib.texts import harmless, with_unit
from relieflib.units import ATMOSPHERE, to_si, unit_name, units_of

_SPACES = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}"
_TYPED = str.maketrans({"\N{MINUS SIGN}": "-", **dict.fromkeys(_SPACES, " ")})
_SHAPE = re.compile(
    r"([-+]?)\s*((?:\d|[.,](?=\d))(?:[\d.,'’ ]*\d[.]?)?)"  # sign, digits with their marks
    r"(?:\s*[eE]([-+]?\d{1,3})(?![\w.])|\s*[x×*·]\s*10\^?([-+]?\d{1,3})(?![\w.]))?\s*(.*)",
    re.S,
)
_BY_THREE = r"\d{1,3}(?:%s\d{3})+"
MAY_BE_NEGATIVE = {"gauge pressure", "pressure difference", "dimensionless", "temperature"}


class NotRead(InputError):
    """What was given can't be read as an answer; its words say why, and what to write."""


def number_of(text):
    """The number at the head of a text, and what follows it.

    Parameters: text, str or a plain number. Returns (float, str, str): the number, the rest, and
    the digits as written. Raises NotRead.
    >>> [number_of(t)[:2] for t in ("10 000 kg/h", "3056,5", "1.2e3 mm2", "1,234.5")]
    [(10000.0, 'kg/h'), (3056.5, ''), (1200.0, 'mm2'), (1234.5, '')]
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise NotRead("write one number, such as 12.3")
    try:
        text = text if isinstance(text, str) else f"{text:.17g}"
    except OverflowError:
        raise NotRead("that number is far too large to be meant") from None
    typed = text.translate(_TYPED).strip()
    if len(typed) > 80:
        raise NotRead("that is too long to be one number and its unit")
    match = _SHAPE.fullmatch(typed)
    if match is None:
        raise NotRead(f"'{harmless(_whole(text))}' does not begin with a number")
    sign, digits, power, other, rest = match.groups()
    plain = _plain(digits.strip())
    value = float(f"{sign}{plain}e{power or other or 0}")
    if not math.isfinite(value):
        raise NotRead("that number is far too large to be meant")
    return value, rest.strip(), plain


def _whole(text):
    """A text that any file can hold: half of a pair of surrogates becomes a question mark."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _plain(digits):
    """Digits with a decimal point alone; groups of three parted by space, comma, point or '."""
    marks = [c for c in digits if not c.isdigit()]
    if not marks:
        return digits
    if re.search(r"[ '’]", digits):
        match = re.fullmatch(r"(\d{1,3}(?:[ '’]\d{3})+)(?:[.,](\d*))?", digits)
        if match is None:
            raise NotRead(f"'{digits}' could be two numbers: write one, without spaces")
        return re.sub(r"\D", "", match[1]) + "." + (match[2] or "0")
    return _with_point(digits, marks)


def _with_point(digits, marks):
    last = marks[-1]
    many = len(set(marks)) == 2 and marks.count(last) == 1
    if many:  # 1,234.5 or 1.234,5
        head, _, tail = digits.rpartition(last)
        if re.fullmatch(_BY_THREE % re.escape(marks[0]), head):
            return head.replace(marks[0], "") + "." + tail
    elif len(marks) == 1:
        head, _, tail = digits.partition(last)
        if last == "," and len(tail) == 3 and head not in ("", "0"):
            raise NotRead(f"'{digits}' could be {head}.{tail} or {head}{tail}: write which")
        return (head or "0") + "." + tail
    elif re.fullmatch(_BY_THREE % re.escape(last), digits):
        return digits.replace(last, "")
    raise NotRead(f"'{digits}' is not a number as people write them")


def read_value(text, unit, name, atmosphere=ATMOSPHERE):
    """An answer in SI, and its words.

    Parameters: text as typed, with a unit of its own or without; unit of the list beside it; name
    of the quantity; atmosphere [Pa]. Returns (SI value, words, unit, digits). Raises NotRead.
    >>> read_value("3056,5", "mm2", "required_area")[1]
    '3056.5 mm²'
    """
    kind = symbol(name).kind
    value, own, digits = number_of(text)
    unit = own or str(unit or symbol(name).display_unit())
    try:
        unit = unit_name(unit)
        stated = to_si(value, unit, kind, atmosphere)
    except InputError as problem:
        raise NotRead(f"{_whole(str(problem))}") from None
    if not math.isfinite(stated):
        raise NotRead("that number is far too large to be meant")
    if stated < 0 and kind not in MAY_BE_NEGATIVE:
        raise NotRead(f"{with_unit(value, unit)} is below zero, which {symbol(name).meaning} "
                      "can't be: take the sign away")  # fmt: skip
    return stated, with_unit(value, unit, 8), unit, digits


def unit_list(name):
    """Units to choose from for a quantity: those shown in the two sets first; none chosen by sense.

    Parameters: name of the quantity. Returns tuple of str.
    >>> unit_list("mass_flow")[:2]
    ('kg/h', 'lb/h')
    """
    row = symbol(name)
    first = [row.display_unit(s) for s in ("SI", "US")]
    return tuple(dict.fromkeys([*first, *units_of(row.kind)]))
