"""A row of the day's list as a case of the page, a case as a row, and rows as a list to save."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sheetmark.anatomy.teeth import PERMANENT, Notation, read_list, write
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.day.columns import COLUMNS, choices_in
from sheetmark.day.teeth_cell import teeth_in
from sheetmark.plan.option_records import CaseOption, Choices, Option, SettingOption
from sheetmark.plan.options import CASE_OPTIONS, OPTIONS
from sheetmark.practice.settings import Practice

# Spreadsheets take a file without it for one of their system's own encoding.
BYTE_ORDER_MARK = "\ufeff"
# Choices that the address has as the row has them.
_AS_CHOSEN = ("notation", "arch", "sheet", "material")


def address_of(cells: Mapping[str, str], practice: Practice) -> dict[str, str]:
    """The choices of the page's address for a row, teeth in ISO 3950.

    A cell that cannot be used is left out: the person puts it right on the page.
    """
    choices: dict[str, Any] = {}
    for column in COLUMNS:
        if column in cells:
            try:
                choices |= choices_in(column, cells[column], practice.list_words)
            except InputError:
                continue
    notation: Notation = choices.get("notation", practice.notation)
    try:
        teeth = read_list([teeth_in(cells.get("teeth", ""), notation)], notation)
    except InputError:
        teeth = ()
    found = {"treat": ",".join(tooth.iso for tooth in teeth)}
    for option in CASE_OPTIONS:
        if option.on_page and option.name in choices:
            try:
                value = option.read(choices[option.name], notation)
                # The others are written alike whichever tooth is treated.
                case = Case(treat=teeth or PERMANENT[:1], **{option.field: value})
            except InputError:
                continue
            found[option.name] = option.write(case)
    found |= {name: str(choices.get(name) or "") for name in _AS_CHOSEN}
    return {name: value for name, value in found.items() if value}


def row_of(
    case: Case, choices: Choices, practice: Practice
) -> tuple[dict[str, str], tuple[str, ...]]:
    """The row's cells by column, for a case of these choices, and the names of the choices that no
    column of a list can hold; `practice` has the choices in it.

    A cell holds what was chosen and no more, so that it is read as the same choices again.
    """
    cells = {"teeth": " ".join(write(tooth, case.notation) for tooth in case.treat)}
    lost: list[str] = []
    for option in OPTIONS:
        chosen = choices.get(option.name)
        if chosen == option.usual or chosen in (None, "", [], ()):
            continue
        if option.column is None:
            lost.append(option.name)
            continue
        text = _text(option, case, practice, chosen)
        known = cells.get(option.column.name)
        cells[option.column.name] = f"{known} {text}" if known else text
    return {column: cells[column] for column in COLUMNS if cells.get(column)}, tuple(lost)


def _text(option: Option, case: Case, practice: Practice, chosen: object) -> str:
    match option:
        case CaseOption():
            return option.write(case)
        case SettingOption():
            return option.write(practice)
    return str(chosen)


def list_file(rows: Sequence[Mapping[str, str]], day: date | None, practice: Practice) -> bytes:
    """A CSV of the rows with all our columns that they use, and with the day where it is known."""
    used = [column for column in COLUMNS if column == "teeth" or any(column in r for r in rows)]
    dated = ["date"] if day else []
    text = io.StringIO()
    separator = ";" if practice.numbers == "comma" else ","
    writer = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    writer.writerow([*dated, *used])
    for row in rows:
        front = [str(day)] if day else []
        writer.writerow([*front, *(row.get(column, "") for column in used)])
    return (BYTE_ORDER_MARK + text.getvalue()).encode()
