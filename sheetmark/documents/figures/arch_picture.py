"""A picture of fitted jaws at true scale, over the landmarks they were fitted to. mm.

Seen from the biting side, as the mouth frame has it.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import SIDES, write
from sheetmark.base.frames import PagePoint
from sheetmark.base.version import __version__
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.documents.cautions import RESPONSIBILITY
from sheetmark.documents.correction import FOOT_LINE_MM, practice_name
from sheetmark.documents.figures.arch_drawing import View, draw_jaw, seen_points
from sheetmark.documents.parts import GAP_MM, heading
from sheetmark.fitting.fit import JawFit, side_row
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.typesetting.bars import bar
from sheetmark.typesetting.labels import Box
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Mark, Page
from sheetmark.typesetting.paragraphs import (
    BODY_MM,
    SMALL_MM,
    Block,
    Column,
    Paragraph,
    flow,
    height_of,
    set_blocks,
)

BAR_MM = 100.0
_BAR_STRIP_MM = 9.0
_SIDE_SIZE_MM = 7.0
# Room round the crowns for the teeth's numbers and for points that lie off them.
_ROOM_MM = 8.0

_HOW_TO = (
    "Print at 100 %, check both bars. Seen from the biting side; R and L are the patient's. "
    "Dark crowns were seen, grey ones are predicted; the thin line joins the gum-line centres, "
    "where the holes go."
)
_LANDMARKS = (
    "Dots: landmarks; in a ring where the tooth stands away from where others would put it."
)
_WIDTHS = "Lines, mm: widths between gum-line centres, depth straight back to the molars' line."


def arch_picture(
    model: ArchModel, fits: Sequence[JawFit], practice: Practice, command: str
) -> Document:
    """The fitted jaws on one page; further pages only for words that do not fit on it."""
    title = f"{model.name} · {model.title}"
    paper, margin = PAPERS[practice.paper], practice.margin_mm
    whole = Column(
        left=margin, top=paper.height_mm - margin, width=paper.width_mm - 2 * margin, bottom=margin
    )
    foot, foot_top = _foot(command, practice, whole)
    marks, y = heading(title, whole, Paragraph("1:1", name="scale"))
    marks += _bars(whole, y)
    outside: list[str] = []
    top = y - _BAR_STRIP_MM
    for fit in fits:
        arch = build_arch(model, fit.jaw, *(side_row(fit.teeth, side) for side in SIDES))
        view = _view(arch, whole, top)
        marks += [*_sides(view), *draw_jaw(fit, arch, view, practice)]
        for (tooth, _), point in seen_points(fit, arch).items():
            if not view.shows(point):
                outside.append(f"A point of {write(tooth, practice.notation)}")
        top -= view.frame.height

    paragraphs: Sequence[Block] = _paragraphs(fits, outside, practice)
    right = whole.left + _BAR_STRIP_MM
    below = Column(left=right, top=top - 1.0, width=whole.width - _BAR_STRIP_MM, bottom=foot_top)
    pages: list[Page] = []
    while paragraphs or not pages:
        more, _, paragraphs = flow(paragraphs, below.halves(GAP_MM))
        pages.append(Page(paper.width_mm, paper.height_mm, (*marks, *more, *foot)))
        marks, y = heading(f"{title} (continued)", whole, Paragraph("1:1", name="scale"))
        below = whole.below(y).above(foot_top)
    return Document(title, command, tuple(pages))


def _view(arch: Arch, whole: Column, top: float) -> View:
    """All crowns of a jaw with room round them, across the page, from the top down."""
    ys = [y for place in arch.places for _, y in tooth_outline(place)]
    middle_x = whole.left + _BAR_STRIP_MM + (whole.width - _BAR_STRIP_MM) / 2
    height = max(ys) - min(ys) + 2 * _ROOM_MM
    frame = Box(PagePoint(middle_x, top - height / 2), whole.width - _BAR_STRIP_MM, height)
    return View(frame, PagePoint(middle_x, top - _ROOM_MM - max(ys)))


def _paragraphs(
    fits: Sequence[JawFit], outside: Sequence[str], practice: Practice
) -> list[Paragraph]:
    """How to use the page, the warnings, and the figures."""
    paragraphs = [Paragraph(_HOW_TO)]
    if any(fit.seen for fit in fits):
        paragraphs.append(Paragraph(_LANDMARKS))
    paragraphs.append(Paragraph(_WIDTHS, after_mm=2.0))
    warnings = [finding for fit in fits for finding in fit.findings if finding.severity != "info"]
    paragraphs += [Paragraph(f"! {finding.line}", bold=True) for finding in warnings]
    paragraphs += [Paragraph(f"! {point} lies off this picture.", bold=True) for point in outside]
    for fit in fits:
        paragraphs.append(Paragraph(f"{fit.jaw.capitalize()} jaw, mm", bold=True, with_next=True))
        paragraphs += [Paragraph(figure.sentence, after_mm=0.2) for figure in fit.figures]
    return [replace(paragraph, text=practice.numerals(paragraph.text)) for paragraph in paragraphs]


def _foot(command: str, practice: Practice, whole: Column) -> tuple[list[Mark], float]:
    """Who decides, the version and the recipe, the practice's name, and the y above them."""
    paragraphs = [
        Paragraph(RESPONSIBILITY, bold=True),
        Paragraph(f"sheetmark {__version__} · {command}", size=SMALL_MM, name="recipe"),
    ]
    bottom = whole.bottom + FOOT_LINE_MM
    top = bottom + height_of(paragraphs, whole.width)
    marks, _, _ = set_blocks(
        paragraphs, Column(left=whole.left, top=top, width=whole.width, bottom=bottom)
    )
    return [*marks, *practice_name(practice)], top + 1.0


def _sides(view: View) -> list[Mark]:
    """R and L, the patient's, in the upper corners of the picture."""
    y = view.frame.centre[1] + view.frame.height / 2 - CAP_HEIGHT * _SIDE_SIZE_MM - _ROOM_MM
    half = view.frame.width / 2 - _SIDE_SIZE_MM
    return [
        lettered(
            PagePoint(view.middle[0] + x, y),
            letter,
            _SIDE_SIZE_MM,
            f"side-{letter}",
            "middle",
            True,
        )
        for x, letter in ((-half, "R"), (half, "L"))
    ]


def _bars(whole: Column, top: float) -> list[Mark]:
    """A 100 mm bar across and one down, each with its words."""
    text, half = f"this bar is {BAR_MM:g} mm", BAR_MM / 2
    middle, y = whole.left + whole.width / 2, top - _BAR_STRIP_MM / 2
    x, down = whole.left + _BAR_STRIP_MM / 2, top - _BAR_STRIP_MM - half
    return [
        *bar(PagePoint(middle - half, y), PagePoint(middle + half, y), "bar-x"),
        lettered(PagePoint(middle, y + 1.2), text, BODY_MM, "bar-x-words", "middle"),
        *bar(PagePoint(x, down - half), PagePoint(x, down + half), "bar-y"),
        lettered(PagePoint(x - 1.2, down), text, BODY_MM, "bar-y-words", "middle", angle=90.0),
    ]
