"""The set as pages to read: what goes into a page, and, where the extra is there, a small book."""

import importlib.util
import json
import re
import sys
import tomllib
from pathlib import Path

import pytest

from relieflib import book
from relieflib.__main__ import main
from relieflib.asking.kept import Who
from relieflib.questions import asked_in, bank

ROOT = Path(__file__).parents[1]
HERE = [importlib.util.find_spec(name.split(".")[0]) for name in book.NEEDS]


def test_a_missing_package_is_said_with_the_way_to_it(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "sphinx", None)
    assert main(["book", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err.strip()
    assert said == 'needs Sphinx, which this copy lacks: pip install -e ".[book]"'
    assert not (tmp_path / "out").exists()


def test_the_extra_names_what_is_needed():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    listed = {re.split("[><]", n)[0] for n in project["optional-dependencies"]["book"]}
    assert {name.lower() for name in book.NEEDS.values()} <= listed


@pytest.mark.parametrize("number", sorted(bank()))
def test_questions_stand_without_their_answers(number):
    text = book.questions_text(number) if HERE[-1] else ""
    for one in asked_in(number, Who()) if text else ():
        if not hasattr(one.question, "options") and not one.origin and not one.given:
            unworked = text.split("</div>")[-1]
            assert one.right_text not in unworked, one.name
    assert "Solution" not in text


def test_every_notebook_is_led_to():
    names = [p.stem for p in (ROOT / "notebooks").glob("*.ipynb")]
    text = book.first_page(names)
    assert all(f"\n{name}\n" in text for name in names) and "licensed" in text


def test_pictures_keep_their_words_and_code_makes_no_page():
    words = {"image/png": {"alt": "A vessel\nwith a valve"}}
    output = {"output_type": "display_data", "data": {"image/png": ""}, "metadata": words}
    cell = {"cell_type": "code", "id": "a", "source": "draw()", "outputs": [output] * 2,
            "metadata": {"tags": ["glue"]}, "execution_count": 1}  # fmt: skip
    cells = book.page({"cells": [cell]})["cells"]
    assert [c["id"] for c in cells] == ["a-0", "a-1"]
    assert cells[0]["metadata"]["mystnb"]["image"]["alt"] == "A vessel with a valve"
    assert book.SETTINGS["nb_remove_code_source"] and book.SETTINGS["nb_execution_mode"] == "off"


@pytest.mark.skipif(not all(HERE), reason="needs the extra: book")
def test_a_small_book_opens_from_a_file(tmp_path):
    folder = tmp_path / "notebooks"
    folder.mkdir()
    first = {
        "cell_type": "markdown",
        "id": "t",
        "metadata": {},
        "source": "# Start\n\n## MAWP\n\nIt is $P_1/2$, see [it](00-start-here.ipynb#MAWP).",
    }
    notebook = {"cells": [first], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    (folder / "00-start-here.ipynb").write_text(json.dumps(notebook))
    made = book.make(tmp_path / "out", folder)
    text = (tmp_path / "out" / "00-start-here.html").read_text()
    assert made.warned == [] and made.pages == 1 and "<math" in text
    for page in (tmp_path / "out").glob("*.html"):
        assert not re.search(r'(src|<link[^>]*href)="https?://', page.read_text())
    assert "licensed" in made.page.read_text() and (tmp_path / "out" / "searchindex.js").exists()
