"""From the page's plane to the picture: a homography and one term of lens distortion.

The plane's points are in the sheet frame, mm, y up; the picture's in pixels, y down. The lens
moves a point outwards from the picture's middle by (1 + k1 r²), r in half diagonals: the first
term of Brown's radial distortion (common practice). A homography alone leaves more than half a
millimetre at a phone's lens.
"""

from __future__ import annotations

from math import acos, degrees, hypot
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.checking.photo import FILM_DIAGONAL_MM

Array = NDArray[np.floating[Any]]

# Lengths on the plane are divided by this, so that the numbers that are fitted are near 1.
_UNIT_MM = 100.0
# What a phone's main camera has, where the file does not tell (assumption), and its spread.
USUAL_FOCAL_35_MM = 26.0
_FOCAL_SPREAD = {True: 0.02, False: 0.25}  # of its logarithm: stated in the file, not stated
# Lens distortion of phones, of a fitted k1 before anything is measured (assumption).
_K1_SPREAD = 0.1
_K1_WEIGHT_PX = 0.05


class Camera(Struct, frozen=True):
    """`homography` leads from plane points in units of 100 mm to ideal picture points in half
    diagonals from the picture's middle, y down; `k1` is the lens; `half_diagonal` is in pixels."""

    homography: Array
    k1: float
    middle: tuple[float, float]
    half_diagonal: float

    def to_picture(self, points: Array) -> Array:
        """Plane points (n, 2) in mm as pixels (n, 2)."""
        x, y = points[..., 0] / _UNIT_MM, points[..., 1] / _UNIT_MM
        # Plain numbers, so that points of single precision stay so.
        h = [[float(cell) for cell in row] for row in self.homography]
        w = h[2][0] * x + h[2][1] * y + h[2][2]
        u = (h[0][0] * x + h[0][1] * y + h[0][2]) / w
        v = (h[1][0] * x + h[1][1] * y + h[1][2]) / w
        factor = self.half_diagonal * (1 + self.k1 * (u * u + v * v))
        return np.stack([u * factor + self.middle[0], v * factor + self.middle[1]], axis=-1)

    def pixels_per_mm(self, at: tuple[float, float]) -> float:
        """The picture's scale at a plane point: the square root of how areas grow."""
        return float(abs(self.jacobian_sign_and_area(at)) ** 0.5)

    def jacobian_sign_and_area(self, at: tuple[float, float]) -> float:
        """How areas grow at a plane point, mm² to pixels²; negative where y turns over, as in
        every photograph that is not mirrored."""
        x, y = at
        a, b, c = self.to_picture(np.array([[x, y], [x + 0.5, y], [x, y + 0.5]]))
        return float(np.linalg.det(np.array([b - a, c - a])) * 4)

    def focal(self, focal_35_mm: float | None) -> float:
        """The focal length in half diagonals that fits the homography and what the file states.

        The columns of a homography are those of a turn but for the focal length, so they stand
        at right angles and are of one length (Zhang 2000, from memory); seen from straight above
        they say nothing, and what the file states is kept.
        """
        usual = (focal_35_mm or USUAL_FOCAL_35_MM) / (FILM_DIAGONAL_MM / 2)
        spread = _FOCAL_SPREAD[focal_35_mm is not None]
        tries = usual * np.exp(np.linspace(-2.5 * spread, 2.5 * spread, 81))
        h = self.homography
        cost = []
        for f in tries:
            first, second = (np.array([h[0, i] / f, h[1, i] / f, h[2, i]]) for i in (0, 1))
            size = float(first @ first + second @ second) / 2
            skew, ratio = (
                float(first @ second) / size,
                float(first @ first - second @ second) / size,
            )
            cost.append((skew**2 + ratio**2) / 0.01**2 + (np.log(f / usual) / spread) ** 2)
        return float(tries[int(np.argmin(cost))])

    def eye(self, focal_35_mm: float | None) -> Array:
        """Where the lens is: x, y and height above the plane, mm."""
        f = self.focal(focal_35_mm)
        first, second, third = (
            np.array([self.homography[0, i] / f, self.homography[1, i] / f, self.homography[2, i]])
            for i in range(3)
        )
        scale = (np.linalg.norm(first) + np.linalg.norm(second)) / 2
        first, second, place = first / scale, second / scale, third / scale
        if place[2] < 0:
            first, second, place = -first, -second, -place
        out = np.cross(first, second)
        turn = np.stack([first, second, out / np.linalg.norm(out)], axis=1)
        left, _, right = np.linalg.svd(turn)
        eye = -(left @ right).T @ place * _UNIT_MM
        eye[2] = abs(eye[2])
        return np.asarray(eye)


def tilt_at(eye: Array, at: tuple[float, float]) -> float:
    """How far off the vertical a plane point is seen from, degrees."""
    across = hypot(eye[0] - at[0], eye[1] - at[1])
    return degrees(acos(float(eye[2]) / hypot(across, float(eye[2]))))


def four_point(plane: Array, picture: Array) -> Array:
    """Homographies (n, 3, 3) through four pairs each: (n, 4, 2) to (n, 4, 2)."""
    x, y = plane[..., 0], plane[..., 1]
    u, v = picture[..., 0], picture[..., 1]
    zero, unit = np.zeros_like(x), np.ones_like(x)
    rows_u = np.stack([x, y, unit, zero, zero, zero, -u * x, -u * y], axis=-1)
    rows_v = np.stack([zero, zero, zero, x, y, unit, -v * x, -v * y], axis=-1)
    system = np.concatenate([rows_u, rows_v], axis=-2)
    sizes = np.abs(np.linalg.det(system))
    system[sizes < 1e-9] = np.eye(8)
    solved = np.linalg.solve(system, np.concatenate([u, v], axis=-1)[..., None])[..., 0]
    return np.concatenate([solved, np.ones((*solved.shape[:-1], 1))], axis=-1).reshape(-1, 3, 3)


def fit_camera(
    plane: Array,
    picture: Array,
    first: Array,
    middle: tuple[float, float],
    half_diagonal: float,
) -> Camera:
    """The camera that brings plane points (n, 2), mm, nearest to picture points (n, 2), pixels.

    `first` is a homography to start from, in the camera's own units. A far-off point counts less.
    """
    from scipy.optimize import least_squares

    def camera(numbers: Array) -> Camera:
        homography = np.append(numbers[:8], 1.0).reshape(3, 3)
        return Camera(homography, float(numbers[8]), middle, half_diagonal)

    def off(numbers: Array) -> Array:
        residual = (camera(numbers).to_picture(plane) - picture).ravel()
        return np.append(residual, numbers[8] / _K1_SPREAD * _K1_WEIGHT_PX)

    start = np.append((first / first[2, 2]).ravel()[:8], 0.0)
    solved = least_squares(off, start, loss="soft_l1", f_scale=1.0, x_scale="jac")
    return camera(solved.x)


def to_units(plane: Array) -> Array:
    """Plane points in mm in the homography's unit."""
    return plane / _UNIT_MM
