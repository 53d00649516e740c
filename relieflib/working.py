"""The trail of a calculation: each number with its equation, inputs, unit and source.

An equation is written once, as an expression that a calculator (and a test) can evaluate in SI:
`W / (Kd * Kb * Kc * G)`. The rendered LaTeX (`expressions`) and the plain text both come from it.
"""

import html
from dataclasses import dataclass, field

import numpy as np

from relieflib.expressions import CONSTANTS, evaluate, to_latex, to_text
from relieflib.symbols import SYMBOLS, latex_of, symbol
from relieflib.texts import number_text
from relieflib.units import ATMOSPHERE


@dataclass(frozen=True)
class Step:
    """One line of a working: quantity name, equation, inputs by name, SI value and source."""

    name: str
    value: object
    equation: str = ""
    inputs: dict = field(default_factory=dict)
    source: str = ""

    @property
    def symbol(self):
        """Symbol as written in equations."""
        return symbol(self.name).symbol

    @property
    def meaning(self):
        """Meaning in words."""
        return symbol(self.name).meaning

    @property
    def unit(self):
        """SI unit."""
        return symbol(self.name).unit

    @property
    def latex(self):
        """LaTeX of the whole line, symbol = equation."""
        head = latex_of(self.symbol)
        return f"{head} = {to_latex(self.equation)}" if self.equation else head

    @property
    def numbers(self):
        """The inputs with their SI values, for a calculator."""
        given = {_symbol_of(n): v for n, v in self.inputs.items()}
        if "PSI" in self.equation:
            given["psi"] = CONSTANTS["PSI"]
        return ", ".join(f"{name} = {number_text(v, whole=True)}" for name, v in given.items())

    def evaluate(self):
        """Value of the equation with its inputs, in SI; what a checker's calculator gives."""
        names = {_symbol_of(n): v for n, v in self.inputs.items()}
        return evaluate(self.equation, names)

    def at(self, index):
        """The same step for one element of array results."""

        def pick(value):
            array = np.asarray(value)
            return array.flat[min(index, array.size - 1)].item() if array.ndim else value

        return Step(
            self.name,
            pick(self.value),
            self.equation,
            {n: pick(v) for n, v in self.inputs.items()},
            self.source,
        )


def step(name, value, equation="", source="", **inputs):
    """One `Step`; inputs by their names in the table of symbols, in SI.

    Parameters: name, str; value, number or array; equation, expression in the symbols of the
    inputs; source, standard and clause; inputs, numbers or arrays. Returns Step.
    Raises InputError for a name that is not in the table.
    >>> s = step("required_area", 2e-3, "W / (Kd * G)", "API 520-I", mass_flow=3.9, Kd=0.975,
    ...          mass_flux=2000.0)
    >>> round(s.evaluate(), 6), s.latex
    (0.002, 'A = \\\\frac{W}{K_{d} \\\\, G}')
    """
    for known in (name, *inputs):
        symbol(known)
    return Step(name, value, equation, inputs, source)


def _symbol_of(name):
    return SYMBOLS[name].symbol


def _with(value, unit, figures):
    """Number and unit as a calculator's user types them."""
    return f"{number_text(value, figures, whole=True)} {'' if unit == '-' else unit}".rstrip()


def table(working, unit_set="SI", index=0, atmosphere=ATMOSPHERE):
    """Rows of a working for a table: symbol, meaning, equation, numbers, result, source.

    Parameters: working, list of Step; unit_set 'SI' or 'US'; index of the element shown when
    results are arrays; atmosphere [Pa]. Returns a list of dicts of str. The result stands in SI
    and in the display unit of the set. Raises InputError for an unknown set.
    """
    rows = []
    for line in (s.at(index) for s in working):
        quantity = symbol(line.name)
        value, unit = line.value, quantity.display_unit(unit_set)
        if not isinstance(value, str):
            value = quantity.show(value, unit_set, atmosphere)
        rows.append({
            "symbol": line.symbol, "meaning": line.meaning, "equation": line.equation,
            "latex": line.latex, "numbers": line.numbers,
            "SI": _with(line.value, line.unit, 6), "result": _with(value, unit, 5),
            "source": line.source,
        })  # fmt: skip
    return rows


def as_text(working, unit_set="SI", index=0, atmosphere=ATMOSPHERE):
    """A working as plain text, one block a step, to read or to file without a notebook.

    Parameters as `table`. Returns str.
    >>> print(as_text([step("mass_flow", 1.0, source="given")]))
    W  mass flow to be relieved
        = 1 kg/s = 3600 kg/h  [given]
    """
    lines = []
    for row in table(working, unit_set, index, atmosphere):
        lines.append(f"{row['symbol']}  {row['meaning']}")
        if row["equation"]:
            lines.append(f"    = {to_text(row['equation'])}")
            lines.append(f"    with {row['numbers']}")
        both = row["SI"] if row["SI"] == row["result"] else f"{row['SI']} = {row['result']}"
        lines.append(f"    = {both}" + (f"  [{row['source']}]" if row["source"] else ""))
    return "\n".join(lines)


class Working(list):
    """A list of `Step` that shows itself as a table in a notebook and as text elsewhere."""

    def __add__(self, other):
        return Working([*self, *other])

    def _repr_html_(self):
        return as_html(self)

    def __repr__(self):
        return as_text(self)


def as_html(working, unit_set="SI", index=0, atmosphere=ATMOSPHERE):
    """A working as an HTML table; equations as LaTeX between dollar signs, for a notebook.

    Parameters as `table`. Returns str; every text is escaped.
    """
    head = "<tr><th>symbol</th><th>meaning</th><th>equation and numbers (SI)</th><th>result</th>"
    body = []
    for row in table(working, unit_set, index, atmosphere):
        e = {k: html.escape(v) for k, v in row.items()}
        middle = f"${row['latex']}$<br><small>{e['numbers']}</small>" if row["equation"] else ""
        result = e["SI"] if e["SI"] == e["result"] else f"{e['SI']}<br><b>{e['result']}</b>"
        source = f"<br><small>{e['source']}</small>" if e["source"] else ""
        body.append(
            f"<tr><td>${latex_of(row['symbol'])}$</td>"
            f"<td style='text-align:left'>{e['meaning']}{source}</td>"
            f"<td style='text-align:left'>{middle}</td>"
            f"<td style='text-align:right'>{result}</td></tr>"
        )
    return f"<table>{head}</tr>{''.join(body)}</table>"
