"""The printer's test page, read back and measured: it is what a correction is measured from."""

from __future__ import annotations

from math import dist
from pathlib import Path
from typing import Any

import pypdf
import pytest
from shapely import box

from sheetmark.cli.app import run
from sheetmark.documents.cautions import CAUTIONS, PRINTING_CAUTIONS, RESPONSIBILITY
from sheetmark.documents.printer_page import printer_page
from sheetmark.practice.settings import PAPERS
from tests.helpers.page_areas import _touching, areas
from tests.helpers.practice_files import EXAMPLE
from tests.helpers.readback import Drawing, Line, read_pdf

Output = pytest.CaptureFixture[str]


def made(folder: Path, *flags: str) -> bytes:
    path = folder / "test.pdf"
    assert run(["printer", "page", "-o", str(path), *flags]) == 0
    return path.read_bytes()


def page_of(folder: Path, *flags: str) -> Drawing:
    (page,) = read_pdf(made(folder, *flags))
    return page


def is_level(line: Line) -> bool:
    return abs(line.start[1] - line.end[1]) < 0.01


def is_upright(line: Line) -> bool:
    return abs(line.start[0] - line.end[0]) < 0.01


@pytest.mark.parametrize(
    ("flags", "paper"),
    [
        ((), (210.0, 297.0)),
        (("--paper", "a4"), (210.0, 297.0)),
        (("--paper", "letter"), (215.9, 279.4)),
        # A file whose printer in use corrects: the test page is drawn true even so.
        (("--practice", str(EXAMPLE)), (210.0, 297.0)),
    ],
)
def test_bars_and_square_are_true(
    flags: tuple[str, ...], paper: tuple[float, float], tmp_path: Path
) -> None:
    page = page_of(tmp_path, *flags)
    assert (page.width, page.height) == pytest.approx(paper, abs=1e-3)
    long_ones = [line for line in page.lines if dist(line.start, line.end) > 20]
    across = [line for line in long_ones if is_level(line)]
    down = [line for line in long_ones if is_upright(line)]
    diagonals = [line for line in long_ones if line not in across + down]
    for bars, axis, text in (
        (across, 0, "x: this bar is 150 mm"),
        (down, 1, "y: this bar is 150 mm"),
    ):
        (bar,) = bars
        ends = [
            (tick.start[axis] + tick.end[axis]) / 2
            for tick in page.lines
            if dist(tick.start, tick.end) < 5 and (is_upright, is_level)[axis](tick)
        ]
        assert len(ends) == 2
        assert abs(ends[0] - ends[1]) == pytest.approx(150, abs=0.01)
        assert dist(bar.start, bar.end) == pytest.approx(150, abs=0.01)
        assert sorted(ends) == pytest.approx(sorted((bar.start[axis], bar.end[axis])), abs=0.01)
        (wording,) = (word for word in page.texts if word.text == text)
        middle = ((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2)
        assert dist(wording.middle, middle) < 5
    (square,) = page.outlines
    xs, ys = ({round(point[i], 2) for point in square.points} for i in (0, 1))
    assert max(xs) - min(xs) == pytest.approx(120, abs=0.02)
    assert max(ys) - min(ys) == pytest.approx(120, abs=0.02)
    assert len(diagonals) == 2
    corners = {(round(x, 1), round(y, 1)) for x, y in square.points}
    ends_of = {(round(x, 1), round(y, 1)) for line in diagonals for x, y in (line.start, line.end)}
    assert corners == ends_of
    for line in diagonals:
        assert dist(line.start, line.end) == pytest.approx(120 * 2**0.5, abs=0.02)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_page_says_what_to_do_and_who_decides(paper: str, tmp_path: Path) -> None:
    text = page_of(tmp_path, "--paper", paper).text
    for number in "12345":
        assert f"{number} " in text
    for wording in (
        f"Printer test page · {PAPERS[paper].name}",  # type: ignore[index]
        "1:1",
        "Print this page at 100 %",
        "sheetmark printer set --name front-desk --x 149.4 --y 150.2",
        RESPONSIBILITY,
        *PRINTING_CAUTIONS,
    ):
        assert wording in text
    assert not [caution for caution in CAUTIONS if caution in text], "no patient is near"


@pytest.mark.parametrize("paper", list(PAPERS.values()), ids=list(PAPERS))
def test_nothing_touches_and_the_margins_stay_white(paper: Any) -> None:
    (page,) = printer_page(paper).pages
    on_page = areas(page)
    assert list(_touching(on_page)) == []
    inside = box(10, 10, page.width - 10, page.height - 10).buffer(1e-6)
    assert all(inside.covers(mark.area) for mark in on_page)


def test_the_file_asks_for_no_scaling_and_is_the_same_every_time(tmp_path: Path) -> None:
    first, again = made(tmp_path), made(tmp_path)
    assert first == again
    reader = pypdf.PdfReader(tmp_path / "test.pdf")
    preferences = reader.root_object["/ViewerPreferences"].get_object()
    assert isinstance(preferences, pypdf.generic.DictionaryObject)
    assert str(preferences["/PrintScaling"]) == "/None"
    assert len(reader.pages) == 1


def test_the_paper_of_the_practice_file_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "clinic.toml"
    path.write_text('format = "sheetmark-practice/1"\npage.paper = "letter"\n')
    assert page_of(tmp_path, "--practice", str(path)).width == pytest.approx(215.9, abs=1e-3)
    both = ("--practice", str(path), "--paper", "a4")
    assert page_of(tmp_path, *both).width == pytest.approx(210, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "flags", "wording"),
    [
        ("test.svg", (), "must end in .pdf"),
        ("test.pdf", ("--paper", "a5"), "paper 'a5': use one of a4, letter"),
        ("gone/test.pdf", (), "cannot be written"),
    ],
)
def test_bad_input_gives_one_line_and_no_file(
    name: str, flags: tuple[str, ...], wording: str, tmp_path: Path, capsys: Output
) -> None:
    assert run(["printer", "page", "-o", str(tmp_path / name), *flags]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("sheetmark: error: ")
    assert wording in line
    assert list(tmp_path.iterdir()) == []
