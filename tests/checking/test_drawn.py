"""Drawn exercises: crosses on white paper are found, other ink is left to the teacher."""

from __future__ import annotations

import json

import numpy as np
import pytest

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.checking.drawn import DrawnPage, mark_page
from sheetmark.checking.exercise import Exercise, ExercisePage, exercise_json, read_exercise
from sheetmark.checking.photo import read_photo
from sheetmark.checking.wanted import wanted_of
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import Sheet
from tests.helpers.check_scenes import Stroke
from tests.helpers.drawn_pages import IGNORE, cross_at, digit_at, drawn_scene, ring_at
from tests.helpers.photographs import Camera, Light, photograph


def page(code: int, tooth: Tooth) -> ExercisePage:
    wanted = wanted_of(make_plan(Case(treat=(tooth,))))
    return ExercisePage(code=code, name=f"page {code}", notation="iso", holes=wanted.holes)


EXERCISE = Exercise(
    sheet=Sheet(152.0, 152.0),
    pages=(page(3, Tooth(1, 6)), page(700, Tooth(3, 6))),
    ignore_mm=IGNORE,
)
RIGHT = EXERCISE.pages[0].holes


def marked(strokes: list[Stroke], code: int = 3, **scene: object) -> DrawnPage:
    made = photograph(drawn_scene(EXERCISE, code, strokes, **scene))  # type: ignore[arg-type]
    return mark_page(read_photo(made, "page.jpg"), EXERCISE)


def test_crosses_are_marked_and_writing_beside_them_is_passed() -> None:
    rng = np.random.default_rng(5)
    moves = [(0.5, -0.8), (0.0, 0.3), (3.0, 1.0)]
    strokes: list[Stroke] = []
    for hole, (dx, dy) in zip(RIGHT, moves, strict=False):
        strokes += cross_at(hole.at.x + dx, hole.at.y + dy, rng)
        strokes += digit_at(hole.at.x - 12.0, hole.at.y)
    strokes += cross_at(30.0, -30.0, rng)
    done = marked(strokes)
    assert done.page.code == 3
    assert [hole.mark for hole in done.holes] == [
        "in place",
        "in place",
        "out of place",
        "missing",
    ]
    for found, move in zip(done.holes, moves, strict=False):
        assert found.off_mm == pytest.approx(move, abs=0.35)
    assert len(done.extra) == 1
    assert done.extra[0] == pytest.approx((30.0, -30.0), abs=0.35)
    assert done.straight
    assert done.in_place == 2
    assert done.teeth("missing") == "14"


def test_ink_that_is_no_cross_and_a_cross_on_the_border_are_for_the_teacher() -> None:
    rng = np.random.default_rng(6)
    first, second, third, fourth = (hole.at for hole in RIGHT)
    strokes = cross_at(first.x + 2.05, first.y, rng)  # at the tolerance itself
    strokes += ring_at(second.x, second.y, 1.2)
    strokes += cross_at(third.x, third.y, rng)
    strokes.append(((fourth.x - 1.5, fourth.y), (fourth.x + 1.5, fourth.y), 0.5))
    done = marked(strokes)
    assert [hole.mark for hole in done.holes] == ["unsure", "unsure", "in place", "unsure"]


def star(x: float, y: float, arms: int) -> list[Stroke]:
    """Strokes of 4 mm through one point."""
    angles = [0.4 + number * np.pi / arms for number in range(arms)]
    ends = [(float(2 * np.cos(a)), float(2 * np.sin(a))) for a in angles]
    return [((x - dx, y - dy), (x + dx, y + dy), 0.6) for dx, dy in ends]


def test_crosses_that_touch_are_found_and_letters_are_not() -> None:
    """In a blurred photograph, where strokes run together."""
    touching = [(-20.0, -40.0), (-16.0, -40.6), (-12.2, -39.4)]
    strokes = [stroke for at in touching for stroke in star(*at, 2)]
    strokes += star(30.0, 30.0, 3)
    strokes += [((38.0, 30.0), (42.0, 30.0), 0.6), ((40.0, 30.0), (40.0, 26.0), 0.6)]  # a T
    for off in (-1.2, 1.2):  # a hash: two pairs of its four crossings explain it alike
        strokes.append(((-40.0, 30.0 + off), (-35.0, 30.0 + off), 0.5))
        strokes.append(((-37.5 + off, 27.5), (-37.5 + off, 32.5), 0.5))
    struck = star(50.0, 30.0, 2)
    strokes += [*struck, ((47.0, 28.0), (53.0, 33.0), 0.6)]
    done = marked(strokes, light=Light(blur_px=1.3, noise=0.01))
    crosses = [mark.at for mark in done.drawn if mark.is_cross]
    assert len(crosses) == 3
    for found, drawn in zip(crosses, touching, strict=True):
        assert found == pytest.approx(drawn, abs=0.35)
    assert sum(not mark.is_cross and mark.at.y > 0 for mark in done.drawn) >= 3


def test_the_code_tells_the_page_and_a_mirrored_row_is_seen() -> None:
    rng = np.random.default_rng(7)
    strokes: list[Stroke] = []
    for hole in EXERCISE.pages[1].holes:
        strokes += cross_at(-hole.at.x, hole.at.y, rng)
    camera = Camera(height_mm=300.0, megapixels=1.4, roll_deg=180.0)
    done = marked(strokes, code=700, camera=camera)
    assert done.page.code == 700
    assert not done.straight


def test_a_page_of_another_exercise_is_refused() -> None:
    with pytest.raises(InputError, match="page code 8: not of this exercise"):
        marked([], code=8)


def test_the_exercises_file_is_read_back() -> None:
    again = read_exercise(exercise_json(EXERCISE), "exercise.json")
    assert exercise_json(again) == exercise_json(EXERCISE)
    assert again.pages[1].holes[0].tooth == EXERCISE.pages[1].holes[0].tooth


@pytest.mark.parametrize(
    ("change", "wording"),
    [
        ({"format": "sheetmark-plan/1"}, "no exercise of the format sheetmark-exercise/1"),
        ({"pages": []}, "0 pages"),
        ({"sheet_mm": [152]}, "not a whole exercise"),
        ({"tolerance_mm": 50}, "not a whole exercise"),
        ({"ignore_mm": [[1, 2, float("nan"), 4]]}, "not a whole exercise"),
    ],
)
def test_a_file_that_is_no_exercise_is_refused(change: dict[str, object], wording: str) -> None:
    data = json.loads(exercise_json(EXERCISE)) | change
    with pytest.raises(InputError, match=wording):
        read_exercise(json.dumps(data).encode(), "exercise.json")
