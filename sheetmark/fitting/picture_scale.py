"""Points picked in a picture of a cast, in pixels, as landmarks in mm.

Two points a known length apart give the scale. The picture is taken square on, from the biting
side; pixels count to the right and downwards, and so do the landmarks.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, isfinite
from typing import NamedTuple

from msgspec import Struct

from sheetmark.anatomy.teeth import Notation, Tooth, in_arch_order, write
from sheetmark.base.findings import InputError
from sheetmark.fitting.landmarks import CastPoint, Kind, Landmark

# A click is off by a pixel or so at each end: over 100 pixels that is 1 to 2 % (assumption).
LEAST_PIXELS = 100.0
# A ruler, or a stretch of the cast itself (assumption).
LENGTH_LIMITS_MM = (5.0, 500.0)
# Far more than any picture has (assumption): a guard against nonsense.
_MOST_PIXELS = 100_000.0


class PixelPoint(NamedTuple):
    """A point of the picture in pixels, counted to the right and downwards."""

    x: float
    y: float


class Scale(Struct, frozen=True):
    """Two points of the picture, in pixels, and the length between them in mm."""

    start: PixelPoint
    end: PixelPoint
    mm: float

    @property
    def mm_per_pixel(self) -> float:
        """Raises InputError, with what to do, for points or a length that give no scale."""
        least, most = LENGTH_LIMITS_MM
        if not least <= self.mm <= most:
            raise InputError(
                f"scale: {self.mm:g} mm between the two points; limits {least:g} to {most:g} mm; "
                f"measure a length that both points stand at the ends of"
            )
        for point in (self.start, self.end):
            _check_pixels("scale", point)
        pixels = dist(self.start, self.end)
        if pixels == 0:
            raise InputError(
                "scale: both points are the same; put them at the two ends of a known length"
            )
        if pixels < LEAST_PIXELS:
            raise InputError(
                f"scale: the two points are {pixels:.0f} pixels apart, at least {LEAST_PIXELS:g} "
                f"are needed; take a longer length, or a picture with more pixels"
            )
        return self.mm / pixels


class Picked(Struct, frozen=True):
    """A tooth, and where its points are in the picture, in pixels."""

    tooth: Tooth
    mesial: PixelPoint
    distal: PixelPoint


class PickedMiddle(Struct, frozen=True):
    """A tooth, and where its middle is in the picture, in pixels."""

    tooth: Tooth
    middle: PixelPoint


class PickedGum(Struct, frozen=True):
    """A tooth, and where its gum margin is on both sides in the picture, in pixels."""

    tooth: Tooth
    facial: PixelPoint
    lingual: PixelPoint


def picture_landmarks(
    picked: Sequence[Picked | PickedMiddle | PickedGum], scale: Scale, notation: Notation
) -> tuple[Landmark, ...]:
    """The teeth of one jaw in mm, y down, from the patient's right to the left.

    Raises InputError with every problem, a line each, that writes teeth in the notation.
    """
    mm = scale.mm_per_pixel
    found: dict[Tooth, Landmark] = {}
    problems: list[str] = []
    for tooth_points in picked:
        try:
            name = f"tooth {write(tooth_points.tooth, notation)}"
            if tooth_points.tooth in found:
                raise InputError(f"{name}: picked twice; delete one")
            found[tooth_points.tooth] = _landmark(name, tooth_points, mm)
        except InputError as error:
            problems += error.problems
    teeth = in_arch_order(found)
    if len({tooth.jaw for tooth in teeth}) > 1:
        first, last = (
            next(write(tooth, notation) for tooth in teeth if tooth.jaw == jaw)
            for jaw in ("upper", "lower")
        )
        problems.append(f"teeth of both jaws, such as {first} and {last}; fit one jaw at a time")
    if len({landmark.kind for landmark in found.values()}) > 1:
        problems.append("teeth with points of different kinds; use one kind for all")
    if problems:
        raise InputError(*problems)
    return tuple(found[tooth] for tooth in teeth)


def _landmark(name: str, picked: Picked | PickedMiddle | PickedGum, mm: float) -> Landmark:
    kind: Kind
    if isinstance(picked, PickedMiddle):
        kind, pixels, ends = "middle", [picked.middle], ""
    elif isinstance(picked, PickedGum):
        kind, pixels, ends = "gum line", [picked.facial, picked.lingual], "facial and lingual"
    else:
        kind, pixels, ends = "contacts", [picked.mesial, picked.distal], "mesial and distal"
    for point in pixels:
        _check_pixels(name, point)
    if len(set(pixels)) < len(pixels):
        raise InputError(f"{name}: its {ends} points are the same; pick both again")
    return Landmark(picked.tooth, tuple(CastPoint(x * mm, y * mm) for x, y in pixels), kind)


def _check_pixels(what: str, point: PixelPoint) -> None:
    if not all(isfinite(pixels) and abs(pixels) <= _MOST_PIXELS for pixels in point):
        raise InputError(
            f"{what}: a point at {point[0]:g}, {point[1]:g} pixels is in no picture; pick it again"
        )
