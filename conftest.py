"""Every test, notebooks included, leaves the reader's own work alone."""

import os
import tempfile

import pytest

os.environ["RELIEFLIB_MY_WORK"] = tempfile.mkdtemp(prefix="relieflib-")
for name in ("RELIEFLIB_PARTICIPANT", "RELIEFLIB_ROOM"):
    os.environ.pop(name, None)


@pytest.fixture
def inside():
    """A check of a figure: every text on show lies within the page."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    def check(figure):
        FigureCanvasAgg(figure).draw()
        page = figure.bbox
        for text in (t for axis in figure.axes for t in axis.texts):
            if text.get_visible() and text.get_text():
                box = text.get_window_extent()
                assert page.x0 <= box.x0 and box.x1 <= page.x1, text.get_text()
                assert page.y0 <= box.y0 and box.y1 <= page.y1, text.get_text()

    return check
