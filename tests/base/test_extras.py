"""A plain install does the daily work; what needs an extra says which, in one line."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from sheetmark.base import extras
from sheetmark.base.extras import EXTRAS, PARTS, left_out, left_out_line, not_installed
from tests.helpers.paths import ROOT

LANDMARKS = str(ROOT / "examples" / "landmarks.csv")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


WITHOUT_EXTRAS = f"import sys; sys.modules.update(dict.fromkeys({sorted(EXTRAS)!r}))\n"


def run_without_extras(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The command line in a process in which no library of an extra can be imported."""
    program = "from sheetmark.cli.app import run; sys.exit(run(sys.argv[1:]))"
    return subprocess.run(
        [sys.executable, "-c", WITHOUT_EXTRAS + program, *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


DAILY_WORK: tuple[tuple[str, ...], ...] = (
    ("overlay", "16", "-o", "case.pdf", "-o", "case.svg", "-o", "case.json"),
    ("overlay", "24", "--with", "24-26 bridge", "--slit", "24-26", "-o", "case.pdf"),
    ("overlay", "75", "--age", "7", "-o", "case.pdf"),
    ("overlay", "16", "--measure", "row 14-17 35.2", "-o", "case.pdf"),
    ("arch", "fit", "--date", "2026-11-25", "--measure", "upper canines 33", "-o", "own.toml"),
    ("arch", "fit", "--date", "2026-11-25", "--landmarks", LANDMARKS, "-o", "own.toml"),
    ("day", str(ROOT / "examples" / "day.csv"), "-o", "day.pdf"),
    ("drawer", "--for", "root-canal", "-o", "drawer.pdf"),
    ("handout", "arch-map", "-o", "map.pdf"),
    ("handout", "exercise", "-o", "exercise.pdf"),
    ("arch", "list"),
    ("arch", "show", "adult-mean"),
    ("practice", "show"),
    ("printer", "page", "-o", "test.pdf"),
)
# Each command in turn, in a folder of its own: what cannot be imported stays so.
ALL_OF_IT = """
import contextlib, io, json, os
from sheetmark.cli.app import run
ends = []
for number, command in enumerate(json.load(sys.stdin)):
    os.mkdir(str(number))
    os.chdir(str(number))
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(command)
    ends.append((code, err.getvalue(), len(os.listdir())))
    os.chdir("..")
print(json.dumps(ends))
"""


@pytest.fixture(scope="module")
def daily_work(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, ...], list[Any]]:
    """Of each command its exit code, its errors, and how many files it wrote."""
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_EXTRAS + ALL_OF_IT],
        cwd=tmp_path_factory.mktemp("daily-work"),
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        input=json.dumps(DAILY_WORK),
        capture_output=True,
        text=True,
        check=True,
    )
    return dict(zip(DAILY_WORK, json.loads(done.stdout), strict=True))


@pytest.mark.parametrize("arguments", DAILY_WORK, ids=" ".join)
def test_a_plain_install_does_the_daily_work(
    daily_work: dict[tuple[str, ...], list[Any]], arguments: tuple[str, ...]
) -> None:
    code, errors, files = daily_work[arguments]
    assert (code, errors.count("error:")) == (0, 0), errors
    assert files == arguments.count("-o")


@pytest.mark.parametrize(
    ("arguments", "extra"),
    [
        (("overlay", "16", "-o", "case.dxf"), "cut"),
        (("overlay", "16", "--slit", "16-15", "-o", "case.cut.svg"), "cut"),
        (("strain", "16", "-o", "strain.pdf"), "compute"),
        (("overlay", "16", "--shift", "even", "-o", "case.pdf"), "compute"),
        (("arch", "coverage"), "compute"),
        (("handout", "why-the-middle-moves", "-o", "middle.pdf"), "compute"),
        (("desk", "--port", "0", "--no-browser"), "desk"),
    ],
    ids=" ".join,
)
def test_what_needs_an_extra_says_which(
    tmp_path: Path, arguments: tuple[str, ...], extra: str
) -> None:
    done = run_without_extras(tmp_path, *arguments)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.rstrip().endswith(f'-m pip install "sheetmark[{extra}]"')
    assert list(tmp_path.iterdir()) == []


def test_each_extra_named_is_one_of_the_project() -> None:
    assert set(EXTRAS.values()) <= set(PROJECT["optional-dependencies"])
    # What an extra brings is not brought by the plain install.
    plain = {line.split(">")[0].lower() for line in PROJECT["dependencies"]}
    assert not plain & {name.lower() for name in EXTRAS}


def test_a_part_is_left_out_where_a_library_of_it_is_missing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert left_out() == ()
    assert left_out_line(()) == ""
    monkeypatch.setitem(sys.modules, "trimesh", None)
    monkeypatch.setitem(sys.modules, "fontTools", None)
    assert left_out() == ("scan", "stencil")
    assert left_out_line(left_out()) == (
        "Not installed here: scans of a jaw and stencils for a cutter. To add, type: "
        f'"{sys.executable}" -m pip install "sheetmark[cut,scan]"'
    )
    monkeypatch.setattr(extras, "_IN_ONE_FILE", True)
    assert left_out_line(("even",)) == (
        "Not in the page in one file: where the pull is most even. The installed program has them."
    )
    assert str(not_installed(ModuleNotFoundError("no", name="trimesh"))) == (
        "this is not in the page in one file; use the installed program"
    )


def test_each_part_needs_what_an_extra_brings() -> None:
    assert {library for _, needs in PARTS.values() for library in needs} <= EXTRAS.keys()


def test_another_library_is_left_alone() -> None:
    assert not_installed(ModuleNotFoundError("no such", name="nothing_of_ours")) is None
    assert not_installed(ModuleNotFoundError("no name")) is None
