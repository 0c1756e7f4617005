"""The settings view in a browser, and the practice file that it shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.helpers.practice_files import EXAMPLE
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page


TEXT = EXAMPLE.read_text("utf-8")
# With remarks of the clinic's own.
OWN = TEXT.replace("margin_mm = 10\n", "margin_mm = 10 # as the tray needs\n").replace(
    'label = "molar winged"', 'label = "molar winged" # upper drawer'
)


def open_settings(page: Page, desk: Running) -> Page:
    """Open the settings view and wait for its form."""
    page.goto(f"{desk.url}#/settings")
    page.wait_for_selector(".save-bar")
    return page


def field(view: Page, key: str) -> Locator:
    """The control of a key of the practice file."""
    return view.locator(f'[id="f-{key}"]')


def press_save(view: Page) -> None:
    """Press the button that saves."""
    view.get_by_role("button", name="Save to practice.toml").click()


def wait_for_state(view: Page, wording: str) -> None:
    """Wait until the line beside the buttons says so."""
    view.locator(".state", has_text=wording).wait_for()


def unfold(view: Page) -> None:
    """Open everything that is folded away."""
    view.evaluate("document.querySelectorAll('details').forEach((fold) => (fold.open = true))")


def fold(view: Page) -> None:
    """Close everything that can be folded away."""
    view.evaluate("document.querySelectorAll('details').forEach((fold) => (fold.open = false))")


def tab_to(view: Page, target: Locator) -> None:
    """Reaches a control as a keyboard does, or fails."""
    for _ in range(150):
        if target.evaluate("(node) => node === document.activeElement"):
            return
        view.keyboard.press("Tab")
    pytest.fail("no Tab reaches it")
