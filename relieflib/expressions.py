"""The equation of a working as it is printed: one walk of its tree, LaTeX or MathML at the leaves.

An equation is an expression that a calculator can evaluate: `W / (Kd * Kb * Kc * G)`. Where a
bracket stands is decided here alone; a `Marks` says how each form is written.
"""

import ast
import html
import math
import operator
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from relieflib.errors import InputError
from relieflib.kinds import PSI
from relieflib.symbols import latex_of

_LEVEL = {ast.Add: 1, ast.Sub: 1, ast.Mult: 2, ast.Div: 2, ast.Pow: 4}
_OPERATION = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.Pow: operator.pow,
}  # fmt: skip
FUNCTIONS = {"sqrt": np.sqrt, "ln": np.log, "exp": np.exp, "max": max, "min": min, "abs": abs}
CONSTANTS = {"pi": math.pi, "PSI": PSI}  # PSI: one psi in Pa
LONGEST = 2000  # characters of an equation


@dataclass(frozen=True)
class Marks:
    """How a markup writes a name, a number, a call, a bracket, a fraction, a power and signs.

    slope, for a fraction within a power: function of two texts; None sets it as any other.
    """

    name: Callable
    number: Callable
    call: Callable
    bracket: Callable
    fraction: Callable
    power: Callable
    signs: dict
    slope: Callable | None = None


def printed(expression, marks):
    """An expression in the markup of `marks`.

    Parameters: expression, str; marks, `Marks`. Returns str. Raises InputError when it can't be
    read or has a part that no equation has.
    """
    return _node(parsed(expression), marks)


def parsed(expression):
    """The tree of an expression that holds nothing but what an equation has.

    Parameters: expression, str. Returns an `ast` node of numbers, names, + - * / **, a leading
    minus and calls of `FUNCTIONS`; a name may be one of `CONSTANTS`. Raises
    InputError for anything else, and never runs a part.
    """
    said = repr(expression)[:60]
    if not isinstance(expression, str) or len(expression) > LONGEST:
        raise InputError(f"equation {said}: must be a text of {LONGEST} characters at most")
    try:
        tree = ast.parse(expression, mode="eval").body
        _check(tree)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"equation {said} can't be read") from None
    return tree


def _check(node):
    """Refuse a part that no equation has."""
    if isinstance(node, ast.BinOp) and type(node.op) in _OPERATION:
        parts = [node.left, node.right]
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        parts = [node.operand]
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        parts = node.args
        if node.func.id not in FUNCTIONS or node.keywords or not parts:
            raise InputError(f"equation calls {node.func.id}: use {', '.join(FUNCTIONS)}")
    elif isinstance(node, ast.Name) or type(getattr(node, "value", None)) in (int, float):
        parts = []
    else:
        raise InputError(f"equation has a part that no equation has: {type(node).__name__}")
    for part in parts:
        _check(part)


def evaluate(expression, names):
    """Value of an expression, as a calculator gives it.

    Parameters: expression, str; names, {symbol: number or array}. Returns float or array. Raises
    InputError for a part that no equation has, an unknown name, or what has no value.
    >>> evaluate("W / (Kd * G)", {"W": 3.9, "Kd": 0.975, "G": 2000.0})
    0.002
    """
    try:
        value = _value(parsed(expression), names)
    except (ArithmeticError, TypeError) as error:
        raise InputError(f"equation '{expression}' has no value: {error}") from None
    if np.iscomplexobj(value):
        raise InputError(f"equation '{expression}' has no value: a root of a negative number")
    return value


def _value(node, names):
    if isinstance(node, ast.BinOp):
        left, right = _value(node.left, names), _value(node.right, names)
        return _OPERATION[type(node.op)](left, right)
    if isinstance(node, ast.UnaryOp):
        return -_value(node.operand, names)
    if isinstance(node, ast.Call):
        return FUNCTIONS[node.func.id](*(_value(part, names) for part in node.args))
    if isinstance(node, ast.Constant):
        return float(node.value)
    if node.id in CONSTANTS:
        return CONSTANTS[node.id]
    if node.id not in names:
        raise InputError(f"equation has {node.id}, which is not given")
    return names[node.id]


def _node(node, marks):
    if isinstance(node, ast.BinOp):
        return _binary(node, marks)
    if isinstance(node, ast.UnaryOp):
        return marks.signs["minus"] + _wrapped(node.operand, 2, marks)
    if isinstance(node, ast.Call):
        return marks.call(node.func.id, [_node(a, marks) for a in node.args])
    if isinstance(node, ast.Name):
        return marks.name(node.id)
    return marks.number(node.value)


def _wrapped(node, level, marks):
    text = _node(node, marks)
    low = isinstance(node, ast.BinOp) and _LEVEL[type(node.op)] < level
    return marks.bracket(text) if low or isinstance(node, ast.UnaryOp) else text


def _binary(node, marks):
    left, right, kind = node.left, node.right, type(node.op)
    if kind is ast.Div:
        return marks.fraction(_node(left, marks), _node(right, marks))
    if kind is ast.Pow:
        base = _node(left, marks)
        plain = isinstance(left, ast.Name | ast.Constant)
        return marks.power(base if plain else marks.bracket(base), _exponent(right, marks))
    sign = "times" if kind is ast.Mult and isinstance(right, ast.Constant) else kind
    level = _LEVEL[kind]
    lead, tail = _wrapped(left, level, marks), _wrapped(right, level + (kind is ast.Sub), marks)
    return lead + marks.signs[sign] + tail


def _exponent(node, marks):
    """A fraction up there is set in one line where the markup has a way: k/(k - 1)."""
    if marks.slope and isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div):
        return marks.slope(_wrapped(node.left, 2, marks), _wrapped(node.right, 4, marks))
    return _node(node, marks)


def to_text(expression):
    """An expression as a person types it: powers by ^, the unit psi in small letters.

    Parameters: expression, str. Returns str.
    >>> to_text("max(0.1*MAWP, 3*PSI)**2")
    'max(0.1*MAWP, 3*psi)^2'
    """
    return expression.replace("**", "^").replace("PSI", "psi")


# --- LaTeX ----------------------------------------------------------------------------------


_PRINTED = {"PSI": r"\mathrm{psi}"}


def _latex_call(name, parts):
    inside = ", ".join(parts)
    if name == "sqrt":
        return rf"\sqrt{{{inside}}}"
    return ("abs" if name == "abs" else "\\" + name) + rf"\left({inside}\right)"


LATEX = Marks(
    name=lambda name: _PRINTED.get(name) or latex_of(name), number=str, call=_latex_call,
    bracket=lambda text: rf"\left({text}\right)",
    fraction=lambda over, under: rf"\frac{{{over}}}{{{under}}}",
    power=lambda base, exponent: rf"{base}^{{{exponent}}}",
    signs={"minus": "-", "times": r" \times ", ast.Add: " + ", ast.Sub: " - ", ast.Mult: r" \, "},
)  # fmt: skip


def to_latex(expression):
    """LaTeX of an expression written for a calculator.

    Parameters: expression, str. Returns str. Raises InputError when it can't be read.
    >>> to_latex("P1 * sqrt(M / (Z * R * T1))")
    'P_{1} \\\\, \\\\sqrt{\\\\frac{M}{Z \\\\, R \\\\, T_{1}}}'
    """
    return printed(expression, LATEX)


# --- MathML ---------------------------------------------------------------------------------


def _math_name(symbol):
    """One symbol, its head and what stands below it, split as in LaTeX."""
    if symbol == "PSI":
        return "<mi>psi</mi>"
    latex = latex_of(symbol).replace("\\mathrm{", "").rstrip("}")
    head, _, tail = latex.partition("_{")
    if head.startswith("\\"):
        case, letter = ("SMALL" if head[1].islower() else "CAPITAL"), head[1:].upper()
        head = unicodedata.lookup(f"GREEK {case} LETTER {letter.replace('LAMBDA', 'LAMDA')}")
    head = f"<mi>{html.escape(head)}</mi>"
    return f"<msub>{head}<mtext>{html.escape(tail)}</mtext></msub>" if tail else head


def _row(text):
    return f"<mrow>{text}</mrow>"


def _math_call(name, parts):
    inside = "<mo>,</mo>".join(parts)
    if name == "sqrt":
        return f"<msqrt>{inside}</msqrt>"
    return f"<mi>{name}</mi><mo>(</mo>{inside}<mo>)</mo>"


MATHML = Marks(
    name=_math_name, number=lambda value: f"<mn>{value}</mn>", call=_math_call,
    bracket=lambda text: f"<mo>(</mo>{text}<mo>)</mo>",
    fraction=lambda over, under: f"<mfrac>{_row(over)}{_row(under)}</mfrac>",
    power=lambda base, exponent: f"<msup>{_row(base)}{_row(exponent)}</msup>",
    signs={"minus": "<mo>−</mo>", "times": "<mo>×</mo>", ast.Add: "<mo>+</mo>",
           ast.Sub: "<mo>−</mo>", ast.Mult: "<mo>⋅</mo>"},
    slope=lambda over, under: f"{over}<mo>/</mo>{under}",
)  # fmt: skip


def to_mathml(symbol, expression):
    """A whole equation as MathML, which browsers set without a script.

    Parameters: symbol, str; expression in symbols. Returns str, one `math` element. Raises
    InputError when it can't be read.
    >>> to_mathml("A", "W / G").count("<mfrac>")
    1
    """
    plain = html.escape(f"{symbol} = {to_text(expression)}")
    return (
        f'<math displaystyle="true" alttext="{plain}"><mrow>{_math_name(symbol)}<mo>=</mo>'
        f"{printed(expression, MATHML)}</mrow></math>"
    )
