"""The published curves, and teeth laid along them as chords. Arch axes, mm (see `curves`)."""

from __future__ import annotations

import re
from math import cosh, hypot, inf, sinh

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import (
    BETA_FACTOR,
    Beta,
    Catenary,
    Curve,
    SixthOrder,
    beta_depth,
    catenary_depth,
    sixth_order_depth,
)
from sheetmark.base.findings import InputError

few = settings(max_examples=50, derandomize=True, deadline=None)


def sixth(a: float, b: float) -> SixthOrder:
    return SixthOrder(a=a, b=b, source="test", flag="assumption")


def beta(width_mm: float, depth_mm: float) -> Beta:
    return Beta(width_mm=width_mm, depth_mm=depth_mm, source="test", flag="assumption")


def catenary(a_mm: float) -> Catenary:
    return Catenary(a_mm=a_mm, source="test", flag="assumption")


# From a flat arch to one narrower than any mouth's.
curves: st.SearchStrategy[Curve] = st.one_of(
    st.builds(sixth, st.floats(0, 1e-6), st.floats(0, 0.2)),
    st.builds(beta, st.floats(30, 80), st.floats(20, 70)),
    st.builds(catenary, st.floats(5, 60)),
)


@st.composite
def laid(draw: st.DrawFn) -> tuple[Curve, list[float]]:
    """A curve, and teeth and gaps that cannot run past its end: a chord is never shorter than
    its x."""
    curve = draw(curves)
    shares = draw(st.lists(st.floats(0.1, 1), min_size=1, max_size=10))
    total = min(60.0, 0.999 * curve.reach_mm)
    return curve, [share * total / sum(shares) for share in shares]


@pytest.mark.parametrize("x_mm", [10.0, -10.0])
def test_sixth_order_by_hand(x_mm: float) -> None:
    # 2e-7 * 10^6 + 0.03 * 10^2 = 0.2 + 3
    assert sixth_order_depth(x_mm, 2e-7, 0.03) == pytest.approx(3.2, rel=1e-12)


def test_sixth_order_terms_have_their_powers() -> None:
    assert sixth_order_depth(20, 1e-7, 0) / sixth_order_depth(10, 1e-7, 0) == pytest.approx(64)
    assert sixth_order_depth(20, 0, 0.02) / sixth_order_depth(10, 0, 0.02) == pytest.approx(4)


@pytest.mark.parametrize("x_mm", [12.5, -12.5])
def test_beta_by_hand(x_mm: float) -> None:
    # At a quarter of the width: 4^0.8 (3/4 * 1/4)^0.8 = 0.75^0.8 = 0.794418, D (1 - 0.794418)
    assert beta_depth(x_mm, 50, 40) == pytest.approx(40 * (1 - 0.794418), abs=1e-4)


def test_beta_in_its_published_form() -> None:
    # Braun et al. 1998, form M (from memory): height above the ends, y = 2^1.6 D (x/W + 1/2)^0.8
    # (1/2 - x/W)^0.8; 2^1.6 = 3.0314 makes y(0) = D (D).
    width, depth = 53.0, 41.0
    assert pytest.approx(3.0314, abs=5e-5) == BETA_FACTOR
    for x in (-26.0, -20.0, -3.0, 0.0, 8.0, 19.0, 26.4):
        published = 3.0314 * depth * (x / width + 0.5) ** 0.8 * (0.5 - x / width) ** 0.8
        assert depth - beta_depth(x, width, depth) == pytest.approx(published, abs=1e-3)


@given(st.floats(30, 80), st.floats(20, 70))
@few
def test_beta_starts_at_the_midline_and_ends_at_its_depth(width: float, depth: float) -> None:
    assert beta_depth(0, width, depth) == pytest.approx(0, abs=1e-12 * depth)
    assert beta_depth(width / 2, width, depth) == depth
    assert beta_depth(-width / 2, width, depth) == depth


@pytest.mark.parametrize("x_mm", [20.0, -20.0])
def test_catenary_by_hand(x_mm: float) -> None:
    # cosh 1 = (e + 1/e) / 2 = 1.5430806
    assert catenary_depth(x_mm, 20) == pytest.approx(20 * 0.5430806, abs=1e-5)
    assert catenary_depth(x_mm, 10) == pytest.approx(10 * (cosh(2) - 1), rel=1e-12)


@given(curves)
@few
def test_every_curve_is_even_and_never_turns_back(curve: Curve) -> None:
    # Laying chords by bisection rests on this.
    end = min(40.0, curve.reach_mm)
    xs = [end * i / 100 for i in range(101)]
    depths = [curve.depth(x) for x in xs]
    assert depths[0] == pytest.approx(0, abs=1e-9)
    assert depths == sorted(depths)
    assert [curve.depth(-x) for x in xs] == depths


def test_each_record_draws_its_own_formula() -> None:
    assert sixth(2e-7, 0.03).depth(11) == sixth_order_depth(11, 2e-7, 0.03)
    assert beta(50, 40).depth(11) == beta_depth(11, 50, 40)
    assert catenary(20).depth(11) == catenary_depth(11, 20)
    assert (sixth(0, 0).reach_mm, beta(50, 40).reach_mm) == (inf, 25)


@given(laid())
@few
def test_chords_have_their_lengths_and_join(case: tuple[Curve, list[float]]) -> None:
    curve, lengths = case
    chords = lay_chords(curve.depth, lengths, curve.reach_mm)
    assert len(chords) == len(lengths)
    here = (0.0, 0.0)
    for chord, length in zip(chords, lengths, strict=True):
        assert chord.start == here
        (x0, y0), (x1, y1) = chord.start, chord.end
        assert hypot(x1 - x0, y1 - y0) == pytest.approx(length, abs=1e-9)
        assert x1 > x0
        assert y1 == curve.depth(x1)
        assert chord.centre == pytest.approx(((x0 + x1) / 2, (y0 + y1) / 2))
        here = chord.end


def test_short_chords_measure_the_catenary() -> None:
    # Half its arc length is a sinh(W / 2a) exactly (D). A polygon of that length laid inside the
    # curve reaches a little further than W / 2, by a quarter as much when its sides are halved.
    a, width = 18.0, 50.0
    half_arc = a * sinh(width / (2 * a))
    curve = catenary(a)

    def overshoot(sides: int) -> float:
        chords = lay_chords(curve.depth, [half_arc / sides] * sides, curve.reach_mm)
        return chords[-1].end[0] - width / 2

    coarse, middle, fine = overshoot(50), overshoot(100), overshoot(200)
    assert 0 < fine < 1e-4
    assert coarse / middle == pytest.approx(4, rel=0.01)
    assert middle / fine == pytest.approx(4, rel=0.01)


def test_a_curve_that_ends_before_the_teeth_is_refused() -> None:
    # Half the arc is shorter than W/2 + D = 50, so six chords of 10 cannot lie on it.
    curve, lengths = beta(40, 30), [10.0] * 6
    with pytest.raises(InputError) as refused:
        lay_chords(curve.depth, lengths, curve.reach_mm)
    (problem,) = refused.value.problems
    assert problem.startswith("arch curve: it ends 20.0 mm from the midline, before tooth ")
    found = re.search(r"tooth (\d) of the row is laid; use a wider curve or fewer teeth$", problem)
    assert found
    # The tooth that is named is the first that does not fit.
    first_left_out = int(found[1])
    assert len(lay_chords(curve.depth, lengths[: first_left_out - 1], 20)) == first_left_out - 1
    with pytest.raises(InputError):
        lay_chords(curve.depth, lengths[:first_left_out], 20)


def test_no_teeth_make_no_chords() -> None:
    assert lay_chords(sixth(0, 0.02).depth, [], inf) == ()
