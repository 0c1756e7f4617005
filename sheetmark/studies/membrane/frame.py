"""What the sheet is made of and hangs on: rubber and frame. Named settings, each with its source.

Frame coordinates, mm: x and y as in the mouth frame (origin on the midline, half way between the
jaws), z towards the operator, 0 in the frame's plane.
"""

from __future__ import annotations

from itertools import accumulate, pairwise
from math import cos, hypot, isfinite, pi, sin
from typing import NamedTuple

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.base.frames import SheetPoint
from sheetmark.practice.settings import THICKNESS_LIMITS_MM, THICKNESSES_MM, Practice, Sheet

# Natural rubber: 0.3 to 0.5 usual (treloar in the bibliography, from memory). No
# figure for dam sheet was found, nor one for nitrile: the same is taken for both (assumption).
MODULUS_MPA = 0.4
MODULUS_LIMITS_MPA = (0.05, 5.0)  # assumption, for a misplaced decimal point


class FramePoint(NamedTuple):
    """A point in the plane of the dam frame, mm: frame coordinates without z."""

    x: float
    y: float


def _check(what: str, value: float, limits: tuple[float, float], unit: str) -> None:
    low, high = limits
    if not (isfinite(value) and low <= value <= high):
        raise InputError(f"{what} {value:g} {unit}: must be {low:g} to {high:g} {unit}")


class Rubber(Struct, frozen=True):
    """Thickness and shear modulus. Both only scale the pulls; the shape does not depend on them."""

    thickness_mm: float = THICKNESSES_MM["medium"]
    modulus_mpa: float = MODULUS_MPA

    def __post_init__(self) -> None:
        _check("thickness", self.thickness_mm, THICKNESS_LIMITS_MM, "mm")
        _check("modulus", self.modulus_mpa, MODULUS_LIMITS_MPA, "MPa")

    @property
    def newton_per_mm(self) -> float:
        """Shear modulus times thickness, N/mm."""
        return self.thickness_mm * self.modulus_mpa


def rubber_of(practice: Practice) -> Rubber:
    """The sheet in use; medium where its thickness was not stated."""
    thickness = practice.stock_sheet.thickness_mm
    return Rubber() if thickness is None else Rubber(thickness)


class Frame(Struct, frozen=True, kw_only=True):
    """A U-shaped frame that follows the chin, open towards the nose, and where the teeth stand
    behind it. Every figure is an assumption; lengths in mm.

    Two arms at half the width from the middle run down from `top_mm` above the middle of the
    mouth, then half an ellipse `curve_mm` tall rounds to `bottom_mm` below it. `points` stand at
    even distances along it. The sheet is hooked `inset_mm` inside its edge, along a U of the same
    kind. Each hook is a pin of `pin_mm` radius.

    The arch's plane is tilted by `tilt_deg` about the middle between the jaws, since molars stand
    deeper than incisors; 60 puts an adult's incisors about 40 mm apart. The incisors' necks stand
    `incisors_behind_mm` behind the frame; crowns are `crown_mm` tall.
    """

    width_mm: float
    top_mm: float
    bottom_mm: float
    curve_mm: float
    points: int = 12
    inset_mm: float = 5.0
    pin_mm: float = 1.5
    tilt_deg: float = 60.0
    incisors_behind_mm: float = 15.0
    crown_mm: float = 7.0

    def __post_init__(self) -> None:
        _check("frame width", self.width_mm, (60.0, 300.0), "mm")
        _check("frame top", self.top_mm, (10.0, 150.0), "mm")
        _check("frame bottom", self.bottom_mm, (10.0, 150.0), "mm")
        _check("frame curve", self.curve_mm, (5.0, self.top_mm + self.bottom_mm), "mm")
        if not 4 <= self.points <= 30 or self.points % 2:
            raise InputError(
                f"frame points {self.points}: must be an even number from 4 to 30, "
                f"so that the frame is alike on both sides"
            )
        _check("hook inset", self.inset_mm, (2.5, 20.0), "mm")
        _check("hook pin radius", self.pin_mm, (0.5, min(3.0, 0.8 * self.inset_mm)), "mm")
        _check("arch tilt", self.tilt_deg, (0.0, 85.0), "degrees")
        _check("incisors behind the frame", self.incisors_behind_mm, (0.0, 60.0), "mm")
        _check("crown height", self.crown_mm, (2.0, 15.0), "mm")

    def hooks_mm(self) -> tuple[FramePoint, ...]:
        """The frame's points, from the upper right of the patient round the chin to the left."""
        points = _u_points(
            self.width_mm / 2, self.top_mm, -self.bottom_mm, self.curve_mm, self.points
        )
        return tuple(FramePoint(x, y) for x, y in points)

    def hooked_mm(self, sheet: Sheet) -> tuple[SheetPoint, ...]:
        """The points of the sheet that hang on them, sheet frame."""
        half_width, half_height = (
            sheet.width_mm / 2 - self.inset_mm,
            sheet.height_mm / 2 - self.inset_mm,
        )
        curve = self.curve_mm * 2 * half_height / (self.top_mm + self.bottom_mm)
        points = _u_points(half_width, half_height, -half_height, curve, self.points)
        return tuple(SheetPoint(x, y) for x, y in points)


def frame_word(field: str) -> str:
    """What a figure of the frame is called on the command line."""
    return field.removesuffix("_mm").removesuffix("_deg").replace("_", "-")


# As wide as its 152 mm sheet, and from the cheekbones to below the chin; assumptions, see `Frame`.
_FRAME_152 = Frame(width_mm=152.0, top_mm=64.0, bottom_mm=76.0, curve_mm=40.0)


def frame_for(sheet: Sheet) -> Frame:
    """The frame that goes with a sheet: that of the 152 mm sheet, to scale (assumption)."""
    across, down = sheet.width_mm / 152.0, sheet.height_mm / 152.0
    base = _FRAME_152
    return Frame(
        width_mm=base.width_mm * across,
        top_mm=base.top_mm * down,
        bottom_mm=base.bottom_mm * down,
        curve_mm=base.curve_mm * down,
    )


def _u_points(
    half_width: float, top: float, bottom: float, curve: float, points: int
) -> tuple[tuple[float, float], ...]:
    """Points at even distances along a U, its ends included; alike on both sides."""
    fine = [(half_width, top)]
    steps = 400
    for i in range(steps + 1):
        angle = pi / 2 * i / steps
        fine.append((half_width * cos(angle), bottom + curve * (1 - sin(angle))))
    lengths = [0.0, *accumulate(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(fine))]
    # The whole U is twice this half; an even number of points straddles its middle.
    step = 2 * lengths[-1] / (points - 1)
    left = [_at(fine, lengths, step * i) for i in range(points // 2)]
    return (*((-x, y) for x, y in left), *reversed(left))


def _at(line: list[tuple[float, float]], lengths: list[float], along: float) -> tuple[float, float]:
    i = next(i for i in range(1, len(lengths)) if lengths[i] >= along - 1e-9)
    share = (along - lengths[i - 1]) / (lengths[i] - lengths[i - 1])
    (ax, ay), (bx, by) = line[i - 1], line[i]
    return (ax + share * (bx - ax), ay + share * (by - ay))
