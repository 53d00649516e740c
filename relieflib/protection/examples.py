"""Frequencies and PFD that companies chose: examples to overwrite, never data.

A value comes with its range and a label that says so. A target has no example: it is the company's.
"""

from dataclasses import dataclass, replace

from relieflib import tables
from relieflib.errors import InputError, not_negative, refuse

EVENT, LAYER = "event", "layer"
LABEL = "example of a value that a company chose, not data"
OWN = "your own value"


@dataclass(frozen=True)
class Example:
    """One value: kind, name, low, high, chosen (a year for an event, PFD for a layer), label."""

    kind: str
    name: str
    low: float
    high: float
    chosen: float
    label: str = LABEL

    def own(self, value):
        """The same with a value of one's own, labelled so; InputError for an impossible one."""
        v = not_negative(**{"demand_failure" if self.kind == LAYER else "frequency": value})
        if self.kind == LAYER:
            refuse(v > 1, "demand_failure", v, "must lie between 0 and 1")
        return replace(self, chosen=float(v), label=OWN)

    def __str__(self):
        unit = " a year" if self.kind == EVENT else ""
        return (f"{self.name}: {self.chosen:g}{unit} ({self.label}; range {self.low:g} to "
                f"{self.high:g})")  # fmt: skip


def all_of(kind):
    """All examples of a kind.

    Parameters: kind, 'event' or 'layer'. Returns {name: `Example`}. Raises InputError for another.
    Source: CCPS, LOPA (2001), tables 5.1 and 6.3 to 6.5, partly from memory.
    >>> loop = all_of("event")["control loop failure"]
    >>> loop.chosen, loop.label
    (0.1, 'example of a value that a company chose, not data')
    """
    if kind not in (EVENT, LAYER):
        raise InputError(f"kind = {kind!r}: {EVENT} or {LAYER}")
    rows = [row for row in tables.rows("layer_examples")[1] if row[0] == kind]
    return {name: Example(k, name, *map(float, rest)) for k, name, *rest in rows}
