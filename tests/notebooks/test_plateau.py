"""Every notebook with the plant on a plateau, and no sea level behind its back.

The demo plant's file is copied with an atmosphere of 84 kPaa. Every default `atmosphere` of the
package, and its constant too, is NaN meanwhile: whatever forgets to ask the plant ends in a NaN,
and is found. What works a published example says that it stands at sea level.
"""

import importlib
import inspect
import json
import pkgutil
import re
import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest

import relieflib
from relieflib.asking.kept import Who
from relieflib.nozzle.gas import Gas
from relieflib.questions import asked_in, bank
from relieflib.report.page import sizing_report
from relieflib.sizing import ReliefLoad, size
from relieflib.summary import compare
from relieflib.units import ATMOSPHERE

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted(p.name for p in (ROOT / "notebooks").glob("*.ipynb"))
# the files of 51 state their own pressures, and no plant
OWN_SITE = {"51-datasheet-check.ipynb"}
# 1 atm as the unit it is, the steam table's psig, and the density of air at standard conditions
STANDARD = {"units", "kinds", "nozzle.steam", "causes.tank_breathing"}


def modules():
    """Every module of the package but what starts it."""
    for found in pkgutil.walk_packages(relieflib.__path__, "relieflib."):
        if not found.name.endswith("__main__"):
            yield importlib.import_module(found.name)


def functions():
    """Every function of the package, constructors of its classes among them."""
    for module in modules():
        for thing in vars(module).values():
            if getattr(thing, "__module__", None) != module.__name__:
                continue
            if inspect.isfunction(thing):
                yield thing
            elif inspect.isclass(thing):
                yield from (f for f in vars(thing).values() if inspect.isfunction(f))


@contextmanager
def no_sea_level():
    """Defaults of `atmosphere`, and the constant outside STANDARD, are NaN while this lasts."""
    changed = []
    constants = [m for m in modules() if hasattr(m, "ATMOSPHERE")
                 and m.__name__.removeprefix("relieflib.") not in STANDARD]  # fmt: skip
    for function in dict.fromkeys(functions()):
        changed.append((function, function.__defaults__, function.__kwdefaults__))
        names = list(inspect.signature(function).parameters)
        if "atmosphere" not in names:
            continue
        nan = float("nan")
        function.__defaults__ = function.__defaults__ and tuple(
            nan if value == ATMOSPHERE and isinstance(value, float) else value
            for value in function.__defaults__
        )
        if (function.__kwdefaults__ or {}).get("atmosphere") == ATMOSPHERE:
            function.__kwdefaults__ = function.__kwdefaults__ | {"atmosphere": nan}
    for module in constants:
        module.ATMOSPHERE = float("nan")
    try:
        yield
    finally:
        for module in constants:
            module.ATMOSPHERE = ATMOSPHERE
        for function, defaults, named in changed:
            function.__defaults__, function.__kwdefaults__ = defaults, named


@pytest.fixture(scope="module")
def plateau(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plateau")
    shutil.copytree(ROOT / "data", folder / "data")
    (folder / "notebooks").mkdir()
    path = folder / "data" / "demo_plant.toml"
    text, count = re.subn(
        r'^atmosphere = "[\d.]+ kPaa"',
        'atmosphere = "84 kPaa"',
        path.read_text("utf-8"),
        flags=re.M,
    )
    assert count == 1
    path.write_text(text, "utf-8")
    return folder


def test_the_net_catches():
    with no_sea_level():
        from relieflib import Device, relieving_pressure

        assert relieving_pressure(10e5) != relieving_pressure(10e5)
        assert Device().atmosphere != Device().atmosphere
    assert relieving_pressure(10e5) == 11e5 + ATMOSPHERE and Device().atmosphere == ATMOSPHERE


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", [n for n in NOTEBOOKS if n not in OWN_SITE])
def test_notebook_on_a_plateau(name, plateau, monkeypatch, capsys):
    from IPython.core.interactiveshell import InteractiveShell

    monkeypatch.chdir(plateau / "notebooks")
    cells = json.loads((ROOT / "notebooks" / name).read_text("utf-8"))["cells"]
    shell = InteractiveShell()
    with no_sea_level():
        for cell in (c for c in cells if c["cell_type"] == "code"):
            source = "".join(cell["source"])
            done = shell.run_cell(source, store_history=False)
            assert done.success, f"{source}\n{done.error_before_exec or done.error_in_exec}"
            printed = capsys.readouterr().out
            assert not re.search(r"\bnan\b", printed), f"{source}\n{printed}"
        for one in asked_in(name[:2], Who(3)) if name[:2] in bank() else []:
            assert one.right == one.right, one.text


def test_the_report_states_its_site():
    with no_sea_level():
        device = relieflib.Device("conventional", 10e5, atmosphere=84e3)
        gas = Gas(11e5 + 84e3, 320.0, molar_mass=28.0, k=1.4, Z=1.0)
        page = sizing_report(compare({"x": size(ReliefLoad("x", 1.0, gas), device)}), "V-1").html()
    assert "84000 Pa" in page and not re.search(r"\bnan\b", page)
