"""What comes after the valve: header, knock-out drum, stack, or another place for what is relieved.

Each module loads when it is first asked for.
"""

from relieflib import lazily

__getattr__, __dir__ = lazily(__name__, __path__)
