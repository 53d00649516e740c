"""Figures and drawings: things stand where they must, labels are apart, updates add no artist."""

import base64
import itertools

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy.optimize import minimize

from relieflib.errors import InputError
from relieflib.notebook import sketch
from relieflib.notebook.plant_drawing import plant_drawing
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.plant import load_plant
from relieflib.report import figures

PSI = 6894.757293168
LADDER = (figures.build_area_ladder, figures.update_area_ladder)
LEVELS = (figures.build_pressure_levels, figures.update_pressure_levels)
FLUX = (
    figures.build_flux_against_back_pressure,
    figures.update_flux_against_back_pressure,
)
CAUSES = (
    "closed outlet, gas", "closed outlet, liquid", "control valve opens", "gas blow-by",
    "hydraulic expansion", "tube rupture", "reverse flow", "overfilling", "exterior fire",
    "loss of cooling", "abnormal heat input", "runaway reaction",
)  # fmt: skip


def twelve(low, high):
    return {"areas": dict(zip(CAUSES, np.geomspace(low, high, 12).tolist()))}


def vessel(mawp, operating, sets, **more):
    return {
        "mawp_gauge": mawp * PSI,
        "operating_pressure_gauge": operating * PSI,
        "set_pressure_gauge": [s * PSI for s in sets],
        **more,
    }


def gas(back, k=1.4):
    return {"stream": Gas(10e5, 300.0, molar_mass=28.97, k=k), "back_pressure": back}


def boxes(figure):
    """Bounding boxes of the visible texts of a figure, a pixel smaller all round."""
    figure.canvas.draw()
    renderer = figure.canvas.get_renderer()
    texts = [t for ax in figure.axes for t in ax.texts if t.get_visible() and t.get_text().strip()]
    return [(t.get_text(), t.get_window_extent(renderer).padded(-1.0)) for t in texts]


def assert_apart_and_on_the_page(figure):
    found = boxes(figure)
    page = figure.bbox
    for (a, box), (b, other) in itertools.combinations(found, 2):
        assert not box.overlaps(other), (a, b)
    for text, box in found:
        assert page.x0 <= box.x0 and box.x1 <= page.x1, text
        assert page.y0 <= box.y0 and box.y1 <= page.y1, text


CASES = [
    (LEVELS, vessel(100, 90, [100]), vessel(100, 95, [97, 98, 99, 100], fire=True)),
    (LEVELS, vessel(100, 99.9, [100]), vessel(15, 1, [15])),
    (LEVELS, vessel(20, 10, [20, 21], installation="multiple"), vessel(5000, 4000, [4500])),
    (FLUX, gas(2e5), gas(9e5, 1.1)),
    (FLUX, gas(0.0), gas(10e5)),
    (FLUX, gas(5.3e5), {"stream": Liquid(10e5, 800.0), "back_pressure": 2e5}),
    (LADDER, twelve(1e-7, 0.03), {"areas": {"exterior fire": 2e-4}}),
    (LADDER, {"areas": {"tube rupture": 3e-7, "exterior fire": None}}, twelve(0.03, 1e-7)),
    (LADDER, twelve(1e-4, 2e-4), twelve(1e-4, 0.0168)),
]


@pytest.mark.parametrize("unit_set", ["SI", "US"])
@pytest.mark.parametrize("pair, first, second", CASES)
def test_labels_are_apart_and_update_makes_no_artist(pair, first, second, unit_set):
    build, update = pair
    figure = figures.new_figure()
    artists = build(figure, first, unit_set)
    assert_apart_and_on_the_page(figure)
    before = [id(a) for a in figure.findobj() if "Tick" not in type(a).__name__]
    drawn = figures.display(figure, "first").png()
    alt = update(artists, second, unit_set)
    assert_apart_and_on_the_page(figure)
    children = [id(a) for ax in figure.axes for a in (*ax.lines, *ax.texts, *ax.patches)]
    assert set(children) <= set(before) and len(figure.axes) == 1
    assert figures.display(figure, alt).png() != drawn
    update(artists, first, unit_set)
    assert figures.display(figure, "first again").png() == drawn


@given(st.lists(st.floats(-1, 2), min_size=1, max_size=6))
def test_spread_keeps_order_gap_and_bounds(values):
    places = figures.spread(values, 0.15, 0.0, 1.0)
    order = np.argsort(values, kind="stable")
    assert (np.diff(places[order]) >= 0.15 - 1e-12).all()
    assert places.min() >= -1e-12 and places.max() <= 1 + 1e-12


def test_spread_is_the_least_squares_answer():
    """Held against scipy's general optimiser with the gaps as constraints."""
    values = np.array([0.2, 0.22, 0.9, 0.95, 0.5, 0.99])
    order = np.argsort(values)
    gaps = {"type": "ineq", "fun": lambda p: np.diff(p[order]) - 0.12}
    best = minimize(
        lambda p: ((p - values) ** 2).sum(), np.linspace(0, 1, 6)[np.argsort(order)],
        constraints=gaps, bounds=[(0, 1)] * 6, tol=1e-12,
    )  # fmt: skip
    assert np.allclose(figures.spread(values, 0.12, 0.0, 1.0), best.x, atol=1e-4)
    with pytest.raises(InputError, match="labels"):
        figures.spread([1, 2, 3], 0.6, 0.0, 1.0)


# ------------------------------------------------------------ pressure levels
def test_pressure_levels_are_those_of_the_code():
    """ASME VIII-1 UG-125(c): 110, 116, 121 %, and at least 3 and 4 psi for low MAWP."""
    rows = figures.pressure_level_rows(vessel(100, 90, [100]))
    psi = {(side, word): round(v / PSI, 6) for side, word, v in rows}
    assert psi["vessel", "accumulated, one valve"] == 110
    assert psi["vessel", "accumulated, several valves"] == 116
    assert psi["vessel", "accumulated, fire"] == 121
    assert psi["valve", "relieving"] == 110
    assert psi["valve", "reseat"] == 93  # 7 % blowdown
    low = dict(
        (w, round(v / PSI, 6)) for _, w, v in figures.pressure_level_rows(vessel(20, 10, [20]))
    )
    assert low["accumulated, one valve"] == 23 and low["accumulated, several valves"] == 24


def test_pressure_levels_stand_at_their_percent_of_mawp():
    figure = figures.new_figure()
    artists = figures.build_pressure_levels(figure, vessel(100, 90, [100], fire=True), "US")
    # rows run from 90 - 3 to 121 + 3 percent
    heights = [row[1].get_ydata()[0] for row in artists["rows"]["vessel"]]
    assert np.allclose(heights, [(p - 87) / 37 for p in (90, 100, 110, 116, 121)])
    ticks = [t for t in artists["ticks"] if t.get_visible()]
    assert len(ticks) >= 4
    assert all(t.get_position()[1] == pytest.approx((float(t.get_text()) - 87) / 37) for t in ticks)
    words = [t for t, _ in boxes(figure)]
    assert any("MAWP" in w and "100 psig" in w for w in words)
    assert any("relieving" in w and "121 psig" in w and "121 %" in w for w in words)


@pytest.mark.parametrize("unit_set", ["SI", "US"])
def test_pressure_levels_keep_inside_the_picture_of_a_panel(unit_set):
    figure = figures.new_figure((7.2, 3.6))
    figures.build_pressure_levels(figure, vessel(580, 246.6, [580], fire=True), unit_set)
    found = [box for _, box in boxes(figure)]
    assert min(box.x0 for box in found) > 0
    assert max(box.x1 for box in found) < figure.bbox.width


def test_a_small_ladder_keeps_its_names_inside(inside):
    figure = figures.new_figure((5.8, 3.0))
    areas = {"control valve and bypass open": 0.06, "instrument-air failure, air": 1e-4}
    figures.build_area_ladder(figure, {"areas": areas})
    inside(figure)


def test_pressure_levels_refuse_five_valves_and_a_missing_number():
    with pytest.raises(InputError, match="up to 4"):
        figures.pressure_level_rows(vessel(100, 90, [96, 97, 98, 99, 100]))
    with pytest.raises(InputError, match="operating_pressure_gauge"):
        figures.pressure_level_rows({"mawp_gauge": 1e6, "set_pressure_gauge": 1e6})


# ------------------------------------------------------------ flux against back pressure
def test_choking_point_is_that_of_air():
    """Critical pressure ratio of air, k 1.4: 0.5283 (NACA Report 1135, table for M = 1)."""
    assert figures.choking_pressure(
        Gas(10e5, 300.0, molar_mass=28.97, k=1.4)
    ) / 10e5 == pytest.approx(0.5283, abs=0.00005)
    assert figures.choking_pressure(Liquid(10e5, 800.0)) == 0.0


def test_flux_points_stand_on_the_curve():
    figure = figures.new_figure()
    artists = figures.build_flux_against_back_pressure(figure, gas(8e5), "SI")
    stream = gas(8e5)["stream"]
    x, y = (v[0] for v in artists["work"].get_data())
    assert x == pytest.approx(8.0) and y == pytest.approx(stream.mass_flux(8e5))
    curve = artists["curve"].get_data()
    assert (
        curve[0][0] == 0
        and curve[0][-1] == pytest.approx(10.0)
        and curve[1][-1] == pytest.approx(0)
    )
    assert artists["choke"].get_visible()
    alt = figures.update_flux_against_back_pressure(artists, gas(1e5), "SI")
    assert "choked" in alt and "not choked" not in alt
    liquid = {"stream": Liquid(10e5, 800.0), "back_pressure": 2e5}
    assert "never chokes" in figures.update_flux_against_back_pressure(artists, liquid, "SI")
    assert not artists["choke"].get_visible() and not artists["choke words"].get_visible()


# ------------------------------------------------------------ area ladder
def test_rungs_stand_at_the_areas_of_api_526():
    """API 526, table 1, areas as commonly printed in mm2, rounded to one."""
    printed = dict(zip("DEFGHJKLMNPQRT", (71, 126, 198, 325, 506, 830, 1186, 1841, 2323, 2800, 4116,
                                          7129, 10323, 16774)))  # fmt: skip
    artists = figures.build_area_ladder(figures.new_figure(), twelve(1e-7, 0.03), "SI")
    for text, rung in zip(artists["letters"], artists["rungs"]):
        x = rung.get_xdata()
        assert x[0] == x[1] == text.get_position()[0]
        assert x[0] == pytest.approx(printed.pop(text.get_text()), abs=0.51)
    assert not printed


def test_governing_cause_differs_by_shape_and_word_and_too_large_says_so():
    figure = figures.new_figure()
    artists = figures.build_area_ladder(figure, twelve(1e-7, 0.03), "SI")
    rows = artists["rows"]
    assert [row[1].get_marker() for row in rows] == ["D"] + ["o"] * 11
    assert rows[0][2].get_text() == "governs: runaway reaction"
    assert "more than one valve" in rows[0][3].get_text()
    assert not any("more than one" in row[3].get_text() for row in rows[1:])
    assert rows[1][1].get_xdata()[0] == pytest.approx(0.03e6 * (1e-7 / 0.03) ** (1 / 11))
    alt = figures.update_area_ladder(
        artists, {"areas": {"fire": None, "reverse flow": 70e-6}}, "SI"
    )
    assert "fire needs none" in alt and "reverse flow 70 mm², letter D, governs" in alt
    assert [row[1].get_visible() for row in rows] == [True, True] + [False] * 10


@pytest.mark.parametrize("areas", [{}, {str(i): 1e-4 for i in range(13)}, {"fire": -1e-4}])
def test_area_ladder_refuses_what_it_cannot_show(areas):
    with pytest.raises(InputError):
        figures.build_area_ladder(figures.new_figure(), {"areas": areas}, "SI")


# ------------------------------------------------------------ display and drawings
def test_display_gives_a_picture_and_its_words():
    figure = figures.new_figure((3, 2))
    shown = figures.display(figure, "Three lines.")
    data, metadata = shown._repr_mimebundle_()
    assert base64.b64decode(data["image/png"]).startswith(b"\x89PNG")
    assert data["text/plain"] == metadata["image/png"]["alt"] == "Three lines."
    assert figures.display(figure, "Three lines.")._repr_mimebundle_()[0] == data
    with pytest.raises(InputError, match="alt"):
        figures.display(figure, " ")


def test_plant_drawing_shows_every_tag_and_set_pressure_legibly():
    plant = load_plant()
    drawing = plant_drawing(plant)
    words = " ".join(t.get_text() for t in drawing.texts).replace("\n", " ")
    hidden = {"NRV-101A", "NRV-101B"} | {i.tag for i in plant.of("ingress")}
    hidden |= {tag for tag, item in plant.items.items() if item.section.startswith("disposal")}
    for tag in plant.items:
        assert tag in words or tag in hidden, tag
    assert "NRV-101A/B" in words
    for valve in plant.of("relief_valves"):
        label = next(t.get_text() for t in drawing.texts if t.get_text().startswith(valve.tag))
        assert f"{valve.set_pressure_gauge / 1e5:g} barg" in label and valve.designation in label
    numbers = {t.get_text() for t in drawing.texts}
    assert set(plant.streams) <= numbers
    assert min(t.get_fontsize() for t in drawing.texts) >= 7.0
    assert 900 <= drawing.figure.bbox.width <= 1100
    assert_apart_and_on_the_page(drawing.figure)
    assert "PSV-107 on V-105 17.25 barg" in drawing.alt and "fictional" in drawing.alt


def test_plant_drawing_takes_its_numbers_from_the_plant():
    plant = load_plant()
    plant["PSV-104"].set_pressure_gauge = 20.5e5
    drawing = plant_drawing(plant)
    assert any("PSV-104" in t.get_text() and "20.5 barg" in t.get_text() for t in drawing.texts)


@pytest.mark.parametrize("cause", sketch.EQUIPMENT_SKETCHES)
def test_equipment_sketches_name_what_they_show(cause):
    drawing = sketch.equipment_sketch(cause, "X-1", "PSV-9")
    assert {"X-1", "PSV-9"} <= {t.get_text() for t in drawing.texts}
    assert "X-1" in drawing.alt and "PSV-9" in drawing.alt and "closed" in drawing.alt
    assert_apart_and_on_the_page(drawing.figure)
    assert drawing._repr_mimebundle_()[0]["text/plain"] == drawing.alt


def test_unknown_equipment_sketch_and_sketch_without_words_are_refused():
    with pytest.raises(InputError, match="volcano"):
        sketch.equipment_sketch("volcano")
    with pytest.raises(InputError, match="alt"):
        sketch.Sketch(10, 10).show()
