"""A case as a row of the day's list: read again, it is the same case."""

from __future__ import annotations

import csv
from io import StringIO
from pathlib import Path

import pytest
from starlette.testclient import TestClient

CASES = [
    "treat=26",
    "treat=26&treat=25&for=crown&age=40&reference=room 2; 9 h",
    "treat=24&with=24-26 bridge&with=23 facial 1.5&access=tight",
    "treat=85&age=7&sheet=127x127&material=nitrile",
    "treat=36&notation=universal&with=35 missing gap 4&arch=adult-large",
    "treat=16&measure=row 14-17 35.2",
]


def row_of(client: TestClient, query: str) -> dict[str, str]:
    answer = client.get(f"/api/case.row?{query}")
    assert answer.status_code == 200, answer.text
    cells: dict[str, str] = answer.json()
    return cells


@pytest.mark.parametrize("query", CASES)
@pytest.mark.parametrize("notation", ["iso", "universal"])
def test_a_row_is_the_same_case_again(
    client: TestClient, own_folder: Path, query: str, notation: str
) -> None:
    (own_folder / "practice.toml").write_text(
        f'format = "sheetmark-practice/1"\nnotation = "{notation}"\n'
    )
    cells = row_of(client, query)
    text = StringIO()
    writer = csv.DictWriter(text, list(cells))
    writer.writeheader()
    writer.writerow(cells)
    day = client.post("/api/day?name=today.csv", content=text.getvalue().encode()).json()
    assert day["left_out"] == 0, day["rows"]
    (row,) = day["rows"]
    sheet = client.get(f"/api/case?{query}").json()["sheet"]
    assert row["teeth"] in sheet["title"]
    clamps = [clamp["clamp"] for clamp in sheet["clamps"]][: len(row["clamps"])]
    assert [clamp["clamp"] for clamp in row["clamps"]] == clamps
    assert row["reference"] == cells.get("reference", "")
    assert row["sheet"].removesuffix(", nitrile").removesuffix(", latex") in sheet["sheet"]


def test_what_has_no_column_is_refused_in_plain_text(client: TestClient) -> None:
    answer = client.get("/api/case.row?treat=26&more=1&shift=none")
    assert answer.status_code == 422
    (problem,) = answer.json()["problems"]
    assert problem == ("more, shift: a day's list has no column for this; print the case by itself")
    assert client.get("/api/case.row?treat=16&treat=36").status_code == 422
