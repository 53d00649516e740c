"""A live kernel of each notebook: the browser's own messages, and the sweep no reader sees.

The messages move every control of every panel to each end, in SI. Then each panel is swept: middle
of every slider and every choice, in the US set. Both on a copy: the reader's own panel is never
touched.
"""

import json
import re
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import start_new_kernel

ROOT = Path(__file__).parents[2]
MAKES = re.compile(r"(?:Panel|_panel|= in_time)\(")
WITH_PANEL = [
    p for p in sorted((ROOT / "notebooks").glob("*.ipynb"))
    if MAKES.search(p.read_text(encoding="utf-8"))
]  # fmt: skip
# words of the InputErrors that settings of a panel rightly meet; elsewhere none is refused
REFUSED = {
    "01-set-pressure-and-accumulation": ["highest set", "must be below set"],
    "11-control-valve-opens": ["flow would reverse"],
    "12-exterior-fire-liquid": [
        "above the vessel's top",
        "flow would reverse",
        "no boiling can be worked out",
    ],
    "13-exterior-fire-gas": [
        "as hot as the wall may be",
        "stands above the MAWP",
        "flow would reverse",
    ],
    "14-hydraulic-expansion": ["boils before the valve opens", "flow would reverse"],
    "15-tube-rupture": ["flow would reverse"],
    "16-loss-of-cooling": ["no boiling can be worked out"],
    "18-reverse-flow": ["flow would reverse"],
    "19-abnormal-heat-input": ["no boiling can be worked out"],
    "20-overfilling": ["flow would reverse"],
    "22-runaway-reaction": [
        "above what the MAWP allows",
        "fills the vessel with liquid",
        "flow would reverse",
    ],
    "30-required-area": ["flow would reverse", "curves end"],
    "31-two-phase-and-real-gas": ["critical", "nothing expands", "flow would reverse"],
    "32-orifice-selection": ["flow would reverse"],
    "33-pressure-against-time": ["must be above the start"],
    "40-inlet-loss": ["flow would reverse"],
    "50-load-summary": ["it boils"],
    "52-is-it-a-safeguard": ["stays shut"],
}

# controls that move nothing on show at the panel's start, and why
CANCELS = {
    # both the leak and the nozzle go with its root: no area has it, and the case is a gas at first
    ("18-reverse-flow", "density"),
}

# run in the kernel: which comm belongs to which control, and what the panel says
FIND = """
import gc as _gc
import json as _json
from relieflib.notebook.panel import Panel as _Panel
_panels = [v for v in _gc.get_objects() if type(v) is _Panel]
_panels = list({id(p): p for p in _panels}.values())
_out = []
for _p in _panels:
    for _c in _p.controls.values():
        if hasattr(_c, "slider"):
            _out.append([_c.slider.comm.comm_id, "FloatSlider",
                         [_c.slider.min, _c.slider.max, _c.slider.value], _c.name])
            if _c is next(iter(_p.controls.values())):  # what is typed is read alike in all
                _out.append([_c.entry.comm.comm_id, "Text", ["", "abc", _c.entry.value], _c.name])
        elif hasattr(_c, "tick"):
            _out.append([_c.tick.comm.comm_id, "Checkbox",
                         [not _c.tick.value, _c.tick.value], _c.name])
        elif hasattr(_c, "line"):
            _out.append([_c.line.comm.comm_id, "Line", [*_c.examples, _c.line.value], _c.name])
        else:
            _n = len(_c.list.options)  # all of them are in the notebook's own sweep
            _few = sorted({0, 1, _n // 2, _n - 1})
            _out.append([_c.list.comm.comm_id, "Dropdown", [*_few, _c.list.index], _c.name])
    _out.append([_p._units.comm.comm_id, "ToggleButtons", [1, 0], "units"])
print(_json.dumps(_out))
"""
SWEEP = """
_how = {"all_met": False, "unit_sets": ["US"], "ends": False}
print(_json.dumps([_p.sweep(REFUSED, **_how).met for _p in _panels]))
"""
# each form of own numbers keeps its case, and the file recomputed gives the area on show
KEEPS = """
import os as _os
from relieflib.notebook.own_numbers import OwnNumbers as _Own
from relieflib.study.recomputing import sizing_of as _sizing_of
from relieflib.study.store import cases_of as _cases_of, read_text as _read_text
_os.environ["RELIEFLIB_MY_WORK"] = WORK
_kept = []
for _o in {id(o.panel): o for o in _gc.get_objects() if type(o) is _Own}.values():
    _start = _o.panel.values
    _own_fluid = _o.panel.controls.get("fluid")
    _more = [{"fluid": _own_fluid.examples[0]}] if _own_fluid is not None else []
    for _given in [{}, *_more]:
        _o.panel.set(**_start | _given)
        _o.save("V-1", note="as found", who="A. Reader")
        _found, _faults = _cases_of(_read_text(_o.path)[1])
        _too = [f", {w}" for w in getattr(_o.panel, "beside", {})]  # kept beside the case
        _found = [c for c in _found if not any(w in c.name for w in _too)]
        _kept.append([_faults, _o._sizing_of(_o.panel.result).required_area,
                      _sizing_of(_found[-1]).required_area])
    _o.panel.set(**_start)
print(_json.dumps(_kept))
"""
SAID = """
print(_json.dumps([[p.words, hash(p._image.value), p._numbers.value] for p in _panels]))
"""


def run(client, code):
    """Execute a cell; returns its stdout, raises on an error."""
    printed, failed = [], []

    def hook(message):
        if message["msg_type"] == "stream" and message["content"]["name"] == "stdout":
            printed.append(message["content"]["text"])
        if message["msg_type"] == "error":
            failed.append("\n".join(message["content"]["traceback"]))

    client.execute_interactive(code, store_history=False, output_hook=hook, timeout=120)
    assert not failed, failed[0]
    return "".join(printed)


def move(client, comm_id, kind, value):
    """What the browser sends when a hand moves a control; returns the errors that come back."""
    state = {"index": value} if kind in ("Dropdown", "ToggleButtons") else {"value": value}
    data = {"method": "update", "state": state, "buffer_paths": []}
    message = client.session.msg("comm_msg", {"comm_id": comm_id, "data": data})
    client.shell_channel.send(message)
    errors = []
    while True:  # until the kernel is idle again after OUR message
        reply = client.get_iopub_msg(timeout=120)
        if reply["parent_header"].get("msg_id") != message["header"]["msg_id"]:
            continue
        content = reply["content"]
        if reply["msg_type"] == "error" or content.get("name") == "stderr":
            errors.append(str(content))
        if reply["msg_type"] == "status" and content["execution_state"] == "idle":
            return errors


def said(client):
    return json.loads(run(client, SAID))


def known(now, refused, name, value):
    """Which of the refusals that may be met the panels say; no other one may be."""
    said_now = [words for words, _, _ in now if words]
    met = {one for one in refused for words in said_now if one in words}
    unknown = [words for words in said_now if not any(one in words for one in refused)]
    assert not unknown, (name, value, unknown)
    return met


def cells_of(path):
    """Code up to the last panel, without a sweep of its own; nbval runs what comes after."""
    sources = [c.source for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
    last = max(i for i, source in enumerate(sources) if MAKES.search(source))
    for source in sources[: last + 1]:
        lines = [line for line in source.splitlines() if ".sweep(" not in line]
        yield "\n".join(lines)


def every_control_to_its_ends(path, work):
    manager, client = start_new_kernel(cwd=str(path.parent))
    try:
        for source in cells_of(path):
            run(client, source)
        controls = json.loads(run(client, FIND))
        assert controls
        refused, met = REFUSED.get(path.stem, []), set()
        for comm_id, kind, settings, name in controls:
            start, changed = said(client), False
            for value in settings:
                assert not move(client, comm_id, kind, value), (name, value)
                now = said(client)
                assert all("fault:" not in words for words, _, _ in now), (name, value, now)
                changed = changed or now != start
                if kind != "Text":
                    met |= known(now, refused, name, value)
                if kind == "Text" and value in ("", "abc"):
                    assert any("empty" in w or "not a number" in w for w, _, _ in now), name
            assert changed or (path.stem, name) in CANCELS, f"{name}: nothing on the panel followed"
            assert all(words == "" for words, _, _ in said(client)), f"{name}: did not recover"
        if not any(".sweep(" in source for source in path.read_text("utf-8").splitlines()):
            swept = json.loads(run(client, f"REFUSED = {refused!r}\n{SWEEP}"))
            assert set(refused) == met | {words for each in swept for words in each}
        for faults, on_show, kept in json.loads(run(client, f"WORK = {str(work)!r}\n{KEEPS}")):
            assert not faults and kept == pytest.approx(on_show, rel=1e-9), faults
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def share(place):
    """A sixth of the notebooks: a class is what one worker takes at a time."""
    return pytest.mark.parametrize("path", WITH_PANEL[place::6], ids=lambda p: p.stem)


class TestFirstSixth:
    @share(0)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)


class TestSecondSixth:
    @share(1)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)


class TestThirdSixth:
    @share(2)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)


class TestFourthSixth:
    @share(3)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)


class TestFifthSixth:
    @share(4)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)


class TestLastSixth:
    @share(5)
    def test_every_control_to_its_ends(self, path, tmp_path):
        every_control_to_its_ends(path, tmp_path)
