"""Landmarks read from a CSV file, in all its spellings, and each refusal. Lengths in mm."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.anatomy.teeth import Notation, Tooth
from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.fitting.landmarks import (
    COLUMNS,
    CastPoint,
    Kind,
    Landmark,
    read_landmarks,
    write_landmarks,
)
from tests.helpers.casts import as_csv, cast

HEAD = ",".join(COLUMNS["contacts"])
# From the patient's right to the left, as they are handed back.
EXPECTED = (
    Landmark(Tooth(1, 1), (CastPoint(-0.5, 1.25), CastPoint(-8.0, 3.0))),
    Landmark(Tooth(2, 1), (CastPoint(0.5, 1.0), CastPoint(9.0, 2.5))),
)
COMMAS = f"{HEAD}\n21,0.5,1,9,2.5\n11,-0.5,1.25,-8,3\n"

SPELLINGS = {
    "commas": COMMAS,
    "semicolons": COMMAS.replace(",", ";"),
    "tabs": COMMAS.replace(",", "\t"),
    "decimal commas": COMMAS.replace(",", ";").replace(".", ","),
    "decimal commas and tabs": COMMAS.replace(",", "\t").replace(".", ","),
    "columns in another order": (
        "distal_y,distal_x,mesial_y,mesial_x,tooth\n2.5,9,1,0.5,21\n3,-8,1.25,-0.5,11\n"
    ),
    "letter case and spaces": (
        " Tooth , MESIAL_X,Mesial_y, distal_X,distal_y\n 21 , 0.5,1 ,9,2.5\n11,-0.5,1.25,-8,3\n"
    ),
    "byte order mark": "\ufeff" + COMMAS,
    "Windows line ends": COMMAS.replace("\n", "\r\n"),
    "quotes": f'{HEAD}\n"21","0.5","1","9","2.5"\n11,-0.5,1.25,-8,3\n',
    "remarks and empty lines": f"# cast\n\n # a\n{HEAD}\n,,,,\n21,0.5,1,9,2.5\n\n11,-0.5,1.25,-8,3",
}


@pytest.mark.parametrize("text", SPELLINGS.values(), ids=SPELLINGS)
def test_all_spellings_read_alike(text: str) -> None:
    assert read_landmarks(text.encode(), "cast.csv", "iso") == EXPECTED


@pytest.mark.parametrize(
    ("notation", "right", "left"),
    [("universal", "8", "9"), ("universal", "#8", "#9"), ("palmer", "UR1", "ul1")],
)
def test_teeth_are_read_in_the_stated_notation(notation: Notation, right: str, left: str) -> None:
    text = f"{HEAD}\n{left},0.5,1,9,2.5\n{right},-0.5,1.25,-8,3\n"
    assert read_landmarks(text.encode(), "cast.csv", notation) == EXPECTED


KINDS = {
    "gum line": "tooth,facial_x,facial_y,lingual_x,lingual_y\n11,-4,1,-4.5,9\n",
    "middle": "tooth,x,y\n11,-4.25,5\n",
}


@pytest.mark.parametrize(("kind", "text"), KINDS.items(), ids=KINDS)
def test_the_columns_tell_the_kind(kind: Kind, text: str) -> None:
    (landmark,) = read_landmarks(text.encode(), "cast.csv", "iso")
    assert landmark.kind == kind
    assert landmark.middle == CastPoint(-4.25, 5)
    assert landmark.width_mm is None
    assert write_landmarks([landmark], "iso") == text.replace(",1,", ",1.0,").replace(
        "-4,", "-4.0,"
    ).replace(",9", ",9.0").replace(",5\n", ",5.0\n")


def test_what_is_written_reads_back_the_same() -> None:
    assert read_landmarks(write_landmarks(EXPECTED, "iso").encode(), "cast.csv", "iso") == EXPECTED


def row(line: str) -> str:
    """A file with a good line and the given one, which is its third."""
    return f"{HEAD}\n21,0.5,1,9,2.5\n{line}\n"


REFUSALS = {
    "empty": ("", "cast.csv: empty; the first line names the columns tooth, mesial_x"),
    "one point for two": (
        "tooth,facial_x,facial_y,lingual_x,lingual_y\n11,1,1,1,1\n",
        "tooth 11: its facial and lingual points are the same",
    ),
    "only a remark": ("# nothing\n\n", "cast.csv: empty"),
    "a remark below the columns": (row("# 11 was not seen"), "line 3: 1 columns, not 5"),
    "a number sign": (row("#11,-0.5,1,-8,3"), "line 3: tooth '#11': not a tooth in iso notation"),
    "only the columns": (HEAD, "no tooth below the column names"),
    "a wrong column": (
        COMMAS.replace("mesial_x", "mesia_x"),
        "column 'mesia_x' is not known; mesial_x is meant?",
    ),
    "no column names": ("21,0.5,1,9,2.5\n", "column '21' is not known"),
    "a column missing": (
        f"{HEAD.removesuffix(',distal_y')}\n21,0.5,1,9\n",
        "column distal_y is missing",
    ),
    "columns of two kinds": (
        "tooth,x,y,mesial_x\n21,0.5,1,9\n",
        "column mesial_x is of another kind of landmark; the first line holds tooth, x, y",
    ),
    "a column twice": (f"{HEAD},tooth\n21,0.5,1,9,2.5,21\n", "column tooth is there twice"),
    "a number missing": (row("11,-0.5,,-8,3"), "line 3: mesial_y is missing"),
    "a tooth missing": (row(",-0.5,1,-8,3"), "line 3: tooth '': not a tooth in iso notation"),
    "no number": (row("11,-0.5,one,-8,3"), "line 3: mesial_y 'one' is no number"),
    "NaN": (row("11,-0.5,NaN,-8,3"), "line 3: mesial_y NaN: must be a number from -10000"),
    "endless": (row("11,-0.5,1,inf,3"), "line 3: distal_x inf: must be a number from -10000"),
    "lost decimal point": (row("11,-0.5,1,-80000,3"), "line 3: distal_x -80000: must be"),
    "unknown tooth": (row("19,-0.5,1,-8,3"), "line 3: tooth '19': not a tooth in iso notation"),
    "both jaws": (row("41,-0.5,1,-8,3"), "teeth of both jaws, such as 21 and 41"),
    "a tooth twice": (row("21,-0.5,1,-8,3"), "line 3: tooth 21 stands there twice"),
    "one point only": (row("11,-0.5,1,-0.5,1"), "mesial and distal points are the same"),
    "too few columns": (row("11,-0.5,1,-8"), "line 3: 4 columns, not 5"),
    "decimal commas between commas": (
        row("11,-0,5,1,-8,3"),
        "line 3: 6 columns, not 5 (a decimal comma asks for semicolons between columns)",
    ),
    "an endless cell": (row(f"11,-0.5,{'1' * 140_000},-8,3"), "line 3: not CSV"),
    "a stray quote": (row('11,"-0.5,1,-8,3'), "line 3: 2 columns, not 5"),
}


@pytest.mark.parametrize(("text", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_a_bad_file_is_refused_in_one_line(
    text: str,
    problem: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("cast.csv").write_text(text, "utf-8")
    command = ["arch", "fit", "-o", "own.toml", "--date", "2026-11-25", "--landmarks", "cast.csv"]
    assert run(command) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("sheetmark: error: cast.csv")
    assert problem in captured.err
    assert captured.err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["cast.csv"]


def test_remarks_above_the_columns_are_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = "# a cast\n" + as_csv(cast("adult-mean", "upper"))
    Path("cast.csv").write_text(text, "utf-8")
    assert run(["arch", "fit", "--date", "2026-11-25", "--landmarks", "cast.csv"]) == 0
    err = capsys.readouterr().err
    assert "cast.csv: 1 line above the column names read as remark\n" in err


def test_every_problem_is_named_at_once_with_its_line() -> None:
    text = f"# a cast\n{HEAD}\n19,1,2,3,4\n\n11,1,2,3\n12,1,2,x,4\n21,0.5,1,9,2.5\n"
    with pytest.raises(InputError) as refused:
        read_landmarks(text.encode(), "cast.csv", "iso")
    assert [problem.split(":")[0] for problem in refused.value.problems] == [
        "cast.csv, line 3",
        "cast.csv, line 5",
        "cast.csv, line 6",
    ]


def test_text_that_is_not_utf8_is_refused() -> None:
    with pytest.raises(InputError, match=r"cast\.csv: not UTF-8 text \(byte 0\)"):
        read_landmarks(HEAD.encode("utf-16"), "cast.csv", "iso")
