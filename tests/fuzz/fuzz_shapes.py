"""Run by hand: `python tests/fuzz/fuzz_shapes.py [--files N] [--seed S]`.

Damaged sheets of other shapes than a plain list: workbooks, forms, lists on their side, pasted
text, text set apart by spaces, PDF. Prints files, tracebacks, good rows lost or read wrong, MB. A
good valve must be read whole, whatever titles, notes, merged cells and damaged valves stand around
it. The tests run a slice of it.
"""

import argparse
import io
import random
import sys
from collections import Counter
from pathlib import Path

import openpyxl

sys.path.insert(0, str(Path(__file__).parent))

from fuzz_files import GOOD, HEAD, SIGNS

from relieflib import datasheet
from relieflib.errors import InputError

TITLES = [[], [["List of safety valves"]], [["Project, unit 7, area 2"], []], [["REV B"], ["x"]]]
NOTES = [[], [["Note 1: all pressures are those of the valve at site"]], [[], ["* see the list"]]]
# what a text layer or a clipboard carries: no control characters, no line breaks, no tabs
PLAIN = [sign for sign in SIGNS if sign.isprintable() and "  " not in sign]
# by hand: 10 barg at sea level, 1000 kg/h, 50 °C
TRUE = {"set_pressure_gauge": 10e5, "load": 1000 / 3600, "mawp_gauge": 10e5, "molar_mass": 30.0,
        "k": 1.3, "temperature": 323.15, "letter": "J", "phase": "gas"}  # fmt: skip


def valves(dice, count, signs):
    """Rows of cells, every third a good one."""
    rows = []
    for number in range(count):
        good = number % 3 == 0
        cells = [f"{'good' if good else 'bad'}-{number}", *GOOD]
        for _ in range(0 if good else dice.randrange(1, 4)):
            cells[dice.randrange(1, len(cells))] = dice.choice(signs)
        rows.append(cells)
    return rows


def framed(dice, lines):
    """Lines with a title above and notes below, or none."""
    return [*dice.choice(TITLES), *lines, *dice.choice(NOTES)]


def _text(lines, between):
    return "\n".join(between.join(cell for cell in line) for line in lines)


def _book(dice, pages):
    """Bytes of a workbook; some titles merged, some cells merged down by mistake."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, lines in enumerate(pages):
        sheet = book.create_sheet(f"Page {number}")
        for line in lines:
            sheet.append([_legal(cell) for cell in line])
        if lines and len(lines[0]) == 1 and dice.random() < 0.5:
            sheet.merge_cells(start_row=1, end_row=1, start_column=1, end_column=8)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _legal(cell):
    """What a spreadsheet's file can hold; some numbers as numbers."""
    text = "".join(c for c in cell if c.isprintable())
    return float(text) if text.isascii() and text.isdigit() and len(text) < 8 else text


def _spaced(lines):
    count = max(map(len, lines))
    full = [[*line, *[""] * (count - len(line))] for line in lines if len(line) > 1]
    widths = [max(len(line[i]) for line in full) + 3 for i in range(count)]
    return "\n".join(
        "".join(c.ljust(w) for c, w in zip(line, widths)) if len(line) > 1 else "".join(line)
        for line in lines
    )


def a_workbook(dice):
    """A list in a workbook, now and then behind a cover sheet."""
    rows = valves(dice, dice.randrange(1, 30), SIGNS)
    cover = [[["Project", "invented"], ["Client", "none"]]] * dice.randrange(2)
    return "list.xlsx", _book(dice, [*cover, framed(dice, [list(HEAD), *rows])]), rows


def some_forms(dice):
    """A sheet a valve, labels with values right of them in one or two columns."""
    rows = valves(dice, dice.randrange(1, 10), PLAIN)
    pages = []
    for row in rows:
        pairs = [list(pair) for pair in zip(HEAD, row)]
        if dice.random() < 0.5:
            half = len(pairs) // 2
            pairs = [[*a, "", *b] for a, b in zip(pairs[:half], pairs[half:])]
        pages.append([*dice.choice(TITLES), *pairs, *dice.choice(NOTES)])
    return "forms.xlsx", _book(dice, pages), rows


def on_its_side(dice):
    """Headings in a column, each valve one beside it."""
    rows = valves(dice, dice.randrange(2, 12), PLAIN)
    return "side.xlsx", _book(dice, [list(map(list, zip(HEAD, *rows)))]), rows


def pasted(dice):
    """What a spreadsheet puts on the clipboard."""
    rows = valves(dice, dice.randrange(1, 30), PLAIN)
    return "pasted text", _text(framed(dice, [list(HEAD), *rows]), "\t"), rows


def spaced(dice):
    """Columns set apart by spaces, as copied out of a page."""
    rows = valves(dice, dice.randrange(2, 20), [s for s in PLAIN if len(s) < 20])
    return "spaced text", _spaced(framed(dice, [list(HEAD), *rows])), rows


def a_pdf(dice):
    """A list printed to PDF in letters of one width."""
    import fpdf

    signs = [s for s in PLAIN if len(s) < 20 and s.isascii()]
    rows = valves(dice, dice.randrange(2, 20), signs)
    pdf = fpdf.FPDF(orientation="landscape", format="A3")
    pdf.add_page()
    pdf.set_font("Courier", size=6)
    for line in _spaced(framed(dice, [list(HEAD), *rows])).split("\n"):
        pdf.cell(0, 5, line, new_x="LMARGIN", new_y="NEXT")
    return "list.pdf", bytes(pdf.output()), rows


SHAPES = (a_workbook, some_forms, on_its_side, pasted, spaced, a_pdf)


def fuzz(make, seed):
    """One file: (rows, tracebacks, good rows lost, good rows read wrong), and words on it."""
    name, data, rows = make(random.Random(seed))
    good = [row[0] for row in rows if row[0].startswith("good")]
    try:
        checked = datasheet.check_data(data, name)
    except InputError as error:
        return (len(rows), 0, len(good), 0), f"refused: {error}"
    except Exception as error:
        return (len(rows), 1, 0, 0), f"traceback: {type(error).__name__}: {error}"
    faults = sum("fault of this program" in c.reason for _, found in checked.results for c in found)
    there = {row.tag: row for row, _ in checked.results}
    wrong = [tag for tag in good if tag in there and not _right(there[tag])]
    lost = [tag for tag in good if tag not in there]
    return (len(rows), faults, len(lost), len(wrong)), f"lost {lost}, wrong {wrong}"


def _right(row):
    return all(
        row.get(n) == v if isinstance(v, str) else abs((row.get(n) or 0) / v - 1) < 1e-6
        for n, v in TRUE.items()
    )


def main():
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--files", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    totals = {make: Counter() for make in SHAPES}
    for number in range(options.files):
        make, seed = SHAPES[number % len(SHAPES)], f"{options.seed}-{number}"
        counts, words = fuzz(make, seed)
        totals[make].update(files=1, rows=counts[0], tracebacks=counts[1], lost=counts[2],
                            wrong=counts[3])  # fmt: skip
        if any(counts[1:]):
            print(f"{make.__name__}, seed {seed}: {words}", flush=True)
    for make, found in totals.items():
        print(f"{make.__name__:12} " + ", ".join(f"{k} {v}" for k, v in found.items()))
    if sys.platform == "linux":
        import resource

        print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
