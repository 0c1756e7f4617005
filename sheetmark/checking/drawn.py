"""The marks of one drawn exercise page. What is unsure goes to the teacher and is never guessed."""

from __future__ import annotations

from math import hypot
from typing import Literal

import numpy as np
from msgspec import Struct

from sheetmark.anatomy.teeth import write
from sheetmark.base.findings import InputError
from sheetmark.base.frames import SheetPoint
from sheetmark.checking.crosses import Drawn, find_drawn
from sheetmark.checking.exercise import EXERCISE_GAP_MM, Exercise, ExercisePage
from sheetmark.checking.ink import read_code, tone_of
from sheetmark.checking.look import Page, see_page
from sheetmark.checking.matching import CLEARLY, STRAIGHT, pair
from sheetmark.checking.photo import Floats, Photo
from sheetmark.checking.wanted import WantedHole

Mark = Literal["in place", "out of place", "missing", "unsure"]
# Ink this near a missing hole's place may be its mark (assumption).
_MAY_BE_MM = 4.0
# Of a cross on flat paper, 95 of 100 (assumption; in made photographs less:
# examples/guide/checking-figures.md).
CROSS_UNCERTAIN_MM = 0.35


class DrawnHole(Struct, frozen=True):
    """One hole of the exercise: what the learner's cross came to, and how far off it is, mm."""

    wanted: WantedHole
    mark: Mark
    off_mm: SheetPoint | None

    @property
    def distance_mm(self) -> float | None:
        """How far off the cross is, mm."""
        return None if self.off_mm is None else hypot(*self.off_mm)


class DrawnPage(Struct, frozen=True):
    """A learner's page: its holes, crosses that no hole has, and whether it is drawn mirrored or
    turned; `seen` is the page itself."""

    page: ExercisePage
    holes: tuple[DrawnHole, ...]
    extra: tuple[SheetPoint, ...]
    straight: bool
    drawn: tuple[Drawn, ...]
    seen: Page

    @property
    def in_place(self) -> int:
        """How many crosses lie within the tolerance."""
        return sum(hole.mark == "in place" for hole in self.holes)

    @property
    def unsure(self) -> tuple[DrawnHole, ...]:
        """The holes that a teacher must look at."""
        return tuple(hole for hole in self.holes if hole.mark == "unsure")

    def teeth(self, mark: Mark) -> str:
        """The teeth of one mark, in the page's notation."""
        return " ".join(
            write(hole.wanted.tooth, self.page.notation) for hole in self.holes if hole.mark == mark
        )


def mark_page(photo: Photo, exercise: Exercise) -> DrawnPage:
    """The marks of a photographed or scanned page. Raises InputError where it cannot be judged."""
    seen = see_page(photo, exercise.layout)
    tone = tone_of(seen.flat)
    page = _which(seen, tone, exercise)
    blur = seen.registration.blur_mm
    drawn = find_drawn(seen.flat, tone, exercise.sheet, exercise.ignore_mm, blur)
    crosses = [mark.at for mark in drawn if mark.is_cross]
    other = [mark.at for mark in drawn if not mark.is_cross]
    pairings = pair([hole.at for hole in page.holes], crosses, exercise.sheet)
    straight = next(p for p in pairings if p.way == STRAIGHT)
    is_straight = straight.cost < pairings[0].cost + CLEARLY
    holes, used = [], set()
    for number, hole in enumerate(page.holes):
        index = straight.found[number] if is_straight else -1
        if index >= 0:
            used.add(index)
        holes.append(_hole(hole, crosses[index] if index >= 0 else None, other, exercise))
    extra = tuple(at for index, at in enumerate(crosses) if index not in used)
    return DrawnPage(page, tuple(holes), extra, is_straight, drawn, seen)


def _which(seen: Page, tone: Floats, exercise: Exercise) -> ExercisePage:
    if len(exercise.pages) == 1:
        return exercise.pages[0]
    code = read_code(seen.flat, tone, exercise.sheet, EXERCISE_GAP_MM)
    if code is None:
        raise InputError(
            "the squares of the page's code cannot be read; uncover them, and photograph the page "
            "again"
        )
    found = next((page for page in exercise.pages if page.code == code), None)
    if found is None:
        raise InputError(f"page code {code}: not of this exercise; take the file it belongs to")
    return found


def _hole(
    hole: WantedHole, cross: SheetPoint | None, other: list[SheetPoint], exercise: Exercise
) -> DrawnHole:
    if cross is None:
        gaps = np.array([hypot(at.x - hole.at.x, at.y - hole.at.y) for at in other])
        return DrawnHole(hole, "unsure" if (gaps < _MAY_BE_MM).any() else "missing", None)
    off = SheetPoint(cross.x - hole.at.x, cross.y - hole.at.y)
    beyond = hypot(*off) - exercise.tolerance_mm
    if abs(beyond) < CROSS_UNCERTAIN_MM:
        return DrawnHole(hole, "unsure", off)
    return DrawnHole(hole, "in place" if beyond < 0 else "out of place", off)
