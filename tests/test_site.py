"""The set for a browser alone: its wheels, its lock, its words; the whole where the extra is."""

import hashlib
import importlib.util
import json
import re
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from relieflib import __version__, browser_site, wheels
from relieflib.__main__ import main
from relieflib.errors import InputError

ROOT = Path(__file__).parents[1]
HERE = [importlib.util.find_spec(name) for name in browser_site.NEEDS]
# what a distribution of Pyodide brings of what we need, by the names of its own lock
BROUGHT = {
    "numpy": "2.4.6", "scipy": "1.18.0", "matplotlib": "3.10.8", "pandas": "3.0.2",
    "coolprop": "7.2.0", "pillow": "12.2.0", "fonttools": "4.62.1", "ipython": "9.12.0",
    "traitlets": "5.14.3", "micropip": "0.11.1", "jedi": "0.19.2", "parso": "0.8.6",
    "sympy": "1.14.0",
}  # fmt: skip


def lock_of(brought=BROUGHT):
    packages = {
        name: {"name": name, "version": version, "file_name": f"{name}-{version}.whl",
               "sha256": "0" * 64, "imports": [name], "depends": [], "install_dir": "site",
               "package_type": "package", "unvendored_tests": False}
        for name, version in brought.items()
    }  # fmt: skip
    info = {"abi_version": "2026_0", "arch": "wasm32", "python": "3.14.2"}
    return {"info": info, "packages": packages}


@pytest.fixture(scope="module")
def gathered(tmp_path_factory):
    return browser_site.gather(lock_of(), tmp_path_factory.mktemp("wheels"))


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """A folder as a copy of Pyodide's distribution is laid out, its files empty."""
    folder = tmp_path_factory.mktemp("pyodide")
    lock = lock_of()
    names = [entry["file_name"] for entry in lock["packages"].values()]
    for name in (*browser_site.CORE, *names):
        (folder / name).write_bytes(b"")
    (folder / browser_site.LOCK).write_text(json.dumps(lock))
    return folder


def test_a_missing_package_is_said_with_the_way_to_it(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "jupyterlite_core", None)
    assert main(["site", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err.strip()
    assert said == 'needs JupyterLite, which this copy lacks: pip install -e ".[site]"'
    assert not (tmp_path / "out").exists()


def test_the_extra_pins_the_two_together():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    pins = dict(n.split("==") for n in project["optional-dependencies"]["site"] if "==" in n)
    assert set(pins) == {"jupyterlite-core", "jupyterlite-pyodide-kernel"}
    assert len(set(pins.values())) == 1


def test_the_own_wheel_is_whole_and_the_same_each_time(tmp_path):
    (tmp_path / "b").mkdir()
    one, two = wheels.own_wheel(tmp_path), wheels.own_wheel(tmp_path / "b")
    assert one.sha256 == two.sha256 and one.modules == ("relieflib",)
    assert one.path.name == f"relieflib-{__version__}-py3-none-any.whl"
    with zipfile.ZipFile(one.path) as wheel:
        names, record = wheel.namelist(), wheel.read(wheel.namelist()[-1]).decode()
        assert wheel.testzip() is None
        text = wheel.read("relieflib/data/demo_plant.toml")
    assert text == (ROOT / "data" / "demo_plant.toml").read_bytes()
    tracked = {p.relative_to(ROOT).as_posix() for p in (ROOT / "relieflib").rglob("*.py")}
    assert tracked <= set(names) and "relieflib/tables/symbols.txt" in names
    # the format of wheels: RECORD names every file, sha256 in base64 without padding
    assert {line.split(",")[0] for line in record.splitlines()} == set(names)
    assert not [n for n in names if "__pycache__" in n or n.startswith("/") or ".." in n]


def test_a_wheel_of_an_installed_package_installs(tmp_path):
    made = wheels.wheel_of("et-xmlfile", tmp_path)
    assert made.sha256 == hashlib.sha256(made.path.read_bytes()).hexdigest()
    sys.path.insert(0, str(made.path))  # a pure wheel runs from the file, as Python reads a zip
    try:
        spec = importlib.util.find_spec("et_xmlfile")
        assert made.modules == ("et_xmlfile",) and spec is not None
    finally:
        sys.path.remove(str(made.path))
    with zipfile.ZipFile(made.path) as wheel:
        assert str(ROOT) not in str([wheel.read(n) for n in wheel.namelist()])
        assert not any(n.endswith("direct_url.json") for n in wheel.namelist())


def test_what_is_compiled_for_this_machine_is_refused(tmp_path):
    with pytest.raises(InputError, match="numpy: no copy of pure Python is installed"):
        wheels.wheel_of("numpy", tmp_path)
    with pytest.raises(InputError, match="no-such-thing: is not installed here"):
        wheels.wheel_of("no-such-thing", tmp_path)


def test_wheels_are_those_that_the_distribution_lacks(gathered):
    found, without = gathered
    names = {wheel.name for wheel, _ in found}
    assert {"relieflib", "fluids", "openpyxl", "et-xmlfile", "pypdf", "fpdf2", "defusedxml",
            "ipywidgets", "comm"} <= names  # fmt: skip
    assert not names & {*BROUGHT, "jupyterlab", "jupyterlab-widgets", "widgetsnbextension"}
    assert without == ()


def test_the_import_loads_all_that_the_package_says_it_needs(gathered):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    listed = [*project["dependencies"], *project["optional-dependencies"]["notebooks"]]
    said = {re.split("[<>=]", text)[0].lower() for text in listed} - {"jupyterlab", "anywidget"}
    found = {wheel.name: needs for wheel, needs in gathered[0]}
    assert set(found["relieflib"]) == said


def test_the_lock_holds_each_wheel_by_name_and_hash(gathered):
    pyodide = browser_site.Pyodide(lock_of(), "https://example.org/pyodide")
    packages = browser_site.extended(pyodide, gathered[0], [])["packages"]
    for wheel, _ in gathered[0]:
        entry = packages[wheel.name]
        assert entry["file_name"] == wheel.path.name and entry["version"] == wheel.version
        assert entry["sha256"] == hashlib.sha256(wheel.path.read_bytes()).hexdigest()
    assert packages["relieflib"]["imports"] == ["relieflib"]
    assert packages["numpy"]["file_name"] == "https://example.org/pyodide/numpy-2.4.6.whl"
    known = {*packages, "widgetsnbextension"}  # which the kernel brings
    assert all(set(p["depends"]) <= known for p in packages.values())


def test_of_a_copy_only_what_is_needed_is_listed(gathered, copy):
    pyodide = browser_site.distribution(copy)
    packages = browser_site.extended(pyodide, gathered[0], [])["packages"]
    assert "sympy" not in packages and "://" not in json.dumps(packages)
    assert {"numpy", "coolprop", "pillow", "relieflib"} <= set(packages)


def test_without_coolprop_the_page_says_so(tmp_path):
    lock = lock_of({n: v for n, v in BROUGHT.items() if n != "coolprop"})
    found, without = browser_site.gather(lock, tmp_path)
    needs = {wheel.name: needs for wheel, needs in found}["relieflib"]
    assert "coolprop" not in needs and "numpy" in needs
    assert len(without) == 1 and "CoolProp" in without[0]
    page = browser_site.first_page(browser_site.Pyodide(lock), lock)
    assert "no CoolProp" in page
    whole = lock_of()
    assert "no CoolProp" not in browser_site.first_page(browser_site.Pyodide(whole), whole)


def test_a_version_that_does_not_go_is_refused(tmp_path):
    with pytest.raises(InputError, match="holds numpy 1.20.0, and needed is"):
        browser_site.gather(lock_of(BROUGHT | {"numpy": "1.20.0"}), tmp_path)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"packages": [], "info": {}}', "\xff"])
def test_what_is_no_distribution_is_said(tmp_path, text):
    with pytest.raises(InputError, match="holds no pyodide.mjs"):
        browser_site.distribution(tmp_path)
    for name in ("pyodide.mjs", "pyodide.asm.wasm"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / browser_site.LOCK).write_text(text, encoding="latin-1")
    with pytest.raises(InputError, match="own list of packages can't be read"):
        browser_site.distribution(tmp_path)


def test_settings_name_an_address_only_where_one_is_given():
    plugin = browser_site.KERNEL + browser_site.PLUGIN

    def kernel(pyodide):
        told = json.loads(json.dumps(browser_site.settings(pyodide)))
        return told["jupyter-config-data"]["litePluginSettings"][plugin]

    plain = kernel(browser_site.Pyodide(lock_of()))
    assert "pyodideUrl" not in plain and plain["disablePyPIFallback"] is True
    assert "://" not in json.dumps(plain)
    assert kernel(browser_site.Pyodide(lock_of(), folder=ROOT))["pyodideUrl"].startswith("./")
    own = kernel(browser_site.Pyodide(lock_of(), "http://school.example/py"))
    assert own["pyodideUrl"] == "http://school.example/py/pyodide.mjs"


def test_the_first_page_says_what_is_kept_where():
    page = browser_site.first_page(browser_site.Pyodide(lock_of()), lock_of())
    text = " ".join(page.split())
    assert "licensed" in text and "local code" in text and "invented" in text
    assert "in this browser on this machine" in text and "my-work" in text
    assert "<<" not in text and "**" not in text and "://" not in text
    assert 'href="lab/index.html?path=notebooks/00-start-here.ipynb"' in text
    assert text.count("<h1>") == 1 and 'lang="en"' in text
    # JupyterLite's page looks for its settings in the page above it too
    assert '<script id="jupyter-config-data"' in text and 'data-jupyter-lite-root="."' in text


@pytest.mark.skipif(not all(HERE), reason="needs the extra: site")
def test_a_small_site(tmp_path, copy):
    (tmp_path / "set" / "notebooks").mkdir(parents=True)
    (tmp_path / "set" / "data").mkdir()
    cell = {"cell_type": "markdown", "id": "t", "metadata": {}, "source": "# Start"}
    notebook = {"cells": [cell], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    first = tmp_path / "set" / "notebooks" / "00-start-here.ipynb"
    first.write_text(json.dumps(notebook))
    (tmp_path / "set" / "data" / "demo_plant.toml").write_text("# invented\n")
    out = tmp_path / "out"
    made = browser_site.make(out, copy, first.parent)
    assert made.notebooks == 1 and made.warned == ()
    assert (out / "files" / "notebooks" / first.name).read_bytes() == first.read_bytes()
    assert (out / "files" / "data" / "demo_plant.toml").is_file()
    lock = json.loads((out / browser_site.PLACE / browser_site.LOCK).read_text())
    for entry in lock["packages"].values():
        path = out / browser_site.PLACE / entry["file_name"]
        assert path.is_file(), entry["name"]
        if entry["name"] not in BROUGHT:
            assert hashlib.sha256(path.read_bytes()).hexdigest() == entry["sha256"]
    assert {"piplite", "pyodide-kernel", "ipykernel", "widgetsnbextension"} <= set(lock["packages"])
    told = json.loads((out / "jupyter-lite.json").read_text())["jupyter-config-data"]
    kernel = told["litePluginSettings"][browser_site.KERNEL + browser_site.PLUGIN]
    assert (out / kernel["pyodideUrl"]).is_file()
    assert (out / kernel["loadPyodideOptions"]["lockFileURL"]).is_file()
    assert "licensed" in (out / "index.html").read_text()
    held = [p for p in out.rglob("*.json") if str(tmp_path) in p.read_text(errors="replace")]
    assert held == []  # nothing of this machine stands in the site
