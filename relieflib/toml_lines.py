"""On which line of a TOML file a key stands, for words that help to find it."""

import re
import tomllib
from pathlib import Path

_KEY = re.compile(r"""\s*((?:"(?:[^"\\]|\\.)*"|'[^']*'|[\w-]+)(?:\s*\.\s*[\w"'-]+)*)\s*=""")
_LONG = ('"""', "'''")


def lines_of(text):
    """Line of every heading and every key that begins a line.

    Parameters: text of the file. Returns {(key, key, ...): line, from 1}; keys inside a table that
    stands in one line count to that line's key. Source: TOML 1.0.
    >>> lines_of('[a.b]\\nc = 1\\n')[("a", "b", "c")]
    2
    """
    found, here, long = {}, (), None
    for number, line in enumerate(text.split("\n"), start=1):
        if long is not None:
            long = None if long in line else long
            continue
        if line.lstrip().startswith("["):
            path = _path(line + "\n")
            here = here if path is None else path
            found.setdefault(here, number)
        elif match := _KEY.match(line):
            path = _path(match.group(1) + " = 0\n")
            found.setdefault((*here, *(path or ())), number)
            long = next((q for q in _LONG if line.count(q) == 1), None)
    return found


def _path(text):
    """Keys that a heading or the left side of a line stands for; None where it is neither."""
    try:
        data, keys = tomllib.loads(text), []
    except tomllib.TOMLDecodeError:
        return None
    while isinstance(data, list | dict) and data:
        if isinstance(data, list):
            data = data[0]
        else:
            key = next(iter(data))
            keys.append(key)
            data = data[key]
    return tuple(keys)


def heading_of(line):
    """Keys of a heading such as '[cases.V-1."fire"]'; None where the line is none.

    Parameters: line. Returns tuple of str or None. Source: TOML 1.0.
    >>> heading_of('[cases.V-1."fire, full"]  # words')
    ('cases', 'V-1', 'fire, full')
    """
    return _path(line + "\n") if line.lstrip().startswith("[") else None


def key_at(words, keys):
    """The one of some keys that words begin with, '' for none.

    Parameters: words such as 'inflow = ...' or 'stream.pressure: ...'; keys. Returns str.
    >>> key_at("stream.pressure = '1 bar': say gauge", ["inflow", "stream"])
    'stream'
    """
    found = [k for k in keys if words.startswith(k) and words[len(k) : len(k) + 1] in " =:."]
    return max(found, key=len, default="")


def line_of(text, keys):
    """Line of a key, or of the nearest table around it that has one.

    Parameters: text of the file; keys that lead to it. Returns int, None where none is there.
    Source: TOML 1.0.
    """
    found = lines_of(text)
    for n in range(len(keys), 0, -1):
        inside = [line for path, line in found.items() if path[:n] == tuple(keys[:n])]
        if inside:
            return found.get(tuple(keys[:n]), min(inside))
    return None


def with_line(words, source, keys):
    """Words with the line of a key behind them.

    Parameters: words; source, the text of the file or its `Path`; keys that lead to it. Returns
    str. Source: TOML 1.0.
    >>> with_line("V-1: no such fluid", "[vessels.V-1]\\nfluid = 'x'", ("vessels", "V-1", "fluid"))
    'V-1: no such fluid (line 2)'
    """
    text = source.read_text(encoding="utf-8-sig") if isinstance(source, Path) else source
    number = line_of(text, keys) if keys else None
    return words if number is None else f"{words} (line {number})"
