"""Six messy valves from the vendor's file to the filed page, in Chromium: clicks and seconds.

Run by hand: `python tests/benchmarks/time_six_valves.py [FORMAT ...]`. Prints a line a format;
never fails. The valves are those of `tests/six_valves.py`. Every line and every click is one that a
person makes; the time to read is not in it.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "notebooks"))

import test_browser as browser
from six_valves import ANSWER, FORMATS, found_in, valves


@contextmanager
def lab(folder):
    """A JupyterLab on a copy of the notebook and its data."""
    (folder / "notebooks").mkdir()
    shutil.copytree(browser.ROOT / "data", folder / "data")
    port, home = browser.free_port(), folder / "home"
    env = os.environ | {"PYTHONPATH": str(browser.ROOT), "JUPYTER_DATA_DIR": str(home / "data"),
                        "JUPYTER_CONFIG_DIR": str(home), "JUPYTER_RUNTIME_DIR": str(home / "run"),
                        "IPYTHONDIR": str(home / "ipython")}  # fmt: skip
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
               "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}",
               f"--IdentityProvider.token={browser.TOKEN}", "--LabApp.news_url=",
               f"--ServerApp.root_dir={folder / 'notebooks'}"]  # fmt: skip
    home.mkdir()
    with open(home / "log", "w") as log:
        process = subprocess.Popen(command, env=env, stdout=log, stderr=subprocess.STDOUT)
    address = f"http://127.0.0.1:{port}"
    try:
        browser.wait(lambda: browser.get(address, "api"), 120)
        yield address
    finally:
        process.terminate()
        process.wait(30)


class Hand:
    """What a person does: clicks, counted."""

    def __init__(self, page):
        self.page, self.clicks = page, 0

    def click(self, selector):
        """Click the first of what is there."""
        self.page.locator(selector).first.click()
        self.clicks += 1

    def fill(self, selector, text):
        """Click into a field and type or paste."""
        self.page.locator(selector).first.fill(text)
        self.clicks += 1

    def choose(self, place, option):
        """Open a list and take one of it."""
        self.page.locator(place).first.select_option(option)
        self.clicks += 2


def one(page, address, given, name, folder):
    """From the notebook on the disk to the filed page: (clicks, seconds, page's text)."""
    copy = f"{name.replace(' ', '-')}.ipynb"
    shutil.copy(browser.ROOT / "notebooks" / "51-datasheet-check.ipynb",
                folder / "notebooks" / copy)  # fmt: skip
    start, hand = time.monotonic(), Hand(page)
    browser.open_and_run(page, address, copy)
    hand.clicks += 2  # Run, Run All Cells
    if isinstance(given, str):
        hand.fill(".widget-textarea textarea", given)
    else:
        with page.expect_file_chooser() as chooser:
            hand.click("button:has-text('Choose a file')")
        chooser.value.set_files(given)
        hand.clicks += 2  # the file, Open
    page.wait_for_timeout(300)
    hand.click("button:text-matches('^\\\\s*Check\\\\s*$')")
    asked = page.locator("button:has-text('Take these answers')")
    page.wait_for_selector("text=/checks differ, /")
    page.wait_for_timeout(500)
    if asked.count():
        for row in page.locator(".widget-hbox:has-text('means')").all():
            if "Set press" in row.inner_text():
                row.locator("select").nth(1).select_option("barg")
                hand.clicks += 2
        hand.click("button:has-text('Take these answers')")
        page.wait_for_timeout(500)
    stem = f"page-{name.replace(' ', '-')}"
    hand.fill("input[type=text]:near(:text('file name'))", stem)
    hand.fill("input[placeholder='your name']", "A. Checker")
    hand.fill("input[placeholder='unit, job number']", "invented")
    hand.click("button:has-text('Write the page')")
    page.wait_for_selector("text=/Written: /", timeout=120_000)
    seconds = time.monotonic() - start
    path = folder / "notebooks" / "my-work" / f"{stem}.html"
    return hand.clicks, seconds, path.read_text("utf-8")


def main():
    """Every format in turn."""
    from relieflib import datasheet
    from relieflib.datasheet.headings import read_mapping

    answer = read_mapping(ANSWER)
    only = sys.argv[1:]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = {n: write(folder) for n, write in FORMATS.items() if not only or n in only}
        for n, given in made.items():
            if isinstance(given, str):
                checked = datasheet.check_data(given, "pasted", mapping=answer)
            else:
                checked = datasheet.check_file(given, mapping=answer)
            missed = [r[0] for r, *_ in valves() if r[0] not in found_in(checked)]
            print(f"{n:14} faults found {6 - len(missed)} of 6 {missed or ''}")
        if browser.CHROMIUM is None:
            print("no Chromium: clicks and seconds not counted")
            return
        with lab(folder) as address:
            for n, given in made.items():
                with browser.new_page() as page:
                    clicks, seconds, text = one(page, address, given, n, folder)
                tags = sum(f"PSV-{i}" in text for i in range(1, 7))
                print(f"{n:14} {clicks} clicks, {seconds:.0f} s, valves on the page {tags} of 6",
                      flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
