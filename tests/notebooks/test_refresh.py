"""Storing a notebook: clean, the same on a second run, and never at the cost of a good one."""

import importlib.util
import sys
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).parents[2]
SPEC = importlib.util.spec_from_file_location("refresh", ROOT / "notebooks" / "refresh.py")
refresh = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(refresh)

PANEL = """from relieflib.notebook.panel import Panel, quantity, shown
panel = Panel([quantity("temperature", 300.0, 200.0, 400.0)], lambda **v: v,
              lambda figure, r, u: figure.subplots().plot([0, 1], [0, 1]),
              lambda lines, r, u: lines[0].set_ydata([0, r["temperature"]]),
              lambda r, u: [("T", shown("temperature", r["temperature"], u))], alt="A line.")
panel"""
QUESTION = """from relieflib.notebook import ask
ask("00")"""


@pytest.fixture
def path(tmp_path, monkeypatch):
    monkeypatch.setattr(refresh, "HERE", tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "mine"))
    return tmp_path / "10-some-subject.ipynb"


def write(path, *cells):
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(text) for text in cells])
    book.metadata["widgets"] = {"application/vnd.jupyter.widget-state+json": {"state": {}}}
    nbformat.write(book, path)


def test_a_second_run_changes_no_byte(path, capsys):
    write(path, PANEL, "panel.numbers()", "panel.sweep()", QUESTION)
    assert refresh.main([]) == 0
    first = path.read_bytes()
    assert refresh.main(["some-subject"]) == 0
    assert path.read_bytes() == first and "stored" in capsys.readouterr().out
    cells = nbformat.reads(first.decode(), 4).cells
    assert [c.execution_count for c in cells] == [1, 2, 3, 4]
    panel = cells[0].outputs[0]
    assert set(panel.data) == {"image/png", "text/plain"} and panel.data["text/plain"].endswith(
        "°C"
    )
    assert panel.metadata == {"image/png": {"alt": "A line."}}
    assert "26.85 °C" in cells[1].outputs[0].text
    assert cells[2].outputs[0].data["text/plain"].startswith("4 settings tried, 4")
    assert "Question 1. On a plateau" in cells[3].outputs[0].data["text/plain"]
    for trace in (b"widget", b'execution"', b"/tmp/", b"iopub", str(path.parent).encode()):
        assert trace not in first.replace(PANEL.encode(), b"")


def test_a_reader_s_answers_stay_out(path):
    mine = path.parent / "mine"
    mine.mkdir()
    (mine / "answers.json").write_text(
        '{"/1/0": [{"attempt": "(9, \'kg/s\')", "verdict": "wrong"}]}', encoding="utf-8"
    )
    before = (mine / "answers.json").read_bytes()
    write(path, QUESTION)
    assert refresh.main([]) == 0
    text = path.read_text(encoding="utf-8")
    assert "(9, 'kg/s')" not in text and "last time" not in text
    assert (mine / "answers.json").read_bytes() == before


@pytest.mark.parametrize("cell", ["1 / 0", "import os; os._exit(1)"])
def test_a_failing_cell_leaves_the_file(path, cell, capsys):
    write(path, "1", cell)
    before = path.read_bytes()
    assert refresh.main([]) == 1
    assert path.read_bytes() == before
    said = capsys.readouterr()
    assert "failed" in said.out and ("ZeroDivisionError" in said.err or "died" in said.err)


def test_no_notebook_of_that_name_is_a_failure(path):
    assert refresh.main(["nothing-like-it"]) == 1
    assert sys.modules.get("refresh") is None
