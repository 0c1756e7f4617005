"""What the stretched sheet tells, and the search for the most even place."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth, read
from sheetmark.base.findings import NoAnswerError
from sheetmark.base.frames import MouthPoint
from sheetmark.case.case import Case
from sheetmark.plan.choices import case_with
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.studies.membrane import placement, stretched
from sheetmark.studies.membrane.energy import Floats
from sheetmark.studies.membrane.frame import Rubber, frame_for
from sheetmark.studies.membrane.laid import (
    SEARCH_DENSITY,
    Density,
    Laid,
    carried,
    lay,
    moved,
    tidy,
)
from sheetmark.studies.membrane.mesh import MeshError
from sheetmark.studies.membrane.placement import (
    MOST_SOLVES,
    best_placement,
    even_plan,
)
from sheetmark.studies.membrane.report import report_on, solved
from sheetmark.studies.membrane.scene import scene_of, teeth_of
from sheetmark.studies.membrane.solve import LOOSE, harmonic
from sheetmark.studies.membrane.strain import (
    Strain,
    as_json,
    evenness,
    hook_pulls,
    measure,
)
from sheetmark.studies.membrane.stretched import Stretched, first_guesses, settled, stretch
from tests.helpers.membrane_sheets import COARSE, forces

RUBBER = Rubber()
# The rule moves the middle of 16 this far; half of it and none are compared.
RULE = make_plan(Case(treat=(Tooth(1, 6),))).shift_mm


@cache
def plan_of(tooth: Tooth) -> Plan:
    return make_plan(Case(treat=(tooth,)))


@cache
def sheet_of(tooth: Tooth, share: float = 1.0) -> Stretched:
    """The sheet on the search's mesh, its middle at a share of the rule's shift."""
    plan = plan_of(tooth)
    shift = MouthPoint(share * plan.shift_mm[0], share * plan.shift_mm[1])
    return settled(lay(scene_of(plan, frame_for(plan.sheet)), shift, COARSE))


def strain_of(tooth: Tooth, share: float = 1.0) -> Strain:
    return measure(sheet_of(tooth, share), teeth_of(plan_of(tooth)), RUBBER)


def test_a_centred_sheet_for_a_molar_pulls_harder_on_the_working_side() -> None:
    """Common practice gives the direction; the size is ours."""
    strain = strain_of(Tooth(1, 6), 0.0)
    assert strain.side_pull(-1) > 1.2 * strain.side_pull(1)
    lower = strain_of(Tooth(3, 6), 0.0)
    assert lower.side_pull(1) > 1.2 * lower.side_pull(-1)


def test_moving_the_middle_makes_the_pull_more_even_up_to_a_point() -> None:
    uneven = {share: strain_of(Tooth(1, 6), share).evenness for share in (0.0, 0.5, 1.6)}
    assert uneven[0.5] < 0.7 * uneven[0.0]
    assert uneven[0.5] < 0.7 * uneven[1.6]


def test_mirrored_cases_have_mirrored_fields() -> None:
    first, other = sheet_of(Tooth(1, 6)), sheet_of(Tooth(2, 6))
    assert np.abs(first.found.positions * [-1, 1, 1] - other.found.positions).max() < 1e-6
    pulls, mirrored = strain_of(Tooth(1, 6)), strain_of(Tooth(2, 6))
    for a, b in zip(pulls.pull, reversed(mirrored.pull), strict=True):
        assert (a.x_mm, a.y_mm) == pytest.approx((-b.x_mm, b.y_mm), abs=1e-9)
        assert a.newton == pytest.approx(b.newton, rel=1e-6)


def test_a_report_has_one_answer_for_two_mirror_images() -> None:
    """Lower first molars: their strips may rest on crowns, and solved on their own the two sides
    were seen to differ by up to 5 % of a pull."""
    strains, sheets = [], []
    for tooth in (Tooth(3, 6), Tooth(4, 6)):
        plan = plan_of(tooth)
        sheet = solved(scene_of(plan, frame_for(plan.sheet)), plan.shift_mm, COARSE)
        assert sheet.laid.scene == scene_of(plan, frame_for(plan.sheet))
        assert sheet.sheet.area.min() > 0
        own = forces(sheet.sheet, sheet.found.positions, COARSE.trace)
        assert np.abs(own - sheet.found.gradient).max() < 1e-9
        for rim, opening in zip(sheet.laid.hole_rims, sheet.laid.scene.rims, strict=True):
            middle = sheet.laid.mesh.rest[rim].mean(axis=0) + sheet.laid.shift_mm
            assert middle == pytest.approx(opening.line[0], abs=1e-6)
            assert np.abs(sheet.laid.goal[rim] - sheet.found.positions[rim]).max() == 0
        sheets.append(sheet)
        strains.append(measure(sheet, teeth_of(plan), RUBBER))
    first, other = sheets
    assert np.abs(first.found.positions * [-1, 1, 1] - other.found.positions).max() < 1e-9
    for a, b in zip(strains[0].pull, reversed(strains[1].pull), strict=True):
        assert a.newton == pytest.approx(b.newton, rel=1e-12)
        assert a.towards == pytest.approx((-b.towards[0], b.towards[1]), abs=1e-12)
    widths = [[strip.after_mm for strip in strain.strips] for strain in strains]
    assert widths[0] == pytest.approx(widths[1][::-1], abs=1e-9)
    assert strains[0].rim_stretch["37"] == pytest.approx(strains[1].rim_stretch["47"], rel=1e-12)


def test_a_pull_goes_from_its_point_of_the_frame_to_the_teeth() -> None:
    """Within 40 degrees where it is more than a trace: the sheet is one piece."""
    plan, strain = plan_of(Tooth(1, 6)), strain_of(Tooth(1, 6))
    scene = scene_of(plan, frame_for(plan.sheet))
    teeth = scene.in_space(np.array([rim.line[0] for rim in scene.rims])).mean(axis=0)
    forces_mm = sheet_of(Tooth(1, 6)).found.gradient
    for pull, rim in zip(strain.pull, sheet_of(Tooth(1, 6)).laid.hook_rims, strict=True):
        way = teeth[:2] - [pull.x_mm, pull.y_mm]
        assert np.hypot(*pull.towards) == pytest.approx(1.0)
        assert np.dot(pull.towards, way) > np.cos(np.radians(40)) * np.hypot(*way)
        held = -forces_mm[rim].sum(axis=0)[:2]
        assert pull.towards == pytest.approx(held / np.hypot(*held), abs=1e-12)


def test_a_case_that_is_its_own_mirror_image_pulls_alike_on_both_sides() -> None:
    strain = strain_of(Tooth(1, 1))
    assert strain.shift_mm[0] == pytest.approx(0.0, abs=1e-9)
    for a, b in zip(strain.pull, reversed(strain.pull), strict=True):
        assert a.newton == pytest.approx(b.newton, rel=1e-6)


def test_the_pulls_at_frame_and_teeth_balance() -> None:
    sheet = sheet_of(Tooth(1, 6))
    gradient = sheet.found.gradient
    assert sheet.found.residual <= 1e-8
    assert np.abs(gradient.sum(axis=0)).max() < 1e-6 * np.abs(hook_pulls(sheet)).max()
    held = sheet.laid.held.all(axis=1)
    at_frame = gradient[np.concatenate(sheet.laid.hook_rims)].sum(axis=0)
    at_teeth = gradient.sum(axis=0) - at_frame
    assert at_frame[2] > 0 > at_teeth[2], "the frame pulls towards the operator"
    assert held.sum() == sum(len(rim) for rim in sheet.laid.mesh.rims)


def test_a_finer_mesh_changes_little() -> None:
    """The search's mesh is off by up to 6 % of the mean pull, 0.01 of the evenness, and 12 % of a
    rim's largest stretch."""
    plan = plan_of(Tooth(1, 6))
    scene = scene_of(plan, frame_for(plan.sheet))
    coarse = strain_of(Tooth(1, 6))
    fine = measure(
        solved(scene, plan.shift_mm, Density(hole_sides=28, hook_sides=14, coarsest_mm=4.5)),
        teeth_of(plan),
        RUBBER,
    )
    assert fine.free_nodes > 2.5 * coarse.free_nodes
    mean = np.mean([pull.newton for pull in fine.pull])
    for a, b in zip(coarse.pull, fine.pull, strict=True):
        assert abs(a.newton - b.newton) < 0.06 * mean
    assert coarse.evenness == pytest.approx(fine.evenness, abs=0.01)
    for tooth, value in fine.rim_stretch.items():
        assert coarse.rim_stretch[tooth] == pytest.approx(value, rel=0.12), tooth


def test_a_mesh_that_moves_along_gives_the_same_answer_as_a_new_one() -> None:
    sheet = sheet_of(Tooth(1, 6), 0.5)
    along = moved(sheet.laid, RULE)
    assert along is not None
    assert along.mesh.corners is sheet.laid.mesh.corners
    new = lay(sheet.laid.scene, RULE, COARSE)
    for rim, new_rim in zip(along.hole_rims, new.hole_rims, strict=True):
        assert along.mesh.rest[rim].mean(axis=0) == pytest.approx(
            new.mesh.rest[new_rim].mean(axis=0), abs=1e-6
        )
    same = stretch(along, sheet.found.positions)
    assert evenness(hook_pulls(same)) == pytest.approx(strain_of(Tooth(1, 6)).evenness, abs=0.015)


def test_a_mesh_does_not_move_where_it_would_be_spoilt() -> None:
    assert moved(sheet_of(Tooth(1, 6)).laid, MouthPoint(60.0, -60.0)) is None


def test_every_rim_is_stretched_at_least_as_much_as_its_perimeter() -> None:
    plan, strain = plan_of(Tooth(1, 6)), strain_of(Tooth(1, 6))
    assert list(strain.rim_stretch) == ["17", "16", "15", "14"]
    for hole in plan.holes:
        ratio = hole.hole.stretch_at_neck
        # A rim of 14 straight pieces is 1 % shorter than a round one.
        assert 0.98 * ratio < strain.rim_stretch[hole.tooth.iso] < 3 * ratio
    assert strain.largest_stretch >= max(strain.rim_stretch.values())


def test_strips_are_measured_between_the_facing_rims() -> None:
    plan, strain = plan_of(Tooth(1, 6)), strain_of(Tooth(1, 6))
    assert [strip.teeth for strip in strain.strips] == [("17", "16"), ("16", "15"), ("15", "14")]
    for strip, first, other in zip(strain.strips, plan.holes, plan.holes[1:], strict=False):
        pitch = np.hypot(*(np.array(first.centre_mm) - other.centre_mm))
        radii = (first.hole.diameter_mm + other.hole.diameter_mm) / 2
        assert strip.before_mm == pytest.approx(pitch - radii, abs=1e-5)
        necks = sum(plan.standing(h.tooth).size.neck_mesiodistal_mm for h in (first, other)) / 2
        assert strip.after_mm == pytest.approx(pitch - necks, abs=0.3)
        assert 0 < strip.thickness_share <= 1
        assert 0 <= strip.wrinkled_share <= 1


def test_slack_and_wrinkled_sheet_are_parts_of_the_sheet() -> None:
    strain = strain_of(Tooth(1, 6))
    assert 0 < strain.slack_mm2 < strain.sheet_mm2
    assert 0 < strain.wrinkled_mm2 < strain.sheet_mm2
    assert strain.sheet_mm2 == pytest.approx(152.0**2, rel=0.01)


def test_pulls_grow_with_thickness_and_modulus_and_nothing_else_does() -> None:
    plan = plan_of(Tooth(1, 6))
    strain = strain_of(Tooth(1, 6))
    thick = measure(sheet_of(Tooth(1, 6)), teeth_of(plan), Rubber(0.4, 0.8))
    for a, b in zip(strain.pull, thick.pull, strict=True):
        assert b.newton == pytest.approx(4 * a.newton, rel=1e-9)
    assert thick.evenness == pytest.approx(strain.evenness, rel=1e-9)
    assert thick.rim_stretch == strain.rim_stretch


def test_the_json_holds_what_was_measured() -> None:
    strain = strain_of(Tooth(1, 6))
    data = as_json(strain)
    pulls = np.array([pull["newton"] for pull in data["pull"]])
    assert len(pulls) == 12
    assert data["evenness"] == pytest.approx(pulls.std() / pulls.mean(), abs=1e-5)
    assert data["shift_mm"] == pytest.approx(RULE, abs=1e-6)
    assert set(data["solver"]) == {"free_nodes", "iterations", "residual"}


def test_the_best_place_is_more_even_within_the_limits_and_few_solves() -> None:
    plan = plan_of(Tooth(1, 6))
    best = best_placement(plan)
    assert best.solves <= MOST_SOLVES == 25
    for at, (low, high) in zip(best.shift_mm, plan.range_mm, strict=True):
        assert low - 1e-9 <= at <= high + 1e-9
    assert best.evenness < strain_of(Tooth(1, 6)).evenness
    scene = scene_of(plan, frame_for(plan.sheet))
    there = stretch(lay(scene, best.shift_mm, COARSE))
    assert evenness(hook_pulls(there)) == pytest.approx(best.evenness, abs=0.01)
    assert SEARCH_DENSITY.trace > COARSE.trace, "the search's own settings are looser"
    # No place a few mm away within the limits is clearly better.
    for dx, dy in ((4, 2), (-4, -2)):
        near = MouthPoint(best.shift_mm[0] + dx, best.shift_mm[1] + dy)
        laid = moved(there.laid, near)
        assert laid is not None
        assert evenness(hook_pulls(stretch(laid, there.found.positions))) > best.evenness - 0.01


def test_the_mirrored_case_is_looked_up_and_not_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    best = best_placement(plan_of(Tooth(1, 6)))
    monkeypatch.setattr(placement, "first_guesses", None)
    mirrored = best_placement(plan_of(Tooth(2, 6)))
    assert mirrored.shift_mm == (-best.shift_mm[0], best.shift_mm[1])
    assert mirrored.solves == best.solves


@pytest.mark.parametrize("treat", ["12", "32"])
def test_a_row_over_the_midline_is_searched_on_the_treated_side(
    monkeypatch: pytest.MonkeyPatch, treat: str
) -> None:
    """Its most even place would be over the midline; the mirrored case is the same search."""
    searches: list[tuple[object, ...]] = []

    def searched(*search: object) -> placement.Best:
        searches.append(search)
        return placement.Best(MouthPoint(-1.0, 0.0), 0.5, 1)

    monkeypatch.setattr(placement, "_search", searched)
    other = {"12": "22", "32": "42"}[treat]
    shifts = []
    for iso, far in ((treat, other[0] + "4"), (other, treat[0] + "4")):
        case = case_with((read(iso, "iso"),), {"expose": [f"{iso}-{far}"]}, "iso")
        plan = make_plan(case)
        shifts.append(best_placement(plan).shift_mm)
        (low, high), _ = plan.range_mm
        assert (high if iso[0] in "14" else low) == 0
    (scene, ranges, known), second = searches
    assert isinstance(ranges, tuple)
    assert scene == second[0]
    assert ranges == second[1]
    assert known == pytest.approx(second[2])
    assert 0 in ranges[0]
    assert ranges[0].low < ranges[0].high
    assert shifts[0] == pytest.approx((-shifts[1].x, shifts[1].y))


def test_a_case_that_is_its_own_mirror_image_stays_on_the_midline() -> None:
    best = best_placement(plan_of(Tooth(1, 1)))
    assert best.shift_mm[0] == 0.0
    assert best.solves <= 10


def test_a_plan_takes_the_most_even_place() -> None:
    plan = even_plan(Case(treat=(Tooth(1, 6),)))
    best = best_placement(plan_of(Tooth(1, 6)))
    assert plan.even
    assert plan.shift_mm == best.shift_mm
    rule = plan_of(Tooth(1, 6))
    assert not rule.even
    for a, b in zip(plan.holes, rule.holes, strict=True):
        in_mouth = [np.array(h.centre_mm) + p.shift_mm for h, p in ((a, plan), (b, rule))]
        assert in_mouth[0] == pytest.approx(in_mouth[1], abs=1e-9)
    assert plan.command == "sheetmark overlay 16 --shift even"


def test_a_search_that_cannot_start_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise MeshError("the mesh lost a rim")

    monkeypatch.setattr(placement, "first_guesses", fails)
    with pytest.raises(NoAnswerError, match="the mesh lost a rim"):
        best_placement(make_plan(Case(treat=(Tooth(4, 4),))))


def test_a_search_passes_over_a_place_that_cannot_be_solved(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried = list[MouthPoint]()

    def fails_second(laid: Laid, start: Floats | None = None) -> Stretched:
        tried.append(laid.shift_mm)
        if len(tried) == 2:
            raise MeshError("the mesh lost a rim")
        return stretch(laid, start)

    monkeypatch.setattr(placement, "stretch", fails_second)
    plan = plan_of(Tooth(4, 6))
    monkeypatch.setattr(placement, "_search", placement._search.__wrapped__)
    best = best_placement(plan)
    assert best.solves == len(tried)
    assert best.evenness < strain_of(Tooth(4, 6)).evenness


def test_teeth_that_grow_leave_the_sheet_with_less_energy_than_teeth_that_stand() -> None:
    """The lower molars' centred sheet has several equilibria."""
    plan = plan_of(Tooth(3, 6))
    scene = scene_of(plan, frame_for(plan.sheet)).mirrored
    lowest = first_guesses(scene, MouthPoint(0.0, 0.0))[0]
    laid = lowest.laid
    straight = stretch(laid, harmonic(lowest.sheet, laid.held, laid.goal))
    assert lowest.found.residual <= LOOSE
    assert lowest.found.energy < 0.99 * straight.found.energy


def test_of_two_first_guesses_the_one_that_ends_lower_is_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sheet = sheet_of(Tooth(1, 6))
    energies = iter((2.0, 1.0, 1.5))

    def ends(laid: Laid, _: Floats) -> Stretched:
        found = replace(sheet.found, energy=next(energies), iterations=5)
        return Stretched(laid, sheet.sheet, found)

    monkeypatch.setattr(stretched, "first_guesses", lambda *_: (sheet, sheet, sheet))
    monkeypatch.setattr(stretched, "stretch", ends)
    found = settled(sheet.laid).found
    assert found.energy == 1.0
    assert found.iterations == 3 * (sheet.found.iterations + 5)


def test_values_are_carried_over_from_mesh_to_mesh() -> None:
    known, other = sheet_of(Tooth(1, 6)).laid.mesh, sheet_of(Tooth(1, 6), 0.5).laid.mesh
    slope = np.array([[1.0, 2.0, -0.5], [0.3, -1.0, 4.0]])
    values = known.rest @ slope + 7.0
    assert np.abs(carried(known, values, other.rest) - (other.rest @ slope + 7.0)).max() < 1e-9
    # Each point gets its values from its own triangle.
    values = np.random.default_rng(4).normal(size=(len(known.rest), 3))
    inside = known.rest[known.corners].mean(axis=1)
    own = values[known.corners].mean(axis=1)
    assert np.abs(carried(known, values, inside) - own).max() < 1e-9
    assert np.abs(carried(known, values, known.rest) - values).max() < 1e-9


def test_a_report_sets_three_placements_side_by_side() -> None:
    plan = plan_of(Tooth(1, 6))
    report = report_on(plan, density=COARSE)
    assert list(report.strains) == ["centred", "rule", "best"]
    assert report.strains["centred"].shift_mm == (0.0, 0.0)
    assert report.strains["rule"].shift_mm == tidy(plan.shift_mm)
    assert report.strains["best"].evenness <= report.strains["rule"].evenness
    largest = report.strains["rule"].largest_stretch
    assert report.margin("rule") == pytest.approx(9.58 / largest)
    data = report.as_json()
    assert list(data["placements"]) == ["centred", "rule", "best"]
    assert data["solver"]["search_solves"] <= 25
    assert "not clinical forces" in data["left_out"]
    assert data["frame"]["tilt_deg"] == 60.0
