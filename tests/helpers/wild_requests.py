"""Requests to the page's endpoints that its own description allows, and that it does not."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.types import Receive, Scope, Send

from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from tests.helpers.running_desk import TOKEN

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
ENDPOINTS = [
    "GET /api/left-out",
    "GET /api/start",
    "GET /api/case",
    "GET /api/case.print",
    "GET /api/case.row",
    "GET /api/case.{form}",
    "GET /api/glossary",
    "GET /api/handouts",
    "GET /api/drawer.pdf",
    "GET /api/handout.pdf",
    "GET /api/strain.pdf",
    "GET /api/day/columns",
    "POST /api/day",
    "POST /api/day.pdf",
    "POST /api/day/headings",
    "POST /api/day/teach",
    "GET /api/day/row",
    "POST /api/day/list.csv",
    "GET /api/arch/start",
    "POST /api/arch/fit",
    "POST /api/arch/save",
    "POST /api/arch/scan",
    "POST /api/check",
    "POST /api/check/again",
    "POST /api/check.pdf",
    "GET /api/practice",
    "POST /api/practice",
    "GET /api/printer-page.pdf",
    "POST /api/printer",
]
NOTHING_TO_SAY = [
    "GET /api/left-out",
    "GET /api/start",
    "GET /api/glossary",
    "GET /api/handouts",
    "GET /api/drawer.pdf",
    "GET /api/day/columns",
    "GET /api/arch/start",
    "GET /api/practice",
    "GET /api/printer-page.pdf",
]
HOSTS = frozenset({"localhost", "testserver"})
WAYS = [
    (endpoint, mode)
    for endpoint in ENDPOINTS
    for mode in GenerationMode
    if mode.is_positive or endpoint not in NOTHING_TO_SAY
]


class _Current:
    """The desk that is asked now."""

    def __init__(self, file: Path) -> None:
        self.open(file)

    def open(self, file: Path) -> None:
        self.app = make_app(Desk(file, TOKEN, HOSTS))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await self.app(scope, receive, send)


def described(file: Path) -> Mapping[str, Any]:
    """The endpoints of a desk with that practice file, by their names in its own description."""
    current, operations = _description()
    current.open(file)
    return operations


@cache  # the same for every desk, and slow to make
def _description() -> tuple[_Current, dict[str, Any]]:
    current = _Current(Path("practice.toml"))
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", current)
    found: list[Any] = [each.ok() for each in schema.get_all_operations()]  # type: ignore[union-attr]
    return current, {operation.label: operation for operation in found}


def request_endpoint(
    endpoints: Mapping[str, Any], endpoint: str, mode: GenerationMode, rounds: int
) -> None:
    """Every answer is one that the description knows, and none is a failure of ours."""
    operation, codes = endpoints[endpoint], []

    @settings(
        max_examples=rounds,
        derandomize=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(operation.as_strategy(generation_mode=mode))
    def request(case: Any) -> None:
        answer = case.call(headers={"X-Sheetmark-Token": TOKEN})
        codes.append(answer.status_code)
        case.validate_response(answer, checks=CHECKS)

    request()
    assert codes
