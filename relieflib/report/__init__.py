"""The page to file: blocks, then HTML or PDF."""

from relieflib.texts import CAUTION

__all__ = ["CAUTION"]
