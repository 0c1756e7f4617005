"""Which tooth stands in which slot, by model, by age and by what was said."""

from __future__ import annotations

import pytest

from sheetmark.anatomy.arch_model import load_model, model_for_age, model_names
from sheetmark.anatomy.jaw import whole_row
from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, ToothState
from sheetmark.plan.dentition import dentition, row_at_age

# Middle of the usual range of eruption, years, worked out by hand from Logan & Kronfeld as
# modified by Schour & McCall (from memory): upper 1 7.5, 2 8.5, 3 11.5, 4 10.5, 5 11, 6 6.5,
# 7 12.5; lower 1 6.5, 2 7.5, 3 9.5, 4 11, 5 11.5, 6 6.5, 7 12. A child aged n is taken as n + 0.5.
ROWS = {
    (3, "upper"): "ABCDE",
    (5, "lower"): "ABCDE",
    (6, "upper"): "ABCDE6",
    (6, "lower"): "1BCDE6",
    (7, "upper"): "1BCDE6",
    (7, "lower"): "12CDE6",
    (8, "upper"): "12CDE6",
    (8, "lower"): "12CDE6",
    (9, "lower"): "123DE6",
    (10, "upper"): "12C4E6",
    (10, "lower"): "123DE6",
    (11, "upper"): "123456",
    (11, "lower"): "1234567"[:6],
    (12, "upper"): "1234567",
    (12, "lower"): "1234567",
    (16, "upper"): "12345678",
    (40, "lower"): "12345678",
}


@pytest.mark.parametrize(("at", "row"), ROWS.items())
def test_row_by_age(at: tuple[int, Jaw], row: str) -> None:
    years, jaw = at
    assert "".join(slot for slot, _ in row_at_age(jaw, years)) == row


def test_models_by_age_hold_the_row_of_their_first_year() -> None:
    checked = 0
    for name in model_names():
        model = load_model(name)
        if model.ages and model.ages[0] < 14:
            for jaw in ("upper", "lower"):
                assert whole_row(model, jaw) == row_at_age(jaw, model.ages[0])
                checked += 1
    assert checked == 10


def test_every_age_from_three_has_one_model() -> None:
    for years in range(3, 121):
        names = [
            name
            for name in model_names()
            if (ages := load_model(name).ages) and ages[0] <= years <= ages[1]
        ]
        assert len(names) == 1
        assert model_for_age(years).name == names[0]


def test_an_age_below_all_models_is_refused() -> None:
    with pytest.raises(InputError, match="the youngest starts at 3 years"):
        model_for_age(2)


def test_any_slot_can_be_set() -> None:
    case = Case(
        treat=(Tooth(3, 6),),
        states=(
            ToothState(Tooth(7, 5), present=True),
            ToothState(Tooth(3, 4), missing=True, gap_mm=3.0),
            ToothState(Tooth(4, 4), missing=True, gap_mm=0.0),
        ),
    )
    rows = dentition(case, load_model("adult-mean"))
    assert rows.left == (
        ("1", None), ("2", None), ("3", None), ("4", 3.0), ("E", None), ("6", None),
        ("7", None), ("8", None),
    )  # fmt: skip
    assert [slot for slot, _ in rows.right] == ["1", "2", "3", "5", "6", "7", "8"]
    assert not case.state(Tooth(3, 4)).stands
    assert case.state(Tooth(7, 5)).stands
    assert not case.state(Tooth(3, 8)).stands
