"""The note beside a relief valve on a P&ID: written, read back, and held against the sizing.

Our plain layout, one field a line or fields separated by semicolons, in any order:

    PSV-105 A/B                     tag, with a letter for each valve
    2 x 3L4 (1 duty + 1 spare)      number, inlet size, orifice letter, outlet size; arrangement
    SET 16 barg                     set pressure with its unit; 16 / 16.8 barg where staggered
    SIZED FOR control valve opens   governing case
    TO FH                           destination

Read as well, as drawings write it: 3"L4", 3" x L x 4", ORIFICE L with 3"-300# x 4"-150#,
DN80 L DN100, without a number before it;
2 OFF; 2 x 100 %; 1 operating + 1 standby, (1+1); 300# x 150#; SP=16 barg, SET PRESSURE @ 16 barg;
CASE: FIRE; DISCHARGE TO FH; PSV-105A / PSV-105B, the tag twice, PSV over 105 as in a bubble.
On one line each field begins with its word, TO after a comma or two spaces. Only the tag must be
there. What can't be read is refused, never skipped.
"""

import math
import re
from dataclasses import dataclass

from relieflib.cause_words import fire_in
from relieflib.datasheet.columns import COLUMNS, read_cell
from relieflib.datasheet.verdict import Check, digits, verdict
from relieflib.errors import InputError, one_number, positive
from relieflib.orifices import parse_designation
from relieflib.symbols import symbol
from relieflib.texts import number_text
from relieflib.units import ATMOSPHERE, to_si
from relieflib.valve_questions import large_enough

LONGEST = 2000  # characters
FIELDS = ("tag", "number", "arrangement", "set pressure", "letter", "sizes", "governing case",
          "destination")  # fmt: skip
CLOSE = 0.005  # of set: rounding between units
_NUMBER = r"\d{1,7}(?:\.\d{1,7})?"
_SETS = rf"{_NUMBER}(?:\s*[/&]\s*{_NUMBER})*"
_IS = r"\s*(?:[:=@]|AT\b)?\s*"
_SET_WORD = r"(?:SET(?:\s+(?:PRESSURE|PRESS\b\.?|P\b\.?))?|S\.?P\b\.?)"
_SET = re.compile(rf"{_SET_WORD}{_IS}({_SETS})\s*([^\s\d/].*)?", re.I)
_UNIT = r"(?:BAR|PSI|[KM]PA|KGF?/CM[2²])\s?\(?[AG]?\)?"
_SET_WHOLE = re.compile(rf"({_SET_WORD}{_IS}{_SETS}\s*{_UNIT})(?![\w/(])[\s,]+"
                        r"(?!\(?[AG]\)?(?:[\s;,]|$))(?=[^\s;])", re.I)  # fmt: skip
_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4"}
_CASE_WORD = r"(?:SIZED\s+FOR\b|(?:(?:GOVERNING|SIZING|RELIEF|DESIGN)\s+)?CASE\s*:)"
_TO_WORD = r"(?:(?:DISCHARGES?|VENTS?|RELIEVES|OUTLET)\s+)?TO\b"
_WORDS = {"case": re.compile(rf"{_CASE_WORD}\s*:?\s*", re.I),
          "to": re.compile(rf"{_TO_WORD}\s*:?\s*", re.I)}  # fmt: skip
_TIMES = r"(?:[x×]|OFF\b|NOS?\b\.?|PCS\b\.?)"
_INCH = r"\d{1,2}(?:[-\s]\d{1,2}/\d{1,2}|/\d{1,2}|\.\d{1,2})?"
_MARK = r"\s*(?:[\"”″]|''|IN(?:CH)?\b\.?)?"
_LETTER = r"\s*[-x×]?\s*[\"']?[A-WYZ][\"']?\s*[-x×]?\s*"
_SIZED = (rf"(?:{_INCH}{_MARK}{_LETTER}{_INCH}{_MARK}"
          r"|(?:DN\s*)?\d{2,3}\s?[A-WYZ]\s?(?:DN\s*)?\d{2,3})")  # fmt: skip
_GROUP = re.compile(
    rf"(?<![\w.-])(?:\((\d{{1,2}})\)\s*{_TIMES}?|(\d{{1,2}})\s*{_TIMES})\s*({_SIZED})(?![\w/.])"
    rf"|(?<![\w./-])({_SIZED})(?![\w/.])", re.I)  # fmt: skip
# sizes without a letter, each with its class: 3"-300# x 4"-150#; the letter stands elsewhere
_END = (
    r"({i})\s*(?:[\"”″]|''|IN(?:CH)?\b\.?)(?:\s*-?\s*(\d{{3,4}})\s*(?:#|LBS?\b)\s*(?:RF|RTJ|FF)?)?"
)
_ENDS = re.compile(rf"(?<![\w./-]){_END.format(i=_INCH)}\s*[x×/]\s*{_END.format(i=_INCH)}", re.I)
_ORIFICE = re.compile(
    r"\bORIF(?:ICE)?\b\.?(?:\s+LETTER)?\s*[:=]?\s*[\"']?([A-Z])[\"']?(?![\w\"'])", re.I
)
_ON, _OFF = r"(?:DUTY|OPERATING|WORKING|IN\s+SERVICE)", r"(?:SPARES?|STAND-?\s?BY)"
_ROLES = re.compile(
    rf"\(?\s*(\d{{1,2}})\s*{_ON}(?:\s*(?:[+,&/]|AND\b)\s*(\d{{1,2}})\s*{_OFF})?\s*\)?", re.I
)
_BESIDE = re.compile(rf"\(?\s*(?:\+|AND\b|WITH\b)\s*(\d{{1,2}})\s*{_OFF}\s*\)?", re.I)
_PLUS = re.compile(r"\(?\s*(?<![\w.])(\d)\s*\+\s*(\d)(?![\w.])\s*\)?")
_SHARE = re.compile(r"\(?\s*(?<![\w.])(\d{1,2})\s*[x×]\s*(\d{2,3})\s*%\s*\)?", re.I)
_CLASS_WORD, _POUND, _FACE = r"(?:CLASS|CL\.?|ANSI)\s*", r"\s*(?:#|LBS?\b)", r"\s*(?:RF|RTJ|FF)?"
_SECOND = rf"\s*[x×/]\s*(?:{_CLASS_WORD})?\d{{3,4}}"
_CLASSES = re.compile(
    rf"(?<![\w./-])(?:{_CLASS_WORD}\d{{3,4}}(?:{_POUND})?{_FACE}(?:{_SECOND}(?:{_POUND})?{_FACE})?"
    rf"|\d{{3,4}}{_POUND}{_FACE}(?:{_SECOND}(?:{_POUND})?{_FACE})?"
    rf"|\d{{3,4}}{_FACE}{_SECOND}{_POUND}{_FACE})(?![\w.])", re.I)  # fmt: skip
_BUBBLE = re.compile(r"(?:(?<=;)|^)\s*([A-Z]{2,5})\s*;\s*(?=\d{1,6}[A-Z/& ]{0,12}(?:;|$))", re.I)
_SAME_TAG = re.compile(r"(\b([A-Z]{1,5})[\s-]?(\d{1,6})[A-Z]?)\s+(?=\2[\s-]?\3(?!\d))", re.I)
_PRESSURE = re.compile(rf"{_NUMBER}\s*{_UNIT}\s*$", re.I)
_TAG = re.compile(r"(?=.*[A-Z])(?=.*\d)[A-Z0-9](?:[A-Z0-9 -]{0,30}[A-Z0-9])?", re.I)


@dataclass(frozen=True)
class Note:
    """What a note says; None, or an empty tuple, for what it does not give.

    tag; suffixes, the letters of its valves; groups of (number, `orifices.Designation`), None for
    a number that is not written; duty and spare, numbers of valves; sets [Pa gauge]; half, half of
    the last printed digit of set [Pa]; sized_for and destination, words; flange classes.
    """

    tag: str
    suffixes: tuple = ()
    groups: tuple = ()
    duty: int | None = None
    spare: int | None = None
    sets: tuple = ()
    half: float = 0.0
    sized_for: str | None = None
    destination: str | None = None
    inlet_class: int | None = None
    outlet_class: int | None = None

    @property
    def number(self):
        """Valves in all, spares among them; None where the note does not say."""
        counts = [n for n, _ in self.groups]
        if counts and None not in counts:
            return sum(counts)
        roles = None if self.duty is None else self.duty + self.spare
        return roles or len(self.suffixes) or None

    @property
    def designations(self):
        """One `Designation` a valve, as far as the note says how many."""
        many = self.number if len(self.groups) == 1 else 1
        return tuple(d for n, d in self.groups for _ in range(n or many or 1))

    def __str__(self):
        lines = [f"{name:15} {value or 'not given'}" for name, value in _shown(self)]
        given = [str(c) for c in (self.inlet_class, self.outlet_class) if c]
        return "\n".join(lines + [f"{'flange classes':15} {' x '.join(given)}"] * bool(given))


def _shown(note):
    letters = "/".join(dict.fromkeys(d.letter for _, d in note.groups))
    sizes = " + ".join((f"{n} x " if n else "") + f"{d.inlet} in x {d.outlet} in"
                       for n, d in note.groups)  # fmt: skip
    roles = None if note.duty is None else _roles(note.duty, note.spare)
    sets = _sets(note)
    values = (note.tag, note.number, roles, sets and f"{sets} barg", letters, sizes,
              note.sized_for, note.destination)  # fmt: skip
    return [(name, str(value) if value else "") for name, value in zip(FIELDS, values)]


def _roles(duty, spare):
    return f"{duty} duty" + (f" + {spare} spare" if spare else "")


def _sets(note):
    show = symbol("set_pressure_gauge").show
    return " / ".join(number_text(show(p)) for p in note.sets)


def parse_note(words, atmosphere=ATMOSPHERE, unit=None):
    """Read a P&ID note in the layout of this module or a spelling beside it.

    Parameters: words, the note; atmosphere [Pa], for a set pressure written as absolute; unit, of
    a set pressure written without one, as the drawing's legend says. Returns `Note`. Raises
    InputError, and nothing else, for what is no text, has no tag, says a field twice or has a part
    that can't be read, naming it. Source: the layout is ours; spellings: common practice, no
    source.
    >>> note = parse_note("PSV-105 A/B  2 x 3L4 (1 duty + 1 spare)  SET 16 barg  SIZED FOR FIRE")
    >>> note.number, note.duty, note.sets, note.sized_for
    (2, 1, (1600000.0,), 'FIRE')
    """
    atmosphere = one_number(atmosphere=positive(atmosphere=atmosphere))
    found, tags = {}, []
    for part in _parts(words):
        for name, value in _field(part, atmosphere, unit):
            if name == "tag":
                tags += value
            elif name in found:
                raise InputError(f"note: says '{name}' twice")
            else:
                found[name] = value
    if not tags:
        raise InputError("note: has no tag, such as PSV-105")
    if found.pop("beside", False):
        found |= _with_spares(found)
    tag, suffixes = _together(tags)
    return Note(tag, suffixes, **found)


def read_notes(words, atmosphere=ATMOSPHERE, unit=None):
    """Read the notes of a drawing: one, or several with an empty line between them.

    Parameters: as `parse_note`, words up to a hundred times as long. Returns (list of (`Note`,
    its words), list of sentences on what could not be read). Raises InputError for no text.
    >>> [note.tag for note, _ in read_notes("PSV-1; 3L4\\n\\nPSV-2; 1D2")[0]]
    ['PSV-1', 'PSV-2']
    """
    if not isinstance(words, str) or len(words) > 100 * LONGEST:
        raise InputError(f"notes: must be text of at most {100 * LONGEST} characters")
    blocks = [b.strip() for b in re.split(r"\n\s*\n", words.replace("\r", "")) if b.strip()]
    try:
        return [(parse_note(words, atmosphere, unit), words.strip())], []
    except InputError as error:
        if len(blocks) < 2:
            return [], [str(error)]
    found, unread = [], []
    for number, block in enumerate(blocks, start=1):
        try:
            found.append((parse_note(block, atmosphere, unit), block))
        except InputError as error:
            unread.append(f"note {number}: {str(error).removeprefix('note: ')}")
    return found, unread


def _parts(words):
    """The fields of a note, each with single spaces."""
    if not isinstance(words, str) or len(words) > LONGEST:
        raise InputError(f"note: must be text of at most {LONGEST} characters")
    for sign, digits_of_it in _FRACTIONS.items():
        words = re.sub(rf"(\d)?\s*{sign}", lambda m, d=digits_of_it: f"{m[1]}-{d}" if m[1] else d,
                       words)  # fmt: skip
    text = re.sub(r"[;\r\n\v\f\x1c-\x1e\x85\u2028\u2029]+", ";", words.strip())
    text = _with_its_letter(text)
    begins = rf"{_SET_WORD}{_IS}\d|{_CASE_WORD}|DISCHARGES?\s+TO\b"
    text = re.sub(rf"[\s,]+(?={begins})", ";", text, flags=re.I)
    text = _SET_WHOLE.sub(r"\1;", text)
    text = re.sub(r"(?:\s{2,}|,\s*)(?=TO\s)", ";", text, flags=re.I)
    text = _BUBBLE.sub(r"\1-", text)
    return [" ".join(part.split()) for part in text.split(";") if part.strip(" ,\t")]


def _with_its_letter(text):
    """The text with the letter between the sizes, where it stands by itself: ORIFICE L; 3" x 4"."""
    letters, ends = _ORIFICE.findall(text), list(_ENDS.finditer(text))
    if len(letters) != 1 or len(ends) != 1 or _GROUP.search(text):
        return text
    inlet, first, outlet, second = ends[0].groups()
    if second and not first:
        return text
    classes = f", {first}#" * bool(first) + f" x {second}#" * bool(second)
    whole = text[: ends[0].start()] + f"{inlet}{letters[0]}{outlet}{classes}"
    whole += text[ends[0].end() :]
    return _ORIFICE.sub(" ", whole)


def _field(part, atmosphere, unit):
    """Names and values that one field gives."""
    for name, word in (("sized_for", "case"), ("destination", "to")):
        lead = _WORDS[word].match(part)
        if lead:
            value = part[lead.end() :].strip()
            if not value:
                raise InputError(f"note: nothing stands after '{lead.group().strip()}'")
            return [(name, value)]
    if re.match(rf"(?:SET\b|{_SET_WORD}{_IS}\d)", part, re.I):
        return _set_field(part, atmosphere, unit)
    return _head(part)


def _set_field(part, atmosphere, unit):
    if re.search(r"\d,\d", part):
        raise InputError(f"note: '{part[:60]}' can't be read: a decimal point, / between sets")
    match = _SET.fullmatch(part)
    unit = (match and (match[2] or "").strip(" .,[]")) or unit
    if not (match and unit):
        raise InputError(f"note: '{part[:60]}': write SET, a number and its unit: SET 16 barg")
    texts = [t.strip() for t in re.split("[/&]", match[1])]
    sets = tuple(_gauge(float(t), unit, atmosphere) for t in texts)
    for pset in sets:
        positive(set_pressure_gauge=pset)
    one = _gauge(1.0, unit, atmosphere) - _gauge(0.0, unit, atmosphere)
    places = min(len(t.partition(".")[2]) for t in texts)
    return [("sets", sets), ("half", 0.5 * one * 10.0**-places)]


def _gauge(value, unit, atmosphere):
    """Pressure [Pa gauge]; a unit in capitals, as drawings write, is read in small letters too."""
    try:
        return to_si(value, unit, "gauge pressure", atmosphere)
    except InputError:
        if unit == unit.lower():
            raise
    return to_si(value, unit.lower(), "gauge pressure", atmosphere)


def _head(part):
    """Tag, number, sizes, classes and arrangement, which may stand in one field."""
    found, rest = [], part
    for take in (_take_groups, _take_classes, _take_roles):
        some, rest = take(rest, part)
        found += some
    rest = re.sub(r"\(\s*\)", " ", rest).strip(" ,+/")
    return found + ([("tag", _tags(rest))] if rest else [])


def _take_groups(rest, part):
    groups = list(_GROUP.finditer(rest))
    if not groups:
        return [], rest
    value = tuple((int(m[1] or m[2]) if m[1] or m[2] else None, _sized(m[3] or m[4]))
                  for m in groups)  # fmt: skip
    if any(n is not None and n < 1 for n, _ in value):
        raise InputError(f"note: '{part[:60]}': no valve at all")
    return [("groups", value)], _GROUP.sub(" ", rest)


def _sized(text):
    """A `Designation`, by the reader of datasheets: inch marks, DN."""
    text = re.sub(r"''|(?<=\d)\s*IN(?:CH)?\b\.?", '"', text, flags=re.I).upper()
    text = re.sub(r"(?<![A-Z])[\"']?([A-Z])[\"']?(?![A-Z])", r" \1 ", re.sub("[×X]", " ", text))
    text = re.sub(r"(?<=[A-Z]\s)\s*-\s*|\s*-\s*(?=\s[A-Z])", " ", text)
    try:
        return read_cell(COLUMNS["designation"], " ".join(text.split()), "-", ATMOSPHERE).value
    except InputError as error:
        said = " ".join(text.split())
        raise InputError(f"note: '{said}': inlet size, letter, outlet size: {error}") from None


def _take_classes(rest, part):
    matches = list(_CLASSES.finditer(rest))
    if not matches:
        return [], rest
    if len(matches) > 1:
        raise InputError("note: says 'flange classes' twice")
    text = re.sub("ANSI", "CL", matches[0].group().strip(), flags=re.I)
    found = [("inlet_class", read_cell(COLUMNS["inlet_class"], text, "-", ATMOSPHERE).value)]
    if re.search("[x×/]", text, re.I):
        cell = read_cell(COLUMNS["outlet_class"], text, "-", ATMOSPHERE)
        found.append(("outlet_class", cell.value))
    return found, _CLASSES.sub(" ", rest)


def _take_roles(rest, part):
    """Duty and spare: '1 duty + 1 spare', '2 x 100 %', or spares beside the valves named."""
    found = []
    for pattern, read in ((_ROLES, _said_roles), (_SHARE, _shares), (_BESIDE, _spares),
                          (_PLUS, _said_roles)):  # fmt: skip
        for match in pattern.finditer(rest):
            if found:
                raise InputError("note: says 'duty' twice")
            found += read(*match.groups())
        rest = pattern.sub(" ", rest)
    return found, rest


def _said_roles(duty, spare):
    return [("duty", int(duty)), ("spare", int(spare or 0))]


def _shares(number, percent):
    """2 x 100 %: one is enough, one is spare."""
    share, number = int(percent), int(number)
    if not 10 <= share <= 100 or math.ceil(100 / share) > number:
        raise InputError(f"note: '{number} x {percent} %': do not make 100 %")
    duty = math.ceil(100 / share)
    return [("duty", duty), ("spare", number - duty)]


def _spares(spare):
    return [("spare", int(spare)), ("beside", True)]


def _with_spares(found):
    """Duty and groups of '2 x 3L4 + 1 spare', whose number leaves the spares out."""
    groups = tuple((n or 1, d) for n, d in found.get("groups", ()))
    if not groups:
        raise InputError("note: names spares beside no valve: 2 x 3L4 + 1 spare")
    largest = max((d for _, d in groups), key=lambda d: d.area)  # a spare is as large as it
    more = [(n + found["spare"] * (d == largest), d) for n, d in groups]
    return {"groups": tuple(more), "duty": sum(n for n, _ in groups)}


def _tags(rest):
    """(tag, letters) of each tag in a text: 'PSV-105 A/B', 'PSV-105A / PSV-105B', 'PSV-105 A & B'.

    A single letter at the end belongs to the tag until another one stands beside it.
    """
    found = []
    rest = _SAME_TAG.sub(r"\1 / ", rest)
    for piece in re.split(r"\s*(?:[/&,]|\bAND\b)\s*", rest, flags=re.I):
        if _PRESSURE.match(piece):
            raise InputError(f"note: '{piece[:60]}': write SET before a set pressure")
        if re.fullmatch("[A-Za-z]", piece) and found:
            tag, letters = found.pop()
            if not letters:
                tag, letters = split_letter(tag)
            if letters:
                found.append((tag, (*letters, piece.upper())))
                continue
        if not _TAG.fullmatch(piece):
            raise InputError(f"note: '{rest[:60]}' can't be read; see the layout")
        found.append((piece, ()))
    return found


def split_letter(tag):
    """A tag and the single letter at its end.

    Parameters: tag. Returns (tag, tuple of one letter or none). Source: common practice.
    >>> split_letter("PSV-105A"), split_letter("PSV-105")
    (('PSV-105', ('A',)), ('PSV-105', ()))
    """
    match = re.fullmatch(r"(.*\d)[\s-]*([A-Z])", tag, re.I)
    return (match[1], (match[2].upper(),)) if match else (tag, ())


def _together(tags):
    """One tag with its letters of all that a note names."""
    names = list(dict.fromkeys((plain(tag), letters) for tag, letters in tags))
    if len(names) == 1:
        return tags[0]
    parts = [split_letter(tag) if not letters else (tag, letters) for tag, letters in tags]
    if len({plain(tag) for tag, _ in parts}) > 1:
        said = " and ".join(dict.fromkeys(tag for tag, _ in tags))
        raise InputError(f"note: says 'tag' twice: {said}")
    letters = dict.fromkeys(c for _, letters in parts for c in letters)
    return parts[0][0], tuple(letters)


def split_tag(text):
    """A tag and its letters, as a note or a list writes it.

    Parameters: text. Returns (tag, tuple of letters). Raises InputError for no tag. Source: as
    `parse_note`.
    >>> split_tag("PSV-105A/B"), split_tag("PSV-105A")
    (('PSV-105', ('A', 'B')), ('PSV-105A', ()))
    """
    return _together(_tags(" ".join(str(text).split())))


def note_of(valve, cause):
    """The `Note` that a valve and its governing case ask for.

    Parameters: valve, a `safeguard.Valve` with designations; cause, the governing case in words.
    Returns `Note`. Raises InputError for a valve without designation or a cause without words.
    Source: what a P&ID must say to judge protection: common practice, no source.
    >>> from relieflib.safeguard import Valve
    >>> note_of(Valve("PSV-1", set_pressure_gauge=16e5, designation="3L4"), "fire").number
    1
    """
    if None in valve.names:
        raise InputError(f"{valve.tag}: a note takes the valve's designation")
    names = [parse_designation(name) for name in valve.names]
    if valve.spare:  # as large as the largest that lifts
        names += [max(names, key=lambda d: d.area)] * valve.spare
    cause = " ".join(str(cause).replace("_", " ").replace(";", ",").split())
    if not cause:
        raise InputError("cause: name the governing case")
    groups = tuple((names.count(d), d) for d in dict.fromkeys(names))
    letters = tuple("ABCDEFGHIJKLMNOP"[: len(names)]) if len(names) > 1 else ()
    sets = valve.sets if len(set(valve.sets)) > 1 else valve.sets[:1]
    return Note(valve.tag, letters, groups, valve.count, valve.spare, sets, 0.0, cause,
                valve.destination or None)  # fmt: skip


def write_note(valve, cause):
    """The note to put beside a valve on the P&ID, which `parse_note` reads back.

    Parameters: as `note_of`. Returns str of five lines or four. Raises InputError as `note_of`,
    and where tag, cause or destination would not be read back as they are.
    Source: as `note_of`.
    >>> from relieflib.safeguard import Valve
    >>> pair = Valve("PSV-1", set_pressure_gauge=16e5, designation="3L4", spare=1, destination="FH")
    >>> print(write_note(pair, "control_valve_opens"))
    PSV-1 A/B
    2 x 3L4 (1 duty + 1 spare)
    SET 16 barg
    SIZED FOR control valve opens
    TO FH
    """
    note = note_of(valve, cause)
    lines = note_lines(note)
    text = "\n".join(lines)
    back = parse_note(text, valve.atmosphere)
    same = ("tag", "suffixes", "groups", "duty", "spare", "sized_for", "destination")
    for name in same:
        if getattr(back, name) != getattr(note, name):
            raise InputError(f"{name} = '{getattr(note, name)}': can't be written in a note")
    return text


def note_lines(note):
    """The lines of a note in our layout, of what it gives.

    Parameters: note. Returns a list of str. Source: the layout is ours.
    >>> note_lines(parse_note('SP=16 barg; PSV-1; 300# x 150#; 3"L4"'))
    ['PSV-1', '3L4', '300# x 150#', 'SET 16 barg']
    """
    lines = [note.tag + (f" {'/'.join(note.suffixes)}" if note.suffixes else "")]
    sized = " + ".join((f"{n} x " if n else "") + str(d) for n, d in note.groups)
    roles = "" if note.duty is None else f"({_roles(note.duty, note.spare)})"
    lines.append(f"{sized} {roles}".strip())
    lines.append(" x ".join(f"{c}#" for c in (note.inlet_class, note.outlet_class) if c))
    lines.append(f"SET {_sets(note)} barg" if note.sets else "")
    lines.append(f"SIZED FOR {note.sized_for}" if note.sized_for else "")
    lines.append(f"TO {note.destination}" if note.destination else "")
    return [line for line in lines if line]


def check_note(words, valve, cause, required_area=None, atmosphere=None):
    """Hold a P&ID note against the valve and the governing case that the sizing gave.

    Parameters: words, the note; valve, a `safeguard.Valve`; cause, the governing case in words;
    required_area of that case [m2], None to leave it out; atmosphere [Pa], the valve's by
    default. Returns a list of
    `Check` ('agrees', 'differs', 'not given'), one for each of `FIELDS`, then 'area of the duty
    valves' and 'note agrees with itself'. Raises InputError as `parse_note` and `note_of`.
    Validity: a set pressure may be off by half its last printed digit, at most 0.5 %.
    Source: common practice, no source; area: API 526.
    >>> from relieflib.safeguard import Valve
    >>> checks = check_note("PSV-1; 1 x 3K4; SET 16 barg", Valve("PSV-1", set_pressure_gauge=16e5,
    ...                     designation="3L4"), "fire")
    >>> [(c.name, c.verdict) for c in checks if c.verdict == "differs"]
    [('letter', 'differs')]
    """
    atmosphere = valve.atmosphere if atmosphere is None else atmosphere
    said, right = parse_note(words, atmosphere), note_of(valve, cause)
    pairs = list(zip(_shown(said), _shown(right)))
    checks = [_one(name, a, b, said, right) for (name, a), (_, b) in pairs]
    return [*checks, _area(said, right, required_area), itself(said)]


_SEVERITY = {"tag": 3, "number": 1, "arrangement": 1, "set pressure": 1, "letter": 1, "sizes": 2,
             "governing case": 3, "destination": 2}  # fmt: skip


def _one(name, stated, wanted, said, right):
    level = _SEVERITY[name]
    if not stated or not wanted:
        return Check(name, "not given", stated or None, wanted or None, severity=level)
    good = same(name, values(said)[name], values(right)[name])
    reason = "" if good else f"the sizing gives {wanted}"
    return Check(name, verdict(good), stated, wanted, reason=reason,
                 source="common practice, no source", severity=level)  # fmt: skip


def values(note):
    """What a note says, by `FIELDS`, as `same` compares it.

    Parameters: note. Returns dict: texts, number, (duty, spare), (set pressures, half), letters of
    the valves, set of (inlet, outlet).
    """
    letters = tuple(d.letter for d in note.designations)
    bores = frozenset((d.inlet, d.outlet) for _, d in note.groups)
    return dict(zip(FIELDS, (note.tag, note.number, (note.duty, note.spare),
                             (note.sets, note.half), letters, bores, note.sized_for,
                             note.destination)))  # fmt: skip


def same(name, one, other):
    """Do two papers say the same of one entry; the only such comparison.

    Parameters: name, of `FIELDS`; one and other, as `values` gives them. Returns bool.
    >>> same("governing case", "POOL FIRE", "exterior fire"), same("number", 1, 2)
    (True, False)
    """
    if name == "governing case":
        return _same_case(one, other)
    if name == "set pressure":
        return _same_sets(*one, *other)
    if name == "letter":
        if len(one) != len(other):  # the number is an entry of its own
            return set(one) == set(other)
        return sorted(one) == sorted(other)
    if isinstance(one, str):
        return plain(one) == plain(other)
    return one == other


def plain(text):
    """A text by which words are known again: small letters, without blanks and hyphens.

    Parameters: text. Returns str. Source: ours.
    >>> plain("PSV-105 A")
    'psv105a'
    """
    return re.sub(r"[\s_-]+", "", str(text)).casefold()


def _same_case(one, other):
    """The same words; a fire by whatever name; a case without and with its particulars."""
    if plain(one) == plain(other) or (fire_in(one) is True and fire_in(other) is True):
        return True
    heads = [plain(words).split(",", 1) for words in (one, other)]
    return heads[0][0] == heads[1][0] and min(map(len, heads)) == 1


def _same_sets(one, half, other, other_half):
    """Within half of the last printed digit of either, at most 0.5 %: rounding between units."""
    one, other = sorted(one), sorted(other)
    if len(set(one)) == 1 or len(set(other)) == 1:  # '16 / 16' says the same as '16'
        one, other = (sorted(set(some)) if len(set(some)) == 1 else some for some in (one, other))
    return len(one) == len(other) and all(
        abs(a - b) <= max(min(half, CLOSE * b), min(other_half, CLOSE * a)) * (1 + 1e-9)
        for a, b in zip(one, other)
    )


def _area(said, right, required_area):
    name = "area of the duty valves"
    duty = said.duty if said.duty is not None else right.duty
    if required_area is None or not said.groups:
        return Check(name, "not given", severity=1)
    positive(required_area=required_area)
    installed = duty_area(said, duty)
    good = large_enough(required_area, installed).holds
    if not good and said.number is None:
        return Check(name, "not given", reason="how many valves is not said", severity=1)
    reason = f"{digits(installed * 1e6)} mm2 on duty, less than the "
    reason = "" if good else reason + f"{digits(required_area * 1e6)} mm2 required"
    return Check(name, verdict(good), installed * 1e6, required_area * 1e6, "mm2", 0.0, reason,
                 "API 526, table 1", 1)  # fmt: skip


def duty_area(note, valves):
    """Area of a note's valves in duty [m2]: its spares are as large as the largest.

    Parameters: note; valves in duty, how many. Returns m2. Source: API 526.
    """
    return sum(sorted(d.area for d in note.designations)[:valves])


def itself(note):
    """Does a note contradict itself: tag and number, duty and spare, pairs of sizes.

    Parameters: note. Returns `Check`. Source: arithmetic; API 526.
    >>> itself(parse_note("PSV-105 A/B; 3 x 3L4")).reason
    'the tag names 2 valves, the number is 3'
    """
    wrong, total = [], note.number
    if note.duty is not None and total is not None and note.duty + note.spare != total:
        wrong.append(f"{note.duty} duty and {note.spare} spare are not {total} valves")
    if note.suffixes and total is not None and len(note.suffixes) != total:
        wrong.append(f"the tag names {len(note.suffixes)} valves, the number is {total}")
    if note.duty is not None and len(note.sets) > max(note.duty, 1):
        wrong.append(f"{len(note.sets)} set pressures for {note.duty} duty valves")
    wrong += [f"{d} is no standard pair of sizes" for _, d in note.groups if not d.standard]
    return Check("note agrees with itself", verdict(not wrong), reason="; ".join(wrong),
                 source="arithmetic; API 526", severity=3)  # fmt: skip
