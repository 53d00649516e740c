"""Isolation against brute force: every part of random plants closed in turn, and a plain search.

The search here shares nothing with the package but the data: it walks lists of names.
"""

from dataclasses import replace

from hypothesis import given, settings, strategies as st

from relieflib.position.isolation import Network, isolate, with_spare
from relieflib.position.placement import Connection, Part, Placement

KINDS = ("block valve", "block valve", "strainer", "check valve", "control valve", "nozzle")
ITEMS = ("V-1", "V-2", "V-3", "V-4")


@st.composite
def ways(draw, name, most=2):
    """Some parts in a row, each with a tag of its own."""
    kinds = draw(st.lists(st.sampled_from(KINDS), max_size=most))
    parts = []
    for i, kind in enumerate(kinds):
        shut = kind == "block valve" and draw(st.integers(0, 5)) == 0
        passes = draw(st.sampled_from(("forward", "forward", "backward")))
        parts.append(Part(kind, f"{name}-{i}", position="closed" if shut else "open",
                          passes=passes if kind == "check valve" else "forward"))  # fmt: skip
    return tuple(parts)


@st.composite
def stations(draw, i):
    tag, n = f"PSV-{i}", draw(st.integers(1, 3))
    spare = draw(st.integers(0, n - 1))
    keyed = spare > 0 and draw(st.booleans())
    inlets = []
    for v in range(n):
        own = draw(ways(f"i{i}{v}", 1))
        if keyed:  # a spare's valve is shut, and opens before another closes
            shut = "closed" if v >= n - spare else "open"
            own = (Part("block valve", f"k{i}{v}", interlock=f"K{i}", position=shut), *own)
        inlets.append(own)
    ends = draw(st.sampled_from(("end", "end", "end", *ITEMS)))
    return Placement(tag, draw(st.sampled_from(ITEMS)), duty=n - spare, spare=spare,
                     inlet=draw(ways(f"a{i}")), outlet=draw(ways(f"o{i}")), destination=ends,
                     valve_inlets=tuple(inlets),
                     valve_outlets=tuple(draw(ways(f"x{i}{v}", 1)) for v in range(n)))  # fmt: skip


@st.composite
def networks(draw):
    placed = tuple(draw(stations(i)) for i in range(draw(st.integers(1, 4))))
    pairs = draw(st.lists(st.sampled_from([(a, b) for a in ITEMS for b in ITEMS if a < b]),
                          max_size=4, unique=True))  # fmt: skip
    joined = tuple(Connection(f"c{i}", a, b, parts=draw(ways(f"c{i}")))
                   for i, (a, b) in enumerate(pairs))  # fmt: skip
    return Network(ITEMS, placed, joined)


def passes(part, state, along=True):
    """Does flow pass a part, listed along the way or against it."""
    wrong = "backward" if along else "forward"
    return state[part.tag] and not (part.kind == "check valve" and part.passes == wrong)


def together_with(network, item, state):
    """Items that one item leads to."""
    seen, left = {item}, [item]
    while left:
        here = left.pop()
        for c in network.connections:
            for a, b, along in ((c.start, c.end, True), (c.end, c.start, False)):
                if a == here and b not in seen and all(passes(p, state, along) for p in c.parts):
                    seen.add(b)
                    left.append(b)
    return seen


def valves_of(network, item, state, on_the_way=()):
    """Valves that protect an item in one state of all parts."""
    found = set()
    here = together_with(network, item, state)
    for p in network.placements:
        for v in range(p.valves):
            chain = (*p.inlet, *p.valve_inlets[v], *p.valve_outlets[v], *p.outlet)
            if p.tapped_on in here and all(passes(x, state) for x in chain):
                d = p.destination
                if d == "end" or (
                    d not in on_the_way and valves_of(network, d, state, (*on_the_way, d))
                ):
                    found.add((p.tag, v))
    return found


def turned(network, state, tag):
    """Every state after one part is shut: what its key opens is open, one of them at a time."""
    for p in network.placements:
        keyed = {x.tag: v for v, way in enumerate(p.valve_inlets) for x in way if x.interlock}
        if tag in keyed:
            spares = [t for t in keyed if not state[t]]
            return [state | {tag: False, t: True} for t in spares] or [state | {tag: False}]
    return [state | {tag: False}]


def after_a_turn(p, out, spare):
    """What stands differently once a spare was brought in: the other's inlet shut, its own open."""
    there = (*p.valve_inlets[spare], *p.valve_outlets[spare])
    shut = [x.tag for x in p.valve_inlets[out] if x.kind == "block valve"]
    return {x.tag: True for x in there} | dict.fromkeys(shut, False)


def brute(network, changes=()):
    """{(item, tag): valves left} of every part that leaves too few, and valves in service."""
    parts = [x for p in network.placements for x in p.parts]
    parts += [x for c in network.connections for x in c.parts]
    state = {x.tag: x.position == "open" for x in parts} | dict(changes)
    cuts, service = {}, {}
    for item in network.items:
        there = valves_of(network, item, state)
        service[item] = len(there)
        own = sum(p.duty for p in network.placements if p.protects == item) or len(there)
        for x in parts:
            if there and state[x.tag] and x.kind != "nozzle":
                left = min(len(valves_of(network, item, s)) for s in turned(network, state, x.tag))
                if left < own and left < len(there):
                    cuts[item, x.tag] = left
    return cuts, service


@settings(max_examples=150, deadline=None)
@given(networks())
def test_every_cut_is_that_of_closing_each_part_in_turn(network):
    cuts, service = brute(network)
    found = isolate(network)
    assert {i: len(v) for i, v in found.in_service.items()} == service
    assert {(c.item, c.name): c.left for c in found.cuts} == cuts
    for item in network.items:  # what has no valve is said
        assert bool(service[item]) or any(w.startswith(f"{item}: nothing") for w in found.short)


@settings(max_examples=60, deadline=None)
@given(networks())
def test_every_pair_of_a_spare_brought_in_and_one_more_part(network):
    """A duty valve's key turned for a spare, then each part shut in turn: as the package turns."""
    for p in network.placements:
        keyed = any(x.interlock for way in p.valve_inlets for x in way)
        for out in range(p.duty if keyed else 0):
            for spare in range(p.duty, p.valves):
                placed = (with_spare(q, out, spare) if q is p else q for q in network.placements)
                turned = replace(network, placements=tuple(placed))
                cuts, service = brute(network, after_a_turn(p, out, spare))
                found = isolate(turned)
                assert {i: len(v) for i, v in found.in_service.items()} == service
                assert {(c.item, c.name): c.left for c in found.cuts} == cuts


@settings(max_examples=40, deadline=None)
@given(networks())
def test_one_more_closed_part_never_protects_more(network):
    """Shutting a part of a way leaves no item with more valves: monotony, outside any algorithm."""
    before = isolate(network).in_service
    first = network.placements[0]
    shut = Part("block valve", "extra", position="closed")
    after = isolate(
        Network(network.items, (_with(first, shut), *network.placements[1:]), network.connections)
    )
    assert all(len(after.in_service[i]) <= len(before[i]) for i in network.items)


def _with(placement, part):
    return replace(placement, inlet=(*placement.inlet, part))
