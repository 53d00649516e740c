"""The browser's own messages to a live kernel: every control of every panel to each end."""

import json
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

ROOT = Path(__file__).parents[2]
WITH_PANEL = [
    p for p in sorted((ROOT / "notebooks").glob("*.ipynb"))
    if "Panel(" in p.read_text(encoding="utf-8")
]  # fmt: skip

# run in the kernel: which comm belongs to which control, and what the panel says
FIND = """
import json as _json
from relieflib.notebook.panel import Panel as _Panel
_panels = [v for v in list(globals().values()) if isinstance(v, _Panel)]
_panels = list({id(p): p for p in _panels}.values())
_out = []
for _p in _panels:
    for _c in _p.controls.values():
        for _w in _c.inputs():
            _kind = type(_w).__name__
            _settings = ([_w.min, _w.max, _w.value] if _kind == "FloatSlider" else
                         [True, False] if _kind == "Checkbox" else
                         list(range(len(_w.options))) if _kind == "Dropdown" else
                         ["", "abc", _w.value])
            _out.append([_w.comm.comm_id, _kind, _settings, _c.name])
    _out.append([_p._units.comm.comm_id, "ToggleButtons", [1, 0], "units"])
print(_json.dumps(_out))
"""
SAID = """
print(_json.dumps([[p.message.value, len(p.image.value), p.numbers_html.value] for p in _panels]))
"""


def ask(client, code):
    cell = nbformat.v4.new_code_cell(code)
    client.nb.cells.append(cell)
    client.execute_cell(cell, len(client.nb.cells) - 1)
    return json.loads("".join(o["text"] for o in cell.outputs if o.get("name") == "stdout"))


def move(client, comm_id, kind, value):
    """What the browser sends when a hand moves a control."""
    state = {"index": value} if kind in ("Dropdown", "ToggleButtons") else {"value": value}
    content = {"comm_id": comm_id, "data": {"method": "update", "state": state, "buffer_paths": []}}
    message = client.kc.session.msg("comm_msg", content)
    client.kc.shell_channel.send(message)
    errors = []
    while True:  # until the kernel is idle again after OUR message
        reply = client.kc.get_iopub_msg(timeout=30)
        if reply["parent_header"].get("msg_id") != message["header"]["msg_id"]:
            continue
        if reply["msg_type"] == "error" or (
            reply["msg_type"] == "stream" and reply["content"]["name"] == "stderr"
        ):
            errors.append(str(reply["content"]))
        if reply["msg_type"] == "status" and reply["content"]["execution_state"] == "idle":
            return errors


@pytest.mark.parametrize("path", WITH_PANEL, ids=lambda p: p.stem)
def test_every_control_to_its_ends(path):
    book = nbformat.read(path, as_version=4)
    client = NotebookClient(book, timeout=120, resources={"metadata": {"path": str(path.parent)}})

    with client.setup_kernel():
        for index, cell in enumerate(list(book.cells)):
            client.execute_cell(cell, index)
        controls = ask(client, FIND)
        assert controls
        heard = set()
        for comm_id, kind, settings, name in controls:
            before = ask(client, SAID)
            for value in settings:
                assert not move(client, comm_id, kind, value), (name, value)
                said = ask(client, SAID)
                assert all("fault:" not in words for words, _, _ in said), (name, value, said)
                if kind == "Text" and value in ("", "abc"):
                    assert any("out of date" in words for words, _, _ in said), (name, value)
                if said != before:
                    heard.add((comm_id, name))
            if kind == "Text":
                assert all("is empty" not in words for words, _, _ in ask(client, SAID))
        assert len(heard) == len(controls), [c for c in controls if (c[0], c[3]) not in heard]

