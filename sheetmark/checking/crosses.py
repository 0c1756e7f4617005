"""Crosses drawn on white paper: two straight strokes that cross; and ink that may be none."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.camera import Array
from sheetmark.checking.exercise import Rectangle
from sheetmark.checking.flat import PITCH_MM, Flat, Grid
from sheetmark.checking.ink import darkness
from sheetmark.checking.photo import Floats
from sheetmark.practice.settings import Sheet

# All by trials on made photographs, unless said otherwise.
_INK_FROM = 0.20  # darkness
_CORE = 0.5  # of a piece's own darkness: strokes as thin as they are
_LEAST_INK_MM2 = 0.35
_SIZE_MM = (1.6, 60.0)
_STROKE_MM = 0.55  # how far ink lies from the middle of its stroke
_STRIP_MM = 0.3
_ANGLES = np.radians(np.arange(0.0, 180.0, 3.0))
_APART_DEG = 35.0
# The share of the ink that a cross's two strokes explain: of one that stands alone, and of what is
# near a place, where other crosses are in the picture.
_COVERED, _COVERED_NEAR = 0.92, 0.86
# Crosses that touch: looked at in a circle round each place, with arms of at most this length.
_STEP_MM, _NEAR_MM, _LONGEST_MM, _GAP_MM = 0.3, 1.15, 4.0, 0.45
# Ink with more of them is no row of crosses (ours; it bounds the choices).
_MOST_CROSSINGS = 10
_LONG_ARM_MM, _APART_MM = 0.95, 3.2
_CORE_MM, _CORE_SHARE = 0.3, 0.7
_ARM_MM = 0.75  # how far each stroke goes beyond the crossing, both ways


Stroke = tuple[Array, Array]
"""A point of a straight line and its direction."""
Crossing = tuple[Array, tuple[Stroke, Stroke]]
"""Where two strokes cross, and they."""


class Drawn(Struct, frozen=True):
    """Ink on the sheet's place, sheet frame, mm: a cross, with the strokes' crossing; or ink that
    is no cross, or about which nothing is sure, with its middle."""

    at: SheetPoint
    is_cross: bool
    size_mm: float


def find_drawn(
    flat: Flat, tone: Floats, sheet: Sheet, ignore_mm: Sequence[Rectangle], blur_mm: float
) -> tuple[Drawn, ...]:
    """What was drawn on the sheet's place, from left to right; `tone` as of `ink.tone_of`,
    `blur_mm` the photograph's."""
    from scipy import ndimage

    dark = darkness(flat, tone, sheet, ignore_mm, blur_mm)
    ink = dark > _INK_FROM
    labels, _ = ndimage.label(ndimage.binary_dilation(ink), np.ones((3, 3)))
    found = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        own = (labels[box] == number) & ink[box]
        if own.sum() * PITCH_MM**2 >= _LEAST_INK_MM2:
            found += _drawn(own, dark[box], flat.grid, box)
    return tuple(sorted(found, key=lambda drawn: drawn.at))


def _drawn(
    own: NDArray[np.bool_], dark: Floats, grid: Grid, box: tuple[slice, slice]
) -> list[Drawn]:
    """The crosses of one piece of ink, or the piece itself."""
    rows, columns = np.nonzero(own)
    points = np.stack(
        [
            grid.left_mm + PITCH_MM * (columns + box[1].start),
            grid.top_mm - PITCH_MM * (rows + box[0].start),
        ],
        axis=1,
    )
    size = float(np.ptp(points, axis=0).max())
    middle = points.mean(axis=0)
    if not _SIZE_MM[0] <= size <= _SIZE_MM[1]:
        return [_piece(middle, size, is_cross=False)]
    crossing = _crossing(points - middle, covered=_COVERED)
    if crossing is not None:
        return [_piece(middle + crossing, size, is_cross=True)]
    black = dark[own]
    core = black > _CORE * np.quantile(black, 0.9)
    crossings, rest = _touching(points - middle, core)
    # Where ink is left over a cross may have been missed, and where crosses stand close their arms
    # may be taken for them: a person must decide which.
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


def _touching(points: Array, core: NDArray[np.bool_]) -> tuple[list[Array], Array]:
    """The crossings of crosses that touch each other or a letter, and the ink that is in none.

    `core` is the ink of the strokes' middles, where wide strokes do not run together. Arms of two
    crosses can cross as well, so that there seem to be more than were drawn: they are the fewest
    that explain all ink. Where other choices of as many explain it too, it is ink in none.
    """
    found = _crossings(points[core])
    found += [more for more in _crossings(points) if _far_from(more[0], found)]
    parts = [_of_cross(points, at, strokes) for at, strokes in found]
    most = len(found) if len(found) <= _MOST_CROSSINGS else 0
    for count in range(1, most + 1):
        good = [
            (chosen, left)
            for chosen in combinations(range(len(found)), count)
            for left in [~np.any([parts[index] for index in chosen], axis=0)]
            if left.mean() < 1 - _COVERED_NEAR
        ]
        if len(good) == 1:
            return [found[index][0] for index in good[0][0]], points[:0]
        if good:
            break
    every = np.any(parts, axis=0) if parts else np.zeros(len(points), bool)
    return [at for at, _ in found], points[~every] if not every.all() else points


def _crossings(points: Array) -> list[Crossing]:
    """Every place where two strokes seem to cross, with them."""
    found: list[Crossing] = []
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
        if _far_from(at + again, found):
            found.append((at + again, strokes))
    return found


def _far_from(at: Array, found: Sequence[Crossing]) -> bool:
    return all(bool(np.hypot(*(at - other)) > _NEAR_MM) for other, _ in found)


def _of_cross(points: Array, at: Array, strokes: tuple[Stroke, Stroke]) -> NDArray[np.bool_]:
    """Which ink the two strokes explain: each as far as it goes on without a gap."""
    found = np.zeros(len(points), bool)
    for stroke in strokes:
        near = _off(points - at, stroke) <= _STROKE_MM
        along = (points - at) @ stroke[1]
        for way in (1, -1):
            steps = np.sort(along[near] * way)
            steps = np.concatenate([[0.0], steps[steps > 0]])
            gaps = np.flatnonzero(np.diff(steps) > _GAP_MM)
            end = min(float(steps[gaps[0]] if len(gaps) else steps[-1]), _LONGEST_MM)
            found |= near & (along * way >= 0) & (along * way <= end)
    return found


def _crossing(
    points: Array, arm_mm: float = _ARM_MM, covered: float = _COVERED_NEAR
) -> Array | None:
    """Where two strokes cross; None where the ink is not two strokes that do."""
    strokes = _two_strokes(points, covered)
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


def _two_strokes(points: Array, least: float = _COVERED_NEAR) -> tuple[Stroke, Stroke] | None:
    """The two lines that explain nearly all of the ink, at an angle to each other."""
    first = _stroke(points, points, None)
    rest = points if first is None else points[_off(points, first) > _STROKE_MM]
    second = None if first is None or len(rest) < 6 else _stroke(points, rest, first)
    if first is None or second is None:
        return None
    covered = (np.minimum(_off(points, first), _off(points, second)) <= _STROKE_MM).mean()
    angle = abs(float(first[1][0] * second[1][1] - first[1][1] * second[1][0]))
    if covered < least or angle < np.sin(np.radians(_APART_DEG)):
        return None
    return first, second


def _stroke(every: Array, points: Array, other: Stroke | None) -> Stroke | None:
    """The straight line that goes through most of `points`, turned away from another line."""
    directions = np.stack([np.cos(_ANGLES), np.sin(_ANGLES)], axis=1)
    if other is not None:
        apart = np.abs(directions @ other[1]) <= np.cos(np.radians(_APART_DEG))
        directions = directions[apart]
    normals = np.stack([-directions[:, 1], directions[:, 0]], axis=1)
    across = points @ normals.T
    least = across.min(axis=0)
    strips = ((across - least) / _STRIP_MM).astype(int)
    count = int(strips.max()) + 2
    numbers = strips + count * np.arange(len(normals))
    ink = np.bincount(numbers.ravel(), minlength=count * len(normals)).reshape(-1, count)
    way, place = divmod(int((ink[:, :-1] + ink[:, 1:]).argmax()), count - 1)
    offset = least[way] + _STRIP_MM * (place + 1)
    chosen = (offset * normals[way], directions[way])
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
