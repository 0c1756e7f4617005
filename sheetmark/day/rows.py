"""From a row of the day's list to its plan. A problem names the column that caused it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model, usual_model
from sheetmark.anatomy.teeth import read_list
from sheetmark.base.findings import InputError
from sheetmark.base.numbers import with_point
from sheetmark.base.stopping import go_on
from sheetmark.case.case import Case
from sheetmark.day.columns import COLUMNS, choices_in, options_of
from sheetmark.day.records import Problem, Row, RowError
from sheetmark.day.teeth_cell import teeth_in
from sheetmark.plan.choices import settings_with
from sheetmark.plan.make import make_plan
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import CASE_OPTIONS, SETTING_OPTIONS
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice

CELL_LIMIT = 500  # characters: a guard against a file that is no list (assumption)
# The start of a time from … to …; the end does not count.
_TIME = re.compile(
    r"(\d{1,2})(?:[:.,h]| uhr )(\d{2})(?:[:.]\d{2})?(?:\s*([ap])\.?m\.?| uhr| h)?(?:\s*[-–].*)?",
    re.IGNORECASE,
)
TakeModel = Callable[[str], ArchModel]


class DayCase(Struct, frozen=True):
    """A planned row. `minute` counts from midnight, None where no time was given."""

    row: int
    minute: int | None
    plan: Plan


def clock(minute: int) -> str:
    """A minute of the day as people write it, such as 8:30."""
    return f"{minute // 60}:{minute % 60:02}"


def plan_row(row: Row, practice: Practice, take_model: TakeModel = load_model) -> DayCase:
    """The row's plan with the practice's settings.

    Raises RowError, with all that is wrong, for a row that cannot be done. `take_model` finds the
    arch model that the row names: by name or file, or, for a list from elsewhere, by name alone.
    """
    go_on()
    faults = _Faults(row)
    for column, cell in row.cells.items():
        with faults.of(column):
            _check_cell(cell)
    cells = {column: cell for column, cell in row.cells.items() if column not in faults.columns}
    minute: int | None = None
    with faults.of("time"):
        minute = _minute(cells.get("time", ""))
    choices: dict[str, Any] = {}
    for column in COLUMNS:
        if column in cells:
            with faults.of(column):
                choices |= choices_in(column, cells[column], practice.list_words)
    case = _case(cells, choices, practice, faults)
    arch, model = choices.get("arch", ""), None
    with faults.of("arch" if arch else "age"):
        if arch or case:
            model = take_model(arch) if arch else usual_model(case.age if case else None)
    practice = _with_settings(cells, choices, practice, faults)
    if faults.found or case is None or model is None:
        raise RowError(*faults.found)
    try:
        plan = make_plan(case, model, practice, arch_name=Path(arch).name)
    except InputError as error:
        raise RowError(blamed(row, error)) from None
    return DayCase(row.number, minute, plan)


class _Faults:
    """What is wrong with the columns of a row, each column once."""

    def __init__(self, row: Row) -> None:
        self._row = row
        self.found: list[Problem] = []

    @property
    def columns(self) -> set[str]:
        return {problem.column for problem in self.found}

    @contextmanager
    def of(self, column: str) -> Iterator[None]:
        """Keeps what is wrong within as a problem of the column."""
        try:
            yield
        except InputError as error:
            if column not in self.columns:
                self.found.append(self._row.problem(column, str(error)))


def blamed(row: Row, error: InputError) -> Problem:
    """The problem of a row whose columns are right one by one, with the column that it is about.

    It is the column that the message names first, else what is different in the mouth, else the
    teeth.
    """
    message = str(error)
    first = message.partition(" ")[0].rstrip(":")
    name = {"page": "reference", "text": "reference"}.get(first, first)
    other = "exceptions" if "exceptions" in row.cells else "teeth"
    return row.problem(name if name in ("sheet", *row.cells) else other, message)


def _case(
    cells: Mapping[str, str], choices: Choices, practice: Practice, faults: _Faults
) -> Case | None:
    """The case, built up choice by choice; None where its teeth or their notation are wrong."""
    if "notation" in faults.columns:
        return None  # all that names teeth would be wrong with it
    notation = choices.get("notation", practice.notation)
    case: Case | None = None
    with faults.of("teeth"):
        teeth = read_list([teeth_in(cells.get("teeth", ""), notation)], notation)
        case = Case(treat=tuple(dict.fromkeys(teeth)), notation=notation)
    for option in CASE_OPTIONS:
        if option.name in choices and option.column is not None:
            with faults.of(option.column.name):
                value = option.read(choices[option.name], notation)
                case = case and replace(case, **{option.field: value})
    return case


def _with_settings(
    cells: Mapping[str, str], choices: Choices, practice: Practice, faults: _Faults
) -> Practice:
    """The practice's settings with those of the row. Its notation is that of the case alone."""
    columns = {option.column.name for option in SETTING_OPTIONS if option.column}
    for column in (name for name in COLUMNS if name in cells and name in columns - {"notation"}):
        names = {option.name for option in options_of(column)}
        with faults.of(column):
            practice = settings_with(practice, {n: v for n, v in choices.items() if n in names})
    return practice


def _check_cell(text: str) -> None:
    if text[0] in "=+-@" and not _is_number(text):
        raise InputError("a formula, not a value; paste it as a value, or put no sign before it")
    if len(text) > CELL_LIMIT:
        raise InputError(f"{len(text)} characters; a cell holds at most {CELL_LIMIT}; shorten it")


def _is_number(text: str) -> bool:
    try:
        float(with_point(text))
    except ValueError:
        return False
    return True


def _minute(text: str) -> int | None:
    if not text:
        return None
    match = _TIME.fullmatch(text.strip())
    hour, minute = (int(match[1]), int(match[2])) if match else (24, 0)
    if match and match[3] and 1 <= hour <= 12:
        hour = hour % 12 + (12 if match[3].lower() == "p" else 0)
    elif match and match[3]:
        hour = 24
    if hour > 23 or minute > 59:
        raise InputError("not a time of the day; write it as 8:30 or 14:05")
    return 60 * hour + minute
