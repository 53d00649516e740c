"""The panel: what a hand does in the browser, what a cell does, and what must never change."""

import io
import json
import threading
import warnings
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from relieflib.errors import InputError, ValidityWarning, refuse, warn_outside
from relieflib.notebook.panel import Panel, choice, quantity, shown, switch
from relieflib.nozzle.gas import Gas
from relieflib.report import figures
from relieflib.symbols import symbol
from relieflib.units import from_si, to_si


class Nozzle:
    """A panel over an ideal-gas nozzle that counts its computations and can be made to fail."""

    def __init__(self, **start):
        self.calls, self.fail = [], {}
        at = {"set_pressure_gauge": 10e5, "temperature": 350.0, "back_pressure": 101_325.0} | start
        self.panel = Panel(
            [
                quantity("set_pressure_gauge", at["set_pressure_gauge"], 2e5, 50e5),
                quantity("temperature", at["temperature"], 250.0, 600.0, label="gas temperature"),
                quantity("back_pressure", at["back_pressure"], 0.0, 20e5),
                quantity("Z", 0.9, 0.7, 1.05),
                choice("kind", ["conventional", "balanced"]),
                switch("fire", label="exterior fire"),
            ],
            self.compute, figures.build_flux_against_back_pressure, self.update, self.table,
        )  # fmt: skip

    def compute(self, set_pressure_gauge, temperature, back_pressure, Z, kind, fire):
        self.calls.append((set_pressure_gauge, temperature, back_pressure, Z, kind, fire))
        self._fail("compute")
        stream = Gas((1.21 if fire else 1.1) * set_pressure_gauge + 101_325.0, temperature,
                     molar_mass=44.1, k=1.13, Z=Z)  # fmt: skip
        return {"stream": stream, "back_pressure": back_pressure, "kind": kind,
                "mass_flux": stream.mass_flux(back_pressure)}  # fmt: skip

    def update(self, artists, result, unit_set):
        self._fail("update")
        return figures.update_flux_against_back_pressure(artists, result, unit_set)

    def table(self, result, unit_set):
        self._fail("table")
        return [("flux", shown("mass_flux", result["mass_flux"], unit_set)),
                ("kind", result["kind"])]  # fmt: skip

    def _fail(self, where):
        if where in self.fail:
            raise self.fail[where]

    def move(self, name, position):
        self.panel.controls[name].slider.value = position

    def type(self, name, text):
        self.panel.controls[name].entry.value = text

    def click(self, unit_set):
        self.panel._units.value = unit_set


@pytest.fixture
def nozzle():
    return Nozzle()


def pixels(panel):
    return np.asarray(Image.open(io.BytesIO(panel._image.value)).convert("L"), dtype=float)


def seen(panel):
    """All that a user sees, to compare before and after."""
    texts = [getattr(c, "entry", c.caption).value for c in panel.controls.values()]
    return (panel.values, panel.unit_set, texts, panel._message.value, panel._numbers.value,
            panel._image.value, panel._image.tooltip)  # fmt: skip


# ---------------------------------------------------------------- sliders, entries, limits
def test_slider_moves_number_and_picture(nozzle):
    before = seen(nozzle.panel)
    control = nozzle.panel.controls["set_pressure_gauge"]
    nozzle.move("set_pressure_gauge", control.slider.max)
    assert nozzle.panel.values["set_pressure_gauge"] == 50e5 and control.entry.value == "50"
    after = seen(nozzle.panel)
    assert after[4] != before[4] and after[5] != before[5] and nozzle.panel.words == ""


def test_entry_moves_slider(nozzle):
    control = nozzle.panel.controls["set_pressure_gauge"]
    nozzle.type("set_pressure_gauge", " 20 ")
    assert nozzle.panel.values["set_pressure_gauge"] == 20e5
    assert control.slider.value == round((20 - control._first) / control._step_shown)
    assert control.entry.value == "20"


def test_typed_in_US_units_means_what_it_says(nozzle):
    nozzle.click("US")
    nozzle.type("set_pressure_gauge", "150")
    nozzle.type("temperature", "200")
    assert nozzle.panel.values["set_pressure_gauge"] == to_si(150, "psig", "gauge pressure")
    assert nozzle.panel.values["temperature"] == to_si(200, "°F", "temperature")


@pytest.mark.parametrize("unit_set", ["SI", "US"])
def test_slider_stops_at_tidy_numbers_inside_the_limits(nozzle, unit_set):
    nozzle.click(unit_set)
    for name in ("set_pressure_gauge", "temperature", "back_pressure", "Z"):
        control = nozzle.panel.controls[name]
        for position in (0, control.slider.max // 2, control.slider.max):
            nozzle.move(name, position)
            assert nozzle.panel.words == "", (name, position)
            assert control.low <= control.value <= control.high
            assert len(control.entry.value.replace(".", "").strip("-0")) <= 4


def test_a_position_that_is_only_shown_changes_nothing(nozzle):
    # 76.85 °C lies between two positions: the slider shows the nearest, the value stays
    control = nozzle.panel.controls["temperature"]
    assert control.value == 350.0 and control.entry.value == "76.85"
    calls = len(nozzle.calls)
    control.heard({"owner": control.entry, "new": "76.85"})  # left without a change
    control.write()
    assert control.value == 350.0 and len(nozzle.calls) == calls


def test_the_number_on_show_typed_again_keeps_every_bit():
    n = Nozzle(set_pressure_gauge=1_000_000.3)
    assert n.panel.controls["set_pressure_gauge"].entry.value == "10"
    n.type("set_pressure_gauge", "10.0")
    assert n.panel.values["set_pressure_gauge"] == 1_000_000.3
    n.type("set_pressure_gauge", "10.1")
    n.type("set_pressure_gauge", "10")
    assert n.panel.values["set_pressure_gauge"] == 10e5


def test_a_limit_typed_as_it_is_shown_is_the_limit(nozzle):
    nozzle.click("US")
    for text in ("725.2", "725.189"):  # 50 bar is 725.1887 psi, shown as 725.2
        nozzle.type("set_pressure_gauge", "100")
        nozzle.type("set_pressure_gauge", text)
        assert nozzle.panel.words == "" and nozzle.panel.values["set_pressure_gauge"] == 50e5


# ---------------------------------------------------------------- unit sets
@pytest.mark.parametrize("start", [10e5 / 3, 999_999.999_999_9, 517_106.8, 2e5, 50e5])
def test_switching_units_keeps_every_bit(start):
    n = Nozzle(set_pressure_gauge=start, temperature=273.15 + 100 / 3)
    before, calls = n.panel.values, len(n.calls)
    for unit_set in ("US", "SI", "US", "SI"):
        n.click(unit_set)
        assert n.panel.values == before and n.panel.unit_set == unit_set
    assert len(n.calls) == calls, "a unit switch computes nothing"
    for control in n.panel.controls.values():  # what the browser may echo is what stands there
        control.write()
    assert n.panel.values == before


def test_units_change_what_is_shown(nozzle):
    in_si = seen(nozzle.panel)
    nozzle.click("US")
    in_us = seen(nozzle.panel)
    flux = nozzle.panel.result["mass_flux"]
    assert f"{from_si(flux, 'lb/(s ft2)', 'mass flux'):.4g} lb/(s ft²)" in in_us[4]
    assert nozzle.panel.controls["set_pressure_gauge"].entry.value == "145.038"
    assert "psig" in nozzle.panel.controls["set_pressure_gauge"].unit.value
    assert "psia" in in_us[6] and in_us[5] != in_si[5]
    nozzle.click("SI")
    assert seen(nozzle.panel) == in_si


def test_choice_and_switch_reach_compute(nozzle):
    nozzle.panel.controls["kind"].list.value = "balanced"
    nozzle.panel.controls["fire"].tick.value = True
    assert nozzle.calls[-1][-2:] == ("balanced", True)
    assert nozzle.panel.result["stream"].pressure == 1.21 * 10e5 + 101_325.0


# ---------------------------------------------------------------- errors in words
@pytest.mark.parametrize("text, words", [
    ("", "the cell is empty"), ("  ", "the cell is empty"), ("abc", "'abc' is not a number"),
    ("12,5", "decimal point"), ("1e999", "not a finite number"), ("nan", "not a finite number"),
    ("1_0", "not a number"), ("51", "takes 2 to 50 barg"), ("\N{MINUS SIGN}3", "-3 barg"),
])  # fmt: skip
def test_what_can_not_be_read_is_said_and_recovers(nozzle, text, words):
    panel, before = nozzle.panel, seen(nozzle.panel)
    nozzle.type("set_pressure_gauge", text)
    assert words in panel.words and "set pressure" in panel.words
    assert "Out of date" in panel._message.value and panel._image.tooltip.startswith("Out of date")
    assert panel.values == before[0], "what is meant stays until a good value comes"
    live, dim = np.asarray(Image.open(io.BytesIO(before[5])).convert("L"), float), pixels(panel)
    inked = live < 200
    assert dim[inked].mean() > live[inked].mean() + 60, "the picture is not dimmed"
    assert "out of date" in panel._numbers.value
    assert panel.controls["set_pressure_gauge"].entry.value == text, "the reader's text stays"
    nozzle.type("set_pressure_gauge", "10")
    assert seen(panel) == before


def test_another_control_does_not_hide_an_unreadable_text(nozzle):
    nozzle.type("set_pressure_gauge", "abc")
    nozzle.type("temperature", "100")
    assert "'abc' is not a number" in nozzle.panel.words
    nozzle.move("set_pressure_gauge", 30)
    assert nozzle.panel.words == "" and nozzle.panel.values["temperature"] == 373.15


def test_impossible_combination_in_words_and_units_on_show(nozzle):
    nozzle.click("US")
    nozzle.type("back_pressure", "200")
    assert "absolute back pressure at the valve outlet = 200 psia" in nozzle.panel.words
    assert "flow would reverse" in nozzle.panel.words and "fault" not in nozzle.panel.words
    nozzle.type("set_pressure_gauge", "400")
    assert nozzle.panel.words == ""


@pytest.mark.parametrize("where", ["compute", "update", "table"])
def test_a_fault_is_shown_and_recovers(nozzle, where):
    nozzle.fail[where] = ZeroDivisionError("float division <by> zero")
    nozzle.type("temperature", "120")
    assert nozzle.panel.words == "fault: ZeroDivisionError: float division <by> zero"
    assert "&lt;by&gt;" in nozzle.panel._message.value
    del nozzle.fail[where]
    nozzle.type("temperature", "121")
    assert nozzle.panel.words == "" and nozzle.panel.result["stream"].temperature == 394.15


def test_validity_warning_is_a_note_and_the_picture_stays_live(nozzle):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        nozzle.type("Z", "0.75")
    assert nozzle.panel.words == "" and "0.8 to 1.1" in nozzle.panel.notes[0]
    assert (
        "Note" in nozzle.panel._message.value and "out of date" not in nozzle.panel._numbers.value
    )
    nozzle.click("US")
    assert len(nozzle.panel.notes) == 1, "the note outlives a unit switch, once"
    nozzle.type("Z", "0.9")
    assert nozzle.panel.notes == [] and nozzle.panel._message.value == ""


def test_other_warnings_go_on_their_way(nozzle):
    def compute(temperature):
        warnings.warn("iteration stopped early", RuntimeWarning, stacklevel=2)
        return temperature

    with pytest.warns(RuntimeWarning, match="stopped early"):
        Panel([quantity("temperature", 300.0, 200.0, 400.0)], compute, lambda f, r, u: {},
              lambda a, r, u: "A page.", lambda r, u: [])  # fmt: skip


def test_every_text_is_escaped():
    evil = "<script>alert(1)</script>"
    panel = Panel(
        [quantity("temperature", 300.0, 200.0, 400.0, label=evil),
         choice("kind", [evil, "b"], label=evil), switch("fire", label=evil)],
        lambda **v: v, lambda f, r, u: {}, lambda a, r, u: "A page.",
        lambda r, u: [(evil, r["kind"])],
    )  # fmt: skip
    panel.controls["temperature"].entry.value = evil
    html = [panel._numbers.value, panel._message.value]
    html += [c.caption.value for c in panel.controls.values()]
    assert not any("<script" in h for h in html) and all("&lt;script" in h for h in html)


# ---------------------------------------------------------------- set
def test_set_takes_SI_and_draws(nozzle):
    nozzle.panel.set(set_pressure_gauge=20e5, fire=True)
    assert nozzle.panel.result["stream"].pressure == pytest.approx(1.21 * 20e5 + 101_325.0)
    assert nozzle.panel.controls["set_pressure_gauge"].entry.value == "20"


@pytest.mark.parametrize("values, words", [
    ({"temperature": 601.0}, "takes 250 to 600 K"), ({"nope": 1.0}, "the panel has"),
    ({"temperature": float("nan")}, "must be one number"), ({"temperature": "warm"}, "a number"),
    ({"temperature": [300.0, 310.0]}, "must be one number"), ({"kind": "pilot"}, "use one of"),
    ({"fire": 1}, "True or False"), ({"back_pressure": 20e5}, "flow would reverse"),
    ({"temperature": 400.0, "back_pressure": 20e5}, "flow would reverse"),
])  # fmt: skip
def test_set_raises_and_restores(nozzle, values, words):
    nozzle.panel.set(temperature=333.333, set_pressure_gauge=12e5)
    before, result = seen(nozzle.panel), nozzle.panel.result
    with pytest.raises(InputError, match=words):
        nozzle.panel.set(**values)
    assert seen(nozzle.panel) == before and nozzle.panel.result is result


def test_set_restores_an_unreadable_text_too(nozzle):
    nozzle.type("temperature", "abc")
    before = seen(nozzle.panel)
    with pytest.raises(InputError):
        nozzle.panel.set(set_pressure_gauge=1e9)
    assert seen(nozzle.panel) == before and "'abc'" in nozzle.panel.words
    nozzle.panel.set(set_pressure_gauge=12e5)
    assert nozzle.panel.words == "" and nozzle.panel.controls["temperature"].entry.value == "76.85"


def test_set_raises_a_fault_as_it_is(nozzle):
    nozzle.fail["update"] = KeyError("curve")
    before = seen(nozzle.panel)[0]
    with pytest.raises(KeyError):
        nozzle.panel.set(temperature=400.0)
    assert nozzle.panel.values == before
    with pytest.raises(InputError, match="use one of SI, US"):
        nozzle.panel.unit_set = "imperial"


# ---------------------------------------------------------------- sweep
def test_sweep_tries_every_end_choice_and_unit_set(nozzle):
    nozzle.panel.set(temperature=333.0)
    nozzle.click("US")
    before = seen(nozzle.panel)
    done = nozzle.panel.sweep(refuses=["flow would reverse"])
    assert repr(done) == "17 settings tried, 16 computed, 1 refused in words"
    assert seen(nozzle.panel) == before
    tried = set(nozzle.calls)
    start = (10e5, 350.0, 101_325.0, 0.9, "conventional", False)
    for place, values in enumerate([(2e5, 26e5, 50e5), (250.0, 425.0, 600.0), (0.0, 10e5, 20e5),
                                    (0.7, 0.875, 1.05), ("balanced",), (True,)]):  # fmt: skip
        for value in values:
            assert (*start[:place], value, *start[place + 1 :]) in tried


def test_sweep_raises_what_is_not_declared(nozzle):
    with pytest.raises(InputError, match="flow would reverse") as caught:
        nozzle.panel.sweep()
    assert "back_pressure" in caught.value.__notes__[0]
    with pytest.raises(InputError, match="never|no setting was refused with 'a flying pig'"):
        nozzle.panel.sweep(refuses=["flow would reverse", "a flying pig"])


def test_sweep_finds_a_fault_at_one_end_of_one_unit_set():
    def table(result, unit_set):
        return [("T", "x" * (1 // (unit_set != "US" or result["temperature"] < 399)))]

    panel = Panel([quantity("temperature", 300.0, 200.0, 400.0)], lambda **v: v,
                  lambda f, r, u: {}, lambda a, r, u: "A page.", table)  # fmt: skip
    with pytest.raises(ZeroDivisionError) as caught:
        panel.sweep()
    assert "400" in caught.value.__notes__[0] and "US" in caught.value.__notes__[0]
    assert panel.values == {"temperature": 300.0} and panel.unit_set == "SI"


# ---------------------------------------------------------------- what is stored and drawn
def test_bundle_has_view_picture_and_words(nozzle):
    data, metadata = nozzle.panel._repr_mimebundle_()
    assert set(data) == {
        "application/vnd.jupyter.widget-view+json", "image/png", "text/plain"}  # fmt: skip
    assert data["text/plain"].splitlines()[0].startswith("flux  ")
    assert metadata["image/png"]["alt"] == nozzle.panel.alt == nozzle.panel._image.tooltip
    assert "Mass flux against back pressure" in nozzle.panel.alt
    json.dumps([data, metadata])


def test_numbers_print_inputs_results_and_notes(nozzle, capsys):
    nozzle.panel.set(Z=0.75)
    nozzle.panel.numbers()
    text = capsys.readouterr().out
    flux = Gas(1.1 * 10e5 + 101_325.0, 350.0, molar_mass=44.1, k=1.13, Z=0.75)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ValidityWarning)
        assert f"{flux.mass_flux(101_325.0):.4g} kg/(m² s)" in text
    assert "76.85 °C" in text and "note" in text and "out of date" not in text
    nozzle.type("Z", "abc")
    nozzle.panel.numbers()
    assert capsys.readouterr().out.startswith("out of date: ")


def test_moving_adds_no_artist_and_makes_no_output_widget(nozzle):
    count = len(nozzle.panel._figure.findobj())
    for position in range(0, 40, 4):
        nozzle.move("set_pressure_gauge", position)
    assert abs(len(nozzle.panel._figure.findobj()) - count) <= 40, "only ticks may come and go"
    axes = nozzle.panel._figure.axes
    assert sum(len(a.lines) + len(a.texts) for a in axes) == 6

    def walk(widget):
        yield widget
        for child in getattr(widget, "children", ()):
            yield from walk(child)

    names = {type(w).__name__ for w in walk(nozzle.panel.widget)}
    assert "Output" not in names and "_Picture" in names


def test_two_hands_at_once_do_not_mix():
    # JupyterLab hands messages to the kernel in several threads: the second waits for the first
    nozzle = Nozzle()
    computing, second_is_in = threading.Event(), threading.Event()
    plain = nozzle.compute

    def slow(**values):
        computing.set()
        second_is_in.wait(0.5)  # in vain as long as the second waits
        return plain(**values)

    nozzle.panel._compute = slow
    first = threading.Thread(target=nozzle.move, args=("temperature", 3))

    def refuse():
        computing.wait(5)
        nozzle.panel.controls["back_pressure"].entry.value = "nonsense"
        second_is_in.set()

    second = threading.Thread(target=refuse)
    for hand in (first, second):
        hand.start()
    for hand in (first, second):
        hand.join(10)
    assert "nonsense" in nozzle.panel.words
    assert "Out of date" in nozzle.panel._message.value
    assert "out of date" in nozzle.panel._numbers.value


@pytest.mark.parametrize("make, words", [
    (lambda: quantity("nope", 1.0, 0.0, 2.0), "not in the table"),
    (lambda: quantity("temperature", 100.0, 200.0, 400.0), "takes 200 to 400 K"),
    (lambda: quantity("temperature", 300.0, 400.0, 200.0), "must be below high"),
    (lambda: quantity("temperature", 300.0, 200.0, 400.0, step=0.0), "above 0"),
    (lambda: choice("kind", ["a"]), "two or more"),
    (lambda: choice("kind", ["a", "b"], "c"), "one of"),
    (lambda: switch("fire", 1), "True or False"),
    (lambda: Panel([switch("fire"), switch("fire")], *[lambda *a: ()] * 4), "same name"),
    (lambda: Panel([switch("fire")], lambda **v: v, *[lambda *a: ()] * 3), "alt"),
])  # fmt: skip
def test_panels_that_can_not_be_are_refused(make, words):
    with pytest.raises(InputError, match=words):
        make()


def test_step_is_kept_in_SI_and_tidied_in_US():
    control = quantity("valves", 2.0, 1.0, 6.0, step=1.0)
    assert (control._first, control._step_shown, control.slider.max) == (1.0, 1.0, 5)
    control = quantity("set_pressure_gauge", 10e5, 2e5, 50e5, step=0.5e5)
    assert control._step_shown == 0.5
    control.show_in("US")
    assert control._step_shown == 10.0 and control._first == 30.0


def test_warning_helper_names_what_the_panel_reads():
    # the panel turns 'name = value unit: rule' of errors.py into words; hold the two together
    panel = Nozzle().panel
    with pytest.raises(InputError) as caught:
        refuse(True, "temperature", 300.0, "must be hotter")
    assert panel._in_words(str(caught.value)) == "gas temperature = 26.85 °C: must be hotter"
    with pytest.warns(ValidityWarning) as warned:
        warn_outside(True, "density", 800.0, "1 to 2", "a source")
    meaning = symbol("density").meaning
    assert panel._in_words(str(warned[0].message)).startswith(f"{meaning} = 800 kg/m³: outside")


def test_a_tank_is_told_in_millibars():
    from relieflib.notebook.time_chart import _told, _unit

    control = quantity("set_pressure_gauge", 1800.0, 300.0, 20e3, unit="mbarg")
    assert (control.entry.value, control.unit.value) == ("18", "mbarg")  # 1 mbar is 100 Pa
    assert "(3 to 200)" in control.caption.value
    control.show_in("US")  # 1 psi is 6894.757 Pa
    assert (control.entry.value, control.unit.value) == ("0.261068", "psig")
    control.show_in("SI")
    control.entry.value = "21.6"
    assert control.value == pytest.approx(2160.0) and control.text() == "21.6 mbarg"
    with pytest.raises(InputError, match="kg"):
        quantity("set_pressure_gauge", 1800.0, 300.0, 20e3, unit="kg")

    tank, vessel = (SimpleNamespace(limit_pressure=101_325.0 + p) for p in (2500.0, 16e5))
    assert _unit(tank, "SI", 101_325.0) == "mbarg" and _unit(tank, "US", 101_325.0) == "psig"
    assert _unit(vessel, "SI", 101_325.0) == "barg"
    assert _told(103_485.0, "mbarg", 101_325.0) == "21.6 mbarg"  # 2160 Pa


# ------------------------------------------------------------ many controls, and what folds
def many(fold):
    """A panel of more controls than stand in one view with a full picture."""
    spare = ["viscosity", "density", "latent_heat", "heat_rate", "volume", "level", "elevation"]
    controls = [quantity(name, 700.0, 1.0, 5000.0) for name in spare]
    controls += [choice(name, ["not given", "yes"]) for name in ("traced", "drained", "fenced")]
    controls += [
        quantity(name, 1.1 + 0.1 * i, 1.0, 2.0) for i, name in enumerate(("k", "Z", "phi_factor"))
    ]

    def compute(**values):
        return {"areas": {"as set": 1e-6 * values["density"]}, "lead": ""}

    return Panel(controls, compute, figures.build_area_ladder, figures.update_area_ladder,
                 lambda result, unit_set: [("area", "-")], size=(7.2, 3.6), fold=fold)  # fmt: skip


def test_what_folds_says_its_values_and_still_counts():
    panel = many({"of a liquid": ("density",), "its way": ("traced", "drained", "fenced")})
    liquid, way = panel.folds
    assert liquid.button.description == "of a liquid, 1 input" and not liquid.open
    assert "700 kg/m³" in liquid.said.value
    assert "traced, drained, fenced: not given" in way.said.value
    panel.unit_set = "US"  # 700 kg/m3 times 0.0624280 lb/ft3 by hand
    assert "43.6996" in liquid.said.value and "lb/ft³" in liquid.said.value
    panel.set(drained="yes", density=1000.0)  # closed, it still moves the picture
    assert "traced, fenced: not given; drained: yes" in way.said.value
    assert "1000 mm²" in panel.alt or "1.55 in²" in panel.alt  # 1000 mm2 over 645.16
    way.button.click()
    assert way.open and way.inside.layout.display == "" and "drained" not in way.said.value
    assert panel.controls["drained"].box in way.inside.children
    assert panel.controls["drained"].box not in panel.widget.children[1].children


def test_many_controls_take_a_small_picture_but_not_one_full_of_words():
    few = Nozzle().panel
    assert tuple(few._figure.get_size_inches()) == (8.6, 4.6)
    assert tuple(many({})._figure.get_size_inches()) == (5.8, 3.0)
