"""Invented cases to plan by hand: a blank sheet for each, and its key on the page behind it.

Both pages have the sheet in the same place, so that a tutor lays one over the other.
"""

from __future__ import annotations

from random import Random

from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Procedure
from sheetmark.documents.case.overlay import hole_table
from sheetmark.documents.case.sheet import blank_sheet, draw_sheet
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.documents.parts import GAP_MM
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.rows import SECOND_MOLAR
from sheetmark.typesetting.marks import Document, Mark, Page
from sheetmark.typesetting.paragraphs import Paragraph, set_blocks

TITLE = "Exercise"
COUNT_LIMITS = (1, 50)
DEFAULT_COUNT = 3
SEED_LIMITS = (0, 2**32 - 1)
DEFAULT_SEED = 1
# How far off a hole marked by hand may be (assumption).
DEFAULT_TOLERANCE_MM = 2.0
TOLERANCE_LIMITS_MM = (1.5, 5.0)
# Restorations more often than the rest; a case in three has a gap (both ours, for variety).
_PROCEDURES: tuple[Procedure, ...] = ("restoration", "restoration", "root-canal", "full-arch")
_TRIES = 200
_INVENTED = ("Invented case, of no patient; the rules: common practice, no source",)


def exercise(lesson: Lesson, count: int, seed: int, tolerance_mm: float) -> Document:
    """Two pages a case. Raises InputError for figures outside their limits."""
    _check("cases", count, COUNT_LIMITS, "")
    _check("seed", seed, SEED_LIMITS, "")
    _check("tolerance", tolerance_mm, TOLERANCE_LIMITS_MM, " mm")
    pages: list[Page] = []
    for number, plan in enumerate(invented(lesson, count, seed), start=1):
        title = f"{TITLE} {number} of {count} · {case_line(plan)}"
        pages += [_blank(lesson, plan, title), _key(lesson, plan, title, tolerance_mm)]
    return Document(f"{TITLE} · {count} cases, seed {seed}", lesson.command, tuple(pages))


def _check(what: str, value: float, limits: tuple[float, float], unit: str) -> None:
    low, high = limits
    if not low <= value <= high:
        raise InputError(f"{what} {value:g}{unit}: must be {low:g} to {high:g}{unit}")


def invented(lesson: Lesson, count: int, seed: int) -> list[Plan]:
    """Plans of cases that can be done on this sheet, no two alike; the same ones for a seed."""
    draw = Random(seed)
    teeth = [
        tooth
        for jaw in JAWS
        for tooth in build_arch(lesson.model, jaw).teeth
        if tooth.position <= SECOND_MOLAR
    ]
    found: dict[Case, Plan] = {}
    for _ in range(_TRIES * count):
        if len(found) == count:
            return list(found.values())
        case = _case(draw, teeth, lesson)
        try:
            found.setdefault(case, make_plan(case, lesson.model, lesson.practice))
        except InputError:
            continue
    if len(found) < count:
        raise InputError(
            f"exercise: {len(found)} of {count} cases can be done on a sheet of "
            f"{lesson.practice.sheet.name} mm; take a larger sheet, or fewer cases"
        )
    return list(found.values())


def _case(draw: Random, teeth: list[Tooth], lesson: Lesson) -> Case:
    tooth = draw.choice(teeth)
    procedure = draw.choice(_PROCEDURES)
    near = [t for t in teeth if t.jaw == tooth.jaw and 0 < abs(t.along - tooth.along) <= 3]
    gap = draw.choice(near)
    with_gap = draw.random() < 1 / 3 and procedure != "root-canal"
    missing = (gap,) if with_gap else ()
    return Case(
        treat=(tooth,), notation=lesson.practice.notation, procedure=procedure, missing=missing
    )


def case_line(plan: Plan) -> str:
    """The case in a line: teeth, procedure, and what is missing."""
    case = plan.case
    named = f"{case.write(case.treat)}, {case.procedure.replace('-', ' ')}"
    return f"{named}, {case.write(case.missing)} missing" if case.missing else named


def _blank(lesson: Lesson, plan: Plan, title: str) -> Page:
    marks, column = lesson.sheet_leaf(title, plan, _INVENTED)
    paragraphs = [
        lesson.paragraph(
            f"Invented case: {case_line(plan)}. The cross is the sheet's middle. Where do the "
            f"holes go? Mark each hole's centre, write its tooth outside the arch and its punch "
            f"hole inside it, and draw a square round each anchor.",
            after_mm=3.0,
        ),
        *(
            lesson.paragraph(line, after_mm=3.4)
            for line in (
                "Teeth to isolate  " + 48 * "_",
                "Anchor or anchors  " + 30 * "_",
                "The sheet's middle lies, from the midline between the jaws: ______ mm to the "
                "patient's ________ , ______ mm towards the ________ jaw.",
                "Room from the outermost holes to the edge, mm: left ______  right ______  "
                "upper ______  lower ______",
            )
        ),
    ]
    more, _, left_over = set_blocks(paragraphs, column)
    _refuse_too_little_room(bool(left_over), lesson)
    return lesson.page([*marks, *blank_sheet(plan), *more])


def _key(lesson: Lesson, plan: Plan, title: str, tolerance_mm: float) -> Page:
    sources = (
        f"Tolerance ring of {lesson.practice.numerals(f'{tolerance_mm:g}')} mm: assumption",
        "Invented case; row, anchors, middle towards the quadrant: common practice, no source",
        *lesson.arch_sources[:2],
    )
    marks, column = lesson.sheet_leaf(f"Key · {title}", plan, sources)
    table, y = hole_table(plan, column)
    left, right = column.below(y).halves(GAP_MM)
    answers: list[Paragraph] = [
        lesson.paragraph(
            f"Lay this page under or over the learner's: edges on edges. A hole is right when its "
            f"centre lies in its ring ({tolerance_mm:g} mm)."
        ),
        lesson.paragraph(f"Isolated: {plan.case.write(plan.isolation.row)}"),
        lesson.paragraph(f"Anchors: {plan.case.write(plan.isolation.anchors)}"),
    ]
    m = plan.margins
    placed: list[Paragraph] = [
        lesson.paragraph(f"The sheet's middle lies {shift_text(plan)}."),
        lesson.paragraph(
            f"Room to the edge, mm: left {m.left_mm:.0f}, right {m.right_mm:.0f}, "
            f"upper {m.upper_mm:.0f}, lower {m.lower_mm:.0f}"
        ),
    ]
    left_marks, _, over = set_blocks(answers, left)
    two, _, other_over = set_blocks(placed, right)
    _refuse_too_little_room(bool(over or other_over), lesson)
    drawn = draw_sheet(plan, tolerance_mm=tolerance_mm)
    body: list[Mark] = [*marks, *drawn, *table, *left_marks, *two]
    return lesson.page(body)


def shift_text(plan: Plan) -> str:
    """Where the sheet's middle is in the mouth, in whole mm and plain words."""
    x, y = (round(c) for c in plan.shift_mm)
    across = "on the midline" if x == 0 else f"{abs(x)} mm to the patient's {_side(x)}"
    up = "half way between the jaws" if y == 0 else f"{abs(y)} mm towards the {_jaw(y)} jaw"
    return f"{across}, {up}"


def _side(x: float) -> str:
    return "left" if x > 0 else "right"


def _jaw(y: float) -> str:
    return "upper" if y > 0 else "lower"


def _refuse_too_little_room(missing: bool, lesson: Lesson) -> None:
    if missing:
        raise InputError(
            f"exercise: too little room for its words below a sheet of "
            f"{lesson.practice.sheet.name} mm; take a smaller sheet, or A4 paper"
        )
