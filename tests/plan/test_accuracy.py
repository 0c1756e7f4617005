"""How far a page's worst hole may be off: the table, and what kind of row is which."""

from __future__ import annotations

import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.row_kind import kind_of_row
from sheetmark.anatomy.teeth import read
from sheetmark.plan.accuracy import worst_hole
from sheetmark.studies.coverage.study import study
from tests.helpers.accuracy import rows
from tests.helpers.cases import plan_of


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        ("17", None),
        ("17 16 15 14", "one-sided"),
        ("24 25", "one-sided"),
        ("17 16 15 14 13", "one-sided"),
        ("17 16 15 14 13 12", "front"),
        ("14 13 12 11 21 22 23 24", "front"),
        ("16 15 14 13 12 11 21 22", "front"),
        ("16 15 14 13 12 11 21 22 23 24 25 26", "full-arch"),
    ],
)
def test_what_kind_of_row(row: str, kind: str | None) -> None:
    assert kind_of_row([read(tooth, "iso") for tooth in row.split()]) == kind


def test_the_table_is_what_drawn_patients_give() -> None:
    model = load_model("adult-mean")
    found = list(rows(study([model], model, patients=5_000, seed=2)))
    assert len(found) == 6
    for jaw, kind, half_mm, most_mm in found:
        digit = "1" if jaw == "upper" else "4"
        other = "2" if jaw == "upper" else "3"
        ends = {"one-sided": f"{digit}7 {digit}6", "front": f"{digit}4 {other}4"}
        row = [read(tooth, "iso") for tooth in ends.get(kind, f"{digit}7 {other}7").split()]
        known = worst_hole(model, row)
        assert known is not None
        assert known.half_mm == pytest.approx(half_mm, abs=0.05)
        assert known.most_mm == pytest.approx(most_mm, abs=0.12)


def test_nothing_is_known_of_a_child_s_row_or_a_single_hole() -> None:
    assert plan_of("16", model="age-8").worst_hole is None
    assert plan_of("16", procedure="root-canal").worst_hole is None
