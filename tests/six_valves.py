"""Six messy valves, invented, with one fault each, as files of five kinds.

Own headings, decimal commas, a merged title, notes, a unit that leaves gauge and absolute open. The
areas are worked out here by the printed equations of API 520-I (2020), 5.6 (gas, SI: 0.03948, kPa,
mm2) and 5.7 (steam: 190.5), the fault made with these numbers. Used by a test and a benchmark.
"""

import csv
import io
import math

import openpyxl

HEADS = ("PSV Tag", "Case", "MAWP (barg)", "Set press. (bar)", "State", "Relief temp. (°C)", "MW",
         "Cp/Cv", "Compressibility", "Flow rate (kg/hr)", "Built-up backpressure (bar)",
         "Valve type", "Kd", "Calculated area (mm2)", "Orifice letter")  # fmt: skip
AIR = 101.325


def gas(W, P, T, M, k, Z):
    """Area [mm2] by the equation of 5.6: W kg/h, P kPa, T K."""
    C = 0.03948 * math.sqrt(k * (2 / (k + 1)) ** ((k + 1) / (k - 1)))
    return W / (C * 0.975 * P) * math.sqrt(T * Z / M)


def steam(W, P, KSH=1.0):
    """Area [mm2] by the equation of 5.7; KN is 1 below 10 339 kPa."""
    return 190.5 * W / (P * 0.975 * KSH)


def valves():
    """The rows as numbers, the check that must find the fault, and a word of its reason."""
    P = lambda set_bar: 1.1 * 100 * set_bar + AIR  # noqa: E731
    gauge = gas(9000, P(5) - AIR, 353, 44.1, 1.13, 0.95)
    pounds = gas(12000 * 0.45359237, P(12), 313, 28.97, 1.4, 1.0)
    small = gas(20000, P(10), 330, 29.0, 1.35, 1.0)
    back = gas(15000, P(8), 320, 30.0, 1.2, 0.97)
    high = gas(8000, P(11), 340, 20.0, 1.25, 0.98)
    return [
        (("PSV-1", "closed outlet", 5, 5, "vapour", 80, 44.1, 1.13, 0.95, 9000, 0.1, "Conv.",
          0.975, round(gauge, 1), "M"), "required area", "gauge"),
        (("PSV-2", "closed outlet", 12, 12, "vapour", 40, 28.97, 1.4, 1.0, 12000, 0.1, "Conv.",
          0.975, round(pounds, 1), "J"), "required area", "lb/h"),
        (("PSV-3", "closed outlet", 10, 10, "vapour", 57, 29.0, 1.35, 1.0, 20000, 0.1, "Conv.",
          0.975, round(small, 1), "J"), "letter", "too small"),
        (("PSV-4", "closed outlet", 8, 8, "vapour", 47, 30.0, 1.2, 0.97, 15000, 1.6, "Conv.",
          0.975, round(back, 1), "N"), "back pressure of this kind of valve", "built-up"),
        (("PSV-5", "closed outlet", 10, 11, "vapour", 67, 20.0, 1.25, 0.98, 8000, 0.1, "Conv.",
          0.975, round(high, 1), "K"), "set pressure against mawp", "100%"),
        (("PSV-6", "closed outlet", 20, 20, "steam", 400, "", "", "", 14000, 0.1, "Conv.",
          0.975, round(steam(14000, P(20)), 1), "M"), "required area", "superheat"),
    ]  # fmt: skip


def comma(value):
    """A number as a European spreadsheet writes it."""
    return str(value).replace(".", ",") if isinstance(value, float) else str(value)


ROWS = [[*map(comma, row)] for row, _, _ in valves()]
NOTES = ["Note 1: set pressures are those of the valve at site", "Note 2: invented, for a test"]


def as_csv(folder):
    """Semicolons, decimal commas, cp1252, a title and notes."""
    out = io.StringIO()
    write = csv.writer(out, delimiter=";")
    write.writerows([["List of safety valves, revision B"], [], HEADS, *ROWS, []])
    write.writerows([[note] for note in NOTES])
    (folder / "list.csv").write_bytes(out.getvalue().encode("cp1252"))
    return folder / "list.csv"


def as_xlsx(folder):
    """A merged title, decimal commas as text, notes below."""
    book = openpyxl.Workbook()
    sheet = book.active
    for line in (
        ["List of safety valves, revision B"],
        [],
        HEADS,
        *ROWS,
        [],
        *([n] for n in NOTES),
    ):
        sheet.append(list(line))
    sheet.merge_cells("A1:H1")
    book.save(folder / "list.xlsx")
    return folder / "list.xlsx"


def as_forms(folder):
    """A sheet a valve: title, labels with values right of them, in two columns."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for row in ROWS:
        pairs, half = list(zip(HEADS, row, strict=True)), (len(HEADS) + 1) // 2
        sheet = book.create_sheet(row[0])
        sheet.append(["SAFETY VALVE DATA SHEET"])
        sheet.merge_cells("A1:E1")
        for left, right in zip(pairs[:half], [*pairs[half:], ("", "")][:half], strict=True):
            sheet.append([*left, "", *right])
        sheet.append([NOTES[1]])
    book.save(folder / "forms.xlsx")
    return folder / "forms.xlsx"


def as_text(_folder):
    """What a spreadsheet puts on the clipboard: tabs."""
    return "\n".join("\t".join(line) for line in (HEADS, *ROWS, NOTES[:1]))


def as_pdf(folder):
    """A list printed to PDF with its text."""
    import fpdf

    lines = [HEADS, *ROWS]
    widths = [max(len(line[i]) for line in lines) + 3 for i in range(len(HEADS))]
    pdf = fpdf.FPDF(orientation="landscape", format="A3")
    pdf.add_page()
    pdf.set_font("Courier", size=6)
    title = ["List of safety valves, revision B", ""]
    text = ["".join(c.ljust(w) for c, w in zip(line, widths, strict=True)) for line in lines]
    for line in [*title, *text, *NOTES]:
        pdf.cell(0, 5, line.replace("°", "deg "), new_x="LMARGIN", new_y="NEXT")
    pdf.output(str(folder / "list.pdf"))
    return folder / "list.pdf"


FORMATS = {"CSV": as_csv, "XLSX": as_xlsx, "forms in XLSX": as_forms, "pasted text": as_text,
           "PDF": as_pdf}  # fmt: skip


ANSWER = "heading in the file,means,unit,how\nSet press. (bar),set pressure,barg,\n"


def found_in(checked):
    """Planted faults that a `FileCheck` tells, by the check and a word of its reason."""
    rows, told = {row.tag: checks for row, checks in checked.results}, []
    for row, check, word in valves():
        some = [c for c in rows.get(row[0], ()) if c.name == check and c.verdict == "differs"]
        told += [row[0]] if some and word in some[0].reason else []
    return told
