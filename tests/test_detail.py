"""The P&ID detail: every fact in its alt text, every mark in words, no text over another.

What a P&ID must show of a relief valve (number, arrangement, set, letter with sizes, case,
destination, and what may close on the way): common practice, no source. A4 is 210 x 297 mm
(ISO 216); 1 point is 1/72 inch.
"""

import itertools
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import pytest

from relieflib.errors import InputError
from relieflib.pid_note import parse_note
from relieflib.plant import load_plant
from relieflib.position.checks import check_all
from relieflib.position.placement import Part, Placement, placements
from relieflib.report import detail

PLANT = load_plant()
PLACED = placements(PLANT)[0]
NOTE = parse_note("PSV-9 A/B/C; 3 x 6R8 (2 duty + 1 spare); 300# x 150#; SET 16 / 16.8 barg; "
                  "SIZED FOR closed outlet, gas; TO FH")  # fmt: skip


@dataclass
class Fault:
    name: str
    reason: str
    places: tuple = ()
    severity: int = 1
    verdict: str = "differs"


def block(tag, **more):
    return Part("block valve", tag, **more)


TWO = Placement(
    "PSV-9", "V-9", duty=2, spare=1, inlet=(Part("nozzle"), Part("strainer", "ST-9")),
    outlet=(Part("check valve", "NR-9"),), destination="FH", tapping="vapour space",
    valve_inlets=tuple((block(f"HV-9{i}", secured="interlocked", interlock="KI-9",
                              position="closed" if i == 2 else "open"),) for i in range(3)),
    valve_outlets=tuple((block(f"HV-8{i}", secured="no"),) for i in range(3)),
)  # fmt: skip
DISK = Placement(
    "PSV-8", "V-8", inlet=(Part("nozzle"), block("HV-1", secured="car sealed open"),
                           Part("rupture disk", "PSE-8", telltale=True)),
    destination="ATM", tapping="liquid", body_drain="piped", discharge_direction="up",
    weep_hole=False,
)  # fmt: skip
FAULTS = [
    Fault("strainer", "can plug between the vessel and the valve", (("inlet", None, 1),)),
    Fault("outlet", "stands open by nothing " * 12, (("valve outlet", 0, 0),
                                                     ("valve outlet", 1, 0))),
    Fault("check valve", "can stick shut", (("outlet", None, 0),)),
    Fault("entry", "from below", (("end", None, 0),), 2),
    Fault("set", "too high", (("valve", None, 0),)), Fault("whole", "words of it"),
    Fault("agreed", "is left out", verdict="agrees"),
]  # fmt: skip
FOUND = check_all(PLANT)
DRAWN = {tag: lambda tag=tag: detail.detail_of(PLANT, tag, FOUND[tag]) for tag in PLACED} | {
    "two": lambda: detail.draw(TWO, NOTE, faults=FAULTS),
    "disk": lambda: detail.draw(DISK, None, faults=FAULTS[:1] + FAULTS[4:]),
    "pilot": lambda: detail.draw(TWO, NOTE, "pilot"),
}  # fmt: skip


@pytest.fixture(scope="module")
def drawn():
    return {name: make() for name, make in DRAWN.items()}


@pytest.mark.parametrize("name", DRAWN)
def test_no_text_stands_over_another_and_all_fit_on_a4(drawn, name):
    one = drawn[name]
    figure = one.figure
    figure.canvas.draw()
    wide, high = figure.get_size_inches() * 25.4
    assert wide <= 182.0 and high <= 240.0  # A4 less margins and a caption
    assert min(t.get_fontsize() for t in one.sketch.texts) >= 7.0  # points, drawn 1 : 1
    boxes = [(t.get_text(), t.get_window_extent()) for t in one.sketch.texts if t.get_text()]
    page = figure.bbox
    for text, box in boxes:
        assert page.x0 <= box.x0 and box.x1 <= page.x1, text
        assert page.y0 <= box.y0 and box.y1 <= page.y1, text
    for (text, box), (other, next_box) in itertools.combinations(boxes, 2):
        assert not box.overlaps(next_box), f"{text!r} over {other!r}"


@pytest.mark.parametrize("tag", PLACED)
def test_alt_text_and_svg_state_what_the_file_says(drawn, tag):
    placed, one, item = PLACED[tag], drawn[tag], PLANT[tag]
    root = ET.fromstring(one.svg())
    text = root.iter("{http://www.w3.org/2000/svg}text")
    texts = " ".join("".join(e.itertext()) for e in text)
    of_parts = [words for p in placed.parts for words in (p.tag, p.interlock)]
    for words in (placed.protects, placed.destination, *placed.names, *of_parts):
        assert words in one.alt and words in texts
    for part in placed.parts:
        assert part.kind in one.alt
        if part.secured and part.secured != "no":
            assert part.secured in one.alt
    if item.section == "relief_valves":
        assert item.designation.replace("1.5", "1-1/2 ").replace("F2", "F 2") in one.alt
        assert "SET" in one.alt
    assert getattr(item, "sized_for", "") in one.alt
    if item.section == "rupture_disks":  # 8.0 barg in the file
        assert "BURST 8 barg" in one.alt
    assert root.attrib["role"] == "img" and len(root.findall("{*}desc")) == 1


def test_every_mark_has_its_words_and_stands_at_every_place_it_names(drawn):
    one = drawn["two"]
    assert [m.number for m in one.marks] == [1, 2, 3, 4, 5, 6]
    texts = [t.get_text() for t in one.sketch.texts]
    for mark in one.marks:
        assert texts.count(str(mark.number)) == max(len(mark.places), 1)
        assert f"Mark {mark.number}: {mark.words}" in one.alt
        flat = " ".join(" ".join(t.split()) for t in texts)
        assert f"{mark.number} {' '.join(mark.words.split())}" in flat
    assert "not protected" in one.marks[0].words and "is left out" not in one.alt


@pytest.mark.parametrize("tag", PLACED)
def test_each_fault_of_the_demo_plant_is_marked(drawn, tag):
    faults = [c for c in FOUND[tag] if c.verdict == "differs"]
    assert [m.words.split(":")[0] for m in drawn[tag].marks] == [c.name for c in faults]
    assert all(c.reason in drawn[tag].alt for c in faults)


def test_closed_parts_are_filled_and_said(drawn):
    assert "HV-92, interlocked, KI-9, closed" in drawn["two"].alt
    labels = [t.get_text() for t in drawn["two"].sketch.texts]
    assert sum("closed" in t.split("\n") for t in labels) == 1


def test_the_same_drawing_gives_the_same_bytes(drawn):
    again = detail.draw(TWO, NOTE, faults=FAULTS)
    assert again.png() == drawn["two"].png() and again.svg() == drawn["two"].svg()


@pytest.mark.parametrize("text", ["<b>&", "$x^2$", "a\x1bb", "\u202e"])
def test_foreign_text_is_text(text):
    placed = Placement("PSV-9", text, inlet=(block(text),), destination=text)
    one = detail.draw(placed, None, faults=[Fault(text, text)])
    root = ET.fromstring(one.svg())  # a picture that is no XML would raise
    assert not {e.tag.split("}")[-1] for e in root.iter()} & {"b", "script"}
    assert "\x1b" not in one.alt and "\u202e" not in one.alt


def test_what_cannot_be_drawn_is_said():
    with pytest.raises(InputError, match="detail shows 4"):
        detail.draw(Placement("PSV-9", "V-9", duty=5))
    with pytest.raises(InputError, match="shape"):
        detail.draw(TWO, shape="pyramid")
