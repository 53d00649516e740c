"""What a page to file is made of: a small list of frozen blocks, whatever it is written as."""

import datetime
import io
import platform
import re
from dataclasses import dataclass
from functools import partial
from importlib import metadata
from pathlib import Path

from relieflib import __version__
from relieflib.datasheet.columns import shown
from relieflib.datasheet.export import write_new
from relieflib.datasheet.verdict import digits
from relieflib.errors import InputError
from relieflib.orifices import LETTERS
from relieflib.report import CAUTION
from relieflib.symbols import symbol
from relieflib.units import ATMOSPHERE, SI_UNIT
from relieflib.working import table

COMPETENCE = (
    "This page is no certificate and no design approval. Local codes, the authority having "
    "jurisdiction and licensed practice come first; whoever signs must be licensed or otherwise "
    "competent for this work under the local code and must have checked the inputs against the "
    "plant and the manufacturer's certified data."
)
LONGEST, LONGEST_CELL, MOST_LINES = 5000, 400, 12  # characters of a paragraph, of a cell
_BOLD = ("differs", "not protected")  # words that stand out in a column of verdicts


@dataclass(frozen=True)
class Heading:
    """A heading of level 2 (part) or 3 (section); new_page starts it on a page of its own."""

    text: str
    level: int = 2
    new_page: bool = False


@dataclass(frozen=True)
class Paragraph:
    """Words; lead is set in bold before them, boxed draws a frame round both."""

    text: str
    lead: str = ""
    boxed: bool = False


@dataclass(frozen=True)
class Table:
    """Columns, rows of text, widths as shares, indices of row headings and of right-set columns.

    A cell may hold several lines; 'differs' stands out in a column 'verdict' or 'consequence'.
    """

    columns: tuple
    rows: tuple
    widths: tuple
    heads: tuple = (0,)
    right: tuple = ()
    caption: str = ""

    def loud(self, column, line):
        """True for a line of a cell that is to stand out."""
        return self.columns[column] in ("verdict", "consequence") and line.startswith(_BOLD)


@dataclass(frozen=True)
class Equations:
    """Steps of a working, dicts of symbol, meaning, equation, latex, numbers, result, source."""

    steps: tuple


@dataclass(frozen=True)
class Figure:
    """A picture: PNG bytes or a function that gives them, words for who can't see it, caption."""

    png: object
    alt: str
    caption: str = ""

    def bytes(self):
        """The PNG."""
        return self.png() if callable(self.png) else self.png


@dataclass(frozen=True)
class Signatures:
    """Lines to fill in by hand: pairs of words and what already stands there."""

    lines: tuple


@dataclass(frozen=True)
class Contents:
    """The headings of level 2 with their pages."""


@dataclass(frozen=True)
class Report:
    """What is to be filed; about stands at the foot of each page beside the date.

    The same blocks and date give the same bytes, as HTML and as PDF.
    """

    title: str
    blocks: tuple
    date: datetime.date
    about: str = ""
    prepared_by: str = ""
    project: str = ""

    def html(self, progress=None):
        """The report as one HTML page, str; progress(done, total) is called after each block."""
        from relieflib.report.html_page import html_page

        return html_page(self, progress)

    def pdf(self, progress=None):
        """The report as PDF on A4, bytes; progress as `html`."""
        from relieflib.report.pdf_page import pdf_document

        return pdf_document(self, progress)

    def save(self, path, overwrite=False, progress=None):
        """Write the report, whole or not at all.

        Parameters: path, ends in .html or .pdf; overwrite, True to replace a file; progress, a
        function of (blocks done, blocks in all). Returns Path. Raises InputError for another
        suffix, an existing file or a folder that can't be written to.
        """
        suffix = report_suffix(path)
        if Path(path).exists() and not overwrite:
            raise InputError(f"{shown(path)}: exists already and was left as it is")
        data = self.pdf(progress) if suffix == ".pdf" else self.html(progress).encode("utf-8")
        return write_new(path, data, overwrite)


def each_block(report, progress=None):
    """Yield (number from 1, block); progress(done, in all) is called after each."""
    for number, block in enumerate(report.blocks, start=1):
        yield number, block
        if progress:
            progress(number, len(report.blocks))


def report_suffix(path):
    """'.html' or '.pdf', by the end of a path.

    Parameters: path. Returns str. Raises InputError for another one.
    >>> report_suffix("psv.PDF")
    '.pdf'
    """
    suffix = Path(path).suffix.lower()
    if suffix not in (".html", ".pdf"):
        raise InputError(f"{shown(path)}: a report must end in .html or .pdf")
    return suffix


def safe_lines(text, longest=LONGEST):
    """Text made safe to print: no control characters, few lines, a long one cut visibly.

    Parameters: text; longest, characters in all. Returns a list of str.
    >>> safe_lines("PSV\\x07-1")
    ['PSV?-1']
    """
    lines, left = [], longest
    for line in str(text).split("\n"):
        if len(lines) == MOST_LINES or left <= 0:
            return [*lines, "..."]
        lines.append(shown(line, left))
        left -= len(line)
    return lines


def pretty(unit):
    """A unit for print: raised figures, nothing for the dimensionless.

    Parameters: unit, str. Returns str.
    >>> pretty("kg/(m2 s)"), pretty("in2"), pretty("-")
    ('kg/(m² s)', 'in²', '')
    """
    if unit == "-":
        return ""
    for letter in ("m", "n", "t"):  # m2, in2, ft2 and their cubes
        unit = unit.replace(letter + "2", letter + "²").replace(letter + "3", letter + "³")
    return unit


def plain(value, figures=6):
    """A number with so many figures, without a power of ten where a reader can do without.

    Parameters: value; figures. Returns str.
    >>> plain(670e3), plain(12345678.9), plain(0.00369853), plain(3e-7)
    ('670000', '12345679', '0.00369853', '3e-07')
    """
    if isinstance(value, str):
        return value
    text = f"{value:.{figures}g}"
    return f"{value:.0f}" if "e" in text and 1 <= abs(value) < 1e9 else text


def with_unit(value, unit):
    """Number and unit for print, '' for no number.

    Parameters: value, number, text or None; unit, str. Returns str.
    >>> with_unit(5.72796, "in2"), with_unit(None, "in2")
    ('5.728 in²', '')
    """
    text = digits(value)
    return f"{text} {pretty(unit)}".strip() if text else ""


def si(value, kind):
    """A quantity in SI with its unit, six figures, gauge and absolute said.

    Parameters: value; kind of quantity. Returns str.
    >>> si(517106.8, "gauge pressure"), si(0.975, "dimensionless")
    ('517107 Pa gauge', '0.975')
    """
    after = {"gauge pressure": " gauge", "pressure": " abs."}.get(kind, "")
    return f"{plain(value)} {pretty(SI_UNIT[kind])}".strip() + after


def equations(working, unit_set="SI", atmosphere=ATMOSPHERE):
    """A working as a block.

    Parameters: working, list of `Step` with scalar values; unit_set; atmosphere [Pa]. Returns
    `Equations`; numbers and result carry their units.
    """
    steps = []
    for one, row in zip(working, table(working, unit_set, 0, atmosphere), strict=True):
        numbers = [f"{symbol(n).symbol} = {_value(n, v)}" for n, v in one.inputs.items()]
        shown_unit = symbol(one.name).display_unit(unit_set)
        display = one.value
        if not isinstance(display, str):
            display = symbol(one.name).show(one.value, unit_set, atmosphere)
        own = _value(one.name, one.value)
        result = f"{plain(display, 5)} {pretty(shown_unit)} ({own})"
        result = own if shown_unit == one.unit else result
        steps.append({**row, "numbers": ", ".join(numbers), "result": result})
    return Equations(tuple(steps))


def _value(name, value):
    return f"{plain(value)} {pretty(symbol(name).unit)}".strip()


def opening(facts, date):
    """The blocks every report opens with: what it is about, what made it, the caution.

    Parameters: facts, list of (words, text); date, a datetime.date. Returns a list of blocks.
    """
    made = ", ".join([f"relieflib {__version__}", f"Python {platform.python_version()}",
                      *(f"{n} {metadata.version(n)}" for n in ("numpy", "scipy"))])  # fmt: skip
    rows = [("date", date.isoformat()), *facts, ("programme", made)]
    lead, _, words = CAUTION.replace("**", "").partition(" ")
    return [
        Table(("item", "value"), tuple((a, b or "not given") for a, b in rows), (24, 76)),
        Paragraph(words, lead, boxed=True),
    ]


_SOURCE = re.compile("[A-Z]{3,}|[0-9]{3}|practice|theory|memory")  # else it explains, names none


def closing(sources, prepared_by, date):
    """The blocks every report ends with: sources, lines to sign, who may sign.

    Parameters: sources, iterable of str; prepared_by, str; date. Returns a list of blocks.
    """
    parts = {part.strip() for source in sources for part in source.split(";")}
    named = sorted(part for part in parts if _SOURCE.search(part))
    lines = (("prepared by", prepared_by), ("date", date.isoformat() if prepared_by else ""),
             ("checked by", ""), ("date", ""), ("remarks", ""), ("", ""))  # fmt: skip
    rows = tuple((str(i), s) for i, s in enumerate(named, start=1))
    found = [Heading("Sources"), Table(("no.", "source"), rows, (6, 94))] if rows else []
    who = Paragraph(COMPETENCE, "Who may sign.")
    return [*found, Heading("Prepared and checked"), who, Signatures(lines)]


def report_date(date):
    """A date from None (today), a datetime.date or text such as '2026-03-31'.

    Parameters: date. Returns datetime.date. Raises InputError for anything else.
    >>> report_date("2026-03-31")
    datetime.date(2026, 3, 31)
    """
    if date is None:
        return datetime.date.today()
    if isinstance(date, datetime.date):
        return datetime.date(date.year, date.month, date.day)
    try:
        return datetime.date.fromisoformat(str(date))
    except ValueError:
        raise InputError(f"date = {date!r}: write it as year-month-day: 2026-03-31") from None


def png(figure):
    """The PNG bytes of a figure, fine enough for paper, without date or programme.

    Parameters: figure, matplotlib Figure. Returns bytes.
    """
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=180, metadata={"Software": None})
    return buffer.getvalue()


class LetterStrip:
    """Where the required area falls among the letters; one matplotlib figure for all valves."""

    def __init__(self):
        self._made = None

    def figure(self, label, case, unit_set):
        """`Figure` of a case with a sizing, drawn when it is written."""
        cell = case.row.cells.get("required_area")
        values = {"recomputed": case.required, "stated": cell and cell.value,
                  "installed": case.installed}  # fmt: skip
        values = {n: v for n, v in values.items() if v}
        quantity = symbol("required_area")
        unit = quantity.display_unit(unit_set)
        said = ", ".join(f"{n} {with_unit(quantity.show(v, unit_set), unit)}"
                         for n, v in values.items())  # fmt: skip
        alt = f"Areas of {label} among the orifice letters D to T: {said}."
        return Figure(partial(self._png, values, unit_set), alt,
                      f"Required area among the orifice letters: {said}.")  # fmt: skip

    def _png(self, values, unit_set):
        from relieflib.report.figures import _pretty

        if self._made is None:
            self._made = _strip()
        figure, ax, dots, words, rungs = self._made
        show, unit = symbol("area").show, symbol("area").display_unit(unit_set)
        areas = [*values.values(), *LETTERS.values()]
        ax.set(xlim=(show(0.6 * min(areas), unit_set), show(1.6 * max(areas), unit_set)))
        ax.set_xlabel(f"area, {_pretty(unit)} (log scale)", fontsize=9)
        for (line, letter), area in zip(rungs, LETTERS.values(), strict=True):
            line.set_xdata([show(area, unit_set)] * 2)
            letter.set_x(show(area, unit_set))
        for name, dot in dots.items():
            dot.set_data([show(values[name], unit_set)] if name in values else [], [_AT[name]] *
                         (name in values))  # fmt: skip
            words[name].set_color("#000000" if name in values else "#999999")
        return png(figure)


_AT = {"recomputed": 2, "stated": 1, "installed": 0}


def _strip():
    from relieflib.report.figures import BLUE, INK, SKY, VERMILLION, new_figure

    figure = new_figure((7.1, 1.55))
    ax = figure.add_axes((0.13, 0.29, 0.85, 0.58))
    ax.set_xscale("log")
    ax.set(ylim=(-0.6, 2.6), yticks=[])
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=8.5)
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:,g}".replace(",", " "))
    across, down = ax.get_yaxis_transform(), ax.get_xaxis_transform()
    rungs = [(ax.plot([1, 1], [0, 1], color=SKY, lw=1, transform=down)[0],
              ax.text(1, 1.03, n, ha="center", fontsize=9, color=BLUE, transform=down))
             for n in LETTERS]  # fmt: skip
    style = {"recomputed": ("D", VERMILLION, VERMILLION), "stated": ("o", INK, "white"),
             "installed": ("s", BLUE, "white")}  # fmt: skip
    dots, words = {}, {}
    for name, (marker, edge, face) in style.items():
        dots[name] = ax.plot([], [], ls="none", marker=marker, ms=8, mec=edge, mfc=face, mew=1.5,
                             zorder=5)[0]  # fmt: skip
        words[name] = ax.text(-0.015, _AT[name], name, ha="right", va="center", fontsize=9,
                              transform=across)  # fmt: skip
    return figure, ax, dots, words, rungs
