"""The stages import downwards only: a case travels in one direction, and so do the imports."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import sheetmark

ROOT = Path(sheetmark.__file__).parent

# Each row may import the rows above it. A new module needs a place here.
ORDER = (
    "findings",
    "sources",
    "files",
    "home",
    "tomlfile",
    "teeth",
    "arch",
    "practice",
    "case",
    "conditions",
    "casefile",
    "dentition",
    "isolation",
    "coverage",
    "holes",
    "placement",
    "strips",
    "clamps",
    "remarks",
    "recipe",
    "plan",
    "daylist",
    "dayplan",
    "membrane",
    "choices",
    "documents",
    "render",
    "outputs",
    "daybook",
    "archfit",
    "desk",
    "cli",
    "__main__",
)
# What a stage does not know of, though it stands above: no mm in isolation and in a case, and
# nothing in the renderers but pages of marks.
UNKNOWN_TO = {
    "case": {"arch", "practice"},
    "isolation": {"arch", "practice"},
    "render": set(ORDER[: ORDER.index("documents")]) - {"findings"},
}


def stage_of(module: str) -> str:
    """`sheetmark.arch.model` belongs to `arch`; the package itself is `sheetmark`."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else parts[0]


def imports(source: str, module: str, *, package: bool = False) -> set[str]:
    """The stages of sheetmark that a file imports, wherever in it, itself left out.

    `?` stands for an import whose name is made while the program runs.
    """
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            home = node.module or ""
            if node.level:
                parts = module.split(".")
                up = parts[: len(parts) - node.level + package]
                home = ".".join([*up, home] if home else up)
            if home == "sheetmark":
                found |= {
                    f"sheetmark.{alias.name}" for alias in node.names if alias.name != "__version__"
                }
            else:
                found.add(home)
        elif isinstance(node, ast.Name | ast.Attribute):
            name = node.id if isinstance(node, ast.Name) else node.attr
            if name in ("import_module", "__import__"):
                found.add("sheetmark.?")
    own = {name for name in found if name == "sheetmark" or name.startswith("sheetmark.")}
    return {stage_of(name) for name in own} - {stage_of(module)}


def wrong(source: str, module: str, *, package: bool = False) -> list[str]:
    """The stages that the file must not import."""
    stage = stage_of(module)
    below = set(ORDER[: ORDER.index(stage)]) - UNKNOWN_TO.get(stage, set())
    return sorted(imports(source, module, package=package) - below)


def files() -> list[tuple[Path, str]]:
    """Every file of the package with its module's name, but for the package's own `__init__`."""
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        if parts[-1] == "__init__":
            parts = parts[:-1]
        if parts:
            found.append((path, ".".join(("sheetmark", *parts))))
    return found


def test_imports_run_downwards_only() -> None:
    checked = files()
    assert len(checked) > 20
    stages = {stage_of(module) for _, module in checked}
    assert {"teeth", "arch", "plan", "documents", "render", "cli"} <= stages
    assert stages <= set(ORDER), "a new module needs a place in the order"
    upwards = [
        f"{path.relative_to(ROOT)} imports {stage}"
        for path, module in checked
        for stage in wrong(path.read_text("utf-8"), module, package=path.name == "__init__.py")
    ]
    assert upwards == []


def test_the_core_never_imports_the_command_line() -> None:
    core = [(path, module) for path, module in files() if stage_of(module) not in ORDER[-2:]]
    assert len(core) > 20
    for path, module in core:
        assert "cli" not in imports(path.read_text("utf-8"), module), path
    # The names that the package itself hands out are loaded when first used.
    assert sheetmark._HOMES
    assert {home.split(".")[0] for home in sheetmark._HOMES.values()} <= set(ORDER) - {
        "cli",
        "desk",
        "__main__",
    }


def test_importing_the_package_loads_no_stage() -> None:
    program = "import sheetmark, sys; print([m for m in sys.modules if 'sheetmark.' in m])"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", list(sheetmark._HOMES))
def test_every_name_handed_out_is_there(name: str) -> None:
    assert getattr(sheetmark, name).__name__ == name
    assert name in sheetmark.__all__


@pytest.mark.parametrize(
    ("source", "module", "expected"),
    [
        ("import sheetmark.plan", "sheetmark.teeth", ["plan"]),
        ("import sheetmark.plan as p", "sheetmark.teeth", ["plan"]),
        ("from sheetmark.arch.model import x", "sheetmark.teeth", ["arch"]),
        ("from sheetmark import plan", "sheetmark.teeth", ["plan"]),
        ("from sheetmark import make_plan", "sheetmark.teeth", ["make_plan"]),
        ("from . import plan", "sheetmark.teeth", ["plan"]),
        ("from .plan import x", "sheetmark.teeth", ["plan"]),
        ("from ..plan import x", "sheetmark.arch.model", ["plan"]),
        ("from .. import plan", "sheetmark.arch.model", ["plan"]),
        ("def f():\n    from sheetmark.cli.app import run", "sheetmark.plan", ["cli"]),
        ("if TYPE_CHECKING:\n    from sheetmark.plan import Plan", "sheetmark.holes", ["plan"]),
        ("from sheetmark.teeth import Tooth", "sheetmark.render.pdf", ["teeth"]),
        ("from sheetmark.arch.jaw import Arch", "sheetmark.isolation", ["arch"]),
        ("import_module('sheetmark.plan')", "sheetmark.teeth", ["?"]),
        ("importlib.import_module(name)", "sheetmark.teeth", ["?"]),
        ("import sheetmark", "sheetmark.teeth", ["sheetmark"]),
        # What is allowed.
        ("from sheetmark import __version__", "sheetmark.plan", []),
        ("from sheetmark.findings import InputError", "sheetmark.teeth", []),
        ("from .curves import Curve", "sheetmark.arch.model", []),
        ("from sheetmark.arch.jaw import Arch", "sheetmark.plan", []),
        ("import json\nfrom importlib.resources import files", "sheetmark.teeth", []),
    ],
)
def test_the_check_sees_every_form_of_import(source: str, module: str, expected: list[str]) -> None:
    assert wrong(source, module) == expected


def test_the_check_resolves_the_dots_of_a_package() -> None:
    assert wrong("from ..plan import x", "sheetmark.arch", package=True) == ["plan"]
    assert wrong("from .model import x", "sheetmark.arch", package=True) == []
