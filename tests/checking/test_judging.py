"""Judging of holes that are given, apart from any photograph."""

from __future__ import annotations

from math import hypot

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.frames import SheetPoint
from sheetmark.case.case import Case, Run
from sheetmark.checking.judge import judge
from sheetmark.checking.look import Found
from sheetmark.checking.openings import Opening
from sheetmark.checking.result import Check
from sheetmark.checking.wanted import Wanted, wanted_of
from sheetmark.checking.wording import headline, place_text, remarks, size_text
from sheetmark.plan.make import make_plan

PLAN = make_plan(Case(treat=(Tooth(1, 6),)))
WANTED = wanted_of(PLAN)
MARKS = (*PLAN.orientation_marks_mm, WANTED.dash)
BRIDGE = wanted_of(make_plan(Case(treat=(Tooth(2, 4),), slits=(Run(Tooth(2, 4), Tooth(2, 6)),))))
IN_SLIT = {tooth for slit in BRIDGE.slits for tooth in slit}


def holes(wanted: Wanted) -> list[Opening]:
    return [Opening(hole.at, hole.diameter_mm, 1.0) for hole in wanted.holes]


def checked(wanted: Wanted, openings: list[Opening], tolerance_mm: float = 2.0) -> Check:
    marks = (*wanted.dots, *([wanted.dash] if wanted.dash else []))
    size = (wanted.sheet.width_mm, wanted.sheet.height_mm)
    found = Found(tuple(openings), marks, size, (0.0, 0.0, 300.0))
    return judge(found, wanted, tolerance_mm)


def slit_openings() -> list[Opening]:
    """The holes outside the slit, and one long opening in place of those in it."""
    ends = [hole.at for hole in BRIDGE.holes if hole.tooth in IN_SLIT]
    x, y = (sum(point[i] for point in (ends[0], ends[-1])) / 2 for i in (0, 1))
    rest = [
        o for o, hole in zip(holes(BRIDGE), BRIDGE.holes, strict=True) if hole.tooth not in IN_SLIT
    ]
    return [*rest, Opening(SheetPoint(x, y), 6.0, 0.15)]


def test_a_slit_that_is_cut_is_not_judged_and_says_so() -> None:
    check = checked(BRIDGE, slit_openings())
    assert {hole.wanted.tooth for hole in check.holes if hole.cut} == IN_SLIT
    assert [hole.wanted.tooth for hole in check.holes] == [hole.tooth for hole in BRIDGE.holes]
    assert check.missing == ()
    assert check.extra == ()
    assert check.good
    outside = len(BRIDGE.holes) - len(IN_SLIT)
    assert headline(check) == (
        f"As planned, but the slit is not judged: the other {outside} holes are within 2 mm of "
        f"their places."
    )
    (cut,) = [text for text in remarks(check) if text.startswith("The slit of")]
    assert cut == (
        "The slit of 24 25 26 is there. Its place, ends and width are not judged: look at it."
    )
    inside = next(hole for hole in check.holes if hole.cut)
    assert place_text(check, inside) == "in a slit"
    assert size_text(inside) == "not judged: in a slit"


def test_beside_a_cut_slit_the_other_holes_are_judged() -> None:
    first, *rest = slit_openings()
    moved = Opening(SheetPoint(first.at.x, first.at.y + 3.0), first.diameter_mm, 1.0)
    check = checked(BRIDGE, [moved, *rest])
    assert [hole.wanted.tooth for hole in check.misplaced] == [BRIDGE.holes[0].tooth]
    assert not check.good


def test_a_slit_that_is_not_cut_is_judged_by_its_holes() -> None:
    check = checked(BRIDGE, holes(BRIDGE))
    assert check.good
    assert check.judged == check.holes
    assert "The slit of 24 25 26 is not seen: it is not cut, or lies closed. Look at it." in (
        remarks(check)
    )


def test_two_holes_torn_into_one_are_no_slit() -> None:
    """Nor is a slit over part of the way, or anywhere without one in the plan."""
    first, second, *rest = holes(WANTED)
    middle = SheetPoint((first.at.x + second.at.x) / 2, (first.at.y + second.at.y) / 2)
    torn = checked(WANTED, [Opening(middle, 4.0, 0.3), *rest])
    assert not torn.good
    assert not any(hole.cut for hole in torn.holes)
    *most, _ = slit_openings()
    short = checked(BRIDGE, [*most, Opening(slit_openings()[-1].at, 2.5, 0.6)])
    assert not any(hole.cut for hole in short.holes)
    assert not short.good
    far = SheetPoint(slit_openings()[-1].at.x - 30.0, -40.0)
    elsewhere = checked(BRIDGE, [*most, Opening(far, 6.0, 0.15)])
    assert not any(hole.cut for hole in elsewhere.holes)
    assert len(elsewhere.extra) == 1


def test_the_patterns_shift_is_apart_from_each_holes_own_error() -> None:
    shifted = [
        Opening(SheetPoint(hole.at.x + 1.0, hole.at.y - 0.4), hole.diameter_mm, 1.0)
        for hole in holes(WANTED)
    ]
    check = checked(WANTED, shifted)
    assert check.shift_mm == pytest.approx((1.0, -0.4), abs=1e-6)
    assert [hole.own_mm for hole in check.holes] == pytest.approx([0.0] * 4, abs=1e-6)
    last = shifted[-1]
    away = Opening(SheetPoint(last.at.x + 1.5, last.at.y), last.diameter_mm, 1.0)
    own = [hole.own_mm or 0.0 for hole in checked(WANTED, [*shifted[:-1], away]).holes]
    assert own[-1] > 0.7
    assert max(own[:-1]) < own[-1]


def test_the_uncertainty_grows_with_the_angle_of_view() -> None:
    """0.3 mm of lift, seen 45 degrees off the vertical, moves a hole by 0.3 mm."""
    (first, *_) = WANTED.holes
    size = (152.0, 152.0)
    for across, lift in ((0.0, 0.0), (300.0, 0.3)):
        eye = (first.at.x + across, first.at.y, 300.0)
        found = Found(tuple(holes(WANTED)), tuple(filter(None, MARKS)), size, eye)
        uncertain = judge(found, WANTED, 2.0).holes[0].uncertain_mm
        assert uncertain == pytest.approx(hypot(0.1, lift), abs=1e-6)


@pytest.mark.parametrize("tolerance_mm", [0.9, 1.1])
def test_the_tolerance_decides_what_is_in_place(tolerance_mm: float) -> None:
    first, *rest = holes(WANTED)
    moved = Opening(SheetPoint(first.at.x + 1.0, first.at.y), first.diameter_mm, 1.0)
    check = checked(WANTED, [moved, *rest], tolerance_mm)
    assert check.good == (tolerance_mm > 1.0)
    assert bool(check.misplaced) == (tolerance_mm < 1.0)


@pytest.mark.parametrize("number", range(len(WANTED.holes)))
def test_the_next_hole_of_the_punch_is_another_size(number: int) -> None:
    planned = WANTED.holes[number].diameter_mm
    for punched in (mm for mm in WANTED.punch_mm if abs(mm - planned) > 0.3):
        openings = holes(WANTED)
        openings[number] = Opening(openings[number].at, punched, 1.0)
        check = checked(WANTED, openings)
        assert check.holes[number].size == "wrong"
        assert punched in check.holes[number].sizes_mm
        assert planned not in check.holes[number].sizes_mm


def test_marks_that_show_through_from_behind_are_a_sheet_face_down() -> None:
    """And the same holes with the marks on the right side are the wrong side."""
    mirrored = [Opening(SheetPoint(-o.at.x, o.at.y), o.diameter_mm, 1.0) for o in holes(WANTED)]
    wrong = checked(WANTED, mirrored)
    assert (wrong.laid, wrong.pattern, wrong.face_known) == ("straight", "wrong side", True)
    assert not wrong.good
    marks = tuple(SheetPoint(-mark.x, mark.y) for mark in MARKS if mark is not None)
    found = Found(tuple(mirrored), marks, (152.0, 152.0), (0.0, 0.0, 300.0))
    behind = judge(found, WANTED, 2.0)
    assert (behind.laid, behind.pattern, behind.face_known) == ("face down", "straight", True)
    assert behind.good


def test_a_row_that_is_one_slit_has_no_hole_to_judge() -> None:
    inside = tuple(hole for hole in BRIDGE.holes if hole.tooth in IN_SLIT)
    check = checked(replace(BRIDGE, holes=inside), slit_openings()[-1:])
    assert all(hole.cut for hole in check.holes)
    assert check.shift_mm is None
    assert check.extra == ()
    assert headline(check)
