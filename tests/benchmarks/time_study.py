"""A study in a real browser, timed: opened in 50, changed, seen in the report's list of changes.

`python tests/benchmarks/time_study.py [CHROMIUM]`: JupyterLab in a folder of its own, 50 typed and
clicked as a reader would: run all, a study of five items opened by its path, filed, one fluid
property changed in the file, opened again, the page written as PDF. Prints seconds from the start
and the lines of the PDF that tell the change; the time to read is not in it.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import pypdf
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(Path(__file__).parent))
from bench_study_report import written  # noqa: E402

TOKEN = "for-this-run-alone"
QUIET = "--no-sandbox --disable-gpu --no-first-run --disable-background-networking".split()
WAIT = 900_000  # ms, on a machine shared by many


def server(folder):
    """A JupyterLab in a folder: (process, address)."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    env = os.environ | {
        "RELIEFLIB_MY_WORK": str(folder / "my-work"),
        "PYTHONPATH": os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH")))),
        "JUPYTER_CONFIG_DIR": str(folder / "config"), "JUPYTER_DATA_DIR": str(folder / "data-dir"),
    }  # fmt: skip
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
               f"--port={port}", f"--IdentityProvider.token={TOKEN}", f"--notebook-dir={folder}",
               "--ip=127.0.0.1"]  # fmt: skip
    process = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        try:
            with urllib.request.urlopen(f"{address}/api/status?token={TOKEN}", timeout=5) as answer:
                json.load(answer)
                return process, address
        except OSError:
            time.sleep(0.5)
    process.terminate()
    raise SystemExit("JupyterLab did not start")


def prepared(folder):
    """50 as far as its report, the plant's data, and a study of five items."""
    (folder / "notebooks").mkdir()
    shutil.copytree(ROOT / "data", folder / "data")
    book = json.loads((ROOT / "notebooks" / "50-load-summary.ipynb").read_text(encoding="utf-8"))
    ids = [cell["id"] for cell in book["cells"]]
    book["cells"] = book["cells"][: ids.index("50study5") + 1]
    (folder / "notebooks" / "50-load-summary.ipynb").write_text(json.dumps(book), encoding="utf-8")
    return written(folder / "unit.toml", 5)


class Clock:
    """Prints what is done and the seconds from the start."""

    def __init__(self):
        self.start = time.perf_counter()

    def __call__(self, words):
        print(f"{time.perf_counter() - self.start:7.1f} s  {words}", flush=True)


def told(page, words):
    """Wait until a form says so."""
    page.get_by_text(words).first.wait_for(timeout=WAIT)


def fill(page, label, text):
    """Type into the field of a form that is labelled so."""
    field = page.locator(f".jp-OutputArea .widget-text:has-text('{label}') input").first
    field.scroll_into_view_if_needed(timeout=WAIT)
    field.fill(text)
    field.press("Tab")


def press(page, words):
    """Press the first button of a form with these words."""
    page.locator(f".jp-OutputArea button:has-text('{words}')").first.click(timeout=WAIT)


def drive(page, address, folder, study, clock):
    page.goto(f"{address}/lab/tree/notebooks/50-load-summary.ipynb?token={TOKEN}")
    page.wait_for_selector("text=/Python 3.*\\| Idle/")
    clock("notebook open, kernel idle")
    page.click(".lm-MenuBar-itemLabel:has-text('Run')")
    page.click(".lm-Menu-item[data-command='runmenu:run-all']")
    page.locator(".jp-OutputArea button:has-text('File these results')").first.wait_for(
        timeout=WAIT
    )
    clock("Run All Cells: the demo plant stands in the form")
    fill(page, "or file", str(study))
    press(page, "Open")
    told(page, "5 items, 30 cases")
    clock("own study of 5 items opened by its path and recomputed")
    fill(page, "filed by", "A. Reader")
    press(page, "File these results")
    told(page, "Filed: unit.filed.toml")
    clock("its results filed")
    text = study.read_text(encoding="utf-8")
    study.write_text(text.replace("Z = 0.853", "Z = 0.80", 1), encoding="utf-8")
    press(page, "Open")
    told(page, "no longer as filed")
    clock("one Z changed in the file, opened again: the change is told")
    page.screenshot(path=str(folder / "changed.png"))
    fill(page, "file name", "unit")
    page.locator(".jp-OutputArea .widget-dropdown:has-text('kind') select").first.select_option(
        "PDF, A4")  # fmt: skip
    press(page, "Write the page")
    told(page, "Written:")
    clock("the page written as PDF")


def main(chromium):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        study, clock = prepared(folder), Clock()
        process, address = server(folder)
        clock("JupyterLab started")
        try:
            with sync_playwright() as p:
                browser = p.chromium.launch(executable_path=chromium, args=QUIET)
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                page.set_default_timeout(WAIT)
                drive(page, address, folder, study, clock)
                browser.close()
        finally:
            process.terminate()
            process.wait()
        paper = pypdf.PdfReader(next((folder / "my-work").glob("*.pdf")))
        text = "\n".join(p.extract_text() for p in paper.pages)
        print(f"{len(paper.pages)} pages; of them the change:")
        at = text.index("What changed\n", text.index("Prepared and checked"))
        print(text[at : at + 900])


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else shutil.which("chromium"))
