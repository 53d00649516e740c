"""The load summary never loses a row, whatever stands in the file."""

import codecs
import csv
import io
import os
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from relieflib import files, summary
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.sizing import ReliefLoad, size
from relieflib.study.case import Case


def case(cause="closed_outlet", flow=3.0):
    return size(
        ReliefLoad(cause, flow, Gas(12e5, 313.0, molar_mass=18.0, k=1.28)),
        Device("conventional", 10e5),
    )


def own_case(values):
    """The case of a form's panel: as `case`, its flow from the panel."""
    gas = {"is": "gas", "pressure": "12 bara", "temperature": "39.85 °C", "k": 1.28,
           "molar_mass": "18 kg/kmol"}  # fmt: skip
    inputs = {"inflow": f"{values['inflow'] * 3600} kg/h", "stream": gas}
    return Case("own", "closed outlet", "closed_outlet", inputs)


def test_governing_case_is_the_largest_area():
    # API 521 (2020), 4.1: the area decides, not the flow
    small_gas = ReliefLoad("fire", 3.5, Gas(12e5, 313.0, molar_mass=44.0, k=1.28))
    found = summary.compare([size(small_gas), case(flow=3.0)])
    assert found.governing.load.cause == "closed_outlet"
    assert list(found.areas) == ["closed outlet", "fire"]
    with pytest.raises(InputError, match="at least one"):
        summary.compare([])
    with pytest.raises(InputError, match="at least one"):
        summary.compare({})
    with pytest.raises(InputError, match="one number"):
        summary.compare([case(flow=np.array([1.0, 2.0]))])


def test_no_cause_is_lost_where_two_have_one_name():
    found = summary.compare([case(flow=1.0), case(flow=3.0), case(flow=2.0)])
    assert list(found.areas) == ["closed outlet (2)", "closed outlet (3)", "closed outlet"]
    own = summary.compare({"valve shut": case(flow=1.0), "valve and bypass": case(flow=3.0)})
    assert own.governing_cause == "valve and bypass" and own.areas["valve shut"] > 0
    assert own.areas["valve and bypass"] == own.governing.required_area


def test_rows_are_kept_and_read_back(tmp_path):
    path = tmp_path / "my" / "load-summary.csv"
    assert summary.append_row(path, summary.summary_row(case(), "V-101")) == 1
    assert summary.append_row(path, summary.summary_row(case("fire", 1.0), "V-102", "a; b")) == 2
    rows = summary.read_summary(path)
    assert [r["protected item"] for r in rows] == ["V-101", "V-102"]
    # 3 kg/s is 10 800 kg/h; relieving 12 bara, set 10 barg: by hand
    assert float(rows[0]["load [kg/h]"]) == pytest.approx(10_800)
    assert float(rows[0]["relieving pressure [bara]"]) == pytest.approx(12)
    assert float(rows[0]["set pressure [barg]"]) == pytest.approx(10)
    assert rows[1]["note"] == "a; b"


def test_a_formula_is_neutralised(tmp_path):
    path = tmp_path / "s.csv"
    summary.append_row(path, summary.summary_row(case(), "=HYPERLINK(1)", "+cmd"))
    row = summary.read_summary(path)[0]
    assert row["protected item"] == "'=HYPERLINK(1)" and row["note"] == "'+cmd"


@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe", b"a,b\n1,2\n", b"protected item\nV-1\n"])
def test_another_file_is_left_as_it_is(tmp_path, content):
    path = tmp_path / "s.csv"
    path.write_bytes(content)
    with pytest.raises(InputError):
        summary.append_row(path, summary.summary_row(case(), "V-1"))
    assert path.read_bytes() == content


def test_a_write_that_fails_half_way_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "s.csv"
    summary.append_row(path, summary.summary_row(case(), "V-1"))
    before = path.read_bytes()

    def full_disk(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(InputError, match="no space"):
        summary.append_row(path, summary.summary_row(case(), "V-2"))
    assert path.read_bytes() == before and list(tmp_path.iterdir()) == [path]


def test_two_writers_lose_nothing(tmp_path):
    path = tmp_path / "s.csv"
    names = [f"V-{i}" for i in range(12)]
    threads = [
        threading.Thread(target=summary.append_row, args=(path, summary.summary_row(case(), n)))
        for n in names
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(r["protected item"] for r in summary.read_summary(path)) == sorted(names)


def test_a_lock_left_behind_holds_nobody_up(tmp_path):
    lock = tmp_path / "s.csv.lock"
    lock.write_text("a machine, process 1")  # the process is gone, its lock went with it
    started = time.monotonic()
    assert summary.append_row(tmp_path / "s.csv", summary.summary_row(case(), "V-1")) == 1
    assert time.monotonic() - started < 2.0 and not lock.exists()


def test_who_holds_the_lock_is_named(tmp_path):
    path = tmp_path / "s.csv"
    with files.locked(path), pytest.raises(InputError, match=rf"locked .*process {os.getpid()}"):
        with files.locked(path, seconds=0.1):
            pass


def test_own_numbers_form(tmp_path, monkeypatch):
    from relieflib.notebook.own_numbers import OwnNumbers
    from relieflib.notebook.panel import Panel, quantity
    from relieflib.report import figures

    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path))

    def compute(inflow):
        s = case(flow=inflow)
        return {"sizing": s, "areas": {"x": s.required_area or None}}

    table = lambda r, u: [("letter", r["sizing"].letter)]  # noqa: E731
    pair = figures.build_area_ladder, figures.update_area_ladder
    panel = Panel([quantity("inflow", 3.0, 0.5, 9.0)], compute, *pair, table)
    panel.case_of = own_case
    form, rows = OwnNumbers(panel), tmp_path / "load-summary.csv"
    form.button.click()
    assert "Not saved" in form.said.value and not form.path.exists() and not rows.exists()
    form.item.value = "<b>V-7</b>"
    form.button.click()
    assert "a row of load-summary.csv" in form.said.value and "<b>V" not in form.said.value
    panel.set(inflow=6.0)
    assert "a row of load-summary.csv" in form.save("V-8")
    loads = [float(r["load [kg/h]"]) for r in summary.read_summary(rows)]
    assert loads == pytest.approx([10_800, 21_600])


# ------------------------------------------------------------ columns, items, ladders
@pytest.mark.parametrize("count", [12, 14, 15])
def test_a_file_with_the_earlier_headings_is_read_and_extended(tmp_path, count):
    path = tmp_path / "s.csv"
    row = summary.summary_row(case(), "V-1")
    heads = list(summary.COLUMNS)[:count]
    assert list(summary.COLUMNS)[11:] == [
        "note", "destination", "installed", "fire", "back pressure of event",
    ]  # fmt: skip
    path.write_text(",".join(heads) + "\n" + ",".join(row[h] for h in heads) + "\n\n", "utf-8")
    row["fire"] = row["fire"] if count > 14 else ""  # which the earlier file does not say
    assert summary.read_summary(path) == [row]
    more = summary.summary_row(case(), "V-1", "", "FH", "2 x 3L4 + 1 spare", "closed outlet, east")
    assert summary.append_row(path, more) == 2
    assert summary.read_summary(path) == [row, more]
    with pytest.raises(InputError, match="headings"):
        summary.append_row(path, row | {"colour": "red"})
    with pytest.raises(InputError, match="headings"):
        summary.append_row(path, {"protected item": "V-1"})


def test_a_fire_is_saved_as_the_load_says_and_an_earlier_file_is_read_by_its_words(tmp_path):
    path = tmp_path / "s.csv"
    said = replace(case(), load=replace(case().load, cause="burning pool", fire=True))
    summary.append_row(path, summary.summary_row(said, "V-1"))
    summary.append_row(path, summary.summary_row(case(), "V-1", cause="fired heater"))
    rows = summary.read_summary(path)
    assert [c.fire for c in summary.saved_cases(rows)["V-1"]] == [True, False]
    for words, fire in (("Pool fire", True), ("firewater pump", False), ("fire, tube leak", None)):
        old = rows[0] | {"cause": words, "fire": ""}
        assert summary.saved_cases([old])["V-1"][0].fire is fire


def test_round_trip_to_governing_case_and_ladder(tmp_path):
    path = tmp_path / "s.csv"
    heavy = size(
        ReliefLoad("fire", 3.5, Gas(12e5, 313.0, molar_mass=44.0, k=1.28)),
        Device(set_pressure_gauge=1e6),
    )
    sizings = {"V-101": [heavy, case(flow=3.0)], "V-102": [case("fire", 1.0)]}
    for item, several in sizings.items():
        for s in several:
            summary.append_row(path, summary.summary_row(s, item))
    found = summary.saved_cases(summary.read_summary(path))
    assert list(found) == ["V-101", "V-102"]
    for item, several in sizings.items():
        wanted = summary.compare(several)
        assert [c.cause for c in found[item]] == list(wanted.areas)
        areas = [c.required_area for c in found[item]]
        assert areas == pytest.approx(list(wanted.areas.values()), rel=1e-5)
    # API 521 (2020), 4.1: the smaller flow governs here, its area being the larger
    first, second = found["V-101"]
    assert first.required_area > second.required_area and first.mass_flow < second.mass_flow


def test_a_cause_saved_twice_stays_two(tmp_path):
    rows = [summary.summary_row(case(flow=w), " V-1 ") for w in (1.0, 3.0, 2.0)]
    causes = {c.cause: c.mass_flow for c in summary.saved_cases(rows)["V-1"]}
    assert causes == pytest.approx(
        {"closed outlet (2)": 3.0, "closed outlet (3)": 2.0, "closed outlet": 1.0})  # fmt: skip


@pytest.mark.parametrize("cell", ["", "many", "nan", "-5", "inf"])
def test_a_row_edited_by_hand_is_said(cell):
    row = summary.summary_row(case(), "V-1")
    with pytest.raises(InputError, match="row 3"):
        summary.saved_cases([row, row | {"required area [mm2]": cell}])
    with pytest.raises(InputError, match="row 2: protected item or cause"):
        summary.saved_cases([row | {"protected item": " "}])


def test_a_result_that_is_no_single_number_is_refused():
    for flow in (float("nan"), np.array([1.0, 2.0])):
        with pytest.raises(InputError, match="one number"):
            summary.summary_row(case(flow=flow), "V-1")
        with pytest.raises(InputError, match="one number"):
            summary.compare([case(), case(flow=flow)])


# ------------------------------------------------------------ hostile text
HOSTILE = st.text(max_size=40) | st.sampled_from(
    [
        "=1+1",
        " =1",
        "\u00a0=1",
        "\t@x",
        "a\rb",
        "a\r\nb",
        'a"b',
        "\ud800",
        "\x00",
        "'=1",
        "-1e5",
        ";",
    ]
)


@given(st.lists(st.tuples(HOSTILE, HOSTILE), min_size=1, max_size=4))
@settings(max_examples=150, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
def test_any_text_comes_back_as_it_was_guarded(tmp_path, texts):
    path = tmp_path / "s.csv"
    path.unlink(missing_ok=True)
    rows = [summary.summary_row(case(), item, note, note, item) for item, note in texts]
    for count, row in enumerate(rows, 1):
        assert summary.append_row(path, row) == count
    assert summary.read_summary(path) == rows
    for row in rows:
        for cell in row.values():
            if cell.strip()[:1] in tuple("=+-@"):
                float(cell)  # only a number may begin like a formula


@pytest.mark.parametrize(
    "content",
    [b"\xef\xbb\xbf", b"a;b\n", "V\u00e4\n".encode("latin-1"),
     ",".join(summary.COLUMNS).encode() + b'\n"' + b"x" * 200_000, b"\x00" * 10],
)  # fmt: skip
def test_files_that_cannot_be_a_summary(tmp_path, content):
    path = tmp_path / "s.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match="s.csv"):
        summary.read_summary(path)
    with pytest.raises(InputError):
        summary.append_row(path, summary.summary_row(case(), "V-1"))
    assert path.read_bytes() == content


# ------------------------------------------------------------ failing at every step
STEPS = ["os.open", "os.fsync", "os.replace"]
FAULTS = [
    OSError(28, "No space left on device"),
    PermissionError(13, "denied"),
    KeyboardInterrupt(),
]


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("fault", FAULTS, ids=lambda f: type(f).__name__)
def test_any_step_may_fail(tmp_path, monkeypatch, step, fault):
    path = tmp_path / "s.csv"
    summary.append_row(path, summary.summary_row(case(), "V-1"))
    before = path.read_bytes()
    module, name = step.split(".")
    with monkeypatch.context() as patch:

        def fails(*_args, **_kwargs):
            raise fault

        patch.setattr(getattr(files, module), name, fails)
        stopped = isinstance(fault, KeyboardInterrupt)
        with pytest.raises(KeyboardInterrupt if stopped else InputError):
            summary.append_row(path, summary.summary_row(case(), "V-2"))
    assert path.read_bytes() == before
    assert [p for p in tmp_path.iterdir() if p != path] == []
    assert summary.append_row(path, summary.summary_row(case(), "V-2")) == 2


def test_a_disk_that_fills_while_writing(tmp_path, monkeypatch):
    path = tmp_path / "s.csv"
    summary.append_row(path, summary.summary_row(case(), "V-1"))
    before = path.read_bytes()

    class Half:
        def __init__(self, file):
            self.file = file

        def __getattr__(self, name):
            return getattr(self.file, name)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.file.close()

        def write(self, data):
            self.file.write(data[: len(data) // 2])
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(files, "open", lambda *a: Half(open(*a)), raising=False)
    with pytest.raises(InputError, match="no space"):
        summary.append_row(path, summary.summary_row(case(), "V-2"))
    assert path.read_bytes() == before and list(tmp_path.iterdir()) == [path]


CHILD = """
import os, sys
from relieflib import summary
from tests_row import row
path, step = sys.argv[1:3]
module, name = step.split(".")
setattr(globals()[module], name, lambda *a, **k: os._exit(9))
summary.append_row(path, row | {"protected item": "V-2"})
"""
ADDS = """
import sys
from relieflib import summary
from tests_row import row
for i in range(15):
    summary.append_row(sys.argv[1], row | {"protected item": f"{sys.argv[2]}-{i}"})
"""


def start(tmp_path, script, *args):
    row = summary.summary_row(case(), "V-1")
    (tmp_path / "tests_row.py").write_text(f"row = {row!r}", "utf-8")
    (tmp_path / "child.py").write_text(script, "utf-8")
    root = Path(summary.__file__).parents[1]
    env = os.environ | {"PYTHONPATH": os.pathsep.join([str(root), str(tmp_path)])}
    return subprocess.Popen([sys.executable, str(tmp_path / "child.py"), *map(str, args)], env=env)


@pytest.mark.parametrize("step", ["os.fsync", "os.replace"])
def test_a_writer_that_dies_leaves_the_old_file(tmp_path, step):
    path = tmp_path / "s" / "s.csv"
    summary.append_row(path, summary.summary_row(case(), "V-1"))
    before, lock = path.read_bytes(), path.with_name("s.csv.lock")
    assert start(tmp_path, CHILD, path, step).wait(60) == 9
    assert path.read_bytes() == before and lock.exists()
    assert summary.append_row(path, summary.summary_row(case(), "V-3")) == 2
    assert not lock.exists()


def test_two_processes_at_once_lose_nothing(tmp_path):
    path = tmp_path / "s" / "s.csv"
    both = [start(tmp_path, ADDS, path, name) for name in "AB"]
    assert [p.wait(60) for p in both] == [0, 0]
    items = [r["protected item"] for r in summary.read_summary(path)]
    assert sorted(items) == sorted(f"{name}-{i}" for name in "AB" for i in range(15))


# ------------------------------------------------------------ the reader's own file
def test_reader_s_summary_says_kindly_what_it_is(tmp_path, monkeypatch):
    from relieflib.notebook import own_numbers

    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "mine"))
    assert "Nothing saved yet" in repr(own_numbers.my_summary())
    assert not (tmp_path / "mine").exists()  # looking makes nothing
    sizings = {"closed outlet": case(), "fire, <east>": case("fire", 1.0)}
    assert own_numbers.save_all(sizings, "V-1", "FH", "1 x 3L4") == 2
    mine = own_numbers.my_summary()
    assert [c.cause for c in mine["V-1"]] == ["closed outlet", "fire, <east>"]
    assert mine["V-1"][0].row["installed"] == "1 x 3L4"
    assert repr(mine).startswith("V-1: 2 cases, closed outlet governs, ")
    path = own_numbers.summary_path()
    path.write_bytes(b"rubbish")
    assert "left as it is" in repr(own_numbers.my_summary()) and path.read_bytes() == b"rubbish"
    path.write_text(",".join(summary.COLUMNS) + "\n", "utf-8")
    assert "no rows" in repr(own_numbers.my_summary())


def test_form_on_a_full_disk_loses_nothing(tmp_path, monkeypatch):
    from relieflib.notebook.own_numbers import OwnNumbers
    from relieflib.notebook.panel import Panel, quantity
    from relieflib.report import figures

    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path))
    pair = figures.build_area_ladder, figures.update_area_ladder
    compute = lambda inflow: {"areas": {"x": 1e-4 * inflow}, "sizing": case(flow=inflow)}  # noqa: E731
    panel = Panel([quantity("inflow", 3.0, 0.5, 9.0)], compute, *pair, lambda r, u: [])
    panel.case_of = own_case
    form = OwnNumbers(panel)
    form.item.value = "V-1"
    form.button.click()
    before = form.path.read_bytes()
    for name in ("fsync", "replace"):
        with monkeypatch.context() as patch:
            patch.setattr(os, name, lambda *a: (_ for _ in ()).throw(OSError(28, "No space left")))
            form.button.click()
        assert "Not saved: " in form.said.value and form.path.read_bytes() == before
    form.button.click()
    assert "Saved: " in form.said.value
    assert len(summary.read_summary(tmp_path / "load-summary.csv")) == 2


# ------------------------------------------------------------ saved again by a spreadsheet
def saved_again(path, separator, decimals, encoding):
    """The file as a spreadsheet of another country saves it, with a column of the user's own."""
    lines = list(csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")))
    number = [summary.COLUMNS[heading] is not None for heading in lines[0]]
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    writer.writerow([*lines[0], "Prüfer"])
    for line in lines[1:]:
        cells = [c.replace(".", decimals) if n else c for c, n in zip(line, number, strict=True)]
        writer.writerow([*cells, "Jürgen Müller"])
    path.write_bytes(out.getvalue().encode(encoding))


@pytest.mark.parametrize("separator, decimals", [(";", ","), ("\t", ","), (",", "."), (";", ".")])
@pytest.mark.parametrize("encoding", ["cp1252", "utf-8", "utf-8-sig"])
def test_a_summary_saved_by_a_spreadsheet_is_read_and_extended(
    tmp_path, separator, decimals, encoding
):
    path = tmp_path / "s.csv"
    summary.append_row(path, summary.summary_row(case(flow=3.2), "V-1", "größer; 1,5"))
    saved_again(path, separator, decimals, encoding)
    row = summary.read_summary(path)[0]
    # 3.2 kg/s is 11 520 kg/h, relieving 12 bara, set 10 barg: by hand; words are left as they are
    assert float(row["load [kg/h]"]) == pytest.approx(11_520)
    assert float(row["relieving pressure [bara]"]) == pytest.approx(12)
    assert row["note"] == "größer; 1,5" and row["Prüfer"] == "Jürgen Müller"
    assert summary.append_row(path, summary.summary_row(case(flow=1.0), "V-2")) == 2
    first, second = summary.read_summary(path)
    assert first["Prüfer"] == "Jürgen Müller" and second["Prüfer"] == ""
    assert [float(r["load [kg/h]"]) for r in (first, second)] == pytest.approx([11_520, 3_600])
    areas = [c.required_area for c in summary.saved_cases([first])["V-1"]]
    assert areas == pytest.approx([case(flow=3.2).required_area], rel=1e-3)  # as printed


def test_a_summary_carries_the_mark_by_which_spreadsheets_know_utf_8(tmp_path):
    path = tmp_path / "s.csv"
    for tag in ("V-1", "V-2"):
        summary.append_row(path, summary.summary_row(case(), tag, "ÄÖ °C"))
        data = path.read_bytes()
        assert data.startswith(codecs.BOM_UTF8) and data.count(codecs.BOM_UTF8) == 1


def test_a_cell_that_no_table_is_read_with_is_refused(tmp_path):
    path, longest = tmp_path / "s.csv", csv.field_size_limit()
    assert longest == 131_072  # documented default of Python's csv module
    summary.append_row(path, summary.summary_row(case(), "V-1", "x" * longest))
    before = path.read_bytes()
    with pytest.raises(InputError, match="131073 characters"):
        summary.append_row(path, summary.summary_row(case(), "V-2", "x" * (longest + 1)))
    assert path.read_bytes() == before and len(summary.read_summary(path)) == 1
