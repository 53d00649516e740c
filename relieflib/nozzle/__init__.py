"""Mass flux through an ideal nozzle, one module per kind of fluid state."""

from relieflib import lazily

__getattr__, __dir__ = lazily(__name__, __path__)
