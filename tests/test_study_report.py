"""The report of a study: every number stands on the page, what changed and what is missing too.

What is held here is the page against the results; the results are held by test_study.py.
"""

import datetime
import html
import html.parser
import io
import re
import shutil

import pypdf
import pytest

from relieflib import study, texts
from relieflib.errors import InputError
from relieflib.plant import demo_plant_path
from relieflib.report.blocks import COMPETENCE, Contents, Figure, Heading, Paragraph, Table
from relieflib.report.item_sketch import item_sketch
from relieflib.report.study_page import study_report
from relieflib.study import Case, add_case, open_study

SECOND = demo_plant_path().with_name("second_study.toml")
HOSTILE = ("<script>alert(1)</script>", "\x1b[2J", "$x^2$", "a‮b", "=1+1", "&lt;b&gt;")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("study")


@pytest.fixture(scope="module")
def found(folder):
    """The second plant, filed once, then with a corrected Z: something is stale."""
    path = folder / "unit.toml"
    shutil.copy(SECOND, path)
    opened = open_study(path)
    opened.file("A. Reader", "2026-11-26")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("Z = 0.90\n", "Z = 0.853\n"), encoding="utf-8")
    return open_study(path).recompute()


@pytest.fixture(scope="module")
def report(found):
    return study_report(found, "2026-11-27")


@pytest.fixture(scope="module")
def page(report):
    return report.html()


@pytest.fixture(scope="module")
def paper(report):
    return pypdf.PdfReader(io.BytesIO(report.pdf()))


def plain(text):
    return re.sub(r"\s+", "", text)


def tables(report, column):
    return [b for b in report.blocks if isinstance(b, Table) and column in b.columns]


def test_every_number_of_the_study_stands_on_the_page_once(found, report, page, paper):
    written = plain("".join(p.extract_text() for p in paper.pages))
    rows = [row for table in tables(report, "relieving pressure") for row in table.rows]
    sized = [(w, s) for item in found.items.values() for w, s in item.sizings.items()]
    assert len(rows) == len(sized) == 7
    for words, s in sized:
        own = [row for row in rows if row[0] == words and float(
            row[5].split()[0]) == pytest.approx(s.required_area * 1e6, rel=1e-3)]  # fmt: skip
        assert len(own) == 1, words
        assert own[0][6] == s.letter
        for cell in own[0][2:6]:
            assert cell in page and plain(cell) in written, cell
        for step in s.working:
            assert step.meaning.split(",")[0] in page


def test_governing_case_by_hand(report):
    # PV-201 by IEC 60534-2-1, choked below x = xT k/1.4, Z 0.853 (IAPWS-97 at 31.95 bara, 240 °C)
    density = 31.95e5 * 18.015 / (0.853 * 8314.46261815324 * 513.15)
    x, choked = (31.95 - 11.95) / 31.95, 0.72 * 1.3 / 1.4
    flow = (
        10 * (999.1 / 1e5) ** 0.5 / 3600 * (1 - x / (3 * choked)) * (x * 31.95e5 * density) ** 0.5
    )
    summary = next(t for t in tables(report, "governing case"))
    row = next(r for r in summary.rows if r[0] == "V-201")
    assert row[1] == "control valve opens" and row[4] == "J"
    assert row[6] == "covers"
    assert float(row[2].split()[0]) == pytest.approx(flow * 3600, rel=5e-4)


def test_parts_of_the_page(found, report, page, paper):
    heads = [b.text for b in report.blocks if isinstance(b, Heading)]
    for part in ("Summary", "What changed", "What is missing", "Headers", "Sources",
                 "Prepared and checked"):  # fmt: skip
        assert part in heads
    each = ("Causes considered", "Loads and required areas", "What is installed",
            "Safeguard matrix", "Opening and lines", "Note for the P&ID")  # fmt: skip
    for part in each:
        assert heads.count(part) == 3, part
    page = html.unescape(page)
    assert COMPETENCE in page and texts.CAUTION.partition("** ")[2] in page
    assert "RS-02, revision 0" in paper.pages[4].extract_text()
    assert "SHA-256" in page and "2026-11-27" in page


def test_contents_name_the_right_pages(report, paper):
    names = [b.text for b in report.blocks if isinstance(b, Heading) and b.level == 2]
    first = paper.pages[0].extract_text()
    for name in names:
        number = int(re.search(re.escape(name[:60]) + r".*?(\d+)\s*$", first, re.M)[1])
        assert plain(name[:40]) in plain(paper.pages[number - 1].extract_text())
    assert any(isinstance(b, Contents) for b in report.blocks)


def test_what_changed_and_what_is_stale(found, report):
    changed = tables(report, "filed")[0]
    assert changed.columns[:3] == ("item", "case", "what")
    z = next(row for row in changed.rows if row[2] == "input source.Z")
    assert z[3:5] == ("0.9", "0.853") and "no longer as filed" in z[5]
    area = next(row for row in changed.rows if row[2] == "required area" and row[1])
    before, now = (float(cell.split()[0]) for cell in area[3:5])
    assert now / before == pytest.approx((0.90 / 0.853) ** 0.5, rel=1e-6)  # root of the density
    loads = next(t for t in tables(report, "relieving pressure"))
    last = {row[0]: row[-1] for row in loads.rows}
    assert last["control valve opens"] == "no longer as filed"
    assert last["closed outlet"] == last["exterior fire"] == "as filed"
    boxes = [b.lead for b in report.blocks if isinstance(b, Paragraph) and b.boxed]
    assert boxes.count("No longer as filed.") == 1 and "Not settled." in boxes


def test_ranges_are_told_and_only_where_given(report):
    assert len(tables(report, "how sure")) == 1
    rows = dict(tables(report, "how sure")[0].rows)
    assert rows["samples beyond it"] == "0 %"  # Kv 11 needs 645.8*1.1 mm2, an L has 1840.6


def test_every_picture_has_words_and_every_text_is_large_enough(found, report):
    pictures = [b for b in report.blocks if isinstance(b, Figure)]
    assert len(pictures) == 3 * 3 + 1 and all(len(b.alt.split()) > 6 for b in pictures)
    for tag, item in found.items.items():
        sketch = item_sketch(found.plant, tag, item.valves, True)
        printed = 182.0 / 25.4 / sketch.figure.get_figwidth()  # inches on A4 over inches drawn
        assert min(t.get_fontsize() for t in sketch.texts) * printed >= 7.0


def test_texts_of_a_sketch_do_not_meet(found):
    plant = open_study().plant
    for tag in (i.tag for s in ("vessels", "columns", "tanks", "reactors") for i in plant.of(s)):
        sketch = item_sketch(plant, tag, (), True)
        sketch.figure.canvas.draw()
        boxes = [t.get_window_extent() for t in sketch.texts]
        for i, one in enumerate(boxes):
            assert not any(one.overlaps(other) for other in boxes[i + 1 :]), (tag, i)


def test_same_study_same_bytes(found, report):
    again = study_report(found, datetime.date(2026, 11, 27))
    assert again.html() == report.html()


def placed(path, words):
    """The second plant, its valve PSV-201 placed otherwise, written to a file and recomputed."""
    head, rest = SECOND.read_text(encoding="utf-8").split("[placements.PSV-201]")
    after = rest[rest.index("\n[") :]
    path.write_text(head + words + after, encoding="utf-8")
    return open_study(path).recompute("V-201")


def test_a_place_that_is_not_given_leaves_the_item_not_known(tmp_path):
    found = placed(tmp_path / "a.toml", "")
    made = study_report(found, "2026-11-27")
    summary = next(t for t in tables(made, "governing case"))
    assert summary.rows[0][6].split("\n") == ["not known", "place not given: PSV-201"]
    said = next(b for b in made.blocks if isinstance(b, Paragraph) and b.lead == "Not known.")
    assert "Place not given: PSV-201, so no cover is known." in said.text
    assert any("Where does PSV-201 stand" in words for words in found.missing)


PLACED = """[placements.PSV-201]
inlet = [{ kind = "nozzle", inside_diameter = "102.26 mm" },
  { kind = "block valve", tag = "HV-1", secured = "no", inside_diameter = "102.26 mm" }]
tapping = "vapour space"
liquid_case = false
"""


def test_where_a_valve_stands_is_told_with_its_detail(tmp_path):
    found = placed(tmp_path / "a.toml", PLACED)
    assert found.items["V-201"].verdict == "does not cover"
    made = study_report(found, "2026-11-27")
    box = next(b for b in made.blocks if isinstance(b, Paragraph) and "by its place" in b.lead)
    assert box.boxed and box.lead == "PSV-201: by its place does not cover."
    assert "HV-1 can be closed by anybody" in box.text
    table = next(b for b in tables(made, "if it differs"))
    verdicts = {row[0]: row[1] for row in table.rows}
    assert verdicts["nothing closes the inlet"] == "differs"
    # what the file does not say is asked for, not taken for granted
    assert verdicts["stands upright"] == verdicts["outlet drains away, no pocket"] == "not given"
    assert "agrees" not in verdicts.values()
    drawn = next(b for b in made.blocks if isinstance(b, Figure) and "P&ID detail" in b.alt)
    assert "HV-1" in drawn.alt and "not secured" in drawn.alt and drawn.bytes()[:4] == b"\x89PNG"
    head = [b.text for b in made.blocks if isinstance(b, Heading)]
    assert head.index("Where it stands") < head.index("Note for the P&ID")
    summary = next(t for t in tables(made, "governing case"))
    assert "place not given" not in summary.rows[0][6]


def test_the_spare_of_a_placement_stands_in_the_note(tmp_path):
    text = PLACED.replace(
        "liquid_case = false",
        """liquid_case = false
in_duty = 1
spare = 1
valve_inlets = [[{ kind = "block valve", tag = "HV-2", secured = "locked open" }],
  [{ kind = "block valve", tag = "HV-3", secured = "locked open", position = "closed" }]]""",
    )
    note = placed(tmp_path / "a.toml", text).items["V-201"].notes["PSV-201"]
    assert "2 x 3L4 (1 duty + 1 spare)" in note


def test_bad_cases_and_open_questions_are_said(tmp_path):
    path = tmp_path / "a.toml"
    text = SECOND.read_text(encoding="utf-8")
    text = text.replace('density = "962 kg/m3"', 'density = "962,0 kg/m3"')
    text = text.replace('"tube rupture" = "not credible: no exchanger on it"\n', "")
    path.write_text(text, encoding="utf-8")
    found = open_study(path).recompute("V-202")
    made = study_report(found, "2026-11-27")
    assert [b.text for b in made.blocks if isinstance(b, Heading)].count("What changed") == 1
    words = " ".join(b.text for b in made.blocks if isinstance(b, Paragraph))
    assert "Without an area: overfilling" in words and "Left open: tube rupture" in words
    faults = next(t for t in tables(made, "what") if t.columns == ("no.", "what"))
    assert "962,0" in faults.rows[0][1] and "line" in faults.rows[0][1]
    assert "Not known." in [b.lead for b in made.blocks if isinstance(b, Paragraph)]


def test_a_file_changed_since_is_said(tmp_path):
    path = tmp_path / "a.toml"
    shutil.copy(SECOND, path)
    found = open_study(path).recompute("E-201")
    path.write_text(SECOND.read_text(encoding="utf-8").replace('"250 kW"', '"300 kW"'), "utf-8")
    facts = dict(study_report(found, "2026-11-27").blocks[0].rows)
    assert "has been changed since" in facts["file"]


class Tags(html.parser.HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        self.found |= {tag} | {name for name, _ in attrs}


def elements(page):
    parser = Tags()
    parser.feed(page)
    return parser.found


def test_hostile_texts_stay_texts(tmp_path, page):
    path = study.new_study(tmp_path / "b.toml", HOSTILE[0], HOSTILE[2])
    for i, payload in enumerate(HOSTILE):
        case = Case(f"V-{i} {payload}"[:60], f"{payload} {i}", "overfilling",
                    {"inflow": "2200 kg/h", "stream": {"is": "liquid", "pressure": "5 bara",
                     "density": "962 kg/m3"}},
                    device={"kind": "conventional", "set_pressure_gauge": "3.5 barg"},
                    why=payload, note=payload, source=payload, who=payload)  # fmt: skip
        add_case(path, case)
    made = study_report(open_study(path).recompute(), "2026-11-27", HOSTILE[0], HOSTILE[1])
    written = made.html()
    assert elements(written) <= elements(page) and "\x1b" not in written
    assert "‮" not in written and len(tables(made, "relieving pressure")) == len(HOSTILE)
    data = made.pdf()
    text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert b"/JavaScript" not in data and "\x1b" not in text and "alert(1)" in text


def test_a_date_that_is_none_is_refused(found):
    with pytest.raises(InputError, match="year-month-day"):
        study_report(found, "tomorrow")


def test_the_shell_writes_it(tmp_path, capsys):
    from relieflib.__main__ import main

    path = tmp_path / "unit.toml"
    shutil.copy(SECOND, path)
    out = tmp_path / "unit.html"
    assert main(["study", str(path), "--item", "E-201", "--report", str(out)]) == 0
    assert "E-201" in out.read_text(encoding="utf-8") and "report: unit.html" in (
        capsys.readouterr().out
    )
