"""A form that takes a datasheet: a file chosen or text pasted, doubtful headings asked in place."""

import re

import ipywidgets as widgets

from relieflib import datasheet
from relieflib.asking.kept import my_work
from relieflib.datasheet.columns import COLUMNS, kind_of
from relieflib.datasheet.headings import mapping_text, plain_words, read_mapping, shape_of
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.notebook.forms import one_at_a_time, shown_as, tell
from relieflib.texts import html_text, unit_text
from relieflib.units import ATMOSPHERE, units_of

LEAVE_OUT, CHOOSE = "leave it out", "choose"
ENDINGS = ".csv,.tsv,.txt,.xlsx,.xlsm,.pdf"


def answers_path(found):
    """The reader's answers for files with these headings, `my-work/headings-....csv`."""
    return my_work() / f"headings-{shape_of(found)}.csv"


class SheetForm:
    """Choose a file or paste a table, press *Check*; `checked` holds the `datasheet.FileCheck`.

    start, a `FileCheck` to begin with, or None; atmosphere of the site [Pa]. Answers to headings
    that were asked are kept in `my-work` and serve the next file with the same headings.
    """

    def __init__(self, start=None, atmosphere=ATMOSPHERE):
        self.checked, self._source = start, None
        self.file = widgets.FileUpload(accept=ENDINGS, multiple=False, description="Choose a file")
        self.text = widgets.Textarea(
            placeholder="or paste rows of a spreadsheet, an e-mail, or lines such as\n"
            "tag: PSV-1\nset pressure: 12 barg", layout=widgets.Layout(width="95%", height="90px"),
        )  # fmt: skip
        self.atmosphere = widgets.FloatText(value=atmosphere / 1e3, description="atmosphere, kPa")
        self.atmosphere.style.description_width = "110px"
        # what was given last is checked: a file, or rows in the box
        self._last = "nothing"
        self.file.observe(lambda _: self._take("file"), "value")
        self.text.observe(lambda _: self._take("text"), "value")
        self.button = widgets.Button(description="Check", icon="check")
        self.button.on_click(lambda _: tell(self.said, self.check, "Not read"))
        self.said, self.found = widgets.HTML(), widgets.HTML()
        self.asked = widgets.VBox()
        first = widgets.HBox([self.file, self.atmosphere, self.button])
        first.layout.flex_flow = "row wrap"  # beside each other, or below where the page is narrow
        for one in first.children:
            one.layout.flex = "0 0 auto"
        self.box = widgets.VBox([first, self.text, self.said, self.asked, self.found])
        if start is not None:
            self._show()

    def check(self):
        """Check what was given last, the chosen file or the pasted text; returns words for it."""
        name, data = self._given()
        self._source = name, data
        self._run({})
        kept = self._kept()
        return self._run(kept) if kept else summary(self.checked)

    def answer(self):
        """Take the answers given to the headings that were asked, keep them, and check again."""
        given = dict(self._kept())
        for row in self.asked.children[:-1]:
            words, means, unit = row.words, row.children[1].value, row.children[2].value
            if means == CHOOSE:
                continue
            name = "" if means == LEAVE_OUT else row.names[means]
            if name and not _measures(COLUMNS[name], unit):
                continue  # asked again: its unit is still open
            given[plain_words(words)] = (name, unit if name else "")
        path = answers_path(self.checked.reading.headings)
        path.parent.mkdir(parents=True, exist_ok=True)
        words = self._run(given)
        write_whole(path, _as_mapping(given))
        return words

    @one_at_a_time
    def _take(self, given):
        self._last = given

    def _given(self):
        text = self.text.value.strip("\n")
        if text.strip() and (self._last == "text" or not self.file.value):
            return "pasted text", text
        if not self.file.value:
            raise InputError("choose a file or paste its rows first")
        chosen = self.file.value[0]
        return chosen["name"], bytes(chosen["content"])

    def _kept(self):
        path = answers_path(self.checked.reading.headings)
        return read_mapping(path.read_text(encoding="utf-8")) if path.exists() else {}

    def _run(self, mapping):
        name, data = self._source
        pressure = self.atmosphere.value * 1e3
        self.checked = None  # so that nothing of an earlier file stays
        self.found.value, self.asked.children = "", ()
        if isinstance(data, str) and _typed(data):
            self.checked = datasheet.check_words(data, pressure, mapping)
        else:
            self.checked = datasheet.check_data(data, name, pressure, mapping)
        self._show()
        return summary(self.checked)

    def _show(self):
        self.found.value = as_list(self.checked)
        open_ones = [m for m in self.checked.reading.headings if m.fault]
        rows = [_question(one) for one in open_ones]
        if rows:
            take = widgets.Button(description="Take these answers", icon="arrow-right")
            take.layout.width = "200px"
            take.on_click(lambda _: tell(self.said, self.answer, "Not taken"))
            rows.append(take)
        self.asked.children = tuple(rows)

    def __repr__(self):
        return summary(self.checked) if self.checked else "Choose a file or paste its rows."

    def _repr_mimebundle_(self, include=None, exclude=None):
        stored = as_list(self.checked) if self.checked else html_text(repr(self))
        return shown_as(self.box, text_html=stored, text_plain=repr(self))


def _measures(column, unit):
    """True where a column can be read in a unit, '' for none."""
    try:
        return not column.numeric or bool(kind_of(column, unit or "-"))
    except InputError:
        return False


def _typed(text):
    """True for lines of 'heading: value', one valve typed in."""
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    return (
        len(lines) > 1
        and all(":" in line for line in lines)
        and not any(mark in text for mark in (";", "\t"))
        and not any(
            re.search(r"\S {2,}[^\W\d][^:]*:", line) for line in lines
        )  # two beside each other
    )


def _question(one):
    """A row that asks what a heading means, and in which unit."""
    names = one.may_mean or ((one.column.name,) if one.column else ())
    heads = {COLUMNS[n].heading: n for n in names}
    kinds = [k for n in names for k in COLUMNS[n].kinds if COLUMNS[n].numeric]
    units = list(dict.fromkeys(u for kind in kinds for u in units_of(kind)))
    words = html_text(f"'{one.words.replace('|', ' ')}' means")
    unit = one.unit if one.unit in units else ""  # gauge or absolute is never guessed
    first = [CHOOSE] if len(heads) > 1 else []
    row = widgets.HBox([
        widgets.HTML(words, layout=widgets.Layout(width="260px")),
        widgets.Dropdown(options=[*first, *heads, LEAVE_OUT], layout=widgets.Layout(width="230px")),
        widgets.Dropdown(options=["", *units], value=unit, layout=widgets.Layout(width="120px")),
    ])  # fmt: skip
    row.words, row.names = one.words, heads
    return row


def _as_mapping(given):
    """Answers as the text of a mapping file."""
    from relieflib.datasheet.headings import Match

    kept = [Match(w, COLUMNS[n] if n else None, u or "-", "as answered") for w, (n, u) in
            sorted(given.items())]  # fmt: skip
    return mapping_text(kept)


def summary(checked):
    """One line on a `FileCheck`: how many valves, what differs, what could not be read.

    Parameters: checked. Returns str.
    """
    open_ones = sum(bool(m.fault) for m in checked.reading.headings)
    words = (f"{checked.reading.file}: {checked.counted}, {checked.differs} checks "
             f"differ, {checked.losses} values or rows could not be read")  # fmt: skip
    return words + (f"; {open_ones} headings are asked below" if open_ones else "")


def as_list(checked):
    """What differs, and what is missing to know, as a list that reads at any width.

    Parameters: checked, `FileCheck`. Returns HTML, every text escaped.
    """
    blocks = []
    for name, (_, checks) in zip(checked.names, checked.results, strict=True):
        bad = [c for c in checks if c.verdict == "differs"]
        open_ones = [c for c in checks if c.verdict == "not given" and c.severity == 1]
        lines = "".join(
            f"<li><b>{html_text(c.name)}</b>: {_numbers(c)}<br>{html_text(c.reason)}</li>"
            for c in [*bad, *open_ones]
        )
        head = f"{html_text(name)}: " + (f"{len(bad)} differ" if bad else "nothing differs")
        head += f", {len(open_ones)} not given that decide" if open_ones else ""
        blocks.append(f"<p><b>{head}</b></p>" + (f"<ul>{lines}</ul>" if lines else ""))
    notes = "".join(f"<li>{html_text(p)}</li>" for p in checked.reading.said())
    notes = f"<p><b>Reading</b></p><ul>{notes}</ul>" if notes else ""
    return "".join(blocks) + _taken_for(checked.reading.headings) + notes


def _taken_for(found):
    """What each heading of the file was taken for, to open and look at."""
    known = [one for one in found if one.column and not one.fault]
    lines = "".join(
        f"<li>'{html_text(one.words.replace('|', ' '))}': {html_text(one.column.heading)}"
        + ("" if one.unit == "-" else f" [{html_text(one.unit)}]") + f", {html_text(one.how)}</li>"
        for one in known
    )  # fmt: skip
    words = f"What {len(known)} headings were taken for"
    return f"<details><summary>{words}</summary><ul>{lines}</ul></details>" if known else ""


def _numbers(check):
    from relieflib.datasheet.verdict import digits

    unit = "" if check.unit == "-" else f" {unit_text(check.unit)}"
    stated, own = digits(check.stated) or "-", digits(check.recomputed) or "-"
    return html_text(f"stated {stated}, recomputed {own}{unit}")
