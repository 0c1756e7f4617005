"""Printing the day from the page: the PDF goes to the print dialog, and can be given up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.helpers.browser import hold, wait_until
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

# Headless browsers have no print dialog: each frame tells the page what it would have printed.
NO_DIALOG = "window.print = () => { (window.top.printed ??= []).push(location.href); }"


@pytest.fixture(scope="session")
def browser(browser_with_viewer: Browser) -> Browser:
    return browser_with_viewer


def test_the_days_pdf_is_printed_or_cancelled(page: Page, desk: Running) -> None:
    page.add_init_script(NO_DIALOG)
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"teeth\n16\n"}
    )
    button = page.get_by_role("button", name="Print the day")
    button.click()
    wait_until(page, lambda: bool(page.evaluate("window.printed?.length")))
    assert page.evaluate("window.printed[0]").startswith("blob:"), "the PDF, not the page"
    held = hold(page, "**/api/day.pdf*")
    gone: list[str] = []
    page.on("requestfailed", lambda request: gone.append(request.url))
    button.click()
    page.get_by_text("Making the PDF of the day …").wait_for()
    page.get_by_role("button", name="Cancel").click()
    wait_until(page, lambda: len(gone) == 1)
    button.click()
    wait_until(page, lambda: len(held) == 2)
    page.get_by_role("link", name="Sets").click()
    wait_until(page, lambda: len(gone) == 2)
    assert page.evaluate("window.printed.length") == 1
