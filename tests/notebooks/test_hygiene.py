"""Stored notebooks are clean, whole and laid out alike."""

import configparser
import json
import re
from pathlib import Path

import pytest

from relieflib.report import CAUTION

ROOT = Path(__file__).parents[2]
PATHS = sorted((ROOT / "notebooks").glob("*.ipynb"))
BOOKS = {p.name: json.loads(p.read_text(encoding="utf-8")) for p in PATHS}
CAUSES = {p.stem for p in (ROOT / "relieflib" / "causes").glob("[a-z]*.py")}
PARTS = ["The symbols", "The load", "Move it", "letter", "Where it misleads", "Questions",
         "Your own numbers", "Sources"]  # fmt: skip
each = pytest.mark.parametrize("name", BOOKS)


def source(cell):
    return "".join(cell["source"])


def code_cells(name):
    return [c for c in BOOKS[name]["cells"] if c["cell_type"] == "code"]


def headings(name):
    text = "\n".join(source(c) for c in BOOKS[name]["cells"] if c["cell_type"] == "markdown")
    text = re.sub(r"```.*?```", "", text, flags=re.S)
    return re.findall(r"^(#+) (.+)$", text, re.M)


def test_there_are_notebooks():
    assert len(PATHS) >= 6


@each
def test_run_top_to_bottom_without_error(name):
    cells = code_cells(name)
    assert [c["execution_count"] for c in cells] == list(range(1, len(cells) + 1))
    assert not any(o["output_type"] == "error" for c in cells for o in c["outputs"])
    assert not any(o.get("name") == "stderr" for c in cells for o in c["outputs"])


@each
def test_stores_nothing_of_a_machine(name):
    text = json.dumps(BOOKS[name], ensure_ascii=False)
    plain = re.sub(r'"image/png": "[^"]*"', "", text)
    assert not re.search(r"/home/|/r[o]ot/|/tmp/|/Users/|[A-Z]:\\\\\\\\|0x[0-9a-f]{6,}", plain)
    assert "widget-view+json" not in plain and "widgets" not in BOOKS[name]["metadata"]
    assert set(BOOKS[name]["metadata"]) == {"kernelspec", "language_info"}
    assert all("execution" not in c["metadata"] for c in BOOKS[name]["cells"])


@each
def test_headings(name):
    found = headings(name)
    assert [h for h, _ in found].count("#") == 1 and found[0][0] == "#"
    for (a, _), (b, _) in zip(found, found[1:]):
        assert len(b) <= len(a) + 1, f"{a} then {b}"


@each
def test_caution(name):
    first = "\n".join(source(c) for c in BOOKS[name]["cells"][:3])
    assert CAUTION in first


@each
def test_every_picture_has_words(name):
    for cell in code_cells(name):
        for output in cell["outputs"]:
            if "image/png" in output.get("data", {}):
                alt = output["metadata"]["image/png"]["alt"]
                assert len(alt.split()) >= 5
                words = "".join(output["data"]["text/plain"])
                assert "<" not in words and len(words.split()) >= 4


@each
def test_numbers_are_compared(name):
    # nbval never compares pictures: numbers must stand in text that it does compare
    texts = ["".join(o.get("text", "")) + "".join(o.get("data", {}).get("text/plain", ""))
             for c in code_cells(name) for o in c["outputs"]]  # fmt: skip
    assert sum(len(re.findall(r"\d+\.?\d*", t)) for t in texts) >= 10


@pytest.mark.parametrize("name", [n for n in BOOKS if n[:1] in "12"])
def test_parts_of_a_cause(name):
    titles = " | ".join(t for _, t in headings(name))
    places = [titles.find(part) for part in PARTS]
    assert -1 not in places and places == sorted(places), titles
    assert re.sub(r"^\d\d-|\.ipynb$", "", name).replace("-", "_") in CAUSES
    code = "\n".join(source(c) for c in code_cells(name))
    assert ".sweep(" in code and ".check(" in code and "OwnNumbers" in code


def test_sanitize_touches_no_number():
    rules = configparser.ConfigParser()
    rules.read(Path(__file__).with_name("sanitize.cfg"), encoding="ascii")
    patterns = [rules[s]["regex"] for s in rules.sections()]
    for name in BOOKS:
        for cell in code_cells(name):
            for output in cell["outputs"]:
                text = "".join(output.get("text", "")) + "".join(
                    output.get("data", {}).get("text/plain", ""))  # fmt: skip
                for pattern in patterns:
                    assert not re.search(pattern, text), (name, pattern)
    for number in ("3698.5 mm2", "1.0e-05", "0x", "P 4116.1", "-12.5 barg"):
        assert not any(re.search(p, number) for p in patterns)


def test_refresh_strips_what_a_machine_leaves(tmp_path):
    import importlib.util

    import nbformat

    spec = importlib.util.spec_from_file_location("refresh", ROOT / "notebooks" / "refresh.py")
    refresh = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(refresh)
    output = nbformat.v4.new_output("display_data", {refresh.VIEW: {}, "text/plain": "x"})
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("1", outputs=[output])])
    book.metadata["widgets"], book.cells[0].metadata["execution"] = {}, {"started": "now"}
    text = nbformat.writes(refresh.clean(book))
    assert "widget" not in text and "started" not in text
