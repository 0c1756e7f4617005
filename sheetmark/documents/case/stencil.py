"""A rigid stencil for sheets one cannot see through: laid on top, marked through its holes.

Shapes for a cutter on a page of their own, mm: its origin is the sheet's middle, its axes are the
sheet's. Seen from the operator's side, as every overlay is: never mirrored. The assistant lays it
on the side of the sheet that faces the operator. Two layers only, named by what the machine does.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from math import dist, isfinite

from sheetmark.anatomy.teeth import write
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint, SheetPoint, Size, sheet_to_page
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.cutting import Path, Round, Shape, Stencil
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, text_width
from sheetmark.typesetting.outlines import Outline, letter_outlines

# All of a stencil's sizes are assumptions of ours, to be changed by those who cut it.
PEN_MM = 2.0
PEN_LIMITS_MM = (0.8, 6.0)
KERF_LIMITS_MM = (0.0, 1.0)
WEB_MM = 1.5  # least material between two pen holes
RIM_MM = 12.0  # plate beyond the sheet
STOP_ARM_MM, STOP_WIDTH_MM = 22.0, 8.0
BETWEEN_PARTS_MM = 6.0
CROSS_HALF_MM = 5.0


def stencil(plan: Plan, pen_mm: float = PEN_MM, kerf_mm: float = 0.0) -> Stencil:
    """The stencil of a plan: pen holes of the stated diameter, plate, corner stops, engraving.

    `kerf_mm` is the width the cutter takes away: outer shapes grow by half of it, holes shrink.
    Raises InputError for sizes outside the limits, or pen holes closer than WEB_MM.
    """
    low, high = PEN_LIMITS_MM
    if not (isfinite(pen_mm) and low <= pen_mm <= high):
        raise InputError(f"pen hole {pen_mm:g} mm: must be {low:g} to {high:g} mm")
    low, high = KERF_LIMITS_MM
    if not (isfinite(kerf_mm) and low <= kerf_mm <= high and kerf_mm < pen_mm):
        raise InputError(f"kerf {kerf_mm:g} mm: must be {low:g} to {high:g} mm and below the pen's")
    slit = {tooth for slot in plan.slots for tooth in slot.teeth}
    marks = [(hole.tooth.iso, hole.centre_mm) for hole in plan.holes if hole.tooth not in slit]
    marks += [(f"dot {n}", dot) for n, dot in enumerate(plan.orientation_marks_mm, start=1)]
    if plan.side_dash_mm is not None:
        marks += zip(("dash start", "dash end"), plan.side_dash_mm, strict=True)
    marks.append(("centre", SheetPoint(0.0, 0.0)))
    _check_webs(marks, pen_mm)
    shapes: list[Shape] = [
        *_plate(plan, kerf_mm),
        *(
            Round("CUT", _on_plate(centre), pen_mm - kerf_mm, f"pen {name}")
            for name, centre in marks
        ),
        *(_slot(slot.centres, pen_mm - kerf_mm) for slot in plan.slots),
        *_engraving(plan),
        *_stops(plan, kerf_mm),
    ]
    case = plan.case
    title = f"stencil {case.write(plan.isolation.treated)} {case.procedure}"
    colours = plan.practice.cutter
    return Stencil(
        title, plan.command, tuple(shapes), {"CUT": colours.cut, "ENGRAVE": colours.engrave}
    )


def _on_plate(point: SheetPoint) -> PagePoint:
    """The plate is a page of its own: its origin is the sheet's middle."""
    return sheet_to_page(point, PagePoint(0.0, 0.0))


def _check_webs(marks: list[tuple[str, SheetPoint]], pen_mm: float) -> None:
    for (first, here), (second, there) in combinations(marks, 2):
        web = dist(here, there) - pen_mm
        if web < WEB_MM:
            raise InputError(
                f"pen holes {first} and {second}: only {web:.1f} mm of plate between them, less "
                f"than {WEB_MM:g} mm; take a thinner pen, up to "
                f"{max(pen_mm + web - WEB_MM, 0):.1f} mm, or move the sheet's middle"
            )


def _slot(centres: tuple[SheetPoint, ...], width_mm: float) -> Path:
    """Joined holes as one slot, through which the pen draws the line to be cut."""
    from shapely.geometry import LineString

    outline = LineString(centres).buffer(width_mm / 2, quad_segs=16).exterior.coords[:-1]
    return Path("CUT", tuple(PagePoint(float(x), float(y)) for x, y in outline), True, "slot")


def _rectangle(half_width: float, half_height: float) -> tuple[PagePoint, ...]:
    w, h = half_width, half_height
    return (PagePoint(-w, -h), PagePoint(w, -h), PagePoint(w, h), PagePoint(-w, h))


def _plate(plan: Plan, kerf_mm: float) -> Iterable[Shape]:
    grow = RIM_MM + kerf_mm / 2
    corners = _rectangle(plan.sheet.width_mm / 2 + grow, plan.sheet.height_mm / 2 + grow)
    yield Path("CUT", corners, True, "plate")


def _engraving(plan: Plan) -> Iterable[Shape]:
    """The sheet's outline, the cross, the side letters, numbers, and which face is up."""
    w, h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    yield Path("ENGRAVE", _rectangle(w, h), True, "sheet")
    c = CROSS_HALF_MM
    yield Path("ENGRAVE", (PagePoint(-c, 0.0), PagePoint(-PEN_MM, 0.0)), False, "centre")
    yield Path("ENGRAVE", (PagePoint(PEN_MM, 0.0), PagePoint(c, 0.0)), False, "centre")
    yield Path("ENGRAVE", (PagePoint(0.0, -c), PagePoint(0.0, -PEN_MM)), False, "centre")
    yield Path("ENGRAVE", (PagePoint(0.0, PEN_MM), PagePoint(0.0, c)), False, "centre")
    if plan.fold_line_mm is not None:
        y = plan.fold_line_mm
        yield Path("ENGRAVE", (PagePoint(-w, y), PagePoint(w, y)), False, "fold-line")
        yield from _letters("fold", PagePoint(-w / 2, y + 3.0), 3.0, "fold-word")
    yield from _letters("R", PagePoint(-w + 9.0, h - 9.0), 7.0, "side-R")
    yield from _letters("L", PagePoint(w - 9.0, h - 9.0), 7.0, "side-L")
    yield from _letters("nose", PagePoint(0.0, h - 5.0), 4.0, "nose")
    yield from _letters(
        "THIS FACE UP: read it, then mark", PagePoint(0.0, -h + 9.0), 4.5, "face-up"
    )
    case = plan.case
    text = f"{case.write(plan.isolation.treated)} {case.procedure.replace('-', ' ')}"
    yield from _letters(text, PagePoint(0.0, -h + 17.0), 4.5, "title")
    yield from _letters(
        "Clean it as local infection-control rules say. The treating clinician decides.",
        PagePoint(0.0, -h - RIM_MM / 2),
        3.2,
        "cautions",
    )
    yield from _numbers(plan)


def _numbers(plan: Plan) -> Iterable[Shape]:
    """Tooth numbers outside the arch, punch positions inside it, clear of all pen holes."""
    sheet = Box(PagePoint(0.0, 0.0), plan.sheet.width_mm, plan.sheet.height_mm)
    taken = Taken(sheet)
    rivals = [_on_plate(planned.centre_mm) for planned in plan.holes]
    for centre in rivals:
        taken.add_disc(centre, PEN_MM)
    taken.boxes.append(Box(PagePoint(0.0, 0.0), 2 * CROSS_HALF_MM, 2 * CROSS_HALF_MM))
    for planned in plan.holes:
        facial, iso = planned.facial, planned.tooth.iso
        number = write(planned.tooth, plan.case.notation)
        position = str(planned.hole.punch_position)
        for text, direction, size, name in (
            (number, facial, 4.0, f"number {iso}"),
            (position, facial.opposite, 3.0, f"punch {iso}"),
        ):
            here = _on_plate(planned.centre_mm)
            others = [rival for rival in rivals if rival != here]
            box = Size(text_width(text, size), CAP_HEIGHT * size)
            room = find_room(taken, here, direction, PEN_MM, box, others)
            yield from _letters(text, room.centre, size, name)


def _letters(text: str, centre: PagePoint, size: float, name: str) -> Iterable[Shape]:
    outlines: tuple[Outline, ...] = letter_outlines(text, centre, size)
    for outline in outlines:
        yield Path("ENGRAVE", outline, True, name)


def _stops(plan: Plan, kerf_mm: float) -> Iterable[Shape]:
    """Four angles to glue under the plate's corners, so that the sheet lies in them."""
    left = -plan.sheet.width_mm / 2 - RIM_MM
    bottom = -plan.sheet.height_mm / 2 - RIM_MM - BETWEEN_PARTS_MM - STOP_ARM_MM
    arm, width, grow = STOP_ARM_MM, STOP_WIDTH_MM, kerf_mm / 2
    for number in range(4):
        x, y = left + number * (arm + BETWEEN_PARTS_MM), bottom
        angle = (
            PagePoint(x - grow, y - grow),
            PagePoint(x + arm + grow, y - grow),
            PagePoint(x + arm + grow, y + width + grow),
            PagePoint(x + width + grow, y + width + grow),
            PagePoint(x + width + grow, y + arm + grow),
            PagePoint(x - grow, y + arm + grow),
        )
        yield Path("CUT", angle, True, "stop")
    x = left + 4 * (arm + BETWEEN_PARTS_MM)
    text = "4 stops: glue under the plate, inner edges on the sheet's corners"
    length = text_width(text, 3.2)
    yield from _letters(text, PagePoint(x + length / 2 + 2.0, bottom + arm / 2), 3.2, "stop-words")
