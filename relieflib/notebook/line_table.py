"""The parts of a line as a table that can be edited: a control of a panel, or shown alone.

>>> from relieflib.notebook.line_table import LineTable, Row
>>> table = LineTable("line", [Row("entrance flush", "3"), Row("pipe", "3", length=1.2)])
>>> table.value.smallest_diameter * 1e3 // 1
77.0
>>> table.set_rows([Row("entrance flush", "4"), Row("pipe", "4", length=1.2)])
>>> table.text()
'entrance flush NPS 4; pipe NPS 4, 1.2 m'

`value` is a `lines.line.Line` that keeps its rows; as a control of a `Panel` it is what `compute`
gets. The truth is held in SI; a number that is only shown in other units stays what it was.
"""

import html
import re
from dataclasses import dataclass, replace

import ipywidgets as widgets

from relieflib.errors import InputError, finite
from relieflib.lines import fittings
from relieflib.lines.line import COMMERCIAL_STEEL, Line, Part, runs
from relieflib.notebook.controls import Control
from relieflib.notebook.forms import one_at_a_time, shown_as
from relieflib.symbols import symbol
from relieflib.texts import html_text, number_text, unit_text

SIZES = ("1/2", "3/4", "1", "1-1/2", "2", "2-1/2", "3", "4", "6", "8", "10", "12", "14", "16", "18",
         "20", "24")  # fmt: skip
SCHEDULES = ("10S", "40", "80", "160", "STD", "XS", "XXS")
AS_LISTED = "as listed"
HEADS = ("part", "NPS", "schedule", "count", "size", "", "rise", "", "valves", "heads lost", "")
WIDTHS = ("140px", "72px", "72px", "52px", "76px", "64px", "64px", "24px", "52px", "76px", "78px")
MOST_VALVES = 12
MOST = 12  # rows
# what the one number of a row means, by kind: field, quantity whose units it has, words
_NUMBER = {
    "pipe": ("length", "length", "long"), "reducer": ("length", "length", "taper"),
    "gate valve": ("bore", "diameter", "bore"), "ball valve": ("bore", "diameter", "bore"),
    "other": ("K", "K", "K"),
}  # fmt: skip
_FIRST = {"pipe": {"length": 1.0}, "other": {"K": 0.5}}


@dataclass(frozen=True)
class Row:
    """One row: kind, nps, schedule; length [m] of a pipe or taper; count; K; bore [m], None full;
    elevation, rise along the flow [m]; valves that relieve through it at once.

    Raises InputError, when its `part` is asked for, as `lines.line.Part`.
    """

    kind: str
    nps: str
    schedule: str = "40"
    length: float = 0.0
    count: int = 1
    K: float | None = None
    bore: float | None = None
    elevation: float = 0.0
    valves: int = 1

    @property
    def part(self):
        """The `Part` of this row."""
        return Part.of(self.kind, self.nps, self.schedule, length=self.length, count=self.count,
                       K=self.K, bore=self.bore, elevation=self.elevation,
                       valves=self.valves)  # fmt: skip


@dataclass(frozen=True)
class TableLine(Line):
    """A `Line` that keeps the rows it was made of."""

    rows: tuple = ()


class LineTable(Control):
    """Rows of parts to add, change and remove; see the module's text.

    Parameters: name, the keyword that `compute` takes; rows, list of `Row`; label, words over it.
    `list` sets one pipe size for the whole line; 'as listed' brings back what was there before.
    Raises InputError for rows that make no line.
    """

    def __init__(self, name, rows, label="parts of the line, in the order of flow"):
        super().__init__(name, label, None)
        self.start = self.value = self.checked(rows)
        self._rows, self._built, self._lines = list(self.value.rows), 0, []
        self._listed, self._chosen = None, AS_LISTED
        layout = widgets.Layout
        self.list = widgets.Dropdown(options=[AS_LISTED, *SIZES], tooltip="one size for all parts",
                                     layout=layout(width="110px"))  # fmt: skip
        self.add = widgets.Button(description="add a part", icon="plus",
                                  layout=layout(width="120px"))  # fmt: skip
        self.message = widgets.HTML()
        self._body = widgets.VBox()
        self.list.observe(self._all_to_one_size, "value")
        self.add.on_click(lambda _: self._edit(self._with_one_more))
        self._caption(html.escape(label))
        head = widgets.HBox([self.caption, self.add, widgets.HTML("all in NPS"), self.list],
                            layout=layout(grid_gap="10px", align_items="center",
                                          flex_flow="row wrap"))  # fmt: skip
        self.box = widgets.VBox(
            [head, self._body, self.message],
            layout=layout(width="auto", grid_area="auto / 1 / auto / -1", overflow="auto"),
        )
        self.write()

    # ------------------------------------------------------------ the cell's way in: it raises
    def set_rows(self, rows):
        """Put rows in the table. Raises InputError for rows that make no line."""
        self.put(rows)
        self.changed()

    @property
    def rows(self):
        """The rows of the line that holds."""
        return self.value.rows

    def checked(self, value):
        """The rows as a `TableLine`. Raises InputError for what is no row or makes no line."""
        if isinstance(value, TableLine):
            return value
        try:
            rows = tuple(value)
        except TypeError:
            raise InputError(f"{self.name} = {value!r}: must be a list of rows") from None
        if not all(isinstance(row, Row) for row in rows):
            raise InputError(f"{self.name}: each row must be a Row")
        if not 1 <= len(rows) <= MOST:
            raise InputError(f"{self.name}: a line has 1 to {MOST} parts, this one {len(rows)}")
        parts = [_part(number, row) for number, row in enumerate(rows, 1)]
        return TableLine(tuple(parts), COMMERCIAL_STEEL, rows)

    def put(self, value):
        """Set the rows. Raises InputError for rows that make no line."""
        if value is not self.value or self.words:
            self.value, self.words = self.checked(value), ""
            self._rows = list(self.value.rows)
            self._listed, self._chosen = None, AS_LISTED
        self.write()

    def state(self):
        """All that a user could see; `restore` brings it back."""
        return self.value, self.words, list(self._rows), self._listed, self._chosen

    def restore(self, state):
        """Bring back a `state`, also one whose rows make no line."""
        self.value, self.words, self._rows, self._listed, self._chosen = state
        self.write()

    def show_in(self, unit_set):
        """Show the same line in another unit set; rows that make no line are dropped."""
        if self.words:
            self._rows = list(self.value.rows)
        super().show_in(unit_set)

    def settings(self):
        """The line in one size smaller and larger, and without its last part."""
        nps = self.start.rows[0].nps
        at = SIZES.index(nps) if nps in SIZES else SIZES.index("4")
        near = {SIZES[max(at - 1, 0)], SIZES[min(at + 1, len(SIZES) - 1)], SIZES[min(at + 3, 16)]}
        other = [[replace(r, nps=n, bore=None) for r in self.start.rows] for n in sorted(near)]
        other.append([replace(self.start.rows[0], valves=2), *self.start.rows[1:]])
        return other + ([list(self.start.rows[:-1])] if len(self.start.rows) > 1 else [])

    within = settings

    def text(self, count=6):
        """The parts in words, one after the other."""
        return "; ".join(self._row_words(row) for row in self.value.rows)

    # ------------------------------------------------------------ the browser's way in
    @one_at_a_time
    def _edit(self, change, listed=None, chosen=AS_LISTED):
        """Take a change of rows, or say in words why not, and tell the panel."""
        if self._quiet:
            return
        self.words, self._listed, self._chosen = "", listed, chosen
        try:
            self._rows = change(list(self._rows))
            self.value = self.checked(self._rows)
        except InputError as error:
            self.words = self._in_units(str(error))
        self.write()
        self.changed()

    def _in_units(self, text):
        """A message of the library with the length that it names in the units on show."""

        def shown_length(match):
            name = match.group(1) if match.group(1) == "length" else "diameter"
            quantity = symbol(name)
            number = number_text(quantity.show(float(match.group(2)), self.unit_set), 4)
            return f"{match.group(1)} = {number} {quantity.display_unit(self.unit_set)}:"

        return re.sub(r"(length|bore) = (\S+) m:", shown_length, text)

    @one_at_a_time
    def _all_to_one_size(self, change):
        if self._quiet:
            return
        before, chosen = self._listed or self._rows, change["new"]
        if chosen == AS_LISTED:
            self._edit(lambda rows: before)
        else:
            same = [replace(row, nps=chosen, bore=None) for row in before]
            self._edit(lambda rows: same, before, chosen)

    def _with_one_more(self, rows):
        if len(rows) >= MOST:
            raise InputError(f"{self.name}: a line has 1 to {MOST} parts")
        last = rows[-1] if rows else Row("pipe", "3")
        return [*rows, Row("pipe", last.nps, last.schedule, length=1.0, valves=last.valves)]

    @one_at_a_time
    def _changed_field(self, number, field, value):
        def change(rows):
            row = rows[number]
            if field == "kind":
                row = Row(value, row.nps, row.schedule, elevation=row.elevation,
                          valves=row.valves, **_FIRST.get(value, {}))  # fmt: skip
            elif field == "number":
                row = self._with_number(row, value)
            elif field == "elevation":
                row = self._with_rise(row, value)
            else:
                row = replace(row, **{field: value})
            rows[number] = row
            return rows

        self._edit(change)

    def _with_number(self, row, value):
        field, name, _ = _NUMBER[row.kind]
        value = float(finite(**{name: value}))
        if number_text(value) == number_text(self._number(row)):
            return row  # only shown: it stays what it was
        si = value if name == "K" else symbol(name).read(value, self.unit_set)
        return replace(row, **{field: None if field == "bore" and value == 0 else si})

    def _with_rise(self, row, value):
        value = float(finite(elevation=value))
        if number_text(value) == number_text(self._rise(row)):
            return row  # only shown: it stays what it was
        return replace(row, elevation=symbol("elevation").read(value, self.unit_set))

    # ------------------------------------------------------------ what it shows
    def _rise(self, row):
        """The rise of a row, in display units."""
        return symbol("elevation").show(row.elevation, self.unit_set)

    def _number(self, row):
        """The one number of a row, in display units; 0 for a full bore."""
        if row.kind not in _NUMBER:
            return 0.0
        field, name, _ = _NUMBER[row.kind]
        value = getattr(row, field) or 0.0
        return value if name == "K" else symbol(name).show(value, self.unit_set)

    def _unit(self, row):
        if row.kind not in _NUMBER:
            return ""
        _, name, words = _NUMBER[row.kind]
        unit = "" if name == "K" else symbol(name).display_unit(self.unit_set)
        return f"{unit_text(unit)} {words}".strip()

    def _row_words(self, row):
        times = f"{row.count} x " if row.count != 1 else ""
        schedule = "" if row.schedule == "40" else f" schedule {row.schedule}"
        number, text = self._number(row), ""
        if row.kind in _NUMBER and number:
            unit = self._unit(row).removesuffix(" long")
            said = number_text(number)
            text = f", K {said}" if row.kind == "other" else f", {said} {unit}"
        if row.elevation:
            unit = symbol("elevation").display_unit(self.unit_set)
            text += f", rise {number_text(self._rise(row))} {unit}"
        text += f", for {row.valves} valves" if row.valves != 1 else ""
        return f"{times}{row.kind} NPS {row.nps}{schedule}{text}"

    def _heads(self):
        """Velocity heads of each part of the line that holds, its change of bore included."""
        return [float(r.heads + r.widening) for r in runs(self.value, 1.0, cut=True)]

    def _write(self):
        if self._built != len(self._rows):
            self._build()
        heads = [""] * len(self._rows)
        if not self.words:
            heads = [f"{x:.3f}" for x in self._heads()]
        for row, line, text in zip(self._rows, self._lines, heads):
            self._show_row(row, line, text)
        self.list.value = self._chosen
        said = html_text(self.words)
        self.message.value = f"<div role='status'><b>Not yet:</b> {said}</div>" if said else ""

    def _show_row(self, row, line, heads):
        kind, nps, schedule, count, number, unit, rise, rise_unit, valves, loss, _ = line
        kind.value = row.kind
        _choose(nps, SIZES, row.nps)
        _choose(schedule, SCHEDULES, row.schedule)
        count.value, count.disabled = row.count, row.kind in ("pipe", "reducer")
        shown = float(number_text(self._number(row)))
        number.value, number.disabled = shown, row.kind not in _NUMBER
        rise.value, valves.value = float(number_text(self._rise(row))), row.valves
        rise_unit.value = symbol("elevation").display_unit(self.unit_set)
        unit.value, loss.value = html.escape(self._unit(row)), heads

    def _build(self):
        """Widgets for as many rows as there are."""
        head = [widgets.HTML(f"<b>{words}</b>", layout=widgets.Layout(width=wide))
                for words, wide in zip(HEADS, WIDTHS)]  # fmt: skip
        self._lines = [self._row_widgets(i, row) for i, row in enumerate(self._rows)]
        self._body.children = [widgets.HBox(line) for line in (head, *self._lines)]
        self._built = len(self._rows)

    def _row_widgets(self, number, row):
        wide = [widgets.Layout(width=w, min_width=w) for w in WIDTHS]
        place = f"part {number + 1}"
        line = [
            widgets.Dropdown(options=fittings.KINDS, value=row.kind, layout=wide[0],
                             tooltip=f"{place}: kind"),
            widgets.Dropdown(options=SIZES, layout=wide[1], tooltip=f"{place}: nominal size"),
            widgets.Dropdown(options=SCHEDULES, layout=wide[2], tooltip=f"{place}: schedule"),
            widgets.BoundedIntText(value=row.count, min=1, max=50, layout=wide[3],
                                   tooltip=f"{place}: how many"),
            widgets.BoundedFloatText(min=0.0, max=1e5, layout=wide[4],
                                     tooltip=f"{place}: length, bore or K"),
            widgets.HTML(layout=wide[5]),
            widgets.FloatText(layout=wide[6], tooltip=f"{place}: rise along the flow, of a liquid"),
            widgets.HTML(layout=wide[7]),
            widgets.BoundedIntText(value=row.valves, min=1, max=MOST_VALVES, layout=wide[8],
                                   tooltip=f"{place}: how many equal valves share it"),
            widgets.HTML(layout=wide[9]),
            widgets.Button(description="remove", layout=wide[10], tooltip=f"remove {place}"),
        ]  # fmt: skip
        fields = {0: "kind", 1: "nps", 2: "schedule", 3: "count", 4: "number", 6: "elevation",
                  8: "valves"}  # fmt: skip
        for widget, field in ((line[i], field) for i, field in fields.items()):
            widget.observe(lambda c, f=field: self._changed_field(number, f, c["new"]), "value")
        line[-1].on_click(lambda _: self._edit(lambda rows: rows[:number] + rows[number + 1 :]))
        return line

    def _table(self):
        rise = symbol("elevation").display_unit(self.unit_set)
        rows = [
            (r.kind, r.nps, r.schedule, str(r.count),
             f"{number_text(self._number(r))} {self._unit(r)}" if self._number(r) else "",
             f"{number_text(self._rise(r))} {rise}" if r.elevation else "",
             str(r.valves), f"{h:.3f}")
            for r, h in zip(self.value.rows, self._heads())
        ]  # fmt: skip
        return [("part", "NPS", "schedule", "count", "size", "rise", "valves", "heads lost"), *rows]

    def __repr__(self):
        columns = list(zip(*self._table()))
        wide = [max(map(len, column)) for column in columns]
        return "\n".join(
            "  ".join(cell.ljust(w) for cell, w in zip(row, wide)).rstrip() for row in self._table()
        )

    def _repr_html_(self):
        head, *rows = self._table()
        cells = "".join(
            "<tr>" + "".join(f"<td>{html_text(cell)}</td>" for cell in row) + "</tr>"
            for row in rows
        )
        top = "".join(f"<th scope='col'>{html_text(cell)}</th>" for cell in head)
        return f"<table><caption>{html_text(self.label)}</caption><tr>{top}</tr>{cells}</table>"

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_html=self._repr_html_(), text_plain=repr(self))


def _choose(widget, options, value):
    """Show a value in a list, also one that the list does not have of its own."""
    wanted = options if value in options else (*options, value)
    if tuple(widget.options) != wanted:
        widget.options = wanted
    widget.value = value


def _part(number, row):
    """The part of a row; what is wrong with it led by the row's number."""
    try:
        return row.part
    except InputError as error:
        raise InputError(f"row {number}: {error}") from None
