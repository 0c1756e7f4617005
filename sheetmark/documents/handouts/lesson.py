"""What the pages of all handouts share: title, bars, foot with cautions and sources."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from sheetmark.anatomy.arch_model import ArchModel, crowns
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.base.frames import PagePoint
from sheetmark.documents.case.overlay import BAR_MM, sheet_bars, sheet_bottom
from sheetmark.documents.parts import foot_of, heading, room
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import BAR_STRIP_MM, PAPERS, Practice
from sheetmark.typesetting.bars import bar
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import BODY_MM, Column, Paragraph

TRUE_SCALE = "1:1"
NO_SCALE = "not to scale"


class Lesson(Struct, frozen=True):
    """A handout to be drawn: its model and settings, and the command that makes it again."""

    model: ArchModel
    practice: Practice
    command: str

    def page(self, marks: Sequence[Mark]) -> Page:
        """A page of the practice's paper with these marks."""
        paper = PAPERS[self.practice.paper]
        return Page(paper.width_mm, paper.height_mm, tuple(marks))

    def paragraph(self, text: str, **how: object) -> Paragraph:
        """A paragraph with the practice's decimal sign."""
        return Paragraph(self.practice.numerals(text), **how)  # type: ignore[arg-type]

    def leaf(self, title: str, scale: str, sources: Sequence[str]) -> tuple[list[Mark], Column]:
        """Title and foot of a page, and the room between them."""
        marks, bottom = foot_of(self.practice, self.command, sources)
        head, y = heading(title, room(self.practice), Paragraph(scale, name="scale"))
        return [*marks, *head], room(self.practice).below(y).above(bottom)

    def sheet_leaf(
        self, title: str, plan: Plan, sources: Sequence[str], strip_mm: float = 2.0
    ) -> tuple[list[Mark], Column]:
        """Bars, title and foot of a page with a sheet at true scale, and the room below it.

        `strip_mm` below the sheet stays free.
        """
        marks, bottom = foot_of(self.practice, self.command, sources)
        below = room(self.practice).below(sheet_bottom(plan) - strip_mm).above(bottom)
        head, y = heading(title, below, Paragraph(TRUE_SCALE, name="scale"))
        return [*marks, *sheet_bars(plan), *head], below.below(y)

    @property
    def arch_sources(self) -> tuple[str, ...]:
        """The arch model's sources, a line each."""
        return tuple(f"Arch: {text}" for text in self.model.sources.values())

    @property
    def gum_line_sources(self) -> tuple[str, ...]:
        """The sources of the row of gum-line centres, a line each."""
        return tuple(f"Gum line: {text}" for text in gum_line_table().sources.values())

    @property
    def crown_sources(self) -> tuple[str, ...]:
        """The sources of crowns and necks, a line each."""
        return tuple(f"Necks and crowns: {text}" for text in crowns().sources.values())


def bars_along(column: Column) -> tuple[list[Mark], Column]:
    """The 100 mm bars at the top and the left of a page, and the room beside them."""
    half, text = BAR_MM / 2, f"this bar is {BAR_MM:g} mm"
    x, y = column.left + column.width / 2, column.top - BAR_STRIP_MM / 2
    left, middle = column.left + BAR_STRIP_MM / 2, column.top - BAR_STRIP_MM - half
    marks = [
        *bar(PagePoint(x - half, y), PagePoint(x + half, y), "bar-x"),
        lettered(PagePoint(x, y + 1.2), text, BODY_MM, "bar-x-words", "middle"),
        *bar(PagePoint(left, middle - half), PagePoint(left, middle + half), "bar-y"),
        lettered(PagePoint(left - 1.2, middle), text, BODY_MM, "bar-y-words", "middle", angle=90.0),
    ]
    rest = Column(
        left=column.left + BAR_STRIP_MM,
        top=column.top - BAR_STRIP_MM,
        width=column.width - BAR_STRIP_MM,
        bottom=column.bottom,
    )
    return marks, rest


def polyline(points: Sequence[PagePoint], width: float, name: str) -> list[Mark]:
    """Lines of one width from point to point, mm on the page."""
    return [Line(a, b, width, name) for a, b in pairwise(points)]


def arrow(
    start: PagePoint, end: PagePoint, name: str, *, both: bool = False, times: float = 1.0
) -> list[Mark]:
    """A line with a filled head at its end, or at both; `times` as thick and its head as large."""
    marks: list[Mark] = [Line(start, end, 0.35 * times, name), _head(start, end, name, times)]
    return [*marks, _head(end, start, name, times)] if both else marks


def _head(start: PagePoint, end: PagePoint, name: str, times: float) -> Mark:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / length, dy / length
    long, half = 2.4 * times, 0.9 * times
    back = (end[0] - long * ux, end[1] - long * uy)
    points = (
        end,
        PagePoint(back[0] - half * uy, back[1] + half * ux),
        PagePoint(back[0] + half * uy, back[1] - half * ux),
    )
    return Polygon(points, 0.1, name, filled=True)
