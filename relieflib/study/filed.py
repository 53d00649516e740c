"""Results as they were filed, beside the study: what changed since, and why.

They stand in a file of their own, `NAME.filed.toml`, written whole by `Study.file`: the study's own
history then shows what people wrote, this one's what came of it, one input or result a line.
"""

import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from relieflib import __version__
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.study.inputs import written
from relieflib.study.store import as_toml, read_text
from relieflib.texts import harmless

SAME = 1e-6  # of an area: less is the last digit of another machine
_HEAD = "# Results as filed. Written whole by relieflib: change the study and file it anew.\n\n"
_OWN = ("cause", "way", "valve")


@dataclass(frozen=True)
class Filed:
    """What was filed: head (number, revision, who, date, version), cases and items by their keys.

    cases, {(item, name): dict of texts, 'inputs' among them a dict}; items, {tag: dict of texts}.
    """

    head: dict
    cases: dict = field(repr=False)
    items: dict = field(repr=False)


@dataclass(frozen=True)
class Change:
    """One thing that is another than it was filed.

    item, case ('' for the item as a whole); what changed, before and now, texts, '' for not there;
    why, in words; stale, True where the filed result is no longer that of today's study.
    """

    item: str
    case: str
    what: str
    before: str
    now: str
    why: str = ""
    stale: bool = False

    def __str__(self):
        name = f"{self.item}, {self.case}" if self.case else self.item
        words = f"{name}: {self.what}: {self.before or 'not there'} -> {self.now or 'not there'}"
        return words + (f" ({self.why})" if self.why else "")


def path_of(path):
    """Where the results of a study are filed. Parameters: path of the study. Returns Path."""
    path = Path(path)
    return path.with_name(f"{path.stem}.filed.toml")


def write(study, found, who, date):
    """Keep results as those filed; returns the Path. Raises InputError as `files.write_whole`.

    Parameters: study; found, `Results` of all items; who, date, str.
    """
    head = {key: study.head.get(key, "") for key in ("number", "revision")}
    head |= {"who": who, "date": date, "version": __version__}
    parts = [as_toml(("filed",), head)]
    for tag, item in found.items.items():
        parts.append(as_toml(("items", tag), _item(item)))
    for d in found.done:
        parts.append(as_toml(("cases", d.case.item, d.case.name), _case(d)))
    text = _HEAD + "\n".join(parts)
    tomllib.loads(text)
    return write_whole(path_of(study.path), text)


def _item(item):
    if item.comparison is None:
        return {"verdict": item.verdict}
    area = item.comparison.governing.required_area
    return {"governing": item.governing, "required_area": _area(area), "verdict": item.verdict}


def _case(d):
    case = d.case
    values = {key: getattr(case, key) for key in _OWN if getattr(case, key)}
    values["edition"] = case.edition
    if d.good:
        values |= {"required_area": _area(d.sizing.required_area),
                   "mass_flow": written("mass_flow", d.load.mass_flow),
                   "letter": d.sizing.letter or ""}  # fmt: skip
    elif case.only_result:
        values |= {k: str(v) for k, v in case.result.items()} | {"inputs kept": "no"}
    else:
        values["not computed"] = harmless(d.words, 300)
    return values | {"inputs": d.inputs} if d.inputs else values


def _area(value):
    return f"{value * 1e6:.9g} mm2"


def read(path):
    """What was filed, as `Filed`; None where nothing was.

    Parameters: path of the file of results. Returns `Filed` or None. Raises InputError where it
    can't be read.
    """
    if not Path(path).exists():
        return None
    data = read_text(path)[1]
    try:
        cases = {(item, name): dict(values) for item, named in data.get("cases", {}).items()
                 for name, values in named.items()}  # fmt: skip
        return Filed(dict(data["filed"]), cases, dict(data.get("items", {})))
    except (KeyError, AttributeError, TypeError, ValueError):
        words = "is no file of filed results: set it aside, and file the study anew"
        raise InputError(f"{harmless(path, 200)}: {words}") from None


def changes(found):
    """What is another than it was filed, case by case.

    Parameters: found, `Results`. Returns tuple of `Change`; of one item alone where the results are
    of one item.
    """
    was, version = found.filed, found.filed.head.get("version", "")
    today = {(d.case.item, d.case.name): d for d in found.done}
    out = []
    for (item, name), old in was.cases.items():
        if item not in found.items and item in found.study.items:
            continue  # recomputed for another item alone
        if (item, name) in today:
            out += _of_case(today[item, name], old, version)
        elif (item, name) in found.study.unread:
            words = found.study.unread[item, name]
            out.append(Change(item, name, "case", old.get("required_area", ""), "can't be read",
                              words, True))  # fmt: skip
        else:
            area = old.get("required_area", "")
            out.append(Change(item, name, "case", area, "", "taken out of the study", True))
    for (item, name), d in today.items():
        if (item, name) not in was.cases:
            now = _case(d).get("required_area", "not computed")
            out.append(Change(item, name, "case", "", now, "new in the study"))
    for tag, item in found.items.items():
        for key, now in _item(item).items():
            before = str(was.items.get(tag, {}).get(key, ""))
            if before and not _same(before, now):
                out.append(Change(tag, "", key.replace("_", " "), before, now, stale=True))
    return tuple(out)


def _same(before, now):
    if before == now:
        return True
    try:
        (a, _), (b, _) = before.split(), now.split()
        return abs(float(a) - float(b)) <= SAME * abs(float(a))
    except ValueError:
        return False


def _of_case(d, old, version):
    now, name = _case(d), (d.case.item, d.case.name)
    inputs = _inputs_changed(old.get("inputs", {}), now.get("inputs", {}))
    rules = [(key, str(old.get(key, "")), str(now.get(key, ""))) for key in (*_OWN, "edition")]
    rules = [(key, a, b) for key, a, b in rules if a != b]
    before, after = (str(x.get("required_area", "not computed")) for x in (old, now))
    moved = not _same(before, after)
    why = [key for key, _, _ in (*inputs, *rules)]
    if moved and not why:
        why = [f"version {version} -> {__version__}" if version != __version__
               else "what the file says of its valve, header or line"]  # fmt: skip
    found = [Change(*name, f"input {key}", a, b, stale=moved) for key, a, b in inputs]
    found += [Change(*name, key, a, b, stale=moved) for key, a, b in rules]
    if moved:
        found.append(Change(*name, "required area", before, after, ", ".join(why), True))
    return found


def _inputs_changed(old, new):
    return [(key, str(old.get(key, "")), str(new.get(key, "")))
            for key in dict.fromkeys([*old, *new])
            if str(old.get(key, "")) != str(new.get(key, ""))]  # fmt: skip
