"""The controls of a panel: a quantity with slider and numeric entry, a choice, a check box.

Each holds its value in SI as the truth. What the widgets show is made from it; only a number that
a user moves or types is turned back into SI, so that switching units changes no value.
"""

import html

import ipywidgets as widgets
import numpy as np

from relieflib.errors import InputError, finite
from relieflib.notebook.forms import one_at_a_time
from relieflib.notebook.spoken import ROW
from relieflib.symbols import UNIT_SETS, Symbol, latex_of, symbol
from relieflib.texts import number_text, unit_text, with_unit
from relieflib.units import unit_name

_LIMIT_DIGITS = 4
LONGEST = 300  # letters of a line of text
_TO_ASCII = str.maketrans({"\N{MINUS SIGN}": "-", "\N{NO-BREAK SPACE}": " "})


def symbol_html(name):
    """The symbol of a quantity as HTML: P1 gives P with a lowered 1.

    >>> symbol_html("liquid_density"), symbol_html("pressure")
    ('<i>&rho;</i><sub>l</sub>', '<i>P</i><sub>1</sub>')
    """
    if latex_of(symbol(name).symbol).startswith("\\mathrm"):
        return html.escape(symbol(name).symbol)
    head, _, low = latex_of(symbol(name).symbol).partition("_{")
    head = f"&{head[1:]};" if head.startswith("\\") else html.escape(head)
    low = html.escape(low.removesuffix("}"))
    return f"<i>{head}</i>" + (f"<sub>{low}</sub>" if low else "")


def tidy_step(step):
    """The nearest 1, 2 or 5 times a power of ten.

    >>> [round(tidy_step(x), 9) for x in (14.1, 0.7, 36.0)]
    [10.0, 0.5, 50.0]
    """
    power = 10.0 ** np.floor(np.log10(step))
    ladder = power * np.array([1.0, 2.0, 5.0, 10.0])
    return float(ladder[np.argmin(np.abs(np.log(ladder / step)))])


class Control:
    """What all controls share. `value` is in SI; `words` says what is wrong with what was typed."""

    def __init__(self, name, label, start):
        self.name, self.label, self.start, self.value = name, label, start, start
        self.unit_set, self.words, self.changed = UNIT_SETS[0], "", lambda: None
        self._quiet = False
        self.caption = widgets.HTML(layout=widgets.Layout(width="auto"))

    def write(self):
        """Make the widgets show the value; what they report back meanwhile is not listened to."""
        quiet, self._quiet = self._quiet, True
        try:
            self._write()
        finally:
            self._quiet = quiet

    @one_at_a_time
    def heard(self, change):
        """What the browser sent: take it, or say in `words` why not, and tell the panel."""
        if self._quiet:
            return
        self.words, held = "", self._quiet
        self._quiet = True
        try:
            self._take(change)
        except InputError as error:
            self.words = str(error)
        finally:
            self._quiet = held
        self.changed()

    def put(self, value):
        """Set the value in SI. Raises InputError for one that the control does not allow."""
        self.value, self.words = self.checked(value), ""
        self.write()

    def show_in(self, unit_set):
        """Show the same value in another unit set; a text that could not be read is dropped."""
        self.unit_set, self.words = unit_set, ""
        self.write()

    def state(self):
        """All that a user could see; `restore` brings it back."""
        return self.value, self.words, self._typed()

    def restore(self, state):
        """Bring back a `state`, also one with an unreadable text in it."""
        self.value, self.words, typed = state
        self.write()
        self._quiet = True
        self._retype(typed)
        self._quiet = False

    def _typed(self):
        return None

    def _retype(self, text):
        pass

    def _caption(self, head, tail=""):
        small = f"<span style='opacity:.75'>{html.escape(tail)}</span>"
        self.caption.value = (
            f"<div style='line-height:1.25;overflow-wrap:anywhere'>{head} {small}</div>"
        )

    def _box(self, *row):
        line = widgets.HBox(row, layout=widgets.Layout(width="auto", align_items="center"))
        layout = widgets.Layout(width="auto", overflow="hidden", margin="0 0 2px 0")
        box = widgets.VBox([self.caption, line], layout=layout)
        box.add_class(ROW)
        return box


class _In(Symbol):
    """A quantity that the SI set shows in a unit of its own."""

    def __init__(self, quantity, unit):
        super().__init__(quantity.name, quantity.symbol, quantity.meaning, quantity.kind)
        object.__setattr__(self, "own_unit", unit_name(unit))
        self.show(0.0)  # a unit of another kind is refused here

    def display_unit(self, unit_set="SI"):
        """The unit given in the SI set, the table's in the other."""
        return self.own_unit if unit_set == "SI" else super().display_unit(unit_set)


class Quantity(Control):
    """A slider and a numeric entry for one quantity; see `quantity`."""

    def __init__(self, name, start, low, high, label=None, step=None, unit=None):
        self.quantity = symbol(name) if unit is None else _In(symbol(name), unit)
        self.low, self.high = (float(x) for x in finite(low=low, high=high))
        if not self.low < self.high:
            raise InputError(f"{name}: low = {low:g} must be below high = {high:g}")
        if step is not None and not 0 < step <= self.high - self.low:
            raise InputError(f"{name}: step = {step:g} must be above 0 and fit the limits")
        self._step = step
        super().__init__(name, label or self.quantity.meaning, None)
        self.start = self.value = self.checked(start)
        self._make()
        self.write()

    def _make(self):
        wide = widgets.Layout(flex="1 1 auto", width="auto", min_width="90px")
        # whole positions: a slider of floats reports the nearest step when it is only shown
        self.slider = widgets.IntSlider(min=0, max=1, readout=False, layout=wide,
                                        tooltip=f"{self.label}: arrow keys move it")  # fmt: skip
        self.entry = widgets.Text(
            continuous_update=False, tooltip=f"{self.label}: type a number",
            layout=widgets.Layout(flex="0 0 auto", width="98px"),
        )  # fmt: skip
        self.unit = widgets.HTML(layout=widgets.Layout(flex="0 0 auto", min_width="58px"))
        self.slider.observe(self.heard, "value")
        self.entry.observe(self.heard, "value")
        self.box = self._box(self.slider, self.entry, self.unit)

    def checked(self, value):
        """The value as float. Raises InputError when it is no number or outside the limits."""
        number = finite(**{self.name: value})
        unit = self.quantity.unit.replace("-", "")
        if number.ndim or np.isnan(number):
            raise InputError(f"{self.name} = {value!r}: must be one number")
        if not self.low <= number <= self.high:
            raise InputError(
                f"{self.name} = {float(number):.6g} {unit}".rstrip()
                + f": this panel takes {self.low:.6g} to {self.high:.6g} {unit}".rstrip()
            )
        return float(number)

    def settings(self):
        """Low end, middle and high end, for `Panel.sweep`."""
        return [self.low, *self.within(), self.high]

    def within(self):
        """The middle, for `Panel.sweep` without the ends."""
        return [0.5 * (self.low + self.high)]

    def text(self, count=6):
        """The value in the present display unit."""
        unit = self.quantity.display_unit(self.unit_set)
        return with_unit(self._show(self.value), unit, count)

    def _show(self, value):
        return self.quantity.show(value, self.unit_set)

    def _grid(self, low, high):
        """First number the slider stops at, its step, and how many steps follow.

        The ends move inwards to whole steps, so that it stops at tidy numbers.
        """
        step = tidy_step((high - low) / 100.0)
        if self._step is not None:
            step = self._step * (high - low) / (self.high - self.low)
            step = float(f"{step:.6g}") if self.unit_set == UNIT_SETS[0] else tidy_step(step)
        first, last = np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9)
        if first < last:
            return float(first * step), step, int(last - first)
        return low, high - low, 1

    def _position(self, position):
        """Displayed number at a position of the slider, free of binary dust."""
        return float(number_text(self._first + position * self._step_shown, 9))

    def _write(self):
        low, high = self._show(self.low), self._show(self.high)
        self._first, self._step_shown, count = self._grid(low, high)
        position = (self._show(self.value) - self._first) / self._step_shown
        self._place(round(min(max(position, 0), count)), count)
        self.entry.value = number_text(self._show(self.value))
        unit = unit_text(self.quantity.display_unit(self.unit_set))
        self.unit.value = html.escape(unit)
        ends = f"({number_text(low, _LIMIT_DIGITS)} to {number_text(high, _LIMIT_DIGITS)})"
        said = self.label.startswith(self.quantity.symbol)  # 'MAWP' needs no 'MAWP' before it
        head = "" if said else f"{symbol_html(self.name)} &nbsp;"
        self._caption(head + html.escape(self.label), ends)

    def _place(self, position, count):
        """Put the slider at a position, its end first where that grows and last where it shrinks.

        A position beyond the end, for a moment, the browser cuts and sends back as if moved.
        """
        order = ["max", "value"] if count > self.slider.max else ["value", "max"]
        for name in order:
            setattr(self.slider, name, position if name == "value" else count)

    def _take(self, change):
        moved = change["owner"] is self.slider
        number = self._position(change["new"]) if moved else self._number(change["new"])
        if number_text(number) != number_text(self._show(self.value)):
            self.value = self._inside(number)
        self.write()

    def _number(self, text):
        text = str(text).translate(_TO_ASCII).strip()
        if not text:
            raise InputError(f"{self.label}: the cell is empty; type a number")
        try:
            number = float(text.replace("_", "x"))
        except ValueError:
            hint = "; write a decimal point and no comma" if "," in text else ""
            raise InputError(f"{self.label}: '{text}' is not a number{hint}") from None
        if not np.isfinite(number):
            raise InputError(f"{self.label}: '{text}' is not a finite number")
        return number

    def _inside(self, number):
        """SI value of a displayed number; a limit as it is shown is the limit itself."""
        low, high = self._show(self.low), self._show(self.high)
        for limit, end in ((self.low, low), (self.high, high)):
            count = 6 if low <= number <= high else _LIMIT_DIGITS
            if number_text(number, count) == number_text(end, count):
                return limit
        if not low <= number <= high:
            unit = self.quantity.display_unit(self.unit_set)
            ends = f"{number_text(low, _LIMIT_DIGITS)} to {with_unit(high, unit, _LIMIT_DIGITS)}"
            said = with_unit(number, unit, 6)
            raise InputError(f"{self.label} = {said}: this panel takes {ends}")
        return float(min(max(self.quantity.read(number, self.unit_set), self.low), self.high))

    def _typed(self):
        return self.entry.value

    def _retype(self, text):
        self.entry.value = text


class Choice(Control):
    """A list to choose one text from; see `choice`."""

    def __init__(self, name, options, start=None, label=None):
        self.options = [str(x) for x in options]
        if len(set(self.options)) != len(self.options) or len(self.options) < 2:
            raise InputError(f"{name}: give two or more different options")
        super().__init__(name, label or name.replace("_", " "), self.options[0])
        self.start = self.value = self.checked(self.options[0] if start is None else start)
        layout = widgets.Layout(width="auto", flex="1 1 auto")
        self.list = widgets.Dropdown(options=self.options, tooltip=self.label, layout=layout)
        self.list.observe(self.heard, "value")
        self._caption(html.escape(self.label))
        self.box = self._box(self.list)
        self.write()

    def checked(self, value):
        """The option. Raises InputError for another one."""
        if value not in self.options:
            raise InputError(f"{self.name} = {value!r}: use one of {', '.join(self.options)}")
        return value

    def settings(self):
        """Every option, for `Panel.sweep`."""
        return list(self.options)

    within = settings

    def text(self, count=6):
        """The option."""
        return self.value

    def _write(self):
        self.list.value = self.value

    def _take(self, change):
        self.value = self.checked(change["new"])


class Switch(Control):
    """A check box; see `switch`."""

    def __init__(self, name, start=False, label=None):
        super().__init__(name, label or name.replace("_", " "), start)
        self.value = self.checked(start)
        self.tick = widgets.Checkbox(indent=False, description="yes", tooltip=self.label,
                                     layout=widgets.Layout(width="auto"))  # fmt: skip
        self.tick.observe(self.heard, "value")
        self._caption(html.escape(self.label))
        self.box = self._box(self.tick)
        self.write()

    def checked(self, value):
        """True or False. Raises InputError for anything else."""
        if not isinstance(value, (bool, np.bool_)):
            raise InputError(f"{self.name} = {value!r}: use True or False")
        return bool(value)

    def settings(self):
        """Both, for `Panel.sweep`."""
        return [False, True]

    within = settings

    def text(self, count=6):
        """Yes or no."""
        return "yes" if self.value else "no"

    def _write(self):
        self.tick.value = self.value

    def _take(self, change):
        self.value = self.checked(change["new"])


class Typed(Control):
    """A line of text that a user types; see `typed`."""

    def __init__(self, name, start="", label=None, check=None, examples=()):
        super().__init__(name, label or name.replace("_", " "), start)
        self._check, self.examples = check or str, tuple(examples)
        self.value = self.checked(start)
        layout = widgets.Layout(width="auto", flex="1 1 auto")
        self.line = widgets.Text(continuous_update=False, tooltip=self.label, layout=layout)
        self.line.observe(self.heard, "value")
        self._caption(html.escape(self.label))
        self.box = self._box(self.line)
        self.write()

    def checked(self, value):
        """The text. Raises InputError for what is none, or what `check` refuses."""
        if not isinstance(value, str) or len(value) > LONGEST:
            raise InputError(f"{self.name}: a text of {LONGEST} letters at most")
        self._check(value)
        return value

    def settings(self):
        """What it starts with and its examples, for `Panel.sweep`."""
        return [self.start, *self.examples]

    within = settings

    def text(self, count=6):
        """The text."""
        return self.value or "-"

    def _write(self):
        self.line.value = self.value

    def _take(self, change):
        self.value = self.checked(change["new"])

    def _typed(self):
        return self.line.value

    def _retype(self, text):
        self.line.value = text


def quantity(name, start, low, high, label=None, step=None, unit=None):
    """A quantity that a panel varies: a slider and a numeric entry that follow each other.

    Parameters: name in the table of symbols, also the keyword that `compute` takes; start, low,
    high and step in SI; label, words in place of the table's meaning. Without `step` about a
    hundred tidy ones; in the US set the nearest 1, 2 or 5 times a power of ten. unit, in place of
    the table's in the SI set, such as 'mbarg' for a tank.
    Raises InputError for an unknown name or unit, or a start outside the limits.
    >>> quantity("temperature", 350.0, 250.0, 600.0).text()
    '76.85 °C'
    >>> quantity("set_pressure_gauge", 1800.0, 300.0, 2e4, unit="mbarg").text()
    '18 mbarg'
    """
    return Quantity(name, start, low, high, label, step, unit)


def choice(name, options, start=None, label=None):
    """One text out of several; `compute` gets the text. The first is the start unless given.

    Raises InputError for fewer than two options or a start that is none of them.
    >>> choice("kind", ["conventional", "balanced"]).value
    'conventional'
    """
    return Choice(name, options, start, label)


def switch(name, start=False, label=None):
    """A check box; `compute` gets True or False.

    >>> switch("fire", label="exterior fire").text()
    'no'
    """
    return Switch(name, start, label)


def typed(name, start="", label=None, check=None, examples=()):
    """A line of text; `compute` gets it as typed.

    Parameters: name; start; label; check(text) raises InputError for what can't be, in words;
    examples, texts that tests try. Raises what check does of the start.
    >>> typed("fluid", label="what it is").text()
    '-'
    """
    return Typed(name, start, label, check, examples)
