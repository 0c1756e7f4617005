"""The case view in a browser: opening it, waiting for its sheet, and its downloaded files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.helpers.page_check import check_page
from tests.helpers.readback import read_first_page
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page


def tooth(page: Page, iso: str) -> Locator:
    """The tooth of the chart, by its ISO 3950 number."""
    return page.locator(f'[data-tooth="{iso}"]')


def open_case(page: Page, desk: Running, choices: str = "") -> None:
    """Open the case view, with the choices in its address."""
    page.goto(f"{desk.url}#/case{'?' if choices else ''}{choices}")
    page.wait_for_selector(".chart .tooth")


def wait_for_sheet(page: Page, title: str) -> None:
    """Wait until the sheet of that title is there and nothing is being computed."""
    page.locator("#sheet-title", has_text=title).wait_for()
    page.wait_for_selector(".view-case:not([aria-busy])")


def wait_for_exception(page: Page, wording: str) -> None:
    """Wait until the list of what is different in this mouth has it."""
    page.locator(".differences span", has_text=wording).wait_for()


def download(page: Page, wording: str) -> bytes:
    """A file of the case, as the browser saves it."""
    if page.locator(".facts details:not([open])").count():
        page.get_by_text("Files and command line").click()
    with page.expect_download() as saved:
        page.get_by_role("button", name=wording, exact=True).click()
    return Path(saved.value.path()).read_bytes()


def check_pdf(pdf: bytes, plan: dict[str, Any]) -> None:
    """Every mark of the PDF's first page is where the command line's own plan has it."""
    first = read_first_page(pdf)
    check_page(first, plan)
