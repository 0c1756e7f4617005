"""Proof that the read-back check sees what it is for: each wrong page here must fail it.

Marks are moved as they were read back, or the page's content through a matrix in the finished
file. The most lenient change is made each time: what is scaled keeps its hole diameters.
"""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import pypdf
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Run
from sheetmark.jobs.outputs import render_plan
from tests.helpers.page_check import check_page
from tests.helpers.readback import Circle, Drawing, Found, Line, Point, Word, read_first_page
from tests.helpers.valid_cases import Sample, sample

CASE = sample("16")
SYMMETRICAL = sample("11", procedure="full-arch")
CASES = pytest.mark.parametrize("case", [CASE, SYMMETRICAL], ids=["one side", "both sides"])


def page_of(case: Sample) -> Drawing:
    return read_first_page(render_plan(case.plan, "pdf"))


@CASES
def test_the_page_itself_passes(case: Sample) -> None:
    check_page(page_of(case), case.data)


@CASES
def test_a_mirrored_page_fails(case: Sample) -> None:
    page = page_of(case)
    mirrored = page.moved(lambda point: (page.width - point[0], point[1]))
    with pytest.raises(AssertionError):
        check_page(mirrored, case.data)


@CASES
def test_a_mirrored_page_fails_even_when_its_text_reads_well(case: Sample) -> None:
    """As a renderer would draw it that got x the wrong way round but set its text afterwards."""
    page = page_of(case)

    def mirror(mark: Found) -> Found:
        moved = mark.moved(lambda point: (page.width - point[0], point[1]))
        return (
            replace(moved, start=moved.end, end=moved.start) if isinstance(moved, Word) else moved
        )

    with pytest.raises(AssertionError):
        check_page(replace(page, found=tuple(mirror(mark) for mark in page.found)), case.data)


def test_an_upside_down_page_fails() -> None:
    page = page_of(CASE)
    with pytest.raises(AssertionError):
        check_page(page.moved(lambda point: (point[0], page.height - point[1])), CASE.data)


@pytest.mark.parametrize("other", ["26", "46", "36", "17"])
def test_the_page_of_another_quadrant_or_tooth_fails(other: str) -> None:
    with pytest.raises(AssertionError):
        check_page(page_of(sample(other)), CASE.data)


@CASES
@pytest.mark.parametrize("factor", [0.97, 0.999, 1.001])
@pytest.mark.parametrize("axes", ["x", "y", "xy"])
def test_a_scaled_page_fails(case: Sample, factor: float, axes: str) -> None:
    page = page_of(case)
    sx, sy = (factor if axis in axes else 1.0 for axis in "xy")
    x, y = page.width / 2, page.height / 2

    def scale(point: Point) -> Point:
        return (x + (point[0] - x) * sx, y + (point[1] - y) * sy)

    with pytest.raises(AssertionError):
        check_page(page.moved(scale), case.data)


@CASES
@pytest.mark.parametrize("by", [(1.0, 0.0), (0.0, -1.0), (0.02, 0.0)])
def test_a_moved_sheet_fails(case: Sample, by: Point) -> None:
    """All that is on the sheet moved over the page, nothing else."""
    page, sheet = page_of(case), case.plan.sheet
    x, y = case.plan.sheet_centre_on_page_mm

    def move(point: Point) -> Point:
        on_it = (
            abs(point[0] - x) <= sheet.width_mm / 2 + 0.1
            and abs(point[1] - y) <= sheet.height_mm / 2 + 0.1
        )
        return (point[0] + by[0], point[1] + by[1]) if on_it else point

    with pytest.raises(AssertionError):
        check_page(page.moved(move), case.data)


def is_hole(mark: Found) -> bool:
    """The disc of tooth 16."""
    hole = next(hole for hole in CASE.data["holes"] if hole["tooth"] == "16")
    x, y = CASE.plan.sheet_centre_on_page_mm
    return (
        isinstance(mark, Circle)
        and mark.filled
        and mark.centre == pytest.approx((x + hole["x_mm"], y + hole["y_mm"]), abs=0.005)
    )


def changed(page: Drawing, which: Callable[[Found], bool], change: object) -> Drawing:
    """The page with one mark changed, doubled or taken away; exactly one must be meant."""
    assert sum(which(mark) for mark in page.found) == 1
    assert callable(change)
    found: list[Found] = []
    for mark in page.found:
        found += change(mark) if which(mark) else [mark]
    return replace(page, found=tuple(found))


@pytest.mark.parametrize(
    "change",
    {
        "moved by 0.02 mm": lambda drawn: [drawn.moved(lambda point: (point[0] + 0.02, point[1]))],
        "larger by 0.02 mm": lambda drawn: [replace(drawn, diameter=drawn.diameter + 0.02)],
        "a ring": lambda drawn: [replace(drawn, filled=False, line=0.3)],
        "lost": lambda _: [],
        "twice": lambda drawn: [drawn, drawn],
        "one too many": lambda drawn: [drawn, drawn.moved(lambda point: (point[0] + 8, point[1]))],
    }.items(),
    ids=lambda item: item[0],
)
def test_one_wrong_hole_fails(change: tuple[str, object]) -> None:
    with pytest.raises(AssertionError):
        check_page(changed(page_of(CASE), is_hole, change[1]), CASE.data)


def test_a_bar_of_another_length_fails() -> None:
    page = page_of(CASE)
    top = CASE.plan.sheet_centre_on_page_mm[1] + CASE.plan.sheet.height_mm / 2
    ticks = [
        line
        for line in page.lines
        if min(line.start[1], line.end[1]) > top + 1 and line.start[0] == line.end[0]
    ]
    assert len(ticks) == 2
    shorter = changed(
        page,
        lambda mark: mark is ticks[1],
        lambda mark: [mark.moved(lambda point: (point[0] - 0.02, point[1]))],
    )
    with pytest.raises(AssertionError, match="bar of"):
        check_page(shorter, CASE.data)


@pytest.mark.parametrize(("first", "other"), [("R", "L"), ("16", "15")])
def test_labels_in_each_others_place_fail(first: str, other: str) -> None:
    page = page_of(CASE)
    swap = {first: other, other: first}
    found = tuple(
        replace(mark, text=swap.get(mark.text, mark.text)) if isinstance(mark, Word) else mark
        for mark in page.found
    )
    assert found != page.found
    with pytest.raises(AssertionError):
        check_page(replace(page, found=found), CASE.data)


def test_a_slot_of_another_width_fails() -> None:
    case = sample("16", slits=(Run(Tooth(1, 7), Tooth(1, 5)),))
    page = page_of(case)
    thin = tuple(
        replace(mark, line=mark.line / 2) if isinstance(mark, Line) and mark.line > 1 else mark
        for mark in page.found
    )
    with pytest.raises(AssertionError):
        check_page(replace(page, found=thin), case.data)


@pytest.mark.parametrize(
    ("matrix", "passes"),
    [
        ((1, 0, 0, 1, 0, 0), True),
        ((0.97, 0, 0, 0.97, 0, 0), False),
        ((0.97, 0, 0, 1, 0, 0), False),
        ((1, 0, 0, 0.97, 0, 0), False),
        ((-1, 0, 0, 1, 210 * 72 / 25.4, 0), False),
        ((1, 0, 0, 1, 72 / 25.4, 0), False),
    ],
)
def test_a_matrix_in_the_finished_file_is_seen(
    matrix: tuple[float, float, float, float, float, float], passes: bool
) -> None:
    """The reader takes in what a program between us and the printer wrote before the content."""
    writer = pypdf.PdfWriter(BytesIO(render_plan(CASE.plan, "pdf")))
    writer.pages[0].add_transformation(matrix)
    buffer = BytesIO()
    writer.write(buffer)
    if passes:
        check_page(read_first_page(buffer.getvalue()), CASE.data)
        return
    with pytest.raises(AssertionError):
        check_page(read_first_page(buffer.getvalue()), CASE.data)
