"""The reader's own numbers: the panel again, and a button that adds a row to the load summary."""

import html

import ipywidgets as widgets

from relieflib.errors import InputError
from relieflib.notebook.questions import my_work
from relieflib.summary import append_row, summary_row


class OwnNumbers:
    """A panel with a form under it; saving adds a row to `my-work/load-summary.csv`.

    panel, `Panel`; sizing_of(result) gives the `Sizing` of the panel's result. What the panel
    shows as out of date is not saved.
    """

    def __init__(self, panel, sizing_of):
        self.panel, self._sizing_of = panel, sizing_of
        self.item = widgets.Text(placeholder="tag of what is protected", description="item")
        self.note = widgets.Text(placeholder="assumption, source, date", description="note")
        self.button = widgets.Button(description="Add to load summary", icon="plus")
        self.button.layout.width = "200px"
        self.said = widgets.HTML()
        self.button.on_click(self._clicked)
        fields = widgets.Box(
            [self.item, self.note, self.button], layout=widgets.Layout(flex_flow="row wrap")
        )
        self.box = widgets.VBox([panel.widget, fields, self.said])

    @property
    def path(self):
        """The load summary file."""
        return my_work() / "load-summary.csv"

    def save(self, item, note=""):
        """Add the panel's present case to the load summary; returns the number of rows.

        Raises InputError when the item has no name, the panel is out of date, or the file there
        is no load summary.
        """
        if not item.strip():
            raise InputError("item: name what is protected")
        if self.panel.words:
            raise InputError("the panel is out of date: set it to a possible case first")
        row = summary_row(self._sizing_of(self.panel.result), item.strip(), note.strip())
        return append_row(self.path, row)

    def _clicked(self, _button):
        try:
            rows = self.save(self.item.value, self.note.value)
            words = f"Saved: row {rows} of {self.path}."
        except InputError as error:
            words = f"Not saved: {error}."
        except Exception as error:  # a full disk, a read-only folder: say it, lose nothing
            words = f"Not saved, fault: {type(error).__name__}: {error}."
        self.said.value = f"<div role='status'>{html.escape(words)}</div>"

    def __repr__(self):
        return f"Set the panel to your case, name the item, press the button: {self.path.name}"

    def _repr_mimebundle_(self, include=None, exclude=None):
        data = self.box._repr_mimebundle_() or {}
        data = {k: v for k, v in data.items() if k.endswith("widget-view+json")}
        return data | {"text/plain": repr(self)}
