"""One notebook by keyboard alone, from its top to its last answer, in Chromium: keys and seconds.

Run by hand: `python tests/benchmarks/time_keyboard.py [NN] [FOLDER]`, 14 by default. Runs all cells
by JupyterLab's list of commands, goes to the top, moves the first panel, and answers every question
right. Prints a line a step, and what Tab never reached; a FOLDER gets a picture of each step. Never
fails. The time to read is not in it.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "notebooks"))

import test_browser as browser
from time_six_valves import lab

from relieflib.marking import key

NAME = "() => document.activeElement.getAttribute('aria-label') || document.activeElement.title"
VALUE = (
    "() => document.activeElement.getAttribute('aria-valuetext') || document.activeElement.value"
)
MOST = 120  # Tabs to one control: further than a notebook is long
BUSY = ".jp-InputPrompt:text-matches('^\\\\[\\\\*\\\\]')"
RUN = ".jp-CodeCell .jp-InputPrompt:text-matches('^\\\\[\\\\d+\\\\]')"


class Hand:
    """What a person does without a mouse: keys, counted; steps told with their time."""

    def __init__(self, page, pictures):
        self.page, self.pictures, self.keys, self.steps = page, pictures, 0, 0
        self.start = time.monotonic()

    def press(self, name, times=1):
        """Press one key several times."""
        for _ in range(times):
            self.page.keyboard.press(name)
        self.keys += times

    def type(self, text):
        """Type a text."""
        self.page.keyboard.type(text)
        self.keys += len(text)

    def to(self, words):
        """Tab on until what has the focus begins with these words; False where it never does."""
        for _ in range(MOST):
            if (self.page.evaluate(NAME) or "").startswith(words):
                return True
            self.press("Tab")
            self.page.wait_for_timeout(20)
        print(f"not reached by Tab: {words}")
        return False

    def tell(self, words):
        """A line of the table, and a picture."""
        self.page.wait_for_timeout(400)
        self.steps += 1
        print(f"{time.monotonic() - self.start:4.0f} s {self.keys:4d} keys  {words}", flush=True)
        if self.pictures:
            self.page.screenshot(path=f"{self.pictures}/{self.steps:02d}.png")


def answer(hand, form, text):
    """Answer a question: a choice by its letter's button, a number by typing it with its unit."""
    buttons = hand.page.locator(f"button[title^='{form}, ']")
    mine = [b.get_attribute("title") for b in buttons.all()]
    mine = [words for words in mine if words.partition(": ")[2] == text]
    if hand.to(mine[0] if mine else f"{form}: your number"):
        if not mine:
            hand.type(text.partition(" = ")[0])
        hand.press("Enter")
        hand.tell(f"{form}: {text[:50]}")


def forms_of(page):
    """Titles of the questions on the page, in their order."""
    titles = [e.get_attribute("title") for e in page.locator("button[title^='Hint: ']").all()]
    return [title.removeprefix("Hint: ") for title in titles]


def run(page, number, pictures):
    """From the top to the last answer."""
    hand = Hand(page, pictures)
    page.wait_for_timeout(1000)
    hand.press("Control+Shift+C")
    page.wait_for_timeout(700)
    hand.type("Run All Cells")
    page.wait_for_timeout(700)
    hand.press("Enter")
    page.wait_for_selector(RUN)
    browser.wait(lambda: page.locator(BUSY).count() == 0, 300)
    page.wait_for_selector("img.widget-image")
    hand.tell("all cells run")
    hand.press("Escape")
    hand.press("ArrowUp", page.locator(".jp-Cell").count())
    hand.tell("at the top")
    asked = list(zip(forms_of(page), key([0], books=[number]), strict=True))
    for form, row in asked[:2]:
        answer(hand, form, row[3])
    hand.to("bar, ")
    hand.press("Tab", 2)
    name, before = page.evaluate(NAME), page.evaluate(VALUE)
    hand.press("ArrowRight", 5)
    page.wait_for_timeout(700)
    hand.tell(f"the panel's first slider, {name}: {before} to {page.evaluate(VALUE)}")
    for form, row in asked[2:]:
        answer(hand, form, row[3])
    said = page.locator("text=/\\d+ of \\d+ right/").all_inner_texts()
    hand.tell(f"the last answer; the page says: {said[-1]}")


if __name__ == "__main__":
    number, pictures = [*sys.argv[1:], "14", ""][0], "".join(sys.argv[2:3])
    path = next((browser.ROOT / "notebooks").glob(f"{number}*.ipynb"))
    with browser.new_page() as page, tempfile.TemporaryDirectory() as folder:
        page.set_viewport_size({"width": 1440, "height": 900})
        page.set_default_timeout(300_000)
        with lab(Path(folder)) as address:
            (Path(folder) / "notebooks" / path.name).write_bytes(path.read_bytes())
            page.goto(f"{address}/lab/tree/{path.name}?token={browser.TOKEN}&reset")
            page.wait_for_selector("text=/Python 3.*\\| Idle/")
            run(page, number, pictures)
