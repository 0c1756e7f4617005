"""What the day's list takes: `python tests/benchmarks/day.py`.

* time: `sheetmark day` over 1,000 rows, from the file to the file, against replaying the same
  pages with bare ReportLab into one file of one font;
* memory and size: whole processes over 100, 1,000 and 5,000 rows, their peak and their file.
"""

from __future__ import annotations

import random
import runpy
import subprocess
import sys
import tempfile
from itertools import product
from pathlib import Path

from sheetmark.anatomy.teeth import NOTATIONS, PERMANENT, write
from sheetmark.case.case import ACCESSES, PROCEDURES
from sheetmark.cli.app import run
from sheetmark.day.list import read_day
from sheetmark.day.rows import plan_row
from sheetmark.day.tray import plan_day, visit_of
from sheetmark.documents.sets.day import TITLE, case_pages, tray_pages
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.marks import Document, Page
from tests.benchmarks.speed import BARE, FONTS, Seconds, as_bare, seconds

ROWS = 1000
RUNS = 3
MEMORY_ROWS = (100, 1000, 5000)
_MODELS = ("", "adult-male", "adult-female")
# Linux counts in ru_maxrss what the process was forked from; VmHWM begins anew.
_PEAK = """
import sys
from pathlib import Path
from sheetmark.cli.app import run

assert run(sys.argv[1:]) == 0
print("peak", Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0])
"""


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(f"time: {ROWS} rows, {RUNS} alternating runs, the best of each")
        for wording, (wall, cpu) in time(folder).items():
            print(f"  {wording:<34}{wall:10.2f} s{cpu:10.2f} s CPU")
        print("memory: whole processes")
        for rows in MEMORY_ROWS:
            peak_mb, size = memory(folder, rows)
            print(f"  {rows:>5} rows: peak {peak_mb:6.1f} MB, file {size / 1e6:6.2f} MB")


def list_text(count: int) -> str:
    """A CSV list of different cases that can all be done, well mixed."""
    standing = [tooth for tooth in PERMANENT if tooth.position < 8]
    cases = list(product(standing, NOTATIONS, PROCEDURES, ACCESSES, ("152", "127"), _MODELS))
    random.Random(1).shuffle(cases)
    rows = ["time,reference,teeth,notation,procedure,access,sheet,arch"]
    for number, (tooth, notation, procedure, access, sheet, model) in enumerate(cases[:count]):
        minute = 480 + 540 * number // count
        cells = (f"{minute // 60}:{minute % 60:02}", f"case {number}", write(tooth, notation))
        rows.append(",".join((*cells, notation, procedure, access, sheet, model)))
    assert len(rows) == count + 1
    return "\n".join(rows)


def pages_of(path: Path) -> list[Page]:
    """The pages of a list, as the command makes them."""
    practice = Practice()
    cases = [plan_row(row, practice) for row in read_day(path.read_bytes(), "x", "csv").rows]
    shown = [case_pages(case.plan) for case in cases]
    before = [sum(len(pages) for pages in shown[:number]) for number in range(len(shown))]
    front = tray_pages(plan_day([visit_of(case) for case in cases], practice), before)
    return [*front, *(page for pages in shown for page in pages)]


def time(folder: Path) -> dict[str, Seconds]:
    """Ours and the replay in turn, and the ratio of the two."""
    path, out = folder / "list.csv", folder / "day.pdf"
    path.write_text(list_text(ROWS), "utf-8")
    bare = runpy.run_path(str(BARE))
    bare["register"](FONTS)
    document = as_bare(Document(TITLE, "", tuple(pages_of(path))))

    def ours() -> None:
        assert run(["day", str(path), "-o", str(out)]) == 0

    def replay() -> None:
        out.write_bytes(bare["draw"](*document))

    runs = [(seconds(ours), seconds(replay)) for _ in range(RUNS)]
    best: list[Seconds] = [
        (min(run[side][0] for run in runs), min(run[side][1] for run in runs)) for side in (0, 1)
    ]
    (wall, cpu), (bare_wall, bare_cpu) = best
    return {
        "sheetmark day": best[0],
        "replay with bare ReportLab": best[1],
        "ratio": (wall / bare_wall, cpu / bare_cpu),
    }


def memory(folder: Path, rows: int) -> tuple[float, int]:
    """Peak resident memory in MB of a process over so many rows, and the size of its file. It is
    read from /proc, so on Linux only."""
    path, out = folder / "list.csv", folder / "day.pdf"
    path.write_text(list_text(rows), "utf-8")
    wording = [sys.executable, "-c", _PEAK, "day", str(path), "-o", str(out)]
    done = subprocess.run(wording, check=True, capture_output=True, text=True)
    peak = int(done.stdout.rsplit("peak", 1)[1])
    return peak / 1e3, out.stat().st_size


if __name__ == "__main__":
    main()
