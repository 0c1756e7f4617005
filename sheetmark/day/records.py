"""The records of a day's list: its rows, and the problems of those that cannot be used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

_SHOWN_CHARACTERS = 60


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a row is left out, or is worth a look. `column` is empty where it is the whole row."""

    row: int
    column: str
    value: str
    advice: str

    @property
    def line(self) -> str:
        """Row, column, value and advice as one line."""
        column = f", {self.column} {self.value!r}" if self.column else ""
        return f"row {self.row}{column}: {self.advice}"

    @property
    def plain(self) -> str:
        """The same line without what would move a cursor."""
        line = " ".join(self.line.split())
        return "".join(c if c.isprintable() else repr(c)[1:-1] for c in line)


class RowError(Exception):
    """A row that cannot be used, with its problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.line)
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Row:
    """A case of the list: its cells that are not empty, by column.

    `number` is that of the line in a CSV file, as a spreadsheet counts it, and of the table in a
    TOML file.
    """

    number: int
    cells: Mapping[str, str]

    def problem(self, column: str, advice: str) -> Problem:
        """A problem with one of the row's cells, its value shortened."""
        return Problem(self.number, column, shortened(self.cells.get(column, "")), advice)


@dataclass(frozen=True, slots=True)
class DayList:
    """The rows that could be read, and the problems of those that could not."""

    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


def shortened(text: str) -> str:
    """A value as it is shown: not longer than a person reads."""
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[: _SHOWN_CHARACTERS - 1]}…"
