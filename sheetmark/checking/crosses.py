"""Crosses drawn on white paper: two straight strokes that cross; and ink that may be none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.camera import Array
from sheetmark.checking.exercise import Rectangle
from sheetmark.checking.flat import PITCH_MM, Flat
from sheetmark.checking.photo import Floats
from sheetmark.practice.settings import Sheet
from sheetmark.typesetting.bullseyes import CODE_CELL_MM, CODE_CELLS, CODE_LEFT_MM, read_cells

# All by trials on made photographs, unless said otherwise.
_INK_BELOW = 0.80  # of the paper's light round it
_BLOCK = 16
_EDGE_MM = 2.5  # the sheet's printed outline and its corners
_LEAST_INK_MM2 = 0.35
_SIZE_MM = (1.6, 60.0)
_STROKE_MM = 0.55  # how far ink lies from the middle of its stroke
_ANGLES = np.radians(np.arange(0.0, 180.0, 3.0))
_APART_DEG = 35.0
_COVERED = 0.86  # the share of a cross's ink that its two strokes explain
# Crosses that touch: looked at in a circle round each place, with arms of at most this length.
_STEP_MM, _NEAR_MM, _LONGEST_MM = 0.3, 1.15, 4.0
# Two crosses' arms may cross as well, near their ends.
_LONG_ARM_MM, _APART_MM = 0.95, 3.2
_CORE_MM, _CORE_SHARE = 0.3, 0.7
_ARM_MM = 0.55  # how far each stroke goes beyond the crossing, both ways


Stroke = tuple[Array, Array]
"""A point of a straight line and its direction."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Ink on the sheet's place, sheet frame, mm: a cross, with the strokes' crossing; or ink that
    is no cross, or about which nothing is sure, with its middle."""

    at: SheetPoint
    is_cross: bool
    size_mm: float


def find_drawn(flat: Flat, sheet: Sheet, ignore_mm: Sequence[Rectangle]) -> tuple[Drawn, ...]:
    """What was drawn on the sheet's place, from left to right."""
    from scipy import ndimage

    ink = _ink(flat) & _looked_at(flat, sheet, ignore_mm)
    labels, _ = ndimage.label(ndimage.binary_dilation(ink), np.ones((3, 3)))
    found = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        own = (labels[box] == number) & ink[box]
        if own.sum() * PITCH_MM**2 >= _LEAST_INK_MM2:
            found += _drawn(own, flat, box)
    return tuple(sorted(found, key=lambda drawn: drawn.at))


def _tone(flat: Flat) -> Floats:
    """Light over that of the paper round it: the darkest channel, so that any pen is seen."""
    from scipy import ndimage

    light = flat.light
    rows, columns = light.shape[0] // _BLOCK, light.shape[1] // _BLOCK
    blocks = light[: rows * _BLOCK, : columns * _BLOCK].reshape(rows, _BLOCK, columns, _BLOCK, 3)
    paper = np.quantile(blocks.swapaxes(1, 2).reshape(rows, columns, -1, 3), 0.8, axis=2)
    paper = ndimage.median_filter(paper, (5, 5, 1), mode="nearest")
    zoom = (light.shape[0] / rows, light.shape[1] / columns, 1)
    wide = ndimage.zoom(paper, zoom, order=1, mode="nearest", grid_mode=True)
    return np.asarray((light / np.maximum(wide, 1e-3)).min(axis=2))


def _ink(flat: Flat) -> NDArray[np.bool_]:
    from scipy import ndimage

    return np.asarray(ndimage.gaussian_filter(_tone(flat), 0.8) < _INK_BELOW)


def _looked_at(flat: Flat, sheet: Sheet, ignore_mm: Sequence[Rectangle]) -> NDArray[np.bool_]:
    grid = flat.grid
    x = grid.left_mm + PITCH_MM * np.arange(grid.shape[1])[None, :]
    y = grid.top_mm - PITCH_MM * np.arange(grid.shape[0])[:, None]
    seen = (np.abs(x) < sheet.width_mm / 2 - _EDGE_MM) & (
        np.abs(y) < sheet.height_mm / 2 - _EDGE_MM
    )
    for left, low, right, high in ignore_mm:
        seen &= ~((x >= left) & (x <= right) & (y >= low) & (y <= high))
    return np.asarray(seen)


def _drawn(own: NDArray[np.bool_], flat: Flat, box: tuple[slice, slice]) -> list[Drawn]:
    """The crosses of one piece of ink, or the piece itself."""
    rows, columns = np.nonzero(own)
    points = np.stack(
        [
            flat.grid.left_mm + PITCH_MM * (columns + box[1].start),
            flat.grid.top_mm - PITCH_MM * (rows + box[0].start),
        ],
        axis=1,
    )
    size = float(np.ptp(points, axis=0).max())
    middle = points.mean(axis=0)
    if not _SIZE_MM[0] <= size <= _SIZE_MM[1]:
        return [_piece(middle, size, is_cross=False)]
    crossing = _crossing(points - middle)
    if crossing is not None:
        return [_piece(middle + crossing, size, is_cross=True)]
    crossings, rest = _touching(points - middle)
    # Where arms of two crosses cross there seem to be three, and where ink is left over one may
    # have been missed: a person must decide which.
    sure = not len(rest)
    found = [
        _piece(middle + at, size, is_cross=sure and all(_far(at, other) for other in crossings))
        for at in crossings
    ]
    if len(rest):
        found.append(_piece(middle + rest.mean(axis=0), size, is_cross=False))
    return found


def _far(at: Array, other: Array) -> bool:
    return other is at or bool(np.hypot(*(at - other)) > _APART_MM)


def _piece(at: Array, size: float, *, is_cross: bool) -> Drawn:
    return Drawn(SheetPoint(float(at[0]), float(at[1])), is_cross, size)


def _touching(points: Array) -> tuple[list[Array], Array]:
    """The crossings of crosses that touch each other or a letter, and the ink that is in none."""
    found: list[tuple[Array, tuple[Stroke, Stroke]]] = []
    for centre in np.unique(np.round(points / _STEP_MM), axis=0) * _STEP_MM:
        near = points[np.hypot(*(points - centre).T) < _NEAR_MM]
        crossing = _crossing(near - centre) if len(near) > 20 else None
        if crossing is None or np.hypot(*crossing) > _STEP_MM:
            continue
        at = centre + crossing
        near = points[np.hypot(*(points - at).T) < _NEAR_MM]
        again, strokes = _crossing(near - at, _LONG_ARM_MM), _two_strokes(near - at)
        if again is None or strokes is None or np.hypot(*again) > _STEP_MM / 2:
            continue
        if all(np.hypot(*(at + again - other)) > _NEAR_MM for other, _ in found):
            found.append((at + again, strokes))
    explained = np.zeros(len(points), bool)
    for at, strokes in found:
        for stroke in strokes:
            along = np.abs((points - at) @ stroke[1])
            explained |= (_off(points - at, stroke) <= _STROKE_MM) & (along <= _LONGEST_MM)
    rest = points[~explained]
    return [at for at, _ in found], rest if len(rest) > (1 - _COVERED) * len(points) else rest[:0]


def _crossing(points: Array, arm_mm: float = _ARM_MM) -> Array | None:
    """Where two strokes cross; None where the ink is not two strokes that do."""
    strokes = _two_strokes(points)
    if strokes is None:
        return None
    (a, u), (b, v) = strokes
    along = np.linalg.solve(np.stack([u, -v], axis=1), b - a)
    crossing = a + along[0] * u
    reaches = [
        (points[_off(points, stroke) <= _STROKE_MM] - crossing) @ stroke[1] for stroke in strokes
    ]
    if any(reach.min() > -arm_mm or reach.max() < arm_mm for reach in reaches):
        return None
    # Strokes that cross have ink where they do; a ring has none.
    there = (np.hypot(*(points - crossing).T) < _CORE_MM).sum() * PITCH_MM**2
    if there < _CORE_SHARE * np.pi * _CORE_MM**2:
        return None
    return np.asarray(crossing)


def _two_strokes(points: Array) -> tuple[Stroke, Stroke] | None:
    """The two lines that explain nearly all of the ink, at an angle to each other."""
    first = _stroke(points, points, None)
    rest = points if first is None else points[_off(points, first) > _STROKE_MM]
    second = None if first is None or len(rest) < 6 else _stroke(points, rest, first)
    if first is None or second is None:
        return None
    covered = (np.minimum(_off(points, first), _off(points, second)) <= _STROKE_MM).mean()
    angle = abs(float(first[1][0] * second[1][1] - first[1][1] * second[1][0]))
    if covered < _COVERED or angle < np.sin(np.radians(_APART_DEG)):
        return None
    return first, second


def _stroke(every: Array, points: Array, other: Stroke | None) -> Stroke | None:
    """The straight line that goes through most of `points`, turned away from another line."""
    best, chosen = 0, None
    for angle in _ANGLES:
        direction = np.array([np.cos(angle), np.sin(angle)])
        if other is not None and abs(float(direction @ other[1])) > np.cos(np.radians(_APART_DEG)):
            continue
        across = points @ np.array([-direction[1], direction[0]])
        counts, edges = np.histogram(across, bins=np.arange(across.min(), across.max() + 0.6, 0.3))
        pairs = counts[:-1] + counts[1:] if len(counts) > 1 else counts
        if len(pairs) and pairs.max() > best:
            place = int(pairs.argmax())
            offset = edges[place + 1]
            best = int(pairs.max())
            chosen = (offset * np.array([-direction[1], direction[0]]), direction)
    if chosen is None:
        return None
    for _ in range(3):
        near = every[_off(every, chosen) <= _STROKE_MM]
        if len(near) < 6:
            return None
        centre = near.mean(axis=0)
        _, _, axes = np.linalg.svd(near - centre, full_matrices=False)
        chosen = (centre, axes[0])
    return chosen


def _off(points: Array, stroke: Stroke) -> Array:
    at, direction = stroke
    return np.asarray(np.abs((points - at) @ np.array([-direction[1], direction[0]])))


def read_code(flat: Flat, sheet: Sheet, gap_mm: float) -> int | None:
    """The number of the code below the sheet's place; None where none can be read."""
    tone = _tone(flat)
    y = -(sheet.height_mm / 2 + gap_mm)
    quarter = CODE_CELL_MM / 4
    rows = slice(round(flat.grid.row(y + quarter)), round(flat.grid.row(y - quarter)) + 1)
    cells = []
    for place in range(CODE_CELLS):
        x = CODE_LEFT_MM + (place + 0.5) * CODE_CELL_MM
        columns = slice(
            round(flat.grid.column(x - quarter)), round(flat.grid.column(x + quarter)) + 1
        )
        cells.append(bool(np.median(tone[rows, columns]) < 0.5))
    return read_cells(tuple(cells))
