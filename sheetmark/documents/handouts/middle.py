"""Why the middle moves: one case centred, by the rule, and where the pull is computed most even.

The room to each edge, and the pull at the frame, drawn and written side by side; then each sheet
at true scale.
"""

from __future__ import annotations

from math import dist
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.base.sources import cite, cite_short
from sheetmark.case.case import Case
from sheetmark.documents.case.sheet import draw_sheet
from sheetmark.documents.handouts.lesson import NO_SCALE, Lesson, polyline
from sheetmark.documents.handouts.rooms import SIDES, draw_rooms, room_lines, rooms
from sheetmark.documents.shift_text import shift_text
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Polygon, Ring
from sheetmark.typesetting.paragraphs import Column, Paragraph, set_blocks
from sheetmark.typesetting.scaled import scaled

if TYPE_CHECKING:
    from sheetmark.studies.membrane.report import Placed, Report

TITLE = "Why the middle moves"
DEFAULT_TOOTH = Tooth(1, 6)
_FIGURE_MM = 4.2
_SMALL_FIGURE_MM = 3.2
_THIRDS_GAP_MM = 7.0
# The diagram of the frame: its share of the column, and on the paper the line of a pull and the
# longest one of the three placements.
_FRAME_SHARE = 0.82
_PULL_MM = 1.1
_LONGEST_MM = 11.0
_HOOK_MM = 1.8
SOURCES = (
    "Middle towards the quadrant: common practice, no source",
    "Distances of placement: assumptions",
    f"Upper lip covered, nostrils free: {cite('black-1908')}",
)
_COMPUTED = f"Computed pull: {cite_short('treloar')}, and assumptions; see the page that compares"


class Shown(Struct, frozen=True):
    """One placement: its name in the computed report, and what it is called here."""

    placed: Placed
    name: str
    plan: Plan


def middle(lesson: Lesson, tooth: Tooth = DEFAULT_TOOTH) -> Document:
    """Three sheets side by side, small, then each at true scale on a page of its own.

    Raises MeshError or SolveError, in words, where the pull could not be computed.
    """
    # Loaded here: numpy and SciPy are no part of the other handouts.
    from sheetmark.studies.membrane.report import report_on

    case = Case(treat=(tooth,), notation=lesson.practice.notation)
    centred = make_plan(case, lesson.model, replace(lesson.practice, shift=False))
    rule = make_plan(case, lesson.model, replace(lesson.practice, shift=True))
    report = report_on(rule)
    best = report.strains["best"].shift_mm
    even = make_plan(case, lesson.model, lesson.practice, even_mm=best)
    shown = (
        Shown("centred", "centred", centred),
        Shown("rule", "moved by the rule", rule),
        Shown("best", "most even pull, computed", even),
    )
    pages = (
        _together(lesson, shown, report),
        *(_alone(lesson, shown_sheet, report) for shown_sheet in shown),
    )
    return Document(TITLE, lesson.command, pages)


def _together(lesson: Lesson, shown: tuple[Shown, ...], report: Report) -> Page:
    from sheetmark.studies.membrane.report import SOURCES as COMPUTED

    sources = (*SOURCES, *(lesson.practice.numerals(text) for text in COMPUTED))
    marks, column = lesson.leaf(TITLE, f"{NO_SCALE}: to compare", (*sources, *lesson.arch_sources))
    plan = shown[0].plan
    named, row = plan.case.write(plan.case.treat), plan.case.write(plan.isolation.row)
    intro = lesson.paragraph(
        f"The same case three times: {named}, with {row} isolated, the holes the same "
        f"distances apart each time. "
        f"The frame takes the sheet by its edges. Where the room is short, the sheet does not "
        f"reach the frame, or pulls at the teeth on that side. So the middle (cross) goes towards "
        f"the teeth that are worked on, as far as the rules for upper lip, nostrils and edges let "
        f"it.",
        after_mm=2.0,
    )
    more, y, _ = set_blocks([intro], column)
    marks += more
    thirds = _thirds(column.below(y))
    more, y = _rooms_row(lesson, shown, thirds)
    marks += more
    explained = lesson.paragraph(
        "The pull at the frame, computed with the sheet as rubber. Each bar is as long as the "
        "sheet pulls at its point of the frame. Unevenness is the SD of the pulls over their "
        "mean: 0 is even.",
        after_mm=1.6,
    )
    more, y, _ = set_blocks([explained], column.below(y - 1.6))
    marks += more
    more, y = _pulls_row(lesson, shown, [third.below(y) for third in thirds], report)
    marks += more
    more, _, left_over = set_blocks(_closing(lesson, report), column.below(y - 1.6))
    _refuse_too_little_room(bool(left_over) or y < column.bottom, lesson)
    return lesson.page([*marks, *more])


def _thirds(column: Column) -> list[Column]:
    width = (column.width - 2 * _THIRDS_GAP_MM) / 3
    step = width + _THIRDS_GAP_MM
    return [
        Column(left=column.left + i * step, top=column.top, width=width, bottom=column.bottom)
        for i in range(3)
    ]


def _rooms_row(
    lesson: Lesson, shown: tuple[Shown, ...], thirds: list[Column]
) -> tuple[list[Mark], float]:
    """The sheets with the room to each edge, and the y below."""
    marks: list[Mark] = []
    lowest = thirds[0].top
    for shown_sheet, third in zip(shown, thirds, strict=True):
        plan, room = shown_sheet.plan, rooms(shown_sheet.plan).values()
        factor = third.width / plan.sheet.width_mm
        height = factor * plan.sheet.height_mm
        to = PagePoint(third.left + third.width / 2, third.top - height / 2)
        bare = _bare(plan)
        drawn = [*bare, *draw_rooms(plan, bare, _SMALL_FIGURE_MM / factor, 0.7 / factor)]
        marks += scaled(drawn, factor, plan.sheet_centre_on_page_mm, to)
        paragraphs = [
            Paragraph(shown_sheet.name.capitalize(), bold=True, name="placement"),
            lesson.paragraph(
                f"Nearest edge {min(room):.0f} mm, farthest {max(room):.0f} mm from the "
                f"outermost hole."
            ),
        ]
        more, y, _ = set_blocks(paragraphs, third.below(third.top - height - 1.2))
        marks += more
        lowest = min(lowest, y)
    return marks, lowest


def _pulls_row(
    lesson: Lesson, shown: tuple[Shown, ...], thirds: list[Column], report: Report
) -> tuple[list[Mark], float]:
    """The frame with the pulls at its points and their figures, and the y below."""
    marks: list[Mark] = []
    lowest = thirds[0].top
    for shown_sheet, third in zip(shown, thirds, strict=True):
        strain, frame = report.strains[shown_sheet.placed], report.frame
        factor = _FRAME_SHARE * third.width / frame.width_mm
        to = PagePoint(third.left + third.width / 2, third.top - factor * frame.top_mm - _HOOK_MM)
        marks += _pulls(report, shown_sheet.placed, factor, to)
        y = third.top - factor * (frame.top_mm + frame.bottom_mm) - 2 * _HOOK_MM
        newtons = [pull.newton for pull in strain.pull]
        paragraphs = [
            lesson.paragraph(f"Unevenness {strain.evenness:.2f}", bold=True, name="unevenness"),
            lesson.paragraph(
                f"{min(newtons):.1f} to {max(newtons):.1f} N at a point of the frame."
            ),
        ]
        more, y, _ = set_blocks(paragraphs, third.below(y - 0.6))
        marks += more
        lowest = min(lowest, y)
    return marks, lowest


def _pulls(report: Report, placed: Placed, factor: float, to: PagePoint) -> list[Mark]:
    """The frame as a line, its points, the necks, and a bar from each point as long as its pull;
    `to` is the middle of the mouth, `factor` the scale of frame and teeth."""

    def at(x: float, y: float) -> PagePoint:
        return PagePoint(to[0] + factor * float(x), to[1] + factor * float(y))

    longest = max(pull.newton for strain in report.strains.values() for pull in strain.pull)
    marks: list[Mark] = polyline([at(*hook) for hook in report.frame.hooks_mm()], 0.25, "frame")
    scene = report.sheets[placed].laid.scene
    for neck in (neck for rim in scene.rims for neck in rim.necks):
        outline = scene.in_space(neck.outline(24))[:, :2]
        marks.append(Polygon(tuple(at(x, y) for x, y in outline), 0.3, "neck"))
    for pull in report.strains[placed].pull:
        start, length = at(pull.x_mm, pull.y_mm), _LONGEST_MM * pull.newton / longest
        end = PagePoint(start[0] + length * pull.towards[0], start[1] + length * pull.towards[1])
        marks += [Line(start, end, _PULL_MM, "pull"), Ring(start, _HOOK_MM, 0.3, "hook")]
    return marks


def _closing(lesson: Lesson, report: Report) -> list[Paragraph]:
    """What the model says of this case, and what it cannot say."""
    from sheetmark.studies.membrane.report import LEFT_OUT, PURPOSE, TELLABLE

    centred, rule, best = report.strains.values()
    off, more = dist(rule.shift_mm, best.shift_mm), centred.evenness - rule.evenness
    compared = "more evenly than" if more > 0 else "less evenly than"
    if abs(more) < TELLABLE:
        compared = "about as evenly as"
    found = f"The most even place found lies {off:.0f} mm from the rule's."
    if round(off) == 0:
        found = "The most even place found is the rule's own."
    return [
        lesson.paragraph(
            f"In this model the sheet moved by the rule pulls {compared} the centred "
            f"one. {found} The holes keep their distances: moving the sheet never changes a pitch."
        ),
        *_limits(lesson, PURPOSE, LEFT_OUT),
    ]


def _limits(lesson: Lesson, purpose: str, left_out: str) -> list[Paragraph]:
    return [lesson.paragraph(purpose, bold=True), lesson.paragraph(left_out)]


def _alone(lesson: Lesson, shown_sheet: Shown, report: Report) -> Page:
    plan, computed = shown_sheet.plan, shown_sheet.placed == "best"
    sources = (*SOURCES, *([_COMPUTED] if computed else []), *lesson.arch_sources)
    marks, column = lesson.sheet_leaf(f"{TITLE} · {shown_sheet.name}", plan, sources)
    sides = ("patient's right", "patient's left", "lower", "upper")  # as the page shows them
    room = ", ".join(
        f"{name} {rooms(plan)[side]:.1f}" for side, name in zip(SIDES, sides, strict=True)
    )
    paragraphs = [
        lesson.paragraph(
            f"Room from the outermost hole's centre to each edge, mm: {room}.", size=4.0
        ),
        lesson.paragraph(f"The sheet's middle (cross) lies {shift_text(plan)}.", size=4.0),
    ]
    if computed:
        from sheetmark.studies.membrane.report import LEFT_OUT, PURPOSE

        centred, rule, best = (strain.evenness for strain in report.strains.values())
        paragraphs += [
            lesson.paragraph(
                f"Unevenness of the computed pull at the frame: {best:.2f} here, {rule:.2f} by "
                f"the rule, {centred:.2f} centred (SD over mean).",
                size=4.0,
            ),
            *_limits(lesson, PURPOSE, LEFT_OUT),
        ]
    more, _, left_over = set_blocks(paragraphs, column)
    _refuse_too_little_room(bool(left_over), lesson)
    sheet = draw_sheet(plan, keep_clear=room_lines(plan))
    return lesson.page([*marks, *sheet, *draw_rooms(plan, sheet, _FIGURE_MM), *more])


def _refuse_too_little_room(missing: bool, lesson: Lesson) -> None:
    if missing:
        raise InputError(
            f"why-the-middle-moves: too little room for its words beside a sheet of "
            f"{lesson.practice.sheet.name} mm; take a smaller sheet, A4 "
            f"paper, or a smaller page margin"
        )


def _bare(plan: Plan) -> list[Mark]:
    """The sheet without the numbers of its teeth and punch holes, which would be specks."""
    return [
        mark for mark in draw_sheet(plan) if not mark.name.startswith(("number", "punch", "nose"))
    ]
