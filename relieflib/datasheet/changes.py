"""What changed between two revisions of one list of valves: valves, numbers, verdicts."""

from collections import Counter
from typing import NamedTuple

from relieflib.datasheet.columns import COLUMNS
from relieflib.texts import harmless, unit_text

SAME = 1e-6  # share: the same number in another unit, or with another count of zeros


class Change(NamedTuple):
    """One thing that changed: tag of the valve, what, before and now in words ('' for none)."""

    tag: str
    what: str
    before: str
    now: str


def changes(new, old):
    """What a list says otherwise than an earlier revision of it.

    Parameters: new and old, lists of (Row, list of `Check`), as `FileCheck.results`. Returns a
    list of `Change` in the order of the new list: valves that came or went, numbers that a sheet
    states otherwise (a number in another unit is the same number), checks whose verdict changed.
    Valves are known by their tag, several cases of one by their cause too; what a list holds twice
    all the same is said and not compared.
    """
    new_by, twice_new = _by_tag(new)
    old_by, twice_old = _by_tag(old)
    found = [Change(tag, "tag", "", "stands twice or more in one of the lists: not compared")
             for tag in sorted(twice_new | twice_old)]  # fmt: skip
    for key, (row, checks) in new_by.items():
        if key in twice_old:
            continue
        if key not in old_by:
            found.append(Change(harmless(row.tag), "valve", "", "new in this list"))
            continue
        before = old_by[key]
        found += [*_numbers(row, before[0]), *_verdicts(row, checks, before[1])]
    gone = [row for key, (row, _) in old_by.items() if key not in new_by and key not in twice_new]
    return found + [Change(harmless(row.tag), "valve", "in the earlier list", "gone")
                    for row in gone]  # fmt: skip


def _by_tag(results):
    """Results by their tag in plain letters, and the tags that stand twice."""
    keys = ["".join(row.tag.casefold().split()) for row, _ in results]
    several = {key for key, count in Counter(keys).items() if count > 1}
    keys = [f"{key}, {row.get('cause')}" if key in several and row.get("cause") else key
            for key, (row, _) in zip(keys, results, strict=True)]  # fmt: skip
    twice = {key for key, count in Counter(keys).items() if count > 1}
    by_tag = {key: one for key, one in zip(keys, results, strict=True) if key not in twice}
    return by_tag, twice


def _numbers(row, before):
    tag = harmless(row.tag)
    for name, column in COLUMNS.items():
        now, was = _said(row, name), _said(before, name)
        if name != "tag" and now != was and not _equal(row.cells.get(name), before.cells.get(name)):
            yield Change(tag, column.heading, was, now)


def _said(row, name):
    """A cell as its sheet writes it, with its unit."""
    if name in row.unreadable:
        return "can't be read"
    cell = row.cells.get(name)
    if cell is None:
        return ""
    own = cell.kind == "text" or not cell.text.rstrip()[-1:].isdigit()
    return harmless(cell.text if own else f"{cell.text} {unit_text(cell.unit)}".rstrip())


def _equal(now, was):
    """True for the same value, in whatever unit and writing."""
    if now is None or was is None or now.kind != was.kind:
        return False
    if isinstance(now.value, float) and isinstance(was.value, float):
        return abs(now.value - was.value) <= SAME * max(abs(now.value), abs(was.value))
    return now.value == was.value and not isinstance(now.value, float)


def _verdicts(row, checks, before):
    was = {check.name: check.verdict for check in before}
    for check in checks:
        earlier = was.get(check.name, "not given")
        if check.verdict != earlier:
            yield Change(harmless(row.tag), f"check: {check.name}", earlier, check.verdict)
