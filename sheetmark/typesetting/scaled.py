"""Marks drawn at another size, for pictures that only help to find a page or to compare two."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec.structs import replace

from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import Disc, Line, Mark, Polygon, Ring, Text


def scaled(marks: Iterable[Mark], factor: float, origin: PagePoint, to: PagePoint) -> list[Mark]:
    """Every mark `factor` times as large, the point `origin` moved to `to`."""

    def move(point: PagePoint) -> PagePoint:
        return PagePoint(
            to[0] + factor * (point[0] - origin[0]),
            to[1] + factor * (point[1] - origin[1]),
        )

    return [_scaled(mark, factor, move) for mark in marks]


def _scaled(mark: Mark, factor: float, move: Callable[[PagePoint], PagePoint]) -> Mark:
    match mark:
        case Disc(centre, diameter, name):
            return Disc(move(centre), factor * diameter, name)
        case Ring(centre, diameter, width, name):
            return Ring(move(centre), factor * diameter, factor * width, name)
        case Line(start, end, width, name):
            return Line(move(start), move(end), factor * width, name)
        case Polygon():
            points = tuple(move(point) for point in mark.points)
            return replace(mark, points=points, width=factor * mark.width)
        case Text():
            return lettered(
                move(mark.at),
                mark.text,
                factor * mark.size,
                mark.name,
                mark.align,
                mark.bold,
                mark.angle,
            )
