"""Sets, handouts and strain from the page: the command's own pages, progress, and its end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from sheetmark.cli.app import run
from sheetmark.desk.server import sets
from tests.helpers.browser import hold, wait_until
from tests.helpers.case_view import open_case, tooth, wait_for_sheet
from tests.helpers.readback import read_pdf
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page

TITLE = "26 (ISO) · upper left first molar · restoration"


def test_a_handout_is_that_of_the_command(client: TestClient, tmp_path: Path) -> None:
    made = tmp_path / "made.pdf"
    assert run(["handout", "numbering", "-o", str(made)]) == 0
    answer = client.get("/api/handout.pdf?name=numbering")
    assert answer.headers["content-disposition"] == 'inline; filename="numbering.pdf"'
    assert answer.content == made.read_bytes()
    refused = client.get("/api/handout.pdf?name=nothing")
    assert refused.status_code == 422
    assert "unknown handout" in refused.json()["problems"][0]
    assert "numbering" in [handout["name"] for handout in client.get("/api/handouts").json()]


def test_the_drawer_set_is_that_of_the_command(client: TestClient, tmp_path: Path) -> None:
    made = tmp_path / "made.pdf"
    assert run(["drawer", "-o", str(made)]) == 0
    assert client.get("/api/drawer.pdf").content == made.read_bytes()


def test_the_strain_is_that_of_the_case(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The figures themselves take half a minute: the command's tests measure them."""
    monkeypatch.setattr(sets, "strain_pdf", lambda plan: plan.command.encode())
    answer = client.get("/api/strain.pdf?treat=26&age=40")
    assert answer.headers["content-disposition"] == 'inline; filename="strain-26.pdf"'
    assert answer.text == "sheetmark overlay 26 --age 40"
    assert client.get("/api/strain.pdf").status_code == 422


def open_sets(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/sets")
    page.get_by_role("heading", name="Sets and handouts").wait_for()


def test_a_set_is_saved(page: Page, desk: Running, axe: Callable[[Page], None]) -> None:
    open_sets(page, desk)
    axe(page)
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save as PDF: Hole size").click()
    assert saved.value.suggested_filename == "hole-size.pdf"
    assert read_pdf(Path(saved.value.path()).read_bytes())


def test_work_over_a_second_shows_and_can_be_cancelled(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_sets(page, desk)
    held = hold(page, "**/api/drawer.pdf")
    gone: list[str] = []
    page.on("requestfailed", lambda request: gone.append(request.url))
    button = page.get_by_role("button", name="Save as PDF: Drawer set")
    button.click()
    page.get_by_text("Drawing: Drawer set …").wait_for()
    axe(page)
    page.get_by_role("button", name="Cancel").click()
    page.locator(".progress").wait_for(state="detached")
    wait_until(page, lambda: len(gone) == 1)
    # It may be made anew; leaving the view ends it as well.
    button.click()
    wait_until(page, lambda: len(held) == 2)
    page.get_by_role("link", name="Settings").click()
    wait_until(page, lambda: len(gone) == 2)


def test_a_long_computation_of_a_case_is_taken_back(page: Page, desk: Running) -> None:
    open_case(page, desk)
    tooth(page, "26").click()
    wait_for_sheet(page, TITLE)
    hold(page, "**/api/case?*", wanted=lambda request: "even" in request.url)
    page.get_by_text("More choices").click()
    page.get_by_label("Middle of the sheet", exact=True).select_option("even")
    page.locator(".busy").get_by_role("button", name="Cancel").click()
    wait_for_sheet(page, TITLE)
    assert "even" not in page.url
    assert page.get_by_label("Middle of the sheet", exact=True).input_value() == ""
