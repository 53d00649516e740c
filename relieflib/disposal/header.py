"""Flare header: a tree of pipes from every valve to one end, marched once for every event.

What stands behind a valve hangs on what else is relieved at that moment, so the tree is marched
event by event, from the pressure beyond its end back to every valve's flange, adiabatic or
isothermal, choked wherever a bore must be.

- A pipe that one valve alone can use carries its RATED flow, which that valve passes once it is
  open; a shared pipe carries the sum of the REQUIRED loads of the event.
- Where pipes join, all have one static pressure: no momentum of a branch is won back, and what a
  tee costs is a fitting of its pipe. Mass, moles and heat add up. Pipes that follow one another
  without a branch are marched as one line: momentum counts where their bore changes.
- Gas alone is marched as ideal gas. Where a release of an event is two-phase, volumes add:
  v = a + b/P of each, homogeneous. Liquid that stays liquid goes to the drum and is not in here.

Friction is that of fully rough flow. Source: API 521 (2020), 5.5 (5th edition 7.3.1), restated;
Fanno and isothermal flow of a pipe.
"""

from dataclasses import KW_ONLY, dataclass, field, replace
from functools import cached_property

import numpy as np

from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.lines import disk_line, outlet
from relieflib.lines.line import Line, march, runs
from relieflib.lines.line_fluids import Adiabatic, Expanding, fluid_in_line
from relieflib.lines.pipe_flow import ISOTHERMAL, mach_number
from relieflib.units import GAS_CONSTANT
from relieflib.valve_questions import Answer, kept, opens_in_time
from relieflib.working import Working, step

SOURCE = "API 521 (2020), 5.5 (5th edition 7.3.1): disposal system"
FLOWS = ("adiabatic", "isothermal")
_DRY = ("molar_mass", "temperature", "k", "Z")


@dataclass(frozen=True)
class Pipe:
    """One pipe of a tree: tag, the tag it flows into (None: the end of the tree), and its `Line`.

    rise, pressure that stands at its start whatever flows, as that of a liquid seal [Pa];
    rating_gauge, design pressure [Pa gauge], NaN where not known; vessel, True for a drum, which
    may be wider than what follows. Raises InputError for what is no `Line` or a negative rise.
    """

    tag: str
    to: str | None
    line: Line
    _: KW_ONLY
    rise: float = 0.0
    rating_gauge: float = np.nan
    vessel: bool = False

    def __post_init__(self):
        if not isinstance(self.line, Line):
            raise InputError(f"{self.tag}: line must be a Line")
        not_negative(rise=self.rise)


@dataclass(frozen=True)
class Tree:
    """Pipes that lead from valves to one end, and the pressure beyond it [Pa].

    valves, {valve: tag of the pipe at whose start its flange stands}. Raises InputError in words
    for a tag used twice, a pipe that leads nowhere, a loop, a valve without a way out, more than
    one end, or a pipe narrower than what flows into it.
    """

    pipes: tuple
    valves: dict
    end_pressure: float

    def __post_init__(self):
        object.__setattr__(self, "pipes", tuple(self.pipes))
        positive(end_pressure=self.end_pressure)
        _check_tree(self.pipes, self.valves)
        for pipe in self.pipes:
            if pipe.to is not None and not pipe.vessel:
                _check_bore(pipe, self[pipe.to])

    def __getitem__(self, tag):
        for pipe in self.pipes:
            if pipe.tag == tag:
                return pipe
        raise InputError(f"pipe '{tag}': not in the tree")

    def way(self, tag):
        """Tags of the pipes from one to the end, in the order of flow."""
        return way_of({p.tag: p.to for p in self.pipes}, tag)

    def with_bore(self, tag, diameter):
        """The same tree with one pipe in another inside diameter [m]."""
        old = self[tag]
        parts = [replace(part, diameter=diameter, nps=None) for part in old.line.parts]
        wider = replace(old, line=Line(parts, old.line.roughness))
        return replace(self, pipes=[wider if p is old else p for p in self.pipes])

    @cached_property
    def users(self):
        """Valves that can send something through each pipe: {tag: tuple}."""
        found = {p.tag: [] for p in self.pipes}
        for valve, tag in self.valves.items():
            for passed in self.way(tag):
                found[passed].append(valve)
        return {tag: tuple(valves) for tag, valves in found.items()}

    def own(self, valve):
        """Tags of the pipes that this valve alone can use, in the order of flow."""
        return tuple(t for t in self.way(self.valves[valve]) if len(self.users[t]) == 1)

    def joins(self, valve):
        """Tag of the first shared pipe on a valve's way; None where it has the way alone."""
        shared = [t for t in self.way(self.valves[valve]) if len(self.users[t]) > 1]
        return shared[0] if shared else None

    @cached_property
    def lowest(self):
        """{valve: pressure at its outlet with nothing relieved [Pa]}, seals counted."""
        return {
            v: self.end_pressure + sum(self[t].rise for t in self.way(tag))
            for v, tag in self.valves.items()
        }

    @cached_property
    def reaches(self):
        """Pipes without a branch between them, as tuples in the order of flow; the last one first.

        A pipe follows without a branch where nothing else, no valve and no pipe, enters its start.
        """
        feeds = {p.tag: [q.tag for q in self.pipes if q.to == p.tag] for p in self.pipes}
        starts = set(self.valves.values())
        follows = {
            p.tag: p.to for p in self.pipes
            if p.to and len(feeds[p.to]) == 1 and p.to not in starts and not self[p.to].rise
        }  # fmt: skip
        into = {to: tag for tag, to in follows.items()}
        found, left = [], [p.tag for p in self.pipes if p.tag not in follows]
        for last in sorted(left, key=lambda tag: len(self.way(tag))):
            reach = [last]
            while reach[0] in into:
                reach.insert(0, into[reach[0]])
            found.append(tuple(reach))
        return tuple(found)


def way_of(leads, tag):
    """Tags from one to its end, in the order of flow.

    Parameters: leads, {tag: the tag it flows into, None at an end}; tag. Returns a tuple. Raises
    InputError for a tag that is not there or a loop. Source: none needed.
    >>> way_of({"A": "B", "B": None}, "A")
    ('A', 'B')
    """
    if tag not in leads:
        raise InputError(f"'{tag}' is no pipe or valve of this header")
    passed = [tag]
    while (to := leads[passed[-1]]) is not None:
        if to not in leads:
            raise InputError(f"pipe {passed[-1]} flows into '{to}', which is not there")
        if to in passed:
            around = " -> ".join([*passed[passed.index(to) :], to])
            raise InputError(f"pipes lead round in a loop: {around}")
        passed.append(to)
    return tuple(passed)


def check_ends(leads, ends, where="tree"):
    """Refuse pipes that lead nowhere or round in a loop, or to another end than is meant.

    Parameters: leads, {tag: the tag it flows into, None at an end}; ends, tags that may be an end;
    where, words for what is read. Returns None. Raises InputError for the first thing wrong.
    Source: none needed.
    """
    for tag in leads:
        try:
            end = way_of(leads, tag)[-1]
        except InputError as problem:
            raise InputError(f"{where}: {problem}") from None
        if end not in ends:
            raise InputError(f"{where}: pipe {tag} leads to '{end}', which is no end")


def _check_tree(pipes, valves):
    tags, leads = [p.tag for p in pipes], {p.tag: p.to for p in pipes}
    twice = sorted({tag for tag in tags if tags.count(tag) > 1})
    if twice:
        raise InputError(f"tree: pipe '{twice[0]}' stands twice")
    ends = [tag for tag, to in leads.items() if to is None]
    check_ends(leads, ends)
    if len(ends) != 1:
        raise InputError(f"tree: must have one end, it has {len(ends)}: {', '.join(ends)}")
    for valve, tag in valves.items():
        if tag not in leads:
            raise InputError(f"tree: {valve} has no way out: '{tag}' is no pipe of it")


def _check_bore(pipe, after):
    own, other = pipe.line.parts[-1].diameter, after.line.parts[0].diameter
    if np.any(np.asarray(other) < np.asarray(own) * (1 - 1e-6)):
        raise InputError(f"pipe {after.tag} is narrower than {pipe.tag}, which flows into it: "
                         f"{1e3 * other:.4g} mm after {1e3 * own:.4g} mm")  # fmt: skip


@dataclass(frozen=True)
class Release:
    """What one valve sends into the tree in one event.

    mass_flow, the required load [kg/s]; fluid, `Adiabatic` for gas or `Expanding`; rated_flow that
    the open valve passes [kg/s], None for the required one (a modulating pilot, or not known).
    Raises InputError for another fluid, a negative flow or none that is a number.
    """

    mass_flow: float
    fluid: object
    rated_flow: float | None = None

    def __post_init__(self):
        for name in ("mass_flow", "rated_flow"):
            value = getattr(self, name)
            if value is None and name == "rated_flow":
                continue
            if np.ndim(value) or np.isnan(not_negative(**{name: value})):
                raise InputError(f"{name} = {value!r}: must be one number")
        if not isinstance(self.fluid, Adiabatic | Expanding):
            raise InputError(f"fluid = {self.fluid!r}: must be Adiabatic or Expanding")

    @property
    def dry(self):
        """True for gas alone."""
        return isinstance(self.fluid, Adiabatic)


def mixed(mass_flow, gases):
    """What ideal gases make where they join: mass, moles and heat add up.

    Parameters: mass_flow, a list, each [kg/s]; gases, list of `Adiabatic` whose temperature is that
    of the gas at rest; arrays broadcast. Returns (mass flow, `Adiabatic`): molar mass and Z by
    moles, temperature by moles times cp, k from the mean cp, with cp = k R/(k - 1). Raises
    InputError for a negative flow or none at all. Source: balances; ideal gases.
    >>> W, gas = mixed([6.0, 2.5], [Adiabatic(330.0, 44.0, 1.1), Adiabatic(320.0, 20.0, 1.25)])
    >>> W, round(gas.molar_mass, 3), round(gas.temperature, 2)
    (8.5, 32.522, 327.06)
    """
    W = np.array([not_negative(mass_flow=w) for w in mass_flow])
    refuse(np.sum(W, axis=0) <= 0, "mass_flow", np.sum(W, axis=0), "nothing flows: no mix")
    arrays = [np.array([np.asarray(getattr(g, n)) + 0.0 * w for g, w in zip(gases, W)])
              for n in _DRY]  # fmt: skip
    total, *state = _mix_dry(np.ones((1, len(W))), W, *arrays)
    return result(total[0]), Adiabatic(*(result(x[0]) for x in _ordered(*state)))


def _mix_dry(passes, W, M, T, k, Z):
    """Flow and state in every pipe; passes[pipe, valve], the others [valve, event]."""
    n, cp = W / M, k / (k - 1.0)
    moles, heat = passes @ n, passes @ (n * cp)
    none = moles == 0
    moles, heat = np.where(none, 1.0, moles), np.where(none, 1.0, heat)
    total, c = passes @ W, heat / moles
    return (total, np.where(none, np.nan, total / moles), passes @ (n * cp * T) / heat,
            np.where(none, np.nan, c / np.where(none, 1.0, c - 1.0)),
            passes @ (n * Z) / moles)  # fmt: skip


def _ordered(M, T, k, Z):
    return T, M, k, Z


def _isothermal(gas):
    return Expanding.isothermal(gas.temperature, gas.molar_mass, gas.Z)


def driving(mass_flow, molar_mass, temperature, Z=1.0):
    """What loads a pipe with gas: at one pressure and bore, velocity and Mach number go with it.

    Parameters: mass_flow [kg/s], molar_mass [kg/kmol], temperature [K], Z [-]; arrays broadcast.
    Returns W sqrt(Z T/M), with the units of the arguments. Raises InputError for values not above
    0, a negative flow. Source: Ma = W sqrt(Z R T/(k M))/(A P).
    >>> round(driving(20.0, 44.0, 320.0), 3), round(driving(15.0, 18.0, 450.0), 3)
    (53.936, 75.0)
    """
    W = not_negative(mass_flow=mass_flow)
    M, T, Z = positive(molar_mass=molar_mass, temperature=temperature, Z=Z)
    return result(W * np.sqrt(Z * T / M))


@dataclass(frozen=True)
class Network:
    """A tree solved for its events; each quantity is {pipe: array over the events}.

    mass_flow [kg/s]; inlet_pressure and outlet_pressure, static, at the start and the end of the
    pipe [Pa]; mach, the highest along it, over that at which this flow chokes [-]; momentum, the
    highest density times velocity squared [Pa]; choked; load, W sqrt(b) with b that of v = a + b/P
    [kg/s (J/kg)^0.5]: for gas W sqrt(Z R T/M); fluids, {pipe: list of a fluid for each event}.
    """

    tree: Tree
    events: tuple
    releases: dict = field(repr=False)
    flow: str
    mass_flow: dict = field(repr=False)
    inlet_pressure: dict = field(repr=False)
    outlet_pressure: dict = field(repr=False)
    mach: dict = field(repr=False)
    momentum: dict = field(repr=False)
    choked: dict = field(repr=False)
    load: dict = field(repr=False)
    state: dict = field(repr=False)

    def at(self, event):
        """Index of an event; InputError for another."""
        if event not in self.events:
            raise InputError(f"event '{event}': use one of {', '.join(self.events)}")
        return self.events.index(event)

    def governing(self, tag):
        """Event that loads a pipe most, by W sqrt(Z T/M); None where none sends anything."""
        load = self.load[self.tree[tag].tag]
        return self.events[int(np.argmax(load))] if np.any(load > 0) else None

    def heaviest(self, tag):
        """Event that sends most kilograms through a pipe; None where none sends any."""
        W = self.mass_flow[self.tree[tag].tag]
        return self.events[int(np.argmax(W))] if np.any(W > 0) else None

    def valve_pressure(self, valve):
        """Static pressure at the start of a valve's own pipe, event by event [Pa]."""
        return self.inlet_pressure[self.tree.valves[valve]]

    def header_pressure(self, valve):
        """Pressure where a valve's own pipes end, in the shared tree, event by event [Pa]."""
        joins = self.tree.joins(valve)
        if joins is None:
            return np.full(len(self.events), self.tree.lowest[valve])
        return self.inlet_pressure[joins]

    @cached_property
    def superimposed(self):
        """{valve: {event: pressure that all OTHERS of the event make at its outlet [Pa]}}.

        The valve itself is shut, and all others already relieve: the order in which they lift is
        not known, and this is the careful side. For every event in which the valve lifts.
        """
        pairs = [(v, e) for e, found in self.releases.items() for v in found]
        found = {valve: {} for valve, _ in pairs}
        if not pairs:
            return found
        W, rated, sent = _sent(self.tree, self.releases)
        at = [self.events.index(event) for _, event in pairs]
        shut = np.arange(len(pairs))
        W, rated, sent = W[:, at], rated[:, at], {name: x[:, at] for name, x in sent.items()}
        rows = [list(self.tree.valves).index(valve) for valve, _ in pairs]
        W[rows, shut] = rated[rows, shut] = 0.0
        inlet = _march(self.tree, _states(self.tree, W, rated, sent), self.flow)["inlet"]
        for i, (valve, event) in enumerate(pairs):
            joins = self.tree.joins(valve)
            found[valve][event] = (
                self.tree.lowest[valve] if joins is None else float(inlet[joins][i])
            )
        return found

    def over(self, mach_limits, momentum_limit=np.nan):
        """Pipes beyond a limit, as (pipe, event, 'mach' or 'momentum', value, limit), worst first.

        Parameters: mach_limits, one number or {pipe: number} [-]; momentum_limit, density times
        velocity squared [Pa], NaN for none.
        """
        found = []
        for pipe in self.tree.pipes:
            most = mach_limits.get(pipe.tag) if isinstance(mach_limits, dict) else mach_limits
            most = np.nan if most is None else most
            for what, values, limit in (("mach", self.mach, most),
                                        ("momentum", self.momentum, momentum_limit)):  # fmt: skip
                bad = ~kept(values[pipe.tag], limit) & (self.mass_flow[pipe.tag] > 0)
                found += [(pipe.tag, self.events[i], what, float(values[pipe.tag][i]), limit)
                          for i in np.flatnonzero(bad)]  # fmt: skip
        return sorted(found, key=lambda row: -row[3] / row[4])

    def over_rating(self, atmosphere):
        """Pipes above their design pressure, as (pipe, event, Pa gauge, its rating), worst first.

        Parameters: atmosphere [Pa]. A pipe whose rating is not known is not among them.
        """
        found = []
        for pipe in self.tree.pipes:
            gauge = np.maximum(self.inlet_pressure[pipe.tag], self.outlet_pressure[pipe.tag])
            gauge = gauge - atmosphere
            for i in np.flatnonzero(~kept(gauge, pipe.rating_gauge)):
                found.append((pipe.tag, self.events[i], float(gauge[i]), pipe.rating_gauge))
        return sorted(found, key=lambda row: -row[2] / row[3])

    def junction(self, tag, event):
        """What flows into the start of a pipe in an event: [(pipe or valve, kg/s, fluid)].

        Each with its REQUIRED load, which is what a shared pipe carries on.
        """
        found, e = [], self.at(event)
        for v, r in self.releases[self.events[e]].items():
            if tag in self.tree.way(self.tree.valves[v]):
                found.append((v, r.mass_flow, r.fluid))
        return found

    def fluid(self, tag, event):
        """The fluid in a pipe in an event: `Adiabatic` or `Expanding`; None where none flows."""
        e, (dry, values) = self.at(event), self.state[tag]
        if not self.mass_flow[tag][e] > 0:
            return None
        if dry[e]:
            return Adiabatic(*(float(x[e]) for x in _ordered(*values[:4])))
        return Expanding(*(float(x[e]) for x in values[4:]))


def solve(tree, events, flow="adiabatic"):
    """Pressure, Mach number and momentum in every pipe of a tree, for every event at once.

    Parameters: tree, a `Tree`; events, {event: {valve: `Release`}}; flow, 'adiabatic' or
    'isothermal', for events of gas alone. Returns `Network`. Raises InputError for no event, a
    valve that is not in the tree or another flow. Validity: steady flow; gas ideal but for its Z;
    two-phase homogeneous; equal static pressure where pipes join; Ma isothermal is that of
    API 521, without k. Source: API 521 (2020), 5.5, restated; balances.
    >>> from relieflib.lines.line import Part
    >>> pipe = Pipe("H", None, Line([Part("other", 0.5, K=9.0)]))
    >>> net = solve(Tree([pipe], {"PSV-1": "H"}, 1.2e5),
    ...             {"one": {"PSV-1": Release(20.0, Adiabatic(350.0, 30.0, 1.2))}})
    >>> round(float(net.valve_pressure("PSV-1")[0]))
    154666
    """
    if flow not in FLOWS:
        raise InputError(f"flow = '{flow}': use 'adiabatic' or 'isothermal'")
    if not events:
        raise InputError("events: give at least one")
    state = _states(tree, *_sent(tree, events))
    found = _march(tree, state, flow)
    load = {tag: W * np.sqrt(_b(dry, values)) for tag, (W, dry, values) in state.items()}
    return Network(
        tree, tuple(events), dict(events), flow, {t: s[0] for t, s in state.items()},
        found["inlet"], found["outlet"], found["mach"], found["momentum"], found["choked"],
        load, {t: (s[1], s[2]) for t, s in state.items()},
    )  # fmt: skip


def _march(tree, state, flow):
    """{'inlet': {pipe: array}, ...} of all pipes, from the end of the tree back."""
    events = len(next(iter(state.values()))[0])
    found = {n: {} for n in ("inlet", "outlet", "mach", "momentum", "choked")}
    for reach in tree.reaches:
        after = tree[reach[-1]].to
        beyond = np.full(events, float(tree.end_pressure))
        end = beyond if after is None else found["inlet"][after]
        _march_reach(tree, reach, end, state, flow, found)
    return found


_NOTHING = dict(W=0.0, rated=0.0, wet=0.0, M=1.0, T=0.0, k=2.0, Z=1.0, a=0.0, b=0.0, top=np.inf)


def _sent(tree, events):
    """Required and rated flows and the state of what each valve sends: arrays [valve, event]."""
    valves = {valve: i for i, valve in enumerate(tree.valves)}
    x = {name: np.full((len(valves), len(events)), value) for name, value in _NOTHING.items()}
    for e, (event, releases) in enumerate(events.items()):
        for valve, r in releases.items():
            if valve not in valves:
                raise InputError(f"event '{event}': {valve} is not in the tree")
            at = valves[valve], e
            x["W"][at] = r.mass_flow
            x["rated"][at] = r.mass_flow if r.rated_flow is None else r.rated_flow
            if r.dry:
                x["M"][at], x["T"][at], x["k"][at], x["Z"][at] = (
                    getattr(r.fluid, name) for name in _DRY
                )
                x["b"][at] = _isothermal(r.fluid).b
            else:
                x["wet"][at], x["a"][at] = 1.0, r.fluid.a
                x["b"][at], x["top"][at] = r.fluid.b, r.fluid.top
    W, rated = x.pop("W"), x.pop("rated")
    return W, rated, x


def _states(tree, W, rated, sent):
    """{pipe: (mass flow, dry or not, [M, T, k, Z, a, b, top])}, arrays over the events.

    Above the lowest pressure at which one of them begins to boil, all keep their volume: too much.
    """
    found, valves = {}, list(tree.valves)
    for own, F in ((True, rated), (False, W)):
        tags = [p.tag for p in tree.pipes if (len(tree.users[p.tag]) == 1) == own]
        if not tags:
            continue
        passes = np.array([[v in tree.users[tag] for v in valves] for tag in tags], dtype=float)
        total, *gas = _mix_dry(passes, F, *(sent[name] for name in "MTkZ"))
        safe = np.where(total > 0, total, 1.0)
        expand = [passes @ (F * sent[name]) / safe for name in "ab"]
        dry = passes @ (F * sent["wet"]) == 0
        for i, tag in enumerate(tags):
            flows = (passes[i] > 0)[:, None] & (F > 0)
            lowest = np.where(flows, sent["top"], np.inf).min(axis=0)
            found[tag] = total[i], dry[i], [*(x[i] for x in (*gas, *expand)), lowest]
    return found


def _b(dry, values):
    """Of v = a + b/P the b [J/kg]: for gas Z R T/M of the mix."""
    M, T, _, Z, _, b, _ = values
    return np.where(dry, np.nan_to_num(Z * GAS_CONSTANT * T / M), b)


def _march_reach(tree, reach, end, state, flow, found):
    """March one reach for all events and put what is found under each of its pipes."""
    pipes = [tree[tag] for tag in reach]
    line = Line([part for p in pipes for part in p.line.parts],
                max(p.line.roughness for p in pipes))  # fmt: skip
    W, dry, values = state[reach[0]]
    empty = {n: np.zeros(len(end)) for n in ("mach", "momentum", "choked")}
    results = {tag: {n: x.copy() for n, x in empty.items()} | {"inlet": end.copy(),
               "outlet": end.copy()} for tag in reach}  # fmt: skip
    for gas in (True, False):
        here = np.flatnonzero((W > 0) & (dry == gas))
        if not here.size:
            continue
        M, T, k, Z, a, b, top = (x[here] for x in values)
        if gas:
            fluid = Adiabatic(T, M, k, Z) if flow == "adiabatic" else Expanding.isothermal(T, M, Z)
        else:
            fluid = Expanding(a, b, top)
        stations = march(line, fluid, W[here], end[here], cut=True)
        first = 0
        for pipe in pipes:
            own = stations[2 * first : 2 * (first + len(pipe.line.parts))]
            first += len(pipe.line.parts)
            r = results[pipe.tag]
            r["inlet"][here], r["outlet"][here] = own[0].pressure, own[-1].pressure
            r["mach"][here] = np.max([s.mach for s in own], axis=0)
            r["momentum"][here] = np.max([s.mass_flux * s.velocity for s in own], axis=0)
            r["choked"][here] = np.any([s.choked for s in own], axis=0)
    results[reach[0]]["inlet"] = results[reach[0]]["inlet"] + pipes[0].rise
    for tag, r in results.items():
        for name, x in r.items():
            found[name][tag] = x.astype(bool) if name == "choked" else x


def working(network, tag, event):
    """Steps from what is released to the pressures of one pipe of one bore that gas flows in.

    Parameters: network, `Network`; tag, event. Returns a `Working`. Raises InputError where the
    pipe has several bores, or no gas flows in it alone. Source: as `solve`.
    """
    e, pipe, gas = network.at(event), network.tree[tag], network.fluid(tag, event)
    pieces = runs(pipe.line, 1.0)
    if len(pieces) > 1 or not isinstance(gas, Adiabatic):
        raise InputError(f"pipe '{tag}', {event}: steps are for gas in a pipe of one bore")
    W, P_e = float(network.mass_flow[tag][e]), float(network.outlet_pressure[tag][e])
    D, N = pipe.line.parts[0].diameter, result(pieces[0].heads)
    G = 4.0 * W / (np.pi * D**2)
    Ma = mach_number(G, P_e, gas.temperature, gas.molar_mass, gas.Z)
    return Working([
        step("event_load", W, source="sum of the required loads of the event"),
        step("molar_mass", gas.molar_mass, source="mass over moles of all that joins"),
        step("stagnation_temperature", gas.temperature, source="moles times cp of all that joins"),
        step("pipe_flux", G, "4*W_ev/(pi*D**2)", "flow over the area of the bore",
             event_load=W, diameter=D),
        step("velocity_heads", N, source="f L/D of fully rough pipe and K of its fittings"),
        step("exit_pressure", P_e, source="the march comes from there"),
        step("exit_mach", Ma, "G_p/P_x*sqrt(Z*R*T_st/M)", ISOTHERMAL + ": without k", pipe_flux=G,
             exit_pressure=P_e, stagnation_temperature=gas.temperature, molar_mass=gas.molar_mass,
             Z=gas.Z, gas_constant=GAS_CONSTANT),
        step("start_pressure", float(network.inlet_pressure[tag][e]), source="found by trial: the "
             f"pressure from which {network.flow} flow loses these velocity heads"),
    ])  # fmt: skip


# ---- the valves that stand at its ends


@dataclass(frozen=True)
class Mounted:
    """A relief valve or disk at its end of the tree.

    device, a `Device` with a set pressure; designation such as '3L4', None for a disk alone;
    mawp_gauge of what it protects [Pa gauge], None where not known; role as `highest_set`;
    disk_line, whole `Line` of a disk alone, which then decides what it passes; modulating, True for
    a pilot that opens no further than it must.
    """

    device: object
    designation: str | None = None
    mawp_gauge: float | None = None
    role: str = "first"
    disk_line: Line | None = None
    modulating: bool = False


def with_kind(mounted, kind):
    """The same valve of another kind, such as 'balanced'.

    Parameters: mounted, `Mounted`; kind as `Device`. Returns `Mounted`. Source: none needed.
    """
    return replace(mounted, device=replace(mounted.device, kind=kind))


@dataclass(frozen=True)
class Facing:
    """What one valve meets in one event.

    superimposed, pressure at its outlet before it opens while all others relieve, and
    header_pressure, where its own pipes end while all relieve [Pa]; lowest, with nothing relieved
    [Pa]; opens, `Answer` on its opening pressure, None for a disk; check, `OutletCheck` at rated
    flow, None where there is none; rated_flow [kg/s]; problem, words where it can't be judged.
    """

    valve: str
    event: str
    load: object = field(repr=False)
    lowest: float
    superimposed: float
    header_pressure: float
    rated_flow: float
    opens: Answer | None = None
    check: object = field(default=None, repr=False)
    problem: str = ""

    @property
    def holds(self):
        """True where it opens in time and keeps flow and flange; None where that is not known."""
        if self.problem or (self.opens is not None and self.opens.holds is None):
            return None
        return not self.against

    @property
    def back_pressure(self):
        """Pressure behind it while it relieves at rated flow, at its outlet [Pa]."""
        return self.header_pressure if self.check is None else self.check.outlet_pressure

    @property
    def against(self):
        """What stands against it, in words."""
        words = [self.problem] if self.problem else []
        if self.opens is not None and self.opens.holds is False:
            words.append("opens too late")
        if self.check is not None:
            c = self.check
            if not c.passes:
                words.append(f"too much back pressure ({c.limit_kind})")
            if not kept(c.total_back, c.flange_rating_gauge):
                words.append("above the rating of its outlet flange")
            if not c.sufficient:
                words.append("too little flow left")
        return tuple(words)


def bringing(facings, load):
    """Of what a valve meets in its events, that of the events which bring this very load.

    Parameters: facings, iterable of `Facing`; load, `ReliefLoad`. Returns a list, empty where none
    is known to bring it. Source: definition.
    """
    return [f for f in facings
            if f.load.mass_flow == load.mass_flow and f.load.stream == load.stream]  # fmt: skip


@dataclass(frozen=True)
class Faced:
    """A tree solved with the valves at its ends.

    network, `Network` with the rated flows in the valves' own pipes; facings, {(valve, event):
    `Facing`}; liquid, {event: {valve: words}} of what stays liquid and goes to the drum, or whose
    state in the header is not known: not in the pressure of any pipe.
    """

    network: Network
    facings: dict
    liquid: dict

    def of(self, valve):
        """Facings of one valve, in the order of the events."""
        return [f for (v, _), f in self.facings.items() if v == valve]

    def worst(self, valve):
        """Event in which most pressure stands behind a valve while it relieves; None for none."""
        found = self.of(valve)
        return max(found, key=lambda f: f.back_pressure).event if found else None


def releases_of(loads, pressure):
    """What loads are in the header, and what of them is liquid or not known there.

    Parameters: loads, {event: {valve: `ReliefLoad`}} of single numbers; pressure where their state
    in the header is taken, the lowest there [Pa]. Returns ({event: {valve: `Release`}}, {event:
    {valve: words}}); an event without gas is not among the first. Validity: as `fluid_in_line`.
    Source: throttling at constant enthalpy.
    """
    P = result(positive(pressure=pressure))
    gas, liquid = {}, {}
    for event, found in loads.items():
        for valve, load in found.items():
            if not load.mass_flow > 0:
                continue
            try:
                fluid = fluid_in_line(load.stream, P)
                words = "stays liquid" if fluid.kind == "liquid" else ""
            except InputError as problem:
                words = str(problem)
            if words:
                liquid.setdefault(event, {})[valve] = words
            else:
                gas.setdefault(event, {})[valve] = Release(load.mass_flow, fluid)
    return gas, liquid


def face(tree, mounted, loads, atmosphere, flow="adiabatic"):
    """Every valve of a tree in every event: does it open in time, and does it keep its flow.

    Parameters: tree; mounted, {valve: `Mounted`}; loads, {event: {valve: `ReliefLoad`}}; atmosphere
    [Pa]; flow as `solve`. Returns `Faced`. Shared pipes carry the required loads, so what a valve's
    own pipes see at their end does not hang on its rated flow; rated flow and the back pressure it
    makes itself are then found together, valve by valve. Raises InputError as `solve`, and where no
    load is gas. Source: API 521 (2020), 5.5; API 520-I (2020), 5.3.
    """
    lowest = min(tree.lowest.values(), default=tree.end_pressure)
    releases, liquid = releases_of(loads, lowest)
    first = solve(tree, releases, flow)
    facings, rated = {}, {event: dict(found) for event, found in releases.items()}
    for e, (event, found) in enumerate(releases.items()):
        for valve, release in found.items():
            seen = _face(first, mounted[valve], loads[event][valve], valve, event, e, atmosphere)
            facings[valve, event] = seen
            if not mounted[valve].modulating:
                rated[event][valve] = replace(release, rated_flow=seen.rated_flow)
    return Faced(solve(tree, rated, flow), facings, liquid)


def _face(network, mounted, load, valve, event, e, atmosphere):
    device, lowest = mounted.device, network.tree.lowest[valve]
    others = network.superimposed[valve][event]
    header = float(network.header_pressure(valve)[e])
    seen = Facing(valve, event, load, lowest, others, header, load.mass_flow)
    try:
        if mounted.disk_line is not None:
            flow = disk_line.passed_flow(load.stream, mounted.disk_line, header)
            return replace(seen, rated_flow=flow)
        over = load.stream.pressure - atmosphere - device.set_pressure_gauge
        if not over > 0:
            return replace(seen, problem="its load is found at set pressure, not above: no back "
                           "pressure can be held against that")  # fmt: skip
        variable = max(others - lowest, 0.0)
        opens = opens_in_time(device.kind, device.set_pressure_gauge, variable, mounted.mawp_gauge,
                              mounted.role)  # fmt: skip
        line = Line([x for t in network.tree.own(valve) for x in network.tree[t].line.parts])
        options = dict(flow=network.flow) if load.stream.phase == "gas" else {}
        check = outlet.solve(load, device, line, header_pressure=header,
                             designation=mounted.designation, variable_superimposed_gauge=variable,
                             superimposed_gauge=lowest - atmosphere, **options)  # fmt: skip
    except InputError as problem:
        return replace(seen, problem=str(problem))
    return replace(seen, opens=opens, check=check, rated_flow=check.mass_flow)
