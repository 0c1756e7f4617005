"""The clinic's clamps from a CSV, and in a line."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.practice.file.check import read_practice
from sheetmark.practice.tray import DEFAULT_TRAY, Clamp
from sheetmark.practice.tray_text import read_tray, write_tray

Output = pytest.CaptureFixture[str]


def stored(tmp_path: Path, text: str) -> int:
    own, path = tmp_path / "own.toml", tmp_path / "clamps.csv"
    own.write_text('format = "sheetmark-practice/1"\n# ours\nname = "Clinic"\n')
    path.write_bytes(text.encode("cp1252"))
    return run(["practice", "tray", str(path), "--practice", str(own)])


def test_a_tray_comes_from_a_csv(tmp_path: Path, capsys: Output) -> None:
    text = (
        "Label;Made for;Winged;Span;How many;Shelf;Jaws;Version\n"
        "Größe L;molar;ja;7 - 10,5;3;B2;;\nG;premolar;no;;;;larger-to-cheek;quadrants-1-3\n"
    )
    assert stored(tmp_path, text) == 0
    out, err = capsys.readouterr()
    assert out == "  3  Größe L\n  1  G\n"
    assert "columns not read: Shelf" in err
    assert "# ours" in (tmp_path / "own.toml").read_text("utf-8")
    assert read_practice(tmp_path / "own.toml").practice.tray == (
        Clamp("Größe L", "molar", winged=True, span_mm=(7.0, 10.5), count=3),
        Clamp("G", "premolar", winged=False, jaws="larger-to-cheek", version="quadrants-1-3"),
    )


@pytest.mark.parametrize(
    ("text", "wordings"),
    [
        ("label;kind\nA;molar\n", ["column winged is missing; the columns are label, kind"]),
        ("label;kind;winged\n", ["no clamp in it"]),
        (
            "label;kind;winged;count;span\nA;molar;perhaps;many;wide\n",
            ["row 2, winged 'perhaps': must be yes or no", "row 2, count 'many'", "such as 7 - 10"],
        ),
        ("label;kind;winged\nA;horse;yes\n", ['tray[1].kind = "horse": must be front or molar']),
        ("label;kind;winged\nA;molar;yes\nA;molar;no\n", ["the same as in row"]),
    ],
)
def test_a_tray_that_is_none_changes_nothing(
    text: str, wordings: list[str], tmp_path: Path, capsys: Output
) -> None:
    assert stored(tmp_path, text) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == len(wordings)
    for line, word in zip(lines, wordings, strict=True):
        assert word in line
    assert "tray" not in (tmp_path / "own.toml").read_text()


def test_a_tray_in_a_line() -> None:
    assert read_tray("4 molar winged; 2x Front wingless; primary molar winged") == (
        Clamp("molar winged", "molar", winged=True, count=4),
        Clamp("front wingless", "front", winged=False, count=2),
        Clamp("primary molar winged", "primary-molar", winged=True),
    )
    line = write_tray(DEFAULT_TRAY)
    assert write_tray(read_tray(line)) == line
    for text in ("", " ; ", "molar", "4 molar winged; molar winged", "0,5 molar winged"):
        with pytest.raises(InputError, match=r"clamps"):
            read_tray(text)
