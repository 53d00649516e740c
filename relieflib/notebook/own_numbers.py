"""The reader's own numbers: the panel again, and a button that adds a row to the load summary."""

import ipywidgets as widgets

from relieflib.asking.kept import my_work
from relieflib.errors import InputError
from relieflib.notebook.forms import shown_as, tell
from relieflib.summary import append_row, read_summary, saved_cases, summary_row
from relieflib.symbols import shown


def summary_path():
    """The reader's load summary file, `my-work/load-summary.csv`."""
    return my_work() / "load-summary.csv"


class Saved(dict):
    """What a load summary holds, {item: tuple of `SavedCase`}; prints the case that governs each.

    words, said in place of it where there is nothing to show.
    """

    def __init__(self, cases=(), words=""):
        super().__init__(cases)
        self.words = words

    def __repr__(self):
        lines = [
            f"{item}: {len(cases)} cases, {cases[0].cause} governs, "
            f"{shown('required_area', cases[0].required_area, figures=5)}, "
            f"letter {cases[0].row['letter'] or '-'}"
            for item, cases in self.items()
        ]
        return "\n".join(lines) or self.words


def my_summary():
    """The reader's load summary by protected item; kind words where nothing is saved yet.

    Returns `Saved`; a file that can't be read is left as it is, and the words say what is wrong.
    """
    path = summary_path()
    if not path.exists():
        return Saved(words=f"Nothing saved yet: {path.name} is made when you press 'Add to load "
                     "summary' under 'Your own numbers' of any notebook.")  # fmt: skip
    try:
        return Saved(saved_cases(read_summary(path))) or Saved(words=f"{path.name} has no rows.")
    except InputError as problem:
        return Saved(words=f"Your file is left as it is, but can't be used: {problem}.")


def save_all(sizings, item, destination="", installed="", note=""):
    """Add every case of one item to the reader's load summary.

    Parameters: sizings, {cause in words: `Sizing`}; item, destination, installed and note, str.
    Returns the number of rows then in the file. Raises InputError as `summary.append_row`; rows
    already added then stay.
    """
    rows = [summary_row(s, item, note, destination, installed, c) for c, s in sizings.items()]
    return [append_row(summary_path(), row) for row in rows][-1]


class OwnNumbers:
    """A panel with a form under it; saving adds a row to `my-work/load-summary.csv`.

    panel, `Panel`; sizing_of(result) gives the `Sizing` of the panel's result, `result["sizing"]`
    unless told. What the panel
    shows as out of date is not saved.
    """

    def __init__(self, panel, sizing_of=lambda result: result["sizing"]):
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
        return summary_path()

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
        def act():
            return f"Saved: row {self.save(self.item.value, self.note.value)} of {self.path}."

        tell(self.said, act, "Not saved")

    def __repr__(self):
        return f"Set the panel to your case, name the item, press the button: {self.path.name}"

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))
