"""The sheet at true scale: outline, middle, dots, holes with their labels, the arch behind them.

Drawn to be seen through a sheet of rubber, on a monochrome printer. Coordinates come in the
sheet frame and leave in the page frame, mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import copysign, cos, dist, fsum, hypot, pi, radians, sin

from sheetmark.anatomy.jaw import Place
from sheetmark.anatomy.teeth import Notation, write
from sheetmark.base.frames import (
    MouthPoint,
    PagePoint,
    SheetPoint,
    Size,
    mouth_to_sheet,
    sheet_to_page,
)
from sheetmark.case.exceptions import state_prose
from sheetmark.documents.symbols import (
    least_unit,
    role_symbol,
    symbol_reach,
    tooth_label,
    tooth_label_size,
)
from sheetmark.plan.holes import PlannedHole
from sheetmark.plan.plan import Plan, PlannedState
from sheetmark.typesetting.dashes import dashed
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import (
    ASCENT,
    CAP_HEIGHT,
    DESCENT,
    lettered,
    text_width,
    wrapped,
)
from sheetmark.typesetting.marks import FAINT, Disc, Line, Mark, Polygon, Ring
from sheetmark.typesetting.paragraphs import LEADING

OUTLINE_MM = 0.3
CORNER_MM = 0.9
CORNER_LENGTH_MM = 9.0
CROSS_HALF_MM = 5.0
CROSS_LINE_MM = 0.5
DOT_DIAMETER_MM = 2.4
DASH_LINE_MM = 1.2
TOOTH_SIZE_MM = 4.8
PUNCH_SIZE_MM = 3.8
# The second of two notations.
ALSO_SIZE_MM = 3.2
ALSO_GAP_MM = 0.7
TOLERANCE_LINE_MM = 0.25
STATE_SIZE_MM = 3.0
STATE_WIDTH_MM = 48.0
# Free on each side of a remark, so that two on a line are not read as one.
STATE_GAP_MM = 2.0
LEADER_MM = 0.2
_PLACE_MM = 1.0  # round the place of a tooth without a hole
_LONE_LINE_MM = 4.0  # a shorter line to a place where nothing is drawn looks like a mark
RING_RADIUS_MM = 2.2
# Neighbouring rings stay apart where teeth are narrow.
RING_SHARE_OF_PITCH = 0.35
RING_OFF_DISC_MM = 0.3
FOLD_LINE_MM = 0.35
FOLD_DASH_MM = 3.0
FOLD_WORD = "fold"
FOLD_WORD_SHARE = 0.62  # of the half width, clear of dots, arrow and side letters
SIDE_LETTER_MM = 8.0
SIDE_LETTER_FROM_EDGE_MM = 8.0
LETTER_FROM_CORNER_HOLE_MM = 8.0
CORNER_WORD_BELOW_MM = 3.4
# A shape between an ellipse and a rectangle, for outlines that only guide the eye.
_TOOTH_ROUNDNESS = 2.6
_OUTLINE_POINTS = 28


def draw_sheet(
    plan: Plan,
    *,
    also: Notation | None = None,
    tolerance_mm: float | None = None,
    keep_clear: Sequence[tuple[PagePoint, PagePoint]] = (),
) -> tuple[Mark, ...]:
    """All marks of the plan's sheet, placed on its page.

    `also` writes each tooth in a second notation below the first, in smaller type behind a #.
    No word is written across the lines of `keep_clear`, page frame.
    With `tolerance_mm` a ring of that radius stands round each hole in place of its role's shape.
    """
    taken = _taken(plan)
    marks = [*_frame(plan, taken), *_arch(plan, taken)]
    marks += [*_cross(plan, taken), *_holes(plan, taken, tolerance_mm)]
    for start, end in keep_clear:
        taken.add_line(start, end, CORNER_MM)
    return (*marks, *_labels(plan, taken, also, tolerance_mm), *_remarks(plan, taken))


def blank_sheet(plan: Plan) -> tuple[Mark, ...]:
    """The plan's sheet before anything is marked on it, but for its middle."""
    taken = _taken(plan)
    return (*_frame(plan, taken), *_cross(plan, taken))


def _taken(plan: Plan) -> Taken:
    return Taken(Box(plan.to_page(SheetPoint(0.0, 0.0)), plan.sheet.width_mm, plan.sheet.height_mm))


def ring_unit(plan: Plan, hole: PlannedHole) -> float:
    """Radius in mm of the ring round a hole."""
    centres = [planned.centre_mm for planned in plan.holes]
    pitches = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(centres)]
    unit = min([RING_RADIUS_MM, *(RING_SHARE_OF_PITCH * pitch for pitch in pitches)])
    clear = hole.hole.diameter_mm / 2 + RING_OFF_DISC_MM
    anchor = hole.role == "anchor"
    return max(unit, least_unit(clear, anchor=anchor, treated=hole.treated))


def _frame(plan: Plan, taken: Taken) -> list[Mark]:
    """Outline and corners, the dots and the dash, R and L, and the arrow to the nose."""
    w, h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    corners = [SheetPoint(x, y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))]
    marks: list[Mark] = [Polygon(tuple(map(plan.to_page, corners)), OUTLINE_MM, "sheet")]
    for corner in corners:
        across = SheetPoint(corner.x - copysign(CORNER_LENGTH_MM, corner.x), corner.y)
        along = SheetPoint(corner.x, corner.y - copysign(CORNER_LENGTH_MM, corner.y))
        marks += [
            Line(plan.to_page(corner), plan.to_page(end), CORNER_MM, "corner")
            for end in (across, along)
        ]

    for dot in plan.orientation_marks_mm:
        marks.append(Disc(plan.to_page(dot), DOT_DIAMETER_MM, "dot"))
        taken.add_disc(plan.to_page(dot), DOT_DIAMETER_MM / 2)
    if plan.side_dash_mm is not None:
        start, end = map(plan.to_page, plan.side_dash_mm)
        marks.append(Line(start, end, DASH_LINE_MM, "side-dash"))
        taken.add_line(start, end, DASH_LINE_MM)

    corner_hole = _corner_hole_word(plan, taken)
    y = h - SIDE_LETTER_FROM_EDGE_MM
    for side, letter in ((-1, "R"), (1, "L")):
        x = side * (w - SIDE_LETTER_FROM_EDGE_MM)
        if any(dot[0] * side > 0 for dot in plan.orientation_marks_mm) and corner_hole:
            # The corner belongs to its hole; the letter stands beside it.
            x = plan.orientation_marks_mm[0][0] - side * LETTER_FROM_CORNER_HOLE_MM
        at = plan.to_page(SheetPoint(x, y))
        marks.append(_upright(at, letter, SIDE_LETTER_MM, f"side-{letter}", taken))
    return marks + corner_hole + _nose_arrow(plan, taken, h) + _fold_line(plan, taken)


def _fold_line(plan: Plan, taken: Taken) -> list[Mark]:
    """Where the upper edge is folded down so that it leaves the nostrils free."""
    if plan.fold_line_mm is None:
        return []
    half, y = plan.sheet.width_mm / 2, plan.fold_line_mm
    at = FOLD_WORD_SHARE * half
    room = text_width(FOLD_WORD, STATE_SIZE_MM, bold=True) / 2 + FOLD_DASH_MM / 2
    marks: list[Mark] = [
        _upright(plan.to_page(SheetPoint(x, y)), FOLD_WORD, STATE_SIZE_MM, "fold-word", taken)
        for x in (-at, at)
    ]
    # No dash runs through a word.
    for start, end in ((-half, -at - room), (-at + room, at - room), (at + room, half)):
        ends = plan.to_page(SheetPoint(start, y)), plan.to_page(SheetPoint(end, y))
        count = max(1, round((end - start) / (2 * FOLD_DASH_MM)))
        for dash in dashed(*ends, FOLD_LINE_MM, "fold-line", count):
            marks.append(dash)
            taken.add_line(dash.start, dash.end, FOLD_LINE_MM)
    return marks


def _corner_hole_word(plan: Plan, taken: Taken) -> list[Mark]:
    """What the lone disc in a corner is for."""
    if plan.practice.marks.kind != "corner-hole":
        return []
    x, y = plan.orientation_marks_mm[0]
    at = plan.to_page(SheetPoint(x, y - CORNER_WORD_BELOW_MM))
    return [_upright(at, "hole", STATE_SIZE_MM, "corner-hole-word", taken)]


def _cross(plan: Plan, taken: Taken) -> list[Mark]:
    marks: list[Mark] = []
    half = CROSS_HALF_MM
    for x, y in ((half, 0.0), (0.0, half)):
        start, end = plan.to_page(SheetPoint(-x, -y)), plan.to_page(SheetPoint(x, y))
        marks.append(Line(start, end, CROSS_LINE_MM, "centre"))
    middle = plan.to_page(SheetPoint(0.0, 0.0))
    taken.boxes += [Box(middle, 2 * half, CROSS_LINE_MM), Box(middle, CROSS_LINE_MM, 2 * half)]
    return marks


def _nose_arrow(plan: Plan, taken: Taken, half_height: float) -> list[Mark]:
    tip, tail, wing = half_height - 3.0, half_height - 8.5, 2.0
    # The word stands beside the arrow: below it are the incisors of a centred small sheet.
    beside = SheetPoint(wing + 1.0 + text_width("nose", 4.0, bold=True) / 2, (tip + tail) / 2)
    barbs = tip - 1.6 * wing
    head = (SheetPoint(0.0, tip), SheetPoint(-wing, barbs), SheetPoint(wing, barbs))
    taken.boxes.append(Box(plan.to_page(SheetPoint(0.0, (tip + tail) / 2)), 2 * wing, tip - tail))
    return [
        Line(
            plan.to_page(SheetPoint(0.0, tail)),
            plan.to_page(SheetPoint(0.0, tip - wing)),
            0.6,
            "nose-arrow",
        ),
        Polygon(tuple(map(plan.to_page, head)), 0.2, "nose-arrow", filled=True),
        _upright(plan.to_page(beside), "nose", 4.0, "nose", taken),
    ]


def _upright(centre: PagePoint, word: str, size: float, name: str, taken: Taken) -> Mark:
    """A bold word centred on a point."""
    height = CAP_HEIGHT * size
    taken.boxes.append(Box(centre, text_width(word, size, True), height))
    return lettered(
        PagePoint(centre[0], centre[1] - height / 2), word, size, name, "middle", bold=True
    )


def _arch(plan: Plan, taken: Taken) -> list[Mark]:
    """Faint outlines of the jaw's other teeth, where they lie on the sheet and off its frame."""
    marks: list[Mark] = []
    w, h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    shift, middle = plan.shift_mm, plan.sheet_centre_on_page_mm
    for place in plan.other_teeth:
        outline = [mouth_to_sheet(point, shift) for point in tooth_outline(place)]
        if all(abs(x) < w and abs(y) < h for x, y in outline):
            points = tuple([sheet_to_page(point, middle) for point in outline])
            centre = plan.to_page(plan.to_sheet(place.contact))
            if taken.free(centre, points):
                marks.append(Polygon(points, 0.25, f"tooth-{place.tooth.iso}", grey=FAINT))
                taken.add_outline(centre, points)
    return marks


@lru_cache(maxsize=1024)  # the same teeth stand behind case after case
def tooth_outline(place: Place) -> tuple[MouthPoint, ...]:
    """A superellipse of the crown's two dimensions round its contact middle, mouth frame, mm."""
    (x, y), (lx, ly), (fx, fy) = place.contact, place.leftward, place.facial
    turn = radians(place.turned_deg)
    points = []
    for step in range(_OUTLINE_POINTS):
        angle = 2 * pi * step / _OUTLINE_POINTS
        u = _rounded(cos(angle)) * place.size.mesiodistal_mm / 2
        v = _rounded(sin(angle)) * place.size.labiolingual_mm / 2
        along, across = u * cos(turn) - v * sin(turn), u * sin(turn) + v * cos(turn)
        points.append(MouthPoint(x + along * lx + across * fx, y + along * ly + across * fy))
    return tuple(points)


def _rounded(share: float) -> float:
    return copysign(abs(share) ** (2 / _TOOTH_ROUNDNESS), share)


def _holes(plan: Plan, taken: Taken, tolerance_mm: float | None) -> list[Mark]:
    marks: list[Mark] = []
    for slot in plan.slots:
        for start, end in pairwise(slot.centres):
            marks.append(Line(plan.to_page(start), plan.to_page(end), slot.width_mm, "slot"))
            taken.add_line(plan.to_page(start), plan.to_page(end), slot.width_mm)
    for planned in plan.holes:
        centre, anchor = plan.to_page(planned.centre_mm), planned.role == "anchor"
        unit, iso = ring_unit(plan, planned), planned.tooth.iso
        marks.append(Disc(centre, planned.hole.diameter_mm, f"hole-{iso}"))
        if tolerance_mm is not None:
            marks.append(Ring(centre, 2 * tolerance_mm, TOLERANCE_LINE_MM, f"tolerance-{iso}"))
            taken.add_disc(centre, tolerance_mm + TOLERANCE_LINE_MM / 2)
            continue
        marks += role_symbol(centre, unit, anchor=anchor, treated=planned.treated, name=iso)
        reach = symbol_reach(unit, anchor=anchor, treated=planned.treated)
        taken.add_disc(centre, reach)
    return marks


def _labels(
    plan: Plan, taken: Taken, also: Notation | None, tolerance_mm: float | None
) -> list[Mark]:
    """Tooth numbers outside the arch, punch positions inside it."""
    marks: list[Mark] = []
    for planned in plan.holes:
        centre, iso = plan.to_page(planned.centre_mm), planned.tooth.iso
        start = tolerance_mm or symbol_reach(
            ring_unit(plan, planned), anchor=planned.role == "anchor", treated=planned.treated
        )
        rivals = [plan.to_page(other.centre_mm) for other in plan.holes if other is not planned]
        marks += _tooth_names(plan, planned, taken, start, rivals, also)
        word = plan.practice.punch.label(planned.hole.punch_position)
        size = Size(text_width(word, PUNCH_SIZE_MM), CAP_HEIGHT * PUNCH_SIZE_MM)
        room = find_room(taken, centre, planned.facial.opposite, start, size, rivals)
        at = PagePoint(room.centre[0], room.centre[1] - room.height / 2)
        marks.append(lettered(at, word, PUNCH_SIZE_MM, f"punch-{iso}", "middle"))
    return marks


def _tooth_names(
    plan: Plan,
    planned: PlannedHole,
    taken: Taken,
    start: float,
    rivals: list[PagePoint],
    also: Notation | None,
) -> tuple[Mark, ...]:
    """A tooth's number, and below it the one in a second notation, where one is wanted."""
    tooth, notation, name = planned.tooth, plan.case.notation, f"number-{planned.tooth.iso}"
    centre = plan.to_page(planned.centre_mm)
    size = tooth_label_size(tooth, notation, TOOTH_SIZE_MM)
    if also is None:
        at = find_room(taken, centre, planned.facial, start, size, rivals).centre
        return tooth_label(tooth, notation, at, TOOTH_SIZE_MM, name)
    word, below = f"#{write(tooth, also)}", CAP_HEIGHT * ALSO_SIZE_MM + ALSO_GAP_MM
    both = Size(max(size[0], text_width(word, ALSO_SIZE_MM, True)), size[1] + below)
    x, y = find_room(taken, centre, planned.facial, start, both, rivals).centre
    under = PagePoint(x, y - both[1] / 2)
    return (
        *tooth_label(tooth, notation, PagePoint(x, y + below / 2), TOOTH_SIZE_MM, name),
        lettered(under, word, ALSO_SIZE_MM, f"also-{tooth.iso}", "middle", bold=True),
    )


def _remarks(plan: Plan, taken: Taken) -> list[Mark]:
    """What is different about a tooth, with its number, and a line from there to the tooth."""
    marks: list[Mark] = []
    drawn = {hole.tooth for hole in plan.holes} | {place.tooth for place in plan.other_teeth}
    for state in plan.states:
        remark = plan.practice.numerals(state_prose(state.state))
        text = f"{plan.case.write([state.state.tooth])} {remark}"
        lines, step = wrapped(text, STATE_SIZE_MM, STATE_WIDTH_MM), LEADING * STATE_SIZE_MM
        width = max(text_width(line, STATE_SIZE_MM) for line in lines)
        size = Size(width, (ASCENT + DESCENT) * STATE_SIZE_MM + (len(lines) - 1) * step)
        at, reach = _of_tooth(plan, state)
        room = find_room(taken, at, state.facial, reach, size, leader=True)
        way = taken.leader(at, reach, room) or ()
        taken.set_apart(room, STATE_GAP_MM)
        if state.state.tooth not in drawn and fsum(map(dist, way, way[1:])) < _LONE_LINE_MM:
            way = ()
        for start, end in pairwise(way):
            marks.append(Line(start, end, LEADER_MM, f"state-{state.state.tooth.iso}-leader"))
            taken.add_line(start, end, LEADER_MM)
        x, y = room.centre[0], room.centre[1] + size[1] / 2 - ASCENT * STATE_SIZE_MM
        for number, line in enumerate(lines):
            at = PagePoint(x, y - number * step)
            name = f"state-{state.state.tooth.iso}"
            marks.append(lettered(at, line, STATE_SIZE_MM, name, "middle"))
    return marks


def _of_tooth(plan: Plan, state: PlannedState) -> tuple[PagePoint, float]:
    """Where a remark's line ends: the tooth's hole and how far its shape reaches, mm, or its
    place."""
    for planned in plan.holes:
        if planned.tooth == state.state.tooth:
            unit, anchor = ring_unit(plan, planned), planned.role == "anchor"
            reach = symbol_reach(unit, anchor=anchor, treated=planned.treated)
            return plan.to_page(planned.centre_mm), reach
    return plan.to_page(state.centre_mm), _PLACE_MM
