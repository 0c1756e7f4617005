"""Every handout by its name."""

from __future__ import annotations

from sheetmark.anatomy.teeth import read
from sheetmark.base.findings import InputError
from sheetmark.documents.handouts.arch_map import arch_map
from sheetmark.documents.handouts.exercise import Wish, exercise_set
from sheetmark.documents.handouts.hole_size import hole_size
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.documents.handouts.middle import DEFAULT_TOOTH, middle
from sheetmark.documents.handouts.numbering import numbering
from sheetmark.documents.handouts.placing import placing
from sheetmark.typesetting.marks import Document


def draw_handout(
    name: str, lesson: Lesson, *, wish: Wish | None = None, tooth: str | None = None
) -> Document:
    """The handout of that name. `tooth` is written in the practice's notation.

    Raises InputError for an unknown name, and for what cannot be drawn.
    """
    match name:
        case "arch-map":
            return arch_map(lesson)
        case "numbering":
            return numbering(lesson)
        case "exercise":
            return exercise_set(lesson, wish or Wish()).whole
        case "why-the-middle-moves":
            treat = DEFAULT_TOOTH if tooth is None else read(tooth, lesson.practice.notation)
            return middle(lesson, treat)
        case "hole-size":
            return hole_size(lesson)
        case "steps":
            return placing(lesson)
        case _:
            raise InputError(f"handout {name!r}: unknown handout")
