"""The form that writes the page to file: written whole, never over another, told in words."""

from pathlib import Path

import pypdf
import pytest

from relieflib import datasheet
from relieflib.errors import InputError
from relieflib.notebook.save_page import SavePage, page_name
from relieflib.report.page import datasheet_report

FILE = Path(__file__).parents[2] / "data" / "datasheets" / "published-examples.csv"


@pytest.fixture
def form(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "mine"))
    checked = datasheet.check_file(FILE)
    return SavePage(lambda **who: datasheet_report(checked, "2026-03-31", pages="none", **who), "a")


def test_page_is_written_with_name_and_project(form, tmp_path):
    form.prepared_by.value, form.project.value = "A. Nother", "Unit 7"
    form.button.click()
    text = (tmp_path / "mine" / "a.html").read_text("utf-8")
    assert "Written" in form.said.value and "A. Nother" in text and "Unit 7" in text
    form.kind.value = "PDF, A4"
    assert len(pypdf.PdfReader(form.save()).pages) >= 1


def test_another_page_is_never_replaced(form, tmp_path):
    path = tmp_path / "mine" / "a.html"
    path.parent.mkdir()
    path.write_text("filed")
    form.button.click()
    assert "Not written" in form.said.value and path.read_text() == "filed"


@pytest.mark.parametrize("name", ["", "  ", "../a", "a/b", "C:\\a", ".a", "a?"])
def test_names_that_are_no_file_names(form, name):
    form.name.value = name
    with pytest.raises(InputError, match="plain name"):
        form.save()


@pytest.mark.parametrize(
    "typed, name",
    [("a", "a.html"), (" a.html ", "a.html"), ("a.HTML.html", "a.html"), ("a.pdf", "a.html"),
     ("PSV-1.2", "PSV-1.2.html"), ("console", "console.html"), ("Prüfung 7", "Prüfung 7.html")],
)  # fmt: skip
def test_the_ending_stands_once(typed, name):
    assert page_name(typed, ".html") == name


# names that Windows keeps for devices: "Naming Files, Paths, and Namespaces", from memory
@pytest.mark.parametrize(
    "typed, words",
    [("CON", "device"), ("nul.txt", "device"), ("Com1", "device"), ("lpt³", "device"),
     ("a\x07b", "no file name"), ("a\nb", "no file name"), ("a\u202eb", "no file name"),
     ("a.", "no file name"), (".html", "plain name"), ("x" * 96, "at most 100 bytes"),
     ("ü" * 48, "at most 100 bytes")],
)  # fmt: skip
def test_names_that_some_system_refuses(typed, words):
    with pytest.raises(InputError, match=words) as said:
        page_name(typed, ".html")
    assert str(said.value).isprintable()


def test_a_name_at_the_limit_is_taken():
    assert page_name("x" * 95, ".html") == "x" * 95 + ".html"


def test_a_fault_is_told(form, monkeypatch):
    def full(path):
        raise OSError("no space left")

    monkeypatch.setattr("relieflib.report.document.Report.save", lambda self, path: full(path))
    form.button.click()
    assert "no space left" in form.said.value
