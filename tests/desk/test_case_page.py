"""The case view in a real browser: from the first click to the PDF that comes out."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tests.desk.conftest import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_axe_finds_nothing_on_a_case(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    page.goto(desk.url)
    page.wait_for_selector(".chart .tooth")
    axe(page)
    page.locator('[data-tooth="26"]').click()
    page.wait_for_selector(".picture")
    axe(page)
    page.locator('[data-tooth="25"]').click(button="right")
    page.wait_for_selector("dialog[open]")
    axe(page)
