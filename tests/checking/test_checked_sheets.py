"""Made photographs of punched sheets: the check knows each hole's error, and which way it lies."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import hypot, pi

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case, Run
from sheetmark.checking.judge import judge
from sheetmark.checking.look import Seen
from sheetmark.checking.refusal import RefusalKind, RefusedError
from sheetmark.checking.result import Check
from sheetmark.checking.wanted import wanted_of
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import OrientationMarks, Practice, Sheet
from tests.helpers.check_scenes import checked, holes_of, scene_of, seen_on
from tests.helpers.photographs import Camera, Light, Scene

QUADRANT = make_plan(Case(treat=(Tooth(1, 6),)))
FRONT = make_plan(Case(treat=(Tooth(1, 1), Tooth(2, 1))), practice=Practice(shift=False))
HOLES = holes_of(QUADRANT)


@cache
def seen_behind() -> Seen:
    """The quadrant's sheet face down, its marks showing through."""
    scene = scene_of(QUADRANT, face_down=True, opacity=0.5, colour="grey")
    return seen_on(scene, QUADRANT.sheet)


def off(check: Check) -> list[tuple[float, float]]:
    return [hole.off_mm for hole in check.holes if hole.off_mm is not None]


@pytest.mark.parametrize(
    ("colour", "paper", "camera", "light"),
    [
        (
            "green",
            "a4",
            Camera(tilt_deg=9.0, height_mm=300.0, k1=0.06, k2=-0.01, megapixels=2.0),
            Light(shadow=0.4, noise=0.01),
        ),
        (
            "natural",
            "letter",
            Camera(tilt_deg=4.0, from_deg=200.0, roll_deg=95.0, height_mm=320.0, k1=-0.05),
            Light(noise=0.008, blur_px=1.0),
        ),
    ],
)
def test_places_and_sizes_are_measured(
    colour: str, paper: str, camera: Camera, light: Light
) -> None:
    """Holes moved by known amounts; the sheet aside and turned, which must not count."""
    moves = [(0.8, -0.4), (0.4, -0.4), (0.6, -0.2), (0.6, -0.6)]
    holes = tuple((x + dx, y + dy, d) for (x, y, d), (dx, dy) in zip(HOLES, moves, strict=True))
    scene = scene_of(
        QUADRANT,
        paper=paper,  # type: ignore[arg-type]
        camera=camera,
        light=light,
        colour=colour,
        holes=holes,
        shift_mm=(0.8, -0.6),
        turn_deg=0.7,
        specks=8,
    )
    check = checked(QUADRANT, scene)
    for found, planned in zip(off(check), moves, strict=True):
        assert found == pytest.approx(planned, abs=0.1)
    assert [hole.size for hole in check.holes] == ["right"] * 4
    assert check.extra == ()
    assert check.face_known
    assert check.good
    # The pattern as a whole, apart from each hole's own rest.
    assert check.shift_mm == pytest.approx((0.6, -0.4), abs=0.1)
    assert check.sheet_size_mm == pytest.approx((152.0, 152.0), abs=0.2)
    assert check.tilt_deg == pytest.approx(camera.tilt_deg, abs=1.0)


def test_missing_extra_doubled_and_wrongly_punched_holes() -> None:
    _, second, third, fourth = HOLES
    holes = (
        second,
        (third[0], third[1], 2.5),  # 1.5 is planned
        (fourth[0] + 1.5, fourth[1] + 2.0, fourth[2]),
        (second[0] + 2.0, second[1] + 1.6, 1.5),
        (30.0, -25.0, 2.0),
    )
    check = checked(QUADRANT, scene_of(QUADRANT, holes=holes))
    names = {hole.wanted.tooth.iso: hole for hole in check.holes}
    assert [hole.tooth.iso for hole in check.missing] == ["17"]
    assert names["15"].size == "wrong"
    assert 2.5 in names["15"].sizes_mm
    assert [hole.wanted.tooth.iso for hole in check.misplaced] == ["14"]
    assert names["14"].distance_mm == pytest.approx(2.5, abs=0.1)
    beside = {round(extra.at.x): extra.beside for extra in check.extra}
    assert len(beside) == 2
    assert beside[30] is None
    (doubled,) = [error for x, error in beside.items() if x != 30]
    assert doubled is not None
    assert doubled.tooth.iso == "16"
    assert not check.good


def test_a_mirrored_row_is_the_wrong_side_and_a_sheet_upside_down_is_not() -> None:
    mirrored = tuple((-x, y, d) for x, y, d in HOLES)
    wrong = checked(QUADRANT, scene_of(QUADRANT, holes=mirrored))
    assert (wrong.laid, wrong.pattern) == ("straight", "wrong side")
    assert not wrong.good
    # The marks show through from behind: the sheet lies face down, its holes are right.
    behind = judge(seen_behind().found, wanted_of(QUADRANT), 2.0)
    assert (behind.laid, behind.pattern, behind.face_known) == ("face down", "straight", True)
    assert max(hypot(*error) for error in off(behind)) < 0.1
    assert behind.good


def test_a_symmetric_row_face_down_is_known_by_the_dash_alone() -> None:
    """Centred front teeth look the same from both sides."""
    scene = scene_of(FRONT, face_down=True, opacity=0.5, colour="grey")
    found = seen_on(scene, FRONT.sheet).found
    behind = judge(found, wanted_of(FRONT), 2.0)
    assert (behind.laid, behind.pattern, behind.face_known) == ("face down", "straight", True)
    unmarked = judge(replace(found, pen_marks=()), wanted_of(FRONT), 2.0)
    assert not unmarked.face_known
    turned = checked(FRONT, scene_of(FRONT, turn_deg=180.0))
    assert (turned.laid, turned.pattern, turned.face_known) == ("turned", "straight", True)


def test_a_row_that_seems_mirrored_without_marks_is_not_called_good() -> None:
    check = judge(replace(seen_behind().found, pen_marks=()), wanted_of(QUADRANT), 2.0)
    assert check.laid == "face down"
    assert not check.face_known
    assert not check.good


def test_the_hole_in_a_corner_is_no_extra_hole_and_shows_the_face() -> None:
    marks = OrientationMarks(kind="corner-hole")
    plan = make_plan(Case(treat=(Tooth(1, 6),)), practice=Practice(marks=marks))
    (corner,) = plan.orientation_marks_mm
    holes = (*holes_of(plan), (*corner, 2.5))
    check = checked(plan, scene_of(plan, holes=holes, pen=()))
    assert check.extra == ()
    assert check.face_known
    assert check.good
    mirrored = tuple((-x, y, d) for x, y, d in holes_of(plan))
    wrong = checked(plan, scene_of(plan, holes=(*mirrored, (*corner, 2.5)), pen=()))
    assert wrong.pattern == "wrong side"


SMALL = Camera(height_mm=300.0, megapixels=1.2)


def test_a_cut_slit_is_seen_as_one_long_opening() -> None:
    plan = make_plan(Case(treat=(Tooth(2, 4),), slits=(Run(Tooth(2, 4), Tooth(2, 6)),)))
    (slot,) = plan.slots
    steps = [number / 30 for number in range(31)]
    cut = [
        (a.x + step * (b.x - a.x), a.y + step * (b.y - a.y), slot.width_mm)
        for a, b in pairwise(slot.centres)
        for step in steps
    ]
    whole = [
        (*hole.centre_mm, hole.hole.diameter_mm)
        for hole in plan.holes
        if hole.tooth not in slot.teeth
    ]
    seen = seen_on(scene_of(plan, camera=SMALL, holes=(*whole, *cut)), plan.sheet)
    (long,) = (opening for opening in seen.found.openings if not opening.round)
    # As large as the slit: its line times its width, and the two half rounds at its ends.
    line = sum(hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(slot.centres))
    area = slot.width_mm * line + pi * slot.width_mm**2 / 4
    assert long.diameter_mm == pytest.approx((4 * area / pi) ** 0.5, rel=0.05)
    check = judge(seen.found, wanted_of(plan), 2.0)
    assert tuple(hole.wanted.tooth for hole in check.holes if hole.cut) == slot.teeth
    assert check.good
    assert max(hypot(*far) for far in off(check)) < 0.1


SPOILED: dict[RefusalKind, Scene] = {
    "too-few-marks": replace(
        scene_of(QUADRANT, camera=SMALL),
        covered_mm=tuple(
            (x, y, 14.0) for x, y in ((86, 71), (86, 0), (86, -71), (71, -86), (0, -86))
        ),
    ),
    "blur": scene_of(QUADRANT, camera=SMALL, light=Light(blur_px=5.0)),
    "mirrored": scene_of(QUADRANT, camera=replace(SMALL, mirrored=True)),
    "other-page": scene_of(
        QUADRANT, camera=SMALL, page_sheet=Sheet(127.0, 127.0), size_mm=(127.0, 127.0)
    ),
    "page-bent": replace(scene_of(QUADRANT, camera=SMALL), bend_mm=12.0),
    "tilt": scene_of(QUADRANT, camera=replace(SMALL, tilt_deg=27.0)),
    "no-sheet": replace(scene_of(QUADRANT, camera=SMALL), rubber=None),
    "sheet-not-flat": scene_of(QUADRANT, camera=SMALL, curl_mm=9.0),
}


@pytest.mark.parametrize(("scene", "kind"), [("no-sheet", "blur"), ("page-bent", "page-bent")])
def test_a_blur_in_which_the_marks_are_still_found_is_refused_but_not_of_a_bent_page(
    scene: RefusalKind, kind: RefusalKind, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The marks of a small picture are lost before the limit, so it is set below this picture's."""
    monkeypatch.setattr("sheetmark.checking.look.BLUR_LIMIT_MM", 0.1)
    with pytest.raises(RefusedError) as refused:
        seen_on(SPOILED[scene], QUADRANT.sheet)
    assert refused.value.kind == kind


@pytest.mark.parametrize("kind", SPOILED)
def test_a_photograph_that_cannot_be_judged_is_refused_with_its_reason(kind: RefusalKind) -> None:
    with pytest.raises(RefusedError) as refused:
        seen_on(SPOILED[kind], QUADRANT.sheet)
    assert refused.value.kind == kind
    assert len(refused.value.problems) == 1
    if kind == "tilt":
        assert "taken at 27 degrees" in refused.value.problems[0]
        assert "1 mm of lift counts 0.5 mm" in refused.value.problems[0]
