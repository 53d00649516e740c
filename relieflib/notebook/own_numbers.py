"""The reader's own numbers: the panel again, and a button that keeps its case in the study."""

import contextlib
import html
from dataclasses import replace
from datetime import date

import ipywidgets as widgets

from relieflib.asking.kept import my_work
from relieflib.errors import InputError
from relieflib.notebook.forms import in_a_row, shown_as, tell
from relieflib.notebook.own_ranges import OwnRanges
from relieflib.study.store import add_case
from relieflib.summary import append_row, read_summary, saved_cases, summary_row
from relieflib.symbols import shown


def summary_path():
    """The reader's load summary file, `my-work/load-summary.csv`."""
    return my_work() / "load-summary.csv"


def study_path():
    """The reader's study, `my-work/study.toml`."""
    return my_work() / "study.toml"


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
        return Saved(words=f"Nothing saved yet: {path.name} is made when you press 'Save this "
                     "case' under 'Your own numbers' of any notebook.")  # fmt: skip
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
    """A panel with a form under it: saving keeps the case, with every input, in the reader's study.

    Parameters: panel, `Panel`, whose `case_of(values)` gives the `Case`, as `own_panel` makes it;
    fixed, words on what this notebook keeps fixed; sizing_of(result) gives the `Sizing` of the
    panel's result, `result["sizing"]` unless told. What the panel shows as out of date is not
    saved. A row of the load summary goes with it. Raises InputError for a panel without a case.
    """

    who = ""  # who saved last here: the next form starts with it

    def __init__(self, panel, fixed="", sizing_of=lambda result: result["sizing"]):
        if not callable(getattr(panel, "case_of", None)):
            raise InputError("panel: has no case_of, so its case could not be kept")
        self.panel, self._sizing_of, self.fixed = panel, sizing_of, fixed
        self.item = widgets.Text(placeholder="tag of what is protected", description="item")
        self.name = widgets.Text(placeholder="what happens, in words", description="case")
        self.by = widgets.Text(value=OwnNumbers.who, placeholder="initials", description="by")
        self.note = widgets.Text(placeholder="assumption, source", description="note")
        self.button = widgets.Button(description="Save this case", icon="plus")
        self.button.layout.width = "160px"
        self.said = widgets.HTML()
        self.button.on_click(self._clicked)
        fields = in_a_row([self.item, self.name, self.by, self.note, self.button])
        kept = widgets.HTML(f"<div><b>Kept fixed here:</b> {html.escape(fixed)}</div>")
        self.ranges = OwnRanges(panel)
        parts = [panel.widget, *([kept] if fixed else []), fields, self.said, self.ranges.box]
        self.box = widgets.VBox(parts)

    @property
    def path(self):
        """The study's file."""
        return study_path()

    def case(self, item, name="", note="", who=""):
        """The panel's present case. Raises InputError for no item, or a panel out of date."""
        if not item.strip():
            raise InputError("item: name what is protected")
        if self.panel.words:
            raise InputError("the panel is out of date: set it to a possible case first")
        made = self.ranges.of(self.panel.case_of(self.panel.values))
        return replace(made, item=item.strip(), name=name.strip() or made.name, note=note.strip(),
                       who=who.strip(), date=date.today().isoformat())  # fmt: skip

    def save(self, item, name="", note="", who=""):
        """Keep the present case in the study, and its row in the load summary.

        Returns the words that say where it stands. Raises InputError as `case`, and where the study
        can't take it, which is then as it was.
        """
        case, sizing = self.case(item, name, note, who), self._sizing_of(self.panel.result)
        larger = self._larger(case)
        with contextlib.suppress(OSError):  # a folder that can't be made is said by `add_case`
            self.path.parent.mkdir(parents=True, exist_ok=True)
        kept = add_case(self.path, case)
        OwnNumbers.who = case.who
        said = f"'{kept}' of {case.item} in {self.path}"
        for one in larger:
            said += f"; '{add_case(self.path, one)}' needs more area and is kept beside it"
        try:
            append_row(summary_path(), summary_row(sizing, case.item, case.note, cause=kept))
        except InputError as problem:  # the case itself is kept
            return f"{said}; but no row of the load summary: {problem}"
        return f"{said}, and a row of {summary_path().name}"

    def _larger(self, case):
        """Cases on show beside this one that need more area than it: the panel's case alone would
        then say too little.
        """
        areas = self.panel.result.get("areas", {}) if isinstance(self.panel.result, dict) else {}
        own = next(iter(areas.values()), None) or 0.0
        return [
            replace(make(self.panel.values), item=case.item, name=f"{case.name}, {words}",
                    note=case.note, who=case.who, date=case.date)
            for words, make in getattr(self.panel, "beside", {}).items()
            if (areas.get(words) or 0.0) > own
        ]  # fmt: skip

    def _clicked(self, _button):
        def act():
            typed = (w.value for w in (self.item, self.name, self.note, self.by))
            return f"Saved: {self.save(*typed)}."

        tell(self.said, act, "Not saved")

    def __repr__(self):
        fixed = f"Kept fixed here: {self.fixed}\n" if self.fixed else ""
        return (
            f"{fixed}Set the panel to your case, name the item, press the button: {self.path.name}"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))
