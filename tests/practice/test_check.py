"""`sheetmark practice check`, and what a broken practice file does to an overlay."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.practice.file.check import check_text, find_problems
from sheetmark.practice.file.convert import from_practice
from tests.helpers.practice_files import EXAMPLE, example_data

Output = pytest.CaptureFixture[str]
Change = Callable[[dict[str, Any]], Any]


def find(data: Any, where: str) -> tuple[Any, Any]:
    """The table or list that holds a key, and the key."""
    *tables, last = (int(name) if name.isdigit() else name for name in where.split("."))
    for name in tables:
        data = data[name]
    return data, last


def put(where: str, value: Any) -> Change:
    """Changes one key: `put("page.margin_mm", 4)`, a row of a list by its number from 0."""

    def change(data: dict[str, Any]) -> None:
        table, key = find(data, where)
        table[key] = value

    return change


def drop(where: str) -> Change:
    def change(data: dict[str, Any]) -> None:
        table, key = find(data, where)
        del table[key]

    return change


UNLIKE = {"label": "big jaw", "kind": "molar", "winged": True, "jaws": "larger-to-cheek"}

# One change to the example, and the whole line that it must give.
PROBLEMS: list[tuple[Change, str]] = [
    (drop("format"), "format: missing, must be sheetmark-practice/1; add it"),
    (
        put("format", "sheetmark-practice/2"),
        'format = "sheetmark-practice/2": must be sheetmark-practice/1; '
        "did you mean sheetmark-practice/1?",
    ),
    (put("nmae", "x"), 'nmae = "x": unknown key; the nearest known key is name'),
    (
        put("page.marginmm", 12),
        "page.marginmm = 12: unknown key; the nearest known key is margin_mm",
    ),
    (
        put("tray.1.lable", "x"),
        'tray[2].lable = "x": unknown key; the nearest known key is label',
    ),
    (
        put("page.margin_mm", 9.9),
        "page.margin_mm = 9.9: must be a number of 10 to 40 mm; correct it, or leave it out for 10",
    ),
    (
        put("page.margin_mm", "ten"),
        'page.margin_mm = "ten": must be a number of 10 to 40 mm; '
        "correct it, or leave it out for 10",
    ),
    (
        put("page.margin_mm", 19.5),
        "sheets[1]: 152 x 152 mm on A4 with margins of 19.5 mm is too large at true scale by "
        "1.0 mm across and 0.0 mm down; "
        "take smaller margins, other paper, or a smaller sheet as the first",
    ),
    (
        put("page.paper", "A4"),
        'page.paper = "A4": must be a4 or letter; did you mean a4?',
    ),
    (
        put("numbers", "semicolon"),
        'numbers = "semicolon": must be comma or point; correct it, or leave it out for "point"',
    ),
    (
        put("name", 41 * "x"),
        f'name = "{41 * "x"}": must be text of 0 to 40 characters, one line, no space at an end; '
        'correct it, or leave it out for ""',
    ),
    (
        put("name", "line\n"),
        'name = "line\\n": must be text of 0 to 40 characters, one line, no space at an end; '
        'correct it, or leave it out for ""',
    ),
    (
        put("page.printer", "back-room"),
        'page.printer = "back-room": must be front-desk or none; '
        "correct it, or store that printer's bars (sheetmark printer set)",
    ),
    (
        put("sheets.0.width_mm", 79),
        "sheets[1].width_mm = 79: must be a number of 80 to 300 mm; correct it",
    ),
    (
        drop("sheets.1.height_mm"),
        "sheets[2].height_mm: missing, must be a number of 80 to 300 mm; add it",
    ),
    (
        put("sheets.0.thickness", "thick"),
        'sheets[1].thickness = "thick": must be extra-heavy or heavy or medium or thin, or '
        "a number of 0.1 to 0.5 mm; correct it",
    ),
    (
        put("sheets.1", {"width_mm": 152, "height_mm": 152, "thickness": 0.2}),
        'sheets[2] = "152 x 152 mm, latex, medium 0.2 mm": the same as in row 1; '
        "remove one, or tell them apart",
    ),
    (
        put("punch.diameters_mm", []),
        "punch.diameters_mm = []: must have 1 to 12 entries; correct the list",
    ),
    (
        put("punch.diameters_mm", [0.5, 1, 15, 2, 2.5, 2.6]),
        "punch.diameters_mm[3] = 15: must be a number of 0.3 to 5 mm; correct it",
    ),
    (
        put("punch.labels", ["A", "B"]),
        'punch.labels = ["A", "B"]: 2 labels for 6 holes; '
        "give one for each hole, or leave the line out for 1, 2, 3 and so on",
    ),
    (
        put("punch.labels", ["A", "B", "C", "D", "E", "A"]),
        'punch.labels = ["A", "B", "C", "D", "E", "A"]: "A" stands twice; tell holes apart',
    ),
    (
        put("punch.labels.0", "long"),
        'punch.labels[1] = "long": must be text of 1 to 3 characters, one line, no space at an '
        "end; correct it",
    ),
    (
        put("holes.share_of_break", 1),
        "holes.share_of_break = 1: must be a number of 0.1 to 0.95; "
        "correct it, or leave it out for 0.6",
    ),
    (
        put("holes.ease_mm", float("nan")),
        "holes.ease_mm = nan: must be a number of 0 to 5 mm; correct it, or leave it out for 0",
    ),
    (
        put("placement.shift", 1),
        "placement.shift = 1: must be true or false; correct it, or leave it out for true",
    ),
    (
        put("placement.upper_edge_above_incisal_mm", [45, 10]),
        "placement.upper_edge_above_incisal_mm = [45, 10]: from is larger than to; "
        "write the smaller number first",
    ),
    (
        put("placement.upper_edge_above_incisal_mm", [10]),
        "placement.upper_edge_above_incisal_mm = [10]: must be a list of 2, each a number of 0 "
        "to 100 mm; correct it, or leave it out for [15, 30]",
    ),
    (
        put("placement.hole_to_edge_refused_mm", 31),
        "placement.hole_to_edge_refused_mm = 31: must be at most the distance kept from hole to "
        "edge, 20 mm; lower it, or raise that distance",
    ),
    (
        put("marks.corner", "left"),
        'marks.corner = "left": must be upper-left or upper-right; '
        'correct it, or leave it out for "upper-left"',
    ),
    (
        put("marks.below_edge_mm", 14.5),
        "marks.below_edge_mm = 14.5: must be a number of 9 to 14 mm; "
        "correct it, or leave it out for 10",
    ),
    (
        put("tray.0.count", 0),
        "tray[1].count = 0: must be a whole number of 1 to 99; correct it, or leave it out for 1",
    ),
    (
        put("tray.0.label", ""),
        'tray[1].label = "": must be text of 1 to 40 characters, one line, no space at an end; '
        "correct it",
    ),
    (
        put("tray.1.label", "molar winged"),
        'tray[2].label = "molar winged": the same as in row 1; remove one, or tell them apart',
    ),
    (
        put("tray.0.span_mm", [11, 9]),
        "tray[1].span_mm = [11, 9]: from is larger than to; write the smaller number first",
    ),
    (
        put("tray.0.version", "quadrants-1-3"),
        'tray[1].version = "quadrants-1-3": belongs to jaws of unlike size; '
        "leave it out, or choose jaws larger-to-cheek",
    ),
    (
        put("tray.0", UNLIKE),
        "tray[1].version: missing, must be quadrants-1-3 or quadrants-2-4 where jaws are of "
        "unlike size; add it, or choose jaws alike",
    ),
    (put("tray", "none"), 'tray = "none": must be a list; write [[tray]] for each'),
    (
        put("tray.2", 7),
        "tray[3] = 7: must be a table; write [[tray]] on a line and its keys below it",
    ),
    (
        put("page", 7),
        "page = 7: must be a table; write [page] on a line and its keys below it",
    ),
    (
        put("printers.0.bar_x_mm", 144.8),
        "printers[1].bar_x_mm = 144.8: must be a number of 147 to 153 mm; printed at 0.965: "
        "the print queue fills the paper with the page: print at 100 % (actual size)",
    ),
    (
        put("printers.0", {"name": "none", "bar_x_mm": 150, "bar_y_mm": 150}),
        'printers[1].name = "none": this word means no printer; choose another name',
    ),
]
# The last change takes the printer in use away as well, which is a second problem.
ALSO = {'printers[1].name = "none"': "page.printer"}


@pytest.mark.parametrize(
    ("change", "line"), PROBLEMS, ids=[line.partition(":")[0] for _, line in PROBLEMS]
)
def test_a_problem_is_one_line_with_key_value_limit_and_advice(change: Change, line: str) -> None:
    data = example_data()
    assert not find_problems(data)
    change(data)
    lines = [problem.line for problem in find_problems(data)]
    assert line in lines
    others = [other for other in lines if other != line]
    expected = [key for start, key in ALSO.items() if line.startswith(start)]
    assert [other.partition(" ")[0] for other in others] == expected


MANY = """
numbers = "coma"
papper = 1
[page]
margin_mm = 4
[[sheets]]
width_mm = "wide"
height_mm = 152
[punch]
diameters_mm = [0.5, nan, 9]
labels = ["a", "a", ""]
[holes]
ease_mm = inf
[placement]
upper_edge_above_incisal_mm = [50, 10]
hole_to_edge_mm = 20
hole_to_edge_refused_mm = 25
[[tray]]
label = "q"
kind = "mollar"
winged = 1
count = 0
span_mm = [9, 7]
[[tray]]
label = "q"
kind = "molar"
winged = true
jaws = "larger-to-cheek"
[[printers]]
name = "none"
bar_x_mm = 150
bar_y_mm = 140
"""


def test_check_finds_every_problem_in_one_go(tmp_path: Path, capsys: Output) -> None:
    """Also those of a table that has others, and those between tables."""
    path = tmp_path / "clinic.toml"
    path.write_text(MANY)
    assert run(["practice", "check", "--practice", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    start = "sheetmark: error: clinic.toml: "
    lines = err.splitlines()
    assert all(line.startswith(start) for line in lines)
    assert sorted(line.removeprefix(start).partition(":")[0] for line in lines) == sorted(
        [
            "format",
            'numbers = "coma"',
            "papper = 1",
            "page.margin_mm = 4",
            'sheets[1].width_mm = "wide"',
            "punch.diameters_mm[2] = nan",
            "punch.diameters_mm[3] = 9",
            'punch.labels = ["a", "a", ""]',
            'punch.labels[3] = ""',
            "holes.ease_mm = inf",
            "placement.upper_edge_above_incisal_mm = [50, 10]",
            "placement.hole_to_edge_refused_mm = 25",
            'tray[1].kind = "mollar"',
            "tray[1].winged = 1",
            "tray[1].count = 0",
            "tray[1].span_mm = [9, 7]",
            "tray[2].version",
            'tray[2].label = "q"',
            'printers[1].name = "none"',
            "printers[1].bar_y_mm = 140",
        ]
    )


def test_check_names_letters_that_no_page_can_show(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "clinic.toml"
    text = EXAMPLE.read_text("utf-8")
    path.write_text(
        text.replace("Example practice", "Example \u6e2f").replace('"molar wingless"', '"\u2615"')
    )
    assert run(["practice", "check", "--practice", str(path)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.removeprefix("sheetmark: error: clinic.toml: ") for line in lines] == [
        "name = \"Example \u6e2f\": the font has no glyph for '\u6e2f' (U+6E2F); "
        "write it with other letters",
        "tray[2].label = \"\u2615\": the font has no glyph for '\u2615' (U+2615); "
        "write it with other letters",
    ]


def test_check_says_when_nothing_is_wrong(capsys: Output) -> None:
    assert run(["practice", "check", "--practice", str(EXAMPLE)]) == 0
    assert capsys.readouterr() == (f"{EXAMPLE}: no problems\n", "")


def test_check_says_where_a_file_is_looked_for(settings_folder: Path, capsys: Output) -> None:
    assert run(["practice", "check"]) == 2
    path = settings_folder / "sheetmark" / "practice.toml"
    assert capsys.readouterr().err == (
        f"sheetmark: error: practice file {path}: not found; make it with sheetmark practice init\n"
    )


BROKEN = {
    "no toml": (b'name = "x', "broken TOML: "),
    "not text": (b"\xff\xfe", "not UTF-8 text (byte 0); save it as UTF-8"),
    "a problem": (b'format = "sheetmark-practice/1"\nnaem = 1', "naem = 1: unknown key"),
    "nothing": (b"", "format: missing"),
}


@pytest.mark.parametrize(("content", "wording"), BROKEN.values(), ids=BROKEN.keys())
@pytest.mark.parametrize("named", [True, False], ids=["named", "own"])
def test_a_broken_practice_file_is_never_passed_over(
    content: bytes,
    wording: str,
    named: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Output,
) -> None:
    """Neither the file that was named nor the one in the settings folder."""
    path = tmp_path / "sheetmark" / "practice.toml"
    path.parent.mkdir()
    path.write_bytes(content)
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / name)
    page = tmp_path / "case.pdf"
    options = ["--practice", str(path)] if named else []
    for command in (
        ["overlay", "16", "-o", str(page)],
        ["practice", "show"],
        ["practice", "check"],
        ["printer", "page", "-o", str(page)],
        ["printer", "set", "--x", "150", "--y", "150"],
    ):
        assert run([*command, *options]) == 2, command
        out, err = capsys.readouterr()
        (line,) = err.splitlines()
        assert line.startswith("sheetmark: error: ")
        assert "practice" in line
        assert wording in line
        assert out == ""
        assert not page.exists()
        assert path.read_bytes() == content


@pytest.mark.parametrize("kind", ["missing", "folder", "link to nothing", "no file name"])
def test_a_practice_file_that_cannot_be_read_is_an_error(
    kind: str, tmp_path: Path, capsys: Output
) -> None:
    path = tmp_path / "clinic.toml"
    if kind == "folder":
        path.mkdir()
    elif kind == "link to nothing":
        path.symlink_to(tmp_path / "gone.toml")
    name = "a\0b" if kind == "no file name" else str(path)
    assert run(["overlay", "16", "--practice", name]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("sheetmark: error: ")
    assert "practice file " in line


def test_a_link_to_nothing_in_the_settings_folder_is_an_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / name)
    (tmp_path / "sheetmark").mkdir()
    (tmp_path / "sheetmark" / "practice.toml").symlink_to(tmp_path / "gone.toml")
    assert run(["overlay", "16"]) == 2
    assert "cannot be read" in capsys.readouterr().err


def test_a_byte_order_mark_and_crlf_are_no_problem() -> None:
    text = "\ufeff" + EXAMPLE.read_text("utf-8").replace("\n", "\r\n")
    path_text = text.encode().decode("utf-8-sig")
    plain = check_text(EXAMPLE.read_text("utf-8"), "practice.toml").practice
    assert check_text(path_text, "practice.toml").practice == plain


def test_a_file_without_clamps_has_none() -> None:
    practice = check_text('format = "sheetmark-practice/1"\ntray = []', "x.toml").practice
    assert practice.tray == ()
    assert from_practice(practice).tray == ()


def test_deeply_nested_toml_gives_a_line() -> None:
    with pytest.raises(InputError) as caught:
        check_text("x = " + "[" * 3000 + "]" * 3000, "x.toml")
    assert len(caught.value.problems) >= 1
