"""Pages rastered at 600 dpi by PDFium: the discs and the bar as a printer would put them down."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import STANDARD_SHEETS, Practice
from tests.helpers.valid_cases import Sample, sample

DPI = 600
INK = 128  # darker than this counts as ink where a length is measured
SMALL, _ = STANDARD_SHEETS
CASES = {
    "16": sample("16"),
    "11 on a small sheet": sample("11", Practice(sheet=SMALL)),
    "36 on letter": sample("36", Practice(paper="letter"), procedure="root-canal"),
    "45 with nitrile": sample("45", Practice(material="nitrile"), more=3),
}
each_case = pytest.mark.parametrize("name", CASES)


class Raster:
    """Darkness of each pixel of the first page, 0 white to 1 black, row 0 at the top."""

    def __init__(self, case: Sample) -> None:
        page = pypdfium2.PdfDocument(render_plan(case.plan, "pdf"))[0]
        pixels: NDArray[Any] = page.render(scale=DPI / 72, grayscale=True).to_numpy()
        self.dark = 1 - pixels.reshape(pixels.shape[:2]).astype(float) / 255
        paper = case.plan.paper
        self.height_mm = paper.height_mm
        self.per_mm = np.array(self.dark.shape) / (paper.height_mm, paper.width_mm)

    def window(self, x: float, y: float, reach: float) -> tuple[NDArray[Any], ...]:
        """x and y in mm (page frame) of each pixel round a point, and its darkness."""
        row, column = (self.height_mm - y) * self.per_mm[0], x * self.per_mm[1]
        wide = int(reach * self.per_mm[0]) + 2
        rows = np.arange(int(row) - wide, int(row) + wide + 1)
        columns = np.arange(int(column) - wide, int(column) + wide + 1)
        ys = self.height_mm - (rows + 0.5) / self.per_mm[0]
        xs = (columns + 0.5) / self.per_mm[1]
        grid_y, grid_x = np.meshgrid(ys, xs, indexing="ij")
        inside = np.hypot(grid_x - x, grid_y - y) <= reach
        return grid_x[inside], grid_y[inside], self.dark[np.ix_(rows, columns)][inside]

    def centroid(self, x: float, y: float, reach: float) -> tuple[float, float, float]:
        """Centroid of the ink round a point, and how much there is of it in mm2."""
        xs, ys, dark = self.window(x, y, reach)
        ink = float(dark.sum())
        if not ink:
            return (float("nan"), float("nan"), 0.0)
        area = ink / float(self.per_mm[0] * self.per_mm[1])
        return float((xs * dark).sum() / ink), float((ys * dark).sum() / ink), area


@cache
def raster(name: str) -> Raster:
    return Raster(CASES[name])


def planned_discs(case: Sample) -> list[tuple[float, float, float]]:
    """x, y and diameter in mm of each hole, page frame, from the JSON."""
    x, y = case.data["page"]["sheet_centre_mm"]
    return [
        (x + hole["x_mm"], y + hole["y_mm"], hole["diameter_mm"]) for hole in case.data["holes"]
    ]


@each_case
def test_each_disc_is_where_it_was_planned(name: str) -> None:
    holes = planned_discs(CASES[name])
    assert holes
    for x, y, diameter in holes:
        # Wide enough to see the disc's edge, not so wide as to reach the ring round it.
        found_x, found_y, area = raster(name).centroid(x, y, diameter / 2 + 0.1)
        assert found_x == pytest.approx(x, abs=0.05)
        assert found_y == pytest.approx(y, abs=0.05)
        across = 2 * (area / np.pi) ** 0.5
        assert across == pytest.approx(diameter, abs=0.05)


@each_case
def test_a_window_in_another_place_does_not_find_it(name: str) -> None:
    """The window alone must not make the centroid come out right."""
    for x, y, diameter in planned_discs(CASES[name]):
        for dx, dy in ((3, 0), (-3, 0), (0, 3), (0, -3)):
            found_x, found_y, area = raster(name).centroid(x + dx, y + dy, diameter / 2 + 0.1)
            disc = np.pi * diameter**2 / 4
            near = abs(found_x - x - dx) <= 0.05 and abs(found_y - y - dy) <= 0.05
            assert not (near and area == pytest.approx(disc, rel=0.1))
            assert not (abs(found_x - x) <= 0.05 and abs(found_y - y) <= 0.05)


def test_a_disc_off_by_a_tenth_would_be_seen() -> None:
    for x, y, diameter in planned_discs(CASES["16"]):
        found_x, _, _ = raster("16").centroid(x + 0.1, y, diameter / 2 + 0.2)
        assert found_x != pytest.approx(x + 0.1, abs=0.05)


@each_case
def test_the_bar_across_is_100_mm(name: str) -> None:
    """Measured in pixels between its end ticks, on a row that crosses nothing else."""
    case, page = CASES[name], raster(name)
    sheet_x, sheet_y = case.plan.sheet_centre_on_page_mm
    top = sheet_y + case.plan.sheet.height_mm / 2
    above = page.dark[: int((page.height_mm - top - 1) * page.per_mm[0])]
    bar = int(np.argmax((above > INK / 255).sum(axis=1)))
    # The ticks reach 1.5 mm below the bar, the words stand above it.
    row = above[bar + int(1.0 * page.per_mm[0])]
    columns = np.flatnonzero(row > INK / 255)
    groups = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
    assert len(groups) == 2
    ends = [float(group.mean() + 0.5) / float(page.per_mm[1]) for group in groups]
    assert ends[1] - ends[0] == pytest.approx(100, abs=0.1)
    assert (ends[0] + ends[1]) / 2 == pytest.approx(sheet_x, abs=0.1)
