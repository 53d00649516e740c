"""The way from the relief valves of a plant to the end of their header, as its file tells it.

A header whose file gives a stack has a tree: each valve's own outlet line leads to the pipe that it
`joins`; pipes and drums lead on by their key `to`; the stack is the end, open to the site's air.
What stands in the header with nothing relieved (`lowest_pressure_gauge`: seal and purge) stands at
the start of its drum, or of its stack where it has no drum, whatever flows.
"""

import numpy as np

from relieflib.disposal import header
from relieflib.errors import InputError
from relieflib.lines import disk_line
from relieflib.lines.line import Line, Part
from relieflib.lines.written import line_given

ELEMENTS = ("disposal.pipes", "disposal.drums", "disposal.stacks")


def outlet_line(item):
    """The outlet line of a relief valve or rupture disk of a plant: its parts, or pipe and elbows.

    Parameters: item, whose file gives its outlet. Returns `Line`. Raises InputError as
    `written.line_given`. Source: the plant's file.
    """
    given = line_given(item, "outlet")
    if given is not None:
        return given
    D = item.outlet_diameter
    return Line(_pipe(D, item.outlet_length, long_elbow=item.outlet_elbows))


def _pipe(diameter, length, K=0.0, **fittings):
    """Pipe, and fittings {kind with _ for spaces: number of them}."""
    parts = [Part("pipe", diameter, length=length)]
    for kind, count in fittings.items():
        parts += [Part(kind.replace("_", " "), diameter, count=count)] if count else []
    return parts + ([Part("other", diameter, K=K)] if K else [])


def stack_of(plant, name):
    """The stack of a header by the header's tag; None where the file gives none.

    Parameters: plant; name of the header. Returns an item. Raises InputError for two of them.
    Source: the plant's file.
    """
    stacks = [s for s in plant.of("disposal.stacks") if s.header == name]
    if len(stacks) > 1:
        raise InputError(f"header {name}: {' and '.join(s.tag for s in stacks)} are both its stack")
    return stacks[0] if stacks else None


def _elements(plant, stack):
    """Pipes and drums that lead to a stack, and the stack."""
    leads = {i.tag: getattr(i, "to", None) for s in ELEMENTS for i in plant.of(s)}
    return [tag for tag in leads if stack.tag in header.way_of(leads, tag)]


def _as_pipe(plant, item, rise):
    to, rating = getattr(item, "to", None), getattr(item, "design_pressure_gauge", np.nan)
    common = dict(rating_gauge=rating, rise=rise)
    if item.section == "disposal.drums":
        line = Line(_pipe(item.diameter, item.length))
        return header.Pipe(item.tag, to, line, vessel=True, **common)
    if item.section == "disposal.stacks":
        tip = [Part("reducer", item.tip_diameter), Part("pipe", item.tip_diameter,
                                                         length=item.tip_length)]  # fmt: skip
        narrow = item.tip_diameter != item.inside_diameter
        riser = _pipe(item.inside_diameter, item.height - item.tip_length)
        return header.Pipe(item.tag, None, Line(riser + tip[0 if narrow else 1 :]), **common)
    fittings = dict(long_elbow=getattr(item, "elbows", 0), tee_branch=getattr(item, "tees", 0))
    line = Line(_pipe(item.inside_diameter, item.length, getattr(item, "K", 0.0), **fittings))
    return header.Pipe(item.tag, to, line, **common)


def tree(plant, name):
    """The tree of a header of a plant.

    Parameters: plant, a `plant.Plant`; name of the header. Returns `header.Tree`, None where the
    file gives no stack for it: its pressures are then the typed ones. Each relief valve that leads
    to it is a pipe of its own, called as the valve. Raises InputError in words for a loop, a pipe
    that leads nowhere or two ways, a valve without a way out, a pipe narrower than its branch.
    Source: the plant's file.
    """
    stack = stack_of(plant, name)
    if stack is None:
        return None
    tags = _elements(plant, stack)
    drums = [t for t in tags if plant[t].section == "disposal.drums"]
    seal = (drums or [stack.tag])[-1]
    rise = max(plant.headers[name].lowest_pressure_gauge, 0.0)
    pipes = [_as_pipe(plant, plant[t], rise if t == seal else 0.0) for t in tags]
    valves = devices(plant, name)
    for valve in valves:
        if getattr(valve, "joins", None) not in tags:
            joins = getattr(valve, "joins", None)
            words = f"joins '{joins}', which is not on the way" if joins else "joins no pipe"
            raise InputError(f"{valve.tag} leads to {name} and has no way out: it {words}")
        pipes.append(header.Pipe(valve.tag, valve.joins, outlet_line(valve)))
    return header.Tree(pipes, {v.tag: v.tag for v in valves}, plant.atmosphere)


def devices(plant, name):
    """Relief valves and rupture disks of a plant that lead to one header, in the file's order.

    Parameters: plant; name of the header. Returns a list of items. Source: the plant's file.
    """
    found = (*plant.of("relief_valves"), *plant.of("rupture_disks"))
    return [item for item in found if item.destination == name]


def mounted(plant, name):
    """What stands at the ends of a header's tree: {tag: `header.Mounted`}.

    Parameters: plant; name of the header. Returns a dict. Source: the plant's file.
    """
    found = {}
    for item in devices(plant, name):
        disk = item.section == "rupture_disks"
        found[item.tag] = header.Mounted(
            plant.device(item.tag), None if disk else item.designation,
            mawp_gauge=plant.mawp_gauge(item.protects),
            disk_line=disk_line.line_of(item) if disk else None,
        )  # fmt: skip
    return found


def faced(plant, name, loads, flow="adiabatic"):
    """Every valve of a header in every event.

    Parameters: plant; name of the header; loads, {event: {valve: `ReliefLoad`}} of which those of
    other headers are left out; flow as `header.solve`. Returns `header.Faced`, None where nothing
    of them is gas, so that the tree has no answer. Raises InputError where the file gives
    the header no stack, and as `header.face`. Source: as `header.face`.
    """
    found = tree(plant, name)
    if found is None:
        raise InputError(f"header {name}: the plant's file gives it no stack, so there is no tree")
    ours = {e: {v: x for v, x in lift.items() if v in found.valves} for e, lift in loads.items()}
    if not header.releases_of(ours, min(found.lowest.values(), default=plant.atmosphere))[0]:
        return None
    return header.face(found, mounted(plant, name), ours, plant.atmosphere, flow)
