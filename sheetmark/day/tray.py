"""The day's tray: sheets to lay out, clamps to have ready, and clamps wanted again too soon.

Small records only: a day of thousands of cases keeps none of their plans.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth
from sheetmark.day.records import Problem
from sheetmark.day.rows import DayCase
from sheetmark.plan.clamps import Choice, together
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice
from sheetmark.practice.tray import Clamp

OUT_OF_TRAY = "none of the tray fits"


class Wish(Struct, frozen=True):
    """The clamps that one anchor could take, or lesions at the gum line one after the other."""

    anchor: str
    """The tooth, or the teeth that one clamp serves, in the case's notation."""
    isos: tuple[str, ...]
    """The same in ISO 3950."""
    labels: tuple[str, ...]
    """Labels of the clamps that fit, best first; empty where none does."""


class Visit(Struct, frozen=True, kw_only=True):
    """What the tray plan keeps of a case. `minute` counts from midnight, None without a time."""

    row: int
    """The case's row in the list."""
    minute: int | None
    """When it begins, in minutes after midnight; None where the list has no time."""
    reference: str
    """The clinic's own reference, never a name; empty without one."""
    teeth: str
    """The treated teeth in the case's notation."""
    isos: tuple[str, ...]
    """The same in ISO 3950."""
    procedure: str
    """What is done to them, in words."""
    sheet: str
    """The name of the sheet in the stock."""
    wishes: tuple[Wish, ...]
    """A wish for each clamp, in the order in which they go on."""


class Clash(Struct, frozen=True, kw_only=True):
    """A clamp wanted while all of its sort are in use or not yet sterilised."""

    row: int
    """The case's row in the list."""
    minute: int
    """When the case begins, in minutes after midnight."""
    anchor: str
    """The tooth in the case's notation."""
    isos: tuple[str, ...]
    """The same in ISO 3950, or the teeth that the clamp is to serve."""
    label: str
    """The clamp that is wanted."""
    count: int
    """How many of its sort the tray holds."""
    back: int
    """When the next of them is ready, in minutes after midnight."""
    instead: str
    """A clamp that fits as well and is free; empty where there is none."""


class ClampUse(Struct, frozen=True, kw_only=True):
    """One sort of clamp over the day."""

    label: str
    """What the clinic calls it."""
    wanted: int
    """How often it is wanted."""
    count: int
    """How many the tray holds."""
    most_at_once: int
    """The most that are away at the same time, of the wishes that have a time."""
    untimed: int
    """How many of the wishes have no time."""


class DayPlan(Struct, frozen=True, kw_only=True):
    """The tray plan of a day: what to lay out, and what will be short."""

    practice: Practice
    """The clinic's settings, its tray among them."""
    command: str
    """The command line that makes the day again; empty where there is none."""
    visits: tuple[Visit, ...]
    """The planned cases, in the order of the list."""
    sheets: tuple[tuple[str, int], ...]
    """Each sheet's name and how many are needed, the most needed first."""
    clamps: tuple[ClampUse, ...]
    """The clamps that are wanted, in the order of the tray; last what it cannot serve."""
    clashes: tuple[Clash, ...]
    """The clamps that will be short, by time."""
    left_out: tuple[Problem, ...]
    """The rows that could not be planned, by row."""
    remarks: tuple[Problem, ...]
    """What is worth a look, though it was planned."""
    day: date | None = None
    """The day, where it is known."""
    notes: tuple[str, ...] = ()
    """How the list was read, a line each."""


def visit_of(case: DayCase) -> Visit:
    """What the tray plan needs of a planned row; the plan itself can go."""
    plan = case.plan
    return Visit(
        row=case.row,
        minute=case.minute,
        reference=plan.case.reference,
        teeth=plan.case.write(plan.isolation.treated),
        isos=tuple(tooth.iso for tooth in plan.isolation.treated),
        procedure=plan.case.procedure.replace("-", " "),
        sheet=plan.practice.stock_sheet.name,
        wishes=_wishes(plan),
    )


def _wishes(plan: Plan) -> tuple[Wish, ...]:
    """Those of the anchors in turn, then of the lesions that take a clamp and no ligature."""
    anchors = sorted(plan.clamps, key=lambda clamps: clamps.turn)
    wishes = [_wish(plan, [anchor.tooth], _labels(anchor.choices)) for anchor in anchors]
    for lesions in together(r for r in plan.retractors if r.choices):
        first, *others = (_labels(lesion.choices) for lesion in lesions)
        shared = tuple(label for label in first if all(label in other for other in others))
        wishes.append(_wish(plan, [lesion.tooth for lesion in lesions], shared))
    return tuple(wishes)


def _wish(plan: Plan, teeth: Sequence[Tooth], labels: tuple[str, ...]) -> Wish:
    return Wish(plan.case.write(teeth), tuple(tooth.iso for tooth in teeth), labels)


def _labels(choices: Iterable[Choice]) -> tuple[str, ...]:
    return tuple(choice.clamp.label for choice in choices)


def plan_day(
    visits: Sequence[Visit],
    practice: Practice,
    command: str = "",
    left_out: Iterable[Problem] = (),
    remarks: Iterable[Problem] = (),
    *,
    day: date | None = None,
    notes: Sequence[str] = (),
) -> DayPlan:
    """The tray plan of the cases; clamps are shared out in the order of their times."""
    sheets = Counter(visit.sheet for visit in visits)
    turn_round = practice.tray_turn_round_min
    return DayPlan(
        practice=practice,
        command=command,
        visits=tuple(visits),
        sheets=tuple(sorted(sheets.items(), key=lambda item: (-item[1], item[0]))),
        clamps=tuple(_uses(visits, practice.tray, turn_round)),
        clashes=tuple(find_clashes(visits, practice.tray, turn_round)),
        left_out=tuple(sorted(left_out, key=lambda problem: problem.row)),
        remarks=(*remarks, *_backwards(visits)),
        day=day,
        notes=tuple(notes),
    )


def find_clashes(
    visits: Sequence[Visit], tray: Sequence[Clamp], turn_round_min: int
) -> list[Clash]:
    """Each clamp that is wanted at a time when none of its sort is ready.

    A clamp is away from the time of its case for the turn-round time. A wish that clashes takes
    none away from later ones. `instead` is free for the whole turn-round time on either side,
    whatever else is planned or suggested for it, so that it never makes a clash of its own.
    """
    timed = sorted(
        ((visit.minute, visit) for visit in visits if visit.minute is not None),
        key=lambda pair: pair[0],
    )
    count = {clamp.label: clamp.count for clamp in tray}
    planned: dict[str, list[int]] = {label: [] for label in count}
    for minute, visit in timed:
        for wish in visit.wishes:
            if wish.labels:
                planned[wish.labels[0]].append(minute)
    away: dict[str, list[int]] = {label: [] for label in count}  # since when, in order
    clashes = []
    for minute, visit in timed:
        for wish in (wish for wish in visit.wishes if wish.labels):
            label, *others = wish.labels
            out = away[label][bisect_right(away[label], minute - turn_round_min) :]
            if len(out) < count[label]:
                away[label].append(minute)
                continue
            back = out[len(out) - count[label]] + turn_round_min
            instead = ""
            for other in others:
                near = planned[other]
                around = bisect_left(near, minute + turn_round_min) - bisect_right(
                    near, minute - turn_round_min
                )
                if around < count[other]:
                    instead = other
                    insort(near, minute)
                    break
            clashes.append(
                Clash(
                    row=visit.row,
                    minute=minute,
                    anchor=wish.anchor,
                    isos=wish.isos,
                    label=label,
                    count=count[label],
                    back=back,
                    instead=instead,
                )
            )
    return clashes


def _uses(
    visits: Sequence[Visit], tray: Sequence[Clamp], turn_round_min: int
) -> Iterable[ClampUse]:
    """The tray's clamps that are wanted, in the order of the tray; last what it cannot serve."""
    wanted: dict[str, list[int]] = {}
    untimed: Counter[str] = Counter()
    for visit in visits:
        for wish in visit.wishes:
            label = wish.labels[0] if wish.labels else OUT_OF_TRAY
            times = wanted.setdefault(label, [])
            if visit.minute is None:
                untimed[label] += 1
            else:
                times.append(visit.minute)
    for label, count in [*((clamp.label, clamp.count) for clamp in tray), (OUT_OF_TRAY, 0)]:
        if label not in wanted:
            continue
        times = sorted(wanted[label])
        most = max(
            (n + 1 - bisect_right(times, t - turn_round_min) for n, t in enumerate(times)),
            default=0,
        )
        yield ClampUse(
            label=label,
            wanted=len(times) + untimed[label],
            count=count,
            most_at_once=most,
            untimed=untimed[label],
        )


def _backwards(visits: Sequence[Visit]) -> Iterable[Problem]:
    """A remark where a time is before that of a case above it: pages are in the list's order."""
    latest = -1
    for visit in visits:
        if visit.minute is None:
            continue
        if visit.minute < latest:
            advice = "earlier than a row above; the pages are in the order of the list"
            value = f"{visit.minute // 60}:{visit.minute % 60:02}"
            yield Problem(row=visit.row, column="time", value=value, advice=advice)
        latest = max(latest, visit.minute)
