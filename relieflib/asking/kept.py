"""Who answers, and what was answered: files in the reader's own folder `my-work`."""

import json
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from relieflib import __version__
from relieflib.errors import InputError
from relieflib.files import locked, write_whole
from relieflib.texts import harmless

MOST = 9999  # participants


def my_work():
    """Folder of what a reader makes: `my-work` here, or where RELIEFLIB_MY_WORK points."""
    return Path(os.environ.get("RELIEFLIB_MY_WORK", "my-work"))


@dataclass(frozen=True)
class Who:
    """Who answers: participant, a number; room, the code of a class; words, what is wrong."""

    participant: int = 0
    room: str = ""
    words: str = ""

    def __str__(self):
        number = f"Participant {self.participant}" if self.participant else "Working alone"
        return number + (f", room {self.room}" if self.room else "")


def as_participant(text):
    """The number of a participant. Raises InputError, in words, for anything else.

    >>> as_participant(" 7 ")
    7
    """
    said = harmless(str(text).encode("utf-8", "replace").decode("utf-8"), 20)
    plain = str(text).strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) <= 4):
        raise InputError(f"participant '{said}': write the number that you were given, 0 to {MOST}")
    return int(plain)


def as_room(text):
    """The code of a class: short, small letters. Raises InputError for a long one.

    >>> as_room(" Blue 7 ")
    'blue 7'
    """
    code = " ".join(str(text or "").casefold().split())
    if len(code) > 20 or not code.isprintable():
        raise InputError("room code: at most twenty letters, as the instructor wrote it")
    return code


def who():
    """Who answers here: RELIEFLIB_PARTICIPANT and RELIEFLIB_ROOM, else what `be` kept.

    Returns `Who`; one that can't be read is nobody, and the words say why.
    """
    env = os.environ
    said = {"participant": env.get("RELIEFLIB_PARTICIPANT"), "room": env.get("RELIEFLIB_ROOM", "")}
    try:
        if said["participant"] is None:
            said = json.loads((my_work() / "participant.json").read_text(encoding="utf-8"))
        return Who(as_participant(said["participant"]), as_room(said["room"]))
    except FileNotFoundError:
        return Who()
    except InputError as problem:
        return Who(words=str(problem))
    except (OSError, ValueError, TypeError, KeyError):
        return Who(words="participant.json in my-work can't be read: set it again")


def be(participant, room=""):
    """Keep who answers for every notebook of this folder. Returns `Who`; raises InputError."""
    person = Who(as_participant(participant), as_room(room))
    path = my_work() / "participant.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps({"participant": person.participant, "room": person.room}))
    return person


def kept_answers():
    """Answers kept in the folder of `my_work`, name -> list of attempts; empty when there are none.

    Returns dict. A file that can't be read is set aside as `answers.broken.json`, not lost.
    """
    path = my_work() / "answers.json"
    if not path.exists():
        return {}
    answers = read_answers(path)
    if answers is not None:
        return answers
    aside, number = path.with_name("answers.broken.json"), 1
    while aside.exists():
        aside, number = path.with_name(f"answers.broken-{number}.json"), number + 1
    path.rename(aside)
    return {}


def read_answers(path):
    """The answers of a file, or None where it holds something else. Raises OSError."""
    try:
        answers = json.loads(Path(path).read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return None
    good = isinstance(answers, dict) and all(_is_kept(kept) for kept in answers.values())
    return answers if good else None


def _is_kept(kept):
    return isinstance(kept, list) and all(
        isinstance(a, dict) and {"attempt", "verdict"} <= set(a) for a in kept
    )


def last_answer(name):
    """The last attempt kept under a name, or None; a folder that can't be read holds none."""
    try:
        return (kept_answers().get(name) or [None])[-1]
    except OSError:
        return None


def keep_answer(name, answer):
    """Keep an answer on disk after those given before, so that a kernel restart does not lose it.

    Parameters: name, 'book/key/participant'; answer, dict. Returns None. Raises OSError
    where the folder can't be written or another kernel holds the file; what was kept before then
    still stands. The same answer given twice running is kept once.
    """
    _change({name: answer})


def keep_attempt(name, attempt, verdict, slip="", room="", unit=""):
    """Keep one try with its time and the version that judged it; raises as `keep_answer`."""
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    _change({name: {"attempt": attempt, "unit": unit, "verdict": verdict, "slip": slip,
                    "room": room, "time": now, "version": __version__}})  # fmt: skip


def start_again(book, participant=0):
    """Begin a notebook's questions anew: earlier tries stay in the file, and count no more.

    Parameters: book, number of the notebook; participant. Returns how many were set back.
    """
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    begun = {
        name: {"attempt": "", "verdict": "started again", "time": now, "version": __version__}
        for name, kept in kept_answers().items()
        if name.split("/")[0] == book and name.rsplit("/", 1)[-1] == str(participant)
        and kept and kept[-1]["verdict"] != "started again"
    }  # fmt: skip
    _change(begun)
    return len(begun)


def _same(a, b):
    return {**a, "time": ""} == {**b, "time": ""}


def _change(more):
    """Add one record under each name, all or none. Raises OSError."""
    path = my_work() / "answers.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with locked(path):
            answers, before = kept_answers(), None
            before = json.dumps(answers)
            for name, record in more.items():
                if not _same(answers.get(name, [{}])[-1], record):
                    answers[name] = [*answers.get(name, []), record]
            if json.dumps(answers) != before:
                write_whole(path, json.dumps(answers, indent=1, ensure_ascii=False))
    except InputError as problem:
        raise OSError(str(problem)) from None
