"""Is an installed valve a safeguard against a cause it was not sized for.

`cover(valve, load)` judges one valve against one cause, `matrix(valves, loads)` all against all.
"""

from relieflib.safeguard.installed import PHASES, Valve
from relieflib.safeguard.judge import (
    COVERS,
    FAILS,
    UNKNOWN,
    VERDICTS,
    Cover,
    Reason,
    cover,
    opening,
    phase_of,
)
from relieflib.safeguard.table import Matrix, larger, matrix, one_more

__all__ = [
    "COVERS", "FAILS", "PHASES", "UNKNOWN", "VERDICTS", "Cover", "Matrix", "Reason", "Valve",
    "cover", "larger", "matrix", "one_more", "opening", "phase_of",
]  # fmt: skip
