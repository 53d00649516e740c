"""P&ID note, datasheet, load summary and placement of one valve, held against each other.

`of_valve` gathers what each paper says, `hold` says which entry differs, which paper is probably
right and why, and what is missing on each. A teaching and checking aid: decisions belong to a
competent, licensed engineer.
"""

from relieflib.papers.judging import Entry, Found, hold
from relieflib.papers.paper import Gathered, Paper, Said, of_valve
from relieflib.papers.words import as_text

__all__ = ["Entry", "Found", "Gathered", "Paper", "Said", "as_text", "hold", "of_valve"]
