"""A built wheel, installed into another folder: all it needs of the project is inside it."""

from __future__ import annotations

import os
import subprocess
import sys
from configparser import ConfigParser
from email import message_from_string
from pathlib import Path

import pytest

import sheetmark
from sheetmark.anatomy.arch_model import model_names
from sheetmark.anatomy.teeth import read
from sheetmark.case.case import Case
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from tests.helpers.paths import ROOT


def run(*arguments: str, cwd: Path, installed: Path | None = None) -> str:
    """Run Python and give its standard output; with `installed`, that folder comes first.

    Libraries come from the environment of the tests.
    """
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    if installed:
        environment["PYTHONPATH"] = str(installed)
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    wheels, target = tmp_path_factory.mktemp("wheels"), tmp_path_factory.mktemp("installed")
    run("-m", "hatchling", "build", "--target", "wheel", "--directory", str(wheels), cwd=ROOT)
    (wheel,) = wheels.glob("*.whl")
    install = ["install", "--quiet", "--no-index", "--no-deps", "--target", str(target)]
    run("-m", "pip", *install, str(wheel), cwd=wheels)
    return target


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """A folder that is neither the project's nor the installed one."""
    assert not (tmp_path / "sheetmark").exists()
    return tmp_path


def test_the_installed_package_is_the_one_that_runs(installed: Path, elsewhere: Path) -> None:
    program = (
        "import sheetmark; from sheetmark.anatomy.arch_model import data_folder;"
        "print(sheetmark.__file__); print(data_folder())"
    )
    package, data = run("-c", program, cwd=elsewhere, installed=installed).splitlines()
    assert Path(package) == installed / "sheetmark" / "__init__.py"
    assert Path(data) == installed / "sheetmark" / "arch_models"
    assert not (installed / "arch_models").exists()


def test_every_file_of_the_package_and_its_data_is_inside(installed: Path) -> None:
    def inside(folder: Path) -> set[str]:
        return {
            path.relative_to(folder).as_posix()
            for path in folder.rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }

    data = {f"arch_models/{name}" for name in inside(ROOT / "arch_models")}
    assert len(data) == len(model_names()) + 1
    assert "py.typed" in inside(installed / "sheetmark")
    assert inside(installed / "sheetmark") == inside(ROOT / "sheetmark") | data
    # Nothing else comes with it but its own description.
    others = [path.name for path in installed.iterdir() if path.name not in ("sheetmark", "bin")]
    assert others == [f"sheetmark-{sheetmark.__version__}.dist-info"]


def test_the_description_of_the_package(installed: Path) -> None:
    (folder,) = installed.glob("*.dist-info")
    description = message_from_string((folder / "METADATA").read_text("utf-8"))
    assert description["Version"] == sheetmark.__version__
    assert description["Requires-Python"] == ">=3.11"
    assert (folder / "licenses" / "LICENSE").read_text("utf-8").startswith("MIT License")
    scripts = ConfigParser()
    scripts.read_string((folder / "entry_points.txt").read_text("utf-8"))
    assert dict(scripts["console_scripts"]) == {"sheetmark": "sheetmark.__main__:main"}


def test_arch_models_are_listed_and_shown_from_elsewhere(installed: Path, elsewhere: Path) -> None:
    listed = run("-m", "sheetmark", "arch", "list", cwd=elsewhere, installed=installed)
    assert tuple(line.split()[0] for line in listed.splitlines()) == model_names()
    shown = run("-m", "sheetmark", "arch", "show", "adult-mean", cwd=elsewhere, installed=installed)
    assert shown.startswith("adult-mean: ")


def test_an_overlay_is_written_from_elsewhere(installed: Path, elsewhere: Path) -> None:
    run("-m", "sheetmark", "overlay", "16", "-o", "case.pdf", cwd=elsewhere, installed=installed)
    written = (elsewhere / "case.pdf").read_bytes()
    assert written.startswith(b"%PDF-")
    # The same bytes as from the source tree, in this process.
    assert written == render_plan(make_plan(Case(treat=(read("16", "iso"),))), "pdf")
    assert [path.name for path in elsewhere.iterdir()] == ["case.pdf"]


def test_the_installed_desk_has_its_page(installed: Path, elsewhere: Path) -> None:
    program = (
        "import sheetmark.desk.server.pages as pages;"
        "print(pages.__file__); print(*pages.page_files())"
    )
    module, names = run("-c", program, cwd=elsewhere, installed=installed).splitlines()
    assert Path(module).is_relative_to(installed)
    page = ROOT / "sheetmark" / "desk" / "page"
    own = {path.relative_to(page).as_posix() for path in page.rglob("*") if path.is_file()}
    assert "case/view.js" in own
    assert set(names.split()) == own - {"fonts/OFL.txt"}
