"""The sixth-order curve found from two widths between centres. Lengths in mm."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.solve import CentrePair, solve_sixth_order
from sheetmark.base.findings import InputError

few = settings(max_examples=40, derandomize=True, deadline=None)

# Round figures for one side, central incisor to first molar (assumption: only for these tests).
LENGTHS = (8.5, 6.5, 7.5, 7.0, 7.0, 10.5)
CANINE, MOLAR = 2, 5


def solve(canine_mm: float, molar_mm: float) -> SixthOrder:
    return solve_sixth_order(
        LENGTHS,
        CentrePair(CANINE, canine_mm, "canine"),
        CentrePair(MOLAR, molar_mm, "first molar"),
    )


def centre_width(curve: SixthOrder, item: int) -> float:
    return 2 * lay_chords(curve.depth, LENGTHS, curve.reach_mm)[item].centre[0]


def refusal(canine_mm: float, molar_mm: float) -> str:
    with pytest.raises(InputError) as refused:
        solve(canine_mm, molar_mm)
    (problem,) = refused.value.problems
    return problem


@given(st.floats(1e-9, 5e-7), st.floats(0.005, 0.1))
@few
def test_a_known_curve_is_found_again(a: float, b: float) -> None:
    known = SixthOrder(a=a, b=b, source="test", flag="assumption")
    widths = centre_width(known, CANINE), centre_width(known, MOLAR)
    found = solve(*widths)
    assert centre_width(found, CANINE) == pytest.approx(widths[0], abs=1e-9)
    assert centre_width(found, MOLAR) == pytest.approx(widths[1], abs=1e-9)
    assert found.b == pytest.approx(b, rel=1e-6)
    assert found.a == pytest.approx(a, rel=1e-5, abs=1e-13)


@given(st.floats(20, 36), st.floats(0.02, 0.98))
@few
def test_both_centre_widths_come_back(canine_mm: float, share: float) -> None:
    # Where between the two extremes the molar width lies is drawn, so that there is a solution.
    low, high = extremes(canine_mm)
    molar_mm = low + share * (high - low)
    found = solve(canine_mm, molar_mm)
    assert centre_width(found, CANINE) == pytest.approx(canine_mm, abs=0.01)
    assert centre_width(found, MOLAR) == pytest.approx(molar_mm, abs=0.01)


def extremes(canine_mm: float) -> tuple[float, float]:
    """The range of molar widths that a refusal states."""
    found = re.search(r"it can be ([\d.]+) to ([\d.]+) mm", refusal(canine_mm, 500))
    assert found
    return float(found[1]), float(found[2])


def test_front_teeth_too_narrow_for_the_canine_width() -> None:
    # In a straight line the canine centres stand 2 (8.5 + 6.5) + 7.5 = 37.5 apart.
    assert refusal(37.5, 45) == (
        "canine width 37.5 mm: too large for its teeth, which reach only 37.5 mm in a straight "
        "line; measure again or widen the front teeth"
    )
    assert centre_width(solve(37.4, 75), CANINE) == pytest.approx(37.4, abs=0.01)


@pytest.mark.parametrize(("molar_mm", "kind"), [(38.0, "too small"), (60.0, "too large")])
def test_molar_width_that_no_curve_carries(molar_mm: float, kind: str) -> None:
    problem = refusal(31, molar_mm)
    assert problem.startswith(f"first molar width {molar_mm:g} mm: {kind} for these teeth; ")
    assert "with the canines 31 mm apart it can be " in problem
    assert problem.endswith("measure both widths and the teeth between again")


def test_the_stated_range_is_where_solutions_end() -> None:
    low, high = extremes(31)
    assert 38 < low < high < 60
    for molar_mm in (low + 0.1, high - 0.1):
        assert centre_width(solve(31, molar_mm), MOLAR) == pytest.approx(molar_mm, abs=0.01)
    assert "too small" in refusal(31, low - 0.1)
    assert "too large" in refusal(31, high + 0.1)


def test_a_gap_in_the_row_counts_as_a_length() -> None:
    gap = 1.5
    lengths = (*LENGTHS[:2], gap, *LENGTHS[2:])
    found = solve_sixth_order(
        lengths, CentrePair(CANINE + 1, 33, "canine"), CentrePair(MOLAR + 1, 47, "first molar")
    )
    chords = lay_chords(found.depth, lengths, found.reach_mm)
    assert 2 * chords[CANINE + 1].centre[0] == pytest.approx(33, abs=0.01)
    assert 2 * chords[MOLAR + 1].centre[0] == pytest.approx(47, abs=0.01)
