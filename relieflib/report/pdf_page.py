"""A report as PDF on A4: outline, page n of N, table headings repeated, fonts inside.

The library fpdf2 sets text and tables; matplotlib's mathtext places the signs of an equation,
which are then set as text in the fonts that matplotlib brings along.
"""

import datetime
import io
from functools import lru_cache
from math import ceil, floor, log10
from pathlib import Path
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
LEFT, TOP, FOOT = 14.0, 15.0, 17.0
BODY, CELL, SMALL, FORMULA = 9.0, 8.0, 7.5, 10.5  # points
TALLEST, BROADEST = 45, 3.0  # lines of a cell that fit on a page, mm of the broadest letter
TOTAL = "¤nnn¤"  # replaced by the number of pages; no file writes it like this
EDGE = 1.0  # mm beside a paragraph
PAD, LEAD, LINE = 1.2, 0.6, 3.7  # mm beside and above the text of a cell, and of its line
ENTRY = 4.6  # mm, one line of the contents
MM = 25.4 / 72.0  # of a point
STRIP = 39.0  # mm, height of the areas among the letters
LEAST_SCALE = 0.7  # a longer formula is set as plain text
RED, GREY, BLACK = (160, 0, 0), (80, 80, 80), (0, 0, 0)
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
_STYLES = {"": "", "B": "-Bold", "I": "-Oblique"}


class Sheet(FPDF):
    """The document: its fonts, its foot, and text made fit for them."""

    foot = ""

    def use_fonts(self):
        """Embed DejaVu Sans; only the signs used are kept."""
        for style, name in _STYLES.items():
            self.add_font("body", style, FONTS / f"DejaVuSans{name}.ttf")
        self.known = set(self.fonts["body"].cmap)
        self.set_font("body", size=BODY)
        self.alias_nb_pages(TOTAL)

    def safe(self, text, longest=LONGEST):
        """Text without control characters; signs that the font lacks as their number."""
        lines = [
            "".join(c if ord(c) in self.known else f"[U+{ord(c):04X}]" for c in line)
            for line in safe_lines(text, longest)
        ]
        return "\n".join(_left_to_right(line) for line in lines)

    def footer(self):
        """The file, the date and the page at the foot of each page."""
        self.set_y(-12)
        self.set_font("body", size=SMALL)
        self.set_text_color(*GREY)
        self.cell(150, 4, self.safe(self.foot)[:100])
        self.cell(WIDE - 150, 4, f"page {self.page_no()} of {TOTAL}", align="R")
        self.set_text_color(*BLACK)

    def words(self, text, size=BODY, style="", height=4.4, color=BLACK, indent=0.0):
        """A paragraph over the whole width; the place then is the next line's start."""
        self.set_text_color(*color)
        for line in self.lines(self.safe(text), WIDE - indent - 2 * EDGE, size, style):
            self.keep(height)
            self.line_at(LEFT + indent + EDGE, self.get_y(), height, line, size, style)
            self.set_y(self.get_y() + height)
        self.set_text_color(*BLACK)

    def lines_of(self, text, size, indent=0.0):
        """Number of lines a paragraph will take."""
        return len(self.lines(self.safe(text), WIDE - indent - 2 * EDGE, size))

    def wide(self, text, size, style=""):
        """Width of a line [mm]."""
        each = self.fonts["body" + style].cw
        return sum(each[ord(c)] for c in text) * size * MM / 1000.0

    def lines(self, text, width, size, style=""):
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
            self.set_font("body", style, size)
            self.text(x, top + 0.5 * height + 0.3 * size * MM, text)

    def keep(self, height):
        """Begin a page where less than this height is left."""
        if self.will_page_break(height):
            self.add_page()


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
    part = block.level == 2
    pdf.keep(75 if part else 32)
    pdf.ln(3 if part else 2)
    pdf.start_section(pdf.safe(block.text), level=block.level - 2, strict=False)
    pdf.words(block.text, 12 if part else 10, "B", 5.6 if part else 5.0)
    if part:
        pdf.line(LEFT, pdf.get_y() + 0.5, LEFT + WIDE, pdf.get_y() + 0.5)
    pdf.ln(1.8)


def _paragraph(pdf, block):
    lead = f"{pdf.safe(block.lead)} " if block.lead else ""
    pad = 2.0 if block.boxed else 0.0
    lines = pdf.lines_of(lead + block.text, BODY, 2 * pad + 4)
    pdf.keep(lines * 4.4 + 2 * pad)
    top = pdf.get_y()
    pdf.set_y(top + pad)
    pdf.set_left_margin(LEFT + pad)
    pdf.set_right_margin(LEFT + pad)
    pdf.set_x(LEFT + pad)
    if lead:
        pdf.set_font("body", "B", BODY)
        pdf.write(4.4, lead)
    pdf.set_font("body", "", BODY)
    pdf.write(4.4, pdf.safe(block.text))
    pdf.set_margins(LEFT, TOP)
    pdf.ln(4.4 + pad)
    if block.boxed:
        pdf.rect(LEFT, top, WIDE, pdf.get_y() - top)
    pdf.ln(2)


def _table(pdf, block):
    """A table whose headings are repeated on each page; much faster than the library's own."""
    if block.caption:
        pdf.keep(30)
        pdf.words(block.caption, 10, "B", 5.0)
        pdf.ln(0.5)
    widths = [WIDE * w / sum(block.widths) for w in block.widths]
    head = _cells(pdf, block, widths, block.columns, True)
    pdf.set_draw_color(170)
    started = False
    for cells in block.rows:
        row = _cells(pdf, block, widths, cells)
        alone = pdf.will_page_break(_height(row) + (0 if started else _height(head)))
        if alone:
            pdf.add_page()
        if alone or not started:
            _set_row(pdf, head, widths, True)
        _set_row(pdf, row, widths)
        started = True
    if not started:
        _set_row(pdf, head, widths, True)
    pdf.set_draw_color(0)
    pdf.ln(3)


def _cells(pdf, block, widths, texts, head=False):
    """(lines, style, right-set, loud) of each cell of a row."""
    cells = []
    for i, (text, width) in enumerate(zip(texts, widths, strict=True)):
        loud = not head and block.loud(i, str(text))
        style = "B" if head or loud else ""
        safe = pdf.safe(text, LONGEST_CELL if head else _room(width))
        lines = pdf.lines(safe, width - 2 * PAD, CELL, style)
        cells.append((lines, style, i in block.right, loud))
    return cells


def _height(cells):
    return max(len(lines) for lines, *_ in cells) * LINE + 2 * LEAD


def _set_row(pdf, cells, widths, head=False):
    """Draw a row at the present height, with a line above it, and go to its end."""
    top, high, left = pdf.get_y(), _height(cells), LEFT
    if head:
        pdf.set_fill_color(235)
        pdf.rect(LEFT, top, WIDE, high, style="F")
        pdf.set_fill_color(0)
    else:
        pdf.line(LEFT, top, LEFT + WIDE, top)
    for (lines, style, right, loud), width in zip(cells, widths, strict=True):
        pdf.set_text_color(*(RED if loud else BLACK))
        for n, line in enumerate(lines):
            x = left + PAD
            if right:
                x = left + width - PAD - pdf.wide(line, CELL, style)
            pdf.line_at(x, top + LEAD + n * LINE, LINE, line, CELL, style)
        left += width
    pdf.set_text_color(*BLACK)
    pdf.set_y(top + high)


def _room(width):
    """Characters that a cell of so many mm can hold, however broad, on one page."""
    return max(4, min(LONGEST_CELL, int(TALLEST * (width - 4.5) / BROADEST)))


@lru_cache(2000)
def _formula(latex):
    """(width, height with depth, depth, signs, rules) of an equation, points from its baseline."""
    with matplotlib.rc_context({"mathtext.fontset": "dejavusans"}):
        text = "$" + latex.replace("\\frac", "\\dfrac") + "$"
        return MathTextParser("path").parse(text, 72, FontProperties(size=FORMULA))


def _set_formula(pdf, formula, scale):
    """Draw the signs and rules of an equation with its top at the present height."""
    width, height, depth, signs, rules = formula
    base = pdf.get_y() + float(height - depth) * scale * MM
    left = LEFT + INDENT
    for font, size, code, *_, x, y in signs:
        name = Path(font.fname).stem.lower()
        if name not in pdf.fonts:
            pdf.add_font(name, "", font.fname)
        pdf.set_font(name, size=float(size) * scale)
        pdf.text(left + float(x) * scale * MM, base - float(y) * scale * MM, chr(code))
    for x, y, wide, high in rules:
        pdf.rect(left + float(x) * scale * MM, base - float(y + high) * scale * MM,
                 float(wide) * scale * MM, float(high) * scale * MM, style="F")  # fmt: skip
    pdf.set_y(base + float(depth) * scale * MM)


def _equations(pdf, block):
    for number, step in enumerate(block.steps, start=1):
        title = f"{number}.  {step['symbol']}, {step['meaning']}"
        formula = _formula(step["latex"]) if step["equation"] else None
        scale = min(1.0, (WIDE - INDENT) / (float(formula[0]) * MM)) if formula else 0.0
        numbers = f"with {step['numbers']}" if step["numbers"] else ""
        beside = _fits_beside(pdf, title, step["source"])
        high = float(formula[1]) * scale * MM if scale >= LEAST_SCALE else 8.0
        lines = (numbers, "" if beside else step["source"])
        pdf.keep(12 + high + 3.9 * sum(pdf.lines_of(t, CELL, INDENT) for t in lines if t))
        if beside and step["source"]:
            _beside(pdf, step["source"])
        pdf.words(title, BODY)
        if formula:
            _formula_or_text(pdf, step, formula, scale)
        if numbers:
            pdf.words(numbers, CELL, height=3.9, indent=INDENT)
        pdf.words(f"{step['symbol']} = {step['result']}", BODY, "B", indent=INDENT)
        if not beside:
            pdf.words(step["source"], SMALL, height=3.9, color=GREY, indent=INDENT)
        pdf.set_draw_color(190)
        pdf.line(LEFT, pdf.get_y() + 0.7, LEFT + WIDE, pdf.get_y() + 0.7)
        pdf.set_draw_color(0)
        pdf.ln(1.5)


def _formula_or_text(pdf, step, formula, scale):
    if scale < LEAST_SCALE:
        plain = step["equation"].replace("**", "^").replace("*", " · ")
        pdf.words(f"{step['symbol']} = {plain}", BODY, indent=INDENT)
        return
    pdf.ln(1.2)
    _set_formula(pdf, formula, scale)
    pdf.ln(0.6)


def _fits_beside(pdf, title, source):
    """True where title and source stand in one line."""
    pdf.set_font("body", size=BODY)
    wide = pdf.get_string_width(pdf.safe(title))
    pdf.set_font("body", size=SMALL)
    return wide + pdf.get_string_width(pdf.safe(source)) < WIDE - 10


def _beside(pdf, source):
    """The source at the right end of the line, leaving the place where it was."""
    y = pdf.get_y()
    pdf.set_font("body", size=SMALL)
    pdf.set_text_color(*GREY)
    pdf.set_x(LEFT)
    pdf.cell(WIDE, 4.4, pdf.safe(source), align="R")
    pdf.set_text_color(*BLACK)
    pdf.set_xy(LEFT, y)


def _figure(pdf, block):
    if block.areas:
        pdf.keep(STRIP + 8)
        _strip(pdf, dict(block.areas), block.unit_set)
        pdf.words(block.caption, CELL, height=3.9)
        pdf.ln(2)
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
    top, left, wide = pdf.get_y() + 5.5, LEFT + 0.13 * WIDE, 0.85 * WIDE
    bottom = top + 23.0

    def x(area):
        return left + wide * (log10(area) - low) / (high - low)

    pdf.set_draw_color(*_rgb(SKY))
    pdf.set_text_color(*_rgb(BLUE))
    for letter, area in LETTERS.items():
        at = x(show(area, unit_set))
        pdf.line(at, top, at, bottom)
        _centred(pdf, at, top - 4.5, letter)
    pdf.set_text_color(*BLACK)
    pdf.set_draw_color(0)
    pdf.line(left, bottom, left + wide, bottom)
    for power in range(ceil(low), floor(high) + 1):
        at = x(10.0**power)
        pdf.line(at, bottom, at, bottom + 1.2)
        _centred(pdf, at, bottom + 1.2, f"{10.0**power:,g}".replace(",", " "))
    unit = unit_text(symbol("area").display_unit(unit_set))
    _centred(pdf, left + wide / 2, bottom + 5.0, f"area, {unit} (log scale)")
    for n, (name, mark) in enumerate(_MARKS.items()):
        at = top + 23.0 * (0.6 + n) / 3.2
        pdf.set_text_color(*(BLACK if name in areas else GREY))
        pdf.line_at(left - 2.5 - pdf.wide(name, BODY), at - 2.2, 4.4, name, BODY)
        if name in areas:
            mark(pdf, x(show(areas[name], unit_set)), at)
    pdf.set_text_color(*BLACK)
    pdf.set_draw_color(0)
    pdf.set_fill_color(0)
    pdf.set_y(top - 5.5 + STRIP)


def _rgb(color):
    return tuple(bytes.fromhex(color[1:]))


def _centred(pdf, x, top, text):
    pdf.line_at(x - pdf.wide(text, BODY) / 2, top, 4.0, text, BODY)


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
    Equations: _equations, Signatures: _signatures,
}  # fmt: skip
