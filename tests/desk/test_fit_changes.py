"""The picture fit where something changes under it: taken back, lost, or while the desk works."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from sheetmark.anatomy.arch_model import data_folder
from sheetmark.base.user_folder import models_folder
from tests.helpers.browser import hold, let_draw
from tests.helpers.fit_view import (
    RULER,
    click,
    enter_length,
    next_point,
    open_picture,
    picked_of,
    press_fit,
    shown_points,
)
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.usefixtures("few_mouths")


def pick_all(page: Page) -> None:
    for point in RULER:
        click(page, point)
    enter_length(page)
    for ends in picked_of().values():
        for point in ends.values():
            click(page, point)


def test_the_jaw_that_is_taken_back_is_the_one_that_is_chosen(page: Page, desk: Running) -> None:
    open_picture(page, desk)
    page.get_by_label("lower").check()
    page.get_by_role("button", name="Undo").click()
    assert page.get_by_label("upper").is_checked()
    assert not page.get_by_label("lower").is_checked()
    for point in RULER:
        click(page, point)
    assert next_point(page) == "Now: 17, mesial"


def test_a_skip_that_is_taken_back_gives_the_points_back(page: Page, desk: Running) -> None:
    open_picture(page, desk)
    for point in (*RULER, (300, 900)):
        click(page, point)
    before = shown_points(page)
    assert before["17"][1] == "pick"
    page.get_by_role("button", name="Skip this tooth").click()
    assert set(shown_points(page)) == {"Length"}
    page.get_by_role("button", name="Undo").click()
    assert shown_points(page) == before
    assert next_point(page) == "Now: 17, distal"


def test_a_base_that_is_no_longer_there_is_left_for_the_usual_one(
    page: Page, desk: Running
) -> None:
    models_folder().mkdir()
    text = (data_folder() / "adult-large.toml").read_text("utf-8")
    ours = models_folder() / "ours.toml"
    ours.write_text(text.replace('name = "adult-large"', 'name = "ours"', 1), "utf-8")
    open_picture(page, desk)
    page.get_by_label("Start from").select_option("ours")
    click(page, RULER[0])
    ours.unlink()
    page.get_by_role("link", name="Case").click()
    page.locator(".photo").wait_for(state="detached")
    page.get_by_role("link", name="Own arch").click()
    page.locator(".photo-marks path").first.wait_for()
    assert page.get_by_label("Start from").input_value() == "adult-mean"
    assert shown_points(page)["Length"][0] != "pick"


def test_a_fit_of_points_that_have_changed_meanwhile_is_not_shown(
    page: Page, desk: Running
) -> None:
    held = hold(page, "**/api/arch/fit")
    open_picture(page, desk)
    pick_all(page)
    page.get_by_role("button", name="Fit the arch").click()
    page.wait_for_function("document.querySelector('.fit-result').ariaBusy === 'true'")
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("The picked points have changed. Fit the arch again.").wait_for()
    with page.expect_event("requestfinished", lambda request: "/fit" in request.url):
        held[0].continue_()
    let_draw(page)
    assert page.locator(".worst").count() == 0
    assert page.get_by_text("The picked points have changed. Fit the arch again.").is_visible()
    assert page.locator(".fit-result").get_attribute("aria-busy") is None
    page.unroute("**/api/arch/fit")
    press_fit(page)
    assert page.locator(".worst").is_visible()
