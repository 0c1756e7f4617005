"""The sheet's own edges in the flat picture: where it lies on the page, and whether it lies flat.

An edge that stands up is seen further out, or further in, than it is: so straight edges of a
square sheet that come out bent or askew say that the sheet is not flat.
"""

from __future__ import annotations

from math import atan, cos, degrees, fsum, radians, sin, tan

import numpy as np
from msgspec import Struct

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.flat import PITCH_MM, ROUND_MM, Openness
from sheetmark.checking.photo import Floats
from sheetmark.checking.refusal import RefusedError
from sheetmark.practice.settings import Sheet

# All by trials on made photographs.
_REACH_MM = 6.0
_CORNER_MM = 8.0
_SMOOTH_MM = 1.0
_HALF_OPEN = 0.5
_FOUND_SHARE = 0.6
# How far an edge may bend, and how differently two edges may be turned, on a sheet that lies flat;
# its edges are cut straight (assumption).
BEND_LIMIT_MM = 0.6
SKEW_LIMIT_DEG = 0.8


class LaidSheet(Struct, frozen=True):
    """The sheet as it lies: its middle in the page's sheet frame, mm, its turn, its measured size,
    and how far an edge bends off a straight line, mm."""

    middle: SheetPoint
    turn_deg: float
    width_mm: float
    height_mm: float
    bend_mm: float

    def to_sheet(self, x: float, y: float) -> SheetPoint:
        """A point of the page as the sheet's own frame has it."""
        turn = radians(self.turn_deg)
        dx, dy = x - self.middle.x, y - self.middle.y
        return SheetPoint(dx * cos(turn) + dy * sin(turn), dy * cos(turn) - dx * sin(turn))


class _Edge(Struct, frozen=True):
    """Across = at + slope x along, mm; and the worst smoothed distance from it."""

    at: float
    slope: float
    bend: float


def find_edges(shown: Openness, sheet: Sheet) -> LaidSheet:
    """The sheet as it lies. Raises RefusedError where edges are not seen, or are not straight."""
    left, right = (_edge(shown, sheet, upright=True, side=side) for side in (-1, 1))
    low, high = (_edge(shown, sheet, upright=False, side=side) for side in (-1, 1))
    # An upright edge's slope is dx over dy: it turns the other way.
    turns = [-degrees(atan(e.slope)) for e in (left, right)]
    turns += [degrees(atan(e.slope)) for e in (low, high)]
    bend = max(edge.bend for edge in (left, right, low, high))
    skew = max(turns) - min(turns)
    if bend > BEND_LIMIT_MM or skew > SKEW_LIMIT_DEG:
        found = (
            f"an edge bends by {bend:.1f} mm, at most {BEND_LIMIT_MM:g}"
            if bend > BEND_LIMIT_MM
            else f"its edges are {skew:.1f} degrees askew, at most {SKEW_LIMIT_DEG:g}"
        )
        raise RefusedError(
            "sheet-not-flat",
            f"the sheet does not lie flat: {found}; press it down, away from the holes, and take "
            f"another photograph",
        )
    turn = fsum(turns) / 4
    middle_x, middle_y = (left.at + right.at) / 2, (low.at + high.at) / 2
    slope = tan(radians(turn))
    # The middle lines cross where both equations hold.
    x = (middle_x - slope * middle_y) / (1 + slope * slope)
    y = middle_y + slope * x
    width = (right.at - left.at) * cos(radians(turn))
    height = (high.at - low.at) * cos(radians(turn))
    return LaidSheet(SheetPoint(x, y), turn, width, height, bend)


def _edge(shown: Openness, sheet: Sheet, *, upright: bool, side: int) -> _Edge:
    along_mm, across_mm = _crossings(shown.open, sheet, upright=upright, side=side)
    known = ~np.isnan(across_mm)
    if known.mean() < _FOUND_SHARE:
        raise RefusedError(
            "no-sheet",
            "the sheet's edges are not seen; lay it inside the brackets, alone, with white paper "
            "all round it",
        )
    along, across = along_mm[known], across_mm[known]
    keep = np.abs(across - np.median(across)) < _REACH_MM
    for _ in range(3):
        slope, at = np.polyfit(along[keep], across[keep], 1)
        off = across - (at + slope * along)
        keep = np.abs(off) < max(0.3, 3 * float(np.median(np.abs(off))))
    window = max(3, round(8.0 / _SMOOTH_MM))
    calm = np.array([np.median(off[max(0, i - window) : i + window + 1]) for i in range(len(off))])
    return _Edge(float(at), float(slope), float(np.abs(calm).max()))


def _crossings(shown: Floats, sheet: Sheet, *, upright: bool, side: int) -> tuple[Floats, Floats]:
    """Each mm along the edge: where rubber ends, looking from inside, mm; nan where it does not."""
    half, length = (
        (sheet.width_mm / 2, sheet.height_mm / 2)
        if upright
        else (sheet.height_mm / 2, sheet.width_mm / 2)
    )
    # Turned so that rows run along the edge and columns go outwards from inside.
    picture = shown if upright else shown.T
    positive = side > 0 if upright else side < 0
    if not positive:
        picture = picture[:, ::-1]
    middle = (picture.shape[1] - 1) / 2
    start = round(middle + (half - _REACH_MM) / PITCH_MM)
    end = min(picture.shape[1], round(middle + (half + min(_REACH_MM, ROUND_MM)) / PITCH_MM) + 1)
    step = round(_SMOOTH_MM / PITCH_MM)
    centre = (picture.shape[0] - 1) / 2
    first = round(centre - (length - _CORNER_MM) / PITCH_MM)
    count = int(2 * (length - _CORNER_MM) / PITCH_MM) // step
    strip = picture[first : first + count * step, start:end]
    strip = strip.reshape(count, step, -1).mean(axis=1)
    beyond = strip > _HALF_OPEN
    # The last crossing from inside: a hole or a speck of light near the edge is passed.
    inside = np.where(~beyond, np.arange(strip.shape[1]), -1).max(axis=1)
    good = (inside >= 0) & (inside < strip.shape[1] - 2)
    at = np.clip(inside, 0, strip.shape[1] - 2)
    rows = np.arange(count)
    low, high = strip[rows, at], strip[rows, at + 1]
    share = (_HALF_OPEN - low) / np.maximum(high - low, 1e-6)
    outwards = (start + at + np.clip(share, 0, 1) - middle) * PITCH_MM
    across = np.where(good, side * outwards, np.nan)
    along = (first + (rows + 0.5) * step - 0.5 - centre) * PITCH_MM
    # Rows run downwards, so y falls along an upright edge.
    return (-along if upright else along).astype(np.float32), across.astype(np.float32)
