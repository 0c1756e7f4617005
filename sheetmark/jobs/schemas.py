"""The JSON schemas of the files that are written for other programs, made from their records."""

from __future__ import annotations

from typing import Any

from sheetmark.base.choice import pick
from sheetmark.base.json_files import schema_of
from sheetmark.checking.check_file import CheckFile
from sheetmark.checking.exercise import ExerciseFile
from sheetmark.day.day_json import DayFile
from sheetmark.plan.plan_file import PlanFile, PlansFile
from sheetmark.studies.coverage.coverage_file import CoverageFile
from sheetmark.studies.membrane.strain_file import StrainFile

# By name: the content, its title, its form.
SCHEMAS: dict[str, tuple[type, str, str]] = {
    "plan": (PlanFile, "sheetmark plan of one case", "sheetmark-plan/1"),
    "plans": (PlansFile, "sheetmark plans of both jaws", "sheetmark-plans/1"),
    "day": (DayFile, "sheetmark tray plan of a day", "sheetmark-day-plan/1"),
    "strain": (StrainFile, "sheetmark strain study", "sheetmark-strain/1"),
    "coverage": (CoverageFile, "sheetmark coverage study", "sheetmark-coverage/1"),
    "check": (CheckFile, "sheetmark report of a checked sheet", "sheetmark-check/1"),
    "exercise": (ExerciseFile, "sheetmark exercise to be drawn", "sheetmark-exercise/1"),
}


def json_schema(name: str) -> dict[str, Any]:
    """The schema of that name. Raises InputError for an unknown name."""
    record, title, form = SCHEMAS[pick("schema", name, list(SCHEMAS))]
    return schema_of(record, title, form)
