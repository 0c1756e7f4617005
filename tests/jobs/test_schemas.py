"""The published schemas hold real files of every kind, and no spoiled one.

Reports of strain, coverage and photographs are held to theirs where they are made, in `tests/cli`.
"""

from __future__ import annotations

import json
import shlex
import typing
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from sheetmark.cli.app import run
from sheetmark.jobs.outputs import render_plan, render_plans
from sheetmark.jobs.schemas import SCHEMAS, json_schema
from sheetmark.practice.settings import OrientationMarks, Practice
from tests.helpers.cases import Setup, setups
from tests.helpers.named_cases import NAMED_CASES
from tests.helpers.schemas import check_schema, wrong
from tests.helpers.valid_cases import sample

LIST = (
    "time,teeth,reference,age,exceptions\n8:30,16,a,,\n9:00,75,b,6,\n9:10,26,a,,\n9:20,17,,,\n"
    "9:30,27,,,\n9:40,16,,,\n,11 21,ä,,\n10:00,99,,,\n7:00,13 23,,,13 lesion\n"
)
# Each fills a part of the plan that most cases leave empty.
CASES = (
    "16 --with '15 pontic' --with '14 abutment' --slit 14-16",
    "13 23 --for cervical --with '13 lesion'",
    "75 --age 6 --paper letter",
    "A --age 6 --notation universal",
    "16 --measure 'row 14-17 35.2' --reference 'chair 2'",
    "36 --access tight --hold ligature --no-shift",
    "48 --present 48 --sheet 127 --material nitrile",
)


def written(command: str, folder: Path, code: int = 0) -> Any:
    """What a command writes to `out.json`."""
    path = folder / "out.json"
    assert run([*shlex.split(command), "-o", str(path), "--force"]) == code
    return json.loads(path.read_text("utf-8"))


@settings(max_examples=40, derandomize=True, deadline=None)
@given(setups())
def test_every_plan_fits(setup: Setup) -> None:
    check_schema(json.loads(render_plan(setup.plan(), "json")))


@pytest.mark.parametrize("command", CASES)
def test_plans_with_every_part_fit(command: str, tmp_path: Path) -> None:
    check_schema(written(f"overlay {command}", tmp_path))


def test_the_other_files_fit(tmp_path: Path) -> None:
    plans = [NAMED_CASES[name].plan for name in ("molar", "root canal")]
    check_schema(json.loads(render_plans(plans, "json")))
    check_schema(sample("11", Practice(marks=OrientationMarks(kind="corner-hole"))).data)
    check_schema(written("handout exercise --cases 3 --seed 2", tmp_path))


def test_the_days_plan_fits_and_is_that_of_the_pages(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(LIST, "utf-8")
    day = written(f"day '{tmp_path / 'list.csv'}' -o '{tmp_path / 'day.pdf'}'", tmp_path, code=2)
    check_schema(day)
    assert day == written(f"day '{tmp_path / 'list.csv'}'", tmp_path, code=2)
    assert [case["treated"] for case in day["cases"]][:2] == [["16"], ["75"]]
    assert day["cases"][0]["minute"] == 8 * 60 + 30
    assert day["cases"][0]["wishes"][0]["teeth"] == ["17"]
    assert [problem["row"] for problem in day["left_out"]] == [9]
    assert day["clashes"], "more molar clamps are wanted at a time than there are"
    assert [remark["column"] for remark in day["remarks"]] == ["reference", "time"]


@pytest.fixture(scope="module")
def plan() -> Any:
    return json.loads(render_plan(NAMED_CASES["molar"].plan, "json"))


def spoiled(data: Any) -> Iterator[Any]:
    """The data with one value of another type, for each key of a table in turn."""
    for key, value in data.items():
        yield data | {key: {"another": 1} if not isinstance(value, dict) else 1.5}
        yield {name: kept for name, kept in data.items() if name != key}


def test_no_spoiled_plan_fits(plan: Any) -> None:
    for broken in spoiled(plan):
        assert wrong("plan", broken), "a key of another type, or without it"
    for part in ("case", "settings", "arch", "sheet", "page"):
        for broken in spoiled(plan[part]):
            assert wrong("plan", plan | {part: broken}), part
    for broken in spoiled(plan["holes"][0]):
        assert wrong("plan", plan | {"holes": [broken]})
    for broken in spoiled(plan["clamps"][0]["choices"][0]):
        clamps = deepcopy(plan["clamps"])
        clamps[0]["choices"] = [broken]
        assert wrong("plan", plan | {"clamps": clamps})


@pytest.mark.parametrize(
    ("part", "key", "value"),
    [
        ("arch", "centres_mm", {"16": [1.0]}),
        ("arch", "centres_mm", {"99": [1.0, 2.0]}),
        ("arch", "jaw", "left"),
        ("case", "treat", []),
        ("case", "treat", ["19"]),
        ("case", "procedure", "filling"),
        ("sheet", "width_mm", -152),
    ],
)
def test_a_value_that_cannot_be_is_no_plan(plan: Any, part: str, key: str, value: Any) -> None:
    assert wrong("plan", plan | {part: plan[part] | {key: value}})


def test_the_schemas_are_listed_and_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["schema"]) == 0
    listed = capsys.readouterr().out
    assert [line.split()[0] for line in listed.splitlines()] == list(SCHEMAS)
    for name, (record, _, form) in SCHEMAS.items():
        assert run(["schema", name]) == 0
        schema = json.loads(capsys.readouterr().out)
        assert schema == json.loads(json.dumps(json_schema(name)))
        assert schema["$id"] in listed
        (known,) = typing.get_args(typing.get_type_hints(record)["format"])
        assert known == form
    assert run(["schema", "plna"]) == 2
    assert "did you mean plan? use one of plan, plans, day" in capsys.readouterr().err
