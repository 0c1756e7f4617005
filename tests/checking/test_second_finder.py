"""OpenCV finds the same bullseyes by its own way: contours and ellipses fitted to them."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.checking.candidates import find_candidates
from sheetmark.checking.fiducials import identify, register
from sheetmark.checking.layout import check_layout
from sheetmark.checking.photo import grey, read_photo
from sheetmark.plan.make import make_plan
from tests.helpers.check_scenes import scene_of
from tests.helpers.photographs import Camera, Light, photograph


def ellipses(data: bytes) -> list[tuple[float, float]]:
    """Middles of all nearly round contours, as OpenCV sees the picture four times enlarged."""
    picture = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    large = cv2.resize(picture, None, fx=4, fy=4, interpolation=cv2.INTER_CUBIC)
    black = cv2.adaptiveThreshold(
        large, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, 401, 25
    )
    contours, _ = cv2.findContours(black, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    found = []
    for contour in contours:
        if len(contour) >= 100:
            (x, y), (a, b), _ = cv2.fitEllipse(contour)
            if 0.8 < a / max(b, 1e-9) <= 1.0:
                # Pixels of the enlarged picture are counted from their middles, too.
                found.append(((x + 0.5) / 4 - 0.5, (y + 0.5) / 4 - 0.5))
    return found


@pytest.mark.parametrize("turned", [0.0, 100.0])
def test_both_finders_agree_to_five_hundredths_of_a_mm(turned: float) -> None:
    plan = make_plan(Case(treat=(Tooth(1, 6),)))
    camera = Camera(height_mm=300.0, tilt_deg=6.0, megapixels=2.0, roll_deg=turned, k1=0.05)
    data = photograph(scene_of(plan, camera=camera, light=Light(noise=0.006)))
    photo = read_photo(data, "photograph.jpg")
    light = grey(photo)
    match = identify(
        find_candidates(light), check_layout(plan.sheet), photo.middle, photo.half_diagonal
    )
    assert match is not None
    ours = register(light, match, photo.middle, photo.half_diagonal)
    assert len(ours.fiducials) == 10
    theirs = np.array(ellipses(data))
    per_mm = ours.camera.pixels_per_mm((0.0, 0.0))
    for middle in ours.pixels:
        gaps = np.hypot(*(theirs - middle).T) / per_mm
        # A bullseye has two or four round contours, each with its own small error.
        near = theirs[gaps < 1.0]
        assert len(near) >= 2
        assert np.hypot(*(near.mean(axis=0) - middle)) / per_mm < 0.05
