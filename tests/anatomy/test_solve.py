"""The curve found from two centre widths, alone and through a model file. Lengths in mm."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import Beta, Catenary, SixthOrder
from sheetmark.anatomy.jaw import build_arch, curve_of, whole_row
from sheetmark.anatomy.solve import CentrePair, solve_sixth_order
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from tests.helpers.model_files import changed, shipped, without_curves, written

few = settings(max_examples=40, derandomize=True, deadline=None)
every_jaw = pytest.mark.parametrize("jaw", JAWS)
every_model = pytest.mark.parametrize("name", model_names())

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


@every_model
@every_jaw
def test_shipped_arches_return_the_two_widths_they_were_solved_from(name: str, jaw: Jaw) -> None:
    model = load_model(name)
    table = model.jaw(jaw)
    back = table.solve_from[1]
    row = whole_row(model, jaw)
    if back not in table.row:  # a first molar still to come: laid behind the row
        row = (*row, (back, None))
    arch = build_arch(model, jaw, row, row)
    for slot in table.solve_from:
        right, left = (place for place in arch.places if place.tooth.slot == slot)
        laid = left.centre[0] - right.centre[0]
        assert laid == pytest.approx(table.centre_width(slot).mm, abs=0.01)


@every_model
def test_shipped_curves_are_found_again_from_a_file_without_them(name: str, tmp_path: Path) -> None:
    model = load_model(name)
    bare = load_model(written(tmp_path, without_curves(shipped(name))))
    for jaw in JAWS:
        assert bare.jaw(jaw).curve is None
        carried, solved = curve_of(model, jaw), curve_of(bare, jaw)
        assert isinstance(carried, SixthOrder)
        assert isinstance(solved, SixthOrder)
        assert solved.a == pytest.approx(carried.a, rel=1e-9)
        assert solved.b == pytest.approx(carried.b, rel=1e-9)
        assert (carried.flag, solved.flag) == ("D", "D")
        arch, again = build_arch(model, jaw), build_arch(bare, jaw)
        assert arch.teeth == again.teeth
        for place, other in zip(arch.places, again.places, strict=True):
            assert other.centre == pytest.approx(place.centre, abs=1e-9)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("mm = 31.75", "mm = 38.5", ["tooth 3 width 38.5 mm: too large", "only 38.0 mm"]),
        ("mm = 45.3", "mm = 40", ["tooth 6 width 40 mm: too small", "31.75 mm apart"]),
        ("mm = 45.3", "mm = 60", ["tooth 6 width 60 mm: too large", "31.75 mm apart"]),
    ],
)
def test_a_model_that_no_curve_carries_names_the_tooth_and_the_figures(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    model = load_model(written(tmp_path, changed(without_curves(shipped()), old, new)))
    with pytest.raises(InputError) as refused:
        build_arch(model, "upper")
    (problem,) = refused.value.problems
    for word in words:
        assert word in problem
    assert build_arch(model, "lower").teeth  # the other jaw is as it was


def test_which_teeth_a_model_is_solved_from_is_its_own_choice(tmp_path: Path) -> None:
    text = changed(without_curves(shipped()), 'solve_from = ["3", "6"]', 'solve_from = ["4", "6"]')
    model = load_model(written(tmp_path, text))
    for slot, stated_mm in (("4", 35.65), ("6", 45.3)):
        right, left = (p for p in build_arch(model, "upper").places if p.tooth.slot == slot)
        assert left.centre[0] - right.centre[0] == pytest.approx(stated_mm, abs=0.01)


# Widths and depths are assumptions, for these tests only.
BETA = 'form = "beta"\nwidth_mm = 64.0\ndepth_mm = 58.0'
CATENARY = 'form = "catenary"\na_mm = 14.0'


@pytest.mark.parametrize(("form", "kind"), [(BETA, Beta), (CATENARY, Catenary)])
@every_jaw
def test_a_model_file_may_carry_another_published_form(
    tmp_path: Path, form: str, kind: type, jaw: Jaw
) -> None:
    curve_block = f'[{{}}.curve]\n{form}\nsource = "other"\nflag = "assumption"\n\n'
    text = changed(without_curves(shipped()), "[cites]", '[sources]\nother = "a test"\n\n[cites]')
    text = changed(text, "[upper]\n", curve_block.format("upper") + "[upper]\n")
    text = changed(text, "[lower]\n", curve_block.format("lower") + "[lower]\n")
    model = load_model(written(tmp_path, text))
    curve = curve_of(model, jaw)
    assert isinstance(curve, kind)
    arch = build_arch(model, jaw)
    assert len(arch.places) == 16
    for place in arch.places:
        # The middle of a chord lies a little inside the curve (under 2 mm: the teeth are short).
        depth = abs(arch.incisal_y_mm - place.centre[1])
        assert 0 <= depth - curve.depth(place.centre[0]) < 2
    xs = [place.centre[0] for place in arch.places]
    assert all(one < other for one, other in pairwise(xs))


def test_a_curve_too_short_for_the_models_teeth_is_refused(tmp_path: Path) -> None:
    text = changed(shipped(), 'form = "sixth-order"', 'form = "beta"')
    text = changed(text, "a = 1.3130443089703253e-07  # mm^-5", "width_mm = 50.0")
    text = changed(text, "b = 0.023709396578493747  # mm^-1", "depth_mm = 30.0")
    model = load_model(written(tmp_path, text))
    with pytest.raises(InputError, match=r"^arch curve: it ends 25\.0 mm from the midline, before"):
        build_arch(model, "upper")
