"""The case card: what to fetch, the holes in punching order, the steps, for one case."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Notation
from sheetmark.base.frames import PagePoint
from sheetmark.documents.case.order import (
    PunchTurn,
    clamps_in_turn,
    gum_line,
    punching_order,
    slits,
)
from sheetmark.documents.case.steps.before import before
from sheetmark.documents.case.steps.fetch import fetch
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.sheet import prepare_sheet
from sheetmark.documents.case.steps.step import Step
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.documents.parts import (
    GAP_MM,
    MORE,
    cell,
    findings,
    foot,
    heading,
    page,
    printable,
    title,
)
from sheetmark.documents.symbols import tooth_label
from sheetmark.plan.clamps import AnchorClamps, Retractor, together
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Line, Mark, Page
from sheetmark.typesetting.paragraphs import (
    BODY_MM,
    LEADING,
    Block,
    Column,
    Paragraph,
    flow,
)

# Read at arm's length, with gloves on.
STEP_MM = 4.2
_HEAD_MM = 4.8
_HEAD_BEFORE_MM = 4.0
_INDENT_MM = 7.0
_AFTER_MM = 1.3
_REASON_MM = 3.2
_BOX = "☐"

_POSITION_MM = 15.0
_DIAMETER_MM = 15.0
_TOOTH_STEP_MM = 10.0
_TOOTH_MM = 4.8
_ROW_MM = 6.6
_RULE_MM = 0.25


def card(plan: Plan) -> Document:
    """The case card alone."""
    return Document(f"{title(plan)} · case card", plan.command, tuple(card_pages(plan)))


def card_pages(plan: Plan, left_over: Sequence[Block] = ()) -> list[Page]:
    """One page, or one to get ready by and one for the chair; `left_over` is what other pages
    had no room for."""
    found = findings(plan)
    blocks = (*([_head("In this case")] if found else []), *found, *left_over)
    left, right = _streams(plan)
    marks, rest = _page(plan, title(plan), "case card", (*left, *blocks), right)
    if not any(rest):
        return [page(plan, marks)]
    ready = _pages(
        plan, "case card: prepare", (*_ask(plan), *blocks), _get(plan, 0.0), more_follows=True
    )
    return [*ready, *_pages(plan, "case card: at the chair", _on(plan), _off(plan, 0.0))]


def card_below(plan: Plan, column: Column) -> list[Mark] | None:
    """The card at full size in the room left on another page; None where it does not fit.

    Below a sheet on A4 or letter it never does.
    """
    left, right = _streams(plan)
    marks, _, left_over = flow((*left, *right), column.halves(GAP_MM))
    return None if left_over else marks


def _pages(
    plan: Plan,
    aside: str,
    left: Sequence[Block],
    right: Sequence[Block],
    *,
    more_follows: bool = False,
) -> list[Page]:
    """As many pages as the two streams need."""
    page_title, rest, pages = title(plan), (left, right), []
    while any(rest):
        marks, shorter = _page(plan, page_title, aside, *rest, more_follows=more_follows)
        assert shorter != rest, "every page takes some of what is left"
        pages.append(page(plan, marks))
        page_title, rest = f"{title(plan)} (continued)", shorter
    return pages


def _page(
    plan: Plan,
    page_title: str,
    aside: str,
    left: Sequence[Block],
    right: Sequence[Block],
    *,
    more_follows: bool = False,
) -> tuple[list[Mark], tuple[Sequence[Block], Sequence[Block]]]:
    """A page with a stream of blocks in each column; a single stream takes both columns.

    Returns the marks, and what is left of each stream. A last line points to the next page where
    anything is left.
    """
    marks, bottom = foot(plan)
    column = printable(plan).above(bottom)
    more, y = heading(page_title, column, Paragraph(aside, name="aside"))
    marks += more
    first, second = column.below(y).halves(GAP_MM)
    pointer_top = bottom + MORE.height(second.width)
    for second_bottom in (bottom, pointer_top):
        rooms = (first, second.above(second_bottom))
        if left and right:
            left_marks, _, left_over = flow(left, rooms[:1])
            right_marks, _, right_over = flow(right, rooms[1:])
            body, rest = left_marks + right_marks, (left_over, right_over)
        else:
            body, _, over = flow(left or right, rooms)
            rest = (over, ()) if left else ((), over)
        if not any(rest) and not more_follows:
            return marks + body, rest
    return [*marks, *body, *MORE.marks(second.below(pointer_top))], rest


def _streams(plan: Plan) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """What is got ready, and what is done at the chair."""
    return (*_ask(plan), *_get(plan)), (*_on(plan), *_off(plan))


def _ask(plan: Plan) -> tuple[Block, ...]:
    return (_head("Before", 0.0), *(_boxed(line) for line in before(plan)))


def _get(plan: Plan, before_mm: float = _HEAD_BEFORE_MM) -> tuple[Block, ...]:
    order = punching_order(plan)
    rows = [PunchRow(turn, plan.case.notation, *_of_punch(turn, plan.practice)) for turn in order]
    return (
        _head("Fetch", before_mm),
        *(_boxed(line) for line in fetch(plan)),
        *(block for anchor in clamps_in_turn(plan) for block in _clamp(anchor, plan)),
        *(block for lesions in together(plan.retractors) for block in _retractor(lesions, plan)),
        _head("Sheet"),
        *_numbered(prepare_sheet(plan)),
        PunchHead(),
        *rows,
        *(SlitRow(slit) for slit in slits(plan)),
    )


def _of_punch(turn: PunchTurn, practice: Practice) -> tuple[str, str]:
    """What stands on the punch at the position, and the diameter as the clinic writes it."""
    return practice.punch.label(turn.position), practice.numerals(f"{turn.diameter_mm:g}")


def _on(plan: Plan) -> tuple[Block, ...]:
    return (_head("Place", 0.0), *_numbered(place(plan)))


def _off(plan: Plan, before_mm: float = _HEAD_BEFORE_MM) -> tuple[Block, ...]:
    return (_head("Take off", before_mm), *_numbered(take_off(plan)))


def _head(text: str, before_mm: float = _HEAD_BEFORE_MM) -> Paragraph:
    return Paragraph(
        text,
        bold=True,
        size=_HEAD_MM,
        after_mm=1.0,
        name="head",
        before_mm=before_mm,
        with_next=True,
    )


def _boxed(line: str, bold: bool = False) -> Paragraph:
    return Paragraph(
        line,
        bold=bold,
        size=STEP_MM,
        after_mm=_AFTER_MM,
        name="fetch",
        lead=_BOX,
        indent_mm=_INDENT_MM,
    )


def _numbered(steps: Sequence[Step]) -> list[Paragraph]:
    return [
        Paragraph(
            step.text,
            bold=False,
            size=STEP_MM,
            after_mm=_AFTER_MM,
            name="step",
            lead=str(number),
            indent_mm=_INDENT_MM,
        )
        for number, step in enumerate(steps, start=1)
    ]


def _clamp(anchor: AnchorClamps, plan: Plan) -> list[Paragraph]:
    """The clinic's own label, the reason, and the next best."""
    tooth = plan.case.write([anchor.tooth])
    if anchor.first is None:
        return [_boxed(f"Clamp for {tooth}: none of the tray fits", bold=True)]
    first, *others = anchor.choices
    small = [
        plan.practice.numerals(first.reason),
        *(f"Next best: {other.clamp.label}" for other in others[:1]),
    ]
    return _labelled(f"Clamp for {tooth}: {first.clamp.label}", small)


def _retractor(lesions: Sequence[Retractor], plan: Plan) -> list[Paragraph]:
    """What draws the gum back from lesions that share it, and why it does."""
    reasons = [
        lesion.choices[0].reason if lesion.choices else lesion.ligature for lesion in lesions
    ]
    small = [plan.practice.numerals(reason) for reason in dict.fromkeys(reasons)]
    return _labelled(gum_line(lesions, plan), small)


def _labelled(line: str, small: Sequence[str]) -> list[Paragraph]:
    return [
        replace(_boxed(line, bold=True), after_mm=0.0),
        *(Paragraph(text, size=_REASON_MM, name="fetch", indent_mm=_INDENT_MM) for text in small),
    ]


class PunchHead(Struct, frozen=True):
    """The heads of the table's columns."""

    after_mm: float = 0.0
    with_next: bool = True

    def height(self, width: float) -> float:  # noqa: ARG002  one line at any width
        """Height in mm, the same at any width."""
        return BODY_MM * LEADING + 1.0

    def marks(self, column: Column) -> list[Mark]:
        """The heads at the top of the column, page frame."""
        y = column.top - self.height(column.width)
        middle = column.top - BODY_MM / 2
        return [
            cell("Hole", PagePoint(column.left + _POSITION_MM / 2, middle), BODY_MM),
            cell("mm", PagePoint(column.left + _POSITION_MM + _DIAMETER_MM / 2, middle), BODY_MM),
            lettered(
                PagePoint(
                    column.left + _POSITION_MM + _DIAMETER_MM, middle - CAP_HEIGHT * BODY_MM / 2
                ),
                "Teeth",
                BODY_MM,
                "table-head",
            ),
            _rule(column, y),
        ]


class PunchRow(Struct, frozen=True):
    """One position of the punch: its diameter, and the teeth whose holes it makes."""

    turn: PunchTurn
    notation: Notation
    label: str
    diameter: str
    after_mm: float = 0.0
    with_next: bool = False

    def height(self, width: float) -> float:
        """Height in mm in a column of that width in mm."""
        return ceil(len(self.turn.teeth) / self._in_a_line(width)) * _ROW_MM

    def marks(self, column: Column) -> list[Mark]:
        """The row at the top of the column, page frame."""
        middle = column.top - _ROW_MM / 2
        x = column.left + _POSITION_MM
        marks: list[Mark] = [
            cell(self.label, PagePoint(x - _POSITION_MM / 2, middle), _TOOTH_MM, bold=True),
            cell(self.diameter, PagePoint(x + _DIAMETER_MM / 2, middle), BODY_MM),
        ]
        many = self._in_a_line(column.width)
        for number, tooth in enumerate(self.turn.teeth):
            line, place = divmod(number, many)
            centre = PagePoint(
                x + _DIAMETER_MM + (place + 0.5) * _TOOTH_STEP_MM,
                middle - line * _ROW_MM,
            )
            marks += tooth_label(tooth, self.notation, centre, _TOOTH_MM, "table-tooth")
        return [*marks, _rule(column, column.top - self.height(column.width))]

    def _in_a_line(self, width: float) -> int:
        return int((width - _POSITION_MM - _DIAMETER_MM) / _TOOTH_STEP_MM)


class SlitRow(Struct, frozen=True):
    """A slit: below the holes, since they are punched before it is cut."""

    text: str
    after_mm: float = 0.0
    with_next: bool = False

    def height(self, width: float) -> float:  # noqa: ARG002  one line at any width
        """Height in mm, the same at any width."""
        return _ROW_MM

    def marks(self, column: Column) -> list[Mark]:
        """The row at the top of the column, page frame."""
        middle = column.top - _ROW_MM / 2
        head = PagePoint(column.left + _POSITION_MM / 2, middle)
        at = PagePoint(
            column.left + _POSITION_MM + _DIAMETER_MM, middle - CAP_HEIGHT * _TOOTH_MM / 2
        )
        return [
            cell("Slit", head, BODY_MM, bold=True),
            lettered(at, self.text, _TOOTH_MM, "table-slit", bold=True),
            _rule(column, column.top - _ROW_MM),
        ]


def _rule(column: Column, y: float) -> Line:
    return Line(
        PagePoint(column.left, y), PagePoint(column.left + column.width, y), _RULE_MM, "table"
    )
