"""The page in one file, opened by a double-click: no server, no network, nothing beside it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from sheetmark.base.user_folder import models_folder
from sheetmark.desk.single.save import installable
from tests.helpers.browser import wait_until, watched
from tests.helpers.fit_view import RULER, click, enter_length, picked_of, picture, press_fit
from tests.helpers.settings_view import field, press_save

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

# What the page shows in a tab is its own: nothing else may read it by its address.
KEEP_BLOB = """() => {
  const make = URL.createObjectURL;
  URL.createObjectURL = (blob) => make.call(URL, (window.shown = blob));
}"""
READY_MS = 120_000  # many tests at once on a small machine


@pytest.fixture(scope="session")
def browser(browser_with_viewer: Browser) -> Browser:
    return browser_with_viewer


@pytest.fixture(scope="module")
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A browser without a network, in which nothing may go wrong or ask for anything."""
    made = browser.new_context(
        viewport={"width": 1280, "height": 800},
        accept_downloads=True,
        locale="en-GB",
        offline=True,
    )
    with watched(made, ("file:",), expected=""):
        yield made
        made.close()


@pytest.fixture(scope="module")
def opened(context: BrowserContext, single_page: Path) -> Page:
    """The page, ready. The tests of this module use it one after another."""
    return open_page(context, single_page.as_uri())


def open_page(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address, wait_until="commit")
    page.wait_for_selector("#starting")  # something to see at once
    page.wait_for_selector("#case-title", state="attached", timeout=READY_MS)
    return page


def go_to(page: Page, view: str) -> None:
    page.get_by_role("link", name=view, exact=True).click()
    page.wait_for_selector(f"nav a[aria-current]:text('{view[:3]}')")
    page.wait_for_selector("main .view h1", state="attached")


def show_case(page: Page, choices: str) -> None:
    """Show the sheet of these choices."""
    page.evaluate("(choices) => { location.hash = `#/case?${choices}`; }", choices)
    (tooth,) = re.findall(r"treat=(\d\d)", choices)
    page.locator("#sheet-title", has_text=f"{tooth} (ISO)").wait_for()
    page.wait_for_selector(".view-case:not([aria-busy]) .sheet svg.picture")


def open_files(page: Page) -> None:
    """Unfold the files of the case."""
    page.locator("details:has(.files)").first.evaluate("(part) => { part.open = true; }")


def saved(page: Page, form: str) -> bytes:
    """A file of the case, as the browser saves it."""
    open_files(page)
    with page.expect_download() as download:
        page.get_by_role("button", name=form, exact=True).click()
    assert re.fullmatch(r"sheet-\d\d\.pdf", download.value.suggested_filename)
    return Path(download.value.path()).read_bytes()


def test_a_tooth_is_clicked_and_its_sheet_is_printed(
    opened: Page, client: TestClient, axe: Callable[[Page], None]
) -> None:
    go_to(opened, "Case")
    opened.get_by_role("button", name=re.compile(r"^26\b")).click()
    opened.wait_for_selector(".sheet svg.picture")
    axe(opened)
    with opened.expect_popup() as popup:
        opened.get_by_role("link", name="Open the PDF").click()
    wait_until(opened, lambda: popup.value.url.startswith("blob:"))
    popup.value.close()
    assert saved(opened, "PDF") == client.get("/api/case.pdf?treat=26").content


def test_print_opens_the_pdf_where_it_can_be_printed(opened: Page, client: TestClient) -> None:
    """A page opened as a file may not reach into a frame with a PDF, so that no dialog comes."""
    show_case(opened, "treat=26")
    opened.evaluate(KEEP_BLOB)
    with opened.expect_popup() as popup:
        opened.get_by_role("button", name="Print", exact=True).click()
    wait_until(opened, lambda: popup.value.url.startswith("blob:"))
    shown = opened.evaluate("window.shown.arrayBuffer().then((all) => [...new Uint8Array(all)])")
    assert bytes(shown) == client.get("/api/case.print?treat=26").content
    popup.value.close()
    opened.locator(".print-state", has_text="The PDF opens in a tab of its own").wait_for()
    assert opened.locator(".print-frame").count() == 0


def test_what_is_measured_moves_the_holes(opened: Page, client: TestClient) -> None:
    show_case(opened, "treat=16")
    opened.get_by_label("Row 14 to 17").fill("35.2")
    opened.locator(".differences span", has_text="Measured: row 14-17 35.2 mm").wait_for()
    wanted = client.get("/api/case.pdf?treat=16&measure=row+14-17+35.2").content
    assert saved(opened, "PDF") == wanted


def test_an_arch_from_a_picture_is_the_desks_own(
    opened: Page, client: TestClient, axe: Callable[[Page], None]
) -> None:
    go_to(opened, "Own arch")
    content = {"name": "cast.png", "mimeType": "image/png", "buffer": picture()}
    opened.get_by_label("Open a picture of the cast").set_input_files(content)  # type: ignore[arg-type]
    opened.locator(".photo-marks path").first.wait_for()
    for point in RULER:
        click(opened, point)
    enter_length(opened)
    for point in (point for ends in picked_of().values() for point in ends.values()):
        click(opened, point)
    press_fit(opened)
    axe(opened)
    opened.get_by_role("button", name="Save as our-arch").click()
    opened.get_by_text("Saved as our-arch.").first.wait_for()
    reminder = opened.locator(".reminder")
    with opened.expect_download() as download:
        reminder.get_by_role("button", name="Save our-arch.toml").click()
    models_folder().mkdir(parents=True)
    (models_folder() / "our-arch.toml").write_bytes(Path(download.value.path()).read_bytes())
    show_case(opened, "treat=16&arch=our-arch")
    assert saved(opened, "PDF") == client.get("/api/case.pdf?treat=16&arch=our-arch").content


def test_what_it_cannot_compute_is_hidden_and_named(opened: Page) -> None:
    show_case(opened, "treat=26")
    opened.get_by_text("More choices").click()
    shift = opened.get_by_label("Middle of the sheet", exact=True)
    assert "even" not in shift.inner_text()
    assert not opened.get_by_role("link", name="Check", exact=True).is_visible()
    open_files(opened)
    files = opened.locator(".files button:visible")
    assert files.all_inner_texts() == ["PDF", "SVG", "JSON", "Case file"]
    foot = opened.inner_text("#left-out")
    assert foot.startswith("Not in the page in one file: where the pull is most even, ")
    assert foot.endswith(". The installed program has them.")
    go_to(opened, "Own arch")
    opened.get_by_label("Open a picture of the cast").wait_for()
    assert not opened.get_by_label("Open a scan of one jaw").is_visible()
    go_to(opened, "Sets")
    opened.get_by_text("Hole size", exact=True).wait_for()
    assert "Why the middle moves" not in opened.inner_text("main")


def test_a_days_list_is_planned_from_a_file(opened: Page, axe: Callable[[Page], None]) -> None:
    go_to(opened, "Day's list")
    opened.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"time,teeth\n9:00,16\n9:30,99\n"}
    )
    opened.wait_for_selector("text=1 case can be printed")
    axe(opened)


def test_settings_are_kept_saved_as_a_file_and_opened_again(
    opened: Page, context: BrowserContext, single_page: Path, axe: Callable[[Page], None]
) -> None:
    go_to(opened, "Settings")
    opened.wait_for_selector(".save-bar")
    field(opened, "page.paper").select_option("letter")
    press_save(opened)
    reminder = opened.locator(".reminder")
    reminder.get_by_role("button", name="Save practice.toml").wait_for()
    axe(opened)
    with opened.expect_download() as download:
        reminder.get_by_role("button", name="Save practice.toml").click()
    file = Path(download.value.path()).read_bytes()
    assert b'paper = "letter"' in file
    assert reminder.inner_text() == ""
    # The next start begins with it.
    again = context.new_page()
    again.goto(single_page.as_uri(), wait_until="commit")
    again.locator(".kept summary").click()
    again.get_by_role("button", name="Save practice.toml").wait_for()
    again.close()
    # Another file takes its place, after a question, and is in use at once.
    opened.once("dialog", lambda dialog: dialog.accept())
    opened.click(".kept summary")
    a4 = file.replace(b'paper = "letter"', b'paper = "a4"')
    opened.set_input_files(
        "#kept-file", {"name": "other.toml", "mimeType": "application/toml", "buffer": a4}
    )
    opened.wait_for_selector("[id='f-page.paper'] option[value='a4']:checked", state="attached")
    axe(opened)
    # What cannot be used is refused in words, and changes nothing.
    opened.set_input_files(
        "#kept-file", {"name": "wrong.toml", "mimeType": "application/toml", "buffer": b"paper=3"}
    )
    opened.wait_for_selector(".kept :text('wrong.toml')")


@pytest.fixture
def served(single_page: Path, tmp_path: Path) -> Iterator[tuple[str, ThreadingHTTPServer]]:
    """The page's folder on a server that only hands out files."""
    for name, data in installable(single_page.read_bytes()).items():
        (tmp_path / name).write_bytes(data)
    handler = partial(SimpleHTTPRequestHandler, directory=str(tmp_path))
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}/", server
    server.shutdown()


def test_from_a_server_it_is_installed_and_opens_without_it(
    browser: Browser, served: tuple[str, ThreadingHTTPServer]
) -> None:
    address, server = served
    context = browser.new_context()
    page = open_page(context, address)
    go_to(page, "Settings")
    field(page, "page.paper").select_option("letter")
    press_save(page)
    page.get_by_role("button", name="Save practice.toml").first.wait_for()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.close()
    server.shutdown()
    server.server_close()
    again = open_page(context, address)
    go_to(again, "Settings")
    again.wait_for_selector(".save-bar")
    assert field(again, "page.paper").input_value() == "letter", "what was saved is kept"
    go_to(again, "Case")
    again.get_by_role("button", name=re.compile(r"^26\b")).click()
    again.wait_for_selector(".sheet svg.picture")
    context.close()
