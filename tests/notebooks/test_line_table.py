"""The table of a line's parts, its charts and sketches: what a hand does, what a cell does."""

import numpy as np
import pytest

from relieflib.devices import Device
from relieflib.errors import InputError
from relieflib.lines import inlet, outlet
from relieflib.lines.line import Line, Part
from relieflib.notebook import line_charts, line_sketches
from relieflib.notebook.line_table import AS_LISTED, MOST, SIZES, LineTable, Row
from relieflib.notebook.panel import Panel, quantity, shown
from relieflib.nozzle.gas import Gas
from relieflib.report import figures
from relieflib.sizing import ReliefLoad, size

KIND, NPS, SCHEDULE, COUNT, NUMBER, UNIT, RISE, RISE_UNIT, VALVES, HEADS, REMOVE = range(11)
ROWS = [
    Row("entrance flush", "3"), Row("pipe", "3", length=1.2), Row("long elbow", "3", count=2),
    Row("reducer", "4", length=0.1), Row("ball valve", "4", bore=0.08), Row("other", "4", K=0.7),
]  # fmt: skip
LOAD = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90))
SIZING = size(LOAD, Device(set_pressure_gauge=517e3))


def table(rows=ROWS):
    return LineTable("line", rows)


def by_hand(t, row, column, value):
    t._lines[row][column].value = value


def test_the_line_it_makes():
    t = table()
    assert isinstance(t.value, Line) and t.rows == tuple(ROWS)
    assert t.value.parts == (
        Part.of("entrance flush", "3"), Part.of("pipe", "3", length=1.2),
        Part.of("long elbow", "3", count=2), Part.of("reducer", "4", length=0.1),
        Part.of("ball valve", "4", bore=0.08), Part.of("other", "4", K=0.7),
    )  # fmt: skip
    assert [float(line[HEADS].value) for line in t._lines][5] == 0.7
    assert t.value == table().value and t.value != table(ROWS[:-1]).value


def test_a_hand_changes_each_field():
    t, calls = table(), []
    t.changed = lambda: calls.append(t.words)
    by_hand(t, 1, NUMBER, 2.5)
    by_hand(t, 1, NPS, "4")
    by_hand(t, 1, SCHEDULE, "80")
    by_hand(t, 2, COUNT, 3)
    by_hand(t, 5, NUMBER, 1.5)
    by_hand(t, 4, NUMBER, 0.0)
    assert t.rows[1] == Row("pipe", "4", "80", length=2.5) and t.rows[2].count == 3
    assert t.rows[5].K == 1.5 and t.rows[4].bore is None and calls == [""] * 6
    by_hand(t, 1, KIND, "elbow")
    assert t.rows[1] == Row("elbow", "4", "80") and t._lines[1][NUMBER].disabled
    by_hand(t, 1, KIND, "other")
    assert t.rows[1].K == 0.5 and not t._lines[1][NUMBER].disabled
    by_hand(t, 0, KIND, "pipe")
    assert t.rows[0].length == 1.0 and t._lines[0][COUNT].disabled


def test_add_and_remove():
    t = table()
    t.add.click()
    assert t.rows[-1] == Row("pipe", "4", length=1.0) and len(t._body.children) == 8
    t._lines[0][REMOVE].click()
    assert t.rows == (*ROWS[1:], Row("pipe", "4", length=1.0))
    by_hand(t, 0, NUMBER, 3.0)  # the rows that are left answer for themselves
    assert t.rows[0].length == 3.0
    while len(t._rows):
        t._lines[0][REMOVE].click()
    assert "1 to 12 parts" in t.words and len(t.rows) == 1  # the last line that holds
    t.add.click()
    assert not t.words and [r.kind for r in t.rows] == ["pipe"]
    for _ in range(MOST):
        t.add.click()
    assert "1 to 12" in t.words and len(t.rows) == MOST


def test_rise_and_valves_by_hand():
    t = table()
    by_hand(t, 1, RISE, -2.5)
    by_hand(t, 0, VALVES, 2)
    by_hand(t, 1, VALVES, 2)
    assert t.rows[1] == Row("pipe", "3", length=1.2, elevation=-2.5, valves=2)
    assert t.value.elevation == -2.5 and [p.valves for p in t.value.parts] == [2, 2, 1, 1, 1, 1]
    by_hand(t, 1, KIND, "elbow")  # what is not of the kind stays
    assert t.rows[1] == Row("elbow", "3", elevation=-2.5, valves=2)
    for unit_set in ("US", "SI") * 3:
        t.show_in(unit_set)
        assert t.rows[1].elevation == -2.5
    t.show_in("US")
    assert t._lines[1][RISE].value == pytest.approx(-2.5 / 0.3048, rel=1e-5)
    assert t._lines[1][RISE_UNIT].value == "ft"
    by_hand(t, 1, RISE, 10.0)
    assert t.rows[1].elevation == pytest.approx(3.048)
    for words in ("rise 10 ft", "for 2 valves"):
        assert words in t.text()
    for kind in ("text/plain", "text/html"):
        assert "rise" in t._repr_mimebundle_()[kind] and "10 ft" in t._repr_mimebundle_()[kind]
    by_hand(t, 2, KIND, "reducer")
    by_hand(t, 2, NUMBER, 0.3)
    assert "reducer with a taper" in t.words and t._lines[2][HEADS].value == ""
    t.set_rows([Row("pipe", "3", length=1.0, valves=2)])
    t.add.click()
    assert t.rows[1].valves == 2


def test_one_size_for_all_and_back():
    t = table()
    t.list.value = "8"
    assert {r.nps for r in t.rows} == {"8"} and t.rows[4].bore is None and t.list.value == "8"
    assert t.rows[1].length == 1.2 and t._lines[0][NPS].value == "8"
    t.list.value = "10"
    assert {r.nps for r in t.rows} == {"10"}
    t.list.value = AS_LISTED
    assert t.rows == tuple(ROWS)
    t.list.value = "6"
    by_hand(t, 0, NPS, "8")  # an edit takes the size over for good
    assert t.list.value == AS_LISTED and [r.nps for r in t.rows] == ["8"] + ["6"] * 5
    t.list.value = "6"
    t.set_rows(ROWS)
    assert t.list.value == AS_LISTED


def test_what_makes_no_line_is_said_in_words():
    t = table()
    by_hand(t, 4, NUMBER, 999.0)
    assert "row 5: bore = 999 mm" in t.words and "wider" in t.message.value
    assert t.rows == tuple(ROWS) and t._lines[4][NUMBER].value == 999.0
    assert t._lines[0][HEADS].value == ""
    by_hand(t, 4, NUMBER, 80.0)
    assert not t.words and not t.message.value and t.rows == tuple(ROWS)
    by_hand(t, 1, NPS, "24")
    by_hand(t, 1, SCHEDULE, "XXS")
    assert "schedule XXS has no such size" in t.words
    t.list.value = "1/2"
    assert "XXS" not in t.words


@pytest.mark.parametrize("rows, words", [
    ([], "1 to 12"), ([ROWS[0]] * 13, "1 to 12"), (["pipe"], "must be a Row"), (7, "list of rows"),
    ([Row("bend", "4")], "row 1: kind"), ([ROWS[0], Row("pipe", "4.3")], "row 2: nps"),
    ([Row("pipe", "4", count=2)], "count"), ([Row("elbow", "4", length=1.0)], "length"),
    ([Row("other", "4")], "K: needed"), ([Row("pipe", "4", length=-1.0)], "length"),
    ([Row("pipe", "4", valves=0)], "row 1: valves"), ([Row("pipe", "4", elevation=np.inf)], "elev"),
    ([Row("pipe", None)], "nps"), ([Row("pipe", "4", 40.5, length=1.0)], "schedule"),
])  # fmt: skip
def test_a_cell_is_refused(rows, words):
    t = table()
    with pytest.raises(InputError, match=words):
        t.set_rows(rows)
    assert t.rows == tuple(ROWS) and not t.words
    with pytest.raises(InputError, match=words):
        table(rows)


def test_units_change_what_is_shown_never_what_is_meant():
    t = table()
    for unit_set in ("US", "SI") * 5:
        t.show_in(unit_set)
        assert t.rows == tuple(ROWS)
    t.show_in("US")
    assert t._lines[1][NUMBER].value == pytest.approx(1.2 / 0.3048, rel=1e-5)
    assert t._lines[4][NUMBER].value == pytest.approx(0.08 / 0.0254, rel=1e-5)
    assert t._lines[1][UNIT].value == "ft long" and t._lines[4][UNIT].value == "in bore"
    by_hand(t, 1, NUMBER, 10.0)
    assert t.rows[1].length == pytest.approx(3.048)
    by_hand(t, 4, NUMBER, 99.0)
    assert "bore = 99 in" in t.words


def test_shown_without_a_kernel():
    t = table()
    data = t._repr_mimebundle_()
    for kind in ("text/plain", "text/html"):
        for words in ("entrance flush", "1.2 m long", "80 mm bore", "heads lost"):
            assert words in data[kind]
    assert any(k.endswith("widget-view+json") for k in data)
    assert "<caption>a &lt; b</caption>" in LineTable("line", ROWS, "a < b")._repr_html_()
    assert t.text().startswith("entrance flush NPS 3; pipe NPS 3, 1.2 m; 2 x long elbow NPS 3;")
    assert t.text().endswith("other NPS 4, K 0.7")


def check_of(line, set_pressure_gauge):
    sizing = size(LOAD, Device(set_pressure_gauge=set_pressure_gauge))
    return {"check": inlet.check(sizing, line)}


def panel():
    def rows(result, unit_set):
        return [("loss", shown("inlet_loss", result["check"].value, unit_set))]

    return Panel(
        [table(), quantity("set_pressure_gauge", 517e3, 4e5, 517e3)], check_of,
        line_charts.build_inlet_profile, line_charts.update_inlet_profile, rows,
    )  # fmt: skip


def test_as_a_control_of_a_panel():
    p = panel()
    t, start = p.controls["line"], p.rows
    assert p.sweep().tried == 1 + len(t.settings()) + 3 and p.rows == start
    t.list.value = "6"
    wide = p.result["check"]
    assert not p.words and wide.value < panel().result["check"].value
    by_hand(t, 0, KIND, "globe valve")
    assert any("globe" in f for f in p.result["check"].flags)
    by_hand(t, 4, KIND, "gate valve")
    by_hand(t, 4, NUMBER, 999.0)
    assert "bore = 999 mm" in p.words
    p._units.value = "US"  # the browser's switch drops what makes no line
    assert not p.words and t._lines[4][NUMBER].value == 0.0 and t.rows[4].kind == "gate valve"
    p.unit_set = "SI"
    p.set(line=ROWS)
    assert not p.words and p.rows == start and t.list.value == AS_LISTED
    with pytest.raises(InputError, match="row 1"):
        p.set(line=[Row("bend", "4")])
    assert p.rows == start and p.values["line"] == table().value
    t.list.value = "8"
    with pytest.raises(InputError, match="this panel takes"):
        p.set(set_pressure_gauge=1.0)
    assert t.list.value == "8" and {r.nps for r in t.rows} == {"8"}  # as it stood before


def parts_of(figure):
    return sum(len(ax.get_children()) for ax in figure.axes)


def drawn(build, update, results):
    """Alt texts of a chart that is made once and then moved; it grows no artists."""
    figure = figures.new_figure()
    artists = build(figure, results[0])
    count, said = parts_of(figure), []
    for result in results:
        for unit_set in ("US", "SI"):
            said.append(update(artists, result, unit_set))
            figure.canvas.draw()
        assert parts_of(figure) == count
    return artists, said


def test_inlet_profile():
    short = Line([Part.of("entrance rounded", "6"), Part.of("pipe", "6", length=0.3)])
    pilot = size(LOAD, Device("pilot", 517e3))
    results = [
        {"check": inlet.check(SIZING, table().value)}, {"check": inlet.check(SIZING, short)},
        {"check": inlet.check(pilot, short, remote_sensing=True)},
        {"check": inlet.check(SIZING, Line([Part("other", 0.05, K=9.0)]))},
    ]  # fmt: skip
    artists, said = drawn(
        line_charts.build_inlet_profile, line_charts.update_inlet_profile, results
    )
    assert "over limit" in said[1] and "within limit" in said[3] and "no limit" in said[5]
    assert not artists["curve"].get_xdata().size == 0
    line_charts.update_inlet_profile(artists, results[0])
    check = results[0]["check"]
    x, y = artists["curve"].get_data()
    assert len(x) == 7 and y[0] == pytest.approx(5.68675) and artists["limit"].get_visible()
    assert y[-1] == pytest.approx(5.68675 - check.value / 1e5)
    assert artists["limit"].get_ydata()[0] == pytest.approx(5.68675 - 0.1551)
    assert artists["end"].get_marker() == "X"


def test_outlet_profile():
    def at(D, device=SIZING, **more):
        line = Line([Part("pipe", D, length=12.0), Part("elbow", D)])
        return {"check": outlet.check(device, line, **more)}

    pilot = size(LOAD, Device("pilot", 517e3))
    results = [at(0.15), at(0.25), at(0.07), at(0.15, pilot), at(0.25, header_pressure=1.3e5)]
    artists, said = drawn(line_charts.build_outlet_profile, line_charts.update_outlet_profile,
                          results)  # fmt: skip
    assert "over limit" in said[1] and "within limit" in said[3] and "chokes" in said[5]
    assert "no limit" in said[7]
    line_charts.update_outlet_profile(artists, results[0])
    check = results[0]["check"]
    assert artists["curve"].get_xdata()[-1] == pytest.approx(12.0)
    assert artists["curve"].get_ydata()[0] == pytest.approx((check.outlet_pressure - 101325) / 1e5)
    assert artists["limit"].get_ydata()[0] == pytest.approx(0.51675)
    assert artists["flange"].get_marker() == "X" and len(artists["choked"].get_xdata()) == 0
    line_charts.update_outlet_profile(artists, results[2])
    assert len(artists["choked"].get_xdata()) > 0


def test_kinds_side_by_side():
    headers = np.linspace(0.0, 2.5e5, 11)
    flow, half = np.full(11, 3.0), np.arange(11) < 5
    curves = {"conventional": (np.where(half, 3.0, 1.0), half), "balanced": (flow, flow > 9),
              "pilot": (flow, flow > 0)}  # fmt: skip
    result = {"headers": headers, "curves": curves, "load": 2.0, "header_gauge": 1e5}
    artists, said = drawn(line_charts.build_kinds, line_charts.update_kinds, [result])
    assert "conventional to 1 barg; balanced nowhere; pilot all along" in said[1]
    assert "psig" in said[0]
    solid, dotted, cross = artists["conventional"]
    assert np.isfinite(solid.get_ydata()).sum() == 5 and cross.get_xdata()[0] == pytest.approx(1.0)
    assert np.isfinite(dotted.get_ydata()).sum() == 7  # joined to the last point within
    assert curves["conventional"][1].sum() == 5  # what came in stays


@pytest.mark.parametrize("side", ["inlet", "outlet"])
def test_sketches(side):
    s = line_sketches.line_sketch(side)
    assert len(s.alt.split()) > 20 and "PSV-105" in s.alt
    renderer = s.figure.canvas.get_renderer()
    boxes = [t.get_window_extent(renderer) for t in s.texts]
    page = s.figure.bbox
    for i, a in enumerate(boxes):
        assert a.x0 >= 0 and a.y0 >= 0 and a.x1 <= page.x1 and a.y1 <= page.y1, s.texts[i]
        for b in boxes[i + 1 :]:
            assert not a.overlaps(b), (s.texts[i], b)
    with pytest.raises(InputError, match="side"):
        line_sketches.line_sketch("top")


def test_sizes_exist():
    from relieflib.lines.fittings import pipe_size

    assert all(pipe_size(nps).nps == nps for nps in SIZES)
