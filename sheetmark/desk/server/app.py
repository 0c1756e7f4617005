"""The desk as an ASGI application: its views, its guard, and how problems reach the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp

from sheetmark.base.extras import not_installed
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.base.stopping import StoppedError
from sheetmark.base.version import __version__
from sheetmark.desk.server import (
    case_files,
    cases,
    check,
    day,
    day_list,
    glossary,
    own_arch,
    pages,
    parts,
    practice,
    scan,
    sets,
)
from sheetmark.desk.server.computing import Computes, computing
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.findings import problems_shown
from sheetmark.desk.server.guard import Guard
from sheetmark.desk.server.long_work import LongWork

if TYPE_CHECKING:
    from fastapi.telemetry import TelemetryConfig  # not in every version

_UNUSABLE = 422
_SHOWN_CHARACTERS = 60
_PLAIN = {
    "extra_forbidden": "is not known here",
    "int_from_float": "must be a whole number",
    "int_parsing": "must be a whole number",
    "missing": "is missing",
}
_PROBLEMS: dict[int | str, dict[str, Any]] = {
    "4XX": {
        "description": "A request that cannot be answered: what, value, limit, what to do",
        "content": {
            "application/json": {
                "schema": {
                    "type": "object",
                    "required": ["problems"],
                    "properties": {"problems": {"type": "array", "items": {"type": "string"}}},
                }
            }
        },
    }
}


# An address holds a case; nobody is to hear of it, whatever an environment asks for.
_NO_TELEMETRY: TelemetryConfig = {
    "tracing": False,
    "metrics": False,
    "logs": False,
    "operation_spans": False,
    "auto_configure": False,
}
# Every view of the desk.
_PARTS = (
    pages,
    parts,
    cases,
    case_files,
    glossary,
    sets,
    day,
    day_list,
    own_arch,
    scan,
    check,
    practice,
)


def desk_computes() -> Computes:
    """Sees the requests that only compute."""
    return computing(part.router for part in _PARTS)


def make_app(desk: Desk) -> ASGIApp:
    """The whole desk. It stores nothing but the settings and arch models that a person saves."""
    app = FastAPI(
        title="sheetmark desk",
        version=__version__,
        openapi_url="/api/openapi.json",
        docs_url=None,  # its pages come from elsewhere
        redoc_url=None,
        responses=_PROBLEMS,
        telemetry=_NO_TELEMETRY,
    )
    app.state.desk = desk
    for part in _PARTS:
        app.include_router(part.router)
    app.add_exception_handler(InputError, _input_error)
    app.add_exception_handler(NoAnswerError, _no_answer)
    app.add_exception_handler(StoppedError, _stopped)
    app.add_exception_handler(ModuleNotFoundError, _not_installed)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _http_error)
    return Guard(LongWork(app, desk_computes()), desk)


def _problems(*lines: str, status: int = _UNUSABLE) -> JSONResponse:
    return JSONResponse({"problems": list(lines)}, status)


def _input_error(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, InputError)
    return _problems(*problems_shown(error))


def _no_answer(_: Request, error: Exception) -> JSONResponse:
    return _problems(f"no answer: {error}")


def _stopped(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, StoppedError)
    return _problems("stopped: nobody waited for the answer", status=503)


def _not_installed(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, ModuleNotFoundError)
    missing = not_installed(error)
    if missing is None:
        raise error
    return _problems(str(missing))


def _http_error(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    return _problems(error.detail, status=error.status_code)


def _invalid(_: Request, error: Exception) -> JSONResponse:
    """What the records of the endpoints refuse, a line each, as for other bad input."""
    assert isinstance(error, RequestValidationError)
    lines = []
    for problem in error.errors():
        where = ".".join(str(part) for part in problem["loc"][1:]) or str(problem["loc"][0])
        value = repr(problem.get("input"))
        if len(value) > _SHOWN_CHARACTERS:
            value = f"{value[: _SHOWN_CHARACTERS - 1]}…"
        rule = _PLAIN.get(problem["type"], problem["msg"].lower().replace("input should", "must"))
        lines.append(f"{where} {value}: {rule}; correct it")
    return _problems(*lines)
