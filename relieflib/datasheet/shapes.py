"""Sheets of other shapes brought into a list: a heading line, and a line for each valve.

A form has labels with values right of or under them; a list on its side has its headings in a
column. What decides is whether labels stand under labels.
"""

import re

from relieflib.datasheet.files import Grid
from relieflib.datasheet.headings import _is_unit, match

LONGEST_LABEL = 200  # characters
_NUMBER = re.compile(r"[+-]?[\d.,]+")
_NUMERIC = re.compile(r"[+-]?\d")
FORM_WITHIN = 500  # lines by which a sheet is told to be a form or a list
LEAST_DOWN = 4  # different headings under each other that make a form
REACH = 3  # cells right of a label in which its value is looked for
_NOTE = re.compile(r"(?:(?:notes?|remarks?|legend|rev(?:ision)?)\b|\*+|\d+[.)])\s*\S", re.I)


def upright(grid, mapping=None):
    """The grid as a list, whatever the shape of the sheet; the grid itself where it is one.

    Parameters: grid, `files.Grid`; mapping, answers as `headings.read_mapping`. Returns `Grid`.
    """
    grid = _Within(grid)
    labels = _labels(grid, mapping)
    if len(labels) < 3 or not (_under_each_other(grid, labels) or _more_down(labels)):
        return grid.whole
    columns = {}
    for r, c in labels:
        columns.setdefault(c, []).append(r)
    column = max(columns, key=lambda c: len(columns[c]))
    values = _value_columns(grid, columns[column], column, labels)
    if len(columns) == 1 and len(values) > 1:
        return _turned(grid, columns[column], column, values)
    return _form(grid, labels)


class _Within:
    """The first lines of a grid, by which its shape is told."""

    def __init__(self, grid):
        self.whole, self.lines = grid, grid.lines.head[:FORM_WITHIN]
        self.european, self.sha256, self.title = grid.european, grid.sha256, grid.title
        self.remarks, self.lost = list(grid.remarks), list(grid.lost)
        if len(grid.lines) > FORM_WITHIN:
            words = f"is a form of {len(grid.lines)} lines: the first {FORM_WITHIN} were read"
            self.lost.append((None, words))


def is_note(cells, headings):
    """True for a line under a list that is a note and no valve: words in one cell alone.

    Parameters: cells, texts of the line; headings, how many the list has. Returns bool.
    >>> is_note(["Note 1: set pressures are those of the cold test"], 12)
    True
    """
    filled = [cell for cell in cells if cell]
    if len(filled) != 1 or headings < 3:
        return False
    return bool(_NOTE.match(filled[0])) or len(filled[0].split()) > 4


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
    if len(text) > 2 and not _is_unit(text):
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
    below = [
        (r, c) for c in rows[top] for r in range(top + 1, min(top + 6, len(grid.lines)))
        if _cell(grid, r, c)
    ]  # fmt: skip
    return bool(below) and sum(place in labels for place in below) > 0.25 * len(below)


def _more_down(labels):
    """True where one column names more different things than any line does: a form, on its side."""
    across, down = {}, {}
    for (r, c), one in labels.items():
        name = one.column.name if one.column else one.may_mean
        across.setdefault(r, set()).add(name)
        down.setdefault(c, set()).add(name)
    most = max(map(len, down.values()))
    return most >= LEAST_DOWN and most > max(map(len, across.values()))


def _value_columns(grid, rows, column, labels):
    """Columns right of the labels that hold a value for at least half of them."""
    width = max(len(cells) for _, cells in grid.lines)
    found = []
    for c in range(column + 1, width):
        texts = [_cell(grid, r, c) for r in rows]
        filled = [t for t in texts if t]
        units = sum(bool(_is_unit(t)) for t in filled)
        if 2 * len(filled) >= len(rows) and 2 * units < len(filled):
            found.append(c)
    return found


def _turned(grid, rows, column, values):
    """A list on its side, set upright; a column of units goes to the headings."""
    heads = []
    rows = [r for r in range(rows[0], len(grid.lines)) if r in rows or _cell(grid, r, column)
            and any(_cell(grid, r, c) for c in values)]  # fmt: skip
    for r in rows:
        between = [_cell(grid, r, c) for c in range(column + 1, values[0])]
        unit = next((t for t in between if _is_unit(t)), "")
        heads.append(_cell(grid, r, column) + (f" [{unit}]" if unit else ""))
    number = grid.lines[rows[0]][0]
    lines = [(number, heads)]
    lines += [(number + i, [_cell(grid, r, c) for r in rows]) for i, c in enumerate(values, 1)]
    remark = (number, "is a list on its side: each column was read as a valve")
    remarks = [*grid.remarks, remark]
    return Grid(lines, remarks, grid.european, grid.sha256, grid.title, lost=grid.lost)


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
        heads.append(_cell(grid, r, c).rstrip(": "))
        values.append(f"{text} {_cell(grid, *unit)}" if unit else text)
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
    units = [place for place in filled if _is_unit(_cell(grid, *place))]
    others = [place for place in filled if place not in units] or filled[:1]
    if others:
        near = next((u for u in units if abs(u[1] - others[0][1]) == 1 and u != others[0]), None)
        return others[0], near
    return None, None
