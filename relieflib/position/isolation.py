"""What one closed valve does: which items it leaves without protection, found in the topology.

Every way from an item to a relief valve, and from that valve to the end, is a walk over a graph of
items, parts, valves and ends. A part through which all those ways lead is a dominator of the valve
seen from the item, or of the valve seen from the end: one pass finds all of them. What opens
and closes together (an interlock, a three-way valve) and a tag that stands twice are tried by a
walk each.

A valve that is locked open can still be closed: it is found as well, and told apart by `held`.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from functools import cached_property

from relieflib.errors import InputError, need
from relieflib.position.placement import (
    HAND,
    MOVES,
    PLUGS,
    connections,
    placements,
)
from relieflib.texts import clean

END = ("end",)
EVERY = "every part that stands closed"
SECTIONS = ("vessels", "columns", "reactors", "tanks", "pumps", "exchangers", "lines", "equipment")
HELD = ("locked open", "car sealed open")
CODE = "ASME BPVC XIII, Part 12 (formerly VIII-1 UG-135(d), appendix M); API 520-II, from memory"
ASKS = (
    "the code lets a block valve stand there only with a written procedure, and with somebody "
    "beside it who watches the pressure and can relieve it by hand while it is shut"
)
_MEND = {
    HAND: "lock it open under a written procedure, or take it out",
    MOVES: "take the way off before the control valve",
    PLUGS: "take the way off before what may plug",
}


@dataclass(frozen=True)
class Network:
    """What isolation is asked of: items, placements, connections, and the ends they lead to.

    unprotected, {item: reason}; needs, {item: valves that must be left}, where they differ from
    the valves in duty that are there for it; wrong, words on what could not be used.
    """

    items: tuple
    placements: tuple
    connections: tuple = ()
    ends: tuple = ("end",)
    unprotected: dict = field(default_factory=dict)
    needs: dict = field(default_factory=dict)
    wrong: tuple = ()


@dataclass(frozen=True)
class Cut:
    """One part that, closed or plugged alone, leaves an item with too few valves.

    item; name of the part, its tag or where it stands; part; owner, the device or connection in
    whose way it stands, with its place there; left and needed, numbers of valves.
    """

    item: str
    name: str
    part: object
    owner: str
    place: tuple
    left: int
    needed: int

    @property
    def held(self):
        """Is it kept open by a lock or a seal, so that it closes only on purpose."""
        return self.part.secured in HELD

    @property
    def unsaid(self):
        """Is it not given how it is kept open."""
        return self.part.secured is None and self.part.what_happens == HAND and not self.part.group

    @property
    def words(self):
        """What happens, in words."""
        what = self.part.what_happens
        how = f", {self.part.secured}" if self.part.secured not in (None, "no") else ""
        if what == HAND and self.part.secured is None:
            how = ", how it is secured is not given"
        elif what == HAND and self.part.secured == "no":
            how = ", not secured"
        left = "no valve" if not self.left else f"{self.left} of {self.needed} valves"
        return f"{self.name} ({self.part.kind}{how}) {what}: {self.item} is left with {left}"

    @property
    def mend(self):
        """One change that mends it, in words."""
        if self.held:
            return ("kept by its procedure alone; a spare behind an interlock or a three-way valve "
                    "does without")  # fmt: skip
        return _MEND.get(self.part.what_happens, "take the way off before the check valve")

    def __str__(self):
        return clean(self.words)


def network_of(plant):
    """The `Network` of a plant: pressure equipment, placements and connections of its file.

    An exchanger is two items, 'E-1 hot' and 'E-1 cold'; a device that protects it stands on the
    cold side. Parameters: plant. Returns `Network`, whose `wrong` holds what could not be used.
    Source: the plant's file.
    """
    found, wrong = placements(plant)
    ways, more = connections(plant)
    items = []
    for section in SECTIONS:
        for item in plant.of(section):
            sides = (" hot", " cold") if section == "exchangers" else ("",)
            items += [item.tag + side for side in sides]
    mapped = [
        replace(p, tapped_on=node_of(plant, p.tapped_on), protects=node_of(plant, p.protects))
        for p in found.values()
    ]
    reasons = {tag: item.reason for tag, item in plant.unprotected.items()}
    stray = [f"unprotected {tag}: is no item" for tag in reasons if tag not in items]
    devices = [d.tag for s in ("relief_valves", "rupture_disks", "tank_vents") for d in plant.of(s)]
    missing = [f"{tag}: where it stands is not given" for tag in devices
               if tag not in plant.placements]  # fmt: skip
    wrong = (*wrong, *more, *stray, *missing)
    return Network(tuple(items), tuple(mapped), tuple(ways), tuple(plant.headers), reasons, {},
                   wrong)  # fmt: skip


def node_of(plant, tag):
    """The item of a `Network` that a device's tag stands for: the cold side of an exchanger.

    Parameters: plant; tag. Returns str. Source: `Plant.mawp_gauge`, which takes that side too.
    """
    there = plant.items.get(tag)
    return f"{tag} cold" if there is not None and there.section == "exchangers" else tag


class _Graph:
    """The graph of a network: one node an item, a valve, and a part where it stands."""

    def __init__(self, network):
        self.nx = need("networkx")
        self.network, self.wrong, self.parts, self.valves = network, list(network.wrong), {}, {}
        self.items, self.edges, self.joined = set(network.items), [], self.nx.DiGraph()
        self.tags, self.groups = defaultdict(list), defaultdict(lambda: defaultdict(list))
        self.own, self.tapped, self.chains = defaultdict(int), defaultdict(list), {}
        self.between, self.behind, self.chained = defaultdict(list), {}, False
        for c in network.connections:
            self._connect(c)
        for p in network.placements:
            self._place(p)
        self.closed = {n for n, part in self.parts.items() if part.position == "closed"}
        self.joined.add_nodes_from(("item", i) for i in network.items)
        self.joined.add_edges_from((a, b) for a, after in self.between.items() for b in after
                                   if not {a, b} & self.closed)  # fmt: skip

    def _known(self, item, who):
        if item in self.items:
            return True
        self.wrong.append(f"{who}: '{item}' is no item of the plant")
        return False

    def _connect(self, c):
        known = [self._known(i, f"connection {c.tag}") for i in (c.start, c.end)]
        if all(known):
            nodes = [self._node(c.tag, ("way", None, i), p) for i, p in enumerate(c.parts)]
            self._chain([("item", c.start), *nodes, ("item", c.end)], both=True)

    def _place(self, p):
        if not self._known(p.tapped_on, f"{p.tag} protects nothing"):
            return
        if self._known(p.protects, f"{p.tag} protects nothing"):
            self.own[p.protects] += p.duty
        ways = defaultdict(list)
        for place, part in p.places:
            ways[place[:2]].append(self._node(p.tag, place, part))
        shared = [*ways["outlet", None], self._leads_to(p)]
        for v in range(p.valves):
            valve = ("valve", p.tag, v)
            self.valves[valve] = p
            way_in = [*ways["inlet", None], *ways["valve inlet", v]]
            way_out = [*ways["valve outlet", v], *shared]
            self._chain([("item", p.tapped_on), *way_in, valve, *way_out])
            self.tapped[p.tapped_on].append(valve)
            self.chained |= way_out[-1][0] == "item"
            for n in (*way_in, *way_out[:-1]):
                self.behind.setdefault(n, []).append(valve)
            against = any(self.parts[n].passes == "backward" for n in (*way_in, *way_out[:-1]))
            self.chains[valve] = [] if against else [*way_in, *way_out]

    def _leads_to(self, p):
        if p.destination in self.network.ends:
            return END
        here = self._known(p.destination, f"{p.tag} leads nowhere")
        return ("item", p.destination) if here else ("lost", p.tag)

    def _node(self, owner, place, part):
        node = ("part", owner, place)
        self.parts[node] = part
        if part.group:
            self.groups[part.group][owner, place[1]].append(node)
        if part.what_happens and part.tag and part.kind != "three-way valve":
            self.tags[part.tag].append(node)
        return node

    @cached_property
    def forward(self):
        """Every way, along the flow, whatever stands closed."""
        graph = self.nx.DiGraph(self.edges)
        graph.add_nodes_from([END, *self.parts, *self.valves, *(("item", i) for i in self.items)])
        return graph

    @cached_property
    def names(self):
        """Tag of each valve with its letter."""
        own = {p.tag: p.names for p in self.network.placements}
        return {valve: own[valve[1]][valve[2]] for valve in self.valves}

    def name(self, node):
        """What a part is called: its tag, or where it stands."""
        _, owner, (side, v, i) = node
        part, which = self.parts[node], "" if v is None else f" of valve {v + 1}"
        if part.kind == "three-way valve":
            return f"{part.tag} turned away from {self.valve_name(('valve', owner, v or 0))}"
        return part.tag or f"{part.kind} {i + 1} in the {side}{which} of {owner}"

    def valve_name(self, valve):
        """Tag of a valve with its letter."""
        return self.names[valve]

    def _chain(self, nodes, both=False):
        """Lead from node to node; back as well where `both`, but never against a check valve."""
        for a, b in zip(nodes, nodes[1:]):
            ways = {self.parts[n].passes for n in (a, b)
                    if n in self.parts and self.parts[n].kind == "check valve"}  # fmt: skip
            for here, there, ends in ((a, b, "backward"), (b, a, "forward")):
                if ends not in ways and (both or here == a):
                    self.edges.append((here, there))
                    if both:
                        self.between[here].append(there)

    def reach(self, item, shut=(), opened=()):
        """Valves that an item reaches, each only if its end is reached.

        shut, parts closed beside those that stand closed; opened, which of these are open.
        """
        return [
            valve for node in self.walk(("item", item), shut, opened) if node[0] == "item"
            for valve in self.tapped[node[1]] if self.serves(valve, shut, opened)
        ]  # fmt: skip

    def walk(self, start, shut=(), opened=()):
        """Items and parts between them that an item leads to, itself among them."""
        seen, left = {start: None}, [start]
        while left:
            here = left.pop()
            for n in self.between[here]:
                if n not in seen and self._free(n, shut, opened):
                    seen[n] = None
                    left.append(n)
        return seen

    def _free(self, node, shut, opened):
        if node in shut:
            return False
        return opened is EVERY or node not in self.closed or node in opened

    def serves(self, valve, shut=(), opened=(), passed=()):
        """Is a valve's own way free from the item to the end, that of an item it leads to too."""
        chain = self.chains[valve]
        if not chain or not all(self._free(n, shut, opened) for n in chain[:-1]):
            return False
        end = chain[-1]
        if end[0] != "item":
            return end == END
        return end not in passed and any(
            self.serves(v, shut, opened, (*passed, end))
            for node in self.walk(end, shut, opened) if node[0] == "item"
            for v in self.tapped[node[1]]
        )  # fmt: skip

    def dominators(self, graph, start):
        """Immediate dominator of each node that a start leads to, the start's own left out."""
        if not graph[start]:
            return {}
        found = self.nx.immediate_dominators(graph, start)
        return {n: above for n, above in found.items() if n != start}

    def above(self, idom, node):
        """Parts that every way to a node leads through."""
        found = []
        while (node := idom.get(node)) is not None:
            if node in self.parts:
                found.append(node)
        return found

    def always(self):
        """Parts that the way of each valve in service leads through, from its item to the end."""
        found = {v: self.chains[v][:-1] for v in self.valves if self.serves(v)}
        if self.chained:
            shut = [n for n in self.forward if n in self.closed]
            back = self.nx.reverse(self.forward)
            back.remove_nodes_from(shut)
            to_end = self.dominators(back, END)
            found = {v: dict.fromkeys([*own, *self.above(to_end, v)]) for v, own in found.items()}
        return {v: [n for n in own if self.parts[n].what_happens] for v, own in found.items()}

    def together(self):
        """What a walk must try: ({a node to call it by: states}, {node: the one of its kind}).

        A state is what is shut and what is opened. Of an interlock, what one valve has of it closes
        and what a spare has opens, for each spare; a tag that stands in several places closes in
        all of them.
        """
        states, of = {}, {}
        for group in self.groups.values():
            for key, own in group.items():
                of |= dict.fromkeys(own, own[0])
                if not set(own) & self.closed:
                    states[own[0]] = self._turned(group, key)
        for nodes in self.tags.values():
            if len(nodes) > 1 and not self.parts[nodes[0]].group:
                of |= dict.fromkeys(nodes, nodes[0])
                states[nodes[0]] = [(set(nodes), ())]
        return states, of

    def _turned(self, group, key):
        own, spares = set(group[key]), []
        for other, members in group.items():
            if other != key and set(members) & self.closed:
                spares.append(set(members))
        return [(own, spare) for spare in spares] or [(own, ())]


@dataclass(frozen=True)
class Isolation:
    """What was found of a network.

    cuts, every `Cut`; in_service, {item: tags of the valves that protect it as drawn}; short, words
    on items that have too few of them as drawn; wrong, words on what could not be used.
    """

    cuts: tuple
    in_service: dict
    short: tuple
    wrong: tuple

    @property
    def loose(self):
        """Cuts that no lock or seal holds open."""
        return tuple(c for c in self.cuts if not c.held)

    @property
    def held(self):
        """Cuts that a lock or seal holds open: they can still be closed."""
        return tuple(c for c in self.cuts if c.held)

    def of(self, item):
        """Cuts of one item."""
        return tuple(c for c in self.cuts if c.item == item)

    def at(self, owner):
        """Cuts in the way of one device or connection."""
        return tuple(c for c in self.cuts if c.owner == owner)


def isolate(network):
    """Which parts, each closed or plugged alone, leave an item with too few valves.

    Parameters: network, a `Network`. Returns `Isolation`. An item needs as many valves as are in
    duty on it; one that has none of its own as many as it reaches as drawn; `needs` overrules.
    What is wrong in the network is said in words, and the rest still found. Raises InputError
    without networkx. Validity: a valve counts as one, whatever its size.
    Source: nothing may close between a valve and what it protects, nor behind it, unless the code's
    conditions are met: ASME BPVC XIII, Part 12 (formerly VIII-1 UG-135), from memory.
    >>> from relieflib.position.placement import Part, Placement
    >>> one = Placement("PSV-1", "V-1", inlet=(Part("block valve", "HV-1", secured="no"),),
    ...                 destination="end")
    >>> print(*isolate(Network(("V-1",), (one,))).cuts)
    HV-1 (block valve, not secured) closed by hand: V-1 is left with no valve
    """
    graph = _Graph(network)
    ways = _Ways(graph)
    order = {valve: i for i, valve in enumerate(graph.valves)}
    service, cuts, short = {}, [], []
    for item in network.items:
        idom = graph.dominators(graph.joined, ("item", item))
        here = [item, *(node[1] for node in idom if node[0] == "item")]
        valves = sorted((v for i in here for v in graph.tapped[i] if v in ways.always),
                        key=order.get)  # fmt: skip
        service[item] = tuple(graph.valve_name(v) for v in valves)
        needed = network.needs.get(item, graph.own[item] or len(valves))
        if len(valves) < max(needed, 1) and item not in network.unprotected:
            short.append(_short(graph, item, len(valves), needed))
        if valves:  # a part that takes no valve away is no cut
            left = ways.left(item, here, valves, idom, min(needed, len(valves)))
            found = [_cut(graph, item, node, n, needed) for node, n in left.items()]
            cuts += sorted(found, key=lambda c: (c.held, c.name))
    wrong = [*graph.wrong, *_lost(graph), *_twice(graph)]
    return Isolation(tuple(cuts), service, tuple(short), tuple(wrong))


class _Ways:
    """What one closed part takes away: by valve, by the item the valve stands on, by group.

    Valves that stand on one item share their way from every other item, so that each item is asked
    once for all of them, and only where the loss could be enough.
    """

    def __init__(self, graph):
        self.graph, self.always = graph, graph.always()
        self.states, self.of = graph.together()
        self.taken = defaultdict(lambda: defaultdict(int))  # item -> part of a valve's own way -> n
        for v, parts in self.always.items():
            for node in parts:
                self.taken[graph.valves[v].tapped_on][node] += 1
        self.most = {item: max(lost.values()) for item, lost in self.taken.items() if lost}
        self.tied, self.between = defaultdict(dict), []  # item -> groups; groups between items
        for node, states in self.states.items():
            self._tie(node, {n for shut, opened in states for n in (*shut, *opened)})

    def _tie(self, node, members):
        if self.graph.chained or not members <= self.graph.behind.keys():
            self.between.append(node)
            return
        behind = {v for n in members for v in self.graph.behind[n]}
        for v in behind:
            self.tied[self.graph.valves[v].tapped_on][node] = len(behind)

    def left(self, item, here, valves, idom, few):
        """Valves left to an item with each part closed, where they are too few: {node: number}."""
        spared = len(valves) - few  # so many may go
        lost = self._taken_away(valves, idom, spared)
        left = {node: len(valves) - n for node, n in lost.items()
                if n > spared and node not in self.of and self.graph.parts[node].what_happens
                }  # fmt: skip
        tied = dict.fromkeys(n for i in here for n, k in self.tied[i].items() if k > spared)
        for node in (*self.between, *tied):
            states = self.states[node]
            worst = min(_left_in(self.graph, item, valves, idom, state) for state in states)
            if worst < few:
                left[node] = worst
        return left

    def _taken_away(self, valves, idom, spared):
        """How many valves each part takes away; not of each where no part takes enough."""
        lost = defaultdict(int)
        if self.graph.chained:  # a way may lead through one part before and behind its valve
            for v in valves:
                before = self.graph.above(idom, ("item", self.graph.valves[v].tapped_on))
                for node in {*self.always[v], *before}:
                    lost[node] += 1
            return lost
        for i, n in Counter(self.graph.valves[v].tapped_on for v in valves).items():
            for node in self.graph.above(idom, ("item", i)):
                lost[node] += n
            if self.most.get(i, 0) > spared:
                lost |= self.taken[i]  # no part stands in the ways of two items
        return lost


def _left_in(graph, item, valves, idom, state):
    """Valves left in a state: only those are looked at again in whose way something changes."""
    changed = {v for node in (*state[0], *state[1]) for v in graph.behind.get(node, ())}
    if graph.chained or any(node not in graph.behind for node in state[0]):
        return len(graph.reach(item, *state))
    here = [v for v in changed if ("item", graph.valves[v].tapped_on) in idom
            or graph.valves[v].tapped_on == item]  # fmt: skip
    as_drawn = len(valves) - sum(v in here for v in valves) if here else len(valves)
    return as_drawn + sum(graph.serves(v, *state) for v in here)


def _cut(graph, item, node, left, needed):
    part = graph.parts[node]
    return Cut(item, graph.name(node), part, node[1], node[2], left, needed)


def _short(graph, item, there, needed):
    if there:
        return f"{item}: {there} of {needed} valves protect it as drawn"
    if graph.reach(item, opened=EVERY):
        return f"{item}: nothing protects it as drawn: something stands closed"
    return f"{item}: nothing protects it"


def _lost(graph):
    """Words on valves whose way leads to no end: it comes back, or stops."""
    words = {}
    for v, p in graph.valves.items():
        if p.tag not in words and not graph.serves(v, opened=EVERY):
            back = graph.nx.has_path(graph.forward, v, ("item", p.tapped_on))
            words[p.tag] = (f"{p.tag}: its way leads back to {p.tapped_on}, a loop" if back
                            else f"{p.tag}: its way leads to no end")  # fmt: skip
    return words.values()


def _twice(graph):
    """Words on a tag that stands twice, in one way or in those of different items: a slip."""
    words, item_of = [], {p.tag: p.tapped_on for p in graph.network.placements}
    for tag, nodes in graph.tags.items():
        if len(nodes) == 1:
            continue
        owners = {n[1] for n in nodes}
        if len({item_of.get(o, o) for o in owners}) > 1:
            words.append(f"part {tag}: stands in the ways of {' and '.join(sorted(owners))}, which "
                         "protect different items")  # fmt: skip
        elif len(owners) < len(nodes):
            words.append(f"part {tag}: stands {len(nodes)} times in the way of {min(owners)}")
    devices = {name for p in graph.network.placements for name in (p.tag, *p.names)}
    words += [f"part {tag}: has the tag of a relief device" for tag in graph.tags if tag in devices]
    tags = Counter(p.tag for p in graph.network.placements)
    words += [f"{tag}: is placed {n} times" for tag, n in tags.items() if n > 1]
    return words


def closable(network):
    """Every part that may close, stick or plug and stands open, by name: its tag or its place.

    Parameters: network. Returns a list of str. Source: `placement.KINDS`.
    """
    graph = _Graph(network)
    return list(dict.fromkeys(
        graph.name(n) for n, part in graph.parts.items()
        if part.what_happens and part.position == "open"
    ))  # fmt: skip


def left_with(network, name=""):
    """Valves that protect each item with one part closed or plugged, by a walk from each item.

    Parameters: network; name of the part as in `closable`, '' for none. Of an interlock, what the
    first spare has of it is open then. Returns {item: tags of valves}. Raises InputError for
    another name. Source: as `isolate`.
    """
    graph = _Graph(network)
    nodes = [n for n in graph.parts if graph.name(n) == name]
    if name and not nodes:
        raise InputError(f"part '{name}': is none that may close")
    states, of = graph.together()
    shut, opened = (set(nodes), ()) if not nodes or nodes[0] not in of else states[of[nodes[0]]][0]
    return {i: tuple(graph.valve_name(v) for v in graph.reach(i, shut, opened))
            for i in network.items}  # fmt: skip


def mended(network, cut):
    """The network with the one change that mends a cut: what is loose locked, what plugs left out.

    Parameters: network; cut, a `Cut` of it. Returns `Network`; a part that is locked open is found
    again, as `held`. Source: `Cut.mend`.
    """
    hand = cut.part.what_happens == HAND and not cut.held
    new = (replace(cut.part, secured="locked open"),) if hand else ()
    ways = tuple(_changed(one, cut, new) if one.tag == cut.owner else one
                 for one in (*network.placements, *network.connections))  # fmt: skip
    n = len(network.placements)
    return replace(network, placements=ways[:n], connections=ways[n:])


def _changed(owner, cut, new):
    """A placement or connection with another part, or none, where a cut stands."""
    side, v, i = cut.place
    name = {"way": "parts", "inlet": "inlet", "outlet": "outlet", "valve inlet": "valve_inlets",
            "valve outlet": "valve_outlets"}[side]  # fmt: skip
    if v is None:
        way = getattr(owner, name)
        return replace(owner, **{name: (*way[:i], *new, *way[i + 1 :])})
    ways = list(getattr(owner, name))
    ways[v] = (*ways[v][:i], *new, *ways[v][i + 1 :])
    return replace(owner, **{name: tuple(ways)})


def exchange(placement, open_end=False):
    """Can a spare be brought in, and a valve in duty taken out, without a moment of none.

    Parameters: placement, a `Placement` with a spare; open_end, its own outlet ends in the air
    alone. Returns (True, False or None where it has no spare, words). Each valve in duty must have
    something to shut at its inlet, and at its outlet where that leads on to a header or joins that
    of another; what a spare has shut must open before, by an interlock or a three-way valve, or
    else by a lock and its procedure.
    Source: ASME BPVC XIII, Part 12 (formerly VIII-1 appendix M); API 520-II, from memory.
    >>> from relieflib.plant import load_plant
    >>> from relieflib.position.placement import placement
    >>> exchange(placement(load_plant(), "PSV-106"))
    (True, 'PSV-106B opens before PSV-106A is shut')
    """
    if not placement.spare:
        return None, "it has no spare"
    for v in range(placement.duty):
        name = placement.names[v]
        own = _by_hand(placement.valve_inlets[v])
        if not own:
            return False, f"{name} can't be taken out while it runs: nothing shuts its inlet"
        joined = not open_end or placement.outlet
        if joined and not _by_hand(placement.valve_outlets[v]):
            return False, (f"{name} can't be taken out while it runs: nothing shuts its outlet "
                           "from what the others discharge")  # fmt: skip
        w, words = _brought_in(placement, v, own)
        if w is None:
            return False, words
    return True, words


def _by_hand(way):
    return [part for part in way if part.what_happens == HAND]


def _brought_in(placement, v, own):
    """(Number of a spare that opens before a valve in duty is shut, or None; words on it)."""
    for w in range(placement.duty, placement.valves):
        ways = (*placement.valve_inlets[w], *placement.valve_outlets[w])
        shut = [p for p in ways if p.position == "closed"]
        one, other = placement.names[v], placement.names[w]
        groups = {p.group for p in own}
        if not shut:
            return w, f"{other} stands open already"
        if all(p.group in groups and p.group for p in shut):
            return w, f"{other} opens before {one} is shut"
        if all(p.secured in HELD for p in own) and all(p.what_happens == HAND for p in shut):
            return w, f"{other} opens before {one} is shut, by the procedure of its lock alone"
        words = f"{one} can be shut before {other} is open: nothing links their valves"
    return None, words


def with_spare(placement, out, spare):
    """A placement after a spare was brought in and a valve in duty shut at its inlet.

    Parameters: placement; out and spare, numbers of the two valves among `names`, from 0. Returns
    `Placement`, numbered as before: what the spare had closed is open, and what shuts the other's
    inlet by hand, or goes with it by an interlock, is closed. Raises InputError for other numbers.
    Validity: the spare is there (`exchange`). Source: as `exchange`.
    >>> from relieflib.plant import load_plant
    >>> from relieflib.position.placement import placement
    >>> turned = with_spare(placement(load_plant(), "PSV-106"), 0, 1)
    >>> [way[0].position for way in turned.valve_outlets]
    ['closed', 'open']
    """
    for name, number in (("out", out), ("spare", spare)):
        if type(number) is not int or not 0 <= number < placement.valves:
            raise InputError(f"{name} = {number!r}: number of a valve, 0 to {placement.valves - 1}")
    if out == spare:
        raise InputError(f"out and spare: are both {out}")
    groups = {p.group for p in placement.valve_inlets[out] if p.closable} - {""}
    ins, outs = list(placement.valve_inlets), list(placement.valve_outlets)
    ins[out] = tuple(_turned(p, "closed") if p.what_happens == HAND else p for p in ins[out])
    outs[out] = tuple(_turned(p, "closed") if p.group in groups else p for p in outs[out])
    for ways in (ins, outs):
        ways[spare] = tuple(_turned(p, "open") for p in ways[spare])
    return replace(placement, valve_inlets=tuple(ins), valve_outlets=tuple(outs))


def _turned(part, position):
    """A part as it stands then; a lock is put on again where there was one."""
    if part.position == position or not part.closable:
        return part
    kind, _, stood = (part.secured or "").rpartition(" ")
    secured = f"{kind} {position}" if stood in ("open", "closed") else part.secured
    return replace(part, position=position, secured=secured)


def cuts_with_spare(placement):
    """Loose cuts of a placement's own item in each state with a spare in a duty valve's place.

    Parameters: placement. Returns a list of (words on the state, `Cut`), without what cuts the item
    off as drawn, too. Validity: of its own way alone. Source: as `isolate`.
    """
    if not placement.spare:
        return []
    drawn = {c.place for c in _alone(placement)}
    found = []
    for v in range(placement.duty):
        for w in range(placement.duty, placement.valves):
            state = f"with {placement.names[w]} in for {placement.names[v]}"
            cuts = _alone(with_spare(placement, v, w))
            found += [(state, c) for c in cuts if c.place not in drawn]
    return found


def _alone(placement):
    """Loose cuts of a placement, all else of the plant left out."""
    item = placement.tapped_on
    own = replace(placement, protects=item, destination="end")
    return isolate(Network((item,), (own,), needs={item: placement.duty})).loose
