"""The plan as JSON: its keys and types, its order and frame, and the recipe it carries."""

from __future__ import annotations

import contextlib
import json
import os
import shlex
import subprocess
import sys
from math import isfinite
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
import pytest
from hypothesis import given

from sheetmark.anatomy.teeth import Notation
from sheetmark.base.version import __version__
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.plan_json import plan_json
from tests.helpers.cases import (
    LOWER,
    UPPER,
    Setup,
    chart,
    codes,
    few,
    json_of,
    plan_of,
    run_json,
    setups,
    spell,
)
from tests.helpers.paths import ROOT

Iso = Annotated[str, msgspec.Meta(pattern=r"^([1-4][1-8]|[5-8][1-5])$")]
Length = Annotated[float, msgspec.Meta(gt=0)]
Point = tuple[float, float]


class CaseEcho(msgspec.Struct):
    treat: list[Iso]
    procedure: Literal["restoration", "crown", "root-canal", "cervical", "full-arch"]
    notation: Notation
    expose: str
    more: int
    missing: list[Iso]
    present: list[Iso]
    reference: str


class ArchEcho(msgspec.Struct):
    model: str
    jaw: Literal["upper", "lower"]
    centres_mm: dict[Iso, Point]
    contacts_mm: dict[Iso, Point]


class SheetRow(msgspec.Struct):
    width_mm: Length
    height_mm: Length
    shift_mm: Point


class HoleRow(msgspec.Struct):
    tooth: Iso
    role: Literal["anchor", "treated", "exposed"]
    x_mm: float
    y_mm: float
    diameter_mm: Length
    punch_position: Annotated[int, msgspec.Meta(ge=1)]
    stretch_at_neck: Length
    stretch_passing: Length


class PageRow(msgspec.Struct):
    paper: Literal["A4", "letter"]
    width_mm: Length
    height_mm: Length
    sheet_centre_mm: Point


class FindingRow(msgspec.Struct):
    code: Annotated[str, msgspec.Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
    severity: Literal["info", "warning"]
    message: Annotated[str, msgspec.Meta(min_length=1)]
    advice: str


class PlanRecord(msgspec.Struct):
    """Every key that other programs may count on; a plan may hold more."""

    format: Literal["sheetmark-plan/1"]
    sheetmark: str
    case: CaseEcho
    arch: ArchEcho
    sheet: SheetRow
    isolated: list[Iso]
    anchors: Annotated[list[Iso], msgspec.Meta(min_length=1)]
    holes: Annotated[list[HoleRow], msgspec.Meta(min_length=1)]
    centre_mark_mm: Point
    orientation_marks_mm: tuple[Point, Point]
    page: PageRow
    findings: list[FindingRow]
    sources: Annotated[list[str], msgspec.Meta(min_length=1)]


def numbers(data: Any) -> list[float]:
    """Every number in plain data, however deep."""
    if isinstance(data, dict):
        return [number for value in data.values() for number in numbers(value)]
    if isinstance(data, list):
        return [number for value in data for number in numbers(value)]
    return [data] if isinstance(data, int | float) and not isinstance(data, bool) else []


@given(setups())
@few
def test_every_plan_has_the_promised_keys_and_types(setup: Setup) -> None:
    plan = json.loads(render_plan(setup.plan(), "json"))
    record = msgspec.convert(plan, PlanRecord)
    assert record.sheetmark == __version__
    assert [hole.tooth for hole in record.holes] == record.isolated
    order = UPPER if record.arch.jaw == "upper" else LOWER
    for row in (record.isolated, record.anchors, list(record.arch.centres_mm)):
        assert row == [iso for iso in order if iso in row], "from the patient's right to the left"
    assert set(record.isolated) <= set(record.arch.centres_mm)
    found = numbers(plan)
    assert len(found) > 40
    assert all(map(isfinite, found))


@given(setups())
@few
def test_the_file_holds_the_plan_and_nothing_that_json_does_not_know(setup: Setup) -> None:
    plan = setup.json()
    text = json.dumps(plan, allow_nan=False)
    assert json.loads(text) == json.loads(render_plan(setup.plan(), "json")) == plan


def test_the_schema_would_notice() -> None:
    plan = json_of("16")
    changes: list[dict[str, Any]] = [
        {"format": "sheetmark-plan/2"},
        {"isolated": ["UR6"]},
        {"anchors": []},
        {"page": plan["page"] | {"width_mm": "210"}},
        {"holes": [plan["holes"][0] | {"role": "clamp"}]},
    ]
    for change in changes:
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(plan | change, PlanRecord)
    for key in PlanRecord.__struct_fields__:
        less = {name: value for name, value in plan.items() if name != key}
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(less, PlanRecord)


def test_the_frame_is_that_of_the_operator_facing_the_patient() -> None:
    """x grows to the patient's left, y towards the nose."""
    signs = {"16": (-1, 1), "26": (1, 1), "36": (1, -1), "46": (-1, -1)}
    for iso, (x_sign, y_sign) in signs.items():
        plan = json_of(iso)
        x, y = plan["arch"]["centres_mm"][iso]
        assert (x * x_sign > 0, y * y_sign > 0) == (True, True)
        shift_x, shift_y = plan["sheet"]["shift_mm"]
        (at,) = [(h["x_mm"], h["y_mm"]) for h in plan["holes"] if h["tooth"] == iso]
        assert at == pytest.approx((x - shift_x, y - shift_y), abs=2e-9)


def test_every_tooth_of_the_jaw_has_its_centre_isolated_or_not() -> None:
    assert list(json_of("16", missing="15")["arch"]["centres_mm"]) == UPPER
    assert list(json_of("36", procedure="root-canal")["arch"]["centres_mm"]) == LOWER


@pytest.mark.parametrize("notation", ["universal", "palmer"])
@pytest.mark.parametrize("iso", ["16", "24", "36", "41"])
def test_teeth_are_iso_in_the_file_whatever_people_write(iso: str, notation: Notation) -> None:
    missing = chart(iso)[5]
    arguments = [
        spell(iso, notation),
        "--missing",
        spell(missing, notation),
        "--notation",
        notation,
    ]
    plan = run_json(*arguments)
    assert plan["case"]["treat"] == [iso]
    assert plan["case"]["missing"] == [missing]
    assert plan["case"]["notation"] == notation
    assert plan["isolated"] == json_of(iso, missing=missing)["isolated"]


def test_people_read_their_own_notation() -> None:
    found = json_of("17", notation="universal")["findings"]
    assert any("behind 2," in finding["message"] for finding in found)


ENDINGS = ("json", "svg", "pdf", "dxf")


@pytest.fixture(scope="module")
def from_three_seeds(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The folders that three processes wrote every output of one case to."""
    arguments = "16 14 --missing 15,24 --present 28,18 --punch 1;2 --material nitrile --sheet 127"
    outputs = [part for ending in ENDINGS for part in ("-o", f"case.{ending}")]
    folders = []
    for seed in ("1", "2", "4"):
        folders.append(tmp_path_factory.mktemp(f"seed-{seed}"))
        subprocess.run(
            [sys.executable, "-m", "sheetmark", "overlay", *arguments.split(), *outputs],
            cwd=folders[-1],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        )
    return folders


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_same_bytes_in_any_process(from_three_seeds: list[Path], ending: str) -> None:
    """A set's order changes with the seed of its hashes; no output may follow it."""
    first, *others = ((folder / f"case.{ending}").read_bytes() for folder in from_three_seeds)
    assert len(first) > 1000
    assert others == [first, first]


def again(plan: dict[str, Any]) -> dict[str, Any]:
    """The plan that its own recipe makes."""
    program, command, *arguments = shlex.split(plan["command"])
    assert (program, command) == ("sheetmark", "overlay")
    return run_json(*arguments)


@given(setups())
@few
def test_the_recipe_makes_the_same_plan_again(setup: Setup) -> None:
    plan = setup.json()
    assert again(plan) == plan


@pytest.mark.parametrize(
    "arguments",
    [
        ["16"],
        ["3", "--notation", "universal", "--reference", 'it\'s "odd" $x -- `y`'],
        ["16", "--reference", "--help"],
        ["16", "--ease", "0.123456789"],
        ["16", "--ease", "1e-7"],
        ["16", "--sheet", "150.1234567", "--no-shift"],
        ["16", "--sheet", "150.1234567x160.7654321"],
        ["16", "--punch", "1.2345678,2.3456789"],
        ["16", "--punch", "2.5,2.5,1"],
        ["16", "--with", "15 facial 1.23456789; 14 rotated 12.3456789 mesial 0.1234567"],
        ["46", "--with", "45 missing gap 3.3333333"],
        ["26", "--with", "24-26 bridge"],
        ["16", "--anchor", "16,14", "--slit", "15-14", "--access", "tight"],
        ["75", "--age", "6"],
        ["75", "--arch", "primary"],
        ["16", "--arch", "adult-large", "--age", "40"],
        ["16", "--paper", "letter", "--material", "nitrile", "--sizing", "two-size"],
    ],
    ids=" ".join,
)
def test_the_recipe_keeps_every_digit_and_every_choice(arguments: list[str]) -> None:
    plan = run_json(*arguments)
    assert again(plan) == plan


def test_the_recipe_names_only_what_differs_from_the_defaults() -> None:
    assert json_of("16")["command"] == "sheetmark overlay 16"
    plan = json_of("16", sheet="127", ease_mm=0.5, more=1)
    assert plan["command"] == "sheetmark overlay 16 --more 1 --sheet 127 --ease 0.5"


def test_the_recipe_of_a_model_file_works_in_its_folder(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    shipped = ROOT / "arch_models" / "adult-male.toml"
    own.write_bytes(shipped.read_bytes().replace(b'name = "adult-male"', b'name = "own"'))
    plan = run_json("16", "--arch", str(own))
    assert plan["command"] == "sheetmark overlay 16 --arch own.toml"
    with contextlib.chdir(tmp_path):
        assert again(plan) == plan


def test_findings_travel_with_the_plan() -> None:
    plan = plan_of("47", sheet="127")
    assert codes(plan_json(plan)) == [finding.code for finding in plan.findings]
    assert "no-tooth-behind" in codes(plan_json(plan))
