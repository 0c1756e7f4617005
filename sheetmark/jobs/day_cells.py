"""A case as a row of a day's list."""

from __future__ import annotations

from sheetmark.anatomy.teeth import write
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.day.columns import COLUMNS
from sheetmark.plan.option_records import CaseOption, Choices, SettingOption
from sheetmark.plan.options import OPTIONS
from sheetmark.practice.settings import Practice


def day_cells(case: Case, choices: Choices, practice: Practice) -> dict[str, str]:
    """The row's cells by column, for a case of these choices; `practice` has them in it.

    A choice that is as usual has no cell. Raises InputError where a list has no column for one.
    """
    cells = {"teeth": " ".join(write(tooth, case.notation) for tooth in case.treat)}
    without: list[str] = []
    for option in OPTIONS:
        chosen = choices.get(option.name)
        if chosen is None or chosen == option.usual or chosen in ([], ()):
            continue
        if option.column is None:
            without.append(option.name)
            continue
        text = _text(option, case, practice, chosen)
        known = cells.get(option.column.name)
        cells[option.column.name] = f"{known} {text}" if known else text
    if without:
        raise InputError(
            f"{', '.join(without)}: a day's list has no column for this; print the case by itself"
        )
    return {column: cells[column] for column in COLUMNS if cells.get(column)}


def _text(option: object, case: Case, practice: Practice, chosen: object) -> str:
    match option:
        case CaseOption():
            return option.write(case)
        case SettingOption():
            return option.write(practice)
    return str(chosen)
