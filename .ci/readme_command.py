"""Run the test command exactly as README prints it for this system, so that it can't drift."""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def command(system=sys.platform):
    """The test command of README: its `bat` block on Windows, its `sh` block elsewhere."""
    text = (ROOT / "README.md").read_text(encoding="utf-8").partition("<!-- test command -->")[2]
    shell = "bat" if system == "win32" else "sh"
    return re.search(rf"```{shell}\n(.+?)\n```", text, re.S).group(1)


if __name__ == "__main__":
    print(command(), flush=True)
    sys.exit(subprocess.run(command(), shell=True, cwd=ROOT).returncode)
