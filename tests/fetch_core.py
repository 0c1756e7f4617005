"""Fetches what the page in one file is built from: `python -m tests.fetch_core`.

It is put into the folder `core` beside the tests, by the registries' ordinary clients.
"""

from __future__ import annotations

import shutil
import subprocess
import sys

from sheetmark.desk.single.carried import carried
from sheetmark.desk.single.core import fetching
from tests.helpers.single_page import CORE


def main() -> int:
    """Runs the commands that the program itself names; 0 when all is there."""
    CORE.mkdir(exist_ok=True)
    for name, *rest in fetching(CORE, carried().compiled):
        program = sys.executable if name == "python" else str(shutil.which(name))
        done = subprocess.run([program, *rest], check=False)
        if done.returncode:
            return done.returncode
    return 0


if __name__ == "__main__":
    sys.exit(main())
