"""The page as a whole: light and dark, its icons, its manifest."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from sheetmark.desk.server.pages import page_address
from tests.helpers.browser import kept_context, new_page
from tests.helpers.case_view import open_case
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

MANIFEST = page_address("icons/manifest.webmanifest")


def test_dark_is_as_the_system_wishes(page: Page, desk: Running) -> None:
    open_case(page, desk)
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(ground) == "rgb(18, 24, 26)"


@pytest.mark.parametrize("view", ["day", "arch", "settings"])
def test_axe_finds_nothing_in_the_dark(
    page: Page, desk: Running, axe: Callable[[Page], None], view: str
) -> None:
    page.emulate_media(color_scheme="dark")
    page.goto(f"{desk.url}#/{view}")
    page.wait_for_selector("main h1")
    axe(page)


def test_a_view_that_does_not_come_says_what_to_do(page: Page, desk: Running) -> None:
    """As when the desk was closed, or another version of it was opened since."""
    open_case(page, desk)
    page.route("**/day/view.js", lambda route: route.fulfill(status=422))
    page.get_by_role("link", name="Day's list").click()
    page.locator(".problems", has_text="This view cannot be loaded").wait_for()


def test_the_manifest_names_icons_of_their_stated_sizes(client: TestClient) -> None:
    assert f'href="{MANIFEST}"' in client.get("/").text
    answer = client.get(MANIFEST)
    assert answer.headers["content-type"] == "application/manifest+json"
    icons = json.loads(answer.text)["icons"]
    assert [icon["sizes"] for icon in icons] == ["any", "192x192", "512x512"]
    for icon in icons:
        found = client.get(page_address(f"icons/{icon['src']}"))
        assert found.headers["content-type"] == icon["type"]
        if icon["sizes"] != "any":
            width, height = struct.unpack(">II", found.content[16:24])
            assert f"{width}x{height}" == icon["sizes"]


def test_a_page_knows_nothing_of_the_pages_before_it(browser: Browser, desk: Running) -> None:
    """Though one context of the browser is kept for all tests."""
    context = kept_context(browser, desk.url)
    for _ in range(2):
        with new_page(context, desk.url) as page:
            open_case(page, desk)
            kept = "[localStorage.getItem('a'), sessionStorage.getItem('a'), document.cookie]"
            assert page.evaluate(kept) == [None, None, ""]
            page.evaluate("localStorage.a = sessionStorage.a = '1'; document.cookie = 'a=1'")
        assert len(context.pages) == 1
