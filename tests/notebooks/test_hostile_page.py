"""Every hostile text of `test_ways_out.py` in pages of a list and of a study, in a real browser.

Skipped where no Chromium is found, unless RELIEFLIB_REQUIRE_BROWSER=1 (as in CI): then it fails.
"""

import csv
import importlib.util
import io
import os
from pathlib import Path

import pytest

from relieflib import datasheet
from relieflib.notebook.sheet_form import as_list
from relieflib.report.page import Document, datasheet_report

HERE = Path(__file__).parent


def _beside(name, path):
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


ways = _beside("ways_out", HERE.parent / "test_ways_out.py")
browser = _beside("browser_ways", HERE / "test_browser.py")
# what a page could do without a word of ours; a hit leaves its mark on the window
CAUGHT = (
    "window.hits = []; for (const f of ['alert', 'open', 'prompt']) window[f] = x => hits.push(f)"
)
# a script, a frame, an event handler or a link out of the page, wherever markup got through
STRANGERS = """() => [...document.querySelectorAll('*')].filter(e =>
    ['SCRIPT', 'IFRAME', 'OBJECT', 'EMBED', 'LINK', 'FORM', 'BASE', 'SVG'].includes(
        e.tagName.toUpperCase())
    || [...e.attributes].some(a => a.name.startsWith('on')
        || /^(javascript|https?):/i.test(a.value.trim()))).map(e => e.outerHTML.slice(0, 200))"""


def hostile_list():
    """A list with every payload as a tag, an item and a note; one report of all of them."""
    text = io.StringIO()
    write = csv.writer(text)
    write.writerow(["tag", "set pressure [barg]", "phase", "load [kg/h]", "mawp [barg]",
                    "protected item", "cause", "letter", "notes"])  # fmt: skip
    for p in ways.PAYLOADS:
        write.writerow([p, 12, "gas", 100, 10, p, p, "D", p])
    data = text.getvalue().encode("utf-8", "surrogatepass")
    return datasheet.check_data(data, "<script>alert(1)</script>.csv")


def opened(page, path):
    """What the page did and holds, with its network watched."""
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.add_init_script(CAUGHT)
    page.goto(path.as_uri())
    page.wait_for_timeout(500)  # a picture that fails calls its handler later
    far = [u for u in asked if not u.startswith(("data:", "file:"))]
    return page.evaluate("window.hits"), page.evaluate(STRANGERS), far


@pytest.mark.skipif(
    browser.CHROMIUM is None and not os.environ.get("RELIEFLIB_REQUIRE_BROWSER"),
    reason="no Chromium",
)
def test_no_script_of_a_hostile_sheet_runs(tmp_path):
    checked, every = hostile_list(), " ".join(p for p in ways.MARKUP)
    filed = Document(every[:180], "<img src=x onerror=alert(1)>", "<script>alert(1)</script>")
    report = datasheet_report(checked, "2026-03-31", every[-180:], every[:180], "none",
                              ways.MARKUP, filed, checked)  # fmt: skip
    pages = {"page": report.html(), "list": as_list(checked)}
    pages["bad"] = "<!DOCTYPE html><img src=x onerror=alert(1)>"  # the trap itself must catch
    study = ways.open_study(ways.hostile_study(tmp_path / "study.toml")).recompute()
    pages |= {f"study, {name}": text for name, text in ways.pages_of(study).items()}
    with browser.new_page() as page:
        for name, text in pages.items():
            path = tmp_path / f"{name}.html"
            path.write_text(f"<meta charset=utf-8>{text}" if "<meta" not in text else text, "utf-8")
            hits, strangers, far = opened(page, path)
            if name == "bad":
                assert hits == ["alert"] and len(strangers) == 1
            else:
                assert (hits, strangers, far) == ([], [], []), name
