"""The fields for callipers in the case view: they are there at once, and the holes follow them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient

from tests.helpers.case_view import download, open_case, wait_for_exception, wait_for_sheet
from tests.helpers.running_desk import Running

pytestmark = pytest.mark.usefixtures("few_mouths")

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROW = "Row 14 to 17"


def sheet_of(client: TestClient, **choices: Any) -> dict[str, object]:
    answer = client.get("/api/case", params={"treat": ["16"], **choices}).json()
    sheet: dict[str, object] = answer["sheet"] or {"problems": answer["problems"]}
    return sheet


def fields_of(client: TestClient, **choices: Any) -> list[str]:
    callipers = sheet_of(client, **choices)["callipers"]
    assert isinstance(callipers, dict)
    return [field["measure"] for field in callipers["fields"]]


def test_each_row_gets_the_measures_that_help_it(client: TestClient) -> None:
    assert fields_of(client) == ["row 14-17"]
    assert fields_of(client, treat=["11"]) == ["13-23", "16-26", "upper depth"]
    full = fields_of(client, treat=["46"], **{"for": "full-arch"})
    assert full == ["43-33", "46-36", "lower depth", "row 44-47", "row 34-37"]
    assert fields_of(client, treat=["54"], age=5) == ["row 52-55"]
    assert fields_of(client, treat=["51"], age=5) == ["53-63"]


def test_what_is_measured_reaches_plan_and_files(client: TestClient) -> None:
    choices = {"treat": ["16"], "measure": ["row 14-17 33", "16 10"]}
    plan = json.loads(client.get("/api/case.json", params=choices).text)
    assert plan["arch"]["model"] == "adult-mean, measured"
    assert plan["arch"]["measured"] == ["row 14-17 33", "16 10"]
    text = client.get("/api/case.toml", params=choices).text
    assert 'measure = ["row 14-17 33", "16 10"]' in text
    callipers = sheet_of(client, measure=choices["measure"])["callipers"]
    assert isinstance(callipers, dict)
    assert float(callipers["fields"][0]["found"]) == pytest.approx(33.2, abs=0.15)


@pytest.mark.parametrize("measure", ["row 14-17", "upper canines 60", "row 14-17 ten", "99 10"])
def test_a_measure_that_cannot_be_is_a_problem_in_one_line(
    client: TestClient, measure: str
) -> None:
    answer = client.get("/api/case", params={"treat": ["16"], "measure": [measure]})
    problems = answer.json()["problems"]
    assert len(problems) == 1
    assert "\n" not in problems[0]


def test_the_holes_follow_what_is_typed(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=16")
    wait_for_sheet(page, "16 (ISO)")
    # Nothing needs to be opened first.
    field = page.get_by_label(ROW)
    assert field.is_visible()
    assert page.locator(".callipers svg").is_visible()
    assert page.locator(".callipers .hint", has_text="Average 34.4").count() == 1
    field.fill("33")
    wait_for_exception(page, "Measured: row 14-17 33 mm")
    page.locator(".callipers .hint", has_text="On this arch 33.").wait_for()
    assert "measure=row%2014-17%2033" in page.url
    plan = json.loads(download(page, "JSON"))
    assert plan["arch"]["measured"] == ["row 14-17 33"]
    assert page.get_by_label(ROW).input_value() == "33"
    page.get_by_role("button", name="Remove: Measured: row 14-17 33 mm").click()
    page.locator(".callipers .hint", has_text="Average 34.4").wait_for()
    assert page.get_by_label(ROW).input_value() == ""


def test_widths_say_where_they_were_taken(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=11")
    wait_for_sheet(page, "11 (ISO)")
    page.get_by_label("1 Across the canines").fill("36")
    wait_for_exception(page, "Measured: 13-23 36 mm")
    page.get_by_label("Widths across are taken at").select_option("cusp tips")
    wait_for_exception(page, "Measured: 13-23 cusp tips 36 mm")
    page.get_by_label("3 Depth").fill("28.5")
    wait_for_exception(page, "Measured: upper depth 28.5 mm")
    assert page.get_by_label("Widths across are taken at").input_value() == "cusp tips"
    page.reload()
    wait_for_sheet(page, "11 (ISO)")
    assert page.get_by_label("1 Across the canines").input_value() == "36"
    assert page.get_by_label("Widths across are taken at").input_value() == "cusp tips"


def test_a_wrong_figure_can_be_corrected_where_it_was_typed(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=16")
    wait_for_sheet(page, "16 (ISO)")
    page.get_by_label(ROW).fill("99")
    page.get_by_text("no mouth has that").wait_for()
    page.get_by_label(ROW).fill("35")
    wait_for_sheet(page, "16 (ISO)")
    assert page.locator(".problems").count() == 0
