"""Two who change one file at once, in processes of their own: no change is lost, and of a new file
one is told that it was kept."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

from sheetmark.base.findings import InputError
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.cli.app import run
from tests.helpers.many_starts import codes

# All wait for the same moment, then run one command each.
TOGETHER = """
import os, sys, time
from sheetmark.cli.app import run
import filelock, sheetmark.practice.file.edit
from sheetmark.cli import practice, printer
from sheetmark.jobs import fit
{prepare}
codes = []
for number in range({count}):
    child = os.fork()
    if not child:
        while time.time() < {moment}: pass
        os._exit(task(number))
    codes.append(child)
print(*(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in codes))
"""

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="Windows forks no process")


def together(prepare: str, count: int, folder: Path) -> list[int]:
    script = TOGETHER.format(prepare=prepare, count=count, moment="start + 0.1").replace(
        "codes = []", "start = time.time()\ncodes = []"
    )
    return codes(script, folder, seconds=120)


def names(path: Path) -> Sequence[str]:
    return sorted(row["name"] for row in tomllib.loads(path.read_text("utf-8"))["printers"])


def test_no_printer_is_lost_when_several_are_set_at_once(tmp_path: Path) -> None:
    path = tmp_path / "clinic.toml"
    assert run(["practice", "init", "--yes", "-o", str(path)]) == 0
    task = (
        "def task(n):\n    return run(['printer', 'set', '--x', '149.9', '--y', '150',"
        " '--name', f'p{n}', '--practice', 'clinic.toml'])"
    )
    assert together(task, 4, tmp_path) == [0] * 4
    assert names(path) == [f"p{n}" for n in range(4)]


def test_of_several_who_keep_one_arch_one_is_refused(tmp_path: Path) -> None:
    task = """
from sheetmark.base.findings import InputError
from sheetmark.jobs import fit
class Model:
    name = "ours"
    def __init__(self, n): self.file = f'format = "sheetmark-arch/1" # {n}'.encode()
def task(n):
    try:
        fit.keep(Model(n), replace=False)
    except InputError:
        return 2
    return 0
"""
    assert sorted(together(task, 4, tmp_path)) == [0, 2, 2, 2]


def test_of_several_who_begin_one_practice_file_one_is_refused(tmp_path: Path) -> None:
    task = "def task(n):\n    return run(['practice', 'init', '--yes', '-o', 'clinic.toml'])"
    assert sorted(together(task, 4, tmp_path)) == [0, 2, 2, 2]


def test_one_who_waits_too_long_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "clinic.toml"
    monkeypatch.setattr("sheetmark.base.one_at_a_time._SECONDS", 0.05)
    with (
        one_at_a_time(path),
        pytest.raises(InputError, match="another sheetmark is changing it; try again"),
        one_at_a_time(path),
    ):
        pytest.fail("two had it at once")
    with one_at_a_time(path):
        pass


def test_a_folder_that_takes_no_lock_is_named(tmp_path: Path) -> None:
    path = tmp_path / "missing" / "clinic.toml"
    with pytest.raises(InputError, match=r"clinic\.toml: cannot be written"), one_at_a_time(path):
        pytest.fail("there is no such folder")
