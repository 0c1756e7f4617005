"""Chromium as this project starts it, and waiting for what its pages do."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import (
        Browser,
        BrowserContext,
        ConsoleMessage,
        Page,
        Request,
        Route,
        WebError,
    )

CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--process-per-site",  # one for all pages of a context: opening one takes a third less time
]


def chromium() -> str | None:
    """Where Chromium is on this machine; None where it is not installed."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def chromium_for_tests(*, shows_pdfs: bool = False) -> str:
    """Where Chromium is: without its windows where that is installed, which takes half the time;
    it shows no PDF. Without any CI fails; elsewhere the test is skipped in words."""
    path = (None if shows_pdfs else shutil.which("chromium-headless-shell")) or chromium()
    if path is None:
        reason = "no chromium on this machine: install it (apt-get install chromium) to run this"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return path


@cache
def kept_context(browser: Browser, address: str) -> BrowserContext:
    """A context for test after test at one address: what the browser has fetched and compiled of
    the page stays. Its first page is there only to keep the process that draws them."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, accept_downloads=True, locale="en-GB"
    )
    context.new_page().goto(f"{address}favicon.ico")
    return context


@contextmanager
def new_page(context: BrowserContext, address: str) -> Iterator[Page]:
    """A page of a kept context that knows nothing of the pages before it."""
    yield context.new_page()
    first, *others = context.pages
    for page in others:
        page.close()
    context.clear_cookies()
    context.clear_permissions()
    tools = context.new_cdp_session(first)
    tools.send("Storage.clearDataForOrigin", {"origin": address[:-1], "storageTypes": "all"})
    tools.detach()


@contextmanager
def watched(context: BrowserContext, own: tuple[str, ...], expected: str) -> Iterator[None]:
    """Nothing may go wrong in the context, and it may ask only addresses that begin with these or
    are the browser's own; messages that hold `expected` are no fault, unless that is empty."""
    # Chromium's own PDF viewer loads its parts from the browser itself.
    own = (*own, "blob:", "data:", "chrome:", "chrome-extension:")
    wrong: list[str] = []

    def check_request(request: Request) -> None:
        if not request.url.startswith(own):
            wrong.append(f"requested {request.url}")

    def check_message(message: ConsoleMessage) -> None:
        is_expected = expected and expected in message.text
        if message.type in ("error", "warning") and not is_expected:
            wrong.append(message.text)

    def check_error(error: WebError) -> None:
        wrong.append(str(error.error))

    context.on("request", check_request)
    context.on("console", check_message)
    context.on("weberror", check_error)
    yield
    context.remove_listener("request", check_request)
    context.remove_listener("console", check_message)
    context.remove_listener("weberror", check_error)
    assert wrong == []


def hold(
    page: Page, pattern: str, *, wanted: Callable[[Request], bool] = lambda _: True, most: int = 99
) -> list[Route]:
    """Hold back the page's wanted requests for the pattern, the first `most` of them.

    They join the returned list as they come; the test lets each go on by `continue_()`.
    """
    held: list[Route] = []

    def answer(route: Route) -> None:
        if len(held) < most and wanted(route.request):
            held.append(route)
        else:
            route.continue_()

    page.route(pattern, answer)
    return held


def let_draw(page: Page) -> None:
    """Wait until the page has worked off what it has received and has drawn it."""
    page.evaluate("new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)))")


def wait_until(page: Page, condition: Callable[[], bool]) -> None:
    """Wait for a condition in this process while the page goes on; fails after ten seconds."""
    end = time.monotonic() + 10
    while not condition():
        assert time.monotonic() < end, "it did not come true in 10 s"
        let_draw(page)
