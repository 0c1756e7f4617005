"""The sheet for a screen: on its own, or lying on the arch, which shows why the middle moves.

Drawn at true size, but a screen knows no millimetres: only the PDF is printed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from sheetmark.anatomy.jaw import Place
from sheetmark.base.frames import MouthPoint, PagePoint, Size, mouth_to_page
from sheetmark.documents.case.sheet import draw_sheet, tooth_outline
from sheetmark.documents.parts import title
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.dashes import dashed
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import FAINT, Document, Mark, Page, Polygon

_MARGIN_MM = 3.0
_TOOTH_LINE_MM = 0.3
_MIDLINE_MM = 0.25
_OTHER_LINE_MM = 0.35
_DASHES = 24
_WORD_MM = 4.5
_OFF_EDGE_MM = 1.5


def sheet_alone(plan: Plan) -> Document:
    """The sheet with all its marks and a narrow edge round it."""
    w, h = plan.sheet.width_mm, plan.sheet.height_mm
    at = PagePoint(_MARGIN_MM + w / 2, _MARGIN_MM + h / 2)
    marks = draw_sheet(replace(plan, sheet_centre_on_page_mm=at))
    page = Page(w + 2 * _MARGIN_MM, h + 2 * _MARGIN_MM, marks)
    return Document(title(plan), plan.command, (page,))


def sheet_on_arch(
    plan: Plan, other_jaw: Sequence[Place], others: Mapping[str, MouthPoint]
) -> Document:
    """The sheet with its holes over the teeth, both jaws under it, and the mouth's midline.

    `others` are other places of the sheet's middle by name, mouth frame: their outlines, dashed.
    """
    own = [plan.standing(tooth) for tooth in plan.isolation.mouth]
    outlines = {place.tooth.iso: tooth_outline(place) for place in (*own, *other_jaw)}
    half = Size(plan.sheet.width_mm / 2, plan.sheet.height_mm / 2)
    corners = [point for outline in outlines.values() for point in outline]
    for x, y in (plan.shift_mm, *others.values()):
        corners += [MouthPoint(x - half[0], y - half[1]), MouthPoint(x + half[0], y + half[1])]
    left, low = (min(p[i] for p in corners) - _MARGIN_MM for i in (0, 1))
    right, high = (max(p[i] for p in corners) + _MARGIN_MM for i in (0, 1))

    mouth_middle = PagePoint(-left, -low)

    def at(point: MouthPoint) -> PagePoint:
        return mouth_to_page(point, mouth_middle)

    marks: list[Mark] = [
        Polygon(tuple(map(at, outline)), _TOOTH_LINE_MM, f"tooth-{iso}", grey=FAINT)
        for iso, outline in outlines.items()
    ]
    ends = (at(MouthPoint(0.0, low)), at(MouthPoint(0.0, high)))
    marks += dashed(*ends, _MIDLINE_MM, "midline", _DASHES)
    for name, shift in others.items():
        marks += _other(name, at(shift), half)
    drawn = draw_sheet(replace(plan, sheet_centre_on_page_mm=at(plan.shift_mm)))
    # The other teeth are there already, and the words of odd teeth would stand on them.
    marks += [mark for mark in drawn if not mark.name.startswith(("tooth-", "state-"))]
    page = Page(right - left, high - low, tuple(marks))
    return Document(title(plan), plan.command, (page,))


def _other(name: str, middle: PagePoint, half: Size) -> list[Mark]:
    """The dashed outline of a sheet that is placed otherwise, named in its lower right corner."""
    (x, y), (w, h) = middle, half
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = [PagePoint(x + across * w, y + up * h) for across, up in signs]
    marks: list[Mark] = []
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        marks += dashed(start, end, _OTHER_LINE_MM, f"sheet-{name}", _DASHES)
    at = PagePoint(x + w - _OFF_EDGE_MM, y - h + _OFF_EDGE_MM)
    return [*marks, lettered(at, name, _WORD_MM, f"sheet-{name}", "right")]
