"""The day's list: a CSV or TOML file with a row a case, in which one bad row stops no other.

Columns in any order and letter case; only `teeth` must be there:

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

CSV: columns set apart by commas, semicolons or tabs, a decimal comma or point, UTF-8. Lines above
the heading that start with # are remarks, below it they are rows; a first line such as `sep=;`
names the separator. TOML: a line
`format = "sheetmark-day/1"`, then a table `[[case]]` for each case with these names as keys.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import time
from difflib import get_close_matches
from typing import Any, Literal

from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import below_remarks
from sheetmark.base.toml import parse_toml
from sheetmark.day.columns import COLUMNS
from sheetmark.day.records import DayList, Problem, Row, RowError, shortened

FORMAT = "sheetmark-day/1"
Form = Literal["csv", "toml"]

# Guards against a file that is no list (assumptions): a day of 5,000 cases has under 1 MB.
MOST_BYTES = 16_000_000
LINE_LIMIT = 10_000
_SEPARATORS = (";", "\t", ",")


def read_day(content: bytes, shown: str, form: Form, most_bytes: int = MOST_BYTES) -> DayList:
    """The rows of a list; `shown` names the file.

    Raises InputError where the file as a whole cannot be read as a list.
    """
    if len(content) > most_bytes:
        raise InputError(
            f"{shown}: more than {most_bytes // 1_000_000} MB, too large for a day's list; "
            f"check that it is the right file"
        )
    text = _decoded(content, shown)
    day = _read_csv(text, shown) if form == "csv" else _read_toml(text, shown)
    if not day.rows and not day.problems:
        below = "line below the column names" if form == "csv" else "table [[case]]"
        raise InputError(f"{shown}: no case in it; add a {below} for each")
    return day


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


def _decoded(content: bytes, shown: str) -> str:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{shown}: UTF-16, not UTF-8 text; save it as CSV in UTF-8")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{shown}: line {line} is not UTF-8 text (byte {error.start}); "
            f"save the whole file as UTF-8"
        ) from error
    if "\0" in text:
        raise InputError(f"{shown}: not a text file (it holds NUL); save it as CSV in UTF-8")
    return text


def _read_csv(text: str, shown: str) -> DayList:
    remarks, lines = below_remarks(_lines(text, shown))
    head = lines[0][1] if lines else ""
    separator = next((mark for mark in _SEPARATORS if mark in head), "\t")
    if re.fullmatch(r"sep=.[;,\s]*", head, re.IGNORECASE):  # a spreadsheet's own line
        separator = head[4]
        more, lines = below_remarks(lines[1:])
        remarks += more
    if not lines:
        raise InputError(f"{shown}: empty; the first line names the columns {', '.join(COLUMNS)}")
    (number, head), *below = lines
    try:
        names = [name.strip().lower() for name in _cells(head, separator)]
    except csv.Error as error:
        raise InputError(f"{shown}: line {number}: not CSV ({error}); correct it") from error
    _check_names(shown, names)
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, line in below:
        try:
            rows.append(_row(number, names, line, separator))
        except RowError as error:
            problems.append(error.problem)
    return DayList(tuple(rows), tuple(problems), remarks)


def _lines(text: str, shown: str) -> Iterator[tuple[int, str]]:
    """The lines that are not empty, with their numbers. A cell never holds a line end: a quote
    that is left open costs one row, not all that follow."""
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), start=1):
        if len(line) > LINE_LIMIT:
            raise InputError(
                f"{shown}: line {number} has {len(line):,} characters, the most is "
                f"{LINE_LIMIT:,}; save it as CSV with a line for each case"
            )
        if line.strip(' \t,;"'):
            yield number, line


def _cells(line: str, separator: str) -> list[str]:
    return next(csv.reader([line], delimiter=separator, strict=True, skipinitialspace=True))


def _check_names(shown: str, names: list[str]) -> None:
    for name in filter(None, names):
        if name not in COLUMNS:
            near = get_close_matches(name, COLUMNS, n=1, cutoff=0.0)[0]
            raise InputError(
                f"{shown}: column {shortened(name)!r} is not known, the nearest is {near}; "
                f"the first line holds any of {', '.join(COLUMNS)}"
            )
        if names.count(name) > 1:
            raise InputError(f"{shown}: column {name} is there twice; remove one")
    if "teeth" not in names:
        raise InputError(f"{shown}: column teeth is missing; it alone must be there")


def _row(number: int, names: list[str], line: str, separator: str) -> Row:
    try:
        cells = [cell.strip() for cell in _cells(line, separator)]
    except csv.Error as error:
        raise RowError(
            Problem(
                row=number,
                column="",
                value="",
                advice=f"not CSV ({error}); close every quote on its own line",
            )
        ) from None
    extra = [cell for name, cell in zip(names, cells, strict=False) if not name and cell]
    extra += [cell for cell in cells[len(names) :] if cell]
    if extra:
        comma = " (a decimal comma needs quotes or semicolons)" if separator == "," else ""
        raise RowError(
            Problem(
                row=number,
                column="",
                value="",
                advice=f"{shortened(extra[0])!r} stands in no column{comma}; correct that line",
            )
        )
    return Row(
        number,
        {name: cell for name, cell in zip(names, cells, strict=False) if name and cell},
    )


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
            problems.append(error.problem)
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
