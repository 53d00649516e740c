"""A panel: controls, a picture and a table of numbers that follow them, without flicker.

Complete use, in one cell of a notebook (`table` may use `shown` for the display units):

>>> from relieflib.nozzle.gas import Gas
>>> from relieflib.report import figures
>>> def compute(pressure, back_pressure):
...     stream = Gas(pressure, 350.0, molar_mass=44.1, k=1.13, Z=0.9)
...     return {"stream": stream, "back_pressure": back_pressure,
...             "mass_flux": stream.mass_flux(back_pressure)}
>>> def table(result, unit_set):
...     return [("mass flux", shown("mass_flux", result["mass_flux"], unit_set))]
>>> panel = Panel(
...     [quantity("pressure", 10e5, 2e5, 50e5, label="relieving pressure, absolute"),
...      quantity("back_pressure", 1e5, 0.0, 20e5, label="back pressure, absolute")],
...     compute, figures.build_flux_against_back_pressure,
...     figures.update_flux_against_back_pressure, table)
>>> panel.sweep(refuses=["flow would reverse"])  # in the next cell; then panel.numbers()
7 settings tried, 6 computed, 1 refused in words

The last expression of the cell is `panel`. The contract of the five parts:
- controls: list of `quantity`, `choice`, `switch`; their names are the keywords of `compute`;
- compute(**values), pure, in SI; returns any object or dict; may raise InputError (shown in words)
  and give ValidityWarning (shown as a note, the picture stays live);
- build(figure, result, unit_set) makes the artists once and returns them;
- update(artists, result, unit_set) moves them, adds none, and may return the alt text of the
  picture it made; it is called after build too. Without a returned text give `alt`;
- table(result, unit_set) returns rows (label, text).
`panel.values` are the inputs in SI, `panel.result` what compute returned for the picture shown.
"""

import base64
import html
import io
import re
import warnings
from dataclasses import dataclass

import ipywidgets as widgets
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from traitlets import Unicode

from relieflib.errors import InputError, ValidityWarning
from relieflib.notebook.controls import choice, quantity, switch
from relieflib.notebook.forms import Fold, one_at_a_time
from relieflib.notebook.spoken import speak
from relieflib.symbols import SYMBOLS, UNIT_SETS, shown

__all__ = ["Panel", "Sweep", "choice", "quantity", "shown", "switch"]

DPI, SIZE = 96, (8.6, 4.6)  # inches
# with so many controls the picture is small: then it and two columns of numbers stand in one view
MANY, SMALL = 12, (5.8, 3.0)  # inches
FULL = 4.0  # inches: a picture as high as that is full of words, and stays
_WRONG, _NOTE = "#D55E00", "#0072B2"  # Okabe-Ito vermillion and blue
_SI_VALUE = re.compile(r"(\w+) = (\S+)(?: ([^:]+))?: ")


@dataclass(frozen=True)
class Sweep:
    """What `Panel.sweep` did; prints as one line."""

    tried: int
    computed: int
    refused: int
    met: tuple = ()  # words of the refusals, each once

    def __repr__(self):
        return (
            f"{self.tried} settings tried, {self.computed} computed, "
            f"{self.refused} refused in words"
        )


class _Picture(widgets.Image):
    """An image with a title for screen readers; the browser's side wants a description for it."""

    description = Unicode("").tag(sync=True)


class Panel:
    """Controls, a picture and numbers that follow them; the module's text says how it is used.

    Parameters: controls, compute, build, update, table as there; alt, words for the picture where
    `update` returns none; size of the figure in inches, `SMALL` at most where there are `MANY`
    controls; unit_set shown first; fold, {title: names of controls} that stand closed under the
    others, with what they stand at beside the title.
    Raises what fails at the start values; InputError for two controls of one name or no alt text.
    """

    def __init__(self, controls, compute, build, update, table, alt="", size=SIZE, unit_set="SI",
                 fold=None):  # fmt: skip
        self.controls = {control.name: control for control in controls}
        if len(self.controls) != len(list(controls)):
            raise InputError("controls: two of them have the same name")
        if len(self.controls) > MANY and size[1] < FULL:
            size = tuple(map(min, size, SMALL))
        self._compute, self._build, self._update, self._table = compute, build, update, table
        self._alt, self._artists, self._computed, self._rgba = alt, None, None, None
        self.result, self.notes, self.words = None, [], ""
        self._figure = Figure(figsize=size, dpi=DPI, facecolor="white")
        FigureCanvasAgg(self._figure)
        self._make_widgets(fold or {})
        for control in controls:
            control.changed = self._refresh
        self._switch_units(unit_set)
        self._draw()

    # ------------------------------------------------------------ the cell's way in: it raises
    @property
    def values(self):
        """The inputs, in SI, by name."""
        return {name: control.value for name, control in self.controls.items()}

    @property
    def unit_set(self):
        """'SI' or 'US'; setting it changes what is shown, never what is meant."""
        return self._units.value

    @unit_set.setter
    @one_at_a_time
    def unit_set(self, unit_set):
        before = self.unit_set
        self._switch_units(unit_set)
        try:
            self._draw()
        except Exception:
            self._switch_units(before)
            self._refresh()
            raise

    @one_at_a_time
    def set(self, **si_values):
        """Set controls to values in SI and draw.

        Raises InputError for an unknown control, a value that a control does not allow and all
        that `compute` refuses; the panel then stands as it stood before.
        """
        before = {name: control.state() for name, control in self.controls.items()}
        try:
            for control in self.controls.values():
                control.put(control.value)  # an unreadable text left in an entry is dropped
            for name, value in si_values.items():
                if name not in self.controls:
                    raise InputError(f"{name}: the panel has {', '.join(self.controls)}")
                self.controls[name].put(value)
            self._draw()
        except Exception:
            for name, state in before.items():
                self.controls[name].restore(state)
            self._refresh()
            raise

    @one_at_a_time
    def sweep(self, refuses=(), all_met=True, unit_sets=UNIT_SETS, ends=True):
        """Set every control to its ends and middle, every choice, in these unit sets.

        Parameters: refuses, words of the InputErrors that some of these settings rightly meet;
        all_met, False where some of them belong to other panels; ends, False where something else
        tries the ends of the sliders. For tests: it moves the widgets.
        All other controls stay at their start; the panel stands afterwards as it stood before.
        Returns `Sweep`. Raises whatever else fails, with the setting named; InputError where
        words of `refuses` were never met.
        """
        refuses = [refuses] if isinstance(refuses, str) else list(refuses)
        start = {name: control.start for name, control in self.controls.items()}
        settings = [start] + [
            start | {name: value}
            for name, control in self.controls.items()
            for value in (control.settings() if ends else control.within())
        ]
        before, unit_set, met = self.values, self.unit_set, []
        try:
            self._switch_units(unit_sets[0])
            for setting in settings:
                met += self._try(setting, refuses, unit_sets)
        finally:
            self._switch_units(unit_set)
            self.set(**before)
        for words in refuses:
            if all_met and words not in met:
                raise InputError(f"refuses: no setting was refused with '{words}'")
        return Sweep(len(settings), len(settings) - len(met), len(met), tuple(dict.fromkeys(met)))

    def _try(self, setting, refuses, unit_sets):
        """Draw one setting in these unit sets; the words it was refused with, if they are known.

        The one on show is drawn first and the other stays, so that nothing is drawn twice.
        """
        unit_set = self.unit_set
        try:
            self.set(**setting)
            for unit_set in [other for other in unit_sets if other != unit_set]:
                self.unit_set = unit_set
        except Exception as error:
            met = [words for words in refuses if words in str(error)]
            if isinstance(error, InputError) and met:
                return met[:1]
            error.add_note(f"at the setting {setting}, unit set {unit_set}")
            raise
        return []

    def numbers(self):
        """Print inputs and numbers as shown, for the cell under the panel."""
        if self.words:
            print(f"out of date: {self.words}")
        inputs = [(c.label, c.text()) for c in self.controls.values()]
        print(_aligned([*inputs, ("", ""), *self.rows, *(("note", n) for n in self.notes)]))

    # ------------------------------------------------------------ the browser's way in
    def _refresh(self, _change=None):
        """Draw what a user asked for; what fails is shown in words and dims the picture."""
        try:
            self._draw()
        except InputError as error:
            self._stale(self._in_words(str(error)))
        except Exception as error:
            self._stale(f"fault: {type(error).__name__}: {error}")

    @one_at_a_time
    def _units_clicked(self, change):
        for control in self.controls.values():
            control.show_in(change["new"])
        if not self._quiet:
            self._refresh()

    def _switch_units(self, unit_set):
        if unit_set not in UNIT_SETS:
            raise InputError(f"unit set '{unit_set}': use one of {', '.join(UNIT_SETS)}")
        self._quiet = True
        self._units.value = unit_set
        self._quiet = False

    def _draw(self):
        """Compute, move the artists, and only when all of it worked change what is shown."""
        for control in self.controls.values():
            if control.words:
                raise InputError(control.words)
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", ValidityWarning)
            result = self._result()
            said = self._move(result)
            rows = [(str(label), str(text)) for label, text in self._table(result, self.unit_set)]
            rgba = _painted(self._figure)
        notes = self._sorted_out(caught)
        alt = said if isinstance(said, str) and said else self._alt
        if not alt:
            raise InputError("alt: the picture needs words for those who can't see it")
        self.result, self.rows, self._rgba = result, rows, rgba
        self.words, self.notes, self.alt = "", notes, alt
        self._publish(_png(rgba), self.alt)

    def _result(self):
        """What compute returns; kept with its warnings while the inputs stay."""
        values = self.values
        if self._computed is None or self._computed[0] != values:
            with warnings.catch_warnings(record=True) as caught:
                warnings.simplefilter("always", ValidityWarning)
                result = self._compute(**values)
            self._computed = values, result, caught
        for w in self._computed[2]:
            warnings.warn_explicit(w.message, w.category, w.filename, w.lineno)
        return self._computed[1]

    def _move(self, result):
        if self._artists is None:
            self._figure.clear()
            self._artists = self._build(self._figure, result, self.unit_set)
        return self._update(self._artists, result, self.unit_set)

    def _sorted_out(self, caught):
        """Words of the validity warnings, each once; other warnings go on their way."""
        notes = []
        for w in caught:
            if not issubclass(w.category, ValidityWarning):
                warnings.warn_explicit(w.message, w.category, w.filename, w.lineno)
            elif (words := self._in_words(str(w.message))) not in notes:
                notes.append(words)
        return notes

    def _in_words(self, text):
        """A message of the library with the quantity it names in words and in the units on show."""
        match = _SI_VALUE.match(text)
        quantity = SYMBOLS.get(match.group(1)) if match else None
        if quantity is None or (match.group(3) or "-") != quantity.unit:
            return text
        try:
            value = shown(quantity.name, float(match.group(2)), self.unit_set, 6)
        except ValueError:
            return text
        control = self.controls.get(quantity.name)
        return f"{control.label if control else quantity.meaning} = {value}: {text[match.end() :]}"

    def _stale(self, words):
        self.words = words
        self._publish(_png(_veiled(self._rgba)), f"Out of date. {words} Earlier: {self.alt}")

    def _publish(self, png, alt):
        self._image.value, self._image.tooltip = png, alt
        self._message.value = _message(self.words, self.notes)
        self._numbers.value = _table_html(self.rows, bool(self.words))
        for fold in self.folds:
            fold.say()

    # ------------------------------------------------------------ what it is made of
    def _make_widgets(self, fold):
        layout = widgets.Layout
        self._units = widgets.ToggleButtons(
            options=list(UNIT_SETS), style={"button_width": "60px"}, layout=layout(width="auto"),
            tooltips=["bar, °C, kg/h, mm²", "psi, °F, lb/h, in²"],
        )  # fmt: skip
        self._units.observe(self._units_clicked, "value")
        self._message = widgets.HTML(layout=layout(flex="1 1 260px", width="auto"))
        top = widgets.HBox([widgets.HTML("units"), self._units, self._message],
                           layout=layout(grid_gap="12px", min_height="36px",
                                         flex_flow="row wrap"))  # fmt: skip
        folded = {name for names in fold.values() for name in names}
        grid = self._grid(name for name in self.controls if name not in folded)
        self.folds = [self._fold(title, names) for title, names in fold.items()]
        # narrower, its text could not be read: then it is scrolled
        self._image = _Picture(format="png", layout=layout(max_width="100%", min_width="500px",
                                                           flex="0 1 auto"))  # fmt: skip
        self._numbers = widgets.HTML(layout=layout(flex="1 1 225px", margin="0 0 4px 0"))
        # the numbers are read first: beside the picture where there is room, else above it
        below = widgets.HBox([self._numbers, self._image],
                             layout=layout(flex_flow="row-reverse wrap", overflow="auto",
                                           grid_gap="0 12px",
                                           justify_content="flex-end"))  # fmt: skip
        self.widget = widgets.VBox([top, grid, *(fold.box for fold in self.folds), below],
                                   layout=layout(width="auto", padding="0 4px 0 0"))  # fmt: skip

    def _grid(self, names):
        """These controls in as many columns as there is room for."""
        return widgets.GridBox(
            [self.controls[name].box for name in names],
            layout=widgets.Layout(
                width="auto", margin="4px 0 0 0", align_items="flex-end", grid_gap="2px 24px",
                grid_template_columns="repeat(auto-fill, minmax(min(270px, 100%), 1fr))"),
        )  # fmt: skip

    def _fold(self, title, names):
        own = [self.controls[name] for name in names]
        many = "s" * (len(own) > 1)
        return Fold(f"{title}, {len(own)} input{many}", self._grid(names), lambda: _standing(own))

    def __repr__(self):
        return _aligned(self.rows)

    def _repr_mimebundle_(self, include=None, exclude=None):
        speak()
        data = dict(self.widget._repr_mimebundle_())
        data["text/plain"] = _aligned(self.rows)
        data["image/png"] = base64.b64encode(_png(self._rgba)).decode("ascii")
        return data, {"image/png": {"alt": self.alt}}


def _standing(controls):
    """What controls stand at, those that say the same together."""
    found = {}
    for control in controls:
        found.setdefault(control.text(), []).append(control.label)
    return "; ".join(f"{', '.join(labels)}: {text}" for text, labels in found.items())


def _painted(figure):
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba()).copy()


def _png(rgba):
    buffer = io.BytesIO()
    Image.fromarray(rgba[..., :3]).save(buffer, format="png", compress_level=4)
    return buffer.getvalue()


def _veiled(rgba):
    """The picture under a pale veil with the words on it; needs nothing of the browser."""
    height, width = rgba.shape[:2]
    figure = Figure(figsize=(width / DPI, height / DPI), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    figure.figimage((255 - 0.3 * (255 - rgba[..., :3].astype(float))).astype(np.uint8))
    box = {"facecolor": "white", "edgecolor": _WRONG, "boxstyle": "square,pad=0.6", "lw": 2}
    figure.text(0.5, 0.5, "out of date", ha="center", va="center", fontsize=18, bbox=box)
    return _painted(figure)


def _message(words, notes):
    """HTML of what is wrong or worth a note; nothing when all is well."""
    lines = [(_WRONG, "Out of date", words)] if words else [(_NOTE, "Note", n) for n in notes]
    return "".join(
        f"<div role='status' style='line-height:1.35;margin:4px 0;padding:4px 10px;"
        f"border-left:4px solid {colour}'><b>{head}:</b> {html.escape(text)}</div>"
        for colour, head, text in lines
    )


def _table_html(rows, stale):
    """The rows as an HTML table in as many columns as there is room for; pale when out of date."""
    line = "display:flex;justify-content:space-between;gap:10px;align-items:baseline"
    line += ";padding:2px 0;border-bottom:1px solid rgba(128,128,128,.35)"
    body = "".join(
        f"<tr role='row' style='{line}{_alone(label, text)}'><th scope='row' role='rowheader' "
        f"style='text-align:left;font-weight:normal{_whole(label)}'>{html.escape(label)}</th>"
        f"<td role='cell' style='text-align:right;font-variant-numeric:tabular-nums{_whole(text)}'>"
        f"<b>{html.escape(text)}</b></td></tr>"
        for label, text in rows
    )
    head = "<caption style='text-align:left;display:block'>out of date</caption>" if stale else ""
    fade = "opacity:.45;" if stale else ""
    grid = "display:grid;grid-template-columns:repeat(auto-fill,minmax(204px,1fr));column-gap:24px"
    table = f"{fade}display:block;line-height:1.35;background:none"
    return (
        f"<table role='table' style='{table}'>{head}"
        f"<tbody role='rowgroup' style='{grid}'>{body}</tbody></table>"
    )


def _alone(label, text):
    return ";grid-column:1/-1" if len(label) + len(text) > 45 else ""  # a sentence takes the line


def _whole(text):
    return ";white-space:nowrap" if len(text) <= 12 else ""  # a tag is not broken at its hyphen


def _aligned(rows):
    """Rows as text in two columns."""
    wide = max((len(label) for label, _ in rows), default=0)
    return "\n".join(f"{label:<{wide}}  {text}".rstrip() for label, text in rows)
