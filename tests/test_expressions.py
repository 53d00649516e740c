"""Equations: what may stand in one, its value, and that nothing else is ever run."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

import relieflib
from relieflib.errors import InputError
from relieflib.expressions import CONSTANTS, LONGEST, evaluate, parsed, to_latex, to_mathml
from relieflib.symbols import SYMBOLS
from relieflib.working import Step

HOSTILE = [
    "__import__('os').system('true')", "().__class__.__bases__[0].__subclasses__()",
    "sqrt.__globals__", "sqrt.__class__(1)", "(lambda: 1)()", "[x for x in (1,)]", "{1: 2}[1]",
    "(1, 2)", "W if W else 0", "W == 2", "W and 2", "not W", "~3", "+3", "5 // 2", "5 % 2",
    "1 << 99", "W @ W", "3 | 4", "'a' * 10", "b'a'", "f'{W}'", "True", "None", "...", "1j",
    "open(W)", "eval(W)", "exec(W)", "print(W)", "sqrt(*W)", "max(**W)", "max(W, key=abs)",
    "sqrt()", "(W := 3)", "W = 3", "W; W", "import os", "await W", "yield W", "W[0]", "W.real",
    "", " ", "W +", "1 2", "\0", "W\nW", "_ = W", "(" * 300 + "1" + ")" * 300, "-" * 1500 + "1",
    "1" * (LONGEST + 1), None, 5, b"W", ["W"],
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("use", [
    lambda t: evaluate(t, {"W": 2.0}), to_latex, lambda t: to_mathml("A", t), parsed,
])  # fmt: skip
def test_a_hostile_equation_is_refused_in_words(text, use):
    if use is not parsed and not isinstance(text, str):
        pytest.skip("no text: refused by parsed alone")
    with pytest.raises(InputError, match="equation"):
        use(text)


@pytest.mark.parametrize("text, words", [
    ("9**9**9**9", "no value"), ("1/0", "no value"), ("(-1)**0.5", "root of a negative"),
    ("exit", "not given"), ("W + X", "X, which is not given"), ("sqrt(1, 2, 3, 4)", "no value"),
    ("sqrt", "not given"), ("1e400 * 0 + Q", "not given"),
])  # fmt: skip
def test_what_has_no_value_is_said(text, words):
    with pytest.raises(InputError, match=words):
        evaluate(text, {"W": 2.0})


@pytest.mark.parametrize("text, value", [
    ("2 + 3*4", 14.0), ("2**3**2", 512.0), ("-2**2", -4.0), ("10 - 4 - 3", 3.0), ("8/4/2", 1.0),
    ("sqrt(16)", 4.0), ("ln(exp(2))", 2.0), ("max(1, W)", 2.0), ("min(1, W)", 1.0),
    ("abs(-W)", 2.0),
])  # fmt: skip
def test_values_by_hand(text, value):
    # arithmetic's own rules: powers from the right, all else from the left
    assert evaluate(text, {"W": 2.0}) == pytest.approx(value, rel=1e-15)


def test_arrays_and_nan_go_through():
    assert evaluate("W*sqrt(4)", {"W": np.array([1.0, 3.0])}) == pytest.approx([2.0, 6.0])
    assert math.isnan(evaluate("W + 1", {"W": math.nan}))


def test_a_step_has_no_way_round_it():
    with pytest.raises(InputError, match="no equation has"):
        Step("mass_flow", 1.0, "().__class__").evaluate()


def test_constants_are_written_by_name():
    # pi of the standard library; one psi is 6894.757293168 Pa: lb/in2 by the pound and inch's own
    # definitions, 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)2
    assert evaluate("pi/4*D**2", {"D": 2.0}) == math.pi
    psi = 0.45359237 * 9.80665 / 0.0254**2
    assert evaluate("3*PSI", {}) == pytest.approx(3 * psi, rel=1e-12)
    assert to_latex("pi/4*D**2") == r"\frac{\pi}{4} \, D^{2}"
    assert to_latex("3*PSI") == r"3 \, \mathrm{psi}"
    assert "<mi>π</mi>" in to_mathml("A", "pi*psi") and "<mi>ψ</mi>" in to_mathml("A", "pi*psi")
    assert not {s.symbol for s in SYMBOLS.values()} & set(CONSTANTS)


def test_no_working_prints_a_constant_in_figures():
    # pi, pi/4 and psi in Pa, wherever an equation is written in the package
    for path in sorted(Path(relieflib.__file__).parent.rglob("*.py")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if not line.lstrip().startswith(">>>") and path.name != "kinds.py":
                assert not re.search(r"3\.14159|0\.78539|6_?894\.7", line), (path.name, line)
