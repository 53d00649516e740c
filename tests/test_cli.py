"""`python -m relieflib check`: exit codes, folders, export, report."""

import io
import re
import shutil
import subprocess
import sys
from pathlib import Path

import openpyxl
import pypdf
import pytest

from relieflib.__main__ import main

DATA = Path(__file__).parents[1] / "data" / "datasheets"


def test_printed_examples_exit_0(capsys):
    assert main(["check", str(DATA / "published-examples.csv")]) == 0
    out, err = capsys.readouterr()
    assert "checks that differ 0" in out and "5.73" in out and not err


def test_differences_and_bad_rows_exit_1(capsys):
    assert main(["check", str(DATA / "messy-example.csv")]) == 1
    out, _ = capsys.readouterr()
    # said in words: k of one or less, set above MAWP, negative load, decimal or thousands comma,
    # unknown letter, back pressure above relieving pressure, shifted row, unknown unit
    for words in (
        "row 5, column 'k': '0.9' must be above 1",
        "set pressure against mawp",
        "'-20000' must be at least 0 lb/h",
        "'20,000' has a comma",
        "'S' must be one of D",
        "no flow against it",
        "26 cells under 25 headings",
        "unit 'furlongs' is not known",
    ):
        assert words in out, words


def test_only_unreadable_cells_exit_3(tmp_path, capsys):
    path = tmp_path / "a.csv"
    path.write_text("tag,set pressure [barg],phase,load [kg/h]\nA,10,gas,x\n", "utf-8")
    assert main(["check", str(path)]) == 3  # 1 says that something differs, and nothing else
    assert "column 'load'" in capsys.readouterr().out


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02\x03" * 99, b"PK\x03\x04", None])
def test_unreadable_file_exits_2(tmp_path, capsys, content):
    path = tmp_path / "bad.xlsx"
    if content is not None:
        path.write_bytes(content)
    assert main(["check", str(path)]) == 2
    out, err = capsys.readouterr()
    assert "Traceback" not in err and err.count("\n") == 1 and err.startswith("bad.xlsx: ")


def test_folder_is_checked_file_by_file_with_progress(tmp_path, capsys):
    for name in ("b.csv", "a.csv"):
        shutil.copy(DATA / "published-examples.csv", tmp_path / name)
    assert main(["check", str(tmp_path)]) == 0
    out, err = capsys.readouterr()
    assert err == "1 of 2: a.csv\n2 of 2: b.csv\n"
    (tmp_path / "c.csv").write_bytes(b"")
    assert main(["check", str(tmp_path)]) == 2  # the good ones are still checked
    assert capsys.readouterr().out.count("checks that differ 0") == 2


def test_empty_folder_exits_2(tmp_path, capsys):
    assert main(["check", str(tmp_path)]) == 2
    assert "no CSV or XLSX" in capsys.readouterr().err


def test_export_makes_a_new_file_and_never_replaces_one(tmp_path, capsys):
    out = tmp_path / "table.csv"
    arguments = ["check", str(DATA / "published-examples.csv"), "--export", str(out)]
    assert main(arguments) == 0 and out.read_text("utf-8-sig").count("required area") == 4
    before = out.read_bytes()
    assert main(arguments) == 2 and out.read_bytes() == before
    assert "exists already" in capsys.readouterr().err
    assert main([*arguments[:-1], str(tmp_path / "table.docx")]) == 2


def test_atmosphere_needs_a_unit_and_sense(capsys):
    path = str(DATA / "published-examples.csv")
    assert main(["check", path, "--atmosphere", "84 kPaa"]) == 1  # printed psia are sea level's
    assert main(["check", path, "--atmosphere", "84"]) == 2
    assert main(["check", path, "--atmosphere", "5 bara"]) == 2
    assert main(["check", path, "--atmosphere", "nan bara"]) == 2


def test_as_a_shell_runs_it():
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "relieflib",
            "check",
            str(DATA / "published-examples.csv"),
            "--show",
            "differs",
        ],
        capture_output=True,
        text=True,
        cwd=DATA.parents[1],
        check=False,
    )
    assert done.returncode == 0 and "Traceback" not in done.stderr
    assert "19 agrees, 0 differs" in done.stdout


def test_export_opens_as_a_spreadsheet(tmp_path):
    out = tmp_path / "table.xlsx"
    assert main(["check", str(DATA / "messy-example.csv"), "--export", str(out)]) == 1
    sheet = openpyxl.load_workbook(out).active
    heads, *rows = [[c.value for c in row] for row in sheet.iter_rows()]
    table = [dict(zip(heads, row, strict=True)) for row in rows if row[1]]
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == f"A1:L{len(table) + 1}"  # the caution stands below it
    area = next(r for r in table if r["row"] == 4 and r["check"] == "required area")
    assert isinstance(area["stated"], (int, float)) and area["stated"] == 2.0
    assert isinstance(area["recomputed"], float) and isinstance(area["tolerance"], float)
    tag = next(r["tag"] for r in table if r["row"] == 11)
    assert tag.startswith("'=HYPERLINK")
    assert not any(c.data_type == "f" for row in sheet.iter_rows() for c in row)
    assert "licensed" in rows[-1][0]


@pytest.mark.parametrize("suffix", [".html", ".pdf"])
def test_report_of_a_folder_is_one_file(tmp_path, capsys, suffix):
    for name in ("messy-example.csv", "published-examples.csv"):
        shutil.copy(DATA / name, tmp_path / name)
    (tmp_path / "z.csv").write_bytes(b"")
    out = tmp_path / f"r{suffix}"
    arguments = ["check", str(tmp_path), "--show", "differs", "--report", str(out)]
    arguments += ["--pages", "none", "--date", "2026-03-31", "--prepared-by", "A. Nother"]
    assert main(arguments) == 2  # z.csv can't be read; the report says so
    printed, err = capsys.readouterr()
    assert f"report: r{suffix}" in printed and err.count("\n") == 4
    if suffix == ".pdf":
        pages = pypdf.PdfReader(out).pages
        text = "".join(page.extract_text() for page in pages)
        assert f"of {len(pages)}" in text
    else:
        text = out.read_text("utf-8")
    for words in ("messy-example.csv", "published-examples.csv", "Contents", "z.csv: is empty",
                  "2026-03-31", "A. Nother", "PSV-210"):  # fmt: skip
        assert words in text
    before = out.read_bytes()
    assert main(arguments) == 2 and out.read_bytes() == before
    printed, err = capsys.readouterr()
    assert "exists already" in err and not printed  # said before the checking, not after it


@pytest.mark.parametrize(
    ("more", "words"),
    [(["--report", "a.docx"], "must end in .html or .pdf"),
     (["--report", "no/such/folder/a.pdf"], "no such folder"),
     (["--pages", "all"], "--pages: goes with --report"),
     (["--prepared-by", "x"], "--prepared-by: goes with --report"),
     (["--report", "a.pdf", "--date", "31.3.2026"], "year-month-day")],
)  # fmt: skip
def test_report_options_that_make_no_sense(tmp_path, monkeypatch, capsys, more, words):
    monkeypatch.chdir(tmp_path)
    assert main(["check", str(DATA / "published-examples.csv"), *more]) == 2
    printed, err = capsys.readouterr()
    assert words in err and not printed and not list(tmp_path.iterdir())


def test_report_of_what_agrees_exits_0(tmp_path):
    out = tmp_path / "a.html"
    assert main(["check", str(DATA / "published-examples.csv"), "--report", str(out)]) == 0
    assert "0 checks differ" in out.read_text("utf-8")


@pytest.mark.parametrize("place", ["relieflib.datasheet.read_slowly", "report"])
def test_stopped_by_hand(tmp_path, monkeypatch, capsys, place):
    def stop(*_, **__):
        raise KeyboardInterrupt

    if place == "report":
        place = "relieflib.report.document.write_whole"
    monkeypatch.setattr(place, stop)
    out = tmp_path / "a.html"
    path = str(DATA / "published-examples.csv")
    assert main(["check", path, "--report", str(out)]) == 130
    assert "stopped" in capsys.readouterr().err and not list(tmp_path.iterdir())


def test_progress_bar_on_a_terminal(tmp_path, monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    for name in ("a.csv", "b.csv"):
        shutil.copy(DATA / "published-examples.csv", tmp_path / name)
    err = Terminal()
    monkeypatch.setattr(sys, "stderr", err)
    assert main(["check", str(tmp_path), "--report", str(tmp_path / "r.html")]) == 0
    shown = err.getvalue()
    assert f"[{'#' * 15}{'.' * 15}] 1 of 2 checked" in shown
    assert f"[{'#' * 30}] 2 of 2 checked\n" in shown
    assert shown.endswith("parts of the report written\n")
    err.truncate(0)
    assert main(["check", str(tmp_path / "a.csv")]) == 0 and not err.getvalue().strip("\0")
    monkeypatch.setattr("relieflib.__main__.LONG", 3)  # of four rows: a bar over the rows
    assert main(["check", str(tmp_path / "a.csv")]) == 0
    assert f"[{'#' * 30}] 4 of 4 rows checked\n" in err.getvalue()


def test_check_without_report_loads_nothing_heavy():
    code = (
        "import sys; from relieflib.__main__ import main; "
        f"main(['check', {str(DATA / 'published-examples.csv')!r}]); "
        "print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        cwd=DATA.parents[1],
        check=True,
    )
    heavy = {"matplotlib", "fpdf", "ipywidgets", "IPython", "pandas", "CoolProp", "PIL"}
    assert not heavy & set(done.stderr.split())


def test_report_of_a_file_without_rows(tmp_path, capsys):
    path, out = tmp_path / "a.csv", tmp_path / "a.html"
    path.write_text("tag,set pressure [barg]\n")
    assert main(["check", str(path), "--report", str(out)]) == 2 and not out.exists()
    assert "no row was read" in capsys.readouterr().err


def test_template_from_a_shell(tmp_path, capsys):
    out = tmp_path / "list.xlsx"
    assert (
        main(["template", str(out), "--units", "US"]) == 0
        and "list.xlsx" in capsys.readouterr().out
    )
    heads = [cell.value for cell in openpyxl.load_workbook(out)["valves"][1]]
    assert "set pressure [psig]" in heads
    assert main(["template", str(out)]) == 2 and "exists already" in capsys.readouterr().err


def test_headings_asked_answered_and_used(tmp_path, capsys):
    path, answers = tmp_path / "vendor.csv", tmp_path / "map.csv"
    path.write_text(
        "Tag No.;Design pressure [barg];Set press. (bar);State;Flow rate [kg/h]\nA;16;16;gas;100\n",
        "utf-8",
    )
    assert main(["headings", str(path), "--out", str(answers)]) == 1
    assert "may mean 'mawp' or 'set pressure'" in capsys.readouterr().out
    text = answers.read_text("utf-8").replace("mawp|set pressure", "mawp")
    answers.write_text(text.replace("set pressure,,", "set pressure,barg,"), "utf-8")
    assert main(["headings", str(path), "--map", str(answers)]) == 0
    capsys.readouterr()
    assert main(["check", str(path), "--map", str(answers)]) == 0
    out, err = capsys.readouterr()
    assert "set pressure against mawp: stated 16, recomputed 16 barg" in out and not err
    assert main(["check", str(path), "--map", str(tmp_path / "none.csv")]) == 2
    assert "none.csv: can't be read" in capsys.readouterr().err


def test_version(capsys):
    import relieflib

    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"relieflib {relieflib.__version__}\n"


def test_back_pressures_are_held_against_a_plant_s_header(tmp_path, capsys):
    # 0.6 bar behind PSV-105 is less than any large release leaves there; the figures themselves
    # are held in test_plant_header.py
    sheet = tmp_path / "list.csv"
    sheet.write_text(
        "tag,mawp [barg],set pressure [barg],phase,load [kg/h],molar mass,k,Z,"
        "relieving temperature [C],letter,superimposed back pressure [barg],"
        "built-up back pressure [bar]\n"
        "PSV-105,16,16,gas,10518,5.86,1.338,1,40,L,0.05,0.5\n", "utf-8",
    )  # fmt: skip
    plant = Path(__file__).parents[1] / "data" / "demo_plant.toml"
    main(["check", str(sheet), "--show", "all"])
    assert "against the header" not in capsys.readouterr().out
    assert main(["check", str(sheet), "--show", "all", "--plant", str(plant)]) == 1
    out = capsys.readouterr().out
    assert "differs    back pressure against the header" in out
    assert "lower than the header gives" in out


VESSEL = """
[vessels.{tag}]
service = "invented"
fluid = "gas"
orientation = "vertical"
head_type = "2:1 ellipsoidal"
diameter = "2 m"
length = "4 m"
elevation = "3 m"
normal_level = "0.1 m"
high_level = "0.2 m"
mawp_gauge = "10 barg"
operating_pressure_gauge = "8 barg"
operating_temperature = "40 °C"
[relief_valves.{valve}]
protects = "{tag}"
kind = "balanced"
designation = "4P6"
set_pressure_gauge = "10 barg"
sized_for = "closed outlet"
destination = "H"
joins = "S"
elevation = "8 m"
inlet_diameter = "102.26 mm"
inlet_length = "1 m"
inlet_elbows = 0
outlet_diameter = "154.05 mm"
outlet_length = "10 m"
outlet_elbows = 1
"""
OWN_PLANT = (
    """
[site]
name = "another plant (fictional)"
atmosphere = "101.325 kPaa"
ambient_temperature = "25 °C"
highest_ambient_temperature = "40 °C"
solar_flux = "1 kW/m2"
latitude = 45
[fluids.gas]
[headers.H]
service = "flare header"
takes = ["gas"]
lowest_pressure_gauge = "0 barg"
highest_pressure_gauge = "2 barg"
[disposal.pipes.S]
to = "F"
inside_diameter = "202.7 mm"
length = "60 m"
[disposal.stacks.F]
header = "H"
inside_diameter = "202.7 mm"
height = "30 m"
tip_diameter = "202.7 mm"
tip_length = "1 m"
"""
    + VESSEL.format(tag="V-1", valve="PSV-1")
    + VESSEL.format(tag="V-2", valve="PSV-2")
)
TWO = (
    "tag,cause,mawp [barg],set pressure [barg],phase,load [kg/h],molar mass,k,Z,"
    "relieving temperature [C],letter,device type,total back pressure [barg]\n"
    "PSV-1,closed outlet,10,10,gas,20000,29,1.4,1,40,P,balanced,{one}\n"
    "PSV-2,exterior fire,10,10,gas,20000,29,1.4,1,40,P,balanced,{two}\n"
)


@pytest.mark.parametrize("events, back, verdict, words", [
    # 20 t/h of air through 202.7 mm at 1 bara moves with 155 m/s, half the speed of sound: 60 m
    # of pipe with f 0.016 cost some 0.5 bar alone (0.016 x 60/0.2027 x 1.1 x 155^2/2 = 0.6 bar),
    # several times that where both lift; rated flows are larger still
    ('[events.power]\nlift = ["PSV-1", "PSV-2"]\n', "0.1", "differs", "lower than the header"),
    ('[events.power]\nlift = ["PSV-1"]\n', "5", "agrees", "builds up"),
    ("", "5", "not given", "names no events"),
    ('[events.power]\nlift = ["PSV-1", "PSV-2"]\n', "5", "not given", "could be read of PSV-2"),
])  # fmt: skip
def test_any_plant_with_a_tree_judges_back_pressures(tmp_path, capsys, events, back, verdict,
                                                     words):  # fmt: skip
    sheet, own = tmp_path / "list.csv", tmp_path / "own.toml"
    sheet.write_text(TWO.format(one=back, two="5"), "utf-8")
    own.write_text(OWN_PLANT + events, "utf-8")
    main(["check", str(sheet), "--show", "all", "--plant", str(own)])
    out, err = capsys.readouterr()
    of_one = out[out.index("PSV-1 (row") : out.index("PSV-2 (row")]
    assert "Traceback" not in err
    found = re.search(r"(agrees|differs|not given) +back pressure against the header", of_one)
    assert found and found[1] == verdict
    assert words in " ".join(of_one.split()) + err


def test_an_event_of_what_is_no_device_is_refused(tmp_path, capsys):
    own = tmp_path / "own.toml"
    own.write_text(OWN_PLANT + '[events.x]\nlift = ["V-1"]\n', "utf-8")
    assert main(["check", str(DATA / "published-examples.csv"), "--plant", str(own)]) == 2
    assert "'V-1' is no relief device" in capsys.readouterr().err


def test_a_plant_of_which_nothing_is_known_is_refused(tmp_path, capsys):
    own = tmp_path / "own.toml"
    own.write_text('[site]\natmosphere = "1.01325 bara"\n', "utf-8")
    for name in (own, tmp_path / "none.toml"):
        assert main(["check", str(DATA / "published-examples.csv"), "--plant", str(name)]) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1 and name.name in err and "Traceback" not in err
