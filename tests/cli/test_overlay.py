"""`sheetmark overlay`: every option, what goes to which stream, and the ways to start it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from sheetmark.base.version import __version__
from sheetmark.cli import overlay
from sheetmark.cli.app import COMMANDS, main, run
from tests.helpers.cases import run_json
from tests.helpers.paths import ROOT

Output = pytest.CaptureFixture[str]
EXAMPLE = ROOT / "examples" / "practice.toml"

USUAL = """\
tooth  role     punch hole  mm
17     anchor   5           2.5
16     treated  4           2
15     exposed  3           1.5
14     exposed  3           1.5
clamp 17: molar winged (winged: goes in with the sheet)
"""

# What is typed behind `sheetmark overlay`, where to look in the plan, and what stands there.
OPTIONS: list[tuple[str, Callable[[dict[str, Any]], Any], Any]] = [
    ("16", lambda plan: plan["isolated"], ["17", "16", "15", "14"]),
    ("16 14", lambda plan: plan["treated"], ["16", "14"]),
    ("16,14", lambda plan: plan["treated"], ["16", "14"]),
    ("14 16 14", lambda plan: plan["case"]["treat"], ["14", "16"]),
    ("3 --notation universal", lambda plan: plan["treated"], ["16"]),
    ("ur6 --notation Palmer", lambda plan: plan["treated"], ["16"]),
    ("16 --for root-canal", lambda plan: plan["isolated"], ["16"]),
    ("16 --for CROWN", lambda plan: plan["case"]["procedure"], "crown"),
    ("16 --expose 17-15", lambda plan: plan["isolated"], ["17", "16", "15"]),
    ("16 --expose 17 --expose 16,14", lambda plan: plan["isolated"], ["17", "16", "14"]),
    ("16 --more 1", lambda plan: plan["isolated"][-1], "13"),
    ("16 --missing 15,24", lambda plan: plan["isolated"], ["17", "16", "14", "13"]),
    ("16 --missing 15 --missing 14", lambda plan: plan["isolated"], ["17", "16", "13", "12"]),
    ("17 --present 18", lambda plan: plan["anchors"], ["18"]),
    ("16 --with 15=missing", lambda plan: plan["isolated"], ["17", "16", "14", "13"]),
    ("16 --anchor 14", lambda plan: plan["anchors"], ["14"]),
    ("16 --slit 15-14", lambda plan: plan["slots"][0]["teeth"], ["15", "14"]),
    ("16 --access tight", lambda plan: plan["case"]["access"], "tight"),
    ("75 --age 6", lambda plan: plan["treated"], ["75"]),
    ("75 --age 6", lambda plan: plan["arch"]["model"], "age-6"),
    ("16 --arch adult-male", lambda plan: plan["arch"]["model"], "adult-male"),
    ("16 --sheet 152", lambda plan: plan["sheet"]["width_mm"], 152),
    ("16 --sheet 127", lambda plan: plan["sheet"]["height_mm"], 127),
    ("16 --sheet 140x130", lambda plan: plan["sheet"]["width_mm"], 140),
    ("16 --sheet 140X130", lambda plan: plan["sheet"]["height_mm"], 130),
    ("16 --sheet 140.5", lambda plan: plan["sheet"]["height_mm"], 140.5),
    ("16", lambda plan: (plan["page"]["width_mm"], plan["page"]["height_mm"]), (210, 297)),
    ("16 --paper letter", lambda plan: plan["page"]["width_mm"], 215.9),
    ("16 --paper LETTER", lambda plan: plan["page"]["height_mm"], 279.4),
    ("16 --paper A4", lambda plan: plan["page"]["paper"], "A4"),
    ("16 --punch 1,2,2.5", lambda plan: plan["settings"]["punch_mm"], [1, 2, 2.5]),
    ("16 --punch 0.3,5", lambda plan: plan["settings"]["punch_mm"], [0.3, 5]),
    ("16 --material nitrile", lambda plan: plan["settings"]["material"], "nitrile"),
    ("14 --row short", lambda plan: plan["anchors"], ["15"]),
    ("11 --hold ligature", lambda plan: plan["clamps"], []),
    ("16 --sizing two-size", lambda plan: plan["holes"][2]["diameter_mm"], 2),
    ("16 --ease 0.5", lambda plan: plan["settings"]["ease_mm"], 0.5),
    ("16 --no-shift", lambda plan: plan["sheet"]["shift_mm"], [0, 0]),
    ("16 --shift rule", lambda plan: plan["sheet"]["shift_mm"][0] < -5, True),
    ("16 --printer none", lambda plan: plan["command"], "sheetmark overlay 16"),
    ("16 --reference chair-2", lambda plan: plan["case"]["reference"], "chair-2"),
    (f"16 --practice {EXAMPLE}", lambda plan: plan["holes"][0]["punch_label"], "V"),
]


@pytest.mark.parametrize(("typed", "look", "expected"), OPTIONS, ids=[row[0] for row in OPTIONS])
def test_options(typed: str, look: Callable[[dict[str, Any]], Any], expected: Any) -> None:
    arguments = [word.replace("=", " ") for word in typed.split()]
    assert look(run_json(*arguments)) == expected


def test_help_names_every_option(capsys: Output) -> None:
    assert run(["overlay", "--help"]) == 0
    out, err = capsys.readouterr()
    tried = {word for typed, _, _ in OPTIONS for word in typed.split() if word.startswith("--")}
    named = {word for word in out.replace(",", " ").split() if word.startswith("--")}
    # Practice files, case files, measures, cards and stencils have tests of their own.
    elsewhere = {"--output", "--practice", "--case", "--measure", "--pen", "--kerf", "--help"}
    elsewhere |= {"--quiet", "--verbose", "--force", "--card"}
    assert named == tried | elsewhere
    assert "-o" in out.replace(",", " ").split()
    assert err == ""


def test_the_table_goes_to_stdout_and_the_messages_to_stderr(
    capsys: Output, tmp_path: Path
) -> None:
    path = tmp_path / "case.json"
    assert run(["overlay", "16", "-o", str(path)]) == 0
    out, err = capsys.readouterr()
    assert out == USUAL
    assert err == f"wrote {path}\n"
    rows = [line.split() for line in out.splitlines()[1:-1]]
    assert rows == [
        [hole["tooth"], hole["role"], str(hole["punch_position"]), f"{hole['diameter_mm']:g}"]
        for hole in json.loads(path.read_bytes())["holes"]
    ]


def test_the_table_speaks_the_notation_of_the_case(capsys: Output) -> None:
    assert run(["overlay", "UR6", "--notation", "palmer"]) == 0
    out = capsys.readouterr().out
    first = [line.split()[0] for line in out.splitlines()]
    assert first == ["tooth", "UR7", "UR6", "UR5", "UR4", "clamp"]
    assert "\nclamp UR7: " in out


def test_a_treated_anchor_is_starred_and_findings_go_to_stderr(capsys: Output) -> None:
    assert run(["overlay", "46", "--missing", "47"]) == 0
    out, err = capsys.readouterr()
    assert "46     anchor*  5           2.5\n" in out
    assert "\n* also the tooth to treat\n" in out
    assert out.splitlines()[-1].startswith("clamp 46: molar winged (")
    assert "warning: No tooth behind 46, so it is itself the anchor." in err
    assert "warning" not in out


def test_without_a_file_the_table_comes_with_a_hint(capsys: Output) -> None:
    assert run(["overlay", "16"]) == 0
    out, err = capsys.readouterr()
    assert out == USUAL
    assert err == "no file written; add -o case.pdf\n"


def test_several_files_of_several_sorts(capsys: Output, tmp_path: Path) -> None:
    paths = [tmp_path / name for name in ("a.pdf", "b.svg", "c.json", "D.PDF")]
    options = [word for path in paths for word in ("-o", str(path))]
    assert run(["overlay", "16", *options, "--output", str(paths[0])]) == 0
    err = capsys.readouterr().err
    assert err.splitlines() == [f"wrote {path}" for path in paths]
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    pdf, svg, plan, again = (path.read_bytes() for path in paths)
    assert pdf == again
    assert pdf.startswith(b"%PDF-1.7")
    assert b"<svg" in svg[:400]
    assert json.loads(plan)["format"] == "sheetmark-plan/1"


def test_an_old_file_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    assert run(["overlay", "26", "-o", str(path)]) == 0
    assert run(["overlay", "16", "-o", str(path)]) == 0
    assert json.loads(path.read_bytes())["treated"] == ["16"]


def test_version(capsys: Output) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"sheetmark {__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "code"), [(["--version"], 0), (["overlay", "16"], 0), (["overlay", "99"], 2)]
)
def test_the_program_leaves_with_the_exit_code(arguments: list[str], code: int) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == code


@pytest.mark.parametrize(
    "start",
    [
        [sys.executable, "-m", "sheetmark"],
        [str(Path(sys.executable).with_name("sheetmark"))],
    ],
    ids=["module", "script"],
)
def test_both_ways_to_start_it_from_any_folder(start: list[str], tmp_path: Path) -> None:
    done = subprocess.run(
        [*start, "overlay", "16", "-o", "case.pdf"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, USUAL, "wrote case.pdf\n")
    assert [path.name for path in tmp_path.iterdir()] == ["case.pdf"]


@pytest.mark.parametrize(
    ("wording", "offers"),
    [
        ("overlay 16 --notation ", {"iso", "universal", "palmer"}),
        ("overlay 16 --for ", {"restoration", "crown", "root-canal", "cervical", "full-arch"}),
        ("overlay 16 --material ", {"latex", "nitrile"}),
        ("overlay 16 --no-", {"--no-shift"}),
        ("ov", {"overlay"}),
    ],
)
def test_the_shell_completes_arguments(wording: str, offers: set[str]) -> None:
    typed = f"sheetmark {wording}"
    done = subprocess.run(
        [sys.executable, "-m", "sheetmark"],
        env={
            **os.environ,
            "_SHEETMARK_COMPLETE": "complete_bash",
            "COMP_WORDS": typed,
            "COMP_CWORD": str(typed.count(" ")),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert set(done.stdout.split()) == offers


def test_a_defect_of_ours_is_one_line_and_exit_code_1(
    capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("two\nlines")

    monkeypatch.setattr(overlay, "plan_chosen", broken)
    assert run(["overlay", "16"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        f"sheetmark: defect in sheetmark {__version__}: RuntimeError: two lines; please report it\n"
    )


def test_a_reader_that_has_gone_is_no_error() -> None:
    """As in `sheetmark overlay 16 | head -0`; with and without Python's own buffer."""
    for unbuffered in ("", "1"):
        reader, writer = os.pipe()
        os.close(reader)
        try:
            done = subprocess.run(
                [sys.executable, "-m", "sheetmark", "overlay", "16"],
                stdout=writer,
                stderr=subprocess.PIPE,
                env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
                text=True,
                check=False,
            )
        finally:
            os.close(writer)
        assert done.returncode == 0
        assert "Error" not in done.stderr


def test_a_full_disk_under_stdout_is_reported(
    capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: str) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(sys.stdout, "write", full)
    assert run(["overlay", "16"]) == 2
    assert capsys.readouterr().err == (
        "sheetmark: error: output: No space left on device; "
        "check where it goes and its free space\n"
    )


@pytest.mark.parametrize("measured", [[], ["--measure", "upper canines 35"]])
def test_a_plain_or_measured_overlay_loads_nothing_heavy(
    tmp_path: Path, measured: list[str]
) -> None:
    """Nor the other commands: an assistant waits for each."""
    path = str(tmp_path / "case.pdf")
    script = (
        "import sys; from sheetmark.cli.app import run; "
        f"assert run(['overlay', '16', '-o', {path!r}, *{measured!r}]) == 0; "
        "print('loaded', *sorted(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    loaded = set(done.stdout.splitlines()[-1].split())
    assert "sheetmark.cli.overlay" in loaded
    heavy = {
        "numpy",
        "scipy",
        "shapely",
        "ezdxf",
        "fontTools",
        "pydantic",
        "sheetmark.studies.membrane",
        # Nor what is light and not used.
        "PIL",
        "dataclasses",
        "importlib.resources",
        "sheetmark.plan.plan_file",
    }
    other = {f"sheetmark.cli.{name}" for name in COMMANDS if name != "overlay"}
    assert not loaded & (heavy | other)


def test_a_plain_overlay_is_hardly_searched_for_garbage(tmp_path: Path) -> None:
    """Neither as it runs nor as it ends, when the interpreter looks through all that is left."""
    script = (
        "import atexit, gc, sys; "
        "searches = lambda: sum(of['collections'] for of in gc.get_stats()); before = searches(); "
        "atexit.register(lambda: print(searches() - before, len(gc.get_objects()))); "
        f"sys.argv = ['sheetmark', 'overlay', '16', '-q', '-o', {str(tmp_path / 'x.pdf')!r}]; "
        "from sheetmark.__main__ import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    searched, left = map(int, done.stdout.splitlines()[-1].split())
    assert searched < 10, "a few before the program's own first line"
    assert left < 1000


def test_a_reference_that_the_font_cannot_write_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["overlay", "16", "--reference", "房 2", "-o", str(tmp_path / "a.pdf")]) == 2
    error = capsys.readouterr().err
    assert error.startswith("sheetmark: error: reference '房 2': the font has no glyph for")
    assert list(tmp_path.iterdir()) == []
