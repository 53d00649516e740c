"""A class of three made-up participants with planted slips, marked; and its key."""

import json

import openpyxl
import pytest

from relieflib import marking
from relieflib.__main__ import main
from relieflib.asking.kept import Who
from relieflib.asking.question import asked
from relieflib.questions import question

ROOM = "blue 7"


def answer(book, key, number, how, room=ROOM):
    """What a participant typed: right, or with the slip of the credit left out, by hand."""
    one = asked(question(book, key), book, Who(number, room))
    typed = {"right": lambda: f"{one.right * 3600:.6g}",
             "slip": lambda: f"{one.data()['inflow'] * 3600:.6g}",
             "lost": lambda: "1"}[how]()  # fmt: skip
    # the verdict kept on the participant's machine is not believed
    record = {"attempt": typed, "unit": "kg/h", "verdict": "right", "slip": "", "room": room,
              "time": f"2026-11-26T0{number}:00:00+00:00", "version": "0.4.0"}  # fmt: skip
    return one.name, record


@pytest.fixture
def folder(tmp_path):
    tries = {1: ["right"], 2: ["slip", "right"], 3: ["slip", "lost"]}
    for number, hows in tries.items():
        path = tmp_path / f"person-{number}" / "my-work" / "answers.json"
        path.parent.mkdir(parents=True)
        records = [answer("10", "load", number, how) for how in hows]
        path.write_text(json.dumps({records[0][0]: [r for _, r in records],
                                    "10/no such question/1": [records[0][1]]}))  # fmt: skip
    return tmp_path


def test_verdicts_are_judged_anew(folder):
    found, left = marking.marks(folder)
    assert [(m.participant, m.verdict, m.tries) for m in found] == [
        (1, "right", 1), (2, "right", 2), (3, "wrong", 2)]  # fmt: skip
    assert found[2].slips == ["credit left out", "none known"]
    assert len(left) == 3 and all("no question of this version" in words for words in left)
    (row,) = marking.by_question(found)
    assert row[:5] == ("10", "load", 3, 2, 5)
    assert row[5] == {"credit left out": 2, "none known": 1}


def test_another_room_has_other_numbers(folder):
    path = folder / "person-1" / "my-work" / "answers.json"
    name, record = answer("10", "load", 1, "right", room="red")
    path.write_text(json.dumps({name: [record | {"room": ROOM}]}))
    found, _ = marking.marks(folder)
    assert found[0].verdict == "wrong"


def test_the_command_prints_and_writes(folder, capsys):
    out = folder / "marks.xlsx"
    assert main(["marks", str(folder), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "credit left out (2)" in said and "person-3" in said and "2 of 3" in said
    book = openpyxl.load_workbook(out)
    assert book.sheetnames == ["participants", "questions", "answers", "left out"]
    rows = list(book["questions"].iter_rows(values_only=True))
    assert rows[1][:6] == ("10", "load", 3, 2, 1, 5)
    assert main(["marks", str(folder), "--out", str(out)]) == 2, "a file that is there stays"


def test_two_folders_of_one_number_are_said(folder):
    text = (folder / "person-1" / "my-work" / "answers.json").read_text()
    (folder / "copy").mkdir()
    (folder / "copy" / "answers.json").write_text(text)
    assert any("participant 1 stands in several folders: copy, person-1" in words
               for words in marking.marks(folder)[1])  # fmt: skip


@pytest.mark.parametrize("broken", [
    "{", "[]",
    '{"10/load/1": [3]}', '{"10/load/1": []}', '{"10": [{"attempt": "1", "verdict": ""}]}',
    '{"10/load/Anna": [{"attempt": "1", "verdict": ""}]}',
    '{"10/credit/1": [{"attempt": ["x"], "verdict": "", "unit": [1], "room": null}]}',
    '{"10/load/1": [{"attempt": {"a": 1}, "verdict": "right", "room": 7, "slip": 1}]}',
    '{"10/load/1": [{"attempt": "=1+1", "verdict": "right"}]}',
])  # fmt: skip
def test_whatever_a_file_holds_gives_no_mark_and_no_traceback(tmp_path, broken, capsys):
    (tmp_path / "answers.json").write_text(broken)
    assert main(["marks", str(tmp_path), "--out", str(tmp_path / "m.xlsx")]) == 0
    found, _ = marking.marks(tmp_path)
    assert not any(m.verdict == "right" for m in found)
    for sheet in openpyxl.load_workbook(tmp_path / "m.xlsx"):
        assert all(c.data_type != "f" for row in sheet.iter_rows() for c in row)


def test_the_key_holds_what_is_judged_right(capsys):
    for book, key, number, text in marking.key([1, 2, 3], ROOM, ["10", "30"]):
        if key[:2].isdigit():
            continue
        one = asked(question(book, key), book, Who(number, ROOM))
        assert one.judge(text.split(" = ")[0]).verdict == "right"
    assert main(["key", "--participants", "1-3,9", "--room", ROOM, "--notebook", "10"]) == 0
    said = capsys.readouterr().out
    assert said.count("   9: ") >= 4 and "all: The gas" in said
    for wrong in ("Anna", "0-9999", "5-1", ""):
        assert main(["key", "--participants", wrong]) == 2
    assert main(["key", "--participants", "1", "--notebook", "98"]) == 2


def test_a_folder_without_answers_is_said(tmp_path, capsys):
    assert main(["marks", str(tmp_path)]) == 2
    assert "no answers.json" in capsys.readouterr().err
