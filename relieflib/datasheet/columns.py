"""What a datasheet may hold: its columns with their units and limits, and one cell read into SI."""

import re
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import NamedTuple

from relieflib.errors import InputError
from relieflib.kinds import DISPLAY
from relieflib.orifices import CLASSES, orifice_area, parse_designation
from relieflib.tables import rows
from relieflib.units import (
    ATMOSPHERE,
    from_si,
    saybolt_to_kinematic,
    to_si,
    unit_name,
    units_of,
)

_CHOICES = {
    "installation": {"single": "single", "multiple": "multiple"},
    "role": {"first": "first", "only": "first", "additional": "additional",
             "fire supplement": "fire supplement", "supplemental": "fire supplement"},
    "phase": {"gas": "gas", "vapour": "gas", "vapor": "gas", "steam": "steam", "liquid": "liquid",
              "two-phase": "two-phase", "two phase": "two-phase", "2-phase": "two-phase",
              "gaseous": "gas", "vap": "gas", "v": "gas", "g": "gas", "g/v": "gas",
              "liq": "liquid", "l": "liquid",
              "sat steam": "steam", "dry saturated steam": "steam", "steam saturated": "steam",
              "steam superheated": "steam", "saturated steam": "steam",
              "superheated steam": "steam", "flashing": "two-phase",
              "mixed": "two-phase", "2 phase": "two-phase",
              "gasförmig": "gas", "flüssig": "liquid", "flüssigkeit": "liquid",
              "wasserdampf": "steam", "sattdampf": "steam", "heissdampf": "steam",
              "zweiphasig": "two-phase"},
    "device_type": {"conventional": "conventional", "balanced": "balanced", "pilot": "pilot",
                    "balanced bellows": "balanced", "bellows": "balanced",
                    "pilot-operated": "pilot", "disk": "disk", "rupture disk": "disk",
                    "conv": "conventional", "conventional spring": "conventional",
                    "spring": "conventional", "spring loaded": "conventional",
                    "balanced bellow": "balanced", "bal bellows": "balanced", "bal": "balanced",
                    "spring loaded bellows": "balanced", "bellows spring loaded": "balanced",
                    "spring loaded conventional": "conventional",
                    "conventional spring loaded": "conventional",
                    "balanced piston": "balanced", "pilot operated": "pilot", "pilot op": "pilot",
                    "rupture disc": "disk", "bursting disc": "disk",
                    "federbelastet": "conventional", "faltenbalg": "balanced",
                    "mit faltenbalg": "balanced", "berstscheibe": "disk"},
    "pilot_sensing": {"vessel": "vessel", "valve inlet": "valve", "remote": "vessel",
                      "at vessel": "vessel", "at the vessel": "vessel", "remote sensing": "vessel",
                      "remote sense": "vessel", "local": "valve", "integral": "valve",
                      "at valve": "valve", "at the valve": "valve", "inlet": "valve",
                      "inlet line": "valve", "internal": "valve", "valve": "valve"},
    "disk_upstream": {"yes": True, "no": False, "none": False},
    "disk_discharge": {"open air": "open air", "pipe": "pipe", "air": "open air",
                       "atmosphere": "open air", "to atmosphere": "open air", "line": "pipe",
                       "piping": "pipe", "header": "pipe", "flare": "pipe", "flare header": "pipe",
                       "closed system": "pipe"},
    "certified": {"yes": True, "no": False},
    "basis": {"effective": "effective", "certified": "certified", "actual": "certified"},
    "capacity_basis": {"effective": "effective", "certified": "certified", "actual": "certified",
                       "asme": "certified", "national board": "certified"},
    "code": {"ASME VIII": "ASME VIII", "ASME I": "ASME I", "PED": "PED"},
    "regime": {"critical": "choked", "choked": "choked", "subcritical": "subcritical"},
    "edition": {"7": 7, "9": 9, "10": 10, "7th": 7, "9th": 9, "10th": 10},
}  # fmt: skip
# other words for a code, small and without points, hyphens and dates
_CODE_WORDS = {
    "ASME VIII": r"(?:asme )?(?:bpvc )?(?:sec(?:tion)? )?(?:viii|xiii|8|13)"
                 r"(?: ?/? ?div(?:ision)? [12]| [12])?",
    "ASME I": r"(?:asme )?(?:bpvc )?(?:sec(?:tion)? )?(?:i|1)|boilers?(?: code)?",
    "PED": r"ped|2014/68/eu|(?:en )?(?:iso )?4126(?: [1-9])?|en 13445|en 764|ad(?: ?2000)?"
           r"|ped 2014/68/eu",
}  # fmt: skip
BLANK = {"", "-", "--", "—", "–", "n/a", "na", "nil", "tbd", "tba", "not given"}
_NUMBER = re.compile(r"([+-]?(?:\d+(?:\.(\d*))?|\.(\d+))(?:[eE]([+-]?\d{1,3}))?)\s*(\D.*)?", re.S)
_RANGE = re.compile(r"[+-]?\d[\d.,]*?\s*(?:-|–|—|\.{2,}|…|\bto\b)\s*[+-]?\d[\d.,]*\s*\D*")
_BARE = re.compile(r"\d+(?:\.\d+)?")
_DN = {15: "1/2", 20: "3/4", 25: "1", 32: "1-1/4", 40: "1-1/2", 50: "2", 65: "2-1/2", 80: "3",
       90: "3-1/2", 100: "4", 125: "5", 150: "6", 200: "8", 250: "10", 300: "12", 350: "14",
       400: "16", 450: "18", 500: "20", 600: "24"}  # fmt: skip  # ISO 6708 to NPS
MOST_HALF = 0.005  # of a number: '1' or '8' hardly mean 0.5 to 1.5 or 7.5 to 8.5
LONGEST = 500  # characters of one cell


@dataclass(frozen=True)
class Column:
    """One column of the template; kinds are quantities of `units`, or one word for text."""

    name: str
    heading: str
    kinds: tuple
    low: float | None
    high: float | None
    above: bool
    meaning: str

    @property
    def numeric(self):
        """True for a quantity with a unit."""
        return self.kinds[0] not in _READERS

    @property
    def choices(self):
        """Words that a cell may hold, one for each meaning; None where any may stand."""
        known = _CHOICES.get(self.name)
        first = {value: words for words, value in reversed((known or {}).items())}
        return list(reversed(first.values())) if known else None

    def allowed(self, unit=None, kind=None, atmosphere=ATMOSPHERE, above=False):
        """Words for what a cell may hold, the limit in the sheet's unit; above, the upper one."""
        if self.name in _CHOICES:
            return "must be one of " + ", ".join(self.choices)
        if self.low is None:
            return "must be a number"
        kind = kind or self.kinds[0]
        unit = unit or units_of(kind)[0]
        low, high = (
            v
            if v is None
            else f"{from_si(v, unit, kind, atmosphere):.5g} {unit}".removesuffix(" -")
            for v in (self.low, self.high)
        )
        if above:
            return f"must be at most {high}"
        return f"must be {'above' if self.above else 'at least'} {low}"


class Cell(NamedTuple):
    """One cell: value in SI or as text, and how the sheet wrote it; half its last digit in SI.

    half is at most 0.5 % of the number: spreadsheets drop zeros at the end.
    """

    value: object
    text: str
    unit: str = "-"
    kind: str = "text"
    half: float = 0.0


@dataclass
class Row:
    """One valve of a datasheet: cells by column name, and what could not be read, in words."""

    file: str
    number: int
    cells: dict = field(default_factory=dict)
    unreadable: dict = field(default_factory=dict)
    atmosphere: float = ATMOSPHERE

    def get(self, name, default=None):
        """Value of a cell in SI or as text; the default where the cell is empty or missing."""
        cell = self.cells.get(name)
        return default if cell is None else cell.value

    def usable(self, *names):
        """Raise InputError if one of the cells was filled in but could not be read."""
        for name in names:
            if name in self.unreadable:
                raise InputError(f"'{COLUMNS[name].heading}' can't be read")

    @property
    def tag(self):
        """Tag, or the row's number where there is none."""
        return self.get("tag") or f"row {self.number}"


def _column(line):
    name, heading, kinds, limits, meaning = line
    above, numbers = limits.startswith(">"), limits.lstrip(">").split()
    low = float(numbers[0]) if numbers else None
    high = float(numbers[1]) if len(numbers) > 1 else None
    kinds = tuple(k.strip() for k in kinds.split("/"))
    return Column(name, heading, kinds, low, high, above, meaning)


@cache
def kind_of(column, unit):
    """Kind of quantity a unit measures in a column.

    Parameters: column, `Column`; unit, str. Returns str. Raises InputError if it measures none.
    >>> kind_of(COLUMNS["load"], "gpm")
    'volume flow'
    """
    usable = [u for kind in column.kinds for u in units_of(kind)]
    for kind in column.kinds:
        if unit in units_of(kind):
            return kind
    if unit == "-":
        raise InputError(f"has no unit: add one in square brackets, {_example(column)}")
    if column.kinds[0] in ("pressure", "gauge pressure") and unit + "g" in usable:
        raise InputError(f"unit '{unit}': say gauge or absolute, '{unit}g' or '{unit}a'")
    raise InputError(f"unit '{unit}' does not measure it; usable: {', '.join(usable)}")


def _example(column):
    usual = [DISPLAY[kind][0] for kind in column.kinds if kind != "dimensionless"]
    return f"such as '{column.heading} [{(usual or ['-'])[0]}]'"


@cache
def _line(unit, kind, atmosphere):
    """Offset and factor of a unit, so that SI = offset + factor * value."""
    if unit == "SSU":
        return None
    if kind == "temperature" or kind.endswith("pressure"):
        offset = to_si(0.0, unit, kind, atmosphere)
        return offset, to_si(1.0, unit, kind, atmosphere) - offset
    return 0.0, to_si(1.0, unit, kind, atmosphere)


def shown_in(value, unit, kind, atmosphere):
    """An SI value in a unit; as `units.from_si`, for the many scalars of a long sheet.

    Parameters: value [SI], float; unit; kind; atmosphere [Pa]. Returns float.
    >>> round(shown_in(618431.8, "psig", "pressure", 101325.0), 2)
    75.0
    """
    line = _line(unit, kind, atmosphere)
    return from_si(value, unit, kind) if line is None else (value - line[0]) / line[1]


def read_cell(column, text, unit, atmosphere, mark=".", parts=""):
    """One cell as a `Cell`, None when it is blank.

    Parameters: column, `Column`; text, str as the file has it; unit of the heading; atmosphere
    [Pa]; mark, the decimal one of this column, '.' or ',', '' where nothing tells; parts, the mark
    between its thousands, '' where none is proved. A number may carry its own unit, which then
    rules: '1800 gpm'. Returns Cell or None. Raises InputError in
    words for the rest.
    >>> cell = read_cell(COLUMNS["load"], "1800 gpm", "kg/h", 101325.0)
    >>> cell.kind, round(cell.value, 4)
    ('volume flow', 0.1136)
    """
    text = text.strip()
    if text.casefold() in BLANK:
        return None
    if len(text) > LONGEST:
        raise InputError(f"holds {len(text)} characters: at most {LONGEST} are read")
    reader = _READERS.get(column.kinds[0])
    if reader:
        return Cell(reader(column, text), text)
    return _quantity(column, text, unit, atmosphere, mark, parts)


def _quantity(column, text, unit, atmosphere, mark, parts):
    bare = mark == "." and _BARE.fullmatch(text)  # most cells: read as below, but sooner
    text = text if bare else re.sub(r"^[A-Za-z. ]{1,30}=\s*", "", text)  # SP=16
    if not bare and _RANGE.fullmatch(text):
        raise InputError("is a range: give the one number that counts")
    match = _NUMBER.fullmatch(text if bare else _plain(text, mark, parts))
    if not match:
        raise InputError("is not a number: write digits with a decimal point, such as 12.5")
    number, whole, part, power, own = match.groups()
    if own:
        unit = _unit_name(own)
    kind = kind_of(column, unit)
    line = _line(unit, kind, atmosphere)
    if line is None:
        if not 32 <= float(number) < 1e7:
            raise InputError("must be at least 32 SSU and of a usual size")
        value, factor = _saybolt(float(number)), 0.0
    else:
        value, factor = line[0] + line[1] * float(number), line[1]
    _within(column, value, unit, kind, atmosphere)
    half = min(_half(whole or part, power), MOST_HALF * abs(float(number)))
    return Cell(value, text, unit, kind, half * factor)


_unit_name = lru_cache(500)(unit_name)
_saybolt = lru_cache(500)(saybolt_to_kinematic)


_MARKED = re.compile(r"(.*?\d.*?)\s*(?:\(?\s*(?:see\s+)?note\s*\d{1,2}\s*\)?|\*{1,3})", re.I)


def without_mark(text):
    """A cell without the mark of a note behind it, None where it has none.

    Parameters: text, str. Returns str or None.
    >>> without_mark("12.5 barg (note 1)"), without_mark("12.5*"), without_mark("12.5")
    ('12.5 barg', '12.5', None)
    """
    found = _MARKED.fullmatch(text.strip())
    return found and found[1].strip()


def _half(decimals, power):
    """Half of the last printed digit."""
    return 0.5 * 10.0 ** (int(power or 0) - len(decimals or ""))


MARKS = {".": "point", ",": "comma"}
_DIGITS = re.compile(r"[+-]?\d[\d.,' ]*")
_BOTH = {".": re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+\.\d+"),
         ",": re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+,\d+")}  # fmt: skip
_PARTED = {mark: re.compile(rf"[+-]?[1-9]\d{{0,2}}(?:[{mark}]\d{{3}})+") for mark in ",."}
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")  # 64.000: 64, or 64 thousand?


def _digits_of(text):
    match = _DIGITS.match(text.replace("−", "-").strip())
    return match.group().strip() if match else ""


def decimal_marks(texts):
    """Decimal marks that the numbers of a column prove.

    Parameters: texts, iterable of str. Returns a set of '.' and ','. A mark is proved by what can't
    separate thousands: '18,5', '0,975', '12.50', the last of two different marks.
    >>> sorted(decimal_marks(["64.000", "18,5"])), decimal_marks(["64.000"])
    ([','], set())
    """
    found = set()
    for text in {text for text in texts if "." in text or "," in text}:
        if "." in found and "," not in text or "," in found and "." not in text:
            continue
        digits = _digits_of(text)
        marks = [c for c in digits if c in ".,"]
        if len(set(marks)) == 2 and marks.count(marks[-1]) == 1:
            found.add(marks[-1])
        elif len(marks) == 1 and not _GROUPED.fullmatch(digits):
            found.add(marks[0])
    return found


def thousands_mark(texts):
    """The mark that parts thousands in a column, '' where its numbers do not prove one.

    Parameters: texts, iterable of str. Returns '.', ',' or ''. It is proved by what can't be
    decimal: '1,250,000', '60,000.5'; and only where no number of the column has it for a decimal
    mark.
    >>> thousands_mark(["60,000", "1,250,000"]), thousands_mark(["60,000", "12.5"])
    (',', '')
    """
    texts, found = list(texts), set()
    for digits in [_digits_of(text) for text in texts if text.count(".") + text.count(",") > 1]:
        for mark, other in ((".", ","), (",", ".")):
            twice = digits.count(other) > 1 and _PARTED[other].fullmatch(digits)
            if twice or _BOTH[mark].fullmatch(digits):
                found.add(other)
    found -= decimal_marks(texts) if found else set()
    return found.pop() if len(found) == 1 else ""


def _plain(text, mark, parts=""):
    """The text with a decimal point; thousands separators and doubtful marks are refused.

    Both marks in one number, the decimal one as elsewhere in the column, leave no doubt; nor do
    thousands parted as the column proves.
    """
    text = text.replace("−", "-").replace("\u202f", " ").replace("\xa0", " ")
    digits = _digits_of(text)
    if mark and _BOTH[mark].fullmatch(digits):
        plain = digits.replace("," if mark == "." else ".", "")
        text, digits = text.replace(digits, plain, 1), plain
    elif parts and parts != mark and _PARTED[parts].fullmatch(digits):
        return text.replace(digits, digits.replace(parts, ""), 1)
    if re.search(r"\d[ ']\d{3}(?!\d)", digits) or len([c for c in digits if c in ".,"]) > 1:
        raise InputError("has a thousands separator: write the digits without it")
    used = next((c for c in digits if c in ".,"), mark)
    if used != mark and (mark or _GROUPED.fullmatch(digits)):
        raise InputError(
            f"has a {MARKS[used]} that may be decimal or thousands: write the digits without a "
            "thousands separator, and one decimal mark throughout"
        )
    return text.replace(",", ".", 1) if used == "," else text


def _within(column, value, unit, kind, atmosphere):
    if column.low is not None:
        low = value <= column.low if column.above else value < column.low - 1e-9
        if low or (column.high is not None and value > column.high * (1 + 1e-9)):
            raise InputError(column.allowed(unit, kind, atmosphere, above=not low))


def _choice(column, text):
    words = " ".join(text.casefold().replace(".", " ").replace(",", " ").split())
    found = _CHOICES[column.name].get(words)
    if found is None:
        raise InputError(column.allowed())
    return found


def _code(column, text):
    words = re.sub(r"[.,:()-]+", " ", text.casefold())
    words = " ".join(re.sub(r"\b(?:19|20)\d\d\b(?!/)", " ", words).split())
    for code, known in _CODE_WORDS.items():
        if re.fullmatch(known, words) or words == code.casefold():
            return code
    raise InputError(column.allowed())


# EN 1092-1, from memory; 64 is the older name of 63
_PN = {"2.5", "6", "10", "16", "25", "40", "63", "64", "100", "160", "250", "320", "400"}
_PN_WORDS = re.compile(r"(?:DN\s*\d+\s*)?PN\s*(\d+(?:[.,]5)?)", re.I)


def _class(column, text):
    """A class of ASME as a number, a PN of EN 1092 as 'PN 40'."""
    both = re.split(r"\s*[x×/]\s*", text, flags=re.I)  # 300# x 150#: inlet, then outlet
    if len(both) == 2:
        text = both[column.name == "outlet_class"]
        if _PN_WORDS.fullmatch(both[0]) and text.isdigit():  # PN 40/16
            text = f"PN {text}"
    nominal = _PN_WORDS.fullmatch(text.strip())
    if nominal and nominal[1].replace(",", ".") in _PN:
        return f"PN {nominal[1].replace(',', '.')}"
    match = re.fullmatch(r"(?:class|cl\.?)?\s*(\d{3,4})\s*(?:#|lbs?)?\s*(?:rf|rtj|ff)?", text, re.I)
    if not match or int(match.group(1)) not in CLASSES:
        known = ", ".join(map(str, CLASSES))
        raise InputError(f"must be a flange class: {known}; or a PN of EN 1092, such as PN 40")
    return int(match.group(1))


def _letter(column, text):
    letter = text.upper()
    try:
        orifice_area(letter)
    except InputError as error:
        raise InputError("must be" + str(error).split(": use", 1)[1]) from None
    return letter


_METRIC = re.compile(r"(?:DN)?\s*(\d{2,3})\s*([A-Z])\s*(?:DN)?\s*(\d{2,3})", re.I)


def _designation(column, text):
    text = re.sub(r"[\"″”]|\b(?:in|inch)\b|\s+x\s+", " ", text)  # 3"L4", 3" x L x 4"
    metric = _METRIC.fullmatch(text.strip())
    if metric and {int(metric[1]), int(metric[3])} <= set(_DN):  # 50J80 is 2J3
        text = f"{_DN[int(metric[1])]}{metric[2]}{_DN[int(metric[3])]}"
    try:
        return parse_designation(text)
    except InputError as error:
        raise InputError(str(error).split(": ", 1)[-1]) from None


def _size(column, text):
    """Nominal pipe size in inches, as a number."""
    match = re.fullmatch(r"dn\s*(\d+)(?:\s*,?\s*pn\s*\d+)?", text, re.I)
    if match and int(match.group(1)) in _DN:
        text = _DN[int(match.group(1))]
    text = re.sub(r"^nps\s*|\s*(?:in|inch|\"|″)$", "", text.strip(), flags=re.I)
    try:
        return inches(text)
    except (ValueError, ZeroDivisionError):
        raise InputError("must be a nominal pipe size: 4, 1-1/2 or DN 100") from None


def inches(size):
    """A nominal pipe size as a number, for comparison.

    Parameters: size, str such as '1-1/2'. Returns float. Raises ValueError if it is none.
    >>> inches("1-1/2"), inches("2.5")
    (1.5, 2.5)
    """
    match = re.fullmatch(r"(?:(\d{1,2})[-\s]+)?(\d)/(\d{1,2})", size)
    value = float(size) if not match else (float(match[1] or 0) + int(match[2]) / int(match[3]))
    if not 0 < value <= 60:
        raise ValueError(size)
    return value


_READERS = {
    "text": lambda column, text: text, "choice": _choice, "class": _class, "size": _size,
    "letter": _letter, "designation": _designation, "code": _code,
}  # fmt: skip
COLUMNS = {column.name: column for column in map(_column, rows("datasheet_columns")[1])}
_BY_HEADING = {column.heading.casefold(): column for column in COLUMNS.values()}
NEEDED = ("tag", "set_pressure_gauge", "phase", "load")
