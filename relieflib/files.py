"""Files that are there whole or not at all, whoever else reads or writes them meanwhile."""

import os
import time
from contextlib import contextmanager
from pathlib import Path

from relieflib.errors import InputError
from relieflib.texts import harmless

STALE = 60.0  # s: a writer holds the lock for milliseconds, so an older one was left by a dead one
OPEN_ELSEWHERE = "is open in another program, such as Excel: close it there and try again"


def write_whole(path, data, overwrite=True):
    """Write a file by a neighbour and a rename, so that a failure leaves what was there.

    Parameters: path; data, bytes, or str for UTF-8; overwrite, False to refuse a file that is
    there. Returns Path. A new file gets the rights that the user's other new files get, an old one
    keeps its own. Raises InputError for a file that is there and may not be replaced, one that
    another program holds open, a full disk or a folder that can't be written to.
    """
    path = Path(path)
    data = data.encode("utf-8") if isinstance(data, str) else data
    if path.exists() and not overwrite:
        raise InputError(f"{harmless(path, 200)}: exists already and was left as it is")
    draft = path.with_name(f".{path.name}.{os.getpid()}-{time.monotonic_ns()}.part")
    try:
        _write(draft, data, path)
        _move(draft, path, overwrite)
    except FileExistsError:
        raise InputError(f"{harmless(path, 200)}: exists already and was left as it is") from None
    except OSError as error:
        words = f"can't be written: {(error.strerror or 'unknown reason').lower()}"
        if isinstance(error, PermissionError) and draft.exists():  # the folder took the draft
            words = OPEN_ELSEWHERE
        raise InputError(f"{harmless(path, 200)}: {words}") from None
    finally:
        draft.unlink(missing_ok=True)
    return path


def _write(draft, data, path):
    """The draft on the disk itself; a plain open, so that the user's umask says who may read it."""
    with open(draft, "xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if path.exists():
        os.chmod(draft, path.stat().st_mode & 0o777)


def _move(draft, path, overwrite):
    if overwrite:
        os.replace(draft, path)
        return
    try:
        os.link(draft, path)  # fails if somebody made the file meanwhile
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links, such as a memory stick
        open(path, "xb").close()
        try:
            os.replace(draft, path)
        except OSError:
            path.unlink(missing_ok=True)
            raise


@contextmanager
def locked(path, seconds=5.0):
    """Hold a file alone among all who write it so; a dead writer's lock goes after a minute.

    Parameters: path of the file; seconds to wait for another. Raises InputError where it stays
    locked, or where the folder can't be written to.
    """
    lock, end = path.with_name(path.name + ".lock"), time.monotonic() + seconds
    while not _taken(lock):
        if _set_aside(lock):
            continue
        if time.monotonic() > end:
            raise InputError(
                f"{harmless(path, 200)}: is locked by another writer ({lock.name}); one that died "
                "leaves it for a minute"
            )
        time.sleep(0.05)
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _taken(lock):
    """True where the lock is ours now, False while another holds it."""
    try:
        os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return False
    except PermissionError:  # Windows says so while another's lock is being taken away
        if os.access(lock.parent, os.W_OK):
            return False
        raise InputError(f"{harmless(lock.parent, 200)}: this folder can't be written to") from None
    except OSError as error:
        words = (error.strerror or "unknown reason").lower()
        raise InputError(f"{harmless(lock, 200)}: can't be written: {words}") from None
    return True


def _set_aside(lock):
    """Take away the lock of a writer that died; True where it was one."""
    aside = lock.with_name(f"{lock.name}.{os.getpid()}")
    try:
        if time.time() - lock.stat().st_mtime < STALE:
            return False
        os.rename(lock, aside)  # of two that try, one gets it
    except OSError:
        return False
    aside.unlink(missing_ok=True)
    return True
