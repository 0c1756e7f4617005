"""A photograph of a punched sheet on the page: what is found in it, corrected by hand, judged.

The photograph is looked at in memory and is not kept: what the page needs for a correction goes to
it and comes back with it.
"""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Body, Query, Response
from pydantic import BaseModel, Field

from sheetmark.base.frames import SheetPoint
from sheetmark.desk.server.case_query import CaseQuery
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.desk import Desk, DeskOf
from sheetmark.practice.settings import Practice

if TYPE_CHECKING:
    from sheetmark.checking.result import Check, HoleCheck

router = APIRouter()

Content = Annotated[bytes, Body(media_type="application/octet-stream")]
Length = Annotated[float, Field(ge=-1000.0, le=1000.0)]


class FoundMark(BaseModel):
    """A hole: its middle in pixels of the picture, its diameter in mm, 0 where a person added it,
    and how round it is, 0 to 1."""

    x: Annotated[float, Field(ge=0.0, le=10_000.0)]
    y: Annotated[float, Field(ge=0.0, le=10_000.0)]
    diameter_mm: Annotated[float, Field(ge=0.0, le=20.0)] = 0.0
    roundness: Annotated[float, Field(ge=0.0, le=1.0)] = 1.0


class SheetSeen(BaseModel):
    """What is known of the sheet from the photograph, beside its holes; lengths in mm."""

    middle: tuple[Length, Length]
    """Where its middle lies, in the sheet frame of the page."""
    turn_deg: Annotated[float, Field(ge=-45.0, le=45.0)]
    """How it is turned, anticlockwise."""
    size: tuple[Length, Length]
    """Its width and height by its edges."""
    eye: tuple[Length, Length, Annotated[float, Field(gt=10.0, le=10_000.0)]]
    """Where the lens was: x, y, and height above the page."""
    pen_marks: Annotated[list[tuple[Length, Length]], Field(max_length=500)]
    """Their middles, in its own frame."""


class Marked(BaseModel):
    """Holes as a person left them, with what the photograph showed of the sheet."""

    marks: Annotated[list[FoundMark], Field(max_length=200)]
    sheet: SheetSeen


class CheckedHole(BaseModel):
    """A row of the table, as text."""

    tooth: str
    """In the case's notation."""
    off: str
    """How far it is off, and how sure that is, mm."""
    where: str
    """Which way."""
    own: str
    """What is left without the pattern's shift, mm."""
    place: str
    """The verdict on its place."""
    hole: str
    """Its diameter as measured, mm."""
    size: str
    """The verdict on its size."""


class Judged(BaseModel):
    """The verdict, what else to know, and a row for each planned hole."""

    good: bool
    tolerance_mm: float
    verdict: str
    remarks: list[str]
    rows: list[CheckedHole]


class PlannedPlace(BaseModel):
    """Where a tooth's hole belongs, in pixels of the picture."""

    tooth: str
    x: float
    y: float


class Photographed(BaseModel):
    """A photographed sheet; places and marks are in pixels of the picture."""

    picture: str
    """The address of an image of the sheet's place, seen from straight above."""
    width: int
    """Of the picture, in pixels."""
    height: int
    """Of the picture, in pixels."""
    pixels_per_mm: float
    places: list[PlannedPlace]
    """Where holes belong."""
    marks: list[FoundMark]
    """The holes found."""
    sheet: SheetSeen
    """What goes back with a correction."""
    judged: Judged
    """The verdict."""


class CheckQuery(CaseQuery):
    """A case, and how far off its place a hole may be, mm; None as the practice has it."""

    tolerance: float | None = None

    def tolerance_mm(self, desk: Desk) -> float:
        """How far off a hole may be, mm."""
        return desk.practice().tolerance_mm if self.tolerance is None else self.tolerance


@router.post("/api/check", openapi_extra=COMPUTES)
def check(
    desk: DeskOf,
    query: Annotated[CheckQuery, Query()],
    content: Content,
) -> Photographed:
    """What a photograph shows of the case's sheet."""
    # Loaded here so that the page opens without them.
    from sheetmark.checking.flat import PITCH_MM
    from sheetmark.checking.picture import FlatPicture, seen_at
    from sheetmark.checking.wanted import wanted_of
    from sheetmark.jobs.check import check_photo

    wanted = wanted_of(query.plan(desk))
    done = check_photo(content, "photograph.heic", wanted, query.tolerance_mm(desk))
    seen, grid = done.seen, done.seen.page.flat.grid
    marks = []
    for opening in seen.found.openings:
        x, y = seen_at(seen, opening.at)
        marks.append(
            FoundMark(
                x=grid.column(x),
                y=grid.row(y),
                diameter_mm=opening.diameter_mm,
                roundness=opening.roundness,
            )
        )
    places = []
    for hole in wanted.holes:
        x, y = seen_at(seen, SheetPoint(*hole.at))
        places.append(
            PlannedPlace(tooth=wanted.written(hole.tooth), x=grid.column(x), y=grid.row(y))
        )
    sheet = SheetSeen(
        middle=(seen.laid.middle.x, seen.laid.middle.y),
        turn_deg=seen.laid.turn_deg,
        size=seen.found.sheet_size_mm,
        eye=seen.found.eye_mm,
        pen_marks=[(mark.x, mark.y) for mark in seen.found.pen_marks],
    )
    return Photographed(
        picture="data:image/png;base64," + b64encode(FlatPicture(seen.page).png()).decode(),
        width=grid.shape[1],
        height=grid.shape[0],
        pixels_per_mm=1 / PITCH_MM,
        places=places,
        marks=marks,
        sheet=sheet,
        judged=_judged(done.check, query.practice(desk)),
    )


@router.post("/api/check/again", openapi_extra=COMPUTES)
def check_again(desk: DeskOf, query: Annotated[CheckQuery, Query()], marked: Marked) -> Judged:
    """The judgement of holes that a person has corrected."""
    return _judged(_corrected(desk, query, marked), query.practice(desk))


@router.post(
    "/api/check.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
    openapi_extra=COMPUTES,
)
def check_pdf(desk: DeskOf, query: Annotated[CheckQuery, Query()], marked: Marked) -> Response:
    """The report of holes as a person left them."""
    from sheetmark.documents.check_report import check_report
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    practice = query.practice(desk)
    report = corrected(check_report(_corrected(desk, query, marked), practice), practice)
    return Response(render_pdf(report), media_type="application/pdf")


def _corrected(desk: Desk, query: CheckQuery, marked: Marked) -> Check:
    from sheetmark.checking.edges import LaidSheet
    from sheetmark.checking.flat import grid_for
    from sheetmark.checking.judge import judge
    from sheetmark.checking.look import Found
    from sheetmark.checking.openings import Opening
    from sheetmark.checking.wanted import wanted_of

    wanted, sheet = wanted_of(query.plan(desk)), marked.sheet
    grid = grid_for(wanted.sheet)
    laid = LaidSheet(SheetPoint(*sheet.middle), sheet.turn_deg, *sheet.size, 0.0)
    openings = tuple(
        Opening(laid.to_sheet(*grid.point(mark.x, mark.y)), mark.diameter_mm, mark.roundness)
        for mark in marked.marks
    )
    found = Found(
        openings=openings,
        pen_marks=tuple(SheetPoint(*mark) for mark in sheet.pen_marks),
        sheet_size_mm=sheet.size,
        eye_mm=sheet.eye,
    )
    return judge(found, wanted, query.tolerance_mm(desk))


def _judged(check: Check, practice: Practice) -> Judged:
    from sheetmark.checking.wording import headline, place_text, remarks, size_text, where

    def row(hole: HoleCheck) -> CheckedHole:
        there = hole.found is not None and hole.off_mm is not None
        numbers = practice.numerals
        off = f"{hole.distance_mm:.1f} ± {hole.uncertain_mm:.1f}" if there else ""
        size = f"{hole.found.diameter_mm:.1f}" if hole.found and hole.found.diameter_mm else ""
        return CheckedHole(
            tooth=check.wanted.written(hole.wanted.tooth),
            off=numbers(off),
            where=numbers(where(hole.off_mm)) if hole.off_mm is not None else "",
            own="" if hole.own_mm is None else numbers(f"{hole.own_mm:.1f}"),
            place=place_text(check, hole),
            hole=numbers(size),
            size=numbers(size_text(hole)),
        )

    return Judged(
        good=check.good,
        tolerance_mm=check.tolerance_mm,
        verdict=practice.numerals(headline(check)),
        remarks=[practice.numerals(text) for text in remarks(check)],
        rows=[row(hole) for hole in check.holes],
    )
