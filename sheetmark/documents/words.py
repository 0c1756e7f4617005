"""Paragraphs set in columns, mm. What does not fit is handed back, never dropped."""

from __future__ import annotations

from dataclasses import dataclass

from sheetmark.documents.lettering import lettered, wrapped
from sheetmark.documents.marks import Mark

BODY_MM = 3.6
SMALL_MM = 2.6
LEADING = 1.22
_BASELINE = 0.3  # of the size, above the line's lower edge


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph still without a place."""

    text: str
    bold: bool = False
    size: float = BODY_MM
    after_mm: float = 0.6
    name: str = "note"

    def lines(self, width: float) -> list[str]:
        return wrapped(self.text, self.size, width, self.bold)

    def height(self, width: float) -> float:
        return len(self.lines(width)) * self.size * LEADING + self.after_mm


@dataclass(frozen=True, slots=True)
class Column:
    """Room for words: left edge, top and bottom (page frame, mm), and width."""

    left: float
    top: float
    width: float
    bottom: float

    def below(self, y: float) -> Column:
        return Column(self.left, y, self.width, self.bottom)

    def above(self, y: float) -> Column:
        return Column(self.left, self.top, self.width, y)


def set_words(words: list[Words], column: Column) -> tuple[list[Mark], float, list[Words]]:
    """The marks of as many paragraphs as fit, the y below them, and the paragraphs left over."""
    marks: list[Mark] = []
    y = column.top
    for number, paragraph in enumerate(words):
        if y - paragraph.height(column.width) + paragraph.after_mm < column.bottom:
            return marks, y, words[number:]
        for line in paragraph.lines(column.width):
            y -= paragraph.size * LEADING
            at = (column.left, y + _BASELINE * paragraph.size)
            marks.append(lettered(at, line, paragraph.size, paragraph.name, bold=paragraph.bold))
        y -= paragraph.after_mm
    return marks, y, []


def height_of(words: list[Words], width: float) -> float:
    return sum(paragraph.height(width) for paragraph in words)
