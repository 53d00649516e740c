"""Where the relief devices of one item stand: what differs, what is not given, the drawn detail."""

from functools import partial

from relieflib.datasheet.verdict import SEVERITY
from relieflib.errors import InputError
from relieflib.position.checks import check_all
from relieflib.position.isolation import isolate, network_of
from relieflib.position.reasons import reason_from, reason_of
from relieflib.report.blocks import Figure, Heading, Paragraph, Table
from relieflib.report.detail import detail_of
from relieflib.safeguard import COVERS
from relieflib.texts import harmless

NOT_GIVEN = "place not given"


def standing(plant):
    """Checks of every device that a plant places, once for a whole report.

    Parameters: plant. Returns {tag: list of `Check`}; nothing where the plant's ways can't be
    followed. Source: `position.checks`.
    """
    if not plant.placements:
        return {}
    try:
        return check_all(plant)
    except InputError:
        return {}


def ways_blocks(plant):
    """The chapter on a plant's ways: each part that alone cuts an item off, and what mends it.

    With what nothing protects, and what of the ways could not be used. Parameters: plant. Returns a
    list of blocks, none where the file places nothing.
    """
    if not plant.placements:
        return []
    head = Heading("What one closed part cuts off", 2, new_page=True)
    try:
        found = isolate(network_of(plant))
    except InputError as error:
        return [head, Paragraph(f"{harmless(error, 300)}.", "Could not be followed:")]
    blocks = [Paragraph(f"{harmless(words, 400)}.", boxed=True)
              for words in (*found.short, *found.wrong)]  # fmt: skip
    rows = tuple((harmless(c.item, 40), harmless(c.words, 300),
                  "held by lock or seal" if c.held else "nothing holds it", harmless(c.mend, 300))
                 for c in (*found.loose, *found.held))  # fmt: skip
    columns = ("item", "what happens", "held", "one change that mends it")
    if rows:
        blocks.append(Table(columns, rows, (13, 42, 15, 30), (0,)))
    if not blocks:
        words = "No part alone leaves an item without its valves, as far as the file says."
        blocks = [Paragraph(words)]
    return [head, *blocks]


def not_placed(plant, valves):
    """Tags of the valves of an item whose place the file does not give.

    Parameters: plant; valves, `safeguard.Valve`. Returns a list of str.
    """
    return [valve.tag for valve in valves if valve.tag not in plant.placements]


def place_blocks(plant, item, checks):
    """The chapter of one item: each device with what its place takes from 'covers', and why.

    Parameters: plant; item, its tag; checks as `standing`. Returns a list of blocks.
    """
    blocks = []
    for device in plant.protecting(item):
        blocks += _of_device(plant, device.tag, checks.get(device.tag))
    return [Heading("Where it stands", 3), *blocks] if blocks else []


def _of_device(plant, tag, checks):
    name = harmless(tag, 40)
    if tag not in plant.placements:
        words = "the file does not say where it stands, so it is not known to cover anything."
        return [Paragraph(words, f"{name}: {NOT_GIVEN}.")]
    reason = reason_of(plant, tag) if checks is None else reason_from(checks)
    lead = f"{name}: by its place {reason.verdict}."
    blocks = [Paragraph(f"{harmless(reason.said(), 900)}.", lead, boxed=reason.verdict != COVERS)]
    return [*blocks, *_table(checks or ()), *_detail(plant, tag, checks or ())]


def _table(checks):
    """What differs and what is not given; what agrees is counted."""
    bad = [c for c in checks if c.verdict != "agrees"]
    rows = tuple(
        (harmless(c.name, 90), c.verdict, SEVERITY[c.severity],
         harmless(c.reason, 300) or "the drawing does not say", harmless(c.source, 160))
        for c in bad
    )  # fmt: skip
    agrees = len(checks) - len(bad)
    words = [Paragraph(f"{agrees} of {len(checks)} agree.", "Checks of its place:")]
    columns = ("check", "verdict", "if it differs", "what, and why", "source")
    table = [Table(columns, rows, (20, 11, 15, 30, 24), (0,))] if rows else []
    return (words if checks else []) + table


def _detail(plant, tag, checks):
    """The detail, drawn when it is written, so that no picture waits in memory."""
    try:
        block = detail_of(plant, tag, checks).block()
    except InputError as error:
        return [Paragraph(f"{harmless(error, 300)}.", "No detail is drawn:")]
    return [Figure(partial(_png, plant, tag, checks), block.alt, block.caption)]


def _png(plant, tag, checks):
    return detail_of(plant, tag, checks).png()
