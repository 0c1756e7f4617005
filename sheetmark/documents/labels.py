"""Finding room for a label: beside its hole, touching no mark and no other label. Pure mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, hypot, radians, sin

from sheetmark.documents.marks import Point

CLEARANCE_MM = 0.6
_STEP_MM = 0.4
_STEPS = 20
_TURNS_DEG = (0, 20, -20, 40, -40, 60, -60, 80, -80)


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle by its centre and full size."""

    centre: Point
    width: float
    height: float

    def near(self, point: Point, distance: float) -> bool:
        dx = max(abs(point[0] - self.centre[0]) - self.width / 2, 0.0)
        dy = max(abs(point[1] - self.centre[1]) - self.height / 2, 0.0)
        return dx * dx + dy * dy < distance * distance

    def meets(self, other: Box, distance: float) -> bool:
        return (
            abs(self.centre[0] - other.centre[0]) < (self.width + other.width) / 2 + distance
            and abs(self.centre[1] - other.centre[1]) < (self.height + other.height) / 2 + distance
        )


@dataclass(slots=True)
class Taken:
    """Room already taken while one page is drawn: discs, outlines as close points, and boxes."""

    discs: list[tuple[Point, float]] = field(default_factory=list)
    outlines: list[tuple[Point, float, tuple[Point, ...]]] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add_outline(self, centre: Point, points: tuple[Point, ...]) -> None:
        reach = max(hypot(x - centre[0], y - centre[1]) for x, y in points)
        self.outlines.append((centre, reach, points))

    def add_line(self, start: Point, end: Point, width: float) -> None:
        steps = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / 0.5))
        for i in range(steps + 1):
            x = start[0] + (end[0] - start[0]) * i / steps
            y = start[1] + (end[1] - start[1]) * i / steps
            self.discs.append(((x, y), width / 2 + 0.2))

    def clear(self, box: Box) -> bool:
        """Whether the box keeps CLEARANCE_MM from everything so far."""
        return (
            not any(box.near(centre, radius + CLEARANCE_MM) for centre, radius in self.discs)
            and not any(box.meets(other, CLEARANCE_MM) for other in self.boxes)
            and not any(
                box.near(centre, reach + CLEARANCE_MM)
                and (box.near(centre, 0.0) or any(box.near(p, CLEARANCE_MM) for p in points))
                for centre, reach, points in self.outlines
            )
        )


def find_room(
    taken: Taken, around: Point, direction: Point, start: float, width: float, height: float
) -> Box:
    """The nearest clear box from `start` mm outwards along a unit direction; it is then taken.

    The box's near side is meant by `start`. It moves out before it turns away from its hole.
    """
    for turn in _TURNS_DEG:
        dx, dy = _turned(direction, turn)
        half = (abs(dx) * width + abs(dy) * height) / 2
        for step in range(_STEPS):
            reach = start + CLEARANCE_MM + step * _STEP_MM + half
            box = Box((around[0] + dx * reach, around[1] + dy * reach), width, height)
            if taken.clear(box):
                taken.boxes.append(box)
                return box
    raise AssertionError(f"no room for a label beside the hole at {around}")


def _turned(direction: Point, degrees: float) -> Point:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return (c * direction[0] - s * direction[1], s * direction[0] + c * direction[1])
