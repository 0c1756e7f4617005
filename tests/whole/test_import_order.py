"""Imports run one way: a case travels downwards through the rooms, and so do the imports."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import sheetmark

PACKAGE = Path(sheetmark.__file__).parent

# Each room may import the rooms above it, also through others. A new room needs a place here.
ROOMS = (
    "base",
    "anatomy",
    "fitting",
    "practice",
    "case",
    "plan",
    "day",
    "studies",
    "typesetting",
    "checking",
    "documents",
    "render",
    "jobs",
    "desk",
    "cli",
    "__main__",
)
# Parts of anatomy that hold millimetres.
GEOMETRY = (
    "anatomy.arch_model",
    "anatomy.chords",
    "anatomy.curves",
    "anatomy.gum_line",
    "anatomy.gum_line_table",
    "anatomy.jaw",
    "anatomy.placed",
)
# What a part must not reach though it stands above, directly or through others.
UNKNOWN_TO = {
    "case": (*GEOMETRY, "practice"),
    "plan.isolation": (*GEOMETRY, "practice"),
    "fitting": ("practice", "case", "plan", "day"),
    "typesetting": ("anatomy", "practice", "case", "plan", "day", "fitting", "studies"),
    "render": ("anatomy", "practice", "case", "plan", "day", "fitting", "studies", "documents"),
}


def name_of(path: Path) -> str:
    """`plan/holes.py` is `plan.holes`; a package's own file bears the package's name."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def modules() -> dict[str, Path]:
    """Every module below the package by its name there; the package itself is ""."""
    return {name_of(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def imports(source: str, module: str, *, package: bool = False) -> set[str]:
    """Every name below sheetmark that a source imports, wherever in it.

    `?` stands for an import whose name is made while the program runs.
    """
    found: set[str] = set()
    here = ["sheetmark", *(module.split(".") if module else [])]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                up = here[: len(here) - node.level + package]
                base = ".".join([*up, base] if base else up)
            found |= {f"{base}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Name | ast.Attribute):
            name = node.id if isinstance(node, ast.Name) else node.attr
            if name in ("import_module", "__import__"):
                found.add("sheetmark.?")
    own = {name for name in found if name.split(".")[0] == "sheetmark"}
    return {name.removeprefix("sheetmark").removeprefix(".") for name in own}


def targets(source: str, module: str, *, package: bool = False) -> set[str]:
    """The modules that a source imports: `plan.holes` for `from sheetmark.plan.holes import x`."""
    found = set()
    for name in imports(source, module, package=package):
        known = name
        while known and known != "?" and known not in modules():
            known = known.rpartition(".")[0]
        found.add(known)
    return found


@cache
def direct(module: str) -> frozenset[str]:
    path = modules()[module]
    package = path.name == "__init__.py"
    return frozenset(targets(path.read_text("utf-8"), module, package=package) - {module})


def reached(module: str) -> dict[str, tuple[str, ...]]:
    """Every module that a module reaches, each with the way there."""
    ways: dict[str, tuple[str, ...]] = {module: (module,)}
    waiting = [module]
    while waiting:
        at = waiting.pop()
        for name in direct(at):
            if name not in ways:
                ways[name] = (*ways[at], name)
                if name in modules():
                    waiting.append(name)
    return ways


def within(module: str, part: str) -> bool:
    return module == part or module.startswith(f"{part}.")


def wrong(source: str, module: str, *, package: bool = False) -> list[str]:
    """What the source imports from rooms below its own, or through the package's own names."""
    room = module.split(".", maxsplit=1)[0]
    above = ROOMS[: ROOMS.index(room) + 1]
    found = targets(source, module, package=package)
    return sorted(name for name in found if name.split(".")[0] not in above)


def test_every_room_has_a_place() -> None:
    rooms = {name.split(".")[0] for name in modules()} - {""}
    assert rooms == set(ROOMS)
    assert len([name for name in ROOMS if not name.startswith("_")]) <= 16


def test_imports_run_downwards_only() -> None:
    assert len(modules()) > 100
    upwards = [
        f"{name} imports {target}"
        for name, path in modules().items()
        if name
        for target in wrong(path.read_text("utf-8"), name, package=path.name == "__init__.py")
    ]
    # The commands, each by its name: all stand in the room of `app` itself.
    assert upwards == ["cli.app imports ?"]


@pytest.mark.parametrize("part", list(UNKNOWN_TO))
def test_a_part_does_not_reach_what_it_does_not_know(part: str) -> None:
    inside = [name for name in modules() if within(name, part)]
    assert inside
    crossings = [
        " > ".join(way)
        for name in inside
        for target, way in reached(name).items()
        if any(within(target, unknown) for unknown in UNKNOWN_TO[part])
    ]
    assert crossings == []


def test_no_module_imports_in_a_circle() -> None:
    circles = [
        " > ".join(ways[other]) + f" > {name}"
        for name in modules()
        if name
        for ways in [reached(name)]
        for other in ways
        if other in modules() and other != name and name in direct(other)
    ]
    assert circles == []


def test_the_core_never_imports_the_command_line() -> None:
    # The names that the package itself hands out are loaded when first used.
    assert sheetmark._HOMES
    assert {home.split(".")[0] for home in sheetmark._HOMES.values()} <= set(ROOMS) - {
        "cli",
        "desk",
        "__main__",
    }


def test_importing_the_package_loads_no_room_but_its_version() -> None:
    program = "import sheetmark, sys; print(*sorted(m for m in sys.modules if 'sheetmark.' in m))"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["sheetmark.base", "sheetmark.base.version"]


@pytest.mark.parametrize("name", list(sheetmark._HOMES))
def test_every_name_handed_out_is_there(name: str) -> None:
    assert getattr(sheetmark, name).__name__ == name
    assert name in sheetmark.__all__
    assert name in dir(sheetmark)


@pytest.mark.parametrize(
    ("source", "module", "expected"),
    [
        ("import sheetmark.plan.plan", "anatomy.teeth", ["plan.plan"]),
        ("import sheetmark.plan.plan as p", "anatomy.teeth", ["plan.plan"]),
        ("from sheetmark.plan.plan import x", "anatomy.teeth", ["plan.plan"]),
        ("from sheetmark.plan import plan", "anatomy.teeth", ["plan.plan"]),
        ("from sheetmark import plan", "anatomy.teeth", ["plan"]),
        ("from sheetmark import make_plan", "anatomy.teeth", [""]),
        ("from ..plan import holes", "anatomy.teeth", ["plan.holes"]),
        ("from ...plan import holes", "desk.server.app", []),
        ("from ...cli import app", "desk.server.app", ["cli.app"]),
        ("def f():\n    from sheetmark.cli.app import run", "plan.plan", ["cli.app"]),
        ("if TYPE_CHECKING:\n    from sheetmark.plan.plan import Plan", "case.case", ["plan.plan"]),
        ("import_module('sheetmark.plan')", "anatomy.teeth", ["?"]),
        ("importlib.import_module(name)", "anatomy.teeth", ["?"]),
        ("import sheetmark", "anatomy.teeth", [""]),
        ("from sheetmark import __version__", "plan.plan", [""]),
        # What is allowed.
        ("from sheetmark.base.version import __version__", "plan.plan", []),
        ("from sheetmark.base.findings import InputError", "anatomy.teeth", []),
        ("from .curves import Curve", "anatomy.arch_model", []),
        ("from sheetmark.anatomy.jaw import Arch", "plan.plan", []),
        ("import json\nfrom importlib.resources import files", "anatomy.teeth", []),
    ],
)
def test_the_check_sees_every_form_of_import(source: str, module: str, expected: list[str]) -> None:
    assert wrong(source, module) == expected


def test_the_check_resolves_the_dots_of_a_package() -> None:
    assert wrong("from ..plan import holes", "anatomy", package=True) == ["plan.holes"]
    assert wrong("from .jaw import x", "anatomy", package=True) == []
