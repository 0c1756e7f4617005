"""What each mark of a page covers, as shapely areas in mm, and what must keep apart.

Text covers its measured length, by the height that its own letters have in the font as Pillow
measures them: apart from the code that finds room for labels.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import combinations

from msgspec import Struct
from PIL import ImageFont
from shapely import Geometry, STRtree, box
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon

from sheetmark.plan.plan import Plan
from sheetmark.typesetting import marks
from sheetmark.typesetting.lettering import font_file
from sheetmark.typesetting.marks import Mark, Page

_UNITS = 1000  # Pillow measures at this size; shares of it are exact to a thousandth of the size


class Covered(Struct, frozen=True):
    """A mark, what it covers, and what it belongs to: the parts of one label are one."""

    mark: Mark
    area: Geometry

    @property
    def belongs(self) -> str:
        return self.mark.name.removesuffix("-bracket").removesuffix("-end").removesuffix("-words")

    @property
    def is_text(self) -> bool:
        return isinstance(self.mark, marks.Text)

    @property
    def is_label(self) -> bool:
        """What must be read beside a hole or at the sheet's edge, Palmer's bracket with it."""
        return self.is_text or self.mark.name.endswith("-bracket")


@cache
def _face(bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(font_file(bold)), _UNITS)


@cache
def ink(text: str, bold: bool) -> tuple[float, float]:
    """How far the letters reach above and below the baseline (negative), in font sizes."""
    _, top, _, bottom = _face(bold).getbbox(text, anchor="ls")
    return -top / _UNITS, -bottom / _UNITS


@lru_cache(maxsize=50_000)  # pages share most of their words and lines
def covered(mark: Mark) -> Geometry:
    """The area of paper that the mark blackens; for text the upright box of its letters."""
    match mark:
        case marks.Disc(centre, diameter):
            return Point(centre).buffer(diameter / 2, 32)
        case marks.Ring(centre, diameter, width):
            edge = Point(centre).buffer(diameter / 2, 32).boundary
            return edge.buffer(width / 2)
        case marks.Line(start, end, width):
            return LineString([start, end]).buffer(width / 2, cap_style="flat")
        case marks.Polygon(points, width, _, _, filled):
            edge = Polygon(points).exterior.buffer(width / 2, join_style="mitre")
            return edge.union(Polygon(points)) if filled else edge
        case marks.Text():
            return _text_area(mark)


def _text_area(mark: marks.Text) -> Geometry:
    up, down = ink(mark.text, mark.bold)
    left = mark.at[0] - {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.align] * mark.width
    low, high = mark.at[1] + down * mark.size, mark.at[1] + up * mark.size
    return rotate(box(left, low, left + mark.width, high), mark.angle, origin=mark.at)


def areas(page: Page) -> tuple[Covered, ...]:
    return tuple(Covered(mark, covered(mark)) for mark in page.marks)


def faults(plan: Plan, page: Page, number: int) -> Iterator[str]:
    """Every breach on one page of a document: what touches what, what leaves the margins."""
    on_page = areas(page)
    yield from _touching(on_page)
    margin = plan.practice.margin_mm
    paper = box(0, 0, page.width, page.height).buffer(-margin + 1e-6, join_style="mitre")
    for mark in on_page:
        if not paper.covers(mark.area):
            over = [round(x, 2) for x in mark.area.bounds]
            yield f"{_named(mark)} reaches over the {margin:g} mm margin: {over}"
    if number == 0:
        yield from _across_the_edge(plan, on_page)


def _touching(on_page: tuple[Covered, ...]) -> Iterator[str]:
    tree = STRtree([mark.area for mark in on_page])
    for i, mark in enumerate(on_page):
        if not mark.is_label:
            continue
        for j in tree.query(mark.area, predicate="intersects"):
            other = on_page[int(j)]
            # A pair of labels is looked at once; the parts of one label may touch.
            if (other.is_label and j <= i) or (mark.belongs == other.belongs and not mark.is_text):
                continue
            yield f"{_named(mark)} touches {_named(other)}"


def _across_the_edge(plan: Plan, on_page: tuple[Covered, ...]) -> Iterator[str]:
    """Words stand wholly on the sheet or wholly off it."""
    (x, y), sheet = plan.sheet_centre_on_page_mm, plan.sheet
    w, h = sheet.width_mm / 2, sheet.height_mm / 2
    rubber = box(x - w, y - h, x + w, y + h)
    for mark in on_page:
        if mark.is_text and mark.area.intersects(rubber) != rubber.covers(mark.area):
            yield f"{_named(mark)} lies across the sheet's edge"


def symbol_faults(page: Page) -> Iterator[str]:
    """Every hole that is not free: disc, ring, square, diamond or dot that touch one another.

    The lines of one tooth's square and diamond cross on purpose.
    """
    on_page = areas(page)
    discs = [mark for mark in on_page if _kind(mark) in ("hole", "dot")]
    shapes = [mark for mark in on_page if _kind(mark) in ("exposed", "anchor", "treated")]
    for mark, other in combinations([*discs, *shapes], 2):
        same = mark.mark.name.split("-")[1:] == other.mark.name.split("-")[1:]
        if same and mark in shapes and other in shapes:
            continue
        if mark.area.intersects(other.area):
            yield f"{_named(mark)} touches {_named(other)}"


def _kind(mark: Covered) -> str:
    """What a mark on the sheet is; the table and the legend have shapes of the same names."""
    kind, _, tooth = mark.mark.name.partition("-")
    return kind if tooth.isdigit() or kind == "dot" else ""


def _named(mark: Covered) -> str:
    if isinstance(mark.mark, marks.Text):
        return f"{mark.mark.name} {mark.mark.text!r}"
    return mark.mark.name
