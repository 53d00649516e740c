"""A study as a spreadsheet and back: one line of the file, one row; nothing runs as a formula.

Sheet 'plant' holds section, tag, key and value of all that is not a case; sheet 'cases' item, case,
key and value, a key inside a table with dots ('inputs.stream.pressure'). Sheet 'results' is
written, never read.
"""

import json
import tomllib
from pathlib import Path

from relieflib.errors import InputError, need
from relieflib.files import OPEN_ELSEWHERE, whole, write_whole
from relieflib.study.case import ONLY_RESULT, Case, case_of
from relieflib.study.store import HEAD, as_toml, read_text
from relieflib.summary import RUNS, guarded, read_summary, saved_cases
from relieflib.texts import CAUTION, clean, harmless

PLANT, CASES = ("section", "tag", "key", "value"), ("item", "case", "key", "value")
RESULTS = ("item", "case", "load [kg/h]", "required area [mm2]", "letter", "words")
MOST_ROWS, MOST_CELL = 200_000, 32_000


def export_xlsx(study, path, found=None, overwrite=False):
    """Write a study as XLSX.

    Parameters: study; path, ends in .xlsx; found, its `Results`, for a third sheet; overwrite, True
    to replace a file. Returns Path. Raises InputError where it can't be written.
    """
    data = read_text(study.path)[1]
    with whole(path, overwrite) as file:  # first, so that no half book stays behind a refusal
        book = need("openpyxl").Workbook(write_only=True)
        _sheet(book, "plant", PLANT, _plant_rows(data))
        _sheet(book, "cases", CASES, _case_rows(data.get("cases", {})))
        if found is not None:
            _sheet(book, "results", RESULTS, _result_rows(found))
        book.save(file)
    return Path(path)


def _sheet(book, name, heads, rows):
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    for letter, width in zip("ABCDEF", (18, 34, 34, 40, 14, 60)):
        sheet.column_dimensions[letter].width = width
    sheet.append(heads)
    for row in rows:
        sheet.append([_cell(value) for value in row])
    sheet.append([])
    sheet.append([CAUTION.replace("**", "")])


def _cell(value):
    if isinstance(value, str):
        return guarded(clean(value))[:MOST_CELL]
    return value


def _plant_rows(data):
    for section, part in data.items():
        if section == "disposal":
            for name, inside in part.items():
                yield from _tables(f"disposal.{name}", inside)
        elif section in ("site", "study"):
            yield from ((section, "", key, _shown(value)) for key, value in part.items())
        elif section != "cases":
            yield from _tables(section, part)


def _tables(section, part):
    for tag, values in part.items():
        for key, value in values.items():
            yield section, tag, key, _shown(value)


def _shown(value):
    """A list or a table as JSON, which reads back as one; the rest as it is."""
    inside = isinstance(value, list | dict | bool)
    return json.dumps(value, ensure_ascii=False) if inside else value


def _case_rows(cases):
    for item, named in cases.items():
        for name, values in named.items():
            for key, value in _flat(values):
                yield item, name, key, value


def _flat(values, inside=""):
    for key, value in values.items():
        if isinstance(value, dict) and value:
            yield from _flat(value, f"{inside}{_quoted(key)}.")
        else:
            yield f"{inside}{_quoted(key)}", _shown(value)


def _quoted(key):
    return f'"{key}"' if "." in key else key


def _result_rows(found):
    for d in found.done:
        if d.good:
            s = d.sizing
            yield (d.case.item, d.case.name, s.load.mass_flow * 3600, s.required_area * 1e6,
                   s.letter or "", "; ".join(d.warned))  # fmt: skip
        else:
            yield d.case.item, d.case.name, None, None, "", d.words or ONLY_RESULT


# ------------------------------------------------------------ back
def study_of_xlsx(source, path):
    """Write a study's file from a spreadsheet as `export_xlsx` writes it.

    Parameters: source, the XLSX file; path of a new study. Returns Path. Raises InputError naming
    sheet and row for what can't be read, and where the study is there already.
    """
    rows = {name: _rows(source, name, heads) for name, heads in (("plant", PLANT),
                                                                 ("cases", CASES))}  # fmt: skip
    data, parts = {}, [HEAD]
    for number, (section, tag, key, value) in rows["plant"]:
        where = f"sheet 'plant', row {number}"
        keys = [*section.split("."), *([tag] if tag else [])]
        _put(data, [*keys, key], _back(value), where)
    for number, (item, name, key, value) in rows["cases"]:
        _put(data.setdefault("cases", {}), [item, name, *_keys(key)], _back(value),
             f"sheet 'cases', row {number}")  # fmt: skip
    for item, named in data.get("cases", {}).items():
        for name, values in named.items():
            _sound(item, name, values, Path(source).name)
    for keys, values in _headings(data):
        parts.append(as_toml(keys, values))
    text = "\n".join(parts)
    tomllib.loads(text)
    return write_whole(path, text, overwrite=False)


def _sound(item, name, values, file):
    try:
        case_of(item, name, values)
    except InputError as error:
        raise InputError(f"{harmless(file, 100)}, {item}, {name}: {error}") from None


def _rows(source, name, heads):
    """Rows of a sheet with their numbers; blank ones and the caution left out."""
    kit, said = need("openpyxl"), harmless(source, 200)
    try:
        book = kit.load_workbook(source, read_only=True, data_only=True)
    except PermissionError:
        raise InputError(f"{said}: {OPEN_ELSEWHERE}") from None
    except Exception as error:  # a library's own errors, of which there are many
        raise InputError(f"{said}: can't be read as a spreadsheet ({type(error).__name__})"
                         ) from None  # fmt: skip
    try:
        if name not in book.sheetnames:
            raise InputError(f"{said}: has no sheet '{name}'")
        found = []
        for number, row in enumerate(book[name].iter_rows(max_col=4, values_only=True), start=1):
            if number > MOST_ROWS:
                raise InputError(f"{said}: more than {MOST_ROWS} rows")
            cells = [_text(cell) for cell in (*row, *[None] * (4 - len(row)))]
            if number == 1 and tuple(cells) != heads:
                raise InputError(f"{said}, sheet '{name}': first row must be {', '.join(heads)}")
            if number > 1 and cells[2] not in (None, ""):
                found.append((number, [c if c is not None else "" for c in cells]))
        return found
    finally:
        book.close()


def _text(cell):
    """A cell without the apostrophe that kept it from running."""
    if isinstance(cell, str) and cell[:1] == "'" and cell[1:].lstrip()[:1] in RUNS:
        return cell[1:]
    return cell


def _back(value):
    """What a cell says: a number, a list, or text."""
    if isinstance(value, str) and (value[:1] in ("[", "{") or value in ("true", "false")):
        try:
            return json.loads(value)
        except ValueError:
            return value
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    return value if isinstance(value, int | float) else str(value)


def _keys(key):
    """Keys of a dotted key, as TOML reads them."""
    try:
        data, keys = tomllib.loads(f"{key} = 0"), []
    except tomllib.TOMLDecodeError:
        return str(key).split(".")
    while isinstance(data, dict):
        ((one, data),) = data.items()
        keys.append(one)
    return keys


def _put(data, keys, value, where):
    for key in keys[:-1]:
        data = data.setdefault(str(key), {})
        if not isinstance(data, dict):
            raise InputError(f"{where}: '{'.'.join(map(str, keys))}' is inside what has a value")
    if keys[-1] in data:
        raise InputError(f"{where}: '{'.'.join(map(str, keys))}' stands twice")
    data[str(keys[-1])] = value


def _headings(data):
    """(keys, values) of every table that gets a heading of its own."""
    for section, part in data.items():
        deep = 2 if section in ("cases", "disposal") else 0 if section in ("site", "study") else 1
        yield from _below((section,), part, deep)


def _below(keys, part, deep):
    if deep == 0:
        yield keys, part
        return
    for key, inside in part.items():
        yield from _below((*keys, key), inside, deep - 1)


# ------------------------------------------------------------ files of before
def cases_of_summary(path):
    """Cases of a load summary of an earlier version: results, whose inputs were not kept.

    Parameters: path of the CSV file. Returns a list of `Case`. Raises InputError as
    `summary.read_summary` and `summary.saved_cases`.
    """
    found = []
    for item, cases in saved_cases(read_summary(path)).items():
        for one in cases:
            row = one.row
            result = {"required_area": f"{row['required area [mm2]']} mm2",
                      "mass_flow": f"{row['load [kg/h]']} kg/h", "letter": row["letter"],
                      "phase": row["phase"]}  # fmt: skip
            kept = {h: row[h] for h in row if row[h] and h not in ("protected item", "cause")}
            note = "; ".join(f"{h}: {text}" for h, text in kept.items())
            found.append(Case(item, one.cause, result=result, note=note, source=ONLY_RESULT,
                              version="of a load summary"))  # fmt: skip
    return found
