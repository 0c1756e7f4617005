"""From a plan to the membrane's problem: teeth, necks, rims, frame, rubber."""

from __future__ import annotations

from itertools import pairwise
from math import dist, pi, radians, sin

import numpy as np
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.base.frames import MouthPoint
from sheetmark.case.case import Case, Run, ToothState
from sheetmark.plan.holes import ellipse_perimeter
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import Practice, Sheet, StockSheet
from sheetmark.studies.membrane.frame import Frame, Rubber, frame_for, rubber_of
from sheetmark.studies.membrane.scene import Neck, Rim, columns_of, rim_target, scene_of, teeth_of

CASE = Case(treat=(Tooth(1, 6),))
FRAME = frame_for(Sheet(152.0, 152.0))


def test_teeth_stand_as_far_apart_in_space_as_in_the_mouth() -> None:
    plan = make_plan(CASE)
    scene = scene_of(plan, FRAME)
    flat = [rim.necks[0].centre for rim in scene.rims]
    deep = columns_of(scene).centre
    assert len(flat) == 4
    for i, j in pairwise(range(4)):
        assert dist(deep[i], deep[j]) == pytest.approx(dist(flat[i], flat[j]), abs=1e-9)
    for at, hole in zip(flat, plan.holes, strict=True):
        assert at == pytest.approx(plan.standing(hole.tooth).centre, abs=1e-5)


@pytest.mark.parametrize("tooth", [Tooth(1, 6), Tooth(4, 6)])
def test_molars_stand_deeper_than_incisors_in_both_jaws(tooth: Tooth) -> None:
    plan = make_plan(Case(treat=(tooth,), procedure="full-arch"))
    depth = -columns_of(scene_of(plan, FRAME)).centre[:, 2]
    front = depth[len(depth) // 2]
    # The incisal point is the middle of the central incisors' crowns; their gum line lies behind.
    centre = plan.arch.place(tooth_at(tooth.jaw, 1)).centre
    behind = abs(plan.arch.incisal_y_mm - centre.y) * sin(radians(FRAME.tilt_deg))
    assert front == pytest.approx(FRAME.incisors_behind_mm + behind, abs=1e-6)
    assert 1 < behind < 4
    assert depth[0] > front + 20
    assert list(depth[: len(depth) // 2]) == sorted(depth[: len(depth) // 2], reverse=True)


def test_a_scene_is_the_same_wherever_the_sheet_lies() -> None:
    shifted = make_plan(CASE)
    centred = make_plan(CASE, None, Practice(shift=False))
    assert shifted.shift_mm != centred.shift_mm
    assert scene_of(shifted, FRAME) == scene_of(centred, FRAME)


def test_a_mirrored_case_has_the_mirrored_scene() -> None:
    first, other = (
        scene_of(
            make_plan(Case(treat=(tooth,), states=(ToothState(tooth, rotated_deg=turn),))), FRAME
        )
        for tooth, turn in ((Tooth(1, 6), 20.0), (Tooth(2, 6), -20.0))
    )
    assert first.mirrored == other
    assert first != other


@pytest.mark.parametrize("turn", [0.0, 0.5, -1.2])
def test_a_rim_goes_round_the_neck_in_even_steps(turn: float) -> None:
    neck = Neck(MouthPoint(10.0, 5.0), (4.0, 5.0), turn, 0.3)
    rim = Rim((MouthPoint(9.0, 4.0),), 1.0, (neck,))
    angle = np.linspace(0, 2 * pi, 60, endpoint=False) + 0.01
    rest = np.array([9.0, 4.0]) + np.stack([np.cos(angle), np.sin(angle)], axis=1)
    goal = rim_target(rim, rest)
    local = (goal - [10.0, 5.0]) @ np.array(
        [[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]
    )
    assert np.abs((local[:, 0] / 4) ** 2 + (local[:, 1] / 5) ** 2 - 1).max() < 1e-3
    step = np.hypot(*(np.roll(goal, -1, axis=0) - goal).T)
    assert step.sum() == pytest.approx(ellipse_perimeter(8.0, 10.0), rel=2e-3)
    assert np.ptp(step) < 0.02 * step.mean()
    # Neither turned over nor turned round.
    seen = np.arctan2(*(goal - [10.0, 5.0]).T[::-1])
    assert np.abs(np.angle(np.exp(1j * (seen - angle)))).max() < 0.25


def test_a_slit_is_one_rim_round_its_teeth() -> None:
    plan = make_plan(Case(treat=(Tooth(2, 6),), slits=(Run(Tooth(2, 4), Tooth(2, 6)),)))
    scene = scene_of(plan, FRAME)
    assert teeth_of(plan) == (("24", "25", "26"), ("27",))
    slot, single = scene.rims
    assert (len(slot.line), len(slot.necks), len(single.necks)) == (3, 3, 1)
    (ax, ay), (bx, by) = slot.line[0], slot.line[-1]
    length = dist(slot.line[0], slot.line[-1])
    across = np.array([-(by - ay), bx - ax]) / length * slot.radius_mm
    sides = [np.array(slot.line[1]) + sign * across for sign in (1, -1)]
    ends = [np.array(slot.line[0]), np.array(slot.line[-1])]
    goal = rim_target(slot, np.array([*sides, *ends]))
    centres = np.array([neck.centre for neck in slot.necks])
    assert (goal[0] - centres[1]) @ across > 0 > (goal[1] - centres[1]) @ across
    assert dist(goal[2], centres[0]) < 6
    assert dist(goal[3], centres[2]) < 6


def test_the_frame_is_a_u_alike_on_both_sides_and_open_at_the_nose() -> None:
    hooks = FRAME.hooks_mm()
    assert len(hooks) == FRAME.points == 12
    assert {(round(-x, 9), round(y, 9)) for x, y in hooks} == {
        (round(x, 9), round(y, 9)) for x, y in hooks
    }
    assert hooks[0] == pytest.approx((-76.0, 64.0))
    assert min(y for _, y in hooks) > -76.0 - 1e-9
    assert not any(abs(x) < 60 and y > 0 for x, y in hooks)
    gaps = [dist(a, b) for a, b in pairwise(hooks)]
    assert max(gaps) - min(gaps) < 0.05 * max(gaps)
    on_sheet = FRAME.hooked_mm(Sheet(152.0, 152.0))
    assert max(abs(x) for x, _ in on_sheet) == pytest.approx(71.0)
    assert max(y for _, y in on_sheet) == pytest.approx(71.0)


def test_a_small_sheet_has_a_small_frame() -> None:
    small = frame_for(Sheet(127.0, 127.0))
    assert small.width_mm == 127.0
    assert small.top_mm / FRAME.top_mm == pytest.approx(127 / 152)


@pytest.mark.parametrize(
    ("name", "value", "wording"),
    [
        ("width_mm", 1000.0, "frame width 1000 mm: must be 60 to 300 mm"),
        ("width_mm", float("nan"), "frame width nan mm"),
        ("top_mm", -5.0, "frame top -5 mm"),
        ("bottom_mm", 0.0, "frame bottom 0 mm"),
        ("curve_mm", 500.0, "frame curve 500 mm"),
        ("points", 5, "frame points 5: must be an even number from 4 to 30"),
        ("points", 40, "frame points 40"),
        ("inset_mm", 0.5, "hook inset 0.5 mm"),
        ("pin_mm", 20.0, "hook pin radius 20 mm"),
        ("tilt_deg", 90.0, "arch tilt 90 degrees: must be 0 to 85 degrees"),
        ("incisors_behind_mm", -1.0, "incisors behind the frame -1 mm"),
        ("crown_mm", 0.0, "crown height 0 mm"),
    ],
)
def test_bad_figures_of_the_frame_are_refused(name: str, value: float, wording: str) -> None:
    with pytest.raises(InputError) as caught:
        replace(FRAME, **{name: value})
    assert wording in str(caught.value)


@pytest.mark.parametrize(
    ("thickness", "modulus", "wording"),
    [
        (9.0, 0.4, "thickness 9 mm: must be 0.1 to 0.5 mm"),
        (float("inf"), 0.4, "thickness inf mm"),
        (0.2, 400.0, "modulus 400 MPa: must be 0.05 to 5 MPa"),
        (0.2, float("nan"), "modulus nan MPa"),
    ],
)
def test_bad_figures_of_the_rubber_are_refused(
    thickness: float, modulus: float, wording: str
) -> None:
    with pytest.raises(InputError) as caught:
        Rubber(thickness, modulus)
    assert wording in str(caught.value)


def test_the_sheet_in_stock_gives_its_thickness_else_medium() -> None:
    assert rubber_of(Practice()) == Rubber(0.20, 0.4)
    sheet = Practice().sheet
    kept = Practice(stock=(StockSheet(sheet, "latex", 0.30),))
    assert rubber_of(kept) == Rubber(0.30, 0.4)
    assert Frame(width_mm=150.0, top_mm=60.0, bottom_mm=60.0, curve_mm=40.0).points == 12
