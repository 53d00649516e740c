"""A copy without CoolProp: every notebook runs to its end, and says in words what it leaves out.

RELIEFLIB_WITHOUT=all runs each; by default one that needs none, one that needs much, and one whose
first cells need it.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN = """
import sys, os, json
sys.modules["CoolProp"] = None
from IPython.core.interactiveshell import InteractiveShell
os.chdir(sys.argv[1])
shell, wrong = InteractiveShell.instance(), []
for cell in json.load(open(sys.argv[2], encoding="utf-8"))["cells"]:
    if cell["cell_type"] == "code":
        done = shell.run_cell("".join(cell["source"]))
        if not done.success:
            wrong.append(repr(done.error_in_exec or done.error_before_exec))
sys.exit("; ".join(wrong) or None)
"""
CHOSEN = ["01-set-pressure-and-accumulation", "14-hydraulic-expansion", "40-inlet-loss"]
if os.environ.get("RELIEFLIB_WITHOUT") == "all":
    CHOSEN = sorted(p.stem for p in (ROOT / "notebooks").glob("*.ipynb"))
LEFT_OUT = "Left out: this cell"


@pytest.mark.parametrize("name", CHOSEN)
def test_no_traceback(name, tmp_path):
    env = os.environ | {
        "RELIEFLIB_MY_WORK": str(tmp_path), "PYTHONPATH": str(ROOT), "IPYTHONDIR": str(tmp_path),
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(ROOT / "notebooks"), f"{name}.ipynb"],
        capture_output=True, text=True, env=env,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-1000:]
    cells = json.loads((ROOT / "notebooks" / f"{name}.ipynb").read_text(encoding="utf-8"))["cells"]
    code = sum(cell["cell_type"] == "code" for cell in cells)
    left = done.stdout.count(LEFT_OUT)
    assert "01" not in name or left == 0  # it asks nothing of a real fluid
    assert left < code - 1  # warm-up and questions stay


@pytest.fixture
def shell(monkeypatch):
    from IPython.core.interactiveshell import InteractiveShell

    from relieflib.notebook.without import go_on_in_words

    monkeypatch.setitem(sys.modules, "CoolProp", None)
    shell = InteractiveShell()
    assert go_on_in_words(shell) and not go_on_in_words(shell)  # once
    return shell


NEEDS = "from relieflib.errors import need\nfluid = need('CoolProp')\nafter = 2"


def test_what_builds_on_it_is_left_out_and_the_rest_goes_on(shell, capsys):
    for cell, said in ((NEEDS, "needs CoolProp"), ("fluid.x", "builds on one that needs CoolProp"),
                       ("more = after + 1", "builds on"), ("more", "builds on"),
                       ("need('CoolProp')", "needs CoolProp")):  # fmt: skip
        done = shell.run_cell(cell)
        assert done.success and said in capsys.readouterr().out, cell
    kept = shell.run_cell("x = 20\nx + 1")
    assert kept.success and kept.result == 21 and shell.user_ns["x"] == 20


@pytest.mark.parametrize("cell, error", [
    ("1/0", ZeroDivisionError), ("never_made", NameError), ("x = never_made", NameError),
    ("from relieflib import relieving_pressure\nrelieving_pressure(-1.0)", ValueError),
])  # fmt: skip
def test_what_goes_wrong_by_other_means_stays_an_error(shell, cell, error, capsys):
    shell.run_cell(NEEDS)
    done = shell.run_cell(cell)
    assert isinstance(done.error_in_exec, error)


def test_nothing_is_changed_where_coolprop_is():
    from IPython.core.interactiveshell import InteractiveShell

    from relieflib.notebook.without import go_on_in_words

    shell = InteractiveShell()
    assert not go_on_in_words(shell) and not shell.ast_transformers


def test_a_mixture_refuses_in_words(monkeypatch):
    from relieflib.errors import InputError
    from relieflib.properties import cubic_state

    monkeypatch.setitem(sys.modules, "CoolProp", None)
    with pytest.raises(InputError, match="needs CoolProp, which this copy lacks"):
        cubic_state(("Methane", "Propane"), (0.5, 0.5), 10e5, 300.0)
