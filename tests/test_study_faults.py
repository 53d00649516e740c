"""Bad studies on the shell and in the form of 50: words with file, line and key, the rest goes on.

What a fault must say (file, line, key) and what must go on is the issue of a reader, not a source.
"""

from pathlib import Path

import pytest

from relieflib import files, safeguard
from relieflib.__main__ import main
from relieflib.errors import InputError
from relieflib.notebook.study_form import StudyForm
from relieflib.plant import demo_plant_path
from relieflib.study import Case, open_study, sheet
from relieflib.study.store import add_case

TEXT = Path(__file__).with_name("small_study.toml").read_text(encoding="utf-8")
SECOND = demo_plant_path().with_name("second_study.toml")
LIQUID = {"is": "liquid", "pressure": "5 bara", "density": "900 kg/m3"}
CASE = Case("V-1", "x", "overfilling", {"inflow": "1 kg/h", "stream": LIQUID})
HEAD = '[cases.V-1."closed outlet"]\n'
WHOLE = TEXT.split(HEAD)[0]
INPUTS = TEXT.split(HEAD)[1].split("[cases.V-2")[0].partition("[")
# what is wrong -> (text, words that are said, text of the line that is named, cases still computed)
BAD = {
    "unknown cause": (TEXT.replace('"closed_outlet"', '"shut"', 1),
                      "V-1, closed outlet: cause = 'shut': use one of", 'cause = "shut"', {"V-2"}),
    "unknown unit": (TEXT.replace("3600 kg/h", "3600 kg/hour"),
                     "inflow = '3600 kg/hour': unit 'kg/hour' is not known", "kg/hour", {"V-2"}),
    "tag used twice, one section": (TEXT.replace("[equipment.V-2]", "[equipment.V-1]"),
                                    "stands twice", "[equipment.V-1]", {"V-1", "V-2"}),
    "tag used twice, two sections": (TEXT + '[equipment.PSV-1]\nmawp_gauge = "9 barg"\n',
                                     "tag 'PSV-1' is used twice", "[relief_valves.PSV-1]",
                                     {"V-1", "V-2"}),
    "case twice": (TEXT + '[cases.V-2."closed outlet"]\ncause = "x"\n', "stands twice",
                   '[cases.V-2."closed outlet"]', {"V-1", "V-2"}),
    "valve that protects nothing": (TEXT.replace('protects = "V-1"', 'protects = "V-7"'),
                                    "PSV-1: protects = 'V-7' is not in the file", "protects",
                                    {"V-1", "V-2"}),
    "valve without what it protects": (TEXT.replace('protects = "V-1"\n', ""),
                                       "PSV-1: protects is missing", "[relief_valves.PSV-1]",
                                       {"V-1", "V-2"}),
    "case without inputs": (TEXT.replace(INPUTS[1] + INPUTS[2], ""), "inputs: the case has none",
                            HEAD.strip(), {"V-2"}),
    "comma in a text": (TEXT.replace("3600 kg/h", "3,6 t/h"), "a decimal point and no comma",
                        "3,6 t/h", {"V-2"}),
    "comma in a number": (TEXT + "[fluids.other]\nk = 1,3\n",
                          "fluids.other: 'k = 1,3': write a decimal point, no comma", "k = 1,3",
                          {"V-1", "V-2"}),
    "half-written": (TEXT[: TEXT.index("7200 kg/h") + 2],
                     'cases.V-2.closed outlet: the file ends in the middle of \'inflow = "72\'',
                     'inflow = "72', {"V-1"}),
    "half-written table": (TEXT + '[placements.PSV-1]\ninlet = [{ kind = "nozzle" },\n',
                           "placements.PSV-1: the file ends in the middle", "inlet = [",
                           {"V-1", "V-2"}),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_study_is_said_with_file_line_and_key(name, tmp_path, capsys):
    text, words, named, good = BAD[name]
    assert text != TEXT
    path = tmp_path / "s.toml"
    path.write_text(text, encoding="utf-8")
    found = open_study(path).recompute()
    about = [fault for fault in found.faults if words in fault]
    assert len(about) == 1 and about[0].startswith("s.toml"), found.faults
    line = int(about[0].rpartition("(line ")[2].rstrip(")"))
    if name != "case twice":  # which of two alike is named is all the same
        assert named in text.splitlines()[line - 1], about[0]
    assert {d.case.item for d in found.done if d.good} == good
    assert not found.covered
    assert main(["study", str(path)]) == 1
    out = capsys.readouterr().out
    assert words in out and all(f"{tag}: " in out for tag in good)
    form = StudyForm(path)
    assert form.found.faults == found.faults
    plain = words.replace("'", "&#x27;").replace('"', "&quot;")
    assert plain in form.shown.value
    assert path.read_text(encoding="utf-8") == text  # nothing is mended behind anybody's back


def test_an_item_without_causes_and_an_empty_study_are_asked_about(tmp_path, capsys):
    path = tmp_path / "s.toml"
    path.write_text(WHOLE, encoding="utf-8")
    found = open_study(path).recompute()
    assert found.items["V-1"].verdict == safeguard.UNKNOWN
    assert "What can overpressure V-1? No cause is considered and no case given" in found.missing
    assert main(["study", str(path)]) == 1
    assert "What can overpressure V-1" in capsys.readouterr().out
    path.write_text("", encoding="utf-8")
    assert not open_study(path).recompute().covered and main(["study", str(path)]) == 1


def test_a_cover_never_rests_on_a_case_that_can_not_be_read(tmp_path):
    # of a study that is covered, one more case of V-201 that nobody can read, in three ways
    whole = SECOND.read_text(encoding="utf-8")
    assert open_study(SECOND).recompute().items["V-201"].verdict == safeguard.COVERS
    for more in ('[cases.V-201."closed outlet, two"]\ncause = "shut"\n',
                 '[cases.V-201."closed outlet, two"]\ncause = "closed_out',
                 '[placements.PSV-201]\ninlet = 3\n'):  # fmt: skip
        path = tmp_path / "s.toml"
        path.write_text(whole + more, encoding="utf-8")
        found = open_study(path).recompute()
        one = found.items["V-201"]
        assert one.unread and one.verdict == safeguard.UNKNOWN, more
        # what lifts may then be more than the file says
        assert found.missing[0].startswith("What lifts together?")


def test_a_table_that_holds_the_air_of_the_site_is_never_left_out(tmp_path):
    path = tmp_path / "s.toml"
    text = TEXT.replace('atmosphere = "101.325 kPaa"', "atmosphere = 101,325")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="not a TOML file.*line 6"):
        open_study(path)


def test_a_folder_that_can_not_be_written_to_keeps_what_is_there(tmp_path, monkeypatch, capsys):
    path = tmp_path / "s.toml"
    path.write_text(TEXT, encoding="utf-8")

    def denied(*args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(files, "open", denied, raising=False)
    monkeypatch.setattr(files.os, "open", denied)
    monkeypatch.setattr(files.os, "access", lambda *_: False)
    with pytest.raises(InputError, match="this folder can't be written to"):
        add_case(path, CASE)
    for more in (["--filed-by", "A", "--date", "2026-01-31"],
                 ["--export", str(tmp_path / "s.xlsx")],
                 ["--report", str(tmp_path / "s.html")]):  # fmt: skip
        assert main(["study", str(path), *more]) == 2
        said = capsys.readouterr()
        assert "can't be written: permission denied" in said.err and "V-2: " in said.out
    with pytest.raises(InputError, match="permission denied"):
        sheet.export_xlsx(open_study(path), tmp_path / "s.xlsx")
    form = StudyForm(path)
    form.by.value = "A"
    form.file.click()
    assert "Not filed" in form.said.value and "permission denied" in form.said.value
    assert [p.name for p in tmp_path.iterdir()] == ["s.toml"]
    assert path.read_text(encoding="utf-8") == TEXT
