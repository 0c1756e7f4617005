"""Points picked in a picture, in pixels, as landmarks in mm."""

from __future__ import annotations

import re
from math import inf, nan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import NOTATIONS, Notation, read
from sheetmark.base.findings import InputError
from sheetmark.fitting.landmarks import read_landmarks, write_landmarks
from sheetmark.fitting.picture_scale import (
    LEAST_PIXELS,
    Picked,
    PixelPoint,
    Scale,
    picture_landmarks,
)

# 500 pixels over 50 mm, neither across nor down.
SCALE = Scale(PixelPoint(100.0, 200.0), PixelPoint(400.0, 600.0), 50.0)
POINT = st.builds(PixelPoint, st.floats(0, 4000), st.floats(0, 4000))


def picked(iso: str, mesial: tuple[float, float], distal: tuple[float, float]) -> Picked:
    return Picked(read(iso, "iso"), PixelPoint(*mesial), PixelPoint(*distal))


def problems_of(teeth: list[Picked], scale: Scale = SCALE) -> tuple[str, ...]:
    with pytest.raises(InputError) as caught:
        picture_landmarks(teeth, scale, "iso")
    return caught.value.problems


def test_pixels_become_mm_and_y_stays_downwards() -> None:
    assert SCALE.mm_per_pixel == pytest.approx(0.1, abs=1e-12)
    right, left = picture_landmarks(
        [picked("21", (300, 40), (380, 60)), picked("16", (20, 300), (10, 390))], SCALE, "iso"
    )
    assert (right.tooth.iso, left.tooth.iso) == ("16", "21")
    assert (*right.points[0], *right.points[1]) == pytest.approx((2, 30, 1, 39), abs=1e-9)
    assert (*left.points[0], *left.points[1]) == pytest.approx((30, 4, 38, 6), abs=1e-9)


@settings(max_examples=50, derandomize=True)
@given(POINT, POINT, POINT, POINT, st.floats(5, 500), st.floats(0.5, 3))
def test_a_width_does_not_depend_on_how_large_the_picture_is(
    first: PixelPoint,
    other: PixelPoint,
    mesial: PixelPoint,
    distal: PixelPoint,
    mm: float,
    times: float,
) -> None:
    def larger(point: PixelPoint) -> PixelPoint:
        return PixelPoint(point[0] * times, point[1] * times)

    scale = Scale(first, other, mm)
    enlarged = Scale(larger(first), larger(other), mm)
    pixels = ((first[0] - other[0]) ** 2 + (first[1] - other[1]) ** 2) ** 0.5
    apart = max(abs(mesial[0] - distal[0]), abs(mesial[1] - distal[1]))
    assume(min(pixels, pixels * times) > LEAST_PIXELS + 1 and apart > 1)
    (small,) = picture_landmarks([picked("16", mesial, distal)], scale, "iso")
    (large,) = picture_landmarks([picked("16", larger(mesial), larger(distal))], enlarged, "iso")
    assert large.width_mm == pytest.approx(small.width_mm, rel=1e-9)


@pytest.mark.parametrize(
    ("scale", "wording"),
    [
        (replace(SCALE, end=SCALE.start), r"both points are the same; put them"),
        (
            replace(SCALE, end=PixelPoint(100.0, 299.0)),
            r"99 pixels apart, at least 100 .*; take a longer",
        ),
        (replace(SCALE, mm=4.9), r"4\.9 mm between the two points; limits 5 to 500 mm; measure"),
        (replace(SCALE, mm=501.0), r"501 mm between"),
        (replace(SCALE, mm=nan), r"nan mm between"),
        (replace(SCALE, end=PixelPoint(inf, 0.0)), r"in no picture; pick it again"),
        (replace(SCALE, start=PixelPoint(0.0, nan)), r"in no picture; pick it again"),
        (replace(SCALE, start=PixelPoint(1e308, 0.0)), r"in no picture; pick it again"),
    ],
)
def test_what_gives_no_scale_is_refused(scale: Scale, wording: str) -> None:
    (problem,) = problems_of([picked("16", (0, 0), (80, 0))], scale)
    assert problem.startswith("scale: ")
    assert re.search(wording, problem), problem


def test_the_least_that_gives_a_scale() -> None:
    assert replace(SCALE, end=PixelPoint(100.0, 300.0)).mm_per_pixel == 0.5
    assert replace(SCALE, mm=5.0).mm_per_pixel == pytest.approx(0.01, abs=1e-12)


def test_every_problem_of_the_teeth_is_named_at_once() -> None:
    found = problems_of(
        [
            picked("16", (0, 0), (0, 0)),
            picked("15", (0, 0), (80, nan)),
            picked("14", (0, 0), (80, 0)),
            picked("14", (1, 0), (80, 0)),
            picked("36", (1, 0), (80, 0)),
        ]
    )
    assert len(found) == 4
    assert found[0] == "tooth 16: its mesial and distal points are the same; pick both again"
    assert found[1].startswith("tooth 15: a point at 80, nan pixels is in no picture")
    assert found[2] == "tooth 14: picked twice; delete one"
    assert found[3] == "teeth of both jaws, such as 14 and 36; fit one jaw at a time"


@pytest.mark.parametrize("system", NOTATIONS)
def test_landmarks_are_written_as_they_are_read(system: Notation) -> None:
    teeth = [picked(iso, (1 / 3, 7.1), (80.7, 5)) for iso in ("16", "11", "55")]
    marks = picture_landmarks(teeth, SCALE, system)
    text = write_landmarks(marks, system)
    assert len(marks) == 3
    assert read_landmarks(text.encode(), "x", system) == marks
