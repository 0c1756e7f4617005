"""Why the middle moves: one case centred and shifted, the room to each edge drawn and written."""

from __future__ import annotations

from dataclasses import replace

from sheetmark.case import Case
from sheetmark.documents.handouts.exercise import shift_words
from sheetmark.documents.handouts.lesson import NO_SCALE, Lesson, arrow
from sheetmark.documents.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.documents.marks import Document, Mark, Page, Point
from sheetmark.documents.parts import GAP_MM
from sheetmark.documents.scaled import scaled
from sheetmark.documents.sheet import draw_sheet
from sheetmark.documents.words import Column, set_words
from sheetmark.findings import InputError
from sheetmark.plan import Plan, make_plan
from sheetmark.teeth import Tooth

TITLE = "Why the middle moves"
DEFAULT_TOOTH = Tooth(1, 6)
_FIGURE_MM = 4.2
_SIDES = ("left", "right", "lower", "upper")
SOURCES = (
    "Middle towards the quadrant: common practice, no source",
    "Distances of placement: assumptions",
    "Upper lip covered, nostrils free: Black 1908 (seen in print)",
)


def middle(lesson: Lesson, tooth: Tooth = DEFAULT_TOOTH) -> Document:
    """Both sheets side by side, small, then each at true scale on a page of its own."""
    case = Case((tooth,), lesson.practice.notation)
    centred = make_plan(case, lesson.model, replace(lesson.practice, shift=False))
    moved = make_plan(case, lesson.model, replace(lesson.practice, shift=True))
    sources = (*SOURCES, *lesson.arch_sources)
    pages = (
        _together(lesson, centred, moved, sources),
        _alone(lesson, centred, "sheet centred", sources),
        _alone(lesson, moved, "sheet moved", sources),
    )
    return Document(TITLE, lesson.command, pages)


def _together(lesson: Lesson, centred: Plan, moved: Plan, sources: tuple[str, ...]) -> Page:
    marks, column = lesson.leaf(TITLE, f"{NO_SCALE}: to compare", sources)
    named = centred.case.write(centred.case.treat)
    row = centred.case.write(centred.isolation.row)
    intro = [
        lesson.words(
            f"The same case twice: {named}, with {row} isolated, the holes equally far apart. "
            f"Left: punched round the sheet's exact middle. Right: the middle moved to "
            f"{shift_words(moved)}.",
            size=4.4,
            after_mm=1.2,
        ),
    ]
    more, y, _ = set_words(intro, column)
    marks += more
    halves = column.below(y - 2.0).halves(GAP_MM)
    factor = halves[0].width / centred.sheet.width_mm
    height = factor * centred.sheet.height_mm
    for plan, half, words in zip((centred, moved), halves, ("centred", "moved"), strict=True):
        to = (half.left + half.width / 2, half.top - height / 2)
        drawn = [*_bare(plan), *_margins(plan, lesson, figure_mm=_FIGURE_MM / factor)]
        marks += scaled(drawn, factor, plan.sheet_centre_on_page_mm, to)
        smallest = min(_rooms(plan).values())
        largest = max(_rooms(plan).values())
        said = [
            lesson.words(f"Sheet {words}", bold=True, size=4.4),
            lesson.words(
                f"From the outermost hole to the nearest edge {smallest:.0f} mm, to the farthest "
                f"{largest:.0f} mm: a difference of {largest - smallest:.0f} mm.",
                size=4.4,
            ),
        ]
        more, low, _ = set_words(said, Column(half.left, half.top - height - 3.0, half.width, 0.0))
        marks += more
        y = min(y, low)
    closing = [
        lesson.words(line, size=4.4, after_mm=1.6)
        for line in (
            "The frame takes the sheet by its edges. Where the room is short, the sheet does not "
            "reach the frame, or pulls at the teeth on that side.",
            "So the middle goes towards the teeth that are worked on, just inside their row, as "
            "far as the upper lip stays covered and the nostrils stay free.",
            "The holes keep their distances: moving the sheet never changes a pitch.",
        )
    ]
    more, _, left_over = set_words(closing, column.below(y - 3.0))
    if left_over:
        raise InputError(
            f"why-the-middle-moves: too little room for its words beside a sheet of "
            f"{lesson.practice.sheet.name} mm; take a wider sheet, or A4 paper"
        )
    return lesson.page([*marks, *more])


def _alone(lesson: Lesson, plan: Plan, words: str, sources: tuple[str, ...]) -> Page:
    marks, column = lesson.sheet_leaf(f"{TITLE} · {words}", plan, sources)
    rooms = ", ".join(f"{side} {_rooms(plan)[side]:.1f}" for side in _SIDES)
    said = [
        lesson.words(f"Room from the outermost hole's centre to each edge, mm: {rooms}.", size=4.4),
        lesson.words(f"The sheet's middle (cross) lies {shift_words(plan)}.", size=4.4),
    ]
    more, _, _ = set_words(said, column)
    drawn = [
        *draw_sheet(plan, keep_clear=_lines(plan)),
        *_margins(plan, lesson, figure_mm=_FIGURE_MM),
    ]
    return lesson.page([*marks, *drawn, *more])


def _bare(plan: Plan) -> list[Mark]:
    """The sheet without the numbers of its teeth and punch holes, which would be specks."""
    return [
        mark for mark in draw_sheet(plan) if not mark.name.startswith(("number", "punch", "nose"))
    ]


def _rooms(plan: Plan) -> dict[str, float]:
    m = plan.margins
    return dict(zip(_SIDES, (m.left_mm, m.right_mm, m.lower_mm, m.upper_mm), strict=True))


def _lines(plan: Plan) -> list[tuple[Point, Point]]:
    """From the outermost hole to the left, right, lower and upper edge, page frame."""
    x0, y0 = plan.sheet_centre_on_page_mm
    w, h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    centres = [hole.centre_mm for hole in plan.holes]
    left, right = (pick(centres, key=lambda c: c[0]) for pick in (min, max))
    lower, upper = (pick(centres, key=lambda c: c[1]) for pick in (min, max))
    ends = ((-w, left[1]), (w, right[1]), (lower[0], -h), (upper[0], h))
    return [
        ((x0 + hole[0], y0 + hole[1]), (x0 + end[0], y0 + end[1]))
        for hole, end in zip((left, right, lower, upper), ends, strict=True)
    ]


def _margins(plan: Plan, lesson: Lesson, *, figure_mm: float) -> list[Mark]:
    """An arrow from the outermost hole to each edge, and its length."""
    marks: list[Mark] = []
    for side, (start, end) in zip(_SIDES, _lines(plan), strict=True):
        name = f"margin-{side}"
        marks += arrow(start, end, name)
        text = lesson.practice.numerals(f"{_rooms(plan)[side]:.1f}")
        marks.append(_figure(start, end, text, figure_mm, name))
    return marks


def _figure(start: Point, end: Point, text: str, size: float, name: str) -> Mark:
    """Beside the arrow: where a level one has left the arch behind, half way along an upright."""
    if start[1] == end[1]:
        x, y = (start[0] + 3 * end[0]) / 4, start[1]
        return lettered((x, y + 0.35 * size), text, size, name, "middle", bold=True)
    x, y = start[0], (start[1] + end[1]) / 2
    across = text_width(text, size, True) / 2 + 0.35 * size
    return lettered((x + across, y - CAP_HEIGHT * size / 2), text, size, name, "middle", bold=True)
