"""Paragraphs and other blocks set in columns, mm; what does not fit is handed back."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum
from typing import Protocol

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.lettering import lettered, wrapped
from sheetmark.typesetting.marks import Mark

BODY_MM = 3.6
SMALL_MM = 2.6
LEADING = 1.22
_BASELINE = 0.3  # of the size, above the line's lower edge
FIRST_BASELINE = LEADING - _BASELINE  # of the size, below the top of a paragraph


class Column(Struct, frozen=True, kw_only=True):
    """Room for text, page frame, mm: left edge, top, width and bottom."""

    left: float
    top: float
    width: float
    bottom: float

    def below(self, y: float) -> Column:
        """The part of the column below a height."""
        return Column(left=self.left, top=y, width=self.width, bottom=self.bottom)

    def above(self, y: float) -> Column:
        """The part of the column above a height."""
        return Column(left=self.left, top=self.top, width=self.width, bottom=y)

    def halves(self, gap: float) -> tuple[Column, Column]:
        """Two columns side by side."""
        half = (self.width - gap) / 2
        right = Column(left=self.left + half + gap, top=self.top, width=half, bottom=self.bottom)
        return Column(left=self.left, top=self.top, width=half, bottom=self.bottom), right


class Block(Protocol):
    """Something of its own height, to be set below what comes before it.

    All lengths are in mm.
    """

    @property
    def after_mm(self) -> float:
        """The part of its height that stays free below it."""

    @property
    def with_next(self) -> bool:
        """Whether it stays with the block below, as a heading: it never ends a column."""

    def height(self, width: float) -> float:
        """Its height in a column of that width."""

    def marks(self, column: Column) -> list[Mark]:
        """Its marks, set at the top of the column."""


class _Text(Struct, frozen=True):
    """What may be given without its name."""

    text: str


class Paragraph(_Text, frozen=True, kw_only=True):
    """A paragraph still without a place; `lead`, a number or a box, hangs before its first line."""

    bold: bool = False
    size: float = BODY_MM
    after_mm: float = 0.6
    name: str = "note"
    lead: str = ""
    indent_mm: float = 0.0
    before_mm: float = 0.0
    with_next: bool = False

    def lines(self, width: float) -> tuple[str, ...]:
        """The lines of the paragraph in a column of that width, mm."""
        return wrapped(self.text, self.size, width - self.indent_mm, self.bold)

    def height(self, width: float) -> float:
        """Its height in a column of that width, mm, with the room before and after it."""
        return self.before_mm + len(self.lines(width)) * self.size * LEADING + self.after_mm

    def marks(self, column: Column) -> list[Mark]:
        """Its lines, set at the top of the column."""
        marks: list[Mark] = []
        y = column.top - self.before_mm - FIRST_BASELINE * self.size
        if self.lead:
            at = PagePoint(column.left, y)
            marks.append(lettered(at, self.lead, self.size, f"{self.name}-lead", bold=True))
        for line in self.lines(column.width):
            at = PagePoint(column.left + self.indent_mm, y)
            marks.append(lettered(at, line, self.size, self.name, bold=self.bold))
            y -= self.size * LEADING
        return marks

    def split(self, width: float, height: float) -> tuple[Paragraph, Paragraph]:
        """The lines that fit a height, at least one, and the rest, as two paragraphs."""
        lines = self.lines(width)
        fit = max(1, int(height / (self.size * LEADING)))
        first, rest = " ".join(lines[:fit]), " ".join(lines[fit:])
        return replace(self, text=first, after_mm=0.0), replace(
            self, text=rest, lead="", before_mm=0.0
        )


def set_blocks(
    blocks: Sequence[Block], column: Column
) -> tuple[list[Mark], float, tuple[Block, ...]]:
    """The marks of as many blocks as fit, the y below them, and the blocks left over."""
    marks: list[Mark] = []
    y = column.top
    for number, block in enumerate(blocks):
        needed = block.height(column.width) - block.after_mm
        if block.with_next and number + 1 < len(blocks):
            following = blocks[number + 1]
            needed += block.after_mm + following.height(column.width) - following.after_mm
        if y - needed < column.bottom:
            return marks, y, tuple(blocks[number:])
        marks += block.marks(column.below(y))
        y -= block.height(column.width)
    return marks, y, ()


def flow(
    blocks: Sequence[Block], columns: Sequence[Column]
) -> tuple[list[Mark], float, tuple[Block, ...]]:
    """Blocks through whole columns in turn; a paragraph longer than a column goes on in the next.

    The marks, the lowest y reached, and the blocks left over.
    """
    marks: list[Mark] = []
    lowest = columns[0].top
    rest: tuple[Block, ...] = tuple(blocks)
    for column in columns:
        before = rest
        more, y, rest = set_blocks(before, column)
        if rest and rest == before and isinstance(rest[0], Paragraph):
            first, second = rest[0].split(column.width, column.top - column.bottom)
            more, y, _ = set_blocks([first], column)
            rest = (second, *rest[1:]) if second.text else rest[1:]
        marks += more
        lowest = min(lowest, y)
    return marks, lowest, rest


def height_of(blocks: Sequence[Block], width: float) -> float:
    """The height of blocks set below each other in a column of that width, mm."""
    return fsum(block.height(width) for block in blocks)
