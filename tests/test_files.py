"""One way to write a file: whole, readable by others, and in words where it can't be."""

import os
import stat
import sys

import pytest

from relieflib import files
from relieflib.asking import kept
from relieflib.errors import InputError

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="rights as POSIX has them")


@POSIX
@pytest.mark.parametrize("umask, rights", [(0o022, 0o644), (0o027, 0o640), (0o002, 0o664)])
def test_a_new_file_has_the_rights_that_the_umask_leaves(tmp_path, umask, rights):
    # POSIX open(): the mode is 0666 less the bits of the umask; an instructor reads 0644
    before = os.umask(umask)
    try:
        path = files.write_whole(tmp_path / "a.csv", "1\n")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == rights


@POSIX
def test_an_old_file_keeps_its_rights(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("old")
    path.chmod(0o664)
    files.write_whole(path, "new")
    assert path.read_text() == "new" and stat.S_IMODE(path.stat().st_mode) == 0o664


def test_text_is_written_as_it_is(tmp_path):
    path = files.write_whole(tmp_path / "a.csv", "ä\r\nb\n")
    assert path.read_bytes() == "ä\r\nb\n".encode()


def test_a_file_that_is_there_stays_unless_said(tmp_path):
    path = files.write_whole(tmp_path / "a.csv", b"1")
    with pytest.raises(InputError, match="exists already"):
        files.write_whole(path, b"2", overwrite=False)
    assert path.read_bytes() == b"1" and list(tmp_path.iterdir()) == [path]


def no_link(*_):
    raise OSError(1, "Operation not permitted")


@pytest.mark.parametrize("link", [None, no_link])
def test_files_are_whole_where_there_are_no_hard_links(tmp_path, monkeypatch, link):
    # FAT has none, link(2) answers EPERM; Python for Emscripten is built without os.link
    monkeypatch.delattr(files.os, "link")
    if link:
        monkeypatch.setattr(files.os, "link", link, raising=False)
    path = files.write_whole(tmp_path / "a.csv", b"1", overwrite=False)
    with pytest.raises(InputError, match="exists already"):
        files.write_whole(path, b"2", overwrite=False)
    assert path.read_bytes() == b"1" and list(tmp_path.iterdir()) == [path]


def test_answers_are_kept_where_python_has_no_locks(tmp_path, monkeypatch):
    # Python in a browser, where `fcntl` lacks flock, says that it runs on 'emscripten'
    monkeypatch.setenv("RELIEFLIB_MY_WORK", str(tmp_path))
    monkeypatch.setattr(files, "_hold", no_link)
    with pytest.raises((InputError, OSError)):
        kept.keep_attempt("10/load/7", "1", "wrong")
    monkeypatch.setattr(files.sys, "platform", "emscripten")
    monkeypatch.delattr(files.os, "link")
    kept.keep_attempt("10/load/7", "1", "wrong")
    kept.keep_attempt("10/load/7", "2", "right")
    assert [a["attempt"] for a in kept.kept_answers()["10/load/7"]] == ["1", "2"]
    assert [p.name for p in tmp_path.iterdir() if p.suffix != ".lock"] == ["answers.json"]


def held(*_):
    raise PermissionError(13, "The process cannot access the file")


def test_a_file_open_in_a_spreadsheet_is_answered_in_words(tmp_path, monkeypatch):
    # Windows refuses to rename over a file that another program holds open (WinError 5 or 32)
    path = files.write_whole(tmp_path / "load-summary.csv", b"1")
    monkeypatch.setattr(files.os, "replace", held)
    with pytest.raises(InputError, match="load-summary.csv: is open .* Excel: close it there"):
        files.write_whole(path, b"2")
    assert path.read_bytes() == b"1" and list(tmp_path.iterdir()) == [path]


def test_a_folder_without_links_and_a_failure_leave_nothing(tmp_path, monkeypatch):
    monkeypatch.setattr(files.os, "link", held)
    monkeypatch.setattr(files.os, "replace", held)
    with pytest.raises(InputError):
        files.write_whole(tmp_path / "a.html", b"2", overwrite=False)
    assert list(tmp_path.iterdir()) == []


def test_a_lock_on_its_way_out_is_waited_for(tmp_path, monkeypatch):
    # Windows answers 'access denied' for a file that is deleted but not yet gone
    opened, tries = os.open, []

    def going(*args):
        tries.append(args)
        return held() if len(tries) < 3 else opened(*args)

    monkeypatch.setattr(files.os, "open", going)
    monkeypatch.setattr(files.time, "sleep", lambda _: None)
    with files.locked(tmp_path / "a.csv"):
        assert len(tries) == 3
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_takes_no_lock_is_said_at_once(tmp_path, monkeypatch):
    monkeypatch.setattr(files.os, "open", held)
    monkeypatch.setattr(files.os, "access", lambda *_: False)
    with pytest.raises(InputError, match="folder can't be written to"):
        with files.locked(tmp_path / "a.csv"):
            pass
