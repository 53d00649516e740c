"""A copy without CoolProp: whole notebooks that need none run, and mixtures refuse in words.

RELIEFLIB_WITHOUT=all runs every notebook of WHOLE; by default the shortest alone.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WHOLE = ["00-start-here", "02-which-causes"]  # those that ask nothing of a real fluid
RUN = """
import sys, os, json
sys.modules["CoolProp"] = None
os.chdir(sys.argv[1])
space = {"display": print}
for cell in json.load(open(sys.argv[2], encoding="utf-8"))["cells"]:
    if cell["cell_type"] == "code":
        exec("".join(cell["source"]), space)
"""
CHOSEN = ["01-set-pressure-and-accumulation"]
if os.environ.get("RELIEFLIB_WITHOUT") == "all":
    CHOSEN += WHOLE


@pytest.mark.parametrize("name", CHOSEN)
def test_it_runs_whole(name, tmp_path):
    env = os.environ | {"RELIEFLIB_MY_WORK": str(tmp_path), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(ROOT / "notebooks"), f"{name}.ipynb"],
        capture_output=True, text=True, env=env,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-1000:]


def test_a_mixture_refuses_in_words(monkeypatch):
    from relieflib.errors import InputError
    from relieflib.properties import cubic_state

    monkeypatch.setitem(sys.modules, "CoolProp", None)
    with pytest.raises(InputError, match="needs CoolProp, which this copy lacks"):
        cubic_state(("Methane", "Propane"), (0.5, 0.5), 10e5, 300.0)
