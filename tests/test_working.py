"""A working can be followed with a calculator: every equation gives its value."""

import numpy as np
import pytest

from relieflib import set_pressure
from relieflib.causes import closed_outlet
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.expressions import to_latex
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.steam import Steam
from relieflib.sizing import ReliefLoad, size
from relieflib.working import Working, as_html, as_text, step

GAS, PUMP = (
    Gas(12e5, 313.0, molar_mass=18.0, k=1.28, Z=0.95),
    closed_outlet.PumpCurve(120.0, 100.0, 0.010),
)
LIQUID = Liquid(11e5, 800.0, viscosity=0.05)
UNCERTIFIED = Device("conventional", 9e5, certified=False)
WORKINGS = {
    "set pressure": set_pressure.working(1e6, 0.95e6),
    "floor": set_pressure.working(1e5, 1e5, "multiple"),
    "fire": set_pressure.working(1e6, 1e6, fire=True),
    "closed outlet": size(closed_outlet.relief_load(3.0, GAS, outflow=0.5)).working,
    "subcritical": size(ReliefLoad("x", 2.0, GAS), Device(), 9e5).working,
    "balanced": size(ReliefLoad("x", 2.0, GAS), Device("balanced", 10e5), 5.5e5).working,
    "pump": size(closed_outlet.pump_load(PUMP, 4.5e5, 12e5, 800.0)).working,
    "viscous": size(ReliefLoad("x", 9.0, LIQUID), Device("conventional", 9e5)).working,
    "uncertified": size(ReliefLoad("x", 9.0, LIQUID), UNCERTIFIED).working,
    "steam": size(ReliefLoad("x", 5.0, Steam(12e6))).working,
    "superheated": size(ReliefLoad("x", 5.0, Steam(2e6, 600.0))).working,
    "disk": size(ReliefLoad("x", 2.0, GAS), Device("disk")).working,
    "arrays": size(ReliefLoad("x", np.array([1.0, 2.0]), GAS)).working,
}


@pytest.mark.parametrize("name", WORKINGS)
def test_each_equation_gives_its_value(name):
    working = WORKINGS[name]
    assert len(working) > 1
    for line in working:
        for index in range(2 if name == "arrays" else 1):
            at = line.at(index)
            if at.equation:
                assert at.evaluate() == pytest.approx(at.value, rel=1e-7), (
                    at
                )  # constants show 9 digits
                assert at.source or name == "pump", at


@pytest.mark.parametrize("name", WORKINGS)
@pytest.mark.parametrize("unit_set", ["SI", "US"])
def test_renders(name, unit_set):
    text, page = as_text(WORKINGS[name], unit_set), as_html(WORKINGS[name], unit_set)
    assert "nan" not in page or name == "disk"
    for line in WORKINGS[name]:
        assert line.meaning in text and line.latex.split(" = ")[0] in page


def test_text_is_escaped():
    page = as_html(Working([step("mass_flow", 1.0, source="<script>alert(1)</script>")]))
    assert "<script>" not in page and "&lt;script&gt;" in page


def test_latex():
    assert to_latex("(2/(k + 1))**(k/(k - 1))") == (
        r"\left(\frac{2}{k + 1}\right)^{\frac{k}{k - 1}}")  # fmt: skip
    assert to_latex("a - (b - c)") == r"a - \left(b - c\right)"
    assert to_latex("max(W_in - W_out, 0)") == r"\max\left(W_{in} - W_{out}, 0\right)"
    with pytest.raises(InputError, match="can't be read"):
        to_latex("a +")
    with pytest.raises(InputError, match="not in the table"):
        step("colour", 1.0)
