"""Does the net catch? Change one coefficient of each equation by 1 % and demand that tests fail.

Run by hand: `python tests/mutate.py [--all] [MODULE ...]`, MODULE such as nozzle/gas. Without
`--all` one coefficient of each function is changed (the first that is not 0, 1 or 2 alone); with
it every one. Each change is made in a copy of the package; the package's doctests, `published`
and `properties` run on it. Prints the survivors and exits 1 if there is one.
"""

import argparse
import ast
import os
import re
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[1]
MODULES = [
    "rules", "valve_questions", "set_pressure", "nozzle/gas", "nozzle/steam", "nozzle/liquid",
    "nozzle/two_phase", "nozzle/real_fluid", "nozzle/isentrope", "fluid_flash",
    "devices", "orifices", "sizing", "units", "geometry", "properties",
    *(f"causes/{p.stem}" for p in sorted((ROOT / "relieflib/causes").glob("[a-z]*.py"))),
    *(f"causes/shared/{p.stem}"
      for p in sorted((ROOT / "relieflib/causes/shared").glob("[a-z]*.py"))),
    *(f"lines/{p.stem}" for p in sorted((ROOT / "relieflib/lines").glob("[a-z]*.py"))),
    *(f"disposal/{name}" for name in ("flame", "radiation", "stack", "purge_and_seal")),
    "exchanger", "safeguard/judge", "slips/catalogue",
]  # fmt: skip
# Numbers that are no coefficients: guards, tolerances, solver steps, display.
NOT_COEFFICIENT = re.compile(r"1e-\d+|1 \+ 1e|1 - 1e|tiny|range\(|fmt:|:\.\d|# guard|warn_outside")


class Finder(ast.NodeVisitor):
    """Collects (function, node) of numeric literals outside docstrings and messages."""

    def __init__(self):
        self.found, self.where = [], "module"

    def visit_FunctionDef(self, node):
        before, self.where = self.where, node.name
        for default in [*node.args.defaults, *node.args.kw_defaults]:
            if default is not None:
                self.visit(default)
        for part in node.body:
            self.visit(part)
        self.where = before

    def visit_ClassDef(self, node):
        before, self.where = self.where, node.name
        self.generic_visit(node)
        self.where = before

    def visit_Subscript(self, node):  # an index is no coefficient
        self.visit(node.value)

    def visit_Constant(self, node):
        if type(node.value) in (int, float) and type(node.value) is not bool and node.value != 0:
            self.found.append((self.where, node))


def coefficients(source, every):
    """(function, line, start, end, value) of each literal to change in a module's source."""
    finder = Finder()
    finder.visit(ast.parse(source))
    lines, seen = source.splitlines(), set()
    for where, node in finder.found:
        plain = isinstance(node.value, int) and node.value in (1, 2, 3)
        if isinstance(node.value, int) and node.value in (7, 9, 10):  # editions
            continue
        if NOT_COEFFICIENT.search(lines[node.lineno - 1]) or (plain and not every):
            continue
        if not every and where in seen and where != "module":
            continue
        seen.add(where)
        yield where, node.lineno, node.col_offset, node.end_col_offset, node.value


def survives(module, mutation, folder):
    """True when the tests still pass on the changed copy."""
    where, line, start, end, value = mutation
    place = Path(tempfile.mkdtemp(dir=folder))
    ignore = shutil.ignore_patterns("__pycache__", "*.ipynb")
    for part in ("relieflib", "tests", "data", "pyproject.toml"):
        source = ROOT / part
        if source.is_dir():
            shutil.copytree(source, place / part, ignore=ignore)
        else:
            shutil.copy(source, place / part)
    path = place / "relieflib" / f"{module}.py"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    text = lines[line - 1].encode()
    lines[line - 1] = (text[:start] + repr(value * 1.01).encode() + text[end:]).decode()
    path.write_text("".join(lines), encoding="utf-8")
    tests = [str(path), "tests/test_rules.py", "tests/published", "tests/properties",
             "tests/test_safeguard.py", "tests/test_one_judge.py"]  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist",
         "-o", "addopts=--doctest-modules --import-mode=importlib", *tests],
        cwd=place, env=os.environ | {"PYTHONPATH": str(place), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True, text=True,
    )  # fmt: skip
    shutil.rmtree(place)
    return done.returncode == 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", action="store_true", help="every coefficient, not one a function")
    parser.add_argument("--list", action="store_true", help="only list what would be changed")
    parser.add_argument("modules", nargs="*")
    options = parser.parse_args()
    modules = options.modules or [m for m in MODULES if (ROOT / f"relieflib/{m}.py").exists()]
    jobs = []
    for module in modules:
        source = (ROOT / f"relieflib/{module}.py").read_text(encoding="utf-8")
        jobs += [(module, m) for m in coefficients(source, options.all)]
    if options.list:
        print(*(f"{m}.py:{c[1]} {c[0]}: {c[4]}" for m, c in jobs), sep="\n")
        return 0
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        alive = list(pool.map(lambda job: survives(*job, folder), jobs))
    for (module, m), lives in zip(jobs, alive):
        if lives:
            print(f"SURVIVES {module}.py:{m[1]} {m[0]}: {m[4]}")
    print(f"{len(jobs)} coefficients changed by 1 %, {len(jobs) - sum(alive)} caught")
    return 1 if any(alive) else 0


if __name__ == "__main__":
    sys.exit(main())
