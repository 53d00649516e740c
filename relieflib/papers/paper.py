"""What each paper says of one valve, entry by entry, in one shape that can be compared."""

import re
from dataclasses import dataclass, field, replace

from relieflib import pid_note
from relieflib.datasheet.recompute import recompute
from relieflib.datasheet.verdict import digits
from relieflib.errors import InputError, lone
from relieflib.kinds import DISPLAY
from relieflib.pid_note import plain
from relieflib.position.checks import case_of, check
from relieflib.position.placement import placement
from relieflib.safeguard.installed import Valve
from relieflib.summary import COLUMNS as HEADINGS
from relieflib.symbols import symbol
from relieflib.texts import harmless, number_text, unit_text, with_unit
from relieflib.units import ATMOSPHERE, to_si

NOTE, SHEET, SUMMARY, PLACED = "P&ID note", "datasheet", "load summary", "placement"
KINDS = (NOTE, SHEET, SUMMARY, PLACED)
LONGEST = 120  # characters of an entry
# Entry -> kinds of paper that should say it.
ENTRIES = {
    "tag": (NOTE, SHEET, PLACED),
    "protected item": (SHEET, SUMMARY, PLACED),
    "number of valves": (NOTE, SUMMARY, PLACED),
    "valves in duty": (NOTE, SHEET, SUMMARY, PLACED),
    "spares": (NOTE, SUMMARY, PLACED),
    "set pressure": (NOTE, SHEET, SUMMARY, PLACED),
    "letter": (NOTE, SHEET, SUMMARY, PLACED),
    "sizes": (NOTE, SHEET, SUMMARY, PLACED),
    "flange classes": (NOTE, SHEET),
    "kind of device": (SHEET, SUMMARY, PLACED),
    "disk under the valve": (SHEET, PLACED),
    "governing case": (NOTE, SHEET, SUMMARY, PLACED),
    "phase": (SHEET, SUMMARY),
    "load": (SHEET, SUMMARY),
    "relieving pressure": (SHEET, SUMMARY),
    "back pressure": (SHEET, SUMMARY),
    "required area": (SHEET, SUMMARY),
    "destination": (NOTE, SUMMARY, PLACED),
}  # fmt: skip
# Entry -> column of the sheet and quantity of the summary, for what is a number of both.
NUMBERS = {"load": ("load", "mass_flow"), "relieving pressure": ("relieving_pressure", "pressure"),
           "back pressure": ("back_pressure", "back_pressure"),
           "required area": ("required_area", "required_area")}  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What a paper says of one entry: words as written, and the value that is compared.

    half, of the last printed digit, of a number [SI]; kind, of the quantity of a number; also,
    other values that the words may mean.
    """

    words: str
    value: object
    half: float = 0.0
    kind: str = ""
    also: tuple = ()


@dataclass(frozen=True)
class Paper:
    """One paper on one valve: its kind of `KINDS`, where it stands, {entry: `Said`}.

    unread, {entry: words} of what stands there and can't be read; note, as `pid_note.Note`, of what
    names valves; row, of a datasheet; cases, of a load summary, the largest area first; checks, of
    where a placement has the valve stand.
    """

    kind: str
    where: str
    said: dict
    unread: dict = field(default_factory=dict)
    note: object = None
    row: object = None
    cases: tuple = ()
    checks: tuple = ()

    @property
    def name(self):
        """'datasheet (row 3)'."""
        return f"{self.kind} ({self.where})" if self.where else self.kind


@dataclass
class Gathered:
    """All papers on one valve, and in words what is missing or could not be read."""

    tag: str
    papers: list = field(default_factory=list)
    problems: list = field(default_factory=list)
    mawp_gauge: float | None = None


def of_valve(tag, note=None, rows=(), cases=None, plant=None, item=None, atmosphere=None):
    """Everything that the papers say of one valve.

    Parameters: tag; note, a `pid_note.Note` or None; rows of a datasheet, all of the list; cases,
    `summary.saved_cases` of a load summary, or None; plant, whose file places the valve, or None;
    item, tag of what it protects, where sheet and plant do not say; atmosphere [Pa], of the plant
    by default. Returns `Gathered`. Raises InputError for less than two papers that know the tag.
    Source: what each paper holds: common practice, no source.
    """
    base, letters = pid_note.split_tag(tag)
    found = Gathered(tag)
    if note is not None:
        found.papers.append(_of_note(note))
    found.papers += _of_sheet(found, base, letters, rows)
    if plant is not None:
        _of_plant(found, plant, base)
    if cases is not None:
        own = ATMOSPHERE if plant is None else plant.atmosphere
        air = own if atmosphere is None else atmosphere
        _of_summary(found, cases, item or _item(found.papers), air)
    if len(found.papers) < 2:
        there = found.papers[0].name if found.papers else "no paper"
        more = "; ".join(["", *found.problems])
        raise InputError(f"{tag}: {there} alone knows it: nothing to hold it against{more}")
    _mawp(found, plant)
    return found


def _given(**said):
    return {name.replace("_", " "): one for name, one in said.items() if one is not None}


def _words(text):
    text = harmless(str(text).strip(), LONGEST)
    return Said(text, text) if text else None


# --- the note, and whatever names valves as a note does -----------------------------------------


def _of_note(note):
    return Paper(NOTE, "", _note_entries(note) | {"tag": Said(note.tag, note.tag)}, note=note)


def _note_entries(note):
    """Entries of a `Note`, also of one that stands for another paper's valves."""
    values = pid_note.values(note)
    show = symbol("set_pressure_gauge").show
    classes = (note.inlet_class, note.outlet_class)
    sets = " / ".join(number_text(show(p)) for p in note.sets)
    letters = "/".join(dict.fromkeys(values["letter"]))
    sizes = ", ".join(f"{d.inlet} in x {d.outlet} in" for _, d in note.groups)
    return _given(
        number_of_valves=None if note.number is None else Said(str(note.number), note.number),
        valves_in_duty=_duty(note), spares=_spares(note),
        set_pressure=Said(f"{sets} barg", values["set pressure"]) if note.sets else None,
        letter=Said(letters, values["letter"]) if letters else None,
        sizes=Said(sizes, values["sizes"]) if note.groups else None,
        flange_classes=_classes(*classes),
        governing_case=_words(note.sized_for or ""), destination=_words(note.destination or ""),
    )  # fmt: skip


def _duty(note):
    """Valves in duty as (fewest, most): a number without roles may count spares."""
    if note.duty is not None:
        return Said(str(note.duty), (note.duty, note.duty))
    if note.number is None:
        return None
    words = "1" if note.number == 1 else f"1 to {note.number}: roles not said"
    return Said(words, (1, note.number))


def _spares(note):
    if note.duty is not None:
        return Said(str(note.spare), note.spare)
    return Said("0", 0) if note.number == 1 else None


def _classes(inlet, outlet):
    given = [str(c) for c in (inlet, outlet) if c]
    return Said(" x ".join(given), (inlet, outlet)) if given else None


# --- the datasheet ------------------------------------------------------------------------------


def _of_sheet(found, base, letters, rows):
    """A paper a row of this valve: its tag, or its tag with one of the letters."""
    stem, wanted = _stem(base, letters)
    papers, of = [], []
    for row in rows:
        try:
            own, own_letters = _stem(*pid_note.split_tag(row.tag))
        except InputError:
            continue
        if own == stem and (not wanted or not own_letters or set(own_letters) & set(wanted)):
            papers.append(_of_row(row, base, own_letters))
            of.append("".join(own_letters))
    if rows and not papers:
        found.problems.append(f"the datasheet has no row {harmless(base)}")
    if len(papers) > 1 and len(set(of)) == len(of) and all(len(each) == 1 for each in of):
        return _together(found, papers, of)
    return papers


def _together(found, papers, of):
    """Rows of the single valves of one place, such as A and B, each with what all of them say."""
    sets, letters, sizes = (
        [p.said[name] for p in papers if name in p.said]
        for name in ("set pressure", "letter", "sizes")
    )
    pressures = tuple(pset for one in sets for pset in one.value[0])
    staggered = len(set(pressures)) > 1
    least = len(papers) if staggered else 1  # of equal sets one may be the spare
    said = {"number of valves": Said(str(len(papers)), len(papers)),
            "valves in duty": Said(str(least) if staggered else f"1 to {len(papers)}: roles not "
                                   "said", (least, len(papers)))}  # fmt: skip
    if len(sets) == len(papers):
        half = max(one.value[1] for one in sets)
        said["set pressure"] = Said(_each(sets, of), (pressures, half))
    if len(letters) == len(papers):
        said["letter"] = Said(_each(letters, of), tuple(n for one in letters for n in one.value))
    if len(sizes) == len(papers):
        said["sizes"] = Said(_each(sizes, of), frozenset().union(*(one.value for one in sizes)))
    for name in ("load", "required area"):
        said |= _one_s_or_all(found, papers, of, name)
    return [replace(p, said=p.said | said) for p in papers]


def _each(said, of):
    """'16 barg (A), 16.8 barg (B)', or the words once where all are the same."""
    if len({one.words for one in said}) == 1:
        return said[0].words
    return ", ".join(f"{one.words} ({letter})" for one, letter in zip(said, of))


def _one_s_or_all(found, papers, of, name):
    """A number that the rows of several valves repeat: one valve's, or that of all of them."""
    said = [p.said.get(name) for p in papers]
    several = any(p.row.get("valves", 1.0) > 1 for p in papers)
    if several or None in said or len({one.kind for one in said}) > 1:
        return {}
    total = sum(one.value for one in said)
    half, words, kind = sum(one.half for one in said), _each(said, of), said[0].kind
    if max(one.value for one in said) - min(one.value for one in said) > half:
        return {name: Said(words, total, half, kind)}
    found.problems.append(
        f"the rows of {' and '.join(of)} each say {said[0].words} for the {name}: that of one "
        "valve or of all is not said, so that the area is held to what one row needs"
    )
    return {name: Said(words, said[0].value, said[0].half, kind, (total,))}


def _stem(tag, letters):
    """A tag in plain letters without those of its valves, and these: 'PSV-105A' is 'PSV-105'."""
    if not letters:
        tag, letters = pid_note.split_letter(tag)
    return plain(tag), letters


def _of_row(row, base, letters):
    case = recompute(row)
    letter, named = case.letter, row.get("designation")
    valves, pset = row.cells.get("valves"), row.cells.get("set_pressure_gauge")
    entries = _given(
        tag=Said(harmless(row.tag), base),
        protected_item=_words(row.get("protected_item", "")),
        number_of_valves=Said(str(len(letters)), len(letters)) if len(letters) > 1 else None,
        valves_in_duty=valves and Said(valves.text, (int(valves.value),) * 2),
        set_pressure=pset and Said(_as_written(pset), ((pset.value,), pset.half)),
        letter=Said(letter, (letter,)) if letter else None,
        sizes=named and Said(f"{named.inlet} in x {named.outlet} in",
                             frozenset({(named.inlet, named.outlet)})),
        flange_classes=_classes(row.get("inlet_class"), row.get("outlet_class")),
        kind_of_device=_words(row.get("device_type", "")),
        disk_under_the_valve=_yes(row.get("disk_upstream")),
        governing_case=_words(row.get("cause", "")), phase=_words(row.get("phase", "")),
    )  # fmt: skip
    for name, (column, _) in NUMBERS.items():
        cell = row.cells.get(column)
        if cell is not None:
            entries[name] = _of_all(row, name, cell)
    unread = {e: row.unreadable[c] for e, c in _COLUMNS.items() if c in row.unreadable}
    return Paper(SHEET, f"row {row.number}", entries, unread, row=row)


_COLUMNS = {"protected item": "protected_item", "valves in duty": "valves",
            "set pressure": "set_pressure_gauge", "letter": "letter", "sizes": "designation",
            "flange classes": "inlet_class", "kind of device": "device_type",
            "disk under the valve": "disk_upstream", "governing case": "cause", "phase": "phase",
            } | {name: column for name, (column, _) in NUMBERS.items()}  # fmt: skip


def _of_all(row, name, cell):
    """A number of the sheet; a required area is one valve's there, all valves' in a summary."""
    valves = row.get("valves", 1.0)
    if name != "required area" or valves == 1.0:
        return Said(_as_written(cell), cell.value, cell.half, cell.kind)
    return Said(f"{valves:g} x {_as_written(cell)}", valves * cell.value, valves * cell.half,
                cell.kind)  # fmt: skip


def _as_written(cell):
    text = harmless(cell.text)
    own = cell.unit == "-" or any(c.isalpha() for c in re.sub(r"\d[eE]", "", text))  # '16 mm2'
    return text if own else f"{text} {unit_text(cell.unit)}"


def _yes(value):
    return None if value is None else Said("yes" if value else "no", bool(value))


# --- the load summary ---------------------------------------------------------------------------


def _item(papers):
    """What the valve protects, by the first paper that says so; the placement before a sheet."""
    told = [p.said["protected item"].value for p in papers if "protected item" in p.said]
    return told[-1] if told else None


def _of_summary(found, cases, item, atmosphere):
    """The governing case of the item: the row with the largest area."""
    known = {plain(name): name for name in cases}
    if item is None and len(cases) == 1:
        item = next(iter(cases))
        words = f"{harmless(item)}, the load summary's one item, was taken for what it protects"
        found.problems.append(words)
    name = known.get(plain(item or ""))
    if name is None:
        words = f"has no rows of {harmless(item)}" if item else "holds several items: name one"
        found.problems.append(f"the load summary {words}")
        return
    rows = cases[name]
    row = rows[0].row
    entries = _given(protected_item=_words(name), governing_case=_words(rows[0].cause),
                     destination=_words(row["destination"]), phase=_words(row["phase"]),
                     kind_of_device=_words(row["device"]))  # fmt: skip
    note, unread = None, {}
    if row["installed"].strip():
        try:
            note = pid_note.parse_note(f"X-1; {row['installed']}", atmosphere)
            entries |= _note_entries(note) | {"governing case": entries["governing case"]}
        except InputError as error:
            words = str(error).removeprefix("note: ")
            unread = {e: words for e in ("number of valves", "valves in duty", "letter", "sizes")}
    pset = _cell(row, "set_pressure_gauge", unread, "set pressure")
    if pset is not None:
        entries["set pressure"] = Said(pset.words, ((pset.value,), pset.half))
    for entry, (_, quantity) in NUMBERS.items():
        one = _cell(row, quantity, unread, entry)
        if one is not None:
            entries[entry] = one
    found.papers.append(Paper(SUMMARY, harmless(name), entries, unread, note, cases=rows))


def _cell(row, quantity, unread, entry):
    heading = next(h for h, q in HEADINGS.items() if q == quantity)
    text = row[heading].strip()
    if not text:
        return None
    kind = symbol(quantity).kind
    unit = heading.partition("[")[2].rstrip("]")
    try:
        value = float(text)
    except ValueError:
        unread[entry] = f"'{harmless(text)}' is not a number"
        return None
    if not abs(value) < float("inf"):
        unread[entry] = f"'{harmless(text)}' is not a number"
        return None
    return Said(with_unit(text, unit), to_si(value, unit, kind), 0.0, kind)


# --- the placement ------------------------------------------------------------------------------


def _of_plant(found, plant, base):
    """What the plant's file says of the device, and where it stands."""
    tag = next((t for t in plant.items if plain(t) == plain(base)), None)
    if tag is None or not hasattr(plant[tag], "designation"):
        found.problems.append(f"the plant's file has no relief valve {harmless(base)}")
        return
    item = plant[tag]
    try:
        placed = placement(plant, tag)
    except InputError as error:
        placed = None
        found.problems.append(f"placement: {error}")
    note = note_of_item(item, placed)
    entries = _note_entries(note) | _given(
        tag=Said(tag, tag), protected_item=_words(item.protects), kind_of_device=_words(item.kind),
        disk_under_the_valve=_yes(placed and any(p.kind == "rupture disk" for p in (
            *placed.inlet, *(p for way in placed.valve_inlets for p in way)))),
    )  # fmt: skip
    if placed is None:
        found.problems.append(f"{tag}: the plant's file does not say where it stands")
        for name in ("number of valves", "valves in duty", "spares"):
            del entries[name]
    try:
        standing = () if placed is None else tuple(check(case_of(plant, tag)))
    except InputError as error:
        standing = ()
        found.problems.append(f"where it stands was not checked: {error}")
    found.papers.append(Paper(PLACED, "", entries, note=note, checks=standing))


def note_of_item(item, placed=None):
    """The `pid_note.Note` that a relief valve of a plant's file asks for.

    Parameters: item, of its relief valves; placed, its `Placement`, or None for one valve alone.
    Returns `Note`. Raises InputError as `pid_note.note_of`.
    >>> from relieflib.plant import load_plant
    >>> str(note_of_item(load_plant()["PSV-104"]).groups[0][1])
    '2J3'
    """
    roles = {"count": placed.duty, "spare": placed.spare} if placed else {}
    valve = Valve(item.tag, item.protects, set_pressure_gauge=item.set_pressure_gauge,
                  designation=item.designation, destination=item.destination, **roles)  # fmt: skip
    return pid_note.note_of(valve, item.sized_for)


def _mawp(found, plant):
    """MAWP of what is protected, by the sheet or the plant; the lowest that is said."""
    told = [p.row.get("mawp_gauge") for p in found.papers if p.row is not None]
    if plant is not None:
        item = next((p.said["protected item"].value for p in found.papers if p.kind == PLACED), "")
        equipment = plant.items.get(item)
        told.append(getattr(equipment, "mawp_gauge", None))
    told = [value for value in told if value]
    found.mawp_gauge = min(told, default=None)


def barg(pressure_gauge):
    """A gauge pressure in words.

    Parameters: pressure_gauge [Pa gauge]. Returns str. Raises InputError for an array. Source:
    `symbols`.

    >>> barg(16e5)
    '16 barg'
    """
    quantity = symbol("set_pressure_gauge")
    return with_unit(
        digits(quantity.show(lone(pressure_gauge=pressure_gauge))), DISPLAY[quantity.kind][0]
    )


def mm2(area):
    """An area in words.

    Parameters: area [m2]. Returns str. Raises InputError for an array. Source: `symbols`.

    >>> mm2(1186e-6)
    '1186 mm²'
    """
    return with_unit(digits(symbol("area").show(lone(area=area))), "mm2")
