"""A list on the page as a practice system exports it: read, taught, put right, saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient

from sheetmark.anatomy.teeth import read, read_list
from sheetmark.day.list import read_day
from sheetmark.day.rows import plan_row
from sheetmark.jobs.day_rows import address_of, list_file, row_of
from sheetmark.plan.choices import case_with, settings_with
from sheetmark.practice.file.check import read_practice
from sheetmark.practice.settings import Practice
from tests.helpers.paths import ROOT
from tests.helpers.running_desk import TOKEN, Running

if TYPE_CHECKING:
    from playwright.sync_api import Page

LISTS = ROOT / "examples" / "lists"
OWN = "FDI;Was;Patient\n16;SKF;Beispiel\n26;Krone;Muster\n"
HEADERS = {"X-Sheetmark-Token": TOKEN}


def post_list(client: TestClient, content: bytes, name: str, path: str, **more: Any) -> Any:
    headers = {"Content-Type": "application/octet-stream"}
    return client.post(path, params={"name": name, **more}, content=content, headers=headers)


# ---- the endpoints ----


@pytest.mark.parametrize(("name", "cases"), [("tagesliste.csv", 5), ("agenda.csv", 4)])
def test_an_export_is_read_on_the_page_without_a_name(
    client: TestClient, name: str, cases: int
) -> None:
    answer = post_list(client, (LISTS / name).read_bytes(), name, "/api/day")
    day = answer.json()
    assert (day["cases"], day["left_out"], day["day"]) == (cases, 0, "2026-11-26")
    assert any(note.startswith("columns not read: ") for note in day["notes"])
    for word in ("Beispiel", "Muster", "Exemple", "1984", "Angst"):
        assert word not in answer.text


def test_headings_are_taught_and_kept(client: TestClient, own_folder: Path) -> None:
    content = OWN.encode()
    refused = post_list(client, content, "list.csv", "/api/day")
    assert "map the one that holds the teeth" in refused.json()["problems"][0]
    read = post_list(client, content, "list.csv", "/api/day/headings").json()
    assert {row["heading"]: row["column"] for row in read["headings"]} == {
        "FDI": "ignored", "Was": "ignored", "Patient": "ignored"
    }  # fmt: skip
    more = {
        "headings": [
            {"heading": "FDI", "column": "teeth"},
            {"heading": "Was", "column": "procedure"},
        ],
        "procedures": [{"word": "SKF", "means": "restoration"}],
    }
    assert client.post("/api/day/teach", json=more).status_code == 200
    day = post_list(client, content, "list.csv", "/api/day").json()
    assert [row["procedure"] for row in day["rows"]] == ["restoration", "crown"]
    practice = read_practice(own_folder / "practice.toml").practice
    assert [known.heading for known in practice.list_headings] == ["FDI", "Was"]
    again = {"headings": [{"heading": "fdi", "column": "ignored"}]}
    client.post("/api/day/teach", json=again)
    practice = read_practice(own_folder / "practice.toml").practice
    assert [known.column for known in practice.list_headings] == ["ignored", "procedure"]


ROWS = [
    {"teeth": "16"},
    {"teeth": "46 45", "procedure": "Füllung", "exceptions": "47 missing"},
    {"teeth": "24", "procedure": "cervical", "exceptions": "24 facial 1,5", "sheet": "152 nitrile"},
    {"teeth": "75", "age": "6", "sheet": "127", "reference": "7"},
    {"teeth": "UL6", "notation": "palmer", "exceptions": "UL5 missing", "access": "tight"},
    {"teeth": "16", "arch": "adult-male", "measure": "row 14-17 35,2"},
]


@pytest.mark.parametrize("cells", ROWS, ids=lambda cells: cells["teeth"])
@pytest.mark.parametrize("notation", ["iso", "universal"])
def test_a_row_opens_as_a_case_and_comes_back(cells: dict[str, str], notation: Any) -> None:
    """The same plan from the row, from the case, and from the row that the case becomes."""
    practice = Practice(notation=notation)
    cells = {"notation": "iso", **cells}
    content = list_file([cells], None, practice)
    (row,) = read_day(content, "list", "csv").rows
    planned = plan_row(row, practice).plan
    address: dict[str, Any] = dict(address_of(cells, practice))
    treat = [address.pop("treat")]
    choices = {
        name: [value] if name in ("with", "measure") else int(value) if name == "age" else value
        for name, value in address.items()
    }
    chosen = settings_with(practice, choices)
    case = case_with(tuple(read_list(treat, "iso")), choices, "iso", chosen.notation)
    assert case.treat == planned.case.treat
    assert (case.procedure, case.states) == (planned.case.procedure, planned.case.states)
    back, lost = row_of(case, choices, chosen)
    assert lost == ()
    assert address_of(back, practice) == address_of(cells, practice)
    (again,) = read_day(list_file([back], None, practice), "list", "csv").rows
    replanned = plan_row(again, practice).plan
    assert replanned.holes == planned.holes
    assert replanned.sheet == planned.sheet
    assert replanned.case.notation == planned.case.notation
    assert replanned.practice.material == planned.practice.material


def test_what_no_column_holds_is_named() -> None:
    choices: dict[str, Any] = {"more": 1, "shift": "none", "for": "crown", "expose": []}
    case = case_with((read("16", "iso"),), choices, "iso")
    _, lost = row_of(case, choices, Practice())
    assert lost == ("more", "shift")


def test_a_changed_list_is_saved_as_one_that_opens_again(client: TestClient) -> None:
    rows = [{"time": "8:30", "teeth": "16", "exceptions": "13 facial 1,5"}, {"teeth": "26"}]
    answer = client.post("/api/day/list.csv", json={"rows": rows, "day": "2026-11-26"})
    assert answer.content.startswith(b"\xef\xbb\xbfdate,time,teeth,exceptions\r\n")
    day = read_day(answer.content, "list", "csv")
    assert [dict(row.cells) for row in day.rows] == rows
    assert str(day.day) == "2026-11-26"
    wrong = client.post("/api/day/list.csv", json={"rows": [{"name": "x"}]})
    assert "column 'name': not known" in wrong.json()["problems"][0]


# ---- the page ----


def opened(page: Page, desk: Running, content: bytes, name: str = "list.csv") -> None:
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").set_input_files(
        {"name": name, "mimeType": "text/csv", "buffer": content}
    )
    page.locator("#day-summary, .problems").first.wait_for()


def test_columns_are_taught_on_the_page(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    opened(page, desk, OWN.encode())
    page.get_by_label("Read FDI as").select_option("teeth")
    page.get_by_label("Read Was as").select_option("procedure")
    axe(page)
    page.get_by_role("button", name="Keep for all lists").click()
    page.get_by_text("1 case can be printed. 1 row is left out").first.wait_for()
    page.get_by_text("Columns and words of this list").click()
    page.get_by_label("SKF means").select_option("restoration")
    page.get_by_role("button", name="Keep for all lists").click()
    page.get_by_text("2 cases can be printed.").first.wait_for()
    assert "Beispiel" not in page.content()


def test_a_row_is_put_right_and_the_list_saved(
    page: Page, desk: Running, tmp_path: Path, axe: Callable[[Page], None]
) -> None:
    opened(page, desk, b"time;teeth;age\n8:30;19;old\n9:00;26;\n")
    page.get_by_role("button", name="Change row 2").press("Enter")
    form = page.get_by_role("form", name="Row 2")
    assert form.get_by_label("teeth").get_attribute("aria-invalid") == "true"
    assert form.get_by_label("age").get_attribute("aria-invalid") == "true"
    axe(page)
    form.get_by_label("teeth").fill("16")
    form.get_by_label("age").fill("")
    form.get_by_label("age").press("Enter")
    page.get_by_text("2 cases can be printed. No row is left out.").first.wait_for()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the changed list").click()
    waiting.value.save_as(tmp_path / "list.csv")
    day = read_day((tmp_path / "list.csv").read_bytes(), "list", "csv")
    assert [row.cells["teeth"] for row in day.rows] == ["16", "26"]


def test_a_row_opens_as_a_case_is_put_right_and_goes_back(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    opened(page, desk, b"time;teeth;procedure\n8:30;16;filling\n9:00;26;\n")
    page.get_by_role("button", name="Change row 2").click()
    page.get_by_role("link", name="Open row 2 as a case").click()
    page.get_by_text("Row 2 of list.csv").wait_for()
    axe(page)
    assert "treat=16" in page.url
    page.evaluate("location.hash = location.hash + '&for=crown&with=15%20missing'")
    page.get_by_text("Row 2 of list.csv").wait_for()
    page.get_by_role("button", name="Put it back").click()
    page.get_by_text("2 cases can be printed.").first.wait_for()
    first = page.locator("tbody").first.locator("tr").first.inner_text()
    assert "8:30" in first
    assert "16" in first
    assert "crown" in first
    page.get_by_role("link", name="Case").click()
    page.locator("#case-title").wait_for()
    assert page.locator(".case-bar").count() == 0
