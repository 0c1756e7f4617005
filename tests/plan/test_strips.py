"""Strips between holes, held against areas that shapely computes from the punched openings."""

from __future__ import annotations

from itertools import pairwise
from math import dist

import pytest
from msgspec.structs import replace
from shapely.geometry import LineString, Point

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Run, ToothState
from sheetmark.case.exceptions import read_states
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice, make_punch
from tests.helpers.corpus import mouths


def strips_by_shapely(plan: Plan) -> list[tuple[str, float]]:
    """Every strip between openings that are not joined, from polygons fine to 0.1 %."""
    joined = {pair for slot in plan.slots for pair in pairwise(slot.teeth)}
    strips = []
    for first, other in pairwise(plan.holes):
        if (first.tooth, other.tooth) not in joined:
            areas = [
                Point(planned.centre_mm).buffer(planned.hole.diameter_mm / 2, quad_segs=64)
                for planned in (first, other)
            ]
            name = f"{first.tooth.iso}-{other.tooth.iso}"
            strips.append((name, float(areas[0].distance(areas[1]))))
    return strips


def narrow_by_findings(plan: Plan) -> set[str]:
    text = " ".join(f.message for f in plan.findings if f.code == "narrow-strip")
    return {name for name, _ in strips_by_shapely(plan) if name in text}


def test_narrow_strips_are_flagged_and_no_others() -> None:
    for mouth in mouths():
        plan = mouth.plan()
        expected = {name for name, strip in strips_by_shapely(plan) if strip < 2.0 - 1e-3}
        assert narrow_by_findings(plan) == expected, mouth.name
    # Punches on either side of the limit, so that the check above is not empty.
    counts = []
    for diameter in (2.5, 2.6, 2.7, 2.75, 2.8, 2.9, 2.95, 3.0, 3.1, 3.3, 3.5):
        plan = make_plan(
            Case(treat=(Tooth(3, 1),)), practice=Practice(punch=make_punch([diameter]))
        )
        expected = {name for name, strip in strips_by_shapely(plan) if strip < 2.0}
        assert narrow_by_findings(plan) == expected
        counts.append(len(expected))
    assert counts[0] == 0
    assert counts[-1] > 0


def test_holes_that_run_into_each_other_are_refused_with_the_figure() -> None:
    practice = Practice(punch=make_punch([4.5]))
    crowded = ToothState(Tooth(3, 2), mesial_mm=2.0)
    with pytest.raises(InputError, match=r"holes 31-32: .* by \d\.\d mm; .*join them with a slit"):
        make_plan(Case(treat=(Tooth(3, 1),), states=(crowded,)), practice=practice)


def test_a_wide_strip_is_flagged_at_an_open_gap_only() -> None:
    whole = make_plan(Case(treat=(Tooth(1, 6),)))
    gap = make_plan(Case(treat=(Tooth(1, 6),), missing=(Tooth(1, 5),)))
    assert [f.code for f in whole.findings if f.code == "wide-strip"] == []
    (finding,) = [f for f in gap.findings if f.code == "wide-strip"]
    assert "16-14" in finding.message
    (strip,) = [strip for name, strip in strips_by_shapely(gap) if name == "16-14"]
    assert finding.value == pytest.approx(strip, abs=0.01)


def test_a_strip_over_a_pontic_is_not_to_be_spread() -> None:
    for states, flagged in (("15 missing", True), ("15 pontic", False), ("45 pontic", True)):
        missing = () if "15" in states else (Tooth(1, 5),)
        case = Case(treat=(Tooth(1, 6),), missing=missing, states=read_states([states], "iso"))
        assert ("wide-strip" in [f.code for f in make_plan(case).findings]) is flagged


def test_a_slit_joins_its_holes_and_is_as_wide_as_the_smallest() -> None:
    case = Case(treat=(Tooth(2, 6),), slits=(Run(Tooth(2, 4), Tooth(2, 6)),))
    plan = make_plan(case)
    (slot,) = plan.slots
    assert [tooth.iso for tooth in slot.teeth] == ["24", "25", "26"]
    holes = {planned.tooth: planned for planned in plan.holes}
    assert slot.width_mm == min(holes[tooth].hole.diameter_mm for tooth in slot.teeth)
    cut = LineString(slot.centres).buffer(slot.width_mm / 2)
    for tooth in slot.teeth:
        assert cut.contains(Point(holes[tooth].centre_mm))
    assert not cut.contains(Point(holes[Tooth(2, 7)].centre_mm))


def test_a_slit_needs_a_hole_at_each_end() -> None:
    with pytest.raises(InputError, match="no hole for 21"):
        make_plan(Case(treat=(Tooth(2, 6),), slits=(Run(Tooth(2, 1), Tooth(2, 6)),)))


def test_moved_teeth_carry_their_holes() -> None:
    case = Case(
        treat=(Tooth(1, 3),), states=(ToothState(Tooth(1, 3), facial_mm=3.0, mesial_mm=-1.5),)
    )
    plain = make_plan(replace(case, states=()))
    moved = make_plan(case)
    place = plain.arch.place(Tooth(1, 3))
    centres = []
    for plan in (plain, moved):
        (hole,) = [p for p in plan.holes if p.tooth == Tooth(1, 3)]
        centres.append((hole.centre_mm[0] + plan.shift_mm[0], hole.centre_mm[1] + plan.shift_mm[1]))
    dx, dy = centres[1][0] - centres[0][0], centres[1][1] - centres[0][1]
    assert dx * place.facial[0] + dy * place.facial[1] == pytest.approx(3.0, abs=1e-9)
    # Upper right: mesial is towards the patient's left, so distal 1.5 is 1.5 to the right.
    assert dx * place.leftward[0] + dy * place.leftward[1] == pytest.approx(-1.5, abs=1e-9)
    assert dist(*centres) == pytest.approx((3.0**2 + 1.5**2) ** 0.5, abs=1e-9)
