"""`python -m relieflib check FILE...`: check datasheets from a shell.

Exit code 0 when all that is given agrees, 1 when something differs or a cell or row can't be
read, 2 when a file can't be read at all.
"""

import argparse
import sys

SHOW = ("telling", "differs", "all")


def main(arguments=None):
    """Run a command line.

    Parameters: arguments, list of str, the shell's by default. Returns the exit code.
    """
    options = _parser().parse_args(arguments)
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")
    return _check(options)


def _parser():
    parser = argparse.ArgumentParser(
        prog="relieflib", description="Check relief-valve datasheets.",
        epilog="A teaching and checking aid: sizing decisions belong to a competent, licensed "
               "engineer under the local code.",
    )  # fmt: skip
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
    return parser


def _check(options):
    from relieflib.errors import InputError

    try:
        atmosphere = _pressure(options.atmosphere)
        files = _files(options.files)
        _check_export(options.export)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    code, done = 0, []
    for number, path in enumerate(files, start=1):
        if len(files) > 1:
            print(f"{number} of {len(files)}: {_name(path)}", file=sys.stderr, flush=True)
        found, checked = _one(path, atmosphere, options.show)
        code = max(code, found)
        done += checked.results if checked else []
    return max(code, _export(done, options.export)) if options.export else code


def _name(path):
    from relieflib.datasheet.columns import shown

    return shown(path.name, 80)


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


def _check_export(name):
    from relieflib.errors import InputError

    if name and not name.lower().endswith((".csv", ".xlsx")):
        raise InputError(f"--export {name}: must end in .csv or .xlsx")


def _one(path, atmosphere, show):
    """(exit code, FileCheck or None) of one file; prints its table and its problems."""
    from relieflib.datasheet import as_text, check_file, telling
    from relieflib.errors import InputError

    try:
        checked = check_file(path, atmosphere)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2, None
    print(
        f"{checked.reading.file}: rows {len(checked.results)}, checks that differ {checked.differs}"
    )
    for problem in checked.reading.problems:
        print(f"  {problem}")
    print(as_text(checked, {"telling": telling, "differs": "differs", "all": None}[show]) + "\n")
    return int(bool(checked.differs or checked.losses)), checked


def _export(results, name):
    from relieflib.datasheet import export_csv, export_xlsx
    from relieflib.errors import InputError

    try:
        (export_xlsx if name.lower().endswith(".xlsx") else export_csv)(results, name)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
