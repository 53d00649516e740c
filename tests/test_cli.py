"""`python -m relieflib check`: exit codes, folders, export."""

import shutil
import subprocess
import sys
from pathlib import Path

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


def test_only_unreadable_cells_exit_1(tmp_path, capsys):
    path = tmp_path / "a.csv"
    path.write_text("tag,set pressure [barg],phase,load [kg/h]\nA,10,gas,x\n", "utf-8")
    assert main(["check", str(path)]) == 1
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
