"""Where a reader's own valve stands: the choosers, what they keep, what the study makes of it."""

import pytest

from relieflib import load_plant
from relieflib.errors import InputError
from relieflib.notebook import PlaceForm
from relieflib.notebook.own_numbers import study_path
from relieflib.notebook.place_form import NOT, OPEN_AIR
from relieflib.study import Case, add_case, open_study

pytest.importorskip("tomlkit")
GAS = {"is": "gas", "pressure": "17.6 barg", "temperature": "40 °C", "k": 1.3,
       "molar_mass": "29 kg/kmol"}  # fmt: skip
# choosers that count only beside another choice: what makes them count
ONLY_WITH = {
    "disturbance_diameters": {"disturbance": "elbow"}, "sensing": {"kind": "pilot"},
    "low_point_drained": {"outlet_drains_away": "no"}, "discharge_direction": {"end": OPEN_AIR},
    "discharge_height": {"end": OPEN_AIR}, "weep_hole": {"end": OPEN_AIR},
    "end_fenced": {"end": OPEN_AIR},
    "winterised": {"water_may_stand": "yes"}, "traced": {"may_solidify": "yes"},
}  # fmt: skip
GOOD = {
    "before": "none", "outlet_drains_away": "yes", "enters_header": "from above",
    "supported": "yes", "body_drain": "piped", "test_access": "yes",
}  # fmt: skip


@pytest.fixture
def form(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "my-work"))
    return PlaceForm(load_plant())


def differs(form):
    return [c.name for c in form.panel.result["checks"] if c.verdict == "differs"]


def test_every_chooser_moves_what_is_on_show(form):
    start = form.panel.values
    for name, control in form.panel.controls.items():
        form.panel.set(**start | ONLY_WITH.get(name, {}))
        seen = set()
        for value in control.settings():
            form.panel.set(**{name: value})
            seen.add((str(form.panel.rows), form.panel.alt))
        assert len(seen) > 1, name


@pytest.mark.parametrize("given, name, verdict", [
    # a code lets nothing stand between that may close, plug or stick (ASME BPVC XIII, formerly
    # VIII-1 UG-135(d) and appendix M, from memory); the rest as the checks' own sources
    ({"inlet_block": "no: nothing holds it"}, "nothing closes the inlet", "does not cover"),
    ({"before": "strainer"}, "nothing plugs the way", "does not cover"),
    ({"behind": "check valve"}, "no check valve in the way", "not known"),
    ({"before": "rupture disk, no telltale"}, "telltale between disk and valve", "does not cover"),
    ({"tapping": "liquid"}, "tapped for what it is sized for", "does not cover"),
    ({"diameter": 0.05}, "inlet as wide as the valve", "not known"),
    ({"line_drop": 0.6e5}, "near the source", "not known"),  # 3.75 % of 16 barg
    ({"disturbance": "elbow", "disturbance_diameters": "5"}, "far from what disturbs the flow",
     "not known"),
    ({"kind": "balanced"}, "bonnet vented as its kind asks", "does not cover"),
    ({"set_pressure_gauge": 17e5}, "set for all it protects", "does not cover"),
    ({"outlet_drains_away": "no", "low_point_drained": "no"}, "low point of the outlet drained",
     "not known"),
])  # fmt: skip
def test_each_fault_is_found_and_takes_the_cover_away(form, given, name, verdict):
    form.panel.set(**GOOD)
    assert differs(form) == [] and dict(form.panel.rows)["as a safeguard"] == "covers"
    form.panel.set(**given)
    assert name in differs(form)
    assert form.panel.result["reason"].verdict in (verdict, "does not cover")
    assert form.panel.result["reason"].verdict != "covers"


def test_what_is_not_said_is_not_given(form):
    form.panel.set(**GOOD | {"inlet_block": NOT})
    assert dict(form.panel.rows)["as a safeguard"] == "not known"
    assert "nothing closes the inlet" in dict(form.panel.rows)[NOT]


def test_a_place_is_kept_and_the_study_s_judge_counts_it(form):
    form.panel.set(before="strainer")
    said = form.save("PSV-7", "V-7", "FH", "closed outlet")
    assert "placements.PSV-7" in said and "equipment.V-7" in said
    path = study_path()
    add_case(path, Case("V-7", "closed outlet", "closed_outlet",
                        {"inflow": "3600 kg/h", "stream": GAS}))  # fmt: skip
    found = open_study(path).recompute()
    assert found.faults == ()
    place = found.items["V-7"].matrix["closed outlet", "PSV-7"].about("position")
    assert place.verdict == "does not cover" and "strainer" in place.said()
    # without the strainer nothing stands against it: the same file, one part taken out
    text = path.read_text(encoding="utf-8").replace(', {kind = "strainer"}', "")
    path.write_text(text, encoding="utf-8")
    place = open_study(path).recompute().items["V-7"].matrix["closed outlet", "PSV-7"]
    assert place.about("position").verdict != "does not cover"


def test_what_the_study_has_already_stays(form, tmp_path):
    form.save("PSV-7", "V-7", "FH")
    path = study_path()
    before = "# mine\n" + path.read_text(encoding="utf-8").replace("16 barg", "15 barg")
    path.write_text(before, encoding="utf-8")
    with pytest.raises(InputError, match="stands in the study already"):
        form.save("PSV-7", "V-7", "FH")
    with pytest.raises(InputError, match="name the valve"):
        form.save("", "V-7")
    assert path.read_text(encoding="utf-8") == before
    said = form.save("PSV-8", "V-7", "FH")  # a second valve of the same item
    assert "equipment" not in said and "headers" not in said
    text = path.read_text(encoding="utf-8")
    assert text.startswith(before.rstrip("\n")) and 'mawp_gauge = "15 barg"' in text
    text = text[: text.index("[placements.PSV-8]")]
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="protects V-7 in the study"):
        form.save("PSV-8", "V-9")
    assert "relief_valves" not in form.save("PSV-8", "V-7")


def test_the_button_says_what_it_did(form):
    form.button.click()
    assert "Not kept: valve, protects" in form.said.value
    form.tag.value, form.item.value = "PSV-7", "V-7"
    form.button.click()
    assert "Kept in study.toml" in form.said.value and "Kept fixed here" in repr(form)
