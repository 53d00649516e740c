"""Text from outside on every way out: no escape, script, formula or typesetting of its own runs.

Payloads of the usual kinds, made here: terminal escapes, markup, formulas, mathematics, signs that
hide or turn text. Each stands in every text of a sheet: headings, units, cells, the file's name.
"""

import csv
import html.parser
import io
import unicodedata
from dataclasses import replace

import openpyxl
import pytest
import tomlkit

from relieflib import datasheet, papers, texts
from relieflib.__main__ import main
from relieflib.pid_note import parse_note
from relieflib.position import checks as stands
from relieflib.report import figures
from relieflib.report.page import Document, datasheet_report
from relieflib.report.study_page import study_report
from relieflib.study import open_study, sheet

ESC = [
    f"{start}{body}{end}"
    for start in ("\x1b", "\x9b", "\x07\x1b")
    for body in ("]52;c;QUJD", "[2J", "]0;x", "[31m", "P", "]8;;x:")
    for end in ("\x07", "\x1b\\", "")
]
MARKUP = [
    f"{before}{body}"
    for before in ("", "\"'>", "</td>", "</style>", "</title>", "-->")
    for body in ("<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "&lt;b&gt;",
                 "<svg/onload=alert(1)>", "<iframe src=javascript:alert(1)>",
                 "<a href=javascript:alert(1)>x</a>")
]  # fmt: skip
FORMULAS = [
    f"{start}{body}"
    for start in ("=", "+", "-", "@", "\t=", " =", "\r=")
    for body in ('HYPERLINK("http://x")', "cmd|' /C x'!A0", "1+1")
]
MATHS = ["$", "US$ 5", "$x^2$", "$$", "\\frac{1}", "$\\frac$", "a_b^c", "\\input{x}", "%", "~"]
HIDDEN = [f"a{c}b" for c in "\u202e\u2066\u200b\ufeff\u2028\x00\x7f\x85\u00ad\ud800\U000e0041\x08"]
PAYLOADS = [*ESC, *MARKUP, *FORMULAS, *MATHS, *HIDDEN]


def test_there_are_enough_payloads():
    assert len(set(PAYLOADS)) >= 115


def hostile(payload, name=True):
    """A sheet with the payload in its headings, a unit and every free cell."""
    text = io.StringIO()
    write = csv.writer(text)
    write.writerow(["List of valves"])
    write.writerow(["tag", "set pressure [barg]", f"operating pressure [{payload}]", "phase",
                    "load [kg/h]", "mawp [barg]", "protected item", "cause", payload, "letter",
                    "notes"])  # fmt: skip
    write.writerow([payload, 12, 9, "gas", payload, 10, payload, payload, "x", payload, payload])
    write.writerow(["good", 12, 9, "gas", 100, 10, "", "", "x", "D", ""])
    data = text.getvalue().encode("utf-8", "surrogatepass")
    return datasheet.check_data(data, f"{payload}.csv" if name else "a.csv")


@pytest.fixture(scope="module")
def checked():
    return [hostile(payload) for payload in PAYLOADS]


def harmful(text):
    """Signs that a terminal obeys or that hide, by Unicode's own categories."""
    return [c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")
            and c != "\n"]  # fmt: skip


def test_terminal(checked):
    for one in checked:
        out = datasheet.as_text(one) + "\n".join(one.reading.said()) + one.reading.file
        assert not harmful(out), repr(out)
        assert any(row.tag == "good" for row, _ in one.results)  # no neighbour's row is lost


def test_the_shell_prints_nothing_that_a_terminal_obeys(tmp_path, capsys):
    for payload in ESC[:6] + HIDDEN[:3]:
        path = tmp_path / "a.csv"
        path.write_text(f"tag,set pressure [{payload}],phase,load [kg/h],{payload}\nA,1,gas,1,x\n")
        main(["check", str(path)])
        main(["headings", str(path)])
        main(["check", str(tmp_path / f"{payload.replace('/', '')}.csv")])
        out, err = capsys.readouterr()
        assert not harmful((out + err).replace("\r", "")), repr(out + err)


class Tags(html.parser.HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        self.found |= {tag} | {name for name, _ in attrs}
        self.found |= {v for _, v in attrs if str(v).lower().startswith("javascript")}


def elements(page):
    parser = Tags()
    parser.feed(page)
    return parser.found


def report_of(one, payload):
    filed = Document(payload, payload, payload)
    return datasheet_report(one, "2026-03-31", payload, payload, "all", [payload], filed, one)


def test_html_of_widget_and_page_hold_our_elements_only(checked):
    from relieflib.notebook.sheet_form import as_list

    plain = hostile("plain", name=False)
    widget, listed = elements(datasheet.as_html(plain)), elements(as_list(plain))
    page = elements(report_of(plain, "plain").html())
    for one in checked:
        assert elements(datasheet.as_html(one)) <= widget | {"ul", "li"}
        assert elements(as_list(one)) <= listed | {"ul", "li"}
        assert not harmful(datasheet.as_html(one))
    for payload, one in list(zip(PAYLOADS, checked))[::19]:
        written = report_of(one, payload).html()
        assert elements(written) <= page and not harmful(written)


def test_pdf_is_written_and_read(checked):
    import pypdf

    for payload, one in list(zip(PAYLOADS, checked))[3::53]:
        data = report_of(one, payload).pdf()
        text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages)
        assert "good" in text and "\x1b" not in text and b"/JavaScript" not in data


def test_no_cell_of_an_export_is_a_formula(checked, tmp_path):
    results = [pair for one in checked for pair in one.results]
    path = datasheet.export_csv(results, tmp_path / "a.csv")
    for line in csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")):
        for cell in line:
            assert not harmful(cell)
            if cell.lstrip()[:1] in ("=", "+", "-", "@") and cell.strip():
                float(cell)  # a number may begin so, nothing else
    path = datasheet.export_xlsx(results[:40], tmp_path / "a.xlsx")
    book = openpyxl.load_workbook(path)
    assert not any(c.data_type == "f" for row in book.active.iter_rows() for c in row)


@pytest.mark.parametrize("payload", [*MATHS, "US$ 5 and $", *HIDDEN[:2]])
def test_a_picture_shows_dollars_as_dollars(payload):
    areas = {f"cause {payload}": 1e-4, f"{payload} {payload}": 2e-4}
    figure = figures.new_figure()
    artists = figures.build_area_ladder(figure, {"areas": areas})
    figures.update_area_ladder(artists, {"areas": areas})
    figure.canvas.draw()  # mathematics that does not parse would raise here


def test_latex_of_foreign_text_is_text():
    from matplotlib.mathtext import MathTextParser

    for payload in MATHS:
        written = texts.latex_text(payload)
        assert written.count("$") == written.count(r"\$")
        MathTextParser("path").parse("$" + written + "$")


# ------------------------------------------------------------ a study: every free text of its file
EVERY = " ".join(PAYLOADS).encode("utf-8", "replace").decode("utf-8")
NAMES = ["</td><script>alert(1)</script>", "<img src=x onerror=alert(1)>\x1b[2J",
         "=1+1<svg/onload=x>", "US$ 5 $\\frac$ \u202e\"'><b>"]  # fmt: skip


def hostile_study(path, every=EVERY, names=NAMES):
    """A study's file with a text in its heads, services, reasons, inputs and placement."""
    valve, header, item, case = names
    gas = {"is": "gas", "fluid": "air", "pressure": f"relieving_pressure of {item}",
           "temperature": "50 °C"}  # fmt: skip
    part = {"kind": "block valve", "tag": every[-90:], "service": every, "interlock": every[:90]}
    said = {key: every for key in ("why", "note", "source", "who")}
    data = {
        "study": {key: every for key in ("number", "title", "prepared_by")},
        "site": {"name": every, "atmosphere": "1.01325 bara"},
        "fluids": {"air": {"molar_mass": "29 kg/kmol", "k": 1.4, "Z": 1.0}},
        "headers": {header: {"service": every, "takes": ["gas"], "lowest_pressure_gauge": "0 barg",
                             "highest_pressure_gauge": "0.1 barg"}},
        "equipment": {item: {"service": every, "mawp_gauge": "10 barg",
                             "operating_pressure_gauge": "5 barg"},
                      f"{item} 4": {"service": every, "mawp_gauge": "10 barg"}},
        "relief_valves": {valve: {
            "protects": item, "sized_for": case, "certified_for": ["gas"], "destination": header,
            "kind": "conventional", "designation": "3L4", "set_pressure_gauge": "10 barg",
            "elevation": "5 m", "inlet_diameter": "102.26 mm", "inlet_length": "0.5 m",
            "inlet_elbows": 0, "outlet_diameter": "154.08 mm", "outlet_length": "4 m",
            "outlet_elbows": 1}},
        "placements": {valve: {"service": every, "inlet": [{"kind": "nozzle"}, part],
                               "outlet": [part]}},
        "lines": {f"{valve} 2": {"service": every, "fluid": "propane", "upstream": item,
                                 "downstream": every[:90]}},
        "connections": {
            f"{item} 3": {"service": every, "from": item, "to": f"{item} 4", "parts": [part]},
            case: {"service": every, "from": every[:90], "to": item}},
        "unprotected": {f"{item} 4": {"reason": every}, every[-90:]: {"reason": every}},
        "considered": {item: {"gas blow-by": f"not credible: {every}", case: every}},
        "cases": {item: {
            case: said | {"cause": "closed_outlet", "valve": valve,
                          "inputs": {"inflow": "3600 kg/h", "stream": gas}},
            f"{case} 2": said | {"cause": every, "inputs": {case: every}},
            f"{case} 3": said | {"cause": "closed_outlet", "inputs": {"inflow": every,
                                                                     "stream": every}}}},
    }  # fmt: skip
    path.write_text(tomlkit.dumps(data), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def studies(tmp_path_factory):
    """The hostile study and a plain one of the same shape, recomputed."""
    folder = tmp_path_factory.mktemp("study")
    plain = hostile_study(
        folder / "plain.toml", "not credible: none", ["PSV-1", "FH", "V-1", "shut"]
    )
    return [open_study(p).recompute() for p in (hostile_study(folder / "a.toml"), plain)]


def pages_of(found):
    """Every page and widget that shows a study, by name."""
    from relieflib.notebook.study_form import as_item, as_table

    report = study_report(found, "2026-03-31", EVERY, EVERY).html()
    items = {f"item {n}": as_item(found, tag) for n, tag in enumerate(found.items)}
    return {"report": report, "table": as_table(found)} | items


def test_a_study_of_hostile_texts_is_read_and_sized(studies):
    (valve, _, item, case), found = NAMES, studies[0]
    assert found.items[item].sizings[case].required_area > 0  # what is bad takes no neighbour along
    assert found.items[item].valves[0].tag == valve and len(found.faults) >= 3


def test_pages_of_a_study_hold_our_elements_only(studies):
    hostile, plain = map(pages_of, studies)
    for name, page in hostile.items():
        assert elements(page) <= elements(plain[name]) | {"ul", "li"}, name
        assert not harmful(page), name


def test_terminal_and_spreadsheet_of_a_study(studies, tmp_path, capsys):
    main(["study", str(studies[0].study.path)])
    out, err = capsys.readouterr()
    assert "US$ 5" in out and not harmful(out + err)
    path = sheet.export_xlsx(studies[0].study, tmp_path / "a.xlsx", studies[0])
    book = openpyxl.load_workbook(path)
    assert not any(c.data_type == "f" for page in book for row in page.iter_rows() for c in row)


def test_pdf_of_a_study(studies):
    import pypdf

    data = study_report(studies[0], "2026-03-31", EVERY, EVERY).pdf()
    text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert "US$ 5" in text and "\x1b" not in text and b"/JavaScript" not in data


def test_papers_of_a_valve_and_where_it_stands(studies):
    valve, plant = NAMES[0], studies[0].study.plant
    said = "\n".join(str(c) for c in stands.check(stands.case_of(plant, valve)))
    assert said and not harmful(said)
    note = parse_note(f"PSV-1  SET 10 barg  SIZED FOR {MARKUP[0]}$\u202e")
    row = hostile(MARKUP[0]).results[0][0]
    sheets = datasheet.check_data(f"tag,set pressure [barg],cause,notes\nPSV-1,12,{MARKUP[1]},x\n"
                                  .encode(), "a.csv")  # fmt: skip
    gathered = papers.of_valve("PSV-1", note=note, rows=[row, *(r for r, _ in sheets.results)])
    assert not harmful(papers.as_text(papers.hold(gathered)))


# ------------------------------------------------------------ load summary, trips
def test_a_load_summary_of_hostile_texts_is_written_read_and_held(tmp_path):
    from relieflib import summary

    path, row = tmp_path / "a.csv", dict.fromkeys(summary.COLUMNS, "1")
    words = [h for h, quantity in summary.COLUMNS.items() if quantity is None and h != "fire"]
    for payload in PAYLOADS:
        summary.append_row(path, row | {h: summary.guarded(payload + "x") for h in words})
    kept = summary.read_summary(path)
    assert len(kept) == len(PAYLOADS)
    for line in csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")):
        assert not any(cell.lstrip()[:1] in ("=", "+", "@") for cell in line)
    note = parse_note("PSV-1  3L4  SET 10 barg  SIZED FOR closed outlet")
    for item, cases in summary.saved_cases(kept).items():
        gathered = papers.of_valve("PSV-1", note=note, cases={item: cases}, item=item)
        assert not harmful(papers.as_text(papers.hold(gathered)))


def test_a_trip_of_hostile_texts_beside_a_valve(studies):
    from relieflib import safeguard
    from relieflib.protection.gates import Parts
    from relieflib.protection.response import Response
    from relieflib.protection.trips import Trip

    valve = safeguard.Valve.of(studies[1].study.plant, "PSV-1")
    load = studies[1].items["V-1"].sizings["shut"].load

    def page(words):
        parts = Parts.only(sensor=(words,), valve=(words,), logic=(words,))
        trip = Trip(f"XV {words}", words, acts_on=(words,), parts=parts, causes={words: parts},
                    response=Response(1, 1, 1), safety_times={words: 60.0})  # fmt: skip
        made = safeguard.matrix([replace(valve, protects=words)], {words: load}, [trip])
        return made._repr_html_(), f"{made}\n{made[words, trip.tag]}\n{made[words, valve.tag]}"

    plain = elements(page("pressure")[0])
    for payload in [EVERY, *PAYLOADS]:
        html_page, said = page(payload)
        assert elements(html_page) == plain and not harmful(html_page)
        assert not harmful(said), repr(said)
