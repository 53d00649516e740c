"""The causes of the demo reactor by hand, and the chart of its batch."""

import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from matplotlib.backends.backend_agg import FigureCanvasAgg

from relieflib import demo, orifices
from relieflib.causes.shared import reactor
from relieflib.notebook import batch_chart
from relieflib.plant import demo_plant_path, load_plant
from relieflib.report import figures

PLANT = load_plant()
SIZED = demo.cases(PLANT, "R-101")
P1 = 6.0e5 * 1.1 + 101_325.0


def test_steps_can_be_recomputed():
    for s in SIZED.values():
        assert s.load.working[-1].value == s.load.mass_flow
        for step in s.load.working:
            assert step.source
            if step.equation:
                assert step.evaluate() == pytest.approx(step.value, rel=1e-9), step.name


@pytest.mark.parametrize("atmosphere", [101_325.0, 84_000.0])
def test_runaway_by_hand(atmosphere, tmp_path):
    # Leung's equation with CoolProp's plain calls; rates off the straight line through the test's
    # points (ln k on 1/T, first order) by the closed sums of least squares; 1.3 times set allowed
    T = [353.15 + 20 * i for i in range(5)]
    rates = [x / 60 for x in (0.054, 0.252, 1.01, 3.51, 10.9)]
    x = [1 / t for t in T]
    y = [math.log(r / (170 - (t - 353.15))) for t, r in zip(T, rates)]
    n, sx, sy = 5, sum(x), sum(y)
    slope = (n * sum(a * b for a, b in zip(x, y)) - sx * sy) / (n * sum(a * a for a in x) - sx**2)
    start = (sy - slope * sx) / n
    Ps = 4e5 + atmosphere
    ends = [PropsSI("T", "P", P, "Q", 0, "n-Hexane") for P in (Ps, 1.3 * Ps)]
    at = [(170 - (t - 353.15)) * math.exp(start + slope / t) for t in ends]
    h, D = ([PropsSI(w, "P", Ps, "Q", q, "n-Hexane") for q in (0, 1)] for w in "HD")
    root = math.sqrt(15.7 * (h[1] - h[0]) / (8000 * (1 / D[1] - 1 / D[0])))
    W = 8000 * 1400 * sum(at) / (root + math.sqrt(2800 * (ends[1] - ends[0]))) ** 2
    text = demo_plant_path().read_text(encoding="utf-8")
    path = tmp_path / "plant.toml"
    path.write_text(text.replace("101.325 kPaa", f"{atmosphere / 1e3:g} kPaa"), encoding="utf-8")
    load = demo.loads_of(load_plant(path), "R-101")["runaway reaction"]
    assert load.mass_flow == pytest.approx(W, rel=1e-6)


def test_other_causes_by_hand():
    flow = {words: s.load.mass_flow for words, s in SIZED.items()}
    assert flow["overfilling"] == pytest.approx(8600 / 3600)
    water = PropsSI("D", "T", 318.15, "P", P1, "Water")
    pushed = 600 / 3600 / water * P1 * 28.013 / (8314.462618 * 318.15)
    assert flow["closed outlet, dosing"] == pytest.approx(pushed, rel=1e-6)
    gas = SIZED["volatile ingress, caustic"].load.stream
    part = PropsSI("P", "T", gas.temperature, "Q", 0, "Water") / P1
    rest = PropsSI("P", "T", gas.temperature, "Q", 0, "n-Hexane") / P1
    assert part + rest == pytest.approx(1.0, rel=1e-9)
    # moles leave as the partial pressures stand
    moles = 600 / 3600 / 18.015268 / part
    assert flow["volatile ingress, caustic"] == pytest.approx(moles * gas.molar_mass, rel=1e-5)
    fire_P = 6.0e5 * 1.21 + 101_325.0
    h = [PropsSI("H", "P", fire_P, "Q", q, "n-Hexane") for q in (0, 1)]
    # 43 200 A^0.82 (API 521, drained); wetted: shell to 2.9 m of a vertical 2.2 m with a 2:1 head
    head = 1.084 * 2.2**2  # area of a 2:1 ellipsoidal head, handbook factor to three figures
    wetted = head + math.pi * 2.2 * 2.9
    steps = {s.name: s.value for s in SIZED["exterior fire"].load.working}
    assert steps["wetted_area"] <= wetted * 1.001
    assert flow["exterior fire"] * (h[1] - h[0]) == pytest.approx(
        43_200 * steps["wetted_area"] ** 0.82, rel=2e-3)  # fmt: skip


def test_the_runaway_governs_and_the_installed_valve_is_too_small_for_it_alone():
    installed = orifices.parse_designation(PLANT["PSV-110"].designation).area
    small = [words for words, s in SIZED.items() if s.required_area > installed]
    assert small == ["runaway reaction"]
    assert max(SIZED, key=lambda w: SIZED[w].required_area) == "runaway reaction"


def test_ladder_stays_on_the_page():
    shown = figures.ladder(SIZED)
    FigureCanvasAgg(shown.figure).draw()
    page = shown.figure.bbox
    for text in (t for axis in shown.figure.axes for t in axis.texts):
        if text.get_visible() and text.get_text():
            box = text.get_window_extent()
            assert page.x0 <= box.x0 and box.x1 <= page.x1, text.get_text()
    assert all(cause in shown.alt for cause in SIZED)


BATCH = reactor.Batch(8000.0, 15.7, "n-Hexane", 2800.0, 353.15, 170.0, 4.639e8, 11350.0, 5e5, 5.1e5)
PRESSURES = [(5e5, 6.5e5, 7e5), (5e5, 7e5, 7.01e5), (3.5e5, 3.6e5, 7e5)]  # set, allowed, MAWP


def drawn(set_pressure, highest, mawp, area):
    closed = reactor.run_away(BATCH, 40_000.0, 2000)
    opens = float(closed.time[(closed.pressure >= set_pressure).argmax()])
    batch = replace(BATCH, set_pressure=set_pressure, full_pressure=1.01 * set_pressure,
                    vent_area=area)  # fmt: skip
    vented = reactor.run_away(batch, opens + 1200.0, 200, opens - 400.0)
    return {"closed": closed, "vented": vented, "opens": opens, "window": (400.0, 1200.0),
            "set_pressure": set_pressure, "highest_pressure": highest, "mawp": mawp}  # fmt: skip


def made(figure):
    """Artists without ticks, which come and go with the scale."""
    return [artist for ax in figure.axes for artist in (*ax.lines, *ax.texts, *ax.patches)]


@pytest.mark.parametrize("unit_set", ["SI", "US"])
@pytest.mark.parametrize("pressures", PRESSURES)
@pytest.mark.parametrize("area", [0.001, 0.01])
def test_chart_of_a_batch(pressures, unit_set, area):
    result = drawn(*pressures, area)
    figure = figures.new_figure()
    artists = batch_chart.build_batch(figure, result, unit_set)
    words = batch_chart.update_batch(artists, result, unit_set)
    count = len(made(figure))
    assert ("does not hold" in words) is (result["vented"].peak > pressures[1])
    assert "full of liquid" in words
    FigureCanvasAgg(figure).draw()
    for text in [*figure.texts, *figure.legends[0].texts, *(t for _, t in artists["levels"])]:
        box = text.get_window_extent()
        assert figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1, text.get_text()
    boxes = [t.get_window_extent() for _, t in artists["levels"]]
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])
    batch_chart.update_batch(artists, drawn(*PRESSURES[0], 0.02), unit_set)
    assert len(made(figure)) == count  # moved, not made anew


def test_chart_moves_what_it_shows():
    result = drawn(*PRESSURES[0], 0.01)
    artists = batch_chart.build_batch(figures.new_figure(), result)
    x, y = artists["vented"][0].get_data()
    assert x[0] == pytest.approx(-400.0 / 60.0) and y == pytest.approx(
        result["vented"].pressure / 1e5
    )
    assert artists["closed"][1].get_ydata()[-1] == pytest.approx(
        result["closed"].temperature[-1] - 273.15)  # fmt: skip
    lines = [line.get_ydata()[0] for line, _ in artists["levels"]]
    assert lines == pytest.approx([5.0, 6.5, 7.0])
