"""`sheetmark arch fit` with callipers: the model it writes, its recipe, and input it refuses."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.cli.app import run
from tests.helpers.fits import DAY, MEASURED, width

pytestmark = pytest.mark.usefixtures("few_mouths")

Capture = pytest.CaptureFixture[str]
Command = Callable[..., tuple[int, str, str]]


@pytest.fixture
def command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> Callable[..., tuple[int, str, str]]:
    """Runs `sheetmark arch fit` in an empty folder: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(["arch", "fit", *arguments])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return call


MEASURES = ("--measure", "upper canines 33.1", "--measure", "upper molars 46.0")


def test_the_command_writes_a_model_that_the_overlay_takes(
    command: Command, tmp_path: Path, capsys: Capture
) -> None:
    code, out, err = command("-o", "my-arch.toml", "--date", DAY, *MEASURES)
    assert code == 0
    assert err == "wrote my-arch.toml\n"
    assert out.startswith("my-arch: Upper jaw measured 2026-11-25, the rest from adult-mean.")
    assert re.search(r"upper canines +33\.10 +33\.0\d +-0\.0\d +31\.75 \(SD 2\.0\d\)\n", out)
    assert "  every place: that of adult-mean, moved by what was measured\n" in out
    assert "\nlower jaw\n  from adult-mean: all of it\n" in out
    model = load_model("my-arch.toml")
    assert model.name == "my-arch"
    assert width(build_arch(model, "upper"), "3") == pytest.approx(33.1, abs=0.06)
    assert run(["overlay", "16", "--arch", "my-arch.toml", "-o", "case.json"]) == 0
    plan = msgspec.json.decode((tmp_path / "case.json").read_bytes())
    assert plan["arch"]["model"] == "my-arch"
    centres = plan["arch"]["centres_mm"]
    assert centres["23"][0] - centres["13"][0] == pytest.approx(33.1, abs=0.06)
    assert centres["26"][0] - centres["16"][0] == pytest.approx(46.0, abs=0.06)
    capsys.readouterr()
    assert run(["arch", "show", "my-arch.toml"]) == 0
    assert f"measured: {MEASURED}" in capsys.readouterr().out


def test_the_file_carries_the_command_that_made_it(command: Command, tmp_path: Path) -> None:
    measures = ("--measure", "canines 32; molars 50")
    arguments = ("--date", DAY, *measures, "--point", "cusp-tips", "--jaw", "upper")
    assert command("-o", "own.toml", *arguments)[0] == 0
    first = (tmp_path / "own.toml").read_bytes()
    recipe = next(line for line in first.decode().splitlines() if "arch fit" in line)
    assert recipe.endswith(
        "sheetmark arch fit --name own --date 2026-11-25 --measure 'canines 32; molars 50' "
        "--point cusp-tips --jaw upper"
    )
    assert command("-o", "own.toml", *arguments)[0] == 0
    assert (tmp_path / "own.toml").read_bytes() == first


def test_warnings_go_to_stderr_and_into_the_file(command: Command, tmp_path: Path) -> None:
    code, out, err = command("-o", "own.toml", "--date", DAY, *MEASURES, "--measure", "16 13")
    assert code == 0
    assert err.startswith("warning: 16: 13 mm is 3.7 SDs from the usual 10.66 (SD ")
    assert "warning" not in out
    assert f"# {err.splitlines()[0]}\n" in (tmp_path / "own.toml").read_text()


def test_without_a_file_the_figures_are_printed(command: Command, tmp_path: Path) -> None:
    code, out, err = command("--date", DAY, *MEASURES)
    assert code == 0
    assert re.search(r"upper depth +- +[\d.]+ \(SD [\d.]+\)", out)
    assert err == "no model file written; add -o my-arch.toml\n"
    assert list(tmp_path.iterdir()) == []


def test_a_date_is_written_only_where_one_was_given(command: Command, tmp_path: Path) -> None:
    model = tmp_path / "own.toml"
    for typed, source in (((), "no date given"), (("--date", DAY), f"{DAY}, date given")):
        assert command(*typed, *MEASURES, "-o", "own.toml")[0] == 0
        text = model.read_text()
        assert f"measured, {source} by the user" in text
        assert ("--date" in text, DAY in text) == (bool(typed), bool(typed))


BAD = {
    "no day": (("--date", "25.11.2026", *MEASURES), "date '25.11.2026': not a date"),
    "nothing measured": (("--date", DAY), "nothing measured: add --measure"),
    "another ending": (("--date", DAY, "-o", "own.txt", *MEASURES), "must end in .toml"),
    "another picture": (
        ("--date", DAY, "--picture", "a.png", *MEASURES),
        "a PNG shows one scan, so name one for each scan, or .svg or .pdf for the arch",
    ),
    "a shipped name": (("--date", DAY, "-o", "age-8.toml", *MEASURES), "a shipped model has it"),
    "a name that is none": (("--date", DAY, "--name", "My Arch", *MEASURES), "name 'My Arch'"),
    "no base": (("--date", DAY, "--base", "huge", *MEASURES), "arch model 'huge'"),
    "no point": (("--date", DAY, "--point", "tips", *MEASURES), "did you mean cusp-tips?"),
    "no jaw": (("--date", DAY, "--jaw", "left", *MEASURES), "jaw 'left': use one of"),
    "no such file": (("--date", DAY, "--landmarks", "none.csv"), "none.csv: cannot be read"),
    "no file name": (("--date", DAY, "--landmarks", "a\0b"), "not a file name"),
    "no folder": (("--date", DAY, "-o", "none/own.toml", *MEASURES), "cannot be written"),
    "impossible": (
        ("--date", DAY, "-o", "own.toml", "--measure", "upper canines 47; upper molars 46"),
        "no mouth has that: 7.6 SDs from",
    ),
}


@pytest.mark.parametrize(("arguments", "problem"), BAD.values(), ids=BAD)
def test_bad_input_is_one_line_and_writes_nothing(
    command: Command, tmp_path: Path, arguments: tuple[str, ...], problem: str
) -> None:
    old = tmp_path / "own.toml"
    old.write_text('format = "sheetmark-arch/1"\n')
    code, out, err = command(*arguments)
    assert (code, out) == (2, "")
    assert err.startswith("sheetmark: error: ")
    assert problem in err
    assert err.count("\n") == 1
    assert old.read_text() == 'format = "sheetmark-arch/1"\n'
    assert [path.name for path in tmp_path.iterdir()] == ["own.toml"]


def test_a_picture_that_cannot_be_written_leaves_the_model_alone(
    command: Command, tmp_path: Path
) -> None:
    (tmp_path / "own.toml").write_text("old")
    (tmp_path / "arch.svg").mkdir()
    arguments = ("-o", "own.toml", "--picture", "arch.svg", "--date", DAY, *MEASURES)
    assert command(*arguments)[0] == 2
    assert (tmp_path / "own.toml").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["arch.svg", "own.toml"]
