"""The set as a site that runs in the browser alone: no install, no server that computes.

JupyterLite shows the notebooks and Pyodide, Python for the browser, runs them. The site carries the
notebooks, `data`, the package's own wheel and the pure Python packages that Pyodide's distribution
lacks; a lock tells Pyodide that `import relieflib` loads them all. Pyodide comes from its own
distribution, at the address that its kernel names, or from a copy.

Needs the extra `site` (JupyterLite and its Pyodide kernel, pinned together) to make it.
"""

import html
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.request
from dataclasses import dataclass
from pathlib import Path

from relieflib import __version__
from relieflib.errors import InputError, need
from relieflib.files import write_whole
from relieflib.texts import CAUTION, harmless
from relieflib.the_set import fresh_folder, notebook_folder
from relieflib.wheels import Wheel, needs_of, own_wheel, plain_name, wheel_of
from relieflib.workshop import copy_set

NEEDS = {"jupyterlite_core": "JupyterLite", "jupyterlite_pyodide_kernel": "its Pyodide kernel",
         "jupyter_core": "Jupyter"}  # fmt: skip
KERNEL, PLUGIN = "@jupyterlite/pyodide-kernel-extension", ":kernel"
EXTENSIONS = (KERNEL, "@jupyter-widgets/jupyterlab-manager")
PLACE = "static/pyodide"  # the lock, our wheels, and of a copy of Pyodide what is needed
LOCK, ENTRY = "pyodide-lock.json", "pyodide.mjs"
CORE = (ENTRY, "pyodide.asm.mjs", "pyodide.asm.js", "pyodide.asm.wasm", "python_stdlib.zip")
FIRST = ("micropip", "piplite", "ipykernel", "comm", "pyodide-kernel", "jedi", "ipython",
         "relieflib")  # loaded while Python starts  # fmt: skip
# of the page, not of the kernel; anywidget needs a part of both, and what it needs is compiled
ON_THE_PAGE = {"jupyterlab", "jupyterlab-widgets", "anywidget"}
OPTIONAL = {"coolprop": "CoolProp"}  # without it a cell that needs it says so
PAGE = Path(__file__).parent / "templates" / "site_page.txt"


@dataclass(frozen=True)
class Site:
    """A site made: its folder, how many notebooks, its size in MB, and what to know of it."""

    folder: Path
    notebooks: int
    megabytes: float
    warned: tuple


@dataclass(frozen=True)
class Pyodide:
    """A distribution of Pyodide: where it stands, and what its own lock says.

    `folder` is a copy on this machine; without one the browser asks `address`, which is '' for the
    one that the kernel names.
    """

    lock: dict
    address: str = ""
    folder: Path | None = None


def make(out, pyodide=None, notebooks=None):
    """Write the set as a site for the browser alone.

    Parameters: out, a new or empty folder; pyodide, folder or address of a copy of its
    distribution, by default the address that the kernel names; notebooks, their folder, by default
    this copy's. Returns `Site`. Raises InputError where a package lacks, the folder holds files,
    there are no notebooks, or the distribution can't be read.
    """
    for package, name in NEEDS.items():
        _needed(package, name)
    source = notebook_folder(notebooks)
    found = distribution(pyodide)
    out = fresh_folder(out)
    with tempfile.TemporaryDirectory() as work:
        copy_set(source, Path(work) / "set")
        _build(Path(work), out, settings(found))
        place = out / PLACE
        place.mkdir(parents=True)
        wheels, without = gather(found.lock, Path(work))
        lock = extended(found, wheels, _kernel_wheels(out))
        _carry(found, lock, wheels, place)
    write_whole(place / LOCK, json.dumps(lock, indent=1, sort_keys=True))
    write_whole(out / "index.html", first_page(found, lock))
    count = len(list((out / "files" / "notebooks").glob("*.ipynb")))
    size = sum(p.stat().st_size for p in out.rglob("*") if p.is_file()) / 1e6
    return Site(out, count, size, (*warnings(found), *without))


def _needed(package, name):
    try:
        need(package)
    except InputError:
        raise InputError(f'needs {name}, which this copy lacks: pip install -e ".[site]"') from None


def distribution(given=None):
    """Pyodide's distribution: a folder, an address, or the one that the kernel names.

    Parameters: given, str or Path, or None. Returns `Pyodide`. Raises InputError.
    """
    text = str(given or "")
    if re.match(r"https?://", text):
        address = text.rstrip("/").removesuffix("/" + ENTRY)
        return Pyodide(_fetched(f"{address}/{LOCK}"), address)
    if not text:
        constants = need("jupyterlite_pyodide_kernel.constants")
        return Pyodide(_fetched(f"{constants.PYODIDE_CDN_URL}/{LOCK}"))
    folder = Path(text)
    lacking = [name for name in (ENTRY, "pyodide.asm.wasm", LOCK) if not (folder / name).is_file()]
    if lacking:
        raise InputError(f"--pyodide {harmless(text, 200)}: holds no {', '.join(lacking)}")
    return Pyodide(_lock(lambda: (folder / LOCK).read_bytes(), text), folder=folder.resolve())


def _fetched(url):
    return _lock(lambda: urllib.request.urlopen(url, timeout=60).read(), url)


def _lock(read, where):
    """A lock as a dict; read, a function that gives its bytes."""
    try:
        lock = json.loads(read())
        if isinstance(lock["packages"], dict) and isinstance(lock["info"], dict):
            return lock
    except (OSError, ValueError, KeyError, TypeError):
        pass
    raise InputError(
        f"Pyodide's own list of packages can't be read at {harmless(where, 200)}: give a copy of "
        "its distribution with --pyodide FOLDER"
    )


def warnings(pyodide):
    """What to know of this distribution, in words: another Python than the kernel was made for."""
    made_for = need("jupyterlite_pyodide_kernel.constants").PYODIDE_PYTHON_VERSION
    python = str(pyodide.lock["info"].get("python", ""))
    if python.startswith(f"{made_for}."):
        return ()
    return (f"this copy of Pyodide holds Python {harmless(python, 20)}; its kernel is made for "
            f"Python {made_for}: try the site before you give it away",)  # fmt: skip


def gather(lock, folder):
    """Write the wheels that the notebooks need and a distribution lacks.

    Parameters: lock of the distribution, dict; folder to write to. Returns a list of (`Wheel`,
    names that it needs) and a tuple of words for what is left out. Raises InputError where the
    distribution holds a version that the package does not go with.
    """
    done, without = {}, []
    waiting = [("relieflib", ("notebooks",)), ("comm", ()), ("jedi", ())]
    while waiting:
        name, extras = waiting.pop()
        if name in done or (name in lock["packages"] and name != "relieflib"):
            continue
        wanted = [r for r in needs_of(name, extras) if plain_name(r.name) not in ON_THE_PAGE]
        names = [plain_name(r.name) for r in wanted if _held(r, lock, without)]
        make_one = own_wheel if name == "relieflib" else lambda to, n=name: wheel_of(n, to)
        done[name] = (make_one(folder), names)
        waiting += [(n, ()) for n in names if n not in PRETENDED]
    return list(done.values()), tuple(without)


PRETENDED = {"widgetsnbextension", "ipykernel"}  # of the kernel's own, in place of larger ones


def _held(requirement, lock, without):
    """True where what is needed can be had; words for what can't are added."""
    name = plain_name(requirement.name)
    held = lock["packages"].get(name)
    if held is None and name in OPTIONAL:
        without.append(f"without {OPTIONAL[name]}, which this copy of Pyodide lacks: cells that "
                       "need it say so")  # fmt: skip
        return False
    if held is None or requirement.specifier.contains(held["version"], prereleases=True):
        return True
    raise InputError(
        f"this copy of Pyodide holds {name} {held['version']}, and needed is "
        f"{requirement.specifier}: give another with --pyodide"
    )


def extended(pyodide, wheels, of_kernel):
    """The site's lock: Pyodide's own, and what stands beside it.

    Parameters: pyodide, `Pyodide`; wheels, as `gather` gives them; of_kernel, a list of `Wheel`
    that the kernel brings. Returns a dict: of a copy what is needed alone, else all with the
    address that they come from.
    """
    packages = {name: dict(entry) for name, entry in pyodide.lock["packages"].items()}
    if pyodide.folder is None:
        base = pyodide.address or need("jupyterlite_pyodide_kernel.constants").PYODIDE_CDN_URL
        for entry in packages.values():
            if "://" not in entry["file_name"]:
                entry["file_name"] = f"{base}/{entry['file_name']}"
    own = {wheel.name: _entry(wheel, needs) for wheel, needs in wheels}
    own |= {wheel.name: _entry(wheel, needs) for wheel, needs in of_kernel}
    packages |= own
    if pyodide.folder is not None:
        packages = {name: packages[name] for name in sorted(_reached(packages, FIRST))}
    return pyodide.lock | {"packages": packages}


def _entry(wheel, needs):
    return {
        "name": wheel.name, "version": wheel.version, "file_name": wheel.path.name,
        "sha256": wheel.sha256, "imports": list(wheel.modules), "depends": sorted(needs),
        "install_dir": "site", "package_type": "package", "unvendored_tests": False,
    }  # fmt: skip


def _reached(packages, names):
    """Names of all that these need, themselves among them."""
    found, waiting = set(), list(names)
    while waiting:
        name = waiting.pop()
        if name not in found and name in packages:
            found.add(name)
            waiting += [plain_name(n) for n in packages[name]["depends"]]
    return found


def _kernel_wheels(out):
    """The kernel's own wheels, as JupyterLite put them into the site, with what they need."""
    folder = out / "extensions" / KERNEL / "static" / "pypi"
    needs = {"pyodide_kernel": ("ipython", "comm"), "ipykernel": ("pyodide-kernel",),
             "piplite": ("micropip",), "widgetsnbextension": ()}  # fmt: skip
    found = {}
    for path in sorted(folder.glob("*.whl")):  # of two versions the later stands
        module, version = path.name.split("-")[:2]
        if module in needs:
            found[module] = Wheel(plain_name(module), version, path, (module,)), needs[module]
    return list(found.values())


def _carry(pyodide, lock, wheels, place):
    """Put files beside the lock: the wheels, and of a copy of Pyodide what the lock names."""
    out = place.parents[1]
    for wheel, _ in (*wheels, *_kernel_wheels(out)):
        shutil.copyfile(wheel.path, place / wheel.path.name)
    if pyodide.folder is None:
        return
    names = {entry["file_name"] for entry in lock["packages"].values()}
    for name in (*CORE, *sorted(names)):
        source, target = pyodide.folder / name, place / name
        if source.is_file() and not target.exists():
            shutil.copyfile(source, target)
    lacking = [name for name in sorted(names) if not (place / name).is_file()]
    if lacking:
        raise InputError(f"this copy of Pyodide lacks {', '.join(lacking[:3])}, which it lists")


def settings(pyodide):
    """What the site's page is told, as JupyterLite reads it. Returns a dict."""
    kernel = {
        "disablePyPIFallback": True,  # nothing is asked of an index of packages
        "loadPyodideOptions": {"lockFileURL": f"./{PLACE}/{LOCK}", "packages": list(FIRST)},
    }
    if pyodide.folder is not None:
        kernel["pyodideUrl"] = f"./{PLACE}/{ENTRY}"
    elif pyodide.address:
        kernel["pyodideUrl"] = f"{pyodide.address}/{ENTRY}"
    return {
        "jupyter-lite-schema-version": 0,
        "jupyter-config-data": {
            "appName": "Relief-valve workbooks",
            "litePluginSettings": {KERNEL + PLUGIN: kernel},
        },
    }


def _build(work, out, told):
    """Run JupyterLite's own maker over the set."""
    (work / "jupyter-lite.json").write_text(json.dumps(told), encoding="utf-8")
    build = {
        "contents": ["set"], "apps": ["lab"], "output_dir": str(out), "cache_dir": "cache",
        "ignore_sys_prefix": True, "federated_extensions": [str(_extension(n)) for n in EXTENSIONS],
        "no_sourcemaps": True, "no_unused_shared_packages": True,
    }  # fmt: skip
    text = json.dumps({"LiteBuildConfig": build})
    (work / "jupyter_lite_config.json").write_text(text, encoding="utf-8")
    plain = {k: v for k, v in os.environ.items() if not k.startswith("JUPYTERLITE_")}
    command = [sys.executable, "-m", "jupyterlite_core", "build"]
    run = subprocess.run(command, cwd=work, env=plain, capture_output=True, text=True)
    if run.returncode or not (out / "lab" / "index.html").is_file():
        said = (run.stderr or run.stdout).strip()[-300:]
        raise InputError(f"JupyterLite did not make the site: {harmless(said, 300)}")


def _extension(name):
    """Folder of a part of JupyterLab's page that is installed here."""
    for folder in need("jupyter_core.paths").jupyter_path("labextensions"):
        if (Path(folder) / name / "package.json").is_file():
            return Path(folder) / name
    raise InputError(f'needs {name}, which this copy lacks: pip install -e ".[site]"')


def first_page(pyodide, lock):
    """The first page: what this is, what is kept where, the caution, the way in. Returns str."""
    source = "this site" if pyodide.folder else "Pyodide's own distribution, which is asked for it"
    words = {
        "CAUTION": html.escape(CAUTION.replace("**Caution.** ", "")),
        "VERSION": __version__,
        "SOURCE": source,
        "COOLPROP": "" if "coolprop" in lock["packages"] else
        "<p>This site has no CoolProp, the library of fluid properties. A cell that needs it says "
        "so, and the rest goes on.</p>",
    }  # fmt: skip
    text = PAGE.read_text(encoding="utf-8")
    for key, value in words.items():
        text = text.replace(f"<<{key}>>", value)
    return text
