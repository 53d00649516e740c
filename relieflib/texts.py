"""Numbers, units and foreign text as the house writes them: one way for every page and picture."""

import html
import re
from decimal import Decimal

import numpy as np

CAUTION = (
    "**Caution.** A teaching and checking aid. Relief-device sizing protects lives: decisions "
    "belong to a competent, licensed engineer under the local code, with the manufacturer's "
    "certified data."
)
LARGE = 1e10  # from here on a power of ten is easier to read than the zeros
_RAISED = str.maketrans("234", "²³⁴")


def number_text(value, figures=6, whole=False):
    """A number with so many significant figures, without a power of ten where one can do without.

    Parameters: value, number, text or None; figures; whole, True keeps every digit before the
    point, which a sheet or a page to file must not round away. Returns str: text as it is, '' for
    None, 'nan' for no number, how many for an array.
    >>> number_text(1234567.8), number_text(1234567.8, whole=True), number_text(14.503773773)
    ('1234570', '1234568', '14.5038')
    """
    if value is None or isinstance(value, str):
        return value or ""
    if not isinstance(value, float) and np.ndim(value):
        return f"[{np.size(value)} values]"
    if whole and 1.0 <= abs(value) < LARGE:
        figures = max(figures, len(f"{abs(value):.0f}"))
    text = f"{value:.{figures}g}"
    return f"{Decimal(text):f}" if "e+" in text and abs(value) < LARGE else text


def unit_text(unit):
    """A unit for print: powers raised, nothing for the dimensionless.

    Parameters: unit, str. Returns str.
    >>> unit_text("kg/(m2 s)"), unit_text("in2"), unit_text("mmH2O"), unit_text("-")
    ('kg/(m² s)', 'in²', 'mmH2O', '')
    """
    raised = re.sub(r"(?<=[a-z])[234](?![\d.])", lambda m: m[0].translate(_RAISED), unit)
    return "" if unit == "-" else raised


def with_unit(value, unit, figures=4, whole=False, space=" "):
    """Number and unit for print, '' for no number.

    Parameters: value, figures and whole as `number_text`; unit, str; space between the two.
    Returns str.
    >>> with_unit(5.72796, "in2"), with_unit(0.975, "-"), with_unit(None, "in2")
    ('5.728 in²', '0.975', '')
    """
    text, unit = number_text(value, figures, whole), unit_text(unit)
    return f"{text}{space}{unit}" if text and unit else text


def percent(share, figures=3):
    """A share as so many per cent.

    Parameters: share [-]; figures as `number_text`. Returns str.
    >>> percent(0.03), percent(1.05)
    ('3 %', '105 %')
    """
    return f"{number_text(100 * share, figures)} %"


def clean(text):
    """Text from outside without control characters, escapes or signs that hide; lines stay lines.

    Whatever is printed, shown or written passes here first, then the escape of its own way out. A
    no-break space becomes a space. Parameters: text, str. Returns str.
    >>> clean("\\x1b[2Ja\\u202eb")
    '?[2Ja?b'
    """
    text = str(text)
    if text.isprintable():
        return text
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    if text.replace("\n", "").isprintable():
        return text
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def harmless(text, longest=40):
    """Text of a file made safe to stand in a sentence: one line, short, no control characters.

    Parameters: text, str; longest, int. Returns str.
    >>> harmless("a\\x1bb" + "c" * 50, 6)
    'a?bccc...'
    """
    text = str(text)
    if len(text) <= longest and text.isprintable():
        return text.strip()
    line = clean(text[: longest + 1].strip()).replace("\n", "?")
    return line[:longest] + ("..." if len(text) > longest else "")


def html_text(text):
    """Text from outside for a page or a widget. Parameters: text. Returns str.

    >>> html_text("<b>\\x07")
    '&lt;b&gt;?'
    """
    return html.escape(clean(text))


def figure_text(text):
    """Text from outside for a picture: a dollar sign is a dollar sign, no mathematics.

    Parameters: text. Returns str.
    >>> print(figure_text("US$ 5"))
    US\\$ 5
    """
    return clean(text).replace("$", r"\$")


_LATEX = {"\\": r"\backslash ", "~": r"\sim ", "^": r"\hat{\ }", **{c: "\\" + c for c in "#$%&_{}"}}


def latex_text(text):
    """Text from outside inside an equation. Parameters: text. Returns str.

    >>> latex_text("50 % $_a")
    '50 \\\\% \\\\$\\\\_a'
    """
    return "".join(_LATEX.get(c, c) for c in clean(text))
