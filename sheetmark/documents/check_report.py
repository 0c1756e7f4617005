"""The report of a checked sheet: planned places and found holes at true scale, table, verdict."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from sheetmark.base.frames import PagePoint, SheetPoint, sheet_to_page
from sheetmark.checking.result import Check, HoleCheck
from sheetmark.checking.wording import headline, place_text, remarks, size_text, where
from sheetmark.documents.parts import cell, foot_of, heading, room
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.typesetting.dashes import dashed
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import FAINT, Disc, Document, Line, Mark, Page, Polygon, Ring
from sheetmark.typesetting.paragraphs import (
    BODY_MM,
    SMALL_MM,
    Block,
    Column,
    Paragraph,
    set_blocks,
)

_COLUMNS: tuple[tuple[str, float], ...] = (
    ("Tooth", 16.0),
    ("Off mm", 24.0),
    ("Where to", 0.0),
    ("Own mm", 18.0),
    ("Place", 24.0),
    ("Hole mm", 20.0),
    ("Planned mm", 21.0),
)
_ROW_MM = 5.2
_FACT_MM = 2.9
_LABEL_OFF_MM = 1.2
LIMITS = (
    "Own: what is left of a hole's error after the pattern's shift and turn as a whole. "
    "±: how far off the photograph may be, in 95 of 100 (made photographs, 0.3 mm of lift: "
    "assumption).",
    "A photograph measures; the eye decides. Hold the sheet up and look at each hole.",
)


def check_report(check: Check, practice: Practice) -> Document:
    """One page, and more where the table is long."""
    column = room(practice)
    title = f"Check · {check.wanted.name}"
    marks, bottom = foot_of(practice, check.wanted.command)
    top, y = heading(title, column, Paragraph("1:1", name="scale"))
    marks += top
    paper = PAPERS[practice.paper]
    verdict = Paragraph(practice.numerals(headline(check)), bold=True, after_mm=1.5)
    more, y, _ = set_blocks([verdict], column.below(y))
    marks += more
    picture, y = _picture(check, column.below(y))
    marks += picture
    table, y, over = _table(check, check.holes, practice, column.below(y - 3.0).above(bottom))
    marks += table
    notes = [
        Paragraph(practice.numerals(text), after_mm=0.8) for text in (*remarks(check), *LIMITS)
    ]
    more, _, left = set_blocks([] if over else notes, column.below(y - 2.0).above(bottom))
    pages = [Page(paper.width_mm, paper.height_mm, tuple(marks + more))]
    rest = notes if over else left
    if over or rest:
        pages.append(_second(check, over, rest, practice, title))
    return Document(title, check.wanted.command, tuple(pages))


def _second(
    check: Check,
    over: tuple[HoleCheck, ...],
    rest: Sequence[Block],
    practice: Practice,
    title: str,
) -> Page:
    paper, column = PAPERS[practice.paper], room(practice)
    marks, bottom = foot_of(practice, check.wanted.command)
    top, y = heading(f"{title} · page 2", column, Paragraph("", name="scale"))
    table, y, _ = (
        _table(check, over, practice, column.below(y).above(bottom))
        if over
        else (
            [],
            y,
            (),
        )
    )
    more, _, left = set_blocks(rest, column.below(y - 2.0).above(bottom))
    assert not left, "a check's remarks fit two pages"
    return Page(paper.width_mm, paper.height_mm, (*marks, *top, *table, *more))


def _picture(check: Check, column: Column) -> tuple[list[Mark], float]:
    """The part of the sheet where holes are, at true scale: rings for places, discs for holes."""
    places = [hole.wanted.at for hole in check.holes]
    found = [h.at for h in check.holes if h.at is not None] + [e.at for e in check.extra]
    xs = [point.x for point in (*places, *found)]
    ys = [point.y for point in (*places, *found)]
    reach = check.tolerance_mm + 8.0
    left, right, low, high = min(xs) - reach, max(xs) + reach, min(ys) - reach, max(ys) + reach
    most = 95.0
    if high - low > most:
        middle = (min(p.y for p in places) + max(p.y for p in places)) / 2
        low, high = middle - most / 2, middle + most / 2
    centre = PagePoint(column.left + column.width / 2 - (left + right) / 2, column.top - 1.0 - high)

    def at(point: SheetPoint) -> PagePoint:
        return sheet_to_page(point, centre)

    corners = [
        SheetPoint(x, y) for x, y in ((left, low), (right, low), (right, high), (left, high))
    ]
    marks: list[Mark] = [Polygon(tuple(map(at, corners)), 0.2, "part", grey=FAINT)]
    for hole in check.holes:
        marks += _place(check, hole, at(hole.wanted.at))
        if hole.at is not None and hole.found is not None and low < hole.at.y < high:
            marks.append(
                Disc(at(hole.at), hole.found.diameter_mm, f"found-{hole.wanted.tooth.iso}")
            )
            marks.append(Line(at(hole.wanted.at), at(hole.at), 0.25, "off"))
    for extra in check.extra:
        if low < extra.at.y < high:
            marks += _cross(at(extra.at), extra.diameter_mm / 2 + 1.0)
    for letter, x in (("R", left + 3.0), ("L", right - 3.0)):
        marks.append(
            lettered(
                at(SheetPoint(x, high - 4.5)), letter, 4.2, f"side-{letter}", "middle", bold=True
            )
        )
    key = "ring: tolerance round the place · disc: the hole found · cross: a hole too many"
    below = at(SheetPoint((left + right) / 2, low))
    marks.append(lettered(PagePoint(below.x, below.y - 3.6), key, _FACT_MM, "key", "middle"))
    return marks, below.y - 4.6


def _place(check: Check, hole: HoleCheck, at: PagePoint) -> list[Mark]:
    name = check.wanted.written(hole.wanted.tooth)
    r = check.tolerance_mm
    marks: list[Mark] = [Ring(at, 2 * r, 0.25, f"place-{hole.wanted.tooth.iso}")]
    if hole.found is None and not hole.cut:
        # A dashed cross of lines: nothing is there.
        for dx, dy in ((r, 0.0), (0.0, r)):
            ends = PagePoint(at.x - dx, at.y - dy), PagePoint(at.x + dx, at.y + dy)
            marks += dashed(*ends, 0.25, "missing", 4)
    label = PagePoint(at.x + r + _LABEL_OFF_MM, at.y - 0.33 * BODY_MM)
    marks.append(lettered(label, name, BODY_MM, f"number-{hole.wanted.tooth.iso}", bold=True))
    return marks


def _cross(at: PagePoint, half: float) -> list[Mark]:
    return [
        Line(
            PagePoint(at.x - half, at.y - s * half),
            PagePoint(at.x + half, at.y + s * half),
            0.5,
            "too-many",
        )
        for s in (-1, 1)
    ]


def _table(
    check: Check, holes: tuple[HoleCheck, ...], practice: Practice, column: Column
) -> tuple[list[Mark], float, tuple[HoleCheck, ...]]:
    """A row for each hole; the y below, and the holes that found no room."""
    wide = column.width - fsum(width for _, width in _COLUMNS)
    widths = [width or wide for _, width in _COLUMNS]
    rows = int((column.top - column.bottom) / _ROW_MM) - 1
    shown, over = holes[: max(rows, 0)], holes[max(rows, 0) :]
    cells = [[name for name, _ in _COLUMNS]]
    cells += [[practice.numerals(text) for text in _row(check, hole)] for hole in shown]
    marks: list[Mark] = []
    y = column.top
    for number, row in enumerate(cells):
        x = column.left
        for text, width in zip(row, widths, strict=True):
            size = SMALL_MM if len(text) > 34 else _FACT_MM
            marks.append(cell(text, PagePoint(x + width / 2, y - _ROW_MM / 2), size, number == 0))
            x += width
        y -= _ROW_MM
        end = PagePoint(column.left + column.width, y)
        marks.append(Line(PagePoint(column.left, y), end, 0.2, "table"))
    return marks, y, over


def _row(check: Check, hole: HoleCheck) -> list[str]:
    tooth = check.wanted.written(hole.wanted.tooth)
    if hole.found is None or hole.off_mm is None or hole.distance_mm is None:
        where_to = "not judged: cut into a slit" if hole.cut else "no hole found"
        planned = f"{hole.wanted.diameter_mm:g}"
        return [tooth, "–", where_to, "–", place_text(check, hole), "–", planned]
    size = size_text(hole)
    own = "–" if hole.own_mm is None else f"{hole.own_mm:.1f}"
    return [
        tooth,
        f"{hole.distance_mm:.1f} ± {hole.uncertain_mm:.1f}",
        where(hole.off_mm) if size.startswith("right") else f"hole {size}",
        own,
        place_text(check, hole),
        f"{hole.found.diameter_mm:.1f}",
        f"{hole.wanted.diameter_mm:g}",
    ]
