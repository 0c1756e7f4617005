"""The day's list where another file is opened while the desk still works on the first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.helpers.browser import hold, let_draw
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import FilePayload, Page


def test_the_list_that_was_opened_last_is_shown(page: Page, desk: Running) -> None:
    held = hold(page, "**/api/day?name=first.csv*")
    page.goto(f"{desk.url}#/day")
    chooser = page.get_by_label("Open a day's list")
    for name, content in (("first.csv", b"teeth\n16\n26\n"), ("second.csv", b"teeth\n36\n")):
        file: FilePayload = {"name": name, "mimeType": "text/csv", "buffer": content}
        chooser.set_input_files(file)
        page.get_by_text(name).first.wait_for()
    page.get_by_text("1 case can be printed.").first.wait_for()
    with page.expect_event("requestfinished", lambda request: "first.csv" in request.url):
        held[0].continue_()
    let_draw(page)
    assert page.locator("caption").first.inner_text() == "second.csv, 1 row"
    assert page.locator("tbody").first.locator("tr").count() == 1
