"""Help beside the terms of the page."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from starlette.testclient import TestClient

from sheetmark.desk.server.pages import page_files
from sheetmark.jobs.glossary import terms
from tests.helpers.case_view import open_case, wait_for_sheet
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_the_page_gets_every_term(client: TestClient) -> None:
    shown = client.get("/api/glossary").json()
    assert {term["key"]: term["text"] for term in shown} == {
        key: term.text for key, term in terms().items()
    }


def test_every_term_that_the_page_explains_is_known() -> None:
    scripts = "\n".join(
        content.decode() for name, content in page_files().items() if name.endswith(".js")
    )
    explained = set(re.findall(r'(?:helpButton|termed)\((?:\w+\(\w+\), )?"([a-z-]+)"', scripts))
    for table in re.findall(r"const EXPLAINED = \{(.*?)\};", scripts, re.DOTALL):
        explained |= set(re.findall(r': "([a-z-]+)"', table))
    assert len(explained) > 20
    assert explained <= terms().keys()


def test_a_term_is_explained_and_the_focus_comes_back(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    button = page.get_by_role("button", name="What is this? Access")
    button.focus()
    page.keyboard.press("Enter")
    panel = page.get_by_role("dialog")
    panel.wait_for()
    assert "a wingless clamp is put first" in panel.inner_text()
    axe(page)
    page.keyboard.press("Escape")
    panel.wait_for(state="detached")
    assert button.evaluate("node => node === document.activeElement")
    page.get_by_role("button", name="What is this? 100 %").click()
    page.get_by_role("dialog").get_by_role("button", name="Close").click()
    panel.wait_for(state="detached")
