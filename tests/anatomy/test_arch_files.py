"""The loader of arch model files: what it takes, and what it refuses with file and key."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.base.findings import InputError
from tests.helpers.model_files import changed, shipped, with_curve, written


def test_a_file_gives_the_same_model_as_the_shipped_name(tmp_path: Path) -> None:
    assert load_model(written(tmp_path, shipped())) == load_model("adult-mean")


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf" + shipped().encode(),
        shipped().replace("\n", "\r\n").encode(),
    ],
    ids=["byte order mark", "Windows line ends"],
)
def test_editors_may_leave_their_marks(tmp_path: Path, content: bytes) -> None:
    assert load_model(written(tmp_path, content)) == load_model("adult-mean")


def test_a_width_may_be_a_whole_number(tmp_path: Path) -> None:
    model = load_model(written(tmp_path, changed(shipped(), "mm = 8.59", "mm = 9")))
    assert model.width("upper", "1")[0].mm == 9.0


def refusal(path: str) -> str:
    """The one line that refuses a file, without the file's name, which it must begin with."""
    with pytest.raises(InputError) as refused:
        load_model(path)
    (problem,) = refused.value.problems
    assert "\n" not in problem
    assert problem.startswith(f"{path}: ")
    return problem.removeprefix(f"{path}: ")


FIRST_ROW = (
    '{ tooth = "1", mm = 8.59, sd_mm = 0.54, source = "moorrees-1957", flag = "M", '
    'note = "mean of the two sexes; SD of men and women together" }'
)
ROW = 'row = ["1", "2", "3", "4", "5", "6", "7", "8"]'
A, SOLVE = "a = 1.3130443089703253e-07", 'solve_from = ["3", "6"]'
CANINES = '{ tooth = "3", mm = 31.75'


@pytest.mark.parametrize(
    ("old", "new", "key", "wording"),
    [
        (', source = "moorrees-1957"', "", "upper.mesiodistal[0].source", "missing; add it"),
        (', flag = "M", note', ", note", "upper.mesiodistal[0].flag", "missing; add it"),
        ('source = "moorrees-1957",', 'source = "",', "upper.mesiodistal[0].source", "be empty"),
        ('flag = "M", note', 'flag = "X", note', "upper.mesiodistal[0].flag", '"X": must be D'),
        ("sd_mm = 0.54", "sd = 0.54", "upper.mesiodistal[0].sd", "not a known key"),
        ("mm = 8.59", "mm = 0", "upper.mesiodistal[0].mm", "must be at least 2;"),
        ("mm = 8.59", "mm = 0.0", "upper.mesiodistal[0].mm", "must be at least 2;"),
        ("mm = 8.59", "mm = -8.59", "upper.mesiodistal[0].mm", "must be at least 2;"),
        ("mm = 8.59", "mm = nan", "upper.mesiodistal[0].mm", "must be at least 2;"),
        ("mm = 8.59", "mm = inf", "upper.mesiodistal[0].mm", "must be at most 16;"),
        ("mm = 8.59", "mm = 80", "upper.mesiodistal[0].mm", "must be at most 16;"),
        ("mm = 8.59", 'mm = "8.59"', "upper.mesiodistal[0].mm", '"8.59": must be a number;'),
        ("sd_mm = 0.54", "sd_mm = nan", "upper.mesiodistal[0].sd_mm", "must be more than 0;"),
        ("sd_mm = 0.54", "sd_mm = 0", "upper.mesiodistal[0].sd_mm", "must be more than 0;"),
        ("mm = 31.75", "mm = nan", "upper.centre_widths[0].mm", "must be at least 10;"),
        ("mm = 31.75", "mm = 0", "upper.centre_widths[0].mm", "must be at least 10;"),
        ("mm = 31.75", "mm = 317.5", "upper.centre_widths[0].mm", "must be at most 90;"),
        (A, "a = nan", "upper.curve.a", "must be at least 0;"),
        (A, "a = -1e-7", "upper.curve.a", "must be at least 0;"),
        ('form = "sixth-order"', 'form = "ellipse"', "upper.curve.form", "must be sixth-order"),
        ('form = "sixth-order"\n', "", "upper.curve.form", "missing; add it"),
        ('\nsource = "moorrees-1957"\n', "\n", "upper.curve.source", "missing; add it"),
        ("sheetmark-arch/1", "sheetmark-arch/9", "format", "sheetmark-arch/9"),
        ('name = "adult-mean"', 'name = "Adult Mean"', "name", "must be small letters"),
        ("[upper.curve]", "[upper.curves]", "upper.curves", "did you mean curve?"),
        (ROW, 'row = ["1", "9"]', "upper.row[1]", '"9": must be 1 or 2'),
        (ROW, 'row = "123"', "upper.row", "must be a list;"),
        (SOLVE, 'solve_from = ["3"]', "upper.solve_from", "must have 2 entries;"),
        ('sd_flag = "assumption"', 'sd_flag = "X"', "upper.centre_widths[0].sd_flag", '"X": must'),
        ("centre_widths = [", "widths = [", "upper.widths", "did you mean centre_widths?"),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_is_refused_by_its_key(
    tmp_path: Path, old: str, new: str, key: str, wording: str
) -> None:
    problem = refusal(written(tmp_path, changed(with_curve(), old, new)))
    assert problem.startswith((f"{key}: ", f"{key} = "))
    assert wording in problem
    assert problem.endswith(("; correct it", "; add it", "?")) or "; use one of " in problem
    assert not set("`{}") & set(problem), "in words for programmers"


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            'source = "moorrees-1957",',
            'source = "moorrees",',
            "upper.mesiodistal[0] (tooth 1): source 'moorrees' is not under [cites] or [sources]; "
            "add it there",
        ),
        (
            'source = "moyers-1976",',
            'source = "moyers",',
            "upper.centre_widths[0] (tooth 3): source 'moyers' is not under [cites] or [sources]; "
            "add it there",
        ),
        (
            '\nsource = "moorrees-1957"',
            '\nsource = "noroozi"',
            "upper.curve: source 'noroozi' is not under [cites] or [sources]; add it there",
        ),
        (
            FIRST_ROW,
            f"{FIRST_ROW}, {FIRST_ROW}",
            "upper.mesiodistal[1] (tooth 1): a second row for the same tooth; remove one",
        ),
        (
            f"  {FIRST_ROW},\n",
            "",
            "arch model adult-mean: upper.mesiodistal: no row for tooth 1; "
            "add it, or name a model that has it in widths_from",
        ),
        (
            'widths_from = ["primary"]',
            'widths_from = ["baby"]',
            f"widths_from: 'baby' is no shipped model; use {', '.join(model_names())}",
        ),
        (
            ROW,
            'row = ["1", "1", "2", "3", "4", "5", "6", "7", "8"]',
            "upper.row: tooth 1 stands after tooth 1; "
            "name each place once, from the midline outwards",
        ),
        (
            ROW,
            'row = ["1", "2", "3", "C", "4", "5", "6", "7", "8"]',
            "upper.row: tooth C stands after tooth 3; "
            "name each place once, from the midline outwards",
        ),
        (
            ROW,
            'row = ["2", "1", "3", "4", "5", "6", "7", "8"]',
            "upper.row: tooth 1 stands after tooth 2; "
            "name each place once, from the midline outwards",
        ),
        (ROW, "row = []", "upper.row: no teeth; name them from the midline outwards"),
    ],
)
def test_rows_that_contradict_each_other_are_refused(
    tmp_path: Path, old: str, new: str, expected: str
) -> None:
    assert refusal(written(tmp_path, changed(with_curve(), old, new))) == expected


def test_an_arch_needs_a_width(tmp_path: Path) -> None:
    text = shipped()
    start, end = text.index("centre_widths = ["), text.index("\n[lower]")
    path = written(tmp_path, text[:start] + "centre_widths = []\n" + text[end:])
    assert refusal(path) == ("upper.centre_widths: none; give that between the canines at least")


def test_a_width_of_a_place_without_a_tooth_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, changed(shipped(), '"2", "3", "4"', '"2", "4"'))
    assert refusal(path) == (
        "upper.centre_widths: a width for place 3 from the midline, where the row has no tooth; "
        "remove it, or name the tooth in the row"
    )


def test_a_short_row_needs_the_teeth_that_its_widths_reach(tmp_path: Path) -> None:
    text = changed(shipped("primary"), 'widths_from = ["adult-mean"]\n', "")
    assert refusal(written(tmp_path, text)) == (
        "arch model primary: upper.mesiodistal: no row for tooth 6; "
        "add it, or name a model that has it in widths_from"
    )


def test_primary_and_permanent_teeth_share_a_place(tmp_path: Path) -> None:
    # A width under the permanent tooth's name counts for the primary one that stands there.
    text = changed(shipped("age-8"), '{ tooth = "D", mm = 33.35', '{ tooth = "4", mm = 33.35')
    model = load_model(written(tmp_path, text))
    assert model.upper.across_mm == load_model("age-8").upper.across_mm


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("mm = 5.335", "mm = 0", "lower.mesiodistal[0].mm = 0: must be at least 2; correct it"),
        (
            'source = "woelfel-scheid"',
            'source = "w"',
            "lower.mesiodistal[7] (tooth 8): source 'w' is not",
        ),
        (ROW, 'row = ["2", "1"]', "lower.row: tooth 1 stands after tooth 2; "),
    ],
)
def test_the_lower_jaw_is_checked_as_well(
    tmp_path: Path, old: str, new: str, expected: str
) -> None:
    upper, lower = shipped().split("[lower]\n")
    path = written(tmp_path, f"{upper}[lower]\n{changed(lower, old, new)}")
    assert refusal(path).startswith(expected)


def test_a_space_needs_a_known_source_too(tmp_path: Path) -> None:
    text = changed(shipped("primary"), 'source = "spacing"', 'source = "nobody"')
    assert refusal(written(tmp_path, text)) == (
        "upper.spaces[0]: source 'nobody' is not under [cites] or [sources]; add it there"
    )


def test_broken_toml_is_refused_with_the_line(tmp_path: Path) -> None:
    text = changed(shipped(), "[upper]\n", "[upper\n")
    line = text.splitlines().index("[upper") + 1
    problem = refusal(written(tmp_path, text))
    assert problem.startswith("broken TOML: ")
    assert f"at line {line}, column" in problem


@pytest.mark.parametrize(
    ("content", "byte"), [(shipped().encode("utf-16"), 0), (b"# caf\xe9\n" + shipped().encode(), 5)]
)
def test_text_that_is_not_utf_8_is_refused(tmp_path: Path, content: bytes, byte: int) -> None:
    expected = f"not UTF-8 text (byte {byte}); save it as UTF-8"
    assert refusal(written(tmp_path, content)) == expected


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    problem = refusal(written(tmp_path, ""))
    assert problem == "format: missing; add it"


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    missing = refusal(str(tmp_path / "none.toml"))
    assert missing == "cannot be read (No such file or directory); check the path"
    (tmp_path / "folder.toml").mkdir()
    folder = refusal(str(tmp_path / "folder.toml"))
    assert folder.startswith("cannot be read (")
    assert folder.endswith("); check the path")


@pytest.mark.parametrize("path", ["a\0b.toml", "\ud800.toml"])
def test_a_name_that_no_file_can_have_is_refused(path: str) -> None:
    with pytest.raises(InputError) as refused:
        load_model(path)
    (problem,) = refused.value.problems
    assert problem == f"{path!r}: not a file name; check the path"


@pytest.mark.parametrize("name", ["", "adult", "ADULT-MEAN", "crowns", "../adult-mean", "a\nb"])
def test_an_unknown_name_is_refused_with_the_known_ones(name: str) -> None:
    with pytest.raises(InputError) as refused:
        load_model(name)
    (problem,) = refused.value.problems
    assert problem == (
        f"arch model {name!r}: unknown; use {', '.join(model_names())} or a .toml file"
    )
