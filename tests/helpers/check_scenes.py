"""Made photographs of a plan's sheet, and what the check says of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from typing import Any

from msgspec.structs import replace

from sheetmark.checking.judge import judge
from sheetmark.checking.layout import Layout, check_layout
from sheetmark.checking.look import Seen, see_sheet
from sheetmark.checking.photo import Photo, read_photo
from sheetmark.checking.result import Check
from sheetmark.checking.wanted import wanted_of
from sheetmark.documents.check_page import check_page
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import PAPERS, STANDARD_SHEETS, PaperName, Sheet
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.marks import Line
from tests.helpers.photographs import (
    USUAL_CAMERA,
    USUAL_LIGHT,
    Camera,
    Light,
    Rubber,
    Scene,
    photograph,
)

Hole = tuple[float, float, float]
Stroke = tuple[tuple[float, float], tuple[float, float], float]


@lru_cache(maxsize=8)
def page_for(sheet: Sheet, paper: PaperName = "a4") -> tuple[bytes, tuple[float, float]]:
    """The check page's PDF, and the middle of its brackets, mm."""
    document = check_page(PAPERS[paper], sheet)
    corners = [
        mark.start
        for mark in document.pages[0].marks
        if isinstance(mark, Line) and mark.name == "bracket"
    ]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return render_pdf(document), ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def holes_of(plan: Plan) -> tuple[Hole, ...]:
    return tuple((*hole.centre_mm, hole.hole.diameter_mm) for hole in plan.holes)


def pen_of(plan: Plan) -> tuple[Stroke, ...]:
    """The dots, the dash and the cross, as an assistant marks them."""
    strokes: list[Stroke] = [((-5, 0), (5, 0), 0.5), ((0, -5), (0, 5), 0.5)]
    strokes += [((x, y), (x, y), 2.4) for x, y in plan.orientation_marks_mm]
    if plan.side_dash_mm is not None:
        (x0, y0), (x1, y1) = plan.side_dash_mm
        strokes.append(((x0, y0), (x1, y1), 1.0))
    return tuple(strokes)


def scene_of(
    plan: Plan,
    *,
    paper: PaperName = "a4",
    camera: Camera | None = None,
    light: Light | None = None,
    page_sheet: Sheet | None = None,
    **rubber: Any,
) -> Scene:
    """The plan's sheet as punched, with changes of the rubber, on the check page."""
    pdf, place = page_for(page_sheet or plan.sheet, paper)
    size = (plan.sheet.width_mm, plan.sheet.height_mm)
    laid = Rubber(size_mm=size, holes=holes_of(plan), pen=pen_of(plan))
    return Scene(
        pdf=pdf,
        sheet_at_mm=place,
        rubber=replace(laid, **rubber),
        camera=camera or USUAL_CAMERA,
        light=light or USUAL_LIGHT,
    )


_SEEN: dict[tuple[bytes, Layout], Seen] = {}


def see_once(photo: Photo, layout: Layout, others: Sequence[Layout] = ()) -> Seen:
    """`see_sheet`, which looks at the same photograph once."""
    key = (sha256(photo.rgb.tobytes()).digest(), layout)
    if key not in _SEEN:
        _SEEN[key] = see_sheet(photo, layout, others)
    return _SEEN[key]


def seen_on(scene: Scene, sheet: Sheet) -> Seen:
    others = [check_layout(other) for other in STANDARD_SHEETS]
    photo = read_photo(photograph(scene), "photograph.jpg")
    return see_sheet(photo, check_layout(sheet), others)


def checked(plan: Plan, scene: Scene, tolerance_mm: float = 2.0) -> Check:
    return judge(seen_on(scene, plan.sheet).found, wanted_of(plan), tolerance_mm)
