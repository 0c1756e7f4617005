"""The room from the outermost holes to each edge of a sheet: an arrow, and its length beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from math import fsum

from sheetmark.base.frames import Direction, PagePoint, SheetPoint, Size
from sheetmark.documents.handouts.lesson import arrow
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import Disc, Line, Mark, Polygon, Ring, Text

SIDES = ("left", "right", "lower", "upper")
# From an arrow to its figure, as a share of the figure's size.
_GAP = 0.35
# How far along its arrow a figure may stand, the best first: where a level arrow has left the
# arch behind, half way along an upright one.
_LEVEL = (0.75, 0.65, 0.85, 0.55, 0.45, 0.35, 0.25)
_UPRIGHT = (0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2)


def rooms(plan: Plan) -> dict[str, float]:
    """The distances in mm."""
    m = plan.margins
    return dict(zip(SIDES, (m.left_mm, m.right_mm, m.lower_mm, m.upper_mm), strict=True))


def room_lines(plan: Plan) -> list[tuple[PagePoint, PagePoint]]:
    """From the outermost hole to the left, right, lower and upper edge, page frame."""
    w, h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    centres = [hole.centre_mm for hole in plan.holes]
    left, right = (pick(centres, key=lambda c: c.x) for pick in (min, max))
    lower, upper = (pick(centres, key=lambda c: c.y) for pick in (min, max))
    ends = (
        SheetPoint(-w, left.y),
        SheetPoint(w, right.y),
        SheetPoint(lower.x, -h),
        SheetPoint(upper.x, h),
    )
    return [
        (plan.to_page(hole), plan.to_page(end))
        for hole, end in zip((left, right, lower, upper), ends, strict=True)
    ]


def draw_rooms(
    plan: Plan, drawn: Sequence[Mark], figure_mm: float, times: float = 1.0
) -> list[Mark]:
    """The arrows, `times` as thick, and their figures, which touch nothing drawn on the sheet.

    Raises InputError where a figure finds no room.
    """
    named = list(zip(SIDES, room_lines(plan), strict=True))
    arrows = [mark for side, ends in named for mark in arrow(*ends, f"margin-{side}", times=times)]
    sheet = Box(plan.sheet_centre_on_page_mm, plan.sheet.width_mm, plan.sheet.height_mm)
    taken = _taken(sheet, [*drawn, *arrows])
    figures: list[Mark] = []
    for side, ends in named:
        text = plan.practice.numerals(f"{rooms(plan)[side]:.1f}")
        size = Size(text_width(text, figure_mm, True), CAP_HEIGHT * figure_mm)
        x, y = _place(taken, *ends, size, _GAP * figure_mm).centre
        at = PagePoint(x, y - size[1] / 2)
        figures.append(lettered(at, text, figure_mm, f"margin-{side}", "middle", bold=True))
    return [*arrows, *figures]


def _place(taken: Taken, start: PagePoint, end: PagePoint, size: Size, gap: float) -> Box:
    """Beside its arrow, else as near to the arrow's middle as can be; the room is then taken."""
    boxes = [Box(centre, *size) for centre in _beside(start, end, size, gap)]
    clear = next((box for box in boxes if taken.clear(box)), None)
    if clear is None:
        middle = PagePoint((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        return find_room(taken, middle, Direction(0.0, 1.0), 0.0, size)
    taken.boxes.append(clear)
    return clear


def _beside(start: PagePoint, end: PagePoint, size: Size, gap: float) -> Iterator[PagePoint]:
    level = start[1] == end[1]
    off = (0.0, gap + size[1] / 2) if level else (gap + size[0] / 2, 0.0)
    for share, side in product(_LEVEL if level else _UPRIGHT, (1, -1)):
        yield PagePoint(
            start[0] + share * (end[0] - start[0]) + side * off[0],
            start[1] + share * (end[1] - start[1]) + side * off[1],
        )


def _taken(sheet: Box, marks: Sequence[Mark]) -> Taken:
    """The room that marks take on a sheet."""
    taken = Taken(sheet)
    for mark in marks:
        match mark:
            case Disc(centre, diameter):
                taken.add_disc(centre, diameter / 2)
            case Ring(centre, diameter, width):
                taken.add_disc(centre, (diameter + width) / 2)
            case Line(start, end, width):
                taken.add_line(start, end, width)
            case Polygon(points):
                xs, ys = zip(*points, strict=True)
                taken.add_outline(PagePoint(fsum(xs) / len(xs), fsum(ys) / len(ys)), points)
            case Text():
                height = CAP_HEIGHT * mark.size
                middle = {"left": 0.5, "middle": 0.0, "right": -0.5}[mark.align] * mark.width
                centre = PagePoint(mark.at[0] + middle, mark.at[1] + height / 2)
                taken.boxes.append(Box(centre, mark.width, height))
    return taken
