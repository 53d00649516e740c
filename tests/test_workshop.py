"""The files of a class on one machine, and what happens at a login, with no hub running."""

import ast
import json
import sys
import tomllib
from pathlib import Path
from types import SimpleNamespace

import pytest

from relieflib import marking, workshop
from relieflib.__main__ import main
from relieflib.asking import kept
from relieflib.asking.question import asked
from relieflib.errors import InputError
from relieflib.questions import question

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class") / "room-7"
    assert main(["workshop", str(folder), "--participants", "3", "--room", " Blue 7 "]) == 0
    return folder


class Settings(dict):
    """Takes `c.Part.name = value` as JupyterHub's own does."""

    def __getattr__(self, name):
        return self.setdefault(name, Settings())

    def __setattr__(self, name, value):
        self[name] = value


def settings_of(folder):
    path = folder / "jupyterhub_config.py"
    text, c = path.read_text(), Settings()
    exec(compile(text, str(path), "exec"), {"c": c, "__file__": str(path)})
    return c


def test_the_settings_say_who_comes_in_and_where_they_sit(folder):
    c = settings_of(folder)
    assert c.Authenticator["allowed_users"] == {"p1", "p2", "p3"}
    assert c.JupyterHub["authenticator_class"] == "shared-password"
    assert "admin_users" not in c.Authenticator and "allow_all" not in c.Authenticator
    assert c.Spawner["notebook_dir"] == f"{folder}/room/{{username}}"
    assert c.Spawner["cmd"][0] == sys.executable
    assert "--MappingKernelManager.cull_idle_timeout=3600" in c.Spawner["args"]
    # nothing of this machine stands in the file, so that the folder can be moved
    text = (folder / "jupyterhub_config.py").read_text()
    assert str(folder) not in text and str(ROOT) not in text and "<<" not in text


def test_the_password_is_drawn_anew_and_kept_from_others(folder, tmp_path):
    workshop.write(tmp_path / "b", 3)
    words = [settings_of(f).SharedPasswordAuthenticator["user_password"]
             for f in (folder, tmp_path / "b")]  # fmt: skip
    assert words[0] != words[1] and min(map(len, words)) >= 12
    assert words[0] in (folder / "INSTRUCTOR.md").read_text()
    if sys.platform != "win32":
        assert folder.stat().st_mode & 0o077 == 0


def test_each_login_gets_a_seat_a_number_and_the_room(folder):
    hook = settings_of(folder).Spawner["pre_spawn_hook"]
    for login in ("p1", "p2"):
        spawner = SimpleNamespace(user=SimpleNamespace(name=login), environment={})
        hook(spawner)
        assert spawner.environment == {"RELIEFLIB_PARTICIPANT": login[1:],
                                       "RELIEFLIB_ROOM": "blue 7"}  # fmt: skip
        seat = folder / "room" / login
        names = {p.name for p in (seat / "notebooks").iterdir()}
        assert names >= {p.name for p in (ROOT / "notebooks").glob("*.ipynb")}
        assert "refresh.py" not in names and (seat / "data" / "demo_plant.toml").is_file()


def test_a_seat_keeps_what_was_done_there(folder):
    seat = workshop.seat(folder, "p3")
    (seat / "notebooks" / "10-closed-outlet.ipynb").write_text("mine")
    assert workshop.seat(folder, "p3") == seat
    assert (seat / "notebooks" / "10-closed-outlet.ipynb").read_text() == "mine"
    assert not [p for p in (folder / "room").iterdir() if p.name.startswith(".")]


@pytest.mark.parametrize("login", ["p0", "p201", "p01", "eve", "../p1", "p1/..", "P1", "p1\n", ""])
def test_no_other_login_makes_a_folder(folder, login):
    with pytest.raises(InputError):
        workshop.seat(folder, login)


def test_answers_of_a_seat_are_marked(folder, monkeypatch):
    """A right load, and one without its credit, kept as a kernel keeps them."""
    monkeypatch.delenv("RELIEFLIB_MY_WORK", raising=False)  # a seat keeps its own
    for login, of in (("p1", "right"), ("p2", "inflow")):
        monkeypatch.setenv("RELIEFLIB_PARTICIPANT", login[1:])
        monkeypatch.setenv("RELIEFLIB_ROOM", "blue 7")
        monkeypatch.chdir(workshop.seat(folder, login) / "notebooks")
        one = asked(question("10", "load"), "10", kept.who())
        data = one.data()
        right = data["inflow"] - data["outflow"]  # the balance, by hand
        one.check(f"{(right if of == 'right' else data['inflow']) * 3600:.6g}", "kg/h")
    found, left = marking.marks(folder / "room")
    assert [(m.participant, m.room, m.verdict, m.slip) for m in found] == [
        (1, "blue 7", "right", ""), (2, "blue 7", "wrong", "credit left out")]  # fmt: skip
    assert found[0].folder == "p1/notebooks" and not left


def test_the_page_says_memory_dangers_and_commands(folder):
    text = (folder / "INSTRUCTOR.md").read_text()
    # 3 x (125 + 2 x 220 MB) = 1.7 GB, and two for the machine, rounded up
    assert "about 4 GB" in text and "https" in text and "openssl" in text
    assert '--participants 1-3 --room "blue 7"' in text and "marks room" in text
    assert "run as your account" in text and "licensed" in text and "<<" not in text
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert any(e.startswith("jupyterhub>=5") for e in extras["optional-dependencies"]["workshop"])
    json.loads((folder / "package.json").read_text())
    ast.parse((folder / "jupyterhub_config.py").read_text())


def test_nothing_is_written_over_and_wrong_words_are_said(folder, tmp_path, capsys):
    before = (folder / "jupyterhub_config.py").read_text()
    assert main(["workshop", str(folder)]) == 2
    assert "holds files already" in capsys.readouterr().err
    assert (folder / "jupyterhub_config.py").read_text() == before
    for wrong in ("0", "-3", "201", "many", ""):
        assert main(["workshop", str(tmp_path / "new"), "--participants", wrong]) == 2
        assert "participants" in capsys.readouterr().err
    assert main(["workshop", str(tmp_path / "new"), "--notebooks", str(tmp_path)]) == 2
    assert "00-start-here" in capsys.readouterr().err
    assert not (tmp_path / "new").exists()
