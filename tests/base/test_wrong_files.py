"""A file that was chosen by mistake is called by its name, with what was expected, in one line."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Annotated, Literal

import msgspec
import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.base.findings import InputError
from sheetmark.base.toml import as_record
from sheetmark.case.file import read_case
from sheetmark.day.list import Form, read_day
from sheetmark.fitting.landmarks import read_landmarks
from sheetmark.practice.file.check import read_practice


def packed(*names: str) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name in names:
            archive.writestr(name, "content")
    return file.getvalue()


WRONG = {
    "a PDF": b"%PDF-1.7\n%\xe2\xe3\n1 0 obj\n",
    "a PNG": b"\x89PNG\r\n\x1a\n",
    "a JPEG": b"\xff\xd8\xff\xe0\0\x10JFIF",
    "a HEIC": b"\0\0\0\x24ftypheic",
    "a web page": b"<!DOCTYPE html>\n<html><table><tr><td>teeth",
    "a Word file": packed("[Content_Types].xml", "word/document.xml"),
    "a packed file": packed("list.csv"),
    "an old Excel or Word file, or one with a password": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
}
EXCEL = packed("[Content_Types].xml", "xl/workbook.xml")
PROGRAMMERS = ("UTF-8", "byte", "NUL", "Zip", "Error", "enum", "Object", "`")


def refusal(read: Callable[[], object]) -> str:
    with pytest.raises(InputError) as refused:
        read()
    (line,) = refused.value.problems
    assert "\n" not in line
    assert not [word for word in PROGRAMMERS if word in line]
    return line


@pytest.mark.parametrize("form", ["csv", "xlsx", "ics", "toml"])
@pytest.mark.parametrize("kind", WRONG)
def test_a_list_that_is_none(kind: str, form: Form) -> None:
    line = refusal(lambda: read_day(WRONG[kind], f"today.{form}", form))
    assert line.startswith(f"today.{form}: {kind}, not a ")
    assert line.endswith("; choose the day's list as .xlsx, .csv, .ics or .toml")


def test_a_spreadsheet_under_another_ending_and_a_broken_one() -> None:
    line = refusal(lambda: read_day(EXCEL, "today.csv", "csv"))
    assert line.startswith("today.csv: an .xlsx file, not a list as .csv; ")
    for content in (EXCEL, EXCEL[:-30], b"teeth\n16\n", b""):
        line = refusal(lambda content=content: read_day(content, "today.xlsx", "xlsx"))  # type: ignore[misc]
        assert line == (
            "today.xlsx: no spreadsheet, or broken; open the list in its own program and save it "
            "again as .xlsx or as CSV"
        )


READERS: dict[str, Callable[[Path], object]] = {
    "a case in TOML": read_case,
    "a practice file in TOML": read_practice,
    "an arch model in TOML": lambda path: load_model(str(path)),
    "a CSV of landmarks": lambda path: read_landmarks(path.read_bytes(), path.name, "iso"),
}


@pytest.mark.parametrize("what", READERS)
@pytest.mark.parametrize("kind", WRONG)
def test_a_case_an_arch_and_settings_that_are_none(tmp_path: Path, kind: str, what: str) -> None:
    path = tmp_path / "file.toml"
    path.write_bytes(WRONG[kind])
    line = refusal(lambda: READERS[what](path))
    assert line.endswith(f"file.toml: {kind}, not {what}; choose one")


@pytest.mark.parametrize("what", list(READERS)[:3])
def test_a_file_of_ours_for_something_else(tmp_path: Path, what: str) -> None:
    path = tmp_path / "file.toml"
    for kind, form in (
        ("a case", "case"),
        ("an arch model", "arch"),
        ("a practice file", "practice"),
    ):
        path.write_text(f'format = "sheetmark-{form}/1"\n')
        if what.startswith(kind):
            continue
        line = refusal(lambda: READERS[what](path))
        assert line.endswith(f"file.toml: {kind}, not {what}; choose one")
    line = refusal(lambda: read_day(b'format = "sheetmark-case/1"\n', "day.toml", "toml"))
    assert line.startswith("day.toml: a case, not a day's list; ")


class Inner(msgspec.Struct, forbid_unknown_fields=True, tag_field="form", tag="inner"):
    many: Annotated[tuple[int, ...], msgspec.Meta(min_length=2)] = (1, 2)
    pair: tuple[float, float] = (1.0, 2.0)
    text: Annotated[str, msgspec.Meta(max_length=3)] = ""


class Other(msgspec.Struct, tag_field="form", tag="other"):
    pass


class Outer(msgspec.Struct, forbid_unknown_fields=True):
    access: Literal["normal", "tight"] = "normal"
    age: Annotated[int, msgspec.Meta(ge=0, le=120)] | None = None
    run: Annotated[str, msgspec.Meta(pattern="-", description="Two teeth with a dash")] = "1-2"
    inner: Inner | Other | None = None
    rows: dict[str, Annotated[float, msgspec.Meta(gt=0)]] = {}


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ({"access": "tihgt"}, 'access = "tihgt": must be normal or tight; did you mean tight?'),
        ({"access": "no"}, 'access = "no": must be normal or tight; correct it'),
        ({"age": "old"}, 'age = "old": must be a whole number; correct it'),
        ({"age": -1}, "age = -1: must be at least 0; correct it"),
        ({"age": 121}, "age = 121: must be at most 120; correct it"),
        ({"run": "12"}, 'run = "12": must be two teeth with a dash; correct it'),
        ({"acess": "tight"}, "acess: not a known key; did you mean access?"),
        ({"x": 1}, "x: not a known key; use one of access, age, run, inner, rows"),
        ({"inner": {}}, "inner.form: missing; add it"),
        (
            {"inner": {"form": "iner"}},
            'inner.form = "iner": must be inner or other; did you mean inner?',
        ),
        (
            {"inner": {"form": "inner", "many": [1]}},
            "inner.many: must have at least 2 entries; correct it",
        ),
        (
            {"inner": {"form": "inner", "many": [1, "a"]}},
            'inner.many[1] = "a": must be a whole number; correct it',
        ),
        (
            {"inner": {"form": "inner", "pair": [1.0]}},
            "inner.pair: must have 2 entries; correct it",
        ),
        (
            {"inner": {"form": "inner", "text": "long"}},
            'inner.text = "long": must have at most 3 characters; correct it',
        ),
        ({"inner": 1}, "inner = 1: must be a table of keys; correct it"),
        ({"rows": {"a": 0.0}}, "rows[...]: must be more than 0; correct it"),
        ([], "top level: must be a table of keys; correct it"),
    ],
)  # fmt: skip
def test_a_key_that_does_not_fit_is_explained(data: object, why: str) -> None:
    assert refusal(lambda: as_record(data, "x.toml", Outer)) == f"x.toml: {why}"
