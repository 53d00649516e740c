"""What axe-core finds on our pages, in Chromium, told apart: ours, JupyterLab's or Sphinx's own.

The pages: a notebook's panels and forms, a report, the first page of the site, the book.

Run by hand: `npm install axe-core`, then
`python tests/benchmarks/axe_look.py AXE.MIN.JS [BOOK] [NN ...]`: BOOK, a folder that
`python -m relieflib book` made; numbers of notebooks, 10 by default. Prints a line a finding; never
fails.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "notebooks"))

import test_browser as browser
from time_six_valves import lab

from relieflib import datasheet
from relieflib.browser_site import Pyodide, first_page
from relieflib.report.page import datasheet_report

THEIRS = ("bd-header", "bd-sidebar", "search", "pst-", "sd-", "navbar", "sidebar-primary")
# what a notebook's cells show is ours; the frame around them is JupyterLab's
RULES = """async axe => {
    if (!window.axe) (0, eval)(axe);
    const found = await window.axe.run(document, {resultTypes: ['violations']});
    return found.violations.flatMap(v => v.nodes.map(n => {
        const e = document.querySelector(n.target[0]);
        return {rule: v.id, impact: v.impact, help: v.help, where: n.target[0],
                html: n.html.slice(0, 160),
                ours: !e || !!e.closest('.jp-OutputArea-output, .jp-RenderedMarkdown')};
    }));
}"""


def look(page, axe, name, ours=lambda one: one["ours"]):
    """Print what axe finds on the page as it stands: one line a rule, ours first."""
    count = {}
    for one in page.evaluate(RULES, axe):
        key = ("ours" if ours(one) else "not ours", one["impact"], one["rule"], one["help"])
        count.setdefault(key, []).append(f"{one['where']}: {one['html']}")
    for (whose, impact, rule, words), where in sorted(count.items(), reverse=True):
        print(f"{name}: {whose}, {impact}, {rule}, {len(where)} places: {words}\n    {where[0]}")
    if not any(key[0] == "ours" for key in count):
        print(f"{name}: nothing of ours")


def notebooks(page, axe, numbers):
    """Each notebook after Run All: its panels, its forms, its pictures."""
    with tempfile.TemporaryDirectory() as folder, lab(Path(folder)) as address:
        for number in numbers:
            path = next((browser.ROOT / "notebooks").glob(f"{number}*.ipynb"))
            (Path(folder) / "notebooks" / path.name).write_bytes(path.read_bytes())
            browser.open_and_run(page, address, path.name)
            time.sleep(2)
            look(page, axe, path.stem)


def pages(page, axe, folder, books):
    """The report of a list, the first page of the site, and two pages of each book."""
    example = sorted((browser.ROOT / "data" / "datasheets").glob("*.csv"))[0]
    report = datasheet_report(datasheet.check_file(example))
    report.save(folder / "report.html")
    words = first_page(Pyodide({}), {"packages": {}})
    (folder / "first.html").write_text(words, encoding="utf-8")
    made = [folder / "report.html", folder / "first.html"]
    made += [book / name for book in books for name in ("index.html", "10-closed-outlet.html")]
    for path in made:
        page.goto(path.resolve().as_uri())
        page.wait_for_timeout(500)
        look(page, axe, path.name, lambda one: not any(word in one["html"] for word in THEIRS))


if __name__ == "__main__":
    axe, *rest = sys.argv[1:]
    axe = Path(axe).read_text(encoding="utf-8")
    books = [Path(given) for given in rest if Path(given).is_dir()]
    with browser.new_page() as page:
        with tempfile.TemporaryDirectory() as folder:
            pages(page, axe, Path(folder), books)
        notebooks(page, axe, [given for given in rest if not Path(given).is_dir()] or ["10"])
