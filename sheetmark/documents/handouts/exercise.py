"""Exercises for a class: questions, an overview of the answers, and a key for each question.

Questions come first, keys on papers of their own behind them: printed on both sides, no key ever
stands on the back of a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.checking.exercise import Exercise, ExercisePage
from sheetmark.checking.wanted import wanted_of
from sheetmark.documents.handouts.exercise_cases import (
    LEVEL_LIMITS,
    Topic,
    case_line,
    case_title,
    invented,
)
from sheetmark.documents.handouts.exercise_faults import plant
from sheetmark.documents.handouts.exercise_find import find_key, find_question
from sheetmark.documents.handouts.exercise_pages import (
    LEAST_FOR_PHOTO_MM,
    NO_PATIENT,
    for_photo,
    ignored,
    key,
    question,
    rules,
)
from sheetmark.documents.handouts.lesson import NO_SCALE, Lesson
from sheetmark.documents.parts import GAP_MM
from sheetmark.plan.plan import Plan
from sheetmark.practice.tolerance import TOLERANCE_LIMITS_MM
from sheetmark.typesetting.bullseyes import CODE_LIMITS
from sheetmark.typesetting.marks import Document, Page
from sheetmark.typesetting.paragraphs import Block, Paragraph, flow, set_blocks

TITLE = "Exercise"
# All ours.
COUNT_LIMITS = (1, 50)
DEFAULT_COUNT = 3
SEED_LIMITS = (0, 2**32 - 1)
DEFAULT_SEED = 1
DEFAULT_LEVEL = 2
# Below this the ring would meet the disc of the hole (ours).
_LEAST_RING_MM = 1.5
_OVERVIEW_MM = 3.4


class Wish(Struct, frozen=True, kw_only=True):
    """What a teacher asks for. `own` are the teacher's own cases; else `count` are invented.

    `tolerance_mm` is how far off a hole may be; None as the practice has it.
    """

    count: int = DEFAULT_COUNT
    seed: int = DEFAULT_SEED
    tolerance_mm: float | None = None
    topic: Topic = "usual"
    level: int = DEFAULT_LEVEL
    find_faults: bool = False
    own: tuple[Plan, ...] = ()


class ExerciseCase(Struct, frozen=True, kw_only=True):
    """A case to solve."""

    plan: Plan
    """The right plan."""
    title: str
    """The page's heading, with its number and the teeth to treat."""
    code: int
    """The number of the code printed on the page."""
    shown: Plan
    """The plan on the page: with faults, where faults are to be found."""
    faults: tuple[str, ...]
    """A sentence for each fault that is planted."""


class ExerciseSet(Struct, frozen=True, kw_only=True):
    """Questions and keys apart, so that they can go into one file or two."""

    title: str
    """What the file is called."""
    recipe: str
    """The command line that makes it again."""
    questions: tuple[Page, ...]
    """A page for each case."""
    keys: tuple[Page, ...]
    """The overview, then a key for each question."""
    empty: Page
    """Between questions and keys, so that these begin on a paper of their own."""
    cases: tuple[ExerciseCase, ...]
    """The cases in the order of the questions."""
    wish: Wish
    """What the teacher asked for."""
    tolerance_mm: float
    """How far off a hole may be."""

    @property
    def question_document(self) -> Document:
        """The questions alone."""
        return Document(self.title, self.recipe, self.questions)

    @property
    def key_document(self) -> Document:
        """The overview and the keys alone."""
        return Document(f"Key · {self.title}", self.recipe, self.keys)

    @property
    def whole(self) -> Document:
        """The keys behind the questions, beginning on a paper of their own."""
        between = (self.empty,) if len(self.questions) % 2 else ()
        pages = (*self.questions, *between, *self.keys)
        return Document(self.title, self.recipe, pages)

    @property
    def for_check(self) -> Exercise:
        """What a program needs that marks photographs of the pages.

        Raises InputError for a sheet without room for bullseyes, and for faults to find.
        """
        if self.wish.find_faults:
            raise InputError(
                "exercise: faults are written in words, so no photograph of them can be marked; "
                "leave out the faults to find or the .json"
            )
        plans = [case.plan for case in self.cases]
        if not all(map(for_photo, plans)):
            raise InputError(
                f"exercise: a photograph can be marked of a sheet from {LEAST_FOR_PHOTO_MM:g} x "
                f"{LEAST_FOR_PHOTO_MM:g} mm; take a larger sheet, or leave out the .json"
            )
        return Exercise(
            sheet=plans[0].sheet,
            pages=tuple(
                ExercisePage(
                    code=case.code,
                    name=case.title,
                    notation=case.plan.case.notation,
                    holes=wanted_of(case.plan).holes,
                )
                for case in self.cases
            ),
            ignore_mm=ignored(plans),
            tolerance_mm=self.tolerance_mm,
        )


def exercise_set(lesson: Lesson, wish: Wish) -> ExerciseSet:
    """Questions and keys. Raises InputError for figures outside their limits."""
    _check("cases", wish.count, COUNT_LIMITS, "")
    _check("seed", wish.seed, SEED_LIMITS, "")
    tolerance_mm = lesson.practice.tolerance_mm if wish.tolerance_mm is None else wish.tolerance_mm
    _check("tolerance", tolerance_mm, (_LEAST_RING_MM, TOLERANCE_LIMITS_MM[1]), " mm")
    _check("level", wish.level, LEVEL_LIMITS, "")
    plans = wish.own or tuple(invented(lesson, wish.count, wish.seed, wish.topic, wish.level))
    if len(plans) > COUNT_LIMITS[1]:
        raise InputError(f"exercise: {len(plans)} cases; at most {COUNT_LIMITS[1]} in one exercise")
    cases = [
        _exercise_case(plan, number, len(plans), wish) for number, plan in enumerate(plans, start=1)
    ]
    if wish.find_faults:
        questions = [find_question(lesson, case.shown, case.title) for case in cases]
        keys = [find_key(lesson, case.plan, case.title, case.faults) for case in cases]
    else:
        questions = [question(lesson, case.plan, case.title, case.code) for case in cases]
        keys = [key(lesson, case.plan, case.title, tolerance_mm) for case in cases]
    what = f"{len(plans)} own cases" if wish.own else f"{len(plans)} cases, seed {wish.seed}"
    return ExerciseSet(
        title=f"{TITLE} · {what}",
        recipe=lesson.command,
        questions=tuple(questions),
        keys=(*_overview(lesson, cases), *keys),
        empty=_empty(lesson),
        cases=tuple(cases),
        wish=wish,
        tolerance_mm=tolerance_mm,
    )


def _check(what: str, value: float, limits: tuple[float, float], unit: str) -> None:
    low, high = limits
    if not low <= value <= high:
        raise InputError(f"{what} {value:.12g}{unit}: must be {low:.12g} to {high:.12g}{unit}")


def _exercise_case(plan: Plan, number: int, count: int, wish: Wish) -> ExerciseCase:
    shown = plan
    faults: tuple[str, ...] = ()
    if wish.find_faults:
        shown, faults = plant(plan, Random(wish.seed * COUNT_LIMITS[1] + number), wish.level)
    return ExerciseCase(
        plan=plan,
        title=f"{TITLE} {number} of {count} · {case_title(plan)}",
        # Pages of another seed have other codes, so that a key is not taken for that of another.
        code=(wish.seed * COUNT_LIMITS[1] + number) % (CODE_LIMITS[1] + 1),
        shown=shown,
        faults=faults,
    )


def _empty(lesson: Lesson) -> Page:
    """Between the last question and the keys, so that these begin on a paper of their own."""
    marks, column = lesson.leaf("Left empty", NO_SCALE, NO_PATIENT)
    more, _, _ = set_blocks(
        [Paragraph("The keys begin on the next paper, never on the back of a question.")], column
    )
    return lesson.page([*marks, *more])


def _overview(lesson: Lesson, cases: Sequence[ExerciseCase]) -> list[Page]:
    """All answers in short, as few pages as they need."""
    rule_blocks = rules(lesson, cases[0].plan)
    rest: Sequence[Block] = [
        *rule_blocks,
        *(block for case in cases for block in _answer(lesson, case)),
    ]
    pages = []
    while rest:
        marks, column = lesson.leaf(f"Key · overview of {len(cases)}", NO_SCALE, NO_PATIENT)
        more, _, rest = flow(rest, column.halves(GAP_MM))
        pages.append(lesson.page([*marks, *more]))
    return pages


def _answer(lesson: Lesson, case: ExerciseCase) -> list[Block]:
    plan, label = case.plan, case.plan.practice.punch.label
    holes = ", ".join(
        f"{plan.case.write([hole.tooth])}: {label(hole.hole.punch_position)}" for hole in plan.holes
    )
    number = case.title.removeprefix(f"{TITLE} ").partition(" ")[0]
    anchors = plan.case.write(plan.isolation.anchors)
    lines = case.faults or (f"Tooth and punch hole: {holes}. Anchors: {anchors}.",)
    return [
        Paragraph(
            case_line(plan),
            bold=True,
            size=_OVERVIEW_MM,
            lead=number,
            indent_mm=7.0,
            with_next=True,
        ),
        *(lesson.paragraph(line, size=_OVERVIEW_MM, indent_mm=7.0, after_mm=0.8) for line in lines),
    ]
