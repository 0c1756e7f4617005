"""What every command does alike: help, examples, loudness, numbers, and how it is stopped."""

from __future__ import annotations

import os
import re
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import typer
from typer.main import get_command

from sheetmark.base.findings import InputError
from sheetmark.base.version import __version__
from sheetmark.case.case import PROCEDURES, read_procedure
from sheetmark.case.exceptions import TERMS, read_states
from sheetmark.case.terms import known_terms, meant, plain
from sheetmark.cli import app
from sheetmark.cli.app import program, run
from sheetmark.cli.examples import EXAMPLES
from sheetmark.cli.progress import working
from sheetmark.cli.talk import set_loudness
from tests.helpers.paths import ROOT

Output = pytest.CaptureFixture[str]

FILES = ROOT / "examples"
# They look into the practice file, which no test of ours has in the user's folder.
STORED = {
    "practice tray",
    "day map",
    "practice check",
    "printer list",
    "printer remove",
    "printer set",
}
# They take long or serve until they are stopped; others test them.
NOT_RUN = {"desk", "strain", "drawer", "arch coverage", "check", "check photo", "printer card"}


def all_commands() -> dict[str, list[str]]:
    """The names of every command and group, each with its parameters' metavars."""
    found: dict[str, list[str]] = {}

    def walk(name: str, command: object) -> None:
        found[name] = [
            parameter.make_metavar(typer.Context(command))  # type: ignore[arg-type]
            for parameter in getattr(command, "params", ())
            if not getattr(parameter, "is_flag", False)
        ]
        for child, inner in getattr(command, "commands", {}).items():
            if inner.hidden:
                continue
            walk(f"{name} {child}".strip(), inner)

    walk("", get_command(program()))
    return found


def test_every_command_has_two_examples_and_metavars_that_tell() -> None:
    commands = all_commands()
    assert set(commands) == set(EXAMPLES)
    assert len(commands) > 15
    for name, metavars in commands.items():
        assert all(line.startswith(f"sheetmark {name}".strip()) for line in EXAMPLES[name])
        for metavar in metavars:
            assert not re.search(r"str|int|float|<", metavar), (name, metavar)


def test_the_list_of_commands_names_each_as_its_own_help_does() -> None:
    listed, real = get_command(app._listing()), get_command(program())

    def lines(group: object) -> dict[str, str]:
        commands = getattr(group, "commands")  # noqa: B009  typer's group has no public name
        return {name: command.get_short_help_str(200) for name, command in commands.items()}

    assert lines(listed) == lines(real)


LIGHT = """
import sys
from sheetmark.cli.app import run
assert run(sys.argv[1:]) == 0
print(*[name for name in sys.modules if name.startswith("sheetmark.cli.")])
"""


@pytest.mark.parametrize("arguments", [[], ["-h"], ["--help"]], ids=" ".join)
def test_help_loads_no_command(arguments: list[str]) -> None:
    typed = [sys.executable, "-c", LIGHT, *arguments]
    done = subprocess.run(typed, capture_output=True, text=True, check=True)
    assert "  overlay   Plan one case" in done.stdout
    loaded = set(done.stdout.splitlines()[-1].split())
    assert not loaded & {f"sheetmark.cli.{name}" for name in app.COMMANDS}


def test_the_version_is_shown_without_the_program() -> None:
    typed = [sys.executable, "-X", "importtime", "-m", "sheetmark", "--version"]
    done = subprocess.run(typed, capture_output=True, text=True, check=True)
    assert done.stdout == f"sheetmark {__version__}\n"
    assert "typer" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device on this system")
def test_a_version_that_cannot_be_written_is_an_error() -> None:
    with Path("/dev/full").open("w") as full:
        typed = [sys.executable, "-m", "sheetmark", "--version"]
        done = subprocess.run(typed, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert "check where it goes and its free space" in done.stderr


@pytest.mark.parametrize("name", sorted(NOT_RUN - {"check"}))
def test_the_other_examples_are_understood(name: str) -> None:
    command = get_command(program())
    for word in name.split():
        command = getattr(command, "commands")[word]  # noqa: B009  typer's group has no public name
    for line in EXAMPLES[name]:
        typed = shlex.split(line.removeprefix(f"sheetmark {name}"))
        assert command.make_context(name, typed).params


@pytest.mark.parametrize("name", sorted(set(EXAMPLES) - NOT_RUN - {"practice", "printer", ""}))
def test_the_examples_run(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("time;teeth\n8:30;16\n")
    (tmp_path / "clamps.csv").write_text("label,kind,winged\nA,molar,yes\n")
    (tmp_path / "points.csv").write_bytes((FILES / "landmarks.csv").read_bytes())
    # The examples of `printer set` begin with a clinic's first printer.
    own = (
        b'format = "sheetmark-practice/1"\n'
        if name == "printer set"
        else (FILES / "practice.toml").read_bytes()
    )
    for line in EXAMPLES[name]:
        typed = shlex.split(line.partition(" > ")[0])[1:]
        if name == "practice init":
            typed += [] if "-o" in typed else ["--yes", "-o", "mine.toml"]
        else:
            (tmp_path / "practice.toml").write_bytes(own)
            typed += (
                ["--practice", "practice.toml"]
                if name in STORED and "--practice" not in typed
                else []
            )
        assert run(typed) == 0, (line, capsys.readouterr().err)
        for number, word in enumerate(typed):
            if word == "-o":
                assert (tmp_path / typed[number + 1]).stat().st_size > 50


@pytest.mark.parametrize("typed", [[], ["arch"], ["case"], ["practice"], ["printer"]])
def test_a_bare_group_shows_its_help(typed: list[str], capsys: Output) -> None:
    assert run(typed) == 0
    out, err = capsys.readouterr()
    assert out.startswith(" ".join(["Usage: sheetmark", *typed]))
    assert err == ""
    for letter in ("-h", "--help"):
        assert run([*typed, letter]) == 0
        assert capsys.readouterr().out == out


def test_quiet_leaves_what_needs_a_person(capsys: Output, tmp_path: Path) -> None:
    path = tmp_path / "case.pdf"
    assert run(["overlay", "16", "-q", "-o", str(path)]) == 0
    assert capsys.readouterr() == ("", "")
    assert (
        run(["overlay", "36", "--sheet", "127", "--for", "full-arch", "-q", "-o", str(path)]) == 0
    )
    out, err = capsys.readouterr()
    assert out == ""
    assert all(line.startswith("warning: ") for line in err.splitlines())
    assert err


def test_verbose_says_what_was_used(capsys: Output) -> None:
    assert run(["overlay", "16", "-v"]) == 0
    err = capsys.readouterr().err
    assert "practice file: " in err
    assert "arch model adult-mean; made again by: sheetmark overlay 16" in err
    assert re.search(r"took \d+\.\d s\n$", err)


def test_verbose_shows_where_a_defect_is(capsys: Output, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr("sheetmark.cli.overlay.render_plans", broken)
    monkeypatch.setattr("sheetmark.cli.overlay._report", broken)
    assert run(["overlay", "16"]) == 1
    assert "Traceback" not in capsys.readouterr().err
    assert run(["overlay", "16", "-v"]) == 1
    assert "in broken" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("comma", "point"),
    [
        (["--ease", "0,5"], ["--ease", "0.5"]),
        (["--sheet", "152,4"], ["--sheet", "152.4"]),
        (["--punch", "0,5;1;1,5;2;2,5"], ["--punch", "0.5,1,1.5,2,2.5"]),
        (["--with", "15 facial 1,5"], ["--with", "15 facial 1.5"]),
        (["--measure", "16 10,4"], ["--measure", "16 10.4"]),
    ],
)
def test_a_decimal_comma_is_a_point(comma: list[str], point: list[str], tmp_path: Path) -> None:
    files = tmp_path / "comma.json", tmp_path / "point.json"
    for typed, file in zip((comma, point), files, strict=True):
        assert run(["overlay", "16", *typed, "-o", str(file)]) == 0
    assert files[0].read_bytes() == files[1].read_bytes()


def test_terms_of_other_languages_lead_to_ours() -> None:
    for word, procedure in {"filling": "restoration", "Füllung": "restoration",
                            "Wurzelkanalbehandlung": "root-canal", "couronne": "crown",
                            "endodoncia": "root-canal"}.items():  # fmt: skip
        with pytest.raises(InputError, match=f"did you mean {procedure}"):
            read_procedure(word)
    with pytest.raises(InputError, match="did you mean missing"):
        read_states(["16 fehlt"], "iso")


def test_the_table_of_terms_is_whole() -> None:
    """Each word has one meaning, and each meaning is one that there is."""
    assert set(known_terms("procedure").values()) == set(PROCEDURES)
    assert set(known_terms("state").values()) <= set(TERMS)
    assert len(known_terms("heading")) > 80
    assert meant("Endo / Wurzelkanalbehandlung", known_terms("procedure")) == {"root-canal"}
    assert meant("Krone, Füllung", known_terms("procedure")) == {"crown", "restoration"}
    assert plain("N° de Dent(s)") == "n de dent s"


def test_progress_is_for_a_person_who_looks_on(
    monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    for terminal, quiet, shown in ((True, False, True), (True, True, False), (False, False, False)):
        monkeypatch.setattr("sys.stderr.isatty", lambda terminal=terminal: terminal)
        set_loudness(quiet=quiet)
        with working("computing"):
            time.sleep(0.15)  # it is drawn ten times a second
        assert ("computing" in capsys.readouterr().err) == shown
    set_loudness()


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be interrupted alone there")
def test_ctrl_c_ends_with_one_line_and_nothing_half_written(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("teeth\n" + "16\n" * 4000)
    command = [sys.executable, "-m", "sheetmark", "day", "list.csv", "-o", "day.pdf"]
    with subprocess.Popen(command, cwd=tmp_path, stderr=subprocess.PIPE, text=True) as running:
        while len(list(tmp_path.iterdir())) < 2:  # the file in the making stands beside
            assert running.poll() is None
            time.sleep(0.02)
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=5)
    assert err == "sheetmark: stopped; nothing half written\n"
    assert running.returncode == 130
    assert [file.name for file in tmp_path.iterdir()] == ["list.csv"]


@pytest.mark.skipif(sys.platform == "win32", reason="its shell closes no streams")
@pytest.mark.parametrize(
    ("closed", "teeth", "code"), [(">&-", "16", 0), ("2>&-", "16", 0), (">&- 2>&- <&-", "99", 2)]
)
def test_closed_streams_are_no_defect(closed: str, teeth: str, code: int, tmp_path: Path) -> None:
    typed = shlex.join([sys.executable, "-m", "sheetmark", "overlay", teeth, "-o", "a.pdf"])
    done = subprocess.run(
        ["sh", "-c", f"{typed} {closed}"], cwd=tmp_path, capture_output=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == code
    assert b"defect" not in done.stderr
    if code == 0:
        pdf = (tmp_path / "a.pdf").read_bytes()
        assert pdf.startswith(b"%PDF-")
        assert b"sheetmark:" not in pdf
