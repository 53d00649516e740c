"""What the forms under a panel share: what a button says, and how a form is shown and stored."""

import functools
import threading

from relieflib.errors import InputError
from relieflib.notebook.spoken import speak
from relieflib.texts import html_text

_hand = threading.RLock()


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


@one_at_a_time
def tell(said, act, failed):
    """Do what a button asks and say how it went: never silent, never a traceback on the page.

    Parameters: said, an HTML widget; act, a function that gives the words of success; failed, the
    words that begin the others, such as 'Not saved'. Returns None.
    """
    try:
        words = act()
    except InputError as error:
        words = f"{failed}: {error}."
    except Exception as error:  # a full disk, a read-only folder: say it, lose nothing
        words = f"{failed}, fault: {type(error).__name__}: {error}."
    said.value = f"<div role='status'>{html_text(words)}</div>"


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
