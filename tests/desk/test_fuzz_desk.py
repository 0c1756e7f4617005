"""Every endpoint, asked what its own description allows and what it does not: never a failure of
ours, and never an answer that the description does not know."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.testclient import TestClient

from sheetmark.case.case import ACCESSES, PROCEDURES
from sheetmark.case.exceptions import TERMS
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
    "GET /api/start",
    "GET /api/glossary",
    "GET /api/handouts",
    "GET /api/drawer.pdf",
    "GET /api/day/columns",
    "GET /api/arch/start",
    "GET /api/practice",
    "GET /api/printer-page.pdf",
]


@pytest.fixture
def schema(own_folder: Path) -> schemathesis.BaseSchema:
    desk = Desk(own_folder / "practice.toml", TOKEN, frozenset({"localhost", "testserver"}))
    return schemathesis.openapi.from_asgi("/api/openapi.json", make_app(desk))


def operations(schema: schemathesis.BaseSchema) -> dict[str, Any]:
    found: list[Any] = [one.ok() for one in schema.get_all_operations()]  # type: ignore[union-attr]
    return {operation.label: operation for operation in found}


def test_no_endpoint_is_left_out(schema: schemathesis.BaseSchema) -> None:
    assert list(operations(schema)) == ENDPOINTS


@pytest.mark.parametrize(
    ("endpoint", "mode"),
    [
        (endpoint, mode)
        for endpoint in ENDPOINTS
        for mode in GenerationMode
        if mode.is_positive or endpoint not in NOTHING_TO_SAY
    ],
)
def test_no_request_makes_the_desk_fail(
    schema: schemathesis.BaseSchema, endpoint: str, mode: GenerationMode
) -> None:
    operation, asked = operations(schema)[endpoint], []

    @settings(
        max_examples=40, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck)
    )
    @given(operation.as_strategy(generation_mode=mode))
    def ask(case: Any) -> None:
        answer = case.call(headers={"X-Sheetmark-Token": TOKEN})
        asked.append(answer.status_code)
        case.validate_response(answer, checks=CHECKS)

    ask()
    assert asked


ISOS = st.sampled_from([f"{q}{p}" for q in range(1, 9) for p in range(1, 9)])
RUNS = st.builds("{}-{}".format, ISOS, ISOS)
NUMBERS = st.sampled_from(["0", "1.5", "-3", "30", "1e9", "nan", "x", ""])
SAID = st.builds("{} {} {}".format, st.one_of(ISOS, RUNS), st.sampled_from(TERMS), NUMBERS)
ASKED = st.fixed_dictionaries(
    {"treat": st.lists(ISOS, max_size=4)},
    optional={
        "for": st.sampled_from([*PROCEDURES, "nothing"]),
        "expose": st.lists(st.one_of(ISOS, RUNS), max_size=3),
        "more": st.sampled_from([0, 1, 15, 16, -1]),
        "with": st.lists(st.one_of(SAID, ISOS), max_size=4),
        "anchor": st.lists(ISOS, max_size=2),
        "slit": st.lists(st.one_of(RUNS, ISOS), max_size=2),
        "access": st.sampled_from([*ACCESSES, "none"]),
        "age": st.integers(-1, 130),
        "arch": st.sampled_from(["adult-mean", "adult-large", "age-8", "primary", "x", ""]),
        "sheet": st.sampled_from(["152", "127x127", "100x90", "9x9", "nanxnan", "1e400"]),
        "material": st.sampled_from(["latex", "nitrile", "silk"]),
        "shift": st.sampled_from(["rule", "none", "sideways"]),
        "reference": st.text(max_size=70),
        "view": st.sampled_from(["sheet", "arch", "inside"]),
    },
)


def test_odd_cases_are_planned_or_refused_in_words(client: TestClient) -> None:
    planned, refused = [], []

    @settings(
        max_examples=150, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck)
    )
    @given(asked=ASKED)
    def ask(asked: dict[str, Any]) -> None:
        answer = client.get("/api/case", params=asked)
        assert answer.status_code in (200, 422), answer.text
        data = answer.json()
        assert all(line and "\n" not in line for line in data["problems"])
        assert answer.status_code == 200 or data["problems"]
        named = {key: value for key, value in asked.items() if key != "view"}
        pdf = client.get("/api/case.pdf", params=named)
        if answer.status_code == 200 and data["sheet"]:
            planned.append(asked)
            # Only what the font cannot write still stands between a sheet and its page.
            assert pdf.status_code == 200 or "glyph" in pdf.text
        elif asked.get("view") != "inside":
            refused.append(asked)
            assert pdf.status_code == 422

    ask()
    assert planned
    assert refused
