"""A row of the day's list as a case of the page, a case as a row, and rows as a list to save."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from msgspec.structs import replace

from sheetmark.anatomy.teeth import PERMANENT, Notation, read_list, write
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.day.columns import COLUMNS, choices_in
from sheetmark.day.teeth_cell import teeth_in
from sheetmark.plan.choices import case_with, settings_with
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import CASE_OPTIONS, PAGE_OPTIONS
from sheetmark.practice.settings import Practice

# Spreadsheets take a file without it for one of their system's own encoding.
BYTE_ORDER_MARK = "\ufeff"


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
    found |= {name: str(choices.get(name) or "") for name in ("arch", "sheet", "material")}
    return {name: value for name, value in found.items() if value}


def row_of(
    treat: Sequence[str], choices: Choices, practice: Practice
) -> tuple[dict[str, str], tuple[str, ...]]:
    """The cells of a case of the page, in the practice's notation, and the names of the choices
    that no column of a list can hold. Raises InputError for a case that cannot be read."""
    teeth = tuple(dict.fromkeys(read_list(treat, "iso")))
    case = replace(case_with(teeth, choices, "iso"), notation=practice.notation)
    chosen = settings_with(practice, choices)
    cells = {"teeth": " ".join(write(tooth, practice.notation) for tooth in teeth)}
    cells |= {
        option.column.name: option.write(case)
        for option in CASE_OPTIONS
        if option.column is not None
    }
    cells["arch"] = choices.get("arch") or ""
    if (chosen.sheet, chosen.material) != (practice.sheet, practice.material):
        sides = f"{chosen.sheet.width_mm:g}x{chosen.sheet.height_mm:g}"
        cells["sheet"] = f"{sides} {chosen.material}"
    lost = tuple(
        option.name
        for option in PAGE_OPTIONS
        if option.column is None and choices.get(option.name) not in (None, "", option.usual, [])
    )
    return {column: cell for column, cell in cells.items() if cell}, lost


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
