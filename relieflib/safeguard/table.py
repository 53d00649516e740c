"""The safeguard matrix: causes in rows, installed valves in columns, and what would be needed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from relieflib import orifices
from relieflib.errors import InputError
from relieflib.safeguard.installed import Valve
from relieflib.safeguard.judge import (
    COVERS,
    FAILS,
    UNKNOWN,
    WORST_FIRST,
    Cover,
    cover,
)
from relieflib.texts import clean, html_text

_SHADE = {COVERS: "#BFE3D6", FAILS: "#F4C7AB", UNKNOWN: "#E4E4E4"}


@dataclass(frozen=True)
class Matrix:
    """Covers of one protected system: causes, valves in their order, covers by (cause, tag).

    trips stand beside the valves, with covers of their own; a cause that a trip alone covers stays
    among the `uncovered`, for the load is still there when the trip fails.
    """

    causes: tuple
    valves: tuple
    covers: dict
    trips: tuple = ()

    def __getitem__(self, key):
        if key not in self.covers:
            raise InputError(f"{key!r}: give a cause and a tag of this matrix")
        return self.covers[key]

    @property
    def columns(self):
        """Valves, then trips."""
        return (*self.valves, *self.trips)

    def of(self, cause):
        """Covers of a cause, in the order of the valves."""
        return [self[cause, valve.tag] for valve in self.valves]

    @property
    def best(self):
        """Cause -> its best `Cover`; one that covers is enough."""
        return {cause: max(self.of(cause), key=_rank) for cause in self.causes}

    @property
    def worst(self):
        """Cause -> its worst `Cover`."""
        return {cause: min(self.of(cause), key=_rank) for cause in self.causes}

    @property
    def worst_of_valve(self):
        """Tag -> (cause, `Cover`) that fits that valve worst."""
        return {
            v.tag: min(((c, self[c, v.tag]) for c in self.causes), key=lambda pair: _rank(pair[1]))
            for v in self.valves
        }

    @property
    def uncovered(self):
        """Causes that no single valve covers, what is not known among them."""
        return tuple(c for c, best in self.best.items() if best.verdict != COVERS)

    @property
    def misdirected(self):
        """(cause, tag) of what would leave into a destination not meant for its phase."""
        return tuple(
            key
            for key, c in self.covers.items()
            if key[1] in {v.tag for v in self.valves} and c.about("destination").verdict == FAILS
        )

    def rows(self):
        """The matrix as a list of dicts of str: 'cause', then tag -> verdict in words."""
        return [
            {"cause": cause} | {v.tag: self[cause, v.tag].cell for v in self.columns}
            for cause in self.causes
        ]

    def why_not(self):
        """Lines of text: each cell that does not cover, with all that stands against it."""
        lines = []
        for (cause, tag), c in self.covers.items():
            if c.why_not:
                lines.append(f"{cause}, {tag}: {c.verdict}")
                lines += [f"    {reason}" for reason in c.why_not]
        return lines

    def __str__(self):
        lines = []
        for cause in self.causes:
            lines.append(cause)
            lines += [f"    {v.tag}: {self[cause, v.tag].cell}" for v in self.columns]
        left = ", ".join(self.uncovered) or "none"
        return clean("\n".join([*lines, f"not covered by any valve, or not known: {left}"]))

    def __repr__(self):
        return str(self)

    def _repr_html_(self):
        cell = "text-align:left;border:1px solid #888;padding:3px 8px"
        head = "".join(
            f"<th scope='col' style='{cell}'>{html_text(v.tag)}<br><small>"
            f"{html_text(v.arrangement)}</small></th>"
            for v in self.columns
        )
        body = "".join(
            f"<tr><th scope='row' style='{cell}'>{html_text(cause)}</th>"
            + "".join(_html_cell(self[cause, v.tag], cell) for v in self.columns) + "</tr>"
            for cause in self.causes
        )  # fmt: skip
        left = html_text(", ".join(self.uncovered) or "none")
        return (f"<table style='border-collapse:collapse'><tr><th scope='col' style='{cell}'>cause"
                f"</th>{head}</tr>{body}</table><p>Not covered by any valve, or not known: {left}."
                "</p>")  # fmt: skip


def _html_cell(found, style):
    return (f"<td style='{style};background:{_SHADE[found.verdict]};color:#000'>"
            f"{html_text(found.cell)}</td>")  # fmt: skip


def _rank(found):
    """Better is higher: verdict first, then how few reasons stand against it, then the area."""
    share = 0.0 if np.isnan(found.covered) else min(found.covered, 1e9)
    return WORST_FIRST.index(found.verdict), -len(found.why_not), share


def matrix(valves: Iterable[Valve], loads: Mapping | Iterable, trips: Iterable = ()) -> Matrix:
    """The safeguard matrix of one protected system: every valve against every cause.

    Parameters
    ----------
    valves : iterable of Valve
        With different tags, that protect one item; valves that lift together are one `Valve` with
        their count.
    loads : dict of str to ReliefLoad, or iterable of ReliefLoad
    trips : iterable of protection.trips.Trip, optional
        Of the same item; each is judged as a safeguard, and none takes anything off a load.

    Returns
    -------
    Matrix

    Raises
    ------
    InputError
        For none, a tag or cause that stands twice, valves of several items, and for a load that is
        no single number.

    Notes
    -----
    As `cover`; each valve is judged alone.

    Examples
    --------
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.safeguard.installed import Valve
    >>> from relieflib.sizing import ReliefLoad
    >>> load = ReliefLoad("closed_outlet", 4.7, Gas(12.1e5, 320.0, molar_mass=29.0, k=1.4))
    >>> matrix([Valve("PSV-1", set_pressure_gauge=10e5, designation="3K4")], [load]).uncovered
    ('closed outlet',)
    """
    valves, trips = tuple(valves), tuple(trips)
    if not isinstance(loads, Mapping):
        pairs = [(load.cause.replace("_", " "), load) for load in loads]
        _once("cause", [cause for cause, _ in pairs])
        loads = dict(pairs)
    if not valves or not loads:
        raise InputError("matrix: give at least one valve and one load")
    _once("tag", [one.tag for one in (*valves, *trips)])
    items = sorted({one.protects for one in (*valves, *trips)})
    if len(items) > 1:
        raise InputError(f"valves of {' and '.join(items)}: a matrix is of one protected item")
    covers = {(c, v.tag): cover(v, load) for c, load in loads.items() for v in valves}
    covers |= {(c, t.tag): t.judge(c, load) for c, load in loads.items() for t in trips}
    return Matrix(tuple(loads), valves, covers, trips)


def _once(what, names):
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError(f"{what} '{twice[0]}' stands twice: give each its own name")


def _by_area(valve, load):
    found = cover(valve, load)
    return found.about("area").verdict == COVERS, found


def larger(valve, load):
    """The valve in the smallest letter that carries a load, as many valves as there are.

    Parameters: valve, a `safeguard.Valve`; load, `ReliefLoad`. Returns a `Valve` in the usual
    sizes, its lines not known since the old ones belong to another size; None where T is too small.
    Raises InputError where the valve can't be sized for the load.
    Source: API 526; `orifices.arrangements` of the required area.
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.safeguard.installed import Valve
    >>> from relieflib.sizing import ReliefLoad
    >>> load = ReliefLoad("closed_outlet", 4.7, Gas(12.1e5, 320.0, molar_mass=29.0, k=1.4))
    >>> larger(Valve("PSV-1", set_pressure_gauge=10e5, designation="3K4"), load).designation
    '3L4'
    """
    required = _required(valve, load)
    if not required:
        return valve
    try:
        fits = orifices.arrangements(required, valve.count)
    except InputError:
        return None
    smallest = next(a.duty[0] for a in fits if len(set(a.duty)) == 1)
    letters = list(orifices.LETTERS)
    # a viscous liquid may need a letter more: its Reynolds number is that of the installed orifice
    for letter in letters[letters.index(smallest) :]:
        bigger = replace(
            valve, tag=f"{valve.tag} as {letter}", area=None, letter=None, inlet=None, outlet=None,
            designation=str(orifices.usual_designation(letter)),
        )  # fmt: skip
        if _by_area(bigger, load)[0]:
            return bigger
    return None


def one_more(valve, load):
    """The valve with as many more of its size as carry a load, all at its lowest set pressure.

    Parameters: valve, a `safeguard.Valve` of one size; load, `ReliefLoad`. Returns a `Valve`, each
    of its valves with lines like the old ones; None where 8 are too few. Raises InputError where
    the valve can't be sized for the load, or holds several sizes.
    Source: areas add up; ASME BPVC XIII allows several valves.
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.safeguard.installed import Valve
    >>> from relieflib.sizing import ReliefLoad
    >>> load = ReliefLoad("closed_outlet", 4.7, Gas(12.1e5, 320.0, molar_mass=29.0, k=1.4))
    >>> one_more(Valve("PSV-1", set_pressure_gauge=10e5, designation="3K4"), load).arrangement
    '2 x 3K4'
    """
    if len(set(valve.areas)) > 1:
        raise InputError(f"{valve.tag}: holds valves of several sizes; say which to add")
    _required(valve, load)
    for n in range(valve.count + 1, orifices.MOST_VALVES + 1):
        more = replace(valve, tag=f"{valve.tag} x {n}", count=n, designation=valve.names[0],
                       set_pressure_gauge=min(valve.sets))  # fmt: skip
        if _by_area(more, load)[0]:
            return more
    return None


def _required(valve, load):
    good, found = _by_area(valve, load)
    if found.sizing is None:
        raise InputError(f"{valve.tag}: {found.about('area').words}")
    return found.required_area


__all__ = ["Cover", "Matrix", "larger", "matrix", "one_more"]
