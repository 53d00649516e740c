"""What is kept for the rows of a long list is what each row would be found to say by itself."""

import csv
import random
from pathlib import Path

import pytest

from relieflib.datasheet import checks, read_data, remembered
from relieflib.datasheet.recompute import Case
from relieflib.datasheet.remembered import Memory

SHEETS = Path(__file__).parents[1] / "data" / "datasheets"
DAMAGE = ("", "nan", "-1", "1e999", "0", "12,5", "=1+1", "x" * 600, "10 barg", "<b>", "yes", "J")


ROWS = 40


def lists(damage):
    """Texts of lists: sheets of every phase and with slips, with other numbers, or damaged."""
    dice = random.Random(7)
    for name in ("published-examples.csv", "five-slips-example.csv", "clean-example.csv"):
        lines = (SHEETS / name).read_text("utf-8").splitlines()
        head, *known = csv.reader(line for line in lines if not line.startswith("#"))
        out = [",".join(head)]
        for number in range(ROWS):
            cells = [_other(cell, dice, damage) for cell in known[number % len(known)]]
            out.append(",".join(f'"{cell}"' for cell in (f"V-{number}", *cells[1:])))
        yield "\n".join(out)


def _other(cell, dice, damage):
    try:
        number = float(cell)
    except ValueError:
        return dice.choice(DAMAGE) if damage and dice.random() < 0.03 else cell
    if damage and dice.random() < 0.06:
        return dice.choice(DAMAGE)
    return f"{number * dice.uniform(0.8, 1.2):.4g}" if dice.random() < 0.15 else cell


@pytest.mark.parametrize("damage", [False, True])
def test_a_row_of_a_list_says_what_it_says_alone(damage, monkeypatch):
    asked, phases = [], set()
    made = [lambda case, c=c: asked.append(1) or c(case) for c in checks.MADE]
    for text in lists(damage):
        memory = Memory()
        for row in read_data(text, "a.csv").rows:
            phases.add(row.get("phase"))
            alone = checks.check_row(row, search=False)
            with monkeypatch.context() as patch:
                patch.setattr(checks, "MADE", made)
                found = checks.check_row(row, search=False, memory=memory)
            assert [tuple(map(str, c)) for c in found] == [tuple(map(str, c)) for c in alone]
    assert phases >= {"gas", "steam", "liquid"}
    if not damage:
        assert len(asked) < 0.8 * 3 * ROWS * len(made)  # or nothing is kept at all


def case_of(**cells):
    heads = {"tag": "tag", "load": "load [kg/h]", "k": "k", "Z": "z"}
    text = ",".join(heads[n] for n in cells) + "\n" + ",".join(map(str, cells.values()))
    return Case(read_data(text, "a.csv").rows[0])


def test_what_a_check_reads_only_now_and_then_is_noted_too():
    """A check that looks at Z only where k is above 1.3: by hand, what it says for each pair."""

    def check(case):
        return case.row.get("Z") if case.row.get("k") > 1.3 else "low"

    memory = Memory()
    for k, Z, right in ((1.2, 0.9, "low"), (1.2, 0.8, "low"), (1.4, 0.9, 0.9), (1.4, 0.8, 0.8),
                        (1.2, 0.8, "low"), (1.4, 0.9, 0.9)):  # fmt: skip
        case = case_of(tag="A", k=k, Z=Z)
        assert memory.of(case.row).found(check, case) == right


@pytest.mark.parametrize("read", [
    lambda case: case.sizing, lambda case: case.inputs, lambda case: case.row.number,
    lambda case: list(case.row.cells.values()), lambda case: case.required,
    lambda case: [name for name in case.row.cells],
])  # fmt: skip
def test_what_can_not_be_noted_is_asked_anew(read):
    asked = []

    def check(case):
        read(case)
        return asked.append(1)

    memory = Memory()
    for _ in range(4):
        case = case_of(tag="A", k=1.2)
        memory.of(case.row).found(check, case)
    assert len(asked) == 4


def test_what_is_the_same_is_asked_once_and_what_never_is_no_longer_kept():
    asked = []

    def of_k(case):
        asked.append("k")
        return case.row.get("k")

    def of_load(case):
        asked.append("load")
        return case.row.get("load")

    memory = Memory()
    for load in range(1, 40):
        case = case_of(tag=f"V-{load}", load=load, k=1.2)
        kept = memory.of(case.row)
        assert kept.found(of_k, case) == 1.2
        assert kept.found(of_load, case) == case.row.get("load")
    assert asked.count("k") == 1 and asked.count("load") == 39
    assert not kept._by_check[of_load].found


def test_memory_has_an_end(monkeypatch):
    monkeypatch.setattr(remembered, "MOST_KEPT", 50)
    memory = Memory()
    case = case_of(tag="A", k=1.2)
    for number in range(300):
        case.row.unreadable = {"letter": str(number)}
        memory.of(case.row)
        assert len(memory._forms) <= 51
