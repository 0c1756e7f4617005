"""The check on the page: a photograph in, holes taken away and added by hand, the report out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.plan.make import make_plan
from tests.helpers.case_view import open_case, tooth
from tests.helpers.check_scenes import holes_of, scene_of, see_once
from tests.helpers.photographs import Camera, photograph
from tests.helpers.readback import read_pdf
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import FilePayload, Page


@pytest.fixture(autouse=True)
def looked_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is seen in a photograph does not hang on what is asked of it afterwards."""
    monkeypatch.setattr("sheetmark.jobs.check.see_sheet", see_once)


@pytest.fixture(scope="module")
def made() -> bytes:
    """All holes of 16's row within 2 mm, 14 off by 1.1, and one too many."""
    plan = make_plan(Case(treat=(Tooth(1, 6),)))
    *inner, (x, y, diameter) = holes_of(plan)
    holes = (*inner, (x + 1.1, y, diameter), (30.0, -25.0, 2.0))
    camera = Camera(height_mm=290.0, megapixels=1.2, tilt_deg=3.0)
    return photograph(scene_of(plan, holes=holes, camera=camera))


def open_photograph(page: Page, desk: Running, content: bytes) -> None:
    open_case(page, desk, "treat=16")
    tooth(page, "16").wait_for()
    page.get_by_role("link", name="Check", exact=True).click()
    file: FilePayload = {"name": "sheet.jpg", "mimeType": "image/jpeg", "buffer": content}
    page.get_by_label("Open a photograph of the sheet").set_input_files(file)


def verdict(page: Page) -> str:
    return page.locator(".verdict").inner_text()


def test_a_hole_too_many_is_taken_away_by_a_click_and_the_report_printed(
    page: Page, desk: Running, made: bytes, axe: Callable[[Page], None]
) -> None:
    open_photograph(page, desk, made)
    page.locator(".verdict").wait_for()
    assert verdict(page) == "Not as planned: 1 too many."
    assert page.locator(".check-stage circle.found").count() == 5
    assert page.locator("tbody tr").count() == 4
    axe(page)

    # The hole too many is the only one on the right half of the sheet.
    page.get_by_text("Holes found").click()
    stray = page.locator(".check-stage circle.found").last
    box = stray.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.locator(".verdict", has_text="As planned: all").wait_for()
    assert page.locator(".check-stage circle.found").count() == 4
    with page.expect_download() as saved:
        page.get_by_role("button", name="Report").click()
    (report,) = read_pdf(Path(saved.value.path()).read_bytes())
    assert "As planned: all 4 holes are within 2 mm of their places." in report.text

    # By keyboard: a hole is taken away, and is missing then.
    page.get_by_text("Holes found").click()
    page.get_by_role("button", name="Take hole 1 away").press("Enter")
    page.locator(".verdict", has_text="17 missing").wait_for()
    # A click on its place adds it by hand.
    place = page.locator(".check-stage circle.place").first.bounding_box()
    assert place is not None
    page.mouse.click(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    page.locator(".verdict", has_text="As planned: all").wait_for()
    assert page.get_by_text("cannot be told: added by hand").count() == 1


def test_the_tolerance_is_the_practices_until_another_is_typed(
    page: Page, desk: Running, made: bytes
) -> None:
    desk.practice_file.write_text('format = "sheetmark-practice/1"\n[check]\ntolerance_mm = 0.8\n')
    open_photograph(page, desk, made)
    page.locator(".verdict").wait_for()
    assert verdict(page) == "Not as planned: 14 out of place; 1 too many."
    ring = page.locator(".check-stage circle.place").first
    assert float(ring.get_attribute("r") or 0) == pytest.approx(0.8 / 0.15, abs=0.01)
    field = page.get_by_label("Tolerance")
    field.fill("1,5")
    field.press("Tab")
    page.locator(".verdict", has_text="planned: 1 too many").wait_for()
    assert float(ring.get_attribute("r") or 0) == pytest.approx(10.0)
    field.fill("9")
    field.press("Tab")
    page.locator(".problems", has_text="tolerance 9 mm: must be 0.5 to 5 mm").wait_for()
    field.fill("")
    field.press("Tab")
    page.locator(".verdict", has_text="14 out of place").wait_for()
    assert page.locator(".problems").count() == 0


def test_a_photograph_that_cannot_be_judged_gives_its_reason(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_photograph(page, desk, b"no photograph")
    page.locator(".problems").wait_for()
    assert "cannot be read as a photograph" in page.locator(".problems").inner_text()
    axe(page)


def test_without_teeth_the_view_leads_to_the_case(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/check")
    page.get_by_text("First choose the teeth under").wait_for()
