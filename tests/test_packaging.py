"""The project's files agree with each other: dependencies, README commands, light import, lint."""

import ast
import importlib.util
import inspect
import re
import subprocess
import sys
import tomllib
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import relieflib

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_environment_lists_the_same_as_pyproject():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = {*project["dependencies"], *extras["notebooks"], *extras["test"]}
    wanted.remove("relieflib[notebooks]")  # the tests run every notebook
    wanted.add("python" + project["requires-python"])
    text = (ROOT / "environment.yml").read_text(encoding="utf-8")
    listed = re.findall(r"^  - (\S+)$", text.split("dependencies:")[1], re.M)
    assert sorted(listed) == sorted(wanted)
    assert all("<" in entry and ">=" in entry for entry in listed), "bounds and caps"


def locked(text):
    """{name: versions}, names asked for by this project, and the lines that hold no hash."""
    blocks = re.split(r"\n(?=[a-z])", re.sub(r"^#.*\n", "", text, flags=re.M))
    found, ours, bare = {}, set(), []
    for block in blocks:
        name, version = re.match(r"([a-z0-9-]+)(?:\[.*?\])?==(\S+)", block).groups()
        found.setdefault(name, []).append(version)
        ours |= {name} if "relieflib (pyproject.toml)" in block else set()
        bare += [] if re.search(r"--hash=sha256:[0-9a-f]{64}\b", block) else [name]
    return found, ours, bare


def test_the_lock_holds_what_pyproject_asks_for():
    """Names and ranges; `uv` writes it by the command in its head. No address of an index in it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *extras["notebooks"], *extras["test"]]
    asked = {canonicalize_name(r.name): r.specifier for r in map(Requirement, wanted)}
    del asked["relieflib"]
    text = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    found, ours, bare = locked(text)
    assert ours == set(asked) and not bare and "://" not in text
    for name, allowed in asked.items():
        assert all(allowed.contains(version) for version in found[name]), name


def test_a_lock_out_of_step_is_seen():
    found, ours, bare = locked("# head\na==1 \\\n    --hash=sha256:" + 64 * "0" + "\n    # via b\n"
                               "b[x]==2.1 ; python_version < '3.12'\n    # via\n"
                               "    #   relieflib (pyproject.toml)\n")  # fmt: skip
    assert (found, ours, bare) == ({"a": ["1"], "b": ["2.1"]}, {"b"}, ["b"])


def test_readme_opens_with_the_job_and_carries_the_caution():
    title, job = README.split("\n\n")[:2]
    assert title.startswith("# ") and not job.startswith(("#", "-", "|", "!"))
    assert "licensed" in README and "local code" in README


def test_readme_names_every_notebook():
    notebooks = {p.name for p in (ROOT / "notebooks").glob("[0-9]*.ipynb")}
    assert notebooks and all(name in README for name in notebooks)
    assert set(re.findall(r"notebooks/(\d\d-[a-z-]+\.ipynb)", README)) <= notebooks


def test_start_here_names_every_notebook():
    text = (ROOT / "notebooks" / "00-start-here.ipynb").read_text(encoding="utf-8")
    names = {p.name for p in (ROOT / "notebooks").glob("*.ipynb")} - {"00-start-here.ipynb"}
    assert all(f"]({name})" in text for name in names)


def test_ci_reads_the_test_command_out_of_readme():
    spec = importlib.util.spec_from_file_location("readme_command", ROOT / ".ci/readme_command.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for system, python in (("linux", ".venv/bin/python"), ("win32", r".venv\Scripts\python")):
        command = module.command(system)
        assert command in README and f'{python} -m pip install -q -e ".[test]"' in command
        assert command.endswith(f"{python} -m pytest")
    for path in (".ci/run", ".github/workflows/tests.yml"):
        assert ".ci/readme_command.py" in (ROOT / path).read_text(encoding="utf-8")


def python(code, *options, **more):
    return subprocess.run(
        [sys.executable, *options, "-c", code], capture_output=True, text=True, **more
    )


def test_import_is_light():
    code = "import sys, relieflib; from relieflib import Gas, Device, ReliefLoad, Line, size\n"
    loaded = python(code + "relieflib.causes.closed_outlet; print(*sys.modules)", check=True)
    heavy = {"pandas", "matplotlib", "ipywidgets", "CoolProp", "scipy.interpolate", "fluids"}
    assert not heavy & set(loaded.stdout.split())


def test_front_door():
    text = (ROOT / "relieflib" / "__init__.py").read_text(encoding="utf-8")
    for_editors = {
        f"{node.module}.{alias.name}"
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.ImportFrom) and node.module.startswith("relieflib")
        for alias in node.names
    }
    assert for_editors == {f"relieflib.{m}.{n}" for n, m in relieflib._DOOR.items()}
    for name in relieflib.__all__:
        assert getattr(relieflib, name) is not None and name in dir(relieflib)
    assert "tube_rupture" in dir(relieflib.causes)
    with pytest.raises(AttributeError, match="no attribute 'Gaz'"):
        _ = relieflib.Gaz


def test_door_is_typed():
    """Every parameter and result that the door shows has a type, for editors (py.typed)."""
    assert (ROOT / "relieflib" / "py.typed").is_file()
    for name in relieflib._DOOR:
        thing = getattr(relieflib, name)
        if inspect.isclass(thing):
            continue  # dataclasses name the type of each field; errors have none
        signature = inspect.signature(thing)
        bare = [p.name for p in signature.parameters.values() if p.annotation is p.empty]
        assert not bare and signature.return_annotation is not signature.empty, (name, bare)


def test_a_missing_package_is_said_in_words():
    code = "import sys; sys.modules['CoolProp'] = None\nfrom relieflib import RealFluid\n"
    done = python(code + "RealFluid('Propane', 2e6, quality=1.0).mass_flux(0.0)")
    assert done.stderr.strip().endswith("InputError: needs CoolProp, which this copy lacks")


def test_packages_of_a_wheel_are_those_of_the_tree():
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    listed = set(listed["tool"]["setuptools"]["packages"])
    tree = {
        ".".join(path.parent.relative_to(ROOT).parts)
        for path in (ROOT / "relieflib").rglob("__init__.py")
    }
    assert listed == tree | {"relieflib.data", "relieflib.data.datasheets"}


def test_version_is_in_the_changelog():
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.search(rf"^## {re.escape(relieflib.__version__)} ", text, re.M)


FLOORS = [
    {
        "kinds", "errors", "units", "symbols", "texts", "files", "toml_lines", "expressions",
        "rules",
    }, {
        "geometry", "properties", "fluid_flash", "phase_split", "exchanger",
        "set_pressure", "working", "tables", "cause_words",
    },
    {"nozzle"}, {"devices", "orifices"}, {"sizing", "valve_questions"}, {"causes", "lines"},
    {"disposal"},
    {"pressure_in_time"},
    {"slips", "summary", "datasheet", "plant", "credible", "safeguard", "pid_note"},
    {"position", "protection"}, {"study"}, {"papers"}, {"report"}, {"demo"}, {"asking"},
    {"questions", "marking", "the_set", "book", "workshop", "wheels",
     "browser_site"}, {"notebook"}, {"__main__"},
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


def test_no_module_needs_itself():
    """Follow every import, also those inside functions: no way leads back to where it began."""
    base, needs = ROOT / "relieflib", {}
    known = {p.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
             for p in base.rglob("*.py")}  # fmt: skip
    for path in base.rglob("*.py"):
        name = path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
        used = imports_of(path.read_text(encoding="utf-8"))
        needs[name] = {next((u for u in (n, n.rpartition(".")[0]) if u in known), None)
                       for n in used} - {None, name}  # fmt: skip
    TopologicalSorter(needs).prepare()  # a CycleError names the circle


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
