"""The sheet's place as seen from straight above, and how much of the paper shows at each point.

A flat picture has square pixels of PITCH_MM in the sheet frame, its first row at the top. The
openness of a pixel is 0 where it has the colour of the rubber round it and 1 where it has that of
paper, so that light and shadow fall out of it.
"""

from __future__ import annotations

from math import ceil

import numpy as np
from msgspec import Struct

from sheetmark.checking.camera import Camera
from sheetmark.checking.photo import Floats, Photo, linear
from sheetmark.checking.refusal import RefusedError
from sheetmark.practice.settings import Sheet

PITCH_MM = 0.15  # ours
# How far outside the sheet's place the flat picture reaches, mm.
ROUND_MM = 7.5
# Bands beside the sheet's edge, mm from it: rubber inside, paper outside; corners are left out,
# where the brackets stand (ours).
_BAND_MM = (3.0, 5.0)
_CORNER_MM = 14.0
_CHUNK_MM = 6.0
# Which quantile of the chunks' ratios counts: two sides may be off where the sheet lies aside (by
# trials on made photographs).
_SHARE = 0.6
# Paper over rubber: below the first there is no sheet, below the second too little to see holes
# (by trials).
_NO_SHEET, LEAST_CONTRAST = 1.04, 1.12
_BLOCK = 8
_MEDIAN_BLOCKS = 9


class Grid(Struct, frozen=True):
    """Where the pixels of a flat picture are."""

    left_mm: float
    top_mm: float
    shape: tuple[int, int]

    def column(self, x_mm: float) -> float:
        """The column of an x, sheet frame."""
        return (x_mm - self.left_mm) / PITCH_MM

    def row(self, y_mm: float) -> float:
        """The row of a y, sheet frame."""
        return (self.top_mm - y_mm) / PITCH_MM

    def point(self, column: float, row: float) -> tuple[float, float]:
        """The point of the sheet frame that a pixel shows, mm."""
        return self.left_mm + column * PITCH_MM, self.top_mm - row * PITCH_MM


class Flat(Struct, frozen=True):
    """Light of red, green and blue, 0 to 1, on a grid."""

    light: Floats
    grid: Grid


class Openness(Struct, frozen=True):
    """How much paper shows, on a grid; how dark a pixel is beside the rubber round it (1 alike);
    and paper over rubber, of the channels with the most contrast."""

    open: Floats
    tone: Floats
    grid: Grid
    contrast: float


def grid_for(sheet: Sheet) -> Grid:
    """The grid of a sheet's place and ROUND_MM round it: the sheet's middle is a pixel's."""
    across, down = (
        ceil((side / 2 + ROUND_MM) / PITCH_MM) for side in (sheet.width_mm, sheet.height_mm)
    )
    return Grid(-across * PITCH_MM, down * PITCH_MM, (2 * down + 1, 2 * across + 1))


def flatten(photo: Photo, camera: Camera, sheet: Sheet) -> Flat:
    """The sheet's place and ROUND_MM round it. Raises RefusedError where it is cut off."""
    from scipy.ndimage import map_coordinates

    grid = grid_for(sheet)
    x = (grid.left_mm + PITCH_MM * np.arange(grid.shape[1])).astype(np.float32)
    y = (grid.top_mm - PITCH_MM * np.arange(grid.shape[0])).astype(np.float32)
    points = np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1)
    pixels = camera.to_picture(points)
    height, width = photo.rgb.shape[:2]
    low, high = pixels.min((0, 1)), pixels.max((0, 1))
    if low.min() < -2 or high[0] > width + 1 or high[1] > height + 1:
        raise RefusedError(
            "too-few-marks", "part of the sheet's place lies outside the photograph; step back"
        )
    first = np.maximum(np.floor(low).astype(int), 0)
    last = np.ceil(high).astype(int) + 2
    part = linear(photo.rgb[first[1] : last[1], first[0] : last[0]])
    at = (pixels[..., 1] - first[1], pixels[..., 0] - first[0])
    light = np.stack(
        [map_coordinates(part[..., c], at, order=1, mode="nearest") for c in range(3)], axis=-1
    )
    return Flat(light, grid)


def openness(flat: Flat, sheet: Sheet) -> Openness:
    """How much paper shows at each pixel. Raises RefusedError where no sheet is seen."""
    ratio = _paper_over_rubber(flat, sheet)
    best = float(ratio.max())
    if best < _NO_SHEET:
        raise RefusedError(
            "no-sheet", "no sheet is seen inside the brackets; lay it on the check page"
        )
    if best < LEAST_CONTRAST:
        raise RefusedError(
            "contrast",
            f"the sheet is hardly darker than the paper ({100 * (best - 1):.0f} %, at least "
            f"{100 * (LEAST_CONTRAST - 1):.0f} % is needed); use brighter, more even light",
        )
    rubber = _rubber(flat)
    relative = flat.light / np.maximum(rubber, 1e-4) - 1
    gain = np.maximum(ratio - 1, 0.0)
    # Channels by how far paper stands out of the noise, which is about alike in all of them.
    weight = gain * np.median(rubber, axis=(0, 1)) ** 2
    weight /= float((weight * gain).sum())
    shown = relative @ weight.astype(np.float32)
    tone = 1 + relative @ np.array([0.25, 0.6, 0.15], np.float32)
    return Openness(shown, tone, flat.grid, best)


def _paper_over_rubber(flat: Flat, sheet: Sheet) -> Floats:
    """For each channel the light outside the edge over that inside, where most chunks have it."""
    grid, found = flat.grid, []
    near, far = _BAND_MM
    w, h = sheet.width_mm / 2, sheet.height_mm / 2
    for half, along, upright in ((w, h, True), (h, w, False)):
        for side in (-1, 1):
            outside = sorted((side * (half + near), side * (half + far)))
            inside = sorted((side * (half - near), side * (half - far)))
            steps = np.arange(-along + _CORNER_MM, along - _CORNER_MM - _CHUNK_MM, _CHUNK_MM)
            for start in steps:
                span = (float(start), float(start + _CHUNK_MM))
                paper, rubber = (
                    _part(flat, grid, band, span, upright=upright) for band in (outside, inside)
                )
                found.append(np.median(paper, (0, 1)) / np.maximum(np.median(rubber, (0, 1)), 1e-4))
    return np.asarray(np.quantile(np.array(found), _SHARE, axis=0), np.float32)


def _part(
    flat: Flat, grid: Grid, band: list[float], span: tuple[float, float], *, upright: bool
) -> Floats:
    (x0, x1), (y0, y1) = (band, span) if upright else (span, band)
    rows = slice(round(grid.row(y1)), round(grid.row(y0)) + 1)
    return flat.light[rows, round(grid.column(x0)) : round(grid.column(x1)) + 1]


def _rubber(flat: Flat) -> Floats:
    """The light of the rubber round each pixel: medians, which holes and marks do not move."""
    from scipy.ndimage import median_filter

    grid = flat.grid
    inset = round((ROUND_MM + 2.5) / PITCH_MM)
    inner = flat.light[inset:-inset, inset:-inset]
    rows, columns = inner.shape[0] // _BLOCK, inner.shape[1] // _BLOCK
    blocks = inner[: rows * _BLOCK, : columns * _BLOCK].reshape(rows, _BLOCK, columns, _BLOCK, 3)
    means = np.median(blocks.swapaxes(1, 2).reshape(rows, columns, -1, 3), axis=2)
    smooth = median_filter(means, (_MEDIAN_BLOCKS, _MEDIAN_BLOCKS, 1), mode="nearest")
    down = _between(grid.shape[0], inset, rows)
    along = _between(grid.shape[1], inset, columns)
    return np.stack([down @ smooth[..., c] @ along.T for c in range(3)], axis=-1)


def _between(pixels: int, inset: int, blocks: int) -> Floats:
    """For each pixel the shares of the two blocks that it lies between; the last one beyond."""
    at = (np.arange(pixels) - inset - (_BLOCK - 1) / 2) / _BLOCK
    at = np.clip(at, 0, blocks - 1)
    low = np.minimum(at.astype(int), blocks - 2)
    shares = np.zeros((pixels, blocks), np.float32)
    shares[np.arange(pixels), low] = 1 - (at - low)
    shares[np.arange(pixels), low + 1] = at - low
    return shares
