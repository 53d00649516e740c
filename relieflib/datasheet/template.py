"""An empty datasheet to fill in: a spreadsheet with every column, its unit and what it may hold."""

import io

from relieflib.datasheet.columns import COLUMNS
from relieflib.datasheet.files import LEGEND
from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.kinds import DISPLAY
from relieflib.orifices import CLASSES
from relieflib.symbols import UNIT_SETS
from relieflib.texts import CAUTION
from relieflib.units import units_of

_PERCENT = ("overpressure_fraction", "accumulation", "inlet_loss", "blowdown", "set_tolerance")
ROWS = 500  # rows that offer a choice of words


def headings(unit_set="SI"):
    """Heading of every column with its unit, in the order of the template.

    Parameters: unit_set, 'SI' or 'US'. Returns {name of the column: heading}. Raises InputError
    for another set.
    >>> headings("US")["set_pressure_gauge"], headings()["overpressure_fraction"]
    ('set pressure [psig]', 'overpressure allowed [%]')
    """
    if unit_set not in UNIT_SETS:
        raise InputError(f"unit_set '{unit_set}': use SI or US")
    return {name: _heading(column, UNIT_SETS.index(unit_set)) for name, column in COLUMNS.items()}


def _heading(column, which):
    unit = "%" if column.name in _PERCENT else DISPLAY.get(column.kinds[0], "--")[which]
    return column.heading if unit == "-" else f"{column.heading} [{unit}]"


def _words(column):
    """What a column may hold, and which other units it takes."""
    words = column.choices
    if words:
        return "one of: " + ", ".join(words)
    if not column.numeric:
        return ""
    return "units: " + ", ".join(u for kind in column.kinds for u in units_of(kind))


def write_template(path, unit_set="SI"):
    """Write an empty datasheet as a spreadsheet that `read` takes once it is filled in.

    Parameters: path of a new .xlsx file; unit_set, 'SI' or 'US'. Returns Path. Raises InputError
    for another ending or set, and for a file that is there already. Sheet 'valves' is the list,
    sheet 'columns' says what each column holds.
    """
    import openpyxl
    from openpyxl.comments import Comment
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    if not str(path).lower().endswith(".xlsx"):
        raise InputError(f"{path}: must end in .xlsx; template.csv lies in data/datasheets")
    heads, book = headings(unit_set), openpyxl.Workbook()
    valves, columns = book.active, book.create_sheet(LEGEND)
    valves.title = "valves"
    columns.append(("column", "what it holds", "values"))
    for number, (name, column) in enumerate(COLUMNS.items(), start=1):
        cell = valves.cell(1, number, heads[name])
        cell.font, cell.comment = Font(bold=True), Comment(column.meaning, "relieflib")
        letter = get_column_letter(number)
        valves.column_dimensions[letter].width = max(10, len(heads[name]) + 2)
        _offer(valves, letter, column)
        columns.append((heads[name], column.meaning, _words(column)))
    for cell in columns[1]:
        cell.font = Font(bold=True)
    columns.append((CAUTION.replace("**", ""),))
    valves.freeze_panes = "B2"
    for letter, width in zip("ABC", (44, 70, 90)):
        columns.column_dimensions[letter].width = width
    data = io.BytesIO()
    book.save(data)
    return write_whole(path, data.getvalue(), overwrite=False)


def _offer(sheet, letter, column):
    """A list of words to choose from, where a column takes no others."""
    from openpyxl.worksheet.datavalidation import DataValidation

    words = [str(c) for c in CLASSES] if column.kinds[0] == "class" else column.choices
    if words:
        rule = DataValidation("list", formula1=f'"{",".join(words)}"', allow_blank=True)
        rule.add(f"{letter}2:{letter}{ROWS}")
        sheet.add_data_validation(rule)
