"""What sheetmark takes beyond the cost of drawing its pages: `python tests/benchmarks/speed.py`.

Prints two ratios from alternating runs on this machine, with bytecode as an install has it:

* cold: the whole command `sheetmark overlay 16 -o x.pdf` as a fresh process, against a fresh
  process that imports reportlab and draws the same marks with the same embedded font;
* many: 1,000 different cases planned, laid out and written as PDF in one process, against
  replaying their display lists with bare ReportLab.
"""

from __future__ import annotations

import json
import os
import runpy
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from itertools import islice, product
from math import cos, radians, sin
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.anatomy.teeth import NOTATIONS, PERMANENT
from sheetmark.case.case import PROCEDURES, Case
from sheetmark.documents.case.overlay import overlay
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import PAPERS, STANDARD_SHEETS, Practice
from sheetmark.typesetting.lettering import font_file
from sheetmark.typesetting.marks import Disc, Document, Line, Mark, Polygon, Ring

COLD_RUNS = 15
MANY = 1000
ROUNDS = 10
POINTS_PER_MM = 72 / 25.4
BARE = Path(__file__).parent / "bare.py"
FONTS = {"regular": str(font_file(bold=False)), "bold": str(font_file(bold=True))}

Seconds = tuple[float, float]
Job = tuple[Case, Practice]
BareDocument = tuple[float, float, list[list[Any]]]


def main() -> None:
    print(f"cold: whole processes, {COLD_RUNS} alternating runs, median")
    _show(cold(), "sheetmark overlay 16 -o x.pdf", "bare script, same marks", median)
    print(f"many: {MANY} cases in one process, {ROUNDS} alternating rounds, mean of a case")
    _show(many(), "plan, lay out, write PDF", "replay with bare ReportLab", _mean_of_a_case)


def _show(
    runs: list[tuple[Seconds, Seconds]],
    ours: str,
    yardstick: str,
    typical: Callable[[list[float]], float],
) -> None:
    """Wall clock and processor time; other work on the machine disturbs the second less."""
    print(f"  {'':<32}{'wall ms':>10}{'CPU ms':>10}")
    pairs = []
    for wording, side in ((ours, 0), (yardstick, 1)):
        wall, cpu = (typical([run[side][clock] for run in runs]) for clock in (0, 1))
        print(f"  {wording:<32}{wall * 1000:10.1f}{cpu * 1000:10.1f}")
        pairs.append((wall, cpu))
    (wall, cpu), (bare_wall, bare_cpu) = pairs
    print(f"  {'ratio':<32}{wall / bare_wall:10.2f}{cpu / bare_cpu:10.2f}")


def _mean_of_a_case(rounds: list[float]) -> float:
    return sum(rounds) / MANY


def cold() -> list[tuple[Seconds, Seconds]]:
    """A whole process of ours and a bare one in turn, after one of each unmeasured."""
    case = Case(treat=(next(tooth for tooth in PERMANENT if tooth.iso == "16"),))
    width, height, pages = as_bare(overlay(make_plan(case)))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        marks = folder / "marks.json"
        page_list = {"fonts": FONTS, "width": width, "height": height, "pages": pages}
        marks.write_text(json.dumps(page_list), "utf-8")
        ours = ["-m", "sheetmark", "overlay", "16", "-o", str(folder / "x.pdf")]
        bares = [str(BARE), str(marks), str(folder / "bare.pdf")]
        _process(ours)
        _process(bares)
        return [(_process(ours), _process(bares)) for _ in range(COLD_RUNS)]


def _process(arguments: list[str]) -> Seconds:
    def run() -> None:
        typed = [sys.executable, *arguments]
        subprocess.run(typed, check=True, capture_output=True, env=with_bytecode())

    return seconds(run)


def with_bytecode() -> dict[str, str]:
    """The environment of a process that may keep its bytecode, which would else count each time."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def many() -> list[tuple[Seconds, Seconds]]:
    """Rounds of the same cases, first by sheetmark, then as bare display lists."""
    jobs = list(islice(cases(), MANY))
    assert len(set(jobs)) == MANY
    model = load_model(DEFAULT_MODEL)
    bare = runpy.run_path(str(BARE))
    bare["register"](FONTS)

    def ours(some: list[Job]) -> None:
        for case, practice in some:
            render_plan(make_plan(case, model, practice), "pdf")

    def replay(some: list[BareDocument]) -> None:
        for document in some:
            bare["draw"](*document)

    step = MANY // ROUNDS
    rounds = [jobs[i : i + step] for i in range(0, MANY, step)]
    lists = [[as_bare(overlay(make_plan(c, model, p))) for c, p in some] for some in rounds]
    ours(rounds[0][:5])
    replay(lists[0][:5])
    return [
        (seconds(partial(ours, some)), seconds(partial(replay, plain)))
        for some, plain in zip(rounds, lists, strict=True)
    ]


def seconds(work: Callable[[], None]) -> Seconds:
    """Wall clock, and processor time of this process and of those it waited for."""
    wall, cpu = perf_counter(), sum(os.times()[:4])
    work()
    return perf_counter() - wall, sum(os.times()[:4]) - cpu


def cases() -> Iterator[Job]:
    """Different cases of adults that can all be done, teeth and procedures well mixed."""
    standing = [tooth for tooth in PERMANENT if tooth.position < 8]
    for notation, paper, sheet, more, procedure, tooth in product(
        NOTATIONS, PAPERS, STANDARD_SHEETS, (0, 1), PROCEDURES, standing
    ):
        yield (
            Case(treat=(tooth,), notation=notation, procedure=procedure, more=more),
            Practice(paper=paper, sheet=sheet),
        )


def as_bare(document: Document) -> BareDocument:
    """Width, height and marks of each page in points, without a type of sheetmark's."""
    first = document.pages[0]
    pages = [[_bare(mark) for mark in page.marks] for page in document.pages]
    return first.width * POINTS_PER_MM, first.height * POINTS_PER_MM, pages


def _bare(mark: Mark) -> list[Any]:
    k = POINTS_PER_MM
    match mark:
        case Disc((x, y), diameter):
            return ["disc", x * k, y * k, diameter / 2 * k]
        case Ring((x, y), diameter, width):
            return ["ring", x * k, y * k, diameter / 2 * k, width * k]
        case Line((x0, y0), (x1, y1), width):
            return ["line", x0 * k, y0 * k, x1 * k, y1 * k, width * k]
        case Polygon(points, width, _, grey, filled):
            return ["polygon", [(x * k, y * k) for x, y in points], width * k, grey, int(filled)]
    back = {"left": 0.0, "middle": mark.width / 2, "right": mark.width}[mark.align]
    c, s = cos(radians(mark.angle)), sin(radians(mark.angle))
    x, y = mark.at[0] - back * c, mark.at[1] - back * s
    font = "bold" if mark.bold else "regular"
    return ["text", [c, s, -s, c, x * k, y * k], font, mark.size * k, mark.text]


if __name__ == "__main__":
    main()
