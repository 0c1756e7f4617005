"""What tests of every room use: an empty settings folder, so that no clinic's own file changes a
result, and a coarse membrane."""

from __future__ import annotations

import os
import sys
from collections.abc import Generator, Iterator
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.helpers.browser import chromium_for_tests
from tests.helpers.process_groups import group_of

if TYPE_CHECKING:
    from playwright.sync_api import Playwright
    from xdist.scheduler import LoadScopeScheduling

TESTS = Path(__file__).parent

# Compile each module once, also where Python is set to keep nothing: a process that a test starts
# would otherwise take longer to compile the project than to do its work.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    """Hand out whole groups. The marks of `--dist loadgroup` do nothing in pytest 9.2."""
    from xdist.scheduler import LoadScopeScheduling

    class GroupScheduling(LoadScopeScheduling):  # type: ignore[misc]
        def _split_scope(self, nodeid: str) -> str:
            return group_of(nodeid)

    return GroupScheduling(config, log)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: a test of the page mostly waits for the browser."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(wrapper=True)
def pytest_collection(session: pytest.Session) -> Generator[None, object, object]:
    """Of several processes that are to load all test modules each begins with its share, so that
    what is not yet compiled is compiled once."""
    worker = getattr(session.config, "workerinput", None)
    if worker and session.config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        number, count = int(worker["workerid"].removeprefix("gw")), worker["workercount"]
        for path in sorted(TESTS.rglob("test_*.py"))[number::count]:
            name = ".".join(path.relative_to(TESTS.parent).with_suffix("").parts)
            with suppress(Exception, pytest.skip.Exception):  # collecting it will report it
                import_module(name)
    return (yield)


@pytest.fixture(scope="session", autouse=True)
def settings_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Where a practice file would be looked for, in this process and in those it starts."""
    folder = tmp_path_factory.mktemp("settings")
    with pytest.MonkeyPatch.context() as patch:
        # On Linux and, by a line of its own, wherever else platformdirs looks.
        patch.setenv("XDG_CONFIG_HOME", str(folder))
        patch.setattr("platformdirs.user_config_path", lambda name, **_: folder / name)
        yield folder


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """What starts browsers; a process can have one."""
    chromium_for_tests()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        yield started


@pytest.fixture
def coarse_membrane(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands and handouts solve the membrane on a coarse mesh: for tests of words and files."""
    from sheetmark.studies.membrane import report
    from tests.helpers.membrane_sheets import COARSE

    monkeypatch.setattr(report, "DEFAULT_DENSITY", COARSE)


@pytest.fixture
def few_mouths(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fits draw fewer mouths to tell how far a hole may be off: for tests of other figures. Those
    are measured in fitting/test_how_far.py."""
    from sheetmark.fitting import how_far

    monkeypatch.setattr(how_far, "MOUTHS", 50)
