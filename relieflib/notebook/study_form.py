"""A form that opens a study: the demo plant's, the second plant's, or one of the reader's own."""

import base64
from datetime import date
from pathlib import Path

import ipywidgets as widgets

from relieflib import demo
from relieflib.asking.kept import my_work
from relieflib.errors import InputError
from relieflib.notebook.forms import one_at_a_time, shown_as, tell
from relieflib.plant import demo_plant_path
from relieflib.report.figures import MOST_CAUSES, ladder
from relieflib.report.study_page import study_report
from relieflib.study import open_study
from relieflib.symbols import shown
from relieflib.texts import harmless, html_text

DEMO, SECOND = "demo plant (invented)", "steam unit (invented)"
WHOLE = "all items"
MOST = 15  # questions and changes that are listed; the report has them all
_CELL = "text-align:left;border:1px solid #888;padding:3px 8px;vertical-align:top"


def second_path():
    """Path of the second invented plant's study, beside the demo plant's."""
    return demo_plant_path().with_name("second_study.toml")


def own_studies():
    """{file's name: path} of the studies in the reader's folder."""
    found = sorted(my_work().glob("*.toml")) if my_work().is_dir() else []
    return {p.name: p for p in found if not p.name.endswith(".filed.toml")}


class StudyForm:
    """Choose a study, press *Open*; `found` holds its `Results`, `report(...)` its report.

    start, what is open at first: `DEMO`, `SECOND`, or the path of a file. A study of the reader's
    own can be filed from here: its results are kept beside it, so that later changes are told.
    """

    def __init__(self, start=DEMO):
        names = {DEMO: None, SECOND: second_path()} | own_studies()
        chosen = start if start in names else DEMO
        self.choice = widgets.Dropdown(options=list(names), value=chosen, description="study")
        self.path = widgets.Text(value="" if start in names else str(start), description="or file",
                                 placeholder="path of a study, .toml")  # fmt: skip
        self.button = widgets.Button(description="Open", icon="folder-open")
        self.item = widgets.Dropdown(options=[WHOLE], description="show")
        self.by = widgets.Text(placeholder="your name", description="filed by")
        self.file = widgets.Button(description="File these results", icon="check")
        self.file.layout.width = "170px"
        self.said, self.shown = widgets.HTML(), widgets.HTML()
        self.button.on_click(lambda _: tell(self.said, self.open, "Not opened"))
        self.file.on_click(lambda _: tell(self.said, self.keep, "Not filed"))
        self.item.observe(lambda _: self._show(), "value")
        self.choice.observe(self._chosen, "value")
        row = widgets.Layout(flex_flow="row wrap")
        first = widgets.Box([self.choice, self.path, self.button, self.item], layout=row)
        last = widgets.Box([self.by, self.file], layout=row)
        self.box = widgets.VBox([first, self.said, self.shown, last])
        self.found = None
        self.open()

    def open(self):
        """Open and recompute what is chosen; returns words for it. Raises InputError."""
        typed = self.path.value.strip()
        if typed:
            found = open_study(Path(typed).expanduser()).recompute()
        elif self.choice.value == DEMO:
            found = demo.study()
        else:
            there = {SECOND: second_path()} | own_studies()
            if self.choice.value not in there:
                raise InputError(f"{harmless(self.choice.value, 80)}: is no longer there")
            found = open_study(there[self.choice.value]).recompute()
        self.found = found
        self._offer(list({DEMO: None, SECOND: None} | own_studies()))
        self.item.options = [WHOLE, *found.items]
        self._show()
        return as_line(found)

    def _chosen(self, _change):
        self.path.value = ""  # the last word counts: a choice, or a path typed after it

    def _offer(self, names):
        """New studies of the reader's folder among the choices; what is typed stays."""
        if names != list(self.choice.options):
            typed, chosen = self.path.value, self.choice.value
            self.choice.options = names
            self.choice.value = chosen if chosen in names else DEMO
            self.path.value = typed

    def keep(self):
        """File today's results of a study of the reader's own; returns words for it."""
        study = self.found.study
        if study.path.parent.resolve() == demo_plant_path().parent.resolve():
            raise InputError(f"{study.path.name}: is not yours; copy it to {my_work().name} first")
        if not self.by.value.strip():
            raise InputError("filed by: give a name")
        path = study.file(self.by.value.strip(), date.today().isoformat(), self.found)
        self.open()
        return f"Filed: {path.name}"

    def report(self, **who):
        """The report of the study that is open, as `study_page.study_report`."""
        return study_report(self.found, **who)

    @one_at_a_time
    def _show(self):
        tag = self.item.value
        whole = tag == WHOLE or tag not in self.found.items
        words = as_table(self.found) if whole else as_item(self.found, tag, True)
        self.shown.value = words

    def __repr__(self):
        return as_line(self.found)

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_html=as_table(self.found), text_plain=repr(self))


def as_line(found):
    """A study in one line. Parameters: found, `Results`. Returns str."""
    open_ones = sum(item.verdict != "covers" for item in found.items.values())
    words = f"{found.study.path.name}: {len(found.items)} items, {len(found.done)} cases; "
    words += f"{open_ones} items not covered or not known, {len(found.faults)} faults, "
    words += f"{len(found.missing)} questions"
    return harmless(
        words + (f", {len(found.stale)} no longer as filed" if found.stale else ""), 300
    )


def as_table(found):
    """The whole study as HTML, every text escaped: item by item, then what is missing or changed.

    Parameters: found, `Results`. Returns str.
    """
    rows = []
    for tag, item in found.items.items():
        s = item.comparison.governing if item.sizings else None
        numbers = [shown("mass_flow", s.load.mass_flow), shown("required_area", s.required_area),
                   s.letter or "more than one valve"] if s else ["", "", ""]  # fmt: skip
        installed = ", ".join(found.installed(tag)) or "none"
        rows.append([tag, item.governing or "no case", *numbers, installed, item.verdict])
    heads = ("item", "governs", "load", "required area", "letter", "installed", "verdict")
    return f"<p><b>{html_text(as_line(found))}</b></p>" + _table(heads, rows) + _lists(found)


def _table(heads, rows):
    head = "".join(f"<th scope='col' style='{_CELL}'>{html_text(h)}</th>" for h in heads)
    body = "".join(
        f"<tr><th scope='row' style='{_CELL}'>{html_text(row[0])}</th>"
        + "".join(f"<td style='{_CELL}'>{html_text(cell)}</td>" for cell in row[1:]) + "</tr>"
        for row in rows
    )  # fmt: skip
    return f"<table style='border-collapse:collapse'><tr>{head}</tr>{body}</table>"


def _lists(found, about=""):
    """Faults, changes and questions, those that name an item where one is asked for."""
    since = f"Changed since revision {found.filed.head.get('revision', '')}" if found.filed else ""
    lists = (("Not read or not computed", found.faults), (since, [str(c) for c in found.changes]),
             ("Missing", found.missing))  # fmt: skip
    words = ""
    for heading, texts in lists:
        texts = [t for t in texts if about in t]
        if texts:
            more = [f"and {len(texts) - MOST} more, all in the report"] * (len(texts) > MOST)
            lines = "".join(f"<li>{html_text(t)}</li>" for t in [*texts[:MOST], *more])
            words += f"<p><b>{html_text(heading)}</b></p><ul>{lines}</ul>"
    return words


def as_item(found, tag, picture=False):
    """One item as HTML: ladder, matrix, note for the P&ID, and what is open about it.

    Parameters: found, `Results`; tag; picture, True with the ladder drawn. Returns str.
    """
    item = found.items[tag]
    words = f"<p><b>{html_text(tag)}: {html_text(item.verdict)}</b></p>"
    if item.sizings and picture:
        words += _ladder(item)
    if item.matrix is not None:
        words += item.matrix._repr_html_()
    for valve, note in item.notes.items():
        words += f"<p><b>Note for the P&amp;ID, {html_text(valve)}</b></p>"
        words += f"<pre>{html_text(note)}</pre>"
    return words + _lists(found, tag)


def _ladder(item):
    largest = item.comparison.causes[:MOST_CAUSES]
    drawn = ladder({words: item.sizings[words] for words in largest})
    data = base64.b64encode(drawn.png()).decode("ascii")
    style = "max-width:100%;height:auto"
    return f"<img style='{style}' alt='{html_text(drawn.alt)}' src='data:image/png;base64,{data}'>"
