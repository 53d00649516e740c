"""The load summary never loses a row, whatever stands in the file."""

import os
import threading

import numpy as np
import pytest

from relieflib import summary
from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.nozzle.gas import Gas
from relieflib.sizing import ReliefLoad, size


def case(cause="closed_outlet", flow=3.0):
    return size(ReliefLoad(cause, flow, Gas(12e5, 313.0, 18.0, 1.28)), Device("conventional", 10e5))


def test_governing_case_is_the_largest_area():
    # API 521 (2020), 4.1: the area decides, not the flow
    small_gas = ReliefLoad("fire", 3.5, Gas(12e5, 313.0, 44.0, 1.28))
    found = summary.compare([size(small_gas), case(flow=3.0)])
    assert found.governing.load.cause == "closed_outlet"
    assert list(found.areas) == ["closed outlet", "fire"]
    with pytest.raises(InputError, match="at least one"):
        summary.compare([])
    with pytest.raises(InputError, match="one number"):
        summary.compare([case(flow=np.array([1.0, 2.0]))])


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
        raise OSError("no space left")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(OSError, match="no space"):
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


def test_a_lock_left_behind_is_said(tmp_path, monkeypatch):
    (tmp_path / "s.csv.lock").touch()
    ticks = iter(range(0, 100, 3))
    monkeypatch.setattr(summary.time, "monotonic", lambda: next(ticks))
    monkeypatch.setattr(summary.time, "sleep", lambda _: None)
    with pytest.raises(InputError, match="locked"):
        summary.append_row(tmp_path / "s.csv", summary.summary_row(case(), "V-1"))


def test_own_numbers_form(tmp_path, monkeypatch):
    from relieflib.notebook import figures
    from relieflib.notebook.own_numbers import OwnNumbers
    from relieflib.notebook.panel import Panel, quantity

    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path))

    def compute(inflow):
        s = case(flow=inflow)
        return {"sizing": s, "areas": {"x": s.required_area or None}}

    table = lambda r, u: [("letter", r["sizing"].letter)]  # noqa: E731
    pair = figures.build_area_ladder, figures.update_area_ladder
    panel = Panel([quantity("inflow", 3.0, 0.5, 9.0)], compute, *pair, table)
    form = OwnNumbers(panel, lambda r: r["sizing"])
    form.button.click()
    assert "Not saved" in form.said.value and not form.path.exists()
    form.item.value = "<b>V-7</b>"
    form.button.click()
    assert "row 1" in form.said.value
    panel.set(inflow=6.0)
    assert form.save("V-8") == 2
    loads = [float(r["load [kg/h]"]) for r in summary.read_summary(form.path)]
    assert loads == pytest.approx([10_800, 21_600])
