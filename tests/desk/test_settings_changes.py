"""The settings view where it is hurried, or left half typed."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from tests.helpers.browser import hold, let_draw, wait_until
from tests.helpers.settings_view import field, press_save, unfold, wait_for_state

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_a_second_press_while_it_is_saved_asks_nothing(view: Page, file: Path) -> None:
    held = hold(view, "**/api/practice", wanted=lambda request: request.method == "POST")
    field(view, "name").fill("Quay")
    press_save(view)
    press_save(view)
    view.get_by_role("button", name="Undo changes").click()
    wait_until(view, lambda: len(held) > 0)
    let_draw(view)
    assert len(held) == 1
    held[0].continue_()
    wait_for_state(view, "Saved to practice.toml.")
    let_draw(view)
    assert view.locator(".to-correct").count() == 0
    assert field(view, "name").input_value() == "Quay"
    # And it may be saved again.
    field(view, "name").fill("Pier")
    press_save(view)
    wait_until(view, lambda: len(held) > 1)
    held[1].continue_()
    wait_for_state(view, "Saved to practice.toml.")
    assert len(held) == 2
    assert tomllib.loads(file.read_text("utf-8"))["name"] == "Pier"


def test_the_focus_stays_in_the_field_that_enter_saves(view: Page, file: Path) -> None:
    for key in ("name", "tray[2].retired"):
        unfold(view)
        if key == "name":
            field(view, key).fill("Quay")
        else:
            field(view, key).check()
        field(view, key).press("Enter")
        wait_for_state(view, "Saved to practice.toml.")
        assert view.evaluate("document.activeElement.id") == f"f-{key}"
        assert field(view, key).is_visible()
    data = tomllib.loads(file.read_text("utf-8"))
    assert data["name"] == "Quay"
    assert data["tray"][1]["retired"] is True


def test_bars_that_were_typed_are_kept_when_the_rest_is_saved(view: Page, file: Path) -> None:
    field(view, "name").fill("Quay")
    field(view, "printer-name").fill("attic")
    field(view, "printer-x").fill("149,4")
    field(view, "printer-y").fill("150")
    store = view.get_by_role("button", name="Store the correction")
    store.click()
    view.locator(".printer .problems", has_text="save or undo your changes above first").wait_for()
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert field(view, "printer-name").input_value() == "attic"
    assert field(view, "printer-x").input_value() == "149,4"
    store.click()
    view.locator("#stored", has_text="Printer attic").wait_for()
    assert field(view, "printer-x").input_value() == ""
    assert tomllib.loads(file.read_text("utf-8"))["printers"][-1]["name"] == "attic"
