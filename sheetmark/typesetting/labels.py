"""Finding room for a label: beside its hole, touching no mark and no other label. Pure mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import chain, pairwise, product
from math import cos, dist, floor, hypot, radians, sin

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.base.frames import Direction, PagePoint, Size

CLEARANCE_MM = 0.6
# A leader keeps this off what it joins and what it passes.
_LEADER_OFF_MM = 0.4
_LEADER_LEAST_MM = 0.8
_STEP_MM = 0.4
_STEPS = 50
_GRID_MM = 2
_CELL_MM = 4.0
_TURNS_DEG = range(-180, 180, 20)


class Box(Struct, frozen=True):
    """An upright rectangle, page frame, mm."""

    centre: PagePoint
    """The middle of the rectangle."""
    width: float
    """Its full width."""
    height: float
    """Its full height."""

    def near(self, point: PagePoint, distance: float) -> bool:
        """Whether the point is nearer to the box than `distance`, mm, or inside it."""
        (x, y), (px, py) = self.centre, point
        dx = abs(px - x) - self.width / 2
        if dx >= distance:
            return False
        dy = abs(py - y) - self.height / 2
        if dx <= 0 or dy <= 0:
            return max(dy, 0.0) < distance
        return dx * dx + dy * dy < distance * distance

    def nearest(self, point: PagePoint) -> PagePoint:
        """The point of the box that is nearest to a point outside."""
        w, h = self.width / 2, self.height / 2
        return PagePoint(
            min(max(point.x, self.centre.x - w), self.centre.x + w),
            min(max(point.y, self.centre.y - h), self.centre.y + h),
        )

    def holds(self, other: Box, distance: float) -> bool:
        """Whether the other box lies inside, `distance` mm off the edges or further."""
        return (
            abs(self.centre[0] - other.centre[0]) <= (self.width - other.width) / 2 - distance
            and abs(self.centre[1] - other.centre[1]) <= (self.height - other.height) / 2 - distance
        )

    def meets(self, other: Box, distance: float) -> bool:
        """Whether the other box is nearer than `distance`, mm, or overlaps."""
        return (
            abs(self.centre[0] - other.centre[0]) < (self.width + other.width) / 2 + distance
            and abs(self.centre[1] - other.centre[1]) < (self.height + other.height) / 2 + distance
        )


class Taken:
    """Room already taken on the sheet: discs, outlines as close points, and boxes."""

    def __init__(self, sheet: Box) -> None:
        self.sheet = sheet
        # Middles and radii; `add_disc` takes their room.
        self.discs: list[tuple[PagePoint, float]] = []
        self.outlines: list[tuple[PagePoint, float, tuple[PagePoint, ...]]] = []
        self.boxes: list[Box] = []
        # The discs that come near each cell of a grid: few of them matter to a label.
        self._cells: dict[tuple[int, int], list[tuple[PagePoint, float]]] = {}

    def add_disc(self, centre: PagePoint, radius: float) -> None:
        """Take the room of a disc."""
        disc = (centre, radius)
        self.discs.append(disc)
        reach = 2 * (radius + CLEARANCE_MM)
        for cell in _cells_of(Box(centre, reach, reach)):
            self._cells.setdefault(cell, []).append(disc)

    def _discs_about(self, box: Box) -> Iterator[tuple[PagePoint, float]]:
        """Every disc that may come within CLEARANCE_MM of the box; some twice."""
        for cell in _cells_of(box):
            yield from self._cells.get(cell, ())

    def _discs_at(self, point: PagePoint) -> Sequence[tuple[PagePoint, float]]:
        """Every disc that may come within CLEARANCE_MM of the point."""
        return self._cells.get((floor(point.x / _CELL_MM), floor(point.y / _CELL_MM)), ())

    def set_apart(self, box: Box, distance: float) -> None:
        """Keep what comes later off both sides of a box that is taken by so many mm more."""
        self.boxes[self.boxes.index(box)] = Box(box.centre, box.width + 2 * distance, box.height)

    def add_outline(self, centre: PagePoint, points: tuple[PagePoint, ...]) -> None:
        """Take the room inside a closed outline; its points stand close together."""
        reach = max([dist(centre, point) for point in points])
        self.outlines.append((centre, reach, points))

    def add_line(self, start: PagePoint, end: PagePoint, width: float) -> None:
        """Take the room of a line `width` mm wide."""
        steps = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / 0.5))
        for i in range(steps + 1):
            x = start[0] + (end[0] - start[0]) * i / steps
            y = start[1] + (end[1] - start[1]) * i / steps
            self.add_disc(PagePoint(x, y), width / 2 + 0.2)

    def free(self, centre: PagePoint, points: tuple[PagePoint, ...]) -> bool:
        """Whether an outline keeps CLEARANCE_MM from the discs and boxes so far."""
        reach = max([dist(centre, point) for point in points]) + CLEARANCE_MM
        return not any(
            box.near(centre, reach) and any(box.near(p, CLEARANCE_MM) for p in points)
            for box in self.boxes
        ) and not any(
            dist(p, middle) < radius + CLEARANCE_MM
            for p in points
            for middle, radius in self._discs_at(p)
        )

    def leader(self, around: PagePoint, reach: float, box: Box) -> tuple[PagePoint, ...] | None:
        """The ends of a line to a box from `reach` mm off a point; none for a box close by.

        None where the line would meet another box or disc.
        """
        end = box.nearest(around)
        length = dist(around, end)
        first, last = reach + _LEADER_OFF_MM, length - _LEADER_OFF_MM
        if last - first < _LEADER_LEAST_MM:
            return ()

        def along(at: float) -> PagePoint:
            share = at / length
            return PagePoint(
                around.x + share * (end.x - around.x), around.y + share * (end.y - around.y)
            )

        way = Box(
            PagePoint((around.x + end.x) / 2, (around.y + end.y) / 2),
            abs(around.x - end.x),
            abs(around.y - end.y),
        )
        others = [other for other in self.boxes if other != box and other.meets(way, CLEARANCE_MM)]
        steps = max(1, round((last - first) / _LEADER_OFF_MM))
        for i in range(steps + 1):
            point = along(first + (last - first) * i / steps)
            if any(other.near(point, _LEADER_OFF_MM) for other in others) or any(
                dist(point, middle) < radius + _LEADER_OFF_MM and dist(middle, around) > reach
                for middle, radius in self._discs_at(point)
            ):
                return None
        return along(first), along(last)

    def clear(self, box: Box) -> bool:
        """Whether the box lies on the sheet and keeps CLEARANCE_MM from everything so far."""
        if not self.sheet.holds(box, CLEARANCE_MM):
            return False
        for other in self.boxes:
            if box.meets(other, CLEARANCE_MM):
                return False
        for centre, radius in self._discs_about(box):
            if box.near(centre, radius + CLEARANCE_MM):
                return False
        return not any(
            box.near(centre, reach + CLEARANCE_MM)
            and (box.near(centre, 0.0) or any(box.near(p, CLEARANCE_MM) for p in _close(points)))
            for centre, reach, points in self.outlines
        )


def find_room(
    taken: Taken,
    around: PagePoint,
    direction: Direction,
    start: float,
    size: Size,
    rivals: Sequence[PagePoint] = (),
    *,
    leader: bool = False,
) -> Box:
    """The nearest clear box from `start` mm outwards along a unit direction; it is then taken.

    The box's near side is meant by `start`. Its middle stays nearer to its own hole than to any
    of the rivals. Where all is taken nearby, any clear place on the sheet will do. With `leader`
    a place that a line from `around` reaches is taken before all others.
    Raises InputError where there is none.
    """
    width, height = size

    def nearby() -> Iterator[PagePoint]:
        for step, turn in _tries():
            dx, dy = _turned(direction, turn)
            half = (abs(dx) * width + abs(dy) * height) / 2
            reach = start + CLEARANCE_MM + step * _STEP_MM + half
            yield PagePoint(around.x + dx * reach, around.y + dy * reach)

    for reached in (True, False) if leader else (False,):
        for centre in chain(nearby(), _anywhere(taken.sheet, around)):
            box, own = Box(centre, width, height), dist(centre, around)
            if (
                all(own < dist(centre, rival) for rival in rivals)
                and taken.clear(box)
                and (not reached or taken.leader(around, start, box) is not None)
            ):
                taken.boxes.append(box)
                return box
    raise InputError(
        f"sheet {taken.sheet.width:g} x {taken.sheet.height:g} mm: no room left on it for the "
        f"words about the teeth; take a larger sheet, or say less of the teeth"
    )


def _anywhere(sheet: Box, around: PagePoint) -> Iterator[PagePoint]:
    """Points all over the sheet, the nearest first."""
    left, low = sheet.centre[0] - sheet.width / 2, sheet.centre[1] - sheet.height / 2
    grid = product(range(0, int(sheet.width), _GRID_MM), range(0, int(sheet.height), _GRID_MM))
    yield from sorted(
        (PagePoint(left + x, low + y) for x, y in grid), key=lambda at: dist(at, around)
    )


def _close(points: tuple[PagePoint, ...]) -> Iterator[PagePoint]:
    """The points of an outline, and those half way between them."""
    yield from points
    for a, b in pairwise((*points, points[0])):
        yield PagePoint((a.x + b.x) / 2, (a.y + b.y) / 2)


def _cells_of(box: Box) -> product[tuple[int, int]]:
    """The cells of the grid that the box touches."""
    (x, y), w, h = box.centre, box.width / 2, box.height / 2
    columns = range(floor((x - w) / _CELL_MM), floor((x + w) / _CELL_MM) + 1)
    return product(columns, range(floor((y - h) / _CELL_MM), floor((y + h) / _CELL_MM) + 1))


@cache
def _tries() -> tuple[tuple[int, int], ...]:
    """Steps outwards and turns from the wanted direction, the least change first: a turn by 10
    degrees counts like a step."""
    tries = product(range(_STEPS), _TURNS_DEG)
    return tuple(sorted(tries, key=lambda t: t[0] + abs(t[1]) / 10))


def _turned(direction: Direction, degrees: float) -> Direction:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return Direction(c * direction[0] - s * direction[1], s * direction[0] + c * direction[1])
