"""Holes in the sheet: round places where the paper shows, with their size; and dark pen marks."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.edges import LaidSheet
from sheetmark.checking.flat import PITCH_MM, Openness
from sheetmark.checking.photo import Floats
from sheetmark.practice.settings import Sheet

# All by trials on made photographs, unless said otherwise.
_EDGE_MM = 2.5  # a strip at the sheet's edge that is not looked at
_LARGEST_MM = 9.0  # what is wider every way is light, or another sheet
_NEAR_MM = 2.4
_LEAST_OPEN, _NOISE_TIMES = 0.2, 7.0
LEAST_DIAMETER_MM = 0.35
# Below this share of its length a hole is no longer round: torn, or two in one.
ROUND_SHARE = 0.72
# A hole from this size up must stand out clearly, even from a bright reflection, and have a
# steep rim.
_PLAIN_MM, _PLAIN_OPEN = 1.3, 0.33
_STEEP, _STEEP_IF_LONG = 0.5, 0.85
_PLAIN_OPEN_IF_LONG = 0.5  # a bright streak is long too
_LEAST_CORE_MM = 0.35
_SPREAD_FACTOR, _SPREAD_MM2 = 1.45, 0.03
_MARK_TONE, _MARK_AREA_MM2 = 0.72, (0.8, 30.0)


class Opening(Struct, frozen=True):
    """A place where paper shows: middle in the sheet's own frame, diameter of a circle of the
    same area, mm (0 where a person added it), and how round it is (1 is a circle)."""

    at: SheetPoint
    diameter_mm: float
    roundness: float

    @property
    def round(self) -> bool:
        """Whether it is one clean hole by its shape."""
        return self.roundness >= ROUND_SHARE

    @property
    def length_mm(self) -> float:
        """How long it is: the longer axis of an ellipse of its area and roundness."""
        return float(self.diameter_mm / max(self.roundness, 0.01) ** 0.5)


def find_openings(
    shown: Openness, laid: LaidSheet, sheet: Sheet, blur_mm: float
) -> tuple[Opening, ...]:
    """Every hole of the sheet, from left to right."""
    from scipy import ndimage

    calm = ndimage.gaussian_filter(shown.open, 0.9)
    np.clip(calm, -0.5, 1.5, out=calm)
    inside = _inside(shown, laid, sheet)
    calm[~inside] = 0.0
    size = round(_LARGEST_MM / PITCH_MM)
    hat = calm - ndimage.grey_opening(calm, size=(size, size))
    noise = 1.4826 * float(np.median(np.abs(calm[inside] - np.median(calm[inside]))))
    least = max(_LEAST_OPEN, _NOISE_TIMES * noise)
    # Half as bright as the brightest near it: so two holes side by side stay two.
    near = ndimage.maximum_filter(hat, size=round(_NEAR_MM / PITCH_MM))
    labels, _ = ndimage.label((hat > least) & (hat > 0.5 * near), np.ones((3, 3)))
    found = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        opening = _measured(shown, labels, number, box, laid, blur_mm)
        if opening:
            found.append(opening)
    return tuple(sorted(found, key=lambda o: o.at))


def _inside(shown: Openness, laid: LaidSheet, sheet: Sheet) -> NDArray[np.bool_]:
    grid = shown.grid
    columns, rows = np.arange(grid.shape[1]), np.arange(grid.shape[0])
    x, y = grid.point(columns[None, :], rows[:, None])  # type: ignore[arg-type]
    turn = np.radians(laid.turn_deg)
    dx, dy = x - laid.middle.x, y - laid.middle.y
    sx, sy = dx * np.cos(turn) + dy * np.sin(turn), dy * np.cos(turn) - dx * np.sin(turn)
    return np.asarray(
        (np.abs(sx) < sheet.width_mm / 2 - _EDGE_MM) & (np.abs(sy) < sheet.height_mm / 2 - _EDGE_MM)
    )


def _measured(
    shown: Openness,
    labels: NDArray[np.int32],
    number: int,
    box: tuple[slice, slice],
    laid: LaidSheet,
    blur_mm: float,
) -> Opening | None:
    """One bright area as a hole, or None where it is none."""
    from scipy import ndimage

    grow, ring = round(0.7 / PITCH_MM), round(1.4 / PITCH_MM)
    rows = slice(max(0, box[0].start - ring), box[0].stop + ring)
    columns = slice(max(0, box[1].start - ring), box[1].stop + ring)
    own = labels[rows, columns] == number
    other = (labels[rows, columns] > 0) & ~own
    part = whole = shown.open[rows, columns]
    distance = ndimage.distance_transform_edt(~own)
    near = distance <= grow
    if other.any():
        near &= distance < ndimage.distance_transform_edt(~other)
    round_it = (distance > grow) & (distance <= ring) & ~ndimage.binary_dilation(other, None, 3)
    part = part - _level(part, round_it)
    weight = np.where(near, np.clip(part, 0.0, 1.4), 0.0)
    area = float(part[near].sum()) * PITCH_MM**2
    if area <= 0:
        return None
    diameter = 2 * (area / np.pi) ** 0.5
    total = weight.sum()
    r, c = np.nonzero(weight)
    w = weight[r, c] / total
    row, column = float((r * w).sum()), float((c * w).sum())
    # In a bright reflection a hole stands out less, and its area at half height tells its size.
    half_high = 2 * (float(own.sum()) * PITCH_MM**2 / np.pi) ** 0.5
    wide = max(diameter, half_high)
    usual = 1 - float(np.median((whole - part)[own]))
    diameter /= _full(np.where(own, weight, np.nan), (row, column), wide, blur_mm, usual) ** 0.5
    spread = np.cov(np.stack([c, r]), aweights=w, ddof=0) * PITCH_MM**2
    small, large = np.linalg.eigvalsh(spread)
    own_blur = blur_mm**2 + PITCH_MM**2
    # A disc has a quarter of its radius squared along each axis, and the blur adds its own.
    wanted = diameter**2 / 16 + own_blur
    peak = float(np.percentile(part[own], 90))
    roundness = float(max(small - 0.8 * own_blur, 1e-4) / max(large - 0.8 * own_blur, 1e-4)) ** 0.5
    if diameter < LEAST_DIAMETER_MM:
        return None
    plain, steep = _PLAIN_OPEN, _STEEP
    if roundness < ROUND_SHARE:
        plain, steep = _PLAIN_OPEN_IF_LONG, _STEEP_IF_LONG
    if wide > _PLAIN_MM and (peak < plain or _steepness(part, near, peak) < steep):
        return None
    if (small * large) ** 0.5 > _SPREAD_FACTOR * wanted + _SPREAD_MM2:
        return None
    at = shown.grid.point(columns.start + column, rows.start + row)
    return Opening(laid.to_sheet(*at), float(diameter), min(1.0, roundness))


def _steepness(part: Floats, near: NDArray[np.bool_], peak: float) -> float:
    """The steepest slope of the rim, in heights of the middle over mm."""
    from scipy import ndimage

    down, across = np.gradient(ndimage.gaussian_filter(part, 0.7), PITCH_MM)
    return float(np.percentile(np.hypot(down, across)[near], 95)) / max(peak, 1e-3)


def _level(part: Floats, round_it: NDArray[np.bool_]) -> Floats:
    """What the rubber round a hole would show in its place: a plane, since reflections slope."""
    rows, columns = np.nonzero(round_it)
    if len(rows) < 30:
        return np.zeros_like(part)
    terms = np.column_stack([np.ones(len(rows)), rows, columns])
    values = part[rows, columns]
    keep = np.ones(len(values), bool)
    for _ in range(2):
        plane = np.linalg.lstsq(terms[keep], values[keep], rcond=None)[0]
        off = np.abs(values - terms @ plane)
        keep = off <= max(3 * float(np.median(off)), 0.02)
    every_row, every_column = np.indices(part.shape)
    return np.asarray(plane[0] + plane[1] * every_row + plane[2] * every_column)


def _full(
    weight: Floats, middle: tuple[float, float], diameter: float, blur_mm: float, usual: float
) -> float:
    """How far a whole hole stands out of what is round it: of a large one its own middle, where
    the rim's blur does not reach, else as paper does, `usual`."""
    core = diameter / 2 - 2.2 * max(blur_mm, PITCH_MM)
    if core >= _LEAST_CORE_MM:
        rows, columns = np.indices(weight.shape)
        inside = np.hypot(rows - middle[0], columns - middle[1]) * PITCH_MM < core
        usual = float(np.nanmedian(weight[inside]))
    return float(np.clip(usual, 0.4, 1.15))


def find_pen_marks(shown: Openness, laid: LaidSheet, sheet: Sheet) -> tuple[SheetPoint, ...]:
    """Middles of dark places on the rubber of a pen mark's size, sheet's own frame."""
    from scipy import ndimage

    calm = ndimage.gaussian_filter(shown.tone, 1.0)
    dark = (calm < _MARK_TONE) & _inside(shown, laid, sheet)
    labels, count = ndimage.label(dark, np.ones((3, 3)))
    if not count:
        return ()
    areas = np.bincount(labels.ravel())[1:] * PITCH_MM**2
    low, high = _MARK_AREA_MM2
    numbers = [n for n, area in enumerate(areas, start=1) if low <= area <= high]
    return tuple(
        laid.to_sheet(*shown.grid.point(column, row))
        for row, column in ndimage.center_of_mass(dark, labels, numbers)
    )
