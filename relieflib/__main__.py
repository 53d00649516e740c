"""`relieflib check FILE...`: check datasheets from a shell; `relieflib template OUT`: an empty one.

`relieflib key --participants 1-20` and `relieflib marks FOLDER`: for the instructor of a class.

The same as `python -m relieflib`.

Exit code 0 when all that is given agrees, 1 when something differs or a cell or row can't be
read, 2 when a file can't be read at all or an output can't be written, 130 when stopped by hand.
`--report page.html` or `--report page.pdf` also writes the page to file, for all files together.
"""

import argparse
import sys
from pathlib import Path

from relieflib import __version__

LONG = 200  # rows of a file from which on a bar is shown
SHOW = ("telling", "differs", "all")


def main(arguments=None):
    """Run a command line.

    Parameters: arguments, list of str, the shell's by default. Returns the exit code.
    """
    options = _parser().parse_args(arguments)
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")
    try:
        run = {"template": _template, "headings": _headings, "check": _check, "key": _key,
               "marks": _marks}  # fmt: skip
        return run[options.command](options)
    except ModuleNotFoundError as error:
        print(f"needs {error.name}, which this copy lacks", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nstopped; no file was left half-written", file=sys.stderr)
        return 130


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
    _add_report(check)
    headings = commands.add_parser("headings", help="say what the headings of a file are taken for")
    headings.add_argument("file", metavar="FILE", help="CSV or XLSX file")
    headings.add_argument("--out", metavar="MAP", help="also write it to a new .csv to answer in")
    headings.add_argument("--map", metavar="FILE", help="answers given before")
    template = commands.add_parser("template", help="write an empty datasheet to fill in")
    template.add_argument("out", metavar="OUT", help="a new .xlsx file")
    template.add_argument("--units", choices=("SI", "US"), default="SI", help="set of its units")
    _add_class(commands)
    return parser


def _add_class(commands):
    key = commands.add_parser("key", help="right answers of a class, for the instructor")
    key.add_argument("--participants", required=True, metavar="N", help="such as 1-20 or 3,5,8")
    key.add_argument("--room", default="", metavar="CODE", help="room code of the class")
    key.add_argument("--notebook", action="append", metavar="NN", help="this one alone, again for "
                     "more")  # fmt: skip
    marks = commands.add_parser("marks", help="judge the kept answers of a class anew")
    marks.add_argument("folder", metavar="FOLDER", help="holds each participant's my-work folder")
    marks.add_argument("--out", metavar="OUT", help="also write them to a new .xlsx file")


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


def _template(options):
    from relieflib.datasheet import write_template
    from relieflib.errors import InputError

    try:
        print(f"template: {_name(write_template(options.out, options.units))}")
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _headings(options):
    """Print, and write where asked, what each heading of a file is taken for."""
    from relieflib.datasheet import read
    from relieflib.errors import InputError
    from relieflib.files import write_whole

    try:
        reading = read(options.file, mapping=_mapping(options.map))
        print(reading.mapping, end="")
        if options.out:
            write_whole(options.out, reading.mapping.encode(), overwrite=False)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
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


def _add_report(check):
    group = check.add_argument_group(
        "report", "one page to file, with a list of contents where several files are checked"
    )
    group.add_argument(
        "--report", metavar="OUT", help="a new .html (needs no network) or .pdf (A4) file"
    )
    group.add_argument(
        "--pages", choices=("differing", "all", "none"),
        help="valves with a page of their own: what differs or can't be read, all, none; "
             "by default all of up to 12, the differing ones of more",
    )  # fmt: skip
    group.add_argument("--date", metavar="YYYY-MM-DD", help="date on the report, by default today")
    group.add_argument("--prepared-by", metavar="NAME", default="", help="name on the report")
    group.add_argument("--project", metavar="TEXT", default="", help="project on the report")


def _check(options):
    from relieflib.errors import InputError

    try:
        atmosphere = _pressure(options.atmosphere)
        files = _files(options.files)
        _check_outputs(options)
        mapping = _mapping(options.map)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    code, done, unread = 0, [], []
    bar = _Bar("checked", len(files), sys.stderr.isatty() and len(files) > 1)
    for number, path in enumerate(files, start=1):
        if len(files) > 1 and not bar.live:
            print(f"{number} of {len(files)}: {_name(path)}", file=sys.stderr, flush=True)
        found, checked = _one(
            path, atmosphere, options.show, bar, alone=len(files) == 1, mapping=mapping
        )
        code = max(code, found)
        if found < 2:
            done.append(checked)
        else:
            unread.append(checked)
        bar(number)
    return max(code, _outputs(options, done, unread))


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


def _files(names):
    from relieflib.datasheet import check_folder

    return [path for name in names for path in check_folder(name)]


def _check_outputs(options):
    """Refuse what can't be written before an hour of checking, not after it."""
    import datetime

    from relieflib.errors import InputError

    for name, ends in (("export", (".csv", ".xlsx")), ("report", (".html", ".pdf"))):
        out = getattr(options, name)
        if out and not out.lower().endswith(ends):
            raise InputError(f"--{name} {out}: must end in {' or '.join(ends)}")
        if out and Path(out).exists():
            raise InputError(f"{out}: exists already and was left as it is")
        if out and not Path(out).parent.is_dir():
            raise InputError(f"{out}: can't be written: there is no such folder")
    for name in ("pages", "date", "prepared_by", "project"):
        if getattr(options, name) and not options.report:
            raise InputError(f"--{name.replace('_', '-')}: goes with --report")
    try:
        datetime.date.fromisoformat(options.date or "2000-01-01")
    except ValueError:
        raise InputError(f"--date {options.date}: write year-month-day: 2026-03-31") from None


def _one(path, atmosphere, show, bar, alone, mapping):
    """(exit code, FileCheck or why not) of one file; prints its table and its problems.

    alone, True for a bar over the rows of a long file instead of one over the files.
    """
    from relieflib.datasheet import as_text, check_file, telling
    from relieflib.errors import InputError

    try:
        rows = _Bar("rows checked", 1, alone and sys.stderr.isatty())
        checked = check_file(path, atmosphere, lambda i, n: n > LONG and rows(i, n), mapping)
    except InputError as error:
        bar.clear()
        print(error, file=sys.stderr)
        return 2, str(error)
    if sys.stdout.isatty():
        bar.clear()
    print(
        f"{checked.reading.file}: rows {len(checked.results)}, checks that differ {checked.differs}"
    )
    for problem in checked.reading.problems:
        print(f"  {problem}")
    print(as_text(checked, {"telling": telling, "differs": "differs", "all": None}[show]) + "\n")
    return int(bool(checked.differs or checked.losses)), checked


def _outputs(options, done, unread):
    """Write what was asked for; 0, or 2 where that fails."""
    from relieflib.errors import InputError

    try:
        if options.export:
            _export([r for checked in done for r in checked.results], options.export)
        if options.report and done:
            _report(options, done, unread)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _export(results, name):
    from relieflib.datasheet import export_csv, export_xlsx

    (export_xlsx if name.lower().endswith(".xlsx") else export_csv)(results, name)


def _report(options, done, unread):
    from relieflib.report.page import datasheet_report

    report = datasheet_report(
        done,
        options.date,
        options.prepared_by,
        options.project,
        options.pages,
        unread,
    )
    rows = sum(len(c.results) for c in done)
    live = sys.stderr.isatty() and (len(done) > 1 or rows > 100)
    report.save(options.report, progress=_Bar("parts of the report written", 1, live))
    print(f"report: {_name(Path(options.report))}")


def shell():
    """What the shell's command runs: `main`, quiet where a reader such as `head` has gone."""
    try:
        sys.exit(main())
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)


if __name__ == "__main__":
    shell()
