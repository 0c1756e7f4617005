"""The three notations side by side, tooth by tooth, as on a chart."""

from __future__ import annotations

from itertools import pairwise

from sheetmark.anatomy.teeth import JAWS, NOTATIONS, Jaw, Notation, Tooth, tooth_at, write
from sheetmark.base.frames import PagePoint
from sheetmark.base.sources import citation
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.documents.symbols import tooth_label
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Line, Mark
from sheetmark.typesetting.paragraphs import BODY_MM, Column, Paragraph, set_blocks

TITLE = "Three ways to number a tooth"
NAMES: dict[Notation, str] = {"iso": "ISO 3950", "universal": "Universal", "palmer": "Palmer"}
_HEAD_MM = 26.0
_ROW_MM = 9.0
_NUMBER_MM = 4.9
# The line of R and L above a chart.
_SIDES_MM = 3.4
_RULE_MM = 0.2
_MIDLINE_MM = 0.7

SOURCES = (
    f"{citation('iso-3950')}: two digits, the quadrant and the place from the midline (standard)",
    "Universal and Palmer: as every chart has them (common practice, no source)",
)
_RULES = (
    "ISO 3950: first digit the quadrant, 1 to 4 (primary teeth 5 to 8), second the place from the "
    "midline. Spoken digit by digit: one-six.",
    "Universal: 1 to 32 round the mouth from the upper right third molar to the lower right one; "
    "primary teeth A to T the same way.",
    "Palmer: the place from the midline, 1 to 8 or A to E, in a corner whose lines are the "
    "midline and the line between the jaws. In plain text UR6 or LLE: U upper, L lower, then R "
    "right, L left.",
    "R and L are the patient's. The chart shows the patient's right at the left, as seen by "
    "somebody who faces the patient.",
)


def numbering(lesson: Lesson) -> Document:
    """One page: permanent teeth, primary teeth, and how each system works."""
    marks, column = lesson.leaf(TITLE, "a table, no scale", SOURCES)
    own = NAMES[lesson.practice.notation]
    lines = [
        lesson.paragraph(f"This practice writes {own}: in bold frames below.", bold=True),
        lesson.paragraph(_double()),
    ]
    more, y, _ = set_blocks(lines, column)
    marks += more
    for heading, last, primary in (("Permanent teeth", 8, False), ("Primary teeth", 5, True)):
        more, y = _chart(heading, last, column.below(y - 3.0), lesson, primary=primary)
        marks += more
    more, _, left_over = set_blocks(
        [lesson.paragraph(rule) for rule in _RULES], column.below(y - 3.0)
    )
    assert not left_over, "the table fits every paper"
    return Document(TITLE, lesson.command, (lesson.page([*marks, *more]),))


def _double() -> str:
    """The numbers that are teeth in two of the systems."""
    both = sorted(
        {write(t, "iso") for t in _permanent()} & {write(t, "universal") for t in _permanent()},
        key=int,
    )
    return (
        f"{len(both)} numbers are a tooth in ISO 3950 and another tooth in Universal: "
        f"{both[0]} to {both[7]}, {both[8]} to {both[-3]}, {both[-2]} and {both[-1]}. Always say "
        f"which system is meant."
    )


def _permanent() -> list[Tooth]:
    return [tooth_at(jaw, along) for jaw in JAWS for along in range(-8, 9) if along]


def _chart(
    heading: str, last: int, column: Column, lesson: Lesson, *, primary: bool
) -> tuple[list[Mark], float]:
    """Upper rows, the line between the jaws, lower rows; the midline between right and left."""
    marks, y, _ = set_blocks([Paragraph(heading, bold=True, size=4.4, name="head")], column)
    y -= _SIDES_MM
    step = (column.width - _HEAD_MM) / 16
    middle = column.left + _HEAD_MM + 8 * step
    left, right = middle - last * step, middle + last * step
    top = y
    for letter, x in (("R", left + 2.0), ("L", right - 2.0)):
        marks.append(
            lettered(PagePoint(x, top + 1.0), letter, 4.4, f"side-{letter}", "middle", bold=True)
        )
    for jaw in JAWS:
        for notation in NOTATIONS[::-1] if jaw == "upper" else NOTATIONS:
            row_middle = y - _ROW_MM / 2
            own = notation == lesson.practice.notation
            at = PagePoint(column.left, row_middle - CAP_HEIGHT * BODY_MM / 2)
            marks.append(lettered(at, NAMES[notation], BODY_MM, "row", bold=own))
            marks += _row(jaw, notation, last, (middle, row_middle, step), primary=primary)
            if own:
                marks += _frame(left, right, y)
            marks.append(
                Line(PagePoint(left, y - _ROW_MM), PagePoint(right, y - _ROW_MM), _RULE_MM, "rule")
            )
            y -= _ROW_MM
        if jaw == "upper":
            marks.append(Line(PagePoint(left, y), PagePoint(right, y), _MIDLINE_MM, "between-jaws"))
    marks.append(Line(PagePoint(left, top), PagePoint(right, top), _RULE_MM, "rule"))
    marks.append(Line(PagePoint(middle, y), PagePoint(middle, top), _MIDLINE_MM, "midline"))
    return marks, y


def _row(
    jaw: Jaw, notation: Notation, last: int, where: tuple[float, float, float], *, primary: bool
) -> list[Mark]:
    middle, y, step = where
    marks: list[Mark] = []
    for along in (a for a in range(-last, last + 1) if a):
        x = middle + (abs(along) - 0.5) * step * (1 if along > 0 else -1)
        tooth = tooth_at(jaw, along, primary=primary)
        marks += tooth_label(
            tooth, notation, PagePoint(x, y), _NUMBER_MM, f"{notation}-{tooth.iso}"
        )
    return marks


def _frame(left: float, right: float, top: float) -> list[Mark]:
    inset = 0.7
    a, b, c, d = left + inset, right - inset, top - inset, top - _ROW_MM + inset
    corners = [PagePoint(x, y) for x, y in ((a, c), (b, c), (b, d), (a, d), (a, c))]
    return [Line(p, q, 0.5, "own") for p, q in pairwise(corners)]
