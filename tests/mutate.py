"""Does the net catch? Change one thing in the package and demand that tests fail.

Run by hand: `python tests/mutate.py [--all] [MODULE ...]`, MODULE such as nozzle/gas. Without
`--all` one coefficient of each function is changed (the first that is not 0, 1 or 2 alone); with
it every one, by 1 %. `--operators` changes choices instead: an operator (+ and -, * and /), a
comparison, min and max, and and or, a `not` removed, two arguments swapped. `--sample N --seed S`
takes N of them by chance. Each change is made in a copy of the package; the doctests of the module
and the tests of its floor run on it, no notebook. Prints the survivors and a score by module, and
exits 1 if there is a survivor.
"""

import argparse
import ast
import copy
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
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


SWAPPED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.GtE,
    ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or,
    ast.Or: ast.And, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
TWINS = {"min": "max", "minimum": "maximum", "fmin": "fmax", "any": "all"}
TWINS |= {two: one for one, two in TWINS.items()}
# Changes that no test can tell from the original, by a piece of their line, and why.
EQUIVALENT = {
    "isinstance(value, float) and": "a short cut: the way round it gives the same",
    "if type(value) is float and": "a short cut: the way round it gives the same",
    "if not array.size or": "a short cut: the way round it gives the same",
    "0.0 *": "carries NaN along: the sign of nothing",
    "tiny": "keeps 0 from a logarithm or a division: any tiny number does",
    "# guard": "a bracket or tolerance of a solver, whose answer does not rest on it",
    "raise InputError(": "words of a refusal",
    "for _ in range(": "how often a solver may step",
    "1 + 1e-": "a tolerance of rounding", "1 - 1e-": "a tolerance of rounding",
}  # fmt: skip
# Tests of a module's own floor, beside its doctests; all of FLOOR where none is named.
FLOOR = ["tests/test_rules.py", "tests/published", "tests/properties", "tests/test_safeguard.py",
         "tests/test_one_judge.py", "tests/test_contracts.py"]  # fmt: skip
OWN = {
    "sizing": ["published/test_choices_of_size.py", "published/test_sizing.py", "test_contracts.py",
               "test_working.py"],
    "devices": ["published/test_choices_of_size.py", "published/test_sizing.py",
                "test_contracts.py", "test_working.py"],
    "valve_questions": ["test_one_judge.py", "test_safeguard.py", "published/test_set_pressure.py"],
    "safeguard/judge": ["test_one_judge.py", "test_safeguard.py"],
    "set_pressure": ["published/test_set_pressure.py", "test_contracts.py"],
    "rules": ["test_rules.py", "published/test_set_pressure.py", "test_one_judge.py"],
}  # fmt: skip


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


def changed(node):
    """Each way to change one choice at a node: (words, node put in its place)."""
    new = copy.deepcopy(node)
    if isinstance(node, (ast.BinOp, ast.BoolOp)) and type(node.op) in SWAPPED:
        new.op = SWAPPED[type(node.op)]()
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
        new.ops[0] = SWAPPED[type(node.ops[0])]()
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.Invert)):
        new = new.operand
    elif isinstance(node, ast.Call):
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        if name in TWINS and isinstance(node.func, ast.Name):
            new.func.id = TWINS[name]
        elif name in TWINS:
            new.func.attr = TWINS[name]
        elif len(node.args) >= 2 and ast.dump(node.args[0]) != ast.dump(node.args[1]):
            new.args[:2] = new.args[1::-1]
        else:
            return
    else:
        return
    yield f"{ast.unparse(node)} -> {ast.unparse(new)}", f"({ast.unparse(new)})"


def choices(source):
    """(function, line, start, (last line, end), words, text) of each choice to change."""
    tree, lines, seen = ast.parse(source), source.splitlines(), set()
    for function in [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]:
        for node in ast.walk(ast.Module(function.body, [])):
            if not isinstance(node, ast.expr) or node in seen:
                continue
            seen.add(node)
            line = lines[node.lineno - 1]
            said = " ".join(lines[node.lineno - 1 : node.end_lineno])
            words = ("InputError(", "refuse(", "warn_outside(", "step(", 'f"')
            if any(one in line for one in EQUIVALENT) or said.strip().startswith(words):
                continue
            for words, text in changed(node):
                yield (function.name, node.lineno, node.col_offset,
                       (node.end_lineno, node.end_col_offset), words, text)  # fmt: skip


def put(lines, mutation):
    """The lines of a module with one change in them."""
    _, line, start, end, what, *text = mutation
    last, end = end if text else (line, end)
    first = lines[line - 1].encode()[:start].decode()
    rest = lines[last - 1].encode()[end:].decode()
    lines[line - 1 : last] = [first + (text[0] if text else repr(what * 1.01)) + rest]
    return "".join(lines)


def survives(module, mutation, folder):
    """True when the tests still pass on the changed copy."""
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
    path.write_text(put(lines, mutation), encoding="utf-8")
    tests = [str(path), *(f"tests/{one}" for one in OWN[module])] if module in OWN else None
    tests = tests or [str(path), *FLOOR]
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
    parser.add_argument("--operators", action="store_true", help="choices, not coefficients")
    parser.add_argument("--sample", type=int, help="so many of them, by chance")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--list", action="store_true", help="only list what would be changed")
    parser.add_argument("modules", nargs="*")
    options = parser.parse_args()
    modules = options.modules or [m for m in MODULES if (ROOT / f"relieflib/{m}.py").exists()]
    jobs = []
    for module in modules:
        source = (ROOT / f"relieflib/{module}.py").read_text(encoding="utf-8")
        found = choices(source) if options.operators else coefficients(source, options.all)
        jobs += [(module, one) for one in found]
    if options.sample and options.sample < len(jobs):
        jobs = sorted(random.Random(options.seed).sample(jobs, options.sample))
    if options.list:
        print(*(f"{m}.py:{c[1]} {c[0]}: {c[4]}" for m, c in jobs), sep="\n")
        return 0
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        alive = list(pool.map(lambda job: survives(*job, folder), jobs))
    for (module, m), lives in zip(jobs, alive):
        if lives:
            print(f"SURVIVES {module}.py:{m[1]} {m[0]}: {m[4]}")
    made, left = Counter(m for m, _ in jobs), Counter(m for (m, _), a in zip(jobs, alive) if a)
    for module in made:
        print(f"{module:30s} {made[module] - left[module]:4d} of {made[module]:4d} caught")
    what = "choices changed" if options.operators else "coefficients changed by 1 %"
    print(f"{len(jobs)} {what}, {len(jobs) - sum(alive)} caught")
    return 1 if any(alive) else 0


if __name__ == "__main__":
    sys.exit(main())
