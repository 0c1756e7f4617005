"""The day's list: a file with a row for each case, in which one bad row stops no other.

Columns in any order and letter case, others are not read; only `teeth` must be there:

    time        8:30, 08:30:00, 8.30, 8h30 or 8:30 pm
    reference   free text, never a name
    teeth       16 or 16 15, one jaw, in the row's notation
    procedure   restoration (when empty), crown, root-canal, cervical or full-arch
    notation    iso, universal or palmer; empty: the practice's
    age         completed years: picks the arch model and the teeth
    arch        arch model, a name or a .toml file
    exceptions  what is different in the mouth, as `--with` takes it: 24 pontic; 13 facial 2
    access      normal (when empty) or tight
    sheet       152, 127 or WIDTHxHEIGHT, and latex or nitrile where it is not the usual one

CSV: columns set apart by commas, semicolons or tabs, a decimal comma or point, in UTF-8, UTF-16 or
Windows-1252. Lines above the heading that start with # are remarks, below it they are rows; a
first line such as `sep=;` names the separator. XLSX: the same as cells. ICS: an entry a row. TOML:
a line `format = "sheetmark-day/1"`, then a table `[[case]]` for each case with these names as keys.

Lists from elsewhere: `headings` knows more names for columns, `reading` what they may hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import time
from difflib import get_close_matches
from typing import Any, Literal

from msgspec.structs import replace

from sheetmark.base.file_kinds import refuse_other_kinds
from sheetmark.base.findings import InputError
from sheetmark.base.toml import parse_toml
from sheetmark.day.calendar import calendar_table
from sheetmark.day.columns import COLUMNS
from sheetmark.day.decode import decoded
from sheetmark.day.headings import is_head
from sheetmark.day.reading import Reading, read_table
from sheetmark.day.records import DayList, Problem, Row, RowError, shortened
from sheetmark.day.spreadsheet import spreadsheet_table
from sheetmark.day.tables import Table, csv_table

FORMAT = "sheetmark-day/1"
Form = Literal["csv", "toml", "xlsx", "ics"]

# A guard against a file that is no list (assumption): a day of 5,000 cases has under 1 MB.
MOST_BYTES = 16_000_000
_GIVE = "choose the day's list as .xlsx, .csv, .ics or .toml"


def read_day(
    content: bytes,
    shown: str,
    form: Form,
    most_bytes: int = MOST_BYTES,
    how: Reading | None = None,
) -> DayList:
    """The rows of a list; `shown` names the file, `how` is what it is read with.

    Raises InputError where the file as a whole cannot be read as a list.
    """
    if len(content) > most_bytes:
        raise InputError(
            f"{shown}: more than {most_bytes // 1_000_000} MB, too large for a day's list; "
            f"check that it is the right file"
        )
    how = how or Reading()
    if form == "toml":
        refuse_other_kinds(content, shown, ("day",), "a day's list", _GIVE)
        text, encoding = decoded(content, shown)
        day = _read_toml(text, shown)
    else:
        table, encoding = read_file_table(content, shown, form, how)
        day = read_table(table, shown, how)
    if encoding:
        day = replace(day, notes=(f"in {encoding}", *day.notes))
    if not day.rows and not day.problems:
        below = "table [[case]]" if form == "toml" else "line below the column names"
        why = f" ({'; '.join(day.notes)})" if day.notes else ""
        raise InputError(f"{shown}: no case in it{why}; add a {below} for each")
    return day


def read_file_table(content: bytes, shown: str, form: Form, how: Reading) -> tuple[Table, str]:
    """The table of a file that is no TOML, and its encoding where it is text other than UTF-8."""

    def with_teeth(headings: Sequence[str]) -> bool:
        return is_head(headings, how.practice.list_headings)

    kinds = ("XLSX",) if form == "xlsx" else ("empty list",)
    refuse_other_kinds(content, shown, kinds, f"a list as .{form}", _GIVE)
    if form == "xlsx":
        return spreadsheet_table(content, shown, with_teeth), ""
    if form == "ics":
        return calendar_table(content, shown), ""
    text, encoding = decoded(content, shown)
    return csv_table(text, shown, with_teeth), encoding


def repeated_references(rows: Iterable[Row]) -> tuple[Problem, ...]:
    """A remark on each row whose reference another row above has already."""
    first: dict[str, int] = {}
    found = []
    for row in rows:
        reference = row.cells.get("reference", "")
        if reference and first.setdefault(reference, row.number) != row.number:
            advice = f"the same as in row {first[reference]}; check that both are meant"
            found.append(row.problem("reference", advice))
    return tuple(found)


def _read_toml(text: str, shown: str) -> DayList:
    data = parse_toml(text, shown)
    if not data:
        raise InputError(f'{shown}: empty; write format = "{FORMAT}" and a [[case]] for each case')
    if data.get("format") != FORMAT:
        found = repr(data["format"]) if "format" in data else "missing"
        raise InputError(f'{shown}: format is {shortened(found)}; write format = "{FORMAT}"')
    for key in data:
        if key not in ("format", "case"):
            raise InputError(
                f"{shown}: key {shortened(key)!r} is not known, the nearest is case; "
                f"write [[case]] above the keys of each case"
            )
    tables = data.get("case", [])
    if not (isinstance(tables, list) and all(isinstance(table, dict) for table in tables)):
        raise InputError(f"{shown}: case must be tables; write [[case]] above the keys of each")
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, table in enumerate(tables, start=1):
        try:
            rows.append(Row(number, dict(_toml_cells(number, table))))
        except RowError as error:
            problems += error.problems
    return DayList(tuple(rows), tuple(problems))


def _toml_cells(number: int, table: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    seen: set[str] = set()
    for key, value in table.items():
        column = key.strip().lower()
        if column not in COLUMNS:
            near = get_close_matches(column, COLUMNS, n=1, cutoff=0.0)[0]
            raise RowError(
                Problem(
                    row=number,
                    column=shortened(key),
                    value="",
                    advice=f"not a known key; the nearest is {near}",
                )
            )
        if column in seen:
            raise RowError(
                Problem(row=number, column=column, value="", advice="given twice; leave one out")
            )
        seen.add(column)
        text = _toml_text(value, "; " if column in ("exceptions", "measure") else " ")
        if text is None:
            advice = "must be text or a number, or a list of them; correct it"
            raise RowError(
                Problem(row=number, column=column, value=shortened(repr(value)), advice=advice)
            )
        if text:
            yield column, text


def _toml_text(value: object, between: str) -> str | None:
    """A value as the cell of a CSV file would hold it; None where no cell could."""
    if isinstance(value, list):
        items = [_toml_text(item, between) for item in value]
        return None if None in items else between.join(filter(None, items))
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return str(value)
    return None
