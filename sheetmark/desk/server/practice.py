"""The practice file as a form, and the printer's correction: read, check, save."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import Annotated

from fastapi import APIRouter, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field, StrictBool, StrictFloat, StrictInt, StrictStr

from sheetmark.base.files import write_all
from sheetmark.base.findings import InputError
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.base.user_folder import make_folder
from sheetmark.desk.server.desk import Desk, DeskOf
from sheetmark.desk.server.findings import problem_shown, problems_shown
from sheetmark.documents.printer_page import printer_page
from sheetmark.practice.file.check import (
    PracticeError,
    Problem,
    find_problems,
    parse_text,
)
from sheetmark.practice.file.edit import store_printer, store_settings
from sheetmark.practice.file.form import Form, make_form
from sheetmark.practice.printer import (
    TEST_BAR_MM,
    Printer,
    bar_limits_mm,
    check_bars,
    fitted_question,
)
from sheetmark.practice.settings import PAPERS
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.lettering import unwritable

router = APIRouter()

Simple = StrictBool | StrictInt | StrictFloat | StrictStr | None
Row = dict[str, Simple | list[Simple]]
# Far more rows than a clinic has clamps (assumption).
Value = Simple | Annotated[list[Simple | Row], Field(max_length=200)]


class Found(BaseModel):
    """A problem beside its key: what must hold, and what to do."""

    key: str
    text: str


class Settings(BaseModel):
    """The practice file for the page; `fingerprint` is empty where there is no file yet.

    `problems` are the lines for what is wrong in the file, and `found` the same by their keys."""

    file: str
    fingerprint: str
    form: Form
    problems: list[str]
    found: list[Found]
    test_bar_mm: float
    bar_least_mm: float
    bar_most_mm: float


class Change(BaseModel):
    """What changes, by key; None takes a key out. `fingerprint` is that of the file it is for."""

    fingerprint: str
    values: dict[str, Value]


class Measured(BaseModel):
    """The bars of a printer's test page, across and down, as measured. `confirmed`: scaling was
    off, although the bars look as if the page was scaled."""

    name: str
    x: float
    y: float
    confirmed: bool = False


class Stored(BaseModel):
    """The correction in words, and the file as it is now; or the question to answer first, and
    nothing was stored."""

    text: str
    question: str
    settings: Settings


@router.get("/api/practice")
def practice(desk: DeskOf) -> Settings:
    """The practice file as a form. A file with problems is shown with them, to be put right."""
    return _shown(desk, desk.practice_text())


@router.post("/api/practice", response_model=Settings)
def save(desk: DeskOf, change: Change) -> Settings | JSONResponse:
    """Changes the practice file in place, or writes a new file; only if all is valid
    and nobody changed it since it was read."""
    name = desk.practice_file.name

    def changed(text: str | None) -> str:
        if _fingerprint(text) != change.fingerprint:
            raise InputError(
                f"{name}: changed since this page read it; reload the page, then change it again"
            )
        return store_settings(text, change.values, name, unwritable)

    try:
        return _shown(desk, change_file(desk, changed))
    except PracticeError as error:
        return _refused(problems_shown(error), map(_beside, error.found))


@router.get("/api/printer-page.pdf", response_class=Response)
def test_page(desk: DeskOf) -> Response:
    """The printer's test page on the paper in use."""
    content = render_pdf(printer_page(PAPERS[desk.practice().paper]))
    headers = {"Content-Disposition": 'inline; filename="printer-test-page.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


@router.post("/api/printer", response_model=Stored)
def printer(desk: DeskOf, measured: Measured) -> Stored | JSONResponse:
    """Stores the measured bars in the practice file, and uses this printer from now on."""
    found = []
    for key, bars in (("x", (measured.x, TEST_BAR_MM)), ("y", (TEST_BAR_MM, measured.y))):
        try:
            check_bars(*bars)
        except InputError as error:
            found += [Found(key=key, text=line) for line in error.problems]
    if found:
        return _refused((problem.text for problem in found), found)
    question = "" if measured.confirmed else fitted_question(measured.x, measured.y)
    if question:
        shown = desk.practice().numerals(question)
        return Stored(text="", question=f"{shown}.", settings=_shown(desk, desk.practice_text()))
    known = Printer(measured.name, measured.x, measured.y)
    name = desk.practice_file.name
    try:
        text = change_file(desk, lambda before: store_printer(before, known, name, unwritable))
    except PracticeError as error:
        return _refused(problems_shown(error), map(_beside, error.found))
    correction = desk.practice().numerals(f"{known.summary}; in use from now on. {known.effect}")
    return Stored(text=correction, question="", settings=_shown(desk, text))


def _fingerprint(text: str | None) -> str:
    return "" if text is None else sha256(text.encode()).hexdigest()


def _shown(desk: Desk, text: str | None) -> Settings:
    name, (low, high) = desk.practice_file.name, bar_limits_mm()
    data = {} if text is None else parse_text(text, name)
    problems = () if text is None else find_problems(data, unwritable)
    return Settings(
        file=name,
        fingerprint=_fingerprint(text),
        form=make_form(data),
        problems=[problem_shown(name, problem) for problem in problems],
        found=[_beside(problem) for problem in problems],
        test_bar_mm=TEST_BAR_MM,
        bar_least_mm=low,
        bar_most_mm=high,
    )


def change_file(desk: Desk, changed: Callable[[str | None], str]) -> str:
    """Writes the file as changed, one change at a time; gives its new text."""
    path = desk.practice_file
    make_folder(path)
    with one_at_a_time(path):
        before = desk.practice_text()
        text = changed(before)
        if text != before:
            write_all({path: text.encode()}, force=True)  # it was read as a practice file
    return text


def _beside(problem: Problem) -> Found:
    return Found(key=problem.key, text=f"{problem.limit}; {problem.advice}")


def _refused(lines: Iterable[str], found: Iterable[Found]) -> JSONResponse:
    """The lines in the page's terms, and the fields that they belong to."""
    content = {"problems": list(lines), "found": [problem.model_dump() for problem in found]}
    return JSONResponse(content, 422)
