"""A run that is stopped, at any moment: one line, its exit code, and nothing half written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from sheetmark.base.files import PART_ENDING
from tests.helpers.paths import ROOT

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="a process cannot be stopped alone there"
)

LINE = "sheetmark: stopped; nothing half written\n"
CODES = {signal.SIGINT: 130, signal.SIGTERM: 143} | (
    {signal.SIGHUP: 129} if hasattr(signal, "SIGHUP") else {}
)
DAY = [sys.executable, "-m", "sheetmark", "day", "list.csv", "-o", "day.pdf"]
OLD = b"%PDF-1.7 old\n"
every_signal = pytest.mark.parametrize(("number", "code"), CODES.items())


def started(folder: Path, env: Mapping[str, str] | None = None) -> subprocess.Popen[str]:
    (folder / "list.csv").write_text("teeth\n" + "16\n" * 4000)
    (folder / "day.pdf").write_bytes(OLD)
    return subprocess.Popen(
        DAY,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), **(env or {})},
        stderr=subprocess.PIPE,
        text=True,
    )


def parts(folder: Path) -> list[Path]:
    return [path for path in folder.iterdir() if path.name.endswith(PART_ENDING)]


@every_signal
def test_while_it_writes(number: signal.Signals, code: int, tmp_path: Path) -> None:
    with started(tmp_path) as running:
        while not parts(tmp_path):
            assert running.poll() is None
            time.sleep(0.01)
        running.send_signal(number)
        _, err = running.communicate(timeout=10)
    assert (running.returncode, err) == (code, LINE)
    assert parts(tmp_path) == []
    assert (tmp_path / "day.pdf").read_bytes() == OLD


@pytest.mark.parametrize("module", ["typer", "reportlab"])
@every_signal
def test_while_it_loads(module: str, number: signal.Signals, code: int, tmp_path: Path) -> None:
    """A library that takes for ever to load, and that swallows what is raised in it."""
    slow = tmp_path / "slow"
    slow.mkdir()
    (slow / f"{module}.py").write_text(
        "import pathlib, time\npathlib.Path('loading').touch()\n"
        "end = time.monotonic() + 20\n"
        "while time.monotonic() < end:\n    time.sleep(0.01)\n"
    )
    with started(tmp_path, {"PYTHONPATH": f"{slow}{os.pathsep}{ROOT}"}) as running:
        while not (tmp_path / "loading").exists():
            assert running.poll() is None
            time.sleep(0.01)
        running.send_signal(number)
        _, err = running.communicate(timeout=10)
    assert (running.returncode, err) == (code, LINE)
    assert parts(tmp_path) == []


def test_a_kill_leaves_the_old_file_and_the_next_run_tidies(tmp_path: Path) -> None:
    with started(tmp_path) as running:
        while not parts(tmp_path):
            assert running.poll() is None
            time.sleep(0.01)
        running.kill()
        running.communicate(timeout=10)
    assert (tmp_path / "day.pdf").read_bytes() == OLD
    (left,) = parts(tmp_path)
    os.utime(left, (0, 0))
    (tmp_path / "list.csv").write_text("teeth\n16\n")
    assert (
        subprocess.run([*DAY, "-q"], cwd=tmp_path, check=False, capture_output=True).returncode == 0
    )
    assert parts(tmp_path) == []
    assert (tmp_path / "day.pdf").stat().st_size > 1000


LOST = """
import os, signal, sys, time
from sheetmark.cli.stopped import Stopped, raise_stopped

class Closing:
    def __del__(self):
        os.kill(os.getpid(), {number})
        time.sleep(0.05)

signal.signal({number}, raise_stopped)
try:
    closing = Closing()
    del closing  # Python drops what is raised here
    time.sleep(20)
except Stopped as stopped:
    sys.exit(stopped.number + 100)
"""


@every_signal
def test_where_python_drops_the_exception(
    number: signal.Signals, code: int, tmp_path: Path
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOST.format(number=int(number))],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=10,  # the program waits for 20 s, and is woken
        check=False,
    )
    assert (done.returncode, done.stderr) == (100 + int(number), "")


@every_signal
def test_where_a_library_takes_it_for_an_error_of_its_own(
    number: signal.Signals, code: int, tmp_path: Path
) -> None:
    """As ReportLab does while it opens a font."""
    (tmp_path / "reportlab.py").write_text(
        f"import os\ntry:\n    os.kill(os.getpid(), {int(number)})\n    open('never')\n"
        "except:\n    raise ValueError('cannot open the file')\n"
    )
    with started(tmp_path, {"PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"}) as running:
        _, err = running.communicate(timeout=10)
    assert (running.returncode, err) == (code, LINE)
    assert (tmp_path / "day.pdf").read_bytes() == OLD


@pytest.mark.parametrize("name", ["SIGHUP", "SIGINT"])
def test_a_signal_that_is_ignored_from_the_start_stays_so(name: str, tmp_path: Path) -> None:
    """As `nohup` starts a program, and a shell a job in the background."""
    code = f"import signal, os, sys; signal.signal(signal.{name}, signal.SIG_IGN); "
    code += "os.execv(sys.executable, [sys.executable, *sys.argv[1:]])"
    (tmp_path / "list.csv").write_text("teeth\n" + "16\n" * 60)
    command = [sys.executable, "-c", code, *DAY[1:], "-q"]
    with subprocess.Popen(command, cwd=tmp_path, stderr=subprocess.PIPE, text=True) as running:
        while not parts(tmp_path):
            assert running.poll() is None
            time.sleep(0.01)
        running.send_signal(getattr(signal, name))
        _, err = running.communicate(timeout=20)
    assert (running.returncode, err) == (0, "")


@pytest.mark.parametrize(
    "arguments",
    [
        ["strain", "16", "-o", "missing/s.pdf"],
        ["arch", "coverage", "-o", "missing/c.json"],
        ["handout", "why-the-middle-moves", "-o", "missing/h.pdf"],
        ["overlay", "16", "--shift", "even", "-o", "missing/o.pdf"],
        ["day", "list.csv", "-o", "missing/d.pdf"],
        ["drawer", "-o", "missing/d.pdf"],
        ["arch", "fit", "--date", "2026-11-25", "--scan", "s.stl", "--picture", "missing/s.png"],
        ["strain", "16", "-o", "s.doc"],
    ],
)
def test_the_place_of_an_output_is_looked_at_before_the_work(
    arguments: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sheetmark.cli import app

    monkeypatch.chdir(tmp_path)

    def work(*_: object, **__: object) -> None:
        pytest.fail("it went to work")

    for module in ("coverage", "day", "drawer", "fitting", "handout", "overlay", "strain"):
        for name in ("practice_chosen", "load_model", "study"):
            monkeypatch.setattr(f"sheetmark.cli.{module}.{name}", work, raising=False)
    assert app.run(arguments) == 2
