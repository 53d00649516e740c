"""A class on one machine: the files of a small JupyterHub, and a page for the instructor.

A participant logs in as p1, p2, ...: the number of the login is the number of the participant, so
that the key can be printed before anyone has come. All programs of a class run as the account that
started it; the page says what follows from that.

Needs the extra `workshop` (JupyterHub) where the class runs, not to write the files.
"""

import re
import secrets
import shutil
from pathlib import Path

from relieflib.asking.kept import as_room
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.texts import CAUTION, harmless
from relieflib.the_set import fresh_folder, notebook_folder

MOST = 200  # participants of one machine
SERVER_MB, NOTEBOOK_MB = (100, 160), (125, 220)  # measured: low, high
LOGIN = re.compile(r"p([1-9]\d{0,2})")
TEMPLATES = Path(__file__).parent / "templates"
FILES = {
    "jupyterhub_config.py": "hub.txt",
    "package.json": "proxy.txt",
    "INSTRUCTOR.md": "page.txt",
}


def write(folder, participants=20, room="", notebooks=None, password=None):
    """Write what a class on one machine needs.

    Parameters: folder, new or empty; participants, how many; room, code that is mixed into the
    questions; notebooks, their folder, by default this copy's; password of the class, drawn by
    default. Returns Path of the instructor's page. Raises InputError.
    """
    count, room = count_of(participants), as_room(room)
    source = notebook_folder(notebooks)
    folder = fresh_folder(folder)
    folder.chmod(0o700)  # it holds the password of the class
    copy_set(source, folder / "set")
    words = {
        "COUNT": count, "ROOM": repr(room), "CODE": room or "none",
        "ROOM_OPTION": f' --room "{room}"' if room else "",
        "PASSWORD": password or secrets.token_urlsafe(9), "CAUTION": CAUTION,
        "GB": gigabytes(count), "SERVER": "{} to {}".format(*SERVER_MB),
        "NOTEBOOK": "{} to {}".format(*NOTEBOOK_MB),
    }  # fmt: skip
    for name, template in FILES.items():
        text = (TEMPLATES / template).read_text(encoding="utf-8")
        for key, value in words.items():
            text = text.replace(f"<<{key}>>", str(value))
        write_whole(folder / name, text, overwrite=False)
    return folder / "INSTRUCTOR.md"


def count_of(participants):
    """How many take part. Raises InputError for anything but a whole number, 1 to `MOST`.

    >>> count_of("12")
    12
    """
    text = str(participants).strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 4 and 1 <= int(text) <= MOST):
        raise InputError(f"participants '{harmless(text, 20)}': give how many, 1 to {MOST}")
    return int(text)


def gigabytes(count, open_notebooks=2):
    """Memory that a class may take, in whole gigabytes, at the high end and with 2 for the machine.

    Parameters: count of participants; open_notebooks of each. Returns int.
    >>> gigabytes(20)  # 20 x (160 + 2 x 220) MB = 12.0 GB, and 2
    14
    """
    return -int(-count * (SERVER_MB[1] + open_notebooks * NOTEBOOK_MB[1]) // 1000) + 2


def copy_set(source, target):
    """Copy the notebooks and their data, without what a reader made there.

    Parameters: source, folder of the notebooks; target, a folder that gets `notebooks` and `data`.
    Returns None. Raises InputError where the data are missing or the copy fails.
    """
    own = shutil.ignore_patterns("my-work", ".*", "__pycache__", "*.py")
    data = source.parent / "data"
    if not data.is_dir():
        raise InputError(f"{harmless(data, 200)}: is missing; the notebooks read their plant there")
    try:
        shutil.copytree(source, target / "notebooks", ignore=own)
        shutil.copytree(data, target / "data", ignore=own)
    except (OSError, shutil.Error) as error:
        raise InputError(f"{harmless(target, 200)}: not copied: {str(error)[:200]}") from None


def number_of(login):
    """The participant's number of a login: 7 of 'p7'. Raises InputError for another name.

    >>> number_of("p7")
    7
    """
    found = LOGIN.fullmatch(login)
    if not found or int(found[1]) > MOST:
        raise InputError(f"login '{harmless(login, 40)}': is p and a number, such as p7")
    return int(found[1])


def seat(folder, login):
    """The folder of a login, made on the first day with a copy of the set; later left as it is.

    Parameters: folder of the class; login. Returns Path. Raises InputError.
    """
    number_of(login)
    place = Path(folder) / "room" / login
    if not (place / "notebooks").is_dir():
        draft = place.with_name(f".{login}-{secrets.token_hex(4)}")  # whole, or not at all
        copy_set(Path(folder) / "set" / "notebooks", draft)
        try:
            draft.rename(place)
        except OSError:
            shutil.rmtree(draft, ignore_errors=True)
            if not (place / "notebooks").is_dir():
                raise InputError(f"{harmless(place, 200)}: is no folder of a participant") from None
    return place


def prepare(folder, room, spawner):
    """What is done before a participant's server starts: a seat, a number, the room code.

    Parameters: folder of the class; room code; spawner of JupyterHub, changed. Returns None.
    """
    seat(folder, spawner.user.name)
    spawner.environment["RELIEFLIB_PARTICIPANT"] = str(number_of(spawner.user.name))
    spawner.environment["RELIEFLIB_ROOM"] = room
