"""A report as PDF on A4: outline, page n of N, table headings repeated, fonts inside.

The library fpdf2 sets text and tables; matplotlib's mathtext places the signs of an equation,
which are then set as text in the fonts that matplotlib brings along.
"""

import datetime
import io
from functools import lru_cache
from math import ceil, floor, log10
from pathlib import Path
from typing import NamedTuple
from unicodedata import bidirectional

import matplotlib
from fpdf import FPDF
from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection
from matplotlib.font_manager import FontProperties
from matplotlib.mathtext import MathTextParser

from relieflib import __version__
from relieflib.orifices import LETTERS
from relieflib.report.blocks import (
    LONGEST,
    LONGEST_CELL,
    Columns,
    Contents,
    Equations,
    Figure,
    Heading,
    Paragraph,
    Signatures,
    Table,
    each_block,
    safe_lines,
)
from relieflib.report.figures import BLUE, SKY, VERMILLION
from relieflib.symbols import symbol
from relieflib.texts import unit_text

WIDE, INDENT = 182.0, 6.0  # mm: A4 less the margins
LEFT, TOP, FOOT = 14.0, 12.0, 15.0
BODY, CELL, SMALL, FORMULA = 9.0, 8.0, 7.5, 10.5  # points
TALLEST, BROADEST = 45, 3.0  # lines of a cell that fit on a page, mm of the broadest letter
TOTAL = "¤nnn¤"  # replaced by the number of pages; no file writes it like this
EDGE = 1.0  # mm beside a paragraph
MOST_KEPT = 20_000  # texts made safe, and set in lines, that are not done twice
PAD, GAP = 1.2, 5.0  # mm beside the text of a cell, and between two columns of a page
COLUMN = (WIDE - GAP) / 2  # mm
ENTRY = 4.6  # mm, one line of the contents
UNDER = 0.7  # mm under an equation, whose signs reach to its edge
MM = 25.4 / 72.0  # of a point
LEAST_SCALE = 0.95  # a longer formula is set as plain text: no exponent below 7 points
RED, GREY, BLACK = (160, 0, 0), (80, 80, 80), (0, 0, 0)
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
_STYLES = {"": "", "B": "-Bold", "I": "-Oblique"}


class Print(NamedTuple):
    """Sizes of text [points] and heights of its lines [mm], above a cell, of the letters."""

    body: float
    cell: float
    small: float
    formula: float
    line: float
    cell_line: float
    lead: float
    strip: float


LARGE = Print(BODY, CELL, SMALL, 1.0, 4.4, 3.7, 0.6, 39.0)
FINE = Print(7.2, 7.0, 7.0, 0.955, 3.2, 2.85, 0.18, 23.5)  # exponents of an equation: 7 points


class Sheet(FPDF):
    """The document: its fonts, its foot, and text made fit for them.

    left and across [mm], where text stands: all of the width, or one column of two.
    """

    foot, left, across, print, column = "", LEFT, WIDE, LARGE, None
    from_top = lowest = TOP  # mm: where the columns of this page begin, where the first one ended

    def use_fonts(self):
        """Embed DejaVu Sans; only the signs used are kept."""
        for style, name in _STYLES.items():
            self.add_font("body", style, FONTS / f"DejaVuSans{name}.ttf")
        self.known = set(self.fonts["body"].cmap)
        # a list says the same words on every page
        self.safe, self.lines = (lru_cache(MOST_KEPT)(way) for way in (self._safe, self._lines))
        self.set_font("body", size=BODY)
        self.alias_nb_pages(TOTAL)

    def _safe(self, text, longest=LONGEST):
        """Text without control characters; signs that the font lacks as their number."""
        return "\n".join(
            line if line.isascii() else _left_to_right(self._with_known(line))
            for line in safe_lines(text, longest)
        )

    def _with_known(self, line):
        return "".join(c if ord(c) in self.known else f"[U+{ord(c):04X}]" for c in line)

    def footer(self):
        """The file, the date and the page at the foot of each page."""
        self.set_y(-11)
        self.set_font("body", size=SMALL)
        self.set_text_color(*GREY)
        self.cell(150, 4, self.safe(self.foot)[:100])
        self.cell(WIDE - 150, 4, f"page {self.page_no()} of {TOTAL}", align="R")
        self.set_text_color(*BLACK)

    def words(self, text, size=None, style="", height=None, color=BLACK, indent=0.0):
        """A paragraph over the whole width; the place then is the next line's start."""
        size, height = size or self.print.body, height or self.print.line
        if color != BLACK:
            self.set_text_color(*color)
        for line in self.lines(self.safe(text), self.across - indent - 2 * EDGE, size, style):
            self.keep(height)
            self.line_at(self.left + indent + EDGE, self.get_y(), height, line, size, style)
            self.set_y(self.get_y() + height)
        if color != BLACK:
            self.set_text_color(*BLACK)

    def lines_of(self, text, size, indent=0.0):
        """Number of lines a paragraph will take."""
        return len(self.lines(self.safe(text), self.across - indent - 2 * EDGE, size))

    def wide(self, text, size, style=""):
        """Width of a line [mm]."""
        each = self.fonts["body" + style].cw
        return sum(each[ord(c)] for c in text) * size * MM / 1000.0

    def _lines(self, text, width, size, style=""):
        """A text in lines of so many mm; a word that is broader is broken."""
        found = []
        for part in text.split("\n"):
            line, used, blank = "", 0.0, self.wide(" ", size, style)
            for word in part.split(" "):
                need = self.wide(word, size, style)
                if line and used + blank + need > width:
                    found.append(line)
                    line, used = "", 0.0
                while need > width:
                    head = self._fitting(word, width, size, style)
                    found.append(word[:head])
                    word = word[head:]
                    need = self.wide(word, size, style)
                line, used = (f"{line} {word}", used + blank + need) if line else (word, need)
            found.append(line)
        return found

    def _fitting(self, word, width, size, style):
        head = 1
        while self.wide(word[: head + 1], size, style) <= width:
            head += 1
        return head

    def line_at(self, x, top, height, text, size, style=""):
        """One line of text in a strip of so many mm from the top."""
        if text.strip():
            if (self.font_family, self.font_style, self.font_size_pt) != ("body", style, size):
                self.set_font("body", style, size)
            self.text(x, top + 0.5 * height + 0.3 * size * MM, text)

    def keep(self, height):
        """Begin a column or a page where less than this height is left; True where it did."""
        if not self.will_page_break(height):
            return False
        if self.column == 0:
            self.lowest = self.get_y()
            self.start_column(1)
        else:
            self.add_page()
            self.from_top = self.lowest = TOP
            if self.column:
                self.start_column(0)
        return True

    def start_column(self, number):
        """Go to the top of the first or the second column of a page, in small print."""
        self.column, self.print, self.across = number, FINE, COLUMN
        self.left = LEFT + number * (self.across + GAP)
        self.set_y(self.from_top)

    def end_columns(self):
        """Back to the whole width, below the longer column."""
        self.column, self.print, self.left, self.across = None, LARGE, LEFT, WIDE
        self.set_y(max(self.get_y(), self.lowest))


def _left_to_right(line):
    """Signs of a right-to-left script in the order in which they stand on the page."""
    if not any(bidirectional(c) in ("R", "AL") for c in line):
        return line
    return BidiParagraph(text=line, base_direction=TextDirection.LTR).get_reordered_string()


def pdf_document(report, progress=None):
    """A report as PDF.

    Parameters: report, `Report`; progress, a function of (blocks done, in all). Returns bytes.
    """
    pdf = _sheet(report)
    for _, block in each_block(report, progress):
        if isinstance(block, Contents):
            _contents(pdf, report)
        else:
            _WRITE[type(block)](pdf, block)
    return bytes(pdf.output())


def _sheet(report):
    """An empty document with fonts, metadata and the title on its first page."""
    pdf = Sheet("P", "mm", "A4")
    pdf.use_fonts()
    pdf.foot = f"{report.about}   {report.date.isoformat()}"
    pdf.set_margins(LEFT, TOP)
    pdf.set_auto_page_break(True, FOOT)
    pdf.set_lang("en")
    pdf.set_title(pdf.safe(report.title))
    pdf.set_author(pdf.safe(report.prepared_by))
    pdf.set_subject(pdf.safe(report.project or report.about))
    pdf.set_creator(f"relieflib {__version__}")
    noon = datetime.time(12, tzinfo=datetime.UTC)
    pdf.set_creation_date(datetime.datetime.combine(report.date, noon))
    pdf.add_page()
    pdf.words(report.title, 15, "B", 7.0)
    pdf.ln(2)
    return pdf


def _heading(pdf, block):
    if block.new_page:
        pdf.add_page()
    part, high = block.level == 2, 5.6 if block.level == 2 else pdf.print.line + 0.6
    pdf.keep(75 if part else 32 if pdf.column is None else 15)
    if not block.new_page:
        pdf.ln(3 if part else 0.45 * pdf.print.line)
    pdf.start_section(pdf.safe(block.text), level=block.level - 2, strict=False)
    pdf.words(block.text, 12 if part else pdf.print.body + 1.0, "B", high)
    if part:
        pdf.line(LEFT, pdf.get_y() + 0.5, LEFT + WIDE, pdf.get_y() + 0.5)
    pdf.ln(1.8 if pdf.column is None else 0.5)


def _paragraph(pdf, block):
    lead = f"{pdf.safe(block.lead)} " if block.lead else ""
    pad, size, high = 2.0 if block.boxed else 0.0, pdf.print.body, pdf.print.line
    pdf.keep(pdf.lines_of(lead + block.text, size, 2 * pad + 4) * high + 2 * pad)
    top, right = pdf.get_y(), pdf.w - pdf.left - pdf.across
    pdf.set_y(top + pad)
    pdf.set_left_margin(pdf.left + pad)
    pdf.set_right_margin(right + pad)
    pdf.set_x(pdf.left + pad)
    if lead:
        pdf.set_font("body", "B", size)
        pdf.write(high, lead)
    pdf.set_font("body", "", size)
    pdf.write(high, pdf.safe(block.text))
    pdf.set_margins(LEFT, TOP)
    pdf.ln(high + pad)
    if block.boxed:
        pdf.rect(pdf.left, top, pdf.across, pdf.get_y() - top)
    pdf.ln(0.45 * high if pdf.print is LARGE else 0.8)


def _table(pdf, block):
    """A table whose headings are repeated on each page; much faster than the library's own."""
    if block.caption:
        pdf.keep(30 if pdf.column is None else 15)
        pdf.words(block.caption, pdf.print.body + 1.0, "B", pdf.print.line + 0.6)
        pdf.ln(0.5)
    widths = [pdf.across * w / sum(block.widths) for w in block.widths]
    head = _cells(pdf, block, widths, block.columns, True)
    pdf.set_draw_color(170)
    started = False
    for number, cells in enumerate(block.rows):
        row = _cells(pdf, block, widths, cells)
        under = _under(pdf, block, number)
        need = _height(pdf, row) + len(under) * pdf.print.cell_line
        again = pdf.keep(need + (0 if started else _height(pdf, head)))
        if again or not started:
            _set_row(pdf, head, widths, True)
        _set_row(pdf, row, widths)
        _set_under(pdf, under)
        started = True
    if not started:
        _set_row(pdf, head, widths, True)
    pdf.set_draw_color(0)
    pdf.ln(3 if pdf.print is LARGE else 1.2)


def _cells(pdf, block, widths, texts, head=False):
    """(lines, style, right-set, loud) of each cell of a row."""
    cells, size = [], pdf.print.cell
    for i, (text, width) in enumerate(zip(texts, widths, strict=True)):
        loud = not head and block.loud(i, str(text))
        style = "B" if head or loud else ""
        safe = pdf.safe(text, LONGEST_CELL if head else _room(width))
        lines = pdf.lines(safe, width - 2 * PAD, size, style)
        cells.append((lines, style, i in block.right, loud))
    return cells


def _under(pdf, block, number):
    """Lines of small print across a row."""
    words = pdf.safe(block.under[number], LONGEST_CELL) if block.under else ""
    return pdf.lines(words, pdf.across - 3 * PAD, pdf.print.cell) if words else []


def _set_under(pdf, lines):
    pdf.set_text_color(*GREY)
    for line in lines:
        pdf.line_at(pdf.left + 2 * PAD, pdf.get_y() - pdf.print.lead, pdf.print.cell_line, line,
                    pdf.print.cell)  # fmt: skip
        pdf.set_y(pdf.get_y() + pdf.print.cell_line)
    pdf.set_text_color(*BLACK)


def _height(pdf, cells):
    return max(len(lines) for lines, *_ in cells) * pdf.print.cell_line + 2 * pdf.print.lead


def _set_row(pdf, cells, widths, head=False):
    """Draw a row at the present height, with a line above it, and go to its end."""
    top, high, left = pdf.get_y(), _height(pdf, cells), pdf.left
    size, line_high = pdf.print.cell, pdf.print.cell_line
    if head:
        pdf.set_fill_color(235)
        pdf.rect(pdf.left, top, pdf.across, high, style="F")
        pdf.set_fill_color(0)
    else:
        pdf.line(pdf.left, top, pdf.left + pdf.across, top)
    for (lines, style, right, loud), width in zip(cells, widths, strict=True):
        if loud:
            pdf.set_text_color(*RED)
        for n, line in enumerate(lines):
            x = left + PAD
            if right:
                x = left + width - PAD - pdf.wide(line, size, style)
            pdf.line_at(x, top + pdf.print.lead + n * line_high, line_high, line, size, style)
        if loud:
            pdf.set_text_color(*BLACK)
        left += width
    pdf.set_y(top + high)


def _room(width):
    """Characters that a cell of so many mm can hold, however broad, on one page."""
    return max(4, min(LONGEST_CELL, int(TALLEST * (width - 4.5) / BROADEST)))


@lru_cache(2000)
def _formula(latex):
    """(width, height with depth, depth, signs, rules) of an equation, points from its baseline."""
    with matplotlib.rc_context({"mathtext.fontset": "dejavusans"}):
        text = "$" + latex.replace("\\frac", "\\dfrac") + "$"
        found = MathTextParser("path").parse(text, 72, FontProperties(size=FORMULA))
    width, height, depth, signs, rules = found
    signs = [(font.fname, Path(font.fname).stem.lower(), float(size), chr(code), float(x), float(y))
             for font, size, code, *_, x, y in signs]  # fmt: skip
    return width, height, depth, signs, rules


def _set_formula(pdf, formula, scale):
    """Draw the signs and rules of an equation with its top at the present height."""
    width, height, depth, signs, rules = formula
    base = pdf.get_y() + float(height - depth) * scale * MM
    left = pdf.left + INDENT
    for path, name, size, sign, x, y in signs:
        if name not in pdf.fonts:
            pdf.add_font(name, "", path)
        pdf.set_font(name, size=size * scale)
        pdf.text(left + x * scale * MM, base - y * scale * MM, sign)
    for x, y, wide, high in rules:
        pdf.rect(left + float(x) * scale * MM, base - float(y + high) * scale * MM,
                 float(wide) * scale * MM, float(high) * scale * MM, style="F")  # fmt: skip
    pdf.set_y(base + float(depth) * scale * MM)


def _equations(pdf, block):
    for number, step in enumerate(block.steps, start=1):
        title = f"{number}.  {step['symbol']}, {step['meaning']}"
        formula = _formula(step["latex"]) if step["equation"] else None
        scale = pdf.print.formula
        if formula:
            scale *= min(1.0, (pdf.across - INDENT) / (float(formula[0]) * MM * scale))
        drawn = formula is not None and scale >= LEAST_SCALE * pdf.print.formula
        set_step = _step if pdf.column is None else _short_step
        set_step(pdf, step, title, formula if drawn else None, scale)
        pdf.set_draw_color(190)
        pdf.line(pdf.left, pdf.get_y() + 0.3, pdf.left + pdf.across, pdf.get_y() + 0.3)
        pdf.set_draw_color(0)
        pdf.ln(1.5 if pdf.column is None else 0.45)


def _step(pdf, step, title, formula, scale):
    """Title and source, the equation, what goes in, what comes out: each in a line of its own."""
    numbers = f"with {step['numbers']}" if step["numbers"] else ""
    beside = _fits_beside(pdf, title, step["source"])
    high = float(formula[1]) * scale * MM if formula else 8.0
    lines = (numbers, "" if beside else step["source"])
    pdf.keep(12 + high + 3.9 * sum(pdf.lines_of(t, CELL, INDENT) for t in lines if t))
    if beside and step["source"]:
        _beside(pdf, step["source"])
    pdf.words(title)
    if formula:
        pdf.ln(1.2)
        _set_formula(pdf, formula, scale)
        pdf.ln(0.6)
    elif step["equation"]:
        pdf.words(_plain_equation(step), indent=INDENT)
    if numbers:
        pdf.words(numbers, CELL, height=3.9, indent=INDENT)
    pdf.words(f"{step['symbol']} = {step['result']}", style="B", indent=INDENT)
    if not beside:
        pdf.words(step["source"], SMALL, height=3.9, color=GREY, indent=INDENT)


def _plain_equation(step):
    plain = step["equation"].replace("**", "^").replace("*", " · ")
    return f"{step['symbol']} = {plain}"


def _short_step(pdf, step, title, formula, scale):
    """Title and source; right of the equation what goes in and what comes out."""
    size, high = pdf.print.cell, pdf.print.cell_line
    wide = float(formula[0]) * scale * MM + 3.0 if formula else 0.0
    if pdf.across - INDENT - wide < 34.0:
        wide = 0.0  # too little room: below it
    numbers = f"with {step['numbers']}" if step["numbers"] else ""
    room = pdf.across - INDENT - wide - 2 * EDGE
    lines = pdf.lines(pdf.safe(numbers), room, size) if numbers else []
    result = pdf.lines(pdf.safe(f"{step['symbol']} = {step['result']}"), room, size, "B")
    source = step["source"]
    head = title + (source and (" " if source.startswith("[") else "; ") + source)
    if not (step["equation"] or numbers):
        head, result = f"{head}: {step['symbol']} = {step['result']}", []
    head = pdf.lines(pdf.safe(head), pdf.across - 2 * EDGE, size)
    tall = float(formula[1]) * scale * MM + 0.4 + UNDER if formula else 0.0
    text = (len(lines) + len(result)) * high
    pdf.keep(len(head) * high + (max(tall, text) if wide else tall + text) + 3.5)
    for line in head:
        pdf.line_at(pdf.left + EDGE, pdf.get_y(), high, line, size)
        pdf.set_y(pdf.get_y() + high)
    top = pdf.get_y()
    if formula:
        pdf.ln(0.4)
        _set_formula(pdf, formula, scale)
        pdf.ln(UNDER)
    elif step["equation"]:
        pdf.words(_plain_equation(step), size, height=high, indent=INDENT)
    below = pdf.get_y()
    y = top if wide else below
    for style, some in (("", lines), ("B", result)):
        for line in some:
            pdf.line_at(pdf.left + INDENT + EDGE + wide, y, high, line, size, style)
            y += high
    pdf.set_y(max(below, y))


def _fits_beside(pdf, title, source):
    """True where title and source stand in one line."""
    wide = pdf.wide(pdf.safe(title), pdf.print.body)
    return wide + pdf.wide(pdf.safe(source), pdf.print.small) < pdf.across - 6


def _beside(pdf, source):
    """The source at the right end of the line, leaving the place where it was."""
    text, size = pdf.safe(source), pdf.print.small
    pdf.set_text_color(*GREY)
    x = pdf.left + pdf.across - EDGE - pdf.wide(text, size)
    pdf.line_at(x, pdf.get_y(), pdf.print.line, text, size)
    pdf.set_text_color(*BLACK)


def _columns(pdf, block):
    """Blocks in two columns from here on; the place then is below both."""
    pdf.from_top, pdf.print = pdf.get_y(), FINE
    pdf.lowest = pdf.from_top
    if block.count == 2:
        pdf.start_column(0)
    for inner in block.blocks:
        _WRITE[type(inner)](pdf, inner)
    pdf.end_columns()


def _figure(pdf, block):
    if block.areas:
        pdf.keep(pdf.print.strip + 8)
        _strip(pdf, dict(block.areas), block.unit_set)
        pdf.words(block.caption, pdf.print.cell, height=pdf.print.cell_line + 0.2)
        pdf.ln(2 if pdf.column is None else 1)
        return
    from PIL import Image

    picture = Image.open(io.BytesIO(block.bytes()))
    high = WIDE * picture.height / picture.width
    pdf.keep(high + 8)
    pdf.image(picture, LEFT, pdf.get_y(), WIDE, high, alt_text=pdf.safe(block.alt))
    pdf.set_y(pdf.get_y() + high if pdf.get_y() + high < pdf.h else pdf.get_y())
    pdf.words(block.caption, CELL, height=3.9)
    pdf.ln(2)


def _strip(pdf, areas, unit_set):
    """Areas among the orifice letters on a log scale, drawn by lines: as sharp as the text."""
    show, every = symbol("area").show, [*areas.values(), *LETTERS.values()]
    low, high = (log10(show(f(every) * by, unit_set)) for f, by in ((min, 0.6), (max, 1.6)))
    line, size, fine = pdf.print.line, pdf.print.body, pdf.column is not None
    indent = pdf.wide("recomputed", size) + 4.0
    top, left, wide = pdf.get_y() + line + 3.2, pdf.left + indent, pdf.across - indent - 3.0
    deep = pdf.print.strip - 2 * line - 6.2
    bottom, start = top + deep, pdf.get_y()

    def x(area):
        return left + wide * (log10(area) - low) / (high - low)

    pdf.set_draw_color(*_rgb(SKY))
    pdf.set_text_color(*_rgb(BLUE))
    for n, (letter, area) in enumerate(LETTERS.items()):
        at = x(show(area, unit_set))
        pdf.line(at, top, at, bottom)
        _centred(pdf, at, top - line - 2.4 * (n % 2) * fine, letter)  # L, M and N are neighbours
    pdf.set_text_color(*BLACK)
    pdf.set_draw_color(0)
    pdf.line(left, bottom, left + wide, bottom)
    for power in range(ceil(low), floor(high) + 1):
        at = x(10.0**power)
        pdf.line(at, bottom, at, bottom + 1.0)
        _centred(pdf, at, bottom + 1.0, f"{10.0**power:,g}".replace(",", " "))
    unit = unit_text(symbol("area").display_unit(unit_set))
    _centred(pdf, left + wide / 2, bottom + 0.8 + 0.85 * line, f"area, {unit} (log scale)")
    for n, (name, mark) in enumerate(_MARKS.items()):
        at = top + deep * (0.6 + n) / 3.2
        pdf.set_text_color(*(BLACK if name in areas else GREY))
        pdf.line_at(left - 2.0 - pdf.wide(name, size), at - line / 2, line, name, size)
        if name in areas:
            mark(pdf, x(show(areas[name], unit_set)), at)
    pdf.set_text_color(*BLACK)
    pdf.set_draw_color(0)
    pdf.set_fill_color(0)
    pdf.set_y(start + pdf.print.strip)


def _rgb(color):
    return tuple(bytes.fromhex(color[1:]))


def _centred(pdf, x, top, text):
    size, high = pdf.print.body, pdf.print.line
    pdf.line_at(x - pdf.wide(text, size) / 2, top, high, text, size)


def _diamond(pdf, x, y):
    pdf.set_draw_color(*_rgb(VERMILLION))
    pdf.set_fill_color(*_rgb(VERMILLION))
    pdf.polygon(((x, y - 1.8), (x + 1.8, y), (x, y + 1.8), (x - 1.8, y)), style="DF")


def _circle(pdf, x, y):
    pdf.set_draw_color(0)
    pdf.set_fill_color(255)
    pdf.circle(x, y, 1.4, style="DF")


def _square(pdf, x, y):
    pdf.set_draw_color(*_rgb(BLUE))
    pdf.set_fill_color(255)
    pdf.rect(x - 1.3, y - 1.3, 2.6, 2.6, style="DF")


_MARKS = {"recomputed": _diamond, "stated": _circle, "installed": _square}


def _signatures(pdf, block):
    half = WIDE / 2 - 4
    pdf.keep(12 * ((len(block.lines) + 1) // 2))
    for i, (words, text) in enumerate(block.lines):
        if i % 2 == 0:
            pdf.ln(9)
        pdf.set_font("body", size=BODY)
        x, y = LEFT + (i % 2) * (half + 8), pdf.get_y()
        pdf.set_xy(x, y)
        while pdf.get_string_width(words + text) > half - 6 and len(text) > 4:
            text = text[:-4] + "..."
        pdf.cell(half, 5, pdf.safe(f"{words}: {text}" if words else ""))
        pdf.line(x, y + 5.5, x + half, y + 5.5)
        pdf.set_xy(LEFT, y)
    pdf.ln(12)


def _contents(pdf, report):
    """Room for the headings of level 2, filled in when their pages are known."""
    entries = sum(isinstance(b, Heading) and b.level == 2 for b in report.blocks)
    pdf.words("Contents", 12, "B", 5.6)
    bottom = pdf.h - FOOT
    here, each = (int((bottom - y) / ENTRY) for y in (pdf.get_y(), TOP))
    more = max(0, entries - here)
    pdf.insert_toc_placeholder(_fill_contents, pages=1 + -(-more // each))


def _fill_contents(pdf, outline):
    pdf.set_font("body", size=BODY)
    pdf.set_x(LEFT)
    for section in outline:
        if section.level == 0:
            link = pdf.add_link(page=section.page_number)
            pdf.cell(WIDE - 20, ENTRY, section.name[:90], link=link)
            pdf.cell(20, ENTRY, str(section.page_number), align="R", link=link, new_x="LMARGIN",
                     new_y="NEXT")  # fmt: skip


_WRITE = {
    Heading: _heading, Paragraph: _paragraph, Table: _table, Figure: _figure,
    Equations: _equations, Signatures: _signatures, Columns: _columns,
}  # fmt: skip
