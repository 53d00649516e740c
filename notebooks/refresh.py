"""Run notebooks top to bottom and store them clean: `python notebooks/refresh.py [NAME ...]`.

`python notebooks/refresh.py --tables` gives every notebook that the tables of README and of
00-start-here lack its row there; a row that stands is left as it is, so that its words can be
edited. It also leads from each notebook to its neighbours.

A cell tagged `setup` or `glue` is stored collapsed, and the first and last cell get the line that
leads to the notebook before, the glossary and the notebook after.

NAME is a part of a file name; without one every notebook is run. What is stored is what a reader
without a kernel sees: pictures and numbers, no widget state, no run times, no machine's name. A
second run changes no byte. A notebook whose cell fails is left as it was, and the exit code is 1.
"""

import os
import re
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

HERE = Path(__file__).parent
VIEW = "application/vnd.jupyter.widget-view+json"
COLLAPSED = {"setup", "glue"}  # tags of code that a reader may open, and need not
GLOSSARY = "[Glossary](glossary.ipynb)"
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


def clean(notebook):
    """Strip what differs from run to run or needs a live kernel; changes the notebook."""
    notebook.metadata = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    for cell in notebook.cells:
        cell.metadata.pop("execution", None)
        for output in cell.get("outputs", []):
            if "data" in output:
                output.data.pop(VIEW, None)
                output.metadata.pop(VIEW, None)
    return notebook


def collapse(notebook):
    """Store cells with a tag of `COLLAPSED` collapsed, and all others open."""
    for cell in notebook.cells:
        cell.metadata.pop("jupyter", None)
        if cell.cell_type == "code" and COLLAPSED & set(cell.metadata.get("tags", [])):
            cell.metadata["jupyter"] = {"source_hidden": True}


def title(path):
    """A notebook as a link names it: its number, its title."""
    first = nbformat.read(path, as_version=4).cells[0].source.splitlines()[0].lstrip("# ")
    return f"{path.name[:2]} {first}"


def way(path):
    """The line of links to the notebook before, the glossary and the notebook after."""
    books = sorted(HERE.glob("[0-9][0-9]-*.ipynb"))
    place = books.index(path)
    before = [f"[‹ {title(b)}]({b.name})" for b in books[max(place - 1, 0) : place]]
    after = [f"[{title(b)} ›]({b.name})" for b in books[place + 1 : place + 2]]
    return " · ".join([*before, GLOSSARY, *after])


def lead(notebook, path):
    """Put the line of `way` under the title and at the end of the last cell."""
    for cell in (notebook.cells[0], notebook.cells[-1]):
        lines = cell.source.split("\n")
        kept = [n for n in lines if not (GLOSSARY in n and (" ›]" in n or "[‹ " in n))]
        cell.source = "\n".join(kept).strip()
    head, _, rest = notebook.cells[0].source.partition("\n")
    notebook.cells[0].source = f"{head}\n\n{way(path)}\n\n{rest.strip()}"
    notebook.cells[-1].source += f"\n\n{way(path)}"


def run(path):
    """Run one notebook and store it; returns words on what failed, or None."""
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook, timeout=120, record_timing=False, store_widget_state=False,
        coalesce_streams=True, resources={"metadata": {"path": str(HERE)}},
    )  # fmt: skip
    try:
        client.execute()
    except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
        return str(error)
    collapse(notebook)
    if path.name[:2].isdigit() and notebook.cells[0].cell_type == "markdown":
        lead(notebook, path)
    text = nbformat.writes(clean(notebook)) + "\n"
    if text.encode() != path.read_bytes():
        path.write_bytes(text.encode())
    return None


def with_rows(text, row, pattern):
    """A text whose table has a row for every notebook, missing ones put in their place.

    text of the file; row(name, title) gives the line to put in; pattern finds the names of
    notebooks that stand at the head of rows or at their end. Returns the text.
    """
    for path in sorted(HERE.glob("[0-9][0-9]-*.ipynb")):
        if path.name in text or path.name.startswith("00-"):
            continue
        words = title(path).partition(" ")[2]
        rows = list(re.finditer(pattern, text, re.M))
        before = [m for m in rows if m.group(1) < path.name]
        place = (before[-1].end() if before else rows[0].start()) + bool(before)
        text = text[:place] + row(path.name, words) + "\n" + text[place:]
    return text


def tables():
    """Put the rows that are missing into the tables of README and of 00-start-here."""
    readme, start = HERE.parent / "README.md", HERE / "00-start-here.ipynb"
    row = "| [{0}](notebooks/{0}) | {1} |".format
    text = readme.read_text(encoding="utf-8")
    text = with_rows(text, row, r"^\| \[(\d\d-[\w-]+\.ipynb)\].*$")
    readme.write_text(text, encoding="utf-8", newline="\n")
    book = nbformat.read(start, as_version=4)
    cell = next(c for c in book.cells if "| [01 " in c.source)
    cell.source = with_rows(
        cell.source, lambda name, title: f"| {title} | [{name[:2]} {title}]({name}) |",
        r"^\| .*\((\d\d-[\w-]+\.ipynb)\) \|$",
    )  # fmt: skip
    start.write_bytes((nbformat.writes(book) + "\n").encode())
    for path in sorted(HERE.glob("[0-9][0-9]-*.ipynb")):  # a new neighbour moves their links
        book = nbformat.read(path, as_version=4)
        lead(book, path)
        path.write_bytes((nbformat.writes(book) + "\n").encode())
    return 0


def main(names):
    """Run the notebooks whose name holds one of the names, or all."""
    if names == ["--tables"]:
        return tables()
    paths = [
        p for p in sorted(HERE.glob("*.ipynb")) if not names or any(n in p.name for n in names)
    ]
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        # a reader's own answers stay out of the stored run
        os.environ["RELIEFLIB_MY_WORK"] = folder
        for name in ("RELIEFLIB_PARTICIPANT", "RELIEFLIB_ROOM"):
            os.environ.pop(name, None)
        for path in paths:
            problem = run(path)
            print(f"{path.name}: {'failed' if problem else 'stored'}")
            if problem:
                failed += 1
                print(problem, file=sys.stderr)
    return 1 if failed or not paths else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
