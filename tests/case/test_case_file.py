"""A case from a TOML file, and the schema that describes it."""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from msgspec.structs import fields

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Run, ToothState
from sheetmark.case.file import CaseFile, ToothEntry, case_schema, read_case, write_case
from sheetmark.cli.app import run
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from tests.helpers.cases import case_of, cases

BRIDGE = """
format = "sheetmark-case/1"
notation = "universal"
treat = ["12"]
for = "crown"
slits = ["12-14"]
missing = ["8"]
anchors = ["15"]
expose = ["10-15"]
present = ["16"]
access = "tight"
reference = "chair 2"

[[tooth]]
tooth = "13"
pontic = true

[[tooth]]
tooth = "5"
facial_mm = -1.5
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "case.toml"
    path.write_text(text, "utf-8")
    return path


def test_a_whole_case(tmp_path: Path) -> None:
    assert read_case(write(tmp_path, BRIDGE)) == Case(
        treat=(Tooth(2, 4),),
        notation="universal",
        procedure="crown",
        slits=(Run(Tooth(2, 4), Tooth(2, 6)),),
        missing=(Tooth(1, 1),),
        anchors=(Tooth(2, 7),),
        expose=(Run(Tooth(2, 2), Tooth(2, 7)),),
        present=(Tooth(2, 8),),
        access="tight",
        reference="chair 2",
        states=(
            ToothState(Tooth(2, 5), pontic=True),
            ToothState(Tooth(1, 4), facial_mm=-1.5),
        ),
    )


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"sheetmark-case/1"', '"sheetmark-case/2"', "format"),
        ('treat = ["12"]', "treat = []", "treat"),
        ('treat = ["12"]', 'treat = ["33"]', "not a tooth in universal"),
        ('for = "crown"', 'for = "veneer"', "for"),
        ('for = "crown"', 'procedure = "crown"', "procedure: not a known key; use one of"),
        ("pontic = true", "pontick = true", r"tooth\[0\]"),
        ("facial_mm = -1.5", "facial_mm = nan", "most is 10 mm"),
        ('slits = ["12-14"]', 'slits = ["12"]', r"slits\[0\]"),
        ("[[tooth]]", "[[tooth", "broken TOML"),
    ],
)
def test_refusals_are_one_line(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in BRIDGE
    with pytest.raises(InputError, match=message) as error:
        read_case(write(tmp_path, BRIDGE.replace(old, new, 1)))
    assert len(error.value.problems) == 1
    assert "\n" not in str(error.value)


def test_an_entry_has_the_fields_of_a_state() -> None:
    assert list(ToothEntry.__struct_fields__) == [field.name for field in fields(ToothState)]


def test_the_schema_accepts_the_case_and_refuses_a_wrong_key() -> None:
    schema = case_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    case = tomllib.loads(BRIDGE)
    jsonschema.validate(case, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(case | {"teeth": ["12"]}, schema)
    for field in CaseFile.__struct_encode_fields__:
        assert field in str(schema)


def test_the_command_takes_a_case_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, written = write(tmp_path, BRIDGE), tmp_path / "case.json"
    assert run(["overlay", "--case", str(path), "-o", str(written)]) == 0
    capsys.readouterr()
    plan = json.loads(written.read_bytes())
    assert plan == json.loads(render_plan(make_plan(read_case(path)), "json"))
    # The recipe says the same without the file.
    again = tmp_path / "again.json"
    assert run([*shlex.split(plan["command"])[1:], "-o", str(again)]) == 0
    assert again.read_bytes() == written.read_bytes()


@pytest.mark.parametrize(
    ("beside", "names"),
    [
        (["16"], "teeth"),
        (["--more", "1"], "--more"),
        (["16", "--with", "15 missing", "--for", "crown"], "teeth, --for, --with"),
    ],
)
def test_no_option_of_the_case_stands_beside_its_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], beside: list[str], names: str
) -> None:
    assert run(["overlay", *beside, "--case", str(write(tmp_path, BRIDGE))]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert f": {names} cannot be combined with --case; write it in the file" in line


@pytest.mark.parametrize("text", ['treat = ["99"]', 'treat = ["16"]\nage = 300'])
def test_what_is_wrong_in_a_file_names_the_file(text: str, tmp_path: Path) -> None:
    """Of several cases one is meant."""
    path = tmp_path / "case.toml"
    path.write_text(f'format = "sheetmark-case/1"\n{text}\n', "utf-8")
    with pytest.raises(InputError, match=f"^{re.escape(str(path))}: "):
        read_case(path)


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["case", "schema"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(case_schema()))


@settings(max_examples=60, derandomize=True, deadline=None)
@given(cases())
def test_a_written_case_is_read_back(tmp_path_factory: pytest.TempPathFactory, case: Case) -> None:
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(write_case(case), "utf-8")
    assert read_case(path) == case


def test_a_written_case_keeps_all_that_a_file_can_say(tmp_path: Path) -> None:
    path, again = tmp_path / "case.toml", tmp_path / "again.toml"
    path.write_text(BRIDGE, "utf-8")
    case = read_case(path)
    changed = {field.name for field in fields(case) if getattr(case, field.name) != field.default}
    assert changed >= {"anchors", "expose", "missing", "present", "slits", "access", "states"}
    again.write_text(write_case(case), "utf-8")
    assert read_case(again) == case


def test_a_written_case_says_only_what_is_not_usual() -> None:
    assert write_case(case_of("16")) == 'format = "sheetmark-case/1"\ntreat = ["16"]\n'
