"""For an instructor: the key of a class, and its marks, judged anew from the answers kept.

A mark is never read from a file: what stands there is the attempt, and it is judged again here
with the numbers of that participant and room.
"""

import io
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from relieflib.asking.kept import Who, as_participant, as_room, read_answers
from relieflib.asking.question import asked
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.questions import asked_in, bank, question
from relieflib.texts import CAUTION, harmless


def participants_of(text):
    """Numbers of participants: '1-20', '3,5,8', or both.

    Parameters: text. Returns a list of int. Raises InputError for anything else, or above 500.
    >>> participants_of("1-3,7")
    [1, 2, 3, 7]
    """
    found = []
    for part in str(text).split(","):
        low, _, high = part.partition("-")
        first = as_participant(low)
        last = as_participant(high) if high else first
        found += range(first, last + 1)
    if not 1 <= len(found) <= 500:
        raise InputError(f"participants '{harmless(text)}': give 1 to 500, such as 1-20")
    return list(dict.fromkeys(found))


def key(participants, room="", books=None):
    """Right answers for an instructor.

    Parameters: participants, iterable of int; room, code of the class; books, numbers of notebooks,
    all by default. Returns rows (notebook, question, participant, answer), str but for the number.
    >>> key([3], books=["00"])[1][3]
    'The closed outlet: it needs the largest area.'
    """
    return [
        (book, one.name.split("/")[1], number, one.right_text)
        for book in books or bank()
        for number in participants
        for one in asked_in(book, Who(number, as_room(room)))
    ]


def key_text(rows):
    """Rows of `key` as text: each question, then its answers; one line where all have the same."""
    lines, questions = [], {}
    for book, name, number, answer in rows:
        questions.setdefault((book, name), []).append((number, answer))
    for (book, name), answers in questions.items():
        lines.append(f"{book}  {name}")
        if len({a for _, a in answers}) == 1:
            lines.append(f"    all: {answers[0][1]}")
        else:
            lines += [f"    {number:>4}: {answer}" for number, answer in answers]
    return "\n".join(lines)


@dataclass
class Mark:
    """What one participant did with one question: judged anew."""

    folder: str
    participant: int
    room: str
    book: str
    key: str
    verdict: str  # right, wrong, started again, not judged
    tries: int
    slip: str
    attempt: str
    first_time: str
    last_time: str
    version: str
    slips: list = field(default_factory=list)  # of every wrong try
    words: str = ""


def marks(folder):
    """Marks of every `answers.json` in a folder and below.

    Parameters: folder, path. Returns (list of `Mark`, list of words on what was left out). Raises
    InputError where no such file is found.
    """
    root = Path(folder)
    files = sorted(root.rglob("answers.json"))
    if not files:
        raise InputError(f"{harmless(folder, 200)}: holds no answers.json, in it or below it")
    found, left = [], []
    for path in files:
        where = path.parent.relative_to(root).as_posix()
        where = where.removesuffix("my-work").rstrip("/.") or "."
        try:
            answers = read_answers(path)
        except OSError as problem:
            left.append(f"{where}: can't be read: {problem.strerror}")
            continue
        if answers is None:
            left.append(f"{where}: answers.json holds no answers")
            continue
        for name, tries in answers.items():
            mark = _mark(where, name, tries)
            (found if isinstance(mark, Mark) else left).append(mark)
    return found, [*left, *_twice(found)]


def _twice(found):
    """Words on participants whose answers stand in two folders."""
    folders = {}
    for mark in found:
        folders.setdefault(mark.participant, set()).add(mark.folder)
    return [f"participant {n} stands in several folders: {', '.join(sorted(where))}"
            for n, where in sorted(folders.items()) if len(where) > 1]  # fmt: skip


def _mark(where, name, tries):
    """The `Mark` of what was kept under a name, or words on why there is none."""
    said = f"{where}: '{harmless(name)}'"
    try:
        book, key_, number = name.split("/")
        origin, _, rest = key_.partition(" ")
        of_earlier = origin in bank() and len(origin) == 2 and bool(rest)
        task = question(origin, rest) if of_earlier else question(book, key_)
        last = [t for t in tries if t.get("attempt")]
        if not last:
            return f"{said}: no try in it"
        who = Who(as_participant(number), as_room(last[-1].get("room")))
        one = asked(task, book, who, origin if of_earlier else "")
    except (InputError, ValueError, AttributeError):
        return f"{said}: no question of this version"
    judged = [one.judge(t["attempt"], t.get("unit") or "") for t in last]
    begun = tries[-1]["verdict"] == "started again"
    right = any(j.verdict == "right" for j in judged)
    verdict = "right" if right else "started again" if begun else judged[-1].verdict
    slips = [j.slip or "none known" for j in judged if j.verdict == "wrong"]
    return Mark(
        where, who.participant, who.room, book, key_, verdict, len(last),
        "" if right or not slips else slips[-1], _attempt(last[-1]), str(last[0].get("time", "")),
        str(last[-1].get("time", "")), str(last[-1].get("version", "")), slips,
    )  # fmt: skip


def _attempt(record):
    return harmless(f"{record['attempt']} {record.get('unit') or ''}".strip(), 200)


def by_question(found):
    """Per question: who answered, who had it right at last, tries, and the slips made.

    Parameters: found, list of `Mark`. Returns rows (notebook, question, answered, right, tries,
    {slip: how often}).
    """
    rows, order = {}, sorted(found, key=lambda m: m.book)
    for mark in order:
        row = rows.setdefault((mark.book, mark.key), [0, 0, 0, Counter()])
        row[0] += 1
        row[1] += mark.verdict == "right"
        row[2] += mark.tries
        row[3].update(mark.slips)
    return [(*name, *row) for name, row in rows.items()]


def marks_text(found, left):
    """Marks as text: participants, then questions with the slips made, then what was left out."""
    lines = ["participant  room      right of tried  tries  folder"]
    people = {}
    for mark in found:
        people.setdefault((mark.participant, mark.room, mark.folder), []).append(mark)
    for (number, room, folder), own in sorted(people.items()):
        right = sum(m.verdict == "right" for m in own)
        tries = sum(m.tries for m in own)
        lines.append(
            f"{number:>11}  {room or '-':8}  {right:>5} of {len(own):<6}  {tries:>5}  {folder}"
        )
    lines += ["", "question                        right of tried  slips, and how often"]
    for book, key_, answered, right, _, slips in by_question(found):
        said = "; ".join(f"{words} ({n})" for words, n in slips.most_common())
        lines.append(f"{book}  {key_:28}  {right:>3} of {answered:<5}  {said}".rstrip())
    return "\n".join([*lines, *(f"left out: {words}" for words in left)])


def marks_xlsx(found, left, path):
    """Write marks as XLSX: sheets of participants, questions and answers, nothing as a formula.

    Parameters: found and left as `marks` gives; path of a new file. Returns Path. Raises InputError
    for one that is there.
    """
    import openpyxl
    from openpyxl.styles import Font

    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in _sheets(found, left).items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        for cell in (c for row in sheet.iter_rows() for c in row):
            if isinstance(cell.value, str):
                cell.data_type = "s"
        sheet.freeze_panes = "A2"
    data = io.BytesIO()
    book.save(data)
    return write_whole(path, data.getvalue(), overwrite=False)


def _sheets(found, left):
    people = {}
    for mark in found:
        people.setdefault((mark.participant, mark.room, mark.folder), []).append(mark)
    return {
        "participants": [("participant", "room", "folder", "right", "tried", "tries"), *(
            (*who, sum(m.verdict == "right" for m in own), len(own), sum(m.tries for m in own))
            for who, own in sorted(people.items()))],
        "questions": [("notebook", "question", "tried", "right", "failed", "tries", "slips"), *(
            (book, name, answered, right, answered - right, tries,
             "; ".join(f"{words} ({n})" for words, n in slips.most_common()))
            for book, name, answered, right, tries, slips in by_question(found))],
        "answers": [("participant", "room", "notebook", "question", "verdict", "tries", "last slip",
                     "last attempt", "first try", "last try", "version", "folder"), *(
            (m.participant, m.room, m.book, m.key, m.verdict, m.tries, m.slip, m.attempt,
             m.first_time, m.last_time, m.version, m.folder) for m in found)],
        "left out": [("words",), *((words,) for words in left),
                     (CAUTION.replace("*", ""),)],
    }  # fmt: skip
