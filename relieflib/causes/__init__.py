"""One module per overpressure cause, named as its notebook is."""

from relieflib import lazily

__getattr__, __dir__ = lazily(__name__, __path__)
