"""Read vendor datasheets of relief valves and check every row: what agrees, what differs, why.

One row per valve, units in the headings, CSV or XLSX; `data/datasheets/template.csv` documents the
columns. A teaching and checking aid: decisions belong to a competent, licensed engineer.
"""

from relieflib.datasheet.checks import Check, check_row
from relieflib.datasheet.columns import Row
from relieflib.datasheet.export import (
    as_html,
    as_table,
    as_text,
    export_csv,
    export_slowly,
    export_xlsx,
    telling,
    told,
)
from relieflib.datasheet.reading import (
    FileCheck,
    Problem,
    Reading,
    check_data,
    check_file,
    check_folder,
    check_rows,
    check_words,
    find_files,
    read,
    read_data,
    read_slowly,
    read_words,
)
from relieflib.datasheet.side_by_side import usual_processes
from relieflib.datasheet.template import write_template

__all__ = [
    "Check", "FileCheck", "Problem", "Reading", "Row", "as_html", "as_table", "as_text",
    "check_data", "check_file", "check_folder", "check_row", "check_rows", "check_words",
    "export_csv", "export_slowly", "export_xlsx", "find_files", "read", "read_data", "read_slowly",
    "read_words", "telling", "told", "usual_processes", "write_template",
]  # fmt: skip
