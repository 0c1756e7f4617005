"""What each command can write: a name with any other ending is refused before anything is done."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.base.files import ending_of
from sheetmark.base.findings import InputError
from sheetmark.cli.app import run

Output = pytest.CaptureFixture[str]
# Behind each command its input, which is wrong as well: the ending is looked at first.
COMMANDS = {
    ("overlay", "99"): (".pdf", ".svg", ".json", ".dxf", ".cut.svg"),
    ("strain", "99"): (".pdf", ".svg", ".json"),
    ("arch", "coverage", "nosuch"): (".pdf", ".svg", ".json"),
    ("day", "nosuch.csv"): (".pdf", ".json"),
    ("drawer", "--arch", "nosuch"): (".pdf",),
    ("handout", "steps", "--arch", "nosuch"): (".pdf", ".svg", ".png"),
    ("printer", "page", "--practice", "nosuch.toml"): (".pdf",),
    ("practice", "init", "--paper", "a3"): (".toml",),
    ("arch", "fit", "--date", "today"): (".toml",),
}
NAMES = ("out.pdf", "out.svg", "out.json", "out.dxf", "out.toml", "out.png", "out", "pdf", ".pdf")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("command", list(COMMANDS), ids=" ".join)
def test_only_what_can_be_written_is_taken(
    command: tuple[str, ...], name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: Output,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert run([*command, "-o", name]) == 2
    line = capsys.readouterr().err
    ending = name[name.find(".") :] if not name.startswith(".") else ""
    refused = line.startswith(f"sheetmark: error: output {name!r}: must end in ")
    assert refused == (ending not in COMMANDS[command]), line
    assert list(tmp_path.iterdir()) == []


def test_an_outline_for_a_cutter_is_not_what_a_study_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    """A PDF under the name of a DXF would go to a cutter."""
    monkeypatch.chdir(tmp_path)
    assert run(["arch", "coverage", "adult-mean", "--patients", "50", "-o", "cov.dxf"]) == 2
    assert capsys.readouterr().err == (
        "sheetmark: error: output 'cov.dxf': must end in .pdf, .svg or .json\n"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "ending"),
    [("a.svg", ".svg"), ("a.cut.svg", ".cut.svg"), ("A.CUT.SVG", ".cut.svg"), ("cut.svg", ".svg")],
)
def test_the_longest_ending_counts(name: str, ending: str) -> None:
    assert ending_of("output", name, (".svg", ".cut.svg")) == ending


@pytest.mark.parametrize("name", ["", ".", "..", "/", "svg", "a.svg.bak", ".svg", ".cut.svg"])
def test_a_name_without_an_ending_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=r"must end in \.cut\.svg"):
        ending_of("output", name, (".cut.svg",))


@pytest.mark.parametrize("command", list(COMMANDS), ids=" ".join)
def test_what_may_not_be_replaced_is_refused_before_work_begins(
    command: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.chdir(tmp_path)
    for ending in COMMANDS[command]:
        path = Path(f"out{ending}")
        path.write_bytes(b"Minutes of the meeting")
        assert run([*command, "-o", str(path)]) == 2
        (line,) = capsys.readouterr().err.splitlines()
        there = "exists already" if command[0] == "practice" else "there is something else, and"
        assert f"{path}: {there}" in line
        assert "--force" in line
        assert path.read_bytes() == b"Minutes of the meeting"
