"""Pairing of found and planned holes, apart from any photograph."""

from __future__ import annotations

from math import cos, radians, sin
from random import Random

import numpy as np
import pytest

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.matching import STRAIGHT, Way, pair, ways
from sheetmark.practice.settings import Sheet

SQUARE, LONG = Sheet(152.0, 152.0), Sheet(152.0, 127.0)
ROW = [SheetPoint(x, y) for x, y in ((-30, 5), (-26, 14), (-20, 22), (-12, 28), (-3, 31))]


@pytest.mark.parametrize("way", ways(SQUARE))
def test_back_undoes_laid(way: Way) -> None:
    points = np.array([(1.0, 2.0), (-30.0, 7.0)])
    assert np.allclose(way.back(way.laid(points)), points)


def test_the_eight_ways_differ_and_a_long_sheet_has_four() -> None:
    point = np.array([(20.0, 7.0)])
    places = {tuple(np.round(way.laid(point)[0], 9)) for way in ways(SQUARE)}
    assert len(places) == len(ways(SQUARE)) == 8
    assert len(ways(LONG)) == 4
    # A quarter turn is anticlockwise; face down mirrors left to right.
    assert tuple(Way(1, mirrored=False).laid(point)[0]) == (-7.0, 20.0)
    assert tuple(Way(0, mirrored=True).laid(point)[0]) == (-20.0, 7.0)


@pytest.mark.parametrize("way", ways(SQUARE))
def test_shift_turn_and_each_holes_rest_are_distinguished(way: Way) -> None:
    middle = np.mean(ROW, axis=0)
    c, s = cos(radians(2.0)), sin(radians(2.0))
    moved = [
        SheetPoint(
            middle[0] + c * (x - middle[0]) - s * (y - middle[1]) + 1.5,
            middle[1] + s * (x - middle[0]) + c * (y - middle[1]) - 0.7,
        )
        for x, y in ROW
    ]
    found = [SheetPoint(*point) for point in way.laid(np.array(moved)).tolist()]
    Random(3).shuffle(found)
    best = pair(ROW, found, SQUARE)[0]
    assert best.way == way
    assert max(best.rest_mm) < 1e-6
    assert best.turn_deg == pytest.approx(-2.0 if way.mirrored else 2.0, abs=1e-6)
    assert np.hypot(*best.shift) == pytest.approx(np.hypot(1.5, 0.7), abs=1e-6)


def test_missing_and_foreign_holes_do_not_confuse_the_rest() -> None:
    found = [*ROW[1:], SheetPoint(40.0, -30.0), SheetPoint(12.0, 3.0)]
    best = pair(ROW, found, SQUARE)[0]
    assert best.way == STRAIGHT
    assert best.found == (-1, 0, 1, 2, 3)
    nothing = pair(ROW, [], SQUARE)[0]
    assert nothing.found == (-1,) * 5


def test_no_turn_is_distinguished_from_two_holes() -> None:
    found = [SheetPoint(ROW[0].x, ROW[0].y + 1.0), ROW[1]]
    best = next(p for p in pair(ROW[:2], found, SQUARE) if p.way == STRAIGHT)
    assert best.turn_deg == 0.0
    assert best.shift == pytest.approx((0.0, 0.5))
