"""Sheets of other shapes brought into a list: a heading line, and a line for each valve.

A form has labels with values right of or under them; a list on its side has its headings in a
column. What decides is whether labels stand under labels. Headings on several lines become one
line; a column that holds several numbers in a cell becomes several.
"""

import re

from relieflib.datasheet.columns import BLANK
from relieflib.datasheet.files import TOLD_BY, Grid
from relieflib.datasheet.headings import is_unit, match, readings
from relieflib.units import unit_name

LONGEST_LABEL = 200  # characters
_NUMBER = re.compile(r"[+-]?[\d.,]+")
_NUMERIC = re.compile(r"[+-]?\d")
FORM_WITHIN = 500  # lines by which a sheet is told to be a form or a list
LEAST_DOWN = 4  # different headings under each other that make a form
REACH = 3  # cells right of a label in which its value is looked for
_NOTE = re.compile(r"(?:(?:notes?|remarks?|legend|rev(?:ision)?)\b|\*+|\d+[.)])\s*\S", re.I)
_GROUP = re.compile(r"(?:unit|area|train|section|system|plant|page|continued)\b", re.I)  # alone
_TOTAL = re.compile(r"(?:grand |sub-?)?(?:total|sum)\b.*", re.I)


def upright(grid, mapping=None):
    """The grid as a list, whatever the shape of the sheet; the grid itself where it is one.

    Parameters: grid, `files.Grid`; mapping, answers as `headings.read_mapping`. Returns `Grid`.
    """
    grid = _Within(grid, mapping)
    labels = _labels(grid, mapping)
    if len(labels) < 3 or not (_under_each_other(grid, labels) or _more_down(grid, labels)):
        return _parted(_one_line_of_headings(grid.whole, mapping), mapping)
    columns = {}
    for r, c in labels:
        columns.setdefault(c, []).append(r)
    column = max(columns, key=lambda c: len(columns[c]))
    values = _value_columns(grid, columns[column], column, labels)
    if len(columns) == 1 and len(values) > 1:
        return _parted(_turned(grid, columns[column], column, values, mapping), mapping)
    return _parted(_form(grid, labels), mapping)


class _Within:
    """The first lines of a grid, by which its shape is told."""

    def __init__(self, grid, mapping):
        self.whole = grid
        self.lines = [(n, _in_pairs(cells, mapping)) for n, cells in grid.lines.head[:FORM_WITHIN]]
        self.european, self.sha256, self.title = grid.european, grid.sha256, grid.title
        self.remarks, self.lost = list(grid.remarks), list(grid.lost)
        if len(grid.lines) > FORM_WITHIN:
            words = f"is a form of {len(grid.lines)} lines: the first {FORM_WITHIN} were read"
            self.lost.append((None, words))


def is_note(cells, headings):
    """True for a line under a list that is no valve: a note, a title of some, or their total.

    Parameters: cells, texts of the line; headings, how many the list has. Returns bool.
    >>> is_note(["Note 1: set pressures are those of the cold test"], 12)
    True
    >>> is_note(["UNIT 100", "", ""], 3), is_note(["PSV-1", "", ""], 3)
    (True, False)
    """
    if headings < 3 or len(cells) - cells.count("") > max(1, headings / 2):
        return False
    filled = [cell for cell in cells if cell]
    if not filled:
        return False
    if len(filled) > 1:
        return bool(_TOTAL.fullmatch(filled[0]))
    return bool(_NOTE.match(filled[0]) or _GROUP.match(filled[0])) or len(filled[0].split()) > 4


def _cell(grid, r, c):
    cells = grid.lines[r][1] if r < len(grid.lines) else ()
    return cells[c] if 0 <= c < len(cells) else ""


def _labels(grid, mapping):
    """{(line, cell): Match} of everything that reads as a heading."""
    found, known = {}, {}
    for r, (_, cells) in enumerate(grid.lines):
        for c, text in enumerate(cells):
            if not text or _NUMBER.fullmatch(text) or len(text) > LONGEST_LABEL:
                continue
            if text not in known:
                known[text] = match(text, mapping)
            one = known[text]
            if (one.column or one.may_mean) and _stands_as_label(grid, r, c, found):
                found[r, c] = one
    return found


def _stands_as_label(grid, r, c, found):
    """False for 'K' beside a number, a unit there, and for 'K' right of a label, its value."""
    text = _cell(grid, r, c)
    if len(text) > 2 and not is_unit(text):
        return True
    left, right = _cell(grid, r, c - 1), _cell(grid, r, c + 1)
    beside = _NUMERIC.match(right) or _NUMERIC.match(_cell(grid, r + 1, c))
    return bool(beside) and not _NUMERIC.match(left) and (r, c - 1) not in found


def _under_each_other(grid, labels):
    """True where labels stand under labels, as in a form; under a list's headings stand values."""
    rows = {}
    for r, c in labels:
        rows.setdefault(r, []).append(c)
    top = max(rows, key=lambda r: len(rows[r]))
    if len(rows[top]) < 2:
        return True
    heads = grid.lines[top][1]
    below = [
        (r, c) for c in rows[top] for r in range(top + 1, min(top + 6, len(grid.lines)))
        if _cell(grid, r, c) and grid.lines[r][1] != heads  # headings again, on the next page
    ]  # fmt: skip
    return bool(below) and sum(place in labels for place in below) > 0.25 * len(below)


def _more_down(grid, labels):
    """True where one column names more different things than any line does: a form, on its side."""
    across, down, again = {}, {}, _said_before(grid)
    for (r, c), one in labels.items():
        if r in again:
            continue
        name = one.column.name if one.column else one.may_mean
        across.setdefault(r, set()).add(name)
        down.setdefault(c, set()).add(name)
    most = max(map(len, down.values()))
    return most >= LEAST_DOWN and most > max(map(len, across.values()))


def _said_before(grid):
    """Lines that say what a line above says: headings again, on the next page."""
    first = {}
    return {r for r, (_, cells) in enumerate(grid.lines) if first.setdefault(tuple(cells), r) != r}


def _value_columns(grid, rows, column, labels):
    """Columns right of the labels that hold a value for at least half of them."""
    width = max(len(cells) for _, cells in grid.lines)
    found = []
    for c in range(column + 1, width):
        texts = [_cell(grid, r, c) for r in rows]
        filled = [t for t in texts if t]
        units = sum(bool(is_unit(t)) for t in filled)
        if 2 * len(filled) >= len(rows) and 2 * units < len(filled):
            found.append(c)
    return found


def _turned(grid, rows, column, values, mapping):
    """A list on its side, set upright; a column of units goes to the headings."""
    heads = []
    rows = [r for r in range(rows[0], len(grid.lines)) if r in rows or _cell(grid, r, column)
            and any(_cell(grid, r, c) for c in values)]  # fmt: skip
    for r in rows:
        between = [_cell(grid, r, c) for c in range(column + 1, values[0])]
        unit = next((t for t in between if is_unit(t)), "")
        heads.append(_cell(grid, r, column) + (f" [{unit}]" if unit else ""))
    number = grid.lines[rows[0]][0]
    columns = [[_cell(grid, r, c) for r in rows] for c in values]
    words = "is a list on its side: each column was read as a valve"
    tag = next((i for i, head in enumerate(heads) if _named(head, "tag", mapping)), None)
    one = tag is not None and columns[0][tag] and not any(column[tag] for column in columns[1:])
    if one and _of_one_valve(heads, columns, mapping):
        words = (
            "is a list on its side: columns without a tag were read as further cases of the first "
        )
        words += "valve; what its column alone says of the valve counts for each"
    lines = [(number, heads), *((number + i, column) for i, column in enumerate(columns, 1))]
    remarks = [*grid.remarks, (number, words)]
    return Grid(lines, remarks, grid.european, grid.sha256, grid.title, lost=grid.lost)


# what may be another in each case of one valve; all else is the valve's or its vessel's
OF_CASE = frozenset(
    "cause overpressure_fraction accumulation relieving_pressure phase fluid composition "
    "temperature molar_mass k Z density specific_volume specific_volume_90 density_90 omega "
    "viscosity saturation_pressure quality load superimposed_gauge variable_gauge built_up "
    "back_pressure Kb Kw Kv Kp KN KSH C F2 regime required_area rated_capacity capacity_basis "
    "inlet_loss notes".split()
)


def _of_one_valve(heads, columns, mapping):
    """Give further cases of a valve what the column of the first alone says of the valve.

    False where a column says otherwise of the valve than the first does: then it is another one.
    """
    known = [match(head, mapping).column for head in heads]
    own = [i for i, one in enumerate(known) if one is not None and one.name not in OF_CASE]
    if any(cells[i] not in ("", columns[0][i]) for cells in columns[1:] for i in own):
        return False
    for cells in columns[1:]:
        for i in own:
            cells[i] = columns[0][i]
    return True


def _form(grid, labels):
    """One valve with labels and values, as two lines."""
    heads, values, used = [], [], set(labels)
    beside = {place: _value_beside(grid, *place, labels) for place in labels}
    mostly = 2 * sum(value is not None for value, _ in beside.values()) >= len(labels)
    for r, c in sorted(labels):
        place, unit = beside[r, c]
        if place is None:
            place = _value_under(grid, r, c, labels, mostly)
        if place is None:
            continue
        text = _cell(grid, *place)
        used |= {place, unit}
        text = f"{text} {_cell(grid, *unit)}" if unit else text
        head, text = _with_its_unit(_cell(grid, r, c).rstrip(": "), text, labels[r, c])
        heads.append(head)
        values.append(text)
    left = [
        f"'{text[:30]}'" for r, (_, cells) in enumerate(grid.lines) for c, text in enumerate(cells)
        if text and (r, c) not in used
    ]  # fmt: skip
    remarks = list(grid.remarks)
    if left:
        more = f" and {len(left) - 12} more" if len(left) > 12 else ""
        remarks.append((None, f"not read: {', '.join(left[:12])}{more}"))
    top = grid.lines[min(r for r, _ in labels)][0]
    lines = [(top, heads), (top, values)]
    return Grid(lines, remarks, grid.european, grid.sha256, grid.title, lost=grid.lost)


def _with_its_unit(head, text, one):
    """A label and its value, the unit of a number with the label: there a plain bar is asked."""
    number = re.fullmatch(r"([+-]?[\d.,]+)\s*([^\d\s.,].*)", text)
    words = one.unit != "-" or (one.column and not one.column.numeric)
    if words or not number or not is_unit(number[2]):
        return head, text
    return _with_unit(head, number[2]), number[1]


def _value_under(grid, r, c, labels, mostly):
    """Place of a value under its label; None where most stand right of theirs and it is a text.

    mostly, True for such a form: what stands under an empty field is a note or the next title.
    """
    under, text, column = (r + 1, c), _cell(grid, r + 1, c), labels[r, c].column
    if not text or under in labels:
        return None
    number = bool(_NUMERIC.match(text))
    return under if number or (not mostly and not (column and column.numeric)) else None


def _value_beside(grid, r, c, labels):
    """Place of a label's value right of it, and of a unit that stands by itself; None without."""
    row = [(r, c + i) for i in range(1, REACH + 1)]
    stop = next((i for i, place in enumerate(row) if place in labels), len(row))
    filled = [place for place in row[:stop] if _cell(grid, *place)]
    units = [place for place in filled if is_unit(_cell(grid, *place))]
    others = [place for place in filled if place not in units] or filled[:1]
    if others:
        near = next((u for u in units if abs(u[1] - others[0][1]) == 1 and u != others[0]), None)
        return others[0], near
    return None, None


# ---- headings on several lines


def _one_line_of_headings(grid, mapping):
    """A list with its headings on one line: words and units that stand below them go up to them.

    Words below go with those above, 'Set' with 'Pressure', which may stand over several; units
    stand below both. The grid as it was where no line below the headings is one of them.
    """
    head = grid.lines.head
    known = [_known(cells, mapping) for _, cells in head[:TOLD_BY]]
    if not known or max(known) < 2:
        return grid
    top = known.index(max(known))
    heads, below = list(head[top][1]), top + 1
    joined = _with_words_below(heads, _cells(head, below), mapping)
    if joined:
        heads, below = joined, below + 1
    joined = _with_units_below(heads, _cells(head, below))
    if joined:
        heads, below = joined, below + 1
    if below > top + 1:
        head[top:below] = [(head[below - 1][0], heads)]
    return grid


def _cells(lines, at):
    return lines[at][1] if at < len(lines) else []


def _known(cells, mapping):
    found = [match(text, mapping) for text in cells]
    return sum(bool(one.column or one.may_mean) for one in found)


def _sure(cells, mapping):
    return sum(match(text, mapping).column is not None for text in cells)


def _with_words_below(heads, cells, mapping):
    """Headings with a second line of words, None where the line below is none of headings."""
    filled = [text for text in cells if text]
    if len(filled) < 2 or any(re.search(r"\d", t) and not is_unit(t) for t in filled):
        return None
    width = max(len(heads), len(cells))
    upper, lower = ([*some, *[""] * (width - len(some))] for some in (heads, cells))
    over, both = "", []
    for up, low in zip(upper, lower):
        over = up if up and low else over if low and not up else ""
        both.append(f"{low}|{over}" if low and over else low or up)
    tag = next((i for i, t in enumerate(heads) if _named(t, "tag", mapping)), None)
    stands = tag is not None and lower[tag]  # a valve without numbers
    return both if not stands and _sure(both, mapping) > _sure(upper, mapping) else None


def _named(text, name, mapping):
    column = match(text, mapping).column
    return column is not None and column.name == name


def _with_units_below(heads, cells):
    """Headings with the units that stand below them, None where the line below has other things."""
    filled = [(i, text.strip("[]() ")) for i, text in enumerate(cells) if text.strip("[]() -–—")]
    units = [(i, text) for i, text in filled if is_unit(text)]
    if len(units) < 2 or len(units) < len(filled) or len(cells) > len(heads):
        return None
    both = list(heads)
    for i, unit in units:
        one = match(heads[i])
        if one.unit in ("-", "kg/kmol"):
            both[i] = _with_unit(heads[i], unit)
        elif not is_unit(one.unit) or unit_name(one.unit) != unit_name(unit):
            # two units for one number: asked, as an unknown one is
            words = one.column.heading if one.column else heads[i]
            both[i] = _with_unit(words, f"{one.unit} or {unit}")
    return both


# ---- two numbers in one cell


def _parted(grid, mapping):
    """A list with columns parted that hold several numbers each, 'Set / CDTP': '12.5 / 12.3'.

    Only where every part of the heading is known and every cell has as many parts.
    """
    lines = grid.lines
    if len(lines) > len(lines.head):
        return grid
    known = [_known(cells, mapping) for _, cells in lines.head[:TOLD_BY]]
    if not known or max(known) < 1:
        return grid
    top = known.index(max(known))
    parts = {
        i: found
        for i, text in enumerate(lines.head[top][1])
        if (found := _heads_in(text, mapping)) and _all_parted(lines.head[top + 1 :], i, found)
    }
    for at, (number, cells) in enumerate(lines.head):
        if parts and at >= top:
            lines.head[at] = number, _in_parts(cells, parts, heading=at == top)
    return grid


def _in_pairs(cells, mapping):
    """The cells of a line of a form, a label of several values parted into labels and values.

    Only a line of one label, its value and perhaps a unit: nothing else stands on it to be moved.
    """
    filled = [i for i, text in enumerate(cells) if text]
    if len(filled) not in (2, 3) or "/" not in cells[filled[0]]:
        return cells
    label, text, *unit = (cells[i] for i in filled)
    heads = _heads_in(label.rstrip(": "), mapping)
    if not heads or (unit and not is_unit(unit[0])) or not _all_parted([(0, [text])], 0, heads):
        return cells
    pairs = zip(heads, _values_in(text, len(heads)))
    return cells[: filled[0]] + [one for head, value in pairs for one in (head, value, *unit)]


def _heads_in(text, mapping):
    """The headings that a heading with strokes holds, () where it is one or a part is not known."""
    one = match(text, mapping)
    if "/" not in text or one.column or one.may_mean:
        return ()
    best, most = (), 0
    for words, unit in readings(text):
        for found in _alternatives(words):
            heads = [_with_unit(head, unit) for head in found]
            matches = [match(head) for head in heads]  # as without answers, which leave some out
            names = {m.column.name if m.column else m.may_mean for m in matches}
            sure = sum(m.column is not None for m in matches)
            if () not in names and len(names) == len(heads) and (sure > most or not best):
                best, most = heads, sure
    return best


def _with_unit(head, unit):
    """A heading with its unit; of two lines in the lower one, which may stand alone."""
    low, bar, up = head.partition("|")
    return head if unit == "-" else f"{low} [{unit}]{bar}{up}"


def _alternatives(words):
    """Ways to part a heading at its strokes, each a list of headings.

    'Pressure operating / set' is 'operating|Pressure' and 'set|Pressure', or the parts themselves.
    """
    parts = [part.split() for part in words.split("/")]
    if len(parts) < 2 or not all(parts):
        return
    rest = " ".join([*parts[0][:-1], *parts[-1][1:]])
    middle = [parts[0][-1:], *parts[1:-1], parts[-1][:1]]
    yield [" ".join(part) + f"|{rest}" * bool(rest) for part in middle]
    yield [" ".join(part) for part in parts]


def _all_parted(lines, index, heads):
    """True where each filled cell of a column holds as many parts as its heading."""
    cells = [cells[index] for _, cells in lines if index < len(cells) and not _blank(cells[index])]
    return bool(cells) and all(len(_values_in(cell, len(heads))) == len(heads) for cell in cells)


def _values_in(text, count):
    """The parts of a cell, a unit behind the last one with each number that has none."""
    bare = re.fullmatch(r"(.*[\d.,])\s*([^\d\s.,].*)", text)
    unit = bare[2] if bare and is_unit(bare[2]) else ""
    for body, stroke in ((text, " / "), (text, "/"), (bare[1] if unit else text, "/")):
        parts = [part.strip() for part in body.split(stroke)]
        if len(parts) == count:
            break
    return [f"{part} {unit}" if unit and _NUMBER.fullmatch(part) else part for part in parts]


def _in_parts(cells, parts, heading):
    """The cells of a line with those of some columns parted."""
    out = []
    for index, text in enumerate(cells):
        heads = parts.get(index)
        if not heads:
            out.append(text)
        elif heading:
            out += heads
        else:
            out += [""] * len(heads) if _blank(text) else _values_in(text, len(heads))
    return out


def _blank(text):
    return text.strip().casefold() in BLANK
