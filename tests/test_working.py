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
from relieflib.nozzle.two_phase import TwoPhase
from relieflib.sizing import ReliefLoad, size
from relieflib.working import Working, as_html, as_text, step

GAS, PUMP = (
    Gas(12e5, 313.0, molar_mass=18.0, k=1.28, Z=0.95),
    closed_outlet.PumpCurve(120.0, 100.0, 0.010),
)
LIQUID = Liquid(11e5, 800.0, viscosity=0.05)
COLD = TwoPhase.subcooled(11e5, 2e5, 600.0, 300.0)
UNCERTIFIED = Device("conventional", 9e5, certified=False)
WORKINGS = {
    "set pressure": set_pressure.working(1e6, 0.95e6),
    "floor": set_pressure.working(1.1e5, 1.1e5, "multiple"),
    "fire": set_pressure.working(1e6, 1e6, fire=True),
    "closed outlet": size(closed_outlet.relief_load(3.0, GAS, outflow=0.5)).working,
    "subcritical": size(ReliefLoad("x", 2.0, GAS), Device(), 9e5).working,
    "balanced": size(ReliefLoad("x", 2.0, GAS), Device("balanced", 10e5), 5.5e5).working,
    "balanced liquid": size(
        ReliefLoad("x", 9.0, LIQUID), Device("balanced", 9e5, Kc=0.9), 4e5
    ).working,
    "balanced subcooled": size(ReliefLoad("x", 9.0, COLD), Device("balanced", 10e5), 5e5).working,
    "maker's factors": size(
        ReliefLoad("x", 2.0, GAS), Device("balanced", 10e5, Kd=0.87, Kb=0.92), 5.5e5
    ).working,
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


def test_every_factor_has_its_value_and_source():
    # API 520-I (2020): Kd 0.975 in 5.6, Kb and Kw of balanced valves in 5.3, Kc 0.9 in 5.11, Kp 5.9
    for name, working in WORKINGS.items():
        last = [line for line in working if line.name == "required_area"]
        for factor in last[0].inputs if last else ():
            if factor in ("mass_flow", "mass_flux"):
                continue
            found = [line for line in working if line.name == factor]
            assert found and found[-1].source, (name, factor)
            assert np.all(found[-1].value == last[0].inputs[factor]), (name, factor)
    by = {line.name: line for line in WORKINGS["balanced"]}
    assert "curve" in by["Kb"].source and by["back_pressure_fraction"].evaluate() == pytest.approx(
        (5.5e5 - 101325) / 10e5)  # fmt: skip
    assert (
        "Kb" in by["pressure_ratio"].source and "back_pressure" not in by["pressure_ratio"].inputs
    )
    by = {line.name: line for line in WORKINGS["maker's factors"]}
    assert by["Kd"].source == by["Kb"].source == "given by the maker"
    assert "back_pressure_fraction" not in by
    by = {line.name: line for line in WORKINGS["balanced liquid"]}
    assert "5.11" in by["Kc"].source and "5.3" in by["Kw"].source
    assert "5.9" in {line.name: line for line in WORKINGS["uncertified"]}["Kp"].source
