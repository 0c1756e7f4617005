"""The terms of the page in plain words."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from sheetmark.jobs.glossary import terms

router = APIRouter()


class TermShown(BaseModel):
    """A term by its key; `see` are the titles of related terms."""

    key: str
    title: str
    text: str
    see: list[str]


@router.get("/api/glossary")
def glossary() -> list[TermShown]:
    """Every term, in the order of their titles."""
    known = terms()
    return [
        TermShown(
            key=key,
            title=term.title,
            text=term.text,
            see=[known[other].title for other in term.see],
        )
        for key, term in known.items()
    ]
