"""Papers of one valve held against each other: each planted difference is named, and which paper.

Expected answers are worked by hand here. Areas: API 526, table 1 (K 1.838, L 2.853, N 4.34 in2).
Units: NIST SP 811 (1 bar = 14.5038 psi, 1 lb = 0.45359237 kg). Ratings: ASME B16.5-2009, table
2-1.1 (class 150 19.6 bar, class 300 51.1 bar at 38 °C). Spellings of a note and what each paper
holds: common practice, no source.
"""

import io
import unicodedata
from dataclasses import replace

import pypdf
import pytest

from relieflib import datasheet, summary
from relieflib.__main__ import main
from relieflib.errors import InputError
from relieflib.papers import as_text, hold, of_valve
from relieflib.papers.judging import unit_slip
from relieflib.pid_note import parse_note, read_notes
from relieflib.plant import demo_plant_path, load_plant
from relieflib.report.papers_page import papers_report

PLANT = load_plant()
NOTE = ("PSV-105 A/B; 2 x 3L4 (1 duty + 1 spare); 300# x 150#; SET 16 barg; "
        "SIZED FOR control valve opens; TO FH")  # fmt: skip
SHEET = """tag: PSV-105A/B
protected item: V-104
mawp: 16 barg
set pressure: 16 barg
number of valves: 1
phase: gas
device type: conventional
designation: 3L4
cause: control valve opens
load: 10000 kg/h
relieving pressure: 18.61 bara
back pressure
required area: 1600 mm2
inlet flange class: 300
outlet flange class: 150""".replace("back pressure\n", "total back pressure: 2.4 bara\n")
ROW = dict.fromkeys(summary.COLUMNS, "") | {
    "protected item": "V-104", "cause": "control valve opens", "phase": "gas",
    "load [kg/h]": "10000", "relieving pressure [bara]": "18.61325",
    "back pressure [bara]": "2.4", "device": "conventional", "set pressure [barg]": "16",
    "required area [mm2]": "1600", "letter": "L", "destination": "FH",
    "installed": "1 x 3L4 + 1 spare", "fire": "no",
}  # fmt: skip
LESSER = ROW | {"cause": "closed outlet", "required area [mm2]": "800", "load [kg/h]": "5000"}


def found(note=NOTE, sheet=SHEET, row=ROW, plant=None, more=(LESSER,), **given):
    rows = () if sheet is None else datasheet.read_words(sheet).rows
    cases = None if row is None else summary.saved_cases([row, *more])
    read = None if note is None else parse_note(note)
    return hold(of_valve("PSV-105", read, rows, cases, plant, **given))


def entry(one, name):
    return next(e for e in one.entries if e.name == name)


def kinds(entry):
    return {name.split(" (")[0] for name in entry.likely}


def test_papers_that_agree_say_so():
    one = found()
    assert not [e.name for e in one.differing]
    agrees = {e.name for e in one.entries if e.verdict == "agrees"}
    assert {"set pressure", "letter", "sizes", "governing case", "load", "required area",
            "destination", "flange classes", "number of valves", "area of the duty valves",
            "valves in duty"} <= agrees  # fmt: skip


def test_a_required_area_that_only_the_sheet_states_still_proves_a_letter_too_small():
    """K has 1.838 in2, 1186 mm2, less than the 1600 mm2 that the sheet says it needs."""
    one = found(NOTE.replace("3L4", "3K4"), row=None, plant=PLANT)
    letter = entry(one, "letter")
    assert kinds(letter) == {"datasheet", "placement"} and "1600 mm² needed" in letter.why
    assert entry(one, "area of the duty valves").verdict == "differs"


def test_a_number_that_brings_its_unit_is_shown_with_it_once():
    assert "1600 mm2" in entry(found(), "required area").said.values()


SIX = """PSV-105 A/B; 2 x 3K4 (1 duty + 1 spare); 150# x 150#; SET 17.6 barg
SIZED FOR closed outlet; TO ATM"""


def test_a_review_of_one_note_with_five_planted_faults_takes_three_steps(tmp_path, capsys):
    """Steps of a senior, three: 1 the note's text into a file; 2 one command; 3 read what differs.

    The command takes some 4 s of processor time, page of four A4 sides and detail included.
    """
    note, sheet, page = (tmp_path / name for name in ("note.txt", "valves.csv", "page.html"))
    note.write_text(SIX, encoding="utf-8")
    columns = zip(*(line.split(": ") for line in SHEET.splitlines()))
    sheet.write_text("\n".join(map(",".join, columns)), encoding="utf-8")
    code = main(["compare", "--note", str(note), "--datasheet", str(sheet),
                 "--plant", str(demo_plant_path()), "--report", str(page)])  # fmt: skip
    said = capsys.readouterr().out
    assert code == 1 and page.exists()
    planted = ("set pressure", "letter", "flange classes", "governing case", "destination")
    assert [x for x in planted if f"{x} differs" not in said] == []
    first = said.index("set pressure differs"), said.index("flange classes differs")
    assert first[0] < first[1]  # what leaves it not protected stands first


# what is changed, where, the entries that differ, the kinds of paper probably right
PLANTED = [
    ("note", "SET 16 barg", "SET 17 barg", {"set pressure"}, {"datasheet", "load summary"}),
    ("note", "SET 16 barg", "SET 15 barg", {"set pressure"}, {"datasheet", "load summary"}),
    ("note", "3L4", "3K4", {"letter", "area of the duty valves"}, {"datasheet", "load summary"}),
    ("note", "3L4", "4L6", {"sizes"}, {"datasheet", "load summary"}),
    ("note", "1 duty + 1 spare", "2 duty", {"valves in duty", "spares"},
     {"datasheet", "load summary"}),
    ("note", "2 x 3L4 (1 duty + 1 spare)", "3 x 3L4 (1 duty + 2 spare)",
     {"number of valves", "spares"}, {"datasheet", "load summary"}),
    ("note", "control valve opens", "closed outlet", {"governing case"},
     {"datasheet", "load summary"}),
    ("note", "TO FH", "TO ATM", {"destination"}, set()),
    ("note", "300# x", "150# x", {"flange classes"}, set()),
    ("sheet", "device type: conventional", "device type: balanced", {"kind of device"}, set()),
    ("sheet", "load: 10000 kg/h", "load: 9000 kg/h", {"load"}, set()),
    ("sheet", "protected item: V-104", "protected item: V-101", {"protected item"}, set()),
    ("sheet", "phase: gas", "phase: liquid", {"phase"}, set()),
    ("sheet", "mawp: 16 barg", "mawp: 15 barg", {"set pressure"}, set()),
    ("row", "1600", "1700", {"required area"}, set()),
]  # fmt: skip


@pytest.mark.parametrize("where, right, wrong, names, likely", PLANTED)
def test_a_planted_difference_is_named_with_the_paper_that_is_right(
    where, right, wrong, names, likely
):
    given = {"note": NOTE, "sheet": SHEET, "row": ROW}
    if where == "row":
        given["row"] = ROW | {"required area [mm2]": wrong}
    else:
        assert right in given[where]
        given[where] = given[where].replace(right, wrong)
    one = found(**given, item="V-104")
    assert {e.name for e in one.differing} == names
    for name in names - {"area of the duty valves", "number of valves", "spares"}:
        assert kinds(entry(one, name)) == likely


def test_what_can_be_proved_goes_before_the_vote():
    # all papers say K: 1186 mm2 against the 1600 needed (API 526), nobody is right
    three = {k: v.replace("3L4", "3K4") for k, v in (("note", NOTE), ("sheet", SHEET))}
    one = found(**three, row=ROW | {"installed": "1 x 3K4 + 1 spare"})
    assert {e.name for e in one.differing} == {"letter", "area of the duty valves"}
    assert entry(one, "letter").likely == ()
    assert "1185.8 mm² in duty is less than the 1600 mm² needed" in entry(one, "letter").why
    # two papers with too small a letter do not outvote the one that is large enough
    one = found(**three)
    assert kinds(entry(one, "letter")) == {"load summary"}
    # two papers say a set above MAWP: the third is right
    high = {"note": NOTE.replace("16 barg", "18 barg"), "row": ROW | {"set pressure [barg]": "18"}}
    assert kinds(entry(found(**high), "set pressure")) == {"datasheet"}
    # two papers name a case that does not govern by the summary: 800 of 1600 mm2
    cases = {"note": NOTE.replace("control valve opens", "closed outlet"),
             "sheet": SHEET.replace("control valve opens", "closed outlet")}  # fmt: skip
    case = entry(found(**cases), "governing case")
    assert kinds(case) == {"load summary"} and "50% of the area" in case.why
    # class 150 does not bear 30 barg (19.6 at 38 °C), class 300 does (51.1)
    high = {"note": NOTE.replace("16 barg", "30 barg"),
            "sheet": SHEET.replace("16 barg", "30 barg").replace("class: 300", "class: 150"),
            "row": ROW | {"set pressure [barg]": "30"}}  # fmt: skip
    classes = entry(found(**high), "flange classes")
    assert kinds(classes) == {"P&ID note"} and "class 150 bears" in classes.why


def test_numbers_read_in_another_unit_are_said():
    # 16 psig is 1.103 barg; 10000 lb/h is 4536 kg/h; 16 bara is 14.99 barg
    for wrong, name, words in (
        ("set pressure: 16 psig", "set pressure", "1 bar to 1 psi"),
        ("set pressure: 16 bara", "set pressure", "one atmosphere apart"),
        ("load: 10000 lb/h", "load", "1 kg/h to 1 lb/h"),
        ("required area: 1600 cm2", "required area", "1 cm2 to 1 mm2"),
    ):
        kept = "\n".join(x for x in SHEET.split("\n") if not x.startswith(wrong.split(":")[0]))
        one = found(sheet=f"{kept}\n{wrong}")
        assert words in entry(one, name).why, name
    assert unit_slip(16e5, 16.5e5, "gauge pressure") == ""
    # 232 psig are 15.996 barg: the same; 1.6 MPag written as 2 MPag is rounding
    assert not found(note=NOTE.replace("16 barg", "232 psig")).differing
    assert "rounded" in entry(found(note=NOTE.replace("16 barg", "2 MPag")), "set pressure").why


def test_a_load_of_another_case_is_known_again():
    one = found(sheet=SHEET.replace("load: 10000", "load: 5000"))
    assert "5000 kg/h is that of 'closed outlet'" in entry(one, "load").why


def test_what_is_missing_is_said_by_paper():
    one = found(note="PSV-105; 3L4", row=ROW | {"installed": "", "destination": ""})
    missing = {e.name: e.missing for e in one.entries}
    for name in ("set pressure", "governing case", "destination", "flange classes"):
        assert "P&ID note" in missing[name]
    assert "load summary" in missing["destination"] and "load summary" in missing["letter"]
    # a number without roles may count spares: nothing is proved by it, nothing is contradicted
    one = found(note=NOTE.replace(" (1 duty + 1 spare)", ""))
    assert entry(one, "valves in duty").verdict == "agrees"
    # but a note of one valve contradicts a sheet of two in duty
    one = found(note="PSV-105; 1 x 3L4", sheet=SHEET.replace("valves: 1", "valves: 2"), row=None)
    assert "valves in duty" in {e.name for e in one.differing}


def test_a_required_area_of_one_valve_is_held_against_that_of_all():
    two = SHEET.replace("valves: 1", "valves: 2").replace("1600 mm2", "800 mm2")
    row = ROW | {"installed": "2 x 3L4"}
    one = found(note=None, sheet=two, row=row)
    assert entry(one, "required area").verdict == "agrees"


def test_the_placement_speaks_too():
    one = found(plant=PLANT)
    assert not one.differing and any(p.kind == "placement" for p in one.papers)
    one = found(note=NOTE.replace("TO FH", "TO ATM"), plant=PLANT)
    assert kinds(entry(one, "destination")) == {"load summary", "placement"}
    bad = hold(of_valve("PSV-107", parse_note("PSV-107; 3L4; SET 17.25 barg"), plant=PLANT))
    assert any(paper == "placement" for paper, _ in bad.checks)  # one of the planted faults


def test_bad_papers_are_said_and_the_rest_is_held():
    with pytest.raises(InputError, match="alone knows it"):
        found(sheet=None, row=None)
    with pytest.raises(InputError, match="no row PSV-105"):
        found(sheet=SHEET.replace("PSV-105A/B", "PSV-9"), row=None)
    one = found(sheet=SHEET.replace("V-104", "V-9"), item="V-999")
    assert "the load summary has no rows of V-999" in one.problems
    one = found(row=ROW | {"installed": "two big ones", "set pressure [barg]": "n/a"})
    assert len(one.unread) == 5 and "n/a" in as_text(one)
    assert {e.name for e in one.differing} == set()


@pytest.mark.parametrize("words, notes, unread", [
    (NOTE, 1, 0), (NOTE.replace("; ", "\n\n"), 1, 0), ("PSV-1\n3L4\n\nPSV-2\n1D2", 2, 0),
    ("PSV-1\n3L4\n\nwhat?", 1, 1), ("", 0, 1), ("??", 0, 1),
])  # fmt: skip
def test_a_file_of_notes(words, notes, unread):
    found, problems = read_notes(words)
    assert (len(found), len(problems)) == (notes, unread)


def files(tmp_path, note=NOTE, row=ROW):
    sheet = dict(line.split(": ") for line in SHEET.split("\n"))
    units = {h: v.partition(" ")[::2] for h, v in sheet.items() if v.split()[0][:1].isdigit()}
    heads = [f"{h} [{units[h][1]}]" if units.get(h, ("", ""))[1] else h for h in sheet]
    cells = [units[h][0] if h in units else v for h, v in sheet.items()]
    (tmp_path / "sheet.csv").write_text(",".join(heads) + "\n" + ",".join(cells) + "\n", "utf-8")
    (tmp_path / "note.txt").write_text(note, "utf-8")
    for one in (row, LESSER):
        summary.append_row(tmp_path / "loads.csv", one)
    return ["compare", "--note", str(tmp_path / "note.txt"),
            "--datasheet", str(tmp_path / "sheet.csv"),
            "--summary", str(tmp_path / "loads.csv")]  # fmt: skip


def test_the_shell_ends_as_check_does(tmp_path, capsys):
    arguments = files(tmp_path)
    code = main(arguments)
    out = capsys.readouterr().out
    assert "entries: 0 differ" in out and code == ("a paper by itself" in out)
    (tmp_path / "note.txt").write_text(NOTE.replace("3L4", "3K4"), "utf-8")
    assert main(arguments) == 1
    out = capsys.readouterr().out
    assert "letter differs: not protected" in out and "settled by" in out
    page = tmp_path / "page.pdf"
    assert main([*arguments, "--report", str(page), "--date", "2026-03-31"]) == 1
    text = " ".join(p.extract_text() for p in pypdf.PdfReader(page).pages)
    assert "PSV-105" in text and "probably right" in text and "licensed" in text
    assert main([*arguments, "--report", str(page)]) == 2  # never replaced


@pytest.mark.parametrize("more, says", [
    ([], "at least two"), (["--note-text", "PSV-1", "--note", "x"], "not both"),
    (["--note", "no.txt", "--summary", "x"], "no.txt: can't be read"),
    (["--note-text", "??", "--summary", "x"], "can't be read"),
    (["--note-text", "PSV-1; SP=16", "--summary", "x"], "number and its unit"),
    (["--note-text", "PSV-1", "--summary", "no.csv"], "no such file"),
    (["--note-text", "PSV-1", "--datasheet", "no.csv"], "no.csv"),
    (["--note-text", "PSV-1", "--plant", "no.toml"], "no.toml"),
    (["--note-text", "PSV-1", "--atmosphere", "x"], "atmosphere"),
    (["--summary", "no.csv", "--plant", "no.toml", "--tag", "PSV-1"], "no."),
    (["--note-text", "PSV-1", "--report", "a.doc"], "must end in"),
])  # fmt: skip
def test_every_bad_input_is_said_in_words(more, says, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["compare", *more]) == 2
    err = capsys.readouterr().err
    assert says in err and "fault of this program" not in err and "Traceback" not in err


@pytest.mark.parametrize("payload", ["\x1b[2J", "a\u202eb", "<script>", "$x^2$", "=1+1", "\x9b31m"])
def test_foreign_text_is_made_safe(payload, tmp_path, capsys):
    row = ROW | {"destination": payload, "installed": payload, "cause": f"x {payload}"}
    arguments = files(tmp_path, NOTE.replace("TO FH", f"TO {payload} y"), row)
    main([*arguments, "--report", str(tmp_path / "p.html")])
    out, err = capsys.readouterr()
    page = (tmp_path / "p.html").read_text("utf-8")
    for text in (out, err, page):
        assert not [c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs") and c != "\n"]
    assert "<script>" not in page


def test_the_page_holds_every_entry():
    one = found(note=NOTE.replace("3L4", "3K4"))
    page = papers_report([one], "2026-03-31").html()
    assert all(e.name in page for e in one.entries)
    with pytest.raises(InputError, match="no valve"):
        papers_report([])


STAGGERED = NOTE.replace("(1 duty + 1 spare)", "(2 duty)").replace("16 barg", "16 / 16.8 barg")


def two_rows(second="16.8 barg", each="5000 kg/h", area="800 mm2"):
    """The sheet with a row a valve: A at MAWP, B set higher, as an additional valve may be."""
    first = SHEET.replace("load: 10000 kg/h", f"load: {each}").replace("1600 mm2", area)
    rows = []
    for number, (letter, pset) in enumerate((("A", "16 barg"), ("B", second)), start=2):
        words = first.replace("PSV-105A/B", f"PSV-105{letter}").replace(
            "\nset pressure: 16 barg", f"\nset pressure: {pset}")  # fmt: skip
        (row,) = datasheet.read_words(words).rows
        row.number = number
        rows.append(row)
    return rows


def held(rows, note=STAGGERED):
    both = ROW | {"installed": "2 x 3L4", "set pressure [barg]": ""}
    cases = summary.saved_cases([both])
    return hold(of_valve("PSV-105", parse_note(note), rows, cases))


def test_a_note_of_two_sets_says_the_same_as_a_row_for_each_valve():
    # by hand: 2 x 5000 kg/h and 2 x 800 mm2 are the summary's 10 000 and 1600; 2 L are 3681 mm2
    one = held(two_rows())
    assert not one.differing
    assert entry(one, "set pressure").verdict == "agrees"
    assert entry(one, "set pressure").said["datasheet (row 2)"] == "16 barg (A), 16.8 barg (B)"
    assert any("that of one valve or of all is not said" in words for words in one.problems)


def test_the_load_of_all_may_stand_in_each_row():
    assert not held(two_rows(each="10000 kg/h", area="1600 mm2")).differing


@pytest.mark.parametrize(
    "given, name",
    [({"second": "16 barg"}, "set pressure"), ({"second": "17 barg"}, "set pressure"),
     ({"each": "7000 kg/h"}, "load"), ({"area": "700 mm2"}, "required area")],
)  # fmt: skip
def test_rows_for_each_valve_that_say_another_thing_differ(given, name):
    assert name in {e.name for e in held(two_rows(**given)).differing}


def test_a_note_of_one_set_differs_from_staggered_rows():
    note = STAGGERED.replace("16 / 16.8", "16")
    assert "set pressure" in {e.name for e in held(two_rows(), note).differing}


def test_a_long_reason_is_not_cut_on_the_page():
    one = found(note=NOTE.replace("16 barg", "17 barg"))
    why = "; ".join(f"reason {n} " + "which is told at some length, word by word, " * 4 + f"end{n}"
                    for n in range(14))  # fmt: skip
    entries = tuple(replace(e, why=why) if e.name == "set pressure" else e for e in one.entries)
    report = papers_report([replace(one, entries=entries)], "2026-03-31")
    pages = pypdf.PdfReader(io.BytesIO(report.pdf())).pages
    for text in (report.html(), " ".join(page.extract_text() for page in pages)):
        assert all(f"end{n}" in text for n in range(14))
