"""What a page to file is made of: a small list of frozen blocks, whatever it is written as."""

import datetime
import io
import platform
import re
from dataclasses import dataclass
from functools import partial
from importlib import metadata

from relieflib import __version__
from relieflib.datasheet.verdict import digits
from relieflib.errors import InputError
from relieflib.orifices import LETTERS
from relieflib.symbols import symbol
from relieflib.texts import CAUTION, harmless, unit_text, with_unit
from relieflib.units import ATMOSPHERE, SI_UNIT
from relieflib.working import table

COMPETENCE = (
    "This page is no certificate and no design approval. Local codes, the authority having "
    "jurisdiction and licensed practice come first; whoever signs must be licensed or otherwise "
    "competent for this work under the local code and must have checked the inputs against the "
    "plant and the manufacturer's certified data."
)
LONGEST, LONGEST_CELL, MOST_LINES = 5000, 400, 12  # characters of a paragraph, of a cell
_BOLD = (
    "differs",
    "not protected",
    "does not cover",
)  # words that stand out in a column of verdicts


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

    A cell may hold several lines; 'differs' and 'does not cover' stand out in a column 'verdict' or
    'consequence'; under, a line in small print across each row, '' for none.
    """

    columns: tuple
    rows: tuple
    widths: tuple
    heads: tuple = (0,)
    right: tuple = ()
    caption: str = ""
    under: tuple = ()

    def loud(self, column, line):
        """True for a line of a cell that is to stand out."""
        return self.columns[column] in ("verdict", "consequence") and line.startswith(_BOLD)


@dataclass(frozen=True)
class Equations:
    """Steps of a working, dicts of symbol, meaning, equation, latex, numbers, result, source."""

    steps: tuple


@dataclass(frozen=True)
class Figure:
    """A picture: PNG bytes or a function that gives them, words for who can't see it, caption.

    areas, pairs of name and area [m2] among the letters, and unit_set: a PDF draws these by lines.
    """

    png: object
    alt: str
    caption: str = ""
    areas: tuple = ()
    unit_set: str = "SI"

    def bytes(self):
        """The PNG."""
        return self.png() if callable(self.png) else self.png


@dataclass(frozen=True)
class Columns:
    """Blocks set in small print where they are printed, in two columns as in a newspaper or in one.

    Of two columns, tables, equations and areas among the letters take half of the width.
    """

    blocks: tuple
    count: int = 2


@dataclass(frozen=True)
class Signatures:
    """Lines to fill in by hand: pairs of words and what already stands there."""

    lines: tuple


@dataclass(frozen=True)
class Contents:
    """The headings of level 2 with their pages."""


def each_block(report, progress=None):
    """Yield (number from 1, block); progress(done, in all) is called after each."""
    for number, block in enumerate(report.blocks, start=1):
        yield number, block
        if progress:
            progress(number, len(report.blocks))


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
        lines.append(harmless(line, left))
        left -= len(line)
    return lines


def sheet_text(value, unit):
    """Number and unit as a sheet prints them, '' for no number.

    Parameters: value, number, text or None; unit, str. Returns str.
    >>> sheet_text(3698.74, "mm2"), sheet_text(None, "in2")
    ('3698.7 mm²', '')
    """
    return with_unit(digits(value), unit)


def si(value, kind):
    """A quantity in SI with its unit, six figures, gauge and absolute said.

    Parameters: value; kind of quantity. Returns str.
    >>> si(517106.8, "gauge pressure"), si(0.975, "dimensionless")
    ('517107 Pa gauge', '0.975')
    """
    after = {"gauge pressure": " gauge", "pressure": " abs."}.get(kind, "")
    return with_unit(value, SI_UNIT[kind], 6, whole=True) + after


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
        result = f"{with_unit(display, shown_unit, 5, whole=True)} ({own})"
        result = own if shown_unit == one.unit else result
        steps.append({**row, "numbers": ", ".join(numbers), "result": result})
    return Equations(tuple(steps))


def _value(name, value):
    return with_unit(value, symbol(name).unit, 6, whole=True)


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


def numbered(sources):
    """The documents among some sources, each with its number in the list of sources.

    Parameters: sources, iterable of str. Returns {document: number}.
    >>> numbered(["API 526; API 520-I (2020), 5.6", "must be below"])
    {'API 520-I (2020), 5.6': 1, 'API 526': 2}
    """
    parts = {part.strip() for source in sources for part in source.split(";")}
    named = sorted(part for part in parts if _SOURCE.search(part))
    return {part: number for number, part in enumerate(named, start=1)}


def referred(source, numbers):
    """A source with its documents as numbers of the list of sources.

    Parameters: source, str; numbers as `numbered`. Returns str.
    >>> referred("API 526; must be below", {"API 526": 2})
    'must be below [2]'
    """
    parts = [part.strip() for part in source.split(";") if part.strip()]
    found = [str(numbers[part]) for part in parts if part in numbers]
    words = "; ".join(part for part in parts if part not in numbers)
    return " ".join(filter(None, (words, f"[{', '.join(found)}]" if found else "")))


def closing(sources, prepared_by, date, checked_by="", checked_on=""):
    """The blocks every report ends with: sources, lines to sign, who may sign.

    Parameters: sources, iterable of str; prepared_by, str; date; checked_by and checked_on, str,
    who checked the page and when. Returns a list of blocks.
    """
    named = list(numbered(sources))
    signed = date.isoformat() if prepared_by else ""
    lines = (("prepared by", prepared_by), ("date", signed), ("checked by", checked_by),
             ("date", checked_on), ("remarks", ""), ("", ""))  # fmt: skip
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
        said = ", ".join(f"{n} {sheet_text(quantity.show(v, unit_set), unit)}"
                         for n, v in values.items())  # fmt: skip
        alt = f"Areas of {label} among the orifice letters D to T: {said}."
        return Figure(partial(self._png, values, unit_set), alt,
                      f"{said[0].upper()}{said[1:]}.",
                      tuple(values.items()), unit_set)  # fmt: skip

    def _png(self, values, unit_set):
        if self._made is None:
            self._made = _strip()
        figure, ax, dots, words, rungs = self._made
        show, unit = symbol("area").show, symbol("area").display_unit(unit_set)
        areas = [*values.values(), *LETTERS.values()]
        ax.set(xlim=(show(0.6 * min(areas), unit_set), show(1.6 * max(areas), unit_set)))
        ax.set_xlabel(f"area, {unit_text(unit)} (log scale)", fontsize=7.5)
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

    figure = new_figure((3.5, 1.2))  # inches: half a page's width
    ax = figure.add_axes((0.21, 0.32, 0.77, 0.48))
    ax.set_xscale("log")
    ax.set(ylim=(-0.6, 2.6), yticks=[])
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=7.5)
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:,g}".replace(",", " "))
    across, down = ax.get_yaxis_transform(), ax.get_xaxis_transform()
    rungs = [(ax.plot([1, 1], [0, 1], color=SKY, lw=1, transform=down)[0],
              ax.text(1, 1.03 + 0.17 * (i % 2), n, ha="center", fontsize=7.5, color=BLUE,
                     transform=down)) for i, n in enumerate(LETTERS)]  # fmt: skip
    style = {"recomputed": ("D", VERMILLION, VERMILLION), "stated": ("o", INK, "white"),
             "installed": ("s", BLUE, "white")}  # fmt: skip
    dots, words = {}, {}
    for name, (marker, edge, face) in style.items():
        dots[name] = ax.plot([], [], ls="none", marker=marker, ms=6, mec=edge, mfc=face, mew=1.3,
                             zorder=5)[0]  # fmt: skip
        words[name] = ax.text(-0.015, _AT[name], name, ha="right", va="center", fontsize=7.5,
                              transform=across)  # fmt: skip
    return figure, ax, dots, words, rungs
