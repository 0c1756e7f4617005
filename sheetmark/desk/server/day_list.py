"""What a person does to a day's list on the page: teach its words, put a row right, save it."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel, Field

from sheetmark.base.findings import InputError
from sheetmark.day.columns import COLUMNS, LIST_ONLY
from sheetmark.day.headings import column_of
from sheetmark.day.list import read_file_table
from sheetmark.day.own_terms import taught, unknown_terms
from sheetmark.day.reading import Reading
from sheetmark.day.records import shortened
from sheetmark.desk.server.case_query import CaseQuery
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.day import MOST_ROWS, Content, Name
from sheetmark.desk.server.desk import DeskOf
from sheetmark.desk.server.practice import change_file
from sheetmark.jobs.day import form_of
from sheetmark.jobs.day_rows import list_file
from sheetmark.practice.file.edit import store_settings
from sheetmark.practice.list_terms import (
    IGNORED,
    LIST_COLUMNS,
    LIST_MEANINGS,
    ListColumn,
    ListHeading,
    ListMeaning,
    ListWord,
)
from sheetmark.typesetting.lettering import unwritable

router = APIRouter()

_Label = Annotated[str, Field(min_length=1, max_length=40)]
_Cell = Annotated[str, Field(max_length=500)]


class HeadingRead(BaseModel):
    """A heading of a list and the column that it is read as."""

    heading: _Label
    column: ListColumn


class HeadingShown(BaseModel):
    """The same, as the desk answers it."""

    heading: str
    column: str


class WordRead(BaseModel):
    """A word of a list and the procedure that it means."""

    word: _Label
    means: ListMeaning


class ListHeadings(BaseModel):
    """How a list is read: each heading, and the words for procedures that are not known."""

    headings: list[HeadingShown]
    unknown: list[str]
    columns: list[str]
    meanings: list[str]


class Taught(BaseModel):
    """Headings and words to keep in the practice file."""

    headings: Annotated[list[HeadingRead], Field(max_length=100)] = []
    procedures: Annotated[list[WordRead], Field(max_length=100)] = []


class Kept(BaseModel):
    """The practice file that has them now."""

    file: str


class RowCells(BaseModel):
    """A row by its columns, and the choices of the case that no column can hold."""

    cells: dict[str, str]
    lost: list[str]


class SavedList(BaseModel):
    """The rows of a list to save, and its day where it is known."""

    rows: Annotated[list[dict[_Label, _Cell]], Field(min_length=1, max_length=MOST_ROWS)]
    day: date | None = None


@router.post("/api/day/headings", openapi_extra=COMPUTES)
def headings(desk: DeskOf, name: Name, content: Content = b"") -> ListHeadings:
    """How each heading of a list is read, whether or not the list can be planned."""
    shown, practice = shortened(name), desk.practice()
    form = form_of(name)
    if form == "toml":
        raise InputError(f"{shown}: a TOML list has our own keys; there is nothing to map")
    table, _ = read_file_table(content, shown, form, Reading(practice=practice))
    return ListHeadings(
        headings=[
            HeadingShown(
                heading=heading, column=column_of(heading, practice.list_headings) or IGNORED
            )
            for heading in table.headings
            if 0 < len(heading) <= 40
        ],
        unknown=[word for word in unknown_terms(table, practice) if len(word) <= 40][:50],
        columns=list(LIST_COLUMNS),
        meanings=list(LIST_MEANINGS),
    )


@router.post("/api/day/teach")
def teach(desk: DeskOf, more: Taught) -> Kept:
    """Keeps headings and words in the practice file, in place of what it had for them."""
    practice = taught(
        desk.practice(),
        [ListHeading(known.heading, known.column) for known in more.headings],
        [ListWord(known.word, known.means) for known in more.procedures],
    )
    values = {
        "list_headings": [
            {"heading": known.heading, "column": known.column} for known in practice.list_headings
        ],
        "list_words": [{"word": known.word, "means": known.means} for known in practice.list_words],
    }
    name = desk.practice_file.name
    change_file(desk, lambda text: store_settings(text, values, name, unwritable))
    return Kept(file=name)


@router.get("/api/day/row")
def row(desk: DeskOf, case: Annotated[CaseQuery, Query()]) -> RowCells:
    """The case in the page's address as a row of a list."""
    cells, lost = case.list_row(desk)
    return RowCells(cells=cells, lost=list(lost))


@router.post(
    "/api/day/list.csv",
    response_class=Response,
    responses={200: {"content": {"text/csv": {}}}},
    openapi_extra=COMPUTES,
)
def saved_list(desk: DeskOf, rows: SavedList) -> Response:
    """The rows as a CSV that opens again here and in a spreadsheet."""
    known = {*COLUMNS, *LIST_ONLY}
    for cells in rows.rows:
        for column in cells:
            if column not in known:
                raise InputError(f"column {column!r}: not known; use {', '.join(COLUMNS)}")
    content = list_file(rows.rows, rows.day, desk.practice())
    headers = {"Content-Disposition": 'attachment; filename="list.csv"'}
    return Response(content, media_type="text/csv; charset=utf-8", headers=headers)
