"""What of the page is left out here, since it needs libraries that are not here."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from sheetmark.base.extras import left_out, left_out_line

router = APIRouter()


class LeftOut(BaseModel):
    """The names of the parts that the page hides, and a line for people on where to find them,
    empty where nothing is left out."""

    parts: list[str]
    line: str


@router.get("/api/left-out")
def left_out_here() -> LeftOut:
    """What the page hides."""
    parts = left_out()
    return LeftOut(parts=list(parts), line=left_out_line(parts))
