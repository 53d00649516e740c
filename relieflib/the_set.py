"""Where the notebooks stand, and folders that a command may fill."""

from pathlib import Path

from relieflib.errors import InputError
from relieflib.texts import harmless


def notebook_folder(given=None):
    """The folder of the notebooks.

    Parameters: given, path of it or of the folder that holds it; None for the copy that this
    package was installed from, else what stands here. Returns Path. Raises InputError.
    """
    places = [Path(given)] if given else [Path(__file__).resolve().parents[1], Path.cwd()]
    for folder in (p for place in places for p in (place / "notebooks", place)):
        if (folder / "00-start-here.ipynb").is_file():
            return folder.resolve()
    where = f"{harmless(given, 200)}: holds no" if given else "there is no folder of"
    raise InputError(f"{where} notebooks (00-start-here.ipynb): give it with --notebooks FOLDER")


def fresh_folder(path):
    """A folder to fill: new, or empty. Returns Path. Raises InputError for one that holds files."""
    path = Path(path)
    try:
        path.mkdir(parents=True, exist_ok=True)
        held = any(path.iterdir())
    except OSError as error:
        words = (error.strerror or "unknown reason").lower()
        raise InputError(f"{harmless(path, 200)}: can't be made: {words}") from None
    if held:
        raise InputError(f"{harmless(path, 200)}: holds files already and was left as it is")
    return path.resolve()
