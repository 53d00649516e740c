"""The demo plant's causes side by side: every ladder is whole and can be read."""

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from relieflib import orifices
from relieflib.errors import InputError
from relieflib.notebook import demo_cases, figures
from relieflib.plant import load_plant

PLANT = load_plant()
LONG = {
    "one check valve stuck open, no resistance, gas": 14.27e-3,
    "emergency vent in a fire, coefficient of discharge 0.5": 0.1938,
    "limited by heat or inflow": 36e-6,
}


def inside(figure):
    """Every visible text lies within the page."""
    FigureCanvasAgg(figure).draw()
    page = figure.bbox
    for axis in figure.axes:
        for text in axis.texts:
            if text.get_visible() and text.get_text():
                box = text.get_window_extent()
                assert page.x0 <= box.x0 and box.x1 <= page.x1, text.get_text()
                assert page.y0 <= box.y0 and box.y1 <= page.y1, text.get_text()


@pytest.mark.parametrize("tag", demo_cases.ITEMS)
def test_ladders_of_the_plant(tag):
    sized = demo_cases.cases(PLANT, tag)
    assert len(sized) >= 3 and all(s.required_area > 0 for s in sized.values())
    shown = demo_cases.ladder(sized)
    inside(shown.figure)
    assert all(cause in shown.alt for cause in sized)


def test_long_names_stay_on_the_page():
    for unit_set in ("SI", "US"):
        figure = figures.new_figure()
        figures.build_area_ladder(figure, {"areas": LONG}, unit_set)
        inside(figure)


def test_installed_valves_against_their_causes():
    # what the notebooks say of the plant: only the let-down with its bypass open is not covered
    for tag in ("V-100", "V-104", "V-105", "C-101"):
        valve = PLANT.protecting(tag)[0]
        installed = orifices.parse_designation(valve.designation).area
        for cause, s in demo_cases.cases(PLANT, tag).items():
            covered = s.required_area <= installed
            assert covered == (cause != "with its bypass"), (tag, cause)


def test_another_tag():
    with pytest.raises(InputError, match="use one of"):
        demo_cases.cases(PLANT, "V-999")
