"""The printer's test page: two bars and a square to measure, and what to do with the figures.

It is always drawn at true scale, never corrected: it is what a correction is measured from.
"""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.base.version import __version__
from sheetmark.checking.layout import CARD_GAP_MM, CARD_SQUARE_MM
from sheetmark.documents.cautions import PRINTING_CAUTIONS, RESPONSIBILITY
from sheetmark.practice.printer import TEST_BAR_MM
from sheetmark.practice.settings import PAGE_MARGIN_LIMITS_MM, Paper
from sheetmark.typesetting.bars import bar
from sheetmark.typesetting.bullseyes import bullseyes_round
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import BODY_MM, SMALL_MM, Column, Paragraph, set_blocks

SQUARE_MM = CARD_SQUARE_MM
_TITLE_MM = 5.6
_LINE_MM = 0.3
# From the bars' corner to the square, which stands in their middle.
_INSET_MM = (TEST_BAR_MM - SQUARE_MM) / 2
_OFF_BAR_MM = 1.6

_STEPS = (
    "1  Print this page at 100 % (actual size, nothing fitted) on the paper named above.",
    "2  Measure both bars from end tick to end tick, to 0.1 mm, with a steel rule:  "
    "x ________ mm   y ________ mm",
    "3  Measure both diagonals of the square. If they differ, the paper was askew: print again.",
    "4  Store both lengths in mm, across (x) and down (y), in the page's settings, or by:",
)
_COMMAND = "sheetmark printer set --name front-desk --x 149.4 --y 150.2"
_AFTER = (
    "5  Overlays are then corrected when they are printed. Check the two bars on the first one.",
)


def printer_page(paper: Paper) -> Document:
    """The test page on one paper."""
    margin = PAGE_MARGIN_LIMITS_MM[0]
    width = paper.width_mm - 2 * margin
    column = Column(left=margin, top=paper.height_mm - margin, width=width, bottom=margin)
    title = f"Printer test page · {paper.name}"
    marks, y = _heading(title, column)
    steps = [
        *(Paragraph(step) for step in _STEPS),
        Paragraph(f"    {_COMMAND}", bold=True),
        *(Paragraph(step) for step in _AFTER),
    ]
    more, y, left_over = set_blocks(steps, column.below(y))
    marks += more
    drawing_top = y - 5.0
    marks += _bars_and_square((paper.width_mm - TEST_BAR_MM) / 2, drawing_top - TEST_BAR_MM)
    below = column.below(drawing_top - TEST_BAR_MM - 9.0)
    gap = 6.0
    half = (width - gap) / 2
    cautions = [Paragraph(f"– {caution}", after_mm=0.3) for caution in PRINTING_CAUTIONS]
    more, _, cut = set_blocks(
        cautions[:2], Column(left=margin, top=below.top, width=half, bottom=margin)
    )
    marks += more
    right = Column(left=margin + half + gap, top=below.top, width=half, bottom=margin)
    more, _, cut_right = set_blocks([*cautions[2:], Paragraph(RESPONSIBILITY, bold=True)], right)
    marks += more
    assert not any((left_over, cut, cut_right)), "the test page fits every paper"
    foot = f"sheetmark {__version__} · sheetmark printer page --paper {paper.name.lower()}"
    marks.append(lettered(PagePoint(margin, margin + 0.3 * SMALL_MM), foot, SMALL_MM, "recipe"))
    page = Page(paper.width_mm, paper.height_mm, tuple(marks))
    return Document(title, f"sheetmark printer page --paper {paper.name.lower()}", (page,))


def _heading(title: str, column: Column) -> tuple[list[Mark], float]:
    line = Paragraph(title, bold=True, size=_TITLE_MM, name="title")
    marks, y, _ = set_blocks([line], column)
    at = PagePoint(column.left + column.width, column.top - CAP_HEIGHT * _TITLE_MM - 0.9)
    return [*marks, lettered(at, "1:1", _TITLE_MM, "scale", "right", bold=True)], y - 1.0


def _bars_and_square(left: float, bottom: float) -> list[Mark]:
    """The bars as two sides of a square, and inside them the square with its diagonals, with marks
    round it for a photograph with a bank card."""
    right, top = left + TEST_BAR_MM, bottom + TEST_BAR_MM
    middle_x, middle_y = (left + right) / 2, (bottom + top) / 2
    length = f"this bar is {TEST_BAR_MM:g} mm"
    a, b = left + _INSET_MM, right - _INSET_MM
    c, d = bottom + _INSET_MM, top - _INSET_MM
    return [
        *bar(PagePoint(left, bottom), PagePoint(right, bottom), "bar-x"),
        *bar(PagePoint(left, bottom), PagePoint(left, top), "bar-y"),
        lettered(
            PagePoint(middle_x, bottom - _OFF_BAR_MM - CAP_HEIGHT * BODY_MM),
            f"x: {length}",
            BODY_MM,
            "bar-x-words",
            "middle",
        ),
        lettered(
            PagePoint(left - _OFF_BAR_MM, middle_y),
            f"y: {length}",
            BODY_MM,
            "bar-y-words",
            "middle",
            angle=90.0,
        ),
        Polygon(
            (PagePoint(a, c), PagePoint(b, c), PagePoint(b, d), PagePoint(a, d)), _LINE_MM, "square"
        ),
        Line(PagePoint(a, c), PagePoint(b, d), _LINE_MM, "diagonal"),
        Line(PagePoint(a, d), PagePoint(b, c), _LINE_MM, "diagonal"),
        *(
            mark
            for bullseye in bullseyes_round(
                PagePoint(middle_x, middle_y), SQUARE_MM, SQUARE_MM, CARD_GAP_MM
            )
            for mark in bullseye.marks
        ),
    ]
