"""What the page says to those who hear it; the browser's side is in `test_browser.py`."""

import importlib.util
import sys

import pytest
from IPython.core.interactiveshell import InteractiveShell

from relieflib.notebook import cause_sketch, spoken
from relieflib.report.figures import display, new_figure


@pytest.fixture
def sent(monkeypatch):
    """What was sent to the page, afresh."""
    monkeypatch.setattr(spoken, "_sent", [])
    return spoken._sent


def test_without_anywidget_nothing_is_sent(monkeypatch, sent):
    monkeypatch.setattr(spoken, "find_spec", lambda name: None)
    assert spoken.speak() is None and not sent
    picture = display(new_figure(), "An empty page.")
    data, more = spoken._shown(picture)
    assert data["text/plain"] == more["image/png"]["alt"] == "An empty page."


def test_every_picture_passes_the_page_its_words(monkeypatch, sent):
    told = []

    class Page:
        pictures = {}

        def __setattr__(self, name, value):
            told.append(value)
            self.__dict__[name] = value

    sent.append(Page())
    shell = InteractiveShell()
    assert spoken.tell_pictures(shell)
    pictures = [cause_sketch("closed_outlet"), display(new_figure(), "An empty page.")]
    for picture in pictures:
        data, more = shell.display_formatter.format(picture)
        assert told[-1][data["image/png"][-spoken.TAIL :]] == picture.alt
        assert more["image/png"]["alt"] == picture.alt
    assert len(told[-1]) == 2  # two pictures, two keys: their tails differ


def test_it_is_sent_once(sent):
    if importlib.util.find_spec("anywidget") is None:
        pytest.skip("anywidget is not installed")
    assert spoken.speak() is spoken.speak() is sent[0]
    assert "anywidget" in sys.modules and sent[0].pictures == {}
