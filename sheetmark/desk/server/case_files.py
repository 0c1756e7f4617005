"""The case as files: what goes to the printer, and what is saved."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response
from pydantic import Field

from sheetmark.base.findings import InputError
from sheetmark.case.file import write_case
from sheetmark.desk.server.case_query import CaseQuery
from sheetmark.desk.server.desk import DeskOf
from sheetmark.jobs.outputs import render_plan
from sheetmark.jobs.printing import MOST_COPIES, Part, print_plan
from sheetmark.plan.plan import Plan

router = APIRouter()

Form = Literal["pdf", "svg", "json", "dxf", "cut.svg", "toml"]
_TYPES: dict[Form, str] = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "json": "application/json",
    "dxf": "image/vnd.dxf",
    "cut.svg": "image/svg+xml",
    "toml": "application/toml",
}


class CasePrint(CaseQuery):
    """A case, which of its pages are printed, and how often."""

    part: Part = "both"
    copies: Annotated[int, Field(ge=1, le=MOST_COPIES)] = 1


@router.get("/api/case.print", response_class=Response)
def case_print(desk: DeskOf, query: Annotated[CasePrint, Query()]) -> Response:
    """The PDF for the printer: overlay, case card or both, each copy behind the one before."""
    plan = query.plan(desk)
    return _file(plan, "pdf", print_plan(plan, query.part, query.copies))


@router.get("/api/case.row")
def case_row(desk: DeskOf, query: Annotated[CaseQuery, Query()]) -> dict[str, str]:
    """The case as a row of a day's list, by its columns."""
    query.plan(desk)  # what cannot be planned is no row
    cells, lost = query.list_row(desk)
    if lost:
        raise InputError(
            f"{', '.join(lost)}: a day's list has no column for this; print the case by itself"
        )
    return cells


@router.get("/api/case.{form}", response_class=Response)
def case_file(desk: DeskOf, form: Form, query: Annotated[CaseQuery, Query()]) -> Response:
    """The case as a file: the true-scale PDF, the SVG, the plan as JSON, the stencil for a cutter,
    or the case itself."""
    plan = query.plan(desk)
    if form == "toml":
        # The file holds the case; arch model and sheet stand in the command.
        content = f"# {plan.command}\n{write_case(plan.case)}".encode()
    else:
        content = render_plan(plan, form)
    return _file(plan, form, content)


def _file(plan: Plan, form: Form, content: bytes) -> Response:
    name = f"sheet-{'-'.join(tooth.iso for tooth in plan.case.treat)}.{form}"
    kind = "inline" if form == "pdf" else "attachment"
    headers = {"Content-Disposition": f'{kind}; filename="{name}"'}
    return Response(content, media_type=_TYPES[form], headers=headers)
