"""Bullseyes round a sheet and the code of squares: what a photograph can tell from them."""

from __future__ import annotations

from math import hypot

import pytest

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.bullseyes import (
    BULLSEYE_MM,
    CODE_CELL_MM,
    CODE_LIMITS,
    BullseyeKind,
    bullseyes_round,
    code_cells,
    code_marks,
    read_cells,
)
from sheetmark.typesetting.marks import Disc, Polygon, Ring

ROUND = bullseyes_round(PagePoint(105.0, 150.0), 152.0, 127.0, 10.0)


def as_seen(turn: int, *, mirrored: bool) -> set[tuple[float, float, BullseyeKind]]:
    """The places of a square sheet's bullseyes, turned by quarters and mirrored, with kinds."""
    found: set[tuple[float, float, BullseyeKind]] = set()
    for mark in bullseyes_round(PagePoint(0.0, 0.0), 152.0, 152.0, 10.0):
        x, y = mark.centre
        if mirrored:
            x = -x
        for _ in range(turn):
            x, y = -y, x
        found.add((x, y, mark.kind))
    return found


def test_no_turn_and_no_mirror_image_looks_like_another() -> None:
    views = [as_seen(turn, mirrored=mirrored) for turn in range(4) for mirrored in (False, True)]
    assert all(a != b for i, a in enumerate(views) for b in views[:i])


def test_they_stand_the_gap_outside_the_sheet_and_not_on_one_circle() -> None:
    radii = set()
    for mark in ROUND:
        x, y = mark.centre.x - 105.0, mark.centre.y - 150.0
        assert abs(x) == pytest.approx(86.0) or abs(y) == pytest.approx(73.5)
        radii.add(round(hypot(x, y)))
    assert len(radii) > 2
    assert sorted(mark.kind for mark in ROUND).count("open") == 2
    assert all(mark.centre.y > 220 for mark in ROUND if mark.kind == "open")


def test_a_bullseye_is_eight_mm_across() -> None:
    for mark in ROUND:
        ring = next(part for part in mark.marks if isinstance(part, Ring))
        assert ring.diameter + ring.width == pytest.approx(BULLSEYE_MM)
        assert any(isinstance(part, Disc) for part in mark.marks) == (mark.kind == "dotted")


def test_every_code_is_read_back_and_one_wrong_square_is_seen() -> None:
    seen = set()
    for number in range(CODE_LIMITS[1] + 1):
        cells = code_cells(number)
        assert read_cells(cells) == number
        seen.add(cells)
        for place in range(0, len(cells), 5):
            wrong = tuple(c != (i == place) for i, c in enumerate(cells))
            assert read_cells(wrong) is None
    assert len(seen) == CODE_LIMITS[1] + 1
    assert read_cells((True,) * 16) is None
    assert read_cells((False,) * 16) is None


def test_a_code_is_drawn_from_left_to_right() -> None:
    cells, marks = code_cells(517), code_marks(517, PagePoint(40.0, 30.0))
    assert len(marks) == sum(cells)
    drawn = []
    for mark in marks:
        assert isinstance(mark, Polygon)
        drawn.append(round((mark.points[0].x - 40.0) / CODE_CELL_MM))
        assert {point.y for point in mark.points} == {28.5, 31.5}
    assert drawn == [place for place, black in enumerate(cells) if black]


@pytest.mark.parametrize("number", [-1, 1024])
def test_a_number_that_no_code_holds_is_refused(number: int) -> None:
    with pytest.raises(InputError, match=rf"page code {number}: must be 0 to 1023"):
        code_cells(number)
