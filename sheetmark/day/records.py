"""The records of a day's list: its rows, and the problems of those that cannot be used."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from msgspec import Struct

from sheetmark.base.findings import on_a_line

_SHOWN_CHARACTERS = 60


class Problem(Struct, frozen=True, kw_only=True):
    """Why a row is left out, or is worth a look."""

    row: int
    """Its number in the file (see `Row`)."""
    column: str
    """The column that is meant; empty for the whole row."""
    value: str
    """What stands in that column, shortened."""
    advice: str
    """What is wrong, and what to do."""

    @property
    def line(self) -> str:
        """The problem in one line, with its row and column."""
        column = f", {self.column}" if self.column else ""
        column += f" {self.value!r}" if self.value else ""
        return f"row {self.row}{column}: {self.advice}"

    @property
    def plain(self) -> str:
        """The same line without what would move a cursor."""
        return on_a_line(self.line)


class RowError(Exception):
    """A row that cannot be used, with all its problems."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("; ".join(problem.line for problem in problems))
        self.problems = problems


class Row(Struct, frozen=True):
    """One case of the list, as text."""

    number: int
    """The line in a CSV file, as a spreadsheet counts it, or the table in a TOML file."""
    cells: Mapping[str, str]
    """The cells that are not empty, by column."""

    def problem(self, column: str, advice: str) -> Problem:
        """A problem of this row; `column` is empty where the whole row is meant."""
        return Problem(
            row=self.number,
            column=column,
            value=shortened(self.cells.get(column, "")),
            advice=advice,
        )


class DayList(Struct, frozen=True):
    """A list as it was read."""

    rows: tuple[Row, ...]
    """The rows that could be read, in the order of the file."""
    problems: tuple[Problem, ...]
    """The problems of those that could not."""
    unusable: tuple[Row, ...] = ()
    """Those that could not be used but have cells, so that a person can put them right."""
    remark_lines: int = 0
    """How many lines above the heading were read as remarks."""
    remarks: tuple[Problem, ...] = ()
    """What is worth a look in rows that were read."""
    notes: tuple[str, ...] = ()
    """How the list was read, a line each: what was passed over, left out or assumed."""
    doubts: tuple[str, ...] = ()
    """What may be a slip in the list as a whole."""
    day: date | None = None
    """The day of the list, where it or the person names one, and that of its ages."""


def shortened(text: str) -> str:
    """A value as it is shown: not longer than a person reads."""
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[: _SHOWN_CHARACTERS - 1]}…"
