"""The tray plan of a day as plain data, for programs: teeth in ISO 3950, minutes after midnight.

Its schema is made from these records. The plans of the cases are not in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal, TypedDict

from msgspec import Meta

from sheetmark.base.json_files import Schemed, schema_name
from sheetmark.base.version import __version__
from sheetmark.day.records import Problem
from sheetmark.day.tray import DayPlan, Visit
from sheetmark.plan.plan_file import Count, Iso, Positive

FORMAT: Literal["sheetmark-day-plan/1"] = "sheetmark-day-plan/1"

Minute = Annotated[int, Meta(ge=0, description="Minutes after midnight")]
Teeth = Annotated[list[Iso], Meta(min_length=1)]


class WishRow(TypedDict):
    """Teeth that one clamp serves, and the clamps that fit, best first; empty where none does."""

    teeth: Teeth
    clamps: list[str]


class CaseRow(TypedDict):
    """A planned case, by its row in the list."""

    row: Positive
    minute: Minute | None
    reference: str
    treated: Teeth
    procedure: str
    sheet: str
    wishes: list[WishRow]


class SheetsRow(TypedDict):
    """A kind of sheet, and how many of it the day needs."""

    sheet: str
    count: Positive


class UseRow(TypedDict):
    """How often a clamp is wanted, how many there are, and the most that are out at one time.

    `untimed` wishes have no time, and count as none of these."""

    label: str
    wanted: Positive
    in_tray: Count
    most_at_once: Count
    untimed: Count


class ClashRow(TypedDict):
    """A clamp that is wanted before one is ready; `instead` fits too and is free, or is empty."""

    row: Positive
    minute: Minute
    teeth: Teeth
    label: str
    in_tray: Count
    ready_minute: Minute
    instead: str


class ProblemRow(TypedDict):
    """What is wrong or worth a look; an empty column means the whole row."""

    row: Positive
    column: str
    value: str
    advice: str


class DayFile(Schemed):
    """A day's cases in the order of the list, and what to lay out for them."""

    format: Literal["sheetmark-day-plan/1"]
    sheetmark: str
    command: str
    day: Annotated[str, Meta(pattern=r"^\d{4}-\d{2}-\d{2}$")] | None
    cases: list[CaseRow]
    sheets: list[SheetsRow]
    clamps: list[UseRow]
    clashes: list[ClashRow]
    ready_again_min: Positive
    left_out: list[ProblemRow]
    remarks: list[ProblemRow]
    notes: list[str]


def day_json(day: DayPlan) -> DayFile:
    """The tray plan as numbers, text, lists and dicts."""
    return {
        "$schema": schema_name(FORMAT),
        "format": FORMAT,
        "sheetmark": __version__,
        "command": day.command,
        "day": None if day.day is None else day.day.isoformat(),
        "cases": [_case(visit) for visit in day.visits],
        "sheets": [{"sheet": sheet, "count": count} for sheet, count in day.sheets],
        "clamps": [
            {
                "label": use.label,
                "wanted": use.wanted,
                "in_tray": use.count,
                "most_at_once": use.most_at_once,
                "untimed": use.untimed,
            }
            for use in day.clamps
        ],
        "clashes": [
            {
                "row": clash.row,
                "minute": clash.minute,
                "teeth": list(clash.isos),
                "label": clash.label,
                "in_tray": clash.count,
                "ready_minute": clash.back,
                "instead": clash.instead,
            }
            for clash in day.clashes
        ],
        "ready_again_min": day.practice.tray_turn_round_min,
        "left_out": _problems(day.left_out),
        "remarks": _problems(day.remarks),
        "notes": list(day.notes),
    }


def _case(visit: Visit) -> CaseRow:
    return {
        "row": visit.row,
        "minute": visit.minute,
        "reference": visit.reference,
        "treated": list(visit.isos),
        "procedure": visit.procedure,
        "sheet": visit.sheet,
        "wishes": [
            {"teeth": list(wish.isos), "clamps": list(wish.labels)} for wish in visit.wishes
        ],
    }


def _problems(problems: Iterable[Problem]) -> list[ProblemRow]:
    return [
        {
            "row": problem.row,
            "column": problem.column,
            "value": problem.value,
            "advice": problem.advice,
        }
        for problem in problems
    ]
