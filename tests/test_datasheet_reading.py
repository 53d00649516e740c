"""Vendor files read right, or asked about: never a number taken silently for another.

What a spreadsheet or a European file means is common practice, no source; sizes of ISO 6708 (DN).
"""

import importlib.util
from pathlib import Path

import openpyxl
import pytest

from relieflib import datasheet
from relieflib.datasheet.columns import COLUMNS, decimal_marks, read_cell
from relieflib.datasheet.headings import decide_by_cells, match, read_mapping
from relieflib.errors import InputError

HEADS = ["tag", "set pressure [barg]", "phase", "load [kg/h]"]


def text_file(tmp_path, *rows, heads=HEADS, between=";", name="list.csv", encoding="utf-8"):
    path = tmp_path / name
    lines = [between.join(map(str, row)) for row in (heads, *rows)]
    path.write_bytes("\n".join(lines).encode(encoding))
    return path


def book_file(tmp_path, change, *rows, heads=HEADS):
    book = openpyxl.Workbook()
    for row in (heads, *rows):
        book.active.append(list(row))
    change(book)
    path = tmp_path / "list.xlsx"
    book.save(path)
    return path


def loads(reading):
    return [row.get("load") and round(row.get("load") * 3600, 6) for row in reading.rows]


def test_european_thousands_are_asked(tmp_path):
    # 12,5 shows that the comma is decimal: 64.000 is 64 thousand there, never 64
    found = datasheet.read(text_file(tmp_path, ("A", "12,5", "gas", "64.000")))
    assert loads(found) == [None] and "point that may be decimal or thousands" in str(
        found.problems[0]
    )
    # nothing tells: asked as well
    assert loads(datasheet.read(text_file(tmp_path, ("A", "12", "gas", "64.000")))) == [None]
    # one more load of the same column proves its point decimal
    found = datasheet.read(
        text_file(tmp_path, ("A", "12", "gas", "64.000"), ("B", "12", "gas", "64.5"))
    )
    assert loads(found) == [64.0, 64.5] and not found.problems


@pytest.mark.parametrize("cells, expected", [
    # worked by hand: what the column itself proves is read, what it does not is asked
    (["60,000", "60,000.5"], [60_000.0, 60_000.5]), (["60,000", "1,250,000"], [60_000.0, 1.25e6]),
    (["60.000", "1.250.000"], [60_000.0, 1.25e6]), (["1,250,000"], [1.25e6]),
    (["60,000", "12.5"], [None, 12.5]),  # two hands may have typed: 60 or 60 thousand
    (["60,000"], [None]), (["60,000", "60,000.5", "7,5"], [None, None, 7.5]),
    (["60.000", "1,250,000"], [None, 1.25e6]), (["60,00", "1,250,000"], [60.0, None]),
])  # fmt: skip
def test_thousands_are_read_where_their_column_proves_them(tmp_path, cells, expected):
    rows = [(f"V{i}", "12", "gas", cell) for i, cell in enumerate(cells)]
    found = datasheet.read(text_file(tmp_path, *rows))
    assert loads(found) == expected
    said = any("parts thousands in this column" in text for text in found.said())
    assert said is any(value and value > 1e4 for value in expected)


def test_another_column_proves_no_thousands(tmp_path):
    heads = [*HEADS, "rated capacity [kg/h]"]
    found = datasheet.read(text_file(tmp_path, ("A", "12", "gas", "60,000", "1,250,000"),
                                     heads=heads))  # fmt: skip
    assert loads(found) == [None] and found.rows[0].get("rated_capacity") * 3600 == 1.25e6


def test_a_file_with_commas_between_cells_has_decimal_points(tmp_path):
    found = datasheet.read(text_file(tmp_path, ("A", "12", "gas", "64.000"), between=","))
    assert loads(found) == [64.0] and not found.problems


def test_marks_are_those_of_the_column_not_of_notes(tmp_path):
    heads = [*HEADS, "remark", "Rev"]
    row = ("A", "12,5", "gas", "1820,5", "5.6 of the standard", "1.0")
    found = datasheet.read(text_file(tmp_path, row, heads=heads))
    assert loads(found) == [1820.5] and found.rows[0].get("set_pressure_gauge") == 12.5e5
    assert not any(p.loss for p in found.problems)


@pytest.mark.parametrize("texts, marks", [
    (["18,5"], {","}), (["0.975"], {"."}), (["1.234,5"], {","}), (["1,234.50"], {"."}),
    (["64.000", "1,250"], set()), (["12", "12 barg", "-", "text 1.5"], set()),
    (["1.234.567"], set()), (["0,975", "12.5"], {",", "."}),
])  # fmt: skip
def test_what_proves_a_decimal_mark(texts, marks):
    assert decimal_marks(texts) == marks


@pytest.mark.parametrize("metric, designation", [
    ("50J80", "2J3"), ("80K100", "3K4"), ("DN 80 L DN 100", "3L4"), ("25D50", "1D2"),
    ("8T10", "8T10"), ("6Q8", "6Q8"), ('3"L4"', "3L4"), ('3" x L x 4"', "3L4"), ("3 L 4", "3L4"),
])  # fmt: skip
def test_metric_designations(metric, designation):
    cell = read_cell(COLUMNS["designation"], metric, "-", 101_325.0)
    assert str(cell.value) == designation


def test_metric_designation_is_checked_like_its_twin(tmp_path):
    heads = ["tag", "set pressure [barg]", "mawp [barg]", "phase", "designation", "load [kg/h]"]
    rows = [(tag, 10, 10, "gas", name, 100) for tag, name in (("A", "50J80"), ("B", "2J3"))]
    found = datasheet.check_file(text_file(tmp_path, *rows, heads=heads))
    first, second = ([(c.name, c.verdict) for c in checks] for _, checks in found.results)
    assert first == second and not found.losses


def test_per_cent_written_and_worked(tmp_path):
    def formats(book):
        for row, shape in ((2, '0.0"%"'), (3, "0.0%"), (4, "General"), (5, '"share of 10%" 0')):
            book.active.cell(row, 5).number_format = shape

    rows = [(tag, 10, "gas", 1, value) for tag, value in zip("ABCD", (2.1, 0.021, 2.1, 2.1))]
    heads = [*HEADS, "inlet loss [%]"]
    found = datasheet.read(book_file(tmp_path, formats, *rows, heads=heads))
    assert [round(row.get("inlet_loss"), 9) for row in found.rows] == [0.021] * 4


def test_one_strange_byte_costs_its_line_alone(tmp_path):
    heads = [*HEADS, "relieving temperature [°C]", "source"]
    path = text_file(tmp_path, ("A", 12, "gas", 10, 40, "plain"), heads=heads)
    path.write_bytes(path.read_bytes() + b"\nB;12;gas;20;50;Gr\xf6\xdfe")
    found = datasheet.read(path)
    assert [round(row.get("temperature"), 2) for row in found.rows] == [313.15, 323.15]
    assert found.rows[1].cells["source"].text == "Größe"


def test_formula_with_its_stored_value(tmp_path):
    import zipfile

    path = book_file(tmp_path, lambda book: None, ("A", 12, "gas", "=2*32"))
    assert loads(datasheet.read(path)) == [None]  # no program ever worked it out
    worked = tmp_path / "worked.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(worked, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name.endswith("sheet1.xml"):
                assert b"<v></v>" in data or b"<v />" in data or b"<v/>" in data
                for empty in (b"<v></v>", b"<v />", b"<v/>"):
                    data = data.replace(empty, b"<v>64</v>")
            new.writestr(name, data)
    found = datasheet.read(worked)
    assert loads(found) == [64.0] and not any(p.loss for p in found.problems)


def test_a_value_merged_down_counts_for_each_row(tmp_path):
    rows = [("A", 12, "gas", 1), ("B", None, "gas", 2), ("C", None, "gas", 3), ("D", 9, "gas", 4)]
    path = book_file(tmp_path, lambda book: book.active.merge_cells("B2:B4"), *rows)
    found = datasheet.read(path)
    assert [row.get("set_pressure_gauge") / 1e5 for row in found.rows] == [12, 12, 12, 9]
    assert any("merged down: taken for rows 2 to 4" in str(p) for p in found.problems)


def test_a_cover_sheet_does_not_hide_the_list(tmp_path):
    def cover(book):
        book.create_sheet("Cover", 0).append(["Project", "invented"])

    found = datasheet.read(book_file(tmp_path, cover, ("A", 12, "gas", 64)))
    assert loads(found) == [64.0]
    assert any("sheet 'Cover' holds no valves" in str(p) for p in found.problems)


def test_every_sheet_that_holds_valves_is_read(tmp_path):
    def second(book):
        more = book.create_sheet("More")
        more.append(HEADS)
        more.append(["B", 12, "gas", 65])
        book.create_sheet("Legend of colours").append(["red", "changed"])

    found = datasheet.read(book_file(tmp_path, second, ("A", 12, "gas", 64)))
    assert loads(found) == [64.0, 65.0] and not any(p.loss for p in found.problems)
    assert [row.file for row in found.rows] == ["list.xlsx, Sheet", "list.xlsx, More"]
    assert "sheet 'Legend of colours' holds no valves" in str(found.problems[-1])


@pytest.mark.parametrize("head, first", [("#", "1"), ("No.", "#1"), ("#", "#1")])
def test_numbers_with_a_hash_are_rows(tmp_path, head, first):
    rows = [(first, "A", 12, "gas", 64), ("# a comment", "", "", "", "")]
    found = datasheet.read(text_file(tmp_path, *rows, heads=[head, *HEADS]))
    assert loads(found) == [64.0]


# Headings as lists of the trade write them, and what they mean: common practice, no source.
MEANS = {
    "SET PRESSURE (BARG)": ("set_pressure_gauge", "barg"),
    "MAWP [bar g]": ("mawp_gauge", "barg"),
    "MAWP barg": ("mawp_gauge", "barg"),
    "MAWP, barg": ("mawp_gauge", "barg"),
    "Set pressure [kg/cm2(g)]": ("set_pressure_gauge", "kg/cm2g"),
    "Set press. (psig)": ("set_pressure_gauge", "psig"),
    "Set Point barg": ("set_pressure_gauge", "barg"),
    "Tag No.": ("tag", "-"),
    "PSV Tag": ("tag", "-"),
    "MW": ("molar_mass", "kg/kmol"),
    "Mol. weight": ("molar_mass", "kg/kmol"),
    "Cp/Cv": ("k", "-"),
    "Ratio of specific heats": ("k", "-"),
    "Compressibility": ("Z", "-"),
    "Orifice letter": ("letter", "-"),
    "Valve type": ("device_type", "-"),
    "Required flow [kg/h]": ("load", "kg/h"),
    "Flow rate (lb/hr)": ("load", "lb/h"),
    "Overpressure [%]": ("overpressure_fraction", "%"),
    "Accumulation %": ("accumulation", "%"),
    "Qty": ("valves", "-"),
    "Relief temperature °C": ("temperature", "°C"),
    "Relieving temp [C]": ("temperature", "°C"),
    "Required Orifice Area (mm2)": ("required_area", "mm2"),
    "Calculated area [in2]": ("required_area", "in2"),
    "Selected area [mm²]": ("orifice_area", "mm2"),
    "State": ("phase", "-"),
}


@pytest.mark.parametrize("words", MEANS)
def test_headings_of_the_trade(words):
    found = match(words)
    assert (found.column.name, found.unit, found.fault) == (*MEANS[words], "")


@pytest.mark.parametrize("words, may_mean", [
    ("Design pressure [barg]", ("mawp_gauge", "set_pressure_gauge")),
    ("Back pressure [barg]", ("built_up", "back_pressure")),
    ("Capacity [kg/h]", ("load", "rated_capacity")),
    ("Temp.", ("temperature",)), ("Item", ("tag", "protected_item")),
    ("Orifice", ("letter", "designation", "orifice_area")),
])  # fmt: skip
def test_a_doubtful_heading_is_asked_never_taken(words, may_mean):
    found = match(words)
    assert found.column is None and found.how == "asked"
    assert set(found.may_mean) == set(may_mean)


def test_plain_bar_is_asked_and_service_is_nothing():
    found = match("Set pressure (bar)")
    assert found.column.name == "set_pressure_gauge" and "say gauge or absolute" in found.fault
    assert match("Service").column is None and not match("Service").may_mean


@pytest.mark.parametrize("cells, name", [
    (["J", "P"], "letter"), (["2J3", "50J80"], "designation"), (["J", "2J3"], None), ([], None),
    (["830 mm2", "1186 mm2"], "orifice_area"),
])  # fmt: skip
def test_cells_decide_what_an_orifice_is(cells, name):
    column = decide_by_cells(match("Orifice"), cells).column
    assert (column and column.name) == name


def test_a_vendors_list_is_asked_answered_and_kept(tmp_path):
    heads = ["Tag No.", "Design pressure [barg]", "Set press. (bar)", "State", "Flow rate [kg/h]"]
    path = text_file(tmp_path, ("A", 16, 16, "vapour", 6400), heads=heads)
    found = datasheet.read(path)
    asked = {p.column: p.sentence for p in found.problems if p.loss}
    assert set(asked) == {"Design pressure [barg]", "Set press. (bar)"}
    text = found.mapping
    assert "Design pressure [barg],mawp|set pressure,barg," in text
    with pytest.raises(InputError, match="leave one of"):
        read_mapping(text)
    text = text.replace("mawp|set pressure", "mawp").replace(
        "Set press. (bar),set pressure,,", "Set press. (bar),set pressure,barg,"
    )
    answered = datasheet.read(path, mapping=read_mapping(text))
    row = answered.rows[0]
    assert row.get("mawp_gauge") == row.get("set_pressure_gauge") == 16e5
    assert not any(p.loss for p in answered.problems)
    said = [p.sentence for p in answered.problems if "as answered" in p.sentence]
    assert "was taken for 'set pressure [barg]', as answered" in said
    assert loads(answered) == [6400.0]


def test_the_templates_own_heading_stands_before_a_synonym(tmp_path):
    heads = [*HEADS, "required area [mm2]", "Calculated area [mm2]"]
    found = datasheet.read(text_file(tmp_path, ("A", 12, "gas", 64, 100, 90), heads=heads))
    assert round(found.rows[0].get("required_area") * 1e6) == 100
    assert not any(p.loss for p in found.problems) and "stands beside it" in str(found.problems[0])


@pytest.mark.parametrize("mapping, words", [
    ("a,b\n", "begins with the line"),
    ("heading in the file,means,unit\nX,nonsense,\n", "no heading of the template"),
    ("heading in the file,means,unit\nX,load,furlong\n", "not known"),
])  # fmt: skip
def test_bad_mappings_are_words(mapping, words):
    with pytest.raises(InputError, match=words):
        read_mapping(mapping)


def test_values_as_vendors_write_them(tmp_path):
    heads = ["tag", "set pressure [barg]", "valve type", "phase", "inlet flange class",
             "outlet flange class"]  # fmt: skip
    row = ("A", "SP=16", "conv.", "liq.", "300# x 150#", "300# x 150#")
    found = datasheet.read(text_file(tmp_path, row, heads=heads)).rows[0]
    named = [found.get(n) for n in ("device_type", "phase", "inlet_class", "outlet_class")]
    assert named == ["conventional", "liquid", 300, 150]
    assert found.get("set_pressure_gauge") == 16e5


# ---- shapes of a sheet; one invented valve in each

FORM = {
    "Tag No.": "PSV-7", "MAWP": "16 barg", "Set pressure": "16 barg", "State": "vapour",
    "Molecular weight": "44.1", "Cp/Cv": "1.13", "Compressibility": "0.85",
    "Relieving temp": "62 °C", "Required flow": "6400 kg/h", "Orifice letter": "J",
}  # fmt: skip


def same_valve(reading):
    (row,) = reading.rows
    gas = [row.get(n) for n in ("molar_mass", "k", "Z", "letter", "phase", "mawp_gauge")]
    assert gas == [44.1, 1.13, 0.85, "J", "gas", 16e5], gas
    assert round(row.get("load") * 3600, 6) == 6400 and round(row.get("temperature"), 2) == 335.15
    assert not any(p.loss for p in reading.problems), [str(p) for p in reading.problems]


def form_lines(shape):
    pairs = list(FORM.items())
    if shape == "one column":
        return [["PRESSURE SAFETY VALVE", ""], *map(list, pairs)]
    if shape == "two columns":
        half = len(pairs) // 2
        return [[*a, "", *b] for a, b in zip(pairs[:half], pairs[half:])]
    if shape == "units in a third cell":
        return [[head, *value.split(" ", 1)] for head, value in pairs]
    if shape == "units before the value":
        return [[head, *reversed(value.split(" ", 1))] for head, value in pairs]
    heads, values = zip(*pairs)  # values under their labels, four to a line
    lines = []
    for at in range(0, len(pairs), 4):
        lines += [list(heads[at : at + 4]), list(values[at : at + 4])]
    return lines


SHAPES = ["one column", "two columns", "units in a third cell", "units before the value",
          "values under labels"]  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
def test_a_form_of_one_valve(tmp_path, shape):
    lines = form_lines(shape)
    book = openpyxl.Workbook()
    for line in lines:
        book.active.append(line)
    book.save(tmp_path / "form.xlsx")
    same_valve(datasheet.read(tmp_path / "form.xlsx"))
    text = "\n".join(";".join(map(str, line)) for line in lines)
    (tmp_path / "form.csv").write_bytes(text.encode("cp1252"))
    same_valve(datasheet.read(tmp_path / "form.csv"))


def test_a_list_on_its_side(tmp_path):
    lines = [["Item", "unit", "", ""], ["Tag", "", "A", "B"], ["Set pressure", "barg", 12, 14],
             ["State", "", "gas", "gas"], ["Load", "kg/h", 64, 65]]  # fmt: skip
    book = openpyxl.Workbook()
    for line in lines[1:]:
        book.active.append(line)
    book.save(tmp_path / "side.xlsx")
    found = datasheet.read(tmp_path / "side.xlsx")
    assert loads(found) == [64.0, 65.0] and [row.tag for row in found.rows] == ["A", "B"]
    assert not any(p.loss for p in found.problems)


PASTED = """
Tag No.    Set pressure (barg)   State    Flow rate (kg/h)   Orifice letter
PSV-1      12.5                  gas      6400.5             J
PSV-2      16                             100.25             D
"""


def test_columns_set_apart_by_spaces(tmp_path):
    path = tmp_path / "mail.csv"
    path.write_text(PASTED, "utf-8")
    found = datasheet.read(path)
    assert loads(found) == [6400.5, 100.25]
    assert [row.get("phase") for row in found.rows] == ["gas", None]


def test_a_pdf_with_text(tmp_path):
    fpdf = pytest.importorskip("fpdf")
    pdf = fpdf.FPDF()
    pdf.add_page()
    pdf.set_font("Courier", size=8)
    for line in PASTED.strip().splitlines():
        pdf.cell(0, 5, line, new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(tmp_path / "list.pdf"))
    found = datasheet.read(tmp_path / "list.pdf")
    assert loads(found) == [6400.5, 100.25]
    assert [row.get("letter") for row in found.rows] == ["J", "D"]
    assert any("read from the text of a PDF" in str(p) for p in found.problems)


def test_a_pdf_without_text_is_words(tmp_path):
    fpdf = pytest.importorskip("fpdf")
    pdf = fpdf.FPDF()
    pdf.add_page()
    pdf.rect(10, 10, 50, 50)
    pdf.output(str(tmp_path / "scan.pdf"))
    with pytest.raises(InputError, match="PDF without text"):
        datasheet.read(tmp_path / "scan.pdf")


def test_notes_under_a_list_are_no_valves(tmp_path):
    rows = [("A", 12, "gas", 64), ("Note 1: invented", "", "", ""), ("B", 12, "gas", 65),
            ("all pressures are those of the vessel's top", "", "", "")]  # fmt: skip
    found = datasheet.read(text_file(tmp_path, *rows))
    assert loads(found) == [64.0, 65.0]
    assert sum("taken for a note" in str(p) for p in found.problems) == 2


# ---- invented sheets of many shapes, five of them read by this test alone


def _beside(name):
    """A module that stands beside this one."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


vendor_sheets, six_valves = _beside("vendor_sheets"), _beside("six_valves")


def test_shares_of_fields_read(tmp_path):
    total, held = [0, 0, 0], 0
    for number, (name, write, truth, only_here) in enumerate(vendor_sheets.sheets()):
        folder = tmp_path / str(number)
        folder.mkdir()
        found = vendor_sheets.score(datasheet.read(write(folder)), truth)
        assert found[1] == 0, f"{name}: {found[1]} fields wrong"
        total, held = [a + b for a, b in zip(total, found)], held + only_here
    assert number + 1 >= 30 and held == 5
    assert total[0] >= 0.98 * sum(total), total


# ---- six messy valves, one fault in each, as files of five kinds ------------------------------


@pytest.mark.parametrize("form", six_valves.FORMATS)
def test_six_messy_valves_are_read_and_every_fault_is_told(tmp_path, form):
    given, answer = six_valves.FORMATS[form](tmp_path), read_mapping(six_valves.ANSWER)
    if isinstance(given, str):
        checked = datasheet.check_data(given, "pasted", mapping=answer)
    else:
        checked = datasheet.check_file(given, mapping=answer)
    assert six_valves.found_in(checked) == [f"PSV-{n}" for n in range(1, 7)]
    assert checked.losses == 0
    assert len(checked.results) == 6  # neither the title nor a note is a valve


def test_a_plain_bar_is_asked_in_every_form(tmp_path):
    for form in six_valves.FORMATS.values():
        given = form(tmp_path)
        text = isinstance(given, str)
        reading = datasheet.read_data(given, "pasted") if text else datasheet.read(given)
        assert any("say gauge or absolute" in str(p) for p in reading.problems)
        assert all("set_pressure_gauge" not in row.cells for row in reading.rows)


@pytest.mark.parametrize("text, mark, value", [
    ("4.500,5", ",", 4500.5), ("25.000,0", ",", 25000.0), ("1,234.50", ".", 1234.5),
    ("1.234.567,8", ",", 1234567.8), ("1,234.50", ",", None), ("4.500,5", ".", None),
    ("60,000", ".", None), ("64.000", ",", None), ("12,34.5", ".", None),
])  # fmt: skip
def test_both_marks_in_one_number_leave_no_doubt(text, mark, value):
    def read():
        return read_cell(COLUMNS["load"], text, "kg/h", 101_325.0, mark).value * 3600

    if value is None:
        with pytest.raises(InputError, match="thousands"):
            read()
    else:
        assert read() == pytest.approx(value)


def by_hand(tmp_path, start):
    """(Reading, truth) of a sheet that is typed in by hand."""
    name, write, truth, _ = next(
        one for one in vendor_sheets.by_hand_sheets() if one[0].startswith(start)
    )
    return datasheet.read(write(tmp_path)), truth


def test_a_boiler_s_list_on_its_side_in_customary_units(tmp_path):
    found, truth = by_hand(tmp_path, "boiler")
    assert vendor_sheets.score(found, truth) == (sum(map(len, truth)), 0, 0)
    # what is no heading of ours is said, none is passed over
    said = " ".join(found.said())
    assert "SERVICE" in said and "INLET SIZE AND RATING" in said and not found.losses


def test_a_numbered_form_in_two_columns_to_iso_4126(tmp_path):
    found, truth = by_hand(tmp_path, "form to ISO 4126")
    assert vendor_sheets.score(found, truth) == (sum(map(len, truth)), 0, 0)
    (row,) = found.rows
    assert row.get("inlet_class") == "PN 40" and not row.unreadable


def test_a_kind_of_valve_that_can_t_be_read_is_not_sized_as_a_conventional_one(tmp_path):
    heads = [*HEADS, "relieving temperature [°C]", "molar mass", "k", "Z", "device type",
             "letter", "total back pressure [bara]"]  # fmt: skip
    rows = [(tag, 10, "gas", 1000, 50, 30, 1.3, 1, kind, "J", 4)
            for tag, kind in (("A", "conventional"), ("B", "buckling plate"))]  # fmt: skip
    found = datasheet.check_file(text_file(tmp_path, *rows, heads=heads))
    first, second = ({c.name: c for c in checks} for _, checks in found.results)
    name = "area against the load"
    assert first[name].verdict == "agrees" and second[name].verdict == "not given"
    assert "'device type' can't be read" in second[name].reason
    assert second["back pressure of this kind of valve"].verdict == "not given"


GERMAN = {  # words of DIN EN ISO 4126-1 and of the PED in German, from memory
    "Ansprechdruck [bar ü]": ("set_pressure_gauge", "barg"), "Massenstrom [kg/h]": ("load", "kg/h"),
    "Medium": ("fluid", "-"), "Tag-Nr.": ("tag", "-"), "Abblasetemperatur [°C]":
    ("temperature", "°C"), "Max. zulässiger Druck [bar(ü)]": ("mawp_gauge", "barg"),
    "SCHLIESSDRUCKDIFFERENZ [%]": ("blowdown", "%"), "Schließdruckdifferenz [%]": ("blowdown", "%"),
    "Fremdgegendruck [barg]": ("superimposed_gauge", "barg"), "Realgasfaktor": ("Z", "-"),
    "Zuerkannter Massenstrom [kg/h]": ("rated_capacity", "kg/h"), "Aggregatzustand": ("phase", "-"),
    "Engster Strömungsquerschnitt [mm²]": ("actual_area", "mm2"),
}  # fmt: skip


@pytest.mark.parametrize("words", GERMAN)
def test_german_headings_of_one_meaning(words):
    found = match(words)
    assert (found.column.name, found.unit, found.fault) == (*GERMAN[words], "")


@pytest.mark.parametrize("words", [
    "Gegendruck [barg]", "Einstelldruck [barg]", "Ausflussziffer", "Position", "Nenndruck",
    "Temperatur [°C]", "Betriebstemperatur [°C]", "Abblaseleistung [kg/h]", "Ansprechdruck [bar]",
])  # fmt: skip
def test_german_headings_that_leave_open_what_they_mean_are_asked(words):
    assert match(words).fault


def test_a_german_list_is_read(tmp_path):
    heads = ["Tag-Nr.", "Ansprechdruck [bar ü]", "Aggregatzustand", "Massenstrom [kg/h]",
             "Eintrittsflansch"]  # fmt: skip
    found = datasheet.read(text_file(tmp_path, ("A", "12,5", "gasförmig", "1820,5",
                                                "DN 80 PN 40"), heads=heads))  # fmt: skip
    (row,) = found.rows
    assert row.get("set_pressure_gauge") == 12.5e5 and row.get("phase") == "gas"
    assert loads(found) == [1820.5] and row.get("inlet_class") == "PN 40" and not found.losses


def test_an_operating_temperature_is_not_taken_for_the_relieving_one(tmp_path):
    # colder than relieving: the area of a gas would come out too small
    heads = [*HEADS, "Operating temperature [°C]"]
    found = datasheet.read(text_file(tmp_path, ("A", "12", "gas", "1000", "40"), heads=heads))
    assert found.rows[0].get("temperature") is None
    assert "or what has no column here" in "".join(found.said())


@pytest.mark.parametrize("text, inlet, outlet", [
    ("PN 40 x PN 16", "PN 40", "PN 16"), ("PN40/16", "PN 40", "PN 16"),
    ("DN 80 PN 40", "PN 40", "PN 40"), ("DN80 PN40 x DN100 PN16", "PN 40", "PN 16"),
    ("pn 2,5", "PN 2.5", "PN 2.5"), ("300# x 150#", 300, 150), ("PN 41", None, None),
])  # fmt: skip
def test_flanges_by_pn(text, inlet, outlet):
    for name, value in (("inlet_class", inlet), ("outlet_class", outlet)):
        if value is None:
            with pytest.raises(InputError, match="such as PN 40"):
                read_cell(COLUMNS[name], text, "-", 101_325.0)
        else:
            assert read_cell(COLUMNS[name], text, "-", 101_325.0).value == value


def test_a_line_size_with_its_pn():
    assert read_cell(COLUMNS["inlet_size"], "DN 80 PN 40", "-", 101_325.0).value == 3.0


@pytest.mark.parametrize("pset, verdict", [("41", "differs"), ("39", "not given")])
def test_a_flange_bears_no_more_than_its_pn(tmp_path, pset, verdict):
    # EN 1092-1, from memory: PN 40 is at most 40 bar; what it bears hot is never said to hold
    heads = [*HEADS, "relieving temperature [°C]", "molar mass", "k", "Z", "letter",
             "inlet flange class"]  # fmt: skip
    row = ("A", pset, "gas", "1000", "50", "30", "1.3", "1", "J", "PN 40")
    found = datasheet.check_file(text_file(tmp_path, row, heads=heads))
    checks = {c.name: c for c in found.results[0][1]}
    rating = checks["inlet flange rating at temperature"]
    assert rating.verdict == verdict and rating.recomputed == pytest.approx(40.0)
    assert checks["set pressure against the inlet class"].verdict == "not given"


# ---- headings on several lines, several numbers in a cell, cases of one valve -------------------


@pytest.mark.parametrize("start", ["list with its units", "list with three", "pasted form"])
def test_headings_on_several_lines_and_strokes(tmp_path, start):
    found, truth = by_hand(tmp_path, start)
    assert vendor_sheets.score(found, truth) == (sum(map(len, truth)), 0, 0)
    assert not found.losses and len(found.rows) == len(truth)


def test_headings_on_three_lines_of_a_workbook(tmp_path):
    """The same list with its groups merged across, as an office writes it."""
    book = openpyxl.Workbook()
    for line in vendor_sheets.TWO_LINES:
        book.active.append([float(c) if c.replace(".", "").isdigit() else c or None for c in line])
    for cells in ("B1:D1", "G1:H1"):
        book.active.merge_cells(cells)
    book.save(tmp_path / "list.xlsx")
    found, (_, truth) = datasheet.read(tmp_path / "list.xlsx"), by_hand(tmp_path, "list with three")
    assert vendor_sheets.score(found, truth) == (sum(map(len, truth)), 0, 0)


def test_a_form_with_colons_in_a_pdf(tmp_path):
    write = vendor_sheets._pdf([[line] for line in vendor_sheets.STROKES.splitlines()])
    found, (_, truth) = datasheet.read(write(tmp_path)), by_hand(tmp_path, "pasted form")
    assert vendor_sheets.score(found, truth) == (sum(map(len, truth)), 0, 0)


def test_a_part_left_out_as_answered_leaves_the_other_one():
    one, both = "Relieving temperature: 62 °C", "Temperature operating / relieving: 45 / 62 °C"
    text = vendor_sheets.STROKES.replace(one, both)
    asked = datasheet.read_data(text, "pasted")
    assert asked.rows[0].get("temperature") == pytest.approx(335.15)
    answer = asked.mapping.replace("operating [°C]|Temperature,relieving temperature",
                                   "operating [°C]|Temperature,")  # fmt: skip
    assert answer != asked.mapping
    found = datasheet.read_data(text, "pasted", mapping=read_mapping(answer))
    assert found.rows[0].get("temperature") == pytest.approx(335.15)
    assert not found.losses and asked.losses == 1


def read_lines(*lines):
    return datasheet.read_data("\n".join(lines), "list.csv")


def test_two_units_for_one_number_are_asked():
    found = read_lines("Tag No.;Set pressure (barg);State;Required flow", ";psig;;kg/h",
                       "PSV-1;150;gas;2500")  # fmt: skip
    (row,) = found.rows
    assert "set_pressure_gauge" not in row.cells and row.get("load") == pytest.approx(2500 / 3600)
    assert any("barg or psig" in words for words in found.said())


def test_a_unit_below_a_heading_that_is_asked():
    found = read_lines("Tag No.;Back pressure (bar);State;Required flow", ";barg;;kg/h",
                       "PSV-1;15;gas;2500")  # fmt: skip
    assert not {"back_pressure", "built_up"} & found.rows[0].cells.keys()
    assert any("Back pressure" in words for words in found.said())
    assert found.rows[0].get("load") == pytest.approx(2500 / 3600)


def test_a_plain_bar_below_a_heading_is_asked():
    found = read_lines(
        "Tag No.;Set pressure;State;Required flow", ";bar;;kg/h", "PSV-1;15;gas;2500"
    )
    assert "set_pressure_gauge" not in found.rows[0].cells
    assert any("say gauge or absolute" in words for words in found.said())


def test_a_valve_without_numbers_is_no_line_of_headings():
    found = read_lines("Tag;State;Type;Load [kg/h];Set pressure [barg]", "SPARE;gas;Conv.;;",
                       "PSV-1;gas;Conv.;2500;15")  # fmt: skip
    assert [row.tag for row in found.rows] == ["SPARE", "PSV-1"]
    assert found.rows[1].get("set_pressure_gauge") == 15e5


@pytest.mark.parametrize("second, read", [
    ("8/7.9", (8e5, 7.9e5)), ("8 / 7.9", (8e5, 7.9e5)), ("-", (None, None)), ("", (None, None)),
])  # fmt: skip
def test_two_numbers_in_a_cell(second, read):
    found = read_lines("Tag;Set/CDTP (barg);Load (kg/h);State", "A;12.5/12.3;2500;gas",
                       f"B;{second};900;gas")  # fmt: skip
    names = "set_pressure_gauge", "cold_differential_gauge"
    assert [found.rows[0].get(n) for n in names] == pytest.approx([12.5e5, 12.3e5])
    assert tuple(found.rows[1].get(n) for n in names) == pytest.approx(read)


@pytest.mark.parametrize("second", ["8", "8/7.9/7", "see note"])
def test_a_column_whose_cells_hold_another_count_is_left_out_and_said(second):
    found = read_lines("Tag;Set/CDTP (barg);Load (kg/h);State", "A;12.5/12.3;2500;gas",
                       f"B;{second};900;gas")  # fmt: skip
    assert all("set_pressure_gauge" not in row.cells for row in found.rows)
    assert any("'Set/CDTP (barg)'" in words for words in found.said())


@pytest.mark.parametrize("heading", ["Cp/Cv", "Required flow [kg/h]", "k / unknown thing"])
def test_a_stroke_that_parts_nothing(heading):
    found = read_lines(f"Tag;{heading};State;Set pressure [barg]", "A;1.3;gas;10")
    assert len(found.headings) == 4 and found.rows[0].get("set_pressure_gauge") == 1e6


def test_cases_of_one_valve_side_by_side():
    found = read_lines("Tag No.;PSV-77;;", "Case;Fire;Blocked outlet;Valve failure",
                       "Required flow kg/h;12000;8500;15200", "Relieving temperature °C;180;65;60",
                       "MW;44;44;43", "State;gas;gas;gas", "Set pressure barg;15;;",
                       "Selected orifice;N;;", "Calculated area mm2;2600;;")  # fmt: skip
    # the area that was calculated is that of one case: of which others none is stated
    assert ["required_area" in row.cells for row in found.rows] == [True, False, False]
    assert [row.get("cause") for row in found.rows] == ["Fire", "Blocked outlet", "Valve failure"]
    assert [(row.tag, row.get("letter")) for row in found.rows] == [("PSV-77", "N")] * 3
    assert [row.get("set_pressure_gauge") for row in found.rows] == [15e5] * 3
    assert [row.get("molar_mass") for row in found.rows] == [44.0, 44.0, 43.0]
    assert any("further cases of the first valve" in words for words in found.said())


def test_columns_that_say_otherwise_of_the_valve_are_no_cases_of_it():
    found = read_lines("Tag No.;PSV-77;", "Case;Fire;Blocked outlet", "MW;44;44",
                       "Required flow kg/h;12000;8500", "State;gas;gas", "Set pressure barg;15;16",
                       "Selected orifice;N;")  # fmt: skip
    assert [row.get("tag") for row in found.rows] == ["PSV-77", None]
    assert "letter" not in found.rows[1].cells


def test_a_list_on_its_side_with_a_tag_each_takes_nothing_from_the_first():
    found = read_lines("Tag No.;PSV-77;PSV-78", "Case;Fire;Blocked outlet",
                       "Required flow kg/h;12000;8500", "State;gas;gas", "Set pressure barg;15;16",
                       "MW;44;", "Selected orifice;N;")  # fmt: skip
    assert "letter" not in found.rows[1].cells and "molar_mass" not in found.rows[1].cells


@pytest.mark.parametrize("text, value", [
    ("12.5 (note 1)", 12.5e5), ("12.5*", 12.5e5), ("12.5 barg **", 12.5e5),
    ("12.5 see note 3", 12.5e5), ("12.5 (13)", None), ("12.5 (1)", None), ("note 1", None),
    ("8-10", None), ("8...10", None), ("8 to 10 barg", None), ("~12", None),
])  # fmt: skip
def test_the_mark_of_a_note_is_said_and_a_range_is_asked(text, value):
    found = read_lines("Tag;Set pressure [barg];Load [kg/h];State", f"A;{text};2500;gas")
    assert found.rows[0].get("set_pressure_gauge") == value
    said = " ".join(found.said())
    assert ("look at its note" in said) == (value is not None) == (not found.losses)
    assert ("is a range" in said) == (text[0] == "8")


def test_titles_with_colons_above_a_list_make_no_form():
    found = read_lines("Project: none", "Client: nobody", "Document: 1", "Revision: A",
                       "Tag;Set pressure [barg];Load [kg/h];State", "A;12.5;2500;gas")  # fmt: skip
    assert found.rows[0].get("set_pressure_gauge") == 12.5e5


CASES = "Tag;Case;Set pressure [barg];Load [kg/h];State;MW;Letter"


def test_a_row_without_a_tag_is_another_case_of_the_valve_above():
    found = read_lines(CASES, "PSV-1;Fire;12.5;2500;gas;28;J", ";Blocked outlet;;3100;gas;30;",
                       ";Tube rupture;x;900;gas;18;", ";;;900;gas;18;", "PSV-2;Fire;8;900;gas;18;H",
                       "Note 1: a note", ";Power failure;;900;gas;18;")  # fmt: skip
    other = read_lines(CASES, "PSV-1;Fire;12.5;2500;gas;28;J", ";Fire;13;3100;gas;30;",
                       ";Fire;12.5;3100;gas;30;K", ";Fire;12.5;3100;gas;30;")  # fmt: skip
    # what says otherwise of the valve is another valve; what follows it, too
    assert [row.get("tag") for row in other.rows] == ["PSV-1", None, None, None]
    seen = [(r.get("tag"), r.get("set_pressure_gauge"), r.get("letter")) for r in found.rows]
    assert seen == [
        ("PSV-1", 12.5e5, "J"), ("PSV-1", 12.5e5, "J"),
        ("PSV-1", None, "J"),  # what its own cell says can't be read: nothing stands in for it
        (None, None, None), ("PSV-2", 8e5, "H"), (None, None, None),
    ]  # fmt: skip
    assert [row.get("molar_mass") for row in found.rows[:3]] == [28.0, 30.0, 18.0]
    assert sum("another case of PSV-1" in words for words in found.said()) == 2


def test_a_tag_merged_down_over_its_cases(tmp_path):
    book = openpyxl.Workbook()
    for line in (CASES.split(";"), ["PSV-1", "Fire", 12.5, 2500, "gas", 28, "J"],
                 [None, "Blocked outlet", None, 3100, "gas", 30, None],
                 ["PSV-2", "Fire", 8, 900, "gas", 18, "H"],
                 ["PSV-2", "Fire", 8, 900, "gas", 18, "H"]):  # fmt: skip
        book.active.append(line)
    book.active.merge_cells("A2:A3")
    book.save(tmp_path / "list.xlsx")
    found = datasheet.read(tmp_path / "list.xlsx")
    seen = [(r.tag, r.get("set_pressure_gauge"), r.get("letter")) for r in found.rows]
    assert seen == [("PSV-1", 12.5e5, "J")] * 2 + [("PSV-2", 8e5, "H")] * 2
    assert sum("another case" in words for words in found.said()) == 1


@pytest.mark.parametrize("line", ["UNIT 100;;;;;;", "Total;;;5000;;;", CASES, "Page 2;;;;;;"])
def test_titles_totals_and_headings_again_are_no_valves(line):
    found = read_lines(CASES, "PSV-1;Fire;12.5;2500;gas;28;J", line, "PSV-2;Fire;8;900;gas;18;H")
    assert [row.tag for row in found.rows] == ["PSV-1", "PSV-2"] and not found.losses
    said = " ".join(found.said())
    assert (line == CASES) or line.split(";")[0] in said


@pytest.mark.parametrize("line", ["PSV-9;;;;;;", "TOTAL-1;Fire;8;900;gas;18;H", "UNITY-1;;;8;;;"])
def test_what_may_be_a_valve_is_a_valve(line):
    found = read_lines(CASES, "PSV-1;Fire;12.5;2500;gas;28;J", line)
    assert [row.tag for row in found.rows] == ["PSV-1", line.split(";")[0]]


def test_a_table_between_strokes():
    found = read_lines("| Tag | Set pressure [barg] | Load [kg/h] | State |",
                       "|-----|--------------------:|:-----------|-------|",
                       "| PSV-1 | 12.5 | 2500 | gas |", "| PSV-2 |  | 900 | gas |")  # fmt: skip
    assert [(r.tag, r.get("set_pressure_gauge")) for r in found.rows] == [
        ("PSV-1", 12.5e5), ("PSV-2", None),
    ]  # fmt: skip
    assert not found.losses
