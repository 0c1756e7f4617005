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


def csv_of(cells: dict[str, str]) -> bytes:
    text = StringIO()
    writer = csv.DictWriter(text, list(cells))
    writer.writeheader()
    writer.writerow(cells)
    return text.getvalue().encode()


@pytest.mark.parametrize("query", CASES)
@pytest.mark.parametrize("notation", ["iso", "universal"])
def test_a_row_is_the_same_case_again(
    client: TestClient, own_folder: Path, query: str, notation: str
) -> None:
    (own_folder / "practice.toml").write_text(
        f'format = "sheetmark-practice/1"\nnotation = "{notation}"\n'
    )
    cells = row_of(client, query)
    day = client.post("/api/day?name=today.csv", content=csv_of(cells)).json()
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


STOCK = """format = "sheetmark-practice/1"
[[sheets]]
width_mm = 152
height_mm = 152
[[sheets]]
width_mm = 127
height_mm = 127
material = "nitrile"
"""


@pytest.mark.parametrize(
    ("query", "cell"),
    [
        ("treat=16", None),
        ("treat=16&sheet=127x127", "127"),  # nitrile, as the clinic's own of that size
        ("treat=16&sheet=127x127&material=latex", "127 latex"),
        ("treat=16&material=nitrile", "nitrile"),  # the clinic's of that material: 127
        ("treat=16&sheet=152x152", "152"),  # chosen, though it is the usual here
        ("treat=16&sheet=150x130", "150x130"),
    ],
)
def test_a_row_has_of_the_sheet_what_was_chosen(
    client: TestClient, own_folder: Path, query: str, cell: str | None
) -> None:
    """It says no more, so another clinic's stock, or this one's next year's, is used as it is."""
    (own_folder / "practice.toml").write_text(STOCK)
    cells = row_of(client, query)
    assert cells.get("sheet") == cell
    day = client.post("/api/day?name=d.csv", content=csv_of(cells)).json()
    sheet = client.get(f"/api/case?{query}").json()["sheet"]
    assert day["rows"][0]["sheet"] == sheet["sheet"]


@pytest.mark.parametrize(
    "query", [*CASES, "treat=26&notation=palmer&sheet=127x127&with=25 missing"]
)
def test_a_row_that_was_copied_and_one_that_was_edited_read_alike(
    client: TestClient, query: str
) -> None:
    """From the case to a row, to the case that the page opens from it, and back into its row."""
    cells = row_of(client, query)
    edited = client.get(f"/api/day/row?{query}").json()
    assert edited == {"cells": cells, "lost": []}
    day = client.post("/api/day?name=d.csv", content=csv_of(cells)).json()
    again = client.get("/api/day/row", params=day["rows"][0]["address"]).json()
    assert again == edited
