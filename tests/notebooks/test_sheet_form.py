"""The form of notebook 51: a file or pasted rows, doubtful headings asked, answers kept."""

import importlib.util
from pathlib import Path

import pytest

from relieflib import datasheet
from relieflib.notebook import sheet_form
from relieflib.notebook.sheet_form import SheetForm

VENDOR = "Tag No.;Design pressure [barg];Set press. (bar);State;Flow rate [kg/h]\nA;16;16;gas;100\n"


@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path))
    return tmp_path


def press(button):
    button.click()


def test_nothing_given_is_words(mine):
    form = SheetForm()
    press(form.button)
    assert "choose a file or paste its rows first" in form.said.value


def test_pasted_rows_are_asked_answered_and_the_answers_kept(mine):
    form = SheetForm()
    form.text.value = VENDOR
    press(form.button)
    assert "2 headings are asked below" in form.said.value
    *rows, take = form.asked.children
    assert [row.words for row in rows] == ["Design pressure [barg]", "Set press. (bar)"]
    press(take)  # nothing chosen: nothing taken
    *rows, take = form.asked.children
    assert len(rows) == 2 and form.checked.results[0][0].get("set_pressure_gauge") is None
    rows[0].children[1].value, rows[1].children[2].value = "mawp", "barg"
    press(take)
    row = form.checked.results[0][0]
    assert row.get("mawp_gauge") == row.get("set_pressure_gauge") == 16e5
    assert (
        not form.asked.children and sheet_form.answers_path(form.checked.reading.headings).exists()
    )
    again = SheetForm()
    again.text.value = VENDOR.replace("A;16;16", "B;18;18")
    press(again.button)
    assert again.checked.results[0][0].get("set_pressure_gauge") == 18e5
    assert not again.asked.children and "as answered" in again.found.value
    # a file of another shape is asked again: its bar may be absolute
    other = SheetForm()
    other.text.value = VENDOR.replace("Flow rate", "Required flow")
    press(other.button)
    assert (
        len(other.asked.children) == 3
        and other.checked.results[0][0].get("set_pressure_gauge") is None
    )


def test_lines_of_one_valve(mine):
    form = SheetForm()
    form.text.value = "tag: PSV-1\nset pressure: 75 psig\nphase: gas"
    press(form.button)
    assert form.checked.results[0][0].tag == "PSV-1" and "1 valve," in form.said.value


def test_a_chosen_file_and_a_bad_one(mine):
    form = SheetForm()
    form.file.value = ({"name": "list.csv", "type": "", "size": 1, "content": VENDOR.encode(),
                        "last_modified": __import__("datetime").datetime(2026, 1, 1)},)  # fmt: skip
    press(form.button)
    assert form.checked.reading.file == "list.csv"
    form.file.value = ({"name": "x.xlsx", "type": "", "size": 1, "content": b"PK broken",
                        "last_modified": __import__("datetime").datetime(2026, 1, 1)},)  # fmt: skip
    press(form.button)
    assert "Not read" in form.said.value and form.checked is None and not form.found.value


def vendor(start, folder):
    """The form in which a sheet of an office was chosen and checked: every field as it is."""
    path = Path(__file__).parents[1] / "vendor_sheets.py"
    spec = importlib.util.spec_from_file_location("vendor_sheets", path)
    sheets = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(sheets)
    write, truth = next((w, t) for name, w, t, _ in sheets.by_hand_sheets()
                        if name.startswith(start))  # fmt: skip
    path, form = write(folder), SheetForm()
    form.file.value = ({"name": path.name, "type": "", "size": 1, "content": path.read_bytes(),
                        "last_modified": __import__("datetime").datetime(2026, 1, 1)},)  # fmt: skip
    press(form.button)
    assert sheets.score(form.checked.reading, truth) == (sum(map(len, truth)), 0, 0)
    return form


def verdicts(form, tag):
    return {c.name: c for row, checks in form.checked.results if row.tag == tag for c in checks}


def test_a_boiler_list_on_its_side_is_chosen_and_judged(mine, tmp_path):
    form = vendor("boiler", tmp_path)
    assert "2 valves" in form.said.value and not form.asked.children
    assert "'SET PRESSURE, PSIG': set pressure [psig]" in form.found.value.replace("&#x27;", "'")
    found = verdicts(form, "PSV-801")
    # by hand, Napier: 51.5 A P1 KN KSH K, P1 = 650 x 1.03 + 14.7 = 684.2 psia: 51.5 x 2.545 x
    # 684.2 x 0.878 = 78 736 lb/h, above the 60 000 that are needed and the 76 500 stated
    assert found["rated capacity"].recomputed == pytest.approx(78_736, rel=1e-3)
    assert found["rated capacity"].verdict == "differs" and found["rated capacity"].severity == 3
    assert found["area against the load"].verdict == "agrees"


def test_a_numbered_form_to_iso_4126_is_chosen_and_judged(mine, tmp_path):
    form = vendor("form to ISO 4126", tmp_path)
    assert "1 valve," in form.said.value and not form.asked.children
    shown = form.found.value.replace("&#x27;", "'")
    assert "'Mass flow to be discharged [kg/h]': load [kg/h]" in shown
    assert "'Flow area A0 [mm²]': actual orifice area [mm2]" in shown
    found = verdicts(form, "SV-1201")
    assert found["set pressure against mawp"].verdict == "agrees"
    assert found["rated capacity against load"].verdict == "agrees"  # 20 100.5 above 19 200.5
    assert found["inlet flange rating at temperature"].verdict == "not given"  # PN 40, hot


def test_what_was_given_last_is_checked(mine):
    import datetime

    form = SheetForm()
    form.text.value = "tag: PSV-1\nset pressure: 75 psig\nphase: gas"
    form.file.value = ({"name": "list.csv", "type": "", "size": 1, "content": VENDOR.encode(),
                        "last_modified": datetime.datetime(2026, 1, 1)},)  # fmt: skip
    press(form.button)
    assert form.checked.reading.file == "list.csv"
    form.text.value = "tag: PSV-2\nset pressure: 75 psig\nphase: gas"
    press(form.button)
    assert form.checked.results[0][0].tag == "PSV-2"


def test_what_is_stored_reads_without_a_kernel(mine):
    start = datasheet.check_words("tag: <b>X</b>\nset pressure: 75 psig\nphase: gas")
    stored = SheetForm(start)._repr_mimebundle_()
    assert "&lt;b&gt;X" in stored["text/html"] and "<b>X" not in stored["text/html"]
    assert "1 valve," in stored["text/plain"]


@pytest.mark.parametrize("title", ["", "PRESSURE RELIEF VALVE DATA SHEET\n"])
def test_a_form_with_colons_is_read_whole_and_what_it_asks_is_answered(mine, title):
    """Typed or pasted, with a title or without: strokes, two labels on a line, a question."""
    form = SheetForm()
    form.text.value = title + (
        "Tag No.: PSV-1\nFluid / State: Propane / Vapour\nRequired capacity: 12500 kg/h\n"
        "Set pressure: 16 bar\nOverpressure: 10 %      Compressibility Z: 0.82\n"
        "Temperature operating / relieving: 45 / 62 °C\nMolecular weight: 44.1\nCp/Cv: 1.14"
    )
    press(form.button)
    (row,) = form.checked.reading.rows
    assert row.get("Z") == 0.82 and row.get("temperature") == pytest.approx(335.15)
    assert "set_pressure_gauge" not in row.cells
    for question in form.asked.children[:-1]:
        if "Set pressure" in question.words:
            question.children[2].value = "barg"
        else:
            question.children[1].value = sheet_form.LEAVE_OUT
    press(form.asked.children[-1])
    (row,) = form.checked.reading.rows
    assert row.get("set_pressure_gauge") == 16e5 and row.get("temperature") == pytest.approx(335.15)
