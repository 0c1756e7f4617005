"""Teeth of both jaws in one command: a sheet for each jaw, never one jaw's teeth on the other's."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from sheetmark.cli.app import run
from tests.helpers.page_check import check_page
from tests.helpers.readback import read_pdf
from tests.helpers.schemas import check_schema

CHOSEN = ("--missing", "45,25", "--with", "47 abutment; 24 rotated 20", "--for", "crown")


def plans(tmp_path: Path, *arguments: str) -> list[dict[str, Any]]:
    path = tmp_path / "two.json"
    assert run(["overlay", *arguments, "-o", str(path)]) == 0
    data = json.loads(path.read_bytes())
    assert set(data) == {"$schema", "format", "plans"}
    check_schema(data)
    return list(data["plans"])


@pytest.mark.parametrize("teeth", [["16", "46"], ["46", "16"], ["46,16"]])
def test_each_jaw_has_the_plan_that_it_has_alone(teeth: list[str], tmp_path: Path) -> None:
    both = plans(tmp_path, *teeth)
    for tooth, plan in zip(("16", "46"), both, strict=True):
        alone = tmp_path / "one.json"
        assert run(["overlay", tooth, "-o", str(alone)]) == 0
        assert plan == json.loads(alone.read_bytes())


def test_each_jaw_has_what_was_chosen_of_its_own(tmp_path: Path) -> None:
    upper, lower = plans(tmp_path, "16", "46", *CHOSEN, "--anchor", "17,48", "--present", "48")
    assert (upper["case"]["missing"], lower["case"]["missing"]) == (["25"], ["45"])
    assert (upper["case"]["with"], lower["case"]["with"]) == (["24 rotated 20"], ["47 abutment"])
    assert (upper["anchors"], lower["anchors"]) == (["17"], ["48"])
    assert {plan["case"]["procedure"] for plan in (upper, lower)} == {"crown"}
    assert [plan["arch"]["jaw"] for plan in (upper, lower)] == ["upper", "lower"]
    assert not [f for plan in (upper, lower) for f in plan["findings"] if f["code"] == "other-jaw"]
    upper, lower = plans(tmp_path, "16", "46", "--expose", "17-14,47-45", "--slit", "17-16,47-46")
    assert (upper["isolated"], lower["isolated"]) == (["17", "16", "15", "14"], ["47", "46", "45"])
    assert [plan["case"]["slits"] for plan in (upper, lower)] == [["17-16"], ["47-46"]]


def test_the_pdf_has_the_pages_of_each_and_their_own_recipes(tmp_path: Path) -> None:
    path = tmp_path / "two.pdf"
    assert run(["overlay", "46", "16", "-o", str(path)]) == 0
    pages = read_pdf(path.read_bytes())
    overlays = [page for page in pages if "this bar is 100 mm" in page.text]
    for page, plan in zip(overlays, plans(tmp_path, "46", "16"), strict=True):
        check_page(page, plan)
    wording = ("16 (ISO) · upper right first molar", "46 (ISO) · lower right first molar")
    for page, title in zip(overlays, wording, strict=True):
        assert title in page.text
    assert [("overlay 16" in p.text, "overlay 46" in p.text) for p in pages] == [
        (True, False),
        (True, False),
        (False, True),
        (False, True),
    ]


@pytest.mark.parametrize("ending", ["svg", "dxf", "cut.svg"])
def test_a_drawing_of_two_jaws_is_refused(ending: str, tmp_path: Path, capsys: Any) -> None:
    drawing, pdf = tmp_path / f"two.{ending}", tmp_path / "two.pdf"
    assert run(["overlay", "16", "46", "-o", str(pdf), "-o", str(drawing)]) == 2
    assert capsys.readouterr().err == (
        f"sheetmark: error: .{ending} of 16 46: it holds one sheet, and two jaws need two; write a "
        f"pdf, or name the teeth of one jaw at a time\n"
    )
    assert list(tmp_path.iterdir()) == []


def test_the_holes_are_listed_under_their_jaw(capsys: Any) -> None:
    assert run(["overlay", "16", "46"]) == 0
    lines = capsys.readouterr().out.splitlines()
    upper, lower = lines.index("upper jaw"), lines.index("lower jaw")
    assert [line.split()[0] for line in lines[upper + 2 : upper + 6]] == ["17", "16", "15", "14"]
    assert [line.split()[0] for line in lines[lower + 2 : lower + 6]] == ["47", "46", "45", "44"]
    assert run(["overlay", "16"]) == 0
    assert "upper jaw" not in capsys.readouterr().out


def test_a_tooth_of_the_other_jaw_is_still_refused_as_an_anchor(capsys: Any) -> None:
    assert run(["overlay", "16", "--anchor", "47"]) == 2
    assert "both jaws in one case" in capsys.readouterr().err
