"""Bars of a stated length, to measure on paper."""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.marks import Line, Mark

_LINE_MM = 0.4
END_MM = 3.0


def bar(start: PagePoint, end: PagePoint, name: str) -> list[Mark]:
    """A line with a tick across each end; the middles of the ticks are the stated length apart."""
    across = (0.0, END_MM / 2) if start[1] == end[1] else (END_MM / 2, 0.0)
    marks: list[Mark] = [Line(start, end, _LINE_MM, name)]
    for x, y in (start, end):
        tick = (PagePoint(x - across[0], y - across[1]), PagePoint(x + across[0], y + across[1]))
        marks.append(Line(*tick, _LINE_MM, f"{name}-end"))
    return marks
