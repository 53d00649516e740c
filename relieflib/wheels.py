"""Wheels made of what is installed here, for a place that can't install: pure Python alone.

A site in the browser takes the copies that this machine runs, so that no index of packages is
asked, and the versions are those that the tests ran with. What has parts compiled for this machine
is refused.
"""

import base64
import hashlib
import re
import tomllib
import zipfile
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from relieflib import __version__
from relieflib.errors import InputError

FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # one content, one file: a wheel's hash changes with what it does
LEFT = {"RECORD", "INSTALLER", "REQUESTED", "direct_url.json", "WHEEL"}  # written anew, or local
WHEEL = "Wheel-Version: 1.0\nGenerator: relieflib\nRoot-Is-Purelib: true\nTag: py3-none-any\n"


@dataclass(frozen=True)
class Wheel:
    """A wheel written: its package's name and version, its path, the modules it brings."""

    name: str
    version: str
    path: Path
    modules: tuple

    @property
    def sha256(self):
        """The hash by which a browser holds the file against the lock."""
        return hashlib.sha256(self.path.read_bytes()).hexdigest()


def plain_name(name):
    """The one way to write a package's name. Returns str.

    >>> plain_name("Et_XMLfile")
    'et-xmlfile'
    """
    return re.sub(r"[-_.]+", "-", name).lower()


def needs_of(name, extras=()):
    """What an installed package says it needs: lines such as 'numpy<3,>=1.26'.

    Parameters: name; extras, names of its own extras. Returns list of
    `packaging.requirements.Requirement`, those of this extra or of none, markers of systems still
    to be asked. Raises InputError where it is not installed.
    """
    from packaging.requirements import Requirement

    checkout = Path(__file__).resolve().parents[1] / "pyproject.toml"
    if name == "relieflib" and checkout.is_file():  # what an older install noted may be out of date
        project = tomllib.loads(checkout.read_text(encoding="utf-8"))["project"]
        more = (project["optional-dependencies"][extra] for extra in extras)
        return [Requirement(text) for part in (project["dependencies"], *more) for text in part]
    found = [Requirement(text) for text in _installed(name).requires or ()]
    return [r for r in found if _wanted(r, extras)]


def _wanted(requirement, extras):
    """True for what is needed in a browser, without an extra or with one of these."""
    here = {"sys_platform": "emscripten", "platform_system": "Emscripten", "os_name": "posix",
            "platform_machine": "wasm32"}  # fmt: skip
    marker = requirement.marker
    return marker is None or any(marker.evaluate(here | {"extra": e}) for e in ("", *extras))


def _installed(name):
    try:
        return metadata.distribution(name)
    except metadata.PackageNotFoundError:
        raise InputError(f"{name}: is not installed here, and the site needs it") from None


def wheel_of(name, folder):
    """Write the wheel of an installed package.

    Parameters: name; folder, Path. Returns `Wheel`. Raises InputError where it is not installed,
    or not pure Python.
    """
    found = _installed(name)
    pure = "Root-Is-Purelib: true" in (found.read_text("WHEEL") or "")
    paths = [p for p in found.files or () if ".." not in p.parts and "__pycache__" not in p.parts]
    if not pure or not paths or any(p.suffix in (".so", ".pyd", ".dll") for p in paths):
        raise InputError(f"{name}: no copy of pure Python is installed here, as a browser needs")
    kept = {p.as_posix(): p.locate().read_bytes() for p in paths if p.name not in LEFT}
    return _written(plain_name(name), found.version, kept, folder)


def own_wheel(folder):
    """Write the wheel of this package, with the demo plant's data. Returns `Wheel`."""
    package = Path(__file__).resolve().parent
    kept = _tree(package, "relieflib")
    if not (package / "data").is_dir():  # a checkout: `data` stands where users see it
        kept |= _tree(package.parent / "data", "relieflib/data")
    about = f"Metadata-Version: 2.1\nName: relieflib\nVersion: {__version__}\n"
    kept[f"relieflib-{__version__}.dist-info/METADATA"] = about.encode()
    return _written("relieflib", __version__, kept, folder)


def _tree(folder, name):
    """Files of a folder, name in the wheel -> bytes, without what editors and Python leave."""
    paths = (p for p in folder.rglob("*") if p.is_file() and p.suffix != ".pyc")
    inside = {p.relative_to(folder): p for p in paths}
    return {
        f"{name}/{part.as_posix()}": path.read_bytes()
        for part, path in inside.items()
        if not any(p.startswith(".") or p == "__pycache__" for p in part.parts)
    }


def _written(name, version, files, folder):
    info = next(n for n in files if n.endswith(".dist-info/METADATA")).rpartition("/")[0]
    files = dict(sorted(files.items())) | {f"{info}/WHEEL": WHEEL.encode()}
    record = "".join(f"{n},sha256={_mark(data)},{len(data)}\n" for n, data in files.items())
    files[f"{info}/RECORD"] = (record + f"{info}/RECORD,,\n").encode()
    path = Path(folder) / f"{name.replace('-', '_')}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as wheel:
        for inside, data in files.items():
            wheel.writestr(zipfile.ZipInfo(inside, FIRST_DAY), data, zipfile.ZIP_DEFLATED)
    return Wheel(name, version, path, _modules(files))


def _mark(data):
    return base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()


def _modules(files):
    """Names that an `import` may begin with."""
    first = {n.partition("/")[0] for n in files if n.endswith(".py")}
    return tuple(sorted(n.removesuffix(".py") for n in first if ".dist-info" not in n))
