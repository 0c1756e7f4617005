"""Sheets with planted faults for a class to find, and the key that names the faults.

Drawn smaller than they are, so that no sheet is ever marked from a page with faults.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.base.frames import PagePoint
from sheetmark.documents.case.sheet import draw_sheet
from sheetmark.documents.handouts.exercise_cases import case_line
from sheetmark.documents.handouts.exercise_pages import (
    name_line,
    refuse_too_little_room,
    rules,
)
from sheetmark.documents.handouts.lesson import NO_SCALE, Lesson
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.marks import Mark, Page
from sheetmark.typesetting.paragraphs import Block, Column, Paragraph, set_blocks
from sheetmark.typesetting.scaled import scaled

_FACTOR = 0.8
_WRITE_ON_MM = 8.0
_LINES = 4
_NEVER = "Faults are planted on this page. Never mark a sheet from it."
_BY_EYE = (
    "The answers are words: they are marked by eye. A photograph of this page cannot be checked."
)
_SOURCES = ("Case of no patient, faults of ours; the rules: common practice, no source",)


def find_question(lesson: Lesson, plan: Plan, title: str) -> Page:
    """The faulty sheet, and lines for what is wrong on it."""
    marks, column = lesson.leaf(title, NO_SCALE, _SOURCES)
    marks += name_line(column)
    picture, column = _picture(plan, column.below(column.top - _WRITE_ON_MM))
    blocks: list[Block] = [
        _never(lesson),
        lesson.paragraph(
            f"A sheet for: {case_line(plan)}. Outside the arch stands the tooth, inside it the "
            f"punch hole; the cross is the sheet's middle. What is wrong? Write each fault on a "
            f"line.",
            after_mm=1.6,
        ),
        lesson.paragraph(_BY_EYE, after_mm=3.0),
        *(Paragraph("_" * 92, after_mm=3.2, name="write-on") for _ in range(_LINES)),
    ]
    return _whole(lesson, marks + picture, blocks, column)


def find_key(lesson: Lesson, right: Plan, title: str, faults: Sequence[str]) -> Page:
    """The right sheet in the same place, and each fault by its name."""
    marks, column = lesson.leaf(f"Key · {title}", NO_SCALE, _SOURCES)
    picture, column = _picture(right, column.below(column.top - _WRITE_ON_MM))
    blocks: list[Block] = [
        lesson.paragraph(f"The right sheet for: {case_line(right)}. Faults of the question:"),
        *(
            Paragraph(fault, lead=str(number), indent_mm=6.0, bold=True, name="fault")
            for number, fault in enumerate(faults, start=1)
        ),
        *rules(lesson, right),
    ]
    return _whole(lesson, marks + picture, blocks, column)


def _never(lesson: Lesson) -> Paragraph:
    return lesson.paragraph(_NEVER, bold=True, after_mm=1.6)


def _picture(plan: Plan, column: Column) -> tuple[list[Mark], Column]:
    """The sheet in the column's middle, smaller, and the room below it."""
    height = _FACTOR * plan.sheet.height_mm
    middle = PagePoint(column.left + column.width / 2, column.top - height / 2)
    marks = scaled(draw_sheet(plan), _FACTOR, plan.sheet_centre_on_page_mm, middle)
    return marks, column.below(column.top - height - 3.0)


def _whole(lesson: Lesson, marks: Sequence[Mark], blocks: Sequence[Block], column: Column) -> Page:
    more, _, over = set_blocks(blocks, column)
    refuse_too_little_room(bool(over), lesson)
    return lesson.page([*marks, *more])
