"""The page to file: both forms read back, hostile text, same bytes, whole or not at all."""

import datetime
import hashlib
import io
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest

from relieflib import datasheet
from relieflib.datasheet.recompute import recompute
from relieflib.datasheet.verdict import digits
from relieflib.errors import InputError
from relieflib.expressions import CONSTANTS, _math_name, to_mathml
from relieflib.nozzle.gas import Gas
from relieflib.protection.trips import Trip
from relieflib.report import CAUTION, pdf_page as report_pdf
from relieflib.report.page import (
    Columns,
    Figure,
    Heading,
    Report,
    Table,
    datasheet_report,
    safeguard_blocks,
    sizing_report,
)
from relieflib.safeguard import Valve, matrix
from relieflib.sizing import ReliefLoad, size
from relieflib.summary import compare

DATA = Path(__file__).parents[1] / "data" / "datasheets"
DAY = datetime.date(2026, 3, 31)
EMPTY = {"br", "img", "meta", "col"}


class Page(HTMLParser):
    """A page read back: its text, its tags in order, and whether each was closed."""

    def __init__(self, text):
        super().__init__()
        self.open, self.tags, self.words = [], [], []
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        assert len(dict(attrs)) == len(attrs)
        self.tags.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open.pop() == tag, (tag, self.getpos())

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self):
        return bare("".join(self.words))


def bare(text):
    """Text without white space, so that line breaks of a cell don't matter."""
    return re.sub(r"\s", "", text)


def pdf_of(report):
    return pypdf.PdfReader(io.BytesIO(report.pdf()))


def pdf_text(report):
    return bare("".join(page.extract_text() for page in pdf_of(report).pages))


def of(name, **given):
    path = DATA / name
    return datasheet_report(datasheet.check_file(path), **{"date": DAY} | given)


@pytest.fixture(scope="module")
def both():
    """(FileCheck, report, text of its HTML, text of its PDF) of both demonstration files."""
    made = []
    for name in ("published-examples.csv", "messy-example.csv"):
        checked = datasheet.check_file(DATA / name)
        report = datasheet_report(checked, DAY, "A. Nother", "Unit 7", "all")
        made.append((checked, report, Page(report.html()).text, pdf_text(report)))
    return made


def test_every_number_of_the_checks_stands_in_both_forms(both):
    for checked, _, *texts in both:
        for text in texts:
            for row, checks in checked.results:
                assert bare(f"(row {row.number})") in text
                for c in filter(datasheet.telling, checks):
                    for value in (c.stated, c.recomputed):
                        if not isinstance(value, str) and value is not None:
                            assert digits(value) in text, (row.tag, c.name, value)
                    reason = re.sub(r"\bmawp\b", "MAWP", c.reason)
                    assert bare(reason[:300]) in text, (row.tag, c.name)
                    assert all(bare(part) in text for part in c.source.split(";"))


def test_published_numbers_stand_in_both_forms(both):
    # printed required areas: API 520-I examples 1, 2, 4 and 5; letter areas: API 526, table 1
    printed = ("5.73in²", "6.55in²", "1.705in²", "4.93in²", "6.38in²", "11.05in²", "1.838in²")
    for text in both[0][2:]:
        assert all(number in text for number in printed)
        assert "97.2psia" in text and "348.333K" in text and "53500lb/h" in text  # 627 °R: 348.33 K


def test_the_working_stands_in_both_forms(both):
    checked, _, page, pdf = both[0]
    for row, _ in checked.results:
        for step in recompute(row).sizing.working:
            for text in (page, pdf):
                assert bare(f"{step.symbol}, {step.meaning}") in text
                assert all(bare(part) in text for part in step.source.split(";"))
                assert f"{step.value:.6g}" in text or f"{step.value:.0f}" in text
                for name, value in step.inputs.items():
                    assert f"{value:.6g}" in text or f"{value:.0f}" in text, name


def test_opening_and_closing(both):
    for checked, _, *texts in both:
        name = checked.reading.file
        total = hashlib.sha256((DATA / name).read_bytes()).hexdigest()
        for text in texts:
            for words in (name, total, "2026-03-31", "A.Nother", "Unit7", "101325Paabs.",
                          "Python" + ".".join(map(str, sys.version_info[:3])), "numpy", "scipy",
                          "preparedby", "checkedby", "remarks", "localcode", "licensed",
                          bare(CAUTION.replace("**", ""))):  # fmt: skip
                assert words in text, words
            for problem in checked.reading.problems:
                assert bare(problem.sentence) in text
            assert str(Path(__file__).parents[1]) not in text


def test_not_protected_comes_first(both):
    for text in both[1][2:]:
        first = text.index("Whatdiffers,mostseverefirst")
        part = text[first : text.index("Allvalves", first)]
        places = [part.rindex("notprotected"), part.rindex("maynotworkasmeant")]
        assert places[0] < part.index("maynotworkasmeant")
        assert places[1] < part.index("anumbertocorrect")
        assert part.count("notprotected") == 6  # of the file: PSV-202 twice, 206, 210 three times


def _value(node, names):
    """Value of MathML by its structure alone; shares nothing with what wrote it."""
    import math

    def text(node):
        parts = [text(child) for child in node]
        if node.tag == "mfrac":
            return f"(({parts[0]})/({parts[1]}))"
        if node.tag == "msup":
            return f"(({parts[0]})**({parts[1]}))"
        if node.tag == "msqrt":
            return f"sqrt({''.join(parts)})"
        if node.tag == "msub" or node.tag == "mi":
            key = "".join(node.itertext())
            return f"names[{key!r}]" if key in names else key
        signs = {"−": "-", "⋅": "*", "×": "*"}
        return "".join(parts) if len(node) else signs.get(node.text, node.text)

    return eval(text(node), {"names": names, "sqrt": math.sqrt, "ln": math.log, "exp": math.exp,
                             "max": max, "min": min})  # fmt: skip


def test_mathml_says_what_the_equation_says(both):
    seen = 0
    for checked, *_ in both:
        for row, _ in checked.results:
            sizing = recompute(row).sizing
            for step in (sizing.working if sizing else ()):  # fmt: skip
                if not step.equation:
                    continue
                tree = ElementTree.fromstring(to_mathml(step.symbol, step.equation))[0]
                names = {"psi": CONSTANTS["PSI"], "π": CONSTANTS["pi"]}
                for name, value in step.inputs.items():
                    key = "".join(ElementTree.fromstring(_math_name(_symbol(name))).itertext())
                    names[key] = value
                right = ElementTree.Element("mrow")
                right.extend(list(tree)[2:])
                assert _value(right, names) == pytest.approx(step.evaluate(), rel=1e-12)
                seen += 1
    assert seen > 40


def _symbol(name):
    from relieflib.symbols import symbol

    return symbol(name).symbol


@pytest.mark.parametrize(
    ("equation", "value"),
    [("a - (b - c)", 6.0), ("a/(b/c)", 7.5), ("(a/b)**c", 15.625), ("-(a + b)**c", -343.0),
     ("a*(b - c)", -5.0), ("(a**b)**c", 15625.0), ("a**-b", 0.04), ("2*(-a)", -10.0)],
)  # fmt: skip
def test_mathml_keeps_the_brackets(equation, value):
    tree = ElementTree.fromstring(to_mathml("A", equation))[0]  # by hand: a 5, b 2, c 3
    right = ElementTree.Element("mrow")
    right.extend(list(tree)[2:])
    assert _value(right, {"a": 5.0, "b": 2.0, "c": 3.0}) == value


def test_html_needs_no_network_and_is_sound(both):
    for _, report, *_ in both:
        text = report.html()
        page = Page(text)
        tags = [tag for tag, _ in page.tags]
        assert not {"script", "link", "iframe", "object", "base", "form"} & set(tags)
        style = text[text.index("<style>") : text.index("</style>")]
        assert "url(" not in style and "@import" not in style and "@page" in style
        ids = [a["id"] for _, a in page.tags if "id" in a]
        assert len(ids) == len(set(ids))
        for tag, a in page.tags:
            assert not any(name.startswith("on") for name in a)
            assert a.get("src", "data:image/png;base64,").startswith("data:image/png;base64,")
            assert a.get("href", "#" + ids[0])[1:] in ids
            assert tag != "th" or a["scope"] in ("row", "col")
            assert tag != "img" or len(a["alt"]) > 30
        assert dict(page.tags)["html"] == {"lang": "en"} and tags.count("h1") == 1
        levels = [int(t[1]) for t in tags if re.fullmatch("h[1-6]", t)]
        assert all(b <= a + 1 for a, b in zip(levels, levels[1:], strict=False))


HOSTILE = {
    "script": "<script>alert(1)</script>", "attribute": "\" onload='x' <img src=x>",
    "entity": "&lt;b&gt; & Co", "emoji": "PSV \U0001f9ef 1", "rtl": "صمام \u202eabc",
    "control": "PSV\x07\x1b[31m-1", "long": "L" * 450, "formula": "=1+1",
    "style": "</style></title><!-- x", "markdown": "**bold** {nb} $x$",
}  # fmt: skip


def hostile(tmp_path):
    import csv

    path = tmp_path / "hostile.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["tag", "protected item", "mawp [psig]", "set pressure [psig]", "phase",
                      "relieving temperature [°F]", "molar mass", "k", "Z", "load [lb/h]",
                      "required area [in2]", "letter", "cause", "notes"])  # fmt: skip
        for text in HOSTILE.values():
            out.writerow([text, text, 150, 160, "gas", 120, 44.1, 1.13, 0.86, 20000, 0.4, "G",
                          text, text])  # fmt: skip
    return path


def test_hostile_text_stays_text(tmp_path):
    path = hostile(tmp_path)
    report = datasheet_report(datasheet.check_file(path), DAY, "<i>A</i>", "a & b", "all")
    page, pdf = Page(report.html()), pdf_text(report)
    tags = {tag for tag, _ in page.tags}
    assert not {"script", "i", "b"} & tags
    assert all(a["src"].startswith("data:") for tag, a in page.tags if tag == "img")
    for text in (page.text, pdf):
        for words in ("<script>alert(1)</script>", "&lt;b&gt;&Co", "PSV??[31m-1", "=1+1",
                      "</style></title><!--x", "**bold**", "{nb}", "$x$", "<i>A</i>", "a&b",
                      "L" * 200 + "...", "L" * 40 + "..."):  # fmt: skip
            assert words in text, words
        assert "L" * 401 not in text
        assert not any(ord(c) < 32 or c == "\u202e" for c in text)
    assert "PSV\U0001f9ef1" in page.text and "PSV[U+1F9EF]1" in pdf
    assert "صمام" in page.text and "صمام" in pdf  # the reader turns it round from the page


def test_a_hostile_name_of_a_file_stays_in_the_style_sheet():
    name = 'a"}</style><b>\\.csv'
    text = Report("t", (), DAY, about=name).html()
    page = Page(text)
    assert [tag for tag, _ in page.tags if tag in ("style", "b")] == ["style"]
    style = text[text.index("<style>") : text.index("</style>")]
    assert r'"a\22 }\3c /style\3e \3c b\3e \5c .csv, 2026-03-31"' in style
    assert name in pdf_of(Report("t", (), DAY, about=name)).pages[0].extract_text()


def test_long_cells_do_not_leave_the_page():
    words = Table(("a", "b"), ((("W" * 390 + "\n") * 30, "x" * 5000),), (10, 90))
    report = Report("t", (words,), DAY)
    places = []
    for page in pdf_of(report).pages:
        page.extract_text(visitor_text=lambda t, cm, tm, f, s: places.append((tm[4], tm[5])))
    assert places and all(0 <= x <= 595 and 0 <= y <= 842 for x, y in places)
    assert "xxx..." in pdf_text(report) and "xxx..." in Page(report.html()).text


@pytest.mark.parametrize("form", ["html", "pdf"])
def test_same_inputs_and_date_same_bytes(form):
    def made(date=DAY):
        return getattr(of("published-examples.csv", date=date), form)()

    assert made() == made()
    assert made() != made(DAY + datetime.timedelta(1))


def test_same_bytes_in_another_process(tmp_path):
    code = ("import sys, hashlib; from pathlib import Path; from relieflib import datasheet;"
            "from relieflib.report.page import datasheet_report as d; p = Path(sys.argv[1]);"
            "r = d(datasheet.check_file(p), '2026-03-31');"
            "print(hashlib.sha256(r.pdf() + r.html().encode()).hexdigest())")  # fmt: skip
    sums = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code, str(DATA / "messy-example.csv")], text=True, check=True,
            capture_output=True, env=os.environ | {"PYTHONHASHSEED": seed, "TZ": f"X{seed}"},
            cwd=DATA.parents[1],
        )  # fmt: skip
        sums.add(done.stdout)
    assert len(sums) == 1


def test_pdf_has_what_a_filed_page_needs(both):
    for checked, report, *_ in both:
        pdf = pdf_of(report)
        count = len(pdf.pages)
        assert pdf.metadata.title == "Relief valve datasheet check"
        assert pdf.metadata.author == "A. Nother" and pdf.metadata.subject == "Unit 7"
        assert pdf.metadata.creation_date.date() == DAY
        assert pdf.trailer["/Root"]["/Lang"] == "en"
        names = [entry.title for entry in pdf.outline if not isinstance(entry, list)]
        for row, _ in checked.results:
            assert any(n.endswith(f"(row {row.number})") for n in names)
        assert {"Summary", "All valves", "Sources", "Prepared and checked"} <= set(names)
        for number, page in enumerate(pdf.pages, start=1):
            text = page.extract_text()
            assert f"page {number} of {count}" in text
            assert f"{checked.reading.file}   2026-03-31" in text
            assert [round(float(v)) for v in page.mediabox[2:]] == [595, 842]
            for font in page["/Resources"]["/Font"].values():
                below = font.get_object()["/DescendantFonts"][0].get_object()
                assert "/FontFile2" in below["/FontDescriptor"]
                assert re.match(r"/[A-Z]{6}\+", font.get_object()["/BaseFont"])  # a subset


def test_pdf_repeats_table_headings_and_keeps_rows_whole():
    rows = tuple((f"row {i}", "first line\nsecond line\nthird line") for i in range(60))
    report = Report("t", (Table(("what", "lines"), rows, (20, 80)),), DAY, "x.csv")
    pages = [page.extract_text() for page in pdf_of(report).pages]
    assert len(pages) > 2
    for text in pages:
        assert text.count("what") == 1
        assert text.count("row ") == text.count("first line") == text.count("third line")


def test_contents_name_the_right_pages(tmp_path):
    files = [DATA / "messy-example.csv", DATA / "published-examples.csv"]
    checked = [datasheet.check_file(f) for f in files]
    report = datasheet_report(checked, DAY, unread=["c.csv: is empty"])
    pages = [bare(p.extract_text()) for p in pdf_of(report).pages]
    assert "c.csv:isempty." in pages[0] and "c.csv:isempty." in Page(report.html()).text
    listed = re.findall(r"(PSV-\d+\(row\d+\),messy-example.csv|Sources|Allvalves)(\d+)", pages[0])
    assert len(listed) >= 9
    for words, number in listed:
        assert words in pages[int(number) - 1], words


def test_pages_of_their_own():
    def names(**given):
        blocks = of("messy-example.csv", **given).blocks
        return {b.text for b in blocks if isinstance(b, Heading) and "(row" in b.text}

    assert len(names()) == len(names(pages="all")) == 11
    assert len(names(pages="differing")) == 9  # 201 and 211: nothing differs, nothing unreadable
    assert not names(pages="none")
    with pytest.raises(InputError, match="differing, all, none"):
        of("messy-example.csv", pages="some")


def test_many_differences_are_not_all_listed_and_it_is_said(tmp_path):
    head, *rows = hostile(tmp_path).read_text("utf-8").splitlines()
    path = tmp_path / "many.csv"
    path.write_text("\n".join([head, *[rows[-1].replace("**bold**", str(i)) for i in range(90)]]))
    checked = datasheet.check_file(path)
    assert checked.differs > 200
    text = Page(datasheet_report(checked, DAY).html()).text
    assert f"of{checked.differs}differences" in text
    assert text.count("ownpage") == 90  # more than twelve: those that differ


def test_date_of_a_report():
    checked = datasheet.check_file(DATA / "messy-example.csv")
    with pytest.raises(InputError, match="year-month-day"):
        datasheet_report(checked, date="31.3.2026")
    assert datasheet_report(checked).date == datetime.date.today()


@pytest.mark.parametrize("suffix", [".html", ".pdf"])
def test_save_refuses_to_replace(tmp_path, suffix):
    path = tmp_path / f"a{suffix}"
    report = of("published-examples.csv", pages="none")
    assert report.save(path) == path and path.stat().st_size > 5000
    before = path.read_bytes()
    with pytest.raises(InputError, match="exists already"):
        report.save(path)
    assert path.read_bytes() == before
    of("messy-example.csv", pages="none").save(path, overwrite=True)
    assert path.read_bytes() != before
    with pytest.raises(InputError, match=".html or .pdf"):
        report.save(tmp_path / "a.docx")
    with pytest.raises(InputError, match="can't be written"):
        report.save(tmp_path / "missing" / f"a{suffix}")
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("suffix", [".html", ".pdf"])
@pytest.mark.parametrize("stop", [KeyboardInterrupt, MemoryError])
def test_a_failure_half_way_leaves_what_was_there(tmp_path, suffix, stop, monkeypatch):
    def broken():
        raise stop

    report = Report("t", (Table(("a",), (("b",),), (1,)), Figure(broken, "none")), DAY)
    with pytest.raises(stop):
        report.save(tmp_path / f"a{suffix}")
    assert not list(tmp_path.iterdir())

    def full(file):
        raise OSError(28, "No space left on device")

    good, old = of("published-examples.csv", pages="none"), tmp_path / f"old{suffix}"
    old.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    for path in (old, tmp_path / f"new{suffix}"):
        with pytest.raises(InputError, match="no space left"):
            good.save(path, overwrite=True)
    assert [p.name for p in tmp_path.iterdir()] == [old.name] and old.read_bytes() == b"old"


def test_disk_without_hard_links(tmp_path, monkeypatch):
    def none(a, b):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    report = of("published-examples.csv", pages="none")
    assert report.save(tmp_path / "a.html").stat().st_size > 5000
    with pytest.raises(InputError, match="exists already"):
        report.save(tmp_path / "a.html")
    assert len(list(tmp_path.iterdir())) == 1


def test_every_formula_is_drawn_inside_the_page(both):
    for checked, *_ in both:
        for row, _ in checked.results:
            sizing = recompute(row).sizing
            for step in sizing.working if sizing else ():
                width = report_pdf._formula(step.latex)[0] * report_pdf.MM if step.equation else 0
                assert width < report_pdf.WIDE - report_pdf.INDENT


def test_sizing_report():
    # the loads of API 520-I (2020), examples 1 and 2: 24 270 kg/h; printed 3 698 mm2, letter P
    # (5.73 in2) and 6.55 in2, letter Q, where F2 is read from a chart
    gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    loads = [ReliefLoad(c, w / 3600, gas) for c, w in (("reverse_flow", 100), ("closed_outlet",
                                                                               24270))]  # fmt: skip
    comparison = compare([size(load) for load in loads])
    matrix = Table(("cause", "safeguard"), (("closed outlet", "none credited <x>"),), (1, 1))
    report = sizing_report(comparison, "V-101 <b>", DAY, "A. Nother", "Unit 7", more=[matrix])
    page = Page(report.html())
    for text in (page.text, pdf_text(report)):
        for words in ("V-101<b>", "Governingcase", "Closedoutletneedsthelargestarea", "letterP",
                      "24270kg/h", "Working:closedoutlet", "Working:reverseflow", "4P6",
                      "nonecredited<x>", "API520-I(2020),5.6", "A.Nother"):  # fmt: skip
            assert words in text, words
        area = float(re.search(r"largestarea,(\d+)", text).group(1))
        assert area == pytest.approx(3698, rel=0.002)  # C rounded to 328 in print
    assert any("governs" in a["alt"] for tag, a in page.tags if tag == "img")


def test_sizing_report_with_its_safeguards():
    # API 526: K, 1186 mm2, is too small for the 3698 mm2 of API 520-I example 1; P, 4116, is not
    load = ReliefLoad(
        "closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    )
    known = dict(set_pressure_gauge=517e3, mawp_gauge=517e3, certified_for=("gas",), inlet="seen",
                 outlet="seen", position="seen", destination="flare", takes=("gas",),
                 back_pressure=101_325.0)  # fmt: skip
    valves = [
        Valve("PSV-1", designation="3K4", **known),
        Valve("PSV-2", designation="4P6", **known),
    ]
    found = matrix(valves, {"outlet shut <x>": load})
    report = sizing_report(compare({"outlet shut <x>": size(load)}), "V-101", DAY,
                           more=safeguard_blocks(found))  # fmt: skip
    for text in (Page(report.html()).text, pdf_text(report)):
        for words in ("outletshut<x>", "doesnotcover,area32", "covers,area111", "PSV-1", "1x3K4",
                      "valve,ornotknown:none", "kg/h(67.9%)short"):  # fmt: skip
            assert words in text, words


def test_a_trip_stands_in_the_matrix_of_the_page():
    load = ReliefLoad("closed_outlet", 2.0, Gas(12e5, 313.0, molar_mass=29.0, k=1.4))
    valve = Valve("PSV-1", "V-1", set_pressure_gauge=10e5, designation="3K4")
    by_hand = {"XV-1": ((), "doesnotcover(action)"), "XV-2": (("outlet shut",), "notknown(time,")}
    for tag, (acts, words) in by_hand.items():
        found = matrix([valve], {"outlet shut": load}, [Trip(tag, "V-1", acts_on=acts)])
        report = sizing_report(compare({"outlet shut": size(load)}), "V-1", DAY,
                               more=safeguard_blocks(found))  # fmt: skip
        text = Page(report.html()).text
        assert words in text and tag in text and "valve,ornotknown:outletshut" in text


@pytest.mark.parametrize("checked", [None, [], datasheet.FileCheck(datasheet.Reading("a.csv"))])
def test_nothing_checked_is_no_report(checked):
    with pytest.raises(InputError, match="no row was read"):
        datasheet_report(checked, DAY)


@pytest.mark.parametrize("style", ["", "B", "I"])
@pytest.mark.parametrize("size, width", [(8.0, 15.0), (9.0, 60.0), (7.5, 5.0)])
def test_lines_of_the_pdf_fit_and_lose_nothing(style, size, width):
    # widths by the PDF library itself
    sheet = report_pdf.Sheet("P", "mm", "A4")
    sheet.use_fonts()
    texts = ("", "one", "W" * 70, "API 520-I (2020), 5.6; API 526", "a\nb c", "  two  blanks ",
             "short " + "Druckentlastungsventil" * 4 + " ends", "0.0037 m² ± 0.05 %")  # fmt: skip
    for text in texts:
        lines = sheet.lines(text, width, size, style)
        assert "".join("".join(lines).split()) == "".join(text.split())
        sheet.set_font("body", style, size)
        assert all(sheet.get_string_width(line) <= width + 1e-6 for line in lines)


def test_areas_among_the_letters_stand_in_the_pdf_as_lines():
    page = pdf_of(of("published-examples.csv", pages="all"))
    assert not any(list(p.images) for p in page.pages)  # nothing is a picture of so many dots
    words = bare("".join(p.extract_text() for p in page.pages))
    assert words.count("(logscale)") == 4
    assert "Recomputed5.734in²,stated5.73in²,installed6.38in²." in words


def boxes_of(monkeypatch, report):
    """(page, left, top, right, bottom, text) in mm of all that is written, capitals' height."""
    found, text = [], report_pdf.Sheet.text

    def kept(pdf, x, y, words=""):
        size, page = pdf.font_size, pdf.page_no()
        wide = pdf.get_string_width(words)
        found.append((page, x, y - 0.7 * size, x + wide, y, words))
        return text(pdf, x, y, words)

    with monkeypatch.context() as patch:
        patch.setattr(report_pdf.Sheet, "text", kept)
        report.pdf()
    return found


def overprinted(boxes):
    """Pairs of texts of which one stands on the other."""
    short = [b for b in boxes if b[5].strip() and not set(b[5]) <= set("()[]√")]  # these reach over
    return [(a[5], b[5]) for i, a in enumerate(short) for b in short[i + 1 :] if a[0] == b[0]
            and min(a[3], b[3]) > max(a[1], b[1]) + 0.1
            and min(a[4], b[4]) > max(a[2], b[2]) + 0.1]  # fmt: skip


def test_no_text_stands_on_another(monkeypatch):
    assert not overprinted(boxes_of(monkeypatch, of("published-examples.csv")))


def test_an_equation_keeps_clear_of_what_stands_below_it(monkeypatch):
    boxes = boxes_of(monkeypatch, of("published-examples.csv"))
    signs = [b for b in boxes if len(b[5]) == 1 and b[4] - b[2] > 1.0]
    for sign in signs:
        below = [b[2] - sign[4] for b in boxes if len(b[5]) > 3 and b[0] == sign[0]
                 and b[1] < sign[3] and b[3] > sign[1] and b[4] > sign[4]]  # fmt: skip
        assert not below or min(below) > 0.3, sign


@pytest.mark.parametrize("rows", [3, 40, 70, 130])
def test_what_follows_two_columns_stands_below_both(monkeypatch, rows):
    inside, after = (tuple((f"{word} {i}", "value") for i in range(n))
                     for word, n in (("row", rows), ("after", 12)))  # fmt: skip
    blocks = (Columns((Table(("one", "two"), inside, (1, 1)),)), Table(("a", "b"), after, (1, 1)))
    report = Report("Two columns", blocks, DAY)
    boxes = boxes_of(monkeypatch, report)
    written = [b[5] for b in boxes]
    assert all(f"row {i}" in written for i in range(rows)) and not overprinted(boxes)


def test_one_page_a_valve_of_text_that_can_be_read():
    # six invented valves with every column of the template: the longest that is usual
    pdf, sizes = pdf_of(of("five-slips-example.csv", pages="all")), set()
    pages = []
    for page in pdf.pages:
        seen = []
        page.extract_text(
            visitor_text=lambda t, cm, tm, f, s, seen=seen: seen.append((t, s * abs(tm[3])))
        )
        pages.append(bare("".join(t for t, _ in seen)))
        sizes |= {round(size, 1) for t, size in seen if t.strip()}
    places = [next(i for i, t in enumerate(pages) if f"PSV-{n}(row{n - 397})What" in t
                   or t.startswith(f"PSV-{n}(row{n - 397})")) for n in range(401, 407)]  # fmt: skip
    assert places == list(range(places[0], places[0] + 6))
    assert all("10.W_rated" in pages[i] for i in places)  # the last step of the working
    assert min(sizes) >= 7.0  # points


def test_a_number_beside_a_check_is_its_document_in_the_list_of_sources():
    report = of("five-slips-example.csv", pages="all")
    tables = [b for b in report.blocks if isinstance(b, Table)]
    listed = dict(next(t.rows for t in tables if t.columns == ("no.", "source")))
    # set against MAWP: ASME BPVC XIII, as UG-134 was renumbered; letter: API 526, table 1
    agrees = [t for b in report.blocks if isinstance(b, Columns) for t in b.blocks
              if isinstance(t, Table) and t.caption == "Agrees"]  # fmt: skip
    assert len(agrees) == 6
    for table in agrees:
        numbers = {row[0].split(",")[0]: row[3].strip("[]") for row in table.rows}
        assert listed[numbers["set pressure against MAWP"]].startswith("ASME BPVC XIII")
        assert listed[numbers["sizes standard for the letter"]].startswith("API 526")


def test_cases_of_one_valve_are_named_by_their_cause_and_count_as_one():
    text = (
        "Tag;Case;Set pressure [barg];MAWP [barg];Load [kg/h];State;MW;k;Relieving temperature "
        "[°C];Letter\nPSV-1;Fire;12;12;2500;gas;28;1.4;80;D\n"
        ";Blocked outlet;;;3100;gas;28;1.4;60;\n"
        "PSV-2;Fire;12;12;900;gas;28;1.4;80;D"
    )
    checked = datasheet.check_data(text, "cases.csv")
    assert checked.counted == "2 valves in 3 rows"
    assert checked.names == ["PSV-1, Fire", "PSV-1, Blocked outlet", "PSV-2"]
    page = datasheet_report(checked, pages="none")
    said = "\n".join(getattr(block, "text", "") for block in page.blocks)
    assert "2 valves in 3 rows: " in said
    heads = ("consequence of what differs", "checks", "valves")
    (table,) = [block for block in page.blocks if getattr(block, "columns", ()) == heads]
    assert table.rows[0][2] == "2"  # both valves are too small: three rows, of two valves
