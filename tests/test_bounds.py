"""Limits of the reader at the limit and one beyond, hostile files, and a run over folders.

The limits are ours; the rows and columns of a spreadsheet are those of ISO/IEC 29500 programs in
use: 1 048 576 and 16 384.
"""

import io
import os
import sys
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from relieflib import datasheet
from relieflib.__main__ import main
from relieflib.datasheet import files, reading, side_by_side
from relieflib.datasheet.reasons import NOT_SEARCHED
from relieflib.errors import InputError

HEAD = "tag,set pressure [barg],phase,load [kg/h]"
GOOD = f"{HEAD}\nA,10,gas,100\n"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="as POSIX has it")


def said(reading):
    return "\n".join(reading.said())


def csv_of(rows):
    return HEAD + "\n" + "".join(f"PSV-{i},10,gas,100\n" for i in range(rows))


@pytest.mark.parametrize("more", [0, 1])
def test_most_rows(monkeypatch, more):
    monkeypatch.setattr(files, "MOST_ROWS", 51)  # fifty valves and their headings
    text = csv_of(50 + more)
    if more:
        with pytest.raises(InputError, match="more than 51 rows: split it"):
            datasheet.read_data(text, "a.csv")
    else:
        assert len(datasheet.read_data(text, "a.csv").rows) == 50


@pytest.mark.parametrize("more", [0, 1])
def test_biggest_file(monkeypatch, tmp_path, more):
    path = tmp_path / "a.csv"
    path.write_text(GOOD)
    monkeypatch.setattr(files, "BIGGEST", len(GOOD) - more)
    if more:
        with pytest.raises(InputError, match="a.csv: is larger than"):
            datasheet.read(path)
    else:
        assert datasheet.read(path).rows


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("more", [0, 1])
def test_most_columns(more, kind):
    wide = files.MOST_COLUMNS + more
    heads = [*HEAD.split(","), *[f"note {i}" for i in range(wide - 4)]]
    cells = ["A", "10", "gas", "100", *["x"] * (wide - 4)]
    if kind == "csv":
        data = ",".join(heads) + "\n" + ",".join(cells)
    else:
        book = openpyxl.Workbook()
        book.active.append(heads)
        book.active.append(cells)
        data = saved(book)
    read = datasheet.read_data(data, f"a.{kind}")
    assert read.rows[0].get("load") is not None
    assert ("more than 300 columns: those beyond are not read" in said(read)) is bool(more)
    assert bool(read.losses) is bool(more)


def saved(book):
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize("more", [0, 1])
def test_most_lines_set_apart_by_spaces(monkeypatch, more):
    monkeypatch.setattr(files, "MOST_SPACED", 20)
    rows = "".join(f"PSV-{i}    10     gas     100\n" for i in range(19 + more))
    text = "tag      set pressure [barg]     phase    load [kg/h]\n" + rows
    if more:
        with pytest.raises(InputError, match="up to 20 lines"):
            datasheet.read_data(text, "a.txt")
    else:
        assert len(datasheet.read_data(text, "a.txt").rows) == 19


@pytest.mark.parametrize("more", [0, 1])
def test_most_problems_are_counted_beyond_what_is_kept(monkeypatch, more):
    monkeypatch.setattr(reading, "MOST_PROBLEMS", 10)
    text = HEAD + "\n" + "A,x,gas,100\n" * (10 + more)
    read = datasheet.read_data(text, "a.csv")
    assert read.losses == 10 + more and len(read.problems) == 10
    assert ("and 1 more of the kind" in said(read)) is bool(more)


def workbook(merged="", rows=b""):
    """A small workbook with a merged range, or rows, put into the XML of its sheet."""
    book = openpyxl.Workbook()
    for line in GOOD.splitlines():
        book.active.append([float(c) if c.isdigit() else c for c in line.split(",")])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(saved(book))) as old, zipfile.ZipFile(out, "w", 8) as new:
        for name in old.namelist():
            data = old.read(name)
            if name.endswith("sheet1.xml"):
                tail = f'<mergeCells count="1"><mergeCell ref="{merged}"/></mergeCells>'
                tail = b"</sheetData>" + (tail.encode() if merged else b"")
                data = data.replace(b"</sheetData>", rows + tail)
            new.writestr(name, data)
        new.writestr("xl/sharedStrings.xml", "<sst/>")  # the table of texts that most others write
    return out.getvalue()


@pytest.mark.parametrize("merged", ["A1:XFD1048576", "A3:F1048576", "A2:A1048576", "B1:XFD1"])
def test_a_merged_range_costs_nothing_by_its_size(merged):
    data, start = workbook(merged), time.process_time()
    assert len(data) < 10_000
    try:
        datasheet.read_data(data, "bomb.xlsx")
    except InputError:
        pass
    assert time.process_time() - start < 10  # beyond 150 s before


@pytest.mark.parametrize("more", [0, 1])
def test_most_merged_ranges(monkeypatch, more):
    monkeypatch.setattr(files, "MOST_MERGED", 5)
    book = openpyxl.Workbook()
    for line in GOOD.splitlines():
        book.active.append(line.split(","))
    for i in range(5 + more):
        book.active.merge_cells(f"H{10 + i}:I{10 + i}")
    data = saved(book)
    if more:
        with pytest.raises(InputError, match="more than 5 merged ranges"):
            datasheet.read_data(data, "a.xlsx")
    else:
        assert datasheet.read_data(data, "a.xlsx").rows


def test_what_unpacks_too_big_is_refused(monkeypatch):
    with zipfile.ZipFile(io.BytesIO(workbook())) as archive:
        size = sum(part.file_size for part in archive.infolist())
        texts = archive.getinfo("xl/sharedStrings.xml").file_size
    monkeypatch.setattr(files, "MOST_UNPACKED", size)
    monkeypatch.setattr(files, "MOST_TEXTS", texts)
    assert datasheet.read_data(workbook(), "a.xlsx").rows
    monkeypatch.setattr(files, "MOST_TEXTS", texts - 1)
    with pytest.raises(InputError, match="too big to read: split it"):
        datasheet.read_data(workbook(), "a.xlsx")
    monkeypatch.setattr(files, "MOST_TEXTS", texts)
    monkeypatch.setattr(files, "MOST_UNPACKED", size - 1)
    with pytest.raises(InputError, match="too big to read: split it"):
        datasheet.read_data(workbook(), "a.xlsx")


def test_a_row_beyond_a_spreadsheet_is_refused_without_counting_there():
    row = b'<row r="999999999"><c r="A999999999" t="inlineStr"><is><t>x</t></is></c></row>'
    start = time.process_time()
    with pytest.raises(InputError, match="holds rows beyond 1048576"):
        datasheet.read_data(workbook(rows=row), "a.xlsx")
    assert time.process_time() - start < 60


def test_rows_after_thousands_of_empty_ones_are_read():
    book = openpyxl.Workbook()
    for number, line in ((1, HEAD), (2, "A,10,gas,100"), (3500, "B,12,gas,200")):
        for column, text in enumerate(line.split(","), start=1):
            book.active.cell(number, column, text)
    assert [r.tag for r in datasheet.read_data(saved(book), "a.xlsx").rows] == ["A", "B"]


@POSIX
def test_memory_does_not_grow_with_the_list(tmp_path):
    """Reading 25 000 rows takes less than 12 MB more than reading 5000: 26 kB a row before."""
    import resource

    used = []
    for rows in (5000, 25_000):
        path = tmp_path / f"{rows}.csv"
        path.write_text(csv_of(rows))
        read = datasheet.read_slowly(path)
        assert sum(1 for _ in read.rows) == rows == len(read.rows)
        used.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
    unit = 1024 if sys.platform == "linux" else 1024**2  # kB there, bytes elsewhere
    assert (used[1] - used[0]) / unit < 12


# ------------------------------------------------------------------- a run over folders
def test_files_of_every_kind_and_depth_are_read_or_said(tmp_path, capsys):
    (tmp_path / "B.CSV").write_text(GOOD)
    (tmp_path / "notes.txt").write_text(GOOD)
    (tmp_path / "old.xls").write_bytes(b"\xd0\xcf\x11\xe0" + b"\0" * 600)
    (tmp_path / "letter.docx").write_bytes(b"PK")
    (tmp_path / "unit 2").mkdir()
    (tmp_path / "unit 2" / "C.csv").write_text(GOOD)
    assert main(["check", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    for name in ("B.CSV", "notes.txt", "unit 2" + os.sep + "C.csv"):
        assert f"{name}: rows 1" in out
    assert "old.xls: is an old spreadsheet" in err and "left out: letter.docx" in err


def test_a_folder_of_folders_without_lists_is_no_silent_0(tmp_path, capsys):
    (tmp_path / "inner").mkdir()
    assert main(["check", str(tmp_path)]) == 2
    assert "holds no CSV or XLSX" in capsys.readouterr().err


@POSIX
def test_a_pipe_in_a_folder_is_said_and_not_waited_for(tmp_path, capsys):
    os.mkfifo(tmp_path / "a.csv")
    (tmp_path / "b.csv").write_text(GOOD)
    assert main(["check", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert "a.csv: can't be opened: it is a pipe or a device" in err and "b.csv: rows 1" in out


@pytest.mark.parametrize("name", ["x" * 300, "x" * 296 + ".csv", "a\x1b]52;c;AAAA\x07.csv"])
def test_a_name_that_is_none_is_said(capsys, name):
    assert main(["check", name]) == 2
    out, err = capsys.readouterr()
    assert "can't be opened" in err and "\x1b" not in err + out and "Traceback" not in err


def test_an_unreadable_folder_is_said_and_the_others_are_checked(tmp_path, capsys, monkeypatch):
    (tmp_path / "closed").mkdir()
    (tmp_path / "a.csv").write_text(GOOD)
    scan = os.scandir

    def closed(path):
        if str(path).endswith("closed"):
            raise PermissionError(13, "Permission denied", str(path))
        return scan(path)

    monkeypatch.setattr(os, "scandir", closed)
    assert main(["check", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert "closed: this folder can't be read" in err and "a.csv: rows 1" in out


def test_a_crash_takes_neither_later_files_nor_the_report(tmp_path, capsys, monkeypatch):
    for name in ("a.csv", "b.csv", "c.csv"):
        (tmp_path / name).write_text(GOOD.replace("A,", f"{name[0]},"))
    check = side_by_side.check_row

    def faulty(row, **given):
        if row.tag == "b":
            raise KeyError("a fault")
        return check(row, **given)

    monkeypatch.setattr(side_by_side, "check_row", faulty)
    out = tmp_path / "page.html"
    assert main(["check", str(tmp_path), "--report", str(out)]) == 3
    printed, err = capsys.readouterr()
    assert "b.csv, row 2: was not checked, by a fault of this program (KeyError)" in printed
    assert "c.csv: rows 1" in printed and out.exists() and "Traceback" not in err


@pytest.mark.parametrize(
    ("text", "code"),
    [(GOOD, 0), (GOOD.replace("100", "x"), 3), ("", 2),
     (f"{HEAD},mawp [barg]\nA,12,gas,100,10\n", 1)],
)  # fmt: skip
def test_exit_1_means_that_something_differs_and_nothing_else(tmp_path, text, code):
    path = tmp_path / "a.csv"
    path.write_text(text)
    assert main(["check", str(path)]) == code


# ------------------------------------------------------------------- two revisions of a list
def test_what_changed_between_two_revisions_is_said(tmp_path, capsys):
    old, new, page = tmp_path / "a.csv", tmp_path / "b.csv", tmp_path / "page.html"
    old.write_text(f"{HEAD},mawp [barg]\nA,10,gas,100,10\nB,10,gas,100,10\nC,10,gas,100,10\n")
    # the same load in another writing, a set pressure above MAWP, one valve gone, one new
    new.write_text(f"{HEAD},mawp [barg]\nA,10.0,gas,100.0,10\nB,12,gas,100,10\nD,10,gas,100,10\n")
    arguments = ["--against", str(old), "--report", str(page), "--number", "PR-7", "--revision",
                 "B", "--checked-by", "N. Other", "--checked-on", "2026-03-31"]  # fmt: skip
    assert main(["check", str(new), *arguments]) == 1
    out = capsys.readouterr().out.partition("changed since")[2]
    assert "B, set pressure: 10 barg -> 12 barg" in out
    assert "B, check: set pressure against mawp: agrees -> differs" in out
    assert "D, valve: not there -> new in this list" in out
    assert "C, valve: in the earlier list -> gone" in out and "A," not in out
    text = page.read_text("utf-8")
    for words in ("PR-7", "N. Other", "2026-03-31", "What changed since", "12 barg"):
        assert words in text
    assert main(["check", str(old), "--against", str(old)]) == 0
    assert "changed since a.csv: nothing" in capsys.readouterr().out


FIVE = Path(__file__).parents[1] / "data" / "datasheets" / "five-slips-example.csv"


def checked(lines, processes):
    """(tag, checks) of each row, and what was said, by so many processes."""
    rows = reading.read_data(lines, "list")
    found = [(row.tag, checks) for row, checks in reading.check_rows(rows, processes=processes)]
    return found, said(rows)


@pytest.mark.parametrize("killed", [False, True])
def test_several_processes_find_what_one_finds(monkeypatch, killed):
    monkeypatch.setattr(side_by_side, "BLOCK", 4)
    monkeypatch.setattr(reading, "MOST_SEARCHED", 7)  # slips are named in the same rows
    head, *rows = (x for x in FIVE.read_text("utf-8").splitlines() if not x.startswith("#"))
    lines = "\n".join([head, *(f"{n}-{row}" for n in range(5) for row in rows)])
    alone, here, check = checked(lines, 1), os.getpid(), side_by_side.check_row

    def ended(row, **given):
        if os.getpid() != here:
            os._exit(1)  # as by a system that is short of memory
        return check(row, **given)

    if killed:
        monkeypatch.setattr(side_by_side, "check_row", ended)
    assert checked(lines, 2) == alone and len(alone[0]) == 30
    texts = [
        datasheet.told(row, checks)
        for row, checks in reading.check_rows(reading.read_data(lines, "l"))
    ]
    rows = reading.read_data(lines, "l")
    shared = [words for _, words in reading.check_rows(rows, processes=2, then=datasheet.told)]
    assert shared == texts and sum(differing for _, differing in texts) > 30
    reasons = [c.reason for _, cs in alone[0] for c in cs if c.name == "required area"]
    assert 0 < sum(NOT_SEARCHED in words for words in reasons) < len(reasons) - 5
