"""Cases into a study's file: added whole or not at all, never losing a word that stands there.

A case is written behind what is there, so that nothing above it moves. What is to be changed inside
is changed by `tomlkit`, which keeps order, comments and blank lines.
"""

import re
import tomllib
from pathlib import Path

from relieflib import __version__
from relieflib.errors import InputError, need
from relieflib.files import OPEN_ELSEWHERE, locked, write_whole
from relieflib.study.case import Case, case_of
from relieflib.texts import harmless
from relieflib.toml_lines import heading_of

MOST = 20_000_000  # bytes of a file
HEAD = """# A study of relief loads. Written by relieflib and by hand; every word stays where it is.
# How a case is written: relieflib.study.case and relieflib.study.inputs.
"""


def read_text(path):
    """The text of a study's file, and what it says as nested dicts.

    Parameters: path. Returns (str, dict). Raises InputError in words, with the line where it is no
    TOML. Source: TOML 1.0.
    """
    said, text = harmless(path, 200), _text(path)
    try:
        return text, tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{said}: {_not_toml(error)}") from None


def _text(path):
    path, said = Path(path), harmless(path, 200)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"{said}: there is no such file") from None
    except PermissionError:
        raise InputError(f"{said}: {OPEN_ELSEWHERE}") from None
    except OSError as error:
        raise InputError(f"{said}: can't be read: {(error.strerror or '').lower()}") from None
    if len(data) > MOST:
        raise InputError(f"{said}: larger than {MOST // 10**6} MB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{said}: is not text in UTF-8") from None


def _not_toml(error):
    return f"not a TOML file: {harmless(error, 200)}"


MOST_BROKEN = 50  # tables of a file that may be left out, each with words
_AT = re.compile(r"at line (\d+)")
_DECIMAL_COMMA = re.compile(r"=\s*-?\d+,\d+\s*(#.*)?$")


def read_what_can(path):
    """As `read_text`, but a table that is no TOML is left out, with words, and the rest is read.

    Parameters: path. Returns (text, dict, [(keys of the table, words with line)]). Raises
    InputError as `read_text` where nothing is left.
    """
    text = _text(path)
    lines, broken, first = text.split("\n"), [], None
    while True:
        try:
            data = tomllib.loads("\n".join(lines))
        except tomllib.TOMLDecodeError as error:
            left = _left_out(lines, error)
            if left is None or len(broken) == MOST_BROKEN:
                raise InputError(f"{harmless(path, 200)}: {_not_toml(error)}") from None
            first = first or error
            broken.append((left[0], f"{harmless(Path(path).name, 100)}, {left[1]}"))
        except RecursionError as error:
            raise InputError(f"{harmless(path, 200)}: {_not_toml(error)}") from None
        else:
            if broken and not data:
                raise InputError(f"{harmless(path, 200)}: {_not_toml(first)}")
            return text, data, broken


def _left_out(lines, error):
    """Empty the table that an error stands in, and what belongs to it; its keys, and words.

    None where it stands in no table.
    """
    at = _AT.search(str(error))
    last = next((i for i in range(len(lines), 0, -1) if lines[i - 1].strip()), 0)
    number = min(int(at[1]), last) if at else last
    heads = {i: heading_of(line) for i, line in enumerate(lines) if line.lstrip()[:1] == "["}
    starts = [i for i in heads if i < number]
    if not starts or heads[starts[-1]] == ("site",):  # without its air nothing can be computed
        return None
    keys = heads[starts[-1]] or ()
    keys = keys[:3] if keys[:1] == ("cases",) else keys
    name = ".".join(keys) or harmless(lines[starts[-1]], 60)
    words = f"{name}: {_why(lines[number - 1], error, at)}; this table is left out (line {number})"
    ends = [*heads, len(lines)]
    for start, end in zip(ends, ends[1:], strict=False):
        own = keys and (heads[start] or ())[: len(keys)] == keys
        # of a table that stands twice the first one stays
        twice = "Cannot declare" in str(error) and start != starts[-1]
        if (own and not twice) or start == starts[-1]:
            lines[start:end] = [""] * (end - start)
    return keys, words


def _why(line, error, at):
    if _DECIMAL_COMMA.search(line):
        return f"'{harmless(line.strip(), 80)}': write a decimal point, no comma"
    if "Cannot declare" in str(error) or "Cannot overwrite" in str(error):
        return f"'{harmless(line.strip(), 80)}' stands twice"
    if at is None:
        return f"the file ends in the middle of '{harmless(line.strip(), 60)}': half-written?"
    return f"'{harmless(line.strip(), 80)}': {harmless(error, 160)}"


def add_cases(path, cases):
    """Write several cases into a study's file at once, as `add_case`.

    Parameters: path; cases, iterable of `Case`. Returns list of the names under which they stand.
    """
    path, names = Path(path), []
    with locked(path):
        text, data = read_text(path) if path.exists() else (HEAD, {})
        for case in cases:
            name = _free(case.name, _cases(data, path).get(case.item, {}))
            values = case.table() | {"version": case.version or __version__}
            text = _behind(text, as_toml(("cases", case.item, name), values))
            data = _with(data, case.item, name, values)
            names.append(name)
        _write(path, text, data)
    return names


def add_case(path, case: Case, replace=False):
    """Write a case into a study's file, which is made where there is none.

    Parameters: path; case, a `Case`, whose version is the package's where it gives none; replace,
    True to put it in the place of the one with its item and name: else a name that is there gets a
    number, 'fire (2)'. Returns the name under which it stands. Raises InputError where the file is
    no study, can't be written or stays locked by another writer for 5 seconds: it is then as it
    was. Source: TOML 1.0.
    """
    path = Path(path)
    values = case.table() | {"version": case.version or __version__}
    with locked(path):
        text, data = read_text(path) if path.exists() else (HEAD, {})
        there = _cases(data, path).get(case.item, {})
        name = case.name if replace else _free(case.name, there)
        if name in there:
            new = _replaced(text, case.item, name, values)
        else:
            new = _behind(text, as_toml(("cases", case.item, name), values))
        _write(path, new, _with(data, case.item, name, values))
    return name


def add_tables(path, tables):
    """Write tables of a plant into a study's file, behind what is there.

    Parameters: path; tables, {(section, tag): dict of texts, numbers and lists}. Returns None.
    Raises InputError as `add_case`, and for a table that is there already. Source: TOML 1.0.
    """
    path = Path(path)
    with locked(path):
        text, data = read_text(path) if path.exists() else (HEAD, {})
        for (section, tag), values in tables.items():
            part = data.get(section, {})
            if not isinstance(part, dict) or tag in part:
                said = harmless(path, 200)
                raise InputError(f"{said}: {section}.{tag} stands there already; nothing was "
                                 "changed")  # fmt: skip
            text = _behind(text, as_toml((section, tag), values))
            data = data | {section: part | {tag: values}}
        _write(path, text, data)


def remove_case(path, item, name):
    """Take a case out of a study's file.

    Parameters: path; item and name of the case. Returns None. Raises InputError as `add_case`, and
    where it is not there. Source: TOML 1.0.
    """
    path = Path(path)
    with locked(path):
        text, data = read_text(path)
        if name not in _cases(data, path).get(item, {}):
            raise InputError(f"{harmless(path, 200)}: has no case '{name}' of {item}")
        document = need("tomlkit").parse(text)
        document["cases"][item].remove(name)
        del data["cases"][item][name]
        if not data["cases"][item]:
            document["cases"].remove(item)
            del data["cases"][item]
        _write(path, document.as_string(), data)


def _cases(data, path):
    cases = data.get("cases", {})
    if not isinstance(cases, dict) or not all(isinstance(c, dict) for c in cases.values()):
        raise InputError(f'{harmless(path, 200)}: cases must hold tables: [cases.TAG."words"]')
    return cases


def _free(name, there):
    n, found = 2, name
    while found in there:
        found, n = f"{name} ({n})", n + 1
    return found


def _behind(text, more):
    """A text and more behind it, with the line ends that it has."""
    end = "\r\n" if "\r\n" in text else "\n"
    return text.rstrip("\r\n") + end * 2 + more.replace("\n", end)


def _with(data, item, name, values):
    cases = data.get("cases", {})
    return data | {"cases": cases | {item: cases.get(item, {}) | {name: values}}}


def _write(path, text, wanted):
    """Write a file whose text says what is wanted, no less and no more."""
    try:
        good = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        good = False
    if not good:
        words = "[cases] is written in a way that can't be added to: write each case as a table of"
        raise InputError(f"{harmless(path, 200)}: {words} its own; nothing was changed")
    write_whole(path, text)


def _replaced(text, item, name, values):
    document = need("tomlkit").parse(text)
    _update(document["cases"][item][name], values)
    return document.as_string()


def _update(old, values):
    """Change a table of tomlkit only where it says something else."""
    kit = need("tomlkit")
    for key in [key for key in old if key not in values]:
        old.remove(key)
    for key, value in values.items():
        if isinstance(value, dict) and key in old and hasattr(old[key], "items"):
            _update(old[key], value)
        elif key not in old:
            old[key] = _below(kit, value) if key in BELOW else _inline(kit, value)
        elif old[key] != value:
            old[key] = _inline(kit, value)


BELOW = ("inputs", "device", "lines", "ranges", "result")


def as_toml(keys, values):
    """A table as text: its heading, its keys, then the tables below it.

    Parameters: keys of the heading; values, dict. Returns str. Source: TOML 1.0.
    >>> print(as_toml(("cases", "V-1", "fire, full"), {"cause": "overfilling"}).rstrip())
    [cases.V-1."fire, full"]
    cause = "overfilling"
    """
    kit = need("tomlkit")
    head = ".".join(kit.key(key).as_string() for key in keys)
    own = {k: v for k, v in values.items() if not (isinstance(v, dict) and k in BELOW)}
    lines = [f"[{head}]"] + [
        f"{kit.key(k).as_string()} = {_inline(kit, v).as_string()}" for k, v in own.items()
    ]
    for key in (k for k in values if k not in own):
        lines.append(as_toml((*keys, key), values[key]).rstrip("\n"))
    return "\n".join(lines) + "\n"


def _below(kit, values):
    table = kit.table()
    for key, value in values.items():
        table[key] = _inline(kit, value)
    return table


def _inline(kit, value):
    if isinstance(value, list | tuple):
        array = kit.array()
        for one in value:
            array.append(_inline(kit, one))
        return array
    if not isinstance(value, dict):
        return kit.item(value)
    table = kit.inline_table()
    for key, one in value.items():
        table[key] = _inline(kit, one)
    return table


def cases_of(data):
    """Cases of what a file says, good ones and faults apart.

    Parameters: data, as `read_text` gives. Returns (tuple of `Case`, {(item, name): words}).
    Source: the file.
    """
    good, faults = [], {}
    for item, named in data.get("cases", {}).items():
        for name, values in named.items() if isinstance(named, dict) else ():
            try:
                good.append(case_of(item, name, values))
            except InputError as error:
                faults[item, name] = str(error)
    return tuple(good), faults
