"""A cause is added in few places: a toy one in a copy of the tree, and its checks run there."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
MODULE = '''"""A toy: something fills a vessel, and the same comes out."""

from relieflib.errors import positive
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 24
PUBLISHED = {"toy cause": ("", "")}


def relief_load(inflow, stream, toy_factor=1.0):
    """Load of the toy.

    Parameters: inflow [kg/s]; stream at relieving pressure; toy_factor [-]. Returns `ReliefLoad`.
    Source: none, a toy.
    """
    inflow, toy_factor = positive(inflow=inflow, toy_factor=toy_factor)
    flow = float(toy_factor * inflow)
    working = Working([step("mass_flow", flow, "x_toy * W_in", "a toy", inflow=float(inflow),
                            toy_factor=float(toy_factor))])  # fmt: skip
    return ReliefLoad("toy_cause", flow, stream, working=working)
'''
TEST = """from relieflib.causes import toy_cause
from relieflib.credible import load_matrix, published_causes
from relieflib.notebook.cause_sketches import cause_sketch
from relieflib.nozzle.gas import Gas
from relieflib.sizing import size


def test_toy():
    gas = Gas(12e5, 300.0, molar_mass=44.0, k=1.2)
    load = toy_cause.relief_load(2.0, gas, 1.5)
    assert load.mass_flow == 3.0 and load.working[-1].evaluate() == 3.0  # by hand
    assert size(load).required_area > 0
    assert published_causes()[-1]["notebook"] == "24-toy-cause"
    assert "toy cause" in load_matrix().causes
    assert "toy cause" in cause_sketch("toy_cause").alt
"""
CHECKS = (
    "tests/published/test_toy_cause.py", "tests/test_symbols.py", "tests/test_packaging.py",
    "tests/published/test_causes_flow.py", "tests/test_demo_cases.py",
    "tests/notebooks/test_hygiene.py",
    "-k", "toy or matrix_is_whole or credible_cause_is_sized or names_every or floors or sound",
)  # fmt: skip
MOST = 5  # files that a person writes or edits


def files_of(root):
    """Digest of every file that belongs to the tree."""
    return {
        p.relative_to(root).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in root.rglob("*")
        if p.is_file() and not {"__pycache__", ".pytest_cache", ".hypothesis"} & set(p.parts)
    }


def copy(root):
    leave = shutil.ignore_patterns("__pycache__", ".ipynb_checkpoints", "my-work")
    for folder in ("relieflib", "notebooks", "data", "tests"):
        shutil.copytree(ROOT / folder, root / folder, ignore=leave)
    for name in ("README.md", "DEVELOPERS.md", "pyproject.toml", "environment.yml"):
        shutil.copy(ROOT / name, root / name)


def add_by_hand(root):
    """All that a person writes for a cause that the demo plant can't suffer."""
    (root / "relieflib/causes/toy_cause.py").write_text(MODULE, encoding="utf-8")
    (root / "tests/published/test_toy_cause.py").write_text(TEST, encoding="utf-8")
    book = json.loads((root / "notebooks/20-overfilling.ipynb").read_text(encoding="utf-8"))
    book["cells"][0]["source"] = ["# Toy cause\n", *book["cells"][0]["source"][1:]]
    (root / "notebooks/24-toy-cause.ipynb").write_text(json.dumps(book), encoding="utf-8")
    with (root / "relieflib/tables/symbols.txt").open("a", encoding="utf-8") as file:
        file.write("toy_factor | x_toy | what the toy multiplies by | dimensionless\n")
    with (root / "data/credible_causes.csv").open("a", encoding="utf-8") as file:
        file.write("toy cause" + ",not credible: a toy" * 11 + "\n")


def run(root, *command):
    """Output of a command in the copy, which must succeed."""
    env = os.environ | {"PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run([sys.executable, *command], cwd=root, env=env, capture_output=True,
                          text=True, encoding="utf-8")  # fmt: skip
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done.stdout


def test_a_toy_cause_takes_five_files_by_hand(tmp_path):
    root = tmp_path / "tree"
    copy(root)
    before = files_of(root)
    add_by_hand(root)
    after = files_of(root)
    touched = {name for name in after if after[name] != before.get(name)}
    assert len(touched) <= MOST, touched
    run(root, "notebooks/refresh.py", "--tables")
    written = {name for name, digest in files_of(root).items() if digest != after.get(name)}
    linked = {f"notebooks/{n}.ipynb" for n in
              ("23-tank-breathing", "24-toy-cause", "30-required-area")}  # fmt: skip
    assert written - linked == {"README.md", "notebooks/00-start-here.ipynb"}
    readme = (root / "README.md").read_text(encoding="utf-8")
    row = "| [24-toy-cause.ipynb](notebooks/24-toy-cause.ipynb) | Toy cause |\n"
    assert readme.index("23-tank-breathing.ipynb)") < readme.index(row)
    assert readme.index(row) < readme.index("| [30-required-area.ipynb]")
    said = run(root, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", *CHECKS)
    assert "failed" not in said
