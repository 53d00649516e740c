"""Files that are there whole or not at all, whoever else reads or writes them meanwhile."""

import glob
import os
import socket
import sys
import time
from contextlib import contextmanager, suppress
from pathlib import Path

from relieflib.errors import InputError
from relieflib.texts import harmless

STALE, BRIEF = 3600.0, 1.0  # s: a draft so old was left by a dead writer; one so young never
FAR = 1_000_000  # a byte of a lock file that nobody writes
OPEN_ELSEWHERE = "is open in another program, such as Excel: close it there and try again"


def write_whole(path, data, overwrite=True):
    """Write a file by a neighbour and a rename, so that a failure leaves what was there.

    Parameters: path; data, bytes, or str for UTF-8; overwrite, False to refuse a file that is
    there. Returns Path. Raises InputError as `whole`.
    """
    with whole(path, overwrite) as file:
        file.write(data.encode("utf-8") if isinstance(data, str) else data)
    return Path(path)


@contextmanager
def whole(path, overwrite=True):
    """A binary file to write piece by piece, which takes its place when all of it is written.

    Parameters: path; overwrite, False to refuse a file that is there. A new file gets the rights
    that the user's other new files get, an old one keeps its own; a link stays, and what it leads
    to is written. Raises InputError for a file that is there and may not be replaced, one that
    another program holds open, a full disk or a folder that can't be written to.
    """
    said, path, draft = harmless(path, 200), Path(path), None
    if "\0" in str(path):
        raise InputError(f"{said}: is no file's name")
    try:
        if path.exists() and not overwrite:
            raise FileExistsError
        path = Path(os.path.realpath(path)) if path.is_symlink() else path
        clear_drafts(path)
        draft = path.with_name(f".{path.name}.{os.getpid()}-{time.monotonic_ns()}.part")
        with open(draft, "xb") as file:  # a plain open: the user's umask says who may read it
            yield file
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            os.chmod(draft, path.stat().st_mode & 0o777)
        _move(draft, path, overwrite)
    except FileExistsError:
        raise InputError(f"{said}: exists already and was left as it is") from None
    except OSError as error:
        words = f"can't be written: {(error.strerror or 'unknown reason').lower()}"
        if (
            isinstance(error, PermissionError) and draft and draft.exists()
        ):  # the folder took the draft
            words = OPEN_ELSEWHERE
        raise InputError(f"{said}: {words}") from None
    finally:
        if draft is not None:
            draft.unlink(missing_ok=True)


def clear_drafts(path):
    """Take away drafts of a file whose writer was killed: older than any writing takes.

    Parameters: path of the file. Returns None.
    """
    for draft in path.parent.glob(f".{glob.escape(path.name)}.*-*.part"):
        try:
            if _left_behind(draft):
                draft.unlink()
        except OSError:  # a writer moved it meanwhile, or another's that we may not touch
            continue


def _left_behind(draft):
    """True for a draft of a process that is gone, or, of another machine, an old one."""
    own = draft.name.rpartition(".part")[0].rpartition(".")[2].partition("-")[0]
    age = time.time() - draft.stat().st_mtime
    return age > STALE or (age > BRIEF and own.isdigit() and not _alive(int(own)))


def _alive(process):
    """False where no process of this number runs here; True where that can't be told."""
    if sys.platform == "win32":  # asking by a signal would end it
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        pass
    return True


def _move(draft, path, overwrite):
    if overwrite:
        os.replace(draft, path)
        return
    try:
        os.link(draft, path)  # fails if somebody made the file meanwhile
    except FileExistsError:
        raise
    except (OSError, AttributeError):  # no hard links: a memory stick, or Python in a browser
        open(path, "xb").close()
        try:
            os.replace(draft, path)
        except OSError:
            path.unlink(missing_ok=True)
            raise


@contextmanager
def locked(path, seconds=5.0):
    """Hold a file alone among all who write it so; a writer that dies gives it back at once.

    Parameters: path of the file; seconds to wait for another. Raises InputError where it stays
    locked, naming who holds it, or where the folder can't be written to. Python in a browser has
    no locks; there one hand writes, in a storage of its own.
    """
    if sys.platform == "emscripten":
        yield
        return
    path = Path(os.path.realpath(path))
    lock, end = path.with_name(path.name + ".lock"), time.monotonic() + seconds
    while (held := _taken(lock)) is None:
        if time.monotonic() > end:
            raise InputError(f"{harmless(path, 200)}: is locked by another writer{_holder(lock)}")
        time.sleep(0.02)
    try:
        yield
    finally:
        if sys.platform != "win32":  # while it is ours: who waits for it then sees that it is gone
            lock.unlink(missing_ok=True)
        os.close(held)
        if sys.platform == "win32":
            with suppress(OSError):  # another holds it by now
                lock.unlink(missing_ok=True)


def _taken(lock):
    """The open lock file where it is ours now, None while another holds it.

    The system itself keeps the lock and drops it with the process that holds it.
    """
    held = None
    try:
        held = os.open(lock, os.O_CREAT | os.O_RDWR)
        _hold(held)
        if not os.path.samestat(os.fstat(held), os.stat(lock)):  # taken away by its last holder
            raise BlockingIOError
        os.ftruncate(held, 0)
        os.write(held, f"{socket.gethostname()}, process {os.getpid()}".encode())
    except (BlockingIOError, FileNotFoundError, PermissionError) as error:
        if held is not None:
            os.close(held)
        elif not os.access(lock.parent, os.W_OK):
            words = f"{harmless(lock.parent, 200)}: this folder can't be written to"
            raise InputError(words) from None
        elif isinstance(error, FileNotFoundError):
            raise InputError(f"{harmless(lock.parent, 200)}: there is no such folder") from None
        # Windows says 'permission' while another's lock is being taken away
        return None
    except OSError as error:
        if held is not None:
            os.close(held)
        words = (error.strerror or "unknown reason").lower()
        raise InputError(f"{harmless(lock, 200)}: can't be locked: {words}") from None
    return held


def _hold(held):
    """Lock an open file for this process alone; BlockingIOError where another has it."""
    if sys.platform == "win32":
        import msvcrt

        try:
            os.lseek(held, FAR, os.SEEK_SET)  # beyond the name, which others may read
            msvcrt.locking(held, msvcrt.LK_NBLCK, 1)
            os.lseek(held, 0, os.SEEK_SET)
        except OSError:
            raise BlockingIOError from None
        return
    import fcntl

    fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _holder(lock):
    """Words for who holds a lock, as far as it says so."""
    try:
        name = lock.read_text("utf-8", "replace")
    except OSError:
        name = ""
    return f" ({harmless(name, 80)})" if name else ""
