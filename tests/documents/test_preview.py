"""The sheet for a screen, measured against the plan; and the sheet on the arch."""

from __future__ import annotations

from math import dist

import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.documents.case.preview import sheet_alone, sheet_on_arch
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.marks import Disc, Line, Mark, Polygon, Text
from tests.helpers.cases import plan_of
from tests.helpers.corpus import Mouth, mouths

ON_ARCH = ["16", "26", "36", "46", "11", "31"]


def discs(marks: tuple[Mark, ...]) -> dict[str, PagePoint]:
    return {mark.name: mark.centre for mark in marks if isinstance(mark, Disc)}


def corners(marks: tuple[Mark, ...], name: str) -> tuple[PagePoint, ...]:
    (outline,) = [m for m in marks if isinstance(m, Polygon) and m.name == name]
    return outline.points


@pytest.mark.parametrize("mouth", mouths()[::5], ids=lambda mouth: mouth.name)
def test_alone_the_sheet_is_true_to_its_plan(mouth: Mouth) -> None:
    plan = mouth.plan()
    (page,) = sheet_alone(plan).pages
    w, h = plan.sheet.width_mm, plan.sheet.height_mm
    assert (page.width, page.height) == (w + 6, h + 6)
    for hole in plan.holes:
        x, y = discs(page.marks)[f"hole-{hole.tooth.iso}"]
        assert (x - page.width / 2, y - page.height / 2) == pytest.approx(hole.centre_mm)
    assert corners(page.marks, "sheet")[0] == pytest.approx((3, 3))


def on_arch(plan: Plan, others: dict[str, MouthPoint]) -> tuple[tuple[Mark, ...], PagePoint]:
    """The marks, and where the mouth's middle lies among them."""
    against = build_arch(load_model("adult-mean"), "lower" if plan.arch.jaw == "upper" else "upper")
    (page,) = sheet_on_arch(plan, against.places, others).pages
    left, low = corners(page.marks, "sheet")[0]
    half = (plan.sheet.width_mm / 2, plan.sheet.height_mm / 2)
    x, y = plan.shift_mm
    return page.marks, PagePoint(left + half[0] - x, low + half[1] - y)


@pytest.mark.parametrize("iso", ON_ARCH)
def test_on_the_arch_each_hole_lies_at_the_gum_line_and_each_outline_at_the_contacts(
    iso: str,
) -> None:
    plan = plan_of(iso)
    marks, middle = on_arch(plan, {})
    for hole in plan.holes:
        x, y = discs(marks)[f"hole-{hole.tooth.iso}"]
        place = plan.standing(hole.tooth)
        assert (x - middle[0], y - middle[1]) == pytest.approx(place.centre, abs=1e-9)
        outline = corners(marks, f"tooth-{hole.tooth.iso}")
        u, v = (sum(c) / len(outline) for c in zip(*outline, strict=True))
        assert dist((u - middle[0], v - middle[1]), place.contact) < 0.1


@pytest.mark.parametrize("iso", ON_ARCH)
def test_the_midline_goes_through_the_mouths_middle(iso: str) -> None:
    marks, middle = on_arch(plan_of(iso), {})
    xs = {round(m.start[0], 6) for m in marks if isinstance(m, Line) and m.name == "midline"}
    assert xs == {round(middle[0], 6)}


def test_another_place_of_the_middle_is_outlined_and_named() -> None:
    plan = plan_of("16")
    marks, middle = on_arch(plan, {"centred": MouthPoint(0.0, 0.0)})
    dashes = [m for m in marks if isinstance(m, Line) and m.name == "sheet-centred"]
    xs = [x for dash in dashes for x, _ in (dash.start, dash.end)]
    ys = [y for dash in dashes for _, y in (dash.start, dash.end)]
    assert min(xs) == pytest.approx(middle[0] - 76)
    assert max(xs) == pytest.approx(middle[0] + 76)
    assert min(ys) == pytest.approx(middle[1] - 76)
    assert max(ys) == pytest.approx(middle[1] + 76)
    assert [m.text for m in marks if isinstance(m, Text) and m.name == "sheet-centred"] == [
        "centred"
    ]


def test_nothing_runs_off_the_picture() -> None:
    for iso in ON_ARCH:
        plan = plan_of(iso, model="adult-large")
        against = build_arch(load_model("adult-large"), "lower")
        (page,) = sheet_on_arch(plan, against.places, {"centred": MouthPoint(0.0, 0.0)}).pages
        points = [
            point
            for mark in page.marks
            for point in (
                mark.points
                if isinstance(mark, Polygon)
                else (mark.start, mark.end)
                if isinstance(mark, Line)
                else ()
            )
        ]
        assert len(points) > 100
        assert all(0 <= x <= page.width and 0 <= y <= page.height for x, y in points)
