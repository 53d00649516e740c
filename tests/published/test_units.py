"""Units against NIST SP 811, SciPy's constants and printed conversions."""

import numpy as np
import pytest
from scipy import constants as c

from relieflib import units
from relieflib.errors import InputError
from relieflib.units import from_si, to_si

# SciPy's CODATA and exact definitions
SCIPY = [
    (1, "psi", "pressure difference", c.psi), (1, "atm", "pressure difference", c.atm),
    (1, "bar", "pressure difference", c.bar),
    (1, "kg/cm2", "pressure difference", c.g * 1e4), (1, "lb/h", "mass flow", c.lb / 3600),
    (1, "gpm", "volume flow", c.gallon / 60), (1, "bbl/d", "volume flow", c.bbl / 86400),
    (1, "in2", "area", c.inch**2), (1, "ft2", "area", c.foot**2), (1, "ft", "length", c.foot),
    (1, "Btu/h", "power", c.Btu / 3600), (1, "Btu/lb", "specific energy", c.Btu / c.lb),
    (1, "kcal/kg", "specific energy", c.calorie_IT * 1e3), (1, "lbf", "force", c.lbf),
    (1, "lb/ft3", "density", c.lb / c.foot**3), (1, "gal", "volume", c.gallon),
    (1, "Btu/(lb °F)", "heat capacity", c.Btu / c.lb * 1.8),
    (1, "Btu/(h ft2)", "heat flux", c.Btu / 3600 / c.foot**2),
    (1, "Btu/(h ft2 °F)", "heat transfer coefficient", c.Btu / 3600 / c.foot**2 * 1.8),
    (1, "Btu/(h ft °F)", "thermal conductivity", c.Btu / 3600 / c.foot * 1.8),
    (1, "lb/(s ft2)", "mass flux", c.lb / c.foot**2), (1, "m3/h", "volume flow", 1 / 3600),
]  # fmt: skip


@pytest.mark.parametrize("value, unit, kind, expected", SCIPY)
def test_factors(value, unit, kind, expected):
    assert to_si(value, unit, kind) == pytest.approx(expected, rel=1e-7)


def test_columns_of_liquid():
    # NIST SP 811: conventional mmHg 133.3224 Pa, mmH2O 9.80665 Pa, inH2O 249.0889 Pa
    assert to_si(1, "mmHg", "pressure difference") == pytest.approx(133.3224, abs=5e-5)
    assert to_si(1, "mmH2O", "pressure difference") == pytest.approx(9.80665, abs=5e-6)
    assert to_si(1, "inH2O", "pressure difference") == pytest.approx(249.0889, abs=5e-5)


def test_constants():
    assert pytest.approx(c.R * 1e3, rel=1e-9) == units.GAS_CONSTANT
    assert units.GRAVITY == c.g and units.ATMOSPHERE == c.atm


# The rest by their definitions: prefixes, minutes, hours, days, 60 F/60 F and the calorie.
DEFINED = [
    ("kPa", "pressure difference", 1e3), ("MPa", "pressure difference", 1e6),
    ("mbar", "pressure difference", 100), ("kg/h", "mass flow", 1 / 3600),
    ("kg/min", "mass flow", 1 / c.minute), ("L/h", "volume flow", c.liter / c.hour),
    ("t/h", "mass flow", 1e3 / 3600), ("g/s", "mass flow", 1e-3), ("lb/s", "mass flow", c.lb),
    ("lb/min", "mass flow", c.lb / 60), ("L/min", "volume flow", 1e-3 / 60),
    ("L/s", "volume flow", 1e-3), ("ft3/h", "volume flow", c.foot**3 / 3600),
    ("ft3/min", "volume flow", c.foot**3 / 60), ("kmol/h", "standard volume flow", 1 / 3600),
    ("lbmol/h", "standard volume flow", c.lb / 3600), ("mm2", "area", 1e-6),
    ("cm2", "area", 1e-4), ("mm", "length", 1e-3), ("cm", "length", 1e-2),
    ("in", "length", c.inch), ("L", "volume", 1e-3), ("ft3", "volume", c.foot**3),
    ("bbl", "volume", c.bbl), ("g/cm3", "density", 1e3),
    ("ft3/lb", "specific volume", c.foot**3 / c.lb), ("cP", "viscosity", 1e-3),
    ("mPa s", "viscosity", 1e-3), ("lb/(ft s)", "viscosity", c.lb / c.foot),
    ("cSt", "kinematic viscosity", 1e-6), ("mm2/s", "kinematic viscosity", 1e-6),
    ("ft2/s", "kinematic viscosity", c.foot**2), ("kW", "power", 1e3), ("MW", "power", 1e6),
    ("MMBtu/h", "power", 1e6 * c.Btu / 3600), ("kcal/h", "power", 1e3 * c.calorie_IT / 3600),
    ("GJ/h", "power", 1e9 / 3600), ("kW/m2", "heat flux", 1e3), ("kJ/kg", "specific energy", 1e3),
    ("kJ/(kg K)", "heat capacity", 1e3), ("kcal/(kg K)", "heat capacity", 1e3 * c.calorie_IT),
    ("Btu in/(h ft2 °F)", "thermal conductivity", c.Btu * c.inch / 3600 / c.foot**2 * 1.8),
    ("kg/(h mm2)", "mass flux", 1e6 / 3600), ("lb/(h in2)", "mass flux", c.lb / 3600 / c.inch**2),
    ("ft/s", "velocity", c.foot), ("1/°F", "expansion coefficient", 1.8), ("t", "mass", 1e3),
    ("lb", "mass", c.lb), ("min", "time", 60), ("h", "time", 3600), ("kN", "force", 1e3),
    ("%", "dimensionless", 0.01), ("°C", "temperature difference", 1),
    ("1/°C", "expansion coefficient", 1), ("°F", "temperature difference", 1 / 1.8),
    ("°R", "temperature difference", 1 / 1.8), ("g/mol", "molar mass", 1),
    ("lb/lbmol", "molar mass", 1),
]  # fmt: skip


@pytest.mark.parametrize("unit, kind, expected", DEFINED)
def test_definitions(unit, kind, expected):
    assert to_si(1, unit, kind) == pytest.approx(expected, rel=1e-9)


def test_si_units_are_coherent():
    # SI brochure: the coherent unit of a quantity has the factor one
    for kind, unit in units.SI_UNIT.items():
        assert to_si(1.0, unit, kind) == 1.0 and from_si(1.0, unit, kind) == 1.0, kind


def test_flow_ratios():
    minute = to_si(1, "scfm", "standard volume flow") / to_si(1, "scfh", "standard volume flow")
    day = to_si(1, "MMscfd", "standard volume flow") / to_si(1, "scfh", "standard volume flow")
    assert minute == pytest.approx(60) and day == pytest.approx(1e6 / 24)


def test_temperatures():
    # definitions, by SciPy's own converter
    for unit, name in [("°C", "Celsius"), ("°F", "Fahrenheit"), ("°R", "Rankine"), ("K", "Kelvin")]:
        for value in (1.0, 100.0, 627.0):
            expected = c.convert_temperature(value, name, "Kelvin")
            assert to_si(value, unit, "temperature") == pytest.approx(expected, rel=1e-12)


def test_gauge_and_absolute():
    assert to_si(75, "psig", "pressure") == pytest.approx(75 * c.psi + c.atm)
    assert to_si(75, "psig", "gauge pressure") == pytest.approx(75 * c.psi)
    assert to_si(89.7, "psia", "gauge pressure", 14.7 * c.psi) == pytest.approx(75 * c.psi)
    assert from_si(7e5, "barg", "pressure", atmosphere=0.8e5) == pytest.approx(6.2)
    assert units.absolute(6.2e5, 0.8e5) == pytest.approx(7e5)


def test_standard_volumes():
    # API 520-I: 379.5 scf/lbmol at 60 F, 14.7 psia; 22.414 Nm3/kmol at 0 C, 101.325 kPa (CODATA)
    kmol = to_si(1.0, "lbmol/h", "standard volume flow")
    assert from_si(kmol, "scfh", "standard volume flow") == pytest.approx(379.5, abs=0.05)
    kmol = to_si(1.0, "kmol/h", "standard volume flow")
    normal = from_si(kmol, "Nm3/h", "standard volume flow")
    assert normal == pytest.approx(c.physical_constants[
        "molar volume of ideal gas (273.15 K, 101.325 kPa)"][0] * 1e3, rel=1e-7)  # fmt: skip
    ratio = from_si(kmol, "Sm3/h", "standard volume flow") / normal
    assert ratio == pytest.approx(288.15 / 273.15)


def test_specific_gravity_basis():
    # density of water at 60 F: 999.016 kg/m3, 8.3372 lb/gal (ASTM D1250)
    assert to_si(1.0, "SG", "density") / c.lb * c.gallon == pytest.approx(8.3372, abs=5e-5)


def test_saybolt():
    # ASTM D2161 through the general library chemicals 1.5.2 (viscosity_converter)
    library = [(35, 2.712429), (40, 4.249919), (60, 10.332552), (100, 20.515021),
               (200, 42.900413), (500, 107.894377), (2000, 431.739269)]  # fmt: skip
    for ssu, cst in library:
        assert units.saybolt_to_kinematic(ssu) * 1e6 == pytest.approx(cst, abs=5e-7 * cst)
    ssu = np.array([32.5, 60.0, 200.0, 2000.0, np.nan])
    back = units.kinematic_to_saybolt(units.saybolt_to_kinematic(ssu[:-1]))
    np.testing.assert_allclose(back, ssu[:-1], rtol=1e-9)
    assert np.isnan(units.saybolt_to_kinematic(ssu)[-1])
    # D2161 begins at 1.8 cSt, 32 SSU (from memory)
    assert 31.8 < units.kinematic_to_saybolt(1.8e-6) < 32.0 < units.kinematic_to_saybolt(1.83e-6)
    assert units.kinematic_to_saybolt(units.saybolt_to_kinematic(32.0)) == pytest.approx(32.0)
    for bad in (
        lambda: units.kinematic_to_saybolt(1.79e-6),
        lambda: units.saybolt_to_kinematic(31.9),
    ):
        with pytest.raises(InputError, match="begin at"):
            bad()


def test_flow_coefficients():
    # IEC 60534-1: Kv/Cv = 0.865
    assert to_si(100, "Cv", "flow coefficient") == pytest.approx(86.5)


@pytest.mark.parametrize("text, name", [
    ("PSIG", "psig"), ("bar(g)", "barg"), ("bar g", "barg"), ("kPa abs", "kPaa"),
    ("kg/cm² g", "kg/cm2g"), ("lb/hr", "lb/h"), ("in²", "in2"), ("degC", "°C"), ("MPaa", "MPaa"),
    ("Btu/h", "Btu/h"), ("%", "%"), ("", "-"), ("cst", "cSt"), ("USGPM", "gpm"), ("mm2", "mm2"),
    ("psi gauge", "psig"), ("NM3/H", "Nm3/h"), ("SSU", "SSU"),
])  # fmt: skip
def test_spellings(text, name):
    assert units.unit_name(text) == name


@pytest.mark.parametrize("call, words", [
    (lambda: units.unit_name("furlong"), "not known"),
    (lambda: to_si(1, "psi", "pressure"), "say gauge or absolute"),
    (lambda: to_si(1, "bar", "gauge pressure"), "'barg' or 'bara'"),
    (lambda: to_si(1, "psig", "mass flow"), "does not measure mass flow"),
    (lambda: to_si(-300, "°C", "temperature"), "absolute zero"),
    (lambda: to_si(-2, "barg", "pressure"), "absolute zero"),
    (lambda: to_si("1,5", "bara", "pressure"), "must be a number"),
    (lambda: units.units_of("colour"), "not known"),
    (lambda: units.absolute(-2e5), "absolute zero"),
    (lambda: units.absolute(1e5, 0.0), "atmosphere"),
    (lambda: units.parse_heading("set [furlong]"), "not known"),
    (lambda: units.saybolt_to_kinematic(20.0), "begin at 32"),
])  # fmt: skip
def test_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_every_unit_round_trips():
    for kind in units.SI_UNIT:
        for unit in units.units_of(kind):
            value = 137.5
            back = from_si(to_si(value, unit, kind), unit, kind)
            assert back == pytest.approx(value, rel=1e-9), (kind, unit)
            assert units.unit_name(unit) == unit


# what offices write, by SciPy's constants and definitions; one of each in its unit, as read
@pytest.mark.parametrize("words, kind, expected", [
    ("Kgs/hr", "mass flow", 1 / c.hour), ("MT/hr", "mass flow", 1e3 / c.hour),
    ("t/hr", "mass flow", 1e3 / c.hour), ("LPH", "volume flow", c.liter / c.hour),
    ("centipoise", "viscosity", 1e-3), ("centistokes", "kinematic viscosity", 1e-6),
    ("lb/cu.ft", "density", c.lb / c.foot**3), ("lbs/ft3", "density", c.lb / c.foot**3),
    ("kg/l", "density", 1e3), ("kg/dm3", "density", 1e3), ("t/m3", "density", 1e3),
    ("sq. inch", "area", c.inch**2), ("lbf/in2", "pressure difference", c.psi),
    ("lbf/in2 g", "gauge pressure", c.psi), ("lbf/in2 a", "pressure", c.psi),
    ("mm WC", "pressure difference", c.g), ("mmWCg", "gauge pressure", c.g),
    ("in WC", "pressure difference", 249.0889), ("Celsius", "temperature", 274.15),
    ("Fahrenheit", "temperature", 255.927_778), ("Kelvin", "temperature", 1.0),
])  # fmt: skip
def test_spellings_of_offices(words, kind, expected):
    assert to_si(1, words, kind) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("words", ["TPH", "tph", "ton/h", "tons/h", "TON/HR", "CFM", "ata"])
def test_what_the_trade_means_in_two_ways_is_asked(words):
    with pytest.raises(InputError, match="may be"):
        units.unit_name(words)
