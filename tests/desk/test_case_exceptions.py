"""The case view where something is different in the mouth: said at a tooth, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.helpers.case_view import (
    check_pdf,
    download,
    open_case,
    tooth,
    wait_for_exception,
    wait_for_sheet,
)
from tests.helpers.cases import run_json
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def test_a_bridge_and_its_slit(page: Page, desk: Running) -> None:
    open_case(page, desk)
    page.get_by_label("Procedure").select_option("crown")
    tooth(page, "24").click()
    wait_for_sheet(page, "24 (ISO) · upper left first premolar · crown")
    tooth(page, "24").click(button="right")
    page.get_by_label("Bridge from here to", exact=True).select_option("26")
    page.get_by_label("One slit from here to", exact=True).select_option("26")
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "25 pontic")
    wait_for_sheet(page, "24 (ISO) · upper left first premolar · crown")
    plan = run_json("24", "--for", "crown", "--with", "24-26 bridge", "--slit", "24-26")
    check_pdf(download(page, "PDF"), plan)
    assert plan["slots"]
    assert page.locator(".differences li").count() == 4
    page.get_by_role("button", name="Remove: One slit 24 to 26").click()
    page.get_by_role("button", name="Remove: One slit 24 to 26").wait_for(state="detached")
    page.wait_for_selector(".view-case:not([aria-busy])")
    plan = run_json("24", "--for", "crown", "--with", "24-26 bridge")
    check_pdf(download(page, "PDF"), plan)


def test_what_is_different_goes_into_the_address_and_comes_back(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=13")
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")
    tooth(page, "13").click(button="right")
    page.get_by_label("Gumline lesion", exact=True).check()
    page.get_by_label("Towards lip or cheek, mm").fill("1.5")
    page.get_by_label("Turned, degrees").fill("-20")
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "13 lesion, facial 1.5, rotated -20")
    page.reload()
    wait_for_exception(page, "13 lesion, facial 1.5, rotated -20")
    tooth(page, "13").click(button="right")
    assert page.get_by_label("Gumline lesion", exact=True).is_checked()
    assert page.get_by_label("Towards lip or cheek, mm").input_value() == "1.5"
    page.get_by_role("button", name="Cancel").click()
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")
    plan = run_json("13", "--with", "13 lesion facial 1.5 rotated -20")
    check_pdf(download(page, "PDF"), plan)


def test_a_primary_tooth_that_is_still_there(page: Page, desk: Running) -> None:
    open_case(page, desk)
    tooth(page, "15").click(button="right")
    page.get_by_label("Primary tooth, still there").check()
    page.get_by_role("button", name="Done").click()
    tooth(page, "55").click()
    wait_for_sheet(page, "55 (ISO) · upper right primary second molar · restoration")
    check_pdf(download(page, "PDF"), run_json("55", "--present", "55"))


def test_a_third_molar_is_not_there_until_marked(page: Page, desk: Running) -> None:
    open_case(page, desk)
    assert "absent" in str(tooth(page, "18").get_attribute("aria-label"))
    tooth(page, "18").click(button="right")
    assert page.get_by_label("As usual: no tooth").is_checked()
    page.get_by_role("button", name="Cancel").click()
    tooth(page, "18").click()  # whoever presses it to treat it has only to confirm
    assert page.get_by_label("Stands here").is_checked()
    assert page.evaluate("document.activeElement.value") == "present"
    page.get_by_role("button", name="Done").click()
    wait_for_sheet(page, "18 (ISO) · upper right third molar · restoration")
    check_pdf(download(page, "PDF"), run_json("18", "--present", "18"))


def test_a_move_both_ways_is_refused_in_plain_text(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=13")
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")
    tooth(page, "13").click(button="right")
    page.get_by_label("Towards lip or cheek, mm").fill("1")
    page.get_by_label("Towards the tongue, mm").fill("2")
    page.get_by_role("button", name="Done").click()
    page.get_by_role("alert").wait_for()
    assert "given twice" in page.get_by_role("alert").inner_text()
    page.go_back()
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")


def test_a_tooth_that_is_marked_missing_is_no_longer_treated(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=25&treat=26&anchor=26")
    wait_for_sheet(page, "25, 26 (ISO) · upper left second premolar and first molar · restoration")
    tooth(page, "26").click(button="right")
    page.get_by_label("Missing").check()
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "26 missing")
    wait_for_sheet(page, "25 (ISO) · upper left second premolar · restoration")
    check_pdf(download(page, "PDF"), run_json("25", "--missing", "26"))


@pytest.mark.parametrize("typed", ["0,5", "0.5", " 0,5 "])
def test_a_decimal_comma_is_a_decimal_comma(page: Page, desk: Running, typed: str) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    tooth(page, "26").click(button="right")
    page.get_by_label("Towards lip or cheek, mm").press_sequentially(typed)
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "26 facial 0.5")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    check_pdf(download(page, "PDF"), run_json("26", "--with", "26 facial 0.5"))


@pytest.mark.parametrize("typed", ["0,5,5", "five", "1e9", "-99"])
def test_what_is_no_length_is_refused_in_plain_text(page: Page, desk: Running, typed: str) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    tooth(page, "26").click(button="right")
    page.get_by_label("Towards lip or cheek, mm").fill(typed)
    page.get_by_role("button", name="Done").click()
    page.get_by_role("alert").wait_for()
    assert page.locator(".picture").count() == 0


def test_a_gap_is_that_of_a_missing_tooth(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    tooth(page, "25").click(button="right")
    page.get_by_label("Gap left, mm").fill("4,5")
    assert page.get_by_label("Missing", exact=True).is_checked()
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "25 missing, gap 4.5")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    check_pdf(download(page, "PDF"), run_json("26", "--with", "25 missing gap 4.5"))


def test_a_tooth_is_described_by_touch_without_being_treated(
    browser: Browser, desk: Running
) -> None:
    context = browser.new_context(viewport={"width": 768, "height": 1024}, has_touch=True)
    page = context.new_page()
    open_case(page, desk)
    page.get_by_label("describes it").tap()
    page.get_by_text("Choose the tooth to describe.").wait_for()
    tooth(page, "36").tap()
    page.get_by_label("Missing", exact=True).tap()
    page.get_by_role("button", name="Done").tap()
    wait_for_exception(page, "36 missing")
    assert "treat" not in page.url
    context.close()
