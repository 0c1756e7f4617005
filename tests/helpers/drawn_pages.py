"""A learner's page, made: the exercise's page as PDF, and crosses of a hand with a pen."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np

from sheetmark.base.frames import PagePoint
from sheetmark.checking.exercise import EXERCISE_GAP_MM, Exercise
from sheetmark.practice.settings import Sheet
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.bullseyes import CODE_LEFT_MM, bullseyes_round, code_marks
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Polygon
from tests.helpers.check_scenes import Stroke
from tests.helpers.photographs import USUAL_CAMERA, USUAL_LIGHT, Camera, Light, Scene

MIDDLE = PagePoint(105.0, 200.0)
CROSS_MM = 5.0
IGNORE = ((-6.0, -6.0, 6.0, 6.0),)
"""The printed cross of the sheet's middle."""


@lru_cache(maxsize=16)
def page_pdf(code: int, sheet: Sheet) -> bytes:
    """The sheet's outline and middle, the bullseyes and the code."""
    w, h = sheet.width_mm / 2, sheet.height_mm / 2
    marks: list[Mark] = []
    for bullseye in bullseyes_round(MIDDLE, sheet.width_mm, sheet.height_mm, EXERCISE_GAP_MM):
        marks += bullseye.marks
    left = PagePoint(MIDDLE.x + CODE_LEFT_MM, MIDDLE.y - h - EXERCISE_GAP_MM)
    marks += code_marks(code, left)
    corners = [(-w, -h), (w, -h), (w, h), (-w, h)]
    outline = tuple(PagePoint(MIDDLE.x + x, MIDDLE.y + y) for x, y in corners)
    marks.append(Polygon(outline, 0.3, "sheet"))
    for x, y in ((CROSS_MM, 0.0), (0.0, CROSS_MM)):
        start = PagePoint(MIDDLE.x - x, MIDDLE.y - y)
        marks.append(Line(start, PagePoint(MIDDLE.x + x, MIDDLE.y + y), 0.5, "centre"))
    return render_pdf(Document("exercise", "exercise", (Page(210.0, 297.0, tuple(marks)),)))


def cross_at(x: float, y: float, rng: np.random.Generator) -> list[Stroke]:
    """Two strokes of a hand: a turn, unlike lengths, a crossing near their middles."""
    turn = rng.uniform(0, np.pi / 2) if rng.random() < 0.5 else rng.normal(np.pi / 4, 0.15)
    strokes: list[Stroke] = []
    for angle in (turn, turn + np.pi / 2 + rng.normal(0, 0.15)):
        dx, dy = np.cos(angle), np.sin(angle)
        before, after = rng.uniform(1.2, 2.6, 2)
        start = (float(x - before * dx), float(y - before * dy))
        strokes.append(
            (start, (float(x + after * dx), float(y + after * dy)), rng.uniform(0.3, 0.8))
        )
    return strokes


def digit_at(x: float, y: float) -> list[Stroke]:
    """A 7 beside a cross, as learners write a hole of the punch."""
    return [((x, y), (x + 2.0, y), 0.4), ((x + 2.0, y), (x + 0.7, y - 3.2), 0.4)]


def ring_at(x: float, y: float, radius: float) -> list[Stroke]:
    """A small ring: ink that is no cross."""
    angles = np.linspace(0, 2 * np.pi, 13)
    points = [(float(x + radius * np.cos(a)), float(y + radius * np.sin(a))) for a in angles]
    return [(a, b, 0.5) for a, b in pairwise(points)]


def drawn_scene(
    exercise: Exercise,
    code: int,
    strokes: list[Stroke],
    *,
    camera: Camera | None = None,
    light: Light | None = None,
    seed: int = 1,
) -> Scene:
    """A photograph of a page with what was drawn on it."""
    return Scene(
        pdf=page_pdf(code, exercise.sheet),
        sheet_at_mm=(MIDDLE.x, MIDDLE.y),
        pen_on_paper=tuple(strokes),
        camera=camera or USUAL_CAMERA,
        light=light or USUAL_LIGHT,
        seed=seed,
    )
