"""Files and values far beyond what they should be: one clear line, in little time and memory."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sheetmark.base.findings import InputError, with_short_quotes
from sheetmark.base.toml import DEPTH_LIMIT, LINE_LIMIT, MOST_BYTES, parse_toml
from sheetmark.cli.app import run

Output = pytest.CaptureFixture[str]

DEEP = ".".join("a" * 3000)
BRACKETS = "x = " + "[" * 5000
BIG = "9" * 5000
TOO_LARGE = {
    "practice": ["overlay", "16", "--practice", "big.toml"],
    "case": ["overlay", "--case", "big.toml"],
    "model": ["overlay", "16", "--arch", "big.toml"],
    "landmarks": ["arch", "fit", "--date", "2026-11-25", "--landmarks", "big.csv"],
    "list": ["day", "big.csv"],
    "list as TOML": ["day", "big.toml"],
    "scan": ["arch", "fit", "--date", "2026-11-25", "--scan", "big.stl"],
    "list of clamps": ["practice", "tray", "big.csv"],
    "class list": ["handout", "exercise", "--list", "big.csv", "-o", "e.pdf"],
    "photograph": ["check", "big.jpg", "16"],
    "plan": ["check", "none.jpg", "--plan", "big.json"],
    "exercise": ["check", "none.jpg", "--exercise", "big.json", "-o", "e.csv"],
    "card": ["printer", "card", "big.jpg", "big.jpg"],
}
ODD = {
    "deep keys": f"{DEEP} = 1\n",
    "deep keys twice": f"{DEEP} = 1\n{DEEP} = 2\n",
    "deep table": f"[{DEEP}]\nx = 1\n",
    "brackets": BRACKETS,
    "a long number": f"x = {BIG}\n",
    "a long number in hex": f"x = 0x{BIG}\n",
    "just too large": f"x = {2**63}\n",
    "a long key": f"{'k' * 15_000} = 1\n",
    "a long text": f'x = "{"v" * 15_000}"\n',
    "a long line": f'x = "{"v" * (LINE_LIMIT + 1)}"\n',
}
FORMATS = {
    "practice": (["overlay", "16", "--practice", "odd.toml"], "practice"),
    "case": (["overlay", "--case", "odd.toml"], "case"),
    "model": (["arch", "show", "odd.toml"], "arch"),
    "list": (["day", "odd.toml"], "day"),
}


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(arguments: list[str], output: Output) -> str:
    assert run(arguments) == 2
    out, err = output.readouterr()
    assert out == ""
    (line,) = err.splitlines()
    assert line.startswith("sheetmark: error: ")
    return line


@pytest.mark.parametrize("arguments", TOO_LARGE.values(), ids=TOO_LARGE)
def test_no_file_is_read_beyond_its_bound(
    arguments: list[str], folder: Path, capsys: Output
) -> None:
    for ending in ("toml", "csv", "stl", "json", "jpg"):
        # A hole of 40 GB: nothing of it is on the disk, and nobody can read it whole.
        with (folder / f"big.{ending}").open("wb") as file:
            file.truncate(40_000_000_000)
    line = refused(arguments, capsys)
    assert re.search(r"big\.\w+: (more than [\d,]+ bytes, too large|\d+ MB, at)", line)


@pytest.mark.parametrize("text", ODD.values(), ids=ODD)
@pytest.mark.parametrize(("arguments", "kind"), FORMATS.values(), ids=FORMATS)
def test_odd_files_are_input_and_no_defect(
    arguments: list[str], kind: str, text: str, folder: Path, capsys: Output
) -> None:
    (folder / "odd.toml").write_text(f'format = "sheetmark-{kind}/1"\n{text}', "utf-8")
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("sheetmark: error: ")
    assert "defect" not in err
    assert "sys." not in err, "nothing that only a programmer can do"
    assert max(map(len, err.splitlines())) < 800
    assert not re.search(r"(.)\1{80}", err)


@pytest.mark.parametrize("text", ["[" * 30_000, f'{{"format": "x", "a": {BIG}}}', '{"format"'])
@pytest.mark.parametrize("option", ["--plan", "--exercise"])
def test_odd_json_is_input_and_no_defect(
    option: str, text: str, folder: Path, capsys: Output
) -> None:
    (folder / "odd.json").write_text(text, "utf-8")
    line = refused(["check", "none.jpg", option, "odd.json"], capsys)
    assert "odd.json: no JSON (" in line
    assert not re.search("sys\\.|recursion", line)


def test_toml_is_taken_up_to_its_bounds() -> None:
    deepest = ".".join("a" * (DEPTH_LIMIT - 1))
    assert parse_toml(f"{deepest} = {2**63 - 1}\ny = {-(2**63)}", "x.toml")
    with pytest.raises(InputError, match=f"more than {DEPTH_LIMIT} levels"):
        parse_toml(f"a.{deepest} = 1", "x.toml")
    for number in (2**63, -(2**63) - 1):
        with pytest.raises(InputError, match="a whole number of 64 bits, at most 64"):
            parse_toml(f"x = {number}", "x.toml")
    assert len(parse_toml(f'x = "{"v" * (LINE_LIMIT - 6)}"', "x.toml")["x"]) == LINE_LIMIT - 6
    assert MOST_BYTES == 1_000_000


LONG = "w" * 5000
QUOTING = {
    "tooth": ["overlay", LONG],
    "number": ["overlay", "16", "--age", "7" * 3000],
    "choice": ["overlay", "16", "--for", LONG],
    "sheet": ["overlay", "16", "--sheet", LONG],
    "exception": ["overlay", "16", "--with", f"15 {LONG}"],
    "measure": ["overlay", "16", "--measure", LONG],
    "arch": ["overlay", "16", "--arch", LONG],
    "printer": ["overlay", "16", "--printer", LONG],
    "ending": ["overlay", "16", "-o", LONG],
    "handout": ["handout", LONG],
    "command": [LONG],
    "option": ["overlay", "16", f"--{LONG}"],
    "frame": ["strain", "16", "--frame", LONG],
    "date": ["arch", "fit", "--date", LONG, "--measure", "upper canines 33"],
}


@pytest.mark.parametrize("arguments", QUOTING.values(), ids=QUOTING)
def test_an_error_quotes_no_more_than_a_person_reads(arguments: list[str], capsys: Output) -> None:
    line = refused(arguments, capsys)
    assert "…" in line
    assert len(line) < 500
    assert not re.search(r"[w7]{80}", line)


@pytest.mark.parametrize(
    ("line", "short"),
    [
        (f"tooth '{'x' * 80}': no", f"tooth '{'x' * 80}': no"),
        (f"tooth '{'x' * 81}': no", f"tooth '{'x' * 79}…': no"),
        (f"a \"{'y' * 200}\" b '{'z' * 200}'", f"a \"{'y' * 79}…\" b '{'z' * 79}…'"),
        (f"'it\\'s {'x' * 99}'", f"'it\\'s {'x' * 73}…'"),
        (f"age {'1' * 300}: must", f"age {'1' * 79}…: must"),
        (f"the day's {'word ' * 40}and the clinic's", None),
        (f"field `{'k' * 90}`", f"field `{'k' * 79}…`"),
        (f"/{'folder/' * 30}case.pdf: cannot be written", None),
    ],
)
def test_values_are_cut_and_nothing_else(line: str, short: str | None) -> None:
    assert with_short_quotes(line) == (line if short is None else short)
