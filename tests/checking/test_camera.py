"""The camera that is fitted to points, apart from any photograph: a pinhole written out by hand."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest

from sheetmark.checking.camera import Array, Camera, fit_camera, four_point, tilt_at
from sheetmark.checking.layout import check_layout
from sheetmark.practice.settings import Sheet

HALF_DIAGONAL, MIDDLE = 1250.0, (749.5, 999.5)
FOCAL_35 = 26.0
PLANE = np.array([mark.at for mark in check_layout(Sheet(152.0, 152.0)).fiducials])
# Places on the sheet at which the camera was not fitted.
WITHIN = np.array([(x, y) for x in (-60.0, -10.0, 45.0) for y in (-50.0, 5.0, 60.0)])


def pinhole(points: Array, tilt_deg: float, k1: float) -> Array:
    """Pixels of plane points seen from 300 mm away, the camera leaning to the right; the picture's
    y runs down."""
    t = radians(tilt_deg)
    eye = np.array([300 * sin(t), 0.0, 300 * cos(t)])
    right, up, out = np.array([[cos(t), 0.0, -sin(t)], [0.0, 1.0, 0.0], [sin(t), 0.0, cos(t)]])
    rays = np.column_stack([points, np.zeros(len(points))]) - eye
    # 43.27 mm is the diagonal of 35 mm film.
    focal = FOCAL_35 / (43.27 / 2)
    u = focal * (rays @ right) / -(rays @ out)
    v = -focal * (rays @ up) / -(rays @ out)
    factor = HALF_DIAGONAL * (1 + k1 * (u**2 + v**2))
    return np.column_stack([MIDDLE[0] + u * factor, MIDDLE[1] + v * factor])


def fitted(tilt_deg: float, k1: float) -> Camera:
    picture = pinhole(PLANE, tilt_deg, k1)
    corners = [0, 2, 5, 7]
    (first,) = four_point(
        PLANE[None, corners] / 100, (picture[None, corners] - MIDDLE) / HALF_DIAGONAL
    )
    return fit_camera(PLANE, picture, first, MIDDLE, HALF_DIAGONAL)


@pytest.mark.parametrize("tilt_deg", [3.0, 15.0])
@pytest.mark.parametrize("k1", [-0.08, 0.0, 0.08])
def test_camera_and_lens_are_those_that_made_the_picture(tilt_deg: float, k1: float) -> None:
    camera = fitted(tilt_deg, k1)
    assert camera.k1 == pytest.approx(k1, abs=0.004)
    off = np.linalg.norm(camera.to_picture(WITHIN) - pinhole(WITHIN, tilt_deg, k1), axis=1)
    assert max(off) / camera.pixels_per_mm((0.0, 0.0)) < 0.02
    eye = camera.eye(FOCAL_35)
    assert tilt_at(eye, (0.0, 0.0)) == pytest.approx(tilt_deg, abs=0.7)
    assert np.hypot(eye[0], eye[2]) == pytest.approx(300.0, rel=0.02)
    # It leans to the right, and the picture is not mirrored.
    assert eye[0] > 0
    assert camera.jacobian_sign_and_area((0.0, 0.0)) < 0
