"""Dashed lines, for what is no edge: folds, midlines, other places of a sheet."""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.marks import Line


def dashed(start: PagePoint, end: PagePoint, width: float, name: str, count: int) -> list[Line]:
    """`count` dashes from one point to another, page frame, each followed by a gap as long."""

    def part(share: float) -> PagePoint:
        return PagePoint(
            start[0] + share * (end[0] - start[0]),
            start[1] + share * (end[1] - start[1]),
        )

    step = 1 / count
    return [
        Line(part(number * step), part((number + 0.5) * step), width, name)
        for number in range(count)
    ]
