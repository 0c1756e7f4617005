"""The check page: a punched sheet is laid on it and photographed. Drawn at true scale.

Bullseyes and brackets stand round the sheet's place; inside there is nothing, so that all that a
photograph shows there belongs to the sheet.
"""

from __future__ import annotations

from math import copysign

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.base.version import __version__
from sheetmark.checking.layout import CHECK_GAP_MM
from sheetmark.documents.cautions import PRINTING_CAUTIONS, RESPONSIBILITY
from sheetmark.documents.correction import FOOT_LINE_MM
from sheetmark.practice.settings import PAGE_MARGIN_LIMITS_MM, Paper, Sheet
from sheetmark.typesetting.bars import bar
from sheetmark.typesetting.bullseyes import BULLSEYE_MM, bullseyes_round
from sheetmark.typesetting.dashes import dashed
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import BODY_MM, SMALL_MM, Column, Paragraph, set_blocks

# The brackets stand off the sheet's edge, so that the edge itself is seen (ours).
BRACKET_OFF_MM = 2.0
BRACKET_MM = 9.0
_BRACKET_LINE_MM = 0.5
_BAR_MM = 100.0
# The bars stand between bullseyes: their length, and at each end a bullseye and its white.
LEAST_SIDE_MM = 122.0
_TITLE_MM = 5.6
_FIGURE_MM = 34.0
# Common practice, no source; the height and the angle are ours, from trials on made pictures.
STEPS = (
    "1  Lay the sheet flat in the brackets: marked side up, nose edge at the top of this page. "
    "An even white edge shows all round.",
    "2  Phone level, about 30 cm above the page's middle, lens straight down. All ten round marks "
    "in the picture, even light, no flash, no shadow across the sheet.",
    "3  The sheet curls? Press it down outside the holes; what stands up is measured wrongly.",
)


def check_page(paper: Paper, sheet: Sheet) -> Document:
    """The check page for one sheet on one paper.

    Raises InputError for a sheet that the paper does not hold with the bullseyes round it, and for
    one with a side below LEAST_SIDE_MM.
    """
    if min(sheet.width_mm, sheet.height_mm) < LEAST_SIDE_MM:
        raise InputError(
            f"check page: sheet {sheet.name} mm is too small to leave room for the bars; each side "
            f"must be at least {LEAST_SIDE_MM:g} mm"
        )
    margin = PAGE_MARGIN_LIMITS_MM[0]
    column = Column(
        left=margin,
        top=paper.height_mm - margin,
        width=paper.width_mm - 2 * margin,
        bottom=margin,
    )
    title = f"Check page · sheet {sheet.name} mm · {paper.name}"
    recipe = _recipe(paper, sheet)
    marks, top = _heading(title, column)
    reach = CHECK_GAP_MM + BULLSEYE_MM / 2
    middle = PagePoint(paper.width_mm / 2, top - reach - sheet.height_mm / 2)
    marks += _round_the_sheet(middle, sheet)
    below = column.below(middle.y - sheet.height_mm / 2 - reach - 3.0)
    text_marks, over = _text_below(below, recipe)
    _refuse_overflow(paper, sheet, over)
    page = Page(paper.width_mm, paper.height_mm, tuple(marks + text_marks))
    return Document(title, recipe, (page,))


def _recipe(paper: Paper, sheet: Sheet) -> str:
    return (
        f"sheetmark check page --paper {paper.name.lower()} "
        f"--sheet {sheet.width_mm:g}x{sheet.height_mm:g}"
    )


def _refuse_overflow(paper: Paper, sheet: Sheet, below_mm: float) -> None:
    margin = PAGE_MARGIN_LIMITS_MM[0]
    wide = sheet.width_mm + 2 * CHECK_GAP_MM + BULLSEYE_MM - (paper.width_mm - 2 * margin)
    over = {"across": wide, "down": below_mm}
    too_much = [f"{mm:.1f} mm {way}" for way, mm in over.items() if mm > 1e-9]
    if too_much:
        raise InputError(
            f"check page: a sheet of {sheet.name} mm with the marks round it is too large for "
            f"{paper.name}, by {' and '.join(too_much)}; check a smaller sheet"
        )


def _heading(title: str, column: Column) -> tuple[list[Mark], float]:
    line = Paragraph(title, bold=True, size=_TITLE_MM, name="title")
    marks, y, _ = set_blocks([line], column)
    at = PagePoint(column.left + column.width, column.top - CAP_HEIGHT * _TITLE_MM - 0.9)
    return [*marks, lettered(at, "1:1", _TITLE_MM, "scale", "right", bold=True)], y - 0.4


def _round_the_sheet(middle: PagePoint, sheet: Sheet) -> list[Mark]:
    """Bullseyes, brackets, and the bars between the bullseyes at the top and at the left."""
    marks: list[Mark] = []
    for bullseye in bullseyes_round(middle, sheet.width_mm, sheet.height_mm, CHECK_GAP_MM):
        marks += bullseye.marks
    w, h = sheet.width_mm / 2 + BRACKET_OFF_MM, sheet.height_mm / 2 + BRACKET_OFF_MM
    for x, y in ((-w, -h), (w, -h), (w, h), (-w, h)):
        corner = PagePoint(middle.x + x, middle.y + y)
        for end in (
            PagePoint(corner.x - copysign(BRACKET_MM, x), corner.y),
            PagePoint(corner.x, corner.y - copysign(BRACKET_MM, y)),
        ):
            marks.append(Line(corner, end, _BRACKET_LINE_MM, "bracket"))
    half, text = _BAR_MM / 2, f"this bar is {_BAR_MM:g} mm"
    y = middle.y + sheet.height_mm / 2 + CHECK_GAP_MM - 1.0
    marks += bar(PagePoint(middle.x - half, y), PagePoint(middle.x + half, y), "bar-x")
    marks.append(lettered(PagePoint(middle.x, y + 1.2), text, BODY_MM, "bar-x-words", "middle"))
    x = middle.x - sheet.width_mm / 2 - CHECK_GAP_MM + 1.0
    marks += bar(PagePoint(x, middle.y - half), PagePoint(x, middle.y + half), "bar-y")
    at = PagePoint(x - 1.2, middle.y)
    marks.append(lettered(at, text, BODY_MM, "bar-y-words", "middle", angle=90.0))
    return marks


class _Phone(Struct, frozen=True):
    """A side view: the phone level above the page."""

    after_mm: float = 0.0
    with_next: bool = False

    def height(self, width: float) -> float:
        """As high as it is wide, a little less."""
        return 0.9 * min(width, _FIGURE_MM)

    def marks(self, column: Column) -> list[Mark]:
        """Page, sheet, phone, and the dashed lines of what the lens sees."""
        width = min(column.width, _FIGURE_MM)
        x, floor = column.left + width / 2, column.top - self.height(column.width) + 2.0
        half, high = width / 2 - 2.0, self.height(column.width) - 8.0
        lens = PagePoint(x, floor + high)
        phone = (
            PagePoint(x - 6.0, lens.y),
            PagePoint(x + 6.0, lens.y),
            PagePoint(x + 6.0, lens.y + 1.6),
            PagePoint(x - 6.0, lens.y + 1.6),
        )
        marks: list[Mark] = [
            Line(PagePoint(x - half, floor), PagePoint(x + half, floor), 0.4, "figure-page"),
            Line(
                PagePoint(x - 0.7 * half, floor + 0.9),
                PagePoint(x + 0.7 * half, floor + 0.9),
                0.9,
                "figure-sheet",
            ),
            Polygon(phone, 0.3, "figure-phone"),
            lettered(PagePoint(x, lens.y + 2.8), "phone level", SMALL_MM, "figure", "middle"),
        ]
        for side in (-half, half):
            end = PagePoint(x + side, floor + 0.4)
            marks += dashed(lens, end, 0.2, "figure-view", 9)
        marks.append(
            lettered(PagePoint(x, floor + high / 3), "30 cm", SMALL_MM, "figure", "middle")
        )
        return marks


def _text_below(column: Column, recipe: str) -> tuple[list[Mark], float]:
    """The steps beside the figure, then the cautions; and by how much they go below the margin."""
    figure = _Phone()
    gap = 5.0
    steps = Column(
        left=column.left, top=column.top, width=column.width - _FIGURE_MM - gap, bottom=-1e6
    )
    side = Column(
        left=steps.left + steps.width + gap, top=column.top, width=_FIGURE_MM, bottom=-1e6
    )
    cautions = (*PRINTING_CAUTIONS, RESPONSIBILITY)
    blocks = [
        *(Paragraph(step, after_mm=1.0) for step in STEPS),
        *(
            Paragraph(f"– {caution}", after_mm=0.3, bold=caution == RESPONSIBILITY)
            for caution in cautions
        ),
    ]
    marks, y, _ = set_blocks(blocks, steps)
    foot = f"sheetmark {__version__} · {recipe}"
    at = PagePoint(column.left, column.bottom + FOOT_LINE_MM + 0.3 * SMALL_MM)
    marks += [*figure.marks(side), lettered(at, foot, SMALL_MM, "recipe")]
    lowest = min(y, side.top - figure.height(side.width))
    return marks, column.bottom + 2 * FOOT_LINE_MM - lowest
