"""The sixth-order curve through a cast's landmarks, by robust least squares. Arch axes, mm.

A landmark counts by how far it lies off the curve, wherever along it, so neighbours' contacts
need not touch. The midline is held by the foremost point of each side. Knows no tooth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

from sheetmark.anatomy.chords import ArchPoint, lay_chords
from sheetmark.anatomy.curves import sixth_order_depth
from sheetmark.fitting.landmarks import CastPoint

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

# Differences beyond this count less and less (soft L1; assumption).
_SOFT_MM = 0.5
# A side's foremost point counts whole where only the midline is before it, else this much, since
# the teeth between are then those of a table (assumption).
_BEHIND_TEETH = 0.3
# Brings the unknowns near 1.
_UNIT_MM = 12.0
# The nearest point of the curve is sought this far from the midline, wider than any jaw.
_REACH_MM, _STEP_MM = 60.0, 0.1
_TURNS = 72


@dataclass(frozen=True, slots=True)
class Anchor:
    """A point that stands behind chords of these lengths from the midline; `side` is 1 or -1."""

    point: int
    side: int
    lengths_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Motion:
    """A turn about the origin, in radians, and then a shift in mm."""

    turn: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class CurveFit:
    """The curve's coefficients and, for each point, where it comes to lie in the arch's axes, how
    far off the curve (facial positive), and the x of the curve's nearest point."""

    a: float
    b: float
    motion: Motion
    points: tuple[ArchPoint, ...]
    off_mm: tuple[float, ...]
    along_x_mm: tuple[float, ...]


def rough_motion(points: Sequence[CastPoint], places: Sequence[ArchPoint]) -> tuple[Motion, float]:
    """The motion that brings the points near their places, and their mean distance then.

    Medians, so that a wild point does no harm.
    """
    import numpy as np

    here, there = np.array(points), np.array(places)
    best = (Motion(0.0, 0.0, 0.0), float("inf"))
    for turn in np.linspace(-np.pi, np.pi, _TURNS, endpoint=False):
        turned = _moved(here, turn, 0.0, 0.0)
        shift = np.median(there - turned, axis=0)
        apart = float(np.mean(np.hypot(*(turned + shift - there).T)))
        if apart < best[1]:
            best = (Motion(float(turn), float(shift[0]), float(shift[1])), apart)
    return best


def fit_curve(
    points: Sequence[CastPoint],
    kept: Sequence[bool],
    anchors: Sequence[Anchor],
    start: tuple[float, float, Motion],
) -> CurveFit:
    """The curve, A and B not negative, that the kept points lie on as nearly as can be.

    `start` holds A, B and a motion to begin with; the points that are not kept only get figures.
    """
    import numpy as np
    from scipy.optimize import least_squares

    every, use = np.array(points), np.array(kept)

    def off(unknown: Numbers) -> Numbers:
        a, b, moved = _read(unknown, every)
        ahead = [_ahead(a, b, moved[anchor.point], anchor) for anchor in anchors]
        return np.concatenate([_off_curve(a, b, moved[use])[0], ahead])

    a, b, motion = start
    first = [a * _UNIT_MM**5, b * _UNIT_MM, motion.turn, motion.x_mm, motion.y_mm]
    first = [max(first[0], 1e-3), max(first[1], 1e-3), first[2], *(v / _UNIT_MM for v in first[3:])]
    result = least_squares(
        off,
        first,
        bounds=([0, 0, -np.inf, -np.inf, -np.inf], np.inf),
        loss="soft_l1",
        f_scale=_SOFT_MM,
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
    )
    a, b, moved = _read(result.x, every)
    off_mm, along = _off_curve(a, b, moved)
    _, _, turn, x, y = (float(value) for value in result.x)
    return CurveFit(
        a,
        b,
        Motion(turn, x * _UNIT_MM, y * _UNIT_MM),
        tuple(ArchPoint(float(x), float(y)) for x, y in moved),
        tuple(map(float, off_mm)),
        tuple(map(float, along)),
    )


def _read(unknown: Numbers, points: Numbers) -> tuple[float, float, Numbers]:
    a, b, turn, x, y = unknown
    moved = _moved(points, turn, x * _UNIT_MM, y * _UNIT_MM)
    return float(a) / _UNIT_MM**5, float(b) / _UNIT_MM, moved


def _moved(points: Numbers, turn: float, x_mm: float, y_mm: float) -> Numbers:
    import numpy as np

    cos, sin = np.cos(turn), np.sin(turn)
    moved: Numbers = points @ np.array([[cos, sin], [-sin, cos]]) + np.array([x_mm, y_mm])
    return moved


def _off_curve(a: float, b: float, points: Numbers) -> tuple[Numbers, Numbers]:
    """Distance of each point from y = A x^6 + B x^2, and the x of the nearest point on it."""
    import numpy as np

    px, py = points[:, :1], points[:, 1:]
    grid = np.arange(-_REACH_MM, _REACH_MM + _STEP_MM, _STEP_MM)
    apart = (grid - px) ** 2 + (a * grid**6 + b * grid**2 - py) ** 2
    x, px, py = grid[apart.argmin(axis=1)], px[:, 0], py[:, 0]
    for _ in range(8):  # Newton's steps double the digits of a tenth of a mm each time
        below = a * x**6 + b * x**2 - py
        slope, bend = 6 * a * x**5 + 2 * b * x, 30 * a * x**4 + 2 * b
        steepness = np.maximum(1 + slope**2 + below * bend, 1e-3)
        x = x - np.clip((x - px + below * slope) / steepness, -_STEP_MM, _STEP_MM)
    slope = 6 * a * x**5 + 2 * b * x
    off: Numbers = ((px - x) * slope - (py - a * x**6 - b * x**2)) / np.hypot(1.0, slope)
    return off, x


def _ahead(a: float, b: float, point: Numbers, anchor: Anchor) -> float:
    """How far a side's foremost point lies ahead of its place, along the curve, weighted."""
    *before, own = anchor.lengths_mm
    chord = lay_chords(lambda x: sixth_order_depth(x, a, b), [*before, own], float("inf"))[-1]
    (x1, y1), (x2, y2) = chord.start, chord.end
    dx, dy = anchor.side * float(point[0]) - x1, float(point[1]) - y1
    along = (dx * (x2 - x1) + dy * (y2 - y1)) / hypot(x2 - x1, y2 - y1)
    return along * (_BEHIND_TEETH if before else 1.0)
