"""Today's list on the page: typed row by row, or added to from cases."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tests.helpers.case_view import open_case, wait_for_sheet
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_a_list_is_typed_by_keyboard_and_planned(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    page.goto(f"{desk.url}#/day")
    page.get_by_role("button", name="Add a row").press("Enter")
    page.keyboard.type("8:30")
    page.keyboard.press("Tab")
    page.keyboard.type("16, 15")
    page.get_by_role("button", name="Add a row").press("Enter")
    page.keyboard.type("9:00")
    page.get_by_label("Teeth, row 2").fill("36")
    page.get_by_label("For, row 2").select_option("root-canal")
    page.get_by_label("Reference, row 2").fill('room "2", 9 h')
    axe(page)
    page.get_by_role("button", name="Plan this list").press("Enter")
    page.locator("#day-summary", has_text="2 cases can be printed").wait_for()
    table = page.locator(".day-result table").first.inner_text()
    assert "16, 15" in table
    assert 'room "2", 9 h' in table
    assert "root canal" in table
    page.reload()
    assert page.get_by_label("Teeth, row 2").input_value() == "36", "kept in this tab"
    page.get_by_role("button", name="Remove row 1").press("Enter")
    assert page.get_by_label("Teeth, row 1").input_value() == "36"
    page.get_by_role("button", name="Empty this list").click()
    assert page.locator(".today li").count() == 0


def test_a_case_is_added_to_the_list(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=85&age=7&sheet=127x127")
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")
    page.get_by_role("button", name="Add to today's list").click()
    page.get_by_text("Added as row 1").first.wait_for()
    page.locator(".to-list").get_by_role("link", name="Day's list").click()
    row = page.locator(".today li")
    row.wait_for()
    assert page.get_by_label("Teeth, row 1").input_value() == "85"
    assert page.get_by_label("Age, row 1").input_value() == "7"
    assert "sheet 127" in row.inner_text(), "what is not typed stays in sight"
    page.get_by_role("button", name="Plan this list").click()
    page.locator("#day-summary", has_text="1 case can be printed").wait_for()
    assert "127 x 127 mm" in page.locator(".day-result table").first.inner_text()


def test_a_case_that_no_list_can_hold_is_refused_in_plain_text(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26&more=1")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_role("button", name="Add to today's list").click()
    page.get_by_role("alert").get_by_text("more: a day's list has no column").wait_for()
