"""Invented cases to plan by hand, by topic and level; the same ones for a seed."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Literal, get_args

from sheetmark.anatomy.arch_model import ArchModel, model_for_age
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Procedure, ToothState
from sheetmark.case.exceptions import state_prose
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.rows import SECOND_MOLAR

Topic = Literal["usual", "fronts", "gaps", "bridge", "children"]
TOPICS: tuple[Topic, ...] = get_args(Topic)
LEVEL_LIMITS = (1, 3)
# Restorations more often than the rest; a case in three has a gap (both ours, for variety).
_PROCEDURES: tuple[Procedure, ...] = ("restoration", "restoration", "root-canal", "full-arch")
# Completed years with primary teeth in the row.
_AGES = (4, 5, 6, 7, 8, 9, 10)
_MOVED_MM = (-2.0, -1.5, 1.5, 2.0)
_TRIES = 200
_CANINE = 3


def invented(lesson: Lesson, count: int, seed: int, topic: Topic, level: int) -> list[Plan]:
    """Plans of cases that can be done on this sheet, no two alike; at level 1 one usual
    restoration each.

    Raises InputError where there are not so many.
    """
    draw = Random(seed)
    found: dict[Case, Plan] = {}
    for _ in range(_TRIES * count):
        if len(found) == count:
            break
        model, age = _model(draw, lesson, topic)
        try:
            case = _case(draw, _teeth(model), lesson, topic, level, age)
            found.setdefault(case, make_plan(case, model, lesson.practice))
        except InputError:
            continue
    if len(found) < count:
        raise InputError(
            f"exercise: {len(found)} of {count} cases can be done on a sheet of "
            f"{lesson.practice.sheet.name} mm; take a larger sheet, or fewer cases"
        )
    return list(found.values())


def _model(draw: Random, lesson: Lesson, topic: Topic) -> tuple[ArchModel, int | None]:
    if topic != "children":
        return lesson.model, None
    age = draw.choice(_AGES)
    return model_for_age(age), age


def _teeth(model: ArchModel) -> list[Tooth]:
    return [
        tooth
        for jaw in JAWS
        for tooth in build_arch(model, jaw).teeth
        if tooth.position <= SECOND_MOLAR
    ]


def _case(
    draw: Random, teeth: Sequence[Tooth], lesson: Lesson, topic: Topic, level: int, age: int | None
) -> Case:
    """A case that may be impossible; whoever plans it finds out."""
    tooth = draw.choice([candidate for candidate in teeth if _fits(candidate, topic)])
    procedure = draw.choice(_PROCEDURES) if level > 1 else "restoration"
    near = [t for t in teeth if t.jaw == tooth.jaw and 0 < abs(t.along - tooth.along) <= 3]
    gap = draw.choice(near)
    with_gap = level > 1 and draw.random() < 1 / 3 and procedure != "root-canal"
    treat: tuple[Tooth, ...] = (tooth,)
    missing: tuple[Tooth, ...] = (gap,) if with_gap else ()
    states: tuple[ToothState, ...] = ()
    if topic in ("gaps", "bridge"):
        procedure, missing = "restoration", (gap,) if topic == "gaps" else ()
    if topic == "bridge":
        states = _bridge(tooth, teeth, draw)
    if level == LEVEL_LIMITS[1]:
        used = {*missing, *(state.tooth for state in states)}
        treat, moved = _harder(draw, tooth, teeth, used)
        states = (*states, moved)
    return Case(
        treat=treat,
        notation=lesson.practice.notation,
        procedure=procedure,
        missing=missing,
        states=states,
        age=age,
    )


def _fits(tooth: Tooth, topic: Topic) -> bool:
    if topic == "fronts":
        return tooth.position <= _CANINE
    if topic == "children":
        return tooth.primary
    return topic != "bridge" or tooth.position > _CANINE


def _bridge(tooth: Tooth, teeth: Sequence[Tooth], draw: Random) -> tuple[ToothState, ...]:
    """The treated tooth as one abutment of a bridge with one pontic."""
    step = draw.choice((-1, 1))
    at = {neighbour.along: neighbour for neighbour in teeth if neighbour.jaw == tooth.jaw}
    try:
        pontic, other = at[tooth.along + step], at[tooth.along + 2 * step]
    except KeyError:
        raise InputError("bridge: no tooth for its other end") from None
    ends = (ToothState(tooth, abutment=True), ToothState(other, abutment=True))
    return (*ends, ToothState(pontic, pontic=True))


def _harder(
    draw: Random, tooth: Tooth, teeth: Sequence[Tooth], used: set[Tooth]
) -> tuple[tuple[Tooth, ...], ToothState]:
    """A second tooth to treat beside the first, and a neighbour out of line."""
    same_side = [t for t in teeth if t.jaw == tooth.jaw and t.side == tooth.side and t not in used]
    beside = [t for t in same_side if abs(t.along - tooth.along) == 1]
    others = [t for t in same_side if t != tooth]
    if not beside or not others:
        raise InputError("exercise: no second tooth to treat")
    moved = ToothState(draw.choice(others), facial_mm=draw.choice(_MOVED_MM))
    return (tooth, draw.choice(beside)), moved


def case_line(plan: Plan) -> str:
    """The case in a line: as in its title, and each tooth that differs; no reference."""
    case = plan.case
    parts = [case_title(plan)]
    parts += [
        f"{case.write([state.tooth])} {plan.practice.numerals(prose)}"
        for state in case.states
        if (prose := state_prose(state))
    ]
    return ", ".join(parts)


def case_title(plan: Plan) -> str:
    """Teeth, procedure, age, and what is missing."""
    case = plan.case
    parts = [case.write(case.treat), case.procedure.replace("-", " ")]
    if case.age is not None:
        parts.append(f"{case.age} years")
    if case.missing:
        parts.append(f"{case.write(case.missing)} missing")
    return ", ".join(parts)
