"""The tests' own order: they mirror the rooms, and share code through tests/helpers only."""

from __future__ import annotations

import ast
import inspect
from pathlib import Path

import pytest
from xdist.scheduler import LoadScopeScheduling

from tests.helpers.paths import ROOT
from tests.helpers.process_groups import GROUPS, group_of

TESTS = ROOT / "tests"
# Folders of the tests that are no room of the package.
OTHER_FOLDERS = {"whole", "helpers", "goldens", "benchmarks", "js"}


def modules_of_tests() -> list[Path]:
    """Every test module and conftest."""
    return sorted([*TESTS.rglob("test_*.py"), *TESTS.rglob("conftest.py")])


def imported_from_tests(source: str) -> list[str]:
    """The modules below `tests` that a source imports, wherever in it; a relative import too."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level:
            found.append("tests.?")
        elif isinstance(node, ast.ImportFrom):
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return [name for name in found if name.split(".")[0] == "tests"]


def foreign(source: str) -> list[str]:
    """What a test module may not import."""
    return [name for name in imported_from_tests(source) if not name.startswith("tests.helpers.")]


@pytest.mark.parametrize("path", modules_of_tests(), ids=lambda path: str(path.relative_to(TESTS)))
def test_a_test_module_imports_helpers_only(path: Path) -> None:
    assert foreign(path.read_text("utf-8")) == []


def test_helpers_import_no_test_module() -> None:
    helpers = sorted((TESTS / "helpers").glob("*.py"))
    assert len(helpers) > 10
    assert [path for path in helpers if foreign(path.read_text("utf-8"))] == []


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("from tests.desk.test_day import x", ["tests.desk.test_day.x"]),
        ("from tests.desk import conftest", ["tests.desk.conftest"]),
        ("import tests.desk.conftest", ["tests.desk.conftest"]),
        ("from .conftest import x", ["tests.?"]),
        ("def f():\n    from tests.renew_goldens import x", ["tests.renew_goldens.x"]),
        ("from tests.helpers.cases import x\nimport pytest", []),
    ],
)
def test_the_check_sees_every_form_of_import(source: str, expected: list[str]) -> None:
    assert foreign(source) == expected


def test_each_folder_is_a_room_or_known() -> None:
    rooms = {path.parent.name for path in (ROOT / "sheetmark").glob("*/__init__.py")}
    folders = {path.name for path in TESTS.iterdir() if path.is_dir() and path.name[0] not in "_."}
    assert folders - OTHER_FOLDERS <= rooms
    assert {path.parent for path in TESTS.rglob("test_*.py")} <= {TESTS / name for name in folders}


def test_every_group_names_tests_that_are_there() -> None:
    for name in (name for names in GROUPS.values() for name in names):
        path, _, test = name.partition("::")
        assert f"def {test}" in (TESTS / path).read_text("utf-8"), name


@pytest.mark.parametrize(
    ("test", "group"),
    [
        ("tests/cli/test_strain.py::test_a[x::y]", "solved membranes"),
        (
            "tests/desk/test_case_page.py::test_the_most_even_place_is_shown_and_printed",
            "solved membranes",
        ),
        (
            "tests/desk/test_day.py::test_a[tests/cli/test_strain.py]",
            "tests/desk/test_day.py::test_a[tests/cli/test_strain.py]",
        ),
    ],
)
def test_a_test_without_a_group_is_a_group_of_its_own(test: str, group: str) -> None:
    assert group_of(test) == group


def test_the_scheduler_still_asks_for_the_group_of_a_test() -> None:
    """Private to xdist: without it each test would be handed out alone, slowly and in silence."""
    scheduler = LoadScopeScheduling.__new__(LoadScopeScheduling)
    assert scheduler._split_scope("tests/a.py::test_b") == "tests/a.py"
    assert "_split_scope" in inspect.getsource(LoadScopeScheduling.schedule)
