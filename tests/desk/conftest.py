"""A desk of its own for each test, a browser that may reach nothing else, and axe."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from sheetmark.base.user_folder import default_path
from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.serve import server_of
from sheetmark.desk.single.save import save
from tests.helpers.browser import (
    CHROMIUM_ARGUMENTS,
    chromium_for_tests,
    kept_context,
    new_page,
    watched,
)
from tests.helpers.running_desk import TOKEN, Running
from tests.helpers.settings_view import OWN, open_settings
from tests.helpers.single_page import core_for_tests

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Playwright

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# Violations are reported in full; of what passes, one element each shows that axe looked.
OPTIONS = {"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A settings folder of the test's own, empty."""
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / name)
    folder = default_path().parent
    folder.mkdir(parents=True)
    return folder


@pytest.fixture
def client(own_folder: Path) -> TestClient:
    """Asks the endpoints in this process, as the page would, its token included."""
    desk = Desk(own_folder / "practice.toml", TOKEN, frozenset({"desk.test"}))
    headers = {"X-Sheetmark-Token": TOKEN}
    return TestClient(make_app(desk), base_url="http://desk.test", headers=headers)


@pytest.fixture(scope="session")
def port() -> Iterator[socket.socket]:
    """A free port of this machine for every desk of this process, one after another: a browser
    keeps what it fetched of a page by its address."""
    with socket.socket(proto=socket.IPPROTO_TCP) as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        yield listener


@pytest.fixture
def desk(own_folder: Path, port: socket.socket) -> Iterator[Running]:
    """A desk of the test's own."""
    with port.dup() as listener:
        at = f"127.0.0.1:{listener.getsockname()[1]}"
        file = own_folder / "practice.toml"
        app = make_app(Desk(file, TOKEN, frozenset({at})))
        server = server_of(app)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        while not server.started:
            assert thread.is_alive(), "the desk did not start"
            time.sleep(0.01)
        yield Running(f"http://{at}/", own_folder, file)
        server.should_exit = True
        thread.join(10)


@pytest.fixture(scope="session")
def browser(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """Chromium."""
    started = start(playwright, chromium_for_tests(), tmp_path_factory)
    yield started
    started.close()


@pytest.fixture(scope="session")
def browser_with_viewer(
    playwright: Playwright, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    """Chromium with its viewer of PDFs, from which it prints."""
    started = start(playwright, chromium_for_tests(shows_pdfs=True), tmp_path_factory)
    yield started
    started.close()


def start(playwright: Playwright, path: str, folders: pytest.TempPathFactory) -> Browser:
    """A browser whose own settings do not come to lie among ours."""
    own: dict[str, str | float | bool] = {
        **os.environ,
        "XDG_CONFIG_HOME": str(folders.mktemp("browser")),
    }
    return playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS, env=own)


@pytest.fixture(scope="session")
def single_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page in one file."""
    core = core_for_tests()
    path = tmp_path_factory.mktemp("single") / "sheetmark.html"
    save(path, core)
    return path


@pytest.fixture
def page(browser: Browser, desk: Running) -> Iterator[Page]:
    """A page on which nothing may go wrong, and that may ask nobody but the desk."""
    context = kept_context(browser, desk.url)
    # The page expects a refusal in words, though the browser logs it as an error.
    with watched(context, (desk.url,), expected="422"), new_page(context, desk.url) as page:
        yield page


@pytest.fixture(scope="session")
def axe() -> Callable[..., None]:
    """Asserts that axe finds nothing on the page as it stands, by WCAG 2.2 A and AA or by these of
    their rules."""
    from axe_playwright_python.sync_playwright import Axe, AxeResults

    script = Axe().axe_script

    def check(page: Page, *rules: str) -> None:
        if not page.evaluate("'axe' in window"):
            page.evaluate(script)
        options = {**OPTIONS, "runOnly": list(rules)} if rules else OPTIONS
        found = AxeResults(page.evaluate("(options) => axe.run(options)", options))
        assert found.response["passes"], "axe looked at something"
        assert found.violations_count == 0, found.generate_report()

    return check


@pytest.fixture
def file(own_folder: Path) -> Path:
    """A clinic's practice file with remarks of its own, in the settings folder."""
    path = own_folder / "practice.toml"
    path.write_text(OWN, encoding="utf-8")
    return path


@pytest.fixture
def view(page: Page, desk: Running, file: Path) -> Page:
    """The settings view, opened on that practice file."""
    return open_settings(page, desk)
