"""Printing from the page: the PDF goes to the print dialog, the page itself never to paper."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from pdfminer.high_level import extract_pages, extract_text
from pdfminer.layout import LTCurve

from tests.helpers.browser import wait_until
from tests.helpers.case_view import check_pdf, open_case, wait_for_sheet
from tests.helpers.cases import run_json
from tests.helpers.readback import read_pdf
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

TITLE = "26 (ISO) · upper left first molar · restoration"
# Headless browsers have no print dialog: each frame tells the page what it would have printed.
NO_DIALOG = "window.print = () => { (window.top.printed ??= []).push(location.href); }"


@pytest.fixture(scope="session")
def browser(browser_with_viewer: Browser) -> Browser:
    return browser_with_viewer


@pytest.fixture
def shown(page: Page, desk: Running) -> Page:
    """A case on the page; what is printed is kept as `window.printed`."""
    page.add_init_script(NO_DIALOG)
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, TITLE)
    return page


def press_print(page: Page) -> bytes:
    """The PDF for which the print dialog opens."""
    with page.expect_response("**/api/case.print?*") as answer:
        page.get_by_role("button", name="Print").click()
    content = page.request.get(answer.value.url).body()
    wait_until(page, lambda: bool(page.evaluate("window.printed?.length")))
    (printed,) = page.evaluate("window.printed.splice(0)")
    assert printed.startswith("blob:"), "the PDF of a frame, not the page"
    frame = page.locator(".print-frame")
    assert frame.count() == 1
    assert frame.get_attribute("src") == printed
    return content


def test_print_opens_the_dialog_with_the_pdf(shown: Page, desk: Running) -> None:
    check_pdf(press_print(shown), run_json("26"))
    assert "Choose 100 %" in shown.locator(".print").inner_text()
    assert shown.evaluate("document.activeElement.textContent") == "Print", "the focus stays"
    # The way back, where no dialog comes.
    link = shown.get_by_role("link", name="Open the PDF")
    assert link.get_attribute("target") == "_blank"
    answer = shown.request.get(desk.url.rstrip("/") + str(link.get_attribute("href")))
    assert answer.headers["content-disposition"].startswith("inline")
    check_pdf(answer.body(), run_json("26"))


def test_a_browser_without_a_dialog_is_led_to_the_pdf(shown: Page) -> None:
    frames = "HTMLIFrameElement.prototype"
    refusal = "() => ({ print: () => { throw new Error('no') } })"
    shown.evaluate(f"() => Object.defineProperty({frames}, 'contentWindow', {{ get: {refusal} }})")
    shown.get_by_role("button", name="Print").click()
    shown.get_by_text("This browser opens no print dialog").first.wait_for()
    assert shown.evaluate("document.activeElement.textContent") == "Open the PDF"


def test_a_browser_that_shows_no_pdf_opens_it_beside_the_page(shown: Page) -> None:
    """As telephones do: their own viewer then prints it."""
    none = "() => Object.defineProperty(navigator, 'pdfViewerEnabled', { value: false })"
    shown.evaluate(none)
    with shown.context.expect_page() as opened:
        shown.get_by_role("button", name="Print").click()
    assert "/api/case.print?treat=26&part=both&copies=1" in opened.value.url


def test_pages_and_copies_are_chosen_and_remembered(shown: Page) -> None:
    assert len(read_pdf(press_print(shown))) == 2, "overlay and card"
    shown.get_by_label("Pages").select_option("card")
    shown.get_by_label("Copies").fill("3")
    shown.get_by_label("Copies").press("Tab")
    cards = read_pdf(press_print(shown))
    assert len(cards) == 3
    assert not any(card.circles for card in cards), "no hole to punch by"
    shown.reload()
    wait_for_sheet(shown, TITLE)
    assert shown.get_by_label("Pages").input_value() == "card"
    assert shown.get_by_label("Copies").input_value() == "3"
    shown.get_by_label("Copies").fill("0")
    shown.get_by_role("button", name="Print").click()
    shown.get_by_text("Copies: a whole number of 1 to 20.").first.wait_for()
    assert not shown.evaluate("window.printed")


def test_what_was_printed_is_printed_again_as_it_was(shown: Page) -> None:
    shown.get_by_label("Pages").select_option("card")
    press_print(shown)
    shown.get_by_label("Pages").select_option("both")
    shown.get_by_role("button", name="New case").click()
    shown.locator(".empty").wait_for()
    with shown.expect_response("**/api/case.print?*") as answer:
        shown.get_by_role("button", name=f"Again: {TITLE}").click()
    assert answer.value.url.endswith("?treat=26&part=card&copies=1"), "its pages, not the latest"
    wait_until(shown, lambda: bool(shown.evaluate("window.printed?.length")))
    assert shown.get_by_label("Pages").input_value() == "card"
    assert "treat=26" in shown.url
    assert shown.evaluate("document.activeElement.ariaLabel") == f"Again: {TITLE}"
    shown.reload()
    shown.get_by_role("link", name=f"Open: {TITLE}").click()
    wait_for_sheet(shown, TITLE)
    assert shown.title() == f"{TITLE} · sheetmark"


def test_the_page_itself_prints_no_sheet(shown: Page) -> None:
    printed = BytesIO(shown.pdf(format="A4"))
    text = " ".join(extract_text(printed).split())
    assert text.startswith("This is the page on the screen, not the sheet")
    assert text.endswith("“Print” or “PDF of the day”.")
    (page,) = extract_pages(printed)
    assert not [mark for mark in page if isinstance(mark, LTCurve)], "nothing to punch by"
