"""A vendor's headings as columns of the template: synonyms, units in any usual place, doubts asked.

A heading is taken where its words can mean one column only. Where they may mean several, or a unit
leaves gauge and absolute open, the file's owner is asked; the answers stand in a mapping, a small
CSV file that serves the next file of the same shape.
"""

import csv
import hashlib
import io
import re
from dataclasses import dataclass
from functools import cache

from relieflib.datasheet.columns import COLUMNS, kind_of
from relieflib.errors import InputError
from relieflib.tables import rows
from relieflib.texts import harmless
from relieflib.units import ATMOSPHERE, unit_name

AS_WRITTEN, OTHER_WORDS, ANSWERED, ASKED, LEFT_OUT = (
    "as written", "by its other words", "as answered", "asked", "left out",
)  # fmt: skip
_SHORT = {
    "press": "pressure", "pres": "pressure", "temp": "temperature", "req": "required",
    "reqd": "required", "req'd": "required", "max": "maximum", "min": "minimum",
    "calc": "calculated", "calcd": "calculated", "op": "operating", "oper": "operating",
    "no": "number", "nos": "number", "nr": "number", "num": "number", "qty": "quantity",
    "wt": "weight", "mol": "mol", "backpressure": "back pressure", "bp": "back pressure",
    "cap": "capacity", "dens": "density", "visc": "viscosity", "des": "design",
    "disc": "disk", "coeff": "coefficient", "corr": "correction", "compress": "compressibility",
    "relief": "relief", "rel": "relieving", "desig": "designation", "allow": "allowable",
}  # fmt: skip
# letters that stand for a quantity beside its name, and measure nothing
_SIGNS = {"k", "kd", "kdr", "kb", "kc", "kv", "kw", "z", "c", "m", "p", "ps", "a0", "αw", "κ"}
_SHARE_OF = re.compile(r"(.*?)[\s,(\[]*%\s*of\s*(?:set(?: pressure)?|mawp)[)\]]?", re.I)
_BRACKETS = re.compile(r"[\[(]((?:[^\[\]()]|\([^()]*\))*)[\])]")


@dataclass(frozen=True)
class Match:
    """What a heading of a file stands for.

    words of the file; column, a `columns.Column` or None; unit, '-' without one; how, one of the
    words above; fault, what has to be answered before the column can be used; may_mean, names of
    the columns that the words leave open.
    """

    words: str
    column: object = None
    unit: str = "-"
    how: str = LEFT_OUT
    fault: str = ""
    may_mean: tuple = ()


def plain_words(text):
    """The words of a heading, without capitals, points and the usual abbreviations.

    Parameters: text, str. Returns str.
    >>> plain_words("SET PRESS.:"), plain_words("Built-up  Backpressure"), plain_words("Cp/Cv")
    ('set pressure', 'built up back pressure', 'cp/cv')
    """
    text = re.sub(r"[.:;,*\"?_=–—-]+", " ", str(text).casefold().replace("req'd", "required"))
    return " ".join(_SHORT.get(word, word) for word in text.split())


@cache
def _vocabulary():
    """Words -> column names: sure ones, and those that must be asked."""
    sure = {plain_words(c.heading): name for name, c in COLUMNS.items()}
    asked = {}
    for name, known, doubtful in rows("heading_words")[1]:
        for words in filter(None, known.split("|")):
            sure.setdefault(plain_words(words), name)
        for words in filter(None, doubtful.split("|")):
            asked.setdefault(plain_words(words), []).append(name)
    return sure, {words: tuple(names) for words, names in asked.items()}


def match(text, mapping=None):
    """What a heading stands for.

    Parameters: text, str as the file has it, a second line of headings after '|'; mapping, answers
    as `read_mapping` gives them, or None. Returns `Match`.
    >>> found = match("Set Press. (barg)")
    >>> found.column.name, found.unit, found.how
    ('set_pressure_gauge', 'barg', 'by its other words')
    >>> match("Back pressure [bar]").may_mean
    ('built_up', 'back_pressure')
    """
    answer = (mapping or {}).get(plain_words(text))
    if answer is not None:
        return _answered(text, *answer)
    low, bar, up = str(text).partition("|")
    tries = (low, f"{low} {up}", f"{up} {low}") if bar else (low,)
    found = [_match_line(words, text) for words in tries]
    return max(found, key=lambda m: (m.column is not None, bool(m.may_mean), m.unit != "-"))


def _match_line(line, text):
    sure, asked = _vocabulary()
    best = Match(str(text))
    for words, unit in readings(line):
        plain = plain_words(words)
        if plain in sure:
            column = COLUMNS[sure[plain]]
            exact = " ".join(words.split()).casefold() == column.heading
            return _with_unit(text, column, unit, AS_WRITTEN if exact else OTHER_WORDS)
        if plain in asked and not best.may_mean:
            names = asked[plain]
            heads = " or ".join(f"'{COLUMNS[n].heading}'" for n in names)
            fault = f"may mean {heads}: say which"
            if len(names) == 1:
                fault = f"may mean {heads}, or what has no column here: say whether it does"
            best = Match(str(text), None, unit, ASKED, fault, names)
    return best


def readings(line):
    """(words, unit) in the ways a heading may be read, the whole of it first.

    Parameters: line, str. Returns an iterator of (str, str), '-' for no unit.
    """
    line = " ".join(str(line).split())
    yield line, "-"
    for found in reversed(list(_BRACKETS.finditer(line))):
        rest = f"{line[: found.start()]} {line[found.end() :]}".strip()
        if rest:
            yield rest, found[1].strip()
    tokens = line.replace(",", " ").split()
    for count in (1, 2, 3):
        if len(tokens) > count and is_unit(" ".join(tokens[-count:])):
            yield " ".join(tokens[:-count]).rstrip(" -/:"), " ".join(tokens[-count:])
    share = _SHARE_OF.fullmatch(line)
    if share:
        yield share[1], "%"
    yield from _without_sign(line)


def _without_sign(line):
    """The words without the letter of their quantity: 'Set pressure p [bar g]'."""
    found = _BRACKETS.search(line)
    words, unit = (line[: found.start()], found[1].strip()) if found else (line, "-")
    tokens = words.split()
    if len(tokens) > 1 and tokens[-1].casefold() in _SIGNS:
        yield " ".join(tokens[:-1]), unit


def is_unit(text):
    """True for a text that is a unit and no more. Parameters: text, str. Returns bool."""
    try:
        return unit_name(text) != "-"
    except InputError:
        return False


def _with_unit(text, column, unit, how):
    """A match with its unit, or with what is wrong about that."""
    if unit == "-" or not column.numeric:
        unit = "kg/kmol" if column.kinds == ("molar mass",) else "-"
        return Match(str(text), column, unit, how)
    if column.kinds == ("dimensionless",) and unit.casefold() in _SIGNS:
        return Match(str(text), column, "-", how)
    try:
        unit = unit_name(unit)
        kind_of(column, unit)
    except InputError as error:
        return Match(str(text), column, "-", how, str(error))
    return Match(str(text), column, unit, how)


def _answered(text, name, unit):
    if not name:
        return Match(str(text))
    return _with_unit(text, COLUMNS[name], unit or "-", ANSWERED)


def decide_by_cells(found, texts):
    """A heading that words leave open, decided where its cells fit one of its columns alone.

    Parameters: found, a `Match` that is asked; texts, cells below it. Returns `Match`.
    >>> decide_by_cells(match("Orifice"), ["J", "P"]).column.name
    'letter'
    """
    from relieflib.datasheet.columns import read_cell

    if len(found.may_mean) < 2:  # one column and what has none here: cells can't tell them apart
        return found
    texts, fits = [t for t in texts if t.strip()][:50], []
    for name in found.may_mean:
        candidate = _with_unit(found.words, COLUMNS[name], found.unit, OTHER_WORDS)
        try:
            good = not candidate.fault and all(
                read_cell(candidate.column, t, candidate.unit, ATMOSPHERE) for t in texts
            )
        except InputError:
            good = False
        fits += [candidate] if good and texts else []
    texty = [m for m in fits if m.column.numeric or m.column.kinds != ("text",)]
    return fits[0] if len(fits) == 1 and texty else found


# ---- the mapping: what was understood, to be looked at, changed and used again

MAPPING_HEADS = ("heading in the file", "means", "unit", "how")


def shape_of(found):
    """A short name for the headings of a file: answers hold for files of this shape alone.

    Parameters: found, list of `Match`. Returns str.
    >>> shape_of([match("Tag"), match("MW")]) == shape_of([match("MW"), match("TAG")])
    True
    """
    words = "|".join(sorted(plain_words(one.words) for one in found))
    return hashlib.sha256(words.encode()).hexdigest()[:12]


def mapping_text(found):
    """What was understood of a file's headings, as the text of a CSV file to look at and change.

    Parameters: found, list of `Match`. Returns str; an empty 'means' leaves a column out.
    """
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(MAPPING_HEADS)
    for m in found:
        names = [COLUMNS[n].heading for n in m.may_mean]
        means = m.column.heading if m.column else "|".join(names)
        write.writerow([m.words, means, "" if m.unit == "-" else m.unit, m.fault or m.how])
    return out.getvalue()


def read_mapping(text):
    """Answers of a mapping: {plain words of a heading: (column name, unit)}.

    Parameters: text of a CSV file as `mapping_text` writes it. Returns dict. Raises InputError for
    a line that names no column of the template, or several.
    >>> read_mapping("heading in the file,means,unit,how\\nDesign P,mawp,barg,\\n")
    {'design p': ('mawp_gauge', 'barg')}
    """
    lines = list(csv.reader(io.StringIO(text)))
    if not lines or tuple(cell.strip() for cell in lines[0][:3]) != MAPPING_HEADS[:3]:
        raise InputError(f"a mapping begins with the line '{','.join(MAPPING_HEADS)}'")
    by_heading, answers = {plain_words(c.heading): name for name, c in COLUMNS.items()}, {}
    for number, line in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in line):
            continue
        words, means, unit, *_ = [*(cell.strip() for cell in line), "", "", ""]
        if "|" in means:
            one_of = f"leave one of '{harmless(means)}'"
            raise InputError(f"line {number}, '{harmless(words)}': {one_of}")
        if means and plain_words(means) not in by_heading:
            raise InputError(f"line {number}: '{harmless(means)}' is no heading of the template")
        name = by_heading.get(plain_words(means), "")
        if unit and name:
            unit = unit_name(unit)
            kind_of(COLUMNS[name], unit)
        answers[plain_words(words)] = (name, unit)
    return answers
