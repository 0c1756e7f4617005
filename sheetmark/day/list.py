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

CSV: columns set apart by commas, semicolons or tabs, a decimal comma or point, UTF-8. Lines that
start with # are remarks, and a first line such as `sep=;` names the separator. TOML: a line
`format = "sheetmark-day/1"`, then a table `[[case]]` for each case with these names as keys.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import time
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal, TypeVar

from sheetmark.anatomy.arch_model import ArchModel, load_model, usual_model
from sheetmark.anatomy.teeth import NOTATIONS, read_list
from sheetmark.base.findings import InputError
from sheetmark.case.case import (
    ACCESSES,
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    PROCEDURES,
    Case,
)
from sheetmark.case.exceptions import read_states
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import MATERIALS, Practice, read_sheet

FORMAT = "sheetmark-day/1"
COLUMNS = (
    "time",
    "reference",
    "teeth",
    "procedure",
    "notation",
    "age",
    "arch",
    "exceptions",
    "access",
    "sheet",
)
Form = Literal["csv", "toml"]
FORMS: tuple[Form, ...] = ("csv", "toml")

# Guards against a file that is no list (assumptions): a day of 5,000 cases has under 1 MB.
MOST_BYTES = 16_000_000
LINE_LIMIT = 10_000
CELL_LIMIT = 500
_SHOWN_CHARACTERS = 60
_SEPARATORS = (";", "\t", ",")
_TIME = re.compile(r"(\d{1,2})[:.,h](\d{2})(?:[:.]\d{2})?(?:\s*([ap])\.?m\.?)?", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
# A spreadsheet may write the whole numbers of a column as 16.0.
_WHOLE = re.compile(r"\b(\d+)\.0+\b")
_Choice = TypeVar("_Choice", bound=str)
TakeModel = Callable[[str], ArchModel]


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a row is left out, or is worth a look. `column` is empty where the whole row is meant."""

    row: int
    column: str
    value: str
    advice: str

    @property
    def line(self) -> str:
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
    """The cells of one case that say something, by column. `number` is that of the line in a CSV
    file, as a spreadsheet counts it, and of the table in a TOML file."""

    number: int
    cells: Mapping[str, str]

    def problem(self, column: str, advice: str) -> Problem:
        return Problem(self.number, column, shortened(self.cells.get(column, "")), advice)


@dataclass(frozen=True, slots=True)
class DayList:
    """The rows that could be read, and the problems of those that could not."""

    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class DayCase:
    """One planned row; `minute` counts from midnight, None where no time was given."""

    row: int
    minute: int | None
    plan: Plan


def shortened(text: str) -> str:
    """A value as it is shown: not longer than a person reads."""
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[: _SHOWN_CHARACTERS - 1]}…"


def clock(minute: int) -> str:
    return f"{minute // 60}:{minute % 60:02}"


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


def plan_row(row: Row, practice: Practice, take_model: TakeModel = load_model) -> DayCase:
    """The row's plan with the practice's settings. Raises RowError for a row that cannot be done.

    Built up column by column, so that a problem names the column that brought it in. `take_model`
    finds the arch model that the row names: by name or file, or, for a list from elsewhere, by
    name alone.
    """
    cells = row.cells
    for column, text in cells.items():
        _in_column(row, column, lambda text=text: _check_cell(text))  # type: ignore[misc]
    minute = _in_column(row, "time", lambda: _minute(cells.get("time", "")))
    notation = _in_column(
        row,
        "notation",
        lambda: one_word("notation", cells.get("notation", practice.notation), NOTATIONS),
    )
    procedure = one_word_of(row, "procedure", DEFAULT_PROCEDURE, PROCEDURES)
    access = one_word_of(row, "access", DEFAULT_ACCESS, ACCESSES)

    def treated() -> Case:
        teeth = read_list([_WHOLE.sub(r"\1", cells.get("teeth", ""))], notation)
        return Case(tuple(dict.fromkeys(teeth)), notation, procedure, access=access)

    case = _in_column(row, "teeth", treated)
    case = _in_column(row, "age", lambda: replace(case, age=_age(cells.get("age", ""))))
    reference = cells.get("reference", "")
    case = _in_column(row, "reference", lambda: replace(case, reference=reference))
    words = _DECIMAL_COMMA.sub(".", cells.get("exceptions", ""))
    case = _in_column(
        row, "exceptions", lambda: replace(case, states=read_states([words], notation))
    )
    arch = cells.get("arch", "")
    model = _in_column(row, "arch" if arch else "age", lambda: _model(arch, case.age, take_model))
    practice = _in_column(row, "sheet", lambda: _with_sheet(practice, cells.get("sheet", "")))
    try:
        plan = make_plan(case, model, practice, arch_name=Path(arch).name)
    except InputError as error:
        raise RowError(blamed(row, error)) from None
    return DayCase(row.number, minute, plan)


def blamed(row: Row, error: InputError) -> Problem:
    """The problem of a row whose columns are right one by one, with the column that it is about:
    the one that its first word names, else what is odd in the mouth, else the teeth."""
    message = str(error)
    first = message.partition(" ")[0].rstrip(":")
    named = {"page": "reference", "text": "reference"}.get(first, first)
    odd = "exceptions" if "exceptions" in row.cells else "teeth"
    return row.problem(named if named in ("sheet", *row.cells) else odd, message)


def one_word(what: str, text: str, choices: tuple[_Choice, ...]) -> _Choice:
    """The choice that a cell names, whatever its letter case; a space stands for its dash."""
    word = "-".join(text.lower().replace("_", " ").split())
    for choice in choices:
        if choice == word:
            return choice
    near = get_close_matches(word, choices, n=1)
    meant = f"did you mean {near[0]}" if near else f"use one of {', '.join(choices)}"
    raise InputError(f"not a {what}; {meant}")


def one_word_of(row: Row, column: str, default: _Choice, choices: tuple[_Choice, ...]) -> _Choice:
    return _in_column(
        row, column, lambda: one_word(column, row.cells.get(column, default), choices)
    )


_Result = TypeVar("_Result")


def _in_column(row: Row, column: str, work: Callable[[], _Result]) -> _Result:
    try:
        return work()
    except InputError as error:
        raise RowError(row.problem(column, str(error))) from None


def _check_cell(text: str) -> None:
    if text[0] in "=+-@" and not _is_number(text):
        raise InputError("a formula, not a value; paste it as a value, or put no sign before it")
    if len(text) > CELL_LIMIT:
        raise InputError(f"{len(text)} characters; a cell holds at most {CELL_LIMIT}; shorten it")


def _is_number(text: str) -> bool:
    try:
        float(_DECIMAL_COMMA.sub(".", text))
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


def _age(text: str) -> int | None:
    if not text:
        return None
    whole = re.fullmatch(r"([+-]?\d{1,4})(?:[.,]0+)?", text.strip(), re.ASCII)
    if whole is None:
        raise InputError("not an age; write completed years, such as 7")
    return int(whole[1])


def _model(arch: str, age: int | None, take_model: TakeModel) -> ArchModel:
    return take_model(arch) if arch else usual_model(age)


def _with_sheet(practice: Practice, text: str) -> Practice:
    words = _DECIMAL_COMMA.sub(".", text.lower()).split()
    material = next((m for m in MATERIALS if m in words), None)
    size = "".join(word for word in words if word != material).removesuffix("mm")
    return practice.with_sheet(read_sheet(size) if size else None, material)


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
    lines = _lines(text, shown)
    number, head = next(lines, (0, ""))
    separator = next((mark for mark in _SEPARATORS if mark in head), "\t")
    if re.fullmatch(r"sep=.[;,\s]*", head, re.IGNORECASE):  # a spreadsheet's own line
        separator = head[4]
        number, head = next(lines, (0, ""))
    if not head:
        raise InputError(f"{shown}: empty; the first line names the columns {', '.join(COLUMNS)}")
    try:
        names = [name.strip().lower() for name in _cells(head, separator)]
    except csv.Error as error:
        raise InputError(f"{shown}: line {number}: not CSV ({error}); correct it") from error
    _check_names(shown, names)
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, line in lines:
        try:
            rows.append(_row(number, names, line, separator))
        except RowError as error:
            problems.append(error.problem)
    return DayList(tuple(rows), tuple(problems))


def _lines(text: str, shown: str) -> Iterator[tuple[int, str]]:
    """The lines that say something, with their numbers. A cell never holds a line end: a quote
    that is left open costs one row, not all that follow."""
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), start=1):
        if len(line) > LINE_LIMIT:
            raise InputError(
                f"{shown}: line {number} has {len(line):,} characters, the most is "
                f"{LINE_LIMIT:,}; save it as CSV with a line for each case"
            )
        if line.strip(' \t,;"') and not line.lstrip().startswith("#"):
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
            Problem(number, "", "", f"not CSV ({error}); close every quote on its own line")
        ) from None
    extra = [cell for name, cell in zip(names, cells, strict=False) if not name and cell]
    extra += [cell for cell in cells[len(names) :] if cell]
    if extra:
        comma = " (a decimal comma asks for quotes or semicolons)" if separator == "," else ""
        raise RowError(
            Problem(
                number,
                "",
                "",
                f"{shortened(extra[0])!r} stands in no column{comma}; correct that line",
            )
        )
    return Row(
        number,
        {name: cell for name, cell in zip(names, cells, strict=False) if name and cell},
    )


def _read_toml(text: str, shown: str) -> DayList:
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{shown}: broken TOML: {error}; correct that line") from error
    if not data:
        raise InputError(f'{shown}: empty; write format = "{FORMAT}" and a [[case]] for each case')
    if data.get("format") != FORMAT:
        said = repr(data["format"]) if "format" in data else "missing"
        raise InputError(f'{shown}: format is {shortened(said)}; write format = "{FORMAT}"')
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
                Problem(number, shortened(key), "", f"not a known key; the nearest is {near}")
            )
        if column in seen:
            raise RowError(Problem(number, column, "", "said twice; leave one out"))
        seen.add(column)
        text = _toml_text(value, "; " if column == "exceptions" else " ")
        if text is None:
            advice = "must be text or a number, or a list of them; correct it"
            raise RowError(Problem(number, column, shortened(repr(value)), advice))
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
