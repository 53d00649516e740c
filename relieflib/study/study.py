"""A study opened: its plant, its cases, the causes considered, and what is wrong in its file."""

from dataclasses import dataclass, field
from pathlib import Path

from relieflib import credible
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.plant import Plant, demo_plant_path, plant_of
from relieflib.study import asking, filed, results
from relieflib.study.case import Case
from relieflib.study.inputs import bare
from relieflib.study.store import cases_of, read_what_can
from relieflib.texts import harmless
from relieflib.toml_lines import key_at, lines_of, with_line

HEAD = ("number", "revision", "title", "project", "prepared_by", "date", "checked_by",
        "checked_on", "causes", "releases")  # fmt: skip
TEMPLATE = Path(__file__).parents[1] / "templates" / "study.txt"
PROTECTED = ("equipment", "vessels", "columns", "reactors", "tanks", "exchangers", "lines")


@dataclass(frozen=True)
class Study:
    """A study as its file says it; nothing is computed before `recompute`.

    Parameters
    ----------
    path : Path
        Of the file.
    head : dict of str
        number, revision, title, project, prepared_by, date, checked_by, checked_on; causes, the
        name of a matrix of credible causes beside the file; releases, 'complete' where every event
        that lifts several valves is in the file. What is not given is not there.
    plant : Plant
        Items, fluids, installed valves, headers; of what could be read.
    cases : tuple of Case
        In the file's order; those that could be read.
    considered : dict
        Tag -> {cause of the published list: `credible.Verdict`}.
    faults : tuple of str
        What could not be read, each with file, line and key.
    unread : dict
        (item, name) of a case that could not be read -> words, also among the faults.
    wrong : frozenset
        Keys that lead to each of the faults.
    lines : dict
        Keys that lead to a heading or key of the file -> its line.
    """

    path: Path
    head: dict
    plant: Plant = field(repr=False)
    cases: tuple = field(repr=False)
    considered: dict = field(repr=False)
    faults: tuple = ()
    unread: dict = field(default_factory=dict, repr=False)
    wrong: frozenset = field(default=frozenset(), repr=False)
    lines: dict = field(default_factory=dict, repr=False)

    def __repr__(self):
        return (f"<study {self.path.name}: {len(self.cases)} cases of {len(self.items)} items, "
                f"{len(self.faults)} faults>")  # fmt: skip

    @property
    def items(self):
        """Tags of all that has a case or is equipment to protect, in the file's order."""
        there = [item for s in PROTECTED for item in self.plant.of(s)]
        there.sort(key=lambda i: self.lines.get((i.section, i.tag), 0))
        spoken = {case.item for case in self.cases} | set(self.considered)
        relieved = {getattr(i, "protects", None) for i in self.plant.items.values()}
        spoken |= {item for item, _ in self.unread}
        tags = [item.tag for item in there if item.tag in spoken | relieved]
        unread = (item for item, _ in self.unread)
        return list(dict.fromkeys([*tags, *(case.item for case in self.cases), *unread]))

    def cases_for(self, tag):
        """Cases of one item."""
        return tuple(case for case in self.cases if case.item == tag)

    def line_of(self, case):
        """Line of the file on which a case begins, None where that is not known."""
        return self.lines.get(("cases", case.item, case.name))

    def recompute(self, item=None, progress=None, built=None, lifted=None):
        """Everything that follows from the cases, as `results.Results`.

        Parameters: item, a tag, for that one alone; progress, a function of (done, of how many);
        built, lifted, loads that a program made, as `results.recompute`. Raises InputError for a
        tag that the study has not.
        """
        return results.recompute(self, item, progress, built, lifted)

    def missing(self):
        """What the study does not say yet, as a list of questions in words."""
        return asking.questions(self)

    @property
    def filed(self):
        """What was filed last, as `filed.Filed`; None where nothing was."""
        return filed.read(filed.path_of(self.path))

    def file(self, who, date, found=None):
        """Keep today's results as those of this revision, beside the study; returns the Path.

        Parameters: who, date, str; found, `Results` of all items, recomputed where None. The
        results of the revision before are replaced: the file is made to be kept under revision
        control. Raises InputError where it can't be written.
        """
        return filed.write(self, self.recompute() if found is None else found, who, date)


def open_study(path=None):
    """A study from its file.

    Parameters
    ----------
    path : str or Path, optional
        None for the demo plant with its cases.

    Returns
    -------
    Study
        What is wrong with one thing leaves the rest: `Study.faults` says it.

    Raises
    ------
    InputError
        Where the file can't be read at all: missing, no TOML, its site not understood.

    Examples
    --------
    >>> study = open_study()
    >>> study.faults, "V-105" in study.items
    ((), True)
    """
    path = demo_plant_path() if path is None else Path(path)
    text, data, broken = read_what_can(path)
    faults, lines = [], lines_of(text)
    plant = _plant(path, data, faults)
    cases, wrong = cases_of(data)
    faults += [(("cases", *keys, *_key_in(words, data["cases"][keys[0]][keys[1]])),
                f"{path.name}, {keys[0]}, {keys[1]}: {words}")
               for keys, words in wrong.items()]  # fmt: skip
    wrong |= {keys[1:]: words for keys, words in broken if keys[:1] == ("cases",) and keys[2:]}
    head = _head(data.get("study", {}), path.name, faults)
    faults += _shared(data.get("shared", {}), path.name)
    considered = _considered(data.get("considered", {}), head, path, plant, faults)
    said = tuple(with_line(words, text, keys) for keys, words in faults)
    said = (*(words for _, words in broken), *said)
    keys = frozenset(tuple(keys) for keys, _ in (*broken, *faults))
    return Study(path, head, plant, cases, considered, said, wrong, keys, lines)


def _key_in(words, values):
    """The key of a case that words on it speak of, as a tuple of one or none."""
    unknown = words.partition("key '")[2].partition("'")[0] if words.startswith("key '") else ""
    key = unknown or (key_at(words, values) if isinstance(values, dict) else "")
    return (key,) if key else ()


def _plant(path, data, faults):
    if "site" not in data:
        rest = {key: value for key, value in data.items() if key != "site"}
        air = bare().atmosphere
        data = rest | {"site": {"name": path.stem, "atmosphere": f"{air / 1e3!r} kPaa"}}
    found = []
    plant = plant_of(data, path.name, found)
    faults += [(error.keys, str(error)) for error in found]
    return plant


def _shared(values, file):
    """What stands under [shared] and is no table, as (keys, words)."""
    if not isinstance(values, dict):
        return [(("shared",), f"{file}: shared must hold tables")]
    return [(("shared", key), f"{file}, shared, {harmless(key, 60)}: must be a table")
            for key, value in values.items() if not isinstance(value, dict)]  # fmt: skip


def _head(values, file, faults):
    if not isinstance(values, dict):
        faults.append((("study",), f"{file}: study must be a table"))
        return {}
    found = {}
    for key, value in values.items():
        if key not in HEAD:
            words = f"{file}, study: key '{harmless(key, 40)}' is not known: {', '.join(HEAD)}"
            faults.append((("study", key), words))
        elif not isinstance(value, str):
            faults.append((("study", key), f"{file}, study: {key} = {value!r}: must be text"))
        else:
            found[key] = value
    return found


def _considered(tables, head, path, plant, faults):
    """Judgements by tag: those of a matrix beside the file, and those of the file over them."""
    found = {}
    if head.get("causes"):
        try:
            matrix = credible.load_matrix(path.parent / head["causes"])
            tags = [t for kind in matrix.equipment for t in matrix.tags[kind] if t in plant.items]
            found = {tag: {v.cause: v for v in matrix.of(tag)} for tag in tags}
        except InputError as error:
            faults.append((("study", "causes"), str(error)))
    known = {row["cause"] for row in credible.published_causes()}
    for tag, said in tables.items() if isinstance(tables, dict) else ():
        for cause, cell in said.items() if isinstance(said, dict) else ():
            try:
                if cause not in known:
                    words = f"'{harmless(cause, 60)}' is no cause of the list"
                    listed = ", ".join(sorted(known))
                    raise InputError(f"{path.name}, considered {tag}: {words}: {listed}")
                verdict = credible.read_verdict(cause, tag, str(cell), path.name)
                found.setdefault(tag, {})[cause] = verdict
            except InputError as error:
                faults.append((("considered", tag, cause), str(error)))
    return found


def new_study(path, title="", prepared_by=""):
    """Write an empty study that says in words what belongs where.

    Parameters
    ----------
    path : str or Path
        A new file, such as 'unit-7.toml'.
    title, prepared_by : str, optional

    Returns
    -------
    Path

    Raises
    ------
    InputError
        Where the file is there already or can't be written.
    """
    text = TEMPLATE.read_text(encoding="utf-8")
    for name, words in (("TITLE", title), ("PREPARED_BY", prepared_by)):
        plain = harmless(words, 200).replace("\\", "/").replace('"', "'")
        text = text.replace(f"@{name}@", plain)
    return write_whole(path, text, overwrite=False)


__all__ = ["Case", "Study", "new_study", "open_study"]
