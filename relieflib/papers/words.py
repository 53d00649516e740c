"""What the papers say of one valve, as plain text for a shell and a notebook."""

from relieflib.datasheet.verdict import SEVERITY, digits
from relieflib.texts import clean, with_unit

COPIES = "Papers that were copied from each other agree and may all be wrong."


def as_text(found):
    """All that was found of one valve, what differs first.

    Parameters: found, `judging.Found`. Returns str, safe to print. Source: ours.
    """
    counts = {v: sum(e.verdict == v for e in found.entries) for v in ("differs", "agrees")}
    rest = len(found.entries) - sum(counts.values())
    lines = [f"{found.tag}: {', '.join(p.name for p in found.papers)}",
             f"  entries: {counts['differs']} differ, {counts['agrees']} agree, {rest} not given "
             "twice"]  # fmt: skip
    lines += [f"  {words}" for words in (*found.problems, *found.unread)]
    for entry in found.differing:
        lines += ["", *_entry(entry)]
    lines += _checks(found)
    same = [f"{e.name} ({next(iter(e.said.values()))})" for e in found.entries
            if e.verdict == "agrees"]  # fmt: skip
    lines += ["", f"  agrees: {', '.join(same) or 'nothing'}"]
    lines += [f"  missing on the {kind}: {', '.join(names)}" for kind, names in missing(found)]
    return clean("\n".join([*lines, f"  {COPIES}"]))


def _entry(entry):
    wide = max(map(len, entry.said), default=0)
    lines = [f"  {entry.name} differs: {SEVERITY[entry.severity]}"]
    lines += [f"    {paper:{wide}}  {words}" for paper, words in entry.said.items()]
    lines.append(f"    probably right: {likely_words(entry)}")
    return lines + [f"    {part}" for part in entry.why.split("; ") if part]


def likely_words(entry):
    """The papers that are probably right, or that none can be told to be.

    Parameters: entry, `judging.Entry`. Returns str. Source: as `judging.hold`.
    """
    return ", ".join(entry.likely) or "not to be told from these papers"


def _checks(found):
    lines = ["", "  a paper by itself:"] if found.checks else []
    for paper, check in found.checks:
        pair = " against ".join(
            filter(
                None,
                (
                    with_unit(digits(check.stated), check.unit),
                    with_unit(digits(check.recomputed), check.unit),
                ),
            )
        )
        what = f"{check.name} differs ({SEVERITY[check.severity]})"
        lines.append(f"    {paper}: {what}: {'. '.join(filter(None, (pair, check.reason)))}")
    return lines


def missing(found):
    """What each kind of paper should say and doesn't.

    Parameters: found, `judging.Found`. Returns a list of (kind, entries). Source: as
    `judging.hold`.
    """
    kinds = dict.fromkeys(p.kind for p in found.papers)
    lists = [(k, [e.name for e in found.entries if k in e.missing]) for k in kinds]
    return [(kind, names) for kind, names in lists if names]
