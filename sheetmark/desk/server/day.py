"""The day's list: its rows with what is wrong in them, the tray, and the PDF of the day."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from typing import Annotated

from fastapi import APIRouter, Body, Query, Response
from pydantic import BaseModel

from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import remarks_counted
from sheetmark.base.user_folder import default_path
from sheetmark.day.columns import COLUMNS
from sheetmark.day.list import read_day
from sheetmark.day.reading import Reading
from sheetmark.day.records import Problem, Row, shortened
from sheetmark.day.rows import clock
from sheetmark.day.tray import DayPlan, Visit
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.desk import Desk, DeskOf
from sheetmark.desk.server.models import page_model
from sheetmark.documents.sets.day import clash_text, writable
from sheetmark.jobs.day import DayBook, form_of
from sheetmark.jobs.day_rows import address_of
from sheetmark.plan.recipe import day_line

router = APIRouter()

# A second or two of work (assumption); longer lists are for the command line.
MOST_ROWS = 500
MOST_BYTES = 1_000_000

Name = Annotated[str, Query(max_length=255, description="Its ending tells the form")]
Content = Annotated[bytes, Body(media_type="application/octet-stream")]
On = Annotated[date | None, Query(description="The day whose rows are wanted")]
Cards = Annotated[bool, Query(description="A case card behind each case")]


class Trouble(BaseModel):
    """What is wrong, or worth a look: column and value, empty where the whole row is meant."""

    column: str
    value: str
    advice: str


class Clamp(BaseModel):
    """An anchor and the clamp for it; empty where none of the tray fits."""

    anchor: str
    clamp: str


class RowShown(BaseModel):
    """A row as it will be printed, or as it was read where it is left out."""

    row: int
    """Its number in the file."""
    done: bool
    """Whether it has a page."""
    time: str = ""
    reference: str = ""
    teeth: str = ""
    procedure: str = ""
    sheet: str = ""
    clamps: list[Clamp] = []
    """In the order in which they go on."""
    problems: list[Trouble] = []
    """Why it is left out."""
    remarks: list[Trouble] = []
    """What is worth a look though it is done."""
    cells: dict[str, str] = {}
    """The row by its columns."""
    address: dict[str, str] = {}
    """The choices that open it as a case."""


class Sheets(BaseModel):
    """A kind of sheet, and how many of it the day needs."""

    sheet: str
    count: int


class ClampUse(BaseModel):
    """How often a clamp is wanted, how many there are, and the most that are out at one time."""

    label: str
    wanted: int
    in_tray: int
    most_at_once: int
    untimed: int


class Clash(BaseModel):
    """A clamp that is wanted again before it is ready: row, time, anchor, and what to do."""

    row: int
    time: str
    anchor: str
    text: str


class Tray(BaseModel):
    """The day's tray; a clamp is ready again after `ready_again_min` minutes."""

    sheets: list[Sheets]
    clamps: list[ClampUse]
    clashes: list[Clash]
    ready_again_min: int


class Day(BaseModel):
    """The list in its own order."""

    cases: int
    """How many rows have a page."""
    left_out: int
    """How many have none."""
    notes: list[str]
    """How the list was read, a line each."""
    doubts: list[str]
    """What may be a slip in the list as a whole."""
    day: str
    """Its day; empty where it names none."""
    rows: list[RowShown]
    """In the order of the list."""
    tray: Tray
    """What the rows with a page need."""
    command: str
    """The command line that makes the day again."""


@router.get("/api/day/columns")
def columns() -> list[str]:
    """The columns that a list may have; only teeth must be there."""
    return list(COLUMNS)


@router.post("/api/day", openapi_extra=COMPUTES)
def day(
    desk: DeskOf, name: Name, content: Content = b"", cards: Cards = False, on: On = None
) -> Day:
    """Every row planned and laid out, or with its problem; the tray of those that can be done."""
    book = _book(desk, name, content, cards, on)
    book.lay_out()
    plan = book.day
    rows = _rows(plan, {row.number: row for row in (*book.rows.rows, *book.rows.unusable)})
    counted = remarks_counted(book.rows.remark_lines)
    return Day(
        cases=len(plan.visits),
        left_out=sum(not row.done for row in rows),
        notes=[*filter(None, [counted]), *book.rows.notes],
        doubts=list(book.rows.doubts),
        day=str(book.rows.day or ""),
        rows=rows,
        tray=_tray(plan),
        command=plan.command,
    )


@router.post(
    "/api/day.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
    openapi_extra=COMPUTES,
)
def day_pdf(
    desk: DeskOf, name: Name, content: Content = b"", cards: Cards = False, on: On = None
) -> Response:
    """The tray plan and a page for each row that can be done; refused where no row can."""
    pdf = BytesIO()
    _book(desk, name, content, cards, on).write(pdf)
    headers = {"Content-Disposition": 'attachment; filename="day.pdf"'}
    return Response(pdf.getvalue(), media_type="application/pdf", headers=headers)


def _book(desk: Desk, name: str, content: bytes, cards: bool, on: date | None) -> DayBook:
    shown = shortened(name)
    practice = desk.practice()
    how = Reading(practice=practice, on=on, today=date.today())
    rows = read_day(content, shown, form_of(name), MOST_BYTES, how)
    count = len(rows.rows) + len(rows.problems)
    if count > MOST_ROWS:
        raise InputError(
            f"{shown}: {count} rows, the page takes {MOST_ROWS}; "
            f"split the list, or use the command: sheetmark day"
        )
    file = desk.practice_file
    named = desk.practice_text() is not None and file != default_path()
    picked = str(rows.day) if rows.day else ""
    chosen = {"practice": file.name if named else None}
    made = day_line(writable(name), chosen, cards=cards, date=picked)
    return DayBook(
        shown,
        rows,
        practice,
        made,
        cards=cards,
        take_model=page_model,  # a list from a browser names no file of this machine
    )


def _rows(plan: DayPlan, read: dict[int, Row]) -> list[RowShown]:
    """Done or left out, in the order of the list."""
    shown = {visit.row: _done(plan, visit) for visit in plan.visits}
    for problem in plan.left_out:
        if problem.row not in shown:
            row = read.get(problem.row)
            shown[problem.row] = _left_out(problem.row, {} if row is None else dict(row.cells))
        shown[problem.row].problems.append(_trouble(problem))
    for remark in plan.remarks:
        shown[remark.row].remarks.append(_trouble(remark))
    for number, line in shown.items():
        if number in read:
            line.cells = dict(read[number].cells)
            line.address = address_of(line.cells, plan.practice)
    return [row for _, row in sorted(shown.items())]


def _done(plan: DayPlan, visit: Visit) -> RowShown:
    return RowShown(
        row=visit.row,
        done=True,
        time="" if visit.minute is None else clock(visit.minute),
        reference=visit.reference,
        teeth=visit.teeth,
        procedure=visit.procedure,
        sheet=plan.practice.numerals(visit.sheet),
        clamps=[
            Clamp(anchor=wish.anchor, clamp=wish.labels[0] if wish.labels else "")
            for wish in visit.wishes
        ],
    )


def _left_out(number: int, cells: dict[str, str]) -> RowShown:
    def cell(column: str) -> str:
        return shortened(cells.get(column, ""))

    return RowShown(
        row=number,
        done=False,
        time=cell("time"),
        reference=cell("reference"),
        teeth=cell("teeth"),
        procedure=cell("procedure"),
        sheet=cell("sheet"),
    )


def _trouble(problem: Problem) -> Trouble:
    return Trouble(column=problem.column, value=problem.value, advice=problem.advice)


def _tray(plan: DayPlan) -> Tray:
    number = plan.practice.numerals
    return Tray(
        sheets=[Sheets(sheet=number(sheet), count=count) for sheet, count in plan.sheets],
        clamps=[
            ClampUse(
                label=use.label,
                wanted=use.wanted,
                in_tray=use.count,
                most_at_once=use.most_at_once,
                untimed=use.untimed,
            )
            for use in plan.clamps
        ],
        clashes=[
            Clash(
                row=clash.row,
                time=clock(clash.minute),
                anchor=clash.anchor,
                text=clash_text(clash),
            )
            for clash in plan.clashes
        ],
        ready_again_min=plan.practice.tray_turn_round_min,
    )
