"""One valve for several items: at which set pressure, by heads, drops and the lowest MAWP.

An item at the far end of an open way stands higher in pressure than the valve feels: by the liquid
that stands between, always, and by what the flow loses on the way, while it relieves. The set
pressure must leave room for both under the MAWP of every item, so the weakest rules.
"""

from dataclasses import dataclass

import numpy as np

from relieflib import set_pressure, valve_questions as ask
from relieflib.errors import InputError, finite, need, not_negative, positive, result
from relieflib.position.isolation import node_of
from relieflib.symbols import shown
from relieflib.texts import clean

SOURCE = ("set no higher than MAWP less the head: ASME BPVC XIII (formerly VIII-1 UG-134, UG-98); "
          "one valve for several vessels: VIII-1 UG-133, API 521, from memory")  # fmt: skip


LOWEST = 15.0 * set_pressure.PSI  # below it another code rules: tanks


@dataclass(frozen=True)
class Shared:
    """One item that a device protects: MAWP [Pa gauge], head and drop [Pa], highest set [Pa gauge].

    NaN where it is not known.
    """

    item: str
    mawp_gauge: float
    static_head: float
    line_drop: float
    highest_set: float

    def __str__(self):
        if np.isnan(self.highest_set):
            return f"{clean(self.item)}: not known: head, drop or MAWP is not given"
        return f"{clean(self.item)}: {shown('set_pressure_gauge', self.highest_set)} at most"


def highest_set(mawp_gauge, static_head=0.0, line_drop=0.0, fire=False):
    """Highest set pressure of a valve at the other end of an open way.

    Shut, it feels the item's pressure less the head; while it relieves, less the drop as well, and
    the item may then stand at its accumulated pressure. Parameters: mawp_gauge [Pa gauge] of the
    item; static_head, of liquid from the valve down to the item, below 0 where the item stands
    higher [Pa]; line_drop between them while relieving [Pa]; fire, the limit of a fire. Returns
    [Pa gauge]; NaN in gives NaN out. Raises InputError where nothing is left.
    Validity: one valve, which relieves at 10 % above set, or 3 psi. Source: as `SOURCE`.
    >>> round(float(highest_set(72e5, line_drop=3.7e5)) / 1e5, 2)
    68.64
    """
    P, drop = positive(mawp_gauge=mawp_gauge), not_negative(line_drop=line_drop)
    head = finite(static_head=static_head)
    shut = ask.highest_set_of("ASME VIII", mawp_gauge)[0] - head
    left = P + set_pressure.accumulation_limit(mawp_gauge, fire=fire) - drop - head
    share, floor = set_pressure.LIMITS["fire"] if fire else set_pressure.LIMITS["single"]
    found = np.minimum(shut, np.minimum(left / (1.0 + share), left - floor))
    if np.any(found <= 0):
        raise InputError(
            "static_head and line_drop: nothing of the MAWP is left for a set pressure"
        )
    return result(found)


def shared_items(plant, network, tag):
    """Every item that a device protects, its own first, with the highest set that suits it.

    Parameters: plant; network, its `isolation.Network`; tag of the device. Returns a list of
    `Shared`; heads and drops add up along the way with the fewest connections.
    Source: as `SOURCE`.
    >>> from relieflib.plant import load_plant
    >>> from relieflib.position.isolation import network_of
    >>> plant = load_plant()
    >>> print(*shared_items(plant, network_of(plant), "PSV-103"), sep="; ")
    V-101: 72 barg at most; E-101 hot: 68.64 barg at most
    """
    placement = next((p for p in network.placements if p.tag == tag), None)
    if placement is None:
        raise InputError(f"tag '{tag}': no placement of it can be used")
    nx, ways = need("networkx"), need("networkx").Graph()
    ways.add_node(placement.tapped_on)
    for c in network.connections:
        beside = ways.get_edge_data(c.start, c.end, {"ways": ()})["ways"]
        ways.add_edge(c.start, c.end, ways=(*beside, c))
    own = placement.tapped_on
    found = [_one(plant, own, 0.0, _given(placement.tapping_drop))]
    for item, path in nx.single_source_shortest_path(ways, own).items():
        if item != own:
            found.append(_one(plant, item, *_along(ways, path[::-1])))
    return found


def _given(value):
    return np.nan if value is None else value


def _along(ways, path):
    """Head and drop from an item to the valve's own, along the items of a path."""
    head = drop = 0.0
    for here, there in zip(path, path[1:]):  # of ways beside each other the worst
        beside = ways.edges[here, there]["ways"]
        head += np.max([_given(c.static_head) * (1.0 if c.start == here else -1.0) for c in beside])
        drop += np.max([_given(c.line_drop) for c in beside])
    return head, drop


def _one(plant, item, head, drop):
    mawp = mawp_of(plant, item)
    known = mawp >= LOWEST and not np.isnan([head, drop]).any()
    found = highest_set(mawp, head, drop) if known else np.nan
    return Shared(item, mawp, head, drop, found)


def mawp_of(plant, item):
    """MAWP of an item of a network [Pa gauge], of an exchanger by its side; NaN for none.

    Parameters: plant; item, as `isolation.node_of` calls it. Returns float. Source: the file.
    """
    tag, _, side = item.partition(" ")
    there = plant.items.get(tag)
    if side:
        return getattr(there, f"{side}_mawp_gauge", np.nan)
    try:
        return plant.mawp_gauge(tag)
    except InputError:
        return np.nan


__all__ = ["Shared", "highest_set", "mawp_of", "node_of", "shared_items"]
