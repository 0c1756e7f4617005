"""What is said of teeth that differ: in the row, beside it, outside it, and where a slit is."""

from __future__ import annotations

from typing import Any

import pytest

from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.case.case import Case, read_run
from sheetmark.case.exceptions import read_states
from sheetmark.plan.make import make_plan
from tests.helpers.cases import teeth


def remarks(treat: str, different: str, **fields: Any) -> list[Finding]:
    case = Case(treat=teeth(treat), states=read_states([different], "iso"), **fields)
    return [found for found in make_plan(case).findings if found.code == Code.TOOTH_STATE]


@pytest.mark.parametrize(
    ("treat", "different"),
    [("16", "24-26 bridge"), ("16", "25 partly-erupted"), ("36", "44 broken-down")],
)
def test_a_tooth_outside_the_row_is_not_warned_about(treat: str, different: str) -> None:
    found = remarks(treat, different)
    assert found
    assert {finding.severity for finding in found} == {"info"}
    assert {finding.advice for finding in found} == {"Outside the row."}


@pytest.mark.parametrize(
    ("different", "severity"),
    [("15 pontic", "warning"), ("13 pontic", "warning"), ("12 pontic", "info")],
)
def test_a_pontic_beside_the_row_counts(different: str, severity: str) -> None:
    (found,) = remarks("16", different, expose=(read_run("17-14", "iso"),))
    assert found.severity == severity


def test_terms_are_prose_and_serve_several_teeth() -> None:
    (found,) = remarks("46", "44 partly-erupted")
    assert found.message == "44 partly erupted."
    (found,) = remarks("16", "25 broken-down rotated -20; 26 broken-down rotated -20")
    assert found.line == "25, 26 broken down, rotated -20°. Outside the row."


def test_a_slit_is_advised_only_where_none_is_planned() -> None:
    bare = remarks("27", "24-26 bridge", more=1)
    cut = remarks("27", "24-26 bridge", more=1, slits=(read_run("24-26", "iso"),))
    (bare_pontic,) = (f.advice for f in bare if f.severity == "warning")
    (cut_pontic,) = (f.advice for f in cut if f.severity == "warning")
    assert "plan a slit or a ligature, and a seal under the pontic" in bare_pontic
    assert "slit" not in cut_pontic
    assert "seal under the pontic" in cut_pontic


def test_a_root_canal_has_no_slit_without_its_seal() -> None:
    (found,) = remarks("36", "36 broken-down", procedure="root-canal")
    assert found.advice.endswith("consider a build-up, or a slit with its seal.")
    (found,) = remarks("36", "36 broken-down")
    assert found.advice.endswith("consider a build-up, or a slit.")


def test_the_larger_hole_is_explained_whoever_names_the_lesion() -> None:
    (noted,) = remarks("13", "13 lesion")
    (treated,) = remarks("13", "36 implant", procedure="cervical")
    assert (treated.message, treated.advice) == (noted.message, noted.advice)
    assert treated.field == "for"
    (both,) = remarks("13", "13 lesion", procedure="cervical")
    assert both.field == "with"
