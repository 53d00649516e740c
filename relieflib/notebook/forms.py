"""What the forms under a panel share: what a button says, what folds, how a form is stored."""

import asyncio
import functools
import threading

import ipywidgets as widgets

from relieflib.errors import InputError
from relieflib.notebook.spoken import FOLD, speak
from relieflib.texts import html_text

_hand = threading.RLock()
LAST_LETTER = 0.25  # s: what was typed is with the kernel by then


def one_at_a_time(function):
    """The function made to wait until what the browser asked for before is done.

    JupyterLab brings what a widget reports to the kernel in more than one thread: without this two
    quick changes mix their values, words and pictures.
    """

    @functools.wraps(function)
    def alone(*args, **kwargs):
        with _hand:
            return function(*args, **kwargs)

    return alone


def soon(act):
    """Do it when the last letter has arrived: the page sends Enter, or a click, before it.

    Parameters: act, without arguments. At once where no loop runs, as in a test.
    """
    try:
        loop = asyncio.get_running_loop()
    except RuntimeError:
        act()
    else:
        loop.call_later(LAST_LETTER, act)


def tell(said, act, failed):
    """Do what a button asks and say how it went: never silent, never a traceback on the page.

    Parameters: said, an HTML widget; act, a function that gives the words of success; failed, the
    words that begin the others, such as 'Not saved'. Returns None.
    """
    soon(lambda: _tell(said, act, failed))


@one_at_a_time
def _tell(said, act, failed):
    try:
        words = act()
    except InputError as error:
        words = f"{failed}: {error}."
    except Exception as error:  # a full disk, a read-only folder: say it, lose nothing
        words = f"{failed}, fault: {type(error).__name__}: {error}."
    said.value = f"<div role='status'>{html_text(words)}</div>"


def in_a_row(fields):
    """Fields of text and buttons beside each other, on as few lines as there is room for."""
    for one in fields:
        if isinstance(one, widgets.Text):
            letters = len(one.description) + len(one.placeholder)
            one.layout.width, one.style.description_width = f"{50 + 7 * letters}px", "initial"
    return widgets.Box(fields, layout=widgets.Layout(flex_flow="row wrap"))


class Fold:
    """A button that opens and closes what stands under it; closed, it says what that stands at.

    Parameters: title; inside, a widget; words() gives what is said beside it while it is closed.
    `box` is the widget, `say()` says the words anew, `open` sets it.
    """

    def __init__(self, title, inside, words=lambda: ""):
        self.inside, self._words, self._open = inside, words, False
        layout = widgets.Layout
        self.button = widgets.Button(description=title, layout=layout(width="auto"))
        self.button.on_click(lambda _: setattr(self, "open", not self.open))
        self.said = widgets.HTML(layout=layout(flex="1 1 260px", width="auto"))
        head = widgets.HBox([self.button, self.said], layout=layout(flex_flow="row wrap",
                                                                    grid_gap="0 8px"))  # fmt: skip
        self.box = widgets.VBox([head, inside], layout=layout(width="auto"))
        self.box.add_class(FOLD)
        self.open = False

    @property
    def open(self):
        """Whether what stands under it is on show."""
        return self._open

    @open.setter
    def open(self, wanted):
        self._open = bool(wanted)
        self.inside.layout.display = "" if self._open else "none"
        self.button.icon = "chevron-down" if self._open else "chevron-right"
        self.say()

    def say(self):
        """Say anew what it stands at."""
        words = "" if self._open else html_text(self._words())
        self.said.value = f"<div style='line-height:1.25;padding-top:4px'>{words}</div>"


def shown_as(box, **stored):
    """A form's parts for the page: the live widget, and what is stored for a reader without one.

    Parameters: box, a widget; stored, texts by their kind with a slash written as '_'. Returns
    dict.
    >>> sorted(shown_as(None, text_plain="a", text_html="b"))
    ['text/html', 'text/plain']
    """
    if box is not None:
        speak()
    data = (box._repr_mimebundle_() or {}) if box is not None else {}
    live = {k: v for k, v in data.items() if k.endswith("widget-view+json")}
    return live | {kind.replace("_", "/"): text for kind, text in stored.items()}
