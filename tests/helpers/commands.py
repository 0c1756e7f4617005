"""Checks of a command that several rooms share: what it refuses, and what it loads."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from sheetmark.cli.app import run


def assert_refused(
    arguments: Sequence[str], problem: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command ends with 2 and one line that holds `problem`, and writes nothing."""
    assert run(list(arguments)) == 2
    error = capsys.readouterr().err.strip()
    assert problem in error
    assert len(error.splitlines()) == 1
    assert list(folder.iterdir()) == []


def modules_loaded_by(arguments: Sequence[str]) -> set[str]:
    """Names of all modules that a process of its own holds after the command."""
    program = (
        "import sys; from sheetmark.cli.app import run; "
        f"assert run({list(arguments)!r}) == 0; print(*sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return set(done.stdout.strip().splitlines()[-1].split())


def heavy_modules_loaded_by(arguments: Sequence[str]) -> set[str]:
    """Those of the libraries for computing and of the membrane that the command loads."""
    return {
        name
        for name in modules_loaded_by(arguments)
        if name.split(".")[0] in {"numpy", "scipy", "shapely"} or "membrane" in name
    }
