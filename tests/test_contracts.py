"""What a function refuses or warns of, told by the slip behind it."""

import threading
import warnings

import numpy as np
import pytest

from relieflib import errors, set_pressure as sp
from relieflib.causes.closed_outlet import PumpCurve, pump_load
from relieflib.devices import Device
from relieflib.errors import InputError, Quiet, ValidityNoted, ValidityWarning
from relieflib.lines import outlet
from relieflib.lines.line import Line, Part
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.steam import Steam, superheat_factor
from relieflib.orifices import flange_rating, staggered_sets
from relieflib.sizing import ReliefLoad, rated_flow, size

GAS = Gas(12e5, 313.0, molar_mass=18.0, k=1.28)
LOAD = ReliefLoad("x", 2.0, GAS)
STEAM = ReliefLoad("x", 5.0, Steam(20e5, 700.0))


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: size(LOAD, edition="seventh"), "editions 7, 9 and 10"),
        (lambda: size(LOAD, edition=8), "editions 7, 9 and 10"),
        (lambda: size(LOAD, "conventional"), "must be a Device"),
        (lambda: size(6.74, GAS), "must be a ReliefLoad"),
        (lambda: size(GAS), "must be a ReliefLoad"),
        (lambda: ReliefLoad("x", GAS, 2.0), "mass_flow"),
        (lambda: ReliefLoad("x", 2.0, "gas"), "must be a Gas"),
        (lambda: size(STEAM, edition=7), "give both the same"),
        (lambda: rated_flow(STEAM.stream, Device(), 1e-3, edition=7), "give both the same"),
        (lambda: rated_flow(GAS, "balanced", 1e-3), "must be a Device"),
        (lambda: sp.relieving_pressure(1e6, 1.1e6, role="fire supplement"), "fire=True"),
        (
            lambda: sp.relieving_pressure(1e6, 1.05e6, installation="multi"),
            "installation = 'multi'",
        ),
        (lambda: Part("pipe", "4"), "diameter = '4'"),
        (lambda: staggered_sets(1e6, 1.5), "whole number"),
        (lambda: Gas(348.0, 670e3, molar_mass=51.0, k=1.11), "swapped"),
        (lambda: Gas(670e3, "348", molar_mass=51.0, k=1.11), "temperature = '348'"),
    ],
)
def test_refused_by_its_name(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: Gas(348.0, 300.0, molar_mass=51.0, k=1.11), "kPa or bar taken for Pa"),
        (lambda: Gas(12e5, 75.0, molar_mass=51.0, k=1.11), "°C taken for K"),
        (lambda: Gas(12e5, 300.0, molar_mass=0.051, k=1.11), "kg/mol"),
        (lambda: Liquid(12e5, 0.9), "relative density"),
        (lambda: Liquid(12e5, 62.4), "lb/ft3"),
        (lambda: ReliefLoad("x", 20e3, GAS), "kg/h taken for kg/s"),
        (lambda: Device("conventional", 75.0), "psi taken for Pa"),
        (lambda: Part("pipe", 4), "nominal size"),
        (lambda: flange_rating(150, 38.0), "°C taken for K"),
        (lambda: sp.accumulation_limit(1e4), "15 psig"),
        (lambda: superheat_factor(2e5, 430.0), "KSH table"),
    ],
)
def test_warned_of_with_the_likely_slip(call, words):
    with pytest.warns(ValidityWarning, match=words):
        call()


def test_what_is_usual_passes_in_silence_arrays_and_nan_too():
    # pytest turns every ValidityWarning into an error
    Gas(np.array([12e5, np.nan]), np.array([300.0, 400.0]), molar_mass=2.016, k=1.4)
    Liquid(12e5, np.array([420.0, 998.0]))
    Steam(20e5, 490.0)
    errors.plausible(pressure=np.nan, temperature=np.array([np.nan, 293.15]))
    assert sp.accumulation_limit(15 * sp.PSI) == pytest.approx(3 * sp.PSI)
    assert np.isnan(superheat_factor(np.nan, 500.0))


def test_one_edition_for_steam_and_sizing():
    # KSH of the editions differ (API 520-I (2020) and 7th edition (2000), KSH tables): the sizing
    # of one edition takes the table of that edition, or nothing
    old = ReliefLoad("x", 5.0, Steam(20e5, 700.0, edition=7))
    new, then = size(STEAM), size(old, edition=7)
    ratio = superheat_factor(20e5, 700.0, 10) / superheat_factor(20e5, 700.0, 7)
    assert then.required_area / new.required_area == pytest.approx(ratio) != 1.0


def test_a_designation_that_no_standard_has_is_flagged():
    # API 526: P comes as 4P6 alone
    sizing, line = (
        size(LOAD, Device("conventional", 10e5)),
        Line([Part.of("pipe", "8", length=2.0)]),
    )
    words = " ".join(outlet.check(sizing, line, designation="6P8").flags)
    assert "no pair" in words and "4P6" in words
    assert "no pair" not in " ".join(outlet.check(sizing, line, designation="4P6").flags)


def test_a_line_of_the_right_size_is_silent():
    assert Line([Part.of("pipe", "4", length=2.0)]).smallest_diameter == pytest.approx(0.10226)


# ------------------------------------------------------------ pump curve, set well below MAWP
def test_a_pump_curve_is_not_carried_on_without_a_word():
    curve = PumpCurve(120.0, 100.0, 0.010)  # head 120 - 20 (q/qr)^2: 1.2 qr at 91.2 m, by hand
    assert curve.volume_flow(91.3) == pytest.approx(0.012, rel=0.01)
    with pytest.warns(ValidityWarning, match="pump's own curve"):
        curve.volume_flow(91.0)
    far = pytest.warns(ValidityWarning, match="pump's own curve")
    with far, pytest.warns(ValidityWarning, match="flows through the pump by itself"):
        pump_load(curve, 15e5, 12e5, 800.0)


def test_set_well_below_mawp():
    # by hand: 8 barg set, 10 %: 8.8 barg; 16 % of several: 9.28; MAWP 10 + 10 % is never passed;
    # API 520-I (2020), 5.4: 3 psi where it is more than 10 %
    of = sp.relieving_pressure_from_set
    assert of(8e5, 10e5, atmosphere=84e3) == pytest.approx(8.8e5 + 84e3)
    assert of(8e5, 10e5, "multiple") == pytest.approx(9.28e5 + 101325)
    assert of(10e5, 10e5) == pytest.approx(11e5 + 101325) == sp.relieving_pressure(10e5)
    assert of(20 * sp.PSI, 100 * sp.PSI) == pytest.approx(23 * sp.PSI + 101325)
    with pytest.raises(InputError, match="100% of MAWP"):
        of(10.5e5, 10e5)


def test_noted_warnings_are_those_of_this_thread_and_no_others():
    # a notebook draws in one thread while another checks: a list of one must not eat the other's
    noted, given = threading.Event(), threading.Event()

    def other():
        noted.wait(10)
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            Liquid(12e5, 0.9)
            other.found = [str(one.message) for one in caught]
        given.set()

    thread = threading.Thread(target=other)
    thread.start()
    with ValidityNoted() as outer:
        Liquid(12e5, 62.4)
        with pytest.raises(InputError), ValidityNoted() as inner:
            Gas(12e5, 75.0, molar_mass=51.0, k=1.11)
            Gas(12e5, 75.0, molar_mass=51.0, k=0.9)
            Gas(12e5, 75.0, molar_mass=51.0, k=1.11).mass_flux(13e5)
        noted.set()
        given.wait(10)
    thread.join()
    assert "lb/ft3" in outer[0] and len(outer) == 1 and "°C taken for K" in inner[0]
    assert len(other.found) == 1 and "relative density" in other.found[0]
    with pytest.warns(ValidityWarning, match="relative density"):
        Liquid(12e5, 0.9)


def test_quiet_is_over_when_it_is_left():
    with pytest.raises(InputError), Quiet(), Quiet():
        Liquid(12e5, 0.9)
        Liquid(12e5, -1.0)
    with pytest.warns(ValidityWarning, match="relative density"):
        Liquid(12e5, 0.9)
