"""Pages that belong to no case of today, and how a case's sheet is stretched: PDFs that take
seconds."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from sheetmark.base.extras import left_out
from sheetmark.desk.server.case_query import CaseQuery, Text
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.desk import DeskOf
from sheetmark.documents.handouts.names import HANDOUTS
from sheetmark.jobs.sets import drawer_pdf, handout_pdf, strain_pdf

router = APIRouter()

_PDF = "application/pdf"


class Handout(BaseModel):
    """A teaching page by its name, and what it shows."""

    name: str
    shows: str


@router.get("/api/handouts")
def handouts() -> list[Handout]:
    """Every handout that can be made here."""
    without = left_out()
    return [
        Handout(name=name, shows=shows) for name, shows in HANDOUTS.items() if name not in without
    ]


@router.get("/api/drawer.pdf", response_class=Response, openapi_extra=COMPUTES)
def drawer(desk: DeskOf) -> Response:
    """A page for each usual situation, and their index."""
    return _pdf("drawer", drawer_pdf(desk.practice()))


@router.get("/api/handout.pdf", response_class=Response, openapi_extra=COMPUTES)
def handout(desk: DeskOf, name: Annotated[Text, Query()]) -> Response:
    """A teaching page."""
    content = handout_pdf(name, desk.practice())
    return _pdf(name, content)


@router.get("/api/strain.pdf", response_class=Response, openapi_extra=COMPUTES)
def strain(desk: DeskOf, query: Annotated[CaseQuery, Query()]) -> Response:
    """How the case's sheet is stretched."""
    plan = query.plan(desk)
    return _pdf(f"strain-{'-'.join(tooth.iso for tooth in plan.case.treat)}", strain_pdf(plan))


def _pdf(name: str, content: bytes) -> Response:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return Response(content, media_type=_PDF, headers=headers)
