"""Results of a study as text for a terminal."""

from relieflib.study import case_lines
from relieflib.symbols import shown
from relieflib.texts import clean, harmless

MOST = 20  # questions, and changes, of a kind that are printed


def as_text(found):
    """Results as lines: item by item the ladder and the verdict, then faults, changes, questions.

    Parameters: found, `Results`. Returns str.
    """
    head = found.study.head
    title = " ".join(t for t in (head.get("number"), head.get("title")) if t)
    revision = f", revision {head['revision']}" if head.get("revision") else ""
    lines = [f"study {found.study.path.name}: {title or 'no title'}{revision}"]
    for item in found.items.values():
        lines += _item(item)
    lines += _some("could not be read or computed", found.faults, len(found.faults))
    lines += _filed(found)
    lines += _some("is missing", found.missing, MOST)
    return clean("\n".join(lines))


def _item(item):
    if not item.done and not item.sizings:
        unread = ", ".join(harmless(name, 60) for name in item.unread)
        return ["", f"{item.tag}: " + (f"can't be read: {unread}" if unread else "no case")]
    lines = ["", f"{item.tag}: {item.verdict}" + (f"; {item.governing} governs" if item.sizings
                                                  else "")]  # fmt: skip
    if item.comparison is not None:
        for words, sizing in zip(item.comparison.causes, item.comparison.sizings):
            flow, area = sizing.load.mass_flow, sizing.required_area
            numbers = shown("mass_flow", flow), shown("required_area", area), sizing.letter or "-"
            lines.append(f"  {harmless(words, 60):<44} {', '.join(numbers)}")
    for d in item.done:
        for side, check in d.lines.items():
            said = case_lines.in_words(side, check, shown)
            lines.append(f"  {harmless(d.case.name, 60)}: {harmless(said, 600)}")
        if d.case.only_result:
            area = d.case.result.get("required_area", "")
            lines.append(f"  {harmless(d.case.name, 60):<44} {harmless(area, 40)}, result only")
    for valve in item.valves if item.matrix else ():
        lines.append(f"  {valve.tag}: {valve.arrangement}")
        worst = {c: item.matrix[c, valve.tag] for c in item.matrix.causes}
        for cause, cover in worst.items():
            if cover.why_not:
                reason = cover.why_not[0]
                lines.append(f"    {harmless(cause, 60)}: {cover.verdict}: {reason.subject}: "
                             f"{reason.said()}")  # fmt: skip
    if not item.valves:
        lines.append("  no relief valve or disk in the file")
    return lines


def _filed(found):
    if found.filed is None:
        return ["", "nothing is filed yet: what changes later can't be said"]
    head = found.filed.head
    since = f"changed since revision {head.get('revision') or '-'}, filed {head.get('date', '')}"
    if not found.changes:
        return ["", f"{since}: nothing"]
    lines = _some(since, [str(c) for c in found.changes], 10 * MOST)
    if found.stale:
        names = ", ".join(f"{item} {case}".strip() for item, case in found.stale[:MOST])
        lines.append(f"  no longer as filed, file anew once checked: {names}")
    return lines


def _some(words, texts, most):
    if not texts:
        return []
    more = [f"  and {len(texts) - most} more"] if len(texts) > most else []
    return ["", f"{words}:", *(f"  {harmless(t, 600)}" for t in texts[:most]), *more]
