"""The drawings of the handouts: nothing collides, nothing touches a frame that it should not."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from shapely.geometry import Polygon as Area

from sheetmark.anatomy.arch_model import load_model
from sheetmark.documents.handouts.hole_size import hole_size
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.documents.handouts.placing import placing
from sheetmark.practice.settings import PaperName, Practice, Punch
from sheetmark.typesetting.marks import Mark, Polygon
from tests.helpers.page_areas import Covered, areas, covered

TEN_HOLES = Punch((0.5, 0.8, 1.0, 1.2, 1.5, 1.8, 2.0, 2.3, 2.5, 2.6))
PAPERS: tuple[PaperName, ...] = ("a4", "letter")


def lesson(paper: PaperName, punch: Punch | None = None) -> Lesson:
    practice = Practice(paper=paper)
    practice = replace(practice, punch=punch) if punch else practice
    return Lesson(load_model("adult-mean"), practice, "sheetmark handout")


@pytest.mark.parametrize("punch", [None, TEN_HOLES])
@pytest.mark.parametrize("paper", PAPERS)
def test_no_label_of_a_hole_touches_a_dot_or_another_label(
    paper: PaperName, punch: Punch | None
) -> None:
    (page,) = hole_size(lesson(paper, punch)).pages
    kinds = ("dot-label", "stretch", "chosen", "anchor")
    found = [Covered(m, covered(m)) for m in page.marks if m.name.startswith(kinds)]
    labels = [mark for mark in found if mark.mark.name == "dot-label"]
    assert len(labels) > 50
    shapes = [mark for mark in found if mark.mark.name != "dot-label"]
    for number, label in enumerate(labels):
        for other in (*labels[:number], *shapes):
            assert not label.area.intersects(other.area), (label.mark, other.mark)


@pytest.mark.parametrize("paper", PAPERS)
def test_teeth_and_arrows_stay_inside_the_sheet_that_is_drawn(paper: PaperName) -> None:
    """The frame of a drawing may cut the floss, whose end hangs out of the mouth."""
    seen = 0
    for page in placing(lesson(paper)).pages:
        panels: list[tuple[Area, list[Covered]]] = []
        for mark in areas(page):
            if mark.mark.name == "field-edge" and isinstance(mark.mark, Polygon):
                panels.append((Area(mark.mark.points), []))
            elif panels and _belongs(mark, panels[-1][0]):
                panels[-1][1].append(mark)
        for panel, inside in panels:
            for mark in inside:
                if mark.mark.name not in ("floss", "hidden"):
                    assert panel.buffer(-0.4).covers(mark.area), mark.mark
                    seen += 1
    assert seen > 300


def _belongs(mark: Covered, panel: Area) -> bool:
    return (
        not mark.is_text
        and not mark.mark.name.startswith("field")
        and (mark.area.intersects(panel))
    )


def test_each_arrow_starts_on_something() -> None:
    """At a tooth, a finger, a thread, the sheet's edge, or the arrow before it."""
    seen = 0
    for page in placing(lesson("a4")).pages:
        found = areas(page)
        for number, mark in enumerate(found):
            if mark.mark.name not in ("stretch", "over", "away", "lift") or _is_head(mark.mark):
                continue
            start = mark.mark.start  # type: ignore[union-attr]
            near = [
                other
                for other in found[:number]
                if other.area.distance(Area([start, (start.x + 1e-3, start.y), start])) < 0.6
                and other.mark.name not in ("field", mark.mark.name)
            ]
            assert near, mark.mark
            seen += 1
    assert seen >= 8


def _is_head(mark: Mark) -> bool:
    return isinstance(mark, Polygon)
