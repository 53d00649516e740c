"""Invented vendor sheets of many shapes, with what they say: what the reader is held against.

`sheets()` yields (name, write, truth): write(folder) makes the file and returns its path; truth
is a list of {column name: value in SI} for its valves. No plant, no maker, no real valve.
"""

import csv
import io
import random

import openpyxl

from relieflib.units import from_si

KINDS = {
    "mawp_gauge": "gauge pressure", "set_pressure_gauge": "gauge pressure",
    "temperature": "temperature", "load": "mass flow", "required_area": "area",
}  # fmt: skip
# A style of headings: column -> (words, unit or None); the same facts as different offices write.
STYLES = {
    "plain": {
        "tag": ("Tag No.", None), "mawp_gauge": ("MAWP [barg]", "barg"),
        "set_pressure_gauge": ("Set pressure [barg]", "barg"), "phase": ("Phase", None),
        "temperature": ("Relieving temp. [°C]", "°C"), "molar_mass": ("MW", None),
        "k": ("Cp/Cv", None), "Z": ("Z", None), "load": ("Required flow [kg/h]", "kg/h"),
        "required_area": ("Calculated area [mm2]", "mm2"), "letter": ("Orifice letter", None),
        "device_type": ("Valve type", None),
    },
    "shouting": {
        "tag": ("PSV TAG", None), "mawp_gauge": ("MAWP (BARG)", "barg"),
        "set_pressure_gauge": ("SET PRESS. (BARG)", "barg"), "phase": ("STATE", None),
        "temperature": ("RELIEF TEMPERATURE (DEGC)", "°C"),
        "molar_mass": ("MOL. WEIGHT", None), "k": ("RATIO OF SPECIFIC HEATS", None),
        "Z": ("COMPRESSIBILITY", None), "load": ("FLOW RATE (KG/HR)", "kg/h"),
        "required_area": ("REQUIRED ORIFICE AREA (CM2)", "cm2"),
        "letter": ("SELECTED ORIFICE", None), "device_type": ("TYPE OF VALVE", None),
    },
    "customary": {
        "tag": ("Valve tag", None), "mawp_gauge": ("MAWP psig", "psig"),
        "set_pressure_gauge": ("Set point, psig", "psig"), "phase": ("Fluid state", None),
        "temperature": ("Relieving temperature °F", "°F"),
        "molar_mass": ("Molecular weight", None), "k": ("k", None),
        "Z": ("Compressibility factor", None), "load": ("Relieving rate lb/hr", "lb/h"),
        "required_area": ("Area required (in2)", "in2"), "letter": ("API letter", None),
        "device_type": ("PSV type", None),
    },
}  # fmt: skip
TYPES = {"conventional": "Conv.", "balanced": "Bellows", "pilot": "Pilot op."}
LETTERS = "DEFGHJKLMNP"


def valves(seed, count):
    """Invented facts of some valves, rounded as the style will print them."""
    dice = random.Random(seed)
    for number in range(1, count + 1):
        mawp = dice.randrange(30, 800) / 10 * 1e5
        yield {
            "tag": f"PSV-{seed}{number:02}", "mawp_gauge": mawp,
            "set_pressure_gauge": mawp * dice.choice([1.0, 0.95, 0.9]), "phase": "gas",
            "temperature": 273.15 + dice.randrange(20, 300), "molar_mass": dice.randrange(20, 900)
            / 10, "k": dice.randrange(105, 160) / 100, "Z": dice.randrange(60, 100) / 100,
            "load": dice.randrange(200, 90000) / 3600, "required_area": dice.randrange(60, 9000)
            / 1e6, "letter": dice.choice(LETTERS), "device_type": dice.choice(sorted(TYPES)),
        }  # fmt: skip


def cell(name, value, unit, comma):
    """The text of a cell, four or five figures of a number."""
    if name == "device_type":
        return TYPES[value]
    if isinstance(value, str):
        return {"gas": "vapour"}.get(value, value)
    shown = from_si(value, unit, KINDS[name]) if unit else value
    text = f"{shown:.5g}" if abs(shown) >= 1e-4 else f"{shown:.3f}"
    if "e" in text:
        text = f"{shown:.0f}"
    return text.replace(".", ",") if comma else text


def table(style, facts, comma=False):
    """Heading line and lines of a list."""
    heads = STYLES[style]
    lines = [[words for words, _ in heads.values()]]
    lines += [[cell(n, row[n], unit, comma) for n, (_, unit) in heads.items()] for row in facts]
    return lines


def _csv(lines, separator, encoding):
    def write(folder):
        text = io.StringIO()
        csv.writer(text, delimiter=separator, lineterminator="\n").writerows(lines)
        path = folder / "sheet.csv"
        path.write_bytes(text.getvalue().encode(encoding))
        return path

    return write


def _book(pages, before=lambda book: None, numbers=False):
    def write(folder):
        book = openpyxl.Workbook()
        book.remove(book.active)
        for number, lines in enumerate(pages, start=1):
            sheet = book.create_sheet(f"Page {number}")
            for line in lines:
                sheet.append([_number(c) if numbers else c for c in line])
        before(book)
        path = folder / "sheet.xlsx"
        book.save(path)
        return path

    return write


def _number(text):
    try:
        return float(text)
    except ValueError:
        return text


def _spaced(lines):
    def write(folder):
        widths = [max(len(str(line[i])) for line in lines) + 3 for i in range(len(lines[0]))]
        text = "\n".join("".join(str(c).ljust(w) for c, w in zip(line, widths)) for line in lines)
        path = folder / "sheet.txt.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def _pdf(lines):
    def write(folder):
        import fpdf

        pdf = fpdf.FPDF(orientation="landscape", format="A3")
        pdf.add_page()
        pdf.set_font("Courier", size=6)
        widths = [max(len(str(line[i])) for line in lines) + 3 for i in range(len(lines[0]))]
        for line in lines:
            text = "".join(str(c).ljust(w) for c, w in zip(line, widths))
            pdf.cell(0, 5, text.replace("°", "deg"), new_x="LMARGIN", new_y="NEXT")
        path = folder / "sheet.pdf"
        pdf.output(str(path))
        return path

    return write


def _form(lines, columns=1):
    """A list of one valve as a form of label and value, in one or two columns."""
    pairs = list(zip(*lines))
    if columns == 1:
        return [["SAFETY VALVE DATA SHEET"], *map(list, pairs)]
    half = (len(pairs) + 1) // 2
    return [[*a, "", *b] for a, b in zip(pairs[:half], pairs[half:] + [("", "")])]


def _titled(lines):
    return [["List of safety valves, invented"], ["Project", "none"], [], *lines, [],
            ["Note 1: for a test of a reader alone"]]  # fmt: skip


def _cover(book):
    book.create_sheet("Cover", 0).append(["Project", "invented"])


def sheets():
    """(name, write, truth, held) of every sheet; held, True for those that only tests read."""
    seed = 0
    for style in STYLES:
        for shape in (
            "commas", "semicolons", "decimal commas", "tabs", "spaces", "workbook", "numbers",
            "cover", "titled", "one form", "two-column form", "forms", "side", "pdf",
        ):  # fmt: skip
            seed += 1
            count = 1 if shape in ("one form", "two-column form") else 4
            facts = list(valves(seed, count))
            lines = table(style, facts, comma=shape == "decimal commas")
            write = {
                "commas": lambda x=lines: _csv(x, ",", "utf-8"),
                "semicolons": lambda x=lines: _csv(x, ";", "cp1252"),
                "decimal commas": lambda x=lines: _csv(x, ";", "cp1252"),
                "tabs": lambda x=lines: _csv(x, "\t", "utf-16"),
                "spaces": lambda x=lines: _spaced(x),
                "workbook": lambda x=lines: _book([x]),
                "numbers": lambda x=lines: _book([x], numbers=True),
                "cover": lambda x=lines: _book([x], _cover, numbers=True),
                "titled": lambda x=lines: _book([_titled(x)], numbers=True),
                "one form": lambda x=lines: _book([_form(x)]),
                "two-column form": lambda x=lines: _book([_form(x, 2)]),
                "forms": lambda x=lines: _book([_form([x[0], line]) for line in x[1:]]),
                "side": lambda x=lines: _book([list(map(list, zip(*x)))]),
                "pdf": lambda x=lines: _pdf(x),
            }[shape]()
            held = (style, shape) in HELD
            yield f"{style}, {shape}", write, facts, held
    yield from by_hand_sheets()


# Typed by hand; units by NIST SP 811 (psi 6894.757 Pa, lb 0.45359237 kg, in 0.0254 m).
BOILER = [
    ["SAFETY VALVE LIST, BOILER 3"], [],
    ["ITEM NO.", "PSV-801", "PSV-802"], ["SERVICE", "Steam drum", "Superheater"],
    ["DESIGN CODE", "ASME SECTION I", "ASME SECTION I"], ["MAWP, PSIG", 650, 650],
    ["SET PRESSURE, PSIG", 650, 610], ["OVERPRESSURE, %", 3, 3],
    ["RELIEVING TEMP., DEG F", 501, 720], ["STATE", "sat. steam", "superheated steam"],
    ["REQUIRED CAPACITY, LB/HR", 60000, 45000], ["NO. OF VALVES REQ'D", 1, 1],
    ["COEFFICIENT OF DISCHARGE (K)", 0.878, 0.878], ["ORIFICE AREA, SQ. IN.", 2.545, 2.545],
    ["CERTIFIED CAPACITY, LB/HR", 76500, 58000], ["BLOWDOWN, % OF SET", 4, 4],
    ["INLET SIZE AND RATING", '3" 600# RF', '3" 600# RF'],
]  # fmt: skip
ISO_FORM = [
    ["Safety valve data sheet to EN ISO 4126-1"], [],
    ["1", "General", "", "", "", "Valve"],
    ["1.1", "Tag number", "SV-1201", "", "3.1", "Type of valve", "Spring loaded, bellows"],
    ["1.2", "Protected equipment", "B-1201", "", "3.2", "Nominal size inlet", "DN 50"],
    ["1.3", "Regulations", "PED 2014/68/EU", "", "3.3", "Flange inlet", "PN 40"],
    ["2", "Process data", "", "", "3.4", "Flow diameter d0 [mm]", "42,0"],
    ["2.1", "Medium", "Propane", "", "3.5", "Flow area A0 [mm²]", "1385"],
    ["2.2", "State of aggregation", "gaseous", "", "3.6",
     "Certified coefficient of discharge Kdr", "0,72"],
    ["2.3", "Max. allowable pressure PS [bar g]", "16,5", "", "3.7", "Required area [mm²]",
     "1325,5"],
    ["2.4", "Set pressure p [bar g]", "16,0", "", "3.8", "Certified mass flow [kg/h]", "20.100,5"],
    ["2.5", "Overpressure [%]", "10", "", "3.9", "Body material", "1.0619"],
    ["2.6", "Superimposed back pressure [bar g]", "0,5", "", "3.10", "Blowdown [%]", "10"],
    ["2.7", "Mass flow to be discharged [kg/h]", "19.200,5", "", "3.11", "Lift", "full lift"],
    ["2.8", "Relieving temperature [°C]", "54,5", "", "", "", ""],
]  # fmt: skip

UNITS_BELOW = [
    ["Tag No.", "Set Pressure", "Relieving Temp.", "Required Flow", "MW", "Cp/Cv", "Z", "State",
     "Orifice"],
    ["", "barg", "°C", "kg/h", "kg/kmol", "-", "-", "", ""],
    ["PSV-1", "12.5", "85", "2500", "28.01", "1.4", "1", "gas", "J"],
    ["PSV-2", "8", "60", "900.5", "18.02", "1.3", "0.95", "gas", "F"],
]  # fmt: skip
TWO_LINES = [
    ["Tag No.", "Pressure", "", "", "Temperature", "Flow", "Back Pressure", "", "State", "M"],
    ["", "Set", "Operating", "MAWP", "Relieving", "Required", "Superimposed", "Built-up", "", ""],
    ["", "psig", "psig", "psig", "°F", "lb/h", "psig", "psig", "", "kg/kmol"],
    ["PSV-1", "150", "120.5", "155", "180.5", "25000", "5", "10.5", "vapour", "44.1"],
    ["PSV-2", "75", "60", "80", "140", "8000.5", "0", "3", "vapour", "58.12"],
]
STROKES = """PRESSURE RELIEF VALVE DATA SHEET
Tag No.: PSV-1201
Service: depropaniser overhead
Fluid / State: Propane / Vapour
Required capacity: 12500 kg/h
Pressure operating / set: 12.0 / 16.0 barg
Inlet / outlet rating: 300# / 150#
Back pressure constant / variable / built-up: 0.5 / 0.0 / 0.7 barg
Overpressure: 10 %      Compressibility Z: 0.82
Cp/Cv: 1.14             Molecular weight: 44.1
Relieving temperature: 62 °C
Calculated area / selected area: 1650 mm2 / 1841 mm2
Orifice designation: L
Type: Conventional
"""


def _text(text):
    def write(folder):
        path = folder / "pasted.txt"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def by_hand_sheets():
    """Sheets as `sheets` gives them, of offices that write in another way than its three."""
    steam = {"mawp_gauge": 650 * 6894.757, "overpressure_fraction": 0.03, "phase": "steam",
             "Kd": 0.878, "orifice_area": 2.545 * 0.0254**2, "blowdown": 0.04, "valves": 1.0,
             "code": "ASME I"}  # fmt: skip
    boiler = [
        steam | {"tag": tag, "set_pressure_gauge": pset * 6894.757,
                 "load": load * 0.45359237 / 3600, "temperature": (degrees + 459.67) / 1.8,
                 "rated_capacity": capacity * 0.45359237 / 3600}
        for tag, pset, degrees, load, capacity in (("PSV-801", 650, 501, 60000, 76500),
                                                   ("PSV-802", 610, 720, 45000, 58000))
    ]  # fmt: skip
    iso = {"tag": "SV-1201", "device_type": "balanced", "phase": "gas", "code": "PED",
           "fluid": "Propane", "protected_item": "B-1201", "set_pressure_gauge": 16e5,
           "mawp_gauge": 16.5e5, "load": 19200.5 / 3600, "rated_capacity": 20100.5 / 3600,
           "Kd_certified": 0.72, "actual_area": 1385e-6, "required_area": 1325.5e-6,
           "superimposed_gauge": 0.5e5, "temperature": 327.65, "blowdown": 0.10,
           "overpressure_fraction": 0.10}  # fmt: skip
    yield "boiler, list on its side, US units", _book([BOILER]), boiler, False
    yield "form to ISO 4126, numbered, two columns", _book([ISO_FORM]), [iso], False
    below = [
        {"tag": "PSV-1", "set_pressure_gauge": 12.5e5, "temperature": 358.15, "load": 2500 / 3600,
         "molar_mass": 28.01, "k": 1.4, "Z": 1.0, "phase": "gas", "letter": "J"},
        {"tag": "PSV-2", "set_pressure_gauge": 8e5, "temperature": 333.15, "load": 900.5 / 3600,
         "molar_mass": 18.02, "k": 1.3, "Z": 0.95, "phase": "gas", "letter": "F"},
    ]  # fmt: skip
    yield "list with its units below the headings", _csv(UNITS_BELOW, ",", "utf-8"), below, False
    psi, lines = 6894.757, []
    for tag, pset, own, mawp, degrees, load, superimposed, built_up, M in (
        ("PSV-1", 150, 120.5, 155, 180.5, 25000, 5, 10.5, 44.1),
        ("PSV-2", 75, 60, 80, 140, 8000.5, 0, 3, 58.12),
    ):
        lines.append({
            "tag": tag, "set_pressure_gauge": pset * psi, "operating_pressure_gauge": own * psi,
            "mawp_gauge": mawp * psi, "temperature": (degrees + 459.67) / 1.8,
            "load": load * 0.45359237 / 3600, "superimposed_gauge": superimposed * psi,
            "built_up": built_up * psi, "phase": "gas", "molar_mass": M,
        })  # fmt: skip
    yield "list with three lines of headings", _csv(TWO_LINES, ";", "cp1252"), lines, False
    stroke = {
        "tag": "PSV-1201", "fluid": "Propane", "phase": "gas", "load": 12500 / 3600,
        "operating_pressure_gauge": 12e5, "set_pressure_gauge": 16e5, "inlet_class": 300,
        "outlet_class": 150, "superimposed_gauge": 0.5e5, "variable_gauge": 0.0,
        "built_up": 0.7e5, "overpressure_fraction": 0.1, "Z": 0.82, "k": 1.14,
        "molar_mass": 44.1, "temperature": 335.15, "required_area": 1650e-6,
        "orifice_area": 1841e-6, "letter": "L", "device_type": "conventional",
    }  # fmt: skip
    yield "pasted form with colons and strokes", _text(STROKES), [stroke], False


HELD = {("customary", "decimal commas"), ("shouting", "titled"), ("customary", "forms"),
        ("shouting", "side"), ("plain", "pdf")}  # fmt: skip


def score(reading, truth):
    """(right, wrong, missing) fields of a reading; what it leaves out and says is missing."""
    rows = {row.tag: row for row in reading.rows}
    right = wrong = missing = 0
    for facts in truth:
        row = rows.get(facts["tag"])
        for name, value in facts.items():
            found = row.get(name) if row else None
            if found is None:
                missing += 1
            elif isinstance(value, str):
                right, wrong = (right + 1, wrong) if found == value else (right, wrong + 1)
            else:
                # five printed figures
                close = abs(found - value) <= 6e-5 * abs(value) + (
                    0.006 if name == "temperature" else 0
                )
                right, wrong = (right + 1, wrong) if close else (right, wrong + 1)
    tags = {facts["tag"] for facts in truth}
    wrong += sum(len(row.cells) for tag, row in rows.items() if tag not in tags)
    return right, wrong, missing
