"""The day's list on the page, typed row by row or added to from cases."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tests.helpers.browser import wait_until
from tests.helpers.case_view import open_case, wait_for_sheet
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Dialog, Page

FOCUSED = "document.activeElement.id"


def type_row(page: Page, *cells: str) -> None:
    """Press the focused button that adds a row, and fill in its fields one after the other."""
    page.keyboard.press("Enter")
    wait_until(page, lambda: page.evaluate(FOCUSED) == "new-time")
    for place, cell in enumerate(cells):
        if place:
            page.keyboard.press("Tab")
        page.keyboard.type(cell)
    page.keyboard.press("Enter")
    wait_until(page, lambda: page.evaluate(FOCUSED) == "add-row")


def test_a_list_is_typed_by_keyboard_alone(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    page.goto(f"{desk.url}#/day")
    page.get_by_role("button", name="Add a row").focus()
    type_row(page, "8:30", "16, 15")
    type_row(page, "9:00", "36", "Root", "", "", 'room "2", 9 h')
    page.get_by_text("2 cases can be printed. No row is left out.").first.wait_for()
    table = page.get_by_role("region", name="Rows").inner_text()
    assert "16, 15" in table
    assert "root canal" in table
    assert 'room "2", 9 h' in table
    page.reload()
    page.get_by_text("2 cases can be printed.").first.wait_for()
    page.get_by_role("button", name="Change row 2").press("Enter")
    axe(page)
    page.get_by_role("button", name="Remove this row").press("Enter")
    page.get_by_text("1 case can be printed.").first.wait_for()
    assert page.evaluate(FOCUSED) == "add-row"
    page.get_by_role("button", name="Change row 2").press("Enter")
    page.get_by_role("button", name="Remove this row").press("Enter")
    page.get_by_text("No list is open.").wait_for()


def test_cases_join_the_list_that_is_open(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=85&age=7&sheet=127x127")
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")
    page.get_by_role("button", name="Add to today's list").click()
    page.get_by_text("Added to today.csv as row 2").first.wait_for()
    page.locator(".to-list").get_by_role("link", name="Day's list").click()
    rows = page.get_by_role("region", name="Rows")
    rows.wait_for()
    assert "127 x 127 mm" in rows.inner_text()
    page.get_by_role("button", name="Change row 2").click()
    assert page.get_by_label("Age", exact=True).input_value() == "7"
    assert page.get_by_label("Sheet", exact=True).is_visible(), "what is not usual is in sight"
    questions: list[str] = []

    def accept(dialog: Dialog) -> None:
        questions.append(dialog.message)
        dialog.accept()

    page.on("dialog", accept)
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b'time;teeth\n8:30;16\n9:00;"36\n'}
    )
    page.get_by_text("1 case can be printed.").first.wait_for()
    assert len(questions) == 1, "a list that was typed is not replaced unasked"
    page.get_by_role("link", name="Case").click()
    page.get_by_role("button", name="Add to today's list").click()
    page.get_by_text("Added to list.csv as row 4").first.wait_for()
    page.get_by_role("link", name="Day's list").first.click()
    page.get_by_text("2 cases can be printed. 1 row is left out").first.wait_for()
    lost = page.locator("tr.notes", has_text="Left out.").inner_text()
    assert "teeth “unreadable”" in lost, "a row that was no CSV is still named"
    assert "row 3 of the file" in rows.inner_text()


def test_a_case_that_no_list_can_hold_is_refused_in_plain_text(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26&more=1")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_role("button", name="Add to today's list").click()
    page.get_by_role("alert").get_by_text("more: a day's list has no column").wait_for()


def test_on_a_telephone_what_is_read_and_pressed_is_in_sight(page: Page, desk: Running) -> None:
    width = 390
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"time;teeth;age\n8:30;19;old\n"}
    )
    page.get_by_role("button", name="Change row 2").click()
    shown = page.locator(".note p, .mend input, .mend select, form[aria-label] button").all()
    for box in (control.bounding_box() for control in shown if control.is_visible()):
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
