"""The spread of real mouths against the figures that it is made from."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.fitting.spread import loadings, spread

Array = NDArray[np.float64]

ALONG = (*range(-8, 0), *range(1, 9))
# Published SDs of the widths across at the gum line, and correlations.
ACROSS = {
    "upper": {3: 1.92, 4: 2.04, 5: 3.01, 6: 2.36, 7: 3.15},
    "lower": {3: 2.11, 4: 2.13, 5: 2.99, 6: 2.77, 7: 3.28},
}
TOOTH_MM = (0.5,) * 16
N = len(ALONG)


def at(along: int) -> int:
    return ALONG.index(along)


def covariance(jaw: Jaw) -> Array:
    root = np.array(loadings(jaw, ALONG, TOOTH_MM))
    found: Array = root @ root.T
    return found


def across(place: int) -> Array:
    """What a width across is of the quantities."""
    row = np.zeros(3 * N)
    row[at(place)], row[at(-place)] = 1.0, -1.0
    return row


def width(along: int) -> Array:
    row = np.zeros(3 * N)
    row[2 * N + at(along)] = 1.0
    return row


def correlation(jaw: Jaw, first: Array, other: Array) -> float:
    c = covariance(jaw)
    return float(first @ c @ other / np.sqrt((first @ c @ first) * (other @ c @ other)))


@pytest.mark.parametrize("jaw", JAWS)
def test_widths_across_spread_as_published(jaw: Jaw) -> None:
    c = covariance(jaw)
    for place, sd in ACROSS[jaw].items():
        row = across(place)
        # Large teeth widen the arch a little beyond it.
        assert np.sqrt(row @ c @ row) == pytest.approx(sd, rel=0.05)


@pytest.mark.parametrize("jaw", JAWS)
def test_correlations_are_the_published_ones(jaw: Jaw) -> None:
    # Canines and molars 0.62 and 0.56; two teeth 0.47 and 0.51; a pair 0.72-0.88; tooth and arch
    # width 0.14-0.29.
    assert correlation(jaw, across(3), across(6)) == pytest.approx(0.59, abs=0.04)
    assert correlation(jaw, width(3), width(6)) == pytest.approx(0.49, abs=0.02)
    assert 0.72 <= correlation(jaw, width(6), width(-6)) <= 0.88
    assert 0.14 <= correlation(jaw, across(6), width(6)) <= 0.29


@pytest.mark.parametrize("jaw", JAWS)
def test_each_tooth_has_a_place_of_its_own(jaw: Jaw) -> None:
    """What no other tooth shares is 0.55 in both axes together, and each width its own SD."""
    root = np.array(loadings(jaw, ALONG, TOOTH_MM))
    alone = [c for c in root.T if np.count_nonzero(c[: 2 * N]) == 1 and not c[2 * N :].any()]
    for n in range(N):
        own = sum(c[n] ** 2 + c[N + n] ** 2 for c in alone)
        assert np.sqrt(own) == pytest.approx(0.55, abs=0.02)
        assert np.sqrt((root[2 * N + n] ** 2).sum()) == pytest.approx(0.5)


@pytest.mark.parametrize("jaw", JAWS)
def test_right_and_left_spread_alike(jaw: Jaw) -> None:
    c = covariance(jaw)
    mirror = np.concatenate([np.arange(N)[::-1] + k * N for k in range(3)])
    sign = np.concatenate([-np.ones(N), np.ones(2 * N)])
    np.testing.assert_allclose(c[np.ix_(mirror, mirror)] * np.outer(sign, sign), c, atol=1e-12)


def test_every_figure_has_its_flag() -> None:
    known = spread()
    assert {row.flag for row in (*known.upper.across, *known.lower.across)} == {"P", "assumption"}
    assert {row.tooth for row in known.upper.across if row.flag == "P"} == set("34567")
    assert known.causes.own_mm.flag == "P"
    assert known.causes.lean_mm.flag == "assumption"
