"""Where the inputs of a reader's own case may lie, and what that does to its letter."""

import html
from dataclasses import replace

import ipywidgets as widgets

from relieflib.errors import InputError
from relieflib.notebook.controls import Quantity
from relieflib.notebook.forms import Fold, tell
from relieflib.report import how_sure_figure
from relieflib.study.how_sure import TOGETHER, Range, of_case
from relieflib.study.inputs import Inputs, written
from relieflib.texts import html_text

CHOSEN = ("mawp_gauge", "set_pressure_gauge")  # somebody sets them: they are not uncertain
NONE = "none stated: every input counts as known"


class OwnRanges:
    """A fold under a form: state the range of an input, see what moves the letter.

    Parameters: panel, with `case_of(values)`. `of(case)` gives the case with the ranges stated.
    """

    def __init__(self, panel):
        self.panel, self.stated = panel, {}
        self.which = widgets.Dropdown(options=self._inputs(), description="input")
        self.low, self.high = (
            widgets.Text(placeholder="number", description=word, layout={"width": "190px"})
            for word in ("from", "to")
        )
        self.add = widgets.Button(description="State this range", icon="plus")
        self.clear = widgets.Button(description="Take all back")
        self.ask = widgets.Button(description="How sure?", icon="search")
        self.add.on_click(lambda _: tell(self.said, self._add, "Not taken"))
        self.clear.on_click(lambda _: tell(self.said, self._clear, "Not taken back"))
        self.ask.on_click(lambda _: tell(self.said, self._ask, "Not worked out"))
        self.said, self.found = widgets.HTML(), widgets.HTML()
        self.picture = widgets.Image(format="png", layout={"max_width": "100%", "display": "none"})
        row = widgets.Box([self.which, self.low, self.high, self.add, self.clear, self.ask],
                          layout=widgets.Layout(flex_flow="row wrap"))  # fmt: skip
        inside = widgets.VBox([row, self.said, self.picture, self.found])
        self.fold = Fold("How sure? Where may the inputs lie?", inside, self.words)
        self.box = self.fold.box

    def _inputs(self):
        return [
            (control.label, name)
            for name, control in self.panel.controls.items()
            if isinstance(control, Quantity) and name not in CHOSEN
        ]

    def state(self, name, low, high):
        """State the range of a control [SI].

        Raises InputError for one that is none, does not hold the panel's own value, or of an input
        that the case does not carry as it is typed.
        """
        Range(low, high)
        self._holds(name, low, high)
        self.stated[name] = _keys(self.panel, name), low, high

    def _holds(self, name, low, high):
        control = self.panel.controls[name]
        if not low <= control.value <= high:
            raise InputError(f"{control.label}: {control.text()} lies outside its range")

    def of(self, case):
        """The case with the ranges stated; InputError where one no longer holds its value."""
        found = {}
        for name, (keys, low, high) in self.stated.items():
            self._holds(name, low, high)
            plain = keys[0].rpartition(".")[2]
            ends = (self._end(name, plain, end) for end in (low, high))
            found[TOGETHER.join(keys)] = dict(zip(("low", "high"), ends, strict=True))
        return replace(case, ranges=found)

    def _end(self, name, plain, value):
        if name == "back_pressure_gauge":
            value = value + self.panel.result["sizing"].device.atmosphere
        return written(plain, value)

    def _add(self):
        control = self.panel.controls[self.which.value]
        ends = [control.quantity.read(control._number(w.value), control.unit_set)
                for w in (self.low, self.high)]  # fmt: skip
        self.state(control.name, *ends)
        return self.words()

    def _clear(self):
        self.stated.clear()
        return self.words()

    def words(self):
        """The ranges stated, in words."""
        said = []
        for name, (_, *ends) in self.stated.items():
            control = self.panel.controls[name]
            low, high = (control.quantity.show(x, control.unit_set) for x in ends)
            unit = control.quantity.display_unit(control.unit_set)
            said.append(f"{control.label} {low:.5g} to {high:.5g} {unit.strip('-')}".strip())
        return "Ranges: " + ("; ".join(said) or NONE)

    def _ask(self):
        if self.panel.words:
            raise InputError("the panel is out of date: set it to a possible case first")
        found = of_case(self.of(self.panel.case_of(self.panel.values)))
        shown = how_sure_figure.picture(found, self.panel.unit_set, (7.2, 3.6))
        self.picture.value, self.picture.tooltip = shown.png(), shown.alt
        self.picture.layout.display = ""
        rows = "<br>".join(html_text(f"{k}: {v}") for k, v in found.rows(self.panel.unit_set))
        claims = " ".join(html.escape(words) for words in found.claims)
        self.found.value = f"<div role='status'>{rows}<p>{claims}</p></div>"
        return self.words()


def _keys(panel, name):
    """Names in the case of what a control says; InputError where the case works it over."""
    if name == "back_pressure_gauge":
        return ["back_pressure"]
    control, values = panel.controls[name], panel.values
    step = 1e-3 * (control.high - control.low)
    other = control.value + (step if control.value + step <= control.high else -step)
    here, there = (_read(panel.case_of(v)) for v in (values, values | {name: other}))
    moved = [key for key in here if here[key] != there.get(key)]
    same = [key for key in moved
            if abs(here[key] - control.value) <= 1e-9 * abs(control.value or 1.0)
            and abs(there[key] - other) <= 1e-9 * abs(other or 1.0)]  # fmt: skip
    if not moved or set(moved) != set(same):
        raise InputError(
            f"{control.label}: the case holds what follows from it, so it can't carry a range here"
        )
    return same


def _read(case):
    reader = Inputs()
    reader.all_of(case.inputs)
    return {key: value for key, (_, value) in reader.read.items()
            if isinstance(value, int | float) and not isinstance(value, bool)}  # fmt: skip
