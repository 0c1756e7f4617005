"""Every endpoint, asked what its own description allows and what it does not: never a failure of
ours, and never an answer that the description does not know. `python -m tests.fuzz` asks more."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.generation import GenerationMode
from starlette.testclient import TestClient

from sheetmark.case.case import ACCESSES, PROCEDURES
from sheetmark.case.exceptions import TERMS
from tests.helpers.wild_requests import (
    ENDPOINTS,
    WAYS,
    described,
    request_endpoint,
)


@pytest.fixture
def endpoints(own_folder: Path) -> Mapping[str, Any]:
    return described(own_folder / "practice.toml")


def test_no_endpoint_is_left_out(endpoints: Mapping[str, Any]) -> None:
    assert list(endpoints) == ENDPOINTS


@pytest.mark.parametrize(("endpoint", "mode"), WAYS)
def test_no_request_makes_the_desk_fail(
    endpoints: Mapping[str, Any], endpoint: str, mode: GenerationMode
) -> None:
    request_endpoint(endpoints, endpoint, mode, 12)


ISOS = st.sampled_from([f"{q}{p}" for q in range(1, 9) for p in range(1, 9)])
RUNS = st.builds("{}-{}".format, ISOS, ISOS)
NUMBERS = st.sampled_from(["0", "1.5", "-3", "30", "1e9", "nan", "x", ""])
SPOKEN = st.builds("{} {} {}".format, st.one_of(ISOS, RUNS), st.sampled_from(TERMS), NUMBERS)
QUERIES = st.fixed_dictionaries(
    {"treat": st.lists(ISOS, max_size=4)},
    optional={
        "for": st.sampled_from([*PROCEDURES, "nothing"]),
        "expose": st.lists(st.one_of(ISOS, RUNS), max_size=3),
        "more": st.sampled_from([0, 1, 15, 16, -1]),
        "with": st.lists(st.one_of(SPOKEN, ISOS), max_size=4),
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


def test_odd_cases_are_planned_or_refused_in_plain_text(client: TestClient) -> None:
    planned, refused = [], []

    @settings(
        max_examples=100, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck)
    )
    @given(query=QUERIES)
    def ask(query: dict[str, Any]) -> None:
        answer = client.get("/api/case", params=query)
        assert answer.status_code in (200, 422), answer.text
        data = answer.json()
        assert all(line and "\n" not in line for line in data["problems"])
        assert answer.status_code == 200 or data["problems"]
        named = {key: value for key, value in query.items() if key != "view"}
        pdf = client.get("/api/case.pdf", params=named)
        if answer.status_code == 200 and data["sheet"]:
            planned.append(query)
            # Only what the font cannot write still stands between a sheet and its page.
            assert pdf.status_code == 200 or "glyph" in pdf.text
        elif query.get("view") != "inside":
            refused.append(query)
            assert pdf.status_code == 422

    ask()
    assert planned
    assert refused
