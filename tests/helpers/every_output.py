"""Every kind of output as a fingerprint of its bytes, to compare between processes:

    python -m tests.helpers.every_output [--slow]

prints JSON; `--slow` adds what takes seconds. It needs no library of the tests, so that any Python
with the program and its extras can run it.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from contextlib import chdir, redirect_stderr, redirect_stdout
from hashlib import sha256
from io import StringIO
from pathlib import Path

from sheetmark.cli.app import run

LIST = "time,teeth,reference,age\n8:30,16,a,\n9:00,75,b,6\n10:00,11 21,ä,\n"
CASE = [f"-o c.{form}" for form in ("pdf", "svg", "json", "dxf", "cut.svg")]
COMMANDS = [
    f"overlay 16 {' '.join(CASE)}",
    f"overlay LR6,LR5 --for crown --notation palmer --paper letter {' '.join(CASE)}",
    "overlay 16 36 -o two.pdf -o two.json",
    "overlay 21 --card -o card.pdf -o card.svg",
    "day list.csv --cards -o day.pdf -o day.json",
    "drawer --for cervical -o drawer.pdf",
    *(f"handout {name} -o {name}.pdf" for name in ("arch-map", "numbering", "exercise")),
    *(f"handout {name} -o {name}.pdf" for name in ("hole-size", "steps")),
    "arch coverage --patients 200 -o v.pdf -o v.svg -o v.json",
    "arch fit --date 2026-11-25 --measure 24-14_36 -o own.toml --picture o.svg --picture o.pdf",
    "printer page -o printer.pdf",
    "check page -o check.pdf",
    "practice init --yes -o clinic.toml",
]
SLOW = [
    "handout why-the-middle-moves -o why.pdf",
    "strain 11 -o s.pdf -o s.svg -o s.json",
    "overlay 11 --shift even -o even.json",
]


def fingerprints(commands: list[str]) -> dict[str, str]:
    """Of each file by its command and name, and of what was printed."""
    found = {}
    for command in commands:
        with tempfile.TemporaryDirectory() as folder, chdir(folder):
            Path("list.csv").write_text(LIST, "utf-8")
            printed = StringIO()
            with redirect_stdout(printed), redirect_stderr(printed):
                code = run([word.replace("_", " ") for word in command.split()])
            assert code == 0, printed.getvalue()
            for path in sorted(Path().iterdir()):
                found[f"{command}: {path.name}"] = sha256(path.read_bytes()).hexdigest()[:12]
            found[command] = sha256(printed.getvalue().encode()).hexdigest()[:12]
    return found


if __name__ == "__main__":
    os.environ["XDG_CONFIG_HOME"] = tempfile.mkdtemp()
    json.dump(fingerprints(SLOW if "--slow" in sys.argv else COMMANDS), sys.stdout, indent=1)
