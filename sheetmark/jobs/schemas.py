"""The JSON schemas of the files that are written for other programs, made from their records."""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

from sheetmark.base.choice import pick
from sheetmark.base.json_files import schema_of
from sheetmark.checking.check_file import CheckFile
from sheetmark.checking.exercise import ExerciseFile
from sheetmark.day.day_json import DayFile
from sheetmark.plan.plan_file import PlanFile, PlansFile
from sheetmark.studies.coverage.coverage_file import CoverageFile
from sheetmark.studies.membrane.strain_file import StrainFile

_RECORDS: dict[str, tuple[type, str]] = {
    "plan": (PlanFile, "sheetmark plan of one case"),
    "plans": (PlansFile, "sheetmark plans of both jaws"),
    "day": (DayFile, "sheetmark tray plan of a day"),
    "strain": (StrainFile, "sheetmark strain study"),
    "coverage": (CoverageFile, "sheetmark coverage study"),
    "check": (CheckFile, "sheetmark report of a checked sheet"),
    "exercise": (ExerciseFile, "sheetmark exercise to be drawn"),
}


def _form_of(record: type) -> str:
    """What the record's `format` says, such as `sheetmark-plan/1`."""
    (form,) = get_args(get_type_hints(record)["format"])
    return str(form)


# By name: the content, its title, its form.
SCHEMAS = {name: (record, title, _form_of(record)) for name, (record, title) in _RECORDS.items()}


def json_schema(name: str) -> dict[str, Any]:
    """The schema of that name. Raises InputError for an unknown name."""
    record, title, form = SCHEMAS[pick("schema", name, list(SCHEMAS))]
    return schema_of(record, title, form)
