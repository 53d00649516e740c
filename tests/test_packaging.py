"""The project's files agree with each other: dependencies, README commands, light import, lint."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_environment_lists_the_same_as_pyproject():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = {*project["dependencies"], *project["optional-dependencies"]["test"]}
    wanted.add("python" + project["requires-python"])
    text = (ROOT / "environment.yml").read_text(encoding="utf-8")
    listed = re.findall(r"^  - (\S+)$", text.split("dependencies:")[1], re.M)
    assert sorted(listed) == sorted(wanted)
    assert all("<" in entry and ">=" in entry for entry in listed), "bounds and caps"


def test_readme_opens_with_the_job_and_carries_the_caution():
    title, job = README.split("\n\n")[:2]
    assert title.startswith("# ") and not job.startswith(("#", "-", "|", "!"))
    assert "licensed" in README and "local code" in README


def test_readme_names_every_notebook():
    notebooks = {p.name for p in (ROOT / "notebooks").glob("*.ipynb")}
    assert notebooks and all(name in README for name in notebooks)
    assert set(re.findall(r"notebooks/(\d\d-[a-z-]+\.ipynb)", README)) <= notebooks


def test_ci_reads_the_test_command_out_of_readme():
    command = re.search(r"<!-- test command -->\s*```\w*\n(.+?)\n```", README, re.S).group(1)
    assert "pytest" in command and "[test]" in command and "venv" in command
    assert "<!-- test command -->" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_import_is_light():
    code = "import sys, relieflib.sizing, relieflib.causes.closed_outlet as c; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    heavy = {"pandas", "matplotlib", "ipywidgets", "CoolProp", "scipy.interpolate", "fluids"}
    assert not heavy & set(loaded.stdout.split())


FLOORS = [
    {"errors", "units", "symbols"}, {
        "geometry", "properties", "fluid_flash", "phase_split", "exchanger",
        "set_pressure", "working", "tables",
    },
    {"nozzle"}, {"devices", "orifices"}, {"sizing"}, {"causes", "lines"},
    {"slips", "summary", "datasheet", "plant", "credible", "safeguard", "pid_note"},
    {"report"}, {"demo"}, {"notebook"}, {"__main__"},
]  # fmt: skip
SHELL = {"ipywidgets", "matplotlib", "IPython"}


def imports_of(text):
    """Every module a file imports, whole names, wherever the import stands in it."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def modules():
    base = ROOT / "relieflib"
    for path in base.rglob("*.py"):
        room = path.relative_to(base).parts[0].removesuffix(".py")
        if room != "__init__":
            yield path, room, set(imports_of(path.read_text(encoding="utf-8")))


def test_floors():
    level = {name: i for i, names in enumerate(FLOORS) for name in names}
    for path, room, names in modules():
        for used in (n.split(".")[1] for n in names if n.startswith("relieflib.")):
            if used in level:
                assert level[used] <= level[room], f"{path.relative_to(ROOT)} imports {used}"


def test_imports_are_read_wherever_they_stand():
    text = "def f():\n    import a.b, c\n    from relieflib import x as y, z\n"
    assert set(imports_of(text)) == {"a.b", "c", "relieflib.x", "relieflib.z"}


def test_physics_never_imports_what_notebooks_need():
    for path, room, names in modules():
        roots = {name.split(".")[0] for name in names}
        if room not in ("notebook", "report"):
            assert not roots & SHELL, path
        if path.name != "properties.py":
            assert "CoolProp" not in roots, path


def test_lint():
    for what in (["check"], ["format", "--check"]):
        done = subprocess.run(
            [sys.executable, "-m", "ruff", *what, "-q", "relieflib", "tests", "notebooks"],
            cwd=ROOT, capture_output=True, text=True,
        )  # fmt: skip
        if "No module named ruff" in done.stderr:
            pytest.fail("ruff is part of the test extra")
        assert done.returncode == 0, done.stdout + done.stderr
