"""What each command takes as a whole process: `python -m tests.benchmarks.commands`.

Prints ratios of processor time, user and system, from runs in turn on this machine: the median of
the ratios of each round. Names after it choose rows. The yardsticks are an empty Python, and the
plain overlay as PDF. Not on Windows, which counts no such times.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import median

from sheetmark.anatomy.arch_model import model_names
from tests.benchmarks.speed import with_bytecode

ROUNDS = 7
OURS = (sys.executable, "-m", "sheetmark")
_ALL_MODELS = [part for name in model_names() for part in ("--arch", name)]
# Each row: the yardstick, and what is typed.
ROWS: dict[str, tuple[str, list[str]]] = {
    "version": ("empty", ["--version"]),
    "help": ("empty", ["--help"]),
    "svg": ("overlay", ["overlay", "16", "-o", "x.svg"]),
    "measured": ("overlay", ["overlay", "16", "--measure", "row 14-17 35.2", "-o", "m.pdf"]),
    "drawer": ("overlay", ["drawer", "-o", "drawer.pdf"]),
    "drawers": ("overlay", ["drawer", *_ALL_MODELS, "-o", "drawers.pdf"]),
    "even": ("overlay", ["overlay", "16", "--shift", "even", "-o", "even.pdf"]),
    "strain": ("overlay", ["strain", "16", "-o", "strain.pdf"]),
}
YARDSTICKS: dict[str, list[str]] = {
    "empty": [sys.executable, "-c", "pass"],
    "overlay": [*OURS, "overlay", "16", "-o", "x.pdf"],
}


def main(names: list[str]) -> None:
    """Print a line for each row."""
    rows = {name: row for name, row in ROWS.items() if not names or name in names}
    with tempfile.TemporaryDirectory() as folder:
        for typed in YARDSTICKS.values():
            cpu(typed, folder)  # its bytecode is written
        for name, (yardstick, typed) in rows.items():
            cpu([*OURS, *typed], folder)
            ratios = [
                cpu([*OURS, *typed], folder) / cpu(YARDSTICKS[yardstick], folder)
                for _ in range(ROUNDS)
            ]
            print(f"{name:<10}{median(ratios):7.2f} x {yardstick}", flush=True)
        for file in sorted(Path(folder).glob("*.pdf")):
            print(f"{file.name}: {file.stat().st_size / 1e6:.2f} MB")


def cpu(typed: list[str], folder: str) -> float:
    """Seconds of processor time of the process, finer than the ticks of `os.times`."""
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run(typed, cwd=folder, check=True, capture_output=True, env=with_bytecode())
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


if __name__ == "__main__":
    main(sys.argv[1:])
