"""Golden pages: a listing of every mark of a finished PDF, in mm, that a person can read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sheetmark.anatomy.arch_model import load_model
from sheetmark.documents.handouts.all import draw_handout
from sheetmark.documents.handouts.exercise import Wish
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import STANDARD_SHEETS, Practice
from sheetmark.render.pdf import render_pdf
from tests.helpers.readback import Circle, Drawing, Found, Line, Outline, Point, Word, read_pdf
from tests.helpers.valid_cases import Sample, sample

FOLDER = Path(__file__).parents[1] / "goldens"
CASES: dict[str, Sample] = {
    "16-restoration": sample("16"),
    "11-palmer-small-sheet-letter": sample(
        "11", Practice(paper="letter", sheet=STANDARD_SHEETS[0]), notation="palmer"
    ),
    "36-root-canal": sample("36", procedure="root-canal"),
}
# Name and options; all on the mean adult arch, A4, ISO 3950.
HANDOUTS: dict[str, dict[str, Any]] = {
    "arch-map": {},
    "numbering": {},
    "exercise": {"cases": 2, "seed": 4},
    "why-the-middle-moves": {},
    "hole-size": {},
    "steps": {},
}


def handout_pdf(name: str, practice: Practice | None = None, **options: Any) -> bytes:
    flags = [f"--{key} {value}" for key, value in options.items()]
    command = " ".join(["sheetmark handout", name, *flags])
    lesson = Lesson(load_model("adult-mean"), practice or Practice(), command)
    if name == "exercise":
        options = {"wish": Wish(count=options["cases"], seed=options["seed"])}
    return render_pdf(draw_handout(name, lesson, **options))


def listing(name: str) -> str:
    """The golden text of one case, from its PDF as an independent reader sees it."""
    case = CASES[name]
    return _text(case.plan.command, read_pdf(render_plan(case.plan, "pdf")))


def handout_listing(name: str) -> str:
    pages = read_pdf(handout_pdf(name, **HANDOUTS[name]))
    return _text(f"handout {name} {HANDOUTS[name] or ''}".strip(), pages)


def _text(head: str, pages: tuple[Drawing, ...]) -> str:
    lines = [f"# {head}", "# mm from the paper's lower left corner, y up"]
    for number, page in enumerate(pages, start=1):
        lines += ["", f"page {number}: {page.width:.2f} x {page.height:.2f}", *_marks(page)]
    return "\n".join(lines) + "\n"


def _marks(page: Drawing) -> list[str]:
    return [_line(mark) for mark in page.found]


def _line(mark: Found) -> str:
    match mark:
        case Circle(centre, diameter, filled, line, _):
            if filled:
                return f"disc {_at(centre)} diameter {diameter:.2f}"
            return f"ring {_at(centre)} diameter {diameter:.2f} line {line:.2f}"
        case Line(start, end, line, _):
            return f"line {_at(start)} to {_at(end)} line {line:.2f}"
        case Outline(points, filled, line, grey):
            how = f"{'filled' if filled else f'line {line:.2f}'} grey {grey:.2f}"
            if len(points) <= 4:
                return f"outline {' '.join(_at(point) for point in points)} {how}"
            xs, ys = zip(*points, strict=True)
            low, high = _at((min(xs), min(ys))), _at((max(xs), max(ys)))
            middle = _at((sum(xs) / len(xs), sum(ys) / len(ys)))
            return f"tooth {middle} within {low} {high} {how}"
        case Word(text, start, end, size, bold):
            face = " bold" if bold else ""
            return f"text {_at(start)} to {_at(end)} size {size:.2f}{face}: {text}"


def _at(point: Point) -> str:
    x, y = (round(side, 2) + 0.0 for side in point)  # no minus before a zero
    return f"({x:.2f}, {y:.2f})"
