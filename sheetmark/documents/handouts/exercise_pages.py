"""The pages of an exercise on which holes are placed: a blank sheet, and its key.

Both have the sheet in the same place, so that a tutor lays one over the other.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.checking.exercise import EXERCISE_GAP_MM, Rectangle
from sheetmark.documents.case.overlay import hole_table
from sheetmark.documents.case.sheet import blank_sheet, draw_sheet
from sheetmark.documents.handouts.exercise_cases import case_line
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.documents.parts import GAP_MM, cell
from sheetmark.documents.shift_text import shift_text
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.bullseyes import (
    BULLSEYE_CLEAR_MM,
    BULLSEYE_MM,
    CODE_LEFT_MM,
    bullseyes_round,
    code_marks,
)
from sheetmark.typesetting.labels import CLEARANCE_MM
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Disc, Line, Mark, Page, Polygon, Text
from sheetmark.typesetting.paragraphs import Column, Paragraph, set_blocks

# Below this width and height bullseyes, code and bars have no room beside each other.
LEAST_FOR_PHOTO_MM = 127.0
_STRIP_MM = EXERCISE_GAP_MM + BULLSEYE_MM / 2 + BULLSEYE_CLEAR_MM
_SMALL_MM = 3.2
_LINE_MM = 0.25
# No more teeth come through in one jaw.
_COLUMNS = 16
_HEAD_MM = 22.0
_ROW_MM = 5.4
_WRITE_ON_MM = 6.6
_SCORES = ("crosses in place", "teeth", "anchors", "punch holes", "all")
NO_PATIENT = ("Case of no patient; the rules: common practice, no source",)


def for_photo(plan: Plan) -> bool:
    """Whether a photograph of the page can be checked: its sheet is large enough."""
    return min(plan.sheet.width_mm, plan.sheet.height_mm) >= LEAST_FOR_PHOTO_MM


def question(lesson: Lesson, plan: Plan, title: str, code: int) -> Page:
    """A blank sheet, the task, a table to fill in and one for the score."""
    strip = _STRIP_MM if for_photo(plan) else 2.0
    marks, column = lesson.sheet_leaf(title, plan, NO_PATIENT, strip)
    marks += [*name_line(column), *blank_sheet(plan)]
    if for_photo(plan):
        marks += _fiducials(plan, code)
    task = lesson.paragraph(
        f"{case_line(plan)}. Draw a cross of about 3 mm at each hole's centre, nothing else. The "
        f"cross printed there is the sheet's middle, moved by the rule. Fill in the table from the "
        f"patient's right to the left; write A under an anchor.",
        size=_SMALL_MM,
    )
    more, y, over = set_blocks([task], column.below(column.top - _WRITE_ON_MM))
    table, y = _answers(column, y - 0.6)
    scores, y = _score(column, y - 1.4)
    refuse_too_little_room(bool(over) or y < column.bottom, lesson)
    return lesson.page([*marks, *more, *table, *scores])


def ignored(plans: Sequence[Plan]) -> tuple[Rectangle, ...]:
    """Rectangles in which the blank sheets have ink of their own, sheet frame, mm."""
    found: dict[Rectangle, None] = {}
    for plan in plans:
        middle = plan.sheet_centre_on_page_mm
        for mark in blank_sheet(plan):
            if mark.name != "sheet":
                found[_box(mark, middle)] = None
    return tuple(found)


def _box(mark: Mark, middle: PagePoint) -> Rectangle:
    match mark:
        case Disc(centre, diameter):
            xs, ys, pad = [centre.x], [centre.y], diameter / 2
        case Line(start, end, width):
            xs, ys, pad = [start.x, end.x], [start.y, end.y], width / 2
        case Polygon(points, width):
            xs, ys = ([point[i] for point in points] for i in (0, 1))
            pad = width / 2
        case Text():
            half = mark.width / 2
            xs, ys = [mark.at.x - half, mark.at.x + half], [mark.at.y, mark.at.y + mark.size]
            pad = 0.0
        case _:
            raise AssertionError(f"{mark.name}: no such mark on a blank sheet")
    pad += CLEARANCE_MM
    left, right = min(xs) - middle.x - pad, max(xs) - middle.x + pad
    low, high = min(ys) - middle.y - pad, max(ys) - middle.y + pad
    return (round(left, 2), round(low, 2), round(right, 2), round(high, 2))


def _fiducials(plan: Plan, code: int) -> list[Mark]:
    """Bullseyes round the sheet and the page's code, for a photograph of the page."""
    (x, y), sheet = plan.sheet_centre_on_page_mm, plan.sheet
    round_it = bullseyes_round(PagePoint(x, y), sheet.width_mm, sheet.height_mm, EXERCISE_GAP_MM)
    left = PagePoint(x + CODE_LEFT_MM, y - sheet.height_mm / 2 - EXERCISE_GAP_MM)
    return [*(mark for bullseye in round_it for mark in bullseye.marks), *code_marks(code, left)]


def name_line(column: Column) -> list[Mark]:
    """Lines to write on at the column's top: name, date, score."""
    marks: list[Mark] = []
    y = column.top - _WRITE_ON_MM + 2.2
    for head, start, end in (("Name", 0.0, 0.5), ("Date", 0.52, 0.74), ("Score", 0.76, 1.0)):
        at = PagePoint(column.left + start * column.width, y)
        word = lettered(at, head, _SMALL_MM, "write-on")
        stop = PagePoint(column.left + end * column.width, y - 0.6)
        line = Line(PagePoint(at.x + word.width + 1.2, y - 0.6), stop, _LINE_MM, "write-on")
        marks += [word, line]
    return marks


def _answers(column: Column, top: float) -> tuple[list[Mark], float]:
    """Empty boxes for each tooth; how many there are gives nothing away."""
    return _grid(column, top, ("Tooth", "Anchor", "Punch hole"), [""] * _COLUMNS)


def _score(column: Column, top: float) -> tuple[list[Mark], float]:
    """Boxes for the teacher."""
    return _grid(column, top, ("", "Points"), [*_SCORES])


def _grid(
    column: Column, top: float, heads: Sequence[str], across: Sequence[str]
) -> tuple[list[Mark], float]:
    """A ruled table; `across` is written in its first row. The marks, and the y below them."""
    left, right = column.left, column.left + column.width
    step = (column.width - _HEAD_MM) / len(across)
    bottom = top - len(heads) * _ROW_MM
    marks: list[Mark] = []
    for number, head in enumerate(heads):
        y = top - number * _ROW_MM
        at = PagePoint(left, y - _ROW_MM / 2 - CAP_HEIGHT * _SMALL_MM / 2)
        marks += [
            Line(PagePoint(left, y), PagePoint(right, y), _LINE_MM, "grid"),
            *([lettered(at, head, _SMALL_MM, "grid-head")] if head else []),
        ]
    marks.append(Line(PagePoint(left, bottom), PagePoint(right, bottom), _LINE_MM, "grid"))
    for number, word in enumerate((*across, "")):
        x = left + _HEAD_MM + number * step
        marks.append(Line(PagePoint(x, bottom), PagePoint(x, top), _LINE_MM, "grid"))
        if word:
            marks.append(cell(word, PagePoint(x + step / 2, top - _ROW_MM / 2), _SMALL_MM))
    return marks, bottom


def key(lesson: Lesson, plan: Plan, title: str, tolerance_mm: float) -> Page:
    """The sheet with a ring round each hole, the answers, and the rules that they follow."""
    sources = (
        f"Tolerance ring of {lesson.practice.numerals(f'{tolerance_mm:g}')} mm: assumption",
        "Row, anchors, middle towards the quadrant: common practice, no source",
        *(source for source in plan.sources if source.startswith("Arch")),
    )[:3]
    marks, column = lesson.sheet_leaf(f"Key · {title}", plan, sources)
    table, y = hole_table(plan, column)
    left, right = column.below(y).halves(GAP_MM)
    row, anchors = plan.isolation.row, plan.isolation.anchors
    answers: list[Paragraph] = [
        lesson.paragraph(
            f"Lay edges on edges: a cross inside its ring of {tolerance_mm:g} mm is right.",
            size=_SMALL_MM,
        ),
        lesson.paragraph(f"Isolated: {plan.case.write(row)}", size=_SMALL_MM),
        lesson.paragraph(f"Anchors: {plan.case.write(anchors)}", size=_SMALL_MM),
        lesson.paragraph(f"The sheet's middle lies {shift_text(plan)}.", size=_SMALL_MM),
    ]
    reasons = [*points(lesson, plan), *rules(lesson, plan), *_freedom(lesson, plan)]
    left_marks, _, over = set_blocks(answers, left)
    two, _, other_over = set_blocks(reasons, right)
    refuse_too_little_room(bool(over or other_over), lesson)
    drawn = draw_sheet(plan, tolerance_mm=tolerance_mm)
    return lesson.page([*marks, *drawn, *table, *left_marks, *two])


def points(lesson: Lesson, plan: Plan) -> list[Paragraph]:
    """What each box of the score counts to."""
    holes, anchors = len(plan.holes), len(plan.isolation.anchors)
    text = f"Points: crosses {holes}, teeth {holes}, anchors {anchors}, punch holes {holes}"
    return [lesson.paragraph(f"{text}; all {3 * holes + anchors}.", size=_SMALL_MM)]


def rules(lesson: Lesson, plan: Plan) -> list[Paragraph]:
    """Which rules the key follows, so that it is not taken for the only right answer."""
    practice = plan.practice
    sizing = "by the crown" if practice.sizing == "crown" else "in two sizes"
    text = (
        f"Follows this program's rules: row {practice.row}; holes {sizing}, up to "
        f"{practice.share_of_break:g} of the stretch at break (assumption). Other schools teach "
        f"otherwise."
    )
    return [lesson.paragraph(text, size=_SMALL_MM)]


def _freedom(lesson: Lesson, plan: Plan) -> list[Paragraph]:
    """How far all crosses may be off alike, since the middle may lie elsewhere too."""
    across, up = plan.range_mm
    if not plan.practice.shift:
        return []
    text = (
        f"All crosses may be off alike: the middle may lie "
        f"{_range(across.low, across.high, 'left', 'right')} and "
        f"{_range(up.low, up.high, 'up', 'down')} (assumptions)."
    )
    return [lesson.paragraph(text, size=_SMALL_MM)]


def _range(low: float, high: float, plus: str, minus: str) -> str:
    first, last = round(low), round(high)
    if first == last:
        return f"{abs(last)} mm {plus if last >= 0 else minus}"
    if first < 0 and last <= 0:
        return f"{abs(last)} to {abs(first)} mm {minus}"
    if first >= 0:
        return f"{first} to {last} mm {plus}"
    return f"{abs(first)} mm {minus} to {last} mm {plus}"


def refuse_too_little_room(missing: bool, lesson: Lesson) -> None:
    """Raises InputError where something had no room on its page."""
    if missing:
        raise InputError(
            f"exercise: too little room for its words below a sheet of "
            f"{lesson.practice.sheet.name} mm; take a smaller sheet, or A4 paper"
        )
