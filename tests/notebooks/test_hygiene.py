"""Stored notebooks are clean, whole and laid out alike."""

import ast
import configparser
import importlib.util
import json
import re
from pathlib import Path

import pytest

from relieflib.asking.kept import Who
from relieflib.asking.question import Choice, Worked
from relieflib.questions import asked_in, bank
from relieflib.report import CAUTION

ROOT = Path(__file__).parents[2]
PATHS = sorted((ROOT / "notebooks").glob("*.ipynb"))
BOOKS = {p.name: json.loads(p.read_text(encoding="utf-8")) for p in PATHS}
CAUSES = {p.stem for p in (ROOT / "relieflib" / "causes").glob("[a-z]*.py")}
PARTS = ["The symbols", "The load", "Move it", "letter", "Where it misleads", "Questions",
         "Your own numbers", "Sources"]  # fmt: skip
MOST_LINES = 6  # of code on show in one cell
each = pytest.mark.parametrize("name", BOOKS)
numbered = pytest.mark.parametrize("name", [n for n in BOOKS if n[:2].isdigit()])


def refresh():
    """The module that stores notebooks; it stands beside them and belongs to no package."""
    spec = importlib.util.spec_from_file_location("refresh", ROOT / "notebooks" / "refresh.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


each = pytest.mark.parametrize("name", list(BOOKS))
asking = pytest.mark.parametrize("name", [n for n in BOOKS if n[:2] in bank()])


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


@numbered
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
    assert "OwnNumbers" in code


def is_collapsed(cell):
    return cell["metadata"].get("jupyter", {}).get("source_hidden", False)


@each
def test_what_a_reader_sees_of_the_code(name):
    for cell in code_cells(name):
        tags = refresh().COLLAPSED & set(cell["metadata"].get("tags", []))
        assert is_collapsed(cell) == bool(tags), "run notebooks/refresh.py"
        lines = [line for line in source(cell).splitlines() if line.strip()]
        if tags:  # the first line stays on show
            assert re.match(r"# [A-Z].*\.$", lines[0]), f"say in words what it is: {lines[0]}"
        else:
            assert len(lines) <= MOST_LINES, source(cell)


@each
def test_no_test_s_work_on_the_page(name):
    code = "\n".join(source(c) for c in code_cells(name))
    assert ".sweep(" not in code and "import Question" not in code


def calls(name, function):
    """Arguments of every call of a function in a notebook's code."""
    for cell in code_cells(name):
        for node in ast.walk(ast.parse(source(cell))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == function:
                yield [getattr(a, "value", None) for a in node.args] + node.keywords


@asking
def test_questions_stand_in_the_bank_alone(name):
    book = name[:2]
    assert list(calls(name, "ask")) == [[book]], "one ask, with the number alone"
    warm = [[book]] if getattr(bank()[book], "WARM_UP", ()) else []
    assert list(calls(name, "warm_up")) == warm
    code = "\n".join(source(c) for c in code_cells(name))
    assert not re.search(r"relieflib\.(questions|asking)|import_module|right_text", code)


@asking
def test_no_answer_stands_in_a_notebook(name):
    shown = "\n".join(
        source(c) + "".join("".join(o.get("data", {}).get("text/plain", "")) for o in c["outputs"])
        for c in code_cells(name) if re.search(r"^(ask|warm_up)\(", source(c), re.M))  # fmt: skip
    worked = re.sub(r"(?s)Question \d+, worked.*?(?=\n\n|$)", "", shown)
    for one in asked_in(name[:2], Who()):
        assert one.text in worked
        if not isinstance(one.question, (Choice, Worked)):
            for answer in one.right_text.split(" = "):
                assert not re.search(rf"(?<![\d.]){re.escape(answer)}", worked), one.name


@each
def test_the_way_from_one_to_the_next(name):
    texts = [source(c) for c in BOOKS[name]["cells"] if c["cell_type"] == "markdown"]
    if name[:2].isdigit():
        way = refresh().way(ROOT / "notebooks" / name)
        lines = texts[0].splitlines()
        assert lines[2] == way and texts[-1].endswith("\n" + way), "run notebooks/refresh.py"
    text = "\n".join(texts)
    assert not re.search(r"`\d\d-[\w-]+\.ipynb`", text), "a mention of a notebook is a link"
    for file, _, place in (
        m.partition("#") for m in re.findall(r"\]\(([^)]*\.ipynb[^)]*)\)", text)
    ):
        assert file in BOOKS, f"no notebook {file}"
        assert not place or place in [h.replace(" ", "-") for _, h in headings(file)], place


def test_the_glossary_is_reached_and_says_a_number():
    name = "glossary.ipynb"
    text = "\n".join(source(c) for c in BOOKS[name]["cells"])
    terms = re.findall(r"^### (.+)\n\n(.+)$", text, re.M)
    assert len(terms) >= 25
    for term, words in terms:
        said = words.split(". ")[0]
        assert term[:4].islower() or term.isupper(), f"{term}: links are in small letters"
        assert len(said.split()) <= 45, f"{term}: a shorter sentence"
    assert sum(bool(re.search(r"\d", words)) for _, words in terms) >= len(terms) - 4


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
    import nbformat

    output = nbformat.v4.new_output("display_data", {refresh().VIEW: {}, "text/plain": "x"})
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("1", outputs=[output])])
    book.metadata["widgets"], book.cells[0].metadata["execution"] = {}, {"started": "now"}
    text = nbformat.writes(refresh().clean(book))
    assert "widget" not in text and "started" not in text
