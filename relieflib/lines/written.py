"""A line as a file writes it: its parts in the order of flow, each a table, and back again.

    [{ kind = "entrance flush", nps = "3" }, { kind = "pipe", nps = "3", length = "1.2 m" },
     { kind = "long elbow", nps = "3", count = 2 }]

A part has its `kind`, a nominal size `nps` (with `schedule`, 40 where it says none) or an inside
`diameter`, and what its kind takes, as `lines.line.Part`: length, count, K, elevation, bore,
valves.
"""

from relieflib.errors import InputError
from relieflib.lines.line import Line, Part

KEYS = (
    "kind",
    "nps",
    "schedule",
    "diameter",
    "length",
    "count",
    "K",
    "elevation",
    "bore",
    "valves",
)
SIDES = ("inlet", "outlet")


def line_of(tables, side="line"):
    """The `Line` that tables describe.

    Parameters: tables, list of dicts in SI; side, words before a message. Returns `Line`. Raises
    InputError naming the part for what is not known, missing or said twice, and as `Part`.
    Source: definition.
    >>> line_of([{"kind": "pipe", "nps": "4", "length": 2.0}]).length
    2.0
    """
    if not isinstance(tables, list | tuple) or not all(isinstance(t, dict) for t in tables):
        raise InputError(f"{side}: must be a list of parts, each a table with its kind")
    parts = []
    for number, table in enumerate(tables, 1):
        try:
            parts.append(_part(dict(table)))
        except InputError as error:
            raise InputError(f"{side}, part {number}: {error}") from None
    try:
        return Line(parts)
    except InputError as error:
        raise InputError(f"{side}: {error}") from None


def _part(table):
    unknown = [key for key in table if key not in KEYS]
    if unknown or "kind" not in table:
        words = f"key '{str(unknown[0])[:40]}' is not known" if unknown else "has no kind"
        raise InputError(f"{words}; a part has {', '.join(KEYS)}")
    kind, nps = table.pop("kind"), table.pop("nps", None)
    if (nps is None) == ("diameter" not in table):
        raise InputError(f"{kind}: give nps or diameter, and one of them alone")
    if nps is None:
        if "schedule" in table:
            raise InputError(f"{kind}: schedule belongs to nps")
        return Part(kind, table.pop("diameter"), **table)
    return Part.of(kind, nps, table.pop("schedule", "40"), **table)


def tables_of(rows):
    """Tables of the rows of a line.

    Parameters: rows, anything with kind, nps, schedule, length, count, K, bore, elevation, valves.
    Returns a list of dicts in SI, nothing that says what is understood. Source: definition.
    >>> from types import SimpleNamespace as Row
    >>> usual = dict(schedule="40", count=1, K=None, bore=None, elevation=0.0, valves=1)
    >>> tables_of([Row(kind="pipe", nps="4", length=2.0, **usual)])
    [{'kind': 'pipe', 'nps': '4', 'length': 2.0}]
    """
    plain = {"schedule": "40", "length": 0.0, "count": 1, "K": None, "bore": None,
             "elevation": 0.0, "valves": 1}  # fmt: skip
    found = []
    for row in rows:
        more = {
            key: getattr(row, key) for key, usual in plain.items() if getattr(row, key) != usual
        }
        found.append({"kind": row.kind, "nps": row.nps} | more)
    return found


def line_given(item, side):
    """The line of a valve of a plant, from its parts; None where the file gives no parts.

    Parameters: item, of `relief_valves`; side, 'inlet' or 'outlet'. Returns `Line` or None. Raises
    InputError as `line_of`, and for parts beside diameter, length and elbows of the same line.
    Source: the plant's file.
    """
    if not hasattr(item, side):
        return None
    short = [f"{side}_{name}" for name in ("diameter", "length", "elbows")]
    twice = [key for key in short if hasattr(item, key)]
    if twice:
        raise InputError(f"{item.tag}: {side} and {twice[0]} say the same line: give one of them")
    return line_of(getattr(item, side), f"{item.tag}, {side}")
