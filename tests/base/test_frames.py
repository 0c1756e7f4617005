"""The type checker refuses a point of one frame where another is meant."""

from __future__ import annotations

import pytest
from mypy import api

from sheetmark.base.frames import (
    Direction,
    MouthPoint,
    PagePoint,
    SheetPoint,
    mouth_to_page,
    mouth_to_sheet,
    sheet_to_mouth,
    sheet_to_page,
)
from tests.helpers.paths import ROOT

HEAD = """
from sheetmark.anatomy.chords import ArchPoint, Chord
from sheetmark.anatomy.jaw import Place
from sheetmark.base.frames import (
    Direction, MouthPoint, PagePoint, Range, SheetPoint, Size, mouth_to_sheet, sheet_to_mouth,
    sheet_to_page,
)
from sheetmark.case.case import Case, ToothState
from sheetmark.anatomy.teeth import Tooth
from sheetmark.documents.case.preview import sheet_on_arch
from sheetmark.fitting.landmarks import CastPoint, Landmark
from sheetmark.fitting.picture_scale import Picked, PixelPoint
from sheetmark.plan.holes import Demand
from sheetmark.plan.make import make_plan
from sheetmark.plan.placement import Margins
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.labels import Taken, find_room
from sheetmark.typesetting.marks import Disc, Line

def check(plan: Plan, place: Place, case: Case, tooth: Tooth, taken: Taken) -> None:
    hole, dot = plan.holes[0], plan.orientation_marks_mm[0]
    corner, size = plan.sheet_centre_on_page_mm, Size(4.0, 2.0)
"""
# What goes through, and the same line with one frame or field in place of another.
SNIPPETS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "a mark stands on the page",
        "Disc(plan.to_page(hole.centre_mm), 2.5, 'hole')",
        (
            "Disc(hole.centre_mm, 2.5, 'hole')",
            "Disc(place.centre, 2.5, 'hole')",
            "Disc(place.facial, 2.5, 'hole')",
            "Disc(size, 2.5, 'hole')",
            "Disc((1.0, 2.0), 2.5, 'hole')",
        ),
    ),
    (
        "a line joins two points of the page",
        "Line(corner, plan.to_page(dot), 0.3, 'line')",
        ("Line(corner, dot, 0.3, 'line')", "Line(plan.shift_mm, corner, 0.3, 'line')"),
    ),
    (
        "the page shows points of the sheet",
        "plan.to_page(plan.to_sheet(place.centre))",
        (
            "plan.to_page(place.centre)",
            "plan.to_sheet(hole.centre_mm)",
            "plan.to_sheet(plan.to_sheet(place.centre))",
            "plan.to_page(plan.to_page(dot))",
        ),
    ),
    (
        "a conversion takes its own frames",
        "sheet_to_page(mouth_to_sheet(place.centre, plan.shift_mm), corner)",
        (
            "mouth_to_sheet(place.centre, hole.centre_mm)",
            "mouth_to_sheet(plan.shift_mm, corner)",
            "sheet_to_page(hole.centre_mm, plan.shift_mm)",
            "sheet_to_mouth(place.centre, plan.shift_mm)",
        ),
    ),
    (
        "the middle of the sheet is a point of the mouth",
        "make_plan(case, even_mm=MouthPoint(1.0, 2.0))",
        (
            "make_plan(case, even_mm=SheetPoint(1.0, 2.0))",
            "make_plan(case, even_mm=hole.centre_mm)",
            "make_plan(case, even_mm=plan.sheet_centre_on_page_mm)",
            "make_plan(case, even_mm=(1.0, 2.0))",
        ),
    ),
    (
        "other middles lie in the mouth",
        "sheet_on_arch(plan, [place], {'rule': plan.shift_mm})",
        ("sheet_on_arch(plan, [place], {'rule': plan.sheet_centre_on_page_mm})",),
    ),
    (
        "a label has a place, a direction and a size",
        "find_room(taken, corner, hole.facial.opposite, 1.0, size)",
        (
            "find_room(taken, corner, corner, 1.0, size)",
            "find_room(taken, hole.facial, corner, 1.0, size)",
            "find_room(taken, hole.centre_mm, hole.facial, 1.0, size)",
            "find_room(taken, corner, hole.facial, 1.0, corner)",
            "find_room(taken, corner, hole.facial, 1.0, plan.range_mm[0])",
        ),
    ),
    (
        "the arch and the cast have axes of their own",
        "Chord(ArchPoint(0.0, 0.0), ArchPoint(1.0, 0.5))",
        (
            "Chord(ArchPoint(0.0, 0.0), place.centre)",
            "Chord(CastPoint(0.0, 0.0), CastPoint(1.0, 0.5))",
            "mouth_to_sheet(Chord(ArchPoint(0.0, 0.0), ArchPoint(1.0, 0.5)).centre, place.centre)",
        ),
    ),
    (
        "pixels are no millimetres",
        "Landmark(tooth, (CastPoint(1.0, 2.0), CastPoint(3.0, 4.0)))",
        (
            "Landmark(tooth, (PixelPoint(1.0, 2.0), CastPoint(3.0, 4.0)))",
            "Picked(tooth, CastPoint(1.0, 2.0), PixelPoint(3.0, 4.0))",
            "Landmark(tooth, (place.centre, place.centre))",
        ),
    ),
    (
        "lists of teeth go by name",
        "Case(treat=(tooth,), missing=(), present=(tooth,))",
        (
            "Case((tooth,), 'iso', 'restoration', (), 0, (), (tooth,))",
            "Case((tooth,))",
        ),
    ),
    (
        "what is different about a tooth goes by name",
        "ToothState(tooth, present=True, missing=False, facial_mm=1.0, mesial_mm=0.0)",
        ("ToothState(tooth, True, False)",),
    ),
    (
        "a move goes by name",
        "place.moved(facial_mm=1.0, mesial_mm=0.0, turned_deg=0.0)",
        ("place.moved(1.0, 0.0, 0.0)",),
    ),
    (
        "distances go by name",
        "Margins(left_mm=1.0, right_mm=2.0, lower_mm=3.0, upper_mm=4.0)",
        ("Margins(1.0, 2.0, 3.0, 4.0)",),
    ),
    (
        "what a tooth demands goes by name",
        "Demand(name='16', size=place.size, anchor=True, lesion=False)",
        ("Demand('16', place.size, True, False)",),
    ),
)


@pytest.fixture(scope="module")
def refused(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Each line that mypy refuses, with its words: one run for all of them."""
    lines = [line for _, right, wrong in SNIPPETS for line in (right, *wrong)]
    file = tmp_path_factory.mktemp("frames") / "snippet.py"
    head = HEAD.strip("\n") + "\n"
    file.write_text(head + "".join(f"    {line}\n" for line in lines))
    first = head.count("\n") + 1
    found, problem, _ = api.run(
        [
            "--config-file",
            str(ROOT / "pyproject.toml"),
            "--follow-imports=silent",
            "--cache-dir",
            str(ROOT / ".mypy_cache"),
            str(file),
        ]
    )
    assert not problem
    wording: dict[str, str] = {}
    for row in found.splitlines():
        if ": error: " in row:
            place, _, message = row.partition(": error: ")
            number = int(place.rsplit(":", 1)[1])
            assert number >= first, f"the head of the snippet is wrong: {row}"
            wording[lines[number - first]] = message
    return wording


@pytest.mark.parametrize("right", [pytest.param(row[1], id=row[0]) for row in SNIPPETS])
def test_the_right_frame_passes(right: str, refused: dict[str, str]) -> None:
    assert right not in refused


@pytest.mark.parametrize("wrong", [line for _, _, wrong in SNIPPETS for line in wrong])
def test_another_frame_or_order_is_refused(wrong: str, refused: dict[str, str]) -> None:
    message = refused[wrong]
    assert "incompatible type" in message or "Too many positional arguments" in message


def test_the_conversions_move_the_origin_and_nothing_else() -> None:
    middle, shown = MouthPoint(-14.0, 21.0), PagePoint(105.0, 201.0)
    tooth = MouthPoint(-27.1, 12.0)
    hole = mouth_to_sheet(tooth, middle)
    assert hole == pytest.approx((-13.1, -9.0), abs=1e-12)
    assert sheet_to_mouth(hole, middle) == pytest.approx(tooth, abs=1e-12)
    assert sheet_to_page(hole, shown) == pytest.approx((91.9, 192.0), abs=1e-12)
    assert mouth_to_page(tooth, PagePoint(100.0, 150.0)) == pytest.approx((72.9, 162.0), abs=1e-12)
    assert mouth_to_sheet(middle, middle) == (0.0, 0.0)
    assert sheet_to_page(SheetPoint(0.0, 0.0), shown) == shown
    assert Direction(0.6, -0.8).opposite == (-0.6, 0.8)
