"""Bad input: one clear line each that says what, which value and what to do; exit code 2."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sheetmark.cli.app import run

Output = pytest.CaptureFixture[str]

LONG = "x" * 61

# What is typed behind `sheetmark overlay`, and words that the one line must hold.
BAD: list[tuple[list[str], list[str]]] = [
    # Teeth.
    ([], ["teeth: none to treat", "name at least one"]),
    ([""], ["teeth: none to treat", "such as 16"]),
    ([","], ["teeth: none to treat"]),
    (["19"], ["tooth '19'", "iso notation", "use 11-18"]),
    (["0"], ["tooth '0'", "use 11-18"]),
    (["1６"], ["tooth '1６'"]),
    (["16.0"], ["tooth '16.0'"]),
    (["99", "98"], ["tooth '99'"]),
    (["UR6"], ["tooth 'UR6'", "iso notation"]),
    (["33", "--notation", "universal"], ["tooth '33'", "1-32 or, primary, A-T"]),
    (["16", "--notation", "palmer"], ["tooth '16'", "palmer notation", "such as UR4"]),
    (["UR9", "--notation", "palmer"], ["tooth 'UR9'"]),
    (["16", "--missing", "16"], ["tooth 16", "missing", "treated", "leave it out"]),
    (["16", "--missing", "15", "--present", "15"], ["tooth 15", "missing", "present"]),
    (["16", "--missing", "1S"], ["tooth '1S'"]),
    (["16", "--present", "x"], ["tooth 'x'"]),
    (["16", "--expose", "17-46"], ["both jaws"]),
    (["16", "--expose", "17-"], ["tooth ''"]),
    (["16", "--expose", "15-13"], ["tooth 16", "expose", "add it there"]),
    (["16", "--expose", "17-14", "--more", "1"], ["more", "expose"]),
    (["18"], ["tooth 18", "third molars", "(--present 18)"]),
    (["75"], ["tooth 75", "adult-mean", '(--age, --arch, --with "75 present")']),
    (["16", "--anchor", "19"], ["tooth '19'"]),
    (["16", "--anchor", "46"], ["both jaws"]),
    (["16", "--slit", "16"], ["'16'", "such as 24-26"]),
    (["16", "--slit", "24-26"], ["slit 24-26", "no hole for 24"]),
    (["16", "--with", "15 zzz"], ["unknown word 'zzz'", "use missing"]),
    (["16", "--with", "15 misssing"], ["unknown word 'misssing'", "did you mean missing"]),
    (["16", "--with", "15 facial"], ["facial needs a number of mm"]),
    (["16", "--with", "15 facial nan"], ["tooth 15", "moved nan mm", "10 mm"]),
    (["16", "--with", "15 gap inf"], ["tooth 15", "gap inf mm", "0 to 30 mm"]),
    # Numbers.
    (["16", "--more", "-1"], ["more -1", "0 to 15"]),
    (["16", "--more", "16"], ["more 16", "0 to 15"]),
    (["16", "--more", "one"], ["--more", "'one'"]),
    (["16", "--more", "1.5"], ["--more", "'1.5'"]),
    (["16", "--ease", "-1"], ["ease -1 mm", "0 to 5 mm"]),
    (["16", "--ease", "5.1"], ["ease 5.1 mm", "0 to 5 mm"]),
    (["16", "--ease", "nan"], ["ease nan mm", "0 to 5 mm"]),
    (["16", "--ease", "inf"], ["ease inf mm", "0 to 5 mm"]),
    (["16", "--ease", "much"], ["--ease", "'much'"]),
    (["16", "--age", "-1"], ["age -1", "0 to 120"]),
    (["16", "--age", "121"], ["age 121", "0 to 120"]),
    (["16", "--age", "x"], ["--age", "'x'"]),
    # The sheet.
    *(
        (["16", "--sheet", size], [f"sheet '{size}'", "80 to 300 mm", "use 152, 127"])
        for size in (
            *("-152", "0", "79.9", "300.1", "1e9", "nan", "inf", "-inf", "152x-152", "152x0"),
            *("nanx152", "152xnan", "152xinf", "152x20", "1e999x152"),
        )
    ),
    *(
        (["16", "--sheet", size], [f"sheet '{size}'", "not a size", "use 152, 127"])
        for size in ("", "x", "152x", "x152", "152x152x152", "large", "152mm", "6in", "152,127")
    ),
    (
        ["16", "--sheet", "180"],
        ["sheet 180 x 180 mm on A4", "10.0 mm across and 0.0 mm down", "170.0 x 181.0 mm"],
    ),
    (
        ["16", "--sheet", "170x200"],
        ["sheet 170 x 200 mm on A4", "0.0 mm across and 19.0 mm down", "170.0 x 181.0 mm"],
    ),
    (
        ["16", "--sheet", "300x300", "--paper", "letter"],
        ["on letter", "124.1 mm across and 136.6 mm down", "175.9 x 163.4 mm"],
    ),
    (["31", "--no-shift", "--sheet", "120"], ["sheet 120 x 120", "12.3 mm", "less than 15 mm"]),
    # The punch.
    *(
        (["16", "--punch", punch], ["punch: it has no holes", '"0.5,1,1.5,2,2.5"'])
        for punch in ("", " ", ",", " , ,")
    ),
    *(
        (["16", "--punch", punch], [f"punch hole {shown} mm", "0.3 to 5 mm"])
        for punch, shown in (
            *(("0", "0"), ("9", "9"), ("nan", "nan"), ("inf", "inf"), ("-1", "-1")),
            *(("1,2,5.01", "5.01"), ("0.29,1", "0.29"), ("25", "25"), ("1,-inf", "-inf")),
        )
    ),
    *(
        (["16", "--punch", punch], [f"punch hole {shown!r}", "not a number", "commas"])
        for punch, shown in (
            *(("small", "small"), ("1 2", "1 2"), ("1,2;x", "x"), ("1,x", "x"), ("1.5mm", "1.5mm")),
            # An empty place would shift the positions behind it.
            *(("1,,2", ""), ("1,2,", ""), (",1", ""), ("1,5;;2", "")),
        )
    ),
    (["16", "--punch", "2", "--sizing", "two-size"], ["1 hole size", "at least 2"]),
    # Choices.
    (["16", "--material", "silk"], ["material 'silk'", "latex, nitrile"]),
    (["16", "--material", ""], ["material ''", "latex, nitrile"]),
    (["16", "--paper", "a3"], ["paper 'a3'", "a4, letter"]),
    (
        ["16", "--for", "polish"],
        ["procedure 'polish'", "(--for)", "restoration, crown, root-canal, cervical"],
    ),
    (["16", "--notation", "fdi"], ["notation 'fdi'", "iso, universal, palmer"]),
    (["16", "--sizing", "big"], ["sizing 'big'", "crown, two-size"]),
    (["16", "--access", "odd"], ["access 'odd'", "normal, tight"]),
    (["16", "--arch", "giant"], ["arch model 'giant'", "adult-mean", ".toml"]),
    (["16", "--arch", ""], ["arch model ''"]),
    (["16", "--arch", "no-such-folder/own.toml"], ["own.toml", "cannot be read", "check the path"]),
    (["16", "--arch", "\x00.toml"], ["'\\x00.toml': not a file name", "check the path"]),
    (["16", "--practice", "no-such-folder/own.toml"], ["own.toml", "cannot be read", "check"]),
    (["16", "--practice", "\x00"], [r"file \x00'", "not a file name"]),
    (["16", "--printer", "front-desk"], ["printer 'front-desk'"]),
    # The reference.
    (["16", "--reference", "one\ntwo"], [r"reference 'one\ntwo'", "cannot be printed"]),
    (["16", "--reference", "a\x00b"], [r"reference 'a\x00b'", "cannot be printed"]),
    (["16", "--reference", "\udcff"], [r"reference '\udcff'", "cannot be printed"]),
    (["16", "--reference", LONG], [f"reference '{LONG}'", "at most 60", "shorten it"]),
    # Options.
    (["16", "--nonsense"], ["--nonsense", "see --help"]),
    (["16", "--sheet"], ["--sheet", "see --help"]),
    (["16", "--no-sheet"], ["--no-sheet"]),
]


def only_line(output: Output) -> str:
    out, err = output.readouterr()
    assert out == ""
    assert "Traceback" not in err
    (line,) = err.splitlines()
    assert line.startswith("sheetmark: error: ")
    return line


@pytest.mark.parametrize(("typed", "wordings"), BAD, ids=[ascii(" ".join(row[0])) for row in BAD])
def test_one_line_and_exit_code_2(
    typed: list[str], wordings: list[str], capsys: Output, tmp_path: Path
) -> None:
    path = tmp_path / "case.pdf"
    assert run(["overlay", "-o", str(path), *typed]) == 2
    line = only_line(capsys)
    assert [word for word in wordings if word not in line] == []
    assert list(tmp_path.iterdir()) == [], "nothing is written"


@pytest.mark.parametrize("option", ["--arch", "--practice"])
@pytest.mark.parametrize(
    ("content", "wording"),
    [
        (b"x = " + b"[" * 9999, "broken TOML"),
        (b"x = ", "broken TOML"),
        (b"\xff\xfe", "not UTF-8 text"),
    ],
    ids=["deep", "broken", "bytes"],
)
def test_a_file_that_is_no_toml(
    option: str, content: bytes, wording: str, capsys: Output, tmp_path: Path
) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(content)
    assert run(["overlay", "16", option, str(path)]) == 2
    line = only_line(capsys)
    assert "own.toml" in line
    assert wording in line


@pytest.mark.parametrize("arguments", [["nonsense"], ["--nonsense"], ["arch", "x"]])
def test_a_command_that_does_not_exist(arguments: list[str], capsys: Output) -> None:
    assert run(arguments) == 2
    assert only_line(capsys).endswith("; see --help")


def test_too_large_for_the_paper_is_measured() -> None:
    """10 mm of paper edge and 10 mm for a bar at each side; above 20, below 86 mm of words."""
    for paper, width, height in (("a4", 210, 297), ("letter", 215.9, 279.4)):
        most = (width - 40, height - 116)
        assert run(["overlay", "16", "--paper", paper, "--sheet", f"{most[0]:g}x{most[1]:g}"]) == 0
        over = f"{most[0] + 0.1:.1f}x{most[1]:g}", f"{most[0]:g}x{most[1] + 0.1:.1f}"
        for sheet in over:
            assert run(["overlay", "16", "--paper", paper, "--sheet", sheet]) == 2


@pytest.mark.parametrize("ending", ["pdf", "svg"])
@pytest.mark.parametrize(
    ("reference", "letter", "code"),
    [("席 2", "席", "U+5E2D"), ("chair 🦷", "🦷", "U+1F9B7"), ("\u0e01", "\u0e01", "U+0E01")],
)
def test_a_letter_that_the_font_does_not_have(
    reference: str, letter: str, code: str, ending: str, capsys: Output, tmp_path: Path
) -> None:
    path = tmp_path / f"case.{ending}"
    assert run(["overlay", "16", "--reference", reference, "-o", str(path)]) == 2
    line = only_line(capsys)
    assert f"no glyph for {letter!r} ({code})" in line
    assert "write it with other letters" in line
    assert not path.exists()


def test_a_letter_without_glyph_matters_only_on_a_page(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    assert run(["overlay", "16", "--reference", "席 2", "-o", str(path)]) == 0
    assert "席 2" in path.read_text("utf-8")


@pytest.mark.parametrize("reference", ["Zürich", "Łódź 3", "Αθήνα", "Пермь", "x" * 60])
def test_letters_that_the_font_has_are_welcome(reference: str, tmp_path: Path) -> None:
    path = tmp_path / "case.pdf"
    assert run(["overlay", "16", "--reference", reference, "-o", str(path)]) == 0
    assert path.stat().st_size > 5000


@pytest.mark.parametrize(
    "name", ["case", "case.", "case.docx", "case.pdf.txt", ".pdf", "-", "", "pdf", "case.pdf "]
)
def test_an_unknown_ending(name: str, capsys: Output) -> None:
    assert run(["overlay", "16", "-o", name]) == 2
    assert only_line(capsys) == (
        f"sheetmark: error: output {name!r}: must end in .pdf, .svg, .json, .dxf or .cut.svg"
    )


def test_a_value_with_odd_letters_stays_on_one_line(capsys: Output) -> None:
    options = ("--sheet", "--punch", "--material", "--arch", "--missing", "--more", "-o", "--with")
    for odd in ("a\nb", "a\rb", "a\u2028b", "a\x1b[31mb", "a\x85b", "a\x7fb", "a\udcffb"):
        files = [("--arch", f"{odd}.toml"), ("-o", f"no-such-folder/{odd}.pdf")]
        for option, value in [*((option, odd) for option in options), *files]:
            assert run(["overlay", "16", option, value]) == 2
            line = only_line(capsys)
            assert re.search(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]", line) is None
