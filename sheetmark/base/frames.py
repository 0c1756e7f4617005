"""Points, each in a frame of its own, so that the type checker refuses a mix-up. All mm.

The three frames share their axes: seen by the operator who faces the patient, x to the operator's
right (the patient's left), y towards the patient's nose. They differ in their origin:

- mouth: on the midline, half way between the jaws;
- sheet: the centre mark of the sheet;
- page: the lower left corner of the paper.

Only the functions of this module lead from one frame to another at true scale. A picture at
another scale has a view of its own. Other axes have types of their own where they are used: the
arch's in `anatomy.chords`, the cast's picture in `fitting`, the dam frame's in `studies.membrane`.
"""

from __future__ import annotations

from typing import NamedTuple


class MouthPoint(NamedTuple):
    """A point in the mouth frame, mm."""

    x: float
    y: float


class SheetPoint(NamedTuple):
    """A point in the sheet frame, mm."""

    x: float
    y: float


class PagePoint(NamedTuple):
    """A point in the page frame, mm. A stencil is drawn on a page of its own (see `cutting`)."""

    x: float
    y: float


class Direction(NamedTuple):
    """A vector of length 1, the same in all three frames, since they share their axes."""

    x: float
    y: float

    @property
    def opposite(self) -> Direction:
        """The direction that points the other way."""
        return Direction(-self.x, -self.y)


class Range(NamedTuple):
    """The lowest and the highest value of one coordinate, mm."""

    low: float
    high: float


class Size(NamedTuple):
    """Width and height of an upright rectangle, mm."""

    width: float
    height: float


def mouth_to_sheet(point: MouthPoint, sheet_middle: MouthPoint) -> SheetPoint:
    """The point on a sheet whose middle lies at `sheet_middle`, true scale."""
    return SheetPoint(point.x - sheet_middle.x, point.y - sheet_middle.y)


def sheet_to_mouth(point: SheetPoint, sheet_middle: MouthPoint) -> MouthPoint:
    """The inverse of `mouth_to_sheet`."""
    return MouthPoint(point.x + sheet_middle.x, point.y + sheet_middle.y)


def sheet_to_page(point: SheetPoint, sheet_middle: PagePoint) -> PagePoint:
    """The point on a page that shows the sheet's middle at `sheet_middle`, true scale."""
    return PagePoint(sheet_middle.x + point.x, sheet_middle.y + point.y)


def mouth_to_page(point: MouthPoint, mouth_middle: PagePoint) -> PagePoint:
    """The point on a page that shows the mouth's middle at `mouth_middle`, true scale."""
    return PagePoint(mouth_middle.x + point.x, mouth_middle.y + point.y)
