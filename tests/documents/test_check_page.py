"""The check page, read back and measured: a photograph is only as true as its marks."""

from __future__ import annotations

from math import dist
from pathlib import Path

import pytest
from shapely import box

from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.documents.cautions import PRINTING_CAUTIONS, RESPONSIBILITY
from sheetmark.documents.check_page import STEPS, check_page
from sheetmark.practice.settings import PAPERS, PaperName, Sheet
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.bullseyes import BULLSEYE_CLEAR_MM
from tests.helpers.page_areas import _touching, areas
from tests.helpers.readback import Circle, Drawing, read_pdf

CASES: list[tuple[PaperName, Sheet]] = [
    ("a4", Sheet(152.0, 152.0)),
    ("letter", Sheet(152.0, 152.0)),
    ("a4", Sheet(127.0, 127.0)),
    ("letter", Sheet(140.0, 122.0)),
]


def made(paper: PaperName, sheet: Sheet) -> Drawing:
    (page,) = read_pdf(render_pdf(check_page(PAPERS[paper], sheet)))
    return page


def outer(circle: Circle) -> float:
    return circle.diameter + circle.line


def bullseyes(page: Drawing) -> list[Circle]:
    return [circle for circle in page.circles if outer(circle) == pytest.approx(8.0, abs=0.01)]


@pytest.mark.parametrize(("paper", "sheet"), CASES)
def test_bullseyes_and_brackets_stand_round_the_sheet(paper: PaperName, sheet: Sheet) -> None:
    page = made(paper, sheet)
    found = [circle.centre for circle in bullseyes(page)]
    assert len(found) == 10
    xs, ys = sorted(x for x, _ in found), sorted(y for _, y in found)
    middle = ((xs[0] + xs[-1]) / 2, (ys[0] + ys[-1]) / 2)
    assert xs[-1] - xs[0] == pytest.approx(sheet.width_mm + 20, abs=0.01)
    assert ys[-1] - ys[0] == pytest.approx(sheet.height_mm + 20, abs=0.01)
    dotted = [c.centre for c in page.circles if c.filled]
    open_ones = [at for at in found if all(dist(at, dot) > 1 for dot in dotted)]
    assert len(open_ones) == 2
    assert all(y == pytest.approx(ys[-1], abs=0.01) for _, y in open_ones)
    # The brackets: eight lines, each 2 mm outside the edge that it goes along.
    brackets = [line for line in page.lines if line.line == pytest.approx(0.5, abs=0.01)]
    assert len(brackets) == 8
    for line in brackets:
        dx, dy = abs(line.start[0] - middle[0]), abs(line.start[1] - middle[1])
        assert dx == pytest.approx(sheet.width_mm / 2 + 2, abs=0.01) or dy == pytest.approx(
            sheet.height_mm / 2 + 2, abs=0.01
        )
    # Nothing inside.
    inside = [
        at
        for at in [
            *(c.centre for c in page.circles),
            *(p for line in page.lines for p in (line.start, line.end)),
            *(p for outline in page.outlines for p in outline.points),
            *(p for word in page.texts for p in (word.start, word.end)),
        ]
        if abs(at[0] - middle[0]) < sheet.width_mm / 2 + 1
        and abs(at[1] - middle[1]) < sheet.height_mm / 2 + 1
    ]
    assert inside == []


@pytest.mark.parametrize(("paper", "sheet"), CASES)
def test_bars_are_true_and_no_ink_lies_in_the_printers_margin(
    paper: PaperName, sheet: Sheet
) -> None:
    page = made(paper, sheet)
    bars = [
        dist(line.start, line.end)
        for line in page.lines
        if line.line == pytest.approx(0.4, abs=0.01) and dist(line.start, line.end) > 50
    ]
    assert bars == pytest.approx([100.0, 100.0], abs=0.01)
    for circle in bullseyes(page):
        x, y = circle.centre
        assert 14.0 <= x <= page.width - 14.0
        assert 14.0 <= y <= page.height - 14.0


@pytest.mark.parametrize(("paper", "sheet"), CASES)
def test_nothing_touches_and_all_lies_inside_the_margins(paper: PaperName, sheet: Sheet) -> None:
    (page,) = check_page(PAPERS[paper], sheet).pages
    on_page = areas(page)
    wording = tuple(mark for mark in on_page if mark.mark.name != "figure")
    assert list(_touching(wording)) == []
    inside = box(10, 10, page.width - 10, page.height - 10).buffer(1e-6)
    assert all(inside.covers(mark.area) for mark in on_page)
    # Nothing but its own marks within a bullseye's white.
    for bullseye in (mark for mark in on_page if mark.mark.name.startswith("bullseye")):
        near = bullseye.area.buffer(BULLSEYE_CLEAR_MM)
        others = [mark for mark in on_page if not mark.mark.name.startswith("bullseye")]
        assert not any(near.intersects(mark.area) for mark in others)


def test_all_cautions_are_there() -> None:
    page = made("letter", Sheet(152.0, 152.0))
    for sentence in (*PRINTING_CAUTIONS, RESPONSIBILITY, *STEPS):
        assert " ".join(sentence.split()) in " ".join(page.text.split())


def test_a_sheet_too_large_for_the_paper_is_refused() -> None:
    with pytest.raises(InputError, match=r"too large for A4, by 38\.0 mm across"):
        check_page(PAPERS["a4"], Sheet(200.0, 150.0))
    with pytest.raises(InputError, match=r"too large for letter, by \d+\.\d mm down"):
        check_page(PAPERS["letter"], Sheet(152.0, 200.0))


def test_a_sheet_too_small_for_the_bars_is_refused() -> None:
    with pytest.raises(InputError, match=r"sheet 140 x 121\.9 mm.*at least 122 mm"):
        check_page(PAPERS["a4"], Sheet(140.0, 121.9))


def test_the_command_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "check.pdf"
    assert run(["check", "page", "-o", str(path), "--sheet", "127", "--paper", "letter"]) == 0
    (page,) = read_pdf(path.read_bytes())
    assert (page.width, page.height) == pytest.approx((215.9, 279.4), abs=1e-3)
    assert "sheet 127 x 127 mm" in page.text
