"""The form of a question as a hand uses it: typed, checked, hinted, solved, begun again."""

import asyncio

import pytest

from relieflib.asking import kept
from relieflib.notebook import forms
from relieflib.notebook.question_form import (
    ChoiceForm,
    ValueForm,
    WorkedForm,
    ask,
    sign_in,
    warm_up,
)


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path / "my-work"))
    return tmp_path / "my-work"


def of_kind(asked, kind):
    return next(f for f in asked.forms if isinstance(f, kind))


def named(form, words):
    """The button of a form by what it says."""
    found = [form.box]
    for box in found:
        found += getattr(box, "children", ())
    return next(b for b in found if getattr(b, "description", "") == words)


def test_enter_waits_for_the_last_letter(monkeypatch):
    # a page holds the last letters back while the kernel is busy, and Enter overtakes them
    monkeypatch.setattr(forms, "LAST_LETTER", 0.01)
    form = next(f for f in ask("10").forms if f.asked.question.key == "load")
    whole = f"{form.asked.right * 3600:.0f} kg/h"

    async def hand():
        form.value.value = whole[:-1]  # 'kg/': no unit
        form.value._handle_custom_msg({"event": "submit"}, [])
        form.value.value = whole
        await asyncio.sleep(0.1)

    asyncio.run(hand())
    assert "Right" in form.said.value


def test_a_value_is_typed_and_checked():
    form = next(f for f in ask("10").forms if f.asked.question.key == "load")
    form.value.value = "not a number"
    named(form, "Check").click()
    assert "Not read" in form.said.value and kept.kept_answers() == {}
    form.value.value = f"{form.asked.right * 3600:.0f} kg/h"
    form.value._handle_custom_msg({"event": "submit"}, [])  # what Enter in the box sends
    assert "✓ Right" in form.said.value and "role='status'" in form.said.value
    form.value.value = ""
    named(form, "Check").click()
    assert "Not attempted" in form.said.value


def test_hint_and_solution_with_this_participant_s_numbers():
    kept.be(7)
    form = next(f for f in ask("10").forms if f.asked.question.key == "dead head")
    named(form, "Hint").click()
    assert "rho g H" in form.said.value
    named(form, "Solution").click()
    assert form.asked.right_text.split(" = ")[0] in form.said.value
    assert f"H0 = {form.asked.data()['shutoff_head']:g}" in form.said.value
    assert "<table" in form.said.value


def test_every_option_says_its_reason():
    asked = ask("10")
    form = of_kind(asked, ChoiceForm)
    said = set()
    for button in form.buttons:
        button.click()
        said.add(form.said.value)
    assert len(said) == 3 and sum("✓ Right" in words for words in said) == 1
    assert len(kept.kept_answers()[form.asked.name]) == 3


def test_names_for_those_who_can_not_see():
    for form in ask("10").forms:
        if isinstance(form, ValueForm):
            assert "your number" in form.value.tooltip and "unit" in form.unit.tooltip
        if isinstance(form, ChoiceForm):
            assert all(words in b.tooltip for words, b in zip(form.asked.options, form.buttons))


def test_what_is_stored_asks_and_does_not_answer():
    asked = ask("10")
    data = asked._repr_mimebundle_()
    text = data["text/plain"]
    assert set(data) == {"text/plain", "application/vnd.jupyter.widget-view+json"}
    for form in asked.forms:
        assert form.asked.text in text
        if isinstance(form, ValueForm):
            assert form.asked.right_text.split(" = ")[0] not in text.replace(
                repr(of_kind(asked, WorkedForm)), "")  # fmt: skip


def test_a_step_is_given_and_a_step_is_missing():
    form = next(f for f in ask("10").forms if f.asked.question.key == "area step")
    assert "G = " in repr(form) and "A = " not in repr(form)


def test_who_answers_is_shown_in_every_notebook():
    assert "Working alone: 0 of 2 right" in warm_up("10").who.value
    form = sign_in()
    form.number.value = "Anna"
    named(form, "Keep").click()
    assert "Not kept" in form.said.value and kept.who().participant == 0
    form.number.value, form.room.value = "7", "Blue"
    named(form, "Keep").click()
    assert "Participant 7, room blue" in form.said.value
    assert "Participant 7, room blue: 0 of 7 right" in ask("10").who.value


def test_a_wrong_participant_is_said_where_it_matters(monkeypatch):
    monkeypatch.setenv("RELIEFLIB_PARTICIPANT", "<b>Anna</b>")
    assert "&lt;b&gt;Anna" in ask("10").who.value and "working alone" in ask("10").who.value


def test_counted_kept_and_begun_again():
    asked = ask("10")
    form = next(f for f in asked.forms if f.asked.question.key == "credit")
    form.judge(form.asked.right)
    assert "1 of 7 right" in asked.who.value
    again = ask("10")
    assert "1 of 7 right" in again.who.value
    same = next(f for f in again.forms if f.asked.question.key == "credit")
    assert "last time you gave" in same.said.value.lower()
    named(again, "Start again").click()
    assert "0 of 7 right" in again.who.value and "stay in your file" in again.said.value
    assert "last time" not in ask("10").box.children[2].children[-1].value.lower()


def test_a_full_disk_costs_no_verdict(own_folder):
    own_folder.write_text("a file where the folder should be")
    form = next(f for f in ask("10").forms if f.asked.question.key == "credit")
    assert form.judge(form.asked.right).verdict == "right" and "Not kept" in form.said.value
