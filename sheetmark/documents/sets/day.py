"""The day's list: the tray plan in front, then the pages of each case.

The tray plan is made last, when every case has been laid out, and stands first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.day.records import Problem
from sheetmark.day.rows import clock
from sheetmark.day.tray import Clash, DayPlan, Visit
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.parts import MORE, foot_of, heading, room
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import PAPERS
from sheetmark.typesetting.lettering import lettered, missing_glyphs, text_width, wrapped
from sheetmark.typesetting.marks import Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import FIRST_BASELINE, LEADING, Block, Column, Paragraph, flow

TITLE = "The day"
_HEAD_MM = 4.8
_CELL_MM = 3.9
_BOX_MM = 3.2
_BOX_ROOM_MM = 6.0
_BETWEEN_MM = 3.0
_RULE_MM = 0.25
# Shares of the page's width for the columns of each table.
_LEFT_OUT = (0.08, 0.14, 0.26, 0.52)
_SHEETS = (0.12, 0.88)
_CLAMPS = (0.12, 0.12, 0.16, 0.6)
_CLASHES = (0.1, 0.1, 0.12, 0.68)
_CASES = (0.08, 0.1, 0.19, 0.18, 0.34, 0.11)


def case_key(row: int) -> str:
    """The key of the first page of a row's case, to which its line on the tray plan leads."""
    return f"row-{row}"


def case_pages(plan: Plan, *, card: bool = False) -> tuple[Page, ...]:
    """The overlay of one case, with its card behind it if `card`, or where its text does not fit.

    Raises InputError where the font cannot write the reference, or a page has no room for the text.
    """
    reference = plan.case.reference
    missing = ", ".join(missing_glyphs(reference))
    if missing:
        raise InputError(
            f"reference {reference!r}: the font has no glyph for {missing}; "
            f"write it with other letters"
        )
    return overlay(plan, card=card).pages


def tray_pages(day: DayPlan, first_pages: Sequence[int]) -> Iterator[Page]:
    """The tray plan, as many pages as it needs; `first_pages` counts the pages of the cases
    before each one, from 0."""
    paper = PAPERS[day.practice.paper]
    count = sum(1 for _ in _pages(day, [0] * len(first_pages)))
    for marks in _pages(day, [count + number + 1 for number in first_pages]):
        yield Page(paper.width_mm, paper.height_mm, tuple(marks))


def _pages(day: DayPlan, numbers: Sequence[int]) -> Iterator[list[Mark]]:
    cases = len(day.visits)
    page_title = f"{_when(day)} · {cases} {'case' if cases == 1 else 'cases'}"
    rest: Sequence[Block] = tuple(_blocks(day, numbers))
    while rest:
        marks, bottom = foot_of(day.practice, day.command)
        column = room(day.practice).above(bottom + 1.0)
        more, y = heading(page_title, column, Paragraph("tray plan", name="aside"))
        body, _, left_over = flow(rest, [column.below(y)])
        if left_over:
            top = column.bottom + MORE.height(column.width)
            body, _, left_over = flow(rest, [column.below(y).above(top)])
            body += MORE.marks(column.below(top))
        assert left_over != rest, "every page takes some of what is left"
        yield [*marks, *more, *body]
        rest, page_title = left_over, f"{_when(day)} (continued)"


def _when(day: DayPlan) -> str:
    """The day in words, or what stands for it; without the system's language and on any system."""
    if day.day is None:
        return TITLE
    return f"{day.day:%A}, {day.day.day} {day.day:%B} {day.day.year}"


def _blocks(day: DayPlan, numbers: Sequence[int]) -> Iterator[Block]:
    if day.day is None:
        yield Paragraph(f"Date: {'_' * 24}", size=_CELL_MM, after_mm=1.6, name="date")
    if day.left_out:
        rows = len({problem.row for problem in day.left_out})
        what = "1 row has" if rows == 1 else f"{rows} rows have"
        yield Paragraph(f"! Left out: {what} no page", bold=True, size=_HEAD_MM, after_mm=1.0)
        yield from _table(
            _LEFT_OUT,
            ("Row", "Column", "Value", "What to do"),
            [_problem(problem) for problem in day.left_out],
        )
    if day.remarks:
        yield _head("Check these rows")
        yield from _table(
            _LEFT_OUT,
            ("Row", "Column", "Value", "What to check"),
            [_problem(problem) for problem in day.remarks],
        )
    if day.notes:
        yield Paragraph(f"How the list was read: {'; '.join(day.notes)}.", before_mm=1.6)
    if day.visits:
        yield from _tray(day)
        yield _head("Cases")
        yield from _table(
            _CASES,
            ("Row", "Time", "Reference", "Teeth", "Clamps", "Page"),
            [_case(visit, page) for visit, page in zip(day.visits, numbers, strict=True)],
            ticked=True,
            links=[case_key(visit.row) for visit in day.visits],
        )


def _tray(day: DayPlan) -> Iterator[Block]:
    number = day.practice.numerals
    yield _head("Sheets")
    sheets = [(f"{count}", number(sheet)) for sheet, count in day.sheets]
    yield from _table(_SHEETS, ("Number", "Sheet"), sheets, ticked=True)
    yield _head("Clamps")
    yield from _table(
        _CLAMPS,
        ("Wanted", "In tray", "Most at once", "Clamp"),
        [
            (
                f"{use.wanted}",
                f"{use.count}" if use.count else "–",
                f"{use.most_at_once}" if use.count and use.untimed < use.wanted else "–",
                use.label if use.count else f"! {use.label}",
            )
            for use in day.clamps
        ],
        ticked=True,
    )
    minutes = day.practice.tray_turn_round_min
    yield Paragraph(
        f"A clamp is ready again {minutes} minutes after the time of its case.", before_mm=0.6
    )
    untimed = sum(visit.minute is None for visit in day.visits)
    if untimed:
        without = "1 case has" if untimed == 1 else f"{untimed} cases have"
        yield Paragraph(
            f"! {without} no time, so clashes with other cases cannot be found.",
            bold=True,
        )
    if day.clashes:
        yield _head("! Clashes: wanted again before it is sterilised")
        yield from _table(
            _CLASHES,
            ("Time", "Row", "Tooth", "Clamp"),
            [
                (
                    clock(clash.minute),
                    f"{clash.row}",
                    clash.anchor,
                    clash_text(clash),
                )
                for clash in day.clashes
            ],
        )
    elif untimed < len(day.visits):
        whose = "Of the cases with a time, no" if untimed else "No"
        yield Paragraph(f"{whose} clamp is wanted again before it is ready.")


def clash_text(clash: Clash) -> str:
    """Why a clamp is not ready when it is wanted, and what is free in its place."""
    instead = f"Free: {clash.instead}." if clash.instead else "No other fits and is free."
    return f"{clash.label}: {_all(clash.count)} out, {_back(clash.back)}. {instead}"


def _all(count: int) -> str:
    return "the only one is" if count == 1 else f"all {count} are"


def _back(minute: int) -> str:
    return f"the next is ready at {clock(minute)}" if minute < 1440 else "none is ready that day"


def _problem(problem: Problem) -> tuple[str, ...]:
    return (f"{problem.row}", problem.column or "–", problem.value or "–", problem.advice)


def _case(visit: Visit, page: int) -> tuple[str, ...]:
    clamps = (f"{wish.anchor} {wish.labels[0] if wish.labels else '!'}" for wish in visit.wishes)
    return (
        f"{visit.row}",
        "–" if visit.minute is None else clock(visit.minute),
        visit.reference or "–",
        f"{visit.teeth} · {visit.procedure}",
        "; ".join(clamps),
        f"{page}",
    )


def _head(text: str) -> Paragraph:
    return Paragraph(
        text, bold=True, size=_HEAD_MM, after_mm=1.0, name="head", before_mm=3.0, with_next=True
    )


def _table(
    shares: Sequence[float],
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    ticked: bool = False,
    links: Sequence[str] = (),
) -> Iterator[Block]:
    """A heading and rows; `ticked` rows begin with a box to tick, and lead to pages by `links`."""
    indent = _BOX_ROOM_MM if ticked else 0.0
    yield TableRow(tuple(shares), tuple(head), bold=True, with_next=True, indent_mm=indent)
    for number, row in enumerate(rows):
        cells = tuple(writable(cell) for cell in row)
        link = links[number] if links else ""
        yield TableRow(tuple(shares), cells, box=ticked, indent_mm=indent, link=link)


def _box(at: PagePoint) -> Polygon:
    """A box to tick; `at` is its lower left corner, on the baseline of its row."""
    x, y = at
    corners = ((x, y), (x + _BOX_MM, y), (x + _BOX_MM, y + _BOX_MM), (x, y + _BOX_MM))
    return Polygon(tuple(PagePoint(*corner) for corner in corners), _RULE_MM, "tick-box")


def writable(text: str) -> str:
    """The text with each letter that the font cannot write replaced by its code."""
    if not missing_glyphs(text):
        return text
    return "".join(f"U+{ord(c):04X}" if missing_glyphs(c) else c for c in text)


class TableRow(Struct, frozen=True):
    """Cells side by side, each in lines of its own width, above a thin line."""

    shares: tuple[float, ...]
    cells: tuple[str, ...]
    bold: bool = False
    after_mm: float = 0.0
    with_next: bool = False
    box: bool = False
    """Whether a box to tick stands in the indent."""
    indent_mm: float = 0.0
    link: str = ""
    """The key of the page that its last cell leads to."""

    def _lines(self, width: float) -> list[tuple[str, ...]]:
        rooms = [share * (width - self.indent_mm) - _BETWEEN_MM for share in self.shares]
        return [
            (cell,)  # as most are
            if text_width(cell, _CELL_MM, self.bold) <= room
            else wrapped(cell, _CELL_MM, room, self.bold)
            for room, cell in zip(rooms, self.cells, strict=True)
        ]

    def height(self, width: float) -> float:
        """Height in mm in a column of that width in mm."""
        return max(len(lines) for lines in self._lines(width)) * _CELL_MM * LEADING + 0.8

    def marks(self, column: Column) -> list[Mark]:
        """The row at the top of the column, page frame."""
        marks: list[Mark] = []
        x, lowest = column.left + self.indent_mm, column.top
        width = column.width - self.indent_mm
        if self.box:
            marks.append(_box(PagePoint(column.left, column.top - FIRST_BASELINE * _CELL_MM)))
        links = [*[""] * (len(self.cells) - 1), self.link]
        for share, lines, link in zip(self.shares, self._lines(column.width), links, strict=True):
            y = column.top
            for line in lines:
                at = PagePoint(x, y - FIRST_BASELINE * _CELL_MM)
                marks.append(lettered(at, line, _CELL_MM, "table-cell", bold=self.bold, link=link))
                y -= _CELL_MM * LEADING
            x, lowest = x + share * width, min(lowest, y)
        y = lowest - 0.4
        marks.append(
            Line(
                PagePoint(column.left, y),
                PagePoint(column.left + column.width, y),
                _RULE_MM,
                "table",
            )
        )
        return marks
