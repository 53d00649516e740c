"""`relieflib check FILE...`: check datasheets from a shell; `relieflib template OUT`: an empty one.

`relieflib compare`: P&ID note, datasheet, load summary and plant file of a valve held together.

`relieflib key --participants 1-20` and `relieflib marks FOLDER`: for the instructor of a class.

`relieflib study FILE`: a study of one's own, recomputed: exit code 0 when every item is covered, 1
when something is not covered or not known, 2 when the file can't be read.

`relieflib workshop FOLDER`: a class on one machine; `relieflib book OUT`: the set as pages to read;
`relieflib site OUT`: the set for a browser alone, without an install.

The same as `python -m relieflib`.

Exit code 0 when all that is given agrees, 1 when something differs and for nothing else, 2 when a
file or folder can't be read or checked or an output can't be written, 3 when nothing differs but a
value or a row can't be read, 130 when stopped by hand; 2 stands before 1, 1 before 3.
`--report page.html` or `--report page.pdf` also writes the page to file, for all files together.
"""

import argparse
import shutil
import sys
import tempfile
import warnings
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from relieflib import __version__

LONG = 200  # rows of a file from which on a bar is shown
MOST_REPORTED = 5000  # valves of one report
AGREES, DIFFERS, FAILED, UNREAD, STOPPED, NO_READER = 0, 1, 2, 3, 130, 141
SHOW = ("telling", "differs", "all")


def main(arguments=None):
    """Run a command line.

    Parameters: arguments, list of str, the shell's by default. Returns the exit code.
    """
    options = _parser().parse_args(arguments)
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")
    try:
        run = {"template": _template, "headings": _headings, "check": _check, "compare": _compare,
               "study": _study, "key": _key, "marks": _marks, "workshop": _workshop,
               "book": _book, "site": _site}  # fmt: skip
        return run[options.command](options)
    except ModuleNotFoundError as error:
        _say(f"needs {error.name}, which this copy lacks", sys.stderr)
        return FAILED
    except KeyboardInterrupt:
        _say("\nstopped; no file was left half-written", sys.stderr)
        return STOPPED
    except BrokenPipeError:
        raise
    except Exception as error:  # exit code 1, which Python would give, means 'something differs'
        _say(f"a fault of this program: {type(error).__name__}: {error}", sys.stderr)
        return FAILED


def _say(text, file=None):
    """Print, without what a terminal would obey; the one way out to it."""
    from relieflib.texts import clean

    print(clean(text), file=file or sys.stdout, flush=file is sys.stderr)


def _parser():
    parser = argparse.ArgumentParser(
        prog="relieflib", description="Check relief-valve datasheets.",
        epilog="A teaching and checking aid: sizing decisions belong to a competent, licensed "
               "engineer under the local code.",
    )  # fmt: skip
    parser.add_argument("--version", action="version", version=f"relieflib {__version__}")
    commands = parser.add_subparsers(dest="command", required=True)
    check = commands.add_parser("check", help="recompute datasheets and say what differs")
    check.add_argument(
        "files", nargs="+", metavar="FILE", help="CSV or XLSX file, or a folder of them"
    )
    check.add_argument(
        "--show",
        choices=SHOW,
        default="telling",
        help="checks to print: given or missed (default), what differs, all",
    )
    check.add_argument("--atmosphere", default="1.01325 bara", metavar="P",
                       help="the site's atmosphere with its unit, such as '84 kPaa'")  # fmt: skip
    check.add_argument(
        "--export", metavar="OUT", help="also write the table to a new .csv or .xlsx file"
    )
    check.add_argument(
        "--map",
        metavar="FILE",
        help="answers to headings that were asked, as `headings` writes them",
    )
    check.add_argument(
        "--against", metavar="OLD",
        help="an earlier revision of the same list: say what changed since, also in the report",
    )  # fmt: skip
    check.add_argument(
        "--plant", metavar="FILE",
        help="a plant file (.toml) with the tree of a header: stated back pressures are held "
             "against its headers, event by event, by the tags of its valves",
    )  # fmt: skip
    _add_report(check)
    headings = commands.add_parser("headings", help="say what the headings of a file are taken for")
    headings.add_argument("file", metavar="FILE", help="CSV or XLSX file")
    headings.add_argument("--out", metavar="MAP", help="also write it to a new .csv to answer in")
    headings.add_argument("--map", metavar="FILE", help="answers given before")
    template = commands.add_parser("template", help="write an empty datasheet to fill in")
    template.add_argument("out", metavar="OUT", help="a new .xlsx file")
    template.add_argument("--units", choices=("SI", "US"), default="SI", help="set of its units")
    _add_compare(commands)
    _add_study(commands)
    _add_class(commands)
    return parser


def _add_compare(commands):
    compare = commands.add_parser(
        "compare", help="hold the papers of a valve against each other: at least two of them"
    )
    compare.add_argument("--note", metavar="FILE", help="text file with the P&ID note, or with "
                         "several, an empty line between them")  # fmt: skip
    compare.add_argument("--note-text", metavar="TEXT", help="the note itself, fields separated "
                         "by semicolons")  # fmt: skip
    compare.add_argument("--datasheet", metavar="FILE", help="list of valves, as check reads it")
    compare.add_argument("--summary", metavar="FILE", help="load summary (CSV)")
    compare.add_argument("--plant", metavar="FILE", help="plant file (.toml) that places the valve")
    compare.add_argument("--tag", help="this valve alone; by default each of the notes")
    compare.add_argument("--item", metavar="TAG", help="what the valve protects, where neither "
                         "datasheet nor plant file says it")  # fmt: skip
    compare.add_argument("--set-unit", metavar="UNIT", help="unit of a note's set pressure that is "
                         "written without one, as the drawing's legend says: barg")  # fmt: skip
    compare.add_argument("--atmosphere", metavar="P", help="the site's atmosphere with its unit; "
                         "by default the plant file's, else 1.01325 bara")  # fmt: skip
    compare.add_argument("--map", metavar="FILE", help="answers to headings that were asked")
    _add_report(compare, pages=False)


def _add_study(commands):
    study = commands.add_parser("study", help="recompute a study of your own plant")
    study.add_argument("file", metavar="FILE", help="a study (.toml)")
    study.add_argument("--new", action="store_true", help="write FILE, empty, with words that say "
                       "what belongs where")  # fmt: skip
    study.add_argument("--from", dest="source", metavar="IN", help="with --new: take what stands "
                       "in an .xlsx of --export, or in an old load summary (.csv)")  # fmt: skip
    study.add_argument("--item", metavar="TAG", help="of one item alone")
    study.add_argument("--report", metavar="OUT", help="also write the page to file, .html or .pdf")
    study.add_argument("--export", metavar="OUT", help="also write the study to a new .xlsx file")
    study.add_argument("--filed-by", metavar="NAME", help="keep the results as filed, by this name")
    study.add_argument("--date", metavar="YYYY-MM-DD", help="of filing and report; today where not "
                       "given")  # fmt: skip


def _add_class(commands):
    key = commands.add_parser("key", help="right answers of a class, for the instructor")
    key.add_argument("--participants", required=True, metavar="N", help="such as 1-20 or 3,5,8")
    key.add_argument("--room", default="", metavar="CODE", help="room code of the class")
    key.add_argument("--notebook", action="append", metavar="NN", help="this one alone, again for "
                     "more")  # fmt: skip
    marks = commands.add_parser("marks", help="judge the kept answers of a class anew")
    marks.add_argument("folder", metavar="FOLDER", help="holds each participant's my-work folder")
    marks.add_argument("--out", metavar="OUT", help="also write them to a new .xlsx file")
    workshop = commands.add_parser("workshop", help="write what a class on one machine needs")
    workshop.add_argument("folder", metavar="FOLDER", help="a new folder")
    workshop.add_argument("--participants", default="20", metavar="N", help="how many, such as 20")
    workshop.add_argument("--room", default="", metavar="CODE", help="room code of the class")
    book = commands.add_parser("book", help="write the notebooks as pages to read, without code")
    book.add_argument("out", metavar="OUT", help="a new folder")
    site = commands.add_parser("site", help="write the notebooks as a site that runs in a browser")
    site.add_argument("out", metavar="OUT", help="a new folder")
    site.add_argument("--pyodide", metavar="WHERE", help="folder or address of a copy of Pyodide's "
                      "distribution; by default its own address is asked")  # fmt: skip
    for command in (workshop, book, site):
        command.add_argument("--notebooks", metavar="FOLDER", help="folder of the notebooks, where "
                             "they don't stand beside the package or here")  # fmt: skip


def _key(options):
    """Print the right answers of some participants."""
    from relieflib import marking
    from relieflib.errors import InputError

    try:
        people = marking.participants_of(options.participants)
        print(marking.key_text(marking.key(people, options.room, options.notebook)))
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _marks(options):
    """Print, and write where asked, what a class answered."""
    from relieflib import marking
    from relieflib.errors import InputError

    try:
        if options.out and not options.out.lower().endswith(".xlsx"):
            raise InputError(f"--out {options.out}: must end in .xlsx")
        found, left = marking.marks(options.folder)
        print(marking.marks_text(found, left))
        if options.out:
            print(f"marks: {_name(marking.marks_xlsx(found, left, options.out))}")
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _book(options):
    """Write the set as pages to read; a warning of the maker is said and stops nothing."""
    from relieflib import book
    from relieflib.errors import InputError

    try:
        made = book.make(options.out, options.notebooks)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    for words in made.warned:
        _say(f"warning: {words}", sys.stderr)
    _say(f"book: {made.pages} notebooks, {len(made.warned)} warnings; open {_name(made.page)}")
    return 0


def _site(options):
    """Write the set as a site for the browser alone."""
    from relieflib import browser_site
    from relieflib.errors import InputError

    try:
        made = browser_site.make(options.out, options.pyodide, options.notebooks)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    for words in made.warned:
        _say(f"note: {words}", sys.stderr)
    _say(f"site: {made.notebooks} notebooks, {made.megabytes:.0f} MB in {_name(made.folder)}; to "
         f"try it: python -m http.server -d {_name(made.folder)}, then "
         "http://localhost:8000 in a browser")  # fmt: skip
    return 0


def _workshop(options):
    """Write what a class on one machine needs."""
    from relieflib import workshop
    from relieflib.errors import InputError

    try:
        page = workshop.write(options.folder, options.participants, options.room, options.notebooks)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    _say(f"workshop: read {_name(page)} first")
    return 0


def _study(options):
    """Recompute a study and say what came of it."""
    from relieflib import study as room
    from relieflib.errors import InputError

    try:
        if options.new:
            return _new_study(options)
        _check_study_outputs(options)
        opened = room.open_study(options.file)
        bar = _Bar("cases computed", max(len(opened.cases), 1), sys.stderr.isatty())
        found = opened.recompute(options.item, bar)
        _say(room.shown.as_text(found))
        _study_outputs(options, opened, found)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    return AGREES if found.covered else DIFFERS


def _new_study(options):
    from relieflib import study as room
    from relieflib.errors import InputError

    source = (options.source or "").lower()
    if source and not source.endswith((".xlsx", ".csv")):
        raise InputError(f"--from {options.source}: must end in .xlsx or .csv")
    cases = room.sheet.cases_of_summary(options.source) if source.endswith(".csv") else []
    if source.endswith(".xlsx"):
        path = room.sheet.study_of_xlsx(options.source, options.file)
    else:
        path = room.new_study(options.file)
    if cases:
        room.store.add_cases(path, cases)
    _say(f"study: {_name(path)}" + (f", {len(cases)} cases, results only" if cases else ""))
    return AGREES


def _check_study_outputs(options):
    from relieflib.errors import InputError

    for name, ends in (("report", (".html", ".pdf")), ("export", (".xlsx",))):
        out = getattr(options, name)
        if out and not out.lower().endswith(ends):
            raise InputError(f"--{name} {out}: must end in {' or '.join(ends)}")
        if out and Path(out).exists():
            raise InputError(f"{out}: exists already and was left as it is")
    if options.source:
        raise InputError("--from: goes with --new")
    if options.filed_by and options.item:
        raise InputError("--filed-by: files all items; leave --item out")


def _study_outputs(options, opened, found):
    import datetime

    from relieflib import study as room
    from relieflib.errors import InputError

    date = options.date or datetime.date.today().isoformat()
    if options.export:
        _say(f"export: {_name(room.sheet.export_xlsx(opened, options.export, found))}")
    if options.report:
        try:
            from relieflib.report.study_page import study_report
        except ImportError:
            raise InputError("--report: this copy has no report of a study yet") from None
        bar = _Bar("parts of the report written", 1, sys.stderr.isatty())
        study_report(found, date).save(options.report, progress=bar)
        _say(f"report: {_name(Path(options.report))}")
    if options.filed_by:
        _say(f"filed: {_name(opened.file(options.filed_by, date, found))}")


def _template(options):
    from relieflib.datasheet import write_template
    from relieflib.errors import InputError

    try:
        _say(f"template: {_name(write_template(options.out, options.units))}")
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    return 0


def _headings(options):
    """Print, and write where asked, what each heading of a file is taken for."""
    from relieflib.datasheet import read
    from relieflib.errors import InputError
    from relieflib.files import write_whole

    try:
        reading = read(options.file, mapping=_mapping(options.map))
        _say(reading.mapping.rstrip("\n"))
        if options.out:
            write_whole(options.out, reading.mapping.encode("utf-8-sig"), overwrite=False)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    return int(any(m.fault for m in reading.headings))


def _mapping(name):
    from relieflib.datasheet.headings import read_mapping
    from relieflib.errors import InputError

    if name is None:
        return None
    try:
        return read_mapping(Path(name).read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError):
        raise InputError(f"{_name(Path(name))}: can't be read") from None
    except InputError as error:
        raise InputError(f"{_name(Path(name))}: {error}") from None


def _add_report(check, pages=True):
    group = check.add_argument_group(
        "report", "one page to file, with a list of contents where several files are checked"
    )
    group.add_argument(
        "--report", metavar="OUT", help="a new .html (needs no network) or .pdf (A4) file"
    )
    if pages:
        group.add_argument(
            "--pages", choices=("differing", "all", "none"),
            help="valves with a page of their own: what differs or can't be read, all, none; "
                 "by default all of up to 12, the differing ones of more",
        )  # fmt: skip
    group.add_argument("--date", metavar="YYYY-MM-DD", help="date on the report, by default today")
    group.add_argument("--prepared-by", metavar="NAME", default="", help="name on the report")
    group.add_argument("--number", metavar="TEXT", default="", help="document number of the report")
    group.add_argument("--revision", metavar="TEXT", default="", help="its revision")
    group.add_argument("--checked-by", metavar="NAME", default="", help="who checked the report")
    group.add_argument("--checked-on", metavar="YYYY-MM-DD", default="", help="when")
    group.add_argument("--project", metavar="TEXT", default="", help="project on the report")


@dataclass
class _Run:
    """What a run has found so far: its exit codes, and what goes into the report."""

    codes: set = field(default_factory=lambda: {AGREES})
    done: list = field(default_factory=list)
    earlier: object = None
    unread: list = field(default_factory=list)
    rows: int = 0
    plant: object = None

    @property
    def code(self):
        """The exit code of all together."""
        return next(c for c in (FAILED, DIFFERS, UNREAD, AGREES) if c in self.codes)

    def failed(self, words):
        """Say what can't be done, and go on."""
        _say(words, sys.stderr)
        self.codes.add(FAILED)


def _check(options):
    from relieflib.errors import InputError

    run = _Run()
    try:
        atmosphere = _pressure(options.atmosphere)
        found = _files(options.files, run)
        _check_outputs(options)
        mapping = _mapping(options.map)
        run.plant = _plant(options.plant, found.files, atmosphere, mapping)
        run.earlier = _earlier(options, found.files, atmosphere, mapping)
        with ExitStack() as stack, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the checks have put them into words
            add = _opened(stack, options.export)
            _each(found.files, options, run, (atmosphere, mapping), add)
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    _report(options, run)
    return run.code


def _compare(options):
    """Hold the papers of one valve or several against each other."""
    from relieflib.errors import InputError
    from relieflib.papers import as_text, hold, of_valve

    run, found = _Run(), []
    try:
        _check_outputs(options)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what they say stands in the words of the checks
            given = _papers(options, run)
            plant = given["plant"]
            for tag, note in given.pop("valves"):
                try:
                    found.append(hold(of_valve(tag, note, **given)))
                except InputError as error:
                    run.failed(str(error))
    except InputError as error:
        _say(str(error), sys.stderr)
        return FAILED
    for one in found:
        _say(as_text(one) + "\n")
        run.codes.add(DIFFERS if one.differs else UNREAD if one.unread else AGREES)
    _papers_page(options, run, found, plant)
    return run.code


def _papers(options, run):
    """What the papers hold, and the (tag, note) of each valve."""
    from relieflib.datasheet import read
    from relieflib.errors import InputError
    from relieflib.plant import load_plant
    from relieflib.summary import read_summary, saved_cases
    from relieflib.units import ATMOSPHERE

    plant = load_plant(options.plant) if options.plant else None
    own = plant.site.atmosphere if plant else ATMOSPHERE
    air = _pressure(options.atmosphere) if options.atmosphere else own
    notes, rows, cases = _notes(options, run, air), (), None
    if options.datasheet:
        reading = read(options.datasheet, air, _mapping(options.map))
        rows = reading.rows
        for words in reading.said():
            _say(f"  {words}")
    if options.summary:
        cases = saved_cases(read_summary(options.summary))
    if sum(map(bool, (notes, options.datasheet, options.summary, options.plant))) < 2:
        raise InputError("compare: give at least two of --note, --datasheet, --summary, --plant")
    return {"valves": _valves(options, notes), "rows": rows, "cases": cases, "plant": plant,
            "item": options.item}  # fmt: skip


def _notes(options, run, air):
    """Every `pid_note.Note` that was given; what can't be read is said."""
    from relieflib.errors import InputError
    from relieflib.pid_note import read_notes

    if options.note and options.note_text:
        raise InputError("--note: give a file or --note-text, not both")
    if not (options.note or options.note_text):
        return []
    words = options.note_text
    if options.note:
        name = _name(Path(options.note)) or options.note
        if not Path(options.note).is_file():
            raise InputError(f"{name}: can't be read: no such file")
        try:
            words = Path(options.note).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError, ValueError):
            raise InputError(f"{name}: can't be read as text") from None
    found, unread = read_notes(words, air, options.set_unit)
    for sentence in unread:
        run.failed(sentence)
    if not found:
        raise InputError("--note: none could be read")
    return [note for note, _ in found]


def _valves(options, notes):
    """(tag, note) of the valves to hold: the one that is named, or each that has a note."""
    from relieflib.errors import InputError
    from relieflib.pid_note import plain, split_tag

    if not options.tag and not notes:
        raise InputError("--tag: name the valve, since there is no note")
    if not options.tag:
        return [(note.tag, note) for note in notes]
    tag = split_tag(options.tag)[0]
    same = [note for note in notes if plain(note.tag) == plain(tag)]
    if notes and not same:
        raise InputError(f"--tag {tag}: no note names it")
    return [(options.tag, same[0] if same else None)]


def _papers_page(options, run, found, plant):
    """Write the page to file, where it is asked for and anything was held."""
    from relieflib.errors import InputError
    from relieflib.report.page import Document
    from relieflib.report.papers_page import papers_report

    if not options.report or not found:
        return
    names = {"P&ID note": options.note, "datasheet": options.datasheet,
             "load summary": options.summary, "plant file": options.plant}  # fmt: skip
    files = [(words, Path(name).name) for words, name in names.items() if name]
    if options.set_unit:
        files.append(("unit of a set without one", f"{options.set_unit}, as told"))
    filed_as = Document(options.number, options.revision, options.checked_by, options.checked_on)
    try:
        report = papers_report(found, options.date, options.prepared_by, options.project, filed_as,
                               files, _details(found, plant))  # fmt: skip
        report.save(options.report)
    except InputError as error:
        run.failed(str(error))
        return
    _say(f"report: {_name(Path(options.report))}")


def _details(found, plant):
    """{tag: blocks of its drawn detail} of the valves that the plant places."""
    from relieflib.errors import InputError
    from relieflib.papers.paper import PLACED
    from relieflib.report.blocks import Heading, Paragraph
    from relieflib.report.detail import detail_of

    drawn = {}
    for one in found:
        for paper in (p for p in one.papers if p.kind == PLACED and p.checks):
            try:
                block = detail_of(plant, paper.said["tag"].value, paper.checks).block()
            except InputError as error:  # more valves than a detail shows
                block = Paragraph(f"{error}.", "No detail is drawn:")
            drawn[one.tag] = [Heading("Where it stands", 3), block]
    return drawn


def _plant(name, files, atmosphere, mapping):
    """The plant of a file with what is relieved together, its headers computed, or None.

    What the demo plant's equipment relieves is worked out; any other plant takes the loads of the
    lists, and the fire zones and events of its file.
    """
    if name is None:
        return None
    from relieflib import demo
    from relieflib.datasheet.header_checks import need_tree, with_loads_of
    from relieflib.errors import InputError
    from relieflib.plant import load_plant

    found, short = load_plant(name), _name(Path(name))
    try:
        need_tree(found)
        if set(demo.ITEMS) <= set(found.items):
            found = demo.plant(name)
        else:
            found = with_loads_of(found, _rows_of(files, atmosphere, mapping))
        for header in found.headers:
            found.faced(header)  # a fault of the file is said before anything is checked
    except InputError as error:
        raise InputError(f"--plant {short}: {error}") from None
    if found.lacks:
        _say(f"plant {short}: {found.lacks}", sys.stderr)
    return found


def _rows_of(files, atmosphere, mapping):
    """The rows of all files; what can't be read is said when it is checked."""
    from relieflib.datasheet import read_slowly
    from relieflib.errors import InputError

    for path, name in files:
        try:
            yield from read_slowly(path, atmosphere, mapping, name).rows
        except InputError:
            continue


def _earlier(options, files, atmosphere, mapping):
    """The earlier revision, checked, or None."""
    from relieflib.datasheet import check_file
    from relieflib.errors import InputError

    if not options.against:
        return None
    if len(files) != 1:
        raise InputError("--against: goes with one file")
    earlier = check_file(options.against, atmosphere, mapping=mapping)
    if len(earlier.results) > MOST_REPORTED:
        raise InputError(f"--against: holds more than {MOST_REPORTED} valves: split it")
    return earlier


def _say_changes(new, earlier):
    from relieflib.datasheet.changes import changes

    found = changes(new.results, earlier.results)
    _say(f"changed since {earlier.reading.file}: {len(found) or 'nothing'}")
    for one in found:
        _say(f"  {one.tag}, {one.what}: {one.before or 'not there'} -> {one.now or 'not there'}")


def _opened(stack, name):
    """The way to add a row's checks to the export, or to nothing."""
    from relieflib.datasheet import export_slowly

    return stack.enter_context(export_slowly(name)) if name else lambda row, checks: None


def _each(files, options, run, given, add):
    """Check file after file; what happens to one costs no other."""
    several = len(files) > 1
    bar = _Bar("checked", len(files), sys.stderr.isatty() and several)
    for number, (path, name) in enumerate(files, start=1):
        if several and not bar.live:
            _say(f"{number} of {len(files)}: {name}", sys.stderr)
        _guarded(path, name, options, run, given, add, bar, not several)
        bar(number)


def _guarded(path, name, options, run, given, add, bar, alone):
    from relieflib.errors import InputError
    from relieflib.texts import harmless

    try:
        _one(path, name, options, run, given, add, bar, alone)
    except InputError as error:
        words = str(error)
    except (BrokenPipeError, ModuleNotFoundError):
        raise
    except Exception as error:
        kind = type(error).__name__
        words = f"{harmless(name, 80)}: was not checked to its end, by a fault of this program"
        words += f" ({kind}): please report it"
    else:
        return
    bar.clear()
    run.failed(words)
    run.unread.append(words)


class _Bar:
    """A plain bar on a terminal; silent elsewhere."""

    def __init__(self, words, total, live):
        self.words, self.total, self.live, self.shown = words, total, live, -1

    def __call__(self, done, total=None):
        """Draw the bar where it has moved."""
        total = total or self.total
        cells = 30 * done // total
        if self.live and (cells != self.shown or done == total):
            self.shown = cells
            bar = "#" * cells + "." * (30 - cells)
            end = "\n" if done == total else ""
            print(f"\r[{bar}] {done} of {total} {self.words}", end=end, file=sys.stderr, flush=True)

    def clear(self):
        """Make room for a line of text."""
        if self.live and self.shown >= 0:
            print("\r" + " " * 70, end="\r", file=sys.stderr, flush=True)
            self.shown = -1


def _name(path):
    from relieflib.texts import harmless

    return harmless(path.name, 80)


def _pressure(text):
    from relieflib.errors import InputError
    from relieflib.units import to_si

    number, _, unit = text.strip().partition(" ")
    try:
        value = float(number)
    except ValueError:
        raise InputError(f"atmosphere = '{text}': write a number and a unit: '84 kPaa'") from None
    pressure = to_si(value, unit, "pressure")
    if not 3e4 < pressure < 1.2e5:
        raise InputError(f"atmosphere = '{text}': must be between 30 and 120 kPa absolute")
    return pressure


def _files(names, run):
    """`datasheet.Found` of what was named; what is passed over is said."""
    from relieflib.datasheet import find_files

    found = find_files(names)
    for words in found.unread:
        run.failed(words)
        run.unread.append(words)
    if found.other:
        more = f" and {len(found.other) - 10} more" if len(found.other) > 10 else ""
        _say(f"no kind that is read, left out: {', '.join(found.other[:10])}{more}", sys.stderr)
    return found


def _check_outputs(options):
    """Refuse what can't be written before an hour of checking, not after it."""
    import datetime

    from relieflib.errors import InputError

    for name, ends in (("export", (".csv", ".xlsx")), ("report", (".html", ".pdf"))):
        out = getattr(options, name, None)
        if out and not out.lower().endswith(ends):
            raise InputError(f"--{name} {out}: must end in {' or '.join(ends)}")
        if out and Path(out).exists():
            raise InputError(f"{out}: exists already and was left as it is")
        if out and not Path(out).parent.is_dir():
            raise InputError(f"{out}: can't be written: there is no such folder")
    for name in ("pages", "date", "prepared_by", "project", "number", "revision", "checked_by",
                 "checked_on"):  # fmt: skip
        if getattr(options, name, None) and not options.report:
            raise InputError(f"--{name.replace('_', '-')}: goes with --report")
    for name in ("date", "checked_on"):
        given = getattr(options, name)
        try:
            datetime.date.fromisoformat(given or "2000-01-01")
        except ValueError:
            words = f"--{name.replace('_', '-')} {given}: write year-month-day: 2026-03-31"
            raise InputError(words) from None


def _one(path, name, options, run, given, add, bar, alone):
    """Check one file: print its table and its problems, add it to the export and the report.

    alone, True for a bar over the rows of a long file instead of one over the files.
    """
    from relieflib.datasheet import FileCheck, check_rows, read_slowly, usual_processes

    tell = _tell(options)
    reading = read_slowly(path, *given, name=name)
    rows = _Bar("rows checked", 1, alone and sys.stderr.isatty())
    run.rows += len(reading.rows)
    kept, count, differs = FileCheck(reading), 0, 0
    # the counts stand above the table: it waits on the disk, so that any length takes no memory
    with tempfile.SpooledTemporaryFile(1_000_000, "w+", encoding="utf-8", newline="\n") as text:
        # where text is all that is wanted, the process that checks makes it: less to hand over
        whole = options.export or options.report or options.against
        found = check_rows(reading, lambda i, n: n > LONG and rows(i, n), run.plant,
                           usual_processes(len(reading.rows)), None if whole else tell)  # fmt: skip
        for row, checks in found:
            words, differing = tell(row, checks) if whole else checks
            count, differs = count + 1, differs + differing
            text.write(("\n" * (count > 1)) + words + "\n")
            add(row, checks)
            if _reported(options, run):
                kept.results.append((row, checks))
        if sys.stdout.isatty():
            bar.clear()
        _say(f"{reading.file}: rows {count}, checks that differ {differs}")
        for problem in reading.said():
            _say(f"  {problem}")
        text.seek(0)
        shutil.copyfileobj(text, sys.stdout)
        print()
    run.codes.add(DIFFERS if differs else UNREAD if reading.losses else AGREES)
    reading.rows = [row for row, _ in kept.results]
    run.done.append(kept)
    if run.earlier and run.rows <= MOST_REPORTED:
        _say_changes(kept, run.earlier)
    elif run.earlier:
        run.failed(f"--against: not compared, holds more than {MOST_REPORTED} valves: split it")


def _tell(options):
    """A function of a row and its checks: its text, and how many checks differ."""
    from relieflib.datasheet import telling, told

    return partial(told, only={"telling": telling, "differs": "differs", "all": None}[options.show])


def _reported(options, run):
    """True where rows are kept for a report."""
    return (options.report or options.against) and run.rows <= MOST_REPORTED


def _report(options, run):
    """Write the page to file, where it is asked for and anything was read."""
    from relieflib.errors import InputError

    if not options.report or not run.done:
        return
    try:
        if run.rows > MOST_REPORTED:
            raise InputError(
                f"report: not written, {run.rows} rows: a page to file holds up to "
                f"{MOST_REPORTED} valves; split the list, or use --export"
            )
        _write_report(options, run)
    except InputError as error:
        run.failed(str(error))


def _write_report(options, run):
    from relieflib.report.page import Document, datasheet_report

    done = run.done
    filed_as = Document(options.number, options.revision, options.checked_by, options.checked_on)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        report = datasheet_report(
            done, options.date, options.prepared_by, options.project, options.pages, run.unread,
            filed_as, run.earlier,
        )  # fmt: skip
        rows = sum(len(c.results) for c in done)
        live = sys.stderr.isatty() and (len(done) > 1 or rows > 100)
        report.save(options.report, progress=_Bar("parts of the report written", 1, live))
    _say(f"report: {_name(Path(options.report))}")


def shell():
    """What the shell's command runs: `main`, quiet where a reader such as `head` has gone."""
    try:
        sys.exit(main())
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(NO_READER)


if __name__ == "__main__":
    shell()
