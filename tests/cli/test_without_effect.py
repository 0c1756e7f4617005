"""Options and figures that would change nothing are refused, not passed over."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.anatomy.teeth import read
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, ToothState
from sheetmark.case.exceptions import read_states
from sheetmark.cli.app import run
from sheetmark.plan.make import make_plan

Output = pytest.CaptureFixture[str]


@pytest.mark.parametrize(
    ("command", "problem"),
    [
        ("overlay 16 --pen nan", "--pen: has no effect without a stencil"),
        ("overlay 16 --pen 1 -o case.pdf", "--pen: has no effect without a stencil"),
        ("overlay 16 --kerf 0.1 -o case.svg", "--kerf: has no effect without a stencil"),
        ("overlay 16 --card -o case.json", "--card: has no effect without a page"),
        ("day nosuch.csv --cards", "--cards: has no effect without a PDF"),
        ("day nosuch.csv --cards -o day.json", "--cards: has no effect without a PDF"),
        ("strain 16 --show best -o s.json", "--show: has no effect without a picture"),
        ("desk --core x", "--core: has no effect without --save"),
        ("check folder --exercise e.json --age 8", "--age: has no effect with --exercise"),
        ("check f --exercise e.json --present 18", "--present: has no effect with --exercise"),
        ("handout numbering --sheet 127 -o n.pdf", "--sheet: has no effect on the handout"),
        ("handout arch-map --ease 1.2 -o n.pdf", "--ease: has no effect on the handout"),
        ("handout hole-size --no-shift -o n.pdf", "has no effect on the handout hole-size"),
    ],
)
def test_an_option_without_effect_is_refused(
    command: str, problem: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(command.split()) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert problem in line
    assert list(tmp_path.iterdir()) == []


def test_a_stencil_takes_them(tmp_path: Path) -> None:
    path = str(tmp_path / "case.cut.svg")
    assert run(["overlay", "16", "--pen", "1", "--kerf", "0.1", "-o", path, "-q"]) == 0


@pytest.mark.parametrize("word", ["facial", "lingual", "mesial", "distal", "rotated"])
def test_a_tooth_moved_by_nothing_is_refused(word: str) -> None:
    for number in ("0", "-0", "0,0"):
        with pytest.raises(InputError, match=f"'15 {word} .*': {word} 0 changes nothing"):
            read_states([f"15 {word} {number}"], "iso")
    assert read_states(["15 gap 0"], "iso")[0].gap_mm == 0


def test_a_tooth_of_which_a_file_says_nothing_gets_no_remark() -> None:
    tooth = read("15", "iso")
    case = Case(treat=(read("16", "iso"),), states=(ToothState(tooth, facial_mm=0.0),))
    assert case.special == ()
    plain = make_plan(Case(treat=case.treat))
    assert make_plan(case).findings == plain.findings
