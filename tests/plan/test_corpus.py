"""Properties that hold for every odd mouth of the corpus, and for its mirror image."""

from __future__ import annotations

from itertools import pairwise
from math import dist

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Run, ToothState
from sheetmark.documents.case.overlay import overlay
from tests.helpers.corpus import Mouth, mouths

MOUTHS = mouths()
IDS = [mouth.name for mouth in MOUTHS]


def mirrored_run(run: Run) -> Run:
    return Run(run.start.mirrored, run.end.mirrored)


def mirrored_state(state: ToothState) -> ToothState:
    return replace(state, tooth=state.tooth.mirrored, rotated_deg=-state.rotated_deg)


def mirrored_case(case: Case) -> Case:
    def many(teeth: tuple[Tooth, ...]) -> tuple[Tooth, ...]:
        return tuple(tooth.mirrored for tooth in teeth)

    return replace(
        case,
        treat=many(case.treat),
        expose=tuple(
            mirrored_run(item) if isinstance(item, Run) else item.mirrored for item in case.expose
        ),
        missing=many(case.missing),
        present=many(case.present),
        anchors=many(case.anchors),
        slits=tuple(mirrored_run(run) for run in case.slits),
        states=tuple(mirrored_state(state) for state in case.states),
    )


def test_the_corpus_is_as_large_as_promised() -> None:
    assert len(MOUTHS) >= 40
    assert len(set(IDS)) == len(MOUTHS)


@pytest.mark.parametrize("mouth", MOUTHS, ids=IDS)
def test_row_and_holes(mouth: Mouth) -> None:
    plan = mouth.plan()
    along = [tooth.along for tooth in plan.isolation.row]
    assert along == sorted(set(along)), "in order along the arch, no slot twice"
    assert [planned.tooth for planned in plan.holes] == list(plan.isolation.row)
    for tooth in plan.isolation.row:
        assert plan.case.state(tooth).real, "no hole for a gap or a pontic"
    assert set(plan.case.treat) <= set(plan.isolation.row)
    assert set(plan.isolation.anchors) <= set(plan.isolation.row)
    assert plan.isolation.anchors


@pytest.mark.parametrize("mouth", MOUTHS, ids=IDS)
def test_no_two_holes_overlap_and_all_lie_on_the_sheet(mouth: Mouth) -> None:
    plan = mouth.plan()
    joined = {pair for slot in plan.slots for pair in pairwise(slot.teeth)}
    for first, other in pairwise(plan.holes):
        apart = dist(first.centre_mm, other.centre_mm)
        if (first.tooth, other.tooth) not in joined:
            assert apart > (first.hole.diameter_mm + other.hole.diameter_mm) / 2
    for planned in plan.holes:
        for at, side in zip(
            planned.centre_mm, (plan.sheet.width_mm, plan.sheet.height_mm), strict=True
        ):
            assert side / 2 - abs(at) >= plan.practice.rules.hole_to_edge_refused_mm


@pytest.mark.parametrize("mouth", MOUTHS, ids=IDS)
def test_a_mirrored_mouth_gives_a_mirrored_plan(mouth: Mouth) -> None:
    plan = mouth.plan()
    other = replace(mouth, case=mirrored_case(mouth.case)).plan()
    assert other.shift_mm == pytest.approx((-plan.shift_mm[0], plan.shift_mm[1]), abs=1e-9)
    for here, there in zip(plan.holes, reversed(other.holes), strict=True):
        assert there.tooth == here.tooth.mirrored
        assert there.role == here.role
        assert there.hole == here.hole
        expected = (-here.centre_mm[0], here.centre_mm[1])
        assert there.centre_mm == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("mouth", MOUTHS, ids=IDS)
def test_every_exception_is_on_the_page_and_in_the_findings(mouth: Mouth) -> None:
    plan = mouth.plan()
    document = overlay(plan)
    names = {mark.name for mark in document.pages[0].marks}
    messages = " ".join(finding.message for finding in plan.findings)
    jaw = plan.arch.jaw
    for state in plan.case.special:
        if state.tooth.jaw == jaw:
            assert f"state-{state.tooth.iso}" in names
            assert state.tooth.iso in messages


def test_a_retained_primary_tooth_stands_in_its_slot() -> None:
    mouth = next(m for m in MOUTHS if m.name == "primary molar kept in an adult")
    teeth = [tooth.iso for tooth in mouth.plan().arch.teeth]
    assert "75" in teeth
    assert "35" not in teeth


def test_a_closed_gap_brings_the_teeth_behind_it_forward() -> None:
    closed = next(m for m in MOUTHS if m.name == "gap closed")
    open_gap = replace(closed, case=replace(closed.case, states=(), missing=(Tooth(1, 5),)))
    # By gum-line pitches: 1.06 and 1.00 of half the widths of 14 and 15, 15 and 16; and 1.03 of
    # half the widths of 14 and 16 over the closed gap.
    four, five, six = (
        open_gap.plan().arch.place(Tooth(1, p)).size.mesiodistal_mm for p in (4, 5, 6)
    )
    forward = (1.06 * (four + five) + 1.00 * (five + six) - 1.03 * (four + six)) / 2
    here, there = (m.plan().arch.place(Tooth(1, 6)).centre for m in (closed, open_gap))
    assert dist(here, there) == pytest.approx(forward, rel=0.002)


def test_a_tooth_of_two_minds_is_refused() -> None:
    with pytest.raises(InputError, match="contradict each other"):
        Case(treat=(Tooth(1, 6),), states=(ToothState(Tooth(1, 5), missing=True, lesion=True),))
