"""The note beside a relief valve on a P&ID: written, read back, and held against the sizing.

Our plain layout, one field a line or fields separated by semicolons, in any order after the tag:

    PSV-105 A/B                     tag, with a letter for each valve
    2 x 3L4 (1 duty + 1 spare)      number, inlet size, orifice letter, outlet size; arrangement
    SET 16 barg                     set pressure with its unit; 16 / 16.8 barg where staggered
    SIZED FOR control valve opens   governing case
    TO FH                           destination

On one line SET and SIZED FOR begin a field by themselves, TO after two spaces or more. Only the tag
must be there. What can't be read is refused, never skipped.
"""

import re
from dataclasses import dataclass

from relieflib.cause_words import fire_in
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
_SET = re.compile(rf"SET\s*[:=@]?\s*({_NUMBER}(?:\s*/\s*{_NUMBER})*)\s*([^\s\d/].*)", re.I)
_SIZE = r"\d{1,2}(?:[-\s]\d{1,2}/\d{1,2}|/\d{1,2}|\.\d{1,2})?"
_GROUP = re.compile(rf"(?<!\w)(\d{{1,2}})\s*[x×]\s*({_SIZE}\s*[A-Z]\s*{_SIZE})(?![\w/.])", re.I)
_ROLES = re.compile(r"\(?\s*(\d{1,2})\s*duty(?:\s*(?:\+|,|and)\s*(\d{1,2})\s*spares?)?\s*\)?", re.I)
_SUFFIX = re.compile(r"[\s-]*(?<![A-Z])([A-Z](?:\s*/\s*[A-Z])+)$", re.I)
_TAG = re.compile(r"(?=.*[A-Z])(?=.*\d)[A-Z0-9](?:[A-Z0-9 -]{0,30}[A-Z0-9])?", re.I)


@dataclass(frozen=True)
class Note:
    """What a note says; None, or an empty tuple, for what it does not give.

    tag; suffixes, the letters of its valves; groups of (number, `orifices.Designation`); duty and
    spare, numbers of valves; sets [Pa gauge]; half, half of the last printed digit of set [Pa];
    sized_for and destination, words.
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

    @property
    def number(self):
        """Valves in all, spares among them; None where the note does not say."""
        return sum(n for n, _ in self.groups) or None

    def __str__(self):
        return "\n".join(f"{name:15} {value or 'not given'}" for name, value in _shown(self))


def _shown(note):
    letters = "/".join(dict.fromkeys(d.letter for _, d in note.groups))
    sizes = " + ".join(f"{n} x {d.inlet} in x {d.outlet} in" for n, d in note.groups)
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


def parse_note(words, atmosphere=ATMOSPHERE):
    """Read a P&ID note in the layout of this module.

    Parameters: words, the note; atmosphere [Pa], for a set pressure written as absolute. Returns
    `Note`. Raises InputError, and nothing else, for what is no text, has no tag, says a field twice
    or has a part that can't be read, naming it. Source: the layout is ours.
    >>> note = parse_note("PSV-105 A/B  2 x 3L4 (1 duty + 1 spare)  SET 16 barg  SIZED FOR FIRE")
    >>> note.number, note.duty, note.sets, note.sized_for
    (2, 1, (1600000.0,), 'FIRE')
    """
    atmosphere = one_number(atmosphere=positive(atmosphere=atmosphere))
    found = {}
    for part in _parts(words):
        for name, value in _field(part, atmosphere):
            if name in found:
                raise InputError(f"note: says '{name}' twice")
            found[name] = value
    if "tag" not in found:
        raise InputError("note: has no tag, such as PSV-105")
    return Note(**found)


def _parts(words):
    """The fields of a note, each with single spaces."""
    if not isinstance(words, str) or len(words) > LONGEST:
        raise InputError(f"note: must be text of at most {LONGEST} characters")
    text = re.sub(r"[;\r\n\v\f\x1c-\x1e\x85\u2028\u2029]+", ";", words.strip())
    text = re.sub(r"\s+(?=SET\s*[:=@]?\s*\d)|\s+(?=SIZED\s+FOR\b)", ";", text, flags=re.I)
    text = re.sub(r"\s{2,}(?=TO\s)", ";", text, flags=re.I)
    return [" ".join(part.split()) for part in text.split(";") if part.strip()]


def _field(part, atmosphere):
    """Names and values that one field gives."""
    lead = re.match(r"(SIZED FOR|TO|SET)\b\s*:?\s*", part, re.I)
    kind = lead.group(1).upper() if lead else ""
    if kind in ("SIZED FOR", "TO"):
        value = part[lead.end() :].strip()
        if not value:
            raise InputError(f"note: nothing stands after '{kind}'")
        return [("sized_for" if kind == "SIZED FOR" else "destination", value)]
    return _set_field(part, atmosphere) if kind == "SET" else _head(part)


def _set_field(part, atmosphere):
    match = _SET.fullmatch(part)
    if not match:
        raise InputError(f"note: '{part[:60]}': write SET, a number and its unit: SET 16 barg")
    texts, unit = [t.strip() for t in match.group(1).split("/")], match.group(2).strip()
    sets = tuple(to_si(float(t), unit, "gauge pressure", atmosphere) for t in texts)
    for pset in sets:
        positive(set_pressure_gauge=pset)
    one = to_si(1.0, unit, "gauge pressure", atmosphere)
    one -= to_si(0.0, unit, "gauge pressure", atmosphere)
    places = min(len(t.partition(".")[2]) for t in texts)
    return [("sets", sets), ("half", 0.5 * one * 10.0**-places)]


def _head(part):
    """Tag, number, sizes and arrangement, which may stand in one field."""
    found, rest = [], part
    groups = list(_GROUP.finditer(rest))
    if groups:
        value = tuple((int(m.group(1)), parse_designation(m.group(2))) for m in groups)
        if min(n for n, _ in value) < 1:
            raise InputError(f"note: '{part[:60]}': no valve at all")
        found.append(("groups", value))
        rest = _GROUP.sub(" ", rest)
    roles = list(_ROLES.finditer(rest))
    if roles:
        if len(roles) > 1:
            raise InputError("note: says 'duty' twice")
        duty, spare = (int(v or 0) for v in roles[0].groups())
        found += [("duty", duty), ("spare", spare)]
        rest = _ROLES.sub(" ", rest)
    rest = rest.strip(" ,+")
    return found + (_tag(rest) if rest else [])


def _tag(rest):
    suffix = _SUFFIX.search(rest)
    tag = rest[: suffix.start()] if suffix else rest
    if not _TAG.fullmatch(tag):
        raise InputError(f"note: '{rest[:60]}' can't be read; see the layout")
    letters = re.findall(r"[A-Za-z]", suffix.group(1)) if suffix else []
    return [("tag", tag), ("suffixes", tuple(c.upper() for c in letters))]


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
    lines = [note.tag + (f" {'/'.join(note.suffixes)}" if note.suffixes else "")]
    lines.append(" + ".join(f"{n} x {d}" for n, d in note.groups)
                 + f" ({_roles(note.duty, note.spare)})")  # fmt: skip
    lines.append(f"SET {_sets(note)} barg")
    lines.append(f"SIZED FOR {note.sized_for}")
    if note.destination:
        lines.append(f"TO {note.destination}")
    text = "\n".join(lines)
    back = parse_note(text, valve.atmosphere)
    same = ("tag", "suffixes", "groups", "duty", "spare", "sized_for", "destination")
    for name in same:
        if getattr(back, name) != getattr(note, name):
            raise InputError(f"{name} = '{getattr(note, name)}': can't be written in a note")
    return text


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
    return [*checks, _area(said, right, required_area), _itself(said)]


_SEVERITY = {"tag": 3, "number": 1, "arrangement": 1, "set pressure": 1, "letter": 1, "sizes": 2,
             "governing case": 3, "destination": 2}  # fmt: skip


def _one(name, stated, wanted, said, right):
    level = _SEVERITY[name]
    if not stated or not wanted:
        return Check(name, "not given", stated or None, wanted or None, severity=level)
    good = _plain(stated) == _plain(wanted)
    if name == "governing case":
        good = good or fire_in(stated) is True and fire_in(wanted) is True
    elif name == "set pressure":
        good = _same_sets(said, right)
    elif name == "arrangement":
        good = (said.duty, said.spare) == (right.duty, right.spare)
    elif name == "sizes":
        good = _bores(said) == _bores(right)
    elif name == "letter":
        good = sorted(_letters(said)) == sorted(_letters(right))
        if len(_letters(said)) != len(_letters(right)):  # the number is a check of its own
            good = set(_letters(said)) == set(_letters(right))
    reason = "" if good else f"the sizing gives {wanted}"
    return Check(name, verdict(good), stated, wanted, reason=reason,
                 source="common practice, no source", severity=level)  # fmt: skip


def _plain(text):
    return re.sub(r"[\s_-]+", "", text).casefold()


def _letters(note):
    return [d.letter for n, d in note.groups for _ in range(n)]


def _bores(note):
    return {(d.inlet, d.outlet) for _, d in note.groups}


def _same_sets(said, right):
    one, other = sorted(said.sets), sorted(right.sets)
    if len(set(one)) == 1 and len(other) == 1:  # '16 / 16' says the same as '16'
        one = one[:1]
    return len(one) == len(other) and all(
        abs(a - b) <= min(said.half, CLOSE * b) * (1 + 1e-9) for a, b in zip(one, other)
    )


def _area(said, right, required_area):
    name = "area of the duty valves"
    duty = said.duty if said.duty is not None else right.duty
    if required_area is None or not said.groups:
        return Check(name, "not given", severity=1)
    positive(required_area=required_area)
    areas = sorted(d.area for n, d in said.groups for _ in range(n))
    installed = sum(areas[:duty])  # the spare is as large as the largest: count the smaller ones
    good = large_enough(required_area, installed).holds
    reason = f"{digits(installed * 1e6)} mm2 on duty, less than the "
    reason = "" if good else reason + f"{digits(required_area * 1e6)} mm2 required"
    return Check(name, verdict(good), installed * 1e6, required_area * 1e6, "mm2", 0.0, reason,
                 "API 526, table 1", 1)  # fmt: skip


def _itself(note):
    """Does the note contradict itself: tag and number, duty and spare, pairs of sizes."""
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
