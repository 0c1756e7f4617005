"""By finger: what is pressed on the views of the day, the sets and the settings is large enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LEAST_PX = 44  # WCAG 2.2, 2.5.5
# What can be pressed and is too small or off the screen; a tick box is pressed by its label too.
TOO_SMALL = """(least) => [
  ...document.querySelectorAll("a, button, select, summary, input, label:has(> input)"),
].filter((node) => {
  if (!node.checkVisibility() || node.matches(".skip, label > input")) return false;
  const { width, height, left, right } = node.getBoundingClientRect();
  const off = !node.closest(".wide") && (left < 0 || right > innerWidth);
  return off || height < least - 0.5 || width < least - 0.5;
}).map((node) => node.outerHTML.slice(0, 120))"""
LIST = b"time;teeth;age\n8:30;19;old\n9:00;26;\n"


def test_all_that_is_pressed_is_large_enough_for_a_finger(browser: Browser, desk: Running) -> None:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": LIST}
    )
    page.get_by_role("button", name="Change row 2").tap()
    page.get_by_role("button", name="Add a row").tap()
    for view, heading in (("", "The day's list"), ("sets", "Sets and"), ("settings", "Settings")):
        if view:
            page.goto(f"{desk.url}#/{view}")
        page.get_by_role("heading", name=heading).wait_for()
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        assert page.locator("main button").count() > 5
        assert page.evaluate(TOO_SMALL, LEAST_PX) == [], heading
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()
