"""Does the net catch? Change one thing in the package and demand that tests fail.

Run by hand: `python tests/mutate.py [--all] [MODULE ...]`, MODULE such as nozzle/gas. Without
`--all` one coefficient of each function is changed (the first that is not 0, 1 or 2 alone); with
it every one, by 1 %. `--operators` changes choices instead: an operator (+ and -, * and /), a
comparison, min and max, and and or, a `not` removed, two arguments swapped. `--sample N --seed S`
takes N of them by chance.

First the tests run once under `coverage` (which pip brings), to learn which test touches which
line: the doctests of the modules and the tests of their floor, no notebook. `--map FILE` keeps what
was learnt. Then each change is made in a copy of the package and meets the tests that touch its
line, the quickest first, until one fails; where none touches it, all that touch its module. (A
value that a cache keeps is touched by its first user alone: look at a survivor before you believe
it.) Prints the survivors and a score by module, and exits 1 if there is a survivor. Needs fork, as
POSIX has it.
"""

import argparse
import ast
import copy
import importlib
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from functools import partial
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
NOT_COEFFICIENT = re.compile(
    r"1e-\d+|1 \+ 1e|1 - 1e|tiny|range\(|fmt:|:\.\d|# guard|warn_outside"
    r"|valves=1|valves > 1"
)  # a count: 1 % of it is none


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
    "_COLDEST": "where a search begins", "_TRACE": "what rounding leaves",
    "1 + 1e-": "a tolerance of rounding", "1 - 1e-": "a tolerance of rounding",
}  # fmt: skip
# Tests of the floor; a number of `rules` belongs to no test by the line it stands in.
FLOOR = ["tests/published", "tests/properties", "tests/test_rules.py", "tests/test_safeguard.py",
         "tests/test_one_judge.py", "tests/test_contracts.py", "tests/test_working.py",
         "tests/test_position.py", "tests/test_facts_of_the_trade.py",
         "tests/test_datasheet_judging.py", "tests/test_slips_by_hand.py",
         "tests/test_slips_planted.py"]  # fmt: skip
OWN = {"rules": ["tests/test_rules.py"]}
# What every child has from its parent, which saves the time to load it.
HELD = ["CoolProp.CoolProp", "fluids", "hypothesis", "networkx", "openpyxl", "pytest",
        "scipy.integrate", "scipy.interpolate", "scipy.optimize", "scipy.stats"]  # fmt: skip
QUICK = 12  # so many are tried before the rest is loaded
SECONDS = 120  # longer than any test: a change that hangs is caught


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


def last_line(mutation):
    """The last line that a change touches."""
    return mutation[3][0] if len(mutation) > 5 else mutation[1]


def put(lines, mutation):
    """The lines of a module with one change in them."""
    _, line, start, end, what, *text = mutation
    last, end = end if text else (line, end)
    first = lines[line - 1].encode()[:start].decode()
    rest = lines[last - 1].encode()[end:].decode()
    lines[line - 1 : last] = [first + (text[0] if text else repr(what * 1.01)) + rest]
    return "".join(lines)


# ------------------------------------------------------------ which test touches which line
def pytest_runtest_logstart(nodeid, location):
    """As a plugin under coverage: what runs from here on belongs to this test."""
    import coverage

    coverage.Coverage.current().switch_context(nodeid)
    pytest_runtest_logstart.at = time.perf_counter()


def pytest_runtest_logfinish(nodeid, location):
    """The test is over; its time goes to the file that LEARN names."""
    import coverage

    coverage.Coverage.current().switch_context("")
    with open(os.environ["LEARN"], "a", encoding="utf-8") as file:
        print(time.perf_counter() - pytest_runtest_logstart.at, nodeid, file=file)


PYTEST = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:nbval",
          "-o", "addopts=--doctest-modules --import-mode=importlib"]  # fmt: skip


def learn(modules, path):
    """Run the tests of modules once and write to `path` which line each touches, and how long."""
    files = [f"relieflib/{m}.py" for m in modules]
    files += dict.fromkeys(test for m in modules for test in OWN.get(m, FLOOR))
    here = os.pathsep.join([str(ROOT), str(ROOT / "tests")])
    subprocess.run(
        [sys.executable, "-m", "coverage", "run", "--source=relieflib", f"--data-file={path}",
         "-m", "pytest", *PYTEST, "-p", "mutate", *files],
        cwd=ROOT, check=True,
        env=os.environ | {"PYTHONPATH": here, "LEARN": f"{path}.times", "COVERAGE_CORE": "ctrace"},
    )  # fmt: skip


class Known:
    """What was learnt: the tests that touch a line, and those of a whole module."""

    def __init__(self, path):
        import coverage

        self.data = coverage.CoverageData(str(path))
        self.data.read()
        times = Path(f"{path}.times").read_text(encoding="utf-8").splitlines()
        self.seconds = {test: float(took) for took, test in (line.split(" ", 1) for line in times)}

    def of(self, module):
        """Line of a module -> tests that touch it, the quickest first; at 0 all of the module."""
        own, found = f"relieflib/{module}.py", defaultdict(set)
        for line, tests in self.data.contexts_by_lineno(str(ROOT / own)).items():
            here = {t for t in tests if t.startswith(("tests/", own))}
            found[line] |= here
            found[0] |= here
        order = {line: sorted(tests, key=self.seconds.get) for line, tests in found.items()}
        return order if module not in OWN else {0: [own, *OWN[module]]}


# ------------------------------------------------------------ one change and its tests
def copied(folder):
    """A copy of what the tests need, for one process."""
    place = Path(tempfile.mkdtemp(dir=folder))
    ignore = shutil.ignore_patterns("__pycache__", "*.ipynb")
    for part in ("relieflib", "tests", "data", "conftest.py", "pyproject.toml"):
        source, to = ROOT / part, place / part
        if source.is_dir():
            shutil.copytree(source, to, ignore=ignore)
        else:
            shutil.copy(source, to)
    return place


def survives(module, mutation, place, stages):
    """True when the tests still pass on the changed copy, stage by stage."""
    path = place / "relieflib" / f"{module}.py"
    whole = path.read_text(encoding="utf-8")
    path.write_text(put(whole.splitlines(keepends=True), mutation), encoding="utf-8")
    forget(path)
    alive = all(child(lambda tests=tests: passes(place, tests)) for tests in stages if tests)
    path.write_text(whole, encoding="utf-8")
    forget(path)
    return alive


def forget(path):
    """Drop the compiled module: Python knows a change by second and size, which may be alike."""
    for old in path.parent.glob(f"__pycache__/{path.stem}.*"):
        old.unlink()


class Clock:
    """Ends the process, which then says no, where one test takes longer than any does."""

    def pytest_runtest_logstart(self, nodeid, location):
        """So many seconds of processor time for each test."""
        signal.setitimer(signal.ITIMER_PROF, SECONDS)


def passes(place, tests):
    """Do these tests pass in a copy; in a process of its own, which this may spoil."""
    Clock().pytest_runtest_logstart("loading", None)
    os.chdir(place)
    sys.path.insert(0, str(place))
    os.environ["PYTHONPATH"] = str(place)
    for stream in (1, 2):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
    import pytest

    return pytest.main(["-x", "--hypothesis-seed=0", *PYTEST, *tests], [Clock()]) == 0


def started(ask):
    """The number of a child, which holds the libraries already; it ends with 0 for True."""
    number = os.fork()
    if number:
        return number
    try:
        code = int(not ask())
    except BaseException:
        code = 1
    os._exit(code)


def child(ask):
    """What a question gives in a child."""
    return os.waitstatus_to_exitcode(os.waitpid(started(ask), 0)[1]) == 0


def every(jobs, known, at_once):
    """Yield (job, True where it survives) of each (module, change), so many at once."""
    for name in HELD:
        importlib.import_module(name)
    with tempfile.TemporaryDirectory() as folder:
        free, running, jobs = [copied(folder) for _ in range(at_once)], {}, list(jobs)[::-1]
        touching = {module: known.of(module) for module in {m for m, _ in jobs}}
        while jobs or running:
            while jobs and free:
                (module, mutation), place = jobs.pop(), free.pop()
                tests, lines = touching[module], range(mutation[1], last_line(mutation) + 1)
                met = list(dict.fromkeys(t for line in lines for t in tests.get(line, ())))
                met = met or tests.get(0, [])
                ask = partial(survives, module, mutation, place, [met[:QUICK], met[QUICK:]])
                running[started(ask)] = (module, mutation), place
            number, status = os.wait()
            job, place = running.pop(number)
            free.append(place)
            yield job, os.waitstatus_to_exitcode(status) == 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", action="store_true", help="every coefficient, not one a function")
    parser.add_argument("--operators", action="store_true", help="choices, not coefficients")
    parser.add_argument("--sample", type=int, help="so many of them, by chance")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--list", action="store_true", help="only list what would be changed")
    parser.add_argument("--map", type=Path, help="keeps which test touches which line")
    parser.add_argument("--at-once", type=int, default=2)
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
    with tempfile.TemporaryDirectory() as folder:
        path = options.map or Path(folder) / "map"
        if not path.exists():
            learn(modules, path)
        made, left = Counter(), Counter()
        for (module, m), lives in every(jobs, Known(path), options.at_once):
            made[module] += 1
            left[module] += lives
            if lives:
                print(f"SURVIVES {module}.py:{m[1]} {m[0]}: {m[4]}", flush=True)
    for module in sorted(made):
        print(f"{module:30s} {made[module] - left[module]:4d} of {made[module]:4d} caught")
    what = "choices changed" if options.operators else "coefficients changed by 1 %"
    print(f"{made.total()} {what}, {made.total() - left.total()} caught")
    return 1 if left.total() else 0


if __name__ == "__main__":
    sys.exit(main())
