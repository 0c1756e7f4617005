"""A list as a table of text, whatever file it came from; and the table of a CSV file."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct, field

from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import below_remarks
from sheetmark.day.columns import COLUMNS
from sheetmark.day.records import Problem

LINE_LIMIT = 10_000
# Above its headings an export may have a title or two (assumption).
TITLE_LINES = 20
_SEPARATORS = (";", "\t", ",")

IsHead = Callable[[Sequence[str]], bool]


class Table(Struct, frozen=True, kw_only=True):
    """The headings and the rows below them, each cell without a space at either end."""

    headings: tuple[str, ...]
    """As they stand in the file; empty above a column without one."""
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    """Each row that holds anything, with its number as the file counts it."""
    problems: tuple[Problem, ...] = ()
    """The problems of rows that could not be read."""
    remark_lines: int = 0
    """How many lines above the headings are remarks."""
    title_lines: int = 0
    """How many other lines above the headings were passed over."""
    skipped: dict[str, int] = field(default_factory=dict)
    """How many rows were left out on purpose, by the reason."""


def csv_table(text: str, shown: str, is_head: IsHead) -> Table:
    """The table of a CSV file; `is_head` knows the line of the headings.

    Without such a line the first one counts. Raises InputError for a text without any line, and
    for headings that are not CSV.
    """
    remarks, lines = below_remarks(_lines(text, shown))
    separator = ""
    head = lines[0][1] if lines else ""
    if re.fullmatch(r"sep=.[;,\s]*", head, re.IGNORECASE):  # a spreadsheet's own line
        separator = head[4]
        more, lines = below_remarks(lines[1:])
        remarks += more
    if not lines:
        raise InputError(f"{shown}: empty; the first line names the columns {', '.join(COLUMNS)}")
    at = next(
        (
            at
            for at, (_, line) in enumerate(lines[:TITLE_LINES])
            if is_head(_cells_or_none(line, separator or _separator(line)))
        ),
        0,
    )
    number, head = lines[at]
    separator = separator or _separator(head)
    try:
        headings = tuple(cell.strip() for cell in _cells(head, separator))
    except csv.Error as error:
        raise InputError(f"{shown}: line {number}: not CSV ({error}); correct it") from error
    rows: list[tuple[int, tuple[str, ...]]] = []
    problems: list[Problem] = []
    for number, line in lines[at + 1 :]:
        try:
            cells = tuple(cell.strip() for cell in _cells(line, separator))
        except csv.Error as error:
            advice = f"not CSV ({error}); close every quote on its own line"
            problems.append(Problem(row=number, column="", value="", advice=advice))
            continue
        if problem := _cell_too_many(number, headings, cells, separator):
            problems.append(problem)
        else:
            rows.append((number, cells))
    return Table(
        headings=headings,
        rows=tuple(rows),
        problems=tuple(problems),
        remark_lines=remarks,
        title_lines=at,
    )


def _separator(line: str) -> str:
    return next((mark for mark in _SEPARATORS if mark in line), "\t")


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


def _cells_or_none(line: str, separator: str) -> Sequence[str]:
    try:
        return _cells(line, separator)
    except csv.Error:
        return ()


def _cell_too_many(
    number: int, headings: Sequence[str], cells: Sequence[str], separator: str
) -> Problem | None:
    """A problem where the cells of a row may stand below the wrong headings.

    It names no value: what stands in no column may be a name. An empty cell too many counts: a
    separator inside a name moves all behind it, a room number to the teeth.
    """
    below_none = any(cell and not name for name, cell in zip(headings, cells, strict=False))
    if not below_none and len(cells) <= len(headings):
        return None
    comma = " (a decimal comma needs quotes or semicolons)" if separator == "," else ""
    return Problem(
        row=number,
        column="",
        value="",
        advice=f"a cell stands in no column{comma}; correct that line",
    )
