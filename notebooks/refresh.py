"""Run notebooks top to bottom and store them clean: `python notebooks/refresh.py [NAME ...]`.

NAME is a part of a file name; without one every notebook is run. What is stored is what a reader
without a kernel sees: pictures and numbers, no widget state, no run times, no machine's name. A
second run changes no byte. A notebook whose cell fails is left as it was, and the exit code is 1.
"""

import os
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

HERE = Path(__file__).parent
VIEW = "application/vnd.jupyter.widget-view+json"
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
    text = nbformat.writes(clean(notebook)) + "\n"
    if text.encode() != path.read_bytes():
        path.write_bytes(text.encode())
    return None


def main(names):
    """Run the notebooks whose name holds one of the names, or all."""
    paths = [
        p for p in sorted(HERE.glob("*.ipynb")) if not names or any(n in p.name for n in names)
    ]
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        # a reader's own answers stay out of the stored run
        os.environ["RELIEFLIB_MY_WORK"] = folder
        for path in paths:
            problem = run(path)
            print(f"{path.name}: {'failed' if problem else 'stored'}")
            if problem:
                failed += 1
                print(problem, file=sys.stderr)
    return 1 if failed or not paths else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
