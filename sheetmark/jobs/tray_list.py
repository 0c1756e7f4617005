"""The clinic's tray from a CSV: a row for each sort of clamp, as rows of the practice file."""

from __future__ import annotations

import re
from typing import Any

from msgspec import structs

from sheetmark.base.findings import InputError
from sheetmark.base.numbers import read_number
from sheetmark.case.terms import plain
from sheetmark.day.decode import decoded
from sheetmark.day.tables import csv_table
from sheetmark.practice.file.describe import described
from sheetmark.practice.file.rows import ClampRow

_YES = ("yes", "y", "true", "x", "1", "ja", "oui", "si")
_NO = ("no", "n", "false", "0", "nein", "non")
_WHETHER = ("winged", "secondary", "cervical", "jaws_towards_gum", "retired")
_NEEDED = ("label", "kind", "winged")
_SPAN = re.compile(r"\s*(?:-|–|to|;|\s)\s*")


def column_names() -> tuple[str, ...]:
    """The columns as the practice file calls them; a list may also have the settings' names."""
    return ClampRow.__struct_fields__


def read_tray_list(content: bytes, shown: str) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    """The rows as the practice file holds them, and the headings that were not read.

    The values are checked where the file is changed. Raises InputError, with a line for each
    problem, for a CSV that cannot be read.
    """
    names = {plain(name): name for name in column_names()}
    for field in structs.fields(ClampRow):
        names[plain(str(described(field)["title"]))] = field.name
    names["span"] = "span_mm"
    text, _ = decoded(content, shown)
    table = csv_table(text, shown, lambda cells: any(plain(cell) == "label" for cell in cells))
    columns = [names.get(plain(heading)) for heading in table.headings]
    missing = [name for name in _NEEDED if name not in columns]
    if missing:
        raise InputError(
            f"{shown}: column {missing[0]} is missing; the columns are {', '.join(column_names())}"
        )
    problems = [f"{shown}, {problem.plain}" for problem in table.problems]
    rows = []
    for number, cells in table.rows:
        row: dict[str, Any] = {}
        for column, cell in zip(columns, cells, strict=False):
            if column and cell:
                try:
                    row[column] = _value(column, cell)
                except ValueError as error:
                    problems.append(f"{shown}, row {number}, {column} {cell!r}: {error}")
        rows.append(row)
    if problems:
        raise InputError(*problems)
    if not rows:
        raise InputError(f"{shown}: no clamp in it; add a line below the column names for each")
    ignored = (h for h, column in zip(table.headings, columns, strict=True) if h and not column)
    return rows, tuple(ignored)


def _value(column: str, cell: str) -> Any:
    if column in _WHETHER:
        word = plain(cell)
        if word not in (*_YES, *_NO):
            raise ValueError("must be yes or no")
        return word in _YES
    if column == "count":
        if not cell.isdecimal():
            raise ValueError("must be a whole number")
        return int(cell)
    if column == "span_mm":
        try:
            low, high = (read_number(part) for part in _SPAN.split(cell))
        except ValueError:
            raise ValueError("must be two widths in mm, such as 7 - 10.5") from None
        return [low, high]
    return cell
